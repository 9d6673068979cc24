"""Where a low-level mark must sit, on a vertical line of the mesh, to leave a target of minutes when it trips."""

from __future__ import annotations

import numpy as np

from fuelsys.analysis.draining import Drained
from fuelsys.analysis.tilted import Tilted
from fuelsys.analysis.unusable import outlets, unusable
from fuelsys.errors import QuestionError
from fuelsys.kernels import pools
from fuelsys.kernels.compiled import Floats
from fuelsys.model.attitude import Attitude
from fuelsys.model.layout import FittedTank, Layout
from fuelsys.model.study import Placement, PlacementAt

_STEPS = 48  # halvings of the free height: to rounding


def inside_spans_m(tank: FittedTank, xy_m: tuple[float, float]) -> list[tuple[float, float]]:
    """The stretches of the mesh's vertical line at (x, y) that lie in the cavity: (from z, to z) in metres, rising."""
    up = np.array([0.0, 0.0, 1.0]) @ tank.turn
    tilted = Tilted.of(tank.cavity, up)
    at = (tank.body_m((*xy_m, 0.0)) - tank.cavity.centre_m) @ tilted.axes
    shift = float(at[2])  # level of mesh z = 0 about the cavity's centre
    crossings: list[float] = []
    level = tilted.high_m + 1.0
    while True:
        face, z = pools.drop(
            tilted.placed_m, tank.cavity.faces, np.array([[at[0], at[1], level]]), np.array([-1], np.int32)
        )
        if face[0] < 0:
            break
        crossings.append(float(z[0]) - shift)
        level = np.nextafter(float(z[0]), -np.inf)
    rising = sorted(crossings)
    spans = []
    for low, high in zip(rising[:-1], rising[1:], strict=True):
        middle = tank.body_m((*xy_m, (low + high) / 2.0))
        if high - low > 1e-6 and tank.cavity.spot("", middle).off_m == 0.0:
            spans.append((low, high))
    return spans


def _quantity(tank: FittedTank, attitude: Attitude, mark_m: Floats) -> float | None:
    """Least quantity when a mark at a point of the mesh trips."""
    spot = tank.cavity.spot("mark", tank.body_m(mark_m))
    return Drained.of(tank.cavity, attitude.up, outlets(tank), [spot]).passed(0)


def _height_for(tank: FittedTank, attitude: Attitude, xy_m: tuple[float, float], target_m3: float) -> float | None:
    """Least height on the line at which a mark trips with the target still there; None where none does."""
    for low, high in inside_spans_m(tank, xy_m):
        margin = 1e-6 * (high - low)
        bottom, top = low + margin, high - margin

        def enough(z_m: float) -> bool:
            held = _quantity(tank, attitude, np.array([*xy_m, z_m]))
            return held is not None and held >= target_m3

        if not enough(top):
            continue
        for _ in range(_STEPS):
            middle = (bottom + top) / 2.0
            if enough(middle):
                top = middle
            else:
                bottom = middle
        return top
    return None


def place(
    layout: Layout, tank: FittedTank, xy_m: tuple[float, float], target_s: float, *, guaranteed: bool
) -> Placement:
    """A mark's height at (x, y) of the mesh for a target, at the normal flight attitude or over the flight envelope.

    The minutes count above the unusable fuel of the worst flight attitude. QuestionError where no height will do.
    """
    left = unusable(tank, layout.design.envelope)
    if left is None:
        raise QuestionError(
            f"tank {tank.name} has no outlet",
            mend="Add [[tank.outlet]]: minutes count above the unusable fuel.",
            file=layout.file,
        )
    flow_m3_s = layout.design.reserve_flow_m3_s * tank.design.flow_share
    target_m3 = left.volume_m3 + flow_m3_s * target_s
    if target_m3 >= tank.cavity.gross_m3:
        raise QuestionError(
            f"{target_s / 60:g} min need {target_m3 * 1e3:.2f} L with the unusable fuel, the tank holds {tank.cavity.gross_m3 * 1e3:.2f} L",
            mend="Ask for fewer minutes or draw from a larger tank.",
            file=layout.file,
            field=f"tank {tank.name}",
        )
    normal = layout.design.normal("flight")
    asked = [a for a in layout.design.envelope if a.phase == "flight"] if guaranteed else [normal]
    if not inside_spans_m(tank, xy_m):
        raise QuestionError(
            f"the line at x {xy_m[0] * 1e3:g} mm, y {xy_m[1] * 1e3:g} mm does not pass through the cavity",
            mend="Give x and y in the mesh's own axes.",
            file=layout.file,
            field=f"tank {tank.name}",
        )
    heights = {}
    for attitude in asked:
        height = _height_for(tank, attitude, xy_m, target_m3)
        if height is None:
            raise QuestionError(
                f"no mark on this line leaves {target_s / 60:g} min at {attitude.text}",
                mend="Move it nearer to the outlet or to the middle of the tank, or let fuel reach it (a notch in the rib).",
                file=layout.file,
                field=f"tank {tank.name}",
            )
        heights[attitude] = height
    mark_m = np.array([*xy_m, max(heights.values())])
    at = _proved(tank, heights, mark_m, left.volume_m3, flow_m3_s)
    return Placement(tank.name, mark_m, guaranteed, target_s, target_m3, at, steady_point_m(tank, normal, target_m3))


def _proved(
    tank: FittedTank, heights: dict[Attitude, float], mark_m: Floats, unusable_m3: float, flow_m3_s: float
) -> tuple[PlacementAt, ...]:
    """The chosen mark put back into the forward question, attitude by attitude."""
    at = []
    for attitude, height in heights.items():
        held = _quantity(tank, attitude, mark_m)
        if held is None:
            raise QuestionError(
                f"the mark that serves the other attitudes is never passed at {attitude.text}",
                mend="Move it nearer to the outlet, or let fuel reach it (a notch in the rib).",
                field=f"tank {tank.name}",
            )
        at.append(PlacementAt(attitude, height, held, (held - unusable_m3) / flow_m3_s / 60.0))
    return tuple(at)


def steady_point_m(tank: FittedTank, attitude: Attitude, quantity_m3: float) -> Floats:
    """Centroid of the free surface at a quantity, in the mesh's axes: a mark there has no first-order attitude error."""
    tilted = Tilted.of(tank.cavity, attitude.up)
    level = float(tilted.level_for(np.array([quantity_m3]))[0])
    sums = tilted.moments(level)
    return tank.mesh_m(sums[5:8] / sums[4] + tank.cavity.centre_m)
