"""Numbers of findings as they stand on a drawing: a box whose look tells the outcome without colour, linked to the finding."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from fuelsys.model.found.findings import Outcome
from fuelsys.report.drawing import ink
from fuelsys.report.drawing.canvas import Axes

MOST_IN_A_ROW = 5
ROW_MM = 4.0
HIGH_MM, GAP_MM, _PAD_MM = 3.3, 0.6, 0.7
# Ground, letters and rim of each outcome: dark with light letters, pale with dark ones, white within a dashed rim.
_LOOKS = {
    Outcome.FAIL: (ink.TRAPPED_LINE, "white", "-"),
    Outcome.CAUTION: (ink.CAUTION_PALE, ink.INK, "-"),
    Outcome.NOT_CHECKED: ("white", ink.INK, "--"),
}


@dataclass(frozen=True)
class Tag:
    """The number of a finding that is open."""

    number: int
    outcome: Outcome

    @property
    def width_mm(self) -> float:
        """How wide its box is."""
        return ink.width_of(str(self.number), ink.SMALL_PT, "bold") + 2 * _PAD_MM


def rows(tags: Sequence[Tag]) -> list[Sequence[Tag]]:
    """Tags of one place in rows.

    >>> [len(row) for row in rows([Tag(k, Outcome.FAIL) for k in range(12)])]
    [5, 5, 2]
    """
    return [tags[k : k + MOST_IN_A_ROW] for k in range(0, len(tags), MOST_IN_A_ROW)]


def width_mm(row: Sequence[Tag]) -> float:
    """How wide a row of tags is, its gaps included."""
    return sum(tag.width_mm + GAP_MM for tag in row)


def draw(axes: Axes, x_mm: float, y_mm: float, row: Sequence[Tag]) -> None:
    """A row of tags from a place on, their letters' foot at a height; each links to its finding, and one links to it."""
    for tag in row:
        fill, color, dash = _LOOKS[tag.outcome]
        box = ink.box(x_mm, y_mm - 0.8, x_mm + tag.width_mm, y_mm - 0.8 + HIGH_MM)
        ink.shape(axes, [box], fill=fill, line=ink.TRAPPED_LINE, pt=0.6, dash=dash)
        ink.write(
            axes, x_mm + tag.width_mm / 2.0, y_mm, str(tag.number), size=ink.SMALL_PT, color=color, weight="bold",
            ha="center", finding=tag.number,
        )  # fmt: skip
        x_mm += tag.width_mm + GAP_MM
