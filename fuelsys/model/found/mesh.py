"""The health of a mesh: what its surface is, what is wrong with it and where, and what mending it changed."""

from __future__ import annotations

from dataclasses import dataclass
from enum import Enum

import numpy as np

from fuelsys.arrays import Floats
from fuelsys.model.words import warnings
from fuelsys.units import shown

_MOST_NAMES = 3  # of a body's parts that are shown


class Kind(Enum):
    """A kind of fault: its name for one and for several, whether no cavity can have it, and what it means."""

    OPEN = ("open edge", "open edges", True, "the surface ends there: it does not enclose a volume")
    CROWDED = (
        "crowded edge",
        "crowded edges",
        True,
        "three or more faces join there: bodies touch, or a face is double",
    )
    TWISTED = ("twisted edge", "twisted edges", True, "its two faces are wound against each other")
    PINCHED = ("pinched corner", "pinched corners", True, "parts of the surface touch only there")
    CROSSING = ("pair of crossing faces", "pairs of crossing faces", True, "the surface passes through itself")
    THROUGH = (
        "edge along which it passes through itself",
        "edges along which it passes through itself",
        True,
        "an edge of one part lies in a face of another, and the parts pass through each other",
    )
    GRAZING = ("pair of touching faces", "pairs of touching faces", False, "not joined: no fuel passes there")
    DOUBLE = ("double face", "double faces", False, "another face has the same three corners")
    REPEATED = ("face with two equal corners", "faces with two equal corners", False, "left out: no area, no volume")
    FLAT = ("face without area", "faces without area", False, "its corners lie on one line; it does no harm")

    def __init__(self, one: str, many: str, fatal: bool, meaning: str) -> None:
        self.one, self.many, self.fatal, self.meaning = one, many, fatal, meaning

    @property
    def point(self) -> str:
        """What its place is, in words."""
        return "the middle of the first" if self.one.endswith(" edge") else "the first"

    def counted(self, number: int, at_least: bool = False) -> str:
        """A number of faults with its noun.

        >>> Kind.OPEN.counted(1), Kind.CROSSING.counted(9, at_least=True)
        ('1 open edge', 'at least 9 pairs of crossing faces')
        """
        return f"{'at least ' if at_least else ''}{number} {self.one if number == 1 else self.many}"


@dataclass(frozen=True)
class Fault:
    """All faults of a kind: their number, and the first of them as lines (k, 2, 3) between two points in the mesh's axes.

    The line is the edge, or the longest side of the face; for faces that meet and for corners, one point twice.
    """

    kind: Kind
    count: int
    lines_m: Floats
    at_least: bool = False  # counting was stopped

    @property
    def text(self) -> str:
        """Number and name."""
        return self.kind.counted(self.count, self.at_least)

    @property
    def places_m(self) -> Floats:
        """The middles of the lines (k, 3)."""
        return self.lines_m.mean(axis=1)


@dataclass(frozen=True)
class Rim:
    """The open edges round a hole or along a slit; size: how far apart two of their corners lie, place: the corners' mean."""

    edges: int
    size_m: float
    place_m: Floats
    lines_m: Floats


@dataclass(frozen=True)
class Shell:
    """A piece of the surface that hangs together by edges; the numbers are None where it is open, twisted or crowded.

    volume_m3 is positive where it faces outward; handles is its genus; within: numbers of the shells that it lies inside.
    """

    triangles: int
    open_edges: int
    area_m2: float
    volume_m3: float | None
    handles: int | None
    low_m: Floats
    high_m: Floats
    within: tuple[int, ...] | None = ()

    @property
    def size_m(self) -> Floats:
        """Extents along the mesh's axes."""
        return self.high_m - self.low_m


