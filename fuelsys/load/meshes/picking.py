"""The bodies of a mesh file, an outer shell with its hollows each: listed, and one of them picked by name or number.

`load/meshes/picking.py` takes a file apart before anything is welded. Parts are OBJ objects (groups, where there are not several
objects), the solids of a text STL, GLB nodes, 3MF objects. Faces of one part hang together by every edge, faces of different parts
only along edges that would be open without the other: so a skin exported in thirty groups is one body, and two tanks that share a
wall are two. A body is an outer shell with the hollows in it (shells that face the other way, directly in it). Bodies are numbered
in the order of their first faces, which readers keep. A name goes before a number; one that fits several or none is refused with
the list. What lies inside the body that was picked, or reaches into it, and is left out is a warning: its room then counts as
fuel's. Without names,
bodies that touch stay what they were, a fault. GLB nodes go through the mesh library under their numbers, and 3MF names are read
here, because the library renames one of two that are called alike.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import islice

import numpy as np

from fuelsys import units
from fuelsys.arrays import Flags, Floats, Ints
from fuelsys.errors import BodiesError
from fuelsys.kernels import edges, points, solids, surface
from fuelsys.kernels.alike import equal_corners
from fuelsys.kernels.boxes import next_around
from fuelsys.load import bounds
from fuelsys.load.formats.raw import PICK, Indices, Raw, is_number, listed
from fuelsys.load.meshes.bodies import Bodies, bodies
from fuelsys.load.meshes.weld import of_three_corners, weld
from fuelsys.model.found.mesh import Body
from fuelsys.model.words import Doubt

_LOOKED_AT = 8  # faces of a shell from which is asked what it lies in
_SHARED_M3 = 1e-6  # bodies that touch share what rounding and facets make of their common wall
_CLEAR = 1e-5  # of the shell's size: a place nearer to the other shell is on it, and does not tell


@dataclass(frozen=True)
class Listing:
    """All bodies of a file, numbered from one in the order of their first faces, and the body of each face (m,), else 0."""

    raw: Raw
    unit: str
    bodies: tuple[Body, ...]
    of_face: Indices

    def __str__(self) -> str:
        """The largest of them on one line."""
        return self.line(self.bodies)

    def line(self, which: Sequence[Body]) -> str:
        """Number, name, volume and place of some bodies, the largest of them, on one line."""
        return listed([(b.number, b.volume_m3 or 0.0, self._told(b)) for b in which])

    def _told(self, body: Body) -> str:
        x, y, z = (body.low_m + body.high_m) / 2.0 / units.scale(self.unit) + 0.0
        held = "open" if body.volume_m3 is None else f"{body.volume_m3 * 1e3:.4g} L"
        return f"{body.number} {body.title} {held} about ({x:.4g}, {y:.4g}, {z:.4g}) {self.unit}"

    def several(self, file: str) -> BodiesError:
        """Nothing was picked, and there are several."""
        found = f"there are {len(self.bodies)} separate bodies in it: {self}"
        return BodiesError(found, mend=PICK, file=file)

    def picked(self, pick: str, file: str) -> Raw:
        """The faces of the one body that is meant; MeshError where none is, or several are."""
        fit = [b for b in self.bodies if pick in b.called]
        if not fit and is_number(pick):
            fit = [b for b in self.bodies if b.number == int(pick)]
        if len(fit) != 1:
            what = f"there are {len(fit)} bodies" if fit else "there is no body"
            found = f"{what} named {units.shown(pick)} in it: {self.line(fit or self.bodies)}"
            raise BodiesError(found, mend=PICK, file=file, field="body")
        (body,) = fit
        faces = self.raw.faces[self.of_face == body.number]
        notes = (*self.raw.notes, *self._left_out(body), *self._overlaps(body))
        return replace(self.raw, faces=faces, notes=notes, parts=None, names=("",))

    def _left_out(self, body: Body) -> Iterator[str]:
        if len(self.bodies) > 1:
            yield f"of {len(self.bodies)} bodies in the file, {body.number} {body.title} was taken, the others were left out"
        inside = [b for b in self.bodies if body.number in b.inside]
        if inside:
            yield Doubt(f"what was left out lies inside it, and its room counts as fuel's: {self.line(inside)}")

    def _overlaps(self, body: Body) -> Iterator[str]:
        """Bodies that were left out and reach into the one that was taken, neither of them lying in the other."""
        near = [other for other in self.bodies if self._may_overlap(body, other)]
        unseen = len(near) - bounds.MOST_OVERLAPS
        if unseen > 0:
            yield Doubt(f"not checked: whether {unseen} more bodies, which were left out, reach into it")
        for other in near[: bounds.MOST_OVERLAPS]:
            met = solids.shared(self._surface(body), self._surface(other))
            if met is None:
                yield Doubt(f"not checked: whether {self._told(other)}, which was left out, reaches into it")
            elif met[0] * units.scale(self.unit) ** 3 >= _SHARED_M3:
                x, y, z = met[1] + 0.0
                yield (
                    Doubt(
                        f"{self._told(other)} was left out and shares {met[0] * units.scale(self.unit) ** 3 * 1e3:.4g} L"
                        f" with it, about ({x:.4g}, {y:.4g}, {z:.4g}) {self.unit}: unite in CAD what makes up one tank"
                    )
                )

    def _may_overlap(self, body: Body, other: Body) -> bool:
        """Whether their boxes meet and neither lies in the other."""
        nested = other is body or body.number in other.inside or other.number in body.inside
        return not (nested or (other.low_m >= body.high_m).any() or (other.high_m <= body.low_m).any())

    def _surface(self, body: Body) -> tuple[Floats, Ints]:
        """A body's corners and faces, welded."""
        vertices, faces, _ = weld(self.raw.vertices, self.raw.faces[self.of_face == body.number])
        return vertices, faces


