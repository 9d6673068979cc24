"""Interconnect lines that lead from a tank's outlet to an engine's feed: a tee at which both meet makes them feed lines.

Pipes are the same whatever they are called: by such a line fuel comes to the engine, and air where its outlet is dry. Left as they are:
lines past a selector, a pump or a check valve, and one whose two ends are as far from the feed.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from fuelsys.model.stated.components import Component, Engine, Filter, Tee, Valve
from fuelsys.model.stated.design import Design, Line


def leading_on(design: Design) -> tuple[Design, tuple[str, ...]]:
    """The same with these lines as feed lines, drawn from their outlet to the feed; and what is to be said of it."""
    steps = _steps_to_feed(design)
    outlets = {f"{tank.name}.{one.name}" for tank in design.tank for one in tank.outlet}
    begun = set(outlets)
    found: dict[str, Line] = {}
    while more := dict(_led(design, steps, begun, found)):
        found |= more
        begun |= {one.to_port for one in more.values()}
    lines = tuple(found.get(one.name, one) for one in design.line)
    return (design.model_copy(update={"line": lines}) if found else design), _said(found)


def _said(found: Iterable[str]) -> tuple[str, ...]:
    names = ", ".join(found)
    words = f"Called interconnects, counted as feed lines since they lead from an outlet to the engine's feed: {names}."
    return (words,) if names else ()


def _led(design: Design, steps: dict[str, int], begun: set[str], known: dict[str, Line]) -> Iterator[tuple[str, Line]]:
    """Interconnect lines that begin where an outlet's fuel comes to, and lead towards a feed, as feed lines."""
    far = len(steps)
    for one in design.line:
        if one.kind != "interconnect" or one.name in known:
            continue
        for start, end in ((one.from_port, one.to_port), (one.to_port, one.from_port)):
            if start in begun and end in steps and steps[end] < steps.get(start, far):
                turned = start != one.from_port
                path_m = one.path_m[::-1] if turned else one.path_m
                given = {"kind": "feed", "from_port": start, "to_port": end, "path_m": path_m}
                yield one.name, one.model_copy(update=given)


def _steps_to_feed(design: Design) -> dict[str, int]:
    """How many interconnect lines lie between each component and one from which the feed goes on, of those that they pass."""
    parts = {one.name: one for one in design.component}
    goes_on = {one.from_port for one in design.line if one.kind == "feed"}
    steps = {name: 0 for name, part in parts.items() if _passes(part) and (name in goes_on or isinstance(part, Engine))}
    last = set(steps)
    while last:
        pairs = [(one.from_port, one.to_port) for one in design.line if one.kind == "interconnect"]
        ahead = {b for pair in pairs for a, b in (pair, pair[::-1]) if a in last and not isinstance(parts[a], Engine)}
        last = {name for name in ahead if name in parts and name not in steps and _passes(parts[name])}
        steps |= dict.fromkeys(last, max(steps.values()) + 1)
    return steps


def _passes(part: Component) -> bool:
    return isinstance(part, (Tee, Valve, Filter, Engine))
