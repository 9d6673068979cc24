"""How far faceted vessels may lie from the true ones, derived; and what a faceted cavity holds, by the product's own path."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from solids import Axis, Circle, Floats, Head, Solid, head_profile, vessel

from fuelsys.analysis.tank.tilted import Tilted
from fuelsys.model.built.cavity import Cavity
from fuelsys.model.stated.attitude import Attitude

LEVEL = Attitude("level", "ground", normal=True)


def held(solid: Solid, attitude: Attitude, points_m: Sequence[Sequence[float]] | Floats) -> Floats:
    """What a cavity holds when the surface stands at each of some points (k, 3) in its own axes."""
    cavity = Cavity.of(*solid)
    levels_m = (np.asarray(points_m) - cavity.centre_m) @ attitude.up
    return Tilted.of(cavity, attitude.up).volume_and_area(levels_m)[0]


def heights(z: Sequence[float] | Floats) -> Floats:
    return np.column_stack([np.zeros((len(z), 2)), z])


# --- What facets hide ------------------------------------------------------------------------------------------------
# A body of revolution whose corners lie on the true, convex one is the true one less a skin.
# Around: the polygon of a section of radius r holds the circle of radius r cos(π/n), so n facets hide at most the share
# 1 − cos²(π/n) of the volume, which is below π R² (L + 2 a) for heads of depth a on a cylinder.
# Along: a chord of an arc of radius q that turns by t leaves the arc by q (1 − cos(t/2)) at most; an ellipse cut by its
# angle is a squeezed circle, so its longer half axis counts for q. On a convex body a skin of that depth holds no more
# than depth × area, and a head, which lies in its own cylinder, has an area below π R (R + 2 a).
# Below a level lies no more of the skin than all of it. Both terms fall fourfold when facets and chords are doubled.
#
# Polygons of equal area instead lie between the circles of radius r g cos(π/n) and r g, with g² = (2π/n) / sin(2π/n).
# A body that stands upright then has every section exact, and only its arcs hide anything. At any other attitude it is
# off, below any level, by at most the shell between the true body and one g times as wide: g² − 1 ≈ 2π²/(3 n²) of it.

FINE = 2**14  # facets around where no arc needs chords: the shell of equal area is 2.5e-8 of the volume
SHELL = (2 * math.pi / FINE) / math.sin(2 * math.pi / FINE) - 1


def arcs_m(arcs: Sequence[tuple[float, float]], steps: int) -> float:
    """How far the chords leave the arcs, each of a radius and a turn."""
    return max((radius_m * (1 - math.cos(turn / steps / 2)) for radius_m, turn in arcs), default=0.0)


@dataclass(frozen=True)
class Vessel:
    """A cylinder with two equal heads of depth a, whose arcs have radii and turn by angles."""

    radius_m: float
    length_m: float
    head: Head
    depth_m: float = 0.0
    arcs: tuple[tuple[float, float], ...] = ()

    def solid(self, facets: int, steps: int, axis: Axis, circle: Circle = "inscribed") -> Solid:
        shape = (self.radius_m, self.length_m, self.head, self.depth_m)
        return vessel(*shape, facets=facets, steps=steps, axis=axis, circle=circle)

    def hidden_along_m3(self, steps: int) -> float:
        return 2 * math.pi * self.radius_m * (self.radius_m + 2 * self.depth_m) * arcs_m(self.arcs, steps)

    def hidden_m3(self, facets: int, steps: int) -> float:
        """The most that facets with corners on the true body can hide, below any level."""
        whole_m3 = math.pi * self.radius_m**2 * (self.length_m + 2 * self.depth_m)
        return whole_m3 * math.sin(math.pi / facets) ** 2 + self.hidden_along_m3(steps)


def ellipsoidal(radius: float, length: float, depth: float) -> Vessel:
    return Vessel(radius, length, "ellipsoidal", depth, ((max(radius, depth), math.pi / 2),))


def spherical(radius: float, length: float, depth: float) -> Vessel:
    sphere_radius = (radius**2 + depth**2) / (2 * depth)
    return Vessel(radius, length, "spherical", depth, ((sphere_radius, math.atan2(radius, sphere_radius - depth)),))


def torispherical(radius: float, length: float) -> Vessel:
    """Crown 1 and knuckle 0.06 vessel diameters: the dish turns until it meets the knuckle."""
    depth = -head_profile("torispherical", radius, 0.0)[0][1]
    dish, knuckle = 2 * radius, 0.12 * radius
    turn = math.asin((radius - knuckle) / (dish - knuckle))
    return Vessel(radius, length, "torispherical", depth, ((dish, turn), (knuckle, math.pi / 2 - turn)))
