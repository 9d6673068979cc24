"""The printable page of a review: one HTML file with everything in it, the answer first, made for paper and screens."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from markupsafe import Markup

from fuelsys.model.built.layout import FittedTank
from fuelsys.model.found.findings import Finding, Outcome, Reach
from fuelsys.model.found.study import Study
from fuelsys.model.words import as_read
from fuelsys.report.page import explorer
from fuelsys.report.page.chapters import (
    PLACED,
    Chapter,
    Drawn,
    chapter,
    inlined,
    left_behind,
    side_by_side,
    usable_text,
    volume_text,
)
from fuelsys.report.page.markup import prose, template
from fuelsys.report.page.reading import Notes, by_rule, chores, folded, numbered
from fuelsys.report.page.summary import switch_places, usable_at
from fuelsys.report.shown import Shown
from fuelsys.report.table import Table
from fuelsys.report.tables.capacity import cavity_notes
from fuelsys.report.tables.shared import STEADY
from fuelsys.report.text import CAUTIONS
from fuelsys.report.verdict import verdict

FACETS = "Meshes are made of flat facets, which may hide volume of curved walls: an estimate stands with the meshes."
UPPER = f"Unusable fuel is computed as {STEADY[0].lower()}{STEADY[1:]}"
SCALE = (
    "Drawings marked with a scale hold it only when printed at 100 %, without fitting to the paper. Each tank's dipstick and drill"
    " sheet are sheets of their own in the folder pictures."
)

_WORST_SHOWN = 5
_MISSING_SHOWN = 5
_PLACES_SHOWN = 3
_MENDS_SHOWN = 3  # of a piece of work on the first page
_ELSEWHERE = ("findings", "closing")  # tables that the page tells in another form
_SUMMED = 2  # tables of the whole aircraft that open the page: what the tanks hold, how long it lasts
_FLIGHT = "Flight with nothing wrong"  # stands behind the tables of the whole aircraft
_MOST_TOGETHER = 16  # letters of a cell that is not broken
_MOST_WHOLE = 32  # letters of a place that stays on one line with its number
_MOST_KEPT = 16  # rows of a table that stays on one sheet; a longer one may break over two, its heading repeated


@dataclass(frozen=True)
class Mesh:
    """One tank's mesh as the title block lists it."""

    tank: str
    file: str
    axes: str
    triangles: str
    volume: str
    hidden: str
    notes: tuple[str, ...]


def page(
    study: Study,
    findings: Sequence[Finding],
    tables: Mapping[str, Sequence[Table]],
    drawings: Mapping[str, Mapping[str, str]],
    made: datetime,
    version: str,
    shown: Shown,
    explorer_asked: bool | None = None,
    quiet: Mapping[str, float] | None = None,
) -> str:
    """A whole review as one HTML page without anything from outside; its one script is the explorer's.

    tables and drawings (title -> SVG text) are grouped by tank; the group "" is the whole aircraft, and its first two tables
    are the summary's. The tables of findings and of what may be closed are not repeated: the page tells them. findings come
    worst first. quiet has tanks of which no pictures of what stays behind are printed, with the most that does, in m³.
    """
    appendix = [table for group in tables.values() for table in group if table.appendix and table.paper]
    screen = [table for group in tables.values() for table in group if not table.paper]
    bodies = {
        name: [t for t in group if t.paper and not t.appendix and t.key not in _ELSEWHERE]
        for name, group in tables.items()
    }
    whole = bodies.get("", [])
    chapters = [
        chapter(
            study, tank, tables.get(tank.name, ()), drawings.get(tank.name, {}), shown, (quiet or {}).get(tank.name)
        )
        for tank in study.tanks
    ]
    drawn = inlined(drawings.get("", {}), study, None, shown)
    aircraft = _aircraft(drawn, whole, left_behind(tables.get("", ()), whole))
    printed = [*whole, *(table for tank in study.tanks for table in bodies.get(tank.name, ()))]
    notes = Notes(
        [*printed, *appendix, *screen],
        told=[note for one in (aircraft, *chapters) for note in one.warnings],
        tanks=bodies,
    )
    return template().render(
        **_stated(study, shown),
        **_judged(study, findings, shown),
        css=Markup(explorer.resource("page.css") + explorer.style()),
        explorer=explorer.section(study, shown, explorer_asked),
        cautions=[*CAUTIONS, UPPER, FACETS, SCALE],
        made=made,
        version=version,
        placed={int(number) for group in drawings.values() for svg in group.values() for number in PLACED.findall(svg)},
        summary=whole[:_SUMMED],
        aircraft=aircraft,
        chapters=chapters,
        appendix=side_by_side(appendix),
        screen=side_by_side(screen),
        looked_up=[drawn for one in chapters for drawn in one.looked_up],
        notes=notes,
        **_printing(study, shown),
    )


