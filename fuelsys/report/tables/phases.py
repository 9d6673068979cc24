"""The table of unusable fuel at each stated flow."""

from __future__ import annotations

from fuelsys.model.found.study import TankStudy
from fuelsys.model.found.unusable import LEAST_DIFFERENCE_M3, Unusable
from fuelsys.model.words import Doubt
from fuelsys.report.shown import Shown
from fuelsys.report.table import Column, Table

_NOTE = (
    "Left at the worst stated flight attitude, held for ever, for each flow: by cover, when an outlet takes air; by flow, when what is"
    " fed gets less than that flow or than the pressure it needs (by gravity at the latest at the highest point of its line), one"
    " outlet alone giving it, strainers and filters clean. What the capacity counts is the most at the greatest flow."
)


def phases(tank: TankStudy, left: Unusable, shown: Shown) -> list[Table]:
    """What stays behind at each stated flow, by the outlets' cover and by the flow, and which of them governs."""
    columns = (
        Column("flow"),
        Column("burnt", "flow"),
        Column("pump"),
        Column("by cover", "volume", rank=2),
        Column("by flow", "volume", rank=2),
        Column("left in all", "volume"),
        Column("governs"),
        Column("worst at", rank=1),
    )
    rows = tuple(
        (
            one.phase,
            one.flow_m3_s,
            f"{one.running} alone" if one.running else "none runs",
            one.by_cover_m3,
            one.by_flow_m3,
            one.unusable_m3,
            one.governs,
            one.attitude.short,
        )
        for one in tank.by_phase
    )
    missing = dict.fromkeys(one.needs for one in tank.by_phase if one.needs)
    notes: list[str] = [
        *(Doubt(f"by flow is not known where it needs {what}.") for what in missing),
        *tank.tank.remarks,
    ]
    known = [(one.unusable_m3, one) for one in tank.by_phase if one.unusable_m3 is not None]
    most_m3, most = max(known, key=lambda pair: pair[0], default=(0.0, None))
    counted_m3 = max(left.volume_m3, left.sustained.sustained_m3)
    if most is not None and most_m3 > counted_m3 + LEAST_DIFFERENCE_M3:
        notes.append(
            Doubt(
                f"with {most.running or 'no pump'} {most.phase} leaves {shown.text(most_m3, 'volume')}, more than the"
                f" {shown.text(counted_m3, 'volume')} that are unusable held for ever: `fuelsys flow` and the rule"
                " feed-flow-too-small say why."
            )
        )
    title = f"Unusable fuel of tank {tank.name} at each flow"
    return [Table(f"{tank.name}-phases", title, columns, rows, (*notes, _NOTE), shown, paper=False)] if rows else []
