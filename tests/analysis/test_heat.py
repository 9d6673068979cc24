"""How returned fuel warms a tank: the closed form against an integration of its balance of heat, and its shape."""

from __future__ import annotations

from pathlib import Path

import pytest
from designs import layout_of
from scipy.integrate import solve_ivp

from fuelsys.analysis.lines.heat import heated, warmer_k


@pytest.mark.parametrize("left_share", [0.9, 0.25, 0.02])
def test_the_closed_form_is_what_its_balance_integrates_to(left_share: float) -> None:
    heat_w, burnt_kg_s, c, full_kg = 150.0, 5e-3, 2100.0, 40.0

    def rate(_: float, state: list[float]) -> list[float]:
        mass_kg, content_j = state  # above what the fuel had when it was filled in
        return [-burnt_kg_s, heat_w - burnt_kg_s * c * content_j / (mass_kg * c)]

    end_s = full_kg * (1.0 - left_share) / burnt_kg_s
    mass_kg, content_j = solve_ivp(rate, (0.0, end_s), [full_kg, 0.0], rtol=1e-10, atol=1e-9).y[:, -1]
    assert warmer_k(heat_w, burnt_kg_s, c, left_share) == pytest.approx(content_j / (mass_kg * c), rel=1e-6)


def test_the_last_step_is_half_an_hour_above_the_unusable_fuel(tmp_path: Path) -> None:
    layout = layout_of(tmp_path)
    (one,) = heated(layout)
    first, last = one.steps[0], one.steps[-1]
    assert (first.time_s, first.warmer_k) == (0.0, 0.0)
    assert (first.volume_m3 - last.volume_m3) / last.time_s == pytest.approx(layout.design.reserve_flow_m3_s)
    assert one.most_w is not None
    assert one.heat_w is not None
    assert last.warmer_k * one.most_w / one.heat_w == pytest.approx(20.0)
