"""Where one level for a tank may be wrong in a flight: its fuel stands in pools of their own, by the pool tree at each attitude."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from fuelsys.analysis.flights.setting import World
from fuelsys.analysis.tank.standing import Standing
from fuelsys.model.found.fly import Flown, Part
from fuelsys.model.words import Doubt

_LEAST_M3 = 1e-4  # that a pool must hold to be told; chosen here, no source


@dataclass(frozen=True)
class Parted:
    """Two pools that join at a saddle: what the tank holds there, what the smaller holds, and whether that one has no outlet."""

    below_m3: float
    pool_m3: float
    kept: bool


def doubts(world: World, flown: Flown) -> tuple[Doubt, ...]:
    """Of each tank and attitude of a flight at which one level for all its pools may be wrong: by how much."""
    found = [doubt for k, part in enumerate(flown.parts) for doubt in _of_part(world, flown, k, part)]
    return tuple(dict.fromkeys(found))


def _of_part(world: World, flown: Flown, k: int, part: Part) -> Iterator[Doubt]:
    until_s = flown.parts[k + 1].from_s if k + 1 < len(flown.parts) else flown.end_s
    during = (flown.times_s >= part.from_s) & (flown.times_s <= until_s)
    for tank, held in zip(flown.tanks, flown.held_m3[during].T, strict=True):
        standing = world.standing(tank, part.attitude)
        for one in parted(standing):
            share = f"{one.pool_m3 / standing.gross_m3:.2%}".replace("%", " %")
            where = f"{tank} at {part.attitude.name}"
            if one.kept and held[0] < one.below_m3:
                yield Doubt(
                    f"{where}: it comes to it with less than fills a pool without an outlet, which counts as full, {share} of the"
                    " tank: less may be held back there, never more."
                )
            elif not one.kept and held.min() < one.below_m3:
                yield Doubt(
                    f"{where}: its fuel parts into two pools with outlets of their own, which count with one level: up to {share} of"
                    " the tank may stand in the other one than is counted, and an outlet take air, or a lamp light, sooner or later."
                )


def parted(standing: Standing) -> list[Parted]:
    """The pools of a tank that part before it has run out, but for small ones."""
    drained, tree = standing.drained, standing.drained.tilted.tree
    free, ends = standing.free, drained.end_m[: drained.n_seeds]
    ended = drained.seed_volumes_m3
    under: list[set[int]] = [{seed} for seed in range(drained.n_seeds)]
    found = []
    for node in range(drained.n_seeds, tree.parent.size):
        sides = [under[child] for child in tree.children[node].tolist()]
        under.append(set().union(*sides))
        saddle_m = float(tree.floor[node])
        levels = np.maximum(np.full(drained.n_seeds, saddle_m), ends)
        held = drained.tilted.by_seed(np.ascontiguousarray(levels[:, None]))[:, 0]
        feeds = [any(free[seed] for seed in side) for side in sides]
        if not any(feeds):
            continue
        if all(feeds):
            pool_m3 = min(float(sum(held[seed] - ended[seed] for seed in side)) for side in sides)
        else:
            pool_m3 = float(sum(ended[seed] for seed in sides[feeds.index(False)]))
        if pool_m3 >= _LEAST_M3:
            found.append(Parted(float(held.sum()), pool_m3, not all(feeds)))
    return found
