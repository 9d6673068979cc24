"""A tank whose fuel parts in a flight into two pools with outlets of their own, each of which then counts as a tank.

They part at the saddle between them, run over into each other there, and join again when both are full; their air is one. Of several
such saddles the highest counts. Where one level for all pools may be wrong, a doubt says by how much.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field

import numpy as np

from fuelsys.analysis.flights.legs import Leg
from fuelsys.analysis.flights.setting import World
from fuelsys.analysis.tank.standing import SECOND, Halves, Standing, tank_of
from fuelsys.arrays import Floats
from fuelsys.model.built.ends import PortEnd
from fuelsys.model.found.fly import Flown, Part
from fuelsys.model.stated.attitude import Attitude
from fuelsys.model.words import Doubt

_HAIR_M3 = 1e-9


@dataclass(eq=False)
class Vessels:
    """What a flight keeps quantities of: its tanks, then the other pools of those whose fuel may part.

    parted are the tanks that stand in two pools, carried those that were followed so at an attitude, from what they held on.
    """

    world: World
    names: tuple[str, ...]
    halves: Mapping[tuple[str, Attitude], Halves]
    parted: set[str] = field(default_factory=set)
    carried: dict[tuple[str, Attitude], bool] = field(default_factory=dict)
    attitude: Attitude | None = None

    @classmethod
    def of(cls, world: World, attitudes: Sequence[Attitude]) -> Vessels:
        """Those of a flight at some attitudes."""
        pairs = [(tank, attitude) for tank in world.names for attitude in dict.fromkeys(attitudes)]
        halves = {pair: found for pair in pairs if (found := world.halved(*pair))}
        second = [tank + SECOND for tank in world.names if any(tank == one for one, _ in halves)]
        return cls(world, (*world.names, *second), halves)

    def by_tank(self, held_m3: Floats) -> Floats:
        """Quantities (..., n) of vessels and whatever follows, those of a tank together."""
        tanks = len(self.world.names)
        found = np.delete(held_m3, np.s_[tanks : len(self.names)], axis=-1)
        for k, name in enumerate(self.names[tanks:], tanks):
            found[..., self.names.index(tank_of(name))] += held_m3[..., k]
        return found

    def set_out(self, leg: Leg, held_m3: Floats, event: str = "") -> None:
        """Part or join tanks as a part of the flight begins, or goes on after an event; the quantities are changed in place."""
        turned, self.attitude = leg.attitude != self.attitude, leg.attitude
        for name in self.names[len(self.world.names) :]:
            tank = tank_of(name)
            one, two = self.names.index(tank), self.names.index(name)
            both_m3, found = float(held_m3[one] + held_m3[two]), self.halves.get((tank, leg.attitude))
            if found is None or event == tank:
                parts = event == tank and tank not in self.parted
            elif turned:
                parts = both_m3 < found.parting.below_m3 - _HAIR_M3
            else:
                parts = tank in self.parted
            if parts and found and (turned or tank not in self.parted):
                held_m3[two] = found.second_m3(both_m3)
                held_m3[one] = both_m3 - held_m3[two]
            elif not parts:
                held_m3[one], held_m3[two] = both_m3, 0.0
            if found:
                before = self.carried.get((tank, leg.attitude), True)
                self.carried[tank, leg.attitude] = before and not (turned and parts)
            (self.parted.add if parts else self.parted.discard)(tank)
            self._lay_out(leg, tank, name, found)

    def _lay_out(self, leg: Leg, tank: str, second: str, found: Halves | None) -> None:
        """Give a part of the flight a tank's vessels."""
        if tank in self.parted and found:
            leg.part(tank, second, found)
        else:
            leg.standings = {**leg.standings, second: _nothing(leg.standings[tank])}
            if found:
                leg.standings[tank] = found.whole
                leg.parts_at[tank] = found.parting.below_m3

    def joins(self, leg: Leg) -> str:
        """The tank whose pools are both full, and one runs over; empty: none."""
        for tank in sorted(self.parted):
            modes = leg.modes[tank], leg.modes[tank + SECOND]
            if all(one.full for one in modes) and any(one.over for one in modes):
                return tank
        return ""

    def end_with(self, leg: Leg, outlet: PortEnd) -> None:
        """Let an outlet that takes air end what those of the other pool give, where it does."""
        ends = self.world.layout.tank(outlet.tank).ends if outlet.tank in self.parted else {}
        for other in ends[outlet.port].others if outlet.port in ends else ():
            for mode in leg.modes.values():
                mode.under.discard(PortEnd(outlet.tank, other))

    def doubts(self, flown: Flown) -> tuple[Doubt, ...]:
        """Of each tank and attitude of a flight at which one level for all its pools may be wrong: by how much."""
        found = [doubt for k, part in enumerate(flown.parts) for doubt in self._of_part(flown, k, part)]
        return tuple(dict.fromkeys(found))

    def _of_part(self, flown: Flown, k: int, part: Part) -> Iterator[Doubt]:
        until_s = flown.parts[k + 1].from_s if k + 1 < len(flown.parts) else flown.end_s
        during = (flown.times_s >= part.from_s) & (flown.times_s <= until_s)
        for tank, held in zip(flown.tanks, flown.held_m3[during].T, strict=True):
            halves, from_above = self.halves.get((tank, part.attitude)), self.carried.get((tank, part.attitude))
            standing = halves.whole if halves else self.world.standing(tank, part.attitude)
            for one in standing.partings():
                share = f"{one.pool_m3 / standing.gross_m3:.2%}".replace("%", " %")
                where = f"{tank} at {part.attitude.name}"
                followed = halves is not None and halves.parting.saddle_m == one.saddle_m and from_above is not None
                if not one.feed and held[0] < one.below_m3:
                    yield Doubt(
                        f"{where}: it comes to it with less than fills a pool without an outlet, which counts as full, {share} of"
                        " the tank: less may be held back there, never more."
                    )
                elif one.feed and (not from_above if followed else held.min() < one.below_m3):
                    begins = "it comes to it with less than joins two pools with outlets of their own, which begin at one level"
                    parts = "its fuel parts into two pools with outlets of their own, which count with one level"
                    yield Doubt(
                        f"{where}: {begins if followed else parts}: up to {share} of the tank may stand in the other one than is"
                        " counted, and an outlet take air, or a lamp light, sooner or later."
                    )


def _nothing(whole: Standing) -> Standing:
    """A vessel that is not there: nothing in it, nothing at it."""
    none = np.array([0.0, 1.0])
    return Standing(whole.attitude, whole.drained, whole.free, none, none, {}, 1.0, 1.0, 0.0, "", {})
