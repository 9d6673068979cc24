"""The tables of a fill test's gauges: what each showed at each line, and the points that calibrate it."""

from __future__ import annotations

from fuelsys.model.found.filltest import FillTest
from fuelsys.report.shown import Shown
from fuelsys.report.table import Column, Table


def tables(test: FillTest, shown: Shown) -> list[Table]:
    """None where no line has a signal."""
    if not test.gauges:
        return []
    found = [_lines(test, shown)]
    if any(one.points for one in test.gauges):
        found.append(_points(test, shown))
    return found


def _lines(test: FillTest, shown: Shown) -> Table:
    columns = (
        Column("gauge"),
        Column("line"),
        Column("total", "volume"),
        Column("shown"),
        Column("of its way", "share"),
        Column("too much", "volume"),
        Column("remark"),
    )
    rows = tuple(
        (one.gauge, str(row.line), row.total_m3, f"{row.read:g}", row.signal, row.off_m3, row.why)
        for one in test.gauges
        for row in one.rows
    )
    notes = []
    for one in test.gauges:
        if one.dry is None or one.wet is None or one.most_m3 is None:
            notes.append(f"Gauge {one.gauge}: not computed: {one.why}.")
            continue
        notes.append(
            f"Gauge {one.gauge} shows {one.dry:.4g} with nothing of its way in fuel and {one.wet:.4g} with all of it, straight between;"
            f" calibrated so, it is up to {shown.text(one.most_m3, 'volume')} off at these lines."
        )
    by = "the corrected model" if test.fit else "the model as drawn"
    notes.append(f"Of its way: how much of it stands in fuel by {by}, at {test.attitude.text}.")
    notes.append("Too much: what it would show more than is there; below zero, less.")
    return Table(f"{test.tank}-filltest-gauges", f"Gauges of tank {test.tank}", columns, rows, tuple(notes), shown)


def _points(test: FillTest, shown: Shown) -> Table:
    columns = (Column("gauge"), Column("quantity", "volume"), Column("should show"))
    rows = tuple((one.gauge, point.total_m3, f"{point.shown:.4g}") for one in test.gauges for point in one.points)
    notes = (
        "Where it does not change as fuel is poured it has no point.",
        f"All that is in the tank, unusable fuel with it, at {test.attitude.text}: another attitude has other points"
        " (`fuelsys gauge` tells them as shares of its way).",
    )
    title = f"Points of tank {test.tank}'s gauges by the test"
    return Table(f"{test.tank}-filltest-gauge-points", title, columns, rows, notes, shown)
