"""Volume, free-surface area and moments of a closed triangle surface below a level, exact for the facets.

The surface is given by the level of each vertex z (n,), its faces (m, 3) and their plan areas (m,): the outward vector
area times up. A lid at the level adds nothing to the sums, so nothing is cut. Derivation below.

For a closed, outward triangle surface and up u, let z = u·x. The field F = (0, 0, z − h) has divergence 1 and vanishes on the
lid z = h, so

    V(h) = Σ ∫_{t below h} (z − h) n_z dA = −Σ a_t G_t(h),

with a_t the signed plan area of triangle t and G_t(h) the mean of max(h − z, 0) over it. With corners z0 ≤ z1 ≤ z2:

    G = 0                                                             h ≤ z0
      = (h − z0)³ / (3 (z1 − z0)(z2 − z0))                            z0 < h ≤ z1
      = h − (z0 + z1 + z2)/3 + (z2 − h)³ / (3 (z2 − z0)(z2 − z1))     z1 < h < z2
      = h − (z0 + z1 + z2)/3                                          h ≥ z2

Nothing is cut or capped; the result is exact for the facets. dV/dh is the free-surface area, −Σ of the plan areas below.
The third line is computed as a sum of positive terms ((b(a + b) + a²c/(z2 − z0))/(z2 − z1)/3 with a, b, c the distances from h
to the corners): as printed above it cancels just above a level floor.
`volume.table` handles many levels in one pass: triangles that a level crosses are evaluated directly, those wholly below are
kept as two sums from their level upward (plan area; plan area times cover), carried from level to level. Each term is then as
small as the volume it adds to, so nothing cancels near level floors. **Do not** replace this by cumulated cubic coefficients
over sorted vertex events: they lose everything there (relative error 1e-3 at 1e-9 rad off level). Coordinates are taken about
the cavity's centre, for the same reason.

First moments use the field r (z − h): horizontally its divergence is r, and along u the term (h − z)(h + z)/2 differs from
z (h − z) by (h − z)²/2, which is the correction in `volume._add_triangle`. Surface moments are minus the moments of the
plan-projected surface below the level, plus V along up (the field z·up has divergence 1).
"""

from __future__ import annotations

import numpy as np

from fuelsys.arrays import Floats, Ints
from fuelsys.kernels.compiled import compiled


@compiled
def sorted3(a: float, b: float, c: float) -> tuple[float, float, float]:
    """The three, rising."""
    if a > b:
        a, b = b, a
    if b > c:
        b, c = c, b
        if a > b:
            a, b = b, a
    return a, b, c


@compiled
def mean_cover(z0: float, z1: float, z2: float, h: float) -> float:
    """Mean of max(h - z, 0) over a triangle whose corners lie at z0 <= z1 <= z2: a sum without cancellation."""
    if h <= z0:
        return 0.0
    a, b, over = h - z0, h - z1, z2 - h
    if over <= 0.0:
        return (a + b - over) / 3.0
    if b <= 0.0:
        return a * (a / (z1 - z0)) * (a / (z2 - z0)) / 3.0
    return (b * (a + b) + a * over * (a / (z2 - z0))) / (z2 - z1) / 3.0


@compiled
def share_below(z0: float, z1: float, z2: float, h: float) -> float:
    """Share of a triangle's area below h, its corners at z0 <= z1 <= z2."""
    if h <= z0:
        return 0.0
    a, b, over = h - z0, h - z1, z2 - h
    if over <= 0.0:
        return 1.0
    if b <= 0.0:
        return (a / (z1 - z0)) * (a / (z2 - z0))
    return (b + over * (a / (z2 - z0))) / (z2 - z1)


@compiled
def first_above(rising: Floats, value: float) -> int:
    """Index of the first of the rising numbers that is greater than a value; their count where none is."""
    low, high = 0, rising.size
    while low < high:
        middle = (low + high) // 2
        if rising[middle] > value:
            high = middle
        else:
            low = middle + 1
    return low


@compiled
def table(z: Floats, faces: Ints, plan: Floats, levels: Floats, out: Floats) -> None:
    """Fill out (2, k) with volume and area below each of the rising levels; a face wholly below is kept as two sums."""
    k = levels.size
    above = np.empty(z.size, np.int32)  # the first level above each vertex: faces need no search of their own
    for v in range(z.size):
        above[v] = first_above(levels, z[v])
    area_from = np.zeros(k + 1)  # plan area of the faces that are wholly below from this level on
    cover_from = np.zeros(k + 1)  # and their plan area times cover at this level
    for t in range(faces.shape[0]):
        i, j, m = faces[t, 0], faces[t, 1], faces[t, 2]
        first = min(above[i], above[j], above[m])
        last = max(above[i], above[j], above[m])
        if first < last:
            z0, z1, z2 = sorted3(z[i], z[j], z[m])
            for n in range(first, last):
                out[0, n] -= plan[t] * mean_cover(z0, z1, z2, levels[n])
                out[1, n] -= plan[t] * share_below(z0, z1, z2, levels[n])
        if last < k:
            h = levels[last]
            area_from[last] += plan[t]
            cover_from[last] += plan[t] * ((h - z[i]) + (h - z[j]) + (h - z[m])) / 3.0
    area = cover = 0.0
    for n in range(k):
        if n > 0:
            cover += area * (levels[n] - levels[n - 1])
        area += area_from[n]
        cover += cover_from[n]
        out[0, n] -= cover
        out[1, n] -= area


