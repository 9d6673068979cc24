"""Tables of what the feed lines bring, attitude by attitude."""

from __future__ import annotations

from math import isfinite

from fuelsys.model.found.flow import Carried, FeedTo, Flows, InState, State
from fuelsys.model.stated.standards import SEA_LEVEL_PA
from fuelsys.model.words import Doubt
from fuelsys.report.shown import Shown
from fuelsys.report.table import Cell, Column, Table
from fuelsys.report.tables.shared import ATTITUDE, attitude_cells, slug

VACUUM_PA = -SEA_LEVEL_PA  # below the air's
MOST_NAMED = 4  # settings that are named in a note
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
    return [*_states(found, shown), *_in_states(found, shown), *(_fed(found, fed, shown) for fed in found.to)]


def _states(found: Flows, shown: Shown) -> list[Table]:
    """Which tanks feed in each setting of selectors and valves; none where there is one setting only."""
    if not found.states or len(found.states) < 2:
        return []
    columns = (Column("setting"), Column("feeding"), Column("shut off"), Column("return goes to"))
    rows = tuple(
        (state.words, ", ".join(state.feeding), ", ".join(state.isolated) or None, _returns(state))
        for state in found.states
    )
    notes: tuple[str, ...] = (
        "Found from the lines, nearest tank first; settings in which nothing comes to an engine are left out.",
    )
    if found.cut_off:
        more = f" and {len(found.cut_off) - MOST_NAMED} more" if len(found.cut_off) > MOST_NAMED else ""
        notes = (*notes, f"Nothing comes to an engine with: {'; '.join(found.cut_off[:MOST_NAMED])}{more}.")
    return [Table("flow-states", "What selectors and valves permit", columns, rows, notes, shown)]


def _returns(state: State) -> str | None:
    """The tanks that get the return, and the engines whose return finds none."""
    stuck = [f"nowhere: {engine}" for engine in state.stuck]
    return ", ".join([*state.returned_to, *stuck]) or None


def _in_states(found: Flows, shown: Shown) -> list[Table]:
    """What comes in each setting at each flow that is stated, at the worst flight attitude."""
    columns = (
        Column("setting"),
        Column("into"),
        Column("flow"),
        Column("brought", "flow"),
        Column("needed", "flow"),
        Column("pressure", "pressure", name="left at that"),
        Column("from", rank=2),
        Column("worst at", rank=1),
    )
    rows = tuple(_state_row(one) for one in found.in_states)
    notes: list[str] = [Doubt(f"{one.where}: needs {one.needs}.") for one in found.missing_in_states]
    if found.cut_off and len(found.states or ()) < 2:
        notes.append(f"Nothing comes to an engine with: {'; '.join(found.cut_off[:MOST_NAMED])}.")
    notes.append(
        "Needed: 150 % of each flow by gravity, 125 % by a pump, and what returns; into a tank 100 % of the take-off flow, 150 %"
        " of others. Every flow at every flight attitude, each tank alone and all that the setting joins: the least is shown."
        " Into a tank: its surface below the inlets. Pressure: at the engine, above the air's, at the needed flow."
    )
    return [Table("setting-flows", "What comes in each setting", columns, rows, tuple(notes), shown)] if rows else []


def _state_row(one: InState) -> tuple[Cell, ...]:
    fed = one.fed
    into = fed.end.tank or str(fed.end) + (f" by {fed.running}" if fed.running else "")
    if not fed.at:
        return (one.state.words, into, one.phase, "not filled", fed.needed_m3_s, None, None, None)
    worst = fed.worst
    left = _possible(worst.pressure_pa)
    tanks = " and ".join(worst.tanks)
    return (one.state.words, into, one.phase, worst.flow_m3_s, fed.needed_m3_s, left, tanks, worst.attitude.short)


def _fed(found: Flows, fed: FeedTo, shown: Shown) -> Table:
    columns = (
        Column("tank"),
        *ATTITUDE,
        *([Column("brought, surface below the inlet", "flow")] if fed.free else []),
        Column(_BROUGHT[fed.kind], "flow"),
        Column("needed", "flow"),
        Column("pressure at the needed flow", "pressure", rank=1),
        Column("lowest in the line", "pressure", rank=2),
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
