"""Verdicts on failures that are made up: what was not flown, or not for ten minutes, is no pass; and what is told of the rest."""

from __future__ import annotations

from dataclasses import replace
from types import SimpleNamespace
from typing import cast

import numpy as np
import pytest
from rule_cases import plain

from fuelsys.model.found.findings import Outcome, Verdict
from fuelsys.model.found.fly import Failing, Failures, Flown, Part, Warned
from fuelsys.model.found.study import Study
from fuelsys.model.stated.attitude import Attitude
from fuelsys.model.words import Doubt
from fuelsys.report.shown import Shown
from fuelsys.report.tables import fly as tables
from fuelsys.rules.plumbing.failing import failure_stops_engine_at_once, failure_without_warning
from fuelsys_cli.fly import severity


def flown(end_s: float, stopped: str = "", *warned: Warned) -> Flown:
    nothing = np.zeros(2)
    return Flown(("main",), np.array([0.0, end_s]), np.zeros((2, 1)), nothing, nothing, (), warned, stopped)


def judged(*single: Failing, soon: bool = True) -> dict[str, Verdict]:
    study = cast("Study", SimpleNamespace(failures=Failures(("the flight stated",), flown(9e3), single)))
    rule = failure_stops_engine_at_once if soon else failure_without_warning
    return {verdict.where: verdict for verdict in rule.judge(study)}


LEVEL = Part("all", 0.0, Attitude("level", "flight"), "cruise", 1e-6, 0.0, "")
LASTS = [Failing("runs", flown(900.0)), Failing("stops late", flown(600.0, "air"))]


def test_only_what_ran_for_ten_minutes_is_counted_as_such() -> None:
    found = judged(*LASTS, Failing("unknown", None, "the curve of pump"), Failing("lands", flown(300.0)))
    assert found["engine"].outcome is Outcome.PASS
    assert "each of 2 things" in plain(found["engine"].evidence)
    assert found["unknown"].outcome is found["lands"].outcome is Outcome.NOT_CHECKED
    assert plain(found["unknown"].evidence) == "needs the curve of pump"
    assert "the [[flight]] ends after 5.0 min with the engine running" in plain(found["lands"].evidence)


def test_two_things_by_one_cause_are_judged_and_told_as_single_ones_are() -> None:
    ice = Failing("ice: left vent and right vent blocked", flown(270.0, "air"))
    found = Failures(("the flight stated",), flown(9e3), tuple(LASTS), together=(ice,), more=2)
    study = cast("Study", SimpleNamespace(failures=found))
    told = {verdict.where: verdict for verdict in failure_stops_engine_at_once.judge(study)}
    assert told[ice.words].outcome is Outcome.CAUTION
    assert "after 4.5 min with no lamp lit before" in plain(told[ice.words].evidence)
    assert told["pairs"].outcome is Outcome.NOT_CHECKED
    assert "engine" not in told
    dark = Failing("no electric power", flown(1200.0, "air"), dark=True)
    assert judged(dark)[dark.words].outcome is Outcome.CAUTION
    assert dark.words not in judged(dark, soon=False)
    single, both, catches = tables.reviewed(found, Shown())
    assert [len(single.rows), both.cells()[0][:3], len(catches.rows)] == [2, [ice.words, "NO WARNING", "4.5"], 2]
    assert str(both.notes[0]) == "2 more pairs were not flown."


def test_nothing_flown_is_no_pass() -> None:
    assert [one.outcome for one in judged(Failing("unknown", None, "x")).values()] == [Outcome.NOT_CHECKED]
    assert "engine" not in judged(*LASTS, Failing("pump", flown(5.0, "air")))


def test_minutes_are_never_rounded_up() -> None:
    short = Failing("short", flown(1200.0, "air", Warned("main", "low", 602.0, 0.0, 0.0, late_s=602.0)))
    assert "lights 9.9 min before, at the latest 9.9 min" in plain(judged(short, soon=False)["short"].evidence)


def test_what_ice_does_and_what_could_not_be_flown_is_told() -> None:
    one = Failing(
        "vent blocked",
        flown(300.0, "air"),
        tried=("a higher mark",),
        unflown=("a vent line (needs x)",),
        cause="ice over its open end does it",
    )
    found = judged(one)["vent blocked"]
    assert found.outcome is Outcome.CAUTION
    assert "no lamp lit before; ice over its open end does it" in plain(found.evidence)
    assert plain(found.mend).startswith(
        "Flown with a higher mark: none gives ten minutes. Could not be flown: a vent line (needs x). A second way"
    )
    (table,) = tables.changes([one], Shown())
    assert table.rows[0][1] == "none found: flown with a higher mark; not flown: a vent line (needs x)"


