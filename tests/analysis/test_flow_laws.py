"""What pipes and fittings take from the pressure: published values, and the shape of the laws."""

from __future__ import annotations

from math import pi

import pytest
from fluids.core import dP_from_K, head_from_K, head_from_P
from fluids.fittings import K_plug_valve_Crane, entrance_sharp, exit_normal
from hypothesis import given
from hypothesis import strategies as st
from numpy.testing import assert_allclose

from fuelsys.analysis.lines import hydraulics
from fuelsys.analysis.lines.flow import ENTRY_HEADS, EXIT_HEADS
from fuelsys.analysis.lines.hydraulics import Fluid, Gain, Pipe, friction_factor
from fuelsys.analysis.lines.vapour import air_pressure_pa, vapour_pressure_pa
from fuelsys.units import to_si

WATER = Fluid(1000.0, 1e-6)
INCH, FOOT, GAL = 0.0254, 0.3048, 0.003785411784


def test_colebrook() -> None:
    # The library fluids, docstring of friction_factor: Re 1e5, relative roughness 1e-4.
    assert_allclose(friction_factor(1e5, 1e-4), 0.018513866077471, rtol=1e-12)


def test_laminar() -> None:
    # 64/Re (Hagen and Poiseuille); fluids, docstring of friction_laminar: Re 128 -> 0.5.
    assert friction_factor(128.0, 1e-3) == 0.5


def test_blasius_is_near_for_smooth_pipes() -> None:
    # Blasius 0.3164/Re^0.25 at Re 1e4: 0.03164 (fluids, docstring); Colebrook's smooth pipe lies within 3 % of it.
    assert abs(friction_factor(1e4, 0.0) / 0.03164 - 1.0) < 0.03


def test_the_step_between_the_laws_is_a_line_and_never_falls() -> None:
    reynolds = [1900.0 + 5.0 * i for i in range(100)]
    lost = [friction_factor(re, 1e-4) * re**2 for re in reynolds]
    assert all(b > a for a, b in zip(lost, lost[1:], strict=False))


def test_a_smooth_pipe() -> None:
    # fluids, docstring of one_phase_dP: 10 kg/s, 1000 kg/m3, 1e-5 Pa s, D 0.1 m, L 1 m -> 63.43447321097365 Pa.
    pipe = Pipe(Fluid(1000.0, 1e-8), 0.1, 1.0, roughness_m=0.0)
    assert_allclose(pipe.loss(0.01)[0], 63.43447321097365, rtol=1e-9)


def test_fuel_oil_of_the_handbook() -> None:
    # Crane TP-410, example 7.13 (as in the notebooks of fluids): 66,500 Pa with a friction factor of 0.0230 read from a chart;
    # with that factor the formula gives 66,484, with Colebrook's own 0.022702 it gives 65,623.
    pipe = Pipe(Fluid(0.815 * 999.1, 2.7e-6), 2.067 * INCH, 100 * FOOT, roughness_m=0.0018 * INCH)
    lost = pipe.loss(2 * GAL)[0]
    assert_allclose(lost, 65_623.0, rtol=1e-4)
    assert_allclose(lost * 0.0230 / 0.022702, 66_500.0, rtol=1e-3)


def test_laminar_oil_of_the_handbook() -> None:
    # Crane TP-410, example 7.9 (as in the notebooks of fluids): SAE 30 oil, 130 cP, 0.87, 5 in schedule 40 (5.047 in),
    # 400 US gal/min: 6.414 ft/s, Re 1675.6, friction factor 0.038195. (The example's pressure has a valve in it.)
    rho = 0.87 * 999.1
    pipe = Pipe(Fluid(rho, 0.13 / rho), 5.047 * INCH, 300 * FOOT)
    flow = to_si(400.0, "US gal/min", "flow")
    speed = flow / pipe.area_m2
    assert_allclose(speed / FOOT, 6.414, rtol=2e-4)
    assert_allclose(speed * pipe.bore_m / pipe.fluid.viscosity_m2_s, 1675.6, rtol=1e-3)
    assert_allclose(friction_factor(1675.6, 0.0), 0.038195, rtol=1e-4)
    assert_allclose(pipe.loss(flow)[0], 0.038195 * pipe.length_m / pipe.bore_m * rho / 2.0 * speed**2, rtol=1e-3)


