"""From the mesh as exported to what holds fuel: less a wall, the bodies inside, a coating, a share for what was not drawn."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np
from manifold3d import Error, Manifold

from fuelsys import units
from fuelsys.errors import MeshError
from fuelsys.kernels import points, solids, surface
from fuelsys.kernels.compiled import Floats, Ints
from fuelsys.kernels.crossings import crossings
from fuelsys.kernels.inset import inset
from fuelsys.load.mesh import read_surface
from fuelsys.load.raw import Choice, listed
from fuelsys.load.soundness import SHALLOW_M, Surface
from fuelsys.model.cavity import Cavity, Spot, Taken
from fuelsys.model.design import Inside, Tank
from fuelsys.model.findings import Quantity, Words, warnings

# A body may reach into the wall or through it, as ribs and tubes do, and what lies outside is said. This share of a body is
# what rounding makes of faces that lie in the wall.
_ROUNDING = 1e-6
_NO_PART = 1e-6  # of gross: a chip between a body and the wall, which is left out and said
_AXES = "Give it in the axes and from the origin of the tank's own mesh, and look at its unit."


@dataclass(frozen=True)
class Body:
    """A solid inside a tank: vertices (n, 3) about the cavity's centre, outward faces (m, 3)."""

    name: str
    vertices_m: Floats
    faces: Ints
    warnings: tuple[str, ...] = ()

    @property
    def solid(self) -> Manifold:
        """The same for cutting."""
        return _solid(self.vertices_m, self.faces)


@dataclass(frozen=True)
class Interior:
    """What holds fuel, and the bodies that were taken out of it."""

    cavity: Cavity
    bodies: tuple[Body, ...] = ()

    def spot(self, name: str, point_m: Floats) -> Spot:
        """A point in body axes as a spot. One in a body (a switch's mark in its float) keeps its level, at the nearest wall."""
        spot = self.cavity.spot(name, point_m)
        local_m = point_m - self.cavity.centre_m
        if spot.off_m and any(points.inside(local_m, body.vertices_m, body.faces) for body in self.bodies):
            return Spot(name, local_m, spot.face)
        return spot


Place = Callable[[Floats], str]  # a point about the cavity's centre, as the mesh's file has it


def fit_out(cavity: Cavity, tank: Tank, bodies: tuple[Body, ...], place: Place) -> Interior:
    """All that a design takes off a tank's mesh, in this order; MeshError with the field that asks for what cannot be."""
    if tank.wall_m:
        cavity = _layer(cavity, tank.wall_m, "wall", place)
    cut = tuple(replace(b, vertices_m=b.vertices_m - cavity.centre_m) for b in bodies)
    if cut:
        cavity, moved_m = _without(cavity, cut, place)
        cut = tuple(replace(b, vertices_m=b.vertices_m - moved_m) for b in cut)
    if tank.coating_m:
        before_m = cavity.centre_m
        cavity = _layer(cavity, tank.coating_m, "coating", place)
        cut = tuple(replace(b, vertices_m=b.vertices_m - (cavity.centre_m - before_m)) for b in cut)
    if tank.unmodelled:
        lost = Taken(f"not drawn, {tank.unmodelled * 100.0:g} %", cavity.gross_m3 * tank.unmodelled)
        cavity = _remade(cavity, cavity.vertices_m, cavity.faces, lost, share=1.0 - tank.unmodelled)
    return Interior(cavity, cut)


def read_body(path: Path, inside: Inside, unit: str | None, turn: Floats, origin_m: Floats) -> Body:
    """A body's mesh in body axes, from the datum; what is hollow in it (a float) holds no fuel either. MeshError if it is none."""
    given = _outermost(read_surface(path, unit, Choice(inside.body or "", inside.tolerance_m)))
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
    if solid.status() != Error.NoError:
        raise MeshError(f"it cannot be cut as a solid ({solid.status().name})", mend="Unite its parts in CAD.")
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
    """The cavity less a layer of even thickness on all of its surface."""
    moved, doubt_m3 = inset(cavity.vertices_m, cavity.faces, thickness_m)
    _check_layer(cavity, moved, thickness_m, what, place)
    left_m3 = surface.enclosed_volume(moved, cavity.faces)
    return _remade(cavity, moved, cavity.faces, Taken(what, cavity.gross_m3 - left_m3, doubt_m3, thickness_m))


