"""What tolerances answer: how answers spread when what is built is not what was drawn, what that comes from, and bands."""

from __future__ import annotations

from dataclasses import dataclass
from math import radians

from fuelsys import units
from fuelsys.errors import QuestionError
from fuelsys.model.found.outflow import Outflow

# Bounds of sense, to catch a wrong unit or a slip of the pen; common practice, no source.
_MOST = {
    "set_off_m": ("--set-off", 0.1, "mm", "length"),
    "mounted_rad": ("--mounted", radians(15.0), "deg", "angle"),
    "flow_share": ("--flow", 0.9, "%", "share"),
    "capacity_share": ("--capacity", 0.5, "%", "share"),
    "density_share": ("--density", 0.2, "%", "share"),
}


CHECKED = 16  # samples that are answered in full too, where tilts are read off between others


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
    that were answered in full too. 1: the tank was not tilted, 0: every sample was answered in full. through names the tanks that
    this one gives through: they are as drawn.
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
    through: tuple[str, ...] = ()


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
    through: tuple[str, ...] = ()
