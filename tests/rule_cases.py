"""One case of a rule: changes to the base design, and what the rule must say of it; studies are kept for the whole run."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any, Literal

import designs

from fuelsys.model.findings import Finding, Outcome
from fuelsys.model.study import Study
from fuelsys.review import study
from fuelsys.rules import ALL

Kind = Literal["good", "bad", "unknown", "not asked"]
OUTCOMES: dict[Kind, tuple[Outcome, ...]] = {
    "good": (Outcome.PASS,),
    "bad": (Outcome.FAIL, Outcome.CAUTION),
    "unknown": (Outcome.NOT_CHECKED,),
    "not asked": (Outcome.NOT_APPLICABLE,),
}
_STUDIES: dict[str, Study] = {}


@dataclass(frozen=True)
class Case:
    """A rule, a changed design, and what must be found where: pieces of the evidence and of the mend, in their words."""

    rule: str
    kind: Kind
    where: str
    says: tuple[str, ...]
    changes: Mapping[str, Any] = field(default_factory=dict)
    mend: str = ""
    outcome: Outcome | None = None

    @property
    def title(self) -> str:
        """What pytest calls it."""
        return f"{self.rule}: {self.kind} ({self.says[0] if self.says else self.where})"


def study_of(changes: Mapping[str, Any]) -> Study:
    """The study of the changed base design."""
    key = repr(sorted(changes.items(), key=lambda item: item[0]))
    if key not in _STUDIES:
        with TemporaryDirectory() as folder:
            _STUDIES[key] = study(designs.layout_of(Path(folder), changes))
    return _STUDIES[key]


def found(case: Case) -> Finding:
    """What the case's rule says of the case's subject; there must be one finding on it."""
    rule = next(rule for rule in ALL if rule.name == case.rule)
    findings = [finding for finding in rule.findings(study_of(case.changes)) if finding.where == case.where]
    assert len(findings) == 1, [(f.where, f.outcome.word, f.evidence) for f in rule.findings(study_of(case.changes))]
    return findings[0]


def check(case: Case) -> None:
    """The rule says what the case expects."""
    finding = found(case)
    text = f"{finding.outcome.word}: {finding.evidence} | {finding.mend}"
    assert finding.outcome in OUTCOMES[case.kind], text
    assert case.outcome in (None, finding.outcome), text
    for piece in case.says:
        assert piece in finding.evidence, text
    assert case.mend in finding.mend, text
    # A fault is told with what to do about it, anything else without.
    assert bool(finding.mend) == (case.kind == "bad"), text
