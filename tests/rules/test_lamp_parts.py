"""Rules on low-level switches by hand, on switches that are made up: each outcome, each bound and the figures beside it.

A tank of 10 L gives 10 mL/s of which half is its own share; 1 L is unusable, so a lamp that lights with 7 L leaves 10 min of all that is
burnt and 20 min at its share.
"""

from __future__ import annotations

from dataclasses import replace
from types import SimpleNamespace as Made
from typing import Any

import numpy as np
import pytest
from rule_cases import plain

from fuelsys.model.built.layout import Rides
from fuelsys.model.found.findings import Outcome
from fuelsys.model.found.outflow import Outflow
from fuelsys.model.found.switches import SwitchStudy, TripAt
from fuelsys.model.stated.attitude import Attitude
from fuelsys.rules.tanks import lamps, low_level, warning_late
from fuelsys.rules.words import said

PASS, FAIL, CAUTION = Outcome.PASS, Outcome.FAIL, Outcome.CAUTION
NOT_CHECKED, NOT_ASKED = Outcome.NOT_CHECKED, Outcome.NOT_APPLICABLE
CRUISE = Attitude("cruise", "flight", normal=True)
CLIMB, SLIP = Attitude.of_degrees(10, 0), Attitude.of_degrees(0, 5)
PARKED = Attitude("parked", "ground", normal=True)
LEVEL = "cruise (pitch 0.0°, roll 0.0°)"
FLOW_M3_S = 1e-5


def trip(
    trip_l: float | None,
    latest_l: float | None = None,
    at: Attitude = CRUISE,
    reset_l: float | None = None,
    own_l: float = 1.0,
) -> TripAt:
    low = trip_l if latest_l is None else latest_l
    litres = [None if one is None else one / 1e3 for one in (trip_l, low, reset_l)]
    return TripAt(at, litres[0], litres[1], litres[2], own_l / 1e3, "" if trip_l is not None else "the tank runs dry")


def lamp(*at: TripAt, target_s: float | None = 600.0, **more: Any) -> SwitchStudy:
    given: dict[str, Any] = {
        "name": "low", "tank": "main", "target_s": target_s, "tolerance_m": 0.003, "at": at, "unusable_m3": 1e-3,
        "outflow": Outflow(FLOW_M3_S / 2, FLOW_M3_S),
    }  # fmt: skip
    return SwitchStudy(**(given | more))


def tank(
    *found: SwitchStudy, filled_l: float | None = 10.0, unusable: Attitude | None = CRUISE, room_m: float | None = None
) -> Any:
    stated = [switch(one) for one in found]
    left = None if unusable is None else Made(worst=Made(attitude=unusable), volume_m3=1e-3)
    filled = None if filled_l is None else Made(volume_m3=filled_l / 1e3)
    inner = Made(design=Made(switch=stated), body_m=np.array, mesh_m=np.array, room_m=lambda *_: room_m)
    return Made(name="main", switches=found, capacity=Made(unusable=left, filled=filled), tank=inner)


def switch(found: SwitchStudy, **more: Any) -> Any:
    given = {"tilts": False, "clearance_m": None, "max_tilt_rad": None} | more
    return Made(
        name=found.name, target_s=found.target_s, tolerance_m=found.tolerance_m, mark_m=(0.1, 0.2, 0.3),
        clearance_m=given["clearance_m"], max_tilt_rad=given["max_tilt_rad"], too_far=lambda up: given["tilts"],
    )  # fmt: skip


def judged(rule: Any, one: Any, study: Any = None) -> tuple[Outcome, str, str]:
    (verdict,) = rule.judge(study or Made(tanks=[one]))
    return verdict.outcome, plain(verdict.evidence), plain(verdict.mend)


# --- how late


@pytest.mark.parametrize(
    ("litres", "outcome", "left", "short_s"),
    [
        # Of ten minutes six seconds less pass, half a minute is a caution.
        (7.0, PASS, "10.0 min", None), (6.95, PASS, "9.9 min", None), (6.93, CAUTION, "9.8 min", 7.0), (6.71, CAUTION, "9.5 min", 29.0),
        (6.69, FAIL, "9.4 min", 31.0), (1.0, FAIL, "0.0 min", 600.0),
    ],
)  # fmt: skip
def test_how_late_a_lamp_may_be(litres: float, outcome: Outcome, left: str, short_s: float | None) -> None:
    found = lamp(trip(litres + 0.5, litres))
    (verdict,) = warning_late.warning_late.judge(Made(tanks=[tank(found)]))
    assert (verdict.outcome, verdict.cost.short_s) == (outcome, pytest.approx(short_s or 0.0))
    assert (
        f"{litres:.2f} L in the tank, 1.00 L of them unusable: {left} for a target of 10 min, its mark low by 3.0 mm"
        in plain(verdict.evidence)
    )


