"""What a review holds: its tables, pictures and page, as the bytes of each file."""

from __future__ import annotations

import unicodedata
from collections.abc import Callable, Sequence
from dataclasses import replace
from datetime import datetime

import numpy as np

from fuelsys.analysis.sweeping.map import unusable_map
from fuelsys.analysis.sweeping.sweeps import threads, threads_for
from fuelsys.analysis.tank.levels import level_table
from fuelsys.model.found.findings import Finding
from fuelsys.model.found.study import Study
from fuelsys.report import workbook
from fuelsys.report.charts import drawings
from fuelsys.report.drawing.ink import FINDING
from fuelsys.report.drill import files as drill_files
from fuelsys.report.made import record
from fuelsys.report.page.page import page
from fuelsys.report.shown import Shown
from fuelsys.report.table import Table, as_json
from fuelsys.report.tables import checklist, checklist_text
from fuelsys.report.tables import design as design_tables
from fuelsys.report.tables import exchange as exchange_tables
from fuelsys.report.tables import flow as flow_tables
from fuelsys.report.tables import fly as flight_tables
from fuelsys.report.tables import heat as heat_tables
from fuelsys.report.tables import reserves as reserve_tables
from fuelsys.report.tables import shared as shared_tables
from fuelsys.report.tables import tank as tank_tables
from fuelsys.report.tables import vents as vent_tables
from fuelsys.report.tables.closing import closing
from fuelsys.report.verdict import verdict

# The map's grid: every degree of pitch and roll over the attitudes that a light aircraft holds for any length of time. Common practice,
# no source.
_LONGEST_NAME = 60  # characters of a file's name, which may take four bytes each: file systems take 255
MAP_PITCHES_RAD = np.radians(np.linspace(-13.0, 20.0, 34))
MAP_ROLLS_RAD = np.radians(np.linspace(-12.0, 12.0, 25))


def review_tables(study: Study, findings: Sequence[Finding], shown: Shown) -> dict[str, list[Table]]:
    """All tables, by the tank that they are about; "" for the whole aircraft."""
    grouped = {
        "": [
            design_tables.totals(study, shown),
            reserve_tables.reserves(study, shown),
            *exchange_tables.exchange(study.exchange, shown),
            *exchange_tables.lamps(study.exchange, shown),
            design_tables.tests_to_make(study, shown),
            *flow_tables.flows(study.flows, shown),
            *vent_tables.breathing(study.breathing, study.overfills, shown),
            *heat_tables.warmth(study.heated, shown),
            *flight_tables.reviewed(study.failures, shown),
            closing(study, findings, shown),
            design_tables.findings(findings, shown),
        ]
    }
    normal = [study.layout.design.normal("ground"), study.layout.design.normal("flight")]
    for tank in study.tanks:
        levels = [level_table(tank.tank.cavity, attitude) for attitude in normal]
        grouped[tank.name] = tank_tables.of_tank(study, tank, shown, levels)
    return grouped


def file_names(keys: Sequence[str], longest: int = _LONGEST_NAME) -> list[str]:
    """Names of files from keys, one for each, also where letters' case is not told apart: the second of a name has a 2 behind it.

    >>> file_names(["left tank-levels", "left-tank levels", "LEFT", "left", "../x", "/"])
    ['left-tank-levels', 'left-tank-levels-2', 'left', 'left-2', 'x', 'file']
    """
    taken: set[str] = set()
    names = []
    for key in keys:
        plain = unicodedata.normalize("NFC", shared_tables.slug(key))[:longest].strip("-") or "file"
        name, number = plain, 2
        while name.casefold() in taken:
            tail = f"-{number}"
            name, number = f"{plain[: longest - len(tail)]}{tail}", number + 1
        taken.add(name.casefold())
        names.append(name)
    return names


def maps(study: Study, progress: Callable[[str], None]) -> dict[str, drawings.UnusableMap]:
    """Unusable fuel over pitch and roll of each tank that has an outlet."""
    found = {}
    for tank in study.tanks:
        if tank.capacity.unusable is not None:

            def told(done: int, of: int, name: str = tank.name) -> None:
                progress(f"unusable fuel over pitch and roll, tank {name}: {done} of {of}")

            with threads(threads_for(len(tank.tank.cavity.faces))) as executor:
                grid = unusable_map(tank.tank, MAP_PITCHES_RAD, MAP_ROLLS_RAD, executor, told)
            found[tank.name] = drawings.UnusableMap(MAP_PITCHES_RAD, MAP_ROLLS_RAD, grid)
    return found


def review_files(
    study: Study,
    findings: Sequence[Finding],
    shown: Shown,
    made: datetime,
    version: str,
    progress: Callable[[str], None],
    explorer: bool | None = None,
) -> dict[str, bytes]:
    """Every file of a review by its name in the folder; explorer says whether the page has one, None leaves it to the meshes."""
    grids = maps(study, progress)
    progress("writing the tables")
    grouped = review_tables(study, findings, shown)
    sheets = checklist.sheets(study, findings, shown)
    every = [*(table for group in grouped.values() for table in group), *checklist.tables(sheets, shown)]
    names = file_names([table.key for table in every])
    files = {f"tables/{name}.csv": table.csv() for name, table in zip(names, every, strict=True)}
    about = {"aircraft": study.layout.design.aircraft.name, **record(study.layout.inputs, made)}
    about["asked"] = {
        "length": shown.length,
        "volume": shown.volume,
        "explorer": explorer,
        "failures": study.failures is not None,
    }
    files["study.json"] = as_json(every, about)
    files["checklist.txt"] = checklist_text.sheets(sheets)
    files["findings.json"] = as_json(
        [design_tables.findings(findings, shown)], about | {"verdict": verdict(study, findings).headline}
    )
    progress("drawing")
    drawn = drawings.as_svg(drawings.figures(study, grids, replace(shown, coarse=True), findings))
    titles = [(name, title) for name, group in drawn.items() for title in group]
    drilled = drill_files.review_pages(study, shown, made.date())
    names = file_names([*(" ".join(title).strip() for title in titles), *drilled])
    files |= {
        f"pictures/{file}.svg": drawn[name][title].replace(f'href="#{FINDING}', f'href="../index.html#{FINDING}')
        for file, (name, title) in zip(names, titles, strict=False)
    }
    files |= {f"pictures/{file}.svg": svg for file, svg in zip(names[len(titles) :], drilled.values(), strict=True)}
    coarse = replace(shown, coarse=True)
    told = review_tables(study, findings, coarse)
    files["index.html"] = page(
        study, findings, told, drawn, made, version, coarse, explorer, drawings.quiet(study, grids, coarse)
    )
    written = {name: text.encode("utf-8") for name, text in files.items()}
    if workbook.installed():
        sheets_of = file_names([table.key for table in every], workbook.LONGEST_NAME)
        written["tables.xlsx"] = workbook.as_bytes(every, sheets_of, made)
    return written
