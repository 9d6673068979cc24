"""What a design's many settings, its parts beside one another and the order of its lines must not change in what rules say."""

from __future__ import annotations

import re
from dataclasses import replace

import designs
import pytest
from designs import REMOVE
from numpy.testing import assert_allclose
from plumbing_changes import APART, HEADER_VENT_VALVE, VENT_VALVE, line, mm
from rule_cases import LEVEL, Case, check, plain, study_of

from fuelsys.analysis.lines import in_flight as flying
from fuelsys.analysis.lines.airing import airings, still_breathing
from fuelsys.analysis.lines.breathing import overboard
from fuelsys.analysis.lines.feeding import flows
from fuelsys.analysis.lines.solving import Solving
from fuelsys.analysis.lines.statewise import boiling_in_states
from fuelsys.analysis.lines.suction import suctions
from fuelsys.analysis.lines.vapour import HOT_K
from fuelsys.kernels.steady import NotSteadyError
from fuelsys.model.built.joining import Joined
from fuelsys.model.built.layout import Layout
from fuelsys.model.found.breathing import Breathing
from fuelsys.model.found.findings import Finding, Outcome
from fuelsys.model.found.flow import Missing
from fuelsys.model.found.plumbing import Overflow
from fuelsys.model.found.spilling import Drowned, InFlight, TankInFlight
from fuelsys.model.stated.attitude import Attitude
from fuelsys.report import text
from fuelsys.report.charts.flow import margins
from fuelsys.report.shown import Shown
from fuelsys.report.tables import vents
from fuelsys.rules.plumbing.breathing import vent_passes_too_little_air, vent_suction_takes_the_head
from fuelsys.rules.plumbing.in_flight import vent_under_fuel_in_flight
from fuelsys.rules.plumbing.overfilling import transfer_overfills_tank

FAIL = Outcome.FAIL


def _valves(first_line: str, kind: str, start: str, end: str, z: float) -> dict[str, object]:
    """Nine valves one behind the other, beside the shut-off: 1024 settings."""
    names = [f"valve {n}" for n in range(9)]
    found: dict[str, object] = {
        f"component.{6 + n}": {"name": name, "kind": "valve", "position": mm(560 - 10 * n, 0, z), "engine_side": False}
        for n, name in enumerate(names)
    }
    found[first_line] = line("line 0", kind, start, names[0])
    ends = [*names[1:], end]
    return found | {f"line.{9 + n}": line(f"line {n + 1}", kind, name, ends[n]) for n, name in enumerate(names)}


