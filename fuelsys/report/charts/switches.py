"""The minutes that are left when each low-level switch of a tank trips, over its flight attitudes."""

from __future__ import annotations

import numpy as np

from fuelsys.model.found.study import TankStudy
from fuelsys.model.found.switches import SwitchStudy, left_text
from fuelsys.report.drawing import ink
from fuelsys.report.drawing.canvas import Figure, MaxNLocator
from fuelsys.report.drawing.ink import Chart

_ROW_MM = 13.0
_NAMES_MM = 26.0
_SAME_MIN = 0.05  # what figures told to a tenth do not tell apart


def switch_chart(tank: TankStudy) -> Figure | None:
    """Minutes above the unusable fuel when each switch trips, over the flight attitudes; None without switches."""
    if not tank.switches:
        return None
    height = _ROW_MM * len(tank.switches) + 16.0
    chart = Chart.of(ink.WIDTH_MM, height, (_NAMES_MM, 14.0, ink.WIDTH_MM - _NAMES_MM - 6.0, height - 16.0))
    shown = [m for switch in tank.switches for m in (*_minutes(switch), *_target(switch))] or [1.0]
    chart.axes.set(xlim=(min(0.0, 1.08 * min(shown)), 1.08 * max(*shown, 1.0)), ylim=(-len(tank.switches), 0.0))
    chart.axes.set_yticks([])
    chart.axes.spines["left"].set_visible(False)
    chart.axes.xaxis.set_major_locator(MaxNLocator(12, integer=True))
    late = "; below 0: none is left" if min(shown) < 0.0 else ""
    chart.name_axes(
        f"least minutes above the unusable fuel when it trips, at its latest within the tolerance{late}", ""
    )
    chart.axes.grid(axis="x", color=ink.FAINT, linewidth=0.3)
    chart.axes.axvline(0.0, color=ink.INK, linewidth=0.5)
    for row, switch in enumerate(tank.switches):
        _switch_row(chart, switch, -row - 0.5)
    _switch_legend(chart)
    return chart.figure


def _minutes(switch: SwitchStudy) -> list[float]:
    """The least minutes at the latest trip at each flight attitude at which it trips."""
    flight = [switch.drawn_minutes(at.latest_m3) for at in switch.at if at.attitude.phase == "flight"]
    return [minutes for minutes in flight if minutes is not None]


def _target(switch: SwitchStudy) -> list[float]:
    return [] if switch.target_s is None else [switch.target_s / 60.0]


def _switch_row(chart: Chart, switch: SwitchStudy, y: float) -> None:
    """One switch: its range as a bar, each attitude a tick, the normal one a dot, its target a tall line."""
    minutes = _minutes(switch)
    _, middle = chart.mm(0.0, y)
    ink.write(chart.paper, 0.0, middle - 0.9, switch.name, weight="bold")
    for target in _target(switch):
        x = float(chart.mm(target, y)[0])
        ink.stroke(chart.paper, np.array([[x, middle - 3.4], [x, middle + 3.4]]), pt=1.6, color=ink.TRAPPED_LINE)
        ink.write(chart.paper, x + 0.8, middle + 2.3, f"target {target:g}", size=ink.SMALL_PT, color=ink.TRAPPED_LINE)
    if minutes:
        ends = [float(chart.mm(value, y)[0]) for value in (min(minutes), max(minutes))]
        bar = ink.box(ends[0], middle - 1.3, ends[1], middle + 1.3)
        ink.shape(chart.paper, [bar], fill=ink.FUEL, line=ink.FUEL_LINE, pt=0.6)
    for value in minutes:
        x = float(chart.mm(value, y)[0])
        ink.stroke(chart.paper, np.array([[x, middle - 1.3], [x, middle + 1.3]]), pt=0.4, color=ink.FUEL_LINE)
    normal = switch.drawn_minutes(switch.normal.latest_m3)
    if normal is not None:
        chart.paper.plot(*chart.mm(normal, y), marker="o", markersize=3.6, color=ink.INK)
    _switch_words(chart, switch, float(middle))


def _switch_words(chart: Chart, switch: SwitchStudy, middle: float) -> None:
    """The worst attitude beside the bar, or where the switch never trips."""
    left, right = chart.box_mm[0], chart.box_mm[0] + chart.box_mm[2]
    minutes = _minutes(switch)
    taken = [float(chart.mm(value, 0.0)[0]) for value in (*minutes, *_target(switch))] or [left]
    if switch.worst:
        text = f"{left_text(min(minutes)).removesuffix(' min')} at worst: {switch.worst.attitude.name}"
        forever = switch.forever_minutes
        text += (
            f" ({left_text(forever)} if held for ever)"
            if forever is not None and forever < min(minutes) - _SAME_MIN
            else ""
        )
        text += ", by its share of the flow alone" if switch.share_alone else ""
        color, weight = ink.INK, "normal"
    else:
        text = f"never trips at: {', '.join(at.attitude.name for at in switch.never)}"
        color, weight = ink.TRAPPED_LINE, "bold"
    width = ink.width_of(text, ink.SMALL_PT, weight)
    before = min(taken) - left - 3.0 >= width
    x = min(taken) - 1.5 if before else max(taken) + 1.5
    if not before and x + width > right:  # no room beside it: below
        x, middle = left + 1.0, middle - 3.6
    ink.write(
        chart.paper, x, middle - 0.8, text, size=ink.SMALL_PT, color=color, weight=weight, ha="right" if before else "left",
        ground="white",
    )  # fmt: skip


def _switch_legend(chart: Chart) -> None:
    """What the signs of the switch chart mean."""
    paper, x = chart.paper, 0.0
    ink.shape(paper, [ink.box(x, 0.6, x + 6.0, 2.8)], fill=ink.FUEL, line=ink.FUEL_LINE, pt=0.6)
    x = _legend_word(chart, x + 7.2, "range over the flight attitudes, a tick for each")
    paper.plot(x + 1.0, 1.7, marker="o", markersize=3.6, color=ink.INK)
    x = _legend_word(chart, x + 3.0, "normal flight attitude")
    ink.stroke(paper, np.array([[x + 1.0, 0.2], [x + 1.0, 3.2]]), pt=1.6, color=ink.TRAPPED_LINE)
    _legend_word(chart, x + 2.2, "target")


def _legend_word(chart: Chart, x: float, text: str) -> float:
    """A word of the legend; -> where the next sign stands."""
    ink.write(chart.paper, x, 0.8, text, size=ink.SMALL_PT)
    return x + ink.width_of(text, ink.SMALL_PT) + 5.0
