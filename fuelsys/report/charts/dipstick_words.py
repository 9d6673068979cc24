"""What stands on the sheet of a dipstick in whole sentences, and how much room it takes."""

from __future__ import annotations

from collections.abc import Sequence
from math import degrees

from fuelsys.model.built.layout import FittedTank
from fuelsys.model.found.dipstick import DipstickStudy
from fuelsys.report.drawing import ink
from fuelsys.report.shown import Shown
from fuelsys.report.tables.dipstick import dry, hanging, restepped, tested, too_much, trapped, ungraduated

CUT = "Cut at the dashed ends and lay equal letters over each other, cross on cross."
LINE_MM = 3.8  # from line to line
WIDE_MM = 74.0  # of each of two columns


def heading(faces: Sequence[DipstickStudy], stick: DipstickStudy) -> list[str]:
    """What stands over a face of two."""
    if len(faces) == 1:
        return []
    return ink.wrapped(f"Face {faces.index(stick) + 1}: {ink.minus(stick.attitude.text)}", WIDE_MM - 4.0)


def wrapped(advice: Sequence[str], width_mm: float) -> list[list[str]]:
    """Each paragraph in lines that fit a width."""
    return [ink.wrapped(text, width_mm, ink.TEXT_PT) for text in advice]


def over_mm(faces: Sequence[DipstickStudy], advice: Sequence[Sequence[str]]) -> float:
    """How much height words over the columns take: one more paragraph, their own, and the faces' headings."""
    words_mm = sum(LINE_MM * len(lines) + 2.2 for lines in [*advice, [""]])
    return words_mm + LINE_MM * max(len(heading(faces, stick)) for stick in faces)


def advised(tank: FittedTank, faces: Sequence[DipstickStudy], shown: Shown, check: str) -> list[str]:
    """How the drawing is used and what it is worth, paragraph by paragraph."""
    if not any(stick.marks for stick in faces):
        return [f"Not to be used: {ungraduated(faces[0], shown)}"]
    sides = " Face 1 goes on one side and face 2 on the other, both from the same bottom." if len(faces) > 1 else ""
    paragraphs = [
        f"Print at 100 %, without fitting to the page. The check line must measure {check}.",
        f"Lay the stick on its outline, its bottom on the lower line, and carry the marks over.{sides}",
    ]
    for number, stick in enumerate(faces, 1):
        paragraphs += _of_face(stick, shown, f"Face {number}, {stick.attitude.name}: " if sides else "")
    rest = [tested(tank, stick, shown) for stick in faces]
    if len(set(rest)) > 1:
        rest = [f"Face {number}: {text[0].lower()}{text[1:]}" for number, text in enumerate(rest, 1)]
    paragraphs += dict.fromkeys(
        [*rest, *hanging(faces[0], shown), *(text for stick in faces for text in trapped(stick, shown))]
    )
    if any(mark.pools_apart for stick in faces for mark in stick.marks):
        paragraphs.append("Dashed marks: the tank falls into pools there, and the stick shows only its own.")
    return paragraphs if faces[0].as_stated else [*paragraphs, restepped(shown)]


def _of_face(stick: DipstickStudy, shown: Shown, name: str) -> list[str]:
    """What one face does not see, and how far it may be off."""
    if not stick.marks:
        return [f"{name}not to be used: {ungraduated(stick, shown)}"]
    off = max(abs(read - mark.volume_m3) for mark in stick.marks for read in mark.sloped_m3)
    usable = "Usable is not computed: needs an outlet."
    if stick.unusable_m3 is not None:
        usable = f"Usable counts above {shown.text(stick.unusable_m3, 'volume')} of unusable fuel"
        usable += "; shaded: none is left." if stick.empty_m is not None else "."
    slope = (
        f"n ground that slopes by {degrees(stick.slope_rad):.1f}° a reading may be off by {shown.text(off, 'volume')}."
    )
    unseen = f"ry stick: {dry(stick, shown)}. {usable}"
    if not name:
        return [f"D{unseen}", f"O{slope}"]
    return [f"{name}d{unseen} {too_much(stick, shown)} O{slope}"]
