"""A chart of what a calibrated gauge shows wrong: error against the quantity in the tank, a line for each attitude."""

from __future__ import annotations

import numpy as np

from fuelsys.model.found.gauge import Calibration, ErrorAt
from fuelsys.report.drawing import ink
from fuelsys.report.drawing.canvas import Figure
from fuelsys.report.drawing.ink import Chart
from fuelsys.report.shown import Shown
from fuelsys.report.tables.gauge import name

_BOX = (15.0, 11.0, 100.0, 76.0)
_HEAD_MM = 8.0
_COLORS = (ink.FUEL_LINE, ink.TRAPPED, ink.INK, ink.GREY, ink.TRAPPED_LINE)
_DASHES: tuple[str | tuple[float, tuple[float, ...]], ...] = (
    "-", (0.0, (5.0, 1.5)), (0.0, (1.2, 1.2)), (0.0, (6.0, 1.5, 1.2, 1.5)),
)  # fmt: skip
_GAP_MM = ink.LINE_MM + 0.9


def errors(found: Calibration, shown: Shown) -> Figure:
    """Error of the shown usable fuel, each line with its attitude's name beside its end."""
    labels = [
        ink.wrapped(ink.minus(one.attitude.heading), ink.WIDTH_MM - _BOX[0] - _BOX[2] - 14.0, ink.SMALL_PT)
        for one in found.errors
    ]
    high = max(_BOX[3], _GAP_MM * sum(map(len, labels)))
    chart = Chart.of(ink.WIDTH_MM, _BOX[1] + high + _HEAD_MM, (*_BOX[:3], high))
    in_unit = shown.value(1.0, "volume")
    reach = max(found.allowed_m3, *(float(np.abs(one.error_m3).max()) for one in found.errors)) * 1.08 * in_unit
    chart.axes.set(xlim=(0.0, found.gauge.filled_m3 * in_unit), ylim=(-reach, reach))
    chart.name_axes(shown.named("in the tank", "volume"), shown.named("shows too much (+) or too little (−)", "volume"))
    band = found.allowed_m3 * in_unit
    chart.axes.axhspan(-band, band, facecolor=ink.FUEL_PALE, edgecolor="none", zorder=0.4)
    chart.axes.axvspan(0.0, found.gauge.unusable_m3 * in_unit, facecolor=ink.TRAPPED_PALE, edgecolor="none", zorder=0.5)
    chart.axes.grid(color=ink.FAINT, linewidth=0.3)
    chart.axes.axhline(0.0, color=ink.INK, linewidth=0.5)
    for k, one in enumerate(found.errors):
        chart.axes.plot(
            one.quantity_m3 * in_unit, one.error_m3 * in_unit, color=_color(k), linewidth=1.6 if one.attitude.normal else 1.0,
            linestyle=_dash(k), clip_on=False, zorder=3 if one.attitude.normal else 2,
        )  # fmt: skip
    _names(chart, found, labels)
    top = _BOX[1] + high + _HEAD_MM
    title = f"Error of {name(found)}, set at {len(found.points)} points"
    ink.write(chart.paper, 0.0, top - 3.4, title, size=ink.HEAD_PT, weight="bold")
    key = f"blue: within {shown.text(found.allowed_m3, 'volume')}; orange: unusable"
    ink.write(chart.paper, ink.WIDTH_MM, top - 3.4, key, size=ink.SMALL_PT, color=ink.GREY, ha="right")
    return chart.figure


def _color(k: int) -> str:
    return _COLORS[k % len(_COLORS)]


def _dash(k: int) -> str | tuple[float, tuple[float, ...]]:
    return _DASHES[k // len(_COLORS) % len(_DASHES)]


def _names(chart: Chart, found: Calibration, labels: list[list[str]]) -> None:
    """The attitudes' names in the right margin behind a piece of each line, in the order in which the lines lie half way."""

    def half_way(one: ErrorAt) -> float:
        middle_m3 = (found.gauge.unusable_m3 + found.gauge.filled_m3) / 2.0
        return float(np.interp(middle_m3, one.quantity_m3, one.error_m3))

    edge = chart.box_mm[0] + chart.box_mm[2] + 4.0
    height = chart.box_mm[1] + chart.box_mm[3] - 1.5
    for k in sorted(range(len(found.errors)), key=lambda k: (-half_way(found.errors[k]), k)):
        width = 1.6 if found.errors[k].attitude.normal else 1.0
        sign = np.array([[edge, height], [edge + 8.0, height]])
        chart.paper.plot(sign[:, 0], sign[:, 1], color=_color(k), linewidth=width, linestyle=_dash(k), clip_on=False)
        for text in labels[k]:
            ink.write(chart.paper, edge + 9.5, height - 1.0, text, size=ink.SMALL_PT)
            height -= ink.LINE_MM
        height -= _GAP_MM - ink.LINE_MM
