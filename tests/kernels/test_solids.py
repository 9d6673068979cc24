"""The test bodies themselves: closed, outward, welded, and of the volumes that hand calculation gives."""

import math

import numpy as np
import pytest
import solids
from fluids.geometry import TANK
from numpy.testing import assert_allclose
from random_solids import random_body
from solids import Solid, fault, from_manifold, rotate, rotation, signed_volume, subdivide, to_manifold, vessel, weld

CIRCLE = (
    math.pi
)  # area of the unit circle; vessels of radius 1, length 2 and circles of equal area have no error in plan

EXACT = [
    pytest.param(solids.box(2, 3, 4), 24.0, id="box: 2 × 3 × 4"),
    pytest.param(solids.tetrahedron(), 1 / 6, id="corner tetrahedron: 1/3 × 1/2 × 1"),
    pytest.param(solids.prism([[0, 0], [0, 2], [3, 0]], 4.0, "x"), 12.0, id="clockwise triangle of area 3 × 4"),
    pytest.param(solids.l_tank(), 3.0 + 1.0, id="L: foot and leg"),
    pytest.param(solids.stepped_floor(), 6.0 - 0.25 - 0.5, id="steps taken from 3 × 1 × 2"),
    pytest.param(solids.baffled_box(), 16 - 0.1 * 2 * (1.5 + 1.5 + 1.5) + 3 * 0.1 * 0.2 * 0.1, id="plates and notches"),
    pytest.param(solids.box_with_void(), 8.0 - 0.125, id="can taken from a box"),
    pytest.param(solids.egg_crate(), 12 * (1 + 0.8 * 0.8 * 0.25), id="twelve pockets"),
    pytest.param(solids.ring(), 9.0 - 1.0, id="duct 9 − 1 in elevation, 1 deep"),
    pytest.param(vessel(1, 2, facets=6), 3 * math.sin(math.pi / 3) * 2, id="inscribed hexagon: 6 × sin 60° / 2"),
    pytest.param(vessel(1, 2, facets=6, circle="circumscribed"), 6 * math.tan(math.pi / 6) * 2, id="hexagon around it"),
    pytest.param(vessel(1, 2, circle="equal_area", axis="x"), 2 * CIRCLE, id="cylinder"),
    pytest.param(
        vessel(1, 2, "conical", 0.5, circle="equal_area", axis="y"),
        CIRCLE * (2 + 2 * 0.5 / 3),
        id="cones of height 1/2",
    ),
]


def curved(head: solids.Head, depth: float, **shape: float) -> Solid:
    return vessel(1, 2, head, depth, steps=256, circle="equal_area", **shape)  # type: ignore[arg-type]


def torispherical_volume(crown: float, knuckle: float) -> float:
    one_head = TANK(D=2.0, L=2.0, horizontal=False, sideA="torispherical", sideA_f=crown, sideA_k=knuckle).V_total
    return 2 * float(one_head) - 2 * CIRCLE  # counts the cylinder once


# Arcs of 256 chords inside the true curve: the missing share is below 1e-5 and never negative.
CURVED = [
    pytest.param(curved("ellipsoidal", 0.5), CIRCLE * (2 + 4 / 3 * 0.5), id="half spheroids: 2/3 π r² a each"),
    pytest.param(curved("spherical", 1.0), CIRCLE * (2 + 4 / 3), id="hemispheres"),
    pytest.param(
        curved("spherical", 0.3), CIRCLE * (2 + 2 * 0.3 / 6 * (3 + 0.09)), id="caps: π h (3 r² + h²) / 6 each"
    ),
    pytest.param(curved("torispherical", 0.0), torispherical_volume(1.0, 0.06), id="torispherical, by fluids"),
    pytest.param(
        curved("torispherical", 0.0, crown=0.9, knuckle=0.1), torispherical_volume(0.9, 0.1), id="deeper, by fluids"
    ),
]


@pytest.mark.parametrize(("solid", "volume"), EXACT)
def test_body_is_sound_and_has_its_volume(solid: Solid, volume: float) -> None:
    assert fault(*solid) == ""
    assert_allclose(signed_volume(*solid), volume, rtol=1e-14)


@pytest.mark.parametrize(("solid", "volume"), CURVED)
def test_curved_body_is_just_inside_the_true_one(solid: Solid, volume: float) -> None:
    assert fault(*solid) == ""
    assert 0 < 1 - signed_volume(*solid) / volume < 1e-5


def test_sphere_error_falls_with_the_square_of_the_facets() -> None:
    coarse, fine = (1 - signed_volume(*solids.sphere(1.0, n, n // 2)) / (4 / 3 * math.pi) for n in (32, 64))
    assert fault(*solids.sphere()) == ""
    assert_allclose(coarse / fine, 4.0, rtol=0.02)


@pytest.mark.parametrize(("solid", "volume"), EXACT)
def test_array_functions_keep_the_body(solid: Solid, volume: float) -> None:
    vertices, faces = solid
    for other in (subdivide(*solid), from_manifold(to_manifold(*solid)), (rotate(vertices, rotation(1)), faces)):
        assert fault(*other) == ""
        assert_allclose(signed_volume(*other), volume, rtol=1e-14)
    assert len(subdivide(*solid)[1]) == 4 * len(faces)


def test_faults_are_found() -> None:
    vertices, faces = solids.box()
    touching = weld(np.concatenate([vertices[faces], vertices[faces] - 1.0]))  # two boxes that share the origin
    assert "edges do not join" in fault(vertices, faces[1:])
    assert "edges do not join" in fault(vertices, np.concatenate([faces[:1, ::-1], faces[1:]]))
    assert "not positive" in fault(vertices, faces[:, ::-1])
    assert "unused" in fault(np.concatenate([vertices, [[5.0, 5.0, 5.0]]]), faces)
    assert "more than two" in fault(vertices, np.concatenate([faces, faces]))
    assert "touch at a vertex" in fault(*touching)
    with pytest.raises(ValueError, match="not a closed body"):
        to_manifold(vertices, faces[1:])


@pytest.mark.parametrize("seed", range(25))
def test_random_body_is_sound_and_repeatable(seed: int) -> None:
    vertices, faces = random_body(seed)
    assert fault(vertices, faces) == ""
    assert_allclose(random_body(seed)[0], vertices, rtol=0, atol=0)
