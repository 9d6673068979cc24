"""How answers spread when what is built is not what was drawn."""

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
}


@dataclass(frozen=True)
class Tolerances:
    """How far what is built may be off what was drawn, either way; 0 is as drawn.

    Marks and outlets along each axis of the mesh, the tank in pitch and in roll, the fuel flow, the cavity's volume.
    """

    set_off_m: float = 0.0
    mounted_rad: float = 0.0
    flow_share: float = 0.0
    capacity_share: float = 0.0

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

    Such a fitting was taken to sit on the wall; most_outside_m is how far outside the farthest would have stood.
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
