"""A plan of a tank with the places searched for a low-level mark: how far apart its trips lie, and the best place."""

from __future__ import annotations

from collections.abc import Sequence
from math import inf

import numpy as np

from fuelsys.arrays import Floats
from fuelsys.model.built.layout import FittedTank
from fuelsys.model.found.place import PlaceFound, PlaceSearch
from fuelsys.model.found.stages import Stage, StagesFound
from fuelsys.report.charts.map import key
from fuelsys.report.drawing import ink, tank_pictures
from fuelsys.report.drawing.canvas import Axis, Figure, MaxNLocator
from fuelsys.report.drawing.ink import Chart
from fuelsys.report.drawing.labels import Paper
from fuelsys.report.drawing.sections import View, silhouette
from fuelsys.report.drawing.shades import Shades
from fuelsys.report.shown import Shown

_LEFT, _BOTTOM, _WIDE, _HIGH = 15.0, 12.0, 70.0, 120.0  # the most that a plan may take, in mm
_LEAST_HIGH = 80.0  # what the list beside it needs, above the key of shades
_KEY_HIGH = 72.0
_ROW_MM = 4.0
_KEY_MM, _NOTES_MM, _HEAD_MM = 90.0, 104.0, 11.0
_LIST_MM = 90.0
_LISTED = 8
_EDGE_MM = 3.0  # between the list and the paper's edge


def plan(tank: FittedTank, found: PlaceSearch, shown: Shown) -> Figure:
    """Places as squares of the grid, dark where the earliest and the latest trip lie far apart, crossed where none serves."""
    chart = _chart(tank, found, shown)
    _squares(chart, found, len(found.ranked[:_LISTED]))
    best = [("best", place) for place in found.ranked[:1]]
    _fittings(chart, tank, best, _outline(chart, tank))
    title = (
        f"Mark for {found.target_s / 60:g} min, tank {found.tank}: how far its trips lie apart over the flight envelope"
    )
    notes = [f"{len(found.ranked)} of {len(found.places)} places serve."]
    notes += ["Crosses: no height serves."] if len(found.ranked) < len(found.places) else []
    included = "included" if found.built.tolerance_m else "not included"
    notes.append(
        f"Latest trip with all other pools drained, earliest with none of them begun to fall. Tolerance {included}."
    )
    listed = [("", found, place) for place in found.ranked[:_LISTED]]
    _list(chart, title, listed, notes, shown)
    return chart.figure


def stages_plan(tank: FittedTank, found: StagesFound, shown: Shown) -> Figure:
    """The map of the stage that is hardest to place, and rings round the places chosen for all of them."""
    hardest = max(found.stages, key=_band_s)
    chart = _chart(tank, hardest.search, shown)
    _squares(chart, hardest.search, len(found.stages))
    named = [(f"{one.search.target_s / 60:g} min", one.search, one.place) for one in found.stages if one.place]
    at: dict[tuple[float, float], list[str]] = {}
    for name, _, place in named:
        at.setdefault((place.x_m, place.y_m), []).append(name)
    rings = {(place.x_m, place.y_m): place for _, _, place in named}
    _fittings(chart, tank, [(", ".join(at[xy]), place) for xy, place in rings.items()], _outline(chart, tank))
    title = f"Stages of the warning in tank {found.tank}, and how far the trips for {hardest.search.target_s / 60:g} min lie apart"
    included = "included" if all(one.search.built.tolerance_m for one in found.stages) else "not included"
    notes = [f"Crosses: no height serves that stage. Tolerances {included}."]
    _list(chart, title, named, notes, shown, every="bold")
    return chart.figure


def _band_s(stage: Stage) -> float:
    return inf if stage.place is None else stage.search.between_s(stage.place)


