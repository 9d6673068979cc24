"""What sweeps answer: how answers spread when what is built is not what was drawn, and the places of a mark searched."""

from __future__ import annotations

from dataclasses import dataclass
from math import inf, radians

import numpy as np

from fuelsys import units
from fuelsys.arrays import Floats
from fuelsys.errors import QuestionError
from fuelsys.model.found.outflow import Outflow
from fuelsys.model.stated.attitude import Attitude

# Bounds of sense, to catch a wrong unit or a slip of the pen; common practice, no source.
_MOST = {
    "set_off_m": ("--set-off", 0.1, "mm", "length"),
    "mounted_rad": ("--mounted", radians(15.0), "deg", "angle"),
    "flow_share": ("--flow", 0.9, "%", "share"),
    "capacity_share": ("--capacity", 0.5, "%", "share"),
    "density_share": ("--density", 0.2, "%", "share"),
}


CHECKED = 16  # samples that are answered in full too, where tilts are read off between others
LEAST_ROOM_M = 0.010  # from a mark to a wall, below which hardly any float moves; common practice, no source


@dataclass(frozen=True)
class Tolerances:
    """How far what is built may be off what was drawn, either way; 0 is as drawn.

    Marks and outlets along each axis of the mesh, the tank in pitch and in roll, the fuel flow, the cavity's volume, the fuel's
    density, by which a float whose size is stated rides higher or lower.
    """

    set_off_m: float = 0.0
    mounted_rad: float = 0.0
    flow_share: float = 0.0
    capacity_share: float = 0.0
    density_share: float = 0.0

    def __post_init__(self) -> None:
        for name, (option, most, unit, kind) in _MOST.items():
            value = getattr(self, name)
            if not 0.0 <= value <= most:
                raise QuestionError(
                    f"{units.written(value, unit, kind)} is {'less than nothing' if value < 0.0 else 'too much'}",
                    mend=f"Give how far it may be off either way, up to {units.written(most, unit, kind)}.",
                    field=option,
                )


@dataclass(frozen=True)
class Spread:
    """One answer as drawn, and over all samples: each figure is a sample's own; -inf stands for a switch that never trips.

    5 % of the samples lie at or below p5, half at or below the median, 95 % at or below p95.
    """

    nominal: float
    least: float
    p5: float
    median: float
    p95: float
    greatest: float

    @property
    def figures(self) -> tuple[float, ...]:
        """All six, in this order."""
        return (self.nominal, self.least, self.p5, self.median, self.p95, self.greatest)


@dataclass(frozen=True)
class SwitchSpread:
    """A switch's least quantity and time left when it trips, over the flight envelope; never counts samples that do not.

    A sample in which it never trips at some flight attitude stands below every other.
    """

    name: str
    held_m3: Spread
    left_s: Spread
    never: int


@dataclass(frozen=True)
class ToleranceStudy:
    """A tank's answers over samples; stopped counts those in which a fitting would have stood outside the cavity.

    Such a fitting was taken to sit on the wall; most_outside_m is how far outside the farthest would have stood. grid is how many
    tilts of the tank were computed along pitch and roll, the samples' own read off between them: by off_m3 at most in those
    that were answered in full too. 1: the tank was not tilted, 0: every sample was answered in full.
    """

    tank: str
    tolerances: Tolerances
    samples: int
    seed: int
    outflow: Outflow
    unusable_m3: Spread
    switches: tuple[SwitchSpread, ...]
    stopped: int
    most_outside_m: float
    grid: int = 1
    off_m3: float = 0.0


@dataclass(frozen=True)
class Share:
    """The part of a variance that one source has: first alone, total with all that it does together with others."""

    source: str
    first: float
    total: float


@dataclass(frozen=True)
class Shares:
    """What the spread of one answer comes from, the greatest total first: a switch's quantity ("volume") or time left at a trip.

    An empty switch stands for the unusable fuel. deviation is the standard deviation, in m3 or s; why_not says why there are none.
    """

    switch: str
    kind: str
    deviation: float
    of: tuple[Share, ...]
    why_not: str = ""

    @property
    def together(self) -> float:
        """The part that no source has alone: it comes of several at once."""
        return 1.0 - sum(share.first for share in self.of)


@dataclass(frozen=True)
class Band:
    """What is in the tank when a switch trips, over the combinations of the flight attitudes' tilts: attitudes of them.

    guaranteed_m3 is the least and the most with all that may be off at its worst at once, -inf where it need not trip; sampled_m3
    the least, 5 %, median, 95 % and greatest over all samples at all attitudes. early counts the samples in which it trips at the
    normal attitude with more than early_m3, None where neither that nor a target is stated; missed those in which it trips at
    some attitude with less than the target left, or never, and missed_share the part of all trips that this is.
    """

    switch: str
    guaranteed_m3: tuple[float, float]
    sampled_m3: tuple[float, ...]
    samples: int
    attitudes: int
    target_s: float | None
    early_m3: float | None
    early: int | None
    missed: int
    missed_share: float


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


@dataclass(frozen=True)
class UnusableGrid:
    """Unusable fuel (p, r) of a tank over pitches (p,) and rolls (r,)."""

    tank: str
    pitches_rad: Floats
    rolls_rad: Floats
    unusable_m3: Floats
