"""The dipstick's table and the sentences that its drawing shares with it."""

from __future__ import annotations

from math import degrees

from fuelsys.model.built.layout import FittedTank
from fuelsys.model.found.dipstick import DipstickStudy
from fuelsys.model.words import Doubt
from fuelsys.report.shown import Column, Shown, Table
from fuelsys.report.tables.notes import told_of


def dipstick(tank: FittedTank, stick: DipstickStudy, shown: Shown) -> Table:
    """Graduations, and what the tank really holds when each is read on sloping ground."""
    slope = f"{degrees(stick.slope_rad):g}°"
    columns = (
        Column("quantity", "volume", as_stated=True),
        Column("usable", "volume"),
        Column(f"from the stick's {stick.zero}", "length"),
        Column(f"least on {slope}", "volume"),
        Column(f"most on {slope}", "volume"),
        Column("remark"),
    )
    rows = tuple(
        (
            mark.volume_m3,
            stick.usable_m3(mark.volume_m3),
            mark.along_m,
            mark.sloped_m3[0],
            mark.sloped_m3[1],
            "pools apart" if mark.pools_apart else "",
        )
        for mark in stick.marks
    )
    notes = [
        *told_of(tank, shown),
        *([] if stick.marks else [Doubt(f"{ungraduated(stick, shown)}")]),
        tested(tank, stick),
        f"Valid at {stick.attitude.text} only. Dry stick: {dry(stick, shown)}. Wet to the top: {shown.text(stick.top_m3, 'volume')}.",
        usable_on_stick(stick, shown),
        f"Least and most: what is really there when the mark is read on ground that slopes by {slope} in the worst of sixteen directions.",
    ]
    if not stick.as_stated:
        notes.append(restepped(shown))
    if any(mark.pools_apart for mark in stick.marks):
        notes.append("Pools apart: below this level the tank falls into pools, and the stick shows only its own.")
    return Table(
        f"{tank.name}-dipstick", f"Dipstick of tank {tank.name}", columns, rows, tuple(notes), shown, paper=False
    )


def tested(tank: FittedTank, stick: DipstickStudy) -> str:
    """What the marks rest on."""
    if tank.corrected is None:
        return "These marks are computed. Before you rely on them, fill the tank in measured steps and correct them."
    if stick.by_test:
        return f"These marks are by the fill test of {tank.corrected.date} ({tank.corrected.file})."
    return (
        f"The fill test of {tank.corrected.date} was at {tank.corrected.attitude}: it corrects what the tank holds, not how the"
        f" stick stands. Fill it at {stick.attitude.name} to correct these marks."
    )


def dry(stick: DipstickStudy, shown: Shown) -> str:
    """What a dry stick leaves unseen, and how much of it is usable."""
    below = f"up to {shown.text(stick.below_m3, 'volume')} may be in the tank"
    usable_m3 = stick.usable_m3(stick.below_m3)
    if usable_m3 is None:
        return f"{below}; how much of it is usable is not computed: needs an outlet"
    return f"{below}, {shown.text(usable_m3, 'volume') if usable_m3 > 0.0 else 'nothing'} of it usable"


def usable_on_stick(stick: DipstickStudy, shown: Shown) -> str:
    """What the usable figures of a stick count above."""
    if stick.unusable_m3 is None:
        return "Usable: not computed, needs an outlet."
    left = shown.text(stick.unusable_m3, "volume")
    text = f"Usable: less the unusable fuel of {left} (worst in flight), as 14 CFR 23.1337(b)(4) asked before amendment 23-64."
    if stick.empty_m is not None:
        text += f" Nothing usable is left at {shown.text(stick.empty_m, 'length')} from the stick's {stick.zero}."
    return text


def ungraduated(stick: DipstickStudy, shown: Shown) -> str:
    """Why a stick has no graduation, and what to do."""
    ends = f"{shown.text(stick.below_m3, 'volume')} at its bottom and {shown.text(stick.top_m3, 'volume')} at its top"
    return f"the stick has no graduation: no multiple of the step lies between {ends}. State a smaller step, or make it longer."


def restepped(shown: Shown) -> str:
    """Why a stick is not graduated in the step that the design states."""
    unit = shown.written("volume")
    return f"The design's step is not round in {unit}: graduated in the next smaller step of round {unit}."
