"""Published figures on fuel (rows A3.03, B3, D17, D18 and E05 of the standards' table): growth, flow, head, minutes."""

import math
from pathlib import Path

import numpy as np
import pytest
from designs import layout_of
from numpy.testing import assert_allclose
from rule_cases import plain
from solids import box

from fuelsys import units
from fuelsys.analysis.lines.required_flow import Feed, required_flow_m3_s, thumb_kg_s
from fuelsys.analysis.tank.growth import (
    BASE_K,
    GROUPS,
    LEAST_KG_M3,
    Group,
    correction,
    density_at,
    group_of,
    growth_share,
    rise_that_fills_k,
    volume_correction,
)
from fuelsys.analysis.tank.head import (
    LEAST_TEST_PSI,
    SUPPORTED_TEST_PSI,
    Load,
    full_tank_pressure_pa,
    head_m,
    required_test_pressure,
)
from fuelsys.analysis.tank.switches import trips_at
from fuelsys.analysis.tank.unusable import left_at, outlets
from fuelsys.errors import QuestionError
from fuelsys.model.built.cavity import Cavity
from fuelsys.model.built.layout import FittedTank
from fuelsys.model.found.findings import Outcome
from fuelsys.model.found.outflow import Outflow
from fuelsys.model.found.switches import SwitchStudy
from fuelsys.model.stated.attitude import Attitude
from fuelsys.model.stated.design import Tank
from fuelsys.review import study
from fuelsys.rules.tanks.outlet import strainer_area_small


def celsius(degrees: float) -> float:
    return units.to_si(degrees, "°C", "temperature")


def fahrenheit(degrees: float) -> float:
    return units.to_si(degrees, "°F", "temperature")


# --- B3: worked examples of the volume correction, from a printed sheet of table examples unless said otherwise ------
# The form is the same on both bases; crude oil and the °F basis are no groups of ours, so their constants stand here.

WATER_60_F = 999.012  # kg/m³, of the 1980 edition: from memory
CRUDE = Group("crude oil", math.inf, 613.9723, 0.0, 0.0)  # Table 54A
CRUDE_F = Group("crude oil on the 60 °F basis, per kelvin", math.inf, 1.8 * 341.0957, 0.0, 0.0)  # Table 6A


def density_of_api(api: float) -> float:
    return 141.5 / (api + 131.5) * WATER_60_F


def of_60_f(density_60_kg_m3: float) -> float:
    """Density at 15 °C of a fuel that has a density at 60 °F; two steps settle it to 1e-9."""
    density = density_60_kg_m3
    for _ in range(3):
        density = density_60_kg_m3 / volume_correction(density, fahrenheit(60.0))
    return density


def glass_c(degrees: float) -> float:
    """Growth of a glass hydrometer, from memory; it reproduces B3.09 and B3.10."""
    return 1 - 2.3e-5 * (degrees - 15) - 2e-8 * (degrees - 15) ** 2


def glass_f(degrees: float) -> float:
    return 1 - 1.278e-5 * (degrees - 60) - 6.2e-9 * (degrees - 60) ** 2


def test_b3_01_gasoline_on_the_other_basis() -> None:
    density = of_60_f(density_of_api(63.0))
    found = volume_correction(density, fahrenheit(75.0)) / volume_correction(density, fahrenheit(60.0))
    assert_allclose(found, 0.9895, rtol=0, atol=5e-5)  # Table 6B: API 63.0 at 75 °F


def test_b3_03_crude_at_55_c() -> None:
    found = correction(CRUDE.expansion_per_k(1050.0), celsius(55.0) - BASE_K)
    assert_allclose(found, 0.97758, rtol=0, atol=5e-6)  # Table 54A: 1050 kg/m³
    assert_allclose(500.0 * found, 488.7912, rtol=0, atol=5e-5)
    assert_allclose(500.0 * found * 1.05, 513.2308, rtol=0, atol=5e-5)