@pytest.mark.parametrize(
    ("wanted_s", "left_s", "told"),
    [
        (100.0, 95.0, CAUTION),
        (100.0, 90.0, CAUTION),
        (100.0, 89.0, FAIL),
        (1200.0, 1141.0, CAUTION),
        (1200.0, 1139.0, FAIL),
    ],
)
def test_how_near_a_target_is_nearly(wanted_s: float, left_s: float, told: Outcome) -> None:
    # A tenth of it where it is short, half a minute, a twentieth where it is long.
    assert warning_late._late("x", "e", "m", wanted_s, left_s).outcome is told


@pytest.mark.parametrize(
    ("more", "told"),
    [
        ({}, "; all the flow counts, as when the tanks beside it are empty: at its share 20.0 min"),
        ({"outflow": Outflow(FLOW_M3_S, FLOW_M3_S)}, ""),
        ({"delay_s": 6.0}, ", lit 6 s after the surface has passed its mark"),
        ({"rides": Rides(0.01, 0.002)}, ", and its float 2.0 mm higher in the densest fuel"),
        ({"rides": Rides(0.01, 0.0)}, "its mark low by 3.0 mm; all the flow counts"),
        ({"outflow": Outflow(FLOW_M3_S, FLOW_M3_S, to=("tip",))}, ", by what is burnt alone: warning-late-by-return counts"),
        ({"sustained_m3": 1.6e-3}, "; 9.0 min if it is held for ever"),
        ({"sustained_m3": 1e-3}, "; the same if it is held for ever"),
        ({"sustained_m3": 8e-3}, "; none left (3.4 min late) if it is held for ever"),
    ],
)  # fmt: skip
def test_what_is_told_beside_the_minutes(more: dict[str, Any], told: str) -> None:
    evidence = judged(warning_late.warning_late, tank(lamp(trip(7.0), **more)))[1]
    assert told in evidence
    assert ("at its share" in evidence) == ("outflow" not in more)
    assert ("held for ever" in evidence) == ("sustained_m3" in more)
    assert ("float" in evidence, "lit 6 s" in evidence) == ("rides" in more and "float" in told, "delay_s" in more)


def test_whose_unusable_fuel_counts_is_told_where_it_is_another_attitude_s() -> None:
    other = replace(CLIMB, name="climb")
    assert (
        "1.00 L of them unusable at climb: 10.0 min"
        in judged(warning_late.warning_late, tank(lamp(trip(7.0)), unusable=other))[1]
    )
    assert (
        "1.00 L of them unusable: 10.0 min"
        in judged(warning_late.warning_late, tank(lamp(trip(7.0)), unusable=None))[1]
    )
    # Nothing is left: what its own attitude leaves, 0.4 of 0.6 L, at the tank's share.
    late = judged(warning_late.warning_late, tank(lamp(trip(0.6, own_l=0.2)), unusable=other))
    assert late[0] is FAIL
    assert (
        f"at {LEVEL} it trips with 0.60 L in the tank and 1.00 L are unusable at {other.text}: nothing usable is left, it trips 1.4 min"
        " after the last usable fuel, for a target of 10 min, its mark low by 3.0 mm"
    ) in late[1]
    assert "(at the attitude of the trip itself 0.20 L are unusable, and 1.3 min left)" in late[1]


def test_a_lamp_without_tolerance_target_or_trip() -> None:
    rule = warning_late.warning_late
    outcome, evidence, _ = judged(rule, tank(lamp(trip(7.0), tolerance_m=None)))
    assert (outcome, "without any, at cruise" in evidence, "its mark low" in evidence) == (NOT_CHECKED, True, False)
    assert judged(rule, tank(lamp(trip(6.0), tolerance_m=None)))[0] is FAIL
    assert judged(rule, tank(lamp(trip(7.0), target_s=None)))[:2] == (NOT_CHECKED, "needs the target in minutes")
    one = tank(lamp(trip(7.0)))
    one.switches = ()
    assert judged(rule, one)[:2] == (NOT_CHECKED, "needs an outlet: minutes count above the unusable fuel")
    outcome, evidence, mend = judged(rule, tank(lamp(trip(None))))
    assert (outcome, evidence) == (FAIL, f"never trips at {LEVEL}: the tank runs dry; 10 min are wanted")
    assert mend.startswith("No height straight above")


