"""Parts of rules by hand: what a failure's change is worth, how short the engine falls, what is in a stick's way, ten minutes of fuel."""

from __future__ import annotations

from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest
from rule_cases import plain

from fuelsys.model.found.exchange import Lasting
from fuelsys.model.found.findings import Outcome
from fuelsys.model.found.fly import Change, Failing, Flown
from fuelsys.model.stated.attitude import Attitude
from fuelsys.rules.coverage.figures_tank import ten_minutes
from fuelsys.rules.plumbing.exchange import _shorts
from fuelsys.rules.plumbing.failing import _mend
from fuelsys.rules.tanks.dipstick import _goes_in
from fuelsys.rules.words import said


@pytest.mark.parametrize(
    ("given", "told"),
    [
        ({}, "No switch lights in time: a second way for fuel or air is needed."),
        ({"tried": ("a higher mark",)}, "Flown with a higher mark: none gives ten minutes. A second way for fuel or air is needed."),
        ({"tried": ("a higher mark", "one more switch"), "pairs": 1},
         "Flown with a higher mark, one more switch, and 1 pair of them: none gives ten minutes. A second way for fuel or air is needed."),
        ({"tried": ("a vent line",), "pairs": 3, "unflown": ("a check valve (needs x)",)},
         "Flown with a vent line, and 3 pairs of them: none gives ten minutes. Could not be flown: a check valve (needs x). A second way for"
         " fuel or air is needed."),
        ({"unflown": ("a check valve (needs x)", "a second pump (needs y)")},
         "Could not be flown: a check valve (needs x); a second pump (needs y). A second way for fuel or air is needed."),
    ],
)  # fmt: skip
def test_what_was_flown_and_is_worth_nothing(given: dict[str, Any], told: str) -> None:
    assert plain(_mend(Failing("x", None, **given))) == told


def test_what_a_change_is_worth() -> None:
    none = np.zeros(2)
    goes_on = Flown(("main",), np.array([0.0, 7200.0]), np.zeros((2, 1)), none, none, (), (), "")
    change = Change(("a check valve in l, behind left.out",), Failing("x", goes_on))
    assert plain(_mend(Failing("x", None, change=change))) == "A check valve in l, behind left.out: flown so, the engine does not stop."


def turn(promised_s: float, lasts_s: float, stopped: str = "air", until_s: float | None = None) -> Any:
    return SimpleNamespace(
        promised_s=promised_s, until_s=promised_s if until_s is None else until_s, lasting=Lasting(0.005, lasts_s, 0.001, stopped), tank="", switch="",
        after=None, total_m3=0.005,
    )  # fmt: skip


def shorts(held_s: float | None, lamps: tuple[Any, ...] = (), reserve: Any = None, full: Any = None, from_m3: float | None = None) -> list[tuple[float, float]]:
    held = None if from_m3 is None else SimpleNamespace(from_m3=from_m3)
    at = SimpleNamespace(attitude=Attitude("slip", "flight", held_s=held_s), lamps=lamps, reserve=reserve, full=full, held=held, own_m3=1e-3)
    study: Any = SimpleNamespace(layout=SimpleNamespace(design=SimpleNamespace(reserve_flow_m3_s=1e-5)))
    group: Any = SimpleNamespace(at=(at,), own_m3=1e-3)
    return [(round(one.short_s, 6), round(one.share, 6)) for one in _shorts(study, group)]


def test_how_much_sooner_the_engine_stops_than_is_promised() -> None:
    assert shorts(None, (turn(600.0, 450.0),)) == [(150.0, 0.75)]
    assert shorts(None, (turn(600.0, 450.0, ""), turn(0.0, 0.0))) == []  # it goes on; nothing is promised
    assert shorts(None, (), turn(1800.0, 900.0)) == [(900.0, 0.5)]
    assert shorts(None, (turn(600.0, 450.0, until_s=690.0),)) == [(240.0, round(450.0 / 690.0, 6))]  # with the lamp's delay
    # From full tanks half an hour is looked at.
    assert shorts(None, (), None, Lasting(0.05, 1350.0, 0.01, "air")) == [(450.0, 0.75)]
    assert shorts(None, (), None, Lasting(0.05, 1350.0, 0.01, "")) == []
    # Held for a minute of which it lasts 45 s: it must come so much earlier as 1 L more lasts at 10 mL/s, or all that is promised.
    assert shorts(60.0, (turn(600.0, 45.0),), from_m3=0.006) == [(100.0, 0.75)]
    assert shorts(60.0, (turn(80.0, 45.0),), from_m3=0.006) == [(80.0, 0.75)]
    assert shorts(60.0, (turn(600.0, 45.0),)) == [(600.0, 0.75)]
    assert shorts(60.0, (turn(600.0, 60.0),)) == []


def stick(*thick_mm: float) -> Any:
    """A tank whose stick meets so much of wall on its way."""
    barriers = tuple(SimpleNamespace(at_m=(0.1, 0.2, 0.3 - 0.1 * k), thick_m=one / 1e3) for k, one in enumerate(thick_mm))
    filler = SimpleNamespace(name="filler", bore_m=0.05)
    return SimpleNamespace(name="main", dipstick=SimpleNamespace(barriers=barriers, off_filler_m=0.0), tank=SimpleNamespace(design=SimpleNamespace(filler=filler)))


def test_what_a_stick_meets_on_its_way_down() -> None:
    told = "it meets a wall, a rib or a body at (100, 200, 300) mm of its mesh, 2.0 mm thick"
    for thick, more in (((2.0,), ""), ((2.0, 3.0), ", the first of 2 on its way down"), ((2.0, 3.0, 1.0), ", the first of 3 on its way down")):
        found = _goes_in(stick(*thick))
        assert found.outcome is Outcome.FAIL
        assert plain(found.evidence) == told + more
    assert _goes_in(stick()).outcome is Outcome.PASS


@pytest.mark.parametrize(
    ("usable", "runs", "told"),
    [
        # 600 s of 10 mL/s are 6 L, on top of 1.5 L unusable; where more must be there for what is returned elsewhere, that.
        ((), False, "about 7.50 L in the tank: 10 min of 6.00 L, the rest unusable"),
        ((8e-3, 5e-3), False, "about 9.50 L in the tank: 10 min of 8.00 L, the rest unusable"),
        ((5e-3,), False, "about 7.50 L in the tank: 10 min of 6.00 L, the rest unusable"),
        ((None, 8e-3), False, "about 9.50 L in the tank: 10 min of 8.00 L, the rest unusable; what comes back elsewhere is not stated"),
        ((), True, "about 7.50 L in the tank: 10 min of 6.00 L, the rest unusable; with what runs between joined tanks: see the table of joined tanks"),
    ],
)  # fmt: skip
def test_ten_minutes_of_fuel(usable: tuple[float | None, ...], runs: bool, told: str) -> None:
    switches = tuple(SimpleNamespace(outflow=SimpleNamespace(usable_for_m3=lambda s, v=one: v if s == 600.0 else -1.0)) for one in usable)
    tank: Any = SimpleNamespace(capacity=SimpleNamespace(unusable=SimpleNamespace(volume_m3=1.5e-3)), switches=switches, tank=SimpleNamespace(runs_across=runs))
    study: Any = SimpleNamespace(layout=SimpleNamespace(design=SimpleNamespace(reserve_flow_m3_s=1e-5)))
    assert plain(said(ten_minutes(study, tank))) == told
