"""The tolerance that a mark counts with where none is stated: a new switch's, so that what can be counted on is not the best."""

from __future__ import annotations

from dataclasses import replace

from fuelsys.model.built.layout import FittedTank, Layout
from fuelsys.model.words import Doubt

TOLERANCE_M = 3e-3  # of a mark that is not there yet, or whose tolerance is not stated; common practice, no source


def with_tolerances(layout: Layout) -> tuple[Layout, list[Doubt]]:
    """The layout in which every mark has a tolerance, and which marks state none."""
    unstated = [
        f"{tank.name} switch {one.name}"
        for tank in layout.tanks
        for one in tank.design.switch
        if one.tolerance_m is None
    ]
    for tank in layout.tanks if unstated else ():
        switches = tuple(
            one.model_copy(update={"tolerance_m": TOLERANCE_M}) if one.tolerance_m is None else one
            for one in tank.design.switch
        )
        design = tank.design.model_copy(update={"switch": switches})
        layout = with_tank(layout, replace(tank, design=design))
    low = f"no tolerance is stated of {', '.join(unstated)}: at the latest counts with marks {TOLERANCE_M * 1e3:g} mm low."
    return layout, [Doubt(low)] if unstated else []


def with_tank(layout: Layout, changed: FittedTank) -> Layout:
    """The layout with one of its tanks changed."""
    tanks = tuple(changed if tank.name == changed.name else tank for tank in layout.tanks)
    design = layout.design.model_copy(update={"tank": tuple(tank.design for tank in tanks)})
    return replace(layout, tanks=tanks, design=design)
