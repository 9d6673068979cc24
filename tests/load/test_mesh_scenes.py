"""Parts placed by the scenes of GLB and 3MF files, and what is mended or noted of a surface on its way in."""

from __future__ import annotations

import os
from pathlib import Path
from typing import Any

import meshfiles as mf
import numpy as np
import pytest
import solids
from numpy.testing import assert_allclose

from fuelsys.load.meshes.door import load_cavity
from fuelsys.model.built.cavity import Cavity


def cavity(folder: Path, name: str, data: bytes, unit: str | None = "mm", **more: Any) -> Cavity:
    (folder / name).write_bytes(data)
    return load_cavity(folder / name, unit, **more)


# --- scenes ----------------------------------------------------------------------------------------------------------

QUARTER_TURN = [0.0, 0.0, 0.5**0.5, 0.5**0.5]  # glTF quaternion x, y, z, w: +90 degrees about z, x to y


def test_nodes_of_a_glb_place_scale_and_turn(tmp_path: Path) -> None:
    nodes = [
        {"children": [1], "translation": [1.0, 2.0, 3.0]},
        {"mesh": 0, "rotation": QUARTER_TURN, "scale": [2.0, 1.0, 0.5]},
    ]
    read = cavity(tmp_path, "box.glb", mf.glb(mf.BOX, mf.TRIANGLES, nodes), None)
    # Scaled to 0.6 x 0.2 x 0.05, turned so that x lies along y and y against x, moved: exact but for single precision.
    assert_allclose(read.bounds_m, [[0.8, 2.0, 3.0], [1.0, 2.6, 3.05]], rtol=1e-6)
    assert_allclose(read.gross_m3, 0.006, rtol=1e-6)


@pytest.mark.parametrize(
    ("placed", "share"),
    [
        ({"scale": [-1.0, 1.0, 1.0]}, 1.0),
        ({"matrix": [1, 0, 0, 0, 0, 1, 0, 0, 0, 0, -1, 0, 0, 0, 0, 1]}, 1.0),
        ({"scale": [0.2, 0.2, 0.2]}, 8e-3),
    ],
)
def test_a_mirrored_or_a_small_node_of_a_glb_is_not_inside_out(
    tmp_path: Path, placed: dict[str, Any], share: float
) -> None:
    read = cavity(tmp_path, "box.glb", mf.glb(mf.BOX, mf.TRIANGLES, [{"mesh": 0, **placed}]), None)
    assert_allclose(read.gross_m3, 0.006 * share, rtol=1e-6)
    assert not [note for note in read.notes if "is unusual for" not in note]  # 48 mL


def test_a_body_in_several_parts_closes_after_they_are_placed(tmp_path: Path) -> None:
    # Two halves of the sphere's faces under one slanted turn: equal corners stay equal, bit by bit.
    vertices, faces = solids.sphere(0.2, 32, 16)
    half = len(faces) // 2

    def split(header: dict[str, Any]) -> None:
        view = {"bufferView": 1, "componentType": 5125, "count": 3 * half, "type": "SCALAR"}
        header["accessors"] = [header["accessors"][0], view, {**view, "byteOffset": 12 * half}]
        part = {"attributes": {"POSITION": 0}}
        header["meshes"] = [{"primitives": [{**part, "indices": 1}, {**part, "indices": 2}]}]

    turned = [{"mesh": 0, "rotation": [0.1825742, 0.3651484, 0.5477226, 0.7302967], "translation": [0.123, 4.567, 8.9]}]
    read = cavity(tmp_path, "ball.glb", mf.glb(vertices, faces.tolist(), turned, change=split), None)
    assert len(read.faces) == 2 * half
    assert_allclose(read.gross_m3, solids.signed_volume(vertices, faces), rtol=1e-6)


def test_a_glb_of_strips_and_one_without_indices(tmp_path: Path) -> None:
    def strips(header: dict[str, Any]) -> None:
        header["meshes"][0]["primitives"][0]["mode"] = 5
        header["accessors"][1]["count"] = 14

    # The one strip that goes round a box: 14 corners, 12 triangles (found by hand, checked by the door's own closedness).
    strip = [3, 2, 7, 6, 5, 2, 1, 3, 0, 7, 4, 5, 0, 1]
    data = mf.glb(mf.BOX, [strip[:3], strip[3:6], strip[6:9], strip[9:12], [*strip[12:], 0]], change=strips)
    assert_allclose(cavity(tmp_path, "strip.glb", data, None).gross_m3, 0.006, rtol=1e-6)

    def loose(header: dict[str, Any]) -> None:
        del header["meshes"][0]["primitives"][0]["indices"]

    corners = mf.BOX[np.array(mf.TRIANGLES).ravel()]
    data = mf.glb(corners, mf.TRIANGLES, change=loose)
    assert_allclose(cavity(tmp_path, "loose.glb", data, None).gross_m3, 0.006, rtol=1e-6)


