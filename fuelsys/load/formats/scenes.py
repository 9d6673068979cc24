"""3MF, and what GLB has in common with it: scenes of placed parts through the mesh library, and nothing lost without a word."""

from __future__ import annotations

import io
import logging
import warnings
import zipfile
from collections import Counter
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, field

import numpy as np
import trimesh
from lxml import etree

from fuelsys import units
from fuelsys.arrays import Floats
from fuelsys.load import bounds
from fuelsys.load.formats.raw import (
    Indices,
    Raw,
    check_coordinates,
    check_indices,
    coordinates,
    damaged,
)
from fuelsys.load.formats.sizes import PLAIN, Size, check_placed, together

# glTF 2.0 section 3.4, "the units for all linear distances are meters"; the 3MF core specification names these six units,
# the millimetre where none is given, for which the mesh library writes the plural. Both from memory.
_3MF_UNITS = {"micron": "um", "millimeter": "mm", "centimeter": "cm", "inch": "in", "foot": "ft", "meter": "m"}
_NONE_GIVEN = "millimeters"
# Of the types that the format knows (model, solidsupport, support, surface, other; from memory) only this is a body that is
# wanted; an object without a type is one.
_MODEL = "model"
_NAMED = ("{*}object", "{*}item", "{*}mesh", "{*}component")


class _Kept(logging.Handler):
    """Keeps what the mesh library warns of, which is then a fault and not a line on a terminal."""

    def __init__(self) -> None:
        super().__init__(logging.WARNING)
        self.said: list[str] = []

    def emit(self, record: logging.LogRecord) -> None:
        self.said.append(record.getMessage())


@contextmanager
def nothing_lost() -> Iterator[None]:
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
        raise damaged(f"parts of it cannot be read ({kept.said[0].strip('.!')})", PLAIN)


def read_3mf(data: bytes) -> Raw:
    """All triangles of the build, each part where its items place it; in the file's own unit."""
    if not zipfile.is_zipfile(io.BytesIO(data)):
        raise damaged("it is not a zip archive, as every 3MF is", "Export it again as 3MF.")
    with zipfile.ZipFile(io.BytesIO(data)) as archive:
        unpacked = sum(member.file_size for member in archive.infolist())
        small = max(bounds.MOST_SMALL_BYTES, bounds.MOST_RATIO * len(data))
        if unpacked > min(small, bounds.MOST_UNPACKED_BYTES):
            raise damaged(f"unpacked it would take {unpacked / 1e9:.3g} GB", "Export a coarser mesh.")
        named, build = _model(archive)
    placed = _check_build(build, unpacked)
    with nothing_lost():
        scene = trimesh.load_scene(io.BytesIO(data), file_type="3mf", process=False, postprocess=False)
    stated = str(scene.metadata["units"])
    unit = "mm" if stated == _NONE_GIVEN else _3MF_UNITS.get(stated)
    if unit is None:
        raise damaged(f"it says that its unit is {units.shown(stated)}", f"3MF knows {', '.join(_3MF_UNITS)}.")
    nodes = list(scene.graph.nodes_geometry)
    if len(nodes) != placed:  # the library drops some copies of copies in silence
        raise damaged(f"{placed} parts are placed in it, and {len(nodes)} of them can be read", PLAIN)
    return in_place(scene, nodes, range(len(nodes)), [_called(node, named) for node in nodes], unit)


def in_place(scene: trimesh.Scene, nodes: Sequence[str], owners: Sequence[int], names: Sequence[str], unit: str) -> Raw:
    """The triangles of some nodes, in their places; owners: the part of each node."""
    vertices: list[Floats] = [coordinates([])]
    faces: list[Indices] = [np.zeros((0, 3), dtype=np.int64)]
    parts: list[Indices] = [np.zeros(0, dtype=np.int64)]
    n_vertices = 0
    for node, owner in zip(nodes, owners, strict=True):
        transform, key = scene.graph[node]
        part = scene.geometry[key]
        if not isinstance(part, trimesh.Trimesh):  # lines and points enclose nothing
            continue
        corners, triangles = _moved(part, transform)
        vertices.append(corners)
        faces.append(triangles + n_vertices)
        parts.append(np.full(len(triangles), owner, dtype=np.int64))
        n_vertices += len(corners)
    return Raw(np.concatenate(vertices), np.concatenate(faces), unit, (), np.concatenate(parts), tuple(names))


