"""Full tanks in flight as they were computed: how deep vents and fillers stand under fuel, and what runs out; all SI."""

from __future__ import annotations

from dataclasses import dataclass

from fuelsys.model.built.joining import Joined
from fuelsys.model.found.plumbing import Overflow, Settled
from fuelsys.model.stated.attitude import STANDARD_GRAVITY_M_S2, Attitude

TRIFLE_PA = 60.0  # of fuel over a vent: rules/severity.py says why
LEAST_UPRIGHT = 0.1  # of the aircraft's own up that counts: beyond 84° of tilt height does not help


@dataclass(frozen=True)
class Spilled:
    """Full tanks held at an attitude until their fuel is at rest, and what runs out over their vent lines until it stops.

    siphoned_m3 is what runs out where the lines that run over go on as siphons until their openings in the tank come free
    or their outer ends stand as high as the fuel.
    """

    settled: Settled
    lost_m3: float = 0.0
    siphoned_m3: float = 0.0

    @property
    def attitude(self) -> Attitude:
        """Where it is held."""
        return self.settled.attitude

    @property
    def over(self) -> tuple[Overflow, ...]:
        """The vents whose lines run over."""
        return tuple(vent for vent in self.settled.vents if vent.above_m > 0.0)


@dataclass(frozen=True)
class GroupInFlight:
    """Tanks that share a level, full, at each flight attitude and each combination of them; none where filling is unknown."""

    joined: Joined
    at: tuple[Spilled, ...]

    @property
    def vents(self) -> tuple[str, ...]:
        """The vents that lead overboard."""
        return tuple(vent.opening for vent in self.at[0].settled.vents) if self.at else ()

    @property
    def most(self) -> Spilled:
        """Where the most runs out; where none does, the fuel stands highest against a vent's line, or first in the list."""
        return max(self.at, key=lambda one: (one.lost_m3, max((v.above_m for v in one.settled.vents), default=0.0)))

    def highest(self, opening: str) -> float:
        """How far the fuel stands above the highest point of a vent's line, or a filler's lip, at most."""
        found = [(*one.settled.vents, *one.settled.fillers) for one in self.at]
        return max(over.above_m for several in found for over in several if over.opening == opening)

    def rise_m(self, vent: str) -> float:
        """How much higher, upright in the aircraft, the highest point of a vent's line must lie to hold all fuel back."""
        found = [(over, one.attitude) for one in self.at for over in one.settled.vents if over.opening == vent]
        return max(over.above_m / max(float(attitude.up[2]), LEAST_UPRIGHT) for over, attitude in found)


@dataclass(frozen=True)
class Drowned:
    """A full tank at the attitude at which the least drowned of its vents stands deepest, with none that breathes.

    vents are all of its openings to vent lines over which fuel stands. taken_m3 is what its outlets, with those of the tanks
    that it is joined to, must have taken until the first comes free; None where none does. stated are the attitudes of the
    envelope at which none breathes.
    """

    attitude: Attitude
    joined: Joined
    vents: tuple[Overflow, ...]
    taken_m3: float | None
    stated: tuple[Attitude, ...] = ()

    @property
    def first(self) -> Overflow:
        """The opening that stands least deep."""
        return min(self.vents, key=lambda vent: vent.above_m)

    def slight(self, density_kg_m3: float) -> bool:
        """Whether its vent is so little under fuel that it soon stands in air; one that leads to a tank whose vents are under fuel
        is not."""
        return self.taken_m3 is not None and 0.0 <= self.first.above_m <= trifle_m(density_kg_m3)

    def rank(self, density_kg_m3: float) -> tuple[bool, float]:
        """Sorts what is slight first, then by depth."""
        return not self.slight(density_kg_m3), self.first.above_m


def trifle_m(density_kg_m3: float) -> float:
    """How deep a vent may stand under fuel and be a trifle.

    >>> round(trifle_m(720.0) * 1e3, 1)
    8.5
    """
    return TRIFLE_PA / density_kg_m3 / STANDARD_GRAVITY_M_S2


@dataclass(frozen=True)
class TankInFlight:
    """The vents of one full tank in flight.

    clear_m is how far the highest opening of those that breathe stands above the fuel, at the attitude (clear_at) where
    that is least. under are its openings that fuel comes to stand over, each by the most. drowned is the worst where none
    breathes; None where one always does; setting is what is shut in the vent lines then. maybe is the same where it hangs on a
    selector that the design says too little of.
    """

    tank: str
    clear_m: float
    clear_at: Attitude
    drowned: Drowned | None
    maybe: Drowned | None = None
    under: tuple[Overflow, ...] = ()
    setting: str = ""


@dataclass(frozen=True)
class InFlight:
    """All full tanks in flight: as the lines alone join them, and as valves and selectors can join them besides.

    unsettled: what stands in the vent lines has too many settings, and vents were looked at with all open alone.
    """

    groups: tuple[GroupInFlight, ...] = ()
    tanks: tuple[TankInFlight, ...] = ()
    unsettled: bool = False

    def alone(self, tank: str) -> GroupInFlight | None:
        """A tank that lines alone do not join to others; None for any other."""
        return next((one for one in self.groups if one.joined.tanks == (tank,)), None)

    @property
    def together(self) -> tuple[GroupInFlight, ...]:
        """The groups of several tanks."""
        return tuple(one for one in self.groups if len(one.joined.tanks) > 1)
