"""A stick that is marked by a fill test: a box of 0.24 m², drawn 0.2 m high, each mark by hand."""

from __future__ import annotations

from dataclasses import replace
from math import tan

import numpy as np
import pytest
from fillsheets import example, fitted
from manifold3d import Manifold
from numpy.testing import assert_allclose

from fuelsys.analysis.fills.measured import corrected_stick
from fuelsys.analysis.fills.model import none
from fuelsys.analysis.tank.dipstick import SLOPE_RAD, dipstick
from fuelsys.arrays import Floats
from fuelsys.model.built.layout import FittedTank
from fuelsys.model.built.measured import Corrected
from fuelsys.model.found.dipstick import DipstickStudy
from fuelsys.model.stated.attitude import Attitude
from fuelsys.report.shown import Shown
from fuelsys.report.tables.dipstick import hanging

AREA_M2, SHARE, OFFSET_M = 0.24, -0.04, 0.003
LEVEL = Attitude("level", "ground")
# The stick stands 50 mm outboard of the middle and 30 mm ahead of it, from 10 mm over the floor to 190 mm.
BOX = fitted(Manifold.cube([0.6, 0.4, 0.2]), (np.array([0.27, 0.25, 0.01]), np.array([0.27, 0.25, 0.19])))


def correction(share: float = 0.0, offset_m: float = 0.0) -> Floats:
    found = none()
    found[:2] = share, offset_m
    return found


def drawn(tank: FittedTank, unusable_m3: float | None = None, other: Attitude | None = None) -> DipstickStudy:
    return dipstick(example(), tank, "L", unusable_m3, at=(LEVEL, other) if other else (LEVEL,))


def by_test(at: str, stick: Floats, zero: str = "bottom", unusable_m3: float | None = None) -> DipstickStudy:
    assert BOX.design.dipstick is not None
    turned = BOX.design.dipstick.model_copy(update={"zero": zero})
    tank = replace(BOX, design=BOX.design.model_copy(update={"dipstick": turned}))
    band = (np.array([0.0, 0.18]), np.array([0.1e-3, 0.19e-3]))
    found = Corrected("sheet.csv", "2026-05-30", at, 1.0 + stick[0], 0.01, stick, tank.cavity, band)
    climb = Attitude("climb", "ground", pitch_rad=0.05)
    return corrected_stick(replace(tank, corrected=found), drawn(tank, unusable_m3, climb), "L")


@pytest.mark.parametrize("off_mm", [3.0, -3.0, 0.0])
def test_a_test_at_another_attitude_says_how_much_too_much_the_marks_may_show(off_mm: float) -> None:
    # A stick that reads 3 mm too high shows 0.24 m² x 3 mm = 0.72 L too much at each mark; one that reads too low shows less than
    # there is: nothing too much.
    stick = by_test("tail down", correction(0.0, off_mm / 1e3))
    assert stick.by_test_less_m3 == pytest.approx(max(0.0, AREA_M2 * off_mm / 1e3), abs=1e-12)
    assert not stick.by_test
    assert stick.marks == drawn(BOX, other=Attitude("climb", "ground", pitch_rad=0.05)).marks


def test_where_the_tank_is_smaller_the_fullest_mark_shows_most_too_much() -> None:
    # 4 % of what is there at the uppermost mark as drawn: 44 L (10 mm to 190 mm are 2.4 to 45.6 L, a step of 2 L).
    assert by_test("tail down", correction(SHARE)).by_test_less_m3 == pytest.approx(0.04 * 44e-3)


@pytest.mark.parametrize("zero", ["bottom", "top"])
def test_the_marks_are_where_the_test_says(zero: str) -> None:
    # V = 0.96 x 0.24 m² x h: at a reading r from the bottom h = 10 mm + r - 3 mm, from the top 190 mm - (r - 3 mm).
    stick = by_test("level", correction(SHARE, OFFSET_M), zero, 5e-3)
    assert stick.by_test
    assert stick.by_test_less_m3 is None

    def at_m(volume_m3: float) -> float:
        high_m = volume_m3 / ((1.0 + SHARE) * AREA_M2)
        return high_m - 0.01 + OFFSET_M if zero == "bottom" else 0.19 - high_m + OFFSET_M

    ends = (0.007, 0.187) if zero == "bottom" else (0.013, 0.193)
    assert_allclose([stick.below_m3, stick.top_m3], 0.96 * AREA_M2 * np.array(ends), rtol=1e-9)
    wanted = [2.0 * k * 1e-3 for k in range(1, 22)] if zero == "bottom" else [2.0 * k * 1e-3 for k in range(2, 23)]
    assert_allclose([mark.volume_m3 for mark in stick.marks], wanted, rtol=1e-12)
    assert_allclose([mark.along_m for mark in stick.marks], [at_m(one) for one in wanted], rtol=1e-9)
    assert stick.empty_m == pytest.approx(at_m(5e-3))
    assert stick.shut_in_m3 == pytest.approx(0.0, abs=1e-12)
    assert not any(mark.pools_apart or mark.air_trapped for mark in stick.marks)
    assert_allclose(
        [mark.within_m3 for mark in stick.marks], [0.1e-3 + 0.5e-3 * at_m(one) for one in wanted], rtol=1e-9
    )
    # In the middle half of the tank a slope moves what is there by the stick's place: 30 mm ahead, 50 mm aside of the middle.
    middle = next(mark for mark in stick.marks if mark.volume_m3 == pytest.approx(24e-3))
    off_m3 = 0.96 * AREA_M2 * np.array([0.05, 0.03]) * tan(SLOPE_RAD)
    assert middle.sloped_m3[1] - 24e-3 >= 0.99 * off_m3.max()
    assert 24e-3 - middle.sloped_m3[0] >= 0.99 * off_m3.max()
    assert middle.elsewhere_m3 is not None
    assert abs(middle.elsewhere_m3 - 24e-3) == pytest.approx(0.96 * AREA_M2 * 0.03 * tan(0.05), rel=0.02)


@pytest.mark.parametrize(("unusable_m3", "told"), [(1.0e-3, False), (1.7e-3, True), (43e-3, True), (43.2e-3, False)])
def test_no_usable_fuel_is_marked_where_it_is_on_the_stick(unusable_m3: float, told: bool) -> None:
    # By the test the stick reaches from 0.96 x 0.24 m² x 7 mm = 1.613 L to 43.085 L.
    assert (by_test("level", correction(SHARE, OFFSET_M), "bottom", unusable_m3).empty_m is not None) == told


def test_without_a_test_the_stick_is_as_drawn() -> None:
    stick = drawn(BOX)
    assert corrected_stick(BOX, stick, "L") is stick


def test_that_its_bottom_hangs_is_told_with_a_test_as_well() -> None:
    # Dropped by the 10 mm below it: 0.24 m² x 10 mm = 2.4 L as drawn, 0.96 of that by the test; the more is told.
    stick = by_test("level", correction(SHARE, OFFSET_M))
    assert stick.by_test
    (said,) = hanging(stick, Shown())
    assert said.startswith("Its bottom hangs 10.0 mm above the floor: it needs a stop there.")
    assert said.endswith("up to 2.400 L more than there is.")
