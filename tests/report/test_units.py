"""The door of units: every unit against a value from outside, there and back again, and what is refused."""

from __future__ import annotations

import re
from decimal import Decimal
from math import inf, nan

import pint
import pytest
from hypothesis import given
from hypothesis import strategies as st
from numpy.testing import assert_allclose

from fuelsys import units
from fuelsys.errors import UnitError
from fuelsys.report.shown import Shown
from fuelsys.report.table import Column, Table, as_json

# Kind, unit -> one of it in SI, as printed. All from memory: the SI Brochure (9th edition, 2019) for decimal multiples and
# for minute, hour, degree and litre (table 8); NIST SP 811 (2008), appendix B.8, for the rest, where bold values are exact.
EXACT, SP811, SI_BROCHURE = "NIST SP 811 B.8, exact", "NIST SP 811 B.8", "SI Brochure"
PRINTED: dict[tuple[str, str], tuple[str, str]] = {
    ("length", "mm"): ("1E-3", SI_BROCHURE),
    ("length", "cm"): ("1E-2", SI_BROCHURE),
    ("length", "m"): ("1", SI_BROCHURE),
    ("length", "um"): ("1E-6", SI_BROCHURE),
    ("length", "in"): ("2.54E-2", EXACT),
    ("length", "ft"): ("3.048E-1", EXACT),
    ("area", "mm2"): ("1E-6", SI_BROCHURE),
    ("area", "cm2"): ("1E-4", SI_BROCHURE),
    ("area", "m2"): ("1", SI_BROCHURE),
    ("area", "in2"): ("6.4516E-4", EXACT),
    ("area", "ft2"): ("9.290304E-2", EXACT),
    ("volume", "L"): ("1E-3", SI_BROCHURE),
    ("volume", "l"): ("1E-3", SI_BROCHURE),
    ("volume", "mL"): ("1E-6", SI_BROCHURE),
    ("volume", "ml"): ("1E-6", SI_BROCHURE),
    ("volume", "m3"): ("1", SI_BROCHURE),
    ("volume", "cm3"): ("1E-6", SI_BROCHURE),
    ("volume", "in3"): ("1.6387064E-5", "NIST SP 811 B.8 prints 1.638706E-05; the cube of 25.4 mm"),
    ("volume", "ft3"): ("2.831685E-2", SP811),
    ("volume", "US gal"): ("3.785412E-3", SP811),
    ("volume", "US qt"): ("9.463529E-4", SP811),
    ("volume", "imp gal"): ("4.54609E-3", EXACT),
    ("volume", "US fl oz"): ("2.957353E-5", SP811),
    ("volume", "imp fl oz"): ("2.841306E-5", SP811),
    ("speed", "m/s"): ("1", SI_BROCHURE),
    ("speed", "ft/s"): ("3.048E-1", EXACT),
    ("speed", "ft/min"): ("5.08E-3", EXACT),
    ("flow", "L/h"): ("2.777778E-7", "1E-3 / 3600"),
    ("flow", "L/min"): ("1.666667E-5", "1E-3 / 60"),
    ("flow", "mL/min"): ("1.666667E-8", "1E-6 / 60"),
    ("flow", "US gal/h"): ("1.051503E-6", "3.785412E-3 / 3600"),
    ("flow", "US gal/min"): ("6.309020E-5", SP811),
    ("flow", "imp gal/h"): ("1.262803E-6", "4.54609E-3 / 3600"),
    ("flow", "m3/s"): ("1", SI_BROCHURE),
    ("mass", "kg"): ("1", SI_BROCHURE),
    ("mass", "g"): ("1E-3", SI_BROCHURE),
    ("mass", "lb"): ("4.5359237E-1", "NIST SP 811 B.8, footnote: exact"),
    ("force", "N"): ("1", SI_BROCHURE),
    ("force", "lbf"): ("4.448222", SP811),
    ("moment", "kg m"): ("1", SI_BROCHURE),
    ("moment", "lb in"): ("1.152125E-2", "NIST SP 811 B.8: 4.5359237E-1 times 2.54E-2"),
    ("density", "kg/m3"): ("1", SI_BROCHURE),
    ("density", "kg/L"): ("1E+3", SI_BROCHURE),
    ("density", "g/cm3"): ("1E+3", SI_BROCHURE),
    ("density", "lb/US gal"): ("1.198264E+2", SP811),
    ("angle", "deg"): ("1.745329E-2", SP811),
    ("angle", "°"): ("1.745329E-2", SP811),
    ("angle", "rad"): ("1", SI_BROCHURE),
    ("acceleration", "g"): ("9.80665", EXACT),
    ("acceleration", "m/s2"): ("1", SI_BROCHURE),
    ("time", "s"): ("1", SI_BROCHURE),
    ("time", "min"): ("60", SI_BROCHURE),
    ("time", "h"): ("3600", SI_BROCHURE),
    ("power", "W"): ("1", SI_BROCHURE),
    ("power", "kW"): ("1E+3", SI_BROCHURE),
    ("power", "hp"): ("7.456999E+2", "NIST SP 811 B.8, horsepower (550 ft lbf/s)"),
    ("viscosity", "mm2/s"): ("1E-6", SI_BROCHURE),
    ("viscosity", "cSt"): ("1E-6", EXACT),
    ("viscosity", "m2/s"): ("1", SI_BROCHURE),
    ("mesh", "1/in"): ("39.37008", "1 / 2.54E-2"),
    ("mesh", "1/cm"): ("1E+2", SI_BROCHURE),
    ("pressure", "Pa"): ("1", SI_BROCHURE),
    ("pressure", "kPa"): ("1E+3", SI_BROCHURE),
    ("pressure", "bar"): ("1E+5", EXACT),
    ("pressure", "psi"): ("6.894757E+3", SP811),
    ("share", "%"): ("1E-2", "SI Brochure, section 5.4.7"),
}
DECIMAL_EXACT = {EXACT, SI_BROCHURE}

