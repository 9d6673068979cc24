"""Fuel that goes on coming into a full tank, from a pump or the engine's return, and the pressure until its vents let it out.

The vent's line is full of fuel up to its highest point, and that it falls beyond is not counted on (it does not run full there);
the friction of the whole line is. The greatest pressure stands at the tank's lowest point.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import replace
from functools import partial
from math import inf

from fuelsys.analysis.lines.airing import as_set, still_breathing
from fuelsys.analysis.lines.breathing import airspace, overboard
from fuelsys.analysis.lines.flow import START_M3_S, UNSTEADY, Piping
from fuelsys.analysis.lines.solving import Solving
from fuelsys.analysis.lines.states import MOST_STATES
from fuelsys.analysis.tank.capacity import capacity
from fuelsys.analysis.tank.draining import Drained, Opening
from fuelsys.analysis.tank.filling import filled
from fuelsys.analysis.tank.outflow import outflow
from fuelsys.kernels.steady import NotSteadyError
from fuelsys.model.built.ends import PortEnd
from fuelsys.model.built.layout import Layout
from fuelsys.model.built.way import Way
from fuelsys.model.found.breathing import Overfill
from fuelsys.model.found.plumbing import Airing
from fuelsys.model.stated.attitude import Attitude
from fuelsys.model.stated.components import CheckValve, Engine, Pump
from fuelsys.model.stated.records import PumpCurve

_Settings = tuple[Airing, ...] | None


def overfills(layout: Layout, settings: _Settings) -> tuple[Overfill, ...]:
    """Each pump that only fills tanks, and each engine that returns fuel, with each tank that it fills.

    settings are those of what stands in the vent lines; None: too many.
    """
    solving = Solving.of(layout)
    return (*_pumped(solving, settings), *_returned(solving, settings))


def _pumped(solving: Solving, settings: _Settings) -> Iterator[Overfill]:
    layout, network = solving.layout, solving.layout.network
    for pump in network.transfer_pumps:
        part = network.nodes[pump]
        assert isinstance(part, Pump)
        for way in network.ways("feed"):
            if pump not in way.through or way.start.tank is None or way.end.tank is None:
                continue
            kept_by = _kept_by(layout, way)
            asked = Overfill(
                way.start.tank, pump, way.end.tank, back_m3=0.0 if kept_by else _back_m3(layout, way), kept_by=kept_by
            )
            if part.curve is None:
                yield replace(asked, needs=f"the curve of {part.name}: what it delivers")
            elif solving.known is None:
                yield replace(asked, needs=f"fuel.viscosity: {layout.design.fuel.kind} thickens in the cold")
            else:
                stall_pa = partial(_stall_pa, solving, way, part.curve)
                flow_m3_s = partial(_most_lifted_m3_s, solving, way, part)
                yield _judged(solving, settings, asked, flow_m3_s, stall_pa)


def _kept_by(layout: Layout, way: Way) -> str:
    """The check valve that every path of a way passes, or the several of which each path passes one; empty: a path has none."""
    nodes = layout.network.nodes.items()
    checks = {end: part.name for end, part in nodes if isinstance(part, CheckValve) and end in way.through}
    for ends in (*([end] for end in checks), [*checks]):
        if ends and way.path(avoid=ends) is None:
            return " or ".join(checks[end] for end in ends)
    return ""


def _back_m3(layout: Layout, way: Way) -> float | None:
    """What runs back along a way from the full tank at its end into the empty one at its start, level in flight, pumps still.

    The line is full of fuel: it runs until the port lies bare or the surface is as low as the lowest point of the other tank, at
    most what that holds. A hump on the way does not stop it.
    """
    assert isinstance(way.start, PortEnd)
    assert isinstance(way.end, PortEnd)
    source, tank, up = layout.tank(way.start.tank), layout.tank(way.end.tank), layout.design.normal("flight").up
    full = filled(layout, tank, layout.design.normal("ground"))
    if full is None:
        return None
    spot = tank.spot(way.end.port)
    stands_m = max(0.0, source.span_m(up)[0] - float((spot.point_m + tank.cavity.centre_m) @ up))
    left_m3 = Drained.of(tank.cavity, up, (Opening(spot, stands_m),)).left_m3
    return min(max(0.0, full.volume_m3 - left_m3), source.cavity.gross_m3)


def _returned(solving: Solving, settings: _Settings) -> Iterator[Overfill]:
    layout, network = solving.layout, solving.layout.network
    for end, node in network.nodes.items():
        if not isinstance(node, Engine):
            continue
        for tank in (name for name in network.tanks if name in network.return_tanks(end)):
            if node.return_flow_m3_s is None:
                yield Overfill(node.name, end, tank, needs=f"the return_flow of {node.name}")
            elif solving.known is None:
                yield Overfill(
                    node.name, end, tank, needs=f"fuel.viscosity: {layout.design.fuel.kind} thickens in the cold"
                )
            elif node.return_flow_m3_s > 0.0:
                lost_m3, giving, unknown = _lost(layout, tank)
                asked = Overfill(node.name, end, tank, lost_m3=lost_m3, lost_from=giving, lost_unknown=unknown)
                yield _judged(solving, settings, asked, partial(float, node.return_flow_m3_s))


def _lost(layout: Layout, into: str) -> tuple[float, str, str]:
    """The most that the engine sends into a tank of another's usable fuel for good, and the other; r of the b + r that it draws.

    Last a tank of which that is not known, for nothing says how full it is.
    """
    joined = next(group for group in layout.network.fuel_groups() if into in group)
    found, unknown = [(0.0, "")], ""
    for tank in layout.tanks:
        out = outflow(layout, tank)
        if into in out.to and out.held_m3 is None and out.returned_m3_s and tank.name not in joined:
            usable_m3 = capacity(layout, tank).usable_m3
            if usable_m3 is None:
                unknown = unknown or tank.name
            else:
                found.append((usable_m3 * out.returned_m3_s / (out.alone_m3_s + out.returned_m3_s), tank.name))
    return *max(found), unknown


def _without_end_pa(_: Attitude) -> float:
    """What an engine's return may come to: the pump that sends it is not known."""
    return inf


