"""The dipstick's table and the sentences that its drawing shares with it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from math import degrees, floor

from fuelsys import units
from fuelsys.model.built.layout import FittedTank
from fuelsys.model.found.dipstick import DipstickStudy
from fuelsys.model.words import Doubt
from fuelsys.report.shown import Shown
from fuelsys.report.table import Column, Table
from fuelsys.report.tables.notes import told, told_of

LEAST_DROP_M = 1e-3  # less is on the floor
LEAST_SHOWN_M3 = 0.5e-6  # less is nothing in any unit that figures are shown in


def dipstick(tank: FittedTank, stick: DipstickStudy, shown: Shown, face: int = 0) -> Table:
    """Graduations, and what the tank really holds when each is read on sloping ground, or at the attitude of the other face.

    face numbers the faces of a stick that has two.
    """
    slope = f"{degrees(stick.slope_rad):g}°"
    elsewhere = (Column("there at the other attitude", "volume"),) if stick.other else ()
    within, tested_here = Column("within", "volume"), stick.within_m3 is not None
    columns = (
        Column("quantity", "volume", as_stated=True),
        Column("usable", "volume"),
        Column(f"from the stick's {stick.zero}", "length"),
        Column(f"least on {slope} slope", "volume", name="least on the slope"),
        Column(f"most on {slope} slope", "volume", name="most on the slope"),
        *elsewhere,
        Column("remark"),
        *((within,) if tested_here else ()),
    )
    rows = tuple(
        (
            mark.volume_m3,
            stick.usable_m3(mark.volume_m3),
            mark.along_m,
            *mark.sloped_m3,
            *((mark.elsewhere_m3,) if stick.other else ()),
            "pools apart" if mark.pools_apart else "air trapped" if mark.air_trapped else "",
            *((mark.within_m3,) if tested_here else ()),
        )
        for mark in stick.marks
    )
    key, title = (f"-face-{face}", f", face {face}: {stick.attitude.name}") if face else ("", "")
    return Table(
        f"{tank.name}-dipstick{key}",
        f"Dipstick of tank {tank.name}{title}",
        columns,
        rows,
        tuple(_notes(tank, stick, slope, shown)),
        shown,
        paper=False,
        absent=() if tested_here else (within,),
    )


def _notes(tank: FittedTank, stick: DipstickStudy, slope: str, shown: Shown) -> list[str]:
    """What stands below the graduations: where they hold, and what the columns say."""
    notes = [
        *told_of(tank, shown),
        *([] if stick.marks else [Doubt(f"{ungraduated(stick, shown)}")]),
        *([Doubt(f"{stick.attitude.sign_in_doubt}.")] if stick.attitude.sign_in_doubt else []),
        tested(tank, stick, shown),
        f"Valid at {stick.attitude.text} only. Dry stick: {dry(stick, shown)}. Wet to the top: {shown.text(stick.top_m3, 'volume')}.",
        usable_on_stick(stick, shown),
        *hanging(stick, shown),
        f"Least and most: what is really there when the mark is read on ground that slopes by {slope} in the worst of sixteen directions.",
    ]
    if stick.other:
        notes.append(
            f"There at the other attitude: what is really in the tank when this face is read at {stick.other.text}."
        )
        notes += [too_much(stick, shown)] if stick.marks else []
    if not stick.as_stated:
        notes.append(restepped(shown))
    if any(mark.pools_apart for mark in stick.marks):
        notes.append("Pools apart: below this level the tank falls into pools, and the stick shows only its own.")
    notes += trapped(stick, shown)
    return notes


def faces(tank: FittedTank, sticks: Sequence[DipstickStudy], shown: Shown) -> list[Table]:
    """A table for each face of a stick."""
    numbers = range(1, len(sticks) + 1) if len(sticks) > 1 else range(len(sticks))
    return [dipstick(tank, stick, shown, number) for number, stick in zip(numbers, sticks, strict=True)]


def engraving(tank: FittedTank, sticks: Sequence[DipstickStudy], length_m: float, shown: Shown) -> list[Table]:
    """What an engraver needs of each face: how far each mark lies from the bottom and from the top, and its figures."""
    columns = (
        Column("mark"), Column("from bottom", "length"), Column("from top", "length"),
        Column("total", "volume", as_stated=True), Column(shown.named("usable", "volume")),
    )  # fmt: skip
    tables = []
    for number, stick in enumerate(sticks, 1):
        ups = [mark.along_m if stick.zero == "bottom" else length_m - mark.along_m for mark in stick.marks]
        rows = tuple(
            (str(k), up, length_m - up, mark.volume_m3, usable_figure(stick, mark.volume_m3, shown))
            for k, (up, mark) in enumerate(zip(ups, stick.marks, strict=True), 1)
        )
        label = f"{f'Face {number}. ' if len(sticks) > 1 else ''}Label it: tank {tank.name}, {stick.attitude.text}."
        ends = f"The stick is {shown.text(length_m, 'length')} long; every face has the same bottom."
        last = [f"Dry stick: {dry(stick, shown)}.", usable_on_stick(stick, shown), *hanging(stick, shown)]
        last += trapped(stick, shown)
        if stick.other:
            last.append(too_much(stick, shown))
        notes = (label, ends, *told(tank.cavity, shown), tested(tank, stick, shown), *last)
        title = f"Dipstick of tank {tank.name}, to engrave{f': face {number}' if len(sticks) > 1 else ''}"
        tables.append(Table(f"{tank.name}-engrave-{number}", title, columns, rows, notes, shown, paper=False))
    return tables


def hanging(stick: DipstickStudy, shown: Shown) -> list[str]:
    """What keeps a stick from dropping to the floor, where its bottom is drawn above that; a test saw it as it stood then."""
    if not stick.marks or stick.hangs_m < LEAST_DROP_M:
        return []
    off = shown.text(stick.dropped_m3, "volume")
    return [
        f"Its bottom hangs {shown.text(stick.hangs_m, 'length')} above the floor: it needs a stop there. Dropped to the floor, its"
        f" marks show up to {off} more than there is."
    ]


def trapped(stick: DipstickStudy, shown: Shown) -> list[str]:
    """What the marks count of air that cannot leave; nothing where all leaves."""
    if stick.shut_in_m3 < LEAST_SHOWN_M3:
        return []
    return [
        f"Air trapped: filling shuts in up to {shown.text(stick.shut_in_m3, 'volume')} of air below the stick's top. These marks do not"
        " count it as fuel; where it has escaped in flight, more is in the tank than they show."
    ]


def usable_figure(stick: DipstickStudy, total_m3: float, shown: Shown) -> str:
    """What of a quantity is usable, as it is marked: in as few digits as are read, rounded down.

    >>> from dataclasses import replace
    >>> from fuelsys.model.stated.attitude import Attitude
    >>> stick = DipstickStudy(Attitude("parked", "ground"), 0.0, "bottom", 0.0, 0.0, (), unusable_m3=0.31e-3)
    >>> usable_figure(stick, 5e-3, Shown()), usable_figure(replace(stick, unusable_m3=0.3e-3), 5e-3, Shown())
    ('4.6', '4.7')
    """
    usable_m3 = stick.usable_m3(total_m3)
    if usable_m3 is None:
        return "–"
    digits = replace(shown, coarse=True).digits(shown.unit("volume"))
    value = floor(shown.value(usable_m3, "volume") * 10.0**digits + 1e-6) / 10.0**digits
    return f"{value:.{digits}f}"


def too_much(stick: DipstickStudy, shown: Shown) -> str:
    """What a person is misled by who reads a face at the attitude of the other one."""
    assert stick.other is not None
    if stick.most_too_much_m3 < LEAST_SHOWN_M3:
        return f"Read at {stick.other.name}, no mark shows more than there is."
    return f"Read at {stick.other.name}, its marks show up to {shown.text(stick.most_too_much_m3, 'volume')} more than there is."


def tested(tank: FittedTank, stick: DipstickStudy, shown: Shown) -> str:
    """What the marks rest on."""
    if tank.corrected is None:
        return "These marks are computed. Before you rely on them, fill the tank in measured steps and correct them."
    if stick.by_test:
        within_m3 = stick.within_m3
        off = "" if within_m3 is None else f", each right within {shown.text(within_m3, 'volume')} or less (95 %)"
        return f"These marks are by the fill test of {tank.corrected.date} ({tank.corrected.file}){off}."
    less_m3 = stick.by_test_less_m3 or 0.0
    less = ""
    if less_m3 > LEAST_SHOWN_M3:
        less = f" If all that it found holds here too, they show up to {shown.text(less_m3, 'volume')} too much: count so much less."
    return (
        f"The fill test of {tank.corrected.date} was at {tank.corrected.attitude}: it corrects what the tank holds, not how the"
        f" stick stands.{less} Fill it at {stick.attitude.name} to correct these marks."
    )


def dry(stick: DipstickStudy, shown: Shown) -> str:
    """What a dry stick leaves unseen, how much of it is usable in flight and for how long, and what to count it as."""
    below = f"up to {shown.text(stick.unseen_m3, 'volume')} may be in the tank"
    usable_m3 = stick.usable_m3(stick.unseen_m3)
    if usable_m3 is None:
        return f"{below}; how much of it is usable is not computed: needs an outlet"
    if usable_m3 < LEAST_SHOWN_M3:
        return f"{below}, nothing of it usable"
    lasts = (
        f" ({units.minutes(usable_m3 / stick.reserve_m3_s)} min at {stick.reserve_phase})" if stick.reserve_m3_s else ""
    )
    return f"{below}, {shown.text(usable_m3, 'volume')} of it usable in flight{lasts}, unseen: count none"


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
