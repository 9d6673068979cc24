"""The fewest points of a curve, against every choice of points there is."""

from __future__ import annotations

from itertools import combinations

import numpy as np
import pytest
from numpy.testing import assert_allclose
from solids import Floats

from fuelsys.kernels.fewest import fewest, fewest_and_nearest


def off(x: Floats, y: Floats, chosen: tuple[int, ...]) -> float:
    """How far lines between chosen points lie off the curve's points, at most."""
    places = list(chosen)
    return float(np.abs(np.interp(x, x[places], y[places]) - y).max())


def every_choice(x: Floats, y: Floats, allowed: float) -> tuple[int, float]:
    """The least number of points that holds an error, and the least error that as many can hold: all choices are tried."""
    inner = range(1, x.size - 1)
    for number in range(x.size - 1):
        errors = [off(x, y, (0, *some, x.size - 1)) for some in combinations(inner, number)]
        if min(errors) <= allowed:
            return number + 2, min(errors)
    raise AssertionError("all points together hold any error")


@pytest.mark.parametrize("seed", range(60))
def test_none_of_all_choices_is_shorter_or_of_its_length_nearer(seed: int) -> None:
    rng = np.random.default_rng(seed)
    n = int(rng.integers(2, 11))
    x = np.cumsum(rng.uniform(0.1, 1.0, n))
    y = (
        np.cumsum(rng.uniform(0.0, 1.0, n)) if seed % 2 else rng.uniform(-1.0, 1.0, n)
    )  # rising as a tank's curve, or not
    allowed = float(rng.choice([0.0, 0.02, 0.1, 0.3, 2.0]))
    number, nearest = every_choice(x, y, allowed)
    few = fewest(x, y, allowed)
    assert few.size == number
    assert off(x, y, tuple(few)) <= allowed + 1e-12
    near = fewest_and_nearest(x, y, allowed)
    assert near.size == number
    assert_allclose(off(x, y, tuple(near)), nearest, rtol=0, atol=1e-9)


def test_going_as_far_as_a_line_will_reach_may_take_more() -> None:
    """From the first point a line holds to the third; but from there on each point is needed, and from the second one is not."""
    x, y, allowed = np.arange(6.0), np.array([0.0, 3.0, 6.0, 8.0, 11.0, 11.0]), 0.4
    greedy = [0]
    while greedy[-1] < 5:
        begin = greedy[-1]
        greedy.append(
            max(e for e in range(begin + 1, 6) if off(x[begin : e + 1], y[begin : e + 1], (0, -1)) <= allowed)
        )
    assert greedy == [0, 2, 3, 4, 5]
    assert fewest(x, y, allowed).tolist() == [0, 1, 4, 5]


def test_a_parabola_in_closed_form() -> None:
    """A chord over a stretch w lies w²/4 off x²; so an error e needs 1 / (2 √e) stretches, rounded up."""
    x = np.linspace(0.0, 1.0, 401)
    for stretches in (1, 2, 4, 5, 8, 10):
        least = 1.0 / (4.0 * stretches**2)
        assert fewest(x, x * x, least * (1 + 1e-9)).size == stretches + 1
        assert fewest(x, x * x, least * (1 - 1e-3)).size == stretches + 2
