"""Figures of the checklist by hand, one function at a time, on a study that is made up: what each is, and what it needs."""

from __future__ import annotations

from math import pi, radians
from types import SimpleNamespace as Made
from typing import Any

import numpy as np
import pytest
from rule_cases import plain

from fuelsys.model.stated.components import Engine
from fuelsys.rules.coverage import figures, figures_tank
from fuelsys.rules.words import said

LEVEL, PARKED = Made(text="cruise (pitch 0.0°, roll 0.0°)"), Made(text="parked (pitch 0.0°, roll 0.0°)")


def engine(most_pa: float | None = None) -> Engine:
    return Engine.model_construct(name="engine", kind="engine", most_inlet_pressure_pa=most_pa)


def made(**more: Any) -> Any:
    """A study of flows, lines and results that somebody wrote down: 36, 30 and 18 L/h, fuel of 720 kg/m3."""
    given: dict[str, Any] = {
        "flows_m3_s": {"takeoff": 1e-5, "max_continuous": 30 / 3.6e6, "cruise": 5e-6}, "line": [], "component": [], "feed": "pump",
        "climb_angle_rad": None, "to": [], "tanks": [], "flow_to_show_m3_s": 1.25e-5, "inlets": [], "groups": [],
    } | more  # fmt: skip
    design = Made(
        **{one: given[one] for one in ("flows_m3_s", "line", "component")}, fuel=Made(density_kg_m3=720.0, kind="avgas"),
        aircraft=Made(feed=given["feed"], climb_angle_rad=given["climb_angle_rad"]), reserve_flow_m3_s=5e-6,
        normal=lambda phase: {"flight": LEVEL, "ground": PARKED}[phase],
    )  # fmt: skip
    return Made(
        layout=Made(design=design), tanks=given["tanks"], flow_to_show_m3_s=given["flow_to_show_m3_s"],
        flows=Made(to=given["to"], inlets=given["inlets"]), in_flight=Made(groups=given["groups"]),
    )  # fmt: skip


def line(kind: str, bore_m: float = 0.008) -> Any:
    return Made(kind=kind, bore_m=bore_m)


def fed(kind: str, needed_m3_s: float = 1e-5, needed_pa: float = 2e3, end: str = "engine") -> Any:
    return Made(kind=kind, needed_m3_s=needed_m3_s, needed_pa=needed_pa, end=end)


def holding(gross_m3: float, unusable_m3: float | None = None) -> Any:
    left = None if unusable_m3 is None else Made(volume_m3=unusable_m3)
    return Made(name="main", capacity=Made(gross_m3=gross_m3, unusable=left))


