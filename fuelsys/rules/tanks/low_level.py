"""Rules on low-level switches: when they warn, in which order, and whether at all."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise

import numpy as np

from fuelsys.model.built.ends import PortEnd
from fuelsys.model.found.findings import COMMON_PRACTICE, Cost, Reach, Source, Stake, Verdict
from fuelsys.model.found.study import Study, SwitchStudy, TankStudy, TripAt, left_text
from fuelsys.model.stated.design import Engine, Switch
from fuelsys.rules.shared import components, end_at
from fuelsys.rules.words import caution, failed, flow, litres, millimetres, minutes, needs, passed, place, rule

# "Approximately 10 minutes" (14 CFR 27.1305(l)), read here as a figure that rounds to ten or more.
ABOUT_TEN_MIN = 9.5
_TEN_S = 600.0
WIDE_SHARE = 0.25  # of the target; chosen here, no source
_EARLY_TIMES = 2.0  # the target; chosen here, no source
_LOW_FUEL = Source("14 CFR 27.1305(l), a rule for rotorcraft taken as a good model")
_NEW = "; then `fuelsys place` gives its new height, in place of any rise told for where it is now"
_ALONE = ", by what is burnt alone: warning-late-by-return counts what is returned to another tank"
_OUTLET = "an outlet: minutes count above the unusable fuel"


def _switches(study: Study) -> Iterator[tuple[str, TankStudy, Switch, SwitchStudy | None]]:
    """Every switch, what it is called in findings, and its study; None where its tank has no outlet."""
    for tank in study.tanks:
        studies = {switch.name: switch for switch in tank.switches}
        for switch in tank.tank.design.switch:
            yield f"{tank.name} switch {switch.name}", tank, switch, studies.get(switch.name)


def _short(wanted_s: float, left_s: float) -> Cost:
    """The minutes that are promised and not there; below zero none are."""
    return Cost(short_s=wanted_s - max(left_s, 0.0))


def _never_words(switch: SwitchStudy) -> str:
    return "never trips at " + "; ".join(f"{at.attitude.text}: {at.why_never}" for at in switch.never)


@rule(
    subject="switch",
    reach=Reach.INSIDE,
    stake=Stake.MINUTES,
    checks="At every flight attitude, with its mark low by its tolerance, each switch leaves its target of minutes above"
    " the unusable fuel.",
    why="The pilot counts on the minutes that the placard beside the lamp promises.",
    mend="Raise the mark.",
    sources=(COMMON_PRACTICE,),
)
def warning_late(study: Study) -> Iterator[Verdict]:
    """Guaranteed minutes against the target."""
    for where, tank, switch, found in _switches(study):
        if found is None or switch.target_s is None:
            yield needs(where, _OUTLET if found is None else "the target in minutes")
            continue
        late = found.worst
        left_min = found.alone_minutes(late.latest_m3) if late else None
        if late is None or late.latest_m3 is None or left_min is None:
            yield failed(
                where,
                f"{_never_words(found)}; {minutes(switch.target_s)} are wanted",
                _raise(tank, switch, found),
                Cost(short_s=switch.target_s),
            )
            continue
        asked = f"a target of {minutes(switch.target_s)}{_tolerance_words(switch)}"
        asked += _ALONE if found.outflow.to else ""
        asked += _shared(found)
        evidence = _late_words(tank, found, late, asked)
        if left_min * 60.0 < switch.target_s * (1 - 1e-9):
            yield failed(where, evidence, _raise(tank, switch, found), _short(switch.target_s, left_min * 60.0))
        elif switch.tolerance_m is None:
            yield needs(where, f"the switch's tolerance; without any, {evidence}")
        else:
            yield passed(where, evidence)


def _late_words(tank: TankStudy, found: SwitchStudy, late: TripAt, asked: str) -> str:
    """What is left at the latest trip, for what is asked; where nothing is, what its own attitude leaves too."""
    held_m3, left_min = late.latest_m3 or 0.0, found.alone_minutes(late.latest_m3) or 0.0
    words = f"at {late.attitude.text} it trips with {litres(held_m3)} in the tank"
    if round(left_min, 1) >= 0.0 or tank.capacity.unusable is None:
        return f"{words}, {litres(found.unusable_m3)} of them unusable: {left_text(left_min)} for {asked}"
    here_min = found.minutes_here(late) or 0.0
    own = f"at the attitude of the trip itself {litres(late.unusable_m3)} are unusable, and {left_text(here_min)} left"
    return (
        f"{words} and {litres(found.unusable_m3)} are unusable at {tank.capacity.unusable.worst.attitude.text}: nothing usable"
        f" is left, it trips {-left_min:.1f} min after the last usable fuel, for {asked} ({own})"
    )


def _shared(found: SwitchStudy) -> str:
    """What the tank's share of the flow would leave, where that is not all of it."""
    late = found.worst
    usual = found.minutes(late.latest_m3) if late else None
    if usual is None or found.outflow.share_m3_s >= found.outflow.alone_m3_s:
        return ""
    return f"; all the flow counts, as when the tanks beside it are empty: at its share {left_text(usual)}"


