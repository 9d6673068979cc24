"""One path of lines that follow one another: its polyline, its drains, and its high and low points at an attitude."""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from itertools import takewhile

import numpy as np

from fuelsys.arrays import Floats
from fuelsys.kernels import profile
from fuelsys.model.built.ends import ComponentEnd, PlacedLine, Step
from fuelsys.model.built.network import Network
from fuelsys.model.built.way import polyline
from fuelsys.model.found.plumbing import PathPoint, RunAt
from fuelsys.model.stated.attitude import Attitude
from fuelsys.model.stated.components import Filter, Inline, ShutOff
from fuelsys.model.stated.design import LineKind

# A drain that the design states further than this from its line is not on it. Common practice, no source.
DRAIN_REACH_M = 0.025


@dataclass(frozen=True)
class Stretch:
    """A piece of a path: one line, or one component, with the path's vertices first to last that belong to it."""

    name: str
    first: int
    last: int
    bore_m: float


@dataclass(frozen=True)
class Path:
    """Lines that follow one another as one polyline: points_m (k, 3) in body axes from start to end.

    lines and joints cover the vertices; drains_m and maybe_drains_m are distances along the path of drains, and of
    filters that do not say whether they have one. arms_m are the first points of other lines that leave from a joint.
    """

    kind: LineKind
    points_m: Floats
    lines: tuple[Stretch, ...]
    joints: tuple[Stretch, ...] = ()
    drains_m: tuple[float, ...] = ()
    maybe_drains_m: tuple[float, ...] = ()
    arms_m: tuple[tuple[int, Floats], ...] = ()

    @cached_property
    def along_m(self) -> Floats:
        """Distance along the path of each vertex: (k,)."""
        return np.concatenate([[0.0], np.cumsum(np.linalg.norm(np.diff(self.points_m, axis=0), axis=1))])

    def on(self, along_m: float) -> str:
        """The joint or the line at a distance along the path."""
        joint = bisect_left(self.joints, along_m, key=lambda joint: float(self.along_m[joint.first]))
        if joint < len(self.joints) and float(self.along_m[self.joints[joint].first]) == along_m:
            return self.joints[joint].name
        return self.lines[bisect_left(self.lines, along_m, key=lambda line: float(self.along_m[line.last]))].name

    def bore_m(self, first: int, last: int) -> float:
        """The smallest bore of the lines that touch some vertices."""
        least = self.lines[bisect_left(self.lines, first, key=lambda line: line.last) :]
        return min(line.bore_m for line in takewhile(lambda line: line.first <= last, least))


def joined(network: Network, steps: Sequence[Step]) -> Path:
    """One polyline of steps that follow one another."""
    lines: list[Stretch] = []
    joints: list[Stretch] = []
    last = 0
    for step in steps:
        first, last = last, last + len(step.line.points_m) - 1
        if lines:
            joints.append(Stretch(str(step.start), first, first, min(lines[-1].bore_m, step.line.bore_m)))
        lines.append(Stretch(step.line.name, first, last, step.line.bore_m))
    path = Path(steps[0].line.kind, polyline(steps), tuple(lines), tuple(joints))
    drains, maybe = _drains(network, path, [step.line for step in steps])
    return replace(path, drains_m=drains, maybe_drains_m=maybe, arms_m=_arms(network, path))


def _drains(network: Network, path: Path, lines: Sequence[PlacedLine]) -> tuple[tuple[float, ...], tuple[float, ...]]:
    """Distances along a path of its drains, and of filters whose drain is not stated."""
    along = path.along_m
    drains: list[float] = []
    maybe: list[float] = []
    for stretch, line in zip(path.lines, lines, strict=True):
        for drain_m in line.drains_m:
            away_m, at_m = nearest(path.points_m[stretch.first : stretch.last + 1], drain_m)
            if away_m <= DRAIN_REACH_M:
                drains.append(float(along[stretch.first]) + at_m)
    for joint in path.joints:
        drained = drains_there(network, ComponentEnd(joint.name))
        if drained is not False:
            (drains if drained else maybe).append(float(along[joint.first]))
    return tuple(drains), tuple(maybe)


