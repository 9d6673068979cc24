"""The mesh door: a file becomes one closed, outward cavity in body axes, or one line says what is wrong and where."""

from __future__ import annotations

from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np

from fuelsys import units
from fuelsys.errors import FuelsysError, MeshError
from fuelsys.kernels import points, surface
from fuelsys.kernels.compiled import Floats, Ints
from fuelsys.kernels.crossings import crossings
from fuelsys.load import axes, files
from fuelsys.load.bodies import FILLS_MOST
from fuelsys.load.raw import Indices, Raw, counted
from fuelsys.model.cavity import Cavity

# A cavity outside these is more likely a wrong unit than a tank. Common practice, no source.
LEAST_PLAUSIBLE_M3, MOST_PLAUSIBLE_M3 = 0.2e-3, 2.0
# Faces that pass through each other by less only touch: single-precision corners are rounded by up to 0.06 um at 1 m.
SHALLOW_M = 1e-6
_CLOSE = "Close the surface in CAD and export again; `fuelsys mesh FILE` shows where it is open."
_UNITE = "Unite the bodies that touch there into one solid, or remove the double face, and export again."
_TURN = "Make the normals consistent in CAD and export again; `fuelsys mesh FILE` shows where."


@dataclass(frozen=True)
class Surface:
    """A welded surface in the file's own unit and axes, with what was done to it on the way."""

    file: str
    unit: str
    vertices: Floats
    faces: Ints
    notes: tuple[str, ...]

    @property
    def half_edges(self) -> tuple[Indices, Indices]:
        """First and last vertex of each side of each face: all first sides, all second, all third."""
        wide = self.faces.astype(np.int64)
        return wide.T.reshape(-1), np.roll(wide, -1, axis=1).T.reshape(-1)

    def place(self, vertex: int) -> str:
        """Where a vertex is, in the file's own unit."""
        x, y, z = self.vertices[vertex]
        return f"({x:.6g}, {y:.6g}, {z:.6g}) {self.unit}"


def weld(vertices: Floats, faces: Indices) -> tuple[Floats, Ints, int]:
    """Join corners that are equal bit by bit, drop faces that thereby have no area: vertices, faces, number dropped."""
    bits = (vertices + 0.0).view(np.uint64)
    with np.errstate(over="ignore"):
        key = (bits * np.array([0x9E3779B97F4A7C15, 0xC2B2AE3D27D4EB4F, 0x165667B19E3779F9], dtype=np.uint64)).sum(
            axis=1
        )
        key ^= key >> np.uint64(29)
    _, first, back = np.unique(key, return_index=True, return_inverse=True)
    if not np.array_equal(vertices[first][back], vertices + 0.0):  # two corners share a key: compare in full
        _, first, back = np.unique(vertices + 0.0, axis=0, return_index=True, return_inverse=True)
    order = np.argsort(first, kind="stable")  # keep the file's order, so that messages name its first fault
    rank = np.empty_like(order)
    rank[order] = np.arange(order.size)
    welded = rank[back.reshape(-1)][faces]
    a, b, c = welded.T
    whole = (a != b) & (b != c) & (c != a)
    welded = welded[whole]
    used = np.zeros(order.size, dtype=bool)
    used[welded] = True
    renamed = (np.cumsum(used) - 1).astype(np.int32)[welded]
    kept = np.ascontiguousarray(vertices[first[order][used]] + 0.0)
    return kept, renamed, int((~whole).sum())


def unit_of(raw: Raw, kind: str, stated: str | None, file: str) -> str:
    """The unit that the file says or the person states; MeshError where neither does or they differ."""
    if stated is not None and stated not in units.UNITS["length"]:
        found, mend = f"found the unit {units.shown(stated)}", f"Use one of {', '.join(units.UNITS['length'])}."
    elif raw.unit is None and stated is None:
        found, mend = f"{kind} files do not say their unit", "State it, as the CAD export was set: mm, cm, m, in or ft."
    elif raw.unit is not None and stated is not None and stated != raw.unit:
        found = f"the unit was stated as {stated}, but this {kind} file is in {raw.unit}"
        mend = f"Write {raw.unit}, or look again which file this is."
    else:
        return stated or raw.unit or ""
    raise MeshError(found, mend=mend, file=file, field="unit")


