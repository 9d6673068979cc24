"""Rules on dipsticks."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise

from fuelsys.model.found.dipstick import DipstickStudy
from fuelsys.model.found.findings import COMMON_PRACTICE, Cost, Reach, Stake, Verdict
from fuelsys.model.found.study import Study, TankStudy
from fuelsys.model.stated.standards import DAY_RESERVE_S
from fuelsys.rules.severity import NEAR_S, RESERVE, TRIFLES, USABLE_RESTS_ON, reserve_m3
from fuelsys.rules.words import (
    LEAST_SHOWN_M3,
    NO_FITTINGS,
    at_least,
    before_64,
    caution,
    failed,
    litres,
    millimetres,
    needs,
    not_asked,
    passed,
    rule,
    spot,
)

_UNREAD_S = 600.0  # at cruise, below a dry stick: a third of DAY_RESERVE_S; chosen here, no source


@rule(
    subject="dipstick",
    reach=Reach.OUTSIDE,
    stake=Stake.LITRES,
    checks="Each tank that has a filler has a dipstick with graduations.",
    why="The quantity must be found on the ground without trusting the gauge.",
    mend="Make a dipstick that reaches through the filler to the sump: [tank.dipstick] with top and bottom.",
    sources=(before_64("23.1337(b)(4)", "which asks for a means such as a stick gauge"),),
)
def dipstick_missing(study: Study) -> Iterator[Verdict]:
    """A tank with a filler and no dipstick."""
    for tank in study.tanks:
        if tank.dipstick and not tank.dipstick.marks:
            held = f"from {litres(tank.dipstick.below_m3)} at its bottom to {litres(tank.dipstick.top_m3)} at its top"
            mend = "State a smaller step, or make the stick longer."
            yield caution(tank.name, f"its dipstick has no graduation: no multiple of the step lies {held}", mend)
        elif tank.tank.design.dipstick:
            yield passed(tank.name, "a dipstick is shown")
        elif not tank.tank.design.ports:
            yield needs(tank.name, NO_FITTINGS)
        elif tank.tank.design.filler is None:
            yield not_asked(tank.name, "it has no filler to dip through")
        else:
            yield caution(tank.name, "it has a filler and no dipstick")


@rule(
    subject="dipstick",
    reach=Reach.OUTSIDE,
    stake=Stake.LITRES,
    checks="A dipstick that reads nothing leaves no more in the tank than its unusable fuel. More than half a minute at cruise, or than"
    " a step of its graduation and ten minutes (a third of the day reserve, chosen here, no source), is a caution, and half an"
    " hour's fuel at cruise or more a fail where no gauge of the tank sees down to the unusable fuel either. A dry stick errs on the safe"
    " side.",
    why="In a wing with dihedral the low point is not under the filler: a stick there reads nothing while usable fuel is left,"
    " and cannot tell half an hour from none.",
    mend="Let the stick reach the floor nearer to the sump.",
    sources=(
        RESERVE,
        before_64("23.1337(b)(4)", "which asks for a means such as a stick gauge"),
        COMMON_PRACTICE,
        TRIFLES,
    ),
    rests_on=USABLE_RESTS_ON,
)
def dipstick_blind(study: Study) -> Iterator[Verdict]:
    """What the tank holds when the stick's bottom is just dry, against the unusable fuel."""
    for tank in study.tanks:
        stick, left = tank.dipstick, tank.capacity.unusable
        if stick is None:
            continue
        if left is None:
            yield needs(tank.name, "an outlet: what is usable counts above the unusable fuel")
            continue
        evidence = (
            f"at {stick.attitude.text} the stick's bottom is dry with {litres(stick.unseen_m3)} in the tank; unusable are"
            f" {litres(left.volume_m3)}"
        )
        hidden_m3 = stick.unseen_m3 - left.volume_m3
        flow_m3_s = study.layout.design.reserve_flow_m3_s
        trifle_m3 = max(LEAST_SHOWN_M3, NEAR_S * flow_m3_s, min(_step_m3(stick), _UNREAD_S * flow_m3_s))
        yield passed(tank.name, evidence) if hidden_m3 <= trifle_m3 else _unseen(study, tank, evidence, hidden_m3)


