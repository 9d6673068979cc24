"""Where surfaces pass through themselves: against rational arithmetic, brute force and the independent geometry library."""

from __future__ import annotations

from collections import Counter
from fractions import Fraction

import numpy as np
import pytest
import solids
from random_solids import random_body
from solids import Floats, Ints, Solid

from fuelsys.kernels.crossings import crossings
from fuelsys.kernels.predicates import side_of_line, side_of_plane

Point = list[Fraction]


def together(*bodies: Solid) -> Solid:
    """Several bodies as one surface, not welded."""
    starts = np.cumsum([0, *(len(vertices) for vertices, _ in bodies)])
    faces = [faces + start for (_, faces), start in zip(bodies, starts[:-1], strict=True)]
    return np.concatenate([vertices for vertices, _ in bodies]), np.concatenate(faces)


# --- the second method for two triangles: rational numbers, intervals on a line and clipping, no signs of determinants ---


def minus(a: Point, b: Point) -> Point:
    return [x - y for x, y in zip(a, b, strict=True)]


def cross(a: Point, b: Point) -> Point:
    return [a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0]]


def dot(a: Point, b: Point) -> Fraction:
    return sum((x * y for x, y in zip(a, b, strict=True)), Fraction(0))


def normal(t: list[Point]) -> Point:
    return cross(minus(t[1], t[0]), minus(t[2], t[0]))


def between(a: Point, b: Point, share: Fraction) -> Point:
    return [x + share * (y - x) for x, y in zip(a, b, strict=True)]


def stretch(tri: list[Point], other: list[Point], along: Point) -> tuple[list[Fraction], bool]:
    """Where a triangle meets the plane of another, as places on a line; and whether its inside does."""
    heights = [dot(normal(other), minus(v, other[0])) for v in tri]
    places = [dot(along, v) for v, h in zip(tri, heights, strict=True) if h == 0]
    for i, j in ((0, 1), (1, 2), (2, 0)):
        if heights[i] * heights[j] < 0:
            places.append(dot(along, between(tri[i], tri[j], heights[i] / (heights[i] - heights[j]))))
    return places, min(heights) < 0 < max(heights)


def clipped(polygon: list[Point], a: Point, b: Point, turn: int) -> list[Point]:
    """What of a plane polygon lies to the left of a line."""
    left = [turn * ((b[0] - a[0]) * (p[1] - a[1]) - (b[1] - a[1]) * (p[0] - a[0])) for p in polygon]
    kept = []
    for i in range(len(polygon)):
        j = (i + 1) % len(polygon)
        if left[i] >= 0:
            kept.append(polygon[i])
        if left[i] * left[j] < 0:
            kept.append(between(polygon[i], polygon[j], left[i] / (left[i] - left[j])))
    return kept


def area(p: list[Point]) -> Fraction:
    return sum((p[i - 1][0] * p[i][1] - p[i - 1][1] * p[i][0] for i in range(len(p))), Fraction(0))


def meeting(one: list[Point], two: list[Point]) -> str:
    """none, point, touch (along a line) or cross."""
    along = cross(normal(one), normal(two))
    if any(along):
        (a, through_a), (b, through_b) = stretch(one, two, along), stretch(two, one, along)
        if not a or not b or max(min(a), min(b)) > min(max(a), max(b)):
            return "none"
        if max(min(a), min(b)) == min(max(a), max(b)):
            return "point"
        return "cross" if through_a and through_b else "touch"
    if dot(normal(one), minus(two[0], one[0])) != 0:
        return "none"
    k = next(i for i in range(3) if normal(one)[i] != 0)
    a2, polygon = ([[v[(k + 1) % 3], v[(k + 2) % 3]] for v in t] for t in (one, two))
    for i in range(3):
        polygon = clipped(polygon, a2[i], a2[(i + 1) % 3], 1 if area(a2) > 0 else -1)
    if polygon and area(polygon) != 0:
        return "cross"
    return {0: "none", 1: "point"}.get(len({tuple(p) for p in polygon}), "touch")


def expected(points: Floats, faces: Ints) -> str:
    """The same beyond what the two triangles share: a common corner is a point of them, a common side a line."""
    tri = [[[Fraction(float(x)) for x in points[v]] for v in face] for face in faces]
    shared = len(set(faces[0].tolist()) & set(faces[1].tolist()))
    found = meeting(tri[0], tri[1])
    if (found == "point" and shared) or (found == "touch" and shared == 2):
        return "none"
    return "touch" if found == "point" else found


PAIRS = {0: [[0, 1, 2], [3, 4, 5]], 1: [[0, 1, 2], [0, 3, 4]], 2: [[0, 1, 2], [1, 0, 3]]}
SKEW = np.array([[0.1, 0.1, 0.0], [0.0, 0.1, 0.1], [0.1, 0.0, 0.2]])  # no float is a tenth: rounding makes near misses