def _printing(study: Study, shown: Shown) -> dict[str, object]:
    """How the page writes figures, words and columns, and how many it shows at most."""
    return {
        "usable": lambda line: (
            "–" if line.usable_m3 is None else usable_text(study.exchange, study.tank(line.tank), shown)
        ),
        "minus": prose,
        "as_read": as_read,
        "said": lambda words: prose(shown.words(words)),
        "columns": lambda table: list(zip(table.columns, table.headings(), strict=True)),
        "folded": folded,
        "most_kept": _MOST_KEPT,
        "most_together": _MOST_TOGETHER,
        "most_whole": _MOST_WHOLE,
    }


def _aircraft(drawn: Sequence[Drawn], whole: Sequence[Table], warnings: tuple[str, ...]) -> Chapter:
    """The chapter of the whole aircraft: its flight stands behind its tables, all else that is drawn before them."""
    before = tuple(one for one in drawn if one.title != _FLIGHT)
    behind = tuple(one for one in drawn if one.title == _FLIGHT)
    return Chapter("", (), before, side_by_side(whole[_SUMMED:]), behind, warnings)


def _stated(study: Study, shown: Shown) -> dict[str, Any]:
    """What the template says of the design and its meshes as they were read."""
    design = study.layout.design
    return {
        "design": design,
        "file": study.layout.file,
        "flow": f"{shown.flow_text(design.reserve_flow_m3_s)} ({design.fuel.reserve_phase})",
        "density": shown.density_text(design.fuel.density_kg_m3),
        "given": usable_at(study, shown),
        "volume": shown.written("volume"),
        "length": shown.written("length"),
        "switches": switch_places(study.tanks, shown),
        "meshes": [_mesh(tank, shown) for tank in study.layout.tanks],
        "made_of": study.layout.made_of,
        "inputs": study.layout.inputs,
    }


def _judged(study: Study, findings: Sequence[Finding], shown: Shown) -> dict[str, Any]:
    """What it says of the findings, which come worst first."""
    found = verdict(study, findings)
    return {
        "verdict": found,
        "reaches": list(Reach),
        "cost": lambda job: job.cost(shown),
        "few": few,
        "chores": chores(found.work),
        "worst": [job for job in found.work if not job.missing],
        "missing": [job for job in found.work if job.missing],
        "most": _WORST_SHOWN,
        "most_missing": _MISSING_SHOWN,
        "most_mends": _MENDS_SHOWN,
        "passed": numbered(findings, Outcome.PASS),
        "by_rule": by_rule,
        "not_asked": numbered(findings, Outcome.NOT_APPLICABLE),
    }


def few(places: Sequence[str]) -> str:
    """Places in a row on the first page, the first of very many.

    >>> few(["left", "right"]), few(["a", "b", "c", "d", "e"])
    ('left, right', 'a, b, c and 2 more')
    """
    more = len(places) - _PLACES_SHOWN
    return ", ".join(places[:_PLACES_SHOWN]) + f" and {more} more" if more > 1 else ", ".join(places)


def _mesh(tank: FittedTank, shown: Shown) -> Mesh:
    return Mesh(
        tank=tank.name,
        file=tank.design.mesh,
        axes=tank.design.axes,
        triangles=f"{len(tank.cavity.faces):,}".replace(",", "\u202f"),
        volume=volume_text(tank.cavity.gross_m3, shown),
        hidden=_hidden(tank.cavity.facets_m3, shown),
        notes=tuple(map(as_read, cavity_notes(tank.cavity, shown))),
    )


def _hidden(facets_m3: tuple[float, float], shown: Shown) -> str:
    """What facets may hide, more and less; what would read as zeros is said in words."""
    texts = [shown.text(volume_m3, "volume") for volume_m3 in facets_m3]
    least = [text for text in texts if text.startswith("under ")]
    told = [f"{sign}{text}" for sign, text in zip("+−", texts, strict=True) if not text.startswith(("under ", "0 "))]
    return ", ".join(told) or (least[0] if least else "nothing")
