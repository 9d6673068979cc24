"""Rows of attitudes, and how long joined tanks last, on a pair that moves by a rule that is worked in the head."""

from __future__ import annotations

from collections.abc import Mapping
from math import inf
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import pytest
from test_flight_cases import rich

from fuelsys.analysis.flights import lasting
from fuelsys.analysis.flights.exchange import _Group, _least_s
from fuelsys.analysis.flights.lasting import Joint
from fuelsys.analysis.flights.rows import _as_much, after_a_row, starts
from fuelsys.errors import QuestionError
from fuelsys.model.built.ends import ComponentEnd
from fuelsys.model.found.exchange import Lasting, TogetherAt
from fuelsys.model.stated.attitude import Attitude

LEVEL = Attitude("level", "flight", normal=True)
CLIMB = Attitude("climb", "flight", pitch_rad=0.1)
SLIP, TURN = Attitude("slip", "flight", held_s=60.0), Attitude("turn", "flight", held_s=30.0)
FLOW = 1e-5  # 10 mL/s


class Pair:
    """Tanks of 10 L each: fed stands before the engine. At one level fed has a share of the total; a held attitude moves some."""

    def __init__(
        self,
        names: tuple[str, ...] = ("fed", "far"),
        fed: tuple[str, ...] = ("fed",),
        brief: tuple[Attitude, ...] = (SLIP, TURN),
    ) -> None:
        self.most_m3 = dict.fromkeys(names, 0.010)
        self.before = [SimpleNamespace(name=name) for name in fed]
        self.brief, self.sustained = list(brief), [LEVEL, CLIMB]
        self.shares = {"level": 0.5, "climb": 0.25}
        self.moves: dict[str, float] = {"slip": 0.001, "turn": 0.0005}  # out of fed into far
        self.outlasts = False
        self.asked: list[tuple[float, int]] = []
        self.flown: list[str] = []

    def levelled(self, attitude: Attitude) -> Any:
        first, *others = self.most_m3

        def together(total_m3: float, most_m3: Mapping[str, float]) -> dict[str, float]:
            own = min(self.shares[attitude.name] * total_m3, most_m3[first])
            return {first: own} | {name: (total_m3 - own) / len(others) for name in others}

        return SimpleNamespace(together=together)

    @property
    def normal(self) -> Any:
        return self.levelled(LEVEL)

    def burnt_m3(self, attitudes: Any) -> float:
        return FLOW * sum(one.held_s or 0.0 for one in attitudes)

    def left_after(self, attitude: Attitude, held: Mapping[str, float]) -> dict[str, float]:
        self.flown.append(attitude.name)
        first, second, *_ = held
        runs = min(self.moves[attitude.name], held[first] - FLOW * (attitude.held_s or 0.0))
        return {**held, first: held[first] - runs - FLOW * (attitude.held_s or 0.0), second: held[second] + runs}

    def outlasts_any(self, attitude: Attitude, begins: Any, row_s: float) -> bool:
        self.asked.append((row_s, len(begins)))
        return self.outlasts


def pair(**given: Any) -> Any:
    return Pair(**given)


def sums(found: list[dict[str, float]]) -> list[dict[str, float]]:
    return [{name: round(value * 1e3, 6) for name, value in one.items()} for one in found]


def test_of_two_tanks_the_worst_start_alone_counts() -> None:
    assert sums(starts(pair(), 0.008)) == [{"fed": 2.0, "far": 6.0}]  # the climb's
    assert sums(starts(pair(fed=("fed", "far")), 0.008)) == [{"fed": 4.0, "far": 4.0}, {"fed": 2.0, "far": 6.0}]
    three = pair(names=("fed", "far", "third"))
    assert sums(starts(three, 0.008)) == [
        {"fed": 4.0, "far": 2.0, "third": 2.0},
        {"fed": 2.0, "far": 3.0, "third": 3.0},
    ]
    three.shares["climb"] = 0.5
    assert len(starts(three, 0.008)) == 1  # the same twice is flown once


def test_where_there_is_no_row() -> None:
    begins = [{"fed": 0.004, "far": 0.004}]
    assert after_a_row(pair(brief=(SLIP,)), SLIP, begins, 0.008) is None  # no other attitude
    assert after_a_row(pair(), CLIMB, begins, 0.008) is None  # held for ever
    assert after_a_row(pair(fed=()), SLIP, begins, 0.008) is None  # none before the engine, or all
    assert after_a_row(pair(fed=("fed", "far")), SLIP, begins, 0.008) is None
    sure = pair()
    sure.outlasts = True
    assert after_a_row(sure, SLIP, begins, 0.008) is None
    assert sure.asked == [(7 * 90.0, 1)]  # six rounds and one of both
    assert not sure.flown