@dataclass(frozen=True)
class Body:
    """One of several bodies in a mesh file: an outer shell with its hollows, by its number in the file and its parts' names.

    volume_m3 is what it holds less its hollows, None where it is open; inside: numbers of the bodies that it lies in.
    """

    number: int
    names: tuple[str, ...]
    triangles: int
    hollows: int
    volume_m3: float | None
    low_m: Floats
    high_m: Floats
    inside: tuple[int, ...] = ()

    @property
    def called(self) -> set[str]:
        """What it may be called: all its names together, or one; of a path its last part."""
        return {self.name, *self.names, *(name.rpartition("/")[2] for name in self.names)} - {""}

    @property
    def name(self) -> str:
        """Its parts' names, "" where they have none."""
        more = f" and {len(self.names) - _MOST_NAMES} more" if len(self.names) > _MOST_NAMES else ""
        return " + ".join(self.names[:_MOST_NAMES]) + more

    @property
    def title(self) -> str:
        """Its name in a sentence."""
        return shown(self.name) if self.names else "unnamed"

    @property
    def size_m(self) -> float:
        """The diagonal of its box."""
        return float(np.linalg.norm(self.high_m - self.low_m))


@dataclass(frozen=True)
class Wall:
    """Signs that the mesh is a tank's material and not its inside: its mean thickness, and the shell that faces the fuel."""

    thickness_m: float
    inner: int | None
    inner_m3: float | None
    chambers_m3: tuple[float, ...] = ()  # where several shells face the fuel, and none is the inner one

    @property
    def text(self) -> str:
        """What it looks like, in words."""
        held = " and ".join(f"{volume_m3 * 1e3:.4g} L" for volume_m3 in self.chambers_m3)
        parts = f" with {len(self.chambers_m3)} inner shells of {held}" if held else ""
        return f"it looks like the tank's wall{parts}, {self.thickness_m * 1e3:.2g} mm thick on average, not its inside"


class NoHollow(str):
    """Why a mesh is no cavity: a closed surface in it is neither its outside nor a hollow."""

    __slots__ = ()


@dataclass(frozen=True)
class Health:
    """Everything that was looked at in a mesh file. Lengths in metres, in the mesh's own axes and from its own origin."""

    file: str
    unit: str
    triangles: int
    corners: int
    area_m2: float
    volume_m3: float | None
    low_m: Floats
    high_m: Floats
    n_shells: int
    shells: tuple[Shell, ...]
    faults: tuple[Fault, ...]
    rims: tuple[Rim, ...]
    n_rims: int
    wall: Wall | None
    why_not: tuple[str, ...]
    notes: tuple[str, ...]
    bodies: tuple[Body, ...] = ()  # where there are several to pick from
    caution: str = ""  # of a mended mesh: why it is to be taken for a cavity with caution only

    @property
    def usable(self) -> bool:
        """Can it be taken for a cavity?"""
        return not self.why_not

    @property
    def in_doubt(self) -> bool:
        """Is it usable with caution only?"""
        return self.usable and bool(self.caution or warnings(self.notes))

    @property
    def verdict(self) -> str:
        """One line: usable or why not."""
        if self.why_not:
            return f"not usable as a cavity: {'; '.join(self.why_not)}"
        if self.caution:
            return f"usable as a cavity with caution: {self.caution}"
        many = "s" if len(warnings(self.notes)) > 1 else ""
        return f"usable as a cavity with caution: see the warning{many}" if self.in_doubt else "usable as a cavity"

    def harmless(self, kind: Kind) -> bool:
        """Can the surface be used in spite of such faults? Not where they are what makes another fault."""
        cause = {Kind.DOUBLE: Kind.CROWDED, Kind.GRAZING: Kind.THROUGH}.get(kind)
        return not kind.fatal and not (cause and self.fault(cause))

    def fault(self, kind: Kind) -> Fault | None:
        """The faults of a kind, None where there is none."""
        return next((fault for fault in self.faults if fault.kind is kind), None)


@dataclass(frozen=True)
class Change:
    """One thing that mending did: how often, where first (k, 3), and by how much it may have changed the volume at most."""

    what: str
    count: int
    places_m: Floats
    within_m3: float = 0.0
