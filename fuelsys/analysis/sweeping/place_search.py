"""Where in a tank a low-level mark stands best: a sweep over places of its plan."""

from __future__ import annotations

from collections.abc import Sequence
from concurrent.futures import Executor
from dataclasses import dataclass
from itertools import chain

import numpy as np

from fuelsys import units
from fuelsys.analysis.sweeping.sweeps import Progress, sweep, untold
from fuelsys.analysis.tank.draining import Drained
from fuelsys.analysis.tank.leaving import Leaving
from fuelsys.analysis.tank.place import target
from fuelsys.analysis.tank.stems import Stretches, seeds_below
from fuelsys.analysis.tank.unusable import outlets
from fuelsys.arrays import Flags, Floats
from fuelsys.errors import QuestionError
from fuelsys.model.built.layout import FittedTank, Layout
from fuelsys.model.found.place import AS_DRAWN, Built, PlaceFound, PlaceSearch
from fuelsys.model.stated.attitude import Attitude

MOST_PLACES = 100_000
_ROUNDING = 1e-9  # of the target
_UPRIGHT = 0.5  # least cosine between the mesh's z and up: 60°


def search(
    layout: Layout,
    tank: FittedTank,
    target_s: float,
    spacing_m: float,
    executor: Executor | None = None,
    progress: Progress = untold,
    ahead: int | None = None,
    built: Built = AS_DRAWN,
) -> PlaceSearch:
    """The guaranteed height of a mark at every place of a grid inside the cavity, and the earliest and latest trip there.

    Places stand at whole multiples of the spacing along the mesh's x and y. Latest counts the trip low by its tolerance and the
    densest fuel, earliest high by it and the lightest. progress is told the rows done and their number. QuestionError where the
    tank cannot hold the target, and for a grid that is too fine or misses the cavity.
    """
    wanted = target(layout, tank, target_s, built.delay_s)
    rows = _rows(layout, tank, spacing_m)
    flight = tuple(attitude for attitude in layout.design.envelope if attitude.phase == "flight")
    found = sweep(_Row(tank, flight, wanted.target_m3, built), rows, executor, progress, ahead)
    places = tuple(chain.from_iterable(found))
    if not places:
        raise QuestionError(
            f"no place of a grid of {units.written(spacing_m, layout.design.show.length, 'length')} lies in the cavity",
            mend="Give a smaller spacing.",
            file=layout.file,
            field=f"tank {tank.name}",
        )
    return PlaceSearch(tank.name, target_s, *wanted, spacing_m, places, built)


def _rows(layout: Layout, tank: FittedTank, spacing_m: float) -> list[Floats]:
    """The grid's places (n, 2) row by row, over the cavity's extent in the mesh's axes."""
    field = f"tank {tank.name}"
    spacing = units.written(spacing_m, layout.design.show.length, "length")
    if spacing_m <= 0.0:
        raise QuestionError(f"a spacing of {spacing} makes no grid", mend='Give one such as "25 mm".', file=layout.file)
    if float(tank.turn[2, 2]) < _UPRIGHT:
        raise QuestionError(
            "the mesh's z axis does not point up",
            mend="Turn the mesh in CAD so that z is up: a switch's stem stands along it.",
            file=layout.file,
            field=field,
        )
    corners = tank.mesh_m(tank.cavity.vertices_m + tank.cavity.centre_m)
    first = np.ceil(corners[:, :2].min(axis=0) / spacing_m)
    last = np.floor(corners[:, :2].max(axis=0) / spacing_m)
    count = float(np.prod(np.maximum(last - first + 1.0, 0.0)))
    if count > MOST_PLACES:
        raise QuestionError(
            f"a spacing of {spacing} gives {units.plain(count, 2)} places",
            mend=f"Give one that gives at most {MOST_PLACES}.",
            file=layout.file,
            field=field,
        )
    x_m, y_m = (np.arange(a, b + 1.0) * spacing_m for a, b in zip(first, last, strict=True))
    return [np.column_stack([x_m, np.full(x_m.size, y)]) for y in y_m]


