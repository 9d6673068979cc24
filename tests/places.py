"""Attitudes and places for the tests of the kernels: level ones, tilted ones, any; in a body, on its wall, at a low point."""

import numpy as np
import oracle
from solids import Floats, Solid

from fuelsys.analysis.tank.tilted import Tilted
from fuelsys.kernels import drain
from fuelsys.model.built.cavity import Cavity
from fuelsys.model.stated.attitude import Attitude

LEVEL = np.array([0.0, 0.0, 1.0])


def cavity_of(solid: Solid) -> Cavity:
    return Cavity.of(solid[0], solid[1].astype(np.int32))


def directions(seed: int) -> list[Floats]:
    """Ups: exactly level, pitch and roll to 25°, and any direction, or level upside down, or along x."""
    rng = np.random.default_rng(seed)
    pitch, roll = rng.uniform(-25.0, 25.0, 2)
    anywhere = rng.normal(size=3)
    odd = [anywhere / np.linalg.norm(anywhere), -LEVEL, np.array([1.0, 0.0, 0.0])]
    return [LEVEL, Attitude.of_degrees(pitch, roll).up, odd[seed // 3 % 3]]


def inner_points(solid: Solid, rng: np.random.Generator, count: int) -> list[Floats]:
    """Points in a body."""
    vertices = solid[0]
    found: list[Floats] = []
    while len(found) < count:
        point = rng.uniform(vertices.min(axis=0), vertices.max(axis=0))
        if oracle.holds(solid, point):
            found.append(point)
    return found


def wall_points(solid: Solid, rng: np.random.Generator, count: int) -> list[tuple[Floats, Floats]]:
    """Points on faces of a body, and the same a hair inside: more often on large faces."""
    vertices, faces = solid
    a, b, c = (vertices[faces[:, k]] for k in range(3))
    normals = np.cross(b - a, c - a)
    areas = np.linalg.norm(normals, axis=1)
    found = []
    for t in rng.choice(len(faces), count, p=areas / areas.sum()):
        point = rng.dirichlet((1.0, 1.0, 1.0)) @ vertices[faces[t]]
        found.append((point, point - normals[t] / areas[t] * 1e-8 * oracle.size(solid)))
    return found


def low_points(tilted: Tilted, solid: Solid, rng: np.random.Generator, count: int) -> list[Floats]:
    """Points a little inside of the low points of some pools that are worth naming."""
    tree, cavity = tilted.tree, tilted.cavity
    depth = np.minimum(tree.top, tilted.high_m) - tree.floor
    deep = np.flatnonzero(depth[: tree.seed_vertex.size] > 0.02 * oracle.size(solid))
    found = []
    for seed in rng.permutation(deep)[:count]:
        vertex = tree.seed_vertex[seed]
        inward = -cavity.normals[vertex] / np.linalg.norm(cavity.normals[vertex])
        point = solid[0][vertex] + inward * rng.uniform(1e-6, 1e-3) * oracle.size(solid)
        if oracle.holds(solid, point):
            found.append(point)
    return found


def pool_volumes(tilted: Tilted, level_m: float, share: float = 1e-9) -> Floats:
    """Volumes of the pools below a level about the centre, rising; those above a share of the whole."""
    tree, n_seeds = tilted.tree, tilted.tree.seed_vertex.size
    node = [drain.node_at(tree.parent, tree.top, seed, level_m) for seed in range(n_seeds)]
    held = np.bincount(node, tilted.by_seed(np.full((n_seeds, 1), level_m))[:, 0])
    return np.sort(held[held > share * tilted.cavity.gross_m3])
