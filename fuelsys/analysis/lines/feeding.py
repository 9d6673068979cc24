"""What the feed lines bring: to the engine, to pumps and into tanks, and what is missing where it cannot be told."""

from __future__ import annotations

from collections.abc import Iterable
from functools import partial

from fuelsys.analysis.lines.dry import bared_outlets, dry_branches
from fuelsys.analysis.lines.flow import MOST_LINES, UNSTEADY
from fuelsys.analysis.lines.inlet import at_inlets
from fuelsys.analysis.lines.returning import at_returns
from fuelsys.analysis.lines.solving import Solving
from fuelsys.analysis.lines.sources import sources_of
from fuelsys.analysis.lines.states import states
from fuelsys.analysis.lines.statewise import boiling_in_states, in_states
from fuelsys.analysis.lines.vapour import air_pressure_pa, hot_vapour_pa
from fuelsys.kernels.steady import NotSteadyError
from fuelsys.model.built.ends import End
from fuelsys.model.built.layout import Layout
from fuelsys.model.found.flow import FeedTo, Flows, Missing, State


def flows(layout: Layout) -> Flows:
    """What the feed lines of a layout carry; with what is missing where something is."""
    fuel, ceiling_m = layout.design.fuel, layout.design.aircraft.ceiling_m
    solving = Solving.of(layout)
    fed = [end for end in layout.network.nodes if sources_of(layout, end)]
    permitted = states(layout)
    feeding = None if permitted is None else tuple(state for state in permitted if state.feeding)
    cut_off = tuple(state.words for state in permitted or () if not state.feeding)
    if not fed:
        return Flows(states=feeding)
    if needs := _needs(solving):
        return _none(feeding, fed, needs)
    try:
        found = list({_named(one): one for end in fed for one in solving.feeds(end)}.values())
        dry = (*dry_branches(solving), *bared_outlets(solving))
        inlets, returns = at_inlets(layout), at_returns(solving)
    except NotSteadyError:
        return _none(feeding, fed, UNSTEADY)
    viscosity = solving.fluid.viscosity_m2_s
    return Flows(
        to=tuple(one for one in found if isinstance(one, FeedTo)),
        dry=dry,
        missing=tuple(one for one in found if isinstance(one, Missing)),
        viscosity_m2_s=viscosity,
        assumed="" if fuel.viscosity_m2_s else f"{viscosity * 1e6:g} mm2/s assumed for cold {fuel.kind}",
        air_pa=None if ceiling_m is None else air_pressure_pa(ceiling_m),
        vapour_pa=hot_vapour_pa(fuel.kind, fuel.reid_pressure_pa),
        states=feeding,
        cut_off=cut_off,
        inlets=inlets,
        returns=returns,
        solve=partial(in_states, layout, feeding),
        boil=partial(boiling_in_states, layout, feeding),
    )


def _named(one: FeedTo | Missing) -> object:
    """What tells one feed from another: two pumps side by side each find both."""
    return one if isinstance(one, Missing) else (one.kind, one.end, one.running, *(found.tanks for found in one.at))


def _needs(solving: Solving) -> str:
    """What is missing for any flow to be found."""
    layout = solving.layout
    lines = [line for line in layout.lines if line.kind in ("feed", "interconnect")]
    if len(lines) > MOST_LINES:
        return f"at most {MOST_LINES} feed and interconnect lines: there are {len(lines)}"
    if "takeoff" not in layout.design.flows_m3_s:
        return "a flow named takeoff"
    return "" if solving.known else f"fuel.viscosity: {layout.design.fuel.kind} thickens in the cold"


def _none(feeding: tuple[State, ...] | None, fed: Iterable[End], needs: str) -> Flows:
    return Flows(missing=tuple(Missing("", str(end), needs) for end in fed), states=feeding)
