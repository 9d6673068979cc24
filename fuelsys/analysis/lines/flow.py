"""Steady flow through the feed lines: the network's edges with their laws, solved for the pressures at its ends.

A component's loss is split between the lines that meet at it, half to each. A pump parts its two sides; a tank's surface
gives the pressure at its ports.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import cached_property
from math import pi

import numpy as np

from fuelsys.analysis.lines.hydraulics import (
    BLOCKED_SHARE,
    ORIFICE_LOSS,
    Fluid,
    Gain,
    Pipe,
    bend_heads,
    element_of,
    passing_heads,
    together,
)
from fuelsys.arrays import Floats, Ints
from fuelsys.kernels.steady import reached, steady
from fuelsys.model.built.ends import End, PlacedLine, PortEnd
from fuelsys.model.built.network import Network
from fuelsys.model.found.fly import LEAK_BORE_M
from fuelsys.model.stated.components import CheckValve, Engine, Filter, Overboard, Pump, Selector
from fuelsys.model.stated.design import LineKind
from fuelsys.model.stated.fittings import Outlet, Vent

START_M3_S = 1e-6  # 3.6 L/h: from where a flow is sought if none is near; any does, what is found does not depend on it
MOST_LINES = 200  # solved as one; a light aircraft has a tenth of that
# What a NotSteadyError is told as: completes "needs ...".
UNSTEADY = (
    "the solver to find a flow, and it found none: that is a fault of this program, not of your file; please report it"
)
ENTRY_HEADS, EXIT_HEADS = 0.57, 1.0  # sharp entry (Rennels, by `fluids`), and what goes into a tank (Crane TP-410)
_FUEL: tuple[LineKind, ...] = ("feed", "interconnect")
Node = tuple[End, str]  # an end; of a pump its "in" or its "out"


@dataclass(frozen=True, eq=False)
class Piping:
    """The feed and interconnect lines of a network as edges with laws; blocked: strainers and filters half blocked.

    Pumps whose curve is not stated, or that are not among those running, let fuel pass freely. kinds are the lines' that are
    taken; of vent lines all ends in one tank are one node, PortEnd(tank, ""): they meet in its air. leaking are the parts that
    shut badly, narrow the lines that one of them shuts: by these only what a hole of LEAK_BORE_M lets through comes.
    """

    network: Network
    fluid: Fluid
    running: frozenset[str] = frozenset()
    blocked: bool = True
    kinds: tuple[LineKind, ...] = _FUEL
    leaking: frozenset[str] = frozenset()
    narrow: frozenset[str] = frozenset()

    @cached_property
    def lines(self) -> tuple[PlacedLine, ...]:
        """Its lines."""
        return tuple(line for line in self.network.edges if line.kind in self.kinds)

    @cached_property
    def pumps(self) -> tuple[End, ...]:
        """Pumps on its lines."""
        ends = dict.fromkeys(end for line in self.lines for end in (line.start, line.end))
        return tuple(end for end in ends if isinstance(self.network.nodes[end], Pump))

    @cached_property
    def nodes(self) -> dict[Node, int]:
        """Every place that edges meet at, by number."""
        ends = [node for line in self.lines for node in (self.node(line.start, "out"), self.node(line.end, "in"))]
        ends += [(end, side) for end in self.pumps for side in ("in", "out")]
        return {node: i for i, node in enumerate(dict.fromkeys(ends))}

    def node(self, end: End, side: str) -> Node:
        """Where a line meets an end: a pump's outlet where the line begins at it, its inlet where it ends."""
        if end.tank is not None and self.kinds == ("vent",):
            return PortEnd(end.tank, ""), ""
        return (end, side if isinstance(self.network.nodes[end], Pump) else "")

    @cached_property
    def laws(self) -> list[Pipe | Gain]:
        """One law for each line, then one for each pump."""
        return [*self.pipes, *self._at_pumps()]

    @cached_property
    def pipes(self) -> list[Pipe]:
        """One law for each line."""
        return [self._pipe(line) for line in self.lines]

    def _at_pumps(self) -> list[Pipe | Gain]:
        pumps: list[Pipe | Gain] = []
        for end in self.pumps:
            pump = self.network.nodes[end]
            curve = pump.curve if isinstance(pump, Pump) and pump.name in self.running else None
            bore_m = max(line.bore_m for line in self.network.lines_at(end))
            pumps.append(Gain(curve) if curve else Pipe(self.fluid, bore_m, bore_m))
        return pumps

    def _pipe(self, line: PlacedLine) -> Pipe:
        heads, square, one_way, elements = bend_heads(line), 0.0, False, []
        hole, back = ORIFICE_LOSS * self.fluid.density_kg_m3 / 2.0 / (pi / 4.0 * LEAK_BORE_M**2) ** 2, 0.0
        for end, of_port in ((line.start, ENTRY_HEADS), (line.end, EXIT_HEADS)):
            part = self.network.component(end)
            if part is None or isinstance(part, (Engine, Overboard)):
                heads += of_port
                square += self._opening(end, line.bore_m)
                continue
            leaks = part.name in self.leaking
            one_way |= isinstance(part, CheckValve) and not leaks
            if isinstance(part, CheckValve) and leaks:
                back += hole / 2.0  # half to each of its lines
            elif leaks and line.name in self.narrow:
                square += hole if isinstance(part, Selector) else hole / 2.0
            stated = element_of(part)
            if stated is None:
                heads += passing_heads(part, line.bore_m) / 2.0
            else:
                clear = 1.0 - BLOCKED_SHARE if self.blocked and isinstance(part, Filter) else 1.0
                elements.append(replace(stated, clear=clear, share=0.5))
        length_m = max(line.length_m, line.bore_m)
        wide = Pipe(self.fluid, line.bore_m, length_m, heads, square, one_way, elements=tuple(elements))
        return replace(wide, back_pa_s2_m6=back)

    def _opening(self, end: End, bore_m: float) -> float:
        """Of a strainer, or of a vent's opening that is narrower than its line."""
        port = self.network.nodes[end]
        if isinstance(port, Vent) and port.bore_m is not None and port.bore_m < bore_m:
            return ORIFICE_LOSS * self.fluid.density_kg_m3 / 2.0 / (pi / 4.0 * port.bore_m**2) ** 2
        if not (isinstance(port, Outlet) and port.strainer and port.strainer.clear_area_m2):
            return 0.0
        clear_m2 = port.strainer.clear_area_m2 * (1.0 - BLOCKED_SHARE if self.blocked else 1.0)
        return ORIFICE_LOSS * self.fluid.density_kg_m3 / 2.0 / clear_m2**2

    @cached_property
    def ends(self) -> tuple[Ints, Ints]:
        """Node numbers at which each edge starts and ends: lines, then pumps."""
        starts = [self.nodes[self.node(line.start, "out")] for line in self.lines]
        stops = [self.nodes[self.node(line.end, "in")] for line in self.lines]
        starts += [self.nodes[end, "in"] for end in self.pumps]
        stops += [self.nodes[end, "out"] for end in self.pumps]
        return np.array(starts, np.int32), np.array(stops, np.int32)

    @cached_property
    def meet(self) -> dict[Node, tuple[list[int], list[int]]]:
        """The edges that come to each node, and those that go from it."""
        starts, stops = self.ends
        return {
            node: (np.flatnonzero(stops == i).tolist(), np.flatnonzero(starts == i).tolist())
            for node, i in self.nodes.items()
        }

    def solved(
        self, given: Mapping[Node, float], drawn: Mapping[Node, float], usual_m3_s: float = START_M3_S
    ) -> Flowing | None:
        """The steady state with pressures given at some nodes [Pa, head included] and flows drawn at others [m³/s].

        Lines that are tied to no given pressure carry nothing. None where what is drawn has no way to come;
        NotSteadyError where no state is found.
        """
        starts, stops = self.ends
        fixed = np.zeros(len(self.nodes), np.bool_)
        potential, out = np.full(len(self.nodes), np.nan), np.zeros(len(self.nodes))
        for node, value in given.items():
            fixed[self.nodes[node]], potential[self.nodes[node]] = True, value
        for node, value in drawn.items():
            out[self.nodes[node]] = value
        tied = reached(starts, stops, fixed)
        if (out[~tied] != 0.0).any():
            return None
        live = np.flatnonzero(tied[starts])
        number = np.cumsum(tied) - 1
        losses = together([self.laws[i] for i in live]).losses
        first = np.full(live.size, usual_m3_s)
        ends = number[starts[live]].astype(np.int32), number[stops[live]].astype(np.int32)
        at, through = steady(*ends, potential[tied], out[tied], losses, first)
        potential[tied] = at
        flows = np.zeros(starts.size)
        flows[live] = through
        return Flowing(self, potential, flows)


