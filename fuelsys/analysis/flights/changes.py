"""The cheapest change of a design that tells a failure in time, or keeps the engine running: found by flying the changed design.

Kinds are tried from the cheapest on (common practice, no source): a mark raised, one more switch, a vent line, a check valve, a
second pump; of a vent that is blocked, vent lines come first, since they leave the engine its fuel; of lamps that are dark for want
of electric power, a battery of their own. What is added by lines or
pumps must leave the flight with nothing wrong as long as it is. Where no change alone helps, pairs are tried.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field

from fuelsys.analysis.flights import marks, piped
from fuelsys.analysis.flights.cases import Case, again
from fuelsys.analysis.flights.events import COARSE
from fuelsys.analysis.flights.fly import fly
from fuelsys.analysis.flights.setting import World
from fuelsys.analysis.lines.flow import UNSTEADY
from fuelsys.errors import QuestionError
from fuelsys.kernels.steady import NotSteadyError
from fuelsys.model.built.ends import ComponentEnd
from fuelsys.model.built.layout import Layout
from fuelsys.model.found.fly import Change, Failing, Flown
from fuelsys.model.words import Words

_SHORTER_S = 1.0  # by which a changed design may fly less: rounding
_MARK, _SWITCH = "a higher mark", "one more switch"
_LAMPS = (_MARK, _SWITCH)
_AND = " and "
MOST_PAIRS = 12  # of changes that are flown for a failure which none alone catches; chosen here, no source
# The change, then what was tried: kinds, what could not be flown, how many pairs.
Found = tuple[Change | None, tuple[str, ...], tuple[str, ...], int]


def wanting(fault: QuestionError | NotSteadyError) -> str:
    """What a flight needs that could not be computed, and what to do about it."""
    if isinstance(fault, NotSteadyError):
        return UNSTEADY
    return f"{fault.needs or f'this put right: {fault.found}'}. {fault.mend}".rstrip(".")


@dataclass
class _Tried:
    """What was flown and does not help: changed designs with their flights, kinds of change, pairs; what could not be flown."""

    short: list[tuple[str, Words, World, Flown]] = field(default_factory=list)
    kinds: dict[str, None] = field(default_factory=dict)
    unflown: dict[str, str] = field(default_factory=dict)
    pairs: int = 0


def cheapest(world: World, case: Case, flown: Flown, from_s: float, usual: Flown) -> Found:
    """The cheapest change with which a failure gives enough of a warning, and what was tried: one change, where none does two.

    usual is the flight with nothing wrong, of the design as it is.
    """
    tried = _Tried()
    found = next(_worth(_trials(world, case, flown, from_s), case, from_s, usual, tried), None)
    if found is None and case.late and tried.short:  # it begins sooner now: once more from what that shows
        found = next(_worth(_trials(world, case, tried.short[0][3], from_s), case, from_s, usual, tried), None)
    if found is None:
        found = next(_pairs(case, from_s, usual, tried), None)
    kinds = tuple(one for one in tried.kinds if found is None or one not in found[0])
    return found[1] if found else None, kinds, tuple(tried.unflown.values()), tried.pairs


def _worth(
    trials: Iterable[tuple[str, Words, World]], case: Case, from_s: float, usual: Flown, tried: _Tried
) -> Iterator[tuple[str, Change]]:
    """Of changed designs those that are worth it, with their kind; each as it is flown."""
    for kind, words, changed in trials:
        try:
            begins_s = case.begins_s(fly(changed, pace=COARSE), from_s) if case.late else from_s
            proof = Failing(case.upset.words, fly(changed, again(changed, case), begins_s, COARSE))
            lamp = kind in _LAMPS
            worth = not proof.marked and (lamp or not _flies_less(changed, usual))
        except (QuestionError, NotSteadyError) as fault:  # a design that cannot be flown proves nothing
            tried.unflown.setdefault(kind, f"{kind} (needs {wanting(fault)})")
            continue
        if worth:
            yield kind, Change(words, proof, lamp)
        elif proof.flown:
            tried.kinds |= {} if _AND in kind else {kind: None}
            tried.short.append((kind, words, changed, proof.flown))


def _pairs(case: Case, from_s: float, usual: Flown, tried: _Tried) -> Iterator[tuple[str, Change]]:
    """The same with two changes, but for two lamps: the second is sought on the flight that the first gives."""
    for first, words, world, flown in tuple(tried.short):
        for second, more, changed in _trials(world, case, flown, from_s):
            if (first in _LAMPS and second in _LAMPS) or tried.pairs >= MOST_PAIRS:
                continue
            tried.pairs += 1
            both = _AND.join((first, second))
            yield from _worth([(both, (*words, _AND, *more), changed)], case, from_s, usual, tried)


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
    dark = case.dark and not world.own_power
    powered = World(layout, list(world.notes), dict(world.standings), own_power=True)
    battery = ("a battery for the lamps", [(("a battery of its own for the lamps",), powered)])
    for kind, found in [*([vents] if blocked else []), *([battery] if dark else lit), *piping]:
        for words, changed in found:
            yield kind, words, changed


def _worlds(world: World, found: Iterable[tuple[Words, Layout]]) -> Iterator[tuple[Words, World]]:
    for words, layout in found:
        yield words, World(layout, list(world.notes), own_power=world.own_power)
