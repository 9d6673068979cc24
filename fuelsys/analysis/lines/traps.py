"""High and low points on a way of several paths: the worst are found in two sweeps over its points, one from each end.

On a path a high point stands proud by the smaller of the falls on its two sides (kernels/profile.py). Each sweep carries
along what lies behind a point on any path; where lines meet, the deepest counts. So the fall on each side is known at
every point without a path being listed, and a path is made only for the worst point. In loops that path may come to a
place twice: it is then worse than any that does not.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from itertools import pairwise
from typing import NamedTuple

import numpy as np

from fuelsys.analysis.lines.routing import DRAIN_REACH_M, arms_at, drains_there, nearest
from fuelsys.arrays import Floats
from fuelsys.kernels.profile import SAME_LEVEL_M, Falls, either, onward, shut
from fuelsys.model.built.ends import ComponentEnd, Step
from fuelsys.model.built.network import Network
from fuelsys.model.built.way import Climb, Way
from fuelsys.model.found.plumbing import LEAST_SHARE_OF_BORE, PathPoint

_BARELY_M = 2.0 * SAME_LEVEL_M  # what a line that leads on relieves: high points at its own level
Points = Mapping[int, float]  # points past which nothing counts, for high points up to so far above them


class Found(NamedTuple):
    """A high or low point: its number, how far it stands proud at most, and a path over it."""

    point: int
    proud_m: float
    steps: tuple[Step, ...]


@dataclass(frozen=True)
class Course:
    """A way of one kind as numbered points: first its ends in the way's order, then each step's bends and drains.

    chains are the points of each step; bores_m the narrowest line at each point; arms the first points of the lines at a
    joint.
    """

    way: Way
    points_m: Floats
    bores_m: Sequence[float]
    chains: tuple[tuple[int, ...], ...]
    drains: frozenset[int]
    maybe_drains: frozenset[int]
    arms_m: Mapping[int, Floats]

    @classmethod
    def of(cls, network: Network, way: Way) -> Course:
        """The course of a way."""
        number = {end: i for i, end in enumerate(way.order)}
        places: list[Floats] = [np.empty(3)] * len(number)
        bores = [np.inf] * len(number)
        chains, drains, maybe = [], set[int](), set[int]()
        for step in way.steps:
            inner, drained = _bends(step)
            ids = range(len(places), len(places) + len(inner))
            drains |= {ids[i] for i in drained}
            chains.append((number[step.start], *ids, number[step.end]))
            places.extend(inner)
            bores.extend([step.line.bore_m] * len(inner))
            for end, point_m in ((step.start, step.points_m[0]), (step.end, step.points_m[-1])):
                places[number[end]] = point_m
                bores[number[end]] = min(bores[number[end]], step.line.bore_m)
        arms = {}
        for end in way.through:
            assert isinstance(end, ComponentEnd)
            there = drains_there(network, end)
            (drains if there else maybe if there is None else set[int]()).add(number[end])
            arms[number[end]] = np.array([point for _, point in arms_at(network, end, way.kind)]).reshape(-1, 3)
        return cls(way, np.array(places), bores, tuple(chains), frozenset(drains), frozenset(maybe), arms)

    @cached_property
    def climb(self) -> Climb:
        """How high the way leads."""
        return self.way.climb()

    def relieved(self, levels: Floats, up: Floats) -> dict[int, float]:
        """The joints at which a line goes on upwards along up: no high point is there."""
        risen = {
            i for i, arms in self.arms_m.items() if float((arms @ up).max(initial=-np.inf)) - levels[i] > SAME_LEVEL_M
        }
        return dict.fromkeys(risen, _BARELY_M)

    def drained(self, places: frozenset[int]) -> dict[int, float]:
        """Places with a drain, which empties what rises towards it by no more than half the bore."""
        return dict.fromkeys(places, LEAST_SHARE_OF_BORE * self.way.bore_m)

    def worst(
        self, levels: Floats, shutting: Points, key: Callable[[int, float], float] = lambda _, proud_m: proud_m
    ) -> Iterator[Found]:
        """The deep high points of levels, worst first by the key of a point and how far it stands proud.

        Deep is meant by the narrowest line at the point; the path may lead through a wider one.
        """
        falls = [self._falls(levels.tolist(), shutting, back=back) for back in (False, True)]
        proud = [min(one, two) for one, two in zip(*falls, strict=True)]
        deep = [i for i, p in enumerate(proud) if p > LEAST_SHARE_OF_BORE * self.bores_m[i] and key(i, p) > 0.0]
        for i in sorted(deep, key=lambda i: -key(i, proud[i])):
            yield Found(i, proud[i], self._path(i, levels, [fall[i] for fall in falls], shutting))

    def path_point(self, found: Found, levels: Floats, drained: bool | None) -> PathPoint:
        """A high or low point by the narrowest line at it."""
        at = found.point
        inner = [step.line.name for step, chain in zip(self.way.steps, self.chains, strict=True) if at in chain]
        on = str(self.way.order[at]) if at < len(self.way.order) else inner[0]
        return PathPoint(self.points_m[at], float(levels[at]), found.proud_m, on, self.bores_m[at], drained)

    def _falls(self, levels: list[float], shutting: Points, *, back: bool) -> list[float]:
        """How far each point stands above the lowest behind it on any path, past no higher one."""
        chains = [chain[::-1] for chain in reversed(self.chains)] if back else self.chains
        order = range(len(self.way.order))
        into: list[list[int]] = [[] for _ in order]
        out: list[list[int]] = [[] for _ in order]
        for k, chain in enumerate(chains):
            out[chain[0]].append(k)
            into[chain[-1]].append(k)
        falls = [0.0] * len(levels)
        arrived: list[Falls | None] = [None] * len(chains)

        def onto(behind: Falls | None, point: int) -> Falls:
            found = onward(behind, levels[point])
            found = shut(found, levels[point], shutting[point]) if point in shutting else found
            falls[point] = levels[point] - found.low
            return found

        changed = True
        while changed:
            changed = False
            for here in reversed(order) if back else order:
                start = onto(either(arrived[k] for k in into[here] if arrived[k] is not None), here)
                for k in out[here]:
                    behind = start
                    for point in chains[k][1:-1]:
                        behind = onto(behind, point)
                    again = (chains[k][-1] > here) == back  # it leads round: what comes there has gone on already
                    changed |= again and not _alike(arrived[k], behind)
                    arrived[k] = behind
        return falls

    def _path(self, point: int, levels: Floats, falls: Sequence[float], shutting: Points) -> tuple[Step, ...]:
        """A path over a point that falls on both sides of it as far as it can."""
        before = self._route(point, levels, falls[0], shutting, back=True)
        after = self._route(point, levels, falls[1], shutting, back=False)
        ordered = [*reversed(before), *after]
        return tuple(self.way.steps[k] for i, k in enumerate(ordered) if i == 0 or ordered[i - 1] != k)

    def _route(self, point: int, levels: Floats, fall: float, shutting: Points, *, back: bool) -> list[int]:
        """The steps from a high point to the lowest place that it falls to, and on to the way's end (back: its start)."""
        beside: dict[int, list[tuple[int, int]]] = {}
        for k, chain in enumerate(self.chains):
            for one, two in pairwise(chain):
                here, beyond = (two, one) if back else (one, two)
                beside.setdefault(here, []).append((beyond, k))
        top, goal = float(levels[point]), self.way.order.index(self.way.start if back else self.way.end)

        def under(place: int, beyond: int) -> bool:
            open_ = place not in shutting or levels[place] + shutting[place] <= top + SAME_LEVEL_M
            return open_ and bool(levels[beyond] <= top + SAME_LEVEL_M)

        low, first = _search(beside, point, lambda place: top - levels[place] >= fall, under)
        _, then = _search(beside, low, lambda place: place == goal, lambda *_: True)
        return [*first, *then]


