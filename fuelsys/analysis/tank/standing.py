"""A tank's surface against its quantity at one attitude: one level for all pools that drain, the others held back full.

A pool without an outlet stays full to the saddle at which it was cut off, as when the tank is drained from full. Two pools that
reach an outlet of their own part at the saddle between them: `halves` gives each as a tank that runs over into the other there.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace

import numpy as np

from fuelsys.analysis.tank.draining import Drained, Opening
from fuelsys.analysis.tank.filling import overflow_level_m
from fuelsys.analysis.tank.switches import low_m
from fuelsys.analysis.tank.tilted import seeds_below
from fuelsys.analysis.tank.unusable import every_outlet
from fuelsys.arrays import Flags, Floats
from fuelsys.model.built.ends import PortEnd
from fuelsys.model.built.layout import FittedTank, Layout
from fuelsys.model.stated.attitude import Attitude
from fuelsys.model.stated.fittings import Switch

SECOND = "\x1f"  # after a tank's name: the second of two pools of it; no name in a design has it
_HAIR_M3 = 1e-9
_LEAST_M3 = 1e-4  # that a pool must hold to be told; chosen here, no source
LEVEL_WITHIN_M = 5e-6  # how far a level read between two knots of the curve may lie off the exact one
_FIRST_KNOTS, _ROUNDS = 25, 14


@dataclass(frozen=True, eq=False)
class Parting:
    """Pools that join at a saddle (its level about the centre): what the tank holds there, what the smaller holds, their seeds.

    feed: each has an outlet of its own.
    """

    below_m3: float
    pool_m3: float
    feed: bool
    saddle_m: float
    sides: tuple[Flags, ...]


@dataclass(frozen=True, eq=False)
class Standing:
    """Levels count from the datum along up. lips are what each port needs to give: its volume, and the level there.

    most_m3 is what is in the tank when fuel stands at its vents or, where that comes first, runs over the way out of one
    (to spill_to by its spill_port: a tank, or overboard where that is empty); spill_m is that level, over_m3 what is held there.
    lamps are the volumes at which each switch trips and resets, and trips with its mark low by its tolerance; None where the
    surface never passes its mark.
    """

    attitude: Attitude
    drained: Drained
    free: Flags
    knots_m3: Floats
    knots_m: Floats
    lips: dict[str, tuple[float, float]]
    most_m3: float
    over_m3: float
    spill_m: float
    spill_to: str
    lamps: dict[str, tuple[float | None, float | None, float | None]]
    spill_port: str = ""

    @classmethod
    def of(cls, layout: Layout, tank: FittedTank, attitude: Attitude, *, ending: bool = True) -> Standing:
        """A tank of a layout at an attitude; not ending: an outlet that takes air does not end what others give."""
        up, design = attitude.up, tank.design
        marks = [tank.spot(f"switch {one.name}") for one in design.switch]
        openings = every_outlet(tank) if ending else [replace(one, ends=()) for one in every_outlet(tank)]
        drained = Drained.of(tank.cavity, up, openings, marks)
        free = drained.drains[: drained.n_seeds]
        free = free if free.any() else np.ones_like(free)
        centre = float(tank.cavity.centre_m @ up)
        levels = _levels(tank, up)
        for outlet in design.outlet:  # one that takes air ends what its tank's others give
            for other in tank.ends[outlet.name].others if ending and outlet.name in tank.ends else ():
                levels[other] = max(levels[other], levels[outlet.name])
        levels |= _over_kept(tank, drained, free, levels)
        names = list(levels)
        knots_m3, knots_m = _knots(drained, free, np.array(list(levels.values())))
        at_lips = _volumes(drained, free, np.array([levels[name] for name in names]))
        lips = {name: (float(held), levels[name] + centre) for name, held in zip(names, at_lips.tolist(), strict=True)}
        gross_m3 = float(_volumes(drained, free, np.array([drained.tilted.high_m]))[0])
        spills = {vent.name: overflow_level_m(layout, tank, vent.name, attitude) for vent in design.vent}
        most_m3, over_m3, spill_m, to = gross_m3, gross_m3, drained.tilted.high_m + centre, ("", "")
        if spills:
            lowest = min(spills, key=lambda name: spills[name])
            air = Drained.of(tank.cavity, -up, [Opening(tank.spot(name)) for name in spills])
            over_m3 = float(_volumes(drained, free, np.array([spills[lowest]]))[0])
            most_m3 = min(gross_m3 - air.left_m3, over_m3)
            spill_m, to = spills[lowest] + centre, _beyond(layout, tank, lowest, attitude)
        every = np.ones_like(free)
        lamps = {one.name: _lamp(drained, free, i, one, low_m(tank, one), every) for i, one in enumerate(design.switch)}
        return cls(
            attitude, drained, free, knots_m3, knots_m + centre, lips, most_m3, over_m3, spill_m, to[0], lamps, to[1]
        )

    def partings(self) -> Iterator[Parting]:
        """Where its pools part before it has run out, the lowest saddle first; small ones are passed over."""
        drained, tree = self.drained, self.drained.tilted.tree
        n_seeds, ended = drained.n_seeds, drained.seed_volumes_m3
        under = [np.arange(n_seeds) == seed for seed in range(n_seeds)]
        for node in range(n_seeds, tree.parent.size):
            sides = [under[child] for child in tree.children[node].tolist()]
            under.append(np.logical_or.reduce(sides))
            feeds = [bool((self.free & side).any()) for side in sides]
            if not any(feeds):
                continue
            saddle_m = float(tree.floor[node])
            levels = np.maximum(saddle_m, drained.end_m[:n_seeds])
            held = drained.tilted.by_seed(np.ascontiguousarray(levels[:, None]))[:, 0]
            if all(feeds):
                pool_m3 = min(float((held - ended)[side].sum()) for side in sides)
            else:
                pool_m3 = float(sum(ended[side].sum() for side, fed in zip(sides, feeds, strict=True) if not fed))
            if pool_m3 >= _LEAST_M3:
                yield Parting(float(held.sum()), pool_m3, all(feeds), saddle_m, tuple(sides))

    def half(self, tank: FittedTank, parting: Parting, side: int, beside: str) -> Standing:
        """One of two pools that have parted, as a tank of its own: full at the saddle, where it runs over into the one beside it.

        It has the ports and switches that stand over it; what is above the saddle is never reached while they are parted.
        """
        up, drained, own = self.attitude.up, self.drained, parting.sides[side]
        tree, centre = drained.tilted.tree, float(tank.cavity.centre_m @ up)
        names = [port.name for port in tank.design.ports]
        below = seeds_below(tank.cavity, [tank.spot(name) for name in names], up)
        raw = _levels(tank, up)
        levels = {name: raw[name] for name, seed in zip(names, below, strict=True) if seed < 0 or own[seed]}
        within = np.array([level for level in levels.values() if level < parting.saddle_m])
        knots_m3, knots_m = _knots(drained, self.free, within, own, parting.saddle_m)
        held = _volumes(drained, self.free, np.array(list(levels.values())), own)
        lips = {
            name: (volume if level < parting.saddle_m else np.inf, level + centre)
            for (name, level), volume in zip(levels.items(), held.tolist(), strict=True)
        }
        lamps = {
            one.name: _lamp(drained, self.free, i, one, low_m(tank, one), own, parting.saddle_m)
            for i, one in enumerate(tank.design.switch)
            if (seed := tree.port_seed[drained.n_openings + i]) >= 0 and own[seed]
        }
        return replace(
            self, knots_m3=knots_m3, knots_m=knots_m + centre, lips=lips, most_m3=float(knots_m3[-1]),
            over_m3=float(knots_m3[-1]), spill_m=parting.saddle_m + centre, spill_to=beside, lamps=lamps,
        )  # fmt: skip

    def level_m(self, volume_m3: float) -> float:
        """The surface's level; that of the lowest low point that drains where no more than the held-back fuel is there."""
        return float(np.interp(volume_m3, self.knots_m3, self.knots_m))

    @property
    def top_m(self) -> float:
        """The level at which it is full."""
        return self.level_m(self.most_m3)

    @property
    def gross_m3(self) -> float:
        """All that the cavity holds."""
        return float(self.knots_m3[-1])


