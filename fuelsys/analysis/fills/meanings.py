"""What a slip of the pen may have been: units mistaken, digits switched, a can forgotten, a stick measured from its other end."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence

from fuelsys import units
from fuelsys.analysis.fills.pouring import Poured
from fuelsys.model.stated.fillsheet import Typed

# Units that people pour and measure in; others stand too near to one of these, or nobody fills a tank with them.
_AMOUNTS = (("L", "volume"), ("US gal", "volume"), ("imp gal", "volume"), ("kg", "mass"), ("lb", "mass"))
_LENGTHS = ("mm", "cm", "in")
_SHARE = 0.02  # of an amount: how near a meaning must come, beside the fit's own doubt
_MORE = 1.5  # times the half-width of 95 %
_MOST = 3
_CANS = (1, 2, 3)

Meaning = tuple[float, str]


def switched(number: str) -> Iterator[tuple[float, str]]:
    """What a number is with two neighbouring digits exchanged, or its point moved by one place.

    >>> list(switched("68")), [text for _, text in switched("11.2")]
    ([(86.0, '86'), (680.0, '680'), (6.8, '6.8')], ['12.1', '112', '1.12'])
    """
    places = [k for k, c in enumerate(number) if c.isdigit()]
    for a, b in zip(places, places[1:], strict=False):
        if number[a] != number[b]:
            letters = list(number)
            letters[a], letters[b] = letters[b], letters[a]
            if letters[0] != "0" or letters[1] == ".":  # nobody writes 06
                yield float("".join(letters)), "".join(letters)
    for factor in (10.0, 0.1):
        value = float(number) * factor
        yield float(f"{value:.9g}"), f"{value:.9g}"


def _si(value: float, unit: str, kind: str, density_kg_m3: float) -> float:
    """An amount as a volume."""
    si = units.to_si(value, unit, kind)
    return si / density_kg_m3 if kind == "mass" else si


def _other_units(typed: Typed, density_kg_m3: float) -> Iterator[Meaning]:
    value = float(typed.number)
    for unit, kind in _AMOUNTS:
        if unit != typed.unit:
            words = f"{typed.number} {unit} rather than {typed.number} {typed.unit}: a unit is mistaken"
            yield _si(value, unit, kind, density_kg_m3), words


def can(poured: Sequence[Poured]) -> Typed | None:
    """The amount that was poured most often, the first of several."""
    amounts = [one.entry.amount for one in poured if one.entry.amount and not one.entry.drained and one.step_m3 > 0.0]
    if not amounts:
        return None
    counted = Counter((one.number, one.unit) for one in amounts)
    most = counted.most_common(1)[0][0]
    return next(one for one in amounts if (one.number, one.unit) == most)


def of_amount(one: Poured, density_kg_m3: float) -> Iterator[Meaning]:
    """What a line's amount may have been: by how much the total moves then, with words."""
    typed = one.entry.amount
    if typed is None or not typed.si > 0.0:
        return
    sign, number = -1.0 if one.entry.drained else 1.0, float(typed.number)
    for value, words in _other_units(typed, density_kg_m3):
        yield sign * value - one.step_m3, words
    for value, words in switched(typed.number):
        slip = "digits are switched" if 0.11 * number < value < 9.0 * number else "the point has moved"
        now = f"{typed.number} {typed.unit}"
        moves = sign * _si(value, typed.unit, typed.kind, density_kg_m3) - one.step_m3
        yield moves, f"{words} {typed.unit} rather than {now}: {slip}"


def of_total(
    poured: Sequence[Poured], since: Sequence[Poured], off_m3: float, within_m3: float, density_kg_m3: float
) -> list[tuple[int, str]]:
    """What may have gone wrong in one of some lines (since) where the total is off by noted less true: lines with words."""
    missing = -off_m3
    found: list[tuple[float, int, str]] = []
    usual = can(poured)
    for one in since:
        typed, line = one.entry.amount, one.entry.line
        sign = -1.0 if one.entry.drained else 1.0
        said: list[Meaning] = []
        for count in _CANS if usual else ():
            assert usual is not None
            each = _si(usual.si, {"mass": "kg", "volume": "m3"}[usual.kind], usual.kind, density_kg_m3)
            many = (
                f"a can of {usual.number} {usual.unit}"
                if count == 1
                else f"{count} cans of {usual.number} {usual.unit}"
            )
            said.append((count * each, f"{many} poured before this line and not noted"))
        if typed is not None and typed.si > 0.0:
            said.append(
                (
                    -one.step_m3,
                    f"{typed.number} {typed.unit} noted and not {'drained' if sign < 0 else 'poured'}, or noted twice",
                )
            )
            said += of_amount(one, density_kg_m3)
        for moves, words in said:
            if moves * missing > 0.0 and abs(moves - missing) <= _MORE * within_m3 + _SHARE * abs(moves):
                found.append((abs(moves - missing), line, words))
    return [(line, words) for _, line, words in sorted(found, key=lambda one: one[0])[:_MOST]]


def of_reading(typed: Typed, true_m: float, within_m: float, length_m: float) -> list[str]:
    """What may have gone wrong in a reading that should have been another."""
    found: list[Meaning] = []
    for unit in _LENGTHS:
        if unit != typed.unit:
            words = f"{typed.number} {unit} rather than {typed.number} {typed.unit}: a unit is mistaken"
            found.append((units.to_si(float(typed.number), unit, "length"), words))
    for value, words in switched(typed.number):
        same = sorted(words) == sorted(typed.number)
        slip = "digits are switched" if same else "the point has moved"
        found.append(
            (
                units.to_si(value, typed.unit, "length"),
                f"{words} {typed.unit} rather than {typed.number} {typed.unit}: {slip}",
            )
        )
    found.append((length_m - typed.si, "measured from the stick's other end"))
    near = [(abs(value - true_m), words) for value, words in found if abs(value - true_m) <= _MORE * within_m]
    return [words for _, words in sorted(near)[:_MOST]]


def of_all_amounts(typed: Typed, factor: float, density_kg_m3: float, near: float) -> str | None:
    """Which unit all amounts may really be in, where they should be so many times what is noted; None where none fits."""
    now = _si(float(typed.number), typed.unit, typed.kind, density_kg_m3)
    for unit, kind in _AMOUNTS:
        value = _si(float(typed.number), unit, kind, density_kg_m3)
        if unit != typed.unit and 1.0 / near < value / now / factor < near:
            return f"all amounts are in {unit} rather than {typed.unit}"
    return None
