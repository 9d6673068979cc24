"""What joined tanks hold, of a total, when an attitude is turned into that is held for a time: out of what, and after which rows.

Out of: one level at each flight attitude of which no time is stated. After: rows that end in another attitude held for a time, begun
out of those: the other alone, it and then rounds of the attitude and it, or such rounds alone, in turn without a pause.
Of two tanks, one before the engine, let x be what that one holds of a total. At an attitude x runs towards the one level there, never
past it, and the more of two x stays the more (what runs depends on x alone, and two courses of one equation do not cross). So the
start that leaves least is the worst to begin with, each attitude for its whole time or not at all; where the other alone leaves less
than that, rounds after it leave less than as many without, else no less; and where a round leaves no less than the one before, no
further one does. Where each leaves less they are flown on, until six are flown; the last counts.
No flight is needed where the tanks before the engine outlast the attitude with the least that one level leaves them at any of all
those attitudes, less all that is burnt in the row: below that least, fuel runs into them, if at all.
Of more than two tanks the same is flown from each start, without that proof; where all of them stand before the engine, the starts
alone, no rows; of rows, those of two attitudes in turn.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from fuelsys.analysis.flights.lasting import Joint, Quantities
from fuelsys.model.stated.attitude import Attitude

_ROUNDS = 6  # chosen here, no source
_TRIFLE_M3 = 1e-6  # a millilitre less is none; chosen here, no source


def starts(joint: Joint, total_m3: float) -> list[dict[str, float]]:
    """What each holds of a total at one level, at each flight attitude held for ever; only the worst where it is known which."""
    found = [joint.levelled(one).together(total_m3, joint.most_m3) for one in joint.sustained]
    if len(joint.most_m3) == 2 and len(joint.before) == 1:
        fed = joint.before[0].name
        found = [min(found, key=lambda one: one[fed])]
    return [one for k, one in enumerate(found) if one not in found[:k]]


def after_a_row(
    joint: Joint, attitude: Attitude, begins: Sequence[Quantities], total_m3: float
) -> dict[str, float] | None:
    """What each holds of a total when the attitude is turned into at the end of the worst row; None where no row leaves less.

    begins is what each holds of that total where no row is flown.
    """
    fed = [one.name for one in joint.before]
    others = [one for one in joint.brief if one != attitude]
    if not others or not 0 < len(fed) < len(joint.most_m3) or attitude.held_s is None:
        return None
    longest_s = attitude.held_s + max(one.held_s or 0.0 for one in others)
    if joint.outlasts_any(attitude, begins, (_ROUNDS + 1) * longest_s):
        return None
    least_m3 = min(_sum(one, fed) for one in begins)
    found: list[dict[str, float]] = []
    for other in others:
        turns = (attitude, other)
        after_it, rounds = _rows(joint, turns[1:], turns, total_m3), _rows(joint, turns, turns, total_m3)
        if len(joint.most_m3) > 2:
            found += [*after_it, *rounds]
            continue
        once = next(after_it)
        found += [once, *(after_it if _sum(once, fed) < least_m3 else rounds)]
    worst = min(found, key=lambda one: _sum(one, fed))
    return worst if _sum(worst, fed) < least_m3 else None


def _rows(
    joint: Joint, first: Sequence[Attitude], then: Sequence[Attitude], total_m3: float
) -> Iterator[dict[str, float]]:
    """From each start the first turns and then rounds, until one leaves no less than the one before; each ends with the total."""
    fed = [one.name for one in joint.before]
    for start in starts(joint, total_m3 + joint.burnt_m3(first)):
        here, turns, last_m3 = start, first, _sum(_as_much(joint, start, total_m3), fed)
        for _ in range(_ROUNDS + (first != then)):
            for one in turns:
                here = joint.left_after(one, here)
            found = _as_much(joint, here, total_m3)
            yield found
            if turns == then and _sum(found, fed) >= last_m3 - _TRIFLE_M3:
                break
            turns, last_m3 = then, _sum(found, fed)
            here = _as_much(joint, found, total_m3 + joint.burnt_m3(then))


def _as_much(joint: Joint, held: Quantities, total_m3: float) -> dict[str, float]:
    """A total, in each as much more or less than at one level in level flight as it is; none below nothing or more than full."""
    was = joint.normal.together(sum(held.values()), joint.most_m3)
    level = joint.normal.together(total_m3, joint.most_m3)
    found = {name: min(max(0.0, one + held[name] - was[name]), joint.most_m3[name]) for name, one in level.items()}
    over = sum(found.values()) - sum(level.values())
    return {name: max(0.0, one - over * one / max(sum(found.values()), 1e-12)) for name, one in found.items()}


def _sum(held: Quantities, names: Sequence[str]) -> float:
    return sum(held[name] for name in names)
