"""Where the walls of a closed surface face each other across less fluid than a width: passages too narrow to count on.

Two faces bound a narrow passage where each lies before the other, their normals point apart, and parts of them are
nearer than the width. The part of each that lies over the other is cut out; the hull of both is what fills the
passage there. Surfaces that touch, or are sunk into each other by less than a stated depth, bound one of no width.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from fuelsys.arrays import Floats, Ints
from fuelsys.kernels.boxes import LEAF, box_apart, boxes, boxes_apart, tree_order
from fuelsys.kernels.compiled import compiled
from fuelsys.kernels.edges import Indices
from fuelsys.kernels.surface import vector_areas

MOST_PAIRS = 100_000
# Walls face each other where their outward normals turn by more than this from a right angle (its cosine); walls that
# have a corner in common only where they are folded nearly flat onto each other: else every sharp edge would count.
_FACING, _FOLDED = -0.1, -0.998
_ROOM = 9  # corners of a triangle cut by five planes, and one more


class Films(NamedTuple):
    """Pairs of facing parts: corners (k, 18, 3) of both, how many of them count (k,), their gap (k,); all: none was left out."""

    corners: Floats
    number: Indices
    gap: Floats
    all: bool


@compiled
def _cut(part: Floats, n: int, way: Floats, most: float) -> int:
    """Keep of a convex polygon, its first n corners, what lies no further along a direction than most; its new number."""
    kept = np.empty((_ROOM + 1, 3))
    found = 0
    for i in range(n):
        j = (i + 1) % n
        here = part[i, 0] * way[0] + part[i, 1] * way[1] + part[i, 2] * way[2] - most
        there = part[j, 0] * way[0] + part[j, 1] * way[1] + part[j, 2] * way[2] - most
        if here <= 0.0:
            for k in range(3):
                kept[found, k] = part[i, k]
            found += 1
        if (here < 0.0 < there) or (there < 0.0 < here):
            share = here / (here - there)
            for k in range(3):
                kept[found, k] = part[i, k] + share * (part[j, k] - part[i, k])
            found += 1
    for i in range(found):
        for k in range(3):
            part[i, k] = kept[i, k]
    return found


@compiled
def _over(p: Floats, faces: Ints, unit: Floats, s: int, t: int, width: float, touch: float, part: Floats) -> int:
    """Fill part with what of face s lies before face t, over it and no further than the width: its number of corners."""
    a = faces[t, 0]
    way = np.empty(3)
    for i in range(3):
        for k in range(3):
            part[i, k] = p[faces[s, i], k]
    n = 3
    for sense in (1.0, -1.0):
        base = 0.0
        for k in range(3):
            way[k] = sense * unit[t, k]
            base += way[k] * p[a, k]
        n = _cut(part, n, way, base + (touch if sense > 0.0 else width))
    for i in range(3):
        a, b = faces[t, i], faces[t, (i + 1) % 3]
        ex, ey, ez = p[b, 0] - p[a, 0], p[b, 1] - p[a, 1], p[b, 2] - p[a, 2]
        way[0], way[1], way[2] = (
            ey * unit[t, 2] - ez * unit[t, 1],
            ez * unit[t, 0] - ex * unit[t, 2],
            ex * unit[t, 1] - ey * unit[t, 0],
        )
        size = np.sqrt(way[0] ** 2 + way[1] ** 2 + way[2] ** 2)
        base = 0.0
        for k in range(3):
            way[k] /= size
            base += way[k] * p[a, k]
        n = _cut(part, n, way, base + width)
    return n


@compiled
def _gap(p: Floats, faces: Ints, unit: Floats, t: int, part: Floats, n: int) -> float:
    """How far before face t the nearest of n corners lies, 0 where one touches it."""
    least = np.inf
    for i in range(n):
        off = 0.0
        for k in range(3):
            off -= unit[t, k] * (part[i, k] - p[faces[t, 0], k])
        least = min(least, max(off, 0.0))
    return least


@compiled
def _films(
    p: Floats, faces: Ints, unit: Floats, order: Indices, box: Floats, begin: Indices, width: float, touch: float,
    corners: Floats, number: Indices, gap: Floats,
) -> int:  # fmt: skip
    """Fill corners, number and gap with the pairs of facing parts, as many as there is room for; how many there are."""
    found = 0
    stack = np.empty((64, 2), np.int64)
    own = np.empty(6)
    one, two = np.empty((_ROOM, 3)), np.empty((_ROOM, 3))
    for i in range(order.size):
        s = order[i]
        for axis in range(3):
            x, y, z = p[faces[s, 0], axis], p[faces[s, 1], axis], p[faces[s, 2], axis]
            own[axis], own[3 + axis] = min(x, y, z) - width, max(x, y, z) + width
        stack[0, 0], stack[0, 1] = begin.size - 2, 0
        waiting = 1
        while waiting > 0:
            waiting -= 1
            level, k = stack[waiting, 0], stack[waiting, 1]
            if (k + 1) * LEAF << level <= i + 1 or box_apart(box, begin[level] + k, own):
                continue
            if level > 0:
                for child in range(2 * k, min(2 * k + 2, begin[level] - begin[level - 1])):
                    stack[waiting, 0], stack[waiting, 1] = level - 1, child
                    waiting += 1
                continue
            for j in range(max(i + 1, k * LEAF), min((k + 1) * LEAF, order.size)):
                t = order[j]
                turn = unit[s, 0] * unit[t, 0] + unit[s, 1] * unit[t, 1] + unit[s, 2] * unit[t, 2]
                if turn > _FACING or boxes_apart(p, faces, t, own):
                    continue
                shared = False
                for c in range(9):
                    shared = shared or faces[s, c // 3] == faces[t, c % 3]
                if shared and turn > _FOLDED:
                    continue
                n = _over(p, faces, unit, s, t, width, touch, one)
                m = _over(p, faces, unit, t, s, width, touch, two) if n > 0 else 0
                if m == 0:
                    continue
                if found < number.size:
                    for c in range(n + m):
                        for axis in range(3):
                            corners[found, c, axis] = one[c, axis] if c < n else two[c - n, axis]
                    number[found] = n + m
                    gap[found] = min(_gap(p, faces, unit, t, one, n), _gap(p, faces, unit, s, two, m))
                found += 1
                if found > number.size:
                    return found
    return found


def films(vertices: Floats, faces: Ints, width: float, touch: float) -> Films:
    """Parts of a closed outward surface, (n, 3) and (m, 3), that face each other across the fluid at less than a width.

    Surfaces that are sunk into each other by no more than touch count as touching. Units are the caller's. A slot of
    0.5 between two blocks, which is what a block of fluid of that thickness is:

    >>> corners = np.array([[x, y, z] for z in (0.0, 0.5) for y in (0.0, 9) for x in (0.0, 9)])
    >>> quads = [[0, 2, 3, 1], [4, 5, 7, 6], [0, 1, 5, 4], [2, 6, 7, 3], [0, 4, 6, 2], [1, 3, 7, 5]]
    >>> faces = np.array([[q[0], *q[k : k + 2]] for q in quads for k in (1, 2)], dtype=np.int32)
    >>> films(corners, faces, 0.4, 0.0).gap.tolist(), set(films(corners, faces, 0.6, 0.0).gap.tolist())
    ([], {0.5})
    """
    vertices, faces = np.array(vertices, np.float64), np.array(faces, np.int32)  # copies: one type to compile for
    areas = vector_areas(vertices, faces)
    size = np.linalg.norm(areas, axis=1)
    kept = np.flatnonzero(size > 0.0)
    room = 64
    if kept.size < 2:
        return Films(np.zeros((0, 2 * _ROOM, 3)), np.zeros(0, np.int64), np.zeros(0), True)
    unit = areas / np.where(size > 0.0, size, 1.0)[:, None]
    order = tree_order(vertices, faces, kept)
    box, begin = boxes(vertices, faces, order)
    while True:
        corners, number, gap = np.zeros((room, 2 * _ROOM, 3)), np.zeros(room, np.int64), np.zeros(room)
        found = _films(vertices, faces, unit, order, box, begin, width, touch, corners, number, gap)
        if found <= room or room >= MOST_PAIRS:
            return Films(corners[:found], number[:found], gap[:found], found <= room)
        room = min(16 * room, MOST_PAIRS)
