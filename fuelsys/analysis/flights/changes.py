"""The cheapest change of a design that tells a failure in time, or keeps the engine running: found by flying the changed design.

Kinds are tried from the cheapest on (common practice, no source): a mark raised, one more switch, a vent line, a check valve, a
second pump; of a vent that is blocked, vent lines come first, since they leave the engine its fuel. What is added by lines or
pumps must leave the flight with nothing wrong as long as it is.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from fuelsys.analysis.flights import marks, piped
from fuelsys.analysis.flights.cases import Case, again
from fuelsys.analysis.flights.fly import COARSE, fly
from fuelsys.analysis.flights.setting import World
from fuelsys.errors import QuestionError
from fuelsys.kernels.steady import NotSteadyError
from fuelsys.model.built.ends import ComponentEnd
from fuelsys.model.built.layout import Layout
from fuelsys.model.found.fly import Change, Failing, Flown
from fuelsys.model.words import Words

_SHORTER_S = 1.0  # by which a changed design may fly less: rounding
_MARK, _SWITCH = "a higher mark", "one more switch"


def cheapest(world: World, case: Case, flown: Flown, from_s: float) -> tuple[Change | None, tuple[str, ...]]:
    """The first change with which a failure gives enough of a warning; and the kinds that were tried and do not."""
    tried: dict[str, None] = {}
    usual: list[Flown] = []
    for kind, words, changed in _trials(world, case, flown, from_s):
        try:
            proof = Failing(case.upset.words, fly(changed, again(changed, case), from_s, COARSE))
            lamp = kind in (_MARK, _SWITCH)
            if not proof.marked and (lamp or not _flies_less(world, changed, usual)):
                return Change(words, proof, lamp), tuple(one for one in tried if one != kind)
        except (QuestionError, NotSteadyError):  # a design that cannot be flown proves nothing: the next one is tried
            pass
        tried[kind] = None
    return None, tuple(tried)


def _flies_less(world: World, changed: World, usual: list[Flown]) -> bool:
    """Whether the changed design with nothing wrong stops before the design as it is."""
    if not usual:
        usual.append(fly(world, pace=COARSE))
    now = fly(changed, pace=COARSE)
    return bool(now.stopped) and now.end_s < usual[0].end_s - _SHORTER_S


def _trials(world: World, case: Case, flown: Flown, from_s: float) -> Iterator[tuple[str, Words, World]]:
    """Changed designs by their kind, in words, from the cheapest on."""
    layout, upset = world.layout, case.upset
    blocked = upset.blocked | {
        line.name for name in upset.shut for line in layout.network.lines_at(ComponentEnd(name), "vent")
    }
    vents = ("a vent line", _worlds(world, piped.vents(layout, blocked, world.airless(frozenset(), {}, blocked))))
    lit = [(_MARK, marks.raised(world, flown, upset.stuck)), (_SWITCH, marks.one_more(world, flown))]
    piping = [
        ("a check valve", _worlds(world, piped.check_valves(layout, flown, from_s))),
        ("a second pump", _worlds(world, piped.pumps(layout, upset.stopped))),
    ]
    for kind, found in [*([vents] if blocked else []), *([] if case.dark else lit), *piping]:
        for words, changed in found:
            yield kind, words, changed


def _worlds(world: World, found: Iterable[tuple[Words, Layout]]) -> Iterator[tuple[Words, World]]:
    for words, layout in found:
        yield words, World(layout, list(world.notes))