def _moved(part: trimesh.Trimesh, transform: Floats) -> tuple[Floats, Indices]:
    """A part in its place. Term by term: a matrix product may round equal corners differently, and they must stay equal."""
    vertices, faces = np.asarray(part.vertices, dtype=np.float64), np.asarray(part.faces, dtype=np.int64)
    check_coordinates(vertices)
    check_indices(faces, len(vertices))
    if 3 * len(faces) < len(vertices):  # some writers hand all corners of a body to each of its faces
        used, faces = np.unique(faces, return_inverse=True)
        vertices, faces = vertices[used], faces.reshape(-1, 3)
    if not np.isfinite(transform).all() or not np.array_equal(transform[3], (0.0, 0.0, 0.0, 1.0)):
        raise damaged("a part's place in the scene is not a place")
    x, y, z = (vertices[:, k : k + 1] for k in range(3))
    moved = x * transform[:3, 0] + y * transform[:3, 1] + z * transform[:3, 2] + transform[:3, 3]
    return moved, faces[:, ::-1] if np.linalg.det(transform[:3, :3]) < 0.0 else faces


# --- names -----------------------------------------------------------------------------------------------------------


@dataclass
class _Build:
    """Of a 3MF: the objects that each object is made of, those that are placed, and how much each mesh holds."""

    made_of: dict[str, list[str]] = field(default_factory=dict)
    types: dict[str, str] = field(default_factory=dict)
    placed: list[str] = field(default_factory=list)
    sizes: dict[str, Size] = field(default_factory=dict)
    reads: Counter[str] = field(
        default_factory=Counter
    )  # how often the library reads the file that an object stands in


def _model(archive: zipfile.ZipFile) -> tuple[dict[str, str], _Build]:
    """The library's names of a 3MF's parts (an object's name or its number, an item's part number) -> what the file calls
    them; and what is made of what."""
    named: dict[str, str] = {}
    build, current = _Build(), ""
    for member in archive.namelist():
        if not member.lower().endswith(".model"):
            continue
        with archive.open(member) as stream:
            for event, element in etree.iterparse(stream, ("start", "end"), tag=_NAMED, resolve_entities=False):
                name = element.get("name") or element.get("partnumber") or ""
                tag, of = etree.QName(element).localname, str(element.get("objectid"))
                if event == "start" and (name or element.get("id")):
                    named.setdefault(name or element.get("id"), name)
                if event == "start" and tag == "object":
                    current = str(element.get("id"))
                    build.types[current] = element.get("type") or _MODEL
                elif event == "end" and tag == "component":
                    build.made_of.setdefault(current, []).append(of)
                    build.reads[of] += any(key.endswith("path") for key in element.attrib)
                elif event == "end" and tag == "mesh":
                    faces, corners = (len(element.find(f"{{*}}{within}")) for within in ("triangles", "vertices"))
                    build.sizes[current] = max(build.sizes.get(current, Size()), Size(1, faces, corners))
                elif event == "end" and tag == "item":
                    build.placed.append(of)
                if event == "end":
                    element.clear()
    return named, build


def _check_build(build: _Build, file_bytes: int) -> int:
    """How many parts are placed, copies counted: some, none that contains itself, and not without end."""
    if not build.placed:
        raise damaged("nothing in it is placed (its build is empty)", "Place the tank on the plate and export again.")
    own = {name: held.read(max(1, build.reads[name])) for name, held in build.sizes.items()}
    sizes: dict[str, Size] = {}

    def size(name: str, above: tuple[str, ...]) -> Size:
        if name in above or len(above) > bounds.MOST_DEEP:
            raise damaged(f"object {units.shown(name)} contains itself", "Export it again without groups, or as STL.")
        if build.types.get(name, _MODEL) != _MODEL:
            raise damaged(
                f"object {units.shown(name)} in it is of type {units.shown(build.types[name])}, which is no body to be made",
                "Take it off the plate and export again.",
            )
        if name not in sizes:
            parts = build.made_of.get(name, [])
            inner = [size(part, (*above, name)) for part in parts] if parts else [own.get(name, Size(1))]
            sizes[name] = together(inner)
        return sizes[name]

    total = together(size(name, ()) for name in build.placed)
    check_placed(total, file_bytes)
    check_placed(together(own.values()), file_bytes)
    return total.parts


def _called(node: str, named: dict[str, str]) -> str:
    """What the file calls a part; of parts called alike the library puts a number behind all but the first."""
    stem = node
    while stem not in named and "_" in stem:
        stem = stem.rpartition("_")[0]
    return named.get(stem, "")
