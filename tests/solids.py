"""Closed test bodies as plain arrays: vertices (n, 3), each corner once, and outward faces (m, 3) that index them."""

import math
from collections.abc import Sequence
from typing import Literal

import numpy as np
from manifold3d import Error, Manifold, Mesh64, OpType, triangulate
from numpy.typing import NDArray
from scipy.sparse import coo_array
from scipy.sparse.csgraph import connected_components

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
Solid = tuple[Floats, Ints]
Axis = Literal["x", "y", "z"]
Circle = Literal["inscribed", "circumscribed", "equal_area"]
Head = Literal["flat", "conical", "ellipsoidal", "spherical", "torispherical"]

BOX_FACES = [[0, 2, 1], [0, 3, 2], [4, 5, 6], [4, 6, 7], [0, 1, 5], [0, 5, 4]]
BOX_FACES += [[1, 2, 6], [1, 6, 5], [2, 3, 7], [2, 7, 6], [3, 0, 4], [3, 4, 7]]


# --- arrays ----------------------------------------------------------------------------------------------------------


def weld(corners: Floats) -> Solid:
    """Corners (m, 3, 3) -> a solid in which bit-equal corners are one vertex."""
    points = np.asarray(corners, dtype=np.float64).reshape(-1, 3) + 0.0  # no negative zeros
    vertices, index = np.unique(points, axis=0, return_inverse=True)
    return vertices, index.reshape(-1, 3).astype(np.int64)


def to_manifold(vertices: Floats, faces: Ints) -> Manifold:
    """The body in the independent geometry library, in double precision; raises ValueError if it is not closed."""
    body = Manifold(
        Mesh64(np.ascontiguousarray(vertices, dtype=np.float64), np.ascontiguousarray(faces, dtype=np.uint64))
    )
    if body.status() != Error.NoError:
        raise ValueError(f"not a closed body: {body.status()}")
    return body


def from_manifold(body: Manifold) -> Solid:
    """Its arrays, welded, without vertices that no face uses."""
    mesh = body.to_mesh64()
    return weld(mesh.vert_properties[:, :3][mesh.tri_verts.astype(np.int64)])


def rotate(vertices: Floats, R: Floats) -> Floats:
    """Vertices turned by a rotation matrix (3, 3) about the origin."""
    return np.asarray(vertices @ np.asarray(R).T)


def rotation(seed: int) -> Floats:
    """A random rotation matrix, evenly distributed (a random unit quaternion)."""
    quaternion = np.random.default_rng(seed).normal(size=4)
    w, x, y, z = quaternion / np.linalg.norm(quaternion)
    return np.array(
        [
            [1 - 2 * (y * y + z * z), 2 * (x * y - w * z), 2 * (x * z + w * y)],
            [2 * (x * y + w * z), 1 - 2 * (x * x + z * z), 2 * (y * z - w * x)],
            [2 * (x * z - w * y), 2 * (y * z + w * x), 1 - 2 * (x * x + y * y)],
        ]
    )


def subdivide(vertices: Floats, faces: Ints) -> Solid:
    """Each face in four, at the midpoints of its edges, which neighbours share."""
    sides = np.sort(faces[:, [[0, 1], [1, 2], [2, 0]]], axis=2)
    edges, index = np.unique(sides.reshape(-1, 2), axis=0, return_inverse=True)
    midpoints = index.reshape(-1, 3) + len(vertices)
    (a, b, c), (ab, bc, ca) = faces.T, midpoints.T
    quarters = np.stack([[a, ab, ca], [b, bc, ab], [c, ca, bc], [ab, bc, ca]]).transpose(2, 0, 1).reshape(-1, 3)
    return np.concatenate([vertices, vertices[edges].mean(axis=1)]), quarters


def signed_volume(vertices: Floats, faces: Ints) -> float:
    """Sum of the signed tetrahedra between the faces and the middle of the vertices, without rounding in the sum."""
    corners = (vertices - vertices.mean(axis=0))[faces]
    a, b, c = corners[:, 0], corners[:, 1], corners[:, 2]
    return math.fsum(np.einsum("ij,ij->i", a, np.cross(b, c))) / 6