@pytest.mark.parametrize("shared", [0, 1, 2])
def test_two_triangles_against_rational_numbers(shared: int) -> None:
    rng = np.random.default_rng(shared)
    seen: Counter[str] = Counter()
    for case in range(1500):
        span = int(rng.integers(1, 4))  # few whole numbers: corners on sides, sides on sides, common planes
        points = rng.integers(-span, span + 1, (6 - shared, 3)).astype(float)
        if case % 4 == 0:
            points[:, 2] = 0.0
        if case % 4 == 1:
            points = points @ SKEW
        faces = np.array([np.roll(face, rng.integers(3))[:: rng.choice([-1, 1])] for face in PAIRS[shared]], np.int32)
        flat = any(np.linalg.matrix_rank(points[face[1:]] - points[face[0]]) < 2 for face in faces)
        if flat or len(np.unique(points, axis=0)) < len(points):
            continue
        found = crossings(points, faces, -1.0)  # a negative length: all that cross, however shallow
        wanted = expected(points, faces)
        seen[wanted] += 1
        assert (found.n_crossing, found.n_grazing) == (int(wanted == "cross"), int(wanted == "touch")), (points, faces)
    assert min(seen[kind] for kind in ("none", "cross")) > 50
    assert seen["touch"] > 50 or shared == 2


def sign(value: Fraction) -> int:
    return (value > 0) - (value < 0)


def test_signs_against_rational_numbers() -> None:
    rng = np.random.default_rng(7)
    zeros = 0
    for case in range(3000):
        base = rng.normal(size=(3, 3)) * 10.0 ** rng.uniform(-3, 3)
        share = rng.normal(size=3)
        points = np.vstack([base, (share / share.sum()) @ base])  # in one plane but for rounding
        if case % 3 == 0:
            points = points.astype(np.float32).astype(float) + 1000.0
        if case % 3 == 1:
            points = rng.integers(-2, 3, (4, 3)) * float(rng.choice([1.0, 0.1]))
        exact = [[Fraction(float(x)) for x in point] for point in points]
        a, b, c = (minus(p, exact[3]) for p in exact[:3])
        wanted = sign(dot(cross(a, b), c))
        zeros += wanted == 0
        assert side_of_plane(points, 0, 1, 2, 3) == wanted
        assert side_of_line(points, 0, 1, 2, 0, 1) == sign(area([p[:2] for p in exact[:3]]))
    assert zeros > 100


# Time, measured and not tested (a sphere, one core, compiled already): 0.5 s for 200 000 triangles, 3 s for a million;
# the whole of a mesh's health 1.1 s and 7 s.


# --- whole bodies ----------------------------------------------------------------------------------------------------


def pierced(solid: Solid) -> set[tuple[int, int]]:
    """Pairs of faces of which a side of one passes through the inside of the other, all against all; rounded."""
    vertices, faces = solid
    corners = vertices[faces]
    pairs = set()
    for t, (a, b, c) in enumerate(corners):
        up = np.cross(b - a, c - a)
        for k in range(3):
            ends = faces[:, [k, (k + 1) % 3]]
            start, stop = corners[:, k], corners[:, (k + 1) % 3]
            high, low = (start - a) @ up, (stop - a) @ up
            # Sides that begin at a corner of the triangle meet it there and, but for rounding, nowhere else.
            through = np.flatnonzero((high * low < 0) & ~np.isin(ends, faces[t]).any(axis=1))
            share = (high / (high - low + (high == low)))[through]
            at = start[through] + share[:, None] * (stop - start)[through]
            inside = np.min([np.cross(q - p, at - p) @ up for p, q in ((a, b), (b, c), (c, a))], axis=0) > 0
            pairs |= {(min(s, t), max(s, t)) for s in through[inside].tolist()}
    return pairs


@pytest.mark.parametrize("seed", range(12))
def test_two_bodies_against_brute_force_and_the_independent_library(seed: int) -> None:
    rng = np.random.default_rng(seed)
    one, two = random_body(seed), random_body(seed + 100)
    # Turned, so that no sides meet exactly, and moved: some lie apart, most pass through each other.
    moved = solids.rotate(two[0], solids.rotation(seed)) + rng.normal(size=3) * 6.0
    vertices, faces = together(one, (moved, two[1]))
    found = crossings(vertices, faces.astype(np.int32), first=100_000)
    assert found.all
    assert found.n_grazing == 0 or seed == 49
    assert {(int(s), int(t)) for s, t in found.crossing} == pierced((vertices, faces))
    bodies = solids.to_manifold(*one), solids.to_manifold(moved, two[1])
    common = (bodies[0] ^ bodies[1]).volume()
    apart = common < 1e-12 or any(abs(common - body.volume()) < 1e-9 for body in bodies)
    assert (found.n_crossing == 0) == apart
    for (s, t), place in zip(found.crossing[:20], found.crossing_at, strict=False):
        for face in (s, t):  # the place lies in both planes
            a, b, c = vertices[faces[face]]
            up = np.cross(b - a, c - a)
            assert abs((place - a) @ up) / np.linalg.norm(up) < 1e-3


