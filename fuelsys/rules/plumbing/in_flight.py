"""Rules on full tanks in flight: what runs out over a vent's line, which vents drown, and what tanks that are joined do."""

from __future__ import annotations

from collections.abc import Callable, Iterator

from fuelsys.model.found.findings import COMMON_PRACTICE, Reach, Stake, Verdict
from fuelsys.model.found.spilling import Drowned, GroupInFlight, Spilled
from fuelsys.model.found.study import Study, TankStudy
from fuelsys.model.stated.attitude import STANDARD_GRAVITY_M_S2, Attitude
from fuelsys.model.stated.components import CheckValve
from fuelsys.rules.severity import TRIFLES
from fuelsys.rules.shared import TOO_MANY_AIRINGS, feeders, header_like, loose, on_way, unchecked, unled
from fuelsys.rules.words import (
    LEAST_SHOWN_M3,
    NO_FITTINGS,
    at_least,
    before_64,
    both_asked,
    caution,
    failed,
    litres,
    millimetres,
    needs,
    not_asked,
    passed,
    pressure,
    rule,
    with_open,
)

NOTED_M3 = 0.1e-3  # less is lost by every tank that is filled to the brim; chosen here, no source
NO_VENT = "it has no vent: see vent-missing"
_TRIED = "Between the least and the greatest pitch and roll that are stated, steps of 4° or less are tried."


def _unfilled(study: Study, group: GroupInFlight) -> str:
    """The tanks of a group of which it is not stated how full they can be."""
    names = [n for n in group.joined.tanks if study.layout.tank(n).design.filler is None and not header_like(study, n)]
    return ", ".join(names or (group.joined.tanks if not group.at else ()))


def _stated(study: Study, attitude: Attitude) -> bool:
    return attitude in study.layout.design.envelope


# --- what runs out


def _told(study: Study, group: GroupInFlight) -> Callable[[str, str, str], Verdict]:
    """Fail where fuel is lost at an attitude that the design states as flown, and at the normal one any; else caution."""
    over = [one for one in group.at if one.over and _stated(study, one.attitude)]
    return failed if any(one.attitude.normal or one.lost_m3 >= NOTED_M3 for one in over) else caution


def _runs_out(study: Study, group: GroupInFlight) -> str:
    """Where the most runs out: how far the fuel stands over the line, the litres, the caps."""
    worst = group.most
    top = max(worst.settled.vents, key=lambda vent: vent.above_m)
    stands = (
        f"at {worst.attitude.text}, held until the fuel is at rest, it stands {millimetres(abs(top.above_m))}"
        f" {'above' if top.above_m > 0.0 else 'below'} the highest point of the line of {top.opening}"
    )
    caps = [
        f"{c.opening} ({millimetres(deep)} deep)"
        for c in worst.settled.fillers
        if (deep := group.highest(c.opening)) > 0
    ]
    capped = f"; the cap of {', '.join(caps)} must hold fuel" if caps else ""
    if not worst.over:
        return f"{stands}, the least in flight{capped}"
    lost = f"; {litres(worst.lost_m3)} run out until it stops{_more(worst)}"
    if not _stated(study, worst.attitude):
        stated = [one for one in group.at if _stated(study, one.attitude)]
        most = max(stated, key=lambda one: one.lost_m3)
        lost += f"; at stated attitudes at most {litres(most.lost_m3)}" + (
            f", at {most.attitude.text}" if most.over else ""
        )
    return f"{stands}{lost}{capped}"


def _more(worst: Spilled) -> str:
    more = worst.siphoned_m3 - worst.lost_m3 > LEAST_SHOWN_M3
    return f", {litres(worst.siphoned_m3)} where the line goes on as a siphon" if more else ""


def _higher(group: GroupInFlight) -> str:
    """By how much each line that runs over must be raised, over all attitudes."""
    rises = [(vent, group.rise_m(vent)) for vent in group.vents]
    lines = ", ".join(f"that of {vent} at least {at_least(rise)}" for vent, rise in rises if rise > 0.0)
    return f"ead the line higher before it falls, {lines}, or towards the other side of the aircraft"