def test_items_and_components_of_a_3mf_place_their_object(tmp_path: Path) -> None:
    # 3MF's transform is four rows of three, for row vectors: here twice as long in x, moved by (10, 20, 30).
    item = '<item objectid="1" transform="2 0 0 0 1 0 0 0 1 10 20 30"/>'
    read = cavity(tmp_path, "box.3mf", mf.threemf(mf.BOX_MM, mf.TRIANGLES, build=item), None)
    assert_allclose(read.bounds_m, [[0.01, 0.02, 0.03], [0.61, 0.22, 0.13]], rtol=1e-14)
    inner = '<object id="2" type="model"><components><component objectid="1" transform="-1 0 0 0 1 0 0 0 1 0 0 0"/>'
    data = mf.threemf(mf.BOX_MM, mf.TRIANGLES, build='<item objectid="2"/>', more=f"{inner}</components></object>")
    read = cavity(tmp_path, "mirrored.3mf", data, None)
    assert_allclose(read.bounds_m, [[-0.3, 0.0, 0.0], [0.0, 0.2, 0.1]], atol=1e-15)
    assert_allclose(read.gross_m3, 0.006, rtol=1e-14)
    assert read.notes == ()


# --- what is mended and noted ----------------------------------------------------------------------------------------


def test_a_surface_that_is_inside_out_is_turned(tmp_path: Path) -> None:
    read = cavity(tmp_path, "box.off", mf.off(mf.BOX_MM, [face[::-1] for face in mf.QUADS]))
    assert_allclose(read.gross_m3, 0.006, rtol=1e-14)
    assert read.notes == ("the surface was inside out (its normals pointed inward); it has been turned",)


def test_hollows_are_no_part_of_the_cavity(tmp_path: Path) -> None:
    # A float's can of a tenth of the box each way: 6 mL, a thousandth.
    can = mf.BOX_MM / 10 + np.array([100, 50, 50])
    inward = [[i + 8 for i in face[::-1]] for face in mf.QUADS]
    vertices = np.concatenate([mf.BOX_MM, can])
    one = cavity(tmp_path, "one.off", mf.off(vertices, mf.QUADS + inward))
    assert_allclose(one.gross_m3, 0.006 - 0.000006, rtol=1e-14)
    assert one.notes == ("1 closed hollow inside the cavity holds no fuel",)
    again = [[i + 8 for i in face] for face in inward]
    two = cavity(
        tmp_path, "two.off", mf.off(np.concatenate([vertices, can + np.array([50, 0, 0])]), mf.QUADS + inward + again)
    )
    assert two.notes == ("2 closed hollows inside the cavity hold no fuel",)
    turned = [face[::-1] for face in mf.QUADS + inward]
    both = cavity(tmp_path, "turned.off", mf.off(vertices, turned))
    assert_allclose(both.gross_m3, 0.006 - 0.000006, rtol=1e-14)
    assert len(both.notes) == 2


def test_faces_without_area_are_left_out_and_counted(tmp_path: Path) -> None:
    read = cavity(tmp_path, "box.obj", mf.obj(mf.BOX_MM, [*mf.TRIANGLES, [0, 1, 1], [2, 2, 2]]))
    assert read.notes == ("2 faces with two equal corners were left out: no area, no volume",)
    assert len(read.faces) == 12


def test_a_cavity_of_unusual_size_is_noted(tmp_path: Path) -> None:
    # The box of 0.3 m read as 0.3 mm: 6e-9 L.
    read = cavity(tmp_path, "box.off", mf.off(mf.BOX, mf.QUADS))
    assert read.notes == (
        "a cavity of 6e-06 mL is unusual for a light aircraft's tank: is the unit mm right? State another if not.",
    )


# --- names -----------------------------------------------------------------------------------------------------------


def test_a_name_that_is_not_text_can_be_printed(tmp_path: Path) -> None:
    path = Path(os.fsdecode(os.fsencode(tmp_path) + b"/left\xff.off"))
    try:
        path.write_bytes(mf.off(mf.BOX_MM, mf.QUADS))
    except OSError:
        pytest.skip("this file system takes no such names")
    assert load_cavity(path, "mm").name == "left\\xff"
