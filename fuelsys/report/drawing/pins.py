"""Where the number of a finding stands on the drawings: at the fitting, the line, the component or the point it names."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from fuelsys.arrays import Floats
from fuelsys.model.built.ends import PlacedLine
from fuelsys.model.built.layout import FittedTank, Layout
from fuelsys.model.found.findings import Finding
from fuelsys.model.words import Quantity, Words
from fuelsys.report.drawing import ink, tags
from fuelsys.report.drawing.canvas import Axes
from fuelsys.report.drawing.labels import Paper
from fuelsys.report.drawing.tags import Tag
from fuelsys.report.drawing.tank_pictures import marks

# Kinds of fittings that a rule speaks of where it names the tank alone; it stands there if the tank has one of the kind.
_KINDS = {
    "filler": "filler", "expansion space": "filler", "vent opening": "vent", "outlet": "outlet", "strainer": "outlet",
    "unusable fuel": "outlet", "drain": "drain", "sump": "drain", "water": "drain",
}  # fmt: skip
DIPSTICK = "dipstick"  # as a fitting that is named and has two ends, not one place
_OF_MESH = " of its mesh"
_TOGETHER_MM = 2.5  # findings nearer than this on paper share a label


@dataclass(frozen=True)
class Pin:
    """An open finding's tag, the tank on whose drawing it stands ("" for the plumbing's), and its place in body axes (3,).

    fitting is the mark's name in the tank where it stands at one, line the line's where it is about a line as a whole; None as a
    place where it names none.
    """

    tag: Tag
    tank: str
    point_m: Floats | None
    fitting: str = ""
    line: str = ""


def pins(layout: Layout, findings: Sequence[Finding]) -> list[Pin]:
    """A pin for each open finding; findings come in the order in which they are numbered."""
    return [_pin(layout, number, one) for number, one in enumerate(findings, 1) if one.open]


def _pin(layout: Layout, number: int, finding: Finding) -> Pin:
    tag, where = Tag(number, finding.outcome), finding.where
    for component in layout.design.component:
        if component.name == where:
            return Pin(tag, "", np.asarray(np.array(component.position_m) @ layout.aircraft_turn))
    start, to, end = where.partition(" to ")
    if to:
        return _on_line(layout, tag, start, end, finding)
    for tank in sorted(layout.tanks, key=lambda tank: -len(tank.name)):
        rest = where.removeprefix(tank.name)
        if rest != where and rest[:1] in ("", ".", " ") and not rest.startswith(" and "):
            return _in_tank(tag, tank, rest, finding)
    return Pin(tag, "", None)


def _in_tank(tag: Tag, tank: FittedTank, rest: str, finding: Finding) -> Pin:
    """At the fitting that is named, else at the point that the evidence gives, else at the only fitting of the rule's kind."""
    found = {mark.name: mark for mark in marks(tank)}
    name = rest.lstrip(". ")
    if name in found:
        return Pin(tag, tank.name, found[name].point_m + tank.cavity.centre_m, name)
    if name.startswith("gauge ") and f"{name} bottom" in tank.spots:
        return Pin(tag, tank.name, tank.spot(f"{name} bottom").point_m + tank.cavity.centre_m)
    for point, of_mesh in _points(finding.evidence):
        if of_mesh:
            return Pin(tag, tank.name, tank.body_m(point))
    if finding.rule.subject == DIPSTICK and tank.design.dipstick is not None:
        return Pin(tag, tank.name, tank.body_m(tank.design.dipstick.bottom_m), DIPSTICK)
    alike = [mark for mark in found.values() if mark.kind == _KINDS.get(finding.rule.subject, "")]
    if len(alike) == 1:
        return Pin(tag, tank.name, alike[0].point_m + tank.cavity.centre_m, alike[0].name)
    return Pin(tag, tank.name, None)


def _on_line(layout: Layout, tag: Tag, start: str, end: str, finding: Finding) -> Pin:
    """At the point that the evidence gives, else at the line of the rule's kind that leaves the one end or comes to the other."""
    for point, of_mesh in _points(finding.evidence):
        if not of_mesh:
            return Pin(tag, "", np.asarray(point @ layout.aircraft_turn))
    kind = next((kind for kind in ("vent", "return") if kind in finding.rule.subject), "feed")

    def fits(line: PlacedLine) -> tuple[int, bool]:
        return _is(line.design.from_port, start) + _is(line.design.to_port, end), line.design.kind == kind

    best = max(layout.lines, key=fits, default=None)
    if best is None or not fits(best)[0]:
        return Pin(tag, "", None)
    return Pin(tag, "", best.points_m[len(best.points_m) // 2], line=best.name)


def _is(port: str, named: str) -> bool:
    """Does a line's end belong to what a finding names: itself, or a tank's port where the tank is named?"""
    return port == named or port.startswith(f"{named}.")


def _points(words: Words) -> list[tuple[Floats, bool]]:
    """The points (3,) in a sentence, and whether each is in the axes of a tank's mesh."""
    found = []
    for k, part in enumerate(words):
        if isinstance(part, Quantity) and len(part.values_si) == 3:
            behind = words[k + 1] if k + 1 < len(words) else ""
            found.append((np.array(part.values_si), isinstance(behind, str) and behind.startswith(_OF_MESH)))
    return found


def at_points(axes: Axes, paper: Paper, points: Sequence[tuple[Floats, Tag]]) -> None:
    """Tags at points (2,) of a paper, those that are near one another together; a small cross marks each place."""
    places: list[tuple[Floats, list[Tag]]] = []
    for at, tag in points:
        near = next((tagged for place, tagged in places if np.hypot(*(place - at)) < _TOGETHER_MM), None)
        if near is None:
            places.append((at, [tag]))
        else:
            near.append(tag)
    for at, _ in places:
        axes.plot(*at, marker="x", markersize=3.4, color=ink.TRAPPED_LINE, markeredgewidth=1.0, clip_on=False)
        paper.keep_off(at, 0.9)
    for at, tagged in places:
        paper.label(axes, at, "", tagged=tagged)


def placeless(axes: Axes, pinned: Sequence[Pin], right_mm: float, y_mm: float) -> None:
    """Along a foot, flush right: the findings of a drawing that have no one place on it."""
    without = [pin.tag for pin in pinned if pin.point_m is None]
    for k, row in enumerate(reversed(tags.rows(without))):
        x = right_mm - tags.width_mm(row)
        tags.draw(axes, x, y_mm + tags.ROW_MM * k, row)
        if k == len(tags.rows(without)) - 1:
            ink.write(
                axes, x - 1.0, y_mm + tags.ROW_MM * k, "at no one place:", size=ink.SMALL_PT, color=ink.GREY, ha="right"
            )
