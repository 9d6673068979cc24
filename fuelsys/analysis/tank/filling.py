"""Filling a tank at an attitude: how far fuel rises before it runs out of an opening, and the air that stays trapped."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from fuelsys.analysis.tank.draining import Drained, Opening
from fuelsys.analysis.tank.tilted import Tilted
from fuelsys.arrays import Floats
from fuelsys.model.built.ends import PortEnd
from fuelsys.model.built.layout import FittedTank, Layout
from fuelsys.model.found.capacity import Filled
from fuelsys.model.stated.attitude import Attitude

_LEAST_M3 = 1e-9  # less air than that is none
_HALVINGS = 50


@dataclass(frozen=True)
class ShutIn:
    """The air of a tank that is filled at an attitude, turned round; air is None where no opening lets any out, or all leaves."""

    air: Drained | None

    @classmethod
    def of(cls, tank: FittedTank, up: Floats) -> ShutIn:
        """Of a tank whose surface is normal to up (3,), its filler and all its vents open."""
        names = [vent.name for vent in tank.design.vent]
        names += [tank.design.filler.name] if tank.design.filler else []
        if not names:
            return cls(None)
        found = cls(Drained.of(tank.cavity, -up, [Opening(tank.spot(name)) for name in names]))
        return found if found.below_m3(np.array([Tilted.of(tank.cavity, up).high_m]))[0] > _LEAST_M3 else cls(None)

    def below_m3(self, levels_m: Floats) -> Floats:
        """How much air is shut in below the surface that fuel has risen to, at levels (k,) about the tank's centre: (k,)."""
        if self.air is None:
            return np.zeros(levels_m.size)
        free = np.tile(-levels_m, (self.air.n_seeds, 1))
        shut = np.maximum(free, self.air.end_m[: self.air.n_seeds, None])
        held: Floats = self.air.tilted.by_seed(np.hstack([shut, free])).sum(axis=0)
        return np.maximum(held[: levels_m.size] - held[levels_m.size :], 0.0)


def risen_to_m(held: Callable[[Floats], Floats], low_m: Floats, high_m: float, volumes_m3: Floats) -> Floats:
    """The levels (k,) between low_m (k,) and high_m at which what is held grows to volumes (k,)."""
    low, high = low_m.copy(), np.full(low_m.size, high_m)
    for _ in range(_HALVINGS):
        middle = (low + high) / 2.0
        enough = held(middle) >= volumes_m3
        low, high = np.where(enough, low, middle), np.where(enough, middle, high)
    return high


def overflow_level_m(layout: Layout, tank: FittedTank, vent: str, attitude: Attitude) -> float:
    """Level about the tank's centre at which fuel would run over the highest point on the way out of a vent.

    Overboard by the lowest way, or else into another tank; without a line the vent's own opening counts.
    """
    ways = layout.network.spills(PortEnd(tank.name, vent))
    tops = [way.climb(tank.cavity.centre_m).top_m(attitude.up) for way in ways]
    return min(tops or [tank.level_m(vent, attitude.up)])


def spill_levels_m(layout: Layout, tank: FittedTank, attitude: Attitude) -> dict[str, float]:
    """Level about the tank's centre at which fuel that is poured in runs out of each opening: the filler's lip, each vent's overflow.

    A vent that leads into another tank alone ends nothing where there is a filler: what runs over its line is in the other tank
    then, and one goes on pouring up to the lip.
    """
    levels = {vent.name: overflow_level_m(layout, tank, vent.name, attitude) for vent in tank.design.vent}
    if tank.design.filler:
        for vent in tank.design.vent:
            ways = layout.network.spills(PortEnd(tank.name, vent.name))
            if ways and all(way.end.tank for way in ways):
                levels[vent.name] = np.inf
        levels[tank.design.filler.name] = tank.level_m(tank.design.filler.name, attitude.up)
    return levels


def filled(layout: Layout, tank: FittedTank, attitude: Attitude) -> Filled | None:
    """The tank filled at an attitude; None where the design shows no filler and no vent.

    Air leaves through the filler and the vents as fuel leaves through outlets, upside down: each airspace empties until
    its last opening drowns, and none beyond the level at which fuel runs out somewhere.
    """
    spills = spill_levels_m(layout, tank, attitude)
    if not spills:
        return None
    limited_by = min(spills, key=lambda name: spills[name])
    air = Drained.of(tank.cavity, -attitude.up, [Opening(tank.spot(name)) for name in spills])
    tilted = air.tilted
    # Turned round, an airspace's "level" is minus the fuel's level; fuel that has spilled stops all of them.
    stop = max(-spills[limited_by], tilted.low_m)
    ends = np.maximum(air.end_m[: air.n_seeds], stop)
    sums = tilted.moments_by_seed(ends)
    air_m3 = float(sums[:, 0].sum())
    shut = ends > stop  # stopped before the spill: its last opening drowned, or it was cut off from all
    whole = Tilted.of(tank.cavity, attitude.up)
    all_sums = whole.moments(whole.high_m)
    volume_m3 = max(0.0, float(all_sums[0]) - air_m3)
    moment = all_sums[1:4] - sums[:, 1:4].sum(axis=0)
    return Filled(
        attitude=attitude,
        volume_m3=volume_m3,
        level_m=-stop,
        trapped_air_m3=float(sums[shut, 0].sum()),
        limited_by=limited_by,
        centre_m=moment / volume_m3 + tank.cavity.centre_m if volume_m3 > 1e-12 else None,
    )


def room_m3(layout: Layout, tank: FittedTank, attitude: Attitude) -> float | None:
    """How far the fuel of a tank that was filled at an attitude can grow, its filler then closed; None as for `filled`.

    An airspace takes it up until its last vent drowns, and all stop where fuel runs out over a vent's line. What no vent
    lets out, under a roof above them or behind a rib, is no room.
    """
    spills = spill_levels_m(layout, tank, attitude)
    if not spills:
        return None
    vents = {vent.name: spills[vent.name] for vent in tank.design.vent}
    (air, before), (_, after) = (_air_ends_m(tank, attitude, some) for some in (spills, vents))
    # What the filler let out before is filled already, though no vent lets it out.
    held = air.tilted.by_seed(np.column_stack([before, np.minimum(before, after)])).sum(axis=0)
    return max(0.0, float(held[0] - held[1]))


def _air_ends_m(tank: FittedTank, attitude: Attitude, spills: dict[str, float]) -> tuple[Drained, Floats]:
    """Turned round, the air as it leaves through some openings, and the level to which it falls over each seed: (s,)."""
    air = Drained.of(tank.cavity, -attitude.up, [Opening(tank.spot(name)) for name in spills])
    stop = max((-level_m for level_m in spills.values()), default=-np.inf)
    return air, np.maximum(air.end_m[: air.n_seeds], max(stop, air.tilted.low_m))
