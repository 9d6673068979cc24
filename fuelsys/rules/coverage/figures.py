"""The figures that the whole aircraft must reach when it is finished, computed from its study, as texts with marks."""

from __future__ import annotations

from math import degrees, pi

from fuelsys import units
from fuelsys.model.found.study import Study
from fuelsys.model.stated.components import Engine
from fuelsys.model.stated.standards import DAY_RESERVE_S, LEAST_ENDURANCE_S, NIGHT_RESERVE_S
from fuelsys.rules.coverage.figures_tank import NOT_COMPUTED, listed
from fuelsys.rules.plumbing.components import SEDIMENT_SHARE
from fuelsys.rules.tanks.envelope import STEEPER_RAD
from fuelsys.rules.tanks.filler import PLACARDS
from fuelsys.rules.words import flow, litres, pressure

THUMB_LB_PER_HP_H = 0.55  # AC 90-89A, chapter 1, section 11
ULTRALIGHT_M3 = units.to_si(5.0, "US gal", "volume")  # AC 103-7, paragraph 19


def _phase_flow(study: Study, phase: str) -> float | None:
    return study.layout.design.flows_m3_s.get(phase)


def flow_to_show(study: Study) -> str:
    """The flow of the test, an hour and a minute."""
    wanted = study.flow_to_show_m3_s
    if not wanted:
        return f"{NOT_COMPUTED} flows.takeoff"
    factor = {"gravity": "150 %", "pump": "125 %"}[study.layout.design.aircraft.feed]
    back = ", the return flowing on top" if any(line.kind == "return" for line in study.layout.design.line) else ""
    return f"{flow(wanted)}, {litres(wanted * 60.0)} in a minute: {factor} of take-off{back}"


def climb_attitude(study: Study) -> str:
    """Five degrees above the climb angle."""
    climb_rad = study.layout.design.aircraft.climb_angle_rad
    if climb_rad is None:
        return f"{NOT_COMPUTED} aircraft.climb_angle"
    return f"nose up {degrees(climb_rad + STEEPER_RAD):.3g}°: climb at {degrees(climb_rad):.3g}° and 5°"


def least_fuel(study: Study) -> str:
    """Unusable fuel of each tank, before what the test draws."""
    parts = [
        f"{tank.name} {litres(tank.capacity.unusable.volume_m3)}" for tank in study.tanks if tank.capacity.unusable
    ]
    return f"{listed(parts, 'an outlet')}, and what the test itself draws"


def into_tanks(study: Study) -> str:
    """What must come into each tank that another fills."""
    parts = [f"{fed.end} {flow(fed.needed_m3_s)}" for fed in study.flows.to if fed.kind == "tank"]
    return listed(parts, "feed lines into the tank, and flows.takeoff")


def inlet_pressure(study: Study) -> str:
    """What each engine needs where fuel enters it."""
    stated = [fed for fed in study.flows.to if fed.kind in ("gravity", "pumped")]
    parts = dict.fromkeys(f"{fed.end} {pressure(fed.needed_pa)}" for fed in stated)
    return (
        f"at least {listed(list(parts), 'engine.inlet_pressure')}" if parts else f"{NOT_COMPUTED} engine.inlet_pressure"
    )


def three_quarters(study: Study) -> str:
    """Power after a change of tanks."""
    burnt = _phase_flow(study, "max_continuous")
    amount = f", about {flow(0.75 * burnt)}" if burnt else ""
    return f"75 % of maximum continuous power{amount}, within 10 s (naturally aspirated) or 20 s (turbocharged)"


def half_hour(study: Study) -> str:
    """Fuel for half an hour at maximum continuous power, against what there is."""
    burnt = _phase_flow(study, "max_continuous")
    if burnt is None:
        return f"{NOT_COMPUTED} flows.max_continuous"
    return f"at least {litres(LEAST_ENDURANCE_S * burnt)} usable in all"


def reserves(study: Study) -> str:
    """Day and night reserves at cruise."""
    burnt = _phase_flow(study, "cruise")
    if burnt is None:
        return f"30 min by day, 45 min by night; {NOT_COMPUTED} flows.cruise"
    return (
        f"30 min by day {litres(DAY_RESERVE_S * burnt)}, 45 min by night {litres(NIGHT_RESERVE_S * burnt)}, at cruise"
    )


def instrument_reserve(study: Study) -> str:
    """Reserve on instruments at cruise."""
    burnt = _phase_flow(study, "cruise")
    return (
        f"45 min; {NOT_COMPUTED} flows.cruise"
        if burnt is None
        else f"45 min {litres(NIGHT_RESERVE_S * burnt)}, at cruise"
    )


def collector(study: Study) -> str:
    """Half an hour at cruise for a tank that must not run down."""
    burnt = _phase_flow(study, "cruise")
    return (
        f"30 min; {NOT_COMPUTED} flows.cruise"
        if burnt is None
        else f"30 min {litres(DAY_RESERVE_S * burnt)}, at cruise"
    )


def bowl(study: Study) -> str:
    """One ounce for each twenty gallons of what all tanks hold."""
    return f"at least {litres(SEDIMENT_SHARE * sum(tank.capacity.gross_m3 for tank in study.tanks))} for all tanks together"


def thumb_power(study: Study) -> str:
    """The power that the stated take-off flow is enough for by the rule of thumb."""
    burnt = _phase_flow(study, "takeoff")
    if burnt is None:
        return f"{NOT_COMPUTED} flows.takeoff"
    pounds_h = units.from_si(burnt * study.layout.design.fuel.density_kg_m3, "lb", "mass") * 3600.0
    power = pounds_h / THUMB_LB_PER_HP_H
    return f"flows.takeoff, {flow(burnt)}, is that of {power:.0f} hp at most; a stronger engine needs more"


def ultralight(study: Study) -> str:
    """All that the tanks hold, against the limit."""
    total_m3 = sum(tank.capacity.gross_m3 for tank in study.tanks)
    word = "over" if total_m3 > ULTRALIGHT_M3 else "within"
    return f"{litres(total_m3)} in all tanks: {word} {litres(ULTRALIGHT_M3)}"


def after_shut_off(_: Study) -> str:
    """One US quart."""
    return f"at most {litres(units.to_si(1.0, 'US qt', 'volume'))}"


def static(study: Study) -> str:
    """The greatest product of speed and bore in a feed line, were all of the flow to go through it."""
    wanted, bores = study.flow_to_show_m3_s, [line.bore_m for line in study.layout.design.line if line.kind == "feed"]
    if not wanted or not bores:
        return f"speed times bore under 0.5 m2/s; {NOT_COMPUTED} flows.takeoff and feed lines"
    return f"speed times bore under 0.5 m2/s; {4.0 * wanted / pi / min(bores):.2g} m2/s here at most"


def placard(study: Study) -> str:
    """The words beside the filler."""
    return PLACARDS[study.layout.design.fuel.kind][0]


def at_inlet(study: Study) -> str:
    """The most that may come to the engine's inlet, and what comes at the most with nothing drawn."""
    parts = []
    for engine in (part for part in study.layout.design.component if isinstance(part, Engine)):
        most_pa = engine.most_inlet_pressure_pa
        limit = f"{NOT_COMPUTED} its most_inlet_pressure" if most_pa is None else f"at most {pressure(most_pa)}"
        found = [one for one in study.flows.inlets if str(one.engine) == engine.name and not one.needs]
        told = f"; computed, nothing drawn: {pressure(found[0].pressure_pa)}" if found else ""
        parts.append(f"{engine.name}: {limit}, as its manual says{told}")
    return listed(parts, "an engine")
