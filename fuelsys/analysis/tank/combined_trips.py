"""Where low-level switches trip where tilts of several flight attitudes come together."""

from __future__ import annotations

from collections.abc import Iterable

from fuelsys.analysis.tank.combined import combinations
from fuelsys.analysis.tank.switches import trips_at
from fuelsys.model.built.layout import FittedTank
from fuelsys.model.found.switches import TripAt
from fuelsys.model.stated.attitude import Attitude


def combined_trips(tank: FittedTank, envelope: Iterable[Attitude]) -> tuple[TripAt, ...]:
    """Of each switch, in the tank's order, the combination of the grid at which it never trips, or trips last; none without outlet."""
    switches = tank.design.switch
    if not switches or not tank.design.outlet:
        return ()
    found = [trips_at(tank, attitude, switches) for attitude in combinations(envelope)]
    return tuple(min(of_one, key=_left_m3) for of_one in zip(*found, strict=True))


def _left_m3(at: TripAt) -> float:
    return -1.0 if at.latest_m3 is None else at.latest_m3
