"""A can that is noted too often while the stick is dry: no reading shows it, and the answer says so wherever it counts."""

from __future__ import annotations

from dataclasses import replace

import fillsheets
import pytest

from fuelsys.analysis.fills.filltest import fill_test
from fuelsys.analysis.fills.measured import with_measured
from fuelsys.model.built.layout import FittedTank, Layout
from fuelsys.model.stated.fillsheet import Sheet
from fuelsys.model.words import Doubt
from fuelsys.report.shown import Shown
from fuelsys.report.tables.fill_words import unchecked


def _sheet(twice: bool) -> tuple[Layout, FittedTank, Sheet]:
    """The example's left tank just as drawn, filled by 2.5 L; the stick is dry up to 7.5 L."""
    layout = fillsheets.example()
    tank = layout.tank("left")
    sheet = fillsheets.poured(fillsheets.model_of(tank, layout.design.normal("ground")), 2.5e-3, 18, 1e-3)
    dry = [one for one in sheet.entries if one.dry]
    assert len(dry) >= 3
    lines = [*dry, dry[-1], *sheet.entries[len(dry) :]] if twice else list(sheet.entries)
    return layout, tank, replace(sheet, entries=tuple(replace(one, line=k + 2) for k, one in enumerate(lines)))


@pytest.mark.parametrize("twice", [False, True])
def test_what_no_reading_checks_is_told_and_a_tank_that_came_out_larger_is_in_doubt(twice: bool) -> None:
    layout, tank, sheet = _sheet(twice)
    test = fill_test(layout, tank, layout.design.normal("ground"), sheet)
    assert test.fit is not None
    drawn_m3, holds_m3, within_m3 = test.fit.capacity.gross_m3
    assert (holds_m3 - within_m3 > drawn_m3) == twice  # the tank is as drawn
    said = unchecked(test, Shown())
    dry_l = 2.5 * sum(one.dry for one in sheet.entries)
    assert f"o reading checks {dry_l:.3f} L that were poured while the stick was dry" in said
    assert isinstance(said, Doubt) == twice
    measured = with_measured(replace(layout, tanks=(fillsheets.tested_tank(tank, sheet), *layout.tanks[1:])))
    larger = [one for one in measured.tank("left").untested if "larger than drawn by its fill test" in one]
    assert len(larger) == twice
    assert all(isinstance(one, Doubt) for one in larger)
