"""Low-level switches: what is left when each trips and resets, at every attitude of the envelope."""

from __future__ import annotations

from collections.abc import Sequence

from fuelsys.analysis.draining import Drained
from fuelsys.analysis.unusable import outlets
from fuelsys.model.attitude import Attitude
from fuelsys.model.design import Switch
from fuelsys.model.layout import FittedTank, Layout
from fuelsys.model.study import SwitchStudy, TripAt


def trips_at(tank: FittedTank, attitude: Attitude, switches: Sequence[Switch]) -> tuple[TripAt, ...]:
    """Every switch of a tank at one attitude, the tank being drained from full."""
    marks = [tank.spot(f"switch {switch.name}") for switch in switches]
    drained = Drained.of(tank.cavity, attitude.up, outlets(tank), marks)
    return tuple(_trip(drained, index, switch, attitude) for index, switch in enumerate(switches))


def _trip(drained: Drained, index: int, switch: Switch, attitude: Attitude) -> TripAt:
    trip_m3 = drained.passed(index, state=1)
    latest_m3 = drained.passed(index, -(switch.tolerance_m or 0.0))
    reset_m3 = drained.passed(index, switch.differential_m, state=1)
    if trip_m3 is None:
        return TripAt(attitude, None, None, None, drained.why_never(index))
    if latest_m3 is None:  # within its tolerance the mark may lie where the surface never comes
        return TripAt(attitude, None, None, None, f"{drained.why_never(index)}, if the mark is low by its tolerance")
    return TripAt(attitude, trip_m3, latest_m3, reset_m3)


def switch_studies(layout: Layout, tank: FittedTank, unusable_m3: float | None) -> tuple[SwitchStudy, ...]:
    """All switches of a tank; none where the unusable fuel is unknown (it needs an outlet)."""
    switches = tank.design.switch
    if unusable_m3 is None or not switches:
        return ()
    flow_m3_s = layout.design.reserve_flow_m3_s * tank.design.flow_share
    by_attitude = [trips_at(tank, attitude, switches) for attitude in layout.design.envelope]
    return tuple(
        SwitchStudy(
            switch.name,
            tank.name,
            switch.target_s,
            switch.tolerance_m,
            tuple(at[i] for at in by_attitude),
            unusable_m3,
            flow_m3_s,
        )
        for i, switch in enumerate(switches)
    )
