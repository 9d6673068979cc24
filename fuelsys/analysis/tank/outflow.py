"""What leaves a tank at a phase's flow: what is burnt, and what engines return to other tanks."""

from __future__ import annotations

from fuelsys.analysis.tank.unusable import unusable
from fuelsys.errors import QuestionError
from fuelsys.model.built.ends import End
from fuelsys.model.built.layout import FittedTank, Layout
from fuelsys.model.found.outflow import Outflow
from fuelsys.model.stated.components import Engine, Pump, ShutOff


def outflow(layout: Layout, tank: FittedTank, phase: str | None = None) -> Outflow:
    """The outflow of a tank at a named flow; at the reserve phase's without a name."""
    design = layout.design
    burnt = design.flows_m3_s[phase or design.fuel.reserve_phase]
    to = elsewhere(layout, tank.name)
    if not to:
        return Outflow(burnt * tank.design.flow_share, burnt, doubts=tank.remarks)
    engines = [layout.network.nodes[end] for end in _engines(layout, tank.name)]
    stated = [part.return_flow_m3_s for part in engines if isinstance(part, Engine)]
    returned = None if None in stated else sum(one for one in stated if one is not None)
    held = [_held_m3(layout, other, tank.name) for other in to]
    kept = None if None in held else sum(one for one in held if one is not None)
    return Outflow(burnt * tank.design.flow_share, burnt, returned, kept, to, tank.remarks)


def known_outflow(layout: Layout, tank: FittedTank) -> Outflow:
    """The outflow at the reserve phase's flow; QuestionError where the design does not say how much is returned elsewhere."""
    found = outflow(layout, tank)
    if found.returned_m3_s is None:
        raise QuestionError(
            f"the engine returns fuel to {', '.join(found.to)}, and how much is not stated",
            mend="State return_flow of the engine: what goes to another tank shortens the minutes.",
            file=layout.file,
            field=f"tank {tank.name}",
        )
    return found


def elsewhere(layout: Layout, tank: str) -> tuple[str, ...]:
    """Tanks that may get what an engine returns of a tank's fuel, but for itself and those on the way to the engine."""
    network = layout.network
    own = {tank, *_downstream(layout, tank)}
    found = {
        other
        for end in _engines(layout, tank)
        if not network.return_is_switched(end, tank)
        for other in network.return_tanks(end)
    }
    return tuple(sorted(found - own))


def _downstream(layout: Layout, tank: str) -> tuple[str, ...]:
    """Tanks that a tank's fuel runs through on its way to an engine, in order."""
    found = [tank]
    for name in found:
        into = (way.end.tank for way in layout.network.ways("feed") if way.start.tank == name)
        found.extend(other for other in into if other and other not in found)
    return tuple(found[1:])


def _engines(layout: Layout, tank: str) -> tuple[End, ...]:
    """Engines that burn a tank's fuel, through other tanks too."""
    own = {tank, *_downstream(layout, tank)}
    ends = (way.end for way in layout.network.ways("feed") if way.start.tank in own)
    return tuple(dict.fromkeys(end for end in ends if isinstance(layout.network.nodes[end], Engine)))


def _held_m3(layout: Layout, other: str, tank: str) -> float | None:
    """How much more a tank may come to hold back in flight before what runs into it runs on to another; None: it need not.

    From the least that it keeps at any flight attitude to the most: drained at the one, then held at the other.
    """
    network = layout.network
    ways = [way for way in network.ways("feed") if way.start.tank == other]
    shut = any(isinstance(network.component(end), ShutOff | Pump) for way in ways for end in way.through)
    if not ways or shut or {way.end.tank for way in ways} != {tank}:
        return None
    kept = unusable(layout.tank(other), layout.design.envelope)
    if kept is None:
        return None
    flight = [at.sustained_m3 for at in kept.at if at.attitude.phase == "flight"]
    return max(flight) - min(flight)
