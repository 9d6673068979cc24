"""The rule on air that has one way in: what ice, an insect or a leaf in one opening does to the engine, and how soon."""

from __future__ import annotations

from collections.abc import Iterator
from math import floor

from fuelsys.model.found.findings import COMMON_PRACTICE, Reach, Source, Stake, Verdict
from fuelsys.model.found.plumbing import Run
from fuelsys.model.found.study import Study
from fuelsys.model.stated.attitude import STANDARD_GRAVITY_M_S2
from fuelsys.model.stated.components import Engine, Overboard, Pump
from fuelsys.model.stated.standards import SEA_LEVEL_PA
from fuelsys.rules.plumbing.breathing import LEAST_SUCTION_PA
from fuelsys.rules.shared import components, end_at, engine_ways, feeders, header_like, on_way, past, unchecked, unled
from fuelsys.rules.words import before_64, failed, litres, needs, not_asked, passed, pressure, rule

_KEPT = {"heated": "is heated", "shielded": "is shielded from ice, rain and insects"}
_BOYLE = Source(
    "Boyle: the air above the fuel, shut in, widens as its pressure falls; ISO 2533: 101.325 kPa at sea level"
)


@rule(
    subject="vent outlet",
    reach=Reach.OUTSIDE,
    stake=Stake.ENGINE,
    checks="Not all the fuel that the engine can draw hangs on one opening for its air, unless the design says how that is kept open"
    " (`kept_clear` of the overboard end: heated, or shielded). Each opening is taken for blocked in turn, with all valves open.",
    why="Ice, an insect or a leaf shuts an opening. No air then comes to the tanks, and the fuel stays in them: the engine stops, full"
    " tanks first, for there is least air above their fuel.",
    mend="Lead a second line overboard, its end where what blocks the one does not block the other: behind a strut, in the lee, or a"
    " cap with a vent of its own. Or heat or shield the opening, and state it: kept_clear.",
    sources=(before_64("23.975(a)(1)"), before_64("23.975(a)(3)"), _BOYLE, COMMON_PRACTICE),
)
def air_hangs_on_one_opening(study: Study) -> Iterator[Verdict]:
    """Each overboard end of vent lines against the tanks that breathe by it alone, and those that the engine draws from."""
    breathing = study.breathing
    ways = list(engine_ways(study))
    yield from (one for one in ways if isinstance(one, Verdict))
    for part in components(study, Overboard):
        if not study.layout.network.lines_at(end_at(part), "vent"):
            yield not_asked(part.name, "no vent line leads to it")
        elif breathing.needs:
            yield needs(part.name, breathing.needs)
        else:
            yield _blocked(study, part, [one for one in ways if isinstance(one, Run)])
    yield from unchecked(study, "vent")


def _blocked(study: Study, part: Overboard, ways: list[Run]) -> Verdict:
    alone = study.breathing.alone.get(str(end_at(part)), ())
    if not alone:
        return passed(part.name, "blocked, it leaves each tank another way for its air")
    by_it = f"{', '.join(alone)} {'has' if len(alone) == 1 else 'have'} air by it alone"
    if part.kept_clear:
        return passed(part.name, f"{by_it}; the design says that it {_KEPT[part.kept_clear]}")
    drawn = {engine: _drawn_from(study, engine, ways) for engine in components(study, Engine)}
    if not any(drawn.values()):
        return needs(part.name, f"feed lines from a tank to the engine; {by_it}")
    airless = {tank.name for tank in study.tanks} - {*study.layout.network.aired(()), *alone}
    stopped = [engine for engine, names in drawn.items() if names and names - airless <= {*alone}]
    if not stopped:
        others = sorted(set().union(*drawn.values()) - {*alone} - airless)
        feed = f"; {', '.join(others)} feed{'s' if len(others) == 1 else ''} the engine without it" if others else ""
        return passed(part.name, by_it + feed)
    capped = [end for end, _ in unled(study, "vent") if end.tank in {*alone, *airless}]
    if capped:
        return needs(part.name, f"a vent line from {capped[0]}: by what is stated {by_it}")
    return failed(
        part.name,
        f"{by_it}, and {stopped[0].name} draws from nothing else; blocked, {_how_soon(study, stopped[0], alone, ways)}",
    )


def _drawn_from(study: Study, engine: Engine, ways: list[Run]) -> set[str]:
    """The tanks whose fuel comes to an engine; in place of one that others keep full, these."""
    found = dict.fromkeys(way.start.tank for way in ways if way.end == end_at(engine) and way.start.tank)
    names = list(found)
    for name in names:
        if header_like(study, name):
            names += [one for one in feeders(study, name) if one not in names]
    return {name for name in names if not header_like(study, name)} or set(names)


def _how_soon(study: Study, engine: Engine, alone: tuple[str, ...], ways: list[Run]) -> str:
    """How soon from full tanks at the greatest flow: until the head is gone, or the tank bears no more suction."""
    filled = {name: study.tank(name).capacity for name in alone}
    air_m3 = sum(held.gross_m3 - held.filled.volume_m3 for held in filled.values() if held.filled)
    if not air_m3 or not all(held.filled for held in filled.values()):
        return "it stops"
    own = [way for way in ways if way.end == end_at(engine)]
    pumped = any(on_way(study, way, Pump) and not past(way, on_way(study, way, Pump)) for way in own)
    if pumped:
        bears = [study.layout.tank(name).design.bears_suction_pa for name in alone]
        least_pa = min((one for one in bears if one is not None), default=LEAST_SUCTION_PA)
        borne = "all that is taken for granted" if None in bears else "what they bear"
        after = f"the tanks stand under {pressure(least_pa)} of suction, {borne}, {_after(study, air_m3, least_pa)}"
        return f"{after}; they give way, or the pump draws vapour, and it stops"
    head_pa = _head_pa(study, engine, alone, own)
    if head_pa <= 0.0:
        return "it stops"
    return f"it stops {_after(study, air_m3, head_pa)}: then the suction is {pressure(head_pa)}, all the head that drives it"


def _after(study: Study, air_m3: float, suction_pa: float) -> str:
    """When as much is drawn as the air above full tanks widens by until it stands under a suction."""
    drawn_m3 = air_m3 * suction_pa / (SEA_LEVEL_PA - suction_pa)
    design = study.layout.design
    greatest = max(design.flows_m3_s, key=lambda name: design.flows_m3_s[name])
    lasts_s = floor(drawn_m3 / design.flows_m3_s[greatest])
    widens = f"{litres(air_m3)} of air widen by {litres(drawn_m3)}"
    return f"{lasts_s} s from full at {greatest}, at sea level ({widens})"


def _head_pa(study: Study, engine: Engine, alone: tuple[str, ...], own: list[Run]) -> float:
    """The most that drives fuel to an engine: from the full tanks' level to its inlet, parked, less what it needs there."""
    levels_m = [air.full_level_m for name in alone for air in study.plumbing.air[name] if air.attitude.normal]
    ends_m = [at.end_level_m for way in own for at in way.at_phase("ground") if at.attitude.normal]
    if not levels_m or not ends_m:
        return 0.0
    fall_m = max(levels_m) - min(ends_m)
    return study.layout.design.fuel.density_kg_m3 * STANDARD_GRAVITY_M_S2 * fall_m - (engine.inlet_pressure_pa or 0.0)
