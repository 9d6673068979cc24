"""Tanks that are connected: the one level that their fuel finds, and where that stands when they are full."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence

import numpy as np

from fuelsys.analysis.tank.tilted import Tilted
from fuelsys.arrays import Floats
from fuelsys.kernels.level import level_for_volume
from fuelsys.model.built.layout import FittedTank, Layout
from fuelsys.model.built.way import Climb, Way
from fuelsys.model.found.capacity import Filled
from fuelsys.model.found.plumbing import Overflow, Settled
from fuelsys.model.stated.attitude import Attitude


def common_level_m(tanks: Sequence[FittedTank], volume_m3: float, up: Floats) -> float:
    """The level from the datum at which connected tanks hold a volume together: their surfaces taken as one body."""
    z, faces, plan = [], [], []
    first = 0
    for tank in tanks:
        tilted = Tilted.of(tank.cavity, up)
        z.append(tilted.z_m + tank.cavity.centre_m @ up)
        faces.append(tank.cavity.faces + np.int32(first))
        plan.append(tilted.plan_m2)
        first += len(tilted.z_m)
    most_m3 = sum(tank.cavity.gross_m3 for tank in tanks)
    if volume_m3 >= most_m3 * (1.0 - 1e-12):
        return float(np.concatenate(z).max())
    target = np.array([max(0.0, volume_m3)])
    return float(level_for_volume(np.concatenate(z), np.concatenate(faces), np.concatenate(plan), target)[0])


def settled(
    layout: Layout,
    groups: Iterable[Sequence[str]],
    full: Mapping[str, Filled | None],
    vents: Sequence[Way],
    attitudes: Iterable[Attitude],
) -> tuple[Settled, ...]:
    """Each group filled at the normal ground attitude, at other attitudes; groups of unknown filling are left out.

    vents are the ways that lead overboard. Nothing runs out (vents and fillers are taken as capped) and air that was trapped
    in filling keeps its room, so the level is the highest that the fuel can come to, unless more air is shut in there.
    """
    found = []
    climbs = [way.climb() for way in vents]
    for group in groups:
        held = [full[name] for name in group]
        if any(one is None for one in held):
            continue
        volume_m3 = sum(one.volume_m3 + one.trapped_air_m3 for one in held if one is not None)
        tanks = [layout.tank(name) for name in group]
        for attitude in attitudes:
            level_m = common_level_m(tanks, volume_m3, attitude.up)
            over = _vents(group, climbs, attitude.up, level_m), _fillers(tanks, attitude.up, level_m)
            found.append(Settled(attitude, tuple(group), level_m, *over))
    return tuple(found)


def _vents(group: Sequence[str], vents: Sequence[Climb], up: Floats, level_m: float) -> tuple[Overflow, ...]:
    """Each vent of a group that leads overboard, over the highest point of its line (the lower one of several lines)."""
    highest: dict[str, float] = {}
    for climb in vents:
        if climb.way.start.tank in group:
            vent = str(climb.way.start)
            highest[vent] = min(highest.get(vent, np.inf), climb.top_m(up))
    return tuple(Overflow(vent, level_m - top) for vent, top in highest.items())


def _fillers(tanks: Sequence[FittedTank], up: Floats, level_m: float) -> tuple[Overflow, ...]:
    """Each filler of a group, over its lip."""
    lips = [(tank, tank.design.filler) for tank in tanks if tank.design.filler]
    return tuple(
        Overflow(f"{tank.name}.{lip.name}", level_m - float(tank.body_m(lip.position_m) @ up)) for tank, lip in lips
    )
