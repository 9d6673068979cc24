"""What a change is told to be worth: the told mark, written into the design and flown again, gives the told minutes."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import Any

import designs
import numpy as np
import pytest
from flights import PUMP, box, built, engine, line, switch
from numpy.testing import assert_allclose
from plumbing_changes import VENT_VALVE

from fuelsys.analysis.flights import changes, failures, piped
from fuelsys.analysis.flights.cases import Case, cases
from fuelsys.analysis.flights.events import COARSE
from fuelsys.analysis.flights.fly import fly
from fuelsys.analysis.flights.setting import Upset, World
from fuelsys.analysis.lines.demand import with_demand
from fuelsys.errors import QuestionError
from fuelsys.model.found.fly import Failing, Flown
from fuelsys.model.words import Doubt, Quantity

SHORT = {
    "attitude": [designs.ATTITUDES[0], designs.ATTITUDES[2]],
    "flight": [{"name": "f", "attitude": "cruise", "flow": "cruise", "loaded": {"main": "8 L"}}],
}
# Set in 0.60 kg/L, 12 g on 7.07 cm2 lie 28.3 mm deep, in 0.72 kg/L 23.6 mm: it trips 4.7 mm below its mark; in 0.75 kg/L 0.9 mm lower.
FLOATS = {
    "tank.1.switch.0.float": {"mass": "12 g", "height": "40 mm", "diameter": "30 mm"},
    "tank.1.switch.0.set_in": "0.60 kg/L",
    "tank.1.switch.0.delay": "90 s",
    "fuel.density_range": ["0.70 kg/L", "0.75 kg/L"],
}
NO_MAIN = Case(Upset("main does not feed", dry=frozenset(["main"])), shuts=True)


def world_of(folder: Path, changed: Mapping[str, Any]) -> World:
    return World.of(with_demand(designs.layout_of(folder, changed)))


def failing(world: World) -> Failing:
    return Failing("", fly(world, NO_MAIN.upset, 0.0, COARSE))


@pytest.mark.parametrize("unstated", [False, True])
def test_the_told_mark_gives_the_told_minutes(unstated: bool, tmp_path: Path) -> None:
    # At 184.2 mm it would be in time (see the rule's cases); the float asks 4.7 + 0.9 mm more, 90 s of 38 L/h and 32 cm2 29.7 mm.
    design = SHORT | FLOATS | ({"tank.1.switch.0.tolerance": designs.REMOVE} if unstated else {})
    world = world_of(tmp_path, design)
    now = failing(world)
    assert now.flown
    change, *_ = changes.cheapest(world, NO_MAIN, now.flown, 0.0, now.flown)
    assert change
    place = next(part for part in change.words if isinstance(part, Quantity) and len(part.values_si) == 3)
    assert_allclose(place.values_si[2], (184.2 + 4.7 + 0.9 + 29.7) * 1e-3, atol=3e-4)
    mark = [f"{c!r} m" for c in place.values_si]
    then = failing(world_of(tmp_path, design | {"tank.1.switch.0.mark": mark}))
    assert_allclose(then.least_s, change.proof.least_s, atol=1e-3)
    assert not then.marked


def test_a_mark_without_a_tolerance_counts_as_a_new_one_and_says_so(tmp_path: Path) -> None:
    bare = failing(world_of(tmp_path, SHORT | {"tank.1.switch.0.tolerance": designs.REMOVE}))
    assert_allclose(bare.least_s, failing(world_of(tmp_path, SHORT)).least_s, atol=1e-6)  # which states 3 mm
    assert bare.flown
    assert (
        Doubt("no tolerance is stated of header switch 20 min: at the latest counts with marks 3 mm low.")
        in bare.flown.notes
    )


def test_a_low_mark_whose_lamp_would_wait_beyond_the_end_has_no_latest(tmp_path: Path) -> None:
    # 30 L/h from 0.2 m2: 1 mm lasts 24 s. The mark is passed 100 s before the end, 1 mm lower 76 s before; its lamp waits 90 s.
    low = switch("low", (200, 250, 10.0 + 100.0 / 24.0)) | {"tolerance": "1 mm", "delay": "90 s"}
    tank = box("main", (0, 0, 1000), (400, 500, 200), {"outlet out": (200, 250, 10)}, switch=[low])
    lines = [line("a", "main.out", "pump"), line("b", "pump", "engine")]
    found = Failing("", fly(World.of(built(tmp_path, [tank], [engine((0, 0, 0)), PUMP], lines))))
    assert found.before_s == pytest.approx(10.0, abs=1e-3)
    assert found.least_s is None


def test_what_cannot_be_flown_is_told_apart_and_the_design_as_it_is_not_flown_again(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    world, seen = world_of(tmp_path, SHORT), list[World]()
    usual = fly(world, pace=COARSE)

    def refuses(changed: World, *_given: object, **_more: object) -> Flown:
        seen.append(changed)
        raise world.missing("a thing")

    monkeypatch.setattr(changes, "fly", refuses)
    now = failing(world)
    assert now.flown
    found = changes.cheapest(world, NO_MAIN, now.flown, 0.0, usual)
    told = tuple(f"{kind} (needs a thing. State it)" for kind in ("a higher mark", "one more switch"))
    assert found == (None, (), told, 0)
    pump = Case(Upset("", stopped=frozenset(["engine pump"])), dark=True)
    seen.clear()
    runs = Flown(usual.tanks, usual.times_s, usual.held_m3, usual.burnt_m3, usual.overboard_m3, (), (), "")
    monkeypatch.setattr(
        changes, "fly", lambda changed, *_, **__: seen.append(changed) or (usual if len(seen) > 1 else runs)
    )
    change, *_ = changes.cheapest(world, pump, now.flown, 0.0, usual)
    assert change
    assert len(seen) == 2  # the changed design with the pump at a stand, and with nothing wrong
    assert world not in seen


def test_what_a_flight_needs_is_kept_with_its_mend(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    world = world_of(tmp_path, SHORT)
    assert world.missing("one engine").needs == "one engine"

    def refuses(*_given: object) -> Flown:
        raise QuestionError("the flow changes", mend="State it in parts.")

    monkeypatch.setattr(failures, "fly", refuses)
    wanted = "this put right: the flow changes. State it in parts"
    assert failures.all_failures(world.layout).needs == wanted
    some = failures.failures(world, Flown((), *[world.layout.tanks[0].origin_m] * 4, (), (), ""), 1.0)
    assert {one.needs for one in some} == {wanted}


def test_a_vent_selector_counts_as_joined_and_says_so(tmp_path: Path) -> None:
    valve, selector = (
        world_of(tmp_path, VENT_VALVE | more)
        for more in ({}, {"component.6.kind": "selector", "line.1.to": "vent valve"})
    )
    told = "vent valve joins two of its vent lines; this flight counts all as joined; each setting is flown with --failures."
    assert Doubt(told) in selector.doubts()
    assert not any("joined" in note for note in valve.doubts())


def test_a_second_pump_is_said_to_be_driven_as_far_as_is_known(tmp_path: Path) -> None:
    driven = {}
    for name, changed in {"engine": {}, "": {"component.4.driven": designs.REMOVE}}.items():
        ((words, _),) = piped.pumps(designs.layout_of(tmp_path, changed), ["engine pump"])
        driven[name] = str(words[0])
    assert "driven by electric power," in driven["engine"]
    assert "driven by something else than the first," in driven[""]


def test_ice_closes_a_vent_line_that_ends_in_the_open(tmp_path: Path) -> None:
    told = {case.upset.words: case.cause for case in cases(world_of(tmp_path, {}))}
    assert told["vent blocked"] == "ice over its open end does it"
    assert set(told.values()) == {"", told["vent blocked"]}


def test_a_check_valve_goes_behind_the_outlets_of_what_gained_fuel_alone(tmp_path: Path) -> None:
    times_s, none = np.array([0.0, 60.0]), np.zeros(2)
    held_m3 = np.array([[10e-3, 1e-3], [9e-3, 2e-3]])  # the header gains a litre
    gained = Flown(("main", "header"), times_s, held_m3, none, none, (), (), "")
    found = [words for words, _ in piped.check_valves(designs.layout_of(tmp_path, {}), gained, 0.0)]
    assert found == [("a check valve in header feed, behind header.outlet",)]