@pytest.mark.parametrize("seed", range(40))
def test_bodies_made_by_cutting_do_not_cross_themselves(seed: int) -> None:
    vertices, faces = random_body(seed)
    single = vertices.astype(np.float32).astype(float)
    for corners in (vertices, single, solids.rotate(vertices, solids.rotation(seed)) * 1e3 + 1e4):
        assert crossings(corners, faces.astype(np.int32), 1e-6).n_crossing == 0


def spike(depth: float) -> Solid:
    """A box with a needle below it whose tip goes so deep into the floor."""
    needle = solids.tetrahedron([[0.4, 0.4, -1.0], [0.6, 0.4, -1.0], [0.4, 0.6, -1.0], [0.45, 0.5, depth]])
    return together(solids.box(1.0, 1.0, 1.0), needle)


@pytest.mark.parametrize(
    ("depth", "crossing", "grazing"), [(2e-6, 3, 0), (5e-7, 0, 3), (0.0, 0, 3), (-1e-9, 0, 0)], ids=str
)
def test_depth_parts_crossing_from_grazing(depth: float, crossing: int, grazing: int) -> None:
    # The tip lies over the inside of one floor triangle; three sides of the needle meet there.
    vertices, faces = spike(depth)
    found = crossings(vertices, faces.astype(np.int32), 1e-6)
    assert (found.n_crossing, found.n_grazing) == (crossing, grazing)
    for place in (*found.crossing_at, *found.grazing_at):
        np.testing.assert_allclose(place, [0.45, 0.5, 0.0], atol=1e-5)


def test_a_face_folded_onto_its_neighbour_crosses_it() -> None:
    corners = np.array([[0.0, 0, 0], [1, 0, 0], [0, 1, 0], [0.2, 0.3, 0], [0.2, -0.3, 0]])
    assert crossings(corners, np.array([[0, 1, 2], [1, 0, 3]], np.int32)).n_crossing == 1
    assert crossings(corners, np.array([[0, 1, 2], [1, 0, 4]], np.int32)).n_crossing == 0


def test_faces_that_a_face_without_area_joins_do_not_touch() -> None:
    # A, M, B on one line: the face A M B joins the large face over A B to the two over A M and M B.
    corners = np.array([[0.0, 0, 0], [2, 0, 0], [1, 0, 0], [1, 1, 0], [1, -1, 0]])
    joined = np.array([[0, 1, 3], [0, 2, 1], [2, 0, 4], [1, 2, 4]], np.int32)
    assert crossings(corners, joined).n_grazing == 0
    assert crossings(corners, joined[[0, 2, 3]]).n_grazing == 2


def test_counting_stops_where_it_is_told_to() -> None:
    rng = np.random.default_rng(1)
    soup = rng.normal(size=(600, 3)), np.arange(600, dtype=np.int32).reshape(-1, 3)
    whole = crossings(*soup)
    assert whole.all
    assert whole.n_crossing == len(pierced(soup)) > 500
    some = crossings(*soup, first=10, most=100)
    assert (some.n_crossing, len(some.crossing), len(some.crossing_at), some.all) == (100, 10, 10, False)


def test_no_faces_and_faces_without_area() -> None:
    corners = np.array([[0.0, 0, 0], [1, 1, 1], [2, 2, 2], [0, 0, 2]])
    for faces in (np.zeros((0, 3)), [[0, 1, 2]], [[0, 1, 2], [1, 2, 0]]):
        found = crossings(corners, np.array(faces, dtype=np.int32).reshape(-1, 3))
        assert (found.n_crossing, found.n_grazing, found.all) == (0, 0, True)


def test_where_triangles_are_long_the_answer_is_the_same() -> None:
    # A drum of 400 facets lying askew, whose ends are fans of long triangles; a rod through both ends.
    drum = solids.vessel(0.1, 0.6, facets=400)
    rod = solids.prism([[0.01, 0.012], [0.03, 0.012], [0.02, 0.031]], 1.0)
    vertices, faces = together(drum, (rod[0] - [0.0, 0.0, 0.2], rod[1]))
    vertices = solids.rotate(vertices, solids.rotation(5))
    found = crossings(vertices, faces.astype(np.int32))
    assert {(int(s), int(t)) for s, t in found.crossing} == pierced((vertices, faces))
    assert found.n_crossing > 6
