"""A gauge's signal against the quantity in its tank, at every attitude of the envelope, the tank being drained from full.

The falling surface leaves each place of a gauge's way dry once, with a quantity in the tank that draining gives. So the
signal at a quantity is the share of the way whose places are left dry with less, or never.

A gauge is its way (`analysis/tank/gauge.py`). The falling surface leaves each place of it dry once, with a quantity H that
`Drained.held`
gives; so the signal at a quantity Q is the share of the way with H ≤ Q, or never dry. No order along the way is taken for
granted: a probe may pass from one pool into another, and a part that is cut off stays wet and makes the gauge blind. Between 400
places it is straight; where draining ends within a stretch, that place is found by halving. A float on an arm swims only where it
rises with its angle; beyond straight down or upright it stays. `kernels/fewest.py` finds the fewest points as a shortest way; going
as far as each line reaches is not the fewest, since points must lie on the curve (`tests/kernels/test_fewest.py` tries all choices).
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from math import acos, atan2, pi

import numpy as np

from fuelsys.analysis.tank.dipstick import barriers_along
from fuelsys.analysis.tank.draining import Drained
from fuelsys.analysis.tank.stems import seeds_below
from fuelsys.analysis.tank.tilted import Tilted
from fuelsys.analysis.tank.unusable import outlets
from fuelsys.arrays import Floats, Ints
from fuelsys.model.built.cavity import Barrier
from fuelsys.model.built.layout import FittedTank
from fuelsys.model.found.capacity import Capacity
from fuelsys.model.found.gauge import Curve, GaugeStudy, SensedAt
from fuelsys.model.stated.attitude import Attitude
from fuelsys.model.stated.gauges import AnyGauge, Arm, Reeds

CELLS = 400  # along a gauge's way
_HALVINGS = 45  # of a cell, to where draining ends in it
_Place = Callable[[Floats], Floats]


@dataclass(frozen=True)
class Way:
    """What the surface is sensed with, as places along it: share (n,), places (n, 3) about the cavity's centre, faces (n,).

    Only places in the cavity are listed; face is -1 where one stands free. at takes shares to places.
    """

    share: Floats
    points_m: Floats
    face: Ints
    at: _Place
    gauge: AnyGauge

    @property
    def skipped(self) -> float:
        """How much of the whole way lies outside the cavity, as a share of its places."""
        whole = self.gauge.steps if isinstance(self.gauge, Reeds) else CELLS + 1
        return 1.0 - self.share.size / whole

    @classmethod
    def of(cls, tank: FittedTank, gauge: AnyGauge) -> Way:
        """The whole way of a gauge."""
        at = _arc(tank, gauge) if isinstance(gauge, Arm) else _straight(tank, gauge)
        share = np.linspace(0.0, 1.0, gauge.steps if isinstance(gauge, Reeds) else CELLS + 1)
        whole = cls(share[:0], np.empty((0, 3)), np.empty(0, np.int32), at, gauge)
        return whole._with(tank, share)

    def _with(self, tank: FittedTank, share: Floats) -> Way:
        """The same with more places, as far as they lie in the cavity."""
        spots = tank.cavity.spots(self.at(share) + tank.cavity.centre_m)
        inside = [k for k, spot in enumerate(spots) if spot.off_m == 0.0]
        shares = np.append(self.share, share[inside])
        order = np.argsort(shares, kind="stable")
        points = np.concatenate([self.points_m, np.array([spots[k].point_m for k in inside]).reshape(-1, 3)])
        faces = np.append(self.face, np.array([spots[k].face for k in inside], np.int32))
        return Way(shares[order], points[order], faces[order], self.at, self.gauge)

    def between(self, tank: FittedTank, k: int) -> Callable[[Floats], Way]:
        """Takes shares between a place and the next one to the way of these alone, as far as they lie in the cavity.

        Where the surface is further from a free place than the next one is, nothing stands between them.
        """
        none, centre_m = (
            Way(self.share[:0], self.points_m[:0], self.face[:0], self.at, self.gauge),
            tank.cavity.centre_m,
        )
        apart_m = float(np.linalg.norm(self.points_m[k + 1] - self.points_m[k]))
        if self.face[k] >= 0 or not tank.cavity.clearance_m(self.points_m[k] + centre_m) > 1.001 * apart_m:
            return lambda share: none._with(tank, share)
        free = np.full(1, -1, np.int32)
        return lambda share: replace(
            none, share=share, points_m=self.at(share) + centre_m - centre_m, face=np.repeat(free, share.size)
        )

    def rising(self, tank: FittedTank, up: Floats) -> Way:
        """The part that can be reached with up so: of an arm, where its float comes higher with its share.

        A float on an arm that hangs straight down goes no lower, and on one that stands upright no higher.
        """
        if not isinstance(self.gauge, Arm):
            return self
        first, across, sweep = _swing(tank, self.gauge)
        top = atan2(float(across @ up), float(first @ up))  # the angle from empty at which the float is highest
        ends = [(max(0.0, top + turn - pi) / sweep, min(sweep, top + turn) / sweep) for turn in (0.0, 2.0 * pi)]
        low, high = max(ends, key=lambda end: end[1] - end[0])
        if not high > low:
            return Way(self.share[:0], self.points_m[:0], self.face[:0], self.at, self.gauge)
        kept = (self.share > low) & (self.share < high)
        part = Way(self.share[kept], self.points_m[kept], self.face[kept], self.at, self.gauge)
        return part._with(tank, np.array([low, high]))


def _straight(tank: FittedTank, gauge: AnyGauge) -> _Place:
    ends = [tank.spot(f"gauge {gauge.name} {end}").point_m for end in ("bottom", "top")]
    return lambda share: ends[0] + share[:, None] * (ends[1] - ends[0])


def _swing(tank: FittedTank, arm: Arm) -> tuple[Floats, Floats, float]:
    """Unit vectors from the pivot to empty and square to that towards full, in body axes, and the angle between the stops."""
    pivot, empty, full = (tank.body_m(place) for place in (arm.pivot_m, arm.empty_m, arm.full_m))
    first, last = ((end - pivot) / np.linalg.norm(end - pivot) for end in (empty, full))
    across = last - (last @ first) * first
    return first, across / np.linalg.norm(across), acos(max(-1.0, min(1.0, float(first @ last))))


def _arc(tank: FittedTank, arm: Arm) -> _Place:
    first, across, sweep = _swing(tank, arm)
    pivot = tank.body_m(arm.pivot_m) - tank.cavity.centre_m
    ends = [tank.body_m(place) - tank.cavity.centre_m - pivot for place in (arm.empty_m, arm.full_m)]
    length_m = sum(float(np.linalg.norm(end)) for end in ends) / 2.0
    return lambda share: (
        pivot + length_m * (np.cos(share * sweep)[:, None] * first + np.sin(share * sweep)[:, None] * across)
    )


def sensed_at(tank: FittedTank, way: Way, attitude: Attitude) -> SensedAt:
    """A gauge's signal at one attitude, the tank being drained from full."""
    drained = Drained.of(tank.cavity, attitude.up, outlets(tank))
    part = _with_ends(tank, way.rising(tank, attitude.up), drained)
    states = (0,) if drained.n_openings == 1 else (0, 1)
    full_m3 = tank.cavity.gross_m3
    ends_m3 = (min(drained.left_m3, full_m3), full_m3)  # where nothing runs out rounding may leave a hair more than all
    curves = [curve(part, _passed(drained, part, state), ends_m3) for state in states]
    return SensedAt(attitude, curves[0], curves[-1], drained.left_m3, tank.cavity.behind)


