"""A map of the unusable fuel over pitch and roll, with the attitudes of the envelope on it."""

from __future__ import annotations

from collections.abc import Sequence
from math import asin, atan2, degrees

import numpy as np
from matplotlib.figure import Figure

from fuelsys.kernels.compiled import Floats
from fuelsys.model.attitude import Attitude
from fuelsys.model.study import TankStudy
from fuelsys.report import ink
from fuelsys.report.ink import Chart
from fuelsys.report.labels import Paper

PITCHES_DEG = (-15.0, 20.0)
ROLLS_DEG = (-12.0, 12.0)
_BOX = (13.0, 10.0, 82.0, 84.0)
_KEY_MM, _LIST_MM = 98.0, 113.0


def turned_like(attitude: Attitude) -> tuple[float, float]:
    """Pitch and roll (rad) without accelerations that turn the surface as an attitude does.

    >>> pitch, roll = turned_like(Attitude.of_degrees(11.0, -2.0))
    >>> round(degrees(pitch), 9), round(degrees(roll), 9)
    (11.0, -2.0)
    """
    up = attitude.up
    return asin(min(1.0, max(-1.0, -float(up[0])))), atan2(-float(up[1]), float(up[2]))


def unusable_map(tank: TankStudy, pitches_rad: Floats, rolls_rad: Floats, unusable_m3: Floats) -> Figure:
    """Unusable fuel (p, r) in m³ over pitch (p,) and roll (r,), with the envelope's attitudes numbered."""
    chart = Chart.of(ink.WIDTH_MM, 98.0, _BOX)
    pitches, rolls, litres = np.degrees(pitches_rad), np.degrees(rolls_rad), unusable_m3 * 1e3
    steps = round_steps(float(litres.min()), float(litres.max()))
    shades = shades_for(steps)
    chart.axes.contourf(rolls, pitches, litres, steps, colors=shades)
    inner = [k for k in range(1, len(steps) - 1) if litres.min() < steps[k] < litres.max()]
    if inner:
        levels, letters = [steps[k] for k in inner], [_letters(shades[k - 1]) for k in inner]
        lines = chart.axes.contour(rolls, pitches, litres, levels, colors=ink.INK, linewidths=0.4)
        chart.axes.clabel(lines, fontsize=ink.SMALL_PT, fmt="%g", inline_spacing=1, colors=letters)
    chart.axes.set(xlim=(rolls[0], rolls[-1]), ylim=(pitches[0], pitches[-1]))
    chart.name_axes("roll [°], right wing down positive", "pitch [°], nose up positive")
    key(chart, steps, shades, "unusable [L]", (_KEY_MM, _BOX[1], _BOX[3]))
    _envelope(chart, tank)
    return chart.figure


def round_steps(least: float, most: float) -> list[float]:
    """Steps of 1, 2, 5, 10, ... that hold all figures; from zero where the least is under a hundredth of the most.

    >>> round_steps(0.04, 9.3), round_steps(0.025, 0.22)
    ([0.0, 0.1, 0.2, 0.5, 1.0, 2.0, 5.0, 10.0], [0.02, 0.05, 0.1, 0.2, 0.5])
    """
    most = max(most, 1e-6)
    decades = range(int(np.floor(np.log10(most))) - 3, int(np.floor(np.log10(most))) + 2)
    series = [float(f"{digit}e{decade}") for decade in decades for digit in (1, 2, 5)]
    top = next(k for k, value in enumerate(series) if value > most)
    bottom = max(k for k, value in enumerate(series) if value <= max(least, most / 100.0))
    steps = series[bottom : top + 1]
    return steps if least >= most / 100.0 else [0.0, *steps[1:]]


def shades_for(steps: Sequence[float]) -> list[str]:
    """A shade for each stretch between steps."""
    return [_shade(k / max(1, len(steps) - 2)) for k in range(len(steps) - 1)]


def _shade(share: float) -> str:
    """From nearly white to a dark brown: lightness alone tells the order, so grey print and every eye can read it."""
    stops = np.array([[251, 250, 246], [244, 211, 189], [198, 90, 30], [107, 41, 5]])
    red, green, blue = (round(float(np.interp(share, [0.0, 0.35, 0.75, 1.0], stops[:, k]))) for k in range(3))
    return f"#{red:02x}{green:02x}{blue:02x}"


