"""The sheet of a fill test on paper: how the aircraft stands, what each pour should read, and a box for all that is noted."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

import numpy as np

from fuelsys.load.designs.fillsheet import ALSO, SIGNALS
from fuelsys.model.built.layout import Layout
from fuelsys.model.found.filltest import FillPlan
from fuelsys.model.words import Quantity
from fuelsys.report import made
from fuelsys.report.drawing import ink
from fuelsys.report.drawing.canvas import Axes, Figure
from fuelsys.report.drawing.files import PAPERS_MM
from fuelsys.report.drill.sheet import cut
from fuelsys.report.drill.table import broken
from fuelsys.report.shown import Shown
from fuelsys.report.tables import fill_sheet
from fuelsys.report.tables.fill_sheet import Line

_MARGIN_MM, _FOOT_MM, _APART_MM = 10.0, 9.0, 6.0
_TITLE_PT = 13.0
_ROW_MM, _EXPECTED_MM = 10.5, 3.6  # of which what is expected takes so much, and the rest is to write in
_HEAD_MM, _PARAGRAPH_MM = 8.5, 1.2
_STOOD_MM = 9.0
# Columns' widths where there is room, and at least.
_NUMBERS = ("poured", "drained", "temperature", "in tank", "stick", *ALSO, *SIGNALS)
_WIDE = {"step": (10.0, 9.0), "in all": (19.0, 16.0), "lamps lit": (34.0, 20.0), "attitude": (28.0, 19.0)}
_NUMBER = (23.0, 17.0)
_TEMPERATURE = (23.0, 19.5)
_REMARK_MM = 24.0


@dataclass(frozen=True)
class _Column:
    """A column on the paper: its name and unit as the CSV has them, and its edges."""

    name: str
    unit: str
    left: float
    right: float


def fill_sheet_pages(plan: FillPlan, layout: Layout, shown: Shown, paper: str, day: date) -> list[Figure]:
    """The sheet on as many lying pages as its lines take."""
    high, wide = PAPERS_MM[paper]
    columns = _columns(fill_sheet.columns(plan, shown), wide - 2.0 * _MARGIN_MM)
    about = f"{layout.design.aircraft.name}; mesh {layout.tank(plan.tank).design.mesh}; {made.line(layout, day)}"
    rest = fill_sheet.lines(plan)
    pages: list[tuple[Figure, Axes]] = []
    while rest:
        figure, axes = ink.sheet(wide, high)
        y = _top(axes, plan, about, (wide, high), first=not pages)
        if not pages:
            y = _words(axes, plan, shown, y, wide - 2.0 * _MARGIN_MM)
        y = _heads(axes, columns, y)
        count = 0
        for line in rest:
            room = _note_mm(line, shown, columns)
            if y - _ROW_MM - room < _MARGIN_MM + _FOOT_MM:
                break
            _row(axes, plan, shown, columns, line, y)
            y, count = y - _ROW_MM - room, count + 1
        rest = rest[count:]
        pages.append((figure, axes))
    for number, (_, axes) in enumerate(pages, 1):
        _foot(axes, wide, f"page {number} of {len(pages)}")
    return [figure for figure, _ in pages]


def _columns(named: dict[str, str], width_mm: float) -> list[_Column]:
    """The columns over a width: as wide as is easy to write in, or as narrow as must be, the remark what is left."""
    units = {"step": "", "in all": named["poured"], **named}
    for narrow in (0, 1):
        widths = [
            _WIDE.get(name, _TEMPERATURE if name == "temperature" else _NUMBER if name in _NUMBERS else (0.0, 0.0))[
                narrow
            ]
            for name in units
        ]
        if sum(widths) + _REMARK_MM <= width_mm:
            break
    widths[-1] = width_mm - sum(widths)
    ends = _MARGIN_MM + np.concatenate([[0.0], np.cumsum(widths)])
    return [
        _Column(name, unit, float(left), float(right))
        for (name, unit), left, right in zip(units.items(), ends, ends[1:], strict=False)
    ]


def _top(axes: Axes, plan: FillPlan, about: str, size: tuple[float, float], *, first: bool) -> float:
    """Title, and on the first page what it was made of -> where what follows begins."""
    wide, top = size[0] - 2.0 * _MARGIN_MM, size[1] - _MARGIN_MM
    title = cut(ink.minus(fill_sheet.title(plan)), wide, _TITLE_PT, "bold")
    ink.write(axes, _MARGIN_MM, top - 4.5, title, size=_TITLE_PT, weight="bold")
    about = cut(about, wide, ink.SMALL_PT, "normal")
    ink.write(axes, _MARGIN_MM, top - 9.0, about, size=ink.SMALL_PT, color=ink.GREY)
    return top - (13.5 if first else 11.0)


def _words(axes: Axes, plan: FillPlan, shown: Shown, top: float, wide_mm: float) -> float:
    """All that a person must know, in two columns, and a line for how it stood -> where what follows begins."""
    column = (wide_mm - _APART_MM) / 2.0
    said = fill_sheet.told(plan, shown)
    said["How it stands"] += _places(plan, shown)
    lines = [
        line
        for head, notes in said.items()
        for line in [(head, True), *((text, False) for note in notes for text in _lines(note, column)), ("", False)]
    ]  # fmt: skip
    half = (len(lines) + 1) // 2
    half -= lines[half - 1][1]  # no heading alone at a column's foot
    lowest = top
    for k, part in enumerate((lines[:half], lines[half:])):
        y = top
        for text, bold in part:
            y -= ink.LINE_MM if text else _PARAGRAPH_MM
            at = _MARGIN_MM + k * (column + _APART_MM)
            ink.write(axes, at, y, text, size=ink.SMALL_PT, weight="bold" if bold else "normal")
        lowest = min(lowest, y)
    y = lowest - _STOOD_MM
    _blanks(
        axes,
        ("It stood, before: pitch", "roll", "after: pitch", "roll", "fuel, and what it weighs:", "can or scale:"),
        _MARGIN_MM,
        y,
        wide_mm,
    )
    return y - 2.5


def _lines(note: str, wide_mm: float) -> list[str]:
    """A note in lines, its ± with their figures."""
    return broken(ink.minus(note).replace("± ", "±\N{NO-BREAK SPACE}"), wide_mm)


def _places(plan: FillPlan, shown: Shown) -> list[str]:
    """Where the stick goes in."""
    found = []
    for k, (bottom, top) in enumerate(plan.sticks_m):
        name = ("stick", *ALSO)[k]
        ends = shown.words(
            ("from ", Quantity("length", bottom), " at its foot to ", Quantity("length", top), " at its top")
        )
        found.append(
            f"{name.capitalize()} goes in {ends}, places in the tank's mesh (`fuelsys drill` shows its walls)."
        )
    return found


def _blanks(axes: Axes, names: Sequence[str], left: float, y: float, wide_mm: float) -> None:
    """Names with a line behind each to write on, together over a width."""
    sizes = [ink.width_of(name, ink.SMALL_PT) + 1.5 for name in names]
    each = (wide_mm - sum(sizes)) / len(names)
    for name, size in zip(names, sizes, strict=True):
        ink.write(axes, left, y, name, size=ink.SMALL_PT)
        ink.stroke(axes, np.array([[left + size, y - 0.5], [left + size + each - 2.0, y - 0.5]]), pt=0.5)
        left += size + each


def _heads(axes: Axes, columns: Sequence[_Column], top: float) -> float:
    """The columns' names as the CSV has them, units below -> where the first line begins."""
    y = top - _HEAD_MM
    for one in columns:
        color = ink.GREY if one.name == "in all" else ink.INK
        weight = "normal" if one.name == "in all" else "bold"
        ink.write(axes, one.left + 1.0, y + 4.9, one.name, size=ink.SMALL_PT, weight=weight, color=color)
        if one.unit:
            ink.write(axes, one.left + 1.0, y + 1.4, f"[{one.unit}]", size=ink.SMALL_PT, color=color)
    ink.stroke(axes, np.array([[columns[0].left, y], [columns[-1].right, y]]), pt=1.0)
    return y


