"""What stays behind over a grid of pitch and roll."""

from __future__ import annotations

from dataclasses import dataclass

from fuelsys.arrays import Floats


@dataclass(frozen=True)
class UnusableGrid:
    """Unusable fuel (p, r) of a tank over pitches (p,) and rolls (r,); doubts say why it may be wrong."""

    tank: str
    pitches_rad: Floats
    rolls_rad: Floats
    unusable_m3: Floats
    doubts: tuple[str, ...] = ()
