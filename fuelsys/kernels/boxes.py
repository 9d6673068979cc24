"""Boxes: those that lie in others, and the tree of them over a surface's faces."""

from __future__ import annotations

import numpy as np

from fuelsys.arrays import Floats
from fuelsys.kernels.compiled import compiled
from fuelsys.kernels.edges import Indices

LEAF = 4  # faces in a box of the lowest level
_BITS = 10  # of each axis in the sorting key


@compiled
def next_around(box: Floats, boxes: Floats, start: int) -> int:
    """The first of some boxes (n, 6), from number start on, that a box (6,) lies in; n where it lies in none of them.

    A box is its least corner and its greatest one with the signs turned: all six are least values.

    >>> import numpy as np
    >>> boxes = np.array([[0.0, 0, 0, -1, -1, -1], [0, 0, 0, -3, -3, -3]])
    >>> next_around(np.array([0.5, 0.5, 0.5, -2, -2, -2]), boxes, 0), next_around(boxes[1] - 1.0, boxes, 0)
    (1, 2)
    """
    for j in range(start, boxes.shape[0]):
        around = True
        for k in range(6):
            if boxes[j, k] > box[k]:
                around = False
                break
        if around:
            return j
    return int(boxes.shape[0])


def _morton(centres: Floats, low: Floats, cell: Floats) -> Indices:
    """Place of each point on a curve that fills the box from low in steps of cell."""
    steps = np.minimum(((centres - low) / cell).astype(np.int64), (1 << _BITS) - 1)
    keys = np.zeros(len(centres), np.int64)
    for bit in range(_BITS):
        for axis in range(3):
            keys |= (steps[:, axis] >> bit & 1) << (3 * bit + axis)
    return keys


def tree_order(p: Floats, faces: Indices, kept: Indices) -> Indices:
    """The kept faces along a curve that fills space, for a tree of boxes."""
    centres = (p[faces[:, 0]] + p[faces[:, 1]] + p[faces[:, 2]])[kept]
    low, cell = centres.min(axis=0), np.maximum(np.ptp(centres, axis=0), 1e-300) / (1 << _BITS)
    return np.asarray(kept[np.argsort(_morton(centres, low, cell), kind="stable")])


def boxes(p: Floats, faces: Indices, order: Indices) -> tuple[Floats, Indices]:
    """Boxes of a tree over the ordered faces, level by level from the leaves (k, 6), and where each level begins."""
    a, b, c = (p[faces[order, k]] for k in range(3))
    low, high = np.minimum(np.minimum(a, b), c), np.maximum(np.maximum(a, b), c)
    levels = [np.concatenate([low, -high], axis=1)]  # all of them least values
    width = LEAF
    while True:
        levels.append(np.minimum.reduceat(levels[-1], np.arange(0, len(levels[-1]), width)))
        if len(levels[-1]) <= 1:
            break
        width = 2
    box = np.concatenate(levels[1:])
    box[:, 3:] *= -1.0
    return box, np.cumsum([0, *(len(level) for level in levels[1:])])


@compiled
def box_apart(box: Floats, b: int, own: Floats) -> bool:
    """Does a box of the tree not meet a box (6,)?"""
    apart = box[b, 0] > own[3] or box[b, 3] < own[0] or box[b, 1] > own[4] or box[b, 4] < own[1]
    return bool(apart or box[b, 2] > own[5] or box[b, 5] < own[2])


@compiled
def boxes_apart(p: Floats, faces: Indices, t: int, own: Floats) -> bool:
    """Does a face's box not meet a box (6,)?"""
    for axis in range(3):
        x, y, z = p[faces[t, 0], axis], p[faces[t, 1], axis], p[faces[t, 2], axis]
        if min(x, y, z) > own[3 + axis] or max(x, y, z) < own[axis]:
            return True
    return False