@pytest.mark.parametrize("waits", [False, True])
def test_a_lamp_that_may_not_light_has_no_minutes_at_the_latest(waits: bool) -> None:
    one = Failing("x", flown(1200.0, "air", Warned("main", "low", 1100.0, 0.0, 0.0, late_s=None if waits else 1190.0)))
    told = plain(judged(one, soon=False)["x"].evidence)
    assert ("at the latest 0.1 min" in told) is not waits
    assert ("so low that it does not, which counts as no warning" in told) is waits


def test_a_lamp_that_may_not_light_is_marked_as_no_warning() -> None:
    """598 s stand as 9.9 min in the table as in the rule's sentence; what may not light within its tolerance is none."""
    late = Warned("main", "low", 602.0, 0.0, 0.0, late_s=602.0)
    short, silent = (
        Failing(w, flown(1200.0, "air", one)) for w, one in (("s", late), ("n", replace(late, late_s=None)))
    )
    table = tables.failures([short, silent], flown(9e3), 0.0, Shown())
    assert [row[1] for row in table.cells()] == ["SHORT", "NO WARNING"]
    assert table.cells()[0][4:6] == ["9.9", "9.9"]
    assert [severity(short), severity(silent)] == [3, 1]


def test_a_flight_says_what_of_it_and_of_its_lamps_is_not_to_be_counted_on() -> None:
    """10 L burnt evenly in 100 min down to 2 L, 5 L of them unusable elsewhere: the last 3 L, 30 min."""
    lamps = (
        Warned("main", "low", 3000.0, 0.0, 0.0, late_s=3300.0, target_s=600.0),
        Warned("main", "last", 5000.0, 0.0, 0.0),
    )
    made = replace(flown(6000.0, "air", *lamps), held_m3=np.array([[0.012], [0.002]]), parts=(LEVEL,))
    lit, left = tables.flight(made, Shown(), (Attitude("slip", "flight"), 0.005))[1:]
    assert [row[-2:] for row in lit.cells()] == [["50.0", "45.0"], ["16.6", "–"]]
    assert (
        'Early, more than 2 times their target: main "low" 50.0 min before, for a target of 10.0 min.' in lit.notes[1]
    )
    assert "the last 30.0 min burn up to 3.000 L of the unusable fuel of the envelope, 5.000 L at slip" in str(
        left.notes[-1]
    )
    assert isinstance(left.notes[-1], Doubt)
    assert len(tables.flight(made, Shown(), (Attitude("slip", "flight"), 0.002))[2].notes) == 1
    # The placards leave out 8 L: the last 60 min; of 4 L loaded and burnt to 2 no more than 2 can be burnt.
    planned = tables.flight(made, Shown(), (Attitude("slip", "flight"), 0.005), 0.008)[2].notes[-1]
    assert "the last 60.0 min are flown on what the placards leave out of full tanks" in str(planned)
    assert "8.000 L. Plan with the placards." in str(planned)
    assert (
        "placards leave out: not checked"
        in tables.flight(made, Shown(), (Attitude("slip", "flight"), 0.005), None)[2].notes[-1]
    )
    held = replace(made, parts=(replace(LEVEL, attitude=Attitude("slip", "flight", held_s=30.0)),))
    (longer,) = tables.flight(held, Shown(), (Attitude("slip", "flight"), 0.002))[2].notes[1:]
    assert "held 30 s) is flown for 100.0 min" in str(longer)
    little = replace(made, held_m3=np.array([[0.004], [0.002]]))
    (said,) = tables.flight(little, Shown(), (Attitude("slip", "flight"), 0.005))[2].notes[1:]
    assert "burn up to 2.000 L of the unusable fuel of the envelope, 5.000 L at slip" in str(said)
    assert "not checked" in tables.flight(made, Shown(), None)[2].notes[-1]


def test_attitudes_that_are_told_in_time_are_one_pass_and_others_stand_alone() -> None:
    usual = Warned("main", "low", 500.0, 0.0, 0.0, late_s=561.0)
    late = Failing("slip, held throughout", flown(1200.0, "air", usual), held=True)
    runs, blind = (
        Failing("climb, held throughout", flown(900.0), held=True),
        Failing("d", flown(1200.0, "air"), held=True),
    )
    found = judged(late, runs, blind, replace(blind, words="mixed", stated=False), soon=False)
    assert set(found) == {"attitudes", "d", "mixed"}
    told = plain(found["attitudes"].evidence)
    assert (
        "2 flights; a lamp lights at least 10.6 min before the engine stops (slip, held throughout); 1 of them" in told
    )
    assert [found[one].outcome for one in ("d", "mixed")] == [Outcome.FAIL, Outcome.CAUTION]