def _step_m3(stick: DipstickStudy) -> float:
    """The least step between two graduations: what lies below is not read more finely; 0 where there are not two."""
    volumes = sorted(mark.volume_m3 for mark in stick.marks)
    return min((high - low for low, high in pairwise(volumes)), default=0.0)


def _unseen(study: Study, tank: TankStudy, evidence: str, hidden_m3: float) -> Verdict:
    """Usable fuel that a stick does not see: a fail where it is a reserve and no gauge sees it."""
    hidden, lasts_min = litres(hidden_m3), hidden_m3 / study.layout.design.reserve_flow_m3_s / 60.0
    evidence += (
        f": {hidden} of usable fuel, {lasts_min:.0f} min at {study.layout.design.fuel.reserve_phase}, are unseen"
    )
    mend = f"Let the stick reach lower, nearer to the sump, or write at its bottom: {hidden} of usable fuel or none, it cannot tell."
    cost = Cost(volume_m3=hidden_m3)
    if hidden_m3 < reserve_m3(study):
        return caution(tank.name, evidence, mend, cost)
    if seeing := [one.name for one in tank.gauges if one.sees_the_last]:
        return caution(tank.name, f"{evidence} by it; {', '.join(seeing)} sees them", mend, cost)
    return failed(tank.name, f"{evidence}, {DAY_RESERVE_S / 60.0:.0f} min or more, and no gauge sees them", mend, cost)


@rule(
    subject="dipstick",
    reach=Reach.INSIDE,
    stake=Stake.LITRES,
    checks="The dipstick's line passes through the mouth of its filler, and from there to its bottom through no wall, rib or"
    " body in the tank.",
    why="A straight stick that cannot go in as it is drawn stands elsewhere, and its graduations are wrong there.",
    mend="Move the stick's top and bottom so that it passes through the filler and clear of the ribs.",
    sources=(COMMON_PRACTICE,),
)
def dipstick_misses_filler(study: Study) -> Iterator[Verdict]:
    """Distance of the stick's line from the middle of the lip against half the bore; fail where something is in its way."""
    for tank in study.tanks:
        yield _goes_in(tank)


def _goes_in(tank: TankStudy) -> Verdict:
    stick, filler = tank.dipstick, tank.tank.design.filler
    if stick is None:
        return (
            needs(tank.name, NO_FITTINGS) if not tank.tank.design.ports else not_asked(tank.name, "it has no dipstick")
        )
    if stick.barriers:
        first = stick.barriers[0]
        more = f", the first of {len(stick.barriers)} on its way down" if len(stick.barriers) > 1 else ""
        evidence = f"it meets a wall, a rib or a body at {spot(first.at_m)} of its mesh, {millimetres(first.thick_m)} thick{more}"
        return failed(tank.name, evidence, f"Move or slant the stick so that it passes clear of {spot(first.at_m)}.")
    if filler is None or stick.off_filler_m is None:
        return needs(tank.name, "a filler: where the stick goes in is not stated")
    if filler.bore_m is None:
        return needs(tank.name, "the filler's bore")
    evidence = (
        f"its line passes {millimetres(stick.off_filler_m)} from the middle of the lip of {filler.name}, whose bore is"
        f" {millimetres(filler.bore_m)}"
    )
    beyond_m = stick.off_filler_m - filler.bore_m / 2.0
    if beyond_m <= 1e-9:
        return passed(tank.name, f"{evidence}; nothing is in its way")
    mend = f"Move the stick by at least {at_least(beyond_m)} towards the filler, or give it a mouth of its own."
    return caution(tank.name, evidence, mend)
