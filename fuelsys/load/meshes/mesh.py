"""Looks at a mesh as it stands and says what it is and what is wrong with it, where the mesh door would stop at the first fault."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import numpy as np

from fuelsys import units
from fuelsys.arrays import Flags, Floats, Ints
from fuelsys.kernels import crossings, edges, patching, surface
from fuelsys.kernels.alike import few_alike
from fuelsys.kernels.passages import films
from fuelsys.load import bounds
from fuelsys.load.formats import files, step
from fuelsys.load.formats.raw import WHOLE, Choice
from fuelsys.load.meshes import door as mesh
from fuelsys.load.meshes import soundness
from fuelsys.load.meshes.bodies import Bodies, bodies
from fuelsys.load.meshes.passages import TOUCH_M
from fuelsys.load.meshes.picking import listing
from fuelsys.load.meshes.soundness import Surface
from fuelsys.load.meshes.weld import weld
from fuelsys.model.found.mesh import Body, Fault, Health, Kind, Rim
from fuelsys.model.stated.design import NARROWEST_M

LISTED = 1000  # faults of a kind whose places are kept
# A face is without area where its height is less than this share of the mesh's size: what rounding in double precision makes.
_NO_HEIGHT = 1e-13


def read(path: Path, unit: str | None, choice: Choice = WHOLE) -> tuple[Surface, Floats]:
    """A file's faces, welded where corners are equal, and those that have two equal corners (k, 3, 3), which are left out."""
    (raw, unit), file = mesh.chosen(path, unit, choice), files.label(path.name)
    corners = raw.vertices[raw.faces]
    repeated = (corners == np.roll(corners, 1, axis=1)).all(axis=2).any(axis=1)
    vertices, faces, _ = weld(raw.vertices, raw.faces)
    whole = None if choice.body else raw
    return Surface(file, unit, vertices, faces, raw.notes, whole), corners[repeated]


def solids(path: Path) -> tuple[step.Solid, ...]:
    """The true solids of a file to pick one from; none of a file of facets, whose bodies examining it lists."""
    if files.format_of(path) not in files.TRUE_SOLIDS:
        return ()
    return step.solids(files.contents(path, files.GIVE))


def examine(path: Path, unit: str | None, choice: Choice = WHOLE) -> Health:
    """The health of a mesh file; MeshError only where the file cannot be read or its unit is not known."""
    return judge(*read(path, unit, choice))


def judge(given: Surface, repeated: Floats | None = None) -> Health:
    """The health of a welded surface; repeated (k, 3, 3) are faces that were left out of it for their equal corners."""
    scale = units.scale(given.unit)
    vertices, faces, left_out = given.vertices, given.faces, np.zeros((0, 3, 3)) if repeated is None else repeated
    along = edges.edges_of(faces)
    body = bodies(vertices * scale, faces, along)
    held = few_alike(faces, bounds.MOST_ALIKE)
    meets = crossings.crossings(vertices, held, soundness.SHALLOW_M / scale, first=LISTED)
    meets = meets._replace(all=meets.all and len(held) == len(faces))
    through = soundness.passes_through(given, meets) if body.sound and not meets.n_crossing else None
    found = [
        *_edge_faults(given, along),
        Fault(
            Kind.THROUGH,
            0 if through is None else 1,
            _points(np.reshape(through, (-1, 3))) if through is not None else _points(np.zeros((0, 3))),
            True,
        ),
        *_meetings(meets),
        *_faces(given),
        Fault(Kind.REPEATED, len(left_out), _longest_sides(left_out[:LISTED])),
    ]
    faults = tuple(replace(fault, lines_m=fault.lines_m * scale) for fault in found if fault.count)
    rims, n_rims = _rims(given, along, scale)
    everything = np.concatenate([vertices, left_out.reshape(-1, 3)]) * scale
    low, high = (everything.min(axis=0), everything.max(axis=0)) if len(everything) else (np.zeros(3), np.zeros(3))
    return Health(
        file=given.file,
        unit=given.unit,
        triangles=len(faces) + len(left_out),
        corners=len(vertices),
        area_m2=float(body.areas_m2.sum()),
        volume_m3=body.volume_m3,
        low_m=low,
        high_m=high,
        n_shells=body.number,
        shells=body.largest(),
        faults=faults,
        rims=rims,
        n_rims=n_rims,
        wall=body.wall,
        why_not=tuple(_why_not(given, faults, body)),
        notes=(*given.notes, *_remarks(given, body, along)),
        bodies=_to_pick_from(given, body),
    )


def _to_pick_from(given: Surface, body: Bodies) -> tuple[Body, ...]:
    """The bodies of a file where there are several."""
    if given.raw is None or (body.number < 2 and len(given.raw.names) < 2):
        return ()
    found = listing(given.raw, given.unit).bodies
    return found if len(found) > 1 else ()


def _remarks(given: Surface, body: Bodies, along: edges.Edges) -> list[str]:
    """What a person should know of a surface that can be used all the same."""
    remarks = list(mesh.odd_volume(abs(body.volume_m3), given.unit, given.file)) if body.volume_m3 is not None else []
    largest = body.largest()
    if largest and largest[0].volume_m3 is not None and largest[0].volume_m3 < 0.0:
        remarks.append(
            "The surface is inside out (its normals point inward); it is turned when it is read as a cavity."
        )
    if body.volume_m3 is not None:
        remarks += _narrow(given)
    apart = soundness.seam(given.vertices, along)
    if apart is not None:
        remarks.append(soundness.seam_words(apart, given.unit, "--mend with --weld"))
    return remarks


