"""What the spread of each answer comes from: bars sorted by their share of its variance."""

from __future__ import annotations

from collections.abc import Sequence

from fuelsys.model.found.tolerance import Shares
from fuelsys.report.drawing import ink
from fuelsys.report.drawing.canvas import Figure
from fuelsys.report.drawing.ink import Chart
from fuelsys.report.tables.tolerance import words

_LEFT, _RIGHT, _ROW_MM, _HEAD_MM = 48.0, 22.0, 5.0, 9.0
_LEAST = 0.005  # shares under half a percent are left to the table


def bars(tank: str, found: Sequence[Shares], seed: int) -> Figure:
    """One block of bars for each answer: all of a source's share, darker what it has alone."""
    blocks = [(one, [share for share in one.of if share.total >= _LEAST]) for one in found]
    rows = sum(max(1, len(kept)) for _, kept in blocks)
    height = 12.0 + 9.0 + rows * _ROW_MM + len(blocks) * _HEAD_MM
    wide = ink.WIDTH_MM - _LEFT - _RIGHT
    chart = Chart.of(ink.WIDTH_MM, height, (_LEFT, 11.0, wide, height - 21.0))
    chart.axes.set(xlim=(0.0, 100.0), ylim=(0.0, 1.0))
    chart.axes.set_yticks([])
    chart.axes.spines["left"].set_visible(False)
    chart.axes.grid(axis="x", color=ink.FAINT, linewidth=0.3)
    chart.name_axes("share of the variance [%]", "")
    ink.write(
        chart.paper, 0.0, height - 5.0, f"What the spreads of tank {tank} come from", size=ink.HEAD_PT, weight="bold"
    )
    key = f"dark: alone; pale: together with others; seed {seed}"
    ink.write(chart.paper, ink.WIDTH_MM, height - 5.0, key, size=ink.SMALL_PT, color=ink.GREY, ha="right")
    y = height - 10.0
    for one, kept in blocks:
        y -= _HEAD_MM - 3.0
        ink.write(chart.paper, 0.0, y, words(one), weight="bold", ground="white")
        y -= 3.0
        if not kept:
            ink.write(
                chart.paper, _LEFT, y - 2.0, one.why_not, color=ink.TRAPPED_LINE, ground="white", size=ink.SMALL_PT
            )
            y -= _ROW_MM
        for share in kept:
            y -= _ROW_MM
            _bar(chart, y + 1.0, share.source, max(0.0, share.first), share.total)
    return chart.figure


def _bar(chart: Chart, y_mm: float, source: str, alone: float, total: float) -> None:
    """One source, with its share in figures behind the bar."""
    wide = chart.box_mm[2]
    ends = [_LEFT + wide * min(1.0, share) for share in (alone, max(alone, total))]
    ink.write(chart.paper, _LEFT - 1.5, y_mm + 0.9, source, size=ink.SMALL_PT, ha="right")
    ink.shape(chart.paper, [ink.box(_LEFT, y_mm, ends[1], y_mm + 3.4)], fill=ink.FUEL, line=ink.FUEL_LINE, pt=0.4)
    ink.shape(chart.paper, [ink.box(_LEFT, y_mm, ends[0], y_mm + 3.4)], fill=ink.FUEL_LINE)
    ink.write(chart.paper, ends[1] + 1.2, y_mm + 0.9, f"{total * 100.0:.1f} %", size=ink.SMALL_PT, ground="white")
