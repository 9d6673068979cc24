"""The one door between people's units and SI: text with a unit comes in, numbers in SI stay inside, text goes out."""

from __future__ import annotations

import math
import re
from functools import lru_cache

import pint

from fuelsys.errors import UnitError

# What a person may write -> what the units library calls it. Temperatures and angles included; "gal" alone is refused.
UNITS: dict[str, dict[str, str]] = {
    "length": {"mm": "mm", "cm": "cm", "m": "m", "in": "inch", "ft": "foot", "um": "um"},
    "area": {"mm2": "mm**2", "cm2": "cm**2", "m2": "m**2", "in2": "inch**2", "ft2": "foot**2"},
    "volume": {
        "L": "liter", "l": "liter", "mL": "milliliter", "ml": "milliliter", "m3": "m**3", "cm3": "cm**3",
        "in3": "inch**3", "ft3": "foot**3", "US gal": "gallon", "US qt": "quart", "imp gal": "imperial_gallon",
    },
    "flow": {
        "L/h": "liter/hour", "L/min": "liter/minute", "mL/min": "milliliter/minute", "US gal/h": "gallon/hour",
        "US gal/min": "gallon/minute", "imp gal/h": "imperial_gallon/hour", "m3/s": "m**3/s",
    },
    "mass": {"kg": "kg", "g": "gram", "lb": "pound"},
    "density": {"kg/m3": "kg/m**3", "kg/L": "kg/liter", "g/cm3": "gram/cm**3", "lb/US gal": "pound/gallon"},
    "angle": {"deg": "degree", "°": "degree", "rad": "radian"},
    "acceleration": {"g": "standard_gravity", "m/s2": "m/s**2"},
    "time": {"min": "minute", "h": "hour", "s": "second"},
    "power": {"W": "watt", "kW": "kilowatt", "hp": "horsepower"},
    "temperature": {"K": "kelvin", "degC": "degC", "°C": "degC", "degF": "degF", "°F": "degF"},
    "mesh": {"1/in": "1/inch", "1/cm": "1/cm"},
    "share": {"%": "percent"},
}  # fmt: skip
SI = {
    "length": "m", "area": "m**2", "volume": "m**3", "flow": "m**3/s", "mass": "kg", "density": "kg/m**3", "angle": "radian",
    "acceleration": "m/s**2", "time": "second", "power": "watt", "temperature": "kelvin", "mesh": "1/m", "share": "dimensionless",
}  # fmt: skip

# A pound of force or an avoirdupois pound, an hp or a metric hp: the trade's reading is the one that pint names above.
_NUMBER_AND_UNIT = re.compile(r"\s*([+-]?(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d+)?)\s*(\S.*?)?\s*", re.ASCII | re.DOTALL)
_EXAMPLES = {
    "length": "12.5 mm", "area": "240 mm2", "volume": "38 L", "flow": "20 L/h", "mass": "3 kg", "density": "0.72 kg/L",
    "angle": "12 deg", "acceleration": "0.25 g", "time": "30 min", "power": "500 W", "temperature": "15 degC", "mesh": "12 1/in",
    "share": "2 %",
}  # fmt: skip


@lru_cache(maxsize=1)
def _registry() -> pint.UnitRegistry[float]:
    return pint.UnitRegistry(autoconvert_offset_to_baseunit=True)


@lru_cache(maxsize=256)
def _line(kind: str, unit: str) -> tuple[float, float]:
    """Slope and offset from a unit to SI: value_si = slope * value + offset."""
    registry, name = _registry(), UNITS[kind][unit]
    zero, one = (float(registry.Quantity(v, name).to(SI[kind]).magnitude) for v in (0.0, 1.0))
    return one - zero, zero


def to_si(value: float, unit: str, kind: str) -> float:
    """A number in one of the kind's units -> SI.

    >>> round(to_si(9.0, "US gal/h", "flow") * 3.6e6, 6)
    34.068706
    """
    slope, offset = _line(kind, unit)
    return slope * value + offset


def from_si(value_si: float, unit: str, kind: str) -> float:
    """SI -> a number in one of the kind's units.

    >>> from_si(0.0254, "in", "length")
    1.0
    """
    slope, offset = _line(kind, unit)
    return (value_si - offset) / slope


def parse(text: object, kind: str) -> float:
    """Text with a written unit -> SI; UnitError for a bare number, an unknown unit or a number that is not finite.

    >>> parse("12.5 in", "length")
    0.3175
    """
    example = _EXAMPLES[kind]
    if isinstance(text, bool) or not isinstance(text, str | int | float):
        raise UnitError(f"found {text!r}", mend=f'Write a {kind} as text with its unit, such as "{example}".')
    if not isinstance(text, str):
        raise UnitError(f"found the bare number {text!r}", mend=f'Write the {kind} with its unit, such as "{example}".')
    match = _NUMBER_AND_UNIT.fullmatch(text)
    if match is None:
        raise UnitError(f"found {text!r}", mend=f'Write a {kind} as a number and a unit, such as "{example}".')
    number, unit = float(match[1]), match[2]
    if unit is None:
        raise UnitError(f'found "{text}" without a unit', mend=f'Write the {kind} with its unit, such as "{example}".')
    unit = " ".join(unit.replace("³", "3").replace("²", "2").split())
    if unit not in UNITS[kind]:
        known = ", ".join(dict.fromkeys(UNITS[kind]))
        raise UnitError(f'found "{text}", whose unit is not one of a {kind}', mend=f"Use one of: {known}.")
    value_si = to_si(number, unit, kind)
    if not math.isfinite(value_si):
        raise UnitError(f'found "{text}", which is not finite', mend=f'Write a {kind} such as "{example}".')
    return value_si


def scale(unit: str, kind: str = "length") -> float:
    """SI value of one unit, for a unit that stands alone (a mesh's unit, a report's unit).

    >>> scale("mm")
    0.001
    """
    if unit not in UNITS[kind]:
        raise UnitError(f'found the unit "{unit}"', mend=f"Use one of: {', '.join(UNITS[kind])}.")
    return _line(kind, unit)[0]
