"""Draws one view of a drill sheet: outline, fittings with their numbers, dimensions from the edges, switches' floats."""

from __future__ import annotations

from collections.abc import Callable, Sequence

import numpy as np

from fuelsys.arrays import Floats
from fuelsys.model.found.drill import SIDES, Fitting
from fuelsys.report.drawing import ink
from fuelsys.report.drawing.canvas import Axes
from fuelsys.report.drawing.labels import Paper
from fuelsys.report.drawing.sections import silhouette
from fuelsys.report.drill.views import HEAD_MM, PITCH_MM, Flat, Ordinate, apart, dimensioned

Traces = Callable[[Axes, Flat, Floats, Paper], None]
_CROSS_MM = 1.7
_LEAST_ROUND_MM = 1.6  # a bore that is drawn smaller is a ring of this size
_TOGETHER_MM = 0.7  # marks nearer than this share a label
MANY = (
    14  # of more fittings each is numbered in the views that it is dimensioned in, or would be, and grey in the others
)
_ARROW_MM = 1.2  # a shorter move is told by the table alone
_ABOVE_LETTERS_MM = 1.0  # from a text's middle to its baseline


def draw(axes: Axes, flat: Flat, left: float, top: float, *, key: str, traces: Traces) -> None:
    """A view whose cell has its upper left corner at a place; key is what it is called in ids, traces draws where sections are cut."""
    corner = corner_of(flat, left, top)
    titles(axes, flat, left, top)
    paper = paper_of(flat, corner, left, top)
    outline = [course + corner for course in flat.flat_mm(silhouette(flat.cavity, flat.view))]
    ink.shape(axes, outline, line=ink.INK, pt=0.5, closed=False)
    for course in outline:
        paper.avoid(course, 1.2)
    dimensions(axes, flat, corner, paper)
    traces(axes, flat, corner, paper)
    floats(axes, flat, corner, flat.drill.fittings)
    placed = [(fitting, flat.mm(fitting.point_m[None])[0] + corner) for fitting in flat.drill.fittings]
    stick(axes, placed)
    told = [one for one in placed if len(placed) <= MANY or dimensioned(one[0], flat.axes)]
    for fitting, at in placed:
        named = any(fitting is one for one, _ in told)
        sign(axes, flat, fitting, at, key, color=ink.INK if named else ink.GREY)
        if named:
            paper.keep_off(at, _CROSS_MM)
        else:
            paper.boxes.append((at[0] - 0.8, at[1] - 0.8, at[0] + 0.8, at[1] + 0.8))
        moved(axes, flat, fitting, at, corner, paper)
    numbers(axes, paper, told)


def titles(axes: Axes, flat: Flat, left: float, top: float) -> None:
    """What a view is, its scale, and how it is seen."""
    ink.write(axes, left, top - 3.4, flat.heading, size=ink.TEXT_PT, weight="bold")
    ink.write(axes, left, top - 7.0, flat.seen, size=ink.SMALL_PT, color=ink.GREY)


def corner_of(flat: Flat, left: float, top: float) -> Floats:
    """The lower left corner of the outline in a cell."""
    margin_left, _, margin_right, margin_top = flat.margins_mm
    spare = flat.cell_mm[0] - margin_left - margin_right - float(flat.size_mm[0])
    shift = max(0.0, min(spare, flat.runs_mm[0] - float(flat.size_mm[0]))) / 2.0
    high = max(float(flat.size_mm[1]), flat.runs_mm[1])
    return np.array([left + margin_left + shift, top - margin_top - (high + float(flat.size_mm[1])) / 2.0])


def paper_of(flat: Flat, corner: Floats, left: float, top: float) -> Paper:
    """What is taken round a view before its fittings are named: the title, and all that lies far outside."""
    width, height = flat.size_mm
    paper = Paper((corner[0] - 4.0, corner[1] - 4.0, corner[0] + float(width) + 4.0, corner[1] + float(height) + 4.0))
    wide = max(ink.width_of(flat.heading, ink.TEXT_PT, "bold"), ink.width_of(flat.seen, ink.SMALL_PT))
    paper.boxes.append((left, top - HEAD_MM, left + wide, top))
    return paper


