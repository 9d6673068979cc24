"""The study: a layout plus everything computed from it; the only thing that rules and reports read. All SI.

Every volume holds at the attitude beside it. None means that the design does not say what is needed for it.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import cached_property

from fuelsys.arrays import Floats
from fuelsys.model.built.cavity import Barrier, Overlap
from fuelsys.model.built.layout import FittedTank, Layout
from fuelsys.model.found.breathing import Breathing, Overfill
from fuelsys.model.found.flowing import Flows
from fuelsys.model.found.gauging import GaugeStudy
from fuelsys.model.found.heat import Heated
from fuelsys.model.found.outflow import Outflow
from fuelsys.model.found.phases import AtPhase
from fuelsys.model.found.plumbing import Plumbing
from fuelsys.model.found.spilling import InFlight
from fuelsys.model.stated.attitude import Attitude


@dataclass(frozen=True)
class Pocket:
    """Fuel that is cut off from the outlets: its quantity, its lowest point in body axes from the datum.

    sump_drain is the drain valve under its surface where that is the sump's, which parked reaches the tank's lowest point.
    """

    volume_m3: float
    lowest_m: Floats
    level_m: float
    sump_drain: str = ""


LEAST_OVER_M = 5e-5  # a line that holds fuel back by less is not told of: half of the last digit shown
LEAST_DIFFERENCE_M3 = 1e-6  # a narrow gap that makes less of a difference is not warned of: 1 mL


@dataclass(frozen=True)
class Held:
    """Unusable fuel at an attitude that is held for a time only, turned into from the worst of those that are held for ever.

    With from_m3 or more in the tank the outlet's pool outlasts the time at the flow drawn; None where not even a full tank
    does. unusable_m3 is the most that is in the tank when the engine gets air.
    """

    lasting_s: float
    drawn_m3_s: float
    from_m3: float | None
    unusable_m3: float


@dataclass(frozen=True)
class UnusableAt:
    """What stays behind at one attitude after draining from full; lowest_m is the lowest point of the outlets' pools.

    held is what counts instead where the attitude is held for a time only.

    over_m is how far a feed line without a pump holds the surface above its outlet, at most: its highest point; starved_m how
    much further it must stand to drive the flow, by_flow_m3 what of the residual is due to that.
    """

    attitude: Attitude
    residual_m3: float
    trapped_m3: float
    pockets: tuple[Pocket, ...]
    centre_m: Floats | None
    lowest_m: Floats | None = None
    over_m: float = 0.0
    starved_m: float = 0.0
    by_flow_m3: float = 0.0
    held: Held | None = None

    @property
    def sustained_m3(self) -> float:
        """Residual and trapped fuel together: what is unusable if the attitude is held for ever."""
        return self.residual_m3 + self.trapped_m3

    @property
    def unusable_m3(self) -> float:
        """What counts: for the time that the attitude is held, where one is stated, else for ever."""
        return self.sustained_m3 if self.held is None else self.held.unusable_m3


@dataclass(frozen=True)
class SumpAt:
    """What stays below the outlets at one attitude in pools that a drain valve draws from; below_m3 is all that stays there."""

    attitude: Attitude
    volume_m3: float
    below_m3: float


@dataclass(frozen=True)
class Unusable:
    """Unusable fuel of one tank: each attitude of the envelope, and the worst one in flight.

    opened is the same with the gaps open that are too narrow to count on; None without such gaps, and where it cannot be
    computed since walls pass through each other there. uncovered_m3 is the worst without the covers that were assumed; None
    where none was. least_m3 is what was measured, or drawn before a fill test found the tank smaller: less does not count.
    """

    at: tuple[UnusableAt, ...]
    worst: UnusableAt
    opened: Unusable | None = None
    uncovered_m3: float | None = None
    least_m3: float = 0.0

    @property
    def volume_m3(self) -> float:
        """Unusable fuel: at the worst flight attitude of the envelope, or what a test says where that is more."""
        return max(self.worst.unusable_m3, self.least_m3)

    @property
    def held(self) -> bool:
        """Is there an attitude that counts for the time that it is held?"""
        return any(at.held for at in self.at)

    @property
    def sustained(self) -> UnusableAt:
        """The worst flight attitude if each is held for ever."""
        return max((at for at in self.at if at.attitude.phase == "flight"), key=lambda at: at.sustained_m3)

    @property
    def gaps_matter(self) -> bool:
        """Does it make a difference at some attitude whether narrow gaps are open?"""
        if self.opened is None:
            return False
        pairs = zip(self.at, self.opened.at, strict=True)
        return any(closed.unusable_m3 - opened.unusable_m3 > LEAST_DIFFERENCE_M3 for closed, opened in pairs)


@dataclass(frozen=True)
class Filled:
    """A tank filled at a ground attitude until fuel would run out of an opening (limited_by)."""

    attitude: Attitude
    volume_m3: float
    level_m: float
    trapped_air_m3: float
    limited_by: str
    centre_m: Floats | None


@dataclass(frozen=True)
class Capacity:
    """Volumes of one tank as 14 CFR 23 (before amendment 23-64) uses the words; filled and unusable may be unknown.

    room_m3 is the part of the expansion space that fuel can grow into before the last vent drowns or fuel runs out of one.
    """

    gross_m3: float
    gross_centre_m: Floats
    filled: Filled | None
    unusable: Unusable | None
    usable_centre_m: Floats | None
    room_m3: float | None = None

    @property
    def expansion_m3(self) -> float | None:
        """Space above the fuel that is left when the tank is filled at the normal ground attitude."""
        return None if self.filled is None else self.gross_m3 - self.filled.volume_m3

    @property
    def usable_m3(self) -> float | None:
        """Fillable less unusable fuel."""
        if self.filled is None or self.unusable is None:
            return None
        return max(0.0, self.filled.volume_m3 - self.unusable.volume_m3)


@dataclass(frozen=True)
class Warming:
    """A tank filled cold to the brim and soaked warm: how much its fuel grows, and the room until it runs out of a vent.

    rise_k is the warming that uses up the room; None where the volume correction does not reach so far.
    """

    filled_at_k: float
    soaked_to_k: float
    filled_m3: float
    growth_share: float
    room_m3: float
    rise_k: float | None

    @property
    def growth_m3(self) -> float:
        """Growth of what was filled."""
        return self.filled_m3 * self.growth_share


@dataclass(frozen=True)
class LevelRow:
    """One row of a volume table: level above the cavity's lowest point at the attitude."""

    level_m: float
    volume_m3: float
    area_m2: float