@pytest.mark.parametrize(
    ("expansion_per_k", "fahrenheits", "printed", "half"),
    [
        pytest.param(1.8 * 910e-6, 30.0, 1.0271, 5e-5, id="B3.06, Table 6C, 910e-6 per °F"),
        pytest.param(CRUDE_F.expansion_per_k(density_of_api(93.5)), 92.0, 0.97213, 5e-6, id="B3.07, 6A, API 93.5"),
        pytest.param(CRUDE_F.expansion_per_k(1.076 * WATER_60_F), 225.0, 0.95065, 5e-6, id="B3.08, 24A, RD 1.076"),
    ],
)
def test_b3_form_of_the_correction(expansion_per_k: float, fahrenheits: float, printed: float, half: float) -> None:
    assert_allclose(correction(expansion_per_k, (fahrenheits - 60.0) / 1.8), printed, rtol=0, atol=half)


def test_b3_09_fuel_oil_read_with_a_hydrometer() -> None:
    # The table goes from the reading to 15 °C; here the printed density must give back the reading.
    assert_allclose(density_at(1001.19, celsius(4.5)) / glass_c(4.5), 1008.0, rtol=0, atol=5e-3)  # Table 53B


def test_b3_10_crude_read_with_a_hydrometer() -> None:
    observed = 786.65 * correction(CRUDE.expansion_per_k(786.65), 10.0)
    assert_allclose(observed / glass_c(25.0), 779.0, rtol=0, atol=5e-3)  # Table 53A


def test_b3_11_fuel_oil_on_the_other_basis() -> None:
    density = of_60_f(density_of_api(6.74))
    observed = density_at(density, fahrenheit(135.0)) / glass_f(135.0)
    api = 141.5 / (observed / WATER_60_F) - 131.5
    assert_allclose(api, 10.5, rtol=0, atol=5e-3)  # Table 5B: API 10.5 read at 135 °F is 6.74 at 60 °F


def test_b3_12_avgas_in_the_cold() -> None:
    cold = density_at(721.0, celsius(-40.0))
    assert_allclose(cold, 770.3, rtol=0, atol=5e-2)  # computed
    assert_allclose(cold, 769.0, rtol=2e-3)  # B1.05, an encyclopedia: "about 0.1 %/°C", so not to its last digit


@pytest.mark.parametrize(
    ("density", "expansion", "half", "at_40_c"),
    [
        pytest.param(720.0, 1.2777e-3, 5e-8, 0.96777, id="avgas"),
        pytest.param(745.0, 1.2132e-3, 5e-8, 0.96941, id="mogas"),
        pytest.param(804.0, 0.91975e-3, 5e-9, 0.97686, id="Jet A-1"),
        pytest.param(835.0, 0.85273e-3, 5e-9, 0.97855, id="diesel, by its density in the jet fuels' group"),
    ],
)
def test_b3_aircraft_fuels(density: float, expansion: float, half: float, at_40_c: float) -> None:
    at_35_c = {720.0: 0.97426, 804.0: 0.98151}
    assert_allclose(group_of(density).expansion_per_k(density), expansion, rtol=0, atol=half)
    assert_allclose(volume_correction(density, celsius(40.0)), at_40_c, rtol=0, atol=5e-6)
    if density in at_35_c:
        assert_allclose(volume_correction(density, celsius(35.0)), at_35_c[density], rtol=0, atol=5e-6)


@pytest.mark.parametrize(("density", "percent"), [(720.0, 4.65), (745.0, 4.40), (800.0, 3.34), (835.0, 3.06)])
def test_b3_growth_from_5_to_40_c(density: float, percent: float) -> None:
    assert_allclose(100 * growth_share(density, celsius(5.0), celsius(40.0)), percent, rtol=0, atol=5e-3)


@pytest.mark.parametrize(("density", "about_k"), [(720.0, 15.7), (804.0, 21.7), (835.0, 23.5)])
def test_b3_warming_that_uses_up_two_per_cent(density: float, about_k: float) -> None:
    # The printed "about" figures are the straight line 0.02 / expansion. The form itself, from 98 % full at 15 °C: with
    # x = expansion × rise, x (1 + 0.8 x) = −ln 0.98 = 0.0202027, so x = 0.0198863, 0.57 % less than 0.02.
    expansion = group_of(density).expansion_per_k(density)
    assert_allclose(0.02 / expansion, about_k, rtol=0, atol=5e-2)
    rise_k = rise_that_fills_k(density, BASE_K, 0.02 / 0.98)
    assert rise_k is not None
    assert_allclose(rise_k, 0.0198863 / expansion, rtol=5e-6)
    assert_allclose(rise_k, about_k, rtol=0.01)