def _note_mm(line: Line, shown: Shown, columns: Sequence[_Column]) -> float:
    return ink.LINE_MM * len(_note(line, shown, columns)) + (0.6 if line.words else 0.0)


def _note(line: Line, shown: Shown, columns: Sequence[_Column]) -> list[str]:
    """What is to be seen at a line, over its boxes."""
    room = columns[-1].right - columns[1].left - 2.0
    return broken(ink.minus(shown.words(line.words)), room) if line.words else []


def _row(axes: Axes, plan: FillPlan, shown: Shown, columns: Sequence[_Column], line: Line, top: float) -> None:
    """A line: what is to be seen there, boxes to write in, and in their corners what the drawing expects."""
    y = top
    for text in _note(line, shown, columns):
        y -= ink.LINE_MM
        ink.write(axes, columns[1].left + 1.0, y + 0.2, text, size=ink.SMALL_PT)
    bottom = top - _note_mm(line, shown, columns) - _ROW_MM
    expected = expected_at(plan, line, shown)
    for one in columns:
        if one.name == "step":
            ink.write(axes, one.left + 1.0, top - 3.6, str(line.number), size=ink.TEXT_PT, weight="bold")
            continue
        if text := expected.get(one.name, ""):
            ink.write(axes, one.left + 1.0, bottom + _ROW_MM - 3.2, text, size=ink.SMALL_PT, color=ink.GREY)
        ink.stroke(axes, np.array([[one.left, bottom], [one.left, bottom + _ROW_MM]]), pt=0.5)
    sides = (columns[0].left, columns[-1].right)
    ink.stroke(axes, np.array([[sides[1], bottom], [sides[1], top]]), pt=0.5)
    ink.stroke(axes, np.array([[sides[0], bottom], [sides[0], top]]), pt=0.5)
    ink.stroke(axes, np.array([[sides[0], bottom], [sides[1], bottom]]), pt=0.7)


