"""A way through the plumbing: every line that leads from one end to another, and what is asked of all its paths at once.

Paths are never listed: a ladder of n tees and lines has 2^n of them. "Does each path pass one of these" is whether the end
is reached without them, "what do all pass" are dominators, "the lowest path over its highest point" is a search that
takes the lowest place first.
"""

from __future__ import annotations

import operator
from collections.abc import Callable, Collection, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from heapq import heappop, heappush

import numpy as np

from fuelsys.arrays import Floats, Ints
from fuelsys.model.built.ends import End, Step
from fuelsys.model.stated.design import LineKind

Steps = Mapping[End, Sequence[Step]]


@dataclass(frozen=True, eq=False)
class Way:
    """All paths from one end to another as one graph; steps are sorted as they come from the start on.

    A step is on the way where a path takes it that need not come to any place twice. In loops that cannot be told for sure
    in reasonable time; a step is then kept unless some one place has to be passed both before and after it.
    """

    kind: LineKind
    start: End
    end: End
    steps: tuple[Step, ...]

    @cached_property
    def out(self) -> dict[End, list[Step]]:
        """The steps that leave each end."""
        return by(self.steps, "start")

    @cached_property
    def into(self) -> dict[End, list[Step]]:
        """The steps that come to each end."""
        return by(self.steps, "end")

    @cached_property
    def order(self) -> tuple[End, ...]:
        """All ends on the way, from the start on; without loops none comes before one that leads to it."""
        return tuple(from_start(self.start, self.out))

    @property
    def through(self) -> tuple[End, ...]:
        """What lies between start and end on any path, in order."""
        return tuple(end for end in self.order if end not in (self.start, self.end))

    @property
    def lines(self) -> tuple[str, ...]:
        """The names of all lines, in order, each once."""
        return tuple(dict.fromkeys(step.line.name for step in self.steps))

    @property
    def bore_m(self) -> float:
        """The smallest bore on any path."""
        return min(step.line.bore_m for step in self.steps)

    @cached_property
    def shortest(self) -> tuple[Step, ...]:
        """The path of the fewest lines."""
        return self.path() or ()

    @cached_property
    def single(self) -> bool:
        """Whether there is one path only."""
        return len(self.shortest) == len(self.steps)

    def path(
        self, start: End | None = None, to: Collection[End] | None = None, avoid: Collection[End] = ()
    ) -> tuple[Step, ...] | None:
        """The path of the fewest lines from an end to the nearest of some, past none of those to avoid; None: there is none."""
        first = self.start if start is None else start
        targets = (self.end,) if to is None else to
        came: dict[End, Step | None] = {first: None}
        waiting = [first]
        for here in waiting:
            if here in targets and here != first:
                return _back(came, here)
            for step in self.out.get(here, ()):
                if step.end not in came and step.end not in avoid:
                    came[step.end] = step
                    waiting.append(step.end)
        return None

    @cached_property
    def always(self) -> tuple[End, ...]:
        """What every path passes between start and end, in order."""
        number = {end: i for i, end in enumerate(self.order)}
        above = _dominators([[number[step.start] for step in self.into.get(end, ())] for end in self.order])
        found, here = [], above[number[self.end]]
        while here:
            found.append(self.order[here])
            here = above[here]
        return tuple(reversed(found))

    def least(
        self,
        cost: Callable[[Step], float],
        join: Callable[[float, float], float] = operator.add,
        avoid: Collection[End] = (),
    ) -> float | None:
        """The least that any path comes to, its steps' costs added or joined otherwise (max); None: there is no path.

        A step must never make what it is joined to less.
        """
        done: set[End] = set()
        waiting: list[tuple[float, int, End]] = [(-np.inf if join is max else 0.0, 0, self.start)]
        pushed = 1
        while waiting:
            so_far, _, here = heappop(waiting)
            if here == self.end:
                return so_far
            if here in done:
                continue
            done.add(here)
            for step in self.out.get(here, ()):
                if step.end not in done and step.end not in avoid:
                    heappush(waiting, (join(so_far, cost(step)), pushed, step.end))
                    pushed += 1
        return None

    def climb(self, origin_m: Floats | float = 0.0) -> Climb:
        """How high it leads, levels being counted from a point."""
        pieces = [polyline(self.shortest)] if self.single else [step.points_m for step in self.steps]
        firsts = np.cumsum([0, *(len(piece) for piece in pieces)], dtype=np.int32)[:-1]
        return Climb(self, np.concatenate(pieces) - origin_m, firsts)


@dataclass(frozen=True, eq=False)
class Climb:
    """How high fuel or air has to rise on a way: points_m (k, 3) of its steps, each from its entry in firsts on."""

    way: Way
    points_m: Floats
    firsts: Ints

    def top_m(self, up: Floats) -> float:
        """The highest point along up of the path whose highest point is lowest."""
        levels = self.points_m @ up
        if len(self.firsts) == 1:
            return float(levels.max())
        tops = dict(zip(self.way.steps, np.maximum.reduceat(levels, self.firsts).tolist(), strict=True))
        least = self.way.least(tops.__getitem__, max)
        return float(levels.max()) if least is None else least