def _tolerance_words(switch: Switch) -> str:
    return "" if switch.tolerance_m is None else f", its mark low by {millimetres(switch.tolerance_m)}"


def _raise(tank: TankStudy, switch: Switch, found: SwitchStudy) -> str:
    """How far to raise a mark; the figures are those of the study."""
    if found.rise_m is None:
        return (
            "No height straight above this mark leaves the target at every flight attitude: move the mark nearer to the"
            " outlet or to the middle of the tank, or promise fewer minutes."
        )
    mark_m = tank.tank.body_m(switch.mark_m) + np.array([0.0, 0.0, found.rise_m])
    return f"Raise the mark by at least {millimetres(found.rise_m)}, to {place(tank.tank, mark_m)}."


@rule(
    subject="switch",
    reach=Reach.INSIDE,
    stake=Stake.MINUTES,
    checks="Where an engine returns fuel to another tank than the one that it draws from, each switch leaves its target against"
    " all that is drawn: what is burnt and what is returned. What runs back by gravity alone, past no valve or pump, counts as"
    " lost only as far as the other tank may come to hold more unusable fuel than it has at the trip.",
    why="Minutes by the fuel burnt are too kind by half and more where as much again goes to another tank.",
    mend="Return the fuel to the tank that it was drawn from, by a selector that switches both, or raise the mark.",
    sources=(COMMON_PRACTICE,),
)
def warning_late_by_return(study: Study) -> Iterator[Verdict]:
    """Least minutes with the return flow counted, over every history of the tank that it goes to."""
    returning = any(line.design.kind == "return" for line in study.layout.lines)
    returning |= any(engine.return_flow_m3_s for engine in components(study, Engine))
    for where, tank, switch, found in _switches(study):
        if not returning:
            continue
        if found is None or switch.target_s is None or found.worst is None:
            missing = "the target in minutes" if switch.target_s is None else "a mark that trips in flight"
            yield needs(where, _OUTLET if found is None else missing)
        elif found.outflow.to:
            yield _with_return(where, tank, switch, found)
        elif not _reaches_engine(study, tank.name):
            yield needs(where, "feed lines that lead from its tank to an engine")
        elif any(study.layout.network.return_tanks(end_at(engine)) for engine in components(study, Engine)):
            yield passed(where, f"what is returned comes back into {tank.name}, or runs through a tank that it feeds")
        else:
            yield needs(where, "a return line of the engine: where its return flow goes is not drawn")


def _reaches_engine(study: Study, tank: str) -> bool:
    """Whether feed lines lead from a tank to an engine, through other tanks too."""
    engines, found = {end_at(engine) for engine in components(study, Engine)}, [tank]
    for name in found:
        ends = [way.end for way in study.plumbing.ways if way.start.tank == name]
        found.extend(end.tank for end in ends if end.tank and end.tank not in found)
        if engines.intersection(ends):
            return True
    return False


def _with_return(where: str, tank: TankStudy, switch: Switch, found: SwitchStudy) -> Verdict:
    """The study's least minutes at the latest trip against the target."""
    out, late, target_s = found.outflow, found.worst, switch.target_s or 0.0
    usable_m3 = ((late.latest_m3 if late else None) or 0.0) - found.unusable_m3
    lasts_s = out.least_s(usable_m3)
    names = ", ".join(out.to)
    if lasts_s is None or out.returned_m3_s is None:
        return needs(where, f"the engine's return_flow: it goes to {names}")
    way = (
        f", from where it runs back by gravity once {litres(out.held_m3)} more are held there"
        if out.held_m3 is not None
        else ""
    )
    way = way or ", from where nothing brings it back for certain"
    evidence = (
        f"{flow(out.returned_m3_s)} are returned to {names}{way}; {flow(out.alone_m3_s + out.returned_m3_s)} are drawn from"
        f" {found.tank}: {left_text(lasts_s / 60.0)} at the latest trip ({late.attitude.text if late else ''}),"
        f" {left_text(usable_m3 / out.alone_m3_s / 60.0)} by what is burnt alone, for a target of {minutes(target_s)}"
    )
    if lasts_s >= target_s * (1.0 - 1e-9):
        return passed(where, evidence)
    back = "Return the fuel to the tank that it was drawn from, by a selector that switches both; or else: "
    return failed(where, evidence, back + _raise(tank, switch, found), _short(target_s, lasts_s))