def _chart(tank: FittedTank, found: PlaceSearch, shown: Shown) -> Chart:
    """The plan's empty frame, with axes of the mesh."""
    low, high = _extent(tank, found)
    scale = min(_WIDE / (high[0] - low[0]), _HIGH / (high[1] - low[1]))
    wide, tall = scale * (high - low)
    box = (_LEFT, _BOTTOM, float(wide), float(tall))
    chart = Chart.of(ink.WIDTH_MM, _BOTTOM + max(float(tall), _LEAST_HIGH) + _HEAD_MM, box)
    # The plot counts in metres; its ticks are written in the unit that is shown.
    chart.axes.set(xlim=(low[0], high[0]), ylim=(low[1], high[1]))
    for axis in (chart.axes.xaxis, chart.axes.yaxis):
        _ticks(axis, shown)
    names = [part.strip() for part in tank.design.axes.split(",")]
    chart.name_axes(
        *(f"{shown.named(f'mesh {axis}', 'length')}, {name}" for axis, name in zip("xy", names[:2], strict=True))
    )
    return chart


def _ticks(axis: Axis, shown: Shown) -> None:
    """Ticks at round figures of the unit of lengths, on an axis in metres."""
    unit = shown.value(1.0, "length")
    low, high = axis.get_view_interval()
    ticks = np.array(MaxNLocator(5, steps=[1, 2, 5, 10]).tick_values(low * unit, high * unit))
    places = [place for place in ticks.tolist() if low * unit <= place <= high * unit]
    axis.set_ticks([place / unit for place in places], [ink.minus(f"{place:g}") for place in places])


def _extent(tank: FittedTank, found: PlaceSearch) -> tuple[Floats, Floats]:
    corners = tank.mesh_m(tank.cavity.vertices_m + tank.cavity.centre_m)[:, :2]
    return corners.min(axis=0) - found.spacing_m / 2.0, corners.max(axis=0) + found.spacing_m / 2.0


def _squares(chart: Chart, found: PlaceSearch, listed: int) -> None:
    """A square for each place, and the key of their shades, below the rows of the list."""
    high_mm = min(_KEY_HIGH, max(chart.box_mm[3], _LEAST_HIGH) - _ROW_MM * (listed + 2) - 6.0)
    ranked = found.ranked
    half = found.spacing_m / 2.0
    minutes = {place: found.between_s(place) / 60.0 for place in ranked}
    if minutes:
        scale = Shades.of(min(minutes.values()), max(minutes.values()))
        of_shade: dict[str, list[Floats]] = {shade: [] for shade in scale.colors}
        for place, apart in minutes.items():
            of_shade[scale.color(apart)].append(_square(chart, place, half))
        for shade, squares in of_shade.items():
            ink.shape(chart.paper, squares, fill=shade, line="white", pt=0.2)
        key(chart, scale.steps, scale.colors, "apart [min]", (_KEY_MM, _BOTTOM, high_mm))
    for place in found.places:
        if place.z_m is None:
            one = _square(chart, place, half * 0.5)
            ink.stroke(chart.paper, one[[0, 2]], color=ink.GREY, pt=0.4)
            ink.stroke(chart.paper, one[[1, 3]], color=ink.GREY, pt=0.4)


def _square(chart: Chart, place: PlaceFound, half_m: float) -> Floats:
    low = chart.mm(place.x_m - half_m, place.y_m - half_m)
    high = chart.mm(place.x_m + half_m, place.y_m + half_m)
    return ink.box(low[0], low[1], high[0], high[1])


def _outline(chart: Chart, tank: FittedTank) -> list[Floats]:
    """The outline from above and the edges behind it, drawn with a white rim that shows on dark squares; -> its courses."""
    across, height, up = tank.turn
    view = View("plan", across, height, -up)
    shift = tank.mesh_m(tank.cavity.centre_m)[:2]
    courses = [np.array([chart.mm(*point) for point in course + shift]) for course in silhouette(tank.cavity, view)]
    for color, width in (("white", 1.6), (ink.INK, 0.6)):
        ink.shape(chart.paper, courses, line=color, pt=width, closed=False)
    return courses


