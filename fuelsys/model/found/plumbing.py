"""Plumbing as it was computed: runs of lines with their high and low points, vents, and full tanks that share a level.

All SI, in body axes from the datum; every level is along the attitude's up, from the datum.
"""

from __future__ import annotations

from dataclasses import dataclass, field

from fuelsys.arrays import Floats
from fuelsys.model.built.ends import End
from fuelsys.model.built.way import Way
from fuelsys.model.stated.attitude import Attitude
from fuelsys.model.stated.design import LineKind

# A dip or a hump that is smaller than this share of the bore does not fill the line's section.
LEAST_SHARE_OF_BORE = 0.5


@dataclass(frozen=True, eq=False)
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

    @property
    def deep(self) -> bool:
        """Whether it fills the line's section."""
        return self.proud_m > LEAST_SHARE_OF_BORE * self.bore_m


@dataclass(frozen=True)
class RunAt:
    """A run at one attitude; highest_level_m is that of the path whose highest point is lowest.

    Where several paths lead from end to end, high and low points are those of the worst ones.
    """

    attitude: Attitude
    start_level_m: float
    end_level_m: float
    highest_level_m: float
    high: tuple[PathPoint, ...]
    low: tuple[PathPoint, ...]


@dataclass(frozen=True)
class Run:
    """A way at each attitude of the envelope."""

    way: Way
    at: tuple[RunAt, ...]

    @property
    def kind(self) -> LineKind:
        """What its lines are for."""
        return self.way.kind

    @property
    def start(self) -> End:
        """Where it begins."""
        return self.way.start

    @property
    def end(self) -> End:
        """Where it ends."""
        return self.way.end

    @property
    def through(self) -> tuple[End, ...]:
        """What lies between its ends on any path, in order."""
        return self.way.through

    @property
    def bore_m(self) -> float:
        """The smallest bore on any path."""
        return self.way.bore_m

    @property
    def name(self) -> str:
        """The run by its ends, for findings."""
        return f"{self.start} to {self.end}"

    def at_phase(self, phase: str) -> tuple[RunAt, ...]:
        """The run at the attitudes on the ground or in flight."""
        return tuple(at for at in self.at if at.attitude.phase == phase)


@dataclass(frozen=True, eq=False)
class Airspace:
    """Air of a full tank that an open vent reaches: its highest point, and the highest of its open vents with its level."""

    vent: str
    vent_level_m: float
    top_level_m: float
    top_m: Floats
    volume_m3: float


@dataclass(frozen=True)
class AirAt:
    """The air of a tank filled at one ground attitude: the fuel's level, each vent's opening, the air without a vent.

    limited_by names the opening that fuel runs out of first; the level is not above the cavity's highest point.
    unvented_top_m is the highest point of the largest airspace that no open vent reaches, shut_ports the ports that stand
    in such air. vented are the airspaces that open vents reach; setting says what is shut in the vent lines.
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
    vented: tuple[Airspace, ...] = ()
    setting: str = ""


@dataclass(frozen=True)
class Airing:
    """A setting of what stands in the vent lines, and the lines that it shuts.

    starved are tanks that vent lines lead overboard and into which no air comes from there, closed those out of which none gets;
    groups are tanks whose airspaces communicate.
    """

    words: str
    shut: frozenset[str]
    starved: tuple[str, ...]
    closed: tuple[str, ...]
    groups: tuple[tuple[str, ...], ...]


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
    ground; airings: every setting of what stands in the vent lines, None where they are too many; air_as_set: the air of the full
    tanks where a setting shuts some of their vents and not all.
    """

    runs: tuple[Run, ...]
    ways: tuple[Run, ...]
    loose: frozenset[str]
    fuel_groups: tuple[tuple[str, ...], ...]
    air_groups: tuple[tuple[str, ...], ...]
    air: dict[str, tuple[AirAt, ...]]
    sloped: tuple[Settled, ...]
    airings: tuple[Airing, ...] | None = ()
    air_as_set: dict[str, tuple[AirAt, ...]] = field(default_factory=dict)

    def of_kind(self, kind: LineKind) -> tuple[Run, ...]:
        """The runs of one kind."""
        return tuple(run for run in self.runs if run.kind == kind)

    def at_end(self, end: End, kind: LineKind) -> tuple[Run, ...]:
        """The runs of one kind that begin or end at a port or component."""
        return tuple(run for run in self.of_kind(kind) if end in (run.start, run.end))
