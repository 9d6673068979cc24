"""A surface moved inward: plane bodies against closed forms, rounded layers against Minkowski sums, and the bound."""

from __future__ import annotations

import numpy as np
import pytest
import solids
from hypothesis import given, settings
from hypothesis import strategies as st
from manifold3d import Manifold
from random_solids import random_body

from fuelsys.kernels.inset import inset
from fuelsys.kernels.surface import enclosed_volume, turns_at_edges

LAYER_M = 0.0003


def arrays(body: Manifold) -> tuple[np.ndarray, np.ndarray]:
    vertices, faces = solids.from_manifold(body)
    return vertices, faces.astype(np.int32)


def left(vertices: np.ndarray, faces: np.ndarray, thickness: float) -> tuple[float, float]:
    moved, doubt = inset(vertices, faces, thickness)
    return enclosed_volume(moved, faces), doubt


@pytest.mark.parametrize("pieces", [1, 3])
def test_a_box_loses_a_layer_on_every_side(pieces: int) -> None:
    vertices, faces = solids.box(0.5, 0.4, 0.2)
    for _ in range(pieces - 1):
        vertices, faces = solids.subdivide(vertices, faces)
    held, doubt = left(vertices, faces.astype(np.int32), 0.01)
    assert held == pytest.approx(0.48 * 0.38 * 0.18, rel=1e-13)
    assert doubt < 1e-14


def test_a_regular_tetrahedron_keeps_its_shape() -> None:
    # Its insphere has a radius of side / (2 sqrt 6), and a layer of t shrinks it by (1 - t / r): elementary geometry.
    vertices = np.array([[1.0, 1, 1], [1, -1, -1], [-1, 1, -1], [-1, -1, 1]])
    faces = np.array([[0, 1, 2], [0, 3, 1], [0, 2, 3], [1, 3, 2]], dtype=np.int32)
    whole = enclosed_volume(vertices, faces)
    faces = faces if whole > 0.0 else np.ascontiguousarray(faces[:, ::-1])
    radius = np.sqrt(8.0) / (2.0 * np.sqrt(6.0))
    held, doubt = left(vertices, faces, 0.1)
    assert held == pytest.approx(abs(whole) * (1.0 - 0.1 / radius) ** 3, rel=1e-13)
    assert doubt < 1e-14


def test_a_layer_that_is_round_at_reentrant_edges_is_within_the_doubt() -> None:
    """The second method: a layer of even thickness is what a ball rolled over the bodies inside takes (Minkowski's sum)."""
    bodies = (
        Manifold.cube([0.01, 0.3, 0.15]).translate([0.2, 0.05, 0.01]),
        Manifold.cylinder(0.1, 0.02, 0.02, 64).translate([0.35, 0.2, 0.03]),
        Manifold.cube([0.02, 0.02, 0.02]).rotate([10, 20, 30]).translate([0.4, 0.3, 0.1]),
    )
    tank = Manifold.cube([0.5, 0.4, 0.2])
    full = Manifold.cube([0.5 - 2 * LAYER_M, 0.4 - 2 * LAYER_M, 0.2 - 2 * LAYER_M]).translate([LAYER_M] * 3)
    for one in bodies:
        tank, full = tank - one, full - solids.grown(one, LAYER_M, 64)
    held, doubt = left(*arrays(tank), LAYER_M)
    assert 0.0 < abs(held - full.volume()) < doubt < 0.1e-6  # a tenth of a millilitre of 40 litres


@settings(max_examples=30, deadline=None)
@given(st.integers(0, 10_000), st.floats(1e-4, 1e-3))
def test_the_layer_is_area_times_thickness_to_first_order(seed: int, thickness: float) -> None:
    """Steiner's formula: V(t) = V - A t + H t² with the edges' turns in H (half the sum of length times turn)."""
    vertices, faces = random_body(seed)
    faces = faces.astype(np.int32)
    area = (
        float(np.linalg.norm(np.cross(*(vertices[faces[:, k]] - vertices[faces[:, 0]] for k in (1, 2))), axis=1).sum())
        / 2
    )
    ends, turn = turns_at_edges(vertices, faces)
    length = np.linalg.norm(vertices[ends[:, 1]] - vertices[ends[:, 0]], axis=1)
    taken = enclosed_volume(vertices, faces) - left(vertices, faces, thickness)[0]
    sharp = float((length * np.tan(np.minimum(np.abs(turn), 3.0) / 2.0)).sum()) * thickness**2
    missed = inset(vertices, faces, thickness).doubt
    assert abs(taken - area * thickness) <= sharp + missed + 1e-9


def test_turning_and_moving_the_body_changes_nothing() -> None:
    vertices, faces = random_body(7)
    faces = faces.astype(np.int32)
    turned = solids.rotate(vertices, solids.rotation(3)) + np.array([3.0, -2.0, 1.0])
    held, doubt = left(vertices, faces, 1e-4)
    again, doubt_too = left(turned, faces, 1e-4)
    assert again == pytest.approx(held, rel=1e-11)
    assert doubt_too == pytest.approx(doubt, rel=1e-5, abs=1e-14)
