"""Whether each tank may be closed, as a table for the files."""

from __future__ import annotations

from collections.abc import Sequence

from fuelsys.model.found.findings import Finding, Reach
from fuelsys.model.found.study import Study
from fuelsys.model.found.switches import left_text
from fuelsys.report.shown import Shown
from fuelsys.report.table import Cell, Column, Table
from fuelsys.report.tables.exchange import TOGETHER, in_all, where_joined
from fuelsys.report.verdict import verdict


def closing(study: Study, findings: Sequence[Finding], shown: Shown) -> Table:
    """The lines as a table, for the files."""
    found = verdict(study, findings)
    columns = (
        *(Column(name) for name in ("tank", "may it be closed", "inside", "outside", "on paper", "not checked")),
        Column("usable", "volume"),
        Column("lamps leave at least"),
        TOGETHER,
    )
    rows: list[tuple[Cell, ...]] = [
        (
            line.tank or "whole aircraft",
            line.answer.value if line.answer else "",
            *(str(line.counts[reach]) for reach in Reach),
            str(line.unchecked),
            line.usable_m3,
            line.lamp_words(),
            in_all(study.exchange, line.tank, shown),
        )
        for line in (*found.lines, found.aircraft)
    ]
    forever = (
        f"Switch {switch.name}, tank {tank.name}: {left_text(switch.forever_minutes)} if every attitude is held for ever."
        for tank in study.tanks
        for switch in tank.switches
        if switch.forever_minutes is not None
    )
    notes = (found.headline, found.counted, *forever)
    return where_joined(Table("closing", "May each tank be closed?", columns, tuple(rows), notes, shown))
