"""The table of a drill sheet: each fitting's place in the mesh and from the edges, its bore and tolerance, a box to tick."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from fuelsys.model.found.drill import SIDES, DrillList, Fitting, Stem, Stop
from fuelsys.report.drawing import ink
from fuelsys.report.drawing.canvas import Axes
from fuelsys.report.shown import Shown

ROW_MM = 4.8
_DENSE_ROW_MM = 4.2  # where there are many
_MANY = 20
_NOTE_MM = 3.6
_PAD_MM = 2.0
_BOX_MM = 3.2
_NAME_MM = 40.0
STOP = "DO NOT DRILL"


@dataclass(frozen=True)
class Row:
    """One fitting: its cells, whose first line is the name, and the lines below it."""

    cells: tuple[str, ...]
    notes: tuple[str, ...]
    bold: bool = False
    first_mm: float = ROW_MM

    @property
    def high_mm(self) -> float:
        """Paper that it takes."""
        return self.first_mm + _NOTE_MM * len(self.notes)


@dataclass(frozen=True)
class FittingTable:
    """All rows, what stands over them, and where each column ends."""

    headings: tuple[tuple[str, ...], ...]
    rows: tuple[Row, ...]
    rights: tuple[float, ...]

    @classmethod
    def of(cls, drill: DrillList, shown: Shown, width_mm: float) -> FittingTable:
        """The table over a width of paper."""
        unit = f"[{shown.written('length')}]"
        edges = [("from", *_two_lines(datum.name), unit) for datum in drill.datums]
        names = ("x", "y", "z")
        headings: list[tuple[str, ...]] = [("no.",), ("fitting",), *(("mesh", name, unit) for name in names), *edges]
        headings += [("bore", unit), ("tol. ±", unit), ("through",), ("drilled", "and", "measured")]
        cells = [_cells(fitting, drill, shown) for fitting in drill.fittings]
        widths = [
            max(
                [ink.width_of(line, ink.SMALL_PT) for line in heading]
                + [ink.width_of(row[k], ink.SMALL_PT, "bold") for row in cells]
            )
            + _PAD_MM
            for k, heading in enumerate([*headings[:1], *headings[2:-1]])
        ]
        last = max(ink.width_of(line, ink.SMALL_PT) for line in headings[-1])
        name = width_mm - sum(widths) - last
        widths = [widths[0], name, *widths[1:], last]
        rights = tuple(float(right) for right in np.cumsum(widths))
        first = _DENSE_ROW_MM if len(cells) > _MANY else ROW_MM
        rows = []
        for fitting, found in zip(drill.fittings, cells, strict=True):
            named = broken(fitting.name, name - _PAD_MM)
            below = [
                *named[1:],
                *(
                    type(n)(line)
                    for n in notes(fitting, drill, shown)
                    for line in broken(n, width_mm - widths[0] - 4.0)
                ),
            ]
            rows.append(Row((found[0], named[0], *found[1:]), tuple(below), fitting.was_m is not None, first))
        return cls(tuple(headings), tuple(rows), rights)

    @property
    def head_mm(self) -> float:
        """Paper that the headings take."""
        return max(len(heading) for heading in self.headings) * _NOTE_MM + 1.5

    def height_mm(self, rows: Sequence[Row]) -> float:
        """Paper that some of the rows take with the headings."""
        return self.head_mm + sum(row.high_mm for row in rows)

    def draw(self, axes: Axes, left: float, top: float, rows: Sequence[Row]) -> None:
        """Some of the rows, from a corner down."""
        right = left + self.rights[-1]
        y = top - self.head_mm
        for k, heading in enumerate(self.headings):
            for n, line in enumerate(reversed(heading)):
                self._write(axes, left, y + 1.5 + _NOTE_MM * n, k, line, color=ink.GREY)
        ink.stroke(axes, np.array([[left, y], [right, y]]), pt=0.8)
        for row in rows:
            for k, cell in enumerate(row.cells):
                self._write(
                    axes, left, y - row.first_mm + 1.3, k, cell, weight="bold" if k == 0 or row.bold else "normal"
                )
            for n, note in enumerate(row.notes):
                stop = isinstance(note, Stop)
                color, weight = (ink.TRAPPED_LINE, "bold") if stop else (ink.INK, "normal")
                at = y - row.first_mm + 1.3 - _NOTE_MM * (n + 1)
                ink.write(axes, left + self.rights[0], at, note, size=ink.SMALL_PT, color=color, weight=weight)
            ink.shape(axes, [ink.box(right - _BOX_MM, y - 0.5 - _BOX_MM, right, y - 0.5)], line=ink.INK, pt=0.8)
            y -= row.high_mm
            ink.stroke(axes, np.array([[left, y], [right, y]]), color=ink.FAINT, pt=0.4)

    def _write(
        self, axes: Axes, left: float, y: float, k: int, text: str, *, color: str = ink.INK, weight: str = "normal"
    ) -> None:
        text_like = k < 2 or k == len(self.headings) - 2
        begin = 0.0 if k == 0 else self.rights[k - 1]
        if text_like:
            ink.write(axes, left + begin, y, text, size=ink.SMALL_PT, color=color, weight=weight)
            return
        end = self.rights[k] - (0.0 if k == len(self.headings) - 1 else _PAD_MM)
        ink.write(axes, left + end, y, text, size=ink.SMALL_PT, color=color, weight=weight, ha="right")


def broken(text: str, width_mm: float) -> list[str]:
    """A text in lines of a width; a word that is wider still is broken where it must be."""
    lines: list[str] = []
    for line in ink.wrapped(text, width_mm, ink.SMALL_PT) or [""]:
        rest = line
        while ink.width_of(rest, ink.SMALL_PT) > width_mm and len(rest) > 1:
            cut = next(
                n for n in range(len(rest) - 1, 0, -1) if n == 1 or ink.width_of(rest[:n], ink.SMALL_PT) <= width_mm
            )
            lines.append(rest[:cut])
            rest = rest[cut:]
        lines.append(rest)
    return lines


def _two_lines(name: str) -> tuple[str, ...]:
    """A wall's name in two lines, as a narrow column has it."""
    first, _, rest = name.partition(" ")
    return (first, rest) if rest else (first,)


