"""Mesh files of all six formats read as they stand: every face, every unit, every placement, and what is noted of them."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import meshfiles as mf
import numpy as np
import pytest
import trimesh
from numpy.testing import assert_allclose

from fuelsys.load.formats import files
from fuelsys.load.meshes.door import load_cavity
from fuelsys.model.built.cavity import Cavity

# Metres in one unit: exact by definition (the inch is 25.4 mm, the foot twelve inches; international yard, 1959).
METRES = {"mm": 1e-3, "cm": 1e-2, "m": 1.0, "in": 0.0254, "ft": 0.3048, "um": 1e-6}
WRITERS: dict[str, tuple[str, Callable[..., bytes], float]] = {  # ending, writer, relative error of its numbers
    "text STL": ("stl", mf.stl_text, 1e-15),
    "binary STL": ("stl", mf.stl_binary, 1e-7),
    "OBJ": ("obj", mf.obj, 1e-15),
    "OFF": ("off", mf.off, 1e-15),
    "text PLY": ("ply", mf.ply_text, 1e-15),
    "binary PLY": ("ply", mf.ply_binary, 1e-15),
    "big-endian PLY": ("ply", lambda v, f: mf.ply_binary(v, f, order="big"), 1e-15),
    "single PLY": ("ply", lambda v, f: mf.ply_binary(v, f, coordinate="float"), 1e-7),
}


def cavity(folder: Path, name: str, data: bytes, unit: str | None = "mm", **more: Any) -> Cavity:
    (folder / name).write_bytes(data)
    return load_cavity(folder / name, unit, **more)


# --- units -----------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("unit", METRES)
@pytest.mark.parametrize("form", WRITERS)
def test_a_box_of_six_litres_in_every_format_and_unit(tmp_path: Path, form: str, unit: str) -> None:
    ending, write, relative = WRITERS[form]
    read = cavity(tmp_path, f"box.{ending}", write(mf.BOX / METRES[unit], mf.TRIANGLES), unit)
    assert_allclose(read.gross_m3, 0.3 * 0.2 * 0.1, rtol=4 * relative)
    assert_allclose(np.subtract(*read.bounds_m[::-1]), [0.3, 0.2, 0.1], rtol=4 * relative)
    assert (len(read.vertices_m), len(read.faces), read.notes) == (8, 12, ())


@pytest.mark.parametrize(
    ("stated", "unit"),
    [("micron", "um"), ("millimeter", "mm"), ("centimeter", "cm"), ("inch", "in"), ("foot", "ft"), ("meter", "m")],
)
def test_a_3mf_says_its_unit(tmp_path: Path, stated: str, unit: str) -> None:
    data = mf.threemf(mf.BOX / METRES[unit], mf.TRIANGLES, stated)
    for said in (None, unit):
        assert_allclose(cavity(tmp_path, "box.3mf", data, said).gross_m3, 0.006, rtol=1e-14)


def test_a_3mf_without_a_unit_is_in_millimetres(tmp_path: Path) -> None:
    # 3MF core specification, attribute "unit" of <model>: "millimeter" by default; from memory.
    data = mf.threemf(mf.BOX_MM, mf.TRIANGLES, None)
    assert_allclose(cavity(tmp_path, "box.3mf", data, None).gross_m3, 0.006, rtol=1e-14)


def test_a_glb_is_in_metres(tmp_path: Path) -> None:
    # glTF 2.0 section 3.4: "the units for all linear distances are meters"; from memory.
    for said in (None, "m"):
        assert_allclose(cavity(tmp_path, "box.glb", mf.glb(mf.BOX, mf.TRIANGLES), said).gross_m3, 0.006, rtol=1e-6)


# --- axes and origin -------------------------------------------------------------------------------------------------


def test_axes_and_origin_place_the_cavity(tmp_path: Path) -> None:
    # x forward, y right, z down: a file's (0.3, 0.2, 0.1) is (-0.3, 0.2, -0.1) in body axes, from an origin at (1, 2, 3).
    data = mf.obj(mf.BOX_MM, mf.QUADS)
    read = cavity(tmp_path, "box.obj", data, axes_text="Forward,right , down", origin_m=np.array([1.0, 2.0, 3.0]))
    assert_allclose(read.bounds_m, [[0.7, 2.0, 2.9], [1.0, 2.2, 3.0]], rtol=1e-14)
    assert read.gross_m3 > 0.0


# --- polygons --------------------------------------------------------------------------------------------------------

POLYGON_WRITERS = {k: WRITERS[k] for k in ("OBJ", "OFF", "text PLY", "binary PLY", "big-endian PLY")}
ARROW = [(0, 0), (200, 200), (0, 400), (100, 200)]  # concave at its last corner; half of 400 x (200 - 100) = 20000 mm2
ELL = [(0, 0), (300, 0), (300, 100), (100, 100), (100, 300), (0, 300)]  # 300 x 100 + 100 x 200 = 50000 mm2
COMB = [
    (0, 0),
    (500, 0),
    (500, 200),
    (400, 200),
    (400, 100),
    (300, 100),
    (300, 200),
    (200, 200),
    (200, 100),
    (100, 100),
]
COMB += [(100, 200), (0, 200)]  # 500 x 200 less two gaps of 100 x 100 = 80000 mm2
SPLIT = [(0, 0), (100, 0), (200, 0), (300, 0), (300, 200), (0, 200)]  # corners on a straight side; 60000 mm2


@pytest.mark.parametrize("first", range(12))
@pytest.mark.parametrize(
    ("outline", "area_mm2"),
    [(ARROW, 20000), (ELL, 50000), (COMB, 80000), (SPLIT, 60000)],
    ids=["arrow", "L", "comb", "split"],
)
def test_no_polygon_is_folded_over(tmp_path: Path, outline: list[tuple[int, int]], area_mm2: int, first: int) -> None:
    # A fold keeps the volume but counts area twice, so the surface's whole area tells. Every corner comes first once.
    turned = outline[first % len(outline) :] + outline[: first % len(outline)]
    vertices, faces = mf.prism(turned, 100.0)
    around = sum(np.hypot(*np.subtract(p, q)) for p, q in zip(turned, turned[1:] + turned[:1], strict=True))
    read = cavity(tmp_path, "prism.off", mf.off(vertices, faces))
    assert_allclose(read.gross_m3, area_mm2 * 100 * 1e-9, rtol=1e-13)
    assert_allclose(read.wetted_area_m2, (2 * area_mm2 + 100 * around) * 1e-6, rtol=1e-13)
    assert len(read.faces) == sum(len(face) - 2 for face in faces)


@pytest.mark.parametrize("form", POLYGON_WRITERS)
def test_quads_and_mixed_polygons_in_every_format_that_has_them(tmp_path: Path, form: str) -> None:
    ending, write, _ = POLYGON_WRITERS[form]
    assert_allclose(cavity(tmp_path, f"box.{ending}", write(mf.BOX_MM, mf.QUADS)).gross_m3, 0.006, rtol=1e-14)
    mixed = [[0, 3, 2], [0, 2, 1], *mf.QUADS[1:]]
    assert_allclose(cavity(tmp_path, f"mixed.{ending}", write(mf.BOX_MM, mixed)).gross_m3, 0.006, rtol=1e-14)
    assert_allclose(cavity(tmp_path, f"ell.{ending}", write(*mf.prism(ELL, 100.0))).gross_m3, 0.005, rtol=1e-14)


def test_the_first_row_of_a_binary_ply_does_not_speak_for_the_others(tmp_path: Path) -> None:
    # Sizes 4, 3, 3, 3, 5, 4 ...: as many bytes as with 4 in every row would be, but for one.
    vertices, faces = mf.prism(ELL, 100.0)
    for order in (faces[2:] + faces[:2], faces[::-1]):
        assert_allclose(cavity(tmp_path, "ell.ply", mf.ply_binary(vertices, order)).gross_m3, 0.005, rtol=1e-14)


def test_a_bent_polygon_is_noted(tmp_path: Path) -> None:
    bent = mf.BOX_MM.copy()
    bent[6, 2] += 30.0
    read = cavity(tmp_path, "bent.obj", mf.obj(bent, mf.QUADS))
    # The top's diagonals are (300, 200, 30) and (-300, 200, 0); across their product (-6000, -9000, 120000), of length
    # 120486, two corners lie at 0 and two at -300 x 6000 / 120486 = -200 x 9000 / 120486 = -14.94 mm: 4.98 % of 300 mm.
    assert read.notes == (
        "1 face of more than three corners is not flat, by up to 5.0% of its size;"
        " how it is cut into triangles shapes the cavity",
    )


# --- raw -------------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("ending", ["stl", "obj", "ply", "off", "3mf", "glb"])
def test_as_the_mesh_library_writes_so_it_is_read(tmp_path: Path, ending: str) -> None:
    # An independent writer and a reader of its own: same faces, corner for corner.
    body = trimesh.creation.capsule(height=0.3, radius=0.1, count=[12, 12])
    body.export(tmp_path / f"capsule.{ending}")
    raw = files.read(tmp_path / f"capsule.{ending}")
    assert raw.faces.shape == body.faces.shape
    tolerance = 1e-6  # text formats are written with eight digits or so, binary ones in single precision
    assert_allclose(raw.vertices[raw.faces], body.vertices[body.faces], atol=tolerance)


def test_nothing_is_merged_but_equal_corners(tmp_path: Path) -> None:
    # Two solids of one text STL, a nanometre apart: still two, each with corners of its own.
    apart = np.concatenate([mf.BOX_MM, mf.BOX_MM + np.array([300.000001, 0, 0])])
    data = mf.stl_text(mf.BOX_MM, mf.TRIANGLES) + mf.stl_text(apart[8:], mf.TRIANGLES)
    (tmp_path / "two.stl").write_bytes(data)
    raw = files.read(tmp_path / "two.stl")
    assert len(raw.faces) == 24
    assert len(np.unique(raw.vertices, axis=0)) == 16


def test_names_that_hold_keywords_are_names(tmp_path: Path) -> None:
    data = mf.stl_text(mf.BOX_MM, mf.TRIANGLES, "vertex 1 2 3 facet endsolid")
    assert_allclose(cavity(tmp_path, "box.stl", data).gross_m3, 0.006, rtol=1e-14)


def test_a_binary_stl_may_begin_with_solid(tmp_path: Path) -> None:
    data = mf.stl_binary(mf.BOX_MM, mf.TRIANGLES, b"solid tank")
    assert_allclose(cavity(tmp_path, "box.stl", data).gross_m3, 0.006, rtol=1e-6)


@pytest.mark.parametrize("form", ["text STL", "OBJ", "OFF", "text PLY"])
@pytest.mark.parametrize("change", ["crlf", "cr", "bom", "upper case", "no last line end"])
def test_text_files_of_all_systems(tmp_path: Path, form: str, change: str) -> None:
    ending, write, _ = WRITERS[form]
    data = write(mf.BOX_MM, mf.TRIANGLES)
    if change == "bom":
        data = data if ending == "ply" else b"\xef\xbb\xbf" + data
    elif change == "upper case":
        data = data.upper() if ending == "stl" else data
    else:
        data = {"crlf": data.replace(b"\n", b"\r\n"), "cr": data.replace(b"\n", b"\r")}.get(change, data.rstrip())
    assert_allclose(cavity(tmp_path, f"box.{ending.upper()}", data).gross_m3, 0.006, rtol=1e-14)


def test_groups_materials_and_continued_lines_of_an_obj_change_nothing(tmp_path: Path) -> None:
    lines = mf.obj(mf.BOX_MM, mf.TRIANGLES).decode().splitlines()
    vertices, faces = lines[:8], lines[8:]
    text = [
        "# a tank, tank",
        "mtllib ../colours.mtl",
        "o tank",
        *(f"{v} 0.5 0.5 0.5" for v in vertices),
        "vt 0 0",
        "vn 0 0 1",
    ]
    for i, face in enumerate(faces):
        a, b, c = face.split()[1:]
        text += [f"g part{i}", f"usemtl colour{i % 3}", "s off", f"f {a}/1/1 {b}//1 \\", f"  {c}/1 # one face"]
    read = cavity(tmp_path, "box.obj", "\n".join(text).encode())
    assert (len(read.faces), read.notes) == (12, ())
    assert_allclose(read.gross_m3, 0.006, rtol=1e-14)


def test_negative_numbers_of_an_obj_count_back_from_the_face(tmp_path: Path) -> None:
    # Each face follows its own four corners, so -1 is another vertex each time.
    text = "".join(
        "".join(f"v {a} {b} {c}\n" for a, b, c in mf.BOX_MM[quad].tolist()) + "f -4 -3 -2 -1\n" for quad in mf.QUADS
    )
    assert_allclose(cavity(tmp_path, "box.obj", text.encode()).gross_m3, 0.006, rtol=1e-14)


@pytest.mark.parametrize("first", ["COFF", "NOFF", "STCNOFF", "OFF # a tank", "OFF 8 12 18"])
def test_off_files_with_more_than_corners(tmp_path: Path, first: str) -> None:
    lines = mf.off(mf.BOX_MM, mf.TRIANGLES).decode().splitlines()
    body = [f"{line} 0.1 0.2 0.3 1" for line in lines[2:]]  # colours after corners and after faces
    head = [first] if "8" in first else [first, "", "8 12 18  # counts"]
    assert_allclose(cavity(tmp_path, "box.off", "\n".join(head + body).encode()).gross_m3, 0.006, rtol=1e-14)


def test_a_ply_with_colours_names_of_its_own_and_other_tables(tmp_path: Path) -> None:
    head = "ply\nformat {} 1.0\nelement vertex 8\nproperty uchar red\nproperty float64 x\nproperty float64 y\n"
    head += "property float64 z\nelement face 6\nproperty list uint8 uint32 vertex_index\nproperty list uint8 float texcoord\n"
    head += "element edge 1\nproperty int vertex1\nproperty int vertex2\nend_header\n"
    rows = [f"7 {x!r} {y!r} {z!r}" for x, y, z in mf.BOX_MM.tolist()]
    rows += [" ".join(map(str, (4, *quad, k % 3, *[0.5] * (k % 3)))) for k, quad in enumerate(mf.QUADS)] + ["0 1"]
    text = head.format("ascii") + "\n".join(rows)
    assert_allclose(cavity(tmp_path, "text.ply", text.encode()).gross_m3, 0.006, rtol=1e-14)
    body = b"".join(b"\7" + row.astype("<f8").tobytes() for row in mf.BOX_MM)
    for k, quad in enumerate(mf.QUADS):
        body += b"\4" + np.array(quad, "<u4").tobytes() + bytes([k % 3]) + np.full(k % 3, 0.5, "<f4").tobytes()
    data = head.format("binary_little_endian").encode() + body + np.array([0, 1], "<i4").tobytes()
    assert_allclose(cavity(tmp_path, "binary.ply", data).gross_m3, 0.006, rtol=1e-14)
