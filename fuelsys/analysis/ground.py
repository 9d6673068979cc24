"""The aircraft on ground that slopes: the attitudes at which drains, vents and dipsticks are looked at beside level ground."""

from __future__ import annotations

from math import asin, atan, atan2, cos, degrees, pi, sin

import numpy as np

from fuelsys.model.attitude import Attitude

ONE_PER_CENT_RAD = atan(
    0.01
)  # "parked in any direction on a 1 percent slope": 14 CFR 23.975(a)(7), before amendment 23-64
DIRECTIONS = 16
_SIDES = {0: "to the nose", 4: "to the right", 8: "to the tail", 12: "to the left"}


def slopes(attitude: Attitude, slope_rad: float, slope: str) -> tuple[Attitude, ...]:
    """An attitude on level ground, on ground that slopes by an angle, called slope, in each of sixteen directions.

    The aircraft stands on the ground as before, so gravity turns about it by the slope's angle, exactly.
    """
    across = attitude.up
    nose = np.array([-1.0, 0.0, 0.0]) + across * across[0]
    nose /= np.linalg.norm(nose)
    right = np.cross(nose, across)
    found = []
    for step in range(DIRECTIONS):
        turn = 2.0 * pi * step / DIRECTIONS
        down = cos(turn) * nose + sin(turn) * right
        up = cos(slope_rad) * across - sin(slope_rad) * down
        side = _SIDES.get(step, f"{degrees(turn):.1f}° right of the nose")
        name = f"{attitude.name}, on ground that falls by {slope} {side}"
        found.append(Attitude(name, "ground", asin(-up[0]), atan2(-up[1], up[2])))
    return tuple(found)