@dataclass(frozen=True, eq=False)
class Halves:
    """A tank's two pools at an attitude, as tanks, and the whole while they are one: whichever takes air first ends the other then."""

    whole: Standing
    parting: Parting
    one: Standing
    two: Standing

    @classmethod
    def of(cls, layout: Layout, tank: FittedTank, standing: Standing) -> Halves | None:
        """Those that the highest saddle parts; None: there is none."""
        if any(opening.ends for opening in every_outlet(tank)):
            standing = Standing.of(layout, tank, standing.attitude, ending=False)
        found = [one for one in standing.partings() if one.feed and one.below_m3 < standing.most_m3]
        if not found or len(found[-1].sides) != 2:
            return None
        one = standing.half(tank, found[-1], 0, tank.name + SECOND)
        return cls(standing, found[-1], one, standing.half(tank, found[-1], 1, tank.name))

    def second_m3(self, held_m3: float) -> float:
        """What the second has of a quantity that stands at one level."""
        level_m = self.whole.level_m(held_m3)
        one, two = (float(np.interp(level_m, half.knots_m, half.knots_m3)) for half in (self.one, self.two))
        shared = two + (held_m3 - one - two) * two / max(one + two, _HAIR_M3)
        return min(max(shared, held_m3 - self.one.most_m3, 0.0), self.two.most_m3, held_m3)


