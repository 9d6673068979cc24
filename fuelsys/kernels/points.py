"""Where a point lies against a closed triangle surface: inside or not, and the nearest face."""

from __future__ import annotations

from math import atan2, sqrt

import numpy as np

from fuelsys.arrays import Flags, Floats, Ints
from fuelsys.kernels.compiled import compiled


@compiled
def along(given: Floats, way: Floats) -> Floats:
    """Each of some points or vectors along a direction: (n, 3), (3,) -> (n,).

    One pass in a fixed order. The product that numpy hands to its algebra library is shared out to threads, which is slower
    by far where others use the cores, and need not give the same digits.

    >>> along(np.array([[1.0, 2.0, 3.0]]), np.array([0.0, 0.5, 1.0])).tolist()
    [4.0]
    """
    out = np.empty(given.shape[0])
    for i in range(given.shape[0]):
        out[i] = given[i, 0] * way[0] + given[i, 1] * way[1] + given[i, 2] * way[2]
    return out


@compiled
def winding(point: Floats, vertices: Floats, faces: Ints) -> float:
    """Solid angle of a surface seen from a point, in full spheres: 1 inside an outward closed surface, 0 outside.

    Van Oosterom and Strackee's formula, "The solid angle of a plane triangle", IEEE Trans. Biomed. Eng. 30 (1983);
    citation from memory.
    """
    total = 0.0
    for t in range(faces.shape[0]):
        i, j, k = faces[t, 0], faces[t, 1], faces[t, 2]
        ax, ay, az = vertices[i, 0] - point[0], vertices[i, 1] - point[1], vertices[i, 2] - point[2]
        bx, by, bz = vertices[j, 0] - point[0], vertices[j, 1] - point[1], vertices[j, 2] - point[2]
        cx, cy, cz = vertices[k, 0] - point[0], vertices[k, 1] - point[1], vertices[k, 2] - point[2]
        la, lb, lc = (
            sqrt(ax * ax + ay * ay + az * az),
            sqrt(bx * bx + by * by + bz * bz),
            sqrt(cx * cx + cy * cy + cz * cz),
        )
        triple = ax * (by * cz - bz * cy) + ay * (bz * cx - bx * cz) + az * (bx * cy - by * cx)
        below = la * lb * lc + (ax * bx + ay * by + az * bz) * lc + (bx * cx + by * cy + bz * cz) * la
        total += atan2(triple, below + (cx * ax + cy * ay + cz * az) * lb)
    return total / (2.0 * np.pi)


def inside(point: Floats, vertices: Floats, faces: Ints) -> bool:
    """Does a point lie inside a closed outward surface?

    >>> corner = np.array([[0.0, 0, 0], [1, 0, 0], [0, 1, 0], [0, 0, 1]])
    >>> faces = np.array([[0, 2, 1], [0, 1, 3], [0, 3, 2], [1, 2, 3]], dtype=np.int32)
    >>> inside(np.array([0.1, 0.1, 0.1]), corner, faces), inside(np.array([1.0, 1, 1]), corner, faces)
    (True, False)
    """
    return bool(winding(point, vertices, faces) > 0.5)


@compiled
def _shares(p: Floats, a: Floats, b: Floats, c: Floats) -> tuple[float, float]:
    """Where the nearest point of a triangle to p lies, as shares of the sides from a to b and to c.

    By the triangle's seven regions (Ericson, "Real-Time Collision Detection", 2005, section 5.1.5; from memory).
    """
    d1 = d2 = d3 = d4 = d5 = d6 = 0.0
    for k in range(3):
        ab, ac = b[k] - a[k], c[k] - a[k]
        d1 += ab * (p[k] - a[k])
        d2 += ac * (p[k] - a[k])
        d3 += ab * (p[k] - b[k])
        d4 += ac * (p[k] - b[k])
        d5 += ab * (p[k] - c[k])
        d6 += ac * (p[k] - c[k])
    if d1 <= 0.0 and d2 <= 0.0:
        return 0.0, 0.0
    if d3 >= 0.0 and d4 <= d3:
        return 1.0, 0.0
    if d6 >= 0.0 and d5 <= d6:
        return 0.0, 1.0
    vc, vb, va = d1 * d4 - d3 * d2, d5 * d2 - d1 * d6, d3 * d6 - d5 * d4
    if vc <= 0.0 <= d1 and d3 <= 0.0:
        return d1 / (d1 - d3), 0.0
    if vb <= 0.0 <= d2 and d6 <= 0.0:
        return 0.0, d2 / (d2 - d6)
    if va <= 0.0 and d4 >= d3 and d5 >= d6:
        share = (d4 - d3) / ((d4 - d3) + (d5 - d6))
        return 1.0 - share, share
    whole = va + vb + vc
    return vb / whole, vc / whole


