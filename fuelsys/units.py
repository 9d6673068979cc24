"""The one door between people's units and SI: text with a unit comes in, numbers in SI stay inside, text goes out."""

from __future__ import annotations

import math
import re
from decimal import Decimal
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
        "US fl oz": "fluid_ounce", "imp fl oz": "imperial_fluid_ounce",
    },
    "flow": {
        "L/h": "liter/hour", "L/min": "liter/minute", "mL/min": "milliliter/minute", "US gal/h": "gallon/hour",
        "US gal/min": "gallon/minute", "imp gal/h": "imperial_gallon/hour", "m3/s": "m**3/s",
    },
    "speed": {"m/s": "m/s", "ft/s": "foot/s", "ft/min": "foot/minute"},
    "mass": {"kg": "kg", "g": "gram", "lb": "pound"},
    "density": {"kg/m3": "kg/m**3", "kg/L": "kg/liter", "g/cm3": "gram/cm**3", "lb/US gal": "pound/gallon"},
    "angle": {"deg": "degree", "°": "degree", "rad": "radian"},
    "acceleration": {"g": "standard_gravity", "m/s2": "m/s**2"},
    "time": {"min": "minute", "h": "hour", "s": "second"},
    "power": {"W": "watt", "kW": "kilowatt", "hp": "horsepower"},
    "temperature": {"K": "kelvin", "degC": "degC", "°C": "degC", "degF": "degF", "°F": "degF"},
    "pressure": {"psi": "psi", "Pa": "pascal", "kPa": "kilopascal", "bar": "bar"},
    "mesh": {"1/in": "1/inch", "1/cm": "1/cm"},
    "share": {"%": "percent"},
}  # fmt: skip
# How people spell the same units; each word of a unit, between blanks and strokes, is looked up by itself.
_SPELLED = {
    "mm": "millimetre millimetres millimeter millimeters", "cm": "centimetre centimetres centimeter centimeters",
    "m": "metre metres meter meters", "in": "inch inches", "ft": "foot feet",
    "um": "µm μm micron microns micrometre micrometres micrometer micrometers",
    "L": "litre litres liter liters", "mL": "millilitre millilitres milliliter milliliters",
    "gal": "gallon gallons", "qt": "quart quarts", "fl": "fluid", "oz": "ounce ounces", "imp": "imperial",
    "US": "us u.s.", "kg": "kilogram kilograms", "lb": "lbs pound pounds",
    "deg": "degree degrees", "rad": "radian radians", "s": "sec second seconds", "min": "minute minutes", "h": "hr hour hours",
    "W": "watt watts", "kW": "kilowatt kilowatts", "hp": "horsepower", "%": "percent",
}  # fmt: skip
_SPELLINGS = {spelling: unit for unit, spellings in _SPELLED.items() for spelling in spellings.split()}
SI = {
    "length": "m", "area": "m**2", "volume": "m**3", "flow": "m**3/s", "speed": "m/s", "mass": "kg", "density": "kg/m**3",
    "angle": "radian", "acceleration": "m/s**2", "time": "second", "power": "watt", "temperature": "kelvin", "pressure": "pascal",
    "mesh": "1/m", "share": "dimensionless",
}  # fmt: skip

# A number, then perhaps a unit. A pound is the avoirdupois pound, an hp the mechanical one: the readings that pint names above.
_NUMBER_AND_UNIT = re.compile(r"([+-]?(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d+)?)\s*(\S.*)?", re.ASCII | re.DOTALL)
_EXAMPLES = {
    "length": "12.5 mm", "area": "240 mm2", "volume": "38 L", "flow": "20 L/h", "speed": "1.5 m/s", "mass": "3 kg", "density": "0.72 kg/L",
    "angle": "12 deg", "acceleration": "0.25 g", "time": "30 min", "power": "500 W", "temperature": "15 degC", "mesh": "12 1/in",
    "share": "2 %", "pressure": "3.5 psi",
}  # fmt: skip
_MOST_SHOWN = 60


def noun(kind: str, article: bool = True) -> str:
    """A kind as a word, with its article, for messages.

    >>> noun("length"), noun("area"), noun("mesh", article=False)
    ('a length', 'an area', 'mesh count')
    """
    word = "mesh count" if kind == "mesh" else kind
    return f"{'an' if word[0] in 'aeiou' else 'a'} {word}" if article else word


