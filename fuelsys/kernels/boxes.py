"""Boxes that lie in boxes."""

from __future__ import annotations

from fuelsys.arrays import Floats
from fuelsys.kernels.compiled import compiled


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
