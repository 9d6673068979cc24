"""The stages of a low-level warning, placed together: what was asked, where each mark stands, and what stood in the way."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any

from fuelsys.model.found.place import PlaceFound, PlaceSearch
from fuelsys.model.stated.attitude import Attitude
from fuelsys.model.stated.design import Tank
from fuelsys.model.stated.fittings import Switch, SwitchFloat


@dataclass(frozen=True)
class StagesAsked:
    """Targets, and the switches that are to keep them; plate puts all marks on one vertical line.

    What is not said (None, or nothing) is that of the tank's switch of a stage's name, where there is one. tolerance_m is how
    far a mark may sit from its place, differential_m how much higher it resets, clearance_m the room that its float needs all round
    over that stroke, stem_m the diameter of its stem, which comes from the roof; the rest is as a design says it of a switch.
    """

    targets_s: tuple[float, ...]
    tolerance_m: float | None = None
    differential_m: float | None = None
    clearance_m: float | None = None
    stem_m: float = 0.0
    plate: bool = False
    float_body: SwitchFloat | None = None
    set_in_kg_m3: float | None = None
    max_tilt_rad: float | None = None
    delay_s: float | None = None

    @property
    def stated(self) -> dict[str, Any]:
        """What is said of the switches, by the fields of one."""
        of_switch = (
            "tolerance_m",
            "differential_m",
            "clearance_m",
            "float_body",
            "set_in_kg_m3",
            "max_tilt_rad",
            "delay_s",
        )
        return {name: value for name in of_switch if (value := getattr(self, name))}

    def switch(self, tank: Tank, target_s: float) -> Switch:
        """The switch of a stage: that of its name in the tank or a new one, with what is said of it."""
        name = f"{target_s / 60.0:g} min"
        new = Switch.model_construct(name=name, mark_m=(0.0, 0.0, 0.0))
        own = next((one for one in tank.switch if one.name == name), new)
        return own.model_copy(update=self.stated | {"target_s": target_s})


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
    """All stages of a tank, the longest target first; plate_s is how wide the widest band would be on one line, where that is less."""

    tank: str
    asked: StagesAsked
    stages: tuple[Stage, ...]
    plate_s: float | None = None

    @property
    def complete(self) -> bool:
        """Whether every stage has a place."""
        return all(stage.place is not None for stage in self.stages)
