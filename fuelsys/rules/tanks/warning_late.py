"""Rules on how many minutes are left when a low-level switch trips."""

from __future__ import annotations

from collections.abc import Iterator

from fuelsys import units
from fuelsys.model.found.findings import COMMON_PRACTICE, Cost, Reach, Source, Stake, Verdict
from fuelsys.model.found.study import Study, TankStudy
from fuelsys.model.found.switches import SwitchStudy, TripAt, left_text, none_left
from fuelsys.model.stated.components import Engine
from fuelsys.model.stated.fittings import Switch
from fuelsys.rules.severity import MINUTES_REST_ON, NEAR_WORDS, nearly_s
from fuelsys.rules.shared import components, end_at
from fuelsys.rules.tanks.lamps import NEEDS_OUTLET, feeds_engine, misses, never_words, raised, short, switches
from fuelsys.rules.words import caution, failed, flow, litres, millimetres, minutes, needs, passed, rule

# "Approximately 10 minutes" (14 CFR 27.1305(l)), read here as a figure that rounds to ten or more.
ABOUT_TEN_MIN = 9.5
_TEN_S = 600.0
_LOW_FUEL = Source("14 CFR 27.1305(l), a rule for rotorcraft taken as a good model")
_ALONE = ", by what is burnt alone: warning-late-by-return counts what is returned to another tank"


@rule(
    subject="switch",
    reach=Reach.INSIDE,
    stake=Stake.MINUTES,
    checks="At every flight attitude, with its mark low by its tolerance, each switch leaves its target of minutes above"
    f" the unusable fuel. Less by up to {NEAR_WORDS} is a caution; a hundredth, a tenth of a minute at most, is none.",
    why="The pilot counts on the minutes that the placard beside the lamp promises.",
    mend="Raise the mark.",
    sources=(COMMON_PRACTICE,),
    rests_on=MINUTES_REST_ON,
)
def warning_late(study: Study) -> Iterator[Verdict]:
    """Guaranteed minutes against the target."""
    for where, tank, switch, found in switches(study):
        if found is None or switch.target_s is None:
            yield needs(where, NEEDS_OUTLET if found is None else "the target in minutes")
            continue
        late = found.worst
        left_min = found.alone_minutes(late.latest_m3) if late else None
        if late is None or late.latest_m3 is None or left_min is None:
            yield failed(
                where,
                f"{never_words(found)}; {minutes(switch.target_s)} are wanted",
                raised(tank, switch, found),
                Cost(short_s=switch.target_s),
            )
            continue
        asked = f"a target of {minutes(switch.target_s)}{_tolerance_words(switch)}{_float_words(found)}"
        asked += _ALONE if found.outflow.to else ""
        asked += _shared(found)
        evidence = _late_words(tank, found, late, asked)
        if misses(found, switch.target_s):
            yield _late(where, evidence, raised(tank, switch, found), switch.target_s, left_min * 60.0)
        elif switch.tolerance_m is None:
            yield needs(where, f"the switch's tolerance; without any, {evidence}")
        else:
            yield passed(where, evidence)


def _late(where: str, evidence: str, mend: str, target_s: float, left_s: float) -> Verdict:
    """A target that is missed: a caution where that is less than what is built will differ by."""
    told = caution if target_s - left_s <= nearly_s(target_s) else failed
    return told(where, evidence, mend, short(target_s, left_s))


def _late_words(tank: TankStudy, found: SwitchStudy, late: TripAt, asked: str) -> str:
    """What is left at the latest trip, for what is asked; where nothing is, what its own attitude leaves too."""
    held_m3, left_min = late.latest_m3 or 0.0, found.alone_minutes(late.latest_m3) or 0.0
    words = f"at {late.attitude.text} it trips with {litres(held_m3)} in the tank"
    if not none_left(left_min) or tank.capacity.unusable is None:
        unusable = f"{litres(found.unusable_m3)} of them unusable{_where(tank, late)}"
        return f"{words}, {unusable}: {left_text(left_min)} for {asked}{_forever(found, left_min)}"
    here_min = found.minutes_here(late) or 0.0
    own = f"at the attitude of the trip itself {litres(late.unusable_m3)} are unusable, and {left_text(here_min)} left"
    return (
        f"{words} and {litres(found.unusable_m3)} are unusable at {tank.capacity.unusable.worst.attitude.text}: nothing usable"
        f" is left, it trips {units.minutes(-left_min * 60.0, up=True)} min after the last usable fuel, for {asked} ({own})"
        f"{_forever(found, left_min)}"
    )


