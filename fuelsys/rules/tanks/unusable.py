"""Rules on unusable fuel and on the envelope that it is computed for."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from math import degrees, radians

import numpy as np

from fuelsys.model.found.findings import COMMON_PRACTICE, Cost, Reach, Source, Stake, Verdict
from fuelsys.model.found.study import Study, TankStudy
from fuelsys.model.found.unusable import LEAST_OVER_M, Pocket, UnusableAt
from fuelsys.model.stated.attitude import COMBINED_STEP_RAD, COMBINED_TO_RAD
from fuelsys.rules.severity import NEAR_S, RESERVE, reserve_m3, surely_unusable_m3
from fuelsys.rules.tanks.sump import asked_m3
from fuelsys.rules.words import (
    LEAST_SHOWN_M3,
    before_64,
    caution,
    failed,
    forever,
    litres,
    litres_up,
    millimetres,
    needs,
    passed,
    place,
    pockets_text,
    rule,
)

# A pocket worth stopping for in flight. Chosen here, no source: a third of a minute at 18 L/h.
NOTED_POCKET_M3 = 0.1e-3
MOST_SUMP = 4.0  # times what a sump must hold: more is not needed as a sump; chosen here, no source
LARGE_M3, LARGE_SHARE = 3.785411784e-3, 0.05  # 1 US gal or 5 % of capacity: 14 CFR 27.1553
MORE_SHARE = 0.1  # of the unusable fuel at the worst stated attitude; chosen here, no source
FAR_TIMES = 2.0  # that limit: no longer a tank with an odd corner; chosen here, no source
STEEPER_RAD = radians(5.0)  # above the climb angle: AC 90-89A, chapter 1, section 11
# How far an envelope reaches in practice: nose-down about 10°, slips as 5 to 10° of roll. Common practice, no source;
# less than half of the nose-down figure, or than the smaller roll, is told.
LEAST_TILT_RAD = radians(5.0)


@rule(
    subject="trapped fuel",
    reach=Reach.INSIDE,
    stake=Stake.LITRES,
    checks="At no flight attitude of the envelope is more than 0.1 L (a limit chosen here, no source) cut off from the"
    " outlets in pockets. What the sump's own drain valve reaches does not count, up to four times"
    " what sump-small asks for (chosen here, no source): a sump is to hold it. As much as unusable-large fails is a fail here.",
    why="Cut-off fuel is carried but not usable at that attitude; it comes back, or not, as the aircraft moves.",
    mend="Open a notch at the floor where the pocket is held back, or give the pocket an outlet of its own.",
    sources=(before_64("23.959(a)"), COMMON_PRACTICE),
)
def fuel_trapped_in_pocket(study: Study) -> Iterator[Verdict]:
    """Trapped fuel at the flight attitude that traps most."""
    for tank in study.tanks:
        flight = _flight(tank)
        if not flight:
            yield needs(tank.name, "an outlet")
            continue
        most = max(flight, key=lambda at: _in_sump_m3(tank, at))
        flight = [_without_sump(tank, at) for at in flight]
        worst = max(flight, key=lambda at: at.trapped_m3)
        noted = [at for at in flight if at.trapped_m3 > NOTED_POCKET_M3]
        in_sump = f"; {litres(_in_sump_m3(tank, most))} at most, at {most.attitude.text}, in the sump that"
        drains = ", ".join(pocket.sump_drain for pocket in most.pockets if _is_sump(tank, pocket))
        meant = f"{in_sump} {drains} draws from do not count" if drains else ""
        if worst.trapped_m3 < LEAST_SHOWN_M3:
            evidence = f"nothing is cut off from the outlets at any of {len(flight)} flight attitudes"
            yield passed(tank.name, evidence + meant)
            continue
        evidence = f"most is cut off from the outlets at {worst.attitude.text}: {pockets_text(tank.tank, worst)}"
        others = ", ".join(one.attitude.name for one in noted if one is not worst)
        evidence += f"; more than {litres(NOTED_POCKET_M3)} also at {others}" if others else ""
        evidence += meant
        if noted:
            left = tank.capacity.unusable
            far = left and min(worst.trapped_m3, surely_unusable_m3(left)) > _far_m3(study, tank)
            yield (failed if far else caution)(
                tank.name, evidence, _notch(tank, worst), Cost(volume_m3=worst.trapped_m3)
            )
        else:
            yield passed(tank.name, evidence)


def _is_sump(tank: TankStudy, pocket: Pocket) -> bool:
    """Whether a pocket is the sump and no larger than a sump needs to be."""
    return bool(pocket.sump_drain) and pocket.volume_m3 <= MOST_SUMP * asked_m3(tank)


def _in_sump_m3(tank: TankStudy, at: UnusableAt) -> float:
    return sum(pocket.volume_m3 for pocket in at.pockets if _is_sump(tank, pocket))


def _without_sump(tank: TankStudy, at: UnusableAt) -> UnusableAt:
    """The same with what is cut off in the sump left out."""
    pockets = tuple(pocket for pocket in at.pockets if not _is_sump(tank, pocket))
    trapped_m3 = at.trapped_m3 - _in_sump_m3(tank, at) if pockets else 0.0
    return replace(at, pockets=pockets, trapped_m3=trapped_m3)


@rule(
    subject="narrow gaps",
    reach=Reach.INSIDE,
    stake=Stake.LITRES,
    checks="Where fuel can only pass through a gap that is narrower than the narrowest passage that counts (0.1 mm, a limit"
    " chosen here, no source, or narrowest_passage of the tank), it makes no difference whether that gap is open.",
    why="A wall that is drawn to fit exactly, or to stand a hair off the floor, is closed by sealant, or is not. Figures here"
    " count it as closed, which leaves the most fuel behind.",
    mend="Make the gap a passage of some millimetres, or join the wall to the tank in CAD.",
    sources=(COMMON_PRACTICE,),
)
def passage_too_narrow(study: Study) -> Iterator[Verdict]:
    """Unusable fuel with the narrow gaps closed and open."""
    for tank in study.tanks:
        left, gaps = tank.capacity.unusable, tank.tank.cavity.gaps
        narrow = f"narrower than {millimetres(tank.tank.design.narrowest_passage_m)}"
        if not gaps:
            yield passed(tank.name, f"no gap is {narrow}")
            continue
        found = (
            f"{len(gaps)} {'gaps are' if len(gaps) > 1 else 'gap is'} {narrow}, near {place(tank.tank, gaps[0].at_m)}"
        )
        if left is None:
            yield needs(tank.name, f"an outlet: {found}")
        elif left.opened is None:
            yield caution(tank.name, f"{found}; walls touch or overlap there, so that only closed it can be computed")
        elif left.gaps_matter:
            worst, opened = left.worst, left.opened.worst
            yield caution(
                tank.name,
                f"{found}: closed, {litres(left.volume_m3)} unusable at {worst.attitude.text}; open,"
                f" {litres(left.opened.volume_m3)} at {opened.attitude.text}",
                cost=Cost(volume_m3=left.volume_m3 - left.opened.volume_m3),
            )
        else:
            yield passed(tank.name, f"{found}; open or closed, the same stays behind")


def _notch(tank: TankStudy, left: UnusableAt) -> str:
    largest = left.pockets[0]
    at = place(tank.tank, largest.lowest_m)
    if largest.sump_drain:
        return f"Make the sump at {at} smaller, down to the {litres_up(asked_m3(tank))} that sump-small asks for."
    return f"Open a notch at the floor so that fuel runs to the outlet from {at}, or give that pocket an outlet."


def _flight(tank: TankStudy) -> list[UnusableAt]:
    """What stays behind at each flight attitude; empty without an outlet."""
    left = tank.capacity.unusable
    return [at for at in left.at if at.attitude.phase == "flight"] if left else []


@rule(
    subject="unusable fuel",
    reach=Reach.INSIDE,
    stake=Stake.LITRES,
    checks="The unusable fuel of a tank is at most 1 US gal or 5 % of its capacity, whichever is greater. Twice as much (chosen"
    " here, no source), or half an hour at cruise, is a fail, unless it hangs on a cover that is assumed or on a gap.",
    why="More is dead weight, and a gauge that reads zero with so much fuel aboard must be marked (the limit is that"
    " rule's, for rotorcraft).",
    mend="Move the outlet to where the fuel lies lowest, add a second outlet, or deepen the sump.",
    sources=(Source("14 CFR 27.1553"), Source("14 CFR 29.1553"), RESERVE),
    rests_on=("cover-not-stated", "feed-in-doubt", "mesh-in-doubt", "passage-too-narrow"),
)
def unusable_large(study: Study) -> Iterator[Verdict]:
    """Unusable fuel against the limit."""
    for tank in study.tanks:
        left = tank.capacity.unusable
        if left is None:
            yield needs(tank.name, "an outlet")
            continue
        limit_m3 = max(LARGE_M3, LARGE_SHARE * tank.capacity.gross_m3)
        evidence = (
            f"{litres(left.volume_m3)} unusable at {left.worst.attitude.text}: {litres(left.worst.residual_m3)} below the"
            f" outlets{_over(left.worst)}, {litres(left.worst.trapped_m3)} in pockets{forever(left)}; the limit is {litres(limit_m3)}"
        )
        if left.volume_m3 <= limit_m3:
            yield passed(tank.name, evidence)
        else:
            told = failed if surely_unusable_m3(left) > _far_m3(study, tank) else caution
            yield told(tank.name, evidence, _nearer(tank, left.worst), Cost(volume_m3=left.volume_m3))


def _far_m3(study: Study, tank: TankStudy) -> float:
    """What may not stay behind: a pilot who counts it as reserve has none."""
    return min(FAR_TIMES * max(LARGE_M3, LARGE_SHARE * tank.capacity.gross_m3), reserve_m3(study))


@rule(
    subject="unusable fuel",
    reach=Reach.PAPER,
    stake=Stake.LITRES,
    checks="Where pitch and roll of different flight attitudes of the envelope come together, as in a descent with a slip, at"
    " most half a minute at cruise, 0.1 L or a tenth more (limits chosen here, no source) stays behind than at the worst stated one."
    " Tilts of attitudes that are held for a time count for the longest of the times.",
    why="Unusable fuel and minutes are told for the attitudes that are stated; a slip is flown in a climb or a glide.",
    mend="State that attitude too, with its phase: unusable fuel and minutes are then counted for it.",
    sources=(before_64("23.959(a)"), COMMON_PRACTICE),
    rests_on=("cover-not-stated", "feed-in-doubt", "unusable-large"),
)
def unusable_at_combined_attitudes(study: Study) -> Iterator[Verdict]:
    """The worst combination against the worst stated attitude."""
    for tank in study.tanks:
        left, at = tank.capacity.unusable, tank.combined
        if left is None or at is None:
            yield needs(tank.name, "an outlet")
            continue
        evidence = (
            f"at {at.attitude.text}"
            f" {litres(at.unusable_m3)} stay behind, {litres(left.volume_m3)} at the worst stated attitude,"
            f" {left.worst.attitude.text}{forever(left)}; looked for in steps of {degrees(COMBINED_STEP_RAD):g}° at most, and"
            f" about the worst to {degrees(COMBINED_TO_RAD):g}°"
        )
        more_m3 = at.unusable_m3 - left.volume_m3
        least_m3 = NEAR_S * study.layout.design.reserve_flow_m3_s
        if more_m3 > max(NOTED_POCKET_M3, least_m3, MORE_SHARE * left.volume_m3):
            yield caution(tank.name, evidence, cost=Cost(volume_m3=more_m3))
        else:
            yield passed(tank.name, evidence)


def _over(worst: UnusableAt) -> str:
    """Where a feed line without a pump holds fuel back above its outlet."""
    over = worst.over_m > LEAST_OVER_M
    return f" or below a high point of the feed line, {millimetres(worst.over_m)} above its outlet" if over else ""


def _nearer(tank: TankStudy, worst: UnusableAt) -> str:
    if worst.over_m > LEAST_OVER_M:
        return "First lower the feed line where it rises above the outlet (feed-line-high-point, feed-not-downhill)."
    pockets = _without_sump(tank, worst)
    if worst.residual_m3 < pockets.trapped_m3:
        return _notch(tank, pockets)
    if worst.lowest_m is None:
        return ""
    there = place(tank.tank, worst.lowest_m)
    return (
        f"At that attitude the fuel lies lowest at {there}: move the outlet that way, add a second outlet there, or deepen the"
        " sump."
    )


@rule(
    subject="envelope",
    reach=Reach.PAPER,
    stake=Stake.ENGINE,
    checks="The envelope has a flight attitude at least 5° steeper than the climb angle, wings level.",
    why="The flow test of an amateur-built aircraft is made with the nose 5° above its steepest climb; unusable fuel that"
    " was not computed there may stop the engine on the first climb.",
    mend="Add a flight attitude with the climb angle and 5° more as its pitch.",
    sources=(Source("AC 90-89A", "1995, chapter 1, section 11, paragraph 1.e(1)"),),
)
def envelope_misses_steep_climb(study: Study) -> Iterator[Verdict]:
    """The steepest wings-level flight attitude against climb angle plus 5°."""
    where, design = "envelope", study.layout.design
    climb_rad = design.aircraft.climb_angle_rad
    if climb_rad is None:
        yield needs(where, "the climb angle: aircraft.climb_angle")
        return
    wanted = f"{degrees(climb_rad + STEEPER_RAD):.1f}°"
    level = [a for a in design.envelope if a.phase == "flight" and abs(a.roll_rad) < 1e-9]
    steepest = max(level, key=lambda a: a.pitch_rad, default=None)
    if steepest is None:
        yield failed(where, f"no flight attitude has its wings level; {wanted} of pitch is wanted")
    elif steepest.pitch_rad >= climb_rad + STEEPER_RAD - 1e-9:
        yield passed(where, f"{steepest.text} is at least as steep as {wanted}: climb angle and 5°")
    else:
        mend = f'Add [[attitude]] with phase = "flight" and pitch = "{degrees(climb_rad + STEEPER_RAD):.4g} deg".'
        yield failed(where, f"the steepest with wings level is {steepest.text}; {wanted} is wanted", mend)


@rule(
    subject="envelope",
    reach=Reach.PAPER,
    stake=Stake.LITRES,
    checks="The flight attitudes tilt the fuel's surface by at least 5° nose-down, to the left and to the right.",
    why="Descents and slips uncover outlets that a climb keeps wet. No published rule gives angles; builders use about"
    " 10° nose-down and 5 to 10° of slip.",
    mend="Add a descent, and a slip to each side.",
    sources=(COMMON_PRACTICE,),
)
def envelope_narrow(study: Study) -> Iterator[Verdict]:
    """How far the surface tilts in flight, accelerations included."""
    ups = [a.up for a in study.layout.design.envelope if a.phase == "flight"]
    reach = {
        "nose-down": max(float(np.arctan2(up[0], up[2])) for up in ups),
        "right wing down": max(float(np.arctan2(-up[1], up[2])) for up in ups),
        "left wing down": max(float(np.arctan2(up[1], up[2])) for up in ups),
    }
    evidence = "in flight the surface tilts at most " + ", ".join(
        f"{degrees(max(0.0, tilt)):.1f}° {way}" for way, tilt in reach.items()
    )
    short = [way for way, tilt in reach.items() if tilt < LEAST_TILT_RAD - 1e-9]
    mend = f"Add flight attitudes of at least {degrees(LEAST_TILT_RAD):.0f}° {' and '.join(short)}."
    yield caution("envelope", evidence, mend) if short else passed("envelope", evidence)
