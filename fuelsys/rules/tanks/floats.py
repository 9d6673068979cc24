"""Rule on the room that the float of a low-level switch has around it."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from fuelsys.model.built.layout import FittedTank
from fuelsys.model.found.findings import COMMON_PRACTICE, Reach, Stake, Verdict
from fuelsys.model.found.study import Study
from fuelsys.model.stated.fittings import Switch
from fuelsys.rules.words import at_least, failed, millimetres, needs, passed, place, rule


@rule(
    subject="switch",
    reach=Reach.INSIDE,
    stake=Stake.MINUTES,
    checks="Over the stroke of each switch's float, from its mark straight up by its differential, no wall, rib or body in the"
    " tank comes nearer than the stated clearance.",
    why="A float that rubs on a rib or sticks under the roof does not fall with the fuel, and the lamp stays dark.",
    mend="Move the mark away from the wall, or take a switch with a smaller float.",
    sources=(COMMON_PRACTICE,),
)
def float_without_clearance(study: Study) -> Iterator[Verdict]:
    """Distance of the stroke's two ends from the cavity's surface; nothing is left where an end lies outside of it."""
    for tank in study.tanks:
        for switch in tank.tank.design.switch:
            yield _room(f"{tank.name} switch {switch.name}", tank.tank, switch)


def _room(where: str, tank: FittedTank, switch: Switch) -> Verdict:
    if switch.clearance_m is None:
        return needs(where, "the clearance that its float needs around its mark")
    if switch.own_float is not None:
        return needs(
            where,
            f"the tank without {switch.own_float}: its float is cut out of it, and hides how near the next wall is",
        )
    mark_m = tank.body_m(switch.mark_m)
    stroke = {
        "its mark": mark_m,
        "its float, risen by its differential,": mark_m + np.array([0.0, 0.0, switch.differential_m]),
    }
    what = min(stroke, key=lambda end: tank.left_m(stroke[end]))
    left_m, wall_m = tank.left_m(stroke[what]), tank.cavity.nearest_m(stroke[what])
    evidence = (
        f"{what} has {millimetres(left_m)} to the nearest wall, rib or body, at {place(tank, wall_m)};"
        f" {millimetres(switch.clearance_m)} are wanted"
    )
    if left_m >= switch.clearance_m - 1e-9:
        return passed(where, evidence)
    return failed(
        where,
        evidence,
        f"Move the mark by at least {at_least(switch.clearance_m - left_m)} away from {place(tank, wall_m)}.",
    )
