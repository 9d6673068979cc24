"""How a page is read: notes that stand under several tables said once, rows of work, and what each rule asks said once."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from fuelsys.model.found.findings import Finding, Outcome, Reach, Rule
from fuelsys.model.words import Doubt, as_read
from fuelsys.report.jobs import Job
from fuelsys.report.table import Table

_SENTENCE = 40  # letters of a cell


@dataclass(frozen=True)
class Noted:
    """A table's notes on a page: warnings and its own in full, the others by their numbers in the list."""

    warnings: tuple[str, ...]
    own: tuple[str, ...]
    numbers: tuple[int, ...]


class Notes:
    """All notes of a page's tables: one that stands under several gets a number, a warning stands where it comes first."""

    def __init__(self, tables: Sequence[Table], told: Iterable[str] = (), tanks: Iterable[str] = ()) -> None:
        """told: warnings that stand elsewhere on the page; tanks: names of which a warning may say the same."""
        self._told = set(told)
        self._tanks = sorted(tanks, key=len, reverse=True)
        often = Counter(note for table in tables for note in dict.fromkeys(table.notes))
        self.shared = tuple(note for note, count in often.items() if count > 1 and not isinstance(note, Doubt))
        self._numbers = {note: number for number, note in enumerate(self.shared, 1)}
        self._warned: dict[str, Table] = {}
        for table in tables:
            for note in table.notes:
                self._warned.setdefault(note, table)

    def of(self, table: Table) -> Noted:
        """What to print under a table."""
        warned = tuple(
            note
            for note in table.notes
            if isinstance(note, Doubt) and note not in self._told and self._warned[note] is table
        )
        own = tuple(n for n in table.notes if n not in self._numbers and not isinstance(n, Doubt))
        numbers = dict.fromkeys(self._numbers[note] for note in table.notes if note in self._numbers)
        return Noted(tuple(map(as_read, same_of(warned, self._tanks))), own, tuple(numbers))


def same_of(notes: Sequence[str], tanks: Sequence[str]) -> tuple[str, ...]:
    """Notes that begin with a tank's name and say the same of several tanks, said once.

    >>> same_of(["left.vent is low.", "It rains.", "right.vent is low."], ["right", "left"])
    ('left.vent is low. The same of right.', 'It rains.')
    """
    alike: dict[str, list[tuple[str, str]]] = {}
    for note in notes:
        name = next(
            (name for name in tanks if (rest := note.removeprefix(name)) != note and rest[:1] in (".", " ")), ""
        )
        alike.setdefault(note.removeprefix(name), []).append((note, name))
    found = []
    for (first, _), *others in alike.values():
        more = f" The same of {', '.join(name for _, name in others)}." if others else ""
        found.append(type(first)(f"{first}{more}"))
    return tuple(found)


def folded(table: Table) -> list[list[str]]:
    """A table's cells on the page: what it says of several things in one sentence is one row."""
    same: dict[tuple[str, ...], list[str]] = {}
    for first, *rest in table.cells():
        sentence = any(len(cell) > _SENTENCE for cell in rest)
        same.setdefault(("" if sentence else first, *rest), []).append(first)
    return [[", ".join(firsts), *rest] for (_, *rest), firsts in same.items()]


@dataclass(frozen=True)
class Row:
    """A piece of work on the page, with the rules that are explained beside it because they come here first."""

    job: Job
    explains: tuple[Rule, ...]

    @property
    def anchor(self) -> str:
        """Where a link to it leads."""
        return f"do-{self.job.found[0][0]}"


@dataclass(frozen=True)
class Chore:
    """All rows of one reach."""

    reach: Reach
    title: str
    note: str
    rows: tuple[Row, ...]


_CHORES = {
    Reach.INSIDE: ("Inside the tanks", "Impossible once a tank is sealed: before it is closed."),
    Reach.OUTSIDE: ("Outside the tanks", "Lines, pumps, placards: can be done after closing, and before fuel goes in."),
    Reach.PAPER: (
        "On paper",
        "In the design file, or a figure to be measured; what is inside may rest on it. What was not checked is no pass.",
    ),
}


def chores(work: Iterable[Job]) -> list[Chore]:
    """Work by reach, worst first, each rule explained once."""
    told: set[str] = set()
    rows: dict[Reach, list[Row]] = {reach: [] for reach in Reach}
    for job in sorted(work, key=lambda job: job.reach):
        rules = {finding.rule.name: finding.rule for _, finding in job.found if finding.rule.name not in told}
        told |= set(rules)
        rows[job.reach].append(Row(job, tuple(rules.values())))
    return [Chore(reach, *_CHORES[reach], tuple(found)) for reach, found in rows.items() if found]


def by_rule(findings: Iterable[tuple[int, Finding]]) -> list[tuple[Rule, list[tuple[int, Finding]]]]:
    """Numbered findings under their rules, in the order in which each rule comes first."""
    found: dict[str, list[tuple[int, Finding]]] = {}
    for number, finding in findings:
        found.setdefault(finding.rule.name, []).append((number, finding))
    return [(group[0][1].rule, group) for group in found.values()]


def numbered(findings: Sequence[Finding], outcome: Outcome) -> list[tuple[int, Finding]]:
    """Findings of one outcome with their numbers in the checklist."""
    return [(number, finding) for number, finding in enumerate(findings, 1) if finding.outcome is outcome]
