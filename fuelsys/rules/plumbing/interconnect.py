"""A rule on tanks whose outlets are connected: their airspaces."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from fuelsys.model.built.joining import Joined, joined
from fuelsys.model.found.findings import Reach, Stake, Verdict
from fuelsys.model.found.study import Study
from fuelsys.rules.shared import loose, unled
from fuelsys.rules.words import before_64, both_asked, caution, failed, needs, passed, rule, with_open


def _groups(study: Study) -> Iterator[Joined]:
    """Tanks whose outlets are connected, of which there are at least two; by lines alone first."""
    return (group for group in joined(study.layout.network) if len(group.tanks) > 1)


@rule(
    subject="connected tanks",
    reach=Reach.OUTSIDE,
    stake=Stake.LITRES,
    checks="The airspaces of tanks whose outlets are connected, by lines alone or by open valves and a selector's position for"
    " several tanks, are connected too, in every setting of what stands in the vent lines.",
    why="A small difference between two vents moves the fuel from one tank to the other, and out.",
    mend="Connect the tanks' airspaces at their tops by a vent line, or put a selector between their outlets.",
    sources=(before_64("23.975(a)(4)"),),
)
def airspaces_not_connected(study: Study) -> Iterator[Verdict]:
    """Outlets connected by lines, by open valves and by selectors; airspaces connected by vent lines."""
    open_ends = {end.tank for end, _ in unled(study, "vent")}
    told: list[set[str]] = []
    for group in _groups(study):
        names = ", ".join(group.tanks)
        settings = [("", study.plumbing.air_groups), *((one.words, one.groups) for one in study.plumbing.airings or ())]
        words, airs = max(((words, _among(group, air)) for words, air in settings), key=lambda one: len(one[1]))
        if len(airs) == 1 and study.plumbing.airings is None:
            yield needs(names, "fewer valves and selectors in vent lines: their settings are too many to go through")
        elif len(airs) == 1:
            yield passed(names, "one vent system connects their airspaces")
        elif not any(fewer <= set(group.tanks) for fewer in told):
            told.append(set(group.tanks))
            setting = f"with {words} in the vent lines " if words not in ("", "all open") else ""
            yield _apart(group, airs, sorted(set(group.tanks) & open_ends), setting)
    yield from loose(study, ["interconnect", "vent"])


def _among(group: Joined, groups: Sequence[tuple[str, ...]]) -> list[tuple[str, ...]]:
    """The airspaces of a group's tanks."""
    return [tuple(name for name in air if name in group.tanks) for air in groups if set(air) & set(group.tanks)]


def _apart(group: Joined, airs: list[tuple[str, ...]], open_ends: list[str], setting: str) -> Verdict:
    names, apart = ", ".join(group.tanks), " | ".join(", ".join(air) for air in airs)
    evidence = f"fuel can pass between them{with_open(group)}, but {setting}their airspaces are apart: {apart}"
    if open_ends:
        return needs(names, f"the vent lines of {', '.join(open_ends)}")
    if group.unknown:
        return needs(names, f"{both_asked(group)}; if so, {evidence}")
    return failed(names, evidence) if group.at_once else caution(names, evidence)
