"""Labels that do not cover each other: each beside its mark, or at the end of a thin leader where there is no room."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np
from matplotlib.axes import Axes

from fuelsys.kernels.compiled import Floats
from fuelsys.report import ink

_REACHES_MM = (1.6, 2.6, 4.0, 6.0, 8.5, 11.5, 15.0, 20.0, 26.0)
_TURNS = np.linspace(0.0, 2.0 * np.pi, 16, endpoint=False)
_LEADER_FROM_MM = 2.0
_CLEAR_MM = 1.1  # a leader begins outside its mark's sign
_SHORT_MM = 0.4  # and ends before its label


@dataclass
class Paper:
    """What is taken on a piece of paper: its frame (left, bottom, right, top) in mm, boxes of letters, points of lines."""

    frame: tuple[float, float, float, float]
    boxes: list[tuple[float, float, float, float]] = field(default_factory=list)
    points: list[Floats] = field(default_factory=list)

    def avoid(self, course_mm: Floats, step_mm: float = 0.8) -> None:
        """Keep labels off a course (k, 2)."""
        self.points.append(sampled(course_mm, step_mm))

    def keep_off(self, at_mm: Floats, half_width: float, half_height: float | None = None) -> None:
        """Keep labels off a box round a place."""
        high = half_width if half_height is None else half_height
        self.boxes.append((at_mm[0] - half_width, at_mm[1] - high, at_mm[0] + half_width, at_mm[1] + high))

    def label(self, axes: Axes, at_mm: Floats, text: str, *, size: float = ink.SMALL_PT, color: str = ink.INK) -> None:
        """Write a label where it covers least, nearest to its mark."""
        width, height = ink.width_of(text, size), size * ink.MM_PER_PT * 0.95
        centres = _candidates(at_mm, width, height)
        taken = np.concatenate(self.points) if self.points else np.zeros((0, 2))
        boxes = np.array(self.boxes).reshape(-1, 4)
        costs = [self._cost(at_mm, centre, width, height, taken, boxes) for centre in centres]
        centre = centres[int(np.argmin(costs))]
        box = (centre[0] - width / 2, centre[1] - height / 2, centre[0] + width / 2, centre[1] + height / 2)
        self.boxes.append(box)
        end = _nearest(box, at_mm)
        if np.hypot(*(end - at_mm)) > _LEADER_FROM_MM:
            way = (end - at_mm) / float(np.hypot(*(end - at_mm)))
            leader = np.array([at_mm + _CLEAR_MM * way, end - _SHORT_MM * way])
            ink.stroke(axes, leader, color=ink.GREY, pt=0.35)
            self.avoid(leader, 0.5)
        ink.write(axes, box[0], box[1] + 0.22 * height, text, size=size, color=color)

    def _cost(self, at: Floats, centre: Floats, width: float, height: float, taken: Floats, boxes: Floats) -> float:
        half = np.array([width / 2 + 0.4, height / 2 + 0.3])
        low, high = centre - half, centre + half
        left, bottom, right, top = self.frame
        outside = max(left - low[0], 0) + max(bottom - low[1], 0) + max(high[0] - right, 0) + max(high[1] - top, 0)
        covered = int(((taken > low) & (taken < high)).all(axis=1).sum())
        end = _nearest((*low, *high), at)
        leader = sampled(np.array([at, end]), 0.5)
        crossed = 0
        shared = 0.0
        if len(boxes):
            across = np.minimum(boxes[:, 2], high[0]) - np.maximum(boxes[:, 0], low[0])
            upward = np.minimum(boxes[:, 3], high[1]) - np.maximum(boxes[:, 1], low[1])
            shared = float((across.clip(0) * upward.clip(0)).sum())
            inside = (leader[:, None] > boxes[None, :, :2]) & (leader[:, None] < boxes[None, :, 2:])
            crossed = int(inside.all(axis=2).sum())
        return (
            40.0 * outside
            + 60.0 * (shared > 0)
            + 20.0 * shared
            + 3.0 * covered
            + 6.0 * crossed
            + float(np.hypot(*(end - at)))
        )


def sampled(course: Floats, step: float) -> Floats:
    """Points along a course (k, 2), not further apart than a step."""
    parts = [course[:1]]
    for one, two in zip(course[:-1], course[1:], strict=True):
        count = max(1, int(np.ceil(np.hypot(*(two - one)) / step)))
        parts.append(one + (two - one) * np.linspace(0.0, 1.0, count + 1)[1:, None])
    return np.concatenate(parts)


def _candidates(at: Floats, width: float, height: float) -> list[Floats]:
    """Centres of a label round a mark: each reach in each direction, the label's near edge at the reach."""
    found = []
    for reach in _REACHES_MM:
        for turn in _TURNS:
            way = np.array([np.cos(turn), np.sin(turn)])
            found.append(
                at + way * reach + np.sign(np.round(way, 6)) * np.array([width / 2, height / 2]) * _spread(way)
            )
    return found


def _spread(way: Floats) -> Floats:
    """How much of half the label lies beyond its near point: all of it sideways, none of it straight across."""
    return np.minimum(1.0, np.abs(way) * 1.5)


def _nearest(box: Sequence[float], at: Floats) -> Floats:
    return np.array([min(max(at[0], box[0]), box[2]), min(max(at[1], box[1]), box[3])])
