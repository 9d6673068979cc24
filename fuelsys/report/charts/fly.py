"""A flight as a timeline: what each tank holds against time, its lamps as bars above, and what happens, numbered."""

from __future__ import annotations

import numpy as np

from fuelsys import units
from fuelsys.arrays import Floats
from fuelsys.model.found.fly import Flown, Happening
from fuelsys.report.drawing import ink
from fuelsys.report.drawing.canvas import Figure, MaxNLocator
from fuelsys.report.drawing.ink import Chart
from fuelsys.report.drawing.labels import spread
from fuelsys.report.shown import Shown
from fuelsys.report.tables import fly as flight_tables

_LEFT, _WIDE, _HIGH = 15.0, 118.0, 50.0
_NAMES_MM = _LEFT + _WIDE + 3.0
_LAMP_MM, _LIST_MM = 5.0, 4.2
_MOST_LISTED = 24
_SIGN_MM = 4.4
# What stands in the list below with its number; the rest would only repeat the curves.
_LISTED = (
    "begins",
    "lights",
    "outlet dry",
    "passes on",
    "falls",
    "runs over",
    "breathes",
    "parts",
    "joins",
    "air",
    "ends",
)
_STYLES: tuple[tuple[str, str | tuple[float, ...]], ...] = (
    (ink.FUEL_LINE, "-"), (ink.TRAPPED_LINE, (5.0, 1.5)), (ink.INK, (1.5, 1.2)), (ink.GREY, "-"),
    (ink.TRAPPED, (7.0, 1.5, 1.5, 1.5)), (ink.FUEL_LINE, (2.5, 1.2)),
)  # fmt: skip


def timeline(flown: Flown, shown: Shown) -> Figure:
    """Quantities against time; lamps as bars over the plot; numbered events with their words below."""
    listed = _told(flown)
    rows = [line for n, one in enumerate(listed, 1) for line in _worded(n, one, flown, shown)]
    lamps = _lamps(flown)
    bottom = 3.0 + _LIST_MM * len(rows) + 13.0
    top = bottom + _HIGH
    height = top + 7.0 + _LAMP_MM * len(lamps) + 8.0
    chart = Chart.of(ink.WIDTH_MM, height, (_LEFT, bottom, _WIDE, _HIGH))
    last = max(flown.end_s / 60.0, 1e-3)
    most = shown.value(float(flown.held_m3.max()), "volume") * 1.05
    chart.axes.set(xlim=(0.0, last * 1.01), ylim=(0.0, max(most, 1e-9)))
    chart.axes.xaxis.set_major_locator(MaxNLocator(8, steps=[1, 1.5, 2, 3, 5, 6, 10]))
    chart.name_axes("time [min]", shown.named("in the tank", "volume"))
    chart.axes.grid(color=ink.FAINT, linewidth=0.3)
    _curves(chart, flown, shown)
    _bars(chart, lamps, flown.end_s, top + 7.0)
    _signs(chart, listed, top)
    _list(chart, rows, bottom - 13.0)
    title = "Flight: what each tank holds" + (
        f", until the engine stops at {units.minutes(flown.end_s)} min" if flown.stopped else ""
    )
    ink.write(chart.paper, _LEFT, height - 4.0, title, size=ink.HEAD_PT, weight="bold")
    return chart.figure


def _curves(chart: Chart, flown: Flown, shown: Shown) -> None:
    """One curve for each tank, its name with what is left beside its end."""
    minutes = flown.times_s / 60.0
    ends = []
    for k, tank in enumerate(flown.tanks):
        color, dash = _STYLES[k % len(_STYLES)]
        held = np.array([shown.value(float(v), "volume") for v in flown.held_m3[:, k]])
        points = np.array([chart.mm(float(x), float(y)) for x, y in zip(minutes, held, strict=True)])
        ink.stroke(chart.paper, points, color=color, pt=1.3, dash=dash)
        left = shown.text(float(flown.held_m3[-1, k]), "volume")
        ends.append((float(points[-1, 1]), f"{tank}: {left} left", color, points[-1]))
    ends.sort(key=lambda one: one[0])
    heights = spread(np.array([one[0] for one in ends]), 4.2)
    heights += max(0.0, chart.box_mm[1] + 1.0 - float(heights[0]))
    for (_, text, color, at_mm), y_mm in zip(ends, heights.tolist(), strict=True):
        ink.stroke(chart.paper, np.array([at_mm, [_NAMES_MM - 0.6, y_mm]]), color=ink.GREY, pt=0.35)
        for n, line in enumerate(ink.wrapped(text, ink.WIDTH_MM - _NAMES_MM, ink.SMALL_PT)[:1]):
            ink.write(chart.paper, _NAMES_MM, y_mm - 1.0 - n * ink.LINE_MM, line, size=ink.SMALL_PT, color=color)