@rule(
    subject="switch",
    reach=Reach.INSIDE,
    stake=Stake.MINUTES,
    checks="The falling surface passes each switch's mark at every flight attitude.",
    why="A lamp that stays dark while the tank runs dry is worse than none.",
    mend="Move the mark nearer to the outlet or raise it.",
    sources=(COMMON_PRACTICE,),
)
def warning_never_trips(study: Study) -> Iterator[Verdict]:
    """Flight attitudes at which a switch never trips."""
    for where, tank, switch, found in _switches(study):
        if found is None:
            yield needs(where, _OUTLET)
        elif found.never:
            known = switch.target_s is not None
            mend = _raise(tank, switch, found) if known else ""
            yield failed(where, _never_words(found), mend, Cost(short_s=switch.target_s or 0.0))
        else:
            flights = sum(at.attitude.phase == "flight" for at in found.at)
            yield passed(where, f"the surface passes its mark at all {flights} flight attitudes")


def _feeds_engine(study: Study, tank: TankStudy) -> bool | None:
    """Whether a tank feeds an engine directly; None where the design does not say where its fuel goes."""
    network = study.layout.network
    outlets = [PortEnd(tank.name, outlet.name) for outlet in tank.tank.design.outlet]
    ends = {end for outlet in outlets for end in network.ends_from(outlet, "feed", downstream=True)}
    if any(isinstance(network.component(end), Engine) for end in ends):
        return True
    return False if any(end.tank for end in ends) else None


@rule(
    subject="low-fuel warning",
    reach=Reach.INSIDE,
    stake=Stake.MINUTES,
    checks="In each tank that feeds an engine a switch still leaves about 10 minutes (9.5 or more, our reading) at every"
    " flight attitude. That the warning works without the fuel gauge, as the rule also asks, is not checked.",
    why="About ten minutes are what it takes to change tanks, or to choose a field and land.",
    mend="Raise a mark that is to leave 10 minutes or more as warning-late says, or add a switch for 10 minutes.",
    sources=(_LOW_FUEL,),
)
def warning_below_ten_minutes(study: Study) -> Iterator[Verdict]:
    """The most minutes that any switch of a feeding tank guarantees."""
    for tank in study.tanks:
        feeds = _feeds_engine(study, tank)
        if feeds is None:
            yield needs(tank.name, "feed lines from its outlet to an engine or another tank")
        elif feeds and not tank.switches:
            yield needs(tank.name, "a low-level switch")
        elif feeds:
            yield _ten_minutes(tank)


def _ten_minutes(tank: TankStudy) -> Verdict:
    guaranteed = [
        (left, s) for s in tank.switches if s.worst and (left := s.least_minutes(s.worst.latest_m3)) is not None
    ]
    if not guaranteed and any(s.worst for s in tank.switches):
        return needs(tank.name, "the engine's return_flow: it goes to another tank")
    if not guaranteed:
        return caution(tank.name, "no switch trips at every flight attitude", _for_ten(tank), _short(_TEN_S, 0.0))
    left_min, first = max(guaranteed, key=lambda one: one[0])
    at = first.worst.attitude.text if first.worst else ""
    evidence = f"switch {first.name} leaves the most: {left_text(left_min)}, at {at}"
    if left_min < ABOUT_TEN_MIN:
        return caution(tank.name, evidence, _for_ten(tank), _short(_TEN_S, left_min * 60.0))
    if first.tolerance_m is None:
        return needs(tank.name, f"the tolerance of switch {first.name}; without any, {evidence}")
    return passed(tank.name, evidence)


def _for_ten(tank: TankStudy) -> str:
    """What to do for ten minutes: the very mend that warning-late has for a mark that is to leave them, or another switch."""
    switches = {switch.name: switch for switch in tank.tank.design.switch}
    enough = [found for found in tank.switches if (found.target_s or 0.0) >= ABOUT_TEN_MIN * 60.0]
    if not enough:
        return "Add a switch with a target of 10 minutes; a mark that is to leave less stays where it is."
    found = min(enough, key=lambda one: one.target_s or 0.0)
    leaves = minutes(found.target_s or 0.0)
    return f"Switch {found.name}, which is to leave {leaves}: {_raise(tank, switches[found.name], found)}"


