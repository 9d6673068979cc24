"""How a fill test may go: totals to pour to, what the stick should then read, and where to pour little at a time."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from fuelsys import units
from fuelsys.analysis.fills.answers import reading
from fuelsys.analysis.fills.foresee import sees
from fuelsys.analysis.fills.lamps import as_drawn
from fuelsys.analysis.fills.model import FillModel, Stick, none, stick_at
from fuelsys.analysis.tank.filling import filled
from fuelsys.model.built.layout import FittedTank, Layout
from fuelsys.model.found.filltest import FillPlan, Step
from fuelsys.model.stated.attitude import Attitude
from fuelsys.model.words import Quantity, Words

_STEPS = 16.0  # so many at least: enough readings to tell a correction from a mistake


def plan(layout: Layout, tank: FittedTank, attitude: Attitude, pours_in: str = "L") -> FillPlan:
    """The plan for a tank at an attitude, in round amounts of a unit of volume, with each lamp's change."""
    full = filled(layout, tank, attitude)
    most_m3 = full.volume_m3 if full else tank.cavity.gross_m3
    unit_m3 = units.scale(pours_in, "volume")
    step_m3 = _round_down(most_m3 / _STEPS / unit_m3) * unit_m3
    said: dict[float, list[Words]] = {float(k * step_m3): [] for k in range(int(most_m3 / step_m3 + 1e-9) + 1)}
    if full:
        said.setdefault(full.volume_m3, []).append((f"full, to the {full.limited_by}",))
    marks, told = as_drawn(layout, tank, attitude), []
    for switch in tank.design.switch:
        expected = marks.expected(switch, "goes out")
        if isinstance(expected, str):
            told.append(f'Lamp "{switch.name}": {expected}.')
            continue
        predicted, window = expected
        between: Words = ("should go out at ", Quantity("volume", (predicted,)))
        if switch.tolerance_m:
            between = (
                "should go out between ",
                Quantity("volume", (window[0],)),
                " and ",
                Quantity("volume", (window[1],)),
            )
        said.setdefault(predicted, []).append((f'lamp "{switch.name}" ', *between))
    stick = stick_at(layout, tank, attitude)
    model = FillModel.of(tank, attitude, stick) if stick else None
    others = Stick.also(tank)
    at = [model, *(replace(model, stick=one) for one in others)] if model else []
    steps = []
    for total in sorted(said):
        own, *also = [reading(one, total, none()) for one in at] or [None]
        steps.append(Step(total, own, _joined(said[total]), tuple(also)))
    told_by = sees(model, others, np.array([step.total_m3 for step in steps if step.total_m3 > 0.0])) if model else None
    zero = tank.design.dipstick.zero if tank.design.dipstick else ""
    names = tuple(switch.name for switch in tank.design.switch)
    ways = tuple(one.name for one in layout.design.envelope if one.phase == "ground" and one.name != attitude.name)
    return FillPlan(tank.name, attitude, zero, stick.length_m if stick else None, tuple(steps), names, tuple(told),
                    told_by, len(others), ways, tuple(gauge.name for gauge in tank.design.gauge))  # fmt: skip


def _joined(said: list[Words]) -> Words:
    return tuple(part for k, words in enumerate(said) for part in ((("; ",) if k else ()) + words))


def _round_down(value: float) -> float:
    """The figure of 1, 2, 2.5, 5, 10, ... that is at most a value.

    >>> _round_down(2.9), _round_down(0.55)
    (2.5, 0.5)
    """
    decade = 10.0 ** np.floor(np.log10(value) + 1e-12)
    return max(float(f"{one * decade:.3g}") for one in (1.0, 2.0, 2.5, 5.0) if one * decade <= value * (1.0 + 1e-9))
