"""All stages of a low-level warning placed together: bands as narrow as room, order and one another's stems allow."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from concurrent.futures import Executor
from dataclasses import replace
from functools import cache, cached_property
from itertools import pairwise, permutations

import numpy as np

from fuelsys.analysis.sweeping.place_search import held, search
from fuelsys.analysis.sweeping.rooms import Room
from fuelsys.analysis.sweeping.sweeps import Progress, untold
from fuelsys.analysis.tank.combined import combinations
from fuelsys.analysis.tank.draining import Drained
from fuelsys.analysis.tank.unusable import outlets, unusable
from fuelsys.arrays import Floats
from fuelsys.errors import QuestionError
from fuelsys.model.built.layout import NO_FLOAT, FittedTank, Layout, Rides
from fuelsys.model.found.place import Built, PlaceFound, PlaceSearch
from fuelsys.model.found.stages import Stage, StagesAsked, StagesFound
from fuelsys.model.stated.attitude import Attitude

_STEPS_M = {
    "in": 1.27e-5,
    "ft": 1.27e-5,
}  # what a mark's height is rounded up to, so that it can be written: 0.0005 in, 0.01 mm
_STEP_M = 1e-5
_MOST_ORDERED = 4  # stages of which all orders are tried


def place_stages(
    layout: Layout,
    tank: FittedTank,
    asked: StagesAsked,
    spacing_m: float,
    executor: Executor | None = None,
    progress: Progress = untold,
    ahead: int | None = None,
) -> StagesFound:
    """Where each stage's mark stands: of the places of a grid the one with the narrowest band that everything allows.

    Each mark, low by its tolerance and the densest fuel, leaves its target from when the lamp lights at every stated flight
    attitude. With a plate the line is taken on which the widest band is narrowest. Without one they are placed one after the other,
    each clear of those before it, in the order that does best. QuestionError as the search, and for targets that are alike.
    """
    targets = sorted(set(asked.targets_s), reverse=True)
    if len(targets) < len(asked.targets_s):
        raise QuestionError(
            "two stages have the same target", mend='Give each once: "30 min, 20 min".', field="--stages"
        )
    step_m = _STEPS_M.get(layout.design.show.length, _STEP_M)
    searches = []
    for k, target_s in enumerate(targets):
        told, switch = _part(progress, k, len(targets)), asked.switch(tank.design, target_s)
        built = Built(switch, Rides.of(switch, layout.design.fuel) or NO_FLOAT, step_m)
        searches.append(search(layout, tank, target_s, spacing_m, executor, told, ahead, built))
    placing = _Placing(layout, tank, asked, searches)
    return StagesFound(tank.name, asked, tuple(placing.stages()), placing.narrower_on_a_plate_s())


def _part(progress: Progress, part: int, parts: int) -> Progress:
    """Progress of one search among several alike."""
    return lambda done, of: progress(part * of + done, parts * of)


_Placed = tuple[PlaceSearch, PlaceFound]


class _Placing:
    """Chooses among the places of several searches, the longest target first."""

    def __init__(self, layout: Layout, tank: FittedTank, asked: StagesAsked, searches: Sequence[PlaceSearch]) -> None:
        self.layout, self.tank, self.asked, self.searches = layout, tank, asked, searches
        self.rooms = {one.target_s: Room(tank, one.built.switch, asked.stem_m) for one in searches}
        self.flight = [attitude for attitude in layout.design.envelope if attitude.phase == "flight"]
        self.drained = [self._drained(attitude) for attitude in self.flight]
        self.ranked = [one.ranked for one in searches]
        self.both, self.against = cache(self._both), cache(lambda one_s, place: self.rooms[one_s].against(place))

    def _drained(self, attitude: Attitude) -> Drained:
        return Drained.of(self.tank.cavity, attitude.up, outlets(self.tank))

    def stages(self) -> Iterator[Stage]:
        """The stages, with what is told of each chosen place."""
        chosen, fell = self._on_a_plate if self.asked.plate else self._apart
        for one, place, over in zip(self.searches, chosen, fell, strict=True):
            stage = Stage(one, place, passed_over=dict(over))
            yield stage if place is None else self._told(stage, place)

    def narrower_on_a_plate_s(self) -> float | None:
        """The widest band of marks on one line, where that is narrower than of those that stand apart."""
        if self.asked.plate:
            return None
        row = [place for place in self._on_a_plate[0] if place]
        if len(row) < len(self.searches) or self._rank_of(row)[:2] >= self._rank_of(self._apart[0])[:2]:
            return None
        return max(one.between_s(place) for one, place in zip(self.searches, row, strict=True))

    @cached_property
    def _on_a_plate(self) -> tuple[list[PlaceFound | None], list[Counter[str]]]:
        """All marks on the line on which the widest band is narrowest; what better lines fell to, of each stage alike."""
        fell: Counter[str] = Counter()
        lines: list[tuple[PlaceFound, ...]] = []
        for row in zip(*(one.places for one in self.searches), strict=True):
            without = [f"{_minutes(s)}: {p.why_not}" for s, p in zip(self.searches, row, strict=True) if p.z_m is None]
            if without:
                fell[without[0]] += 1
            else:
                lines.append(row)
        for row in sorted(lines, key=self._rank_of):
            why = next(self._against_line(row), "")
            if not why:
                return list(row), [fell] * len(self.searches)
            fell[why] += 1
        return [None] * len(self.searches), [fell] * len(self.searches)

    def _against_line(self, row: Sequence[PlaceFound]) -> Iterator[str]:
        for one, place in zip(self.searches, row, strict=True):
            if why := self.against(one.target_s, place):
                yield f"{_minutes(one)}: {why}"
        for (sooner, first), (later, second) in pairwise(zip(self.searches, row, strict=True)):
            if why := self._out_of_order((sooner, first), (later, second)):
                yield f"{_minutes(sooner)}: {why}"

    @cached_property
    def _apart(self) -> tuple[list[PlaceFound | None], list[Counter[str]]]:
        """Each at its own place: of all orders in which they may be placed, the one whose widest band is narrowest."""
        n = len(self.searches)
        orders = permutations(reversed(range(n))) if n <= _MOST_ORDERED else [tuple(reversed(range(n)))]
        return min((self._one_by_one(order) for order in orders), key=lambda found: self._rank_of(found[0]))

    def _one_by_one(self, order: Sequence[int]) -> tuple[list[PlaceFound | None], list[Counter[str]]]:
        chosen: list[PlaceFound | None] = [None] * len(order)
        fell = [Counter[str]() for _ in order]
        for k in order:
            chosen[k] = self._best(k, chosen, fell[k])
        return chosen, fell

    def _best(self, k: int, chosen: Sequence[PlaceFound | None], over: Counter[str]) -> PlaceFound | None:
        """The best place of a stage beside those that are placed already."""
        one_s = self.searches[k].target_s
        others = [(one, place) for one, place in zip(self.searches, chosen, strict=True) if place]
        over.update(place.why_not for place in self.searches[k].places if place.z_m is None)
        for place in self.ranked[k]:
            why = (
                self.against(one_s, place)
                or self.rooms[one_s].against_others(place, [(self.rooms[one.target_s], at) for one, at in others])
                or self._order_against(k, place, chosen)
            )
            if not why:
                return place
            over[why] += 1
        return None

    def _order_against(self, k: int, place: PlaceFound, chosen: Sequence[PlaceFound | None]) -> str:
        own = self.searches[k]
        pairs = [(one, at) for one, at in zip(self.searches, chosen, strict=True) if at]
        sooner = (self._out_of_order(one, (own, place)) for one in pairs if one[0].target_s > own.target_s)
        later = (self._out_of_order((own, place), one) for one in pairs if one[0].target_s < own.target_s)
        return next((why for why in (*sooner, *later) if why), "")

    def _rank_of(self, row: Sequence[PlaceFound | None]) -> tuple[int, int, float]:
        """Stages without a place, the widest band to 0.1 min, then all together."""
        bands = [one.between_s(place) for one, place in zip(self.searches, row, strict=True) if place]
        return len(row) - len(bands), round(max(bands, default=0.0) / 6.0), sum(bands)

    def _out_of_order(self, sooner: _Placed, later: _Placed) -> str:
        """Whether a mark, low by its tolerance, trips after one with a shorter target, high by it, at some attitude.

        Both in the same fuel: the densest or the lightest.
        """
        for attitude, first, second in zip(self.flight, self.both(*sooner), self.both(*later), strict=True):
            if not (first[0] >= second[2] and first[1] >= second[3]):
                return f"it and another stage may trip in the wrong order at {attitude.text}"
        return ""

    def _both(self, one: PlaceSearch, place: PlaceFound) -> list[tuple[float, ...]]:
        """At each flight attitude the quantity with the trip low by its tolerance in the densest and in the lightest fuel, then high
        by it; no other pool begun to fall."""
        mark_m, off_m, rides = self._trips_m(one, place), one.built.tolerance_m, one.built.rides
        above = (-off_m - rides.lower_m, -off_m + rides.higher_m, off_m - rides.lower_m, off_m + rides.higher_m)
        return [tuple(float(held(drained, mark_m, 0.0, up)[1, 0]) for up in above) for drained in self.drained]

    def _trips_m(self, one: PlaceSearch, place: PlaceFound) -> Floats:
        """Where the surface stands at the trip of a mark, about the cavity's centre: (1, 3)."""
        at_m = (place.x_m, place.y_m, (place.z_m or 0.0) + one.built.rides.raised_m)
        return (self.tank.body_m(at_m) - self.tank.cavity.centre_m)[None, :]

    def _told(self, stage: Stage, place: PlaceFound) -> Stage:
        plain = np.array([held(one, self._trips_m(stage.search, place))[:, 0] for one in self.drained])
        least_m3, at = self._combined(stage.search, place)
        kept_m3 = self._worst_combined_m3
        return replace(
            stage,
            stem_m=self.rooms[stage.search.target_s].above_m(place),
            plain_m3=float(plain[:, 1].max() - plain[:, 0].min()),
            combined_s=None
            if np.isnan(least_m3)
            else stage.search.left_s(least_m3 - kept_m3 + stage.search.unusable_m3),
            combined_at=at,
        )

    def _combined(self, one: PlaceSearch, place: PlaceFound) -> tuple[float, Attitude | None]:
        """The least quantity at the trip over the combinations, low by its tolerance and the fuel; NaN where it never trips."""
        trips_m, least_m3, at = self._trips_m(one, place), np.inf, None
        for attitude, drained in self._combinations:
            far = one.built.switch.too_far(attitude.up)
            one_m3 = np.nan if far else float(held(drained, trips_m, one.built.low_m)[0, 0])
            if not one_m3 >= least_m3:
                least_m3, at = one_m3, attitude
            if np.isnan(one_m3):
                break
        return least_m3, at

    @cached_property
    def _combinations(self) -> list[tuple[Attitude, Drained]]:
        found: Iterable[Attitude] = (*combinations(self.flight), *self.flight)
        return [(attitude, self._drained(attitude)) for attitude in found]

    @cached_property
    def _worst_combined_m3(self) -> float:
        """Unusable at the worst of the combinations, held for ever, and never less than that of the stated attitudes."""
        stated = unusable(self.tank, self.layout.design.envelope)
        return max([stated.volume_m3 if stated else 0.0, *(one.left_m3 for _, one in self._combinations)])


def _minutes(one: PlaceSearch) -> str:
    return f"{one.target_s / 60:g} min"
