"""Test bodies as surfaces that the mesh door has read, moved and put together."""

from __future__ import annotations

from pathlib import Path

import meshfiles as mf
import numpy as np
import solids
from solids import Solid

from fuelsys.load.meshes.mesh import judge
from fuelsys.load.meshes.soundness import Surface
from fuelsys.model.found.mesh import Health

BOX = solids.box(2.0, 1.0, 0.5)
CUBE = solids.box(1.0, 1.0, 1.0)
# At z = 0 the needle lies off the diagonal x = y of the cube's floor: three of its sides pierce one floor triangle.
NEEDLE = solids.tetrahedron([[0.4, 0.6, -1], [0.6, 0.6, -1], [0.4, 0.8, -1], [0.45, 0.7, 0.3]])


def surface(solid: Solid, unit: str = "m") -> Surface:
    vertices, faces = solid
    return Surface("x.stl", unit, np.ascontiguousarray(vertices), np.ascontiguousarray(faces, np.int32), ())


def health(solid: Solid, unit: str = "m") -> Health:
    return judge(surface(solid, unit))


def together(*bodies: Solid) -> Solid:
    """Several bodies as one surface, bit-equal corners joined."""
    return solids.weld(np.concatenate([vertices[faces] for vertices, faces in bodies]))


def moved(solid: Solid, by: tuple[float, float, float], inward: bool = False) -> Solid:
    return solid[0] + np.array(by), solid[1][:, ::-1] if inward else solid[1]


def box_with(*, without: tuple[int, ...] = (), turned: tuple[int, ...] = (), more: object = ()) -> Solid:
    """The box, some of its faces left out or turned, others added."""
    kept = [face[::-1] if i in turned else face for i, face in enumerate(BOX[1]) if i not in without]
    return BOX[0], np.array([*kept, *np.array(more, dtype=np.int64).reshape(-1, 3)])


def written(folder: Path, solid: Solid, name: str = "a.ply") -> Path:
    """A body as a file."""
    (folder / name).write_bytes(mf.ply_text(solid[0], solid[1].tolist()))
    return folder / name