def fault(vertices: Floats, faces: Ints) -> str:
    """What is wrong with a solid, or "" when edges join two faces, vertices have one fan and the volume is positive."""
    used = np.unique(faces)
    if not np.array_equal(used, np.arange(len(vertices))) or len(np.unique(vertices, axis=0)) != len(vertices):
        return "vertices are unused or repeated"
    start, stop = faces.ravel(), np.roll(faces, -1, axis=1).ravel()  # half-edge i starts at corner i
    there, back = np.lexsort((stop, start)), np.lexsort((start, stop))
    if not np.array_equal(start[there], stop[back]) or not np.array_equal(stop[there], start[back]):
        return "edges do not join two faces in opposite directions"
    if len(np.unique(np.column_stack([start, stop]), axis=0)) != len(start):
        return "edges join more than two faces"
    following = np.arange(len(start)).reshape(-1, 3)[:, [1, 2, 0]].ravel()
    fans = coo_array((np.ones(len(start)), (there, following[back])), shape=(len(start), len(start)))
    if connected_components(fans, directed=False)[0] != len(vertices):
        return "faces touch at a vertex without sharing an edge"
    body, volume = to_manifold(vertices, faces), signed_volume(vertices, faces)
    if not volume > 0:
        return "the volume is not positive"
    return "" if abs(volume - body.volume()) <= 1e-12 * volume else f"volumes differ: {volume!r}, {body.volume()!r}"


def _outward(vertices: Floats, faces: Ints) -> Solid:
    return (vertices, faces) if signed_volume(vertices, faces) > 0 else (vertices, faces[:, ::-1].copy())


def _along(axis: Axis, points: Floats) -> Floats:
    # Drawn with the axis as z; the other two follow in cyclic order, so that no body is turned inside out.
    return np.ascontiguousarray(np.roll(points, "zxy".index(axis), axis=1))


def _between(low: Sequence[float], high: Sequence[float]) -> Manifold:
    size = [float(b - a) for a, b in zip(low, high, strict=True)]
    return Manifold.cube(size).translate([float(a) for a in low])


def _cut(body: Manifold, pieces: Sequence[Manifold]) -> Solid:
    return from_manifold(body - Manifold.batch_boolean(pieces, OpType.Add))


# --- plain bodies ----------------------------------------------------------------------------------------------------


def box(length: float = 1.0, width: float = 1.0, height: float = 1.0) -> Solid:
    """A box from the origin: length along x, width along y, height along z."""
    plan = [(0.0, 0.0), (length, 0.0), (length, width), (0.0, width)]
    vertices = [[x, y, z] for z in (0.0, height) for x, y in plan]
    return np.array(vertices, dtype=np.float64), np.array(BOX_FACES, dtype=np.int64)


def tetrahedron(corners: Sequence[Sequence[float]] = ((0, 0, 0), (1, 0, 0), (0, 1, 0), (0, 0, 1))) -> Solid:
    """Four corners, by default those of the unit corner tetrahedron of volume 1/6."""
    faces = np.array([[0, 2, 1], [0, 1, 3], [1, 2, 3], [2, 0, 3]], dtype=np.int64)
    return _outward(np.array(corners, dtype=np.float64), faces)


def prism(polygon: Sequence[Sequence[float]], height: float, axis: Axis = "z") -> Solid:
    """A simple polygon extruded from 0 along an axis; it is drawn in the next two in cyclic order: (y, z) for x."""
    outline = np.array(polygon, dtype=np.float64)
    n = len(outline)
    following = np.roll(outline, -1, axis=0)
    if (outline[:, 0] * following[:, 1] - outline[:, 1] * following[:, 0]).sum() < 0:  # clockwise
        outline = outline[::-1].copy()
    floor = triangulate([outline]).astype(np.int64)
    i = np.arange(n)
    j = np.roll(i, -1)
    walls = np.concatenate([np.column_stack([i, j, j + n]), np.column_stack([i, j + n, i + n])])
    points = np.concatenate([np.column_stack([outline, np.full(n, z)]) for z in (0.0, height)])
    return _along(axis, points), np.concatenate([floor[:, ::-1], floor + n, walls])


