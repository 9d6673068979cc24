"""What a sheet of a box makes of it, end to end: 24 L a decimetre, read on an upright stick from floor to roof."""

from __future__ import annotations

from dataclasses import replace
from math import log, radians

import numpy as np
import pytest
from fillsheets import example, fitted, model_of
from manifold3d import Manifold
from numpy.testing import assert_allclose

from fuelsys.analysis.fills.answers import misfit_m3, reading
from fuelsys.analysis.fills.assured import _untilted, at_marks
from fuelsys.analysis.fills.data import Data
from fuelsys.analysis.fills.filltest import fill_test
from fuelsys.analysis.fills.fit import choose
from fuelsys.analysis.fills.gauges import gauges
from fuelsys.analysis.fills.lamps import Marks
from fuelsys.analysis.fills.model import none
from fuelsys.analysis.fills.plan import _round_down
from fuelsys.analysis.fills.pouring import Poured
from fuelsys.errors import QuestionError
from fuelsys.model.built.layout import FittedTank
from fuelsys.model.found.filltest import FillTest, LampSeen
from fuelsys.model.stated.attitude import Attitude
from fuelsys.model.stated.fillsheet import Entry, Sheet, Typed
from fuelsys.model.stated.fittings import Switch
from fuelsys.model.stated.gauges import Probe
from fuelsys.report.shown import Shown
from fuelsys.report.tables.filltest import tables

AREA_M2, LITRE = 0.24, 1e-3
LEVEL, CLIMB = Attitude("level", "ground"), Attitude("climb", "flight", pitch_rad=radians(5.0))
BOX = fitted(Manifold.cube([0.6, 0.4, 0.2]), (np.array([0.3, 0.2, 0.0]), np.array([0.3, 0.2, 0.2])))


def typed(metres: float) -> Typed:
    text = f"{metres * 1e3:.1f}"
    return Typed(text, "mm", "length", float(text) / 1e3)


def poured(number: float) -> Typed:
    return Typed(f"{number:g}", "L", "volume", number * LITRE)


def pours(steps: list[float], off_mm: dict[int, float] | None = None, missing: tuple[int, ...] = ()) -> Sheet:
    """A sheet of pours, each read as it stands, some readings off; of missing lines the pour went in and is not noted."""
    entries, total = [], 0.0
    for k, step in enumerate(steps):
        total += step
        read = total * LITRE / AREA_M2 + (off_mm or {}).get(k, 0.0) / 1e3
        entries.append(Entry(k + 2, None if k in missing else poured(step), stick=typed(read)))
    return Sheet("s.csv", tuple(entries))


def answer(sheet: Sheet, tank: FittedTank = BOX) -> FillTest:
    return fill_test(example(), tank, LEVEL, sheet)


def suspected(sheet: Sheet) -> list[tuple[int, str, float, tuple[str, ...]]]:
    found = answer(sheet)
    assert found.fit is not None
    return [(one.line, one.kind, one.off, one.meanings) for one in found.fit.suspects]


NOT_NOTED = "a can of 3 L poured before this line and not noted"


@pytest.mark.parametrize("at", [1, 6, 13])
def test_a_can_that_was_not_noted_is_named_wherever_it_is(at: int) -> None:
    # Nothing else is off, not by the noise of a reading either: the search for the rest of the correction begins at nothing. (From the
    # first line on it would be the stick's offset.)
    ((line, kind, off, words),) = suspected(pours([3.0] * 14, missing=(at,)))
    assert (line, kind) == (at + 2, "total")
    assert NOT_NOTED in words
    assert off == pytest.approx(-3.0 * LITRE, rel=1e-3)


def test_a_reading_that_is_a_can_too_high_is_one_on_the_first_line_alone() -> None:
    # 3 L are 12.5 mm: read so much too high in the middle that is no can, for the line after it is right again.
    for at, can in ((0, True), (6, False)):
        ((line, kind, off, words),) = suspected(pours([3.0] * 14, {at: 12.5}))
        assert (line, kind, off) == (at + 2, "reading", pytest.approx(0.0125, rel=1e-3))
        assert (NOT_NOTED in words) == can


def test_a_reading_in_the_middle_is_no_can() -> None:
    # 75 mm typed as 57: 18 mm too little, told as a reading with its digits.
    ((line, kind, off, words),) = suspected(pours([3.0] * 14, {5: -18.0}))
    assert (line, kind, off) == (7, "reading", pytest.approx(-0.018, abs=1e-3))
    assert words == ("75.0 mm rather than 57.0 mm: digits are switched",)


