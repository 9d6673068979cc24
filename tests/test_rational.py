"""Sums of the kernels against exact fractions: small integer bodies, each triangle clipped without any rounding.

The clipped body is summed as tetrahedra and the free surface as triangles, both with a point of the surface itself: no
formula is shared with the kernels.
"""

from fractions import Fraction
from functools import cache

import numpy as np
import pytest
import solids
from numpy.testing import assert_allclose
from solids import Floats, Solid

from fuelsys.kernels import volume
from fuelsys.kernels.surface import vector_areas, undirected_edges
from fuelsys.analysis.tilted import Tilted
from places import cavity_of

Point = tuple[Fraction, Fraction, Fraction]
Up = tuple[Fraction, Fraction, Fraction]
F = Fraction
LEVEL: Up = (F(0), F(0), F(1))
UPS: list[Up] = [LEVEL, (F(0), F(0), F(-1)), (F(3, 5), F(0), F(4, 5)), (F(-2, 3), F(1, 3), F(2, 3)), (F(2, 7), F(-6, 7), F(3, 7))]


def integer(solid: Solid, scale: float) -> Solid:
    vertices, faces = solid
    whole = np.rint(vertices * scale)
    assert_allclose(whole, vertices * scale, rtol=0, atol=1e-9)
    return whole, faces


BODIES = {
    "tetrahedron": integer(solids.tetrahedron(), 3),
    "L": integer(solids.l_tank(), 1),
    "steps": integer(solids.stepped_floor(), 4),
    "plates and notches": integer(solids.baffled_box(), 10),
    "can in a box": integer(solids.box_with_void(), 4),
    "pockets": integer(solids.egg_crate(2, 2), 20),
    "wedge": solids.prism([[0, 0], [7, 0], [3, 5]], 4.0, "x"),
    "sheared": (solids.ring()[0] @ np.array([[2.0, 1, 0], [0, 3, 1], [1, 0, 2]]), solids.ring()[1]),
}


def dot(a: Point, b: Point) -> Fraction:
    return a[0] * b[0] + a[1] * b[1] + a[2] * b[2]


def minus(a: Point, b: Point) -> Point:
    return a[0] - b[0], a[1] - b[1], a[2] - b[2]


def cross(a: Point, b: Point) -> Point:
    return a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0]


def clipped(corners: list[Point], up: Up, level: Fraction) -> list[Point]:
    """What of a polygon lies at or below a level."""
    kept = []
    for a, b in zip(corners, corners[1:] + corners[:1], strict=True):
        over_a, over_b = dot(a, up) - level, dot(b, up) - level
        if over_a <= 0:
            kept.append(a)
        if over_a * over_b < 0:
            share = over_a / (over_a - over_b)
            kept.append((a[0] + share * (b[0] - a[0]), a[1] + share * (b[1] - a[1]), a[2] + share * (b[2] - a[2])))
    return kept


@cache
def exact(name: str, up: Up, level: Fraction, chosen: tuple[int, ...] | None = None) -> list[Fraction]:
    """Volume, its moments, surface area, its moments (8) below a level, of all faces or of those of one pool."""
    vertices, faces = BODIES[name]
    points = [tuple(F(int(c)) for c in vertex) for vertex in vertices]
    out = [F(0)] * 8
    surface = tuple(level * c for c in up)  # a point of the free surface, up being of unit length
    for t in range(len(faces)) if chosen is None else chosen:
        corners = [points[v] for v in faces[t]]
        if min(dot(corner, up) for corner in corners) >= level:  # a level face at the level is not below it
            continue
        piece = clipped(corners, up, level)
        for b, c in zip(piece[1:-1], piece[2:], strict=True):
            a = piece[0]
            part = dot(minus(a, surface), cross(minus(b, surface), minus(c, surface))) / 6
            out[0] += part
            for k in range(3):
                out[1 + k] += part * (surface[k] + a[k] + b[k] + c[k]) / 4
        for a, b in zip(piece, piece[1:] + piece[:1], strict=True):
            if dot(a, up) == level == dot(b, up):  # an edge of the lid, which runs the other way round it
                part = dot(cross(minus(b, surface), minus(a, surface)), up) / 2
                out[4] += part
                for k in range(3):
                    out[5 + k] += part * (surface[k] + a[k] + b[k]) / 3
    return out


def levels_of(name: str, up: Up) -> list[float]:
    """Each vertex level, a hair (1e-9) above each, and half-way to the next."""
    at = sorted({dot(tuple(F(int(c)) for c in vertex), up) for vertex in BODIES[name][0]})
    at = at[:: max(1, len(at) // 6)] + at[-1:]
    halves = [(a + b) / 2 for a, b in zip(at[:-1], at[1:], strict=True)]
    return [float(h) for h in at] + [float(h) + 1e-9 for h in at] + [float(h) for h in halves]


def state(name: str, up: Up) -> tuple[Floats, Floats, np.ndarray, Floats, Floats]:
    """Arguments of the kernels: vertices, levels of the vertices, faces, plan areas, up."""
    vertices, faces = BODIES[name]
    faces = faces.astype(np.int32)
    direction = np.array([float(c) for c in up])
    z = np.array([float(dot(tuple(F(int(c)) for c in vertex), up)) for vertex in vertices])
    return vertices, z, faces, vector_areas(vertices, faces) @ direction, direction


@pytest.mark.parametrize("up", UPS[:2], ids=["up", "down"])
@pytest.mark.parametrize("name", BODIES)
def test_level_sums_are_exact_at_vertices_and_floors_and_a_hair_above(name: str, up: Up) -> None:
    # Vertex levels are whole numbers here: the kernels get them without any rounding.
    vertices, z, faces, plan, direction = state(name, up)
    levels = np.array(levels_of(name, up))
    expected = np.array([[float(value) for value in exact(name, up, F(level))] for level in levels])
    volumes, areas = volume.volume_and_area(z, faces, plan, levels)
    assert_allclose(volumes, expected[:, 0], rtol=1e-13)
    assert_allclose(areas, expected[:, 4], rtol=1e-13)
