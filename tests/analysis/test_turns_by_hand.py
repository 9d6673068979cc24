"""Turns by hand, on what is made up: a flight from attitude to attitude, what a leg does at a moment, totals that outlast, rows."""

from __future__ import annotations

from math import inf
from types import SimpleNamespace as Made
from typing import Any

import numpy as np
import pytest

from fuelsys.analysis.flights import exchange, fly, legs, levelled, rows
from fuelsys.analysis.flights.lasting import Rows
from fuelsys.analysis.flights.setting import Upset
from fuelsys.model.built.ends import PortEnd
from fuelsys.model.found.exchange import Lasting
from fuelsys.model.found.unusable import Held
from fuelsys.model.stated.attitude import Attitude
from fuelsys.model.stated.components import Pump
from fuelsys.model.stated.fittings import Outlet

CRUISE = Attitude("cruise", "flight", normal=True)
SLIP, TURN = Attitude("slip", "flight", held_s=60.0), Attitude("turn", "flight", held_s=30.0)
A, B = PortEnd("a", "out"), PortEnd("b", "out")


# --- a flight from part to part


def part(name: str, duration_s: float | None, flow: str = "cruise") -> Any:
    return Made(name=name, duration_s=duration_s, flow=flow)


def flown(
    segments: Any, upset: Any, from_s: float, air_at_s: float = inf, **more: Any
) -> tuple[list[Any], list[Any], str, Any]:
    """What legs were flown (segment, wrong, until), what was told, why it stopped, and the flight."""
    asked: list[Any] = []
    told: list[Any] = []
    leg = Made(back_m3_s=1.0, back_to="a", attitude=CRUISE, burnt_m3_s=2.0)
    one: Any = Made(
        segments=segments, upset=upset, upset_from_s=from_s, names=("a",), now_s=0.0, parts=[], changed="", shut_in_m3={},
         keep=lambda: None,
        vessels=Made(by_tank=lambda here: here, set_out=lambda *given: None), ended=lambda stopped: stopped,
        tell=lambda what, tank="", detail="": told.append((one.now_s, what, detail)),
        world=Made(names=("a",), loaded=lambda first, upset: {"a": 5.0}),
    )  # fmt: skip

    def fly_leg(leg: Any, upset: Any, end_s: float) -> str:
        asked[-1] += (min(end_s, air_at_s),)
        one.now_s = min(end_s, air_at_s)
        return "no fuel" if air_at_s <= end_s else ""

    one.world.leg = lambda segment, upset, held, shut: asked.append((segment.name, upset.words)) or leg
    one.leg = fly_leg
    for name, value in more.items():
        setattr(one, name, value)
    return asked, told, fly._Flight.fly(one), one


@pytest.mark.parametrize(
    ("from_s", "held_s", "legs_flown"),
    [
        (0.0, None, [("climb", "stuck", 60.0), ("cruise", "stuck", 160.0)]), (-1.0, None, [("climb", "stuck", 60.0), ("cruise", "stuck",
         160.0)]),
        (0.005, None, [("climb", "", 0.005), ("climb", "stuck", 60.0), ("cruise", "stuck", 160.0)]),
        (60.0, None, [("climb", "", 60.0), ("cruise", "", 60.0), ("cruise", "stuck", 160.0)]),
        (90.0, 30.0, [("climb", "", 60.0), ("cruise", "", 90.0), ("cruise", "stuck", 120.0), ("cruise", "", 160.0)]),
        (0.0, 30.0, [("climb", "stuck", 30.0), ("climb", "", 60.0), ("cruise", "", 160.0)]),
    ],
)  # fmt: skip
def test_when_what_is_wrong_begins_and_ends(from_s: float, held_s: float | None, legs_flown: list[Any]) -> None:
    upset: Any = Made(words="stuck", held_s=held_s, attitude=None)
    asked, told, stopped, one = flown([part("climb", 60.0), part("cruise", 100.0)], upset, from_s)
    assert (asked, stopped) == (legs_flown, "")
    assert one.here.tolist() == [5.0, 0.0, 0.0]
    assert one.parts[0].name == "climb"
    assert len(one.parts) == 2
    assert told[-1][1] == "ends"


