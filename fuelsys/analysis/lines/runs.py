"""A way at each attitude: its ends, its highest point, and the high and low points of the worst of its paths."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass, field
from itertools import islice

from fuelsys.analysis.lines.routing import joined, run_at
from fuelsys.analysis.lines.traps import Course, Found
from fuelsys.arrays import Floats
from fuelsys.model.built.ends import Step
from fuelsys.model.built.layout import Layout
from fuelsys.model.built.network import Network
from fuelsys.model.built.way import Way
from fuelsys.model.found.plumbing import PathPoint, Run, RunAt
from fuelsys.model.stated.attitude import Attitude

TRIES = 4  # paths looked at for a point before it counts by the narrowest line at it


def run(layout: Layout, way: Way, envelope: Iterable[Attitude]) -> Run:
    """A way as it lies at each attitude."""
    if way.single:
        path = joined(layout.network, way.shortest)
        return Run(way, tuple(run_at(path, attitude) for attitude in envelope))
    course = Course.of(layout.network, way)
    return Run(way, tuple(_Look(layout.network, course, attitude).at() for attitude in envelope))


@dataclass
class _Look:
    """A way of several paths at one attitude: the paths that were looked at, and the points of the worst."""

    network: Network
    course: Course
    attitude: Attitude
    paths: dict[tuple[Step, ...], RunAt] = field(default_factory=dict)
    high: list[PathPoint] = field(default_factory=list)
    low: list[PathPoint] = field(default_factory=list)

    def at(self) -> RunAt:
        """With the paths over the points that are most proud, highest above the start, and lowest by their drains."""
        course, up = self.course, self.attitude.up
        levels = course.points_m @ up
        one = self._path(course.way.shortest)
        self.high, self.low = list(one.high), list(one.low)
        self._worst_high(levels, course.relieved(levels, up))
        self._worst_low(levels, course.relieved(-levels, -up))
        ends = one.start_level_m, one.end_level_m, course.climb.top_m(up)
        return RunAt(self.attitude, *ends, tuple(self.high), tuple(self.low))

    def _path(self, steps: tuple[Step, ...]) -> RunAt:
        if steps not in self.paths:
            self.paths[steps] = run_at(joined(self.network, steps), self.attitude)
        return self.paths[steps]

    def _worst_high(self, levels: Floats, relieved: dict[int, float]) -> None:
        proud = self.course.worst(levels, relieved)
        if self._look(proud, lambda at: any(p.deep for p in at.high), self.high, levels):
            above = self.course.worst(levels, relieved, lambda i, _: float(levels[i] - levels[0]))
            start_m = float(levels[0])
            self._look(above, lambda at: any(p.deep and p.level_m > start_m for p in at.high), self.high, levels)

    def _worst_low(self, levels: Floats, relieved: dict[int, float]) -> None:
        """One without a drain; if there is none, one of which that is not said; if there is none, one with a drain."""
        course = self.course
        kinds = ((False, course.drains | course.maybe_drains), (None, course.drains), (True, frozenset[int]()))
        for drained, drains in kinds:
            shutting = course.drained(drains) | relieved

            def is_so(at: RunAt, drained: bool | None = drained) -> bool:
                return any(p.deep and p.drained is drained for p in at.low)

            if self._look(course.worst(-levels, shutting), is_so, self.low, levels, drained):
                return

    def _look(
        self,
        found: Iterable[Found],
        is_so: Callable[[RunAt], bool],
        points: list[PathPoint],
        levels: Floats,
        drained: bool | None = False,
    ) -> bool:
        """Whether there is a point of a kind: on the path over one of the first few, or else the first by its narrowest line."""
        first: Found | None = None
        for one in islice(found, TRIES):
            first = first or one
            at = self._path(one.steps)
            if is_so(at):
                points.extend(p for p in (at.high if points is self.high else at.low) if p not in points)
                return True
        if first:
            points.append(self.course.path_point(first, levels, drained))
        return first is not None
