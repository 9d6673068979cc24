"""What a flight has come to and tells: quantities, what has happened, and the lamps that are lit."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from functools import cached_property

import numpy as np

from fuelsys.analysis.flights.legs import Leg
from fuelsys.analysis.flights.pools import Vessels
from fuelsys.analysis.flights.setting import Upset, World
from fuelsys.analysis.tank.standing import tank_of
from fuelsys.arrays import Floats
from fuelsys.model.found.fly import Happening, What
from fuelsys.model.stated.design import Segment

_OF_WHOLE = ("full", "falls", "runs over", "stops running over")


@dataclass
class Logged:
    """A flight so far: here are the quantities in its vessels (tanks, and second pools), what is burnt and lost overboard.

    lit are the lamps that are lit: since when, what their tank and all held then, whether from the start; late those that would be
    with their mark low by its tolerance, and since when.
    """

    world: World
    segments: tuple[Segment, ...]
    upset: Upset
    now_s: float = 0.0
    here: Floats = field(default_factory=lambda: np.zeros(0))
    lit: dict[tuple[str, str], tuple[float, float, float, bool]] = field(default_factory=dict)
    late: dict[tuple[str, str], float] = field(default_factory=dict)
    told: list[Happening] = field(default_factory=list)

    @cached_property
    def vessels(self) -> Vessels:
        stated = {one.name: one for one in self.world.layout.design.envelope}
        turned = (self.upset.attitude,) if self.upset.attitude else ()
        return Vessels.of(self.world, [*(stated[one.attitude] for one in self.segments), *turned])

    @property
    def names(self) -> tuple[str, ...]:
        return self.vessels.names

    def tell(self, what: What, vessel: str = "", detail: str = "") -> None:
        if what in _OF_WHOLE and tank_of(vessel) in self.vessels.parted:
            return  # a pool that is full is no full tank
        tank = tank_of(vessel)
        held = float(self.vessels.by_tank(self.here)[self.names.index(tank)]) if tank else None
        self.told.append(Happening(self.now_s, what, tank, detail, held, float(self.here[:-2].sum())))

    def lamps_at_once(self, leg: Leg, upset: Upset) -> None:
        for i, (vessel, standing) in enumerate(leg.standings.items()):
            tank = tank_of(vessel)
            for lamp, (trip, reset, late) in standing.lamps.items():
                if (tank, lamp) in upset.stuck or trip is None or reset is None:
                    continue
                if (tank, lamp) not in self.lit and self.here[i] < trip:
                    self.light(tank, lamp)
                elif (tank, lamp) in self.lit and self.here[i] > reset:
                    self.put_out(tank, lamp)
                if (tank, lamp) in self.lit and late is not None and self.here[i] < late:
                    self.trips_late(tank, lamp)
                elif late is not None and self.here[i] > late + (reset - trip):
                    self.late.pop((tank, lamp), None)

    def light(self, tank: str, lamp: str) -> None:
        """A switch trips: its lamp lights after the switch's delay, at once where the flight begins so."""
        first = self.now_s <= 0.0
        switch = next(one for one in self.world.layout.tank(tank).design.switch if one.name == lamp)
        self.tell("lights", tank, lamp)
        told = replace(self.told.pop(), at_s=self.now_s + (0.0 if first else switch.delay_s or 0.0))
        self.told.append(told)
        self.lit[tank, lamp] = (told.at_s, told.held_m3 or 0.0, told.total_m3, first)

    def put_out(self, tank: str, lamp: str) -> None:
        """A switch resets: its lamp goes out, or never lit."""
        self.late.pop((tank, lamp), None)
        if self.lit.pop((tank, lamp))[0] <= self.now_s:
            self.tell("goes out", tank, lamp)
        else:
            waits = [one for one in self.told if one.what == "lights" and (one.tank, one.detail) == (tank, lamp)]
            self.told.remove(waits[-1])

    def trips_late(self, tank: str, lamp: str) -> None:
        """A switch trips even where its mark is as low as its tolerance lets it be."""
        switch = next(one for one in self.world.layout.tank(tank).design.switch if one.name == lamp)
        waits = 0.0 if self.now_s <= 0.0 else switch.delay_s or 0.0
        self.late.setdefault((tank, lamp), self.now_s + waits)