def drains_there(network: Network, joint: ComponentEnd) -> bool | None:
    """Whether a component has a drain; None for a filter that does not say."""
    component = network.component(joint)
    said = component.drain if isinstance(component, Inline) else None
    return None if said is None and isinstance(component, Filter) else bool(said)


def nearest(points_m: Floats, place_m: Floats) -> tuple[float, float]:
    """How far a place lies from a polyline (k, 3), and the distance along it of the nearest point."""
    sides = np.diff(points_m, axis=0)
    lengths = np.linalg.norm(sides, axis=1)
    safe = np.where(lengths > 0.0, lengths, 1.0)
    share = np.clip(np.einsum("ij,ij->i", place_m - points_m[:-1], sides) / safe**2, 0.0, 1.0)
    away = np.linalg.norm(points_m[:-1] + share[:, None] * sides - place_m, axis=1)
    best = int(away.argmin())
    return float(away[best]), float(lengths[:best].sum() + share[best] * lengths[best])


def _arms(network: Network, path: Path) -> tuple[tuple[int, Floats], ...]:
    """The first points of other lines of the same kind that leave from the joints of a path."""
    own = {stretch.name for stretch in path.lines}
    found = []
    for joint in path.joints:
        for name, point_m in arms_at(network, ComponentEnd(joint.name), path.kind):
            if name not in own:
                found.append((joint.first, point_m))
    return tuple(found)


def arms_at(network: Network, joint: ComponentEnd, kind: LineKind) -> Iterator[tuple[str, Floats]]:
    """The lines of a kind at a joint, each with its first point from there; none at a valve, which may shut them."""
    if not isinstance(network.component(joint), ShutOff):
        for line in network.lines_at(joint, kind):
            yield line.name, line.points_m[1] if line.start == joint else line.points_m[-2]


def run_at(path: Path, attitude: Attitude) -> RunAt:
    """High and low points of a path at one attitude; a line that leaves from a joint the right way relieves them."""
    levels = path.points_m @ attitude.up
    arms = [(at, float(point @ attitude.up)) for at, point in path.arms_m]
    high = tuple(_point(path, levels, *found) for found in _free(profile.high_points(levels), levels, arms, 1.0))
    low = tuple(_point(path, levels, *found) for found in _free(profile.high_points(-levels), levels, arms, -1.0))
    return RunAt(attitude, float(levels[0]), float(levels[-1]), float(levels.max()), high, low)


def _free(
    found: list[tuple[int, int, float]], levels: Floats, arms: list[tuple[int, float]], sign: float
) -> Iterator[tuple[int, int, float]]:
    """High points (sign 1) from which no other line goes up, low points (-1) from which none goes down."""
    for first, last, proud_m in found:
        there = arms[bisect_left(arms, first, key=_place) : bisect_right(arms, last, key=_place)]
        relief = [sign * (level - levels[at]) for at, level in there]
        if max(relief, default=0.0) <= profile.SAME_LEVEL_M:
            yield first, last, proud_m


def _place(arm: tuple[int, float]) -> int:
    return arm[0]


def _point(path: Path, levels: Floats, first: int, last: int, proud_m: float) -> PathPoint:
    along = path.along_m
    middle = float(along[first] + along[last]) / 2.0
    place = np.array([np.interp(middle, along, path.points_m[:, axis]) for axis in range(3)])
    bore_m = path.bore_m(first, last)
    level_m = float(levels[first])
    drained: bool | None = any(_reaches(along, levels, at, first, last, bore_m) for at in path.drains_m)
    if not drained and any(_reaches(along, levels, at, first, last, bore_m) for at in path.maybe_drains_m):
        drained = None
    return PathPoint(place, level_m, proud_m, path.on(middle), bore_m, drained)


def _reaches(along: Floats, levels: Floats, drain_m: float, first: int, last: int, bore_m: float) -> bool:
    """Whether a drain empties a low point: on the way between them the line does not rise by more than half its bore."""
    near, far = sorted((drain_m, float(along[first if drain_m < along[first] else last])))
    between = levels[(along >= near) & (along <= far)]
    highest = max(float(between.max(initial=-np.inf)), float(np.interp(drain_m, along, levels)))
    return highest <= float(levels[first]) + bore_m / 2.0
