"""Rules on what runs between joined tanks in flight: minutes and litres that the tanks for themselves promise and have not."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from typing import NamedTuple

from fuelsys import units
from fuelsys.model.built.joining import joined
from fuelsys.model.found.exchange import Crossed, Lasting, Together, TogetherAt, Turned
from fuelsys.model.found.findings import COMMON_PRACTICE, Cost, Reach, Source, Stake, Verdict
from fuelsys.model.found.study import Study
from fuelsys.model.stated.standards import DAY_RESERVE_S
from fuelsys.rules.severity import (
    MINUTES_REST_ON,
    RESERVE,
    SPILT,
    TRIFLE_S,
    USABLE_RESTS_ON,
    nearly_s,
    reserve_m3,
)
from fuelsys.rules.shared import loose, unchecked
from fuelsys.rules.words import (
    LEAST_SHOWN_M3,
    at_least,
    before_64,
    both_asked,
    caution,
    failed,
    litres,
    litres_down,
    millimetres,
    needs,
    not_asked,
    passed,
    rule,
    with_open,
)

_NEARLY = Source("half a minute or 5 % of what is promised is a caution: chosen here, no source")


class _Short(NamedTuple):
    """A turn from which the engine stops sooner than is promised: by how much, after what share of the time that it is to last."""

    short_s: float
    share: float
    promised_s: float
    at: TogetherAt
    lasting: Lasting
    begins: str


@rule(
    subject="connected tanks",
    reach=Reach.OUTSIDE,
    stake=Stake.MINUTES,
    checks="What runs from one joined tank to the other at a flight attitude, for ever or for the time that it is held, leaves the engine"
    " as many minutes as each tank's figures promise: from each lamp's latest trip up to its target, and from half an hour's fuel above"
    " what the tanks keep for themselves.",
    why="In a slip the fuel of the tank that feeds runs to the lower one: the engine stops with much of it aboard.",
    mend="Let nothing run out of the tank that feeds: a check valve in each line that joins it to the other, or a selector in their"
    " place; or let both feed a header with a check valve in each line; or hold that attitude for a time only and state it (held).",
    sources=(before_64("23.959(a)"), _NEARLY, COMMON_PRACTICE),
    rests_on=MINUTES_REST_ON,
)
def joined_tanks_stop_engine_sooner(study: Study) -> Iterator[Verdict]:
    """Each lamp's trip, and half an hour's fuel, at each flight attitude but the normal one."""
    yield from _each(study, _outlasted)


def _each(study: Study, judge: Callable[[Study, Together, str], Verdict]) -> Iterator[Verdict]:
    """A verdict on each group of joined tanks, and on the lines between tanks that lead nowhere."""
    for group in study.exchange.together:
        names = ", ".join(group.joined.tanks)
        yield needs(names, group.needs) if group.needs else judge(study, group, names)
    known = [group.joined for group in study.exchange.together]
    for other in joined(study.layout.network):
        if len(other.tanks) > 1 and other not in known:
            yield not_asked(", ".join(other.tanks), "no feed line leads from them to the engine")
    yield from loose(study, ["interconnect", "feed"])


def _outlasted(study: Study, group: Together, names: str) -> Verdict:
    if not any(at.reserve for at in group.at):
        return needs(names, "a flight attitude beside the normal one")
    if found := sorted(_shorts(study, group), key=lambda one: (_near(one), one.share)):
        return _sooner(names, group, found[0], len(found))
    return passed(names, f"{_looked(group)}{with_open(group.joined)}: none stops the engine sooner than is promised")


def _looked(group: Together) -> str:
    lamps = sum(len(at.lamps) for at in group.at)
    turns = sum(at.reserve is not None for at in group.at)
    trips = f"{lamps} turns at a lamp's trip and " if lamps else ""
    return f"{trips}{turns} with half an hour's fuel, at {turns} flight attitudes"


def _shorts(study: Study, group: Together) -> Iterator[_Short]:
    """The turns from which the engine stops sooner than is promised, or in an attitude that it is to outlast."""
    for at in group.at:
        held_s = at.attitude.held_s
        for one in (*at.lamps, *((at.reserve,) if at.reserve else ())):
            lasting, until_s = one.lasting, one.until_s if held_s is None else held_s
            let_off_s = 0.0 if held_s is not None else TRIFLE_S
            if lasting.stopped and one.promised_s > 0.0 and until_s - lasting.lasts_s > let_off_s:
                short_s = until_s - lasting.lasts_s if held_s is None else _earlier_s(study, at, one)
                yield _Short(short_s, lasting.lasts_s / until_s, one.promised_s, at, lasting, _begins(group, one))
        if at.full and at.full.stopped:
            lasts_s = at.full.lasts_s
            yield _Short(
                DAY_RESERVE_S - lasts_s, lasts_s / DAY_RESERVE_S, DAY_RESERVE_S, at, at.full, "with full tanks"
            )


def _earlier_s(study: Study, at: TogetherAt, one: Turned) -> float:
    """How much earlier the turn must come for the engine to outlast it."""
    if at.held is None or at.held.from_m3 is None:
        return one.promised_s
    return min(one.promised_s, (at.held.from_m3 - one.lasting.total_m3) / study.layout.design.reserve_flow_m3_s)


def _begins(group: Together, one: Turned) -> str:
    if one.tank:
        after = f" after {one.after.text} held for ever" if one.after and not one.after.normal else ""
        return f"from the trip of {one.tank} switch {one.switch}, with {litres(one.held_m3)} in its tank{after}"
    return f"with fuel for {units.minutes(one.promised_s)} min above the {litres(group.own_m3)} that the tanks keep for themselves"


def _sooner(names: str, group: Together, worst: _Short, many: int) -> Verdict:
    at, lasting, held_s = worst.at, worst.lasting, worst.at.attitude.held_s
    later, stops = "", f"{units.minutes(lasting.lasts_s)} min of {units.minutes(worst.promised_s)} that are promised"
    if held_s is not None:
        later, stops = " at the end of what is promised,", f"{lasting.lasts_s:.0f} s of {held_s:g} s that it is held"
    evidence = (
        f"{worst.begins},{later} turned into {at.attitude.text}{with_open(group.joined)}, {litres(lasting.total_m3)} in all, the engine"
        f" stops after {stops}, {litres(lasting.left_m3)} still aboard: {lasting.stopped}"
    )
    evidence += f"; so in {many - 1} more such turns" if many > 1 else ""
    if group.joined.unknown:
        return needs(names, f"{both_asked(group.joined)}; if so, {evidence}")
    cost = Cost(short_s=worst.short_s)
    return caution(names, evidence, cost=cost) if _near(worst) else failed(names, evidence, cost=cost)


def _near(one: _Short) -> bool:
    return one.at.attitude.held_s is None and one.short_s <= nearly_s(one.promised_s)


@rule(
    subject="connected tanks",
    reach=Reach.OUTSIDE,
    stake=Stake.LITRES,
    checks="Joined tanks keep no more unusable fuel together, at any flight attitude, than each for itself at its own worst one: their"
    " fuel at one level for ever, or for the time that the attitude is held from the worst of those held for ever.",
    why="What runs into a tank that does not feed is not to be had: usable fuel and placards of single tanks promise it.",
    mend="Let the other tank feed too, or keep its fuel from running there by a check valve or a selector; until then count, and write on"
    " the placard, the usable fuel of all together.",
    sources=(before_64("23.959(a)"), RESERVE, COMMON_PRACTICE),
    rests_on=USABLE_RESTS_ON,
)
def joined_tanks_leave_less_usable(study: Study) -> Iterator[Verdict]:
    """The worst flight attitude of a group against the sum of its tanks' own unusable fuel."""
    yield from _each(study, _kept)