# NIST SP 811 B.8: T/K = (t/°F + 459.67)/1.8 and T/K = t/°C + 273.15; from memory. Ice melts at 32 °F and at 0 °C.
TEMPERATURES = [
    ("K", 300.0, 300.0),
    ("degC", 0.0, 273.15),
    ("°C", 15.0, 288.15),
    ("degF", 32.0, 273.15),
    ("°F", -40.0, 233.15),
    ("degF", -459.67, 0.0),
]


def half_last_digit(printed: str) -> float:
    return float(Decimal(5).scaleb(int(Decimal(printed).as_tuple().exponent) - 1))


@pytest.mark.parametrize(("kind", "unit"), list(PRINTED))
def test_one_of_each_unit(kind: str, unit: str) -> None:
    printed, source = PRINTED[kind, unit]
    exact = source in DECIMAL_EXACT or "exact" in source
    tolerance = 0.0 if exact else half_last_digit(printed)
    assert abs(units.parse(f"1 {unit}", kind) - float(printed)) <= tolerance
    assert abs(units.scale(unit, kind) - float(printed)) <= tolerance


@pytest.mark.parametrize(("unit", "value", "kelvin"), TEMPERATURES)
def test_temperatures(unit: str, value: float, kelvin: float) -> None:
    assert_allclose(units.parse(f"{value} {unit}", "temperature"), kelvin, atol=1e-10)
    assert_allclose(units.from_si(kelvin, unit, "temperature"), value, atol=1e-10)


def test_no_unit_is_left_out() -> None:
    stated = {(kind, unit) for kind, known in units.UNITS.items() for unit in known}
    assert stated == set(PRINTED) | {("temperature", unit) for unit in ("K", "degC", "°C", "degF", "°F")}


# The kinds' SI units and our units as the library pint spells them, an independent second source of the factors.
SI = {
    "length": "m", "area": "m**2", "volume": "m**3", "flow": "m**3/s", "speed": "m/s", "mass": "kg", "force": "N", "moment": "kg*m",
    "density": "kg/m**3",
    "angle": "rad", "acceleration": "m/s**2", "time": "s", "power": "W", "temperature": "K", "pressure": "Pa", "mesh": "1/m",
}  # fmt: skip
SPELLED = [
    ("US fl oz", "fluid_ounce"), ("imp fl oz", "imperial_fluid_ounce"), ("US gal", "gallon"), ("imp gal", "imperial_gallon"),
    ("US qt", "quart"), ("°F", "degF"), ("°C", "degC"), ("°", "degree"), ("hp", "horsepower"), ("1/in", "1/inch"),
    ("kg m", "kg*m"), ("lb in", "lb*inch"),
]  # fmt: skip


@pytest.fixture(scope="module")
def registry() -> pint.UnitRegistry:
    return pint.UnitRegistry(autoconvert_offset_to_baseunit=True, non_int_type=Decimal)


