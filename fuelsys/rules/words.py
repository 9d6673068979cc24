"""How a rule is written: one function that yields verdicts, with its words beside it, and how figures stand in them.

A figure in a rule's text is a mark that said() turns into a Quantity; the report writes it in the units asked for.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator

from fuelsys.arrays import Floats
from fuelsys.model.built.joining import Joined
from fuelsys.model.built.layout import FittedTank
from fuelsys.model.found.findings import Cost, Outcome, Reach, Rule, Source, Stake, Verdict
from fuelsys.model.found.study import Study
from fuelsys.model.found.unusable import Unusable, UnusableAt
from fuelsys.model.words import Quantity, Words

Judge = Callable[[Study], Iterator[Verdict]]
_NUMBER = r"-?\d+(?:\.\d+)?(?:e[-+]\d+)?"
_MARK = re.compile(f"\x02(length|area|volume|flow|pressure|mass|force|speed|climb|density)([+-]?)((?: {_NUMBER})+)\x03")


def rule(
    *,
    subject: str,
    reach: Reach,
    stake: Stake,
    checks: str,
    why: str,
    mend: str,
    sources: tuple[Source, ...],
    rests_on: tuple[str, ...] = (),
) -> Callable[[Judge], Rule]:
    """Make a function a rule; its name, with hyphens, is the rule's name for ever and says the fault.

    rests_on names the rules that judge the figures which it holds the design against: its pass is marked where they are open.
    """

    def make(judge: Judge) -> Rule:
        return Rule(
            judge.__name__.replace("_", "-"), subject, checks, why, mend, sources, judge, reach, stake, rests_on
        )

    return make


def passed(where: str, evidence: str) -> Verdict:
    """The design is right here; the evidence says by which figures."""
    return Verdict(Outcome.PASS, where, said(evidence))


def failed(where: str, evidence: str, mend: str = "", cost: Cost = Cost()) -> Verdict:  # noqa: B008  frozen
    """The requirement is not met; mend replaces the rule's general words where a figure can be given."""
    return Verdict(Outcome.FAIL, where, said(evidence), said(mend), cost)


def caution(where: str, evidence: str, mend: str = "", cost: Cost = Cost()) -> Verdict:  # noqa: B008  frozen
    """Not against a requirement, but a practitioner would stop here."""
    return Verdict(Outcome.CAUTION, where, said(evidence), said(mend), cost)


def needs(where: str, what: str) -> Verdict:
    """Not checked: the design does not say something. what completes "needs ..."."""
    return Verdict(Outcome.NOT_CHECKED, where, said(f"needs {what}"))


def not_asked(where: str, why: str) -> Verdict:
    """The requirement is not one for this subject; why says so."""
    return Verdict(Outcome.NOT_APPLICABLE, where, said(why))


def before_64(paragraph: str, note: str = "") -> Source:
    """A paragraph of 14 CFR Part 23 as it stood before amendment 23-64."""
    return Source(f"14 CFR {paragraph}", "before amendment 23-64" + (f", {note}" if note else ""))


NO_FITTINGS = "its fittings: none is listed yet"  # completes "needs ..." for a tank that is only a mesh so far
# Less than this reads as nothing: half of the last digit shown.
LEAST_SHOWN_M3 = 0.5e-6


def said(text: str) -> Words:
    """A rule's text with its marks as quantities.

    >>> said(f"holds {litres(0.0015)} of 2")
    ('holds ', Quantity(kind='volume', values_si=(0.0015,), up=False, down=False), ' of 2')
    """
    words: list[str | Quantity] = []
    end = 0
    for mark in _MARK.finditer(text):
        words += [
            text[end : mark.start()],
            Quantity(mark[1], tuple(map(float, mark[3].split())), mark[2] == "+", mark[2] == "-"),
        ]
        end = mark.end()
    return tuple(part for part in (*words, text[end:]) if part)


def _mark(kind: str, *values_si: float) -> str:
    return f"\x02{kind} {' '.join(repr(float(value) + 0.0) for value in values_si)}\x03"


def litres(volume_m3: float) -> str:
    """A quantity."""
    return _mark("volume", volume_m3)


def litres_up(volume_m3: float) -> str:
    """A quantity that is not less than it is, for mends."""
    return _mark("volume+", volume_m3)


def litres_down(volume_m3: float) -> str:
    """A quantity that is not more than it is, for placards."""
    return _mark("volume-", volume_m3)


def millimetres(length_m: float) -> str:
    """A length."""
    return _mark("length", length_m)


def at_least(length_m: float) -> str:
    """A length that is not less than it is, for mends."""
    return _mark("length+", length_m)


def area(area_m2: float) -> str:
    """An area."""
    return _mark("area", area_m2)


def area_up(area_m2: float) -> str:
    """An area that is not less than it is, for mends."""
    return _mark("area+", area_m2)


def flow(flow_m3_s: float) -> str:
    """A flow."""
    return _mark("flow", flow_m3_s)


def pressure(pressure_pa: float) -> str:
    """A pressure."""
    return _mark("pressure", pressure_pa)


def mass(mass_kg: float) -> str:
    """A mass."""
    return _mark("mass", mass_kg)


def force(force_n: float) -> str:
    """A force."""
    return _mark("force", force_n)


def speed(speed_m_s: float) -> str:
    """A speed of fuel or air."""
    return _mark("speed", speed_m_s)


def descent(speed_m_s: float) -> str:
    """A rate of descent."""
    return _mark("climb", speed_m_s)


def density(density_kg_m3: float) -> str:
    """A density."""
    return _mark("density", density_kg_m3)


def spot(place_m: Floats) -> str:
    """A place."""
    return _mark("length", *place_m)


def minutes(seconds: float) -> str:
    """A time as text, for targets.

    >>> minutes(1200.0)
    '20 min'
    """
    return f"{seconds / 60.0:g} min"


def place(tank: FittedTank, body_m: Floats) -> str:
    """A point in body axes, in the axes of the tank's mesh."""
    return f"{spot(tank.mesh_m(body_m))} of its mesh"


def forever(left: Unusable) -> str:
    """What would be unusable if attitudes that are held for a time were held for ever; nothing where each is."""
    return f" ({litres(left.sustained.sustained_m3)} if every attitude is held for ever)" if left.held else ""


def pockets_text(tank: FittedTank, left: UnusableAt) -> str:
    """How much is in pockets and where: the lowest point of the only or the largest one."""
    largest = left.pockets[0]
    at = place(tank, largest.lowest_m)
    if len(left.pockets) == 1:
        return f"{litres(left.trapped_m3)} in a pocket, lowest at {at}"
    return f"{litres(left.trapped_m3)} in {len(left.pockets)} pockets, the largest of {litres(largest.volume_m3)}, lowest at {at}"


def with_open(joined: Joined) -> str:
    """Which valves and selectors join the tanks, to go on with."""
    return f", with {' and '.join(joined.through)}" if joined.through else ""


def both_asked(joined: Joined) -> str:
    """What is needed of a selector, to complete "needs ..."."""
    return f"to know whether {' and '.join(joined.unknown)} has a position for several tanks (both)"
