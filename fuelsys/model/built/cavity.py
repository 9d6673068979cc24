"""The cavity of a tank: one closed inside surface in body axes, with all that does not depend on the attitude."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np

from fuelsys.arrays import Floats, Ints
from fuelsys.kernels import points, surface
from fuelsys.model.words import Words, warnings


@dataclass(frozen=True)
class Spot:
    """A named point in a cavity: point_m (3,) about the cavity's centre, the face it sits on (-1: it stands free).

    off_m is how far the stated point lies outside the cavity; point_m is then the wall's nearest point.
    """

    name: str
    point_m: Floats
    face: int = -1
    off_m: float = 0.0


@dataclass(frozen=True)
class Taken:
    """What a mesh holds and fuel does not: a wall, a body inside, a coating, what was not drawn; doubt_m3 either way.

    thickness_m is that of a layer, 0 of anything else.
    """

    what: str
    volume_m3: float
    doubt_m3: float = 0.0
    thickness_m: float = 0.0


@dataclass(frozen=True)
class Gap:
    """A gap that is too narrow to count on as a passage: how wide it is where it is narrowest, 0 where walls touch.

    at_m (3,) is that place in body axes from the datum.
    """

    width_m: float
    at_m: Floats


@dataclass(frozen=True)
class Overlap:
    """Two tanks whose boxes overlap: what their cavities share, None where a mesh cannot be cut; at_m is its middle.

    at_m (3,) is in body axes from the datum: of the largest part, where what they share is in several.
    """

    tanks: tuple[str, str]
    shared_m3: float | None = None
    at_m: Floats | None = None


@dataclass(frozen=True)
class Barrier:
    """A wall, a rib or a body that a straight stick would pass through: where it meets it from above, and how thick it is.

    at_m (3,) is in the mesh's axes, the thickness is along the stick.
    """

    at_m: Floats
    thick_m: float


@dataclass(frozen=True)
class Cavity:
    """A closed surface, checked at the door: vertices (n, 3) in metres about its centre, outward faces (m, 3).

    vertices_m + centre_m are body axes from the datum (x aft, y right, z up). Arrays are read-only by agreement.
    share of the volume that the surface encloses holds fuel, everywhere alike; gross_m3 is what holds it. taken is what
    lies between the exported mesh and gross_m3, in the order in which it was taken off. gaps are those that were filled,
    since they are too narrow to count on as passages, the narrowest first. measured says which tests on the finished tank corrected it.
    behind is how much more than its share of what stays behind, is trapped or goes unseen counts: a test that finds a tank smaller does
    not say where, so that no less of it than was drawn counts.
    """

    name: str
    vertices_m: Floats
    faces: Ints
    centre_m: Floats
    areas_m2: Floats
    gross_m3: float
    notes: tuple[str | Words, ...] = ()
    share: float = 1.0
    taken: tuple[Taken, ...] = ()
    gaps: tuple[Gap, ...] = ()
    measured: tuple[Words, ...] = ()
    behind: float = 1.0

    @classmethod
    def of(
        cls,
        vertices_m: Floats,
        faces: Ints,
        name: str = "tank",
        notes: tuple[str | Words, ...] = (),
        share: float = 1.0,
        taken: tuple[Taken, ...] = (),
        gaps: tuple[Gap, ...] = (),
    ) -> Cavity:
        """A cavity from a surface that is known to be closed and outward; see load/mesh.py for one that is not."""
        centre_m = (vertices_m.min(axis=0) + vertices_m.max(axis=0)) / 2.0
        local_m = np.ascontiguousarray(vertices_m - centre_m)
        faces = np.ascontiguousarray(faces, dtype=np.int32)
        areas_m2 = surface.vector_areas(local_m, faces)
        for array in (local_m, faces, centre_m, areas_m2):
            array.setflags(write=False)
        return cls(
            name=name,
            vertices_m=local_m,
            faces=faces,
            centre_m=centre_m,
            areas_m2=areas_m2,
            gross_m3=surface.enclosed_volume(local_m, faces) * share,
            notes=notes,
            share=share,
            taken=taken,
            gaps=gaps,
        )

    def counting(self, share: float, taken: Taken, said: Words) -> Cavity:
        """The same holding a share of what was drawn, as a test found; what stays behind never counts as less than drawn."""
        return replace(
            self,
            gross_m3=self.gross_m3 * share,
            share=self.share * share,
            behind=self.behind / min(1.0, share),
            taken=(*self.taken, taken),
            measured=(*self.measured, said),
        )

    @property
    def warnings(self) -> tuple[str, ...]:
        """Why what it holds may be wrong."""
        return warnings(self.notes)

    @cached_property
    def edges(self) -> Ints:
        """Each edge's two corners (e, 2)."""
        return surface.undirected_edges(self.faces)

    @cached_property
    def normals(self) -> Floats:
        """At each corner, weighted by angle (n, 3), not of unit length."""
        return surface.corner_normals(self.vertices_m, self.faces)

    @cached_property
    def _touching_m(self) -> float:
        """How near to the surface a point counts as lying on it."""
        return 1e-9 * float(np.abs(self.vertices_m).max())

    @property
    def mesh_m3(self) -> float:
        """Volume of the mesh as it was exported."""
        return self.gross_m3 + sum(taken.volume_m3 for taken in self.taken)

    @property
    def wetted_area_m2(self) -> float:
        """Area of the whole inside surface."""
        return float(np.linalg.norm(self.areas_m2, axis=1).sum())

    @property
    def facets_m3(self) -> tuple[float, float]:
        """What the facets may hide of a smooth surface: volume of bulges (the true one is larger) and of dents."""
        return surface.hidden_by_facets(self.vertices_m, self.faces)

    @property
    def bounds_m(self) -> tuple[Floats, Floats]:
        """Least and greatest corner in body axes."""
        return self.vertices_m.min(axis=0) + self.centre_m, self.vertices_m.max(axis=0) + self.centre_m

    def nearest_m(self, point_m: Floats) -> Floats:
        """The place of the surface, a wall, a rib or a body inside, that is nearest to a point, both in body axes."""
        nearest: Floats = points.nearest(point_m - self.centre_m, self.vertices_m, self.faces)[1] + self.centre_m
        return nearest

    def clearance_m(self, point_m: Floats) -> float:
        """From a point in body axes to the nearest part of the surface: a wall, a rib or a body inside.

        >>> corner = np.array([[0.0, 0, 0], [1, 0, 0], [0, 1, 0], [0, 0, 1]])
        >>> cavity = Cavity.of(corner, np.array([[0, 2, 1], [0, 1, 3], [0, 3, 2], [1, 2, 3]], dtype=np.int32))
        >>> round(cavity.clearance_m(np.array([0.2, 0.3, 0.1])), 12)
        0.1
        """
        local_m = point_m - self.centre_m
        return float(np.linalg.norm(points.nearest(local_m, self.vertices_m, self.faces)[1] - local_m))

    def sides(self, point_m: Floats, reach_m: float) -> int:
        """How many pieces of the surface come within reach of a point in body axes that do not hang together within it."""
        return points.sides(point_m - self.centre_m, self.vertices_m, self.faces, reach_m)

    def spot(self, name: str, point_m: Floats) -> Spot:
        """A point in body axes as a spot: on the nearest face where it lies outside or on the surface, else free.

        >>> corner = np.array([[0.0, 0, 0], [1, 0, 0], [0, 1, 0], [0, 0, 1]])
        >>> cavity = Cavity.of(corner, np.array([[0, 2, 1], [0, 1, 3], [0, 3, 2], [1, 2, 3]], dtype=np.int32))
        >>> cavity.spot("drain", np.array([0.2, 0.2, 0.0])).face, cavity.spot("pickup", np.array([0.2, 0.2, 0.1])).face
        (0, -1)
        """
        local_m = point_m - self.centre_m
        face, at_m = points.nearest(local_m, self.vertices_m, self.faces)
        away_m = float(np.linalg.norm(at_m - local_m))
        if away_m <= self._touching_m:
            return Spot(name, local_m, face)
        if points.inside(local_m, self.vertices_m, self.faces):
            return Spot(name, local_m)
        return Spot(name, at_m, face, away_m)

    def spots(self, points_m: Floats) -> list[Spot]:
        """What `spot` says of each of the points (n, 3): one nearer to the last free one than the surface is is free as well.

        >>> corner = np.array([[0.0, 0, 0], [1, 0, 0], [0, 1, 0], [0, 0, 1]])
        >>> cavity = Cavity.of(corner, np.array([[0, 2, 1], [0, 1, 3], [0, 3, 2], [1, 2, 3]], dtype=np.int32))
        >>> [spot.off_m for spot in cavity.spots(np.array([[0.2, 0.2, 0.1], [0.2, 0.2, 0.15], [0.2, 0.2, -0.5]]))]
        [0.0, 0.0, 0.5]
        """
        found: list[Spot] = []
        free_m, within_m = self.centre_m, 0.0
        for point_m in points_m:
            if float(np.linalg.norm(point_m - free_m)) < within_m:
                found.append(Spot("", point_m - self.centre_m))
                continue
            found.append(self.spot("", point_m))
            if found[-1].face < 0:
                free_m, within_m = point_m, self.clearance_m(point_m) - 2.0 * self._touching_m
        return found
