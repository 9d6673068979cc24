"""Rules on unusable fuel."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from math import degrees

from fuelsys.model.found.findings import COMMON_PRACTICE, Cost, Reach, Source, Stake, Verdict
from fuelsys.model.found.study import Study, TankStudy
from fuelsys.model.found.unusable import LEAST_OVER_M, Pocket, Unusable, UnusableAt
from fuelsys.model.stated.attitude import COMBINED_STEP_RAD, COMBINED_TO_RAD
from fuelsys.rules.severity import NEAR_S, RESERVE, reserve_m3, surely_unusable_m3
from fuelsys.rules.tanks.bridging import bridging
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
    not_asked,
    passed,
    place,
    pockets_text,
    rule,
)

# A pocket worth stopping for in flight. Chosen here, no source: a third of a minute at 18 L/h.
NOTED_POCKET_M3 = 0.1e-3
POCKET_SHARE = 0.0125  # of the tank: a quarter of LARGE_SHARE; it counts as unusable, so nobody relies on it; chosen here, no source
MOST_SUMP = 4.0  # times what a sump must hold: more is not needed as a sump; chosen here, no source
LARGE_M3, LARGE_SHARE = 3.785411784e-3, 0.05  # 1 US gal or 5 % of capacity: 14 CFR 27.1553
MORE_SHARE = 0.1  # of the unusable fuel at the worst stated attitude; chosen here, no source
WITHIN_TIMES = 2.0  # NEAR_S, where what stays behind is within what unusable-large lets stay; chosen here, no source
FAR_TIMES = 2.0  # that limit: no longer a tank with an odd corner; chosen here, no source


@rule(
    subject="trapped fuel",
    reach=Reach.INSIDE,
    stake=Stake.LITRES,
    checks="At no flight attitude that is held for ever is more than 1.25 % of the tank, 0.1 L or half a minute at cruise (a quarter of"
    " what unusable-large lets stay; limits chosen here, no source) cut off from the outlets in pockets; less is told, and counts as"
    " unusable. What the sump's own drain valve reaches does not count, up to four times what sump-small asks for (chosen here, no"
    " source): a sump is to hold it. Where unusable-large finds too much, and where an attitude is held for a time, that rule tells it.",
    why="Cut-off fuel is carried but not usable at that attitude; it comes back, or not, as the aircraft moves.",
    mend="Open a notch at the floor where the pocket is held back, or give the pocket an outlet of its own.",
    sources=(before_64("23.959(a)"), COMMON_PRACTICE),
)
def fuel_trapped_in_pocket(study: Study) -> Iterator[Verdict]:
    """Trapped fuel at the flight attitude that traps most, as far as it counts as unusable there."""
    near_m3 = max(NOTED_POCKET_M3, NEAR_S * study.layout.design.reserve_flow_m3_s)
    for tank in study.tanks:
        least_m3 = max(near_m3, POCKET_SHARE * tank.capacity.gross_m3)
        flight = _flight(tank)
        if not flight:
            yield needs(tank.name, "an outlet")
            continue
        most = max(flight, key=lambda at: _in_sump_m3(tank, at))
        flight = [_without_sump(tank, at) for at in flight]
        worst = max(flight, key=lambda at: (_counted_m3(at), at.trapped_m3))
        noted = [at for at in flight if _counted_m3(at) > least_m3]
        in_sump = f"; {litres(_in_sump_m3(tank, most))} at most, at {most.attitude.text}, in the sump that"
        drains = ", ".join(pocket.sump_drain for pocket in most.pockets if _is_sump(tank, pocket))
        meant = f"{in_sump} {drains} draws from do not count" if drains else ""
        if worst.trapped_m3 < LEAST_SHOWN_M3:
            evidence = f"nothing is cut off from the outlets at any of {len(flight)} flight attitudes"
            yield passed(tank.name, evidence + meant)
            continue
        evidence = f"most is cut off from the outlets at {worst.attitude.text}: {pockets_text(tank.tank, worst)}"
        others = ", ".join(one.attitude.name for one in noted if one is not worst)
        evidence += f"; more than {litres(least_m3)} also at {others}" if others else ""
        evidence += meant
        if not noted:
            yield passed(tank.name, evidence + _in_time(flight))
        elif _too_much(tank):
            yield not_asked(tank.name, f"unusable-large tells it, with all that stays behind: {evidence}")
        else:
            yield caution(tank.name, evidence, _notch(tank, worst), Cost(volume_m3=_counted_m3(worst)))


def _in_time(flight: Sequence[UnusableAt]) -> str:
    """What is cut off while an attitude is held for a time, at most, and what of it counts."""
    most = max((at for at in flight if at.held), key=lambda at: at.trapped_m3, default=None)
    if most is None or most.trapped_m3 < LEAST_SHOWN_M3:
        return ""
    return f"; {litres(most.trapped_m3)} at {most.attitude.text}, {litres(most.unusable_m3)} unusable in that time"


def _counted_m3(at: UnusableAt) -> float:
    """What of the fuel in pockets a notch would free: while an attitude is held for a time, what runs short is the outlet's pool."""
    return at.trapped_m3 if at.held is None else 0.0


def _too_much(tank: TankStudy) -> bool:
    left = tank.capacity.unusable
    return left is not None and left.volume_m3 > _limit_m3(tank)


