"""OFF: counts, vertices, polygons, each on a line of its own."""

from __future__ import annotations

import re

from fuelsys import units
from fuelsys.load.formats.polygons import triangulated
from fuelsys.load.formats.raw import Raw, coordinates, counted, damaged, lines_of, three

_FIRST = re.compile(
    r"(ST)?C?N?OFF(?![A-Za-z])"
)  # with texture, colour, normals: what follows the coordinates is passed over

_COUNT = re.compile(r"[0-9]{1,12}")


def read_off(data: bytes) -> Raw:
    """All faces of the file; the counts at its top are held to."""
    lines = [(n, t) for n, line in enumerate(lines_of(data), 1) if (t := line.split("#", 1)[0].strip())]
    first = _FIRST.match(lines[0][1]) if lines else None
    if first is None:
        raise damaged('it does not begin with "OFF"', "Export it again as OFF.")
    rest = lines[0][1][first.end() :].strip()
    lines = [(lines[0][0], rest), *lines[1:]] if rest else lines[1:]
    n_vertices, n_faces = _counts(lines)
    body = lines[1:]
    if len(body) != n_vertices + n_faces:
        announced = f"{counted(n_vertices, 'vertex', 'vertices')} and {counted(n_faces, 'face')}"
        raise damaged(f"the counts announce {announced}, the file holds {counted(len(body), 'line')} of them")
    vertices = coordinates([three(line.split(), number, line) for number, line in body[:n_vertices]])
    polygons = [_corners(line, number, n_vertices) for number, line in body[n_vertices:]]
    faces, notes, _ = triangulated(vertices, polygons)
    return Raw(vertices, faces, notes=notes)


def _counts(lines: list[tuple[int, str]]) -> tuple[int, int]:
    number, line = lines[0] if lines else (2, "")
    words = line.split()
    if len(words) < 2 or not all(_COUNT.fullmatch(word) for word in words[:2]):
        raise damaged(f"line {number} reads {units.shown(line)}, where the counts of vertices and faces are due")
    return int(words[0]), int(words[1])


def _corners(line: str, number: int, n_vertices: int) -> list[int]:
    words = line.split()
    try:
        count = int(words[0])
        corners = [int(word) for word in words[1 : count + 1]]
    except ValueError:
        count, corners = 0, []
    if count < 3 or len(corners) != count:
        raise damaged(
            f"line {number} reads {units.shown(line)}, where a face is due: a count of 3 or more, then its vertices"
        )
    odd = [i for i in corners if not 0 <= i < n_vertices]
    if odd:
        raise damaged(f"the face on line {number} names vertex {odd[0]}, counted from zero, and there are {n_vertices}")
    return corners
