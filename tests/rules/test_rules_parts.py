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
from fuelsys.rules.plumbing import components, in_flight, one_opening
from fuelsys.rules.plumbing.exchange import _shorts
from fuelsys.rules.plumbing.failing import _mend
from fuelsys.rules.tanks import low_level
from fuelsys.rules.tanks.bridging import _kept_full
from fuelsys.rules.tanks.dipstick import _goes_in
from fuelsys.rules.tanks.measured import _FLOW_SHARE, _flow
from fuelsys.rules.words import said


@pytest.mark.parametrize(
    ("given", "told"),
    [
        ({}, "No switch lights in time: a second way for fuel or air is needed."),
        ({"tried": ("a higher mark",)}, "Flown with a higher mark: none gives ten minutes. A second way for fuel or air is needed."),
        ({"tried": ("a higher mark", "one more switch"), "pairs": 1},
         "Flown with a higher mark, one more switch, and 1 pair of them: none gives ten minutes. A second way for fuel or air is needed."),
        ({"tried": ("a vent line",), "pairs": 3, "unflown": ("a check valve (needs x)",)},
         "Flown with a vent line, and 3 pairs of them: none gives ten minutes. Could not be flown: a check valve (needs x). A second way"
         " for fuel or air is needed."),
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
    assert (
        plain(_mend(Failing("x", None, change=change)))
        == "A check valve in l, behind left.out: flown so, the engine does not stop."
    )


def turn(promised_s: float, lasts_s: float, stopped: str = "air", until_s: float | None = None) -> Any:
    return SimpleNamespace(
        promised_s=promised_s, until_s=promised_s if until_s is None else until_s,
        lasting=Lasting(0.005, lasts_s, 0.001, stopped), tank="", switch="",
        after=None, total_m3=0.005,
    )  # fmt: skip


def shorts(
    held_s: float | None,
    lamps: tuple[Any, ...] = (),
    reserve: Any = None,
    full: Any = None,
    from_m3: float | None = None,
) -> list[tuple[float, float]]:
    held = None if from_m3 is None else SimpleNamespace(from_m3=from_m3)
    at = SimpleNamespace(
        attitude=Attitude("slip", "flight", held_s=held_s),
        lamps=lamps,
        reserve=reserve,
        full=full,
        held=held,
        own_m3=1e-3,
    )
    study: Any = SimpleNamespace(layout=SimpleNamespace(design=SimpleNamespace(reserve_flow_m3_s=1e-5)))
    group: Any = SimpleNamespace(at=(at,), own_m3=1e-3)
    return [(round(one.short_s, 6), round(one.share, 6)) for one in _shorts(study, group)]


def test_how_much_sooner_the_engine_stops_than_is_promised() -> None:
    assert shorts(None, (turn(600.0, 450.0),)) == [(150.0, 0.75)]
    assert shorts(None, (turn(600.0, 450.0, ""), turn(0.0, 0.0))) == []  # it goes on; nothing is promised
    assert shorts(None, (), turn(1800.0, 900.0)) == [(900.0, 0.5)]
    assert shorts(None, (turn(600.0, 450.0, until_s=690.0),)) == [
        (240.0, round(450.0 / 690.0, 6))
    ]  # with the lamp's delay
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
    barriers = tuple(
        SimpleNamespace(at_m=(0.1, 0.2, 0.3 - 0.1 * k), thick_m=one / 1e3) for k, one in enumerate(thick_mm)
    )
    filler = SimpleNamespace(name="filler", bore_m=0.05)
    return SimpleNamespace(
        name="main",
        dipstick=SimpleNamespace(barriers=barriers, off_filler_m=0.0),
        tank=SimpleNamespace(design=SimpleNamespace(filler=filler)),
    )


def test_what_a_stick_meets_on_its_way_down() -> None:
    told = "it meets a wall, a rib or a body at (100, 200, 300) mm of its mesh, 2.0 mm thick"
    for thick, more in (
        ((2.0,), ""),
        ((2.0, 3.0), ", the first of 2 on its way down"),
        ((2.0, 3.0, 1.0), ", the first of 3 on its way down"),
    ):
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
        ((), True, "about 7.50 L in the tank: 10 min of 6.00 L, the rest unusable; with what runs between joined tanks: see the table of"
         " joined tanks"),
    ],
)  # fmt: skip
def test_ten_minutes_of_fuel(usable: tuple[float | None, ...], runs: bool, told: str) -> None:
    switches = tuple(
        SimpleNamespace(outflow=SimpleNamespace(usable_for_m3=lambda s, v=one: v if s == 600.0 else -1.0))
        for one in usable
    )
    tank: Any = SimpleNamespace(
        capacity=SimpleNamespace(unusable=SimpleNamespace(volume_m3=1.5e-3)),
        switches=switches,
        tank=SimpleNamespace(runs_across=runs),
    )
    study: Any = SimpleNamespace(layout=SimpleNamespace(design=SimpleNamespace(reserve_flow_m3_s=1e-5)))
    assert plain(said(ten_minutes(study, tank))) == told


