"""Gaps in a tank that are too narrow to count on as a passage: found, and filled.

A wall that is drawn to fit exactly touches, stays a hair off or is sunk in by a hair, as rounding has it, and a pool tree follows
every hair. So gaps narrower than `narrowest_passage` (0.1 mm) are filled before anything else sees the cavity
(`kernels/passages.py`, `load/meshes/passages.py`): pairs of faces that face each other across the fluid nearer than that (touching, and
sunk in by up to 2 µm, included); of each the part that lies over the other; the hull of both parts, 5 µm larger, is cut out. The
tank with the gaps open is kept beside it (`FittedTank.opened`), so that unusable fuel and minutes are told for both.

Filled is always the worse: filling only takes fluid away, so any path that fuel finds with the gaps filled it finds with them
open; what stays behind, and the air that stays in on filling, can only grow, and a switch's pool only shrink. Faces with a
corner in common count only where they are folded flat onto each other (to 3.6°), else each sharp edge would be filled.

500 random tanks (boxes, drums, wing prisms, turned) with a rib off or sunk into the wall by 1e-12 to 1 mm, at three precisions,
as a body and in the mesh, are held against the tank with the rib joined (`tests/gapped.py`); see tests/kernels/test_passages.py.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import NamedTuple

import numpy as np
from manifold3d import Manifold, OpType

from fuelsys.arrays import Floats, Ints
from fuelsys.errors import MeshError
from fuelsys.kernels import solids, surface
from fuelsys.kernels.edges import Indices, pieces
from fuelsys.kernels.passages import Films, films
from fuelsys.load.formats.raw import listed
from fuelsys.model.built.cavity import Gap

# Walls that are sunk into each other by less touch: twice what the mesh door lets pass. What fills a gap reaches into the
# walls by more, so that no hair of it stays open.
TOUCH_M, INTO_M = 2e-6, 5e-6
_GRID_M = 1e-7  # of the corners of what fills a gap
_MOST_PARTED = 2000  # pairs whose boxes are held against each other
_CRUMB = 1e-9  # of the largest: a shell that rounding has left, full or hollow

Place = Callable[[Floats], str]  # a point of the surface's own axes, as the mesh's file has it


class Parts(NamedTuple):
    """A solid's surface without its chips, and what these hold."""

    vertices: Floats
    faces: Ints
    chips: float


class Filled(NamedTuple):
    """A solid with its narrow gaps filled, and these, the narrowest first."""

    solid: Manifold
    gaps: tuple[Gap, ...]


def fill(vertices_m: Floats, faces: Ints, width_m: float, place: Place) -> Filled | None:
    """A closed outward surface, (n, 3) and (m, 3), with each gap filled that is narrower than a width; None without one.

    MeshError where there are too many, or the surface cannot be cut.
    """
    found = films(vertices_m, faces, max(width_m, TOUCH_M), TOUCH_M)
    if not found.gap.size:
        return None
    whole = solids.solid(vertices_m, faces)
    at = place(found.corners[0, : found.number[0]].mean(axis=0))
    if not found.all or whole is None:
        what = f"more than {len(found.gap):,} pairs of faces are" if not found.all else "faces are"
        raise MeshError(
            f"{what} nearer to each other than the narrowest passage, the first near {at}, and cannot be told apart",
            mend="Fill such gaps in CAD, or leave them out, and export again.",
        )
    hulls = [_hull(corners[:n]) for corners, n in zip(found.corners, found.number, strict=True)]
    filling = Manifold.batch_boolean(hulls, OpType.Add)
    return Filled(whole - filling, _gaps(found))


def surface_of(body: Manifold) -> tuple[Floats, Ints]:
    """A solid's vertices (n, 3) and outward faces (m, 3)."""
    mesh = body.to_mesh64()
    return np.ascontiguousarray(mesh.vert_properties[:, :3]), mesh.tri_verts.astype(np.int32)


def one_part(left: Manifold, chip_m3: float, place: Place) -> Parts | str:
    """What is left of a cavity as one surface, hollows included; where it is in several parts, these in words.

    Parts that hold no more than chip_m3 are left out. Words are empty where nothing is left.
    """
    vertices_m, faces = surface_of(left)
    number, label = surface.shells(len(vertices_m), faces)
    volumes = surface.enclosed_volumes(vertices_m, faces, label, number)
    crumbs = np.abs(volumes) <= _CRUMB * np.abs(volumes).max(initial=0.0)
    chips = crumbs | ((volumes > 0.0) & (volumes <= chip_m3))
    parts: Indices = np.flatnonzero((volumes > 0.0) & ~chips)
    if parts.size != 1:
        return _told(vertices_m, faces, label, volumes, parts, place)
    used, index = np.unique(faces[~chips[label]], return_inverse=True)
    kept = np.ascontiguousarray(index.reshape(-1, 3).astype(np.int32))
    return Parts(np.ascontiguousarray(vertices_m[used]), kept, float(volumes[chips].sum()))


def _told(vertices_m: Floats, faces: Ints, label: Ints, volumes: Floats, parts: Indices, place: Place) -> str:
    """Parts by their volumes and middles, in words; empty for none."""
    told = []
    for k in parts.tolist():
        corners_m = vertices_m[faces[label == k]]
        middle_m = (corners_m.min(axis=(0, 1)) + corners_m.max(axis=(0, 1))) / 2.0
        told.append((k, volumes[k], f"{volumes[k] * 1e3:.4g} L about {place(middle_m)}"))
    return f"{parts.size} parts: {listed(told)}" if told else ""


def _gaps(found: Films) -> tuple[Gap, ...]:
    """Gaps, each made of the pairs whose boxes meet, with where it is narrowest; of too many pairs, the narrowest place alone."""
    middles = np.array([c[:n].mean(axis=0) for c, n in zip(found.corners, found.number, strict=True)])
    label: Indices = np.zeros(len(middles), np.int64)
    if len(middles) <= _MOST_PARTED:
        low = np.array([c[:n].min(axis=0) for c, n in zip(found.corners, found.number, strict=True)]) - INTO_M
        high = np.array([c[:n].max(axis=0) for c, n in zip(found.corners, found.number, strict=True)]) + INTO_M
        meets = ((low[:, None] <= high[None]) & (high[:, None] >= low[None])).all(axis=2)
        label = pieces(len(middles), np.argwhere(np.triu(meets, 1)))[1]
    order = np.argsort(found.gap, kind="stable")
    first = order[np.sort(np.unique(label[order], return_index=True)[1])]  # the narrowest pair of each gap
    return tuple(Gap(float(found.gap[k]), middles[k]) for k in first.tolist())


def _hull(corners: Floats) -> Manifold:
    """The hull of points (k, 3), a little larger on all sides; on a grid, so that it has no edges that are hardly any."""
    steps = np.concatenate([np.eye(3), -np.eye(3)]) * INTO_M
    points = np.round((corners[:, None] + steps).reshape(-1, 3) / _GRID_M) * _GRID_M
    return Manifold.hull_points(np.unique(points, axis=0))
