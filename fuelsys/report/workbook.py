"""Tables as a workbook for a spreadsheet: a sheet for each, numbers as numbers in the units shown, and not one formula."""

from __future__ import annotations

import io
from collections.abc import Sequence
from datetime import datetime
from importlib.util import find_spec
from math import isfinite
from typing import Any

from fuelsys.model.words import as_read
from fuelsys.report.table import Table, no_formula

LONGEST_NAME = 31  # letters of a sheet's name, in the open standard's format as spreadsheets read it
MISSING = 'no tables.xlsx: this installation cannot write workbooks; pip install "fuelsys[xlsx]" adds it'
_WIDEST = 60
# What no text may become: everything that is written as text stays text.
_OPTIONS = {"in_memory": True, "strings_to_formulas": False, "strings_to_numbers": False, "strings_to_urls": False}


def installed() -> bool:
    """Is the library that writes workbooks there?"""
    return find_spec("xlsxwriter") is not None


def as_bytes(tables: Sequence[Table], names: Sequence[str], made: datetime) -> bytes:
    """The tables as the bytes of a workbook, a sheet for each under its name (at most 31 letters, each its own).

    Headings stand in the first row, which stays in sight, with the unit; the title and the notes below. Numbers keep all digits
    and show those that tables print. Text that a spreadsheet would take for a formula is marked as text.
    """
    import xlsxwriter  # noqa: PLC0415  an optional extra

    kept = io.BytesIO()
    with xlsxwriter.Workbook(kept, _OPTIONS) as book:
        book.set_properties({"created": made})
        forms = _Forms(book)
        for table, name in zip(tables, names, strict=True):
            _sheet(book.add_worksheet(name), table, forms)
    return kept.getvalue()


class _Forms:
    """How cells look, each made once."""

    def __init__(self, book: Any) -> None:
        self._book = book
        self._digits: dict[int, Any] = {}
        self.bold = book.add_format({"bold": True, "text_wrap": True, "valign": "top"})
        self.text = book.add_format({"num_format": "@", "quote_prefix": True})

    def number(self, digits: int) -> Any:
        """Numbers with so many digits after the point."""
        if digits not in self._digits:
            self._digits[digits] = self._book.add_format({"num_format": f"0.{'0' * digits}" if digits else "0"})
        return self._digits[digits]


def _sheet(sheet: Any, table: Table, forms: _Forms) -> None:
    shown = table.cells()
    for k, (column, heading) in enumerate(zip(table.columns, table.headings(), strict=True)):
        sheet.write_string(0, k, heading, forms.bold)
        longest = max([len(heading) // 2, *(len(row[k]) for row in shown)], default=0)
        sheet.set_column(k, k, min(_WIDEST, longest + 3))
        form = forms.number(table.shown.digits(table.shown.unit(column.kind)))
        for number, row in enumerate(table.rows, 1):
            cell = table.value(column, row[k])
            if isinstance(cell, float | int) and isfinite(cell):
                sheet.write_number(number, k, cell, form)
            elif cell is not None:
                said = str(cell)
                sheet.write_string(number, k, said, *([forms.text] if no_formula(said) != said else []))
    sheet.freeze_panes(1, 0)
    for number, note in enumerate((table.title, *map(as_read, table.notes)), len(table.rows) + 2):
        sheet.write_string(number, 0, note, *([forms.text] if no_formula(note) != note else []))
