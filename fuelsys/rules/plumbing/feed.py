"""Rules on feed lines: vapour and water traps, the way downhill, and the speed of the fuel."""

from __future__ import annotations

from collections.abc import Iterator
from math import atan, atan2, degrees, pi

from fuelsys.model.found.findings import COMMON_PRACTICE, Reach, Source, Stake, Verdict
from fuelsys.model.found.plumbing import PathPoint, Run, RunAt
from fuelsys.model.found.study import Study
from fuelsys.model.stated.attitude import Attitude
from fuelsys.model.stated.components import Engine, Pump
from fuelsys.rules.shared import (
    HALF_BORE,
    components,
    deep,
    diesel,
    end_at,
    loose,
    on_aircraft,
    on_way,
    past,
    straight,
    unled,
    worst,
)
from fuelsys.rules.words import (
    at_least,
    before_64,
    caution,
    failed,
    flow,
    millimetres,
    needs,
    not_asked,
    passed,
    rule,
    speed,
)

SUCTION_M_S, PRESSURE_M_S = 1.5, 6.0
LEAST_RUN_G = 0.2  # forward, in the take-off run
_SPEEDS = Source("API RP 2003 and IEC 60079-32-1: suction 1 to 1.5 m/s, pressure 4 to 6 m/s", from_memory=True)


def _unchecked(study: Study) -> Iterator[Verdict]:
    """Outlets without a line, and feed lines that are on no way."""
    yield from (verdict for _, verdict in unled(study, "feed"))
    yield from loose(study, ["feed"])


def _from_tanks(study: Study) -> Iterator[Run]:
    return (run for run in study.plumbing.of_kind("feed") if run.start.tank)


@rule(
    subject="stated feed",
    reach=Reach.PAPER,
    stake=Stake.MINUTES,
    checks="All is stated that usable fuel and minutes of a tank rest on in its feed: lines with their paths, the drop of filters, bores.",
    why="A line that rises, or a filter that takes pressure, holds fuel back; what is not stated of them counts as nothing.",
    mend="State it in the design file; path = [] says that a line is straight.",
    sources=(COMMON_PRACTICE,),
)
def feed_in_doubt(study: Study) -> Iterator[Verdict]:
    """What every table of the tank warns of."""
    for tank in study.tanks:
        doubts = [doubt.rstrip(".") for doubt in tank.tank.doubts]
        if not tank.tank.design.outlet:
            yield needs(tank.name, "an outlet")
        elif doubts:
            yield needs(
                tank.name, f"more of its feed to be stated, for usable fuel and minutes rest on it: {'; '.join(doubts)}"
            )
        else:
            yield passed(tank.name, "nothing that its usable fuel rests on is left unsaid")


@rule(
    subject="feed line",
    reach=Reach.OUTSIDE,
    stake=Stake.ENGINE,
    checks="Feed lines on the way to a pump, an engine or another tank have no high point at any flight attitude.",
    why="Vapour and air gather there; a gravity feed stops, a pump loses its prime.",
    mend="Lead the line so that it falls, or rises, all the way.",
    sources=(before_64("23.961"), COMMON_PRACTICE, HALF_BORE),
)
def feed_line_high_point(study: Study) -> Iterator[Verdict]:
    """High points of each run up to a pump; a gravity feed fails where one stands above the outlet itself."""
    for run in _from_tanks(study):
        yield _high(study, run)
    yield from _unchecked(study)


def _high(study: Study, run: Run) -> Verdict:
    flight = run.at_phase("flight")
    found = [(at, point) for at in flight for point in deep(at.high)]
    above = [(at, point) for at, point in found if point.level_m > at.start_level_m]
    bad = worst(found)
    if bad is None:
        return passed(run.name, f"no high point at any of {len(flight)} flight attitudes{straight(run)}")
    pumped = isinstance(study.layout.network.component(run.end), Pump)
    if above and not pumped:
        at, point = max(above, key=lambda one: one[1].level_m - one[0].start_level_m)
        over = millimetres(point.level_m - at.start_level_m)
        evidence = (
            f"{_hump(study, at, point)}, and {over} above the outlet: what stands below it does not run over it and counts"
            " as unusable"
        )
        return failed(run.name, evidence, _lower(study, point))
    return caution(run.name, _hump(study, *bad), _lower(study, bad[1]))


