"""The greatest pressure at an engine's inlet: all pumps running, nothing drawn, the tanks full, at the flight attitude that adds most.

Where nothing flows nothing is lost to friction: what pumps in series add is their sum, each at no flow.
"""

from __future__ import annotations

from collections.abc import Iterator

from fuelsys.analysis.lines.flow import Piping
from fuelsys.analysis.lines.hydraulics import Fluid
from fuelsys.model.built.ends import End
from fuelsys.model.built.layout import Layout
from fuelsys.model.built.reaching import cut_off
from fuelsys.model.built.way import Way
from fuelsys.model.found.flow import AtInlet
from fuelsys.model.stated.attitude import Attitude
from fuelsys.model.stated.components import Engine, Pump

_VISCOSITY_M2_S = 1e-6  # any: nothing flows
_MORE = 1.001  # two pumps in series add more than one by more than rounding


def at_inlets(layout: Layout) -> tuple[AtInlet, ...]:
    """Of each engine, the tank from which most comes to its inlet; only where pumps stand on the way."""
    engines = [end for end, node in layout.network.nodes.items() if isinstance(node, Engine)]
    found = [one for engine in engines if (one := _worst(layout, engine))]
    return tuple(found)


def _worst(layout: Layout, engine: End) -> AtInlet | None:
    ways = [way for way in layout.network.ways("feed") if way.end == engine and way.start.tank]
    each = [one for way in ways for one in _of(layout, way)]
    unknown = [one for one in each if one.needs]
    return unknown[0] if unknown else max(each, key=lambda one: one.pressure_pa, default=None)


def _of(layout: Layout, way: Way) -> Iterator[AtInlet]:
    network = layout.network
    pumps = [node for end in way.through if isinstance(node := network.nodes[end], Pump)]
    names = tuple(pump.name for pump in pumps)
    curveless = [pump.name for pump in pumps if pump.curve is None]
    flight = [one for one in layout.design.envelope if one.phase == "flight"]
    if curveless:
        yield AtInlet(way.end, names, needs=f"the curve of {' and '.join(curveless)}")
    elif pumps:
        gain_pa, single_pa = _gain_pa(layout, way, names), max(_gain_pa(layout, way, (name,)) for name in names)
        for attitude in flight:
            head_pa = layout.design.fuel.density_kg_m3 * attitude.gravity_m_s2 * _fall_m(layout, way, attitude)
            yield AtInlet(way.end, names, gain_pa + head_pa, gain_pa > single_pa * _MORE, attitude)


def _gain_pa(layout: Layout, way: Way, running: tuple[str, ...]) -> float:
    """What running pumps add on a way at no flow."""
    fluid = Fluid(layout.design.fuel.density_kg_m3, _VISCOSITY_M2_S)
    piping = Piping(layout.network, fluid, frozenset(running), blocked=False)
    end = piping.node(way.end, "in")
    found = piping.solved({(way.start, ""): 0.0}, {end: 0.0})
    assert found is not None  # the way joins the two
    return found.at(end)


def _fall_m(layout: Layout, way: Way, attitude: Attitude) -> float:
    """From the highest point of all tanks whose fuel comes to an engine, through others too, down to a way's end."""
    apart = cut_off(layout.network)
    top_m = max(tank.span_m(attitude.up)[1] for tank in layout.tanks if tank.name not in apart)
    return top_m - float(way.shortest[-1].points_m[-1] @ attitude.up)
