"""Tanks that stand in the same place of the aircraft: what their cavities share."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import combinations

import numpy as np

from fuelsys.kernels import solids
from fuelsys.model.built.cavity import Overlap
from fuelsys.model.built.layout import FittedTank


def overlaps(tanks: Sequence[FittedTank]) -> tuple[Overlap, ...]:
    """Pairs of tanks whose boxes along the body axes overlap, and exactly what their cavities share (it may be nothing)."""
    found = []
    for one, two in combinations(tanks, 2):
        (low, high), (other_low, other_high) = one.cavity.bounds_m, two.cavity.bounds_m
        if np.any(high <= other_low) or np.any(other_high <= low):
            continue
        # Both about the first one's centre: cutting loses digits far from the origin.
        moved_m = two.cavity.vertices_m + (two.cavity.centre_m - one.cavity.centre_m)
        shared = solids.shared((one.cavity.vertices_m, one.cavity.faces), (moved_m, two.cavity.faces))
        names = (one.name, two.name)
        found.append(Overlap(names, shared[0], shared[1] + one.cavity.centre_m) if shared else Overlap(names))
    return tuple(found)