def test_velocity_heads() -> None:
    # fluids, docstrings: K 10, 1000 kg/m3, 3 m/s -> 45 000 Pa; K 10, 1.5 m/s -> 1.1471807396 m; 98 066.5 Pa of 1000 -> 10 m.
    assert dP_from_K(10, 1000, 3) == 45_000.0
    assert_allclose(head_from_K(10, 1.5), 1.1471807396001694)
    assert_allclose(head_from_P(98066.5, 1000), 10.0)
    bore = 0.01
    pipe = Pipe(Fluid(1000.0, 1e-12), bore, 1e-9, heads=10.0)
    assert_allclose(pipe.loss(3.0 * pi / 4.0 * bore**2)[0], 45_000.0, rtol=1e-6)


def test_fittings_are_the_librarys() -> None:
    assert_allclose((ENTRY_HEADS, EXIT_HEADS), (entrance_sharp(), exit_normal()))
    for multiple, style in ((hydraulics.VALVE_F_T, 0), (hydraulics.SELECTOR_F_T, 2)):
        assert_allclose(multiple * hydraulics.f_t(0.008), K_plug_valve_Crane(0.008, 0.008, 0, style=style), rtol=1e-9)


@pytest.mark.parametrize(
    ("reid_psi", "slope", "fahrenheit", "psi"),
    [
        # EPA AP-42 table 7.1-2, from memory, two digits; the formula of figure 7.1-14b beside it.
        *[(10, 3, f, p) for f, p in ((40, 3.469), (60, 5.193), (80, 7.544), (100, 10.671))],
        *[(7, 3, f, p) for f, p in ((40, 2.284), (60, 3.489), (80, 5.164), (100, 7.433))],
        (13, 3, 60, 6.958),
        (7, 2, 60, 3.361),
        (7, 2, 100, 7.381),
    ],
)
def test_vapour_pressure(reid_psi: float, slope: float, fahrenheit: float, psi: float) -> None:
    found = vapour_pressure_pa(to_si(reid_psi, "psi", "pressure"), slope, to_si(fahrenheit, "degF", "temperature"))
    assert_allclose(found, to_si(psi, "psi", "pressure"), rtol=3e-4)


def test_standard_atmosphere() -> None:
    # ISO 2533, by geopotential altitude, from memory: sea level 1013.25 hPa, 5000 m 540.2 hPa, 11 000 m 226.3 hPa.
    assert_allclose(air_pressure_pa(0.0), 101_325.0)
    earth = 6_356_766.0
    for geopotential, hpa in ((5000.0, 540.20), (11_000.0, 226.32)):
        assert_allclose(air_pressure_pa(earth * geopotential / (earth - geopotential)), hpa * 100.0, rtol=1e-4)


FLOWS = st.floats(1e-9, 1e-3)
PIPES = st.builds(
    Pipe,
    st.builds(Fluid, st.floats(600, 1000), st.floats(3e-7, 3e-5)),
    st.floats(0.002, 0.03),
    st.floats(0.01, 10.0),
    st.floats(0.0, 20.0),
    st.floats(0.0, 1e13),
)


@given(PIPES, FLOWS, FLOWS)
def test_more_flow_takes_more(pipe: Pipe, one: float, two: float) -> None:
    low, high = sorted((one, two))
    assert pipe.loss(low)[0] <= pipe.loss(high)[0]
    assert pipe.loss(-low)[0] == -pipe.loss(low)[0]
    assert pipe.loss(low)[1] > 0.0


@given(PIPES, FLOWS)
def test_the_slope_is_the_losss(pipe: Pipe, flow: float) -> None:
    hair = flow * 1e-5
    low, high = pipe.loss(flow - hair)[0], pipe.loss(flow + hair)[0]
    bend = [hydraulics.LAMINAR_TO, hydraulics.TURBULENT_FROM]
    reynolds = flow / pipe.area_m2 * pipe.bore_m / pipe.fluid.viscosity_m2_s
    if all(abs(reynolds / one - 1.0) > 1e-3 for one in bend):
        assert_allclose(pipe.loss(flow)[1], (high - low) / (2.0 * hair), rtol=1e-3)


def test_a_pumps_curve() -> None:
    gain = Gain(((0.0, 40e3), (1e-5, 30e3), (2e-5, 10e3)))
    assert [-gain.loss(flow)[0] for flow in (0.0, 0.5e-5, 1e-5, 1.5e-5, 2e-5)] == [40e3, 35e3, 30e3, 20e3, 10e3]
    assert -gain.loss(2.1e-5)[0] < 0.0
    assert all(gain.loss(flow)[1] > 0.0 for flow in (-1e-6, 0.0, 1e-5, 3e-5))