def _read(path: Path, unit: str | None) -> Surface:
    """A file's faces as one welded surface; MeshError where there are none."""
    raw, file = files.read(path), files.label(path.name)
    unit = unit_of(raw, files.format_of(path), unit, file)
    if not len(raw.faces):
        raise MeshError(
            "there are no faces in it", mend="Export the tank's inside as a surface or solid, not as lines.", file=file
        )
    vertices, faces, dropped = weld(raw.vertices, raw.faces)
    if not len(faces):
        raise MeshError("none of its faces has an area", mend="Export the tank's inside as a solid.", file=file)
    notes = raw.notes
    if dropped:
        what = counted(dropped, "face with two equal corners was", "faces with two equal corners were")
        notes = (*notes, f"{what} left out: no area, no volume")
    return Surface(file, unit, vertices, faces, notes)


def _check_edges(given: Surface) -> None:
    """Every edge joins two faces, which are wound alike."""
    start, stop = given.half_edges
    low, high = np.minimum(start, stop), np.maximum(start, stop)
    key, back, count = np.unique(low << 32 | high, return_inverse=True, return_counts=True)
    turn = np.bincount(back.reshape(-1), np.where(start < stop, 1.0, -1.0), len(key))
    for odd, one, many, mend in (
        (count > 2, "edge joins three or more faces", "edges join three or more faces", _UNITE),
        (count == 1, "edge does not join two faces", "edges do not join two faces", _CLOSE),
        (turn != 0, "edge has its two faces", "edges have their two faces", _TURN),
    ):
        if odd.any():
            near = given.place(int((key[odd] >> 32).min()))
            wound = " wound against each other" if mend is _TURN else ""
            raise MeshError(
                f"{counted(int(odd.sum()), one, many)}{wound}, the first near {near}", mend=mend, file=given.file
            )


def _check_corners(given: Surface) -> None:
    """Every vertex has one fan of faces about it: the surface does not touch itself in a point.

    Turning about a vertex from half-edge to half-edge is a permutation; its cycles are the fans.
    """
    start, stop = given.half_edges
    there, back = np.lexsort((stop, start)), np.lexsort((start, stop))
    twin = np.empty(start.size, dtype=np.int64)
    twin[there] = back
    n = len(given.faces)
    following = twin[np.roll(np.arange(3 * n), n)]  # half-edges stand in three blocks; the one before is a block back
    first = np.arange(3 * n)
    while not np.array_equal(smaller := np.minimum(first, first[following]), first):
        first, following = smaller, following[following]
    fans = np.bincount(start[first == np.arange(3 * n)], minlength=len(given.vertices))
    odd = np.flatnonzero(fans > 1)
    if odd.size:
        what = counted(odd.size, "corner joins parts of the surface", "corners join parts of the surface")
        raise MeshError(
            f"{what} that touch only there, the first near {given.place(int(odd[0]))}",
            mend="Unite the parts or move them apart in CAD and export again.",
            file=given.file,
        )


def _describe(given: Surface, faces: Ints, volume: float) -> str:
    litres = abs(volume) * units.scale(given.unit) ** 3 * 1e3
    return f"{litres:.4g} L near {given.place(int(faces.min()))}"


def _orient(given: Surface) -> Surface:
    """One body, facing outward; hollows inside it (a float's can) face inward."""
    number, label = surface.shells(len(given.vertices), given.faces)
    parts = [given.faces[label == k] for k in range(number)]
    volumes = np.array([surface.enclosed_volume(given.vertices, part) for part in parts])
    boxes = np.array([np.ptp(given.vertices[part.ravel()], axis=0) for part in parts])
    flat = np.abs(volumes) <= 1e-9 * boxes.max(axis=1) ** 3
    if flat.any():
        k = int(np.flatnonzero(flat)[0])
        raise MeshError(
            f"a surface encloses no volume ({_describe(given, parts[k], volumes[k])})",
            mend="Export the tank's inside as a solid.",
            file=given.file,
        )
    outer, notes = int(np.argmax(np.abs(volumes))), given.notes
    if volumes[outer] < 0.0:
        given = replace(given, faces=np.ascontiguousarray(given.faces[:, ::-1]))
        parts, volumes = [np.ascontiguousarray(part[:, ::-1]) for part in parts], -volumes
        notes = (*notes, "the surface was inside out (its normals pointed inward); it has been turned")
    _check_hollows(given, parts, volumes, outer)
    if number > 1:
        what = counted(number - 1, "closed hollow inside the cavity holds", "closed hollows inside the cavity hold")
        notes = (*notes, f"{what} no fuel")
    return replace(given, notes=notes)


