"""Charts of one tank: volume against level, unusable fuel over pitch and roll, minutes at the trip of each switch."""

from __future__ import annotations

from collections.abc import Sequence
from math import asin, atan2, degrees

import numpy as np
from matplotlib.axes import Axes
from matplotlib.colors import ListedColormap
from matplotlib.figure import Figure

from fuelsys.analysis.table import level_table
from fuelsys.analysis.tilted import Tilted
from fuelsys.kernels.compiled import Floats
from fuelsys.model.attitude import Attitude
from fuelsys.model.study import LevelTable, Study, SwitchStudy, TankStudy, TripAt
from fuelsys.report import ink

_CURVE_STEPS = 160


def volume_curves(study: Study, tank: TankStudy) -> Figure:
    """Volume against level at the normal ground and flight attitude, with fillable, unusable and the switches' trips."""
    ground, flight = study.layout.design.normal("ground"), study.layout.design.normal("flight")
    figure, axes = ink.chart(ink.WIDTH_MM, 92.0, (14.0, 11.0, 108.0, 74.0))
    top_mm, most_l = 0.0, tank.capacity.gross_m3 * 1e3
    names: list[tuple[float, float, str]] = []
    for attitude, color, dash in ((ground, ink.INK, "-"), (flight, ink.FUEL_LINE, (0.0, (5.0, 1.5)))):
        cavity = tank.tank.cavity
        tilted = Tilted.of(cavity, attitude.up)
        table = level_table(cavity, attitude, (tilted.high_m - tilted.low_m) / _CURVE_STEPS)
        _curve(axes, table, color, dash)
        high_mm = table.rows[-1].level_m * 1e3
        top_mm = max(top_mm, high_mm)
        names.append((most_l, high_mm, f"full, {attitude.name}"))
    axes.set(xlim=(0.0, most_l * 1.02), ylim=(0.0, top_mm * 1.04))
    axes.set_xlabel("volume [L]")
    axes.set_ylabel("level above the cavity's lowest point [mm]")
    axes.grid(color=ink.FAINT, linewidth=0.3)
    _unusable_band(axes, tank, top_mm)
    _margin_labels(axes, [*names, *_curve_points(axes, tank, ground, flight)], most_l * 1.02)
    return figure


def _curve(axes: Axes, table: LevelTable, color: str, dash: str | tuple[float, tuple[float, ...]]) -> None:
    """One curve; faint below the level where the tank falls into pools that need not stand at one level."""
    volumes = np.array([row.volume_m3 for row in table.rows]) * 1e3
    levels = np.array([row.level_m for row in table.rows]) * 1e3
    common = levels >= table.common_from_m * 1e3
    axes.plot(volumes, levels, color=color, linewidth=0.5, linestyle=(0.0, (1.0, 1.5)))
    axes.plot(volumes[common], levels[common], color=color, linewidth=1.2, linestyle=dash, label=table.attitude.name)


def _unusable_band(axes: Axes, tank: TankStudy, top_mm: float) -> None:
    """The unusable volume as a band along the left."""
    if tank.capacity.unusable is None:
        return
    litres = tank.capacity.unusable.volume_m3 * 1e3
    axes.axvspan(0.0, litres, facecolor=ink.TRAPPED_PALE, edgecolor=ink.TRAPPED_LINE, linewidth=0.4, zorder=0.5)
    axes.annotate(
        f"unusable {litres:.3f} L", (litres, top_mm), (3.0, -4.0), textcoords="offset points", fontsize=ink.SMALL_PT,
        color=ink.TRAPPED_LINE, va="top",
    )  # fmt: skip


def _curve_points(
    axes: Axes, tank: TankStudy, ground: Attitude, flight: Attitude
) -> list[tuple[float, float, str]]:
    """Marks on the curves, with their words: the filled tank on the ground, each switch's trip in flight."""
    fitted, found = tank.tank, []
    if tank.capacity.filled:
        full = tank.capacity.filled
        level = (full.level_m - Tilted.of(fitted.cavity, ground.up).low_m) * 1e3
        litres = full.volume_m3 * 1e3
        axes.plot(litres, level, marker="s", markersize=4, color=ink.INK)
        found.append((litres, level, f"fillable to the {full.limited_by}: {litres:.3f} L, {level:.1f} mm"))
    low = Tilted.of(fitted.cavity, flight.up).low_m
    for switch in tank.switches:
        trip = switch.normal.trip_m3
        if trip is not None:
            level = (fitted.level_m(f"switch {switch.name}", flight.up) - low) * 1e3
            axes.plot(trip * 1e3, level, marker="o", markersize=4, color=ink.FUEL_LINE)
            found.append((trip * 1e3, level, f"switch {switch.name} trips: {trip * 1e3:.3f} L, {level:.1f} mm"))
    return found


