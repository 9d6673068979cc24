"""How two triangles lie to each other: apart, touching or crossing, without rounding; how deep, and where they meet.

Crossing means that their insides meet; touching, that only an edge or a corner of one meets the other, beyond the corners
that they share. After Guigue and Devillers, "Fast and robust triangle-triangle overlap test using orientation
predicates", J. Graphics Tools 8 (2003); citation from memory, held by a test against rational numbers.
"""

from __future__ import annotations

import numpy as np

from fuelsys.arrays import Floats
from fuelsys.kernels.compiled import compiled
from fuelsys.kernels.edges import Indices
from fuelsys.kernels.points import nearest_on_triangle
from fuelsys.kernels.predicates import side_of_line, side_of_plane

APART, TOUCH, CROSS = 0, 1, 2
_STEPS = 400


@compiled
def flat_axes(p: Floats, faces: Indices, t: int) -> tuple[int, int]:
    """The two axes on which a triangle shows an area, turned so that it is positive; (-1, -1) for one without area."""
    a, b, c = faces[t, 0], faces[t, 1], faces[t, 2]
    best, size = 0, -1.0
    for k in range(3):
        i, j = (k + 1) % 3, (k + 2) % 3
        area = abs((p[b, i] - p[a, i]) * (p[c, j] - p[a, j]) - (p[b, j] - p[a, j]) * (p[c, i] - p[a, i]))
        if area > size:
            best, size = k, area
    for turn in range(3):
        k = (best + turn) % 3
        i, j = (k + 1) % 3, (k + 2) % 3
        sign = side_of_line(p, a, b, c, i, j)
        if sign != 0:
            return (i, j) if sign > 0 else (j, i)
    return -1, -1


@compiled
def meet(p: Floats, faces: Indices, s: int, t: int) -> int:
    """APART, TOUCH or CROSS for two faces (m, 3) of the points p (n, 3) that have an area and not all corners in common."""
    shared = 0
    one = np.empty(3, np.int64)
    two = np.empty(3, np.int64)
    for i in range(3):  # shared corners first, in both
        for j in range(3):
            if faces[s, i] == faces[t, j]:
                one[shared] = two[shared] = faces[s, i]
                shared += 1
    for own, theirs, mine in ((s, t, one), (t, s, two)):
        k = shared
        for i in range(3):
            v = faces[own, i]
            if v != faces[theirs, 0] and v != faces[theirs, 1] and v != faces[theirs, 2]:
                mine[k] = v
                k += 1
    if shared == 0:
        return _meet_apart(p, faces, s, one, two)
    if shared == 1:
        return _meet_at_corner(p, faces, s, t, one, two)
    if shared == 2:
        return _meet_at_edge(p, faces, s, one, two)
    return APART


@compiled
def _meet_at_edge(p: Floats, faces: Indices, s: int, one: Indices, two: Indices) -> int:
    """Two faces with a common edge cross where one is folded flat onto the other."""
    if side_of_plane(p, one[0], one[1], one[2], two[2]) != 0:
        return APART
    x, y = flat_axes(p, faces, s)
    same = side_of_line(p, one[0], one[1], one[2], x, y) == side_of_line(p, one[0], one[1], two[2], x, y)
    return CROSS if same else APART


@compiled
def _in_wedge(p: Floats, x: int, y: int, v: int, a: int, b: int, q: int) -> int:
    """Does a point of their plane lie between the rays from v through a and b: 1 inside, 0 on a ray, -1 beyond?"""
    turn = side_of_line(p, v, a, b, x, y)
    return min(turn * side_of_line(p, v, a, q, x, y), turn * side_of_line(p, v, q, b, x, y))