@dataclass(frozen=True)
class LevelTable:
    """Volume against level at one attitude; common_from_m is the level above which all pools are one."""

    attitude: Attitude
    rows: tuple[LevelRow, ...]
    common_from_m: float


def left_text(minutes: float) -> str:
    """Reserve minutes in words: below zero, how long after the last usable fuel a switch trips.

    >>> left_text(9.06), left_text(-206.6), left_text(-0.01)
    ('9.1 min', 'none left (206.6 min late)', '0.0 min')
    """
    rounded = round(minutes, 1) + 0.0
    return f"{rounded:.1f} min" if rounded >= 0.0 else f"none left ({-rounded:.1f} min late)"


@dataclass(frozen=True)
class TripAt:
    """A switch at one attitude: quantities in the tank when it trips and resets, None where it never does.

    latest_m3 is the trip with the mark low by its tolerance and all other pools drained: the least fuel.
    unusable_m3 is what stays behind at this attitude itself, not at the worst one.
    why_never says in a few words why the surface does not pass the mark there.
    """

    attitude: Attitude
    trip_m3: float | None
    latest_m3: float | None
    reset_m3: float | None
    unusable_m3: float
    why_never: str = ""


@dataclass(frozen=True)
class SwitchStudy:
    """A low-level switch over the envelope; worst is the flight attitude with the least fuel at its trip.

    unusable_m3 is that of the worst flight attitude of the envelope. rise_m is how much higher the mark must sit to leave
    the target at every flight attitude, its tolerance included; None where it already does, or no height on its line does.
    steady_m is the point of the mesh at which a mark for the target feels the attitude least; None without a target, or
    where that point lies outside the cavity.
    opened is the same with narrow gaps open, where that makes a difference. outflow is what the reserve phase takes out of the
    tank, at_full what maximum continuous power does.
    sustained_m3 is what is unusable if all attitudes are held for ever, None where they are.
    """

    name: str
    tank: str
    target_s: float | None
    tolerance_m: float | None
    at: tuple[TripAt, ...]
    unusable_m3: float
    outflow: Outflow
    rise_m: float | None = None
    steady_m: Floats | None = None
    opened: SwitchStudy | None = None
    at_full: Outflow | None = None
    sustained_m3: float | None = None

    @property
    def forever_minutes(self) -> float | None:
        """The least minutes at the worst trip if each attitude is held for ever; None where each is, and where not known."""
        if self.sustained_m3 is None or self.worst is None or self.worst.latest_m3 is None:
            return None
        least_s = self.outflow.least_s(self.worst.latest_m3 - self.sustained_m3)
        return None if least_s is None else least_s / 60.0

    @property
    def flow_m3_s(self) -> float:
        """The tank's share of what is burnt."""
        return self.outflow.share_m3_s

    def alone_minutes(self, quantity_m3: float | None) -> float | None:
        """Minutes where all that is burnt comes from this tank; what is returned elsewhere is not counted."""
        if quantity_m3 is None:
            return None
        usable_m3 = quantity_m3 - self.unusable_m3
        return min(usable_m3 / self.outflow.alone_m3_s, usable_m3 / self.outflow.share_m3_s) / 60.0

    def least_minutes(self, quantity_m3: float | None) -> float | None:
        """Minutes in the worst state: alone, with what is returned elsewhere; None where it never trips or that is unknown."""
        least_s = None if quantity_m3 is None else self.outflow.least_s(quantity_m3 - self.unusable_m3)
        return None if least_s is None else least_s / 60.0

    def minutes(self, quantity_m3: float | None) -> float | None:
        """Reserve minutes in the usual state: 60 times the usable quantity over the tank's share of the flow per hour.

        Below zero nothing usable is left: the last of it was gone so many minutes before.
        """
        return None if quantity_m3 is None else (quantity_m3 - self.unusable_m3) / self.flow_m3_s / 60.0

    def minutes_here(self, at: TripAt) -> float | None:
        """Minutes at the latest trip above what stays behind at that attitude itself, as long as it is held."""
        return None if at.latest_m3 is None else (at.latest_m3 - at.unusable_m3) / self.flow_m3_s / 60.0

    @property
    def normal(self) -> TripAt:
        """The trip at the normal flight attitude."""
        return next(at for at in self.at if at.attitude.normal and at.attitude.phase == "flight")

    @property
    def never(self) -> tuple[TripAt, ...]:
        """The flight attitudes at which it never trips."""
        return tuple(at for at in self.at if at.attitude.phase == "flight" and at.trip_m3 is None)

    @property
    def worst(self) -> TripAt | None:
        """The latest trip in flight; None where it never trips at some flight attitude."""
        flight = [at for at in self.at if at.attitude.phase == "flight"]
        return None if self.never else min(flight, key=lambda at: at.latest_m3 or 0.0)


