"""Polygons of a mesh file as triangles: each along its own diagonals, so that a concave one is not folded over."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence

import numpy as np
from manifold3d import triangulate

from fuelsys.arrays import Floats
from fuelsys.errors import MeshError
from fuelsys.load.formats.raw import Indices, check_coordinates, counted, damaged

# A corner further from its polygon's plane than this share of the polygon's size is told: the cut then shapes the tank.
_FLAT = 1e-3


def triangulated(
    vertices: Floats, polygons: Sequence[Sequence[int]] | Indices
) -> tuple[Indices, tuple[str, ...], Indices]:
    """Polygons, each a list of vertices in range -> faces (m, 3) in their order, what there is to note, each face's polygon (m,).

    A polygon of k corners becomes k - 2 faces. Where all have as many corners they may come as an array (n, k).

    >>> arrow = np.array([[0.0, 0, 0], [2, 2, 0], [0, 4, 0], [1, 2, 0]])
    >>> triangulated(arrow, [[0, 1, 2, 3]])[0].tolist()
    [[1, 2, 3], [1, 3, 0]]
    """
    check_coordinates(vertices)
    faces, source = [np.zeros((0, 3), dtype=np.int64)], [np.zeros(0, dtype=np.int64)]
    bent, worst = 0, 0.0
    for size, (numbers, group) in sorted(_by_size(polygons).items()):
        source.append(np.repeat(numbers, size - 2))
        if size == 3:
            faces.append(group)
            continue
        corners = vertices[group] - vertices[group][:, :1]
        normals = np.cross(corners, np.roll(corners, -1, axis=1)).sum(axis=1)
        faces.append(_quads(corners, normals, group) if size == 4 else _cut(corners, normals, group))
        off = _off_plane(corners, normals)
        bent, worst = bent + int((off > _FLAT).sum()), max(worst, float(off.max()))
    notes: tuple[str, ...] = ()
    if bent:
        what = counted(bent, "face of more than three corners is", "faces of more than three corners are")
        notes = (f"{what} not flat, by up to {worst:.1%} of its size; how it is cut into triangles shapes the cavity",)
    order = np.argsort(of := np.concatenate(source), kind="stable")
    return np.concatenate(faces)[order], notes, of[order]


def _by_size(polygons: Sequence[Sequence[int]] | Indices) -> dict[int, tuple[Indices, Indices]]:
    """For each number of corners the polygons that have it: their numbers (k,), their vertices (k, size)."""
    if isinstance(polygons, np.ndarray):
        return {polygons.shape[1]: (np.arange(len(polygons)), polygons)} if len(polygons) else {}
    numbers: dict[int, list[int]] = defaultdict(list)
    for number, polygon in enumerate(polygons):
        numbers[len(polygon)].append(number)
    return {
        size: (np.array(own), np.array([polygons[k] for k in own], dtype=np.int64)) for size, own in numbers.items()
    }


def _off_plane(corners: Floats, normals: Floats) -> Floats:
    """How far the corners lie from each polygon's plane, as a share of its size."""
    length = np.linalg.norm(normals, axis=1)
    heights = np.einsum("nkj,nj->nk", corners, normals) / np.where(length > 0.0, length, 1.0)[:, None]
    size = np.ptp(corners, axis=1).max(axis=1)
    return np.ptp(heights, axis=1) / np.where(size > 0.0, size, 1.0)


def _quads(corners: Floats, normals: Floats, quads: Indices) -> Indices:
    """Cut from the first corner to the third, or across where that one folds the quad over."""
    folded = _worse_half(corners, normals) < 0.0
    turned = np.where(folded[:, None], np.roll(quads, -1, axis=1), quads)
    across = _worse_half(np.roll(corners, -1, axis=1), normals)
    if (across[folded] < -1e-9 * np.einsum("ij,ij->i", normals, normals)[folded]).any():
        raise _crossed(4)
    return turned[:, [0, 1, 2, 0, 2, 3]].reshape(-1, 3)


def _worse_half(corners: Floats, normals: Floats) -> Floats:
    """The lesser area of the two triangles of each quad, times its normal; negative where the cut folds it."""
    a, b, c, d = (corners[:, k] for k in range(4))
    halves = [np.einsum("ij,ij->i", np.cross(p, q), normals) for p, q in ((b - a, c - a), (c - a, d - a))]
    return np.minimum(*halves)


def _crossed(corners: int) -> MeshError:
    return damaged(f"a face of {corners} corners crosses itself", "Export the surface as triangles.")


def _cut(corners: Floats, normals: Floats, polygons: Indices) -> Indices:
    faces = []
    for points, normal, polygon in zip(corners, normals, polygons, strict=True):
        axis = int(np.argmax(np.abs(normal)))
        plane = [(axis + 1) % 3, (axis + 2) % 3] if normal[axis] >= 0.0 else [(axis + 2) % 3, (axis + 1) % 3]
        flat = np.ascontiguousarray(points[:, plane])
        faces.append(polygon[_ears(flat)])
    return np.concatenate(faces)


def _ears(flat: Floats) -> Indices:
    """A polygon (k, 2), counter-clockwise -> its triangles (k - 2, 3); refused where it crosses itself."""
    cut = np.asarray(triangulate([flat]), dtype=np.int64).reshape(-1, 3)
    a, b, c = (flat[cut[:, k]] for k in range(3))
    doubled = (b - a)[:, 0] * (c - a)[:, 1] - (b - a)[:, 1] * (c - a)[:, 0]
    if len(cut) != len(flat) - 2 or doubled.min() < -1e-9 * max(float(np.ptp(flat, axis=0).max()) ** 2, 1e-300):
        raise _crossed(len(flat))
    return cut
