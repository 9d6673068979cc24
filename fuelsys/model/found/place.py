"""Where a low-level mark must sit: at one place of the tank's plan, and all over it. All SI."""

from __future__ import annotations

from dataclasses import dataclass
from math import inf

import numpy as np

from fuelsys.arrays import Floats
from fuelsys.model.found.outflow import Outflow
from fuelsys.model.stated.attitude import Attitude

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


@dataclass(frozen=True)
class Built:
    """How a mark is built: how far it may sit from its place along up, and the step that its height is rounded up to."""

    tolerance_m: float = 0.0
    step_m: float = 0.0

    def rounded_up(self, z_m: Floats) -> Floats:
        """Heights as they are written down: never lower, so that what they leave is never less.

        >>> Built(step_m=1e-5).rounded_up(np.array([0.1234501, 0.12345]))
        array([0.12346, 0.12345])
        """
        if self.step_m == 0.0:
            return z_m
        steps: Floats = np.ceil(z_m / self.step_m - 1e-6) * self.step_m
        return steps


AS_DRAWN = Built()


@dataclass(frozen=True)
class PlaceFound:
    """A place (x, y) of the mesh: the least height z of a mark that leaves the target at every flight attitude.

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
    tolerance_m: float = 0.0

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
        """Time that a quantity lasts above the unusable fuel, in the worst state."""
        return self.outflow.least_s(quantity_m3 - self.unusable_m3) or 0.0