def _kept(study: Study, group: Together, names: str) -> Verdict:
    at, more_m3 = group.worst, group.unusable_m3 - group.own_m3
    kept = f"{litres(at.unusable_m3)} stay behind together at {at.attitude.text}{with_open(group.joined)}"
    evidence = f"{kept}; {litres(group.own_m3)} if each tank drains for itself at its own worst attitude"
    if more_m3 <= LEAST_SHOWN_M3:
        return passed(names, evidence)
    if group.joined.unknown:
        return needs(names, f"{both_asked(group.joined)}; if so, {evidence}")
    evidence += f": {litres_down(group.usable_m3)} are usable of {litres(group.fillable_m3)}, all together"
    small = more_m3 <= nearly_s(DAY_RESERVE_S) / DAY_RESERVE_S * reserve_m3(study)
    return (caution if small else failed)(names, evidence, cost=Cost(volume_m3=more_m3))


@rule(
    subject="vent line",
    reach=Reach.OUTSIDE,
    stake=Stake.LITRES,
    checks="At no flight attitude does the fuel of a full tank stand over the top of a vent line that leads to another tank, which no fuel"
    " line joins to it.",
    why="Through an air line that is overtopped the high tank empties into the low one, and that, full, overboard; and nobody sees it.",
    mend="Lead the line higher between the tanks, or up to the far side of each, or fill them less.",
    sources=(before_64("23.957(a)"), SPILT, COMMON_PRACTICE),
    rests_on=("mesh-in-doubt",),
)
def full_tank_runs_into_another(study: Study) -> Iterator[Verdict]:
    """Each way along vent lines from one full tank to another, at the attitude at which most runs over."""
    for one in study.exchange.crossed:
        yield _crossed(study, one)
    yield from unchecked(study, "vent")


def _crossed(study: Study, one: Crossed) -> Verdict:
    where = f"{one.tank} and {one.into}"
    if one.above_m <= 0.0:
        clear = f"{millimetres(-one.above_m)} below the top of the way by {one.line} to {one.into}"
        return passed(where, f"full, {one.tank} stands {clear}, the least in flight, at {one.attitude.text}")
    evidence = (
        f"full, at {one.attitude.text}, held until the fuel is at rest, {one.tank} stands {millimetres(one.above_m)} above the top of the"
        f" way by {one.line} to {one.into}: {litres(one.into_m3)} run into it, and {litres(one.over_m3)} overboard from there:"
        " it is full too"
    )
    mend = f"Lead that way at least {at_least(one.above_m)} higher where it is highest, or fill the tanks less."
    told = failed if one.over_m3 >= reserve_m3(study) else caution
    return told(where, evidence, mend, Cost(volume_m3=one.over_m3))
