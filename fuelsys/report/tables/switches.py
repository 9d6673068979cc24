"""When each low-level switch trips and resets, as tables."""

from __future__ import annotations

from collections.abc import Sequence

from fuelsys.model.found.study import TankStudy
from fuelsys.model.found.switches import SwitchStudy, TripAt, left_text, none_left
from fuelsys.model.words import Doubt, as_read
from fuelsys.report.shown import Shown
from fuelsys.report.table import Cell, Column, Table
from fuelsys.report.tables.notes import (
    NONE_LEFT,
    covered,
    for_a_time,
    forever,
    held_by_line,
    narrow_gaps,
    open_gaps,
    told_of,
    worst_flow,
)
from fuelsys.report.tables.shared import ATTITUDE, MINUTES, NO_OUTLET, attitude_cells, seconds, slug


def _part(tank: TankStudy) -> str:
    """Which part of the flow is drawn from a tank, where it is not all of it."""
    share = tank.tank.design.flow_share
    return "" if share == 1.0 else f" (this tank's flow share, {round(share * 100.0, 1):g} % of all)"


def switches(tank: TankStudy, shown: Shown) -> list[Table]:
    """Each switch: quantity, usable quantity and minutes at trip and reset, attitude by attitude."""
    left = tank.capacity.unusable
    if left is None:
        notes = (*told_of(tank.tank, shown), NO_OUTLET)
        return [
            Table(f"{tank.name}-switch-{slug(one.name)}", _titled(one.name, tank.name), ATTITUDE, (), notes, shown)
            for one in tank.tank.design.switch
        ]
    held = (*held_by_line(left, shown), *for_a_time(tank, shown))
    warnings = (*told_of(tank.tank, shown), *held, *covered(tank, shown), *narrow_gaps(tank, shown))
    return [_switch(switch, _part(tank), warnings, shown) for switch in tank.switches]


def _titled(switch: str, tank: str) -> str:
    return f'Low-level switch "{switch}", tank {tank}'


def _switch(switch: SwitchStudy, part: str, warnings: Sequence[str], shown: Shown) -> Table:
    rows = tuple(_trip(switch, at) for at in switch.at)
    columns = (
        *ATTITUDE,
        Column("trip", "volume"),
        Column("trip usable", "volume", rank=3),
        Column("trip", "time"),
        Column("latest", "time"),
        Column("latest here", "time", rank=3),
        Column("least", "time"),
        Column("reset", "volume", rank=5),
        Column("reset usable", "volume", rank=6),
        Column("reset", "time", rank=6),
        Column("remark"),
    )
    tolerance = "a mark low by its tolerance" if switch.tolerance_m else "no tolerance stated"
    worst = worst_flow(switch.outflow, shown)
    notes = [
        "Quantity in the tank, usable quantity and time left when it trips and when it resets (rising past mark and differential).",
        f"Latest: {tolerance}, all other pools drained.",
        f"Minutes at {shown.flow_text(switch.flow_m3_s)}{part}, above the unusable fuel of"
        f" {shown.text(switch.unusable_m3, 'volume')} (worst in flight).",
        "Latest here: the same trip above what is unusable at that attitude itself, for as long as it is held.",
        f"Least: the latest trip in the worst state. {as_read(worst)}{_at_full(switch, shown)}",
        *((NONE_LEFT,) if any((switch.minutes(at.latest_m3) or 0.0) < 0.0 for at in switch.at) else ()),
        *_floats(switch, shown),
        *open_gaps(switch),
        *forever(switch),
        MINUTES,
    ]
    if switch.target_s:
        notes.insert(0, f"Target: {switch.target_s / 60:g} min.")
    notes = [*warnings, *((worst,) if isinstance(worst, Doubt) else ()), *notes]
    title = _titled(switch.name, switch.tank)
    return Table(f"{switch.tank}-switch-{slug(switch.name)}", title, columns, rows, tuple(notes), shown, paper=False)


def _floats(switch: SwitchStudy, shown: Shown) -> list[str]:
    """What its float's draught does to the mark, and what its delay takes."""
    found, rides = [], switch.rides
    if rides:
        way = "above" if rides.raised_m >= 0.0 else "below"
        found.append(
            f"By its float's draught in this fuel the surface stands {shown.text(abs(rides.raised_m), 'length')} {way} the stated mark"
            f" at the trip; latest counts it {shown.text(rides.lower_m, 'length')} lower, in the densest fuel stated."
        )
    if switch.delay_s:
        lost = shown.text(switch.flow_m3_s * switch.delay_s, "volume")
        found.append(
            f"Minutes count from when the lamp lights, {switch.delay_s:g} s after the surface passes the mark: {lost} are"
            " burnt meanwhile, and the tank then holds so much less than is told here."
        )
    return found


def _at_full(switch: SwitchStudy, shown: Shown) -> str:
    """The least minutes in flight at maximum continuous power."""
    if switch.at_full is None or switch.worst is None or switch.worst.latest_m3 is None:
        return ""
    least_s = switch.at_full.least_s(switch.worst.latest_m3 - switch.unusable_m3)
    burnt = shown.flow_text(switch.at_full.alone_m3_s)
    return (
        ""
        if least_s is None
        else f" At maximum continuous power, {burnt} burnt: {left_text((least_s - switch.delay_s) / 60.0)} in flight."
    )


def _trip(switch: SwitchStudy, at: TripAt) -> tuple[Cell, ...]:
    if at.trip_m3 is None:
        return (*attitude_cells(at.attitude), "never trips", *(None,) * 8, at.why_never)
    remarks = ["normal"] if at.attitude.normal else []
    if at is switch.worst:
        remarks.append("worst in flight")
    if none_left(minutes := switch.minutes(at.latest_m3) or 0.0):
        remarks.append(left_text(minutes))
    return (
        *attitude_cells(at.attitude),
        at.trip_m3,
        at.trip_m3 - switch.unusable_m3,
        seconds(switch.minutes(at.trip_m3)),
        seconds(switch.minutes(at.latest_m3)),
        seconds(switch.minutes_here(at)),
        seconds(switch.least_minutes(at.latest_m3)),
        at.reset_m3,
        None if at.reset_m3 is None else at.reset_m3 - switch.unusable_m3,
        seconds(switch.minutes(at.reset_m3)),
        ", ".join(remarks),
    )
