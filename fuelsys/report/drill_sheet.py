"""The drill sheet of a tank on one page: dimensioned views, sections, the table of fittings, and a line to check the print by."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from fuelsys.kernels.compiled import Floats
from fuelsys.model.drilling import DrillList
from fuelsys.model.layout import FittedTank
from fuelsys.report import drill_draw, drill_sections, ink
from fuelsys.report.canvas import Axes, Figure
from fuelsys.report.drill_layout import Cell, Frame, Packing, largest
from fuelsys.report.drill_sections import LETTERS, Plane
from fuelsys.report.drill_table import FittingTable, Row
from fuelsys.report.drill_views import PLAN_NOSE_UP, Flat
from fuelsys.report.labels import Paper
from fuelsys.report.sections import PLAN, REAR, SIDE
from fuelsys.report.shown import Shown
from fuelsys.report.tank_pictures import scale_text

PAPERS = {"a4": (210.0, 297.0), "letter": (215.9, 279.4)}
CHECK_MM = 100.0
_MARGIN_MM = 12.0
_TITLE_PT = 13.0
_APART_MM = 5.0
_FOOT_MM = 14.0
_WORSE = 1.35  # a section is drawn where it makes the scale no smaller than by this


@dataclass(frozen=True)
class Sheet:
    """What is drawn: a tank with its list, whose aircraft and file are named, in units and on paper of a name."""

    tank: FittedTank
    drill: DrillList
    aircraft: str
    file: str
    shown: Shown
    paper: str

    def views(self, nose_up: bool, sections: Sequence[Plane], scale: float) -> list[Flat]:
        """Plan, side, end and sections at a scale."""
        plan = PLAN_NOSE_UP if nose_up else PLAN
        flats = [Flat(self.tank.cavity, self.drill, view, scale, self.shown) for view in (plan, SIDE, REAR)]
        cut = zip(LETTERS, sections, strict=False)
        return flats + [
            drill_sections.flat_of(self.tank.cavity, self.drill, plane, letter, scale, self.shown)
            for letter, plane in cut
        ]


@dataclass(frozen=True)
class _Page:
    """A way to set out the page: its size, where views and table lie, the scale, and what is shown."""

    size: tuple[float, float]
    views: Frame
    table: Frame
    packing: Packing
    scale: float
    nose_up: bool
    sections: tuple[Plane, ...]
    rows: tuple[Row, ...]


def sheets(sheet: Sheet) -> list[Figure]:
    """The drill sheet: one page; of a tank with more fittings than that holds, the table goes on."""
    cut = drill_sections.planes(sheet.drill)
    page = _best(sheet, cut)
    pages = [_first(sheet, page, cut)]
    rest = FittingTable.of(sheet.drill, sheet.shown, _inner(_paper(sheet))).rows[len(page.rows) :]
    while rest:
        figure, count = _further(sheet, rest, len(pages) + 1)
        pages.append(figure)
        rest = rest[count:]
    return pages


def _paper(sheet: Sheet) -> tuple[float, float]:
    return PAPERS[sheet.paper]


def _inner(size: tuple[float, float]) -> float:
    return size[0] - 2.0 * _MARGIN_MM


def _best(sheet: Sheet, cut: Sequence[Plane]) -> _Page:
    """The page with the largest scale; with as many sections as do not make it much smaller."""
    upright = _paper(sheet)
    for whole in (True, False):
        plain = _of_all(sheet, upright, (), whole=whole)
        if plain is None:
            continue
        for count in range(min(len(cut), drill_sections.MOST), 0, -1):
            found = _of_all(sheet, upright, tuple(cut[:count]), whole=whole)
            if found is not None and found.scale <= _WORSE * plain.scale:
                return found
        return plain
    raise AssertionError("three views fit on paper at some scale")


def _of_all(sheet: Sheet, upright: tuple[float, float], sections: tuple[Plane, ...], *, whole: bool) -> _Page | None:
    """The best of an upright page with the table below the views, and a lying one with it below or beside them."""
    lying = (upright[1], upright[0])
    tried = [
        _page(sheet, size, sections, beside=beside, nose_up=nose_up, whole=whole)
        for size, beside in ((upright, False), (lying, True), (lying, False))
        for nose_up in (False, True)
    ]
    return min((page for page in tried if page), key=lambda page: page.scale, default=None)


def _page(
    sheet: Sheet, size: tuple[float, float], sections: tuple[Plane, ...], *, beside: bool, nose_up: bool, whole: bool
) -> _Page | None:
    """One way to set out the page; None where it does not fit. Not whole: the table stands on pages of its own."""
    width, height = size
    top = height - _MARGIN_MM - _head_mm(sheet, _inner(size))
    frame = Frame(_MARGIN_MM, _MARGIN_MM + _FOOT_MM, width - _MARGIN_MM, top)
    wide = _inner(size) if not beside else _paper(sheet)[0] - 2.0 * _MARGIN_MM - 8.0
    table = FittingTable.of(sheet.drill, sheet.shown, wide)
    rows = table.rows if whole else ()
    high = table.height_mm(rows) if whole else 0.0
    if beside:
        views = Frame(frame.left, frame.bottom, frame.right - wide - _APART_MM, frame.top)
        rest = Frame(frame.right - wide, frame.bottom, frame.right, frame.top)
    else:
        views = Frame(frame.left, frame.bottom + high + _APART_MM, frame.right, frame.top)
        rest = Frame(frame.left, frame.bottom, frame.right, frame.bottom + high)
    if high > rest.height + 1e-9 or views.width <= 0.0 or views.height <= 0.0:
        return None

    def cells_at(scale: float) -> list[Cell]:
        return [flat.cell_mm for flat in sheet.views(nose_up, sections, scale)]

    found = largest(cells_at, views)
    return None if found is None else _Page(size, views, rest, found[1], found[0], nose_up, sections, rows)


def _first(sheet: Sheet, page: _Page, cut: Sequence[Plane]) -> Figure:
    figure, axes = ink.sheet(*page.size)
    missing = [str(f.number) for plane in cut[len(page.sections) :] for f in plane.fittings]
    _head(axes, sheet, page.size, scale_text(page.scale), missing)
    flats = sheet.views(page.nose_up, page.sections, page.scale)
    spare = (page.views.width - page.packing.width) / 2.0, (page.views.height - page.packing.height) / 2.0
    for k, (flat, (x, y)) in enumerate(zip(flats, page.packing.spots, strict=True)):
        left, top = page.views.left + spare[0] + x, page.views.top - min(spare[1], 6.0) - y
        if k < 3:
            marks = [(plane, letter) for plane, letter in zip(page.sections, LETTERS, strict=False)] if k == 0 else []
            drill_draw.draw(axes, flat, left, top, key=("plan", "side", "end")[k], traces=_traces(marks))
        else:
            drill_sections.draw(axes, flat, page.sections[k - 3], left, top, f"section{LETTERS[k - 3]}")
    if page.rows:
        table = FittingTable.of(sheet.drill, sheet.shown, page.table.width)
        table.draw(axes, page.table.left, page.table.top, page.rows)
    _foot(axes, page.size)
    return figure


def _traces(marks: Sequence[tuple[Plane, str]]) -> drill_draw.Traces:
    """Draws where sections are cut."""

    def drawn(axes: Axes, flat: Flat, corner: Floats, paper: Paper) -> None:
        for plane, letter in marks:
            drill_sections.trace(axes, flat, plane, letter, corner, paper)

    return drawn


def _further(sheet: Sheet, rows: Sequence[Row], number: int) -> tuple[Figure, int]:
    """A page with as many rows of the table as it holds; -> how many."""
    size = _paper(sheet)
    figure, axes = ink.sheet(*size)
    top = size[1] - _MARGIN_MM
    ink.write(
        axes,
        _MARGIN_MM,
        top - 4.5,
        f"Drill sheet: tank {sheet.tank.name}, page {number}",
        size=_TITLE_PT,
        weight="bold",
    )
    table = FittingTable.of(sheet.drill, sheet.shown, _inner(size))
    room = top - 10.0 - _MARGIN_MM - _FOOT_MM
    count = next((n for n in range(len(rows), 1, -1) if table.height_mm(rows[:n]) <= room), 1)
    table.draw(axes, _MARGIN_MM, top - 10.0, rows[:count])
    _foot(axes, size)
    return figure, count


def notes(sheet: Sheet, missing: Sequence[str]) -> list[str]:
    """What a person must know to measure by the sheet."""
    unit, drill = sheet.shown.written("length"), sheet.drill
    walls = ", ".join(f"the {datum.name}" for datum in drill.datums)
    inside = "to the inside of the wall"
    if drill.wall_m:
        inside += f"; add its {sheet.shown.short(drill.wall_m, 'length')} where you measure from outside"
    found = [f"All in {unit}, measured from {walls}, {inside}. In brackets: fittings' numbers."]
    bent = [datum.name for datum in drill.datums if not datum.flat]
    if bent:
        found.append(
            f"No flat wall at the {' and the '.join(bent)}: lay a straight-edge there, square to the other walls."
        )
    if any(not f.through and f.kind not in ("stick", "switch") for f in drill.fittings):
        found.append(
            'Through "not stated": it stands free or on an edge; through = "top" in the design says what is drilled.'
        )
    if any(f.kind == "switch" for f in drill.fittings):
        found.append("A switch's place is its mark, where the surface trips it. Dashed: the room that its float needs.")
    if missing:
        found.append(f"No room for a section through {', '.join(missing)}.")
    return found


def _head_lines(sheet: Sheet, width: float, missing: Sequence[str]) -> list[str]:
    return ink.wrapped(" ".join(notes(sheet, missing)), width, ink.SMALL_PT)


def _head_mm(sheet: Sheet, width: float) -> float:
    numbers = [str(fitting.number) for fitting in sheet.drill.fittings if fitting.kind in ("switch", "stick")]
    return 12.0 + ink.LINE_MM * len(_head_lines(sheet, width, numbers)) + 2.0


def _head(axes: Axes, sheet: Sheet, size: tuple[float, float], scale: str, missing: Sequence[str]) -> None:
    """Title, scale, whose it is, and how it is measured."""
    width, top = _inner(size), size[1] - _MARGIN_MM
    ink.write(axes, size[0] - _MARGIN_MM, top - 4.5, f"Scale {scale}", size=_TITLE_PT, weight="bold", ha="right")
    room = width - ink.width_of(f"Scale {scale}", _TITLE_PT, "bold") - 4.0
    title = f"Drill sheet: tank {sheet.tank.name}"
    ink.write(axes, _MARGIN_MM, top - 4.5, _cut(title, room, _TITLE_PT, "bold"), size=_TITLE_PT, weight="bold")
    about = (
        f"{sheet.aircraft}; design file {sheet.file}, mesh {sheet.tank.design.mesh}, its axes {sheet.tank.design.axes}"
    )
    ink.write(
        axes, _MARGIN_MM, top - 8.6, _cut(about, width, ink.SMALL_PT, "normal"), size=ink.SMALL_PT, color=ink.GREY
    )
    for k, line in enumerate(_head_lines(sheet, width, missing)):
        ink.write(axes, _MARGIN_MM, top - 12.6 - ink.LINE_MM * k, line, size=ink.SMALL_PT)


def _cut(text: str, width: float, size: float, weight: str) -> str:
    """A text shortened to a width."""
    if ink.width_of(text, size, weight) <= width:
        return text
    count = next((n for n in range(len(text) - 1, 0, -1) if ink.width_of(f"{text[:n]}…", size, weight) <= width), 1)
    return f"{text[:count]}…"


def _foot(axes: Axes, size: tuple[float, float]) -> None:
    """The line that tells whether the print is true, and what the sheet is worth."""
    left, y = _MARGIN_MM, _MARGIN_MM + 1.5
    ink.shape(axes, [np.array([[left, y], [left + CHECK_MM, y]])], line=ink.INK, pt=0.8, closed=False, place="check")
    for k in range(11):
        half = 1.6 if k in (0, 5, 10) else 0.8
        ink.stroke(axes, np.array([[left + 10.0 * k, y - half], [left + 10.0 * k, y + half]]), pt=0.6)
    ink.write(
        axes,
        left,
        y + 2.6,
        "Check: this line is 100 mm. Print at 100 %, not fitted to the page.",
        size=ink.SMALL_PT,
    )
    right = size[0] - _MARGIN_MM
    beside = right - left - CHECK_MM - 5.0
    worth = "Computed from the mesh: measure the tank itself before you drill."
    ink.footing(axes, left + CHECK_MM + 5.0, _MARGIN_MM + 5.0, [worth], beside, ink.INK)
    ink.write(axes, left + CHECK_MM + 5.0, _MARGIN_MM, "Drilled by, date:", size=ink.SMALL_PT)
    begin = left + CHECK_MM + 7.0 + ink.width_of("Drilled by, date:", ink.SMALL_PT)
    ink.stroke(axes, np.array([[begin, _MARGIN_MM], [right, _MARGIN_MM]]), pt=0.5)
