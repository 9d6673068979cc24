"""Where each fitting of a tank is drilled: measured from walls that a hand can reach, with the stems of its switches."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace

import numpy as np

from fuelsys.analysis.tank.stems import levels_crossed
from fuelsys.analysis.tank.tilted import Tilted
from fuelsys.arrays import Floats
from fuelsys.model.built.layout import FittedTank
from fuelsys.model.found.drill import SIDES, DrillList, Edge, Fitting, Stem, Stop
from fuelsys.model.found.study import TankStudy
from fuelsys.model.found.switches import SwitchStudy
from fuelsys.model.stated.fittings import Switch

# Chosen here, no source: how far a corner may lie off a wall's plane to count as in it; the share of the tank's end that must
# be flat for a rule to be hooked on it; and how near to the skin a place counts as on it.
FLAT_M = 5e-4
LEAST_FLAT = 0.1
ON_SKIN_M = 1e-3
_LEAST_M = 1e-6  # a stem's way through something thinner is none


def drill_list(study: TankStudy) -> DrillList:
    """All fittings of a tank in the order of the design, numbered; a mark that must be raised stands at its new place."""
    tank = study.tank
    edges = {side: _edge(tank, side) for side in SIDES}
    placed = list(_placed(study))
    ways = _ways(tank, [fitting.point_m for fitting in placed])
    fittings = [_with_ways(tank, fitting, way) for fitting, way in zip(placed, ways, strict=True)]
    numbered = tuple(replace(fitting, number=k) for k, fitting in enumerate(fittings, 1))
    return DrillList(tank.name, edges, _datums(edges), numbered, tank.design.wall_m)


def _edge(tank: FittedTank, side: str) -> Edge:
    """Where the cavity ends on a side, and how much of its wall lies in that plane."""
    axis, sense, *_ = SIDES[side]
    cavity = tank.cavity
    along = cavity.vertices_m[:, axis] * sense
    end = float(along.max())
    there = (along[cavity.faces] > end - FLAT_M).all(axis=1)
    flat_m2 = float(np.abs(cavity.areas_m2[there, axis]).sum())
    spans = np.delete(np.ptp(cavity.vertices_m, axis=0), axis)
    return Edge(side, end * sense + float(cavity.centre_m[axis]), flat_m2, flat_m2 >= LEAST_FLAT * float(spans.prod()))


def _datums(edges: dict[str, Edge]) -> tuple[Edge, Edge, Edge]:
    """Of both ends of each axis the one with more flat wall; of two alike (to a tenth) the front, left or bottom."""
    front, rear, left, right, bottom, top = (edges[side] for side in SIDES)

    def better(first: Edge, second: Edge) -> Edge:
        return second if second.flat_m2 > 1.1 * first.flat_m2 else first

    return better(front, rear), better(left, right), better(bottom, top)


def _placed(study: TankStudy) -> Iterator[Fitting]:
    """Every fitting at the place that the design states, or to which its mark must be raised."""
    tank, stated = study.tank, study.tank.design
    for kind, one in ((kind, one) for kind, some in stated.fittings.items() for one in some):
        on = (one.through,) if one.through else ()
        found = _at(tank, one.name, kind, one.position_m, tank.spot(one.name).off_m)
        yield replace(found, bore_m=one.bore_m, on=on, stated=bool(on))
    studies = {switch.name: switch for switch in study.switches}
    for switch in stated.switch:
        yield _switch(tank, switch, studies.get(switch.name))
    if stated.dipstick:
        yield _at(tank, "dipstick, top end", "stick", stated.dipstick.top_m)
        yield _at(tank, "dipstick, bottom end", "stick", stated.dipstick.bottom_m)


def _at(tank: FittedTank, name: str, kind: str, mesh_m: Sequence[float], off_m: float = 0.0) -> Fitting:
    given = np.asarray(mesh_m, dtype=np.float64)
    return Fitting(0, name, kind, tank.body_m(given), given, off_m=off_m)


def _switch(tank: FittedTank, switch: Switch, found: SwitchStudy | None) -> Fitting:
    """A switch at its mark, or where that must be raised to, with the room that its float has there."""
    spot = tank.spot(f"switch {switch.name}")
    fitting = _at(tank, f"switch {switch.name}", "switch", switch.mark_m, spot.off_m)
    rise_m = found.rise_m if found else None
    if rise_m is not None:
        point_m = fitting.point_m + np.array([0.0, 0.0, rise_m])
        fitting = replace(
            fitting, point_m=point_m, mesh_m=tank.mesh_m(point_m), was_m=fitting.point_m, was_mesh_m=fitting.mesh_m,
            rise_m=rise_m, off_m=0.0,
        )  # fmt: skip
    on = (switch.through,) if switch.through else ()
    return replace(
        fitting, tolerance_m=switch.tolerance_m, on=on, stated=bool(on), clearance_m=switch.clearance_m,
        stroke_m=switch.differential_m, room_m=tank.room_m(switch, fitting.point_m), doubt=_doubt(switch, found),
    )  # fmt: skip


def _doubt(switch: Switch, found: SwitchStudy | None) -> str:
    """Why a switch's place is not one to drill: the check finds it late and knows no height above it that is not."""
    if switch.target_s is None:
        return "not checked: needs its target in minutes"
    if found is None:
        return "not checked: needs an outlet"
    if found.rise_m is not None:
        return ""
    late = found.worst
    if late is None:
        return Stop("it never trips at some flight attitude, and no height straight above helps")
    told = [found.alone_minutes(late.latest_m3)]
    told += [found.least_minutes(late.latest_m3)] if found.outflow.to else []
    if any(one is not None and one * 60.0 < switch.target_s * (1.0 - 1e-9) for one in told):
        return Stop("it warns too late, and no height straight above is known to help")
    return ""


