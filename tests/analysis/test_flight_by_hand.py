"""What happens on a flight, by hand, on legs that are made up: what runs over, lips, modes, events; turns and totals of joined tanks."""

from __future__ import annotations

from types import SimpleNamespace as Made
from typing import Any

import numpy as np
import pytest

from fuelsys.analysis.flights import events, exchange, fly
from fuelsys.analysis.flights.legs import Gap, Mode
from fuelsys.model.built.ends import PortEnd
from fuelsys.model.found.exchange import Lasting
from fuelsys.model.stated.attitude import Attitude
from fuelsys.model.stated.fittings import Outlet

CRUISE = Attitude("cruise", "flight", normal=True)
OUT, IN = PortEnd("a", "out"), PortEnd("a", "in")


class Flight:
    """A flight of tanks a and b that notes what it tells and does."""

    def __init__(self, here: tuple[float, ...] = (5.0, 1.0), told: tuple[Any, ...] = ()) -> None:
        self.here, self.names, self.now_s, self.changed = np.array([*here, 0.0, 0.0]), ("a", "b"), 10.0, ""
        self.notes: list[Any] = []
        self.told = list(told)
        self.lit: set[Any] = set()
        self.late: dict[Any, float] = {}
        self.shut_in_m3 = {("a",): 1.0, ("b",): 2.0}
        self.vessels: Any = Made(
            joins=lambda leg: "", end_with=lambda leg, port: self.notes.append(("ends with", port)), parted={}
        )

    def __getattr__(self, name: str) -> Any:
        return lambda *given: self.notes.append((name, *given))


def leg(**more: Any) -> Any:
    given: dict[str, Any] = {
        "standings": {"a": Made(over_m3=4.0, spill_to=""), "b": Made(over_m3=2.0, spill_to="")}, "airless": (), "attitude": CRUISE,
        "modes": {"a": Mode(), "b": Mode()}, "plumbed": Made(network=Made(nodes={OUT: Outlet.model_construct(name="out"), IN: None}),
         ports={}),
        "rate": 0.0, "broken": [],
    } | more  # fmt: skip
    one = Made(**given)
    one.moment = lambda here: Made(rates=np.array([one.rate, 0.0, 0.0, 0.0]), gaps=one.broken, fed=True)
    return one


# --- at a new attitude


@pytest.mark.parametrize(
    ("here", "to", "airless", "after", "told"),
    [
        ((5.0, 1.0), "", (), [4.0, 1.0, 0.0, 1.0], 1), ((4.0, 1.0), "", (), [4.0, 1.0, 0.0, 0.0], 0), ((5.0, 1.0), "", ("a",), [5.0, 1.0,
         0.0, 0.0], 0),
        # Into the other tank as far as it has room, the rest overboard.
        ((5.0, 0.5), "b", (), [4.0, 1.5, 0.0, 0.0], 1), ((7.0, 1.0), "b", (), [4.0, 2.0, 0.0, 2.0], 1), ((5.0, 2.0), "b", ("b",), [4.0,
         2.0, 0.0, 1.0], 1),
        ((4.0 + 5e-10, 1.0), "", (), [4.0, 1.0, 0.0, 0.0], 0),
    ],
)  # fmt: skip
def test_what_runs_over_at_a_turn(
    here: tuple[float, ...], to: str, airless: tuple[str, ...], after: list[float], told: int
) -> None:
    flight: Any = Flight(here)
    standings = {"a": Made(over_m3=4.0, spill_to=to), "b": Made(over_m3=2.0, spill_to="")}
    fly._Flight.runs_out(flight, leg(standings=standings, airless=tuple(((name,), 1.0) for name in airless)))
    assert flight.here.tolist() == pytest.approx(after)
    assert [one[:2] for one in flight.notes] == [("tell", "runs over")] * told + [("keep",)]


# --- at a lip


