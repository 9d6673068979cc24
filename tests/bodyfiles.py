"""Mesh files of two bodies, a box of 6 L and one of 3 L that touches it in a part of a wall, in each format that tells them apart."""

from __future__ import annotations

import io
import zipfile
from collections.abc import Sequence
from pathlib import Path

import meshfiles as mf
import numpy as np
from asked import tables

BOX, QUADS, TRIANGLES = mf.BOX_MM, mf.QUADS, mf.TRIANGLES  # 300 x 200 x 100 mm, 6 L
INWARD = [face[::-1] for face in QUADS]
PICK = 'Pick one by its name or number: --body NAME, or body = "NAME" in the design file\'s [[tank]].'
HALF = np.array([1.0, 1.0, 0.5])  # of the box's height: 3 L
Part = tuple[str, mf.Floats, mf.Polygons]


def obj(*parts: Part, key: str = "o") -> bytes:
    """Parts as objects or groups, each with vertices of its own."""
    lines: list[str] = []
    before = 0
    for name, vertices, faces in parts:
        lines.append(f"{key} {name}" if name else "")
        lines += [f"v {x:.17g} {y:.17g} {z:.17g}" for x, y, z in vertices]
        lines += ["f " + " ".join(str(i + 1 + before) for i in face) for face in faces]
        before += len(vertices)
    return "\n".join([*lines, ""]).encode()


def stl(*names: str) -> bytes:
    moves = ([0.0, 0.0, 0.0], [300.0, 0.0, 0.0])
    return b"".join(
        mf.stl_text(BOX * scale + move, TRIANGLES, name)
        for name, move, scale in zip(names, moves, (1.0, HALF), strict=True)
    )


def glb(*names: str) -> bytes:
    left, right = ({"mesh": 0, "name": name} if name else {"mesh": 0} for name in names)
    return mf.glb(mf.BOX, TRIANGLES, [left, {**right, "translation": [0.3, 0, 0], "scale": HALF.tolist()}], (0, 1))


def threemf(*names: str) -> bytes:
    """Two objects by the ids 7 and 1, the first of which is built first."""
    (first, second), build = names, '<item objectid="7"/><item objectid="1"/>'
    corners = "".join(f'<vertex x="{x:.17g}" y="{y:.17g}" z="{z:.17g}"/>' for x, y, z in BOX)
    triangles = "".join(f'<triangle v1="{a}" v2="{b}" v3="{c}"/>' for a, b, c in TRIANGLES)
    mesh = f"<mesh><vertices>{corners}</vertices><triangles>{triangles}</triangles></mesh>"
    called = f' name="{first}"' if first else ""
    more = f'<object id="7"{called} type="model">{mesh}</object>'
    made = mf.threemf(BOX * HALF + [300.0, 0.0, 0.0], TRIANGLES, build=build, more=more)
    return made if not second else renamed(made, second)


def renamed(data: bytes, name: str) -> bytes:
    """The same 3MF with a name for its object 1."""
    with zipfile.ZipFile(io.BytesIO(data)) as archive:
        model = archive.read("3D/3dmodel.model").decode()
    return mf.zipped(model.replace('<object id="1"', f'<object id="1" name="{name}"'))


SIDE_BY_SIDE = {  # a box of 6 L and one of 3 L that touches it in a part of a wall
    "objects.obj": obj(("left", BOX, QUADS), ("right", BOX * HALF + [300, 0, 0], QUADS)),
    "groups.obj": obj(("left", BOX, QUADS), ("right", BOX * HALF + [300, 0, 0], QUADS), key="g"),
    "two.stl": stl("left", "right"),
    "two.glb": glb("left", "right"),
    "two.3mf": threemf("left", "right"),
}


def unit_of(name: str) -> list[str]:
    return [] if name.endswith(("glb", "3mf")) else ["--unit", "mm"]


def written(folder: Path, name: str, data: bytes) -> Path:
    (folder / name).write_bytes(data)
    return folder / name


def gross_l(path: Path, *more: str) -> float:
    rows, _ = tables("capacity", path, *unit_of(path.name), *more)["capacity"]
    return float(rows[0]["gross_m3"]) * 1e3


def boxes(scale: float, move: Sequence[float]) -> mf.Floats:
    return BOX * scale + np.array(move)
