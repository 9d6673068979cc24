"""PLY: text and binary, single and double precision, polygons of any mix; only corners and faces are read.

Read here and not by the mesh library, which refuses binary files with polygons of several sizes, stops at an unreadable
number, and cuts concave polygons wrongly.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from fuelsys import units
from fuelsys.arrays import Floats
from fuelsys.load.formats.polygons import triangulated
from fuelsys.load.formats.raw import Indices, Raw, check_indices, coordinates, counted, damaged, lines_of, raster
from fuelsys.model.words import Doubt

# The format's own names and those that many writers use instead.
_TYPES = {
    "char": "i1", "uchar": "u1", "short": "i2", "ushort": "u2", "int": "i4", "uint": "u4", "float": "f4", "double": "f8",
    "int8": "i1", "uint8": "u1", "int16": "i2", "uint16": "u2", "int32": "i4", "uint32": "u4", "float32": "f4", "float64": "f8",
}  # fmt: skip
_ORDERS = {"ascii": "", "binary_little_endian": "<", "binary_big_endian": ">"}
_FACE_LISTS = ("vertex_indices", "vertex_index")
MENDED = "mended from"
DOUBT = "; with caution: "  # in that comment: why its volume is not to be relied on
_MOST_COMMENT = 1000
_MOST_HEADER = 65536
_UNITS = [[unit] for unit in units.UNITS["length"]]
_MISSING = 'its faces have no list "vertex_indices"'


@dataclass(frozen=True)
class Property:
    """One value of each row, or a list where count_type says how its length is written."""

    name: str
    type: str
    count_type: str = ""


@dataclass(frozen=True)
class Element:
    """A table of the file."""

    name: str
    rows: int
    properties: tuple[Property, ...]


Column = Sequence[Sequence[float]] | NDArray[Any]  # a row has one value, or those of a list
Table = dict[str, Column]


def read_ply(data: bytes) -> Raw:
    """All faces of the file; the counts in its header are held to."""
    order, elements, body = _header(data)
    tables = _text(elements, body) if not order else _binary(elements, body, order)
    if any(element.name == "tristrips" and element.rows for element in elements):
        raise damaged("its faces are strips of triangles", "Export the surface as single triangles or polygons.")
    vertices = _vertices(tables.get("vertex", {}))
    polygons = _polygons(tables.get("face", {}))
    if any(len(polygon) < 3 for polygon in (polygons[:1] if isinstance(polygons, np.ndarray) else polygons)):
        raise damaged("a face has fewer than three corners")
    ends = (
        polygons
        if isinstance(polygons, np.ndarray)
        else np.array([(min(p), max(p)) for p in polygons], dtype=np.int64).reshape(-1, 2)
    )
    check_indices(ends, len(vertices))
    faces, notes, _ = triangulated(vertices, polygons)
    single = bool(order) and any(
        p.type == "f4" for e in elements if e.name == "vertex" for p in e.properties if p.name in "xyz"
    )
    return Raw(
        vertices,
        faces,
        notes=(*_mended(data), *notes),
        unit_said=_unit_said(data),
        raster=raster(vertices) if single else 0.0,
    )


def _mended(data: bytes) -> tuple[str, ...]:
    """What `fuelsys mesh --mend` wrote into the header: how far the volume may be off is not to be forgotten."""
    said = [text for text in _comments(data) if text.startswith(MENDED)]
    shown = ["".join(c if c.isprintable() else "?" for c in text[:_MOST_COMMENT]) for text in said[:1]]
    return tuple(Doubt(text) if DOUBT in text else text for text in shown)


def _unit_said(data: bytes) -> str:
    """The unit that a comment of the header names, as ours do, "" where none does."""
    said = [text.split() for text in _comments(data)]
    return next((words[1] for words in said if words[:1] == ["unit"] and words[1:] in _UNITS), "")


def _comments(data: bytes) -> list[str]:
    lines = lines_of(data[:_MOST_HEADER].partition(b"end_header")[0])
    return [line.removeprefix("comment ") for line in lines if line.startswith("comment ")]


def _vertices(table: Table) -> Floats:
    if not table:
        return coordinates([])
    if not all(axis in table for axis in "xyz"):
        raise damaged("its vertices have no x, y and z")
    return np.column_stack([np.asarray(table[axis], dtype=np.float64).reshape(-1) for axis in "xyz"])


def _polygons(table: Table) -> Indices | list[list[int]]:
    """Each face's corners; as an array (m, k) where all have as many."""
    if not table:
        return []
    name = next((name for name in _FACE_LISTS if name in table), None)
    if name is None:
        raise damaged(_MISSING)
    column = table[name]
    if isinstance(column, np.ndarray):
        return column.astype(np.int64)
    return [[int(v) for v in row] for row in column]


# --- header ----------------------------------------------------------------------------------------------------------


