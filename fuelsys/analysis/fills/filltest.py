"""A fill test held against its tank: the correction that the readings support, the lines that do not belong, the lamps."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from fuelsys.analysis.fills import lamps as filllamps
from fuelsys.analysis.fills import meanings as fillmeanings
from fuelsys.analysis.fills.answers import corrected, fit_of, reading
from fuelsys.analysis.fills.fit import LEAST_READINGS, Choice, Data, choose
from fuelsys.analysis.fills.lamps import Marks
from fuelsys.analysis.fills.model import FillModel, none, stick_at
from fuelsys.analysis.fills.pouring import Poured, totals
from fuelsys.analysis.fills.suspects import Suspected, suspects
from fuelsys.arrays import Floats
from fuelsys.errors import QuestionError
from fuelsys.model.built.layout import FittedTank, Layout
from fuelsys.model.found.filltest import FillTest, Reading, Suspect
from fuelsys.model.stated.attitude import Attitude
from fuelsys.model.stated.fillsheet import Sheet

_DRY_M = 5e-4  # a stick that reads no more is dry
_FAR = 1.5  # totals that are so many times what the model holds are not a built tank's: a unit is mistaken
_NEAR = 1.25
_POOL_MARGIN, _AIR_MARGIN = 1.3, 0.8


def fill_test(layout: Layout, tank: FittedTank, attitude: Attitude, sheet: Sheet, marks_in: str = "L") -> FillTest:
    """What a sheet says of a tank that stood at an attitude; SheetError and QuestionError where it cannot be read so."""
    density = layout.design.fuel.density_kg_m3
    poured = totals(sheet, density)
    stick = stick_at(layout, tank, attitude)
    marks = filllamps.as_drawn(layout, tank, attitude)
    zero = tank.design.dipstick.zero if tank.design.dipstick else ""
    warm = any(entry.temperature_k or entry.tank_k for entry in sheet.entries)
    if stick is None:
        rows = tuple(Reading(one.entry.line, one.total_m3, None, None, None) for one in poured)
        seen = filllamps.lamps(marks, poured)
        why = "needs [tank.dipstick] with top and bottom"
        return FillTest(tank.name, sheet.file, attitude, zero, rows, seen, None, why, warm)
    model = FillModel.of(tank, attitude, stick)
    why_not = [_left_out(model, one, marks) for one in poured]
    used = [k for k, one in enumerate(poured) if one.entry.stick is not None and not why_not[k]]
    readings = np.array([one.entry.stick.si for k, one in enumerate(poured) if k in used and one.entry.stick])
    data = Data.of(model, readings, np.array([poured[k].total_m3 for k in used]))
    if data.n < LEAST_READINGS:
        rows = tuple(_row(model, one, None, 0.0, why) for one, why in zip(poured, why_not, strict=True))
        why = f"needs {LEAST_READINGS} readings that tell the total; there {'is' if data.n == 1 else 'are'} {data.n}"
        seen = filllamps.lamps(marks, poured)
        return FillTest(tank.name, sheet.file, attitude, zero, rows, seen, None, why, warm)
    _check_units(data, poured, sheet, density)
    found, data = suspects(data)
    choice = choose(data)
    shifts = np.zeros(len(poured))
    for j, one in enumerate(found):
        if one.kind == "total":
            shifts[used[one.index] :] += choice.used.extra_m3[j]
    told = tuple(_suspect(model, choice, j, one, poured, used, density) for j, one in enumerate(found))
    rows = tuple(
        _row(model, one, choice.used.correction, float(shift), why)
        for one, shift, why in zip(poured, shifts, why_not, strict=True)
    )
    fit = fit_of(layout, tank, attitude, choice, told, marks_in)
    moved = [
        replace(one, total_m3=max(0.0, one.total_m3 + float(shift))) for one, shift in zip(poured, shifts, strict=True)
    ]
    by_fit = corrected(choice, marks)
    seen, at = filllamps.lamps(by_fit, moved), filllamps.at_marks(marks, by_fit)
    return FillTest(tank.name, sheet.file, attitude, zero, rows, seen, fit, "", warm, at)


def _left_out(model: FillModel, one: Poured, marks: Marks) -> str:
    """Why a line's reading does not tell its total; empty where it does, or where there is none."""
    typed = one.entry.stick
    if one.entry.dry or (typed and model.stick.zero_m is model.stick.bottom_m and typed.si <= _DRY_M):
        return "dry"
    if typed is None:
        return ""
    level = float(model.levels_m(np.array([typed.si]), none())[0])
    apart, air = (float(v) for v in model.held_at(np.array([marks.apart_below_m, min(marks.air_above_m, 1e3)]), none()))
    if level < marks.apart_below_m and one.total_m3 < _POOL_MARGIN * apart:
        return "pools apart"
    if level > marks.air_above_m and one.total_m3 > _AIR_MARGIN * air:
        return "air trapped"
    return ""


