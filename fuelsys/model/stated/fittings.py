"""What is fixed in a tank, as its builder states it: ports, switches, parts that take up room, the dipstick, tests."""

from __future__ import annotations

from math import acos, degrees, pi
from typing import Annotated, Literal

from pydantic import Field, StrictBool

from fuelsys.arrays import Floats
from fuelsys.model.stated.records import (
    Area,
    Bore,
    Density,
    Duration,
    Flow,
    Gap,
    Mass,
    MeshCount,
    MeshUnit,
    Point,
    Record,
    Tilt,
    Volume,
)

Name = str
Through = Literal["front", "rear", "left", "right", "bottom", "top"]  # a side of a tank, as the aircraft has it


class Strainer(Record):
    """The strainer over an outlet."""

    mesh_per_m: MeshCount | None = None
    clear_area_m2: Area | None = None
    diameter_m: Bore | None = None


class Fitting(Record):
    """What is fixed in a tank at one place, in the axes of the tank's mesh; through is the side that is drilled."""

    name: Name = Field(min_length=1, pattern=r"^[^.\s][^.]*$")
    position_m: Point
    bore_m: Bore | None = None
    through: Through | None = None


class Port(Fitting):
    """A fitting through which something enters or leaves the tank: lines join it."""


class Outlet(Port):
    """Where fuel leaves; the position is the point of the opening that air reaches first, cover the fuel kept above it.

    Without a cover one is assumed for the flow.
    """

    cover_m: Gap | None = None
    strainer: Strainer | None = None


class Vent(Port):
    """The inner opening of a vent."""


class Filler(Port):
    """The filler; the position is the lip at which fuel spills, filling the greatest flow that the tank is filled with."""

    name: Name = "filler"
    bonded: StrictBool | None = None
    placard: str | None = None
    filling_m3_s: Flow | None = None


class Drain(Port):
    """The drain valve's seat."""


class Return(Port):
    """Where returned fuel or vapour enters."""


class Inlet(Port):
    """Where fuel enters from another tank."""


class SwitchFloat(Record):
    """A switch's float: what it weighs, and its size, as an upright cylinder or as one of a volume that is as wide all the way up."""

    mass_kg: Mass
    height_m: Bore
    diameter_m: Bore | None = None
    volume_m3: Volume | None = None

    @property
    def sized(self) -> bool:
        """Whether one of diameter and volume is stated, and only one."""
        return (self.diameter_m is None) == bool(self.volume_m3) and self.volume_m3 != 0.0

    @property
    def sinks_below_kg_m3(self) -> float:
        """The density of a liquid that it just floats in."""
        return self.mass_kg / (self._area_m2 * self.height_m)

    def draught_m(self, density_kg_m3: float) -> float:
        """How deep it lies in a liquid, by Archimedes: 12 g of 30 mm diameter lie 17.0 mm deep in water of 998.2 kg/m3.

        >>> one = SwitchFloat(mass="12 g", height="40 mm", diameter="30 mm")
        >>> round(one.draught_m(998.2) * 1000.0, 2), round(one.draught_m(720.0) * 1000.0, 2)
        (17.01, 23.58)
        """
        return self.mass_kg / (density_kg_m3 * self._area_m2)

    @property
    def _area_m2(self) -> float:
        if self.volume_m3 is not None:
            return self.volume_m3 / self.height_m
        return pi / 4.0 * (self.diameter_m or 0.0) ** 2


class Switch(Record):
    """A low-level float switch: the mark is the point that the falling surface passes when it trips.

    clearance_m is the room that its float needs all round the mark, over its stroke. own_float names the body among
    [[tank.inside]] that is its float, where the mark lies in that. through is the side that its stem comes in from.
    measured_trip is what was in the tank when its lamp came on while it drained, at the normal ground attitude.
    The mark is where it trips in a liquid of density set_in, such as the water that it was set in; in the fuel where that is left
    out. Further than max_tilt from upright it is not counted on to trip; delay is how long the surface must stay
    below the mark until the lamp lights, so that it does not blink as the fuel sloshes.
    """

    name: Name = Field(min_length=1)
    mark_m: Point
    differential_m: Gap = 0.0
    tolerance_m: Gap | None = None
    clearance_m: Gap | None = None
    target_s: Duration | None = None
    own_float: str | None = Field(default=None, min_length=1)
    measured_trip_m3: Volume | None = None
    through: Through | None = None
    float_body: SwitchFloat | None = None
    set_in_kg_m3: Density | None = None
    max_tilt_rad: Tilt | None = None
    delay_s: Duration | None = None

    def too_far(self, up: Floats) -> str:
        """Why it is not counted on to trip at an up (3,): it leans further than it may; empty where it does not.

        >>> one = Switch(name="low", mark=["0 mm", "0 mm", "0 mm"], max_tilt="10 deg")
        >>> from fuelsys.model.stated.attitude import Attitude
        >>> one.too_far(Attitude.of_degrees(9.9, 0.0).up), one.too_far(Attitude.of_degrees(8.0, 8.0).up)
        ('', 'tilted by 11.3°, more than the 10° that it is stated to work at')
        """
        lean_rad = acos(max(-1.0, min(1.0, float(up[2]))))
        if self.max_tilt_rad is None or lean_rad <= self.max_tilt_rad * (1.0 + 1e-9):
            return ""
        return f"tilted by {degrees(lean_rad):.1f}°, more than the {degrees(self.max_tilt_rad):.3g}° that it is stated to work at"


class Inside(Record):
    """A solid body in the tank (a baffle, a tube, a sender), as a mesh in the axes of the tank's own."""

    name: Name = Field(min_length=1)
    mesh: str = Field(min_length=1)
    unit: MeshUnit | None = None
    body: str | None = Field(default=None, min_length=1)
    tolerance_m: Gap | None = None


class Place(Record):
    """Another place where the stick is put in, for a fill test alone: through a sender's hole, say."""

    top_m: Point
    bottom_m: Point


class Dipstick(Record):
    """A straight stick through the filler; graduations are measured from the end named by zero.

    They are for the normal attitude on the ground; those of the stick's other face for the one that other_face names. also are
    other places where the same stick is put in during a fill test: what tells a tilt from all else.
    """

    top_m: Point
    bottom_m: Point
    zero: Literal["bottom", "top"] = "bottom"
    step_m3: Volume | None = None
    other_face: Name | None = Field(default=None, min_length=1)
    also: Annotated[tuple[Place, ...], Field(max_length=2)] = ()


class Measured(Record):
    """The fill test that corrects a tank: its sheet, the digest of that file, when it was held and at which ground attitude.

    `fuelsys filltest --into` writes it.
    """

    sheet: str = Field(min_length=1)
    sha256: str = Field(pattern=r"^[0-9a-f]{64}$")
    date: str = Field(pattern=r"^\d{4}-\d{2}-\d{2}$")
    at: str | None = Field(default=None, min_length=1)
