"""The dipstick at full size, to lay the stick on: graduations, quantities and a check line; a long one in columns."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import ceil, degrees

import numpy as np

from fuelsys.model.built.layout import FittedTank
from fuelsys.model.found.dipstick import DipstickStudy, Graduation
from fuelsys.report.drawing import ink
from fuelsys.report.drawing.canvas import Axes, Figure
from fuelsys.report.drawing.tank_pictures import stick as stick_ends
from fuelsys.report.shown import Shown
from fuelsys.report.tables.dipstick import dry, restepped, tested, ungraduated

_MOST_MM = 215.0  # of the stick in one column
_COLUMNS = 2
_COLUMN_MM = 54.0
_STRIP_MM = 11.0
_FOOT_MM, _HEAD_MM = 7.0, 18.5
_FIGURE_PT = 9.0
# The letters of a mark's figures: the total, what of it is usable, the distance.
_LETTERS = ((_FIGURE_PT, "bold"), (_FIGURE_PT, "normal"), (ink.SMALL_PT, "normal"))
_GAP_MM = 3.0  # between them
_LEAST_APART_MM = 3.4  # between two labels
# The line that tells whether the print is at full size: its length, and in how many parts it is divided.
CHECKS: dict[str, tuple[float, int]] = {"in": (101.6, 8), "ft": (76.2, 6)}
CHECK = (100.0, 10)


@dataclass(frozen=True)
class _Piece:
    """A stretch of the stick in one column: from and to, in mm from the stick's bottom."""

    low_mm: float
    high_mm: float
    first: bool
    last: bool


def dipstick(tank: FittedTank, stick: DipstickStudy, shown: Shown) -> list[Figure]:
    """The stick's graduations at 1 : 1, one figure for each page."""
    ends = stick_ends(tank)
    if ends is None:
        return []
    length = float(np.linalg.norm(ends[1] - ends[0])) * 1e3
    count = ceil(length / _MOST_MM - 1e-9)
    each = length / count
    pieces = [_Piece(k * each, (k + 1) * each, k == 0, k == count - 1) for k in range(count)]
    return [_page(tank, stick, pieces[k : k + _COLUMNS], length, shown) for k in range(0, count, _COLUMNS)]


def _page(tank: FittedTank, stick: DipstickStudy, pieces: Sequence[_Piece], length_mm: float, shown: Shown) -> Figure:
    asides = [
        max(
            ink.width_of(head, ink.SMALL_PT),
            *(ink.width_of(_words(mark, stick, shown)[k], *_LETTERS[k]) for mark in stick.marks),
        )
        if stick.marks
        else 0.0
        for k, head in enumerate(_heads(shown))
    ]
    pitch = max(_COLUMN_MM, _STRIP_MM + 3.0 + sum(asides) + 2 * _GAP_MM + 7.0)
    beside = 8.0 + len(pieces) * pitch + 8.0
    advice = [ink.wrapped(text, ink.WIDTH_MM - 26.0 - beside, ink.TEXT_PT) for text in _advice(tank, stick, shown)]
    words_mm = sum(3.8 * len(lines) + 2.2 for lines in advice)
    high = max(CHECKS.get(shown.length, CHECK)[0], words_mm - 4.0, *(piece.high_mm - piece.low_mm for piece in pieces))
    height = high + _FOOT_MM + _HEAD_MM
    figure, axes = ink.sheet(ink.WIDTH_MM, height)
    ink.write(axes, 0.0, height - 3.5, f"Tank {tank.name}, scale 1 : 1", size=ink.HEAD_PT, weight="bold")
    valid = (
        f"Valid {ink.minus(stick.attitude.text)}. {shown.named('Distances', 'length')} from the stick's {stick.zero}."
    )
    ink.write(axes, 0.0, height - 8.2, valid, size=ink.SMALL_PT, color=ink.GREY)
    y = height - _HEAD_MM - 3.0
    for lines in advice:
        for line in lines:
            ink.write(axes, beside, y, line)
            y -= 3.8
        y -= 2.2
    labelled = _labelled([_from_bottom(mark, stick, length_mm) for mark in stick.marks])
    for column, piece in enumerate(pieces):
        left = 8.0 + column * pitch
        _strip(axes, piece, left, shown)
        _registers(axes, piece, left)
        _empty(axes, stick, piece, left, length_mm)
        if stick.marks:
            top = _FOOT_MM + piece.high_mm - piece.low_mm + 5.2
            for x, head in zip(_columns(left, asides), _heads(shown), strict=True):
                ink.write(axes, x, top, head, size=ink.SMALL_PT, color=ink.GREY)
        if piece.first:
            text = f"bottom; a dry stick: up to {shown.text(stick.below_m3, 'volume')}"
            ink.write(axes, left - 4.0, _FOOT_MM - 5.0, text, size=ink.SMALL_PT)
        for index, mark in enumerate(stick.marks):
            at = _from_bottom(mark, stick, length_mm)
            if piece.low_mm <= at <= piece.high_mm:
                words = _words(mark, stick, shown) if index in labelled else None
                _mark(axes, mark, left, _FOOT_MM + at - piece.low_mm, words, asides)
    _check_line(axes, shown)
    return figure


