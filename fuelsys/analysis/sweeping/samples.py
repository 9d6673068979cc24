"""Samples of a tank that is not built as drawn: what each figure drawn moves, answered one by one in full, or many at once.

In full each sample is its own tank: tilted, its pools grown, drained. At once (`Samples.many`) a tilted tank serves all samples
(`analysis/tank/many.py`); where the tank may be mounted askew the answers are computed so at a grid of tilts, with each
sample's own fittings, and read off between them by the parabolas through three (or the quartics through five) of them. A
sample at which a switch trips at some of these tilts and not at others is answered in full.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import product
from math import cos, sin

import numpy as np

from fuelsys.analysis.tank.draining import Drained, Opening
from fuelsys.analysis.tank.many import Many, Placed
from fuelsys.analysis.tank.unusable import held_at, outlets
from fuelsys.arrays import Flags, Floats
from fuelsys.model.built.cavity import Spot
from fuelsys.model.built.layout import FittedTank
from fuelsys.model.found.tolerance import Tolerances
from fuelsys.model.stated.attitude import Attitude


@dataclass(frozen=True)
class Answered:
    """Of n samples at a flight attitudes: how far outside the farthest fitting would stand (n,), what stays behind (n, a), what
    is held when each of k switches trips (n, a, k), -inf where it never does. The cavity is as drawn."""

    outside_m: Floats
    left_m3: Floats
    held_m3: Floats

    def at(self, rows: Flags) -> Answered:
        """Some of the samples."""
        return Answered(self.outside_m[rows], self.left_m3[rows], self.held_m3[rows])


@dataclass(frozen=True)
class Samples:
    """A tank, its flight attitudes and what may be off; a sample is a row of figures from -1 to 1, see `columns`."""

    tank: FittedTank
    flight: Sequence[Attitude]
    tolerances: Tolerances
    density_kg_m3: float
    grid: int = (
        0  # tilts along pitch and along roll that are computed where the tank may be mounted askew; 0: each in full
    )

    @property
    def columns(self) -> dict[str, slice]:
        """What each figure of a sample moves; all are drawn, so that one bound does not move the others."""
        outlets, marks = len(self.tank.drawn_by), len(self.tank.design.switch)
        sizes = {
            "flow": 1,
            "capacity": 1,
            "mounted": 2,
            "outlets": 3 * outlets,
            "marks": 3 * marks,
            "trip": marks,
            "density": 1,
        }
        ends = np.cumsum(list(sizes.values())).tolist()
        return {name: slice(end - size, end) for (name, size), end in zip(sizes.items(), ends, strict=True)}

    @property
    def size(self) -> int:
        """How many figures a sample draws."""
        return self.columns["density"].stop

    def drawn(self, seed: int, samples: range) -> Floats:
        """Samples (n, size), each from a sequence of its own, keyed by seed and number."""
        rows = [np.random.default_rng((seed, i)).uniform(-1.0, 1.0, self.size) for i in samples]
        return np.array(rows).reshape(-1, self.size)

    def of(self, name: str, drawn: Floats) -> Floats:
        """The figures that move one thing: (n, size) -> (n, that many)."""
        return drawn[:, self.columns[name]]

    # --- in full

    def in_full(self, drawn: Floats) -> Answered:
        """The answers to samples (n, size), each with its own tank."""
        rows = [self._one(row) for row in drawn]
        return Answered(
            np.array([row[0] for row in rows]),
            np.array([row[1] for row in rows]),
            np.array([row[2] for row in rows]).reshape(len(rows), len(self.flight), -1),
        )

    def _one(self, drawn: Floats) -> tuple[float, list[float], list[list[float]]]:
        row = drawn[None, :]
        spots = self._spots(row[0])
        n, switches = len(self.tank.drawn_by), self.tank.design.switch
        openings = [replace(opening, spot=spot) for opening, spot in zip(outlets(self.tank), spots, strict=False)]
        pitch_rad, roll_rad = self.of("mounted", row)[0] * self.tolerances.mounted_rad
        left_m3, held_m3 = [], []
        for attitude in self.flight:
            up = self._turned(attitude.up, pitch_rad, roll_rad)
            drained = Drained.of(self.tank.cavity, up, openings, spots[n:])
            left_m3.append(
                self._counted(attitude, self.tank.cavity.behind * drained.left_m3, (pitch_rad, roll_rad), openings)
            )
            asked = [(mark, float(over), 0) for mark, over in enumerate(self.raised_m(row, up)[0])]
            held = drained.passed_all(asked)
            never = [bool(switch.too_far(up)) for switch in switches]
            held_m3.append([-np.inf if one is None or no else one for one, no in zip(held, never, strict=True)])
        return max(spot.off_m for spot in spots) if self.tolerances.set_off_m else 0.0, left_m3, held_m3

    def _turned(self, up: Floats, pitch_rad: float, roll_rad: float) -> Floats:
        return mounted(up, pitch_rad, roll_rad) if self.tolerances.mounted_rad else up

    def _counted(
        self, attitude: Attitude, left_m3: float, tilt: tuple[float, float], openings: Sequence[Opening]
    ) -> float:
        """What counts as left at an attitude: for the time that it is held, where it says so."""
        if attitude.held_s is None:
            return left_m3
        starts = [self._turned(one.up, *tilt) for one in self.flight if one.held_s is None]
        up = self._turned(attitude.up, *tilt)
        for_time = held_at(self.tank, (up, attitude), np.array(starts) if starts else None, openings)
        return left_m3 if for_time is None else for_time.unusable_m3

    def raised_m(self, drawn: Floats, up: Floats) -> Floats:
        """How much higher than its mark each switch trips, along up: its own tolerance, and its float in other fuel: (n, k)."""
        switches = self.tank.design.switch
        own_m = self.of("trip", drawn) * np.array([switch.tolerance_m or 0.0 for switch in switches])
        rides = [self.tank.rides.get(f"switch {switch.name}") for switch in switches]
        draught = np.array([ride.per_density if ride else 0.0 for ride in rides])
        other = 1.0 / (1.0 + self.of("density", drawn) * self.tolerances.density_share) - 1.0
        raised: Floats = own_m + other / self.density_kg_m3 * draught * up[2]
        return raised

    # --- where the fittings sit

    def _fittings(self) -> list[tuple[str, Floats]]:
        """What may be set off: outlets, then marks, with their places in body axes."""
        design, tank = self.tank.design, self.tank
        found = [(outlet.name, tank.body_m(outlet.position_m)) for outlet in tank.drawn_by]
        for switch in design.switch:
            key = f"switch {switch.name}"
            found.append((key, tank.body_m(switch.mark_m) + np.array([0.0, 0.0, tank.rise_m(key)])))
        return found

    def _off_m(self, drawn: Floats) -> Floats:
        """How far each fitting is set off in body axes: (n, fittings, 3)."""
        off = np.concatenate([self.of("outlets", drawn), self.of("marks", drawn)], axis=1)
        moved: Floats = off.reshape(len(drawn), -1, 3) * self.tolerances.set_off_m @ self.tank.turn
        return moved

    def _spots(self, drawn: Floats) -> list[Spot]:
        off = self._off_m(drawn[None, :])[0]
        return [_moved(self.tank, name, at_m, by) for (name, at_m), by in zip(self._fittings(), off, strict=True)]

    def _placed(self, drawn: Floats) -> tuple[Placed, Floats]:
        """Where all fittings sit, and how far outside the farthest would stand: only what comes near a wall is looked at singly."""
        off_m, fittings = self._off_m(drawn), self._fittings()
        points, faces = np.empty(off_m.shape), np.empty(off_m.shape[:2], np.int32)
        outside = np.zeros(off_m.shape[:2])
        for k, (name, at_m) in enumerate(fittings):
            spot = self.tank.spot(name)
            points[:, k], faces[:, k] = spot.point_m + off_m[:, k], spot.face
            outside[:, k] = spot.off_m
            near = self.tank.cavity.clearance_m(at_m) if spot.face < 0 else 0.0
            away = np.linalg.norm(off_m[:, k], axis=1)
            for i in np.flatnonzero((away > 0.0) & (away >= near * (1.0 - 1e-9))).tolist():
                moved = _moved(self.tank, name, at_m, off_m[i, k])
                points[i, k], faces[i, k], outside[i, k] = moved.point_m, moved.face, moved.off_m
        return Placed(points, faces), outside.max(axis=1) if self.tolerances.set_off_m else np.zeros(len(drawn))

    # --- many at once

    def many(self, drawn: Floats) -> Answered:
        """The answers to samples (n, size) at once."""
        if self.tolerances.mounted_rad and not self.grid:
            return self.in_full(drawn)
        placed, outside_m = self._placed(drawn)
        n = len(self.tank.drawn_by)
        sets = Placed(placed.points_m[:, :n], placed.faces[:, :n]), Placed(placed.points_m[:, n:], placed.faces[:, n:])
        at = np.linspace(-1.0, 1.0, self.grid) if self.tolerances.mounted_rad else np.zeros(1)
        left_m3 = np.zeros((len(drawn), len(self.flight)))
        held_m3 = np.zeros((*left_m3.shape, len(self.tank.design.switch)))
        never = np.zeros((2, *held_m3.shape), np.bool_)
        for tilt in product(range(at.size), repeat=2):
            weight = np.prod([_weights(at, tilt[k], self.of("mounted", drawn)[:, k]) for k in (0, 1)], axis=0)
            here = self._at_tilt(drawn, sets, *(at[list(tilt)] * self.tolerances.mounted_rad).tolist())
            left_m3 += weight[:, None] * here.left_m3
            no = np.isinf(here.held_m3)
            held_m3 += weight[:, None, None] * np.where(no, 0.0, here.held_m3)
            never = np.array([never[0] | no, never[1] | ~no])
        held_m3[never[0]] = -np.inf
        found = Answered(outside_m, left_m3, held_m3)
        return self._singly(drawn, found, (never[0] & never[1]).any(axis=(1, 2)))

    def _singly(self, drawn: Floats, found: Answered, rows: Flags) -> Answered:
        """The same with some samples answered in full."""
        if rows.any():
            again = self.in_full(drawn[rows])
            found.left_m3[rows], found.held_m3[rows] = again.left_m3, again.held_m3
        return found

    def _at_tilt(self, drawn: Floats, sets: tuple[Placed, Placed], pitch_rad: float, roll_rad: float) -> Answered:
        """The answers with the tank of all samples mounted alike."""
        openings = outlets(self.tank)
        left_m3, held_m3 = [], []
        for attitude in self.flight:
            up = self._turned(attitude.up, pitch_rad, roll_rad)
            left, held = Many.of(self.tank.cavity, up).answers(openings, *sets, self.raised_m(drawn, up))
            held[:, [bool(switch.too_far(up)) for switch in self.tank.design.switch]] = np.nan
            left_m3.append(self.tank.cavity.behind * left)
            held_m3.append(np.where(np.isnan(held), -np.inf, held))
        left_all = np.column_stack(left_m3)
        self._for_a_time(left_all, sets[0], (pitch_rad, roll_rad))
        return Answered(np.zeros(len(drawn)), left_all, np.stack(held_m3, axis=1))

    def _for_a_time(self, left_m3: Floats, sits: Placed, tilt: tuple[float, float]) -> None:
        """Put what counts in place of what stays behind for ever, each set of places once; it is never more than that."""
        lasting = [attitude.held_s is None for attitude in self.flight]
        if all(lasting):
            return
        _, first, back = np.unique(
            sits.points_m.reshape(len(left_m3), -1), axis=0, return_index=True, return_inverse=True
        )
        for row, i in enumerate(first.tolist()):
            openings = [
                replace(opening, spot=Spot("", sits.points_m[i, k], int(sits.faces[i, k])))
                for k, opening in enumerate(outlets(self.tank))
            ]
            for a, attitude in enumerate(self.flight):
                if attitude.held_s is not None:
                    left_m3[back.ravel() == row, a] = self._counted(attitude, float(left_m3[i, a]), tilt, openings)


def _weights(at: Floats, k: int, x: Floats) -> Floats:
    """How much the k-th of the places counts at x (n,): Lagrange's polynomial through all of them."""
    weight = np.ones(x.shape)
    for j in range(at.size):
        if j != k:
            weight *= (x - at[j]) / (at[k] - at[j])
    return weight


