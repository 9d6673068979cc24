"""The aircraft on ground that slopes: the attitudes at which drains, vents and dipsticks are looked at beside level ground."""

from __future__ import annotations

from math import asin, atan, atan2, cos, pi, sin

import numpy as np

from fuelsys.model.stated.attitude import Attitude

ONE_PER_CENT_RAD = atan(
    0.01
)  # "parked in any direction on a 1 percent slope": 14 CFR 23.975(a)(7), before amendment 23-64
DIRECTIONS = 16
_SIDES = ("ahead", "ahead right", "to the right", "behind right", "behind", "behind left", "to the left", "ahead left")


def _side(step: int) -> str:
    """The way in which ground falls, in words: one of eight, or between two, with its angle beside the words.

    >>> _side(4), _side(10), _side(15)
    ('to the right', 'behind left (225° clockwise from the nose)', 'between ahead left and ahead (337.5° clockwise from the nose)')
    """
    one, two = _SIDES[step // 2], _SIDES[(step + 1) // 2 % len(_SIDES)]
    words = one if one == two else f"between {one.removeprefix('to the ')} and {two.removeprefix('to the ')}"
    return f"{words} ({step * 360.0 / DIRECTIONS:g}° clockwise from the nose)" if step % 4 else words


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
        name = f"{attitude.name}, on ground that falls by {slope} {_side(step)}"
        found.append(Attitude(name, "ground", asin(-up[0]), atan2(-up[1], up[2])))
    return tuple(found)