def test_a_sound_sheet_says_nothing_and_what_it_used() -> None:
    found = answer(pours([3.0] * 14))
    assert found.fit is not None
    assert (found.fit.found, found.fit.suspects, found.fit.used, found.fit.searched) == ((), (), 14, True)
    assert found.fit.capacity.gross_m3[:2] == (pytest.approx(0.048), pytest.approx(0.048))
    assert found.fit.noise_m < 1e-4
    assert not found.by_temperature
    rows = found.readings
    assert_allclose([one.total_m3 for one in rows], 3.0 * LITRE * np.arange(1, 15), rtol=1e-12)
    assert_allclose([one.before_m or 0.0 for one in rows], 0.0125 * np.arange(1, 15), rtol=1e-9)
    assert {one.mended_m3 for one in rows} == {None}
    few = answer(pours([3.0] * 3))
    assert (few.fit, few.why_no_fit) == (None, "needs 4 readings that tell the total; there are 3")
    assert answer(pours([3.0])).why_no_fit.endswith("there is 1")


def test_totals_are_mended_from_where_a_can_is_missing() -> None:
    rows = answer(pours([3.0] * 14, missing=(6,))).readings
    assert [one.mended_m3 is None for one in rows] == [True] * 6 + [False] * 8
    assert_allclose([one.mended_m3 or 0.0 for one in rows[6:]], 3.0 * LITRE * np.arange(7, 15), rtol=1e-3)
    assert_allclose([one.after_m or 0.0 for one in rows], 0.0125 * np.arange(1, 15), atol=2e-4)


def test_a_sheet_is_by_temperature_where_any_line_has_one() -> None:
    sheet = pours([3.0] * 5)
    one_line = (replace(sheet.entries[0], temperature_k=288.15), *(Entry(9 + k, stick=typed(0.0125)) for k in range(4)))
    assert answer(Sheet("s.csv", one_line)).by_temperature
    in_tank = (Entry(2, tank_k=288.15), *(replace(one, temperature_k=288.15) for one in sheet.entries))
    assert answer(Sheet("s.csv", in_tank)).by_temperature


def test_what_does_not_tell_the_total_is_left_out() -> None:
    sheet = pours([3.0] * 8)
    dry = (
        replace(sheet.entries[0], stick=None, dry=True),
        replace(sheet.entries[1], stick=typed(0.0004)),
        *sheet.entries[2:],
    )
    found = answer(Sheet("s.csv", dry))
    assert [one.why for one in found.readings] == ["dry", "dry", *[""] * 6]
    assert found.fit is not None
    assert (found.fit.used, found.fit.searched) == (6, False)


@pytest.mark.parametrize(
    ("factor", "told"),
    [(3.785411784, "in US gal rather than L"), (1.8, ""), (1.52, "in kg"), (0.66, "in lb"), (1.48, None)],
)
def test_amounts_that_no_tank_explains_are_refused(factor: float, told: str | None) -> None:
    # Noted as litres and a factor less than there is: from 1.5 times on it is refused, either way.
    entries = [replace(one, amount=poured(3.0 / factor)) for one in pours([3.0] * 14).entries]
    sheet = Sheet("s.csv", tuple(entries))
    if told is None:
        assert answer(sheet).fit is not None
        return
    with pytest.raises(QuestionError, match=f"the totals are {1.0 / factor:.3g} times what the model holds") as caught:
        answer(sheet)
    assert told in caught.value.mend
    assert ("Perhaps" in caught.value.mend) == bool(told)


@pytest.mark.parametrize(
    ("factor", "told"),
    [(25.4, "in in and written as mm"), (10.0, "in cm and written as mm"), (0.1, "in mm and written as cm")],
)
def test_readings_in_another_unit_are_refused(factor: float, told: str) -> None:
    entries = [replace(one, stick=typed(one.stick.si / factor)) for one in pours([2.0] * 14).entries if one.stick]
    with pytest.raises(QuestionError, match="times what the model holds") as caught:
        answer(Sheet("s.csv", tuple(entries)))
    assert f"the stick read {told}" in caught.value.mend


# --- readings, steps, points


def test_a_reading_ends_with_the_stick() -> None:
    model = model_of(
        fitted(Manifold.cube([0.6, 0.4, 0.2]), (np.array([0.3, 0.2, 0.02]), np.array([0.3, 0.2, 0.18]))), LEVEL
    )
    for height_m, offset_m, wanted in (
        (0.02, 0.0, 0.0), (0.18, 0.0, 0.16), (0.019, 0.0, None), (0.181, 0.0, None), (0.1, 0.003, 0.083),
        (0.18, 0.003, 0.163), (0.183, 0.003, None), (0.017, 0.003, 0.0), (0.0165, 0.003, None),
    ):  # fmt: skip
        by = none()
        by[1] = offset_m
        found = reading(model, AREA_M2 * height_m, by)
        assert found == (None if wanted is None else pytest.approx(wanted, abs=1e-9))