def _letters(shade: str) -> str:
    """A colour of letters that can be read on a shade: dark on light, light on dark."""
    return ink.INK if int(shade[3:5], 16) > 110 else "white"


def key(
    chart: Chart, steps: Sequence[float], shades: Sequence[str], title: str, place_mm: tuple[float, float, float]
) -> None:
    """The shades with their figures, in a column beside the map: at its left, bottom and greatest height."""
    left, bottom, height = place_mm
    each = min(8.0, (height - 6.0) / (len(steps) - 1))
    for k in range(len(steps) - 1):
        square = ink.box(left, bottom + k * each, left + 4.0, bottom + (k + 1) * each)
        ink.shape(chart.paper, [square], fill=shades[k], line=ink.INK, pt=0.3)
    for k, step in enumerate(steps):
        ink.write(chart.paper, left + 5.0, bottom + k * each - 0.7, f"{step:g}", size=ink.SMALL_PT)
    top = bottom + (len(steps) - 1) * each
    ink.write(chart.paper, left, top + 2.2, title, size=ink.SMALL_PT)


def _envelope(chart: Chart, tank: TankStudy) -> None:
    """The attitudes as numbered dots (rings: on the ground), and their list beside the map."""
    if tank.capacity.unusable is None:
        return
    left, bottom, width, height = _BOX
    paper = Paper((left, bottom, left + width, bottom + height))
    ink.write(chart.paper, _LIST_MM, bottom + height - 2.0, "Attitudes", weight="bold")
    ink.write(chart.paper, ink.WIDTH_MM, bottom + height - 2.0, "unusable [L]", size=ink.SMALL_PT, ha="right")
    dots, beyond = [], False
    for number, at in enumerate(tank.capacity.unusable.at, 1):
        pitch, roll = (degrees(angle) for angle in turned_like(at.attitude))
        place = chart.mm(roll, pitch)
        outside = not (left <= place[0] <= left + width and bottom <= place[1] <= bottom + height)
        beyond = beyond or outside
        if not outside:
            dots.append((number, place, at.attitude.phase == "flight"))
        mark = f"{number}*" if outside else f"{number}"
        y = bottom + height - 7.5 - _line_mm(len(tank.capacity.unusable.at)) * (number - 1)
        _listed(chart, mark, at.attitude, (pitch, roll), at.unusable_m3, y)
    for _, place, _ in dots:
        paper.keep_off(place, 1.0)
    for number, place, flight in dots:
        chart.paper.plot(
            *place, marker="o", markersize=4.2, markerfacecolor=ink.INK if flight else "white",
            markeredgecolor="white" if flight else ink.INK, markeredgewidth=0.6,
        )  # fmt: skip
        paper.label(chart.paper, place, str(number), size=ink.TEXT_PT, weight="bold", ground="#ffffffd0")
    notes = ["Filled dots: flight. Rings: ground."] + ["* lies beyond the map."] * beyond
    if any(at.attitude.forward_m_s2 or at.attitude.right_m_s2 for at in tank.capacity.unusable.at):
        notes.append("With accelerations: at the pitch and roll that turn the surface alike.")
    lines = [line for note in notes for line in ink.wrapped(note, ink.WIDTH_MM - _LIST_MM, ink.SMALL_PT)]
    for k, line in enumerate(reversed(lines)):
        ink.write(chart.paper, _LIST_MM, bottom + 2.9 * k, line, size=ink.SMALL_PT, color=ink.GREY)


def _line_mm(count: int) -> float:
    """Distance of the list's lines, so that all of them find room."""
    return min(7.0, (_BOX[3] - 20.0) / max(1, count - 1))


def _listed(
    chart: Chart, mark: str, attitude: Attitude, turned: tuple[float, float], volume_m3: float, y_mm: float
) -> None:
    """One attitude's line in the list."""
    ink.write(chart.paper, _LIST_MM, y_mm, mark, weight="bold")
    ink.write(chart.paper, _LIST_MM + 5.0, y_mm, ink.minus(attitude.heading))
    ink.write(chart.paper, ink.WIDTH_MM, y_mm, f"{volume_m3 * 1e3:.3f}", ha="right")
    tilt = ink.minus(f"pitch {turned[0]:+.1f}°, roll {turned[1]:+.1f}°".replace("+0.0", "0.0").replace("-0.0", "0.0"))
    ink.write(chart.paper, _LIST_MM + 5.0, y_mm - 2.7, tilt, size=ink.SMALL_PT - 0.5, color=ink.GREY)
