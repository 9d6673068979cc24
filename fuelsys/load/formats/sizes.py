"""How much a scene of placed parts holds, copies counted, before any of it is built: a small file may make a large one."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable
from typing import Any, NamedTuple

from fuelsys.load import bounds
from fuelsys.load.formats.raw import damaged

PLAIN = "Export it again with plain triangles in one file, or as STL."
_ALONE = "Export the tank's inside alone."
_STRIPS = 5
# glTF 2.0, section 3.6.2.2 of its specification (accessor data types), from memory.
_BYTES = {5120: 1, 5121: 1, 5122: 2, 5123: 2, 5125: 4, 5126: 4}
_COLUMNS = {"SCALAR": 1, "VEC2": 2, "VEC3": 3, "VEC4": 4, "MAT2": 4, "MAT3": 9, "MAT4": 16}


class Size(NamedTuple):
    """How many parts there are, and how many faces and corners they have."""

    parts: int = 0
    faces: int = 0
    corners: int = 0

    def placed(self, times: int) -> Size:
        """The same in so many places."""
        return Size(self.parts * times, self.faces * times, self.corners * times)

    def read(self, times: int) -> Size:
        """The same parts, each with all that it holds so many times."""
        return Size(self.parts, self.faces * times, self.corners * times)


def together(sizes: Iterable[Size]) -> Size:
    """The sum of some sizes.

    >>> together([Size(1, 12, 8), Size(2, 8, 8)])
    Size(parts=3, faces=20, corners=16)
    """
    parts, faces, corners = (sum(held) for held in zip(Size(), *sizes, strict=True))
    return Size(parts, faces, corners)


def check_placed(placed: Size, file_bytes: int) -> None:
    """Refuse what is beyond the bounds and is not in the file itself, but made by copies."""
    if placed.parts > bounds.MOST_PLACED:
        raise damaged(f"{placed.parts:.4g} parts are placed in it, copies counted", _ALONE)
    held = file_bytes // bounds.FACE_BYTES
    if placed.faces > max(bounds.MOST_FACES, held) or placed.corners > max(bounds.MOST_CORNERS, held):
        found = f"{placed.faces:,} faces with {placed.corners:,} corners are placed in it, copies counted"
        raise damaged(found, _ALONE)


def check_glb(header: dict[str, Any], file_bytes: int) -> None:
    """The same of a GLB: what its header places, and what it makes of the file's bytes."""
    accessors, nodes = header.get("accessors", []), header.get("nodes", [])
    uses = Counter(node["mesh"] for node in nodes if "mesh" in node)
    sizes = [
        together(_primitive(primitive, accessors) for primitive in mesh["primitives"]).placed(max(1, uses[k]))
        for k, mesh in enumerate(header.get("meshes", []))
    ]
    check_placed(together(sizes), file_bytes)
    views = sum(int(view["byteLength"]) for view in header.get("bufferViews", []))
    read = sum(int(a["count"]) * _BYTES[a["componentType"]] * _COLUMNS[a["type"]] for a in accessors)
    if max(views, read) > max(bounds.MOST_SMALL_BYTES, 4 * file_bytes):
        raise damaged(f"read out it would take {max(views, read) / 1e9:.3g} GB, its parts counted", _ALONE)


def _primitive(primitive: dict[str, Any], accessors: list[dict[str, Any]]) -> Size:
    corners = int(accessors[primitive["attributes"]["POSITION"]]["count"])
    named = int(accessors[primitive["indices"]]["count"]) if "indices" in primitive else corners
    return Size(1, named if primitive.get("mode") == _STRIPS else named // 3, corners)


def check_tree(header: dict[str, Any]) -> None:
    """Refuse a GLB whose nodes do not hang in a tree, or in one that is deep beyond reason."""
    nodes = header.get("nodes", [])
    children = [child for node in nodes for child in node.get("children", [])]
    below = set(children)
    if len(below) < len(children):
        raise damaged("a part hangs on two others at once", PLAIN)
    level = [k for k in range(len(nodes)) if k not in below]
    reached, deep = len(level), 0
    while level and deep <= bounds.MOST_DEEP:
        level = [child for k in level for child in nodes[k].get("children", [])]
        reached, deep = reached + len(level), deep + 1
    if level:
        raise damaged(f"its parts hang on each other over more than {bounds.MOST_DEEP} levels", _ALONE)
    if reached < len(nodes):
        raise damaged("a part hangs on itself", PLAIN)
    if any("skin" in node for node in nodes):
        raise damaged("its surface hangs on a skeleton (skin)", PLAIN)
