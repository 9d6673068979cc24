"""Pools of a closed triangle surface: which low point each face drains to, and the levels at which pools join.

1. Vertices are ordered by (level, first plan coordinate, second one), the order of an infinitely small tilt: level floors and
   ceilings need no special case.
2. Each vertex points to its lowest edge neighbour; one without a lower neighbour is a minimum.
3. The angle-weighted normal tells on which side of a minimum the cavity lies. Above: a true low point, a seed. Below (the tip
   of something that hangs): a ray straight down through the cavity to the first face; the vertex points to that face's lowest
   corner. The ray test is watertight: both faces of an edge see the same sign. Rays only extend pointers: the tip joins the
   pool that it hangs over, so they never make saddles. A tip may stand on the surface below it or be sunk into it by up to
   2 µm (what the mesh door lets pass): it then becomes a seed of its own, joined by a link. A tree with more than one root is
   refused.
4. Pointers followed to their ends give every vertex and face a seed.
5. Edges between different seeds, sorted by their upper ends and merged as in Kruskal's algorithm, give the saddles.

Why it is right: as the level rises, pools are born only at true low points and join only at saddles of the surface; a patch
of surface that hangs free in a pool is tied to it by its ray. The lid adds nothing to V, so **a pool's volume is the sum over
the faces of its seeds**. A state of the tank is therefore one level per seed, and `volume_by_part` gives all pools in one
pass.

No global sort is needed (only the few edges between seeds are sorted). At a level attitude with coordinates that rounding
has spread by 1e-17, many seeds appear that hold nothing; they cost time, not truth: no pocket under 1e-9 m³ is listed.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from fuelsys.arrays import Floats, Ints
from fuelsys.kernels.compiled import compiled
from fuelsys.kernels.edges import Indices
from fuelsys.kernels.volume import first_above


class Tree(NamedTuple):
    """The pool tree of a surface at one attitude: s seeds, nodes 0..s-1 are the seeds, then one node for each joining.

    A node is a pool for levels from its floor (its low point, or the saddle at which its children joined) to its top
    (the saddle at which it joins its sibling; infinite for a root). A parent's number is above its children's.
    """

    seed_vertex: Ints  # (s,) the low point's vertex
    face_seed: Ints  # (m,) the seed of each face
    port_seed: Ints  # (k,) the seed below each port, -1 where nothing lies below it
    parent: Ints  # (nodes,) -1 for a root
    children: Ints  # (nodes, 2) -1 for a seed
    floor: Floats  # (nodes,)
    top: Floats  # (nodes,)


@compiled
def _lower(placed: Floats, a: int, b: int) -> bool:
    """Does vertex a come before b in the order of an infinitely small tilt?"""
    for k in (2, 0, 1):
        if placed[a, k] != placed[b, k]:
            return bool(placed[a, k] < placed[b, k])
    return bool(a < b)


@compiled
def _lowest_corner(placed: Floats, faces: Ints, t: int) -> int:
    v = faces[t, 0]
    for k in (1, 2):
        if _lower(placed, faces[t, k], v):
            v = faces[t, k]
    return int(v)


@compiled
def _lowest_neighbours(placed: Floats, edges: Ints) -> Ints:
    low = np.empty(placed.shape[0], np.int32)
    for v in range(low.size):
        low[v] = v
    for e in range(edges.shape[0]):
        a, b = edges[e, 0], edges[e, 1]
        if _lower(placed, b, a):
            a, b = b, a
        if _lower(placed, a, low[b]):
            low[b] = a
    return low


@compiled
def _side(ax: float, ay: float, bx: float, by: float) -> float:
    return ax * by - ay * bx


@compiled
def _drop(
    placed: Floats, faces: Ints, points: Floats, across: Floats, owner: Ints, touch: float, hit: Ints, hit_z: Floats
) -> None:
    """Fill hit and hit_z for points that are sorted by their first coordinate, across."""
    n = points.shape[0]
    for t in range(faces.shape[0]):
        i, j, k = faces[t, 0], faces[t, 1], faces[t, 2]
        lo = min(placed[i, 0], placed[j, 0], placed[k, 0])
        hi = max(placed[i, 0], placed[j, 0], placed[k, 0])
        if hi < across[0] or lo > across[-1]:
            continue
        lo_y = min(placed[i, 1], placed[j, 1], placed[k, 1])
        hi_y = max(placed[i, 1], placed[j, 1], placed[k, 1])
        r = first_above(across, lo)
        while r > 0 and across[r - 1] == lo:
            r -= 1
        r -= 1
        while r + 1 < n and across[r + 1] <= hi:
            r += 1
            x, y, z = points[r, 0], points[r, 1], points[r, 2]
            if y < lo_y or y > hi_y or owner[r] in (i, j, k):
                continue
            ax, ay = placed[i, 0] - x, placed[i, 1] - y
            bx, by = placed[j, 0] - x, placed[j, 1] - y
            cx, cy = placed[k, 0] - x, placed[k, 1] - y
            wc, wa, wb = ax * by - ay * bx, bx * cy - by * cx, cx * ay - cy * ax
            if not ((wa >= 0 and wb >= 0 and wc >= 0) or (wa <= 0 and wb <= 0 and wc <= 0)):
                continue
            whole = wa + wb + wc
            if whole == 0.0:  # upright: its upper and lower edges belong to other faces too
                continue
            if owner[r] >= 0 and whole > 0.0:  # the cavity lies below it: a ray in the cavity cannot end there
                continue
            face_z = (wa * placed[i, 2] + wb * placed[j, 2] + wc * placed[k, 2]) / whole
            face_z = max(face_z, min(placed[i, 2], placed[j, 2], placed[k, 2]))  # a level face is level
            face_z = min(face_z, max(placed[i, 2], placed[j, 2], placed[k, 2]))
            below = face_z <= z + (touch if owner[r] >= 0 else 0.0)
            if below and face_z > hit_z[r]:
                hit[r], hit_z[r] = t, face_z


def drop(placed: Floats, faces: Ints, points: Floats, owner: Ints, touch: float = 0.0) -> tuple[Ints, Floats]:
    """First face straight below each point: points (k, 3) placed as the vertices are -> face (k,) or -1, its level (k,).

    owner (k,) is the vertex that a point lies on, or -1. The ray from a vertex passes over the vertex's own faces and
    ends on a face that has the cavity above it, which may lie above the vertex by touch. Edges and corners count as
    hit by every face that has them, and the two faces of an edge see the same sign: no ray slips through.

    >>> floor = np.array([[0.0, 0, 0], [1, 0, 0], [0, 1, 0]]), np.array([[0, 1, 2]], dtype=np.int32)
    >>> drop(*floor, np.array([[0.2, 0.2, 0.7]]), np.array([-1], dtype=np.int32))[0].tolist()
    [0]
    """
    hit, hit_z = np.full(len(points), -1, np.int32), np.full(len(points), -np.inf)
    if len(points):
        order = np.argsort(points[:, 0], kind="stable")
        points = points[order]
        _drop(placed, faces, points, np.ascontiguousarray(points[:, 0]), owner[order], touch, hit, hit_z)
        hit[order], hit_z[order] = hit.copy(), hit_z.copy()
    return hit, hit_z


@compiled
def _root(parent: Ints, v: int) -> int:
    while parent[v] != v:
        parent[v] = parent[parent[v]]
        v = parent[v]
    return int(v)


@compiled
def _seeds(placed: Floats, faces: Ints, low: Ints) -> tuple[Ints, Ints, Ints]:
    """Follow the pointers to their ends: seed vertices (s,), seed of each vertex (n,) and of each face (m,)."""
    number = np.empty(low.size, np.int32)
    for v in range(low.size):
        number[v] = -1
    seed_vertex = np.empty(low.size, np.int32)
    seed = np.empty(low.size, np.int32)
    s = 0
    for v in range(low.size):
        r = _root(low, v)
        if number[r] < 0:
            number[r] = s
            seed_vertex[s] = r
            s += 1
        seed[v] = number[r]
    face_seed = np.empty(faces.shape[0], np.int32)
    for t in range(faces.shape[0]):
        face_seed[t] = seed[_lowest_corner(placed, faces, t)]
    return seed_vertex[:s].copy(), seed, face_seed


@compiled
def _tie(placed: Floats, faces: Ints, tips: Ints, below: Ints, low: Ints) -> Ints:
    """Point each tip to the lowest corner of the face below it, in low; edges more (k, 2) for tips that are sunk into it.

    Nothing may point upwards: a sunk tip is a seed of its own, joined to the surface that it is sunk into.
    """
    sunk, n = np.empty((tips.size, 2), np.int32), 0
    for i in range(tips.size):
        landing = _lowest_corner(placed, faces, below[i])
        if _lower(placed, landing, tips[i]):
            low[tips[i]] = landing
        else:
            sunk[n, 0], sunk[n, 1] = tips[i], landing
            n += 1
    return sunk[:n].copy()


@compiled
def _between(placed: Floats, edges: Ints, seed: Ints) -> tuple[Ints, Floats]:
    """The seeds of each edge that lies between two, and its upper end: (k, 2), (k,)."""
    k = 0
    for e in range(edges.shape[0]):
        k += seed[edges[e, 0]] != seed[edges[e, 1]]
    pairs, upper = np.empty((k, 2), np.int32), np.empty(k)
    k = 0
    for e in range(edges.shape[0]):
        a, b = edges[e, 0], edges[e, 1]
        if seed[a] != seed[b]:
            pairs[k, 0], pairs[k, 1] = seed[a], seed[b]
            upper[k] = max(placed[a, 2], placed[b, 2])
            k += 1
    return pairs, upper


@compiled
def _join(pairs: Ints, upper: Floats, order: Indices, low_points: Floats) -> tuple[Ints, Ints, Floats, Floats]:
    """Join seeds (s,) along pairs (k, 2) in the order of their upper ends (k,): parent, children, floor and top of all nodes."""
    s = nodes = low_points.size
    parent, children = np.empty(2 * s, np.int32), np.empty((2 * s, 2), np.int32)
    floor, top, group = np.empty(2 * s), np.empty(2 * s), np.empty(2 * s, np.int32)
    for i in range(2 * s):
        parent[i] = children[i, 0] = children[i, 1] = -1
        top[i], group[i] = np.inf, i
    for i in range(s):
        floor[i] = low_points[i]
    for i in order:
        a, b = _root(group, pairs[i, 0]), _root(group, pairs[i, 1])
        if a == b:
            continue
        group[a] = group[b] = nodes
        parent[a] = parent[b] = nodes
        children[nodes, 0], children[nodes, 1] = min(a, b), max(a, b)
        floor[nodes] = top[a] = top[b] = upper[i]
        nodes += 1
    return parent[:nodes], children[:nodes], floor[:nodes], top[:nodes]


def _tips(low: Ints, normals: Floats, axes: Floats) -> tuple[Ints, Floats]:
    """Lowest points of what hangs free: minima whose normal points up, out of the fluid; and their normals, turned."""
    minima = np.flatnonzero(low == np.arange(low.size)).astype(np.int32)
    outward = normals[minima] @ axes
    hangs = outward[:, 2] > 0.0
    return minima[hangs], outward[hangs]


def _below(
    placed: Floats, faces: Ints, tips: Ints, outward: Floats, ports: Floats, hair: float, touch: float
) -> tuple[Ints, Ints]:
    """The face below each tip and below each port (-1: none)."""
    owner = np.concatenate([tips, np.full(len(ports), -1, np.int32)])
    hit, _ = drop(placed, faces, np.concatenate([placed[tips], ports]), owner, touch)
    below_tip, below_port = hit[: tips.size], hit[tips.size :]
    missed = below_tip < 0
    if missed.any():
        aside = outward[missed] * np.array([1.0, 1.0, 0.0])
        start = placed[tips[missed]] - hair * aside / np.linalg.norm(aside, axis=1, keepdims=True).clip(1e-300)
        below_tip[missed], _ = drop(placed, faces, start, tips[missed], touch)
    if (below_tip < 0).any():
        raise ArithmeticError(f"{np.count_nonzero(below_tip < 0)} hanging points have no surface below them")
    return below_tip, below_port


def grow(
    placed: Floats,
    faces: Ints,
    edges: Ints,
    normals: Floats,
    axes: Floats,
    ports: Floats,
    port_face: Ints,
    hair: float = 0.0,
    touch: float = 0.0,
) -> Tree:
    """Pool tree of a surface: placed (n, 3) as (plan, plan, level) along the columns of axes, normals (n, 3) not turned.

    ports (k, 3) placed likewise; port_face (k,) is the face that a port sits on, -1 for a port that stands free.
    A tip whose ray down misses every face by rounding is tried again, moved into the cavity by a hair.
    A tip may stand on the surface below it, or be sunk into it by touch.
    Raises ArithmeticError where a hanging tip has no surface below it, or the inside falls apart: it is then not closed.

    >>> corner = np.array([[0.0, 0, 0], [1, 0, 0], [0, 1, 0], [0, 0, 1]])
    >>> faces = np.array([[0, 2, 1], [0, 1, 3], [0, 3, 2], [1, 2, 3]], dtype=np.int32)
    >>> edges = np.array([[0, 1], [0, 2], [0, 3], [1, 2], [1, 3], [2, 3]], dtype=np.int32)
    >>> tree = grow(corner, faces, edges, -np.ones((4, 3)), np.eye(3), 0.2 * np.ones((1, 3)), np.array([-1], dtype=np.int32))
    >>> tree.seed_vertex.tolist(), tree.port_seed.tolist()
    ([0], [0])
    """
    low = _lowest_neighbours(placed, edges)
    tips, outward = _tips(low, normals, axes)
    below_tip, below_port = _below(placed, faces, tips, outward, ports, hair, touch)
    ties = _tie(placed, faces, tips, below_tip, low)
    edges = np.concatenate([edges, ties]) if len(ties) else edges
    seed_vertex, seed, face_seed = _seeds(placed, faces, low)
    sitting = np.where(port_face >= 0, port_face, below_port)
    port_seed = np.where(sitting >= 0, face_seed[sitting], np.int32(-1)).astype(np.int32)
    pairs, upper = _between(placed, edges, seed)
    nodes = _join(pairs, upper, np.argsort(upper, kind="stable"), placed[seed_vertex, 2])
    if nodes[0].size != 2 * seed_vertex.size - 1:
        raise ArithmeticError("its inside is not one cavity")
    return Tree(seed_vertex, face_seed, port_seed, *nodes)
