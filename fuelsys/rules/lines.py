"""What the rules on lines share: which tanks feed which, what lies on no way, and how places and attitudes read."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from fuelsys.kernels.compiled import Floats
from fuelsys.model.design import Component
from fuelsys.model.findings import Source, Verdict
from fuelsys.model.plumbing import LineKind, PathPoint, Run, RunAt
from fuelsys.model.study import Study
from fuelsys.rules.words import needs, spot

# A dip or a hump that is smaller than this share of the bore does not fill the line's section.
LEAST_SHARE_OF_BORE = 0.5
HALF_BORE = Source("dips and humps up to half the bore are ignored: common practice, no source")


def tank_of(end: str) -> str | None:
    """The tank of an end "tank.port"; None for a component."""
    return end.split(".", 1)[0] if "." in end else None


def on_aircraft(study: Study, place_m: Floats) -> str:
    """A place in body axes in the axes that the design file uses for places on the aircraft."""
    return spot(study.layout.aircraft_m(place_m))


def loose(study: Study, kinds: Iterable[LineKind]) -> Iterator[Verdict]:
    """Lines of some kinds that are on no way from end to end: nothing was checked on them."""
    for line in study.layout.lines:
        if line.design.kind in kinds and line.name in study.plumbing.loose:
            ends = f'"{line.design.from_port}" and "{line.design.to_port}"'
            yield needs(
                line.name,
                f"the lines that join {ends} from end to end: feed runs from a tank's outlet to a pump, an engine or a tank,"
                " return from an engine to a tank, each line from `from` to `to`; a vent from a tank overboard",
            )


def unled(study: Study, kind: LineKind) -> Iterator[tuple[str, Verdict]]:
    """Ports of tanks that lines of a kind should leave from (outlets, vents) and do not, each with its verdict."""
    for tank in study.tanks:
        for port in tank.tank.design.vent if kind == "vent" else tank.tank.design.outlet:
            end = f"{tank.name}.{port.name}"
            if not study.layout.lines_at(end):
                yield end, needs(end, f"a {kind} line from it: none is listed")


def feeders(study: Study, tank: str) -> tuple[str, ...]:
    """The tanks from which feed lines lead into a tank."""
    starts = [tank_of(way.start) for way in study.plumbing.ways if tank_of(way.end) == tank]
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
        tank_of(way.start) for way in study.plumbing.ways if tank_of(way.end) == tank and not on_way(study, way, "pump")
    }
    full = [
        air.full_level_m
        for main in mains - {tank, None}
        for air in study.plumbing.air[main or ""]
        if air.attitude.normal
    ]
    return bool(top and full) and max(full) >= max(top)


def components(study: Study, *kinds: str) -> tuple[Component, ...]:
    """All components of some kinds."""
    return tuple(c for c in study.layout.design.component if c.kind in kinds)


def on_way(study: Study, run: Run, *kinds: str) -> tuple[Component, ...]:
    """Components of some kinds between the ends of a run, in order."""
    names = [study.layout.component(name) for name in run.through]
    return tuple(c for c in names if c is not None and c.kind in kinds)


def engine_ways(study: Study) -> Iterator[Run | Verdict]:
    """Every way from a tank's outlet to an engine, or what is missing for one."""
    engines = components(study, "engine")
    if not engines:
        yield needs("engine", "a component of kind engine and the feed lines to it")
    for engine in engines:
        ways = [way for way in study.plumbing.ways if way.end == engine.name]
        yield from ways
        if not ways:
            yield needs(engine.name, "feed lines that lead from a tank's outlet to it")


def deep(points: Iterable[PathPoint]) -> list[PathPoint]:
    """The high or low points that are greater than half the bore."""
    return [point for point in points if point.proud_m > LEAST_SHARE_OF_BORE * point.bore_m]


def worst(found: Iterable[tuple[RunAt, PathPoint]]) -> tuple[RunAt, PathPoint] | None:
    """The greatest of the high or low points of a run, with its attitude."""
    return max(found, key=lambda at_point: at_point[1].proud_m, default=None)