@pytest.mark.parametrize(
    ("second_s", "air_at_s", "told"),
    [
        # Air before the climb's time is up ends the flight; where a part lasts until there is air, the next is flown all the same.
        (60.0, 30.0, [(0.0, "begins", "climb"), (30.0, "air", "no fuel")]),
        (None, 30.0, [(0.0, "begins", "climb"), (30.0, "air", "no fuel"), (30.0, "begins", "cruise"), (30.0, "air", "no fuel")]),
        (60.0, inf, [(0.0, "begins", "climb"), (60.0, "begins", "cruise"), (160.0, "ends", "")]),
    ],
)  # fmt: skip
def test_where_a_flight_ends(second_s: float | None, air_at_s: float, told: list[Any]) -> None:
    found = flown([part("climb", second_s), part("cruise", 100.0)], Upset(""), 0.0, air_at_s)
    assert found[1] == told


def test_no_flight_is_longer_than_two_days() -> None:
    for stated in (None, 1e6):
        assert flown([part("cruise", stated)], Upset(""), 0.0)[0] == [("cruise", "", 48 * 3600.0)]


def test_an_attitude_that_is_turned_into_names_its_part() -> None:
    upset: Any = Made(words="a slip", held_s=30.0, attitude=SLIP)
    _, told, _, one = flown([part("cruise", 100.0)], upset, 0.0)
    assert [a.name for a in one.parts] == ["a slip", "cruise"]
    assert told == [(0.0, "begins", "a slip"), (30.0, "begins", "cruise"), (100.0, "ends", "")]


@pytest.mark.parametrize(
    ("crossing", "what", "changes", "parted", "told"),
    [
        (None, False, "", (), ["begin", "settle"]), (None, True, "", (), ["begin", "settle", "settle"]), (1, False, "", (), ["begin",
         "settle", "cross", "settle"]),
        (1, False, "a", (), ["begin", "settle", "cross", ("parts", "a")]), (1, False, "a", ("a",), ["begin", "settle", "cross", ("joins",
         "a")]),
    ],
)  # fmt: skip
def test_what_is_settled_after_an_event(crossing: Any, what: bool, changes: str, parted: Any, told: list[Any]) -> None:
    done: list[Any] = []
    leg: Any = Made(begin=lambda held: done.append("begin"), modes={}, plumbed=Made(ports={}))
    one: Any = Made(changed="", names=(), here=np.zeros(2), now_s=0.0, events=0, runs_out=lambda leg: None, lamps_at_once=lambda *_: None,
                    vessels=Made(parted=parted), tell=lambda *given: done.append(given))  # fmt: skip

    def onward(leg: Any, upset: Any, end_s: float) -> Any:
        one.now_s = end_s
        return crossing, what

    def cross(leg: Any, crossing: Any) -> None:
        done.append("cross")
        one.changed = changes

    one.onward, one.cross, one.settle = onward, cross, lambda leg: done.append("settle") or ""
    assert fly._Flight.leg(one, leg, Made(), 9.0) == ""  # type: ignore[arg-type]
    assert done == told


@pytest.mark.parametrize(
    ("changed", "under", "told"), [("", False, [("outlet dry", "a", "out")]), ("a", False, []), ("", True, [])]
)
def test_an_outlet_that_is_dry_from_the_first_is_told_once(changed: str, under: bool, told: list[Any]) -> None:
    said: list[Any] = []
    ends: list[Any] = []
    nodes = {A: Outlet.model_construct(name="out"), PortEnd("a", "in"): None}
    leg: Any = Made(
        begin=lambda held: None,
        modes={"a": legs.Mode({A} if under else set())},
        plumbed=Made(ports={"a": tuple(nodes)}, network=Made(nodes=nodes)),
    )
    one: Any = Made(changed=changed, names=(), here=np.zeros(2), now_s=9.0, events=0, runs_out=lambda leg: None,
     lamps_at_once=lambda *_: None,
                    vessels=Made(end_with=lambda leg, end: ends.append(end)), tell=lambda *given: said.append(given),
                     settle=lambda leg: "")  # fmt: skip
    fly._Flight.leg(one, leg, Made(), 9.0)  # type: ignore[arg-type]
    assert (said, ends) == (told, [] if under else [A])


# --- a leg at a moment