def _lamps(flown: Flown) -> list[tuple[str, list[tuple[float, float]]]]:
    """Each lamp that lights, and from when to when it is lit."""
    lit: dict[str, list[tuple[float, float]]] = {}
    since: dict[str, float] = {}
    for one in flown.happenings:
        name = f'{one.tank}: lamp "{one.detail}"'
        if one.what == "lights":
            since[name] = one.at_s
            lit.setdefault(name, [])
        elif one.what == "goes out" and name in since:
            lit[name].append((since.pop(name), one.at_s))
    for name, at_s in since.items():
        lit[name].append((at_s, flown.end_s))
    return list(lit.items())


def _bars(chart: Chart, lamps: list[tuple[str, list[tuple[float, float]]]], end_s: float, bottom_mm: float) -> None:
    """A row for each lamp above the plot; beside it, how long before the end it lit for good."""
    for k, (name, spans) in enumerate(reversed(lamps)):
        y_mm = bottom_mm + _LAMP_MM * k
        for begin, until in spans:
            one, two = chart.mm(begin / 60.0, 0.0)[0], chart.mm(until / 60.0, 0.0)[0]
            ink.shape(chart.paper, [ink.box(one, y_mm, max(two, one + 0.3), y_mm + 2.6)], fill=ink.TRAPPED)
        begun = min(chart.mm(begin / 60.0, 0.0)[0] for begin, _ in spans)
        words = name
        width = ink.width_of(words, ink.SMALL_PT)
        if begun - width - 1.5 > _LEFT:
            ink.write(chart.paper, begun - 1.5, y_mm + 0.3, words, size=ink.SMALL_PT, ha="right")
        else:  # lit so early that its name stands on it, the bar seen behind
            ink.write(chart.paper, _LEFT + 1.0, y_mm + 0.3, words, size=ink.SMALL_PT)
        before = f"lit {units.minutes(end_s - spans[-1][0])} min before" if spans[-1][1] >= end_s else "out again"
        ink.write(chart.paper, _NAMES_MM, y_mm + 0.3, before, size=ink.SMALL_PT, color=ink.TRAPPED_LINE)


def _told(flown: Flown) -> list[Happening]:
    """What the list names; of very many the last, which the engine's stopping belongs to."""
    found = [one for one in flown.happenings if one.what in _LISTED]
    return found if len(found) <= _MOST_LISTED else [*found[:4], *found[4 - _MOST_LISTED :]]


def _worded(number: int, one: Happening, flown: Flown, shown: Shown) -> list[tuple[str, str, str]]:
    """An event in the list's lines: its number, its time, its words."""
    held = "" if one.held_m3 is None else f", {shown.text(one.held_m3, 'volume')} in it"
    tank = f"{one.tank}: " if one.tank else ""
    words = f"{tank}{flight_tables.says(one, flown, shown)}{held}, {shown.text(one.total_m3, 'volume')} in all"
    lines = ink.wrapped(ink.minus(words), ink.WIDTH_MM - _LEFT - 18.0, ink.SMALL_PT)
    first = (str(number), units.minutes(one.at_s), lines[0])
    return [first, *(("", "", line) for line in lines[1:])]


def _signs(chart: Chart, listed: list[Happening], top_mm: float) -> None:
    """Numbers over the plot, each over its moment or beside its neighbours, with a thin line down to the axis."""
    if not listed:
        return
    at = np.array([chart.mm(one.at_s / 60.0, 0.0)[0] for one in listed])
    places: Floats = spread(at, _SIGN_MM)
    right = ink.WIDTH_MM - 4.0
    limit = right - _SIGN_MM * np.arange(len(places))[::-1]
    places = np.minimum(places, limit)
    foot = chart.box_mm[1]
    for number, (x_mm, place) in enumerate(zip(at.tolist(), places.tolist(), strict=True), 1):
        course = np.array([[x_mm, foot], [x_mm, top_mm], [place, top_mm + 1.8]])
        ink.stroke(chart.paper, course, color=ink.GREY, pt=0.35, dash=(2.0, 2.0))
        ink.write(chart.paper, place, top_mm + 2.6, str(number), size=ink.SMALL_PT, ha="center", weight="bold")


def _list(chart: Chart, rows: list[tuple[str, str, str]], top_mm: float) -> None:
    """The numbered events below the plot."""
    ink.write(chart.paper, _LEFT + 14.0, top_mm, "min", size=ink.SMALL_PT, color=ink.GREY, ha="right")
    for k, (number, minutes, words) in enumerate(rows):
        y_mm = top_mm - _LIST_MM * (k + 1)
        ink.write(chart.paper, _LEFT, y_mm, number, size=ink.SMALL_PT, ha="right", weight="bold")
        ink.write(chart.paper, _LEFT + 14.0, y_mm, minutes, size=ink.SMALL_PT, ha="right")
        ink.write(chart.paper, _LEFT + 17.0, y_mm, words, size=ink.SMALL_PT)
