"""Capacity: gross, filled at the normal ground attitude, unusable and usable, each with its centre of gravity."""

from __future__ import annotations

from fuelsys.analysis.tank.filling import filled, room_m3
from fuelsys.analysis.tank.tilted import Tilted
from fuelsys.analysis.tank.unusable import unusable
from fuelsys.arrays import Floats
from fuelsys.model.built.layout import FittedTank, Layout
from fuelsys.model.built.reaching import cut_off
from fuelsys.model.found.capacity import Capacity, Filled
from fuelsys.model.found.unusable import Unusable
from fuelsys.model.stated.attitude import Attitude


def gross_centre_m(tank: FittedTank, attitude: Attitude) -> Floats:
    """Centre of the whole cavity, in body axes from the datum."""
    tilted = Tilted.of(tank.cavity, attitude.up)
    sums = tilted.moments(tilted.high_m)
    centre: Floats = sums[1:4] / sums[0] + tank.cavity.centre_m
    return centre


def _usable_centre_m(full: Filled | None, left: Unusable | None) -> Floats | None:
    """Centre of what can be used: the filled tank less what stays behind at the worst flight attitude."""
    if full is None or left is None or full.centre_m is None or left.worst.centre_m is None:
        return None
    if left.worst.held:  # where the fuel lies when the time is over is not determined
        return None
    usable_m3 = full.volume_m3 - left.volume_m3
    if usable_m3 <= 0.0:
        return None
    centre: Floats = (full.centre_m * full.volume_m3 - left.worst.centre_m * left.volume_m3) / usable_m3
    return centre


def capacity(layout: Layout, tank: FittedTank) -> Capacity:
    """All volumes of a tank; what the design does not say is None."""
    ground = layout.design.normal("ground")
    full = filled(layout, tank, ground)
    left = unusable(tank, layout.design.envelope)
    apart = tank.name in cut_off(layout.network)
    usable_m = None if apart else _usable_centre_m(full, left)
    room = room_m3(layout, tank, ground)
    return Capacity(tank.cavity.gross_m3, gross_centre_m(tank, ground), full, left, usable_m, room, apart)
