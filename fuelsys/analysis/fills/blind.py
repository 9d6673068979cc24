"""What was poured before the stick showed any of it: whether a can that was noted there and not poured explains the readings as well.

No reading checks such a can: from the first reading on all totals are too large by it, and a correction explains that by a tank that is
larger and tilted. So the fullest correction is sought without it too. Where that leaves hardly more, or less, nobody can tell the two
apart, and the less is what is counted. (A can that was poured and not noted makes the tank hold more than is counted.)
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from math import log

from fuelsys.analysis.fills.data import Data
from fuelsys.analysis.fills.fit import AS_WELL, LEAST_NOISE_M, Choice, choose, figures, solve, weighted
from fuelsys.analysis.fills.pouring import Poured
from fuelsys.model.found.filltest import BLOCKS

_SAME = 1e-3  # of an amount: cans that are so much alike are tried once


def unseen_m3(poured: Sequence[Poured], first: int) -> tuple[float, ...]:
    """The amounts poured on dry lines before the first that has a reading (its index), each size once, the largest first.

    A stick that is wet at once shows that something was poured.
    """
    found: list[float] = []
    for step_m3 in sorted((one.step_m3 for one in poured[:first] if one.entry.dry and one.step_m3 > 0.0), reverse=True):
        if not found or step_m3 < found[-1] * (1.0 - _SAME):
            found.append(step_m3)
    return tuple(found)


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
