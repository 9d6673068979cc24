"""What each drawing of the page shows, in one sentence with its figures: for those who hear the page."""

from __future__ import annotations

from collections.abc import Sequence

from fuelsys import units
from fuelsys.model.built.layout import Layout
from fuelsys.model.found.dipstick import DipstickStudy
from fuelsys.model.found.study import Study, TankStudy
from fuelsys.model.found.switches import SwitchStudy, left_text
from fuelsys.model.found.unusable import UnusableAt
from fuelsys.report.drawing.ink import minus
from fuelsys.report.drawing.tank_pictures import marks
from fuelsys.report.shown import Shown


def sentence(title: str, study: Study, tank: TankStudy | None, shown: Shown) -> str:
    """What a drawing shows, by its title and tank; None is the whole aircraft."""
    if tank is None and title.startswith("Flight"):
        return minus(f"{title}: {_flown(study, shown)}.")
    if tank is None:
        return minus(_plumbing(title, study.layout))
    said = {
        "Arrangement": _arrangement(tank, shown),
        "Minutes": _minutes(tank.switches),
        "Unusable": _stays(tank, shown),
        "Fuel": _stays(tank, shown),
        "Volume": _volumes(tank, shown),
        "Dipstick": _stick(tank.dipstick, shown),
    }.get(title.split(maxsplit=1)[0].rstrip(","), "")
    return minus(f"{title}, tank {tank.name}: {said}.")


def _plumbing(title: str, layout: Layout) -> str:
    lines = ", ".join(line.name for line in layout.lines)
    parts = ", ".join(component.name for component in layout.design.component)
    return f"{title}: {len(layout.lines)} lines ({lines}) and {len(layout.design.component)} components ({parts})."


def _flown(study: Study, shown: Shown) -> str:
    usual = study.failures.usual if study.failures else None
    if usual is None:
        return "not flown"
    lamps = "; ".join(f"{one.tank} {one.switch} lights at {units.minutes(one.lit_s)} min" for one in usual.warned)
    ends = "the engine stops" if usual.stopped else "the flight ends"
    left = shown.text(usual.left_m3, "volume")
    return f"what each tank holds; {lamps or 'no lamp lights'}; {ends} at {units.minutes(usual.end_s)} min with {left} left"


def _arrangement(tank: TankStudy, shown: Shown) -> str:
    fittings = ", ".join(mark.words for mark in marks(tank.tank)) or "no fittings"
    left = tank.capacity.unusable
    flight = (
        next((at for at in left.at if at.attitude.normal and at.attitude.phase == "flight"), None) if left else None
    )
    stays = f"; {_told(flight, shown)}" if flight else ""
    return f"side and rear section of {shown.text(tank.capacity.gross_m3, 'volume')} with {fittings}{stays}"


def _minutes(switches: Sequence[SwitchStudy]) -> str:
    return "; ".join(_least(switch) for switch in switches)


def _least(switch: SwitchStudy) -> str:
    """The least of a switch's latest minutes in flight, or where it never trips."""
    target = f", target {switch.target_s / 60.0:g} min" if switch.target_s else ""
    minutes = switch.drawn_minutes(switch.worst.latest_m3) if switch.worst else None
    if switch.worst is None or minutes is None:
        return f"{switch.name} never trips at {', '.join(at.attitude.name for at in switch.never)}{target}"
    return f"{switch.name} leaves {left_text(minutes)} at worst, {switch.worst.attitude.name}{target}"


def _stays(tank: TankStudy, shown: Shown) -> str:
    left = tank.capacity.unusable
    if left is None:
        return "not computed, needs an outlet"

    least = min(left.at, key=lambda at: at.unusable_m3)
    return f"{_told(left.worst, shown)}, the most in flight; {_told(least, shown)}, the least of all attitudes"


def _told(at: UnusableAt, shown: Shown) -> str:
    return f"{shown.text(at.unusable_m3, 'volume')} stay at {at.attitude.heading}"


def _volumes(tank: TankStudy, shown: Shown) -> str:
    held = tank.capacity
    volumes = {
        "gross": held.gross_m3,
        "fillable": None if held.filled is None else held.filled.volume_m3,
        "unusable": None if held.unusable is None else held.unusable.volume_m3,
    }
    return ", ".join(f"{name} {shown.text(v, 'volume')}" for name, v in volumes.items() if v is not None)


def _stick(stick: DipstickStudy | None, shown: Shown) -> str:
    if stick is None or not stick.marks:
        return "without a graduation"
    ends = min(stick.marks, key=lambda mark: mark.volume_m3), max(stick.marks, key=lambda mark: mark.volume_m3)
    told = (f"{shown.text(m.volume_m3, 'volume')} at {shown.text(m.along_m, 'length')}" for m in ends)
    return f"{len(stick.marks)} marks, from {' to '.join(told)} from its {stick.zero}"
