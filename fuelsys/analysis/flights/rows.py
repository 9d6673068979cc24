"""What joined tanks hold, of a total, when an attitude is turned into that is held for a time: out of what, and after which rows.

Out of: one level at each flight attitude of which no time is stated. After: every row of attitudes that are held for a time, begun out
of those and flown without a pause, none twice running, of up to thirteen; the last counts where more would leave less.
Such rows are not listed but grown by a turn at a time: into each attitude out of the worst that rows end with in the others, at the same
total. Of two tanks, let x be what one holds of a total. At an attitude x runs towards the one level there, never past it, and the more
of two x stays the more (what runs depends on x alone, and two courses of one equation do not cross). So the least x, or where both
stand before the engine the least of each, is the worst to turn out of and all that has to be kept, each attitude for its whole time;
and where a turn leaves nothing less, no further one does.
Of more than two tanks the least of each set of them is kept that has one before the engine, without that proof. Where a row's flight
ends in air, no row goes on: that attitude tells it; where it cannot be flown, the one level that it would come to, and what it began with.
No flight is needed where the tanks before the engine outlast the attitude with the least that one level leaves them at any of all
those attitudes, less all that is burnt in the row: below that least, fuel runs into them, if at all.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from itertools import combinations

from fuelsys.analysis.flights.lasting import Joint, Quantities
from fuelsys.errors import QuestionError
from fuelsys.kernels.steady import NotSteadyError
from fuelsys.model.stated.attitude import Attitude

_TURNS = 13  # chosen here, no source
_TRIFLE_M3 = 1e-6  # a millilitre less is none; chosen here, no source
_MOST_SETS = 4  # tanks of which all sets are kept: 15; chosen here, no source
Ends = Mapping[Attitude, Sequence[Quantities]]


def starts(joint: Joint, total_m3: float) -> list[dict[str, float]]:
    """What each holds of a total at one level, at each flight attitude held for ever; only the worst where it is known which."""
    found = [joint.levelled(one).together(total_m3, joint.most_m3) for one in joint.sustained]
    if len(joint.most_m3) == 2 and len(joint.before) == 1:
        fed = joint.before[0].name
        found = [min(found, key=lambda one: one[fed])]
    return [one for k, one in enumerate(found) if one not in found[:k]]


def after_rows(joint: Joint, attitude: Attitude, begins: Sequence[Quantities], total_m3: float) -> list[Quantities]:
    """What each holds of a total when the attitude is turned into at the end of the worst rows; none where no row leaves less.

    begins is what each holds of that total where no row is flown.
    """
    times = sorted((one.held_s or 0.0 for one in joint.brief), reverse=True)
    if len(times) < 2 or attitude.held_s is None:
        return []
    if joint.outlasts_any(attitude, begins, (_TURNS + 1) / 2.0 * sum(times[:2])):
        return []
    if total_m3 not in joint.row_ends:
        joint.row_ends[total_m3] = _ends(joint, total_m3)
    found = [held for one, left in joint.row_ends[total_m3].items() if one != attitude for held in left]
    sets = list(_sets(joint))
    return [one for one in _least(found, sets) if any(_sum(one, some) < _lowest(begins, some) for some in sets)]


def as_much(joint: Joint, held: Quantities, total_m3: float) -> dict[str, float]:
    """A total, in each as much more or less than at one level in level flight as it is; none below nothing or more than full."""
    was = joint.normal.together(sum(held.values()), joint.most_m3)
    level = joint.normal.together(total_m3, joint.most_m3)
    found = {name: min(max(0.0, one + held[name] - was[name]), joint.most_m3[name]) for name, one in level.items()}
    over = sum(found.values()) - sum(level.values())
    return {name: max(0.0, one - over * one / max(sum(found.values()), 1e-12)) for name, one in found.items()}


def _ends(joint: Joint, total_m3: float) -> Ends:
    """Of each attitude held for a time the worst that rows which end in it leave of a total."""
    begins, sets = starts(joint, total_m3), list(_sets(joint))
    ends: dict[Attitude, list[Quantities]] = {one: [] for one in joint.brief}
    flown = {one: list[Quantities]() for one in joint.brief}  # what was turned out of already
    for _ in range(_TURNS):
        more = dict[Attitude, list[Quantities]]()
        for one in joint.brief:
            out_of = [*begins, *(held for other in joint.brief if other != one for held in ends[other])]
            new = [held for held in _least(out_of, sets) if held not in flown[one]]
            flown[one] += new
            more[one] = _least([*ends[one], *(left for held in new for left in _turned(joint, one, held))], sets)
        less = [_lowest(ends[one], some) - _lowest(more[one], some) for one in joint.brief for some in sets]
        ends = more
        if max(less) <= _TRIFLE_M3:
            break
    return ends


def _turned(joint: Joint, attitude: Attitude, held: Quantities) -> Iterator[Quantities]:
    """What each holds, of as much as before, after an attitude was held for its time."""
    total_m3 = sum(held.values())
    begins = as_much(joint, held, total_m3 + joint.burnt_m3([attitude]))
    try:
        left: Iterable[Quantities] = joint.left_after(attitude, begins)
    except (QuestionError, NotSteadyError):
        left = [held, joint.levelled(attitude).together(total_m3, joint.most_m3)]
    for one in left:
        yield as_much(joint, one, total_m3)


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


def _lowest(found: Sequence[Quantities], names: Sequence[str]) -> float:
    return min((_sum(one, names) for one in found), default=1e9)


def _sum(held: Quantities, names: Sequence[str]) -> float:
    return sum(held[name] for name in names)
