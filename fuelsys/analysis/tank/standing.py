"""A tank's surface against its quantity at one attitude: one level for all pools that drain, the others held back full.

A pool without an outlet stays full to the saddle at which it was cut off, as when the tank is drained from full; the level
stands for all pools that reach an outlet, though two of them may really part.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from fuelsys.analysis.tank.draining import Drained, Opening
from fuelsys.analysis.tank.filling import overflow_level_m
from fuelsys.analysis.tank.switches import low_m
from fuelsys.analysis.tank.unusable import every_outlet
from fuelsys.arrays import Flags, Floats
from fuelsys.model.built.ends import PortEnd
from fuelsys.model.built.layout import FittedTank, Layout
from fuelsys.model.stated.attitude import Attitude
from fuelsys.model.stated.fittings import Switch

LEVEL_WITHIN_M = 5e-6  # how far a level read between two knots of the curve may lie off the exact one
_FIRST_KNOTS, _ROUNDS = 25, 14


@dataclass(frozen=True, eq=False)
class Standing:
    """Levels count from the datum along up. lips are what each port needs to give: its volume, and the level there.

    most_m3 is what is in the tank when fuel stands at its vents or, where that comes first, runs over the way out of one
    (to spill_to: a tank, or overboard where that is empty); spill_m is that level, over_m3 what is held there.
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

    @classmethod
    def of(cls, layout: Layout, tank: FittedTank, attitude: Attitude) -> Standing:
        """A tank of a layout at an attitude."""
        up, design, openings = attitude.up, tank.design, every_outlet(tank)
        marks = [tank.spot(f"switch {one.name}") for one in design.switch]
        drained = Drained.of(tank.cavity, up, openings, marks)
        free = drained.drains[: drained.n_seeds]
        free = free if free.any() else np.ones_like(free)
        centre = float(tank.cavity.centre_m @ up)
        levels = {port.name: tank.level_m(port.name, up) for port in design.ports}
        for outlet, opening in zip(design.outlet, openings, strict=True):
            levels[outlet.name] = opening.level_m(up) - opening.starved_m(up)  # the flow is solved, not assumed
        for outlet in design.outlet:  # one that takes air ends what its tank's others give
            for other in tank.ends[outlet.name].others if outlet.name in tank.ends else ():
                levels[other] = max(levels[other], levels[outlet.name])
        names = list(levels)
        knots_m3, knots_m = _knots(drained, free, np.array(list(levels.values())))
        at_lips = _volumes(drained, free, np.array([levels[name] for name in names]))
        lips = {name: (float(held), levels[name] + centre) for name, held in zip(names, at_lips.tolist(), strict=True)}
        gross_m3 = float(_volumes(drained, free, np.array([drained.tilted.high_m]))[0])
        spills = {vent.name: overflow_level_m(layout, tank, vent.name, attitude) for vent in design.vent}
        most_m3, over_m3, spill_m, to = gross_m3, gross_m3, drained.tilted.high_m + centre, ""
        if spills:
            lowest = min(spills, key=lambda name: spills[name])
            air = Drained.of(tank.cavity, -up, [Opening(tank.spot(name)) for name in spills])
            over_m3 = float(_volumes(drained, free, np.array([spills[lowest]]))[0])
            most_m3 = min(gross_m3 - air.left_m3, over_m3)
            spill_m, to = spills[lowest] + centre, _beyond(layout, tank, lowest, attitude)
        lamps = {one.name: _lamp(drained, free, i, one, low_m(tank, one)) for i, one in enumerate(design.switch)}
        return cls(attitude, drained, free, knots_m3, knots_m + centre, lips, most_m3, over_m3, spill_m, to, lamps)

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


def _volumes(drained: Drained, free: Flags, levels_m: Floats) -> Floats:
    """What is held with the surface at levels about the centre (k,): (k,)."""
    ends = drained.end_m[: drained.n_seeds]
    levels = np.where(free[:, None], levels_m[None, :], np.maximum(ends[:, None], levels_m[None, :]))
    by_seed = drained.tilted.by_seed(np.ascontiguousarray(levels))
    summed: Floats = np.ascontiguousarray(by_seed.T).sum(axis=1)
    return summed


def _knots(drained: Drained, free: Flags, also_m: Floats) -> tuple[Floats, Floats]:
    """Exact volumes at levels so near to one another that the straight line between two is near enough; also some levels."""
    tree = drained.tilted.tree
    low, high = float(tree.floor[: drained.n_seeds][free].min()), drained.tilted.high_m
    ends = drained.end_m[: drained.n_seeds]
    levels = np.unique(
        np.concatenate([np.linspace(low, high, _FIRST_KNOTS), ends.clip(low, high), also_m.clip(low, high)])
    )
    volumes = _volumes(drained, free, levels)
    for _ in range(_ROUNDS):
        middles = (levels[1:] + levels[:-1]) / 2.0
        there = _volumes(drained, free, middles)
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


def _beyond(layout: Layout, tank: FittedTank, vent: str, attitude: Attitude) -> str:
    """The tank that the lowest way out of a vent leads to; empty for overboard."""
    ways = layout.network.spills(PortEnd(tank.name, vent))
    if not ways:
        return ""
    lowest = min(ways, key=lambda way: way.climb().top_m(attitude.up))
    others = [end.tank for end in (lowest.end, lowest.start) if end.tank not in (None, tank.name)]
    return "" if layout.network.overboard(lowest.end) or not others else str(others[0])


def _lamp(
    drained: Drained, free: Flags, index: int, switch: Switch, low_m: float
) -> tuple[float | None, float | None, float | None]:
    """Volumes at which a switch trips and resets, and trips at the latest."""
    tree, tilted = drained.tilted.tree, drained.tilted
    seed = tree.port_seed[drained.n_openings + index]
    level = tilted.level_m(tilted.spots[drained.n_openings + index])
    if switch.too_far(tilted.up) or seed < 0 or (not free[seed] and drained.end_m[seed] >= level):
        return None, None, None
    low = level - low_m
    trip, reset, late = _volumes(drained, free, np.array([level, level + switch.differential_m, low]))
    comes = free[seed] or drained.end_m[seed] < low
    comes = comes and low > float(drained.tilted.tree.floor[seed])
    return float(trip), float(reset), float(late) if comes else None