@dataclass(frozen=True)
class PlacementAt:
    """What a placed mark gives at one attitude: the least quantity and minutes when it trips there."""

    attitude: Attitude
    mark_height_m: float
    trip_m3: float
    minutes: float


@dataclass(frozen=True)
class Placement:
    """A mark's place in mesh axes for a target, at the normal flight attitude or over the envelope; clearance_m to a wall."""

    tank: str
    mark_m: Floats
    guaranteed: bool
    target_s: float
    target_m3: float
    at: tuple[PlacementAt, ...]
    steady_m: Floats
    clearance_m: float
    outflow: Outflow


@dataclass(frozen=True)
class Graduation:
    """One mark of a dipstick: the quantity it stands for, the distance from the stick's zero end, and the quantities
    that are really in the tank when it is read there on ground that slopes by the stated angle: (least, most)."""

    volume_m3: float
    along_m: float
    sloped_m3: tuple[float, float]
    pools_apart: bool


@dataclass(frozen=True)
class DipstickStudy:
    """A dipstick at the normal ground attitude; below_m3 is what the tank holds when the stick's bottom is just dry.

    as_stated is false where the stated step is not round in the unit that the stick is graduated in, and another was taken.
    off_filler_m is how far its line passes from the middle of the filler's lip, None without a filler; barriers are what
    it meets between the lip (its top, without a filler) and its bottom, the uppermost first.
    unusable_m3 is that of the worst flight attitude, None where it is not known (it needs an outlet); empty_m is where its
    surface stands on the stick, from the zero end: no usable fuel; None where that lies beyond the stick. by_test:
    a fill test gave the marks.
    """

    attitude: Attitude
    slope_rad: float
    zero: str
    below_m3: float
    top_m3: float
    marks: tuple[Graduation, ...]
    as_stated: bool = True
    off_filler_m: float | None = None
    barriers: tuple[Barrier, ...] = ()
    unusable_m3: float | None = None
    empty_m: float | None = None
    by_test: bool = False

    def usable_m3(self, total_m3: float) -> float | None:
        """What can be used of a quantity in the tank."""
        return None if self.unusable_m3 is None else max(0.0, total_m3 - self.unusable_m3)


