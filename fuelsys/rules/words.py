"""How a rule is written: one function that yields verdicts, with its words beside it, and how figures read in them."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from math import ceil

from fuelsys import units
from fuelsys.kernels.compiled import Floats
from fuelsys.model.findings import Outcome, Rule, Source, Verdict
from fuelsys.model.layout import FittedTank
from fuelsys.model.study import Study, UnusableAt

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


def not_asked(where: str, why: str) -> Verdict:
    """The requirement is not one for this subject; why says so."""
    return Verdict(Outcome.NOT_APPLICABLE, where, why)


def before_64(paragraph: str, note: str = "") -> Source:
    """A paragraph of 14 CFR Part 23 as it stood before amendment 23-64."""
    return Source(f"14 CFR {paragraph}", "before amendment 23-64" + (f", {note}" if note else ""))


NO_FITTINGS = "its fittings: none is listed yet"  # completes "needs ..." for a tank that is only a mesh so far
# Less than this reads as nothing: half of the last digit shown.
LEAST_SHOWN_M3 = 0.5e-6


def litres(volume_m3: float) -> str:
    """A quantity as text: litres, or millilitres below a tenth of a litre.

    >>> litres(1.5e-3), litres(42e-6)
    ('1.50 L', '42 mL')
    """
    return f"{volume_m3 * 1e3:.2f} L" if abs(volume_m3) >= 1e-4 else f"{volume_m3 * 1e6:.0f} mL"


def litres_up(volume_m3: float) -> str:
    """A quantity as text that is not less than it, for mends: rounded up in the last digit.

    >>> litres_up(0.6802e-3), litres_up(84.2e-6)
    ('0.69 L', '85 mL')
    """
    step_m3 = 1e-5 if volume_m3 >= 1e-4 else 1e-6
    return litres(ceil(volume_m3 / step_m3 - 1e-6) * step_m3)


def millimetres(length_m: float) -> str:
    """A length as text.

    >>> millimetres(0.0599)
    '59.9 mm'
    """
    return f"{length_m * 1e3:.1f} mm"


def minutes(seconds: float) -> str:
    """A time as text, for targets.

    >>> minutes(1200.0)
    '20 min'
    """
    return f"{seconds / 60.0:g} min"


def place(tank: FittedTank, body_m: Floats) -> str:
    """A point in body axes as text in the axes and the unit of the tank's mesh."""
    unit = tank.design.unit
    along = ", ".join(f"{round(units.from_si(float(c), unit, 'length'), 2) + 0.0:g}" for c in tank.mesh_m(body_m))
    return f"({along}) {unit} of its mesh"


def pockets_text(tank: FittedTank, left: UnusableAt) -> str:
    """How much is in pockets and where: the lowest point of the only or the largest one."""
    largest = left.pockets[0]
    at = place(tank, largest.lowest_m)
    if len(left.pockets) == 1:
        return f"{litres(left.trapped_m3)} in a pocket, lowest at {at}"
    return f"{litres(left.trapped_m3)} in {len(left.pockets)} pockets, the largest of {litres(largest.volume_m3)}, lowest at {at}"
