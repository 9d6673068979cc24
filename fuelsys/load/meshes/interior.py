"""From the mesh as exported to what holds fuel: less a wall, the bodies inside, a coating, a share for what was not drawn.

`load/meshes/interior.py` takes off, in this order: a wall (`wall`, where the mesh is the tank's outside), the bodies inside
(`[[tank.inside]]`, cut out with manifold3d), a coating, a share for what was not drawn. Each leaves a `Taken` in the cavity, with
its doubt, and stands as a line of the capacity table. From there on every kernel sees an ordinary closed surface, so pools,
drains and tables follow by themselves. The share enters at one place: `Tilted.of` scales the plan areas, over which every
volume, area and moment is a sum.

A layer is `kernels/inset.py`: each corner moves so that all faces about it move inward by the thickness (least squares over the
faces' normals). That is exact where at most three planes meet. The doubt counts, as volumes: the distance by which corners of
more planes miss, times the faces' area; and along reentrant edges, where a real layer is round and ours is sharp,
t² (tan(a/2) − a/2) per length for an edge that turns by a. Held against Minkowski sums with a ball of the layer's thickness, the
true difference is 0.6 of the doubt (a 40 L tank with three bodies and 0.3 mm: 0.026 mL of 0.039 mL). Where the moved surface
would pass through itself the layer closes something: then each face's own slab (the hull of the face, 5 µm outside, and the
moved face) is cut out of the cavity, which is the same surface elsewhere and closes what is narrower than twice the thickness.

A body may reach into the wall or through it; what lies outside is said. A body that lies outside altogether is a fault, and so
are bodies that part the cavity. Chips under a millionth of the volume, between a body and the wall, are left out and said. A
switch's mark in its own float (`own_float`) keeps its level and belongs to the pool at the nearest wall; any other fitting in a
body is refused, and so is one in metal with fuel on more than one side within 2 mm (`points.sides`: pieces of surface within
reach that do not hang together within it).
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np
from manifold3d import Manifold, OpType

from fuelsys import units
from fuelsys.arrays import Floats, Ints
from fuelsys.errors import MeshError
from fuelsys.kernels import points, solids, surface
from fuelsys.kernels.crossings import crossings
from fuelsys.kernels.inset import inset
from fuelsys.load.formats.raw import Choice
from fuelsys.load.meshes.door import read_surface
from fuelsys.load.meshes.passages import INTO_M, Place, fill, one_part
from fuelsys.load.meshes.soundness import SHALLOW_M, Surface
from fuelsys.model.built.cavity import Cavity, Gap, Spot, Taken
from fuelsys.model.stated.design import Tank
from fuelsys.model.stated.fittings import Inside
from fuelsys.model.words import Doubt, Quantity, Words, warnings

# A body may reach into the wall or through it, as ribs and tubes do, and what lies outside is said. This share of a body is
# what rounding makes of faces that lie in the wall.
_ROUNDING = 1e-6
# Of gross: a chip between a body and the wall, or one that a filled gap cuts off, which is left out and said.
_NO_PART, _CUT_OFF = 1e-6, 1e-3
_MOST_CUT = 50_000  # faces whose layers are cut out one by one
_AXES = "Give it in the axes and from the origin of the tank's own mesh, and look at its unit."


@dataclass(frozen=True)
class Body:
    """A solid inside a tank: vertices (n, 3) in body axes from the datum, outward faces (m, 3)."""

    name: str
    vertices_m: Floats
    faces: Ints
    warnings: tuple[str, ...] = ()


@dataclass(frozen=True)
class Interior:
    """What holds fuel, the bodies that were taken out of it, and the same with narrow gaps open, where there are any."""

    cavity: Cavity
    bodies: tuple[Body, ...] = ()
    opened: Cavity | None = None

    def spot(self, name: str, point_m: Floats, own_float: str | None = None) -> Spot:
        """A point in body axes as a spot; a switch's mark in its own float keeps its level, at the float's nearest wall."""
        spot = self.cavity.spot(name, point_m)
        if spot.off_m and own_float and own_float in self.around(point_m):
            return Spot(name, point_m - self.cavity.centre_m, spot.face)
        return spot

    def around(self, point_m: Floats) -> tuple[str, ...]:
        """Names of the bodies in which a point in body axes lies."""
        return tuple(body.name for body in self.bodies if points.inside(point_m, body.vertices_m, body.faces))


def fit_out(cavity: Cavity, tank: Tank, bodies: tuple[Body, ...], place: Place) -> Interior:
    """All that a design takes off a tank's mesh, in this order; MeshError with the field that asks for what cannot be."""
    if tank.wall_m:
        cavity = _layer(cavity, tank.wall_m, "wall", place)
    if bodies:
        cavity = _without(cavity, bodies, place)
    if tank.coating_m:
        cavity = _layer(cavity, tank.coating_m, "coating", place)
    filled = _filled(cavity, tank.narrowest_passage_m, "narrow gaps", place)
    if tank.unmodelled:
        filled = _shared(filled, tank.unmodelled) if filled else None
        cavity = _shared(cavity, tank.unmodelled)
    return Interior(filled or cavity, bodies, cavity if filled else None)