def revolve(
    profile: Sequence[Sequence[float]], facets: int = 64, axis: Axis = "z", circle: Circle = "inscribed"
) -> Solid:
    """A profile [(r, axial), ...] turned about an axis in so many facets; where it ends off the axis a disc closes it.

    The polygon has its corners on the circle ("inscribed"), its sides on it ("circumscribed"), or the circle's area.
    With a multiple of four, a body that lies down has vertices at its very top and bottom.
    """
    half = math.pi / facets
    grow = {
        "inscribed": 1.0,
        "circumscribed": 1 / math.cos(half),
        "equal_area": math.sqrt(2 * half / math.sin(2 * half)),
    }
    rings = [(float(r) * grow[circle], float(h)) for r, h in profile]
    rings = [(0.0, rings[0][1])] * (rings[0][0] > 0) + rings + [(0.0, rings[-1][1])] * (rings[-1][0] > 0)
    turn = 2 * half * np.arange(facets)
    inner = [np.column_stack([r * np.cos(turn), r * np.sin(turn), np.full(facets, h)]) for r, h in rings[1:-1]]
    points = np.concatenate([[[0.0, 0.0, rings[0][1]]], *inner, [[0.0, 0.0, rings[-1][1]]]])
    i = np.arange(facets) + 1
    j = np.roll(i, -1)
    last = len(points) - 1
    end = last - facets - 1
    faces = [np.column_stack([np.zeros_like(i), j, i]), np.column_stack([i + end, j + end, np.full_like(i, last)])]
    for low in range(0, end, facets):
        high = low + facets
        faces += [np.column_stack([i + low, j + low, j + high]), np.column_stack([i + low, j + high, i + high])]
    return _outward(_along(axis, points), np.concatenate(faces))


def _arc(a: float, r: float, start: float, stop: float, steps: int) -> list[tuple[float, float]]:
    # Points on an ellipse of axial half axis a and radial half axis r, by the angle from the pole.
    return [(r * math.sin(t), -a * math.cos(t)) for t in np.linspace(start, stop, steps + 1)]


def head_profile(
    head: Head, radius: float, depth: float, steps: int = 16, *, crown: float = 1.0, knuckle: float = 0.06
) -> list[tuple[float, float]]:
    """A head [(r, axial), ...] from its pole at negative axial to the cylinder at axial 0; a flat one is the rim only.

    Flat heads have no depth; that of a torispherical one follows from its crown and knuckle radii, in vessel diameters.
    """
    if head == "flat":
        return [(radius, 0.0)]
    if head == "conical":
        return [(0.0, -depth), (radius, 0.0)]
    if head == "ellipsoidal":
        points = _arc(depth, radius, 0.0, math.pi / 2, steps)
    elif head == "spherical":  # a cap of a sphere, or half of one
        sphere_radius = (radius**2 + depth**2) / (2 * depth)
        arc = _arc(sphere_radius, sphere_radius, 0.0, math.atan2(radius, sphere_radius - depth), steps)
        points = [(r, h + sphere_radius - depth) for r, h in arc]
    else:
        dish_radius, bend_radius = 2 * radius * crown, 2 * radius * knuckle
        # The knuckle's circle has its centre on axial 0 and touches the dish's from inside.
        bend_r = radius - bend_radius
        bend = math.asin(bend_r / (dish_radius - bend_radius))
        dish_centre = math.sqrt((dish_radius - bend_radius) ** 2 - bend_r**2)
        dish = [(r, h + dish_centre) for r, h in _arc(dish_radius, dish_radius, 0.0, bend, steps)]
        points = dish + [(r + bend_r, h) for r, h in _arc(bend_radius, bend_radius, bend, math.pi / 2, steps)][1:]
    return [(0.0, points[0][1]), *points[1:-1], (radius, 0.0)]