def _row(model: FillModel, one: Poured, correction: Floats | None, shift_m3: float, why: str) -> Reading:
    before = reading(model, one.total_m3, none())
    after = None if correction is None else reading(model, one.total_m3 + shift_m3, correction)
    read = one.entry.stick.si if one.entry.stick else None
    return Reading(
        one.entry.line, one.total_m3, read, before, after, why, one.total_m3 + shift_m3 if shift_m3 else None
    )


def _check_units(data: Data, poured: Sequence[Poured], sheet: Sheet, density: float) -> None:
    """Refuse a sheet whose totals are so far from the model that no correction explains them, and say what may."""
    gross = data.model.tank.cavity.gross_m3

    def ratio(factor: float) -> float:
        held = data.model.held(data.readings_m * factor, none())
        return float(np.median(data.totals_m3 / np.maximum(held, 1e-3 * gross)))

    found = ratio(1.0)
    if 1.0 / _FAR < found < _FAR:
        return
    said = []
    typed = fillmeanings.can(poured)
    if typed and (words := fillmeanings.of_all_amounts(typed, 1.0 / found, density, _NEAR)):
        said.append(words)
    for unit, factor in (("in", 25.4), ("cm", 10.0)):
        for times, text in ((factor, f"in {unit} and written as mm"), (1.0 / factor, f"in mm and written as {unit}")):
            if 1.0 / _NEAR < ratio(times) < _NEAR:
                said.append(f"the stick read {text}")
    meaning = f"Perhaps {' or '.join(said)}. " if said else ""
    raise QuestionError(
        f"the totals are {found:.3g} times what the model holds at these readings",
        mend=f"{meaning}Mend the units, or the design: no correction is so large.",
        file=sheet.file,
        field="poured",
    )


def _suspect(
    model: FillModel,
    choice: Choice,
    index: int,
    one: Suspected,
    poured: Sequence[Poured],
    used: Sequence[int],
    density: float,
) -> Suspect:
    """A line that does not belong, with what it could mean; a total's step by the fullest correction, which bends it least."""
    solved, full, at = choice.used, choice.full, used[one.index]
    line = poured[at]
    if one.kind == "total":
        off, within = -float(full.extra_m3[index]), full.extra_within(index)
        first = used[one.index - 1] + 1 if one.index else 0
        said = fillmeanings.of_total(poured, poured[first : at + 1], off, within, density)
        named = said[0][0] if said else line.entry.line
        words = tuple(words if number == named else f"line {number}: {words}" for number, words in said)
        return Suspect(named, "total", off, within, words)
    typed = line.entry.stick
    assert typed is not None
    true = float(model.readings(np.array([line.total_m3]), solved.correction)[0])
    slope = float(model.slopes(np.array([true]), solved.correction)[0])
    gradient = model.jacobian(np.array([true]), solved.correction)[0] / slope
    within = float(np.hypot(solved.within(gradient), solved.t * solved.noise_m))
    words = tuple(fillmeanings.of_reading(typed, true, within, model.stick.length_m))
    if one.index == choice.data.n - 1 or one.index == 0:
        off = -float(solved.extra_m3[index])
        first = used[one.index - 1] + 1 if one.index else 0
        more = fillmeanings.of_total(poured, poured[first : at + 1], off, solved.extra_within(index), density)
        words += tuple(words if number == line.entry.line else f"line {number}: {words}" for number, words in more)
    return Suspect(line.entry.line, "reading", typed.si - true, within, words)
