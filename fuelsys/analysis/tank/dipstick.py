"""Dipstick graduations at one attitude, what a slope or another attitude makes of each, and the stick's way through the filler."""

from __future__ import annotations

from math import degrees, isclose, radians

import numpy as np

from fuelsys import units
from fuelsys.analysis.tank.filling import ShutIn, risen_to_m
from fuelsys.analysis.tank.ground import slopes
from fuelsys.analysis.tank.levels import one_pool_above_m
from fuelsys.analysis.tank.stems import levels_crossed
from fuelsys.analysis.tank.tilted import Tilted
from fuelsys.arrays import Flags, Floats
from fuelsys.errors import QuestionError
from fuelsys.model.built.cavity import Barrier
from fuelsys.model.built.layout import FittedTank, Layout
from fuelsys.model.found.dipstick import DipstickStudy, Graduation
from fuelsys.model.stated.attitude import Attitude

SLOPE_RAD = radians(1.0)
MOST_MARKS = 500
LEAST_SHUT_M3 = 0.5e-6  # less air shut in below a mark is not told
_LEAST_AIR_M3 = 1e-9  # less air than that is none
_LEAST_M = 1e-6  # a shorter stretch of the stick is none


def round_step_m3(stated_m3: float | None, gross_m3: float, unit: str) -> tuple[float, bool]:
    """The step that gives round quantities in a unit, and whether it is the stated one.

    A stated step that is not round in the unit gives way to the next smaller round one; without one stated there are ten
    to twenty-five marks.
    """
    unit_m3 = units.scale(unit, "volume")
    if stated_m3:
        step = stated_m3 / unit_m3
        if isclose(step, float(f"{step:.3g}"), rel_tol=1e-9):
            return stated_m3, True
        return _round(step)[0] * unit_m3, False
    return _round(gross_m3 / unit_m3 / 20.0)[1] * unit_m3, True


def _round(value: float) -> tuple[float, float]:
    """The figures of 1, 2, 5, 10, ... that are next to a value: at most it, at least it.

    >>> _round(1.32), _round(20.0)
    ((1.0, 2.0), (20.0, 20.0))
    """
    decade = 10.0 ** np.floor(np.log10(value) + 1e-12)
    series = [float(f"{step * decade:.3g}") for step in (1.0, 2.0, 5.0, 10.0)]
    near = 1e-9 * value
    return max(s for s in series if s <= value + near), min(s for s in series if s >= value - near)


def _stick(tank: FittedTank, file: str) -> tuple[Floats, Floats]:
    """Bottom and top of the stick (3,) about the cavity's centre, body axes."""
    stick = tank.design.dipstick
    if stick is None:
        raise QuestionError(
            f"tank {tank.name} has no dipstick",
            mend="Add [tank.dipstick] with top and bottom.",
            file=file,
            field=f"tank {tank.name}.dipstick",
        )
    return tank.body_m(stick.bottom_m) - tank.cavity.centre_m, tank.body_m(stick.top_m) - tank.cavity.centre_m


def _quantities(tank: FittedTank, attitude: Attitude, points_m: Floats) -> Floats:
    """What the tank was filled with when the surface stands at each of some points of the stick: (k, 3) -> (k,).

    Air that is shut in below the surface is none of it.
    """
    levels = points_m @ attitude.up
    held = Tilted.of(tank.cavity, attitude.up).volume_and_area(levels)[0]
    less: Floats = held - ShutIn.of(tank, attitude.up).below_m3(levels)
    return less


def _levels_m(tilted: Tilted, air: ShutIn, volumes_m3: Floats) -> Floats:
    """Where the surface stands when the tank was filled with volumes (k,)."""
    levels = tilted.level_for(volumes_m3)
    if air.air is None:
        return levels

    def held(at_m: Floats) -> Floats:
        return tilted.volume_and_area(at_m)[0] - air.below_m3(at_m)

    risen = air.below_m3(levels) > _LEAST_AIR_M3
    levels[risen] = risen_to_m(held, levels[risen], tilted.high_m, volumes_m3[risen])
    return levels


