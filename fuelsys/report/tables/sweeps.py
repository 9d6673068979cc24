"""The tables of sweeps: spreads from tolerances, the places of a mark, unusable fuel over pitch and roll."""

from __future__ import annotations

from math import degrees, inf

import numpy as np

from fuelsys.model.found.sweeps import (
    LEAST_ROOM_M,
    PlaceFound,
    PlaceSearch,
    Spread,
    SwitchSpread,
    Tolerances,
    ToleranceStudy,
    UnusableGrid,
)
from fuelsys.model.words import Doubt
from fuelsys.report.shown import Cell, Column, Shown, Table
from fuelsys.report.tables.notes import NONE_LEFT, TO_WALL, narrow, worst_flow
from fuelsys.report.tables.shared import MINUTES, STEADY

_SPREAD = {"as drawn": 0, "least": 0, "5 %": 1, "median": 2, "95 %": 1, "greatest": 0}  # heading: rank
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


def tolerance(study: ToleranceStudy, shown: Shown) -> list[Table]:
    """Unusable fuel and switches: as drawn, and spread over the samples."""
    notes = (
        *study.outflow.doubts,
        f"Off either way, uniformly: {_bounds(study.tolerances, shown)}. {study.samples} samples of seed {study.seed}.",
        "Unusable at the worst flight attitude of each sample; at a trip the least of all flight attitudes, all other pools"
        " drained. The switches' own tolerances are not added.",
        f"Time above the unusable fuel of the same sample. {worst_flow(study.outflow, shown)}",
        *_stopped(study, shown),
        *(note for switch in study.switches for note in _never(switch, study.samples)),
        STEADY,
        MINUTES,
    )
    rows = [("unusable", *_cells(study.unusable_m3))]
    rows += [(f'in tank when "{switch.name}" trips', *_cells(switch.held_m3)) for switch in study.switches]
    title = f"What tank {study.tank} gives when it is not built as drawn"
    columns = (Column("what"), *(Column(heading, "volume", rank=rank) for heading, rank in _SPREAD.items()))
    tables = [Table(f"{study.tank}-tolerance", title, columns, tuple(rows), notes, shown)]
    if study.switches:
        below = any(-np.inf < time < 0.0 for switch in study.switches for time in switch.left_s.figures)
        times = tuple((switch.name, *_cells(switch.left_s), f"{switch.never}") for switch in study.switches)
        columns = (
            Column("switch"),
            *(Column(heading, "time", rank=rank) for heading, rank in _SPREAD.items()),
            Column("samples that never trip"),
        )
        title = f"Time left when each switch of tank {study.tank} trips, at the latest flight attitude"
        tables.append(
            Table(f"{study.tank}-tolerance-time", title, columns, times, (NONE_LEFT,) if below else (), shown)
        )
    return tables


def _bounds(given: Tolerances, shown: Shown) -> str:
    """What may be off, in words.

    >>> _bounds(Tolerances(set_off_m=0.00254, flow_share=0.05), Shown(length="in"))
    'set off ±0.1 in, flow ±5 %'
    """
    stated = {
        f"set off ±{shown.short(given.set_off_m, 'length')}": given.set_off_m,
        f"mounted ±{degrees(given.mounted_rad):.6g} deg": given.mounted_rad,
        f"flow ±{given.flow_share * 100.0:.6g} %": given.flow_share,
        f"capacity ±{given.capacity_share * 100.0:.6g} %": given.capacity_share,
    }
    return ", ".join(words for words, value in stated.items() if value)


def _cells(spread: Spread) -> tuple[Cell, ...]:
    return tuple("never" if np.isinf(figure) else figure for figure in spread.figures)


def _stopped(study: ToleranceStudy, shown: Shown) -> list[str]:
    if not study.stopped:
        return []
    return [
        f"In {study.stopped} samples a fitting would stand up to {shown.text(study.most_outside_m, 'length')} outside the"
        " cavity; there it was taken to sit on the wall."
    ]


def _never(switch: SwitchSpread, samples: int) -> list[str]:
    drawn = "as drawn, " if np.isinf(switch.left_s.nominal) else ""
    if not switch.never and not drawn:
        return []
    return [
        Doubt(
            f'switch "{switch.name}" never trips at some flight attitude: {drawn}in {switch.never} of {samples}'
            " samples; those count as less than any time."
        )
    ]


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
    return (*grid.doubts, f"Least {at(least)}; most {at(most)}. Drained from full, without accelerations.", STEADY)


def _deg(angle_rad: float) -> str:
    return f"{round(degrees(angle_rad), 6) + 0.0:g}°"
