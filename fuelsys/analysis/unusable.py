"""Unusable fuel: what stays behind at each attitude after draining from full through the outlets, and the worst in flight.

An upper bound at a steady attitude: fuel that was trapped may come back as the aircraft moves.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence

import numpy as np

from fuelsys.analysis.draining import Drained, Opening
from fuelsys.errors import MeshError
from fuelsys.model.attitude import Attitude
from fuelsys.model.cavity import Cavity, Spot
from fuelsys.model.layout import FittedTank
from fuelsys.model.study import Unusable, UnusableAt

_SAME_M = 1e-6  # low points that lie as deep but for rounding


def outlets(tank: FittedTank) -> list[Opening]:
    """A tank's outlets, each with the cover that it needs and its ways by gravity."""
    return [
        Opening(tank.spot(outlet.name), outlet.cover_m, tank.downhill.get(outlet.name, ()))
        for outlet in tank.design.outlet
    ]


def sump_drains(tank: FittedTank, openings: Sequence[Opening], ground: Attitude | None) -> dict[str, Spot]:
    """The drain valves of the sump: those that stand, parked, in the pool with the tank's lowest point."""
    spots = {drain.name: tank.spot(drain.name) for drain in tank.design.drain}
    if not spots or ground is None:
        return {}
    parked = Drained.of(tank.cavity, ground.up, openings, tuple(spots.values()))
    floor, lowest_m = parked.tilted.tree.floor, parked.tilted.low_m
    return {
        name: spot
        for mark, (name, spot) in enumerate(spots.items())
        if min(floor[parked.seeds_under(mark)], default=np.inf) <= lowest_m + _SAME_M
    }


def left_at(
    cavity: Cavity, attitude: Attitude, openings: Sequence[Opening], sump: Mapping[str, Spot] | None = None
) -> UnusableAt:
    """What stays behind at one attitude; sump are the drain valves of the sump by their names.

    A box of 0.6 x 0.4 x 0.2 m with its outlet at the high end of the floor, pitched by 10 degrees, keeps
    0.6**2 * 0.4 * tan(10 deg) / 2 = 12.695543 L (tests/test_published.py).
    """
    sump = sump or {}
    drained = Drained.of(cavity, attitude.up, openings, tuple(sump.values()))
    return UnusableAt(
        attitude,
        drained.residual_m3,
        drained.trapped_m3,
        drained.pockets(tuple(sump)),
        drained.centre_m(),
        drained.lowest_m(),
        max(opening.over_m(attitude.up) for opening in openings),
    )


def unusable(tank: FittedTank, envelope: Iterable[Attitude]) -> Unusable | None:
    """Unusable fuel over an envelope; None for a tank without an outlet or an envelope without flight."""
    openings = outlets(tank)
    if not openings:
        return None
    envelope = tuple(envelope)
    sump = sump_drains(tank, openings, next((a for a in envelope if a.normal and a.phase == "ground"), None))
    at = tuple(left_at(tank.cavity, attitude, openings, sump) for attitude in envelope)
    flight = [one for one in at if one.attitude.phase == "flight"]
    if not flight:
        return None
    return Unusable(at, max(flight, key=lambda one: one.unusable_m3), _opened(tank, envelope))


def _opened(tank: FittedTank, envelope: Sequence[Attitude]) -> Unusable | None:
    """The same with narrow gaps open; None without such gaps, and where walls pass through each other there."""
    try:
        return unusable(tank.opened, envelope) if tank.opened else None
    except MeshError:  # walls that touch or overlap within the gap: then open is no state of the tank, and is said so
        return None


def left_above_drain(tank: FittedTank, attitude: Attitude) -> UnusableAt | None:
    """What the drain valves leave in the tank at an attitude; None without a drain."""
    drains: list[Spot] = [tank.spot(drain.name) for drain in tank.design.drain]
    return left_at(tank.cavity, attitude, [Opening(spot) for spot in drains]) if drains else None
