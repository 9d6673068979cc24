"""A map of the unusable fuel over pitch and roll, with the attitudes of the envelope on it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from math import asin, atan2, degrees

import numpy as np

from fuelsys.arrays import Floats
from fuelsys.model.found.study import TankStudy
from fuelsys.model.found.unusable import UnusableAt
from fuelsys.model.stated.attitude import Attitude
from fuelsys.report.drawing import ink
from fuelsys.report.drawing.canvas import Figure
from fuelsys.report.drawing.ink import Chart
from fuelsys.report.drawing.labels import Paper
from fuelsys.report.drawing.shades import Shades
from fuelsys.report.shown import Shown

PITCHES_DEG = (-15.0, 20.0)
ROLLS_DEG = (-12.0, 12.0)
_LEFT, _BOTTOM, _WIDE, _LEAST_HIGH = 13.0, 11.0, 80.0, 84.0
_KEY_MM, _LIST_MM = 96.0, 112.0
_EACH_MM = 7.6  # an attitude of the list, in two lines
_NOTES_MM = 24.0
_MOST_HIGH = 235.0


def turned_like(attitude: Attitude) -> tuple[float, float]:
    """Pitch and roll (rad) without accelerations that turn the surface as an attitude does.

    >>> pitch, roll = turned_like(Attitude.of_degrees(11.0, -2.0))
    >>> round(degrees(pitch), 9), round(degrees(roll), 9)
    (11.0, -2.0)
    """
    up = attitude.up
    return asin(min(1.0, max(-1.0, -float(up[0])))), atan2(-float(up[1]), float(up[2]))


def unusable_map(
    tank: TankStudy,
    pitches_rad: Floats,
    rolls_rad: Floats,
    unusable_m3: Floats,
    shown: Shown,
    scale: Shades | None = None,
) -> Figure:
    """Unusable fuel (p, r), in m³, over pitch (p,) and roll (r,), with the envelope's attitudes numbered.

    scale is one that other tanks have too, in the unit shown; its own without it.
    """
    listed = tank.capacity.unusable.at if tank.capacity.unusable else ()
    list_mm = min(_MOST_HIGH, _NOTES_MM + 6.0 + _EACH_MM * len(listed))
    box = (_LEFT, _BOTTOM, _WIDE, min(max(_LEAST_HIGH, list_mm), 110.0))
    chart = Chart.of(ink.WIDTH_MM, _BOTTOM + max(box[3], list_mm) + 4.0, box)
    pitches, rolls = np.degrees(pitches_rad), np.degrees(rolls_rad)
    volumes = unusable_m3 * shown.value(1.0, "volume")
    scale = scale or Shades.of(float(volumes.min()), float(volumes.max()))
    steps, shades = scale.steps, scale.colors
    across, high = _edges(rolls).tolist(), _edges(pitches).tolist()
    chart.axes.set(xlim=(across[0], across[-1]), ylim=(high[0], high[-1]))
    of_shade: dict[str, list[Floats]] = {shade: [] for shade in shades}
    for i, j in np.ndindex(volumes.shape):
        cell = ink.box(*chart.mm(across[j], high[i]), *chart.mm(across[j + 1], high[i + 1]))
        of_shade[scale.color(float(volumes[i, j]))].append(cell)
    for shade, cells in of_shade.items():
        ink.shape(chart.paper, cells, fill=shade, line=shade, pt=0.2)
    chart.name_axes("roll [°], right wing down positive", "pitch [°], nose up positive")
    key(chart, steps, shades, shown.named("", "volume").strip(), (_KEY_MM, _BOTTOM, box[3]))
    _envelope(chart, tank, list_mm, shown)
    return chart.figure


def _edges(nodes: Floats) -> Floats:
    """Edges (n + 1,) of cells round rising nodes (n,): halfway to the neighbours, as far beyond the outer ones.

    >>> _edges(np.array([0.0, 1.0, 3.0])).tolist()
    [-0.5, 0.5, 2.0, 4.0]
    """
    if len(nodes) == 1:
        return np.array([nodes[0] - 0.5, nodes[0] + 0.5])
    middles = (nodes[:-1] + nodes[1:]) / 2.0
    return np.concatenate([[2.0 * nodes[0] - middles[0]], middles, [2.0 * nodes[-1] - middles[-1]]])


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
        ink.write(chart.paper, left + 5.0, bottom + k * each - 1.0, f"{step:g}", size=ink.SMALL_PT)
    top = bottom + (len(steps) - 1) * each
    ink.write(chart.paper, left, top + 2.2, title, size=ink.SMALL_PT)


def _envelope(chart: Chart, tank: TankStudy, list_mm: float, shown: Shown) -> None:
    """The attitudes as numbered dots (rings: on the ground), and their list beside the map."""
    if tank.capacity.unusable is None:
        return
    left, bottom, width, height = chart.box_mm
    top, listed = bottom + list_mm, tank.capacity.unusable.at
    each = (list_mm - _NOTES_MM - 6.0) / len(listed)
    paper = Paper((left, bottom, left + width, bottom + height))
    ink.write(chart.paper, _LIST_MM, top - 2.0, "Attitudes", weight="bold")
    ink.write(chart.paper, ink.WIDTH_MM, top - 2.0, shown.named("unusable", "volume"), size=ink.SMALL_PT, ha="right")
    dots, beyond = [], False
    for number, at in enumerate(listed, 1):
        pitch, roll = (degrees(angle) for angle in turned_like(at.attitude))
        place = chart.mm(roll, pitch)
        outside = not (left <= place[0] <= left + width and bottom <= place[1] <= bottom + height)
        beyond = beyond or outside
        if not outside:
            dots.append((number, place, at.attitude.phase == "flight"))
        mark = f"{number}*" if outside else f"{number}"
        y = top - 7.5 - each * (number - 1)
        words = _tilt(pitch, roll) if each >= _EACH_MM - 0.1 else ""
        named = (mark, replace(at.attitude, held_s=None).heading, words)
        _listed(chart, named, (shown.figure(at.sustained_m3, "volume"), _usable(tank, at, shown)), y)
    for _, place, _ in dots:
        paper.keep_off(place, 1.0)
    for number, place, flight in dots:
        chart.paper.plot(
            *place, marker="o", markersize=4.2, markerfacecolor=ink.INK if flight else "white",
            markeredgecolor="white" if flight else ink.INK, markeredgewidth=0.6,
        )  # fmt: skip
        paper.label(chart.paper, place, str(number), size=ink.TEXT_PT, weight="bold", ground="#ffffffd0")
    notes = ["Each cell has the shade of the figure computed at its middle."]
    notes += ["Usable: filled on the ground, that attitude held."] * bool(tank.capacity.filled)
    notes += ["All as if held for ever."] * any(at.held for at in listed)
    notes += ["Filled dots: flight. Rings: ground."] + ["* lies beyond the map."] * beyond
    if any(at.attitude.forward_m_s2 or at.attitude.right_m_s2 for at in listed):
        notes.append("With accelerations: at the pitch and roll that turn the surface alike.")
    ink.footing(chart.paper, _LIST_MM, bottom, notes, ink.WIDTH_MM - _LIST_MM)


def _tilt(pitch: float, roll: float) -> str:
    """Pitch and roll in degrees, in words."""
    return ink.minus(f"pitch {pitch:+.1f}°, roll {roll:+.1f}°".replace("+0.0", "0.0").replace("-0.0", "0.0"))


def _usable(tank: TankStudy, at: UnusableAt, shown: Shown) -> str:
    """What a flight attitude that is held for ever leaves to use of the tank as it is filled on the ground."""
    full = tank.capacity.filled
    if full is None or at.attitude.phase != "flight":
        return ""
    return f"usable {shown.text(max(0.0, full.volume_m3 - at.sustained_m3), 'volume')}"


def _listed(chart: Chart, words: tuple[str, str, str], volumes: tuple[str, str], y_mm: float) -> None:
    """One attitude's line in the list: its mark and name; below it its tilt and what is usable, where there is room."""
    mark, heading, tilt = words
    unusable, usable = volumes
    ink.write(chart.paper, _LIST_MM, y_mm, mark, weight="bold")
    ink.write(chart.paper, _LIST_MM + 6.0, y_mm, ink.minus(heading))
    ink.write(chart.paper, ink.WIDTH_MM, y_mm, unusable, ha="right")
    if tilt:
        ink.write(chart.paper, ink.WIDTH_MM, y_mm - 3.3, usable, size=ink.SMALL_PT, color=ink.GREY, ha="right")
    ink.write(chart.paper, _LIST_MM + 6.0, y_mm - 3.3, tilt, size=ink.SMALL_PT, color=ink.GREY)
