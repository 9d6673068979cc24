"""Marks of switches that would tell a flight's end in time: one that is raised, or one more, at the height that its quantity asks."""

from __future__ import annotations

from collections.abc import Collection, Iterator
from dataclasses import replace
from math import ceil

import numpy as np

from fuelsys.analysis.flights.setting import World
from fuelsys.arrays import Floats
from fuelsys.model.built.cavity import Spot
from fuelsys.model.built.layout import FittedTank, Layout
from fuelsys.model.found.fly import ENOUGH_S, Flown
from fuelsys.model.stated.fittings import Switch
from fuelsys.model.words import Quantity, Words

TOLERANCE_M = 3e-3  # of a mark that is not there yet; common practice, no source
_SOONER_S = (
    6.0,
    60.0,
)  # before the moment that is wanted, in case the quantity between two moments was not on the straight line
_STEP_M = 1e-4  # heights are told in tenths of a millimetre, rounded up
_LEAST_M3 = 1e-5  # that a tank must still lose after the moment


def raised(world: World, flown: Flown, stuck: Collection[tuple[str, str]]) -> Iterator[tuple[Words, World]]:
    """Designs in which the mark of a lamp that comes too late is raised, but to no more than one that is to leave more minutes."""
    for one in sorted(flown.warnings, key=lambda one: one.lit_s):
        tank = world.layout.tank(one.tank)
        number = [switch.name for switch in tank.design.switch].index(one.switch)
        switch = tank.design.switch[number]
        for sooner_s in _SOONER_S:
            found = _mark(world, tank, flown, tank.body_m(switch.mark_m), switch.tolerance_m or 0.0, sooner_s)
            if found is None or (one.tank, one.switch) in stuck:
                continue
            spot, at_m, held_m3 = found
            if held_m3 >= _next_above_m3(world, tank, flown, switch):
                continue
            moved = switch.model_copy(update={"mark_m": at_m})
            rise_m = float(np.linalg.norm(np.subtract(at_m, switch.mark_m)))
            words = (
                "raise the mark of ",
                f"{tank.name} switch {switch.name} by ",
                Quantity("length", (rise_m,), up=True),
                *_to(at_m),
            )
            others = tank.design.switch
            yield words, _with(world, tank, (*others[:number], moved, *others[number + 1 :]), spot)


def one_more(world: World, flown: Flown) -> Iterator[tuple[Words, World]]:
    """Designs with one more switch: first in tanks that have some, on the stem of the highest, else above the outlet."""
    for tank in sorted(world.layout.tanks, key=lambda one: not one.design.switch):
        if not tank.design.outlet or tank.name in world.layout.network.set_aside:
            continue
        up = world.layout.design.normal("flight").up
        stems = sorted((tank.body_m(one.mark_m) for one in tank.design.switch), key=lambda at: -float(at @ up))
        places = [*stems[:1], *(tank.body_m(one.position_m) for one in tank.design.outlet)]
        for base_m, sooner_s in ((base_m, sooner_s) for base_m in places for sooner_s in _SOONER_S):
            found = _mark(world, tank, flown, base_m, TOLERANCE_M, sooner_s)
            if found is None:
                continue
            spot, at_m, _ = found
            name = spot.name.removeprefix("switch ")
            new = Switch.model_construct(name=name, mark_m=at_m, tolerance_m=TOLERANCE_M)
            words = (f"one more switch in {tank.name}", *_at(at_m), ", within ±", Quantity("length", (TOLERANCE_M,)))
            yield words, _with(world, tank, (*tank.design.switch, new), spot)


def _at(at_m: tuple[float, float, float]) -> Words:
    return (", its mark at ", Quantity("length", at_m), " of its mesh")


def _to(at_m: tuple[float, float, float]) -> Words:
    return (", to ", Quantity("length", at_m), " of its mesh")


def _mark(
    world: World, tank: FittedTank, flown: Flown, base_m: Floats, tolerance_m: float, sooner_s: float
) -> tuple[Spot, tuple[float, float, float], float] | None:
    """The mark above or below a place that the surface passes in time, also where it is low by its tolerance.

    None where the tank does not fall from that moment to the end, or was no fuller before, or the mark lies in no fuel's room.
    """
    at_s = flown.end_s - ENOUGH_S - sooner_s
    held = flown.held_m3[:, flown.tanks.index(tank.name)]
    then_m3 = float(np.interp(at_s, flown.times_s, held))
    after = held[flown.times_s > at_s]
    if at_s <= 0.0 or then_m3 - held[-1] < _LEAST_M3 or after.max() > then_m3 or held[0] <= then_m3 + _LEAST_M3:
        return None
    part = [part for part in flown.parts if part.from_s <= at_s][-1]
    up, standing = part.attitude.up, world.standing(tank.name, part.attitude)
    rise_m = (standing.level_m(then_m3) + tolerance_m - float(base_m @ up)) / up[2]
    at_m = base_m + np.array([0.0, 0.0, ceil(rise_m / _STEP_M) * _STEP_M])
    taken = {one.name for one in tank.design.switch}
    name = next(
        f"{tank.name} more{n or ''}" for n in range(len(taken) + 1) if f"{tank.name} more{n or ''}" not in taken
    )
    spot = tank.cavity.spot(f"switch {name}", at_m)
    if spot.off_m > 0.0 or spot.face >= 0:
        return None
    x, y, z = (round(float(c), 9) for c in tank.mesh_m(at_m))
    return spot, (x, y, z), then_m3


def _next_above_m3(world: World, tank: FittedTank, flown: Flown, switch: Switch) -> float:
    """What is in the tank when the next lamp trips that is to leave more minutes."""
    lamps = world.standing(tank.name, flown.parts[-1].attitude).lamps
    above = [lamps[one.name][0] for one in tank.design.switch if (one.target_s or np.inf) > (switch.target_s or np.inf)]
    return min((held for held in above if held is not None), default=np.inf)


def _with(world: World, tank: FittedTank, switches: tuple[Switch, ...], spot: Spot) -> World:
    """The world with a tank's switches changed, one of them at a spot; the lines and the other tanks stay as they are."""
    names = [one.name for one in tank.design.switch]
    new = next(
        (one.name for one, old in zip(switches, tank.design.switch, strict=False) if one != old), switches[-1].name
    )
    key = f"switch {new if new in names else switches[-1].name}"
    fitted = replace(
        tank,
        design=tank.design.model_copy(update={"switch": switches}),
        spots={**tank.spots, key: replace(spot, name=key)},
    )
    layout = with_tank(world.layout, fitted)
    kept = {at: standing for at, standing in world.standings.items() if at[0] != tank.name}
    return World(layout, list(world.notes), kept)


def with_tank(layout: Layout, changed: FittedTank) -> Layout:
    """The layout with one of its tanks changed."""
    tanks = tuple(changed if tank.name == changed.name else tank for tank in layout.tanks)
    design = layout.design.model_copy(update={"tank": tuple(tank.design for tank in tanks)})
    return replace(layout, tanks=tanks, design=design)
