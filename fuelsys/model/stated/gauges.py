"""What senses a tank's quantity, as its builder states it: a straight probe, a float on an arm, a row of reed switches."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field

from fuelsys.model.stated.records import Point, Record, Steps


class Gauge(Record):
    """A gauge in a tank; all places are in the axes of the tank's mesh."""

    name: str = Field(min_length=1)


class Probe(Gauge):
    """A straight probe, capacitive or resistive: its signal is the share of its length that is wet."""

    kind: Literal["probe"]
    bottom_m: Point
    top_m: Point


class Arm(Gauge):
    """A float on an arm: the arm turns about its pivot in the plane of three points.

    empty and full are where the point of the float that swims in the surface stands with the arm at its lower and its upper
    stop. The signal is the arm's share of the angle between the two.
    """

    kind: Literal["arm"]
    pivot_m: Point
    empty_m: Point
    full_m: Point


class Reeds(Gauge):
    """A row of reed switches that a float on a stem passes: the first at bottom, the last at top, evenly apart.

    The signal is the number of those that the surface stands at or above.
    """

    kind: Literal["reeds"]
    bottom_m: Point
    top_m: Point
    steps: Steps


AnyGauge = Annotated[Probe | Arm | Reeds, Field(discriminator="kind")]
