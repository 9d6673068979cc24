"""Fits a table into the width of a terminal: which columns stay and how wide; cells one below the other where that will not do."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from textwrap import fill, wrap

from rich.cells import cell_len

from fuelsys.report.table import Column, Table

NARROWEST = 20  # columns: less is written as if it were so many
_BETWEEN = 2
_MOST_LINES = 4  # of a cell of text, before a column goes
_WIDEST_LEAST = 24  # what a column of long text is content with, however many lines it takes
_HOW = "`--form csv` or a wider terminal shows all."


@dataclass(frozen=True)
class Printed:
    """A column as it is printed: its heading's lines, its cells, and the width that it cannot do without."""

    column: Column
    heading: str
    cells: Sequence[str]

    @property
    def is_text(self) -> bool:
        """Text stands to the left and may take several lines; numbers stand to the right and never do."""
        return self.column.kind == "text"

    def headed(self, lines: int) -> list[str]:
        """The heading in at most so many lines."""
        return heading(self.heading, lines, max(map(cell_len, self.cells), default=1))

    def least(self, lines: int, *, whole: bool) -> int:
        """Columns of the terminal that it needs: a number stands whole, text at least word by word; whole: in few lines."""
        words = self.headed(lines)
        if not self.is_text:
            return max(cell_len(part) for part in (*words, *self.cells))
        longest = max((cell_len(word) for cell in (*words, *self.cells) for word in cell.split()), default=1)
        most = max(map(cell_len, self.cells), default=0)
        wanted = min(most, _WIDEST_LEAST, -(-most // _MOST_LINES) + 2) if whole else 0
        return max(longest, wanted)


@dataclass(frozen=True)
class Fitted:
    """What of a table fits: its columns with the lines of their headings and their widths; the headings of those left out."""

    columns: Sequence[Printed]
    lines: int
    widths: Sequence[int]
    left_out: Sequence[str]


def fitted(table: Table, width: int) -> Fitted | None:
    """The columns of a table that fit a width: all, or all but those of the highest ranks; None where not even the last fit.

    A column of text without a word is none.
    """
    said = printed(table)
    ranks = sorted({one.column.rank for one in said}, reverse=True)
    for whole in (True, False):
        for most in ranks:
            kept = [one for one in said if one.column.rank <= most]
            for lines in (2, 3, 4):  # a heading's words take two lines, more only where the table would be too wide
                widths = [one.least(lines, whole=whole) for one in kept]
                if sum(widths) + _BETWEEN * len(widths) <= width:
                    out = [one.heading for one in said if one.column.rank > most]
                    return Fitted(kept, lines, _widened(kept, widths, width - _BETWEEN * len(widths)), out)
    return None


def _widened(columns: Sequence[Printed], widths: Sequence[int], width: int) -> list[int]:
    """Widths that share out what room is left: a letter at a time to the column of text that would take most lines."""
    wide = list(widths)
    whole = [max(map(cell_len, one.cells), default=0) if one.is_text else 0 for one in columns]
    for _ in range(width - sum(wide)):
        k = max(range(len(wide)), key=lambda k: whole[k] / wide[k])
        if whole[k] <= wide[k]:
            break
        wide[k] += 1
    return wide


def printed(table: Table) -> list[Printed]:
    """All columns of a table but those of text that say nothing."""
    rows = table.cells()
    columns = [
        Printed(column, named, [row[k] for row in rows])
        for k, (column, named) in enumerate(zip(table.columns, table.headings(), strict=True))
    ]
    return [one for one in columns if not rows or not one.is_text or any(one.cells)]


def left_out(headings: Sequence[str]) -> str:
    """The line below a table that says which columns are not there, and how to see them.

    >>> left_out(["CG x [mm]", "CG y [mm]"])
    'Left out here, too narrow: CG x [mm], CG y [mm]. `--form csv` or a wider terminal shows all.'
    """
    return f"Left out here, too narrow: {', '.join(headings)}. {_HOW}"


def one_below_the_other(table: Table, width: int) -> Iterator[str]:
    """A table that does not fit in any other way: each cell on a line of its own behind its heading, a blank line between rows."""
    said = printed(table)
    for cells in zip(*(one.cells for one in said), strict=True):
        for one, cell in zip(said, cells, strict=True):
            if cell:
                yield fill(f"{one.heading}: {cell}", width, subsequent_indent="    ", break_on_hyphens=False)
        yield ""


def heading(text: str, lines: int, least: int) -> list[str]:
    """A heading in at most so many lines, as narrow as they and the cells allow, its unit in a line of its own.

    >>> heading("from the stick's bottom [mm]", 2, 5)
    ['from the', "stick's bottom", '[mm]']
    """
    name, bracket, unit = text.partition(" [")
    widths = range(max(least, *map(len, name.split())), max(least, len(name)) + 1)
    words = next(wrapped for wrapped in (wrap(name, width) for width in widths) if len(wrapped) <= lines)
    return [*words, f"[{unit}"] if bracket else words