def _check_hollows(given: Surface, parts: list[Ints], volumes: Floats, outer: int) -> None:
    """Every part but the outer one is a hollow: it lies in the cavity and faces inward."""
    others = [k for k in range(len(parts)) if k != outer]

    def within(k: int, around: list[int]) -> bool:
        seen_from = given.vertices[parts[k][0, 0]]
        return points.inside(seen_from, given.vertices, np.concatenate([parts[i] for i in around]))

    apart = [k for k in others if not within(k, [outer])]
    if apart:
        listed = "; ".join(_describe(given, parts[k], volumes[k]) for k in [outer, *apart][:6])
        raise MeshError(
            f"there are {len(apart) + 1} separate bodies in it: {listed}",
            mend="Export each tank's inside to a file of its own, without the other parts.",
            file=given.file,
        )
    for k in others:
        if volumes[k] > 0.0 or not within(k, [i for i in range(len(parts)) if i != k]):
            raise MeshError(
                f"a closed surface inside the cavity is no hollow in it ({_describe(given, parts[k], volumes[k])})",
                mend="A hollow's normals point into it, and nothing lies inside a hollow: turn it or take it out in CAD.",
                file=given.file,
            )
        if -volumes[k] > FILLS_MOST * volumes[outer]:
            raise MeshError(
                f"this looks like the tank's wall and not its inside: {_describe(given, parts[k], volumes[k])} of"
                f" {_describe(given, parts[outer], volumes[outer])} are hollow",
                mend="Export the inside as a solid; `fuelsys mesh FILE --mend --inside --into NEW.ply` takes the inner shell.",
                file=given.file,
            )


def _check_crossings(given: Surface) -> None:
    """The surface does not pass through itself: what lies in both parts would count twice."""
    found = crossings(given.vertices, given.faces, SHALLOW_M / units.scale(given.unit), first=1)
    if found.n_crossing:
        x, y, z = found.crossing_at[0]
        what = counted(found.n_crossing, "pair of faces passes", "pairs of faces pass")
        raise MeshError(
            f"{what} through each other, the first near ({x:.6g}, {y:.6g}, {z:.6g}) {given.unit}",
            mend="Unite the overlapping parts into one solid in CAD and export again; `fuelsys mesh FILE` shows where they are.",
            file=given.file,
        )


def odd_volume(volume_m3: float, unit: str) -> tuple[str, ...]:
    """A question, where a cavity's volume is no light aircraft's tank's."""
    if LEAST_PLAUSIBLE_M3 <= volume_m3 <= MOST_PLAUSIBLE_M3:
        return ()
    held = f"{volume_m3 * 1e3:,.0f} L" if volume_m3 > MOST_PLAUSIBLE_M3 else f"{volume_m3 * 1e6:.3g} mL"
    return (
        f"Warning: a cavity of {held} is unusual for a light aircraft's tank: is the unit {unit} right? State another if not.",
    )


def read_surface(path: Path, unit: str | None) -> Surface:
    """A mesh file as one closed, outward surface in its own unit and axes; MeshError if it holds none."""
    given = _read(path, unit)
    _check_edges(given)
    _check_corners(given)
    given = _orient(given)
    _check_crossings(given)
    return given


def load_cavity(
    path: Path,
    unit: str | None,
    axes_text: str = "aft, right, up",
    origin_m: Floats | None = None,
    name: str | None = None,
) -> Cavity:
    """A mesh file as a cavity in body axes, origin_m (3,) being where the mesh's own origin lies; MeshError if it is none."""
    try:
        turn = axes.rotation(axes_text)
    except FuelsysError as fault:
        raise MeshError(fault.found, mend=fault.mend, file=files.label(path.name), field="axes") from fault
    given = read_surface(path, unit)
    vertices_m = given.vertices * units.scale(given.unit) @ turn + (0.0 if origin_m is None else origin_m)
    name = name or files.label(path.stem)
    cavity = Cavity.of(vertices_m, given.faces, name, given.notes)
    return replace(cavity, notes=(*given.notes, *odd_volume(cavity.gross_m3, given.unit)))
