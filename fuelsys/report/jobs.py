"""What is to be done about the findings: equal ones of several places in one row, several rules on one part in one fix."""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import cached_property

from fuelsys import units
from fuelsys.model.found.findings import Finding, Outcome, Reach, Stake
from fuelsys.model.words import Quantity, Words
from fuelsys.report.shown import Shown

# Subjects of rules that ask for changes at one part of a tank; every other subject is a part of its own.
_PARTS = {
    "drain": "floor and sump",
    "water": "floor and sump",
    "sump": "floor and sump",
    "trapped fuel": "floor and sump",
    "expansion space": "filler",
    "unusable fuel": "outlet",
    "strainer": "outlet",
    "low-fuel warning": "switch",
    "vent outlet": "vent line",
}
Numbered = tuple[int, Finding]


@dataclass(frozen=True)
class Told:
    """One rule's evidence or mend, said once for all the places where it is the same."""

    rule: str
    found: tuple[Numbered, ...]
    words: Words

    @property
    def places(self) -> str:
        """Where it holds."""
        return places([finding for _, finding in self.found])


@dataclass(frozen=True)
class Job:
    """Findings that one piece of work puts right, worst first; numbers are those of the checklist. tanks: the design's names."""

    part: str
    found: tuple[Numbered, ...]
    tanks: tuple[str, ...] = ()

    @property
    def reach(self) -> Reach:
        """Where the person must reach."""
        return self.found[0][1].reach

    @property
    def outcome(self) -> Outcome:
        """The worst of its findings."""
        return min(finding.outcome for _, finding in self.found)

    @property
    def missing(self) -> bool:
        """Is it something that the design does not say, for which checks wait?"""
        return self.outcome is Outcome.NOT_CHECKED

    @property
    def places(self) -> str:
        """Every place once."""
        return ", ".join(self.wheres)

    @property
    def wheres(self) -> list[str]:
        """The same, one by one."""
        return _wheres(finding for _, finding in self.found)

    @property
    def rules(self) -> str:
        """Every rule once."""
        return ", ".join(dict.fromkeys(finding.rule.name for _, finding in self.found))

    @cached_property
    def evidence(self) -> tuple[Told, ...]:
        """What was found, the same thing once."""
        return _once([(pair, pair[1].evidence) for pair in self.found], self.tanks, by_rule=not self.missing)

    @cached_property
    def mends(self) -> tuple[Told, ...]:
        """What to do, the same thing once whichever rule asks for it."""
        return _alike(_once([(pair, pair[1].mend) for pair in self.found if pair[1].mend], self.tanks, by_rule=False))

    def cost(self, shown: Shown) -> str:
        """What it costs, by the figures that the study gives or in words; of what is missing, how much waits for it."""
        if self.missing:
            return "1 check waits for it" if len(self.found) == 1 else f"{len(self.found)} checks wait for it"
        return cost([finding for _, finding in self.found], shown)


def cost(found: Sequence[Finding], shown: Shown) -> str:
    """The most that any of some findings costs: minutes, litres, and whether the engine may stop."""
    known = [finding for finding in found if finding.outcome < Outcome.NOT_CHECKED]
    told = []
    if any(finding.rule.stake is Stake.ENGINE for finding in known):
        told.append(Stake.ENGINE.words)
    short_s = max((finding.cost.short_s for finding in known), default=0.0)
    if short_s:
        told.append(f"{units.minutes(short_s, up=True)} min not there")
    volume_m3 = max((finding.cost.volume_m3 for finding in known), default=0.0)
    if volume_m3:
        told.append(shown.text(volume_m3, "volume"))
    if not told and known:
        told.append(min(finding.rule.stake for finding in known).words)
    return ", ".join(part for part in told if part)


def jobs(findings: Sequence[Finding], tanks: Iterable[str] = ()) -> list[Job]:
    """What is open, as pieces of work, worst first; what was not checked is gathered by what is missing.

    What is said of several tanks alike but for their names, tanks, is said once.
    """
    names = tuple(sorted(tanks, key=len, reverse=True))
    gathered: dict[tuple[object, ...], list[Numbered]] = {}
    for number, finding in enumerate(findings, 1):
        if finding.open:
            gathered.setdefault(_place(finding), []).append((number, finding))
    alike: dict[tuple[object, ...], list[Numbered]] = {}
    for (part, *_), found in gathered.items():
        shape = tuple(sorted({(finding.rule.name, finding.outcome) for _, finding in found}))
        unknown = found[0][1].outcome is Outcome.NOT_CHECKED
        alike.setdefault((part, found[0][1].reach, "" if unknown else shape), []).extend(found)
    work = [
        Job(str(part), tuple(sorted(found, key=lambda pair: pair[1].rank)), names)
        for (part, *_), found in alike.items()
    ]
    return sorted(work, key=_rank)


