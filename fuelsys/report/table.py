"""Tables of SI values: as cells in the units that are shown, as CSV, as JSON.

`Table.record`: SI under keys that carry the unit, the same keys in every row; a word in a column of numbers is null there and
stands under `status`. The keys of every kind of table stand in `tests/json_form.json` by hand, with the form's number
(`JSON_FORM`): it is raised when a key goes or changes its meaning, not when one comes.
"""

from __future__ import annotations

import json
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from html import escape
from typing import TYPE_CHECKING, Any

from fuelsys import units
from fuelsys.model.words import as_read
from fuelsys.report.shown import WRITTEN, Shown, rounded

if TYPE_CHECKING:
    import pandas as pd

Cell = float | str | None
JSON_FORM = 3  # of the JSON document; raised when a key changes its name or meaning, not when one is added


@dataclass(frozen=True)
class Column:
    """A column: its heading without unit, its kind (a unit's kind, or "text"), and its key with the SI unit.

    as_stated: figures that somebody chose, which even a coarse table must not round.
    rank: where a terminal is too narrow, columns of the highest rank go first, all of one rank together; those of rank 0 stay.
    name: what its key is made of, where a figure stands in the heading. up: minutes that are missing, or how far times are apart.
    """

    heading: str
    kind: str = "text"
    as_stated: bool = False
    rank: int = 0
    name: str = ""
    up: bool = False

    @property
    def key(self) -> str:
        """The column's key in JSON: words joined, with the SI unit.

        >>> Column("usable at trip", "volume").key
        'usable_at_trip_m3'
        """
        suffix = {
            "volume": "_m3", "length": "_m", "area": "_m2", "mass": "_kg", "time": "_s", "share": "_share", "angle": "_rad",
            "flow": "_m3_s", "pressure": "_pa", "temperature": "_k", "moment": "_kg_m",
        }.get(self.kind, "")  # fmt: skip
        words = "".join(c if c.isalnum() else " " for c in (self.name or self.heading).lower()).split()
        return "_".join(words) + suffix


@dataclass(frozen=True)
class Table:
    """A table of SI values under a title that names the tank and the attitude; notes stand below it.

    appendix: one to look things up in, which stands at the end of a page; one that is not for paper stands there too, on screens.
    absent: columns that others of its kind have figures for; null in JSON, whose keys never change with content.
    """

    key: str
    title: str
    columns: tuple[Column, ...]
    rows: tuple[tuple[Cell, ...], ...]
    notes: tuple[str, ...] = ()
    shown: Shown = field(default_factory=Shown)
    appendix: bool = False
    paper: bool = True
    absent: tuple[Column, ...] = ()

    def headings(self, *, plain: bool = False) -> list[str]:
        """Headings with the units that the cells are in, as people write them or in plain letters."""
        named = [(column.heading, self.shown.unit(column.kind)) for column in self.columns]
        return [f"{h} [{unit if plain else WRITTEN.get(unit, unit)}]" if unit else h for h, unit in named]

    def value(self, column: Column, cell: Cell) -> Cell:
        """A cell in the unit that is shown."""
        unit = self.shown.unit(column.kind)
        return units.from_si(cell, unit, column.kind) if isinstance(cell, float) and unit else cell

    def _repr_html_(self) -> str:
        """How a notebook shows it: what a terminal prints, title and notes with it."""
        rows = "".join(f"<tr>{''.join(f'<td>{escape(cell)}</td>' for cell in row)}</tr>" for row in self.cells())
        heads = "".join(f"<th>{escape(one)}</th>" for one in self.headings())
        notes = "".join(f"<p>{escape(as_read(note))}</p>" for note in self.notes)
        return f"<table><caption>{escape(self.title)}</caption><tr>{heads}</tr>{rows}</table>{notes}"

    def cells(self) -> list[list[str]]:
        """Formatted cells, row by row."""
        return [[self._text(c, cell) for c, cell in zip(self.columns, row, strict=True)] for row in self.rows]

    def _text(self, column: Column, cell: Cell) -> str:
        if cell is None:
            return "–"
        if isinstance(cell, str):
            return cell
        unit = self.shown.unit(column.kind)
        if not unit:
            return rounded(cell, self.shown.digits(unit))
        if self.shown.coarse and column.as_stated:
            return f"{round(units.from_si(cell, unit, column.kind), 6) + 0.0:.6g}"
        return self.shown.figure(cell, column.kind, up=column.up)

    def frame(self) -> pd.DataFrame:
        """The table as a pandas frame in the shown units, for CSV."""
        import pandas as pd  # noqa: PLC0415  half a second, which a table in a terminal need not wait for

        rows = [[self.value(c, cell) for c, cell in zip(self.columns, row, strict=True)] for row in self.rows]
        return pd.DataFrame(rows, columns=self.headings(plain=True))

    def csv(self) -> str:
        """The table as CSV with headings; ten digits, so that nothing that was computed is lost."""
        safe = self.frame().map(no_formula).rename(columns=no_formula)
        text: str = safe.to_csv(index=False, float_format="%.10g", lineterminator="\n")
        return text

    def record(self) -> dict[str, Any]:
        """The table for JSON: SI values under keys that carry the unit, the same in every row.

        A word in a column of numbers ("never trips") is no number: that is null, and the word stands under status.
        """
        rows, numbers = [], any(column.kind != "text" for column in self.columns)
        for row in self.rows:
            entry: dict[str, Any] = {}
            words = []
            for column, cell in zip(self.columns, row, strict=True):
                said = isinstance(cell, str) and column.kind != "text"
                entry[column.key] = None if said else cell
                words += [str(cell)] if said else []
            entry |= dict.fromkeys(column.key for column in self.absent)
            rows.append(entry | ({"status": "; ".join(words) or None} if numbers else {}))
        return {"key": self.key, "title": self.title, "notes": [as_read(note) for note in self.notes], "rows": rows}


def no_formula(cell: Cell) -> Cell:
    """A cell for a spreadsheet: a text that one would take for a formula has an apostrophe before it; numbers stay numbers.

    >>> no_formula("=1+1"), no_formula("-2 deg"), no_formula(-2.0), no_formula("left")
    ("'=1+1", "'-2 deg", -2.0, 'left')
    """
    return f"'{cell}" if isinstance(cell, str) and cell.startswith(("=", "+", "-", "@", "\t", "\r")) else cell


def as_json(tables: Iterable[Table], extra: Mapping[str, Any] | None = None) -> str:
    """Tables as one JSON document in SI."""
    document = {
        "form": JSON_FORM,
        **(extra or {}),
        "units": "SI, as each key says",
        "tables": [table.record() for table in tables],
    }
    return json.dumps(document, indent=2, ensure_ascii=False, allow_nan=False) + "\n"


def as_csv(tables: Sequence[Table]) -> str:
    """Tables as CSV; several are parted by a blank line and a line with the title."""
    if len(tables) == 1:
        return tables[0].csv()
    titles = (str(no_formula(table.title)).replace('"', '""') for table in tables)
    return "\n".join(f'"{title}"\n{table.csv()}' for title, table in zip(titles, tables, strict=True))
