"""The drained curve turned round: at which level the falling surface still leaves a quantity in the tank."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np

from fuelsys.analysis.tank.draining import Drained
from fuelsys.arrays import Flags, Floats, Ints
from fuelsys.kernels import volume
from fuelsys.kernels.level import level_for_volume


@dataclass(frozen=True)
class Leaving:
    """A drained tank and the quantity that is to be left when a point is passed, all other pools drained to their end."""

    drained: Drained
    target_m3: float
    _known: dict[int, float] = field(default_factory=dict)  # pool -> its least level; what was looked for once

    def levels_m(self, seeds: Ints) -> Floats:
        """Least level at which the surface, passing a point over a seed, leaves the quantity: (k,) -> (k,); inf: none."""
        unique, back = np.unique(seeds, return_inverse=True)
        return np.array([self._over(int(seed)) for seed in unique])[back]

    def _over(self, seed: int) -> float:
        """The pools over a seed from the whole tank down: what is left never grows as the surface falls."""
        tree = self.drained.tilted.tree
        pools = []
        while seed >= 0:
            pools.append(seed)
            seed = int(tree.parent[seed])
        least = np.inf
        for pool in reversed(pools):
            low, high = self._reach(pool)
            if not self.drained.drains[pool]:
                break
            if low < high:
                if pool not in self._known:
                    self._known[pool] = self._in_pool(pool, low, high)
                if np.isinf(self._known[pool]):
                    break
                least = self._known[pool]
                if least > low:
                    break
        return least

    def _reach(self, pool: int) -> tuple[float, float]:
        """The levels between which the surface of a pool falls."""
        tree, tilted = self.drained.tilted.tree, self.drained.tilted
        hair = 2e-9 * (tilted.high_m - tilted.low_m)  # twice what passing a mark allows for rounding
        low = max(tree.floor[pool], self.drained.falls_to_m[pool]) + hair
        return float(low), float(min(tree.top[pool], tilted.high_m))

    def _in_pool(self, pool: int, low_m: float, high_m: float) -> float:
        """The least level within one pool; inf where even its full height leaves less."""
        tilted = self.drained.tilted
        under = self._under(pool)
        wanted_m3 = np.array([self.target_m3 - self.drained.seed_volumes_m3[~under].sum()])
        chosen = under[tilted.tree.face_seed]
        surface = (tilted.z_m, tilted.cavity.faces[chosen], tilted.plan_m2[chosen])
        at_low, at_high = volume.volume_and_area(*surface, np.array([low_m, high_m]))[0]
        if at_high < wanted_m3[0]:
            return np.inf
        if at_low >= wanted_m3[0]:
            return low_m
        return float(level_for_volume(*surface, wanted_m3, (low_m, high_m))[0])

    def _under(self, pool: int) -> Flags:
        """Which seeds lie under a node of the pool tree: (s,)."""
        parent = self.drained.tilted.tree.parent
        under = np.zeros(parent.size, np.bool_)
        under[pool] = True
        for node in range(pool - 1, -1, -1):
            under[node] = parent[node] >= 0 and under[parent[node]]
        return under[: self.drained.n_seeds]
