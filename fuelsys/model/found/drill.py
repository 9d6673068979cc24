"""What is drilled into a tank before it is closed: walls to measure from, each fitting's place, its stem and its float's room."""

from __future__ import annotations

from dataclasses import dataclass
from typing import NamedTuple

from fuelsys.arrays import Floats


class Side(NamedTuple):
    """One of the six ways to look at a tank from outside: its body axis and sense, what its wall and its last point are called."""

    axis: int
    sense: float
    wall: str
    point: str


SIDES = {
    "front": Side(0, -1.0, "front wall", "foremost point"),
    "rear": Side(0, 1.0, "rear wall", "rearmost point"),
    "left": Side(1, -1.0, "left wall", "leftmost point"),
    "right": Side(1, 1.0, "right wall", "rightmost point"),
    "bottom": Side(2, -1.0, "bottom", "lowest point"),
    "top": Side(2, 1.0, "top", "highest point"),
}


class Stop(str):
    """A word on a fitting that forbids to drill for it."""

    __slots__ = ()


@dataclass(frozen=True)
class Edge:
    """The plane across a body axis in which a cavity ends on a side; flat_m2 is how much of its wall lies in that plane.

    A wall of which little is flat there is no edge to hook a rule on: what is measured from is then its last point.
    """

    side: str
    at_m: float
    flat_m2: float
    flat: bool

    @property
    def axis(self) -> int:
        """The body axis that it lies across."""
        return SIDES[self.side].axis

    @property
    def name(self) -> str:
        """What a person measures from."""
        return SIDES[self.side].wall if self.flat else SIDES[self.side].point

    def off_m(self, point_m: Floats) -> float:
        """How far a point in body axes lies from it, inwards positive.

        >>> Edge("rear", 0.75, 0.1, True).off_m((0.25, 0.0, 0.0))
        0.5
        """
        return SIDES[self.side].sense * (self.at_m - float(point_m[self.axis]))


@dataclass(frozen=True)
class Stem:
    """From a mark straight to the skin on a side; first_m is how far something else in the tank is on that way, if anything is."""

    side: str
    length_m: float
    first_m: float | None = None


@dataclass(frozen=True)
class Fitting:
    """One row of the sheet. point_m is in body axes and where it is to be; was_m where the design has it, if it is to be moved.

    on are the sides whose skin it lies on or, where the design says it, goes through. room_m is what a switch's float has over
    its stroke to the nearest wall, None where that is not known. doubt is why it must not be drilled as it stands.
    """

    number: int
    name: str
    kind: str
    point_m: Floats
    mesh_m: Floats
    bore_m: float | None = None
    tolerance_m: float | None = None
    on: tuple[str, ...] = ()
    stated: bool = False
    was_m: Floats | None = None
    was_mesh_m: Floats | None = None
    rise_m: float | None = None
    stems: tuple[Stem, ...] = ()
    clearance_m: float | None = None
    stroke_m: float = 0.0
    room_m: float | None = None
    off_m: float = 0.0
    doubt: str = ""

    @property
    def through(self) -> str:
        """The side whose skin it goes through; empty where that is not known for certain."""
        return self.on[0] if len(self.on) == 1 else ""

    @property
    def cramped(self) -> bool:
        """Whether its float is known to have less room than it needs."""
        known = self.room_m is not None and self.clearance_m is not None
        return known and (self.room_m or 0.0) < (self.clearance_m or 0.0) - 1e-9


@dataclass(frozen=True)
class DrillList:
    """All fittings of a tank, what is measured from along each body axis, and the planes where the cavity ends on each side."""

    tank: str
    edges: dict[str, Edge]
    datums: tuple[Edge, Edge, Edge]
    fittings: tuple[Fitting, ...]
    wall_m: float = 0.0

    def size_m(self, axis: int) -> float:
        """How long the cavity is inside along a body axis."""
        low, high = (edge for edge in self.edges.values() if edge.axis == axis)
        return high.at_m - low.at_m

    def opposite(self, edge: Edge) -> Edge:
        """The edge at the other end of the same axis."""
        return next(one for one in self.edges.values() if one.axis == edge.axis and one.side != edge.side)
