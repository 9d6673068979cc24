"""Attitudes that are held on a flight: each stated one, and a descent in a slip where none is stated."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from fuelsys.analysis.flights.cases import BEFORE_S, Case
from fuelsys.analysis.flights.setting import Upset, World
from fuelsys.model.found.fly import ENOUGH_S
from fuelsys.model.stated.attitude import Attitude

# Of the sine of a tilt, about half a degree, below which wings or nose count as level; chosen here, no source.
_LEVEL = 0.01


def held(world: World, from_s: float) -> list[Case]:
    """Each flight attitude that the flight is not flown at anyway, held for its time, or to the end where it has none.

    It begins at the moment that is asked for; where none is, at the worst (`Case.late`): a lamp is due, or, of what is held for a time, the
    minutes that it is to leave are nearly over, for then least is left to feed the engine from. What is held for ever begins at the start
    too.
    """
    flight = [one for one in world.layout.design.envelope if one.phase == "flight"]
    flown = {segment.attitude for segment in world.segments()}
    stated = [(one, True) for one in flight if {one.name} != flown]
    found = list[Case]()
    for attitude, said in [*stated, *((one, False) for one in _uncoordinated(flight))]:
        held_s = attitude.held_s
        lasts = "held to the end" if held_s is None else f"held for {held_s:g} s"
        begun: list[tuple[str, float | None]] = [(lasts, None)]  # with how long after a lamp is due
        if from_s <= 0.0:
            begun = [(f"{lasts}, as a lamp is due", 0.0)]
            if held_s is None:
                begun = [("held throughout", None), *begun] if said else begun
            elif held_s < ENOUGH_S - BEFORE_S:
                begun.append((f"{lasts}, as the lamp's ten minutes are nearly over", ENOUGH_S - held_s - BEFORE_S))
        for words, after_s in begun:
            upset = Upset(
                f"{attitude.name}, {words}{'' if said else ' (not stated)'}", attitude=attitude, held_s=attitude.held_s
            )
            found.append(Case(upset, late=after_s is not None, after_s=after_s or 0.0, stated=said))
    return found


def _uncoordinated(flight: list[Attitude]) -> Iterator[Attitude]:
    """The steepest descent with the steepest slip to each side put together, where both are stated, but not as one attitude."""
    descent = max(flight, key=lambda one: float(one.up[0]))
    if descent.up[0] < _LEVEL:
        return
    for side in (-1.0, 1.0):
        slip = max(flight, key=lambda one: side * float(one.up[1]))
        as_steep = (one for one in flight if one.up[0] >= descent.up[0] - _LEVEL)
        if side * slip.up[1] >= _LEVEL and all(side * one.up[1] < side * slip.up[1] - _LEVEL for one in as_steep):
            name = f"{descent.name} with {slip.name}"
            roll, right = slip.roll_rad, slip.right_m_s2
            times = [one.held_s for one in (descent, slip) if one.held_s is not None]
            yield replace(
                descent, name=name, roll_rad=roll, right_m_s2=right, normal=False, held_s=min(times, default=None)
            )
