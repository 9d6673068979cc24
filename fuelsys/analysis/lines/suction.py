"""How far the fuel is from boiling on its way to a pump, or by gravity to the engine, against altitude and its temperature.

Margin = the air's pressure at the altitude + the lowest pressure in the line (above the air's) - the fuel's vapour pressure.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from fuelsys.analysis.lines.vapour import HOT_K, air_pressure_pa, hot_vapour_pa
from fuelsys.errors import QuestionError
from fuelsys.model.built.layout import Layout
from fuelsys.model.found.breathing import CEILING_M
from fuelsys.model.found.flow import Flows, Missing, Suction

TEMPERATURES_K = (288.15, 303.15, HOT_K)
_STEPS = 61
LEAST_CEILING_M = 100.0  # a chart needs some height


def suctions(layout: Layout, found: Flows, temperatures_k: Sequence[float]) -> tuple[Suction, ...]:
    """Each end that fuel is sucked to or runs to by gravity, at the attitude and in the setting with the lowest pressure.

    QuestionError where the fuel's vapour pressure is not known at a temperature, or where no flow can be computed.
    """
    fuel, stated = layout.design.fuel, layout.design.aircraft.ceiling_m
    temperatures = tuple(sorted(temperatures_k))
    vapours = [hot_vapour_pa(fuel.kind, fuel.reid_pressure_pa, kelvin) for kelvin in temperatures]
    if None in vapours:
        if fuel.kind == "mogas":
            what, mend = "the vapour pressure of mogas differs by season", "State fuel.reid_pressure."
        else:
            what = f"the vapour pressure of {fuel.kind} is known up to 43 degC (110 degF) only"
            mend = "Ask for a lower --temperature."
        raise QuestionError(what, mend=mend, file=layout.file)
    altitudes = np.linspace(0.0, max(CEILING_M if stated is None else stated, LEAST_CEILING_M), _STEPS)
    air = np.array([air_pressure_pa(float(altitude)) for altitude in altitudes])
    ends = []
    several = found.states is None or len(found.states) > 1
    set_so = {one.fed.end: one for one in found.boiling_worst} if several else {}
    unsettled = tuple(one.needs for one in (found.boiling if several else ()) if isinstance(one, Missing))
    for fed in found.to:
        shut = set_so.get(fed.end)
        also = (
            [(one.lowest_pa, one, shut.state.words) for one in shut.fed.at if one.lowest_pa is not None] if shut else []
        )
        carried = [(one.lowest_pa, one, "") for one in fed.at if one.lowest_pa is not None]
        if fed.kind in ("suction", "gravity") and carried:
            lowest_pa, worst, setting = min((*carried, *also), key=lambda one: one[0])
            margins = air + lowest_pa - np.array(vapours, dtype=float)[:, None]
            ends.append(Suction(fed, worst, altitudes, temperatures, margins, stated is None, setting, unsettled))
    if not ends:
        needs = "; ".join(f"{one.where}: needs {one.needs}" for one in found.missing)
        mend = needs or "Give feed lines that can carry the flow to a pump or an engine."
        raise QuestionError("no suction can be drawn", mend=mend, file=layout.file)
    return tuple(ends)


def boils_above_m(suction: Suction, row: int) -> float | None:
    """The altitude from which on it boils at one temperature, straight between the points; None where it does not.

    0 where it boils on the ground.
    """
    margins = suction.margins_pa[row]
    if margins[0] <= 0.0:
        return 0.0
    if margins[-1] > 0.0:
        return None
    return float(np.interp(0.0, -margins, suction.altitudes_m))
