"""The printable page of a review: one HTML file with everything in it, made for A4 and readable on a screen."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from importlib import resources

from jinja2 import Environment, StrictUndefined, Template
from markupsafe import Markup

from fuelsys.model.findings import Finding, Outcome, Rule
from fuelsys.model.layout import FittedTank
from fuelsys.model.study import Study, TankStudy
from fuelsys.report.ink import minus
from fuelsys.report.shown import Shown, Table
from fuelsys.report.tables import STEADY, cavity_notes
from fuelsys.report.text import CAUTIONS

FACETS = "Meshes are made of flat facets, which may hide volume of curved walls: an estimate stands with the meshes."
UPPER = f"Unusable fuel is computed as {STEADY[0].lower()}{STEADY[1:]}"
SCALE = (
    "Drawings marked with a scale hold it only when the page is printed at 100 %, without fitting to the paper."
    " Each tank's drill sheet is a page of its own in the folder pictures."
)

# Group headings of the checklist: what the builder does about each outcome.
_TASKS = {
    Outcome.FAIL: ("To mend", "The design does not meet these. Change it and run the review again."),
    Outcome.CAUTION: ("To look at", "Not against a requirement, but a practitioner would stop here."),
    Outcome.NOT_CHECKED: ("To complete", "Not checked: the design does not say what is needed. This is no pass."),
    Outcome.PASS: (
        "Passed",
        "What was computed meets these; tick each when seen on the aircraft. `fuelsys rules` has their sources.",
    ),
    Outcome.NOT_APPLICABLE: ("Does not apply", "The design has nothing of the kind."),
}
_WORST_SHOWN = 12
_NARROW = 3  # columns
_MOST_KEPT = 16  # rows of a table that stays on one sheet; a longer one may break over two, its heading repeated


@dataclass(frozen=True)
class Mesh:
    """One tank's mesh as the title block lists it."""

    tank: str
    file: str
    axes: str
    triangles: str
    volume: str
    hidden: str
    notes: tuple[str, ...]


@dataclass(frozen=True)
class Group:
    """The findings of one outcome, each with its number in the checklist."""

    outcome: Outcome
    title: str
    note: str
    findings: tuple[tuple[int, Finding], ...]


@dataclass(frozen=True)
class Chapter:
    """One tank, or the whole aircraft: its main figures (heading, value), its drawings and its tables."""

    name: str
    figures: tuple[tuple[str, str], ...]
    opening: tuple[tuple[str, Markup], ...]
    tables: tuple[tuple[Table, ...], ...]
    drawings: tuple[tuple[str, Markup], ...]


def page(
    study: Study,
    findings: Sequence[Finding],
    tables: Mapping[str, Sequence[Table]],
    drawings: Mapping[str, Mapping[str, str]],
    made: datetime,
    version: str,
    shown: Shown,
) -> str:
    """A whole review as one HTML page without scripts and without anything from outside.

    tables and drawings (title -> SVG text) are grouped by tank; the group "" is the whole aircraft, and its first table
    is the summary's. The table of findings is not repeated: the checklist holds them. findings come worst first.
    """
    whole = [table for table in tables.get("", ()) if table.key != "findings"]
    design = study.layout.design
    chapters = [chapter(tank, tables.get(tank.name, ()), drawings.get(tank.name, {}), shown) for tank in study.tanks]
    groups = checklist(findings)
    return _template().render(
        css=Markup(_resource("page.css")),
        design=design,
        file=study.layout.file,
        flow=f"{shown.flow_text(design.reserve_flow_m3_s)} ({design.fuel.reserve_phase})",
        density=shown.density_text(design.fuel.density_kg_m3),
        envelope=[(attitude, _tilt(attitude.text, attitude.name)) for attitude in design.envelope],
        meshes=[_mesh(tank, shown) for tank in study.layout.tanks],
        cautions=[*CAUTIONS, UPPER, FACETS, SCALE],
        made=made,
        version=version,
        summary=whole[:1],
        aircraft=Chapter("", (), (), side_by_side(whole[1:]), _inlined(drawings.get("", {}))),
        chapters=chapters,
        groups=groups,
        worst=[pair for group in groups if group.outcome <= Outcome.CAUTION for pair in group.findings],
        most=_WORST_SHOWN,
        most_kept=_MOST_KEPT,
        outcomes=list(Outcome),
        count={outcome: sum(finding.outcome is outcome for finding in findings) for outcome in Outcome},
        minus=minus,
        said=lambda words: minus(shown.words(words)),
        columns=lambda table: list(zip(table.columns, table.headings(), strict=True)),
    )