# --- is a header kept full, in every setting


def fed(
    flow: float,
    needed: float = 1e-5,
    free: float | None = None,
    kind: str = "tank",
    tank: str = "header",
    unstated: bool = False,
) -> Any:
    return SimpleNamespace(
        kind=kind, end=SimpleNamespace(tank=tank), worst=SimpleNamespace(flow_m3_s=flow), needed_m3_s=needed,
        worst_free=SimpleNamespace(flow_m3_s=flow if free is None else free), at=(1,), unstated=("x",) if unstated else (),
    )  # fmt: skip


def kept(
    to: tuple[Any, ...], states: Any = (1,), missing: tuple[str, ...] = (), in_states: tuple[Any, ...] = ()
) -> bool:
    flows = SimpleNamespace(
        to=to,
        states=states,
        missing_in_states=[SimpleNamespace(kind=one) for one in missing],
        in_states=[SimpleNamespace(fed=one) for one in in_states],
    )
    study: Any = SimpleNamespace(flows=flows)
    return _kept_full(study, "header")


def test_a_header_is_kept_full_in_every_setting() -> None:
    enough, little, other = fed(1e-5), fed(0.99e-5), fed(0.0, tank="tip")
    assert kept((enough, other, fed(0.0, kind="gravity")))
    assert not kept(())
    assert not kept((other,))
    assert not kept((little,))
    assert not kept((fed(1e-5, free=0.9e-5),))
    assert not kept((fed(1e-5, unstated=True),))
    # In one setting alone what is told of settings is that; of several each must do, and all must be known.
    two = (1, 2)
    assert kept((enough,), (1,), ("tank",), (little,))
    assert not kept((enough,), two, ("tank",))
    assert not kept((enough,), two, ("",))
    assert kept((enough,), two, ("gravity",), (enough, other))
    assert not kept((enough,), None, ("tank",))
    assert not kept((enough,), two, (), (little,))
    empty = fed(1e-5)
    empty.at = ()
    assert not kept((enough,), two, (), (empty,))
    assert not kept((enough,), two, (), (fed(1e-5, unstated=True),))


# --- a flow test is held against what comes to that engine


def flows_to(*ends: tuple[str, str, float, float]) -> Any:
    to = [
        SimpleNamespace(end=end, kind=kind, worst=SimpleNamespace(flow_m3_s=flow), needed_m3_s=needed)
        for end, kind, flow, needed in ends
    ]
    return SimpleNamespace(flows=SimpleNamespace(to=to))


@pytest.mark.parametrize(
    ("measured", "outcome"),
    [(2.9e-5, Outcome.FAIL), (3.1e-5, Outcome.CAUTION), (3.19e-5, Outcome.CAUTION), (3.21e-5, Outcome.PASS)],
)
def test_a_flow_test_is_held_against_the_worst_way_to_its_engine(measured: float, outcome: Outcome) -> None:
    # 4e-5 m3/s come at the worst, a fifth less is accepted; 3e-5 are to be shown. What comes to a tank or another engine is not its.
    assert _FLOW_SHARE == 0.2
    study = flows_to(
        ("engine", "gravity", 4e-5, 2e-5),
        ("engine", "pumped", 5e-5, 3e-5),
        ("engine", "suction", 1e-5, 9e-5),
        ("other", "gravity", 1e-5, 9e-5),
    )
    engine: Any = SimpleNamespace(name="engine")
    assert _flow(study, engine, measured).outcome is outcome
    alone = flows_to(("engine", "suction", 1e-5, 9e-5), ("other", "gravity", 1e-5, 9e-5))
    assert _flow(alone, engine, measured).outcome is Outcome.NOT_CHECKED


# --- whose fuel comes to an engine


def test_in_place_of_a_tank_that_others_keep_full_these_are_drawn_from(monkeypatch: pytest.MonkeyPatch) -> None:
    feeds = {"header": ("left", "right"), "right": ("tip", "left"), "left": (), "tip": (), "ring": ("ring",)}
    monkeypatch.setattr(one_opening, "header_like", lambda study, name: bool(feeds[name]))
    monkeypatch.setattr(one_opening, "feeders", lambda study, name: feeds[name])
    monkeypatch.setattr(one_opening, "end_at", lambda engine: "engine")

    def drawn(*starts: str, end: str = "engine") -> set[str]:
        study: Any = None
        ways: Any = [SimpleNamespace(start=SimpleNamespace(tank=name), end=end) for name in starts]
        return one_opening._drawn_from(study, study, ways)

    assert drawn("header") == {"left", "tip"}
    assert drawn("left", "tip") == {"left", "tip"}
    assert drawn("header", end="other") == set()
    assert drawn("ring") == {"ring"}  # nothing else is known to fill it


