"""A rule on tanks whose outlets are connected: their airspaces."""

from __future__ import annotations

from collections.abc import Iterator

from fuelsys.model.findings import Reach, Stake, Verdict
from fuelsys.model.study import Study
from fuelsys.rules.lines import loose, unled
from fuelsys.rules.words import before_64, failed, needs, passed, rule


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
