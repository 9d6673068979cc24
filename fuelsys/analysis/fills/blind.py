"""What was poured before the stick showed any of it: whether a can that was noted there and not poured explains the readings as well.

No reading checks such a can: from the first reading on all totals are too large by it, and a correction explains that by a tank that is
larger and tilted. So the fullest correction is sought without it too. Where that leaves hardly more, or less, nobody can tell the two
apart, and the less is what is counted. (A can that was poured and not noted makes the tank hold more than is counted.)
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from math import log

import numpy as np

from fuelsys.analysis.fills.answers import corrected
from fuelsys.analysis.fills.data import Data
from fuelsys.analysis.fills.fit import AS_WELL, LEAST_NOISE_M, Choice, choose, figures, solve, weighted
from fuelsys.analysis.fills.lamps import Marks, lamps
from fuelsys.analysis.fills.meanings import can
from fuelsys.analysis.fills.pouring import Poured, with_moved
from fuelsys.model.found.filltest import BLOCKS, LampSeen

_SAME = 1e-3  # of an amount: cans that are so much alike are tried once; chosen here, no source
_SEVERAL = 1.5  # usual cans: so much on one line is more than one of them; chosen here, no source
_MOVED = 0.25  # of a gauge's mean step: so much more or less is no noise; chosen here, no source


def unseen_m3(poured: Sequence[Poured], first: int, least_step_m3: float = 0.0) -> tuple[float, ...]:
    """The cans up to the first line that has a reading (its index) of which one may be noted and not poured, each size once, the largest
    first: the amounts of the lines before, and the usual can where several were noted as one.

    Not one that something else shows: a gauge that moved on its line, or that so much was drained again that it must have been there;
    nor one so small that it counts as misfit.
    """
    usual = can(poured)
    usual_m3 = next((one.step_m3 for one in poured if one.entry.amount is usual), 0.0)
    alone = [one.step_m3 for k, one in enumerate(poured[:first]) if not _moved(poured, k)]
    several = [usual_m3 for one in poured[: first + 1] if one.step_m3 > _SEVERAL * usual_m3]
    least_m3 = min(one.total_m3 for one in poured[first:])
    found: list[float] = []
    for step_m3 in sorted((one for one in (*alone, *several) if least_step_m3 < one <= least_m3), reverse=True):
        if not found or step_m3 < found[-1] * (1.0 - _SAME):
            found.append(step_m3)
    return tuple(found)


def _moved(poured: Sequence[Poured], line: int) -> bool:
    """Whether a gauge shows something else on a line (its index) than on the last before it: a good part of its usual step."""
    for gauge in range(len(poured[line].entry.signals)):
        shown = [one.entry.signals[gauge] if gauge < len(one.entry.signals) else None for one in poured]
        now, before = shown[line], [one for one in shown[:line] if one is not None]
        every = [one for one in shown if one is not None]
        if now is not None and before and abs(now - before[-1]) > _MOVED * (max(every) - min(every)) / len(every):
            return True
    return False


def fewer(choice: Choice, amounts_m3: Sequence[float]) -> tuple[float, Choice] | None:
    """The largest of some amounts without which the readings are explained as well, and the corrections then; None where none is."""
    for amount_m3 in amounts_m3:
        less = replace(choice.data, totals_m3=choice.data.totals_m3 - amount_m3)
        if _behind(less, choice) <= AS_WELL:
            return amount_m3, choose(less)
    return None


def _behind(less: Data, choice: Choice) -> float:
    """By how much the fullest correction explains the lesser totals worse: twice the logarithm of the likelihoods' ratio."""
    data, noise_m = weighted(less)
    full, least_m2 = solve(data, figures(BLOCKS), noise_m, data.at), data.n * LEAST_NOISE_M**2
    return data.n * log(max(full.cost_m2, least_m2) / max(choice.full.cost_m2, least_m2))


def lesser(
    choice: Choice, unseen_m3: Sequence[float], poured: Sequence[Poured], first: int, marks: Marks
) -> tuple[float, Choice] | None:
    """The can that is not counted as poured, and the correction then: unless that contradicts lamps which all lines as noted do not.

    Lamps that changed from the first line with a reading on (its index): of those before nobody knows whether the can was noted by then.
    """
    less = fewer(choice, unseen_m3)
    if less is None:
        return None

    def contradicted(by: Choice, lines: Sequence[Poured]) -> int:
        return sum(one.verdict == "contradicted" for one in lamps(corrected(by, marks), lines))

    read = poured[first:]
    lines = with_moved(read, np.full(len(read), -less[0]))
    return None if contradicted(less[1], lines) > contradicted(choice, read) else less


def lowered(seen: Sequence[LampSeen], less_m3: float, until_m3: float) -> tuple[LampSeen, ...]:
    """What lamps say where one that changed before a total may have done so with a can less than was noted."""
    return tuple(
        replace(one, seen_m3=(max(0.0, one.seen_m3[0] - less_m3), one.seen_m3[1]))
        if one.seen_m3 and one.seen_m3[0] < until_m3
        else one
        for one in seen
    )
