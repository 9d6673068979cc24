"""How unusable fuel and switches spread when what is built is not what was drawn: a sweep over samples."""

from __future__ import annotations

from concurrent.futures import Executor
from dataclasses import dataclass, replace

import numpy as np

from fuelsys.analysis.sweeping.samples import Answered, Samples
from fuelsys.analysis.sweeping.sweeps import Progress, sweep, untold
from fuelsys.analysis.tank.outflow import known_outflow
from fuelsys.arrays import Floats
from fuelsys.errors import QuestionError
from fuelsys.model.built.layout import FittedTank, Layout
from fuelsys.model.found.outflow import Outflow
from fuelsys.model.found.tolerance import CHECKED, Spread, SwitchSpread, Tolerances, ToleranceStudy

BATCH = 2500  # samples that are answered together
MOST_SAMPLES = 10_000_000
_GRIDS = (
    3,
    5,
)  # tilts along each axis that are tried for that; where neither is near enough, every sample is answered in full
_NEAR = 0.01  # of the spread of the samples checked: how near a figure must come; chosen here, no source


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

    Every figure is uniform within its bounds, each mark's and outlet's and each switch's own tolerance independent of the others.
    Time is that in the worst state: all that is burnt comes from this tank, and what is returned elsewhere on top. Sample i is
    drawn from a sequence of its own, keyed by (seed, i): it is the same, to rounding, in whatever number of samples and whoever
    computes it. QuestionError for a tank without an outlet.
    """
    if not 1 <= samples <= MOST_SAMPLES:
        raise QuestionError(
            f"{samples} samples make no study", mend=f"Give from 1 to {MOST_SAMPLES}.", field="--samples"
        )
    asked, out = sampled(layout, tank, tolerances), known_outflow(layout, tank)
    asked, off_m3 = checked(asked, seed)
    batches = [range(i, min(i + BATCH, samples)) for i in range(0, samples, BATCH)]

    def told(done: int, _: int) -> None:
        progress(min(done * BATCH, samples), samples)

    table = np.concatenate(list(sweep(_Batch(asked, out, seed), batches, executor, told, ahead)))
    nought = np.zeros((1, asked.size))
    drawn = _figures(asked, out, nought, asked.in_full(nought))[0]
    spreads = [_spread(float(nominal), column) for nominal, column in zip(drawn[1:], table[:, 1:].T, strict=True)]
    switches = tuple(
        SwitchSpread(switch.name, spreads[1 + 2 * k], spreads[2 + 2 * k], int(np.isinf(table[:, 2 + 2 * k]).sum()))
        for k, switch in enumerate(tank.design.switch)
    )
    outside_m = table[:, 0]
    return ToleranceStudy(
        tank.name, tolerances, samples, seed, out, spreads[0], switches, int(np.count_nonzero(outside_m)),
        float(outside_m.max()), asked.grid if tolerances.mounted_rad else 1, off_m3, tank.through,
    )  # fmt: skip


def sampled(layout: Layout, tank: FittedTank, tolerances: Tolerances) -> Samples:
    """A tank of a layout to be sampled; QuestionError where it has no outlet."""
    if not tank.design.outlet:
        raise QuestionError(
            f"tank {tank.name} has no outlet",
            mend="Add [[tank.outlet]]: what stays behind is counted from it.",
            file=layout.file,
        )
    flight = tuple(attitude for attitude in layout.design.envelope if attitude.phase == "flight")
    return Samples(tank, flight, tolerances, layout.design.fuel.density_kg_m3)


def checked(asked: Samples, seed: int) -> tuple[Samples, float]:
    """The same with as many tilts as it takes, and how far the samples that are answered in full too came off at most, in m3."""
    if not asked.tolerances.mounted_rad:
        return replace(asked, grid=1), 0.0
    drawn = asked.drawn(seed, range(CHECKED))
    full = asked.in_full(drawn)
    for grid in _GRIDS:
        found = replace(asked, grid=grid)
        off_m3 = _off_m3(full, found.many(drawn))
        if off_m3 is not None:
            return found, off_m3
    return replace(asked, grid=0), 0.0


def _off_m3(full: Answered, read: Answered) -> float | None:
    """How far answers that were read off are off at most; None where that is too far."""
    if (np.isinf(full.held_m3) != np.isinf(read.held_m3)).any():
        return None
    off, spread = [], []
    for true, near in ((full.left_m3[..., None], read.left_m3[..., None]), (full.held_m3, read.held_m3)):
        known = ~np.isinf(true)
        off.append(np.abs(np.where(known, true, 0.0) - np.where(known, near, 0.0)).max(axis=0, initial=0.0))
        trips = np.where(known, true, np.nan)
        low, high = np.where(known, true, np.inf).min(axis=0), np.where(known, true, -np.inf).max(axis=0)
        spread.append(np.where(np.isnan(trips).all(axis=0), 0.0, high - low))
    near_enough = all((one <= _NEAR * wide + 1e-12).all() for one, wide in zip(off, spread, strict=True))
    return max(float(one.max(initial=0.0)) for one in off) if near_enough else None


@dataclass(frozen=True)
class _Batch:
    """Answers a batch of samples: (n, 2 + 2 switches), see _figures."""

    asked: Samples
    outflow: Outflow
    seed: int

    def __call__(self, samples: range) -> Floats:
        drawn = self.asked.drawn(self.seed, samples)
        return _figures(self.asked, self.outflow, drawn, self.asked.many(drawn))


def _figures(asked: Samples, out: Outflow, drawn: Floats, found: Answered) -> Floats:
    """How far outside a fitting would stand, unusable, then of each switch the least held at its trips and the time left."""
    unusable_m3, held_m3 = scaled(asked, drawn, found)
    worst_m3, least_m3 = unusable_m3.max(axis=1), held_m3.min(axis=1)
    left_s = times_left(asked, out, drawn, least_m3 - worst_m3[:, None])
    pairs = np.stack([least_m3, left_s], axis=2).reshape(len(drawn), -1)
    return np.column_stack([found.outside_m, worst_m3, pairs])


def scaled(asked: Samples, drawn: Floats, found: Answered) -> tuple[Floats, Floats]:
    """What stays behind and what is held, the cavity being as large as it was drawn."""
    capacity = 1.0 + asked.of("capacity", drawn) * asked.tolerances.capacity_share
    return found.left_m3 * capacity, found.held_m3 * capacity[:, :, None]


def times_left(asked: Samples, out: Outflow, drawn: Floats, usable_m3: Floats) -> Floats:
    """How long usable fuel (n, ..., k) lasts from when each switch's lamp lights, at the flow that was drawn."""
    flow = 1.0 + asked.of("flow", drawn)[:, 0] * asked.tolerances.flow_share
    delay_s = np.array([switch.delay_s or 0.0 for switch in asked.tank.design.switch])
    times = np.broadcast_to(flow.reshape(-1, *[1] * (usable_m3.ndim - 1)), usable_m3.shape)
    lasts = [out.least_s(one, by) for one, by in zip(usable_m3.ravel().tolist(), times.ravel().tolist(), strict=True)]
    left: Floats = np.array(lasts, dtype=np.float64).reshape(usable_m3.shape) - delay_s
    return left


def _spread(nominal: float, samples: Floats) -> Spread:
    """The figures of one answer: each a sample's own, so that "never" needs no arithmetic."""
    ranks = np.quantile(samples, [0.0, 0.05, 0.5, 0.95, 1.0], method="inverted_cdf")
    return Spread(nominal, *(float(value) for value in ranks))