@dataclass(frozen=True, eq=False)
class Flowing:
    """A steady state: the pressure with its head at each node (n,), NaN where nothing is tied to; flow of each edge (m,)."""

    piping: Piping
    potential_pa: Floats
    flows_m3_s: Floats

    def at(self, node: Node) -> float:
        """The pressure at a node, its head included."""
        return float(self.potential_pa[self.piping.nodes[node]])

    def flow(self, line: str) -> float:
        """The flow of a line, positive from its `from` to its `to`."""
        return float(self.flows_m3_s[[one.name for one in self.piping.lines].index(line)])

    def lowest_pa(self, per_m_pa: float, up: Floats) -> float:
        """The lowest pressure in any line through which fuel flows, without the head: per_m_pa is a metre's."""
        least = np.inf
        starts, stops = self.piping.ends
        for line, one, two, flow in zip(self.piping.lines, starts, stops, self.flows_m3_s, strict=False):
            ends = self.potential_pa[one], self.potential_pa[two]
            if abs(flow) > 1e-12 and not np.isnan(ends).any():
                along = np.concatenate([[0.0], np.cumsum(np.linalg.norm(np.diff(line.points_m, axis=0), axis=1))])
                share = along / along[-1] if along[-1] > 0.0 else along
                here = ends[0] + share * (ends[1] - ends[0]) - per_m_pa * (line.points_m @ up)
                least = min(least, float(here.min()))
        return least

    def out_of(self, node: Node) -> float:
        """What leaves the network at a node: what comes in by its edges less what goes."""
        comes, goes = self.piping.meet[node]
        flows = self._listed
        return sum([flows[i] for i in comes]) - sum([flows[i] for i in goes])

    @cached_property
    def _listed(self) -> list[float]:
        return self.flows_m3_s.tolist()
