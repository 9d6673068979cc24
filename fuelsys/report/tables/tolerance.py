"""The tables of tolerances: how answers spread, what the spreads come from, and each switch's band over the whole envelope."""

from __future__ import annotations

from collections.abc import Sequence
from math import degrees

import numpy as np

from fuelsys.model.found.tolerance import CHECKED, Band, Shares, Spread, SwitchSpread, Tolerances, ToleranceStudy
from fuelsys.model.words import Doubt
from fuelsys.report.shown import Shown
from fuelsys.report.table import Cell, Column, Table
from fuelsys.report.tables.notes import NONE_LEFT, worst_flow
from fuelsys.report.tables.shared import MINUTES, STEADY

_SPREAD = {"as drawn": 0, "least": 0, "5 %": 1, "median": 2, "95 %": 1, "greatest": 0}  # heading: rank
_NONE = 1e-6  # of the variance: a share of a source that does not touch the answer


def tolerance(study: ToleranceStudy, shown: Shown) -> list[Table]:
    """Unusable fuel and switches: as drawn, and spread over the samples."""
    notes = (
        *study.outflow.doubts,
        *_beyond(study.through),
        f"Off either way, uniformly: {_bounds(study.tolerances, shown)}. {study.samples} samples of seed {study.seed}.",
        "Unusable at the worst flight attitude of each sample; at a trip the least of all flight attitudes, all other pools"
        " drained. Each switch's own tolerance, as the design states it, is drawn too.",
        f"Time above the unusable fuel of the same sample, from when the lamp lights. {worst_flow(study.outflow, shown)}",
        *_tilts(study, shown),
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
        f"density ±{given.density_share * 100.0:.6g} %": given.density_share,
    }
    return ", ".join(words for words, value in stated.items() if value)


def _beyond(through: tuple[str, ...]) -> tuple[str, ...]:
    """A warning where another tank's outlets decide too."""
    if not through:
        return ()
    of = " and ".join(through)
    return (
        Doubt(
            f"it gives through {of}: how high the outlets there stand decides too, and these are taken as drawn, that tank mounted"
            " as this one. What they are off raises the surface by as much, on top of what is told here."
        ),
    )


def _tilts(study: ToleranceStudy, shown: Shown) -> list[str]:
    """How the tank's tilts were computed."""
    if study.grid < 2:
        return []
    return [
        f"Tilts of the tank are read off between {study.grid} by {study.grid} computed ones, with each sample's own fittings: of"
        f" {CHECKED} samples that were computed in full too the farthest is off by {shown.text(study.off_m3, 'volume')}."
    ]


def shares(tank: str, found: Sequence[Shares], seed: int, shown: Shown) -> Table:
    """What each spread comes from, the greatest share first."""
    notes = [
        "Shares of the variance (Sobol indices): alone, and in all with what it does together with others; each source at its own"
        f" bounds, each flight attitude as likely as another. Seed {seed}.",
        "At a trip at any of the flight attitudes; time above the worst unusable fuel. Estimators of Saltelli and others (2010) and"
        " of Jansen, cited from memory.",
    ]
    notes += [
        f"{words(one)}: standard deviation {_deviation(one, shown)}, {one.together * 100.0:.1f} % of the variance by several at once."
        for one in found
        if one.of
    ]
    notes += [
        (Doubt if one.switch else str)(f"{words(one)}: no shares, for {one.why_not}.") for one in found if one.why_not
    ]
    rows = tuple(
        (words(one), share.source, share.first, share.total) for one in found for share in one.of if share.total > _NONE
    )
    columns = (Column("what"), Column("comes from"), Column("alone", "share"), Column("in all", "share"))
    return Table(
        f"{tank}-tolerance-shares", f"What the spreads of tank {tank} come from", columns, rows, tuple(notes), shown
    )


def words(one: Shares) -> str:
    """Which answer it is."""
    if not one.switch:
        return "unusable"
    return f'in tank when "{one.switch}" trips' if one.kind == "volume" else f'time left when "{one.switch}" trips'


def _deviation(one: Shares, shown: Shown) -> str:
    return shown.text(one.deviation, "volume") if one.kind == "volume" else f"{one.deviation / 60.0:.2f} min"


def bands(tank: str, found: Sequence[Band], given: Tolerances, seed: int, shown: Shown) -> Table:
    """Each switch's band over the whole envelope, guaranteed and by samples, and how often it warns too early or too late."""
    first = found[0]
    columns = (
        Column("switch"),
        Column("guaranteed least", "volume"),
        *(Column(f"sampled {name}", "volume", rank=rank) for name, rank in list(_SPREAD.items())[1:]),
        Column("guaranteed most", "volume"),
        Column("early above", "volume", rank=3),
        Column("false alarms"),
        Column("missed"),
        Column("missed trips", "share", rank=3),
    )
    rows = tuple(
        (
            one.switch, _never_or(one.guaranteed_m3[0]), *(_never_or(value) for value in one.sampled_m3), _never_or(one.guaranteed_m3[1]),
            one.early_m3, "not checked: needs a target or --early" if one.early is None else f"{one.early}", f"{one.missed}",
            one.missed_share,
        )
        for one in found
    )  # fmt: skip
    notes = (
        *_beyond(first.through),
        f"Off either way: {_bounds(given, shown) or 'nothing'}, and each switch's own tolerance. {first.samples} samples of seed {seed} at"
        f" {first.attitudes} attitudes: the stated ones of flight and all combinations of their tilts.",
        "Guaranteed: all that may be off is so at once, mark, mounting and cavity; least with all other pools drained, most with none"
        " begun to fall. Outlets are as drawn there. Samples count all other pools as drained.",
        "False alarms: samples that trip at the normal flight attitude with more than the quantity told. Missed: samples that trip at"
        " some attitude with less than the target left (none left, without a target), or never.",
        STEADY,
    )
    return Table(
        f"{tank}-tolerance-band",
        f"When the switches of tank {tank} trip over the whole envelope",
        columns,
        rows,
        notes,
        shown,
    )


def _never_or(value_m3: float) -> Cell:
    return "never" if np.isinf(value_m3) else value_m3


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
