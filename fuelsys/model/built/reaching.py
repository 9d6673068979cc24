"""Which tanks' fuel can come to an engine at all, along the lines and through other tanks, with every valve and selector open."""

from __future__ import annotations

from fuelsys.model.built.network import Network
from fuelsys.model.built.walking import reached, steps, turned
from fuelsys.model.stated.components import CheckValve, Engine, Pump


def cut_off(network: Network) -> frozenset[str]:
    """The tanks whose fuel no line can bring to an engine; none while no tank's fuel comes to one: then lines are missing.

    Feed lines are followed as they are drawn, interconnect lines both ways, check valves and pumps one way.
    """
    lines = [line for line in network.edges if line.kind in ("feed", "interconnect")]
    ahead = steps(network, lines, (CheckValve, Pump), lambda line: line.kind == "interconnect")
    engines = [end for end, node in network.nodes.items() if isinstance(node, Engine)]
    found = reached(engines, turned(ahead))
    out = frozenset(name for name in network.tanks if name not in found)
    return frozenset() if len(out) == len(network.tanks) else out