@dataclass(frozen=True)
class _Row:
    """Answers a row of places: (n, 2) of the mesh -> what was found at those that lie in the cavity."""

    tank: FittedTank
    flight: Sequence[Attitude]
    target_m3: float
    built: Built

    def __call__(self, xy_m: Floats) -> list[PlaceFound]:
        stretches = Stretches.of(self.tank, xy_m).off_wall()
        if not stretches.line.size:
            return []
        drained = [Drained.of(self.tank.cavity, attitude.up, outlets(self.tank)) for attitude in self.flight]
        ups = [float(self.tank.turn[2] @ one.tilted.up) for one in drained]
        # What a tolerance along up asks for along the mesh's z.
        heights_m = np.array(
            [
                stretches.heights_m(Leaving(one, self.target_m3), len(xy_m)) + self._allowance_m(up)
                for one, up in zip(drained, ups, strict=True)
            ]
        )
        z_m = self.built.marks_m(heights_m.max(axis=0))
        trips_m = z_m + self.built.rides.raised_m
        within = _within(stretches, z_m) & _within(stretches, trips_m)
        held_m3 = np.full((2, len(self.flight), len(xy_m)), np.nan)
        serve = np.flatnonzero(within)
        if serve.size:
            marks_m = self.tank.body_m(np.column_stack([xy_m[serve], trips_m[serve]])) - self.tank.cavity.centre_m
            for k, one in enumerate(drained):
                held_m3[:, k, serve] = held(one, marks_m, self.built.low_m, self.built.high_m)
        inside = np.unique(stretches.line)
        return [self._found(xy_m[i], z_m[i], heights_m[:, i], held_m3[:, :, i], bool(within[i])) for i in inside]

    def _allowance_m(self, upright: float) -> float:
        if self.built.low_m == 0.0:
            return 0.0
        return self.built.low_m / upright if upright > 0.0 else np.inf

    def _found(self, xy_m: Floats, z_m: float, heights_m: Floats, held_m3: Floats, within: bool) -> PlaceFound:
        """One place; a mark that serves one attitude may never be passed at another."""
        x, y = (float(c) for c in xy_m)
        far = next((f"at {at.text} it is {why}" for at in self.flight if (why := self.built.switch.too_far(at.up))), "")
        if far:
            return PlaceFound(x, y, None, why_not=far)
        none = np.flatnonzero(np.isinf(heights_m))
        if none.size:
            return PlaceFound(x, y, None, why_not=f"no height leaves the target at {self.flight[none[0]].text}")
        if not within:
            return PlaceFound(x, y, None, why_not="the mark, raised by its tolerance, stands in the roof or a body")
        never = np.flatnonzero(np.isnan(held_m3).any(axis=0))
        if never.size:
            why = f"the mark that serves the other attitudes is never passed at {self.flight[never[0]].text}"
            return PlaceFound(x, y, None, why_not=why)
        latest, earliest = int(np.argmin(held_m3[0])), int(np.argmax(held_m3[1]))
        least, most = float(held_m3[0, latest]), float(held_m3[1, earliest])
        if least < self.target_m3 * (1.0 - _ROUNDING):
            why = f"the mark, raised by its tolerance, leaves less than the target at {self.flight[latest].text}"
            return PlaceFound(x, y, None, why_not=why)
        clearance_m = self.tank.cavity.clearance_m(self.tank.body_m((x, y, float(z_m))))
        return PlaceFound(x, y, float(z_m), least, most, self.flight[latest], self.flight[earliest], clearance_m)


def _within(stretches: Stretches, z_m: Floats) -> Flags:
    """Whether marks at these heights (n,), one on each line, stand in a stretch of their lines: (n,)."""
    within = np.zeros(z_m.size, np.bool_)
    at_m = z_m[stretches.line]
    within[stretches.line[(at_m >= stretches.from_m) & (at_m <= stretches.to_m)]] = True
    return within


def held(drained: Drained, trips_m: Floats, low_m: float = 0.0, high_m: float | None = None) -> Floats:
    """Quantity when places (k, 3) about the cavity's centre are passed, NaN for never: (2, k).

    The first row is the least (lower by low_m, all other pools drained), the second the most (higher by high_m, else by as much; none
    begun).
    """
    k = len(trips_m)
    seeds, levels = seeds_below(drained.tilted, trips_m), trips_m @ drained.tilted.up
    asked = np.concatenate([levels - low_m, levels + (low_m if high_m is None else high_m)])
    return drained.held(np.tile(seeds, 2), asked, [0] * k + [1] * k).reshape(2, k)