@pytest.mark.parametrize("density", [720.0, 780.0, 804.0, 860.0])
@pytest.mark.parametrize("room_share", [0.0, 0.01, 0.05])
def test_warming_that_fills_is_growth_turned_round(density: float, room_share: float) -> None:
    rise_k = rise_that_fills_k(density, celsius(5.0), room_share)
    assert rise_k is not None
    assert_allclose(growth_share(density, celsius(5.0), celsius(5.0) + rise_k), room_share, rtol=0, atol=1e-13)


def test_warming_beyond_the_correction_is_none() -> None:
    assert rise_that_fills_k(720.0, celsius(5.0), 0.5) is None


def test_b2_constants_are_those_read_for_fahrenheit() -> None:
    read = [(192.4571, 0.2438, 0.0), (1489.0670, 0.0, -0.00186840), (330.3010, 0.0, 0.0), (103.8720, 0.2701, 0.0)]
    for group, fahrenheits in zip(GROUPS, read, strict=True):
        for constant, other, half in zip((group.k0, group.k1, group.k2), fahrenheits, (5e-5, 5e-5, 5e-9), strict=True):
            assert_allclose(constant, 1.8 * other, rtol=0, atol=half)


def test_groups_join_without_a_step() -> None:
    # So it does not matter that the printed limits are densities at 60 °F, nor which transcription of them is used.
    for lower, upper in zip(GROUPS[:-1], GROUPS[1:], strict=True):
        edge = lower.most_kg_m3
        assert group_of(edge) is lower
        assert group_of(edge + 1e-6) is upper
        assert_allclose(lower.expansion_per_k(edge), upper.expansion_per_k(edge), rtol=0, atol=1e-7)


@pytest.mark.parametrize("density", [LEAST_KG_M3 - 0.1, GROUPS[-1].most_kg_m3 + 0.1])
def test_no_correction_outside_the_groups(density: float) -> None:
    with pytest.raises(QuestionError, match=r"no volume correction for a density.*between 610\.6 and 1163\.5"):
        volume_correction(density, BASE_K)


@pytest.mark.parametrize("degrees", [-50.1, 150.1])
def test_no_correction_outside_the_temperatures(degrees: float) -> None:
    with pytest.raises(QuestionError, match=r"no volume correction at .*between -50 and 150 °C"):
        volume_correction(720.0, celsius(degrees))


# --- A3.03 (and D16): AC 90-89A, 100 hp at 0.55 lb/bhp·h -------------------------------------------------------------


@pytest.mark.parametrize(
    ("feed", "lb_per_h", "gal_per_h", "lb_per_min", "half"),
    [
        pytest.param("gravity", 82.5, 13.7, 1.4, 0.05, id="gravity"),
        pytest.param("pump", 68.75, 11.5, 1.15, 0.005, id="pump"),
    ],
)
def test_a3_03_flow_by_the_rule_of_thumb(
    feed: Feed, lb_per_h: float, gal_per_h: float, lb_per_min: float, half: float
) -> None:
    pound_s = thumb_kg_s(units.to_si(100.0, "hp", "power"), feed) / units.scale("lb", "mass")
    assert_allclose(pound_s * 3600, lb_per_h, rtol=1e-12)
    assert_allclose(pound_s * 60, lb_per_min, rtol=0, atol=half)
    # The AC's gallon weighs 6 lb; it prints 13.75 as 13.7, which the last digit's half just takes in.
    assert_allclose(pound_s * 3600 / 6.0, gal_per_h, rtol=1e-12, atol=0.05)


@pytest.mark.parametrize(("feed", "asked"), [("gravity", 1.5), ("pump", 1.25)])
def test_flow_to_show_has_the_return_on_top(feed: Feed, asked: float) -> None:
    assert_allclose(required_flow_m3_s(1e-5, feed, 4e-6), asked * 1e-5 + 4e-6, rtol=1e-12)  # A1.06, A1.07, A1.08, E13


