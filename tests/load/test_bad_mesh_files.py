"""Mesh files that are not what their ending says, or are cut off, or say what is not read: each refused in one line."""

from __future__ import annotations

import io
import struct
import zipfile
from collections.abc import Callable
from pathlib import Path
from typing import Any

import meshfiles as mf
import pytest

from fuelsys.errors import MeshError
from fuelsys.load.meshes.door import load_cavity

BOX, TRIANGLES = mf.BOX_MM, mf.TRIANGLES
STL, BINARY = mf.stl_text(BOX, TRIANGLES), mf.stl_binary(BOX, TRIANGLES)
OBJ, OFF = mf.obj(BOX, TRIANGLES), mf.off(BOX, TRIANGLES)
PLY, BINARY_PLY = mf.ply_text(BOX, TRIANGLES), mf.ply_binary(BOX, TRIANGLES)
GLB = mf.glb(mf.BOX, TRIANGLES)

DAMAGED = "The file is damaged: export it again."
NO_FACES = "there are no faces in it"
FACES = "Export the tank's inside as a surface or solid, not as lines."
CUT_OFF = "the file is cut off"
PLAIN = "Export it again with plain triangles in one file, or as STL."
FORMATS = "Export as one of STL, OBJ, PLY, OFF, 3MF, GLB, STEP."
COORDINATES = "where three coordinates are due"
MISSING = "names vertex 8, counted from zero, and there are 8"
UNKNOWN = {
    kind: (f"the file cannot be read as {kind}", f"Export it again as {kind}, or give it the ending of what it is.")
    for kind in ("GLB", "3MF")
}
NOT_PLACED = ("nothing in it is placed (its build is empty)", "Place the tank on the plate and export again.")
PICK = 'Pick one by its name or number: --body NAME, or body = "NAME" in the design file\'s [[tank]].'


def bomb(megabytes: int) -> bytes:
    """A 3MF whose model is so many millions of blanks."""
    stream = io.BytesIO()
    with (
        zipfile.ZipFile(stream, "w", zipfile.ZIP_DEFLATED, compresslevel=1) as archive,
        archive.open("3D/3dmodel.model", "w") as model,
    ):
        for _ in range(megabytes):
            model.write(b" " * 1_000_000)
    return stream.getvalue()


def made_of(number: int, *parts: int) -> str:
    """A 3MF object that is made of others."""
    components = "".join(f'<component objectid="{part}"/>' for part in parts)
    return f'<object id="{number}" type="model"><components>{components}</components></object>'


def glb(change: Callable[[dict[str, Any]], object]) -> bytes:
    return mf.glb(mf.BOX, TRIANGLES, [{"mesh": 0}, {"mesh": 0}], change=change)


def primitive(**changes: Any) -> bytes:
    return glb(lambda header: header["meshes"][0]["primitives"][0].update(changes))


def accessor(**changes: Any) -> bytes:
    return glb(lambda header: header["accessors"][0].update(changes))


def node(**changes: Any) -> bytes:
    return glb(lambda header: header["nodes"][0].update(changes))


def archive(name: str, text: str) -> bytes:
    stream = io.BytesIO()
    with zipfile.ZipFile(stream, "w") as zipped:
        zipped.writestr(name, text)
    return stream.getvalue()


HALF_A_NUMBER = '<object id="2"><mesh><vertices><vertex x="1" y="2" z="3mm"/></vertices><triangles/></mesh></object>'
TWICE = [{"mesh": 0}, {"mesh": 0, "translation": [1, 0, 0]}]
NO_PLACE = [{"mesh": 0, "scale": [1, 1, float("nan")]}]