def dimensions(axes: Axes, flat: Flat, corner: Floats, paper: Paper) -> None:
    """Ordinates along the edges, each with a thin line from its fitting."""
    width, height = (float(length) for length in flat.size_mm)
    for k, (near, far) in enumerate((flat.bands(0), flat.bands(1))):
        length, across = (width, height) if k == 0 else (height, width)
        run = flat.runs_mm[k]
        middle = length / 2.0
        low, high = middle - max(run, length) / 2.0 + PITCH_MM / 2.0, middle + max(run, length) / 2.0 - PITCH_MM / 2.0
        low, high = min(low, 0.0), max(high, length)
        for band, edge, sense in ((near, 0.0, -1.0), (far, across, 1.0)):
            if band:
                _band(axes, band, apart(band, low, high), (k, edge, sense, flat.jogs_mm[k]), corner, paper)


def _band(
    axes: Axes,
    band: Sequence[Ordinate],
    places: Floats,
    side: tuple[int, float, float, float],
    corner: Floats,
    paper: Paper,
) -> None:
    """One row of dimensions along an edge: across or up, where the edge is, the sense away from it, and how far off they stand."""
    k, edge, sense, jog = side

    def on_paper(along: float, off: float) -> Floats:
        at = (along, edge + sense * off) if k == 0 else (edge + sense * off, along)
        return np.array(at) + corner

    for one, place in zip(band, places.tolist(), strict=True):
        starts = [at + corner for at in one.at_mm] or [on_paper(one.along_mm, 0.6)]
        turn, end = on_paper(one.along_mm, 1.0), on_paper(place, jog - 0.6)
        far = max(starts, key=lambda at: float(np.hypot(*(at - turn))))
        ink.stroke(axes, np.array([far, turn, end]), color=ink.INK if one.bold else ink.GREY, pt=0.3)
        weight = "bold" if one.bold else "normal"
        reach = ink.width_of(one.text, ink.SMALL_PT, weight)
        x, y = on_paper(place, jog)
        if k == 0:
            ha = "right" if sense < 0.0 else "left"
            ink.write(axes, x + _ABOVE_LETTERS_MM, y, one.text, size=ink.SMALL_PT, weight=weight, ha=ha, rotation=90.0)
            ends = sorted((y, y + sense * reach))
            paper.boxes.append((x - 1.4, ends[0], x + 1.4, ends[1]))
        else:
            ha = "right" if sense < 0.0 else "left"
            ink.write(axes, x, y - _ABOVE_LETTERS_MM, one.text, size=ink.SMALL_PT, weight=weight, ha=ha)
            ends = sorted((x, x + sense * reach))
            paper.boxes.append((ends[0] - 2.0, y - 1.4, ends[1] + 2.0, y + 1.4))
        paper.avoid(np.array([far, turn]), 1.2)


def sign(axes: Axes, flat: Flat, fitting: Fitting, at: Floats, key: str, color: str = ink.INK) -> None:
    """A fitting's cross, whose middle is its place, and what it is: a bore as a circle, a mark as a dot, a stick's end as a box."""
    arms = [np.array([at - step, at + step]) for step in (np.array([_CROSS_MM, 0.0]), np.array([0.0, _CROSS_MM]))]
    if fitting.kind == "switch":
        ink.shape(axes, [_ring(at, 0.7)], fill=color)
    elif fitting.kind == "stick":
        ink.shape(axes, [ink.box(at[0] - 0.8, at[1] - 0.8, at[0] + 0.8, at[1] + 0.8)], fill="white", line=color, pt=0.6)
    else:
        seen = fitting.through and SIDES[fitting.through].axis == flat.axes[2]
        bore = (fitting.bore_m or 0.0) * 1e3 / flat.scale if seen else 0.0
        ink.shape(
            axes,
            [_ring(at, max(bore, _LEAST_ROUND_MM) / 2.0)],
            line=color,
            pt=0.7 if bore >= _LEAST_ROUND_MM else 0.5,
        )
    ink.shape(axes, arms, line=color, pt=0.5, closed=False, place=f"{key}-{fitting.number}")


