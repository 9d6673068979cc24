"""A fill test held against its tank: the correction that the readings support, the lines that do not belong, the lamps."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import partial

import numpy as np

from fuelsys import units
from fuelsys.analysis.fills import lamps as filllamps
from fuelsys.analysis.fills import meanings as fillmeanings
from fuelsys.analysis.fills.answers import corrected, fit_of, reading
from fuelsys.analysis.fills.assured import at_marks
from fuelsys.analysis.fills.blind import lesser, lowered, unseen_m3
from fuelsys.analysis.fills.data import Data
from fuelsys.analysis.fills.fit import LEAST_READINGS, Choice, choose
from fuelsys.analysis.fills.gauges import gauges
from fuelsys.analysis.fills.lamps import Marks
from fuelsys.analysis.fills.model import FillModel, Stick, none, stick_at
from fuelsys.analysis.fills.origin import origin_notes
from fuelsys.analysis.fills.pouring import Poured, totals, with_moved
from fuelsys.analysis.fills.suspects import LEAST_SHARE, Suspected, suspects
from fuelsys.arrays import Floats
from fuelsys.errors import QuestionError, SheetError, meant
from fuelsys.model.built.layout import FittedTank, Layout
from fuelsys.model.found.filltest import FillTest, GaugeSeen, Reading, Suspect
from fuelsys.model.stated.attitude import Attitude
from fuelsys.model.stated.fillsheet import Entry, Sheet, Typed

_DRY_M = 5e-4  # a stick that reads no more is dry
_FAR = 1.5  # totals that are so many times what the model holds are not a built tank's: a unit is mistaken
_NEAR, _MOSTLY = (
    1.25,
    0.9,
)  # and as near as this at so many of the readings counts as explained; chosen here, no source
_POOL_MARGIN, _AIR_MARGIN = 1.3, 0.8


def fill_test(layout: Layout, tank: FittedTank, attitude: Attitude, sheet: Sheet, marks_in: str = "L") -> FillTest:
    """What a sheet says of a tank that stood at an attitude; SheetError and QuestionError where it cannot be read so."""
    density = layout.design.fuel.density_kg_m3
    origin, poured = origin_notes(layout, tank, attitude, sheet), totals(sheet, density)
    _check_lines(layout, tank, attitude, poured, sheet)
    stick = stick_at(layout, tank, attitude)
    marks = filllamps.as_drawn(layout, tank, attitude)
    zero = tank.design.dipstick.zero if tank.design.dipstick else ""
    warm = any(entry.temperature_k or entry.tank_k for entry in sheet.entries)
    found_of = partial(FillTest, tank.name, sheet.file, attitude, zero, origin=origin)
    if stick is None:
        rows = tuple(Reading(one.entry.line, one.total_m3, None, None, None) for one in poured)
        why = "needs [tank.dipstick] with top and bottom"
        here = [one for one in poured if one.entry.attitude in ("", attitude.name)]
        unread = tuple(GaugeSeen(one.name, why=why) for one in tank.design.gauge if any(e.entry.signals for e in here))
        return found_of(rows, filllamps.lamps(marks, here), None, why, warm, gauges=unread)
    model = FillModel.of(tank, attitude, stick)
    standing = _standing(layout, model, poured, marks)
    others = tuple(other for one in standing.values() for other in one.models)[1:]
    read = _read(standing, poured)
    used = [one for one in read if one.typed is not None and not one.why]
    data = _data(model, used, poured, others)
    if data.n < LEAST_READINGS:
        rows = tuple(_row(poured[one.line], one, None, 0.0) for one in read)
        why = f"needs {LEAST_READINGS} readings that tell the total; there {'is' if data.n == 1 else 'are'} {data.n}"
        seen_by = gauges(model, none(), poured, marks, marks_in)
        return found_of(rows, filllamps.lamps(marks, poured), None, why, warm, gauges=seen_by)
    if not (data.place == 0).any():
        mend = "Give --at the attitude that most lines were read at."
        raise QuestionError(f'no reading is at "{attitude.name}"', mend=mend, file=sheet.file, field="attitude")
    _check_units(data, poured, sheet, density)
    found, data = suspects(data)
    choice = noted = choose(data)
    first, least_m3 = used[0].line, LEAST_SHARE * tank.cavity.gross_m3
    unseen = () if found else unseen_m3(poured, first, least_m3)
    less = lesser(choice, unseen, poured, first, marks)
    shifts = np.zeros(len(poured))  # what totals are off by, from a suspect one on
    if less is not None:
        choice, shifts[first:] = less[1], -less[0]
    for j, one in enumerate(found):
        if one.kind == "total":
            shifts[used[one.index].line :] += choice.used.extra_m3[j]
    told = tuple(_suspect(choice, j, one, poured, used, density) for j, one in enumerate(found))
    rows = tuple(_row(poured[one.line], one, choice.used.correction, float(shifts[one.line])) for one in read)
    fit = fit_of(layout, tank, attitude, choice, told, marks_in, (noted, less[0]) if less else None)
    fit = replace(fit, unseen_m3=unseen)
    moved = with_moved(poured, shifts)
    seen = filllamps.lamps(corrected(choice, marks), moved)
    sure = lowered(seen, less[0], poured[first].total_m3) if less else seen
    return found_of(rows, seen, fit, "", warm, at_marks(tank, layout.design.envelope, choice, sure),
                    gauges(model, choice.used.correction, moved, marks, marks_in))  # fmt: skip


def _check_lines(layout: Layout, tank: FittedTank, attitude: Attitude, poured: Sequence[Poured], sheet: Sheet) -> None:
    """Refuse attitudes and gauges that the design does not have, and lamps and signals at another attitude than the test's."""
    known, count = [one.name for one in layout.design.envelope if one.phase == "ground"], len(tank.design.gauge)
    for entry in (one.entry for one in poured):
        name, signals = entry.attitude, [one for one in entry.signals if one is not None]
        found = mend = ""
        if any(signal is not None for signal in entry.signals[count:]):
            found, field = f"the tank has {count or 'no'} gauge{'s' if count > 1 else ''}", "signal"
            mend = "Add [[tank.gauge]], or leave it empty."
        elif name and name not in known:
            found, field = f"found {units.shown(name)}", "attitude"
            mend = f"{meant(name, known)}Name one that the design has on the ground: {', '.join(known)}."
        elif name not in ("", attitude.name) and (signals or entry.lit is not None):
            found, field = "lamps or signals are noted at another attitude", "attitude"
            mend = f'Leave them empty there: they are judged at "{attitude.name}".'
        if found:
            raise SheetError(found, mend=mend, file=sheet.file, field=f"line {entry.line}, {field}")


