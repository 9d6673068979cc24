"""Tables, findings and the manual of rules as text for a terminal."""

from __future__ import annotations

import io
from collections.abc import Mapping, Sequence
from textwrap import fill, indent
from typing import TYPE_CHECKING

from fuelsys.model.found.findings import Finding, Outcome, Reach, Rule
from fuelsys.model.words import Doubt, as_read
from fuelsys.report import fitting
from fuelsys.report.jobs import alike, cost, places
from fuelsys.report.shown import Shown
from fuelsys.report.table import Table
from fuelsys.report.verdict import Verdict

if TYPE_CHECKING:
    from rich.console import Console
    from rich.table import Table as RichTable

# As terminals of ECMA-48 are told: 1 bold, 2 faint, 31 red, 32 green, 33 yellow, 35 magenta.
_BOLD = "1"
_STYLE = {
    Outcome.FAIL: "1;31",
    Outcome.CAUTION: "33",
    Outcome.NOT_CHECKED: "35",
    Outcome.PASS: "32",
    Outcome.NOT_APPLICABLE: "2",
}
CAUTIONS = (
    "Computed quantities are verified by measuring: drain, fill and flow tests on the finished aircraft.",
    "Local rules and licensed inspection decide. For an amateur-built aircraft the certification rules are guidance.",
    "Not modelled: slosh, vortices at the outlet, foam, structural deflection, fuel that comes back from pockets.",
)


def _console(width: int, colour: bool) -> Console:
    from rich.console import Console  # noqa: PLC0415  for tables alone

    return Console(
        file=io.StringIO(),
        width=max(fitting.NARROWEST, width),
        force_terminal=colour,
        no_color=not colour,
        highlight=False,
        emoji=False,
        markup=False,
    )


def _printed(console: Console) -> str:
    assert isinstance(console.file, io.StringIO)
    return "\n".join(line.rstrip() for line in console.file.getvalue().splitlines()) + "\n"


def tables(given: Sequence[Table], *, width: int, colour: bool = False) -> str:
    """Tables one below the other, numbers to the right, text to the left, notes underneath; columns that do not fit are named there."""
    from rich.text import Text  # noqa: PLC0415  as in _console

    console = _console(width, colour)
    for table in given:
        warnings, notes = _parted(table.notes)
        console.print(Text(table.title, style="bold"))
        for warning in warnings:
            console.print(Text(warning, style="bold yellow"))
        found = fitting.fitted(table, console.width)
        if found is None:
            for line in fitting.one_below_the_other(table, console.width):
                console.print(Text(line))
        else:
            console.print(_ruled(found))
            notes = [*([fitting.left_out(found.left_out)] if found.left_out else []), *notes]
        for note in notes:
            console.print(Text(fill(note, console.width - 1, initial_indent="  ", subsequent_indent="  ")))
        console.print()
    return _printed(console)


def _ruled(found: fitting.Fitted) -> RichTable:
    """A table to print: columns of numbers no wider than they need."""
    from rich.box import SIMPLE_HEAD  # noqa: PLC0415  as in _console
    from rich.table import Table as RichTable  # noqa: PLC0415

    rich = RichTable(box=SIMPLE_HEAD, pad_edge=False, show_edge=False, padding=(0, 1, 0, 0))
    for one, wide in zip(found.columns, found.widths, strict=True):
        rich.add_column(
            "\n".join(one.headed(found.lines)),
            justify="left" if one.is_text else "right",
            width=wide,
        )
    for row in zip(*(one.cells for one in found.columns), strict=True):
        rich.add_row(*row)
    return rich


def _parted(notes: Sequence[str]) -> tuple[list[str], list[str]]:
    """Warnings, which stand above the table, and what stands below it."""
    return [as_read(n) for n in notes if isinstance(n, Doubt)], [n for n in notes if not isinstance(n, Doubt)]


def notes(given: Sequence[Table]) -> str:
    """All notes of tables, warnings first, each once: for a form that has no room for them."""
    all_notes = list(dict.fromkeys(note for table in given for note in table.notes))
    warnings, others = _parted(all_notes)
    return "".join(f"{note}\n" for note in (*warnings, *others))


def cautions(width: int) -> str:
    """The usual cautions, each from a line of its own on."""
    return "".join(f"{fill(one, max(fitting.NARROWEST, width))}\n" for one in CAUTIONS)


def _wrapped(text: str, width: int) -> str:
    return fill(text, max(fitting.NARROWEST, width), break_on_hyphens=False)


def _styled(text: str, style: str, colour: bool) -> str:
    return f"\x1b[{style}m{text}\x1b[0m" if colour else text