@rule(
    subject="low-fuel warning",
    reach=Reach.INSIDE,
    stake=Stake.MINUTES,
    checks="Each tank that feeds an engine directly has a low-level switch.",
    why="When such a tank runs low, nothing comes after it; gauges stick and read what they read yesterday.",
    mend="Add a low-level switch: [[tank.switch]] with its mark and a target of about 10 minutes.",
    sources=(_LOW_FUEL, COMMON_PRACTICE),
)
def warning_missing(study: Study) -> Iterator[Verdict]:
    """A feeding tank without a switch."""
    for tank in study.tanks:
        feeds = _feeds_engine(study, tank)
        switches = ", ".join(switch.name for switch in tank.tank.design.switch)
        if feeds is None:
            yield needs(tank.name, "feed lines from its outlet to an engine or another tank")
        elif feeds and switches:
            yield passed(tank.name, f"it feeds the engine and warns by {switches}")
        elif feeds:
            yield caution(tank.name, "it feeds the engine and has no low-level switch")


@rule(
    subject="switch",
    reach=Reach.INSIDE,
    stake=Stake.MINUTES,
    checks="At every flight attitude the switches of a tank trip in the order of their targets.",
    why="A lamp for 10 minutes that comes before the one for 20 tells the pilot something false.",
    mend="Raise the mark with the larger target, or bring both marks to one place in plan.",
    sources=(COMMON_PRACTICE,),
)
def warnings_out_of_order(study: Study) -> Iterator[Verdict]:
    """Neighbours in the order of targets, attitude by attitude."""
    for tank in study.tanks:
        if len(tank.tank.design.switch) < 2:
            continue
        if not tank.switches:
            yield needs(tank.name, _OUTLET)
            continue
        unsaid = [switch.name for switch in tank.switches if switch.target_s is None]
        if unsaid:
            yield needs(tank.name, f"the target of {', '.join(unsaid)}")
            continue
        inverted = _inversions(tank)
        order = sorted(tank.switches, key=lambda switch: -(switch.target_s or 0.0))
        names = ", ".join(switch.name for switch in order)
        if inverted:
            yield failed(tank.name, "; ".join(inverted))
        else:
            yield passed(tank.name, f"at every flight attitude they trip in the order {names}")


def _inversions(tank: TankStudy) -> list[str]:
    """Where a switch with a larger target trips later than its neighbour with a smaller one, or never."""
    order = sorted(tank.switches, key=lambda switch: -(switch.target_s or 0.0))
    found = []
    for sooner, later in pairwise(order):
        for first, second in zip(sooner.at, later.at, strict=True):
            if first.attitude.phase != "flight" or second.trip_m3 is None or sooner.target_s == later.target_s:
                continue
            comes = "never" if first.trip_m3 is None else f"at {litres(first.trip_m3)}"
            if first.trip_m3 is None or first.trip_m3 < second.trip_m3:
                found.append(
                    f"at {first.attitude.text} {sooner.name} trips {comes}, {later.name} at {litres(second.trip_m3)}"
                )
    return found


@rule(
    subject="switch",
    reach=Reach.INSIDE,
    stake=Stake.REST,
    checks="Between the flight attitudes a switch's minutes differ by at most a quarter of its target (chosen here, no"
    " source).",
    why="A lamp that comes early in a climb and late in a descent soon is not believed.",
    mend="Move the mark nearer to the middle of the free surface at its trip.",
    sources=(COMMON_PRACTICE,),
)
def warning_spread_wide(study: Study) -> Iterator[Verdict]:
    """Earliest against latest trip in flight."""
    for where, tank, switch, found in _switches(study):
        if found is None or switch.target_s is None:
            yield needs(where, _OUTLET if found is None else "the target in minutes")
            continue
        trips = [(at.trip_m3, at) for at in found.at if at.attitude.phase == "flight" and at.trip_m3 is not None]
        if found.never:
            yield needs(where, f"a mark that the surface passes at every flight attitude; it {_never_words(found)}")
            continue
        (least_m3, latest), (most_m3, soonest) = min(trips, key=lambda t: t[0]), max(trips, key=lambda t: t[0])
        spread_s = (most_m3 - least_m3) / found.flow_m3_s
        evidence = (
            f"it trips with {litres(most_m3)} at {soonest.attitude.text} and {litres(least_m3)} at {latest.attitude.text}:"
            f" {spread_s / 60.0:.1f} min apart for a target of {minutes(switch.target_s)}"
        )
        if spread_s <= WIDE_SHARE * switch.target_s:
            yield passed(where, evidence)
        elif found.steady_m is None:
            yield caution(where, evidence)
        else:
            steady = place(tank.tank, tank.tank.body_m(found.steady_m))
            yield caution(where, evidence, f"Move the mark nearer to the middle of the free surface, {steady}{_NEW}.")


