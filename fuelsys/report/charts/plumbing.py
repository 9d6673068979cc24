"""The whole plumbing from the left and from above, turned level at the normal ground attitude, with all lines listed."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import count
from typing import NamedTuple

import numpy as np

from fuelsys.arrays import Floats
from fuelsys.model.built.ends import PlacedLine
from fuelsys.model.built.layout import Layout
from fuelsys.model.stated.attitude import Attitude
from fuelsys.report.charts.plumbing_names import Name, merged, ports
from fuelsys.report.drawing import ink
from fuelsys.report.drawing import pins as pinning
from fuelsys.report.drawing.canvas import Axes, Figure
from fuelsys.report.drawing.keys import Key, letter
from fuelsys.report.drawing.labels import Paper, sampled
from fuelsys.report.drawing.pins import Pin
from fuelsys.report.drawing.sections import AFT, View, silhouette
from fuelsys.report.drawing.tank_pictures import scale_for, scale_text
from fuelsys.report.shown import Shown

# Lightness and dashes tell the kinds apart without colour.
KINDS: dict[str, tuple[str, float, str | tuple[float, ...]]] = {
    "feed": ("#123f63", 1.7, ""),
    "vent": ("#1f7268", 1.1, (4.0, 1.6)),
    "return": ("#b0487a", 1.2, (5.0, 1.4, 1.2, 1.4)),
    "interconnect": ("#8a6400", 1.5, (1.2, 1.2)),
}
_HIGH_MM = 206.0
_SHEET_MM = 226.0  # what a printed sheet of Letter holds under a chapter's heading and a title
_BORDER_MM, _MOST_BORDER_MM = 9.0, 22.0
_LINE_MM = 3.8
_RING_MM = 2.2
_ON_MM = 0.6  # a finding nearer than this to a component is its own
_TOGETHER_MM = 0.9  # lines nearer than this hide each other


def level_views(ground: Attitude) -> tuple[View, View, View]:
    """From the left, and from above with the nose left or up (wide wings find more room so), level at an attitude on the ground."""
    up = ground.up
    aft = AFT - up * float(AFT @ up)
    aft /= np.linalg.norm(aft)
    right = np.cross(up, aft)
    return (
        View("Side, from the left, nose to the left", aft, up, right),
        View("Plan, from above, nose to the left", aft, right, -up),
        View("Plan, from above, nose up", right, -aft, -up),
    )


def plumbing(layout: Layout, shown: Shown, pinned: Sequence[Pin] = ()) -> dict[str, Figure]:
    """Side and plan view by title, findings' numbers at their places; none where the design has no lines and no components."""
    if not layout.lines and not layout.design.component:
        return {}
    ground = layout.design.normal("ground")
    side, *plans = level_views(ground)
    own = [pin for pin in pinned if not pin.tank]
    return {
        "Plumbing from above": _sheet(layout, plans, ground, shown, own),
        "Plumbing from the left": _sheet(layout, [side], ground, shown, own),
    }


@dataclass(frozen=True)
class _Drawing:
    """Paper coordinates of one view."""

    view: View
    scale: float
    origin_mm: Floats

    def mm(self, points_m: Floats) -> Floats:
        """Body axes from the datum (k, 3) -> paper (k, 2)."""
        across = np.column_stack([points_m @ self.view.across, points_m @ self.view.height])
        return np.asarray(self.origin_mm + across * (1e3 / self.scale))


def _everything(layout: Layout) -> Floats:
    """All points that a drawing must hold, in body axes."""
    components = [_component_m(layout, component.position_m) for component in layout.design.component]
    return np.concatenate(
        [
            *(tank.cavity.vertices_m + tank.cavity.centre_m for tank in layout.tanks),
            *(line.points_m for line in layout.lines),
            np.array(components).reshape(-1, 3),
            np.zeros((1, 3)),
        ]
    )


def _component_m(layout: Layout, position_m: Sequence[float]) -> Floats:
    """A place in aircraft axes -> body axes."""
    return np.asarray(np.array(position_m) @ layout.aircraft_turn)


class _Frame(NamedTuple):
    """What a view needs of its sheet: its scale, its low corner and size on paper, the foot below it and the border round it."""

    scale: float
    low_mm: Floats
    size_mm: Floats
    foot: float
    border: float


def _frame(layout: Layout, view: View, columns: Sequence[_Column], key: Key) -> _Frame:
    """The largest scale at which a view fits over its lists."""
    points = _everything(layout)
    flat = np.column_stack([points @ view.across, points @ view.height])
    low, size = flat.min(axis=0), np.ptp(flat, axis=0)
    foot = len(columns[0].lines) * _LINE_MM + 15.0 + key.height_mm
    high = min(_HIGH_MM, _SHEET_MM - foot)
    scale = max(scale_for(float(size[0]), ink.WIDTH_MM - 24.0), scale_for(float(size[1]), high - 2 * _BORDER_MM))
    size = size * 1e3 / scale
    # Where letters stand at the marks there are many: what is free on the sheet is theirs.
    border = float(np.clip((high - size[1]) / 2.0, _BORDER_MM, _MOST_BORDER_MM)) if key.entries else _BORDER_MM
    return _Frame(scale, low * 1e3 / scale, size, foot, border)


