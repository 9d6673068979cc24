"""Mends a mesh openly: every change is listed with its place and with what it may have done to the volume at most.

What cannot be mended honestly is refused: surfaces that pass through themselves, bodies that touch, large holes.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np

from fuelsys import units
from fuelsys.arrays import Flags, Floats
from fuelsys.errors import MeshError
from fuelsys.kernels import edges, patching
from fuelsys.kernels.crossings import crossings
from fuelsys.kernels.edges import Indices
from fuelsys.load.formats.step import OfTheSolid
from fuelsys.load.meshes.bench import Bench
from fuelsys.load.meshes.bodies import Bodies, bodies
from fuelsys.load.meshes.holes import fill
from fuelsys.load.meshes.mesh import judge, without_area
from fuelsys.load.meshes.soundness import CHAMBERS, SHALLOW_M, Surface, check_flat
from fuelsys.model.found.mesh import Change, Health, Kind, NoHollow

_MUCH = 0.01  # of the volume: more doubt than the facets of most exports leave. Common practice, no source
_PASSES = 50  # of flipping: each takes away the faces without area that do not touch each other
_ONE = "Pick one of its bodies with --body, or export each tank's inside to a file of its own, as one closed solid."
_NO_HOLLOW = (
    "What takes up room in the tank is a hollow, its normals point into it: turn it in CAD; or pick the tank with --body and"
    " name the other as its [[tank.inside]]."
)
_UNITE = "Unite the bodies that touch there into one solid, or remove the inner faces, and export again."


@dataclass(frozen=True)
class Mended:
    """A mended surface in the file's own unit and axes, its health, what was changed, and the bound on the change of volume."""

    surface: Surface
    health: Health
    changes: tuple[Change, ...]

    @property
    def within_m3(self) -> float:
        """By how much all changes together may have changed the volume at most."""
        return sum((change.within_m3 for change in self.changes), 0.0)


def mend(
    given: Surface, weld_m: float, fill_m: float, *, inside: bool = False, left_out: Floats | None = None
) -> Mended:
    """Mend a surface; MeshError for what cannot be mended honestly.

    weld_m: open edges' corners that lie within it become one, 0 for none. fill_m: holes up to this size are closed, 0 for
    none. inside: of a wall, take the inner shell alone. left_out (k, 3, 3): faces that reading left out, to be listed.
    """
    check_flat(given)
    scale = units.scale(given.unit)
    bench = Bench(given, given.vertices, given.faces, np.zeros(len(given.vertices), dtype=np.bool_), scale, [])
    if left_out is not None:
        bench.note("faces with two equal corners left out", left_out.mean(axis=1))
    steps: tuple[Callable[[], None], ...] = (
        lambda: _weld(bench, weld_m / scale),
        lambda: _drop_double(bench),
        lambda: _wind(bench),
        lambda: fill(bench, fill_m / scale, weld_m / scale),
        lambda: _flip_flat(bench),
        lambda: _turn(bench, inside),
    )
    for step in steps:
        step()
    used, faces = np.unique(bench.faces, return_inverse=True)
    notes = tuple(note for note in given.notes if not (bench.changes and isinstance(note, OfTheSolid)))
    surface = Surface(given.file, given.unit, bench.vertices[used], faces.reshape(-1, 3).astype(np.int32), notes)
    health = judge(surface)
    if not health.usable:
        raise _unmended(bench, health)
    mended = Mended(surface, health, tuple(bench.changes))
    return replace(mended, health=replace(health, caution=_caution(mended.within_m3, abs(health.volume_m3 or 0.0))))


def _caution(within_m3: float, held_m3: float) -> str:
    """Why a volume cannot be relied on, "" where it can.

    >>> _caution(0.012, 0.04), _caution(0.12, 0.04), _caution(1e-6, 0.04)
    ('what was mended may be up to 30 % of its volume', 'its volume is not known, what was mended may be more than all of it', '')
    """
    if within_m3 >= held_m3 > 0.0:
        return "its volume is not known, what was mended may be more than all of it"
    share = f"{within_m3 / held_m3 * 100.0:.3g} %" if held_m3 else "all"
    return f"what was mended may be up to {share} of its volume" if within_m3 > _MUCH * held_m3 else ""


