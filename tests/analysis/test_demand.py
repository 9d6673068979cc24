"""What the flow asks of the fuel over an outlet: the cover that is assumed, and the height that drives it by gravity."""

from __future__ import annotations

from math import pi
from pathlib import Path

import pytest
from designs import REMOVE, layout_of
from hypothesis import given
from hypothesis import strategies as st
from numpy.testing import assert_allclose
from rule_cases import LEVEL, study_of
from test_rules_flow import GRAVITY

from fuelsys.analysis.lines.demand import critical_submergence_m, with_demand
from fuelsys.report.shown import Shown
from fuelsys.report.tables.notes import covered, held_by_line

# Thick fuel through a narrow line, the engine 35 mm under the header's outlet and the fuel running past no fitting but the
# filter, which takes nothing, and the shut-off: laminar, so that losses are in proportion to the flow.
STRAIGHT = {
    **LEVEL,
    **GRAVITY,
    "fuel.viscosity": "30 mm2/s",
    "line.3.to": "engine",
    "line.3.bore": "9 mm",
    "flows": {"takeoff": "10 L/h", "max_continuous": "10 L/h", "cruise": "5 L/h"},
    "component.3.return_flow": REMOVE,
    "component.3.position": ["-300 mm", "0 mm", "340 mm"],
}


def test_critical_submergence() -> None:
    # ANSI/HI 9.8: S/D = 1 + 2.3 Fr. 25 L/h in 8 mm: V 0.138 m/s, Fr 0.493, S 17.1 mm.
    assert_allclose(critical_submergence_m(0.008, 25e-3 / 3600), 0.0171, atol=5e-5)


@given(st.floats(0.003, 0.03), st.floats(1e-7, 1e-4), st.floats(1.0, 3.0))
def test_more_flow_asks_for_more(bore_m: float, flow_m3_s: float, times: float) -> None:
    least = critical_submergence_m(bore_m, flow_m3_s)
    assert bore_m < least <= critical_submergence_m(bore_m, flow_m3_s * times)


def test_a_surface_must_stand_higher_to_drive_the_flow() -> None:
    """Header's outlet at (600, 0, 375), engine at (-300, 0, 340): 900.7 mm of 9 mm, Hagen and Poiseuille, entry and exit."""
    study = study_of(STRAIGHT)
    tank = next(tank for tank in study.tanks if tank.name == "header")
    rho, nu, g, bore, flow = 720.0, 30e-6, 9.80665, 0.009, 10e-3 / 3600.0
    length = (0.9**2 + 0.035**2) ** 0.5
    area = pi / 4.0 * bore**2
    strainer = 2.8 * rho / 2.0 / 300e-6**2 * flow**2
    lost = 128.0 * nu * rho * length / pi / bore**4 * flow + (0.57 + 1.0) * rho / 2.0 * (flow / area) ** 2 + strainer
    height = lost / rho / g
    assert_allclose(tank.tank.heights["outlet"], [height], rtol=1e-9)
    left = tank.capacity.unusable
    assert left is not None
    assert_allclose(left.worst.starved_m, height - 0.035, rtol=1e-9)
    # Between z = 375 and the surface the hopper's walls run out by 2.4 and 1.6 mm for each millimetre: (140 + 2.4 h)(120 + 1.6 h).
    h = (height - 0.035) * 1e3
    assert 1.0 < h < 25.0
    more = 140 * 120 * h + (140 * 1.6 + 120 * 2.4) * h**2 / 2 + 2.4 * 1.6 * h**3 / 3
    assert_allclose(left.worst.by_flow_m3 * 1e9, more, rtol=1e-6)
    assert_allclose(left.volume_m3 * 1e9, 280_000 + more, rtol=1e-6)
    notes = held_by_line(left, Shown())
    assert len(notes) == 1
    assert "greatest flow" in notes[0]


def test_an_assumed_cover_is_told_with_its_effect() -> None:
    study = study_of(LEVEL | {"tank.0.outlet.0.cover": REMOVE})
    tank = study.tanks[0]
    left = tank.capacity.unusable
    assert left is not None
    assert left.uncovered_m3 == pytest.approx(318_750e-9)
    assert left.volume_m3 > left.uncovered_m3
    (note,) = covered(tank, Shown())
    assert "28.3 mm assumed" in note
    # The sump holds 0.532 L below 5.2 mm over the outlet: worked by hand in tests/rules/test_rules_tank.py.
    assert "0.532 L would be unusable, without any 0.319 L" in note
    assert covered(study.tanks[1], Shown()) == ()


def test_looking_at_the_flow_twice_changes_nothing(tmp_path: Path) -> None:
    once = with_demand(layout_of(tmp_path, {"tank.0.outlet.0.cover": REMOVE}))
    twice = with_demand(once)
    assert [tank.covers for tank in once.tanks] == [tank.covers for tank in twice.tanks]
    assert [tank.heights for tank in once.tanks] == [tank.heights for tank in twice.tanks]


def test_what_is_not_counted_is_told() -> None:
    """Without the fuel's viscosity the height that drives the flow is not known; without the return flow, nor the cover."""
    thick = study_of({"fuel.kind": "diesel"}).tanks[0]
    assert any("is not counted" in note for note in thick.tank.doubts)
    assert not any("is not counted" in note for note in study_of({}).tanks[0].tank.doubts)
    unsaid = study_of({"tank.0.outlet.0.cover": REMOVE, "component.5.return_flow": REMOVE}).tanks[0]
    assert any("not known without the engine's return_flow" in note for note in unsaid.tank.doubts)
