"""The plumbing as one typed network: ports and components, the lines between them, and every walk along the lines.

Every walk along the lines is in `model/built/network.py` and `model/built/way.py`; text "tank.port" is taken apart in
`ends.end_of` alone. A
`Way` is the graph of all paths between two ends; paths are never listed, for n diamonds of tees have 2^n. "Does each path pass
a filter" is whether `Way.path(avoid=filters)` is None; `Way.always` are dominators; `Climb.top_m` is the path whose highest
point is lowest; `Way.least` the path on which filters hold least. A rule yields one verdict for a way and shows one path, the
worst or the shortest. A line is on a way where a path without repetition takes it; in loops of directed lines that is hard to
tell, so what one place before and after does not rule out is kept.

High and low points of a way of several paths (`analysis/lines/traps.py`): two sweeps carry what lies behind each point over which
barrier (`kernels/profile.Falls`, lists that share their ends), so the fall on each side is known without a path; then the path
over the worst point is made and judged as any single path is (`analysis/lines/runs.py`). In loops it may count too much, never too
little; so it may where bores differ on one way with drains. Measured, 1,000 diamonds: `check` 5 to 7 s, 275 MB.
"""

from __future__ import annotations

from collections.abc import Collection, Hashable, Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from functools import cached_property

from fuelsys.model.built.ends import ComponentEnd, End, PlacedLine, PortEnd, Step
from fuelsys.model.built.way import Way, between, by, reached
from fuelsys.model.stated.components import Component, Engine, Overboard, Pump, Selector, ShutOff
from fuelsys.model.stated.design import Design, LineKind
from fuelsys.model.stated.fittings import Outlet, Port

DIRECTED: tuple[LineKind, ...] = ("feed", "return")  # their `from` is upstream
Kinds = tuple[type[Component] | End, ...]


