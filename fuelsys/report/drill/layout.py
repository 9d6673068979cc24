"""Where the views of a drill sheet lie on the paper, and at which scales: as large as they can be, and one scale where that will do."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from functools import cache, lru_cache
from itertools import product
from typing import NamedTuple

from fuelsys.report.drawing.tank_pictures import SCALES

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
# How cells are set out: whether the groups stand in a row, and of each group whether its cells do, and which they are.
_Way = tuple[bool, tuple[tuple[bool, tuple[int, ...]], ...]]


@dataclass(frozen=True)
class Packing:
    """Where each cell lies, from the upper left corner, and what all of them take."""

    spots: tuple[Spot, ...]
    width: float
    height: float


def _partitions(count: int) -> Iterator[list[list[int]]]:
    """All ways to part the first so many numbers into groups."""
    if count == 0:
        yield []
        return
    for groups in _partitions(count - 1):
        for k in range(len(groups)):
            yield [[*group, count - 1] if n == k else group for n, group in enumerate(groups)]
        yield [*groups, [count - 1]]


@lru_cache
def _ways(count: int) -> tuple[_Way, ...]:
    """All ways to set out cells in a row or a column of rows and columns; within them cells keep their order."""
    found: dict[_Way, None] = {}
    for groups in _partitions(count):
        kinds = [(True, False) if len(group) > 1 else (True,) for group in groups]
        for outer in (True, False) if len(groups) > 1 else (True,):
            for inner in product(*kinds):
                found[outer, tuple((kind, tuple(group)) for kind, group in zip(inner, groups, strict=True))] = None
    return tuple(found)


def _size(cells: Sequence[Cell], in_row: bool) -> Cell:
    gaps = GAP_MM * (len(cells) - 1)
    if in_row:
        return sum(cell[0] for cell in cells) + gaps, max(cell[1] for cell in cells)
    return max(cell[0] for cell in cells), sum(cell[1] for cell in cells) + gaps


def _starts(cells: Sequence[Cell], in_row: bool) -> list[Spot]:
    spots, at = [], 0.0
    for cell in cells:
        spots.append((at, 0.0) if in_row else (0.0, at))
        at += cell[0 if in_row else 1] + GAP_MM
    return spots


def packings(cells: Sequence[Cell], frame: Frame) -> Iterator[Packing]:
    """All ways to set out cells that fit a frame."""
    if sum(width * height for width, height in cells) > frame.width * frame.height:
        return

    @cache  # a group is in many of the ways
    def size(in_row: bool, group: tuple[int, ...]) -> Cell:
        return _size([cells[k] for k in group], in_row)

    for outer, groups in _ways(len(cells)):
        sizes = [size(kind, group) for kind, group in groups]
        width, height = _size(sizes, outer)
        if width <= frame.width and height <= frame.height:
            spots: dict[int, Spot] = {}
            for (kind, group), (x, y) in zip(groups, _starts(sizes, outer), strict=True):
                for k, (dx, dy) in zip(group, _starts([cells[k] for k in group], kind), strict=True):
                    spots[k] = (x + dx, y + dy)
            yield Packing(tuple(spots[k] for k in range(len(cells))), width, height)


def largest(
    cell_at: Callable[[int, float], Cell], small_at: Callable[[int, float], bool], count: int, frame: Frame
) -> tuple[tuple[float, ...], Packing] | None:
    """The largest usual scale at which all cells fit a frame, and larger ones for those that are too small at it; and how.

    None where they fit at no scale.
    """

    def packed(scales: Sequence[float]) -> bool:
        return next(packings([cell_at(k, scale) for k, scale in enumerate(scales)], frame), None) is not None

    begin = next((n for n, scale in enumerate(_SCALES) if packed([scale] * count)), None)
    if begin is None:
        return None
    steps, growing = [begin] * count, set(range(count))
    while growing:
        for k in sorted(growing, key=lambda k: -steps[k]):
            larger = [*steps[:k], steps[k] - 1, *steps[k + 1 :]]
            wanted = steps[k] > 0 and small_at(k, _SCALES[steps[k]])
            if wanted and packed([_SCALES[n] for n in larger]):
                steps = larger
            else:
                growing.discard(k)
    scales = tuple(float(_SCALES[n]) for n in steps)
    every = packings([cell_at(k, scale) for k, scale in enumerate(scales)], frame)
    return scales, min(every, key=lambda p: max(p.width / frame.width, p.height / frame.height))
