"""How unusable fuel and switches spread when what is built is not what was drawn: a sweep over samples."""

from __future__ import annotations

from collections.abc import Sequence
from concurrent.futures import Executor
from dataclasses import dataclass, replace
from math import cos, sin

import numpy as np

from fuelsys.analysis.sweeping.sweeps import Progress, sweep, untold
from fuelsys.analysis.tank.draining import Drained
from fuelsys.analysis.tank.outflow import known_outflow
from fuelsys.analysis.tank.unusable import held_at, outlets
from fuelsys.arrays import Floats
from fuelsys.errors import QuestionError
from fuelsys.model.built.cavity import Spot
from fuelsys.model.built.layout import FittedTank, Layout
from fuelsys.model.found.outflow import Outflow
from fuelsys.model.found.tolerance import Spread, SwitchSpread, Tolerances, ToleranceStudy
from fuelsys.model.stated.attitude import Attitude

BATCH = 16  # samples that travel together
MOST_SAMPLES = 10_000_000


def tolerance_study(
    layout: Layout,
    tank: FittedTank,
    tolerances: Tolerances,
    samples: int,
    seed: int = 0,
    executor: Executor | None = None,
    progress: Progress = untold,
    ahead: int | None = None,
) -> ToleranceStudy:
    """A tank's unusable fuel, and each switch's quantity and time left at its latest flight trip, as drawn and as built.

    Every figure is uniform within its bounds, the marks' and outlets' independent of one another. Time is that in the worst
    state: all that is burnt comes from this tank, and what is returned elsewhere on top. Sample i is drawn from a sequence of
    its own, keyed by (seed, i): it is the same in whatever number of samples and whoever computes it. The switches' own
    tolerances are not added. QuestionError for a tank without an outlet.
    """
    if not tank.design.outlet:
        raise QuestionError(
            f"tank {tank.name} has no outlet",
            mend="Add [[tank.outlet]]: what stays behind is counted from it.",
            file=layout.file,
        )
    if not 1 <= samples <= MOST_SAMPLES:
        raise QuestionError(
            f"{samples} samples make no study", mend=f"Give from 1 to {MOST_SAMPLES}.", field="--samples"
        )
    flight = tuple(attitude for attitude in layout.design.envelope if attitude.phase == "flight")
    out = known_outflow(layout, tank)
    sample = _Sample(tank, flight, tolerances, seed, out)
    drawn = sample.answer(np.zeros(sample.size))
    table = np.empty((samples, drawn.size))
    for i, row in enumerate(sweep(sample, range(samples), executor, progress, ahead, BATCH)):
        table[i] = row
    spreads = [_spread(float(nominal), column) for nominal, column in zip(drawn[1:], table[:, 1:].T, strict=True)]
    switches = tuple(
        SwitchSpread(switch.name, spreads[1 + 2 * k], spreads[2 + 2 * k], int(np.isinf(table[:, 2 + 2 * k]).sum()))
        for k, switch in enumerate(tank.design.switch)
    )
    outside_m = table[:, 0]
    stopped = int(np.count_nonzero(outside_m))
    return ToleranceStudy(
        tank.name, tolerances, samples, seed, out, spreads[0], switches, stopped, float(outside_m.max())
    )


def _spread(nominal: float, samples: Floats) -> Spread:
    """The figures of one answer: each a sample's own, so that "never" needs no arithmetic."""
    ranks = np.quantile(samples, [0.0, 0.05, 0.5, 0.95, 1.0], method="inverted_cdf")
    return Spread(nominal, *(float(value) for value in ranks))


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


@dataclass(frozen=True)
class _Sample:
    """Answers sample i with one row: how far outside the farthest fitting would stand, unusable, then two of each switch."""

    tank: FittedTank
    flight: Sequence[Attitude]
    tolerances: Tolerances
    seed: int
    outflow: Outflow

    @property
    def size(self) -> int:
        """How many figures a sample draws: flow, capacity, pitch, roll, three for each outlet and mark."""
        return 4 + 3 * (len(self.tank.design.outlet) + len(self.tank.design.switch))

    def __call__(self, i: int) -> Floats:
        return self.answer(np.random.default_rng((self.seed, i)).uniform(-1.0, 1.0, self.size))

    def answer(self, drawn: Floats) -> Floats:
        """The row of figures (size,) within -1 to 1; all of them are drawn, so that one bound does not move the others."""
        bounds, design = self.tolerances, self.tank.design
        flow, capacity = 1.0 + drawn[0] * bounds.flow_share, 1.0 + drawn[1] * bounds.capacity_share
        pitch_rad, roll_rad = drawn[2:4] * bounds.mounted_rad
        off_m = drawn[4:].reshape(-1, 3) * bounds.set_off_m
        spots = [
            _moved(self.tank, name, np.array(at_m), by_m)
            for (name, at_m), by_m in zip(_fittings(self.tank), off_m, strict=True)
        ]
        n = len(design.outlet)
        openings = [replace(opening, spot=spot) for opening, spot in zip(outlets(self.tank), spots, strict=False)]
        asked = [(mark, 0.0, 0) for mark in range(len(spots) - n)]
        left_m3, held_m3 = [], []

        def turned(up: Floats) -> Floats:
            return mounted(up, pitch_rad, roll_rad) if bounds.mounted_rad else up

        sustained = [turned(attitude.up) for attitude in self.flight if attitude.held_s is None]
        starts = np.array(sustained) if sustained else None
        for attitude in self.flight:
            up = turned(attitude.up)
            drained = Drained.of(self.tank.cavity, up, openings, spots[n:])
            for_time = held_at(self.tank, (up, attitude), starts, openings)
            left_m3.append(drained.left_m3 if for_time is None else for_time.unusable_m3)
            held_m3.append([-np.inf if held is None else held for held in drained.passed_all(asked)])
        unusable_m3 = max(left_m3) * capacity
        least_m3 = np.array(held_m3).reshape(len(self.flight), -1).min(axis=0) * capacity
        left_s = np.array([self.outflow.least_s(float(one), flow) for one in least_m3 - unusable_m3], np.float64)
        outside_m = max(spot.off_m for spot in spots) if bounds.set_off_m else 0.0
        return np.concatenate([[outside_m, unusable_m3], np.column_stack([least_m3, left_s]).ravel()])


def _fittings(tank: FittedTank) -> list[tuple[str, tuple[float, float, float]]]:
    """What may be set off: outlets, then marks, with their places in the mesh's axes."""
    outlets = [(outlet.name, outlet.position_m) for outlet in tank.design.outlet]
    return outlets + [(f"switch {switch.name}", switch.mark_m) for switch in tank.design.switch]


def _moved(tank: FittedTank, name: str, at_m: Floats, by_m: Floats) -> Spot:
    """A fitting set off from its stated place, as the design door takes it: on the wall where it would stand outside.

    One that stands in a body (a switch's mark in its float) keeps its level there, at the nearest wall.
    """
    drawn = tank.spot(name)
    if not by_m.any():
        return drawn
    spot = tank.cavity.spot(name, tank.body_m(at_m + by_m))
    in_body = drawn.face >= 0 and drawn.off_m == 0.0 and tank.cavity.spot(name, tank.body_m(at_m)).off_m > 0.0
    return Spot(name, drawn.point_m + by_m @ tank.turn, spot.face) if in_body else spot
