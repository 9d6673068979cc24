"""Which points are equal, bit by bit, and which faces have the same corners."""

from __future__ import annotations

from typing import Any, TypeVar, cast

import numpy as np
from numpy.typing import NDArray

from fuelsys.arrays import Floats
from fuelsys.kernels.compiled import compiled

Indices = NDArray[np.int64]
Faces = TypeVar("Faces", bound=NDArray[np.integer[Any]])


@compiled
def _alike(bits: Indices) -> tuple[Indices, Indices]:
    """Each row's number among the different ones (n,), and the first of each (k,), by a table in which a row's place is mixed
    from its bits."""
    n = bits.shape[0]
    size = 16
    while size < 2 * n:
        size *= 2
    held, number, first = np.full(size, -1, np.int64), np.empty(n, np.int64), np.empty(n, np.int64)
    count = 0
    for i in range(n):
        x, y, z = bits[i, 0], bits[i, 1], bits[i, 2]
        mixed = x * 0x1E3779B97F4A7C15
        mixed = ((mixed ^ mixed >> 32) + y) * 0x42B2AE3D27D4EB4F
        mixed = ((mixed ^ mixed >> 29) + z) * 0x165667B19E3779F9
        place = (mixed ^ mixed >> 32) & (size - 1)
        while True:
            k = held[place]
            if k < 0:
                held[place] = number[i] = count
                first[count] = i
                count += 1
                break
            j = first[k]
            if bits[j, 0] == x and bits[j, 1] == y and bits[j, 2] == z:
                number[i] = k
                break
            place = (place + 1) & (size - 1)
    return number, first[:count].copy()


def equal_corners(vertices: Floats) -> tuple[Indices, Indices]:
    """Which of the vertices (n, 3) are equal: each one's number among the different (n,), the first of each (k,).

    They are numbered as the file has them, so that messages name its first fault.

    >>> equal_corners(np.array([[1.0, 0, 0], [0, 0, 0], [1, 0, 0]]))[0].tolist()
    [0, 1, 0]
    """
    number, first = _alike(np.ascontiguousarray(vertices + 0.0).view(np.int64))  # + 0.0: minus zero is zero
    return number, first


def few_alike(faces: Faces, most: int) -> Faces:
    """The faces (m, 3) without the copies of any beyond a number, in their order; themselves where none has so many.

    >>> few_alike(np.array([[0, 1, 2], [2, 1, 0], [1, 2, 3], [1, 0, 2]]), 2).tolist()
    [[0, 1, 2], [2, 1, 0], [1, 2, 3]]
    """
    if np.bincount(faces.reshape(-1), minlength=1).max() <= most:  # a corner of so many copies is in as many faces
        return faces
    _, same = np.unique(np.sort(faces, axis=1), axis=0, return_inverse=True)
    same = same.reshape(-1)
    order = np.argsort(same, kind="stable")
    first = np.searchsorted(same[order], same[order])
    return cast(Faces, faces[np.sort(order[np.arange(len(faces)) - first < most])])