def _hump(study: Study, at: RunAt, point: PathPoint) -> str:
    spot = on_aircraft(study, point.place_m)
    return f"at {at.attitude.text} {point.on} has a high point at {spot}, {millimetres(point.proud_m)} proud of the line beside it"


def _lower(study: Study, point: PathPoint) -> str:
    return f"Lower the line at {on_aircraft(study, point.place_m)} by {at_least(point.proud_m)}, or raise its low side."


@rule(
    subject="feed line",
    reach=Reach.OUTSIDE,
    stake=Stake.WEAR,
    checks="Feed and interconnect lines have no low point without a drain when the aircraft is parked.",
    why="Water collects there and goes to the engine in one slug at the next change of attitude, or freezes.",
    mend="Lead the line so that it falls to the filter or the tank's sump, or put a drain at its low point.",
    sources=(before_64("23.999"), HALF_BORE),
)
def feed_line_low_point(study: Study) -> Iterator[Verdict]:
    """Low points of each way, through pumps, on the ground: fail at the normal ground attitude, caution at others."""
    for run in (*study.plumbing.ways, *study.plumbing.of_kind("interconnect")):
        yield _low(study, run)
    yield from _unchecked(study)
    yield from loose(study, ["interconnect"])


def _low(study: Study, run: Run) -> Verdict:
    ground = run.at_phase("ground")
    found = [(at, point) for at in ground for point in deep(at.low)]
    traps = [(at, point) for at, point in found if point.drained is False]
    normal = [(at, point) for at, point in traps if at.attitude.normal]
    if bad := worst(normal or traps):
        at, point = bad
        spot, deep_mm = on_aircraft(study, point.place_m), millimetres(point.proud_m)
        more = len({p.on for _, p in normal or traps}) - 1
        evidence = f"at {at.attitude.text} {point.on} dips by {deep_mm} at {spot} without a drain"
        evidence += f"; so do {more} more on this way" if more else ""
        mend = f"Raise the line at {spot} by {at_least(point.proud_m)}, or put a drain there."
        return failed(run.name, evidence, mend) if normal else caution(run.name, evidence, mend)
    if unknown := worst((at, point) for at, point in found if point.drained is None):
        at, point = unknown
        return needs(run.name, f"to know whether {point.on} has a drain: it is a low point at {at.attitude.text}")
    drained = ", ".join(dict.fromkeys(point.on for _, point in found))
    drains = f"; drained: {drained}" if drained else ""
    return passed(run.name, f"no undrained low point on the ground{drains}{straight(run)}")


@rule(
    subject="feed line",
    reach=Reach.OUTSIDE,
    stake=Stake.ENGINE,
    checks="Where fuel runs by gravity alone, the outlet stands above the end of the line at every flight attitude.",
    why="Fuel that has to climb stays in the tank.",
    mend="Raise the tank, lower the line's end, or fit a pump.",
    sources=(before_64("23.955(b)"), before_64("23.959(a)")),
)
def feed_not_downhill(study: Study) -> Iterator[Verdict]:
    """Level of the outlet, where the last fuel leaves, above the engine or the inlet of the next tank."""
    for way in study.plumbing.ways:
        gravity = study.layout.design.aircraft.feed == "gravity"
        lifting = study.layout.network.transfer_pumps
        pumps = [one for one in on_way(study, way, Pump) if not gravity or end_at(one) in lifting]
        if not past(way, pumps) or (not gravity and not way.end.tank):
            continue
        head_m, at = min(
            ((at.start_level_m - at.end_level_m, at) for at in way.at_phase("flight")), key=lambda one: one[0]
        )
        evidence = (
            f"at {at.attitude.text} the outlet stands {millimetres(abs(head_m))} {'above' if head_m > 0.0 else 'below'}"
        )
        if head_m > 0.0:
            yield passed(
                way.name, f"{evidence} the end, the least in flight; a flow test decides whether this head is enough"
            )
        else:
            yield failed(way.name, f"{evidence} the end: the last fuel does not run down")
    yield from _unchecked(study)
    if study.layout.design.aircraft.feed == "gravity" and not any(not way.end.tank for way in study.plumbing.ways):
        yield needs("engine", "an engine and feed lines that lead to it")


