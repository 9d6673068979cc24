"""The profile of lines: where a sequence of levels has high points, and how far each stands proud of what lies beside it."""

from __future__ import annotations

from collections.abc import Iterable
from math import inf
from typing import NamedTuple

from fuelsys.arrays import Floats

SAME_LEVEL_M = 1e-6  # a flat stretch seen through rounding stays flat; a micrometre matters to nobody


class Falls(NamedTuple):
    """What lies behind a place on the way there: over no point above barrier the lowest is low, and rest over higher ones.

    A list that shares its ends: what the ways through two arms of a fork have in common is kept once. Along it barriers
    rise and lows fall.
    """

    barrier: float
    low: float
    rest: Falls | None


def onward(falls: Falls | None, level_m: float) -> Falls:
    """What lies behind the next place, at a level.

    Over 10, down to 5, up to 7: behind it 5, and over 10 what lies behind that.

    >>> onward(onward(onward(onward(None, 0.0), 10.0), 5.0), 7.0)
    Falls(barrier=7.0, low=5.0, rest=Falls(barrier=10.0, low=0.0, rest=None))
    """
    while falls and falls.low >= level_m:
        falls = falls.rest
    return _raised(falls, level_m, level_m)


def _raised(falls: Falls | None, level_m: float, barrier_m: float) -> Falls:
    low_m = level_m
    while falls and falls.barrier <= barrier_m + SAME_LEVEL_M:
        low_m, falls = min(low_m, falls.low), falls.rest
    return Falls(barrier_m, low_m, falls)


def shut(falls: Falls, level_m: float, above_m: float) -> Falls:
    """The same at a place past which nothing counts for high points that stand less than above_m over it."""
    rest = _raised(falls, level_m, level_m + above_m)
    return Falls(level_m, level_m, rest if rest.low < level_m else rest.rest)


def either(several: Iterable[Falls | None]) -> Falls | None:
    """What lies behind a place that several ways lead to: for each barrier the lowest of any."""
    found: Falls | None = None
    for i, falls in enumerate(several):
        found = falls if i == 0 else _merged(found, falls)
    return found


def _merged(one: Falls | None, two: Falls | None) -> Falls | None:
    taken: list[tuple[float, float]] = []
    low_m = inf
    while one is not two:
        if two is None or (one is not None and one.barrier <= two.barrier):
            assert one is not None
            first, one = one, one.rest
        else:
            first, two = two, two.rest
        if first.low < low_m:
            low_m = first.low
            if taken and taken[-1][0] == first.barrier:
                taken.pop()
            taken.append((first.barrier, low_m))
    while one and one.low >= low_m:
        one = one.rest
    for barrier, low_m in reversed(taken):
        one = Falls(barrier, low_m, one)
    return one


def high_points(levels_m: Floats) -> list[tuple[int, int, float]]:
    """High points of a profile (k,): first and last index of each (a flat stretch is one), and how far it stands proud.

    The line rises to a high point from both sides, so its ends are none. It stands proud by the smaller of the two rises,
    each counted from the lowest level between it and the next higher point on that side, or the end of the line: a
    small wiggle beside a great hump does not make the hump small. Low points are the high points of -levels_m.

    Up 10, down 5, up 2, down 7: 10 stands proud of both ends, and 7 of the dip beside it by 2.

    >>> import numpy as np
    >>> high_points(np.array([0.0, 10.0, 5.0, 7.0, 7.0, 0.0]))
    [(1, 1, 10.0), (3, 4, 2.0)]
    """
    starts = [0]
    for i in range(1, levels_m.size):
        if abs(levels_m[i] - levels_m[i - 1]) > SAME_LEVEL_M:
            starts.append(i)
    ends = [*starts[1:], levels_m.size]
    flats = [float(levels_m[a:b].max()) for a, b in zip(starts, ends, strict=True)]
    left, right = _feet(flats), _feet(flats[::-1])[::-1]
    return [
        (starts[i], ends[i] - 1, flats[i] - max(left[i], right[i]))
        for i in range(1, len(flats) - 1)
        if flats[i - 1] < flats[i] > flats[i + 1]
    ]


def _feet(levels: list[float]) -> list[float]:
    """For each level the lowest on the way back to the next higher one."""
    found = []
    behind: Falls | None = None
    for level in levels:
        behind = onward(behind, level)
        found.append(behind.low)
    return found
