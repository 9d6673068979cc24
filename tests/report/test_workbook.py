"""The workbook of a review, read by a library of another hand: its figures, its names, and nothing that a spreadsheet would run."""

from __future__ import annotations

import csv
import io
import math
from datetime import datetime

import pytest

from fuelsys.report import workbook
from fuelsys.report.page.contents import file_names
from fuelsys.report.shown import Shown
from fuelsys.report.table import Column, Table

openpyxl = pytest.importorskip("openpyxl", reason="reads the workbook that is written")
pytest.importorskip("xlsxwriter", reason="writes the workbook")
MADE = datetime(2026, 1, 2, 3, 4, 5)
RISKY = ("=1+1", "+2", "-3 deg", "@sum", "\t=x", "http://x", "007", "1e3")
COLUMNS = (Column("what"), Column("held", "volume"), Column("level", "length"), Column("minutes", "time"))
ROWS: tuple[tuple[str | float | None, ...], ...] = (
    *((text, 0.0123456789012, 0.1, None) for text in RISKY),
    ("never", "never trips", math.inf, 90.0),
)
TABLE = Table("left tank: [levels]/*?" * 3, "=title", COLUMNS, ROWS, ("+note", "plain"), Shown("US gal", "in"))


def read(*tables: Table) -> object:
    names = file_names([table.key for table in tables], workbook.LONGEST_NAME)
    return openpyxl.load_workbook(io.BytesIO(workbook.as_bytes(tables, names, MADE)))


def test_it_holds_what_the_csv_holds_and_no_formula() -> None:
    sheet = read(TABLE).worksheets[0]  # type: ignore[attr-defined]
    assert all(cell.data_type in ("n", "s") and cell.hyperlink is None for row in sheet.iter_rows() for cell in row)
    told = list(csv.reader(io.StringIO(TABLE.csv())))
    assert [cell.value for cell in sheet[1]] == told[0]
    assert told[0] == ["what", "held [US gal]", "level [in]", "minutes [min]"]
    for line, row in zip(sheet.iter_rows(min_row=2, max_row=len(ROWS) + 1), told[1:], strict=True):
        for cell, text in zip(line, row, strict=True):
            if cell.data_type == "n" and cell.value is not None:
                assert cell.value == pytest.approx(float(text), rel=1e-9)
            else:
                assert str(cell.value or "").strip() == text.removeprefix("'").strip()
    # 231 cubic inches of 2.54 cm: NIST Handbook 44, appendix C
    assert sheet["B2"].value == pytest.approx(0.0123456789012 / (231 * 0.0254**3), rel=1e-12)
    assert sheet["B2"].number_format == "0.000"
    assert [sheet[f"A{len(ROWS) + 3 + k}"].value for k in range(3)] == ["=title", "+note", "plain"]
    assert sheet["A2"].quotePrefix
    assert sheet.freeze_panes == "A2"


def test_names_of_sheets_are_short_and_each_its_own() -> None:
    keys = ["x" * 40, "X" * 40, "x" * 40 + "y", "a[b]:c*d?e/f\\g", "'quoted'", ""]
    tables = [Table(key, "t", (Column("a"),), (("b",),)) for key in keys]
    names = read(*tables).sheetnames  # type: ignore[attr-defined]
    assert len({name.casefold() for name in names}) == len(keys)
    assert all(0 < len(name) <= 31 and not set(name) & set("[]:*?/\\'") for name in names)


def test_the_same_tables_give_the_same_bytes() -> None:
    assert workbook.as_bytes([TABLE], ["a"], MADE) == workbook.as_bytes([TABLE], ["a"], MADE)
