"""Tables, findings and the manual of rules as text for a terminal."""

from __future__ import annotations

import io
import shutil
from collections.abc import Sequence
from textwrap import fill, indent

from rich.box import SIMPLE_HEAD
from rich.console import Console
from rich.table import Table as RichTable
from rich.text import Text

from fuelsys.model.findings import Finding, Outcome, Rule
from fuelsys.report.shown import Shown, Table

_STYLE = {
    Outcome.FAIL: "bold red",
    Outcome.CAUTION: "yellow",
    Outcome.NOT_CHECKED: "magenta",
    Outcome.PASS: "green",
    Outcome.NOT_APPLICABLE: "dim",
}
CAUTIONS = (
    "Computed quantities are verified by measuring: drain, fill and flow tests on the finished aircraft.",
    "Local rules and licensed inspection decide. For an amateur-built aircraft the certification rules are guidance.",
    "Not modelled: slosh, vortices at the outlet, foam, structural deflection, fuel that comes back from pockets.",
)


def _console(colour: bool) -> Console:
    width = shutil.get_terminal_size((120, 24)).columns
    return Console(
        file=io.StringIO(),
        width=max(100, width),
        force_terminal=colour,
        no_color=not colour,
        highlight=False,
        emoji=False,
        markup=False,
    )


def _printed(console: Console) -> str:
    assert isinstance(console.file, io.StringIO)
    return "\n".join(line.rstrip() for line in console.file.getvalue().splitlines()) + "\n"


def tables(given: Sequence[Table], *, colour: bool = False) -> str:
    """Tables one below the other: numbers to the right, text to the left, notes underneath."""
    console = _console(colour)
    for table in given:
        warnings, notes = _parted(table.notes)
        console.print(Text(table.title, style="bold"))
        for warning in warnings:
            console.print(Text(warning, style="bold yellow"))
        rich = RichTable(box=SIMPLE_HEAD, pad_edge=False, show_edge=False, padding=(0, 1, 0, 0))
        cells = table.cells()
        for index, (column, heading) in enumerate(zip(table.columns, table.headings(), strict=True)):
            words = column.kind == "text"
            name, _, unit = heading.partition(" [")
            unit = unit and f"[{unit}"
            parts = [*name.split(), unit, *("" if words else row[index] for row in cells)]
            least = max(map(len, parts), default=0)
            rich.add_column(
                f"{name}\n{unit}" if " " in unit else heading,  # a unit of two words stays together
                justify="left" if words else "right",
                min_width=least,
                max_width=None if words else least,
            )
        for row in cells:
            rich.add_row(*row)
        console.print(rich)
        for note in notes:
            console.print(Text(f"  {note}"))
        console.print()
    return _printed(console)


def _parted(notes: Sequence[str]) -> tuple[list[str], list[str]]:
    """Warnings, which stand above the table, and what stands below it."""
    return [n for n in notes if n.startswith("Warning:")], [n for n in notes if not n.startswith("Warning:")]


def cautions() -> str:
    """The usual cautions, one a line."""
    return "\n".join(CAUTIONS) + "\n"


def findings(given: Sequence[Finding], shown: Shown, *, everything: bool = False, colour: bool = False) -> str:
    """Findings worst first with evidence, mend and source; passes and what does not apply are counted unless asked for."""
    console = _console(colour)
    for finding in given:
        if finding.outcome >= Outcome.PASS and not everything:
            continue
        head = Text(f"{finding.outcome.word.upper():<12}", style=_STYLE[finding.outcome])
        head.append(finding.rule.name, style="bold")
        if finding.where:
            head.append(f"  {finding.where}")
        console.print(head)
        for label, words in _details(finding, shown):
            console.print(
                Text(fill(words, console.width - 1, initial_indent=f"  {label:<10}", subsequent_indent=" " * 12))
            )
        console.print()
    console.print(Text(counted(given), style="bold"))
    return _printed(console)


def _details(finding: Finding, shown: Shown) -> list[tuple[str, str]]:
    details = [("", shown.words(finding.evidence))]
    if finding.mend:
        details.append(("mend", shown.words(finding.mend)))
    if finding.outcome < Outcome.PASS:
        details.append(("source", "; ".join(str(source) for source in finding.rule.sources)))
    return details


def counted(given: Sequence[Finding]) -> str:
    """How many findings of each outcome."""
    counts = [(outcome, sum(finding.outcome is outcome for finding in given)) for outcome in Outcome]
    return ", ".join(f"{count} {outcome.word}" for outcome, count in counts if count)


def manual(rules: Sequence[Rule]) -> str:
    """The manual of rules, from the same words as the findings."""
    parts = []
    subject = ""
    for rule in rules:
        if rule.subject != subject:
            subject = rule.subject
            parts.append(f"{subject.upper()}\n")
        words = [
            ("checks", rule.checks),
            ("why", rule.why),
            ("mend", rule.mend),
            ("source", "; ".join(str(source) for source in rule.sources)),
        ]
        lines = [fill(text, 100, initial_indent=f"{label:<8}", subsequent_indent=" " * 8) for label, text in words]
        parts.append(f"{rule.name}\n{indent(chr(10).join(lines), '  ')}\n")
    return "\n".join(parts)
