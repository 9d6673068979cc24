"""The profile of a line: where a sequence of levels has high points, and how far each stands proud."""

from __future__ import annotations

from fuelsys.kernels.compiled import Floats

SAME_LEVEL_M = 1e-6  # a flat stretch seen through rounding stays flat; a micrometre matters to nobody


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
    found = []
    for i in range(1, len(flats) - 1):
        if flats[i - 1] < flats[i] > flats[i + 1]:
            foot = max(_foot(flats[i], flats[i - 1 :: -1]), _foot(flats[i], flats[i + 1 :]))
            found.append((starts[i], ends[i] - 1, flats[i] - foot))
    return found


def _foot(top: float, outward: list[float]) -> float:
    """The lowest level on the way outward to the next higher point."""
    lowest = top
    for level in outward:
        if level > top + SAME_LEVEL_M:
            break
        lowest = min(lowest, level)
    return lowest
