"""The cheapest change of a design that tells a failure in time, or keeps the engine running: found by flying the changed design.

Kinds are tried from the cheapest on (common practice, no source): a mark raised, one more switch, a vent line, a check valve, a
second pump; of a vent that is blocked, vent lines come first, since they leave the engine its fuel. What is added by lines or
pumps must leave the flight with nothing wrong as long as it is.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from fuelsys.analysis.flights import marks, piped
from fuelsys.analysis.flights.cases import Case, again
from fuelsys.analysis.flights.events import COARSE
from fuelsys.analysis.flights.fly import fly
from fuelsys.analysis.flights.setting import World
from fuelsys.errors import QuestionError
from fuelsys.kernels.steady import NotSteadyError
from fuelsys.model.built.ends import ComponentEnd
from fuelsys.model.built.layout import Layout
from fuelsys.model.found.fly import Change, Failing, Flown
from fuelsys.model.words import Words

_SHORTER_S = 1.0  # by which a changed design may fly less: rounding
_MARK, _SWITCH = "a higher mark", "one more switch"
_UNSTEADY = (
    "the solver to find a flow, and it found none: that is a fault of this program, not of your file; please report it"
)
Found = tuple[Change | None, tuple[str, ...], tuple[str, ...]]


def wanting(fault: QuestionError | NotSteadyError) -> str:
    """What a flight needs that could not be computed, and what to do about it."""
    if isinstance(fault, NotSteadyError):
        return _UNSTEADY
    return f"{fault.needs or f'this put right: {fault.found}'}. {fault.mend}".rstrip(".")


def cheapest(world: World, case: Case, flown: Flown, from_s: float, usual: Flown) -> Found:
    """The first change with which a failure gives enough of a warning; the kinds that were flown and do not; what was not flown.

    usual is the flight with nothing wrong, of the design as it is.
    """
    tried: dict[str, None] = {}
    unflown: dict[str, str] = {}
    for kind, words, changed in _trials(world, case, flown, from_s):
        try:
            begins_s = case.begins_s(fly(changed, pace=COARSE), from_s) if case.late else from_s
            proof = Failing(case.upset.words, fly(changed, again(changed, case), begins_s, COARSE))
            lamp = kind in (_MARK, _SWITCH)
            worth = not proof.marked and (lamp or not _flies_less(changed, usual))
        except (QuestionError, NotSteadyError) as fault:  # a design that cannot be flown proves nothing
            unflown.setdefault(kind, f"{kind} (needs {wanting(fault)})")
            continue
        if worth:
            return Change(words, proof, lamp), tuple(one for one in tried if one != kind), tuple(unflown.values())
        tried[kind] = None
    return None, tuple(tried), tuple(unflown.values())


def _flies_less(changed: World, usual: Flown) -> bool:
    """Whether the changed design with nothing wrong stops before the design as it is."""
    now = fly(changed, pace=COARSE)
    return bool(now.stopped) and now.end_s < usual.end_s - _SHORTER_S


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
