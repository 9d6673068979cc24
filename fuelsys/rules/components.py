"""Rules on what stands in the feed lines: filter, sediment bowl, shut-off and pumps."""

from __future__ import annotations

from collections.abc import Iterator

from fuelsys.model.design import Component
from fuelsys.model.findings import Verdict
from fuelsys.model.plumbing import Run
from fuelsys.model.study import Study
from fuelsys.rules.lines import components, engine_ways, on_way, tank_of, upstream
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
        filters, first_pump = on_way(study, way, "filter"), on_way(study, way, "pump")[:1]
        before = [f for f in filters if not first_pump or _order(way, f) < _order(way, first_pump[0])]
        if before:
            yield passed(way.name, f"{before[0].name} stands before {first_pump[0].name if first_pump else way.end}")
        elif filters:
            yield caution(way.name, f"{filters[0].name} stands behind {first_pump[0].name}")
        else:
            yield failed(way.name, f"no filter among {', '.join(way.through) or 'its components: there is none'}")


def _order(way: Run, component: Component) -> int:
    return way.through.index(component.name)


@rule(
    subject="filter",
    checks="Each filter has a drain.",
    why="Water that the filter holds back must be let out before flight.",
    mend="Use a filter with a drain, or one whose bowl comes off easily.",
    sources=(before_64("23.997"),),
)
def filter_without_drain(study: Study) -> Iterator[Verdict]:
    """What the design says of each filter; one that comes off easily will do too, so a missing drain is a caution."""
    for one in components(study, "filter"):
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
        filters = on_way(study, way, "filter")
        stated = [f.sediment_m3 for f in filters if f.sediment_m3 is not None]
        if not filters or len(stated) < len(filters):
            missing = ", ".join(f.name for f in filters if f.sediment_m3 is None) or "a filter"
            yield needs(way.name, f"the sediment volume of {missing}")
        else:
            yield _bowl(study, way, sum(stated))


def _bowl(study: Study, way: Run, held_m3: float) -> Verdict:
    tanks = upstream(study, tank_of(way.start) or "")
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
        elif valves := on_way(study, way, "valve", "selector"):
            yield passed(way.name, f"{', '.join(valve.name for valve in valves)} can stop it")
        else:
            yield failed(
                way.name, f"no valve or selector among {', '.join(way.through) or 'its components: there is none'}"
            )


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
        valves = on_way(study, way, "valve", "selector")
        safe = [valve.name for valve in valves if valve.engine_side is False]
        unsaid = [valve.name for valve in valves if valve.engine_side is None]
        if safe:
            yield passed(way.name, f"{', '.join(safe)} stands before the firewall")
        elif unsaid:
            yield needs(way.name, f"to know on which side of the firewall {', '.join(unsaid)} stands (engine_side)")
        elif valves:
            yield failed(way.name, f"{', '.join(valve.name for valve in valves)} stands on the engine's side")
        else:
            yield needs(way.name, "a valve or selector on it")


@rule(
    subject="pump",
    checks="No pump draws from two tanks at a time.",
    why="When one tank runs dry the pump draws air from it, though the other is full.",
    mend="Put a selector before the pump, or let both tanks feed a header and the pump draw from that.",
    sources=(before_64("23.951(b)"),),
)
def pump_draws_from_two_tanks(study: Study) -> Iterator[Verdict]:
    """The tanks whose feed runs end at each pump; a selector on all of them chooses one, valves of their own may."""
    for pump in components(study, "pump"):
        runs = [run for run in study.plumbing.of_kind("feed") if run.end == pump.name]
        tanks = tuple(dict.fromkeys(tank for run in runs if (tank := tank_of(run.start))))
        if not runs:
            yield needs(pump.name, "a feed line to it")
        elif len(tanks) < 2:
            yield passed(pump.name, f"it draws from {', '.join(tanks) or ', '.join(run.start for run in runs)} alone")
        else:
            yield _two(study, pump.name, [run for run in runs if tank_of(run.start)], ", ".join(tanks))


def _two(study: Study, pump: str, runs: list[Run], tanks: str) -> Verdict:
    shared = set.intersection(*({c.name for c in on_way(study, run, "selector")} for run in runs))
    if shared:
        return passed(pump, f"{', '.join(sorted(shared))} chooses between {tanks}; mind a position that opens several")
    if all(on_way(study, run, "valve", "selector") for run in runs):
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
    if not components(study, "engine"):
        yield needs("engine", "a component of kind engine and the feed lines to it")
    for engine in components(study, "engine"):
        ways = [way for way in study.plumbing.ways if way.end == engine.name]
        pumps = {pump.name: pump for way in ways for pump in on_way(study, way, "pump")}
        if not ways:
            yield needs(engine.name, "feed lines that lead from a tank's outlet to it")
        elif not pumps:
            yield failed(engine.name, "feed is by pump, and no pump stands on any way to it")
        elif len(pumps) == 1 and study.layout.design.aircraft.engine == "piston":
            yield caution(engine.name, f"{', '.join(pumps)} alone feeds it")
        else:
            yield passed(engine.name, f"{', '.join(pumps)} feed it")
