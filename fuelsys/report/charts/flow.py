"""How far the fuel is from boiling, against altitude: a panel for each pump's inlet and each engine fed by gravity."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from fuelsys import units
from fuelsys.analysis.lines.suction import boils_above_m
from fuelsys.model.found.flow import Suction
from fuelsys.model.words import Doubt, as_read
from fuelsys.report.drawing import ink
from fuelsys.report.drawing.canvas import Figure, MaxNLocator
from fuelsys.report.drawing.ink import Chart
from fuelsys.report.drawing.labels import spread
from fuelsys.report.shown import Shown

_LEFT, _WIDE, _HIGH = 16.0, 100.0, 46.0
_NAMES_MM = _LEFT + _WIDE + 4.0
_GAP_MM = 4.0  # between names at curves' ends
_STYLES: tuple[tuple[str, str | tuple[float, ...]], ...] = (
    (ink.FUEL_LINE, "-"), (ink.INK, (5.0, 1.5)), (ink.TRAPPED_LINE, (1.5, 1.2)), (ink.GREY, "-"),
)  # fmt: skip
_NOTES = (
    "Above zero by so much is the lowest pressure anywhere in the line over the fuel's vapour pressure. At the flow that a test must"
    " show, last usable fuel in the tank, strainers and filters half blocked, fuel as thick as cold one (the safe side); the tank's air"
    " has the pressure outside (ISO 2533). Vapour pressure: EPA AP-42; dissolved air, which comes out before, is not counted.",
    "Computed, not measured: a flow test on the finished aircraft with hot fuel decides.",
)


def margins(suctions: Sequence[Suction], shown: Shown) -> Figure:
    """The panels one below the other, with each worst attitude named."""
    titles = [_title(one) for one in suctions]
    notes = [as_read(note) for note in (*_notes(suctions), *_NOTES)]
    foot = ink.LINE_MM * sum(len(ink.wrapped(note, ink.WIDTH_MM - _LEFT, ink.SMALL_PT)) for note in notes)
    heights = [_HIGH + 14.0 + ink.LINE_MM * len(title) + 3.0 for title in titles]
    height = foot + 8.0 + sum(heights) + 9.0
    figure, paper = ink.sheet(ink.WIDTH_MM, height)
    paper.set_zorder(2)
    ink.write(
        paper, _LEFT, height - 5.0, "How far the fuel is from boiling on its way", size=ink.HEAD_PT, weight="bold"
    )
    top = height - 9.0
    for one, title, tall in zip(suctions, titles, heights, strict=True):
        bottom = top - tall + 11.0
        for n, row in enumerate(reversed(title)):
            ink.write(paper, _LEFT, bottom + _HIGH + 2.5 + ink.LINE_MM * n, row, size=ink.SMALL_PT)
        _panel(Chart.on(figure, paper, (_LEFT, bottom, _WIDE, _HIGH)), one, shown)
        top -= tall
    ink.footing(paper, _LEFT, 4.0, notes, ink.WIDTH_MM - _LEFT)
    return figure


def _title(one: Suction) -> list[str]:
    kind = "to the inlet of" if one.fed.kind == "suction" else "by gravity to"
    at, tanks = one.worst.attitude, " and ".join(one.worst.tanks)
    words = f"{tanks}, {kind} {one.fed.end}; worst at {at.text}{f', with {one.setting}' if one.setting else ''}"
    return ink.wrapped(ink.minus(words), ink.WIDTH_MM - _LEFT, ink.SMALL_PT)


def _notes(suctions: Sequence[Suction]) -> list[str]:
    found: list[str] = []
    unstated = sorted({name for one in suctions for name in one.fed.unstated})
    if unstated:
        found.append(Doubt(f"the drop of {', '.join(unstated)} is not stated and counts as nothing."))
    unsettled = dict.fromkeys(needs for one in suctions for needs in one.unsettled)
    found += [Doubt(f"a setting may be worse: to look at all needs {needs}.") for needs in unsettled]
    if any(one.assumed_ceiling for one in suctions):
        found.append("The design states no ceiling (aircraft.ceiling): 5000 m is taken.")
    return found


def _panel(chart: Chart, one: Suction, shown: Shown) -> None:
    unit = "ft" if shown.length in ("in", "ft") else "m"
    heights = np.array([units.from_si(float(z), unit, "length") for z in one.altitudes_m])
    values = np.array([[shown.value(float(v), "pressure") for v in row] for row in one.margins_pa])
    low, high = min(float(values.min()), 0.0), max(float(values.max()), 0.0)
    room = 0.06 * (high - low)
    chart.axes.set(xlim=(0.0, heights[-1]), ylim=(low - room, high + room))
    chart.axes.xaxis.set_major_locator(MaxNLocator(6))
    chart.name_axes(f"altitude [{unit}]", shown.named("margin", "pressure"))
    chart.axes.grid(color=ink.FAINT, linewidth=0.3)
    zero = np.array([chart.mm(0.0, 0.0), chart.mm(float(heights[-1]), 0.0)])
    ink.stroke(chart.paper, zero, color=ink.TRAPPED, pt=1.0)
    ends = [(float(zero[1, 1]), "below this line it boils", ink.TRAPPED)]
    for k, row in enumerate(values):
        color, dash = _STYLES[k % len(_STYLES)]
        points = np.array([chart.mm(float(x), float(y)) for x, y in zip(heights, row, strict=True)])
        ink.stroke(chart.paper, points, color=color, pt=1.3, dash=dash)
        ends.append((float(points[-1, 1]), _name(one, k, unit, shown), color))
    _named(chart, ends)


def _name(one: Suction, row: int, unit: str, shown: Shown) -> str:
    degrees = "degF" if unit == "ft" else "degC"
    at = f"{units.from_si(one.temperatures_k[row], degrees, 'temperature'):.0f} {degrees.replace('deg', '°')}"
    above_m = boils_above_m(one, row)
    if above_m is None:
        return f"{at}: {shown.text(float(one.margins_pa[row, -1]), 'pressure')} left"
    if above_m <= 0.0:
        return f"{at}: boils on the ground"
    above = int(units.from_si(above_m, unit, "length") // 10.0 * 10.0)  # down: the safe side
    return f"{at}: boils above {above} {unit}"


def _named(chart: Chart, ends: list[tuple[float, str, str]]) -> None:
    """Names beside the curves' ends, moved apart."""
    ends = sorted(ends, key=lambda end: end[0])
    places = spread(np.array([end[0] for end in ends]), _GAP_MM)
    places += max(0.0, chart.box_mm[1] + 1.0 - float(places[0]))
    for (y_mm, text, color), place in zip(ends, places.tolist(), strict=True):
        ink.stroke(chart.paper, np.array([[_LEFT + _WIDE, y_mm], [_NAMES_MM - 0.6, place]]), color=ink.GREY, pt=0.35)
        ink.write(chart.paper, _NAMES_MM, place - 1.0, ink.minus(text), size=ink.SMALL_PT, color=color)
