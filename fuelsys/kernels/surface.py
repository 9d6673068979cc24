"""What belongs to a closed triangle surface whatever its attitude: vector areas, edges, corner normals, shells.

`surface.hidden_by_facets` estimates it from the bend at each edge (a strip of width w and length l that turns by t hides a
circular segment, w² t l / 12), for edges that bend by less than 30°. On spheres, cylinders and a torus it is within 3 % of the
truth. It is an estimate and says so.
"""

from __future__ import annotations

from typing import Any, TypeVar

import numpy as np
from numpy.typing import NDArray

from fuelsys.arrays import Floats, Ints
from fuelsys.kernels.compiled import compiled

Kind = TypeVar("Kind", bound=np.generic)
Indices = NDArray[np.integer[Any]]


def vector_areas(vertices: Floats, faces: Ints) -> Floats:
    """Vector area of each triangle, half the cross product of two sides: (n, 3), (m, 3) -> (m, 3), outward.

    >>> vector_areas(np.eye(3), np.array([[0, 1, 2]], dtype=np.int32)).tolist()
    [[0.5, 0.5, 0.5]]
    """
    areas = np.empty((len(faces), 3))
    _vector_areas(np.array(vertices, np.float64), np.array(faces, np.int32), areas)  # copies: one type to compile for
    return areas


@compiled
def _vector_areas(vertices: Floats, faces: Ints, areas: Floats) -> None:
    for t in range(faces.shape[0]):
        a, b, c = faces[t, 0], faces[t, 1], faces[t, 2]
        bx, by, bz = vertices[b, 0] - vertices[a, 0], vertices[b, 1] - vertices[a, 1], vertices[b, 2] - vertices[a, 2]
        cx, cy, cz = vertices[c, 0] - vertices[a, 0], vertices[c, 1] - vertices[a, 1], vertices[c, 2] - vertices[a, 2]
        areas[t, 0] = 0.5 * (by * cz - bz * cy)
        areas[t, 1] = 0.5 * (bz * cx - bx * cz)
        areas[t, 2] = 0.5 * (bx * cy - by * cx)


def undirected_edges(faces: Ints) -> Ints:
    """Each edge once, lower index first: (m, 3) -> (e, 2). A closed surface of m triangles has 3m/2 edges."""
    sides = np.concatenate([faces[:, [0, 1]], faces[:, [1, 2]], faces[:, [2, 0]]])
    sides.sort(axis=1)
    key = np.sort(sides[:, 0].astype(np.int64) << 32 | sides[:, 1])
    key = key[np.flatnonzero(np.diff(key, prepend=-1))]
    return np.column_stack([key >> 32, key & 0xFFFFFFFF]).astype(np.int32)


def corner_normals(vertices: Floats, faces: Ints) -> Floats:
    """Sum of unit face normals at each vertex, weighted by the face's angle there: (n, 3), not of unit length.

    Its sign tells on which side of a vertex the inside lies (Baerentzen and Aanaes, "Signed distance computation using
    the angle weighted pseudonormal", IEEE TVCG 11(3), 2005; citation from memory).
    """
    areas = vector_areas(vertices, faces)
    length = np.linalg.norm(areas, axis=1, keepdims=True)
    unit = areas / np.where(length > 0.0, length, 1.0)
    normals = np.zeros_like(vertices)
    angles = corner_angles(vertices, faces)
    for k in range(3):
        for axis in range(3):
            normals[:, axis] += np.bincount(faces[:, k], angles[:, k] * unit[:, axis], len(vertices))
    return normals


def corner_angles(vertices: Floats, faces: Ints) -> Floats:
    """The angle of each triangle at each of its corners: (n, 3), (m, 3) -> (m, 3) in rad."""
    angles = np.empty(faces.shape)
    for k in range(3):
        here, left, right = (vertices[faces[:, (k + j) % 3]] for j in range(3))
        one, two = left - here, right - here
        sine = np.linalg.norm(np.cross(one, two), axis=1)
        angles[:, k] = np.arctan2(sine, np.einsum("ij,ij->i", one, two))
    return angles


def turns_at_edges(vertices: Floats, faces: Ints) -> tuple[Ints, Floats]:
    """Each edge's two corners (e, 2), and by how much the surface turns there (e,), rad; negative where it is reentrant."""
    sides, one, two = _two_faces(faces)
    areas = vector_areas(vertices, faces)
    return sides, _turn(vertices, areas, sides, one, two)


