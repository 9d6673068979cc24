"""Mass and centre of gravity of fuel against its quantity; all SI."""

from __future__ import annotations

from dataclasses import dataclass

from fuelsys.arrays import Floats
from fuelsys.model.found.fly import Flown
from fuelsys.model.stated.attitude import Attitude
from fuelsys.model.stated.design import Load


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


@dataclass(frozen=True)
class Loaded:
    """The aircraft with a load as its fuel is burnt: what is in all tanks (n,), its mass (n,) and its centre aft of the datum (n,).

    From the first moment of a flight to the last, one flight after the other, then without any fuel. forward and aft are by how much the
    centre lies inside its limits at the least, below zero outside; None where no limit is stated. Each with the number of that moment.
    """

    load: Load
    held_m3: Floats
    mass_kg: Floats
    centre_m: Floats
    forward: tuple[float | None, int]
    aft: tuple[float | None, int]

    @property
    def most_kg(self) -> float:
        """What it weighs at most."""
        return float(self.mass_kg.max())

    @property
    def over_kg(self) -> float | None:
        """By how much it is heavier than it may be, below zero where it is not; None where nothing is stated."""
        return None if self.load.most_mass_kg is None else self.most_kg - self.load.most_mass_kg

    @property
    def outside(self) -> bool:
        """Whether a limit that is stated is passed at any moment."""
        return min(self.forward[0] or 0.0, self.aft[0] or 0.0, -(self.over_kg or 0.0)) < 0.0

    @property
    def needs(self) -> str:
        """What is not stated, of the limits."""
        stated = {
            "forward_limit": self.load.forward_limit_m,
            "aft_limit": self.load.aft_limit_m,
            "most_mass": self.load.most_mass_kg,
        }
        return ", ".join(name for name, value in stated.items() if value is None)


@dataclass(frozen=True)
class Weighed:
    """The aircraft with each stated load; needs says what is not known of its fuel; loads is empty where no flight can be flown."""

    loads: tuple[Loaded, ...] = ()
    needs: str = ""
