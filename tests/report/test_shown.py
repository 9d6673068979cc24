"""Figures as people read them: on which side each is rounded, where a limit stands for it, in which unit; all by hand."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fuelsys import units
from fuelsys.model.words import Quantity
from fuelsys.report.shown import Shown
from fuelsys.report.table import Column, Table, as_csv

MM, INCH, FEET = Shown(), Shown(volume="US gal", length="in"), Shown(length="ft")
PAGE = Shown(coarse=True)
GALLON_M3, INCH_M = 3.785411784e-3, 0.0254


def quantity(shown: Shown, kind: str, *values: float, **side: bool) -> str:
    return shown.words((Quantity(kind, values, **side),))  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("length_mm", "up", "down"),
    [
        # To a tenth: up never less, down never more; a ten-millionth over a tenth is rounding, a ten-thousandth is not.
        (3.61, "3.7 mm", "3.6 mm"), (3.6, "3.6 mm", "3.6 mm"), (3.60000001, "3.6 mm", "3.6 mm"), (3.59999999, "3.6 mm", "3.6 mm"),
        (3.60001, "3.7 mm", "3.6 mm"), (3.59999, "3.6 mm", "3.5 mm"), (3.6009, "3.7 mm", "3.6 mm"), (3.5991, "3.6 mm", "3.5 mm"),
        (-3.61, "-3.6 mm", "-3.7 mm"),
    ],
)  # fmt: skip
def test_on_which_side_a_length_is_rounded(length_mm: float, up: str, down: str) -> None:
    assert quantity(MM, "length", length_mm / 1e3, up=True) == up
    assert quantity(MM, "length", length_mm / 1e3, down=True) == down


@given(
    st.floats(0.01, 1e4),
    st.sampled_from([MM, INCH, FEET, PAGE, Shown(volume="imp gal"), Shown(volume="m3")]),
    st.sampled_from(["length", "volume", "mass"]),
)
def test_up_is_never_less_and_down_never_more_than_a_step_away(value: float, shown: Shown, kind: str) -> None:
    si = value * {"length": 1e-3, "volume": 1e-3, "mass": 1.0}[kind]
    digits = shown.digits(shown.unit(kind))
    step = 10.0**-digits
    exact = units.from_si(si, shown.unit(kind), kind)
    for side, sign in (("up", 1.0), ("down", -1.0)):
        text = quantity(shown, kind, si, **{side: True})
        if "mL" in text or "under" in text or text.startswith("0 "):
            continue
        off = sign * (float(text.split()[0]) - exact)
        assert -2e-6 * step <= off <= (1.0 + 1e-6) * step


def test_millilitres_of_a_page_are_rounded_as_such() -> None:
    # Below a tenth of a litre to a millilitre, from 99.5 mL on to a tenth of a litre.
    for litres, up, down in (
        (0.0142, "15 mL", "14 mL"),
        (0.0994, "100 mL", "99 mL"),
        (0.0996, "0.1 L", "0 L"),
        (0.25, "0.3 L", "0.2 L"),
    ):
        found = quantity(PAGE, "volume", litres / 1e3, up=True), quantity(PAGE, "volume", litres / 1e3, down=True)
        assert found[0] in (up, "0.1 L")
        assert found[1] in (down, "0 mL", "under 0.001 L")
    assert (PAGE.text(0.0994e-3, "volume"), PAGE.text(0.0996e-3, "volume")) == ("99 mL", "0.1 L")
    assert (PAGE.text(0.0, "volume"), PAGE.text(1e-18, "volume")) == ("0 L", "0 L")
    assert (PAGE.text(4e-6, "volume"), MM.text(1e-13, "volume")) == ("4 mL", "under 0.001 L")


@pytest.mark.parametrize(
    ("seconds", "down", "up"),
    [
        (600.0, "10.0", "10.0"), (599.9, "9.9", "10.0"), (594.0, "9.9", "9.9"), (600.1, "10.0", "10.1"), (0.0, "0.0", "0.0"),
        # A hundredth of a second decides nothing: 599.995 s are ten minutes, 599.99 are not.
        (599.995, "10.0", "10.0"), (599.99, "9.9", "10.0"), (600.005, "10.0", "10.0"), (600.01, "10.0", "10.1"), (-0.1, "-0.1", "0.0"),
    ],
)  # fmt: skip
def test_minutes_are_counted_on(seconds: float, down: str, up: str) -> None:
    assert (units.minutes(seconds), units.minutes(seconds, up=True).replace("-0.0", "0.0")) == (down, up)
    assert MM.figure(seconds, "time") == down


def test_a_limit_stands_for_what_rounds_to_nothing() -> None:
    # Half of the last digit is where it begins; nothing is 0.
    assert (MM.text(0.049e-3, "length"), MM.text(0.051e-3, "length"), MM.text(0.0, "length")) == (
        "under 0.1 mm",
        "0.1 mm",
        "0 mm",
    )
    assert (MM.text(0.49e-6, "volume"), MM.text(0.51e-6, "volume")) == ("under 0.001 L", "0.001 L")
    assert (MM.text(-0.049e-3, "length"), MM.text(-0.051e-3, "length")) == ("under 0.1 mm", "-0.1 mm")
    # On a page in gallons what is dangerous to have is told as it is, though a hundredth would be nothing.
    page = Shown(volume="US gal", coarse=True)
    assert (page.text(0.004 * GALLON_M3, "volume"), page.text(0.006 * GALLON_M3, "volume")) == (
        "0.004 US gal",
        "0.01 US gal",
    )
    assert (page.figure(0.004 * GALLON_M3, "volume"), page.figure(0.006 * GALLON_M3, "volume")) == ("<0.01", "0.01")
    assert (PAGE.figure(0.4e-6, "volume"), PAGE.figure(0.6e-6, "volume"), PAGE.figure(0.06e-3, "volume")) == (
        "0.0",
        "<0.1",
        "0.1",
    )
    assert (MM.figure(0.4e-6, "volume"), PAGE.figure(0.01, "length")) == ("0.000", "10.0")
    assert (MM.figure(-1e-9, "volume"), MM.figure(-1e-3, "volume")) == ("0.000", "-1.000")


def test_each_kind_in_the_units_that_go_with_lengths_and_volumes() -> None:
    told = {
        "volume": ("37.854 L", "10.000 US gal"), "length": ("25.4 mm", "1.000 in"), "flow": ("37.85 L/h", "10 US gal/h"),
        "pressure": ("6.89 kPa", "1.00 psi"), "density": ("0.720 kg/L", "6.009 lb/US gal"), "speed": ("0.305 m/s", "1 ft/s"),
        "climb": ("7.62 m/s", "1500 ft/min"), "mass": ("45.36 kg", "100.00 lb"), "area": ("6.45 cm²", "1.000 in²"),
        "force": ("44 N", "10 lbf"), "moment": ("1.15 kg m", "100.0 lb in"), "angle": ("1.0 °", "1.0 °"), "share": ("2.00 %", "2.00 %"),
    }  # fmt: skip
    si = {
        "volume": 10 * GALLON_M3, "length": INCH_M, "flow": 10 * GALLON_M3 / 3600, "pressure": 6894.757, "density": 720.0, "speed": 0.3048,
        "climb": 7.62, "mass": 45.359237, "area": INCH_M**2, "force": 44.482216, "moment": 45.359237 * INCH_M, "angle": 0.017453293,
        "share": 0.02,
    }  # fmt: skip
    for kind, wanted in told.items():
        assert (quantity(MM, kind, si[kind]), quantity(INCH, kind, si[kind])) == wanted
    assert quantity(FEET, "climb", 7.62) == "1500 ft/min"
    assert quantity(Shown(volume="imp gal"), "flow", 0.00454609 / 3600) == "1 imp gal/h"
    assert quantity(Shown(volume="mL"), "volume", 0.0123e-3) == "12 mL"
    assert Shown(volume="mL").unit("flow") == "L/h"
    # Pounds a gallon where both are asked for, and only then.
    assert quantity(Shown(volume="US gal"), "density", 720.0) == "0.720 kg/L"
    assert quantity(Shown(length="in"), "density", 720.0) == "0.720 kg/L"


def test_a_place_has_all_its_lengths_in_one_unit() -> None:
    assert quantity(MM, "length", 0.1, -0.00004, 0.02546) == "(100, 0, 25.5) mm"
    assert quantity(INCH, "length", 0.0254, 0.0127, -0.0254) == "(1, 0.5, -1) in"


@pytest.mark.parametrize(
    ("unit", "wanted"),
    [("mm", (100.0, 10)), ("cm", (100.0, 10)), ("m", (100.0, 10)), ("in", (101.6, 8)), ("ft", (76.2, 6))],
)
def test_the_line_that_tells_whether_a_print_is_at_full_size(unit: str, wanted: tuple[float, int]) -> None:
    # 10 cm in centimetres, 4 in in halves, 3 in (a quarter of a foot) in halves.
    assert Shown(length=unit).check == wanted


def test_a_number_that_somebody_chose_keeps_its_digits() -> None:
    assert (MM.short(0.008, "length"), INCH.short(0.0047625, "length"), MM.short(-1e-12, "length")) == (
        "8 mm",
        "0.1875 in",
        "0 mm",
    )


FACTORS = {  # NIST SP 811 (2008), appendix B.8, from memory; US gal/min is 60 of them an hour
    ("US gal/min", "flow"): 6.309020e-5, ("US gal/h", "flow"): 1.051503e-6, ("L/min", "flow"): 1.666667e-5, ("mL/min", "flow"): 1.666667e-8,
    ("imp gal/h", "flow"): 1.262803e-6, ("hp", "power"): 745.6999, ("psi", "pressure"): 6894.757, ("lb in", "moment"): 0.01152125,
    ("lb/US gal", "density"): 119.8264, ("ft/min", "speed"): 5.08e-3, ("US fl oz", "volume"): 2.957353e-5,
    ("imp fl oz", "volume"): 2.841306e-5,
    ("US qt", "volume"): 9.463529e-4, ("lbf", "force"): 4.448222, ("ft2", "area"): 9.290304e-2, ("in3", "volume"): 1.638706e-5,
    ("ft3", "volume"): 2.831685e-2, ("1/in", "mesh"): 39.37008,
}  # fmt: skip


@pytest.mark.parametrize(("unit", "kind"), FACTORS)
def test_a_unit_is_what_the_tables_say(unit: str, kind: str) -> None:
    assert units.to_si(1.0, unit, kind) == pytest.approx(FACTORS[unit, kind], rel=5e-7)


# --- tables


def table(shown: Shown, **more: bool) -> Table:
    columns = (Column("name"), Column("held", "volume"), Column("bore", "length", as_stated=True), Column("left", "time"),
               Column("apart", "time", up=True), Column("count", "number"))  # fmt: skip
    rows = (("=left", 0.0123456, 0.0063, 599.0, 599.0, 3.0), ("-2 deg", "never", -1e-13, -1e-9, 0.0, None))
    return Table("k", "Title", columns, rows, ("a note",), shown, **more)


def test_cells_of_a_table() -> None:
    assert table(MM).cells() == [
        ["=left", "12.346", "6.3", "9.9", "10.0", "3"],
        ["-2 deg", "never", "0.0", "0.0", "0.0", "–"],
    ]
    # What somebody chose is not rounded on a page either, and nothing has no sign.
    assert table(PAGE).cells() == [
        ["=left", "12.3", "6.3", "9.9", "10.0", "3"],
        ["-2 deg", "never", "0", "0.0", "0.0", "–"],
    ]
    assert Table(
        "k", "t", (Column("bore", "length", as_stated=True),), ((0.00635,),), shown=Shown(length="in", coarse=True)
    ).cells() == [["0.25"]]
    assert Table(
        "k", "t", (Column("wide", "length"),), ((0.00635,),), shown=Shown(length="in", coarse=True)
    ).cells() == [["0.250"]]
    assert table(MM).headings() == ["name", "held [L]", "bore [mm]", "left [min]", "apart [min]", "count"]
    assert Table("k", "t", (Column("seen", "area"),), ()).headings() == ["seen [cm²]"]
    assert Table("k", "t", (Column("seen", "area"),), ()).headings(plain=True) == ["seen [cm2]"]
    assert Table("k", "t", (Column("seen", "area"),), ()).csv() == "seen [cm2]\n"


def test_a_table_stands_on_paper_and_in_its_place_unless_it_says_otherwise() -> None:
    plain = table(MM)
    assert (plain.appendix, plain.paper, plain.absent, plain.columns[1].as_stated, plain.columns[1].up, plain.columns[1].rank) == (
        False, True, (), False, False, 0,
    )  # fmt: skip
    assert (Shown().coarse, Shown().volume, Shown().length) == (False, "L", "mm")


def test_a_table_for_files() -> None:
    lines = table(MM).csv().splitlines()
    assert lines == [
        "name,held [L],bore [mm],left [min],apart [min],count",
        "'=left,12.3456,6.3,9.983333333,9.983333333,3",
        "'-2 deg,never,-1e-10,-1.666666667e-11,0,",
    ]
    record = table(MM).record()
    assert record["rows"][0] == {
        "name": "=left",
        "held_m3": 0.0123456,
        "bore_m": 0.0063,
        "left_s": 599.0,
        "apart_s": 599.0,
        "count": 3.0,
        "status": None,
    }
    assert (record["rows"][1]["held_m3"], record["rows"][1]["status"]) == (None, "never")
    words = Table("k", "t", (Column("name"),), (("a",),), absent=(Column("held", "volume"),)).record()
    assert words["rows"] == [{"name": "a", "held_m3": None}]  # no column of numbers: no status
    one, two = as_csv([table(MM)]), as_csv([table(MM), table(MM)])
    assert one == table(MM).csv()
    assert two.splitlines()[0] == '"Title"'
    assert two.count("\n\n") == 1