def _ring(at: Floats, radius: float) -> Floats:
    turns = np.linspace(0.0, 2.0 * np.pi, 49)[:-1]
    ring: Floats = at + radius * np.column_stack([np.cos(turns), np.sin(turns)])
    return ring


def stick(axes: Axes, placed: Sequence[tuple[Fitting, Floats]]) -> None:
    """The dipstick between its ends."""
    ends = np.array([at for fitting, at in placed if fitting.kind == "stick"])
    if len(ends) == 2:
        ink.stroke(axes, ends, pt=0.8, dash=(3, 1))


def floats(axes: Axes, flat: Flat, corner: Floats, fittings: Sequence[Fitting]) -> None:
    """The room that each float needs over its stroke."""
    turns = np.linspace(0.0, 2.0 * np.pi, 65)[:-1]
    for fitting in fittings:
        if fitting.clearance_m:
            stroke = np.array([fitting.point_m, fitting.point_m + np.array([0.0, 0.0, fitting.stroke_m])])
            low, high = flat.mm(stroke) + corner
            round_mm = np.column_stack([np.cos(turns), np.sin(turns)]) * fitting.clearance_m * 1e3 / flat.scale
            lifted = np.where((round_mm @ (high - low) > 0.0)[:, None], high, low)
            ink.shape(axes, [lifted + round_mm], line=ink.FUEL_LINE, pt=0.6, dash="--")


def moved(axes: Axes, flat: Flat, fitting: Fitting, at: Floats, corner: Floats, paper: Paper | None) -> None:
    """Where a mark was, crossed out, with an arrow to where it is to be."""
    if fitting.was_m is None:
        return
    was = flat.mm(fitting.was_m[None])[0] + corner
    way = at - was
    length = float(np.hypot(*way))
    if length < _ARROW_MM:
        return
    way, aside = way / length, np.array([-way[1], way[0]]) / length
    ink.shape(axes, [_ring(was, 0.8)], fill="white", line=ink.TRAPPED_LINE, pt=0.6)
    diagonal = 0.8 * np.array([[-1.0, -1.0], [1.0, 1.0], [-1.0, 1.0], [1.0, -1.0]])
    ink.shape(axes, [was + diagonal[:2], was + diagonal[2:]], line=ink.TRAPPED_LINE, pt=0.6, closed=False)
    tip = at - 0.9 * way
    if length > 2.4:
        ink.stroke(axes, np.array([was + 0.9 * way, tip]), color=ink.TRAPPED_LINE, pt=0.8)
    head = min(1.8, length - 1.2)
    ink.shape(
        axes, [np.array([tip, tip - head * way + 0.6 * aside, tip - head * way - 0.6 * aside])], fill=ink.TRAPPED_LINE
    )
    if paper is not None:
        paper.avoid(np.array([was, at]))
        paper.boxes.append((was[0] - 1.0, was[1] - 1.0, was[0] + 1.0, was[1] + 1.0))


def in_runs(numbers: Sequence[int]) -> str:
    """Rising numbers, three or more that follow one another as a run.

    >>> in_runs([1, 2, 4, 5, 6, 9])
    '1, 2, 4–6, 9'
    """
    runs: list[list[int]] = []
    for number in numbers:
        if runs and runs[-1][-1] == number - 1:
            runs[-1].append(number)
        else:
            runs.append([number])
    return ", ".join(
        f"{run[0]}–{run[-1]}" if len(run) > 2 else ", ".join(str(number) for number in run) for run in runs
    )


def numbers(axes: Axes, paper: Paper, placed: Sequence[tuple[Fitting, Floats]]) -> None:
    """Each fitting's number beside its mark; marks that lie together share a label."""
    shared: list[tuple[Floats, list[int]]] = []
    for fitting, at in placed:
        near = next((numbers for there, numbers in shared if np.hypot(*(there - at)) < _TOGETHER_MM), None)
        if near is None:
            shared.append((at, [fitting.number]))
        else:
            near.append(fitting.number)
    for at, those in sorted(shared, key=lambda one: -float(one[0][1])):
        text = in_runs(those)
        paper.label(axes, at, text, size=ink.TEXT_PT, weight="bold", ground="white")