@pytest.mark.parametrize(
    ("value", "step"), [(2.49, 2.0), (2.5, 2.5), (0.0499, 0.025), (9.99, 5.0), (10.0, 10.0), (0.3 / 3.0, 0.1)]
)
def test_a_step_is_round_and_no_larger(value: float, step: float) -> None:
    assert _round_down(value) == step


def test_a_gauge_is_told_up_to_the_fullest_line() -> None:
    # Round quantities of 5 L up to 45 L, which was poured; the probe's ends are 0 and 48 L, of which the first is no quantity.
    probe = Probe(name="probe", kind="probe", bottom=["0.3 m", "0.2 m", "0 m"], top=["0.3 m", "0.2 m", "0.2 m"])
    spots = {
        f"gauge probe {end}": BOX.cavity.spot(end, np.array([0.3, 0.2, z]))
        for end, z in (("bottom", 0.0), ("top", 0.2))
    }
    tank = replace(BOX, design=BOX.design.model_copy(update={"gauge": (probe,)}), spots=spots)
    marks = Marks(tank, LEVEL.up, -1.0, 1.0, lambda point_m, over_m: (over_m, over_m))
    lines = [Poured(Entry(k, signals=(5.0 * k,)), 5.0 * k * LITRE, 0.0) for k in range(1, 10)]
    (found,) = gauges(model_of(tank, LEVEL), none(), lines, marks, "L")
    assert_allclose([one.total_m3 for one in found.points], 5.0 * LITRE * np.arange(1, 10), rtol=1e-12)
    assert_allclose([one.shown for one in found.points], 5.0 * np.arange(1, 10), rtol=1e-6)
    (short,) = gauges(
        model_of(tank, LEVEL), none(), [*lines[:-1], Poured(Entry(9, signals=(44.9,)), 44.9 * LITRE, 0.0)], marks, "L"
    )
    assert len(short.points) == 8


# --- what is sure at a mark


def test_a_lamp_vouches_less_at_another_attitude() -> None:
    """Readings that no correction explains leave a misfit: carried to another attitude it is taken off, and added, besides."""
    model = model_of(BOX, LEVEL)
    reads = np.linspace(0.01, 0.19, 12)
    bent = AREA_M2 * (reads + 1.5e-3 * np.sin(40.0 * reads))  # a tank of another shape
    choice = choose(Data.of(model, reads, bent))
    switch = Switch(name="low", mark=["0.3 m", "0.2 m", "0.1 m"])
    spots = {"switch low": BOX.cavity.spot("switch low", np.array([0.3, 0.2, 0.1]))}
    tank = replace(BOX, design=BOX.design.model_copy(update={"switch": (switch,)}), spots=spots)
    seen = LampSeen("low", "comes on", (23.9e-3, 24.1e-3), 0.024, (0.023, 0.025), "accepted", "")
    here, there = at_marks(tank, (LEVEL, CLIMB), choice, (seen,))
    assert here.seen_m3 is not None
    assert there.seen_m3 is not None
    misfit = float(misfit_m3(choice, np.array([there.held_m3]))[0])
    assert misfit > 0.1e-3
    assert here.seen_m3 == (pytest.approx(23.9e-3), pytest.approx(24.1e-3))
    low, high = there.seen_m3
    assert low <= 23.9e-3 + (there.drawn_m3 - here.drawn_m3) - misfit
    assert high >= 24.1e-3 + (there.drawn_m3 - here.drawn_m3) + misfit
    assert there.within_m3 > misfit
    assert there.sure_m3 <= max(low, there.held_m3 - there.within_m3) + 1e-12


def test_the_misfit_about_a_quantity_is_the_greatest_of_its_neighbours() -> None:
    model = model_of(BOX, LEVEL)
    reads = np.linspace(0.02, 0.18, 9)
    choice = choose(Data.of(model, reads, AREA_M2 * reads))
    totals = choice.data.totals_m3 + AREA_M2 * np.array([0, 0, 2e-3, 0, 0, 0, -1e-3, 0, 0])
    off = replace(choice, data=replace(choice.data, totals_m3=totals))
    each = np.array([0, 2, 2, 2, 0, 1, 1, 1, 0]) * 1e-3 * AREA_M2
    assert_allclose(misfit_m3(off, totals), each, atol=1e-7)
    middle = (totals[1:] + totals[:-1]) / 2.0
    assert_allclose(misfit_m3(off, middle), (each[1:] + each[:-1]) / 2.0, atol=1e-7)
    assert_allclose(misfit_m3(off, np.array([0.0, 0.048])), [0.0, 0.0], atol=1e-7)


