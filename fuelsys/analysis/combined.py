"""Unusable fuel where the tilts of stated flight attitudes come together: a descent with a slip is in no list of single ones."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from itertools import product
from math import asin, atan2

from fuelsys.analysis.unusable import left_at, outlets
from fuelsys.model.attitude import Attitude
from fuelsys.model.layout import FittedTank
from fuelsys.model.study import UnusableAt


def combinations(envelope: Iterable[Attitude]) -> tuple[Attitude, ...]:
    """Every pitch of the flight attitudes with every roll of them, accelerations turned into tilt, and halfway between.

    A descent by 6° and a slip by 7° give nine attitudes, pitch -6, -3, 0 with roll 0, 3.5, 7:

    >>> pair = [Attitude.of_degrees(-6.0, 0.0), Attitude.of_degrees(0.0, 7.0)]
    >>> len(combinations(pair))
    9
    """
    ups = [attitude.up for attitude in envelope if attitude.phase == "flight"]
    pitches = _with_middles([-asin(max(-1.0, min(1.0, float(up[0])))) for up in ups])
    rolls = _with_middles([atan2(-float(up[1]), float(up[2])) for up in ups])
    return tuple(Attitude("a combination", "flight", p, r, 0.0, 0.0, False) for p, r in product(pitches, rolls))


def _with_middles(angles_rad: Sequence[float]) -> list[float]:
    """Sorted, each once (to a microradian), and the middle between neighbours."""
    angles = sorted({round(angle, 6) for angle in angles_rad})
    return sorted([*angles, *((low + high) / 2.0 for low, high in zip(angles, angles[1:], strict=False))])


def worst_combined(tank: FittedTank, envelope: Iterable[Attitude]) -> UnusableAt | None:
    """What stays behind at the worst combination; None for a tank without an outlet or an envelope without flight."""
    openings, attitudes = outlets(tank), combinations(envelope)
    if not openings or not attitudes:
        return None
    return max((left_at(tank.cavity, attitude, openings) for attitude in attitudes), key=lambda at: at.unusable_m3)