@pytest.mark.parametrize(
    ("more", "room_m", "told"),
    [
        ({"rise_m": None}, None, "No height straight above this mark leaves the target at every flight attitude: move the mark nearer"),
        ({"rise_m": 0.0124}, None, "Raise the mark by at least 12.4 mm, to (100, 200, 312.4) mm of its mesh."),
        ({"rise_m": 0.0124}, 0.025, "Raise the mark by at least 12.4 mm"),
        ({"rise_m": 0.0124}, 0.025 - 1e-10, "Raise the mark by at least 12.4 mm"),
        ({"rise_m": 0.0124}, 0.02,
         "Straight up, the mark would have to rise by 12.4 mm, to (100, 200, 312.4) mm of its mesh, where its float has 20.0 mm of"
         " the 25.0 mm that it needs"),
    ],
)  # fmt: skip
def test_how_far_to_raise_a_mark(more: dict[str, Any], room_m: float | None, told: str) -> None:
    found = lamp(trip(6.0), **more)
    assert plain_of(lamps.raised(tank(found, room_m=room_m), switch(found, clearance_m=0.025), found)).startswith(told)


def plain_of(text: str) -> str:
    return plain(said(text))


def test_a_switch_that_is_tilted_too_far_is_helped_by_another_one_alone() -> None:
    found = lamp(trip(None), rise_m=0.01)
    told = lamps.raised(tank(found), switch(found, tilts=True), found)
    assert told == "Fit a switch that is stated to work at these tilts; no other height helps."
    assert "Raise" in lamps.raised(
        tank(found), switch(lamp(trip(6.0)), tilts=True), lamp(trip(6.0), rise_m=0.01)
    )  # it trips


# --- never, in order, spread, early, for good


@pytest.mark.parametrize(("target_s", "tilt", "mend"), [(600.0, None, True), (None, 0.1, True), (None, None, False)])
def test_a_lamp_that_never_lights(target_s: float | None, tilt: float | None, mend: bool) -> None:
    found = lamp(trip(7.0), trip(None, at=SLIP), target_s=target_s)
    one = tank(found)
    one.tank.design.switch = [switch(found, max_tilt_rad=tilt)]
    (verdict,) = low_level.warning_never_trips.judge(Made(tanks=[one]))
    assert (verdict.outcome, bool(verdict.mend), verdict.cost.short_s) == (FAIL, mend, target_s or 0.0)
    assert plain(verdict.evidence) == f"never trips at {SLIP.text}: the tank runs dry"


def test_a_lamp_that_lights_is_counted_in_flight() -> None:
    found = lamp(trip(7.0), trip(7.0, at=SLIP), trip(None, at=PARKED))
    assert judged(low_level.warning_never_trips, tank(found))[:2] == (
        PASS,
        "the surface passes its mark at all 2 flight attitudes",
    )


@pytest.mark.parametrize(
    ("ten", "twenty", "told"),
    [
        ((3.0, 3.0), (6.0, 3.0), []), ((3.0, 4.0), (6.0, 3.0), ["b trips at 3.00 L, a at 4.00 L"]),
        ((3.0, None), (6.0, 3.0), []), ((3.0, 3.0), (None, 6.0), ["b trips never, a at 3.00 L"]),
    ],
)  # fmt: skip
def test_lamps_that_light_in_another_order(
    ten: tuple[float | None, ...], twenty: tuple[float | None, ...], told: list[str]
) -> None:
    # On the ground nothing is asked; lamps of one target have no order.
    at = (CRUISE, SLIP)
    first = lamp(*(trip(v, at=a) for v, a in zip(ten, at, strict=True)), trip(9.0, at=PARKED), name="a")
    second = lamp(
        *(trip(v, at=a) for v, a in zip(twenty, at, strict=True)), trip(1.0, at=PARKED), name="b", target_s=1200.0
    )
    first, second = replace(first, name="a"), replace(second, name="b")
    found = low_level._inversions(tank(first, second))
    assert [plain_of(one).split(") ")[-1] for one in found] == told
    assert low_level._inversions(tank(replace(first, target_s=1200.0), second)) == []