def _shared(cavity: Cavity, unmodelled: float) -> Cavity:
    """The cavity less a share for what was not drawn."""
    lost = Taken(f"not drawn, {unmodelled * 100.0:g} %", cavity.gross_m3 * unmodelled)
    return _remade(cavity, cavity.vertices_m, cavity.faces, lost, share=1.0 - unmodelled)


def _filled(cavity: Cavity, width_m: float, what: str, place: Place) -> Cavity | None:
    """The cavity with all gaps filled that are narrower than a width; None where there are none."""

    def here(at_m: Floats) -> str:
        return place(at_m + cavity.centre_m)

    found = fill(cavity.vertices_m, cavity.faces, width_m, here)
    if found is None:
        return None
    part = one_part(found.solid, _CUT_OFF * cavity.gross_m3, here)
    if part == "":
        found_all = f"all of it is narrower than {width_m * 1e3:g} mm; it holds {cavity.gross_m3 * 1e6:.3g} mL"
        raise MeshError(found_all, mend="Look at its unit: is it another, or is narrowest_passage?", field="mesh")
    if isinstance(part, str):
        raise MeshError(
            f"only gaps narrower than {width_m * 1e3:g} mm, the first near {here(found.gaps[0].at_m)}, join {part}",
            mend="Make the passages wider in CAD, or make each part a tank.",
            field="mesh",
        )
    lost = Taken(what, cavity.gross_m3 - surface.enclosed_volume(part.vertices, part.faces))
    gaps = tuple(Gap(gap.width_m, gap.at_m + cavity.centre_m) for gap in found.gaps)
    return replace(_remade(cavity, part.vertices, part.faces, lost), gaps=gaps)


def read_body(
    path: Path, inside: Inside, unit: str | None, turn: Floats, origin_m: Floats, mirror: int | None = None
) -> Body:
    """A body's mesh in body axes, from the datum; what is hollow in it (a float) holds no fuel either. MeshError if it is none."""
    given = _outermost(read_surface(path, unit, Choice(inside.body or "", inside.tolerance_m, mirror), part=True))
    vertices_m = given.vertices * units.scale(given.unit) @ turn + origin_m
    return Body(inside.name, np.ascontiguousarray(vertices_m), given.faces, warnings(given.notes))


def _outermost(given: Surface) -> Surface:
    number, label = surface.shells(len(given.vertices), given.faces)
    if number == 1:
        return given
    outer = int(np.argmax(surface.enclosed_volumes(given.vertices, given.faces, label, number)))
    return Surface(
        given.file, given.unit, given.vertices, np.ascontiguousarray(given.faces[label == outer]), given.notes
    )


def _solid(vertices_m: Floats, faces: Ints) -> Manifold:
    solid = solids.solid(vertices_m, faces)
    if solid is None:
        raise MeshError("it cannot be cut as a solid", mend="Unite its parts in CAD.")
    return solid


def _remade(
    cavity: Cavity, vertices_m: Floats, faces: Ints, taken: Taken, *more: Taken, share: float | None = None,
    notes: tuple[str | Words, ...] = (),
) -> Cavity:  # fmt: skip
    """A cavity with another surface about the old centre, and what was taken off it."""
    return Cavity.of(
        vertices_m + cavity.centre_m,
        faces,
        cavity.name,
        (*cavity.notes, *notes),
        cavity.share if share is None else share,
        (*cavity.taken, taken, *more),
    )


