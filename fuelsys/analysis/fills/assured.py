"""What a tank surely holds at each switch's mark, at every stated attitude, by its fill test: what minutes may be counted from.

A fill test bears on a trip in three ways, and the least of what they say is counted. *Its correction*: what the corrected tank
holds below the mark, less half the width of 95 %; the tilt that it finds may be the tank's own, or the ground's that it stood on:
the worse of the two counts. *Its misfit*: a tank of another shape than any correction leaves residuals that go together; the
greatest of the nearest readings' is taken off besides, of what is carried from one attitude to another as well. *The lamp itself*,
where the sheet has it: between which two totals it changed; where the correction's bound lies outside, the lower one of them
counts, and from there to another attitude the correction's difference, less its own doubt.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace

import numpy as np

from fuelsys.analysis.fills.answers import misfit_m3, told
from fuelsys.analysis.fills.fit import Choice
from fuelsys.analysis.fills.model import PITCH, ROLL, FillModel
from fuelsys.arrays import Floats
from fuelsys.model.built.layout import FittedTank
from fuelsys.model.found.filltest import AtMark, LampSeen
from fuelsys.model.stated.attitude import Attitude
from fuelsys.model.stated.fittings import Switch

Quantity = Callable[[Floats], float]


def at_marks(
    tank: FittedTank, attitudes: Sequence[Attitude], choice: Choice, seen: Sequence[LampSeen]
) -> tuple[AtMark, ...]:
    """What is held at each switch's mark at the test's attitude, then at the others, and what of it is sure."""
    tested = choice.data.model
    others = [one for one in attitudes if one.name != tested.attitude.name]
    models = [tested, *(replace(tested, attitude=one, kept={}) for one in others)]
    return tuple(
        _at_mark(tank, choice, model, switch, seen_of(switch, seen))
        for switch in tank.design.switch
        for model in models
    )


def seen_of(switch: Switch, seen: Sequence[LampSeen]) -> tuple[LampSeen, ...]:
    """What the sheet says of a switch where its total tells the level, the least first."""
    some = [one for one in seen if one.switch == switch.name and one.seen_m3 and one.predicted_m3 is not None]
    return tuple(sorted((one for one in some if one.why != "still lit"), key=lambda one: one.seen_m3 or (0.0, 0.0)))


def _at_mark(tank: FittedTank, choice: Choice, model: FillModel, switch: Switch, seen: Sequence[LampSeen]) -> AtMark:
    point_m, tested = tank.spot(f"switch {switch.name}").point_m, choice.data.model

    def held(model: FillModel, over_m: float = 0.0, *, upright: bool = False) -> Quantity:
        def quantity(correction: Floats) -> float:
            by = _untilted(correction) if upright else correction
            level = float(point_m @ model.tilted(by).up) + over_m
            return float(model.held_at(np.array([level]), by)[0])

        return quantity

    here = model is tested
    ways = [held(model)] if here else [held(model), held(model, upright=True)]
    both = [told(choice, way, choice.used) for way in ways]
    value, within = min(both, key=lambda one: one[0] - one[1])
    misfit = float(misfit_m3(choice, np.array([value]))[0])
    within += misfit
    drawn = held(model)(np.zeros(5))
    sure, span = value - within, None
    if seen:
        over = switch.differential_m if seen[0].event == "goes out" else 0.0
        moved = [told(choice, _less(way, held(tested, over)), choice.used) for way in ways]
        doubt = 0.0 if here else misfit
        assert seen[0].seen_m3 is not None
        span = (
            max(0.0, seen[0].seen_m3[0] + min(by - within for by, within in moved) - doubt),
            seen[0].seen_m3[1] + max(by + within for by, within in moved) + doubt,
        )
        sure = sure if span[0] <= sure <= span[1] else span[0]
    return AtMark(switch.name, model.attitude, drawn, value, within, max(0.0, sure), span)


def _less(one: Quantity, other: Quantity) -> Quantity:
    return lambda correction: one(correction) - other(correction)


def _untilted(correction: Floats) -> Floats:
    found = correction.copy()
    found[[PITCH, ROLL]] = 0.0
    return found
