"""What the engine's flow asks of the fuel over each outlet: the cover against a funnel of air, and the height that drives it."""

from __future__ import annotations

from dataclasses import replace
from math import pi, sqrt

from fuelsys.analysis.lines.doubts import feed_doubts
from fuelsys.analysis.lines.dry import ended_by
from fuelsys.analysis.lines.flow import MOST_LINES, Piping
from fuelsys.analysis.lines.giving import with_giving
from fuelsys.analysis.lines.solving import Solving
from fuelsys.kernels.steady import NotSteadyError
from fuelsys.model.built.ends import End, PortEnd
from fuelsys.model.built.layout import Cover, Draw, FittedTank, Layout
from fuelsys.model.stated.attitude import STANDARD_GRAVITY_M_S2
from fuelsys.model.stated.components import Engine
from fuelsys.model.stated.fittings import Outlet


def critical_submergence_m(bore_m: float, flow_m3_s: float) -> float:
    """Fuel over an opening that keeps a whirl from drawing air: S/D = 1 + 2.3 Fr, with Fr = V / sqrt(g D).

    ANSI/HI 9.8 (1998), read at second hand: for pump intakes, on the safe side for a tank. 25 L/h into 8 mm ask for 17.1 mm:

    >>> round(critical_submergence_m(0.008, 25e-3 / 3600.0), 4)
    0.0171
    """
    speed = flow_m3_s / (pi / 4.0 * bore_m**2)
    return bore_m * (1.0 + 2.3 * speed / sqrt(STANDARD_GRAVITY_M_S2 * bore_m))


def dip_m(flow_m3_s: float) -> float:
    """Least height over an outlet at which a surface without whirl dips into it: 0.69 (Q²/g)^(1/5), whatever the bore.

    Lubin and Springer, J. Fluid Mech. 29 (1967) 385, from memory. At 34 L/h:

    >>> round(dip_m(34e-3 / 3600.0) * 1e3, 1)
    4.3
    """
    return float(0.69 * (flow_m3_s**2 / STANDARD_GRAVITY_M_S2) ** 0.2)


def with_demand(layout: Layout) -> Layout:
    """The same with each outlet's cover and the height that each of its ways by gravity needs, at the greatest flow.

    An outlet alone gives all the flow, as it does when the others are empty. What cannot be computed is left out: the rules
    on flow say what they need.
    """
    solving = Solving.of(layout)
    looked_at = replace(layout, tanks=tuple(_of(solving, tank) for tank in layout.tanks))
    covered = Solving.of(looked_at)
    return with_giving(replace(looked_at, tanks=tuple(_with_ends(covered, tank) for tank in looked_at.tanks)))


def _with_ends(solving: Solving, tank: FittedTank) -> FittedTank:
    ends = ended_by(solving, tank)
    group = next((names for names in solving.layout.network.fuel_groups() if tank.name in names), ())
    return replace(
        tank,
        ends=ends,
        doubts=feed_doubts(solving, tank),
        joined=tuple(name for name in group if name != tank.name),
        opened=replace(tank.opened, ends=ends) if tank.opened else None,
    )


def _of(solving: Solving, tank: FittedTank) -> FittedTank:
    covers = {outlet.name: _cover(solving, tank, outlet) for outlet in tank.design.outlet}
    heights = {outlet: _heights(solving, PortEnd(tank.name, outlet), ways) for outlet, ways in _ends(tank).items()}
    draw = _draw(solving, tank)
    opened = replace(tank.opened, covers=covers, heights=heights, draw=draw) if tank.opened else None
    return replace(tank, covers=covers, heights=heights, opened=opened, draw=draw)


def _draw(solving: Solving, tank: FittedTank) -> Draw:
    """The most that is drawn from a tank alone; what engines send back counts unless it comes into the tank that this one feeds:
    back in its own, it need not fall over the outlet."""
    burnt = max(solving.layout.design.flows_m3_s.values())
    ends = {end for outlet in tank.design.outlet for end in solving.fed_by(PortEnd(tank.name, outlet.name))}
    if ends & set(solving.layout.network.transfer_pumps):
        return Draw(burnt, needs="the flow of its transfer pump")
    if solving.back_m3_s is None:
        return Draw(burnt, needs="the engine's return_flow")
    return Draw(burnt, max((solving.lost_by_return_m3_s(end) for end in ends), default=solving.back_m3_s))


def _ends(tank: FittedTank) -> dict[str, tuple[End, ...]]:
    return {outlet: tuple(climb.way.end for climb in climbs) for outlet, climbs in tank.downhill.items()}


def _cover(solving: Solving, tank: FittedTank, outlet: Outlet) -> Cover:
    if outlet.cover_m is not None:
        return Cover(outlet.cover_m)
    flow = max((solving.drawn_m3_s(end) for end in solving.fed_by(PortEnd(tank.name, outlet.name))), default=0.0)
    if outlet.bore_m is None or not flow:
        return Cover(0.0, needs="its bore" if outlet.bore_m is None else "a feed line from it")
    unknown = "the engine's return_flow, which the lines carry too" if solving.back_m3_s is None else ""
    height_m = critical_submergence_m(outlet.bore_m, flow)
    return Cover(height_m, assumed=True, flow_m3_s=flow, needs=unknown, dip_m=min(height_m, dip_m(flow)))


def _heights(solving: Solving, outlet: PortEnd, ends: tuple[End, ...]) -> tuple[float, ...]:
    """For each end by gravity how far above it the surface must stand; -inf where that is not known."""
    return tuple(_height(solving, outlet, end) for end in ends)


def _height(solving: Solving, outlet: PortEnd, end: End) -> float:
    lost = lost_pa(solving, outlet, end, solving.drawn_m3_s(end)) if end in solving.fed_by(outlet) else None
    return float("-inf") if lost is None else lost / solving.density_kg_m3 / STANDARD_GRAVITY_M_S2


def lost_pa(
    solving: Solving, outlet: End, end: End, flow_m3_s: float, running: frozenset[str] = frozenset()
) -> float | None:
    """What the lines take from an outlet that alone gives all that an end draws, and what the end asks for on top.

    Strainers and filters clean, pumps standing but for those that run: what they add is taken off, so it may be below zero.
    None where that is not known, or no line leads there.
    """
    piping = Piping(solving.layout.network, solving.fluid, running, blocked=False) if solving.known else None
    if piping is None or len(piping.lines) > MOST_LINES:
        return None
    part, node = solving.layout.network.nodes[end], piping.node(end, "in")
    try:
        state = piping.solved({(outlet, ""): 0.0}, {node: flow_m3_s}, flow_m3_s)
    except NotSteadyError:
        return None
    needed = part.inlet_pressure_pa or 0.0 if isinstance(part, Engine) else 0.0
    return None if state is None else needed - state.at(node)