@pytest.mark.parametrize(("kind", "unit"), [(k, u) for k in SI for u in units.UNITS[k]])
def test_against_a_library_of_units(registry: pint.UnitRegistry, kind: str, unit: str) -> None:
    name = {"acceleration": {"g": "standard_gravity"}}.get(kind, {}).get(unit, unit)
    for ours, theirs in SPELLED:
        name = name.replace(ours, theirs)
    name = re.sub(r"(?<=[a-z])([23])$", r"**\1", name.replace("kg/m3", "kg/m**3").replace("g/cm3", "g/cm**3"))
    name = name.replace("m3/s", "m**3/s")
    for value in ("0", "1", "37.25"):
        theirs_si = registry.Quantity(Decimal(value), name).to(SI[kind]).magnitude
        assert_allclose(units.to_si(float(value), unit, kind), float(theirs_si), rtol=1e-15)


@pytest.mark.parametrize(
    ("text", "kind", "si"), [("1 L", "volume", 0.001), ("1 ft", "length", 0.3048), ("1 mL", "volume", 1e-6)]
)
def test_to_the_last_bit(text: str, kind: str, si: float) -> None:
    assert units.parse(text, kind) == si


ANY_UNIT = st.sampled_from([(kind, unit) for kind, known in units.UNITS.items() for unit in known])
NUMBERS = st.floats(-1e9, 1e9, allow_nan=False, allow_infinity=False)


@given(ANY_UNIT, NUMBERS)
def test_there_and_back_again(which: tuple[str, str], value: float) -> None:
    kind, unit = which
    value_si = units.to_si(value, unit, kind)
    # Temperatures are moved by up to 460 degrees on the way, so that small ones keep their absolute places only.
    assert_allclose(
        units.from_si(value_si, unit, kind), value, rtol=1e-14, atol=1e-12 if kind == "temperature" else 1e-300
    )


@given(ANY_UNIT, NUMBERS)
def test_text_is_read_as_the_number_and_the_unit(which: tuple[str, str], value: float) -> None:
    kind, unit = which
    assert units.split(f" {value!r}  {unit} ", kind) == (value, unit)
    assert units.parse(f"{value!r}{unit}", kind) == units.to_si(value, unit, kind)


@given(ANY_UNIT, NUMBERS, NUMBERS)
def test_more_is_more(which: tuple[str, str], one: float, two: float) -> None:
    kind, unit = which
    assert (one < two) >= (units.to_si(one, unit, kind) < units.to_si(two, unit, kind))


@pytest.mark.parametrize(
    ("text", "kind", "value_si"),
    [
        ("12.5 in", "length", 0.3175),
        ("12.5in", "length", 0.3175),
        (".5 m", "length", 0.5),
        ("5. m", "length", 5.0),
        ("+5e-1 m", "length", 0.5),
        ("-5 mm", "length", -0.005),
        ("\N{MINUS SIGN}5 mm", "length", -0.005),
        ("5\N{NO-BREAK SPACE}mm", "length", 0.005),
        ("1 US  gal", "volume", 0.003785411784),
        ("2 m³", "volume", 2.0),
        ("2 m²", "area", 2.0),
        ("12 1/in", "mesh", 12 / 0.0254),
        ("90°", "angle", 1.5707963267948966),
    ],
)
def test_ways_to_write_it(text: str, kind: str, value_si: float) -> None:
    assert_allclose(units.parse(text, kind), value_si, rtol=1e-15)


LENGTH = 'Write a length as a number and a unit in quotes, such as "12.5 mm".'
LENGTHS = "Use one of: mm, cm, m, in, ft, um."