def verdict(found: Verdict, *, width: int, colour: bool = False) -> str:
    """The answer in the first line, then how much is open, then a line for each tank."""
    lines = [_styled(_wrapped(found.headline, width), _BOLD, colour), _wrapped(found.counted, width)]
    for line in found.lines:
        answer = line.answer.value if line.answer else ""
        lines.append(_wrapped(f"  {line.tank}: {answer}; {_open(line.counts)}", width))
    return "\n".join([*lines, "", ""])


def _open(counts: Mapping[Reach, int]) -> str:
    """How many things are open by where the person must reach."""
    told = ", ".join(f"{count} {reach.word}" for reach, count in counts.items() if count)
    return f"open: {told}" if told else "nothing open"


def findings(
    given: Sequence[Finding], shown: Shown, *, width: int, everything: bool = False, colour: bool = False
) -> str:
    """Findings worst first with evidence, mend and source; passes and what does not apply are counted unless asked for."""
    lines = []
    for group in alike(given):
        if group[0].outcome >= Outcome.PASS and not everything:
            continue
        lines.append(_headed(group, width, colour))
        for label, words in _details(group, shown):
            wide = max(fitting.NARROWEST, width) - 1
            lines.append(fill(words, wide, initial_indent=f"  {label:<10}", subsequent_indent=" " * 12))
        lines.append("")
    return "\n".join([*lines, _styled(_wrapped(counted(given), width), _BOLD, colour), ""])


def _headed(group: Sequence[Finding], width: int, colour: bool) -> str:
    """The first line of what is told together: its outcome, its rule, where; or how many checks wait for one thing."""
    outcome, name = f"{group[0].outcome.word.upper():<11} ", group[0].rule.name
    if _waiting(group):
        return _styled(outcome, _STYLE[group[0].outcome], colour) + _styled(
            f"{len(group)} checks wait for this", _BOLD, colour
        )
    where = f"  {places(group)}" if places(group) else ""
    rest = _wrapped(f"{outcome}{name}{where}", width)[len(outcome) :]
    return _styled(outcome, _STYLE[group[0].outcome], colour) + rest.replace(name, _styled(name, _BOLD, colour), 1)


def _waiting(group: Sequence[Finding]) -> bool:
    """Whether these are several checks that wait for one thing."""
    return len(group) > 1 and group[0].outcome is Outcome.NOT_CHECKED


def _details(group: Sequence[Finding], shown: Shown) -> list[tuple[str, str]]:
    finding = group[0]
    details = [("", shown.words(finding.evidence))]
    if _waiting(group):
        at: dict[str, list[str]] = {}
        for name in dict.fromkeys(one.rule.name for one in group):
            at.setdefault(places([one for one in group if one.rule.name == name]), []).append(name)
        waiting = (", ".join(names) + (f" (at {where})" if where else "") for where, names in at.items())
        return [*details, ("checks", "; ".join(waiting))]
    details += [("rests on", ", ".join(finding.rests_on))] if finding.rests_on else []
    if finding.outcome < Outcome.PASS:
        what = cost([finding], shown)
        details.append(("reach", finding.reach.word + (f"; at stake: {what}" if what else "")))
    if finding.mend:
        details.append(("mend", shown.words(finding.mend)))
    if finding.outcome < Outcome.PASS:
        details.append(("source", "; ".join(str(source) for source in finding.rule.sources)))
    return details


def counted(given: Sequence[Finding]) -> str:
    """How many findings of each outcome; of those not checked also how many things they wait for."""
    counts = [(outcome, sum(finding.outcome is outcome for finding in given)) for outcome in Outcome]
    return ", ".join(f"{count} {outcome.word}{_for_things(outcome, given)}" for outcome, count in counts if count)


def _for_things(outcome: Outcome, given: Sequence[Finding]) -> str:
    if outcome is not Outcome.NOT_CHECKED:
        return ""
    things = len(alike([one for one in given if one.outcome is outcome]))
    return f" for want of {'one thing' if things == 1 else f'{things} things'}"


def manual(rules: Sequence[Rule], *, width: int) -> str:
    """The manual of rules, from the same words as the findings, in lines of at most 100 letters."""
    parts = []
    wide = min(100, max(fitting.NARROWEST, width) - 2)
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
        lines = [fill(text, wide, initial_indent=f"{label:<8}", subsequent_indent=" " * 8) for label, text in words]
        parts.append(f"{rule.name}\n{indent(chr(10).join(lines), '  ')}\n")
    return "\n".join(parts)
