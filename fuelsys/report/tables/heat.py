"""A table of how returned fuel warms the tank that it comes to."""

from __future__ import annotations

from collections.abc import Iterable

from fuelsys.model.found.heat import Heated
from fuelsys.report.shown import Shown
from fuelsys.report.table import Column, Table
from fuelsys.report.tables.shared import slug

_NOTE = (
    "Computed, not measured: look at the fuel's temperature in flight. The tank feeds the engine alone, from full to what is unusable"
    " and 30 minutes on top, is mixed well, and loses no heat through its walls. One that others keep full is at the first line as warm"
    " as it can become while they do."
)


def warmth(heated: Iterable[Heated], shown: Shown) -> list[Table]:
    """A table of each tank that an engine with stated heat returns fuel to."""
    columns = (Column("flown", "time"), Column("in the tank", "volume"), Column("warmer by", "temperature"))
    return [
        Table(
            f"{one.tank}-warmed-by-{slug(one.engine)}",
            f"Tank {one.tank} warmed by what {one.engine} returns, {one.heat_w:.0f} W",
            columns,
            tuple((step.time_s, step.volume_m3, step.warmer_k) for step in one.steps),
            (_NOTE,),
            shown,
        )
        for one in heated
        if one.steps
    ]