def _sheet(layout: Layout, views: Sequence[View], ground: Attitude, shown: Shown, pinned: Sequence[Pin]) -> Figure:
    """The view that fits at the largest scale, the first of equals."""
    columns = _columns(layout.lines, shown)
    key = Key.of([(f"{tank.name}: {mark.words}", ()) for tank, mark in ports(layout)])
    frames = [_frame(layout, view, columns, key) for view in views]
    view, (scale, low, size, foot, border) = min(zip(views, frames, strict=True), key=lambda one: one[1].scale)
    height = float(size[1]) + 2 * border + foot
    left = (ink.WIDTH_MM - float(size[0])) / 2.0
    drawing = _Drawing(view, scale, np.array([left, foot + border]) - low)
    figure, axes = ink.sheet(ink.WIDTH_MM, height)
    paper = Paper((0.0, foot - 4.0, ink.WIDTH_MM, height), waits=True)
    _tanks(axes, layout, drawing, paper)
    courses = _courses(layout, drawing)
    for line, course in zip(layout.lines, courses, strict=True):
        _line(axes, line, course, drawing, paper)
    named = _marks(axes, layout, drawing, paper)
    rings = _numbers(axes, layout.lines, courses, paper)
    placed = [(drawing.mm(pin.point_m[None])[0], pin.tag) for pin in pinned if pin.point_m is not None and not pin.line]
    if key.entries:
        number = count()
        named = [one if one.component else one._replace(words=letter(next(number)), tank="") for one in named]
    names = merged(named)
    for one in names:
        if one.component:
            own = [tag for at, tag in placed if np.hypot(*(at - one.at)) < _ON_MM]
            paper.label(axes, one.at, one.words, weight="bold", ground="#ffffffc0", tagged=own)
            placed = [(at, tag) for at, tag in placed if tag not in own]
    pinning.at_points(axes, paper, placed)
    for name, at in rings.items():
        if tagged := [pin.tag for pin in pinned if pin.line == name]:
            paper.label(axes, at, "", tagged=tagged)
    middles = [Name(drawing.mm(tank.cavity.centre_m[None])[0], f"tank {tank.name}") for tank in layout.tanks]
    for one in merged(middles):
        paper.label(axes, one.at, one.words, size=ink.TEXT_PT, color=ink.GREY, weight="bold", leader=bool(key.entries))
    for one in names:
        if not one.component:
            paper.label(axes, one.at, one.words, ground="#ffffffc0")
    paper.settle(axes)
    _list(axes, columns, foot - key.height_mm, shown)
    key.draw(axes, foot - key.height_mm - 1.5)
    text = f"{view.name}. Scale {scale_text(scale)}. {ink.minus(ground.text).capitalize()}, turned level."
    ink.write(axes, 0.0, 0.6, text, size=ink.SMALL_PT, color=ink.GREY)
    pinning.placeless(axes, pinned, ink.WIDTH_MM, 4.8)
    return figure


def _tanks(axes: Axes, layout: Layout, drawing: _Drawing, paper: Paper) -> None:
    """The tanks' outlines."""
    basis = np.array([drawing.view.across, drawing.view.height])
    for tank in layout.tanks:
        outline = silhouette(tank.cavity, drawing.view)
        courses = [drawing.mm(course @ basis + tank.cavity.centre_m) for course in outline]
        ink.shape(axes, courses, line=ink.INK, pt=0.5, closed=False)
        for course in courses:
            paper.avoid(course, 1.5)


def _courses(layout: Layout, drawing: _Drawing) -> list[Floats]:
    """The lines' courses on paper; where one runs along another of another kind, it is drawn beside it."""
    drawn: list[Floats] = []
    for line in layout.lines:
        course = drawing.mm(line.points_m)
        others = [
            one for one, before in zip(drawn, layout.lines, strict=False) if before.design.kind != line.design.kind
        ]
        drawn.append(_beside(course, np.concatenate([sampled(one, 0.4) for one in others])) if others else course)
    return drawn


def _beside(course: Floats, others: Floats) -> Floats:
    """A course (k, 2), moved aside between its ends where most of it lies on points (n, 2)."""
    points = sampled(course, 0.8)
    if len(points) < 3:
        return course
    onto = np.array([np.hypot(*(others - point).T).min() < _TOGETHER_MM for point in points])
    if onto.mean() < 0.5:
        return course
    way = np.gradient(points, axis=0)
    way *= np.where(way[:, :1] < 0.0, -1.0, 1.0) / np.maximum(np.hypot(*way.T)[:, None], 1e-9)
    aside = np.column_stack([-way[:, 1], way[:, 0]]) * _TOGETHER_MM
    points[1:-1] += aside[1:-1]
    return points


def _line(axes: Axes, line: PlacedLine, course: Floats, drawing: _Drawing, paper: Paper) -> None:
    color, width, dash = KINDS[line.design.kind]
    ink.stroke(axes, course, color=color, pt=width, dash=dash)
    paper.avoid(course)
    for at in drawing.mm(line.drains_m.reshape(-1, 3)):
        axes.plot(*at, marker="v", markersize=4, markerfacecolor="white", markeredgecolor=color, markeredgewidth=0.7)