def _seen(drained: Drained, way: Way) -> tuple[Ints, Floats]:
    """The seed below each place, and the level at which it falls dry: (n,), (n,)."""
    tilted = drained.tilted
    seeds = seeds_below(tilted, way.points_m) if way.share.size else np.empty(0, np.int32)
    seeds = np.where(way.face >= 0, tilted.tree.face_seed[np.maximum(way.face, 0)], seeds)
    return seeds, np.minimum(way.points_m @ tilted.up, tilted.high_m)


def _passed(drained: Drained, way: Way, state: int) -> Floats:
    """Quantity when the falling surface leaves each place dry, minus infinity where it never does: (n,)."""
    held = drained.held(*_seen(drained, way), [state] * way.share.size)
    return np.where(np.isnan(held), -np.inf, held)


def _with_ends(tank: FittedTank, way: Way, drained: Drained) -> Way:
    """The same with the places beside which draining ends: between one that is left dry and one that never is."""
    if isinstance(way.gauge, Reeds) or not way.share.size:
        return way
    dry = drained.passes(*_seen(drained, way))
    found = []
    for k in np.flatnonzero(dry[:-1] != dry[1:]):
        low, high = way.share[k], way.share[k + 1]
        alone = way.between(tank, int(k))
        for _ in range(_HALVINGS):
            middle = (low + high) / 2.0
            one = alone(np.array([middle]))
            if not one.share.size:  # in metal
                break
            if drained.passes(*_seen(drained, one))[0] == dry[k]:
                low = middle
            else:
                high = middle
        found += [low, high]
    return way._with(tank, np.array(sorted(set(found) - set(way.share.tolist()))))