def _two_faces(faces: Ints) -> tuple[Ints, Ints, Ints]:
    """Each edge's corners (e, 2) as its first face goes along it, that face and the other one (e,)."""
    sides = np.concatenate([faces[:, [0, 1]], faces[:, [1, 2]], faces[:, [2, 0]]]).astype(np.int64)
    key = np.minimum(sides[:, 0], sides[:, 1]) << 32 | np.maximum(sides[:, 0], sides[:, 1])
    order = np.argsort(key, kind="stable")
    one, two = (np.tile(np.arange(len(faces), dtype=np.int32), 3)[order[k::2]] for k in (0, 1))
    return sides[order[::2]].astype(np.int32), one, two


def _turn(vertices: Floats, areas: Floats, sides: Ints, one: Ints, two: Ints) -> Floats:
    """Angle from one face's normal to the other's about their edge; positive where the surface bulges."""
    size = np.linalg.norm(areas, axis=1)
    along = vertices[sides[:, 1]] - vertices[sides[:, 0]]
    product = np.maximum(size[one] * size[two], 1e-300)
    way = along / np.maximum(np.linalg.norm(along, axis=1), 1e-300)[:, None]
    sine = np.einsum("ij,ij->i", np.cross(areas[one], areas[two]), way) / product
    return np.arctan2(sine, np.einsum("ij,ij->i", areas[one], areas[two]) / product)


def enclosed_volume(vertices: Floats, faces: Ints) -> float:
    """Signed volume of a closed surface by the divergence theorem; positive where it is oriented outward.

    >>> corner = np.array([[0.0, 0, 0], [1, 0, 0], [0, 1, 0], [0, 0, 1]])
    >>> round(enclosed_volume(corner, np.array([[0, 2, 1], [0, 1, 3], [0, 3, 2], [1, 2, 3]], dtype=np.int32)) * 6, 12)
    1.0
    """
    return float(enclosed_volumes(vertices, faces, np.zeros(len(faces), dtype=np.int32), 1)[0])


def enclosed_volumes(vertices: Floats, faces: Ints, label: Ints, number: int) -> Floats:
    """The same of each of a number of shells (n,), label (m,) being the shell of each face: in one pass over them all."""
    if not number:
        return np.zeros(0)
    centred = vertices - vertices.mean(axis=0)
    areas = vector_areas(centred, faces)
    middles = (centred[faces[:, 0]] + centred[faces[:, 1]] + centred[faces[:, 2]]) / 3.0
    shells = zip(by_label(middles, label, number), by_label(areas, label, number), strict=True)
    return np.array([np.einsum("ij,ij->", middle, area) / 3.0 for middle, area in shells])


def by_label(rows: NDArray[Kind], label: Indices, number: int) -> list[NDArray[Kind]]:
    """Rows apart by their label, from 0 to number - 1: one array for each, its rows in their order.

    >>> [part.tolist() for part in by_label(np.array([5, 6, 7]), np.array([1, 0, 1]), 2)]
    [[6], [5, 7]]
    """
    order = np.argsort(label, kind="stable")
    ends = np.searchsorted(label[order], np.arange(number + 1))
    sorted_rows = rows[order]
    return [sorted_rows[ends[k] : ends[k + 1]] for k in range(number)]


def shells(n_vertices: int, faces: Ints) -> tuple[int, Ints]:
    """Connected pieces of a surface: their number and the piece of each face (m,), in the order of first vertices."""
    parent = np.arange(n_vertices)
    sides = np.concatenate([faces[:, [0, 1]], faces[:, [1, 2]]])
    while True:
        one, two = parent[sides[:, 0]], parent[sides[:, 1]]
        if np.array_equal(one, two):
            break
        np.minimum.at(parent, one, two)
        np.minimum.at(parent, two, one)
        jumped = parent[parent]
        while not np.array_equal(jumped, parent):
            parent, jumped = jumped, jumped[jumped]
    roots, label = np.unique(parent[faces[:, 0]], return_inverse=True)
    return len(roots), label.reshape(-1).astype(np.int32)


def hidden_by_facets(vertices: Floats, faces: Ints, smooth_rad: float = 0.5236) -> tuple[float, float]:
    """What flat facets hide of a smooth surface that passes through their corners: volume of bulges, of dents (m3, m3).

    Edges that bend by less than smooth_rad are taken for smooth. A strip of width w and length l that turns by t hides a
    circular segment w**2 t / 12 times l; half of it is counted at each of its two edges. An estimate, not a bound.
    """
    areas = vector_areas(vertices, faces)
    size = np.linalg.norm(areas, axis=1)
    sides, one, two = _two_faces(faces)
    length = np.linalg.norm(vertices[sides[:, 1]] - vertices[sides[:, 0]], axis=1)
    turn = _turn(vertices, areas, sides, one, two)
    hidden = (size[one] ** 2 + size[two] ** 2) * turn / 6.0 / np.maximum(length, 1e-300)
    hidden[np.abs(turn) > smooth_rad] = 0.0
    return float(hidden[hidden > 0].sum()), float(-hidden[hidden < 0].sum())
