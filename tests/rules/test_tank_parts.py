"""Rules on tanks, vents and lines by hand, on what is made up: each bound just below, on and above it, and the words of each outcome.

The fuel has 720 kg/m3, and half an hour at cruise takes 9 L (5 mL/s).
"""

from __future__ import annotations

from math import atan, degrees, pi, radians
from types import SimpleNamespace as Made
from typing import Any

import numpy as np
import pytest
from rule_cases import plain

from fuelsys.model.found.findings import Outcome, Verdict
from fuelsys.model.stated.attitude import Attitude
from fuelsys.model.stated.components import Engine, Pump
from fuelsys.rules.plumbing import back_pressure, crossfeed, feed, in_flight, one_opening, returns, vent, vent_line
from fuelsys.rules.tanks import capacity, filler, firewall, measured, outlet, pressed, stated, sump, unusable
from fuelsys.rules.words import said

PASS, FAIL, CAUTION = Outcome.PASS, Outcome.FAIL, Outcome.CAUTION
NOT_CHECKED, NOT_ASKED = Outcome.NOT_CHECKED, Outcome.NOT_APPLICABLE
CRUISE, PARKED = Attitude("cruise", "flight", normal=True), Attitude("parked", "ground", normal=True)
SLIP, NOSE_IN = Attitude.of_degrees(0, 5), Attitude("nose in", "ground")
GALLON_M3 = 3.785411784e-3


def study(*tanks: Any, **more: Any) -> Any:
    given: dict[str, Any] = {
        "engine": "piston", "gasoline": True, "kind": "avgas", "density": 720.0, "flows": {}, "feed": "pump", "components": {},
         "envelope": [],
        "firewall": None, "factor": 3.8, "plumbing": None, "lines": (), "breathing": None,
    } | more  # fmt: skip
    design = Made(
        fuel=Made(density_kg_m3=given["density"], gasoline=given["gasoline"], kind=given["kind"]), reserve_flow_m3_s=5e-6,
        flows_m3_s=given["flows"], aircraft=Made(engine=given["engine"], feed=given["feed"], limit_load_factor=given["factor"]),
        component=list(given["components"].values()), envelope=given["envelope"],
    )  # fmt: skip
    network = Made(
        component=given["components"].get,
        nodes=given["components"],
        lines_at=lambda end, kind: given["lines"],
        transfer_pumps=(),
    )
    named = {one.name: one.tank for one in tanks}
    return Made(layout=Made(design=design, network=network, lines=(), tank=named.get, tanks=list(named.values()), aircraft_m=lambda at: at),
                tanks=list(tanks), plumbing=given["plumbing"], breathing=given["breathing"])  # fmt: skip


def tank(gross_l: float = 60.0, name: str = "main", **more: Any) -> Any:
    design: dict[str, Any] = {
        "ports": (1,),
        "outlet": [],
        "vent": [],
        "drain": [],
        "filler": None,
        "in_cabin": None,
        "bears_pa": None,
    } | more.pop("design", {})
    inner = Made(design=Made(**design), mesh_m=np.array, body_m=np.array, outer_m=more.pop("outer_m", None),
     cavity=Made(gross_m3=gross_l / 1e3,
                 bounds_m=more.pop("bounds_m", None)), name=name)  # fmt: skip
    held: dict[str, Any] = {
        "gross_m3": gross_l / 1e3,
        "unusable": None,
        "filled": None,
        "usable_m3": None,
        "cut_off": False,
    } | more.pop("held", {})
    return Made(**({"name": name, "tank": inner, "capacity": Made(**held), "combined": None, "proof": None, "sumps": (), "drain_left": (),
                    "drain_left_on_slope": None} | more))  # fmt: skip


def told(verdict: Verdict) -> tuple[Outcome, str, str]:
    return verdict.outcome, plain(verdict.evidence), plain(verdict.mend)


# --- sumps and water


@pytest.mark.parametrize(
    ("gross_l", "holds_ml", "outcome", "words", "mend"),
    [
        # A sixteenth of a gallon is 236.588 mL, 0.25 % of 200 L are 500.
        (60.0, 236.6, PASS, "0.24 L at parked", ""), (60.0, 236.5, FAIL, "0.24 L are wanted",
         "Deepen the sump or raise the outlet above its floor: 1 mL more"),
        (200.0, 500.0, PASS, "0.50 L are wanted", ""), (200.0, 499.0, FAIL, "0.50 L at parked", "1 mL more"),
        (60.0, 0.4, FAIL, "at parked (pitch 0.0°, roll 0.0°) the drain valve stands above what",
         "Move the drain valve to the lowest point"),
        (60.0, 0.6, FAIL, "1 mL of the 0.30 L that stay there at parked", "Deepen"),
    ],
)  # fmt: skip
def test_what_a_sump_holds(gross_l: float, holds_ml: float, outcome: Outcome, words: str, mend: str) -> None:
    below_m3 = 0.3e-3 if holds_ml == 0.6 else holds_ml / 1e6 + 0.4e-6
    one = Made(volume_m3=holds_ml / 1e6, below_m3=below_m3, attitude=PARKED)
    more = Made(volume_m3=9e-3, below_m3=9e-3, attitude=CRUISE)
    (verdict,) = sump.sump_small.judge(study(tank(gross_l, sumps=(more, one))))
    assert (verdict.outcome, words in plain(verdict.evidence), mend in plain(verdict.mend)) == (outcome, True, True), (
        told(verdict)
    )
    assert "that stay there at cruise" not in plain(verdict.evidence)


def left(litres: float, at: Attitude = PARKED, trapped_l: float = 0.0, **more: Any) -> Any:
    pockets = more.pop(
        "pockets",
        (Made(lowest_m=(1.0, 2.0, 3.0), volume_m3=trapped_l / 1e3, sump_drain=more.pop("sump_drain", "")),)
        if trapped_l
        else (),
    )
    return Made(**({"unusable_m3": litres / 1e3, "trapped_m3": trapped_l / 1e3, "residual_m3": (litres - trapped_l) / 1e3, "attitude": at,
                    "pockets": pockets, "lowest_m": (0.1, 0.2, 0.3), "held": None, "over_m": 0.0,
                     "sustained_m3": litres / 1e3} | more))  # fmt: skip


@pytest.mark.parametrize(
    ("one", "outcome", "words", "mend"),
    [
        # One part in 2560 of 51.2 L is 20 mL.
        (left(0.020), PASS, "the drain leaves 20 mL below the valve, lowest at (100, 200, 300) mm", ""), (left(0.0), PASS,
         "leaves nothing; more than 20 mL", ""),
        (left(0.0004), PASS, "leaves nothing", ""), (left(0.0006, trapped_l=0.0006), PASS, "leaves 1 mL in a pocket", ""),
        (left(0.0201), FAIL, "20 mL below", "Move the drain valve to (100, 200, 300) mm of its mesh."), (left(0.03, lowest_m=None), FAIL,
         "leaves nothing", ""),
        (left(0.03, trapped_l=0.02), FAIL, "20 mL in a pocket, lowest at (1000, 2000, 3000) mm of its mesh and 10 mL below",
         "Open a notch"),
        (left(0.03, trapped_l=0.01), FAIL, "10 mL in a pocket", "Move the drain valve to"),
    ],
)  # fmt: skip
def test_water_that_a_drain_leaves(one: Any, outcome: Outcome, words: str, mend: str) -> None:
    (verdict,) = sump.water_left_behind.judge(
        study(tank(51.2, drain_left=(left(9.0, CRUISE), left(9.0, NOSE_IN), one)))
    )
    assert (verdict.outcome, words in plain(verdict.evidence), plain(verdict.mend).startswith(mend)) == (
        outcome,
        True,
        True,
    ), told(verdict)
    assert verdict.cost.volume_m3 == (one.unusable_m3 if outcome is FAIL else 0.0)


