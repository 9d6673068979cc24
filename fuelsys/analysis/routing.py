"""The plumbing as a graph: which lines follow one another from end to end, and how each such run rises and falls."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from itertools import combinations

import networkx as nx
import numpy as np

from fuelsys.kernels import profile
from fuelsys.kernels.compiled import Floats
from fuelsys.model.attitude import Attitude
from fuelsys.model.layout import Layout, PlacedLine
from fuelsys.model.plumbing import LineKind, PathPoint, Run, RunAt

# A drain that the design states further than this from its line is not on it. Common practice, no source.
DRAIN_REACH_M = 0.025
DIRECTED: tuple[LineKind, ...] = ("feed", "return")  # their `from` is upstream


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
    start: str
    end: str
    points_m: Floats
    lines: tuple[Stretch, ...]
    joints: tuple[Stretch, ...] = ()
    drains_m: tuple[float, ...] = ()
    maybe_drains_m: tuple[float, ...] = ()
    arms_m: tuple[tuple[int, Floats], ...] = ()

    @property
    def along_m(self) -> Floats:
        """Distance along the path of each vertex: (k,)."""
        return np.concatenate([[0.0], np.cumsum(np.linalg.norm(np.diff(self.points_m, axis=0), axis=1))])

    @property
    def bore_m(self) -> float:
        """The smallest bore on the way."""
        return min(stretch.bore_m for stretch in self.lines)


def graph(layout: Layout, kind: LineKind) -> nx.MultiDiGraph | nx.MultiGraph:
    """The lines of one kind: nodes are "tank.port" and components' names, keys are the lines' names."""
    lines = nx.MultiDiGraph() if kind in DIRECTED else nx.MultiGraph()
    for line in layout.lines:
        if line.design.kind == kind:
            ends = line.design.from_port, line.design.to_port
            lines.add_edge(*ends, key=line.name, written_to=line.design.to_port)
    return lines


def _is_end(layout: Layout, lines: nx.MultiDiGraph | nx.MultiGraph, node: str, kind: LineKind, stops: set[str]) -> bool:
    """Whether a run ends at a node: a tank's port, a component of some kinds, or where lines of another kind go on."""
    component = layout.component(node)
    if component is None or component.kind in stops | {"engine", "overboard"}:
        return True
    return kind in ("return", "interconnect") and lines.degree(node) == 1 and len(layout.lines_at(node)) > 1


def _is_outlet(layout: Layout, end: str) -> bool:
    if "." not in end:
        return False
    tank, port = end.split(".", 1)
    return any(outlet.name == port for outlet in layout.tank(tank).design.outlet)


def _pairs(
    layout: Layout, lines: nx.MultiDiGraph | nx.MultiGraph, ends: Sequence[str], kind: LineKind
) -> Iterator[tuple[str, str]]:
    """Ends to look for a path between: from upstream to downstream, a vent's from a tank, else as a line was written."""
    if kind in DIRECTED:
        # Fuel enters the feed from a tank by an outlet only, and goes into a tank by anything else.
        starts = [end for end in ends if "." not in end or (kind == "feed" and _is_outlet(layout, end))]
        for start in starts:
            yield from ((start, end) for end in ends if end != start and not _is_outlet(layout, end))
        return
    written = set(nx.get_edge_attributes(lines, "written_to").values())
    for one, two in combinations(ends, 2):
        turned = ("." in two, two not in written) > ("." in one, one not in written)
        yield (two, one) if turned else (one, two)


def overboard(layout: Layout, end: str) -> bool:
    """Whether an end of a path lies outside the aircraft."""
    component = layout.component(end)
    return component is not None and component.kind == "overboard"


def paths(layout: Layout, kind: LineKind, stops: Iterable[str] = ()) -> tuple[Path, ...]:
    """Every path of one kind from end to end; components of the kinds in stops end it as tanks and engines do.

    A vent that leads overboard is not followed into other tanks too: those paths count only for lines that no path
    overboard has.
    """
    lines = graph(layout, kind)
    ends = [node for node in lines if _is_end(layout, lines, node, kind, set(stops))]
    between = set(lines) - set(ends)
    found = []
    for start, end in _pairs(layout, lines, ends, kind):
        inside = lines.subgraph(between | {start, end})
        for edges in nx.all_simple_edge_paths(inside, start, end):
            found.append((start, end, [(node, name) for node, _, name in edges]))
    if kind == "vent":
        out = {name for _, end, steps in found if overboard(layout, end) for _, name in steps}
        found = [f for f in found if overboard(layout, f[1]) or not {name for _, name in f[2]} <= out]
        found = [f for f in found if not overboard(layout, f[0])]
    return tuple(_joined(layout, kind, start, end, steps) for start, end, steps in found)


