"""The dipstick at full size, to lay the stick on: graduations, quantities and a check line; a long one in columns.

A stick of two faces has a column for each, which are cut at the same places and stand on the same line.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import ceil

import numpy as np

from fuelsys.model.built.layout import FittedTank
from fuelsys.model.found.dipstick import DipstickStudy, Graduation
from fuelsys.report.charts.dipstick_words import CUT, LINE_MM, WIDE_MM, advised, heading, over_mm, wrapped
from fuelsys.report.drawing import ink
from fuelsys.report.drawing.canvas import Axes, Figure
from fuelsys.report.drawing.tank_pictures import stick as stick_ends
from fuelsys.report.shown import Shown
from fuelsys.report.tables.dipstick import usable_figure

_MOST_MM = 215.0  # of the stick in one column with the words beside it
_PAGE_MM = 264.0  # what is printed of the shorter paper's height
_COLUMNS = 2
_COLUMN_MM = 54.0  # of one alone
_STRIP_MM = 11.0
_FOOT_MM, _HEAD_MM = 7.0, 18.5
_FIGURE_PT = 9.0
# The letters of a mark's figures: the total, what of it is usable, the distance.
_LETTERS = ((_FIGURE_PT, "bold"), (_FIGURE_PT, "normal"), (ink.SMALL_PT, "normal"))
_GAP_MM = 3.0  # between them
_OVER_MM = 2.1  # words above the stick's end, clear of a mark's figures there and of what heads them
_LEAST_APART_MM = 3.4  # between two labels


@dataclass(frozen=True)
class _Piece:
    """A stretch of the stick in one column: from and to, in mm from the stick's bottom."""

    low_mm: float
    high_mm: float
    first: bool
    last: bool


@dataclass(frozen=True)
class _Column:
    """A stretch of one face on the paper: its left edge, how wide its figures stand, its heading, its number among two."""

    stick: DipstickStudy
    piece: _Piece
    left: float
    asides: tuple[float, ...]
    heading: list[str]
    number: str


def dipstick(tank: FittedTank, faces: Sequence[DipstickStudy], shown: Shown, *, whole: bool = False) -> list[Figure]:
    """The stick's graduations at 1 : 1, one figure for each page; whole: in one piece, however long. One or two faces."""
    if stick_ends(tank) is None:
        return []
    length = length_m(tank) * 1e3
    beside = len(faces) == 1 and (whole or length <= _MOST_MM)
    advice = advised(tank, faces, shown, _check_text(shown))
    count = 1
    if not (whole or beside):
        room = _PAGE_MM - _FOOT_MM - _HEAD_MM - over_mm(faces, wrapped(advice, ink.WIDTH_MM))
        count = ceil(length / room - 1e-9)
    if count > 1:
        advice.append(CUT)
    each = length / count
    pieces = [_Piece(k * each, (k + 1) * each, k == 0, k == count - 1) for k in range(count)]
    columns = [(face, piece) for piece in pieces for face in faces]
    pages = [columns[k : k + _COLUMNS] for k in range(0, len(columns), _COLUMNS)]
    return [_page(tank, faces, page, advice, shown, beside) for page in pages]


def length_m(tank: FittedTank) -> float:
    """How long a tank's stick is."""
    ends = stick_ends(tank)
    return 0.0 if ends is None else float(np.linalg.norm(ends[1] - ends[0]))


def _placed(
    faces: Sequence[DipstickStudy], columns: Sequence[tuple[DipstickStudy, _Piece]], shown: Shown
) -> tuple[list[_Column], float]:
    """The columns of a page one beside the other, and where the last ends."""
    found, left = [], 8.0
    for stick, piece in columns:
        asides = tuple(
            max(
                ink.width_of(head, ink.SMALL_PT),
                *(ink.width_of(_words(mark, stick, shown)[k], *_LETTERS[k]) for mark in stick.marks),
            )
            if stick.marks
            else 0.0
            for k, head in enumerate(_heads(shown))
        )
        pitch = max(_COLUMN_MM if len(columns) == 1 else WIDE_MM, _STRIP_MM + 3.0 + sum(asides) + 2 * _GAP_MM + 7.0)
        number = str(faces.index(stick) + 1) if len(faces) > 1 else ""
        found.append(_Column(stick, piece, left, asides, heading(faces, stick), number))
        left += pitch
    return found, left


