"""Rules on pumps: from which tanks each draws, and that an engine that is fed by pumps has two of them."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import combinations

from fuelsys.model.built.ends import End
from fuelsys.model.built.way import reached
from fuelsys.model.found.findings import Reach, Source, Stake, Verdict
from fuelsys.model.found.flow import AtInlet
from fuelsys.model.found.plumbing import Run
from fuelsys.model.found.study import Study
from fuelsys.model.stated.components import Engine, Pump, Selector, ShutOff
from fuelsys.rules.shared import components, end_at, engine_ways, on_way
from fuelsys.rules.words import before_64, caution, failed, needs, not_asked, passed, pressure, rule


@rule(
    subject="pump",
    reach=Reach.OUTSIDE,
    stake=Stake.ENGINE,
    checks="No pump draws from two tanks at a time, or something keeps the air of a tank that runs dry out of it"
    " (keeps_air_out of the pump). A selector that chooses between the tanks parts them; so do valves in each tank's own line,"
    " as long as the pilot shuts one. What shuts all tanks at once does not.",
    why="When one tank runs dry the pump draws air from it, though the other is full.",
    mend="Put a selector before the pump, or let both tanks feed a header and the pump draw from that. Where something"
    " keeps air out, such as float valves that shut the outlets, say so: keeps_air_out = true at the pump.",
    sources=(before_64("23.951(b)"),),
)
def pump_draws_from_two_tanks(study: Study) -> Iterator[Verdict]:
    """Every two tanks whose fuel comes to a pump, through other pumps too: can one be shut off while the other feeds?"""
    for pump in components(study, Pump):
        here = end_at(pump)
        runs = [run for run in study.plumbing.of_kind("feed") if run.end == here and run.start.tank]
        ways = [way for way in study.plumbing.ways if here in way.through]
        of_tank: dict[str, list[Run]] = {}
        for run in (*runs, *ways):
            of_tank.setdefault(run.start.tank or "", []).append(run)
        tanks = ", ".join(of_tank)
        if not of_tank:
            yield needs(pump.name, "a feed line to it that comes from a tank's outlet")
        elif len(of_tank) == 1:
            yield passed(pump.name, f"it draws from {tanks} alone")
        elif pump.keeps_air_out:
            yield passed(
                pump.name, f"it draws from {tanks}; the design says that air is kept out of it: show it by test"
            )
        else:
            yield _several(study, pump, of_tank)


def _several(study: Study, pump: Pump, of_tank: dict[str, list[Run]]) -> Verdict:
    pairs = list(combinations(of_tank, 2))
    here, tanks = end_at(pump), ", ".join(of_tank)
    if tied := [pair for pair in pairs if not _parted(study, here, *(of_tank[name] for name in pair))]:
        both = "; ".join(f"{one} and {other} cannot be shut off from each other" for one, other in tied)
        evidence = f"it draws from {tanks} at the same time: {both}, and nothing is shown that keeps air out"
        return failed(pump.name, evidence)
    choosing = {pair: _choosing(study, here, *(of_tank[name] for name in pair)) for pair in pairs}
    if open_both := [pair for pair, some in choosing.items() if not some]:
        own = "; ".join(f"{one} and {other}, each through a valve of its own" for one, other in open_both)
        return failed(pump.name, f"it draws from {own}: nothing keeps both from being open")
    names = ", ".join(dict.fromkeys(one.name for some in choosing.values() for one in some))
    unsure = [some for some in choosing.values() if not any(one.both is False for one in some)]
    if not unsure:
        return passed(pump.name, f"{names} chooses between {tanks}, one at a time")
    if any(all(one.both for one in some) for some in unsure):
        evidence = f"it draws from {tanks}, and a position of {names} lets several feed at once"
        return failed(pump.name, evidence, "Use a selector without that position, or do not use it in flight.")
    unsaid = ", ".join(dict.fromkeys(one.name for some in unsure for one in some if one.both is None))
    return needs(pump.name, f"to know whether a position of {unsaid} lets several of {tanks} feed at once (both)")


def _parted(study: Study, pump: End, one: Sequence[Run], other: Sequence[Run]) -> bool:
    """Whether each of two tanks can be shut off while the other still feeds."""
    return _feeds_without(study, pump, one, other) and _feeds_without(study, pump, other, one)


def _feeds_without(study: Study, pump: End, feeding: Sequence[Run], dry: Sequence[Run]) -> bool:
    """Whether a tank has a path to the pump that nothing of a dry tank comes to, its valves being shut.

    A selector that the dry tank enters by a line of its own may stand on that path, a valve may not: it is open then.
    """
    met: set[End] = set()
    for run in dry:
        shut = {end for end in run.way.order if isinstance(study.layout.network.component(end), ShutOff)}
        met |= reached(run.start, run.way.out, shut | {pump})
    if pump in met:
        return False
    avoid = {end for end in met if not isinstance(study.layout.network.component(end), Selector)}
    return any(run.way.path(to=[pump], avoid=avoid) is not None for run in feeding)


def _choosing(study: Study, pump: End, one: Sequence[Run], other: Sequence[Run]) -> tuple[Selector, ...]:
    """Selectors before the pump that all fuel of two tanks passes, each tank's coming in by lines of its own."""
    return tuple(
        selector
        for selector in components(study, Selector)
        if all(run.way.path(to=[pump], avoid=[end_at(selector)]) is None for run in (*one, *other))
        and not _entered(one, end_at(selector)) & _entered(other, end_at(selector))
    )


