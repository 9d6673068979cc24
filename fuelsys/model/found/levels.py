"""Volume against level as it was computed. All SI."""

from __future__ import annotations

from dataclasses import dataclass

from fuelsys.model.stated.attitude import Attitude


@dataclass(frozen=True)
class LevelRow:
    """One row of a volume table: level above the cavity's lowest point at the attitude."""

    level_m: float
    volume_m3: float
    area_m2: float


@dataclass(frozen=True)
class LevelTable:
    """Volume against level at one attitude; common_from_m is the level above which all pools are one."""

    attitude: Attitude
    rows: tuple[LevelRow, ...]
    common_from_m: float
