"""Where a surface passes through itself: pairs of faces that cross or touch beyond the corners that they share.

Faces are sorted along a curve that fills space and put in a tree of boxes; each face is held against those whose boxes
meet its own. Whether two faces cross is decided without rounding of ours (see predicates.py and triangles.py), for the
coordinates as they stand. Those were rounded when the file was written: surfaces that only touch in CAD may cross in the
file, or stay apart, by as much (in a single-precision file up to 0.06 um at 1 m from the origin; in text of six digits up
to 5 um). So crossings that are less deep than a stated length are counted apart, with the touching ones.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from fuelsys.arrays import Floats
from fuelsys.kernels.boxes import LEAF, box_apart, boxes, boxes_apart, tree_order
from fuelsys.kernels.compiled import compiled
from fuelsys.kernels.edges import Indices
from fuelsys.kernels.triangles import APART, CROSS, depth, flat_axes, meet, meeting_point

MOST_COUNTED = 100_000
_LEAST_ROOM = 1 << 16  # pairs that are judged at a time
_CLEAR, _ON = 1e-10, 1e-12  # shares of a length: surely beyond a plane; as good as in it


class Crossings(NamedTuple):
    """Pairs of faces: the first of each sort, where they meet, and how many there are; all: the count was not stopped."""

    crossing: Indices  # (k, 2) deeper than the stated length
    crossing_at: Floats  # (k, 3)
    n_crossing: int
    grazing: Indices  # (k, 2) not deeper, or touching only
    grazing_at: Floats  # (k, 3)
    n_grazing: int
    all: bool


@compiled
def _parted(p: Floats, faces: Indices, s: int, t: int, normals: Floats) -> bool:
    """Does a plane along face s or along one of its sides part it from face t, but for shared corners, beyond doubt?"""
    nx, ny, nz = normals[s, 0], normals[s, 1], normals[s, 2]
    for way in range(4):
        a, b, c = faces[s, way % 3], faces[s, (way + 1) % 3], faces[s, (way + 2) % 3]
        if way < 3:
            ex, ey, ez = p[b, 0] - p[a, 0], p[b, 1] - p[a, 1], p[b, 2] - p[a, 2]
            wx, wy, wz = ey * nz - ez * ny, ez * nx - ex * nz, ex * ny - ey * nx
        else:
            wx, wy, wz = nx, ny, nz
        size = abs(wx) + abs(wy) + abs(wz)
        if size == 0.0:
            continue
        parted, sense = True, 0.0
        for i in range(6):
            v = faces[s, i] if i < 3 else faces[t, i - 3]
            x, y, z = p[v, 0] - p[a, 0], p[v, 1] - p[a, 1], p[v, 2] - p[a, 2]
            value, reach = wx * x + wy * y + wz * z, size * (abs(x) + abs(y) + abs(z))
            if v in (a, b) or (way == 3 and v == c):
                parted = abs(value) <= _ON * reach
            elif i < 3:
                parted = value <= -_CLEAR * reach
            elif way < 3:
                parted = value >= _CLEAR * reach
            else:
                parted = abs(value) >= _CLEAR * reach and value * sense >= 0.0
                sense = value
            if not parted:
                break
        if parted:
            return True
    return False


@compiled
def _parted_by_sides(p: Floats, faces: Indices, s: int, t: int) -> bool:
    """Does a plane along a side of each part two faces, but for a shared corner, beyond doubt?"""
    shared = -1
    for k in range(9):
        if faces[s, k // 3] == faces[t, k % 3]:
            shared = faces[s, k // 3]
    r = shared if shared >= 0 else faces[s, 0]
    for way in range(9):
        a, b, c, d = faces[s, way // 3], faces[s, (way // 3 + 1) % 3], faces[t, way % 3], faces[t, (way % 3 + 1) % 3]
        ex, ey, ez = p[b, 0] - p[a, 0], p[b, 1] - p[a, 1], p[b, 2] - p[a, 2]
        fx, fy, fz = p[d, 0] - p[c, 0], p[d, 1] - p[c, 1], p[d, 2] - p[c, 2]
        wx, wy, wz = ey * fz - ez * fy, ez * fx - ex * fz, ex * fy - ey * fx
        size = abs(wx) + abs(wy) + abs(wz)
        low, high, low_too, high_too, reach = np.inf, -np.inf, np.inf, -np.inf, 0.0
        for k in range(6):
            v = faces[s, k] if k < 3 else faces[t, k - 3]
            if v == shared:
                continue
            x, y, z = p[v, 0] - p[r, 0], p[v, 1] - p[r, 1], p[v, 2] - p[r, 2]
            value, reach = wx * x + wy * y + wz * z, max(reach, abs(x) + abs(y) + abs(z))
            if k < 3:
                low, high = min(low, value), max(high, value)
            else:
                low_too, high_too = min(low_too, value), max(high_too, value)
        clear = _CLEAR * size * reach
        if shared >= 0:  # each on its side of the shared corner
            parted = (high <= -clear and low_too >= clear) or (low >= clear and high_too <= -clear)
        else:
            parted = low_too - high >= clear or low - high_too >= clear
        if parted and size > 0.0:
            return True
    return False


@compiled
def _near(
    p: Floats, faces: Indices, normals: Floats, order: Indices, box: Floats, begin: Indices, start: int, pairs: Indices
) -> tuple[int, int]:
    """Fill pairs of faces that are not surely apart, those of the ordered faces from start on: their number, the next face.

    Where they are more than pairs can hold, all those of the last face are left for the next call.
    """
    found = 0
    stack = np.empty((64, 2), np.int64)
    own = np.empty(6)
    for i in range(start, order.size):
        s, before = order[i], found
        for axis in range(3):
            x, y, z = p[faces[s, 0], axis], p[faces[s, 1], axis], p[faces[s, 2], axis]
            own[axis], own[3 + axis] = min(x, y, z), max(x, y, z)
        stack[0, 0], stack[0, 1] = begin.size - 2, 0
        waiting = 1
        while waiting > 0:
            waiting -= 1
            level, k = stack[waiting, 0], stack[waiting, 1]
            if (k + 1) * LEAF << level <= i + 1:  # all its faces come before this one, which was held against them
                continue
            if box_apart(box, begin[level] + k, own):
                continue
            if level > 0:
                for child in range(2 * k, min(2 * k + 2, begin[level] - begin[level - 1])):
                    stack[waiting, 0], stack[waiting, 1] = level - 1, child
                    waiting += 1
                continue
            for j in range(max(i + 1, k * LEAF), min((k + 1) * LEAF, order.size)):
                t = order[j]
                if (
                    boxes_apart(p, faces, t, own)
                    or _parted(p, faces, s, t, normals)
                    or _parted(p, faces, t, s, normals)
                ):
                    continue
                if _parted_by_sides(p, faces, s, t):
                    continue
                if found == pairs.shape[0]:
                    return before, i
                pairs[found, 0], pairs[found, 1] = s, t
                found += 1
    return found, order.size


@compiled
def _judge(
    p: Floats, faces: Indices, weak: Indices, shallow: float, most: int, pairs: Indices, crossing: Indices, grazing: Indices,
    count: Indices,
) -> bool:  # fmt: skip
    """Add crossing and grazing pairs to the first of each and to their count (2,); False where one of these reached most."""
    for n in range(pairs.shape[0]):
        s, t = pairs[n, 0], pairs[n, 1]
        how = meet(p, faces, s, t)
        if how == APART:
            continue
        sort = 0 if how == CROSS and depth(p, faces, s, t) > shallow else 1
        if sort == 1 and _joined(faces, weak, s, t):
            continue
        kept = crossing if sort == 0 else grazing
        if count[sort] < kept.shape[0]:
            kept[count[sort], 0], kept[count[sort], 1] = min(s, t), max(s, t)
        count[sort] += 1
        if count[sort] >= most:
            return False
    return True


@compiled
def _joined(faces: Indices, weak: Indices, s: int, t: int) -> bool:
    """Do two faces touch because a face without area, which lies between them, joins them?"""
    for i in range(3):
        for j in range(3):
            if weak[faces[s, i]] >= 0 and weak[faces[s, i]] == weak[faces[t, j]]:
                return True
    return False


def _of_one_type(vertices: Floats, faces: Indices) -> tuple[Floats, Indices]:
    """Copies of one type for all callers: the exact tests take ten seconds to compile, and once more for each other type."""
    return np.array(vertices, np.float64), np.array(faces, np.int32)


def without_area(p: Floats, faces: Indices) -> Indices:
    """Faces whose corners lie on one line, exactly: (k,). Only those that rounding leaves in doubt are looked at so."""
    p, faces = _of_one_type(p, faces)
    a, b, c = (p[faces[:, k]] for k in range(3))
    area = np.abs(np.cross(b - a, c - a)).max(axis=1)
    doubtful = np.flatnonzero(~(area > _CLEAR * np.abs(b - a).max(axis=1) * np.abs(c - a).max(axis=1)))
    found = [t for t in doubtful.tolist() if flat_axes(p, faces, t)[0] < 0]
    return np.array(found, np.int64)


@compiled
def _weak_corners(faces: Indices, flat: Indices, n_points: int) -> Indices:
    """Corners of faces without area, numbered alike where such faces hang together; -1 for all other corners."""
    weak = np.full(n_points, -1, np.int64)
    moved = True
    for t in flat:
        for k in range(3):
            weak[faces[t, k]] = faces[t, 0]
    while moved:
        moved = False
        for t in flat:
            least = min(weak[faces[t, 0]], weak[faces[t, 1]], weak[faces[t, 2]])
            for k in range(3):
                if weak[faces[t, k]] != least:
                    weak[faces[t, k]] = least
                    moved = True
    return weak


def crossings(
    vertices: Floats, faces: Indices, shallow: float = 0.0, *, first: int = 1000, most: int = MOST_COUNTED
) -> Crossings:
    """Pairs of faces (m, 3) of a welded surface that meet beyond the corners they share; shallow in the vertices' unit.

    Faces without area meet nothing, and faces with the same three corners do not count: they are faults of their own.
    Counting stops at most pairs of a sort. The memory needed grows with the faces alone, not with the pairs.

    >>> corners = np.array([[0.0, 0, 0], [4, 0, 0], [0, 4, 0], [1, 1, -1], [1, 1, 1], [9, 1, 0]])
    >>> found = crossings(corners, np.array([[0, 1, 2], [3, 4, 5]], dtype=np.int32))
    >>> found.crossing.tolist(), found.n_crossing, found.n_grazing
    ([[0, 1]], 1, 0)
    """
    vertices, faces = _of_one_type(vertices, faces)
    flat = without_area(vertices, faces)
    kept = np.ones(len(faces), dtype=np.bool_)
    kept[flat] = False
    order: Indices = np.flatnonzero(kept)
    crossing, grazing = np.zeros((first, 2), np.int64), np.zeros((first, 2), np.int64)
    count, everything = np.zeros(2, np.int64), True
    if order.size > 1:
        corners = [vertices[faces[:, k]] for k in range(3)]
        order = tree_order(vertices, faces, order)
        normals = np.cross(corners[1] - corners[0], corners[2] - corners[0])
        box, begin = boxes(vertices, faces, order)
        weak: Indices | None = None
        pairs, start = np.empty((max(order.size, _LEAST_ROOM), 2), np.int64), 0
        while everything and start < order.size:
            found, start = _near(vertices, faces, normals, order, box, begin, start, pairs)
            if found:  # few or none in a sound mesh: what follows is then neither run nor compiled
                weak = _weak_corners(faces, flat, len(vertices)) if weak is None else weak
                near = pairs[:found]
                everything = _judge(vertices, faces, weak, shallow, most, near, crossing, grazing, count)
    crossing, grazing = crossing[: count[0]], grazing[: count[1]]
    return Crossings(
        crossing, _where(vertices, faces, crossing), int(count[0]), grazing, _where(vertices, faces, grazing), int(count[1]),
        everything,
    )  # fmt: skip


def _where(vertices: Floats, faces: Indices, pairs: Indices) -> Floats:
    return np.array([meeting_point(vertices, faces, s, t) for s, t in pairs]).reshape(-1, 3)
