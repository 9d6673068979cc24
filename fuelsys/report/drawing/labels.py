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
_CROSSED = 20.0  # the cost of a leader that crosses another
_ROUNDS = 3  # of moving labels that stand in the way
_TROUBLE = 5.0  # a cost above which a label is looked at again
_APART_MM = np.array([0.8, 0.3])  # between labels, sideways and up


@dataclass(eq=False)
class Label:
    """Words with findings' tags at a mark: what they are, how much room they take, and where they stand (centre_mm)."""

    at_mm: Floats
    text: str
    size: float
    color: str
    ground: str
    weight: str
    leader: bool
    rim: bool
    tagged: Sequence[Tag]

    def __post_init__(self) -> None:
        rows = self.rows = tags.rows(self.tagged)
        self.beside = tags.width_mm(rows[0]) + tags.GAP_MM if len(rows) == 1 and self.text else 0.0
        self.lines = len(rows) + bool(self.text and not self.beside)
        wide = max([ink.width_of(self.text, self.size, self.weight) + self.beside, *map(tags.width_mm, rows)])
        tall = self.tall = self.size * ink.MM_PER_PT * 0.95
        high = max(tall, tags.HIGH_MM) + tags.ROW_MM * (self.lines - 1) if rows else tall
        self.half_mm = np.array([wide, high]) / 2.0

    def put(self, centre_mm: Floats) -> None:
        """Stand at a centre: its box (left, bottom, right, top), and its leader (2, 2) where it does not stand beside its mark.

        The leader begins outside the mark's sign and ends short of the words.
        """
        self.centre_mm = centre_mm
        low, high = centre_mm - self.half_mm, centre_mm + self.half_mm
        self.box = (float(low[0]), float(low[1]), float(high[0]), float(high[1]))
        end = np.clip(self.at_mm, low, high)
        reach = float(np.hypot(*(end - self.at_mm)))
        self.course_mm: Floats | None = None
        if self.leader and reach > _LEADER_FROM_MM:
            way = (end - self.at_mm) / reach
            self.course_mm = np.array([self.at_mm + _CLEAR_MM * way, end - _SHORT_MM * way])

    def draw(self, axes: Axes) -> None:
        """The leader, the words, and the tags: before the words while they fit in a row, else in rows below."""
        if self.course_mm is not None:
            if self.rim:
                ink.stroke(axes, self.course_mm, color="white", pt=1.6)
            ink.stroke(axes, self.course_mm, color=ink.INK if self.rim else ink.GREY, pt=0.35)
        x, low, *_ = self.box
        y = low + 0.22 * self.tall + (tags.ROW_MM * (self.lines - 1) + 0.2 if self.rows else 0.0)
        if self.text:
            ink.write(
                axes, x + self.beside, y, self.text, size=self.size, color=self.color, ground=self.ground, weight=self.weight
            )  # fmt: skip
        for k, row in enumerate(self.rows, 1 if self.text and not self.beside else 0):
            tags.draw(axes, x, y - tags.ROW_MM * k, row)