@pytest.mark.parametrize(
    ("trips", "spread_s", "outcome"),
    [
        # Slips do not count beside level wings. 6 L are 1200 s at the tank's share, twice ten minutes.
        ([(1.0, CRUISE), (7.0, CLIMB), (0.0, SLIP), (99.0, SLIP)], 1200.0, PASS),
        ([(1.0, CRUISE), (7.1, CLIMB)], 1220.0, CAUTION),
        ([(1.0, SLIP), (7.1, SLIP)], 1220.0, CAUTION),
        ([(3.0, CRUISE), (99.0, PARKED)], 0.0, PASS),
    ],
)  # fmt: skip
def test_how_far_apart_a_lamp_lights(trips: list[tuple[float, Attitude]], spread_s: float, outcome: Outcome) -> None:
    found = lamp(*(trip(litres, at=at) for litres, at in trips))
    assert low_level._spread_s(found) == pytest.approx(spread_s)
    told, evidence, _ = judged(low_level.warning_spread_wide, tank(found))
    assert told is outcome
    assert f"{spread_s / 60.0:.1f}"[:3] in evidence


def test_the_mark_that_feels_attitudes_least_is_told() -> None:
    found = lamp(trip(1.0), trip(8.0, at=CLIMB), steady_m=np.array([0.1, 0.2, 0.3]))
    assert judged(low_level.warning_spread_wide, tank(found))[2].startswith(
        "Move the mark nearer to the middle of the free surface, (100, 200, 300) mm of its mesh; then"
    )
    told = judged(low_level.warning_spread_wide, tank(replace(found, steady_m=None)))
    assert (told[0], told[2]) == (CAUTION, "")
    assert "it trips with 8.00 L at" in told[1]


@pytest.mark.parametrize(
    ("trips", "outcome", "told"),
    [
        # Above its own litre at the tank's share: 6 L are 1200 s, twice ten minutes.
        ([trip(7.0)], PASS, "20.0 min above what is unusable there, for a target of 10 min"),
        ([trip(7.1)], CAUTION, "20.3 min above"),
        ([trip(7.1, 7.0, own_l=1.2)], PASS, "19.6 min above"),
        ([trip(7.1), trip(6.5, at=SLIP)], NOT_ASKED, "warning-late tells it"),
        ([trip(7.1), trip(14.2, 7.0, at=CLIMB)], NOT_ASKED, "warning-spread-wide tells it"),
        ([trip(None)], NOT_CHECKED, f"needs a mark that the surface passes at {LEVEL}"),
    ],
)  # fmt: skip
def test_a_lamp_that_comes_early(trips: list[TripAt], outcome: Outcome, told: str) -> None:
    found, evidence, _ = judged(low_level.warning_early, tank(lamp(*trips)))
    assert (found, told in evidence) == (outcome, True), evidence


@pytest.mark.parametrize(
    ("trips", "outcome", "told"),
    [
        ([trip(7.0, reset_l=7.5), trip(7.0, at=PARKED, reset_l=8.0)], PASS,
         "its lamp goes out with 8.00 L at most, at parked (pitch 0.0°, roll 0.0°); filled, the tank holds 10.00 L"),
        ([trip(7.0, reset_l=9.99)], PASS, "9.99 L at most"),
        ([trip(7.0, reset_l=10.0)], FAIL, "it resets with 10.00 L, and filled the tank holds 10.00 L: lit for good"),
        ([trip(7.0)], FAIL, "it does not reset at all"),
        ([trip(7.0, reset_l=7.5), trip(7.0, at=SLIP), trip(7.0, at=CLIMB)], CAUTION, "does not reset at all, for trip and differential"),
        ([trip(7.0, at=SLIP), trip(7.0, reset_l=11.0)], FAIL, "at cruise (pitch 0.0°, roll 0.0°) it resets with 11.00 L"),
        ([trip(None)], NOT_CHECKED, "needs a mark that the surface passes; it never trips"),
        ([trip(None), trip(7.0, at=SLIP, reset_l=8.0)], PASS, "8.00 L at most"),
    ],
)  # fmt: skip
def test_a_lamp_that_is_lit_for_good(trips: list[TripAt], outcome: Outcome, told: str) -> None:
    found, evidence, _ = judged(low_level.warning_always_on, tank(lamp(*trips)))
    assert (found, told in evidence) == (outcome, True), evidence
    more = sum(one.trip_m3 is not None and (one.reset_m3 is None or one.reset_m3 >= 0.01) for one in trips) - 1
    assert (f"so at {more} more attitudes" in evidence) == (more > 0)


def test_how_full_the_tank_can_be_is_needed() -> None:
    assert "a filler or a vent" in judged(low_level.warning_always_on, tank(lamp(trip(7.0)), filled_l=None))[1]


# --- with what is returned