def _joined(layout: Layout, kind: LineKind, start: str, end: str, steps: list[tuple[str, str]]) -> Path:
    """One polyline of the lines of a path, each turned so that it leaves from its node."""
    by_name = {line.name: line for line in layout.lines}
    points: list[Floats] = []
    lines: list[Stretch] = []
    joints = []
    for node, name in steps:
        line = by_name[name]
        way = line.points_m if line.design.from_port == node else line.points_m[::-1]
        first = max(0, len(points) - 1)
        if points:
            joints.append(Stretch(node, first, first, min(lines[-1].bore_m, line.design.bore_m)))
        points.extend(way if not points else way[1:])
        lines.append(Stretch(name, first, len(points) - 1, line.design.bore_m))
    path = Path(kind, start, end, np.array(points), tuple(lines), tuple(joints))
    drains, maybe = _drains(layout, path, by_name)
    return Path(kind, start, end, path.points_m, path.lines, path.joints, drains, maybe, _arms(layout, path))


def _drains(layout: Layout, path: Path, by_name: dict[str, PlacedLine]) -> tuple[tuple[float, ...], tuple[float, ...]]:
    """Distances along a path of its drains, and of filters whose drain is not stated."""
    along = path.along_m
    drains, maybe = [], []
    for stretch in path.lines:
        for drain_m in by_name[stretch.name].drains_m:
            away_m, at_m = _nearest(path.points_m[stretch.first : stretch.last + 1], drain_m)
            if away_m <= DRAIN_REACH_M:
                drains.append(float(along[stretch.first]) + at_m)
    for joint in path.joints:
        component = layout.component(joint.name)
        if component is not None and component.drain:
            drains.append(float(along[joint.first]))
        elif component is not None and component.kind == "filter" and component.drain is None:
            maybe.append(float(along[joint.first]))
    return tuple(drains), tuple(maybe)


def _nearest(points_m: Floats, place_m: Floats) -> tuple[float, float]:
    """How far a place lies from a polyline (k, 3), and the distance along it of the nearest point."""
    sides = np.diff(points_m, axis=0)
    lengths = np.linalg.norm(sides, axis=1)
    safe = np.where(lengths > 0.0, lengths, 1.0)
    share = np.clip(np.einsum("ij,ij->i", place_m - points_m[:-1], sides) / safe**2, 0.0, 1.0)
    away = np.linalg.norm(points_m[:-1] + share[:, None] * sides - place_m, axis=1)
    best = int(away.argmin())
    return float(away[best]), float(lengths[:best].sum() + share[best] * lengths[best])


def _arms(layout: Layout, path: Path) -> tuple[tuple[int, Floats], ...]:
    """The first points of other lines of the same kind that leave from the joints of a path; a valve may shut them."""
    own = {stretch.name for stretch in path.lines}
    found = []
    for joint in path.joints:
        component = layout.component(joint.name)
        if component is None or component.kind in ("selector", "valve"):
            continue
        for line in layout.lines_at(joint.name, path.kind):
            if line.name not in own:
                at_start = line.design.from_port == joint.name
                found.append((joint.first, line.points_m[1] if at_start else line.points_m[-2]))
    return tuple(found)


def run(path: Path, envelope: Iterable[Attitude]) -> Run:
    """A path as it lies at each attitude."""
    return Run(
        path.kind,
        path.start,
        path.end,
        tuple(stretch.name for stretch in path.lines),
        tuple(stretch.name for stretch in path.joints),
        path.bore_m,
        float(path.along_m[-1]),
        tuple(run_at(path, attitude) for attitude in envelope),
    )


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
        relief = [sign * (level - levels[at]) for at, level in arms if first <= at <= last]
        if max(relief, default=0.0) <= profile.SAME_LEVEL_M:
            yield first, last, proud_m


def _point(path: Path, levels: Floats, first: int, last: int, proud_m: float) -> PathPoint:
    along = path.along_m
    middle = float(along[first] + along[last]) / 2.0
    place = np.array([np.interp(middle, along, path.points_m[:, axis]) for axis in range(3)])
    on = next(s for s in (*path.joints, *path.lines) if along[s.first] <= middle <= along[s.last])
    bore_m = min(s.bore_m for s in path.lines if s.first <= last and first <= s.last)
    level_m = float(levels[first])
    drained: bool | None = any(_reaches(along, levels, at, first, last, bore_m) for at in path.drains_m)
    if not drained and any(_reaches(along, levels, at, first, last, bore_m) for at in path.maybe_drains_m):
        drained = None
    return PathPoint(place, level_m, proud_m, on.name, bore_m, drained)


def _reaches(along: Floats, levels: Floats, drain_m: float, first: int, last: int, bore_m: float) -> bool:
    """Whether a drain empties a low point: on the way between them the line does not rise by more than half its bore."""
    near, far = sorted((drain_m, float(along[first if drain_m < along[first] else last])))
    between = levels[(along >= near) & (along <= far)]
    highest = max(float(between.max(initial=-np.inf)), float(np.interp(drain_m, along, levels)))
    return highest <= float(levels[first]) + bore_m / 2.0