# What is wrong: the file's name, what is in it, what was found, and the mend where it is not DAMAGED.
CASES: dict[str, tuple[str, bytes, str] | tuple[str, bytes, str, str]] = {
    "empty": ("a.stl", b"", "the file is empty", "Export the surface again."),
    "wrong ending": ("a.dxf", STL, 'the ending ".dxf" is not that of a mesh format', FORMATS),
    "no ending": ("tank", STL, "the name has no ending", FORMATS),
    # STL
    "three bytes": ("a.stl", b"\0\1\2", "this is neither a text STL nor a binary one: it has only 3 bytes"),
    "prose": (
        "a.stl",
        b"The tank holds 38 litres.\n" * 9,
        'this is text, but not an STL\'s: it does not begin with "solid"',
        "Export it again as STL.",
    ),
    "binary STL cut off": (
        "a.stl",
        BINARY[:-75],
        "the header announces 12 triangles, the file holds 10 and 25 bytes more",
    ),
    "binary STL with a wrong count": (
        "a.stl",
        BINARY[:80] + struct.pack("<I", 13) + BINARY[84:],
        "the header announces 13 triangles, the file holds 12",
    ),
    "binary STL of nothing": ("a.stl", BINARY[:80] + bytes(4), NO_FACES, FACES),
    "text STL of nothing": ("a.stl", b"solid tank\nendsolid tank\n", NO_FACES, FACES),
    "text STL without its end": (
        "a.stl",
        STL.removesuffix(b"endsolid tank\n"),
        f'the text ends before "endsolid"; {CUT_OFF}',
    ),
    "text STL cut in a number": (
        "a.stl",
        STL[: STL.rindex(b"0\n endloop")],
        f'the text ends before "endsolid"; {CUT_OFF}',
    ),
    "text STL with a comma": (
        "a.stl",
        STL.replace(b"vertex 300 0 0", b"vertex 300,0 0 0"),
        f'line 6 reads "vertex 300,0 0 0", {COORDINATES}',
    ),
    "text STL with a corner too few": (
        "a.stl",
        STL.replace(b"  vertex 0 200 0\n", b"", 1),
        'line 6 reads "endloop", where a vertex is due',
    ),
    "text STL with a corner too many": (
        "a.stl",
        STL.replace(b" endloop", b"  vertex 1 2 3\n endloop", 1),
        'line 7 reads "vertex 1 2 3", where "endloop" is due',
    ),
    # OBJ
    "OBJ of lines": ("a.obj", b"v 0 0 0\nv 1 0 0\nl 1 2\n", f"{NO_FACES}, only 2 points", FACES),
    "OBJ that names vertex 0": (
        "a.obj",
        OBJ.replace(b"f 1 ", b"f 0 ", 1),
        "the face on line 13 names vertex 0, and there are 8 vertices before it",
    ),
    "OBJ that names a missing vertex": (
        "a.obj",
        OBJ.replace(b"f 1 ", b"f 9 ", 1),
        "the face on line 13 names vertex 9, and there are 8 vertices",
    ),
    "OBJ that counts back too far": (
        "a.obj",
        b"v 0 0 0\nf -1 -1 -2\n",
        "the face on line 2 names vertex -2, and there is 1 vertex before it",
    ),
    "OBJ with half a face": (
        "a.obj",
        OBJ + b"f 1 2\n",
        'line 21 reads "f 1 2", where a face of three or more corners is due',
    ),
    "OBJ with a letter O": (
        "a.obj",
        OBJ.replace(b"v 300 0 0", b"v 300 0 O"),
        f'line 2 reads "v 300 0 O", {COORDINATES}',
    ),
    # OFF
    "OFF that names a missing vertex": ("a.off", OFF.replace(b"3 0 ", b"3 8 "), f"the face on line 15 {MISSING}"),
    "OFF that names vertex -1": (
        "a.off",
        OFF.replace(b"3 0 ", b"3 -1 "),
        "the face on line 15 names vertex -1, counted from zero, and there are 8",
    ),
    "OFF cut off": (
        "a.off",
        b"\n".join(OFF.splitlines()[:-2]),
        "the counts announce 8 vertices and 12 faces, the file holds 18 lines of them",
    ),
    "OFF cut in a face": (
        "a.off",
        OFF[:-3],
        'line 22 reads "3 3 4", where a face is due: a count of 3 or more, then its vertices',
    ),
    "OFF without counts": (
        "a.off",
        b"OFF\ntank\n",
        'line 2 reads "tank", where the counts of vertices and faces are due',
    ),
    "OFF that is an OBJ": (
        "a.off",
        OBJ,
        "its content is OBJ and not OFF, as its ending says",
        "Give it the ending .obj.",
    ),
    # PLY
    "binary PLY of points": ("a.ply", mf.ply_binary(BOX, []), f"{NO_FACES}, only 8 points", FACES),
    "PLY of points": ("a.ply", mf.ply_text(BOX, []), f"{NO_FACES}, only 8 points", FACES),
    "PLY without a list of corners": (
        "a.ply",
        PLY.replace(b"vertex_indices", b"colours"),
        'its faces have no list "vertex_indices"',
    ),
    "PLY without x": ("a.ply", PLY.replace(b"double x", b"double u"), "its vertices have no x, y and z"),
    "PLY cut off": ("a.ply", b"\n".join(PLY.splitlines()[:-3]), "the header announces 20 rows, the file holds 17"),
    "PLY with a list cut short": (
        "a.ply",
        PLY.replace(b"3 3 2 1", b"3 3 2"),
        'row 1 of face reads "3 3 2", which is not what the header says',
    ),
    "PLY with half a header": ("a.ply", PLY[:60], f'the header has no "end_header"; {CUT_OFF}'),
    "PLY without a format": ("a.ply", PLY.replace(b"format", b"comment"), 'the header has no "format"'),
    "PLY of an unknown type": (
        "a.ply",
        PLY.replace(b"double x", b"quad x"),
        'line 5 reads "property quad x", which the format does not know',
    ),
    "PLY of fewer than none": (
        "a.ply",
        PLY.replace(b"face 12", b"face -1"),
        'line 8 reads "element face -1", which the format does not know',
    ),
    "PLY that is an OBJ": (
        "a.ply",
        OBJ,
        "its content is OBJ and not PLY, as its ending says",
        "Give it the ending .obj.",
    ),
    "PLY that names a missing vertex": ("a.ply", PLY.replace(b"3 3 2 1", b"3 3 2 8"), f"a face {MISSING}"),
    "PLY with two-cornered faces": ("a.ply", mf.ply_text(BOX, [[0, 1]]), "a face has fewer than three corners"),
    "PLY of strips": (
        "a.ply",
        PLY.replace(b"element face", b"element tristrips"),
        "its faces are strips of triangles",
        "Export the surface as single triangles or polygons.",
    ),
    "binary PLY cut in its faces": (
        "a.ply",
        BINARY_PLY[:-1],
        "the header announces 12 rows of face, the file ends before",
    ),
    "binary PLY cut in its corners": (
        "a.ply",
        BINARY_PLY[:300],
        "the header announces 8 rows of vertex, the file ends before",
    ),
    "binary PLY with too much": (
        "a.ply",
        BINARY_PLY + b"more",
        "after all that the header announces stand 4 bytes more",
    ),
    # GLB
    "GLB of garbage": (
        "a.glb",
        b"glTF" + bytes(range(90)),
        f"the header announces {0x07060504} bytes, the file holds 94",
    ),
    "GLB that is an OBJ": (
        "a.glb",
        OBJ,
        "its content is OBJ and not GLB, as its ending says",
        "Give it the ending .obj.",
    ),
    "GLB cut off": ("a.glb", GLB[:-9], f"the header announces {len(GLB)} bytes, the file holds {len(GLB) - 9}"),
    "GLB whose header is no JSON": ("a.glb", GLB.replace(b'"asset"', b'"asset '), *UNKNOWN["GLB"]),
    "GLB with its corners elsewhere": (
        "a.glb",
        glb(lambda header: header["buffers"][0].update(uri="../secret.bin")),
        "its geometry stands in another file",
        "Export everything into the one GLB file.",
    ),
    "GLB that is compressed": (
        "a.glb",
        glb(lambda header: header.update(extensionsRequired=["KHR_draco_mesh_compression"])),
        "it is written with KHR_draco_mesh_compression",
        "Export it without compression, or as STL.",
    ),
    "GLB of lines": ("a.glb", primitive(mode=1), NO_FACES, FACES),
    "GLB of fans": ("a.glb", primitive(mode=6), "its faces are fans of triangles", PLAIN),
    "GLB that changes its shape": (
        "a.glb",
        primitive(targets=[{"POSITION": 0}]),
        "its surface can change its shape (morph targets)",
        PLAIN,
    ),
    "GLB with sparse corners": (
        "a.glb",
        accessor(sparse={"count": 1}),
        "its corners are written in the sparse way",
        PLAIN,
    ),
    "GLB of whole numbers": ("a.glb", accessor(componentType=5123), "its corners are written as whole numbers", PLAIN),
    "GLB with a part on two nodes": (
        "a.glb",
        glb(lambda header: header["nodes"].extend([{"children": [1]}, {"children": [1]}])),
        "a part hangs on two others at once",
        PLAIN,
    ),
    "GLB with a skeleton": ("a.glb", node(skin=0), "its surface hangs on a skeleton (skin)", PLAIN),
    "GLB that names a missing vertex": ("a.glb", mf.glb(mf.BOX, [[0, 1, 8]]), f"a face {MISSING}"),
    "GLB with a place that is none": (
        "a.glb",
        mf.glb(mf.BOX, TRIANGLES, NO_PLACE),
        "a part's place in the scene is not a place",
    ),
    "GLB with a place that stretches into the distance": (
        "a.glb",
        mf.glb(mf.BOX, TRIANGLES, [{"mesh": 0, "matrix": [1, 0, 0, 0.5, 0, 1, 0, 0, 0, 0, 1, 0, 0, 0, 0, 1]}]),
        "a part's place in the scene is not a place",
    ),
    "GLB with its part in two places": (
        "a.glb",
        mf.glb(mf.BOX, TRIANGLES, TWICE, [0, 1]),
        "there are 2 separate bodies in it: 1 unnamed 6 L about (0.15, 0.1, 0.05) m; 2 unnamed 6 L about (1.15, 0.1, 0.05) m",
        PICK,
    ),
    # 3MF
    "3MF that is no zip": (
        "a.3mf",
        OBJ,
        "its content is OBJ and not 3MF, as its ending says",
        "Give it the ending .obj.",
    ),
    "3MF of chance bytes": ("a.3mf", b"no zip", "it is not a zip archive, as every 3MF is", "Export it again as 3MF."),
    "OFF of chance words": ("a.off", b"no mesh", 'it does not begin with "OFF"', "Export it again as OFF."),
    "PLY of chance words": ("a.ply", b"no mesh", 'it does not begin with "ply"', "Export it again as PLY."),
    "GLB of chance words": ("a.glb", b"no mesh", 'it does not begin with "glTF"', "Export it again as GLB."),
    "3MF without a model": ("a.3mf", archive("readme.txt", "a tank"), *NOT_PLACED),
    "3MF whose model is no XML": ("a.3mf", mf.zipped("<model><build>"), *UNKNOWN["3MF"]),
    "3MF that builds nothing": ("a.3mf", mf.threemf(BOX, TRIANGLES, build="<!-- -->"), *NOT_PLACED),
    "3MF whose object contains itself": (
        "a.3mf",
        mf.threemf(BOX, TRIANGLES, build='<item objectid="2"/>', more=made_of(2, 2)),
        'object "2" contains itself',
        "Export it again without groups, or as STL.",
    ),
    "3MF of copies of copies": (
        "a.3mf",
        mf.threemf(
            BOX, TRIANGLES, build='<item objectid="41"/>', more="".join(made_of(k, k - 1, k - 1) for k in range(2, 42))
        ),
        "1.1e+12 parts are placed in it, copies counted",  # 2 to the power of 40
        "Export the tank's inside alone.",
    ),
    "3MF that is a bomb": (
        "a.3mf",
        bomb(600),
        "unpacked it would take 0.6 GB",
        "Export a coarser mesh.",
    ),
    "OBJ in UTF-16": (
        "a.obj",
        "v 0 0 0".encode("utf-16"),
        "its text is UTF-16",
        "Save or export it as plain text (UTF-8).",
    ),
    "GLB whose part hangs on itself": (
        "a.glb",
        glb(lambda header: header["nodes"].append({"children": [2]})),
        "a part hangs on itself",
        "Export it again with plain triangles in one file, or as STL.",
    ),
    "3MF with half a number": ("a.3mf", mf.threemf(BOX, TRIANGLES, more=HALF_A_NUMBER), *UNKNOWN["3MF"]),
    "3MF of an unknown unit": (
        "a.3mf",
        mf.threemf(BOX, TRIANGLES, "yard"),
        'it says that its unit is "yard"',
        "3MF knows micron, millimeter, centimeter, inch, foot, meter.",
    ),
    "3MF that builds what is not there": (
        "a.3mf",
        mf.threemf(BOX, TRIANGLES, build='<item objectid="1"/><item objectid="7"/>'),
        "parts of it cannot be read (id 7 included but not defined)",
        PLAIN,
    ),
    "3MF that names a missing vertex": ("a.3mf", mf.threemf(BOX, [[0, 1, 8]]), f"a face {MISSING}"),
}


@pytest.mark.parametrize("case", CASES)
def test_what_is_not_a_mesh_file_is_refused(tmp_path: Path, case: str) -> None:
    name, data, found, mend = (*CASES[case], DAMAGED)[:4]
    (tmp_path / name).write_bytes(data)
    with pytest.raises(MeshError) as caught:
        load_cavity(tmp_path / name, None if name.endswith(("glb", "3mf")) else "mm")
    assert isinstance(caught.value, MeshError)
    assert caught.value.lines == [f"{name}: {found}. {mend}"]