@pytest.mark.parametrize(
    ("value", "kind", "said"),
    [
        (12, "length", f"found the bare number 12. {LENGTH}"),
        (12.5, "length", f"found the bare number 12.5. {LENGTH}"),
        (nan, "length", f"found the bare number nan. {LENGTH}"),
        (inf, "length", f"found the bare number inf. {LENGTH}"),
        (True, "length", f"found true. {LENGTH}"),
        (None, "length", f"found None. {LENGTH}"),
        (["12 mm"], "length", f"found a list of 1. {LENGTH}"),
        ({}, "length", f"found a table. {LENGTH}"),
        ("", "length", f'found "". {LENGTH}'),
        ("mm", "length", f'found "mm". {LENGTH}'),
        ("12", "length", f'found "12", without a unit. {LENGTH}'),
        ("nan mm", "length", f'found "nan mm". {LENGTH}'),
        ("inf mm", "length", f'found "inf mm". {LENGTH}'),
        ("twelve mm", "length", f'found "twelve mm". {LENGTH}'),
        ("1/2 in", "length", f'found "1/2 in": "/2 in" is not a unit of length. {LENGTHS}'),
        ("1 000 mm", "length", f'found "1 000 mm": "000 mm" is not a unit of length. {LENGTHS}'),
        ("12 MM", "length", f'found "12 MM": "MM" is not a unit of length. {LENGTHS}'),
        ("12 L", "length", f'found "12 L": "L" is not a unit of length. {LENGTHS}'),
        ("12 mm\n\x1b", "length", f'found "12 mm\\x0a\\x1b": "mm \\x1b" is not a unit of length. {LENGTHS}'),
        ("x" * 99, "length", f'found "{"x" * 57}...". {LENGTH}'),
        (
            "12,5 mm",
            "length",
            'found "12,5 mm", with a comma. Write the decimals after a point, and no other commas.',
        ),
        ("1e309 mm", "length", 'found "1e309 mm", which is too large. Give a length within reason.'),
        ("1e308 kg/L", "density", 'found "1e308 kg/L", which is too large. Give a density within reason.'),
        ("12 gal", "volume", 'found "12 gal", which may be US or imperial. Write "US gal" or "imp gal".'),
        ("12 qt", "volume", 'found "12 qt", which may be US or imperial. Write "US qt".'),
        ("9 gal/h", "flow", 'found "9 gal/h", which may be US or imperial. Write "US gal/h" or "imp gal/h".'),
        ("9 gal/min", "flow", 'found "9 gal/min", which may be US or imperial. Write "US gal/min".'),
        ("9", "area", 'found "9", without a unit. Write an area as a number and a unit in quotes, such as "240 mm2".'),
        ("5 N", "mesh", 'found "5 N": "N" is not a unit of mesh count. Use one of: 1/in, 1/cm.'),
    ],
)
def test_what_is_refused(value: object, kind: str, said: str) -> None:
    with pytest.raises(UnitError) as caught:
        units.parse(value, kind)
    assert isinstance(caught.value, UnitError)
    assert str(caught.value) == said


@pytest.mark.parametrize("kind", list(units.UNITS))
def test_the_example_of_every_kind_can_be_read(kind: str) -> None:
    with pytest.raises(UnitError) as caught:
        units.parse("", kind)
    example = str(caught.value).split('such as "')[1].removesuffix('".')
    assert units.parse(example, kind) > 0.0


def test_a_unit_that_stands_alone() -> None:
    with pytest.raises(UnitError) as caught:
        units.scale("furlong")
    assert str(caught.value) == f'found the unit "furlong". {LENGTHS}'


@pytest.mark.parametrize("text", ["2 fl oz", "2 fluid ounces"])
def test_fluid_ounces_are_us_or_imperial(text: str) -> None:
    with pytest.raises(UnitError, match="which may be US or imperial") as caught:
        units.parse(text, "volume")
    assert caught.value.mend == 'Write "US fl oz" or "imp fl oz".'
    # 128 to the US gallon (NIST Handbook 44, appendix C); 160 to the imperial one (Weights and Measures Act 1985).
    assert_allclose(units.parse(f"128 US {text[2:]}", "volume"), units.parse("1 US gal", "volume"))
    assert_allclose(units.parse("160 imperial fluid ounces", "volume"), units.parse("1 imp gal", "volume"))


def test_a_coarse_table_keeps_what_somebody_chose_and_hides_no_fuel() -> None:
    columns = (Column("quantity", "volume", as_stated=True), Column("left", "volume"))
    table = Table("key", "title", columns, ((12.345e-3, 0.03e-3), (2e-3, 0.4e-6)), shown=Shown(coarse=True))
    assert table.cells() == [["12.345", "<0.1"], ["2", "0.0"]]


def test_units_are_written_as_people_do_and_in_plain_letters_where_asked() -> None:
    table = Table("key", "title", (Column("opening", "area"),), ((1e-4,),))
    assert (table.headings(), table.headings(plain=True)) == (["opening [cm²]"], ["opening [cm2]"])
    assert "5°" in as_json([table], {"tilt": "5°"})
    with pytest.raises(ValueError, match="nan"):
        as_json([table], {"tilt": float("nan")})