def _marks(axes: Axes, layout: Layout, drawing: _Drawing, paper: Paper) -> list[Name]:
    """Ports as dots, components as squares, the datum as a cross; -> their places and names."""
    named = [Name(drawing.mm(np.zeros((1, 3)))[0], "datum", sign="+")]
    for component in layout.design.component:
        at = drawing.mm(_component_m(layout, component.position_m)[None])[0]
        named.append(Name(at, component.name, sign="s"))
    for tank, mark in ports(layout):
        named.append(Name(drawing.mm((mark.point_m + tank.cavity.centre_m)[None])[0], mark.words, tank.name))
    for one in named:
        size = {"+": 6.0, "s": 4.6, "o": 2.6}[one.sign]
        axes.plot(
            *one.at, marker=one.sign, markersize=size, color=ink.INK, markeredgecolor=ink.INK, markeredgewidth=0.6
        )
        paper.keep_off(one.at, 0.9)
    return named


def _numbers(axes: Axes, lines: Sequence[PlacedLine], courses: Sequence[Floats], paper: Paper) -> dict[str, Floats]:
    """Each line's number in a ring on it, where there is room; beside it where there is none; -> where on it, by its name."""
    places = {}
    for number, (line, drawn) in enumerate(zip(lines, courses, strict=True), 1):
        course = sampled(drawn, 1.5)
        room = np.array([paper.room(place) for place in course])
        # Anywhere with room enough will do; the nearest to the line's middle is the easiest to find.
        off_middle = np.abs(np.arange(len(course)) - (len(course) - 1) / 2.0)
        best = int(np.argmax(np.minimum(room, 5.0) - 0.01 * off_middle))
        fits = room[best] >= _RING_MM + 0.3
        at, color = course[best if fits else len(course) // 2], KINDS[line.design.kind][0]
        places[line.name] = at
        if not fits:
            paper.label(axes, at, str(number), color=color, weight="bold", ground="white")
            continue
        size = 2.0 * _RING_MM / ink.MM_PER_PT
        axes.plot(*at, marker="o", markersize=size, mfc="white", mec=color, mew=0.8)
        ink.write(axes, at[0], at[1] - 1.0, str(number), size=ink.SMALL_PT, color=color, ha="center", weight="bold")
        paper.keep_off(at, _RING_MM)
    return places


def _ends(line: PlacedLine, shown: Shown) -> str:
    ends = (str(end).replace(".", " ") for end in (line.start, line.end))  # no name has a dot in it
    return f"{' → '.join(ends)}, {shown.text(line.design.bore_m, 'length')}"


class _Column(NamedTuple):
    """A column of the list: its lines with their numbers, where it begins and where the lines' ends stand, in mm."""

    lines: tuple[tuple[int, PlacedLine], ...]
    x: float
    ends_x: float


def _columns(lines: Sequence[PlacedLine], shown: Shown) -> list[_Column]:
    """The list in two columns where they fit beside each other, else in one."""
    numbered = tuple(enumerate(lines, 1))
    for rows in (-(-len(lines) // 2), len(lines)):
        columns, x = [], 0.0
        for listed in (numbered[:rows], numbered[rows:]):
            ends_x = x + 7.5 + max((ink.width_of(line.name, ink.SMALL_PT) for _, line in listed), default=0.0)
            columns.append(_Column(listed, x, ends_x))
            x = ends_x + 4.0 + max((ink.width_of(_ends(line, shown), ink.SMALL_PT) for _, line in listed), default=0.0)
        if x - 4.0 <= ink.WIDTH_MM:
            break
    return columns


def _list(axes: Axes, columns: Sequence[_Column], foot: float, shown: Shown) -> None:
    """All lines with their numbers, ends and bores; and what the strokes mean."""
    ink.stroke(axes, np.array([[0.0, foot - 5.0], [ink.WIDTH_MM, foot - 5.0]]), pt=0.4)
    for column in columns:
        for row, (number, line) in enumerate(column.lines):
            y, color = foot - 9.0 - _LINE_MM * row, KINDS[line.design.kind][0]
            ink.write(axes, column.x, y, str(number), size=ink.SMALL_PT, color=color, weight="bold")
            ink.write(axes, column.x + 5.0, y, line.name, size=ink.SMALL_PT)
            ink.write(axes, column.ends_x, y, _ends(line, shown), size=ink.SMALL_PT)
    lines = [line for column in columns for _, line in column.lines]
    x = 0.0
    for kind in dict.fromkeys(line.design.kind for line in lines):
        color, width, dash = KINDS[kind]
        ink.stroke(axes, np.array([[x, 5.6], [x + 10.0, 5.6]]), color=color, pt=width, dash=dash)
        ink.write(axes, x + 11.5, 4.8, kind, size=ink.SMALL_PT)
        x += 11.5 + ink.width_of(kind, ink.SMALL_PT) + 6.0