def expected_at(plan: FillPlan, line: Line, shown: Shown) -> dict[str, str]:
    """What a line's boxes should have, by columns: the pour, the total, each reading; none at a line to spare."""
    if line.step is None:
        return {}
    steps = plan.steps
    k = steps.index(line.step)
    before = steps[k - 1].total_m3 if k else 0.0
    found = {
        "in all": shown.figure(line.step.total_m3, "volume"),
        "poured": shown.figure(line.step.total_m3 - before, "volume"),
    }
    if plan.length_m is not None:
        reads = [(step.read_m, *step.also_m) for step in steps]
        for place, name in enumerate(("stick", *ALSO)[: len(reads[k])]):
            read = reads[k][place]
            dry = all(one[place] is None for one in reads[: k + 1])
            found[name] = "dry" if read is None and dry else "off it" if read is None else shown.figure(read, "length")
    return found


def _foot(axes: Axes, wide: float, page: str) -> None:
    """Who poured, when, and the page's number."""
    y = _MARGIN_MM
    right = wide - _MARGIN_MM - ink.width_of(page, ink.SMALL_PT) - 4.0
    ink.write(axes, wide - _MARGIN_MM, y, page, size=ink.SMALL_PT, ha="right", color=ink.GREY)
    begin = _MARGIN_MM
    grey = "Grey: what the drawing expects."
    ink.write(axes, begin, y, grey, size=ink.SMALL_PT, color=ink.GREY)
    begin += ink.width_of(grey, ink.SMALL_PT) + 5.0
    _blanks(axes, ("Poured by, date:", "read by:", "seen by an inspector:"), begin, y, right - begin)
