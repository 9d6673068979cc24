"""Labels that do not cover each other: each beside its mark, or at the end of a thin leader where there is no room."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np

from fuelsys.arrays import Floats
from fuelsys.report.drawing import ink, tags
from fuelsys.report.drawing.canvas import Axes
from fuelsys.report.drawing.tags import Tag

_REACHES_MM = np.array([1.6, 2.6, 4.0, 6.0, 8.5, 11.5, 15.0, 20.0, 26.0])
_TURNS = np.linspace(0.0, 2.0 * np.pi, 16, endpoint=False)
_ALONG = np.linspace(0.0, 1.0, 15)
_LEADER_FROM_MM = 2.0
_CLEAR_MM = 1.1  # a leader begins outside its mark's sign
_SHORT_MM = 0.4  # and ends before its label
_APART_MM = np.array([0.8, 0.3])  # between labels, sideways and up


@dataclass
class Paper:
    """What is taken on a piece of paper: its frame (left, bottom, right, top) in mm, boxes of letters, points of lines."""

    frame: tuple[float, float, float, float]
    boxes: list[tuple[float, float, float, float]] = field(default_factory=list)
    points: list[Floats] = field(default_factory=list)
    leaders: list[Floats] = field(default_factory=list)
    marks: list[Floats] = field(default_factory=list)

    def avoid(self, course_mm: Floats, step_mm: float = 0.8) -> None:
        """Keep labels off a course (k, 2)."""
        self.points.append(sampled(course_mm, step_mm))

    def keep_off(self, at_mm: Floats, half_width: float, half_height: float | None = None) -> None:
        """Keep labels off a box round a place."""
        high = half_width if half_height is None else half_height
        self.boxes.append((at_mm[0] - half_width, at_mm[1] - high, at_mm[0] + half_width, at_mm[1] + high))
        self.marks.append(np.asarray(at_mm, dtype=float))

    def room(self, at_mm: Floats) -> float:
        """Distance from a place to the nearest box."""
        boxes = np.array(self.boxes).reshape(-1, 4)
        aside = np.maximum(boxes[:, :2] - at_mm, at_mm - boxes[:, 2:]).clip(0.0)
        return float(np.hypot(*aside.T).min(initial=1e3))

    def label(
        self,
        axes: Axes,
        at_mm: Floats,
        text: str,
        *,
        size: float = ink.SMALL_PT,
        color: str = ink.INK,
        ground: str = "none",
        weight: str = "normal",
        leader: bool = True,
        rim: bool = False,
        tagged: Sequence[Tag] = (),
    ) -> None:
        """Write a label where it covers least, nearest to its mark; a leader with a rim shows on dark ground too.

        Findings' tags stand before its text while they fit in a row, else in rows below it.
        """
        rows = tags.rows(tagged)
        beside = tags.width_mm(rows[0]) + tags.GAP_MM if len(rows) == 1 and text else 0.0
        lines = len(rows) + bool(text and not beside)
        wide = max([ink.width_of(text, size, weight) + beside, *map(tags.width_mm, rows)])
        tall = size * ink.MM_PER_PT * 0.95
        half = np.array([wide, max(tall, tags.HIGH_MM) + tags.ROW_MM * (lines - 1) if rows else tall]) / 2.0
        centres = _candidates(at_mm, half)
        centre = centres[int(np.argmin(self._costs(at_mm, centres, half, leader)))]
        low, high = centre - half, centre + half
        self.boxes.append((low[0], low[1], high[0], high[1]))
        end = np.clip(at_mm, low, high)
        reach = float(np.hypot(*(end - at_mm)))
        if leader and reach > _LEADER_FROM_MM:
            way = (end - at_mm) / reach
            course = np.array([at_mm + _CLEAR_MM * way, end - _SHORT_MM * way])
            if rim:
                ink.stroke(axes, course, color="white", pt=1.6)
            ink.stroke(axes, course, color=ink.INK if rim else ink.GREY, pt=0.35)
            self.avoid(course, 0.5)
            self.leaders.append(sampled(course, 0.5))
        x, y = float(low[0]), float(low[1] + 0.22 * tall) + (tags.ROW_MM * (lines - 1) + 0.2 if rows else 0.0)
        if text:
            ink.write(axes, x + beside, y, text, size=size, color=color, ground=ground, weight=weight)
        for k, row in enumerate(rows, 1 if text and not beside else 0):
            tags.draw(axes, x, y - tags.ROW_MM * k, row)

    def _costs(self, at: Floats, centres: Floats, half: Floats, of_mark: bool) -> Floats:
        """What each place for a label (c, 2) would cover, cross and leave, and how far it is from its mark."""
        low, high = centres - half - _APART_MM, centres + half + _APART_MM
        outside = np.maximum(np.array(self.frame[:2]) - low, high - np.array(self.frame[2:])).clip(0.0).sum(axis=1)
        ends = np.clip(at, low, high)
        reaches = np.hypot(*(ends - at).T)
        costs = 40.0 * outside + reaches + 0.02 * reaches**2
        if self.points:
            x, y = _near(self.points, at, half)
            across = (x > low[:, :1]) & (x < high[:, :1])
            costs += 5.0 * (across & (y > low[:, 1:]) & (y < high[:, 1:])).sum(axis=1)
        # A label that stands nearer to another mark than to its own would be read as that one's.
        others = [mark for mark in self.marks if np.hypot(*(mark - at)) > _CLEAR_MM]
        if others and of_mark:
            aside = np.maximum(low[:, None] - others, others - high[:, None]).clip(0.0)
            costs += 4.0 * (np.hypot(aside[..., 0], aside[..., 1]).min(axis=1) < reaches - _CLEAR_MM)
        # What lies on the mark itself is no fault of the leader's.
        leaders = at + (ends - at)[:, None] * _ALONG[:, None]
        free = np.hypot(*(leaders - at).transpose(2, 0, 1)) > _CLEAR_MM + 0.3
        if self.leaders:
            x, y = _near(self.leaders, at, half)
            crossed = (np.abs(leaders[..., :1] - x) < 0.5) & (np.abs(leaders[..., 1:] - y) < 0.5)
            costs += 3.0 * (crossed.any(axis=2) & free).sum(axis=1)
        if self.boxes:
            boxes = np.array(self.boxes)
            shared = np.minimum(boxes[:, 2:], high[:, None]) - np.maximum(boxes[:, :2], low[:, None])
            area = shared.clip(0.0).prod(axis=2).sum(axis=1)
            costs += 60.0 * (area > 0.0) + 20.0 * area
            x, y = leaders[..., :1], leaders[..., 1:]
            inside = (x > boxes[:, 0]) & (x < boxes[:, 2]) & (y > boxes[:, 1]) & (y < boxes[:, 3])
            costs += 6.0 * (inside.any(axis=2) & free).sum(axis=1)
        return np.asarray(costs)


def _near(courses: Sequence[Floats], at: Floats, half: Floats) -> tuple[Floats, Floats]:
    """Across and height of those points of courses that a label of a mark could reach."""
    points = np.concatenate(courses)
    near = points[(np.abs(points - at) < _REACHES_MM[-1] + 2.0 * half + _APART_MM).all(axis=1)]
    return near[:, 0], near[:, 1]


def _candidates(at: Floats, half: Floats) -> Floats:
    """Centres of a label round a mark (c, 2): each reach in each direction, the label's near edge at the reach."""
    ways = np.round(np.column_stack([np.cos(_TURNS), np.sin(_TURNS)]), 9)
    # All of the label lies beyond its near point sideways, none of it straight across.
    beyond = np.sign(ways) * half * np.minimum(1.0, np.abs(ways) * 1.5)
    return np.asarray(at + ways * _REACHES_MM[:, None, None] + beyond).reshape(-1, 2)


def sampled(course: Floats, step: float) -> Floats:
    """Points along a course (k, 2), not further apart than a step."""
    parts = [course[:1]]
    for one, two in zip(course[:-1], course[1:], strict=True):
        count = max(1, int(np.ceil(np.hypot(*(two - one)) / step)))
        parts.append(one + (two - one) * (np.arange(1, count + 1) / count)[:, None])
    return np.concatenate(parts)


def spread(wanted: Floats, gap: float) -> Floats:
    """Rising places moved apart to a least gap, each as little as can be: neighbours in a run share their shift.

    >>> spread(np.array([0.0, 1.0, 10.0]), 3.0).tolist()
    [-1.0, 2.0, 10.0]
    """
    runs: list[tuple[float, int]] = []  # where a run of places begins, and their number
    for value in wanted.tolist():
        begin, number = value, 1
        while runs and begin - runs[-1][0] < gap * runs[-1][1]:
            before, count = runs.pop()
            begin = (before * count + (begin - gap * count) * number) / (count + number)
            number += count
        runs.append((begin, number))
    return np.array([begin + gap * k for begin, number in runs for k in range(number)])
