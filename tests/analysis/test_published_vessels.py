"""Published volumes of standard vessels (rows C1 and C2 of the standards' table), reached through a cavity at an attitude."""

import math

import numpy as np
import pytest
import solids
from facets import FINE, LEVEL, SHELL, Vessel, arcs_m, ellipsoidal, heights, held, spherical, torispherical
from fillsheets import example, fitted
from fluids.geometry import TANK
from numpy.testing import assert_allclose
from solids import Floats, Head, Solid, head_profile, prism, revolve, vessel

from fuelsys import units
from fuelsys.analysis.tank.dipstick import dipstick
from fuelsys.analysis.tank.levels import level_table
from fuelsys.model.built.cavity import Cavity

IN, US_GAL = units.scale("in"), units.scale("US gal", "volume")
ROUNDING = 1e-12  # relative, of sums over thousands of faces
LYING_54 = 54 * IN, 156 * IN
JONES = "Jones 2003, D 108 L 156 a 42 in"
LYING = [  # vessel on its side, height above its lowest point and published volume, units of both, where
    pytest.param(
        Vessel(*LYING_54, "flat"), {36: 1805.188288, 108: 6186.571133}, (IN, US_GAL), id="C1.01, flat ends, computed"
    ),
    pytest.param(
        Vessel(*LYING_54, "conical", 42 * IN),
        {36: 2041.1923581273, 54: 3648.4906682417, 84: 6180.5407739058, 108: 7296.9813364835},
        (IN, US_GAL),
        id=f"C1.02, {JONES}, conical ends; 54 and 108: fluids",
    ),
    pytest.param(
        ellipsoidal(*LYING_54, 42 * IN),
        {36: 2380.9565415578, 54: 4203.6957699307, 84: 7103.4452359214, 108: 8407.3915398614},
        (IN, US_GAL),
        id=f"C1.03, {JONES}, ellipsoidal ends; 54 and 108: fluids",
    ),
    pytest.param(
        spherical(*LYING_54, 42 * IN),
        {36: 2303.9615116986, 54: 4094.0256263872, 84: 6935.1633652755, 108: 8188.0512527744},
        (IN, US_GAL),
        id=f"C1.04, {JONES}, spherical ends; 54 and 108: fluids",
    ),
    pytest.param(
        ellipsoidal(5.0, 25.0, 2.0),
        {1: 108.05249928, 2.5: 416.59045429, 5: 1086.46745937, 7.5: 1756.34446444, 10: 2172.93491873},
        (1.0, 1.0),
        id="C1.16, fluids, ellipsoidal ends, D 10 L 25 a 2",
    ),
]


UPRIGHT = [
    pytest.param(
        spherical(66 * IN, 150 * IN, 33 * IN),
        {24: 583.6018352850, 60: 2658.4605833627},
        id="C1.09, Jones 2003, spherical bottom, D 132 a 33 in",
    ),
    pytest.param(
        torispherical(66 * IN, 150 * IN),
        {1: 1.7906624793, 22: 785.5875614682, 24: 904.0688283794, 60: 3036.7614412163},
        id="C1.10, Jones 2003, torispherical bottom, D 132 in f 1 k 0.06; 1 and 22: fluids",
    ),
]


