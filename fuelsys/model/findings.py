"""What a rule says of a design: outcome, evidence, mend and source; and the words that each rule carries."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from enum import IntEnum

from fuelsys.model.study import Study
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


@dataclass(frozen=True)
class Rule:
    """One rule: its name (the fault), its words, its sources, and the function that judges a study."""

    name: str
    subject: str
    checks: str
    why: str
    mend: str
    sources: tuple[Source, ...]
    judge: Callable[[Study], Iterator[Verdict]]

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
            )
            for v in verdicts
        ]


@dataclass(frozen=True)
class Finding:
    """A rule's outcome for one subject of the design."""

    rule: Rule
    outcome: Outcome
    where: str
    evidence: Words
    mend: Words
