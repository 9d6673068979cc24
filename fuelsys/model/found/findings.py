"""What a rule says of a design: outcome, evidence, mend and source; and the words that each rule carries."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from enum import IntEnum

from fuelsys.model.found.study import Study
from fuelsys.model.words import Words


class Outcome(IntEnum):
    """Worst first, in the order in which they are shown."""

    FAIL = 0
    CAUTION = 1
    NOT_CHECKED = 2
    PASS = 3
    NOT_APPLICABLE = 4

    @property
    def word(self) -> str:
        """The outcome as it is printed."""
        return ("fail", "caution", "not checked", "pass", "does not apply")[self]


class Reach(IntEnum):
    """Where a person must reach to put a fault right: what decides whether the tank may be closed before."""

    INSIDE = 0  # impossible once the tank is sealed
    OUTSIDE = 1
    PAPER = 2  # the design file, or a figure to be measured: what is inside rests on it

    @property
    def word(self) -> str:
        """The reach as it is printed."""
        return ("inside", "outside", "on paper")[self]


class Stake(IntEnum):
    """What a fault costs, worst first."""

    ENGINE = 0
    MINUTES = 1
    LITRES = 2
    WEAR = 3  # nothing at once: less flow, sooner clogged, water or dirt in the feed
    FIRE = 4
    REST = 5

    @property
    def words(self) -> str:
        """The stake where no figure tells it; empty for the rest."""
        return (
            "may stop the engine",
            "minutes not there",
            "fuel lost or not usable",
            "feed suffers in time",
            "fire",
            "",
        )[self]


@dataclass(frozen=True)
class Cost:
    """What a finding costs as far as the study gives figures: minutes that are not there, and a quantity."""

    short_s: float = 0.0
    volume_m3: float = 0.0


@dataclass(frozen=True)
class Source:
    """Where a rule or a value comes from: the paragraph, its amendment or edition, and how sure it is."""

    reference: str
    edition: str = ""
    from_memory: bool = False

    def __str__(self) -> str:
        parts = [self.reference, self.edition, "from memory" if self.from_memory else ""]
        return ", ".join(part for part in parts if part)


COMMON_PRACTICE = Source("common practice, no source")


@dataclass(frozen=True)
class Verdict:
    """What a rule's function yields for one subject; the rule's own words are added by Rule.findings.

    For NOT_CHECKED, evidence is "needs X".
    """

    outcome: Outcome
    where: str
    evidence: Words
    mend: Words = ()
    cost: Cost = Cost()


@dataclass(frozen=True)
class Rule:
    """One rule: its name (the fault), its words, its sources, and the function that judges a study.

    reach and stake say where its mend is made and what its fault costs; decorated rules always state them. rests_on names
    the rules that judge the figures which a pass is held against.
    """

    name: str
    subject: str
    checks: str
    why: str
    mend: str
    sources: tuple[Source, ...]
    judge: Callable[[Study], Iterator[Verdict]]
    reach: Reach = Reach.INSIDE
    stake: Stake = Stake.REST
    rests_on: tuple[str, ...] = ()

    def findings(self, study: Study) -> list[Finding]:
        """All findings on a study; one that does not apply where the design has nothing of the kind."""
        verdicts = list(self.judge(study))
        if not verdicts:
            verdicts = [Verdict(Outcome.NOT_APPLICABLE, "", ("the design has nothing of this kind",))]
        return [
            Finding(
                self,
                v.outcome,
                v.where,
                v.evidence,
                (v.mend or (self.mend,)) if v.outcome < Outcome.NOT_CHECKED else (),
                v.cost,
            )
            for v in verdicts
        ]


@dataclass(frozen=True)
class Finding:
    """A rule's outcome for one subject of the design; rests_on names the open rules that a pass rests on."""

    rule: Rule
    outcome: Outcome
    where: str
    evidence: Words
    mend: Words
    cost: Cost = Cost()
    rests_on: tuple[str, ...] = ()

    @property
    def says(self) -> str:
        """The outcome as it is printed, with what a pass rests on."""
        return f"{self.outcome.word}, resting on: {', '.join(self.rests_on)}" if self.rests_on else self.outcome.word

    @property
    def open(self) -> bool:
        """Is anything to be done about it?"""
        return self.outcome < Outcome.PASS

    @property
    def reach(self) -> Reach:
        """Where the person must reach next: what was not checked needs a figure in the design file first."""
        return Reach.PAPER if self.outcome is Outcome.NOT_CHECKED else self.rule.reach

    @property
    def keeps_open(self) -> bool:
        """Does it forbid to close the tank: it is inside, or what is inside rests on it?"""
        return self.open and self.rule.reach is not Reach.OUTSIDE

    @property
    def rank(self) -> tuple[float, ...]:
        """Sorts worst first: what is known to be wrong by its cost, then what was not checked, then the rest.

        What stops the engine, or promises minutes that are not there, comes first; then litres; then fire and the rest.
        """
        status = max(self.outcome, Outcome.CAUTION)
        stake = max(self.rule.stake, Stake.MINUTES)
        if self.rule.stake is Stake.LITRES:
            return (status, stake, -self.cost.volume_m3, self.outcome)
        return (status, stake, self.outcome, -self.cost.short_s, self.rule.stake, -self.cost.volume_m3)


def resting(found: Sequence[Finding], tanks: Sequence[str]) -> list[Finding]:
    """The findings, each pass marked with the rules it rests on that are open at a tank of its own.

    A place that names no tank, such as an engine's, has to do with every tank.
    """
    at: dict[str, list[set[str]]] = {}
    for one in found:
        if one.open:
            at.setdefault(one.rule.name, []).append(_tanks(one.where, tanks))
    return [one if one.outcome is not Outcome.PASS else replace(one, rests_on=_open(one, at, tanks)) for one in found]


def _open(one: Finding, at: dict[str, list[set[str]]], tanks: Sequence[str]) -> tuple[str, ...]:
    own = _tanks(one.where, tanks)
    return tuple(name for name in one.rule.rests_on if any(own & others for others in at.get(name, ())))


def _tanks(where: str, tanks: Sequence[str]) -> set[str]:
    """The tanks that a place names; all where it names none.

    >>> sorted(_tanks("left switch low", ("left", "right"))), sorted(_tanks("engine", ("left", "right")))
    (['left'], ['left', 'right'])
    """
    return {name for name in tanks if re.search(rf"(?<!\w){re.escape(name)}(?!\w)", where)} or set(tanks)