@pytest.mark.parametrize(("shape", "published", "unit"), LYING)
def test_lying_vessel_is_short_by_what_facets_hide_and_by_a_quarter_of_it_when_they_double(
    shape: Vessel, published: dict[float, float], unit: tuple[float, float]
) -> None:
    true_m3 = np.array(list(published.values())) * unit[1]
    points = heights(np.array(list(published)) * unit[0] - shape.radius_m)
    coarse, fine = (true_m3 - held(shape.solid(n, n // 4, "x"), LEVEL, points) for n in (128, 256))
    most = shape.hidden_m3(256, 64)
    assert_allclose(fine, most / 2, rtol=0, atol=most / 2)  # from 0 to the bound
    # A published volume that is off by d gives the ratio 4 − 3 d / fine: 0.5 % of 4 holds the figure to 0.7 % of what
    # 256 facets hide, which is about a millionth of the volume.
    assert_allclose(coarse / fine, 4.0, rtol=0.005)


@pytest.mark.parametrize(("shape", "published"), UPRIGHT)
def test_upright_vessel_with_sections_of_equal_area_is_short_by_its_arcs(
    shape: Vessel, published: dict[float, float]
) -> None:
    true_m3 = np.array(list(published.values())) * US_GAL
    points = heights(np.array(list(published)) * IN - shape.depth_m)
    coarse, fine = (true_m3 - held(shape.solid(16, n, "z", "equal_area"), LEVEL, points) for n in (512, 2048))
    most = shape.hidden_along_m3(2048)
    assert_allclose(fine, most / 2, rtol=0, atol=most / 2)
    assert_allclose(coarse / fine, 16.0, rtol=0.02)


@pytest.mark.parametrize(("shape", "published", "unit"), LYING[:2])
def test_lying_vessel_without_arcs_of_fine_sections_of_equal_area(
    shape: Vessel, published: dict[float, float], unit: tuple[float, float]
) -> None:
    points = heights(np.array(list(published)) * unit[0] - shape.radius_m)
    found = held(shape.solid(FINE, 1, "x", "equal_area"), LEVEL, points) / unit[1]
    whole = list(published.values())[-1]
    assert_allclose(found, list(published.values()), rtol=0, atol=5e-7 + SHELL * whole)


@pytest.mark.parametrize(("shape", "published", "unit"), LYING[:4])
def test_a_stick_in_a_lying_vessel(shape: Vessel, published: dict[float, float], unit: tuple[float, float]) -> None:
    """From the lowest published height to the last but the full one: what dry and all wet mean; the marks between by the library."""
    solid, facets = shape.solid(128, 32, "x"), shape.hidden_m3(128, 32)
    middle_m = (solid[0].min(axis=0) + solid[0].max(axis=0)) / 2.0
    low, high = min(published), sorted(published)[-2:][0 if len(published) > 2 else 1]
    ends = [middle_m + np.array([0.1, 0.0, h * unit[0] - shape.radius_m]) for h in (low, high)]
    tank = fitted(
        solids.to_manifold(*solid), (ends[0], ends[1]), step=f"{float(f'{published[low] / 5 * unit[1]:.1g}')} m3"
    )
    found = dipstick(example(), tank, "m3", at=(LEVEL,))
    assert_allclose(
        [found.below_m3, found.top_m3], np.array([published[low], published[high]]) * unit[1], rtol=0, atol=facets
    )
    head = {"flat": None}.get(shape.head, shape.head)
    true = TANK(D=2 * shape.radius_m, L=shape.length_m, horizontal=True, sideA=head, sideB=head,
                sideA_a=shape.depth_m, sideB_a=shape.depth_m)  # fmt: skip
    assert len(found.marks) >= 5
    for mark in found.marks:
        assert_allclose(mark.volume_m3, true.V_from_h(low * unit[0] + mark.along_m), rtol=0, atol=facets)


@pytest.mark.parametrize("head", ["conical", "ellipsoidal", "spherical", "torispherical"])
def test_heads_against_the_library_at_every_height(head: Head) -> None:
    shapes = {
        "conical": Vessel(0.25, 0.8, "conical", 0.1),
        "ellipsoidal": ellipsoidal(0.25, 0.8, 0.1),
        "spherical": spherical(0.25, 0.8, 0.1),
        "torispherical": torispherical(0.25, 0.8),
    }
    shape, up_to = shapes[head], np.linspace(0.01, 0.49, 25)
    depth = {} if head == "torispherical" else {"sideA_a": 0.1, "sideB_a": 0.1}
    tank = TANK(D=0.5, L=0.8, horizontal=True, sideA=head, sideB=head, **depth)
    short = [tank.V_from_h(float(h)) for h in up_to] - held(shape.solid(256, 64, "x"), LEVEL, heights(up_to - 0.25))
    most = shape.hidden_m3(256, 64)
    assert_allclose(short, most / 2, rtol=0, atol=most / 2)


# --- Exact plans: closed forms to rounding, printed figures to half their last digit ---------------------------------

EXACT = [  # body with sections of equal area, level step, rows of its table and what they print, unit of volume, where
    pytest.param(
        revolve([(0, -33 * IN), (66 * IN, 0), (66 * IN, 120 * IN)], circle="equal_area"),
        12 * IN,
        {2: "250.6746138137", 5: "2251.1755357723", 11: "6516.5607614463"},
        US_GAL,
        id="C1.07, Jones 2003, upright, conical bottom, D 132 a 33, h 24 60 132 in",
    ),
    pytest.param(
        vessel(0.6, 4.0, circle="equal_area"),
        0.5,
        {1: "0.5654866776461628", 8: "4.523893421169302"},
        1.0,
        id="C1.14, fluids, upright cylinder, D 1.2 L 4, h 0.5 4",
    ),
    pytest.param(
        revolve([(0, -2), (0.75, 0), (0.75, 5), (0, 6)], circle="equal_area"),
        0.2,
        {
            5: "0.147262156",
            10: "1.178097245",
            25: "6.479534848",
            35: "10.013826583",
            36: "10.301282311",
            40: "10.602875206",
        },
        1.0,
        id="C1.15, fluids, two cones, D 1.5 L 5 a 2 and 1, h 1 2 5 7 7.2 8",
    ),
]


def half_last_digit(printed: str) -> float:
    return 0.5 * 10.0 ** -len(printed.partition(".")[2])


@pytest.mark.parametrize(("solid", "step_m", "printed", "unit"), EXACT)
def test_level_table_of_exact_plan(solid: Solid, step_m: float, printed: dict[int, str], unit: float) -> None:
    rows = level_table(Cavity.of(*solid), LEVEL, level_step_m=step_m).rows
    for row, figure in printed.items():
        assert_allclose(rows[row].volume_m3 / unit, float(figure), rtol=ROUNDING, atol=half_last_digit(figure))


def test_c1_14_level_for_a_volume() -> None:
    table = level_table(Cavity.of(*vessel(0.6, 4.0, circle="equal_area")), LEVEL, volume_step_m3=0.5)
    assert_allclose(table.rows[1].level_m, 0.442097064, rtol=0, atol=5e-10)  # fluids, D 1.2, V 0.5


# --- Spheres and segments --------------------------------------------------------------------------------------------


def upright_sphere(radius: float, steps: int) -> Solid:
    south = head_profile("spherical", radius, radius, steps)
    return revolve(south + [(r, -z) for r, z in south[-2::-1]], 16, circle="equal_area")


@pytest.mark.parametrize(
    ("radius", "height", "printed"),
    [
        pytest.param(0.5, 0.7, "0.4105014400690663", id="C1.12, fluids, D 1"),
        pytest.param(1.0, 0.3, "0.254469005", id="C3.10, π h² (3R − h)/3"),
    ],
)
def test_sphere_below_a_level(radius: float, height: float, printed: str) -> None:
    points = heights([height - radius])
    coarse, fine = (float(printed) - held(upright_sphere(radius, n), LEVEL, points)[0] for n in (256, 1024))
    most = 4 * math.pi * radius**2 * arcs_m([(radius, math.pi / 2)], 1024)
    assert_allclose(fine, most / 2, rtol=0, atol=most / 2)
    assert_allclose(coarse / fine, 16.0, rtol=0.02)


def test_c1_12_curved_area_of_a_sphere_segment() -> None:
    # The facets' body is convex and holds the true one made c = cos(π/n) cos(t/2) times as large about the centre and
    # cut by the same lid; a convex body has more area than any that it holds.
    height, rim = 0.7, math.sqrt(0.25 - 0.2**2)

    def short_m2(n: int) -> float:
        cap = Cavity.of(*revolve(head_profile("spherical", rim, height, n), n))
        lid_m2 = n / 2 * rim**2 * math.sin(2 * math.pi / n)
        return 2.199114857512855 - (cap.wetted_area_m2 - lid_m2)  # fluids, D 1 h 0.7

    c = math.cos(math.pi / 256) * math.cos(math.pi / 256 / 2)
    assert 0 < short_m2(256) < 2 * math.pi * 0.5 * (height + 0.5) * (1 - c) + math.pi * 0.25 * (1 - c**2)
    assert_allclose(short_m2(128) / short_m2(256), 4.0, rtol=0.005)


def test_c1_13_circular_segment() -> None:
    found = held(vessel(48.0, 200.0, facets=FINE, axis="x", circle="equal_area"), LEVEL, heights([22.0 - 48.0]))
    assert_allclose(found / 200.0, 1251.2018147383194, rtol=0, atol=SHELL * math.pi * 48.0**2)  # fluids, D 96 h 22
    # Wetted wall of a segment's own prism; a chord of an arc that turns by t is shorter than it by at most t²/24.
    half = math.acos((48.0 - 22.0) / 48.0)
    turns = np.linspace(-half, half, 2001)
    segment = Cavity.of(*prism(48.0 * np.column_stack([np.sin(turns), -np.cos(turns)]), 200.0, "x"))
    lid_m2 = 200.0 * 2 * 48.0 * math.sin(half)
    wall_m2 = segment.wetted_area_m2 - lid_m2 - 2 * segment.gross_m3 / 200.0
    assert_allclose(wall_m2, 19168.852890279868, rtol=(2 * half / 2000) ** 2 / 24)  # fluids, L 200


SHARES = {  # C2: H/D -> lying cylinder, sphere or pair of ellipsoidal heads; the same as handbooks' partial volumes
    0.05: ("0.018693", "0.007250"),
    0.10: ("0.052044", "0.028000"),
    0.15: ("0.094060", "0.060750"),
    0.20: ("0.142378", "0.104"),
    0.25: ("0.195501", "0.156250"),
    0.30: ("0.252316", "0.216"),
    0.35: ("0.311919", "0.281750"),
    0.40: ("0.373530", "0.352"),
    0.45: ("0.436444", "0.425250"),
    0.50: ("0.5", "0.5"),
    0.60: ("0.626470", "0.648"),
    0.70: ("0.747684", "0.784"),
    0.75: ("0.804499", "0.843750"),
    0.80: ("0.857622", "0.896"),
    0.90: ("0.947956", "0.972"),
}
FILLED = np.array(list(SHARES))


def test_c2_shares_of_a_lying_cylinder() -> None:
    found = held(vessel(0.5, 1.0, facets=FINE, axis="x", circle="equal_area"), LEVEL, heights(FILLED - 0.5))
    printed = [float(cylinder) for cylinder, _ in SHARES.values()]
    assert_allclose(found / (math.pi / 4), printed, rtol=0, atol=5e-7 + SHELL)


def test_c2_shares_of_a_sphere() -> None:
    # Chords hide at most area × depth, which is 3 × depth / R of the volume; the figures are exact, not rounded.
    found = held(upright_sphere(0.5, 2048), LEVEL, heights(FILLED - 0.5)) / (math.pi / 6)
    assert_allclose(found, [float(s) for _, s in SHARES.values()], rtol=0, atol=6 * arcs_m([(0.5, math.pi / 2)], 2048))


def test_c2_shares_of_lying_ellipsoidal_heads() -> None:
    def short(n: int) -> Floats:
        near = head_profile("ellipsoidal", 0.5, 0.2, n // 4)
        solid = revolve(near + [(r, -x) for r, x in near[-2::-1]], n, "x")
        return [float(s) for _, s in SHARES.values()] - held(solid, LEVEL, heights(FILLED - 0.5)) / (math.pi / 6 * 0.4)

    pair = ellipsoidal(0.5, 0.0, 0.2)
    most = pair.hidden_m3(256, 64) / (math.pi / 6 * 0.4)
    assert_allclose(short(256), most / 2, rtol=0, atol=most / 2)
    assert_allclose(short(128) / short(256), 4.0, rtol=0.02)
