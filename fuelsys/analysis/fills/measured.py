"""Tanks as their fill tests found them: every answer then counts what they hold, and their sticks are marked by the test."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from fuelsys.analysis.fills.filltest import fill_test
from fuelsys.analysis.fills.model import FillModel, Stick
from fuelsys.analysis.tank.dipstick import round_step_m3
from fuelsys.analysis.tank.draining import Drained
from fuelsys.analysis.tank.ground import slopes
from fuelsys.analysis.tank.switches import drained_with
from fuelsys.errors import QuestionError
from fuelsys.model.built.cavity import Cavity, Taken
from fuelsys.model.built.layout import FittedTank, Layout
from fuelsys.model.built.measured import Corrected, Tripped
from fuelsys.model.found.dipstick import DipstickStudy, Graduation
from fuelsys.model.found.filltest import FillTest
from fuelsys.model.stated.fittings import Switch
from fuelsys.model.words import Quantity, Words

USUAL_TOLERANCE_M = 3e-3  # of a mark, where none is stated; common practice, no source
WITHIN = 0.02  # of a quantity: what a tank's facets and a can's marks make of it; common practice, no source
_HALVINGS = 40


def with_measured(layout: Layout) -> Layout:
    """The layout with each tank as tests on it found it: what it holds, and marks that trip with less than computed lower.

    QuestionError where a fill test's sheet says nothing, or has lines that do not belong: what they hide is not known.
    """
    return replace(layout, tanks=tuple(_tripped(layout, _filled(layout, tank)) for tank in layout.tanks))


def _filled(layout: Layout, tank: FittedTank) -> FittedTank:
    stated = tank.design.measured
    if stated is None or tank.sheet is None or tank.corrected is not None:
        return tank
    attitude = next((a for a in layout.design.envelope if a.name == stated.at), layout.design.normal("ground"))
    test = fill_test(layout, tank, attitude, tank.sheet)
    check_usable(layout, test)
    assert test.fit is not None
    drawn_m3, holds_m3, within_m3 = test.fit.capacity.gross_m3
    share, within = holds_m3 / drawn_m3, within_m3 / drawn_m3
    used = np.array(test.fit.used_correction)
    found = Corrected(test.file, stated.date, attitude.name, share, within, used, tank.cavity)
    opened = tank.opened
    if opened:
        opened = replace(opened, cavity=_shared(opened.cavity, found), corrected=found)
    return replace(tank, cavity=_shared(tank.cavity, found), opened=opened, corrected=found)


def _tripped(layout: Layout, tank: FittedTank) -> FittedTank:
    """A tank whose marks stand as low as their measured trips say, where that is lower than drawn."""
    stated = [one for one in tank.design.switch if one.measured_trip_m3 is not None]
    if not stated or tank.tripped or not tank.design.outlet:
        return tank
    attitude = layout.design.normal("ground")
    drained = drained_with(tank, attitude, stated)
    tries = {one.name: _trip(drained, index, one) for index, one in enumerate(stated)}
    found = {name: one for name, one in tries.items() if one}
    spots, said = dict(tank.spots), list[Words]()
    for switch, one in found.items():
        if one.drop_m:
            lower_m = tank.spot(f"switch {switch}").point_m - one.drop_m * attitude.up
            spots[f"switch {switch}"] = tank.cavity.spot(f"switch {switch}", lower_m + tank.cavity.centre_m)
            said.append(_lower(switch, one))
    cavity = replace(tank.cavity, measured=(*tank.cavity.measured, *said))
    return replace(tank, tripped=found, spots=spots, cavity=cavity)


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
    low, high = 0.0, drained.tilted.high_m - drained.tilted.low_m
    for _ in range(_HALVINGS):
        middle = (low + high) / 2.0
        held = drained.passed(index, -middle)
        low, high = (middle, high) if held is not None and held > measured else (low, middle)
    drop = high if measured < computed else 0.0
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
        lines = ", ".join(str(one.line) for one in test.fit.suspects)
        mend = "`fuelsys filltest` says what they could mean: mend them, or take them out."
        found = f"{test.file} has lines that do not belong: {lines}"
        raise QuestionError(found, mend=mend, file=layout.file, field=field)


def _shared(cavity: Cavity, by: Corrected) -> Cavity:
    """The cavity holding the share that a test found of what was drawn."""
    lost = Taken(f"fill test of {by.date}", cavity.gross_m3 * (1.0 - by.share), cavity.gross_m3 * by.within)
    more = (by.share - 1.0) * 100.0
    said: Words = (
        f"Measured on {by.date} ({by.file}, {by.attitude}): it holds {more:+.1f} % of what was drawn, within {by.within * 100.0:.1f} %"
        " (95 %), by the same share everywhere. Unusable fuel is not counted as less for that: it needs a drain test.",
    )
    return replace(
        cavity,
        gross_m3=cavity.gross_m3 * by.share,
        share=cavity.share * by.share,
        taken=(*cavity.taken, lost),
        measured=(*cavity.measured, said),
    )


def corrected_stick(tank: FittedTank, stick: DipstickStudy, marks_in: str) -> DipstickStudy:
    """A stick's study with the marks that the fill test gives; as it was where none bears on it.

    A test at another attitude than the normal one on the ground leaves the marks where the drawing and the share put them.
    """
    found, drawn = tank.corrected, Stick.of(tank)
    if found is None or drawn is None or found.attitude != stick.attitude.name:
        return stick
    whole = replace(tank, cavity=found.drawn)
    model = FillModel.of(whole, stick.attitude, drawn)
    ends = np.sort(model.held(np.array([0.0, drawn.length_m]), found.stick))
    stated = tank.design.dipstick.step_m3 if tank.design.dipstick else None
    step_m3, _ = round_step_m3(stated, tank.cavity.gross_m3, marks_in)
    volumes = step_m3 * np.arange(np.floor(ends[0] / step_m3) + 1, np.floor(ends[1] / step_m3 + 1e-9) + 1)
    along = model.readings(volumes, found.stick)
    tilted = [
        FillModel.of(whole, tilt, drawn).held(along, found.stick)
        for tilt in slopes(stick.attitude, stick.slope_rad, "")
    ]
    sloped = np.array(tilted).reshape(len(tilted), volumes.size)
    apart_m3 = float(model.held_at(np.array([model.apart_below_m()]), found.stick)[0])
    marks = tuple(
        Graduation(float(v), float(at), (float(sloped[:, k].min()), float(sloped[:, k].max())), bool(v < apart_m3))
        for k, (v, at) in enumerate(zip(volumes, along, strict=True))
        if 0.0 <= at <= drawn.length_m
    )
    empty = None
    if stick.unusable_m3 is not None and ends[0] <= stick.unusable_m3 <= ends[1]:
        empty = float(model.readings(np.array([stick.unusable_m3]), found.stick)[0])
    return replace(stick, below_m3=float(ends[0]), top_m3=float(ends[1]), marks=marks, empty_m=empty, by_test=True)
