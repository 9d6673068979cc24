"""Where a mark must sit for its minutes, at one place and all over the tank's plan, as tables."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from math import inf

from fuelsys import units
from fuelsys.model.built.layout import FittedTank
from fuelsys.model.found.place import LEAST_ROOM_M, Built, PlaceFound, Placement, PlaceSearch
from fuelsys.model.words import Doubt
from fuelsys.report.shown import Shown
from fuelsys.report.table import Cell, Column, Table
from fuelsys.report.tables.notes import TO_WALL, narrow, worst_flow
from fuelsys.report.tables.shared import ATTITUDE, MINUTES, attitude_cells
from fuelsys.report.tables.stages import counted

_MARK = (
    Column("x", "length"),
    Column("y", "length"),
    Column("mark z", "length"),
    Column("to wall", "length"),
    Column("least at trip", "time"),
    Column("most at trip", "time", rank=2, up=True),
    Column("apart", "time", rank=3, up=True),
)
_MUCH_WORSE = (
    0.1  # of the target, by which the trips one step beside the best place are further apart; chosen here, no source
)
BEST = 10  # places that a table for reading lists


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
        f"In the mesh's axes ({unit_axes}). {_counts(placed.built, shown)}",
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


def _counts(built: Built, shown: Shown) -> str:
    """What of the switch the minutes include, and what the mark has to be raised by yet."""
    counts = counted(built, shown)
    told = f"Minutes include {', '.join(counts)}. " if counts else ""
    more = (
        "" if built.tolerance_m else "The switch's tolerance is not included: raise the mark by it (--mark-tolerance)."
    )
    return f"{told}{more}".strip()


def places(found: PlaceSearch, unit_axes: str, shown: Shown, *, everything: bool) -> Table:
    """The places of a mark, best first; all of them, or the best for reading."""
    ranked, none = found.ranked, tuple(place for place in found.places if place.z_m is None)
    listed = (*ranked, *none) if everything else ranked[:BEST]
    columns = (
        *_MARK,
        Column("latest at", rank=1),
        Column("earliest at", rank=4),
        *((Column("remark"),) if everything else ()),
    )
    notes = [
        *found.outflow.doubts,
        f"In the mesh's axes ({unit_axes}). The mark leaves the target at every flight attitude. {_counts(found.built, shown)}",
        "Best is where the earliest trip of all flight attitudes lies nearest above the target; latest with all other pools"
        f" drained, earliest with none of them begun to fall. Places within {shown.text(LEAST_ROOM_M, 'length')} of a wall come last.",
        TO_WALL,
        worst_flow(found.outflow, shown),
        f"{len(found.places)} {'place' if len(found.places) == 1 else 'places'} every"
        f" {shown.text(found.spacing_m, 'length')} inside the cavity, of which {len(ranked)} serve.",
        MINUTES,
    ]
    if not ranked:
        reasons = sorted({place.why_not for place in none})
        notes = [Doubt(f"no place serves: {reason}.") for reason in reasons] + notes
    rows = tuple(_place(found, place)[: len(columns)] for place in listed)
    title = (
        f"Places for a mark for {found.target_s / 60:g} min in tank {found.tank}, guaranteed over the flight envelope"
    )
    return Table(f"{found.tank}-places", title, columns, rows, tuple(notes), shown)


def around_best(found: PlaceSearch, shown: Shown) -> list[Table]:
    """The best place and those one step of the grid beside it: how much depends on where the switch is fitted."""
    if not found.ranked:
        return []
    best, step = found.ranked[0], shown.text(found.spacing_m, "length")
    rows: list[tuple[Cell, ...]] = [("best", *_place(found, best)[: len(_MARK)], "")]
    warnings = []
    for dx, dy, place in found.beside(best):
        side = f"{'x' if dx else 'y'} {'+' if dx + dy > 0 else '−'} {step}"
        more_s = inf if place is None else found.between_s(place) - found.between_s(best)
        if place is None:
            rows.append((side, *(None,) * len(_MARK), "not in the cavity"))
            continue
        rows.append((side, *_place(found, place)[: len(_MARK)], place.why_not))
        if place.z_m is None:
            warnings.append(Doubt(f"one step away, at {side}, no height serves."))
        elif more_s > _MUCH_WORSE * found.target_s:
            warnings.append(
                Doubt(f"one step away, at {side}, the trips are {units.minutes(more_s, up=True)} min further apart.")
            )
    notes = (
        *narrow(best.clearance_m or 0.0, shown),
        *warnings,
        "Each at its own height. What a mark that is set off does at the height of the best place: `fuelsys tolerance`.",
    )
    columns = (Column("step"), *_MARK, Column("remark"))
    return [Table(f"{found.tank}-around", "One step beside the best place", columns, tuple(rows), notes, shown)]


def _place(found: PlaceSearch, place: PlaceFound) -> tuple[Cell, ...]:
    if place.least_m3 is None or place.most_m3 is None or place.latest is None or place.earliest is None:
        return (place.x_m, place.y_m, *(None,) * 7, place.why_not)
    least_s, most_s = found.left_s(place.least_m3), found.left_s(place.most_m3)
    names = (place.latest.heading, place.earliest.heading)
    return (place.x_m, place.y_m, place.z_m, place.clearance_m, least_s, most_s, most_s - least_s, *names, "")


def warned(tables: Sequence[Table], tank: FittedTank) -> list[Table]:
    """With a warning in the first where lamps of the tank were measured: what those tests lower marks by is not counted in a new place."""
    if tank.design.measured is None and all(one.measured_trip_m3 is None for one in tank.design.switch):
        return list(tables)
    first, *others = tables
    said = Doubt(
        f"what was measured in tank {tank.name}, a trip or a fill test, is not counted in a new mark: write it and see `fuelsys switches`."
    )
    return [replace(first, notes=(said, *first.notes)), *others]
