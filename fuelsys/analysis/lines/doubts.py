"""Why usable fuel and minutes of a tank may be wrong: what its feed asks of the fuel and the design does not say."""

from __future__ import annotations

from collections.abc import Iterator
from math import isinf

from fuelsys.analysis.lines.solving import Solving
from fuelsys.model.built.ends import PortEnd
from fuelsys.model.built.layout import FittedTank
from fuelsys.model.built.way import Climb
from fuelsys.model.stated.fittings import Outlet
from fuelsys.model.words import Doubt


def feed_doubts(solving: Solving, tank: FittedTank) -> tuple[str, ...]:
    """One sentence for each thing that is not stated and counts as nothing; where fuel is sucked, a line's path makes no
    difference."""
    found = [doubt for outlet in tank.design.outlet for doubt in _of_outlet(solving, tank, outlet)]
    return tuple(Doubt(one) for one in dict.fromkeys(found))


def _of_outlet(solving: Solving, tank: FittedTank, outlet: Outlet) -> Iterator[str]:
    end = PortEnd(tank.name, outlet.name)
    climbs, cover = tank.downhill.get(outlet.name, ()), tank.covers.get(outlet.name)
    if not solving.layout.network.lines_at(end):
        yield f"{end} has no line: what its feed asks of the fuel is not counted."
    elif not climbs and not solving.fed_by(end):
        yield f"the line from {end} leads to no pump, engine or tank: what its feed asks of the fuel is not counted."
    for climb in climbs:
        yield from _of_way(solving, climb)
    if any(isinf(height_m) for height_m in tank.heights.get(outlet.name, ())):
        missing = (
            ""
            if solving.known
            else f", it needs fuel.viscosity ({solving.layout.design.fuel.kind} thickens in the cold)"
        )
        yield f"how far the flow by gravity holds the surface up over {end} is not counted{missing}: `fuelsys flow` says what is missing."
    if cover and cover.needs and cover.assumed:
        yield f"more than the cover assumed may be needed at {end}: not known without {cover.needs}."
    elif cover and cover.needs:
        yield f"{end} states no cover and counts to its lip: an assumption needs {cover.needs}."


def _of_way(solving: Solving, climb: Climb) -> Iterator[str]:
    """By gravity: lines that are taken as straight, and filters that take nothing."""
    bare = dict.fromkeys(
        step.line.name for step in climb.way.steps if "path_m" not in step.line.design.model_fields_set
    )
    if bare:
        are = "states no path and counts" if len(bare) == 1 else "state no path and count"
        yield f"{', '.join(bare)} {are} as straight: where it rises, more fuel stays behind."
    drops = [name for name in solving.unstated(climb.way.end) if name in map(str, climb.way.through)]
    if drops:
        yield f"the drop of {', '.join(drops)} is not stated and counts as nothing: more fuel may stay behind."
