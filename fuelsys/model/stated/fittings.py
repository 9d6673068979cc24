"""What is fixed in a tank, as its builder states it: ports, switches, parts that take up room, the dipstick, tests."""

from __future__ import annotations

from typing import Literal

from pydantic import Field, StrictBool

from fuelsys.model.stated.records import Area, Bore, Duration, Flow, Gap, MeshCount, MeshUnit, Point, Record, Volume

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


class Switch(Record):
    """A low-level float switch: the mark is the point that the falling surface passes when it trips.

    clearance_m is the room that its float needs all round the mark, over its stroke. own_float names the body among
    [[tank.inside]] that is its float, where the mark lies in that. through is the side that its stem comes in from.
    measured_trip is what was in the tank when its lamp came on while it drained, at the normal ground attitude.
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


class Inside(Record):
    """A solid body in the tank (a baffle, a tube, a sender), as a mesh in the axes of the tank's own."""

    name: Name = Field(min_length=1)
    mesh: str = Field(min_length=1)
    unit: MeshUnit | None = None
    body: str | None = Field(default=None, min_length=1)
    tolerance_m: Gap | None = None


class Dipstick(Record):
    """A straight stick through the filler; graduations are measured from the end named by zero."""

    top_m: Point
    bottom_m: Point
    zero: Literal["bottom", "top"] = "bottom"
    step_m3: Volume | None = None


class Measured(Record):
    """The fill test that corrects a tank: its sheet, the digest of that file, when it was held and at which ground attitude.

    `fuelsys filltest --into` writes it.
    """

    sheet: str = Field(min_length=1)
    sha256: str = Field(pattern=r"^[0-9a-f]{64}$")
    date: str = Field(pattern=r"^\d{4}-\d{2}-\d{2}$")
    at: str | None = Field(default=None, min_length=1)
