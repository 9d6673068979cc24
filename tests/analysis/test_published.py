"""Closed forms of tilted tanks (rows C3 of the standards' table), reached through a cavity at an attitude; C1, C2: vessels."""

import math

import numpy as np
import pytest
import solids
from facets import FINE, LEVEL, SHELL, held
from numpy.testing import assert_allclose
from random_solids import random_body
from scipy.integrate import quad
from solids import Floats, Solid, box, prism, revolve, vessel

from fuelsys.analysis.tank.draining import Opening
from fuelsys.analysis.tank.levels import level_table
from fuelsys.analysis.tank.tilted import Tilted
from fuelsys.analysis.tank.unusable import left_at
from fuelsys.model.built.cavity import Cavity
from fuelsys.model.found.unusable import UnusableAt
from fuelsys.model.stated.attitude import Attitude

ROUNDING = 1e-12  # relative, of closed forms against sums over flat faces
PITCHED = Attitude.of_degrees(10.0, 0.0)  # nose up: the aft end, at large x, is the low one
TAN = math.tan(math.radians(10.0))


def left_below(solid: Solid, attitude: Attitude, outlet_m: tuple[float, float, float]) -> UnusableAt:
    """What stays in a tank whose outlet opens at a point, the surface coming down to it."""
    cavity = Cavity.of(*solid)
    return left_at(cavity, attitude, [Opening(cavity.spot("outlet", np.array(outlet_m)))])


# --- Cylinders -------------------------------------------------------------------------------------------------------
# Polygons of equal area: off by the share SHELL of the whole volume at most, derived in facets.py.


def test_c3_01_cylindrical_hoof() -> None:
    # Archimedes: a plane through a diameter of the base, rising to H on the wall, cuts off (2/3) R² H: with R 0.25 and
    # H 0.3 exactly 0.0125. The outlet in the middle of the floor leaves just this.
    hoof = left_below(
        vessel(0.25, 0.4, facets=FINE, circle="equal_area"), Attitude("", "flight", math.atan(0.3 / 0.25)), (0, 0, 0)
    )
    assert_allclose(hoof.unusable_m3, 0.0125, rtol=0, atol=SHELL * math.pi * 0.25**2 * 0.4)
    assert hoof.trapped_m3 == 0.0


def test_c3_01_facets_hide_a_quarter_when_doubled() -> None:
    # Inscribed, below a plane that rises by 0.3 on the wall: at most the share sin²(π/n) of the vessel's 0.4 high.
    steep = Attitude("", "flight", math.atan(0.3 / 0.25))
    coarse, fine = (0.0125 - held(vessel(0.25, 0.4, facets=n), steep, [[0, 0, 0]])[0] for n in (512, 1024))
    assert 0 < fine < math.pi * 0.25**2 * 0.4 * math.sin(math.pi / 1024) ** 2
    assert_allclose(coarse / fine, 4.0, rtol=0.005)


def pitched_cylinder_m3(radius: float, length: float, tan: float, low_m: float) -> float:
    """C3.02: below a surface that stands at low_m above the wall's lowest line at the low end and falls towards the other."""

    def primitive(u: float) -> float:
        root = math.sqrt(radius**2 - u**2)
        return radius**2 * u * math.acos(u / radius) - radius**2 * root + root**3 / 3

    ends = radius - low_m, radius - low_m + length * tan
    u0, u1 = (min(max(u, -radius), radius) for u in ends)
    full_m = max(0.0, min(length, (-radius - ends[0]) / tan))
    return (primitive(u1) - primitive(u0)) / tan + math.pi * radius**2 * full_m


@pytest.mark.parametrize(
    ("low_m", "litres"),
    [
        pytest.param(0.05, 1.169623, id="C3.04, 0.05 m"),
        pytest.param(0.15, 17.384172, id="C3.04, 0.15 m"),
        pytest.param(0.25, 56.026567, id="C3.04, 0.25 m"),
        pytest.param(0.40, 128.098565, id="C3.04, 0.40 m"),
    ],
)
def test_c3_04_pitched_cylinder(low_m: float, litres: float) -> None:
    assert_allclose(pitched_cylinder_m3(0.25, 1.0, TAN, low_m) * 1e3, litres, rtol=0, atol=5e-7)
    lying = vessel(0.25, 1.0, facets=FINE, axis="x", circle="equal_area")
    kept = left_below(lying, PITCHED, (1.0, 0.0, low_m - 0.25))
    assert_allclose(kept.unusable_m3 * 1e3, litres, rtol=0, atol=5e-7 + SHELL * math.pi * 0.25**2 * 1e3)


