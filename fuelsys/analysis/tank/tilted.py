"""A cavity seen at one attitude: levels of its vertices, plan areas of its faces, its pools and where its spots sit."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from math import sqrt

import numpy as np

from fuelsys.arrays import Floats, Ints
from fuelsys.errors import MeshError
from fuelsys.kernels import points, pools, volume
from fuelsys.kernels.level import level_for_volume
from fuelsys.model.built.cavity import Cavity, Spot

# A hair into the cavity, as a share of its size: only for a hanging tip whose ray down misses every face by rounding.
_HAIR = 1e-9
# A hanging part may stand on the surface below it and be sunk into it by this, twice what the mesh door lets pass.
_TOUCH_M = 2e-6
_DRIP_M = 1e-4  # how far off its wall begins to fall what comes in by a port
_FLAT = 1e-9


def plan_axes(up: Floats) -> Floats:
    """A rotation (3, 3) whose columns are two directions of the plan and up itself.

    >>> (plan_axes(np.array([0.0, 0.0, 1.0])) + 0.0).tolist()
    [[1.0, 0.0, 0.0], [0.0, 1.0, 0.0], [0.0, 0.0, 1.0]]
    """
    least = int(np.argmin(np.abs(up)))
    first = -up * up[least]
    first[least] += 1.0
    first /= sqrt(first.dot(first))
    (a, b, c), (d, e, f) = up.tolist(), first.tolist()
    return np.array(
        [[d, b * f - c * e, a], [e, c * d - a * f, b], [f, a * e - b * d, c]]
    )  # without np.cross: slow here


@dataclass(frozen=True)
class Tilted:
    """A cavity at one attitude; all levels are about the cavity's centre, along up (3,)."""

    cavity: Cavity
    up: Floats
    z_m: Floats
    plan_m2: Floats
    spots: tuple[Spot, ...]

    @classmethod
    def of(cls, cavity: Cavity, up: Floats, spots: Sequence[Spot] = ()) -> Tilted:
        """The cavity with a free surface that faces up; for its airspaces turn up round."""
        plan = points.along(cavity.areas_m2, up) * cavity.share  # every volume and area is a sum over these
        return cls(cavity, up, points.along(cavity.vertices_m, up), plan, tuple(spots))

    @cached_property
    def axes(self) -> Floats:
        """Two directions of the plan and up: see plan_axes."""
        return plan_axes(self.up)

    @cached_property
    def placed_m(self) -> Floats:
        """Vertices in the plan's axes and up: (n, 3), for the pools."""
        placed = np.empty((len(self.z_m), 3))
        for k in range(2):
            placed[:, k] = points.along(self.cavity.vertices_m, self.axes[:, k].copy())
        placed[:, 2] = self.z_m
        return placed

    @property
    def low_m(self) -> float:
        """Level of the cavity's lowest point."""
        return float(self.z_m.min())

    @property
    def high_m(self) -> float:
        """Level of the cavity's highest point."""
        return float(self.z_m.max())

    @cached_property
    def tree(self) -> pools.Tree:
        """The pool tree, with the seed below each spot."""
        cavity = self.cavity
        spots = np.array([spot.point_m for spot in self.spots]).reshape(-1, 3) @ self.axes
        faces = np.array([spot.face for spot in self.spots], dtype=np.int32)
        hair = _HAIR * float(np.abs(cavity.vertices_m).max())
        try:
            return pools.grow(
                self.placed_m, cavity.faces, cavity.edges, cavity.normals, self.axes, spots, faces, hair, _TOUCH_M
            )
        except ArithmeticError as fault:
            raise MeshError(
                f"the surface passes through itself ({fault})",
                mend="Unite the overlapping parts in CAD; `fuelsys mesh FILE` shows where they are.",
                file=cavity.name,
            ) from fault

    def level_m(self, spot: Spot) -> float:
        """Level of a spot."""
        return float(spot.point_m @ self.up)

    def volume_and_area(self, levels_m: Floats) -> tuple[Floats, Floats]:
        """Volume and free-surface area of the whole cavity below each level."""
        return volume.volume_and_area(self.z_m, self.cavity.faces, self.plan_m2, levels_m)

    def level_for(self, volumes_m3: Floats) -> Floats:
        """Level of each volume, the whole cavity having one level."""
        return level_for_volume(self.z_m, self.cavity.faces, self.plan_m2, volumes_m3)

    def by_seed(self, levels_m: Floats) -> Floats:
        """Volume of each seed's faces below its own levels: (s, states) -> (s, states)."""
        return volume.volume_by_part(self.z_m, self.cavity.faces, self.plan_m2, self.tree.face_seed, levels_m)

    def moments_by_seed(self, levels_m: Floats) -> Floats:
        """Volume, its moments, surface area, its moments of each seed's faces below its own level: (s,) -> (s, 8)."""
        faces, part = self.cavity.faces, self.tree.face_seed
        return volume.moments_by_part(self.cavity.vertices_m, self.z_m, faces, self.plan_m2, part, levels_m, self.up)

    def moments(self, level_m: float) -> Floats:
        """The same of the whole cavity below one level: (8,)."""
        part: Ints = np.zeros(len(self.cavity.faces), np.int32)
        faces, levels = self.cavity.faces, np.array([level_m])
        return volume.moments_by_part(self.cavity.vertices_m, self.z_m, faces, self.plan_m2, part, levels, self.up)[0]


def seeds_below(cavity: Cavity, spots: Sequence[Spot], up: Floats) -> list[int]:
    """The seed of the pool that what comes in at each spot falls into, a hair off its wall, which may be the roof; -1: none."""
    if not spots:
        return []
    both = ([_dripping(cavity, spot, up, by_m) for spot in spots] for by_m in (-_DRIP_M, _DRIP_M))
    pairs = zip(*(Tilted.of(cavity, up, some).tree.port_seed.tolist() for some in both), strict=True)
    return [lower if lower >= 0 else upper for lower, upper in pairs]  # at the foot of a wall nothing is lower


def _dripping(cavity: Cavity, spot: Spot, up: Floats, by_m: float) -> Spot:
    area = cavity.areas_m2[spot.face]
    outward = area / np.linalg.norm(area)
    if spot.face < 0 or outward @ up < -_FLAT:
        return spot  # it stands free, or on a floor
    return Spot(spot.name, spot.point_m - _DRIP_M * outward + by_m * up)
