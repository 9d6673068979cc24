"""Where a low-level mark must sit, on a vertical line of the mesh, to leave a target of minutes when it trips."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from fuelsys import units
from fuelsys.analysis.tank.draining import Drained
from fuelsys.analysis.tank.leaving import Leaving
from fuelsys.analysis.tank.outflow import known_outflow
from fuelsys.analysis.tank.stems import Stretches
from fuelsys.analysis.tank.tilted import Tilted
from fuelsys.analysis.tank.unusable import outlets, unusable
from fuelsys.arrays import Floats
from fuelsys.errors import QuestionError
from fuelsys.model.built.layout import FittedTank, Layout
from fuelsys.model.found.outflow import Outflow
from fuelsys.model.found.place import AS_DRAWN, Built, Placement, PlacementAt
from fuelsys.model.stated.attitude import Attitude

_ROUNDING = 1e-9  # of the target


class Target(NamedTuple):
    """What a mark is placed for: the quantity that is to be left at its trip, of it unusable, and the flow out of the tank."""

    target_m3: float
    unusable_m3: float
    outflow: Outflow


def target(layout: Layout, tank: FittedTank, target_s: float, delay_s: float = 0.0) -> Target:
    """The quantity that leaves a time from when the lamp lights above the unusable fuel of the worst flight attitude.

    QuestionError where it cannot.
    """
    left = unusable(tank, layout.design.envelope)
    if left is None:
        raise QuestionError(
            f"tank {tank.name} has no outlet",
            mend="Add [[tank.outlet]]: minutes count above the unusable fuel.",
            file=layout.file,
        )
    out = known_outflow(layout, tank)
    target_m3 = left.volume_m3 + (out.usable_for_m3(target_s + delay_s) or 0.0)
    if target_m3 >= tank.cavity.gross_m3:
        need, held = (units.written(v, layout.design.show.volume, "volume") for v in (target_m3, tank.cavity.gross_m3))
        raise QuestionError(
            f"{target_s / 60:g} min need {need} with the unusable fuel, the tank holds {held}",
            mend="Ask for fewer minutes or draw from a larger tank.",
            file=layout.file,
            field=f"tank {tank.name}",
        )
    return Target(target_m3, left.volume_m3, out)


def place(
    layout: Layout,
    tank: FittedTank,
    xy_m: tuple[float, float],
    target_s: float,
    *,
    guaranteed: bool,
    built: Built = AS_DRAWN,
) -> Placement:
    """A mark's height at (x, y) of the mesh for a target, at the normal flight attitude or over the flight envelope.

    The minutes count above the unusable fuel of the worst flight attitude, in the worst state: all that the engine burns comes
    from this tank, and what it returns elsewhere on top; built is the switch, whose tolerance, float and delay they include.
    QuestionError where no height will do.
    """
    wanted = target(layout, tank, target_s, built.delay_s)
    normal = layout.design.normal("flight")
    asked = [a for a in layout.design.envelope if a.phase == "flight"] if guaranteed else [normal]
    stretches = Stretches.of(tank, np.array([xy_m]))
    if not stretches.line.size:
        x, y = (units.written(at_m, layout.design.show.length, "length") for at_m in xy_m)
        raise QuestionError(
            f"the line at x {x}, y {y} does not pass through the cavity",
            mend="Give x and y in the mesh's own axes.",
            file=layout.file,
            field=f"tank {tank.name}",
        )
    heights = {}
    for attitude in asked:
        drained = Drained.of(tank.cavity, attitude.up, outlets(tank))
        height = float(stretches.heights_m(Leaving(drained, wanted.target_m3), 1)[0])
        upright = float(tank.turn[2] @ attitude.up)
        height += (built.low_m / upright if upright > 0.0 else np.inf) if built.low_m else 0.0
        if why := built.switch.too_far(attitude.up):
            raise QuestionError(
                f"at {attitude.text} it is {why}",
                mend="Take a switch that works there, or state no such attitude.",
                file=layout.file,
                field=f"tank {tank.name}",
            )
        if height == np.inf:
            raise QuestionError(
                f"no mark on this line leaves {target_s / 60:g} min at {attitude.text}",
                mend="Move it nearer to the outlet or to the middle of the tank, or let fuel reach it (a notch in the rib).",
                file=layout.file,
                field=f"tank {tank.name}",
            )
        heights[attitude] = float(built.marks_m(np.array([height]))[0])
    mark_m = np.array([*xy_m, max(heights.values())])
    at = _proved(layout, tank, heights, mark_m + np.array([0.0, 0.0, built.rides.raised_m]), wanted, built)
    steady_m = steady_point_m(tank, normal, wanted.target_m3)
    clearance_m = tank.cavity.clearance_m(tank.body_m(mark_m))
    return Placement(
        tank.name, mark_m, guaranteed, target_s, wanted.target_m3, at, steady_m, clearance_m, wanted.outflow, built
    )


def _proved(
    layout: Layout, tank: FittedTank, heights: dict[Attitude, float], trips_m: Floats, wanted: Target, built: Built
) -> tuple[PlacementAt, ...]:
    """The chosen mark put back into the forward question, attitude by attitude, low by all that makes it so."""
    at = []
    spot = tank.cavity.spot("mark", tank.body_m(trips_m))
    for attitude, height in heights.items():
        held = Drained.of(tank.cavity, attitude.up, outlets(tank), [spot]).passed(0, -built.low_m)
        if held is None or (built.low_m and (spot.off_m or held < wanted.target_m3 * (1.0 - _ROUNDING))):
            raise QuestionError(
                f"the mark that serves the other attitudes is never passed{' in time' if built.low_m else ''} at {attitude.text}",
                mend="Move it nearer to the outlet, or let fuel reach it (a notch in the rib).",
                file=layout.file,
                field=f"tank {tank.name}",
            )
        least_s = wanted.outflow.least_s(held - wanted.unusable_m3)
        at.append(PlacementAt(attitude, height, held, ((least_s or 0.0) - built.delay_s) / 60.0))
    return tuple(at)


def steady_point_m(tank: FittedTank, attitude: Attitude, quantity_m3: float) -> Floats:
    """Centroid of the free surface at a quantity, in the mesh's axes: a mark there has no first-order attitude error."""
    tilted = Tilted.of(tank.cavity, attitude.up)
    level = float(tilted.level_for(np.array([quantity_m3]))[0])
    sums = tilted.moments(level)
    return tank.mesh_m(sums[5:8] / sums[4] + tank.cavity.centre_m)
