"""What the feed lines bring to the engine, to a pump and into a tank when the tanks that feed hold their last usable fuel.

The surfaces stand where the outlets begin to take air, the air over them and at the end of the lines has one pressure,
strainers and filters are half blocked, and the fuel is cold. Each tank feeds alone, and all together where the design lets
them.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from functools import cached_property

from fuelsys.analysis.combined import combinations
from fuelsys.analysis.flow import MOST_LINES, Node, Piping
from fuelsys.analysis.hydraulics import Fluid, square_of
from fuelsys.analysis.required_flow import FLOW_FACTORS, required_flow_m3_s
from fuelsys.analysis.states import states
from fuelsys.analysis.unusable import outlets
from fuelsys.analysis.vapour import air_pressure_pa, hot_vapour_pa
from fuelsys.kernels.steady import NotSteadyError
from fuelsys.model.attitude import Attitude
from fuelsys.model.design import Component, Engine, Filter, Inlet, Pump, Return, Selector
from fuelsys.model.ends import End, PortEnd
from fuelsys.model.flowing import Carried, DryBranch, FedKind, FeedTo, Flows, Missing
from fuelsys.model.layout import Layout

# Of cold fuel [m2/s]. Jet: the limit at -20 degC of ASTM D1655. Avgas and mogas: 0.6 mm2/s at 15 to 20 degC, from memory, and
# half as much again for cold. Diesel thickens so much that the design has to say it.
COLD_VISCOSITIES = {"avgas": 0.9e-6, "mogas": 0.9e-6, "jet": 8e-6}

LEAST_FALL_M = 1e-3  # a combination of tilts that costs less is not looked at


def flows(layout: Layout) -> Flows:
    """What the feed lines of a layout carry; with what is missing where something is."""
    fuel, ceiling_m = layout.design.fuel, layout.design.aircraft.ceiling_m
    viscosity = fuel.viscosity_m2_s or COLD_VISCOSITIES.get(fuel.kind)
    fed = [end for end in layout.network.nodes if sources_of(layout, end)]
    if not fed:
        return Flows(states=states(layout))
    take_off = layout.design.flows_m3_s.get("takeoff")
    lines = [line for line in layout.lines if line.kind in ("feed", "interconnect")]
    if len(lines) > MOST_LINES:
        return _none(layout, fed, f"at most {MOST_LINES} feed and interconnect lines: there are {len(lines)}")
    if take_off is None:
        return _none(layout, fed, "a flow named takeoff")
    if viscosity is None:
        return _none(layout, fed, f"fuel.viscosity: {fuel.kind} thickens in the cold")
    solving = Solving.of(layout)
    try:
        found = list({_named(one): one for end in fed for one in solving.feeds(end)}.values())
        dry = (*solving.dry_branches(), *solving.bared_outlets())
    except NotSteadyError:
        return _none(
            layout,
            fed,
            "the solver to find a flow, and it found none: that is a fault of this program, not of your file; please report it",
        )
    return Flows(
        to=tuple(one for one in found if isinstance(one, FeedTo)),
        dry=dry,
        missing=tuple(one for one in found if isinstance(one, Missing)),
        viscosity_m2_s=viscosity,
        assumed="" if fuel.viscosity_m2_s else f"{viscosity * 1e6:g} mm2/s assumed for cold {fuel.kind}",
        air_pa=None if ceiling_m is None else air_pressure_pa(ceiling_m),
        vapour_pa=hot_vapour_pa(fuel.kind, fuel.reid_pressure_pa),
        states=states(layout),
    )


def _named(one: FeedTo | Missing) -> object:
    """What tells one feed from another: two pumps side by side each find both."""
    return one if isinstance(one, Missing) else (one.kind, one.end, one.running, *(found.tanks for found in one.at))


def _none(layout: Layout, fed: Iterable[End], needs: str) -> Flows:
    found = states(layout)
    return Flows(missing=tuple(Missing("", str(end), needs) for end in fed), states=found)


def stops(layout: Layout) -> tuple[type[Component] | End, ...]:
    """What ends a way of the feed: a pump; where gravity feeds the engine, one that only fills tanks: others may stand still."""
    return (Pump,) if layout.design.aircraft.feed == "pump" else layout.network.transfer_pumps


def sources_of(layout: Layout, end: End) -> tuple[End, ...]:
    """The outlets from which feed lines lead to an engine, a pump or a tank's port, past no other that ends a way."""
    ways = [way for way in layout.network.ways("feed", stops(layout)) if way.end == end and way.start.tank]
    return tuple(dict.fromkeys(way.start for way in ways))


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

    # --- what the flow asks of one outlet

    def fed_by(self, outlet: End) -> tuple[End, ...]:
        """The engines, pumps and tanks that an outlet's feed lines lead to."""
        return tuple(
            dict.fromkeys(way.end for way in self.layout.network.ways("feed", self.stops) if way.start == outlet)
        )

    def drawn_m3_s(self, end: End) -> float:
        """The most that an end draws: the greatest flow that is stated, and what engines return elsewhere."""
        back = self.back_m3_s or 0.0
        network = self.layout.network
        if end.tank and any(end.tank in network.return_tanks(one) for one in network.nodes if self._is_engine(one)):
            back = 0.0
        return max(self.layout.design.flows_m3_s.values()) + back

    def _is_engine(self, end: End) -> bool:
        return isinstance(self.layout.network.nodes[end], Engine)

    def lost_pa(self, outlet: End, end: End) -> float | None:
        """What the lines take from an outlet that alone gives all that an end draws, and what the end asks for on top.

        Strainers and filters clean. None where that is not known, or no line leads there.
        """
        piping = Piping(self.layout.network, self.fluid, blocked=False) if self.known else None
        if piping is None or len(piping.lines) > MOST_LINES or end not in self.fed_by(outlet):
            return None
        part, node = self.layout.network.nodes[end], piping.node(end, "in")
        state = piping.solved({(outlet, ""): 0.0}, {node: self.drawn_m3_s(end)}, self.drawn_m3_s(end))
        needed = part.inlet_pressure_pa or 0.0 if isinstance(part, Engine) else 0.0
        return None if state is None else needed - state.at(node)

    @cached_property
    def piping(self) -> Piping:
        return Piping(self.layout.network, self.fluid)

    @cached_property
    def flight(self) -> tuple[Attitude, ...]:
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
        elif isinstance(part, Engine):
            needed = required_flow_m3_s(self.take_off_m3_s, self.layout.design.aircraft.feed, self.back_m3_s)
            yield self._fed("gravity", end, needed, part.inlet_pressure_pa or 0.0)
        elif isinstance(part, Pump):
            lifting = end in self.layout.network.transfer_pumps
            needed = required_flow_m3_s(self.take_off_m3_s, "pump", self.back_m3_s)
            needed = self.lifted_m3_s if lifting else needed
            yield self._fed("suction", end, needed, 0.0)
            yield from self._transferred(end, needed) if lifting else self._delivered(end, needed)
        elif isinstance(part, (Inlet, Return)):
            yield self._into(end)

    def _fed(self, kind: FedKind, end: End, needed_m3_s: float, needed_pa: float) -> FeedTo:
        at = tuple(
            self._carried(self.piping, end, needed_m3_s, needed_pa, chosen, attitude)
            for chosen in self._together(end)
            for attitude in self._attitudes(end, chosen)
        )
        return FeedTo(kind, end, needed_m3_s, needed_pa, at, self._unstated(end))

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
                    self._carried(piping, way.end, needed_m3_s, pressure, (way.start,), attitude)
                    for attitude in self._attitudes(way.end, (way.start,))
                )
                yield FeedTo("pumped", way.end, needed_m3_s, pressure, at, self._unstated(way.end), part.name)

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
                self._carried(piping, way.end, needed_m3_s, 0.0, (way.start,), attitude)
                for attitude in self._attitudes(way.end, (way.start,))
            )
            yield FeedTo("transfer", way.end, needed_m3_s, 0.0, at, self._unstated(way.end), part.name)

    def _into(self, end: End) -> FeedTo:
        """A tank filled from others by gravity: what it needs is what the engine draws, with a margin in the long run."""
        network, tank = self.layout.network, self.layout.tank(end.tank or "")
        returned = {
            name
            for node in network.nodes
            if isinstance(network.nodes[node], Engine)
            for name in network.return_tanks(node)
        }
        more = 0.0 if tank.name in returned else self.back_m3_s or 0.0
        lasting = self.layout.design.flows_m3_s.get("max_continuous", 0.0) * FLOW_FACTORS["gravity"]
        needed = max(self.take_off_m3_s, lasting) + more
        full, free = list[Carried](), list[Carried]()
        for chosen in self._together(end):
            for attitude in self._attitudes(end, chosen):
                up = attitude.up
                own = self._level(end, attitude)
                top = float((tank.cavity.vertices_m @ up).max() + tank.cavity.centre_m @ up)
                for levels, found in ((max(top, own), full), (own, free)):
                    pressure = self._head(levels, attitude)
                    found.append(self._arriving(self.piping, end, needed, pressure, chosen, attitude))
        return FeedTo("tank", end, needed, 0.0, tuple(full), self._unstated(end), free=tuple(free))

    # --- states

    @cached_property
    def combined(self) -> tuple[Attitude, ...]:
        """Where pitch and roll of stated flight attitudes come together."""
        return combinations(self.flight)

    def _attitudes(self, end: End, chosen: tuple[End, ...]) -> tuple[Attitude, ...]:
        """The flight attitudes, and the combination of their tilts with the least fall to an end where that is less.

        What a given flow loses does not depend on the attitude, so where one outlet feeds the least fall is the worst.
        """

        def fall_m(attitude: Attitude) -> float:
            return min(self._surface(outlet, attitude) for outlet in chosen) - self._level(end, attitude)

        worst = min(self.combined, key=fall_m)
        least_m = min(fall_m(attitude) for attitude in self.flight)
        return (*self.flight, worst) if fall_m(worst) < least_m - LEAST_FALL_M else self.flight

    def _together(self, end: End) -> list[tuple[End, ...]]:
        """The outlets that may feed an end at once: each tank's, and all of them where no selector keeps them apart."""
        network = self.layout.network
        found = sources_of(self.layout, end)
        alone = [tuple(one for one in found if one.tank == tank) for tank in dict.fromkeys(one.tank for one in found)]
        if len(alone) < 2:
            return alone
        ways = [way for way in network.ways("feed", self.stops) if way.end == end]
        parts = [network.nodes[one] for way in ways for one in way.through]
        apart = any(isinstance(part, Selector) and part.both is not True for part in parts)
        return alone if apart else [*alone, found]

    def _unstated(self, end: End) -> tuple[str, ...]:
        """Filters on the way to an end whose drop is not stated."""
        network = self.layout.network
        ways = {*network.ways("feed", self.stops), *network.ways("feed")}
        parts = [network.nodes[one] for way in ways if way.end == end for one in way.through]
        names = [part.name for part in parts if isinstance(part, Filter) and square_of(part) is None]
        return tuple(sorted(set(names)))

    # --- pressures

    def _head(self, level_m: float, attitude: Attitude) -> float:
        return self.fluid.density_kg_m3 * attitude.gravity_m_s2 * level_m

    def _level(self, end: End, attitude: Attitude) -> float:
        """The level of the place at which lines meet an end, from the datum."""
        line = self.layout.network.lines_at(end)[0]
        return float(line.points_m[0 if line.start == end else -1] @ attitude.up)

    def _surface(self, outlet: End, attitude: Attitude) -> float:
        """The level at which an outlet begins to take air, from the datum."""
        assert isinstance(outlet, PortEnd)
        tank = self.layout.tank(outlet.tank)
        names = [one.name for one in tank.design.outlet]
        opening = outlets(tank)[names.index(outlet.port)]
        up = attitude.up  # what the flow asks for on top is what is to be judged here
        return opening.level_m(up) - opening.starved_m(up) + float(tank.cavity.centre_m @ up)

    def _given(self, chosen: Iterable[End], attitude: Attitude) -> dict[Node, float]:
        return {(outlet, ""): self._head(self._surface(outlet, attitude), attitude) for outlet in chosen}

    def _carried(
        self,
        piping: Piping,
        end: End,
        needed_m3_s: float,
        needed_pa: float,
        chosen: tuple[End, ...],
        attitude: Attitude,
    ) -> Carried:
        pressure = needed_pa + self._head(self._level(end, attitude), attitude)
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
        given, node = self._given(chosen, attitude), piping.node(end, "in")
        usual = max(needed_m3_s, 1e-6)
        drawn = piping.solved(given, {node: needed_m3_s}, usual)
        met = piping.solved(given | {node: potential_pa}, {}, usual)
        flow = max(0.0, met.out_of(node)) if met else 0.0
        tanks = tuple(dict.fromkeys(one.tank or "" for one in chosen))
        if drawn is None:
            return Carried(attitude, tanks, None, flow, None)
        own = self._head(self._level(end, attitude), attitude)
        return Carried(
            attitude, tanks, drawn.at(node) - own, flow, drawn.lowest_pa(self._head(1.0, attitude), attitude.up)
        )

    # --- a tank that has run dry

    def dry_branches(self) -> Iterator[DryBranch]:
        """Every outlet that may run dry while another tank's feeds the same pump, engine or tank."""
        network = self.layout.network
        for end in network.nodes:
            if self.back_m3_s is None or len({one.tank for one in sources_of(self.layout, end)}) < 2:
                continue
            together = self._together(end)
            part = network.nodes[end]
            if len(together[-1]) < 2 or not isinstance(part, (Engine, Pump)):
                continue
            needed = self.take_off_m3_s + self.back_m3_s
            for dry in together[-1]:
                feeding = tuple(one for one in together[-1] if one.tank != dry.tank)
                found = [self._dry(end, dry, feeding, needed, attitude) for attitude in self.flight]
                known = [one for one in found if one]
                if known:
                    yield min(known, key=lambda one: one.margin_pa)

    def bared_outlets(self) -> Iterator[DryBranch]:
        """Every outlet that comes clear of the fuel while others of its tank still feed the same pump or engine."""
        network = self.layout.network
        for end, part in network.nodes.items():
            found = (
                sources_of(self.layout, end) if isinstance(part, (Engine, Pump)) and self.back_m3_s is not None else ()
            )
            needed = self.take_off_m3_s + (self.back_m3_s or 0.0)
            for dry in found:
                others = [one for one in found if one.tank == dry.tank and one != dry and self._meet(dry, one, end)]
                known = [one for at in self.flight if (one := self._bared(end, dry, others, needed, at))]
                if known:
                    yield min(known, key=lambda one: one.margin_pa)

    def _meet(self, dry: End, other: End, end: End) -> bool:
        """Whether two outlets' lines meet before an end elsewhere than at a selector that chooses between them."""
        ways = [way for way in self.layout.network.ways("feed", self.stops) if way.end == end]
        one, two = (next(way.shortest for way in ways if way.start == start) for start in (dry, other))
        comes = {step.end: step.line.name for step in two}
        met = next(step for step in one if step.end in comes)
        part = self.layout.network.nodes[met.end]
        return not (isinstance(part, Selector) and part.both is not True and met.line.name != comes[met.end])

    def _bared(
        self, end: End, dry: End, others: Sequence[End], needed_m3_s: float, attitude: Attitude
    ) -> DryBranch | None:
        """At an attitude: with the fuel at the level at which the last of the others takes air."""
        level = self._surface(dry, attitude)
        feeding = tuple(one for one in others if self._surface(one, attitude) < level - LEAST_FALL_M)
        found = self._dry(end, dry, feeding, needed_m3_s, attitude) if feeding else None
        return replace(found, feeding=", ".join(str(one) for one in feeding), own=True) if found else None

    def _dry(
        self, end: End, dry: End, feeding: tuple[End, ...], needed_m3_s: float, attitude: Attitude
    ) -> DryBranch | None:
        """How near air comes to the common line: the pressure where the dry line's lowest point is.

        The dry line stands full up to where the pressure at the junction holds its column; no flow, so that pressure's head
        is the column's level. Air gets past when that level falls below the line's lowest point.
        """
        state = self.piping.solved(
            self._given(feeding, attitude), {self.piping.node(end, "in"): needed_m3_s}, needed_m3_s
        )
        if state is None:
            return None
        own = next(way for way in self.layout.network.ways("feed", self.stops) if way.start == dry and way.end == end)
        others = {
            step.end
            for way in self.layout.network.ways("feed", self.stops)
            if way.end == end and way.start in feeding
            for step in way.steps
        }
        steps = []
        for step in own.shortest:
            steps.append(step)
            if step.end in others:
                break
        junction = steps[-1].end
        lowest = min(float((step.points_m @ attitude.up).min()) for step in steps)
        margin = state.at(self.piping.node(junction, "in")) - self._head(lowest, attitude)
        names = ", ".join(dict.fromkeys(one.tank or "" for one in feeding))
        return DryBranch(attitude, dry, names, str(junction), end, margin)
