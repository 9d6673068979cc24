"""Unusable fuel at each stated flow: an outlet takes air, or what is fed gets too little, whichever comes first."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from functools import cached_property

from fuelsys.analysis.lines.demand import critical_submergence_m, lost_pa
from fuelsys.analysis.lines.solving import Solving
from fuelsys.analysis.tank.draining import Drained, Opening
from fuelsys.analysis.tank.unusable import outlets
from fuelsys.model.built.ends import End, PortEnd
from fuelsys.model.built.layout import FittedTank, Layout
from fuelsys.model.built.way import Climb, Way
from fuelsys.model.found.phases import AtPhase
from fuelsys.model.stated.attitude import STANDARD_GRAVITY_M_S2, Attitude
from fuelsys.model.stated.components import Engine, Pump


def unusable_by_phase(layout: Layout, tank: FittedTank) -> tuple[AtPhase, ...]:
    """Each stated flow with each pump that may feed from the tank alone, and by gravity where that feeds; every flight attitude.

    An outlet alone gives all the flow, strainers and filters clean, as for the unusable fuel at the greatest flow.
    """
    if not tank.design.outlet:
        return ()
    found = _Phases(Solving.of(layout), tank)
    flows = layout.design.flows_m3_s.items()
    return tuple(found.at(phase, flow, running) for running in found.pumps for phase, flow in flows)


@dataclass(frozen=True, eq=False)
class _Phases:
    solving: Solving
    tank: FittedTank

    @cached_property
    def openings(self) -> list[Opening]:
        return outlets(self.tank)

    @cached_property
    def ends(self) -> list[PortEnd]:
        return [PortEnd(self.tank.name, outlet.name) for outlet in self.tank.drawn_by]

    @cached_property
    def ways(self) -> list[tuple[Way, ...]]:
        """For each outlet its ways, past pumps, to engines and tanks."""
        every = self.solving.layout.network.ways("feed")
        return [tuple(way for way in every if way.start == outlet) for outlet in self.ends]

    @cached_property
    def pumps(self) -> list[str]:
        """The pumps that may run alone; an empty name where fuel runs by gravity."""
        nodes = self.solving.layout.network.nodes
        on_way = [nodes[end] for ways in self.ways for way in ways for end in way.through]
        names = list(dict.fromkeys(part.name for part in on_way if isinstance(part, Pump)))
        return (["", *names] if self.tank.downhill else names) or [""]

    def at(self, phase: str, flow_m3_s: float, running: str) -> AtPhase:
        covers = [self._cover_m(i, flow_m3_s, running) for i in range(len(self.ends))]
        lost = [self._lost(i, flow_m3_s, running) for i in range(len(self.ends))]
        needs = next((one for one in lost if isinstance(one, str)), "")
        known: list[Mapping[End, float]] = [] if needs else [one for one in lost if not isinstance(one, str)]
        found = [self._left(attitude, covers, known, running) for attitude in self.solving.flight]
        attitude, cover, by_flow, left = max(found, key=lambda one: one[3])
        return AtPhase(phase, flow_m3_s, running, attitude, cover, by_flow, None if needs else left, needs)

    def _left(
        self, attitude: Attitude, covers: list[float], lost: list[Mapping[End, float]], running: str
    ) -> tuple[Attitude, float, float | None, float]:
        by_cover = self._drained_m3(attitude, covers)
        if not lost:
            return attitude, by_cover, None, by_cover
        heights = [self._height_m(i, attitude, lost[i], running) for i in range(len(self.ends))]
        both = [max(pair) for pair in zip(covers, heights, strict=True)]
        return attitude, by_cover, self._drained_m3(attitude, heights), self._drained_m3(attitude, both)

    def _drained_m3(self, attitude: Attitude, heights_m: list[float]) -> float:
        pairs = zip(self.openings, heights_m, strict=True)
        held = [replace(opening, cover_m=height, ways=(), heights_m=()) for opening, height in pairs]
        return self.tank.cavity.behind * Drained.of(self.tank.cavity, attitude.up, held).left_m3

    def _cover_m(self, i: int, flow_m3_s: float, running: str) -> float:
        outlet, cover = self.tank.drawn_by[i], self.tank.covers.get(self.tank.drawn_by[i].name)
        if cover is None or not cover.assumed or outlet.bore_m is None:
            return self.openings[i].cover_m
        drawn = [self._drawn_m3_s(end, flow_m3_s) for end in self._fed(i, running)]
        return critical_submergence_m(outlet.bore_m, max(drawn)) if drawn else self.openings[i].cover_m

    def _drawn_m3_s(self, end: End, flow_m3_s: float) -> float:
        return flow_m3_s + self.solving.lost_by_return_m3_s(end)

    def _climbs(self, i: int) -> tuple[Climb, ...]:
        return self.tank.downhill.get(self.tank.drawn_by[i].name, ())

    def _fed(self, i: int, running: str) -> tuple[End, ...]:
        """What an outlet feeds: by gravity, or with a pump running what that pump is on the way to."""
        nodes = self.solving.layout.network.nodes
        if running:
            by_pump = [
                way for way in self.ways[i] if any(getattr(nodes[end], "name", "") == running for end in way.through)
            ]
            return tuple(way.end for way in by_pump)
        return tuple(climb.way.end for climb in self._climbs(i)) or tuple(way.end for way in self.ways[i])

    def _lost(self, i: int, flow_m3_s: float, running: str) -> Mapping[End, float] | str:
        """For each end that it feeds what the lines take and the end needs, less what the pump adds; or what is missing."""
        nodes = self.solving.layout.network.nodes
        pump = next((part for part in nodes.values() if isinstance(part, Pump) and part.name == running), None)
        if pump is not None and pump.curve is None:
            return f"the curve of {running}"
        if self.solving.known is None:
            return f"fuel.viscosity: {self.solving.layout.design.fuel.kind} thickens in the cold"
        if self.solving.back_m3_s is None:
            return "the engine's return_flow"
        ends = self._fed(i, running)
        unsaid = [end for end in ends if isinstance(part := nodes[end], Engine) and part.inlet_pressure_pa is None]
        found = {
            end: lost_pa(self.solving, self.ends[i], end, self._drawn_m3_s(end, flow_m3_s), frozenset([running]))
            for end in ends
        }
        if unsaid and running:
            return f"the inlet_pressure of {unsaid[0]}"
        drops = [name for end in ends for name in self.solving.unstated(end)]
        if drops:
            return f"the drop of {drops[0]}"
        known = {end: lost for end, lost in found.items() if lost is not None}
        return known if len(known) == len(found) else "a steady flow through its lines"

    def _height_m(self, i: int, attitude: Attitude, lost_pa: Mapping[End, float], running: str) -> float:
        """How far above an outlet the surface must stand at an attitude; by gravity at least at its line's highest point."""
        own = float(self.openings[i].spot.point_m @ attitude.up)
        needed = min(self._levels_m(i, attitude, lost_pa, running), default=own)
        opening = self.openings[i]
        if opening.into:  # what the tank that it runs into keeps
            needed = max(needed, opening.level_m(attitude.up) - opening.starved_m(attitude.up))
        return max(0.0, needed - own)

    def _levels_m(self, i: int, attitude: Attitude, lost_pa: Mapping[End, float], running: str) -> Iterator[float]:
        centre = float(self.tank.cavity.centre_m @ attitude.up)
        tops = {} if running else {climb.way.end: climb.top_m(attitude.up) for climb in self._climbs(i)}
        for end, lost in lost_pa.items():
            # What a pump adds lifts least where apparent gravity is strongest; what lines take counts at g, the safe side.
            gravity = attitude.gravity_m_s2 if lost < 0.0 else STANDARD_GRAVITY_M_S2
            height = lost / self.solving.density_kg_m3 / gravity
            level = self.solving.level_m(end, attitude) - centre + height
            yield max(tops.get(end, level), level)