def _where(tank: TankStudy, late: TripAt) -> str:
    """The attitude whose unusable fuel counts, where that is another than the trip's."""
    left = tank.capacity.unusable
    return f" at {left.worst.attitude.name}" if left and left.worst.attitude != late.attitude else ""


def _forever(found: SwitchStudy, left_min: float) -> str:
    """What is left if attitudes that are held for a time are held for ever."""
    if found.forever_minutes is None:
        return ""
    ever = left_text(found.forever_minutes)
    return f"; {'the same' if ever == left_text(left_min) else ever} if it is held for ever"


def _shared(found: SwitchStudy) -> str:
    """What the tank's share of the flow would leave, where that is not all of it."""
    late = found.worst
    usual = found.minutes(late.latest_m3) if late else None
    if usual is None or found.outflow.share_m3_s >= found.outflow.alone_m3_s:
        return ""
    return f"; all the flow counts, as when the tanks beside it are empty: at its share {left_text(usual)}"


def _float_words(found: SwitchStudy) -> str:
    """What its float in the densest fuel and its delay take off."""
    words = (
        f", and its float {millimetres(found.rides.lower_m)} higher in the densest fuel"
        if found.rides and found.rides.lower_m
        else ""
    )
    return words + (f", lit {found.delay_s:g} s after the surface has passed its mark" if found.delay_s else "")


def _tolerance_words(switch: Switch) -> str:
    return "" if switch.tolerance_m is None else f", its mark low by {millimetres(switch.tolerance_m)}"


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
    rests_on=MINUTES_REST_ON,
)
def warning_late_by_return(study: Study) -> Iterator[Verdict]:
    """Least minutes with the return flow counted, over every history of the tank that it goes to."""
    returning = any(line.design.kind == "return" for line in study.layout.lines)
    returning |= any(engine.return_flow_m3_s for engine in components(study, Engine))
    for where, tank, switch, found in switches(study):
        if not returning:
            continue
        if found is None or switch.target_s is None or found.worst is None:
            missing = "the target in minutes" if switch.target_s is None else "a mark that trips in flight"
            yield needs(where, NEEDS_OUTLET if found is None else missing)
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
    out_s = out.least_s(usable_m3)
    lasts_s = None if out_s is None else out_s - found.delay_s
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
        f" {left_text((usable_m3 / out.alone_m3_s - found.delay_s) / 60.0)} by what is burnt alone, for a target of {minutes(target_s)}"
    )
    if lasts_s >= target_s * (1.0 - 1e-9):
        return passed(where, evidence)
    back = "Return the fuel to the tank that it was drawn from, by a selector that switches both; or else: "
    return _late(where, evidence, back + raised(tank, switch, found), target_s, lasts_s)


@rule(
    subject="low-fuel warning",
    reach=Reach.INSIDE,
    stake=Stake.MINUTES,
    checks="In each tank that feeds an engine a switch still leaves about 10 minutes (9.5 or more, our reading) at every"
    " flight attitude. That the warning works without the fuel gauge, as the rule also asks, is not checked.",
    why="About ten minutes are what it takes to change tanks, or to choose a field and land.",
    mend="Raise a mark that is to leave 10 minutes or more as warning-late says, or add a switch for 10 minutes.",
    sources=(_LOW_FUEL,),
    rests_on=MINUTES_REST_ON,
)
def warning_below_ten_minutes(study: Study) -> Iterator[Verdict]:
    """The most minutes that any switch of a feeding tank guarantees."""
    for tank in study.tanks:
        feeds = feeds_engine(study, tank)
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
        return caution(tank.name, "no switch trips at every flight attitude", _for_ten(tank), short(_TEN_S, 0.0))
    left_min, first = max(guaranteed, key=lambda one: one[0])
    at = first.worst.attitude.text if first.worst else ""
    evidence = f"switch {first.name} leaves the most: {left_text(left_min)}, at {at}{_forever(first, left_min)}"
    if left_min < ABOUT_TEN_MIN:
        return caution(tank.name, evidence, _for_ten(tank), short(_TEN_S, left_min * 60.0))
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
    return f"Switch {found.name}, which is to leave {leaves}: {raised(tank, switches[found.name], found)}"