# --- bowls


@pytest.mark.parametrize(
    ("held", "unsaid", "least", "bare", "outcome"),
    [
        # 0.1 % of 50 L, 50 mL, or what the rule asks for: a small one fails though another path's are not stated.
        ((1e-6,), False, 1e-6, False, Outcome.FAIL), ((1e-6,), True, 1e-6, False, Outcome.FAIL), ((1.0,), False, 1.0, False, Outcome.PASS),
        ((1.0,), True, 1.0, False, Outcome.NOT_CHECKED), ((1.0,), True, None, False, Outcome.NOT_CHECKED),
        ((1.0,), False, 1.0, True, Outcome.NOT_CHECKED), ((), True, None, False, Outcome.NOT_CHECKED),
    ],
)  # fmt: skip
def test_the_least_of_what_filters_hold(
    held: tuple[float, ...],
    unsaid: bool,
    least: float | None,
    bare: bool,
    outcome: Outcome,
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    filters = [SimpleNamespace(name=f"f{k}", sediment_m3=one) for k, one in enumerate(held)] + (
        [SimpleNamespace(name="g", sediment_m3=None)] if unsaid else []
    )
    monkeypatch.setattr(components, "on_way", lambda *_: filters)
    monkeypatch.setattr(components, "past", lambda *_: bare)
    monkeypatch.setattr(components, "end_at", lambda part: part.name)
    monkeypatch.setattr(components, "upstream", lambda *_: ["main"])
    study: Any = SimpleNamespace(
        layout=SimpleNamespace(tank=lambda name: SimpleNamespace(cavity=SimpleNamespace(gross_m3=0.05)))
    )
    asked: list[set[str]] = []
    way: Any = SimpleNamespace(
        name="main to engine",
        start=SimpleNamespace(tank="main"),
        way=SimpleNamespace(least=lambda cost, avoid: asked.append(avoid) or least),
    )
    found = components._bowls(study, way)
    assert found.outcome is outcome
    assert asked == [{"g"} if unsaid else set()]
    if outcome is Outcome.NOT_CHECKED:
        assert f"the sediment volume of {'g' if unsaid else 'a filter'}" in plain(found.evidence)


@pytest.mark.parametrize(
    ("spread_s", "outcome"),
    [(1199.0, Outcome.PASS), (1200.0, Outcome.PASS), (1201.0, Outcome.CAUTION), (3000.0, Outcome.CAUTION)],
)
def test_a_lamp_comes_with_one_to_three_times_what_it_promises(
    spread_s: float, outcome: Outcome, monkeypatch: pytest.MonkeyPatch
) -> None:
    # Of a target of ten minutes: twenty more from the latest to the soonest are what may be.
    at = SimpleNamespace(attitude=Attitude("cruise", "flight"))
    found = SimpleNamespace(never=(), steady_m=None)
    monkeypatch.setattr(
        low_level, "switches", lambda study: [("main low", None, SimpleNamespace(target_s=600.0), found)]
    )
    monkeypatch.setattr(low_level, "_level_trips", lambda one: [(0.005, at), (0.01, at)])
    monkeypatch.setattr(low_level, "_spread_s", lambda one: spread_s)
    study: Any = None
    (verdict,) = low_level.warning_spread_wide.judge(study)
    assert verdict.outcome is outcome


def test_a_vent_without_a_line_is_told_of_joined_tanks_alone(monkeypatch: pytest.MonkeyPatch) -> None:
    joined = SimpleNamespace(tanks=("left", "right"))
    ends = {name: SimpleNamespace(tank=name) for name in ("left", "tail")}
    monkeypatch.setattr(
        in_flight, "unled", lambda study, kind: [(end, f"{kind} of {name}") for name, end in ends.items()]
    )
    monkeypatch.setattr(in_flight, "loose", lambda study, kinds: iter(()))
    monkeypatch.setattr(in_flight, "_unfilled", lambda study, group: "left")
    monkeypatch.setattr(in_flight, "needs", lambda where, what: f"{where} needs {what}")
    study: Any = SimpleNamespace(in_flight=SimpleNamespace(together=[SimpleNamespace(joined=joined, vents=())]))
    told: list[Any] = list(in_flight.full_tanks_overflow.judge(study))
    assert told == ["left, right needs a filler of left: how full they can be is not stated", "vent of left"]