def _ways(tank: FittedTank, points_m: Sequence[Floats]) -> list[tuple[list[float], ...]]:
    """Where lines through points along each body axis pass the surface: for each point, rising places along each axis."""
    if not points_m:
        return []
    local = np.array(points_m) - tank.cavity.centre_m
    along = [levels_crossed(Tilted.of(tank.cavity, axis), local) for axis in np.eye(3)]
    return [tuple(crossed[k] for crossed in along) for k in range(len(local))]


def _with_ways(tank: FittedTank, fitting: Fitting, ways: tuple[list[float], ...]) -> Fitting:
    """A fitting with the sides whose skin it lies on, where none is stated, and a switch with its stems."""
    local = fitting.point_m - tank.cavity.centre_m
    near = tuple(side for side in SIDES if _is_on(side, local, ways))
    if fitting.kind == "switch":
        sides = fitting.on or _both_ends(tank)
        return replace(fitting, stems=tuple(stem for side in sides if (stem := _stem(side, local, ways))))
    return replace(fitting, on=fitting.on or near) if fitting.kind != "stick" else fitting


def _both_ends(tank: FittedTank) -> tuple[str, ...]:
    """The sides that the mesh's own z axis points to, its upper end first."""
    axis = int(np.argmax(np.abs(tank.turn[2])))
    rising = tank.turn[2, axis] > 0.0
    sides = [side for side, (along, *_) in SIDES.items() if along == axis]
    return tuple(reversed(sides)) if rising else tuple(sides)


def _is_on(side: str, local: Floats, ways: tuple[list[float], ...]) -> bool:
    axis, sense, *_ = SIDES[side]
    crossed = ways[axis]
    return bool(crossed) and abs((crossed[-1] if sense > 0.0 else crossed[0]) - float(local[axis])) <= ON_SKIN_M


def _stem(side: str, local: Floats, ways: tuple[list[float], ...]) -> Stem | None:
    """From a mark to the outermost surface on a side, with what it meets before; None where nothing is there."""
    axis, sense, *_ = SIDES[side]
    ahead = sorted(a for level in ways[axis] if (a := sense * (level - float(local[axis]))) > _LEAST_M)
    if not ahead:
        return None
    return Stem(side, ahead[-1], ahead[0] if ahead[-1] - ahead[0] > ON_SKIN_M else None)
