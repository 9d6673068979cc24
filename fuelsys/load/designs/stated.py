"""A design file as it stands, before its meshes: its tables and the design that they state, or every fault of its fields at once."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Sequence
from pathlib import Path
from typing import Any

from fuelsys import units
from fuelsys.errors import DesignError, FuelsysError, MeshError, QuestionError, meant
from fuelsys.load import bounds
from fuelsys.load.designs import characters, crosscheck, mirror
from fuelsys.load.designs.faults import design_error, read_fields
from fuelsys.load.formats import files
from fuelsys.model.stated.design import Design

_START = "`fuelsys new MESH` writes a design file to start from."
# What a design file's text is made of, as far as dots are concerned: texts of many lines, comments, and keys, whose parts may
# stand in quotes as texts do. Each alternative takes all it begins with, closed or not: one pass, whatever is written.
_PART = r"""(?:[\w-]++|"(?:[^"\\\n]|\\.)*+"?|'[^'\n]*+'?)"""
_NEXT = rf"[ \t]*+\.[ \t]*+{_PART}"
_PIECES = re.compile(
    r'''"""(?:[^\\]|\\.)*?(?:"""|\Z)|\'{3}.*?(?:\'{3}|\Z)|#[^\n]*+|'''
    rf"(?P<long>{_PART}(?:{_NEXT}){{{bounds.MOST_KEY_PARTS}}})|{_PART}(?:{_NEXT})*+",
    re.ASCII | re.DOTALL,
)
_LINE = re.compile(r"(.*) \(at (line \d+, column \d+|end of document)\)", re.DOTALL)


def read_design(path: Path) -> tuple[Design, dict[str, Any], str]:
    """What a design file states, its tables and its name for messages; DesignError with all faults of its fields."""
    file = files.label(path.name or path)
    tables, faults = mirror.expanded(_tables(path, file))
    if faults:
        raise design_error(faults, tables, file)
    design, faults = read_fields(tables)
    faults += characters.faults(tables)
    if design is None or faults:
        raise design_error(faults, tables, file)
    faults += crosscheck.amounts(design)
    if faults:
        raise design_error(faults, tables, file)
    return design, tables, file


def check_named(tanks: Sequence[str], only: str | None, file: str) -> None:
    """QuestionError where a tank is asked for that is none of a design's."""
    if only is None or only in tanks:
        return
    mend = f"{meant(only, tanks)}Name one of {', '.join(tanks)}."
    raise QuestionError(f'there is no tank "{only}"', mend=mend, file=file, field="tank")


def _tables(path: Path, file: str) -> dict[str, Any]:
    try:
        _check_no_mesh(path, file)
        data = files.contents(path, f"Give a design file. {_START}", bounds.MOST_DESIGN_BYTES)
        text = data.decode("utf-8-sig")
        if not text.strip():
            raise MeshError("the file is empty", mend=_START, file=file)
        _check_keys(text, file)
        tables = tomllib.loads(text)
        _check_amount(tables, file)
        return tables
    except MeshError as fault:
        raise DesignError([FuelsysError(fault.found, mend=fault.mend, file=file)]) from fault
    except UnicodeDecodeError as fault:
        found, mend = "this is not UTF-8 text", "Save the design file as UTF-8 text."
        raise DesignError([FuelsysError(found, mend=mend, file=file)]) from fault
    except (ValueError, RecursionError) as fault:  # tomllib's own error is a ValueError
        raise DesignError([_not_toml(fault, file)]) from fault


def _check_no_mesh(path: Path, file: str) -> None:
    """Refuse a mesh in a design file's place, by its ending."""
    if path.suffix.lower() in files.READERS and path.is_file():
        found = f"this is a mesh ({files.format_of(path)}), where a design file is wanted"
        mend = f"`fuelsys mesh {file}` looks at the mesh; `fuelsys new {file}` begins a design file with it."
        raise MeshError(found, mend=mend, file=file)


def _check_keys(text: str, file: str) -> None:
    """Refuse a dotted key of parts without end, whose reading takes the square of them."""
    long = next((piece for piece in _PIECES.finditer(text) if piece["long"]), None)
    if long:
        line = f"line {text.count(chr(10), 0, long.start()) + 1}"
        found = f"a key has more than {bounds.MOST_KEY_PARTS} parts, {units.shown(long['long'])}"
        mend = "No table of a design file is so deep: take it out."
        raise DesignError([FuelsysError(found, mend=mend, file=file, field=line)])


def _check_amount(tables: dict[str, Any], file: str) -> None:
    """Refuse values without end before each of them is judged."""
    amount, within = 0, list[Any]([tables])
    while within and amount <= bounds.MOST_VALUES:
        value = within.pop()
        amount += bounds.TABLE_VALUES if isinstance(value, dict) else 1
        if isinstance(value, dict | list):
            within += value.values() if isinstance(value, dict) else value
    if amount > bounds.MOST_VALUES:
        found = f"it states more than {bounds.MOST_VALUES:,} values"
        mend = "No fuel system has so many: take out what stands in it again and again."
        raise DesignError([FuelsysError(found, mend=mend, file=file)])


def _not_toml(fault: Exception, file: str) -> FuelsysError:
    said = _LINE.fullmatch(str(fault))
    if said is None:
        return FuelsysError("this is not TOML: a number or a list is beyond reason", mend="Mend it.", file=file)
    reason, where = said[1].rstrip("."), said[2].replace("end of document", "the end of the file")
    mend = "Mend that place; texts, and numbers with a unit, stand in quotes."
    return FuelsysError(f"this is not TOML ({reason})", mend=mend, file=file, field=where)
