"""What of the feed lines hangs together while each tank's surface stands over the same ports: found once, asked at each moment."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from fuelsys.arrays import Flags, Ints
from fuelsys.kernels.laws import Laws
from fuelsys.model.built.ends import End


@dataclass(frozen=True, eq=False)
class Tied:
    """What of the lines is tied to what while each tank's surface stands over the same ports.

    row is the node that stands for each: all ports under a surface are one. reached are those tied to a known pressure, loose
    the others; live the edges between the former, with their ends among these and their laws. heads are the tanks' nodes; lips
    are those by which fuel runs in above a surface (tank, port, node), passing those by which it is passed on.
    """

    row: Ints
    reached: Flags
    loose: Flags
    live: NDArray[np.intp]
    starts: Ints
    stops: Ints
    laws: Laws
    heads: Mapping[str, int]
    lips: Sequence[tuple[str, End, int]]
    passing: Sequence[tuple[str, int]]
