"""The feed lines as they stand in a part of a flight: what is shut is left out, and the flow is solved from tanks that differ.

A port under its tank's surface has the surface's pressure; one above it takes fuel in, at its own height, and gives none. A
tank that is full has whatever pressure keeps it full; one whose surface stands at a port's lip passes on what comes into it.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from functools import cached_property

import numpy as np

from fuelsys.analysis.flights.tied import Tied
from fuelsys.analysis.lines.flow import Flowing, Node, Piping
from fuelsys.analysis.lines.hydraulics import BLOCKED_DROP, BLOCKED_SHARE, Fluid, together
from fuelsys.arrays import Floats
from fuelsys.kernels.steady import reached, steady
from fuelsys.model.built.ends import End, PlacedLine, PortEnd
from fuelsys.model.built.network import Network
from fuelsys.model.stated.components import Component, Filter, Pump, Selector, Valve
from fuelsys.model.stated.fittings import Outlet, Port

_FUEL = ("feed", "interconnect")
_HAIR_PA, _HAIR_M3_S, _ROUNDS = 1e-6, 1e-16, 40


@dataclass(frozen=True)
class Positions:
    """How the fuel's way is set: selectors by name on a tank, "both" or "off"; valves shut; tanks that do not feed.

    pumps run (all that have a curve: None); half are the outlets and filters that are half blocked, as the design writes them;
    leaking are the valves, selectors and check valves that shut badly.
    """

    selectors: Mapping[str, str] = field(default_factory=dict)
    shut: frozenset[str] = frozenset()
    pumps: frozenset[str] | None = None
    dry: frozenset[str] = frozenset()
    half: frozenset[str] = frozenset()
    leaking: frozenset[str] = frozenset()

    @property
    def key(self) -> tuple[object, ...]:
        """What tells it from others."""
        return (*sorted(self.selectors.items()), self.shut, self.pumps, self.dry, self.half, self.leaking)


def as_set(network: Network, positions: Positions) -> Network:
    """The network without the lines that are shut tight, and with what is half blocked."""
    stops = {line.name: _stops(network, line, positions) for line in network.edges if line.kind in _FUEL}
    kept = tuple(line for line in network.edges if stops.get(line.name, frozenset()) <= positions.leaking)
    nodes: dict[End, Port | Component] = dict(network.nodes)
    for end, node in network.nodes.items():
        if str(end) not in positions.half:
            continue
        if isinstance(node, Filter) and node.drop_pa is not None:
            nodes[end] = node.model_copy(update={"drop_pa": node.drop_pa * BLOCKED_DROP})
        if isinstance(node, Outlet) and node.strainer and node.strainer.clear_area_m2:
            half = node.strainer.model_copy(
                update={"clear_area_m2": node.strainer.clear_area_m2 * (1.0 - BLOCKED_SHARE)}
            )
            nodes[end] = node.model_copy(update={"strainer": half})
    return Network(network.tanks, nodes, kept)


def _stops(network: Network, line: PlacedLine, positions: Positions) -> frozenset[str]:
    """What shuts a line: valves and selectors by name, and outlets that give nothing."""
    found = set[str]()
    for end in (line.start, line.end):
        part = network.nodes[end]
        if end.tank in positions.dry and isinstance(part, Outlet):
            found.add(str(end))
        if isinstance(part, Valve) and part.name in positions.shut:
            found.add(part.name)
        if isinstance(part, Selector) and part.name in positions.selectors:
            to = positions.selectors[part.name]
            if to == "off" or (to != "both" and end == line.end and to not in tanks_behind(network, line)):
                found.add(part.name)
    return frozenset(found)


def tanks_behind(network: Network, line: PlacedLine) -> frozenset[str]:
    """The tanks whose fuel comes through a line."""
    into: dict[End, list[End]] = {}
    for one in network.edges:
        if one.kind == "feed":
            into.setdefault(one.end, []).append(one.start)
    found, waiting = {line.start}, [line.start]
    while waiting:
        here = waiting.pop()
        beyond = [] if here.tank else [end for end in into.get(here, ()) if end not in found]
        found.update(beyond)
        waiting.extend(beyond)
    return frozenset(end.tank for end in found if end.tank)


@dataclass(frozen=True)
class Surface:
    """What a tank is to the lines: its surface's pressure with its head, None where that has to be found (it is full).

    under are its ports below the surface; lips, of the others, the pressure at which fuel runs in by them. comes_m3_s is what
    comes into it from elsewhere; where it passes on (its surface stands at that port's lip), that goes out by it. full: fuel and
    shut-in air press alike on all ports, so what runs in above the surface counts against the same pressure.
    """

    potential_pa: float | None
    under: frozenset[End]
    lips_pa: Mapping[End, float]
    comes_m3_s: float = 0.0
    passes: End | None = None
    full: bool = False


@dataclass(frozen=True, eq=False)
class Solved:
    """The flow: what each tank gets through its lines [m³/s], its pressure, and that at each place of the network.

    fed says whether what is drawn can come at all; open are the ports above their surfaces by which fuel runs in.
    """

    flowing: Flowing
    gets_m3_s: dict[str, float]
    potential_pa: dict[str, float]
    open: frozenset[End]
    fed: bool

    def at(self, node: Node) -> float:
        """The pressure at a node, its head included; NaN where nothing is tied to it."""
        return self.flowing.at(node)


@dataclass(eq=False)
class Plumbed:
    """Lines with their positions; what was found last is where the next search begins."""

    network: Network
    piping: Piping  # its lines with their laws, nothing blocked that is not said to be
    moved: Mapping[End, str] = field(default_factory=dict)  # ports that stand at a tank's second pool
    _last: Floats | None = None
    _open: frozenset[End] = frozenset()
    _tied: dict[object, Tied] = field(default_factory=dict)

    @classmethod
    def of(
        cls, network: Network, fluid: Fluid, positions: Positions, known: dict[object, Plumbed] | None = None
    ) -> Plumbed:
        """A network set so; known are those of it and its fuel that were set before."""
        known = {} if known is None else known
        if positions.key not in known:
            pumps = {node.name for node in network.nodes.values() if isinstance(node, Pump) and node.curve}
            running = frozenset(pumps) if positions.pumps is None else positions.pumps
            found = as_set(network, positions)
            narrow = frozenset(one.name for one in found.edges if one.kind in _FUEL and _stops(network, one, positions))
            wide = Piping(found, fluid, running, blocked=False)
            known[positions.key] = cls(found, replace(wide, leaking=positions.leaking, narrow=narrow))
        return replace(known[positions.key], _last=None, _open=frozenset())

    @property
    def running(self) -> frozenset[str]:
        """The pumps that run."""
        return self.piping.running

    @property
    def narrow(self) -> frozenset[str]:
        """The lines that something shuts badly."""
        return self.piping.narrow

    def with_moved(self, moved: Mapping[End, str]) -> Plumbed:
        """The same with more ports at second pools."""
        return replace(self, moved={**self.moved, **moved}, _tied={})

    @cached_property
    def ports(self) -> dict[str, tuple[PortEnd, ...]]:
        """The ports of each tank that lines run to."""
        found: dict[str, list[PortEnd]] = {}
        for end, _ in self.piping.nodes:
            if isinstance(end, PortEnd):
                found.setdefault(self.moved.get(end, end.tank), []).append(end)
        return {tank: tuple(ends) for tank, ends in found.items()}

    def solved(self, surfaces: Mapping[str, Surface], drawn: Mapping[Node, float]) -> Solved:
        """The steady flow from tanks' surfaces, with what is drawn at some nodes; NotSteadyError where none is found."""
        passing = {tank: one.comes_m3_s for tank, one in surfaces.items() if one.passes}
        opened, gave = self._open, set[End]()
        for _ in range(_ROUNDS):
            found = self._once(surfaces, drawn, opened, passing)
            more = self._opened(surfaces, found, opened, gave)
            through = {tank: self.over_m3_s(found, surfaces[tank], tank) for tank in passing}
            if more == opened and all(abs(through[tank] - passing[tank]) <= _HAIR_M3_S for tank in passing):
                break
            opened, passing = more, through
        self._open, self._last = opened, found.flowing.flows_m3_s
        return found

    def over_m3_s(self, found: Solved, surface: Surface, tank: str) -> float:
        """What a tank gets by all but the port by which it passes that on."""
        ends = (end for end in self.ports.get(tank, ()) if end != surface.passes)
        return surface.comes_m3_s + sum(found.flowing.out_of((end, "")) for end in ends)

    def _opened(
        self, surfaces: Mapping[str, Surface], found: Solved, opened: frozenset[End], gave: set[End]
    ) -> frozenset[End]:
        """Which ports above their surfaces take fuel in: those that gave some are closed, those under pressure open.

        So are those of lines in which nothing is known yet, unless they gave some before.
        """
        more = set(opened)
        for tank, surface in surfaces.items():
            for end in self.ports.get(tank, ()):
                if end in surface.under or end == surface.passes:
                    more.discard(end)
                elif end in opened and found.flowing.out_of((end, "")) < -_HAIR_M3_S:
                    more.discard(end)
                    gave.add(end)
                elif end in opened or (surface.full and end in gave):
                    continue
                elif self._presses(found.at((end, "")), surface.lips_pa[end], end in gave):
                    more.add(end)
        return frozenset(more)

    @staticmethod
    def _presses(here_pa: float, lip_pa: float, gave: bool) -> bool:
        return not gave if np.isnan(here_pa) else here_pa > lip_pa + _HAIR_PA

    def _once(
        self,
        surfaces: Mapping[str, Surface],
        drawn: Mapping[Node, float],
        opened: frozenset[End],
        passing: Mapping[str, float],
    ) -> Solved:
        held = {tank: one.potential_pa is not None for tank, one in surfaces.items()}
        states = tuple((tank, one.under, one.passes, one.full, held[tank]) for tank, one in surfaces.items())
        if (opened, states) not in self._tied:
            self._tied[opened, states] = self._tie(surfaces, opened)
        tied = self._tied[opened, states]
        nodes, potential, out = self.piping.nodes, np.full(tied.row.size, np.nan), np.zeros(tied.row.size)
        for node, value in drawn.items():
            if node in nodes:
                out[nodes[node]] += value
        for tank, here in tied.passing:
            out[here] -= passing[tank]
        for tank, end, here in tied.lips:
            potential[here] = surfaces[tank].lips_pa[end]
        for tank, here in tied.heads.items():
            pressure = surfaces[tank].potential_pa
            if pressure is None:
                out[here] -= surfaces[tank].comes_m3_s
            else:
                potential[here] = pressure
        found = self._balanced(tied, potential, out, surfaces, opened)
        cut_off = any(
            value > _HAIR_M3_S and node not in nodes for node, value in drawn.items()
        )  # by a shut valve beside it
        return replace(found, fed=False) if cut_off else found

    def _tie(self, surfaces: Mapping[str, Surface], opened: frozenset[End]) -> Tied:
        """What of the lines is tied to what, the tanks' surfaces standing so."""
        nodes, (starts, stops) = self.piping.nodes, self.piping.ends
        row, fixed = np.arange(len(nodes), dtype=np.int32), np.zeros(len(nodes), np.bool_)
        heads, lips, passing = dict[str, int](), list[tuple[str, End, int]](), list[tuple[str, int]]()
        for tank, surface in surfaces.items():
            for end in self.ports.get(tank, ()):
                here = nodes[end, ""]
                if end in surface.under or (surface.full and end in opened):
                    row[here] = heads.setdefault(tank, here)
                elif end == surface.passes:
                    passing.append((tank, here))
                elif end in opened:
                    fixed[here] = True
                    lips.append((tank, end, here))
            if tank in heads and surface.potential_pa is not None:
                fixed[heads[tank]] = True
        one, two = row[starts], row[stops]
        tied = reached(one, two, fixed) if one.size else fixed.copy()
        live = np.flatnonzero(tied[one]) if one.size else np.zeros(0, np.intp)
        number = (np.cumsum(tied) - 1).astype(np.int32)
        loose = ~tied & (np.arange(row.size) == row)
        laws = together([self.piping.laws[i] for i in live])
        return Tied(row, tied, loose, live, number[one[live]], number[two[live]], laws, heads, lips, passing)

    def _balanced(
        self, tied: Tied, potential: Floats, out: Floats, surfaces: Mapping[str, Surface], opened: frozenset[End]
    ) -> Solved:
        fed, live = not (out[tied.loose] > _HAIR_M3_S).any(), tied.live
        flows = np.zeros(self.piping.ends[0].size)
        if live.size:
            usual = max(float(np.abs(out).max()), 1e-6)
            first = np.full(live.size, usual) if self._last is None else self._last[live]
            at, flows[live] = steady(
                tied.starts, tied.stops, potential[tied.reached], out[tied.reached], tied.laws.losses, first
            )
            potential[tied.reached] = at
        flowing = Flowing(self.piping, potential[tied.row], flows)
        gets = {tank: sum(flowing.out_of((end, "")) for end in self.ports.get(tank, ())) for tank in surfaces}
        known = {tank: float(potential[here]) for tank, here in tied.heads.items()}
        known |= {tank: flowing.at((surface.passes, "")) for tank, surface in surfaces.items() if surface.passes}
        return Solved(flowing, gets, known, opened, fed)
