"""On which side a point lies, decided without rounding: of a plane through three points, of a line through two.

A quick sum decides where it is surely right; where rounding could turn its sign, the sum is made exactly, from parts that
hold what rounding drops. After Shewchuk, "Adaptive precision floating-point arithmetic and fast robust geometric
predicates", Discrete Comput. Geom. 18 (1997); citation and error bounds from memory, held by a test against rational numbers.
Exact for coordinates that are zero or between 1e-70 and 1e90 in size, and whose differences are.
"""

from __future__ import annotations

import numpy as np

from fuelsys.arrays import Floats
from fuelsys.kernels.compiled import compiled

_EPS = 2.0**-53
_BOUND_3D = (7.0 + 56.0 * _EPS) * _EPS
_BOUND_2D = (3.0 + 16.0 * _EPS) * _EPS
_SPLIT = 2.0**27 + 1.0
# The six products of a determinant: which column each row gives, and the sign.
_PRODUCTS = ((0, 1, 2, 1.0), (1, 2, 0, 1.0), (2, 0, 1, 1.0), (2, 1, 0, -1.0), (1, 0, 2, -1.0), (0, 2, 1, -1.0))


@compiled
def _sum(a: float, b: float) -> tuple[float, float]:
    """a + b, rounded, and what rounding dropped."""
    s = a + b
    t = s - a
    return s, (a - (s - t)) + (b - t)


@compiled
def _product(a: float, b: float) -> tuple[float, float]:
    """a times b, rounded, and what rounding dropped."""
    p = a * b
    t = _SPLIT * a
    a1 = t - (t - a)
    a2 = a - a1
    t = _SPLIT * b
    b1 = t - (t - b)
    b2 = b - b1
    return p, a2 * b2 - (((p - a1 * b1) - a2 * b1) - a1 * b2)


@compiled
def _sign(value: float) -> int:
    return 1 if value > 0.0 else (-1 if value < 0.0 else 0)


@compiled
def sign_of_sum(terms: Floats, n: int) -> int:
    """Sign of the exact sum of the first n terms, kept as parts that do not overlap, smallest first."""
    parts = np.empty(n)
    m = 0
    for i in range(n):
        carried = terms[i]
        k = 0
        for j in range(m):
            carried, dropped = _sum(carried, parts[j])
            if dropped != 0.0:
                parts[k] = dropped
                k += 1
        if carried != 0.0:
            parts[k] = carried
            k += 1
        m = k
    return _sign(parts[m - 1]) if m else 0


@compiled
def _exact_3d(p: Floats, a: int, b: int, c: int, d: int) -> int:
    sides = np.empty((3, 3, 2))
    for k in range(3):
        sides[0, k, 0], sides[0, k, 1] = _sum(p[a, k], -p[d, k])
        sides[1, k, 0], sides[1, k, 1] = _sum(p[b, k], -p[d, k])
        sides[2, k, 0], sides[2, k, 1] = _sum(p[c, k], -p[d, k])
    terms = np.empty(6 * 8 * 4)
    n = 0
    for i, j, k, sign in _PRODUCTS:
        for parts in range(8):
            x, y, z = sides[0, i, parts & 1], sides[1, j, parts >> 1 & 1], sides[2, k, parts >> 2]
            if x == 0.0 or y == 0.0 or z == 0.0:
                continue
            high, low = _product(x, y)
            terms[n], terms[n + 1] = _product(high, sign * z)
            terms[n + 2], terms[n + 3] = _product(low, sign * z)
            n += 4
    return sign_of_sum(terms, n)


@compiled
def side_of_plane(p: Floats, a: int, b: int, c: int, d: int) -> int:
    """Sign of (a-d) x (b-d) . (c-d) of four of the points p (n, 3): -1, 0 or 1, as if there were no rounding.

    Positive where d lies behind the plane of a, b, c, whose front sees them turn counter-clockwise.
    """
    ax, ay, az = p[a, 0] - p[d, 0], p[a, 1] - p[d, 1], p[a, 2] - p[d, 2]
    bx, by, bz = p[b, 0] - p[d, 0], p[b, 1] - p[d, 1], p[b, 2] - p[d, 2]
    cx, cy, cz = p[c, 0] - p[d, 0], p[c, 1] - p[d, 1], p[c, 2] - p[d, 2]
    bxcy, cxby, cxay = bx * cy, cx * by, cx * ay
    axcy, axby, bxay = ax * cy, ax * by, bx * ay
    value = az * (bxcy - cxby) + bz * (cxay - axcy) + cz * (axby - bxay)
    size = (abs(bxcy) + abs(cxby)) * abs(az) + (abs(cxay) + abs(axcy)) * abs(bz) + (abs(axby) + abs(bxay)) * abs(cz)
    if abs(value) > _BOUND_3D * size:
        return _sign(value)
    return _exact_3d(p, a, b, c, d) if size > 0.0 else 0


@compiled
def _exact_2d(p: Floats, a: int, b: int, c: int, x: int, y: int) -> int:
    sides = np.empty((4, 2))
    sides[0, 0], sides[0, 1] = _sum(p[a, x], -p[c, x])
    sides[1, 0], sides[1, 1] = _sum(p[b, y], -p[c, y])
    sides[2, 0], sides[2, 1] = _sum(-p[a, y], p[c, y])
    sides[3, 0], sides[3, 1] = _sum(p[b, x], -p[c, x])
    terms = np.empty(16)
    n = 0
    for first in (0, 2):
        for i in range(2):
            for j in range(2):
                terms[n], terms[n + 1] = _product(sides[first, i], sides[first + 1, j])
                n += 2
    return sign_of_sum(terms, n)


@compiled
def side_of_line(p: Floats, a: int, b: int, c: int, x: int, y: int) -> int:
    """Sign of the area of the triangle a, b, c seen on the axes x and y: -1, 0 or 1, as if there were no rounding."""
    one = (p[a, x] - p[c, x]) * (p[b, y] - p[c, y])
    two = (p[a, y] - p[c, y]) * (p[b, x] - p[c, x])
    value = one - two
    size = abs(one) + abs(two)
    if abs(value) > _BOUND_2D * size:
        return _sign(value)
    return _exact_2d(p, a, b, c, x, y) if size > 0.0 else 0
