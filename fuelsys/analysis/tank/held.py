"""Unusable fuel at an attitude that is held for a time only: what the outlet's pool, as it lay before turning, does not outlast.

The tank holds Q at an attitude that may be held for ever, whichever is the worst, and then turns. There a pool that holds the
outlet is the region below the saddle at which it joins the rest; fuel that lay in that region before turning cannot leave it,
and no other fuel is counted to run in. What of it can be drawn is that less what stays behind in the region when it is drained
from full. Any such region, from the smallest about the outlet to the whole tank, is a bound; the best counts. Q survives where
that is at least flow times time.

All on the safe side: of Q, every pool but the outlet's is taken as full up to its saddle before turning (the least fuel over
the outlet), and what lies in those pools as not there after turning; the flow is the greatest that is stated, with all that
engines send back on top, wherever it goes. With several outlets each is held alone against the time, and the best counts: as in
the sustained figure the engine has fuel until the last one uncovers; a region drains through all outlets in it. An outlet that
ends what others give when it takes air must outlast the time itself.

A tank that stands beside another, and gives through that one alone by an interconnect line, is not asked to give in the time: it
keeps what it did before turning. That the other outlasts the time counts there, and of both together (`flights/exchange.py`).

Not counted: another tank that bridges the time; slosh while turning; an attitude that is turned into from another that is held
for a time.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field, replace

import numpy as np

from fuelsys.analysis.tank.draining import Drained, Opening
from fuelsys.arrays import Flags, Floats
from fuelsys.kernels.meeting import joins_at, shared_volume
from fuelsys.model.built.cavity import Cavity
from fuelsys.model.built.layout import Draw
from fuelsys.model.found.unusable import Held
from fuelsys.model.stated.attitude import Attitude

_CLOSE_M = 1e-10  # how near the level that just outlasts the time is found; what is told is on the safe side of it
_LIDS_M = 1e-6  # saddles nearer to each other count as the upper one: pools between them hold nothing
_MOST_KEPT = 5_000_000  # corners of meshes that are kept drained, over all attitudes: some hundreds of MB


@dataclass(frozen=True, eq=False)
class Starts:
    """The attitudes that may be turned out of, by their ups (n, 3), and what was found of the last tank that was asked for."""

    ups: Floats
    _kept: dict[int, _Before] = field(default_factory=dict)
    _of: list[object] = field(default_factory=list)
    _first: list[int] = field(default_factory=list)

    def worst_first(self, cavity: Cavity, openings: Sequence[Opening]) -> list[int]:
        """All of them, that which was the worst the last time first; what is known of another tank is forgotten."""
        if len(self._of) != len(openings) + 1 or any(
            a is not b for a, b in zip(self._of, (cavity, *openings), strict=True)
        ):
            self._kept.clear()
            self._first.clear()
            self._of[:] = [cavity, *openings]
        return [*self._first, *(k for k in range(len(self.ups)) if k not in self._first)]

    def was_worst(self, k: int) -> None:
        """Remember that."""
        self._first[:] = [k]

    def before(self, k: int, cavity: Cavity, openings: Sequence[Opening]) -> _Before:
        """The tank drained at one of them."""
        found = self._kept.get(k) or _Before(Drained.of(cavity, self.ups[k], openings))
        if len(self.ups) * len(cavity.vertices_m) <= _MOST_KEPT:
            self._kept[k] = found
        return found


def held(
    cavity: Cavity, turned: tuple[Floats, Attitude], starts: Floats | Starts, openings: Sequence[Opening], draw: Draw
) -> Held | None:
    """What is unusable at an attitude with its up (3,), turned into from the worst of others with theirs (n, 3) or (3,); None: for ever.

    Never more than if it were held for ever, and never less than before turning, but where for ever is less. None too where the
    flow is not known.
    """
    up, attitude = turned
    if attitude.held_s is None or draw.needs:
        return None
    if not isinstance(starts, Starts):
        starts = Starts(np.atleast_2d(starts))
    need_m3, worst = draw.drawn_m3_s * attitude.held_s, None
    lone = [replace(one, into=()) for one in openings]  # a tank beyond is not at its end in so short a time
    after = _After(Drained.of(cavity, up, lone), need_m3)
    forever_m3 = (
        Drained.of(cavity, up, openings).left_m3 if any(one.into for one in openings) else after.drained.left_m3
    )
    if all(one.beside for one in openings):
        left_m3 = max(starts.before(k, cavity, openings).drained.left_m3 for k in starts.worst_first(cavity, openings))
        return Held(attitude.held_s, draw.drawn_m3_s, None, min(forever_m3, left_m3))
    for k in starts.worst_first(cavity, openings):
        turn = _Turn(starts.before(k, cavity, openings), after)
        try:
            found = _from(turn, openings, attitude.held_s, draw, worst)
            found = replace(found, unusable_m3=min(forever_m3, found.unusable_m3))
        except _PassedOver:
            continue
        if worst is None or _rank(found) > _rank(worst):
            worst = found
            starts.was_worst(k)
        if worst.unusable_m3 >= forever_m3:
            break  # as if it were held for ever: no other can be worse
    return worst


def _rank(one: Held) -> tuple[float, float]:
    return one.unusable_m3, np.inf if one.from_m3 is None else one.from_m3


class _PassedOver(Exception):  # noqa: N818  no fault
    """From this attitude no more stays behind than from one that was looked at before."""


_NoWorse = Callable[[float, float], bool]  # of the most that may be needed and the least that may be drawn


def _from(turn: _Turn, openings: Sequence[Opening], held_s: float, draw: Draw, worst_yet: Held | None) -> Held:
    """The same, turned into from one attitude; PassedOver where it is seen that it is none that counts."""
    before, after = turn.before.drained, turn.after.drained
    ending = [i for i, opening in enumerate(openings) if opening.ends]
    # what is sent back is taken to come into this tank, and not over the outlet
    gone = draw.burnt_m3_s / draw.drawn_m3_s

    def no_worse(from_m3: float, drawn_m3: float) -> bool:
        if worst_yet is None or ending:
            return False
        return max(before.left_m3, from_m3 - gone * drawn_m3) < worst_yet.unusable_m3

    found = [turn.outlasting(i, no_worse) for i in ending or range(len(openings))]
    known = [one for one in found if one]
    worst = max if ending else min
    if not known or (ending and len(known) < len(found)):
        return Held(held_s, draw.drawn_m3_s, None, max(before.left_m3, after.left_m3))
    least_m3 = worst(from_m3 - gone * drawn_m3 for from_m3, drawn_m3 in known)
    unusable_m3 = max(before.left_m3, min(after.left_m3, least_m3))
    return Held(held_s, draw.drawn_m3_s, worst(from_m3 for from_m3, _ in known), unusable_m3)


@dataclass(frozen=True, eq=False)
class _Before:
    """A tank drained at the attitude that is turned out of."""

    drained: Drained
    _pools: dict[int, Floats] = field(default_factory=dict)

    def seed(self, outlet: int) -> int:
        """The seed that an outlet stands over; below zero: none."""
        return int(self.drained.tilted.tree.port_seed[outlet])

    def joins(self, outlet: int) -> Floats:
        """Where each seed's pool joins the outlet's."""
        if outlet not in self._pools:
            self._pools[outlet] = _joins(self.drained, self.seed(outlet))
        return self._pools[outlet]

    def held_m3(self, outlet: int, level_m: float) -> float:
        """What is in the tank with the outlet's pool at a level and all others full."""
        return float(self.drained.tilted.by_seed(np.maximum(self.joins(outlet), level_m)[:, None]).sum())


