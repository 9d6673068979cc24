"""A flight of the design: every tank's quantity carried through the solved lines from event to event until the engine gets air.

Steady flow at each moment: what is in the lines and how fast it moves is not followed. What is simplified is said below its tables.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace

import numpy as np

from fuelsys.analysis.flights.events import FINE, RISING_M3_S, STOPS, Crossing, Steps, crossings, first_event
from fuelsys.analysis.flights.legs import Leg, Mode
from fuelsys.analysis.flights.logged import Logged
from fuelsys.analysis.flights.setting import Group, Upset, World
from fuelsys.analysis.tank.standing import tank_of
from fuelsys.arrays import Floats
from fuelsys.errors import QuestionError
from fuelsys.kernels.stepping import stretches
from fuelsys.model.found.fly import Flown, Part, Warned
from fuelsys.model.stated.design import Segment
from fuelsys.model.stated.fittings import Outlet

LONGEST_S = 48 * 3600.0  # a flight that goes on longer is no flight
_HAIR_M3 = 1e-8
# Steps of a flight: these, and ten for each that the longest would need. A check valve beside air that is shut in makes steps of a
# hundredth of a second; a flight without such needs 50 to 100.
_MOST_STEPS = 500
_MOST_EVENTS = 500  # the example, failures included, has 17 at most; so many take 2 s (measured)


@dataclass
class _Flight(Logged):
    """A flight as it is flown."""

    upset_from_s: float = 0.0
    pace: Steps = FINE
    times: list[float] = field(default_factory=list)
    states: list[Floats] = field(default_factory=list)
    parts: list[Part] = field(default_factory=list)
    shut_in_m3: dict[Group, float] = field(default_factory=dict)
    events: int = 0
    changed: str = ""  # the tank whose pools have just parted or joined

    def fly(self) -> Flown:
        loaded = self.world.loaded(self.segments[0], self.upset)
        self.here = np.array([*loaded.values(), *[0.0] * (len(self.names) - len(loaded)), 0.0, 0.0])
        self.keep()
        stopped, ahead = "", [(self.upset_from_s, self.upset)]  # when what is wrong changes, and what is then
        ahead += [] if self.upset.held_s is None else [(self.upset_from_s + self.upset.held_s, Upset(""))]
        upset = ahead.pop(0)[1] if self.upset_from_s <= 0.0 else Upset("")
        for segment in self.segments:
            end_s = LONGEST_S if segment.duration_s is None else min(LONGEST_S, self.now_s + segment.duration_s)
            self.tell("begins", detail=upset.words if upset.attitude else segment.name)
            while True:
                held = dict(zip(self.world.names, self.vessels.by_tank(self.here).tolist(), strict=False))
                leg = self.world.leg(segment, upset, held, self.shut_in_m3)
                self.vessels.set_out(leg, self.here, self.changed)
                name = upset.words if upset.attitude else segment.name
                if not self.parts or (self.parts[-1].name, self.parts[-1].flow) != (name, segment.flow):
                    back = (leg.back_m3_s, leg.back_to)
                    self.parts.append(Part(name, self.now_s, leg.attitude, segment.flow, leg.burnt_m3_s, *back))
                stopped = self.leg(leg, upset, min(end_s, ahead[0][0] if ahead else np.inf))
                if self.changed:
                    continue
                if stopped or self.now_s >= end_s:
                    break
                upset = ahead.pop(0)[1]
                self.tell("begins", detail=upset.words or segment.name)
            if stopped and segment.duration_s is not None and self.now_s < end_s:
                break  # air before its time is up
            if stopped and segment is not self.segments[-1]:
                self.tell("air", detail=stopped)
        self.tell("air" if stopped else "ends", detail=stopped)
        return self.ended(stopped)

    def ended(self, stopped: str) -> Flown:
        """What came to be until now; a lamp that still waits for its delay is not lit."""
        late = {lamp: at_s for lamp, at_s in self.late.items() if at_s <= self.now_s}  # others still wait
        aside = self.world.layout.network.set_aside
        tanks = self.world.layout.tanks
        targets = {(tank.name, one.name): one.target_s for tank in tanks for one in tank.design.switch}
        warned = tuple(
            Warned(
                tank, switch, at_s, held, whole, first, tank in aside, late.get((tank, switch)), targets[tank, switch]
            )
            for (tank, switch), (at_s, held, whole, first) in self.lit.items()
            if at_s <= self.now_s
        )
        told = tuple(sorted((one for one in self.told if one.at_s <= self.now_s), key=lambda one: one.at_s))
        times_s, states = np.array(self.times), self.vessels.by_tank(np.array(self.states))
        held_m3, burnt_m3, overboard_m3 = states[:, :-2], states[:, -2], states[:, -1]
        parts, notes = tuple(self.parts), tuple(self.world.notes)
        return Flown(self.world.names, times_s, held_m3, burnt_m3, overboard_m3, told, warned, stopped, parts, notes)

    def keep(self) -> None:
        self.times.append(self.now_s)
        self.states.append(self.here.copy())

    # --- one leg

    def leg(self, leg: Leg, upset: Upset, end_s: float) -> str:
        """Fly a leg; -> why the engine stops, empty where the leg ends before."""
        again, self.changed = bool(self.changed), ""
        self.runs_out(leg)
        leg.begin(dict(zip(self.names, self.here.tolist(), strict=False)))
        self.lamps_at_once(leg, upset)
        ports = [(tank, end) for tank in leg.modes for end in leg.plumbed.ports.get(tank, ())]
        outlets = [(tank, end) for tank, end in ports if isinstance(leg.plumbed.network.nodes[end], Outlet)]
        for tank, end in [(tank, end) for tank, end in outlets if end not in leg.modes[tank].under]:
            self.vessels.end_with(leg, end)
            if not again:
                self.tell("outlet dry", tank, end.port)
        stopped = self.settle(leg)
        while not stopped and self.now_s < end_s:
            self.events += 1
            if self.events > _MOST_EVENTS:
                raise QuestionError(
                    f"the flow changes without end after {self.now_s / 60:.1f} min",
                    mend="State the flight in parts, or take out lines that join the same tanks twice.",
                    file=self.world.layout.file,
                )
            crossing, what = self.onward(leg, upset, end_s)
            if crossing:
                self.cross(leg, crossing)
            if not self.changed and (crossing or what):
                stopped = self.settle(leg)
            if self.changed:
                self.tell("joins" if self.changed in self.vessels.parted else "parts", self.changed)
                return ""
        return stopped

    def runs_out(self, leg: Leg) -> None:
        """At a new attitude what stands above the way out of a vent runs out by it at once."""
        for i, (tank, standing) in enumerate(leg.standings.items()):
            excess = float(self.here[i]) - standing.over_m3
            if excess > 1e-9 and not any(tank in group for group, _ in leg.airless):
                self.here[i] -= excess
                into = self.names.index(standing.spill_to) if standing.spill_to else -1
                room = leg.standings[standing.spill_to].over_m3 - self.here[into] if standing.spill_to else 0.0
                moved = min(excess, max(0.0, float(room)))
                self.here[into] += moved if into >= 0 else 0.0
                self.here[-1] += excess - (moved if into >= 0 else 0.0)
                self.tell("runs over", tank, f"at {leg.attitude.name}")
        self.keep()

    def onward(self, leg: Leg, upset: Upset, end_s: float) -> tuple[Crossing | None, bool]:
        """Carry the quantities on to the next event or the end; -> what is crossed, and whether a mode no longer holds."""
        ahead = list(crossings(leg, self.here, upset.stuck, self.lit, self.late))
        n = len(self.names)
        hair, tolerance = np.array([_HAIR_M3] * n + [0.0, 0.0]), np.array([self.pace.off_m3] * n + [1e-6, 1e-6])
        steps = stretches(
            lambda y: leg.moment(y).rates, self.here, self.now_s, end_s, hair, tolerance, self.pace.longest_s, n
        )
        for step in steps:
            share, crossed, broken = first_event(leg, step, ahead)
            self.here = step.at(share)
            if len(self.times) > _MOST_STEPS + 10 * self.now_s / self.pace.longest_s:
                raise QuestionError(
                    f"the flow swings too fast to be followed from {self.now_s / 60:.1f} min on, as at a check valve beside shut-in air",
                    mend="Judge this one by hand; give that tank a vent that cannot be blocked.",
                    file=self.world.layout.file,
                )
            at_s = step.begin_s + share * step.length_s
            self.now_s = at_s if share < 1.0 else min(end_s, at_s)
            self.keep()
            if crossed or broken:
                return crossed, broken
        self.now_s = end_s
        return None, False

    # --- what changes at an event

    def cross(self, leg: Leg, crossing: Crossing) -> None:
        tank = self.names[crossing.tank]
        mode = leg.modes[tank]
        if crossing.what == "lamp":
            lamp = tank_of(tank), crossing.lamp
            (self.put_out if lamp in self.lit else self.light)(*lamp)
        elif crossing.what == "late":
            self.trips_late(tank_of(tank), crossing.lamp)
        elif crossing.what == "late out":
            self.late.pop((tank_of(tank), crossing.lamp), None)
        elif crossing.what == "parts":
            self.changed = tank
        elif crossing.what == "fills":
            mode.full = True
            self.changed = self.vessels.joins(leg)
            self.tell("full", tank)
        elif crossing.port is not None:
            self.at_lip(leg, tank, mode, crossing)

    def at_lip(self, leg: Leg, tank: str, mode: Mode, crossing: Crossing) -> None:
        """The surface at a port's lip: it goes on past it, or stays there and the port passes on what comes."""
        port = crossing.port
        assert port is not None
        outlet = isinstance(leg.plumbed.network.nodes[port], Outlet)
        if crossing.what == "bares":
            mode.under.discard(port)
            self.vessels.end_with(leg, port)
            stays = leg.moment(self.here).rates[crossing.tank] > RISING_M3_S
        else:
            mode.under.add(port)
            stays = leg.moment(self.here).rates[crossing.tank] < -RISING_M3_S
            if stays:
                mode.under.discard(port)
        if stays:
            mode.passes = port
        if outlet and crossing.what == "bares":
            self.tell("passes on" if stays else "outlet dry", tank, port.port)
        elif outlet and not stays:
            self.tell("outlet covered", tank, port.port)

    def settle(self, leg: Leg) -> str:
        """Change modes that do not hold until all do; -> why the engine stops, if it does."""
        done: set[tuple[str, str]] = set()
        while True:
            moment = leg.moment(self.here)
            broken = [gap for gap in moment.gaps if not gap.value >= 0.0]
            ends = [gap for gap in broken if gap.what in STOPS]
            if ends:
                return STOPS[ends[0].what].format(tank=ends[0].tank)
            first = next((gap for gap in broken if (gap.tank, gap.what) not in done), None)
            if first is None:
                if moment.fed:
                    return ""
                # Then nothing is passed on: the engine has air in what comes.
                self.told = [
                    replace(one, what="outlet dry") if (one.at_s, one.what) == (self.now_s, "passes on") else one
                    for one in self.told
                ]
                return STOPS["dry"]
            done.add((first.tank, first.what))
            self.leave(leg, first.tank, first.what)
            self.changed = self.vessels.joins(leg)
            if self.changed:
                return ""

    def leave(self, leg: Leg, tank: str, what: str) -> None:
        """Leave a mode that no longer holds."""
        mode = leg.modes[tank]
        if what == "breathes":
            self.tell("breathes", tank)
            leg.breathe(tank, dict(zip(self.names, self.here.tolist(), strict=False)))
            self.shut_in_m3 = {group: room for group, room in self.shut_in_m3.items() if tank not in group}
        elif what == "falls":
            mode.full = False
            self.tell("falls", tank)
        elif what in ("runs over", "stops running over"):
            mode.over = what == "runs over"
            self.tell("runs over" if mode.over else "stops running over", tank)
        elif what == "fills" and mode.passes is not None:
            mode.under.add(mode.passes)
            mode.passes = None
        elif what == "falls short":
            port, mode.passes = mode.passes, None
            passed = [one for one in self.told if (one.what, one.tank) == ("passes on", tank)]
            if port is not None and passed and passed[-1].at_s < self.now_s:
                self.tell("outlet dry", tank, port.port)


def flown(world: World, segment: Segment, pace: Steps) -> Flown:
    """Some other flight of a world's design than it states, with nothing wrong."""
    return _noted(_Flight(world, (segment,), Upset(""), pace=pace))


def fly(world: World, upset: Upset | None = None, upset_from_s: float = 0.0, pace: Steps = FINE) -> Flown:
    """The flight of a world's design, with something wrong from a moment on."""
    return _noted(_Flight(world, world.segments(upset), upset or Upset(""), upset_from_s=upset_from_s, pace=pace))


def _noted(flight: _Flight) -> Flown:
    """A flight with its doubts."""
    found = flight.fly()
    return replace(found, notes=(*found.notes, *flight.vessels.doubts(found)))