def _judged(
    solving: Solving,
    settings: _Settings,
    asked: Overfill,
    flow_m3_s: Callable[[], float],
    stall_pa: Callable[[Attitude], float] = _without_end_pa,
) -> Overfill:
    try:
        return _let_out(solving, settings, replace(asked, flow_m3_s=flow_m3_s()), stall_pa)
    except NotSteadyError:
        return replace(asked, needs=UNSTEADY)


def _most_lifted_m3_s(solving: Solving, way: Way, pump: Pump) -> float:
    return max(_lifted_m3_s(solving, way, pump, attitude) for attitude in solving.flight)


def _lifted_m3_s(solving: Solving, way: Way, pump: Pump, attitude: Attitude) -> float:
    """What a pump brings at most: out of a full tank, strainers clean, against a tank full to its top; 0: it cannot lift so high."""
    layout = solving.layout
    piping = Piping(layout.network, solving.fluid, frozenset([pump.name]), blocked=False)
    source, tank = way.start.tank or "", way.end.tank or ""
    start, into = piping.node(way.start, "out"), piping.node(way.end, "in")
    given = {start: solving.head_pa(layout.tank(source).span_m(attitude.up)[1], attitude)}
    given[into] = solving.head_pa(layout.tank(tank).span_m(attitude.up)[1], attitude)
    met = piping.solved(given, {})
    assert met is not None  # the way joins the two tanks
    return max(0.0, met.out_of(into))


def _stall_pa(solving: Solving, way: Way, curve: PumpCurve, attitude: Attitude) -> float:
    """The most that a pump puts on the lowest point of the tank that it fills, out of a full one: its vents then pass no less."""
    source, tank = (solving.layout.tank(end.tank or "") for end in (way.start, way.end))
    lift_m = tank.span_m(attitude.up)[0] - source.span_m(attitude.up)[1]
    return max(adds_pa for _, adds_pa in curve) - solving.head_pa(lift_m, attitude)


def _let_out(
    solving: Solving, settings: _Settings, filled: Overfill, stall_pa: Callable[[Attitude], float]
) -> Overfill:
    """The worst flight attitude, and setting of what stands in the vent lines, for a flow out of a tank's vents."""
    worst, tank, flow_m3_s = filled, filled.tank, filled.flow_m3_s or 0.0
    if settings is None:
        return replace(filled, needs=f"at most {MOST_STATES} settings of what stands in the vent lines")
    for setting in settings:
        layout = as_set(solving.layout, setting)
        if tank not in still_breathing(layout.network, None):
            continue  # vent-can-be-shut tells it
        for attitude in solving.flight:
            asked_pa, most_pa = _pressure_pa(solving, layout, tank, flow_m3_s, attitude), stall_pa(attitude)
            pressure_pa = min(asked_pa, most_pa)
            if worst.pressure_pa is None or pressure_pa > worst.pressure_pa:
                words = setting.words if setting.shut else ""
                worst = replace(
                    filled, attitude=attitude, pressure_pa=pressure_pa, setting=words, stalled=most_pa < asked_pa
                )
    return worst


def _pressure_pa(solving: Solving, layout: Layout, tank: str, flow_m3_s: float, attitude: Attitude) -> float:
    """At the tank's lowest point, above the air's, with the vent lines as a layout has them."""
    piping = Piping(layout.network, solving.fluid, blocked=False, kinds=("vent",))
    tops = {}
    for end in overboard(layout):
        ways = [way for way in layout.network.ways("vent") if end in (way.start, way.end)]
        levels = [float((step.points_m @ attitude.up).max()) for way in ways for step in way.steps]
        if levels:  # a line from open air to open air leads to no tank, and is left a dead end
            tops[end, ""] = solving.head_pa(max(levels), attitude)
    found = piping.solved(tops, {airspace(tank): -flow_m3_s}, max(flow_m3_s, START_M3_S))
    assert found is not None  # the tank is joined to an overboard end
    return found.at(airspace(tank)) - solving.head_pa(layout.tank(tank).span_m(attitude.up)[0], attitude)