GALLON_M3 = 3.785411784e-3
NO_FLOWS: dict[str, Any] = {"flows_m3_s": {}}
OF_ALL = [
    ("flow_to_show", {"flow_to_show_m3_s": None}, "not computed: needs flows.takeoff"),
    ("flow_to_show", {}, "45.0 L/h, 0.75 L in a minute: 125 % of take-off"),
    ("flow_to_show", {"feed": "gravity", "line": [line("feed")]}, "45.0 L/h, 0.75 L in a minute: 150 % of take-off"),
    ("flow_to_show", {"line": [line("feed"), line("return")]},
     "45.0 L/h, 0.75 L in a minute: 125 % of take-off, the return flowing on top"),
    ("climb_attitude", {}, "not computed: needs aircraft.climb_angle"),
    ("climb_attitude", {"climb_angle_rad": radians(7.5)}, "nose up 12.5°: climb at 7.5° and 5°"),
    ("least_fuel", {}, "not computed: needs an outlet, and what the test itself draws"),
    ("least_fuel", {"tanks": [holding(0.05, 2e-3), holding(0.05), holding(0.01, 3e-3)]},
     "main 2.00 L; main 3.00 L, and what the test itself draws"),
    ("into_tanks", {"to": [fed("gravity"), fed("pumped")]}, "not computed: needs feed lines into the tank, and flows.takeoff"),
    ("into_tanks", {"to": [fed("gravity"), fed("tank", 2e-5, end="header")]}, "header 72.0 L/h"),
    ("inlet_pressure", {"to": [fed("tank"), fed("suction")]}, "not computed: needs engine.inlet_pressure"),
    ("inlet_pressure", {"to": [fed("gravity"), fed("pumped"), fed("tank", needed_pa=9e3), fed("pumped", needed_pa=3e3)]},
     "at least engine 2.00 kPa; engine 3.00 kPa"),
    ("three_quarters", NO_FLOWS, "75 % of maximum continuous power, within 10 s (naturally aspirated) or 20 s (turbocharged)"),
    ("three_quarters", {},
     "75 % of maximum continuous power, about 22.5 L/h, within 10 s (naturally aspirated) or 20 s (turbocharged)"),
    ("half_hour", NO_FLOWS, "not computed: needs flows.max_continuous"),
    ("half_hour", {}, "at least 15.00 L usable in all"),
    ("reserves", NO_FLOWS, "30 min by day, 45 min by night; not computed: needs flows.cruise"),
    ("reserves", {}, "30 min by day 9.00 L, 45 min by night 13.50 L, at cruise"),
    ("instrument_reserve", NO_FLOWS, "45 min; not computed: needs flows.cruise"),
    ("instrument_reserve", {}, "45 min 13.50 L, at cruise"),
    ("collector", NO_FLOWS, "30 min; not computed: needs flows.cruise"),
    ("collector", {}, "30 min 9.00 L, at cruise"),
    # One ounce for twenty gallons: 1 part in 2560.
    ("bowl", {"tanks": [holding(0.1536), holding(0.1024)]}, "at least 0.10 L for all tanks together"),
    ("thumb_power", NO_FLOWS, "not computed: needs flows.takeoff"),
    # 25.92 kg/h are 57.14 lb/h, over 0.55 of it a horsepower.
    ("thumb_power", {}, "flows.takeoff, 36.0 L/h, is that of 104 hp at most; a stronger engine needs more"),
    ("ultralight", {"tanks": [holding(0.01), holding(5 * GALLON_M3 - 0.01)]}, "18.93 L in all tanks: within 18.93 L"),
    ("ultralight", {"tanks": [holding(0.01), holding(5 * GALLON_M3 - 0.009)]}, "19.93 L in all tanks: over 18.93 L"),
    ("ultralight", {"tanks": [holding(0.01)]}, "10.00 L in all tanks: within 18.93 L"),
    ("after_shut_off", {}, "at most 0.95 L"),
    ("static", {"flow_to_show_m3_s": None, "line": [line("feed")]},
     "speed times bore under 0.5 m2/s; not computed: needs flows.takeoff and feed lines"),
    ("static", {"line": [line("vent")]}, "speed times bore under 0.5 m2/s; not computed: needs flows.takeoff and feed lines"),
    # Speed times bore is 4 Q / (pi d): 4 x 1.25e-5 / (pi x 0.006).
    ("static", {"line": [line("feed", 0.008), line("feed", 0.006), line("vent", 0.004)]},
     f"speed times bore under 0.5 m2/s; {5e-5 / pi / 0.006:.2g} m2/s here at most"),
    ("at_inlet", {}, "not computed: needs an engine"),
    ("at_inlet", {"component": [engine()]}, "engine: not computed: needs its most_inlet_pressure, as its manual says"),
    ("at_inlet", {"component": [Made(name="pump"), engine(4e4)], "inlets": [Made(engine="engine", needs="", pressure_pa=3e4)]},
     "engine: at most 40.00 kPa, as its manual says; computed, nothing drawn: 30.00 kPa"),
    ("at_inlet", {"component": [engine(4e4)],
                  "inlets": [Made(engine="other", needs="", pressure_pa=3e4), Made(engine="engine", needs="x", pressure_pa=3e4)]},
     "engine: at most 40.00 kPa, as its manual says"),
]  # fmt: skip


@pytest.mark.parametrize(("asked", "given", "told"), OF_ALL, ids=[f"{k} {one[0]}" for k, one in enumerate(OF_ALL)])
def test_a_figure_of_the_whole_aircraft(asked: str, given: dict[str, Any], told: str) -> None:
    assert plain(said(getattr(figures, asked)(made(**given)))) == told


