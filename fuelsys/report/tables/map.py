"""What stays behind over a grid of pitch and roll, as a table to read and as a list for programs."""

from __future__ import annotations

from math import degrees

import numpy as np

from fuelsys.model.found.map import UnusableGrid
from fuelsys.report.shown import Shown
from fuelsys.report.table import Column, Table
from fuelsys.report.tables.shared import STEADY

_MOST_COLUMNS = 11  # of a map that fits a terminal


def unusable_map(grid: UnusableGrid, shown: Shown) -> Table:
    """Unusable fuel with a column for each roll, for reading: of a fine grid not all rows and columns."""
    each = -(-max(grid.unusable_m3.shape) // _MOST_COLUMNS)
    rolls = grid.rolls_rad[::each]
    ranks = [min(1, k % 2) for k in range(len(rolls))]
    columns = (
        Column("pitch", "angle"),
        *(Column(f"roll {_deg(roll)}", "volume", rank=rank) for roll, rank in zip(rolls, ranks, strict=True)),
    )
    some = zip(grid.pitches_rad[::each], grid.unusable_m3[::each, ::each], strict=True)
    rows = tuple((float(pitch), *(float(v) for v in row)) for pitch, row in some)
    part = f"Of {grid.pitches_rad.size} pitches and {grid.rolls_rad.size} rolls one in {each} is shown; csv and json hold all."
    notes = ((part,) if each > 1 else ()) + _map_notes(grid, shown)
    return Table(f"{grid.tank}-map", _title(grid), columns, rows, notes, shown)


def unusable_list(grid: UnusableGrid, shown: Shown) -> Table:
    """The same with a row for each pitch and roll, for programs."""
    columns = (Column("pitch", "angle"), Column("roll", "angle"), Column("unusable", "volume"))
    rows = tuple(
        (float(pitch), float(roll), float(grid.unusable_m3[i, j]))
        for i, pitch in enumerate(grid.pitches_rad)
        for j, roll in enumerate(grid.rolls_rad)
    )
    return Table(f"{grid.tank}-map", _title(grid), columns, rows, _map_notes(grid, shown), shown)


def _title(grid: UnusableGrid) -> str:
    return f"Unusable fuel over pitch (nose up positive) and roll (right wing down positive), tank {grid.tank}"


def _map_notes(grid: UnusableGrid, shown: Shown) -> tuple[str, ...]:
    def at(index: int) -> str:
        i, j = np.unravel_index(index, grid.unusable_m3.shape)
        where = f"pitch {_deg(grid.pitches_rad[i])}, roll {_deg(grid.rolls_rad[j])}"
        return f"{shown.text(float(grid.unusable_m3[i, j]), 'volume')} at {where}"

    least, most = int(np.argmin(grid.unusable_m3)), int(np.argmax(grid.unusable_m3))
    return (*grid.doubts, f"Least {at(least)}; most {at(most)}. Drained from full, without accelerations.", STEADY)


def _deg(angle_rad: float) -> str:
    return f"{round(degrees(angle_rad), 6) + 0.0:g}°"