def mounted(up: Floats, pitch_rad: float, roll_rad: float) -> Floats:
    """Up (3,) in the axes of a tank that is mounted nose up by a pitch and right side down by a roll.

    >>> climb = Attitude.of_degrees(9.0, 0.0).up
    >>> bool(np.allclose(mounted(climb, np.radians(0.5), 0.0), Attitude.of_degrees(9.5, 0.0).up))
    True
    """
    p, r = pitch_rad, roll_rad
    rolled = np.array([[1.0, 0.0, 0.0], [0.0, cos(r), -sin(r)], [0.0, sin(r), cos(r)]])
    pitched = np.array([[cos(p), 0.0, -sin(p)], [0.0, 1.0, 0.0], [sin(p), 0.0, cos(p)]])
    turned: Floats = pitched @ (rolled @ up)
    return turned


def _moved(tank: FittedTank, name: str, at_m: Floats, by_m: Floats) -> Spot:
    """A fitting set off from its stated place, as the design door takes it: on the wall where it would stand outside.

    One that stands in a body (a switch's mark in its float) keeps its level there, at the nearest wall.
    """
    drawn = tank.spot(name)
    if not by_m.any():
        return drawn
    spot = tank.cavity.spot(name, at_m + by_m)
    in_body = drawn.face >= 0 and drawn.off_m == 0.0 and tank.cavity.spot(name, at_m).off_m > 0.0
    return Spot(name, drawn.point_m + by_m, spot.face) if in_body else spot