def _limit_m3(tank: TankStudy) -> float:
    return max(LARGE_M3, LARGE_SHARE * tank.capacity.gross_m3)


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
    return (
        f"Open a notch at the floor so that fuel runs to the outlet from {at} where a wall holds it; where the floor itself does, give that"
        " pocket an outlet, or let the floor fall to the one that there is."
    )


def _flight(tank: TankStudy) -> list[UnusableAt]:
    """What stays behind at each flight attitude; empty without an outlet."""
    left = tank.capacity.unusable
    return [at for at in left.at if at.attitude.phase == "flight"] if left else []


@rule(
    subject="unusable fuel",
    reach=Reach.INSIDE,
    stake=Stake.LITRES,
    checks="The unusable fuel of a tank is at most 1 US gal or 5 % of its capacity, whichever is greater. Twice as much (chosen"
    " here, no source), or half an hour at cruise, is a fail, unless it hangs on a cover that is assumed, on a gap, or on an attitude that"
    " is held for a time which a header below, kept full, bridges.",
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
        evidence = f"{_parts(left)}; the limit is {litres(_limit_m3(tank))}"
        if not _too_much(tank):
            yield passed(tank.name, evidence)
            continue
        far = surely_unusable_m3(left) > _far_m3(study, tank)
        bridged = bridging(study, tank, _far_m3(study, tank)) if far else ""
        evidence += f"; {bridged}" if bridged else ""
        told = failed if far and not bridged else caution
        yield told(tank.name, evidence, _nearer(tank, left.worst), Cost(volume_m3=left.volume_m3))


def _parts(left: Unusable) -> str:
    """How much stays behind and where; of an attitude that is held for a time the parts are told as they would be for ever."""
    worst = left.worst
    where = f"{litres(worst.residual_m3)} below the outlets{_over(worst)}, {litres(worst.trapped_m3)} in pockets"
    apart = worst.held is not None and abs(worst.unusable_m3 - worst.sustained_m3) > LEAST_SHOWN_M3
    where = f"held for ever it would be {where}" if apart else where
    return f"{litres(left.volume_m3)} unusable at {worst.attitude.text}: {where}{forever(left)}"


def _far_m3(study: Study, tank: TankStudy) -> float:
    """What may not stay behind: a pilot who counts it as reserve has none."""
    return min(FAR_TIMES * _limit_m3(tank), reserve_m3(study))


@rule(
    subject="unusable fuel",
    reach=Reach.PAPER,
    stake=Stake.LITRES,
    checks="Where pitch and roll of different flight attitudes of the envelope come together, as in a descent with a slip, no more"
    " stays behind than at the worst stated one, but for a minute at cruise in a tank that keeps what unusable-large lets stay (half a"
    " minute, 0.1 L or a tenth more in any; limits chosen here, no source). Tilts of attitudes that are held for a"
    " time count for the longest of the times. Lamps are judged apart.",
    why="Unusable fuel and minutes are told for the attitudes that are stated; a slip is flown in a climb or a glide.",
    mend="State that attitude too, with its phase: unusable fuel and minutes are then counted for it.",
    sources=(before_64("23.959(a)"), COMMON_PRACTICE),
    rests_on=("cover-not-stated", "feed-in-doubt", "unusable-large", "mesh-in-doubt"),
)
def unusable_at_combined_attitudes(study: Study) -> Iterator[Verdict]:
    """The worst combination against the worst stated attitude; what one mend of the design's envelope cures is one finding."""
    told: dict[tuple[object, ...], tuple[str, list[str]]] = {}  # evidence and the tanks of which it reads alike
    most_m3 = 0.0
    for tank in study.tanks:
        left, at = tank.capacity.unusable, tank.combined
        if left is None or at is None:
            yield needs(tank.name, "an outlet")
            continue
        evidence = (
            f"at {at.attitude.text}"
            f" {litres(at.unusable_m3)} stay behind, {litres(left.volume_m3)} at the worst stated attitude,"
            f" {left.worst.attitude.text}{forever(left)}"
        )
        more_m3 = at.unusable_m3 - left.volume_m3
        if _slightly_more(study, tank, left.volume_m3, at.unusable_m3):
            yield passed(tank.name, evidence + _LOOKED_FOR)
        else:
            most_m3 = max(most_m3, more_m3)
            figures = (round(at.unusable_m3, 6), round(left.volume_m3, 6))
            alike = (at.attitude.text, left.worst.attitude.text, forever(left), *figures)
            told.setdefault(alike, (evidence, []))[1].append(tank.name)
    if told:
        evidence = "; ".join(one if len(told) == 1 else f"{', '.join(names)}: {one}" for one, names in told.values())
        where = [tank.name for tank in study.tanks if any(tank.name in names for _, names in told.values())]
        yield caution(", ".join(where), evidence + _LOOKED_FOR, cost=Cost(volume_m3=most_m3))


_LOOKED_FOR = (
    f"; looked for in steps of {degrees(COMBINED_STEP_RAD):g}° at most, and about the worst to"
    f" {degrees(COMBINED_TO_RAD):g}°"
)


def _slightly_more(study: Study, tank: TankStudy, stated_m3: float, combined_m3: float) -> bool:
    """Whether a combination keeps so little more that the stated figures stand."""
    little_m3 = NEAR_S * study.layout.design.reserve_flow_m3_s
    if combined_m3 <= _limit_m3(tank):
        little_m3 *= WITHIN_TIMES
    return combined_m3 - stated_m3 <= max(NOTED_POCKET_M3, little_m3, MORE_SHARE * stated_m3)


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