def _page(
    tank: FittedTank,
    faces: Sequence[DipstickStudy],
    columns: Sequence[tuple[DipstickStudy, _Piece]],
    words: Sequence[str],
    shown: Shown,
    beside: bool,
) -> Figure:
    """One sheet: the words beside a single column, or over two."""
    placed, ends = _placed(faces, columns, shown)
    x = ends + 8.0 if beside else 0.0
    wide = ink.WIDTH_MM - (26.0 + x if beside else 0.0)
    advice = wrapped(words, wide)
    high = max(shown.check[0], *(piece.high_mm - piece.low_mm for _, piece in columns))
    if beside:
        high = max(high, sum(LINE_MM * len(lines) + 2.2 for lines in advice) - 4.0)
    height = high + _FOOT_MM + _HEAD_MM + (0.0 if beside else over_mm(faces, advice))
    figure, axes = ink.sheet(ink.WIDTH_MM, height)
    ink.write(axes, 0.0, height - 3.5, f"Tank {tank.name}, scale 1 : 1", size=ink.HEAD_PT, weight="bold")
    valid = "" if len(faces) > 1 else f"Valid {ink.minus(faces[0].attitude.text)}. "
    valid += f"{shown.named('Distances', 'length')} from the stick's {faces[0].zero}."
    ink.write(axes, 0.0, height - 8.2, valid, size=ink.SMALL_PT, color=ink.GREY)
    y = height - (_HEAD_MM + 3.0 if beside else 14.0)
    for lines in advice:
        for line in lines:
            ink.write(axes, x, y, line)
            y -= LINE_MM
        y -= 2.2
    for column in placed:
        _column(axes, column, length_m(tank) * 1e3, shown)
    _check_line(axes, shown)
    return figure


def _column(axes: Axes, column: _Column, length_mm: float, shown: Shown) -> None:
    """A stretch of a face: its outline, where it goes on, and its marks with their figures."""
    stick, piece, left = column.stick, column.piece, column.left
    top = _FOOT_MM + piece.high_mm - piece.low_mm
    _strip(axes, piece, left, shown)
    _registers(axes, piece, left, column.number)
    _empty(axes, stick, piece, left, length_mm)
    for number, line in enumerate(reversed(column.heading)):
        ink.write(axes, left - 4.0, top + 9.6 + LINE_MM * number, line)
    if stick.marks:
        for x, head in zip(_columns(left, column.asides), _heads(shown), strict=True):
            ink.write(axes, x, top + 5.2, head, size=ink.SMALL_PT, color=ink.GREY)
    if piece.first:
        text = f"bottom; a dry stick: up to {shown.text(stick.unseen_m3, 'volume')}"
        ink.write(axes, left - 4.0, _FOOT_MM - 5.0, text, size=ink.SMALL_PT)
    labelled = _labelled([_from_bottom(mark, stick, length_mm) for mark in stick.marks])
    for index, mark in enumerate(stick.marks):
        at = _from_bottom(mark, stick, length_mm)
        if piece.low_mm <= at <= piece.high_mm:
            words = _words(mark, stick, shown) if index in labelled else None
            _mark(axes, mark, left, _FOOT_MM + at - piece.low_mm, words, column.asides)


def _from_bottom(mark: Graduation, stick: DipstickStudy, length_mm: float) -> float:
    along = mark.along_m * 1e3
    return along if stick.zero == "bottom" else length_mm - along


def _labelled(places_mm: Sequence[float]) -> set[int]:
    """Which marks carry figures: all, or each second, fifth, tenth, ... so that the figures stay apart."""
    rising = np.sort(np.array(places_mm))
    for step in (1, 2, 5, 10, 20, 50, 100):
        apart = np.diff(rising[::step])
        if apart.size == 0 or float(apart.min()) >= _LEAST_APART_MM:
            return set(range(0, len(places_mm), step))
    return set(range(0, len(places_mm), 100))


def _strip(axes: Axes, piece: _Piece, left: float, shown: Shown) -> None:
    """The outline of the stick; an end that goes on in another column is dashed."""
    bottom, top = _FOOT_MM, _FOOT_MM + piece.high_mm - piece.low_mm
    right = left + _STRIP_MM
    ink.shape(axes, [ink.box(left, bottom, right, top)], fill=ink.AIR)
    for x in (left, right):
        ink.stroke(axes, np.array([[x, bottom], [x, top]]), pt=0.6)
    for y, whole in ((bottom, piece.first), (top, piece.last)):
        dash = "" if whole else (3.0, 2.0)
        ink.stroke(axes, np.array([[left - 3.0, y], [right + 3.0, y]]), pt=0.8 if whole else 0.5, dash=dash)
    if piece.last:
        ink.write(axes, left - 4.0, top + _OVER_MM, "top of the stick", size=ink.SMALL_PT)
    else:
        ink.write(
            axes,
            left - 4.0,
            top + _OVER_MM,
            f"goes on at {shown.text(piece.high_mm / 1e3, 'length')}",
            size=ink.SMALL_PT,
            color=ink.GREY,
        )
    if not piece.first:
        text = f"from {shown.text(piece.low_mm / 1e3, 'length')} above the bottom"
        ink.write(axes, left - 4.0, bottom - 5.0, text, size=ink.SMALL_PT, color=ink.GREY)