def _entered(runs: Sequence[Run], end: End) -> set[str]:
    """The lines by which runs come to an end."""
    return {step.line.name for run in runs for step in run.way.into.get(end, ())}


@rule(
    subject="pump",
    reach=Reach.OUTSIDE,
    stake=Stake.ENGINE,
    checks="Where pumps feed a piston engine, each tank's way to it has a main pump that the engine drives and an emergency"
    " pump with power of its own, electric or by hand. A turbine's needs two pumps that are not driven alike.",
    why="With one pump, or one source of power for both, its failure is the engine's.",
    mend="Add an emergency pump with its own power; a pump that is part of the engine is listed as a component too.",
    sources=(before_64("23.991"), Source("14 CFR 23.991 for turbines", "before amendment 23-64", from_memory=True)),
)
def pump_missing(study: Study) -> Iterator[Verdict]:
    """What drives the pumps on each way to an engine."""
    if study.layout.design.aircraft.feed == "gravity":
        yield not_asked("engine", "it is fed by gravity")
        return
    for way in engine_ways(study):
        yield way if isinstance(way, Verdict) else _two_pumps(study, way)


def _two_pumps(study: Study, way: Run) -> Verdict:
    pumps = on_way(study, way, Pump)
    piston = study.layout.design.aircraft.engine == "piston"
    by_engine = [pump for pump in pumps if pump.driven == "engine"]
    unsaid = [pump.name for pump in pumps if pump.driven is None]
    listed = ", ".join(f"{pump.name} ({_drive(pump)})" for pump in pumps)
    if not pumps:
        return failed(way.name, "feed is by pump, and no pump stands on it")
    if len(pumps) == 1:
        return failed(way.name, f"{listed} is the only pump on it", _second(pumps[0]))
    if by_engine and len(by_engine) + len(unsaid) < len(pumps):
        return passed(way.name, f"{listed} stand on it")
    if unsaid:
        return needs(way.name, f"to know what drives {', '.join(unsaid)} (driven: engine, electric or hand)")
    if by_engine:
        evidence = f"the engine drives all of its pumps, {listed}: none has power of its own"
        return failed(way.name, evidence, "Add an electric or a hand pump as the emergency pump.")
    evidence = f"the engine drives none of its pumps, {listed}"
    mend = "Add a main pump that the engine drives, or give each pump a supply of its own and prove that one failure leaves one."
    return failed(way.name, evidence, mend) if piston else caution(way.name, evidence, mend)


def _drive(pump: Pump) -> str:
    return {"engine": "driven by the engine", "electric": "electric", "hand": "by hand", None: "drive not stated"}[
        pump.driven
    ]


def _second(pump: Pump) -> str:
    """What the only pump lacks."""
    if pump.driven == "engine":
        return "Add an emergency pump with power of its own, electric or by hand."
    if pump.driven is None:
        return ""
    return "Add a main pump that the engine drives; a pump that is part of the engine is listed as a component too."


@rule(
    subject="engine",
    reach=Reach.OUTSIDE,
    stake=Stake.ENGINE,
    checks="With all pumps running at once, nothing drawn and the tanks full no more pressure comes to the engine's inlet than it may get"
    " (most_inlet_pressure): what pumps in series add counts in full.",
    why="Two pumps in series add their pressures: a carburettor's needle is pushed off its seat, the engine floods and the carburettor"
    " runs over.",
    mend="Fit a weaker emergency pump, a regulator behind it, or lead it past the main pump.",
    sources=(before_64("23.955(c)(3)"),),
)
def inlet_pressure_too_high(study: Study) -> Iterator[Verdict]:
    """The pressure at no flow against what the engine may get; where one pump alone gives it, it is asked for only where it is stated."""
    found = {one.engine: one for one in study.flows.inlets}
    for engine in components(study, Engine):
        one = found.get(end_at(engine))
        if one is None:
            missing = [gap for gap in study.flows.missing if not gap.kind]
            yield (
                needs(engine.name, missing[0].needs)
                if missing
                else not_asked(engine.name, "no pump stands on its feed")
            )
        else:
            yield _at_inlet(engine, one)


def _at_inlet(engine: Engine, one: AtInlet) -> Verdict:
    most_pa = engine.most_inlet_pressure_pa
    if one.needs and (most_pa is not None or len(one.pumps) > 1):
        return needs(engine.name, f"{one.needs}: what it adds when nothing is drawn")
    running = f"{' and '.join(one.pumps)} running" if len(one.pumps) > 1 else f"{one.pumps[0]} running"
    at = one.attitude.text if one.attitude else ""
    evidence = (
        f"with {running} and nothing drawn {pressure(one.pressure_pa)} come to its inlet from full tanks, at {at}"
    )
    if most_pa is None:
        if one.in_series:
            return needs(engine.name, f"its most_inlet_pressure: {evidence}")
        return not_asked(
            engine.name, "no two pumps stand in series before it, and its most_inlet_pressure is not stated"
        )
    evidence += f"; it may get {pressure(most_pa)}"
    return passed(engine.name, evidence) if one.pressure_pa <= most_pa else failed(engine.name, evidence)
