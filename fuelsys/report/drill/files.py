"""Drill sheets as files: an SVG or a PDF of the page at its size, or a DXF."""

from __future__ import annotations

import io
from collections.abc import Sequence
from datetime import date

from fuelsys.analysis.tank.drill import drill_list
from fuelsys.errors import QuestionError
from fuelsys.model.built.layout import Layout
from fuelsys.model.found.drill import DrillList
from fuelsys.model.found.study import Study, TankStudy
from fuelsys.report import made
from fuelsys.report.drawing import ink
from fuelsys.report.drawing.canvas import Figure, PdfPages, mpl
from fuelsys.report.drill import dxf as drill_dxf
from fuelsys.report.drill import sheet as drill_sheet
from fuelsys.report.drill.sheet import Sheet
from fuelsys.report.shown import Shown

KINDS = (".svg", ".pdf", ".dxf")
PAPERS = tuple(drill_sheet.PAPERS)


def sheet_of(
    layout: Layout, tank: TankStudy, drill: DrillList, shown: Shown, paper: str | None = None, day: date | None = None
) -> Sheet:
    """A tank's sheet on the paper asked for, of a day, today without it; QuestionError where nothing is fitted to it."""
    if not drill.fittings:
        raise QuestionError(
            "nothing is fitted to it, so nothing is drilled",
            mend="Add its [[tank.outlet]], [[tank.vent]], [tank.filler], [[tank.drain]] or [[tank.switch]].",
            file=layout.file,
            field=f"tank {tank.name}",
        )
    chosen = paper or ("letter" if shown.length in ("in", "ft") else "a4")
    return Sheet(tank.tank, drill, layout.design.aircraft.name, made.line(layout, day or date.today()), shown, chosen)


def as_bytes(sheet: Sheet, kind: str) -> bytes:
    """The sheet as a file of a kind; QuestionError where it takes more pages than the kind holds."""
    if kind == ".dxf":
        return drill_dxf.as_bytes(sheet)
    pages = drill_sheet.sheets(sheet)
    if kind == ".pdf":
        return pdf(pages)
    if len(pages) > 1:
        count = len(sheet.drill.fittings)
        raise QuestionError(
            f"its {count} fittings take {len(pages)} pages, and an SVG has one",
            mend="Ask for a .pdf file.",
            field=f"tank {sheet.tank.name}",
        )
    return ink.svg_text(pages[0]).encode("utf-8")


def review_pages(study: Study, shown: Shown, day: date) -> dict[str, str]:
    """The pages of all tanks to which something is fitted as SVG, by what their files are called."""
    found = {}
    for tank in study.tanks:
        drill = drill_list(tank)
        if drill.fittings:
            pages = drill_sheet.sheets(sheet_of(study.layout, tank, drill, shown, day=day))
            for number, page in enumerate(pages, 1):
                found[f"{tank.name} drill{f' page {number}' if number > 1 else ''}"] = ink.svg_text(page)
    return found


def pdf(pages: Sequence[Figure]) -> bytes:
    """Pages at their size; the same drawing gives the same bytes."""
    buffer = io.BytesIO()
    with (
        mpl.rc_context({"pdf.fonttype": 42}),
        PdfPages(buffer, metadata={"Creator": None, "Producer": None, "CreationDate": None}) as book,
    ):
        for page in pages:
            ink.as_on_a_page(page)
            book.savefig(page, facecolor="white")
    return buffer.getvalue()
