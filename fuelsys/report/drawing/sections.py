"""Plane sections and outlines of a cavity: exact cuts through its faces, closed loops, and the fuel that stands in them."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np

from fuelsys.arrays import Flags, Floats, Ints
from fuelsys.model.built.cavity import Cavity


@dataclass(frozen=True)
class View:
    """A way of looking: across and height are the directions (3,) that lie to the right and up on paper, along looks away.

    A section's place on along is its depth.
    """

    name: str
    across: Floats
    height: Floats
    along: Floats

    def turned(self, up: Floats) -> Floats:
        """(3, 2): takes points to paper, turned so that a free surface that faces up (3,) is cut along a horizontal line.

        A surface that faces the eye is cut along none; the paper is then not turned.
        """
        a, b = float(up @ self.across), float(up @ self.height)
        length = float(np.hypot(a, b))
        a, b = (a / length, b / length) if length > 1e-6 else (0.0, 1.0)
        return np.column_stack([self.across * b - self.height * a, self.across * a + self.height * b])


AFT, RIGHT, UP = np.eye(3)
SIDE = View("from the left, nose to the left", AFT, UP, RIGHT)
REAR = View("from behind, left wing to the left", RIGHT, UP, -AFT)
PLAN = View("from above, nose to the left", AFT, RIGHT, -UP)


@dataclass(frozen=True)
class Section:
    """Closed loops of a plane cut: points_m (k, 3); each loop lists its points in order, with the face that leads on.

    Seen against the plane's normal, the cavity lies to the left of every loop's course.
    """

    normal: Floats
    points_m: Floats
    loops: tuple[Ints, ...]
    faces: tuple[Ints, ...]

    @cached_property
    def area_m2(self) -> float:
        """Area of the cut: outer loops count positive, loops round what stands in the cavity negative."""
        return sum((_area(self.points_m[loop], self.normal) for loop in self.loops), 0.0)


def _area(loop: Floats, normal: Floats) -> float:
    """Area within a closed course (k, 3), positive where it lies to the left."""
    about = loop - loop[0]
    return float(np.cross(about, np.roll(about, -1, axis=0)).sum(axis=0) @ normal) / 2.0


def section(cavity: Cavity, normal: Floats, depth_m: float) -> Section:
    """Cut a cavity with the plane normal·x = depth (about its centre); exact for the faceted body.

    A corner in the plane counts as just beyond it: the cut is the limit from the near side and always closes.
    """
    distance = cavity.vertices_m @ normal - depth_m
    beyond = distance >= 0.0
    sides = beyond[cavity.faces]
    cut = np.flatnonzero(sides.any(axis=1) & ~sides.all(axis=1))
    ends = np.stack([cavity.faces[cut], np.roll(cavity.faces[cut], -1, axis=1)], axis=2)
    first, last = sides[cut], np.roll(sides[cut], -1, axis=1)
    leaves, enters = ends[first & ~last], ends[~first & last]
    pairs = np.sort(np.concatenate([leaves, enters]), axis=1)
    edges, inverse = np.unique(pairs, axis=0, return_inverse=True)
    index: Ints = inverse.reshape(-1).astype(np.int32)
    share = distance[edges[:, 0]] / (distance[edges[:, 0]] - distance[edges[:, 1]])
    near, far = cavity.vertices_m[edges[:, 0]], cavity.vertices_m[edges[:, 1]]
    points = near + share[:, None] * (far - near)
    # Along a face from the edge by which its rim leaves the far side to the one by which it comes back: the inside lies left.
    loops, faces = _loops(index[: len(cut)], index[len(cut) :], cut.astype(np.int32))
    return Section(normal, points, loops, faces)


def _loops(start: Ints, stop: Ints, label: Ints) -> tuple[tuple[Ints, ...], tuple[Ints, ...]]:
    """Closed courses of links start -> stop: their points in order, and the label of the link that leads on from each."""
    leads_on = {int(point): link for link, point in enumerate(start)}
    loops, labels = [], []
    while leads_on:
        first, link = leads_on.popitem()
        course, named = [first], [label[link]]
        while int(stop[link]) != first:
            point = int(stop[link])
            link = leads_on.pop(point)
            course.append(point)
            named.append(label[link])
        loops.append(np.array(course, dtype=np.int32))
        labels.append(np.array(named, dtype=np.int32))
    return tuple(loops), tuple(labels)


@dataclass(frozen=True)
class Fuel:
    """Fuel of one pool or several of one level in a section: closed outlines (k, 3), and its free surface as pairs (s, 2, 3)."""

    outlines_m: tuple[Floats, ...]
    surface_m: Floats

    def area_m2(self, normal: Floats) -> float:
        """Area of the fuel in the section whose normal is given."""
        return sum((_area(outline, normal) for outline in self.outlines_m), 0.0)


def fuel_in(cut: Section, of_pool: Flags, up: Floats, level_m: float) -> Fuel:
    """What stands below a level in a section, of the pools whose faces are marked by of_pool (m,).

    A stretch of wall below the level is closed along the level line. Where several stretches make one pool these lines
    overlap, and cancel by their direction: fill the outlines together, by the non-zero rule.
    """
    z = cut.points_m @ up - level_m
    outlines: list[Floats] = []
    crossings: list[Floats] = []
    for loop, faces in zip(cut.loops, cut.faces, strict=True):
        below = z[loop] < 0.0
        if below.all():
            if of_pool[faces].all():
                outlines.append(cut.points_m[loop])
            continue
        begins = np.flatnonzero(~below & np.roll(below, -1))
        for begin in begins:
            if not of_pool[faces[begin]]:
                continue
            outline = _stretch(cut.points_m, np.roll(loop, -begin), z)
            outlines.append(outline)
            crossings += [outline[0], outline[-1]]
    flat = np.cross(up, cut.normal)
    crossings.sort(key=lambda point: float(point @ flat))
    return Fuel(tuple(outlines), np.array(crossings).reshape(-1, 2, 3))


def _stretch(points: Floats, loop: Ints, z: Floats) -> Floats:
    """From the crossing behind the first point of a loop, along the points below, to the crossing back."""
    end = 1 + int(np.argmax(z[loop[1:]] >= 0.0)) if (z[loop[1:]] >= 0.0).any() else len(loop)

    def crossing(one: int, two: int) -> Floats:
        share = z[one] / (z[one] - z[two])
        return np.asarray(points[one] + share * (points[two] - points[one]))

    into, out = crossing(loop[0], loop[1]), crossing(loop[end - 1], loop[end % len(loop)])
    return np.concatenate([[into], points[loop[1:end]], [out]])


def silhouette(cavity: Cavity, view: View) -> list[Floats]:
    """Edges at which the surface turns away from the eye, as courses (k, 2) on (across, height): outline and insides."""
    sides = np.concatenate([cavity.faces[:, [0, 1]], cavity.faces[:, [1, 2]], cavity.faces[:, [2, 0]]]).astype(np.int64)
    key = sides.min(axis=1) << 32 | sides.max(axis=1)
    order = np.argsort(key, kind="stable")
    flat = 1e-9 * np.linalg.norm(cavity.areas_m2, axis=1)
    away = np.tile(cavity.areas_m2 @ view.along > flat, 3)[order]
    turns = np.flatnonzero(away[::2] != away[1::2])
    ends = sides[order[::2]][turns].astype(np.int32)
    flat_m = np.column_stack([cavity.vertices_m @ view.across, cavity.vertices_m @ view.height])
    return _courses(flat_m, ends, step_m=2e-4)


def _courses(points: Floats, pairs: Ints, step_m: float) -> list[Floats]:
    """Pairs of points joined into long courses; points that lie together within a step count as one, and lines once."""
    grid, index = np.unique(np.round(points[pairs.ravel()] / step_m).astype(np.int64), axis=0, return_inverse=True)
    links = np.unique(np.sort(index.reshape(-1, 2), axis=1), axis=0)
    links = links[links[:, 0] != links[:, 1]]
    at: dict[int, set[int]] = {}
    for a, b in links.tolist():
        at.setdefault(a, set()).add(b)
        at.setdefault(b, set()).add(a)
    courses = []
    # Begin where a course must end: at points with other than two links; what is left then are rings.
    for point in [*sorted(at, key=lambda p: (len(at[p]) == 2, p))]:
        while at[point]:
            course = [point]
            while at[course[-1]]:
                following = min(at[course[-1]])
                at[course[-1]].discard(following)
                at[following].discard(course[-1])
                course.append(following)
            courses.append(np.asarray(grid[course] * step_m, dtype=np.float64))
    return courses