def alike(findings: Sequence[Finding]) -> list[list[Finding]]:
    """Findings as they are read: what waits for one thing together, and what one rule says word for word of several places."""
    same: dict[tuple[object, ...], list[Finding]] = {}
    for one in findings:
        waits = one.outcome is Outcome.NOT_CHECKED
        said = (Shown().words(one.evidence), Shown().words(one.mend))
        key = (_missing(one.evidence),) if waits else (one.rule.name, one.outcome, *said, one.rests_on)
        same.setdefault(key, []).append(one)
    return list(same.values())


def places(found: Sequence[Finding]) -> str:
    """Where findings are, each place once."""
    return ", ".join(_wheres(found))


def _wheres(found: Iterable[Finding]) -> list[str]:
    return list(dict.fromkeys(finding.where for finding in found if finding.where))


def _rank(job: Job) -> tuple[float, ...]:
    """By the worst finding; among things missing, what most checks wait for first."""
    if job.outcome is Outcome.NOT_CHECKED:
        return (job.outcome, -len(job.found))
    return min(finding.rank for _, finding in job.found)


def _place(finding: Finding) -> tuple[object, ...]:
    """The part of a place that a finding asks to change; what is missing is one thing wherever it is."""
    if finding.outcome is Outcome.NOT_CHECKED:
        return (_missing(finding.evidence), "needs")
    part = "design" if finding.reach is Reach.PAPER else _PARTS.get(finding.rule.subject, finding.rule.subject)
    return (part, finding.where, finding.reach)


def _missing(evidence: Words) -> str:
    """What a check that was not made needs, up to a colon: figures behind it differ from place to place."""
    plain = Shown(coarse=True).words(evidence)
    return plain.split(";")[0]


def _once(given: Sequence[tuple[Numbered, Words]], tanks: Sequence[str], *, by_rule: bool) -> tuple[Told, ...]:
    """Words that read alike, said once: as of the first place, which is the worst, where they name the tank."""
    same: dict[tuple[str, str], list[tuple[Numbered, Words]]] = {}
    for pair, words in given:
        key = (pair[1].rule.name if by_rule else "", _nameless(Shown().words(words), pair[1].where, tanks))
        same.setdefault(key, []).append((pair, words))
    return tuple(_told(group) for group in same.values())


def _told(group: Sequence[tuple[Numbered, Words]]) -> Told:
    ((_, first), words), *others = group
    if any(Shown().words(other) != Shown().words(words) for _, other in others):
        ends = isinstance(words[-1], str) and words[-1].endswith(".")
        words = (*words, " The others likewise." if ends else "; the others likewise")
    return Told(first.rule.name, tuple(pair for pair, _ in group), words)


def _nameless(words: str, where: str, tanks: Sequence[str]) -> str:
    """A sentence without the name of the tank that it is of: before a port's name, or behind "in" or "of" at a clause's end.

    An attitude may be named by the same word, and is not the tank.

    >>> _nameless("slip, left wing low: left.vent drowns in left", "left", ["left"])
    'slip, left wing low: *.vent drowns in *'
    """
    name = next((one for one in tanks if re.search(rf"(?<!\w){re.escape(one)}(?!\w)", where)), None)
    if name is None:
        return words
    return re.sub(rf"(?<!\w){re.escape(name)}(?=\.\w)|(?<=\b(?:in|of) ){re.escape(name)}(?=[.,;:]|$)", "*", words)


def _alike(told: Sequence[Told]) -> tuple[Told, ...]:
    """Words that differ in one figure alone, as those of twin tanks do, said once with each place's figure."""
    same: dict[Words, list[Told]] = {}
    for one in told:
        plain = tuple(part if isinstance(part, str) else Quantity(part.kind, ()) for part in one.words)
        same.setdefault(plain, []).append(one)
    return tuple(joined for group in same.values() for joined in _joined(group))


def _joined(group: Sequence[Told]) -> Sequence[Told]:
    first = group[0].words
    differ = [k for k, part in enumerate(first) if any(one.words[k] != part for one in group)]
    if len(group) < 2 or len(differ) != 1:
        return group
    figures: list[str | Quantity] = []
    for one in group:
        figures += [", " if figures else "", one.words[differ[0]], f" ({one.places})"]
    found = tuple(pair for one in group for pair in one.found)
    return [Told(group[0].rule, found, (*first[: differ[0]], *figures, *first[differ[0] + 1 :]))]
