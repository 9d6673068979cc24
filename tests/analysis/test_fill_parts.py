"""The parts of a fill test that are worked by hand: running totals, what each lamp says, what a slip of the pen may have been."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np
import pytest
from fillsheets import example, fitted
from manifold3d import Manifold

from fuelsys import units
from fuelsys.analysis.fills.assured import seen_of
from fuelsys.analysis.fills.lamps import Marks, as_drawn, lamps
from fuelsys.analysis.fills.meanings import can, of_all_amounts, of_reading, of_total
from fuelsys.analysis.fills.plan import plan
from fuelsys.analysis.fills.pouring import Poured, totals
from fuelsys.analysis.tank.growth import density_at
from fuelsys.arrays import Floats
from fuelsys.errors import SheetError
from fuelsys.model.found.filltest import LampSeen
from fuelsys.model.stated.attitude import Attitude
from fuelsys.model.stated.fillsheet import Entry, Sheet, Typed
from fuelsys.model.stated.fittings import Switch
from fuelsys.model.words import Quantity

LITRE = 1e-3
GALLON_M3 = 3.785411784e-3
LEVEL = Attitude("level", "ground")
BOX = fitted(Manifold.cube([0.6, 0.4, 0.2]), (np.array([0.3, 0.2, 0.0]), np.array([0.3, 0.2, 0.2])))  # 24 L a decimetre


# --- running totals


def amount(number: float, unit: str = "L") -> Typed:
    kind = "mass" if unit in ("kg", "lb") else "volume"
    return Typed(f"{number:g}", unit, kind, units.to_si(number, unit, kind))


def sheet(*entries: tuple[float | Typed | None, dict[str, Any]]) -> Sheet:
    lines = [
        Entry(k + 2, amount(one) if isinstance(one, int | float) else one, **more)
        for k, (one, more) in enumerate(entries)
    ]
    return Sheet("s.csv", tuple(lines))


def litres(found: tuple[Poured, ...]) -> list[tuple[float, float]]:
    return [(round(one.total_m3 * 1e3, 9), round(one.step_m3 * 1e3, 9)) for one in found]


def test_volumes_without_a_temperature_are_added_up() -> None:
    found = totals(sheet((5, {}), (3, {}), (None, {}), (2, {"drained": True}), (0, {"drained": True}), (1, {})), 720.0)
    assert litres(found) == [(5, 5), (8, 3), (8, 0), (6, -2), (6, 0), (7, 1)]
    (last,) = totals(sheet((5, {}), (5, {"drained": True})), 720.0)[1:]
    assert litres((last,)) == [(0, -5)]
    with pytest.raises(SheetError, match="line 3, drained: more was drained than was poured"):
        totals(sheet((5, {}), (5.001, {"drained": True})), 720.0)


def test_mass_is_added_up_where_temperatures_are_stated() -> None:
    # 10 kg at 0 °C and 30 kg at 20 °C are at 15 °C together; drained at the tank's own mean, that stays.
    cold, warm, mean = 273.15, 293.15, 288.15
    rows: list[tuple[Any, dict[str, Any]]] = [
        (amount(10, "kg"), {"temperature_k": cold}), (amount(30, "kg"), {"temperature_k": warm}),
        (amount(8, "kg"), {"drained": True}), (None, {}), (None, {"tank_k": warm}), (amount(10, "kg"), {"temperature_k": mean}),
    ]  # fmt: skip
    at = {kelvin: density_at(720.0, kelvin) for kelvin in (cold, warm, mean)}
    wanted = [10 / at[cold], 40 / at[mean], 32 / at[mean], 32 / at[mean], 32 / at[warm], 42 / at[mean]]
    found = totals(sheet(*rows), 720.0)
    np.testing.assert_allclose([one.total_m3 for one in found], wanted, rtol=1e-12)
    np.testing.assert_allclose([one.step_m3 for one in found], np.diff([0.0, *wanted]), rtol=1e-9, atol=1e-15)


def test_what_is_drained_may_have_a_temperature_of_its_own() -> None:
    # 3 L at 20 °C are 3 L times the density there; without one it is what the tank says on the line.
    cold, warm = 273.15, 293.15
    rows = [
        (10, {"temperature_k": cold}),
        (3, {"drained": True, "temperature_k": warm}),
        (3, {"drained": True, "tank_k": warm}),
    ]
    kg = 0.010 * density_at(720.0, cold)
    kg -= 0.003 * density_at(720.0, warm)
    found = totals(sheet(*rows), 720.0)
    assert found[1].total_m3 == pytest.approx(kg / density_at(720.0, cold), rel=1e-12)
    kg -= 0.003 * density_at(720.0, warm)
    assert found[2].total_m3 == pytest.approx(kg / density_at(720.0, warm), rel=1e-12)


@pytest.mark.parametrize(
    "rows",
    [
        [(amount(5, "kg"), {})],  # a mass is no volume without a temperature
        [(5, {"temperature_k": 288.15}), (5, {})],
        [(5, {"drained": True, "tank_k": None}), (None, {"tank_k": 288.15})],  # nothing poured yet to be as warm as
    ],
)
def test_a_temperature_that_is_missing(rows: list[Any]) -> None:
    with pytest.raises(
        SheetError, match=f"line {2 if len(rows) == 1 or rows[0][1].get('drained') else 3}, temperature"
    ):
        totals(sheet(*rows), 720.0)


def test_a_line_without_an_amount_needs_none() -> None:
    assert litres(totals(sheet((5, {}), (None, {"temperature_k": None}), (0, {})), 720.0)) == [(5, 5), (5, 0), (5, 0)]
    found = totals(sheet((5, {"temperature_k": 288.15}), (0, {}), (None, {})), 720.0)
    assert litres(found) == [(5, 5), (5, 0), (5, 0)]
    with pytest.raises(SheetError, match="line 3, drained"):
        totals(sheet((5, {"temperature_k": 288.15}), (6, {"drained": True})), 720.0)
    with pytest.raises(SheetError, match="line 2, temperature: there is no volume correction at 300"):
        totals(sheet((5, {"temperature_k": 573.15})), 720.0)


# --- lamps: a mark at 100 mm in a box of 24 L a decimetre, 5 mm of differential, 2 mm of tolerance


def low(tolerance: str | None = "2 mm") -> Switch:
    given = {} if tolerance is None else {"tolerance": tolerance}
    return Switch(name="low", mark=["0.3 m", "0.2 m", "0.1 m"], differential="5 mm", **given)  # type: ignore[arg-type]


def marks(tolerance: str | None = "2 mm", apart_m: float = -1.0, air_m: float = 1.0, within: float = 0.0) -> Marks:
    """What the box holds over the mark's height, within so much."""
    spots = {"switch low": BOX.cavity.spot("switch low", np.array([0.3, 0.2, 0.1]))}
    design = BOX.design.model_copy(update={"switch": (low(tolerance),)})

    def held(point_m: Floats, over_m: Floats) -> tuple[Floats, Floats]:
        return 0.24 * (0.1 + point_m[2] + over_m), np.full(over_m.size, within)

    return Marks(replace(BOX, design=design, spots=spots), LEVEL.up, apart_m, air_m, held)