NINE_IN_FEED = LEVEL | _valves("line.3", "feed", "header.outlet", "filter", 340)
NINE_IN_VENT = LEVEL | _valves("line.0", "vent", "main.vent", "overboard", 1305)
# Air would have to go against each.
AGAINST = APART | {
    "component.7": {"name": "main check", "kind": "check valve", "position": mm(570, 200, 1305)},
    "component.8": {"name": "header check", "kind": "check valve", "position": mm(820, 0, 900)},
    "line.0": line("vent", "vent", "main.vent", "main check", mm(570, 0, 1300)),
    "line.9": line("vent on", "vent", "main check", "overboard", mm(570, 400, 1310)),
    "line.1": line("header vent", "vent", "header.vent", "header check"),
    "line.10": line("header vent on", "vent", "header check", "mast"),
}
OUT_OF_INLET = {
    "line.2": line("main feed", "feed", "header.from main", "main.outlet"),
    "line.9": line("second feed", "feed", "header.from main", "filter"),
}
# A selector without `both` that stands on two of three lines: to each tank, and overboard; beside it the header has a narrow line.
SELECTED = LEVEL | VENT_VALVE | {"component.6.kind": "selector", "line.1.to": "vent valve"}
SECOND_END = {
    "component.7": {"name": "mast", "kind": "overboard", "position": mm(900, 0, 1400), "discharges_clear": True},
    "line.10": line("second", "vent", "header.vent", "mast") | {"bore": "3 mm"},
}
MANY, OPEN = "at most 256 settings of selectors and valves: there are 1024", "settings are too many to go through"
# A second vent 10 mm under the full tank's fuel, with a line of its own; alone it is while the valve in the first one's is shut.
LOW_SECOND = {
    "component.7": {"name": "mast", "kind": "overboard", "position": mm(900, 0, 1400), "discharges_clear": True},
    "tank.0.vent.1": {"name": "second", "position": mm(0, 250, 190), "bore": "8 mm"},
    "line.10": line("second", "vent", "main.second", "mast", mm(600, 450, 1300)),
}
CASES = [
    Case("vent-below-full-level", "bad", "main.second", ("with vent valve shut, filled to the filler", "drowned by 10.0 mm"),
         LEVEL | VENT_VALVE | LOW_SECOND, "", FAIL),
    Case("vent-not-at-top", "bad", "main", ("with vent valve shut, filled at parked",), LEVEL | VENT_VALVE | LOW_SECOND, "", FAIL),
    Case("vent-not-at-top", "good", "main", ("opens 40.0 mm above the fuel",), LEVEL | VENT_VALVE),
    Case("fuel-boils-in-line", "unknown", "the settings", (MANY,), NINE_IN_FEED),
    Case("tank-not-kept-full", "unknown", "the settings", (MANY,), NINE_IN_FEED),
    Case("vent-suction-takes-the-head", "unknown", "the settings", (MANY,), NINE_IN_FEED),
    Case("vent-under-fuel-in-flight", "unknown", "main", (OPEN,), NINE_IN_VENT),
    Case("vent-can-be-shut", "bad", "main", ("past main check no air",), LEVEL | AGAINST, "", FAIL),
    Case("vent-can-be-shut", "bad", "header", ("past header check no air",), LEVEL | AGAINST, "", FAIL),
    Case(
        "port-not-connected",
        "bad",
        "header.from main",
        ("main feed runs from header.from main to main.outlet:", "second feed runs from header.from main to filter:"),
        LEVEL | OUT_OF_INLET,
        "wrong way round",
        FAIL,
    ),
    Case("port-not-connected", "bad", "main.outlet", ("main feed runs from",), LEVEL | OUT_OF_INLET, "wrong way round", FAIL),
    Case("return-into-shut-tank", "not asked", "return", ("no setting",), LEVEL | {"component.5.return_flow": REMOVE, "line.8": REMOVE}),
]  # fmt: skip


@pytest.mark.parametrize("case", CASES, ids=lambda case: case.title)
def test_rules(case: Case) -> None:
    check(case)


def test_the_picture_of_vapour_says_what_settings_it_leaves_out() -> None:
    study = study_of(NINE_IN_FEED)
    figure = margins(suctions(study.layout, study.flows, (HOT_K,)), Shown())
    assert "Warning: a setting may be worse" in " ".join(text.get_text() for axes in figure.axes for text in axes.texts)


def test_the_order_of_lines_changes_nothing() -> None:
    """No setting of the selector is all open; each tank breathes in some, and with one of the ends blocked in some."""
    rules = (
        vent_passes_too_little_air,
        vent_suction_takes_the_head,
        transfer_overfills_tank,
        vent_under_fuel_in_flight,
    )
    changes = SELECTED | SECOND_END
    several = [study_of(changes | {"line": designs.changed(changes)["line"][::way]}) for way in (1, -1)]
    one, two = (sorted(_figures(finding) for r in rules for finding in r.findings(of)) for of in several)
    assert one == two
    assert all(
        outcome is not Outcome.NOT_CHECKED for rule, _, outcome, _ in one if rule == "vent-passes-too-little-air"
    )
    blocked = [{(s.blocked, *sorted(s.setting.split())) for s in of.breathing.states if s.blocked} for of in several]
    assert len(blocked[0]) > 1
    assert blocked[0] == blocked[1]


def _figures(found: Finding) -> tuple[str, str, Outcome, list[str]]:
    """A selector's lines are named as the file lists them."""
    return found.rule.name, found.where, found.outcome, re.findall(r"[0-9.]+", plain(found.evidence))


def test_tanks_of_which_no_air_is_known_are_not_judged_by_it() -> None:
    found = list(vent_suction_takes_the_head.findings(replace(study_of({}), breathe=Breathing)))
    assert found
    assert all(one.outcome is Outcome.NOT_CHECKED and "in which all tanks" in plain(one.evidence) for one in found)


