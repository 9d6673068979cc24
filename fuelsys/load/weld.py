"""Corners that are equal bit by bit become one."""

from __future__ import annotations

import numpy as np

from fuelsys.kernels.compiled import Flags, Floats, Ints
from fuelsys.load.raw import Indices


def equal_corners(vertices: Floats) -> tuple[Indices, Indices]:
    """Which of the vertices (n, 3) are equal: each one's number among the different (n,), the first of each (k,).

    They are numbered as the file has them, so that messages name its first fault.

    >>> equal_corners(np.array([[1.0, 0, 0], [0, 0, 0], [1, 0, 0]]))[0].tolist()
    [0, 1, 0]
    """
    bits = (vertices + 0.0).view(np.uint64)
    with np.errstate(over="ignore"):
        key = (bits * np.array([0x9E3779B97F4A7C15, 0xC2B2AE3D27D4EB4F, 0x165667B19E3779F9], dtype=np.uint64)).sum(
            axis=1
        )
        key ^= key >> np.uint64(29)
    _, first, back = np.unique(key, return_index=True, return_inverse=True)
    if not np.array_equal(vertices[first][back], vertices + 0.0):  # two corners share a key: compare in full
        _, first, back = np.unique(vertices + 0.0, axis=0, return_index=True, return_inverse=True)
    order = np.argsort(first, kind="stable")
    rank = np.empty_like(order)
    rank[order] = np.arange(order.size)
    return rank[back.reshape(-1)], first[order]


def weld(vertices: Floats, faces: Indices) -> tuple[Floats, Ints, int]:
    """Join corners that are equal, drop faces that thereby have no area: vertices, faces, number dropped."""
    number, first = equal_corners(vertices)
    welded = number[faces]
    whole = of_three_corners(welded)
    welded = welded[whole]
    used = np.zeros(first.size, dtype=bool)
    used[welded] = True
    renamed = (np.cumsum(used) - 1).astype(np.int32)[welded]
    kept = np.ascontiguousarray(vertices[first[used]] + 0.0)
    return kept, renamed, int((~whole).sum())


def of_three_corners(faces: Indices) -> Flags:
    """Which faces (m, 3) have three different corners (m,)."""
    a, b, c = faces.T
    return np.asarray((a != b) & (b != c) & (c != a))
