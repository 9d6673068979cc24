"""Lines as polylines: high and low points and drains by hand, and the laws that they keep."""

from __future__ import annotations

from collections.abc import Sequence
from math import cos, radians, sin
from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest
import solids
from hypothesis import given
from hypothesis import strategies as st
from numpy.testing import assert_allclose

from fuelsys.analysis.lines.routing import Path, Stretch, run_at
from fuelsys.analysis.lines.traps import Course
from fuelsys.kernels.profile import high_points
from fuelsys.model.found.plumbing import RunAt
from fuelsys.model.stated.attitude import Attitude

LEVEL = Attitude("level", "flight", normal=True)
BORE_M = 0.008


def polyline(points_mm: Sequence[Sequence[float]], **more: Any) -> Path:
    """One line of 8 mm bore through points in millimetres."""
    points = np.array(points_mm, dtype=np.float64) / 1e3
    return Path("feed", points, (Stretch("line", 0, len(points) - 1, BORE_M),), **more)


def highs(at: RunAt) -> list[tuple[float, ...]]:
    """Place and proud height of each high point in millimetres, sorted."""
    return sorted((*np.round(p.place_m * 1e3, 6).tolist(), round(p.proud_m * 1e3, 6)) for p in at.high)


def lows(at: RunAt) -> list[tuple[float, ...]]:
    return sorted((*np.round(p.place_m * 1e3, 6).tolist(), round(p.proud_m * 1e3, 6)) for p in at.low)


# --- profiles by hand ------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("levels", "expected"),
    [
        pytest.param([3, 2, 1, 0], [], id="falls all the way: its ends are no high points"),
        pytest.param([0, 5, 3], [(1, 1, 2)], id="the smaller of the two rises: 5 - 3"),
        pytest.param([0, 5, 5, 5, 1], [(1, 3, 4)], id="a flat stretch is one high point"),
        pytest.param([5, 5, 1, 1], [], id="a flat stretch at the end is none"),
        pytest.param(
            [0, 9, 8, 10, 0], [(1, 1, 1), (3, 3, 10)], id="a notch of 1 beside the top does not make the top small"
        ),
        pytest.param(
            [9, 0, 4, 3, 6, 5, 7], [(2, 2, 1), (4, 4, 1)], id="humps on a rise, each counted to the next higher point"
        ),
        pytest.param([0, 2, 2 + 5e-7, 2, 0], [(1, 3, 2)], id="half a micrometre is flat"),
    ],
)
def test_high_points_by_hand(levels: list[float], expected: list[tuple[int, int, float]]) -> None:
    found = high_points(np.array(levels, dtype=np.float64))
    assert [f[:2] for f in found] == [e[:2] for e in expected]
    assert_allclose([f[2] for f in found], [e[2] for e in expected], atol=1e-6)


def test_a_line_that_falls_aft_has_a_low_point_with_the_nose_down() -> None:
    # Levels along up = (-sin(pitch), 0, cos(pitch)) at 4 deg nose down: 0, 1000 sin 4 - 100 cos 4, 2000 sin 4 - 150 cos 4
    # = 0, -30.000, -10.122: the middle dips by the smaller rise, to the aft end.
    line = polyline([(0, 0, 0), (1000, 0, -100), (2000, 0, -150)])
    dip = 1000 * sin(radians(4)) - 50 * cos(radians(4))
    assert run_at(line, LEVEL).low == ()
    (low,) = run_at(line, Attitude.of_degrees(-4, 0)).low
    assert_allclose(low.place_m, [1.0, 0.0, -0.1])
    assert_allclose(low.proud_m * 1e3, dip)
    assert_allclose(dip, 19.878, atol=5e-4)


def test_a_flat_stretch_is_named_by_its_middle() -> None:
    assert highs(run_at(polyline([(0, 0, 0), (0, 0, 50), (100, 0, 50), (300, 0, 50), (300, 0, 20)]), LEVEL)) == [
        (150, 0, 50, 30)
    ]


def test_levels_of_the_ends_and_the_highest_point() -> None:
    at = run_at(polyline([(0, 0, 10), (0, 0, 80), (0, 0, -5)]), LEVEL)
    assert_allclose([at.start_level_m, at.highest_level_m, at.end_level_m], [0.010, 0.080, -0.005])


# --- drains by hand --------------------------------------------------------------------------------------------------

# Falls 100 over 1000, rises 100 over 1000: the low point is at 1000 along (nearly: the sloping length is 1005).
VEE = [(0, 0, 100), (1000, 0, 0), (2000, 0, 100)]
SLOPING = float(np.hypot(1000, 100))


