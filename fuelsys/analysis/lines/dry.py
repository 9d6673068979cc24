"""Air through an empty line: a tank that has run dry, or an outlet that has come clear, beside others that still feed."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace

from fuelsys.analysis.lines.flow import MOST_LINES
from fuelsys.analysis.lines.solving import LEAST_FALL_M, Solving
from fuelsys.analysis.lines.sources import sources_of
from fuelsys.kernels.steady import NotSteadyError
from fuelsys.model.built.ends import End, PortEnd
from fuelsys.model.built.layout import Ends, FittedTank
from fuelsys.model.found.flow import DryBranch
from fuelsys.model.stated.attitude import Attitude
from fuelsys.model.stated.components import Engine, Pump, Selector
from fuelsys.model.stated.fittings import Inlet, Return


def dry_branches(solving: Solving) -> Iterator[DryBranch]:
    """Every outlet that may run dry while another tank's feeds the same pump, engine or tank."""
    network = solving.layout.network
    for end in network.nodes:
        if solving.back_m3_s is None or len({one.tank for one in sources_of(solving.layout, end)}) < 2:
            continue
        if not isinstance(network.nodes[end], (Engine, Pump)):
            continue
        needed = solving.take_off_m3_s + solving.back_m3_s
        together = [group for group in solving.together(end) if len({one.tank for one in group}) > 1]
        for dry, beside in ((one, group) for group in together for one in group):
            feeding = tuple(one for one in beside if one.tank != dry.tank)
            attitudes = (*solving.flight, *solving.combined)
            found = [_dry(solving, end, dry, feeding, needed, attitude) for attitude in attitudes]
            known = [one for one in found if one]
            if known:
                yield min(known, key=lambda one: one.margin_pa)


def bared_outlets(solving: Solving) -> Iterator[DryBranch]:
    """Every outlet that comes clear of the fuel while others of its tank still feed the same pump or engine."""
    network = solving.layout.network
    for end, part in network.nodes.items():
        found = (
            sources_of(solving.layout, end)
            if isinstance(part, (Engine, Pump)) and solving.back_m3_s is not None
            else ()
        )
        needed = solving.take_off_m3_s + (solving.back_m3_s or 0.0)
        for dry in found:
            others = [one for one in found if one.tank == dry.tank and one != dry and _meet(solving, dry, one, end)]
            known = [one for at in solving.flight if (one := _bared(solving, end, dry, others, needed, at))]
            if known:
                yield min(known, key=lambda one: one.margin_pa)


def ended_by(solving: Solving, tank: FittedTank) -> dict[str, Ends]:
    """Outlets of a tank that, bare, let air past to where the lines of its other outlets go, at some flight attitude.

    Where that cannot be known it is taken to be so: the first outlet that takes air then ends them all.
    """
    found: dict[str, Ends] = {}
    network = solving.layout.network
    for end, part in network.nodes.items() if len(tank.design.outlet) > 1 else ():
        sources = sources_of(solving.layout, end) if isinstance(part, (Engine, Pump, Inlet, Return)) else ()
        own = [one for one in sources if one.tank == tank.name]
        for dry in own:
            others = tuple(one for one in own if one != dry and _meet(solving, dry, one, end))
            if not others or not isinstance(dry, PortEnd):
                continue
            needed = _unknown(solving)
            at = (*solving.flight, *solving.combined)
            if needed or any(lets_air_in(solving, end, dry, others, one) for one in at):
                before = found[dry.port].others if dry.port in found else ()
                names = (one.port for one in others if isinstance(one, PortEnd))
                found[dry.port] = Ends(tuple(dict.fromkeys([*before, *names])), needed)
    return found


def lets_air_in(solving: Solving, end: End, dry: End, others: tuple[End, ...], attitude: Attitude) -> bool:
    """Whether a dry outlet's line lets air past at an attitude, at the greatest flow, others at their last usable; not known is yes."""
    try:
        found = _dry(solving, end, dry, others, solving.drawn_m3_s(end), attitude)
    except NotSteadyError:
        return True
    return found is None or found.margin_pa <= 0.0


def _unknown(solving: Solving) -> str:
    if solving.known is None:
        return f"fuel.viscosity: {solving.layout.design.fuel.kind} thickens in the cold"
    if solving.back_m3_s is None:
        return "the engine's return_flow"
    many = sum(line.kind in ("feed", "interconnect") for line in solving.layout.lines) > MOST_LINES
    return f"at most {MOST_LINES} feed and interconnect lines" if many else ""


def _meet(solving: Solving, dry: End, other: End, end: End) -> bool:
    """Whether two outlets' lines meet before an end elsewhere than at a selector that chooses between them."""
    ways = [way for way in solving.layout.network.ways("feed", solving.stops) if way.end == end]
    one, two = (next(way.shortest for way in ways if way.start == start) for start in (dry, other))
    comes = {step.end: step.line.name for step in two}
    met = next(step for step in one if step.end in comes)
    part = solving.layout.network.nodes[met.end]
    return not (isinstance(part, Selector) and part.both is not True and met.line.name != comes[met.end])


def _bared(
    solving: Solving, end: End, dry: End, others: Sequence[End], needed_m3_s: float, attitude: Attitude
) -> DryBranch | None:
    """At an attitude: with the fuel at the level at which the last of the others takes air."""
    level = solving.surface_m(dry, attitude)
    feeding = tuple(one for one in others if solving.surface_m(one, attitude) < level - LEAST_FALL_M)
    found = _dry(solving, end, dry, feeding, needed_m3_s, attitude) if feeding else None
    return replace(found, feeding=", ".join(str(one) for one in feeding), own=True) if found else None


def _dry(
    solving: Solving, end: End, dry: End, feeding: tuple[End, ...], needed_m3_s: float, attitude: Attitude
) -> DryBranch | None:
    """How near air comes to the common line: the pressure where the dry line's lowest point is.

    The dry line stands full up to where the pressure at the junction holds its column; no flow, so that pressure's head
    is the column's level. Air gets past when that level falls below the line's lowest point.
    """
    state = solving.piping.solved(
        solving.given_pa(feeding, attitude), {solving.piping.node(end, "in"): needed_m3_s}, needed_m3_s
    )
    if state is None:
        return None
    own = next(way for way in solving.layout.network.ways("feed", solving.stops) if way.start == dry and way.end == end)
    others = {
        step.end
        for way in solving.layout.network.ways("feed", solving.stops)
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
    margin = state.at(solving.piping.node(junction, "in")) - solving.head_pa(lowest, attitude)
    names = ", ".join(dict.fromkeys(one.tank or "" for one in feeding))
    return DryBranch(attitude, dry, names, str(junction), end, margin)
