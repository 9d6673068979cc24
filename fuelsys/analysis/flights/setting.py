"""What a flight is flown with: the design's lines, fuel and segments, what is loaded, and what goes wrong."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import cached_property

from fuelsys.analysis.flights.legs import Leg, room_m3
from fuelsys.analysis.flights.plumbed import Plumbed, Positions, tanks_behind
from fuelsys.analysis.flights.tolerances import with_tolerances
from fuelsys.analysis.lines.airing import shut_in
from fuelsys.analysis.lines.flow import MOST_LINES
from fuelsys.analysis.lines.solving import Solving
from fuelsys.analysis.lines.vapour import hot_vapour_pa
from fuelsys.analysis.tank.filling import filled
from fuelsys.analysis.tank.standing import Halves, Standing
from fuelsys.errors import QuestionError
from fuelsys.model.built.ends import ComponentEnd, End
from fuelsys.model.built.layout import Layout
from fuelsys.model.stated.attitude import Attitude
from fuelsys.model.stated.components import Engine, Filter, Pump, Selector
from fuelsys.model.stated.design import Segment
from fuelsys.model.words import Doubt

Group = tuple[str, ...]  # tanks that share air
Groups = tuple[Group, ...]


@dataclass(frozen=True)
class Upset:
    """One thing that is wrong, in words; empty: nothing is.

    stuck are lamps (tank and switch) that tell nothing, blocked the vent lines that let no air through, leaking what shuts badly;
    attitude is flown in place of the flight's own, for held_s or to the end.
    """

    words: str
    shut: frozenset[str] = frozenset()
    selectors: Mapping[str, str] = field(default_factory=dict)
    stopped: frozenset[str] = frozenset()
    dry: frozenset[str] = frozenset()
    half: frozenset[str] = frozenset()
    stuck: frozenset[tuple[str, str]] = frozenset()
    blocked: frozenset[str] = frozenset()
    returns_to: str = ""
    loaded: float = 1.0
    leaking: frozenset[str] = frozenset()
    attitude: Attitude | None = None
    held_s: float | None = None

    @property
    def only_lamps(self) -> bool:
        """Whether nothing is wrong but that lamps tell nothing: the fuel runs as ever."""
        return bool(self.stuck) and self == Upset(self.words, stuck=self.stuck)


@dataclass(eq=False)
class World:
    """A layout to be flown in; QuestionError where something is missing that every flight needs.

    own_power: its lamps light without electric power too.
    """

    layout: Layout
    notes: list[str] = field(default_factory=list)
    standings: dict[tuple[str, Attitude], Standing] = field(default_factory=dict)
    own_power: bool = False
    _halves: dict[tuple[str, Attitude], Halves | None] = field(default_factory=dict)
    _plumbed: dict[object, Plumbed] = field(default_factory=dict)

    @classmethod
    def of(cls, layout: Layout) -> World:
        """Of a layout; a mark whose tolerance is not stated gets a new switch's."""
        layout, unstated = with_tolerances(layout)
        found = cls(layout, own_power=layout.design.aircraft.lamps_own_power, notes=[*layout.notes])
        if found.solving.known is None:
            raise found.missing(f"fuel.viscosity: {layout.design.fuel.kind} thickens in the cold")
        if len([line for line in layout.lines if line.kind in ("feed", "interconnect")]) > MOST_LINES:
            raise found.missing(f"at most {MOST_LINES} feed and interconnect lines")
        found.notes += [*(said for tank in layout.tanks for said in tank.untested), *found.doubts(), *unstated]
        return found

    def missing(self, needs: str) -> QuestionError:
        """The error that says what a flight needs."""
        found = f"no flight can be computed: it needs {needs}"
        return QuestionError(found, mend="State it.", file=self.layout.file, needs=needs)

    @cached_property
    def solving(self) -> Solving:
        """The design's fuel and lines."""
        return Solving.of(self.layout)

    @property
    def names(self) -> tuple[str, ...]:
        """The tanks."""
        return tuple(tank.name for tank in self.layout.tanks)

    @cached_property
    def engine(self) -> End:
        """The engine that feed lines lead to."""
        network = self.layout.network
        found = {way.end: None for way in network.ways("feed") if isinstance(network.nodes[way.end], Engine)}
        if len(found) != 1:
            there = "there is none" if not found else f"there are {len(found)}"
            raise self.missing(f"one engine that feed lines lead to from a tank's outlet: {there}")
        return next(iter(found))

    @property
    def engine_part(self) -> Engine:
        """The same as a component."""
        part = self.layout.network.nodes[self.engine]
        assert isinstance(part, Engine)
        return part

    @cached_property
    def back_m3_s(self) -> float:
        """What the engine sends back."""
        if not self.layout.network.return_tanks(self.engine):
            return 0.0
        if self.engine_part.return_flow_m3_s is None:
            raise self.missing("the engine's return_flow: it has a return line")
        return self.engine_part.return_flow_m3_s

    def doubts(self) -> list[Doubt]:
        """What the flight counts as nothing, or does not look at, since the design does not say it."""
        network = self.layout.network
        on_way = {end for way in network.ways("feed") for end in way.through}
        parts = [network.nodes[end] for end in on_way]
        unstated = sorted(p.name for p in parts if isinstance(p, Filter) and p.drop_pa is None)
        curveless = sorted(p.name for p in parts if isinstance(p, Pump) and p.curve is None)
        found: list[Doubt] = []
        if unstated:
            found.append(Doubt(f"the drop of {', '.join(unstated)} is not stated and counts as nothing."))
        if curveless:
            named = ", ".join(curveless)
            found.append(Doubt(f"the curve of {named} is not stated; it is taken to bring what the engine needs."))
        elif self.engine_part.inlet_pressure_pa is None and any(isinstance(p, Pump) for p in parts):
            found.append(Doubt("the engine's inlet_pressure is not stated; whether the pumps reach it is not judged."))
        unvented = [tank.name for tank in self.layout.tanks if not tank.design.vent]
        if unvented:
            found.append(Doubt(f"{', '.join(unvented)} shows no vent and is taken as vented."))
        starved = [name for group in self.airless(frozenset(), {}, frozenset()) for name in group]
        if starved:
            found.append(Doubt(f"no air comes into {', '.join(starved)} past a check valve in the vent line."))
        for end, part in network.nodes.items():
            if isinstance(part, Selector) and len(network.lines_at(end, "vent")) > 2:
                joins = f"{part.name} joins two of its vent lines{', or all' if part.both else ''}"
                all_as = "this flight counts all as joined; each setting is flown with --failures"
                found.append(Doubt(f"{joins}; {all_as}."))
        return found

    # --- segments

    def segments(self, upset: Upset | None = None) -> tuple[Segment, ...]:
        """The design's flight, or from full at the normal attitude and the reserve flow until the engine gets air."""
        design = self.layout.design
        if design.flight:
            return design.flight
        attitude, flow = design.normal("flight").name, design.fuel.reserve_phase
        turned = {
            name: places for name, places in self.places.items() if name not in (upset.selectors if upset else {})
        }
        first = {name: places[0] for name, places in turned.items()}
        several = next((name for name, places in turned.items() if len(places) > 1), None)
        if several is None:
            return (Segment(name=attitude, attitude=attitude, flow=flow, selectors=first),)
        return tuple(
            Segment(
                name=f"{attitude}, {several} on {place}",
                attitude=attitude,
                flow=flow,
                selectors={**first, several: place},
            )
            for place in turned[several]
        )

    @cached_property
    def places(self) -> dict[str, tuple[str, ...]]:
        """Where each selector stands in a flight that is not stated: on both, else on one tank after the other."""
        network = self.layout.network
        found = {}
        for end, part in network.nodes.items():
            if isinstance(part, Selector):
                behind = [tanks_behind(network, line) for line in network.lines_at(end, "feed") if line.end == end]
                each = tuple(name for name in self.names if any(name in some for some in behind))
                found[part.name] = ("both",) if part.both is True or len(each) < 2 else each
        return found

    def loaded(self, first: Segment, upset: Upset) -> dict[str, float]:
        """What is in each tank at the beginning: as stated, or as filled on the ground."""
        ground = self.layout.design.normal("ground")
        found = {}
        for tank in self.layout.tanks:
            stated = first.loaded_m3.get(tank.name)
            if stated is None:
                full = filled(self.layout, tank, ground)
                stated = full.volume_m3 if full else tank.cavity.gross_m3
            elif stated > tank.cavity.gross_m3:
                raise QuestionError(
                    f"{stated * 1e3:.3f} L are loaded, the tank holds {tank.cavity.gross_m3 * 1e3:.3f} L",
                    mend="Load no more than it holds.",
                    file=self.layout.file,
                    field=f"flight {first.name}.loaded.{tank.name}",
                )
            found[tank.name] = stated * upset.loaded
        return found

    def standing(self, name: str, attitude: Attitude) -> Standing:
        """A tank at an attitude."""
        if (name, attitude) not in self.standings:
            self.standings[name, attitude] = Standing.of(self.layout, self.layout.tank(name), attitude)
        return self.standings[name, attitude]

    def halved(self, name: str, attitude: Attitude) -> Halves | None:
        """The two pools that a tank's fuel parts into at an attitude."""
        if (name, attitude) not in self._halves:
            tank = self.layout.tank(name)
            self._halves[name, attitude] = Halves.of(self.layout, tank, self.standing(name, attitude))
        return self._halves[name, attitude]

    def airless(self, shut: frozenset[str], selectors: Mapping[str, str], blocked: frozenset[str]) -> Groups:
        """The tanks whose air is shut in, by blocked lines, by valves shut and selectors off in vent lines, by check valves."""
        off = shut | {name for name, place in selectors.items() if place == "off"}
        ends = [ComponentEnd(name) for name in off]
        return shut_in(
            self.layout.network,
            blocked | {line.name for end in ends for line in self.layout.network.lines_at(end, "vent")},
        )

    def leg(
        self, segment: Segment, upset: Upset, held_m3: Mapping[str, float], shut_in_m3: dict[Group, float] | None = None
    ) -> Leg:
        """One part of the flight with what is wrong in it.

        shut_in_m3 keeps from part to part the room that air had when it was shut in: it does not come to the outside's pressure again.
        """
        design, network = self.layout.design, self.layout.network
        attitude = upset.attitude or next(one for one in design.envelope if one.name == segment.attitude)
        running = {part.name for part in network.nodes.values() if isinstance(part, Pump) and part.curve}
        running = running if segment.pumps is None else set(segment.pumps)
        selectors = (
            {name: places[0] for name, places in self.places.items()} | segment.selectors | dict(upset.selectors)
        )
        shut, pumps = frozenset(segment.shut) | upset.shut, frozenset(running - upset.stopped)
        positions = Positions(selectors, shut, pumps, upset.dry, upset.half, upset.leaking)
        standings = {name: self.standing(name, attitude) for name in self.names}
        groups = self.airless(positions.shut, selectors, upset.blocked)
        at_first = {} if shut_in_m3 is None else shut_in_m3
        for group in groups:
            at_first.setdefault(group, room_m3([standings[tank] for tank in group], [held_m3[tank] for tank in group]))
        rooms = tuple((group, at_first[group]) for group in groups)
        head = self.solving.density_kg_m3 * attitude.gravity_m_s2
        return Leg(
            attitude,
            Plumbed.of(network, self.solving.fluid, positions, self._plumbed),
            standings,
            self.engine,
            design.flows_m3_s[segment.flow],
            self.back_m3_s,
            self.back_to(segment, upset, selectors),
            head,
            self.needed_pa(attitude, head),
            rooms,
            hot_vapour_pa(design.fuel.kind, design.fuel.reid_pressure_pa),
        )

    def needed_pa(self, attitude: Attitude, head: float) -> float | None:
        """The pressure with its head that the engine asks for; None where a pump of unknown curve brings it."""
        network = self.layout.network
        parts = [network.nodes[end] for way in network.ways("feed") if way.end == self.engine for end in way.through]
        mechanical = any(isinstance(part, Pump) and part.curve is None for part in parts)
        unknown = self.engine_part.inlet_pressure_pa is None and self.layout.design.aircraft.feed == "pump"
        if mechanical or unknown:
            return None
        line = network.lines_at(self.engine, "feed")[0]
        level = float(line.points_m[0 if line.start == self.engine else -1] @ attitude.up)
        return (self.engine_part.inlet_pressure_pa or 0.0) + head * level

    def back_to(self, segment: Segment, upset: Upset, selectors: Mapping[str, str]) -> str:
        """The tank that gets what the engine sends back."""
        network = self.layout.network
        tanks = sorted(network.return_tanks(self.engine))
        stated = upset.returns_to or segment.returns_to
        if stated:
            if stated not in tanks:
                raise QuestionError(
                    f"no return line leads to the tank {stated}",
                    mend=f"Name one of: {', '.join(tanks) or 'none'}.",
                    file=self.layout.file,
                    field=f"flight {segment.name}.returns_to",
                )
            return stated
        if len(tanks) < 2 or not self.back_m3_s:
            return tanks[0] if tanks else ""
        switching = [n.name for n in network.nodes.values() if isinstance(n, Selector) and n.switches_return]
        on = [selectors[name] for name in switching if selectors.get(name) in tanks]
        if not on:
            raise self.missing(f"returns_to in [[flight]]: return lines lead to {', '.join(tanks)}")
        return on[0]