def polyline(steps: Sequence[Step]) -> Floats:
    """The points of steps that follow one another, joints once: (k, 3)."""
    return np.concatenate([step.points_m if i == 0 else step.points_m[1:] for i, step in enumerate(steps)])


def by(steps: Collection[Step], side: str) -> dict[End, list[Step]]:
    """Steps by their "start" or "end"."""
    found: dict[End, list[Step]] = {}
    for step in steps:
        found.setdefault(getattr(step, side), []).append(step)
    return found


def reached(start: End, steps: Steps, closed: Collection[End] = (), *, back: bool = False) -> set[End]:
    """All ends that are reached from one, itself among them; those closed are reached and not passed. back: against the steps."""
    found, waiting = {start}, [start]
    while waiting:
        for step in steps.get(waiting.pop(), ()):
            beyond = step.start if back else step.end
            if beyond not in found:
                found.add(beyond)
                waiting.extend([] if beyond in closed else [beyond])
    return found


def between(kind: LineKind, start: End, end: End, out: Steps, into: Steps, closed: Collection[End]) -> Way | None:
    """The way from one end to another that passes none of those closed; None where there is none."""
    ahead = reached(start, out, closed)
    if end not in ahead:
        return None
    behind = reached(end, into, closed, back=True)
    within = {here for here in ahead & behind if here not in closed} | {start, end}
    steps = [s for here in within - {end} for s in out.get(here, ()) if s.end in within and s.end != start]
    outward, inward = by(steps, "start"), by(steps, "end")
    order = from_start(start, outward)
    number = {here: i for i, here in enumerate(order)}
    if any(number[step.end] <= number[step.start] for step in steps):
        steps = _without_turning_back(steps, outward, inward, order, end)
    return Way(kind, start, end, tuple(sorted(steps, key=lambda step: number[step.start])))


def from_start(start: End, out: Steps) -> list[End]:
    """All ends that are reached from one, in the reverse of the order in which a search in depth leaves them."""
    left: list[End] = []
    seen = {start}
    waiting = [(start, iter(out.get(start, ())))]
    while waiting:
        here, steps = waiting[-1]
        for step in steps:
            if step.end not in seen:
                seen.add(step.end)
                waiting.append((step.end, iter(out.get(step.end, ()))))
                break
        else:
            left.append(here)
            waiting.pop()
    return left[::-1]


def _back(came: Mapping[End, Step | None], end: End) -> tuple[Step, ...]:
    """The steps by which a search came to an end."""
    steps = []
    step = came[end]
    while step is not None:
        steps.append(step)
        step = came[step.start]
    return tuple(reversed(steps))


def _without_turning_back(steps: list[Step], outward: Steps, inward: Steps, order: list[End], end: End) -> list[Step]:
    """Steps but for those before and after which one place has to be passed: into a dead end, or back where all come from."""
    number = {here: i for i, here in enumerate(order)}
    before = _dominators([[number[step.start] for step in inward.get(here, ())] for here in order])
    first, last = _spans(before)
    turned = from_start(end, {here: [Step(s.line, s.end, s.start) for s in inward[here]] for here in inward})
    from_end = {here: i for i, here in enumerate(turned)}
    after = _dominators([[from_end[step.end] for step in outward.get(here, ())] for here in turned])

    def turns_back(step: Step) -> bool:
        here, place = number[step.start], from_end[step.end]
        while True:  # all that has to be passed from the step's end on, to the first place that every path passes
            passed = number[turned[place]]
            if first[passed] <= first[here] < last[passed]:
                return True
            if first[passed] <= first[number[end]] < last[passed]:
                return False
            place = after[place]

    return [step for step in steps if not turns_back(step)]


def _dominators(before: list[list[int]]) -> list[int]:
    """For each place the nearest that every path from place 0 to it passes; before: the places that lead to each.

    Places are numbered as from_start sorts them (Cooper, Harvey and Kennedy, "A simple, fast dominance algorithm", 2001,
    from memory).
    """
    above = [0] + [-1] * (len(before) - 1)
    changed = True
    while changed:
        changed = False
        for place in range(1, len(before)):
            nearest = -1
            for other in before[place]:
                if above[other] >= 0:
                    nearest = other if nearest < 0 else _meet(above, nearest, other)
            if nearest != above[place]:
                above[place], changed = nearest, True
    return above


def _meet(above: list[int], one: int, two: int) -> int:
    """The nearest place above both."""
    while one != two:
        if one > two:
            one = above[one]
        else:
            two = above[two]
    return one


def _spans(above: list[int]) -> tuple[list[int], list[int]]:
    """Numbers by which a place stands above another: first <= the other's first < last."""
    sizes = [1] * len(above)
    for place in range(len(above) - 1, 0, -1):
        sizes[above[place]] += sizes[place]
    first, free = [0] * len(above), [1] * len(above)
    for place in range(1, len(above)):
        first[place] = free[above[place]]
        free[above[place]] += sizes[place]
        free[place] = first[place] + 1
    return first, [one + size for one, size in zip(first, sizes, strict=True)]
