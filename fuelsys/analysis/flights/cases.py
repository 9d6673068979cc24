"""What may go wrong on a flight: one thing, or two by one cause; and the same on a design that was changed."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from itertools import combinations

from fuelsys.analysis.flights.plumbed import tanks_behind
from fuelsys.analysis.flights.setting import Upset, World
from fuelsys.analysis.lines.airing import settings_of, shut_in
from fuelsys.analysis.lines.hydraulics import element_of
from fuelsys.model.built.ends import ComponentEnd, PlacedLine
from fuelsys.model.built.network import Network
from fuelsys.model.found.fly import ENOUGH_S, Flown
from fuelsys.model.stated.components import CheckValve, Filter, Pump, Selector, Valve
from fuelsys.model.stated.fittings import Outlet

BEFORE_S = 1.0
LESS_LOADED = 0.03  # how much less than dipped is in the tanks; common practice, no source


@dataclass(frozen=True)
class Case:
    """One thing that may go wrong; needs says what it cannot be computed without.

    dark says that no lamp lights, shuts that it is what shuts the fuel off, or that
    a tank gives nothing: where that is the only way, the engine stops as it must. cause: what commonly brings it about.
    late: it begins at the worst moment (`late_s`), or so long after it. stated: the design says that it happens.
    """

    upset: Upset
    needs: str = ""
    dark: bool = False
    shuts: bool = False
    cause: str = ""
    late: bool = False
    after_s: float = 0.0
    stated: bool = True

    def begins_s(self, usual: Flown, from_s: float) -> float:
        """When it begins on a flight that is otherwise the usual one, from_s being asked for."""
        return max(from_s, late_s(usual) + self.after_s) if self.late else from_s


def late_s(usual: Flown) -> float:
    """The last moment without a warning that can be counted on: then an attitude takes most of what the lamp promises.

    A second before the first lamp is sure to light; where none is, ten minutes before the flight ends.
    """
    sure = [one.late_s for one in usual.warnings if one.late_s is not None]
    return max(0.0, min(sure) - BEFORE_S if sure else usual.end_s - ENOUGH_S)


def again(world: World, case: Case) -> Upset:
    """The same thing wrong with a design that was changed."""
    if not case.dark:
        return case.upset
    return replace(case.upset, stuck=frozenset() if world.own_power else _all_lamps(world))


def _all_lamps(world: World) -> frozenset[tuple[str, str]]:
    return frozenset((tank.name, one.name) for tank in world.layout.tanks for one in tank.design.switch)


def cases(world: World) -> list[Case]:
    """All that may go wrong with a design, one at a time."""
    kinds = (_pumps, _valves, _selectors, _leaks, _tanks, _vents, _returns, _blocked, _lamps)
    found = [case for kind in kinds for case in kind(world)]
    less = f"{LESS_LOADED:.0%} less fuel than dipped".replace("%", " %")
    return [*found, Case(Upset(less, loaded=1.0 - LESS_LOADED))]


def _pumps(world: World) -> Iterator[Case]:
    nodes = world.layout.network.nodes
    on_way = {end for way in world.layout.network.ways("feed") for end in way.through}
    for end, part in nodes.items():
        if not isinstance(part, Pump) or end not in on_way:
            continue
        needs = [f"the curve of {part.name}"] if part.curve is None else []
        needs += ["the engine's inlet_pressure"] if world.engine_part.inlet_pressure_pa is None else []
        yield Case(Upset(f"{part.name} stands still", stopped=frozenset([part.name])), " and ".join(needs))


def _valves(world: World) -> Iterator[Case]:
    for part in world.layout.network.nodes.values():
        if isinstance(part, Valve):
            feeds = bool(world.layout.network.lines_at(ComponentEnd(part.name), "feed"))
            yield Case(Upset(f"{part.name} shut", shut=frozenset([part.name])), shuts=feeds)


def _selectors(world: World) -> Iterator[Case]:
    network = world.layout.network
    for end, part in network.nodes.items():
        if not isinstance(part, Selector):
            continue
        behind = [tanks_behind(network, line) for line in network.lines_at(end, "feed") if line.end == end]
        tanks = [name for name in world.names if any(name in some for some in behind)]
        for place in [*(tanks if len(tanks) > 1 else []), *(["off"] if network.lines_at(end, "feed") else [])]:
            yield Case(Upset(f"{part.name} on {place} throughout", selectors={part.name: place}), shuts=place == "off")


def _leaks(world: World) -> Iterator[Case]:
    """What shuts a line somewhere on the flight, or lets fuel pass one way only, and leaks."""
    network, segments = world.layout.network, world.segments()
    shut = {name for segment in segments for name in segment.shut}
    turned = {name for name, places in world.places.items() if len(places) > 1}
    turned |= {name for segment in segments for name, to in segment.selectors.items() if to != "both"}
    for end, part in network.nodes.items():
        lines = [line for kind in ("feed", "interconnect") for line in network.lines_at(end, kind)]
        several = isinstance(part, Selector) and part.name in turned and sum(line.end == end for line in lines) > 1
        if lines and (several or (isinstance(part, Valve) and part.name in shut) or isinstance(part, CheckValve)):
            yield Case(Upset(f"{part.name} leaks", leaking=frozenset([part.name])))


def _tanks(world: World) -> Iterator[Case]:
    starts = {way.start for way in world.layout.network.ways("feed")}
    for name in world.names:
        if any(end.tank == name for end in starts):
            yield Case(Upset(f"{name} does not feed", dry=frozenset([name])), shuts=True)


def _vents(world: World) -> Iterator[Case]:
    """Each vent line blocked that some tank has no other air than by; and each setting of a selector in vent lines."""
    network = world.layout.network
    always, outer = shut_in(network, frozenset()), _outer(network)
    for line in network.edges:
        if line.kind == "vent" and shut_in(network, frozenset([line.name])) != always:
            ice = "ice over its open end does it" if line in outer else ""
            yield Case(Upset(f"{line.name} blocked", blocked=frozenset([line.name])), cause=ice)
    for part in network.nodes.values():
        for words, shut in settings_of(network, part) if isinstance(part, Selector) else []:
            yield Case(Upset(words, blocked=shut))


def together(world: World) -> list[Case]:
    """What one cause may bring about at once: ice two vents, no electric power its pumps and all lamps, dirt two strainers."""
    return [*_iced(world), *_powerless(world), *_dirty(world)]


def _outer(network: Network) -> list[PlacedLine]:
    """Vent lines with an end in the open, which ice can close."""
    return [one for one in network.edges if one.kind == "vent" and any(map(network.overboard, (one.start, one.end)))]


def _iced(world: World) -> Iterator[Case]:
    network = world.layout.network
    for pair in combinations(_outer(network), 2):
        both = frozenset(line.name for line in pair)
        if all(shut_in(network, both) != shut_in(network, frozenset([line.name])) for line in pair):
            yield Case(Upset(f"ice: {pair[0].name} and {pair[1].name} blocked", blocked=both))


def _powerless(world: World) -> Iterator[Case]:
    nodes = world.layout.network.nodes
    pumps = [case for case in _pumps(world) if case.upset.stopped <= _electric(nodes.values())]
    lamps = frozenset[tuple[str, str]]() if world.own_power else _all_lamps(world)
    if not pumps or (len(pumps) < 2 and not lamps):
        return
    stopped = frozenset[str]().union(*(case.upset.stopped for case in pumps))
    needs = " and ".join(dict.fromkeys(case.needs for case in pumps if case.needs))
    words = f"no electric power: {' and '.join(sorted(stopped))} {'stand' if len(stopped) > 1 else 'stands'} still"
    words += ", no lamp lights" if lamps else ""
    yield Case(Upset(words, stopped=stopped, stuck=lamps), needs, dark=bool(lamps))


def _electric(parts: Iterable[object]) -> frozenset[str]:
    return frozenset(part.name for part in parts if isinstance(part, Pump) and part.driven == "electric")


def _dirty(world: World) -> Iterator[Case]:
    for one, two in combinations(_blocked(world), 2):
        first = one.upset.words.removesuffix(" half blocked")
        needs = " and ".join(case.needs for case in (one, two) if case.needs)
        yield Case(Upset(f"dirt: {first} and {two.upset.words}", half=one.upset.half | two.upset.half), needs)


def _returns(world: World) -> Iterator[Case]:
    tanks = sorted(world.layout.network.return_tanks(world.engine))
    for name in tanks if len(tanks) > 1 else []:
        yield Case(Upset(f"return into {name} throughout", returns_to=name))


def _blocked(world: World) -> Iterator[Case]:
    network = world.layout.network
    on_way = {end for way in network.ways("feed") for end in (*way.through, way.start)}
    for end, part in network.nodes.items():
        if end not in on_way:
            continue
        if isinstance(part, Filter):
            needs = "" if element_of(part) is not None else f"drop and drop_at of {part.name}"
            yield Case(Upset(f"{part.name} half blocked", half=frozenset([str(end)])), needs)
        if isinstance(part, Outlet) and part.strainer:
            needs = "" if part.strainer.clear_area_m2 else f"the strainer's clear_area at {end}"
            yield Case(Upset(f"strainer at {end} half blocked", half=frozenset([str(end)])), needs)


def _lamps(world: World) -> Iterator[Case]:
    for tank in world.layout.tanks:
        for switch in tank.design.switch:
            stuck = frozenset([(tank.name, switch.name)])
            yield Case(Upset(f'{tank.name} lamp "{switch.name}" dark, or lit throughout', stuck=stuck))
