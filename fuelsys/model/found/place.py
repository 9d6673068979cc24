"""Where a low-level mark must sit: at one place of the tank's plan, and all over it. All SI."""

from __future__ import annotations

from dataclasses import dataclass
from math import inf

import numpy as np

from fuelsys.arrays import Floats
from fuelsys.model.built.layout import NO_FLOAT, Rides
from fuelsys.model.found.outflow import Outflow
from fuelsys.model.stated.attitude import Attitude
from fuelsys.model.stated.fittings import Switch

LEAST_ROOM_M = 0.010  # from a mark to a wall, below which hardly any float moves; common practice, no source


@dataclass(frozen=True)
class PlacementAt:
    """What a placed mark gives at one attitude: the least quantity and minutes when it trips there."""

    attitude: Attitude
    mark_height_m: float
    trip_m3: float
    minutes: float


@dataclass(frozen=True)
class Placement:
    """A mark's place in mesh axes for a target, at the normal flight attitude or over the envelope; clearance_m to a wall."""

    tank: str
    mark_m: Floats
    guaranteed: bool
    target_s: float
    target_m3: float
    at: tuple[PlacementAt, ...]
    steady_m: Floats
    clearance_m: float
    outflow: Outflow
    built: Built


@dataclass(frozen=True)
class Built:
    """A switch that is placed or is to be, how its float lies in the fuel, and the step that its mark's height is rounded up to.

    low_m and high_m are how far along up the surface may stand below and above its usual place at the trip: by the mark's
    tolerance, and by the densest and the lightest fuel.
    """

    switch: Switch
    rides: Rides = NO_FLOAT
    step_m: float = 0.0

    @property
    def low_m(self) -> float:
        """How much lower it may trip."""
        return self.tolerance_m + self.rides.lower_m

    @property
    def high_m(self) -> float:
        """How much higher it may trip."""
        return self.tolerance_m + self.rides.higher_m

    @property
    def tolerance_m(self) -> float:
        """How far its mark may sit off its place."""
        return self.switch.tolerance_m or 0.0

    @property
    def delay_s(self) -> float:
        """How long after the trip its lamp lights."""
        return self.switch.delay_s or 0.0

    def marks_m(self, trips_m: Floats) -> Floats:
        """Heights of marks for heights of the surface at the trip, as they are written down: never lower than asks for.

        >>> Built(AS_DRAWN.switch, step_m=1e-5).marks_m(np.array([0.1234501, 0.12345]))
        array([0.12346, 0.12345])
        """
        marks: Floats = trips_m - self.rides.raised_m
        if self.step_m == 0.0:
            return marks
        steps: Floats = np.ceil(marks / self.step_m - 1e-6) * self.step_m
        return steps


AS_DRAWN = Built(Switch.model_construct(name="mark", mark_m=(0.0, 0.0, 0.0)))


@dataclass(frozen=True)
class PlaceFound:
    """A place (x, y) of the mesh: the least height z of a mark, as it is stated, that leaves the target at every flight attitude.

    least_m3 is what the tank holds at the latest trip of all flight attitudes (all other pools drained), most_m3 at the
    earliest (none of them begun to fall); clearance_m is from the mark to the nearest wall. None, and why_not, where no
    height serves.
    """

    x_m: float
    y_m: float
    z_m: float | None
    least_m3: float | None = None
    most_m3: float | None = None
    latest: Attitude | None = None
    earliest: Attitude | None = None
    clearance_m: float | None = None
    why_not: str = ""

    @property
    def between_m3(self) -> float:
        """How far the earliest and the latest trip are apart; infinite where no height serves."""
        return inf if self.most_m3 is None or self.least_m3 is None else self.most_m3 - self.least_m3


@dataclass(frozen=True)
class PlaceSearch:
    """All places of a tank that were searched for a mark, row by row."""

    tank: str
    target_s: float
    target_m3: float
    unusable_m3: float
    outflow: Outflow
    spacing_m: float
    places: tuple[PlaceFound, ...]
    built: Built = AS_DRAWN

    @property
    def ranked(self) -> tuple[PlaceFound, ...]:
        """The places that serve, those first whose earliest trip is nearest the target; alike to 0.1 min, by the latest.

        Every one leaves the target at the latest trip, so the earliest tells how far off a trip may be. Places with hardly
        any room for a float about the mark come last.
        """
        serve = [place for place in self.places if place.z_m is not None]
        return tuple(sorted(serve, key=self._rank))

    def _rank(self, place: PlaceFound) -> tuple[bool, int, float]:
        narrow = place.clearance_m is not None and place.clearance_m < LEAST_ROOM_M
        return narrow, round(self.left_s(place.most_m3 or 0.0) / 6.0), place.least_m3 or 0.0

    def between_s(self, place: PlaceFound) -> float:
        """How much time lies between the earliest and the latest trip; infinite where no height serves."""
        if place.most_m3 is None or place.least_m3 is None:
            return inf
        return self.left_s(place.most_m3) - self.left_s(place.least_m3)

    def beside(self, place: PlaceFound) -> tuple[tuple[int, int, PlaceFound | None], ...]:
        """The places one step of the grid beside a place, with the step in x and in y; None outside the cavity."""

        def at(x_m: float, y_m: float) -> tuple[int, int]:
            return round(x_m / self.spacing_m), round(y_m / self.spacing_m)

        known = {at(one.x_m, one.y_m): one for one in self.places}
        x, y = at(place.x_m, place.y_m)
        steps = ((-1, 0), (1, 0), (0, -1), (0, 1))
        return tuple((dx, dy, known.get((x + dx, y + dy))) for dx, dy in steps)

    def left_s(self, quantity_m3: float) -> float:
        """Time that a quantity at the trip lasts from when the lamp lights, above the unusable fuel, in the worst state."""
        return (self.outflow.least_s(quantity_m3 - self.unusable_m3) or 0.0) - self.built.delay_s
