"""The sheet of a fill test: a CSV file as a person filled it in becomes entries, or one line says where it cannot be read."""

from __future__ import annotations

import csv
import hashlib
import io
import re
from collections.abc import Sequence
from pathlib import Path

from fuelsys import units
from fuelsys.errors import MeshError, SheetError, UnitError, UnknownUnitError, meant
from fuelsys.load import bounds
from fuelsys.load.formats import files
from fuelsys.model.stated.fillsheet import Entry, MadeFor, Sheet, Typed

ALSO = ("stick 2", "stick 3")  # the stick put in at other places, where the design states them
SIGNALS = ("signal", "signal 2", "signal 3")  # what gauges show, in the design's order
COLUMNS = (
    "step",
    "poured",
    "drained",
    "temperature",
    "in tank",
    "stick",
    *ALSO,
    *SIGNALS,
    "lamps lit",
    "attitude",
    "remark",
)
_KINDS = {
    "poured": ("volume", "mass"),
    "drained": ("volume", "mass"),
    "temperature": ("temperature",),
    "in tank": ("temperature",),
    **dict.fromkeys(("stick", *ALSO), ("length",)),
}
_NEEDED = ("poured",)
_START = "`fuelsys filltest DESIGN --tank NAME --sheet FILE` writes one to fill in."
_HEADING = re.compile(r"\s*([^\[]*?)\s*(?:\[([^\]]*)\])?\s*")
DRY, NONE_LIT = "dry", "none"
# Bounds of sense, to catch a wrong unit or a slip of the pen; common practice, no source.
_MOST = {"volume": 10.0, "mass": 10_000.0, "length": 100.0}
_TEMPERATURES_K = (223.15, 423.15)


def digest(path: Path) -> str:
    """SHA-256 of a sheet's bytes, as a design keeps it."""
    return hashlib.sha256(files.contents(path, _START, bounds.MOST_SHEET_BYTES)).hexdigest()


def read_sheet(path: Path, switches: Sequence[str]) -> Sheet:
    """Read a sheet that was filled in, of a tank with some switches; SheetError with its first fault."""
    file = files.label(path.name or path)
    try:
        return Sheet(file, *_entries(_rows(path), switches))
    except (SheetError, MeshError) as fault:
        raise SheetError(fault.found, mend=fault.mend, file=file, field=fault.field) from fault


def _rows(path: Path) -> list[tuple[int, list[str]]]:
    """The lines that are not empty, as cells under their numbers."""
    data = files.contents(path, f"Give a fill test's sheet. {_START}", bounds.MOST_SHEET_BYTES)
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError as fault:
        raise SheetError("this is not UTF-8 text", mend="Save the sheet as CSV in UTF-8.") from fault
    if not text.strip():
        raise SheetError("the file is empty", mend=_START)
    first = text.lstrip().splitlines()[0]
    for mark, called in ((";", "semicolons"), ("\t", "tabs")):
        if mark in first and "," not in first:
            raise SheetError(
                f"its columns are parted by {called}",
                mend="Save the sheet as CSV with commas between columns and points before decimals.",
                field="line 1",
            )
    reader, rows = csv.reader(io.StringIO(text, newline=""), strict=True), []
    try:
        for cells in reader:
            if reader.line_num > bounds.MOST_SHEET_LINES:
                found = f"it has more than {bounds.MOST_SHEET_LINES} lines"
                raise SheetError(found, mend="A fill test has a few dozen: give its sheet alone.")
            if any(cell.strip() for cell in cells):
                rows.append((reader.line_num, [cell.strip() for cell in cells]))
    except csv.Error as fault:
        raise SheetError(
            f"this is not CSV ({fault})", mend="Save the sheet as CSV again.", field=f"line {reader.line_num}"
        ) from fault
    return rows


def _entries(
    rows: Sequence[tuple[int, list[str]]], switches: Sequence[str]
) -> tuple[tuple[Entry, ...], MadeFor | None]:
    (line, heads), *rest = rows
    named = len(heads) - next((k for k, head in enumerate(reversed(heads)) if head), 0)
    columns = _columns(heads[:named], line)
    entries, made_for = [], None
    for line, cells in rest:
        if len(cells) > len(heads) or any(cells[named:]):  # as a decimal comma makes it
            found = f"it has {len(cells)} cells, and the heading {named}"
            mend = "Write decimals after a point; a text with a comma stands in quotes."
            raise SheetError(found, mend=mend, field=f"line {line}")
        said = {name: (cell, unit) for (name, unit), cell in zip(columns, cells, strict=False) if cell}
        if "remark" in said:
            own, rest_of_it = MadeFor.read(said["remark"][0])
            made_for = made_for or own
            said["remark"] = rest_of_it, ""
        if any(cell for name, (cell, _) in said.items() if name != "step"):
            entries.append(_entry(line, said, switches))
    if not any(entry.amount for entry in entries):
        raise SheetError("no line says what was poured", mend="Fill in the column poured.", field="poured")
    return tuple(entries), made_for


