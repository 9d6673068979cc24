"""Unusable fuel where the tilts of stated flight attitudes come together: a descent with a slip is in no list of single ones."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field, replace
from itertools import product
from math import asin, atan2, ceil, radians

import numpy as np

from fuelsys.analysis.tank.draining import Opening
from fuelsys.analysis.tank.held import Starts
from fuelsys.analysis.tank.unusable import counted_m3, held_at, left_at, outlets, starts_of
from fuelsys.model.built.layout import FittedTank
from fuelsys.model.found.unusable import UnusableAt
from fuelsys.model.stated.attitude import COMBINATION, COMBINATION_OF_ALL, COMBINED_STEP_RAD, COMBINED_TO_RAD, Attitude

_SAME_RAD = 1e-6
_LINES_STEP_RAD = radians(
    4.0
)  # of what is asked of lines and vents, which has no pockets: it changes evenly with the tilt
_CLIMBS = 6  # peaks of the grid from which the search goes on


def combinations(envelope: Iterable[Attitude]) -> tuple[Attitude, ...]:
    """A grid over the pitches and rolls of the flight attitudes, accelerations turned into tilt, in steps of 4° or less.

    However many are stated, there are no more places than the range asks for. A descent by 6° and a slip by 7° give nine,
    pitch -6, -3, 0 with roll 0, 3.5, 7, the extremes among them:

    >>> pair = [Attitude.of_degrees(-6.0, 0.0), Attitude.of_degrees(0.0, 7.0)]
    >>> len(combinations(pair))
    9
    """
    envelope = tuple(envelope)
    return tuple(_combination(p, r, _name(envelope)) for p, r in product(*_axes(envelope, _LINES_STEP_RAD)))


def _axes(envelope: Iterable[Attitude], step_rad: float = COMBINED_STEP_RAD) -> tuple[list[float], list[float]]:
    """Pitches and rolls of the grid, each rising."""
    ups = [attitude.up for attitude in envelope if attitude.phase == "flight"]
    pitches = [-asin(max(-1.0, min(1.0, float(up[0])))) for up in ups]
    return _even(pitches, step_rad), _even([atan2(-float(up[1]), float(up[2])) for up in ups], step_rad)


def _even(angles_rad: Sequence[float], step_rad: float) -> list[float]:
    """From the least to the greatest in equal steps; none for none."""
    if not angles_rad:
        return []
    low, high = (round(angle, 6) for angle in (min(angles_rad), max(angles_rad)))
    steps = ceil((high - low) / step_rad - _SAME_RAD) if high - low > _SAME_RAD else 0
    return [low + (high - low) * k / steps for k in range(steps)] + [high]


def worst_combined(tank: FittedTank, envelope: Iterable[Attitude]) -> UnusableAt | None:
    """What stays behind at the worst combination; None for a tank without an outlet or an envelope without flight.

    The tilts of the attitudes that are held for ever come together for ever, those of all for the longest time that one is
    held. From the six worst peaks of the grid the search goes on to their neighbours, in ever smaller steps down to
    COMBINED_TO_RAD; a peak that rises from its surroundings by less than a step of the grid may be missed.
    """
    flight = [attitude for attitude in envelope if attitude.phase == "flight"]
    times = [attitude.held_s for attitude in flight if attitude.held_s is not None]
    openings, lasting = outlets(tank), [attitude for attitude in flight if attitude.held_s is None]
    if not openings or not flight:
        return None
    found = (
        [_Search(tank, openings, _axes(lasting), None, starts_of(flight), _name(lasting)).worst()] if lasting else []
    )
    if times:
        found.append(_Search(tank, openings, _axes(flight), max(times), starts_of(flight), _name(flight)).worst())
    return max(found, key=lambda at: at.unusable_m3)


@dataclass(frozen=True)
class _Search:
    """A rectangle of pitches and rolls, each held for a time or for ever, and what is known of it."""

    tank: FittedTank
    openings: Sequence[Opening]
    axes: tuple[list[float], list[float]]
    held_s: float | None
    starts: Starts | None
    name: str
    known: dict[tuple[float, float], float] = field(default_factory=dict)

    def worst(self) -> UnusableAt:
        """What stays behind at the worst place of it."""
        steps = [(axis[-1] - axis[0]) / max(1, len(axis) - 1) / 2.0 for axis in self.axes]
        tops = sorted(self._peaks(), key=lambda at: -self._left_m3(*at))[:_CLIMBS]
        at = self._attitude(*max((self._climbed(top, *steps) for top in tops), key=lambda at: self._left_m3(*at)))
        found = left_at(self.tank.cavity, at, self.openings)
        return replace(found, held=held_at(self.tank, (at.up, at), self.starts, self.openings))

    def _attitude(self, pitch_rad: float, roll_rad: float) -> Attitude:
        return replace(_combination(pitch_rad, roll_rad, self.name), held_s=self.held_s)

    def _left_m3(self, pitch_rad: float, roll_rad: float) -> float:
        at = pitch_rad, roll_rad
        if at not in self.known:
            attitude = self._attitude(*at)
            self.known[at] = counted_m3(self.tank, (attitude.up, attitude), self.starts, self.openings)
        return self.known[at]

    def _peaks(self) -> list[tuple[float, float]]:
        """Places of the grid that none beside them is worse than."""
        pitches, rolls = self.axes
        left = np.array([[self._left_m3(p, r) for r in rolls] for p in pitches])
        edged = np.pad(left, 1, constant_values=-np.inf)
        beside = [
            edged[1 + i : 1 + i + len(pitches), 1 + j : 1 + j + len(rolls)] for i, j in product((-1, 0, 1), repeat=2)
        ]
        return [(pitches[i], rolls[j]) for i, j in np.argwhere(left >= np.max(beside, axis=0)).tolist()]

    def _climbed(self, best: tuple[float, float], step_p: float, step_r: float) -> tuple[float, float]:
        """The worst place that a search from a place comes to."""
        pitches, rolls = self.axes
        while max(step_p, step_r) > COMBINED_TO_RAD / 2.0:
            middle = best
            for dp, dr in product((-step_p, 0.0, step_p), (-step_r, 0.0, step_r)):
                at = (
                    min(max(middle[0] + dp, pitches[0]), pitches[-1]),
                    min(max(middle[1] + dr, rolls[0]), rolls[-1]),
                )
                best = max(best, at, key=lambda one: self._left_m3(*one))
            if best == middle:
                step_p, step_r = step_p / 2.0, step_r / 2.0
        return best


def _name(envelope: Iterable[Attitude]) -> str:
    """What a combination is called: a pitch that nobody stated may come from an acceleration."""
    pushed = any(one.forward_m_s2 or one.right_m_s2 for one in envelope if one.phase == "flight")
    return COMBINATION_OF_ALL if pushed else COMBINATION


def _combination(pitch_rad: float, roll_rad: float, name: str) -> Attitude:
    return Attitude(name, "flight", pitch_rad, roll_rad, 0.0, 0.0, False)