def _unmended(bench: Bench, health: Health) -> MeshError:
    """What is still wrong when all is done."""
    fatal = next((fault for fault in health.faults if fault.kind.fatal), None)
    place = fatal.places_m[0] / bench.scale if fatal and len(fatal.places_m) else None
    if fatal and fatal.kind is Kind.CROSSING and _made_by_patches(bench):
        found = f"closing holes made {fatal.text}: the patch across one passes through the rest of the surface"
        return bench.refuse(found, "Close that hole in CAD and export again, or state a smaller --fill.", place)
    if fatal and fatal.kind is Kind.CROSSING:
        return bench.refuse(
            fatal.text, "Where a surface passes through itself it does not say what is inside: unite it in CAD.", place
        )
    if not fatal and isinstance(health.why_not[0], NoHollow):
        return bench.refuse(health.why_not[0], _NO_HOLLOW, _first_no_hollow(bench), "the middle of the first")
    found = fatal.text if fatal else health.why_not[0]
    mend = _UNITE if fatal else _ONE
    return bench.refuse(found, mend, place, fatal.kind.point if fatal else "")


def _made_by_patches(bench: Bench) -> bool:
    """Did closing holes make the faces cross?"""
    closed = any(change.what in ("holes closed", "slits closed") for change in bench.changes)
    before = (bench.given.vertices, bench.given.faces, SHALLOW_M / bench.scale)
    return closed and not crossings(*before, first=1).n_crossing


def _first_no_hollow(bench: Bench) -> Floats:
    """The middle of the first shell that is no hollow."""
    body = bodies(bench.vertices, bench.faces, edges.edges_of(bench.faces))
    return np.asarray(body.low_m + body.high_m)[body.no_hollows[0]] / 2.0


def _weld(bench: Bench, reach: float) -> None:
    """Join corners of open edges that lie within reach; each goes to one that stays, so none moves further."""
    along = edges.edges_of(bench.faces)
    loose = np.unique(along.ends[along.many == 1])
    goes = loose[patching.gathered(bench.vertices[loose], reach)]
    moved = goes != loose
    if not moved.any():
        return
    target = np.arange(len(bench.vertices))
    target[loose] = goes
    met = np.zeros(len(bench.vertices), dtype=np.bool_)
    met[loose[moved]] = met[goes[moved]] = True
    touched = bench.vertices[bench.faces[met[bench.faces].any(axis=1)]]
    after = bench.vertices[target[bench.faces[met[bench.faces].any(axis=1)]]]
    swept = np.maximum(patching.shaken(touched, reach), patching.shaken(after, reach))
    furthest = float(np.linalg.norm(bench.vertices[loose] - bench.vertices[goes], axis=1).max())
    what = f"corners welded, moved by up to {furthest:.2g} {bench.given.unit}"
    bench.note(what, bench.vertices[loose[moved]], float(swept.sum()))
    faces = target[bench.faces]
    gone = (faces == np.roll(faces, 1, axis=1)).any(axis=1)
    bench.note("faces that welding left without an area dropped", bench.middles(bench.faces[gone]))
    bench.faces = faces[~gone].astype(np.int32)


def _drop_double(bench: Bench) -> None:
    """Of faces with the same corners keep one; none, where they are a sheet without which the surface is closed."""
    _, first, count = np.unique(np.sort(bench.faces, axis=1), axis=0, return_index=True, return_counts=True)
    if (count == 1).all():
        return
    sheet, plain = bench.faces[first[count > 1]], bench.faces[first[count == 1]]
    n, patch = edges.shells_of(sheet, edges.edges_of(sheet))
    others = edges.edges_of(plain).count_of(sheet.reshape(-1), np.roll(sheet, -1, axis=1).reshape(-1))
    of_side = np.repeat(patch, 3)
    closing = np.bincount(of_side, others % 2, n) > 0  # without the patch an edge would be left with one face
    alone = np.bincount(of_side, others, n) == 0
    kept = (closing | alone)[patch]
    bench.note("double faces dropped, one of each kept", bench.middles(sheet[kept]))
    bench.note("sheets of double faces dropped", bench.middles(sheet[~kept]))
    bench.faces = bench.faces[np.sort(np.concatenate([first[count == 1], first[count > 1][kept]]))]


