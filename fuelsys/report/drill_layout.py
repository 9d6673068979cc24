"""Where the views of a drill sheet lie on the paper: of all ways to set them out the one with the largest scale."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from itertools import permutations
from typing import NamedTuple

from fuelsys.report.tank_pictures import SCALES

GAP_MM = 4.0
# The usual scales, and beyond them those that a tank of any size comes down to.
_SCALES = (*(scale for scale in SCALES if scale >= 1), 150, 200, 300, 500, 1000)


class Frame(NamedTuple):
    """A rectangle of paper in mm."""

    left: float
    bottom: float
    right: float
    top: float

    @property
    def width(self) -> float:
        """From left to right."""
        return self.right - self.left

    @property
    def height(self) -> float:
        """From bottom to top."""
        return self.top - self.bottom


Cell = tuple[float, float]  # width and height
Spot = tuple[float, float]  # left and top, from the upper left corner, downwards


@dataclass(frozen=True)
class Packing:
    """Where each cell lies, from the upper left corner, and what all of them take."""

    spots: tuple[Spot, ...]
    width: float
    height: float


def row(cells: Sequence[Cell]) -> Packing:
    """Cells side by side.

    >>> row([(10.0, 5.0), (20.0, 8.0)])
    Packing(spots=((0.0, 0.0), (15.0, 0.0)), width=35.0, height=8.0)
    """
    spots, x = [], 0.0
    for width, _ in cells:
        spots.append((x, 0.0))
        x += width + GAP_MM
    return Packing(tuple(spots), x - GAP_MM, max(height for _, height in cells))


def column(cells: Sequence[Cell]) -> Packing:
    """Cells below one another."""
    across = row([(height, width) for width, height in cells])
    return Packing(tuple((y, x) for x, y in across.spots), across.height, across.width)


def _within(outer: Callable[[Sequence[Cell]], Packing], inner: Sequence[Packing]) -> Packing:
    """Packings set out as cells."""
    whole = outer([(one.width, one.height) for one in inner])
    spots = [(x + dx, y + dy) for (x, y), one in zip(whole.spots, inner, strict=True) for dx, dy in one.spots]
    return Packing(tuple(spots), whole.width, whole.height)


def packings(cells: Sequence[Cell]) -> list[Packing]:
    """Ways to set out cells: in rows and columns of rows, in every order, the given one first; of many cells the first change."""
    found = []
    free = len(cells) if len(cells) <= 4 else 3
    for first in permutations(range(free)):
        order = [*first, *range(free, len(cells))]
        back = [order.index(k) for k in range(len(cells))]
        for way in _in_order([cells[k] for k in order]):
            found.append(Packing(tuple(way.spots[k] for k in back), way.width, way.height))
    return found


def _in_order(cells: Sequence[Cell]) -> list[Packing]:
    ways = [column(cells), row(cells)]
    for cut in range(1, len(cells)):
        head, tail = cells[:cut], cells[cut:]
        ways += [_within(column, [row(head), row(tail)]), _within(row, [column(head), column(tail)])]
        ways += [_within(row, [column(head), row(tail)]), _within(column, [row(head), column(tail)])]
        for second in range(cut + 1, len(cells)):
            parts = (cells[:cut], cells[cut:second], cells[second:])
            ways += [_within(column, [row(part) for part in parts]), _within(row, [column(part) for part in parts])]
    return ways


def largest(cells_at: Callable[[float], Sequence[Cell]], frame: Frame) -> tuple[float, Packing] | None:
    """The largest usual scale at which the cells fit a frame, and how; None where they fit at none."""
    for scale in _SCALES:
        cells = cells_at(scale)
        area = sum(width * height for width, height in cells)
        if area > frame.width * frame.height or max(width for width, _ in cells) > frame.width:
            continue
        fitting = [p for p in packings(cells) if p.width <= frame.width and p.height <= frame.height]
        if fitting:
            return scale, min(fitting, key=lambda p: max(p.width / frame.width, p.height / frame.height))
    return None