def listing(raw: Raw, unit: str) -> Listing:
    """The bodies of a file. Parts that are closed by themselves stand apart, even where they touch."""
    of_part = np.zeros(len(raw.faces), dtype=np.int64) if raw.parts is None else raw.parts
    faces, whole = _apart(raw, of_part)
    scale = units.scale(unit)
    shells = bodies(_places(raw, faces, whole) * scale, faces, edges.edges_of(faces))
    parents = _around(shells)
    own = _hollow_of(shells, parents)
    first = np.unique(shells.label, return_index=True)[1]
    order = sorted((k for k in range(shells.number) if own[k] == k), key=lambda k: int(first[k]))
    number = {k: n for n, k in enumerate(order, 1)}
    of_face = np.zeros(len(raw.faces), dtype=np.int64)
    of_face[whole] = np.array([number[own[k]] for k in range(shells.number)], dtype=np.int64)[shells.label]
    hollows: dict[int, list[int]] = {k: [] for k in order}
    for k in range(shells.number):
        if own[k] != k:
            hollows[own[k]].append(k)
    names = _names(raw, shells, of_part[whole])
    found = []
    for k in order:
        within = tuple(number[j] for j in islice(_chain(k, parents), bounds.MOST_DEEP) if own[j] == j)
        found.append(_body(shells, number[k], k, hollows[k], names[k], within))
    return Listing(raw, unit, tuple(found), of_face)


def _names(raw: Raw, shells: Bodies, parts: Indices) -> list[tuple[str, ...]]:
    """The names of each shell's parts."""
    named: list[list[str]] = [[] for _ in range(shells.number)]
    for k, part in np.unique(np.column_stack([shells.label, parts]), axis=0).tolist():
        if raw.names[part]:
            named[k].append(raw.names[part])
    return [tuple(dict.fromkeys(names)) for names in named]


def _body(
    shells: Bodies, number: int, k: int, hollows: Sequence[int], names: tuple[str, ...], inside: tuple[int, ...]
) -> Body:
    held = abs(float(shells.volumes_m3[k])) - sum(abs(float(shells.volumes_m3[j])) for j in hollows)
    return Body(
        number=number,
        names=names,
        triangles=int(shells.triangles[[k, *hollows]].sum()),
        hollows=len(hollows),
        volume_m3=held if shells.sound_shell[k] else None,
        low_m=shells.low_m[k],
        high_m=shells.high_m[k],
        inside=inside,
    )