@pytest.mark.parametrize(
    ("over", "fed", "loose", "rates", "solved"),
    [
        # 10 are burnt and 1 sent back into a, which gets 2 from the lines, as b gets 4; what runs over from a comes into b.
        ("", True, "", [3.0, 4.0, 10.0, 0.0], 1), ("", False, "", [3.0, 4.0, -7.0, 0.0], 1), ("a", True, "", [0.0, 7.0, 10.0, 0.0], 2),
        ("b", True, "", [3.0, 0.0, 10.0, 4.0], 2), ("ab", True, "", [0.0, 0.0, 10.0, 7.0], 3), ("", True, "b", [3.0, 4.0, 10.0, 0.0], 2),
    ],
)  # fmt: skip
def test_how_fast_quantities_grow(over: str, fed: bool, loose: str, rates: list[float], solved: int) -> None:
    asked: list[Any] = []

    def solve(surfaces: Any, drawn: Any) -> Any:
        asked.append(drawn)
        return Made(gets_m3_s={"a": 2.0, "b": 4.0}, fed=fed)

    leg: Any = Made(
        standings={"a": Made(spill_to="b"), "b": Made(spill_to="")}, air_pa=lambda held: {"a": 0.0, "b": 0.0}, back_to="a", back_m3_s=1.0,
        burnt_m3_s=10.0, engine="e", plumbed=Made(piping=Made(node=lambda end, side: (end, side)), solved=solve),
        modes={name: legs.Mode(full=name in over + loose, over=name in over) for name in "ab"},
        _surface=lambda *given: given, _loose=lambda found: set(loose), _gaps=lambda *given: [given[0]], _breathing=lambda *_: ["breathes"],
        _engine_gaps=lambda _: ["fed"],
    )  # fmt: skip
    found = legs.Leg._moment(leg, np.array([5.0, 6.0]))
    assert found.rates.tolist() == rates
    assert asked == [{("e", "in"): 11.0}] * solved
    assert found.gaps == ("a", "b", "breathes", "fed")


@pytest.mark.parametrize(("keeps", "lowest_m"), [("", 1.0), ("first", None), ("second", None), ("both", None)])
def test_a_dry_branch_of_two_steps(keeps: str, lowest_m: float | None) -> None:
    def step(end: Any, *heights_m: float) -> Any:
        return Made(points_m=np.array([[0.0, 0.0, height] for height in heights_m]), end=end)

    dry_way = (step("pump", 3.0, 2.0), step("tee", 2.0, 1.0), step("engine", 1.0, -5.0))
    live_way = (step("tee", 3.0, 0.5), dry_way[-1])
    ways = [
        Made(start=A, end="engine", steps=dry_way, shortest=dry_way),
        Made(start=B, end="engine", steps=live_way, shortest=live_way),
    ]
    nodes: dict[Any, Any] = {one: Outlet.model_construct(name="out") for one in (A, B)} | {"engine": None}
    nodes |= {
        end: Pump.model_construct(name=end, keeps_air_out=keeps in (name, "both"))
        for end, name in (("pump", "first"), ("tee", "second"))
    }
    leg: Any = Made(
        plumbed=Made(network=Made(ways=lambda kind: ways, nodes=nodes), piping=Made(node=lambda end, side: (end, side))), engine="engine",
        _covered=lambda end: end == B, attitude=CRUISE,
    )  # fmt: skip
    assert legs.Leg._dry_now(leg) == ({} if lowest_m is None else {A: (("tee", "in"), lowest_m)})


# --- totals that outlast an attitude


