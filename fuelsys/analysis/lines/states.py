"""The states that selectors and valves permit: in each, which tanks feed, which are shut off, where the return goes."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import product
from math import prod

from fuelsys.model.built.ends import ComponentEnd, End, PlacedLine, Step
from fuelsys.model.built.layout import Layout
from fuelsys.model.built.network import Network
from fuelsys.model.built.way import by, reached
from fuelsys.model.found.flow import State
from fuelsys.model.stated.components import Engine, Selector, Valve

MOST_STATES = 256  # beyond this they are not listed
_Setting = tuple[str, frozenset[str]]  # in words, and the lines that it shuts


def states(layout: Layout) -> tuple[State, ...] | None:
    """Every state that is permitted, those that cut all tanks off too; None where there are more than MOST_STATES.

    A selector stands on one line, or on all where the design says that it may (both); a valve is open or shut. Pumps let fuel pass
    whether they run or not, and a check valve lets it pass as its lines are drawn. A state is told by what differs from all open.
    """
    if how_many(layout) > MOST_STATES:
        return None
    return tuple(
        _state(
            layout.network,
            ", ".join(words for words, _ in chosen if words),
            frozenset().union(*(lines for _, lines in chosen)),
        )
        for chosen in product(*_parts(layout))
    )


def how_many(layout: Layout) -> int:
    """The number of states that selectors and valves permit."""
    return prod(len(settings) for settings in _parts(layout))


def _parts(layout: Layout) -> list[list[_Setting]]:
    network = layout.network
    fitted = [part for part in layout.design.component if network.lines_at(ComponentEnd(part.name))]
    return [_settings(network, part) for part in fitted if isinstance(part, Selector | Valve)]


def _settings(network: Network, part: Selector | Valve) -> list[_Setting]:
    lines = [line for line in network.lines_at(ComponentEnd(part.name)) if line.kind in ("feed", "interconnect")]
    if not lines:
        return [("", frozenset())]
    if isinstance(part, Valve):
        return [("", frozenset()), (f"{part.name} shut", frozenset(line.name for line in lines))]
    into = [line for line in lines if line.end == ComponentEnd(part.name)]
    if len(into) < 2:
        return [("", frozenset()), (f"{part.name} off", frozenset(line.name for line in lines))]
    one = [(f"{part.name} on {_named(network, line)}", _but(into, line.name)) for line in into]
    return [*one, (f"{part.name} on all", frozenset())] if part.both else one


def _named(network: Network, line: PlacedLine) -> str:
    """The tanks that a line comes from, past no other tank."""
    into = by([s for many in network.steps("feed", drawn=True).values() for s in many], "end")
    found = reached(line.start, into, {end for end in network.nodes if end.tank}, back=True)
    tanks = dict.fromkeys(end.tank for end in network.nodes if end in found and end.tank)
    return " and ".join(tank for tank in tanks if tank) or str(line.start)


def _but(lines: list[PlacedLine], name: str) -> frozenset[str]:
    return frozenset(line.name for line in lines if line.name != name)


def _state(network: Network, words: str, shut: frozenset[str]) -> State:
    steps = [s for many in network.steps("feed", drawn=True).values() for s in many if s.line.name not in shut]
    into = by(steps, "end")
    engines = [end for end, node in network.nodes.items() if isinstance(node, Engine)]
    feeding = dict.fromkeys(tank for engine in engines for tank in _tanks(network, engine, into))
    every = dict.fromkeys(way.start.tank for way in network.ways("feed") if way.start.tank)
    isolated = tuple(tank for tank in every if tank and tank not in feeding)
    returns = dict.fromkeys(tank for engine in engines for tank in _returned(network, engine, tuple(feeding)))
    return State(words or "all open", tuple(feeding), isolated, tuple(returns), shut)


def _tanks(network: Network, end: End, into: dict[End, list[Step]]) -> Iterator[str]:
    """Tanks whose fuel comes to an end, through other tanks too, nearest first."""
    seen: set[str] = set()
    waiting = [end]
    while waiting:
        found = reached(waiting.pop(0), into, back=True)
        tanks = dict.fromkeys(one.tank for one in network.nodes if one in found and one.tank)
        for tank in tanks:
            if tank and tank not in seen:
                seen.add(tank)
                yield tank
                waiting += [one for one in network.nodes if one.tank == tank]


def _returned(network: Network, engine: End, feeding: tuple[str, ...]) -> tuple[str, ...]:
    """Where the return goes: the tank that feeds, where a selector is stated to switch it."""
    switched = [tank for tank in feeding if network.return_is_switched(engine, tank)]
    return tuple(switched or sorted(network.return_tanks(engine)))
