"""Whether a low-level switch fits where its mark would stand: its float's room, its stem, and what else is in the way."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from fuelsys.analysis.tank.stems import Stretches
from fuelsys.arrays import Floats
from fuelsys.model.built.layout import FittedTank
from fuelsys.model.found.place import PlaceFound
from fuelsys.model.stated.fittings import Switch

_ROUND = 8  # lines about a stem's axis that must be free with it
_ALONG_M = 0.005  # between points of a stick or a probe that are looked at
_STROKE_M = 0.002  # between points of a float's stroke that are looked at
_HAIR_M = 1e-9


@dataclass(frozen=True)
class Room:
    """A tank, and a switch on a stem that is to fit in it; each answer is empty where nothing is in the way."""

    tank: FittedTank
    switch: Switch
    stem_m: float

    def against(self, place: PlaceFound) -> str:
        """What forbids a switch at a place."""
        return self._float_against(place) or self._stem_against(place) or self._fitting_against(place)

    @cached_property
    def round_m(self) -> float:
        """The room all round its mark that is its float's: what is stated, and never less than the float itself takes."""
        own = self.switch.float_body
        return max(self.switch.clearance_m or 0.0, (own.diameter_m or 0.0) / 2.0 if own else 0.0)

    def against_others(self, place: PlaceFound, others: Sequence[tuple[Room, PlaceFound]]) -> str:
        """Whether its float or stem would touch those of switches placed already; all stems come from the roof."""
        for room, one in others:
            apart_m = max(self.round_m + room.round_m, self.stem_m, 2.0 * _HAIR_M)
            if np.hypot(place.x_m - one.x_m, place.y_m - one.y_m) < apart_m - _HAIR_M:
                return "another stage stands there"
        return ""

    def above_m(self, place: PlaceFound) -> float:
        """From the mark straight up to the roof."""
        stretches = Stretches.of(self.tank, np.array([[place.x_m, place.y_m]]))
        return float(stretches.to_m.max()) - (place.z_m or 0.0)

    def _float_against(self, place: PlaceFound) -> str:
        """The room all along the float's stroke, of which the check judges the two ends."""
        z_m, stroke_m = place.z_m or 0.0, self.switch.differential_m
        for rise_m in np.linspace(0.0, stroke_m, int(stroke_m / _STROKE_M) + 2):
            point_m = self.tank.body_m((place.x_m, place.y_m, z_m + rise_m))
            if self.tank.cavity.spot("", point_m).off_m:
                return "its float would rise into the roof"
            if self.tank.cavity.clearance_m(point_m) < self.round_m - _HAIR_M:
                return "its float has no room"
        return ""

    def _stem_against(self, place: PlaceFound) -> str:
        """A line, and eight about it, from the mark up: in one piece to the roof."""
        turns = np.arange(_ROUND) * (2.0 * np.pi / _ROUND)
        about = np.column_stack([np.cos(turns), np.sin(turns)]) * (self.stem_m / 2.0)
        lines_m = np.array([[place.x_m, place.y_m]]) + np.vstack([[0.0, 0.0], about if self.stem_m else about[:0]])
        stretches = Stretches.of(self.tank, lines_m)
        for line in range(len(lines_m)):
            on = stretches.line == line
            if not on.any() or stretches.from_m[on].max() > (place.z_m or 0.0) + _HAIR_M:
                return "its stem from the roof meets a wall, a rib or a body"
        return ""

    def _fitting_against(self, place: PlaceFound) -> str:
        z_m = place.z_m or 0.0
        for name, points_m, radius_m in self._fittings:
            aside_m = np.hypot(points_m[:, 0] - place.x_m, points_m[:, 1] - place.y_m)
            off_m = np.maximum(0.0, np.maximum(z_m - points_m[:, 2], points_m[:, 2] - z_m - self.switch.differential_m))
            float_m = np.hypot(aside_m, off_m) - self.round_m
            stem_m = np.hypot(aside_m, np.maximum(0.0, z_m - points_m[:, 2])) - self.stem_m / 2.0
            if min(float_m.min(), stem_m.min()) < radius_m - _HAIR_M:
                return f"{name} is in the way"
        return ""

    @cached_property
    def _fittings(self) -> list[tuple[str, Floats, float]]:
        """What is stated in the tank but for its switches: name, points (n, 3) of the mesh, and how thick it is about them."""
        return list(_fittings(self.tank))


def _fittings(tank: FittedTank) -> Iterator[tuple[str, Floats, float]]:
    for one in (one for some in tank.design.fittings.values() for one in some):
        yield one.name, np.array([one.position_m]), (one.bore_m or 0.0) / 2.0
    if tank.design.dipstick:
        yield "the dipstick", _between(tank.design.dipstick.bottom_m, tank.design.dipstick.top_m), 0.0
    for gauge in tank.design.gauge:
        if gauge.kind == "arm":
            swing = [_between(gauge.pivot_m, end_m) for end_m in (gauge.empty_m, gauge.full_m)]
            yield f"gauge {gauge.name}", np.vstack([*swing, _between(gauge.empty_m, gauge.full_m)]), 0.0
        else:
            yield f"gauge {gauge.name}", _between(gauge.bottom_m, gauge.top_m), 0.0


def _between(start_m: Sequence[float], end_m: Sequence[float]) -> Floats:
    """Points along a straight line, near enough to one another."""
    ends = np.array([start_m, end_m], dtype=np.float64)
    steps = int(np.ceil(np.linalg.norm(ends[1] - ends[0]) / _ALONG_M)) + 1
    along: Floats = np.linspace(ends[0], ends[1], max(2, steps))
    return along
