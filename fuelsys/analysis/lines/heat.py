"""Returned fuel warms the tank that it comes to: how warm it is as it is burnt down to the reserve.

The tank feeds the engine alone and takes back what it does not burn; it is mixed well, and no heat is lost. Of its mass M the
burn b leaves at the tank's own temperature T, and P is what the engine gives to its fuel. The balance of heat is
d(M c T)/dt = P - b c T with dM/dt = -b, so M c dT/dt = P and

    T - T0 = P / (b c) ln(M0 / M).

It has no bound. A tank that others keep full tends to P / (b c) while they do: then what flows in at T0 takes all the heat away.
It counts as that warm when it begins to empty, so its end is P / (b c) (1 + ln(M0 / M)).

Not counted, each on the safe side: what goes through the tank's walls, other tanks that feed beside it. Not on the safe side: fuel
that was warmed in another tank first.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import replace
from math import log
from types import MappingProxyType

import numpy as np

from fuelsys.analysis.lines.vapour import AVGAS_REID_PA, SLOPES, air_pressure_pa, vapour_pressure_pa
from fuelsys.analysis.tank.capacity import capacity
from fuelsys.model.built.layout import Layout
from fuelsys.model.found.breathing import CEILING_M
from fuelsys.model.found.capacity import Capacity
from fuelsys.model.found.heat import HEAT_J_KG_K, MOST_WARMING_K, Heated, WarmedTo
from fuelsys.model.stated.components import Engine
from fuelsys.model.stated.standards import DAY_RESERVE_S, SEA_LEVEL_K

LEAST_MOGAS_REID_PA = 45_000.0  # of EN 228, class A in summer, from memory
_STEPS = 7
_HALVINGS = 40


def warmer_k(heat_w: float, burnt_kg_s: float, heat_j_kg_k: float, left_share: float) -> float:
    """How much warmer the tank is when a share of what it was filled with is left.

    200 W into 18 L/h of 0.72 kg/L at 2.1 kJ/(kg K), a quarter left: 200 / 7.56 x ln 4 = 36.7 K.

    >>> round(warmer_k(200.0, 18e-3 / 3600 * 720.0, 2100.0, 0.25), 2)
    36.67
    """
    return heat_w / (burnt_kg_s * heat_j_kg_k) * log(1.0 / left_share)


def heated(layout: Layout, known: Mapping[str, Capacity] = MappingProxyType({})) -> tuple[Heated, ...]:
    """Each engine with each tank that its return line comes to; known are tanks' capacities that need not be computed again."""
    return tuple(_heated(layout, known))


def _heated(layout: Layout, known: Mapping[str, Capacity]) -> Iterator[Heated]:
    network = layout.network
    fed = {way.end.tank for way in network.ways("feed")}
    for end, node in network.nodes.items():
        if isinstance(node, Engine):
            for tank in network.tanks:
                if tank in network.return_tanks(end):
                    held = known.get(tank) or capacity(layout, layout.tank(tank))
                    found = _in_tank(layout, node, tank, held, tank in fed)
                    fuel, assumed = layout.design.fuel, layout.design.aircraft.ceiling_m is None
                    unknown = fuel.kind == "mogas" and fuel.reid_pressure_pa is None
                    yield replace(
                        found, fed=tank in fed, boils_k=boils_k(layout), volatile=unknown, ceiling_assumed=assumed
                    )


def boils_k(layout: Layout) -> float | None:
    """By how much fuel of 15 degC may be warmed until it boils in a tank at the ceiling, or at CEILING_M where none is stated.

    None for kerosene. Mogas of which nothing is stated counts as the least volatile: what boils so surely boils. That it does not
    says nothing (`Heated.volatile`).
    """
    fuel, ceiling_m = layout.design.fuel, layout.design.aircraft.ceiling_m
    if fuel.kind not in SLOPES:
        return None
    stated = fuel.reid_pressure_pa or (AVGAS_REID_PA if fuel.kind == "avgas" else LEAST_MOGAS_REID_PA)
    air_pa, low_k, high_k = (
        air_pressure_pa(CEILING_M if ceiling_m is None else ceiling_m),
        SEA_LEVEL_K,
        2.0 * SEA_LEVEL_K,
    )
    for _ in range(_HALVINGS):
        middle_k = (low_k + high_k) / 2.0
        boils = vapour_pressure_pa(stated, SLOPES[fuel.kind], middle_k) > air_pa
        low_k, high_k = (low_k, middle_k) if boils else (middle_k, high_k)
    return low_k - SEA_LEVEL_K


def _in_tank(layout: Layout, engine: Engine, tank: str, held: Capacity, fed: bool) -> Heated:
    fuel, burnt_m3_s = layout.design.fuel, layout.design.reserve_flow_m3_s
    if held.filled is None or held.unusable is None:
        missing = "a filler or a vent" if held.filled is None else "an outlet"
        return Heated(engine.name, tank, needs=f"{missing} of {tank}: from how full to how empty it is burnt")
    full_m3 = held.filled.volume_m3
    last_m3 = min(full_m3, held.unusable.volume_m3 + burnt_m3_s * DAY_RESERVE_S)
    burnt_kg_s, heat_j_kg_k = burnt_m3_s * fuel.density_kg_m3, HEAT_J_KG_K[fuel.kind]
    before_k = 1.0 / (burnt_kg_s * heat_j_kg_k) if fed else 0.0  # for each watt
    per_w = before_k + warmer_k(1.0, burnt_kg_s, heat_j_kg_k, last_m3 / full_m3)
    most_w = MOST_WARMING_K / per_w if per_w > 0.0 else None
    if engine.heat_w is None:
        return Heated(engine.name, tank, most_w=most_w, needs=f"the heat that {engine.name} gives to its fuel")
    steps = tuple(
        WarmedTo(
            (full_m3 - left_m3) / burnt_m3_s,
            left_m3,
            engine.heat_w * before_k + warmer_k(engine.heat_w, burnt_kg_s, heat_j_kg_k, left_m3 / full_m3),
        )
        for left_m3 in np.linspace(full_m3, last_m3, _STEPS if last_m3 < full_m3 else 1).tolist()
    )
    return Heated(engine.name, tank, steps, engine.heat_w, most_w)
