"""Volume against level at an attitude, as a table."""

from __future__ import annotations

from fuelsys.model.built.cavity import Cavity
from fuelsys.model.found.levels import LevelTable
from fuelsys.report.shown import Shown
from fuelsys.report.table import Column, Table
from fuelsys.report.tables.notes import told
from fuelsys.report.tables.shared import slug


def levels(cavity: Cavity, table: LevelTable, shown: Shown) -> Table:
    """Volume against level at one attitude."""
    rows = tuple((row.level_m, row.volume_m3, row.area_m2) for row in table.rows)
    name = cavity.name
    notes = [
        *told(cavity, shown),
        "Levels count along apparent gravity from the tank's lowest point at this attitude; the surface is one.",
    ]
    if table.common_from_m > 1e-6:
        notes.append(
            f"Below {shown.text(table.common_from_m, 'length')} the tank falls into pools: they stand at one level only if each was filled."
        )
    columns = (Column("level", "length"), Column("volume", "volume"), Column("surface", "area"))
    title = f"Volume against level, tank {name}, {table.attitude.text}"
    key = f"{name}-levels-{slug(table.attitude.name)}"
    return Table(key, title, columns, rows, tuple(notes), shown, paper=False)
