"""What stands in the lines, as its builder states it: one class a kind."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field, StrictBool

from fuelsys.model.stated.fittings import Name
from fuelsys.model.stated.records import AnyFlow, Flow, Point, Power, Pressure, PumpCurve, Record, Volume


class Component(Record):
    """Something that lines join outside the tanks, placed in the aircraft's axes; each kind has fields of its own."""

    name: Name = Field(min_length=1, pattern=r"^[^.\s][^.]*$")
    position_m: Point


class Inline(Component):
    """A component that fuel or air passes; water may be drained from it. drop is the pressure that it takes at a flow, drop_at."""

    drain: StrictBool | None = None
    drop_pa: Pressure | None = None
    drop_at_m3_s: Flow | None = None


class ShutOff(Inline):
    """What can stop the fuel: a valve or a selector."""

    engine_side: StrictBool | None = None


class Valve(ShutOff):
    """A shut-off valve."""

    kind: Literal["valve"]


class Selector(ShutOff):
    """A valve that chooses between tanks; both says whether it has a position in which several feed together."""

    kind: Literal["selector"]
    switches_return: StrictBool | None = None
    both: StrictBool | None = None


class Filter(Inline):
    """A filter, with the volume of its bowl."""

    kind: Literal["filter"]
    sediment_m3: Volume | None = None


class Pump(Inline):
    """A pump; curve is what it delivers: flows, each with the pressure that it adds.

    driven says by what, keeps_air_out whether something keeps the air of a tank that runs dry out of it, stops_when_full
    whether something stops it, or shuts its line, when the tank that it fills is full.
    """

    kind: Literal["pump"]
    driven: Literal["engine", "electric", "hand"] | None = None
    keeps_air_out: StrictBool | None = None
    stops_when_full: StrictBool | None = None
    curve: PumpCurve | None = None


class Tee(Inline):
    """A joint of lines."""

    kind: Literal["tee"]


class CheckValve(Inline):
    """What lets fuel pass from its line's `from` to the next one's `to` only."""

    kind: Literal["check valve"]


class Engine(Component):
    """The engine: the heat that it gives to the fuel that it sends back, how much that is, and the pressure (above the air's)
    that it needs where fuel enters it, the most that it may get there, and the most where it sends fuel back. measured_flow is what a
    flow test brought to it."""

    kind: Literal["engine"]
    inlet_pressure_pa: Pressure | None = None
    most_inlet_pressure_pa: Pressure | None = None
    most_return_pressure_pa: Pressure | None = None
    heat_w: Power | None = None
    return_flow_m3_s: AnyFlow | None = None
    measured_flow_m3_s: Flow | None = None


class Overboard(Component):
    """An end outside the aircraft; kept_clear says what keeps ice, rain and insects from blocking it."""

    kind: Literal["overboard"]
    discharges_clear: StrictBool | None = None
    kept_clear: Literal["heated", "shielded"] | None = None


AnyComponent = Annotated[
    Selector | Valve | CheckValve | Filter | Pump | Engine | Tee | Overboard, Field(discriminator="kind")
]
