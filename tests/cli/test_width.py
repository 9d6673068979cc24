"""Answers in terminals of any width: nothing is wider, no number is broken or lost, and what was left out is named."""

from __future__ import annotations

import fcntl
import os
import pty
import struct
import sys
import termios
from collections.abc import Sequence
from itertools import chain

import pytest
from click.testing import CliRunner
from commands import DEMO, MESHES, demo_study

from fuelsys import review
from fuelsys.report import fitting, text
from fuelsys.report.page import contents
from fuelsys.report.shown import Shown
from fuelsys.report.table import Column, Table
from fuelsys_cli import options, streams
from fuelsys_cli.main import COMMANDS, group

WIDTHS = (20, 60, 80, 100, 140)
IN_SENTENCES = {"findings", "closing", "tests-to-make"}  # which no command prints as tables
HEADER = ["--tank", "header", "--workers", "1"]
ASKED = {
    "place": [str(DEMO), *HEADER, "--reserve", "20 min", "--x", "100 mm", "--y", "80 mm"],
    "tolerance": [str(DEMO), *HEADER, "--set-off", "2 mm", "--samples", "2"],
    "map": [str(DEMO), *HEADER],
    "fly": [str(DEMO)],
    "mesh": [str(MESHES / "left.stl"), "--unit", "mm"],
}


@pytest.fixture
def kept(monkeypatch: pytest.MonkeyPatch) -> list[Table]:
    """The tables that commands would print."""
    given: list[Table] = []

    def show(tables: Sequence[Table], form: str, *, cautions: bool = True) -> None:
        given.extend(tables)

    monkeypatch.setattr(options, "show", show)
    return given


def held(table: Table, width: int) -> None:
    """A table as it is printed: inside the width, each number of its columns whole, each column there or named."""
    out = text.tables([table], width=width)
    assert max(map(len, out.splitlines())) <= width, (table.key, width)
    found = fitting.fitted(table, width)
    shown = fitting.printed(table) if found is None else found.columns
    words = out.split()
    for one in shown:
        if not one.is_text:
            assert all(part in words for cell in one.cells for part in cell.split()), (table.key, one.heading, width)
    if found and found.left_out:
        assert " ".join(fitting.left_out(found.left_out).split()) in " ".join(words)
    assert len(shown) + len(found.left_out if found else ()) == len(fitting.printed(table))


def test_the_tables_of_a_review_fit_every_width() -> None:
    study = demo_study()
    grouped = contents.review_tables(study, review.findings(study), Shown())
    for table in chain.from_iterable(grouped.values()):
        if len(table.rows) < 50:
            held(table, 60)
            held(table, 80)
        if table.key not in IN_SENTENCES:
            assert fitting.fitted(table, 60), table.key
            assert not getattr(fitting.fitted(table, 120), "left_out", True), table.key


@pytest.mark.parametrize("name", list(ASKED))
def test_tables_fit_every_width(name: str, kept: list[Table]) -> None:
    assert CliRunner().invoke(group, [name, *ASKED[name]]).exit_code in (0, 3)
    assert kept
    for table in kept:
        for width in WIDTHS:
            held(table, width)
        assert fitting.fitted(table, 60), table.key
        whole = fitting.fitted(table, 120)
        assert whole is not None
        assert not whole.left_out, table.key


def test_columns_of_the_highest_rank_go_first_all_of_one_rank_together() -> None:
    columns = (Column("a" * 8), Column("b" * 8, rank=1), Column("c" * 8, rank=2), Column("d" * 8, rank=2))
    table = Table("t", "t", columns, (("1", "2", "3", "4"),))
    out = {width: fitting.fitted(table, width) for width in (40, 39, 20, 19, 10, 9)}
    assert [len(found.left_out) if found else None for found in out.values()] == [0, 2, 2, 3, 3, None]
    assert "dddddddd: 4" in "\n".join(fitting.one_below_the_other(table, 20))


@pytest.mark.parametrize("width", WIDTHS)
def test_words_fit_too(width: int, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("COLUMNS", str(width))
    for line in CliRunner().invoke(group, ["rules"]).output.splitlines():
        assert len(line) <= max(width, len(line.strip().split()[0]) + 2 if line.strip() else 0), line
    assert max(map(len, text.cautions(width).splitlines())) <= width


@pytest.mark.parametrize("name", list(COMMANDS))
def test_help_fits_sixty_columns(name: str) -> None:
    out = CliRunner().invoke(group, [name, "--help"], terminal_width=59).output
    assert max(map(len, out.splitlines())) <= 60


def test_a_terminal_is_asked_itself(monkeypatch: pytest.MonkeyPatch) -> None:
    ours, theirs = pty.openpty()
    fcntl.ioctl(theirs, termios.TIOCSWINSZ, struct.pack("HHHH", 24, 73, 0, 0))
    kept = os.dup(1)
    monkeypatch.delenv("COLUMNS", raising=False)
    try:
        os.dup2(theirs, 1)
        assert streams.columns() == 73
    finally:
        os.dup2(kept, 1)
        for end in (ours, theirs, kept):
            os.close(end)
    monkeypatch.setenv("COLUMNS", "61")
    assert streams.columns() == 61


def test_no_colour_is_obeyed(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(sys.stdout, "isatty", lambda: True)
    monkeypatch.delenv("NO_COLOR", raising=False)
    assert streams.coloured()
    monkeypatch.setenv("NO_COLOR", "1")
    assert not streams.coloured()
