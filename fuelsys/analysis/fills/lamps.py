"""The lamps of a fill test: between which totals each went out or came on, against where its switch should reset or trip."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np

from fuelsys.analysis.fills.model import air_trapped_above_m
from fuelsys.analysis.fills.pouring import Poured
from fuelsys.analysis.tank.levels import one_pool_above_m
from fuelsys.analysis.tank.tilted import Tilted
from fuelsys.arrays import Floats
from fuelsys.model.built.layout import FittedTank, Layout
from fuelsys.model.found.filltest import LampSeen
from fuelsys.model.stated.attitude import Attitude
from fuelsys.model.stated.fittings import Switch

_FINE = 2.0  # times the window: a change that is seen no closer is not accepted
_FINE_SHARE = 0.02  # or so much of the tank


@dataclass(frozen=True)
class Marks:
    """Where a tank's switches reset and trip at an attitude, as quantities: by the drawing, or by a correction.

    held says what the tank holds where the surface stands at heights (k,) above a point (3,) about the cavity's centre, and
    within how much; up is the attitude's.
    """

    tank: FittedTank
    up: Floats
    apart_below_m: float
    air_above_m: float
    held: Callable[[Floats, Floats], tuple[Floats, Floats]]

    def expected(self, switch: Switch, event: str) -> tuple[float, tuple[float, float]] | str:
        """The total at which a lamp changes and its window; why it cannot be told, else."""
        tolerance = switch.tolerance_m or 0.0
        point_m = self.tank.spot(f"switch {switch.name}").point_m
        over = switch.differential_m if event == "goes out" else 0.0
        level = float(point_m @ self.up) + over
        if level - tolerance < self.apart_below_m:
            return "below there the tank falls into pools, and the total does not tell the level"
        if level + tolerance > self.air_above_m:
            return "above there air stays trapped, and the total does not tell the level"
        held, within = self.held(point_m, np.array([over, over - tolerance, over + tolerance]))
        return float(held[0]), (max(0.0, float(held[1] - within[1])), float(held[2] + within[2]))


def as_drawn(layout: Layout, tank: FittedTank, attitude: Attitude) -> Marks:
    """The marks by the drawing."""
    tilted = Tilted.of(tank.cavity, attitude.up)

    def held(point_m: Floats, over_m: Floats) -> tuple[Floats, Floats]:
        return tilted.volume_and_area(float(point_m @ attitude.up) + over_m)[0], np.zeros(over_m.size)

    above_m = air_trapped_above_m(layout, tank, attitude)
    return Marks(tank, attitude.up, one_pool_above_m(tilted), above_m, held)


def lamps(marks: Marks, poured: Sequence[Poured]) -> tuple[LampSeen, ...]:
    """What the sheet says of each switch's lamp."""
    found: list[LampSeen] = []
    for switch in marks.tank.design.switch:
        noted = [(one.total_m3, switch.name in one.entry.lit) for one in poured if one.entry.lit is not None]
        found += _lamp(marks, switch, noted)
    return tuple(found)


def _lamp(marks: Marks, switch: Switch, noted: Sequence[tuple[float, bool]]) -> list[LampSeen]:
    if not noted:
        return [LampSeen(switch.name, "goes out", None, None, None, "not computed", "needs the column lamps lit")]
    found = []
    before = (0.0, True)  # an empty tank's lamp is lit
    for total, lit in noted:
        if lit != before[1]:
            found.append(_change(marks, switch, before[0], total, lit))
        before = (total, lit)
    if not found:
        most = max(total for total, _ in noted)
        found.append(_still_lit(marks, switch, most))
    return found


def _change(marks: Marks, switch: Switch, before_m3: float, after_m3: float, lit: bool) -> LampSeen:
    event, rising = ("comes on" if lit else "goes out"), after_m3 > before_m3
    seen = (min(before_m3, after_m3), max(before_m3, after_m3))
    if rising == lit:
        way = "came on while the tank was filled" if lit else "went out while it was drained"
        return LampSeen(switch.name, event, seen, None, None, "to be looked at", f"it {way}")  # type: ignore[arg-type]
    expected = marks.expected(switch, event)
    if isinstance(expected, str):
        return LampSeen(switch.name, event, seen, None, None, "not computed", expected)  # type: ignore[arg-type]
    predicted, window = expected
    if seen[1] < window[0]:
        verdict, why = "contradicted", "too early" if rising else "too late"
    elif seen[0] > window[1]:
        verdict, why = "contradicted", "too late" if rising else "too early"
    elif seen[1] - seen[0] <= max(_FINE * (window[1] - window[0]), _FINE_SHARE * marks.tank.cavity.gross_m3):
        verdict, why = "accepted", ""
    else:
        verdict, why = "to be looked at", "seen too coarsely: move less at a time there"
    if switch.tolerance_m is None:
        why = f"{why}; no tolerance is stated" if why else "no tolerance is stated"
    return LampSeen(switch.name, event, seen, predicted, window, verdict, why)  # type: ignore[arg-type]


def _still_lit(marks: Marks, switch: Switch, most_m3: float) -> LampSeen:
    expected = marks.expected(switch, "goes out")
    if isinstance(expected, str):
        return LampSeen(switch.name, "goes out", None, None, None, "not computed", expected)
    predicted, window = expected
    if most_m3 > window[1]:
        return LampSeen(switch.name, "goes out", (most_m3, most_m3), predicted, window, "contradicted", "still lit")
    why = "the test did not fill so far"
    return LampSeen(switch.name, "goes out", None, predicted, window, "to be looked at", why)
