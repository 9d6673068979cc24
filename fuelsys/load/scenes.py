"""GLB and 3MF through the mesh library: scenes of placed parts. What it would leave out without a word is refused first."""

from __future__ import annotations

import io
import json
import logging
import struct
import warnings
import zipfile
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

import numpy as np
import trimesh

from fuelsys import units
from fuelsys.kernels.compiled import Floats
from fuelsys.load.raw import Indices, Raw, check_coordinates, check_indices, coordinates, counted, damaged

MOST_UNPACKED_BYTES = 2 * 1024**3
# glTF 2.0 section 3.4, "the units for all linear distances are meters"; the 3MF core specification names these six units,
# the millimetre where none is given, for which the mesh library writes the plural. Both from memory.
_3MF_UNITS = {"micron": "um", "millimeter": "mm", "centimeter": "cm", "inch": "in", "foot": "ft", "meter": "m"}
_NONE_GIVEN = "millimeters"
_TRIANGLES, _STRIPS, _FLOAT = 4, 5, 5126
_MEND = "Export it again with plain triangles in one file, or as STL."


class _Kept(logging.Handler):
    """Keeps what the mesh library warns of, which is then a fault and not a line on a terminal."""

    def __init__(self) -> None:
        super().__init__(logging.WARNING)
        self.said: list[str] = []

    def emit(self, record: logging.LogRecord) -> None:
        self.said.append(record.getMessage())


@contextmanager
def _nothing_lost() -> Iterator[None]:
    """Whatever the mesh library would only warn of is a fault: a number read by half, a part left out."""
    log, kept = logging.getLogger("trimesh"), _Kept()
    passed_on, log.propagate = log.propagate, False
    log.addHandler(kept)
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            warnings.filterwarnings("error", message="string or file could not be read")  # numpy, of half a number
            yield
    finally:
        log.removeHandler(kept)
        log.propagate = passed_on
    if kept.said:
        raise damaged(f"parts of it cannot be read ({kept.said[0].strip('.!')})", _MEND)


def read_glb(data: bytes) -> Raw:
    """All triangles of the scene, each part where its nodes place it; metres."""
    _check_glb(data)
    with _nothing_lost():
        scene = trimesh.load_scene(io.BytesIO(data), file_type="glb", process=False, skip_materials=True)
    return Raw(*_placed(scene), "m")


def read_3mf(data: bytes) -> Raw:
    """All triangles of the build, each part where its items place it; in the file's own unit."""
    if not zipfile.is_zipfile(io.BytesIO(data)):
        raise damaged("it is not a zip archive, as every 3MF is", "Export it again as 3MF.")
    with zipfile.ZipFile(io.BytesIO(data)) as archive:
        unpacked = sum(member.file_size for member in archive.infolist())
    if unpacked > MOST_UNPACKED_BYTES:
        raise damaged(f"unpacked it would take {unpacked / 1e9:.3g} GB", "Export a coarser mesh.")
    with _nothing_lost():
        scene = trimesh.load_scene(io.BytesIO(data), file_type="3mf", process=False, postprocess=False)
    stated = str(scene.metadata["units"])
    unit = "mm" if stated == _NONE_GIVEN else _3MF_UNITS.get(stated)
    if unit is None:
        raise damaged(f"it says that its unit is {units.shown(stated)}", f"3MF knows {', '.join(_3MF_UNITS)}.")
    return Raw(*_placed(scene), unit)


def _placed(scene: trimesh.Scene) -> tuple[Floats, Indices]:
    vertices: list[Floats] = [coordinates([])]
    faces: list[Indices] = [np.zeros((0, 3), dtype=np.int64)]
    n_vertices = 0
    for node in sorted(scene.graph.nodes_geometry):
        transform, key = scene.graph[node]
        part = scene.geometry[key]
        if not isinstance(part, trimesh.Trimesh):  # lines and points enclose nothing
            continue
        corners, triangles = _moved(part, transform)
        vertices.append(corners)
        faces.append(triangles + n_vertices)
        n_vertices += len(corners)
    return np.concatenate(vertices), np.concatenate(faces)


def _moved(part: trimesh.Trimesh, transform: Floats) -> tuple[Floats, Indices]:
    """A part in its place. Term by term: a matrix product may round equal corners differently, and they must stay equal."""
    vertices, faces = np.asarray(part.vertices, dtype=np.float64), np.asarray(part.faces, dtype=np.int64)
    check_coordinates(vertices)
    check_indices(faces, len(vertices))
    if not np.isfinite(transform).all() or not np.array_equal(transform[3], (0.0, 0.0, 0.0, 1.0)):
        raise damaged("a part's place in the scene is not a place")
    x, y, z = (vertices[:, k : k + 1] for k in range(3))
    moved = x * transform[:3, 0] + y * transform[:3, 1] + z * transform[:3, 2] + transform[:3, 3]
    return moved, faces[:, ::-1] if np.linalg.det(transform[:3, :3]) < 0.0 else faces


# --- what glTF can say and the mesh library does not read ------------------------------------------------------------


def _check_glb(data: bytes) -> None:
    if data[:4] != b"glTF" or len(data) < 20:
        raise damaged('it does not begin with "glTF"', "Export it again as GLB.")
    announced, json_bytes = struct.unpack("<8xI I", data[:16])
    if announced != len(data):
        raise damaged(f"the header announces {counted(announced, 'byte')}, the file holds {len(data)}")
    header: dict[str, Any] = json.loads(data[20 : 20 + json_bytes])
    if any(not str(b.get("uri", "data:")).startswith("data:") for b in header.get("buffers", [])):
        raise damaged("its geometry stands in another file", "Export everything into the one GLB file.")
    needed = [e for e in header.get("extensionsRequired", []) if not e.startswith(("KHR_materials", "KHR_texture"))]
    if needed:
        raise damaged(f"it is written with {', '.join(map(str, needed))}", "Export it without compression, or as STL.")
    _check_parts(header)
    _check_tree(header)


def _check_parts(header: dict[str, Any]) -> None:
    accessors = header.get("accessors", [])
    for part in (part for mesh in header.get("meshes", []) for part in mesh["primitives"]):
        if part.get("mode", _TRIANGLES) > _STRIPS:
            raise damaged("its faces are fans of triangles", _MEND)
        if part.get("targets"):
            raise damaged("its surface can change its shape (morph targets)", _MEND)
        for index in (part["attributes"]["POSITION"], part.get("indices", part["attributes"]["POSITION"])):
            if "sparse" in accessors[index] or "bufferView" not in accessors[index]:
                raise damaged("its corners are written in the sparse way", _MEND)
        if accessors[part["attributes"]["POSITION"]]["componentType"] != _FLOAT:
            raise damaged("its corners are written as whole numbers", _MEND)


def _check_tree(header: dict[str, Any]) -> None:
    nodes = header.get("nodes", [])
    children = [child for node in nodes for child in node.get("children", [])]
    if len(set(children)) < len(children):
        raise damaged("a part hangs on two others at once", _MEND)
    if any("skin" in node for node in nodes):
        raise damaged("its surface hangs on a skeleton (skin)", _MEND)