def volume_and_area(z: Floats, faces: Ints, plan: Floats, levels: Floats) -> tuple[Floats, Floats]:
    """Volume below each level and the free-surface area there: levels (k,) in any order -> (k,), (k,).

    >>> faces = np.array([[0, 2, 1], [0, 1, 3], [0, 3, 2], [1, 2, 3]], dtype=np.int32)  # x, y, z and origin, side 1
    >>> plan = np.array([-0.5, 0.0, 0.0, 0.5])
    >>> [round(float(v[0]) * 48, 9) for v in volume_and_area(np.array([0.0, 0, 0, 1]), faces, plan, np.array([0.5]))]
    [7.0, 6.0]
    """
    order = np.argsort(levels, kind="stable")
    out = np.zeros((2, levels.size))
    table(z, faces, plan, levels[order], out)
    back = np.empty_like(out)
    back[:, order] = out
    return back[0], back[1]


@compiled
def volume_by_part(z: Floats, faces: Ints, plan: Floats, part: Ints, levels: Floats) -> Floats:
    """Volume of each part below its own levels: part (m,) of each face, levels (parts, states) -> (parts, states).

    The parts are pools (or seeds of pools): bodies that a lid closes at the level which is given for them.
    """
    out = np.zeros(levels.shape)
    for t in range(faces.shape[0]):
        a, b, c = z[faces[t, 0]], z[faces[t, 1]], z[faces[t, 2]]
        low, high = min(a, b, c), max(a, b, c)
        for s in range(levels.shape[1]):
            h = levels[part[t], s]
            if h >= high:
                out[part[t], s] -= plan[t] * ((h - a) + (h - b) + (h - c)) / 3.0
            elif h > low:
                z0, z1, z2 = sorted3(a, b, c)
                out[part[t], s] -= plan[t] * mean_cover(z0, z1, z2, h)
    return out


@compiled
def _add_triangle(corners: Floats, heights: Floats, plan: float, h: float, up: Floats, out: Floats) -> None:
    """Add a flat piece's volume, volume moments, area and area moments (8,): see moments_by_part."""
    total = (h - heights[0]) + (h - heights[1]) + (h - heights[2])
    out[0] -= plan * total / 3.0
    out[4] -= plan
    along = 0.0  # correction that replaces the field's component along up: see above
    for i in range(3):
        along += (h - heights[i]) * (h - heights[i])
    along = plan * (along + total * total) / 24.0
    for axis in range(3):
        mixed = 0.0
        side = 0.0
        for i in range(3):
            mixed += corners[i, axis] * (h - heights[i])
            side += corners[i, axis]
        out[1 + axis] -= plan * (mixed + side * total) / 12.0 + along * up[axis]
        out[5 + axis] -= plan * side / 3.0


@compiled
def _add_crossed(corners: Floats, heights: Floats, below: int, plan: float, h: float, up: Floats, out: Floats) -> None:
    """The same of a triangle that the level crosses, below being the number of corners under it; corners are used up."""
    alone = 0  # the corner that has its side of the level to itself
    for i in range(3):
        if (heights[i] < h) == (below == 1):
            alone = i
    j, k = (alone + 1) % 3, (alone + 2) % 3
    kept = np.empty(3)
    height_j, height_k, away = heights[j] - heights[alone], heights[k] - heights[alone], h - heights[alone]
    if below == 1:
        for axis in range(3):
            at = corners[alone, axis]
            corners[j, axis] = at + away / height_j * (corners[j, axis] - at)
            corners[k, axis] = at + away / height_k * (corners[k, axis] - at)
        heights[j] = heights[k] = h
        _add_triangle(corners, heights, plan * (away / height_j) * (away / height_k), h, up, out)
        return
    first, second = plan * ((heights[j] - h) / height_j), plan * (away / height_j) * ((heights[k] - h) / height_k)
    for turn in range(2):  # first the triangle of both corners and one cut, then that of one corner and both cuts
        for axis in range(3):
            if turn == 0:
                at = corners[alone, axis]
                kept[axis] = at + away / height_k * (corners[k, axis] - at)
                corners[alone, axis] = at + away / height_j * (corners[j, axis] - at)
            else:
                corners[j, axis] = kept[axis]
        heights[alone if turn == 0 else j] = h
        _add_triangle(corners, heights, first if turn == 0 else second, h, up, out)


@compiled
def moments_by_part(
    vertices: Floats, z: Floats, faces: Ints, plan: Floats, part: Ints, levels: Floats, up: Floats
) -> Floats:
    """Volume, its first moments, surface area, its first moments: part (m,), levels (parts,) -> (parts, 8).

    Moments are about the origin of the vertices, along their own axes; z must be vertices @ up.
    """
    out = np.zeros((levels.size, 8))
    corners, heights = np.empty((3, 3)), np.empty(3)
    for t in range(faces.shape[0]):
        h = levels[part[t]]
        below = 0
        for i in range(3):
            for axis in range(3):
                corners[i, axis] = vertices[faces[t, i], axis]
            heights[i] = z[faces[t, i]]
            below += heights[i] < h
        if below == 3:
            _add_triangle(corners, heights, plan[t], h, up, out[part[t]])
        elif below > 0:
            _add_crossed(corners, heights, below, plan[t], h, up, out[part[t]])
    for p in range(levels.size):
        for axis in range(3):  # so far these are of the walls below; over all of a closed body they sum to up * volume
            out[p, 5 + axis] += up[axis] * out[p, 0]
    return out
