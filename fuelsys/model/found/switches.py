"""Low-level switches as they were computed: quantity and minutes at each trip. All SI."""

from __future__ import annotations

from dataclasses import dataclass

from fuelsys import units
from fuelsys.arrays import Floats
from fuelsys.model.built.layout import Rides
from fuelsys.model.found.outflow import Outflow
from fuelsys.model.stated.attitude import Attitude

EARLY_TIMES = (
    2.0  # a lamp that leaves more than so many times its target in normal flight is early; chosen here, no source
)


def left_text(minutes: float) -> str:
    """Reserve minutes in words: below zero, how long after the last usable fuel a switch trips.

    >>> left_text(9.06), left_text(-206.6), left_text(-0.01)
    ('9.0 min', 'none left (206.6 min late)', 'none left (0.1 min late)')
    """
    left = units.minutes(minutes * 60.0)
    return f"none left ({left.removeprefix('-')} min late)" if left.startswith("-") else f"{left} min"


def none_left(minutes: float) -> bool:
    """Whether a switch trips after the last usable fuel."""
    return left_text(minutes).startswith("none")


@dataclass(frozen=True)
class TripAt:
    """A switch at one attitude: quantities in the tank when it trips and resets, None where it never does.

    latest_m3 is the trip with the mark low by its tolerance and all other pools drained: the least fuel.
    unusable_m3 is what stays behind at this attitude itself, not at the worst one.
    why_never says in a few words why the surface does not pass the mark there.
    """

    attitude: Attitude
    trip_m3: float | None
    latest_m3: float | None
    reset_m3: float | None
    unusable_m3: float
    why_never: str = ""


@dataclass(frozen=True)
class SwitchStudy:
    """A low-level switch over the envelope; worst is the flight attitude with the least fuel at its trip.

    unusable_m3 is that of the worst flight attitude of the envelope. rise_m is how much higher the mark must sit to leave
    the target at every flight attitude, its tolerance included; None where it already does, or no height on its line does.
    steady_m is the point of the mesh at which a mark for the target feels the attitude least; None without a target, or
    where that point lies outside the cavity.
    opened is the same with narrow gaps open, where that makes a difference. outflow is what the reserve phase takes out of the
    tank, at_full what maximum continuous power does.
    sustained_m3 is what is unusable if all attitudes are held for ever, None where they are. All minutes are those from when
    its lamp lights, delay_s after the surface has passed the mark; rides is how its float lies in the fuel, where that is stated.
    """

    name: str
    tank: str
    target_s: float | None
    tolerance_m: float | None
    at: tuple[TripAt, ...]
    unusable_m3: float
    outflow: Outflow
    rise_m: float | None = None
    steady_m: Floats | None = None
    opened: SwitchStudy | None = None
    at_full: Outflow | None = None
    sustained_m3: float | None = None
    delay_s: float = 0.0
    rides: Rides | None = None

    @property
    def forever_minutes(self) -> float | None:
        """The least minutes at the worst trip if each attitude is held for ever; None where each is, and where not known."""
        if self.sustained_m3 is None or self.worst is None or self.worst.latest_m3 is None:
            return None
        return self._lit(self.outflow.least_s(self.worst.latest_m3 - self.sustained_m3))

    @property
    def flow_m3_s(self) -> float:
        """The tank's share of what is burnt."""
        return self.outflow.share_m3_s

    def alone_minutes(self, quantity_m3: float | None) -> float | None:
        """Minutes where all that is burnt comes from this tank; what is returned elsewhere is not counted."""
        if quantity_m3 is None:
            return None
        usable_m3 = quantity_m3 - self.unusable_m3
        return self._lit(min(usable_m3 / self.outflow.alone_m3_s, usable_m3 / self.outflow.share_m3_s))

    def least_minutes(self, quantity_m3: float | None) -> float | None:
        """Minutes in the worst state: alone, with what is returned elsewhere; None where it never trips or that is unknown."""
        return self._lit(None if quantity_m3 is None else self.outflow.least_s(quantity_m3 - self.unusable_m3))

    def drawn_minutes(self, quantity_m3: float | None) -> float | None:
        """Minutes in the worst state, as pictures show them; by the tank's share alone where the worst is not known."""
        return self.minutes(quantity_m3) if self.share_alone else self.least_minutes(quantity_m3)

    @property
    def share_alone(self) -> bool:
        """Whether the worst state is not known, since the design does not say what is returned elsewhere."""
        return self.outflow.returned_m3_s is None

    def minutes(self, quantity_m3: float | None) -> float | None:
        """Reserve minutes in the usual state: 60 times the usable quantity over the tank's share of the flow per hour.

        Below zero nothing usable is left: the last of it was gone so many minutes before.
        """
        return self._lit(None if quantity_m3 is None else (quantity_m3 - self.unusable_m3) / self.flow_m3_s)

    def minutes_here(self, at: TripAt) -> float | None:
        """Minutes at the latest trip above what stays behind at that attitude itself, as long as it is held."""
        return self._lit(None if at.latest_m3 is None else (at.latest_m3 - at.unusable_m3) / self.flow_m3_s)

    def _lit(self, left_s: float | None) -> float | None:
        """Minutes from when the lamp lights, of a time from when the surface passes the mark: the flow goes on meanwhile."""
        return None if left_s is None else (left_s - self.delay_s) / 60.0

    @property
    def normal(self) -> TripAt:
        """The trip at the normal flight attitude."""
        return next(at for at in self.at if at.attitude.normal and at.attitude.phase == "flight")

    @property
    def never(self) -> tuple[TripAt, ...]:
        """The flight attitudes at which it never trips."""
        return tuple(at for at in self.at if at.attitude.phase == "flight" and at.trip_m3 is None)

    @property
    def worst(self) -> TripAt | None:
        """The latest trip in flight; None where it never trips at some flight attitude."""
        flight = [at for at in self.at if at.attitude.phase == "flight"]
        return None if self.never else min(flight, key=lambda at: at.latest_m3 or 0.0)