@rule(
    subject="vent line",
    reach=Reach.OUTSIDE,
    stake=Stake.LITRES,
    checks="A full tank does not run out over the highest point of its vent line at any flight attitude, held until its fuel"
    f" is at rest, or where pitch and roll of several come together. {_TRIED} Tanks whose outlets are connected are judged by"
    " full-tanks-overflow.",
    why="In a slip, a climb or a descent a full tank's fuel rises at one end; once it runs, a vent line may go on as a siphon.",
    mend="Lead the vent line higher before it falls, or towards the other side of the aircraft, or fill the tank less.",
    sources=(before_64("23.975(a)(2)"), COMMON_PRACTICE),
    rests_on=("vent-not-at-top", "mesh-in-doubt"),
)
def vent_spills_in_flight(study: Study) -> Iterator[Verdict]:
    """The fuel of the full tank against the highest point of each vent line: fail at stated attitudes, else caution."""
    for tank in study.tanks:
        if not tank.tank.design.ports:
            yield needs(tank.name, NO_FITTINGS)
        elif group := study.in_flight.alone(tank.name):
            yield from _alone(study, group, tank)
    yield from unchecked(study, "vent")


def _alone(study: Study, group: GroupInFlight, tank: TankStudy) -> Iterator[Verdict]:
    name = tank.name
    if not tank.tank.design.vent:
        yield not_asked(name, NO_VENT)
    elif unfilled := _unfilled(study, group):
        yield needs(name, f"a filler of {unfilled}: how full it can be is not stated")
    elif not group.vents:
        yield _not_overboard(study, name)
    else:
        evidence, mend = f"full, {_runs_out(study, group)}", f"L{_higher(group)}, or fill the tank less."
        if not group.most.over:
            yield passed(name, evidence)
        else:
            yield _told(study, group)(name, evidence, mend)


def _not_overboard(study: Study, name: str) -> Verdict:
    air = next(group for group in study.plumbing.air_groups if name in group)
    out = {run.start.tank for run in study.plumbing.of_kind("vent") if study.layout.network.overboard(run.end)}
    if out & set(air):
        return not_asked(name, f"it is vented through {', '.join(one for one in air if one in out)}")
    return needs(name, "a vent line that leads overboard")


# --- tanks that are joined


@rule(
    subject="connected tanks",
    reach=Reach.OUTSIDE,
    stake=Stake.LITRES,
    checks="Full tanks that are connected, by lines alone or by open valves and a selector's position for several tanks, do not"
    f" overflow from a vent at any flight attitude, or where pitch and roll of several come together. {_TRIED}",
    why="In a slip the fuel of the high tank runs to the low one and out of its vent.",
    mend="Put a valve or selector between the tanks, or lead each vent line up towards the other side.",
    sources=(before_64("23.957(a)"), COMMON_PRACTICE),
    rests_on=("vent-not-at-top", "mesh-in-doubt"),
)
def full_tanks_overflow(study: Study) -> Iterator[Verdict]:
    """One level over all tanks of a group, filled at the normal ground attitude and held at each flight attitude."""
    for group in study.in_flight.together:
        names = ", ".join(group.joined.tanks)
        if unfilled := _unfilled(study, group):
            yield needs(names, f"a filler of {unfilled}: how full they can be is not stated")
        elif not group.vents:
            yield not_asked(names, "no vent line leads overboard from them")
        else:
            yield _overflow(study, names, group)
    joined = {name for group in study.in_flight.together for name in group.joined.tanks}
    yield from (verdict for end, verdict in unled(study, "vent") if end.tank in joined)
    yield from loose(study, ["interconnect", "vent"])


def _overflow(study: Study, names: str, group: GroupInFlight) -> Verdict:
    evidence = f"full{with_open(group.joined)}, {_runs_out(study, group)}"
    if not group.most.over:
        return passed(names, evidence)
    ways = [way for way in study.plumbing.ways if way.start.tank in group.joined.tanks]
    if checks := dict.fromkeys(part.name for way in ways for part in on_way(study, way, CheckValve)):
        evidence += f"; {', '.join(checks)} {'is' if len(checks) == 1 else 'are'} not counted on to part them"
    if group.joined.unknown:
        return needs(names, f"{both_asked(group.joined)}; if so, {evidence}")
    apart = "Put a valve or selector between the tanks"
    mend = f"{'Fit a selector that never joins them' if group.joined.through else apart}, or l{_higher(group)}."
    if study.layout.design.aircraft.feed != "gravity":
        return caution(names, f"{evidence} (the requirement is for gravity feed)", mend)
    return _told(study, group)(names, evidence, mend)