@pytest.mark.parametrize(
    ("out", "more", "outcome", "told"),
    [
        # 6 L usable, 10 mL/s burnt and as much returned: 5 min; once 1 L is held there it runs back: 5 L of 10 mL/s, 8.3 min.
        (Outflow(FLOW_M3_S, FLOW_M3_S, FLOW_M3_S, None, ("tip",)), {}, FAIL,
         "36.0 L/h are returned to tip, from where nothing brings it back for certain; 72.0 L/h are drawn from main: 5.0 min at the latest"
         f" trip ({LEVEL}), 10.0 min by what is burnt alone, for a target of 10 min"),
        (Outflow(FLOW_M3_S, FLOW_M3_S, FLOW_M3_S, 1e-3, ("tip", "aft")), {}, FAIL,
         "are returned to tip, aft, from where it runs back by gravity once 1.00 L more are held there; 72.0 L/h"),
        (Outflow(FLOW_M3_S, FLOW_M3_S, FLOW_M3_S, 0.25e-3, ("tip",)), {}, CAUTION, "9.5 min at the latest"),
        (Outflow(FLOW_M3_S, FLOW_M3_S, FLOW_M3_S, 0.0, ("tip",)), {}, PASS, "10.0 min at the latest"),
        (Outflow(FLOW_M3_S, FLOW_M3_S, FLOW_M3_S, 0.0, ("tip",)), {"delay_s": 12.0}, CAUTION, "9.8 min at the latest trip"),
        (Outflow(FLOW_M3_S, FLOW_M3_S, None, 0.0, ("tip", "aft")), {}, NOT_CHECKED, "needs the engine's return_flow: it goes to tip, aft"),
    ],
)  # fmt: skip
def test_a_lamp_with_what_is_returned(out: Outflow, more: dict[str, Any], outcome: Outcome, told: str) -> None:
    found = lamp(trip(7.0), outflow=out, **more)
    one = tank(found)
    verdict = warning_late._with_return("x", one, one.tank.design.switch[0], found)
    assert (verdict.outcome, told in plain(verdict.evidence)) == (outcome, True), plain(verdict.evidence)
    if "delay_s" in more:
        assert "9.8 min by what is burnt alone" in plain(verdict.evidence)
    if outcome in (FAIL, CAUTION):
        assert plain(verdict.mend).startswith("Return the fuel to the tank that it was drawn from")


# --- ten minutes in a tank that feeds


@pytest.mark.parametrize(
    ("found", "outcome", "told"),
    [
        ((lamp(trip(6.7)),), PASS, "switch low leaves the most: 9.5 min"),
        ((lamp(trip(6.69)),), CAUTION, "9.4 min"),
        ((lamp(trip(6.7), tolerance_m=None),), NOT_CHECKED, "needs the tolerance of switch low; without any, switch low"),
        ((lamp(trip(4.0)), lamp(trip(9.0), name="soon")), PASS, "13.3 min"),
        ((lamp(trip(None)),), CAUTION, "no switch trips at every flight attitude"),
        ((lamp(trip(9.0), outflow=Outflow(FLOW_M3_S, FLOW_M3_S, None, None, ("tip",))),), NOT_CHECKED, "the engine's return_flow"),
    ],
)  # fmt: skip
def test_ten_minutes_before_the_tank_that_feeds_is_empty(
    found: tuple[SwitchStudy, ...], outcome: Outcome, told: str
) -> None:
    verdict = warning_late._ten_minutes(tank(*found))
    assert (verdict.outcome, told in plain(verdict.evidence)) == (outcome, True), plain(verdict.evidence)
    if outcome is CAUTION:
        assert verdict.cost.short_s == pytest.approx(600.0 if "no switch" in told else 31.0)


@pytest.mark.parametrize(
    ("targets_s", "told"),
    [
        ((), "Add a switch"), ((569.0,), "Add a switch"), ((570.0,), "Switch s0, which is to leave 9.5 min: No height"),
        ((1200.0, 600.0, 300.0), "Switch s1, which is to leave 10 min: No height"), ((None,), "Add a switch"),
    ],
)  # fmt: skip
def test_which_mark_is_to_leave_ten_minutes(targets_s: tuple[float | None, ...], told: str) -> None:
    found = [replace(lamp(trip(5.0), target_s=one), name=f"s{k}") for k, one in enumerate(targets_s)]
    assert warning_late._for_ten(tank(*found)).startswith(told)


@pytest.mark.parametrize(("left_s", "short_s"), [(100.0, 500.0), (0.0, 600.0), (-50.0, 600.0)])
def test_what_is_promised_and_not_there(left_s: float, short_s: float) -> None:
    assert lamps.short(600.0, left_s).short_s == short_s
