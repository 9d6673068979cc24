"""A closed surface moved inward by a thickness, as a coating or a wall leaves it, and how far that may be off."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from fuelsys.arrays import Floats, Ints
from fuelsys.kernels.surface import corner_angles, turns_at_edges, vector_areas

# Directions in which the faces about a corner turn by less than the root of this tell nothing: rounding makes as much.
_LEAST_TURN = 1e-9


class Inset(NamedTuple):
    """The moved corners (n, 3), and a bound of the volume by which the layer may differ from one of even thickness."""

    vertices: Floats
    doubt: float


def inset(vertices: Floats, faces: Ints, thickness: float) -> Inset:
    """Each corner moved so that every face about it moves inward by the thickness: (n, 3), outward faces (m, 3).

    Exact where at most three planes meet; where more do, by least squares, and the doubt counts each face's area times
    the distance by which its corners miss. Reentrant edges (a rib's, seen from the fuel) become sharp, while a layer of
    even thickness is round there: the doubt counts the difference, t² (tan(a/2) − a/2) for each length that turns by a.
    Nothing here sees the surface pass through itself. Units are the caller's.

    >>> corner = np.array([[0.0, 0, 0], [1, 0, 0], [0, 1, 0], [0, 0, 1]])
    >>> moved = inset(corner, np.array([[0, 2, 1], [0, 1, 3], [0, 3, 2], [1, 2, 3]], dtype=np.int32), 0.1)
    >>> moved.vertices[0].round(12).tolist(), round(moved.doubt, 12)
    ([0.1, 0.1, 0.1], 0.0)
    """
    areas = vector_areas(vertices, faces)
    size = np.linalg.norm(areas, axis=1)
    unit = areas / np.where(size > 0.0, size, 1.0)[:, None]
    way = _ways(vertices, faces, unit) * thickness
    reach = np.einsum("mkj,mj->mk", way[faces], unit)
    missed = np.where(size > 0.0, np.abs(reach + thickness).max(axis=1), 0.0)
    return Inset(vertices + way, float((size * missed).sum()) + _rounded(vertices, faces, way, thickness))


def _ways(vertices: Floats, faces: Ints, unit: Floats) -> Floats:
    """How each corner moves for a thickness of one: least squares of (unit · way = −1) over its faces, by their angles."""
    angles, corners = corner_angles(vertices, faces).ravel(), faces.ravel()
    across = np.repeat(unit, 3, axis=0)
    normal = np.empty((len(vertices), 3, 3))
    for i in range(3):
        for j in range(3):
            normal[:, i, j] = np.bincount(corners, angles * across[:, i] * across[:, j], len(vertices))
    pull = np.column_stack([np.bincount(corners, -angles * across[:, i], len(vertices)) for i in range(3)])
    strength, frame = np.linalg.eigh(normal)
    known = strength > _LEAST_TURN * strength[:, 2:]
    turned = np.einsum("nji,nj->ni", frame, pull)
    way: Floats = np.einsum("nij,nj->ni", frame, np.where(known, turned / np.where(known, strength, 1.0), 0.0))
    return way


def _rounded(vertices: Floats, faces: Ints, way: Floats, thickness: float) -> float:
    """What sharp reentrant edges and corners take away beyond a layer that is round there."""
    ends, turn = turns_at_edges(vertices, faces)
    bent = turn < 0.0
    half = np.minimum(-turn[bent] / 2.0, np.pi / 2.0 - 1e-9)
    length = np.linalg.norm(vertices[ends[bent, 1]] - vertices[ends[bent, 0]], axis=1)
    sharp = length * thickness**2 * (np.tan(half) - half)
    corners = np.unique(ends[bent][half > 0.1])
    return float(sharp.sum() + (np.linalg.norm(way[corners], axis=1) ** 3).sum())