@compiled
def _meet_at_corner(p: Floats, faces: Indices, s: int, t: int, one: Indices, two: Indices) -> int:
    """Two faces with one common corner meet beyond it where the wedges that they span there do."""
    v, a, b, c, d = one[0], one[1], one[2], two[1], two[2]
    side_a, side_b = side_of_plane(p, v, c, d, a), side_of_plane(p, v, c, d, b)
    if side_a * side_b > 0:
        return APART
    side_c, side_d = side_of_plane(p, v, a, b, c), side_of_plane(p, v, a, b, d)
    if side_c * side_d > 0:
        return APART
    if side_a * side_b < 0 and side_c * side_d < 0:  # the planes cut each along a ray: the same one, or opposite ones
        return CROSS if side_of_plane(p, a, b, v, c) == -side_a else APART
    x, y = flat_axes(p, faces, s)
    u, w = flat_axes(p, faces, t)
    in_s = _in_wedge(p, x, y, v, a, b, c) if side_c == 0 else -1
    in_s_too = _in_wedge(p, x, y, v, a, b, d) if side_d == 0 else -1
    in_t = _in_wedge(p, u, w, v, c, d, a) if side_a == 0 else -1
    in_t_too = _in_wedge(p, u, w, v, c, d, b) if side_b == 0 else -1
    inner = max(in_s, in_s_too, in_t, in_t_too)
    if inner < 0:
        return APART
    flat = side_a == 0 and side_b == 0
    return CROSS if flat and (inner > 0 or (in_s == 0 and in_s_too == 0)) else TOUCH


@compiled
def _alone(one: int, two: int, three: int) -> tuple[int, bool]:
    """Which of three corners has its side of a plane to itself, and whether that is the plane's back; -1 for all in it."""
    for k in range(3):  # a corner on one side, no other there
        here, left, right = (one, two, three) if k == 0 else ((two, three, one) if k == 1 else (three, one, two))
        if here not in (0, left, right):
            return k, here < 0
    for k in range(3):  # a corner in the plane, both others on one side
        here, left, right = (one, two, three) if k == 0 else ((two, three, one) if k == 1 else (three, one, two))
        if here == 0 and left != 0 and left == right:
            return k, left > 0
    return -1, False


@compiled
def _sides(p: Floats, plane: Indices, of: Indices) -> tuple[int, int, int]:
    """On which side of the plane through three points each of three others lies."""
    x, y, z = plane[0], plane[1], plane[2]
    return -side_of_plane(p, x, y, z, of[0]), -side_of_plane(p, x, y, z, of[1]), -side_of_plane(p, x, y, z, of[2])


@compiled
def _meet_apart(p: Floats, faces: Indices, s: int, one: Indices, two: Indices) -> int:
    """Two faces without a common corner: each is cut by the other's plane along a stretch of one line."""
    a, b, c = _sides(p, two, one)
    if min(a, b, c) > 0 or max(a, b, c) < 0:
        return APART
    d, e, f = _sides(p, one, two)
    if min(d, e, f) > 0 or max(d, e, f) < 0:
        return APART
    first, back_first = _alone(a, b, c)
    last, back_last = _alone(d, e, f)
    if first < 0:
        return _meet_flat(p, faces, s, one, two)
    p1, q1, r1 = one[first], one[(first + 1) % 3], one[(first + 2) % 3]
    p2, q2, r2 = two[last], two[(last + 1) % 3], two[(last + 2) % 3]
    if back_last:
        q1, r1 = r1, q1
    if back_first:
        q2, r2 = r2, q2
    begins, ends = side_of_plane(p, p2, p1, q2, q1), side_of_plane(p, p2, r1, r2, p1)
    if begins > 0 or ends > 0:
        return APART
    cut = min(a, b, c) < 0 < max(a, b, c) and min(d, e, f) < 0 < max(d, e, f)
    return CROSS if cut and begins < 0 and ends < 0 else TOUCH


@compiled
def _meet_flat(p: Floats, faces: Indices, s: int, one: Indices, two: Indices) -> int:
    """Two faces in one plane without a common corner: apart where a side of one has the other beyond it."""
    x, y = flat_axes(p, faces, s)
    touch = False
    for swap in range(2):
        own, other = (one, two) if swap == 0 else (two, one)
        turn = side_of_line(p, own[0], own[1], own[2], x, y)
        for k in range(3):
            a, b = own[k], own[(k + 1) % 3]
            nearest = -1
            for i in range(3):
                nearest = max(nearest, turn * side_of_line(p, a, b, other[i], x, y))
            if nearest < 0:
                return APART
            touch = touch or nearest == 0
    return TOUCH if touch else CROSS