def test_a_row_that_leaves_more_is_none() -> None:
    # Whatever the turns do, fed is left no less than the start: nothing is told.
    better = pair()
    better.moves = {"slip": -0.001, "turn": -0.001}
    assert after_a_row(better, SLIP, starts(better, 0.008), 0.008) is None


def test_the_worst_row_is_found() -> None:
    """Fed has 2 of 8 L out of the climb; each turn moves 1 and 0.5 L out of it, and what is burnt is added before, level."""
    joint = pair()
    begins = starts(joint, 0.008)
    found = after_a_row(joint, SLIP, begins, 0.008)
    assert found is not None
    assert sum(found.values()) == pytest.approx(0.008)
    assert found["fed"] < begins[0]["fed"]
    # The turn alone leaves less than the start: rounds go on from it, six at most after the first.
    assert joint.flown[0] == "turn"
    assert joint.flown[1:3] == ["slip", "turn"]
    assert joint.flown.count("turn") <= 7


def test_rounds_end_where_one_leaves_no_less() -> None:
    joint = pair()
    joint.moves = {"slip": 0.0, "turn": 0.0005}  # a round moves half a litre until fed is all but dry
    found = after_a_row(joint, SLIP, starts(joint, 0.008), 0.008)
    assert found is not None
    assert len(joint.flown) >= 3
    # Where the turn alone moves fuel into fed, rounds without it are flown as well, and the first that helps nothing ends them.
    back = pair()
    back.moves = {"slip": 0.001, "turn": -0.002}
    after_a_row(back, SLIP, starts(back, 0.008), 0.008)
    assert back.flown == ["turn", "slip", "turn"]


def test_of_three_tanks_both_kinds_of_rows_are_flown_from_each_start() -> None:
    joint = pair(names=("fed", "far", "third"))
    joint.moves = {"slip": 0.0, "turn": 0.0}
    after_a_row(joint, SLIP, starts(joint, 0.008), 0.008)
    # From each of two starts: the turn, then rounds until one leaves no less; and rounds alone.
    assert joint.flown.count("turn") >= 4
    assert joint.flown[:3] == ["turn", "slip", "turn"]


@pytest.mark.parametrize(
    ("held", "total", "wanted"),
    [
        ({"fed": 2.0, "far": 6.0}, 6.0, {"fed": 1.0, "far": 5.0}),  # 2 less than level before and after
        ({"fed": 2.0, "far": 6.0}, 8.0, {"fed": 2.0, "far": 6.0}),
        ({"fed": 0.5, "far": 7.5}, 4.0, {"fed": 0.0, "far": 4.0}),  # none below nothing: what is too much is taken off
        ({"fed": 6.0, "far": 2.0}, 16.0, {"fed": 10.0, "far": 6.0}),
    ],
)
def test_as_much_as_before_of_another_total(held: dict[str, float], total: float, wanted: dict[str, float]) -> None:
    found = _as_much(pair(), {name: value / 1e3 for name, value in held.items()}, total / 1e3)
    assert {name: value * 1e3 for name, value in found.items()} == pytest.approx(wanted)
    assert sum(found.values()) == pytest.approx(total / 1e3)
    assert all(0.0 <= value <= 0.01 + 1e-12 for value in found.values())


# --- what is unusable for a time


class Lasts:
    """A group's joint of which it is known from which total on it outlasts an attitude: whatever it is turned into out of."""

    def __init__(self, from_m3: float, rows_from_m3: float | None = None, full_m3: float = 0.020) -> None:
        self.from_m3, self.rows_from_m3, self.flow_m3_s = from_m3, rows_from_m3 or from_m3, FLOW
        self.most_m3 = {"fed": full_m3 / 2.0, "far": full_m3 / 2.0}
        self.greatest = "takeoff"
        self.layout: Any = SimpleNamespace(design=SimpleNamespace(flows_m3_s={"takeoff": FLOW, "cruise": FLOW / 2.0}))
        self.tanks: list[Any] = []

    def burnt_m3(self, attitudes: Any) -> float:
        return FLOW * sum(one.held_s or 0.0 for one in attitudes)