@dataclass(frozen=True)
class Read:
    """What a line (its index) has of the stick at a place, 0 its own: the length typed, the place's model, why it is left out."""

    line: int
    place: int
    typed: Typed | None
    model: FillModel
    why: str = ""
    standing: int = 0
    attitude: str = ""


@dataclass(frozen=True)
class Standing:
    """The tank at an attitude of the test: its models by the stick's places, their first number, its marks, its name if not the first."""

    models: tuple[FillModel, ...]
    first: int
    marks: Marks
    name: str


def _standing(layout: Layout, model: FillModel, poured: Sequence[Poured], marks: Marks) -> dict[str, Standing]:
    """The attitudes that the lines name, under their names, the test's own first."""
    known = {one.name: one for one in layout.design.envelope if one.phase == "ground"}
    own = model.attitude.name
    sticks = (model.stick, *Stick.also(model.tank))
    found = {own: Standing(tuple(replace(model, stick=one) for one in sticks), 0, marks, "")}
    for entry in (one.entry for one in poured if one.entry.attitude not in ("", own)):
        name = entry.attitude
        if name not in found:
            stick_at(layout, model.tank, known[name])
            there = replace(model, attitude=known[name], kept={})
            models = tuple(replace(there, stick=one) for one in sticks)
            found[name] = Standing(
                models, len(found) * len(sticks), filllamps.as_drawn(layout, model.tank, known[name]), name
            )
    return found


def _read(standing: dict[str, Standing], poured: Sequence[Poured]) -> list[Read]:
    """What the lines have of the stick: of its own place each of them, of others those that were written."""
    found, own = [], next(iter(standing))
    for k, one in enumerate(poured):
        at = standing[one.entry.attitude or own]
        for place, (typed, model) in enumerate(zip((one.entry.stick, *one.entry.also), at.models, strict=False)):
            if typed is not None or place == 0:
                why = _left_out(model, typed, one.total_m3, at.marks, dry=place == 0 and one.entry.dry)
                found.append(Read(k, place, typed, model, why, at.first + place, at.name))
    return found


def _data(model: FillModel, used: Sequence[Read], poured: Sequence[Poured], others: tuple[FillModel, ...]) -> Data:
    """The readings that are used, as the fit takes them."""
    return Data.of(
        model,
        np.array([one.typed.si for one in used if one.typed]),
        np.array([poured[one.line].total_m3 for one in used]),
        np.array([one.line for one in used], np.int32),
        np.array([one.standing for one in used], np.int32),
        others,
    )


def _left_out(model: FillModel, typed: Typed | None, total_m3: float, marks: Marks, *, dry: bool = False) -> str:
    """Why a reading does not tell a line's total; empty where it does, or where there is none."""
    if dry or (typed and model.stick.zero_m is model.stick.bottom_m and typed.si <= _DRY_M):
        return "dry"
    if typed is None:
        return ""
    level = float(model.levels_m(np.array([typed.si]), none())[0])
    apart, air = (float(v) for v in model.held_at(np.array([marks.apart_below_m, min(marks.air_above_m, 1e3)]), none()))
    if level < marks.apart_below_m and total_m3 < _POOL_MARGIN * apart:
        return "pools apart"
    if level > marks.air_above_m and total_m3 > _AIR_MARGIN * air:
        return "air trapped"
    return ""


