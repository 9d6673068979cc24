"""Joined tanks at rest: the levels that their fuel finds at an attitude, and what all hold when the engine first gets air.

What leaves a tank by a line into another ends so far above what is left there, in the pool that the line comes to, as drives the
greatest flow, or at the line's highest point where that is higher; a tank by whose dry outlet air comes past to the engine ends all.
A tank holds no more than stands under the lowest way out of its vents.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property
from itertools import combinations
from math import inf

import numpy as np

from fuelsys.analysis.lines.dry import lets_air_in
from fuelsys.analysis.lines.sharing import common_level_m
from fuelsys.analysis.lines.solving import LEAST_FALL_M, Solving
from fuelsys.analysis.lines.sources import sources_of
from fuelsys.analysis.tank.draining import Drained
from fuelsys.analysis.tank.filling import overflow_level_m
from fuelsys.analysis.tank.tilted import Tilted
from fuelsys.analysis.tank.unusable import every_outlet
from fuelsys.arrays import Floats
from fuelsys.model.built.ends import End, PortEnd
from fuelsys.model.built.layout import FittedTank
from fuelsys.model.stated.attitude import Attitude
from fuelsys.model.stated.components import Engine, Pump

_ROUNDS, _NEAR_M3 = 8, 1e-6  # a millilitre; each round gives what full tanks could not take to the others


@dataclass(frozen=True, eq=False)
class Levelled:
    """Some tanks of a design at one attitude; all levels count from the datum along up."""

    solving: Solving
    tanks: Sequence[FittedTank]
    attitude: Attitude
    _common: dict[float, float] = field(default_factory=dict)

    @property
    def up(self) -> Floats:
        """What a free surface faces."""
        return self.attitude.up

    @cached_property
    def tilted(self) -> dict[str, Tilted]:
        """The tanks."""
        return {tank.name: Tilted.of(tank.cavity, self.up) for tank in self.tanks}

    @cached_property
    def _centres(self) -> dict[str, float]:
        return {tank.name: float(tank.cavity.centre_m @ self.up) for tank in self.tanks}

    @cached_property
    def spills_m(self) -> dict[str, float]:
        """The level at which each tank runs over by a vent; none for a tank without one."""
        layout = self.solving.layout
        return {
            tank.name: min(overflow_level_m(layout, tank, vent.name, self.attitude) for vent in tank.design.vent)
            + self._centres[tank.name]
            for tank in self.tanks
            if tank.design.vent
        }

    def common_m(self, total_m3: float) -> float:
        """The one level at which all hold a total."""
        if total_m3 not in self._common:
            self._common[total_m3] = common_level_m(self.tanks, total_m3, self.up)
        return self._common[total_m3]

    def held_m3(self, name: str, level_m: float) -> float:
        """What one tank holds under a level."""
        tilted, level = self.tilted[name], level_m - self._centres[name]
        if level >= tilted.high_m:
            return tilted.cavity.gross_m3
        return float(tilted.volume_and_area(np.array([level]))[0][0]) if level > tilted.low_m else 0.0

    def level_of(self, name: str, held_m3: float) -> float:
        """The level at which one tank holds a quantity."""
        tilted = self.tilted[name]
        if held_m3 >= tilted.cavity.gross_m3 * (1.0 - 1e-12):
            return tilted.high_m + self._centres[name]
        return float(tilted.level_for(np.array([max(0.0, held_m3)]))[0]) + self._centres[name]

    def beside(self, name: str, held_m3: float, most_m3: Mapping[str, float]) -> dict[str, float]:
        """What all hold when one of them holds a quantity and they stand at one level."""
        level = self.level_of(name, held_m3)
        found = {tank.name: min(most_m3[tank.name], self.held_m3(tank.name, level)) for tank in self.tanks}
        return found | {name: held_m3}

    def together(self, total_m3: float, most_m3: Mapping[str, float]) -> dict[str, float]:
        """What each holds of a total at one level, none more than its most."""
        wanted, found = total_m3, dict(most_m3)
        for _ in range(_ROUNDS):
            level = self.common_m(wanted)
            found = {tank.name: min(most_m3[tank.name], self.held_m3(tank.name, level)) for tank in self.tanks}
            short = total_m3 - sum(found.values())
            if short <= _NEAR_M3:
                break
            wanted += short
        return found

    def kept_m3(self, held: Mapping[str, float]) -> dict[str, float]:
        """The least that each keeps of what is in it when fuel runs across without hindrance, and out of the vents.

        What some other tank holds may come too late, or not at all: of all sets of tanks with the one, that counts whose level is lowest.
        """
        spill = min(self.spills_m.values(), default=inf)
        sets = [some for size in range(1, len(held) + 1) for some in combinations(held, size)]
        levels = {some: self._common_of(some, sum(held[name] for name in some)) for some in sets}
        lowest = {name: min([spill, *(level for some, level in levels.items() if name in some)]) for name in held}
        return {name: min(one, self.held_m3(name, lowest[name])) for name, one in held.items()}

    def _common_of(self, names: tuple[str, ...], total_m3: float) -> float:
        """The one level at which some of the tanks hold a total."""
        if len(names) == 1:
            return self.level_of(names[0], total_m3)
        return common_level_m([tank for tank in self.tanks if tank.name in names], total_m3, self.up)

    def takes_none(self, name: str, below: str) -> bool:
        """Whether nothing can run back into a tank from another, be that full: all outlets of the one lie above the other's roof."""
        tank = next(tank for tank in self.tanks if tank.name == name)
        lowest = (
            min((float(one.spot.point_m @ self.up) for one in every_outlet(tank)), default=-inf) + self._centres[name]
        )
        return lowest >= self.tilted[below].high_m + self._centres[below]

    def stays_m3(self, held: Mapping[str, float]) -> float:
        """The least that stays aboard: a tank that runs over is full to there, or it is one that others press on, by what is higher."""
        found = sum(held.values())
        for name, spill in self.spills_m.items():
            there = self.held_m3(name, spill)
            if there >= self.tilted[name].cavity.gross_m3:
                there = sum(min(one, self.held_m3(other, spill)) for other, one in held.items())
            found = min(found, there)
        return found

    def runs_into(self, name: str, into: str) -> bool:
        """Whether all outlets of a tank lead into another one and nowhere else."""
        own = [end for end in self._alone if end.tank == name]
        return bool(own) and all({one and one.tank for one in self._into(end)} == {into} for end in own)

    # --- what all hold when the engine first gets air

    def left_m3(self, own_m3: Mapping[str, float]) -> float:
        """What all hold then; own_m3 is what each keeps if it drains for itself, for ever."""
        stops, alone = self._stops, self._alone
        total = 0.0
        for tank in self.tanks:
            ends = [PortEnd(tank.name, outlet.name) for outlet in tank.design.outlet]
            left = min(own_m3[tank.name], self._most_m3(tank))
            if any(stops[end] > alone[end] + 1e-9 for end in ends):
                left = max(left, min(tank.cavity.behind * self._drained(tank, stops).left_m3, self._most_m3(tank)))
            total += left
        return total

    def _drained(self, tank: FittedTank, stops_m: Mapping[PortEnd, float]) -> Drained:
        """A tank drained with its outlets ending at levels."""
        top, centre = self.tilted[tank.name].high_m, self._centres[tank.name]
        stops = [stops_m[PortEnd(tank.name, outlet.name)] - centre for outlet in tank.design.outlet]
        raised = [
            replace(one, cover_m=min(stop, top) - float(one.spot.point_m @ self.up), ways=(), heights_m=())
            for one, stop in zip(every_outlet(tank), stops, strict=True)
        ]
        return Drained.of(tank.cavity, self.up, raised)

    def _most_m3(self, tank: FittedTank) -> float:
        spill = self.spills_m.get(tank.name)
        return tank.cavity.gross_m3 if spill is None else self.held_m3(tank.name, spill)

    @cached_property
    def _alone(self) -> dict[PortEnd, float]:
        """The level at which each outlet ends for itself."""
        return {
            PortEnd(tank.name, outlet.name): opening.level_m(self.up) + self._centres[tank.name]
            for tank in self.tanks
            for outlet, opening in zip(tank.design.outlet, every_outlet(tank), strict=True)
        }

    @cached_property
    def _stops(self) -> dict[PortEnd, float]:
        """The same with the others counted."""
        alone = self._alone
        into = {end: self._into(end) for end in alone}
        stops = {end: alone[end] if None in leads else inf for end, leads in into.items()}
        for _ in self.tanks:
            stops = {end: min([stops[end], *self._through(end, leads, stops)]) for end, leads in into.items()}
        first_air = self._first_air_m(stops)
        return {end: max(stop, first_air) for end, stop in stops.items()}

    def _through(
        self, end: PortEnd, leads: Mapping[PortEnd | None, float], stops: Mapping[PortEnd, float]
    ) -> Iterator[float]:
        """The levels at which an outlet ends for each tank that its fuel runs into, with the outlets of those ending at stops."""
        alone = self._alone[end]
        for one, drive in leads.items():
            if one is not None:
                roof = self.tilted[one.tank].high_m + self._centres[one.tank]
                lowest = min((stop for other, stop in stops.items() if other.tank == one.tank), default=inf)
                free = roof + drive <= alone and lowest < inf
                yield alone if free else max(alone, self._left_under_m(one, lowest, stops) + drive)

    def _left_under_m(self, end: PortEnd, lowest_m: float, stops: Mapping[PortEnd, float]) -> float:
        """The level at which a tank's fuel stays under a port of it, its outlets ending at stops."""
        if lowest_m == inf or self.tilted[end.tank].tree.seed_vertex.size == 1:
            return lowest_m
        tank = self.solving.layout.tank(end.tank)
        return self._drained(tank, stops).left_under_m(tank.spot(end.port)) + self._centres[end.tank]

    def _into(self, end: PortEnd) -> dict[PortEnd | None, float]:
        """The ports of these tanks that an outlet's fuel runs into, and how much higher it must stand there for the greatest flow.

        None: to the engine or a pump, or to where nothing more is known.
        """
        tank = self.solving.layout.tank(end.tank)
        climbs = tank.downhill.get(end.port) or ()
        heights = tank.heights.get(end.port) or (0.0,) * len(climbs)
        found: dict[PortEnd | None, float] = {}
        for climb, height in zip(climbs, heights, strict=True):
            into = climb.way.end
            if into.tank != end.tank:
                one = into if isinstance(into, PortEnd) and into.tank in self.tilted else None
                found[one] = min(found.get(one, inf), max(0.0, height))
        return found or {None: 0.0}

    def _first_air_m(self, stops: Mapping[PortEnd, float]) -> float:
        """The level at which air comes past a dry outlet to the engine, though other tanks still feed it."""
        nodes = self.solving.layout.network.nodes
        for end in (one for one, part in nodes.items() if isinstance(part, (Engine, Pump))):
            sources = [one for one in sources_of(self.solving.layout, end) if one in stops]
            if len({one.tank for one in sources}) < 2:
                continue
            levels: dict[End, float] = {one: stops[one] for one in sources if isinstance(one, PortEnd)}
            for dry in sorted(levels, key=lambda one: -levels[one]):
                lower = [one for one in levels if levels[one] < levels[dry] - LEAST_FALL_M and one.tank != dry.tank]
                if lower and lets_air_in(self.solving, end, dry, tuple(lower), self.attitude):
                    return levels[dry]
        return -inf
