"""Where a point lies against a closed triangle surface: inside or not, and the nearest face."""

from __future__ import annotations

import numpy as np

from fuelsys.kernels.compiled import Floats, Ints, compiled


@compiled
def winding(point: Floats, vertices: Floats, faces: Ints) -> float:
    """Solid angle of a surface seen from a point, in full spheres: 1 inside an outward closed surface, 0 outside.

    Van Oosterom and Strackee's formula, "The solid angle of a plane triangle", IEEE Trans. Biomed. Eng. 30 (1983);
    citation from memory.
    """
    total = 0.0
    for t in range(faces.shape[0]):
        a = vertices[faces[t, 0]] - point
        b = vertices[faces[t, 1]] - point
        c = vertices[faces[t, 2]] - point
        la, lb, lc = np.sqrt((a * a).sum()), np.sqrt((b * b).sum()), np.sqrt((c * c).sum())
        triple = (
            a[0] * (b[1] * c[2] - b[2] * c[1]) + a[1] * (b[2] * c[0] - b[0] * c[2]) + a[2] * (b[0] * c[1] - b[1] * c[0])
        )
        below = la * lb * lc + (a * b).sum() * lc + (b * c).sum() * la + (c * a).sum() * lb
        total += np.arctan2(triple, below)
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
def nearest_on_triangle(p: Floats, a: Floats, b: Floats, c: Floats) -> Floats:
    """Nearest point of a triangle, by its seven regions (Ericson, "Real-Time Collision Detection", 2005, section 5.1.5)."""
    ab, ac, ap = b - a, c - a, p - a
    d1, d2 = (ab * ap).sum(), (ac * ap).sum()
    if d1 <= 0.0 and d2 <= 0.0:
        return a
    bp = p - b
    d3, d4 = (ab * bp).sum(), (ac * bp).sum()
    if d3 >= 0.0 and d4 <= d3:
        return b
    cp = p - c
    d5, d6 = (ab * cp).sum(), (ac * cp).sum()
    if d6 >= 0.0 and d5 <= d6:
        return c
    vc = d1 * d4 - d3 * d2
    if vc <= 0.0 <= d1 and d3 <= 0.0:
        return a + ab * (d1 / (d1 - d3))
    vb = d5 * d2 - d1 * d6
    if vb <= 0.0 <= d2 and d6 <= 0.0:
        return a + ac * (d2 / (d2 - d6))
    va = d3 * d6 - d5 * d4
    if va <= 0.0 and d4 >= d3 and d5 >= d6:
        return b + (c - b) * ((d4 - d3) / ((d4 - d3) + (d5 - d6)))
    whole = va + vb + vc
    return a + ab * (vb / whole) + ac * (vc / whole)


@compiled
def nearest(point: Floats, vertices: Floats, faces: Ints) -> tuple[int, Floats]:
    """Nearest face of a surface and the nearest point on it: -> face, (3,)."""
    best, best_d, best_p = -1, np.inf, point.copy()
    for t in range(faces.shape[0]):
        q = nearest_on_triangle(point, vertices[faces[t, 0]], vertices[faces[t, 1]], vertices[faces[t, 2]])
        d = ((q - point) ** 2).sum()
        if d < best_d:
            best, best_d, best_p = t, d, q.copy()
    return best, best_p