@rule(
    subject="switch",
    reach=Reach.INSIDE,
    stake=Stake.REST,
    checks="With the tank filled at the normal ground attitude each lamp is out, at the normal attitudes of ground and flight"
    " and at every other one; after it has come on, filling puts it out again, differential included.",
    why="A lamp that is lit with full tanks says nothing, and is not believed when it matters.",
    mend="Lower the mark, or choose a switch with a smaller differential.",
    sources=(COMMON_PRACTICE,),
)
def warning_always_on(study: Study) -> Iterator[Verdict]:
    """What the tank holds when filled against the most that it may hold at trip and reset: fail at normal attitudes."""
    for where, tank, _, found in _switches(study):
        filled = tank.capacity.filled
        if found is None or filled is None:
            yield needs(
                where, _OUTLET if found is None else "a filler or a vent: how full the tank can be is not stated"
            )
            continue
        lit = [at for at in found.at if at.trip_m3 is not None and not _goes_out(at, filled.volume_m3)]
        normal = [at for at in lit if at.attitude.normal]
        if not lit:
            most = max(
                (at for at in found.at if at.reset_m3 is not None), key=lambda at: at.reset_m3 or 0.0, default=None
            )
            if most is None:
                yield needs(where, f"a mark that the surface passes; it {_never_words(found)}")
            else:
                resets = f"its lamp goes out with {litres(most.reset_m3 or 0.0)} at most, at {most.attitude.text}"
                yield passed(where, f"{resets}; filled, the tank holds {litres(filled.volume_m3)}")
            continue
        at = (normal or lit)[0]
        says = (
            "it does not reset at all, for trip and differential lie above the tank's top"
            if at.reset_m3 is None
            else f"it resets with {litres(at.reset_m3)}"
        )
        more = f"; so at {len(lit) - 1} more attitudes" if len(lit) > 1 else ""
        evidence = (
            f"at {at.attitude.text} {says}, and filled the tank holds {litres(filled.volume_m3)}: lit for good{more}"
        )
        yield failed(where, evidence) if normal else caution(where, evidence)


def _goes_out(at: TripAt, full_m3: float) -> bool:
    """Whether a full tank lies above a switch's trip and reset."""
    return at.reset_m3 is not None and at.reset_m3 < full_m3 * (1.0 - 1e-9)


@rule(
    subject="switch",
    reach=Reach.INSIDE,
    stake=Stake.REST,
    checks="At the normal flight attitude each switch trips with at most twice its target of minutes (a limit chosen here, no"
    " source).",
    why="A lamp for 20 minutes that comes with an hour's fuel left is not believed; it also hides how little an unusual"
    " attitude leaves.",
    mend="Bring the mark nearer to the middle of the free surface and lower it, as `fuelsys place --search` shows.",
    sources=(COMMON_PRACTICE,),
)
def warning_early(study: Study) -> Iterator[Verdict]:
    """Most minutes at the trip in normal flight, above what is unusable there, against the target."""
    for where, _, switch, found in _switches(study):
        if found is None or switch.target_s is None:
            yield needs(where, _OUTLET if found is None else "the target in minutes")
            continue
        at = found.normal
        if at.trip_m3 is None:
            yield needs(where, f"a mark that the surface passes at {at.attitude.text}")
            continue
        left_min = (at.trip_m3 - at.unusable_m3) / found.flow_m3_s / 60.0
        evidence = (
            f"at {at.attitude.text} it trips with {left_text(left_min)} above what is unusable there, for a target of"
            f" {minutes(switch.target_s)}"
        )
        early = left_min * 60.0 > _EARLY_TIMES * switch.target_s
        yield caution(where, evidence) if early else passed(where, evidence)


@rule(
    subject="switch",
    reach=Reach.PAPER,
    stake=Stake.MINUTES,
    checks="The design states each switch's tolerance.",
    why="A few millimetres over the whole free surface are litres: without the tolerance no minutes are guaranteed.",
    mend="State the tolerance of the mark: how far the switch may trip below it. Makers of float switches give it.",
    sources=(COMMON_PRACTICE,),
)
def warning_tolerance_unknown(study: Study) -> Iterator[Verdict]:
    """The design's word on tolerance."""
    for where, _, switch, _ in _switches(study):
        if switch.tolerance_m is None:
            yield needs(where, "the switch's tolerance")
        else:
            yield passed(where, f"± {millimetres(switch.tolerance_m)}")
