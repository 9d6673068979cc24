"""From a layout to a study, and from a study to findings."""

from __future__ import annotations

from collections.abc import Callable

from fuelsys.analysis.capacity import capacity
from fuelsys.analysis.dipstick import dipstick
from fuelsys.analysis.filling import filled
from fuelsys.analysis.switches import switch_studies
from fuelsys.analysis.unusable import left_above_drain
from fuelsys.model.findings import Finding
from fuelsys.model.layout import FittedTank, Layout
from fuelsys.model.study import Study, TankStudy
from fuelsys.rules import ALL


def study_tank(layout: Layout, tank: FittedTank) -> TankStudy:
    """Everything that is computed for one tank."""
    held = capacity(layout, tank)
    ground = [attitude for attitude in layout.design.envelope if attitude.phase == "ground"]
    return TankStudy(
        tank=tank,
        capacity=held,
        switches=switch_studies(layout, tank, held.unusable.volume_m3 if held.unusable else None),
        dipstick=dipstick(layout, tank) if tank.design.dipstick else None,
        drain_left=tuple(left for a in layout.design.envelope if (left := left_above_drain(tank, a))),
        filled=tuple(full for a in ground if (full := filled(layout, tank, a))),
    )


def study(layout: Layout, progress: Callable[[str], None] = lambda _: None) -> Study:
    """The study of a layout; progress is told which tank is being computed."""
    tanks = []
    for tank in layout.tanks:
        progress(f"tank {tank.name}")
        tanks.append(study_tank(layout, tank))
    return Study(layout, tuple(tanks))


def findings(of: Study) -> list[Finding]:
    """All findings on a study, worst first; within an outcome in the order of the rules."""
    found = [finding for rule in ALL for finding in rule.findings(of)]
    return sorted(found, key=lambda finding: finding.outcome)
