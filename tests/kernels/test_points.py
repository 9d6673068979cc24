"""The nearest point of a triangle, in each of its seven regions, against what the nearest point of a convex set must be."""

from __future__ import annotations

import numpy as np
import pytest

from fuelsys.kernels.points import nearest_on_triangle


def cases(count: int, seed: int) -> list[tuple[np.ndarray, np.ndarray]]:
    """Random triangles, each with a point over its inside and one anywhere."""
    random = np.random.default_rng(seed)
    made = []
    for _ in range(count):
        corners = random.normal(size=(3, 3)) * 10.0 ** random.uniform(-3, 1)
        normal = np.cross(corners[1] - corners[0], corners[2] - corners[0])
        over = random.dirichlet((1.0, 1.0, 1.0)) @ corners + random.normal() * normal / np.sqrt(np.linalg.norm(normal))
        made += [(corners, over), (corners, corners.mean(axis=0) + 3.0 * random.normal(size=3) * np.ptp(corners))]
    return made


def test_no_point_of_the_triangle_is_nearer() -> None:
    # The nearest point q of a convex set to p is the only one for which no corner v lies beyond the plane through q
    # across p - q: (p - q) . (v - q) <= 0 (projection on a convex set; any textbook of convex optimization).
    held = {"corner": 0, "side": 0, "inside": 0}
    for corners, point in cases(3_000, 1):
        at = nearest_on_triangle(point, *corners)
        size = np.ptp(corners) + np.linalg.norm(point - at)
        assert ((corners - at) @ (point - at)).max() <= 1e-9 * size**2  # slivers cancel digits
        shares = np.linalg.lstsq(np.vstack((corners.T, np.full(3, size))), np.append(at, size), rcond=None)[0]
        assert shares.min() >= -1e-7
        held[("inside", "side", "corner")[int((shares < 1e-7).sum())]] += 1
    assert min(held.values()) > 300


@pytest.mark.parametrize("turn", range(3))
@pytest.mark.parametrize(
    ("point", "nearest"),
    [
        ((1.0, 1.0, 2.0), (1.0, 1.0, 0.0)),
        ((-1.0, -2.0, 1.0), (0.0, 0.0, 0.0)),
        ((6.0, -1.0, 1.0), (4.0, 0.0, 0.0)),
        ((-1.0, 6.0, 1.0), (0.0, 4.0, 0.0)),
        ((1.0, -3.0, 1.0), (1.0, 0.0, 0.0)),
        ((-3.0, 1.0, 1.0), (0.0, 1.0, 0.0)),
        ((4.0, 4.0, 1.0), (2.0, 2.0, 0.0)),
    ],
)
def test_each_region_by_hand(point: tuple[float, ...], nearest: tuple[float, ...], turn: int) -> None:
    corners = np.roll(np.array([[0.0, 0.0, 0.0], [4.0, 0.0, 0.0], [0.0, 4.0, 0.0]]), turn, axis=0)
    np.testing.assert_allclose(nearest_on_triangle(np.array(point), *corners), nearest, atol=1e-15)
