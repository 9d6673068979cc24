"""How a file's axes lie in the aircraft: words for three axes -> a rotation to body axes (x aft, y right, z up)."""

from __future__ import annotations

import numpy as np

from fuelsys.arrays import Floats
from fuelsys.errors import FuelsysError
from fuelsys.units import shown

DIRECTIONS = {
    "aft": (1.0, 0.0, 0.0),
    "forward": (-1.0, 0.0, 0.0),
    "right": (0.0, 1.0, 0.0),
    "left": (0.0, -1.0, 0.0),
    "up": (0.0, 0.0, 1.0),
    "down": (0.0, 0.0, -1.0),
}


def rotation(words: str) -> Floats:
    """Where x, y and z of a file point, as words -> (3, 3) with body = file @ rotation; FuelsysError for no rotation.

    >>> rotation("forward, right, down").tolist()
    [[-1.0, 0.0, 0.0], [0.0, 1.0, 0.0], [0.0, 0.0, -1.0]]
    """
    names = [word.strip().lower() for word in words.split(",")]
    wanted = 'Say where x, y and z point, such as "aft, right, up"'
    if len(names) != 3 or any(name not in DIRECTIONS for name in names):
        raise FuelsysError(f"found {shown(words)}", mend=f"{wanted}; the words are {', '.join(DIRECTIONS)}.")
    matrix = np.array([DIRECTIONS[name] for name in names])
    turn = round(float(np.linalg.det(matrix)))
    if turn == 0:
        raise FuelsysError(f"found {shown(words)}, where two axes lie along one line", mend=f"{wanted}.")
    if turn < 0:
        mend = "Look again where each axis points in the CAD system; one of the three is the other way round."
        raise FuelsysError(f"found {shown(words)}, which is left-handed: it would mirror the tank", mend=mend)
    return matrix
