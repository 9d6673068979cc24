"""How the faces of any surface, sound or not, hang together: its edges, the pieces it falls into, the fans at its corners.

A half-edge is one side of one face: side k of face t, from its corner k to the next, has the number 3 t + k.
"""

from __future__ import annotations

from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from fuelsys.arrays import Flags, Floats
from fuelsys.kernels.compiled import compiled

Indices = NDArray[np.integer[Any]]  # of faces, vertices or edges, of any width


class Edges(NamedTuple):
    """Edges of a surface (e,): half holds all half-edges (3m,), sorted so that those of edge i follow each other from first[i]."""

    ends: Indices  # (e, 2) vertices, the lower first
    many: Indices  # (e,) faces that have the edge
    turn: Indices  # (e,) faces that run along it from its lower vertex to its higher one, less those that run back
    first: Indices  # (e,)
    half: Indices  # (3m,)

    @property
    def pairs(self) -> Indices:
        """The two half-edges (k, 2) of each edge that joins two faces."""
        two = self.first[self.many == 2]
        return np.column_stack([self.half[two], self.half[two + 1]])

    @property
    def twins(self) -> Indices:
        """For each half-edge (3m,) the other one of an edge that joins two faces; -1 elsewhere."""
        one, two = self.pairs.T
        twins = np.full(len(self.half), -1, dtype=np.int64)
        twins[one], twins[two] = two, one
        return twins

    def middles(self, vertices: Floats, which: Flags) -> Floats:
        """Middles (k, 3) of some edges (e,): the place by which all messages name an edge."""
        return np.asarray(vertices[self.ends[which]].mean(axis=1))

    def count_of(self, one: Indices, two: Indices) -> Indices:
        """How many faces join each pair of vertices by an edge; 0 where none does."""
        own, asked = _key(self.ends[:, 0], self.ends[:, 1]), _key(one, two)
        if not len(own):
            return np.zeros(asked.shape, dtype=np.int64)
        at = np.minimum(np.searchsorted(own, asked), len(own) - 1)
        return np.where(own[at] == asked, self.many[at], 0)


def _key(one: Indices, two: Indices) -> Indices:
    return np.minimum(one, two).astype(np.int64) << 32 | np.maximum(one, two)


def edges_of(faces: Indices) -> Edges:
    """The edges of a surface (m, 3), in the order of their lower vertices.

    >>> edges_of(np.array([[0, 1, 2], [2, 1, 3]], dtype=np.int32)).many.tolist()
    [1, 1, 2, 1, 1]
    """
    start = faces.astype(np.int64).reshape(-1)
    stop = np.roll(faces, -1, axis=1).astype(np.int64).reshape(-1)
    key = _key(start, stop)
    half = np.argsort(key, kind="stable")
    key = key[half]
    first = np.flatnonzero(np.diff(key, prepend=-1))
    count = np.diff(first, append=len(key))
    forward = np.where(start < stop, 1, -1)[half]
    turn = np.add.reduceat(forward, first) if len(first) else first
    return Edges(np.column_stack([key[first] >> 32, key[first] & 0xFFFFFFFF]), count, turn, first, half)


@compiled
def _root(parent: Indices, v: int) -> int:
    while parent[v] != v:
        parent[v] = parent[parent[v]]
        v = parent[v]
    return int(v)


@compiled
def _joined(n: int, pairs: Indices) -> Indices:
    parent = np.arange(n)
    for i in range(pairs.shape[0]):
        a, b = _root(parent, pairs[i, 0]), _root(parent, pairs[i, 1])
        parent[max(a, b)] = min(a, b)
    for v in range(n):
        parent[v] = _root(parent, v)
    return parent


def pieces(n: int, pairs: Indices) -> tuple[int, Indices]:
    """What n things fall into when pairs (k, 2) of them are tied: the number of pieces, the piece of each thing (n,).

    >>> pieces(4, np.array([[3, 1]]))[1].tolist()
    [0, 1, 2, 1]
    """
    roots, label = np.unique(_joined(n, pairs.astype(np.int64).reshape(-1, 2)), return_inverse=True)
    return len(roots), label.reshape(-1)


def shells_of(faces: Indices, edges: Edges) -> tuple[int, Indices]:
    """Pieces of a surface that hang together by edges: their number and the piece of each face (m,)."""
    follows = np.ones(len(edges.half), dtype=np.bool_)
    follows[edges.first] = False
    later = np.flatnonzero(follows)
    return pieces(len(faces), np.column_stack([edges.half[later - 1], edges.half[later]]) // 3)


def fans(faces: Indices, edges: Edges) -> tuple[int, Indices]:
    """Fans of faces about one vertex that hang together by edges which join two faces: their number, the fan of each corner (3m,).

    A sound surface has one fan at each vertex. Where there are several, parts of the surface touch only there.
    """
    one, two = edges.pairs.T
    vertex = faces.reshape(-1)
    ends = []
    for here in (one, _following(one)):
        ends.append(np.column_stack([here, np.where(vertex[two] == vertex[here], two, _following(two))]))
    return pieces(vertex.size, np.concatenate(ends))


def pinched(faces: Indices, edges: Edges, n_vertices: int) -> Flags:
    """Vertices (n,) at which parts of the surface touch that hang together by no edge there."""
    number, fan = fans(faces, edges)
    vertex = np.empty(number, dtype=np.int64)
    vertex[fan] = faces.reshape(-1)
    return np.bincount(vertex, minlength=n_vertices) > 1


def _following(half: Indices) -> Indices:
    """The next half-edge of the same face."""
    return half - half % 3 + (half + 1) % 3


@compiled
def _wound(start: Indices, twin: Indices) -> tuple[Flags, Indices, Flags]:
    """Spread the winding of each piece's first face: which faces are against it (m,), piece (m,), one-sided pieces (m,)."""
    n = twin.size // 3
    turned, one_sided = np.zeros(n, np.bool_), np.zeros(n, np.bool_)
    piece, queue = np.full(n, -1), np.empty(n, np.int64)
    for seed in range(n):
        if piece[seed] >= 0:
            continue
        piece[seed], queue[0] = seed, seed
        done, known = 0, 1
        while done < known:
            t = queue[done]
            done += 1
            for h in range(3 * t, 3 * t + 3):
                g = twin[h]
                if g < 0:
                    continue
                against = turned[t] ^ (start[h] == start[g])  # neighbours run along their edge in opposite senses
                if piece[g // 3] < 0:
                    piece[g // 3], turned[g // 3], queue[known] = seed, against, g // 3
                    known += 1
                elif turned[g // 3] != against:
                    one_sided[seed] = True
    return turned, piece, one_sided


def wound_alike(faces: Indices, edges: Edges) -> tuple[Flags, Flags]:
    """Which faces (m,) to turn so that each piece is wound in one sense, the fewest; which are of a one-sided piece.

    >>> faces = np.array([[0, 1, 2], [1, 2, 3], [3, 2, 4]], dtype=np.int32)
    >>> wound_alike(faces, edges_of(faces))[0].tolist()
    [True, False, False]
    """
    turned, piece, one_sided = _wound(faces.reshape(-1).astype(np.int64), edges.twins)
    sizes = np.bincount(piece, minlength=len(faces))
    many = np.bincount(piece, turned, len(faces)) * 2 > sizes
    return turned ^ many[piece], one_sided[piece]
