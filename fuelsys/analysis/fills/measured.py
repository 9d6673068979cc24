"""Tanks as their fill tests found them: every answer then counts what they hold, and their sticks are marked by the test."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from fuelsys.analysis.fills.fit import USUAL
from fuelsys.analysis.fills.twins import beside, lower
from fuelsys.analysis.tank.dipstick import LEAST_SHUT_M3, graduations, round_step_m3
from fuelsys.analysis.tank.draining import Drained
from fuelsys.analysis.tank.ground import slopes
from fuelsys.analysis.tank.switches import drained_with
from fuelsys.analysis.tank.tilted import Tilted
from fuelsys.errors import QuestionError
from fuelsys.model.built.cavity import Cavity, Taken
from fuelsys.model.built.layout import FittedTank, Layout
from fuelsys.model.built.measured import Corrected, Tripped
from fuelsys.model.found.dipstick import DipstickStudy
from fuelsys.model.stated.fittings import Switch
from fuelsys.model.words import Doubt, Quantity, Words

if TYPE_CHECKING:
    from fuelsys.model.found.filltest import FillTest

USUAL_TOLERANCE_M = 3e-3  # of a mark, where none is stated; common practice, no source
WITHIN = 0.02  # of a quantity: what a tank's facets and a can's marks make of it; common practice, no source
_HALVINGS = 40
_LEAST_M3 = 0.5e-6  # less is nothing in any unit that figures are shown in


def with_measured(layout: Layout) -> Layout:
    """The layout with each tank as tests on it found it: what it holds, and marks that trip with less than computed lower.

    QuestionError where a fill test's sheet says nothing, or has lines that do not belong: what they hide is not known.
    """
    tanks = [_lowered(layout, _filled(layout, tank)) for tank in layout.tanks]
    return replace(layout, tanks=tuple(beside(tank, tanks, layout) for tank in tanks))


def _filled(layout: Layout, tank: FittedTank) -> FittedTank:
    stated = tank.design.measured
    if stated is None or tank.sheet is None or tank.corrected is not None:
        return tank
    from fuelsys.analysis.fills.filltest import fill_test  # noqa: PLC0415  for designs with a test: six modules

    attitude = next((a for a in layout.design.envelope if a.name == stated.at), layout.design.normal("ground"))
    test = fill_test(layout, tank, attitude, tank.sheet)
    check_usable(layout, test)
    assert test.fit is not None
    drawn_m3, holds_m3, within_m3 = test.fit.capacity.gross_m3
    share, within = holds_m3 / drawn_m3, within_m3 / drawn_m3
    used = np.array(test.fit.used_correction)
    band = None if test.fit.curve is None else (test.fit.curve[0], test.fit.curve[3])
    sure = {(one.switch, one.attitude.name): one.sure_m3 for one in test.at_marks}
    fewer_m3 = test.fit.fewer.amount_m3 if test.fit.fewer else 0.0
    found = Corrected(test.file, stated.date, attitude.name, share, within, used, tank.cavity, band, sure, fewer_m3)
    opened = tank.opened
    if opened:
        opened = replace(opened, cavity=_shared(opened.cavity, found), corrected=found)
    return replace(
        tank,
        cavity=_shared(tank.cavity, found),
        opened=opened,
        corrected=found,
        untested=_untold(tank.name, found, test),
    )


def _untold(name: str, found: Corrected, test: FillTest) -> tuple[Doubt, ...]:
    """What the test leaves open and its figures cannot show, wherever they are used."""
    said = []
    if found.share - found.within > 1.0:
        said.append(
            Doubt(
                f"{name} counts {(found.share - 1.0) * 100.0:.1f} % larger than drawn by its fill test: a can that was noted and not"
                " poured (while the stick is dry no reading shows it) or that holds less than written looks the same. Fill it again before"
                " you count on more than was drawn."
            )
        )
    if found.fewer_m3:
        said.append(
            Doubt(
                f"the fill test of {name} is explained as well without a can that was noted while the stick was dry: the tank counts as if"
                " it had not been poured. `fuelsys filltest` says which, and what tells the two apart."
            )
        )
    fit = test.fit
    if fit is not None and (fit.same or any(one.rival for one in fit.tried)):
        said.append(
            Doubt(
                f"the fill test of {name} cannot tell apart what may be off: `fuelsys filltest` says what; marks hold for all of it,"
                " capacity for the simplest."
            )
        )
    return tuple(said)


def _lowered(layout: Layout, tank: FittedTank) -> FittedTank:
    """A tank whose marks stand so low that no more is counted at a trip than tests on it are sure of."""
    if tank.tripped or not tank.design.outlet:
        return tank
    up, tested = layout.design.normal("ground").up, tank.corrected
    stated = [one for one in tank.design.switch if one.measured_trip_m3 is not None]
    tries = {} if not stated else _tried(layout, tank, stated)
    found = {name: one for name, one in tries.items() if one}
    drops_m = {name: one.drop_m for name, one in found.items()}
    said = [_lower(name, one) for name, one in found.items() if one.drop_m]
    for name, drop_m in ({} if tested is None else _sure_drops_m(layout, tank, tested)).items():
        if drop_m > drops_m.get(name, 0.0):
            drops_m[name] = drop_m
            said.append(_sure(name, drop_m))
    moved_m = {f"switch {name}": drop_m * up for name, drop_m in drops_m.items() if drop_m}
    if not moved_m:
        return replace(tank, tripped=found)
    return lower(replace(tank, tripped=found), moved_m, said)


def _sure_drops_m(layout: Layout, tank: FittedTank, tested: Corrected) -> dict[str, float]:
    """How much lower each mark must count, straight down as the aircraft is parked, to be sure at every stated attitude."""
    up, switches = layout.design.normal("ground").up, tank.design.switch
    drops_m = dict.fromkeys((switch.name for switch in switches), 0.0)
    for attitude in layout.design.envelope if switches else ():
        drained = drained_with(tank, attitude, switches)
        level, upright = Tilted.of(tested.drawn, attitude.up), float(up @ attitude.up)
        for index, switch in enumerate(switches):
            sure_m3, counted_m3 = tested.sure_m3.get((switch.name, attitude.name)), drained.passed(index, 0.0, 1)
            if sure_m3 is None or counted_m3 is None:
                continue
            at_m = tank.level_m(f"switch {switch.name}", attitude.up)
            over_m3 = tested.share * float(level.volume_and_area(np.array([at_m]))[0][0]) - sure_m3
            if over_m3 > _LEAST_M3:
                drop_m = _drop_m(drained, index, counted_m3 - over_m3)
                drops_m[switch.name] = max(drops_m[switch.name], drop_m / upright)
    return drops_m


def _drop_m(drained: Drained, index: int, most_m3: float) -> float:
    """How much lower a mark trips with no more than a quantity."""
    low, high = 0.0, drained.tilted.high_m - drained.tilted.low_m
    for _ in range(_HALVINGS):
        middle = (low + high) / 2.0
        held = drained.passed(index, -middle, 1)
        low, high = (middle, high) if held is not None and held > most_m3 else (low, middle)
    return high


def _sure(switch: str, drop_m: float) -> Words:
    drop = Quantity("length", (drop_m,), up=True)
    return (f'Switch "{switch}": its mark counts as ', drop, " lower everywhere, so that no attitude counts more at its trip than the"
            " fill test is sure of (95 %, and what it leaves unexplained); a drain to the lamp, noted in the test, says more.")  # fmt: skip


def _tried(layout: Layout, tank: FittedTank, stated: Sequence[Switch]) -> dict[str, Tripped | None]:
    """The trips that were measured."""
    drained = drained_with(tank, layout.design.normal("ground"), stated)
    return {one.name: _trip(drained, index, one) for index, one in enumerate(stated)}


def _lower(switch: str, one: Tripped) -> Words:
    measured, computed = (Quantity("volume", (value,)) for value in (one.measured_m3, one.computed_m3))
    drop = Quantity("length", (one.drop_m,), up=True)
    return (f'Switch "{switch}" trips with ', measured, " as measured, ", computed, " as drawn: its mark counts as ", drop,
            " lower everywhere.")  # fmt: skip


def _trip(drained: Drained, index: int, switch: Switch) -> Tripped | None:
    """A measured trip against the computed one; None where that is not computed, since the surface never passes the mark."""
    measured = switch.measured_trip_m3 or 0.0
    off = USUAL_TOLERANCE_M if switch.tolerance_m is None else switch.tolerance_m
    computed, least, most = drained.passed_all([(index, 0.0, 1), (index, -off, 1), (index, off, 1)])
    if computed is None:
        return None
    least, most = (computed if one is None else one for one in (least, most))
    drop = _drop_m(drained, index, measured) if measured < computed else 0.0
    return Tripped(measured, computed, least - WITHIN * computed, most + WITHIN * computed, drop)


def check_usable(layout: Layout, test: FillTest) -> None:
    """Refuse a test whose sheet gives no correction, or has lines that do not belong."""
    field = f"tank {test.tank}.measured"
    if test.fit is None:
        mend = "Fill in more of the sheet, or take [tank.measured] out."
        raise QuestionError(
            f"{test.file} gives no correction: {test.why_no_fit}", mend=mend, file=layout.file, field=field
        )
    if test.fit.suspects:
        lines = "; ".join(one.at or f"line {one.line}" for one in test.fit.suspects)
        mend = "`fuelsys filltest` says what they could mean: mend them, or take them out."
        found = f"{test.file} has lines that do not belong: {lines}"
        raise QuestionError(found, mend=mend, file=layout.file, field=field)
    drawn_m3, _, within_m3 = test.fit.capacity.gross_m3
    if test.fit.fewer is None and within_m3 > USUAL[0] * drawn_m3:
        found = f"{test.file} tells what the tank holds within {within_m3 / drawn_m3 * 100.0:.0f} % only, no better than any drawing"
        mend = "Fill it further and read more, or take [tank.measured] out."
        raise QuestionError(found, mend=mend, file=layout.file, field=field)


def _shared(cavity: Cavity, by: Corrected) -> Cavity:
    """The cavity holding the share that a test found of what was drawn."""
    lost = Taken(f"fill test of {by.date}", cavity.gross_m3 * (1.0 - by.share), cavity.gross_m3 * by.within)
    more = (by.share - 1.0) * 100.0
    said: Words = (
        f"Measured on {by.date} ({by.file}, {by.attitude}): it holds {more:+.1f} % against what was drawn, within {by.within * 100.0:.1f} %"
        " (95 %), by the same share everywhere. Unusable fuel is not counted as less for that, nor as more for a tilt or another shape"
        " that the test may have found: it needs a drain test.",
    )
    return cavity.counting(by.share, lost, said)


def corrected_stick(tank: FittedTank, stick: DipstickStudy, marks_in: str) -> DipstickStudy:
    """A stick's study with the marks that the fill test gives; as it was where none bears on it.

    A test at another attitude leaves the marks where the drawing and the share put them, since its tilt may be of the ground that
    the aircraft stood on; by how much they show too much if it is the stick's or the tank's own is told.
    """
    found = tank.corrected
    if found is None:
        return stick
    from fuelsys.analysis.fills.model import FillModel, Stick  # noqa: PLC0415  as in _filled

    drawn = Stick.of(tank)
    if drawn is None:
        return stick
    whole = replace(tank, cavity=found.drawn)
    model = FillModel.of(whole, stick.attitude, drawn)
    if found.attitude != stick.attitude.name:
        there = model.filled(np.array([mark.along_m for mark in stick.marks]), found.stick)
        over = [mark.volume_m3 - float(held) for mark, held in zip(stick.marks, there, strict=True)]
        return replace(stick, by_test_less_m3=max([0.0, *over]))
    ends = np.sort(model.filled(np.array([0.0, drawn.length_m]), found.stick))
    stated = tank.design.dipstick.step_m3 if tank.design.dipstick else None
    step_m3, _ = round_step_m3(stated, tank.cavity.gross_m3, marks_in)
    volumes = step_m3 * np.arange(np.floor(ends[0] / step_m3) + 1, np.floor(ends[1] / step_m3 + 1e-9) + 1)
    along = model.filled_readings(volumes, found.stick)
    tilted = [
        FillModel.of(whole, tilt, drawn).filled(along, found.stick)
        for tilt in slopes(stick.attitude, stick.slope_rad, "")
    ]
    sloped = np.array(tilted).reshape(len(tilted), volumes.size)
    apart_m3 = float(model.held_at(np.array([model.apart_below_m()]), found.stick)[0])
    elsewhere = None if stick.other is None else FillModel.of(whole, stick.other, drawn).filled(along, found.stick)
    within = None if found.band is None else np.interp(along, *found.band)
    ends_m3 = model.held(np.array([0.0, drawn.length_m]), found.stick)
    shut = model.held(along, found.stick) - volumes > LEAST_SHUT_M3
    every = graduations(volumes, along, sloped, volumes < apart_m3, elsewhere, within, shut=shut)
    marks = tuple(mark for mark in every if 0.0 <= mark.along_m <= drawn.length_m)
    empty = None
    if stick.unusable_m3 is not None and ends[0] <= stick.unusable_m3 <= ends[1]:
        empty = float(model.filled_readings(np.array([stick.unusable_m3]), found.stick)[0])
    lower = along + (stick.hangs_m if stick.zero == "top" else -stick.hangs_m)
    dropped_m3 = float((volumes - model.filled(lower, found.stick)).max(initial=stick.dropped_m3))
    return replace(stick, below_m3=float(ends[0]), top_m3=float(ends[1]), marks=marks, empty_m=empty, by_test=True,
                   dropped_m3=dropped_m3, shut_in_m3=float(ends_m3.max() - ends[1]))  # fmt: skip
