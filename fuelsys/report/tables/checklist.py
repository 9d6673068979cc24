"""The checklist of the published paragraphs: sheets of lines with a box, the figure to reach, and what the check found."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from fuelsys.model.found.findings import Finding, Outcome
from fuelsys.model.found.study import Study, TankStudy
from fuelsys.report.shown import Shown
from fuelsys.report.table import Cell, Column, Table
from fuelsys.report.tables.shared import slug
from fuelsys.rules.coverage.items import Item, Section
from fuelsys.rules.coverage.listed import SECTIONS
from fuelsys.rules.words import said

BOX = "[ ]"
INSPECT = "inspect"
_TOLD = tuple(outcome.word for outcome in (Outcome.FAIL, Outcome.CAUTION, Outcome.NOT_CHECKED))
SIGNED = "Name ____________________   Date ______________   Signature ____________________"
GUIDANCE = (
    "Paragraphs of 14 CFR 23 bind certificated aircraft; for an amateur-built one they are guidance. What the check found is"
    " about the design file (`fuelsys check` has the evidence): only a person who sees the aircraft ticks a box."
)


@dataclass(frozen=True)
class Line:
    """One box: the item's number and words, the tank that it is about ("" for the aircraft), the figure, the check's word."""

    number: str
    tank: str
    item: str
    to_reach: str
    state: str
    found_by: str
    source: str


@dataclass(frozen=True)
class Sheet:
    """What is done and signed at one time; left_out are the items that the design has nothing for, with their kind."""

    key: str
    section: str
    title: str
    tank: str
    lines: tuple[Line, ...]
    left_out: tuple[str, ...]
    measured: bool


def sheets(study: Study, findings: Sequence[Finding], shown: Shown) -> list[Sheet]:
    """All sheets in the order of work: one for each tank's inside, then the others for the whole aircraft."""
    made = []
    for chapter, section in enumerate(SECTIONS, 1):
        for tank in study.tanks if section.by_tank else (None,):
            made.append(_sheet(study, findings, shown, (chapter, section), tank))
    return made


def _sheet(
    study: Study, findings: Sequence[Finding], shown: Shown, part: tuple[int, Section], tank: TankStudy | None
) -> Sheet:
    chapter, section = part
    lines, left_out = [], []
    for k, item in enumerate(section.items, 1):
        number = f"{chapter}.{k}"
        about = (tank,) if tank or item.each is None else study.tanks
        made = [_line(study, findings, shown, (number, item), one) for one in about]
        kept = [line for one, line in zip(about, made, strict=True) if _stays(study, item, one, line)]
        lines += kept
        if not kept and item.only:
            left_out.append(f"{number} ({item.only.words})")
    title = f"Tank {tank.name}: {section.title}" if tank else section.title
    key = f"{tank.name} checklist {section.key}" if tank else f"checklist {section.key}"
    return Sheet(
        slug(key), section.key, title, tank.name if tank else "", tuple(lines), tuple(left_out), section.measured
    )


def _stays(study: Study, item: Item, tank: TankStudy | None, line: Line) -> bool:
    """Whether a line is for the design and the tank; else it stays only where the check says something that no other line tells."""
    if item.only is None or item.only.fits(study, tank):
        return True
    if line.state not in _TOLD:
        return False
    items = [one for section in SECTIONS for one in section.items]
    told = {rule for one in items if one.only is None or one.only.test(study) for rule in one.rules}
    return item.only.test(study) or not told.issuperset(item.rules)


def _line(
    study: Study, findings: Sequence[Finding], shown: Shown, part: tuple[str, Item], tank: TankStudy | None
) -> Line:
    number, item = part
    to_reach = ""
    if item.each and tank:
        to_reach = shown.words(said(item.each(study, tank)))
    elif item.figure:
        to_reach = shown.words(said(item.figure(study)))
    names = [one.name for one in study.tanks]
    found = [one for one in findings if one.rule.name in item.rules and _about(one.where, tank, names)]
    source = "; ".join(str(one) for one in item.sources)
    return Line(
        number, tank.name if tank else "", shown.words(said(item.do)), to_reach, _state(found), _found_by(found), source
    )


def _about(where: str, tank: TankStudy | None, names: Sequence[str]) -> bool:
    """Whether a finding bears on a tank: it names that one, or none at all, which then bears on each."""
    return tank is None or _names(where, tank.name) or not any(_names(where, name) for name in names)


def _names(where: str, tank: str) -> bool:
    """Whether a finding's where names a tank.

    >>> [_names(where, "left") for where in ("left", "left.outlet", "main, left", "right.vent to left overboard", "left switch 5")]
    [True, True, True, False, True]
    """
    return bool(re.search(rf"(?:^|, | and | to | or ){re.escape(tank)}(?:$|\.|, | and | to | or | switch )", where))


def _state(found: Sequence[Finding]) -> str:
    if not found:
        return INSPECT
    worst = min(one.outcome for one in found)
    rests = dict.fromkeys(name for one in found for name in one.rests_on)
    return f"{worst.word}, resting on: {', '.join(rests)}" if worst is Outcome.PASS and rests else worst.word


def _found_by(found: Sequence[Finding]) -> str:
    """The rules that found the worst, and where, then what is less bad and no pass; the rules' names alone where all is well."""
    told: dict[tuple[Outcome, str], list[str]] = {}
    for one in sorted(found, key=lambda one: one.outcome):
        told.setdefault((one.outcome, one.rule.name), []).append(one.where)
    worst = min((outcome for outcome, _ in told), default=Outcome.PASS)
    if worst >= Outcome.PASS:
        return ", ".join(rule for outcome, rule in told if outcome is worst)
    return "; ".join(
        f"{'' if outcome is worst else f'{outcome.word} '}{rule} ({', '.join(filter(None, places)) or 'aircraft'})"
        for (outcome, rule), places in told.items()
        if outcome < Outcome.PASS
    )


def tables(given: Sequence[Sheet], shown: Shown) -> list[Table]:
    """Sheets as tables, a row for each box."""
    return [_table(sheet, shown) for sheet in given]


def _table(sheet: Sheet, shown: Shown) -> Table:
    with_tank = not sheet.tank and any(line.tank for line in sheet.lines)
    columns = [
        Column("done"),
        Column("no."),
        *([Column("tank")] if with_tank else []),
        Column("item"),
        Column("to reach"),
    ]
    columns += [Column("measured")] if sheet.measured else []
    columns += [Column("check"), Column("found by"), Column("source")]
    rows = tuple(tuple(_cells(line, sheet, with_tank)) for line in sheet.lines)
    return Table(sheet.key, sheet.title, tuple(columns), rows, tuple(notes(sheet)), shown)


def _cells(line: Line, sheet: Sheet, with_tank: bool) -> Iterator[Cell]:
    yield from (BOX, line.number)
    if with_tank:
        yield line.tank
    yield from (line.item, line.to_reach)
    if sheet.measured:
        yield ""
    yield from (line.state, line.found_by, line.source)


def notes(sheet: Sheet) -> Iterator[str]:
    """What stands below a sheet: what was left out, whom it binds, and who signs."""
    if sheet.left_out:
        yield f"Left out, since the design file shows nothing of the kind: {', '.join(sheet.left_out)}."
    yield GUIDANCE
    yield SIGNED