@pytest.mark.parametrize(
    ("drain_mm", "drained"),
    [
        pytest.param(SLOPING, True, id="at the low point"),
        # 4 mm, half the bore, of height are 40.2 mm along the slope.
        pytest.param(SLOPING + 40, True, id="half a bore above it"),
        pytest.param(SLOPING + 41, False, id="more than half a bore above it"),
        pytest.param(SLOPING - 41, False, id="the same on the other side"),
    ],
)
def test_a_drain_reaches_a_low_point_within_half_the_bore(drain_mm: float, drained: bool) -> None:
    (low,) = run_at(polyline(VEE, drains_m=(drain_mm / 1e3,)), LEVEL).low
    assert low.drained is drained


def test_a_drain_of_a_way_of_several_lines_empties_what_rises_by_half_its_bore() -> None:
    way: Any = SimpleNamespace(bore_m=BORE_M)
    course = Course(way, np.zeros((0, 3)), (), (), frozenset(), frozenset(), {})
    assert course.drained(frozenset({3, 5})) == {3: BORE_M / 2.0, 5: BORE_M / 2.0}


def test_a_drain_behind_a_rise_does_not_reach() -> None:
    # Two troughs of 0 with a rise of 10 between: the drain in the second does not empty the first.
    two = [(0, 0, 100), (1000, 0, 0), (1500, 0, 10), (2000, 0, 0), (3000, 0, 100)]
    along = polyline(two).along_m
    first, second = run_at(polyline(two, drains_m=(float(along[3]),)), LEVEL).low
    assert (first.drained, second.drained) == (False, True)


def test_a_drain_that_is_not_stated_is_unknown() -> None:
    (low,) = run_at(polyline(VEE, maybe_drains_m=(SLOPING / 1e3,)), LEVEL).low
    assert low.drained is None


# --- laws ------------------------------------------------------------------------------------------------------------

corners = st.tuples(*[st.integers(-500, 500)] * 3)
lines = st.lists(corners, min_size=2, max_size=9, unique=True)
attitudes = st.builds(Attitude.of_degrees, st.integers(-20, 20), st.integers(-20, 20))


@given(lines, attitudes)
def test_reversing_a_line_changes_nothing(points: list[tuple[int, int, int]], attitude: Attitude) -> None:
    there, back = run_at(polyline(points), attitude), run_at(polyline(points[::-1]), attitude)
    assert_allclose(highs(there), highs(back), atol=1e-5)
    assert_allclose(lows(there), lows(back), atol=1e-5)


@given(lines, attitudes, corners)
def test_moving_a_line_moves_its_points_and_nothing_else(
    points: list[tuple[int, int, int]], attitude: Attitude, by: tuple[int, int, int]
) -> None:
    moved = [tuple(a + b for a, b in zip(point, by, strict=True)) for point in points]
    here, there = run_at(polyline(points), attitude), run_at(polyline(moved), attitude)
    shifted = sorted((x + by[0], y + by[1], z + by[2], proud) for x, y, z, proud in highs(here))
    assert_allclose(shifted, highs(there), atol=1e-5)


@given(lines, attitudes, st.data())
def test_a_collinear_point_changes_nothing(
    points: list[tuple[int, int, int]], attitude: Attitude, data: st.DataObject
) -> None:
    after = data.draw(st.integers(0, len(points) - 2))
    share = data.draw(st.sampled_from([0.25, 0.5, 0.8]))
    between = np.array(points[after]) * (1 - share) + np.array(points[after + 1]) * share
    more = [*points[: after + 1], tuple(between), *points[after + 1 :]]
    plain, split = run_at(polyline(points), attitude), run_at(polyline(more), attitude)
    assert_allclose(highs(plain), highs(split), atol=1e-5)
    assert_allclose(lows(plain), lows(split), atol=1e-5)


@given(lines, attitudes)
def test_upside_down_high_points_are_low_points(points: list[tuple[int, int, int]], attitude: Attitude) -> None:
    at = run_at(polyline(points), attitude)
    levels = np.array(points) / 1e3 @ attitude.up
    assert len(at.high) == len(high_points(levels))
    assert_allclose([p.proud_m for p in at.low], [f[2] for f in high_points(-levels)])


@given(lines, st.integers(0, 2**31 - 1))
def test_turning_line_and_gravity_together_changes_nothing(points: list[tuple[int, int, int]], seed: int) -> None:
    turn = solids.rotation(seed)
    array = np.array(points) / 1e3
    assert_allclose(
        [f[2] for f in high_points(array @ LEVEL.up)],
        [f[2] for f in high_points((array @ turn.T) @ (turn @ LEVEL.up))],
        atol=1e-9,
    )


@given(lines, attitudes)
def test_one_more_high_point_than_low_points_at_most(points: list[tuple[int, int, int]], attitude: Attitude) -> None:
    # Between two high points lies a low point, and the other way round.
    at = run_at(polyline(points), attitude)
    assert abs(len(at.high) - len(at.low)) <= 1
    assert all(p.proud_m > 0.0 for p in (*at.high, *at.low))