def _header(data: bytes) -> tuple[str, list[Element], bytes]:
    """Byte order ("" for text), the elements, and what follows the header."""
    if not data.startswith(b"ply"):
        raise damaged('it does not begin with "ply"', "Export it again as PLY.")
    head, end, rest = data.partition(b"end_header")
    if not end:
        raise damaged('the header has no "end_header"; the file is cut off')
    body = rest[rest.find(b"\n") + 1 :]
    order: str | None = None
    found: list[tuple[str, int, list[Property]]] = []
    for number, line in enumerate(lines_of(head), 1):
        words = line.split()
        try:
            if words[:1] == ["format"]:
                order = _ORDERS[words[1]]
            elif words[:1] == ["element"]:
                if not (words[1].isascii() and words[1].isprintable()):
                    raise ValueError("a name that cannot be shown")
                found.append((words[1], _rows(words[2]), []))
            elif words[:1] == ["property"]:
                found[-1][2].append(_property(words))
        except (KeyError, IndexError, ValueError) as fault:
            raise damaged(f"line {number} reads {units.shown(line.strip())}, which the format does not know") from fault
    if order is None:
        raise damaged('the header has no "format"')
    return order, [Element(name, rows, tuple(properties)) for name, rows, properties in found], body


def _rows(word: str) -> int:
    if int(word) < 0:
        raise ValueError("a negative count")
    return int(word)


def _property(words: list[str]) -> Property:
    if words[1] == "list":
        return Property(words[4], _TYPES[words[3]], _TYPES[words[2]])
    return Property(words[2], _TYPES[words[1]])


# --- text ------------------------------------------------------------------------------------------------------------


def _text(elements: list[Element], body: bytes) -> dict[str, Table]:
    lines = [line for line in lines_of(body) if line.strip()]
    announced = sum(element.rows for element in elements)
    if len(lines) != announced:
        raise damaged(f"the header announces {counted(announced, 'row')}, the file holds {len(lines)}")
    rows = iter(lines)
    return {element.name: _text_table(element, rows) for element in elements}


def _text_table(element: Element, rows: Iterator[str]) -> Table:
    table: dict[str, list[list[float]]] = {p.name: [] for p in element.properties}
    for number in range(1, element.rows + 1):
        line = next(rows)
        words, at = line.split(), 0
        try:
            for p in element.properties:
                count = int(words[at]) if p.count_type else 1
                at += bool(p.count_type)
                of = float if p.type[0] == "f" else int
                table[p.name].append([of(word) for word in words[at : at + count]])
                at += max(count, 0)
        except (IndexError, ValueError):
            at = -1
        if at != len(words):
            raise damaged(
                f"row {number} of {element.name} reads {units.shown(line.strip())}, which is not what the header says"
            )
    return dict(table)


# --- binary ----------------------------------------------------------------------------------------------------------


def _binary(elements: list[Element], body: bytes, order: str) -> dict[str, Table]:
    tables, at = {}, 0
    for element in elements:
        try:
            tables[element.name], at = _binary_table(element, body, order, at)
        except ValueError as fault:
            announced = counted(element.rows, "row")
            raise damaged(f"the header announces {announced} of {element.name}, the file ends before") from fault
    if body[at:].strip(b"\r\n\0 "):
        raise damaged(f"after all that the header announces stand {counted(len(body) - at, 'byte')} more")
    return tables


def _binary_table(element: Element, body: bytes, order: str, at: int) -> tuple[Table, int]:
    """An element as columns, and where the next begins; at one stroke where all rows have lists as long as the first's."""
    if not element.rows or not element.properties:
        return {}, at
    row = _row_type(element, body, order, at)
    end = at + element.rows * row.itemsize
    if end <= len(body):
        table = np.frombuffer(body, row, element.rows, at)
        lists = [p.name for p in element.properties if p.count_type]
        if all((table[f"{name} count"] == table[f"{name} count"][0]).all() for name in lists):
            return {p.name: table[p.name] for p in element.properties}, end
    if not any(p.count_type for p in element.properties):
        raise ValueError("too few bytes for its rows")
    return _binary_rows(element, body, order, at)


def _row_type(element: Element, body: bytes, order: str, at: int) -> np.dtype[np.void]:
    fields: list[tuple[str, str, tuple[int, ...]]] = []
    for p in element.properties:
        count = 1
        if p.count_type:
            fields.append((f"{p.name} count", order + p.count_type, ()))
            count = _length(order + p.count_type, body, at)
            at += np.dtype(p.count_type).itemsize
        fields.append((p.name, order + p.type, (count,) if p.count_type else ()))
        at += count * np.dtype(p.type).itemsize
    return np.dtype(fields)


def _length(type_: str, body: bytes, at: int) -> int:
    return _rows(str(np.frombuffer(body, type_, 1, at)[0]))


def _binary_rows(element: Element, body: bytes, order: str, at: int) -> tuple[Table, int]:
    """Row by row, where lists differ in length."""
    table: dict[str, list[list[float]]] = {p.name: [] for p in element.properties}
    for _ in range(element.rows):
        for p in element.properties:
            count = 1
            if p.count_type:
                count = _length(order + p.count_type, body, at)
                at += np.dtype(p.count_type).itemsize
            values = np.frombuffer(body, order + p.type, count, at) if count else np.zeros(0)
            table[p.name].append(values.tolist())
            at += values.nbytes
    return dict(table), at