def _margin_labels(axes: Axes, points: Sequence[tuple[float, float, str]], edge: float) -> None:
    """Words of points in the right margin, spread so that none covers another, with thin leaders."""
    low, high = axes.get_ylim()
    per_mm = (high - low) / 74.0
    order = sorted(points, key=lambda point: point[1])
    heights = spread(np.array([point[1] for point in order]), 3.6 * per_mm)
    for (x, y, text), height in zip(order, heights, strict=True):
        axes.plot(
            [x, edge, edge + 3.0 * edge / 108.0], [y, y, height], color=ink.GREY, linewidth=0.35, clip_on=False,
            scalex=False, scaley=False,
        )  # fmt: skip
        axes.text(edge * (1.0 + 4.0 / 108.0), height, text, fontsize=ink.SMALL_PT, color=ink.INK, va="center")


def spread(wanted: Floats, gap: float) -> Floats:
    """Rising places moved apart to a least gap, each as little as can be (runs of neighbours share their shift).

    >>> spread(np.array([0.0, 1.0, 10.0]), 3.0).tolist()
    [-1.0, 2.0, 10.0]
    """
    runs: list[list[float]] = []  # sum of (wanted - offset in run), number
    for value in wanted:
        runs.append([float(value), 1.0])
        while len(runs) > 1 and runs[-1][0] / runs[-1][1] - runs[-2][0] / runs[-2][1] < gap * runs[-2][1]:
            total, number = runs.pop()
            runs[-1][0] += total - gap * runs[-1][1] * number
            runs[-1][1] += number
    return np.array([total / number + gap * k for total, number in runs for k in range(int(number))])


def turned_like(attitude: Attitude) -> tuple[float, float]:
    """Pitch and roll without accelerations that turn the surface as an attitude does.

    >>> pitch, roll = turned_like(Attitude.of_degrees(11.0, -2.0))
    >>> round(degrees(pitch), 9), round(degrees(roll), 9)
    (11.0, -2.0)
    """
    up = attitude.up
    return asin(-float(up[0])), atan2(-float(up[1]), float(up[2]))


def unusable_map(tank: TankStudy, pitches_rad: Floats, rolls_rad: Floats, unusable_m3: Floats) -> Figure:
    """Unusable fuel over pitch and roll, (p, r) in m³, with the envelope's attitudes numbered."""
    figure, axes = ink.chart(ink.WIDTH_MM, 100.0, (14.0, 11.0, 82.0, 82.0))
    pitches, rolls, litres = np.degrees(pitches_rad), np.degrees(rolls_rad), unusable_m3 * 1e3
    steps = _steps(float(litres.max()))
    shades = ListedColormap([_shade(k / max(1, len(steps) - 2)) for k in range(len(steps) - 1)])
    axes.contourf(rolls, pitches, litres, steps, cmap=shades, vmin=steps[0], vmax=steps[-1])
    if litres.max() > steps[1]:
        lines = axes.contour(rolls, pitches, litres, steps[1:-1], colors=ink.INK, linewidths=0.35)
        axes.clabel(lines, fontsize=ink.SMALL_PT - 0.5, fmt=lambda value: f"{value:g}", inline_spacing=2)
    axes.set(xlim=(rolls[0], rolls[-1]), ylim=(pitches[0], pitches[-1]))
    axes.set_xlabel("roll [°], right wing down positive")
    axes.set_ylabel("pitch [°], nose up positive")
    _key_of_shades(figure, steps, shades)
    _envelope(figure, axes, tank)
    return figure


def _steps(most: float) -> list[float]:
    """Round steps of litres from zero to beyond the most; at most eight."""
    rough = max(most, 1e-6) / 7.0
    decade = 10.0 ** np.floor(np.log10(rough))
    step = next(k * decade for k in (1.0, 2.0, 5.0, 10.0) if k * decade >= rough * (1 - 1e-9))
    return [float(step * k) for k in range(int(np.floor(most / step)) + 2)]


def _shade(share: float) -> tuple[float, float, float]:
    """From nearly white to a dark brown-orange: lightness alone tells the order."""
    stops = np.array([[0.985, 0.98, 0.965], [0.957, 0.827, 0.741], [0.776, 0.353, 0.118], [0.42, 0.16, 0.02]])
    at = np.array([0.0, 0.35, 0.75, 1.0])
    red, green, blue = (float(np.interp(share, at, stops[:, k])) for k in range(3))
    return red, green, blue


def _key_of_shades(figure: Figure, steps: Sequence[float], shades: ListedColormap) -> None:
    """A column of shades with their litres, to the right of the map."""
    height = 92.0 / 100.0
    n = len(steps) - 1
    box = figure.add_axes((100.0 / ink.WIDTH_MM, 0.11, 3.5 / ink.WIDTH_MM, 0.82 * min(1.0, n / 8.0)))
    box.set(xlim=(0, 1), ylim=(0, n))
    for k in range(n):
        box.add_patch(_rectangle(k, shades(k)))
    box.set_xticks([])
    box.set_yticks(range(n + 1), [f"{step:g}" for step in steps])
    box.yaxis.tick_right()
    box.tick_params(labelsize=ink.SMALL_PT, length=1.5, width=0.4, pad=1.5, colors=ink.INK)
    for spine in box.spines.values():
        spine.set(linewidth=0.4, color=ink.INK)
    figure.text(99.5 / ink.WIDTH_MM, height + 0.025, "unusable [L]", fontsize=ink.SMALL_PT, color=ink.INK)