@dataclass(frozen=True, eq=False)
class Network:
    """Nodes are ports and components, edges the placed lines (bore, length, polyline in body axes), as the design lists them.

    A way of lines of one kind runs from one end to another: tanks' ports, engines, overboard ends, and components, or
    components of the kinds, that it is asked to stop at. What has been computed is kept.
    """

    tanks: tuple[str, ...]
    nodes: Mapping[End, Port | Component]
    edges: tuple[PlacedLine, ...]
    _kept: dict[tuple[LineKind, Kinds], tuple[Way, ...]] = field(default_factory=dict, repr=False)

    @classmethod
    def of(cls, design: Design, lines: tuple[PlacedLine, ...]) -> Network:
        """The network of a design whose lines have been placed."""
        nodes: dict[End, Port | Component] = {}
        nodes |= {PortEnd(tank.name, port.name): port for tank in design.tank for port in tank.ports}
        nodes |= {ComponentEnd(component.name): component for component in design.component}
        return cls(tuple(tank.name for tank in design.tank), nodes, lines)

    @cached_property
    def _at(self) -> dict[End, list[PlacedLine]]:
        found: dict[End, list[PlacedLine]] = {}
        for line in self.edges:
            found.setdefault(line.start, []).append(line)
            found.setdefault(line.end, []).append(line)
        return found

    def lines_at(self, end: End, kind: LineKind | None = None) -> tuple[PlacedLine, ...]:
        """Lines that begin or end at an end, of one kind or of all."""
        return tuple(line for line in self._at.get(end, ()) if kind in (None, line.kind))

    def component(self, end: End) -> Component | None:
        """The component at an end; None for a port."""
        found = self.nodes.get(end)
        return found if isinstance(found, Component) else None

    def overboard(self, end: End) -> bool:
        """Whether an end lies outside the aircraft."""
        return isinstance(self.nodes.get(end), Overboard)

    def steps(self, kind: LineKind, *, drawn: bool) -> dict[End, list[Step]]:
        """The lines of a kind by the end that they are followed from: as they are drawn, or both ways."""
        found: list[Step] = []
        for line in self.edges:
            if line.kind == kind:
                found.append(Step(line, line.start, line.end))
                found.extend([] if drawn else [Step(line, line.end, line.start)])
        return by(found, "start")

    def ends_from(self, start: End, kind: LineKind, *, downstream: bool) -> frozenset[End]:
        """Components and ports that lines of a kind lead to from an end; the way ends at tanks, engines, overboard.

        Downstream follows each line from its `from` to its `to`; else lines are followed both ways.
        """
        steps = self.steps(kind, drawn=downstream)
        return frozenset(reached(start, steps, {end for end in self.nodes if self._stops(end, ())}) - {start})

    def _stops(self, end: End, stops: Kinds) -> bool:
        kinds = tuple(one for one in stops if isinstance(one, type))
        return end in stops or isinstance(self.nodes[end], (Port, Engine, Overboard, *kinds))

    # --- ways from end to end

    def ways(self, kind: LineKind, stops: Kinds = ()) -> tuple[Way, ...]:
        """Every way of one kind from end to end; components of the kinds in stops end it as tanks and engines do.

        A vent's ways begin in a tank. One that does not lead overboard counts only for the lines that none overboard has.
        """
        if (kind, stops) not in self._kept:
            self._kept[kind, stops] = tuple(self._vents(stops) if kind == "vent" else self._found(kind, stops))
        return self._kept[kind, stops]

    def _ends(self, kind: LineKind, stops: Kinds) -> list[End]:
        """Where ways of a kind end: at their stops, or where lines of another kind go on."""
        found = []
        for end in dict.fromkeys(e for line in self.edges if line.kind == kind for e in (line.start, line.end)):
            goes_on = kind in ("return", "interconnect") and len(self._at[end]) > len(self.lines_at(end, kind)) == 1
            found.extend([end] if goes_on or self._stops(end, stops) else [])
        return found

    def _found(self, kind: LineKind, stops: Kinds) -> Iterator[Way]:
        ends = self._ends(kind, stops)
        out = self.steps(kind, drawn=kind in DIRECTED)
        into = by([step for steps in out.values() for step in steps], "end")
        for start, end in self._pairs(kind, ends, out):
            way = between(kind, start, end, out, into, frozenset(ends))
            yield from [way] if way else []

    def _pairs(self, kind: LineKind, ends: list[End], out: Mapping[End, list[Step]]) -> Iterator[tuple[End, End]]:
        """Ends that lines lead between: from upstream to downstream, a vent's from a tank, else as a line was drawn."""
        rank, closed = {end: i for i, end in enumerate(ends)}, frozenset(ends)
        written = {line.end for line in self.edges if line.kind == kind}
        for one in ends:
            if kind in DIRECTED and not self._begins(one, kind):
                continue
            for two in sorted((end for end in reached(one, out, closed) & closed if end != one), key=rank.__getitem__):
                if kind in DIRECTED:
                    yield from [] if isinstance(self.nodes[two], Outlet) else [(one, two)]
                elif rank[two] > rank[one]:
                    turned = (two.tank is not None, two not in written) > (one.tank is not None, one not in written)
                    yield (two, one) if turned else (one, two)

    def _begins(self, end: End, kind: LineKind) -> bool:
        """Fuel enters the feed from a tank by an outlet only, and goes into a tank by anything else."""
        return end.tank is None or (kind == "feed" and isinstance(self.nodes[end], Outlet))

    def _vents(self, stops: Kinds) -> Iterator[Way]:
        """Vents' ways; ways into other tanks are looked for only where some line is on none that leads overboard."""
        ends, out = self._ends("vent", stops), self.steps("vent", drawn=False)
        into = by([step for steps in out.values() for step in steps], "end")
        pairs = [(start, end) for start, end in self._pairs("vent", ends, out) if start.tank is not None]
        closed = frozenset(ends)
        outward = {pair: between("vent", *pair, out, into, closed) for pair in pairs if self.overboard(pair[1])}
        known = {step.line.name for way in outward.values() if way for step in way.steps}
        more: dict[End, bool] = {}
        for start, end in pairs:
            if start not in more:
                within = reached(start, out, closed)
                inner = [here for here in within if here == start or here not in closed]
                more[start] = any(step.line.name not in known for here in inner for step in out[here])
            way = outward.get((start, end))
            if way is None and more[start] and not self.overboard(end):
                way = between("vent", start, end, out, into, closed)
                way = way if way and not set(way.lines) <= known else None
            yield from [way] if way else []

    def spills(self, port: End) -> tuple[Way, ...]:
        """The ways by which fuel runs out of a vent: overboard, or else into other tanks."""
        ways = [way for way in self.ways("vent") if port in (way.start, way.end)]
        return tuple([way for way in ways if self.overboard(way.end)] or ways)

    @cached_property
    def transfer_pumps(self) -> tuple[End, ...]:
        """Pumps from which feed lines lead into tanks, past no other tank, and to no engine."""
        out, closed = self.steps("feed", drawn=True), {end for end in self.nodes if self._stops(end, ())}
        pumps = [end for end, node in self.nodes.items() if isinstance(node, Pump)]
        ahead = {pump: reached(pump, out, closed) & closed for pump in pumps}
        return tuple(
            pump for pump in pumps if ahead[pump] and all(isinstance(self.nodes[e], Port) for e in ahead[pump])
        )

    @cached_property
    def set_aside(self) -> frozenset[str]:
        """Tanks from which fuel only comes by pumps that fill other tanks: that they run dry does not stop an engine."""
        pumps, found = set(self.transfer_pumps), dict[str, bool]()
        for way in self.ways("feed"):
            if way.start.tank:
                found[way.start.tank] = found.get(way.start.tank, True) and bool(pumps & set(way.through))
        return frozenset(tank for tank, aside in found.items() if aside)

    def downhill(self, outlet: End, *, engine_draws: bool) -> tuple[Way, ...] | None:
        """Ways along feed lines to the next tank or an engine; None where a pump draws, or the engine does by one of its own.

        Where gravity feeds the engine, a pump on the way may stand still: fuel passes it, unless it only fills tanks. An outlet
        that only has an interconnect line gives its fuel by that, to other tanks or into a feed line.
        """
        kind: LineKind = "feed" if self.lines_at(outlet, "feed") else "interconnect"
        out, lifting = self.steps("feed", drawn=True), set(self.transfer_pumps)
        if kind == "interconnect":
            both = self.steps("interconnect", drawn=False)
            out = {end: [*out.get(end, ()), *both.get(end, ())] for end in (*out, *both)}
        ends = (Port, Engine, Pump) if engine_draws else (Port, Engine)
        closed = frozenset(end for end, node in self.nodes.items() if isinstance(node, ends) or end in lifting)
        ahead = reached(outlet, out, closed) & closed - {outlet}
        met = [end for end in self.nodes if end in ahead and (kind == "feed" or end.tank != outlet.tank)]
        if lifting & set(met) or (engine_draws and any(isinstance(self.nodes[end], Pump | Engine) for end in met)):
            return None
        into = by([step for steps in out.values() for step in steps], "end")
        return tuple(way for end in met if (way := between(kind, outlet, end, out, into, closed)))

    # --- what engines return

    def return_tanks(self, engine: End) -> frozenset[str]:
        """The tanks that return lines lead to, from an engine or from what lies on its feed."""
        on_feed = {end for way in self.ways("feed") if way.end == engine for end in way.through} | {engine}
        return frozenset(way.end.tank for way in self.ways("return") if way.start in on_feed and way.end.tank)

    def return_is_switched(self, engine: End, tank: str) -> bool:
        """Whether a selector between a tank and an engine is stated to switch the return too."""
        ways = [way for way in self.ways("feed") if way.end == engine and way.start.tank == tank]
        parts = [self.nodes[end] for way in ways for end in way.through]
        return any(isinstance(part, Selector) and part.switches_return is True for part in parts)

    # --- tanks that are joined

    def fuel_groups(self, opened: Mapping[End, frozenset[str]] | None = None) -> tuple[tuple[str, ...], ...]:
        """Tanks whose outlets are connected by feed or interconnect lines: no valve, selector or pump lies between.

        A check valve parts none: fuel passes it one way, and a header below stands under the fuel of what feeds it.
        opened names, for some valves and selectors, the lines that they join.
        """
        lines = [line for line in self.edges if line.kind in ("feed", "interconnect")]
        ends = opened or {}
        return self._groups(
            (self._fuel_node(n, n.start, "out", ends), self._fuel_node(n, n.end, "in", ends)) for n in lines
        )

    def _fuel_node(self, line: PlacedLine, end: End, side: str, opened: Mapping[End, frozenset[str]]) -> Hashable:
        """At a shut valve or selector each line ends for itself, a pump parts its two sides, a tank is one with all its ports."""
        node = self.nodes[end]
        if isinstance(node, ShutOff):
            return end if line.name in opened.get(end, ()) else (end, line.name)
        return (end, side) if isinstance(node, Pump) else end.tank or end

    def air_groups(self) -> tuple[tuple[str, ...], ...]:
        """Tanks whose airspaces are connected by vent lines, through other vent fittings and through tees."""
        vents = [line for line in self.edges if line.kind == "vent"]
        return self._groups((line.start.tank or line.start, line.end.tank or line.end) for line in vents)

    def vented_by(self, line: PlacedLine) -> tuple[str, ...]:
        """The tanks that have air from outside by a vent line alone, in the design's order; a tank is one with all its ports."""
        without = self.aired((line,))
        return tuple(name for name in self.aired(()) if name not in without)

    def aired(self, shut: Collection[PlacedLine]) -> tuple[str, ...]:
        """The tanks that vent lines, but for those shut, join to the outside."""
        found = self._outside(shut)
        return tuple(name for name in self.tanks if name in found)

    def _outside(self, shut: Collection[PlacedLine]) -> set[Hashable]:
        """All that vent lines, but for those shut, connect to an overboard end."""
        joined: dict[Hashable, list[Hashable]] = {}
        for line in self.edges:
            if line.kind == "vent" and line not in shut:
                one, two = line.start.tank or line.start, line.end.tank or line.end
                joined.setdefault(one, []).append(two)
                joined.setdefault(two, []).append(one)
        waiting: list[Hashable] = [end for end in self.nodes if self.overboard(end)]
        found = set(waiting)
        while waiting:
            beyond = [other for other in joined.get(waiting.pop(), ()) if other not in found]
            found.update(beyond)
            waiting.extend(beyond)
        return found

    def _groups(self, ties: Iterable[tuple[Hashable, Hashable]]) -> tuple[tuple[str, ...], ...]:
        """The tanks of each part that ties join, in the design's order."""
        joined: dict[Hashable, list[Hashable]] = {name: [] for name in self.tanks}
        for one, two in ties:
            joined.setdefault(one, []).append(two)
            joined.setdefault(two, []).append(one)
        found, seen = [], set[Hashable]()
        for name in self.tanks:
            part = set[Hashable]() if name in seen else {name}
            waiting = list(part)
            while waiting:
                more = {other for other in joined[waiting.pop()] if other not in part}
                part |= more
                waiting.extend(more)
            seen |= part
            found.extend([tuple(other for other in self.tanks if other in part)] if part else [])
        return tuple(found)