def _narrow(given: Surface) -> list[str]:
    """Where the walls of a closed surface, whichever way round it faces, are too near to each other for a passage."""
    scale = units.scale(given.unit)
    sense = 1 if surface.enclosed_volume(given.vertices, given.faces) > 0.0 else -1
    faces = np.ascontiguousarray(given.faces[:, ::sense])
    found = films(given.vertices * scale, faces, NARROWEST_M, TOUCH_M)
    if not found.gap.size:
        return []
    first = int(np.argmin(found.gap))
    at = given.place(found.corners[first, : found.number[first]].mean(axis=0) / scale)
    least = units.written(NARROWEST_M, given.unit, "length")
    return [
        f"There is a gap narrower than {least} near {at}: a design counts it as closed, unless narrowest_passage says otherwise."
    ]


def _edge_faults(given: Surface, along: edges.Edges) -> list[Fault]:
    """Open, crowded and twisted edges, and corners where parts touch that are sound otherwise."""
    open_, crowded, twisted = along.many == 1, along.many > 2, (along.many == 2) & (along.turn != 0)
    found = []
    for kind, which in ((Kind.OPEN, open_), (Kind.CROWDED, crowded), (Kind.TWISTED, twisted)):
        found.append(Fault(kind, int(which.sum()), given.vertices[along.ends[which][:LISTED]]))
    pinched = edges.pinched(given.faces, along, len(given.vertices))
    pinched[along.ends[open_ | crowded]] = False
    return [*found, Fault(Kind.PINCHED, int(pinched.sum()), _points(given.vertices[pinched][:LISTED]))]


def _points(places: Floats) -> Floats:
    return np.stack([places, places], axis=1)


def _meetings(found: crossings.Crossings) -> list[Fault]:
    more = not found.all
    return [
        Fault(Kind.CROSSING, found.n_crossing, _points(found.crossing_at), more and found.n_crossing > 0),
        Fault(Kind.GRAZING, found.n_grazing, _points(found.grazing_at), more and found.n_grazing > 0),
    ]


def without_area(vertices: Floats, faces: Ints) -> Flags:
    """Faces whose corners lie on one line, as far as rounding lets one say: (m,)."""
    if not len(faces):
        return np.zeros(0, dtype=np.bool_)
    sides = _longest_sides(vertices[faces])
    length = np.linalg.norm(sides[:, 1] - sides[:, 0], axis=1)
    doubled = 2.0 * np.linalg.norm(surface.vector_areas(vertices, faces), axis=1)
    return np.asarray(doubled <= _NO_HEIGHT * float(np.ptp(vertices, axis=0).max()) * length)


def _faces(given: Surface) -> list[Fault]:
    """Double faces, each but the first of its like, and faces without area."""
    _, first = np.unique(np.sort(given.faces, axis=1), axis=0, return_index=True)
    double = np.ones(len(given.faces), dtype=np.bool_)
    double[first] = False
    return [
        Fault(kind, int(which.sum()), _longest_sides(given.vertices[given.faces[which][:LISTED]]))
        for kind, which in ((Kind.DOUBLE, double), (Kind.FLAT, without_area(given.vertices, given.faces)))
    ]


def _longest_sides(corners: Floats) -> Floats:
    """The longest side of each triangle (k, 3, 3) as a line: (k, 2, 3)."""
    ends = np.stack([corners, np.roll(corners, -1, axis=1)], axis=2)
    longest = ((ends[:, :, 1] - ends[:, :, 0]) ** 2).sum(axis=2).argmax(axis=1)
    return np.asarray(ends[np.arange(len(corners)), longest])


def _rims(given: Surface, along: edges.Edges, scale: float) -> tuple[tuple[Rim, ...], int]:
    """The holes that mending would find, the largest first; where edges keep it from finding any, open edges that hang together."""
    rims = []
    for ends in _courses(given, along):
        lines_m = given.vertices[ends] * scale
        corners = lines_m.reshape(-1, 3)
        far = patching.chord(corners)
        rims.append(Rim(len(ends), float(np.linalg.norm(far[1] - far[0])), corners.mean(axis=0), lines_m))
    rims.sort(key=lambda rim: -rim.size_m)
    return tuple(rims[:LISTED]), len(rims)


def _courses(given: Surface, along: edges.Edges) -> Iterator[edges.Indices]:
    """Open edges (k, 2) hole by hole."""
    turned, one_sided = edges.wound_alike(given.faces, along)
    if not (along.many > 2).any() and not one_sided.any():
        faces = np.where(turned[:, None], given.faces[:, ::-1], given.faces)
        for rim in patching.rims(faces, edges.edges_of(faces) if turned.any() else along):
            yield np.column_stack([rim, np.roll(rim, -1)])
        return
    ends = along.ends[along.many == 1]
    _, label = edges.pieces(len(given.vertices), ends)
    order = np.argsort(label[ends[:, 0]], kind="stable")
    begin = np.flatnonzero(np.diff(label[ends[order, 0]], prepend=-1))
    for part in np.split(order, begin[1:]) if len(order) else []:
        yield ends[part]


def _why_not(given: Surface, faults: tuple[Fault, ...], body: Bodies) -> Iterator[str]:
    """Everything that keeps a surface from being a cavity."""
    if not len(given.faces):
        yield "there are no faces with an area in it"
        return
    if soundness.flat(given.vertices, given.faces):
        yield soundness.FLAT
        return
    yield from (fault.text for fault in faults if fault.kind.fatal and fault.kind is not Kind.THROUGH)
    yield from body.why_not()
    for fault in faults:
        if fault.kind is Kind.THROUGH:
            near = given.place(fault.places_m[0] / units.scale(given.unit))
            yield f"the surface passes through itself along edges, the first near {near}"