@compiled
def nearest_on_triangle(p: Floats, a: Floats, b: Floats, c: Floats) -> Floats:
    """Nearest point of a triangle to p: (3,)."""
    u, v = _shares(p, a, b, c)
    at = np.empty(3)
    for k in range(3):
        at[k] = a[k] + u * (b[k] - a[k]) + v * (c[k] - a[k])
    return at


@compiled
def _within(point: Floats, vertices: Floats, faces: Ints, reach: float) -> Flags:
    """Which faces (m,) come nearer to a point than a reach, and which of their sides (m, 3): (m, 4)."""
    near = np.zeros((faces.shape[0], 4), np.bool_)
    for t in range(faces.shape[0]):
        for k in range(4):
            a, b = vertices[faces[t, k % 3]], vertices[faces[t, (k + 1) % 3]]
            c = vertices[faces[t, (k + 2) % 3]] if k == 3 else b
            at = nearest_on_triangle(point, a, b, c)
            near[t, k] = (at[0] - point[0]) ** 2 + (at[1] - point[1]) ** 2 + (at[2] - point[2]) ** 2 <= reach * reach
    return near


def sides(point: Floats, vertices: Floats, faces: Ints, reach: float) -> int:
    """How many pieces of a closed surface come within reach of a point: pieces that do not hang together within it.

    Two where the point lies in thin metal between fluid on this side and on that: a slab of 0.2 with fluid all round it.

    >>> corners = np.array([[x, y, z] for z in (0.0, 0.2) for y in (0.0, 9) for x in (0.0, 9)])
    >>> quads = [[0, 2, 3, 1], [4, 5, 7, 6], [0, 1, 5, 4], [2, 6, 7, 3], [0, 4, 6, 2], [1, 3, 7, 5]]
    >>> faces = np.array([[q[0], *q[k : k + 2]] for q in quads for k in (1, 2)], dtype=np.int32)
    >>> [sides(np.array([4.0, 4.0, z]), corners, faces, 0.3) for z in (0.1, -0.2, 9.0)]
    [2, 1, 0]
    """
    near = _within(point, vertices, faces, reach)
    chosen = np.flatnonzero(near[:, 3])
    joins = near[chosen, :3]
    starts, ends = faces[chosen], np.roll(faces[chosen], -1, axis=1)
    keys = np.minimum(starts, ends).astype(np.int64) * len(vertices) + np.maximum(starts, ends)
    label = np.arange(len(chosen))
    for key in np.unique(keys[joins]):
        its = np.flatnonzero(((keys == key) & joins).any(axis=1))
        label[np.isin(label, label[its])] = label[its].min()
    return int(np.unique(label).size)


@compiled
def nearest(point: Floats, vertices: Floats, faces: Ints) -> tuple[int, Floats]:
    """Nearest face of a surface and the nearest point on it: -> face, (3,). Of faces that are equally near, the first.

    Faces whose box is further away than the best so far are passed over, with a tenth of a nanometre and a millionth to
    spare for rounding.
    """
    best, best_d, best_p = -1, np.inf, np.empty(3)
    for t in range(faces.shape[0]):
        a, b, c = faces[t, 0], faces[t, 1], faces[t, 2]
        box_d = 0.0
        for k in range(3):
            low = min(vertices[a, k], vertices[b, k], vertices[c, k])
            high = max(vertices[a, k], vertices[b, k], vertices[c, k])
            away = max(low - point[k], point[k] - high, 0.0)
            box_d += away * away
        if box_d > 1.000001 * best_d + 1e-20:
            continue
        at = nearest_on_triangle(point, vertices[a], vertices[b], vertices[c])
        d = (at[0] - point[0]) ** 2 + (at[1] - point[1]) ** 2 + (at[2] - point[2]) ** 2
        if d < best_d:
            best, best_d, best_p = t, d, at
    return best, best_p