def tank(**more: Any) -> Any:
    """A tank of 60 L, 0.5 m long, 0.4 wide and 0.3 high."""
    given: dict[str, Any] = {
        "gross_m3": 0.06, "filled_m3": 0.05, "unusable_m3": 1e-3, "fittings": {}, "switch": [], "outlet": [], "filler": None,
        "usable_m3": 0.049, "cut_off": False, "forces": (), "in_cabin": None, "proof": None, "switches": (), "corrected": None,
        "as_twin": None, "tripped": None,
    } | more  # fmt: skip
    filled = None if given["filled_m3"] is None else Made(volume_m3=given["filled_m3"], limited_by="filler")
    left = (
        None
        if given["unusable_m3"] is None
        else Made(volume_m3=given["unusable_m3"], worst=Made(attitude=LEVEL), held=False)
    )
    design = Made(fittings=given["fittings"], switch=given["switch"], outlet=given["outlet"], filler=given["filler"],
                  in_cabin=given["in_cabin"])  # fmt: skip
    capacity = Made(
        gross_m3=given["gross_m3"], filled=filled, unusable=left, usable_m3=given["usable_m3"], cut_off=given["cut_off"]
    )
    cavity = Made(bounds_m=(np.array([1.0, 2.0, 3.0]), np.array([1.5, 2.4, 3.3])))
    inner = Made(
        cavity=cavity, design=design, corrected=given["corrected"], as_twin=given["as_twin"], tripped=given["tripped"]
    )
    return Made(
        name="main",
        capacity=capacity,
        tank=inner,
        proof=given["proof"],
        forces=given["forces"],
        switches=given["switches"],
    )


def over(deep_m: float, opening: str = "main.filler") -> Any:
    fillers = [Made(opening=opening)]
    return Made(at=(Made(settled=Made(fillers=fillers)),), highest=lambda asked: deep_m if asked == opening else 99.0)


def switch(name: str, trip_m3: float | None) -> Any:
    return Made(name=name, normal=Made(trip_m3=trip_m3))


def pull(force_n: float, factor: float, pressure_pa: float, toward: str = "forward", in_cabin: bool = False) -> Any:
    return Made(force_n=force_n, factor=factor, pressure_pa=pressure_pa, toward=toward, in_cabin=in_cabin)


