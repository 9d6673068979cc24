"""Readers of mesh files by hand, a function at a time: how polygons are cut, what names and comments say, what cannot be read."""

from __future__ import annotations

import io
import json
import struct
import zipfile
from collections import Counter
from typing import Any

import numpy as np
import pytest
import trimesh

from fuelsys.errors import MeshError
from fuelsys.load.designs.elsewhere import once
from fuelsys.load.designs.faults import Fault
from fuelsys.load.formats import glb, obj, ply, scenes
from fuelsys.load.formats.polygons import triangulated
from fuelsys.load.formats.sizes import Size

# --- polygons

SQUARE = [(0.0, 0.0), (2.0, 0.0), (2.0, 2.0), (0.0, 2.0)]
FIVE = [(0.0, 0.0), (4.0, 0.0), (4.0, 4.0), (2.0, 1.0), (0.0, 4.0)]


def area(corners: list[tuple[float, float]]) -> float:
    x, y = np.array(corners).T
    return float(np.abs(x @ np.roll(y, -1) - y @ np.roll(x, -1)) / 2.0)


@pytest.mark.parametrize("flat", [SQUARE, FIVE, [(0.0, 0.0), (2.0, 2.0), (0.0, 4.0), (1.0, 2.0)]])
@pytest.mark.parametrize("axis", [0, 1, 2])
@pytest.mark.parametrize("turned", [False, True])
@pytest.mark.parametrize("far", [0.0, 1e3])
def test_a_polygon_is_cut_into_triangles_of_its_area_and_side(
    flat: list[tuple[float, float]], axis: int, turned: bool, far: float
) -> None:
    # In each plane, either way round, at the origin and far from it: no triangle lies the other way, together they have its area.
    points = np.zeros((len(flat), 3))
    points[:, [(axis + 1) % 3, (axis + 2) % 3]] = np.array(flat)
    order = list(range(len(flat)))[:: -1 if turned else 1]
    faces, notes, of = triangulated(points + far, [order])
    normals = np.cross(points[faces[:, 1]] - points[faces[:, 0]], points[faces[:, 2]] - points[faces[:, 0]])
    assert notes == ()
    assert of.tolist() == [0] * (len(flat) - 2)
    assert (normals[:, axis] * (-1.0 if turned else 1.0) > 0.0).all()
    assert np.abs(normals[:, axis]).sum() / 2.0 == pytest.approx(area(flat))


@pytest.mark.parametrize("size", [4, 5])
@pytest.mark.parametrize(("off", "told"), [(0.0, ""), (1e-9, ""), (0.1, "by up to {:.1%} of its size")])
def test_a_polygon_that_is_not_flat_is_told(size: int, off: float, told: str) -> None:
    flat = SQUARE if size == 4 else [(0.0, 0.0), (2.0, 0.0), (3.0, 1.0), (2.0, 2.0), (0.0, 2.0)]
    points = np.column_stack([np.array(flat), np.zeros(len(flat))])
    points += np.array([5.0, 6.0, 7.0])
    points[2, 2] += off
    points[0, 2] += off
    notes = triangulated(points, [list(range(size)), [0, 1, 2]])[1]
    # Two corners of a square raised by 0.1: the plane lies between, 0.1 from one side to the other, of 2.
    assert [note.startswith("1 face of more than three corners is not flat") for note in notes] == [True] * bool(told)
    if told and size == 4:
        assert "by up to 5.0% of its size" in notes[0]
    several = triangulated(points, [list(range(size))] * 2)[1]
    assert [note.startswith("2 faces of more than three corners are not flat") for note in several] == [True] * bool(
        told
    )


def test_a_triangle_is_never_bent_and_polygons_keep_their_order() -> None:
    points = np.array([[0.0, 0, 0], [2, 0, 0], [2, 2, 0], [0, 2, 0], [0, 0, 9]])
    faces, notes, of = triangulated(points, [[0, 1, 2, 3], [0, 1, 4], [1, 2, 4]])
    assert (of.tolist(), notes, faces[2:].tolist()) == ([0, 0, 1, 2], (), [[0, 1, 4], [1, 2, 4]])
    assert triangulated(points, np.array([[0, 1, 4]]))[0].tolist() == [[0, 1, 4]]
    assert (
        triangulated(points, [])[0].shape == triangulated(points, np.zeros((0, 3), dtype=np.int64))[0].shape == (0, 3)
    )