def _columns(heads: Sequence[str], line: int) -> list[tuple[str, str]]:
    """The columns' names with the units that stand in brackets."""
    columns: list[tuple[str, str]] = []
    field = f"line {line}"
    for head in heads:
        match = _HEADING.fullmatch(head)
        name = " ".join((match[1] if match else head).lower().split())
        if name not in COLUMNS:
            known = f"{meant(name, COLUMNS)}The columns are {', '.join(COLUMNS)}."
            raise SheetError(f"there is no column {units.shown(head)}", mend=known, field=field)
        if name in (known for known, _ in columns):
            raise SheetError(f"the column {name} is there twice", mend="Take one out.", field=field)
        columns.append((name, (match[2] or "").strip() if match else ""))
    for name in _NEEDED:
        if name not in (known for known, _ in columns):
            raise SheetError(f"there is no column {name}", mend=_START, field=field)
    return columns


def _entry(line: int, said: dict[str, tuple[str, str]], switches: Sequence[str]) -> Entry:
    def typed(name: str) -> Typed | None:
        return _typed(*said[name], name, line) if name in said else None

    poured, drained = typed("poured"), typed("drained")
    if poured and drained and poured.si and drained.si:
        raise SheetError("both poured and drained are filled in", mend="Give them a line each.", field=f"line {line}")
    takes = poured is None or (drained is not None and drained.si > 0.0)
    dry = said.get("stick", ("", ""))[0].lower() == DRY
    also = tuple(None if said.get(name, ("", ""))[0].lower() == DRY else typed(name) for name in ALSO)
    temperature, in_tank = typed("temperature"), typed("in tank")
    return Entry(
        line,
        drained if takes else poured,
        drained=takes and drained is not None,
        temperature_k=temperature.si if temperature else None,
        tank_k=in_tank.si if in_tank else None,
        stick=None if dry else typed("stick"),
        dry=dry,
        lit=_lit(said["lamps lit"][0], switches, line) if "lamps lit" in said else None,
        remark=said.get("remark", ("", ""))[0],
        also=also,
        attitude=said.get("attitude", ("", ""))[0],
        signals=tuple(_signal(said[name][0], name, line) if name in said else None for name in SIGNALS)
        if said.keys() & set(SIGNALS)
        else (),
        step=said.get("step", ("", ""))[0],
    )


def _signal(text: str, name: str, line: int) -> float:
    """What a gauge shows: a number in whatever it counts."""
    if not re.fullmatch(r"[+-]?\d{1,9}(\.\d{0,9})?", text):
        mend = "Give the number that the gauge shows, with decimals after a point and without a unit."
        raise SheetError(f"found {units.shown(text)}", mend=mend, field=f"line {line}, {name}")
    return float(text)


def _typed(text: str, unit: str, name: str, line: int) -> Typed:
    """A cell as a quantity of the column's kind, its unit in the cell or in the heading."""
    field = f"line {line}, {name}"
    whole = f"{text} {unit}" if unit and re.fullmatch(r"[+-]?[\d.,]+(?:[eE][+-]?\d+)?", text) else text
    fault: UnitError | None = None
    for kind in _KINDS[name]:
        try:
            value_si, (_, known) = units.parse(whole, kind), units.split(whole, kind)
        except UnitError as one:
            fault = fault or one
            continue
        _check(value_si, kind, text, name, line)
        number = re.match(r"[+-]?[\d.]+", whole.replace("\N{MINUS SIGN}", "-"))
        return Typed(number[0] if number else text, known, kind, value_si)
    assert fault is not None
    raise SheetError(fault.found, mend=_wanted(fault, name), field=field)


def _wanted(fault: UnitError, name: str) -> str:
    """The mend of a quantity that cannot be read, with what else the column takes."""
    masses = f", or of mass: {', '.join(units.UNITS['mass'])}." if name in ("poured", "drained") else ""
    if masses and isinstance(fault, UnknownUnitError):
        return fault.mend.removesuffix(".") + masses
    extra = f' The heading may say the unit: "{name} [mm]".' if name in ("stick", *ALSO) else ""
    dry = f' A dry stick is "{DRY}".' if name in ("stick", *ALSO) else ""
    return f"{fault.mend.replace(' in quotes', '')}{extra}{dry}"


def _check(value_si: float, kind: str, text: str, name: str, line: int) -> None:
    field = f"line {line}, {name}"
    if kind == "temperature":
        if not _TEMPERATURES_K[0] <= value_si <= _TEMPERATURES_K[1]:
            raise SheetError(f"found {units.shown(text)}", mend="Give a temperature from -50 to 150 degC.", field=field)
        return
    if value_si < 0.0:
        mend = "What was drained goes into the column drained." if name == "poured" else "Give it without a minus sign."
        raise SheetError(f"found {units.shown(text)}, which is negative", mend=mend, field=field)
    if value_si > _MOST[kind]:
        raise SheetError(f"found {units.shown(text)}, which is too large", mend="Is the unit right?", field=field)


def _lit(text: str, switches: Sequence[str], line: int) -> frozenset[str]:
    """The names of the lamps that are lit, parted by semicolons; "none" where none is."""
    if text.lower() == NONE_LIT:
        return frozenset()
    field = f"line {line}, lamps lit"
    if not switches:
        raise SheetError(f"found {units.shown(text)}, but the tank has no switch", mend="Leave it empty.", field=field)
    names = {name.lower(): name for name in switches}
    found = set()
    for part in filter(None, (part.strip() for part in text.split(";"))):
        if part.lower() not in names:
            mend = f'{meant(part, switches)}Name {", ".join(switches)}, with semicolons between, or "{NONE_LIT}".'
            raise SheetError(f"there is no switch {units.shown(part)}", mend=mend, field=field)
        found.add(names[part.lower()])
    return frozenset(found)
