"""The design as its builder states it: aircraft, fuel, envelope, tanks with their fittings, components and lines."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import AfterValidator, Field, StrictBool

from fuelsys.model.stated.attitude import Attitude
from fuelsys.model.stated.components import AnyComponent
from fuelsys.model.stated.fittings import (
    Dipstick,
    Drain,
    Filler,
    Fitting,
    Inlet,
    Inside,
    Measured,
    Name,
    Outlet,
    Port,
    Return,
    Switch,
    Vent,
)
from fuelsys.model.stated.gauges import AnyGauge
from fuelsys.model.stated.records import (
    Acceleration,
    Altitude,
    Angle,
    Bore,
    Density,
    Duration,
    Flow,
    Gap,
    Layer,
    Length,
    LoadFactor,
    MeshUnit,
    Point,
    Pressure,
    Rate,
    Record,
    ReidPressure,
    Share,
    Spelled,
    Unmodelled,
    Viscosity,
    Volume,
    Weight,
    rising,
)
from fuelsys.units import LengthUnit, VolumeUnit

LineKind = Literal["feed", "vent", "return", "interconnect"]


class Show(Record):
    """The units that answers are shown in, unless a command asks for others."""

    volume: Annotated[VolumeUnit, Spelled] = "L"
    length: Annotated[LengthUnit, Spelled] = "mm"


class Aircraft(Record):
    """What applies to the aircraft as a whole; axes says what x, y and z mean wherever the file gives a place on it.

    firewall is a point of the firewall, which is taken as a plane across the aft axis; the rates are the greatest.
    lamps_own_power: the lamps of its switches light without its electric power too.
    """

    name: Name = Field(min_length=1)
    datum: str = Field(min_length=1)
    axes: str
    engine: Literal["piston", "turbine"]
    feed: Literal["gravity", "pump"]
    climb_angle_rad: Angle | None = None
    limit_load_factor: LoadFactor | None = None
    ceiling_m: Altitude | None = None
    climb_rate_m_s: Rate | None = None
    descent_rate_m_s: Rate | None = None
    firewall_m: Point | None = None
    lamps_own_power: bool = False


class Fuel(Record):
    """The fuel, and the phase whose flow counts for reserve minutes; viscosity is that of the coldest fuel to be used.

    density_range is the least and the greatest density that it may have, hot and cold: it moves the floats of switches.
    reid_pressure is its vapour pressure by Reid's method (ASTM D323, D5191).
    """

    kind: Literal["avgas", "mogas", "jet", "diesel"]
    density_kg_m3: Density
    density_range_kg_m3: Annotated[tuple[Density, Density], AfterValidator(rising)] | None = None
    viscosity_m2_s: Viscosity | None = None
    reid_pressure_pa: ReidPressure | None = None
    reserve_phase: str

    @property
    def gasoline(self) -> bool:
        """Whether it is gasoline; a piston engine on any other fuel is a diesel."""
        return self.kind in ("avgas", "mogas")


class AttitudeEntry(Record):
    """A named attitude of the envelope; held is for how long one of flight is held at most, for ever where it is left out."""

    name: Name = Field(min_length=1)
    phase: Literal["ground", "flight"]
    pitch_rad: Angle = 0.0
    roll_rad: Angle = 0.0
    forward_m_s2: Acceleration = 0.0
    right_m_s2: Acceleration = 0.0
    normal: StrictBool = False
    held_s: Duration | None = None

    @property
    def attitude(self) -> Attitude:
        """The same as an Attitude."""
        tilt = self.pitch_rad, self.roll_rad, self.forward_m_s2, self.right_m_s2
        return Attitude(self.name, self.phase, *tilt, self.normal, self.held_s)


# A gap narrower than this is not counted on as a passage, where the design does not say otherwise: sealant, paint and the
# tolerance of the build close it, or do not. Common practice, no source.
NARROWEST_M = 1e-4


class Tank(Record):
    """One tank: its cavity's mesh, where that lies in the aircraft, and what is fixed inside.

    body picks one of several in the mesh file; tolerance_m is how far facets may lie off a true solid. Fuel is not counted
    on to pass through gaps narrower than narrowest_passage_m. in_cabin: it stands in the cabin, where it could strike people.
    measured_unusable is what a drain test left in it, at the worst flight attitude.
    bears_pa and bears_suction_pa are how far the pressure in it may stand above and below the air's outside.
    """

    name: Name = Field(min_length=1, pattern=r"^[^.\s][^.]*$")
    mirror_of: str | None = Field(default=None, min_length=1)
    mesh: str = Field(min_length=1)
    unit: MeshUnit
    body: str | None = Field(default=None, min_length=1)
    tolerance_m: Gap | None = None
    axes: str
    position_m: Point
    wall_m: Layer = 0.0
    coating_m: Layer = 0.0
    unmodelled: Unmodelled = 0.0
    narrowest_passage_m: Layer = NARROWEST_M
    flow_share: Share = 1.0
    in_cabin: StrictBool | None = None
    bears_pa: Pressure | None = None
    bears_suction_pa: Pressure | None = None
    inside: tuple[Inside, ...] = ()
    outlet: tuple[Outlet, ...] = ()
    vent: tuple[Vent, ...] = ()
    filler: Filler | None = None
    drain: tuple[Drain, ...] = ()
    return_to: tuple[Return, ...] = ()
    inlet: tuple[Inlet, ...] = ()
    switch: tuple[Switch, ...] = ()
    dipstick: Dipstick | None = None
    measured: Measured | None = None
    measured_unusable_m3: Volume | None = None
    gauge: tuple[AnyGauge, ...] = ()

    @property
    def fittings(self) -> dict[str, tuple[Fitting, ...]]:
        """What is fixed in it at one place, by kind: the one list of the kinds, in the words of the design file."""
        return {
            "outlet": self.outlet,
            "vent": self.vent,
            "filler": (self.filler,) if self.filler else (),
            "drain": self.drain,
            "return": self.return_to,
            "inlet": self.inlet,
        }

    @property
    def ports(self) -> tuple[Port, ...]:
        """All places where something enters or leaves."""
        return tuple(one for some in self.fittings.values() for one in some if isinstance(one, Port))


class Line(Record):
    """A pipe or hose between two ends ("tank.port" or a component's name), its bends between them in aircraft axes.

    bend_radius is that of the bends' middle line; without it they count as mitred.
    """

    name: Name = Field(min_length=1)
    kind: LineKind
    from_port: str
    to_port: str
    bore_m: Bore
    path_m: tuple[Point, ...] = ()
    drains_m: tuple[Point, ...] = ()
    bend_radius_m: Gap | None = None


class Segment(Record):
    """A part of a flight at one attitude and one flow; without a duration it lasts until the engine gets air.

    selectors says where each selector stands (a tank's name, "both" or "off"), shut which valves are shut, pumps which run
    (all whose curve is stated, where it is left out), returns_to the tank that gets what the engine sends back, where its lines
    lead to several. loaded is what is in the tanks when the first segment begins; a tank that it leaves out is full.
    """

    name: Name = Field(min_length=1)
    attitude: str
    flow: str
    duration_s: Duration | None = None
    selectors: dict[str, str] = Field(default_factory=dict)
    shut: tuple[str, ...] = ()
    pumps: tuple[str, ...] | None = None
    returns_to: str | None = None
    loaded_m3: dict[str, Volume] = Field(default_factory=dict)


class Load(Record):
    """The aircraft as it is flown but without any fuel: what it weighs, and where its centre lies aft of the datum.

    The limits are those of the aircraft's centre, aft of the datum, most_mass is what it may weigh with fuel.
    """

    name: Name = Field(min_length=1)
    mass_kg: Weight
    centre_m: Length
    forward_limit_m: Length | None = None
    aft_limit_m: Length | None = None
    most_mass_kg: Weight | None = None


class Design(Record):
    """A whole design file."""

    show: Show = Show()
    aircraft: Aircraft
    fuel: Fuel
    flows_m3_s: dict[str, Flow] = Field(min_length=1)
    attitude: tuple[AttitudeEntry, ...] = Field(min_length=1)
    tank: tuple[Tank, ...] = Field(min_length=1)
    component: tuple[AnyComponent, ...] = ()
    line: tuple[Line, ...] = ()
    flight: tuple[Segment, ...] = ()
    load: tuple[Load, ...] = ()

    @property
    def reserve_flow_m3_s(self) -> float:
        """The flow that reserve minutes are counted with."""
        return self.flows_m3_s[self.fuel.reserve_phase]

    @property
    def envelope(self) -> tuple[Attitude, ...]:
        """All named attitudes, in the file's order."""
        return tuple(entry.attitude for entry in self.attitude)

    def normal(self, phase: Literal["ground", "flight"]) -> Attitude:
        """The normal attitude on the ground or in flight; the door has made sure that there is one of each."""
        return next(a for a in self.envelope if a.normal and a.phase == phase)