def test_a_tank_that_breathes_overboard_by_no_line_that_is_left_does_not_breathe() -> None:
    """The same as asking of the lines alone which tanks they join to the outside; past check valves against the air none."""
    for changes in (AGAINST, SELECTED | SECOND_END, HEADER_VENT_VALVE):
        network = study_of(LEVEL | changes).layout.network
        for end in (None, *overboard(study_of(LEVEL | changes).layout)):
            shut = [one for one in network.edges if end in (one.start, one.end)]
            assert still_breathing(network, end) == (() if changes is AGAINST else tuple(network.aired(shut)))


def test_only_tanks_whose_vents_a_setting_shuts_are_filled_anew(monkeypatch: pytest.MonkeyPatch) -> None:
    study, asked = study_of(HEADER_VENT_VALVE | LEVEL), list[str]()
    full = {one.name: one.capacity.filled for one in study.tanks}
    true = flying.filled
    monkeypatch.setattr(flying, "filled", lambda lay, tank, at: asked.append(tank.name) or true(lay, tank, at))
    flying.in_flight(study.layout, full, airings(study.layout))
    assert asked == ["header"]


def test_the_setting_that_drowns_a_vent_deepest_is_told(monkeypatch: pytest.MonkeyPatch) -> None:
    """2 mm with all open, and 5 or 9 with a line shut, whichever setting comes first."""
    study = study_of(SELECTED)
    at, group = study.layout.design.normal("flight"), study.in_flight.groups[0].joined
    depths = {"header vent": 0.009, "vent": 0.005}

    class Flying:
        def __init__(self, layout: Layout, *_: object) -> None:
            left = {one.name for one in layout.lines}
            deep_m = max((deep for name, deep in depths.items() if name not in left), default=0.002)
            drowned = Drowned(at, group, (Overflow("main.vent", deep_m),), None)
            self.found = InFlight((), (TankInFlight("main", 0.0, at, drowned),))

    monkeypatch.setattr(flying, "_Flying", Flying)
    full = {one.name: one.capacity.filled for one in study.tanks}
    settings = airings(study.layout) or ()
    worst = {one.words for one in settings if "header vent" in one.shut}
    for several in (settings, settings[::-1]):
        (told,) = flying.in_flight(study.layout, full, several).tanks
        assert {told.setting} == worst


def test_a_flow_that_is_not_found_is_told(monkeypatch: pytest.MonkeyPatch) -> None:
    def fails(*_: object) -> None:
        raise NotSteadyError("no steady state")

    layout, states = study_of({}).layout, study_of({}).flows.states
    with monkeypatch.context() as patch:
        patch.setattr("fuelsys.analysis.lines.feeding.at_inlets", fails)
        missing = flows(layout).missing
        assert missing
        assert all("the solver to find a flow" in one.needs for one in missing)
        assert not flows(layout).to
    monkeypatch.setattr(Solving, "sucked", fails)
    found = boiling_in_states(layout, states)
    assert found
    assert all(isinstance(one, Missing) and "the solver to find a flow" in one.needs for one in found)


def test_the_span_of_a_tank() -> None:
    """The main tank stands from z = 940 to 1240 mm above the datum."""
    layout = study_of({}).layout
    assert_allclose(layout.tank("main").span_m(layout.design.normal("ground").up), (0.94, 1.24), atol=1e-12)


def test_a_setting_in_which_no_air_comes_is_told_before_one_that_is_a_trifle() -> None:
    level, apart = Attitude(name="level", phase="flight", pitch_rad=0.0, roll_rad=0.0), Joined(("main",))
    trifle = Drowned(level, apart, (Overflow("main.vent", 0.005),), 1e-4)
    led_under = Drowned(level, apart, (Overflow("main.vent", -0.02),), None)
    assert [one.slight(720.0) for one in (trifle, led_under)] == [True, False]
    assert max((trifle, led_under), key=lambda one: one.rank(720.0)) is led_under


def test_air_that_could_not_be_settled_is_said_in_the_table() -> None:
    (table,) = vents.breathing(Breathing(needs="at most 256 settings"), (), Shown())
    assert "air through the vents is not computed: needs at most 256 settings" in text.tables([table], width=120)
