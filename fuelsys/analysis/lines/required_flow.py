"""The fuel flow that a test must show: the take-off flow with its factor, and what returns to the tank on top."""

from __future__ import annotations

from typing import Literal

from fuelsys import units
from fuelsys.model.built.layout import Layout
from fuelsys.model.stated.components import Engine

Feed = Literal["gravity", "pump"]

# Share of the take-off flow: 14 CFR 23.955(b) and (c), before amendment 23-64; AC 90-89A chapter 1 section 11 says the same.
FLOW_FACTORS: dict[Feed, float] = {"gravity": 1.5, "pump": 1.25}
# AC 90-89A chapter 1 section 11, for a piston engine whose take-off flow is not known.
THUMB_LB_PER_HP_H = 0.55


def required_flow_m3_s(take_off_m3_s: float, feed: Feed, return_m3_s: float = 0.0) -> float:
    """Flow to show at the outlet's end of a piston engine's feed: 150 % (gravity) or 125 % (pump), plus the return.

    The return flow counts in full and without a factor: 14 CFR 23.955(a) has vapour return and all other uses flow at
    the same time. In any one unit of flow, 36 an hour with a pump that sends 20 back:

    >>> required_flow_m3_s(36.0, "pump", 20.0)
    65.0
    """
    return FLOW_FACTORS[feed] * take_off_m3_s + return_m3_s


def flow_to_show(layout: Layout) -> float | None:
    """The flow that the finished aircraft's test must show; None where the take-off flow is not stated [m³/s]."""
    take_off_m3_s = layout.design.flows_m3_s.get("takeoff")
    if take_off_m3_s is None:
        return None
    back_m3_s = sum(part.return_flow_m3_s or 0.0 for part in layout.design.component if isinstance(part, Engine))
    return required_flow_m3_s(take_off_m3_s, layout.design.aircraft.feed, back_m3_s)


def thumb_kg_s(power_w: float, feed: Feed) -> float:
    """Flow to show by the rule of thumb of AC 90-89A: 0.55 lb an hour for each horsepower, times the feed's factor [kg/s].

    For 100 hp and gravity feed 100 × 0.55 × 1.5 lb/h:

    >>> round(thumb_kg_s(units.to_si(100.0, "hp", "power"), "gravity") / units.to_si(1.0, "lb", "mass") * 3600.0, 6)
    82.5
    """
    pounds_per_hour = THUMB_LB_PER_HP_H * units.from_si(power_w, "hp", "power")
    return required_flow_m3_s(units.to_si(pounds_per_hour, "lb", "mass") / units.scale("h", "time"), feed)
