"""How a fill test may go: totals to pour to, what the stick should then read, and where to pour little at a time."""

from __future__ import annotations

from dataclasses import replace
from math import radians

import numpy as np

from fuelsys import units
from fuelsys.analysis.fills.answers import reading
from fuelsys.analysis.fills.foresee import sees
from fuelsys.analysis.fills.lamps import Marks, as_drawn
from fuelsys.analysis.fills.model import PITCH, ROLL, FillModel, Stick, none, stick_at
from fuelsys.analysis.fills.origin import made_for
from fuelsys.analysis.tank.filling import filled
from fuelsys.arrays import Floats
from fuelsys.model.built.layout import FittedTank, Layout
from fuelsys.model.found.filltest import FillPlan, Step
from fuelsys.model.stated.attitude import Attitude
from fuelsys.model.words import Quantity, Words

_STEPS = 16.0  # so many at least: enough readings to tell a correction from a mistake


def plan(layout: Layout, tank: FittedTank, attitude: Attitude, pours_in: str = "L") -> FillPlan:
    """The plan for a tank at an attitude, in round amounts of a unit of volume, with each lamp's change."""
    full, marks = filled(layout, tank, attitude), as_drawn(layout, tank, attitude)
    said = _round_totals(full.volume_m3 if full else tank.cavity.gross_m3, pours_in)
    if full:
        said.setdefault(full.volume_m3, []).append((f"full, to the {full.limited_by}",))
    lamps, told = _lamps(marks)
    for (name, total), words in lamps.items():
        said.setdefault(total, []).append((f'lamp "{name}" ', *words))
    stick = stick_at(layout, tank, attitude)
    model = FillModel.of(tank, attitude, stick) if stick else None
    others = Stick.also(tank)
    at = [model, *(replace(model, stick=one) for one in others)] if model else []
    steps = []
    for total in sorted(said):
        own, *also = [reading(one, total, none()) for one in at] or [None]
        if model and (why := _not_counted(model, marks, own)):
            said[total].append((why,))
        there = tuple(name for name, changes in lamps if changes == total)
        steps.append(Step(total, own, _joined(said[total]), tuple(also), there))
    totals = np.array([step.total_m3 for step in steps if step.total_m3 > 0.0])
    stated = tank.design.dipstick
    names = tuple(switch.name for switch in tank.design.switch)
    ways = tuple(one.name for one in layout.design.envelope if one.phase == "ground" and one.name != attitude.name)
    return FillPlan(
        tank.name, attitude, stated.zero if stated else "", stick.length_m if stick else None, tuple(steps), names,
        tuple(told), sees(model, others, totals) if model else None, len(others), ways,
        tuple(gauge.name for gauge in tank.design.gauge),
        ((stated.bottom_m, stated.top_m), *((one.bottom_m, one.top_m) for one in stated.also)) if stated else (),
        _per_degree_m(model, totals) if model else None, made_for(layout, tank, attitude),
    )  # fmt: skip


def _round_totals(most_m3: float, pours_in: str) -> dict[float, list[Words]]:
    """Round totals from nothing to a volume, with room for what happens at each."""
    unit_m3 = units.scale(pours_in, "volume")
    step_m3 = _round_down(most_m3 / _STEPS / unit_m3) * unit_m3
    return {float(k * step_m3): [] for k in range(int(most_m3 / step_m3 + 1e-9) + 1)}


def _lamps(marks: Marks) -> tuple[dict[tuple[str, float], Words], list[str]]:
    """At which total each lamp should go out, by its name and that total, and on again as fuel is drained; those that are not told."""
    found: dict[tuple[str, float], Words] = {}
    not_told = []
    for switch in marks.tank.design.switch:
        expected, again = marks.expected(switch, "goes out"), marks.expected(switch, "comes on")
        if isinstance(expected, str):
            not_told.append(f'Lamp "{switch.name}": {expected}.')
            continue
        predicted, window = expected
        words: Words = ("should go out at ", Quantity("volume", (predicted,)))
        if switch.tolerance_m:
            ends = Quantity("volume", (window[0],)), Quantity("volume", (window[1],))
            words = ("should go out between ", ends[0], " and ", ends[1])
        if not isinstance(again, str):
            words = (*words, "; drained again, on at ", Quantity("volume", (again[0],)))
        found[switch.name, predicted] = words
    return found, not_told


def _not_counted(model: FillModel, marks: Marks, read_m: float | None) -> str:
    """Why a reading there will tell nothing of the tank; empty where it does."""
    if read_m is None:
        return ""
    level_m = float(model.levels_m(np.array([read_m]), none())[0])
    if level_m < marks.apart_below_m:
        return "pools apart: the stick shows its own, and the reading is not counted"
    return "air trapped: the reading is not counted" if level_m > marks.air_above_m else ""


def _per_degree_m(model: FillModel, totals_m3: Floats) -> tuple[float, float]:
    """By how much at most readings at totals move for a degree of pitch, and of roll."""
    found = []
    for figure in (PITCH, ROLL):
        turned = none()
        turned[figure] = radians(1.0)
        moved = model.readings(totals_m3, turned) - model.readings(totals_m3, none())
        found.append(float(np.nanmax(np.abs(moved))))
    return found[0], found[1]


def _joined(said: list[Words]) -> Words:
    return tuple(part for k, words in enumerate(said) for part in ((("; ",) if k else ()) + words))


def _round_down(value: float) -> float:
    """The figure of 1, 2, 2.5, 5, 10, ... that is at most a value.

    >>> _round_down(2.9), _round_down(0.55)
    (2.5, 0.5)
    """
    decade = 10.0 ** np.floor(np.log10(value) + 1e-12)
    return max(float(f"{one * decade:.3g}") for one in (1.0, 2.0, 2.5, 5.0) if one * decade <= value * (1.0 + 1e-9))
