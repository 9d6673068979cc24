"""The fewest points of a curve between which straight lines stay within an error of it."""

from __future__ import annotations

import numpy as np

from fuelsys.arrays import Floats, Ints
from fuelsys.kernels.compiled import compiled

_HALVINGS = 40


def fewest(x: Floats, y: Floats, allowed: float) -> Ints:
    """Indices of the fewest points of a curve (n,), its ends among them, that interpolate all others within allowed.

    A shortest way: from point i to point j leads a step where the line between them is within allowed of every point that it
    passes. Its slope must lie between the greatest and the least that those permit, which are carried along, so all steps from
    i take one pass. Every set of points is such a way, so none is shorter. x rises strictly.

    >>> fewest(np.array([0.0, 1.0, 2.0, 3.0]), np.array([0.0, 1.0, 2.0, 9.0]), 0.1).tolist()
    [0, 2, 3]
    """
    before = _steps(x, y, allowed)
    found = [x.size - 1]
    while found[-1] > 0:
        found.append(int(before[found[-1]]))
    return np.array(found[::-1], dtype=np.int32)


@compiled
def _steps(x: Floats, y: Floats, allowed: float) -> Ints:
    """The point before each on a shortest way to it, -1 before the first: (n,)."""
    n = x.size
    steps, before = np.full(n, n, np.int32), np.full(n, -1, np.int32)
    steps[0] = 0
    for i in range(n - 1):
        least, most = -np.inf, np.inf
        for j in range(i + 1, n):
            run, rise = x[j] - x[i], y[j] - y[i]
            slope = rise / run
            if (j == i + 1 or least <= slope <= most) and steps[i] + 1 < steps[j]:
                steps[j], before[j] = steps[i] + 1, i
            least, most = max(least, (rise - allowed) / run), min(most, (rise + allowed) / run)
            if least > most:  # no slope passes all of them, nor any further point
                break
    return before


def fewest_and_nearest(x: Floats, y: Floats, allowed: float) -> Ints:
    """As few points as `fewest` finds, and among as many those whose lines come nearest to the curve.

    >>> x = np.linspace(0.0, 1.0, 101)
    >>> fewest_and_nearest(x, x * x, 0.07).tolist()
    [0, 50, 100]
    """
    found = fewest(x, y, allowed)
    low, high = 0.0, allowed
    for _ in range(_HALVINGS):
        middle = (low + high) / 2.0
        tighter = fewest(x, y, middle)
        if tighter.size <= found.size:
            found, high = tighter, middle
        else:
            low = middle
    return found
