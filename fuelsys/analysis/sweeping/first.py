"""The first run of an installation: the kernels are compiled on several cores at once, by asking everything of a small body."""

from __future__ import annotations

import subprocess
import sys
from collections.abc import Callable

import numpy as np

from fuelsys.analysis.lines.hydraulics import Fluid, Pipe, together
from fuelsys.analysis.tank.draining import Drained, Opening
from fuelsys.analysis.tank.tilted import Tilted
from fuelsys.kernels import alike, crossings, edges, passages
from fuelsys.kernels.steady import steady
from fuelsys.model.built.cavity import Cavity, Spot

_UP = np.array([0.1, 0.2, 0.97])


def _body() -> Cavity:
    """A tetrahedron; its arrays are of the same types as those of any cavity."""
    corners = np.array([[0.0, 0, 0], [1, 0, 0], [0, 1, 0], [0, 0, 1]])
    return Cavity.of(corners, np.array([[0, 2, 1], [0, 1, 3], [0, 3, 2], [1, 2, 3]], dtype=np.int32))


def _door() -> None:
    body = _body()
    alike.equal_corners(np.array(body.vertices_m))
    edges.pinched(body.faces, edges.edges_of(body.faces), len(body.vertices_m))
    crossings.crossings(np.array(body.vertices_m), np.array(body.faces))
    body.spot("outlet", np.array([0.1, 0.1, 0.1]))
    passages.films(body.vertices_m, body.faces, 1e-4, 2e-6)
    tilted = Tilted.of(body, _UP)
    tilted.volume_and_area(np.array([0.0]))
    tilted.level_for(np.array([0.1]))


def _falling() -> None:
    spot = Spot("outlet", np.array([-0.2, -0.2, -0.2]))
    drained = Drained.of(_body(), _UP, [Opening(spot)], [spot])
    drained.left_m3  # noqa: B018  asked for what it compiles
    drained.passed(0)
    drained.tilted.moments(0.0)


def _flowing() -> None:
    pipe = Pipe(Fluid(720.0, 0.9e-6), 0.008, 1.0)
    ends = np.array([0], np.int32), np.array([1], np.int32)
    steady(*ends, np.array([1.0, np.nan]), np.array([0.0, 1e-5]), together([pipe]).losses, np.array([1e-5]))


def _rest() -> None:
    _falling()
    _flowing()


# Two parts that take about as long as each other.
PARTS: dict[str, Callable[[], None]] = {"door": _door, "rest": _rest}


def compile_all() -> None:
    """Compile what most commands need and keep it on disk; the first part here, each other part in a process of its own.

    What a process fails to compile is compiled when it is needed, and fails there with its reason.
    """
    here, *others = PARTS
    started = [subprocess.Popen([sys.executable, "-P", "-m", __name__, part]) for part in others]
    try:
        PARTS[here]()
    finally:
        for process in started:
            process.wait()


if __name__ == "__main__":
    PARTS[sys.argv[1]]()
