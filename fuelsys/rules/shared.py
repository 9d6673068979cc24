"""What the rules on lines share: which tanks feed which, what lies on no way, and how places and attitudes read."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sized
from typing import TypeVar

from fuelsys.arrays import Floats
from fuelsys.model.built.ends import ComponentEnd, End, PlacedLine, PortEnd, Step
from fuelsys.model.found.findings import Source, Verdict
from fuelsys.model.found.plumbing import PathPoint, Run, RunAt
from fuelsys.model.found.study import Study
from fuelsys.model.stated.components import Component, Engine, Pump
from fuelsys.model.stated.design import LineKind
from fuelsys.model.stated.fittings import Inlet, Outlet, Return
from fuelsys.rules.words import needs, spot

C = TypeVar("C", bound=Component)
TOO_MANY_AIRINGS = "fewer valves and selectors in vent lines: their settings are too many to go through"
HALF_BORE = Source("dips and humps up to half the bore are ignored: common practice, no source")


def on_aircraft(study: Study, place_m: Floats) -> str:
    """A place in body axes in the axes that the design file uses for places on the aircraft."""
    return spot(study.layout.aircraft_m(place_m))


def diesel(study: Study) -> bool:
    """Whether the engine is a piston engine on diesel or jet fuel."""
    design = study.layout.design
    return design.aircraft.engine == "piston" and not design.fuel.gasoline


def against(study: Study, line: PlacedLine) -> tuple[End, ...]:
    """What a line runs into that it should come from, or out of that it should lead to: outlets and inlets, by kind of line."""
    into, out_of = _WRONG_ENDS.get(line.kind, ((), ()))
    pairs = ((line.end, into), (line.start, out_of))
    return tuple(end for end, kinds in pairs if isinstance(study.layout.network.nodes[end], kinds))


_WRONG_ENDS: dict[LineKind, tuple[tuple[type, ...], tuple[type, ...]]] = {
    "feed": ((Outlet,), (Inlet,)),
    "return": ((Engine,), (Return,)),
}


def loose(study: Study, kinds: Iterable[LineKind]) -> Iterator[Verdict]:
    """Lines of some kinds that are on no way from end to end: nothing was checked on them; what hangs together has one cause."""
    for line in study.layout.lines:
        if line.design.kind in kinds and line.name in study.plumbing.loose:
            together = _hanging_together(study, line)
            turned = [(one, end) for one in together for end in against(study, one)]
            if turned:
                first, end = turned[0]
                told_by = "return-missing at the engine" if first.kind == "return" else f"port-not-connected at {end}"
                yield needs(line.name, f"{first.name} to be drawn, or fitted, the other way round: see {told_by}")
                continue
            names = ", ".join(one.name for one in together)
            yield needs(
                line.name,
                f"the lines with which {names} lead{'s' if len(together) == 1 else ''} from end to end: feed runs from a tank's"
                " outlet to a pump, an engine or a tank, return from an engine to a tank, each line from `from` to `to`; a vent"
                " from a tank overboard",
            )


def _hanging_together(study: Study, first: PlacedLine) -> list[PlacedLine]:
    """The lines of its kind on no way that a line is joined to, itself among them, as the design lists them."""
    rest = [one for one in study.layout.lines if one.kind == first.kind and one.name in study.plumbing.loose]
    ends, size = {first.start, first.end}, 0
    while len(ends) > size:
        size = len(ends)
        ends |= {end for one in rest if ends & {one.start, one.end} for end in (one.start, one.end)}
    return [one for one in rest if ends & {one.start, one.end}]


def unled(study: Study, kind: LineKind) -> Iterator[tuple[PortEnd, Verdict]]:
    """Ports of tanks that lines of a kind should leave from (outlets, vents) and do not, each with its verdict."""
    for tank in study.tanks:
        for port in tank.tank.design.vent if kind == "vent" else tank.tank.design.outlet:
            end = PortEnd(tank.name, port.name)
            if not study.layout.network.lines_at(end):
                yield end, needs(str(end), f"a {kind} line from it: none is listed")


def unchecked(study: Study, kind: LineKind) -> Iterator[Verdict]:
    """Ports without a line of a kind, and lines of it that are on no way: nothing was checked on them."""
    yield from (verdict for _, verdict in unled(study, kind))
    yield from loose(study, [kind])


def more(settings: Sized) -> str:
    """What is told of the first of some settings holds in the others too: words to go on with."""
    return f"; so in {len(settings) - 1} more settings" if len(settings) > 1 else ""


def feeders(study: Study, tank: str) -> tuple[str, ...]:
    """The tanks from which feed lines lead into a tank."""
    starts = [way.start.tank for way in study.plumbing.ways if way.end.tank == tank]
    return tuple(dict.fromkeys(start for start in starts if start and start != tank))


def upstream(study: Study, tank: str) -> tuple[str, ...]:
    """A tank and all tanks that feed it, through others too."""
    found = [tank]
    for name in found:
        found.extend(f for f in feeders(study, name) if f not in found)
    return tuple(found)


def header_like(study: Study, tank: str) -> bool:
    """Whether a tank stands full below others: without a filler, and fed by gravity from a tank whose fuel stands higher."""
    if study.layout.tank(tank).design.filler is not None:
        return False
    top = [air.highest_level_m for air in study.plumbing.air[tank] if air.attitude.normal]
    mains = {
        way.start.tank for way in study.plumbing.ways if way.end.tank == tank and past(way, on_way(study, way, Pump))
    }
    full = [
        air.full_level_m
        for main in mains - {tank, None}
        for air in study.plumbing.air[main or ""]
        if air.attitude.normal
    ]
    return bool(top and full) and max(full) >= max(top)


def components(study: Study, kind: type[C]) -> tuple[C, ...]:
    """All components of a kind."""
    return tuple(c for c in study.layout.design.component if isinstance(c, kind))


def on_way(study: Study, run: Run, kind: type[C], ends: Iterable[End] | None = None) -> tuple[C, ...]:
    """Components of a kind between the ends of a run on any of its paths, or among some ends, in order."""
    found = [study.layout.network.component(end) for end in (run.through if ends is None else ends)]
    return tuple(c for c in found if isinstance(c, kind))


def end_at(component: Component) -> End:
    """A component as an end of lines."""
    return ComponentEnd(component.name)


def past(run: Run, avoided: Iterable[Component]) -> tuple[Step, ...]:
    """The shortest path of a run that passes none of some components; none where each path passes one."""
    return run.way.path(avoid={end_at(one) for one in avoided}) or ()


def passed_by(steps: Iterable[Step]) -> tuple[End, ...]:
    """What lies between the first and the last end of a path, in order."""
    return tuple(step.start for step in steps)[1:]


def engine_ways(study: Study) -> Iterator[Run | Verdict]:
    """Every way from a tank's outlet to an engine, or what is missing for one."""
    engines = components(study, Engine)
    if not engines:
        yield needs("engine", "a component of kind engine and the feed lines to it")
    for engine in engines:
        ways = [way for way in study.plumbing.ways if way.end == end_at(engine)]
        yield from ways
        if not ways:
            yield needs(engine.name, "feed lines that lead from a tank's outlet to it")


def straight(run: Run) -> str:
    """What a run's lines were taken for where no path is stated of them: words to end a pass with; path = [] states one."""
    bare = [step.line for step in run.way.steps if "path_m" not in step.line.design.model_fields_set]
    names = ", ".join(dict.fromkeys(line.name for line in bare))
    return f"; no path is stated and a straight one was taken: {names}" if names else ""


def deep(points: Iterable[PathPoint]) -> list[PathPoint]:
    """The high or low points that are greater than half the bore."""
    return [point for point in points if point.deep]


def worst(found: Iterable[tuple[RunAt, PathPoint]]) -> tuple[RunAt, PathPoint] | None:
    """The greatest of the high or low points of a run, with its attitude."""
    return max(found, key=lambda at_point: at_point[1].proud_m, default=None)