def _layer(cavity: Cavity, thickness_m: float, what: str, place: Place) -> Cavity:
    """The cavity less a layer of even thickness on all of its surface, which closes what is narrower than twice that."""
    moved_m, doubt_m3 = inset(cavity.vertices_m, cavity.faces, thickness_m)
    at_m, faces = _spoilt(cavity, moved_m), cavity.faces
    notes: tuple[Words, ...] = ()
    if at_m is not None:
        near = place(at_m + cavity.centre_m)
        moved_m, faces = _cut_layer(cavity, moved_m, thickness_m, what, place)
        notes = ((f"the {what} closes gaps in the mesh, the first near {near}",),)
    left_m3 = surface.enclosed_volume(moved_m, faces)
    lost = Taken(what, cavity.gross_m3 - left_m3, doubt_m3, thickness_m)
    return _remade(cavity, moved_m, faces, lost, notes=notes)


def _cut_layer(cavity: Cavity, moved_m: Floats, thickness_m: float, what: str, place: Place) -> tuple[Floats, Ints]:
    """The same where the moved surface would pass through itself: each face's own layer is cut out of the cavity."""
    if len(cavity.faces) > _MOST_CUT:
        raise MeshError(
            f"a layer of {thickness_m * 1e3:g} mm closes gaps, and the mesh has more than {_MOST_CUT:,} faces",
            mend="Fill in CAD what the layer closes, or export with fewer faces.",
            field=what,
        )
    outside_m = cavity.vertices_m - (moved_m - cavity.vertices_m) * (INTO_M / thickness_m)
    slabs = [Manifold.hull_points(np.concatenate([outside_m[face], moved_m[face]])) for face in cavity.faces]
    left = _solid(cavity.vertices_m, cavity.faces) - Manifold.batch_boolean(slabs, OpType.Add)
    part = one_part(left, _CUT_OFF * cavity.gross_m3, lambda at_m: place(at_m + cavity.centre_m))
    if isinstance(part, str):
        found = f"a layer of {thickness_m * 1e3:g} mm {f'parts the cavity into {part}' if part else 'fills the cavity'}"
        wider = "Make the passages wider in CAD, or make each part a tank."
        raise MeshError(found, mend=wider if part else "Give a thinner layer; is the unit right?", field=what)
    return part.vertices, part.faces


def _spoilt(cavity: Cavity, moved_m: Floats) -> Floats | None:
    """Where a layer makes the surface pass through itself, or turns a part of it inside out; None where it does neither."""
    number, label = surface.shells(len(moved_m), cavity.faces)
    before, after = (
        surface.enclosed_volumes(places_m, cavity.faces, label, number) for places_m in (cavity.vertices_m, moved_m)
    )
    turned = np.flatnonzero(before * after <= 0.0)
    if turned.size:
        return np.asarray(moved_m[cavity.faces[label == turned[0]][0, 0]])
    found = crossings(moved_m, cavity.faces, SHALLOW_M, first=1)
    return np.asarray(found.crossing_at[0]) if found.n_crossing else None


def _without(cavity: Cavity, bodies: tuple[Body, ...], place: Place) -> Cavity:
    """The cavity less the bodies, each with its own share of what is taken."""
    left = whole = _solid(cavity.vertices_m, cavity.faces)
    taken: list[Taken] = []
    notes: list[str | Words] = []
    for number, body in enumerate(bodies):
        notes += [Doubt(f"{body.name}: {warning}") for warning in body.warnings]
        solid = _solid(body.vertices_m - cavity.centre_m, body.faces)
        body_m3, outside_m3 = solid.volume(), (solid - whole).volume()
        if outside_m3 > (1.0 - _ROUNDING) * body_m3:
            near = place(body.vertices_m.mean(axis=0))
            found = f"all of it ({body_m3 * 1e3:.4g} L) lies outside the cavity, near {near}"
            raise MeshError(found, mend=_AXES, field=f"inside.{number}")
        if outside_m3 > _ROUNDING * body_m3:
            held = Quantity("volume", (outside_m3,))
            notes.append((f"{body.name}: ", held, " of it lie outside the cavity and take up no room"))
        smaller = left - solid
        taken.append(Taken(f"{body.name}, inside", left.volume() - smaller.volume()))
        left = smaller
    part = one_part(left, _NO_PART * cavity.gross_m3, lambda at_m: place(at_m + cavity.centre_m))
    if isinstance(part, str):
        found = f"the bodies cut the cavity into {part}" if part else "the bodies fill the cavity"
        raise MeshError(
            found, mend="Leave an opening in them where fuel passes, or make each part a tank.", field="inside"
        )
    if part.chips:
        held = Quantity("volume", (part.chips,))
        notes.append((held, " between bodies and wall are cut off from all else and left out"))
        taken.append(Taken("chips between bodies and wall", part.chips))
    return _remade(cavity, part.vertices, part.faces, taken[0], *taken[1:], notes=tuple(notes))