@dataclass(frozen=True)
class TankProof:
    """The pressure that a tank's test must reach, and what asks for it."""

    pressure_pa: float
    asked_by: str


@dataclass(frozen=True)
class TankForce:
    """What the fuel of a full tank presses with, on its mounts and on its wall, under one factor of 14 CFR 23.561.

    in_cabin: the factor is that for things in the cabin which could strike people.
    """

    toward: str
    factor: float
    force_n: float
    pressure_pa: float
    in_cabin: bool


@dataclass(frozen=True)
class TankStudy:
    """All that was computed for one tank; combine, trip, phase and gauge compute what few commands ask for."""

    tank: FittedTank
    capacity: Capacity
    switches: tuple[SwitchStudy, ...]
    dipstick: DipstickStudy | None
    drain_left: tuple[UnusableAt, ...]
    filled: tuple[Filled, ...]
    drain_left_on_slope: UnusableAt | None = None
    sumps: tuple[SumpAt, ...] = ()
    warming: Warming | None = None
    proof: TankProof | None = None
    forces: tuple[TankForce, ...] = ()
    combine: Callable[[], UnusableAt | None] = lambda: None
    trip: Callable[[], tuple[TripAt, ...]] = tuple
    phase: Callable[[], tuple[AtPhase, ...]] = tuple
    gauge: Callable[[], tuple[GaugeStudy, ...]] = tuple

    @property
    def name(self) -> str:
        """The tank's name."""
        return self.tank.name

    @cached_property
    def gauges(self) -> tuple[GaugeStudy, ...]:
        """Its gauges; computed where they are asked for."""
        return self.gauge()

    @cached_property
    def combined(self) -> UnusableAt | None:
        """The worst where tilts of several flight attitudes come together."""
        return self.combine()

    @cached_property
    def combined_trips(self) -> tuple[TripAt, ...]:
        """Of each switch its latest trip where tilts of several flight attitudes come together, or that it never trips."""
        return self.trip()

    @cached_property
    def by_phase(self) -> tuple[AtPhase, ...]:
        """Unusable fuel at each stated flow, with each pump running alone and by gravity."""
        return self.phase()


@dataclass(frozen=True)
class Study:
    """The layout, what was computed for each tank, and what was computed from the lines (of all tanks together).

    carry, fly, breathe, overfill and heat compute what few commands ask for.
    """

    layout: Layout
    tanks: tuple[TankStudy, ...]
    plumbing: Plumbing
    flow_to_show_m3_s: float | None = None
    overlaps: tuple[Overlap, ...] = ()
    carry: Callable[[], Flows] = Flows
    fly: Callable[[], InFlight] = InFlight
    breathe: Callable[[], Breathing] = Breathing
    overfill: Callable[[], tuple[Overfill, ...]] = tuple
    heat: Callable[[], tuple[Heated, ...]] = tuple

    @cached_property
    def flows(self) -> Flows:
        """What the feed lines carry; computed where it is asked for."""
        return self.carry()

    @cached_property
    def in_flight(self) -> InFlight:
        """The full tanks in flight; computed where it is asked for."""
        return self.fly()

    @cached_property
    def breathing(self) -> Breathing:
        """The air through the vents; computed where it is asked for."""
        return self.breathe()

    @cached_property
    def overfills(self) -> tuple[Overfill, ...]:
        """What goes on coming into full tanks; computed where it is asked for."""
        return self.overfill()

    @cached_property
    def heated(self) -> tuple[Heated, ...]:
        """Tanks that returned fuel warms; computed where it is asked for."""
        return self.heat()

    def tank(self, name: str) -> TankStudy:
        """A tank's study by name."""
        return next(study for study in self.tanks if study.name == name)
