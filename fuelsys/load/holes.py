"""Closes small holes of a surface, and refuses the others."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from fuelsys.errors import MeshError
from fuelsys.kernels import edges, patching
from fuelsys.kernels.compiled import Floats
from fuelsys.kernels.edges import Indices
from fuelsys.load.bench import Bench

MOST_CORNERS = 300  # of a hole; a rim of more is no small hole
_MOST_SEAM = 3000  # corners of rims that are held against each other
_SEAM = 0.01  # of the smallest hole: corners nearer than this to another lie along a seam
CLOSE = "Close the surface in CAD and export again."


@dataclass(frozen=True)
class Hole:
    """A rim of open edges: its vertices in order, its middle and size; whether it is a slit; and the volume that may be missing."""

    rim: Indices
    middle: Floats
    size: float
    slit: bool
    missing: float

    @classmethod
    def of(cls, vertices: Floats, rim: Indices, reach: float) -> Hole:
        """A hole; it is a slit where all its corners lie within reach of its chord, the line between two that lie far apart."""
        corners = vertices[rim]
        middle = corners.mean(axis=0)
        a = corners[np.linalg.norm(corners - middle, axis=1).argmax()]
        away = np.linalg.norm(corners - a, axis=1)
        chord, size = corners[away.argmax()] - a, float(away.max())
        width = float(np.linalg.norm(np.cross(corners - a, chord), axis=1).max()) / size
        if width <= reach:
            return cls(rim, middle, size, True, np.pi * reach**2 * (size + 4.0 / 3.0 * reach))
        ball = float(np.linalg.norm(corners - middle, axis=1).max())
        return cls(rim, middle, size, False, 4.0 / 3.0 * np.pi * ball**3)


def fill(bench: Bench, largest: float, reach: float) -> None:
    """Close holes up to a size, and slits of any length that reach closes, by the patch of least area across each.

    The bound on the volume holds where what is missing stays in the ball about the hole's middle that just holds its rim;
    of a slit, within reach of its chord.
    """
    along = edges.edges_of(bench.faces)
    half = along.half[along.first[along.many == 1]]
    start, stop = bench.faces.reshape(-1)[half], np.roll(bench.faces, -1, axis=1).reshape(-1)[half]
    rims = [Hole.of(bench.vertices, np.array(loop), reach) for loop in patching.loops(stop, start)]
    big = [hole for hole in rims if (hole.size > largest and not hole.slit) or len(hole.rim) > MOST_CORNERS]
    if big:
        raise _too_big(bench, big, largest)
    patches = [bench.faces]
    for hole in rims:
        barred = along.count_of(*np.meshgrid(hole.rim, hole.rim)) > 0
        patch = patching.patch(bench.vertices[hole.rim], barred)
        if not len(patch):
            raise bench.refuse("a hole cannot be closed, its corners are joined already", CLOSE, hole.middle)
        patches.append(hole.rim[patch].astype(np.int32))
    bench.faces = np.concatenate(patches)
    for what, slit in (("holes closed", False), ("slits closed", True)):
        closed = [hole for hole in rims if hole.slit == slit]
        places = np.array([hole.middle for hole in closed]).reshape(-1, 3)
        bench.note(what, places, sum(hole.missing for hole in closed))


def _too_big(bench: Bench, holes: list[Hole], largest: float) -> MeshError:
    worst = max(holes, key=lambda hole: hole.size)
    unit = bench.given.unit
    what = "1 hole is" if len(holes) == 1 else f"{len(holes)} holes are"
    limit = (
        f"larger than the {largest:.4g} {unit} that may be closed" if largest > 0.0 else "open, and none may be closed"
    )
    x, y, z = worst.middle
    found = f"{what} {limit}, the largest {worst.size:.4g} {unit} across with {len(worst.rim)} corners"
    seam = _seam(bench, holes)
    mend = (
        f'Each open corner has another within {seam:.2g} {unit}: seams and not holes; try --weld "{2.0 * seam:.2g} {unit}".'
        if seam is not None
        else CLOSE
    )
    return bench.refuse(f"{found}, near ({x:.6g}, {y:.6g}, {z:.6g}) {unit}", mend)


def _seam(bench: Bench, holes: list[Hole]) -> float | None:
    """How far apart corners lie that an export should have made one; None where the rims are those of holes."""
    rims = np.unique(np.concatenate([hole.rim for hole in holes]))
    if rims.size > _MOST_SEAM:
        return None
    away = np.linalg.norm(bench.vertices[rims][:, None] - bench.vertices[rims][None], axis=2)
    np.fill_diagonal(away, np.inf)
    furthest = float(away.min(axis=1).max())
    return furthest if 0.0 < furthest <= _SEAM * min(hole.size for hole in holes) else None