FILLER = Made(name="filler")
PULLS = (pull(3178.0, 9.0, 2.5e4), pull(1059.0, 3.0, 3e4, "up"), pull(6355.0, 18.0, 5e4, in_cabin=True))
IN_ALL = "; the empty tank's own weight comes on top"
LOW = "; counted low by what was measured, a sound switch may trip with more: see `fuelsys filltest`"
OF_ONE = [
    ("spans", {}, "inside, along the aircraft 500.0 mm long, 400.0 mm wide, 300.0 mm high; 60.00 L in all"),
    ("marks", {}, "the design has no switch in this tank"),
    ("marks", {"switch": [Made(name="a", mark_m=(0.1, 0.2, 0.3), tolerance_m=0.003), Made(name="b", mark_m=(0, 0, 0), tolerance_m=None)]},
     "a (100, 200, 300) mm ± 3.0 mm; b (0, 0, 0) mm"),
    ("strainer_area", {"outlet": [Made(name="o", bore_m=0.008), Made(name="p", bore_m=None)]}, "o at least 251.3 mm² clear"),
    ("strainer_area", {}, "not computed: needs the outlet's bore"),
    ("strainer_width", {"outlet": [Made(name="o", bore_m=0.008), Made(name="p", bore_m=None)]}, "o at least 8.0 mm"),
    ("sump", {}, "at least 0.24 L below the outlets, parked and in level flight"),  # a sixteenth of a gallon; 0.25 % of 0.2 m3
    ("sump", {"gross_m3": 0.2}, "at least 0.50 L below the outlets, parked and in level flight"),
    ("water_left", {}, "at parked (pitch 0.0°, roll 0.0°) at most 23 mL stay (limit chosen here)"),  # 1 part in 2560
    ("water_in_flight", {}, "tank held at cruise (pitch 0.0°, roll 0.0°)"),
    ("expansion", {}, "at least 1.20 L of air stay when it is filled"),
    ("full", {}, "takes 50.00 L at parked (pitch 0.0°, roll 0.0°), up to its filler"),
    ("full", {"filled_m3": None}, "not computed: needs a filler or a vent"),
    ("unusable", {}, "at most 1.00 L stay; computed for cruise (pitch 0.0°, roll 0.0°)"),
    ("unusable", {"unusable_m3": None}, "not computed: needs an outlet"),
    ("zero", {}, "reads 0 with 1.00 L in it, held at cruise (pitch 0.0°, roll 0.0°)"),
    ("zero", {"unusable_m3": None}, "not computed: needs an outlet"),
    ("usable", {}, "usable 49.00 L"),
    ("usable", {"usable_m3": 0.0, "cut_off": True}, "usable 0 mL: no line can bring its fuel to the engine"),
    ("usable", {"usable_m3": None}, "not computed: needs a filler or vent, and an outlet"),
    # One gallon is more than 5 % of 60 L; of 0.2 m3 these are 10 L.
    ("red_arc", {"gross_m3": 0.2, "unusable_m3": 9e-3}, "none asked for: 9.00 L unusable against 10.00 L"),
    ("red_arc", {}, "none asked for: 1.00 L unusable against 3.79 L"),
    ("red_arc", {"unusable_m3": GALLON_M3}, "none asked for: 3.79 L unusable against 3.79 L"),
    ("red_arc", {"unusable_m3": 4e-3}, "from zero up: 4.00 L unusable against 3.79 L"),
    ("red_arc", {"unusable_m3": None}, "asked for above 3.79 L unusable; not computed: needs an outlet"),
    ("trips", {}, "the design has no switch in this tank"),
    ("trips", {"corrected": 1}, "the design has no switch in this tank"),
    ("trips", {"switches": (switch("a", 5e-3), switch("b", None))}, "a at 5.00 L; b never"),
    *(("trips", {"switches": (switch("a", 5e-3),), why: 1}, f"a at 5.00 L{LOW}") for why in ("corrected", "as_twin", "tripped")),
    ("proof", {}, "not computed: needs the tank's study"),
    ("proof", {"proof": Made(pressure_pa=9806.65, asked_by="a rule")}, "9.81 kPa (a rule), a column of 1000.0 mm of water"),
    ("supported", {}, "13.79 kPa, a column of 1406.1 mm of water"),  # 2 psi are 13789.5 Pa
    ("cell_head", {}, "3.18 kPa at the bottom"),  # 1.5 x 720 x 9.80665 x 0.3
    ("two_thirds", {}, "25 h at 1/32 in or more of movement in all, with 40.00 L of water in it"),
    ("cap", {}, "it has no filler of its own"),
    ("cap", {"filler": FILLER, "groups": [over(0.2, "other.filler")]}, "not computed: needs vent lines that lead overboard"),
    ("cap", {"filler": FILLER, "groups": [over(0.0), over(-0.1)]},
     "it stands above the fuel at every flight attitude, held until the fuel is at rest"),
    ("cap", {"filler": FILLER, "groups": [over(0.005)]}, "in flight fuel stands up to 5.0 mm above it, the tank full: 0.04 kPa"),
    ("cap", {"filler": FILLER, "groups": [over(0.1), over(0.2), over(0.9, "other.filler")]},
     "in flight fuel stands up to 200.0 mm above it, the tank full: 1.41 kPa"),
    ("retained", {"forces": PULLS},
     f"36.00 kg of fuel: 3178 N forward (9 g), 1059 N up (3 g); the wall sees 30.00 kPa at 3 g up{IN_ALL}"),
    ("retained", {"forces": PULLS[2:]}, "not computed: needs a filler or a vent"),
    ("retained", {"forces": PULLS, "filled_m3": None}, "not computed: needs a filler or a vent"),
    ("retained_in_cabin", {"forces": PULLS}, "not checked: needs tank.in_cabin, whether it could strike people if it came loose"),
    ("retained_in_cabin", {"forces": PULLS, "in_cabin": False}, "does not apply: the design says that it is not in the cabin"),
    ("retained_in_cabin", {"forces": PULLS, "in_cabin": True},
     f"36.00 kg of fuel: 6355 N forward (18 g); the wall sees 50.00 kPa at 18 g forward{IN_ALL}"),
]  # fmt: skip


@pytest.mark.parametrize(("asked", "given", "told"), OF_ONE, ids=[f"{k} {one[0]}" for k, one in enumerate(OF_ONE)])
def test_a_figure_of_one_tank(asked: str, given: dict[str, Any], told: str) -> None:
    assert plain(said(getattr(figures_tank, asked)(made(groups=given.get("groups", [])), tank(**given)))) == told
