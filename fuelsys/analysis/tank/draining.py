"""A tank drained from full at one attitude: what stays in each pool, and what is held when a mark is passed."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from fuelsys.analysis.tank.tilted import Tilted, seeds_below
from fuelsys.arrays import Flags, Floats, Ints
from fuelsys.kernels import drain
from fuelsys.model.built.cavity import Cavity, Spot
from fuelsys.model.built.way import Climb
from fuelsys.model.found.unusable import Pocket

# A pocket smaller than this is counted but not listed: a thousandth of a millilitre.
LEAST_POCKET_M3 = 1e-9


@dataclass(frozen=True)
class Opening:
    """A spot through which fluid leaves, and how far above it (along apparent gravity) the surface stops falling.

    Where it runs on by gravity alone, the surface stops falling at the highest point of the lowest of its ways,
    with levels about the cavity's centre: a siphon over that point is not relied upon. heights, one for each way, are how
    far above its end the surface must stand to drive the flow. into, one for each way or none at all, is the tank that a way
    ends in: what is left there under the way's end stands in the way.
    """

    spot: Spot
    cover_m: float = 0.0
    ways: tuple[Climb, ...] = ()
    heights_m: tuple[float, ...] = ()
    ends: tuple[int, ...] = ()
    into: tuple[Beyond, ...] = ()

    @property
    def beside(self) -> bool:
        """Does it give only through tanks that interconnect lines join to its own?"""
        return bool(self.into) and all(climb.way.kind == "interconnect" for climb in self.ways)

    def level_m(self, up: Floats) -> float:
        """Level about the cavity's centre at which the surface stops falling."""
        held_m = self._over(up, flowing=False)
        starved_m = self._over(up, flowing=True) - held_m if self.heights_m else 0.0
        return self._own_m(up) + held_m + starved_m

    def level_over(self, own_m: Floats, up: Floats) -> Floats:
        """The same for openings of this kind whose spots lie at levels (n,): (n,)."""
        own_m = own_m + self.cover_m
        return np.maximum(own_m, self._needed_m(up, flowing=True))

    def over_m(self, up: Floats) -> float:
        """How far the way on holds the surface above where it would stop for the opening alone."""
        return self._over(up, flowing=False, beyond=False)

    def beside_m(self, up: Floats) -> float:
        """How much further above that what is left in the tank that it runs into holds it."""
        return self._over(up, flowing=False) - self.over_m(up) if self.into else 0.0

    def starved_m(self, up: Floats) -> float:
        """How much further above that the surface must stand for the flow."""
        return self._over(up, flowing=True) - self._over(up, flowing=False) if self.heights_m else 0.0

    def _over(self, up: Floats, *, flowing: bool, beyond: bool = True) -> float:
        return max(0.0, self._needed_m(up, flowing=flowing, beyond=beyond) - self._own_m(up))

    def _needed_m(self, up: Floats, *, flowing: bool, beyond: bool = True) -> float:
        """The level that the lowest of its ways asks for."""
        heights = self.heights_m if flowing and self.heights_m else (-np.inf,) * len(self.ways)
        into = self.into if beyond and self.ways and self.into else (None,) * len(self.ways)
        needed = []
        for way, height, other in zip(self.ways, heights, into, strict=True):
            top, end = way.top_m(up), float(way.points_m[-1] @ up)
            alone = max(top, end + height)
            stands = -np.inf if other is None or other.high_m(up) + max(height, 0.0) <= alone else other.level_m(up)
            needed.append(max(alone, stands, stands + height))
        return min(needed, default=-np.inf)

    def _own_m(self, up: Floats) -> float:
        return float(self.spot.point_m @ up) + self.cover_m


@dataclass(frozen=True, eq=False)
class Beyond:
    """The tank that a way leads into, by itself drained from full: its fuel stays at a level under the way's end, which may be a
    pool of its own, over a wall from its outlets.

    off_m (3,) leads from the centre of the tank that gives to this one's; known are the levels that have been computed.
    """

    name: str
    cavity: Cavity
    end: Spot
    openings: tuple[Opening, ...]
    off_m: Floats
    known: dict[tuple[str, bytes], float]

    def high_m(self, up: Floats) -> float:
        """Level of its roof's highest point about the centre of the tank that gives."""
        return float((self.cavity.vertices_m @ up).max() + self.off_m @ up)

    def level_m(self, up: Floats) -> float:
        """Level of what is left there, about the centre of the tank that gives."""
        key = (self.end.name, up.tobytes())
        if key not in self.known:
            self.known[key] = Drained.of(self.cavity, up, self.openings).left_under_m(self.end)
        return self.known[key] + float(self.off_m @ up)