def _advice(tank: FittedTank, stick: DipstickStudy, shown: Shown) -> list[str]:
    """How the drawing is used and what it is worth, paragraph by paragraph."""
    if not stick.marks:
        return [f"Not to be used: {ungraduated(stick, shown)}"]
    differences = [abs(read - mark.volume_m3) for mark in stick.marks for read in mark.sloped_m3]
    off = max(differences, default=0.0)
    usable = "Usable is not computed: needs an outlet."
    if stick.unusable_m3 is not None:
        usable = f"Usable counts above {shown.text(stick.unusable_m3, 'volume')} of unusable fuel"
        usable += "; shaded: none is left." if stick.empty_m is not None else "."
    paragraphs = [
        f"Print at 100 %, without fitting to the page. The check line must measure {_check_text(shown)}.",
        "Lay the stick on its outline, its bottom on the lower line, and carry the marks over.",
        f"Dry stick: {dry(stick, shown)}. {usable}",
        f"On ground that slopes by {degrees(stick.slope_rad):.1f}° a reading may be off by {shown.text(off, 'volume')}.",
        tested(tank, stick),
    ]
    ends = stick_ends(tank)
    if ends is not None and float(np.linalg.norm(ends[1] - ends[0])) * 1e3 > _MOST_MM:
        paragraphs.append("Cut at the dashed ends and lay equal letters over each other, cross on cross.")
    if any(mark.pools_apart for mark in stick.marks):
        paragraphs.append("Dashed marks: the tank falls into pools there, and the stick shows only its own.")
    return paragraphs if stick.as_stated else [*paragraphs, restepped(shown)]


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
        ink.write(axes, left - 4.0, top + 1.4, "top of the stick", size=ink.SMALL_PT)
    else:
        ink.write(
            axes,
            left - 4.0,
            top + 1.4,
            f"goes on at {shown.text(piece.high_mm / 1e3, 'length')}",
            size=ink.SMALL_PT,
            color=ink.GREY,
        )
    if not piece.first:
        text = f"from {shown.text(piece.low_mm / 1e3, 'length')} above the bottom"
        ink.write(axes, left - 4.0, bottom - 5.0, text, size=ink.SMALL_PT, color=ink.GREY)


def _registers(axes: Axes, piece: _Piece, left: float) -> None:
    """Where a stick goes on in another column or on another sheet: a cross with a letter at both, to lay one over the other."""
    for mm, whole, y in (
        (piece.low_mm, piece.first, _FOOT_MM),
        (piece.high_mm, piece.last, _FOOT_MM + piece.high_mm - piece.low_mm),
    ):
        if not whole:
            x, letter = left + _STRIP_MM / 2.0, chr(ord("A") + round(mm / (piece.high_mm - piece.low_mm)) - 1)
            ink.stroke(axes, np.array([[x, y - 2.5], [x, y + 2.5]]), pt=0.5)
            ink.write(axes, left - 6.5, y - 1.1, letter, size=_FIGURE_PT, weight="bold")


def _heads(shown: Shown) -> tuple[str, str, str]:
    """What stands over a mark's figures."""
    return "total", "usable", shown.written("length")


def _words(mark: Graduation, stick: DipstickStudy, shown: Shown) -> tuple[str, str, str]:
    """A graduation's quantity, what of it is usable, and its distance."""
    usable_m3 = stick.usable_m3(mark.volume_m3)
    usable = "–" if usable_m3 is None else shown.figure(usable_m3, "volume")
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
    return shown.short(CHECKS.get(shown.length, CHECK)[0] / 1e3, "length")


def _check_line(axes: Axes, shown: Shown) -> None:
    """A line of a known length with its ends and parts marked, at the right edge."""
    x, low = ink.WIDTH_MM - 8.0, _FOOT_MM
    length, parts = CHECKS.get(shown.length, CHECK)
    ink.stroke(axes, np.array([[x, low], [x, low + length]]), pt=0.8)
    for k in range(parts + 1):
        half = 2.5 if k in (0, parts // 2, parts) else 1.2
        y = low + length * k / parts
        ink.stroke(axes, np.array([[x - half, y], [x + half, y]]), pt=0.6)
    text = f"check: {_check_text(shown)}"
    ink.write(axes, x + 5.6, low + length / 2.0, text, size=ink.SMALL_PT, ha="center", rotation=90.0)
