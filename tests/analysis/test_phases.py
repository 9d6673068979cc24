"""Unusable fuel at each stated flow: closed forms by gravity and with a pump, and interconnect lines as feed lines."""

from __future__ import annotations

from copy import deepcopy
from math import pi

import pytest
from numpy.testing import assert_allclose
from plumbing_changes import line, mm
from rule_cases import LEVEL, study_of
from sound_designs import design_of
from test_demand import STRAIGHT
from test_states import layout_of

from fuelsys import review
from fuelsys.analysis.lines.demand import lost_pa
from fuelsys.analysis.lines.solving import Solving
from fuelsys.model.built.ends import ComponentEnd, PortEnd
from fuelsys.report.shown import Shown
from fuelsys.report.tables.phases import phases

RHO, G = 720.0, 9.80665


def above_header_outlet_m3(h_mm: float) -> float:
    """What the header holds between its outlet (z = -25) and h above it: (140 + 2.4 h)(120 + 1.6 h), as in test_demand.py."""
    return (140 * 120 * h_mm + (140 * 1.6 + 120 * 2.4) * h_mm**2 / 2 + 2.4 * 1.6 * h_mm**3 / 3) * 1e-9


def test_by_gravity_at_two_flows() -> None:
    """900.7 mm of 9 mm, Hagen and Poiseuille, entry, exit and strainer; the engine 35 mm under the outlet. 2.4 L/h ask for none."""
    study = study_of(
        STRAIGHT
        | {
            "component.3.return_flow": "0 L/h",
            "flows": {"takeoff": "10 L/h", "max_continuous": "9 L/h", "cruise": "2.4 L/h"},
        }
    )
    tank = next(tank for tank in study.tanks if tank.name == "header")
    left = tank.capacity.unusable
    assert left is not None
    for at, litres in zip(tank.by_phase, (10.0, 9.0, 2.4), strict=True):
        flow = litres * 1e-3 / 3600.0
        length, area = (0.9**2 + 0.035**2) ** 0.5, pi / 4.0 * 0.009**2
        lost = 128.0 * 30e-6 * RHO * length / pi / 0.009**4 * flow + 1.57 * RHO / 2.0 * (flow / area) ** 2
        lost += 2.8 * RHO / 2.0 / 300e-6**2 * flow**2
        above_mm = max(0.0, (lost / RHO / G - 0.035) * 1e3)
        assert at.by_cover_m3 == pytest.approx(280_000e-9, rel=1e-9)
        assert at.unusable_m3 == pytest.approx(280_000e-9 + above_header_outlet_m3(above_mm), rel=1e-6)
        assert at.governs == ("flow" if above_mm else "cover")
    assert tank.by_phase[0].unusable_m3 == pytest.approx(left.volume_m3, rel=1e-12)


def test_with_a_pump_what_it_lacks_is_a_height() -> None:
    """The engine asks for what the boost pump brings from a surface 10 mm over the outlet; the other pump brings more there."""
    layout = study_of(LEVEL).layout
    ends = PortEnd("header", "outlet"), ComponentEnd("engine")
    solving = Solving.of(layout)
    drawn = solving.drawn_m3_s(ends[1])
    asked = 20_000.0 - (
        lost_pa(solving, *ends, drawn, frozenset(["boost pump"])) or 0.0
    )  # above what the engine asks for now
    own, engine = (solving.level_m(end, solving.flight[0]) for end in ends)
    pressure = asked + RHO * G * (own - engine + 0.010)
    tank = next(
        one for one in study_of(LEVEL | {"component.5.inlet_pressure": f"{pressure} Pa"}).tanks if one.name == "header"
    )
    at = next(one for one in tank.by_phase if one.phase == "takeoff" and one.running == "boost pump")
    assert at.governs == "flow"
    assert at.by_flow_m3 == pytest.approx(280_000e-9 + above_header_outlet_m3(10.0), rel=1e-6)
    less = next(one for one in tank.by_phase if one.phase == "cruise" and one.running == "boost pump")
    assert less.unusable_m3 is not None
    assert at.unusable_m3 is not None
    assert less.unusable_m3 <= at.unusable_m3
    assert tank.capacity.unusable is not None
    assert tank.capacity.unusable.volume_m3 == pytest.approx(280_000e-9)


def test_what_is_not_known_is_no_figure() -> None:
    tank = next(one for one in study_of(STRAIGHT).tanks if one.name == "header")
    assert {(one.unusable_m3, one.governs, one.needs) for one in tank.by_phase} == {
        (None, "not known", "the engine's return_flow")
    }
    (table,) = phases(tank, tank.capacity.unusable, Shown())  # type: ignore[arg-type]
    assert "by flow is not known" in table.notes[0]


def test_an_interconnect_line_over_a_hump_counts_as_a_feed_line_does() -> None:
    """The right tank gives its fuel by an interconnect line to the left one's port, over a hump 100 mm above its outlet."""
    design = deepcopy(design_of("joined"))
    design["attitude"] = [one for one in design["attitude"] if one.get("normal")]
    right = design["tank"][1]
    right["outlet"] = [{"name": "outlet", "position": mm(200, 250, -45), "bore": "8 mm", "cover": "0 mm"}]
    (level,) = (one for one in design["line"] if one["name"] == "level line")
    design["line"].remove(level)
    design["line"].append(line("level line", "interconnect", "left.low", "right.outlet", mm(600, 0, 1055)))
    layout = layout_of(design)
    tank = layout.tank("right")
    assert [str(climb.way.end) for climb in tank.downhill["outlet"]] == ["left.low"]
    left = review.study(layout, only="right").tanks[0].capacity.unusable
    assert left is not None
    assert_allclose(left.worst.over_m, 0.100, rtol=1e-9)
