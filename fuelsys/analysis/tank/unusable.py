"""Unusable fuel: what stays behind at each attitude after draining from full through the outlets, and the worst in flight.

An upper bound at a steady attitude: fuel that was trapped may come back as the aircraft moves. Where an attitude says how long
it is held, held.py's figure counts.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import replace

import numpy as np

from fuelsys.analysis.tank.draining import Beyond, Drained, Opening
from fuelsys.analysis.tank.held import Starts, held
from fuelsys.arrays import Floats
from fuelsys.errors import MeshError
from fuelsys.model.built.cavity import Cavity, Spot
from fuelsys.model.built.ends import PortEnd
from fuelsys.model.built.layout import Cover, FittedTank
from fuelsys.model.found.unusable import Held, Unusable, UnusableAt
from fuelsys.model.stated.attitude import Attitude

_SAME_M = 1e-6  # low points that lie as deep but for rounding


def outlets(tank: FittedTank) -> list[Opening]:
    """Those of a tank's outlets by which its fuel comes to the engine, in the order of `drawn_by`: see `analysis/lines/giving.py`.

    Where that is through another tank, what that one keeps at its own end stands in the way.
    """
    names, given = [one.name for one in tank.design.outlet], [one.name for one in tank.drawn_by]
    found = []
    for name, every in zip(names, every_outlet(tank), strict=True):
        if name not in given:
            continue
        one = replace(every, ends=tuple(given.index(names[k]) for k in every.ends if names[k] in given))
        if by := tank.gives.get(name, ()):
            heights = tuple(one.heights_m[k] for k, _ in by) if one.heights_m else ()
            into = tuple(_beyond(tank, name, k, other) for k, other in by)
            one = replace(one, ways=tuple(one.ways[k] for k, _ in by), heights_m=heights, into=into)
        found.append(one)
    return found


def _beyond(tank: FittedTank, outlet: str, way: int, other: FittedTank) -> Beyond:
    """Another tank as a way of an outlet's comes to it."""
    end = tank.downhill[outlet][way].way.end
    assert isinstance(end, PortEnd)
    off_m = other.cavity.centre_m - tank.cavity.centre_m
    return Beyond(other.name, other.cavity, other.spot(end.port), tuple(outlets(other)), off_m, other.left_under_m)


