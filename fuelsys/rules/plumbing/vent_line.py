"""Rules on vent lines: water traps, siphons, fuel lost on a slope, bore, and the vent of a header."""

from __future__ import annotations

from collections.abc import Iterator
from math import pi

from fuelsys.model.built.ends import End, PortEnd, Step
from fuelsys.model.found.findings import COMMON_PRACTICE, Reach, Source, Stake, Verdict
from fuelsys.model.found.plumbing import Run, RunAt, Settled
from fuelsys.model.found.study import Study
from fuelsys.model.stated.standards import SEA_LEVEL_FALL_PER_M
from fuelsys.rules.shared import (
    HALF_BORE,
    deep,
    feeders,
    header_like,
    on_aircraft,
    straight,
    unchecked,
    worst,
)
from fuelsys.rules.words import (
    at_least,
    before_64,
    caution,
    descent,
    failed,
    litres,
    millimetres,
    needs,
    not_asked,
    passed,
    rule,
    speed,
)

# Inside of a tube of 1/4 in with a wall of 0.035 in.
LEAST_BORE_M = 0.18 * 0.0254
DESCENT_M_S = 1500 * 0.3048 / 60.0
_UNEQUAL = Source("unequal vents upset a header: read in a builders' forum, agrees with 14 CFR 23.975(a)(4)")


@rule(
    subject="vent line",
    reach=Reach.OUTSIDE,
    stake=Stake.ENGINE,
    checks="No vent line has a low point without a drain, on the ground or in level flight.",
    why="Water and spilled fuel collect there and close the vent, or freeze in it.",
    mend="Lead the line so that it falls all the way to one of its ends, or put a drain at its low point.",
    sources=(before_64("23.975(a)(5)"), HALF_BORE),
)
def vent_line_low_point(study: Study) -> Iterator[Verdict]:
    """Low points of each run at all ground attitudes and the normal flight attitude."""
    for run in study.plumbing.of_kind("vent"):
        yield _low(study, run)
    yield from unchecked(study, "vent")


def _low(study: Study, run: Run) -> Verdict:
    asked = [at for at in run.at if at.attitude.phase == "ground" or at.attitude.normal]
    found = [(at, point) for at in asked for point in deep(at.low)]
    if bad := worst((at, point) for at, point in found if point.drained is False):
        at, point = bad
        spot = on_aircraft(study, point.place_m)
        evidence = f"{point.on} dips by {millimetres(point.proud_m)} at {spot} without a drain, at {at.attitude.text}"
        return failed(
            run.name, evidence, f"Raise the line at {spot} by {at_least(point.proud_m)}, or put a drain there."
        )
    if unknown := worst((at, point) for at, point in found if point.drained is None):
        return needs(
            run.name, f"to know whether {unknown[1].on} has a drain: it is a low point at {unknown[0].attitude.text}"
        )
    drained = f"; {found[0][1].on} has a drain at its low point" if found else ""
    return passed(run.name, f"no undrained low point at {len(asked)} attitudes{drained}{straight(run)}")


@rule(
    subject="vent line",
    reach=Reach.OUTSIDE,
    stake=Stake.LITRES,
    checks="Each vent line rises above the full tank before it goes overboard, in every ground attitude.",
    why="A line that never rises above the fuel runs over when the tank is filled, and then empties it as a siphon.",
    mend="Lead the line up in a loop above the filler before it turns down.",
    sources=(before_64("23.975(a)(2)"),),
)
def vent_line_siphons(study: Study) -> Iterator[Verdict]:
    """The highest point of each line that leads overboard against the filler's lip of its tank."""
    for run in study.plumbing.of_kind("vent"):
        if not run.end.tank:
            yield _siphon(study, run)
    yield from unchecked(study, "vent")


