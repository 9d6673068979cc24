"""The rule on the gap between tanks and the firewall."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from fuelsys.model.found.findings import COMMON_PRACTICE, Reach, Stake, Verdict
from fuelsys.model.found.study import Study, TankStudy
from fuelsys.model.stated.components import Engine
from fuelsys.rules.words import at_least, before_64, failed, millimetres, needs, passed, rule

LEAST_GAP_M = 0.5 * 0.0254  # 14 CFR 23.967(c), before amendment 23-64
# Room for a wall whose thickness is not stated, its flanges and rivets. Chosen here, no source.
ROOM_FOR_WALL_M = 0.025


@rule(
    subject="firewall",
    reach=Reach.OUTSIDE,
    stake=Stake.FIRE,
    checks="No tank stands on the engine's side of the firewall, and each is at least 1/2 in (12.7 mm) from it. The firewall is"
    " taken as a plane without end; where the wall's thickness is not stated, 25 mm more (chosen here, no source) are room"
    " for it.",
    why="A fire in the engine bay heats the firewall, and a hard landing pushes it back: neither may reach the tank.",
    mend="Move the tank away from the firewall; if it stands beside the firewall and not behind it, measure the gap there.",
    sources=(before_64("23.967(c)"), COMMON_PRACTICE),
)
def tank_near_firewall(study: Study) -> Iterator[Verdict]:
    """The least distance along the aft axis between each tank and the firewall's plane."""
    aircraft, turn = study.layout.design.aircraft, study.layout.aircraft_turn
    if aircraft.firewall_m is None:
        yield from (needs(tank.name, "aircraft.firewall: a point of the firewall") for tank in study.tanks)
        return
    wall_m = float((np.array(aircraft.firewall_m) @ turn)[0])
    engines = [part for part in study.layout.design.component if isinstance(part, Engine)]
    sides = {float(np.sign((np.array(engine.position_m) @ turn)[0] - wall_m)) for engine in engines}
    for tank in study.tanks:
        yield _gap(tank, wall_m, sides)


def _gap(tank: TankStudy, wall_m: float, engine_sides: set[float]) -> Verdict:
    outer = tank.tank.outer_m
    low, high = outer or tank.tank.cavity.bounds_m
    ahead_m, behind_m = (
        float(low[0]) - wall_m,
        wall_m - float(high[0]),
    )  # of the firewall's place: the room up to the tank
    gap_m, side = max((ahead_m, 1.0), (behind_m, -1.0))
    what = "its outside" if outer else "its inside"
    if gap_m <= 0.0:
        return failed(tank.name, f"{what} reaches through the firewall's plane by {millimetres(-gap_m)}")
    if side in engine_sides:
        return failed(tank.name, f"it stands on the engine's side of the firewall, {millimetres(gap_m)} from it")
    evidence = f"{what} is {millimetres(gap_m)} from the firewall's plane"
    if gap_m < LEAST_GAP_M:
        mend = f"Move the tank away from the firewall by at least {at_least(LEAST_GAP_M - gap_m)} and its wall's thickness."
        return failed(tank.name, evidence, mend)
    if -side not in engine_sides:
        return needs(tank.name, f"a component of the kind engine, to tell the firewall's sides; {evidence}")
    room_m = gap_m - LEAST_GAP_M
    if outer or room_m >= ROOM_FOR_WALL_M:
        return passed(tank.name, evidence)
    return needs(tank.name, f"a measure of its wall: {evidence}, which leaves {millimetres(room_m)} for the wall")