def curve(way: Way, value: Floats, ends: tuple[float, float]) -> Curve:
    """The signal of a gauge whose places are wet from values (n,) upward, between two ends of that.

    A stretch between two places is wet by the share of the way between their values; a reed switch changes at its own.
    """
    if isinstance(way.gauge, Reeds):
        weight, low, high, first = np.full(value.size, 1.0 / way.gauge.steps), value, value, 0.0
    elif value.size == 0:
        return Curve(np.array(ends), np.zeros(2))
    else:
        weight, first = np.diff(way.share), float(way.share[0])
        low, high = np.minimum(value[:-1], value[1:]), np.maximum(value[:-1], value[1:])
        low = np.where(np.isfinite(low), low, high)
    at = np.unique(np.concatenate([low[np.isfinite(low)], high[np.isfinite(high)], ends]))
    at = at[(at >= ends[0]) & (at <= ends[1])]
    before, after = (first + wet @ weight for wet in _wet(at, low, high))
    jumps = after - before > 1e-12
    order = np.argsort(np.concatenate([np.arange(at.size), np.flatnonzero(jumps) + 0.5]), kind="stable")
    values = np.concatenate([at, at[jumps]])[order]
    signals = np.concatenate([before, after[jumps]])[order]
    return Curve(values, np.maximum.accumulate(signals.clip(0.0, 1.0)))


def _wet(at: Floats, low: Floats, high: Floats) -> Iterator[Floats]:
    """What share of each stretch is wet at each value: (k, n), a sudden one not yet at its own; then the same where it is."""
    wide = high > low
    sudden = np.flatnonzero(~wide)
    share = np.subtract(at[:, None], low)
    share /= np.subtract(high, low, out=np.ones(low.size), where=wide)
    np.clip(share, 0.0, 1.0, out=share)
    share[:, sudden] = at[:, None] > low[sudden]
    yield share
    share[:, sudden] = at[:, None] >= low[sudden]
    yield share


def level_curve(tank: FittedTank, way: Way, attitude: Attitude) -> Curve:
    """A gauge's signal against the level of one surface in the whole tank, about the cavity's centre."""
    tilted = Tilted.of(tank.cavity, attitude.up)
    part = way.rising(tank, attitude.up)
    return curve(part, part.points_m @ attitude.up, (tilted.low_m, tilted.high_m))


def _barriers(tank: FittedTank, gauge: AnyGauge) -> tuple[Barrier, ...]:
    if isinstance(gauge, Arm):
        return ()
    bottom, top = (tank.spot(f"gauge {gauge.name} {end}").point_m for end in ("bottom", "top"))
    length_m = float(np.linalg.norm(top - bottom))
    return barriers_along(tank, bottom, (top - bottom) / length_m, length_m)


def gauge_studies(
    tank: FittedTank, envelope: tuple[Attitude, ...], held: Capacity, named: str | None = None
) -> tuple[GaugeStudy, ...]:
    """All gauges of a tank, or that of a name; none where the unusable fuel is unknown (it needs an outlet)."""
    if held.unusable is None:
        return ()
    found = []
    for gauge in tank.design.gauge:
        if named not in (None, gauge.name):
            continue
        way = Way.of(tank, gauge)
        found.append(
            GaugeStudy(
                gauge.name,
                tank.name,
                gauge.kind,
                tuple(sensed_at(tank, way, attitude) for attitude in envelope),
                held.unusable.volume_m3,
                held.filled.volume_m3 if held.filled else held.gross_m3,
                gauge.steps if isinstance(gauge, Reeds) else 0,
                way.skipped,
                _barriers(tank, gauge),
            )
        )
    return tuple(found)
