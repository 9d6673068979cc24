"""Sumps and their drains: what gathers below the outlets where a drain valve sits, and what the valve leaves on a slope."""

from __future__ import annotations

import numpy as np

from fuelsys.analysis.tank.draining import Drained, Opening
from fuelsys.analysis.tank.ground import ONE_PER_CENT_RAD, slopes
from fuelsys.analysis.tank.unusable import left_above_drain
from fuelsys.model.built.layout import FittedTank
from fuelsys.model.found.unusable import SumpAt, UnusableAt
from fuelsys.model.stated.attitude import Attitude


def sump(tank: FittedTank, attitude: Attitude) -> SumpAt | None:
    """What the pools of the drain valves hold below the outlets; None without an outlet or a drain.

    The cover that an outlet needs against air does not count: water is drawn in as soon as it reaches the opening. A
    valve that stands above what stays there drains nothing, so its pool is no sump.
    """
    if not tank.design.outlet or not tank.design.drain:
        return None
    outlets = [Opening(tank.spot(outlet.name)) for outlet in tank.design.outlet]
    drains = [tank.spot(drain.name) for drain in tank.design.drain]
    kept = Drained.of(tank.cavity, attitude.up, outlets, drains)
    seeds = np.unique(np.concatenate([kept.seeds_under(index) for index in range(len(drains))]))
    volume_m3 = float(kept.seed_volumes_m3[seeds].sum())
    apart_m3 = float(kept.seed_volumes_m3[seeds[~kept.drains[seeds]]].sum())  # in a sump that no outlet draws from
    return SumpAt(attitude, volume_m3, kept.residual_m3 + apart_m3)


def sumps(tank: FittedTank, attitudes: tuple[Attitude, ...]) -> tuple[SumpAt, ...]:
    """The sump at each of some attitudes; none without an outlet or a drain."""
    return tuple(at for attitude in attitudes if (at := sump(tank, attitude)))


def drain_left_on_slope(tank: FittedTank, ground: Attitude) -> UnusableAt | None:
    """What the drain valves leave on ground that falls by 1 % in the worst of sixteen directions; None without a drain."""
    tilts = slopes(ground, ONE_PER_CENT_RAD, "1 %")
    left = [at for tilt in tilts if (at := left_above_drain(tank, tilt))]
    return max(left, key=lambda at: at.unusable_m3, default=None)