def seen(marks: Marks, *lines: tuple[float, bool | None]) -> list[tuple[str, str, str]]:
    poured = [
        Poured(Entry(k, lit=None if lit is None else frozenset(["low"] if lit else [])), total * LITRE, 0.0)
        for k, (total, lit) in enumerate(lines)
    ]
    return [(one.event, one.verdict, one.why) for one in lamps(marks, poured)]


OUT, ON = "goes out", "comes on"
# It goes out at 105 mm, within 2: 25.2 L, 24.72 to 25.68; it comes on at 100 mm: 24 L, 23.52 to 24.48. 2 % of the box are 0.96 L, twice
# the window 1.92 L.
LAMPS: list[tuple[list[tuple[float, bool | None]], list[tuple[str, str, str]]]] = [
    ([(24.6, True), (24.8, False)], [(OUT, "accepted", "")]),
    ([(25.6, True), (25.8, False)], [(OUT, "accepted", "")]),
    ([(24.0, True), (24.7, False)], [(OUT, "contradicted", "too early")]),
    ([(25.7, True), (26.0, False)], [(OUT, "contradicted", "too late")]),
    ([(24.5, True), (26.4, False)], [(OUT, "accepted", "")]),
    ([(24.5, True), (26.5, False)], [(OUT, "to be looked at", "seen too coarsely: move less at a time there")]),
    ([(25.0, True), (25.1, None), (25.3, False), (24.1, False), (23.9, True)], [(OUT, "accepted", ""), (ON, "accepted", "")]),
    ([(25.0, True), (25.3, False), (24.7, False), (24.5, True)], [(OUT, "accepted", ""), (ON, "contradicted", "too early")]),
    ([(25.0, True), (25.3, False), (23.5, False), (23.4, True)], [(OUT, "accepted", ""), (ON, "contradicted", "too late")]),
    ([(25.0, True), (25.3, False), (25.6, True)],
     [(OUT, "accepted", ""), (ON, "to be looked at", "it came on while the tank was filled")]),
    ([(26.0, True), (25.0, False)], [(OUT, "to be looked at", "it went out while it was drained")]),
    ([(10.0, True), (25.7, True)], [(OUT, "contradicted", "still lit")]),
    ([(10.0, True), (25.6, True)], [(OUT, "to be looked at", "the test did not fill so far")]),
    ([(10.0, None)], [(OUT, "not computed", "needs the column lamps lit")]),
    ([(1.0, False)], [(OUT, "contradicted", "too early")]),  # an empty tank's lamp is lit
]  # fmt: skip