def test_the_curve_and_the_marks_of_a_box_that_is_smaller() -> None:
    """Four per cent less, read 2 mm too high: what it holds at a reading r is 0.96 x 0.24 m² x (r - 2 mm)."""
    entries = [replace(one, stick=typed(one.stick.si / 0.96 + 0.002)) for one in pours([3.0] * 14).entries if one.stick]
    found = answer(Sheet("s.csv", tuple(entries)))
    assert found.fit is not None
    assert found.fit.curve is not None
    along, drawn, corrected, within = found.fit.curve
    assert_allclose(drawn, AREA_M2 * along, rtol=1e-9)
    true = 0.96 * AREA_M2 * np.maximum(0.0, along - 0.002)
    assert (np.abs(corrected - true) <= within + 1e-9).all()
    assert within.max() < 1.5e-3
    value, holds, doubt = found.fit.capacity.gross_m3
    assert abs(holds - 0.96 * 0.048) <= doubt
    assert value == pytest.approx(0.048)
    for mark in found.fit.marks:
        assert mark.drawn_m == pytest.approx(mark.volume_m3 / AREA_M2)
        assert abs(mark.corrected_m - (mark.volume_m3 / 0.96 / AREA_M2 + 0.002)) <= mark.within_m
        assert mark.within_m3 == pytest.approx(mark.within_m * 0.96 * AREA_M2, rel=0.05)
    spread = next(one.spread_m for one in found.fit.tried if one.blocks == ())
    assert found.fit.before_m == pytest.approx(spread, rel=1e-9)  # with no figure free all readings are left over
    kept = next(one for one in found.fit.tried if one.kept)
    assert (kept.blocks, kept.figures) == (("scale", "offset"), 2)
    n, k = 14, 3
    left_m2 = kept.spread_m**2 * (n - 2)
    assert kept.aicc == pytest.approx(
        n * log(max(left_m2 / n, 2.5e-9)) + 2.0 * k + 2.0 * k * (k + 1) / (n - k - 1), rel=1e-6
    )


def test_a_correction_without_its_tilt() -> None:
    by = np.array([0.1, 0.002, 0.03, -0.04, 0.001])
    assert _untilted(by).tolist() == [0.1, 0.002, 0.0, 0.0, 0.001]
    assert by.tolist() == [0.1, 0.002, 0.03, -0.04, 0.001]


def _slip(at: int, noted: float, meant: float) -> Sheet:
    """Fourteen pours of 3 L, of which one is another and was noted with its point moved."""
    entries = list(pours([meant if k == at else 3.0 for k in range(14)]).entries)
    entries[at] = replace(entries[at], amount=poured(noted))
    return Sheet("s.csv", tuple(entries))


@pytest.mark.parametrize(("at", "noted", "meant"), [(3, 30.0, 3.0), (2, 60.0, 6.0), (1, 90.0, 9.0)])
def test_one_slip_that_no_correction_explains_is_named_with_its_line(at: int, noted: float, meant: float) -> None:
    with pytest.raises(QuestionError, match="times what the model holds") as caught:
        answer(_slip(at, noted, meant))
    told = f"Perhaps line {at + 2}: {meant:g} L rather than {noted:g} L: the point has moved. Mend the units, or the design"
    assert caught.value.mend.startswith(told)


def test_a_slip_that_a_fit_can_bear_is_named_with_its_line() -> None:
    found = answer(_slip(6, 0.3, 3.0))
    assert found.fit is not None
    assert [(one.line, one.meanings[0]) for one in found.fit.suspects] == [
        (8, "3.0 L rather than 0.3 L: the point has moved")
    ]


def test_a_mark_that_is_on_the_stick_no_more_is_told() -> None:
    found = answer(pours([3.0] * 14))
    assert found.fit is not None
    assert found.fit.curve is not None
    length_m = float(found.fit.curve[0].max())
    for off_m, told in ((length_m, False), (length_m + 1e-4, True), (0.0, False), (-1e-4, True)):
        last = replace(found.fit.marks[-1], corrected_m=off_m)
        shown = tables(replace(found, fit=replace(found.fit, marks=(*found.fit.marks[:-1], last))), Shown())
        notes = next(one.notes for one in shown if one.key.endswith("filltest-dipstick"))
        wanted = f"Not on the stick any more, which has {Shown().text(length_m, 'length')}: {Shown().text(last.volume_m3, 'volume')}."
        assert (wanted in notes) == told