@dataclass
class Paper:
    """What is taken on a piece of paper: its frame (left, bottom, right, top) in mm, boxes of letters, points of lines.

    One that waits draws its labels when it settles: what was placed early can then make room for what came late.
    """

    frame: tuple[float, float, float, float]
    boxes: list[tuple[float, float, float, float]] = field(default_factory=list)
    points: list[Floats] = field(default_factory=list)
    marks: list[Floats] = field(default_factory=list)
    labels: list[Label] = field(default_factory=list)
    waits: bool = False

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
        boxes = np.array([*self.boxes, *(label.box for label in self.labels)]).reshape(-1, 4)
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
        """Write a label where it covers least, nearest to its mark; a leader with a rim shows on dark ground too."""
        one = Label(np.asarray(at_mm, dtype=float), text, size, color, ground, weight, leader, rim, tagged)
        centres = _candidates(one.at_mm, one.half_mm)
        one.put(centres[int(np.argmin(self._costs(one, centres)))])
        self.labels.append(one)
        if not self.waits:
            one.draw(axes)

    def settle(self, axes: Axes) -> None:
        """Move labels that stand in one another's way, each and by pairs, while that is better; then draw all."""
        for _ in range(_ROUNDS):
            moved = [self._moved(one) for one in self.labels if self._cost(one) > _TROUBLE]
            pairs = [(one, two) for k, one in enumerate(self.labels) for two in self.labels[:k] if _cross(one, two)]
            moved += [self._swapped(*pair) for pair in pairs]
            if not any(moved):
                break
        for one in self.labels:
            one.draw(axes)

    def _moved(self, one: Label) -> bool:
        """Whether a label finds a better place now that the others stand."""
        centres = np.vstack([one.centre_mm, _candidates(one.at_mm, one.half_mm)])
        costs = self._costs(one, centres)
        best = int(np.argmin(costs))
        one.put(centres[best])
        return bool(costs[best] < costs[0] - 1e-6)

    def _swapped(self, one: Label, two: Label) -> bool:
        """Whether two labels whose leaders cross do better in each other's place."""
        if not _cross(one, two):
            return False
        before = self._cost(one) + self._cost(two)
        for first, second in ((one.centre_mm, two.centre_mm), (two.centre_mm, one.centre_mm)):
            one.put(second)
            two.put(first)
            if self._cost(one) + self._cost(two) < before - 1e-6:
                return True
        return False

    def _cost(self, one: Label) -> float:
        return float(self._costs(one, one.centre_mm[None])[0])

    def _costs(self, one: Label, centres: Floats) -> Floats:
        """What each place for a label (c, 2) would cover, cross and leave, and how far it is from its mark."""
        at, half = one.at_mm, one.half_mm
        others = [label for label in self.labels if label is not one]
        courses = np.array([label.course_mm for label in others if label.course_mm is not None]).reshape(-1, 2, 2)
        low, high = centres - half - _APART_MM, centres + half + _APART_MM
        outside = np.maximum(np.array(self.frame[:2]) - low, high - np.array(self.frame[2:])).clip(0.0).sum(axis=1)
        ends = np.clip(at, low, high)
        reaches = np.hypot(*(ends - at).T)
        costs = 40.0 * outside + reaches + 0.02 * reaches**2
        led = courses[:, :1] + np.diff(courses, axis=1) * _ALONG[:, None]
        if self.points or len(led):
            x, y = _near([*self.points, led.reshape(-1, 2)], at, half)
            across = (x > low[:, :1]) & (x < high[:, :1])
            costs += 5.0 * (across & (y > low[:, 1:]) & (y < high[:, 1:])).sum(axis=1)
        # A label that stands nearer to another mark than to its own would be read as that one's.
        marks = [mark for mark in self.marks if np.hypot(*(mark - at)) > _CLEAR_MM]
        if marks and one.leader:
            aside = np.maximum(low[:, None] - marks, marks - high[:, None]).clip(0.0)
            costs += 4.0 * (np.hypot(aside[..., 0], aside[..., 1]).min(axis=1) < reaches - _CLEAR_MM)
        # What lies on the mark itself is no fault of the leader's.
        leaders = at + (ends - at)[:, None] * _ALONG[:, None]
        free = np.hypot(*(leaders - at).transpose(2, 0, 1)) > _CLEAR_MM + 0.3
        if len(courses) and one.leader:
            costs += _CROSSED * crossings(at, ends, courses) * (reaches > _LEADER_FROM_MM)
            x, y = _near([led[:, ::2].reshape(-1, 2)], at, half)
            near = (np.abs(leaders[..., :1] - x) < 0.6) & (np.abs(leaders[..., 1:] - y) < 0.6)
            costs += 3.0 * (near.any(axis=2) & free).sum(axis=1)
        boxes = np.array([*self.boxes, *(label.box for label in others)]).reshape(-1, 4)
        shared = np.minimum(boxes[:, 2:], high[:, None]) - np.maximum(boxes[:, :2], low[:, None])
        area = shared.clip(0.0).prod(axis=2).sum(axis=1)
        costs += 60.0 * (area > 0.0) + 20.0 * area
        x, y = leaders[..., :1], leaders[..., 1:]
        inside = (x > boxes[:, 0]) & (x < boxes[:, 2]) & (y > boxes[:, 1]) & (y < boxes[:, 3])
        costs += 6.0 * (inside.any(axis=2) & free).sum(axis=1)
        return np.asarray(costs)


def _cross(one: Label, two: Label) -> bool:
    """Whether the leaders of two labels cross."""
    first, second = one.course_mm, two.course_mm
    return first is not None and second is not None and bool(crossings(first[0], first[1:], second[None])[0])


def crossings(start: Floats, ends: Floats, courses: Floats) -> Floats:
    """How many courses (k, 2, 2) each way from a place (2,) to an end (c, 2) crosses.

    >>> crossings(np.zeros(2), np.array([[2.0, 0.0], [0.0, 2.0]]), np.array([[[1.0, -1.0], [1.0, 1.0]]])).tolist()
    [1, 0]
    """

    def side(of: Floats, a: Floats, b: Floats) -> Floats:
        return np.asarray(
            (b[..., 0] - a[..., 0]) * (of[..., 1] - a[..., 1]) - (b[..., 1] - a[..., 1]) * (of[..., 0] - a[..., 0])
        )

    a, b, to = courses[:, 0], courses[:, 1], ends[:, None]
    apart = side(a, start, to) * side(b, start, to) < 0.0
    return np.asarray((apart & (side(start, a, b) * side(to, a, b) < 0.0)).sum(axis=1))


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