@pytest.mark.parametrize(("lines", "wanted"), LAMPS)
def test_what_a_lamp_says(lines: list[tuple[float, bool | None]], wanted: list[tuple[str, str, str]]) -> None:
    assert seen(marks(), *lines) == wanted


def test_what_a_lamp_without_a_tolerance_or_a_level_says() -> None:
    # Its window is a point: two per cent of the box, 0.96 L, are fine enough.
    assert seen(marks(None), (24.8, True), (25.7, False)) == [(OUT, "accepted", "no tolerance is stated")]
    assert seen(marks(None), (25.3, True), (25.7, False)) == [(OUT, "contradicted", "too late; no tolerance is stated")]
    assert seen(marks(None), (24.7, True), (25.7, False))[0][1] == "to be looked at"
    # 3 mm of doubt more either way: 0.72 L.
    assert seen(marks(within=0.72e-3), (23.0, True), (24.1, False)) == [(OUT, "accepted", "")]
    assert seen(marks(within=0.72e-3), (23.0, True), (23.9, False))[0][2] == "too early"
    assert seen(marks(within=0.72e-3), (26.3, True), (26.5, False))[0][1] == "accepted"
    apart = "below there the tank falls into pools, and the total does not tell the level"
    air = "above there air stays trapped, and the total does not tell the level"
    # Heights are about the box's middle, at 100 mm: the lamp goes out at 5 mm, within 2.
    for lines in ([(25.0, True), (25.3, False)], [(20.0, True)]):
        assert seen(marks(apart_m=0.0031), *lines) == [(OUT, "not computed", apart)]
        assert seen(marks(air_m=0.0069), *lines) == [(OUT, "not computed", air)]
        assert seen(marks(apart_m=0.0029, air_m=0.0071), *lines)[0][1] != "not computed"
    expected = marks().expected(low(), OUT)
    assert not isinstance(expected, str)
    np.testing.assert_allclose([expected[0], *expected[1]], [25.2e-3, 24.72e-3, 25.68e-3])
    near: Any = marks(within=1.0).expected(low(), OUT)
    assert near[1][0] == 0.0  # no tank holds less than nothing


def test_the_marks_by_the_drawing() -> None:
    tank = marks().tank
    by = as_drawn(example(), tank, LEVEL)
    for event, wanted in ((OUT, [25.2e-3, 24.72e-3, 25.68e-3]), (ON, [24.0e-3, 23.52e-3, 24.48e-3])):
        expected = by.expected(low(), event)
        assert not isinstance(expected, str)
        np.testing.assert_allclose([expected[0], *expected[1]], wanted, rtol=1e-9)


def test_which_changes_of_a_lamp_count() -> None:
    def one(name: str, at: float | None, predicted: float | None = 1.0, why: str = "") -> LampSeen:
        window = None if at is None else (at, at + 1.0)
        return LampSeen(name, "goes out", window, predicted, None, "accepted", why)

    other, far, near = one("other", 1.0), one("low", 5.0), one("low", 2.0)
    unseen, untold, lit = one("low", None), one("low", 1.0, None), one("low", 9.0, 1.0, "still lit")
    assert seen_of(low(), (other, far, unseen, near, untold, lit)) == (near, far)


# --- what a slip of the pen may have been


def poured(*steps: tuple[float, Any]) -> list[Poured]:
    """Litres with the amount as typed, less than nothing where it was drained; totals are not looked at."""
    return [
        Poured(Entry(k + 2, typed, drained=litres < 0.0), 0.0, litres * LITRE)
        for k, (litres, typed) in enumerate(steps)
    ]


