"""Lines and pumps all at once against each law as it is written, whose friction factor is the library's."""

from __future__ import annotations

import numpy as np
import pytest
from numpy.testing import assert_allclose

from fuelsys.analysis.lines.hydraulics import Element, Fluid, Gain, Pipe, together

OIL = Fluid(720.0, 0.9e-6)
LAWS = [
    Pipe(OIL, 0.008, 1.5, 2.0),
    Pipe(OIL, 0.006, 0.4, 0.5, 3e9, one_way=True),
    Pipe(OIL, 0.004, 2.0, roughness_m=1e-4, elements=(Element(1e3, 2.8e-5), Element(4e3, 1e-5, 0.5, 0.5)), back_pa_s2_m6=1e12),
    Gain(((4e-5, 3e4), (0.0, 4e4))),
    Gain(((3e-5, 4e4),)),
    Pipe(OIL, 0.008, 0.1),
]  # fmt: skip


@pytest.mark.parametrize(
    "flow", [0.0, 1e-15, -1e-15, 1e-7, -3e-6, 9.5e-6, 1.2e-5, -1.2e-5, 2e-5, 5e-5, -1e-4, 1e-3, 1.0]
)
def test_all_at_once_is_each_alone(flow: float) -> None:
    alone = np.array([law.loss(flow) for law in LAWS]).T
    assert_allclose(together(LAWS).losses(np.full(len(LAWS), flow)), alone, rtol=1e-9)  # the slope is a difference


def test_a_flow_that_is_none_is_none() -> None:
    assert np.isnan(together(LAWS[:1]).losses(np.array([np.nan]))[0]).all()
