"""What stays behind at each attitude, and in which pockets, as tables."""

from __future__ import annotations

from fuelsys.model.found.study import TankStudy
from fuelsys.model.found.unusable import Unusable
from fuelsys.report.shown import Shown
from fuelsys.report.table import Cell, Column, Table
from fuelsys.report.tables.capacity import LEAST_LISTED_M3
from fuelsys.report.tables.notes import covered, for_a_time, held_by_line, narrow_gaps, told_of
from fuelsys.report.tables.phases import phases
from fuelsys.report.tables.shared import ATTITUDE, NO_OUTLET, STEADY, attitude_cells


def unusable(tank: TankStudy, shown: Shown) -> list[Table]:
    """Unusable fuel at each attitude, and the pockets that hold it."""
    left = tank.capacity.unusable
    title = f"Unusable fuel, tank {tank.name}, drained from full"
    if left is None:
        return [Table(f"{tank.name}-unusable", title, ATTITUDE, (), (*told_of(tank.tank, shown), NO_OUTLET), shown)]
    rows = []
    timed = any(at.attitude.held_s is not None for at in left.at)
    for at in left.at:
        mark = "worst in flight" if at is left.worst else ""
        counts = (at.attitude.held_s, at.held.unusable_m3 if at.held else None) if timed else ()
        rows.append((*attitude_cells(at.attitude), at.residual_m3, at.trapped_m3, at.sustained_m3, *counts, mark))
    columns = (
        *ATTITUDE,
        Column("residual", "volume", rank=3),
        Column("trapped", "volume", rank=3),
        Column("left in all", "volume"),
        *((Column("held for", "time", as_stated=True), Column("unusable in that time", "volume")) if timed else ()),
        Column("remark"),
    )
    tables = [
        Table(
            f"{tank.name}-unusable",
            title,
            columns,
            tuple(rows),
            (
                *told_of(tank.tank, shown),
                STEADY,
                *held_by_line(left, shown),
                *for_a_time(tank, shown),
                *covered(tank, shown),
                *narrow_gaps(tank, shown),
            ),
            shown,
            paper=False,
        )
    ]
    return [*tables, *_pockets(tank, left, shown), *phases(tank, left, shown), *_with_gaps_open(tank, left, shown)]


def _pockets(tank: TankStudy, left: Unusable, shown: Shown) -> list[Table]:
    """Where the pockets lie at each attitude; none without any."""
    rows: list[tuple[Cell, ...]] = [
        (*attitude_cells(at.attitude), pocket.volume_m3, *(float(c) for c in tank.tank.mesh_m(pocket.lowest_m)))
        for at in left.at
        for pocket in at.pockets
        if pocket.volume_m3 >= LEAST_LISTED_M3
    ]
    title = f"Pockets that keep fuel, tank {tank.name}: their lowest points in the mesh's axes"
    columns = (*ATTITUDE, Column("trapped", "volume"), *(Column(axis, "length") for axis in "xyz"))
    return [Table(f"{tank.name}-pockets", title, columns, tuple(rows), (), shown, paper=False)] if rows else []


def _with_gaps_open(tank: TankStudy, left: Unusable, shown: Shown) -> list[Table]:
    """Unusable fuel with narrow gaps closed, which counts, and open, where that makes a difference."""
    if left.opened is None or not left.gaps_matter:
        return []
    pairs = zip(left.at, left.opened.at, strict=True)
    rows = tuple((*attitude_cells(at.attitude), at.unusable_m3, opened.unusable_m3) for at, opened in pairs)
    columns = (*ATTITUDE, Column("gaps closed", "volume"), Column("gaps open", "volume"))
    return [Table(f"{tank.name}-gaps", f"Unusable fuel of tank {tank.name} by narrow gaps", columns, rows, (), shown)]