def shown(value: object) -> str:
    """A value of a design file as a message shows it: text in quotes, on one line, cut short where it is long.

    >>> shown("12 mm"), shown(True), shown([1, 2]), shown({})
    ('"12 mm"', 'true', 'a list of 2', 'a table')
    """
    if isinstance(value, bool):
        return str(value).lower()
    if isinstance(value, list | tuple):
        return f"a list of {len(value)}"
    if isinstance(value, dict):
        return "a table"
    text = value if isinstance(value, str) else str(value)
    text = "".join(c if c.isprintable() else f"\\x{ord(c):02x}" for c in text)
    text = text if len(text) <= _MOST_SHOWN else f"{text[: _MOST_SHOWN - 3]}..."
    return f'"{text}"' if isinstance(value, str) else text


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


def written(value_si: float, unit: str, kind: str) -> str:
    """A number with its unit in five digits at most, for messages.

    >>> written(1.0668, "in", "length"), written(0.13014, "L", "volume")
    ('42 in', '130.14 L')
    """
    return f"{plain(from_si(value_si, unit, kind), 5)} {unit}"


def named(unit: str) -> str:
    """A unit as UNITS has it, however it is spelled; what is no unit stays what it is.

    >>> named("inches"), named("imperial gallons/hour"), named("m³"), named("cubits")
    ('in', 'imp gal/h', 'm3', 'cubits')
    """
    text = " ".join(unit.replace("³", "3").replace("²", "2").split())
    return re.sub(r"[^ /\d]+", lambda word: _SPELLINGS.get(word[0].lower(), word[0]), text)


def plain(value: float, digits: int) -> str:
    """A number to so many significant digits as people write it: no power of ten, no negative zero.

    >>> plain(316.4, 2), plain(1234567.0, 3), plain(0.000123, 2), plain(-0.0, 3)
    ('320', '1230000', '0.00012', '0')
    """
    return f"{Decimal(f'{value + 0.0:.{digits}g}'):f}"


def split(text: object, kind: str) -> tuple[float, str]:
    """Text with a written unit -> the number and the unit as UNITS has it; UnitError for all else.

    >>> split("9 US  gal/h", "flow")
    (9.0, 'US gal/h')
    """
    written = f'Write {noun(kind)} as a number and a unit in quotes, such as "{_EXAMPLES[kind]}".'
    if not isinstance(text, str):
        bare = isinstance(text, int | float) and not isinstance(text, bool)
        raise UnitError(f"found {'the bare number ' if bare else ''}{shown(text)}", mend=written)
    if "," in text:
        raise UnitError(
            f"found {shown(text)}, with a comma", mend="Write the decimals after a point, and no other commas."
        )
    match = _NUMBER_AND_UNIT.fullmatch(text.strip().replace("\N{MINUS SIGN}", "-"))
    if match is None:
        raise UnitError(f"found {shown(text)}", mend=written)
    if match[2] is None:
        raise UnitError(f"found {shown(text)}, without a unit", mend=written)
    unit = named(match[2])
    if unit not in UNITS[kind]:
        raise _unknown(text, unit, kind)
    return float(match[1]), unit


def _unknown(text: str, unit: str, kind: str) -> UnitError:
    us, imperial = f"US {unit}", f"imp {unit}"
    if us in UNITS[kind]:
        both = f'"{us}" or "{imperial}"' if imperial in UNITS[kind] else f'"{us}"'
        return UnitError(f"found {shown(text)}, which may be US or imperial", mend=f"Write {both}.")
    found = f"found {shown(text)}: {shown(unit)} is not a unit of {noun(kind, article=False)}"
    return UnitError(found, mend=f"Use one of: {', '.join(UNITS[kind])}.")


def parse(text: object, kind: str) -> float:
    """Text with a written unit -> SI; UnitError for a bare number, an unknown unit or a number that is not finite.

    >>> parse("12.5 in", "length")
    0.3175
    """
    value_si = to_si(*split(text, kind), kind)
    if not math.isfinite(value_si):
        raise UnitError(f"found {shown(text)}, which is too large", mend=f"Give {noun(kind)} within reason.")
    return value_si


def scale(unit: str, kind: str = "length") -> float:
    """SI value of one unit, for a unit that stands alone (a mesh's unit, a report's unit).

    >>> scale("mm")
    0.001
    """
    if named(unit) not in UNITS[kind]:
        raise UnitError(f"found the unit {shown(unit)}", mend=f"Use one of: {', '.join(UNITS[kind])}.")
    return _line(kind, named(unit))[0]
