"""Writes bodies as mesh files of the six formats, byte by byte and without the mesh library that the program reads with."""

from __future__ import annotations

import io
import json
import struct
import zipfile
from collections.abc import Iterable, Sequence
from typing import Any

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Polygons = Sequence[Sequence[int]]

# A box of 0.3 x 0.2 x 0.1 m holds 6 L.
BOX = np.array([[x, y, z] for z in (0.0, 0.1) for x, y in ((0.0, 0.0), (0.3, 0.0), (0.3, 0.2), (0.0, 0.2))])
QUADS = [[3, 2, 1, 0], [4, 5, 6, 7], [0, 1, 5, 4], [1, 2, 6, 5], [2, 3, 7, 6], [3, 0, 4, 7]]
TRIANGLES = [triangle for a, b, c, d in QUADS for triangle in ([a, b, c], [a, c, d])]
BOX_MM = BOX * 1e3


def _number(value: float) -> str:
    return f"{value:.17g}"


def _row(values: Iterable[float]) -> str:
    return " ".join(_number(value) for value in values)


def stl_text(vertices: Floats, faces: Polygons, name: str = "tank") -> bytes:
    facets = [
        "facet normal 0 0 0\n outer loop\n"
        + "".join(f"  vertex {_row(vertices[i])}\n" for i in face)
        + " endloop\nendfacet\n"
        for face in faces
    ]
    return f"solid {name}\n{''.join(facets)}endsolid {name}\n".encode()


def stl_binary(vertices: Floats, faces: Polygons, header: bytes = b"") -> bytes:
    records = [struct.pack("<12fH", 0, 0, 0, *vertices[face].ravel(), 0) for face in faces]
    return header.ljust(80) + struct.pack("<I", len(faces)) + b"".join(records)


def obj(vertices: Floats, faces: Polygons) -> bytes:
    lines = [f"v {_row(v)}" for v in vertices] + ["f " + " ".join(str(i + 1) for i in face) for face in faces]
    return ("\n".join(lines) + "\n").encode()


def off(vertices: Floats, faces: Polygons) -> bytes:
    lines = ["OFF", f"{len(vertices)} {len(faces)} 0", *(_row(v) for v in vertices)]
    lines += [" ".join(str(i) for i in (len(face), *face)) for face in faces]
    return ("\n".join(lines) + "\n").encode()


def ply_header(form: str, n_vertices: int, n_faces: int, coordinate: str = "double") -> str:
    coordinates = "".join(f"property {coordinate} {axis}\n" for axis in "xyz")
    faces = f"element face {n_faces}\nproperty list uchar int vertex_indices\n"
    return f"ply\nformat {form} 1.0\ncomment a tank\nelement vertex {n_vertices}\n{coordinates}{faces}end_header\n"


def ply_text(vertices: Floats, faces: Polygons) -> bytes:
    lines = [_row(v) for v in vertices] + [" ".join(str(i) for i in (len(face), *face)) for face in faces]
    return (ply_header("ascii", len(vertices), len(faces)) + "\n".join(lines) + "\n").encode()


def ply_binary(vertices: Floats, faces: Polygons, coordinate: str = "double", order: str = "little") -> bytes:
    sign = {"little": "<", "big": ">"}[order]
    head = ply_header(f"binary_{order}_endian", len(vertices), len(faces), coordinate).encode()
    body = vertices.astype(sign + {"double": "f8", "float": "f4"}[coordinate]).tobytes()
    return head + body + b"".join(struct.pack(f"{sign}B{len(face)}i", len(face), *face) for face in faces)


def glb(
    vertices: Floats,
    faces: Polygons,
    nodes: Sequence[dict[str, Any]] = ({"mesh": 0},),
    roots: Sequence[int] = (0,),
    change: Any = lambda _: None,
) -> bytes:
    """One mesh, placed by nodes; change may alter the header before it is written."""
    corners = vertices.astype("<f4").tobytes()
    indices = np.array(faces, dtype="<u4").tobytes()
    header: dict[str, Any] = {
        "asset": {"version": "2.0"},
        "scene": 0,
        "scenes": [{"nodes": list(roots)}],
        "nodes": [dict(node) for node in nodes],
        "meshes": [{"primitives": [{"attributes": {"POSITION": 0}, "indices": 1}]}],
        "accessors": [
            {"bufferView": 0, "componentType": 5126, "count": len(vertices), "type": "VEC3"},
            {"bufferView": 1, "componentType": 5125, "count": 3 * len(faces), "type": "SCALAR"},
        ],
        "bufferViews": [
            {"buffer": 0, "byteOffset": 0, "byteLength": len(corners)},
            {"buffer": 0, "byteOffset": len(corners), "byteLength": len(indices)},
        ],
        "buffers": [{"byteLength": len(corners) + len(indices)}],
    }
    change(header)
    text = json.dumps(header).encode()
    text += b" " * (-len(text) % 4)
    chunks = struct.pack("<I4s", len(text), b"JSON") + text
    chunks += struct.pack("<I4s", len(corners) + len(indices), b"BIN\0") + corners + indices
    return struct.pack("<4sII", b"glTF", 2, 12 + len(chunks)) + chunks


CORE = (
    "http://schemas.microsoft.com/3dmanufacturing/core/2015/02"  # the name of the format's vocabulary, not an address
)


def threemf(
    vertices: Floats, faces: Polygons, unit: str | None = "millimeter", build: str = "", more: str = ""
) -> bytes:
    """One object with id 1, built once as it stands unless other items are given; more stands beside the object."""
    corners = "".join(f'<vertex x="{_number(x)}" y="{_number(y)}" z="{_number(z)}"/>' for x, y, z in vertices)
    triangles = "".join(f'<triangle v1="{a}" v2="{b}" v3="{c}"/>' for a, b, c in faces)
    mesh = f"<mesh><vertices>{corners}</vertices><triangles>{triangles}</triangles></mesh>"
    stated = f' unit="{unit}"' if unit else ""
    items = build or '<item objectid="1"/>'
    resources = f'<resources><object id="1" type="model">{mesh}</object>{more}</resources>'
    return zipped(f'<?xml version="1.0"?><model{stated} xmlns="{CORE}">{resources}<build>{items}</build></model>')


def zipped(model: str) -> bytes:
    stream = io.BytesIO()
    with zipfile.ZipFile(stream, "w", zipfile.ZIP_DEFLATED) as archive:
        archive.writestr("3D/3dmodel.model", model)
    return stream.getvalue()


def prism(outline: Sequence[Sequence[float]], height: float) -> tuple[Floats, list[list[int]]]:
    """A plan polygon, counter-clockwise, drawn up to a height, its ends left as polygons: vertices, faces outward."""
    n = len(outline)
    vertices = np.array([[*point, z] for z in (0.0, height) for point in outline], dtype=np.float64)
    walls = [[i, (i + 1) % n, (i + 1) % n + n, i + n] for i in range(n)]
    return vertices, [list(range(n))[::-1], list(range(n, 2 * n)), *walls]