@pytest.mark.parametrize(
    ("own_m3", "each_m3", "full_m3", "needs_m3", "wanted"),
    [
        # A litre is kept and 0.6 burnt: sought up to what the tanks keep each for itself for that time, if that lasts and is more.
        (0.001, 0.002, 0.02, 0.003, (0.0016, 0.004)), (0.001, 0.002, 0.02, 0.0045, (0.0016, 0.02)), (0.001, 0.0005, 0.02, 0.003, (0.0016,
         0.02)),
        (0.001, 0.012, 0.02, 0.003, (0.0016, 0.02)), (0.001, 0.002, 0.02, 0.0016, "at once"), (0.001, 0.002, 0.02, 0.021, "never"),
        (0.03, 0.002, 0.02, 0.0199, "full"), (0.03, 0.002, 0.02, 0.021, "never"),
    ],
)  # fmt: skip
def test_between_what_a_total_is_sought(
    monkeypatch: pytest.MonkeyPatch, own_m3: float, each_m3: float, full_m3: float, needs_m3: float, wanted: Any
) -> None:
    monkeypatch.setattr(exchange, "starts", lambda joint, total_m3: total_m3)
    asked: list[float] = []

    def worst(attitude: Attitude, total_m3: Any) -> Lasting:
        asked.append(total_m3)
        return Lasting(total_m3, 1.0, 0.0, "" if total_m3 >= needs_m3 else "air")

    one: Any = Made(
        joint=Made(layout=Made(design=Made(flows_m3_s={"takeoff": 1e-5})), greatest="takeoff", most_m3={"a": full_m3 / 2, "b": full_m3 / 2},
                   own=lambda tank, attitude: tank),
        tanks=[Made(held=Made(from_m3=each_m3), unusable_m3=9.0), Made(held=None, unusable_m3=each_m3)],
        _forever=lambda attitude: Made(own_m3=own_m3), _worst=worst, _never=lambda attitude, full: "never",
        _least=lambda lasts, ends, held_s, drawn: ends,
    )  # fmt: skip
    found: Any = exchange._Group._held(one, SLIP)
    if isinstance(found, Held):
        at_m3 = 0.0016 if wanted == "at once" else full_m3
        assert wanted in ("at once", "full")
        assert (found.from_m3, found.unusable_m3, found.lasting_s, found.drawn_m3_s) == (
            pytest.approx(at_m3),
            own_m3,
            60.0,
            1e-5,
        )
    else:
        assert found == (wanted if wanted == "never" else pytest.approx(wanted))
    assert (
        each_m3 > 0.0006 or 0.001 not in asked
    )  # what is likely is not asked where it is less than what is kept and burnt


@pytest.mark.parametrize(
    ("needs_l", "asked_l", "from_l", "left_l"),
    [
        # A total that stops leaves 0.6 L less; half as much again lasts or does not; then in between until it is near.
        (4.0, [3.0, 4.5, 3.75, 4.125, 3.9375, 4.03125], 4.03125, 3.3375 + 0.09375),
        (5.0, [3.0, 4.5, 6.75, 5.625, 5.0625, 4.78125, 4.921875, 4.9921875], 5.0625, 4.3921875 + 5.0625 - 4.9921875),
        (2.0, [3.0], 3.0, 1.0), (19.99, [3.0, 4.5, 6.75, 10.125, 15.1875, 20.0, 17.59375, 18.796875, 19.3984375, 19.69921875,
         19.849609375], 20.0,
         19.849609375 - 0.6 + 20.0 - 19.849609375),
    ],
)  # fmt: skip
def test_rows_that_ask_for_more(needs_l: float, asked_l: list[float], from_l: float, left_l: float) -> None:
    asked: list[float] = []

    def turned(attitude: Attitude, total_m3: float) -> Lasting:
        asked.append(total_m3 * 1e3)
        return Lasting(total_m3, 1.0, total_m3 - 0.6e-3, "" if total_m3 * 1e3 >= needs_l else "air")

    one: Any = Made(
        joint=Made(most_m3={"a": 0.01, "b": 0.01}), _turned=turned, _likely_m3=lambda attitude, low, high: (low + high) / 2.0,
        _never=lambda attitude, full: "never",
    )  # fmt: skip
    found = exchange._Group._in_rows(one, SLIP, Held(60.0, 1e-5, 0.003, 0.001), {0.002})
    assert asked == pytest.approx(asked_l)
    assert found.from_m3 is not None
    assert (found.from_m3 * 1e3, found.unusable_m3 * 1e3) == (pytest.approx(from_l), pytest.approx(left_l))
    assert exchange._Group._in_rows(one, SLIP, Held(60.0, 1e-5, None, 0.001), {0.002}).from_m3 is None


def test_what_may_stay_behind_is_the_most_that_any_stop_left() -> None:
    """Of two totals that stop the smaller leaves more, 2.9 L; in the end 3.5546875 lasts, half a decilitre above 3.5."""
    left_l = {3.0: 2.9, 3.5: 2.4}

    def turned(attitude: Attitude, total_m3: float) -> Lasting:
        litres = round(total_m3 * 1e3, 9)
        return Lasting(total_m3, 1.0, left_l.get(litres, 9.0) / 1e3, "air" if litres <= 3.5 else "")

    one: Any = Made(
        joint=Made(most_m3={"a": 0.01, "b": 0.01}), _turned=turned, _likely_m3=lambda attitude, low, high: (low + high) / 2.0,
        _never=lambda attitude, full: "never",
    )  # fmt: skip
    found = exchange._Group._in_rows(one, SLIP, Held(60.0, 1e-5, 0.003, 0.001), {0.0035})
    assert found.from_m3 == pytest.approx(0.0035546875)
    assert found.unusable_m3 == pytest.approx(0.0029 + 0.0000546875)


