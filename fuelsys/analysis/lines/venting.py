"""The air of a full tank on the ground: how high the fuel stands beside each vent, and the air that no open vent reaches."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from fuelsys.analysis.tank.draining import Drained, Opening
from fuelsys.analysis.tank.filling import spill_levels_m
from fuelsys.arrays import Floats
from fuelsys.kernels import drain
from fuelsys.model.built.layout import FittedTank, Layout
from fuelsys.model.found.plumbing import AirAt, Airspace
from fuelsys.model.stated.attitude import Attitude

OPEN_M = 1e-9  # an opening counts as in air from this height above the fuel on: rounding, not a margin


def air_at(layout: Layout, tank: FittedTank, attitude: Attitude) -> AirAt | None:
    """A tank filled at an attitude as in filling.py, its filler then closed; None where it has no filler and no vent.

    Turned upside down, air drains through the openings and a level is minus the fuel's. A vent is open where it stands
    in air at the end; what air is not in one body with an open vent is left without.
    """
    spills = spill_levels_m(layout, tank, attitude)
    if not spills:
        return None
    limited_by = min(spills, key=lambda name: spills[name])
    ports = [port.name for port in tank.design.ports]
    marks = [tank.spot(name) for name in ports]
    air = Drained.of(tank.cavity, -attitude.up, [Opening(tank.spot(name)) for name in spills], marks)
    tilted, tree = air.tilted, air.tilted.tree
    stop = max(-spills[limited_by], tilted.low_m)
    held_m3 = tilted.by_seed(np.maximum(air.end_m[: air.n_seeds], stop)[:, None])[:, 0]
    open_bodies: dict[int, str] = {}  # with the highest of their vents
    for name, body in _in_air(air, tank, attitude, stop, list(spills), 0):
        if name != _filler(tank):
            other = open_bodies.get(body, name)
            open_bodies[body] = max(other, name, key=lambda vent: tank.level_m(vent, attitude.up))
    shut = tuple(
        name for name, body in _in_air(air, tank, attitude, stop, ports, len(spills)) if body not in open_bodies
    )
    bodies = [drain.node_at(tree.parent, tree.top, int(seed), stop) for seed in range(air.n_seeds)]
    body_m3 = dict.fromkeys(bodies, 0.0)
    for body, seed_m3 in zip(bodies, held_m3, strict=True):
        body_m3[body] += float(seed_m3)
    shut_m3 = {body: volume_m3 for body, volume_m3 in body_m3.items() if body not in open_bodies}
    centre_m = float(tank.cavity.centre_m @ attitude.up)
    return AirAt(
        attitude=attitude,
        full_level_m=centre_m - stop,
        limited_by=limited_by,
        vent_levels_m={v.name: centre_m + tank.level_m(v.name, attitude.up) for v in tank.design.vent},
        highest_level_m=centre_m - tilted.low_m,
        lowest_level_m=centre_m - tilted.high_m,
        unvented_m3=sum(shut_m3.values()),
        unvented_top_m=_largest_top_m(air, bodies, shut_m3),
        shut_ports=shut,
        vented=tuple(
            Airspace(name, centre_m + tank.level_m(name, attitude.up), float(top_m @ attitude.up), top_m, body_m3[body])
            for body, name in open_bodies.items()
            for top_m in (_top_m(air, bodies, body),)
        ),
    )


def _in_air(
    air: Drained, tank: FittedTank, attitude: Attitude, stop: float, names: list[str], first: int
) -> Iterator[tuple[str, int]]:
    """Of the named ports, whose seeds begin with the first, each that stands in air at the end, and the body of air that it is in."""
    tree = air.tilted.tree
    for name, seed in zip(names, tree.port_seed[first : first + len(names)], strict=True):
        if seed >= 0 and tank.level_m(name, attitude.up) > -stop + OPEN_M:
            yield name, drain.node_at(tree.parent, tree.top, int(seed), stop)


def _largest_top_m(air: Drained, bodies: list[int], shut_m3: dict[int, float]) -> Floats | None:
    """The highest point of the largest airspace without an open vent, in body axes."""
    if not shut_m3 or max(shut_m3.values()) <= 0.0:
        return None
    return _top_m(air, bodies, max(shut_m3, key=lambda body: shut_m3[body]))


def _top_m(air: Drained, bodies: list[int], body: int) -> Floats:
    """The highest point of an airspace, in body axes."""
    tree = air.tilted.tree
    top = min((seed for seed, of in enumerate(bodies) if of == body), key=lambda seed: tree.floor[seed])
    place: Floats = air.tilted.cavity.vertices_m[tree.seed_vertex[top]] + air.tilted.cavity.centre_m
    return place


def _filler(tank: FittedTank) -> str | None:
    return tank.design.filler.name if tank.design.filler else None
