"""What no reading checks: a can that is noted too often while the stick is dry; where it explains the readings as well, the less counts."""

from __future__ import annotations

from dataclasses import replace

import fillsheets
import pytest

from fuelsys.analysis.fills.blind import lowered, unseen_m3
from fuelsys.analysis.fills.filltest import fill_test
from fuelsys.analysis.fills.measured import with_measured
from fuelsys.analysis.fills.model import none
from fuelsys.analysis.fills.pouring import Poured, totals
from fuelsys.errors import QuestionError
from fuelsys.model.built.layout import FittedTank, Layout
from fuelsys.model.found.filltest import FillFit, LampSeen
from fuelsys.model.stated.fillsheet import Entry, Sheet
from fuelsys.model.words import Doubt
from fuelsys.report.shown import Shown
from fuelsys.report.tables.fill_words import unchecked, verdict


def _sheet(twice: bool = False, can: float = 2.5) -> tuple[Layout, FittedTank, Sheet]:
    """The example's left tank just as drawn, filled by cans of 2.5 L; the stick is dry up to 7.5 L. can: what is noted of each."""
    layout = fillsheets.example()
    tank = fillsheets.with_marks(layout.tank("left"))
    sheet = fillsheets.poured(fillsheets.model_of(tank, layout.design.normal("ground")), 2.5e-3, 18, 1e-3)
    dry = [one for one in sheet.entries if one.dry]
    assert len(dry) >= 3
    lines = [*dry, dry[-1], *sheet.entries[len(dry) :]] if twice else list(sheet.entries)
    cans = [replace(one, amount=fillsheets.volume(can)) for one in lines]
    return layout, tank, replace(sheet, entries=tuple(replace(one, line=k + 2) for k, one in enumerate(cans)))


def _told(layout: Layout, tank: FittedTank, sheet: Sheet) -> tuple[FillFit, str, FittedTank]:
    test = fill_test(layout, tank, layout.design.normal("ground"), sheet)
    assert test.fit is not None
    measured = with_measured(replace(layout, tanks=(fillsheets.tested_tank(tank, sheet), *layout.tanks[1:])))
    return test.fit, unchecked(test, Shown()), measured.tank("left")


@pytest.mark.parametrize("twice", [False, True])
def test_the_less_counts_where_a_can_too_many_explains_the_readings_as_well(twice: bool) -> None:
    layout, tank, sheet = _sheet(twice)
    fit, said, measured = _told(layout, tank, sheet)
    drawn_m3, holds_m3, within_m3 = fit.capacity.gross_m3
    assert holds_m3 == pytest.approx(drawn_m3, rel=5e-3)  # the tank is as drawn
    assert fit.unseen_m3 == pytest.approx([2.5e-3])
    assert (fit.fewer is not None) == twice
    assert measured.corrected is not None
    assert measured.corrected.fewer_m3 == pytest.approx(2.5e-3 if twice else 0.0)
    assert any("without a can that was noted while the stick was dry" in one for one in measured.untested) == twice
    true = fillsheets.model_of(tank, layout.design.normal("ground"))
    assert fit.curve is not None
    along, _, corrected, within = fit.curve
    assert (abs(true.held(along, none()) - corrected) <= within + 1e-9).all()
    for (name, at), sure_m3 in measured.corrected.sure_m3.items():
        switch = next(one for one in tank.design.switch if one.name == name)
        stands = next(one for one in layout.design.envelope if one.name == at)
        assert sure_m3 <= fillsheets.true_trip_m3(true, tank, switch, stands) + 1e-9
    if fit.fewer is None:
        assert within_m3 < 0.02 * drawn_m3
        assert "o reading checks 7.500 L that were poured before the stick was first read" in said
        assert "(one can of 2.500 L too many was tried: what was noted would not fit)" in said
    else:
        assert fit.fewer.amount_m3 == pytest.approx(2.5e-3)
        assert fit.fewer.noted_m3 > 1.02 * drawn_m3
        assert holds_m3 + within_m3 >= fit.fewer.noted_m3  # the band covers both
        assert said == ""
        first = verdict(fit, Shown())[0]
        assert isinstance(first, Doubt)
        assert first.startswith("a can of 2.500 L that was noted while the stick was dry")


def test_a_tank_that_came_out_larger_is_in_doubt() -> None:
    """Cans that hold 2.5 L and are noted as 2.65: no can too many explains that, and no reading either."""
    fit, said, measured = _told(*_sheet(can=2.65))
    drawn_m3, holds_m3, within_m3 = fit.capacity.gross_m3
    assert holds_m3 - within_m3 > drawn_m3
    assert fit.fewer is None
    assert "o reading checks 7.950 L that were poured before the stick was first read" in said
    assert isinstance(said, Doubt)
    larger = [one for one in measured.untested if "larger than drawn by its fill test" in one]
    assert len(larger) == 1
    assert isinstance(larger[0], Doubt)


