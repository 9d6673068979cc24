"""Unusable fuel where the tilts of stated flight attitudes come together: a descent with a slip is in no list of single ones."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from itertools import product
from math import asin, atan2, radians

from fuelsys.analysis.tank.unusable import left_at, outlets
from fuelsys.model.built.layout import FittedTank
from fuelsys.model.found.study import UnusableAt
from fuelsys.model.stated.attitude import COMBINATION, Attitude

RESOLUTION_RAD = radians(0.25)


def combinations(envelope: Iterable[Attitude]) -> tuple[Attitude, ...]:
    """Every pitch of the flight attitudes with every roll of them, accelerations turned into tilt, and halfway between.

    A descent by 6° and a slip by 7° give nine attitudes, pitch -6, -3, 0 with roll 0, 3.5, 7:

    >>> pair = [Attitude.of_degrees(-6.0, 0.0), Attitude.of_degrees(0.0, 7.0)]
    >>> len(combinations(pair))
    9
    """
    ups = [attitude.up for attitude in envelope if attitude.phase == "flight"]
    pitches = _with_middles([-asin(max(-1.0, min(1.0, float(up[0])))) for up in ups])
    rolls = _with_middles([atan2(-float(up[1]), float(up[2])) for up in ups])
    return tuple(_combination(p, r) for p, r in product(pitches, rolls))


def _with_middles(angles_rad: Sequence[float]) -> list[float]:
    """Sorted, each once (to a microradian), and the middle between neighbours."""
    angles = sorted({round(angle, 6) for angle in angles_rad})
    return sorted([*angles, *((low + high) / 2.0 for low, high in zip(angles, angles[1:], strict=False))])


def worst_combined(tank: FittedTank, envelope: Iterable[Attitude]) -> UnusableAt | None:
    """What stays behind at the worst combination; None for a tank without an outlet or an envelope without flight.

    From the worst of the grid the search goes on to its neighbours, in ever smaller steps down to RESOLUTION_RAD: the worst is
    exact to that about the grid's worst place; a second peak between the grid's places may be missed.
    """
    openings, attitudes = outlets(tank), combinations(envelope)
    if not openings or not attitudes:
        return None
    pitches, rolls = ({at.pitch_rad for at in attitudes}, {at.roll_rad for at in attitudes})
    known = {(at.pitch_rad, at.roll_rad): left_at(tank.cavity, at, openings) for at in attitudes}
    best = max(known.values(), key=lambda at: at.unusable_m3)
    step_p, step_r = _widest(pitches) / 2.0, _widest(rolls) / 2.0
    while max(step_p, step_r) > RESOLUTION_RAD / 2.0:
        middle = best
        for dp, dr in product((-step_p, 0.0, step_p), (-step_r, 0.0, step_r)):
            at = (
                min(max(middle.attitude.pitch_rad + dp, min(pitches)), max(pitches)),
                min(max(middle.attitude.roll_rad + dr, min(rolls)), max(rolls)),
            )
            if at not in known:
                known[at] = left_at(tank.cavity, _combination(*at), openings)
            best = max(best, known[at], key=lambda one: one.unusable_m3)
        if best is middle:
            step_p, step_r = step_p / 2.0, step_r / 2.0
    return best


def _combination(pitch_rad: float, roll_rad: float) -> Attitude:
    return Attitude(COMBINATION, "flight", pitch_rad, roll_rad, 0.0, 0.0, False)


def _widest(angles: Iterable[float]) -> float:
    """The widest gap between neighbours; 0 for one angle."""
    found = sorted(angles)
    return max((high - low for low, high in zip(found, found[1:], strict=False)), default=0.0)
