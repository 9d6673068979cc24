"""The level below which a volume lies: a bracket for each target, and Newton steps inside it (slope = area), all at once."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from fuelsys.arrays import Floats, Ints
from fuelsys.kernels.compiled import compiled
from fuelsys.kernels.volume import mean_cover, share_below, sorted3, table


@compiled
def _below_one(corners: Floats, plan: Floats, level: float) -> tuple[float, float]:
    """What `table` says of one level, to the last bit and in a third of the time: corners (m, 3) are the levels of each face's."""
    volume = area = whole_cover = whole_area = 0.0
    for t in range(plan.size):
        a, b, c = corners[t, 0], corners[t, 1], corners[t, 2]
        if max(a, b, c) < level:
            whole_area += plan[t]
            whole_cover += plan[t] * ((level - a) + (level - b) + (level - c)) / 3.0
        elif min(a, b, c) < level:
            z0, z1, z2 = sorted3(a, b, c)
            volume -= plan[t] * mean_cover(z0, z1, z2, level)
            area -= plan[t] * share_below(z0, z1, z2, level)
    return volume - whole_cover, area - whole_area


@compiled
def _corners(z: Floats, faces: Ints) -> Floats:
    """The levels of each face's corners (m, 3)."""
    corners = np.empty((faces.shape[0], 3))
    for t in range(faces.shape[0]):
        for i in range(3):
            corners[t, i] = z[faces[t, i]]
    return corners


@compiled
def _put_in_order(level: Floats, order: NDArray[np.int64]) -> None:
    """Sort order (k,) by rising levels (k,): they hardly change places from one step to the next."""
    for n in range(order.size):
        here, i = order[n], n
        while i > 0 and level[order[i - 1]] > level[here]:
            order[i] = order[i - 1]
            i -= 1
        order[i] = here


@compiled
def _bracketed(z: Floats, faces: Ints, plan: Floats, targets: Floats, least: float, most: float) -> Floats:
    """The level of each target (k,) between least and most; where these are NaN, between the lowest and the highest corner."""
    k, corners = targets.size, _corners(z, faces)
    if np.isnan(least):
        least, most = corners.min(), corners.max()
    low, high, best, missed = np.empty(k), np.empty(k), np.empty(k), np.empty(k)
    level, rising, order = np.empty(k), np.empty(k), np.empty(k, np.int64)
    for n in range(k):
        low[n], high[n], missed[n], order[n] = least, most, np.inf, n
        level[n] = best[n] = least + (most - least) * 0.5
        if targets[n] == 0.0:  # nothing lies below the lowest point; halves would come to it in fifty steps or more
            high[n] = level[n] = best[n] = least
    for _ in range(200):
        _put_in_order(level, order)
        for n in range(k):
            rising[n] = level[order[n]]
        out = np.zeros((2, k))
        if k == 1:
            out[0, 0], out[1, 0] = _below_one(corners, plan, rising[0])
        else:
            table(z, faces, plan, rising, out)
        settled = True
        for i in range(k):
            n, area = order[i], out[1, i]
            off = out[0, i] - targets[n]
            if abs(off) < missed[n]:
                best[n], missed[n] = level[n], abs(off)
            if off <= 0.0:
                low[n] = level[n]
            if off >= 0.0:
                high[n] = level[n]
            following = middle = low[n] + (high[n] - low[n]) * 0.5
            if area > 0.0 and low[n] < level[n] - off / area < high[n]:
                following = level[n] - off / area
            if not (following == level[n] or high[n] <= low[n] or middle <= low[n] or middle >= high[n]):
                settled = False
            rising[i] = following
        if settled:
            break
        for i in range(k):
            level[order[i]] = rising[i]
    return best


def level_for_volume(
    z: Floats, faces: Ints, plan: Floats, targets: Floats, between: tuple[float, float] | None = None
) -> Floats:
    """Level below which each target volume lies: (k,) -> (k,); targets must lie between 0 and the whole volume.

    A bracket per target and Newton steps that stay inside it; the slope is the free-surface area. The faces of one pool
    close a body only below the saddle at which it joins another: between then gives the levels to look between.
    """
    least, most = between or (np.nan, np.nan)
    copies = (
        np.array(z),
        np.array(faces),
        np.array(plan),
    )  # one type to compile for, whether they may be written to or not
    return _bracketed(*copies, np.ascontiguousarray(targets), least, most)
