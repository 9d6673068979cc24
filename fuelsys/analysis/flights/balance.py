"""How the fuel's centre of gravity moves as it is burnt: each tank from full to empty, and all in the order in which they feed."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from fuelsys.analysis.tank.filling import filled
from fuelsys.analysis.tank.tilted import Tilted
from fuelsys.arrays import Floats
from fuelsys.model.built.layout import FittedTank, Layout
from fuelsys.model.found.balance import Balanced, Loaded, Path, TankBalance
from fuelsys.model.found.fly import Flown
from fuelsys.model.stated.attitude import Attitude
from fuelsys.model.stated.design import Load

STEPS = 10
_PATH_STEPS = 20


def moment_m4(tank: FittedTank, tilted: Tilted, volume_m3: float) -> Floats:
    """Volume times its centre from the datum (3,), of a quantity that stands at one level."""
    if volume_m3 <= 0.0:
        return np.zeros(3)
    level = float(tilted.level_for(np.array([min(volume_m3, tank.cavity.gross_m3)]))[0])
    sums = tilted.moments(level)
    moment: Floats = volume_m3 * (sums[1:4] / sums[0] + tank.cavity.centre_m)
    return moment


def tank_balance(layout: Layout, tank: FittedTank) -> TankBalance:
    """A tank from what it is filled to (gross, where that is not known) down to nothing, at the normal flight attitude."""
    attitude = layout.design.normal("flight")
    full = filled(layout, tank, layout.design.normal("ground"))
    most = tank.cavity.gross_m3 if full is None else full.volume_m3
    tilted, rows = Tilted.of(tank.cavity, attitude.up), []
    for volume in np.linspace(most, 0.0, STEPS + 1):
        moment = moment_m4(tank, tilted, float(volume))
        rows.append(Balanced(np.array([volume]), moment / volume if volume > 0.0 else None))
    return TankBalance(tank.name, attitude, tuple(rows))


def burnt_path(layout: Layout, flown: Flown) -> Path:
    """All tanks at equal steps of what they hold together, as a flight empties them."""
    tanks = [layout.tank(name) for name in flown.tanks]
    totals = flown.held_m3.sum(axis=1)
    asked = np.linspace(totals[0], totals[-1], _PATH_STEPS + 1)
    falling = np.maximum.accumulate(-totals)  # a vent that drips does not make it rise
    times = np.interp(-asked, falling, flown.times_s)
    held = np.column_stack([np.interp(times, flown.times_s, flown.held_m3[:, k]) for k in range(len(tanks))])

    def balanced(time_s: float, row: Floats) -> Balanced:
        return _together(tanks, _at(flown, time_s), row)

    rows = tuple(balanced(float(t), row) for t, row in zip(times, held, strict=True))
    every = [balanced(float(t), row) for t, row in zip(flown.times_s, flown.held_m3, strict=True)]
    some = sorted((one for one in [*every, *rows] if one.centre_m is not None), key=_aft_m)
    aside = max(some, key=_aside_m4, default=None)
    forward, aft = (some[0], some[-1]) if some else (None, None)
    return Path(flown.tanks, flown, rows, forward, aft, aside, tuple(every))


def loaded(layout: Layout, *paths: Path) -> tuple[Loaded, ...]:
    """The aircraft with each load that the design states, along one path after the other, and without any fuel at the end."""
    fuel = layout.design.fuel
    densest = max(fuel.density_range_kg_m3 or (fuel.density_kg_m3,))  # weighs most and pulls the centre furthest
    course = [one for path in paths for one in path.course]
    return tuple(_loaded(densest, load, course) for load in layout.design.load)


def _loaded(density_kg_m3: float, load: Load, course: Sequence[Balanced]) -> Loaded:
    held = np.array([*(float(one.held_m3.sum()) for one in course), 0.0])
    fuel_m = np.array([*(_aft_m(one) for one in course), 0.0])
    mass = load.mass_kg + density_kg_m3 * held
    centre = (load.mass_kg * load.centre_m + density_kg_m3 * held * fuel_m) / mass
    first, last = int(np.argmin(centre)), int(np.argmax(centre))
    forward = None if load.forward_limit_m is None else float(centre[first]) - load.forward_limit_m
    aft = None if load.aft_limit_m is None else load.aft_limit_m - float(centre[last])
    return Loaded(load, held, mass, centre, (forward, first), (aft, last))


def _aft_m(one: Balanced) -> float:
    return 0.0 if one.centre_m is None else float(one.centre_m[0])


def _aside_m4(one: Balanced) -> float:
    """Volume times its centre's distance from the middle plane."""
    return 0.0 if one.centre_m is None else abs(float(one.held_m3.sum() * one.centre_m[1]))


def _at(flown: Flown, time_s: float) -> Attitude:
    """The attitude at a moment."""
    return [part for part in flown.parts if part.from_s <= time_s + 1e-9][-1].attitude


def _together(tanks: list[FittedTank], attitude: Attitude, held_m3: Floats) -> Balanced:
    tilted = [Tilted.of(tank.cavity, attitude.up) for tank in tanks]
    moments = [moment_m4(tank, at, float(v)) for tank, at, v in zip(tanks, tilted, held_m3, strict=True)]
    total = float(held_m3.sum())
    return Balanced(held_m3, np.sum(moments, axis=0) / total if total > 0.0 else None)
