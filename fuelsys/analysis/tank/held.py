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

Not counted: another tank that bridges the time; slosh while turning; an attitude that is turned into from another that is held
for a time.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from fuelsys.analysis.tank.draining import Drained, Opening
from fuelsys.kernels.compiled import Flags, Floats
from fuelsys.kernels.meeting import joins_at, shared_volume
from fuelsys.model.built.cavity import Cavity
from fuelsys.model.built.layout import Draw
from fuelsys.model.found.study import Held
from fuelsys.model.stated.attitude import Attitude

_CLOSE_M = 1e-10  # how near the level that just outlasts the time is found; what is told is on the safe side of it
_LIDS_M = 1e-6  # saddles nearer to each other count as the upper one: pools between them hold nothing


def held(
    cavity: Cavity, turned: tuple[Floats, Attitude], starts: Floats, openings: Sequence[Opening], draw: Draw,
    unusable_only: bool = False,
) -> Held | None:  # fmt: skip
    """What is unusable at an attitude with its up (3,), turned into from the worst of others with theirs (n, 3) or (3,); None: for ever.

    Never more than if it were held for ever, and never less than before turning, but where for ever is less. None too where the
    flow is not known. With unusable_only the quantity that outlasts is not searched for to the end, where no start can be worse.
    """
    up, attitude = turned
    if attitude.held_s is None or draw.needs:
        return None
    after = Drained.of(cavity, up, openings)
    found = []
    for start in np.atleast_2d(starts):
        found.append(_from(Drained.of(cavity, start, openings), after, openings, attitude.held_s, draw))
        if unusable_only and found[-1].unusable_m3 >= after.left_m3:
            break
    return max(found, key=lambda one: (one.unusable_m3, one.from_m3 or np.inf))


def _from(before: Drained, after: Drained, openings: Sequence[Opening], held_s: float, draw: Draw) -> Held:
    """The same, turned into from one attitude."""
    turn, need_m3 = _Turn(before, after), draw.drawn_m3_s * held_s
    ending = [i for i, opening in enumerate(openings) if opening.ends]
    found = [turn.outlasting(i, need_m3) for i in ending or range(len(openings))]
    known = [one for one in found if one]
    worst = max if ending else min
    if not known or (ending and len(known) < len(found)):
        return Held(held_s, draw.drawn_m3_s, None, after.left_m3)
    gone = (
        draw.burnt_m3_s / draw.drawn_m3_s
    )  # what is sent back is taken to come into this tank, and not over the outlet
    least_m3 = worst(from_m3 - gone * drawn_m3 for from_m3, drawn_m3 in known)
    unusable_m3 = min(after.left_m3, max(before.left_m3, least_m3))
    return Held(held_s, draw.drawn_m3_s, worst(from_m3 for from_m3, _ in known), unusable_m3)


@dataclass(frozen=True, eq=False)
class _Region:
    """A pool of the new attitude below its lid: which seeds are its own, and what stays in it."""

    lid_m: float
    own: Flags
    left_m3: float


@dataclass(frozen=True)
class _Turn:
    """A tank drained at the normal attitude and at the one that it turns into."""

    before: Drained
    after: Drained

    def outlasting(self, outlet: int, need_m3: float) -> tuple[float, float] | None:
        """The least quantity that outlasts at one outlet, and what can be drawn of the next that does not; None: none does.

        That both are told, and not the need alone, is for a quantity at which pools join: what can be drawn leaps there.
        """
        seeds = [int(one.tilted.tree.port_seed[outlet]) for one in (self.before, self.after)]
        regions = self._regions(seeds[1], need_m3) if min(seeds) >= 0 else []
        tilted = self.before.tilted
        low, high = tilted.low_m, tilted.high_m
        joins = self._joins(self.before, seeds[0]) if regions else np.empty(0)
        if not regions or self._drawable(regions, joins, high) < need_m3:
            return None
        while high - low > _CLOSE_M:
            middle = (low + high) / 2.0
            low, high = (low, middle) if self._drawable(regions, joins, middle) >= need_m3 else (middle, high)
        from_m3 = float(tilted.by_seed(np.maximum(joins, high)[:, None]).sum())
        return from_m3, max(0.0, self._drawable(regions, joins, low))

    def _joins(self, drained: Drained, seed: int) -> Floats:
        tree = drained.tilted.tree
        return joins_at(tree.parent, tree.floor, seed, drained.n_seeds)

    def _regions(self, seed: int, need_m3: float) -> list[_Region]:
        """The pools about an outlet that could hold enough over it, were they full."""
        after, tilted = self.after, self.after.tilted
        joins = self._joins(after, seed)
        levels = np.unique(joins[joins > tilted.low_m])
        lids = np.append(levels[np.diff(levels, append=tilted.high_m) > _LIDS_M], tilted.high_m)
        own = joins[:, None] < lids
        full_m3 = tilted.by_seed(np.where(own, lids, tilted.low_m)).sum(axis=0)
        left_m3 = after.seed_volumes_m3 @ own
        return [
            _Region(float(lid), own[:, k], float(left_m3[k]))
            for k, lid in enumerate(lids)
            if full_m3[k] - left_m3[k] >= need_m3
        ]

    def _drawable(self, regions: Sequence[_Region], joins: Floats, level_m: float) -> float:
        """What can be drawn in the best of the regions, the outlet's pool standing at a level at the normal attitude."""
        one, two = self.before.tilted, self.after.tilted
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
