"""GLB: the scene's parts through the mesh library, once it is known that the library reads all that the file says."""

from __future__ import annotations

import io
import json
import struct
from dataclasses import replace
from typing import Any

import trimesh

from fuelsys import units
from fuelsys.load.formats.raw import Raw, counted, damaged, raster
from fuelsys.load.formats.scenes import in_place, nothing_lost
from fuelsys.load.formats.sizes import PLAIN, check_glb, check_tree

_MOST_NAMED = 6  # of the meshes that are left out
_TRIANGLES, _STRIPS, _FLOAT = 4, 5, 5126


def read_glb(data: bytes) -> Raw:
    """All triangles of the scene, each part where its nodes place it; metres."""
    header = _check_glb(data)
    with nothing_lost():
        stream = io.BytesIO(_nodes_by_number(data, header))
        scene = trimesh.load_scene(stream, file_type="glb", process=False, skip_materials=True)
    place_of = {name: k for k, name in enumerate(scene.geometry)}

    def number(node: str) -> int:
        return int(node.partition("_")[0])  # the library puts a chance word behind it where a mesh has several pieces

    nodes = sorted(scene.graph.nodes_geometry, key=lambda node: (number(node), place_of[scene.graph[node][1]]))
    raw = in_place(scene, nodes, [number(node) for node in nodes], _node_names(header), "m")
    return replace(raw, notes=_left_out(header), raster=raster(raw.vertices))


def _node_names(header: dict[str, Any]) -> list[str]:
    """A glTF node's own name, else its mesh's."""
    meshes = header.get("meshes", [])
    return [
        str(node.get("name") or (meshes[node["mesh"]].get("name") if "mesh" in node else None) or "")
        for node in header.get("nodes", [])
    ]


def _left_out(header: dict[str, Any]) -> tuple[str, ...]:
    """A note of the meshes that no node of the default scene shows: the first scene, where none is said to be it."""
    nodes, scenes = header.get("nodes", []), header.get("scenes", [])
    shown = list(scenes[header.get("scene", 0)].get("nodes", [])) if scenes else []
    for k in shown:  # grows as it goes
        shown += nodes[k].get("children", [])
    seen = set(shown)
    names = _node_names(header)
    missing = [(names[k], node["mesh"]) for k, node in enumerate(nodes) if "mesh" in node and k not in seen]
    placed = {node["mesh"] for node in nodes if "mesh" in node}
    missing += [(mesh.get("name", ""), k) for k, mesh in enumerate(header.get("meshes", [])) if k not in placed]
    if not missing or not scenes:
        return ()
    named = [units.shown(name)[1:-1] if name else f"mesh {k}" for name, k in missing]
    more = f" and {len(named) - _MOST_NAMED} more" if len(named) > _MOST_NAMED else ""
    what = counted(
        len(missing),
        "mesh of the file is not in its default scene and was",
        "meshes of the file are not in its default scene and were",
    )
    return (f"{what} left out: {', '.join(named[:_MOST_NAMED])}{more}",)


def _nodes_by_number(data: bytes, header: dict[str, Any]) -> bytes:
    """The same file, each node named by its number: of two alike the library would rename one."""
    numbered = {**header, "nodes": [{**node, "name": str(k)} for k, node in enumerate(header.get("nodes", []))]}
    text = json.dumps(numbered).encode()
    text += b" " * (-len(text) % 4)
    rest = data[20 + int.from_bytes(data[12:16], "little") :]
    version, kind = data[4:8], data[16:20]
    return b"".join((b"glTF", version, _word(20 + len(text) + len(rest)), _word(len(text)), kind, text, rest))


def _word(number: int) -> bytes:
    return struct.pack("<I", number)


# --- what glTF can say and the mesh library does not read ------------------------------------------------------------


def _check_glb(data: bytes) -> dict[str, Any]:
    """The header, where all that it says can be read."""
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
    check_tree(header)
    check_glb(header, len(data))
    return header


def _check_parts(header: dict[str, Any]) -> None:
    accessors = header.get("accessors", [])
    for part in (part for mesh in header.get("meshes", []) for part in mesh["primitives"]):
        if part.get("mode", _TRIANGLES) > _STRIPS:
            raise damaged("its faces are fans of triangles", PLAIN)
        if part.get("targets"):
            raise damaged("its surface can change its shape (morph targets)", PLAIN)
        for index in (part["attributes"]["POSITION"], part.get("indices", part["attributes"]["POSITION"])):
            if "sparse" in accessors[index] or "bufferView" not in accessors[index]:
                raise damaged("its corners are written in the sparse way", PLAIN)
        if accessors[part["attributes"]["POSITION"]]["componentType"] != _FLOAT:
            raise damaged("its corners are written as whole numbers", PLAIN)
