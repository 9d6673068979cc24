"""Lines of a fill test that do not belong: one reading that is off, or a total that is off from one line on."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Literal

import numpy as np

from fuelsys.analysis.fills.data import Data
from fuelsys.analysis.fills.fit import USUAL, USUAL_NOISE_M, figures, p_value, solve
from fuelsys.analysis.fills.solved import Solved
from fuelsys.arrays import Floats, Ints
from fuelsys.model.found.filltest import BLOCKS

MOST_SUSPECTS = 3
FALSE_ALARM = 0.03  # of a sheet on which nothing is wrong, to have a line named
LEAST_SHARE = 0.015  # of the tank: bodies that nobody drew make such steps as well; what is less counts as misfit, on the safe side
LEAST_SEARCHED = 8  # readings: with fewer a mistake and a correction are not told apart
_TRIED = 3


@dataclass(frozen=True)
class Suspected:
    """Which reading (its index) does not belong, and how: alone, or with all totals from it on."""

    index: int
    kind: Literal["reading", "total"]

    def column(self, order: Ints) -> Floats:
        """The readings whose totals it shifts (n,), of readings on lines (n,)."""
        at = np.arange(order.size)
        return np.asarray(at == self.index if self.kind == "reading" else order >= order[self.index], dtype=np.float64)


def suspects(data: Data) -> tuple[list[Suspected], Data]:
    """Lines that do not belong, most striking first, and the data with an unknown volume for each of them."""
    found: list[Suspected] = []
    while len(found) < MOST_SUSPECTS and data.n - data.extras.shape[1] >= LEAST_SEARCHED:
        one = _most_striking(data)
        if one is None:
            break
        found.append(one)
        data = data.with_extra(one.column(data.order))
    return found, data


def _most_striking(data: Data) -> Suspected | None:
    """The mistake that improves the fullest correction most, where chance would hardly do so anywhere on the sheet."""
    free = figures(BLOCKS)  # a mistake must not be what a correction explains
    without = _settled(data, free)
    tried = [Suspected(k, kind) for k in range(data.n) for kind in ("reading", "total") if not _taken(data, k, kind)]
    gains = _gains(data, free, without, tried)
    order = np.argsort(-gains)[:_TRIED]
    fits = [(tried[k], _settled(data.with_extra(tried[k].column(data.order)), free)) for k in order]
    best, fit = min(fits, key=lambda pair: pair[1].cost_m2)
    if abs(float(fit.extra_m3[-1])) < LEAST_SHARE * data.model.tank.cavity.gross_m3:
        return None
    return best if p_value(without, fit, fit.settled) * 2 * data.n < FALSE_ALARM else None


def _taken(data: Data, index: int, kind: Literal["reading", "total"]) -> bool:
    """Whether a mistake is among those that were found before, or another name of one that is tried besides."""
    column = Suspected(index, kind).column(data.order)
    if any(np.array_equal(column, extra) for extra in data.extras.T):
        return True
    if kind == "total":
        return index > 0 and bool(data.order[index] == data.order[index - 1])
    return np.array_equal(column, Suspected(index, "total").column(data.order))


def _settled(data: Data, free: tuple[int, ...]) -> Solved:
    """A fit whose readings are weighted at itself."""
    fit = solve(data, free, USUAL_NOISE_M)
    return solve(replace(data, at=fit.correction), free, USUAL_NOISE_M, fit.correction)


def _gains(data: Data, free: tuple[int, ...], fit: Solved, tried: list[Suspected]) -> Floats:
    """How much each mistake, alone, would lower the cost: exactly so where the model is linear about the fit."""
    slopes = data.slopes(fit.correction)
    grows = -data.jacobian(fit.correction)[:, list(free)] * USUAL[list(free)] / slopes[:, None]
    mixed = data.mixed(slopes)
    known = mixed @ np.column_stack([grows, data.extras / slopes[:, None]])
    prior = np.zeros((len(free), known.shape[1]))
    prior[:, : len(free)] = USUAL_NOISE_M * np.eye(len(free))
    rows = np.vstack([known, prior])
    scale = np.maximum(np.linalg.norm(rows, axis=0), 1e-300)
    axes = np.linalg.qr(rows / scale)[0]
    residuals = np.concatenate([fit.residuals_m, USUAL_NOISE_M * fit.correction[list(free)] / USUAL[list(free)]])
    columns = np.zeros((len(residuals), len(tried)))
    for k, one in enumerate(tried):
        columns[: data.n, k] = mixed @ (one.column(data.order) / slopes)
    columns -= axes @ (axes.T @ columns)
    size = np.einsum("ij,ij->j", columns, columns)
    along = columns.T @ residuals
    gains: Floats = np.where(size > 1e-12 * slopes.min() ** -2.0, along**2 / np.maximum(size, 1e-300), 0.0)
    return gains
