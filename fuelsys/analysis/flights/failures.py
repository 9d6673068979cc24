"""A flight with one thing wrong, or two by one cause: does a lamp tell it, and how long before the engine stops."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass
from itertools import combinations

from fuelsys.analysis.flights.fly import fly
from fuelsys.analysis.flights.plumbed import tanks_behind
from fuelsys.analysis.flights.setting import Upset, World
from fuelsys.analysis.lines.airing import settings_of, shut_in
from fuelsys.analysis.lines.hydraulics import element_of
from fuelsys.errors import QuestionError
from fuelsys.kernels.steady import NotSteadyError
from fuelsys.model.found.fly import Failing
from fuelsys.model.stated.components import Filter, Pump, Selector, Valve
from fuelsys.model.stated.fittings import Outlet

MOST_TOGETHER = 30  # pairs that are flown; the rest is counted and said
LESS_LOADED = 0.03  # how much less than dipped is in the tanks; common practice, no source


@dataclass(frozen=True)
class Case:
    """One thing that may go wrong; needs says what it cannot be computed without."""

    upset: Upset
    needs: str = ""


def cases(world: World) -> list[Case]:
    """All that may go wrong with a design, one at a time."""
    kinds = (_pumps, _valves, _selectors, _tanks, _vents, _returns, _blocked, _lamps)
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
            yield Case(Upset(f"{part.name} shut", shut=frozenset([part.name])))


def _selectors(world: World) -> Iterator[Case]:
    network = world.layout.network
    for end, part in network.nodes.items():
        if not isinstance(part, Selector):
            continue
        behind = [tanks_behind(network, line) for line in network.lines_at(end, "feed") if line.end == end]
        tanks = [name for name in world.names if any(name in some for some in behind)]
        for place in [*(tanks if len(tanks) > 1 else []), *(["off"] if network.lines_at(end, "feed") else [])]:
            yield Case(Upset(f"{part.name} on {place} throughout", selectors={part.name: place}))


def _tanks(world: World) -> Iterator[Case]:
    starts = {way.start for way in world.layout.network.ways("feed")}
    for name in world.names:
        if any(end.tank == name for end in starts):
            yield Case(Upset(f"{name} does not feed", dry=frozenset([name])))


def _vents(world: World) -> Iterator[Case]:
    """Each vent line blocked that some tank has no other air than by; and each setting of a selector in vent lines."""
    network = world.layout.network
    always = shut_in(network, frozenset())
    for line in network.edges:
        if line.kind == "vent" and shut_in(network, frozenset([line.name])) != always:
            yield Case(Upset(f"{line.name} blocked", blocked=frozenset([line.name])))
    for part in network.nodes.values():
        for words, shut in settings_of(network, part) if isinstance(part, Selector) else []:
            yield Case(Upset(words, blocked=shut))


def together(world: World) -> list[Case]:
    """What one cause may bring about at once: ice two vents, no electric power its pumps and all lamps, dirt two strainers."""
    return [*_iced(world), *_powerless(world), *_dirty(world)]


def _iced(world: World) -> Iterator[Case]:
    network = world.layout.network
    outer = [one for one in network.edges if one.kind == "vent" and any(map(network.overboard, (one.start, one.end)))]
    for pair in combinations(outer, 2):
        both = frozenset(line.name for line in pair)
        if all(shut_in(network, both) != shut_in(network, frozenset([line.name])) for line in pair):
            yield Case(Upset(f"ice: {pair[0].name} and {pair[1].name} blocked", blocked=both))


def _powerless(world: World) -> Iterator[Case]:
    nodes = world.layout.network.nodes
    pumps = [case for case in _pumps(world) if case.upset.stopped <= _electric(nodes.values())]
    lamps = frozenset((tank.name, one.name) for tank in world.layout.tanks for one in tank.design.switch)
    if not pumps or (len(pumps) < 2 and not lamps):
        return
    stopped = frozenset[str]().union(*(case.upset.stopped for case in pumps))
    needs = " and ".join(dict.fromkeys(case.needs for case in pumps if case.needs))
    words = f"no electric power: {' and '.join(sorted(stopped))} {'stand' if len(stopped) > 1 else 'stands'} still"
    yield Case(Upset(f"{words}, no lamp lights", stopped=stopped, stuck=lamps), needs)


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
            yield Case(Upset(f'lamp "{switch.name}" of {tank.name} never lights', stuck=stuck))
            yield Case(Upset(f'lamp "{switch.name}" of {tank.name} is always lit', stuck=stuck))


def failures(
    world: World, from_s: float = 0.0, progress: Callable[[int, int], None] = lambda _done, _of: None
) -> list[Failing]:
    """The flight with each thing wrong from a moment on, worst first: those that stop the engine with the least warning."""
    return _all_flown(world, cases(world), from_s, progress)


def failures_together(
    world: World, from_s: float = 0.0, progress: Callable[[int, int], None] = lambda _done, _of: None
) -> tuple[list[Failing], int]:
    """The same with two things wrong by one cause, and how many more of these pairs there are than are flown."""
    asked = together(world)
    return _all_flown(world, asked[:MOST_TOGETHER], from_s, progress), max(0, len(asked) - MOST_TOGETHER)


def _all_flown(
    world: World, asked: Sequence[Case], from_s: float, progress: Callable[[int, int], None]
) -> list[Failing]:
    found = []
    for done, case in enumerate(asked):
        progress(done, len(asked))
        found.append(_flown(world, case, from_s))
    return sorted(found, key=_badness)


def _flown(world: World, case: Case, from_s: float) -> Failing:
    if case.needs:
        return Failing(case.upset.words, None, case.needs)
    try:
        return Failing(case.upset.words, fly(world, case.upset, from_s))
    except QuestionError as fault:
        return Failing(case.upset.words, None, fault.found)
    except NotSteadyError:
        return Failing(
            case.upset.words,
            None,
            "the solver to find a flow, and it found none: that is a fault of this program, not of your file; please report it",
        )


def _badness(one: Failing) -> tuple[int, float, float]:
    if one.flown is None:
        return (3, 0.0, 0.0)
    if not one.flown.stopped:
        return (2, 0.0, 0.0)
    return (1, round(one.before_s / 6.0), one.flown.end_s) if one.before_s is not None else (0, 0.0, one.flown.end_s)
