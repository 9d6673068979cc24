"""A switch's band over the whole envelope, twice: guaranteed, with all that may be off at its worst at once, and by samples.

The envelope is all combinations of the flight attitudes' tilts (`analysis/tank/combined.py`) and those attitudes themselves. Guaranteed
counts the mark low, or high, by the most that its place, its own tolerance and its float may make of it, the tank at each corner of
its mounting, the cavity at its least, or greatest, and the other pools drained, or not begun to fall; outlets are as drawn. The
samples count all other pools as drained. A sample may lie outside what is guaranteed only by a tilt between the corners, or where a
mark, set off sideways, stands over another pool.
"""

from __future__ import annotations

from dataclasses import replace
from itertools import product

import numpy as np

from fuelsys.analysis.sweeping.samples import Samples, mounted
from fuelsys.analysis.sweeping.tolerance import BATCH, checked, sampled, scaled, times_left
from fuelsys.analysis.tank.combined import combinations
from fuelsys.analysis.tank.draining import Drained
from fuelsys.analysis.tank.outflow import known_outflow
from fuelsys.analysis.tank.switches import low_m
from fuelsys.analysis.tank.unusable import outlets
from fuelsys.arrays import Floats
from fuelsys.model.built.layout import FittedTank, Layout
from fuelsys.model.found.outflow import Outflow
from fuelsys.model.found.switches import EARLY_TIMES
from fuelsys.model.found.tolerance import Band, Tolerances
from fuelsys.model.stated.fittings import Switch


def switch_bands(
    layout: Layout, tank: FittedTank, tolerances: Tolerances, samples: int, seed: int = 0, early_m3: float | None = None
) -> tuple[Band, ...]:
    """The band of each switch, with false alarms and missed ones counted over the samples.

    A false alarm is a trip at the normal flight attitude with more than early_m3 in the tank; where that is left out, with more than
    is worth twice the target. Missed is a trip at any of the attitudes with less time left than the target (with none left,
    where there is no target), or none at all. QuestionError for a tank without an outlet.
    """
    stated, out = sampled(layout, tank, tolerances), known_outflow(layout, tank)
    grid = combinations(layout.design.envelope)
    asked, _ = checked(replace(stated, flight=(*stated.flight, *grid)), seed)
    held, left_s = _sampled(asked, out, samples, seed, len(stated.flight))
    normal = next(i for i, attitude in enumerate(stated.flight) if attitude.normal)
    left_m3 = float(stated.in_full(np.zeros((1, stated.size))).left_m3.max())
    found = []
    for k, switch in enumerate(tank.design.switch):
        limit_m3 = early_m3
        if limit_m3 is None and switch.target_s is not None:
            limit_m3 = left_m3 + (out.usable_for_m3(EARLY_TIMES * switch.target_s) or 0.0)
        late = left_s[:, :, k] < (switch.target_s or 0.0)
        found.append(
            Band(
                switch.name,
                _guaranteed(asked, k, switch),
                tuple(np.quantile(held[:, :, k], [0.0, 0.05, 0.5, 0.95, 1.0], method="inverted_cdf").tolist()),
                samples,
                len(asked.flight),
                switch.target_s,
                limit_m3,
                None if limit_m3 is None else int((held[:, normal, k] > limit_m3).sum()),
                int(late.any(axis=1).sum()),
                float(late.mean()),
                asked.tank.through,
            )
        )
    return tuple(found)


def _sampled(asked: Samples, out: Outflow, samples: int, seed: int, stated: int) -> tuple[Floats, Floats]:
    """What is held at each trip (n, a, k), and the time left above the worst of the stated attitudes, which come first."""
    held, left = [], []
    for i in range(0, samples, BATCH):
        drawn = asked.drawn(seed, range(i, min(i + BATCH, samples)))
        unusable_m3, held_m3 = scaled(asked, drawn, asked.many(drawn))
        worst_m3 = unusable_m3[:, :stated].max(axis=1)
        held.append(held_m3)
        left.append(times_left(asked, out, drawn, held_m3 - worst_m3[:, None, None]))
    return np.concatenate(held), np.concatenate(left)


def _guaranteed(asked: Samples, k: int, switch: Switch) -> tuple[float, float]:
    """The least and the most that may be in the tank when a switch trips; -inf: it need not trip at all."""
    bounds, spot = asked.tolerances, asked.tank.spot(f"switch {switch.name}")
    ends = list(product((-1.0, 0.0, 1.0), repeat=2)) if bounds.mounted_rad else [(0.0, 0.0)]
    least, most = [], []
    for attitude, (pitch, roll) in product(asked.flight, ends):
        up = mounted(attitude.up, pitch * bounds.mounted_rad, roll * bounds.mounted_rad)
        drained = Drained.of(asked.tank.cavity, up, outlets(asked.tank), [spot])
        low, high = _reach_m(asked, k, switch, up)
        one, two = drained.passed_all([(0, -low, 0), (0, high, 1)])
        if one is None or switch.too_far(up):
            return -np.inf, -np.inf
        least.append(one)
        most.append(asked.tank.cavity.gross_m3 if two is None else two)  # raised over the roof it is lit when full
    return min(least) * (1.0 - bounds.capacity_share), max(most) * (1.0 + bounds.capacity_share)


def _reach_m(asked: Samples, k: int, switch: Switch, up: Floats) -> tuple[float, float]:
    """How much lower and how much higher than its mark a switch may trip at an up, all that may be off being so at once."""
    off_m = asked.tolerances.set_off_m * float(np.abs(asked.tank.turn @ up).sum())
    own_m = switch.tolerance_m or 0.0
    other = asked.raised_m(_only_density(asked, 1.0), up)[0, k], asked.raised_m(_only_density(asked, -1.0), up)[0, k]
    return off_m + max(low_m(asked.tank, switch), own_m - min(other)), off_m + own_m + max(other)


def _only_density(asked: Samples, sign: float) -> Floats:
    row = np.zeros((1, asked.size))
    row[:, asked.columns["density"]] = sign
    return row