def marked(layout: Layout, tank: FittedTank, marks_in: str, attitude: Attitude) -> tuple[Floats, Floats, bool]:
    """Quantities at the stick's bottom and top (2,), those that are marked between them (k,), and whether in the stated step.

    QuestionError where the surface cannot be read on the stick.
    """
    bottom, top = _stick(tank, layout.file)
    if not float(top @ attitude.up) > float(bottom @ attitude.up):
        raise QuestionError(
            f"at {attitude.text} the stick's top is not above its bottom",
            mend="Give top and bottom in the mesh's own axes, or exchange them.",
            file=layout.file,
            field=f"tank {tank.name}.dipstick",
        )
    ends_m3 = _quantities(tank, attitude, np.array([bottom, top]))
    return ends_m3, *_round_quantities(layout, tank, marks_in, float(ends_m3[0]), float(ends_m3[1]))


def dipstick(
    layout: Layout,
    tank: FittedTank,
    marks_in: str = "L",
    unusable_m3: float | None = None,
    slope_rad: float = SLOPE_RAD,
    at: tuple[Attitude, ...] = (),
) -> DipstickStudy:
    """Marks for quantities that are round in a unit of volume; QuestionError where the surface cannot be read on the stick.

    unusable_m3 is that of the worst flight attitude, where it is known: what is above it is usable. at is the attitude that
    the marks are made for, the normal one on the ground without it, and may be followed by one that the stick's other face is
    made for.
    """
    attitude, other = at[0] if at else layout.design.normal("ground"), at[1] if len(at) > 1 else None
    bottom, top = _stick(tank, layout.file)
    tilted = Tilted.of(tank.cavity, attitude.up)
    low, high = float(bottom @ attitude.up), float(top @ attitude.up)
    (below_m3, top_m3), volumes, as_stated = marked(layout, tank, marks_in, attitude)
    air = ShutIn.of(tank, attitude.up)
    levels = _levels_m(tilted, air, volumes)
    share = (levels - low) / (high - low)
    points = bottom + share[:, None] * (top - bottom)
    tilts = slopes(attitude, slope_rad, f"{degrees(slope_rad):g}°")
    sloped = np.array([_quantities(tank, tilt, points) for tilt in tilts]).reshape(len(tilts), volumes.size)
    elsewhere = None if other is None else _quantities(tank, other, points)
    length_m = float(np.linalg.norm(top - bottom))
    zero = tank.design.dipstick.zero if tank.design.dipstick else "bottom"
    along = length_m * (1.0 - share if zero == "top" else share)
    apart = levels < one_pool_above_m(tilted)
    hangs_m = _hangs_m(tank, bottom, (top - bottom) / length_m)
    dropped = _quantities(tank, attitude, points - hangs_m * (top - bottom) / length_m)
    shut = air.below_m3(levels) > LEAST_SHUT_M3
    marks = graduations(volumes, along, sloped, apart, elsewhere, shut=shut)
    off_m, barriers = _way_in(tank, bottom, top)
    empty_m = None
    if unusable_m3 is not None and below_m3 <= unusable_m3 <= top_m3:
        up_m = (float(_levels_m(tilted, air, np.array([unusable_m3]))[0]) - low) / (high - low) * length_m
        empty_m = length_m - up_m if zero == "top" else up_m
    return DipstickStudy(
        attitude, slope_rad, zero, float(below_m3), float(top_m3), marks, as_stated, off_m, barriers, unusable_m3, empty_m,
        hangs_m=hangs_m, dropped_m3=float((volumes - dropped).max(initial=0.0)), other=other,
        drawn_below_m3=tank.cavity.behind * float(below_m3), shut_in_m3=float(air.below_m3(np.array([high]))[0]),
        reserve_m3_s=layout.design.reserve_flow_m3_s, reserve_phase=layout.design.fuel.reserve_phase,
    )  # fmt: skip