@pytest.mark.parametrize(
    ("what", "port", "rate", "under", "passes", "told"),
    [
        # Bared: it goes on falling, or what comes holds it there. Covered: it goes on rising, or runs out as it comes.
        ("bares", OUT, -1.0, [], None, ["outlet dry"]), ("bares", OUT, 1e-13, [], None, ["outlet dry"]), ("bares", OUT, 1.0, [], OUT,
         ["passes on"]),
        ("bares", IN, 1.0, [], IN, []), ("bares", IN, -1.0, [], None, []), ("covers", OUT, 1.0, [OUT], None, ["outlet covered"]),
        ("covers", OUT, -1e-13, [OUT], None, ["outlet covered"]), ("covers", OUT, -1.0, [], OUT, []), ("covers", IN, 1.0, [IN], None, []),
        ("covers", IN, -1.0, [], IN, []),
    ],
)  # fmt: skip
def test_a_surface_at_a_port_s_lip(
    what: str, port: PortEnd, rate: float, under: list[PortEnd], passes: PortEnd | None, told: list[str]
) -> None:
    flight: Any = Flight()
    mode = Mode(under={port} if what == "bares" else set())
    fly._Flight.at_lip(flight, leg(rate=rate), "a", mode, events.Crossing(0, 1.0, 1, what, port))
    assert (sorted(mode.under, key=str), mode.passes) == (under, passes)
    assert [one[1] for one in flight.notes if one[0] == "tell"] == told
    assert (("ends with", port) in flight.notes) == (what == "bares")


# --- modes that no longer hold


@pytest.mark.parametrize(
    ("what", "mode", "after", "told"),
    [
        ("falls", Mode(full=True), Mode(), ["falls"]), ("runs over", Mode(), Mode(over=True), ["runs over"]),
        ("stops running over", Mode(over=True), Mode(), ["stops running over"]), ("fills", Mode(passes=OUT), Mode(under={OUT}), []),
        ("fills", Mode(), Mode(), []),
        ("falls short", Mode(passes=OUT), Mode(), []),
    ],
)  # fmt: skip
def test_a_mode_that_no_longer_holds(what: str, mode: Mode, after: Mode, told: list[str]) -> None:
    flight: Any = Flight()
    fly._Flight.leave(flight, leg(modes={"a": mode}), "a", what)
    assert mode == after
    assert [one[1] for one in flight.notes if one[0] == "tell"] == told
    assert flight.shut_in_m3 == {("a",): 1.0, ("b",): 2.0}


@pytest.mark.parametrize(
    ("told", "dry"), [([], False), ([("passes on", "a", 9.0)], True), ([("passes on", "a", 10.0)], False), ([("passes on", "b", 9.0)],
     False), ([("full", "a", 9.0)], False),
                      ([("passes on", "a", 5.0), ("passes on", "a", 10.0)], False)],
)  # fmt: skip
def test_an_outlet_that_no_longer_passes_on_is_dry(told: list[Any], dry: bool) -> None:
    flight: Any = Flight(told=tuple(Made(what=what, tank=tank, at_s=at_s) for what, tank, at_s in told))
    fly._Flight.leave(flight, leg(modes={"a": Mode(passes=OUT)}), "a", "falls short")
    assert [one[1:] for one in flight.notes if one[0] == "tell"] == [("outlet dry", "a", "out")] * dry


def test_air_that_comes_again_is_shut_in_no_longer() -> None:
    flight, asked = Flight(), []
    one = leg(breathe=lambda tank, held: asked.append((tank, held)))
    fly._Flight.leave(flight, one, "a", "breathes")
    assert (asked, flight.shut_in_m3) == ([("a", {"a": 5.0, "b": 1.0})], {("b",): 2.0})


