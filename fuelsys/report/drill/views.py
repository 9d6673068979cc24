"""The views of a drill sheet: how a tank is looked at, which places are dimensioned where, and how much paper that takes."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from fuelsys.arrays import Floats
from fuelsys.model.built.cavity import Cavity
from fuelsys.model.found.drill import SIDES, DrillList, Edge, Fitting
from fuelsys.report.drawing import ink
from fuelsys.report.drawing.labels import spread
from fuelsys.report.drawing.sections import AFT, PLAN, REAR, RIGHT, SIDE, UP, View
from fuelsys.report.drawing.tank_pictures import scale_text
from fuelsys.report.shown import Shown

PITCH_MM = 3.4  # from one dimension to the next
JOG_MM = 4.4  # between a view and its dimensions
HEAD_MM = 9.0  # a view's title, and how it is seen
_SMALL_MM = 18.0  # a view of which a side is shorter is drawn at a larger scale where there is room
ROUND_MM = 4.0  # room for numbers round a view
PLAN_NOSE_UP = View("from above, nose up", RIGHT, -AFT, -UP)
# How each side is seen from outside: what a template for it shows.
OUTSIDE = {
    "front": View("from in front", -RIGHT, UP, AFT),
    "rear": REAR,
    "left": SIDE,
    "right": View("from the right, nose to the right", -AFT, UP, -RIGHT),
    "bottom": View("from below, nose to the left", AFT, -RIGHT, UP),
    "top": PLAN,
}
TITLES = {0: "End", 1: "Side", 2: "Plan"}  # by the body axis that is looked along


def axis_of(direction: Floats) -> int:
    """The body axis that a direction lies along."""
    return int(np.argmax(np.abs(direction)))


@dataclass(frozen=True)
class Ordinate:
    """One dimension: its text, where its line begins (the fitting's place) and how far along the view's edge it stands."""

    text: str
    at_mm: tuple[Floats, ...]
    along_mm: float
    bold: bool = False


@dataclass(frozen=True)
class Flat:
    """One view of a tank at a scale: everything in mm from the lower left corner of the cavity's outline."""

    cavity: Cavity
    drill: DrillList
    view: View
    scale: float
    shown: Shown
    title: str = ""
    subtitle: str = ""
    measured: str = "all"  # what is dimensioned: all, the "ends" of the cavity, or "none"
    bounds_m: tuple[Floats, Floats] | None = None  # least and greatest (across, height) of what is drawn, if not all

    @cached_property
    def axes(self) -> tuple[int, int, int]:
        """The body axes across, up the paper and along the eye."""
        return axis_of(self.view.across), axis_of(self.view.height), axis_of(self.view.along)

    def mm(self, points_m: Floats) -> Floats:
        """Points (k, 3) in body axes from the datum -> (k, 2)."""
        return (points_m @ self._basis - self._low_m) * (1e3 / self.scale)

    def flat_mm(self, courses_m: Sequence[Floats]) -> list[Floats]:
        """Courses (k, 2) on (across, height) about the cavity's centre."""
        shift = self.cavity.centre_m @ self._basis - self._low_m
        return [(course + shift) * (1e3 / self.scale) for course in courses_m]

    @cached_property
    def _basis(self) -> Floats:
        return np.column_stack([self.view.across, self.view.height])

    @cached_property
    def _low_m(self) -> Floats:
        low: Floats = self._bounds_m[0]
        return low

    @cached_property
    def _bounds_m(self) -> tuple[Floats, Floats]:
        ends = np.array(self.cavity.bounds_m) @ self._basis
        return self.bounds_m or (ends.min(axis=0), ends.max(axis=0))

    @cached_property
    def size_mm(self) -> Floats:
        """Width and height of the outline."""
        low, high = self._bounds_m
        size: Floats = (high - low) * (1e3 / self.scale)
        return size

    @cached_property
    def ordinates(self) -> tuple[tuple[Ordinate, ...], tuple[Ordinate, ...]]:
        """Dimensions across and up, rising; places with one figure share it."""
        return (self._ordinates(0), self._ordinates(1)) if self.measured != "none" else ((), ())

    def _ordinates(self, k: int) -> tuple[Ordinate, ...]:
        axis = self.axes[k]
        datum = self.drill.datums[axis]
        far = self.drill.opposite(datum)
        ends = [(self._end(edge, k), edge) for edge in (datum, far)]
        found = [
            Ordinate("0" if edge is datum else self.shown.figure(self.drill.size_m(axis), "length"), (), along, True)
            for along, edge in ends
        ]
        shared: dict[tuple[str, float], list[tuple[Fitting, Floats]]] = {}
        for fitting in self.drill.fittings:
            if self.measured == "all" and k in dimensioned(fitting, self.axes):
                at = self.mm(fitting.point_m[None])[0]
                text = ink.minus(self.shown.figure(datum.off_m(fitting.point_m), "length"))
                shared.setdefault((text, round(float(at[k]), 2)), []).append((fitting, at))
        for (text, along), those in shared.items():
            numbers = ", ".join(str(fitting.number) for fitting, _ in those)
            found.append(Ordinate(f"{text} ({numbers})", tuple(at for _, at in those), along))
        return tuple(sorted(found, key=lambda one: (one.along_mm, not one.bold)))

    def _end(self, edge: Edge, k: int) -> float:
        direction = (self.view.across, self.view.height)[k]
        rising = SIDES[edge.side].sense * float(direction[edge.axis]) > 0.0
        return float(self.size_mm[k]) if rising else 0.0

    def bands(self, k: int) -> tuple[tuple[Ordinate, ...], tuple[Ordinate, ...]]:
        """Dimensions along the bottom and the top (k = 0), or the left and the right: on both where one edge is too short."""
        every = self.ordinates[k]
        if len(every) * PITCH_MM <= max(float(self.size_mm[k]) * 1.6, 30.0):
            return every, ()
        return every[::2], every[1::2]

    @cached_property
    def margins_mm(self) -> tuple[float, float, float, float]:
        """Room round the outline for dimensions: left, bottom, right, top."""
        (bottom, top), (left, right) = self.bands(0), self.bands(1)
        jog = self.jogs_mm[0]
        return _room(left), _room(bottom, jog), _room(right), _room(top, jog) + HEAD_MM

    @cached_property
    def runs_mm(self) -> tuple[float, float]:
        """How long the longest band of dimensions is, across and up."""
        across, up = (max(len(band) for band in self.bands(k)) * PITCH_MM for k in (0, 1))
        return across, up

    @cached_property
    def jogs_mm(self) -> tuple[float, float]:
        """How far off the outline dimensions stand, across and up: below those at the sides where both are longer than it."""
        over = [(run - float(size)) / 2.0 for run, size in zip(self.runs_mm, self.size_mm, strict=True)]
        return JOG_MM + (max(0.0, over[1]) if over[0] > JOG_MM - 2.0 else 0.0), JOG_MM

    @property
    def small(self) -> bool:
        """Whether it is too small on paper to tell its fittings apart."""
        return float(self.size_mm.min()) < _SMALL_MM or self.jogs_mm[0] > JOG_MM

    @cached_property
    def cell_mm(self) -> tuple[float, float]:
        """Width and height of paper that the view takes."""
        left, bottom, right, top = self.margins_mm
        width, height = (max(float(self.size_mm[k]), self.runs_mm[k]) for k in (0, 1))
        titles = ink.width_of(self.heading, ink.TEXT_PT, "bold"), ink.width_of(self.seen, ink.SMALL_PT)
        return max(width + left + right, *titles), height + bottom + top

    @property
    def heading(self) -> str:
        """What the view is, and its scale."""
        return f"{self.title or TITLES[self.axes[2]]}, {scale_text(self.scale)}"

    @property
    def seen(self) -> str:
        """How it is looked at, or where it is cut."""
        return self.subtitle or self.view.name


def dimensioned(fitting: Fitting, axes: tuple[int, int, int]) -> tuple[int, ...]:
    """Which of a view's directions (0 across, 1 up) a fitting is dimensioned along.

    An opening is dimensioned where it is seen as one; what stands free, on a corner or on a stem in the plan, its height beside.
    """
    through = SIDES[fitting.through].axis if fitting.through else 2
    if axes[2] == through:
        return (0, 1)
    stands_free = not fitting.through or fitting.kind == "switch"
    if stands_free and through in axes[:2] and axes[2] == (1 if through != 1 else 0):
        return (axes.index(through),)
    return ()


def _room(band: Sequence[Ordinate], jog: float = JOG_MM) -> float:
    widest = max((ink.width_of(one.text, ink.SMALL_PT, "bold" if one.bold else "normal") for one in band), default=0.0)
    return jog + widest + 1.5 if band else ROUND_MM


def apart(band: Sequence[Ordinate], low_mm: float, high_mm: float) -> Floats:
    """Where the texts of a band stand along its edge: apart, and between two ends."""
    steps = PITCH_MM * np.arange(len(band))
    places = np.maximum(spread(np.array([one.along_mm for one in band]), PITCH_MM) - steps, low_mm)
    ends: Floats = np.minimum(places + steps[-1:], high_mm) - steps[-1:] + steps
    return ends