# --- D17, D18 --------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(("clear", "outcome"), [("235.65 mm2", Outcome.FAIL), ("235.75 mm2", Outcome.PASS)])
def test_d17_strainer_of_a_three_eighths_tube(tmp_path: Path, clear: str, outcome: Outcome) -> None:
    # 3/8 × 0.035 in tube: 0.305 in inside, 47.14 mm², five times of which is 235.7 mm².
    bores = {"tank.0.outlet.0.bore": "0.305 in", "line.2.bore": "0.305 in"}
    layout = layout_of(tmp_path, {**bores, "tank.0.outlet.0.strainer.clear_area": clear})
    found = next(f for f in strainer_area_small.findings(study(layout, only="main")) if f.where == "main.outlet")
    assert found.outcome is outcome
    assert "the 47.1 mm² of a bore" in plain(found.evidence)


@pytest.mark.parametrize(
    ("psi", "density", "metres"),
    [(LEAST_TEST_PSI, 720.0, 3.418), (LEAST_TEST_PSI, 804.0, 3.061), (SUPPORTED_TEST_PSI, 720.0, 1.953)],
)
def test_d18_heads(psi: float, density: float, metres: float) -> None:
    assert_allclose(head_m(density, units.to_si(psi, "psi", "pressure")), metres, rtol=0, atol=5e-4)


def test_d18_nine_g_on_a_tank_of_avgas() -> None:
    asked = required_test_pressure(Cavity.of(*box(0.6, 0.4, 0.2)), 720.0)
    assert asked.asked_by == "full tank at 9 g forward, emergency landing"
    assert_allclose(asked.pressure_pa / 1e3, 38.13, rtol=0, atol=5e-3)
    assert_allclose(units.from_si(asked.pressure_pa, "psi", "pressure"), 5.53, rtol=0, atol=5e-3)


def test_a1_19_least_test_pressure_of_a_short_tank() -> None:
    asked = required_test_pressure(Cavity.of(*box(0.2, 0.4, 0.2)), 720.0)  # 9 g on 0.2 m: 1.84 psi
    assert asked.asked_by == "the least test pressure, 3.5 psi"
    assert_allclose(asked.pressure_pa, 3.5 * 0.45359237 * 9.80665 / 0.0254**2, rtol=1e-12)  # a pound of force per in²


def test_head_counts_along_the_load() -> None:
    # A box 0.6 × 0.4 × 0.2 pressed along its diagonal (6, 4, 2)/√56: from corner to corner √0.56 m.
    direction = tuple(np.array([6.0, 4.0, 2.0]) / math.sqrt(56.0))
    found = full_tank_pressure_pa(Cavity.of(*box(0.6, 0.4, 0.2)), 720.0, Load("diagonal", 2.0, direction))
    assert_allclose(found, 720.0 * 2.0 * 9.80665 * math.sqrt(0.56), rtol=1e-12)


# --- E05 -------------------------------------------------------------------------------------------------------------


def test_e05_minutes_at_a_trip() -> None:
    # A box of 0.24 m² plan; the outlet 10 mm above the floor leaves 2.4 L, the mark stands 3.0 US gal above it.
    gallons_m = units.to_si(3.0, "US gal", "volume") / 0.24
    design = Tank.model_validate(
        {"name": "box", "mesh": "box.stl", "unit": "m", "axes": "aft, right, up", "position": ["0 m"] * 3}
        | {"outlet": [{"name": "outlet", "position": ["0 m", "0.2 m", "10 mm"]}]}
        | {"switch": [{"name": "low", "mark": ["0.3 m", "0.2 m", f"{0.01 + gallons_m!r} m"]}]}
    )
    cavity, level = Cavity.of(*box(0.6, 0.4, 0.2)), Attitude("level", "flight", normal=True)
    spots = {
        "outlet": cavity.spot("outlet", np.array([0.0, 0.2, 0.01])),
        "switch low": cavity.spot("switch low", np.array([0.3, 0.2, 0.01 + gallons_m])),
    }
    tank = FittedTank(design, cavity, np.eye(3), np.zeros(3), spots)
    (trip,) = trips_at(tank, level, design.switch)
    unusable_m3 = left_at(cavity, level, outlets(tank)).unusable_m3
    assert_allclose(unusable_m3, 0.24 * 0.01, rtol=1e-12)
    burn_m3_s = units.to_si(9.0, "US gal/h", "flow")
    low = SwitchStudy("low", "box", None, None, (trip,), unusable_m3, Outflow(burn_m3_s, burn_m3_s))
    minutes = low.minutes(low.normal.trip_m3)
    assert minutes is not None
    assert_allclose(minutes, 20.0, rtol=1e-12)  # 60 × 3.0 / 9.0
