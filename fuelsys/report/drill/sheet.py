"""The drill sheet of a tank on one page: dimensioned views, sections, the table of fittings, and a line to check the print by."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import cache
from math import log
from typing import NamedTuple

import numpy as np

from fuelsys.arrays import Floats
from fuelsys.model.built.layout import FittedTank
from fuelsys.model.found.drill import DrillList
from fuelsys.report.drawing import ink
from fuelsys.report.drawing.canvas import Axes, Figure
from fuelsys.report.drawing.labels import Paper
from fuelsys.report.drawing.sections import PLAN, REAR, SIDE
from fuelsys.report.drawing.tank_pictures import scale_text
from fuelsys.report.drill import draw as drill_draw
from fuelsys.report.drill import sections as drill_sections
from fuelsys.report.drill.layout import Frame, Packing, largest
from fuelsys.report.drill.sections import LETTERS, Plane
from fuelsys.report.drill.table import FittingTable, Row
from fuelsys.report.drill.views import PLAN_NOSE_UP, Flat
from fuelsys.report.shown import Shown

PAPERS = {"a4": (210.0, 297.0), "letter": (215.9, 279.4)}
_UNITS = {"in": "inches", "ft": "feet"}  # where the sign reads as a word
_MARGIN_MM = 10.0
_TITLE_PT = 13.0
_APART_MM = 4.0
_FOOT_MM = 14.0
_VIEWS = 3  # plan, side, end: sections come after them
_CROWDED = 1.7  # dimensions that make the scale smaller than by this are left to the table
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

    def view(self, k: int, scale: float, plan: Plan) -> Flat:
        """Plan, side, end or a section, at a scale."""
        if k >= _VIEWS:
            cut = plan.sections[k - _VIEWS]
            return drill_sections.flat_of(self.tank.cavity, self.drill, cut, LETTERS[k - _VIEWS], scale, self.shown)
        seen = (PLAN_NOSE_UP if plan.nose_up else PLAN, SIDE, REAR)[k]
        return Flat(self.tank.cavity, self.drill, seen, scale, self.shown, measured=plan.measured)


# A view of one sheet, worked out once for all ways to set it out: which, its scale, whether the plan's nose is up, what is dimensioned.
_Views = Callable[[int, float, bool, str], Flat]


class Plan(NamedTuple):
    """What is to be set out: sections beside the views, which way the plan lies, what is dimensioned, whether the table is there."""

    sections: tuple[Plane, ...] = ()
    nose_up: bool = False
    measured: str = "all"
    whole: bool = True


@dataclass(frozen=True)
class _Page:
    """A way to set out the page: its size, where views and table lie, and the views' scales."""

    size: tuple[float, float]
    views: Frame
    table: Frame
    packing: Packing
    scales: tuple[float, ...]
    plan: Plan
    rows: tuple[Row, ...]

    @property
    def cost(self) -> float:
        """What makes a page worse: small views."""
        return sum(log(scale) for scale in self.scales[:_VIEWS])


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
    """The page with the largest views; with as many sections as do not make them much smaller.

    Of so many fittings that their dimensions would leave little room for the views, the table alone has the dimensions.
    """

    @cache
    def view(k: int, scale: float, nose_up: bool, measured: str) -> Flat:
        return sheet.view(k, scale, Plan(tuple(cut), nose_up, measured))

    for whole in (True, False):
        full, bare = (_of_all(sheet, Plan(measured=measured, whole=whole), view) for measured in ("all", "ends"))
        if bare is None:
            continue
        dear = full is None or full.cost > bare.cost + _VIEWS * log(_CROWDED)
        plain = bare if dear or full is None else full
        for count in range(min(len(cut), drill_sections.MOST), 0, -1):
            found = _of_all(sheet, plain.plan._replace(sections=tuple(cut[:count])), view)
            if found is None or found.cost > plain.cost + _VIEWS * log(_WORSE):
                continue
            if max(found.scales[_VIEWS:]) <= max(found.scales[:_VIEWS]):
                return found
        return plain
    raise AssertionError("three views fit on paper at some scale")


def _of_all(sheet: Sheet, plan: Plan, view: _Views) -> _Page | None:
    """The best of an upright page with the table below the views, and a lying one with it beside or below them."""
    upright = _paper(sheet)
    lying = (upright[1], upright[0])
    tried = [
        _page(sheet, size, plan._replace(nose_up=nose_up), view, beside=beside)
        for size, beside in ((upright, False), (lying, True), (lying, False))
        for nose_up in (False, True)
    ]
    return min((page for page in tried if page), key=lambda page: page.cost, default=None)


