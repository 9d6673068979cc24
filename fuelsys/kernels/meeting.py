"""What two tilted pools of one surface have in common: its volume, exact for the facets, and where a pool meets the others.

With p0 on the line in which both lids lie, (x - p0)·n is nothing on either lid, so V = ∮ (x - p0)·n dA / 3 is a sum over the
walls alone: of each face its part below both levels.
"""

from __future__ import annotations

import numpy as np

from fuelsys.arrays import Flags, Floats, Ints
from fuelsys.kernels.compiled import compiled

_PARALLEL = 1e-12  # sine of the angle between two lids below which they count as parallel


@compiled
def _clip(bary: Floats, n: int, above: Floats, out: Floats) -> int:
    """Of a polygon (n, 2) in barycentric coordinates the part with above <= 0, above (3,) being its corners' values."""
    kept = 0
    for i in range(n):
        j = (i + 1) % n
        a, b = bary[i, 0], bary[i, 1]
        c, d = bary[j, 0], bary[j, 1]
        first = above[0] * (1.0 - a - b) + above[1] * a + above[2] * b
        second = above[0] * (1.0 - c - d) + above[1] * c + above[2] * d
        if first <= 0.0:
            out[kept, 0], out[kept, 1] = a, b
            kept += 1
        if (first <= 0.0) != (second <= 0.0):
            along = first / (first - second)
            out[kept, 0], out[kept, 1] = a + along * (c - a), b + along * (d - b)
            kept += 1
    return kept


@compiled
def _share_below_both(one: Floats, two: Floats, corner: Floats, first: Floats, second: Floats) -> float:
    """Share of a triangle's area with one <= 0 and two <= 0, values at its corners (3,); the rest is room to work in."""
    corner[0, 0], corner[0, 1], corner[1, 0], corner[1, 1], corner[2, 0], corner[2, 1] = 0.0, 0.0, 1.0, 0.0, 0.0, 1.0
    n = _clip(corner, 3, one, first)
    n = _clip(first, n, two, second)
    twice = 0.0
    for i in range(1, n - 1):
        ax, ay = second[i, 0] - second[0, 0], second[i, 1] - second[0, 1]
        bx, by = second[i + 1, 0] - second[0, 0], second[i + 1, 1] - second[0, 1]
        twice += ax * by - ay * bx
    return twice


@compiled
def _meeting(
    vertices: Floats,
    faces: Ints,
    areas: Floats,
    chosen: Flags,
    one: Floats,
    two: Floats,
    level_one: float,
    level_two: float,
    about: Floats,
) -> float:
    corner, first, second = np.empty((3, 2)), np.empty((8, 2)), np.empty((8, 2))
    over_one, over_two = np.empty(3), np.empty(3)
    total = 0.0
    for t in range(faces.shape[0]):
        if not chosen[t]:
            continue
        for k in range(3):
            over_one[k], over_two[k] = one[faces[t, k]] - level_one, two[faces[t, k]] - level_two
        if over_one.min() >= 0.0 or over_two.min() >= 0.0:
            continue
        share = 1.0
        if over_one.max() > 0.0 or over_two.max() > 0.0:
            share = _share_below_both(over_one, over_two, corner, first, second)
        away = 0.0
        for axis in range(3):
            away += (vertices[faces[t, 0], axis] - about[axis]) * areas[t, axis]
        total += away * share
    return total / 3.0


def on_both(
    up_one: Floats, level_one: float, up_two: Floats, level_two: float, reach: float
) -> tuple[Floats, float, float]:
    """The point of both lids nearest to the centre (3,), and the levels to take: a lid above all within reach is moved there.

    Where the lids meet outside of reach (or nowhere) the one that is higher at the centre lies above all that is below the
    other: it is taken as far up as it does not count, and the point is the other's.
    """
    cosine = float(up_one @ up_two)
    aside = up_two - cosine * up_one
    if np.linalg.norm(aside) > _PARALLEL:
        aside /= np.linalg.norm(aside)
        aside -= float(aside @ up_one) * up_one  # again: of a small difference rounding leaves a part along up
        along = (level_two - cosine * level_one) / float(aside @ up_two)
        if np.hypot(level_one, along) <= reach:
            return level_one * up_one + along * aside, level_one, level_two
    if level_one <= level_two:
        return level_one * up_one, level_one, 2.0 * reach
    return level_two * up_two, 2.0 * reach, level_two


def shared_volume(
    vertices: Floats,
    faces: Ints,
    areas: Floats,
    chosen: Flags,
    one: tuple[Floats, Floats, float],
    two: tuple[Floats, Floats, float],
) -> float:
    """Volume of what lies below two levels, each its (up (3,), levels of the vertices (n,), level), in pools of both attitudes.

    areas (m, 3) are outward; chosen (m,) are the faces whose seeds are of the one pool at the one attitude and of the other at
    the other, each pool below the saddle at which it joins the rest. A tetrahedron on the axes, 1/6, loses 1/48 above z = 1/2
    and as much beyond x = 1/2:

    >>> faces = np.array([[0, 2, 1], [0, 1, 3], [0, 3, 2], [1, 2, 3]], dtype=np.int32)
    >>> v = np.array([[0.0, 0, 0], [1, 0, 0], [0, 1, 0], [0, 0, 1]])
    >>> areas = np.array([[0.0, 0, -0.5], [0, -0.5, 0], [-0.5, 0, 0], [0.5, 0.5, 0.5]])
    >>> up, right = np.array([0.0, 0, 1]), np.array([1.0, 0, 0])
    >>> round(48 * shared_volume(v, faces, areas, np.ones(4, bool), (up, v[:, 2], 0.5), (right, v[:, 0], 0.5)), 9)
    6.0
    """
    reach = float(np.sqrt((vertices**2).sum(axis=1).max()))
    about, level_one, level_two = on_both(one[0], one[2], two[0], two[2], reach)
    return float(_meeting(vertices, faces, areas, chosen, one[1], two[1], level_one, level_two, about))


def joins_at(parent: Ints, floor: Floats, seed: int, n_seeds: int) -> Floats:
    """The level at which each seed's pool becomes one with that of a seed: (n_seeds,), -inf for the seed itself.

    >>> joins_at(np.array([3, 3, 4, 4, -1]), np.array([0.0, 0.1, 0.2, 0.5, 0.9]), 0, 3).tolist()
    [-inf, 0.5, 0.9]
    """
    joins = np.full(parent.size, -np.inf)
    on_path = np.zeros(parent.size, np.bool_)
    node = seed
    while node >= 0:
        on_path[node] = True
        node = parent[node]
    for node in range(parent.size - 1, -1, -1):  # parents first
        up = parent[node]
        if not on_path[node]:
            joins[node] = floor[up] if on_path[up] else joins[up]
    return joins[:n_seeds]
