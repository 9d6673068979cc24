"""Every full tank at every attitude of flight and where their tilts come together: what runs out, and which vents breathe.

`analysis/lines/in_flight.py` holds full tanks (filled at the normal ground attitude, trapped air keeping its room) at each flight
attitude and a grid of at most 4° over their pitches and rolls, at one level, and `analysis/lines/spilling.py` says what runs
out until it stops:
each pool with a vent under fuel falls to the highest point of the lowest of its ways overboard; a pool that no vent reaches
stays. Tanks that are joined sink together, to the lowest vent whose pool one of the joining ports opens into, but not below the
level at which the two part, nor below the port; each tank then drains through its ports to that level. With a siphon the same,
down to the opening or to the outer end, whichever is higher. `taken_m3` (how much must leave until a drowned vent comes free) is
the same with the outlets for vents.

Any port of a feed line counts as joining, which makes it more than it can be; check valves part tanks the way they block, unless
fuel comes round by a header's vent lines (`joining.parted`). Two things can make it less: of several tanks that run one way into
another each counts with it alone; and air that is shut in at that attitude only takes room that is counted as free.
A vent whose way leads into another tank loses nothing overboard; who breathes
through whom is found from tank to tank.

`model/built/joining.py` lists the groups: by lines alone, then with every valve open and each selector in each position. `both`
not stated
is tried as well and the group marked (`Joined.unknown`): where it overflows, the rule needs the selector's word, where not, it
passes. Tried with 256 settings at most; beyond that selectors count as not stated.

Of the example's `check` it takes 0.15 s; it is computed when a rule asks for `Study.in_flight`.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np

from fuelsys.analysis.lines.airing import as_set
from fuelsys.analysis.lines.sharing import settled
from fuelsys.analysis.lines.spilling import Vessel, runs_out, taken_m3
from fuelsys.analysis.lines.venting import OPEN_M
from fuelsys.analysis.tank.combined import combinations
from fuelsys.analysis.tank.draining import Opening
from fuelsys.analysis.tank.filling import filled
from fuelsys.arrays import Floats
from fuelsys.model.built.ends import End, PortEnd
from fuelsys.model.built.joining import Joined, joined, parted
from fuelsys.model.built.layout import FittedTank, Layout
from fuelsys.model.built.way import Way
from fuelsys.model.found.capacity import Filled
from fuelsys.model.found.plumbing import Airing, Overflow, Settled
from fuelsys.model.found.spilling import Drowned, GroupInFlight, InFlight, Spilled, TankInFlight
from fuelsys.model.stated.attitude import Attitude

SAME_TILT = 2e-6  # combinations are rounded to a microradian: one so near to a stated attitude is that attitude


def in_flight(layout: Layout, full: Mapping[str, Filled | None], settings: tuple[Airing, ...] | None) -> InFlight:
    """The tanks of a layout, as they are filled at the normal ground attitude, held at each attitude of flight.

    Which vents drown is looked at in every setting of what stands in their lines, each tank as it is filled then, and the deepest
    is kept, one that soon stands in air after all others; what runs out with all open, which is the most. settings: None where they
    are too many.
    """
    found = _Flying(layout, layout, full).found
    tanks, density = {one.tank: one for one in found.tanks}, layout.design.fuel.density_kg_m3
    for setting in settings or ():
        if setting.shut:
            parted_air = as_set(layout, setting)
            for one in _Flying(parted_air, layout, _filled_then(layout, parted_air, full)).found.tanks:
                other = tanks[one.tank].drowned
                if one.drowned and (other is None or _worse(one.drowned.rank(density), other.rank(density))):
                    tanks[one.tank] = replace(one, setting=setting.words)
    return replace(found, tanks=tuple(tanks.values()), unsettled=settings is None)


def _worse(one: tuple[bool, float], other: tuple[bool, float]) -> bool:
    """Whether a rank is worse by more than rounding."""
    return one > (other[0], other[1] + OPEN_M)


def _filled_then(layout: Layout, set_so: Layout, full: Mapping[str, Filled | None]) -> dict[str, Filled | None]:
    """The tanks as they are filled in a setting: anew where it changes the way out of a vent, else as with all open."""
    ground = layout.design.normal("ground")
    return {
        tank.name: full[tank.name] if _out(layout, tank) == _out(set_so, tank) else filled(set_so, tank, ground)
        for tank in layout.tanks
    }


def _out(layout: Layout, tank: FittedTank) -> list[list[tuple[End, tuple[str, ...]]]]:
    """Where fuel runs out of each vent of a tank, and by which lines."""
    ways = (layout.network.spills(PortEnd(tank.name, vent.name)) for vent in tank.design.vent)
    return [[(way.end, way.lines) for way in of_vent] for of_vent in ways]


def flown(envelope: Sequence[Attitude]) -> tuple[Attitude, ...]:
    """The flight attitudes of an envelope, then their combinations that are none of them."""
    stated = [attitude for attitude in envelope if attitude.phase == "flight"]
    ups = np.array([attitude.up for attitude in stated]).reshape(-1, 3)
    more = [one for one in combinations(envelope) if np.abs(ups - one.up).max(axis=1).min() > SAME_TILT]
    return (*stated, *more)


@dataclass(frozen=True, eq=False)
class _Flying:
    """A layout as it is set; whole is it with all open: a vent whose line is shut is none that leads nobody knows where."""

    layout: Layout
    whole: Layout
    full: Mapping[str, Filled | None]

    @cached_property
    def found(self) -> InFlight:
        tanks = (self._tank(tank) for tank in self.layout.tanks)
        return InFlight(self.groups, tuple(one for one in tanks if one))

    @cached_property
    def attitudes(self) -> tuple[Attitude, ...]:
        return flown(self.layout.design.envelope)

    @cached_property
    def vents(self) -> tuple[Way, ...]:
        return self.layout.network.ways("vent")

    @cached_property
    def overboard(self) -> tuple[Way, ...]:
        return tuple(way for way in self.vents if self.layout.network.overboard(way.end))

    # --- what runs out

    @cached_property
    def groups(self) -> tuple[GroupInFlight, ...]:
        network = self.layout.network
        several = [part for one in joined(network) for part in parted(network, one)]
        first = {part.tanks: part for part in reversed(several)}  # what the lines alone join comes first
        return tuple(self._group(part) for part in dict.fromkeys(several) if first[part.tanks] is part)

    def _group(self, one: Joined) -> GroupInFlight:
        held = settled(self.layout, [one.tanks], self.full, self.overboard, self.attitudes)
        vessels = [self._vessel(self.layout.tank(name), joined=len(one.tanks) > 1) for name in one.tanks]
        fuel_m3 = sum(full.volume_m3 for name in one.tanks if (full := self.full[name]))
        return GroupInFlight(one, tuple(_spilled(at, vessels, fuel_m3) for at in held))

    def _vessel(self, tank: FittedTank, *, joined: bool, outlets: bool = False) -> Vessel:
        """A tank with its vents overboard, and where it is joined to others the ports of its lines, or all outlets too."""
        kinds = [port.name for port in tank.design.outlet] if outlets else []
        if joined:
            kinds += [port.name for port in tank.design.ports if self._joins(PortEnd(tank.name, port.name))]
        vents = []
        for vent in tank.design.ports:
            ways = [way for way in self.overboard if way.start == PortEnd(tank.name, vent.name)]
            if ways:
                vents.append(Opening(tank.spot(vent.name), 0.0, tuple(way.climb(tank.cavity.centre_m) for way in ways)))
        return Vessel(tank.cavity, tuple(vents), tuple(tank.spot(name) for name in dict.fromkeys(kinds)))

    def _joins(self, end: PortEnd) -> bool:
        return any(line.kind in ("feed", "interconnect") for line in self.layout.network.lines_at(end))

    # --- which vents breathe

    @cached_property
    def openings(self) -> dict[str, tuple[PortEnd, ...]]:
        """Each tank's ports that vent lines end at, and its vents without one."""
        at = self.layout.network.lines_at
        return {
            tank.name: tuple(
                end
                for port in tank.design.ports
                if at(end := PortEnd(tank.name, port.name), "vent") or (port in tank.design.vent and end in self.unled)
            )
            for tank in self.layout.tanks
        }

    def _breathing(self, depth_m: Mapping[PortEnd, float]) -> set[str]:
        """Tanks with air that vent lines join to the outside, by how deep each opening stands under fuel."""
        free = {end for end, depth in depth_m.items() if depth < -OPEN_M}
        out = {way.start for way in self.overboard} | self.unled
        found = {end.tank for end in free & out if end.tank}
        ties = [(way.start.tank, way.end.tank) for way in self.vents if way.start in free and way.end in free]
        while more := {name for tie in ties if found & set(tie) for name in tie if name} - found:
            found |= more
        return found

    @cached_property
    def unled(self) -> set[PortEnd]:
        """Vents without a line: where they lead is not known, and is asked for elsewhere."""
        ends = {PortEnd(tank.name, vent.name) for tank in self.layout.tanks for vent in tank.design.vent}
        return {end for end in ends if not self.whole.network.lines_at(end)}

    def _levels(self, group: GroupInFlight, index: int) -> dict[str, float]:
        """The fuel's level in every tank whose filling is known: in a group, and in the others as the lines alone join them."""
        found: dict[str, float] = {}
        for one in (*(g for g in self.groups if not g.joined.through), group):
            if one.at:
                level_m = one.at[index].settled.level_m
                higher = {} if one is group else found
                found |= {name: max(level_m, higher.get(name, -np.inf)) for name in one.joined.tanks}
        return found

    def _tank(self, tank: FittedTank) -> TankInFlight | None:
        """A tank over all groups that it can be in; None without a vent that can breathe, or of unknown filling."""
        everywhere = {end: -1.0 for ends in self.openings.values() for end in ends}
        groups = [one for one in self.groups if tank.name in one.joined.tanks and one.at]
        if tank.name not in self._breathing(everywhere) or not groups:
            return None
        clear: list[tuple[float, Attitude]] = []
        deepest: dict[str, float] = {}
        stated: dict[bool, dict[Attitude, None]] = {True: {}, False: {}}
        worst: dict[bool, tuple[float, GroupInFlight, int, tuple[Overflow, ...]]] = {}
        for group in groups:
            known = not group.joined.unknown
            for index, at in enumerate(group.at):
                depth_m = self._depths(self._levels(group, index), at.attitude)
                own = tuple(Overflow(str(end), depth_m[end]) for end in self.openings[tank.name])
                least = min(vent.above_m for vent in own)
                breathing = self._breathing(depth_m)
                if breathing & {tank.name, *self._feeding_with(group.joined)}:
                    clear.extend([(-least, at.attitude)] if known and tank.name in breathing else [])
                    deepest |= {v.opening: max(v.above_m, deepest.get(v.opening, 0.0)) for v in own if known}
                    continue
                if at.attitude in self.layout.design.envelope:
                    stated[known][at.attitude] = None
                if known not in worst or least > worst[known][0]:
                    worst[known] = least, group, index, own
        drowned = {known: self._drowned(tank, *found[1:], tuple(stated[known])) for known, found in worst.items()}
        margin = min(clear, key=lambda one: one[0], default=(0.0, groups[0].at[0].attitude))
        under = tuple(Overflow(name, deep) for name, deep in deepest.items() if deep > OPEN_M)
        return TankInFlight(tank.name, *margin, drowned.get(True), drowned.get(False), under)

    def _feeding_with(self, group: Joined) -> tuple[str, ...]:
        """The tanks of a group that are filled by hand: one of them that breathes feeds while another draws a vacuum."""
        return tuple(name for name in group.tanks if self.layout.tank(name).design.filler)

    def _depths(self, levels_m: Mapping[str, float], attitude: Attitude) -> dict[PortEnd, float]:
        """How deep each opening stands under fuel; where filling is unknown it stands in air, and that is asked for elsewhere."""
        return {
            end: levels_m.get(name, -np.inf) - float(self._place(name, end.port) @ attitude.up)
            for name, ends in self.openings.items()
            for end in ends
        }

    def _place(self, name: str, port: str) -> Floats:
        tank = self.layout.tank(name)
        place: Floats = tank.spot(port).point_m + tank.cavity.centre_m
        return place

    def _drowned(
        self,
        tank: FittedTank,
        group: GroupInFlight,
        index: int,
        vents: tuple[Overflow, ...],
        stated: tuple[Attitude, ...],
    ) -> Drowned:
        at = group.at[index]
        depth_m = self._depths(self._levels(group, index), at.attitude)
        names = dict.fromkeys([tank.name, *self._feeding_with(group.joined)])
        found = [self._until_free(name, group, at, depth_m) for name in names]
        taken = min((one for one in found if one is not None), default=None)
        return Drowned(at.attitude, group.joined, vents, taken, stated)

    def _until_free(
        self, name: str, group: GroupInFlight, at: Spilled, depth_m: Mapping[PortEnd, float]
    ) -> float | None:
        """What must leave the tanks of a group until the least drowned vent of one of them comes free; no more than they hold."""
        out = {way.start for way in self.overboard} | self.unled
        ends = [end for end in self.openings[name] if end in out] or self.openings[name]
        if not ends:
            return None
        first = min(ends, key=depth_m.__getitem__)
        tanks = [self.layout.tank(one) for one in dict.fromkeys([name, *group.joined.tanks])]
        vessels = [self._vessel(one, joined=len(tanks) > 1, outlets=True) for one in tanks]
        taken = taken_m3(vessels, at.attitude.up, at.settled.level_m, tanks[0].spot(first.port))
        fuel_m3 = sum(full.volume_m3 for one in group.joined.tanks if (full := self.full[one]))
        return None if taken is None else min(taken, fuel_m3)


def _spilled(at: Settled, vessels: Sequence[Vessel], fuel_m3: float) -> Spilled:
    """What runs out; nothing is computed where no line runs over."""
    if not any(vent.above_m > 0.0 for vent in at.vents):
        return Spilled(at)
    found = runs_out(vessels, at.attitude.up, at.level_m)
    return Spilled(at, min(found.lost_m3, fuel_m3), min(found.siphoned_m3, fuel_m3))