def _fittings(
    chart: Chart, tank: FittedTank, chosen: Sequence[tuple[str, PlaceFound]], outline_mm: Sequence[Floats]
) -> None:
    """The fittings that are stated, and a ring round each chosen place; their names stand off the outline."""
    left, bottom, wide, tall = chart.box_mm
    paper = Paper((left, bottom, left + wide, bottom + tall))
    for course in outline_mm:
        paper.avoid(course)
    placed = []
    for mark in tank_pictures.marks(tank):
        at_m = tank.mesh_m(mark.point_m + tank.cavity.centre_m)
        placed.append((mark, chart.mm(at_m[0], at_m[1])))
    best = [(name, chart.mm(place.x_m, place.y_m)) for name, place in chosen]
    for at_mm, half in [*((at, 2.2) for _, at in best), *((at, 1.2) for _, at in placed)]:
        paper.keep_off(at_mm, half)
    tank_pictures.draw_signs(chart.paper, [(mark.kind, at) for mark, at in placed], 4.0)
    for name, at_mm in best:
        for size, width, colour in ((8.0, 2.4, "white"), (8.0, 1.1, ink.FUEL_LINE)):
            chart.paper.plot(
                *at_mm,
                marker="o",
                markersize=size,
                markerfacecolor="none",
                markeredgecolor=colour,
                markeredgewidth=width,
            )
        paper.label(
            chart.paper,
            at_mm,
            name,
            size=ink.TEXT_PT,
            weight="bold",
            color=ink.FUEL_LINE,
            ground="#ffffffe0",
            rim=True,
        )
    for mark, at_mm in placed:
        paper.label(chart.paper, at_mm, mark.words, ground="#ffffffd0", rim=True)


def _list(
    chart: Chart,
    title: str,
    listed: Sequence[tuple[str, PlaceSearch, PlaceFound]],
    notes: Sequence[str],
    shown: Shown,
    every: str = "normal",
) -> None:
    """Places with their figures, beside the plan; the first is bold, the others as said."""
    top = chart.box_mm[1] + max(chart.box_mm[3], _LEAST_HIGH)
    ink.write(chart.paper, _LEFT, top + 4.0, title, size=ink.HEAD_PT, weight="bold")
    rows = [["", *(shown.named(axis, "length") for axis in "xyz"), "trips [min]", "apart"]]
    for name, found, place in listed:
        if place.z_m is None or place.least_m3 is None or place.most_m3 is None:
            continue
        least, most = (found.left_s(held) / 60.0 for held in (place.least_m3, place.most_m3))
        cells = [
            name,
            *(shown.figure(at_m, "length") for at_m in (place.x_m, place.y_m, place.z_m)),
            f"{least:.1f} – {most:.1f}",
            f"{most - least:.1f}",
        ]
        rows.append([ink.minus(cell) for cell in cells])
    if not any(name for name, *_ in listed):
        rows = [row[1:] for row in rows]
    for number, row in enumerate(rows):
        y_mm, weight = (
            top - _ROW_MM - _ROW_MM * number - (0.5 if number else 0.0),
            "bold" if number == 1 else every if number else "normal",
        )
        for right, cell in zip(_rights(rows), row, strict=True):
            color = ink.INK if number else ink.GREY
            ink.write(chart.paper, right, y_mm, cell, size=ink.SMALL_PT, ha="right", weight=weight, color=color)
    ink.footing(chart.paper, _NOTES_MM, _BOTTOM, notes, ink.WIDTH_MM - _NOTES_MM)


def _rights(rows: Sequence[Sequence[str]]) -> list[float]:
    """Right edges of columns in mm: each as wide as its widest cell, what is left of the list's width between them."""
    wide = [max(ink.width_of(cell, ink.SMALL_PT, "bold") for cell in column) for column in zip(*rows, strict=True)]
    gap = (ink.WIDTH_MM - _EDGE_MM - _LIST_MM - sum(wide)) / (len(wide) - 1)
    return [_LIST_MM + sum(wide[: k + 1]) + gap * k for k in range(len(wide))]
