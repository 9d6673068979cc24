"""What stands in vent and return lines: the pressure in each setting, and what leaves a tank where the return may go elsewhere."""

from __future__ import annotations

from numpy.testing import assert_allclose
from plumbing_changes import HEADER_VENT_VALVE, INTO_HEADER, RETURN_SELECTOR, VENT_VALVE, line, mm
from rule_cases import plain, study_of

from fuelsys.analysis.lines.suction import suctions
from fuelsys.analysis.lines.vapour import HOT_K
from fuelsys.analysis.tank.outflow import outflow
from fuelsys.rules.plumbing.flow import fuel_boils_in_line

PAST = line("past it", "vent", "main.vent", "overboard", mm(560, 0, 1300)) | {"bore": "4 mm"}


def test_with_a_valve_shut_the_air_goes_the_other_way() -> None:
    """As in a design that has the other line alone; open, the suction is less."""
    both, alone = study_of(VENT_VALVE | {"line.10": PAST}), study_of({"line.0": PAST})
    for what in ("in", "out", "filling"):
        worst, same = both.breathing.worst("main", what), alone.breathing.worst("main", what)
        assert worst is not None
        assert same is not None
        assert worst.setting == "vent valve shut"
        assert_allclose(worst.pressures_pa["main"], same.pressures_pa["main"], rtol=1e-6)
        opened = [one for one in both.breathing.of("main", what, blocked=False) if not one.setting]
        assert max(abs(one.pressures_pa["main"]) for one in opened) < 0.5 * abs(worst.pressures_pa["main"])
    (full,), (full_alone,) = ([one for one in of.overfills if one.tank == "main"] for of in (both, alone))
    assert full.setting == "vent valve shut"
    assert full.pressure_pa is not None
    assert full_alone.pressure_pa is not None
    assert_allclose(full.pressure_pa, full_alone.pressure_pa, rtol=1e-9)


def test_which_airspaces_communicate_in_each_setting() -> None:
    opened, shut = study_of(HEADER_VENT_VALVE).plumbing.airings or ()
    assert (opened.words, opened.groups, opened.starved) == ("all open", (("main", "header"),), ())
    assert (shut.words, shut.groups, shut.starved) == ("vent valve shut", (("main",), ("header",)), ("header",))


def test_a_return_that_may_go_elsewhere_counts_in_the_least_minutes() -> None:
    """18 L/h burnt and 20 returned: 6.104 L last 9.64 min if all of that goes to the other tank; 20.35 if it all comes back."""
    header = study_of(RETURN_SELECTOR).layout
    gone = outflow(header, header.tank("header"))
    assert gone.to == ("main",)
    assert_allclose((gone.alone_m3_s, gone.returned_m3_s), (18e-3 / 3600.0, 20e-3 / 3600.0))
    # The main tank runs back into the header by gravity, but for what it may hold back: nothing, it is convex and level there.
    assert gone.held_m3 is not None
    back = study_of(INTO_HEADER).layout
    assert outflow(back, back.tank("header")).to == ()
    shut = study_of(RETURN_SELECTOR | {"component.7": WING_VALVE, **THROUGH_IT}).layout
    least_s = outflow(shut, shut.tank("header")).least_s(6.104e-3)
    assert least_s is not None
    assert_allclose(least_s / 60.0, 6.104 / 38.0 * 60.0, rtol=1e-9)


WING_VALVE = {"name": "wing valve", "kind": "valve", "position": mm(520, 0, 880), "engine_side": False}
THROUGH_IT = {
    "line.2": line("main feed", "feed", "main.outlet", "wing valve"),
    "line.11": line("on", "feed", "wing valve", "header.from main", mm(480, 0, 800)),
}


def test_vapour_is_judged_with_the_wide_line_shut() -> None:
    """As in a design that has the thin line alone: open, both carry the flow and the pump's suction is a little more than half."""
    thin = line("thin", "feed", "header.outlet", "filter") | {"bore": "5 mm"}
    both = study_of({"line.3": thin, "component.6": WIDE_VALVE, **BESIDE})
    alone = study_of({"line.3": thin})
    (worst,) = both.flows.boiling_worst
    (opened,), (same,) = ([one for one in of.flows.to if one.kind == "suction"] for of in (both, alone))
    assert worst.state.words == "wide valve shut"
    assert worst.fed.lowest.lowest_pa is not None
    assert same.lowest.lowest_pa is not None
    assert opened.lowest.lowest_pa is not None
    assert_allclose(worst.fed.lowest.lowest_pa, same.lowest.lowest_pa, rtol=1e-6)
    assert opened.lowest.lowest_pa > 0.6 * worst.fed.lowest.lowest_pa
    found = {one.where: one for one in fuel_boils_in_line.findings(both)}
    assert "worst with wide valve shut" in plain(found["boost pump, every setting"].evidence)
    (drawn,) = suctions(both.layout, both.flows, (HOT_K,))
    assert drawn.setting == "wide valve shut"


WIDE_VALVE = {"name": "wide valve", "kind": "valve", "position": mm(400, 0, 330), "engine_side": False}
BESIDE = {
    "line.9": line("wide", "feed", "header.outlet", "wide valve"),
    "line.10": line("wide on", "feed", "wide valve", "filter"),
}


def test_full_tanks_are_tilted_where_a_tank_has_no_vent_line_left() -> None:
    """A selector on both tanks' lines and overboard's: with it on two of them the third is shut, and a tank may have none."""
    found = study_of(VENT_VALVE | {"component.6.kind": "selector", "line.1.to": "vent valve"}).in_flight
    assert [one.tank for one in found.tanks] == ["main", "header"]