# --- vents under fuel


@rule(
    subject="vent opening",
    reach=Reach.INSIDE,
    stake=Stake.ENGINE,
    checks="At each flight attitude, and where pitch and roll of several come together, each full tank has a vent that stands in"
    " air, be it through the air of another tank; or, of tanks that feed together, one with a filler has."
    f" {_TRIED}",
    why="A vent under fuel lets fuel out with the air, and air for what the engine draws bubbles in only once the tank has pulled"
    " a vacuum of the fuel's depth over the vent: that much less drives the feed.",
    mend="Add a vent at the end of the tank where the air then is, or join its air there to another tank's, or fill it less.",
    sources=(before_64("23.975(a)(3)"), COMMON_PRACTICE, TRIFLES),
    rests_on=("vent-not-at-top", "mesh-in-doubt"),
)
def vent_under_fuel_in_flight(study: Study) -> Iterator[Verdict]:
    """The openings of vent lines against the level of the full tank, and of the tanks that it is joined to."""
    for tank in study.tanks:
        yield _under(study, tank)
    yield from (verdict for _, verdict in unled(study, "vent"))


def _under(study: Study, tank: TankStudy) -> Verdict:
    name, design = tank.name, tank.tank.design
    if not design.vent:
        return not_asked(name, NO_VENT) if design.ports else needs(name, NO_FITTINGS)
    if header_like(study, name):
        full = f"it is filled by {', '.join(feeders(study, name))} alone: fuel stands in its vent's line while they are full"
        return not_asked(name, full)
    unknown = [_unfilled(study, group) for group in study.in_flight.groups if name in group.joined.tanks]
    if any(unknown):
        return needs(
            name, f"a filler of {', '.join(dict.fromkeys(filter(None, unknown)))}: how full it can be is not stated"
        )
    found = next((one for one in study.in_flight.tanks if one.tank == name), None)
    if found is None:
        return needs(name, "a vent line that leads overboard, or to a tank that has one")
    if found.drowned:
        slight = found.drowned.slight(study.layout.design.fuel.density_kg_m3)
        if slight and study.in_flight.unsettled:
            return needs(name, TOO_MANY_AIRINGS)
        told = passed if slight else caution
        return told(name, f"{f'with {found.setting}, ' if found.setting else ''}{_drowned(study, found.drowned)}")
    if found.maybe:
        return needs(name, f"{both_asked(found.maybe.joined)}; if so, {_drowned(study, found.maybe)}")
    if study.in_flight.unsettled:
        return needs(name, TOO_MANY_AIRINGS)
    evidence = f"full, its highest vent stands {millimetres(found.clear_m)} above the fuel at {found.clear_at.text}"
    under = "".join(f"; {vent.opening} goes under by up to {millimetres(vent.above_m)}" for vent in found.under)
    return passed(name, f"{evidence}, the least in flight{under}")


def _drowned(study: Study, found: Drowned) -> str:
    first, others = found.first, len(found.vents) > 1
    full = f"full{with_open(found.joined)}, at {found.attitude.text}"
    also = [attitude.name for attitude in found.stated if attitude != found.attitude]
    so = f"; no vent stands in air at {', '.join(also)} either" if also else ""
    if not found.stated:
        so = "; at each stated attitude a vent stands in air"
    if first.above_m < 0.0:
        return f"{full}, its vents stand in air, but the vents of the tanks that they lead to are under fuel{so}"
    stands = f"{full}, {first.opening} stands {millimetres(first.above_m)} under fuel{', the least of all' if others else ''}"
    if found.taken_m3 is None:
        return f"{stands}; no vent lets air in, and no outlet draws the fuel down to it{so}"
    leaves = f"{', '.join(found.joined.tanks)} together" if len(found.joined.tanks) > 1 else "the tank"
    vacuum_pa = first.above_m * study.layout.design.fuel.density_kg_m3 * STANDARD_GRAVITY_M_S2
    until = f"no vent lets air in until {litres(found.taken_m3)} are gone from {leaves}, but for what bubbles in against a vacuum"
    return f"{stands}; {until} of {pressure(vacuum_pa)} in the tank, which takes from the head of the feed{so}"