@pytest.mark.parametrize("pitch_deg", [1.0, 10.0, 40.0])
def test_c3_02_pitched_cylinder_at_every_level(pitch_deg: float) -> None:
    # Three ways: the closed form, the segment's area integrated along the axis, and the faceted cavity.
    tan = math.tan(math.radians(pitch_deg))
    low_m = np.linspace(0.03, 0.97, 9) * (0.5 + tan)

    def segment_m2(s: float, low: float) -> float:
        u = min(max(0.25 - low + s * tan, -0.25), 0.25)
        return 0.0625 * math.acos(u / 0.25) - u * math.sqrt(0.0625 - u**2)

    closed = [pitched_cylinder_m3(0.25, 1.0, tan, float(low)) for low in low_m]
    summed = [quad(segment_m2, 0.0, 1.0, args=(float(low),), limit=400, epsabs=1e-11)[0] for low in low_m]
    lying = vessel(0.25, 1.0, facets=FINE, axis="x", circle="equal_area")
    points = np.column_stack([np.ones(9), np.zeros(9), low_m - 0.25])
    assert_allclose(closed, summed, rtol=0, atol=1e-9)
    assert_allclose(held(lying, Attitude.of_degrees(pitch_deg, 0.0), points), closed, rtol=0, atol=SHELL * 0.2)


def test_c3_02_facets_hide_a_quarter_when_doubled() -> None:
    true_m3 = pitched_cylinder_m3(0.25, 1.0, TAN, 0.25)
    found = [held(vessel(0.25, 1.0, facets=n, axis="x"), PITCHED, [[1, 0, 0]])[0] for n in (128, 256)]
    coarse, fine = true_m3 - found[0], true_m3 - found[1]
    assert 0 < fine < math.pi * 0.25**2 * math.sin(math.pi / 256) ** 2
    assert_allclose(coarse / fine, 4.0, rtol=0.005)


CENTRAL = [  # bodies that turn into themselves about their middle, and that middle
    pytest.param(vessel(0.25, 1.0, facets=256, axis="x", circle="equal_area"), (0.5, 0, 0), id="cylinder, 98.174770 L"),
    pytest.param(vessel(0.25, 1.0, "torispherical", facets=32, axis="y"), (0, 0.5, 0), id="torispherical heads"),
    pytest.param(box(0.6, 0.4, 0.2), (0.3, 0.2, 0.1), id="box"),
    pytest.param(
        prism([[0, 0], [2, 0], [3, 1], [3, 2], [1, 2], [0, 1]], 1.0), (1.5, 1.0, 0.5), id="skewed hexagonal prism"
    ),
    pytest.param(solids.ring(), (1.5, 0.5, 1.5), id="square duct"),
]


@pytest.mark.parametrize(("solid", "middle_m"), CENTRAL)
def test_c3_06_plane_through_the_middle_halves(solid: Solid, middle_m: tuple[float, float, float]) -> None:
    whole = Cavity.of(*solid).gross_m3
    for pitch, roll in [(0, 0), (10, 0), (-37, 12), (85, 170), (3, -91)]:
        half = held(solid, Attitude.of_degrees(pitch, roll), [middle_m])[0]
        assert_allclose(half, whole / 2, rtol=ROUNDING)


def test_c3_06_half_the_cylinder_as_printed() -> None:
    cylinder = vessel(0.25, 1.0, facets=256, axis="x", circle="equal_area")  # whole volume exact
    assert_allclose(held(cylinder, PITCHED, [[0.5, 0, 0]])[0] * 1e3, 98.174770, rtol=0, atol=5e-7)


# --- Boxes: length 0.6, width 0.4, height 0.2 m, pitched by 10° ------------------------------------------------------


def depths_m(volume_m3: float) -> tuple[float, float]:
    """Depth of fuel in the box along its own walls, at the low end (x 0.6) and, if it reaches so far, at the high one."""
    cavity = Cavity.of(*box(0.6, 0.4, 0.2))
    tilted = Tilted.of(cavity, PITCHED.up)
    level_m = float(tilted.level_for(np.array([volume_m3]))[0]) + float(cavity.centre_m @ tilted.up)
    low, high = ((level_m - x * tilted.up[0]) / tilted.up[2] for x in (0.6, 0.0))
    return float(low), float(high)


def test_c3_07_box_wetted_from_end_to_end() -> None:
    low, high = depths_m(0.024)  # mean depth 0.024 / (0.6 × 0.4) = 0.1
    assert_allclose([low, high], [0.1 + 0.3 * TAN, 0.1 - 0.3 * TAN], rtol=ROUNDING)
    assert_allclose([low, high], [0.1528981, 0.0471019], rtol=0, atol=5e-8)


def test_c3_08_box_with_a_wedge_of_fuel() -> None:
    low, _ = depths_m(0.005)
    assert_allclose(low, math.sqrt(2 * 0.005 * TAN / 0.4), rtol=ROUNDING)
    assert_allclose(low, 0.0663941, rtol=0, atol=5e-8)
    assert_allclose(low / TAN, 0.376540, rtol=0, atol=5e-7)  # wetted length of the floor


