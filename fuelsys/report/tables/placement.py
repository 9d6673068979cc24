"""Where a mark must sit for its minutes, as tables."""

from __future__ import annotations

from fuelsys.model.found.switches import Placement
from fuelsys.report.shown import Column, Shown, Table
from fuelsys.report.tables.notes import TO_WALL, narrow, worst_flow
from fuelsys.report.tables.shared import ATTITUDE, MINUTES, attitude_cells


def placement(placed: Placement, unit_axes: str, shown: Shown) -> list[Table]:
    """Where a mark must sit, and what it then gives at each attitude."""
    basis = "guaranteed over the flight envelope" if placed.guaranteed else "at the normal flight attitude"
    title = f"Mark for {placed.target_s / 60:g} min in tank {placed.tank}, {basis}"
    where = (
        Column("mark x", "length"),
        Column("mark y", "length"),
        Column("mark z", "length"),
        Column("fuel left", "volume"),
        Column("to wall", "length"),
    )
    steady = " and ".join(
        f"{axis} {shown.text(float(at), 'length')}" for axis, at in zip("xy", placed.steady_m[:2], strict=True)
    )
    notes = (
        *placed.outflow.doubts,
        *narrow(placed.clearance_m, shown),
        f"In the mesh's axes ({unit_axes}), the switch's tolerance not included: raise the mark by it.",
        f"At this quantity a mark at {steady} has no first-order attitude error (the surface's centroid).",
        worst_flow(placed.outflow, shown),
        TO_WALL,
    )
    mark = (*(float(c) for c in placed.mark_m), placed.target_m3, placed.clearance_m)
    first = Table("placement", title, where, (mark,), notes, shown)
    rows = tuple((*attitude_cells(at.attitude), at.trip_m3, at.minutes * 60.0, at.mark_height_m) for at in placed.at)
    columns = (
        *ATTITUDE,
        Column("in tank at trip", "volume"),
        Column("left at trip", "time"),
        Column("z asked for here alone", "length"),
    )
    return [first, Table("placement-proof", "The chosen mark at each attitude", columns, rows, (MINUTES,), shown)]