@pytest.mark.parametrize("order", [[0, 1, 3, 2], [0, 1, 3, 2, 4], [0, 2, 4, 1, 3]])
def test_a_polygon_that_crosses_itself_is_refused(order: list[int]) -> None:
    flat = (
        [(0.0, 0.0), (3.0, 0.0), (2.0, 2.0), (0.0, 2.0)]
        if len(order) == 4
        else [(0.0, 0.0), (2.0, 0.0), (3.0, 1.0), (2.0, 2.0), (0.0, 2.0)]
    )
    points = np.column_stack([np.array(flat), np.zeros(len(flat))])
    with pytest.raises(MeshError, match=f"a face of {len(order)} corners crosses itself"):
        triangulated(points, [order])
    # One that only touches a line with three of its corners is none.
    straight = np.array([[0.0, 0, 0], [1, 0, 0], [2, 0, 0], [0, 2, 0]])
    assert len(triangulated(straight, [[0, 1, 2, 3]])[0]) == 2


# --- PLY


def header(*lines: str) -> bytes:
    return "\n".join(["ply", "format ascii 1.0", *lines, "end_header", ""]).encode()


@pytest.mark.parametrize(
    ("lines", "unit"),
    [(("comment unit mm",), "mm"), (("comment unit",), ""), (("comment unit mm inch",), ""), (("comment made in mm",), ""), ((), ""),
    (("comment a", "comment unit m"), "m"),
     (("comment unit cubit",), ""), (("comment my unit mm",), "")],
)  # fmt: skip
def test_the_unit_that_a_comment_says(lines: tuple[str, ...], unit: str) -> None:
    assert ply._unit_said(header(*lines)) == unit


BOX = "\n".join(["0 0 0", "1 0 0", "0 1 0", "0 0 1", "3 0 2 1", "3 0 1 3", "3 1 2 3", "3 2 0 3"]) + "\n"


@pytest.mark.parametrize(
    ("order", "kinds", "coarse"),
    [("ascii", ("float", "float", "float"), False), ("binary_little_endian", ("double", "double", "double"), False),
    ("binary_little_endian", ("float", "float", "float"), True),
     ("binary_little_endian", ("double", "float", "double"), True)],
)  # fmt: skip
def test_numbers_of_four_bytes_are_coarse(order: str, kinds: tuple[str, ...], coarse: bool) -> None:
    lines = [f"property {kind} {axis}" for kind, axis in zip(kinds, "xyz", strict=True)] + ["property float quality"]
    head = "\n".join(
        [
            "ply",
            f"format {order} 1.0",
            "element vertex 4",
            *lines,
            "element face 4",
            "property list uchar int vertex_indices",
            "end_header",
            "",
        ]
    )
    rows = [tuple(map(float, row.split())) for row in BOX.splitlines()[:4]]
    if order == "ascii":
        body = "\n".join([*(f"{x} {y} {z} 0" for x, y, z in rows), *BOX.splitlines()[4:]]).encode() + b"\n"
    else:
        form = "<" + "".join("f" if kind == "float" else "d" for kind in kinds) + "f"
        body = b"".join(struct.pack(form, *row, 0.0) for row in rows)
        body += b"".join(struct.pack("<Biii", *map(int, row.split())) for row in BOX.splitlines()[4:])
    raw = ply.read_ply(head.encode() + body)
    assert (raw.raster > 0.0) is coarse
    assert raw.faces.tolist() == [[0, 2, 1], [0, 1, 3], [1, 2, 3], [2, 0, 3]]


@pytest.mark.parametrize(
    "line",
    [
        "element \u00e9 3",
        "element a\x07 3",
        "element vertex -1",
        "element vertex",
        "property float x",
        "format morse 1.0",
    ],
)
def test_a_line_of_the_header_that_is_not_known(line: str) -> None:
    with pytest.raises(MeshError, match="line 2 reads"):
        ply._header(f"ply\n{line}\nend_header\n".encode())


# --- OBJ


def parts_of(*lines: str) -> tuple[list[int], tuple[str, ...]]:
    corners = ["v 0 0 0", "v 1 0 0", "v 0 1 0", "v 0 0 1"]
    raw = obj.read_obj("\n".join([*corners, *lines, ""]).encode())
    return np.asarray(raw.parts).tolist(), tuple(raw.names)


A, B = "f 1 2 3", "f 1 2 4"


