"""Mesh files whose surface is no closed cavity: each is refused in one line that says what was found, where, and what to do."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import meshfiles as mf
import numpy as np
import pytest

from fuelsys.errors import MeshError
from fuelsys.load.meshes.door import load_cavity
from fuelsys.load.meshes.soundness import flat

BOX, QUADS, TRIANGLES = mf.BOX_MM, mf.QUADS, mf.TRIANGLES  # 300 x 200 x 100 mm, 6 L
CLOSE = "Close the surface in CAD and export again; `fuelsys mesh FILE` shows where it is open."
UNITE = "Unite the bodies that touch there into one solid, or remove the double face, and export again."
TURN = "Make the normals consistent in CAD and export again; `fuelsys mesh FILE` shows where."
PICK = 'Pick one by its name or number: --body NAME, or body = "NAME" in the design file\'s [[tank]].'
SOLID = "Export the tank's inside as a solid."
FACES = "Export the tank's inside as a surface or solid, not as lines."
HOLLOW = "A hollow's normals point into it, and nothing lies inside a hollow: turn it or take it out in CAD."
PLAIN = "Export it again with plain triangles in one file, or as STL."
UNITS = "mm, cm, m, in, ft, um"


def two(move: tuple[float, float, float], scale: float = 1.0, flip: bool = False) -> bytes:
    """The box, and beside or in it another one, scaled and moved."""
    second = [[i + 8 for i in (face[::-1] if flip else face)] for face in QUADS]
    return mf.off(np.concatenate([BOX, BOX * scale + np.array(move)]), QUADS + second)


def moved(to: float) -> np.ndarray[Any, np.dtype[np.float64]]:
    """The box with one coordinate of its fourth corner changed."""
    changed = BOX.copy()
    changed[3, 1] = to
    return changed


def nested() -> bytes:
    """The box, a can in it, and a smaller one in that can, both facing inward."""
    cans = [BOX / 2 + np.array([50, 50, 20]), BOX / 4 + np.array([80, 80, 30])]
    inward = [[i + 8 * k for i in face[::-1]] for k in (1, 2) for face in QUADS]
    return mf.off(np.concatenate([BOX, *cans]), QUADS + inward)


STL = mf.stl_text(BOX, TRIANGLES)
GLB = mf.glb(mf.BOX, TRIANGLES)
DAMAGED = "The file is damaged: export it again."
ODD = "not finite or beyond reason, the first"
CROSSED = "crosses itself. Export the surface as triangles."

SURFACES = [  # what the file holds is readable, but is not one closed cavity
    (
        "open box",
        "a.off",
        mf.off(BOX, QUADS[1:]),
        f"4 edges do not join two faces, the middle of the first near (150, 0, 0) mm. {CLOSE}",
    ),
    (
        "one triangle missing",
        "a.stl",
        mf.stl_binary(BOX, TRIANGLES[:-1]),
        f"3 edges do not join two faces, the middle of the first near (0, 100, 50) mm. {CLOSE}",
    ),
    (
        "a seam of a hundredth of a millimetre",
        "a.stl",
        STL.replace(b"vertex 300 200 100", b"vertex 300 200 100.01", 1),
        f"4 edges do not join two faces, the middle of the first near (150, 100, 100.005) mm. {CLOSE}",
    ),
    (
        "one face twice",
        "a.off",
        mf.off(BOX, [*QUADS, QUADS[2]]),
        f"5 edges join three or more faces, the middle of the first near (150, 0, 0) mm. {UNITE}",
    ),
    (
        "three faces on an edge",
        "a.off",
        mf.off(np.vstack([BOX, [[150, -50, 0]]]), [*QUADS, [0, 1, 8]]),
        f"1 edge joins three or more faces, the middle of the first near (150, 0, 0) mm. {UNITE}",
    ),
    (
        "two boxes apart",
        "a.off",
        two((1000, 0, 0)),
        f"there are 2 separate bodies in it: 1 unnamed 6 L about (150, 100, 50) mm; 2 unnamed 6 L about (1150, 100, 50) mm."
        f" {PICK}",
    ),
    (
        "two boxes apart, the second inside out",
        "a.off",
        two((1000, 0, 0), 0.5, flip=True),
        f"there are 2 separate bodies in it: 1 unnamed 6 L about (150, 100, 50) mm; 2 unnamed 0.75 L about (1075, 50, 25) mm."
        f" {PICK}",
    ),
    (
        "two boxes that touch in an edge",
        "a.off",
        two((300, 200, 0)),
        f"1 edge joins three or more faces, the middle of the first near (300, 200, 50) mm. {UNITE}",
    ),
    (
        "two boxes that touch in a corner",
        "a.off",
        two((300, 200, 100)),
        "1 corner joins parts of the surface that touch only there, the first near (300, 200, 100) mm."
        " Unite the parts or move them apart in CAD and export again.",
    ),
    (
        "two boxes that share a wall",
        "a.off",
        two((300, 0, 0)),
        f"4 edges join three or more faces, the middle of the first near (300, 100, 0) mm. {UNITE}",
    ),
    (
        "one face wound the other way",
        "a.off",
        mf.off(BOX, [QUADS[0][::-1], *QUADS[1:]]),
        f"4 edges have their two faces wound against each other, the middle of the first near (150, 0, 0) mm. {TURN}",
    ),
    (
        "a body in the cavity",
        "a.off",
        two((100, 50, 50), 0.1),
        f"a closed surface inside the cavity is no hollow in it (0.006 L near (100, 50, 50) mm). {HOLLOW}",
    ),
    (
        "a hollow in a hollow",
        "a.off",
        nested(),
        f"a closed surface inside the cavity is no hollow in it (0.09375 L near (80, 80, 30) mm). {HOLLOW}",
    ),
    (
        "a sheet with two sides",
        "a.off",
        mf.off(BOX, [QUADS[0], QUADS[0][::-1]]),
        f"no volume: it is flat. {SOLID}",
    ),
    ("faces of equal corners", "a.obj", mf.obj(BOX, [[0, 0, 1], [2, 2, 2]]), f"none of its faces has an area. {SOLID}"),
    ("NaN", "a.off", mf.off(moved(np.nan), QUADS), f"1 corner has a coordinate that is {ODD} (0, nan, 0). {DAMAGED}"),
    (
        "infinity",
        "a.stl",
        mf.stl_binary(moved(np.inf), TRIANGLES),
        f"5 corners have coordinates that are {ODD} (0, inf, 0). {DAMAGED}",
    ),
    (
        "1e300",
        "a.obj",
        mf.obj(moved(1e300), QUADS),
        f"1 corner has a coordinate that is {ODD} (0, 1e+300, 0). {DAMAGED}",
    ),
    (
        "a polygon that crosses itself",
        "a.off",
        mf.off(*mf.prism([(0, 0), (20, 20), (20, 0), (0, 20), (-9, 9)], 9.0)),
        f"a face of 5 corners {CROSSED}",
    ),
    (
        "a quad that crosses itself",
        "a.off",
        mf.off(*mf.prism([(0, 0), (20, 20), (20, 0), (0, 90)], 9.0)),
        f"a face of 4 corners {CROSSED}",
    ),
]


def refused(path: Path, unit: str | None = None, axes: str = "aft, right, up") -> str:
    """The one line with which a file is refused."""
    with pytest.raises(MeshError) as caught:
        load_cavity(path, unit, axes)
    assert isinstance(caught.value, MeshError)
    (line,) = caught.value.lines
    return line


@pytest.mark.parametrize(("name", "data", "said"), [case[1:] for case in SURFACES], ids=[case[0] for case in SURFACES])
def test_what_is_no_cavity_is_refused(tmp_path: Path, name: str, data: bytes, said: str) -> None:
    (tmp_path / name).write_bytes(data)
    unit = None if name.endswith(("glb", "3mf")) else "mm"
    assert refused(tmp_path / name, unit) == f"{name}: {said}"


def test_a_shallow_tank_is_not_flat() -> None:
    thin, skew = BOX * [1.0, 1.0, 1e-4], np.array([[1.0, 0, 0.4], [0, 1, 0.3], [0, 0, 1]])
    assert not flat(thin @ skew, np.array(TRIANGLES))
    assert flat(BOX * [1, 1, 0] @ skew, np.array(TRIANGLES))
