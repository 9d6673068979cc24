"""What the feed lines bring to the engine, to a pump and into a tank when the tanks that feed hold their last usable fuel.

The surfaces stand where the outlets begin to take air, the air over them and at the end of the lines has one pressure,
strainers and filters are half blocked, and the fuel is cold. Each tank feeds alone, and all together where the design lets
them.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from functools import cached_property

from fuelsys.analysis.lines.flow import Node, Piping
from fuelsys.analysis.lines.hydraulics import COLD_VISCOSITIES, Fluid, element_of
from fuelsys.analysis.lines.required_flow import FLOW_FACTORS, required_flow_m3_s
from fuelsys.analysis.lines.sources import stops
from fuelsys.analysis.tank.combined import combinations
from fuelsys.analysis.tank.unusable import every_outlet
from fuelsys.model.built.ends import End, PortEnd
from fuelsys.model.built.layout import Layout
from fuelsys.model.built.way import Way
from fuelsys.model.found.flow import Carried, FedKind, FeedTo, Missing
from fuelsys.model.stated.attitude import Attitude
from fuelsys.model.stated.components import Component, Engine, Filter, Pump, Selector
from fuelsys.model.stated.fittings import Inlet, Return

LEAST_FALL_M = 1e-3  # a combination of tilts that costs less is not looked at


@dataclass(frozen=True, eq=False)
class Solving:
    """One layout's feed lines with its fuel; fluid is None where its viscosity is not known."""

    layout: Layout
    known: Fluid | None

    @classmethod
    def of(cls, layout: Layout) -> Solving:
        """Of a layout."""
        fuel = layout.design.fuel
        viscosity = fuel.viscosity_m2_s or COLD_VISCOSITIES.get(fuel.kind)
        return cls(layout, Fluid(fuel.density_kg_m3, viscosity) if viscosity else None)

    @property
    def fluid(self) -> Fluid:
        """The fuel; asked for only where its viscosity is known."""
        assert self.known is not None
        return self.known

    @property
    def stops(self) -> tuple[type[Component] | End, ...]:
        """What ends a way of the feed."""
        return stops(self.layout)

    @property
    def take_off_m3_s(self) -> float:
        """The take-off flow; asked for only where it is stated."""
        return self.layout.design.flows_m3_s["takeoff"]

    @property
    def density_kg_m3(self) -> float:
        """The fuel's."""
        return self.layout.design.fuel.density_kg_m3

    def fed_by(self, outlet: End) -> tuple[End, ...]:
        """The engines, pumps and tanks that an outlet's feed lines lead to, or its interconnect line where it has no other."""
        if not self.layout.network.lines_at(outlet, "feed"):
            climbs = self.layout.tank(outlet.tank or "").downhill.get(getattr(outlet, "port", ""), ())
            return tuple(climb.way.end for climb in climbs)
        return tuple(
            dict.fromkeys(way.end for way in self.layout.network.ways("feed", self.stops) if way.start == outlet)
        )

    def drawn_m3_s(self, end: End) -> float:
        """The most that an end draws: the greatest flow that is stated, and what engines return elsewhere."""
        return max(self.layout.design.flows_m3_s.values()) + self.lost_by_return_m3_s(end)

    def lost_by_return_m3_s(self, end: End) -> float:
        """What engines return, but for those whose lines all lead it back into the tank that an end is of; what is not stated
        counts as nothing."""
        network = self.layout.network
        engines = [(one, node) for one, node in network.nodes.items() if isinstance(node, Engine)]
        lost = (node.return_flow_m3_s for one, node in engines if network.return_tanks(one) != {end.tank})
        return sum(one for one in lost if one is not None)

    @cached_property
    def piping(self) -> Piping:
        """The lines with strainers and filters half blocked, no pump running."""
        return Piping(self.layout.network, self.fluid)

    @cached_property
    def flight(self) -> tuple[Attitude, ...]:
        """The stated flight attitudes."""
        return tuple(attitude for attitude in self.layout.design.envelope if attitude.phase == "flight")

    @cached_property
    def back_m3_s(self) -> float | None:
        """What all engines send back; None where one has a return line and does not say."""
        engines = [part for part in self.layout.design.component if isinstance(part, Engine)]
        returns = any(line.kind == "return" for line in self.layout.lines)
        stated = [engine.return_flow_m3_s for engine in engines if engine.return_flow_m3_s is not None]
        return None if returns and not stated else sum(stated)

    def feeds(self, end: End) -> Iterator[FeedTo | Missing]:
        """The feed of one end."""
        part = self.layout.network.nodes[end]
        if self.back_m3_s is None:
            yield Missing("", str(end), "the engine's return_flow: it has a return line")
            return
        yield from self.sucked(end)
        if isinstance(part, Pump):
            brought = self._transferred if end in self.layout.network.transfer_pumps else self._delivered
            yield from brought(end, self._sucked_m3_s(end))
        elif isinstance(part, (Inlet, Return)):
            yield self._into(end)

    def sucked(self, end: End) -> Iterator[FeedTo]:
        """What comes to an engine by gravity and to a pump's inlet; asked for only where what engines return is known."""
        part = self.layout.network.nodes[end]
        if isinstance(part, Engine):
            needed = required_flow_m3_s(self.take_off_m3_s, self.layout.design.aircraft.feed, self.back_m3_s or 0.0)
            yield self._fed("gravity", end, needed, part.inlet_pressure_pa or 0.0)
        elif isinstance(part, Pump):
            yield self._fed("suction", end, self._sucked_m3_s(end), 0.0)

    def _sucked_m3_s(self, pump: End) -> float:
        lifting = pump in self.layout.network.transfer_pumps
        return self.lifted_m3_s if lifting else required_flow_m3_s(self.take_off_m3_s, "pump", self.back_m3_s or 0.0)

    def _fed(self, kind: FedKind, end: End, needed_m3_s: float, needed_pa: float) -> FeedTo:
        at = tuple(
            self.carried(self.piping, end, needed_m3_s, needed_pa, chosen, attitude)
            for chosen in self.together(end)
            for attitude in self.attitudes(end, chosen)
        )
        return FeedTo(kind, end, needed_m3_s, needed_pa, at, self.unstated(end))

    def _delivered(self, pump: End, needed_m3_s: float) -> Iterator[FeedTo | Missing]:
        """Each pump on the way to an engine alone, the others letting fuel pass: 14 CFR 23.955(c) asks it of each."""
        network = self.layout.network
        outs = [
            way for way in network.ways("feed") if isinstance(network.nodes[way.end], Engine) and pump in way.through
        ]
        for way in outs:
            engine = network.nodes[way.end]
            assert isinstance(engine, Engine)
            for one in (end for end in way.through if isinstance(network.nodes[end], Pump)):
                part = network.nodes[one]
                assert isinstance(part, Pump)
                where = f"{way.start} to {way.end} by {part.name}"
                if part.curve is None:
                    yield Missing("pumped", where, f"the curve of {part.name}: what it delivers")
                    continue
                piping = Piping(network, self.fluid, frozenset([part.name]))
                pressure = engine.inlet_pressure_pa or 0.0
                at = tuple(
                    self.carried(piping, way.end, needed_m3_s, pressure, (way.start,), attitude)
                    for attitude in self.attitudes(way.end, (way.start,))
                )
                yield FeedTo("pumped", way.end, needed_m3_s, pressure, at, self.unstated(way.end), part.name)

    @property
    def lifted_m3_s(self) -> float:
        """What a pump must bring into a tank: 14 CFR 23.955(d) asks it of the maximum continuous flow."""
        lasting = self.layout.design.flows_m3_s.get("max_continuous", self.take_off_m3_s)
        return required_flow_m3_s(lasting, "pump")

    def _transferred(self, pump: End, needed_m3_s: float) -> Iterator[FeedTo | Missing]:
        """What a pump that only fills tanks brings into each."""
        network, part = self.layout.network, self.layout.network.nodes[pump]
        assert isinstance(part, Pump)
        for way in network.ways("feed"):
            if pump not in way.through or not way.end.tank:
                continue
            if part.curve is None:
                yield Missing("transfer", f"{way.start} to {way.end}", f"the curve of {part.name}: what it delivers")
                continue
            piping = Piping(network, self.fluid, frozenset([part.name]))
            at = tuple(
                self.carried(piping, way.end, needed_m3_s, 0.0, (way.start,), attitude)
                for attitude in self.attitudes(way.end, (way.start,))
            )
            yield FeedTo("transfer", way.end, needed_m3_s, 0.0, at, self.unstated(way.end), part.name)

    def _into(self, end: End) -> FeedTo:
        """A tank filled from others by gravity: what it needs is what the engine draws, with a margin in the long run."""
        tank = self.layout.tank(end.tank or "")
        lasting = self.layout.design.flows_m3_s.get("max_continuous", 0.0) * FLOW_FACTORS["gravity"]
        needed = max(self.take_off_m3_s, lasting) + self.lost_by_return_m3_s(end)
        full, free = list[Carried](), list[Carried]()
        for chosen in self.together(end):
            for attitude in self.attitudes(end, chosen):
                up = attitude.up
                own = self.level_m(end, attitude)
                top = float((tank.cavity.vertices_m @ up).max() + tank.cavity.centre_m @ up)
                for levels, found in ((max(top, own), full), (own, free)):
                    pressure = self.head_pa(levels, attitude)
                    found.append(self._arriving(self.piping, end, needed, pressure, chosen, attitude))
        return FeedTo("tank", end, needed, 0.0, tuple(full), self.unstated(end), free=tuple(free))

    @cached_property
    def combined(self) -> tuple[Attitude, ...]:
        """Where pitch and roll of stated flight attitudes come together."""
        return combinations(self.flight)

    def attitudes(self, end: End, chosen: tuple[End, ...]) -> tuple[Attitude, ...]:
        """The flight attitudes, and the combination of their tilts with the least fall to an end where that is less.

        What a given flow loses does not depend on the attitude, so where one outlet feeds the least fall is the worst.
        """

        def fall_m(attitude: Attitude) -> float:
            return min(self.surface_m(outlet, attitude) for outlet in chosen) - self.level_m(end, attitude)

        worst = min(self.combined, key=fall_m)
        least_m = min(fall_m(attitude) for attitude in self.flight)
        return (*self.flight, worst) if fall_m(worst) < least_m - LEAST_FALL_M else self.flight

    def together(self, end: End) -> list[tuple[End, ...]]:
        """The outlets that may feed an end at once: each tank's, and those of several that no selector keeps apart."""
        ways = [way for way in self.layout.network.ways("feed", self.stops) if way.end == end and way.start.tank]
        groups: dict[object, list[End]] = {}
        for way in ways:
            groups.setdefault(self._chosen_by(way), []).append(way.start)
        tanks = dict.fromkeys(way.start.tank for way in ways)
        alone = [tuple(dict.fromkeys(way.start for way in ways if way.start.tank == tank)) for tank in tanks]
        several = [tuple(dict.fromkeys(group)) for group in groups.values() if len({one.tank for one in group}) > 1]
        return [*alone, *several]

    def _chosen_by(self, way: Way) -> tuple[tuple[End, str], ...]:
        """The lines by which a way comes to selectors that let one line pass at a time: what differs there never feeds at once."""
        nodes = self.layout.network.nodes
        comes = ((step.end, step.line.name, nodes[step.end]) for step in way.shortest)
        return tuple((end, line) for end, line, part in comes if isinstance(part, Selector) and part.both is not True)

    def unstated(self, end: End) -> tuple[str, ...]:
        """Filters on the way to an end whose drop is not stated."""
        network = self.layout.network
        ways = {*network.ways("feed", self.stops), *network.ways("feed")}
        parts = [network.nodes[one] for way in ways if way.end == end for one in way.through]
        names = [part.name for part in parts if isinstance(part, Filter) and element_of(part) is None]
        return tuple(sorted(set(names)))

    def head_pa(self, level_m: float, attitude: Attitude) -> float:
        """The pressure of fuel that stands up to a level from the datum."""
        return self.fluid.density_kg_m3 * attitude.gravity_m_s2 * level_m

    def level_m(self, end: End, attitude: Attitude) -> float:
        """The level of the place at which lines meet an end, from the datum."""
        line = self.layout.network.lines_at(end)[0]
        return float(line.points_m[0 if line.start == end else -1] @ attitude.up)

    def surface_m(self, outlet: End, attitude: Attitude) -> float:
        """The level at which an outlet begins to take air, from the datum."""
        assert isinstance(outlet, PortEnd)
        tank = self.layout.tank(outlet.tank)
        names = [one.name for one in tank.design.outlet]
        opening = every_outlet(tank)[names.index(outlet.port)]
        up = attitude.up  # what the flow asks for on top is what is to be judged here
        return opening.level_m(up) - opening.starved_m(up) + float(tank.cavity.centre_m @ up)

    def given_pa(self, chosen: Iterable[End], attitude: Attitude) -> dict[Node, float]:
        """The pressures at outlets whose surfaces stand where they begin to take air."""
        return {(outlet, ""): self.head_pa(self.surface_m(outlet, attitude), attitude) for outlet in chosen}

    def carried(
        self,
        piping: Piping,
        end: End,
        needed_m3_s: float,
        needed_pa: float,
        chosen: tuple[End, ...],
        attitude: Attitude,
    ) -> Carried:
        pressure = needed_pa + self.head_pa(self.level_m(end, attitude), attitude)
        return self._arriving(piping, end, needed_m3_s, pressure, chosen, attitude)

    def _arriving(
        self,
        piping: Piping,
        end: End,
        needed_m3_s: float,
        potential_pa: float,
        chosen: tuple[End, ...],
        attitude: Attitude,
    ) -> Carried:
        """What comes to an end that holds a pressure (head included), and what pressure is left there at the needed flow."""
        given, node = self.given_pa(chosen, attitude), piping.node(end, "in")
        usual = max(needed_m3_s, 1e-6)
        drawn = piping.solved(given, {node: needed_m3_s}, usual)
        met = piping.solved(given | {node: potential_pa}, {}, usual)
        flow = max(0.0, met.out_of(node)) if met else 0.0
        tanks = tuple(dict.fromkeys(one.tank or "" for one in chosen))
        if drawn is None:
            return Carried(attitude, tanks, None, flow, None)
        own = self.head_pa(self.level_m(end, attitude), attitude)
        return Carried(
            attitude, tanks, drawn.at(node) - own, flow, drawn.lowest_pa(self.head_pa(1.0, attitude), attitude.up)
        )
