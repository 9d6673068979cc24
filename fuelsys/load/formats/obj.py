"""OBJ: vertices and polygons, told apart by object or group; materials change nothing, and no other file is followed.

Read here and not by the mesh library, which takes a face's vertex 0 for vertex 1, counts negative numbers from the end of
the file instead of from the face, and cuts concave polygons wrongly.
"""

from __future__ import annotations

from fuelsys import units
from fuelsys.load.formats.polygons import triangulated
from fuelsys.load.formats.raw import Raw, coordinates, counted, damaged, lines_of, name_of, parted, three


def read_obj(data: bytes) -> Raw:
    """All faces of the file, its parts being its objects or, where it has not several, its groups."""
    vertices: list[tuple[float, float, float]] = []
    polygons: list[list[int]] = []
    named_by: dict[str, str] = {"o": "", "g": ""}
    owners: list[tuple[str, str]] = []  # of each polygon: its object and its group
    named = (0, 0, 0)  # the greatest vertex that a face names, its line, and how many there were then
    for number, line in _joined(lines_of(data)):
        words = line.split()
        if not words:
            continue
        if words[0] == "v":
            vertices.append(three(words[1:], number, line))
        elif words[0] == "f":
            polygons.append(_corners(words[1:], number, line, len(vertices)))
            owners.append((named_by["o"], named_by["g"]))
            named = max(named, (max(polygons[-1]) + 1, number, len(vertices)))
        elif words[0] in named_by:
            named_by[words[0]] = name_of(line)
    if named[0] > len(vertices):
        raise damaged(f"the face on line {named[1]} names vertex {named[0]}, and there {_are(len(vertices))}")
    faces, notes, source = triangulated(coordinates(vertices), polygons)
    objects, groups = ([owner[k] for owner in owners] for k in (0, 1))
    by_object = len(set(objects)) > 1 or (len(set(groups)) < 2 and any(objects))
    parts, names = parted(objects if by_object else groups)
    return Raw(coordinates(vertices), faces, None, notes, parts[source], names)


def _are(number: int) -> str:
    return f"{'is' if number == 1 else 'are'} {counted(number, 'vertex', 'vertices')}"


def _joined(lines: list[str]) -> list[tuple[int, str]]:
    """Numbered lines without comments; a backslash at the end of a line joins the next to it."""
    joined: list[tuple[int, str]] = []
    open_ = ""
    for number, line in enumerate(lines, 1):
        text = open_ + line.split("#", 1)[0].rstrip()
        open_ = f"{text[:-1]} " if text.endswith("\\") else ""
        if not open_:
            joined.append((number, text))
    return joined


def _corners(words: list[str], number: int, line: str, so_far: int) -> list[int]:
    """Indices from zero; a negative number counts back from the last vertex before the face."""
    try:
        stated = [int(word.split("/", 1)[0]) for word in words]
    except ValueError:
        stated = []
    if len(stated) < 3:
        raise damaged(f"line {number} reads {units.shown(line.strip())}, where a face of three or more corners is due")
    odd = [i for i in stated if i == 0 or i < -so_far]
    if odd:
        raise damaged(f"the face on line {number} names vertex {odd[0]}, and there {_are(so_far)} before it")
    return [i - 1 if i > 0 else so_far + i for i in stated]
