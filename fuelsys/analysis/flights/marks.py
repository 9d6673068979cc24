"""Marks of switches that would tell a flight's end in time: one that is raised, or one more, at the height that its quantity asks."""

from __future__ import annotations

from collections.abc import Collection, Iterator
from dataclasses import replace
from math import ceil

import numpy as np

from fuelsys.analysis.flights.setting import World
from fuelsys.analysis.flights.tolerances import TOLERANCE_M, with_tank
from fuelsys.analysis.tank.switches import low_m
from fuelsys.arrays import Floats
from fuelsys.model.built.cavity import Spot
from fuelsys.model.built.layout import FittedTank
from fuelsys.model.found.fly import ENOUGH_S, Flown
from fuelsys.model.stated.fittings import Switch
from fuelsys.model.words import Quantity, Words

# Before the moment that is wanted, in case the quantity between two moments was not on the straight line; chosen here, no source.
_SOONER_S = (6.0, 60.0)
_STEP_M = 1e-4  # heights are told in tenths of a millimetre, rounded up
# That a tank must have lost before the moment and still lose after it, to fall at all; chosen here, no source.
_LEAST_M3 = 1e-5


def raised(world: World, flown: Flown, stuck: Collection[tuple[str, str]]) -> Iterator[tuple[Words, World]]:
    """Designs in which the mark of a lamp that comes too late is raised, but to no more than one that is to leave more minutes."""
    for one in sorted(flown.warnings, key=lambda one: one.lit_s):
        tank = world.layout.tank(one.tank)
        number = next((k for k, switch in enumerate(tank.design.switch) if switch.name == one.switch), None)
        if number is None:  # a flight of a design with one more
            continue
        switch = tank.design.switch[number]
        for sooner_s in _SOONER_S:
            found = _mark(world, tank, flown, tank.body_m(switch.mark_m), switch, sooner_s, _drop_m(tank, switch))
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
                ", to ",
                Quantity("length", at_m),
                " of its mesh",
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
        new = Switch.model_construct(name=_free(tank), mark_m=(0.0, 0.0, 0.0), tolerance_m=TOLERANCE_M)
        for base_m, sooner_s in ((base_m, sooner_s) for base_m in places for sooner_s in _SOONER_S):
            found = _mark(world, tank, flown, base_m, new, sooner_s)
            if found is None:
                continue
            spot, at_m, _ = found
            at, within = Quantity("length", at_m), Quantity("length", (TOLERANCE_M,))
            words = (f"one more switch in {tank.name}, its mark at ", at, " of its mesh, within ±", within)
            yield words, _with(world, tank, (*tank.design.switch, new.model_copy(update={"mark_m": at_m})), spot)


def _free(tank: FittedTank) -> str:
    """A name that no switch of the tank has."""
    taken = {one.name for one in tank.design.switch}
    names = (f"{tank.name} more{n or ''}" for n in range(len(taken) + 1))
    return next(name for name in names if name not in taken)


def _mark(
    world: World,
    tank: FittedTank,
    flown: Flown,
    base_m: Floats,
    switch: Switch,
    sooner_s: float,
    drop_m: Floats | float = 0.0,
) -> tuple[Spot, tuple[float, float, float], float] | None:
    """Where a switch above or below a place trips in time, also low by its tolerance and late by its delay; its mark for that.

    The mark, in the mesh's axes, is what its float makes of the place: where it trips in the liquid that it was set in. None
    where the tank does not fall from that moment to the end, or was no fuller before, or the place lies in no fuel's room.
    """
    at_s = flown.end_s - ENOUGH_S - sooner_s - (switch.delay_s or 0.0)
    held = flown.held_m3[:, flown.tanks.index(tank.name)]
    then_m3 = float(np.interp(at_s, flown.times_s, held))
    after = held[flown.times_s > at_s]
    if at_s <= 0.0 or then_m3 - held[-1] < _LEAST_M3 or after.max() > then_m3 or held[0] <= then_m3 + _LEAST_M3:
        return None
    part = [part for part in flown.parts if part.from_s <= at_s][-1]
    up, standing = part.attitude.up, world.standing(tank.name, part.attitude)
    key = f"switch {switch.name}"
    by_float_m = np.array([0.0, 0.0, tank.rise_m(key)])
    trips_m = base_m + by_float_m - drop_m
    rise_m = (standing.level_m(then_m3) + low_m(tank, switch) - float(trips_m @ up)) / up[2]
    at_m = trips_m + np.array([0.0, 0.0, ceil(rise_m / _STEP_M) * _STEP_M])
    spot = tank.cavity.spot(key, at_m)
    if spot.off_m > 0.0 or spot.face >= 0:
        return None
    x, y, z = (round(float(c), 9) for c in tank.mesh_m(at_m - by_float_m + drop_m))
    return spot, (x, y, z), then_m3


def _drop_m(tank: FittedTank, switch: Switch) -> Floats:
    """How much lower than stated tests let a switch's mark count (3,): in its new place too."""
    key = f"switch {switch.name}"
    found: Floats = tank.body_m(switch.mark_m) + np.array([0.0, 0.0, tank.rise_m(key)])
    return found - (tank.spot(key).point_m + tank.cavity.centre_m)


def _next_above_m3(world: World, tank: FittedTank, flown: Flown, switch: Switch) -> float:
    """What is in the tank when the next lamp trips that is to leave more minutes."""
    lamps = world.standing(tank.name, flown.parts[-1].attitude).lamps
    above = [lamps[one.name][0] for one in tank.design.switch if (one.target_s or np.inf) > (switch.target_s or np.inf)]
    return min((held for held in above if held is not None), default=np.inf)


def _with(world: World, tank: FittedTank, switches: tuple[Switch, ...], spot: Spot) -> World:
    """The world with a tank's switches changed, that of a spot's name at the spot; the lines and the other tanks stay as they are."""
    design = tank.design.model_copy(update={"switch": switches})
    fitted = replace(tank, design=design, spots={**tank.spots, spot.name: spot})
    layout = with_tank(world.layout, fitted)
    kept = {at: standing for at, standing in world.standings.items() if at[0] != tank.name}
    return World(layout, list(world.notes), kept, world.own_power)