def _over_kept(tank: FittedTank, drained: Drained, free: Flags, levels: dict[str, float]) -> dict[str, float]:
    """Levels of ports in pools that are held back full: what comes in there runs over, and nothing comes out, below the saddle."""
    ends = drained.end_m
    low = [] if free.all() else [name for name in levels if levels[name] < ends[: drained.n_seeds][~free].max()]
    pairs = zip(low, seeds_below(tank.cavity, [tank.spot(name) for name in low], drained.tilted.up), strict=True)
    return {name: max(levels[name], float(ends[seed])) for name, seed in pairs if seed >= 0 and not free[seed]}


def tank_of(vessel: str) -> str:
    """The tank of a name that may be that of its second pool."""
    return vessel.removesuffix(SECOND)


def _levels(tank: FittedTank, up: Floats) -> dict[str, float]:
    """The level about the centre that each port needs to give."""
    levels = {port.name: tank.level_m(port.name, up) for port in tank.design.ports}
    for outlet, opening in zip(tank.design.outlet, every_outlet(tank), strict=True):
        levels[outlet.name] = opening.level_m(up) - opening.starved_m(up)  # the flow is solved, not assumed
    return levels


def _volumes(drained: Drained, free: Flags, levels_m: Floats, own: Flags | None = None) -> Floats:
    """What is held with the surface at levels about the centre (k,), in the pools of some seeds alone or in all: (k,)."""
    ends = drained.end_m[: drained.n_seeds]
    levels = np.where(free[:, None], levels_m[None, :], np.maximum(ends[:, None], levels_m[None, :]))
    by_seed = drained.tilted.by_seed(np.ascontiguousarray(levels))
    by_seed = by_seed if own is None else by_seed[own]
    summed: Floats = np.ascontiguousarray(by_seed.T).sum(axis=1)
    return summed


def _knots(
    drained: Drained, free: Flags, also_m: Floats, own: Flags | None = None, high: float | None = None
) -> tuple[Floats, Floats]:
    """Exact volumes at levels so near to one another that the straight line between two is near enough; also some levels."""
    floor = drained.tilted.tree.floor[: drained.n_seeds]
    low = float(floor[free if own is None else free & own].min())
    high = drained.tilted.high_m if high is None else high
    ends = drained.end_m[: drained.n_seeds]
    levels = np.unique(
        np.concatenate([np.linspace(low, high, _FIRST_KNOTS), ends.clip(low, high), also_m.clip(low, high)])
    )
    volumes = _volumes(drained, free, levels, own)
    for _ in range(_ROUNDS):
        middles = (levels[1:] + levels[:-1]) / 2.0
        there = _volumes(drained, free, middles, own)
        flat = volumes[1:] - volumes[:-1] <= 0.0
        shares = (there - volumes[:-1]) / np.where(flat, 1.0, volumes[1:] - volumes[:-1])
        off = np.abs(shares - 0.5) * (levels[1:] - levels[:-1]) > LEVEL_WITHIN_M
        off &= ~flat
        if not off.any():
            break
        levels, volumes = np.concatenate([levels, middles[off]]), np.concatenate([volumes, there[off]])
        order = np.argsort(levels, kind="stable")
        levels, volumes = levels[order], volumes[order]
    volumes = np.maximum.accumulate(volumes)
    keep = np.append(volumes[1:] > volumes[:-1], True)
    return volumes[keep], levels[keep]


def _beyond(layout: Layout, tank: FittedTank, vent: str, attitude: Attitude) -> tuple[str, str]:
    """The tank that the lowest way out of a vent leads to, and its port there; empty for overboard."""
    ways = layout.network.spills(PortEnd(tank.name, vent))
    if not ways:
        return "", ""
    lowest = min(ways, key=lambda way: way.climb().top_m(attitude.up))
    others = [end for end in (lowest.end, lowest.start) if isinstance(end, PortEnd) and end.tank != tank.name]
    return ("", "") if layout.network.overboard(lowest.end) or not others else (others[0].tank, others[0].port)


def _lamp(
    drained: Drained, free: Flags, index: int, switch: Switch, low_m: float, own: Flags, high: float = np.inf
) -> tuple[float | None, float | None, float | None]:
    """Volumes of some seeds' pools at which a switch trips and resets, and trips at the latest; infinite above a level."""
    tree, tilted = drained.tilted.tree, drained.tilted
    seed = tree.port_seed[drained.n_openings + index]
    level = tilted.level_m(tilted.spots[drained.n_openings + index])
    if switch.too_far(tilted.up) or seed < 0 or (not free[seed] and drained.end_m[seed] >= level):
        return None, None, None
    low = level - low_m
    levels = np.array([level, level + switch.differential_m, low])
    trip, reset, late = np.where(levels < high, _volumes(drained, free, levels, own), np.inf)
    comes = free[seed] or drained.end_m[seed] < low
    comes = comes and low > float(drained.tilted.tree.floor[seed])
    return float(trip), float(reset), float(late) if comes else None
