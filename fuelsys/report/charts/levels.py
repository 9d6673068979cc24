"""Volume against level at the two normal attitudes, with what is fillable and unusable, and where each switch trips."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from fuelsys.analysis.tank.levels import level_table
from fuelsys.analysis.tank.tilted import Tilted
from fuelsys.model.found.levels import LevelTable
from fuelsys.model.found.study import Study, TankStudy
from fuelsys.model.stated.attitude import Attitude
from fuelsys.report.drawing import ink
from fuelsys.report.drawing.canvas import Figure
from fuelsys.report.drawing.ink import Chart
from fuelsys.report.drawing.labels import spread
from fuelsys.report.shown import Shown

_CURVE_STEPS = 160
_CURVE_BOX = (15.0, 11.0, 92.0, 76.0)

Named = tuple[float, float, str]


def volume_curves(study: Study, tank: TankStudy, shown: Shown) -> Figure:
    """Volume against level at the normal ground and flight attitude, with fillable, unusable and the switches' trips."""
    ground, flight = study.layout.design.normal("ground"), study.layout.design.normal("flight")
    chart = Chart.of(ink.WIDTH_MM, 92.0, _CURVE_BOX)
    cavity, tables = tank.tank.cavity, []
    for attitude in (ground, flight):
        tilted = Tilted.of(cavity, attitude.up)
        tables.append(level_table(cavity, attitude, (tilted.high_m - tilted.low_m) / _CURVE_STEPS))
    top_m = max(table.rows[-1].level_m for table in tables) * 1.03
    chart.axes.set(xlim=(0.0, shown.value(cavity.gross_m3 * 1.02, "volume")), ylim=(0.0, shown.value(top_m, "length")))
    chart.name_axes(shown.named("volume", "volume"), shown.named("level above the cavity's lowest point", "length"))
    chart.axes.grid(color=ink.FAINT, linewidth=0.3)
    _unusable_band(chart, tank, shown)
    if any(table.common_from_m > 0.0 for table in tables):
        _note_pools(chart)
    ends = [
        _curve(chart, tables[0], shown, ink.INK, "-"),
        _curve(chart, tables[1], shown, ink.FUEL_LINE, (0.0, (5.0, 1.5))),
    ]
    _margin_names(chart, [*ends, *_curve_points(chart, tank, ground, flight, shown)])
    return chart.figure


def _curve(
    chart: Chart, table: LevelTable, shown: Shown, color: str, dash: str | tuple[float, tuple[float, ...]]
) -> Named:
    """One curve, faint where the tank falls into pools that need not stand at one level; -> its end with its name."""
    volumes = np.array([shown.value(row.volume_m3, "volume") for row in table.rows])
    levels = np.array([shown.value(row.level_m, "length") for row in table.rows])
    common = np.array([row.level_m >= table.common_from_m for row in table.rows])
    below = np.append(~common[1:], False) | ~common  # and the first that is common, where the two strokes meet
    chart.axes.plot(volumes[below], levels[below], color=color, linewidth=0.6, linestyle=(0.0, (1.0, 1.5)))
    chart.axes.plot(volumes[common], levels[common], color=color, linewidth=1.2, linestyle=dash)
    at, last = table.attitude, table.rows[-1]
    text = f"{at.name}, {at.phase}\ngross {shown.text(last.volume_m3, 'volume')}, {shown.text(last.level_m, 'length')}"
    return float(volumes[-1]), float(levels[-1]), text


def _note_pools(chart: Chart) -> None:
    """What the dotted part of a curve means."""
    text = "Dotted: below this level the tank falls into pools, which need not stand at one level."
    x = chart.box_mm[0] + chart.box_mm[2] + 3.8
    ink.footing(chart.paper, x, chart.box_mm[1], [text], ink.WIDTH_MM - x)


def _unusable_band(chart: Chart, tank: TankStudy, shown: Shown) -> None:
    """The unusable volume as a band along the left."""
    if tank.capacity.unusable is None:
        return
    held = tank.capacity.unusable.volume_m3
    edge = shown.value(held, "volume")
    chart.axes.axvspan(0.0, edge, facecolor=ink.TRAPPED_PALE, edgecolor=ink.TRAPPED_LINE, linewidth=0.5, zorder=0.5)
    top = float(chart.axes.get_ylim()[1])
    x, y = chart.mm(edge, top)
    text = f"unusable: {shown.text(held, 'volume')}"
    if tank.capacity.unusable.held:
        text += f" ({shown.text(tank.capacity.unusable.sustained.sustained_m3, 'volume')} if held for ever)"
    ink.write(chart.paper, x + 1.0, y - 2.9, text, size=ink.SMALL_PT, color=ink.TRAPPED_LINE, ground="white")


def _curve_points(chart: Chart, tank: TankStudy, ground: Attitude, flight: Attitude, shown: Shown) -> list[Named]:
    """Marks on the curves, with their words: the filled tank on the ground, each switch's trip in flight."""
    fitted, found = tank.tank, []
    full = tank.capacity.filled
    if full:
        volume = shown.value(full.volume_m3, "volume")
        text = f"fillable to the {full.limited_by}\n{shown.text(full.volume_m3, 'volume')}"
        level_m = full.level_m - Tilted.of(fitted.cavity, ground.up).low_m
        level = shown.value(level_m, "length")
        if full.trapped_air_m3 > 0.0:  # the surface below trapped air does not stand at the level where fuel spills
            text += f"\n{shown.text(full.trapped_air_m3, 'volume')} of air trapped"
            level = chart.axes.get_ylim()[1]
            chart.axes.axvline(volume, color=ink.INK, linewidth=0.6)
        else:
            text += f", {shown.text(level_m, 'length')}"
            chart.axes.plot(volume, level, marker="s", markersize=4, color=ink.INK, clip_on=False)
        found.append((volume, level, text))
    low = Tilted.of(fitted.cavity, flight.up).low_m
    for switch in tank.switches:
        trip = switch.normal.trip_m3
        if trip is not None:
            level_m = fitted.level_m(f"switch {switch.name}", flight.up) - low
            volume, level = shown.value(trip, "volume"), shown.value(level_m, "length")
            chart.axes.plot(volume, level, marker="o", markersize=4, color=ink.FUEL_LINE, clip_on=False)
            text = f"switch {switch.name} trips\n{shown.text(trip, 'volume')}, {shown.text(level_m, 'length')}"
            found.append((volume, level, text))
    return found


def _margin_names(chart: Chart, points: Sequence[Named]) -> None:
    """Words of points in the right margin, spread so that none covers another, with thin leaders; they may have lines."""
    order = sorted(points, key=lambda point: point[1])
    places = np.array([chart.mm(x, y) for x, y, _ in order])
    edge = chart.box_mm[0] + chart.box_mm[2]
    room = ink.WIDTH_MM - edge - 3.8
    lines = [
        [line for part in text.split("\n") for line in ink.wrapped(part, room, ink.SMALL_PT)] for _, _, text in order
    ]
    gap = ink.LINE_MM * max(map(len, lines)) + 0.8
    highest = chart.box_mm[1] + chart.box_mm[3] + 1.0 - gap * np.arange(len(order))[::-1]
    for place, height, words in zip(places, spread(np.minimum(places[:, 1], highest), gap), lines, strict=True):
        ink.stroke(chart.paper, np.array([place, [edge, place[1]], [edge + 3.0, height]]), color=ink.GREY, pt=0.35)
        for k, line in enumerate(words):
            ink.write(chart.paper, edge + 3.8, height - 1.0 - ink.LINE_MM * k, line, size=ink.SMALL_PT)
