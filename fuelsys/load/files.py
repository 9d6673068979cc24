"""Mesh files as they stand: corners and faces of each body, read raw, nothing cleaned up, nothing judged."""

from __future__ import annotations

import io
import warnings
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import trimesh

from fuelsys.errors import MeshError
from fuelsys.kernels.compiled import Floats, Ints

FORMATS = {".stl": "STL", ".obj": "OBJ", ".ply": "PLY", ".off": "OFF", ".3mf": "3MF", ".glb": "GLB"}
# What the formats' own standards say: glTF 2.0 section 3.4, "the units for all linear distances are meters"; the 3MF core
# specification gives a unit attribute whose default is the millimetre. Both from memory.
_OWN_UNITS = {
    "millimeter": "mm", "millimeters": "mm", "centimeter": "cm", "centimeters": "cm", "meter": "m", "meters": "m",
    "inch": "in", "inches": "in", "foot": "ft", "feet": "ft", "micron": "um", "microns": "um",
}  # fmt: skip


@dataclass(frozen=True)
class Body:
    """One body of a file: vertices (n, 3) in the file's own unit and axes, faces (m, 3)."""

    name: str
    vertices: Floats
    faces: Ints


@dataclass(frozen=True)
class MeshFile:
    """All bodies of a file and, where its format defines one, its unit."""

    path: Path
    format: str
    bodies: tuple[Body, ...]
    unit: str | None


def _bytes_of(path: Path) -> bytes:
    file = path.name
    if not path.exists():
        raise MeshError("there is no such file", mend=f"Check the path; looked for {path}.", file=file)
    if not path.is_file():
        raise MeshError(
            "this is not a regular file", mend="Give the mesh file that the CAD system exported.", file=file
        )
    try:
        data = path.read_bytes()
    except OSError as fault:
        raise MeshError(
            f"the file cannot be read ({fault.strerror})", mend="Check its permissions.", file=file
        ) from fault
    if not data:
        raise MeshError("the file is empty", mend="Export the surface again.", file=file)
    return data


def read(path: Path) -> MeshFile:
    """Read a mesh file; MeshError where it is not one of the formats or cannot be read as what its name says."""
    kind = FORMATS.get(path.suffix.lower())
    data = _bytes_of(path)
    if kind is None:
        found = f'the ending "{path.suffix}" is not that of a mesh format' if path.suffix else "the name has no ending"
        raise MeshError(found, mend=f"Export as one of {', '.join(FORMATS.values())}.", file=path.name)
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            scene = trimesh.load_scene(io.BytesIO(data), file_type=path.suffix.lower()[1:], process=False)
            bodies = tuple(_bodies(scene, path.stem))
    except Exception as fault:
        raise MeshError(
            f"the file cannot be read as {kind} ({type(fault).__name__})",
            mend=f"Export it again as {kind}, or give it the ending of what it is.",
            file=path.name,
        ) from fault
    return MeshFile(path, kind, bodies, _own_unit(scene, kind))


def _bodies(scene: trimesh.Scene, name: str) -> list[Body]:
    bodies = []
    for node in sorted(scene.graph.nodes_geometry):
        transform, key = scene.graph[node]
        mesh = scene.geometry[key]
        if not isinstance(mesh, trimesh.Trimesh):
            continue
        vertices = np.asarray(mesh.vertices, dtype=np.float64)
        faces = np.asarray(mesh.faces, dtype=np.int64)
        if not np.array_equal(transform, np.eye(4)):
            vertices = vertices @ transform[:3, :3].T + transform[:3, 3]
            if np.linalg.det(transform[:3, :3]) < 0.0:
                faces = faces[:, ::-1]
        if len(faces) and (faces.min() < 0 or faces.max() >= len(vertices)):
            raise IndexError("a face names a vertex that does not exist")
        bodies.append(Body(str(key) if len(scene.geometry) > 1 else name, vertices, faces.astype(np.int32)))
    return bodies


def _own_unit(scene: trimesh.Scene, kind: str) -> str | None:
    if kind == "GLB":
        return "m"
    if kind == "3MF":
        stated = {str(mesh.metadata.get("units", "millimeters")).lower() for mesh in scene.geometry.values()}
        return _OWN_UNITS.get(stated.pop()) if len(stated) == 1 else None
    return None
