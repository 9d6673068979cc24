"""The answer of a review: whether each tank may be closed, and if not, how many things stand against it and where."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from enum import Enum

from fuelsys import units
from fuelsys.model.found.findings import Finding, Outcome, Reach
from fuelsys.model.found.study import Study, TankStudy
from fuelsys.report.jobs import Job, jobs


class Answer(Enum):
    """May a tank be closed?"""

    NO = "no"  # a fault inside
    UNKNOWN = "not known"  # a check of what is inside could not be made
    NOT_YET = "not yet"  # something inside to look at, or on paper, which what is inside rests on
    YES = "yes, as computed"


@dataclass(frozen=True)
class TankLine:
    """One tank's line, or the whole aircraft's (no answer): how many things are open where the person must reach."""

    tank: str
    answer: Answer | None
    counts: dict[Reach, int]
    unchecked: int
    usable_m3: float | None = None
    lamps: tuple[tuple[str, float | None], ...] = ()

    def lamp_words(self) -> str:
        """What each low-level switch leaves at least in flight."""
        return "; ".join(
            f"{name}: {'–' if left is None else f'{units.minutes(max(left, 0.0) * 60.0)} min'}"
            for name, left in self.lamps
        )


@dataclass(frozen=True)
class Verdict:
    """All lines, and what is to be done, worst first."""

    lines: tuple[TankLine, ...]
    aircraft: TankLine
    work: tuple[Job, ...]
    checked: int
    unchecked: int

    @property
    def open(self) -> bool:
        """Is anything to be done?"""
        return bool(self.work)

    @property
    def sound(self) -> bool:
        """Was everything checked, and is nothing open?"""
        return not self.work and self.checked > 0

    def of(self, answer: Answer) -> list[str]:
        """The tanks with an answer."""
        return [line.tank for line in self.lines if line.answer is answer]

    def count(self, reach: Reach) -> int:
        """How many things are open there in all, each once."""
        return sum(job.reach is reach for job in self.work)

    @property
    def mostly_unknown(self) -> bool:
        """Could more checks not be made than were made?"""
        return self.unchecked > self.checked

    @property
    def headline(self) -> str:
        """The answer in a sentence or two.

        Faults are told before what is not known, and that before what is only not settled.
        """
        told = []
        most = ": most of what decides it is not stated" if self.mostly_unknown else ""
        if closed := self.of(Answer.NO):
            told.append(f"Do not close {_listed(closed)}.")
        if unknown := self.of(Answer.UNKNOWN):
            told.append(f"Whether {_listed(unknown)} may be closed is not known yet{most}.")
        if later := self.of(Answer.NOT_YET):
            told.append(f"Do not close {_listed(later)} yet.")
        if free := self.of(Answer.YES):
            named = _listed(free)
            told.append(f"{named[0].upper()}{named[1:]} may be closed, by what was computed: measure first.")
        return " ".join(told)

    @property
    def counted(self) -> str:
        """How much is open and how much was checked, in a sentence."""
        if not self.work:
            return f"Nothing is open: all {self.checked} checks that apply were made and pass." if self.checked else ""
        where = [f"{self.count(reach)} {reach.word}" for reach in Reach if self.count(reach)]
        told = f"Open: {', '.join(where)}."
        all_checks = self.checked + self.unchecked
        if self.unchecked:
            told += f" {self.unchecked} of {all_checks} checks could not be made: the design does not say enough."
        return told


def verdict(study: Study, findings: Sequence[Finding]) -> Verdict:
    """The answer for each tank of a study, by its findings."""
    tanks = [tank.name for tank in study.tanks]
    others = [component.name for component in study.layout.design.component]
    work = jobs(findings, (tank.name for tank in study.tanks))
    at = {id(finding): tanks_of(finding.where, tanks, others) for finding in findings}
    lines = []
    for tank in study.tanks:
        own = [finding for finding in findings if tank.name in at[id(finding)]]
        shared = [finding for finding in findings if not at[id(finding)]]
        counts, unchecked = _counts([job for job in work if _touches(job, tank.name, at)], own)
        lamps = tuple((switch.name, _least(study, tank, switch.name)) for switch in tank.switches)
        lines.append(TankLine(tank.name, answer([*own, *shared]), counts, unchecked, tank.capacity.usable_m3, lamps))
    shared = [finding for finding in findings if not at[id(finding)]]
    counts, unchecked = _counts([job for job in work if _touches(job, "", at)], shared)
    made = sum(finding.outcome in (Outcome.FAIL, Outcome.CAUTION, Outcome.PASS) for finding in findings)
    missed = sum(finding.outcome is Outcome.NOT_CHECKED for finding in findings)
    return Verdict(tuple(lines), TankLine("", None, counts, unchecked), tuple(work), made, missed)


def answer(findings: Sequence[Finding]) -> Answer:
    """Whether a tank may be closed, by the findings that name it and those of the whole aircraft."""
    kept = [finding for finding in findings if finding.keeps_open]
    if any(finding.outcome is Outcome.FAIL and finding.reach is Reach.INSIDE for finding in kept):
        return Answer.NO
    if any(finding.outcome is Outcome.NOT_CHECKED for finding in kept):
        return Answer.UNKNOWN
    return Answer.NOT_YET if kept or not findings else Answer.YES


def tanks_of(where: str, tanks: Sequence[str], others: Sequence[str] = ()) -> frozenset[str]:
    """The tanks that a finding's place names; a component whose name begins with a tank's is none.

    >>> sorted(tanks_of("left.outlet to header.from left", ["left", "header"]))
    ['header', 'left']
    >>> sorted(tanks_of("left overboard", ["left"], ["left overboard"])), sorted(tanks_of("left 2", ["left", "left 2"]))
    ([], ['left 2'])
    """
    found: set[str] = set()
    rest = where
    for name in sorted({*tanks, *others}, key=len, reverse=True):
        at = _named(rest, name)
        while at >= 0:
            if name in tanks and name not in others:
                found.add(name)
            rest = f"{rest[:at]}\x00{rest[at + len(name) :]}"
            at = _named(rest, name)
    return frozenset(found)


def _named(text: str, name: str) -> int:
    """Where a name begins a place in a text: at its start, or behind "to", "and" or a comma; -1 where it does not."""
    start = 0
    while name and (at := text.find(name, start)) >= 0:
        before, after = text[:at], text[at + len(name) :]
        begins = not before or before.endswith((" to ", " and ", ", "))
        if begins and (not after or after[0] in " .,"):
            return at
        start = at + 1
    return -1


def _touches(job: Job, tank: str, at: dict[int, frozenset[str]]) -> bool:
    """Does a job concern a tank, or none at all where none is named?"""
    return any(tank in at[id(finding)] if tank else not at[id(finding)] for _, finding in job.found)


def _counts(work: Sequence[Job], findings: Sequence[Finding]) -> tuple[dict[Reach, int], int]:
    counts = {reach: sum(job.reach is reach for job in work) for reach in Reach}
    return counts, sum(finding.outcome is Outcome.NOT_CHECKED for finding in findings)


def _least(study: Study, tank: TankStudy, name: str) -> float | None:
    """The least minutes that a switch leaves in flight, in the worst state, with what runs between joined tanks; None if unknown."""
    switch = next(one for one in tank.switches if one.name == name)
    left_min = switch.least_minutes(switch.worst.latest_m3) if switch.worst else None
    if left_min is None or any(tank.name in group.joined.tanks for group in study.exchange.unknown):
        return None
    return min(left_min, study.exchange.least_s(tank.name, name) / 60.0)


def _listed(names: Sequence[str]) -> str:
    """Tanks in a sentence.

    >>> _listed(["left"]), _listed(["left", "right", "header"])
    ('tank left', 'tanks left, right and header')
    """
    if len(names) == 1:
        return f"tank {names[0]}"
    return f"tanks {', '.join(names[:-1])} and {names[-1]}"
