"""Which tanks' fuel can come to an engine at all, along the lines and through other tanks, with every valve and selector open."""

from __future__ import annotations

from collections.abc import Hashable

from fuelsys.model.built.ends import End
from fuelsys.model.built.network import Network
from fuelsys.model.stated.components import CheckValve, Engine, Pump


def cut_off(network: Network) -> frozenset[str]:
    """The tanks whose fuel no line can bring to an engine; none while no tank's fuel comes to one: then lines are missing.

    Feed lines are followed as they are drawn, interconnect lines both ways, check valves and pumps one way.
    """
    behind: dict[Hashable, set[Hashable]] = {}
    for end, node in network.nodes.items():
        if isinstance(node, CheckValve | Pump):
            behind.setdefault((end, "out"), set()).add((end, "in"))
    for line in network.edges:
        if line.kind in ("feed", "interconnect"):
            start, stop = _node(network, line.start, "out"), _node(network, line.end, "in")
            behind.setdefault(stop, set()).add(start)
            if line.kind == "interconnect":
                behind.setdefault(start, set()).add(stop)
    found: set[Hashable] = {end for end, node in network.nodes.items() if isinstance(node, Engine)}
    waiting = list(found)
    while waiting:
        more = behind.get(waiting.pop(), set()) - found
        found |= more
        waiting.extend(more)
    out = frozenset(name for name in network.tanks if name not in found)
    return frozenset() if len(out) == len(network.tanks) else out


def _node(network: Network, end: End, side: str) -> Hashable:
    return (end, side) if isinstance(network.nodes[end], CheckValve | Pump) else end.tank or end
