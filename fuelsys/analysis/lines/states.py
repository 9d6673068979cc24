"""The states that selectors and valves permit: in each, which tanks feed, which are shut off, where the return goes.

Vent lines have settings of their own (`airing.py`): what is set there moves no fuel, so the two are not multiplied.
"""

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
Setting = tuple[str, frozenset[str]]  # in words, and the lines that it shuts
_OPEN: Setting = ("", frozenset())
_Into = dict[End, list[Step]]


def states(layout: Layout) -> tuple[State, ...] | None:
    """Every state that is permitted, those that cut all tanks off too; None where there are more than MOST_STATES.

    A selector stands on one line, or on all where the design says that it may (both); a valve is open or shut. Pumps let fuel pass
    whether they run or not, and a check valve lets it pass as its lines are drawn. A state is told by what differs from all open.
    """
    if how_many(layout) > MOST_STATES:
        return None
    return tuple(_state(layout.network, *merged(chosen)) for chosen in product(*_parts(layout)))


def merged(chosen: tuple[Setting, ...]) -> Setting:
    """The settings of all parts as one."""
    words = ", ".join(words for words, _ in chosen if words)
    return words or "all open", frozenset().union(*(lines for _, lines in chosen))


def how_many(layout: Layout) -> int:
    """The number of states that selectors and valves permit."""
    return prod(len(settings) for settings in _parts(layout))


def _parts(layout: Layout) -> list[list[Setting]]:
    network = layout.network
    fitted = [part for part in layout.design.component if network.lines_at(ComponentEnd(part.name))]
    return [_settings(network, part) for part in fitted if isinstance(part, Selector | Valve)]


def _settings(network: Network, part: Selector | Valve) -> list[Setting]:
    """A part's positions: a selector's are the lines that come into it, or, where only returns pass it, those that leave."""
    here = ComponentEnd(part.name)
    lines = [line for line in network.lines_at(here) if line.kind != "vent"]
    back = [line for line in lines if line.kind == "return"]
    if not lines:
        return [_OPEN]
    into = [line for line in lines if line.kind != "return" and line.end == here]
    out = [line for line in back if line.start == here]
    if isinstance(part, Valve) or len(into if len(back) < len(lines) else out) < 2:
        word = "shut" if isinstance(part, Valve) else "off"
        return [_OPEN, (f"{part.name} {word}", frozenset(line.name for line in lines))]
    if into:
        follows = () if part.switches_return is False else out
        one = [
            _on(network, part, line, into, [end for end in follows if not _goes_back(network, line, end)])
            for line in into
        ]
    else:
        one = [(f"{part.name} to {_leads_to(network, line)}", _but(out, line.name)) for line in out]
    return [*one, (f"{part.name} on all", frozenset())] if part.both else one


def _on(
    network: Network, part: Selector, line: PlacedLine, into: list[PlacedLine], returns: list[PlacedLine]
) -> Setting:
    """On one line: the others that come in are shut, and the returns through it that do not go back to that line's tanks."""
    return f"{part.name} on {_named(network, line)}", _but(into, line.name) | {one.name for one in returns}


def _goes_back(network: Network, feed: PlacedLine, back: PlacedLine) -> bool:
    """Whether a return leads to a tank that a feed line comes from."""
    return bool(_behind(network, feed) & _ahead(network, back))


def _behind(network: Network, line: PlacedLine) -> frozenset[str]:
    """The tanks that a line comes from, past no other tank."""
    into = by([s for many in network.steps("feed", drawn=True).values() for s in many], "end")
    found = reached(line.start, into, _ports(network), back=True)
    return frozenset(end.tank for end in found if end.tank)


def _ahead(network: Network, line: PlacedLine) -> frozenset[str]:
    """The tanks that a return line leads to."""
    found = reached(line.end, network.steps("return", drawn=True), _ports(network))
    return frozenset(end.tank for end in found if end.tank)


def _ports(network: Network) -> set[End]:
    return {end for end in network.nodes if end.tank}


def _named(network: Network, line: PlacedLine) -> str:
    found = _behind(network, line)
    return " and ".join(tank for tank in network.tanks if tank in found) or str(line.start)


def _leads_to(network: Network, line: PlacedLine) -> str:
    found = _ahead(network, line)
    return " and ".join(tank for tank in network.tanks if tank in found) or str(line.end)


def _but(lines: list[PlacedLine], name: str) -> frozenset[str]:
    return frozenset(line.name for line in lines if line.name != name)


def _state(network: Network, words: str, shut: frozenset[str]) -> State:
    steps = [s for many in network.steps("feed", drawn=True).values() for s in many if s.line.name not in shut]
    back = [s for many in network.steps("return", drawn=True).values() for s in many if s.line.name not in shut]
    into, onward = by(steps, "end"), by(back, "start")
    engines = [end for end, node in network.nodes.items() if isinstance(node, Engine)]
    feeding = dict.fromkeys(tank for engine in engines for tank in _tanks(network, engine, into))
    every = dict.fromkeys(way.start.tank for way in network.ways("feed") if way.start.tank)
    isolated = tuple(tank for tank in every if tank and tank not in feeding)
    comes = {engine: _returned(network, engine, into, onward) for engine in engines}
    returns = dict.fromkeys(tank for e in engines for tank in _switched(network, e, tuple(feeding), comes[e]))
    fed = [engine for engine in engines if any(_tanks(network, engine, into))]
    stuck = tuple(str(e) for e in fed if network.return_tanks(e) and not comes[e])
    return State(words, tuple(feeding), isolated, tuple(returns), shut, stuck)


def _tanks(network: Network, end: End, into: _Into) -> Iterator[str]:
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


def _returned(network: Network, engine: End, into: _Into, onward: _Into) -> tuple[str, ...]:
    """The tanks that return lines lead to, from the engine or from what lies on its feed.

    What return lines come to is no source of its own: a selector on the feed hands on what comes to it, if it does.
    """
    ports = _ports(network)
    through = {step.end for many in network.steps("return", drawn=True).values() for step in many}
    starts = reached(engine, into, ports, back=True) - ports - (through - {engine})
    ends = {end for start in starts for end in reached(start, onward, ports)}
    return tuple(sorted({end.tank for end in ends if end.tank}))


def _switched(network: Network, engine: End, feeding: tuple[str, ...], comes: tuple[str, ...]) -> tuple[str, ...]:
    """Where the return goes: the tank that feeds, where a selector is stated to switch it."""
    switched = tuple(tank for tank in feeding if comes and network.return_is_switched(engine, tank))
    return switched or comes
