"""Tanks that are joined: as the lines alone join them, and as valves and selectors can join them besides."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field, replace
from itertools import islice, product

from fuelsys.model.built.ends import End, PlacedLine
from fuelsys.model.built.network import Network
from fuelsys.model.stated.components import CheckValve, Engine, Pump, Selector, ShutOff

MOST_SETTINGS = 256  # of all selectors together; beyond it selectors that choose count as not stated


@dataclass(frozen=True)
class Joined:
    """Tanks whose fuel finds one level, in the design's order.

    through says which valves and selectors must be open for it, and how they are set; empty where the lines alone do it.
    unknown names the selectors that join them only in a position for several tanks, which the design does not state.
    """

    tanks: tuple[str, ...]
    through: tuple[str, ...] = ()
    unknown: tuple[str, ...] = ()
    at_once: bool = field(default=True, compare=False)  # by the lines alone, or by selectors in one of their positions
    set_to: tuple[tuple[End, str], ...] = field(
        default=(), compare=False
    )  # selectors that stand on one line coming in, with that


@dataclass(frozen=True)
class _Setting:
    """One position of a valve or selector: the lines that it joins, and what it is called."""

    end: End
    lines: frozenset[str]
    called: str
    stated: bool = True
    line: str = ""


def joined(network: Network) -> tuple[Joined, ...]:
    """Every tank or group by the lines alone; then the groups that open valves and selectors make of them.

    A selector in a position for several tanks joins all its lines, in any other one line with one.
    """
    found = {group: Joined(group) for group in network.fuel_groups()}
    for settings in _settings(network):
        opened = {one.end: one.lines for one in settings}
        for group in network.fuel_groups(opened):
            if group not in found:
                by = [one for one in settings if group not in network.fuel_groups(_without(opened, one.end))]
                if not by:  # several side by side: none of them is needed
                    by = [one for one in settings if network.fuel_groups({one.end: one.lines}) != network.fuel_groups()]
                unknown = tuple(str(one.end) for one in by if not one.stated)
                at_once = all(isinstance(network.nodes[one.end], Selector) for one in by or settings)
                set_to = tuple((one.end, one.line) for one in by or settings if one.line)
                found[group] = Joined(group, tuple(one.called for one in by or settings), unknown, at_once, set_to)
    return tuple(found.values())


def parted(network: Network, group: Joined) -> tuple[Joined, ...]:
    """A group as check valves part it: for each tank those that its fuel can run into, without what another set holds.

    All valves count as open, and a tank that others fill passes fuel on through its vent lines to the tanks that share its air.
    """
    sets = {frozenset(_filled_from(network, name, group.tanks)) for name in group.tanks}
    most = [one for one in sets if not any(one < other for other in sets)]
    return tuple(
        replace(group, tanks=tanks) for tanks in sorted(tuple(n for n in group.tanks if n in one) for one in most)
    )


def _filled_from(network: Network, source: str, within: tuple[str, ...]) -> set[str]:
    """The tank itself and those that its fuel can run into along feed and interconnect lines, of some tanks."""
    found, waiting = {source}, _ports(network, source)
    met = set(waiting)
    while waiting:
        line, end = waiting.pop()
        tanks = {end.tank} if end.tank else set()
        if end.tank in within and end.tank != source:  # it may stand full: fuel rises in its vent lines
            tanks |= {name for air in network.air_groups() if end.tank in air for name in air if name in within}
        onward = [leg for name in tanks - found for leg in _ports(network, name)]
        found |= tanks
        onward += [] if end.tank else _onward(network, line, end)
        waiting += [leg for leg in onward if leg not in met]
        met.update(onward)
    return found & set(within)


def _ports(network: Network, tank: str) -> list[tuple[PlacedLine, End]]:
    """The lines of a tank that fuel may take from it, each with the end that it comes to."""
    return [leg for end in network.nodes if end.tank == tank for leg in _legs(network, end)]


def _onward(network: Network, line: PlacedLine, end: End) -> list[tuple[PlacedLine, End]]:
    node = network.nodes[end]
    if isinstance(node, Pump | Engine) or (isinstance(node, CheckValve) and line.end != end):
        return []
    legs = _legs(network, end)
    return [leg for leg in legs if leg[0].start == end] if isinstance(node, CheckValve) else legs


def _legs(network: Network, end: End) -> list[tuple[PlacedLine, End]]:
    lines = [line for line in network.lines_at(end) if line.kind in ("feed", "interconnect")]
    return [(line, line.end if line.start == end else line.start) for line in lines]


def _without(opened: Mapping[End, frozenset[str]], end: End) -> dict[End, frozenset[str]]:
    return {other: lines for other, lines in opened.items() if other != end}


def _settings(network: Network) -> Iterator[tuple[_Setting, ...]]:
    """All valves open and each selector in each of its positions, those that the design states first."""
    parts = [(end, node) for end, node in network.nodes.items() if isinstance(node, ShutOff)]
    lines = {end: [e for e in network.lines_at(end) if e.kind in ("feed", "interconnect")] for end, _ in parts}
    choices = [list(_positions(end, node, lines[end])) for end, node in parts if len(lines[end]) > 1]
    several = list(islice(product(*choices), MOST_SETTINGS + 1))
    if len(several) > MOST_SETTINGS:
        several = [tuple(_all(end, node, lines[end]) for end, node in parts if len(lines[end]) > 1)]
    yield from sorted(several, key=lambda settings: sum(not one.stated for one in settings))


def _positions(end: End, node: object, lines: list[PlacedLine]) -> Iterator[_Setting]:
    if not isinstance(node, Selector):
        yield _all(end, node, lines)
        return
    if node.both is not True:
        for i, one in enumerate(lines):
            for two in lines[i + 1 :]:
                if "interconnect" in (one.kind, two.kind) or (one.end == end) != (two.end == end):
                    into = one if one.end == end else two
                    yield _Setting(end, frozenset((one.name, two.name)), f"{end} set to {into.name}", line=into.name)
    yield _Setting(end, frozenset(), f"{end} off") if node.both is False else _all(end, node, lines)


def _all(end: End, node: object, lines: list[PlacedLine]) -> _Setting:
    """Open for all its lines."""
    names = frozenset(line.name for line in lines)
    if not isinstance(node, Selector):
        return _Setting(end, names, f"{end} open")
    return _Setting(end, names, f"{end} set to both", node.both is True)
