"""How a rule is written: one function that yields verdicts, with its words beside it."""

from __future__ import annotations

from collections.abc import Callable, Iterator

from fuelsys.model.findings import Outcome, Rule, Source, Verdict
from fuelsys.model.study import Study

Judge = Callable[[Study], Iterator[Verdict]]


def rule(*, subject: str, checks: str, why: str, mend: str, sources: tuple[Source, ...]) -> Callable[[Judge], Rule]:
    """Make a function a rule; its name, with hyphens, is the rule's name for ever and says the fault."""

    def make(judge: Judge) -> Rule:
        return Rule(judge.__name__.replace("_", "-"), subject, checks, why, mend, sources, judge)

    return make


def passed(where: str, evidence: str) -> Verdict:
    """The design is right here; the evidence says by which figures."""
    return Verdict(Outcome.PASS, where, evidence)


def failed(where: str, evidence: str, mend: str = "") -> Verdict:
    """The requirement is not met; mend replaces the rule's general words where a figure can be given."""
    return Verdict(Outcome.FAIL, where, evidence, mend)


def caution(where: str, evidence: str, mend: str = "") -> Verdict:
    """Not against a requirement, but a practitioner would stop here."""
    return Verdict(Outcome.CAUTION, where, evidence, mend)


def needs(where: str, what: str) -> Verdict:
    """Not checked: the design does not say something. what completes "needs ..."."""
    return Verdict(Outcome.NOT_CHECKED, where, f"needs {what}")