def _row(line: Poured, one: Read, correction: Floats | None, shift_m3: float) -> Reading:
    before = reading(one.model, line.total_m3, none())
    after = None if correction is None else reading(one.model, line.total_m3 + shift_m3, correction)
    read = one.typed.si if one.typed else None
    mended = line.total_m3 + shift_m3 if shift_m3 else None
    return Reading(line.entry.line, line.total_m3, read, before, after, one.why, mended, one.place, one.attitude)


def _check_units(data: Data, poured: Sequence[Poured], sheet: Sheet, density: float) -> None:
    """Refuse a sheet whose totals are so far from the model that no correction explains them, and say what may."""
    gross = data.model.tank.cavity.gross_m3

    def ratio(factor: float) -> float:
        own = data.place == 0
        held = data.model.held(data.readings_m[own] * factor, none())
        return float(np.median(data.totals_m3[own] / np.maximum(held, 1e-3 * gross)))

    found = ratio(1.0)
    if 1.0 / _FAR < found < _FAR:
        return
    slipped = _slipped(data, poured, density)
    said, typed = [*slipped], None if slipped else fillmeanings.can(poured)
    if typed and (words := fillmeanings.of_all_amounts(typed, 1.0 / found, density, _NEAR)):
        said.append(words)
    for unit, factor in () if slipped else (("in", 25.4), ("cm", 10.0)):
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


def _slipped(data: Data, poured: Sequence[Poured], density: float) -> list[str]:
    """The line whose amount, taken for what a slip may have made of it, brings the totals nearest to the model; empty where none does."""
    own, best, nearest = data.place == 0, [], float(np.log(_NEAR))
    held = np.maximum(data.model.held(data.readings_m[own], none()), 1e-3 * data.model.tank.cavity.gross_m3)
    for k, one in enumerate(poured):
        for moves_m3, words in fillmeanings.of_amount(one, density):
            totals = data.totals_m3[own] + moves_m3 * (data.order[own] >= k)
            off = float(np.quantile(np.abs(np.log(np.maximum(totals / held, 1e-3))), _MOSTLY))
            if off < nearest:
                best, nearest = [f"{one.entry.place}: {words}"], off
    return best


def _suspect(
    choice: Choice,
    index: int,
    one: Suspected,
    poured: Sequence[Poured],
    used: Sequence[Read],
    density: float,
) -> Suspect:
    """A line that does not belong, with what it could mean; a total's step by the fullest correction, which bends it least."""
    solved, full, read = choice.used, choice.full, used[one.index]
    at, model, line = read.line, read.model, poured[read.line]
    if one.kind == "total":
        off, within = -float(full.extra_m3[index]), full.extra_within(index)
        first = used[one.index - 1].line + 1 if one.index else 0
        said = fillmeanings.of_total(poured, poured[first : at + 1], off, within, density)
        named = said[0][0] if said else line.entry.line
        words = tuple(
            words if number == named else f"{_entry(poured, number).place}: {words}" for number, words in said
        )
        entry = _entry(poured, named)
        return Suspect(named, "total", off, within, (*_empty(entry), *words), at=entry.place)
    typed = read.typed
    assert typed is not None
    true = float(model.readings(np.array([line.total_m3]), solved.correction)[0])
    slope = float(model.slopes(np.array([true]), solved.correction)[0])
    gradient = model.jacobian(np.array([true]), solved.correction)[0] / slope
    within = float(np.hypot(solved.within(gradient), solved.t * solved.noise_m))
    words = tuple(fillmeanings.of_reading(typed, true, within, model.stick.length_m))
    if read.place == 0 and one.index in (choice.data.n - 1, 0):
        off = -float(solved.extra_m3[index])
        first = used[one.index - 1].line + 1 if one.index else 0
        more = fillmeanings.of_total(poured, poured[first : at + 1], off, solved.extra_within(index), density)
        words += tuple(
            words if number == line.entry.line else f"{_entry(poured, number).place}: {words}" for number, words in more
        )
        words = (*_empty(line.entry), *words)
    return Suspect(line.entry.line, "reading", typed.si - true, within, words, read.place, line.entry.place)


def _entry(poured: Sequence[Poured], line: int) -> Entry:
    return next(one.entry for one in poured if one.entry.line == line)


def _empty(entry: Entry) -> tuple[str, ...]:
    """That nothing stands in poured or drained beside a reading."""
    return () if entry.amount or entry.stick is None else ("the cell poured is empty there, which counts as 0",)