@pytest.mark.parametrize(
    ("parked", "nose_in", "slope", "outcome"),
    [
        (0.020, 0.019, 0.020, PASS), (0.020, 0.021, 0.010, CAUTION), (0.020, 0.010, 0.021, CAUTION), (0.021, 0.010, 0.022, NOT_ASKED),
        (0.021, 0.010, 0.020, PASS), (0.020, 0.010, None, NOT_CHECKED),
    ],
)  # fmt: skip
def test_water_that_a_drain_leaves_on_a_slope(
    parked: float, nose_in: float, slope: float | None, outcome: Outcome
) -> None:
    one = tank(51.2, drain_left=(left(parked), left(nose_in, NOSE_IN), left(9.0, CRUISE)),
               drain_left_on_slope=None if slope is None else left(slope, SLIP))  # fmt: skip
    (verdict,) = sump.water_left_on_slope.judge(study(one))
    assert verdict.outcome is outcome
    assert verdict.cost.volume_m3 == pytest.approx(0.021e-3 if outcome is CAUTION else 0.0)


# --- what stays behind


def behind(*at: Any, litres: float | None = None, **more: Any) -> Any:
    worst = max(at, key=lambda one: one.unusable_m3)
    volume_m3 = worst.unusable_m3 if litres is None else litres / 1e3
    return Made(
        **(
            {
                "at": at,
                "worst": worst,
                "volume_m3": volume_m3,
                "held": False,
                "opened": None,
                "uncovered_m3": None,
                "gaps_matter": False,
            }
            | more
        )
    )


