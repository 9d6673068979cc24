"""The study: a layout plus everything computed from it; the only thing that rules and reports read. All SI.

Every volume holds at the attitude beside it. None means that the design does not say what is needed for it.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import cached_property

from fuelsys.model.built.cavity import Overlap
from fuelsys.model.built.layout import FittedTank, Layout
from fuelsys.model.found.balance import Weighed
from fuelsys.model.found.breathing import Breathing, Overfill
from fuelsys.model.found.capacity import Capacity, Filled, Warming
from fuelsys.model.found.dipstick import DipstickStudy
from fuelsys.model.found.exchange import Exchange
from fuelsys.model.found.flow import Flows
from fuelsys.model.found.fly import Failures
from fuelsys.model.found.gauge import GaugeStudy
from fuelsys.model.found.heat import Heated
from fuelsys.model.found.loads import TankForce, TankProof
from fuelsys.model.found.phases import AtPhase
from fuelsys.model.found.plumbing import Plumbing
from fuelsys.model.found.spilling import InFlight
from fuelsys.model.found.switches import SwitchStudy, TripAt
from fuelsys.model.found.unusable import SumpAt, UnusableAt


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
    other_face: DipstickStudy | None = None
    gauge: Callable[[], tuple[GaugeStudy, ...]] = tuple

    @property
    def name(self) -> str:
        """The tank's name."""
        return self.tank.name

    @property
    def faces(self) -> tuple[DipstickStudy, ...]:
        """The faces of its dipstick: none, one or two."""
        return tuple(one for one in (self.dipstick, self.other_face) if one is not None)

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

    carry, fly, breathe, overfill, heat, join, weigh and fail compute what few commands ask for; fail gives None where failures are not
    flown.
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
    join: Callable[[], Exchange] = Exchange
    weigh: Callable[[], Weighed] = Weighed
    fail: Callable[[], Failures | None] = lambda: None

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

    @cached_property
    def exchange(self) -> Exchange:
        """What runs between joined tanks in flight; computed where it is asked for."""
        return self.join()

    @cached_property
    def weighed(self) -> Weighed:
        """The aircraft with each stated load as its fuel is burnt; computed where it is asked for."""
        return self.weigh()

    @cached_property
    def failures(self) -> Failures | None:
        """The design flown with each single thing wrong and with two by one cause, where that was asked for; computed then."""
        return self.fail()

    def tank(self, name: str) -> TankStudy:
        """A tank's study by name."""
        return next(study for study in self.tanks if study.name == name)
