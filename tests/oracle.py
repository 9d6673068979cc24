"""The second method: a body is cut at a level by an independent geometry library, and the pieces are its pools.

Nothing of fuelsys is used here. Levels are along up, in the axes of the body's vertices.
"""

from dataclasses import dataclass

import numpy as np
from manifold3d import Manifold
from solids import Floats, Solid, from_manifold, to_manifold

# A level this far (as a share of the size) from a vertex or an outlet is "just below" or "just above" it.
NEAR = 1e-7


def size(solid: Solid) -> float:
    return float(np.abs(solid[0] - solid[0].mean(axis=0)).max())


def below(body: Manifold, up: Floats, level: float) -> Manifold:
    """What of a body lies below a level."""
    return body.trim_by_plane([float(-c) for c in up], -float(level))


def holds(solid: Solid, point: Floats) -> bool:
    """Does a point lie in a closed surface? By the solid angle of all its faces (Van Oosterom and Strackee, 1983)."""
    a, b, c = np.moveaxis(solid[0][solid[1]] - point, 1, 0)
    la, lb, lc = (np.linalg.norm(side, axis=1) for side in (a, b, c))
    triple = np.einsum("ij,ij->i", a, np.cross(b, c))
    ab, bc, ca = (np.einsum("ij,ij->i", *pair) for pair in ((a, b), (b, c), (c, a)))
    return float(2.0 * np.arctan2(triple, la * lb * lc + ab * lc + bc * la + ca * lb).sum()) > 2.0 * np.pi


def pools(body: Manifold) -> list[Manifold]:
    """The connected pieces of a body. The library also splits off the hollows in a piece, as pieces of negative volume:
    each goes back to the smallest piece that holds it."""
    shells = body.decompose()
    if len(shells) == 1:
        return shells
    pieces = [[shell] for shell in shells if shell.volume() > 0.0]
    if len(pieces) == 1:
        return [body]
    solids = [from_manifold(piece[0]) for piece in pieces]
    for hollow in (shell for shell in shells if shell.volume() < 0.0):
        corner = from_manifold(hollow)[0][0]
        around = [piece for piece, solid in zip(pieces, solids, strict=True) if holds(solid, corner)]
        min(around, key=lambda piece: piece[0].volume()).append(hollow)
    return [piece[0] if len(piece) == 1 else together(piece) for piece in pieces]


def together(shells: list[Manifold]) -> Manifold:
    """Several shells as one body."""
    return to_manifold(*joined([from_manifold(shell) for shell in shells]))


def joined(shells: list[Solid]) -> Solid:
    """The arrays of several shells as one."""
    starts = np.cumsum([0, *(len(vertices) for vertices, _ in shells)])
    faces = [f + start for (_, f), start in zip(shells, starts[:-1], strict=True)]
    return np.concatenate([vertices for vertices, _ in shells]), np.concatenate(faces)


@dataclass(frozen=True)
class Hole:
    """Where fluid leaves (or a mark is): a point in the body, and the level to which the surface can fall there."""

    point: Floats
    level: float


@dataclass(frozen=True)
class Drain:
    """A tank that is followed downwards from full, past every level at which a pool can part."""

    solid: Solid
    up: Floats
    holes: tuple[Hole, ...]

    @property
    def near(self) -> float:
        return NEAR * size(self.solid)

    def _levels(self, extra: tuple[Hole, ...] = ()) -> list[float]:
        """Levels to cut at, falling: just below each vertex, just above each hole."""
        z = np.sort(self.solid[0] @ self.up)[::-1]
        z = z[np.append(True, -np.diff(z) > self.near / 10.0)]
        return sorted([*(z - self.near), *(hole.level + self.near for hole in (*self.holes, *extra))], reverse=True)

    def left(self) -> float:
        """What is left when nothing more flows."""
        return self._left(to_manifold(*self.solid), self.holes, self._levels())

    def _left(self, pool: Manifold, holes: tuple[Hole, ...], levels: list[float]) -> float:
        if not holes:
            return float(pool.volume())
        lowest = min(hole.level for hole in holes)
        for i, level in enumerate(levels):
            if level < lowest + self.near / 2.0:
                break
            parts = pools(below(pool, self.up, level))
            if len(parts) > 1:
                return sum(self._left(part, _active(part, holes, level), levels[i + 1 :]) for part in parts)
            pool = parts[0]
        return float(below(pool, self.up, lowest).volume())

    def passed(self, mark: Hole) -> tuple[float, float] | None:
        """Least and most in the tank when the surface passes a mark: the pools that were cut off on the way drained to
        their end, or not begun to fall. None where the surface never passes it."""
        if mark.level > float((self.solid[0] @ self.up).max()):
            return None
        levels = self._levels((mark,))
        pool, holes, least, most = to_manifold(*self.solid), self.holes, 0.0, 0.0
        for i, level in enumerate(levels):
            if level < mark.level + self.near / 2.0:
                break
            if min(hole.level for hole in holes) > level:
                return None
            parts = pools(below(pool, self.up, level))
            pool = parts[0]
            if len(parts) > 1:
                (pool,) = [part for part in parts if holds(from_manifold(part), mark.point)]
                others = [part for part in parts if part is not pool]
                most += sum(part.volume() for part in others)
                least += sum(self._left(part, _active(part, holes, level), levels[i + 1 :]) for part in others)
                holes = _active(pool, holes, level)
                if not holes:
                    return None
        if min(hole.level for hole in holes) > mark.level:
            return None
        here = float(below(pool, self.up, mark.level).volume())
        return least + here, most + here


def _active(pool: Manifold, holes: tuple[Hole, ...], level: float) -> tuple[Hole, ...]:
    """The holes through which a pool goes on falling from a level."""
    solid = from_manifold(pool)
    return tuple(hole for hole in holes if hole.level < level and holds(solid, hole.point))
