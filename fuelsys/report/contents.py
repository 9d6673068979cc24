"""What a review holds: its tables, pictures and page, as the bytes of each file."""

from __future__ import annotations

import json
from collections.abc import Callable, Sequence
from datetime import datetime

from fuelsys.analysis.table import level_table
from fuelsys.model.findings import Finding
from fuelsys.model.study import Study
from fuelsys.report import shown as showing
from fuelsys.report import tables
from fuelsys.report.shown import Shown, Table


def review_tables(study: Study, findings: Sequence[Finding], shown: Shown) -> dict[str, list[Table]]:
    """All tables, by the tank that they are about; "" for the whole aircraft."""
    grouped = {"": [tables.totals(study, shown), tables.findings(findings)]}
    normal = [study.layout.design.normal("ground"), study.layout.design.normal("flight")]
    for tank in study.tanks:
        levels = [level_table(tank.tank.cavity, attitude) for attitude in normal]
        grouped[tank.name] = tables.of_tank(study, tank, shown, levels)
    return grouped


def review_files(
    study: Study,
    findings: Sequence[Finding],
    shown: Shown,
    made: datetime,
    version: str,
    progress: Callable[[str], None],
) -> dict[str, bytes]:
    """Every file of a review by its name in the folder."""
    progress("writing the tables")
    grouped = review_tables(study, findings, shown)
    every = [table for group in grouped.values() for table in group]
    files = {f"tables/{table.key}.csv": table.csv() for table in every}
    about = {
        "aircraft": study.layout.design.aircraft.name,
        "made": made.isoformat(timespec="seconds"),
        "version": version,
    }
    files["study.json"] = showing.as_json(every, about)
    files["findings.json"] = json.dumps([showing.Table.record(tables.findings(findings))], indent=2, ensure_ascii=False)
    return {name: text.encode("utf-8") for name, text in files.items()}
