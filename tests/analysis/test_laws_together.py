"""Lines and pumps all at once against each law written plainly, with the library's friction factor."""

from __future__ import annotations

import numpy as np
import pytest
from fluids.friction import Clamond
from numpy.testing import assert_allclose

from fuelsys.analysis.lines.hydraulics import LAMINAR_TO, TURBULENT_FROM, Element, Fluid, Gain, Pipe, together

OIL = Fluid(720.0, 0.9e-6)
LAWS = [
    Pipe(OIL, 0.008, 1.5, 2.0),
    Pipe(OIL, 0.006, 0.4, 0.5, 3e9, one_way=True),
    Pipe(OIL, 0.004, 2.0, roughness_m=1e-4, elements=(Element(1e3, 2.8e-5), Element(4e3, 1e-5, 0.5, 0.5)), back_pa_s2_m6=1e12),
    Gain(((4e-5, 3e4), (0.0, 4e4))),
    Gain(((3e-5, 4e4),)),
    Pipe(OIL, 0.008, 0.1),
]  # fmt: skip


def factor(reynolds: float, rough: float) -> float:
    """64/Re, Colebrook's by the library, and the straight line between."""
    ends = (LAMINAR_TO, TURBULENT_FROM)
    if reynolds <= LAMINAR_TO:
        return 64.0 / reynolds
    if reynolds >= TURBULENT_FROM:
        return float(Clamond(reynolds, rough))
    return float(np.interp(reynolds, ends, (64.0 / LAMINAR_TO, Clamond(TURBULENT_FROM, rough))))


def forward(pipe: Pipe, flow: float) -> tuple[float, float]:
    """Darcy and Weisbach, velocity heads, the square, and the larger of a stated drop's two laws."""
    speed, rho = flow / pipe.area_m2, pipe.fluid.density_kg_m3
    heads = pipe.heads * rho / 2.0 * speed**2 + pipe.square_pa_s2_m6 * flow**2
    reynolds, hair = speed * pipe.bore_m / pipe.fluid.viscosity_m2_s, 1e-6
    laminar = 32.0 * pipe.fluid.viscosity_m2_s * rho * pipe.length_m / pipe.bore_m**2 / pipe.area_m2
    if reynolds <= LAMINAR_TO:
        along, slope = laminar * flow, laminar
    else:
        low, high = (factor(reynolds * by, pipe.roughness_m / pipe.bore_m) for by in (1.0, 1.0 + hair))
        dynamic = pipe.length_m / pipe.bore_m * rho / 2.0 * speed**2
        along, slope = low * dynamic, max(dynamic * (2.0 * low + (high - low) / hair) / flow, laminar)
    slope += 2.0 * heads / flow if flow else 0.0
    for one in pipe.elements:
        rate, whole = flow / one.at_m3_s / one.clear, one.share * one.drop_pa
        along += whole * max(rate, rate**2)
        slope += whole / one.at_m3_s / one.clear * max(1.0, 2.0 * rate if rate > 1.0 else 0.0)
    return along + heads, slope


def as_written(law: Pipe | Gain, flow: float) -> tuple[float, float]:
    if isinstance(law, Pipe) and flow < 0.0 and law.one_way:
        return 1e18 * flow, 1e18
    if isinstance(law, Pipe):
        lost, slope = forward(law, abs(flow))
        leak = law.back_pa_s2_m6 * abs(flow) if flow < 0.0 else 0.0
        return float(np.copysign(lost + leak * abs(flow), flow)), slope + 2.0 * leak
    points = sorted(law.curve)
    (first, adds), (last, least) = points[0], points[-1]
    if flow <= first:
        slope = 1e-3 * max(adds, 1.0) / max(last, 1e-6)
        return -adds + slope * (flow - first), slope
    if flow <= last:  # of two points at most here
        slope = max((adds - least) / (last - first), 1e-3 * max(adds, 1.0) / last)
        return -adds + slope * (flow - first), slope
    slope = 1e3 * max(adds, 1.0) / last  # nothing is promised beyond the last point
    return -least + slope * (flow - last), slope


@pytest.mark.parametrize(
    "flow", [0.0, 1e-15, -1e-15, 1e-7, -3e-6, 9.5e-6, 1.2e-5, -1.2e-5, 2e-5, 5e-5, -1e-4, 1e-3, 1.0]
)
def test_all_at_once_is_each_as_written(flow: float) -> None:
    written = np.array([as_written(law, flow) for law in LAWS]).T
    assert_allclose(together(LAWS).losses(np.full(len(LAWS), flow)), written, rtol=1e-9)  # the slope is a difference
    assert_allclose(np.array([law.loss(flow) for law in LAWS]).T, written, rtol=1e-9)


def test_a_flow_that_is_none_is_none() -> None:
    assert np.isnan(together(LAWS[:1]).losses(np.array([np.nan]))[0]).all()
