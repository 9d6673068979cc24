"""Tables of SI values, and how they are shown: in the units that a person asked for, as cells, CSV or JSON.

`Table.record`: SI under keys that carry the unit, the same keys in every row; a word in a column of numbers is null there and
stands under `status`. The keys of every kind of table stand in `tests/json_form.json` by hand, with the form's number
(`JSON_FORM`): it is raised when a key goes or changes its meaning, not when one comes.
"""

from __future__ import annotations

import json
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from html import escape
from math import ceil, floor
from typing import TYPE_CHECKING, Any

from fuelsys import units
from fuelsys.model.words import Quantity, Words, as_read

if TYPE_CHECKING:
    import pandas as pd

Cell = float | str | None
# Digits after the point for each unit that can be asked for; a litre to the millilitre, a millimetre to a tenth.
_DIGITS = {
    "L": 3, "mL": 0, "m3": 6, "US gal": 3, "imp gal": 3, "mm": 1, "cm": 2, "m": 4, "in": 3, "ft": 4, "kg": 2, "lb": 2,
    "cm2": 2, "m2": 4, "in2": 3, "min": 1, "%": 2, "°": 1, "": 0, "kPa": 2, "psi": 2, "L/h": 1, "US gal/h": 1, "imp gal/h": 1,
    "N": 0, "lbf": 0, "K": 1, "kg m": 2, "lb in": 1,
}  # fmt: skip
# The same on a page that is read, where more digits hide the figure; files keep all.
_COARSE = {**_DIGITS, "L": 1, "m3": 4, "US gal": 2, "imp gal": 2, "kg": 1, "lb": 1, "%": 1}
_NOTHING_M3 = 0.5e-6  # what no figure shows, which is nothing in a coarse one too
_LEAST_LITRES = 0.0995  # less stands in millilitres in a coarse sentence
JSON_FORM = 3  # of the JSON document; raised when a key changes its name or meaning, not when one is added
# How people write them; CSV keeps plain letters, which every spreadsheet reads.
_WRITTEN = {"cm2": "cm²", "m2": "m²", "in2": "in²", "m3": "m³"}


