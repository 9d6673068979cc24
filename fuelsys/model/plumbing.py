"""Plumbing as it was computed: runs of lines with their high and low points, vents, and full tanks that share a level.

All SI, in body axes from the datum; every level is along the attitude's up, from the datum.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from fuelsys.kernels.compiled import Floats
from fuelsys.model.attitude import Attitude

LineKind = Literal["feed", "vent", "return", "interconnect"]


@dataclass(frozen=True)
class PathPoint:
    """A high or a low point of a run at one attitude; a flat stretch counts as one point, its middle.

    proud_m is how far a high point stands above the run on both sides (the smaller of the two rises), a low point below.
    on is the line, or the component, that it lies on. drained: whether a drain reaches it; None where that is not said.
    """

    place_m: Floats
    level_m: float
    proud_m: float
    on: str
    bore_m: float
    drained: bool | None


@dataclass(frozen=True)
class RunAt:
    """A run at one attitude."""

    attitude: Attitude
    start_level_m: float
    end_level_m: float
    highest_level_m: float
    high: tuple[PathPoint, ...]
    low: tuple[PathPoint, ...]


@dataclass(frozen=True)
class Run:
    """Lines of one kind that follow one another from end to end: ends are "tank.port" or a component's name.

    through names the components on the way, in order; at has one entry for each attitude of the envelope.
    """

    kind: LineKind
    start: str
    end: str
    lines: tuple[str, ...]
    through: tuple[str, ...]
    bore_m: float
    length_m: float
    at: tuple[RunAt, ...]

    @property
    def name(self) -> str:
        """The run by its ends, for findings."""
        return f"{self.start} to {self.end}"

    def at_phase(self, phase: str) -> tuple[RunAt, ...]:
        """The run at the attitudes on the ground or in flight."""
        return tuple(at for at in self.at if at.attitude.phase == phase)


@dataclass(frozen=True)
class AirAt:
    """The air of a tank filled at one ground attitude: the fuel's level, each vent's opening, the air without a vent.

    limited_by names the opening that fuel runs out of first; the level is not above the cavity's highest point.
    unvented_top_m is the highest point of the largest airspace that no open vent reaches, shut_ports the ports that stand
    in such air.
    """

    attitude: Attitude
    full_level_m: float
    limited_by: str
    vent_levels_m: dict[str, float]
    highest_level_m: float
    lowest_level_m: float
    unvented_m3: float
    unvented_top_m: Floats | None = None
    shut_ports: tuple[str, ...] = ()


@dataclass(frozen=True)
class Overflow:
    """An opening of a full tank and how far the fuel stands above the level at which it runs out (below: negative)."""

    opening: str
    above_m: float


@dataclass(frozen=True)
class Settled:
    """Tanks with connected outlets, filled at the normal ground attitude, at another attitude: one level for all.

    vents are those that lead overboard, at the highest point of their line; fillers at the lip. Nothing has run out.
    """

    attitude: Attitude
    tanks: tuple[str, ...]
    level_m: float
    vents: tuple[Overflow, ...]
    fillers: tuple[Overflow, ...]


@dataclass(frozen=True)
class Plumbing:
    """Everything computed from the lines.

    runs: from end to end, pumps being ends; ways: fuel from a tank's outlet to an engine or a tank, through pumps;
    loose: lines that are on none of them; fuel_groups: tanks whose outlets are connected without a valve or selector
    between; air_groups: tanks whose airspaces are connected by vent lines; sloped: full tanks on a slope of the
    ground; banked: full tanks at the flight attitudes.
    """

    runs: tuple[Run, ...]
    ways: tuple[Run, ...]
    loose: tuple[str, ...]
    fuel_groups: tuple[tuple[str, ...], ...]
    air_groups: tuple[tuple[str, ...], ...]
    air: dict[str, tuple[AirAt, ...]]
    sloped: tuple[Settled, ...]
    banked: tuple[Settled, ...]

    def of_kind(self, kind: LineKind) -> tuple[Run, ...]:
        """The runs of one kind."""
        return tuple(run for run in self.runs if run.kind == kind)

    def at_end(self, end: str, kind: LineKind) -> tuple[Run, ...]:
        """The runs of one kind that begin or end at a port or component."""
        return tuple(run for run in self.of_kind(kind) if end in (run.start, run.end))
