"""Vertical lines of a tank's mesh, on which a switch's stem may stand: many at once, each pass over the faces serving all."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from fuelsys.analysis.tank.leaving import Leaving
from fuelsys.analysis.tank.tilted import Tilted
from fuelsys.arrays import Flags, Floats, Ints
from fuelsys.kernels import pools
from fuelsys.model.built.layout import FittedTank

_STEPS = 48  # halvings of the free height at most: to rounding
_HAIR = 2.0**-48  # of the free height
_LEAST_M = 1e-6  # a shorter stretch is none


@dataclass(frozen=True)
class Stretches:
    """The parts of vertical lines that lie in the cavity, lowest first: line (k,), mesh x and y (k, 2), z from and to (k,).

    on_wall (k,) marks those that run along the wall itself.
    """

    tank: FittedTank
    line: Ints
    xy_m: Floats
    from_m: Floats
    to_m: Floats
    on_wall: Flags

    @classmethod
    def of(cls, tank: FittedTank, xy_m: Floats) -> Stretches:
        """The stretches of the lines at (n, 2) of the mesh."""
        found = []
        for line, crossings in enumerate(_crossings(tank, xy_m)):
            for low, high in zip(crossings[:-1], crossings[1:], strict=True):
                if high - low > _LEAST_M:
                    spot = tank.cavity.spot("", tank.body_m((*xy_m[line], (low + high) / 2.0)))
                    if spot.off_m == 0.0:
                        found.append((line, *xy_m[line], low, high, spot.face >= 0))
        table = np.array(found, dtype=np.float64).reshape(-1, 6)
        return cls(
            tank, table[:, 0].astype(np.int32), table[:, 1:3], table[:, 3], table[:, 4], table[:, 5].astype(np.bool_)
        )

    def off_wall(self) -> Stretches:
        """Those that do not run along the wall: where a stem can stand."""
        free = ~self.on_wall
        return Stretches(
            self.tank, self.line[free], self.xy_m[free], self.from_m[free], self.to_m[free], self.on_wall[free]
        )

    def heights_m(self, leaving: Leaving, lines: int) -> Floats:
        """Least height on each line at which a mark trips with the quantity still there: (lines,), inf where none does.

        Between a height that does not leave it and one that does: where the level sought over the upper one's pool lies,
        a hair above and below; then, where another pool stands there, halfway. A stretch is asked for a few times only.
        """
        margin = 1e-6 * (self.to_m - self.from_m)
        bottom, top = self.from_m + margin, self.to_m - margin
        over_m = self._over_least(leaving, top)
        serves = over_m >= 0.0
        hair = _HAIR * (top - bottom)
        slope = float(self.tank.turn[2] @ leaving.drained.tilted.up)
        for _ in range(_STEPS):
            if not (serves & (top - bottom > 4.0 * hair)).any():
                break
            sought = top - np.where(serves, over_m, 0.0) / slope if slope > 0.0 else top
            for probe in (sought + hair, sought - hair, (bottom + top) / 2.0):
                within = (probe > bottom) & (probe < top)
                if within.any():
                    asked_m = self._over_least(leaving, np.where(within, probe, top))
                    lower, higher = within & (asked_m >= 0.0), within & (asked_m < 0.0)
                    top, over_m = np.where(lower, probe, top), np.where(lower, asked_m, over_m)
                    bottom = np.where(higher, probe, bottom)
        heights = np.full(lines, np.inf)
        for k in np.flatnonzero(serves)[::-1]:  # a line's lowest stretch that serves comes last
            heights[self.line[k]] = top[k]
        return heights

    def _over_least(self, leaving: Leaving, z_m: Floats) -> Floats:
        """How far marks at these heights (k,) stand above the least level that leaves the quantity; -inf: no level does."""
        points_m = self.tank.body_m(np.column_stack([self.xy_m, z_m])) - self.tank.cavity.centre_m
        tilted = leaving.drained.tilted
        seeds = seeds_below(tilted, points_m)
        for k in np.flatnonzero(self.on_wall):
            face = self.tank.cavity.spot("", points_m[k] + self.tank.cavity.centre_m).face
            seeds[k] = tilted.tree.face_seed[face] if face >= 0 else seeds[k]
        least = np.where(seeds >= 0, leaving.levels_m(np.maximum(seeds, 0)), np.inf)
        over: Floats = points_m @ tilted.up - least
        return over


def seeds_below(tilted: Tilted, points_m: Floats) -> Ints:
    """The seed below each free point (k, 3) about the cavity's centre: (k,), -1 where there is none."""
    free = np.full(len(points_m), -1, np.int32)
    hit, _ = pools.drop(tilted.placed_m, tilted.cavity.faces, points_m @ tilted.axes, free)
    seeds: Ints = np.where(hit >= 0, tilted.tree.face_seed[hit], np.int32(-1))
    return seeds


def _crossings(tank: FittedTank, xy_m: Floats) -> list[list[float]]:
    """Heights at which vertical lines of the mesh pass through the surface, each line's rising."""
    tilted = Tilted.of(tank.cavity, np.array([0.0, 0.0, 1.0]) @ tank.turn)
    base_m = tank.body_m(np.column_stack([xy_m, np.zeros(len(xy_m))])) - tank.cavity.centre_m
    shift_m = (base_m @ tilted.axes)[:, 2]  # level of mesh z = 0 about the cavity's centre
    levels = levels_crossed(tilted, base_m)
    return [[level - at_m for level in line] for line, at_m in zip(levels, shift_m.tolist(), strict=True)]


def levels_crossed(tilted: Tilted, points_m: Floats) -> list[list[float]]:
    """Levels at which lines along up, through points (k, 3) about the cavity's centre, pass its surface, each line's rising."""
    placed = np.ascontiguousarray(points_m @ tilted.axes)
    placed[:, 2] = tilted.high_m + 1.0
    found: list[list[float]] = [[] for _ in placed]
    going = np.arange(len(placed))
    while going.size:
        hit, z = pools.drop(tilted.placed_m, tilted.cavity.faces, placed[going], np.full(going.size, -1, np.int32))
        going, z = going[hit >= 0], z[hit >= 0]
        for line, level in zip(going, z, strict=True):
            found[line].append(float(level))
        placed[going, 2] = np.nextafter(z, -np.inf)
    return [sorted(levels) for levels in found]