@pytest.mark.parametrize(
    ("gross_l", "at", "outcome", "words"),
    [
        # 0.15 L at half a minute of 5 mL/s; 1.25 % of 60 L are 0.75; where a sump's own drain draws, up to four times 236.6 mL do not
        # count.
        (8.0, left(1.0, CRUISE, 0.15), PASS, "most is cut off from the outlets at cruise"), (8.0, left(1.0, CRUISE, 0.151), CAUTION,
         "0.15 L in a pocket"),
        (60.0, left(1.0, CRUISE, 0.75), PASS, "0.75 L"), (60.0, left(1.0, CRUISE, 0.751), CAUTION, "0.75 L"), (60.0, left(5.0, CRUISE,
         0.8), NOT_ASKED, "tells it"),
        (60.0, left(1.0, CRUISE, 0.0004), PASS, "nothing is cut off from the outlets at any of 1 flight attitudes"),
        (60.0, left(1.0, CRUISE, 0.0006), PASS, "most is cut off"), (60.0, left(1.0, PARKED, 0.9), NOT_CHECKED, "needs an outlet"),
        (60.0, left(1.0, CRUISE, 0.946, sump_drain="drain"), PASS,
         "; 0.95 L at most, at cruise (pitch 0.0°, roll 0.0°), in the sump that drain draws from"),
        (60.0, left(1.0, CRUISE, 0.947, sump_drain="drain"), CAUTION, "0.95 L in a pocket"),
    ],
)  # fmt: skip
def test_fuel_that_is_cut_off(
    gross_l: float, at: Any, outcome: Outcome, words: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(unusable, "replace", lambda one, **more: Made(**(vars(one) | more)))
    (verdict,) = unusable.fuel_trapped_in_pocket.judge(study(tank(gross_l, held={"unusable": behind(at)})))
    assert (verdict.outcome, words in plain(verdict.evidence)) == (outcome, True), told(verdict)
    assert verdict.cost.volume_m3 == (at.trapped_m3 if outcome is CAUTION else 0.0)


def test_of_several_attitudes_the_worst_is_told_and_the_others_named(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(unusable, "replace", lambda one, **more: Made(**(vars(one) | more)))
    climb, held = Attitude("climb", "flight", radians(8)), Attitude("slip", "flight", held_s=30.0)
    at = (left(1.0, CRUISE, 0.8), left(1.0, climb, 0.9), left(1.0, SLIP, 0.1), left(1.0, held, 0.95, held=1))
    (verdict,) = unusable.fuel_trapped_in_pocket.judge(study(tank(held={"unusable": behind(*at)})))
    assert "at climb (pitch +8.0°, roll 0.0°): 0.90 L in a pocket" in plain(verdict.evidence)
    assert plain(verdict.evidence).endswith("; more than 0.75 L also at cruise")
    assert verdict.cost.volume_m3 == 0.9e-3
    # What an attitude that is held for a time cuts off is told, and does not count.
    (verdict,) = unusable.fuel_trapped_in_pocket.judge(
        study(tank(held={"unusable": behind(left(1.0, CRUISE, 0.1), left(0.4, held, 0.95, held=1))}))
    )
    assert (
        verdict.outcome,
        plain(verdict.evidence).endswith(f"; 0.95 L at {held.text}, 0.40 L unusable in that time"),
    ) == (PASS, True)


@pytest.mark.parametrize(
    ("gross_l", "litres", "more", "outcome"),
    [
        # A gallon, or 5 % of 100 L; twice that, or 9 L of half an hour, is far.
        (60.0, 3.78, {}, PASS), (60.0, 3.79, {}, CAUTION), (100.0, 5.0, {}, PASS), (100.0, 5.01, {}, CAUTION), (60.0, 7.57, {}, CAUTION),
        (60.0, 7.58, {}, FAIL),
        (100.0, 8.99, {}, CAUTION), (100.0, 9.01, {}, FAIL), (60.0, 9.0, {"uncovered_m3": 7.5e-3}, CAUTION), (60.0, 9.0,
         {"uncovered_m3": 7.6e-3}, FAIL),
        (60.0, 9.0, {"opened": Made(volume_m3=7.5e-3)}, CAUTION), (60.0, 9.0, {"opened": Made(volume_m3=7.6e-3)}, FAIL),
    ],
)  # fmt: skip
def test_how_much_may_stay_behind(
    gross_l: float, litres: float, more: dict[str, Any], outcome: Outcome, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(unusable, "replace", lambda one, **more: Made(**(vars(one) | more)))
    monkeypatch.setattr(unusable, "bridging", lambda *_: "")
    (verdict,) = unusable.unusable_large.judge(
        study(tank(gross_l, held={"unusable": behind(left(litres, CRUISE), **more)}))
    )
    assert (verdict.outcome, verdict.cost.volume_m3) == (outcome, 0.0 if outcome is PASS else litres / 1e3)
    monkeypatch.setattr(unusable, "bridging", lambda *_: "a header bridges it")
    (verdict,) = unusable.unusable_large.judge(
        study(tank(gross_l, held={"unusable": behind(left(litres, CRUISE), **more)}))
    )
    assert verdict.outcome is (CAUTION if outcome is FAIL else outcome)
    assert ("bridges" in plain(verdict.evidence)) == (outcome is FAIL)


@pytest.mark.parametrize(
    ("at", "mend"),
    [
        (left(5.0, CRUISE, over_m=0.01), "First lower the feed line"), (left(5.0, CRUISE, 3.0),
         "Open a notch at the floor so that fuel runs to the outlet from"),
        (left(5.0, CRUISE, 2.0), "At that attitude the fuel lies lowest at (100, 200, 300) mm"), (left(5.0, CRUISE, lowest_m=None), ""),
        (left(5.0, CRUISE, 0.9, sump_drain="drain"), "At that attitude"),
        (left(2.0, CRUISE, 1.9, sump_drain="drain"), "Make the sump at (1000, 2000, 3000) mm of its mesh smaller, down to the 0.24 L"),
    ],
)  # fmt: skip
def test_what_to_do_about_what_stays_behind(at: Any, mend: str, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(unusable, "replace", lambda one, **more: Made(**(vars(one) | more)))
    assert plain(said(unusable._nearer(tank(), at))).startswith(mend)


def test_how_much_stays_where_is_told_in_parts() -> None:
    parts = plain(said(unusable._parts(behind(left(5.0, CRUISE, 2.0, over_m=0.0125)))))
    assert parts == (
        "5.00 L unusable at cruise (pitch 0.0°, roll 0.0°): 3.00 L below the outlets or below a high point of the feed line, 12.5 mm above"
        " its outlet, 2.00 L in pockets"
    )
    assert "held for ever it would be" in plain(
        said(unusable._parts(behind(left(5.0, CRUISE, held=1, sustained_m3=6e-3))))
    )
    assert "held for ever it would be" not in plain(said(unusable._parts(behind(left(5.0, CRUISE, held=1)))))


@pytest.mark.parametrize(
    ("stated_l", "combined_l", "outcome"),
    [
        # Within what may stay (3.79 L) a minute, 0.3 L, is little; above it half a minute, or a tenth more.
        (2.0, 2.3, PASS), (2.0, 2.301, CAUTION), (3.5, 3.78, PASS), (3.5, 3.86, CAUTION), (4.0, 4.399, PASS), (4.0, 4.41, CAUTION), (2.0,
         1.0, PASS),
    ],
)  # fmt: skip
def test_where_tilts_come_together_little_more_may_stay(stated_l: float, combined_l: float, outcome: Outcome) -> None:
    one = tank(held={"unusable": behind(left(stated_l, CRUISE))}, combined=left(combined_l, SLIP))
    (verdict,) = unusable.unusable_at_combined_attitudes.judge(study(one))
    assert verdict.outcome is outcome
    assert verdict.cost.volume_m3 == pytest.approx((combined_l - stated_l) / 1e3 if outcome is CAUTION else 0.0)


# --- room, filling, endurance


def full(litres: float, limited_by: str = "filler", shut_l: float = 0.0) -> Any:
    return Made(volume_m3=litres / 1e3, attitude=PARKED, limited_by=limited_by, trapped_air_m3=shut_l / 1e3)


@pytest.mark.parametrize(
    ("room_l", "space_l", "outcome", "words", "mend"),
    [
        (1.2, 1.2, PASS, "1.20 L stay free under the vent: 2.0 % of 60.00 L", ""), (1.1999, 1.1999, FAIL, "1.9 % of 60.00 L",
         "Lower the lip of main's filler"),
        (1.0, 1.0004, FAIL, "1.6 % of", "neck reach further down into the tank: 0.20 L more must stay free."), (0.0, 0.0, FAIL, "0.0 %",
         ": 1.20 L more"),
        (1.0, 1.2, FAIL, "(0.20 L of air that no vent lets out do not count)", "Move the vent of main to the top"), (1.0, 1.1, FAIL,
         "0.10 L", "Lower the lip"),
    ],
)  # fmt: skip
def test_room_for_fuel_that_warms(
    room_l: float, space_l: float, outcome: Outcome, words: str, mend: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(
        capacity, "_small", lambda layout, where, host, evidence, mend: capacity.failed(where, evidence, mend)
    )
    held = {"room_m3": room_l / 1e3, "expansion_m3": space_l / 1e3, "filled": full(58.0)}
    (verdict,) = capacity.expansion_space_small.judge(study(tank(held=held, design={"filler": 1, "vent": [1]})))
    assert (verdict.outcome, words in plain(verdict.evidence), mend in plain(verdict.mend)) == (outcome, True, True), (
        told(verdict)
    )
    assert ("do not count" in plain(verdict.evidence)) == (space_l - room_l > 0.0005)


@pytest.mark.parametrize(
    ("usable_l", "apart_l", "outcome", "words"),
    [
        ((10.0, 5.00001), 0.0, PASS, "15.00 L usable"),
        ((10.0, 4.999), 0.0, FAIL, "last 29.9 min at 30.0 L/h"),
        ((10.0, 6.0), 1.001, FAIL, "15.00 L usable"),
    ],
)
def test_half_an_hour_of_usable_fuel(usable_l: tuple[float, ...], apart_l: float, outcome: Outcome, words: str) -> None:
    given = study(
        *(tank(name=f"t{k}", held={"usable_m3": one / 1e3}) for k, one in enumerate(usable_l)),
        flows={"max_continuous": 15e-3 / 1800},
    )
    given.layout.tanks = given.tanks
    given.exchange = Made(unknown=(), apart=(Made(unusable_m3=(2.0 + apart_l) / 1e3, own_m3=2e-3),))
    (verdict,) = capacity.endurance_below_half_hour.judge(given)
    assert (verdict.outcome, words in plain(verdict.evidence)) == (outcome, True), told(verdict)
    if outcome is FAIL:
        assert verdict.cost.short_s == pytest.approx(0.12, abs=0.01)
        assert "1 mL more must be usable" in plain(verdict.mend) or "2 mL more" in plain(verdict.mend)


@pytest.mark.parametrize(
    ("litres", "by", "shut_l", "outcome", "words", "mend"),
    [
        (54.0, "filler", 0.0, PASS, "54.00 L go in before fuel runs out of its filler: 90.0 % of 60.00 L", ""),
        (53.9, "filler", 0.6, CAUTION, "89.8 % of 60.00 L; 0.60 L of air are trapped", ""), (53.9, "vent", 0.0004, CAUTION, "",
         "Lead the way out of vent higher"),
    ],
)  # fmt: skip
def test_how_full_a_tank_can_be(litres: float, by: str, shut_l: float, outcome: Outcome, words: str, mend: str) -> None:
    one = tank(held={"filled": full(litres, by, shut_l)}, design={"filler": Made(name="filler")})
    (verdict,) = filler.filler_low.judge(study(one))
    assert (verdict.outcome, words in plain(verdict.evidence), plain(verdict.mend).startswith(mend)) == (
        outcome,
        True,
        True,
    ), told(verdict)
    assert ("trapped" in plain(verdict.evidence)) == (shut_l > 0.0005)
    assert verdict.cost.volume_m3 == pytest.approx(0.0 if outcome is PASS else 6.1e-3)


@pytest.mark.parametrize(
    ("engine", "gasoline", "bore_in", "outcome"),
    [
        ("piston", True, 2.36, PASS), ("piston", True, 2.361, FAIL), ("piston", True, 1.0, PASS), ("turbine", False, 2.95, PASS),
        ("turbine", False, 2.949, FAIL),
        ("turbine", True, 2.949, FAIL), ("piston", False, 1.0, NOT_ASKED), ("piston", True, None, NOT_CHECKED), ("turbine", False, None,
         NOT_CHECKED),
    ],
)  # fmt: skip
def test_how_wide_a_filler_is(engine: str, gasoline: bool, bore_in: float | None, outcome: Outcome) -> None:
    one: Any = Made(bore_m=None if bore_in is None else bore_in * 0.0254)
    assert filler._size(study(engine=engine, gasoline=gasoline).layout.design, "x", one).outcome is outcome


@pytest.mark.parametrize(
    ("low_m", "high_m", "outer", "sides", "outcome", "words"),
    [
        # The wall at x = 1. Half an inch, and 25 mm for a wall that nobody stated; the engine stands ahead of it (-1).
        (1.0378, 2.0, False, {-1.0}, PASS, "its inside is 37.8 mm from"), (1.0376, 2.0, False, {-1.0}, NOT_CHECKED,
         "which leaves 24.9 mm for the wall"),
        (1.0128, 2.0, False, {-1.0}, NOT_CHECKED, "needs a measure of its wall"), (1.0126, 2.0, False, {-1.0}, FAIL, "12.6 mm from"),
        (1.0128, 2.0, True, {-1.0}, PASS, "its outside is 12.8 mm"), (1.0, 2.0, True, {-1.0}, FAIL,
         "reaches through the firewall's plane by 0.0 mm"),
        (0.9, 2.0, True, {-1.0}, FAIL, "reaches through the firewall's plane by 100.0 mm"), (0.0, 0.9, True, {-1.0}, FAIL,
         "on the engine's side of the firewall, 100.0 mm"),
        (0.0, 0.9, True, {1.0}, PASS, "100.0 mm"), (1.1, 2.0, True, set(), NOT_CHECKED, "needs a component of the kind engine"),
        (1.1, 2.0, True, {1.0}, FAIL, "on the engine's side"), (0.5, 1.001, True, {1.0}, FAIL, "plane by 1.0 mm"),
    ],
)  # fmt: skip
def test_how_near_a_tank_is_to_the_firewall(
    low_m: float, high_m: float, outer: bool, sides: set[float], outcome: Outcome, words: str
) -> None:
    bounds = (np.array([low_m, 0, 0]), np.array([high_m, 1, 1]))
    found = firewall._gap(tank(outer_m=bounds if outer else None, bounds_m=None if outer else bounds), 1.0, sides)
    assert (found.outcome, words in plain(found.evidence)) == (outcome, True), told(found)
    if "12.6" in words:
        assert "at least 0.1 mm and its wall's thickness" in plain(found.mend)


@pytest.mark.parametrize(
    ("bears_pa", "in_cabin", "factor", "outcome"),
    [
        # Its fuel presses with 25 kPa in a landing, with 20 in flight; 24.13 kPa are asked for in a test, or 30.
        (25e3, None, 3.8, PASS), (24.9e3, None, 3.8, CAUTION), (24.9e3, True, 3.8, FAIL), (20e3, None, 3.8, CAUTION), (19.9e3, None, 3.8,
         FAIL),
        (19.9e3, False, 3.8, FAIL), (25e3, None, None, NOT_CHECKED), (None, None, 3.8, NOT_ASKED),
    ],
)  # fmt: skip
def test_what_a_tank_is_stated_to_bear(
    bears_pa: float | None, in_cabin: bool | None, factor: float | None, outcome: Outcome
) -> None:
    proof = Made(full_pa=25e3, full_by="9 g forward", flight_pa=20e3, pressure_pa=24.13e3, asked_by="a rule")
    one = tank(proof=proof, design={"bears_pa": bears_pa, "in_cabin": in_cabin})
    (verdict,) = pressed.tank_bears_too_little.judge(study(one, factor=factor))
    assert verdict.outcome is outcome
    proof.pressure_pa = 25e3 / (1.0 - 1e-3) + 0.1
    (verdict,) = pressed.tank_bears_too_little.judge(study(tank(proof=proof, design={"bears_pa": 25e3})))
    assert verdict.outcome is CAUTION


# --- measured, stated, outlets


@pytest.mark.parametrize(
    ("share", "within", "outcome", "words"),
    [
        (1.02, 0.02, PASS, "accepted: +2.0 % against what was drawn, within 2.0 %"),
        (1.03, 0.02, CAUTION, "to be looked at: +3.0 %"),
        (0.9, 0.01, PASS, "-10.0 %"),
    ],
)
def test_a_tank_larger_than_drawn(share: float, within: float, outcome: Outcome, words: str) -> None:
    found = measured._filled("main", Made(share=share, within=within, date="today", fewer_m3=0.0))
    assert (found.outcome, words in plain(found.evidence)) == (outcome, True)
    can = Made(share=0.9, within=0.01, date="today", fewer_m3=2e-3)
    assert "a can of 2.00 L that was noted before" in plain(measured._filled("main", can).evidence)
    assert measured._filled("main", can).outcome is CAUTION


@pytest.mark.parametrize(
    ("computed_l", "measured_l", "outcome", "more_l"),
    [
        # 0.2 L, or 5 % of 10 L.
        (1.0, 1.1999, PASS, 0.0), (1.0, 1.201, FAIL, 0.201), (1.0, 0.8001, PASS, 0.0), (1.0, 0.799, CAUTION, 0.0), (10.0, 10.4999, PASS,
         0.0),
        (10.0, 10.51, FAIL, 0.51),
        (10.0, 9.5001, PASS, 0.0), (10.0, 9.49, CAUTION, 0.0), (0.1, 0.0, PASS, 0.0),
    ],
)  # fmt: skip
def test_unusable_fuel_as_it_was_measured(
    computed_l: float, measured_l: float, outcome: Outcome, more_l: float
) -> None:
    found = measured._unusable(tank(held={"unusable": behind(left(computed_l, CRUISE), litres=99.0)}), measured_l / 1e3)
    assert found.outcome is outcome
    assert found.cost.volume_m3 == pytest.approx(more_l / 1e3)
    assert (
        f"accepted from {max(0.0, computed_l - max(0.2, computed_l / 20)):.2f} L"[:18] in plain(found.evidence)
        or computed_l == 0.1
    )


@pytest.mark.parametrize(
    ("measured_l", "outcome"), [(4.0, PASS), (3.99, FAIL), (6.0, PASS), (6.01, CAUTION), (None, NOT_CHECKED)]
)
def test_a_trip_as_it_was_measured(measured_l: float | None, outcome: Outcome) -> None:
    one: Any = Made(measured_trip_m3=4e-3)
    found = (
        None
        if measured_l is None
        else Made(measured_m3=measured_l / 1e3, computed_m3=5e-3, least_m3=4e-3, most_m3=6e-3)
    )
    verdict = measured._trip("x", one, found)
    assert (verdict.outcome, verdict.cost.volume_m3) == (outcome, pytest.approx(1.01e-3 if outcome is FAIL else 0.0))


@pytest.mark.parametrize(
    ("flows", "outcome", "words"),
    [
        ({"takeoff": 3.0, "max_continuous": 3.0, "cruise": 3.0}, PASS, "takeoff"), ({"takeoff": 3.0, "max_continuous": 3.01,
         "cruise": 2.0}, FAIL, "is above takeoff"),
        ({"takeoff": 3.0, "cruise": 3.01}, FAIL, "cruise ("), ({"takeoff": 3.0, "cruise": 3.0}, NOT_CHECKED,
         "needs flows named max_continuous"),
        ({"cruise": 3.0}, NOT_CHECKED, "named takeoff and max_continuous"), ({"takeoff": 1.0, "max_continuous": 2.0, "cruise": 3.0}, FAIL,
         "is above max_continuous"),
    ],
)  # fmt: skip
def test_flows_that_are_out_of_order(flows: dict[str, float], outcome: Outcome, words: str) -> None:
    (verdict,) = stated.flows_out_of_order.judge(study(flows={name: one / 3.6e6 for name, one in flows.items()}))
    assert (verdict.outcome, words in plain(verdict.evidence)) == (outcome, True), told(verdict)


@pytest.mark.parametrize(
    ("kind", "density", "outcome", "words"),
    [
        ("avgas", 680.0, PASS, ""), ("avgas", 760.0, PASS, ""), ("avgas", 679.0, CAUTION, "no kind of fuel has it"), ("avgas", 761.0,
         CAUTION, "mogas may have it"),
        ("diesel", 800.0, PASS, ""), ("diesel", 861.0, CAUTION, "no kind"), ("jet", 850.0, CAUTION, "diesel may have it"), ("mogas",
         780.0, PASS, ""),
        ("diesel", 780.0, CAUTION, "mogas and jet may have it"),
    ],
)  # fmt: skip
def test_densities_of_each_kind(kind: str, density: float, outcome: Outcome, words: str) -> None:
    (verdict,) = stated.fuel_kind_against_density.judge(study(kind=kind, density=density))
    assert (verdict.outcome, words in plain(verdict.evidence)) == (outcome, True), told(verdict)
    assert ("look at its unit" in plain(verdict.mend)) == ("no kind" in words)


def strained(**more: Any) -> Any:
    strainer = Made(**({"mesh_per_m": None, "clear_area_m2": None, "diameter_m": None} | more))
    return tank(design={"outlet": [Made(name="o", bore_m=0.008, strainer=strainer)]})


@pytest.mark.parametrize(("mesh", "outcome"), [(8.0, PASS), (7.99, FAIL), (16.0, PASS), (16.01, FAIL), (12.0, PASS)])
def test_the_mesh_of_a_strainer(mesh: float, outcome: Outcome) -> None:
    (verdict,) = outlet.strainer_mesh_out_of_range.judge(study(strained(mesh_per_m=mesh / 0.0254)))
    assert (verdict.outcome, plain(verdict.evidence)) == (outcome, f"{mesh:.3g} meshes to the inch")


@pytest.mark.parametrize(
    ("times", "line_mm", "outcome"),
    [(5.001, 8.0, PASS), (4.999, 8.0, FAIL), (5.001, 6.0, PASS), (5.001, 9.0, FAIL), (6.33, 9.0, PASS)],
)
def test_the_clear_area_of_a_strainer(times: float, line_mm: float, outcome: Outcome) -> None:
    bore_m2 = pi / 4.0 * 0.008**2
    lines = (Made(design=Made(bore_m=line_mm / 1e3)),)
    (verdict,) = outlet.strainer_area_small.judge(study(strained(clear_area_m2=times * bore_m2), lines=lines))
    assert verdict.outcome is outcome
    wide = max(8.0, line_mm)
    assert (
        f"{times * (8.0 / wide) ** 2:.1f} times the {pi / 4.0 * wide**2:.1f} mm² of a bore of {wide:.1f} mm"
        in plain(verdict.evidence)
    )
    if outcome is FAIL:
        assert f"at least {251.4 if line_mm == 8.0 else 318.1} mm² of clear" in plain(verdict.mend)


@pytest.mark.parametrize(("wide_mm", "outcome"), [(8.0, PASS), (7.9, FAIL), (12.0, PASS)])
def test_the_width_of_a_strainer(wide_mm: float, outcome: Outcome) -> None:
    (verdict,) = outlet.strainer_narrower_than_outlet.judge(study(strained(diameter_m=wide_mm / 1e3)))
    assert verdict.outcome is outcome


# --- vents


@pytest.mark.parametrize(
    ("vent_m", "outcome", "words"),
    [
        (0.15001, PASS, "50.0 mm above the fuel, and the air there reaches up to 100.0 mm"),
        (0.1499, FAIL, "49.9 mm above"),
        (0.18, PASS, "80.0 mm above the fuel"),
    ],
)
def test_where_a_vent_opens_in_its_air(vent_m: float, outcome: Outcome, words: str) -> None:
    # Fuel up to 0.1, air up to 0.2: its upper half begins at 0.15. What is 0.1 % of the tank is no airspace.
    air = Made(volume_m3=1e-3, vent_level_m=vent_m, top_level_m=0.2, vent="vent", top_m=(1.0, 2.0, 3.0))
    other = Made(volume_m3=1e-3, vent_level_m=0.19, top_level_m=0.2, vent="other", top_m=(1.0, 2.0, 3.0))
    trifle = Made(volume_m3=0.06e-3, vent_level_m=0.1, top_level_m=0.2, vent="trifle", top_m=(1.0, 2.0, 3.0))
    parked = Made(attitude=PARKED, vented=[trifle, other, air], full_level_m=0.1)
    given = study(plumbing=Made(air={"main": [Made(attitude=NOSE_IN), parked]}))
    found = vent._height(given, tank(60.0), "e")
    assert (found.outcome, words in plain(found.evidence)) == (outcome, True), told(found)
    assert "vent opens" in plain(found.evidence)
    if outcome is FAIL:
        assert "up by at least 0.1 mm, better to the top of that air at (1000, 2000, 3000) mm" in plain(found.mend)
    parked.vented = [trifle]
    assert "no air to speak of" in plain(vent._height(given, tank(60.0), "e").evidence)


@pytest.mark.parametrize(("shut_l", "outcome"), [(0.06, PASS), (0.061, CAUTION), (0.59, CAUTION), (0.6, FAIL)])
def test_air_that_is_shut_in(shut_l: float, outcome: Outcome, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(vent, "_full", lambda *_: None)
    monkeypatch.setattr(vent, "_height", lambda study, tank, evidence: vent.passed(tank.name, evidence))
    air = [
        Made(unvented_m3=one / 1e3, attitude=PARKED, unvented_top_m=(1.0, 2.0, 3.0), setting="")
        for one in (0.0, shut_l)
    ]
    given = study(tank(60.0, design={"vent": [1]}), plumbing=Made(air={"main": air[:1]}, air_as_set={"main": air[1:]}))
    (verdict,) = vent.vent_not_at_top.judge(given)
    assert (verdict.outcome, f"{shut_l / 0.6:.2f} % of the tank" in plain(verdict.evidence)) == (outcome, True), told(
        verdict
    )
    assert verdict.cost.volume_m3 == (0.0 if outcome is PASS else pytest.approx(shut_l / 1e3))


@pytest.mark.parametrize(
    ("levels", "outcome", "words"),
    [
        # The full tank's level is 1: 60 Pa are 8.5 mm of fuel.
        ({"a": 1.01}, PASS, "10.0 mm above the fuel"), ({"a": 1.0}, FAIL, "drowned by 0.0 mm"), ({"a": 0.9}, FAIL, "drowned by 100.0 mm"),
        ({"a": 0.9, "b": 1.1}, CAUTION, "b stands in air and lets it out"), ({"a": 0.9, "b": 1.1, "c": 1.2}, CAUTION,
         "b, c stand in air and let it out"),
        ({"a": 0.992, "b": 1.1}, PASS, "drowned by 8.0 mm"), ({"a": 0.99, "b": 1.1}, CAUTION, "drowned by 10.0 mm"), ({"a": 0.992,
         "b": 0.99}, FAIL, "by 8.0 mm"),
    ],
)  # fmt: skip
def test_a_vent_of_the_full_tank(levels: dict[str, float], outcome: Outcome, words: str) -> None:
    air = Made(vent_levels_m=levels, full_level_m=1.0, setting="", limited_by="filler", attitude=PARKED)
    other = Made(vent_levels_m={"a": 1.5}, full_level_m=1.0, setting="", limited_by="filler", attitude=NOSE_IN)
    shut = Made(vent_levels_m={"b": 0.5}, full_level_m=1.0, setting="shut", limited_by="filler", attitude=NOSE_IN)
    given = study(plumbing=Made(air={"main": [other, air]}, air_as_set={"main": [shut]}))
    found = vent._drowned(given, "a", tank())
    assert (found.outcome, words in plain(found.evidence), bool(found.mend)) == (outcome, True, outcome is not PASS), (
        told(found)
    )


@pytest.mark.parametrize(
    ("high_m", "outcome", "words"),
    [(1.001, PASS, "1.0 mm above the filler's lip"), (1.0, FAIL, "0.0 mm below"), (0.9, FAIL, "100.0 mm below")],
)
def test_a_vent_line_rises_above_the_lip(high_m: float, outcome: Outcome, words: str) -> None:
    one = tank(design={"filler": Made(position_m=np.array([0.0, 0.0, 1.0]))})
    run: Any = Made(name="vent", start=Made(tank="main"), way=Made(steps=()),
                    at_phase=lambda phase: [Made(highest_level_m=high, attitude=PARKED) for high in (2.0,
                     high_m) if phase == "ground"])  # fmt: skip
    found = vent_line._siphon(study(one), run)
    assert (found.outcome, words in plain(found.evidence)) == (outcome, True), told(found)


@pytest.mark.parametrize(
    ("above_m", "outcome", "words"),
    [(0.0, PASS, "0.0 mm below"), (-0.1, PASS, "100.0 mm below"), (0.001, FAIL, "1.0 mm above the highest")],
)
def test_a_full_tank_on_a_slope(above_m: float, outcome: Outcome, words: str) -> None:
    sloped: Any = [Made(vents=[Made(opening="main.vent", above_m=one)], attitude=PARKED) for one in (-1.0, above_m)]
    (found,) = vent_line._spills(sloped, "main")
    assert (found.outcome, words in plain(found.evidence)) == (outcome, True), told(found)


@pytest.mark.parametrize(("bore_in", "outcome"), [(0.18, PASS), (0.17, CAUTION), (0.3, PASS)])
def test_how_wide_a_vent_line_is(bore_in: float, outcome: Outcome, monkeypatch: pytest.MonkeyPatch) -> None:
    # 60 L at 5.42 % a minute (7.62 m/s over 8434 m) and 36 L/h: 3.85 L a minute.
    monkeypatch.setattr(vent_line, "_breathing", lambda *_: ("main",))
    run = Made(name="vent", bore_m=bore_in * 0.0254)
    given = study(
        tank(60.0), flows={"takeoff": 1e-5, "cruise": 5e-6}, plumbing=Made(of_kind=lambda kind: [run], loose=())
    )
    verdict, *_ = vent_line.vent_bore_small.judge(given)
    assert verdict.outcome is outcome
    told_m_s = 3.85235e-3 / 60.0 / (pi / 4.0 * (bore_in * 0.0254) ** 2)
    assert f"3.85 L of air a minute come in at {told_m_s:.2f} m/s" in plain(verdict.evidence)


# --- feed lines


@pytest.mark.parametrize(
    ("tank_name", "share", "back", "bore_mm", "outcome", "words"),
    [
        # 36 L/h through 2.9 mm make 1.514 m/s, and half of that with half the share; as much return doubles it. Behind a pump 6 m/s.
        ("main", 1.0, 0.0, 2.914, PASS, "36.0 L/h at take-off through 2.9 mm make 1.50 m/s; 1.50 m/s are"), ("main", 1.0, 0.0, 2.91,
         CAUTION, "make 1.50 m/s"),
        ("main", 0.5, 0.0, 2.1, PASS, "50 % of 36.0 L/h at take-off through 2.1 mm make 1.44 m/s"), ("main", 0.5, 0.0, 2.0, CAUTION,
         "make 1.59 m/s"),
        (None, 0.5, 0.0, 1.46, PASS, "make 5.97 m/s; 6.00 m/s are usual at most"), (None, 0.5, 0.0, 1.45, CAUTION, "make 6.06 m/s"),
        ("main", 1.0, 1e-5, 4.13, PASS, "36.0 L/h at take-off and 36.0 L/h return through 4.1 mm make 1.49 m/s"), ("main", 1.0, 1e-5,
         4.11, CAUTION, "1.51 m/s"),
    ],
)  # fmt: skip
def test_how_fast_fuel_runs(
    tank_name: str | None, share: float, back: float, bore_mm: float, outcome: Outcome, words: str
) -> None:
    run: Any = Made(name="line", start=Made(tank=tank_name), bore_m=bore_mm / 1e3)
    found = feed._speed(study(tank(design={"flow_share": share})), run, 1e-5, back)
    assert (found.outcome, words in plain(found.evidence)) == (outcome, True), told(found)
    assert ("%" in plain(found.evidence)) == (share < 1.0 and tank_name is not None)
    assert ("return" in plain(found.evidence)) == (back > 0.0)
    if outcome is CAUTION:
        wanted = {2.91: "3.0 mm", 2.0: "2.1 mm", 1.45: "1.5 mm", 4.11: "4.2 mm"}[bore_mm]
        assert plain(found.mend) == f"Use a bore of at least {wanted}."


@pytest.mark.parametrize(
    ("head_m", "outcome", "words"),
    [(0.005, PASS, "5.0 mm above the end"), (0.0, FAIL, "0.0 mm below the end"), (-0.1, FAIL, "100.0 mm below")],
)
def test_whether_fuel_runs_down(head_m: float, outcome: Outcome, words: str) -> None:
    at = [Made(attitude=CRUISE, start_level_m=1.0 + one, end_level_m=1.0) for one in (0.5, head_m)]
    way: Any = Made(name="main to engine", start=Made(tank="main"), end=Made(tank=None), through=(), at_phase=lambda phase: at,
                    way=Made(path=lambda avoid: ("step",)))  # fmt: skip
    verdict, *rest = feed.feed_not_downhill.judge(study(feed="gravity", plumbing=Made(ways=[way], loose=())))
    assert (verdict.outcome, words in plain(verdict.evidence), rest) == (outcome, True, []), told(verdict)
    # By pump only what runs into a tank is asked; with no way to an engine one is needed.
    assert list(feed.feed_not_downhill.judge(study(feed="pump", plumbing=Made(ways=[way], loose=())))) == []
    inner: Any = Made(**(vars(way) | {"end": Made(tank="header")}))
    assert [
        one.outcome for one in feed.feed_not_downhill.judge(study(feed="pump", plumbing=Made(ways=[inner], loose=())))
    ] == [outcome]
    both = study(feed="gravity", plumbing=Made(ways=[inner, way], loose=()))
    assert [one.outcome for one in feed.feed_not_downhill.judge(both)] == [outcome, outcome]
    needed = list(feed.feed_not_downhill.judge(study(feed="gravity", plumbing=Made(ways=[inner], loose=()))))
    assert [one.outcome for one in needed] == [outcome, NOT_CHECKED]


@pytest.mark.parametrize(
    ("forward_g", "pitch_deg", "outcome"),
    [
        (0.2, 0.0, PASS),
        (0.199, 0.0, CAUTION),
        (0.0, 30.0, CAUTION),
        (0.3, -6.0, CAUTION),
        (0.3, -5.0, PASS),
        (0.0005, 13.0, PASS),
    ],
)
def test_the_take_off_run(forward_g: float, pitch_deg: float, outcome: Outcome) -> None:
    run = Attitude("run", "flight", radians(pitch_deg), forward_m_s2=forward_g * 9.80665)
    (verdict,) = feed.take_off_run_not_stated.judge(
        study(feed="gravity", envelope=[CRUISE, Attitude("p", "ground", forward_m_s2=9.0), run])
    )
    assert verdict.outcome is outcome
    if forward_g:
        lies = degrees(atan(forward_g) if pitch_deg == 0.0 else feed._aft(run))
        assert plain(verdict.evidence) == f"at {run.text} fuel lies as at {lies:.1f}° nose up; 11.3° are wanted"


def dip(deep_m: float, drained: bool | None, on: str = "line", place: tuple[float, ...] = (1.0, 2.0, 3.0)) -> Any:
    return Made(proud_m=deep_m, drained=drained, on=on, place_m=place, deep=deep_m > 0.004, level_m=2.0)


@pytest.mark.parametrize(
    ("parked", "nose_in", "outcome", "words"),
    [
        ((), (), PASS, "no undrained low point on the ground"), ((dip(0.003, False),), (), PASS, "no undrained"), ((dip(0.05, True),), (),
         PASS, "; drained: line"),
        ((dip(0.05, False),), (), FAIL, "line dips by 50.0 mm at (1000, 2000, 3000) mm without a drain"), ((), (dip(0.05, False),),
         CAUTION, "dips by 50.0 mm"),
        ((dip(0.05, False),), (dip(0.09, False, "b"),), FAIL, "line dips by 50.0 mm"), ((dip(0.05, None),), (), NOT_CHECKED,
         "whether line has a drain"),
        ((dip(0.05, False), dip(0.06, False, "b"), dip(0.01, False)), (), FAIL, "b dips by 60.0 mm"),
        ((), (dip(0.05, False), dip(0.06, False, "b"), dip(0.07, False, "c")), CAUTION, "without a drain; so do 2 more on this way"),
        ((dip(0.05, False),), (dip(0.09, False, "b"), dip(0.09, False, "c")), FAIL, "mm without a drain"),
    ],
)  # fmt: skip
def test_a_low_point_of_a_feed_line(parked: Any, nose_in: Any, outcome: Outcome, words: str) -> None:
    at = [Made(attitude=PARKED, low=parked), Made(attitude=NOSE_IN, low=nose_in)]
    run: Any = Made(name="line", at_phase=lambda phase: at if phase == "ground" else [], way=Made(steps=()))
    found = feed._low(study(), run)
    assert (found.outcome, words in plain(found.evidence)) == (outcome, True), told(found)
    assert ("more on this way" in plain(found.evidence)) == (len({one.on for one in parked if one.drained is False and one.deep}
           or {one.on for one in nose_in if one.drained is False and one.deep}) > 1)  # fmt: skip


@pytest.mark.parametrize(
    ("starts_m", "pump", "outcome", "words"),
    [
        (1.9, False, FAIL, "50.0 mm proud of the line beside it, and 100.0 mm above the outlet"), (2.0, False, CAUTION, "50.0 mm proud"),
        (1.9, True, CAUTION, "proud"),
    ],
)  # fmt: skip
def test_a_high_point_of_a_feed_line(starts_m: float, pump: bool, outcome: Outcome, words: str) -> None:
    at = [Made(attitude=CRUISE, high=[dip(0.05, None), dip(0.01, None)], start_level_m=starts_m)]
    run: Any = Made(name="line", end="end", at_phase=lambda phase: at if phase == "flight" else [], way=Made(steps=()))
    parts = {"end": Pump.model_construct(name="pump") if pump else None}
    found = feed._high(study(components=parts), run)
    assert (found.outcome, words in plain(found.evidence)) == (outcome, True), told(found)
    assert "by 50.0 mm, or raise" in plain(found.mend)


# --- returns, one opening, valves


@pytest.mark.parametrize(
    ("pressure_pa", "throttled_pa", "most_pa", "unstated", "outcome", "words"),
    [
        (20e3, 20e3, 20e3, (), PASS,
         "36.0 L/h of return ask for 20.00 kPa at a; throttled, with 72.0 L/h coming back, for 20.00 kPa; it may get 20.00 kPa"),
        (20.1e3, 30e3, 20e3, (), FAIL, "20.10 kPa"), (20e3, 20.1e3, 20e3, (), CAUTION, "20.10 kPa"), (20e3, 20e3, None, (), NOT_CHECKED,
         "needs the most_return_pressure"),
        (20e3, 20e3, 20e3, ("f",), NOT_CHECKED, "needs the drop of f; without it"), (20.1e3, 20e3, 20e3, ("f",), FAIL, ""), (0.0, 1.0,
         20e3, (), PASS, "ask for none at a"),
    ],
)  # fmt: skip
def test_what_a_return_line_asks_for(
    pressure_pa: float, throttled_pa: float, most_pa: Any, unstated: Any, outcome: Outcome, words: str
) -> None:
    one: Any = Made(start="a", end="b", needs="", attitude=CRUISE, flow_m3_s=1e-5, throttled_m3_s=2e-5, pressure_pa=pressure_pa,
     throttled_pa=throttled_pa,
                    unstated=unstated)  # fmt: skip
    found = back_pressure._at_start(Engine.model_construct(name="engine", most_return_pressure_pa=most_pa), one)
    assert (found.outcome, words in plain(found.evidence)) == (outcome, True), told(found)


def test_how_soon_the_engine_stops_with_its_air_shut_off() -> None:
    # 10 L of air at 101.325 kPa are 1 kPa lower once 10 / 100.325 L more are drawn: 99.68 mL, 9 s at 10 mL/s.
    given = study(flows={"cruise": 5e-6, "takeoff": 1e-5})
    assert (
        plain(said(one_opening._after(given, 0.01, 1e3)))
        == "9 s from full at takeoff, at sea level (10.00 L of air widen by 100 mL)"
    )
    at = [Made(attitude=PARKED, end_level_m=1.0), Made(attitude=NOSE_IN, end_level_m=0.0)]
    way: Any = Made(at_phase=lambda phase: at if phase == "ground" else [])
    air = {
        "a": [Made(attitude=PARKED, full_level_m=2.0), Made(attitude=NOSE_IN, full_level_m=9.0)],
        "b": [Made(attitude=PARKED, full_level_m=1.5)],
    }
    given = study(plumbing=Made(air=air))
    engine: Any = Made(inlet_pressure_pa=2e3)
    assert one_opening._head_pa(given, engine, ("b", "a"), [way]) == pytest.approx(720.0 * 9.80665 - 2e3)
    assert one_opening._head_pa(given, Made(inlet_pressure_pa=None), ("b",), [way]) == pytest.approx(360.0 * 9.80665)
    assert one_opening._head_pa(given, engine, (), [way]) == one_opening._head_pa(given, engine, ("a",), []) == 0.0


@pytest.mark.parametrize(
    ("enters_m", "outcome", "words"),
    [
        # Fuel up to 0.9 of a tank from 0 to 1: its top part begins at 0.9 of its height.
        (0.95, PASS, "50.0 mm above the fuel of the full tank"), (0.8, PASS, "0.0 mm above the fuel"), (0.7, FAIL,
         "100.0 mm below the full tank's level, 300.0 mm below the top"),
        (0.79, FAIL, "10.0 mm below the full tank's level, 210.0 mm below"),
    ],
)  # fmt: skip
def test_where_a_return_enters(enters_m: float, outcome: Outcome, words: str, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(returns, "_higher", lambda study, end, attitude, short_m: f"short by {short_m:.3f}")
    monkeypatch.setattr(returns, "loose", lambda *_: iter(()))
    at = [Made(attitude=NOSE_IN, end_level_m=9.0), Made(attitude=PARKED, end_level_m=enters_m)]
    run = Made(name="return", at_phase=lambda phase: at if phase == "ground" else [])
    monkeypatch.setattr(returns, "_into_tanks", lambda study: [(None, run, Made(tank="main"))])
    air = Made(attitude=PARKED, full_level_m=0.8, highest_level_m=1.0, lowest_level_m=0.0)
    (verdict,) = returns.return_not_to_top.judge(study(plumbing=Made(air={"main": [Made(attitude=NOSE_IN), air]})))
    assert (verdict.outcome, words in plain(verdict.evidence)) == (outcome, True), told(verdict)
    if outcome is FAIL:
        assert plain(verdict.mend) == f"short by {min(0.8 - enters_m, 0.9 - enters_m):.3f}"
    air.full_level_m = 0.97  # a tank that is nearly full: the upper tenth does
    for enters, wanted in ((0.9001, PASS), (0.89, FAIL)):
        at[1].end_level_m = enters
        (verdict,) = returns.return_not_to_top.judge(study(plumbing=Made(air={"main": [air]})))
        assert verdict.outcome is wanted
        assert wanted is PASS or plain(verdict.mend) == "short by 0.010"


@pytest.mark.parametrize(
    ("levels", "words"),
    [
        ((1.2, 1.0),
         "from one into two, and from two into one: their lines meet at tee;"
            " both full at the normal ground attitude, one's fuel stands 200.0 mm above"),
        ((1.0, 1.2),
         "from two into one, and from one into two: their lines meet at tee;"
            " both full at the normal ground attitude, two's fuel stands 200.0 mm above"),
        ((1.0, 1.0), "one's fuel stands 0.0 mm above"), ((1.0, 1.0005), "two's fuel stands 0.5 mm above"), ((1.0, None),
         "from one into two"),
    ],
)  # fmt: skip
def test_which_of_two_tanks_fills_the_other(levels: tuple[float | None, ...], words: str) -> None:
    line = {name: Made(start=f"{name}.out", end="tee", name=name) for name in ("one", "two")}
    legs: Any = {
        (a, b): (crossfeed._Leg(line[a], True), crossfeed._Leg(line[b], False))
        for a, b in (("one", "two"), ("two", "one"))
    }
    air = {name: [] if at is None else [Made(full_level_m=at, attitude=PARKED), Made(full_level_m=9.0, attitude=NOSE_IN)]
           for name, at in zip(("one", "two"), levels, strict=True)}  # fmt: skip
    given = study(plumbing=Made(air=air), components={"tee": 0, "one.out": 0, "two.out": 0})
    found = crossfeed._joined(given, "one and two", legs)
    assert words in plain(found.evidence), plain(found.evidence)
    assert ("stands" in plain(found.evidence)) == (None not in levels)
    one_way = crossfeed._joined(given, "one and two", {("two", "one"): legs["two", "one"]})
    if None not in levels:
        side = "above" if (levels[1] or 0.0) >= (levels[0] or 0.0) else "below"
        assert (
            f"two's fuel stands {abs((levels[1] or 0.0) - (levels[0] or 0.0)) * 1e3:.1f} mm {side} that of one"
            in plain(one_way.evidence)
        )
    assert "into the line of one before tee" in plain(one_way.mend)


@pytest.mark.parametrize(
    ("lost_l", "stated", "normal", "told_by"),
    [
        (0.1, True, False, FAIL),
        (0.099, True, False, CAUTION),
        (0.001, True, True, FAIL),
        (5.0, False, False, CAUTION),
        (5.0, False, True, CAUTION),
    ],
)
def test_fuel_that_runs_out_in_flight(lost_l: float, stated: bool, normal: bool, told_by: Outcome) -> None:
    at = Attitude("x", "flight", normal=normal)
    one: Any = Made(
        at=[Made(attitude=at, lost_m3=lost_l / 1e3, over=True), Made(attitude=CRUISE, lost_m3=9.0, over=False)]
    )
    judge = in_flight._told(study(envelope=[CRUISE, *([at] if stated else [])]), one)
    assert judge("x", "y", "z").outcome is told_by
    assert in_flight._more(Made(siphoned_m3=5e-3, lost_m3=5e-3 - 0.4e-6)) == ""
    assert (
        plain(said(in_flight._more(Made(siphoned_m3=5e-3, lost_m3=4e-3))))
        == ", 5.00 L where the line goes on as a siphon"
    )
