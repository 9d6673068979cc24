"""Tables of what the feed lines bring, attitude by attitude."""

from __future__ import annotations

from math import isfinite

from fuelsys.model.found.flowing import Carried, FeedTo, Flows
from fuelsys.model.words import Doubt
from fuelsys.report.shown import Cell, Column, Shown, Table
from fuelsys.report.tables.tank import ATTITUDE, attitude_cells, slug

VACUUM_PA = -101325.0  # below the air's of ISO 2533 at sea level
_KINDS = {
    "gravity": "by gravity to {end}",
    "pumped": "to {end} by {running} alone",
    "suction": "to the inlet of {end}",
    "tank": "into {end}",
    "transfer": "into {end} by {running}",
}
_BROUGHT = {
    "gravity": "brought",
    "pumped": "brought",
    "suction": "brought without suction",
    "tank": "brought, tank full",
    "transfer": "brought",
}
_BASIS = (
    "Computed, not measured: a flow test on the finished aircraft decides. Each tank with its last usable fuel, strainers and"
    " filters half blocked, all air at one pressure, no slosh and no vapour."
)


def flows(found: Flows, shown: Shown) -> list[Table]:
    """The states of the plumbing, and one table for each end that is fed."""
    return [*_states(found, shown), *(_fed(found, fed, shown) for fed in found.to)]


def _states(found: Flows, shown: Shown) -> list[Table]:
    """Which tanks feed in each setting of selectors and valves; none where there is one setting only."""
    if not found.states or len(found.states) < 2:
        return []
    columns = (Column("setting"), Column("feeding"), Column("shut off"), Column("return goes to"))
    rows = tuple(
        (state.words, *(", ".join(names) or None for names in (state.feeding, state.isolated, state.returned_to)))
        for state in found.states
    )
    notes = ("Found from the lines, nearest tank first; settings in which nothing comes to an engine are left out.",)
    return [Table("flow-states", "What selectors and valves permit", columns, rows, notes, shown)]


def _fed(found: Flows, fed: FeedTo, shown: Shown) -> Table:
    columns = (
        Column("tank"),
        *ATTITUDE,
        *([Column("brought, surface below the inlet", "flow")] if fed.free else []),
        Column(_BROUGHT[fed.kind], "flow"),
        Column("needed", "flow"),
        Column("pressure at the needed flow", "pressure"),
        Column("lowest in the line", "pressure"),
    )
    free: tuple[Carried | None, ...] = fed.free or (None,) * len(fed.at)
    rows = tuple(_row(fed, one, below) for one, below in zip(fed.at, free, strict=True))
    name = _KINDS[fed.kind].format(end=fed.end, running=fed.running)
    notes = [_BASIS]
    if fed.unstated:
        notes.insert(0, Doubt(f"the drop of {', '.join(fed.unstated)} is not stated and counts as nothing."))
    if found.assumed:
        notes.append(f"Viscosity: {found.assumed} (fuel.viscosity states it).")
    notes.append("Pressures are above the air's; below it they are negative.")
    return Table(f"flow-{slug(name)}", f"Feed {name}", columns, rows, tuple(notes), shown, paper=False)


def _row(fed: FeedTo, one: Carried, below: Carried | None) -> tuple[Cell, ...]:
    left, lowest = _possible(one.pressure_pa), _possible(one.lowest_pa)
    free = () if below is None else (below.flow_m3_s,)
    tanks = " and ".join(one.tanks)
    return (tanks, *attitude_cells(one.attitude), *free, one.flow_m3_s, fed.needed_m3_s, left, lowest)


def _possible(pressure_pa: float | None) -> float | None:
    """A pressure above the air's, where there can be such a one: none is below a vacuum's, so that flow does not come."""
    return pressure_pa if pressure_pa is not None and isfinite(pressure_pa) and pressure_pa > VACUUM_PA else None
