"""Attitudes that are held on a flight: each stated one, and a descent in a slip where none is stated."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from fuelsys.analysis.flights.cases import Case
from fuelsys.analysis.flights.setting import Upset, World
from fuelsys.model.stated.attitude import Attitude

_LEVEL = (
    0.01  # of the sine of a tilt, about half a degree, below which wings or nose count as level; chosen here, no source
)


def held(world: World, from_s: float) -> list[Case]:
    """Each flight attitude that the flight is not flown at anyway, held for its time, or to the end where it has none.

    It begins at the moment that is asked for; where none is, at the worst (`Case.late`), and what is stated to be held for ever at the
    start too.
    """
    flight = [one for one in world.layout.design.envelope if one.phase == "flight"]
    flown = {segment.attitude for segment in world.segments()}
    stated = [(one, True) for one in flight if {one.name} != flown]
    found = list[Case]()
    for attitude, said in [*stated, *((one, False) for one in _uncoordinated(flight))]:
        lasts = "to the end" if attitude.held_s is None else f"for {attitude.held_s:g} s"
        begun = [(f"{attitude.name}, held {lasts}", from_s <= 0.0)]
        if attitude.held_s is None and from_s <= 0.0 and said:
            begun.insert(0, (f"{attitude.name}, held throughout", False))
        for words, late in begun:
            more = f"{', as a lamp is due' if late else ''}{'' if said else ' (not stated)'}"
            found.append(Case(Upset(words + more, attitude=attitude, held_s=attitude.held_s), late=late, stated=said))
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
