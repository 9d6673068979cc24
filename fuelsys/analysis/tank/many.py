"""One tank drained at one attitude many times over, with outlets and marks that move: the tilted tank and its pools are computed once.

What moves a fitting does not move the tank: the pool tree stays, and so does each pool's volume as a function of its level. That is
a cubic between two neighbouring levels of the pool's corners. Where many levels are asked for, each such stretch that one of them
falls into is computed at four levels, as any volume is, and the cubic through these gives the others, exact but for rounding
(`kernels/volume.py` says why its coefficients are not summed up from corner to corner instead).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np

from fuelsys.analysis.tank.draining import Opening
from fuelsys.analysis.tank.stems import seeds_below
from fuelsys.analysis.tank.tilted import Tilted
from fuelsys.arrays import Flags, Floats, Ints
from fuelsys.kernels import drain, volume
from fuelsys.model.built.cavity import Cavity

_FOUR = np.arange(4) / 3.0  # where a stretch is computed, from its lower end to its upper one
_CUBIC = np.linalg.inv(np.vander(_FOUR, 4))  # values there -> coefficients, that of the cube first


@dataclass(frozen=True)
class Placed:
    """Where n sets of fittings sit: points (n, k, 3) about the cavity's centre, the faces that they sit on (n, k), -1: free."""

    points_m: Floats
    faces: Ints


@dataclass(frozen=True)
class _Pool:
    """A pool as a function of its level: its faces, their plan areas, the levels of their corners, rising."""

    faces: Ints
    plan_m2: Floats
    corners_m: Floats


@dataclass(frozen=True, eq=False)
class Many:
    """A cavity at one attitude, to be drained over and over."""

    tilted: Tilted
    _pools: dict[int, _Pool] = field(default_factory=dict)
    _under: dict[int, Flags] = field(default_factory=dict)

    @classmethod
    def of(cls, cavity: Cavity, up: Floats) -> Many:
        """The cavity with a free surface that faces up (3,)."""
        return cls(Tilted.of(cavity, up))

    def answers(
        self, openings: Sequence[Opening], outlets: Placed, marks: Placed, raised_m: Floats
    ) -> tuple[Floats, Floats]:
        """What stays behind (n,), and what is held when each mark is passed (n, k), NaN where it never is.

        The same as n times `Drained`: left_m3, and passed_all with marks raised along up by raised_m (n, k) in state 0. Openings
        give the cover and the ways, outlets where they sit.
        """
        levels = np.column_stack(
            [
                opening.level_over(level, self.tilted.up)
                for opening, level in zip(openings, self._levels(outlets).T, strict=True)
            ]
        )
        seeds, wanted = self._seeds(outlets), (self._seeds(marks), self._levels(marks) + raised_m)
        best: tuple[Floats, Floats] | None = None
        for shut in dict.fromkeys([(), *(opening.ends for opening in openings)]):
            given = seeds.copy()
            given[:, list(shut)] = -1
            found = self._drained(given, levels, *wanted)
            if best is not None:  # of several the drain that leaves the most, as in Drained
                more = found[0] > best[0]
                found = np.where(more, found[0], best[0]), np.where(more[:, None], found[1], best[1])
            best = found
        assert best is not None
        return best

    def _drained(self, seeds: Ints, levels: Floats, mark_seeds: Ints, mark_levels: Floats) -> tuple[Floats, Floats]:
        tree = self.tilted.tree
        stays, passes = drain.drain_many(
            tree.parent, tree.children, tree.floor, tree.top, self.tilted.high_m, seeds, levels, mark_seeds, mark_levels
        )
        kept = np.zeros(stays.shape)
        for node in np.flatnonzero(~np.isnan(stays).all(axis=0)).tolist():
            rows = ~np.isnan(stays[:, node])
            kept[rows, node] = self.volumes_m3(node, stays[rows, node])
        held = np.full(passes.shape, np.nan)
        for node in np.unique(passes[passes >= 0]).tolist():
            sample, mark = np.nonzero(passes == node)
            others = kept[sample][:, ~self._below(node)].sum(axis=1)
            held[sample, mark] = self.volumes_m3(node, mark_levels[sample, mark]) + others
        return kept.sum(axis=1), held

    def volumes_m3(self, node: int, levels_m: Floats) -> Floats:
        """What a pool of the tree holds below levels (k,)."""
        pool = self._pool(node)
        corners = pool.corners_m
        if levels_m.min() == levels_m.max():
            return np.full(levels_m.shape, self._direct(pool, levels_m[:1])[0])
        stretch = np.clip(np.searchsorted(corners, levels_m), 1, max(1, corners.size - 1)) - 1
        found = np.zeros(corners.size, np.bool_)
        found[stretch] = True
        touched, which = np.flatnonzero(found), (np.cumsum(found) - 1)[stretch]
        outside = (levels_m < corners[0]) | (levels_m > corners[-1])
        if 4 * touched.size >= levels_m.size or outside.any():
            return self._direct(pool, levels_m)
        low, high = corners[touched], corners[touched + 1]
        four = self._direct(pool, (low[:, None] + (high - low)[:, None] * _FOUR).ravel()).reshape(-1, 4)
        a, b, c, d = (_CUBIC @ four.T)[:, which]
        t = (levels_m - low[which]) / (high - low)[which]
        volumes: Floats = ((a * t + b) * t + c) * t + d
        return volumes

    def _direct(self, pool: _Pool, levels_m: Floats) -> Floats:
        return volume.volume_and_area(self.tilted.z_m, pool.faces, pool.plan_m2, levels_m)[0]

    def _pool(self, node: int) -> _Pool:
        if node not in self._pools:
            tilted = self.tilted
            mine = self._below(node)[tilted.tree.face_seed]
            faces = np.ascontiguousarray(tilted.cavity.faces[mine])
            corners = np.zeros(tilted.z_m.size, np.bool_)
            corners[faces] = True
            self._pools[node] = _Pool(faces, tilted.plan_m2[mine], np.unique(tilted.z_m[corners]))
        return self._pools[node]

    def _below(self, node: int) -> Flags:
        """Which nodes are a node or have become part of it: (nodes,)."""
        if node not in self._under:
            parent = self.tilted.tree.parent
            found = np.zeros(parent.size, np.bool_)
            found[node] = True
            for one in range(node - 1, -1, -1):
                found[one] = parent[one] >= 0 and found[parent[one]]
            self._under[node] = found
        return self._under[node]

    def _levels(self, placed: Placed) -> Floats:
        found: Floats = placed.points_m @ self.tilted.up
        return found

    def _seeds(self, placed: Placed) -> Ints:
        """The seed below each fitting, or of the face that it sits on: (n, k); above all saddles any seed stands for its pool."""
        tree, levels = self.tilted.tree, self._levels(placed)
        found: Ints = tree.face_seed[placed.faces]
        saddle = tree.floor[-1] + 1e-6 * (self.tilted.high_m - tree.floor.min())
        found[levels > saddle] = 0
        low = levels <= saddle if tree.seed_vertex.size > 1 else np.zeros(found.shape, np.bool_)
        for k in range(found.shape[1]):
            free, points = low[:, k] & (placed.faces[:, k] < 0), placed.points_m[:, k]
            if free.any():
                alike = (points == points[0]).all()
                found[free, k] = seeds_below(self.tilted, points[:1] if alike else points[free])
        if tree.seed_vertex.size == 1:
            found[:] = 0
        return found