@pytest.mark.parametrize(
    ("gaps", "fed", "stops"),
    [
        ([], True, ""), ([], False, events.STOPS["dry"]), ([Gap("", "too little", -1.0)], True, events.STOPS["too little"]), ([Gap("",
         "too little", 0.0)], True, ""),
        ([Gap("", "too little", np.nan)], True, events.STOPS["too little"]), ([Gap("b", "lets air past", -1e-9)], True,
         "air comes past the empty tank b"),
        ([Gap("a", "falls", -1.0)], True, ""), ([Gap("a", "falls", -1.0), Gap("", "boils", -1.0)], True, events.STOPS["boils"]),
        ([Gap("a", "falls", -1.0)], False, events.STOPS["dry"]),
    ],
)  # fmt: skip
def test_why_the_engine_stops(gaps: list[Gap], fed: bool, stops: str) -> None:
    told = Made(at_s=10.0, what="passes on")
    flight: Any = Flight(told=(told,))
    one = leg()
    one.moment = lambda here: Made(gaps=gaps, fed=fed)
    flight.told = []
    assert fly._Flight.settle(flight, one) == stops
    assert [note[2:] for note in flight.notes if note[0] == "leave"] == [
        (gap.tank, gap.what) for gap in gaps if gap.what == "falls" and len(gaps) == 1
    ]
    flight.vessels.joins = lambda leg: "a"
    if gaps == [Gap("a", "falls", -1.0)]:
        assert (fly._Flight.settle(flight, one), flight.changed) == ("", "a")


@pytest.mark.parametrize(
    ("crossing", "lit", "notes"),
    [
        (("lamp", None), set(), [("light", "a", "low")]), (("lamp", None), {("a", "low")}, [("put_out", "a", "low")]), (("late", None),
         set(), [("trips_late", "a", "low")]),
        (("late out", None), set(), []), (("fills", None), set(), [("tell", "full", "a")]), (("bares", OUT), set(), [("at_lip", "a",
         "bares")]), (("bares", None), set(), []),
    ],
)  # fmt: skip
def test_what_a_crossing_does(crossing: tuple[str, Any], lit: set[Any], notes: list[Any]) -> None:
    flight: Any = Flight()
    flight.lit, flight.late = lit, {("a", "low"): 1.0}
    one = leg()
    fly._Flight.cross(flight, one, events.Crossing(0, 1.0, 1, *crossing, "low"))
    assert [(note[0], note[2], note[4].what) if note[0] == "at_lip" else note for note in flight.notes] == notes
    assert one.modes["a"].full is (crossing[0] == "fills")
    assert flight.late == ({} if crossing[0] == "late out" else {("a", "low"): 1.0})
    fly._Flight.cross(flight, one, events.Crossing(1, 1.0, 1, "parts"))
    assert flight.changed == "b"


# --- what comes first in a step


@pytest.mark.parametrize(
    ("held", "sign", "past"),
    [
        (1.0, 1, False),
        (1.0 + 2e-12, 1, True),
        (1.0 - 2e-12, 1, False),
        (1.0 - 2e-12, -1, True),
        (1.0 + 2e-12, -1, False),
        (1.0, -1, False),
    ],
)
def test_a_surface_past_a_point(held: float, sign: int, past: bool) -> None:
    assert events.Crossing(1, 1.0, sign, "x").passed(np.array([9.0, held])) is past


def step(*curve: float, length_s: float = 10.0) -> Any:
    """A step in which a quantity goes along a polynomial of the step's share."""
    return Made(at=lambda share: np.array([sum(one * share**k for k, one in enumerate(curve))]), length_s=length_s)


@pytest.mark.parametrize(
    ("curve", "points", "breaks", "share", "what", "broken"),
    [
        ((0.0, 1.0), [], 9.0, 1.0, None, False), ((0.0, 1.0), [0.3], 9.0, 0.3, "0", False), ((0.0, 1.0), [0.9, 0.6], 9.0, 0.6, "1", False),
        # Past it and back again within the step: seen at a quarter, a half, three quarters.
        ((0.0, 4.0, -4.0), [0.99], 9.0, 0.45, "0", False),
        # A mode that breaks before comes first, one after not.
        ((0.0, 1.0), [0.7], 0.4, 0.4, None, True), ((0.0, 1.0), [0.3], 0.4, 0.3, "0", False), ((0.0, 1.0), [], 0.25, 0.25, None, True),
    ],
)  # fmt: skip
def test_what_comes_first_in_a_step(
    curve: Any, points: list[float], breaks: float, share: float, what: str | None, broken: bool
) -> None:
    one: Any = Made(moment=lambda here: Made(fed=True, gaps=[Gap("", "x", breaks - float(here[0]))]))
    ahead = [events.Crossing(0, at, 1, str(k)) for k, at in enumerate(points)]
    found = events.first_event(one, step(*curve), ahead)
    assert (found[0], found[1] and found[1].what, found[2]) == (pytest.approx(share, abs=1e-6), what, broken)
    hungry: Any = Made(moment=lambda here: Made(fed=float(here[0]) < 0.5, gaps=[]))
    if not points:
        assert events.first_event(hungry, step(*curve), ahead)[0] == pytest.approx(0.5, abs=1e-6)


