"""One case of a rule: changes to the base design, and what the rule must say of it; studies are kept for the whole run."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass, field
from math import ceil, floor
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any, Literal

import designs
from designs import ATTITUDES, REMOVE

from fuelsys.model.found.findings import Finding, Outcome
from fuelsys.model.found.study import Study
from fuelsys.model.words import Quantity, Words
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


def mm(x: float, y: float, z: float) -> list[str]:
    return [f"{x:g} mm", f"{y:g} mm", f"{z:g} mm"]


# Only level attitudes: below the outlets the main tank then holds, by the prismoidal formula between z = -60 (100 x 100)
# and z = -45 (175 x 200), 15/6 (10000 + 4 x 137.5 x 150 + 35000) = 318750 mm3; the header, between z = -50 (80 x 80) and
# z = -25 (140 x 120), 25/6 (6400 + 4 x 110 x 100 + 16800) = 280000 mm3.
LEVEL = {"attitude": [ATTITUDES[0], ATTITUDES[2]]}
NO_MAIN_OUTLET = {"line.2": REMOVE, "tank.0.outlet": []}
NO_HEADER_OUTLET = {"line.3": REMOVE, "tank.1.outlet": []}
# A tank that is only a mesh so far.
SPARE = {
    "tank.2": {"name": "spare", "mesh": "header.off", "unit": "mm", "axes": "aft, right, up", "position": mm(0, 0, 0)}
}
POCKET = {"tank.0.mesh": "pocket.off"}
# 135.833 L, of which 0.25 % are 339.6 mL. Below an outlet at z = -49, where the hopper is 228.33 x 173.33 mm wide:
# 11/6 (10000 + 4 x 164.17 x 136.67 + 39578) = 255424 mm3; at z = -45 (275 x 200): 15/6 (10000 + 4 x 187.5 x 150 + 55000)
# = 443750 mm3.
LARGE = {
    "tank.0.mesh": "large.off",
    "tank.0.outlet.0.position": mm(400, 250, -45),
    "tank.0.vent.0.position": mm(370, 250, 340),
    "tank.0.filler.position": mm(430, 250, 300),
    "tank.0.drain.0.position": mm(400, 250, -60),
    "tank.0.return.0.position": mm(400, 220, 340),
    "tank.0.dipstick": {"top": mm(430, 250, 300), "bottom": mm(430, 250, -58)},
    "tank.0.gauge.0": {"name": "probe", "kind": "probe", "bottom": mm(410, 250, -60), "top": mm(410, 250, 340)},
}
TURBINE = {"aircraft.engine": "turbine", "fuel.kind": "jet"}
DIESEL = {"fuel.kind": "diesel"}


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
    failures: bool = False

    @property
    def title(self) -> str:
        """What pytest calls it."""
        return f"{self.rule}: {self.kind} ({self.says[0] if self.says else self.where})"


def study_of(changes: Mapping[str, Any], *, failures: bool = False) -> Study:
    """The study of the changed base design; failures: flown where it is asked for them."""
    key = f"{failures} {sorted(changes.items(), key=lambda item: item[0])!r}"
    if key not in _STUDIES:
        with TemporaryDirectory() as folder:
            _STUDIES[key] = study(designs.layout_of(Path(folder), changes), failures=failures)
    return _STUDIES[key]


def plain(words: Words) -> str:
    """A finding's words in the figures that the cases were worked in by hand, whatever units a report would show."""
    return "".join(part if isinstance(part, str) else _figure(part) for part in words)


def _figure(given: Quantity) -> str:
    first = given.values_si[0]
    if len(given.values_si) > 1:
        return "(" + ", ".join(f"{round(value * 1e3, 2) + 0.0:g}" for value in given.values_si) + ") mm"
    if given.kind == "volume":
        scale, digits, unit = (1e3, 2, "L") if abs(first) >= 1e-4 else (1e6, 0, "mL")
    else:
        scale, digits, unit = {
            "length": (1e3, 1, "mm"), "area": (1e6, 1, "mm²"), "flow": (3.6e6, 1, "L/h"), "speed": (1.0, 2, "m/s"),
            "pressure": (1e-3, 2, "kPa"), "climb": (1.0, 2, "m/s"), "density": (1e-3, 3, "kg/L"), "mass": (1.0, 2, "kg"),
            "force": (1.0, 0, "N"),
        }[given.kind]  # fmt: skip
    value = first * scale
    if given.down:
        value = floor(value * 10**digits + 1e-6) / 10**digits
    return f"{ceil(value * 10**digits - 1e-6) / 10**digits if given.up else value:.{digits}f} {unit}"


def found(case: Case) -> Finding:
    """What the case's rule says of the case's subject; there must be one finding on it."""
    rule = next(rule for rule in ALL if rule.name == case.rule)
    every = rule.findings(study_of(case.changes, failures=case.failures))
    findings = [finding for finding in every if finding.where == case.where]
    assert len(findings) == 1, [(f.where, f.outcome.word, plain(f.evidence)) for f in every]
    return findings[0]


def stands(piece: str, text: str) -> bool:
    """Whether a piece stands in a text, one that begins with a figure as that figure: "10 mm" in "-10 mm" or "110 mm" does not."""
    return re.search((r"(?<![\d.-])" if piece[:1].isdigit() else "") + re.escape(piece), text) is not None


def check(case: Case) -> None:
    """The rule says what the case expects."""
    finding = found(case)
    evidence, mend = plain(finding.evidence), plain(finding.mend)
    text = f"{finding.outcome.word}: {evidence} | {mend}"
    assert finding.outcome in OUTCOMES[case.kind], text
    assert case.outcome in (None, finding.outcome), text
    for piece in case.says:
        assert stands(piece, evidence), text
    assert stands(case.mend, mend), text
    # A fault is told with what to do about it, anything else without.
    assert bool(finding.mend) == (case.kind == "bad"), text