def _siphon(study: Study, run: Run) -> Verdict:
    name = run.start.tank or ""
    tank = study.layout.tank(name)
    if tank.design.filler is None:
        if header_like(study, name):
            return not_asked(run.name, f"{name} is filled by other tanks alone: see vent-spills-on-slope")
        return needs(run.name, f"the filler of {name}: how full the tank can be is not stated")
    lip_m = tank.body_m(tank.design.filler.position_m)
    margin_m, at = min(
        ((at.highest_level_m - float(lip_m @ at.attitude.up), at) for at in run.at_phase("ground")),
        key=lambda one: one[0],
    )
    if margin_m > 0.0:
        return passed(
            run.name,
            f"its highest point stands {millimetres(margin_m)} above the filler's lip at {at.attitude.text}{straight(run)}",
        )
    return failed(
        run.name,
        f"its highest point stands {millimetres(-margin_m)} below the filler's lip at {at.attitude.text}",
        f"Raise the line's highest point by more than {at_least(-margin_m)}.",
    )


@rule(
    subject="vent line",
    reach=Reach.OUTSIDE,
    stake=Stake.LITRES,
    checks="Tanks that were filled on level ground lose no fuel when parked in any direction on a slope of 1 %.",
    why="Fuel runs over the vent line of the lower tank, and a siphon may follow.",
    mend="Lead the vent line higher, or towards the middle of the aircraft first, before it goes overboard.",
    sources=(before_64("23.975(a)(7)"),),
)
def vent_spills_on_slope(study: Study) -> Iterator[Verdict]:
    """The same quantity at sixteen slopes; connected tanks share one level; vents and fillers are taken as capped."""
    for group in study.plumbing.fuel_groups:
        names = ", ".join(group)
        unfilled = [n for n in group if study.layout.tank(n).design.filler is None and not header_like(study, n)]
        if unfilled:
            yield needs(names, f"a filler of {', '.join(unfilled)}: how full the tank can be is not stated")
        elif sloped := [one for one in study.plumbing.sloped if one.tanks == group]:
            yield from _spills(sloped, names)
        else:
            yield needs(names, "a vent of each tank: how full they can be is not stated")
    yield from unchecked(study, "vent")


def _spills(sloped: list[Settled], names: str) -> Iterator[Verdict]:
    vents = [vent.opening for vent in sloped[0].vents]
    if not vents:
        yield not_asked(names, "no vent line leads overboard from there")
    for i, vent in enumerate(vents):
        at = max(sloped, key=lambda one: one.vents[i].above_m)
        above_m = at.vents[i].above_m
        fuel = f"filled and then turned to {at.attitude.text}, the fuel stands {millimetres(abs(above_m))}"
        if above_m > 0.0:
            mend = f"Raise the line's highest point by more than {at_least(above_m)}."
            yield failed(vent, f"{fuel} above the highest point of the vent's line", mend)
        else:
            yield passed(vent, f"{fuel} below the highest point of the vent's line, the least of 16 directions")


@rule(
    subject="vent line",
    reach=Reach.OUTSIDE,
    stake=Stake.WEAR,
    checks="No vent line is narrower than a tube of 1/4 in (4.6 mm inside).",
    why="In a descent air must come in for the fuel burnt and for the rising pressure; a narrow line also ices and clogs first.",
    mend="Use a tube of at least 1/4 in, better 3/8 in; some injection systems ask for 1/2 in from header to tank.",
    sources=(COMMON_PRACTICE,),
)
def vent_bore_small(study: Study) -> Iterator[Verdict]:
    """The smallest bore of each run, with the speed of the air in a descent of 1500 ft/min at sea level, tanks empty."""
    burn_m3_s = max(study.layout.design.flows_m3_s.values())
    for run in study.plumbing.of_kind("vent"):
        tanks = _breathing(study, run)
        gross_m3 = sum(study.layout.tank(name).cavity.gross_m3 for name in tanks)
        inflow_m3_s = burn_m3_s + gross_m3 * SEA_LEVEL_FALL_PER_M * DESCENT_M_S
        speed_m_s = inflow_m3_s / (pi / 4.0 * run.bore_m**2)
        evidence = (
            f"its narrowest bore is {millimetres(run.bore_m)}; in a descent of {descent(DESCENT_M_S)} with"
            f" {' and '.join(tanks)} empty {litres(inflow_m3_s * 60.0)} of air a minute come in at {speed(speed_m_s)}"
        )
        yield caution(run.name, evidence) if run.bore_m < LEAST_BORE_M else passed(run.name, evidence)
    yield from unchecked(study, "vent")