def _wind(bench: Bench) -> None:
    """Turn as few faces as possible so that neighbours agree."""
    along = edges.edges_of(bench.faces)
    crowded = along.many > 2
    if crowded.any():
        place = along.middles(bench.vertices, crowded)[0]
        raise bench.refuse(Kind.CROWDED.counted(int(crowded.sum())), _UNITE, place, Kind.CROWDED.point)
    turned, one_sided = edges.wound_alike(bench.faces, along)
    if one_sided.any():
        place = bench.middles(bench.faces[one_sided][:1])[0]
        raise bench.refuse("the surface is one-sided and has no inside", "Make it again in CAD.", place)
    if turned.any():
        bench.note("faces turned to agree with their neighbours", bench.middles(bench.faces[turned]))
        _, piece = edges.shells_of(bench.faces, along)
        bench.unsure[bench.faces[np.isin(piece, np.unique(piece[turned]))]] = True
        bench.faces = np.where(turned[:, None], bench.faces[:, ::-1], bench.faces)


def _flip_flat(bench: Bench) -> None:
    """Take out faces without area: the edge along their longest side is turned, which splits the neighbour there."""
    for _ in range(_PASSES):
        flat = np.flatnonzero(without_area(bench.vertices, bench.faces))
        if not len(flat) or not _flip(bench, flat):
            return


def _flip(bench: Bench, flat: Indices) -> bool:
    """One pass over faces without area, of a closed surface, that have no face in common; False where nothing could be done."""
    along = edges.edges_of(bench.faces)
    twins = along.twins
    corners = bench.vertices[bench.faces[flat]]
    longest = np.linalg.norm(np.roll(corners, -1, axis=1) - corners, axis=2).argmax(axis=1)
    faces, places, within = bench.faces.copy(), [], 0.0
    busy: set[int] = set()
    for t, side in zip(flat.tolist(), longest.tolist(), strict=True):
        half = int(twins[3 * t + side])
        u = half // 3
        a, b, m = (int(bench.faces[t, (side + k) % 3]) for k in range(3))
        c = int(bench.faces[u, (half + 2) % 3])
        if {t, u} & busy or along.count_of(np.array([m]), np.array([c]))[0]:
            continue
        busy |= {t, u}
        places.append(bench.vertices[m])
        faces[t], faces[u] = (m, a, c), (m, c, b)
        p = bench.vertices[[a, b, c]] - bench.vertices[m]
        within += abs(float(np.linalg.det(p))) / 6.0
    bench.faces = faces
    bench.note("faces without area taken out", np.array(places).reshape(-1, 3), within)
    return bool(places)


def _turn(bench: Bench, inside: bool) -> None:
    """Turn the outer shell outward; of a wall, take the inner shell. A shell that was wound both ways takes the sense it needs."""
    body = bodies(bench.vertices * bench.scale, bench.faces, edges.edges_of(bench.faces))
    if not body.sound or body.within is None:
        return
    kept, outer = np.ones(body.number, dtype=np.bool_), body.outer
    if body.wall:
        outer = _inner(bench, body, inside)
        kept[:] = [k == outer or outer in body.within.get(k, ()) for k in range(body.number)]
        bench.note("shells of the wall left out, its inner one kept", _middles(body, ~kept, bench.scale))
    unsure = np.zeros(body.number, dtype=np.bool_)
    unsure[body.label[bench.unsure[bench.faces].any(axis=1)]] = True
    inward = body.volumes_m3 < 0.0
    hollow = np.array([outer in body.within.get(k, ()) for k in range(body.number)])
    turned = kept & np.where(unsure, inward != hollow, inward[outer] and not unsure[outer])
    bench.note("closed surfaces turned, outward or as hollows", _middles(body, turned, bench.scale))
    faces = np.where(turned[body.label][:, None], bench.faces[:, ::-1], bench.faces)
    bench.faces = faces[kept[body.label]]


def _middles(body: Bodies, which: Flags, scale: float) -> Floats:
    """Middles of the boxes of shells, in the file's unit."""
    return np.asarray((body.low_m + body.high_m)[which] / 2.0 / scale)


def _inner(bench: Bench, body: Bodies, inside: bool) -> int:
    """The shell of a wall that faces the fuel."""
    wall = body.wall
    assert wall is not None
    if wall.chambers_m3:
        raise bench.refuse(wall.text, CHAMBERS)
    if wall.inner is None or wall.inner_m3 is None:
        raise bench.refuse(
            wall.text, "Export the tank's inside; a wall that is open somewhere has no inner shell to take."
        )
    if not inside:
        mend = f"Export the tank's inside, or have the inner shell taken (--inside): it encloses {wall.inner_m3 * 1e3:.4g} L."
        raise bench.refuse(wall.text, mend)
    return wall.inner