@compiled
def depth(p: Floats, faces: Indices, s: int, t: int) -> float:
    """How far one of two crossing faces must be moved at least for them to come apart; rounded.

    By the least overlap of their shadows on the normals of both and of all pairs of their sides; of faces in one plane,
    on the normals of their sides in that plane.
    """
    nx, ny, nz = _turned(*_way(p, faces[s, 0], faces[s, 1]), *_way(p, faces[s, 0], faces[s, 2]))
    mx, my, mz = _turned(*_way(p, faces[t, 0], faces[t, 1]), *_way(p, faces[t, 0], faces[t, 2]))
    flat = True
    for k in range(3):
        flat = flat and side_of_plane(p, faces[s, 0], faces[s, 1], faces[s, 2], faces[t, k]) == 0
    least = np.inf
    for k in range(6 if flat else 11):
        i, j = k // 3 % 3, k % 3
        ax, ay, az = _way(p, faces[s, i], faces[s, (i + 1) % 3])
        bx, by, bz = _way(p, faces[t, j], faces[t, (j + 1) % 3])
        if k < 9 and not flat:
            x, y, z = _turned(ax, ay, az, bx, by, bz)
        elif k < 3:
            x, y, z = _turned(bx, by, bz, nx, ny, nz)
        elif k < 6:
            ax, ay, az = _way(p, faces[s, j], faces[s, (j + 1) % 3])
            x, y, z = _turned(ax, ay, az, nx, ny, nz)
        else:
            x, y, z = (nx, ny, nz) if k == 9 else (mx, my, mz)
        least = min(least, _shadow(p, faces, s, t, x, y, z))
    return least


@compiled
def _way(p: Floats, a: int, b: int) -> tuple[float, float, float]:
    return p[b, 0] - p[a, 0], p[b, 1] - p[a, 1], p[b, 2] - p[a, 2]


@compiled
def _turned(ax: float, ay: float, az: float, bx: float, by: float, bz: float) -> tuple[float, float, float]:
    """The product of two directions that is normal to both."""
    return ay * bz - az * by, az * bx - ax * bz, ax * by - ay * bx


@compiled
def _shadow(p: Floats, faces: Indices, s: int, t: int, wx: float, wy: float, wz: float) -> float:
    """Overlap of the shadows of two triangles on a direction; infinite for a direction of no length."""
    length = np.sqrt(wx * wx + wy * wy + wz * wz)
    ax, ay, az = _way(p, faces[s, 0], faces[s, 1])
    bx, by, bz = _way(p, faces[t, 0], faces[t, 1])
    if length <= 1e-12 * np.sqrt((ax * ax + ay * ay + az * az) * (bx * bx + by * by + bz * bz)):
        return np.inf
    low, high, low_too, high_too = np.inf, -np.inf, np.inf, -np.inf
    for k in range(3):
        x, y, z = _way(p, faces[s, 0], faces[s, k])
        a = (x * wx + y * wy + z * wz) / length
        x, y, z = _way(p, faces[s, 0], faces[t, k])
        b = (x * wx + y * wy + z * wz) / length
        low, high, low_too, high_too = min(low, a), max(high, a), min(low_too, b), max(high_too, b)
    return max(0.0, min(high - low_too, high_too - low))


@compiled
def meeting_point(p: Floats, faces: Indices, s: int, t: int) -> Floats:
    """A point where two faces meet: from one to the nearest point of the other and back, until that moves no more."""
    a, b, c = p[faces[s, 0]], p[faces[s, 1]], p[faces[s, 2]]
    d, e, f = p[faces[t, 0]], p[faces[t, 1]], p[faces[t, 2]]
    middle = np.empty(3)
    size = 0.0
    for k in range(3):
        middle[k] = (a[k] + b[k] + c[k]) / 3.0
        size = max(size, abs(b[k] - a[k]), abs(c[k] - a[k]))
    here = nearest_on_triangle(middle, d, e, f)
    for _ in range(_STEPS):
        there = nearest_on_triangle(here, a, b, c)
        here = nearest_on_triangle(there, d, e, f)
        if max(abs(here[0] - there[0]), abs(here[1] - there[1]), abs(here[2] - there[2])) <= 1e-9 * size:
            break
    return here
