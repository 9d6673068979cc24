"""A fill test in a design file: read with its sheet, and written into the text: one table more, all else as it was typed."""

from __future__ import annotations

import json
import re
import tomllib
from dataclasses import replace
from pathlib import Path

from fuelsys.errors import FuelsysError, QuestionError
from fuelsys.load import bounds
from fuelsys.load.designs import fillsheet
from fuelsys.load.designs.faults import Fault, Place
from fuelsys.load.formats import files
from fuelsys.model.built.layout import FittedTank
from fuelsys.model.stated.design import Measured

_TANK = re.compile(r"[ \t]*\[\[[ \t]*tank[ \t]*\]\][ \t]*(?:#.*)?\r?\n?")
_OWN = re.compile(r"[ \t]*\[[ \t]*tank[ \t]*\.[ \t]*measured[ \t]*\][ \t]*(?:#.*)?\r?\n?")
_HEAD = re.compile(r"[ \t]*\[")


def with_sheet(number: int, tank: FittedTank, folder: Path, faults: list[Fault]) -> FittedTank:
    """A tank with the sheet of its fill test; a fault more where that is not the one that was looked at."""
    measured = tank.design.measured
    place: Place = ("tank", number, "measured")
    if measured is None:
        return tank
    again = f"Look at it with `fuelsys filltest DESIGN --tank {tank.name} --from SHEET`, then again with --into DESIGN."
    try:
        digest = fillsheet.digest(folder / measured.sheet)
        sheet = fillsheet.read_sheet(folder / measured.sheet, [switch.name for switch in tank.design.switch])
    except FuelsysError as fault:
        faults.append(Fault((*place, "sheet"), f'"{files.label(measured.sheet)}": {fault.found}', fault.mend))
        return tank
    if digest != measured.sha256:
        faults.append(Fault((*place, "sha256"), f"the sheet has changed since {measured.date}", again))
    return replace(tank, sheet=sheet)


def with_test(path: Path, tank: str, told: Measured) -> str:
    """The text of a design file with a tank's fill test, in place of the one that it named before; QuestionError where its
    tanks are not written as [[tank]] tables, so that no place for it can be told."""
    text = files.contents(path, "Give the design file.", bounds.MOST_DESIGN_BYTES).decode("utf-8-sig")
    lines = text.splitlines(keepends=True)
    names = [one.get("name") for one in tomllib.loads(text).get("tank", [])]
    starts = [k for k, line in enumerate(lines) if _TANK.fullmatch(line)]
    if len(starts) != len(names) or tank not in names:
        raise _nowhere(path, tank)
    number = names.index(tank)
    start, end = starts[number], (*starts, len(lines))[number + 1]
    heads = [k for k in range(start + 1, end) if _HEAD.match(lines[k])]
    end = next((k for k in heads if not re.match(r"[ \t]*\[\[?[ \t]*tank[ \t]*\.", lines[k])), end)
    old = next((k for k in heads if k < end and _OWN.fullmatch(lines[k])), None)
    newline = "\r\n" if lines[start].endswith("\r\n") else "\n"
    table = [f"[tank.measured]{newline}"]
    table += [
        f"{key} = {json.dumps(value, ensure_ascii=False)}{newline}" for key, value in told.model_dump().items() if value
    ]
    if old is not None:
        after = next(
            (k for k in range(old + 1, end) if not re.match(r"[ \t]*(sheet|sha256|date|at)[ \t]*=", lines[k])), end
        )
        made = [*lines[:old], *table, *lines[after:]]
    else:
        while end > start and (not lines[end - 1].strip() or lines[end - 1].lstrip().startswith("#")):
            end -= 1
        last = [] if lines[end - 1].endswith("\n") else [newline]
        made = [*lines[:end], *last, newline, *table, *lines[end:]]
    written = "".join(made)
    _check(written, path, names, tank, told)
    return written


def _check(text: str, path: Path, names: list[object], tank: str, told: Measured) -> None:
    """Refuse what does not read back as it was meant."""
    try:
        tanks = tomllib.loads(text).get("tank", [])
    except tomllib.TOMLDecodeError as fault:
        raise _nowhere(path, tank) from fault
    found = tanks[names.index(tank)].get("measured") if [one.get("name") for one in tanks] == names else None
    if found != {key: value for key, value in told.model_dump().items() if value}:
        raise _nowhere(path, tank)


def _nowhere(path: Path, tank: str) -> QuestionError:
    return QuestionError(
        f"there is no [[tank]] of the name {tank} that a table can be put under",
        mend='Write it by hand: [tank.measured] with sheet, sha256, date = "2026-05-30" and at.',
        file=files.label(path),
        field="--into",
    )