def _registers(axes: Axes, piece: _Piece, left: float, face: str) -> None:
    """Where a stick goes on in another column or on another sheet: a cross with a letter at both, to lay one over the other.

    The letter has the number of its face behind it, where there are two.
    """
    for mm, whole, y in (
        (piece.low_mm, piece.first, _FOOT_MM),
        (piece.high_mm, piece.last, _FOOT_MM + piece.high_mm - piece.low_mm),
    ):
        if not whole:
            x, letter = left + _STRIP_MM / 2.0, chr(ord("A") + round(mm / (piece.high_mm - piece.low_mm)) - 1) + face
            ink.stroke(axes, np.array([[x, y - 2.5], [x, y + 2.5]]), pt=0.5)
            ink.write(axes, left - 6.5, y - 1.1, letter, size=_FIGURE_PT, weight="bold")


def _heads(shown: Shown) -> tuple[str, str, str]:
    """What stands over a mark's figures."""
    return "total", "usable", shown.written("length")


def _words(mark: Graduation, stick: DipstickStudy, shown: Shown) -> tuple[str, str, str]:
    """A graduation's quantity, what of it is usable, and its distance."""
    usable = usable_figure(stick, mark.volume_m3, shown)
    return shown.short(mark.volume_m3, "volume"), usable, shown.figure(mark.along_m, "length")


def _columns(left: float, asides: Sequence[float]) -> list[float]:
    """Where a mark's figures begin."""
    x = left + _STRIP_MM + 3.0
    return [x + sum(asides[:k]) + _GAP_MM * k for k in range(len(asides))]


def _mark(
    axes: Axes, mark: Graduation, left: float, y: float, words: tuple[str, ...] | None, asides: Sequence[float]
) -> None:
    """One graduation across the stick, with its quantity, what of it is usable and its distance in columns."""
    start = left if words else left + _STRIP_MM * 0.5
    dash = (2.0, 1.2) if mark.pools_apart else ""
    ink.stroke(axes, np.array([[start, y], [left + _STRIP_MM + (2.0 if words else 0.0), y]]), pt=0.6, dash=dash)
    for x, text, (size, weight), color in zip(
        _columns(left, asides), words or ("", "", ""), _LETTERS, (ink.INK, ink.INK, ink.GREY), strict=True
    ):
        ink.write(axes, x, y - 1.1, text, size=size, weight=weight, color=color)


def _empty(axes: Axes, stick: DipstickStudy, piece: _Piece, left: float, length_mm: float) -> None:
    """Shade the stick up to where nothing usable is left."""
    if stick.empty_m is None:
        return
    at = stick.empty_m * 1e3 if stick.zero == "bottom" else length_mm - stick.empty_m * 1e3
    end = min(at, piece.high_mm)
    if end > piece.low_mm:
        top = _FOOT_MM + end - piece.low_mm
        shade = ink.box(left, _FOOT_MM, left + _STRIP_MM, top)
        ink.shape(axes, [shade], fill=ink.TRAPPED_PALE)
        if at <= piece.high_mm:
            ink.stroke(axes, shade[[2, 3]], pt=1.2, color=ink.TRAPPED_LINE)


def _check_text(shown: Shown) -> str:
    return shown.short(shown.check[0] / 1e3, "length")


def _check_line(axes: Axes, shown: Shown) -> None:
    """A line of a known length with its ends and parts marked, at the right edge."""
    x, low = ink.WIDTH_MM - 8.0, _FOOT_MM
    length, parts = shown.check
    ink.stroke(axes, np.array([[x, low], [x, low + length]]), pt=0.8)
    for k in range(parts + 1):
        half = 2.5 if k in (0, parts // 2, parts) else 1.2
        y = low + length * k / parts
        ink.stroke(axes, np.array([[x - half, y], [x + half, y]]), pt=0.6)
    text = f"check: {_check_text(shown)}"
    ink.write(axes, x + 5.6, low + length / 2.0, text, size=ink.SMALL_PT, ha="center", rotation=90.0)