def test_the_usual_can_is_what_was_poured_most_often() -> None:
    five, ten = amount(5), amount(10)
    assert can(poured((5, five), (10, ten), (10, ten), (-5, five), (-5, five))) is ten
    assert can(poured((10, ten), (5, five))) is ten  # the first of several
    assert can(poured((-5, five), (0, None), (0, amount(0)))) is None


def meant(
    lines: list[Poured], off_l: float, since: slice = slice(None), within_l: float = 0.0
) -> list[tuple[int, str]]:
    return of_total(lines, lines[since], off_l * LITRE, within_l * LITRE, 720.0)


def test_what_a_total_that_is_off_may_come_from() -> None:
    lines = poured((5, amount(5)), (5, amount(5)), (6.8, amount(6.8)))
    not_noted = "a can of 5 L poured before this line and not noted"
    assert meant(lines, -5.0, slice(2, 3)) == [(4, not_noted)]
    assert (3, "2 cans of 5 L poured before this line and not noted") in meant(lines, -10.0, slice(1, 2))
    assert meant(lines, 5.0, slice(1, 2)) == [(3, "5 L noted and not poured, or noted twice")]
    assert meant(lines, 6.8, slice(2, 3)) == [(4, "6.8 L noted and not poured, or noted twice")]
    # 8.6 for 6.8: 1.8 L more are in it; 68 for 6.8 61.2 L more, 0.68 for 6.8 6.12 L less; 6.8 US gal are 25.741 L.
    assert meant(lines, -1.8, slice(2, 3)) == [(4, "8.6 L rather than 6.8 L: digits are switched")]
    assert meant(lines, -61.2, slice(2, 3)) == [(4, "68 L rather than 6.8 L: the point has moved")]
    assert meant(lines, 6.12, slice(2, 3)) == [(4, "0.68 L rather than 6.8 L: the point has moved")]
    gallons = "6.8 US gal rather than 6.8 L: a unit is mistaken"
    assert meant(lines, -(6.8 * GALLON_M3 / LITRE - 6.8), slice(2, 3)) == [(4, gallons)]
    # 6.8 kg are 9.444 L, 6.8 lb 4.284 L.
    assert meant(lines, -2.644, slice(2, 3)) == [(4, "6.8 kg rather than 6.8 L: a unit is mistaken")]
    assert meant(lines, 2.516, slice(2, 3)) == [(4, "6.8 lb rather than 6.8 L: a unit is mistaken")]
    # Two per cent of what is moved, and one and a half times the doubt: 0.1 L of 5; the wrong way round nothing.
    assert meant(lines, -5.09, slice(2, 3)) == [(4, not_noted)]
    assert not meant(lines, -5.11, slice(2, 3))
    assert meant(lines, -5.24, slice(2, 3), 0.1) == [(4, not_noted)]
    assert not meant(lines, -5.26, slice(2, 3), 0.1)
    assert not meant(poured((6.8, amount(6.8))), 1.8)
    assert not meant(poured((0, None)), -5.0)
    assert not meant(lines, 0.0, slice(2, 3), 10.0)  # nothing is off
    # The nearest first, three at most.
    told = meant(poured(*[(5, amount(5))] * 5), -5.05)
    assert [words for _, words in told] == [not_noted] * 3
    # 3 L missing within 2: 6.8 kg would be 0.356 L off, 8.6 L 1.2, a can 2.
    wide = [words for _, words in meant(lines, -3.0, slice(2, 3), 2.0)]
    assert wide == [
        "6.8 kg rather than 6.8 L: a unit is mistaken",
        "8.6 L rather than 6.8 L: digits are switched",
        not_noted,
    ]


def test_what_was_drained_is_turned_round() -> None:
    lines = poured((20, amount(20)), (-6.8, amount(6.8)))
    assert meant(lines, -6.8, slice(1, 2)) == [(3, "6.8 L noted and not drained, or noted twice")]
    assert meant(lines, 1.8, slice(1, 2)) == [(3, "8.6 L rather than 6.8 L: digits are switched")]
    assert meant(lines, -2.516, slice(1, 2)) == [(3, "6.8 lb rather than 6.8 L: a unit is mistaken")]
    cans = poured((5, amount(3.6, "kg")), (5, amount(3.6, "kg")))
    assert (3, "a can of 3.6 kg poured before this line and not noted") in meant(cans, -5.0, slice(1, 2))