@pytest.mark.parametrize(
    ("low_l", "high_l", "stops_l", "asked_l", "likely_l"),
    [
        (3.0, 4.0, 3.4, [3.5, 3.25, 3.375, 3.4375], 3.375), (3.0, 4.0, 2.0, [3.5, 3.25, 3.125, 3.0625], 3.5),
        # Of a hundred litres to a quarter.
        (98.0, 101.0, 98.6, [99.5, 98.75, 98.375, 98.5625], 98.5625),
    ],
)  # fmt: skip
def test_a_total_that_is_likely_to_stop(
    monkeypatch: pytest.MonkeyPatch, low_l: float, high_l: float, stops_l: float, asked_l: list[float], likely_l: float
) -> None:
    monkeypatch.setattr(exchange, "starts", lambda joint, total_m3: [("start", total_m3)])
    monkeypatch.setattr(exchange, "after_rows", lambda joint, attitude, begins, total_m3: Rows([("row", total_m3)]))  # type: ignore[list-item]
    monkeypatch.setattr(exchange, "as_much", lambda joint, one, total_m3: (*one, total_m3))
    asked: list[Any] = []

    def worst(attitude: Attitude, begins: Any) -> Any:
        asked.append(begins)
        return Made(stopped="air" if begins[0][1] * 1e3 < stops_l else "")

    found = exchange._Group._likely_m3(Made(joint=None, _worst=worst), SLIP, low_l / 1e3, high_l / 1e3)  # type: ignore[arg-type]
    assert found * 1e3 == pytest.approx(likely_l)
    totals = [total / 1e3 for total in asked_l]
    assert [begins[0][1] for begins in asked] == pytest.approx(totals)
    assert [begins[1] for begins in asked] == [("row", high_l / 1e3, pytest.approx(total)) for total in totals]


@pytest.mark.parametrize(
    ("found", "stopped", "left"),
    [("air", [], 1.0), ("air", [2.0], 1.0), ("", [], 1.0), ("", [2.0, 4.0, 3.0], 4.0)],
)
def test_a_turn_out_of_the_worst_or_in_rows(
    monkeypatch: pytest.MonkeyPatch, found: str, stopped: list[float], left: float
) -> None:
    ends = [Lasting(9.0, 1.0, one, "air") for one in stopped]
    monkeypatch.setattr(exchange, "starts", lambda joint, total_m3: ["start"])
    monkeypatch.setattr(exchange, "after_rows", lambda *given: Rows(["row"], ends))  # type: ignore[list-item]
    one: Any = Made(joint=None, _worst=lambda attitude, begins: Lasting(len(begins), 1.0, 1.0, found))
    told = exchange._Group._turned(one, SLIP, 9.0)
    assert told.left_m3 == left
    assert told.total_m3 == (2 if left == 1.0 else 9.0)


def test_what_is_promised_of_a_tank_alone_is_a_bound() -> None:
    tank: Any = Made(name="a", tank=Made(drawn_by=(1,), design=Made(outlet=(1,))))
    joint = Made(before=[tank], sustained=[], brief=[], flow_m3_s=1e-5)
    found = exchange._Group._as_alone(Made(joint=joint), SLIP, tank, {"a": 0.01}, 600.0)  # type: ignore[arg-type]
    assert found == Lasting(0.01, 600.0, pytest.approx(0.004), "", bounded=True)


# --- rows


@pytest.mark.parametrize(
    ("left", "less"),
    [
        ({"a": 0.9, "b": 2.1}, True),
        ({"a": 1.1, "b": 1.9}, False),
        ({"a": 1.0, "b": 2.0}, False),
        ({"a": 2.1, "b": 0.9}, False),
    ],
)
def test_rows_that_leave_less_than_any_start(left: dict[str, float], less: bool) -> None:
    """Of tank a, before the engine, 1 and 2 are left where no row is flown: a row counts where it leaves less than the least."""
    joint: Any = Made(
        brief=[SLIP, TURN], outlasts_any=lambda *given: False, rows={3.0: {SLIP: Rows(), TURN: Rows([left])}}, most_m3={"a": 5.0, "b": 5.0},
        fed=("a",),
    )  # fmt: skip
    begins = [{"a": 2.0, "b": 1.0}, {"a": 1.0, "b": 2.0}]
    assert rows.after_rows(joint, SLIP, begins, 3.0).left == ([left] if less else [])


