"""Tables of how the vents breathe, and of what goes on coming into full tanks."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import cast

from fuelsys.model.found.breathing import CLIMB_M_S, DESCENT_M_S, FILLING_M3_S, Breath, Breathing, Overfill
from fuelsys.model.stated.attitude import STANDARD_GRAVITY_M_S2
from fuelsys.model.words import Doubt, Quantity
from fuelsys.report.shown import Shown
from fuelsys.report.table import Cell, Column, Table

WATER_KG_M3 = 1000.0
_WHEN: dict[Breath, str] = {"in": "descent", "out": "climb", "filling": "filling"}
_COMPUTED = "Computed, not measured: blow through the finished vents."
_OVERFILL_NOTE = (
    "The pressure stands at the full tank's lowest point, at the worst flight attitude, with the vent's line full of fuel up to its"
    " highest point. The pump counts with strainers clean and a full tank behind it."
)


def breathing(found: Breathing, overfills: Sequence[Overfill], shown: Shown) -> list[Table]:
    """What the settings of the vent lines permit where there are several; the worst of each tank, in any setting and with one end
    blocked; then each tank that is overfilled. None where there is nothing."""
    if found.needs:
        note = Doubt(f"air through the vents is not computed: needs {found.needs}.")
        return [
            Table("vents", "Air through the vents", (Column("tank"),), (), (note,), shown),
            *_overfilled(overfills, shown),
        ]
    return [*_settings(found, shown), *_breaths(found, shown), *_overfilled(overfills, shown)]


def _settings(found: Breathing, shown: Shown) -> list[Table]:
    if len(found.settings) < 2:
        return []
    columns = (Column("setting"), Column("no air into"), Column("no air out of"), Column("airspaces joined"))
    rows = tuple(
        (
            one.words, ", ".join(one.starved) or None, ", ".join(one.closed) or None,
            "; ".join(" and ".join(group) for group in one.groups if len(group) > 1) or None,
        )
        for one in found.settings
    )  # fmt: skip
    notes = ("Found from the lines: a selector there joins any two of its lines, a check valve lets air pass one way.",)
    return [Table("vent-settings", "What is set in the vent lines", columns, rows, notes, shown)]


def _notes(shown: Shown) -> tuple[str, ...]:
    rates = shown.words(
        (Quantity("climb", (CLIMB_M_S,)), " of climb and ", Quantity("climb", (DESCENT_M_S,)), " of descent")
    )
    return (
        "Pressures in the tank are above the air's outside, suction is negative. Tanks count as empty of fuel and full of air; what the"
        f" design does not state of rates counts as {rates}, of filling as {shown.flow_text(FILLING_M3_S)} (from memory). Air outside has"
        " one pressure everywhere: ram and suction at the vents' ends are not counted, nor ice, nor a vent under fuel.",
        _COMPUTED,
    )


def _breaths(found: Breathing, shown: Shown) -> list[Table]:
    tanks = dict.fromkeys(tank for state in found.states for tank in state.pressures_pa)
    whats = cast("tuple[Breath, ...]", ("in", "out", "filling"))
    rows = [row for tank in tanks for what in whats for row in _worst(found, tank, what)]
    columns = (
        Column("tank"), Column("when"), Column("blocked"), Column("drawn from, or filled"), Column("at", rank=1),
        Column("air in", "flow"), Column("pressure in the tank", "pressure"), Column("as a column of water", "length", rank=2),
    )  # fmt: skip
    return (
        [Table("vents", "Air through the vents", columns, tuple(rows), _notes(shown), shown, paper=False)]
        if rows
        else []
    )


def _worst(found: Breathing, tank: str, what: Breath) -> Iterator[tuple[Cell, ...]]:
    """The worst state with all ends open, and with one blocked where that is worse."""
    opened = found.worst(tank, what)
    blocked = found.worst(tank, what, blocked=True)
    more = blocked and opened and abs(blocked.pressures_pa[tank]) > 1.001 * abs(opened.pressures_pa[tank])
    for state in (opened, blocked if more or opened is None else None):
        if state is not None:
            value, level = state.pressures_pa[tank], "ceiling" if state.altitude_m else "sea level"
            ends = (state.blocked or state.setting or None, state.drawn_from or None, level)
            column = value / WATER_KG_M3 / STANDARD_GRAVITY_M_S2
            yield (tank, _WHEN[what], *ends, state.flows_m3_s[tank], value, column)


def _overfilled(overfills: Sequence[Overfill], shown: Shown) -> list[Table]:
    rows: tuple[tuple[Cell, ...], ...] = tuple(
        (
            one.source, str(one.by), one.tank, f"needs {one.needs}" if one.needs else one.flow_m3_s,
            one.attitude.text if one.attitude else None, one.pressure_pa,
        )
        for one in overfills
    )  # fmt: skip
    columns = (
        Column("from"), Column("by"), Column("into"), Column("flow", "flow"), Column("attitude"),
        Column("pressure at the lowest point", "pressure"),
    )  # fmt: skip
    notes = (_OVERFILL_NOTE,)
    return [Table("overfills", "Fuel that comes into full tanks", columns, rows, notes, shown)] if rows else []