def group(from_m3: float, rows_from_m3: float | None = None, own_m3: float = 0.002, **given: Any) -> Any:
    """A group whose turns stop below a total, with rows below another one."""
    joint: Any = Lasts(from_m3, rows_from_m3, **given)
    found = _Group(joint)

    def lasting_at(limit_m3: float, total_m3: float) -> Lasting:
        short = total_m3 < limit_m3
        return Lasting(total_m3, 30.0 if short else 60.0, total_m3 - 0.0006, "air" if short else "")

    own = SimpleNamespace(held=SimpleNamespace(from_m3=own_m3), unusable_m3=own_m3)
    joint.tanks, joint.own = [SimpleNamespace(), SimpleNamespace()], lambda tank, attitude: own
    found.__dict__["_turned"] = lambda attitude, total_m3: lasting_at(joint.rows_from_m3, total_m3)
    found.__dict__["_worst"] = lambda attitude, begins: lasting_at(joint.from_m3, begins)
    return found


@pytest.fixture
def no_starts(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("fuelsys.analysis.flights.exchange.starts", lambda joint, total_m3: total_m3)


AT = TogetherAt(SLIP, 0.0010, 0.0015, 0.0012)


@pytest.mark.parametrize("from_m3", [0.0017, 0.003, 0.0039, 0.006, 0.0199])
def test_the_least_that_outlasts_is_found_on_the_safe_side(from_m3: float, no_starts: None) -> None:
    # Within half a percent of where it was sought, or a tenth of a litre; and what it leaves is no less than was seen to be left.
    held = group(from_m3).held(SLIP, AT)
    assert held.lasting_s == 60.0
    assert held.drawn_m3_s == FLOW
    assert from_m3 <= held.from_m3 <= from_m3 + max(1e-4, 0.005 * 0.020)
    assert held.unusable_m3 >= from_m3 - 0.0006 - 1e-4


def test_where_what_is_kept_and_burnt_is_enough_nothing_is_sought(no_starts: None) -> None:
    held = group(0.0016).held(SLIP, AT)  # 1 L kept and 0.6 L burnt
    assert (held.from_m3, held.unusable_m3) == (pytest.approx(0.0016), pytest.approx(0.0010))


@pytest.mark.parametrize("rows_from_m3", [0.0035, 0.008, 0.0195])
def test_a_row_may_ask_for_more(rows_from_m3: float, no_starts: None) -> None:
    held = group(0.003, rows_from_m3).held(SLIP, AT)
    assert rows_from_m3 <= held.from_m3 <= rows_from_m3 + max(1e-4, 0.005 * min(0.020, 1.5 * rows_from_m3)) + 1e-9


@pytest.mark.parametrize(("from_m3", "rows_from_m3"), [(0.021, None), (0.003, 0.021)])
def test_full_tanks_that_do_not_outlast_it(from_m3: float, rows_from_m3: float | None, no_starts: None) -> None:
    held = group(from_m3, rows_from_m3).held(SLIP, AT)
    assert held.from_m3 is None
    assert held.unusable_m3 == pytest.approx(0.020 - 0.0006)  # what full tanks leave, the most of what is known


def test_what_is_promised_is_gone_before_an_attitude_is_turned_into() -> None:
    """Ten minutes at 10 mL/s are 6 L, less what the attitude burns itself: 0.6 L in a minute; none is left of less."""
    asked: list[float] = []
    found = group(0.001)
    found.__dict__["_turned"] = lambda attitude, total_m3: asked.append(total_m3)
    for litres, wanted in ((8.0, 2.6), (5.4, 0.0), (4.0, 0.0)):
        found.after(SLIP, {"fed": litres / 2e3, "far": litres / 2e3}, 600.0)
        assert asked.pop() == pytest.approx(wanted / 1e3, abs=1e-12)
    found.after(SLIP, {"fed": 0.004, "far": 0.004}, 30.0)
    assert asked.pop() == pytest.approx(0.008)  # what is promised is less than the attitude lasts
    looked: list[tuple[float, float]] = []
    found.joint.lasts = lambda attitude, held, seconds, enough_s: looked.append((seconds, enough_s))
    found.after(CLIMB, {"fed": 0.004, "far": 0.004}, 600.0)
    found.after(CLIMB, {"fed": 0.004, "far": 0.004}, 3600.0)
    assert looked == [(1800.0, 600.0), (3600.0, 3600.0)]


def test_the_worst_state_of_a_lamp_is_told() -> None:
    def switch(least: float | None, alone: float | None) -> Any:
        return SimpleNamespace(least_minutes=lambda _: least, alone_minutes=lambda _: alone)

    assert _least_s(switch(10.0, 8.0), 0.01) == 480.0
    assert _least_s(switch(7.0, 8.0), 0.01) == 420.0
    assert _least_s(switch(None, 8.0), 0.01) == 480.0


# --- bounds


def bounded(kept: dict[str, float], stays: float, *, returns: float = 0.0, back_in: bool = True, runs: bool = True, takes: bool = True,
            draw: Any = True, before: tuple[str, ...] = ("fed",)) -> Any:  # fmt: skip
    """A joint that keeps so much at an attitude, of which each keeps 1 L for itself."""
    names = tuple(kept)
    drawn = SimpleNamespace(needs="" if draw is True else "a curve", returned_m3_s=returns) if draw else None
    studies = [SimpleNamespace(name=name, tank=SimpleNamespace(draw=drawn)) for name in names]
    levelled = SimpleNamespace(
        kept_m3=lambda held: kept, runs_into=lambda one, two: runs, takes_none=lambda one, two: takes,
        stays_m3=lambda held: stays, left_m3=lambda left: sum(left.values()),
    )  # fmt: skip
    network = SimpleNamespace(return_tanks=lambda engine: frozenset(["fed" if back_in else "other"]))
    return SimpleNamespace(
        before=[one for one in studies if one.name in before], tanks=studies, levelled=lambda attitude: levelled,
        own=lambda one, attitude: SimpleNamespace(sustained_m3=0.001), layout=SimpleNamespace(network=network),
        world=SimpleNamespace(engine="e"),
    )  # fmt: skip


HELD = {"fed": 0.004, "far": 0.006}


@pytest.mark.parametrize(
    ("given", "wanted_s"),
    [
        ({}, 700.0),  # 9 L stay, 2 L are kept: 7 L at 10 mL/s
        ({"runs": False}, 200.0),  # what fed keeps alone: 3 L less its own litre
        ({"returns": 1e-5, "back_in": True}, 700.0),  # what is sent back comes again
        ({"returns": 1e-5, "back_in": False}, 350.0),
        ({"returns": 1e-5, "runs": False}, 100.0),
        ({"takes": False}, 700.0),  # of two tanks there is no third
        ({"draw": None}, 0.0),
        ({"draw": "needs"}, 0.0),
        ({"before": ()}, 0.0),
        ({"before": ("fed", "far")}, 0.0),
    ],
)
def test_how_long_the_engine_lasts_at_least(given: dict[str, Any], wanted_s: float) -> None:
    stub = bounded({"fed": 0.003, "far": 0.004}, 0.009, **given)
    assert Joint._bound_s(stub, CLIMB, HELD, FLOW, inf) == pytest.approx(wanted_s)


def test_a_bare_outlet_has_no_bound_and_a_third_tank_may_take() -> None:
    assert Joint._bound_s(bounded({"fed": 0.001, "far": 0.004}, 0.009), CLIMB, HELD, FLOW, inf) == 0.0
    three = {"fed": 0.003, "far": 0.004, "third": 0.004}
    for takes, wanted in ((True, 600.0), (False, 200.0)):
        assert Joint._bound_s(bounded(three, 0.009, takes=takes), CLIMB, HELD, FLOW, inf) == pytest.approx(wanted)
    # The greater of both bounds counts, where the first is not enough.
    low = bounded({"fed": 0.003, "far": 0.004}, 0.0021)
    assert Joint._bound_s(low, CLIMB, HELD, FLOW, 300.0) == pytest.approx(200.0)
    assert Joint._bound_s(low, CLIMB, HELD, FLOW, 5.0) == pytest.approx(10.0)


def outlasting(kept: float, from_m3: float | None, before: int = 1) -> Any:
    stub = bounded({"fed": kept, "far": 0.004}, 0.009, before=("fed", "far")[:before])
    held = SimpleNamespace(from_m3=from_m3)
    stub.own = lambda one, attitude: SimpleNamespace(held=held, sustained_m3=0.001)
    stub.sustained, stub.brief, stub.greatest = [LEVEL], [SLIP], "takeoff"
    stub.layout.design = SimpleNamespace(flows_m3_s={"takeoff": FLOW})
    return stub


@pytest.mark.parametrize(
    ("kept", "from_m3", "before", "wanted"),
    [(0.003, 0.003, 1, True), (0.003, 0.0031, 1, False), (0.003, None, 1, False), (0.003, 0.001, 0, False), (0.003, 0.0035, 2, False),
     (0.004, 0.004, 2, True), (0.005, 0.0045, 2, False)],
)  # fmt: skip
def test_each_tank_before_the_engine_outlasts_for_itself(
    kept: float, from_m3: float | None, before: int, wanted: bool
) -> None:
    assert Joint._outlasts(outlasting(kept, from_m3, before), SLIP, HELD) == wanted
    if before:
        # After a row of 100 s a litre more must have been there.
        assert Joint.outlasts_any(outlasting(kept, from_m3, before), SLIP, [HELD], 0.0) == wanted
        less = None if from_m3 is None else from_m3 - 0.001
        assert Joint.outlasts_any(outlasting(kept, less, before), SLIP, [HELD], 100.0) == wanted


def test_a_flight_is_flown_only_where_no_bound_is_enough(monkeypatch: pytest.MonkeyPatch) -> None:
    flown: list[tuple[str, float]] = []
    ends = {
        "a": Lasting(0.01, 500.0, 0.001, ""),
        "b": Lasting(0.01, 400.0, 0.002, "air"),
        "c": Lasting(0.01, 450.0, 0.002, "air"),
    }
    flows, fuel = {"cruise": FLOW, "takeoff": 2 * FLOW}, SimpleNamespace(reserve_phase="cruise")
    stub: Any = SimpleNamespace(
        layout=SimpleNamespace(design=SimpleNamespace(fuel=fuel, flows_m3_s=flows)),
        _bound_s=lambda attitude, held, burnt, enough: 300.0 if burnt == FLOW else 150.0,
        _outlasts=lambda attitude, held: attitude is SLIP, settings=["a", "b", "c"],
        _flown=lambda attitude, held, seconds, flow, places: flown.append((flow, seconds)) or ends[places],
    )  # fmt: skip
    one = Joint.lasts(stub, CLIMB, HELD, 1800.0, enough_s=200.0)
    assert (one.lasts_s, one.left_m3, one.bounded) == (300.0, pytest.approx(0.010 - 0.003), True)
    assert Joint.lasts(stub, CLIMB, HELD, 250.0).lasts_s == 250.0  # no longer than is asked
    assert not flown
    assert Joint.lasts(stub, CLIMB, HELD, 1800.0) is ends["b"]  # that which stops, and first
    assert Joint.lasts(stub, CLIMB, HELD, 1800.0, "takeoff", 200.0) is ends["b"]
    assert flown == [("cruise", 1800.0)] * 3 + [("takeoff", 1800.0)] * 3
    sure = Joint.lasts(stub, SLIP, HELD, 60.0, "takeoff")
    assert (sure.lasts_s, sure.bounded, sure.stopped) == (60.0, True, "")
    assert Joint.lasts(stub, SLIP, HELD, 301.0) is ends["b"]  # not the time that it is held for
    assert lasting.PACE.off_m3 > 0.0


# --- where selectors may stand


def settings(
    world: Any, tanks: tuple[str, ...], set_to: tuple[Any, ...] = (), through: tuple[str, ...] = ()
) -> list[dict[str, str]]:
    group: Any = SimpleNamespace(tanks=tanks, set_to=set_to, through=through)
    return Joint(world.layout, group, []).settings


def test_where_selectors_may_stand_for_joined_tanks_to_feed(tmp_path: Path) -> None:
    # The selector in the feed stands on each of the tanks that come by it, on both where it can; the return's stands as it stands.
    apart, both = rich(tmp_path / "a"), rich(tmp_path / "b", both=True)
    assert settings(apart, ("left", "right")) == [{"tap": "left"}, {"tap": "right"}]
    assert settings(apart, ("left", "tail")) == [{"tap": "left"}]
    assert settings(apart, ("tail",)) == [{}]
    assert settings(both, ("left", "right")) == [{"tap": "both"}, {"tap": "left"}, {"tap": "right"}]
    assert settings(apart, ("left", "right"), through=("tap",)) == [{"tap": "both"}]  # what joins them stands so
    tap, line = ComponentEnd("tap"), "r"
    assert settings(apart, ("left", "right"), set_to=((tap, line),)) == [{"tap": "right"}]


def test_where_more_settings_than_are_flown_are_asked_for(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    world = rich(tmp_path, both=True)
    for most, fits in ((3, True), (2, False)):
        monkeypatch.setattr(lasting, "_MOST_SETTINGS", most)
        if fits:
            assert len(settings(world, ("left", "right"))) == 3
        else:
            with pytest.raises(QuestionError, match="at most 2 positions of selectors"):
                settings(world, ("left", "right"))
