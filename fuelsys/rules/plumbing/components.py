"""Rules on what stands in the feed lines: filter, sediment bowl and shut-off."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence

from fuelsys.model.built.ends import End, Step
from fuelsys.model.found.findings import Outcome, Reach, Stake, Verdict
from fuelsys.model.found.plumbing import Run
from fuelsys.model.found.study import Study
from fuelsys.model.stated.components import Component, Filter, Pump, ShutOff
from fuelsys.rules.shared import components, end_at, engine_ways, on_way, passed_by, past, upstream
from fuelsys.rules.words import before_64, caution, failed, litres, needs, not_asked, passed, rule

# One US fluid ounce for each 20 US gal, of 128 fluid ounces each.
SEDIMENT_SHARE = 1.0 / (20.0 * 128.0)


@rule(
    subject="filter",
    reach=Reach.OUTSIDE,
    stake=Stake.ENGINE,
    checks="A filter stands between each tank's outlet and the first pump or the engine.",
    why="What comes out of a tank stops pumps, jets and injectors.",
    mend="Put a filter with a drain at the low point before the first pump.",
    sources=(before_64("23.997"),),
)
def filter_missing(study: Study) -> Iterator[Verdict]:
    """On each way to an engine; a filter behind the first pump protects the engine but not the pump."""
    for way in engine_ways(study):
        if isinstance(way, Verdict):
            yield way
            continue
        filters = [end_at(one) for one in on_way(study, way, Filter)]
        pumps = [end_at(one) for one in on_way(study, way, Pump)]
        if bare := way.way.path(avoid=filters):
            yield failed(way.name, f"no filter among {_listed(passed_by(bare))}")
        elif early := way.way.path(to=pumps, avoid=filters):
            behind = way.way.path(start=early[-1].end, to=filters) or early
            yield caution(way.name, f"{behind[-1].end} stands behind {early[-1].end}")
        else:
            before = way.way.path(to=filters) or ()
            then = way.way.path(start=before[-1].end, to=[*pumps, way.end]) or before
            yield passed(way.name, f"{before[-1].end} stands before {then[-1].end}")


def _listed(passed_ends: tuple[End, ...]) -> str:
    return ", ".join(map(str, passed_ends)) or "its components: there is none"


@rule(
    subject="filter",
    reach=Reach.OUTSIDE,
    stake=Stake.WEAR,
    checks="Each filter has a drain.",
    why="Water that the filter holds back must be let out before flight.",
    mend="Use a filter with a drain, or one whose bowl comes off easily.",
    sources=(before_64("23.997"),),
)
def filter_without_drain(study: Study) -> Iterator[Verdict]:
    """What the design says of each filter; one that comes off easily will do too, so a missing drain is a caution."""
    for one in components(study, Filter):
        if one.drain is None:
            yield needs(one.name, "to know whether it has a drain")
        else:
            yield passed(one.name, "it has a drain") if one.drain else caution(one.name, "it has no drain")


@rule(
    subject="filter",
    reach=Reach.OUTSIDE,
    stake=Stake.WEAR,
    checks="On the way to a piston engine, sediment bowls hold 1 US fl oz for every 20 US gal of tank capacity.",
    why="A small bowl is full of water before the tank's sump is drained.",
    mend="Use a larger sediment bowl.",
    sources=(before_64("23.971(c)"),),
)
def sediment_bowl_small(study: Study) -> Iterator[Verdict]:
    """Sediment volume of the filters on each way against the gross volume of all tanks that feed it."""
    if study.layout.design.aircraft.engine == "turbine":
        yield not_asked("engine", "the requirement is for piston engines")
        return
    for way in engine_ways(study):
        if isinstance(way, Verdict):
            yield way
            continue
        yield _bowls(study, way)


def _bowls(study: Study, way: Run) -> Verdict:
    """The path on which filters hold the least; a small one fails though another path's are not stated."""
    filters = on_way(study, way, Filter)
    held_m3 = {end_at(f): f.sediment_m3 for f in filters if f.sediment_m3 is not None}
    unsaid = [f for f in filters if f.sediment_m3 is None]
    bare = past(way, filters)
    least_m3 = way.way.least(lambda step: held_m3.get(step.end, 0.0), avoid={end_at(f) for f in unsaid})
    known = None if bare or least_m3 is None else _bowl(study, way, least_m3)
    if known and (known.outcome is Outcome.FAIL or not unsaid):
        return known
    missing = ", ".join(f.name for f in unsaid) or "a filter"
    return needs(way.name, f"the sediment volume of {missing}")