# --- what hangs together ---------------------------------------------------------------------------------------------


def _apart(raw: Raw, parts: Indices) -> tuple[Ints, Flags]:
    """Faces with an area, their corners named so that equal ones are one within a body alone; which faces these are (m,).

    Faces of one part hang together by every edge; those of different parts only where both would be open without the other.
    """
    number, _ = equal_corners(raw.vertices)
    faces = number[raw.faces]
    whole = of_three_corners(faces)
    faces, many = faces[whole], len(raw.vertices)
    keys = parts[whole][:, None] * many + faces
    within = _renamed(keys)
    along = edges.edges_of(within)
    n, piece = edges.shells_of(within, along)
    odd = along.many % 2 == 1
    ends = np.sort(np.unique(keys)[along.ends[odd]] % many, axis=1)
    _, edge = np.unique(ends, axis=0, return_inverse=True)
    order = np.argsort(edge.reshape(-1), kind="stable")
    owner, edge = piece[along.half[along.first[odd]] // 3][order], edge.reshape(-1)[order]
    alike = np.flatnonzero(np.diff(edge) == 0)
    _, body = edges.pieces(n, np.column_stack([owner[alike], owner[alike + 1]]))
    return _renamed(body[piece][:, None] * many + faces), whole


def _renamed(faces: Indices) -> Ints:
    """The same faces (m, 3), their corners named from zero on."""
    return np.unique(faces, return_inverse=True)[1].reshape(-1, 3).astype(np.int32)


def _places(raw: Raw, faces: Ints, whole: Flags) -> Floats:
    """Where the renamed corners are (n, 3)."""
    places = np.zeros((int(faces.max(initial=-1)) + 1, 3))
    places[faces.reshape(-1)] = raw.vertices[raw.faces[whole].reshape(-1)]
    return places


# --- what lies in what -----------------------------------------------------------------------------------------------


def _around(shells: Bodies) -> dict[int, int]:
    """For each sound shell that lies in others, the innermost of these."""
    sound = np.flatnonzero(shells.sound_shell & ~shells.flat)
    volumes = np.abs(shells.volumes_m3)
    sound = sound[np.argsort(volumes[sound], kind="stable")]
    size, boxes = volumes[sound], np.concatenate([shells.low_m[sound], -shells.high_m[sound]], axis=1)
    faces = surface.by_label(shells.faces, shells.label, shells.number)
    found = {}
    for k in sound.tolist():
        box, at = np.concatenate([shells.low_m[k], -shells.high_m[k]]), int(np.searchsorted(size, volumes[k], "right"))
        while (at := next_around(box, boxes, at)) < len(sound):
            j = int(sound[at])
            if _lies_in(shells, k, faces[k], faces[j]):
                found[k] = j
                break
            at += 1
    return found


def _lies_in(shells: Bodies, k: int, own: Ints, around: Ints) -> bool:
    """Asked from a place of the one shell that is not on the other; shells that share all their places do not lie in each other."""
    step, size = max(1, len(own) // _LOOKED_AT), float((shells.high_m[k] - shells.low_m[k]).max())
    for face in own[::step]:
        corners = shells.vertices_m[face]
        for place in (corners.mean(axis=0), corners[0]):
            _, wall = points.nearest(place, shells.vertices_m, around)
            if np.linalg.norm(place - wall) > _CLEAR * size:
                return bool(abs(points.winding(place, shells.vertices_m, around)) > 0.5)
    return False


def _hollow_of(shells: Bodies, parents: dict[int, int]) -> list[int]:
    """The shell whose body each shell belongs to: its own, or that of the shell around it of which it is a hollow.

    A hollow faces the other way than the shell around it, and nothing in a hollow is part of the same body.
    """
    own = list(range(shells.number))
    for k in sorted(parents, key=lambda k: -abs(float(shells.volumes_m3[k]))):
        around = parents[k]
        if own[around] == around and np.sign(shells.volumes_m3[k]) != np.sign(shells.volumes_m3[around]):
            own[k] = around
    return own


def _chain(k: int, parents: dict[int, int]) -> Iterator[int]:
    while k in parents:
        k = parents[k]
        yield k
