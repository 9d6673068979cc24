"""STL: the binary and the text form, each held to its own count; the parts of a text are its solids.

The text form is read here and not by the mesh library, which stops at an unreadable number and takes a solid's name for
its content where the name holds a keyword.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from fuelsys import units
from fuelsys.arrays import Floats
from fuelsys.load.formats.raw import Raw, coordinates, counted, damaged, lines_of, name_of, raster, three

_HEADER = 84
_RECORD = np.dtype([("normal", "<f4", 3), ("corners", "<f4", (3, 3)), ("attribute", "<u2")])
_MAY_FOLLOW = {
    "": ("solid",),
    "solid": ("facet", "endsolid"),
    "facet": ("outer",),
    "outer": ("vertex",),
    "vertex": ("vertex", "endloop"),
    "endloop": ("endfacet",),
    "endfacet": ("facet", "endsolid"),
    "endsolid": ("solid",),
}


def read_stl(data: bytes) -> Raw:
    """A binary STL where the size agrees with its header, else a text one where it is text."""
    announced = int.from_bytes(data[80:_HEADER], "little")
    if len(data) >= _HEADER and len(data) == _HEADER + announced * _RECORD.itemsize:
        raw = _triangles(np.frombuffer(data, _RECORD, offset=_HEADER)["corners"].astype(np.float64))
        return replace(raw, raster=raster(raw.vertices))
    if not _is_text(data):
        return _wrong_size(len(data), announced)
    if not data.removeprefix(b"\xef\xbb\xbf").lstrip()[:5].lower() == b"solid":
        raise damaged('this is text, but not an STL\'s: it does not begin with "solid"', "Export it again as STL.")
    return _text(lines_of(data))


def _triangles(corners: Floats) -> Raw:
    return Raw(corners.reshape(-1, 3), np.arange(corners.size // 3, dtype=np.int64).reshape(-1, 3))


def _is_text(data: bytes) -> bool:
    """No control characters but blanks and line ends: a binary file has some in its first kilobytes."""
    return not set(data[:4096]) - set(range(32, 256)) - set(b"\t\r\n\f")


def _wrong_size(size: int, announced: int) -> Raw:
    if size < _HEADER:
        raise damaged(f"this is neither a text STL nor a binary one: it has only {counted(size, 'byte')}")
    held, rest = divmod(size - _HEADER, _RECORD.itemsize)
    more = f" and {counted(rest, 'byte')} more" if rest else ""
    raise damaged(f"the header announces {counted(announced, 'triangle')}, the file holds {held}{more}")


def _text(lines: list[str]) -> Raw:
    corners: list[tuple[float, float, float]] = []
    names: list[str] = []
    first: list[int] = []  # corner of each solid
    last, in_loop = "", 0
    for number, line in enumerate(lines, 1):
        words = line.split()
        if not words:
            continue
        key = words[0].lower()
        if key not in _MAY_FOLLOW[last] or (last == "vertex" and (key == "vertex") != (in_loop < 3)):
            due = (
                "a vertex"
                if 0 < in_loop < 3
                else " or ".join(f'"{k}"' for k in _MAY_FOLLOW[last] if k != "vertex" or not in_loop)
            )
            raise damaged(f"line {number} reads {units.shown(line.strip())}, where {due} is due")
        if key == "solid":
            names.append(name_of(line))
            first.append(len(corners))
        elif key == "vertex":
            corners.append(three(words[1:], number, line))
            in_loop += 1
        elif key == "endloop":
            in_loop = 0
        last = key
    if last != "endsolid":
        raise damaged('the text ends before "endsolid"; the file is cut off')
    parts = np.repeat(np.arange(len(names)), np.diff(first, append=len(corners)) // 3)
    return replace(_triangles(coordinates(corners)), parts=parts, names=tuple(names))
