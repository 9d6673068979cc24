"""The one door between people's units and SI: text with a unit comes in, numbers in SI stay inside, text goes out."""

from __future__ import annotations

import math
import re
from decimal import Decimal
from fractions import Fraction
from typing import Literal, get_args

from fuelsys.errors import UnitError, UnknownUnitError

_GAL, _IMP_GAL = Fraction("231") * Fraction("0.0254") ** 3, Fraction("0.00454609")  # 231 in3, and by definition
_LB, _G0, _FT = Fraction("0.45359237"), Fraction("9.80665"), Fraction("0.3048")
# Kind -> what a person may write -> what one of it is in SI, exact but for pi ("gal" alone is refused). By definition, from
# NIST SP 811 (2008), appendix B: avoirdupois pound, mechanical horsepower (550 ft lbf/s); the sources stand in test_units.
_FACTORS: dict[str, dict[str, Fraction | int | str]] = {
    "length": {"mm": "1e-3", "cm": "1e-2", "m": 1, "in": "0.0254", "ft": _FT, "um": "1e-6"},
    "area": {"mm2": "1e-6", "cm2": "1e-4", "m2": 1, "in2": Fraction("0.0254") ** 2, "ft2": _FT**2},
    "volume": {
        "L": "1e-3", "l": "1e-3", "mL": "1e-6", "ml": "1e-6", "m3": 1, "cm3": "1e-6",
        "in3": Fraction("0.0254") ** 3, "ft3": _FT**3, "US gal": _GAL, "US qt": _GAL / 4, "imp gal": _IMP_GAL,
        "US fl oz": _GAL / 128, "imp fl oz": _IMP_GAL / 160,
    },
    "flow": {
        "L/h": Fraction(1, 3_600_000), "L/min": Fraction(1, 60_000), "mL/min": Fraction(1, 60_000_000), "US gal/h": _GAL / 3600,
        "US gal/min": _GAL / 60, "imp gal/h": _IMP_GAL / 3600, "m3/s": 1,
    },
    "speed": {"m/s": 1, "ft/s": _FT, "ft/min": _FT / 60},
    "mass": {"kg": 1, "g": "1e-3", "lb": _LB},
    "force": {"N": 1, "lbf": _LB * _G0},
    "moment": {"kg m": 1, "lb in": _LB * Fraction("0.0254")},  # of a mass, as a weight-and-balance sheet has it
    "density": {"kg/m3": 1, "kg/L": 1000, "g/cm3": 1000, "lb/US gal": _LB / _GAL},
    "angle": {"deg": Fraction(math.pi) / 180, "°": Fraction(math.pi) / 180, "rad": 1},
    "acceleration": {"g": _G0, "m/s2": 1},
    "time": {"min": 60, "h": 3600, "s": 1},
    "power": {"W": 1, "kW": 1000, "hp": 550 * _FT * _LB * _G0},
    "temperature": {"K": 1, "degC": 1, "°C": 1, "degF": Fraction(5, 9), "°F": Fraction(5, 9)},
    "pressure": {"psi": _LB * _G0 / Fraction("0.0254") ** 2, "Pa": 1, "kPa": 1000, "bar": 100_000},
    "viscosity": {"mm2/s": "1e-6", "cSt": "1e-6", "m2/s": 1},
    "mesh": {"1/in": 1 / Fraction("0.0254"), "1/cm": 100},
    "share": {"%": "1e-2"},
}  # fmt: skip
_ZEROS: dict[str, str | Fraction] = {  # in K
    "degC": "273.15", "°C": "273.15", "degF": Fraction("459.67") * 5 / 9, "°F": Fraction("459.67") * 5 / 9,
}  # fmt: skip
# Kind -> unit -> its slope and its zero in SI, each rounded once: value_si = slope * value + zero.
UNITS = {
    kind: {unit: (float(Fraction(factor)), float(Fraction(_ZEROS.get(unit, "0")))) for unit, factor in factors.items()}
    for kind, factors in _FACTORS.items()
}
# What volumes and lengths of a design may be shown in.
VolumeUnit = Literal["L", "mL", "US gal", "imp gal", "m3"]
LengthUnit = Literal["mm", "cm", "m", "in", "ft"]
VOLUME_UNITS: tuple[str, ...] = get_args(VolumeUnit)
LENGTH_UNITS: tuple[str, ...] = get_args(LengthUnit)
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

# A number, then perhaps a unit.
_NUMBER_AND_UNIT = re.compile(r"([+-]?(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d+)?)\s*(\S.*)?", re.ASCII | re.DOTALL)
_EXAMPLES = {
    "length": "12.5 mm", "area": "240 mm2", "volume": "38 L", "flow": "20 L/h", "speed": "1.5 m/s", "mass": "3 kg", "density": "0.72 kg/L",
    "angle": "12 deg", "acceleration": "0.25 g", "time": "30 min", "power": "500 W", "temperature": "15 degC", "mesh": "12 1/in",
    "share": "2 %", "pressure": "3.5 psi", "viscosity": "1.5 mm2/s", "force": "500 N",
    "moment": "40 kg m",
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


def to_si(value: float, unit: str, kind: str) -> float:
    """A number in one of the kind's units -> SI.

    >>> round(to_si(9.0, "US gal/h", "flow") * 3.6e6, 6)
    34.068706
    """
    slope, offset = UNITS[kind][unit]
    return slope * value + offset


def from_si(value_si: float, unit: str, kind: str) -> float:
    """SI -> a number in one of the kind's units.

    >>> from_si(0.0254, "in", "length")
    1.0
    """
    slope, offset = UNITS[kind][unit]
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
    return UnknownUnitError(found, mend=f"Use one of: {', '.join(UNITS[kind])}.")


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
        raise UnknownUnitError(f"found the unit {shown(unit)}", mend=f"Use one of: {', '.join(UNITS[kind])}.")
    return UNITS[kind][named(unit)][0]


def minutes(seconds: float, *, up: bool = False) -> str:
    """Minutes that somebody counts on, to a tenth: never more than there are; up: never less, of what is missing or apart.

    What computing leaves in the last place, a hundredth of a second, decides nothing.

    >>> minutes(598.0), minutes(600.0), minutes(-1.0), minutes(598.0, up=True)
    ('9.9', '10.0', '-0.1', '10.0')
    """
    tenths = math.ceil(seconds / 6.0 - 1e-3) if up else math.floor(seconds / 6.0 + 1e-3)
    return f"{tenths / 10.0:.1f}"
