"""The flight with one thing wrong, or two by one cause: does a lamp tell it, how long before, and what change would."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace

from fuelsys.analysis.flights.cases import Case, cases, together
from fuelsys.analysis.flights.changes import cheapest, wanting
from fuelsys.analysis.flights.events import COARSE
from fuelsys.analysis.flights.fly import fly
from fuelsys.analysis.flights.held import held
from fuelsys.analysis.flights.setting import World
from fuelsys.errors import QuestionError
from fuelsys.kernels.steady import NotSteadyError
from fuelsys.model.built.layout import Layout
from fuelsys.model.found.fly import Failing, Failures, Flown
from fuelsys.model.words import Quantity, Words

MOST_TOGETHER = 30  # pairs that are flown; the rest is counted and said
_AT_ONCE_S = 1.0
Told = Callable[[int, int], None]


def _silent(_done: int, _of: int) -> None:
    """Tells nobody."""


def failures(world: World, usual: Flown, from_s: float = 0.0, progress: Told = _silent) -> list[Failing]:
    """The flight with each thing wrong from a moment on, worst first: those that stop the engine with the least warning.

    usual is the flight with nothing wrong.
    """
    return _all_flown(world, usual, [*cases(world), *held(world, from_s)], from_s, progress)


def failures_together(
    world: World, usual: Flown, from_s: float = 0.0, progress: Told = _silent
) -> tuple[list[Failing], int]:
    """The same with two things wrong by one cause, and how many more of these pairs there are than are flown."""
    asked = together(world)
    return _all_flown(world, usual, asked[:MOST_TOGETHER], from_s, progress), max(0, len(asked) - MOST_TOGETHER)


def all_failures(layout: Layout, progress: Told = _silent) -> Failures:
    """The flight of a design with nothing wrong, with each single thing and each pair by one cause; or why it cannot be flown."""
    basis: Words = ("the flight stated",) if layout.design.flight else _default(layout)
    try:
        world = World.of(layout)
        usual = fly(world)
        single = tuple(failures(world, usual, 0.0, progress))
        both, more = failures_together(world, usual, 0.0, progress)
        return Failures(basis, usual, single, together=tuple(both), more=more)
    except (QuestionError, NotSteadyError) as fault:
        return Failures(basis, needs=wanting(fault))


def _default(layout: Layout) -> Words:
    """The flight that is flown where none is stated."""
    flow = Quantity("flow", (layout.design.reserve_flow_m3_s,))
    return ("no flight is stated: from full, at ", layout.design.normal("flight").text, " and ", flow)


def _all_flown(world: World, usual: Flown, asked: Sequence[Case], from_s: float, progress: Told) -> list[Failing]:
    found = list[Failing]()
    for done, case in enumerate(asked):
        progress(done, len(asked))
        dark = from_s <= 0.0 and case.upset.only_lamps
        one = _without(usual, case) if dark else _flown(world, case, case.begins_s(usual, from_s))
        found.append(_mended(world, usual, case, one, from_s))
    return sorted(found, key=_badness)


def _mended(world: World, usual: Flown, case: Case, one: Failing, from_s: float) -> Failing:
    """With the change that catches it, where it is marked."""
    if one.flown is None or not one.marked:
        return one
    change, tried, unflown, pairs = cheapest(world, case, one.flown, from_s, usual)
    return replace(one, change=change, tried=tried, unflown=unflown, pairs=pairs)


def _without(usual: Flown, case: Case) -> Failing:
    """The flight with nothing wrong, in which some lamps tell nothing: what is in the tanks is the same."""
    told = [one for one in usual.happenings if (one.tank, one.detail) not in case.upset.stuck]
    warned = [one for one in usual.warned if (one.tank, one.switch) not in case.upset.stuck]
    flown = replace(usual, happenings=tuple(told), warned=tuple(warned))
    return Failing(case.upset.words, flown, at_once=_stops_at_once(flown, 0.0), dark=case.dark)


def _flown(world: World, case: Case, from_s: float) -> Failing:
    words = case.upset.words
    if case.needs:
        return Failing(words, None, case.needs)
    try:
        found = fly(world, case.upset, from_s, COARSE)
    except (QuestionError, NotSteadyError) as fault:
        return Failing(words, None, wanting(fault))
    held = case.upset.attitude is not None
    at_once = _stops_at_once(found, from_s) and not case.late  # what is late, a higher mark could have told
    meant, stated = at_once and case.shuts, case.stated
    return Failing(
        words, found, at_once=at_once, meant=meant, cause=case.cause, stated=stated, held=held, dark=case.dark
    )


def _stops_at_once(flown: Flown, from_s: float) -> bool:
    return bool(flown.stopped) and from_s <= flown.end_s <= from_s + _AT_ONCE_S


def _badness(one: Failing) -> tuple[int, float, float]:
    if one.flown is None:
        return (3, 0.0, 0.0)
    if not one.flown.stopped:
        return (2, 0.0, 0.0)
    return (1, round(one.least_s / 6.0), one.flown.end_s) if one.least_s is not None else (0, 0.0, one.flown.end_s)