def _cells(fitting: Fitting, drill: DrillList, shown: Shown) -> tuple[str, ...]:
    """A row's figures, without the name and the box."""
    places = [*fitting.mesh_m, *(datum.off_m(fitting.point_m) for datum in drill.datums)]
    figures = [ink.minus(shown.figure(float(place), "length")) for place in places]
    bore = "–" if fitting.bore_m is None else _plain(fitting.bore_m, shown)
    tolerance = "–" if fitting.tolerance_m is None else _plain(fitting.tolerance_m, shown)
    return (str(fitting.number), *figures, bore, tolerance, through_words(fitting))


def _plain(length_m: float, shown: Shown) -> str:
    """A length that somebody chose, without its unit: in as few digits as give it back, or as tables print it."""
    exact = shown.short(length_m, "length").removesuffix(shown.written("length")).strip()
    return min(exact, shown.figure(length_m, "length"), key=len)


def through_words(fitting: Fitting) -> str:
    """The side that is drilled; "not stated" where more than one can be meant."""
    if fitting.kind == "stick":
        return "–"
    return SIDES[fitting.through].wall if fitting.through else "not stated"


def stem_words(stem: Stem, shown: Shown) -> str:
    """A stem's length from the skin that it comes through."""
    between = "" if stem.first_m is None else f" (past something {shown.figure(stem.first_m, 'length')} off)"
    return f"{shown.figure(stem.length_m, 'length')} from the {SIDES[stem.side].wall}{between}"


def notes(fitting: Fitting, drill: DrillList, shown: Shown) -> list[str]:
    """What else must be known of a fitting before it is drilled."""
    found: list[str] = []
    if fitting.was_m is not None and fitting.was_mesh_m is not None:
        was = ", ".join(ink.minus(shown.figure(float(c), "length")) for c in fitting.was_mesh_m)
        height = next(edge for edge in drill.datums if edge.axis == 2)
        pair = [shown.figure(height.off_m(point), "length") for point in (fitting.was_m, fitting.point_m)]
        found.append(
            f"MOVED up {shown.figure(fitting.rise_m or 0.0, 'length')} for its minutes: {pair[0]} → {pair[1]} from the"
            f" {height.name}. The design has mesh ({was})."
        )
    told = []
    if fitting.stems:
        told.append(f"Stem {' or '.join(stem_words(stem, shown) for stem in fitting.stems)}.")
    if fitting.clearance_m is not None:
        has = "not known" if fitting.room_m is None else shown.figure(fitting.room_m, "length")
        stroke = shown.figure(fitting.stroke_m, "length")
        told.append(
            f"Float: {shown.figure(fitting.clearance_m, 'length')} free all round over {stroke} of stroke; there is {has}."
        )
    found += [" ".join(told)] if told else []
    if fitting.cramped:
        found.append(Stop(f"{STOP}: its float has too little room there. Find another place: fuelsys place --search."))
    if fitting.doubt:
        stops = isinstance(fitting.doubt, Stop)
        found.append(Stop(f"{STOP}: {fitting.doubt}.") if stops else f"{fitting.doubt[0].upper()}{fitting.doubt[1:]}.")
    if fitting.off_m > 5e-5:
        found.append(f"It lies {shown.text(fitting.off_m, 'length')} outside the cavity: look at the design again.")
    return found
