"""Low-level switches: what is left when each trips and resets, at every attitude of the envelope."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from math import ceil

import numpy as np

from fuelsys.analysis.tank.draining import Drained
from fuelsys.analysis.tank.outflow import outflow
from fuelsys.analysis.tank.place import steady_point_m
from fuelsys.analysis.tank.unusable import outlets
from fuelsys.arrays import Floats
from fuelsys.model.built.layout import NO_FLOAT, FittedTank, Layout
from fuelsys.model.found.place import Built
from fuelsys.model.found.switches import SwitchStudy, TripAt
from fuelsys.model.found.unusable import Unusable
from fuelsys.model.stated.attitude import Attitude
from fuelsys.model.stated.fittings import Switch

_RISE_STEP_M = 1e-4  # a mark's rise is told in tenths of a millimetre, rounded up
_HALVINGS = 24


def drained_with(tank: FittedTank, attitude: Attitude, switches: Sequence[Switch]) -> Drained:
    """A tank drained from full at one attitude, with the marks of some switches."""
    marks = [tank.spot(f"switch {switch.name}") for switch in switches]
    return Drained.of(tank.cavity, attitude.up, outlets(tank), marks)


def trips_at(tank: FittedTank, attitude: Attitude, switches: Sequence[Switch]) -> tuple[TripAt, ...]:
    """Every switch of a tank at one attitude, the tank being drained from full."""
    drained = drained_with(tank, attitude, switches)
    return tuple(_trip(tank, drained, index, switch, attitude) for index, switch in enumerate(switches))


def low_m(tank: FittedTank, switch: Switch) -> float:
    """How much lower than its mark a switch may trip: its tolerance, and its float riding higher in the densest fuel."""
    return Built(switch, tank.rides.get(f"switch {switch.name}", NO_FLOAT)).low_m


def _trip(tank: FittedTank, drained: Drained, index: int, switch: Switch, attitude: Attitude) -> TripAt:
    trip_m3, latest_m3, reset_m3 = drained.passed_all(
        [(index, 0.0, 1), (index, -low_m(tank, switch), 0), (index, switch.differential_m, 1)]
    )
    left_m3 = tank.cavity.behind * drained.left_m3
    if why := switch.too_far(attitude.up):
        return TripAt(attitude, None, None, None, left_m3, why)
    if trip_m3 is None:
        return TripAt(attitude, None, None, None, left_m3, drained.why_never(index))
    if latest_m3 is None:  # within its tolerance the mark may lie where the surface never comes
        why = f"{drained.why_never(index)}, if the mark is low by its tolerance"
        return TripAt(attitude, None, None, None, left_m3, why)
    return TripAt(attitude, trip_m3, latest_m3, reset_m3, left_m3)


def switch_studies(layout: Layout, tank: FittedTank, left: Unusable | None) -> tuple[SwitchStudy, ...]:
    """All switches of a tank; none where the unusable fuel is unknown (it needs an outlet)."""
    switches = tank.design.switch
    if left is None or not switches:
        return ()
    unusable_m3 = left.volume_m3
    opened = switch_studies(layout, tank.opened, left.opened) if tank.opened and left.gaps_matter else ()
    out = outflow(layout, tank)
    full = outflow(layout, tank, "max_continuous") if "max_continuous" in layout.design.flows_m3_s else None
    drained = {attitude: drained_with(tank, attitude, switches) for attitude in layout.design.envelope}
    flight = {attitude: at for attitude, at in drained.items() if attitude.phase == "flight"}
    studies = []
    for i, switch in enumerate(switches):
        usable_m3 = None if switch.target_s is None else out.usable_for_m3(switch.target_s + (switch.delay_s or 0.0))
        target_m3 = None if usable_m3 is None else unusable_m3 + usable_m3
        studies.append(
            SwitchStudy(
                switch.name,
                tank.name,
                switch.target_s,
                switch.tolerance_m,
                tuple(_trip(tank, at, i, switch, attitude) for attitude, at in drained.items()),
                unusable_m3,
                out,
                rise_m=None if target_m3 is None else rise_m(tank, flight, i, switch, target_m3),
                steady_m=None if target_m3 is None else _steady_m(layout, tank, target_m3),
                opened=opened[i] if opened else None,
                at_full=full,
                sustained_m3=max(left.sustained.sustained_m3, unusable_m3) if left.held else None,
                delay_s=switch.delay_s or 0.0,
                rides=tank.rides.get(f"switch {switch.name}"),
            )
        )
    return tuple(studies)


def rise_m(
    tank: FittedTank, flight: Mapping[Attitude, Drained], index: int, switch: Switch, target_m3: float
) -> float | None:
    """How much higher a mark must sit to trip with the target still there at every flight attitude, tolerance included.

    None where it already does, and where no height straight above the mark in the cavity does.
    """
    if any(switch.too_far(attitude.up) for attitude in flight):
        return None
    tolerance_m = low_m(tank, switch)
    rises = [_rise_at(drained, index, tolerance_m, target_m3) for drained in flight.values()]
    if any(rise is None for rise in rises):
        return None
    upright = [attitude.up[2] for attitude in flight]
    least_m = max(rise / up for rise, up in zip(rises, upright, strict=True) if rise is not None)
    if least_m <= 0.0:
        return None
    chosen_m = ceil(least_m / _RISE_STEP_M) * _RISE_STEP_M
    # Told only if the mark in its new place, which may stand over another pool, does leave the target.
    spot = tank.cavity.spot(
        "mark", tank.spot(f"switch {switch.name}").point_m + tank.cavity.centre_m + np.array([0.0, 0.0, chosen_m])
    )
    held = [Drained.of(tank.cavity, at.up, outlets(tank), [spot]).passed(0, -tolerance_m) for at in flight]
    proved = spot.off_m == 0.0 and all(left is not None and left >= target_m3 for left in held)
    return chosen_m if proved else None


def _rise_at(drained: Drained, index: int, tolerance_m: float, target_m3: float) -> float | None:
    """Least rise of a mark along up that leaves the target; 0 where it does already, None where none does."""

    def enough(rise: float) -> bool:
        held = drained.passed(index, rise - tolerance_m)
        return held is not None and held >= target_m3

    low = 0.0
    high = drained.tilted.high_m - drained.tilted.level_m(drained.tilted.spots[drained.n_openings + index])
    if enough(low):
        return 0.0
    if not enough(high):
        return None
    for _ in range(_HALVINGS):
        middle = (low + high) / 2.0
        low, high = (low, middle) if enough(middle) else (middle, high)
    return high


def _steady_m(layout: Layout, tank: FittedTank, target_m3: float) -> Floats | None:
    """Where a mark for a quantity feels the attitude least, in the mesh's axes; None where that is not in the cavity."""
    if target_m3 >= tank.cavity.gross_m3:
        return None
    point_m = steady_point_m(tank, layout.design.normal("flight"), target_m3)
    return point_m if tank.cavity.spot("steady", tank.body_m(point_m)).off_m == 0.0 else None
