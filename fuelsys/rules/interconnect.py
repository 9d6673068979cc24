"""Rules on tanks whose outlets are connected: their airspaces, and where their fuel goes when the aircraft leans."""

from __future__ import annotations

from collections.abc import Iterator

from fuelsys.model.findings import Reach, Stake, Verdict
from fuelsys.model.plumbing import Settled
from fuelsys.model.study import Study
from fuelsys.rules.lines import header_like, loose, unled
from fuelsys.rules.words import before_64, caution, failed, millimetres, needs, not_asked, passed, rule


def _groups(study: Study) -> Iterator[tuple[str, ...]]:
    """Tanks whose outlets are connected, of which there are at least two."""
    return (group for group in study.plumbing.fuel_groups if len(group) > 1)


@rule(
    subject="connected tanks",
    reach=Reach.OUTSIDE,
    stake=Stake.LITRES,
    checks="The airspaces of tanks whose outlets are connected are connected too.",
    why="A small difference between two vents moves the fuel from one tank to the other, and out.",
    mend="Connect the tanks' airspaces at their tops by a vent line, or put a selector between their outlets.",
    sources=(before_64("23.975(a)(4)"),),
)
def airspaces_not_connected(study: Study) -> Iterator[Verdict]:
    """Outlets connected by lines without a valve or selector between; airspaces connected by vent lines."""
    open_ends = {end.tank for end, _ in unled(study, "vent")}
    for group in _groups(study):
        names = ", ".join(group)
        airs = [
            tuple(name for name in air if name in group) for air in study.plumbing.air_groups if set(air) & set(group)
        ]
        if len(airs) == 1:
            yield passed(names, "one vent system connects their airspaces")
        elif unknown := sorted(set(group) & open_ends):
            yield needs(names, f"the vent lines of {', '.join(unknown)}")
        else:
            apart = " | ".join(", ".join(air) for air in airs)
            yield failed(names, f"fuel can pass between them, but their airspaces are apart: {apart}")
    yield from loose(study, ["interconnect", "vent"])


@rule(
    subject="connected tanks",
    reach=Reach.OUTSIDE,
    stake=Stake.LITRES,
    checks="Full tanks that are connected do not overflow from a vent at any flight attitude.",
    why="In a slip the fuel of the high tank runs to the low one and out of its vent.",
    mend="Put a valve or selector between the tanks, or lead each vent line up towards the other side.",
    sources=(before_64("23.957(a)"),),
)
def full_tanks_overflow(study: Study) -> Iterator[Verdict]:
    """One level over all tanks of a group, filled at the normal ground attitude and held at each flight attitude."""
    for group in _groups(study):
        names = ", ".join(group)
        unfilled = [n for n in group if study.layout.tank(n).design.filler is None and not header_like(study, n)]
        banked = [one for one in study.plumbing.banked if one.tanks == group]
        if unfilled or not banked:
            yield needs(names, f"a filler of {', '.join(unfilled or group)}: how full they can be is not stated")
            continue
        yield _overflow(study, names, banked)
    open_ends = [(end, verdict) for end, verdict in unled(study, "vent")]
    yield from (verdict for end, verdict in open_ends if any(end.tank in group for group in _groups(study)))
    yield from loose(study, ["interconnect", "vent"])


def _overflow(study: Study, names: str, banked: list[Settled]) -> Verdict:
    if not banked[0].vents:
        return not_asked(names, "no vent line leads overboard from them")
    over = [(vent.above_m, vent.opening, at) for at in banked for vent in at.vents]
    above_m, opening, at = max(over, key=lambda one: one[0])
    stands = f"at {at.attitude.text}, held until the levels are equal, the fuel stands {millimetres(abs(above_m))}"
    if above_m <= 0.0:
        return passed(names, f"{stands} below the highest point of the line of {opening}, the least in flight")
    caps = [cap.opening for cap in at.fillers if cap.above_m > 0.0]
    evidence = f"{stands} above the highest point of the line of {opening}" + (
        f"; the cap of {', '.join(caps)} must hold fuel" if caps else ""
    )
    if study.layout.design.aircraft.feed == "gravity":
        return failed(names, evidence)
    return caution(names, f"{evidence} (the requirement is for gravity feed)")