@pytest.mark.parametrize(
    ("total_m3", "begun_m3"),
    [
        (9.65, [9.65]),
        (9.55, [9.75, 9.55]),
        (9.05, [9.65, 9.45, 9.25, 9.05]),
        (1.0, [1.0 + 0.2 * k for k in range(12, -1, -1)]),
    ],
)
def test_rows_begin_with_no_more_than_full_tanks(
    monkeypatch: pytest.MonkeyPatch, total_m3: float, begun_m3: list[float]
) -> None:
    """Of 10 in all a turn burns 0.2: a row of thirteen, less those for which, and one more, there is no room."""
    asked: list[float] = []
    monkeypatch.setattr(rows, "starts", lambda joint, here_m3: asked.append(here_m3) or [])
    monkeypatch.setattr(rows, "_turned", lambda *given: [])
    joint: Any = Made(
        most_m3={"a": 5.0, "b": 5.0}, fed=("a",), brief=[SLIP, TURN], burnt_m3=lambda some: 0.2 * len(some)
    )
    assert set(rows._rows(joint, total_m3)) == {SLIP, TURN}
    assert asked == pytest.approx(begun_m3)


# --- tanks at one level


@pytest.mark.parametrize(("seeds", "lowest_m", "level_m"), [(1, 0.4, 0.4), (2, 0.4, 3.5), (2, inf, inf), (1, inf, inf)])
def test_where_fuel_stays_under_a_port(seeds: int, lowest_m: float, level_m: float) -> None:
    drained = Made(left_under_m=lambda spot: 0.5)
    one: Any = Made(
        tilted={"a": Made(tree=Made(seed_vertex=np.zeros(seeds)))},
         solving=Made(layout=Made(tank=lambda name: Made(spot=lambda port: port))),
        _drained=lambda tank, stops: drained, _centres={"a": 3.0},
    )  # fmt: skip
    assert levelled.Levelled._left_under_m(one, A, lowest_m, {}) == level_m


@pytest.mark.parametrize(
    ("stops", "sources", "lets_in", "level_m"),
    [
        ({A: 2.0, B: 1.0}, [A, B], True, 2.0), ({A: 1.0, B: 2.0}, [A, B], True, 2.0), ({A: 2.0, B: 1.0}, [A, B], False, -inf),
        ({A: 2.0, B: 2.0}, [A, B], True, -inf), ({A: 2.0}, [A], True, -inf), ({A: 2.0, PortEnd("a", "two"): 1.0}, [A, PortEnd("a",
         "two")], True, -inf),
        ({A: 2.0, B: 1.0}, [A], True, -inf), ({A: 2.0}, [A, B], True, -inf), ({A: 3.0, PortEnd("a", "two"): 1.0, B: 2.0}, [A, PortEnd("a",
         "two"), B], True, 3.0),
        ({PortEnd("a", "two"): 3.0, A: 1.0, B: 1.0}, [PortEnd("a", "two"), A, B], True, 3.0),
        ({A: 3.0, B: 2.0, PortEnd("c", "out"): 1.0}, [A, B, PortEnd("c", "out")], True, 3.0),
    ],
)  # fmt: skip
@pytest.mark.parametrize("pump", [False, True])
def test_at_which_level_air_comes_past_a_dry_outlet(
    monkeypatch: pytest.MonkeyPatch, stops: Any, sources: Any, lets_in: bool, level_m: float, pump: bool
) -> None:
    asked: list[Any] = []
    monkeypatch.setattr(levelled, "sources_of", lambda layout, end: sources if end == "e" else [])
    monkeypatch.setattr(
        levelled, "lets_air_in", lambda solving, end, dry, lower, attitude: asked.append((dry, lower)) or lets_in
    )
    part = Pump.model_construct(name="e") if pump else levelled.Engine.model_construct(name="e")
    one: Any = Made(solving=Made(layout=Made(network=Made(nodes={"tee": None, "e": part}))), attitude=CRUISE)
    assert levelled.Levelled._first_air_m(one, stops) == level_m
    assert all(stops[other] < stops[dry] and other.tank != dry.tank for dry, lower in asked for other in lower)
