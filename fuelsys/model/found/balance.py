"""Mass and centre of gravity of fuel against its quantity; all SI."""

from __future__ import annotations

from dataclasses import dataclass

from fuelsys.arrays import Floats
from fuelsys.model.found.fly import Flown
from fuelsys.model.stated.attitude import Attitude


@dataclass(frozen=True)
class Balanced:
    """Fuel at one moment: what is in each tank (n,), its centre in body axes from the datum (3,); None where there is none."""

    held_m3: Floats
    centre_m: Floats | None


@dataclass(frozen=True)
class TankBalance:
    """A tank from full to empty at an attitude, in equal steps: with one quantity to each row."""

    tank: str
    attitude: Attitude
    rows: tuple[Balanced, ...]


@dataclass(frozen=True)
class Path:
    """All tanks as a flight empties them; flown says in which order, and at which attitudes its parts stand.

    forward and aft are where the centre lies furthest so at any moment of it, sideways where the fuel's moment about the middle plane
    is greatest, between the rows too; None without any fuel. course is every moment of the flight.
    """

    tanks: tuple[str, ...]
    flown: Flown
    rows: tuple[Balanced, ...]
    forward: Balanced | None = None
    aft: Balanced | None = None
    sideways: Balanced | None = None
    course: tuple[Balanced, ...] = ()
