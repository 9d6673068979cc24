"""The cheapest change of a design that tells a failure in time, or keeps the engine running: found by flying the changed design.

Kinds are tried from the cheapest on (common practice, no source): a mark raised, one more switch, a vent line, a check valve, a
second pump; of a vent that is blocked, vent lines come first, since they leave the engine its fuel. What is added by lines or
pumps must leave the flight with nothing wrong as long as it is.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass

from fuelsys.analysis.flights import marks, piped
from fuelsys.analysis.flights.cases import Case, again
from fuelsys.analysis.flights.flight import COARSE, fly
from fuelsys.analysis.flights.setting import World
from fuelsys.errors import QuestionError
from fuelsys.kernels.steady import NotSteadyError
from fuelsys.model.found.flying import Change, Failing, Flown
from fuelsys.model.words import Words

_SHORTER_S = 1.0  # by which a changed design may fly less: rounding


@dataclass(frozen=True)
class Trial:
    """A changed design: of which kind, in words; lines says that what flows where may have changed."""

    kind: str
    words: Words
    world: World
    lines: bool = True


Trials = Callable[[World, Case, Failing, float], Iterator[Trial]]


def cheapest(world: World, case: Case, failing: Failing, from_s: float) -> tuple[Change | None, tuple[str, ...]]:
    """The first change with which a failure gives enough of a warning; and the kinds that were tried before and do not."""
    tried: list[str] = []
    usual: list[Flown] = []
    for trial in _trials(world, case, failing, from_s):
        tried.append(trial.kind)
        try:
            proof = Failing(case.upset.words, fly(trial.world, again(trial.world, case), from_s, COARSE))
            if proof.marked or (trial.lines and _flies_less(world, trial.world, usual)):
                continue
        except (QuestionError, NotSteadyError):  # a design that cannot be flown proves nothing
            continue
        return Change(trial.words, proof), tuple(dict.fromkeys(one for one in tried if one != trial.kind))
    return None, tuple(dict.fromkeys(tried))


def _flies_less(world: World, changed: World, usual: list[Flown]) -> bool:
    """Whether the changed design with nothing wrong stops before the design as it is."""
    if not usual:
        usual.append(fly(world, pace=COARSE))
    now = fly(changed, pace=COARSE)
    return bool(now.stopped) and now.end_s < usual[0].end_s - _SHORTER_S


def _trials(world: World, case: Case, failing: Failing, from_s: float) -> Iterator[Trial]:
    kinds: list[Trials] = [_raised, _switches, _check_valves, _pumps]
    for kind in [_vents, *kinds] if case.blocked else kinds:
        yield from kind(world, case, failing, from_s)


def _raised(world: World, case: Case, failing: Failing, from_s: float) -> Iterator[Trial]:
    if failing.flown is not None and not case.dark:
        for words, changed in marks.raised(world, failing.flown, case.upset.stuck):
            yield Trial("a higher mark", words, changed, lines=False)


def _switches(world: World, case: Case, failing: Failing, from_s: float) -> Iterator[Trial]:
    if failing.flown is not None and not case.dark:
        for words, changed in marks.one_more(world, failing.flown):
            yield Trial("one more switch", words, changed, lines=False)


def _vents(world: World, case: Case, failing: Failing, from_s: float) -> Iterator[Trial]:
    for words, layout in piped.vents(world.layout, case.blocked, case.upset.airless):
        yield Trial("a vent line", words, World(layout, list(world.notes)))


def _check_valves(world: World, case: Case, failing: Failing, from_s: float) -> Iterator[Trial]:
    if failing.flown is not None:
        for words, layout in piped.check_valves(world.layout, failing.flown, from_s):
            yield Trial("a check valve", words, World(layout, list(world.notes)))


def _pumps(world: World, case: Case, failing: Failing, from_s: float) -> Iterator[Trial]:
    for words, layout in piped.pumps(world.layout, case.upset.stopped):
        yield Trial("a second pump", words, World(layout, list(world.notes)))
