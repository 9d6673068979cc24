"""The pressure that a tank's test must reach: the emergency landing's loads, the flight's, and what the row says of them."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
from designs import layout_of
from numpy.testing import assert_allclose
from solids import box

from fuelsys.analysis.tank.head import EMERGENCY_LANDING, flight_loads, required_test_pressure
from fuelsys.model.built.cavity import Cavity
from fuelsys.report.shown import Shown
from fuelsys.report.tables.design import tests_to_make as made
from fuelsys.review import study


def row(folder: Path, changes: dict[str, Any]) -> tuple[str, str]:
    """Pressure and what asks for it, of the main tank."""
    table = made(study(layout_of(folder, changes), only="main"), Shown())
    return next(
        (str(to_show), str(asked)) for test, to_show, asked in table.rows if test == "pressure test of tank main"
    )


def test_a_tall_tank_is_pressed_hardest_in_flight() -> None:
    # 0.6 m high: 5.7 g down press with 720 x 5.7 x 9.80665 x 0.6 = 24.148 kPa, just over 3.5 psi (24.132 kPa); 9 g on 0.2 m
    # and 3 g up on 0.6 m with 12.7 kPa.
    tall = Cavity.of(*box(0.2, 0.2, 0.6))
    asked = required_test_pressure(tall, 720.0, (*EMERGENCY_LANDING, *flight_loads(3.8)))
    assert_allclose(asked.pressure_pa, 720.0 * 5.7 * 9.80665 * 0.6, rtol=1e-12)
    assert asked.asked_by == (
        "full tank at 5.7 g down, in flight (1.5 times the limit load factor 3.8: 14 CFR 23.303, from memory)"
    )
    assert required_test_pressure(tall, 720.0).asked_by == "the least test pressure, 3.5 psi"


@pytest.mark.parametrize(
    ("changes", "pressure", "asked_by"),
    [
        # The main tank is 400 mm long and 300 mm high: 9 g forward press with 25.42 kPa, 13.5 g down with 28.60 kPa.
        pytest.param(
            {"aircraft.limit_load_factor": 3.8}, "25.4 kPa (3.69 psi)", "9 g forward, emergency", id="landing"
        ),
        pytest.param({"aircraft.limit_load_factor": 9}, "28.6 kPa (4.15 psi)", "13.5 g down, in flight", id="flight"),
    ],
)
def test_the_greatest_load_is_shown(tmp_path: Path, changes: dict[str, Any], pressure: str, asked_by: str) -> None:
    shown, asked = row(tmp_path, changes)
    assert shown == pressure
    assert asked_by in asked
    assert "23.965(a)(1)" in asked
    assert "not counted" not in asked


def test_without_the_load_factor_the_row_says_what_is_left_out(tmp_path: Path) -> None:
    shown, asked = row(tmp_path, {})
    assert shown == "25.4 kPa (3.69 psi)"
    assert asked.endswith("; the flight's ultimate loads are not counted: needs aircraft.limit_load_factor")