@pytest.mark.parametrize(
    ("lines", "names"),
    [
        ((A, B), {""}), (("o one", A, "o two", B), {"one", "two"}), (("g one", A, "g two", B), {"one", "two"}), (("o one", "g a", A,
         "g b", B), {"a", "b"}),
        (("o one", "g a", A, B), {"one"}), (("o one", "g a", A, "o two", "g b", B), {"one", "two"}), (("g a", A, B), {"a"}), ((A, "o two",
         B), {"", "two"}),
    ],
)  # fmt: skip
def test_bodies_are_objects_or_else_groups(lines: tuple[str, ...], names: set[str]) -> None:
    part, found = parts_of(*lines)
    assert {found[k] if found else "" for k in part} == names


def test_a_vertex_that_is_not_there_yet() -> None:
    with pytest.raises(MeshError, match="names vertex 5, and there are 4 vertices"):
        parts_of("f 1 2 5")
    assert parts_of("f 1 2 5", "v 0 0 2")[0] == [0]


# --- GLB and 3MF


def gltf(announced: int | None = None, mark: bytes = b"glTF", **header_of: Any) -> bytes:
    text = json.dumps(header_of).encode()
    size = 20 + len(text)
    return mark + struct.pack("<III", 2, size if announced is None else announced, len(text)) + b"JSON" + text


@pytest.mark.parametrize(
    ("data", "found"),
    [
        (gltf(mark=b"glTG"), "does not begin with"), (b"glTF" + b"\0" * 15, "does not begin with"), (gltf(announced=9),
         "the header announces 9 bytes"),
        (gltf(buffers=[{"uri": "other.bin"}]), "in another file"), (gltf(extensionsRequired=["KHR_draco", "KHR_materials_x"]),
         "it is written with KHR_draco"),
    ],
)  # fmt: skip
def test_a_header_of_glb_that_cannot_be_read(data: bytes, found: str) -> None:
    with pytest.raises(MeshError, match=found):
        glb._check_glb(data)
    assert glb._check_glb(gltf(buffers=[{"uri": "data:x"}, {}], extensionsRequired=["KHR_texture_transform"]))


@pytest.mark.parametrize(
    ("part", "accessor", "found"),
    [
        ({"mode": 6}, {}, "fans of triangles"), ({"mode": 5}, {}, ""), ({"mode": 4}, {}, ""), ({"targets": [1]}, {},
         "can change its shape"), ({"targets": []}, {}, ""),
        ({}, {"sparse": {}}, "the sparse way"), ({}, {"bufferView": None}, "the sparse way"), ({}, {"componentType": 5123},
         "as whole numbers"), ({"indices": 1}, {}, ""),
    ],
)  # fmt: skip
def test_a_part_of_glb_that_cannot_be_read(part: dict[str, Any], accessor: dict[str, Any], found: str) -> None:
    given = {key: one for key, one in ({"bufferView": 0, "componentType": 5126} | accessor).items() if one is not None}
    listed = {
        "accessors": [given, {"bufferView": 1, "componentType": 5125}],
        "meshes": [{"primitives": [{"attributes": {"POSITION": 0}} | part]}],
    }
    if found:
        with pytest.raises(MeshError, match=found):
            glb._check_parts(listed)
    else:
        glb._check_parts(listed)


def shown(*names: str | None, scene: int | None = None) -> str:
    """What is told of a file whose first node is shown, and others are not."""
    nodes = [{"mesh": k} | ({} if name is None else {"name": name}) for k, name in enumerate(names)]
    header = {"nodes": nodes, "meshes": [{}] * len(names), "scenes": [{"nodes": [0]}, {"nodes": [1]}]} | (
        {} if scene is None else {"scene": scene}
    )
    return " ".join(glb._left_out(header))


def test_meshes_that_no_node_of_the_scene_shows() -> None:
    assert shown("a") == ""
    assert '"' not in shown("a", "b")
    assert "b" in shown("a", "b")
    assert "a" in shown("a", "b", scene=1)
    assert "mesh 1" in shown("a", None)
    many = shown("a", *(f"n{k}" for k in range(glb._MOST_NAMED)))
    assert " more" not in many
    assert " and 1 more" in shown("a", *(f"n{k}" for k in range(glb._MOST_NAMED + 1)))
    assert glb._left_out({"nodes": [{"mesh": 0}], "meshes": [{}]}) == ()  # no scene: all is shown
    tree = {"nodes": [{"children": [1]}, {"mesh": 0}], "meshes": [{}, {"name": "loose"}], "scenes": [{"nodes": [0]}]}
    assert "loose" in " ".join(glb._left_out(tree))
    assert glb._node_names(
        {"nodes": [{"name": "n", "mesh": 0}, {"mesh": 0}, {}, {"name": None}], "meshes": [{"name": "m"}]}
    ) == ["n", "m", "", ""]


