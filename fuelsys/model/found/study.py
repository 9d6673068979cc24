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
    """A tank and what computes each thing that is asked of it: none is computed before it is read, and each once."""

    tank: FittedTank
    hold: Callable[[], Capacity]
    switch: Callable[[], tuple[SwitchStudy, ...]]
    graduate: Callable[[], tuple[DipstickStudy, ...]]
    drain: Callable[[], tuple[UnusableAt, ...]]
    fill: Callable[[], tuple[Filled, ...]]
    drain_on_slope: Callable[[], UnusableAt | None] = lambda: None
    gather: Callable[[], tuple[SumpAt, ...]] = tuple
    warm: Callable[[], Warming | None] = lambda: None
    prove: Callable[[], TankProof | None] = lambda: None
    press: Callable[[], tuple[TankForce, ...]] = tuple
    combine: Callable[[], UnusableAt | None] = lambda: None
    trip: Callable[[], tuple[TripAt, ...]] = tuple
    phase: Callable[[], tuple[AtPhase, ...]] = tuple
    gauge: Callable[[], tuple[GaugeStudy, ...]] = tuple

    @property
    def name(self) -> str:
        """The tank's name."""
        return self.tank.name

    @cached_property
    def capacity(self) -> Capacity:
        """What it holds."""
        return self.hold()

    @cached_property
    def switches(self) -> tuple[SwitchStudy, ...]:
        """Its low-level switches; none where the unusable fuel is unknown."""
        return self.switch()

    @cached_property
    def faces(self) -> tuple[DipstickStudy, ...]:
        """The faces of its dipstick: none, one or two."""
        return self.graduate()

    @property
    def dipstick(self) -> DipstickStudy | None:
        """The face for the normal attitude on the ground."""
        return self.faces[0] if self.faces else None

    @property
    def other_face(self) -> DipstickStudy | None:
        """The face for another attitude."""
        return self.faces[1] if len(self.faces) > 1 else None

    @cached_property
    def drain_left(self) -> tuple[UnusableAt, ...]:
        """What its drains leave at each attitude."""
        return self.drain()

    @cached_property
    def filled(self) -> tuple[Filled, ...]:
        """It filled at each attitude on the ground."""
        return self.fill()

    @cached_property
    def drain_left_on_slope(self) -> UnusableAt | None:
        """What its drains leave on the worst slope of 1 %."""
        return self.drain_on_slope()

    @cached_property
    def sumps(self) -> tuple[SumpAt, ...]:
        """Its sump, parked and in normal flight."""
        return self.gather()

    @cached_property
    def warming(self) -> Warming | None:
        """Filled cold to the brim, then warmed."""
        return self.warm()

    @cached_property
    def proof(self) -> TankProof | None:
        """The pressure that it must be tested with."""
        return self.prove()

    @cached_property
    def forces(self) -> tuple[TankForce, ...]:
        """What its fuel presses with in an emergency landing."""
        return self.press()

    @cached_property
    def gauges(self) -> tuple[GaugeStudy, ...]:
        """Its gauges."""
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
    """The layout, its tanks' studies, and what computes each thing that is asked of the lines (of all tanks together) once it is read.

    fail gives None where failures are not flown.
    """

    layout: Layout
    tanks: tuple[TankStudy, ...]
    lead: Callable[[], Plumbing]
    flow_to_show_m3_s: float | None = None
    overlap: Callable[[], tuple[Overlap, ...]] = tuple
    carry: Callable[[], Flows] = Flows
    fly: Callable[[], InFlight] = InFlight
    breathe: Callable[[], Breathing] = Breathing
    overfill: Callable[[], tuple[Overfill, ...]] = tuple
    heat: Callable[[], tuple[Heated, ...]] = tuple
    join: Callable[[], Exchange] = Exchange
    weigh: Callable[[], Weighed] = Weighed
    fail: Callable[[], Failures | None] = lambda: None

    @cached_property
    def plumbing(self) -> Plumbing:
        """The lines: how they run, what they join, the air through them."""
        return self.lead()

    @cached_property
    def overlaps(self) -> tuple[Overlap, ...]:
        """Tanks that reach into each other."""
        return self.overlap()

    @cached_property
    def flows(self) -> Flows:
        """What the feed lines carry."""
        return self.carry()

    @cached_property
    def in_flight(self) -> InFlight:
        """The full tanks in flight."""
        return self.fly()

    @cached_property
    def breathing(self) -> Breathing:
        """The air through the vents."""
        return self.breathe()

    @cached_property
    def overfills(self) -> tuple[Overfill, ...]:
        """What goes on coming into full tanks."""
        return self.overfill()

    @cached_property
    def heated(self) -> tuple[Heated, ...]:
        """Tanks that returned fuel warms."""
        return self.heat()

    @cached_property
    def exchange(self) -> Exchange:
        """What runs between joined tanks in flight."""
        return self.join()

    @cached_property
    def weighed(self) -> Weighed:
        """The aircraft with each stated load as its fuel is burnt."""
        return self.weigh()

    @cached_property
    def failures(self) -> Failures | None:
        """The design flown with each single thing wrong and with two by one cause, where that was asked for."""
        return self.fail()

    def tank(self, name: str) -> TankStudy:
        """A tank's study by name."""
        return next(study for study in self.tanks if study.name == name)