def every_outlet(tank: FittedTank) -> list[Opening]:
    """All of a tank's outlets, each with the cover that it needs and its ways by gravity: those to an engine, where it has one."""
    number = {outlet.name: i for i, outlet in enumerate(tank.design.outlet)}
    found = []
    for outlet in tank.design.outlet:
        ways, heights = tank.downhill.get(outlet.name, ()), tank.heights.get(outlet.name, ())
        count = [k for k, climb in enumerate(ways) if climb.way.end.tank is None] or range(len(ways))
        found.append(
            Opening(
                tank.spot(outlet.name),
                tank.covers[outlet.name].height_m if outlet.name in tank.covers else outlet.cover_m or 0.0,
                tuple(ways[k] for k in count),
                tuple(heights[k] for k in count) if heights else (),
                tuple(number[other] for other in tank.ends[outlet.name].others) if outlet.name in tank.ends else (),
            )
        )
    return found


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
    0.6**2 * 0.4 * tan(10 deg) / 2 = 12.695543 L (tests/analysis/test_published.py).
    """
    sump = sump or {}
    drained = Drained.of(cavity, attitude.up, openings, tuple(sump.values()))
    return UnusableAt(
        attitude,
        cavity.behind * drained.residual_m3,
        cavity.behind * drained.trapped_m3,
        tuple(replace(one, volume_m3=cavity.behind * one.volume_m3) for one in drained.pockets(tuple(sump))),
        drained.centre_m(),
        drained.lowest_m(),
        max(opening.over_m(attitude.up) for opening in openings),
        *_by_flow(cavity, attitude, openings, drained.left_m3),
        beside_m=max(opening.beside_m(attitude.up) for opening in openings),
    )


def _by_flow(cavity: Cavity, attitude: Attitude, openings: Sequence[Opening], left_m3: float) -> tuple[float, float]:
    """How far the flow holds the surface up, at most, and how much of what stays behind it is the reason for."""
    most_m = max(opening.starved_m(attitude.up) for opening in openings)
    if most_m <= 0.0:
        return 0.0, 0.0
    still = [replace(opening, heights_m=()) for opening in openings]
    return most_m, cavity.behind * (left_m3 - Drained.of(cavity, attitude.up, still).left_m3)


def unusable(tank: FittedTank, envelope: Iterable[Attitude]) -> Unusable | None:
    """Unusable fuel over an envelope; None for a tank without an outlet or an envelope without flight."""
    openings = outlets(tank)
    if not openings:
        return None
    envelope = tuple(envelope)
    sump = sump_drains(tank, openings, next((a for a in envelope if a.normal and a.phase == "ground"), None))
    starts = starts_of(envelope)
    at = tuple(
        replace(
            left_at(tank.cavity, attitude, openings, sump),
            held=held_at(tank, (attitude.up, attitude), starts, openings),
        )
        for attitude in envelope
    )
    flight = [one for one in at if one.attitude.phase == "flight"]
    if not flight:
        return None
    worst = max(flight, key=lambda one: one.unusable_m3)
    flown = [one.attitude for one in flight]
    bare_m3 = _covered_by(tank, flown, openings, lambda _: 0.0)
    dipped_m3 = _covered_by(tank, flown, openings, lambda cover: cover.dip_m)
    return Unusable(at, worst, _opened(tank, envelope), bare_m3, _least_m3(tank, worst.unusable_m3), dipped_m3)


def _least_m3(tank: FittedTank, worst_m3: float) -> float:
    """Unusable fuel that counts at least: what a drain test left, its own or else its twin's, and what was drawn."""
    drained_m3 = tank.design.measured_unusable_m3
    if drained_m3 is None:
        drained_m3 = tank.as_twin.unusable_m3 if tank.as_twin else 0.0
    return max(drained_m3, worst_m3)


def starts_of(envelope: Iterable[Attitude]) -> Starts | None:
    """The flight attitudes that are held for ever: what one that is held for a time may be turned into from; None: none."""
    ups = [a.up for a in envelope if a.phase == "flight" and a.held_s is None]
    return Starts(np.array(ups)) if ups else None


def held_at(
    tank: FittedTank, turned: tuple[Floats, Attitude], starts: Floats | Starts | None, openings: Sequence[Opening]
) -> Held | None:
    """What counts at an attitude, with its up, that is held for a time only; None where it counts for ever."""
    if turned[1].held_s is None or starts is None or tank.draw is None:
        return None
    found = held(tank.cavity, turned, starts, openings, tank.draw)
    return found and replace(found, unusable_m3=tank.cavity.behind * found.unusable_m3)


def counted_m3(
    tank: FittedTank, turned: tuple[Floats, Attitude], starts: Floats | Starts | None, openings: Sequence[Opening]
) -> float:
    """What stays behind at an attitude, with its up, as it counts: for the time that it is held, or for ever."""
    for_time = held_at(tank, turned, starts, openings)
    if for_time is not None:
        return for_time.unusable_m3
    return tank.cavity.behind * Drained.of(tank.cavity, turned[0], openings).left_m3


def _covered_by(
    tank: FittedTank, flight: Sequence[Attitude], openings: Sequence[Opening], cover_m: Callable[[Cover], float]
) -> float | None:
    """What would stay behind at the worst with other covers in place of those assumed; None where none was."""
    covers = [tank.covers.get(outlet.name) for outlet in tank.drawn_by]
    if not any(cover and cover.assumed for cover in covers):
        return None
    pairs = zip(openings, covers, strict=True)
    other = [replace(one, cover_m=cover_m(cover)) if cover and cover.assumed else one for one, cover in pairs]
    starts = starts_of(flight)
    return max(counted_m3(tank, (attitude.up, attitude), starts, other) for attitude in flight)


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