# --- joined tanks


def lasting(total: float, stops_below: float, left: float = 0.0) -> Lasting:
    return Lasting(total, 60.0 if total >= stops_below else 30.0, left, "" if total >= stops_below else "air")


@pytest.mark.parametrize("needed", [0.0301, 0.05, 0.0999])
def test_the_least_total_that_lasts(needed: float) -> None:
    # Found from above to half a per cent; what may stay behind counts with how near it was found.
    found = exchange._Group._least(lambda total: lasting(total, needed, 0.001 + total / 100.0), (0.03, 0.1), 60.0, 1e-5)
    assert found.from_m3 is not None
    assert needed <= found.from_m3 <= needed + 0.0005
    assert (found.lasting_s, found.drawn_m3_s) == (60.0, 1e-5)
    assert 0.001 + needed / 100.0 - 1e-5 <= found.unusable_m3 <= 0.001 + needed / 100.0 + 0.0005


def group(**more: Any) -> Any:
    """Two tanks of 50 L each, filled to 45; 5 mL/s at the reserve flow, 10 at the greatest."""
    joint = Made(
        most_m3={"a": 0.045, "b": 0.045}, flow_m3_s=5e-6, greatest="takeoff", before=[], sustained=[CRUISE], brief=[],
        layout=Made(design=Made(flows_m3_s={"takeoff": 1e-5}, normal=lambda phase: CRUISE)),
         burnt_m3=lambda some: 1e-5 * sum(one.held_s for one in some),
        normal=Made(together=lambda total, most: {"a": total / 2, "b": total / 2}), lasts=lambda *given: given,
    )  # fmt: skip
    for name, one in more.pop("joint", {}).items():
        setattr(joint, name, one)
    tanks = [Made(name=name, capacity=Made(unusable=Made(volume_m3=0.002))) for name in ("a", "b")]
    one = Made(**({"joint": joint, "tanks": tanks} | more))
    for name in ("after", "_turned", "_never", "_as_alone", "_beside", "from_reserve"):
        if not hasattr(one, name):
            setattr(one, name, getattr(exchange._Group, name).__get__(one))
    return one


@pytest.mark.parametrize(("most", "total", "promised_s"), [(0.045, 0.013, 1800.0), (0.005, 0.01, 1200.0)])
def test_half_an_hour_above_what_tanks_keep(most: float, total: float, promised_s: float) -> None:
    # 4 L are kept, 9 L burnt in half an hour; or what they are filled to.
    one = group(
        joint={"most_m3": {"a": most, "b": most}}, after=lambda attitude, held, until_s: (attitude, held, until_s)
    )
    found = exchange._Group.from_reserve(one, CRUISE)
    assert (found.held_m3, found.promised_s, found.delay_s) == (pytest.approx(total), pytest.approx(promised_s), 0.0)
    lasting_of: Any = found.lasting
    attitude, begun, until_s = lasting_of
    assert (attitude, begun, until_s) == (
        CRUISE,
        pytest.approx({"a": total / 2, "b": total / 2}),
        pytest.approx(promised_s),
    )


@pytest.mark.parametrize(("promised_s", "looked_s"), [(600.0, 1800.0), (3600.0, 3600.0)])
def test_an_attitude_for_ever_is_looked_at_for_half_an_hour_at_least(promised_s: float, looked_s: float) -> None:
    one = group(joint={"lasts": lambda attitude, held, seconds, enough_s: (seconds, enough_s)})
    assert exchange._Group.after(one, CRUISE, {"a": 0.01}, promised_s) == (looked_s, promised_s)