def vessel(
    radius: float,
    length: float,
    head: Head = "flat",
    depth: float = 0.0,
    *,
    facets: int = 64,
    steps: int = 16,
    axis: Axis = "z",
    circle: Circle = "inscribed",
    crown: float = 1.0,
    knuckle: float = 0.06,
) -> Solid:
    """A cylinder from 0 to length along its axis, with equal heads beyond both ends; steps cut each arc of a head."""
    near = head_profile(head, radius, depth, steps, crown=crown, knuckle=knuckle)
    return revolve(near + [(r, length - h) for r, h in near[::-1]], facets, axis, circle)


def sphere(radius: float = 1.0, facets: int = 32, steps: int = 16) -> Solid:
    """A sphere about the origin, vertices on it: facets around, 2 steps from pole to pole."""
    south = head_profile("spherical", radius, radius, steps)
    return revolve(south + [(r, -h) for r, h in south[-2::-1]], facets)


# --- bodies in which fuel gathers, hides and parts -------------------------------------------------------------------


def l_tank() -> Solid:
    """An L standing on its foot: the foot 3 × 1 × 1, over its first unit a leg up to z = 2; volume 4."""
    return prism([[0, 0], [0, 3], [1, 3], [1, 1], [2, 1], [2, 0]], 1.0, "y")


def stepped_floor() -> Solid:
    """A tank 3 × 1 × 2 whose floor rises in level steps of 0.25 at x = 1 and x = 2; volume 6 − 0.25 − 0.5."""
    return prism([[0, 0], [0, 1], [0.25, 1], [0.25, 2], [0.5, 2], [0.5, 3], [2, 3], [2, 0]], 1.0, "y")


def baffled_box() -> Solid:
    """A tank 4 × 2 × 2: a plate at x = 1 hangs to 0.5 above the floor, plates at x = 2 and x = 3 stand to 1.5.

    The plates are 0.1 thick. At x = 2 both lower corners have a notch 0.2 × 0.1, at x = 3 only the one at y = 0.
    """
    hanging = _between((1, -1, 0.5), (1.1, 3, 3))
    standing = [_between((x, -1, -1), (x + 0.1, 3, 1.5)) for x in (2, 3)]
    right, left = _between((1.5, -2, -2), (3.5, 0.2, 0.1)), _between((1.5, 1.8, -2), (2.5, 4, 0.1))
    return _cut(_between((0, 0, 0), (4, 2, 2)), [hanging, standing[0] - right - left, standing[1] - right])


def box_with_void() -> Solid:
    """A box 2 × 2 × 2 in which a can 0.5 × 0.5 × 0.5 hangs free: a second shell, facing into the can; volume 7.875."""
    outer, faces = box(2.0, 2.0, 2.0)
    can = box(0.5, 0.5, 0.5)[0] + [0.75, 0.5, 1.0]
    return np.concatenate([outer, can]), np.concatenate([faces, faces[:, ::-1] + len(outer)])


def egg_crate(columns: int = 4, rows: int = 3) -> Solid:
    """A tank one unit high with level pockets 0.8 × 0.8, 0.25 deep, one in each unit of its floor, all equally low."""
    pockets = [
        _between((i + 0.1, j + 0.1, -0.25), (i + 0.9, j + 0.9, 0.5)) for i in range(columns) for j in range(rows)
    ]
    return from_manifold(Manifold.batch_boolean([_between((0, 0, 0), (columns, rows, 1)), *pockets], OpType.Add))


def ring() -> Solid:
    """A square duct standing upright: 3 × 1 × 3 with a window 1 × 1 through its middle along y; volume 8."""
    return _cut(_between((0, 0, 0), (3, 1, 3)), [_between((1, -1, 1), (2, 2, 2))])


def grown(body: Manifold, by: float, steps: int = 48) -> Manifold:
    """A convex body grown by a ball: the hull of balls at its corners, which is Minkowski's sum."""
    ball = Manifold.sphere(by, steps).to_mesh64().vert_properties[:, :3]
    corners = body.to_mesh64().vert_properties[:, :3]
    return Manifold.hull_points((corners[:, None] + ball).reshape(-1, 3))