def _round_quantities(
    layout: Layout, tank: FittedTank, marks_in: str, below_m3: float, top_m3: float
) -> tuple[Floats, bool]:
    """The quantities (k,) that are marked between two, and whether their step is the one that the design states."""
    stated_m3 = tank.design.dipstick.step_m3 if tank.design.dipstick else None
    step_m3, as_stated = round_step_m3(stated_m3, tank.cavity.gross_m3, marks_in)
    first, last = int(np.floor(below_m3 / step_m3)) + 1, int(np.floor(top_m3 / step_m3 + 1e-9))
    if last - first > MOST_MARKS:
        raise QuestionError(
            f"the step gives {last - first} marks",
            mend="Give a larger step.",
            file=layout.file,
            field=f"tank {tank.name}.dipstick.step",
        )
    volumes = step_m3 * np.arange(first, last + 1, dtype=np.float64)
    return volumes[volumes <= tank.cavity.gross_m3], as_stated


def graduations(
    volumes: Floats,
    along: Floats,
    sloped: Floats,
    apart: Flags,
    elsewhere: Floats | None,
    within: Floats | None = None,
    *,
    shut: Flags,
) -> tuple[Graduation, ...]:
    """Marks for volumes (k,) at distances (k,), with what is there on slopes (n, k) and at the other face's attitude (k,).

    within (k,) is how far a test leaves them off, shut (k,) whether air is shut in below them.
    """
    return tuple(
        Graduation(
            float(volumes[i]),
            float(along[i]),
            (float(sloped[:, i].min()), float(sloped[:, i].max())),
            bool(apart[i]),
            None if elsewhere is None else float(elsewhere[i]),
            None if within is None else float(within[i]),
            bool(shut[i]),
        )
        for i in range(volumes.size)
    )


def _hangs_m(tank: FittedTank, bottom: Floats, along: Floats) -> float:
    """How far a stick can drop before its bottom meets the tank; 0 where it stands on it, or outside of it."""
    tilted, low_m = Tilted.of(tank.cavity, along), float(bottom @ along)
    below = [max(0.0, low_m - level) for level in levels_crossed(tilted, bottom[None])[0] if level < low_m + _LEAST_M]
    inside = tank.cavity.spot("", bottom + tank.cavity.centre_m).off_m == 0.0
    return float(min(below, default=0.0)) if inside else 0.0


def _way_in(tank: FittedTank, bottom: Floats, top: Floats) -> tuple[float | None, tuple[Barrier, ...]]:
    """How far the stick's line passes from the middle of the filler's lip, and what it meets below that."""
    along = (top - bottom) / np.linalg.norm(top - bottom)
    filler = tank.design.filler
    if filler is None:
        return None, barriers_along(tank, bottom, along, float((top - bottom) @ along))
    lip = tank.body_m(filler.position_m) - tank.cavity.centre_m - bottom
    reach_m = float(lip @ along)
    return float(np.linalg.norm(lip - reach_m * along)), barriers_along(tank, bottom, along, reach_m)


def barriers_along(tank: FittedTank, bottom: Floats, along: Floats, reach_m: float) -> tuple[Barrier, ...]:
    """Stretches of a line from the bottom on that lie outside the cavity, with stretches in it below and above them."""
    low_m = float(bottom @ along)
    crossed = [level - low_m for level in levels_crossed(Tilted.of(tank.cavity, along), bottom[None])[0]]
    ends = sorted([0.0, *(level for level in crossed if 0.0 < level < reach_m), max(reach_m, 0.0)])
    outside: list[tuple[float, float]] = []
    within: list[float] = []  # the lower ends of what lies in the cavity
    for low, high in zip(ends[:-1], ends[1:], strict=True):
        if high - low <= _LEAST_M:
            continue
        middle_m = bottom + (low + high) / 2.0 * along + tank.cavity.centre_m
        if tank.cavity.spot("", middle_m).off_m == 0.0:
            within.append(low)
        elif within:
            outside.append((low, high))
    return tuple(
        Barrier(tank.mesh_m(bottom + high * along + tank.cavity.centre_m), high - low)
        for low, high in reversed(outside)
        if high <= max(within)
    )