def _page(sheet: Sheet, size: tuple[float, float], plan: Plan, view: _Views, *, beside: bool) -> _Page | None:
    """One way to set out the page; None where it does not fit."""
    width, height = size
    top = height - _MARGIN_MM - _head_mm(sheet, _inner(size))
    frame = Frame(_MARGIN_MM, _MARGIN_MM + _FOOT_MM, width - _MARGIN_MM, top)
    wide = _inner(size) if not beside else _inner(_paper(sheet)) - 8.0
    table = FittingTable.of(sheet.drill, sheet.shown, wide)
    rows = table.rows if plan.whole else ()
    high = table.height_mm(rows) if plan.whole else 0.0
    if beside:
        views = Frame(frame.left, frame.bottom, frame.right - wide - _APART_MM, frame.top)
        rest = Frame(frame.right - wide, frame.bottom, frame.right, frame.top)
    else:
        views = Frame(frame.left, frame.bottom + high + _APART_MM, frame.right, frame.top)
        rest = Frame(frame.left, frame.bottom, frame.right, frame.bottom + high)
    if high > rest.height + 1e-9 or views.width <= 0.0 or views.height <= 0.0:
        return None

    def flat(k: int, scale: float) -> Flat:
        return view(k, scale, plan.nose_up and k == 0, plan.measured if k < _VIEWS else "all")

    found = largest(
        lambda k, scale: flat(k, scale).cell_mm,
        lambda k, scale: flat(k, scale).small,
        _VIEWS + len(plan.sections),
        views,
    )
    return None if found is None else _Page(size, views, rest, found[1], found[0], plan, rows)


def _first(sheet: Sheet, page: _Page, cut: Sequence[Plane]) -> Figure:
    figure, axes = ink.sheet(*page.size)
    sections = page.plan.sections
    missing = [str(f.number) for plane in cut[len(sections) :] for f in plane.fittings]
    scales = sorted(set(page.scales))
    scale = f"Scale {scale_text(scales[0])}" if len(scales) == 1 else "Scale: at each view"
    _head(axes, sheet, page, scale, missing)
    spare = (page.views.width - page.packing.width) / 2.0, (page.views.height - page.packing.height) / 2.0
    for k, (at, (x, y)) in enumerate(zip(page.scales, page.packing.spots, strict=True)):
        flat = sheet.view(k, at, page.plan)
        left, top = page.views.left + spare[0] + x, page.views.top - min(spare[1], 6.0) - y
        if k < _VIEWS:
            marks = list(zip(sections, LETTERS, strict=False)) if k == 0 else []
            drill_draw.draw(axes, flat, left, top, key=("plan", "side", "end")[k], traces=_traces(marks))
        else:
            drill_sections.draw(axes, flat, sections[k - _VIEWS], left, top, f"section{LETTERS[k - _VIEWS]}")
    if page.rows:
        table = FittingTable.of(sheet.drill, sheet.shown, page.table.width)
        table.draw(axes, page.table.left, page.table.top, page.rows)
    _foot(axes, page.size, sheet.shown)
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
    title = f"Drill sheet: tank {sheet.tank.name}, page {number}"
    ink.write(axes, _MARGIN_MM, top - 4.5, title, size=_TITLE_PT, weight="bold")
    table = FittingTable.of(sheet.drill, sheet.shown, _inner(size))
    room = top - 10.0 - _MARGIN_MM - _FOOT_MM
    count = next((n for n in range(len(rows), 1, -1) if table.height_mm(rows[:n]) <= room), 1)
    table.draw(axes, _MARGIN_MM, top - 10.0, rows[:count])
    _foot(axes, size, sheet.shown)
    return figure, count


