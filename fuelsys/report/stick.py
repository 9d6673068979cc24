"""The dipstick at full size, to lay the stick on: graduations, quantities and a check line; a long one in columns."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import ceil, degrees

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure

from fuelsys.model.layout import FittedTank
from fuelsys.model.study import DipstickStudy, Graduation
from fuelsys.report import ink
from fuelsys.report.tank_pictures import stick as stick_ends

_MOST_MM = 215.0  # of the stick in one column
_COLUMNS = 2
_COLUMN_MM = 44.0
_STRIP_MM = 11.0
_FOOT_MM, _HEAD_MM = 6.0, 15.0
_LEAST_APART_MM = 3.2  # between two labels
CHECK_MM = 100.0


@dataclass(frozen=True)
class _Piece:
    """A stretch of the stick in one column: from and to, in mm from the stick's bottom."""

    low_mm: float
    high_mm: float
    first: bool
    last: bool


def dipstick(tank: FittedTank, stick: DipstickStudy) -> list[Figure]:
    """The stick's graduations at 1 : 1, one figure for each page."""
    ends = stick_ends(tank)
    if ends is None:
        return []
    length = float(np.linalg.norm(ends[1] - ends[0])) * 1e3
    count = ceil(length / _MOST_MM - 1e-9)
    each = length / count
    pieces = [_Piece(k * each, (k + 1) * each, k == 0, k == count - 1) for k in range(count)]
    return [_page(tank, stick, pieces[k : k + _COLUMNS], length) for k in range(0, count, _COLUMNS)]


def _page(tank: FittedTank, stick: DipstickStudy, pieces: Sequence[_Piece], length_mm: float) -> Figure:
    high = max(CHECK_MM, *(piece.high_mm - piece.low_mm for piece in pieces))
    height = high + _FOOT_MM + _HEAD_MM
    figure, axes = ink.sheet(ink.WIDTH_MM, height)
    ink.write(axes, 0.0, height - 3.2, f"Tank {tank.name}, scale 1 : 1", size=ink.HEAD_PT, weight="bold")
    valid = f"Valid {ink.minus(stick.attitude.text)}. Distances in mm from the stick's {stick.zero}."
    ink.write(axes, 0.0, height - 7.2, valid, size=ink.SMALL_PT, color=ink.GREY)
    _advice(axes, stick, 4.0 + len(pieces) * _COLUMN_MM + 8.0, height - _HEAD_MM - 3.0)
    labelled = _labelled([_from_bottom(mark, stick, length_mm) for mark in stick.marks])
    for column, piece in enumerate(pieces):
        left = 4.0 + column * _COLUMN_MM
        _strip(axes, piece, left)
        if piece.first:
            text = f"bottom; a dry stick: up to {stick.below_m3 * 1e3:.2f} L"
            ink.write(axes, left - 4.0, _FOOT_MM - 4.0, text, size=ink.SMALL_PT)
        for index, mark in enumerate(stick.marks):
            at = _from_bottom(mark, stick, length_mm)
            if piece.low_mm <= at <= piece.high_mm:
                _mark(axes, mark, left, _FOOT_MM + at - piece.low_mm, named=index in labelled)
    _check_line(axes)
    return figure


def _advice(axes: Axes, stick: DipstickStudy, left: float, top: float) -> None:
    """How the drawing is used and what it is worth, beside the stick."""
    differences = [abs(read - mark.volume_m3) for mark in stick.marks for read in mark.sloped_m3]
    off = max(differences, default=0.0)
    paragraphs = [
        f"Print at 100 %, without fitting to the page. The check line must measure {CHECK_MM:.0f} mm.",
        "Lay the stick on its outline, its bottom on the lower line, and carry the marks over.",
        f"On ground that slopes by {degrees(stick.slope_rad):.1f}° a reading may be off by {off * 1e3:.2f} L.",
        "These marks are computed. Before you rely on them, fill the tank in measured steps and correct them.",
    ]
    if any(mark.pools_apart for mark in stick.marks):
        paragraphs.append("Dashed marks: the tank falls into pools there, and the stick shows only its own.")
    y = top
    for paragraph in paragraphs:
        for line in ink.wrapped(paragraph, ink.WIDTH_MM - 26.0 - left, ink.TEXT_PT):
            ink.write(axes, left, y, line)
            y -= 3.6
        y -= 2.2


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


def _strip(axes: Axes, piece: _Piece, left: float) -> None:
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
        ink.write(axes, left - 4.0, top + 1.4, f"goes on at {piece.high_mm:.1f} mm", size=ink.SMALL_PT, color=ink.GREY)
    if not piece.first:
        text = f"from {piece.low_mm:.1f} mm above the bottom"
        ink.write(axes, left - 4.0, bottom - 4.0, text, size=ink.SMALL_PT, color=ink.GREY)


def _mark(axes: Axes, mark: Graduation, left: float, y: float, *, named: bool) -> None:
    """One graduation across the stick, with its quantity and its distance."""
    start = left if named else left + _STRIP_MM * 0.5
    dash = (2.0, 1.2) if mark.pools_apart else ""
    ink.stroke(axes, np.array([[start, y], [left + _STRIP_MM + (2.0 if named else 0.0), y]]), pt=0.6, dash=dash)
    if named:
        x = left + _STRIP_MM + 3.0
        text = f"{mark.volume_m3 * 1e3:g} L"
        ink.write(axes, x, y - 0.95, text, size=ink.HEAD_PT - 0.5, weight="bold")
        ink.write(axes, x + 12.5, y - 0.8, f"{mark.along_m * 1e3:.1f}", size=ink.SMALL_PT, color=ink.GREY)


def _check_line(axes: Axes) -> None:
    """A line of 100 mm with its ends and tens marked, at the right edge."""
    x, low = ink.WIDTH_MM - 8.0, _FOOT_MM
    ink.stroke(axes, np.array([[x, low], [x, low + CHECK_MM]]), pt=0.8)
    for k in range(11):
        half = 2.5 if k in (0, 5, 10) else 1.2
        ink.stroke(axes, np.array([[x - half, low + 10.0 * k], [x + half, low + 10.0 * k]]), pt=0.6)
    ink.write(axes, x + 4.6, low + CHECK_MM / 2.0, "check: 100 mm", size=ink.SMALL_PT, ha="center", rotation=90.0)
