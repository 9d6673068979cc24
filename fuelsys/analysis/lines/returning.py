"""The pressure that a return line puts on what sends the fuel back: to drive it to the tank, over the line and up to the fuel there.

All that comes back goes one way, strainers and filters half blocked, the fuel cold, the tank brim-full under the air's pressure: each
is the side that makes it more. Throttled, an engine burns next to nothing, and a pump that is built to bring the return and the greatest
flow stated sends back both. Not counted: what valves and coolers take of which no drop is stated, and a pump's strokes.
"""

from __future__ import annotations

from collections.abc import Iterator

from fuelsys.analysis.lines.flow import Piping
from fuelsys.analysis.lines.hydraulics import element_of
from fuelsys.analysis.lines.solving import Solving
from fuelsys.model.built.ends import End, PortEnd
from fuelsys.model.built.way import Way
from fuelsys.model.found.flow import AtReturn
from fuelsys.model.stated.attitude import Attitude
from fuelsys.model.stated.components import Engine, Filter


def at_returns(solving: Solving) -> tuple[AtReturn, ...]:
    """Each way of an engine's return to a tank, at the flight attitude at which most stands at its beginning; asked for only where
    the fuel's viscosity is known."""
    return tuple(_found(solving))


def _found(solving: Solving) -> Iterator[AtReturn]:
    network = solving.layout.network
    feed, back = network.ways("feed"), network.ways("return")
    for engine, node in network.nodes.items():
        if isinstance(node, Engine):
            on_feed = {end for way in feed if way.end == engine for end in way.through}
            for way in back:
                if way.start in on_feed | {engine} and isinstance(way.end, PortEnd):
                    yield _worst(solving, engine, node, way)


def _worst(solving: Solving, engine: End, node: Engine, way: Way) -> AtReturn:
    parts = [solving.layout.network.nodes[end] for end in way.through]
    unstated = tuple(part.name for part in parts if isinstance(part, Filter) and element_of(part) is None)
    if node.return_flow_m3_s is None:
        return AtReturn(engine, way.start, way.end, needs=f"the return_flow of {node.name}")
    throttled_m3_s = node.return_flow_m3_s + max(solving.layout.design.flows_m3_s.values())
    if node.return_flow_m3_s == 0.0:
        throttled_m3_s = 0.0
    found = [
        AtReturn(
            engine,
            way.start,
            way.end,
            _pressure_pa(solving, way, node.return_flow_m3_s, attitude),
            _pressure_pa(solving, way, throttled_m3_s, attitude),
            node.return_flow_m3_s,
            throttled_m3_s,
            attitude,
            unstated,
        )
        for attitude in solving.flight
    ]
    return max(found, key=lambda one: one.throttled_pa)


def _pressure_pa(solving: Solving, way: Way, flow_m3_s: float, attitude: Attitude) -> float:
    """What stands at the beginning of a way above the air's pressure while a flow goes by it to the full tank."""
    piping = Piping(solving.layout.network, solving.fluid, kinds=("return",))
    start, full_m = piping.node(way.start, "out"), solving.layout.tank(way.end.tank or "").span_m(attitude.up)[1]
    found = piping.solved({(way.end, ""): solving.head_pa(full_m, attitude)}, {start: -flow_m3_s}, max(flow_m3_s, 1e-6))
    assert found is not None  # the way joins the two
    return found.at(start) - solving.head_pa(float(way.shortest[0].points_m[0] @ attitude.up), attitude)
