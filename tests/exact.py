"""Volume, surface and moments below a level in exact fractions: each triangle is clipped without any rounding.

The clipped body is summed as tetrahedra and its free surface as triangles, all with one point of that surface: no formula
is shared with the kernels. Floats are taken for the fractions that they are.
"""

from collections.abc import Iterable
from fractions import Fraction

from solids import Floats, Solid

Point = tuple[Fraction, Fraction, Fraction]


def point(coordinates: Iterable[float] | Floats) -> Point:
    x, y, z = (Fraction(float(c)) for c in coordinates)
    return x, y, z


def dot(a: Point, b: Point) -> Fraction:
    return a[0] * b[0] + a[1] * b[1] + a[2] * b[2]


def _minus(a: Point, b: Point) -> Point:
    return a[0] - b[0], a[1] - b[1], a[2] - b[2]


def _cross(a: Point, b: Point) -> Point:
    return a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0]


def _clipped(corners: list[tuple[Point, Fraction]]) -> list[tuple[Point, Fraction]]:
    """What of a polygon lies at or below the level; each corner comes with how far above it that is."""
    kept = []
    for (a, over_a), (b, over_b) in zip(corners, corners[1:] + corners[:1], strict=True):
        if over_a <= 0:
            kept.append((a, over_a))
        if over_a * over_b < 0:
            share = over_a / (over_a - over_b)
            cut = (a[0] + share * (b[0] - a[0]), a[1] + share * (b[1] - a[1]), a[2] + share * (b[2] - a[2]))
            kept.append((cut, Fraction(0)))
    return kept


def sums(solid: Solid, up: Point, level: Fraction, chosen: Iterable[int] | None = None) -> list[Fraction]:
    """Volume, its moments, surface area, its moments (8) below a level, of all faces or of those of one pool.

    The area is right for an up of unit length, the volume for any. A level face at the level does not count as below it.
    """
    corners = [point(vertex) for vertex in solid[0]]
    over = [dot(corner, up) - level for corner in corners]
    surface = (level * up[0] / dot(up, up), level * up[1] / dot(up, up), level * up[2] / dot(up, up))
    out = [Fraction(0)] * 8
    for t in range(len(solid[1])) if chosen is None else chosen:
        face = solid[1][t]
        if min(over[v] for v in face) >= 0:
            continue
        piece = _clipped([(_minus(corners[v], surface), over[v]) for v in face])
        a = piece[0][0]
        for (b, _), (c, _) in zip(piece[1:-1], piece[2:], strict=True):
            part = dot(a, _cross(b, c)) / 6
            out[0] += part
            for k in range(3):
                out[1 + k] += part * (surface[k] + (a[k] + b[k] + c[k]) / 4)
        for (a, over_a), (b, over_b) in zip(piece, piece[1:] + piece[:1], strict=True):
            if over_a == 0 == over_b:  # an edge of the free surface, which runs the other way round it
                part = dot(_cross(b, a), up) / 2
                out[4] += part
                for k in range(3):
                    out[5 + k] += part * (surface[k] + (a[k] + b[k]) / 3)
    return out