def moved(transform: Any, vertices: int = 4) -> tuple[Any, Any]:
    corners = np.vstack([np.eye(4, 3), np.full((max(0, vertices - 4), 3), 7.0)])
    part = trimesh.Trimesh(corners, [[0, 1, 2], [1, 0, 3]], process=False)
    return scenes._moved(part, np.array(transform, dtype=float))


def test_a_part_in_its_place() -> None:
    turn = np.array([[0.0, -1, 0, 1], [1, 0, 0, 2], [0, 0, 2, 3], [0, 0, 0, 1]])
    vertices, faces = moved(turn)
    assert vertices.tolist() == (np.eye(4, 3) @ turn[:3, :3].T + turn[:3, 3]).tolist()
    assert faces.tolist() == [[0, 1, 2], [1, 0, 3]]
    mirrored = moved(np.diag([1.0, 1, -1, 1]))[1]
    assert mirrored.tolist() == [[2, 1, 0], [3, 0, 1]]
    # Of three times as many corners as faces, or fewer, none is left out; of more those that no face names.
    assert [len(moved(np.eye(4), count)[0]) for count in (4, 6, 7, 20)] == [4, 6, 4, 4]
    for wrong in (np.diag([1.0, 1, 1, 2]), np.full((4, 4), np.nan)):
        with pytest.raises(MeshError, match="not a place"):
            moved(wrong)


def build(**more: Any) -> scenes._Build:
    given: dict[str, Any] = {
        "made_of": {},
        "types": {},
        "placed": ["1"],
        "sizes": {"1": Size(1, 2, 3)},
        "reads": Counter(),
    } | more
    return scenes._Build(**given)


def test_what_a_build_places() -> None:
    assert scenes._check_build(build(), 10**6) == 1
    assert scenes._check_build(build(placed=["1", "1", "2"], made_of={"2": ["1", "1"]}), 10**6) == 4
    chain = {str(k): [str(k + 1)] for k in range(1, 400)}
    with pytest.raises(MeshError, match="contains itself"):
        scenes._check_build(build(made_of=chain, sizes={}), 10**6)
    for wrong, found in (
        ({"placed": []}, "nothing in it is placed"),
        ({"made_of": {"1": ["2"], "2": ["1"]}}, "contains itself"),
        ({"types": {"1": "support"}}, "which is no body to be made"),
    ):
        with pytest.raises(MeshError, match=found):
            scenes._check_build(build(**wrong), 10**6)


MODEL = """<model xmlns="core" xmlns:p="production"><resources>
<object id="1" name="tank" type="model"><mesh>
<vertices><vertex/><vertex/><vertex/></vertices><triangles><triangle/></triangles></mesh></object>
<object id="2"><components><component objectid="1"/><component objectid="1" p:path="x.model"/></components></object>
</resources><build><item objectid="2" partnumber="left"/><item objectid="1"/></build></model>"""


def test_names_and_objects_of_a_model() -> None:
    stream = io.BytesIO()
    with zipfile.ZipFile(stream, "w") as made:
        made.writestr("3D/a.model", MODEL)
        made.writestr("note.txt", "x")
    with zipfile.ZipFile(stream) as archive:
        named, found = scenes._model(archive)
    assert (named["tank"], named["2"], named["left"]) == ("tank", "", "left")
    assert (found.made_of, found.placed, found.sizes, found.reads["1"]) == (
        {"2": ["1", "1"]},
        ["2", "1"],
        {"1": Size(1, 1, 3)},
        1,
    )
    assert found.types["1"] == "model"
    assert [scenes._called(node, {"tank": "tank", "a_b": "a b"}) for node in ("tank", "tank_1", "a_b_2", "x_1")] == [
        "tank",
        "tank",
        "a b",
        "",
    ]


# --- a twin's own faults


def test_a_fault_of_a_mirrored_tank_is_told_once() -> None:
    from types import SimpleNamespace as Made

    design: Any = Made(
        tank=[
            Made(name="left", mirror_of=None),
            Made(name="right", mirror_of="left"),
            Made(name="aft", mirror_of="gone"),
        ]
    )
    own, again, other = (Fault(("tank", k, "x"), found, "") for k, found in ((0, "a"), (1, "a"), (1, "b")))
    line, aft, whole = Fault(("line", 1, "x"), "a", ""), Fault(("tank", 2, "x"), "a", ""), Fault(("tank",), "a", "")
    assert once([own, again, other, line, aft, whole], design) == [own, other, line, aft, whole]
    assert once([again], design) == [again]
