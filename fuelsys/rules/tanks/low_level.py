"""Rules on low-level switches: whether each warns, in which order, and when it should not."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise

from fuelsys import units
from fuelsys.model.found.findings import COMMON_PRACTICE, Cost, Reach, Source, Stake, Verdict
from fuelsys.model.found.study import Study, TankStudy
from fuelsys.model.found.switches import EARLY_TIMES, SwitchStudy, TripAt, left_text
from fuelsys.rules.severity import MINUTES_REST_ON
from fuelsys.rules.tanks.lamps import NEEDS_OUTLET, feeds_engine, misses, never_words, raised, switches
from fuelsys.rules.words import caution, failed, litres, millimetres, minutes, needs, not_asked, passed, place, rule

_WIDE_TIMES = 2.0  # the target: then it comes with one to three times what it promises; chosen here, no source
_LEVEL_UP = 1e-6  # how far a surface's normal leans sideways where the wings count as level
_LOW_FUEL = Source("14 CFR 27.1305(l), a rule for rotorcraft taken as a good model")
_NEW = "; then `fuelsys place` gives its new height, in place of any rise told for where it is now"


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
    for where, tank, switch, found in switches(study):
        if found is None:
            yield needs(where, NEEDS_OUTLET)
        elif found.never:
            known = switch.target_s is not None or switch.max_tilt_rad is not None
            mend = raised(tank, switch, found) if known else ""
            yield failed(where, never_words(found), mend, Cost(short_s=switch.target_s or 0.0))
        else:
            flights = sum(at.attitude.phase == "flight" for at in found.at)
            yield passed(where, f"the surface passes its mark at all {flights} flight attitudes")


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
        feeds = feeds_engine(study, tank)
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
            yield needs(tank.name, NEEDS_OUTLET)
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
    checks="Between the flight attitudes with level wings (slips are short) a switch's minutes differ by at most twice its"
    " target (chosen here, no source).",
    why="A lamp that comes early in a climb and late in a descent soon is not believed.",
    mend="Move the mark nearer to the middle of the free surface at its trip.",
    sources=(COMMON_PRACTICE,),
)
def warning_spread_wide(study: Study) -> Iterator[Verdict]:
    """Earliest against latest trip in flight with level wings, or of all attitudes where none is level."""
    for where, tank, switch, found in switches(study):
        if found is None or switch.target_s is None:
            yield needs(where, NEEDS_OUTLET if found is None else "the target in minutes")
            continue
        if found.never:
            yield needs(where, f"a mark that the surface passes at every flight attitude; it {never_words(found)}")
            continue
        trips, spread_s = _level_trips(found), _spread_s(found)
        (least_m3, latest), (most_m3, soonest) = min(trips, key=lambda t: t[0]), max(trips, key=lambda t: t[0])
        evidence = (
            f"it trips with {litres(most_m3)} at {soonest.attitude.text} and {litres(least_m3)} at {latest.attitude.text}:"
            f" {units.minutes(spread_s, up=True)} min apart for a target of {minutes(switch.target_s)}"
        )
        if spread_s <= _WIDE_TIMES * switch.target_s:
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
    for where, tank, _, found in switches(study):
        filled = tank.capacity.filled
        if found is None or filled is None:
            yield needs(
                where, NEEDS_OUTLET if found is None else "a filler or a vent: how full the tank can be is not stated"
            )
            continue
        lit = [at for at in found.at if at.trip_m3 is not None and not _goes_out(at, filled.volume_m3)]
        normal = [at for at in lit if at.attitude.normal]
        if not lit:
            most = max(
                (at for at in found.at if at.reset_m3 is not None), key=lambda at: at.reset_m3 or 0.0, default=None
            )
            if most is None:
                yield needs(where, f"a mark that the surface passes; it {never_words(found)}")
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


def _level_trips(found: SwitchStudy) -> list[tuple[float, TripAt]]:
    """What is in the tank at each trip in flight with level wings, or at all where none is level."""
    flown = [(at.trip_m3, at) for at in found.at if at.attitude.phase == "flight" and at.trip_m3 is not None]
    return [one for one in flown if abs(one[1].attitude.up[1]) < _LEVEL_UP] or flown


def _spread_s(found: SwitchStudy) -> float:
    """How far these trips are apart, in time."""
    trips = [trip_m3 for trip_m3, _ in _level_trips(found)]
    return (max(trips) - min(trips)) / found.flow_m3_s


@rule(
    subject="switch",
    reach=Reach.INSIDE,
    stake=Stake.REST,
    checks="At the normal flight attitude each switch trips with at most twice its target of minutes (a limit chosen here, no"
    " source). Where it comes late at another attitude, the rule on that tells it: the mark cannot be lowered there.",
    why="A lamp for 20 minutes that comes with an hour's fuel left is not believed; it also hides how little an unusual"
    " attitude leaves.",
    mend="Bring the mark nearer to the middle of the free surface and lower it, as `fuelsys place --search` shows.",
    sources=(COMMON_PRACTICE,),
    rests_on=MINUTES_REST_ON,
)
def warning_early(study: Study) -> Iterator[Verdict]:
    """Most minutes at the trip in normal flight, above what is unusable there, against the target."""
    for where, _, switch, found in switches(study):
        if found is None or switch.target_s is None:
            yield needs(where, NEEDS_OUTLET if found is None else "the target in minutes")
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
        if left_min * 60.0 <= EARLY_TIMES * switch.target_s:
            yield passed(where, evidence)
        elif misses(found, switch.target_s):
            yield not_asked(
                where, f"{evidence}; elsewhere it comes late: warning-late tells it, and where its mark must go"
            )
        elif _spread_s(found) > _WIDE_TIMES * switch.target_s:
            yield not_asked(where, f"{evidence}; elsewhere it comes late: warning-spread-wide tells it")
        else:
            yield caution(where, evidence)


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
    for where, _, switch, _ in switches(study):
        if switch.tolerance_m is None:
            yield needs(where, "the switch's tolerance")
        else:
            yield passed(where, f"± {millimetres(switch.tolerance_m)}")
