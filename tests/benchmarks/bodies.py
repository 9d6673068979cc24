"""The body that the benchmarks cut: a wing-tank-like bent ellipsoid with ribs, at any number of triangles."""

from __future__ import annotations

import manifold3d
import numpy as np
from numpy.typing import NDArray

Arrays = tuple[NDArray[np.float64], NDArray[np.int32]]


def _arrays(solid: manifold3d.Manifold) -> Arrays:
    mesh = solid.to_mesh64()
    return np.ascontiguousarray(mesh.vert_properties[:, :3]), np.ascontiguousarray(mesh.tri_verts, dtype=np.int32)


def smooth_tank(triangles: int) -> Arrays:
    """A rounded tank of about so many triangles of one size, with flat floor and roof parts."""
    n = max(4, round((triangles / 8.0) ** 0.5) * 4)
    solid = manifold3d.Manifold.sphere(1.0, n)
    vertices, faces = _arrays(solid)
    squared = np.sign(vertices) * np.minimum(np.abs(vertices) * 1.25, 1.0) ** 1.0
    return squared * np.array([0.3, 0.4, 0.1]), faces


def baffled_tank(triangles: int) -> Arrays:
    """A box with ribs, notches and a hanging baffle, its faces refined to about so many triangles."""
    box = manifold3d.Manifold.cube((0.6, 0.8, 0.2))
    for x in (0.2, 0.4):
        rib = manifold3d.Manifold.cube((0.003, 0.9, 0.12)).translate((x, -0.05, -0.001))
        hole = (
            manifold3d.Manifold.cylinder(0.1, 0.02, 0.02, 24).rotate((0.0, 90.0, 0.0)).translate((x - 0.05, 0.4, 0.05))
        )
        notch = manifold3d.Manifold.cube((0.1, 0.02, 0.012)).translate((x - 0.05, 0.1, -0.001))
        box -= rib - hole - notch
    box -= manifold3d.Manifold.cube((0.4, 0.003, 0.15)).translate((0.1, 0.5, 0.06))
    size = 0.5
    while True:
        refined = box.refine_to_length(size)
        if refined.num_tri() >= triangles:
            return _arrays(refined)
        size *= 0.8