@rule(
    subject="feed line",
    reach=Reach.OUTSIDE,
    stake=Stake.WEAR,
    checks="Fuel moves at no more than 1.5 m/s on the way to a pump or by gravity, and 6 m/s behind a pump.",
    why="Speed costs suction head, and low pressure makes vapour.",
    mend="Use a wider line.",
    sources=(_SPEEDS, before_64("23.955(a)")),
)
def feed_line_velocity(study: Study) -> Iterator[Verdict]:
    """Take-off flow and return flow through the narrowest bore of each run."""
    takeoff_m3_s = study.layout.design.flows_m3_s.get("takeoff")
    for run in study.plumbing.of_kind("feed"):
        back = _return_flow_m3_s(study, run)
        if takeoff_m3_s is None:
            yield needs(run.name, "a flow named takeoff")
        elif back is None:
            why = "it has a return line" if study.plumbing.of_kind("return") else "diesels return fuel as a rule"
            yield needs(run.name, f"the engine's return_flow: {why}")
        else:
            yield _speed(study, run, takeoff_m3_s, back)
    yield from _unchecked(study)


def _return_flow_m3_s(study: Study, run: Run) -> float | None:
    """The return flow that a run carries too: all of it, unless it comes back into the tank at the run's end."""
    returns = study.plumbing.of_kind("return")
    into = {one.end.tank for one in returns}
    if run.end.tank and run.end.tank in into:
        return 0.0
    flows = [engine.return_flow_m3_s for engine in components(study, Engine)]
    stated = [flow for flow in flows if flow is not None]
    return None if (returns or diesel(study)) and not stated else sum(stated)


def _speed(study: Study, run: Run, takeoff_m3_s: float, back_m3_s: float) -> Verdict:
    tank = run.start.tank
    share = study.layout.tank(tank).design.flow_share if tank else 1.0
    speed_m_s = (takeoff_m3_s + back_m3_s) * share / (pi / 4.0 * run.bore_m**2)
    most = SUCTION_M_S if tank else PRESSURE_M_S
    flows = f"{flow(takeoff_m3_s)} at take-off" + (f" and {flow(back_m3_s)} return" if back_m3_s else "")
    part = f"{share * 100:.0f} % of " if share < 1.0 else ""
    evidence = (
        f"{part}{flows} through {millimetres(run.bore_m)} make {speed(speed_m_s)}; {speed(most)} are usual at most"
    )
    if speed_m_s <= most:
        return passed(run.name, evidence)
    bore_m = run.bore_m * (speed_m_s / most) ** 0.5
    return caution(run.name, evidence, f"Use a bore of at least {at_least(bore_m)}.")


@rule(
    subject="envelope",
    reach=Reach.PAPER,
    stake=Stake.ENGINE,
    checks="Where gravity feeds the engine, a flight attitude has the acceleration of the take-off run: its fuel lies at least as in"
    " 0.2 g forward and level.",
    why="The run pushes fuel aft, away from an engine in the nose, just when it takes most: it lowers the head as a steep climb does.",
    mend='Add [[attitude]] with phase = "flight", the pitch of the run and forward = "0.3 g", or what yours has.',
    sources=(before_64("23.955(a)"), Source("0.2 to 0.3 g: common practice, no source")),
)
def take_off_run_not_stated(study: Study) -> Iterator[Verdict]:
    """The greatest acceleration forward that a flight attitude has."""
    if study.layout.design.aircraft.feed != "gravity":
        yield not_asked("envelope", "pumps feed the engine")
        return
    flight = [one for one in study.layout.design.envelope if one.phase == "flight" and one.forward_m_s2 > 0.0]
    if not flight:
        yield caution("envelope", "no flight attitude has an acceleration forward")
        return
    most = max(flight, key=_aft)
    evidence = f"at {most.text} fuel lies as at {degrees(_aft(most)):.1f}° nose up"
    enough = _aft(most) >= atan(LEAST_RUN_G) - 1e-9
    yield (passed if enough else caution)("envelope", f"{evidence}; {degrees(atan(LEAST_RUN_G)):.1f}° are wanted")


def _aft(attitude: Attitude) -> float:
    """How far the free surface tilts as if the nose were up, in rad: a nose that is down undoes an acceleration forward."""
    return float(atan2(-attitude.up[0], attitude.up[2]))
