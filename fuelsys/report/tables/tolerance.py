"""How answers spread when what is built is not what was drawn, as tables."""

from __future__ import annotations

from math import degrees

import numpy as np

from fuelsys.model.found.tolerance import Spread, SwitchSpread, Tolerances, ToleranceStudy
from fuelsys.model.words import Doubt
from fuelsys.report.shown import Cell, Column, Shown, Table
from fuelsys.report.tables.notes import NONE_LEFT, worst_flow
from fuelsys.report.tables.shared import MINUTES, STEADY

_SPREAD = {"as drawn": 0, "least": 0, "5 %": 1, "median": 2, "95 %": 1, "greatest": 0}  # heading: rank


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