def reading(text: str, unit: str = "mm") -> Typed:
    return Typed(text, unit, "length", units.to_si(float(text), unit, "length"))


def test_what_a_reading_may_have_been() -> None:
    near_m, length_m = 1e-3, 0.2
    for text, true_m, wanted in (
        ("12.0", 0.120, "12.0 cm rather than 12.0 mm: a unit is mistaken"), ("68", 0.0863, "86 mm rather than 68 mm: digits are switched"),
        ("10.0", 0.254, "10.0 in rather than 10.0 mm: a unit is mistaken"), ("150.0", 0.0508, "measured from the stick's other end"),
    ):  # fmt: skip
        assert wanted in of_reading(reading(text), true_m, near_m, length_m)
    assert set(of_reading(reading("2.3", "cm"), 0.0023, 1e-4, length_m)) == {
        "2.3 mm rather than 2.3 cm: a unit is mistaken", "0.23 cm rather than 2.3 cm: the point has moved",
    }  # fmt: skip
    # One and a half times the doubt.
    assert of_reading(reading("68"), 0.0874, near_m, length_m)
    assert not of_reading(reading("68"), 0.0876, near_m, length_m)
    # 11 mm is 11 cm, or 110 mm by its point: two meanings; with the other end three at most, the nearest first.
    told = of_reading(reading("11"), 0.1105, 0.1, length_m)
    assert len(told) == 3
    assert set(told[:2]) == {
        "11 cm rather than 11 mm: a unit is mistaken",
        "110 mm rather than 11 mm: the point has moved",
    }


def test_which_unit_all_amounts_may_be_in() -> None:
    five = amount(5)
    assert of_all_amounts(five, GALLON_M3 / LITRE, 720.0, 1.03) == "all amounts are in US gal rather than L"
    assert of_all_amounts(five, 1.02 * GALLON_M3 / LITRE, 720.0, 1.03) == "all amounts are in US gal rather than L"
    assert of_all_amounts(five, 0.98 * GALLON_M3 / LITRE, 720.0, 1.03) == "all amounts are in US gal rather than L"
    for factor in (1.04, 0.96):
        assert of_all_amounts(five, factor * GALLON_M3 / LITRE, 720.0, 1.03) is None
    assert of_all_amounts(five, 1.0, 720.0, 1.03) is None
    assert of_all_amounts(amount(5, "kg"), 0.72, 720.0, 1.03) == "all amounts are in L rather than kg"
    assert (
        of_all_amounts(amount(5, "kg"), units.to_si(1.0, "lb", "mass"), 720.0, 1.03)
        == "all amounts are in lb rather than kg"
    )


# --- the plan


def test_a_plan_pours_round_amounts_to_full_and_names_each_lamp() -> None:
    # 48 L without a vent: sixteen steps of at most 3 L are 2.5 L; 19 of them reach 47.5 L. The lamp goes out at 25.2 L.
    tank = marks().tank
    found = plan(example(), tank, LEVEL)
    at = [one.total_m3 / LITRE for one in found.steps]
    np.testing.assert_allclose(at, sorted([2.5 * k for k in range(20)] + [25.2]), atol=1e-9)
    read = [one.read_m for one in found.steps]
    assert read[0] in (None, 0.0)
    np.testing.assert_allclose(read[1:], [0.01 * one / 2.4 for one in at[1:]], atol=1e-9)  # type: ignore[arg-type]
    lamp = next(one for one in found.steps if abs(one.total_m3 - 25.2e-3) < 1e-9)
    words = [part for part in lamp.words if isinstance(part, str)]
    assert words == ['lamp "low" ', "should go out between ", " and ", "; drained again, on at "]
    assert [round(part.values_si[0] / LITRE, 6) for part in lamp.words if isinstance(part, Quantity)] == [
        24.72,
        25.68,
        24.0,
    ]
    exact = plan(example(), marks(None).tank, LEVEL)
    lamp = next(one for one in exact.steps if abs(one.total_m3 - 25.2e-3) < 1e-9)
    assert [part for part in lamp.words if isinstance(part, str)] == [
        'lamp "low" ',
        "should go out at ",
        "; drained again, on at ",
    ]
    assert (found.lamps, found.not_told, found.length_m) == (("low",), (), pytest.approx(0.2))
    gallons = plan(example(), tank, LEVEL, "US gal").steps
    assert gallons[1].total_m3 == pytest.approx(
        0.5 * GALLON_M3
    )  # 48 L are 12.68 US gal, a sixteenth 0.79: half a gallon