def test_what_is_poured_unseen() -> None:
    """Cans before the first reading, each size once; the usual one where several are noted as one; none that something else shows."""

    def sheet(*litres: float, signals: tuple[float | None, ...] = ()) -> tuple[Poured, ...]:
        lines = [
            Entry(k + 2, fillsheets.volume(abs(one)), drained=one < 0.0, signals=signals[k : k + 1])
            for k, one in enumerate(litres)
        ]
        return totals(Sheet("s.csv", tuple(lines)), 720.0)

    assert unseen_m3(sheet(0.0, 2.0, 2.5, 2.001, 5.0), 4) == pytest.approx([2.5e-3, 2.001e-3])
    assert unseen_m3(sheet(2.0, 2.0, 2.0), 0) == ()  # wet at once
    assert unseen_m3(sheet(2.99, 2.0, 2.0), 0) == ()
    assert unseen_m3(sheet(3.01, 2.0, 2.0), 0) == pytest.approx([2e-3])  # more than one can and a half
    drained = sheet(2.0, 2.0, 2.0, -4.5)
    assert [one.total_m3 for one in drained][-1] == pytest.approx(1.5e-3)
    assert unseen_m3(drained, 2) == ()  # 4.5 L came out of it: all three were there
    assert unseen_m3(sheet(2.0, 2.0, 2.0, -4.0), 2) == pytest.approx([2e-3])
    # A quarter of the usual step is 2.5: what moves by less may not have been poured.
    shown = (0.0, 10.0, 12.0, 40.0)
    assert unseen_m3(sheet(2.0, 2.0, 2.0, 2.0, signals=shown), 2) == pytest.approx(
        [2e-3]
    )  # the first has none before it
    assert unseen_m3(sheet(0.0, 2.0, 1.0, 2.0, signals=shown), 3) == pytest.approx([1e-3])
    assert unseen_m3(sheet(0.0, 2.0, 1.0, 2.0, signals=(0.0, None, 12.6, 40.0)), 3) == pytest.approx([2e-3])


def test_a_can_is_found_however_the_dry_lines_are_written() -> None:
    """The stick typed as 0 or left empty while it is dry, and the first cans noted as one: the same tank, the same can."""
    layout, tank, sheet = _sheet(twice=True)
    dry = sum(one.dry for one in sheet.entries)
    zero = fillsheets.volume(0.0)
    typed = [
        replace(one, dry=False, stick=replace(zero, unit="mm", kind="length")) if one.dry else one
        for one in sheet.entries
    ]
    empty = [replace(one, dry=False) if one.dry else one for one in sheet.entries]
    as_one = [replace(sheet.entries[dry], amount=fillsheets.volume(2.5 * (dry + 1))), *sheet.entries[dry + 1 :]]
    for lines in (typed, empty, as_one):
        fit, _, measured = _told(layout, tank, replace(sheet, entries=tuple(lines)))
        assert fit.fewer is not None
        assert fit.fewer.amount_m3 == pytest.approx(2.5e-3)
        assert fit.capacity.gross_m3[1] == pytest.approx(tank.cavity.gross_m3, rel=5e-3)
        assert measured.corrected is not None
        assert measured.corrected.fewer_m3 == pytest.approx(2.5e-3)


def test_what_was_drained_again_was_there() -> None:
    """All that was noted comes out again: no can is missing, and the tank is as large as it comes out."""
    layout, tank, sheet = _sheet(twice=True)
    poured_l = 2.5 * len(sheet.entries)
    drained = Entry(99, fillsheets.volume(poured_l), drained=True, dry=True)
    fit, _, _ = _told(layout, tank, replace(sheet, entries=(*sheet.entries, drained)))
    assert fit.unseen_m3 == ()
    assert fit.fewer is None


def test_a_lamp_that_changed_before_the_first_reading_may_have_done_so_with_a_can_less() -> None:
    seen = [
        LampSeen("a", "goes out", (0.001, 0.002), 0.0, None, "accepted", ""),
        LampSeen("b", "goes out", (0.004, 0.006), 0.0, None, "accepted", ""),
        LampSeen("c", "goes out", (0.005, 0.006), 0.0, None, "accepted", ""),
        LampSeen("d", "goes out", None, None, None, "not computed", ""),
    ]
    found = [one.seen_m3 for one in lowered(seen, 0.002, 0.005)]
    assert found == [(0.0, 0.002), (0.002, 0.006), (0.005, 0.006), None]


def test_too_little_to_tell_is_no_test_of_a_design() -> None:
    """Three cans and four readings: within a fifth of the tank at best."""
    layout, tank, sheet = _sheet()
    few = replace(sheet, entries=sheet.entries[:7])
    with pytest.raises(
        QuestionError, match=r"tells what the tank holds within \d\d % only, no better than any drawing"
    ):
        _told(layout, tank, few)
