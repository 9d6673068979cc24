"""Rules on what stands in the feed lines: filter, sediment bowl, shut-off and pumps."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from fuelsys.model.design import Component, Engine, Filter, Pump, Selector, ShutOff
from fuelsys.model.ends import End
from fuelsys.model.findings import Outcome, Verdict
from fuelsys.model.plumbing import Run
from fuelsys.model.study import Study
from fuelsys.rules.lines import components, end_at, engine_ways, on_way, passed_by, past, upstream
from fuelsys.rules.words import before_64, caution, failed, litres, needs, not_asked, passed, rule

# One US fluid ounce for each 20 US gal, of 128 fluid ounces each.
SEDIMENT_SHARE = 1.0 / (20.0 * 128.0)


@rule(
    subject="filter",
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
    checks="The shut-off does not stand on the engine's side of the firewall.",
    why="A fire destroys what stands on its side, and the fuel runs on.",
    mend="Move the valve to the cabin's side of the firewall.",
    sources=(before_64("23.995"),),
)
def shut_off_on_engine_side(study: Study) -> Iterator[Verdict]:
    """On each way to an engine at least one valve stands before the firewall."""
    for way in engine_ways(study):
        if isinstance(way, Verdict):
            yield way
            continue
        valves = on_way(study, way, ShutOff)
        safe = [valve for valve in valves if valve.engine_side is False]
        unsaid = [valve for valve in valves if valve.engine_side is None]
        if not past(way, safe):
            yield passed(way.name, f"{_names(safe)} stands before the firewall")
        elif not (late := past(way, [*safe, *unsaid])):
            yield needs(way.name, f"to know on which side of the firewall {_names(unsaid)} stands (engine_side)")
        elif behind := on_way(study, way, ShutOff, passed_by(late)):
            yield failed(way.name, f"{_names(behind)} stands on the engine's side")
        else:
            yield needs(way.name, "a valve or selector on it")


def _names(some: Iterable[Component]) -> str:
    return ", ".join(one.name for one in some)


@rule(
    subject="pump",
    checks="No pump draws from two tanks at a time.",
    why="When one tank runs dry the pump draws air from it, though the other is full.",
    mend="Put a selector before the pump, or let both tanks feed a header and the pump draw from that.",
    sources=(before_64("23.951(b)"),),
)
def pump_draws_from_two_tanks(study: Study) -> Iterator[Verdict]:
    """The tanks whose feed runs end at each pump; a selector on all of them chooses one, valves of their own may."""
    for pump in components(study, Pump):
        runs = [run for run in study.plumbing.of_kind("feed") if run.end == end_at(pump)]
        tanks = tuple(dict.fromkeys(tank for run in runs if (tank := run.start.tank)))
        if not runs:
            yield needs(pump.name, "a feed line to it")
        elif len(tanks) < 2:
            yield passed(
                pump.name, f"it draws from {', '.join(tanks) or ', '.join(str(run.start) for run in runs)} alone"
            )
        else:
            yield _two(study, pump.name, [run for run in runs if run.start.tank], ", ".join(tanks))


def _two(study: Study, pump: str, runs: list[Run], tanks: str) -> Verdict:
    shared = set.intersection(*({c.name for c in on_way(study, run, Selector, run.way.always)} for run in runs))
    if shared:
        return passed(pump, f"{', '.join(sorted(shared))} chooses between {tanks}; mind a position that opens several")
    if not any(past(run, on_way(study, run, ShutOff)) for run in runs):
        return caution(
            pump, f"it draws from {tanks}, each through a valve of its own: nothing keeps both from being open"
        )
    return failed(pump, f"it draws from {tanks} at the same time")


@rule(
    subject="pump",
    checks="Where pumps feed the engine, there are a main pump and an emergency pump on the way to it.",
    why="With one pump, its failure is the engine's.",
    mend="Add an emergency pump with its own power; a pump that is part of the engine is listed as a component too.",
    sources=(before_64("23.991"),),
)
def pump_missing(study: Study) -> Iterator[Verdict]:
    """Number of pumps that lead to each engine: none fails, one is a caution."""
    if study.layout.design.aircraft.feed == "gravity":
        yield not_asked("engine", "it is fed by gravity")
        return
    if not components(study, Engine):
        yield needs("engine", "a component of kind engine and the feed lines to it")
    for engine in components(study, Engine):
        ways = [way for way in study.plumbing.ways if way.end == end_at(engine)]
        pumps = {pump.name: pump for way in ways for pump in on_way(study, way, Pump)}
        if not ways:
            yield needs(engine.name, "feed lines that lead from a tank's outlet to it")
        elif not pumps:
            yield failed(engine.name, "feed is by pump, and no pump stands on any way to it")
        elif len(pumps) == 1 and study.layout.design.aircraft.engine == "piston":
            yield caution(engine.name, f"{', '.join(pumps)} alone feeds it")
        else:
            yield passed(engine.name, f"{', '.join(pumps)} feed it")