@pytest.mark.parametrize(
    ("promised_s", "total", "held_s"), [(600.0, 0.0176, 60.0), (0.0, 0.02, 60.0), (100.0, 0.02, 60.0), (1e5, 0.0, 60.0)]
)
def test_what_is_promised_is_burnt_before_a_turn_for_a_time(promised_s: float, total: float, held_s: float) -> None:
    # 3 L of ten minutes less 0.6 L that are burnt in the turn itself: 17.6 of 20 L are turned with.
    one = group(_turned=lambda attitude, at_m3: at_m3)
    assert exchange._Group.after(
        one, Attitude("slip", "flight", held_s=held_s), {"a": 0.01, "b": 0.01}, promised_s
    ) == pytest.approx(total)


@pytest.mark.parametrize(
    ("level", "own", "left", "told"), [(3.0, 2.0, 1.0, 3.0), (1.0, 2.0, 1.0, 2.0), (1.0, 2.0, 4.0, 4.0)]
)
def test_where_full_tanks_do_not_outlast_it(level: float, own: float, left: float, told: float) -> None:
    one = group(_forever=lambda attitude: Made(level_m3=level, own_forever_m3=own))
    found = exchange._Group._never(one, Attitude("slip", "flight", held_s=60.0), Lasting(9.0, 1.0, left, "air"))
    assert (found.lasting_s, found.drawn_m3_s, found.from_m3, found.unusable_m3) == (60.0, 1e-5, None, told)


@pytest.mark.parametrize(
    ("before", "kept", "brief", "told"),
    [
        (1, 0.01, False, True),
        (2, 0.01, False, False),
        (1, 0.01 - 2e-6, False, False),
        (1, 0.01 - 5e-7, False, True),
        (1, 0.005, True, False),
    ],
)
def test_a_tank_that_alone_stands_before_the_engine(before: int, kept: float, brief: bool, told: bool) -> None:
    tank = Made(name="a", tank=Made(drawn_by=(1,), design=Made(outlet=(1,))))
    slip = Attitude("slip", "flight", 0.1, held_s=60.0)
    levels = {CRUISE: 0.01, slip: kept} if brief else {CRUISE: kept, slip: 0.0}
    given = {
        "before": [tank, tank][:before],
        "brief": [slip],
        "levelled": lambda at: Made(kept_m3=lambda held: {"a": levels[at]}),
    }
    found = exchange._Group._as_alone(
        group(joint=given), slip if brief else CRUISE, tank, {"a": 0.01, "b": 0.02}, 600.0
    )
    assert (found is not None) is told
    if found is not None:
        assert (found.total_m3, found.lasts_s, found.left_m3, found.stopped) == (0.03, 600.0, pytest.approx(0.027), "")
    tank.tank.drawn_by = ()
    assert exchange._Group._as_alone(group(joint=given), CRUISE, tank, {"a": 0.01}, 600.0) is None


def test_what_all_hold_at_a_trip_is_the_least_that_any_attitude_leaves() -> None:
    climb, slip = Attitude("climb", "flight", 0.1), Attitude("slip", "flight", 0.2)
    left = {CRUISE: 3.0, climb: 2.0, slip: 1.0}
    given = {
        "sustained": [CRUISE, climb, slip],
        "levelled": lambda at: Made(beside=lambda name, held, most: {"a": held, "b": left[at]}),
    }
    assert exchange._Group._beside(group(joint=given), slip, "a", 5.0) == ({"a": 5.0, "b": 2.0}, climb)
    assert exchange._Group._beside(group(joint=given), CRUISE, "a", 5.0) == ({"a": 5.0, "b": 1.0}, slip)
    left[climb] = 3.0 + 1e-9  # as much: level flight
    assert exchange._Group._beside(group(joint=given), slip, "a", 5.0)[1] == CRUISE
