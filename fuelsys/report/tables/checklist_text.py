"""The checklist as plain text to print: a box at the margin, the words beside it, the figure and the source below."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import groupby
from textwrap import fill

from fuelsys.report.tables.checklist import BOX, GUIDANCE, INSPECT, SIGNED, Line, Sheet

WIDTH = 100  # A4 upright, in a type that can still be read at arm's length
_INDENT = " " * 10
_MEASURED = "measured ____________"


def sheets(given: Sequence[Sheet], width: int = WIDTH) -> str:
    """Sheets one below the other, each with its lines for name, date and signature."""
    return "\n".join(line for sheet in given for line in _sheet(sheet, min(max(width, 40), WIDTH)))


def _sheet(sheet: Sheet, width: int) -> Iterator[str]:
    yield from (sheet.title.upper(), "=" * len(sheet.title), "")
    for _, group in groupby(sheet.lines, key=lambda line: line.number):
        lines = list(group)
        yield from _one(lines[0], sheet, width) if len(lines) == 1 else _each(lines, sheet, width)
    yield ""
    if sheet.left_out:
        yield fill(f"Left out, since the design file shows nothing of the kind: {', '.join(sheet.left_out)}.", width)
    yield from (
        fill(GUIDANCE, width),
        "",
        "",
        SIGNED if width >= len(SIGNED) else SIGNED.replace("   ", "\n\n"),
        "",
        "",
    )


def _one(line: Line, sheet: Sheet, width: int) -> Iterator[str]:
    """An item with one box."""
    yield _wrapped(line.item, f"{BOX} {line.number:<6}", width)
    tank = f"{line.tank}: " if line.tank and not sheet.tank else ""
    if line.to_reach:
        yield _wrapped(f"{tank}{line.to_reach}", _INDENT + "> ", width)
    yield _wrapped(f"{_found(line)} | {line.source}", _INDENT, width)
    if sheet.measured:
        yield _INDENT + _MEASURED


def _each(lines: Sequence[Line], sheet: Sheet, width: int) -> Iterator[str]:
    """An item with a box for each tank."""
    yield _wrapped(lines[0].item, f"    {lines[0].number:<6}", width)
    yield _wrapped(lines[0].source, _INDENT, width)
    for line in lines:
        found = "" if line.state == INSPECT else f" | {_found(line)}"
        yield _wrapped(f"{line.tank}: {line.to_reach}{found}", f"      {BOX} ", width)
        if sheet.measured:
            yield _INDENT + _MEASURED


def _found(line: Line) -> str:
    state = line.state.upper() if line.state in ("fail", "caution", "not checked") else line.state
    return f"{state} {line.found_by}".strip()


def _wrapped(text: str, lead: str, width: int) -> str:
    return fill(
        text, width, initial_indent=lead, subsequent_indent=" " * max(len(lead), len(_INDENT)), break_on_hyphens=False
    )