@dataclass(frozen=True)
class Drained:
    """The end of a quasi-static drain: end, falls_to and drains of each node of the pool tree (kernels/drain.py)."""

    tilted: Tilted
    n_openings: int
    end_m: Floats
    falls_to_m: Floats
    drains: Flags

    @classmethod
    def of(cls, cavity: Cavity, up: Floats, openings: Sequence[Opening], marks: Sequence[Spot] = ()) -> Drained:
        """Drain a cavity from full through its openings; marks are spots that will be asked for later.

        Where one ends what others give, which of them takes air first is not known in pools that part: the drain that leaves
        the most is taken, of those through each of them alone.
        """
        tilted = Tilted.of(cavity, up, [*(opening.spot for opening in openings), *marks])
        tree = tilted.tree
        levels = np.array([opening.level_m(up) for opening in openings])
        seeds = tree.port_seed[: len(openings)]
        found = []
        for shut in dict.fromkeys([(), *(opening.ends for opening in openings)]):
            open_ones = seeds.copy()
            open_ones[list(shut)] = -1
            end = drain.drain(tree.parent, tree.children, tree.floor, tree.top, open_ones, levels, tilted.high_m)
            found.append(cls(tilted, len(openings), *end))
        return found[0] if len(found) == 1 else max(found, key=lambda one: one.left_m3)

    @cached_property
    def seed_volumes_m3(self) -> Floats:
        """What each seed's faces hold in the end: (s,)."""
        return self.tilted.by_seed(self._end_of_seeds[:, None])[:, 0]

    @property
    def n_seeds(self) -> int:
        """Number of true low points."""
        return int(self.tilted.tree.seed_vertex.size)

    @property
    def _end_of_seeds(self) -> Floats:
        return self.end_m[: self.n_seeds]

    @property
    def _drained_seeds(self) -> Flags:
        return self.drains[: self.n_seeds]

    @property
    def residual_m3(self) -> float:
        """Fuel of the outlets' own pools below the outlets."""
        return float(self.seed_volumes_m3[self._drained_seeds].sum())

    @property
    def trapped_m3(self) -> float:
        """Fuel of the pools that do not reach an outlet."""
        return float(self.seed_volumes_m3[~self._drained_seeds].sum())

    @property
    def left_m3(self) -> float:
        """All that stays behind: residual and trapped."""
        return self.residual_m3 + self.trapped_m3

    @cached_property
    def _pool_of_seed(self) -> Ints:
        """The node in which each seed's fuel stands in the end."""
        parent = self.tilted.tree.parent
        pool = np.arange(parent.size, dtype=np.int32)
        for node in range(parent.size - 1, -1, -1):
            if parent[node] >= 0 and not np.isnan(self.end_m[parent[node]]):
                pool[node] = pool[parent[node]]
        return pool[: self.n_seeds]

    def pockets(self, sump_drains: Sequence[str] = ()) -> tuple[Pocket, ...]:
        """The pools that hold trapped fuel, largest first; sump_drains names the first of the marks."""
        tilted, tree = self.tilted, self.tilted.tree
        under = {seed: name for mark, name in enumerate(sump_drains) for seed in self.seeds_under(mark).tolist()}
        found = []
        for pool in np.unique(self._pool_of_seed[~self._drained_seeds]):
            seeds = np.flatnonzero(self._pool_of_seed == pool)
            volume_m3 = float(self.seed_volumes_m3[seeds].sum())
            if volume_m3 >= LEAST_POCKET_M3:
                lowest = tree.seed_vertex[seeds[np.argmin(tree.floor[seeds])]]
                place = tilted.cavity.vertices_m[lowest] + tilted.cavity.centre_m
                level_m = float(self.end_m[pool] + tilted.cavity.centre_m @ tilted.up)
                found.append(Pocket(volume_m3, place, level_m, under.get(int(seeds[0]), "")))
        return tuple(sorted(found, key=lambda pocket: -pocket.volume_m3))

    def lowest_m(self) -> Floats | None:
        """Lowest point of the outlets' own pools, in body axes from the datum; None where no pool drains."""
        tree, tilted = self.tilted.tree, self.tilted
        seeds = np.flatnonzero(self._drained_seeds)
        if not seeds.size:
            return None
        lowest = tree.seed_vertex[seeds[np.argmin(tree.floor[seeds])]]
        point: Floats = tilted.cavity.vertices_m[lowest] + tilted.cavity.centre_m
        return point

    def left_under_m(self, spot: Spot) -> float:
        """The level at which the pool that fuel from a spot falls into stays in the end; that of the highest where none is known."""
        (seed,) = seeds_below(self.tilted.cavity, [spot], self.tilted.up)
        return float(self._end_of_seeds.max() if seed < 0 else self.end_m[seed])

    def seeds_under(self, mark: int) -> Ints:
        """Seeds of the pool in which a mark (its index) stands in the end; none where the mark is left dry."""
        tree, tilted = self.tilted.tree, self.tilted
        seed = tree.port_seed[self.n_openings + mark]
        dry = seed < 0 or tilted.level_m(tilted.spots[self.n_openings + mark]) > self.end_m[seed]
        pool: Ints = np.flatnonzero(self._pool_of_seed == self._pool_of_seed[seed]).astype(np.int32)
        return pool[:0] if dry else pool

    def centre_m(self) -> Floats | None:
        """Centre of gravity of what stays behind, in body axes from the datum."""
        sums = self.tilted.moments_by_seed(np.ascontiguousarray(self._end_of_seeds)).sum(axis=0)
        return None if sums[0] <= 0.0 else sums[1:4] / sums[0] + self.tilted.cavity.centre_m

    def passed(self, mark: int, raised_m: float = 0.0, state: int = 0) -> float | None:
        """Quantity when the falling surface passes a mark (its index) raised by a length along up; None: it never does.

        state 0 takes all other pools as drained to their end (the least), 1 as not begun to fall (the most).
        """
        return self.passed_all([(mark, raised_m, state)])[0]

    def passed_all(self, asked: Sequence[tuple[int, float, int]]) -> list[float | None]:
        """What `passed` says of several (mark, raised_m, state), in one pass over the faces."""
        marks = [mark for mark, _, _ in asked]
        seeds = self.tilted.tree.port_seed[self.n_openings :][marks]
        levels = [self.tilted.level_m(self.tilted.spots[self.n_openings + mark]) + raised for mark, raised, _ in asked]
        held = self.held(seeds, np.array(levels), [state for _, _, state in asked])
        return [None if np.isnan(one) else float(one) for one in held]

    def held(self, seeds: Ints, levels_m: Floats, states: Sequence[int]) -> Floats:
        """Quantity when the falling surface passes points at levels (k,) over seeds (k,), NaN where it never does: (k,).

        The states are those of `passed`.
        """
        passes, levels = self._when_passed(seeds, levels_m, states)
        held = np.full(len(states), np.nan)
        if passes.any():
            by_seed = self.tilted.by_seed(np.ascontiguousarray(levels[:, passes]))
            held[passes] = np.ascontiguousarray(by_seed.T).sum(
                axis=1
            )  # so that a sum does not depend on its neighbours
        return held

    def passes(self, seeds: Ints, levels_m: Floats) -> Flags:
        """Whether the falling surface passes points at levels (k,) over seeds (k,): where `held` is a number."""
        return self._when_passed(seeds, levels_m, [0] * seeds.size)[0]

    def _when_passed(self, seeds: Ints, levels_m: Floats, states: Sequence[int]) -> tuple[Flags, Floats]:
        tree, ends = self.tilted.tree, (self.end_m, self.falls_to_m, self.drains)
        asked = np.asarray(seeds, np.int32), np.asarray(levels_m), np.array(states, np.int32)
        return drain.levels_when_passed(
            tree.parent, tree.floor, tree.top, *ends, self.n_seeds, *asked, self.tilted.high_m
        )

    def why_never(self, mark: int) -> str:
        """Why the falling surface never passes a mark."""
        tree, tilted = self.tilted.tree, self.tilted
        seed = tree.port_seed[self.n_openings + mark]
        level = tilted.level_m(tilted.spots[self.n_openings + mark])
        if seed < 0:
            return "the mark lies below the fuel"
        if not self.drains[drain.node_at(tree.parent, tree.top, seed, level)]:
            return "its pool is cut off from the outlets"
        return "the outlets run dry before the surface comes down to it"
