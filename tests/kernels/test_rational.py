"""Sums of the kernels against exact fractions (tests/exact.py) on small bodies whose corners are whole numbers."""

from fractions import Fraction
from functools import cache

import exact
import numpy as np
import pytest
import solids
from exact import Point
from numpy.testing import assert_allclose
from places import cavity_of
from solids import Floats, Solid

from fuelsys.analysis.tank.tilted import Tilted
from fuelsys.kernels import volume
from fuelsys.kernels.surface import vector_areas

F = Fraction
LEVEL: Point = (F(0), F(0), F(1))
DOWN: Point = (F(0), F(0), F(-1))
TILTED: list[Point] = [(F(3, 5), F(0), F(4, 5)), (F(-2, 3), F(1, 3), F(2, 3)), (F(2, 7), F(-6, 7), F(3, 7))]


def whole(solid: Solid, scale: float) -> Solid:
    vertices, faces = solid
    rounded = np.rint(vertices * scale)
    assert_allclose(rounded, vertices * scale, rtol=0, atol=1e-9)
    return rounded, faces


BODIES = {
    "tetrahedron": whole(solids.tetrahedron(), 3),
    "L": whole(solids.l_tank(), 1),
    "steps": whole(solids.stepped_floor(), 4),
    "plates and notches": whole(solids.baffled_box(), 10),
    "can in a box": whole(solids.box_with_void(), 4),
    "pockets": whole(solids.egg_crate(2, 2), 20),
    "wedge": solids.prism([[0, 0], [7, 0], [3, 5]], 4.0, "x"),
    "sheared": (solids.ring()[0] @ np.array([[2.0, 1, 0], [0, 3, 1], [1, 0, 2]]), solids.ring()[1]),
}


@cache
def sums(name: str, up: Point, level: Fraction) -> Floats:
    return np.array([float(value) for value in exact.sums(BODIES[name], up, level)])


def vertex_levels(name: str, up: Point) -> list[Fraction]:
    return [exact.dot(exact.point(vertex), up) for vertex in BODIES[name][0]]


def asked_levels(name: str, up: Point) -> list[float]:
    """Some vertex levels, 1e-9 above each, and half-way to the next."""
    at = sorted(set(vertex_levels(name, up)))
    at = at[:: max(1, len(at) // 4)] + at[-1:]
    halves = [(a + b) / 2 for a, b in zip(at[:-1], at[1:], strict=True)]
    return [float(h) for h in at] + [float(h) + 1e-9 for h in at] + [float(h) for h in halves]


def arguments(name: str, up: Point) -> tuple[Floats, Floats, np.ndarray, Floats, Floats]:
    """What the kernels take: vertices, their levels, faces, plan areas, up."""
    vertices, faces = BODIES[name]
    direction = np.array([float(c) for c in up])
    z = np.array([float(level) for level in vertex_levels(name, up)])
    return vertices, z, faces.astype(np.int32), vector_areas(vertices, faces.astype(np.int32)) @ direction, direction


@pytest.mark.parametrize("up", [LEVEL, DOWN], ids=["up", "down"])
@pytest.mark.parametrize("name", BODIES)
def test_level_sums_are_right_at_vertices_and_floors_and_a_hair_above(name: str, up: Point) -> None:
    # Vertex levels are whole numbers: the kernels get them without rounding, and 1e-13 is meant of each small volume.
    _, z, faces, plan, _ = arguments(name, up)
    levels = asked_levels(name, up)
    expected = np.array([sums(name, up, F(level)) for level in levels])
    volumes, areas = volume.volume_and_area(z, faces, plan, np.array(levels))
    assert_allclose(volumes, expected[:, 0], rtol=1e-13)
    assert_allclose(areas, expected[:, 4], rtol=1e-13)


@pytest.mark.parametrize("up", TILTED, ids=str)
@pytest.mark.parametrize("name", BODIES)
def test_tilted_sums_are_right(name: str, up: Point) -> None:
    # Directions of whole length 5, 3 and 7: their levels round, so 1e-13 is meant of the whole.
    _, z, faces, plan, _ = arguments(name, up)
    levels = asked_levels(name, up)
    expected = np.array([sums(name, up, F(level)) for level in levels])
    volumes, areas = volume.volume_and_area(z, faces, plan, np.array(levels))
    assert_allclose(volumes, expected[:, 0], rtol=0, atol=1e-13 * expected[:, 0].max())
    assert_allclose(areas, expected[:, 4], rtol=0, atol=1e-13 * expected[:, 4].max() + 1e-9)


@pytest.mark.parametrize("up", [LEVEL, DOWN, *TILTED], ids=str)
@pytest.mark.parametrize("name", BODIES)
def test_moments_are_right(name: str, up: Point) -> None:
    vertices, z, faces, plan, direction = arguments(name, up)
    one = np.zeros(len(faces), np.int32)
    size = np.abs(vertices).max()
    for level in asked_levels(name, up)[1::3]:
        found = volume.moments_by_part(vertices, z, faces, plan, one, np.array([level]), direction)[0]
        expected = sums(name, up, F(level))
        gross, most = abs(plan).sum() * size, abs(plan).sum()
        scale = np.array([gross, *[gross * size] * 3, most, *[most * size] * 3])
        assert_allclose(found / scale, expected / scale, rtol=0, atol=1e-13)


@pytest.mark.parametrize("up", [LEVEL, DOWN, *TILTED], ids=str)
@pytest.mark.parametrize("name", ["pockets", "plates and notches", "sheared", "can in a box"])
def test_pools_are_right_each_at_its_own_level(name: str, up: Point) -> None:
    cavity = cavity_of(BODIES[name])
    direction = np.array([float(c) for c in up])
    tree = Tilted.of(cavity, direction).tree
    _, z, faces, plan, _ = arguments(name, up)
    n_seeds = tree.seed_vertex.size
    lows, tops = tree.floor[:n_seeds], np.minimum(tree.top[:n_seeds], z.max() - cavity.centre_m @ direction)
    levels = np.column_stack([lows + share * (tops - lows) for share in (0.3, 0.8, 1.0)]) + cavity.centre_m @ direction
    found = volume.volume_by_part(z, faces, plan, tree.face_seed, levels)
    for seed in range(n_seeds):
        chosen = np.flatnonzero(tree.face_seed == seed)
        expected = [float(exact.sums(BODIES[name], up, F(float(h)), chosen)[0]) for h in levels[seed]]
        assert_allclose(found[seed], expected, rtol=0, atol=1e-13 * cavity.gross_m3)


def test_pools_of_the_pocketed_floor_hold_what_their_measures_say() -> None:
    # Pockets 16 × 16, 5 deep, from z = -5 to the floor at 0: at z = -2 each holds 16 × 16 × 3.
    tree = Tilted.of(cavity_of(BODIES["pockets"]), np.array([0.0, 0.0, 1.0])).tree
    _, z, faces, plan, _ = arguments("pockets", LEVEL)
    found = volume.volume_by_part(z, faces, plan, tree.face_seed, np.full((tree.seed_vertex.size, 1), -2.0))
    assert_allclose(found[found > 0.0], [16 * 16 * 3] * 4, rtol=1e-13)
