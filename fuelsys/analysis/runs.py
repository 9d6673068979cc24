"""A way at each attitude: its ends, its highest point, and the high and low points of the worst of its paths."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator

from fuelsys.analysis.routing import Path, joined, run_at
from fuelsys.analysis.traps import Course
from fuelsys.model.attitude import Attitude
from fuelsys.model.ends import Step
from fuelsys.model.layout import Layout
from fuelsys.model.network import Network
from fuelsys.model.plumbing import Run, RunAt
from fuelsys.model.way import Way


def run(layout: Layout, way: Way, envelope: Iterable[Attitude]) -> Run:
    """A way as it lies at each attitude."""
    path = joined(layout.network, way.shortest)
    if way.single:
        return Run(way, tuple(run_at(path, attitude) for attitude in envelope))
    course = Course.of(layout.network, way)
    return Run(way, tuple(_of_several(layout.network, course, path, attitude) for attitude in envelope))


def _of_several(network: Network, course: Course, path: Path, attitude: Attitude) -> RunAt:
    """The points of the worst paths: the highest proud, the highest above the start; the lowest by what drains they have."""
    levels, one = course.points_m @ attitude.up, run_at(path, attitude)
    start_m = float(levels[0])
    risen, sunk = course.relieved(levels, attitude.up), course.relieved(-levels, -attitude.up)
    sure, any_ = course.drained(course.drains), course.drained(course.drains | course.maybe_drains)
    asked: list[tuple[Iterator[tuple[Step, ...]], Callable[[RunAt], bool]]] = [
        (course.worst(levels, risen), lambda at: any(p.deep for p in at.high)),
        (
            course.worst(levels, risen, lambda i, _: float(levels[i]) - start_m),
            lambda at: any(p.deep and p.level_m > start_m for p in at.high),
        ),
        (course.worst(-levels, sunk), lambda at: any(p.deep for p in at.low)),
        (course.worst(-levels, sunk | sure), lambda at: any(p.deep and p.drained is None for p in at.low)),
        (course.worst(-levels, sunk | any_), lambda at: any(p.deep and p.drained is False for p in at.low)),
    ]
    found = {course.way.shortest: one}
    for paths, is_so in asked:
        for steps in paths:
            if steps not in found:
                found[steps] = run_at(joined(network, steps), attitude)
            if is_so(found[steps]):
                break
    top_m = course.climb.top_m(attitude.up)
    high, low = ([p for at in found.values() for p in getattr(at, side)] for side in ("high", "low"))
    return RunAt(attitude, one.start_level_m, one.end_level_m, top_m, tuple(high), tuple(low))
