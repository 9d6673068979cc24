"""The tables of sweeps: the places of a mark, unusable fuel over pitch and roll."""

from __future__ import annotations

from math import degrees, inf

import numpy as np

from fuelsys.model.found.sweeps import (
    LEAST_ROOM_M,
    PlaceFound,
    PlaceSearch,
    UnusableGrid,
)
from fuelsys.model.words import Doubt
from fuelsys.report.shown import Cell, Column, Shown, Table
from fuelsys.report.tables.notes import TO_WALL, narrow, worst_flow
from fuelsys.report.tables.shared import MINUTES, STEADY

_MOST_COLUMNS = 11  # of a map that fits a terminal
_MARK = (
    Column("x", "length"),
    Column("y", "length"),
    Column("mark z", "length"),
    Column("to wall", "length"),
    Column("least at trip", "time"),
    Column("most at trip", "time", rank=2),
    Column("apart", "time", rank=3),
)
_MUCH_WORSE = (
    0.1  # of the target, by which the trips one step beside the best place are further apart; chosen here, no source
)
BEST = 10  # places that a table for reading lists


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
        f"In the mesh's axes ({unit_axes}). The mark leaves the target at every flight attitude; the switch's tolerance is"
        " not included: raise the mark by it.",
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
            warnings.append(Doubt(f"one step away, at {side}, the trips are {more_s / 60.0:.1f} min further apart."))
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
    return (f"Least {at(least)}; most {at(most)}. Drained from full, without accelerations.", STEADY)


def _deg(angle_rad: float) -> str:
    return f"{round(degrees(angle_rad), 6) + 0.0:g}°"
