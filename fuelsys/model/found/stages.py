"""The stages of a low-level warning, placed together: what was asked, where each mark stands, and what stood in the way."""

from __future__ import annotations

from dataclasses import dataclass, field

from fuelsys.model.found.place import PlaceFound, PlaceSearch
from fuelsys.model.stated.attitude import Attitude


@dataclass(frozen=True)
class StagesAsked:
    """Targets, and the switches that are to keep them; plate puts all marks on one vertical line.

    tolerance_m is how far a mark may sit from its place, differential_m how much higher it resets, clearance_m the room that
    its float needs all round over that stroke (None: not said), stem_m the diameter of its stem, which comes from the roof.
    """

    targets_s: tuple[float, ...]
    tolerance_m: float = 0.0
    differential_m: float = 0.0
    clearance_m: float | None = None
    stem_m: float = 0.0
    plate: bool = False


@dataclass(frozen=True)
class Stage:
    """One stage: its search, the place chosen (None: none serves), its stem, and how many better places fell to what.

    plain_m3 is the band that is left with marks at their very places; combined_s the least time left over the
    combinations of the stated flight attitudes, above the unusable fuel of the worst of them; None where it never trips at one.
    """

    search: PlaceSearch
    place: PlaceFound | None
    stem_m: float = 0.0
    plain_m3: float = 0.0
    combined_s: float | None = None
    combined_at: Attitude | None = None
    passed_over: dict[str, int] = field(default_factory=dict)


@dataclass(frozen=True)
class StagesFound:
    """All stages of a tank, the longest target first."""

    tank: str
    asked: StagesAsked
    stages: tuple[Stage, ...]

    @property
    def complete(self) -> bool:
        """Whether every stage has a place."""
        return all(stage.place is not None for stage in self.stages)
