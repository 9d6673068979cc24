"""Unusable fuel as it was computed: what stays behind at each attitude, in which pockets, held for a time or for ever. All SI."""

from __future__ import annotations

from dataclasses import dataclass

from fuelsys.arrays import Floats
from fuelsys.model.stated.attitude import Attitude


@dataclass(frozen=True)
class Pocket:
    """Fuel that is cut off from the outlets: its quantity, its lowest point in body axes from the datum.

    sump_drain is the drain valve under its surface where that is the sump's, which parked reaches the tank's lowest point.
    """

    volume_m3: float
    lowest_m: Floats
    level_m: float
    sump_drain: str = ""


LEAST_OVER_M = 5e-5  # a line that holds fuel back by less is not told of: half of the last digit shown

LEAST_DIFFERENCE_M3 = 1e-6  # a narrow gap that makes less of a difference is not warned of: 1 mL


@dataclass(frozen=True)
class Held:
    """Unusable fuel at an attitude that is held for a time only, turned into from the worst of those that are held for ever.

    With from_m3 or more in the tank the outlet's pool outlasts the time at the flow drawn; None where not even a full tank
    does. unusable_m3 is the most that is in the tank when the engine gets air.
    """

    lasting_s: float
    drawn_m3_s: float
    from_m3: float | None
    unusable_m3: float


@dataclass(frozen=True)
class UnusableAt:
    """What stays behind at one attitude after draining from full; lowest_m is the lowest point of the outlets' pools.

    held is what counts instead where the attitude is held for a time only.

    over_m is how far a feed line without a pump holds the surface above its outlet, at most: its highest point; starved_m how
    much further it must stand to drive the flow, by_flow_m3 what of the residual is due to that; beside_m how far what is left in the tank
    that it runs into holds it.
    """

    attitude: Attitude
    residual_m3: float
    trapped_m3: float
    pockets: tuple[Pocket, ...]
    centre_m: Floats | None
    lowest_m: Floats | None = None
    over_m: float = 0.0
    starved_m: float = 0.0
    by_flow_m3: float = 0.0
    held: Held | None = None
    beside_m: float = 0.0

    @property
    def sustained_m3(self) -> float:
        """Residual and trapped fuel together: what is unusable if the attitude is held for ever."""
        return self.residual_m3 + self.trapped_m3

    @property
    def unusable_m3(self) -> float:
        """What counts: for the time that the attitude is held, where one is stated, else for ever."""
        return self.sustained_m3 if self.held is None else self.held.unusable_m3


@dataclass(frozen=True)
class SumpAt:
    """What stays below the outlets at one attitude in pools that a drain valve draws from; below_m3 is all that stays there."""

    attitude: Attitude
    volume_m3: float
    below_m3: float


@dataclass(frozen=True)
class Unusable:
    """Unusable fuel of one tank: each attitude of the envelope, and the worst one in flight.

    opened is the same with the gaps open that are too narrow to count on; None without such gaps, and where it cannot be
    computed since walls pass through each other there. uncovered_m3 is the worst without the covers that were assumed,
    dipped_m3 that with what a draw-down without whirl takes in their place; None where none was. least_m3 is what was measured, or
    drawn before a fill test found the tank smaller: less does not count.
    """

    at: tuple[UnusableAt, ...]
    worst: UnusableAt
    opened: Unusable | None = None
    uncovered_m3: float | None = None
    least_m3: float = 0.0
    dipped_m3: float | None = None

    @property
    def volume_m3(self) -> float:
        """Unusable fuel: at the worst flight attitude of the envelope, or what a test says where that is more."""
        return max(self.worst.unusable_m3, self.least_m3)

    @property
    def held(self) -> bool:
        """Is there an attitude that counts for the time that it is held?"""
        return any(at.held for at in self.at)

    @property
    def sustained(self) -> UnusableAt:
        """The worst flight attitude if each is held for ever."""
        return max((at for at in self.at if at.attitude.phase == "flight"), key=lambda at: at.sustained_m3)

    @property
    def gaps_matter(self) -> bool:
        """Does it make a difference at some attitude whether narrow gaps are open?"""
        if self.opened is None:
            return False
        pairs = zip(self.at, self.opened.at, strict=True)
        return any(closed.unusable_m3 - opened.unusable_m3 > LEAST_DIFFERENCE_M3 for closed, opened in pairs)