def _bowl(study: Study, way: Run, held_m3: float) -> Verdict:
    tanks = upstream(study, way.start.tank or "")
    gross_m3 = sum(study.layout.tank(name).cavity.gross_m3 for name in tanks)
    asked_m3 = gross_m3 * SEDIMENT_SHARE
    evidence = (
        f"{litres(held_m3)} of sediment volume for {litres(gross_m3)} in {', '.join(tanks)};"
        f" {litres(asked_m3)} are asked for"
    )
    return passed(way.name, evidence) if held_m3 >= asked_m3 else failed(way.name, evidence)


@rule(
    subject="shut-off",
    reach=Reach.OUTSIDE,
    stake=Stake.FIRE,
    checks="A valve or a selector on every way to the engine can stop the fuel.",
    why="In a fire the fuel must be stopped.",
    mend="Put a shut-off valve before the firewall, within reach of the pilot.",
    sources=(before_64("23.995"),),
)
def shut_off_missing(study: Study) -> Iterator[Verdict]:
    """On each way to an engine."""
    for way in engine_ways(study):
        if isinstance(way, Verdict):
            yield way
        elif bare := past(way, valves := on_way(study, way, ShutOff)):
            yield failed(way.name, f"no valve or selector among {_listed(passed_by(bare))}")
        else:
            yield passed(way.name, f"{', '.join(valve.name for valve in valves)} can stop it")


@rule(
    subject="shut-off",
    reach=Reach.OUTSIDE,
    stake=Stake.FIRE,
    checks="No shut-off stands on the engine's side of the firewall, and each path from a tank to an engine passes one that"
    " stands on the tank's side.",
    why="A fire destroys what stands on its side, and the fuel runs on.",
    mend="Move the valve to the cabin's side of the firewall.",
    sources=(before_64("23.995"),),
)
def shut_off_on_engine_side(study: Study) -> Iterator[Verdict]:
    """Every valve and selector on each way to an engine, then those that stand on none of these."""
    judged: set[str] = set()
    for way in engine_ways(study):
        if isinstance(way, Verdict):
            yield way
        else:
            valves = on_way(study, way, ShutOff)
            judged |= {valve.name for valve in valves}
            yield _side(way.name, valves, past(way, [valve for valve in valves if not valve.engine_side]))
    for valve in components(study, ShutOff):
        if valve.name not in judged:
            yield _side(valve.name, (valve,), ())


def _side(where: str, valves: tuple[ShutOff, ...], bare: tuple[Step, ...]) -> Verdict:
    """Some valves; bare is a path to an engine that passes none of them, but for those on the engine's side."""
    behind = [valve for valve in valves if valve.engine_side]
    unsaid = [valve for valve in valves if valve.engine_side is None]
    if behind:
        return failed(where, f"{_names(behind)} {_stands(behind)} on the engine's side")
    if bare and valves:
        return failed(
            where,
            f"the path of the lines {', '.join(step.line.name for step in bare)} goes past {_names(valves)}: nothing shuts it"
            " before the firewall",
            "Put a shut-off on that path too, before the firewall.",
        )
    if bare:
        return needs(where, "a valve or selector on it")
    if unsaid:
        return needs(where, f"to know on which side of the firewall {_names(unsaid)} {_stands(unsaid)} (engine_side)")
    return passed(where, f"{_names(valves)} {_stands(valves)} before the firewall")


def _names(some: Iterable[Component]) -> str:
    return ", ".join(one.name for one in some)


def _stands(some: Sequence[Component]) -> str:
    return "stands" if len(some) == 1 else "stand"
