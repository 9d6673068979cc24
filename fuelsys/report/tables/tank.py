"""All tables of one tank, in the order of the page."""

from __future__ import annotations

from collections.abc import Sequence

from fuelsys.model.found.levels import LevelTable
from fuelsys.model.found.study import Study, TankStudy
from fuelsys.report.shown import Shown
from fuelsys.report.table import Table
from fuelsys.report.tables import dipstick as stick_tables
from fuelsys.report.tables.capacity import capacity
from fuelsys.report.tables.levels import levels
from fuelsys.report.tables.switches import switches
from fuelsys.report.tables.unusable import unusable


def of_tank(study: Study, tank: TankStudy, shown: Shown, level_tables: Sequence[LevelTable] = ()) -> list[Table]:
    """All tables of one tank, in the order in which they are read."""
    tables = [capacity(study, tank, shown), *unusable(tank, shown), *switches(tank, shown)]
    tables += stick_tables.faces(tank.tank, tank.faces, shown)
    return tables + [levels(tank.tank.cavity, table, shown) for table in level_tables]
