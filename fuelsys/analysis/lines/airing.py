"""The settings that valves, selectors and check valves in the vent lines permit: which tanks still breathe, which share air.

Air comes in along the lines from the ends overboard and gets out along them the other way; a check valve lets it pass from its
line's `from` to the next one's `to` only, so a tank may have the one without the other. A selector joins two of its vent lines,
any two, for nobody states which, or all (both).
"""

from __future__ import annotations

from collections.abc import Hashable, Sequence
from dataclasses import replace
from itertools import combinations, product
from math import prod

from fuelsys.analysis.lines.states import MOST_STATES, Setting, merged
from fuelsys.model.built.ends import ComponentEnd, End, PlacedLine
from fuelsys.model.built.layout import Layout
from fuelsys.model.built.network import Network
from fuelsys.model.found.plumbing import Airing
from fuelsys.model.stated.components import CheckValve, Selector, Valve

_Ties = dict[Hashable, list[Hashable]]


def airings(layout: Layout) -> tuple[Airing, ...] | None:
    """Every setting of what stands in the vent lines, the least shut first; None where there are more than MOST_STATES."""
    parts = [_settings(layout.network, part) for part in layout.design.component if isinstance(part, Selector | Valve)]
    if prod(map(len, parts)) > MOST_STATES:
        return None
    chosen = sorted((merged(one) for one in product(*parts)), key=lambda one: len(one[1]))
    return tuple(_airing(layout.network, words, shut) for words, shut in chosen)


def _settings(network: Network, part: Selector | Valve) -> list[Setting]:
    names = [line.name for line in network.lines_at(ComponentEnd(part.name), "vent")]
    if not names:
        return [("", frozenset())]
    if isinstance(part, Valve) or len(names) < 3:
        return [("", frozenset()), (f"{part.name} {'shut' if isinstance(part, Valve) else 'off'}", frozenset(names))]
    pairs = [(f"{part.name} on {one} and {two}", frozenset(names) - {one, two}) for one, two in combinations(names, 2)]
    return [*pairs, ("", frozenset())] if part.both else pairs


def as_set(layout: Layout, setting: Airing) -> Layout:
    """The layout without the vent lines that a setting shuts."""
    lines = tuple(line for line in layout.lines if line.kind != "vent" or line.name not in setting.shut)
    return replace(layout, lines=lines) if setting.shut else layout


def still_breathing(network: Network, blocked: End | None) -> tuple[str, ...]:
    """The tanks that breathe both ways while an end overboard is blocked."""
    found = _airing(network, "", frozenset(line.name for line in network.edges if blocked in (line.start, line.end)))
    return tuple(name for name in network.aired(()) if name not in (*found.starved, *found.closed))


def shut_in(network: Network, shut: frozenset[str]) -> tuple[tuple[str, ...], ...]:
    """The tanks into which no air comes from outside with some vent lines shut; those that still share air are one group."""
    found = _airing(network, "", shut)
    groups = (tuple(name for name in group if name in found.starved) for group in found.groups)
    return tuple(group for group in groups if group)


def settings_of(network: Network, part: Selector | Valve) -> list[Setting]:
    """What a part may shut of the vent lines at it, in words; nothing where it shuts none."""
    return [one for one in _settings(network, part) if one[1]]


def _airing(network: Network, words: str, shut: frozenset[str]) -> Airing:
    kept = [line for line in network.edges if line.kind == "vent" and line.name not in shut]
    ahead, behind = _ties(network, kept)
    outside = [end for end in network.nodes if network.overboard(end)]
    inward, outward = _reached(outside, ahead), _reached(outside, behind)
    led = network.aired(())
    return Airing(
        words,
        shut,
        starved=tuple(name for name in led if name not in inward),
        closed=tuple(name for name in led if name not in outward),
        groups=_groups(network, ahead),
    )


def _ties(network: Network, lines: list[PlacedLine]) -> tuple[_Ties, _Ties]:
    """What air comes to from each place, and where it comes from: both ways along a line, one way through a check valve."""
    ahead: _Ties = {}
    behind: _Ties = {}
    pairs: list[tuple[Hashable, Hashable]] = []
    for line in lines:
        one, two = _node(network, line.start, "out"), _node(network, line.end, "in")
        pairs += [(one, two), (two, one)]
    pairs += [((end, "in"), (end, "out")) for end, node in network.nodes.items() if isinstance(node, CheckValve)]
    for start, end in pairs:
        ahead.setdefault(start, []).append(end)
        behind.setdefault(end, []).append(start)
    return ahead, behind


def _node(network: Network, end: End, side: str) -> Hashable:
    """A tank is one with all its ports; a check valve has two sides."""
    return (end, side) if isinstance(network.nodes[end], CheckValve) else end.tank or end


def _reached(starts: Sequence[Hashable], ties: _Ties) -> set[Hashable]:
    found: set[Hashable] = set(starts)
    waiting: list[Hashable] = list(starts)
    while waiting:
        beyond = [one for one in ties.get(waiting.pop(), ()) if one not in found]
        found.update(beyond)
        waiting.extend(beyond)
    return found


def _groups(network: Network, ties: _Ties) -> tuple[tuple[str, ...], ...]:
    """Tanks whose airspaces communicate: air passes both ways between them."""
    found = {name: _reached([name], ties) for name in network.tanks}
    groups = [tuple(two for two in network.tanks if two in found[one] and one in found[two]) for one in network.tanks]
    return tuple(dict.fromkeys(groups))
