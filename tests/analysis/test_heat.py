"""How returned fuel warms a tank: the closed form against an integration of its balance of heat, and its shape."""

from __future__ import annotations

from pathlib import Path

import pytest
from designs import layout_of
from scipy.integrate import solve_ivp

from fuelsys.analysis.lines.heat import _in_tank, heated, warmer_k
from fuelsys.analysis.tank.capacity import capacity
from fuelsys.model.stated.components import Engine


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


def test_what_runs_through_the_pump_again_is_warm_from_the_first(tmp_path: Path) -> None:
    """A tank that feeds the engine as well: all its heat goes into what is burnt, W / (kg/s x J/(kg K)) at each step."""
    layout = layout_of(tmp_path)
    (engine,) = (node for node in layout.network.nodes.values() if isinstance(node, Engine))
    held = capacity(layout, layout.tank("main"))
    fed, other = (_in_tank(layout, engine, "main", held, fed) for fed in (True, False))
    assert engine.heat_w is not None
    # Of gasoline 2.1 kJ/(kg K), as in the example of `warmer_k`.
    warmer_k_all = engine.heat_w / (layout.design.reserve_flow_m3_s * layout.design.fuel.density_kg_m3 * 2100.0)
    for one, two in zip(fed.steps, other.steps, strict=True):
        assert one.warmer_k - two.warmer_k == pytest.approx(warmer_k_all)
    assert fed.most_w is not None
    assert fed.steps[-1].warmer_k * fed.most_w / engine.heat_w == pytest.approx(20.0)
