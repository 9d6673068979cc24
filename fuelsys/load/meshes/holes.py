"""Closes small holes of a surface, and refuses the others."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from fuelsys.arrays import Floats
from fuelsys.errors import MeshError
from fuelsys.kernels import edges, patching
from fuelsys.kernels.edges import Indices
from fuelsys.load.formats.raw import counted
from fuelsys.load.meshes.bench import Bench
from fuelsys.load.meshes.soundness import flat, seam, seam_words

MOST_CORNERS = 300  # of a hole; a rim of more is no small hole
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
        a, b = patching.chord(corners)
        size = float(np.linalg.norm(b - a))
        width = float(np.linalg.norm(np.cross(corners - a, b - a), axis=1).max()) / size
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
    rims = [Hole.of(bench.vertices, rim, reach) for rim in patching.rims(bench.faces, along)]
    wide = [hole for hole in rims if hole.size > largest and not hole.slit]
    if wide:
        raise _too_wide(bench, wide, largest)
    large = [hole for hole in rims if len(hole.rim) > MOST_CORNERS]
    if large:
        found = f"{counted(len(large), 'hole has', 'holes have')} more than the {MOST_CORNERS} corners that are closed at most"
        raise bench.refuse(found, CLOSE, large[0].middle)
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


def _too_wide(bench: Bench, holes: list[Hole], largest: float) -> MeshError:
    worst = max(holes, key=lambda hole: hole.size)
    unit = bench.given.unit
    what = counted(len(holes), "hole is", "holes are")
    limit = (
        f"larger than the {largest:.4g} {unit} that may be closed" if largest > 0.0 else "open, and none may be closed"
    )
    x, y, z = worst.middle
    found = f"{what} {limit}, the largest {worst.size:.4g} {unit} across with {len(worst.rim)} corners"
    along = edges.edges_of(bench.faces)
    apart = seam(bench.vertices, along)
    if apart is not None:
        mend = seam_words(apart, unit)
    elif _sheet(bench, along, holes):
        mend = "What is flat is a loose sheet, which cannot be closed: take it out or join it in CAD, or pick another body with --body."
    elif all(len(hole.rim) <= MOST_CORNERS for hole in holes):
        up_to = f"{_rounded_up(worst.size):g} {unit}"
        mend = f'{CLOSE} Or, where the wall goes straight across, have holes of this size closed too: --fill "{up_to}".'
    else:
        mend = CLOSE
    return bench.refuse(f"{found}, near ({x:.6g}, {y:.6g}, {z:.6g}) {unit}", mend)


def _rounded_up(size: float) -> float:
    """A size to two digits, never less than it is."""
    step = 10.0 ** (np.floor(np.log10(size)) - 1.0)
    return float(np.ceil(size / step + 1e-6) * step)


def _sheet(bench: Bench, along: edges.Edges, holes: list[Hole]) -> bool:
    """Is one of the pieces that these holes are in flat? Closing it would lay a face on its own faces."""
    _, label = edges.shells_of(bench.faces, along)
    pieces = {int(label[(bench.faces == hole.rim[0]).any(axis=1)][0]) for hole in holes}
    return any(flat(bench.vertices, bench.faces[label == piece]) for piece in pieces)