def test_c3_09_fuel_below_an_outlet_at_the_high_end() -> None:
    kept = left_below(box(0.6, 0.4, 0.2), PITCHED, (0.0, 0.2, 0.0))
    assert_allclose(kept.unusable_m3, 0.6**2 * 0.4 * TAN / 2, rtol=ROUNDING)
    assert_allclose(kept.unusable_m3 * 1e3, 12.695543, rtol=0, atol=5e-7)
    assert kept.trapped_m3 == 0.0


@pytest.mark.parametrize("radii", [(0.3, 0.2), (0.2, 0.3)])
def test_c3_11_frustum(radii: tuple[float, float]) -> None:
    solid = revolve([(radii[0], 0), (radii[1], 0.5)], circle="equal_area")
    full_m3 = level_table(Cavity.of(*solid), LEVEL).rows[-1].volume_m3
    assert_allclose(full_m3, math.pi * 0.5 * (0.3**2 + 0.3 * 0.2 + 0.2**2) / 3, rtol=ROUNDING)
    # π × 0.095 / 3 = 0.09948376736: the printed 0.099483768 has its last digit one too high.
    assert_allclose(full_m3, 0.099483768, rtol=0, atol=1e-9)


# --- C3.12: what holds for every table -------------------------------------------------------------------------------

BODIES = [
    pytest.param(box(0.6, 0.4, 0.2), id="box"),
    pytest.param(solids.tetrahedron(), id="tetrahedron"),
    pytest.param(solids.l_tank(), id="L"),
    pytest.param(solids.stepped_floor(), id="stepped floor"),
    pytest.param(solids.baffled_box(), id="baffled box"),
    pytest.param(solids.box_with_void(), id="box with a can"),
    pytest.param(solids.egg_crate(), id="egg crate"),
    pytest.param(solids.ring(), id="ring"),
    pytest.param(vessel(0.25, 1.0, "conical", 0.2, facets=12, axis="x"), id="conical heads"),
    pytest.param(random_body(3), id="random body"),
]
ATTITUDES = [LEVEL, PITCHED, Attitude.of_degrees(-7.3, 21.9), Attitude.of_degrees(63.0, -118.0)]


@pytest.mark.parametrize("attitude", ATTITUDES, ids=lambda a: a.text)
@pytest.mark.parametrize("solid", BODIES)
def test_c3_12_laws_of_a_table(solid: Solid, attitude: Attitude) -> None:
    cavity = Cavity.of(*solid)
    rows = level_table(cavity, attitude).rows
    volumes = np.array([row.volume_m3 for row in rows])
    small = ROUNDING * cavity.gross_m3
    assert_allclose([volumes[0], volumes[-1]], [0.0, cavity.gross_m3], rtol=0, atol=small)  # and so at any attitude
    assert np.diff(volumes).min() > -small
    # Turned over, the level h from below is the level H − h, and what was full is empty.
    turned = Tilted.of(cavity, -attitude.up)
    levels = turned.high_m - np.array([row.level_m for row in rows])
    assert_allclose(volumes + turned.volume_and_area(levels)[0], cavity.gross_m3, rtol=0, atol=small)


@pytest.mark.parametrize("solid", BODIES)
def test_c3_12_roll_by_half_a_turn_mirrors(solid: Solid) -> None:
    cavity = Cavity.of(*solid)
    upright, over = (
        np.array([row.volume_m3 for row in level_table(cavity, Attitude.of_degrees(0, roll)).rows]) for roll in (9, 189)
    )
    assert_allclose(upright + over[::-1], cavity.gross_m3, rtol=0, atol=ROUNDING * cavity.gross_m3)


@pytest.mark.parametrize("attitude", ATTITUDES[2:], ids=lambda a: a.text)
@pytest.mark.parametrize("solid", BODIES)
def test_c3_12_area_is_the_slope_of_volume(solid: Solid, attitude: Attitude) -> None:
    # Between two neighbouring corner levels the area is a parabola in the level, which Simpson's rule sums exactly; at
    # these attitudes no face is level, so that the area has no steps.
    cavity = Cavity.of(*solid)
    tilted = Tilted.of(cavity, attitude.up)
    corner: Floats = np.unique(tilted.z_m)
    middle = (corner[:-1] + corner[1:]) / 2
    volume, area = tilted.volume_and_area(corner)
    between = np.diff(corner) / 6 * (area[:-1] + 4 * tilted.volume_and_area(middle)[1] + area[1:])
    assert_allclose(np.diff(volume), between, rtol=0, atol=ROUNDING * cavity.gross_m3)
