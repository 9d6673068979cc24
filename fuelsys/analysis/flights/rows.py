"""What joined tanks hold, of a total, when an attitude is turned into that is held for a time: out of what, and after which rows.

Out of: one level at each flight attitude of which no time is stated. After: every row of attitudes that are held for a time, begun out
of those and flown without a pause, none twice running, of up to thirteen (fewer where more than four are held for a time); the last counts
where more would leave less.
Such rows are not listed but grown by a turn at a time: into each attitude out of the worst that rows end with in the others, with as
much aboard as the turns to come burn on average. Of two tanks, let x be what one holds of a total. At an attitude x runs towards the
one level there, never past it, and the more of two x stays the more (what runs depends on x alone, and two courses of one equation do
not cross). So the least x, or where both stand before the engine the least of each, is the worst to turn out of and all that has to be
kept, each attitude for its whole time. Of more than two tanks the least of each set of them is kept that has one before the engine,
without that proof. Where a row ends in air, it does not go on, and that attitude asks for more than was aboard; where it cannot be
flown, the one level that it would come to counts, and what it began with.
No flight is needed where the tanks before the engine outlast the attitude with the least that one level leaves them at any of all
those attitudes, less all that is burnt in the row: below that least, fuel runs into them, if at all.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from itertools import combinations

from fuelsys.analysis.flights.lasting import Joint, Quantities, Rows
from fuelsys.errors import QuestionError
from fuelsys.kernels.steady import NotSteadyError
from fuelsys.model.found.exchange import Lasting
from fuelsys.model.stated.attitude import Attitude

_TURNS = 13  # chosen here, no source
_TURNS_IN_ALL = 52  # of all attitudes, for each set of tanks: chosen here, no source
_MOST_SETS = 4  # tanks of which all sets are kept: 15; chosen here, no source


def starts(joint: Joint, total_m3: float) -> list[dict[str, float]]:
    """What each holds of a total at one level, at each flight attitude held for ever; only the worst where it is known which."""
    found = [joint.levelled(one).together(total_m3, joint.most_m3) for one in joint.sustained]
    if len(joint.most_m3) == 2 and len(joint.before) == 1:
        fed = joint.before[0].name
        found = [min(found, key=lambda one: one[fed])]
    return [one for k, one in enumerate(found) if one not in found[:k]]


def after_rows(joint: Joint, attitude: Attitude, begins: Sequence[Quantities], total_m3: float) -> Rows:
    """What each holds of a total when the attitude is turned into at the end of the worst rows, where they leave less; and stops in them.

    begins is what each holds of that total where no row is flown.
    """
    times = sorted((one.held_s or 0.0 for one in joint.brief), reverse=True)
    if len(times) < 2 or attitude.held_s is None:
        return Rows()
    if joint.outlasts_any(attitude, begins, (_turns(joint) + 1) / 2.0 * sum(times[:2])):
        return Rows()
    if total_m3 not in joint.rows:
        joint.rows[total_m3] = _rows(joint, total_m3)
    rows, sets = joint.rows[total_m3], list(_sets(joint))
    found = _least([held for one, row in rows.items() if one != attitude for held in row.left], sets)
    less = [one for one in found if any(_sum(one, some) < min(_sum(other, some) for other in begins) for some in sets)]
    return Rows(less, rows[attitude].stopped)


def as_much(joint: Joint, held: Quantities, total_m3: float) -> dict[str, float]:
    """A total, in each as much more or less than at one level in level flight as it is; none below nothing or more than full."""
    was = joint.normal.together(sum(held.values()), joint.most_m3)
    level = joint.normal.together(total_m3, joint.most_m3)
    found = {name: min(max(0.0, one + held[name] - was[name]), joint.most_m3[name]) for name, one in level.items()}
    over = sum(found.values()) - sum(level.values())
    return {name: max(0.0, one - over * one / max(sum(found.values()), 1e-12)) for name, one in found.items()}


def _turns(joint: Joint) -> int:
    """Turns of a row before the last: fewer where there are many attitudes to turn into, two at least."""
    return max(2, min(_TURNS, _TURNS_IN_ALL // len(joint.brief)))


def _rows(joint: Joint, total_m3: float) -> Mapping[Attitude, Rows]:
    """The rows that end in each attitude held for a time and leave a total, begun with so much more as they burn."""
    sets, full_m3 = list(_sets(joint)), sum(joint.most_m3.values())
    each_m3 = joint.burnt_m3(joint.brief) / len(joint.brief)
    rows = {one: Rows() for one in joint.brief}
    for to_come in reversed(range(_turns(joint))):
        here_m3 = total_m3 + to_come * each_m3
        if to_come and here_m3 + each_m3 > full_m3:
            continue
        begins = starts(joint, here_m3)
        before = {one: [as_much(joint, held, here_m3) for held in row.left] for one, row in rows.items()}
        for one, row in rows.items():
            out_of = [*begins, *(held for other, left in before.items() if other != one for held in left)]
            turned = [each for held in _least(out_of, sets) for each in _turned(joint, one, held, here_m3)]
            row.left = _least([left for left, lasting in turned if not lasting.stopped], sets)
            row.stopped += [lasting for _, lasting in turned if lasting.stopped]
    return rows


def _turned(
    joint: Joint, attitude: Attitude, held: Quantities, total_m3: float
) -> Iterator[tuple[Quantities, Lasting]]:
    """What each holds of a total after an attitude was held for its time, turned into out of what is apart as in held."""
    begins = as_much(joint, held, total_m3 + joint.burnt_m3([attitude]))
    try:
        for left, lasting in joint.left_after(attitude, begins):
            yield as_much(joint, left, total_m3), lasting
    except (QuestionError, NotSteadyError):
        for rests in (held, joint.levelled(attitude).together(total_m3, joint.most_m3)):
            yield rests, Lasting(sum(begins.values()), attitude.held_s or 0.0, total_m3, "")


def _sets(joint: Joint) -> Iterator[tuple[str, ...]]:
    """The sets of tanks of which the least counts: with one before the engine, and not all."""
    names = tuple(joint.most_m3)
    fed = joint.fed or names
    sizes = range(1, len(names)) if len(names) <= _MOST_SETS else (1,)
    yield from (some for size in sizes for some in combinations(names, size) if set(some) & set(fed))


def _least(found: Sequence[Quantities], sets: Sequence[tuple[str, ...]]) -> list[Quantities]:
    """Those that leave least in each set."""
    kept: list[Quantities] = []
    for one in [min(found, key=lambda held: _sum(held, some)) for some in sets] if found else []:
        if one not in kept:
            kept.append(one)
    return kept


def _sum(held: Quantities, names: Sequence[str]) -> float:
    return sum(held[name] for name in names)