def chapter(tank: TankStudy, tables: Sequence[Table], drawings: Mapping[str, str], shown: Shown) -> Chapter:
    """One tank's chapter: its arrangement first, the other drawings behind its tables."""
    inlined = _inlined(drawings)
    return Chapter(tank.name, main_figures(tank, shown), inlined[:1], side_by_side(tables), inlined[1:])


def side_by_side(tables: Sequence[Table]) -> tuple[tuple[Table, ...], ...]:
    """Rows of tables: two neighbours of few columns share one, each other table has its own."""
    rows: list[tuple[Table, ...]] = []
    for table in tables:
        narrow = len(table.columns) <= _NARROW
        if narrow and rows and len(rows[-1]) == 1 and len(rows[-1][0].columns) <= _NARROW:
            rows[-1] = (*rows[-1], table)
        else:
            rows.append((table,))
    return tuple(rows)


def main_figures(tank: TankStudy, shown: Shown) -> tuple[tuple[str, str], ...]:
    """The volumes that a tank's chapter opens with; "not computed" where the design does not say what is needed."""
    held = tank.capacity
    unusable = None if held.unusable is None else held.unusable.volume_m3
    volumes = {
        "gross": held.gross_m3,
        "fillable": None if held.filled is None else held.filled.volume_m3,
        "unusable": unusable,
        "usable": held.usable_m3,
    }
    return tuple((name, _volume(volume, shown)) for name, volume in volumes.items())


def checklist(findings: Sequence[Finding]) -> list[Group]:
    """Findings by outcome, numbered through in the order given."""
    numbered = list(enumerate(findings, 1))
    groups = []
    for outcome, (title, note) in _TASKS.items():
        of_outcome = tuple((number, finding) for number, finding in numbered if finding.outcome is outcome)
        if of_outcome:
            groups.append(Group(outcome, title, note, of_outcome))
    return groups


def _mesh(tank: FittedTank, shown: Shown) -> Mesh:
    return Mesh(
        tank=tank.name,
        file=tank.design.mesh,
        axes=tank.design.axes,
        triangles=f"{len(tank.cavity.faces):,}".replace(",", "\u202f"),
        volume=_volume(tank.cavity.gross_m3, shown),
        hidden=_hidden(tank.cavity.facets_m3, shown),
        notes=tuple(cavity_notes(tank.cavity, shown)),
    )


def _hidden(facets_m3: tuple[float, float], shown: Shown) -> str:
    """What facets may hide, more and less; what would read as zeros is said in words."""
    texts = [shown.text(volume_m3, "volume") for volume_m3 in facets_m3]
    least = [text for text in texts if text.startswith("under ")]
    told = [f"{sign}{text}" for sign, text in zip("+−", texts, strict=True) if not text.startswith(("under ", "0 "))]
    return ", ".join(told) or (least[0] if least else "nothing")


def _volume(volume_m3: float | None, shown: Shown) -> str:
    """A volume with its unit, as the tables print it."""
    if volume_m3 is None:
        return "not computed"
    return f"{shown.figure(volume_m3, 'volume')} {shown.written('volume')}"


def _tilt(text: str, name: str) -> str:
    """An attitude's angles and accelerations, without its name."""
    return minus(text.removeprefix(name).strip(" ()"))


def _inlined(drawings: Mapping[str, str]) -> tuple[tuple[str, Markup], ...]:
    """Drawings as they stand in HTML, which knows SVG without its namespace."""
    return tuple((title, Markup(re.sub(r' xmlns="[^"]*"', "", svg))) for title, svg in drawings.items())


def _resource(name: str) -> str:
    return resources.files("fuelsys.report").joinpath(name).read_text(encoding="utf-8")


def _template() -> Template:
    environment = Environment(autoescape=True, undefined=StrictUndefined, trim_blocks=True, lstrip_blocks=True)
    environment.filters.update(css_text=_css_text, by_rule=_by_rule)
    return environment.from_string(_resource("page.html.jinja"))


def _by_rule(findings: Sequence[tuple[int, Finding]]) -> list[tuple[Rule, list[tuple[int, Finding]]]]:
    """Numbered findings under their rules, in the order of each rule's first."""
    grouped: dict[str, tuple[Rule, list[tuple[int, Finding]]]] = {}
    for number, finding in findings:
        grouped.setdefault(finding.rule.name, (finding.rule, []))[1].append((number, finding))
    return list(grouped.values())


def _css_text(text: str) -> Markup:
    """Text within a quoted string of a style sheet: everything but letters, digits and spaces as code points.

    >>> print(_css_text('a "b" c').replace(chr(92), "!"))
    a !22 b!22  c
    """
    return Markup("".join(c if c.isalnum() or c == " " else f"\\{ord(c):x} " for c in text))
