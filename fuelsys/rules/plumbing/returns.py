"""Rules on fuel that the engine returns: its line, where it enters, the heat it brings, and the selector."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from fuelsys.model.built.ends import PortEnd
from fuelsys.model.found.findings import COMMON_PRACTICE, Reach, Source, Stake, Verdict
from fuelsys.model.found.heat import MOST_WARMING_K
from fuelsys.model.found.plumbing import Run
from fuelsys.model.found.study import Study
from fuelsys.model.stated.attitude import Attitude
from fuelsys.model.stated.components import CheckValve, Engine, Selector
from fuelsys.rules.severity import HOT_WORDS, overheats
from fuelsys.rules.shared import against, components, diesel, end_at, loose, more
from fuelsys.rules.words import (
    at_least,
    before_64,
    caution,
    failed,
    flow,
    litres,
    millimetres,
    needs,
    not_asked,
    passed,
    place,
    rule,
)

# The top of a tank that stands full, as a share of its height.
TOP_SHARE = 0.1
_TURN = "Change from and to in the design where it is drawn the wrong way round; if a valve is fitted so, turn it."
OFF_WALL_M = 1e-6  # a raised end may touch the roof
_TOP = Source("top: above the full tank's fuel, or the upper tenth of its height: common practice, no source")
_WARMING = Source("caution above 20 K: common practice, no source")
_HEAT = Source("specific heat 2.0 to 2.1 kJ/(kg K)", from_memory=True)
_FORUM = Source("overfilling by return: read in a builders' forum, agrees with 14 CFR 23.957(b)")


def _returning(study: Study) -> Iterator[tuple[Engine, list[Run]]]:
    """Each engine with a stated return flow or a return run, and its runs: from itself or from a fitting on its feed."""
    for engine in components(study, Engine):
        here = end_at(engine)
        on_feed = {end for way in study.plumbing.ways if way.end == here for end in way.through}
        runs = [run for run in study.plumbing.of_kind("return") if run.start in on_feed | {here}]
        if engine.return_flow_m3_s or runs:
            yield engine, runs


def _turned(study: Study) -> str:
    """The return lines that run the wrong way, and the check valves at them that hold to it."""
    lines = [line for line in study.layout.lines if line.kind == "return" and against(study, line)]
    found = [f"{line.name} runs from {line.start} to {line.end}" for line in lines]
    ends = dict.fromkeys(end for line in lines for end in (line.start, line.end))
    valves = [part.name for end in ends if isinstance(part := study.layout.network.component(end), CheckValve)]
    shut = f", and {' and '.join(valves)} lets fuel pass that way only" if found and valves else ""
    return ", ".join(found) + shut


def _into_tanks(study: Study) -> Iterator[tuple[Engine, Run, PortEnd]]:
    """Return runs that come to a tank, with the engine and where they enter."""
    for engine, runs in _returning(study):
        yield from ((engine, run, run.end) for run in runs if isinstance(run.end, PortEnd))


@rule(
    subject="return",
    reach=Reach.INSIDE,
    stake=Stake.ENGINE,
    checks="An engine that returns fuel has a return line of its own to a tank.",
    why="Fuel that the engine does not burn must go back to a tank, and its vapour must be let out there.",
    mend="Lead a return line from the engine to the top of a tank.",
    sources=(before_64("23.975(b)"), Source("for diesels: common practice, no source")),
)
def return_missing(study: Study) -> Iterator[Verdict]:
    """Engines with a stated return flow, or with a return line that does not come to a tank; a diesel must say that it has none."""
    returning = {engine.name: runs for engine, runs in _returning(study)}
    for engine in components(study, Engine):
        back = f" of {flow(engine.return_flow_m3_s)}" if engine.return_flow_m3_s else ""
        if engine.name not in returning and engine.return_flow_m3_s is None and diesel(study):
            yield needs(
                engine.name,
                "to know what it returns (return_flow, and the return line to a tank): diesels return fuel from their injection"
                ' as a rule; "0 L/h" says that it returns none',
            )
        elif engine.name not in returning:
            says = (
                "no return flow and no return line of it" if engine.return_flow_m3_s is None else "that it returns none"
            )
            yield not_asked(engine.name, f"the design states {says}")
        elif not returning[engine.name] and not any(line.design.kind == "return" for line in study.layout.lines):
            yield failed(engine.name, f"no return line for its return flow{back}")
        elif not returning[engine.name] and (turned := _turned(study)):
            yield failed(
                engine.name,
                f"{turned}: nothing comes back to a tank by it, and its return flow{back} has no way",
                _TURN,
            )
        for run in returning.get(engine.name, []):
            if run.end.tank:
                yield passed(run.name, f"its return flow{back} has a line to {run.end}")
            else:
                yield failed(run.name, f"the return line ends at {run.end}, in the feed line, not in a tank")
    yield from loose(study, ["return"])


@rule(
    subject="return",
    reach=Reach.INSIDE,
    stake=Stake.WEAR,
    checks="What a piston engine on gasoline returns, fuel and vapour, enters at the top of a tank.",
    why="Vapour that enters low bubbles through the fuel beside the outlet, and fuel drains back through the line.",
    mend="Lead the return line to the top of the tank.",
    sources=(before_64("23.975(b)"), _TOP),
)
def return_not_to_top(study: Study) -> Iterator[Verdict]:
    """The place where it enters against the fuel of the tank filled at the normal ground attitude."""
    if study.layout.design.aircraft.engine == "turbine" or diesel(study):
        yield not_asked("engine", "the requirement is for the vapour of piston engines on gasoline")
        return
    for _, run, end in _into_tanks(study):
        tank = end.tank
        air = next((air for air in study.plumbing.air[tank] if air.attitude.normal), None)
        if air is None:
            yield needs(run.name, f"a filler or a vent of {tank}: how full it can be is not stated")
            continue
        enters_m = next(at.end_level_m for at in run.at_phase("ground") if at.attitude.normal)
        below_m, deep_m = air.full_level_m - enters_m, air.highest_level_m - enters_m
        full = f"at {air.attitude.text} it enters {millimetres(abs(below_m))}"
        if below_m <= 0.0:
            yield passed(run.name, f"{full} above the fuel of the full tank {tank}")
        elif deep_m <= TOP_SHARE * (air.highest_level_m - air.lowest_level_m):
            yield passed(run.name, f"{full} below the full tank's level, {millimetres(deep_m)} below the top of {tank}")
        else:
            evidence = f"{full} below the full tank's level, {millimetres(deep_m)} below the top of {tank}"
            short_m = min(below_m, deep_m - TOP_SHARE * (air.highest_level_m - air.lowest_level_m))
            yield failed(run.name, evidence, _higher(study, end, air.attitude, short_m))
    yield from loose(study, ["return"])


def _higher(study: Study, end: PortEnd, parked: Attitude, short_m: float) -> str:
    """How to let a return enter higher: straight up where the tank has the height there, else at its highest point."""
    fitted = study.layout.tank(end.tank)
    cavity = fitted.cavity
    top = place(fitted, cavity.vertices_m[int(np.argmax(cavity.vertices_m @ parked.up))] + cavity.centre_m)
    end_m = fitted.spot(end.port).point_m + cavity.centre_m
    if cavity.spot("", end_m + short_m * parked.up).off_m <= OFF_WALL_M:
        return f"Raise its end by at least {at_least(short_m)}, better to the tank's highest point, {top}."
    return f"Above its end the tank is too low for it: lead it in nearer to the tank's highest point, {top}."


@rule(
    subject="return",
    reach=Reach.INSIDE,
    stake=Stake.ENGINE,
    checks="Returned fuel does not warm a tank that others keep full, as a header is, by more than 20 K.",
    why="A small tank passes its own fuel round and round; warm fuel makes vapour and costs power.",
    mend="Return to a main tank, or cool the return.",
    sources=(_WARMING, HOT_WORDS, _HEAT),
)
def return_heats_small_tank(study: Study) -> Iterator[Verdict]:
    """Heat against time in each tank that others keep full and a return comes to."""
    yield from _heated(study, fed=True)
    yield from loose(study, ["return"])


def _heated(study: Study, *, fed: bool) -> Iterator[Verdict]:
    """Each tank that a return comes to, kept full by others or not; nothing is lost through its walls."""
    for one in study.heated:
        where, unknown = f"{one.engine} to {one.tank}", one.heat_w is None
        if one.fed != fed:
            other = (
                "others keep it full: see return-heats-small-tank"
                if one.fed
                else "no other tank keeps it full: see return-heats-tank"
            )
            yield not_asked(where, other)
            continue
        most = f"; {one.most_w:.0f} W would warm {one.tank} by {MOST_WARMING_K:.0f} K" if one.most_w and unknown else ""
        if one.needs:
            yield needs(where, f"{one.needs}{most}")
            continue
        first, last = one.steps[0], one.steps[-1]
        kept = f"by {first.warmer_k:.0f} K while others keep it full" if fed else ""
        then = (
            f"by {last.warmer_k:.0f} K in {last.time_s / 60.0:.0f} min from full, when {litres(last.volume_m3)} are left,"
            " if it feeds alone"
        )
        told = " and ".join(words for words in (kept, then if last.time_s > 0.0 else "") if words)
        evidence = f"{one.heat_w:.0f} W warm {one.tank} {told or 'by nothing: it holds no more than the reserve'}, if no heat is lost"
        ceiling = "the ceiling that is assumed, as none is stated" if one.ceiling_assumed else "the ceiling"
        if overheats(last.warmer_k, one.boils_k):
            limit = (
                "hotter than is counted on"
                if one.boils_k is None
                else f"from {one.boils_k:.0f} K on fuel of 15 °C boils at {ceiling}"
            )
            yield failed(where, f"{evidence}: {limit}")
        elif one.volatile:
            yield needs(where, f"fuel.reid_pressure: whether mogas so warmed boils at {ceiling}; {evidence}")
        else:
            yield (caution if last.warmer_k > MOST_WARMING_K else passed)(where, evidence)


@rule(
    subject="return",
    reach=Reach.OUTSIDE,
    stake=Stake.ENGINE,
    checks="Returned fuel does not warm the tank that it comes to by more than 20 K until 30 minutes are left in it.",
    why="What the engine gives to its fuel stays in a tank that feeds it: the less is left, the faster it warms, up to vapour.",
    mend="Cool the return, or keep it short of the engine's heat; measure the fuel's temperature in flight.",
    sources=(_WARMING, HOT_WORDS, _HEAT),
)
def return_heats_tank(study: Study) -> Iterator[Verdict]:
    """Heat against time in each other tank that a return comes to."""
    yield from _heated(study, fed=False)
    yield from loose(study, ["return"])


@rule(
    subject="return",
    reach=Reach.OUTSIDE,
    stake=Stake.LITRES,
    checks="Where a selector chooses the tank, the return goes to the tank that feeds.",
    why="A return into a tank that does not feed empties the one and overfills the other, out of its vent.",
    mend="Use a selector that switches the return too, or always burn first from the tank that the return fills.",
    sources=(_FORUM, before_64("23.975(b)"), before_64("23.957(b)")),
)
def return_does_not_follow_selector(study: Study) -> Iterator[Verdict]:
    """Selectors that choose between tanks on the way to an engine that returns fuel."""
    for selector in components(study, Selector):
        ways = [way for way in study.plumbing.ways if end_at(selector) in way.through]
        back = [run for engine, run, _ in _into_tanks(study) if end_at(engine) in {way.end for way in ways}]
        tanks = tuple(dict.fromkeys(tank for way in ways if (tank := way.start.tank)))
        if len(tanks) < 2 or not back:
            yield not_asked(selector.name, "it does not choose between tanks for an engine that returns fuel to one")
        else:
            yield _follows(selector, tanks, back)
    yield from loose(study, ["return"])


def _follows(selector: Selector, tanks: tuple[str, ...], back: list[Run]) -> Verdict:
    into = sorted({tank for run in back if (tank := run.end.tank)})
    through = all(end_at(selector) in run.way.always for run in back)
    evidence = f"it chooses between {', '.join(tanks)}; the return goes to {', '.join(into)}"
    missing = [tank for tank in tanks if tank not in into]
    if selector.switches_return and missing:
        return needs(
            selector.name,
            f"a return line to {', '.join(missing)}: it is stated to switch the return, and the lines lead to {', '.join(into)} alone",
        )
    if selector.switches_return or (through and not missing):
        return passed(selector.name, f"{evidence} and is switched with the feed")
    if selector.switches_return is None:
        return needs(selector.name, "to know whether it switches the return (switches_return)")
    return failed(selector.name, f"{evidence} whichever feeds")


@rule(
    subject="return",
    reach=Reach.OUTSIDE,
    stake=Stake.LITRES,
    checks="In no setting of valves and selectors that feeds the engine does its return go to a tank that is shut off from it,"
    " or to none.",
    why="A tank that gets fuel and gives none fills up and runs over, out of its vent, while the one that feeds runs dry early."
    " A return that is shut drives up the pressure in pump and injection until something bursts.",
    mend="Lead the return to a tank that feeds in every setting (a header), or switch it with the feed. Take any valve out of it.",
    sources=(before_64("23.957(b)"), before_64("23.975(b)"), COMMON_PRACTICE),
)
def return_into_shut_tank(study: Study) -> Iterator[Verdict]:
    """Every setting that selectors and valves permit, the tanks that feed in it, and where the return goes."""
    found = study.flows.states
    if found is None:
        yield needs("return", "fewer selectors and valves: their settings are too many to go through")
        return
    stuck = [state for state in found if state.stuck]
    returning = [state for state in found if state.returned_to]
    bad = [state for state in returning if set(state.returned_to) & set(state.isolated)]
    if stuck:
        who = ", ".join(stuck[0].stuck)
        evidence = f"with {stuck[0].words} {who} runs on {', '.join(stuck[0].feeding)} and what it returns finds no way to a tank"
        yield failed(f"return of {who}", f"{evidence}{more(stuck)}", "Take what shuts it out of the return.")
    if bad:
        shut = ", ".join(tank for tank in bad[0].returned_to if tank in bad[0].isolated)
        evidence = f"with {bad[0].words} {', '.join(bad[0].feeding)} feeds and the return goes to {shut}"
        yield failed("return", f"{evidence}{more(bad)}")
    elif returning:
        yield passed(
            "return",
            f"in each of {len(returning)} settings {'with a return ' if stuck else ''}it goes to a tank that feeds",
        )
    elif not stuck:
        yield not_asked("return", "in no setting that feeds an engine does fuel come back by a return line")
    yield from loose(study, ["return"])