def _joins(drained: Drained, seed: int) -> Floats:
    tree = drained.tilted.tree
    return joins_at(tree.parent, tree.floor, seed, drained.n_seeds)


@dataclass(frozen=True, eq=False)
class _Region:
    """A pool of the new attitude below its lid: which seeds are its own, and what stays in it."""

    lid_m: float
    own: Flags
    left_m3: float


@dataclass(frozen=True, eq=False)
class _After:
    """A tank drained at the attitude that it turns into, and what must then be drawn."""

    drained: Drained
    need_m3: float
    _found: dict[int, list[_Region]] = field(default_factory=dict)

    def regions(self, outlet: int) -> list[_Region]:
        """The pools about an outlet that could hold enough over it, were they full."""
        if outlet not in self._found:
            seed = int(self.drained.tilted.tree.port_seed[outlet])
            self._found[outlet] = self._regions(seed) if seed >= 0 else []
        return self._found[outlet]

    def _regions(self, seed: int) -> list[_Region]:
        tilted, joins = self.drained.tilted, _joins(self.drained, seed)
        levels = np.unique(joins[joins > tilted.low_m])
        lids = np.append(levels[np.diff(levels, append=tilted.high_m) > _LIDS_M], tilted.high_m)
        own = joins[:, None] < lids
        full_m3 = tilted.by_seed(np.where(own, lids, tilted.low_m)).sum(axis=0)
        left_m3 = self.drained.seed_volumes_m3 @ own
        return [
            _Region(float(lid), own[:, k], float(left_m3[k]))
            for k, lid in enumerate(lids)
            if full_m3[k] - left_m3[k] >= self.need_m3
        ]


@dataclass(frozen=True)
class _Turn:
    """A tank drained at one attitude and at the one that it turns into."""

    before: _Before
    after: _After

    def outlasting(self, outlet: int, no_worse: _NoWorse = lambda _, __: False) -> tuple[float, float] | None:
        """The least quantity that outlasts at one outlet, and what can be drawn of the next that does not; None: none does.

        That both are told, and not the need alone, is for a quantity at which pools join: what can be drawn leaps there. It is
        found from above, and what can be drawn from below: PassedOver as soon as no_worse is content with both.
        """
        regions, need_m3, tilted = self.after.regions(outlet), self.after.need_m3, self.before.drained.tilted
        if not regions or self.before.seed(outlet) < 0:
            return None
        low, high, joins, drawn_m3 = tilted.low_m, tilted.high_m, self.before.joins(outlet), 0.0
        if self._drawable(regions, joins, high) < need_m3:
            return None
        while high - low > _CLOSE_M:
            middle = (low + high) / 2.0
            drawable_m3 = self._drawable(regions, joins, middle)
            if drawable_m3 >= need_m3:
                high = middle
            else:
                low, drawn_m3 = middle, max(0.0, drawable_m3)
            if no_worse(self.before.held_m3(outlet, high), drawn_m3):
                raise _PassedOver
        return self.before.held_m3(outlet, high), max(0.0, self._drawable(regions, joins, low))

    def _drawable(self, regions: Sequence[_Region], joins: Floats, level_m: float) -> float:
        """What can be drawn in the best of the regions, the outlet's pool standing at a level at the attitude before."""
        one, two = self.before.drained.tilted, self.after.drained.tilted
        cavity, wet = one.cavity, (joins < level_m)[one.tree.face_seed]
        return max(
            cavity.share
            * shared_volume(
                cavity.vertices_m,
                cavity.faces,
                cavity.areas_m2,
                wet & region.own[two.tree.face_seed],
                (one.up, one.z_m, level_m),
                (two.up, two.z_m, region.lid_m),
            )
            - region.left_m3
            for region in regions
        )
