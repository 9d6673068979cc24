"""The settings that valves, selectors and check valves in the vent lines permit: which tanks still breathe, which share air.

Air comes in along the lines from the ends overboard and gets out along them the other way; a check valve lets it pass from its
line's `from` to the next one's `to` only, so a tank may have the one without the other. A selector joins two of its vent lines,
any two, for nobody states which, or all (both).
"""

from __future__ import annotations

from dataclasses import replace
from itertools import combinations, product
from math import prod

from fuelsys.analysis.lines.states import MOST_STATES, Setting, merged
from fuelsys.model.built.ends import ComponentEnd, End
from fuelsys.model.built.layout import Layout
from fuelsys.model.built.network import Network
from fuelsys.model.built.walking import Steps, reached, steps, turned
from fuelsys.model.found.plumbing import Airing
from fuelsys.model.stated.components import CheckValve, Selector, Valve


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
    ahead = steps(network, kept, (CheckValve,))
    outside = [end for end in network.nodes if network.overboard(end)]
    inward, outward = reached(outside, ahead), reached(outside, turned(ahead))
    led = network.aired(())
    return Airing(
        words,
        shut,
        starved=tuple(name for name in led if name not in inward),
        closed=tuple(name for name in led if name not in outward),
        groups=_groups(network, ahead),
    )


def _groups(network: Network, ahead: Steps) -> tuple[tuple[str, ...], ...]:
    """Tanks whose airspaces communicate: air passes both ways between them."""
    found = {name: reached([name], ahead) for name in network.tanks}
    groups = [tuple(two for two in network.tanks if two in found[one] and one in found[two]) for one in network.tanks]
    return tuple(dict.fromkeys(groups))