def notes(sheet: Sheet, missing: Sequence[str], measured: str = "ends") -> list[str]:
    """What a person must know to measure by the sheet."""
    unit, drill = _UNITS.get(sheet.shown.length, sheet.shown.length), sheet.drill
    walls = ", ".join(f"the {datum.name}" for datum in drill.datums)
    inside = "to the inside of the wall"
    if drill.wall_m:
        inside += f"; add its {sheet.shown.short(drill.wall_m, 'length')} where you measure from outside"
    found = [f"All lengths in {unit}, measured from {walls}, {inside}. "]
    found.append("In brackets: fittings' numbers." if measured == "all" else "Fittings' dimensions: in the table.")
    if len(drill.fittings) > drill_draw.MANY:
        found.append("Each is numbered in the views that show where it is drilled, and grey in the others.")
    bent = [datum.name for datum in drill.datums if not datum.flat]
    if bent:
        walls = " and the ".join(bent)
        found.append(f"No flat wall at the {walls}: lay a straight-edge there, square to the other walls.")
    if any(not f.through and f.kind not in ("stick", "switch") for f in drill.fittings):
        found.append(
            'Through "not stated": it stands free or on an edge; through = "top" in the design says what is drilled.'
        )
    if any(f.kind == "switch" for f in drill.fittings):
        found.append("A switch's place is its mark, where the surface trips it. Dashed: the room that its float needs.")
    if missing:
        found.append(f"No room for a section through {', '.join(missing)}.")
    return found


def _head_lines(sheet: Sheet, width: float, missing: Sequence[str], measured: str = "ends") -> list[str]:
    return ink.wrapped(" ".join(notes(sheet, missing, measured)), width, ink.SMALL_PT)


def _head_mm(sheet: Sheet, width: float) -> float:
    numbers = [str(fitting.number) for fitting in sheet.drill.fittings if fitting.kind in ("switch", "stick")]
    return 12.0 + ink.LINE_MM * len(_head_lines(sheet, width, numbers)) + 2.0


def _head(axes: Axes, sheet: Sheet, page: _Page, scale: str, missing: Sequence[str]) -> None:
    """Title, scale, whose it is, and how it is measured."""
    size = page.size
    width, top = _inner(size), size[1] - _MARGIN_MM
    ink.write(axes, size[0] - _MARGIN_MM, top - 4.5, scale, size=_TITLE_PT, weight="bold", ha="right")
    room = width - ink.width_of(scale, _TITLE_PT, "bold") - 4.0
    title = f"Drill sheet: tank {sheet.tank.name}"
    ink.write(axes, _MARGIN_MM, top - 4.5, cut(title, room, _TITLE_PT, "bold"), size=_TITLE_PT, weight="bold")
    about = f"{sheet.aircraft}; mesh {sheet.tank.design.mesh}, its axes {sheet.tank.design.axes}; {sheet.file}"
    about = cut(about, width, ink.SMALL_PT, "normal")
    ink.write(axes, _MARGIN_MM, top - 8.6, about, size=ink.SMALL_PT, color=ink.GREY)
    for k, line in enumerate(_head_lines(sheet, width, missing, page.plan.measured)):
        ink.write(axes, _MARGIN_MM, top - 12.6 - ink.LINE_MM * k, line, size=ink.SMALL_PT)


def cut(text: str, width: float, size: float, weight: str) -> str:
    """A text shortened to a width."""
    if ink.width_of(text, size, weight) <= width:
        return text
    count = next((n for n in range(len(text) - 1, 0, -1) if ink.width_of(f"{text[:n]}…", size, weight) <= width), 1)
    return f"{text[:count]}…"


def _foot(axes: Axes, size: tuple[float, float], shown: Shown) -> None:
    """The line that tells whether the print is true, and what the sheet is worth."""
    left, y, (length, parts) = _MARGIN_MM, _MARGIN_MM + 1.5, shown.check
    ink.shape(axes, [np.array([[left, y], [left + length, y]])], line=ink.INK, pt=0.8, closed=False, place="check")
    for k in range(parts + 1):
        x, half = left + length * k / parts, 1.6 if k in (0, parts // 2, parts) else 0.8
        ink.stroke(axes, np.array([[x, y - half], [x, y + half]]), pt=0.6)
    check = f"Check: this line is {shown.short(length / 1e3, 'length')}. Print at 100 %, not fitted to the page."
    ink.write(axes, left, y + 2.6, check, size=ink.SMALL_PT)
    right = size[0] - _MARGIN_MM
    worth, beside = "Computed from the mesh: measure the tank itself before you drill.", right - left - length - 5.0
    ink.footing(axes, left + length + 5.0, _MARGIN_MM + 5.0, [worth], beside, ink.INK)
    ink.write(axes, left + length + 5.0, _MARGIN_MM, "Drilled by, date:", size=ink.SMALL_PT)
    begin = left + length + 7.0 + ink.width_of("Drilled by, date:", ink.SMALL_PT)
    ink.stroke(axes, np.array([[begin, _MARGIN_MM], [right, _MARGIN_MM]]), pt=0.5)
