"""Sections of a drill sheet through what has a depth: switches with their stems and floats, and the dipstick."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from fuelsys.arrays import Floats
from fuelsys.model.built.cavity import Cavity
from fuelsys.model.found.drill import SIDES, DrillList, Fitting
from fuelsys.report.drawing import ink
from fuelsys.report.drawing.canvas import Axes
from fuelsys.report.drawing.labels import Paper
from fuelsys.report.drawing.sections import REAR, SIDE, Section, View, section
from fuelsys.report.drill import draw as drill_draw
from fuelsys.report.drill.views import Flat
from fuelsys.report.shown import Shown

MOST = 3
_IN_PLANE_M = 5e-4
LETTERS = "ABC"


@dataclass(frozen=True)
class Plane:
    """Where a section is cut: the view that looks at it, its place along the axis looked along, and the fittings in it."""

    view: View
    axis: int
    at_m: float
    fittings: tuple[Fitting, ...]

    def section(self, cavity: Cavity) -> Section:
        """The cut, about the cavity's centre."""
        normal = self.view.along
        depth = float(np.eye(3)[self.axis] @ normal) * self.at_m - float(cavity.centre_m @ normal)
        return section(cavity, normal, depth)

    def bounds_m(self, cavity: Cavity) -> tuple[Floats, Floats]:
        """Least and greatest (across, height) of the cut and of what stands in it."""
        points = [*(self.section(cavity).points_m + cavity.centre_m), *(fitting.point_m for fitting in self.fittings)]
        flat = np.array(points) @ np.column_stack([self.view.across, self.view.height])
        return flat.min(axis=0), flat.max(axis=0)


def planes(drill: DrillList) -> list[Plane]:
    """The planes that show all switches and the stick, each as many as it can, those with the most first."""
    stick = [fitting for fitting in drill.fittings if fitting.kind == "stick"]
    groups = [[fitting] for fitting in drill.fittings if fitting.kind == "switch"] + ([stick] if stick else [])
    found = []
    while groups:
        tried = [_plane(view, axis, one, groups) for one in groups for view, axis in ((SIDE, 1), (REAR, 0))]
        best = max(tried, key=lambda plane: len(plane.fittings))
        if not best.fittings:
            break
        found.append(best)
        groups = [group for group in groups if not all(fitting in best.fittings for fitting in group)]
    return found


def _plane(view: View, axis: int, through: Sequence[Fitting], groups: Sequence[Sequence[Fitting]]) -> Plane:
    """All groups that lie in the plane of a view through one of them."""
    at_m = float(through[0].point_m[axis])
    held = [
        fitting
        for group in groups
        if all(abs(float(fitting.point_m[axis]) - at_m) <= _IN_PLANE_M for fitting in group)
        for fitting in group
    ]
    return Plane(view, axis, at_m, tuple(held))


def flat_of(cavity: Cavity, drill: DrillList, plane: Plane, letter: str, scale: float, shown: Shown) -> Flat:
    """A section as a view that is not dimensioned."""
    datum = drill.datums[plane.axis]
    off = ink.minus(shown.text(datum.off_m(np.eye(3)[plane.axis] * plane.at_m), "length"))
    where = f"{off} from the {datum.name}"
    bounds = plane.bounds_m(cavity)
    return Flat(cavity, drill, plane.view, scale, shown, f"Section {letter}", where, "none", bounds)


def draw(axes: Axes, flat: Flat, plane: Plane, left: float, top: float, key: str) -> None:
    """The cut, its fittings with their numbers, stems with their lengths, floats with their room."""
    drill_draw.titles(axes, flat, left, top)
    corner = drill_draw.corner_of(flat, left, top)
    paper = drill_draw.paper_of(flat, corner, left, top)
    for loop in _walls(axes, flat, plane, corner):
        paper.avoid(loop, 1.2)
    drill_draw.floats(axes, flat, corner, plane.fittings)
    placed = [(fitting, flat.mm(fitting.point_m[None])[0] + corner) for fitting in plane.fittings]
    drill_draw.stick(axes, placed)
    for fitting, at in placed:
        drill_draw.sign(axes, flat, fitting, at, key)
        paper.keep_off(at, 1.7)
        drill_draw.moved(axes, flat, fitting, at, corner, paper)
    ends = [
        (fitting, stem, at, _skin(flat, fitting, stem.side, stem.length_m, corner))
        for fitting, at in placed
        for stem in fitting.stems
    ]
    for _, _, at, end in ends:
        ink.stroke(axes, np.array([at, end]), pt=0.5, dash=(4, 2))
        paper.avoid(np.array([at, end]), 1.2)
    drill_draw.numbers(axes, paper, placed)
    for fitting, stem, at, end in ends:
        if SIDES[stem.side].axis != flat.axes[2]:
            text = flat.shown.figure(stem.length_m, "length")
            paper.label(axes, (at + end) / 2.0, f"{text} ({fitting.number})", ground="white")


def _walls(axes: Axes, flat: Flat, plane: Plane, corner: Floats) -> list[Floats]:
    """The walls where the plane cuts the cavity, drawn; their outlines."""
    cut = plane.section(flat.cavity)
    walls = [flat.mm(cut.points_m[loop] + flat.cavity.centre_m) + corner for loop in cut.loops]
    ink.shape(axes, walls, fill=ink.AIR, line=ink.INK, pt=0.8)
    return walls


def _skin(flat: Flat, fitting: Fitting, side: str, length_m: float, corner: Floats) -> Floats:
    """Where a stem meets the skin, on the paper."""
    axis, sense, *_ = SIDES[side]
    end: Floats = flat.mm((fitting.point_m + np.eye(3)[axis] * sense * length_m)[None])[0] + corner
    return end


def trace(axes: Axes, flat: Flat, plane: Plane, letter: str, corner: Floats, paper: Paper) -> None:
    """Where a section is cut, as a line across the plan with its letter at an end."""
    across = flat.axes[0] == plane.axis  # the line then runs up the paper
    at = flat.mm((np.eye(3)[plane.axis] * plane.at_m)[None])[0][0 if across else 1]
    ends = (-2.0, float(flat.size_mm[1 if across else 0]) + 3.0)
    line = np.array([(at, end) if across else (end, at) for end in ends]) + corner
    ink.stroke(axes, line, color=ink.GREY, pt=0.4, dash=(10, 2, 2, 2))
    paper.label(axes, line[1], letter, size=ink.TEXT_PT, weight="bold", color=ink.GREY)
