"""Corners that are equal bit by bit become one."""

from __future__ import annotations

import numpy as np

from fuelsys.arrays import Flags, Floats, Ints
from fuelsys.kernels.alike import equal_corners
from fuelsys.load.formats.raw import Indices


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
