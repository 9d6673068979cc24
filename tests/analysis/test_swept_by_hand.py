"""Samples, quantiles and climbs whose answer is known before they are made."""

from __future__ import annotations

from math import radians
from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest
from fillsheets import example

from fuelsys.analysis.lines.demand import with_demand
from fuelsys.analysis.sweeping import bands
from fuelsys.analysis.tank import combined
from fuelsys.model.found.tolerance import Tolerances
from fuelsys.model.stated.attitude import COMBINED_TO_RAD, Attitude


def test_a_climb_comes_to_a_peak_beside_the_grid() -> None:
    """A hill whose top lies at 3.3 and -1.7 degrees, between the places of a grid of 2 degrees: found to a quarter of a degree."""
    top = radians(3.3), radians(-1.7)
    stub: Any = SimpleNamespace(
        axes=([radians(p) for p in (-4.0, -2.0, 0.0, 2.0, 4.0)], [radians(r) for r in (-4.0, -2.0, 0.0, 2.0, 4.0)])
    )
    stub._left_m3 = lambda p, r: 1.0 - (p - top[0]) ** 2 - (r - top[1]) ** 2
    (peak,) = combined._Search._peaks(stub)
    assert peak == (radians(4.0), radians(-2.0))
    found = combined._Search._climbed(stub, peak, radians(1.0), radians(1.0))
    assert found == pytest.approx(top, abs=COMBINED_TO_RAD)
    # No further than the stated tilts.
    top = radians(9.0), radians(-9.0)
    assert combined._Search._climbed(stub, (radians(2.0), 0.0), radians(1.0), radians(1.0)) == pytest.approx(
        (radians(4.0), radians(-4.0))
    )


@pytest.mark.parametrize(
    "axes", [([-0.04, 0.0, 0.04], [-0.02, 0.0, 0.02]), ([0.0, 0.04, 0.08], [0.01]), ([0.02, 0.06], [-0.06, -0.02])]
)
def test_a_climb_begins_with_half_a_step_of_the_grid(
    axes: tuple[list[float], list[float]], monkeypatch: pytest.MonkeyPatch
) -> None:
    asked: list[tuple[float, float]] = []
    monkeypatch.setattr(combined, "left_at", lambda *_: None)
    monkeypatch.setattr(combined, "held_at", lambda *_: None)
    monkeypatch.setattr(combined, "replace", lambda *_, **__: None)
    stub: Any = SimpleNamespace(
        axes=axes,
        tank=SimpleNamespace(cavity=None),
        openings=(),
        starts=None,
        _peaks=lambda: [(0.0, 0.0)],
        _left_m3=lambda p, r: 0.0,
    )
    stub._attitude = lambda p, r: Attitude("x", "flight", p, r)
    stub._climbed = lambda top, p, r: asked.append((p, r)) or top
    combined._Search.worst(stub)
    half = [(axis[1] - axis[0]) / 2.0 if len(axis) > 1 else 0.0 for axis in axes]
    assert asked == [pytest.approx(tuple(half))]


def test_what_bands_say_of_samples(monkeypatch: pytest.MonkeyPatch) -> None:
    """A hundred samples of 1 to 100 L at a trip: 1, 5, 50, 95 and 100; with twenty minutes' target, 30 that have less."""
    layout = with_demand(example())
    tank = layout.tank("header")
    flights = len([one for one in layout.design.envelope if one.phase == "flight"])
    switches = len(tank.design.switch)
    held = np.arange(1.0, 101.0)[:, None, None] * np.ones((1, flights, switches)) * 1e-3
    first = tank.design.switch[0]
    assert first.target_s is not None
    left_s = np.where(np.arange(100)[:, None, None] < 30, first.target_s - 1.0, first.target_s) * np.ones(
        (1, flights, switches)
    )
    left_s[:5, 0] = first.target_s  # five of them are in time at one of the attitudes
    monkeypatch.setattr(bands, "_sampled", lambda *_: (held, left_s))
    found = bands.switch_bands(layout, tank, Tolerances(), 100, 1, 0.0405)[0]
    assert found.sampled_m3 == pytest.approx([1e-3, 5e-3, 50e-3, 95e-3, 100e-3])
    assert (found.samples, found.early, found.early_m3) == (100, 60, 0.0405)
    assert found.missed == 30
    assert found.missed_share == pytest.approx((30 * flights - 5) / (100 * flights))