def _bends(step: Step) -> tuple[list[Floats], list[int]]:
    """The points of a step between its ends, with its drains among them, and which of them are drains."""
    points = step.points_m
    along = np.concatenate([[0.0], np.cumsum(np.linalg.norm(np.diff(points, axis=0), axis=1))])
    found = [(float(at), False, point) for at, point in zip(along[1:-1], points[1:-1], strict=True)]
    for drain_m in step.line.drains_m:
        away_m, at_m = nearest(points, drain_m)
        if away_m <= DRAIN_REACH_M:
            place = np.array([np.interp(at_m, along, points[:, axis]) for axis in range(3)])
            found.append((at_m, True, place))
    found.sort(key=lambda one: one[0])
    return [point for _, _, point in found], [i for i, (_, drain, _) in enumerate(found) if drain]


def _alike(one: Falls | None, two: Falls | None) -> bool:
    while one is not None and two is not None and one is not two:
        if one[:2] != two[:2]:
            return False
        one, two = one.rest, two.rest
    return one is two


def _search(
    beside: Mapping[int, Sequence[tuple[int, int]]],
    start: int,
    found: Callable[[int], bool],
    open_to: Callable[[int, int], bool],
) -> tuple[int, list[int]]:
    """The nearest place that is looked for, and the steps to it."""
    came: dict[int, tuple[int, int]] = {start: (start, -1)}
    waiting = [start]
    for here in waiting:
        if found(here):
            break
        for beyond, k in beside.get(here, ()):
            if beyond not in came and open_to(here, beyond):
                came[beyond] = here, k
                waiting.append(beyond)
    steps = []
    at = here
    while at != start:
        at, k = came[at]
        steps.append(k)
    return here, steps[::-1]