@dataclass(frozen=True)
class Shown:
    """The units that answers are shown in; coarse to a tenth of a litre, for a page."""

    volume: str = "L"
    length: str = "mm"
    coarse: bool = False

    def digits(self, unit: str) -> int:
        """Digits after the point of figures in a unit."""
        return (_COARSE if self.coarse else _DIGITS).get(unit, 3)

    def unit(self, kind: str) -> str:
        """The unit of a kind of column; empty for text."""
        imperial = self.length in ("in", "ft")
        area, mass = ("in2", "lb") if imperial else ("cm2", "kg")
        chosen = {"volume": self.volume, "length": self.length, "area": area, "mass": mass}
        if kind == "flow":
            return f"{self.volume if 'gal' in self.volume else 'L'}/h"
        pairs = {"pressure": ("kPa", "psi"), "force": ("N", "lbf"), "moment": ("kg m", "lb in")}
        if kind in pairs:
            return pairs[kind][imperial]
        return chosen.get(kind) or {"time": "min", "share": "%", "angle": "°", "temperature": "K"}.get(kind, "")

    def written(self, kind: str) -> str:
        """The same unit as people write it."""
        return _WRITTEN.get(self.unit(kind), self.unit(kind))

    def named(self, words: str, kind: str) -> str:
        """A heading with the unit that its figures are in.

        >>> Shown().named("level", "length")
        'level [mm]'
        """
        return f"{words} [{self.written(kind)}]"

    def scale(self, kind: str) -> dict[str, str | float | int]:
        """How a script shows a kind as tables do: its unit, what one of it is in SI, digits after the point.

        >>> Shown(length="in").scale("length")
        {'unit': 'in', 'si': 0.0254, 'digits': 3, 'coarse': False}
        """
        unit = self.unit(kind)
        return {
            "unit": self.written(kind), "si": units.scale(unit, kind), "digits": self.digits(unit), "coarse": self.coarse,
        }  # fmt: skip

    def value(self, value_si: float, kind: str) -> float:
        """A number in its unit."""
        return units.from_si(value_si, self.unit(kind), kind)

    def figure(self, value_si: float, kind: str, *, up: bool = False) -> str:
        """A number without its unit, as tables print it; a quantity that a coarse one would round to nothing stands as a limit.

        Minutes are counted on, so they are never rounded up, but where up says so.

        >>> Shown(coarse=True).figure(0.03e-3, "volume"), Shown(coarse=True).figure(0.0, "volume"), Shown().figure(598.0, "time")
        ('<0.1', '0.0', '9.9')
        """
        if kind == "time":
            return units.minutes(value_si, up=up)
        digits = self.digits(self.unit(kind))
        text = rounded(self.value(value_si, kind), digits)
        some = self.coarse and kind == "volume" and value_si > _NOTHING_M3
        return f"<{10.0**-digits:g}" if some and float(text) == 0.0 else text

    def short(self, value_si: float, kind: str) -> str:
        """A number that somebody chose, such as a bore, in as few digits as give it back.

        >>> Shown(length="in").short(0.00635, "length")
        '0.25 in'
        """
        return f"{round(self.value(value_si, kind), 6) + 0.0:.6g} {self.written(kind)}"

    def text(self, value_si: float, kind: str) -> str:
        """A number with its unit, for sentences; what rounds to nothing is said as a limit, and nothing as 0.

        >>> Shown(length="in").text(0.0254, "length")
        '1.000 in'
        >>> Shown().text(2e-9, "volume")
        'under 0.001 L'
        >>> Shown().text(-0.0, "volume")
        '0 L'
        >>> coarse = Shown(coarse=True)
        >>> coarse.text(0.02494, "volume"), coarse.text(0.0000163, "volume"), coarse.text(0.0, "volume")
        ('24.9 L', '16 mL', '0 L')
        >>> Shown(volume="US gal", coarse=True).text(0.000018, "volume")
        '0.005 US gal'
        """
        unit = self.unit(kind)
        value = abs(units.from_si(value_si, unit, kind))
        if self._in_millilitres(value, unit):
            return Shown(volume="mL").text(value_si, kind)
        least = 10.0 ** -self.digits(unit)
        if (
            value < least / 2.0 and self.coarse and kind == "volume"
        ):  # a limit says too little of what is dangerous to have
            return replace(self, coarse=False).text(value_si, kind)
        if value < least / 2.0:
            return f"{f'under {units.plain(least, 1)}' if value > 1e-12 * least else '0'} {self.written(kind)}"
        return f"{self.figure(value_si, kind)} {self.written(kind)}"

    def _in_millilitres(self, value: float, unit: str) -> bool:
        """Would a quantity say little in tenths of a litre? Nothing is nothing in litres too."""
        return self.coarse and unit == "L" and 1e-12 < value < _LEAST_LITRES

    def words(self, words: str | Words) -> str:
        """Words with their quantities in these units.

        >>> Shown().words(("at least ", Quantity("length", (0.003634,), up=True)))
        'at least 3.7 mm'
        >>> Shown(coarse=True).words(("at most ", Quantity("volume", (0.00299,), down=True)))
        'at most 2.9 L'
        >>> Shown(length="in").words(("at ", Quantity("length", (0.0254, 0.0, -0.0127))))
        'at (1, 0, -0.5) in'
        >>> Shown().words((Quantity("speed", (0.3048,)),)), Shown(length="in").words((Quantity("climb", (7.62,)),))
        ('0.305 m/s', '1500 ft/min')
        >>> Shown().words((Quantity("density", (720.0,)),))
        '0.720 kg/L'
        """
        if isinstance(words, str):
            return words
        return "".join(part if isinstance(part, str) else self._quantity(part) for part in words)

    def density_text(self, density_kg_m3: float) -> str:
        """A density in the units of mass and volume, where people use the two together."""
        unit = "lb/US gal" if (self.unit("mass"), self.volume) == ("lb", "US gal") else "kg/L"
        return f"{units.from_si(density_kg_m3, unit, 'density'):.3f} {unit}"

    def _quantity(self, given: Quantity) -> str:
        first, unit = given.values_si[0], self.unit(given.kind)
        if given.kind == "flow":
            return self.flow_text(first)
        if given.kind == "pressure":
            return f"{self.figure(first, 'pressure')} {self.unit('pressure')}"
        if given.kind == "density":
            return self.density_text(first)
        if given.kind in ("speed", "climb"):
            unit = self._speed_unit(given.kind)
            return f"{units.plain(units.from_si(first, unit, 'speed'), 3)} {unit}"
        if len(given.values_si) > 1:
            along = (round(self.value(value, given.kind), self.digits(unit)) + 0.0 for value in given.values_si)
            return f"({', '.join(f'{value:.9g}' for value in along)}) {self.written(given.kind)}"
        if given.up or given.down:
            step = 0.001 if self._in_millilitres(self.value(first, given.kind), unit) else 10.0 ** -self.digits(unit)
            steps = self.value(first, given.kind) / step
            whole = ceil(steps - 1e-6) if given.up else floor(steps + 1e-6)
            first = units.to_si(whole * step, unit, given.kind)
        return self.text(first, given.kind)

    def _speed_unit(self, kind: str) -> str:
        """What speeds are written in beside lengths of these units; of an aircraft, feet a minute."""
        if self.length not in ("in", "ft"):
            return "m/s"
        return "ft/min" if kind == "climb" else "ft/s"

    def flow_text(self, flow_m3_s: float) -> str:
        """A flow per hour in the unit of volumes."""
        return f"{self.value(flow_m3_s * 3600.0, 'volume'):.4g} {self.written('volume')}/h"


def rounded(value: float, digits: int) -> str:
    """A number to so many digits after the point; nothing has no sign."""
    text = f"{value:.{digits}f}"
    return text.removeprefix("-") if float(text) == 0.0 else text


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
        return [f"{h} [{unit if plain else _WRITTEN.get(unit, unit)}]" if unit else h for h, unit in named]

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
