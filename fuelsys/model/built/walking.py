"""What can be come to along lines: from place to place, a tank being one place with all its ports."""

from __future__ import annotations

from collections.abc import Callable, Hashable, Iterable

from fuelsys.model.built.ends import End, PlacedLine
from fuelsys.model.built.network import Network
from fuelsys.model.stated.components import Component

Steps = list[tuple[Hashable, Hashable]]  # from a place to the next


def steps(
    network: Network,
    lines: Iterable[PlacedLine],
    one_way: tuple[type[Component], ...],
    back: Callable[[PlacedLine], bool] = lambda _: True,
) -> Steps:
    """Along each line, back along it where that may be, and through parts that let pass one way: from their "in" to their "out"."""

    def place(end: End, side: str) -> Hashable:
        return (end, side) if isinstance(network.nodes[end], one_way) else end.tank or end

    found: Steps = [((end, "in"), (end, "out")) for end, node in network.nodes.items() if isinstance(node, one_way)]
    for line in lines:
        one, two = place(line.start, "out"), place(line.end, "in")
        found += [(one, two), (two, one)] if back(line) else [(one, two)]
    return found


def turned(ahead: Steps) -> Steps:
    """The same steps the other way."""
    return [(two, one) for one, two in ahead]


def reached(starts: Iterable[Hashable], ahead: Steps) -> set[Hashable]:
    """The places that steps lead to from some places, and these themselves.

    >>> sorted(reached("a", [("a", "b"), ("b", "c"), ("d", "a")]))
    ['a', 'b', 'c']
    """
    beyond: dict[Hashable, list[Hashable]] = {}
    for one, two in ahead:
        beyond.setdefault(one, []).append(two)
    found = set(starts)
    waiting = list(found)
    while waiting:
        more = set(beyond.get(waiting.pop(), ())) - found
        found |= more
        waiting.extend(more)
    return found
