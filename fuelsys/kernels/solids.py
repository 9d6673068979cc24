"""Closed surfaces as solids, by manifold3d: what two of them share."""

from __future__ import annotations

import numpy as np
from manifold3d import Error, Manifold, Mesh64

from fuelsys.arrays import Floats, Ints
from fuelsys.kernels.surface import enclosed_volume

# Of a body's volume: a solid that is further off was changed when it was read, as versions 3.4 and 3.5 of the library do.
_SAME = 1e-9


def solid(vertices: Floats, faces: Ints) -> Manifold | None:
    """A closed outward surface, (n, 3) and (m, 3), as a solid; None where it cannot be cut as one."""
    used, index = np.unique(faces, return_inverse=True)
    corners = np.ascontiguousarray(vertices[used])
    made = Manifold(Mesh64(corners, np.ascontiguousarray(index.reshape(-1, 3).astype(np.uint64))))
    volume = enclosed_volume(vertices, faces)
    return made if made.status() == Error.NoError and abs(made.volume() - volume) <= _SAME * abs(volume) else None


def shared(one: tuple[Floats, Ints], two: tuple[Floats, Ints]) -> tuple[float, Floats] | None:
    """Volume that two closed surfaces (vertices, faces) share, and the centroid (3,) of its largest part.

    None where one of them cannot be cut as a solid. Two unit cubes, one moved by half a side along x, share 0.5:

    >>> cube = Manifold.cube([1.0, 1.0, 1.0]).to_mesh64()
    >>> corners, faces = cube.vert_properties[:, :3], cube.tri_verts.astype(np.int32)
    >>> volume, at = shared((corners, faces), (corners + [0.5, 0.0, 0.0], faces))
    >>> volume, at.tolist()
    (0.5, [0.75, 0.5, 0.5])
    """
    solids = [solid(*given) for given in (one, two)]
    if solids[0] is None or solids[1] is None:
        return None
    parts = (solids[0] ^ solids[1]).decompose()
    if not parts:
        return 0.0, np.zeros(3)
    return sum(part.volume() for part in parts), _centroid(max(parts, key=lambda part: part.volume()))


def _centroid(body: Manifold) -> Floats:
    """Of a solid: the tetrahedra from its middle to its faces, weighted by their volumes."""
    mesh = body.to_mesh64()
    middle = mesh.vert_properties[:, :3].mean(axis=0)
    a, b, c = (mesh.vert_properties[mesh.tri_verts[:, k], :3] - middle for k in range(3))
    weights = np.einsum("ij,ij->i", a, np.cross(b, c))
    whole = float(weights.sum())
    return middle if whole <= 0.0 else weights @ (a + b + c) / (4.0 * whole) + middle