def _check_layer(cavity: Cavity, moved_m: Floats, thickness_m: float, what: str, place: Place) -> None:
    """A layer may not make the surface pass through itself, nor turn a part of it inside out."""
    number, label = surface.shells(len(moved_m), cavity.faces)
    held = (
        surface.enclosed_volumes(places_m, cavity.faces, label, number) for places_m in (moved_m, cavity.vertices_m)
    )
    turned = [cavity.faces[label == k] for k in np.flatnonzero(np.prod([*held], axis=0) <= 0.0)]
    found = crossings(moved_m, cavity.faces, SHALLOW_M, first=1)
    if not turned and not found.n_crossing:
        return
    at_m = moved_m[turned[0][0, 0]] if turned else found.crossing_at[0]
    share = units.plain(cavity.wetted_area_m2 * thickness_m / cavity.gross_m3 * 100.0, 2)
    instead = {
        "coating": f'Say unmodelled = "{share} %" (area times thickness) instead, or leave the finest features out.',
        "wall": "Export the inside itself, or leave features finer than the wall out of the export.",
    }[what]
    raise MeshError(
        f"a layer of {thickness_m * 1e3:g} mm makes the surface pass through itself near {place(at_m)}",
        mend=instead,
        field=what,
    )


def _without(cavity: Cavity, bodies: tuple[Body, ...], place: Place) -> tuple[Cavity, Floats]:
    """The cavity less the bodies, each with its own share of what is taken, and how far its centre moved."""
    left = whole = _solid(cavity.vertices_m, cavity.faces)
    taken: list[Taken] = []
    notes: list[str | Words] = []
    for number, body in enumerate(bodies):
        notes += [f"Warning: {body.name}: {warning.removeprefix('Warning: ')}" for warning in body.warnings]
        solid = body.solid
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
    vertices_m, faces, chips_m3 = _one_part(cavity, left, place)
    if chips_m3:
        held = Quantity("volume", (chips_m3,))
        notes.append((held, " between bodies and wall are cut off from all else and left out"))
        taken.append(Taken("chips between bodies and wall", chips_m3))
    made = _remade(cavity, vertices_m, faces, taken[0], *taken[1:], notes=tuple(notes))
    return made, made.centre_m - cavity.centre_m


def _middle(corners_m: Floats) -> Floats:
    """The middle of the box of faces (k, 3, 3)."""
    return np.asarray((corners_m.min(axis=(0, 1)) + corners_m.max(axis=(0, 1))) / 2.0)


def _one_part(cavity: Cavity, left: Manifold, place: Place) -> tuple[Floats, Ints, float]:
    """What is left as one surface, hollows included, and the volume of chips left out; MeshError where it is in parts."""
    mesh = left.to_mesh64()
    vertices_m, faces = np.ascontiguousarray(mesh.vert_properties[:, :3]), mesh.tri_verts.astype(np.int32)
    number, label = surface.shells(len(vertices_m), faces)
    volumes = surface.enclosed_volumes(vertices_m, faces, label, number)
    chips = (volumes > 0.0) & (volumes <= _NO_PART * cavity.gross_m3)
    parts = np.flatnonzero((volumes > 0.0) & ~chips)
    if parts.size != 1:
        told = [
            (k, volumes[k], f"{volumes[k] * 1e3:.4g} L about {place(_middle(vertices_m[faces[label == k]]))}")
            for k in parts.tolist()
        ]
        found = (
            f"the bodies cut the cavity into {parts.size} parts: {listed(told)}"
            if parts.size
            else "the bodies fill the cavity"
        )
        raise MeshError(
            found, mend="Leave an opening in them where fuel passes, or make each part a tank.", field="inside"
        )
    used, index = np.unique(faces[~chips[label]], return_inverse=True)
    kept = np.ascontiguousarray(index.reshape(-1, 3).astype(np.int32))
    return np.ascontiguousarray(vertices_m[used]), kept, float(volumes[chips].sum())
