"""Closing a surface: corners that lie together, holes as loops and the smallest patch across each, and what that may move."""

from __future__ import annotations

import numpy as np

from fuelsys.arrays import Flags, Floats
from fuelsys.kernels.compiled import compiled
from fuelsys.kernels.edges import Edges, Indices

# Where patches are of one area (all are, in a flat hole), the one with the shortest sides is taken.
_SHORT_SIDES = 1e-7


@compiled
def _gathered(points: Floats, reach: float) -> Indices:
    n = points.shape[0]
    size = 16
    while size < 2 * n:
        size *= 2
    head, following, nearest = np.full(size, -1), np.full(n, -1), np.arange(n)
    cell = np.empty(3, np.int64)
    for i in range(n):
        best = reach * reach
        for axis in range(3):
            cell[axis] = int(np.floor(points[i, axis] / reach))
        for near in range(27):
            slot = _slot(cell[0] + near % 3 - 1, cell[1] + near // 3 % 3 - 1, cell[2] + near // 9 - 1, size)
            j = head[slot]
            while j >= 0:
                away = ((points[j] - points[i]) ** 2).sum()
                if away < best or (away == best and nearest[i] == i):
                    nearest[i], best = j, away
                j = following[j]
        if nearest[i] == i:
            slot = _slot(cell[0], cell[1], cell[2], size)
            following[i], head[slot] = head[slot], i
    return nearest


@compiled
def _slot(x: int, y: int, z: int, size: int) -> int:
    return int((x * 73856093 ^ y * 19349663 ^ z * 83492791) & (size - 1))


def gathered(points: Floats, reach: float) -> Indices:
    """For each point (n, 3) the one it goes to: the nearest of those before it that stay, if one lies within reach; itself else.

    So no point moves further than reach, and points that stay lie further apart than that.

    >>> gathered(np.array([[0.0, 0, 0], [0.8, 0, 0], [1.6, 0, 0]]), 1.0).tolist()
    [0, 0, 2]
    """
    if reach <= 0.0 or not len(points):
        return np.arange(len(points))
    return _gathered(np.ascontiguousarray(points - points.min(axis=0)), reach)


def shaken(corners: Floats, reach: float) -> Floats:
    """Bound on the volume that each triangle (m, 3, 3) sweeps on the way to any other whose corners lie within reach of its own.

    No point of it moves further than reach, and its area stays below the one it has and what longer sides add to it.
    """
    one, two = corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0]
    area = np.linalg.norm(np.cross(one, two), axis=1) / 2.0
    sides = np.linalg.norm(one, axis=1) + np.linalg.norm(two, axis=1)
    return np.asarray(reach * (area + reach * sides + 2.0 * reach**2))


def loops(start: Indices, stop: Indices) -> list[list[int]]:
    """Links start -> stop, as many to each vertex as from it, as closed courses that pass no vertex twice.

    >>> loops(np.array([0, 1, 2, 0, 4, 5]), np.array([1, 2, 0, 4, 5, 0]))
    [[0, 4, 5], [0, 1, 2]]
    """
    leads_to: dict[int, list[int]] = {}
    for a, b in zip(start.tolist(), stop.tolist(), strict=True):
        leads_to.setdefault(a, []).append(b)
    found = []
    for begin in list(leads_to):
        course, place = [begin], {begin: 0}
        while leads_to[course[-1]]:
            following = leads_to[course[-1]].pop()
            if following in place:
                loop = course[place[following] :]
                found.append(loop)
                for passed in loop[1:]:
                    del place[passed]
                course = course[: place[following] + 1]
            else:
                place[following] = len(course)
                course.append(following)
    return found


def rims(faces: Indices, along: Edges) -> list[Indices]:
    """The rims (k,) of the holes in a surface that is wound in one sense, each in the order in which a patch runs.

    Each is a closed course of open edges that passes no vertex twice: holes that share a corner are two.

    >>> from fuelsys.kernels.edges import edges_of
    >>> bowtie = np.array([[0, 1, 2], [0, 3, 4]], dtype=np.int32)
    >>> [sorted(rim.tolist()) for rim in rims(bowtie, edges_of(bowtie))]
    [[0, 3, 4], [0, 1, 2]]
    """
    half = along.half[along.first[along.many == 1]]
    start, stop = faces.reshape(-1)[half], np.roll(faces, -1, axis=1).reshape(-1)[half]
    return [np.array(loop) for loop in loops(stop, start)]


def chord(corners: Floats) -> Floats:
    """Two of a rim's corners (k, 3) that lie far apart, (2, 3): the furthest from their middle and the furthest from that."""
    one = corners[np.linalg.norm(corners - corners.mean(axis=0), axis=1).argmax()]
    return np.stack([one, corners[np.linalg.norm(corners - one, axis=1).argmax()]])


@compiled
def _patch(points: Floats, barred: Flags) -> Indices:
    """Triangles (k - 2, 3) across a loop (k, 3), by dynamic programming over its stretches; none where all are barred."""
    k = points.shape[0]
    cost, split = np.zeros((k, k)), np.full((k, k), -1)
    for width in range(2, k):
        for i in range(k - width):
            j = i + width
            cost[i, j] = np.inf
            if barred[i, j] and width < k - 1:
                continue
            for m in range(i + 1, j):
                ax, ay, az = points[m, 0] - points[i, 0], points[m, 1] - points[i, 1], points[m, 2] - points[i, 2]
                bx, by, bz = points[j, 0] - points[m, 0], points[j, 1] - points[m, 1], points[j, 2] - points[m, 2]
                x, y, z = ay * bz - az * by, az * bx - ax * bz, ax * by - ay * bx
                one, two = ax * ax + ay * ay + az * az, bx * bx + by * by + bz * bz
                three = (ax + bx) ** 2 + (ay + by) ** 2 + (az + bz) ** 2
                area = np.sqrt(x * x + y * y + z * z) / 2.0
                total = cost[i, m] + cost[m, j] + area + _SHORT_SIDES * (one + two + three)
                if total < cost[i, j]:
                    cost[i, j], split[i, j] = total, m
    if not np.isfinite(cost[0, k - 1]):
        return np.empty((0, 3), np.int64)
    faces = np.empty((k - 2, 3), np.int64)
    stack = np.empty((k, 2), np.int64)
    stack[0, 0], stack[0, 1] = 0, k - 1
    n, waiting = 0, 1
    while waiting > 0:
        waiting -= 1
        i, j = stack[waiting, 0], stack[waiting, 1]
        if j - i < 2:
            continue
        m = split[i, j]
        faces[n, 0], faces[n, 1], faces[n, 2] = i, m, j
        n += 1
        stack[waiting, 0], stack[waiting, 1], stack[waiting + 1, 0], stack[waiting + 1, 1] = i, m, m, j
        waiting += 2
    return faces


def patch(points: Floats, barred: Flags) -> Indices:
    """The patch of least area across a loop of corners (k, 3), wound as the loop runs: (k - 2, 3), or none.

    barred (k, k) marks pairs of corners that the surface joins already: the patch has no side there.

    >>> patch(np.array([[0.0, 0, 0], [1, 0, 0], [1, 1, 0], [0, 1, 0]]), np.zeros((4, 4), dtype=np.bool_)).tolist()
    [[0, 1, 3], [1, 2, 3]]
    """
    return _patch(np.ascontiguousarray(points - points.mean(axis=0)), barred)