def _breathing(study: Study, run: Run) -> tuple[str, ...]:
    """The tanks whose air comes through a run's narrowest line, whichever way the lines are drawn.

    Those that are shut off from outside without that line; where none is, the larger of the tanks at the run's ends.
    A line further on the way out serves all that one before it serves, so the first and the last one are asked.
    """
    alone = [step for step in run.way.steps if _unavoidable(run, step) and step.line.bore_m == run.bore_m]
    for step in [*alone[-1:], *alone[:1]]:
        if tanks := study.layout.network.vented_by(step.line):
            return tanks
    ends = [end.tank for end in (run.start, run.end) if end.tank]
    return (max(ends, key=lambda name: study.layout.tank(name).cavity.gross_m3),)


def _unavoidable(run: Run, step: Step) -> bool:
    """Whether every path of a run takes a step."""
    return (
        step.end in (*run.way.always, run.end)
        and run.way.out[step.start] == [step]
        and (step.start == run.start or step.start in run.way.always)
    )


@rule(
    subject="vent line",
    reach=Reach.OUTSIDE,
    stake=Stake.ENGINE,
    checks="The vent of a header joins the air at the top of a tank that feeds it.",
    why="A header that is vented for itself stands under another pressure than its feeding tanks: it overflows or does not fill.",
    mend="Lead the header's vent to the top of a main tank, above its fuel, or into a common vent.",
    sources=(_UNEQUAL, before_64("23.975(a)(4)")),
)
def header_vent_apart(study: Study) -> Iterator[Verdict]:
    """For each tank that is filled by other tanks alone."""
    for tank in study.tanks:
        if not header_like(study, tank.name):
            continue
        for vent in tank.tank.design.vent:
            port = PortEnd(tank.name, vent.name)
            runs = study.plumbing.at_end(port, "vent")
            yield _apart(study, port, runs) if runs else needs(str(port), "its vent line")


def _apart(study: Study, port: PortEnd, runs: tuple[Run, ...]) -> Verdict:
    where, header = str(port), port.tank
    mains = feeders(study, header)
    ends = [run.end if run.start == port else run.start for run in runs]
    joined = [(run, end) for run, end in zip(runs, ends, strict=True) if end.tank in mains]
    for run, end in joined:
        margin_m, at = _above_fuel(study, run, end)
        if margin_m > 0.0:
            return passed(
                where, f"it joins {end}, {millimetres(margin_m)} above the full tank's fuel at {at.attitude.text}"
            )
        evidence = (
            f"it joins {end}, which is drowned by {millimetres(-margin_m)} in the full tank at {at.attitude.text}"
        )
        return caution(where, evidence, f"Join it to {end.tank} above the fuel.")
    if any(header in group and set(mains) & set(group) for group in study.plumbing.air_groups):
        return passed(where, f"it shares a vent line with {', '.join(mains)}")
    return caution(where, f"it leads to {', '.join(map(str, ends))}, apart from {', '.join(mains)}")


def _above_fuel(study: Study, run: Run, end: End) -> tuple[float, RunAt]:
    """How far an end of a run stands above the fuel of its full tank, the least of all ground attitudes."""
    full = {air.attitude: air.full_level_m for air in study.plumbing.air[end.tank or ""]}
    margins = [
        ((at.start_level_m if run.start == end else at.end_level_m) - full[at.attitude], at)
        for at in run.at_phase("ground")
    ]
    return min(margins, key=lambda one: one[0])
