"""A key of letters below a drawing, where so many fittings are named that their names would not find room on it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from fuelsys.report.drawing import ink, tags
from fuelsys.report.drawing.canvas import Axes
from fuelsys.report.drawing.tags import Tag

MOST_NAMED = 16  # names on a drawing; with more of them letters stand at the marks, and the names in a key
_LETTER_MM, _APART_MM = 5.5, 5.0


@dataclass(frozen=True)
class Key:
    """What stands in a key: names, each with findings' numbers; nothing where the names stand on the drawing."""

    entries: tuple[tuple[str, tuple[Tag, ...]], ...] = ()

    @classmethod
    def of(cls, entries: Sequence[tuple[str, Sequence[Tag]]]) -> Key:
        """A key where there are too many names for the drawing."""
        return cls(tuple((words, tuple(tagged)) for words, tagged in entries) if len(entries) > MOST_NAMED else ())

    @property
    def columns(self) -> int:
        """How many entries stand beside one another."""
        wide = (
            _LETTER_MM + ink.width_of(words, ink.SMALL_PT) + 1.0 + tags.width_mm(tagged)
            for words, tagged in self.entries
        )
        return max(1, int((ink.WIDTH_MM + _APART_MM) // (max(wide, default=ink.WIDTH_MM) + _APART_MM)))

    @property
    def rows(self) -> int:
        """How many lines it has."""
        return -(-len(self.entries) // self.columns)

    @property
    def height_mm(self) -> float:
        """How high it stands; nothing without entries."""
        return tags.ROW_MM * self.rows + 3.0 if self.entries else 0.0

    def draw(self, axes: Axes, bottom_mm: float) -> None:
        """The letters with their names, down one column after the other."""
        for k, (words, tagged) in enumerate(self.entries):
            column, row = divmod(k, self.rows)
            x = column * (ink.WIDTH_MM + _APART_MM) / self.columns
            y = bottom_mm + tags.ROW_MM * (self.rows - 1 - row)
            ink.write(axes, x, y, letter(k), size=ink.SMALL_PT, weight="bold")
            ink.write(axes, x + _LETTER_MM, y, words, size=ink.SMALL_PT)
            tags.draw(axes, x + _LETTER_MM + ink.width_of(words, ink.SMALL_PT) + 1.0, y, tagged)


def letter(k: int) -> str:
    """The letters of an entry.

    >>> letter(0), letter(25), letter(26)
    ('a', 'z', 'aa')
    """
    return (letter(k // 26 - 1) if k >= 26 else "") + "abcdefghijklmnopqrstuvwxyz"[k % 26]
