"""Least squares of a fill test: a correction of the model for its readings, and which of several the readings support."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from itertools import combinations
from math import exp, radians

import numpy as np

from fuelsys.analysis.fills.data import Data
from fuelsys.analysis.fills.model import OFFSET, none
from fuelsys.analysis.fills.solved import USUAL_TILT_RAD, Solved
from fuelsys.arrays import Floats
from fuelsys.model.found.filltest import BLOCKS, OF_BLOCK, PARAMETERS, Block

# How far a built tank is expected to be off (one standard deviation), and how far at most: scale, offset, pitch, roll,
# layer. Wide on purpose, so that they decide only where the readings say nothing. Common practice, no source.
USUAL = np.array([0.10, 0.020, USUAL_TILT_RAD, USUAL_TILT_RAD, 0.001])
MOST = np.array([0.5, 0.2, radians(10.0), radians(10.0), 0.010])
LEAST_NOISE_M = 5e-5  # nobody reads a stick better
PLACED_M = 1e-3  # how far the stick reads otherwise at another place or attitude, beside what is drawn; common practice, no source
USUAL_NOISE_M = 5e-4  # before the readings have told their own
ENOUGH_P = 0.01  # what is added must be as unlikely as this to improve the fit by chance
AS_WELL = 4.0  # twice the logarithm of a likelihood: a correction that lies further behind explains less
LEAST_READINGS = 4
_NOTHING = 1e-6  # of a usual spread: less is rounding, and the search, whose first step is as long as its start, would not leave it
_ALIKE = 0.95  # of a correlation, from which on two figures are not told apart
UNTOLD = 0.7  # of the usual spread: the readings have hardly narrowed a figure
_TOLD = 0.2  # of the usual spread: what three places leave of a tilt, where they do not stand in a line


@dataclass(frozen=True, eq=False)
class _Sought:
    """What is sought, as numbers x (k + q,) of about 1: free figures and how far the stick stands otherwise at other places, together k,
    each over its usual spread, then the extra volumes over the tank's.
    """

    data: Data
    columns: list[int]
    weight_m: float

    @cached_property
    def slopes(self) -> Floats:
        """Of the readings where they are weighted (n,)."""
        return self.data.slopes(self.data.at)

    @cached_property
    def mixed(self) -> Floats:
        """What makes the readings' residuals weigh alike (n, n)."""
        return self.data.mixed(self.slopes)

    @cached_property
    def others(self) -> Floats:
        """Which readings were taken at each of the other places (n, places)."""
        return self.data.others

    @cached_property
    def sizes(self) -> Floats:
        """The usual spreads (k,)."""
        return np.concatenate([USUAL[self.columns], np.full(self.others.shape[1], PLACED_M)])

    @property
    def gross_m3(self) -> float:
        """The tank's volume."""
        return self.data.model.tank.cavity.gross_m3

    def correction(self, x: Floats) -> Floats:
        """The correction (5,)."""
        found, p = none(), len(self.columns)
        found[self.columns] = x[:p] * self.sizes[:p]
        return found

    def residuals(self, x: Floats) -> Floats:
        """Of the readings, then what the usual spreads ask for (n + k,)."""
        data, p, known = self.data, len(self.columns), self.sizes.size
        off = data.totals_m3 + data.extras @ (x[known:] * self.gross_m3)
        off = (off - data.held(self.correction(x), self.others @ (x[p:known] * self.sizes[p:]))) / self.slopes
        return np.concatenate([self.mixed @ off, self.weight_m * x[:known]])

    def jacobian(self, x: Floats) -> Floats:
        """How the residuals grow with x."""
        data, known = self.data, self.sizes.size
        rows = np.zeros((data.n + known, x.size))
        grows = data.jacobian(self.correction(x))
        moved = grows[:, [OFFSET]] * self.others
        rows[: data.n, :known] = -np.column_stack([grows[:, self.columns], moved]) * self.sizes / self.slopes[:, None]
        rows[: data.n, known:] = data.extras * self.gross_m3 / self.slopes[:, None]
        rows[: data.n] = self.mixed @ rows[: data.n]
        rows[data.n :, :known] = self.weight_m * np.eye(known)
        return rows

    def solved(self, x: Floats) -> Solved:
        """The fit with what it found, its noise and how sure it is."""
        data, known = self.data, self.sizes.size
        all_off, rows = self.residuals(x), self.jacobian(x)
        left, own, dof = all_off[: data.n], rows[: data.n].T @ rows[: data.n], data.n - x.size
        told = np.einsum("ij,jk,ik->i", rows[: data.n], np.linalg.pinv(rows.T @ rows, hermitian=True), rows[: data.n])
        settled = x.size - float(told.sum())
        worse_m2, over, fewest = data.worse(left, told)
        between = rows[: data.n, :known][~data.first]
        uneven_m2 = worse_m2 * max(1.0, dof + settled) - float(left @ left)
        noise = max(LEAST_NOISE_M, float(np.sqrt(worse_m2)))
        scale = np.concatenate([self.sizes, np.full(x.size - known, self.gross_m3)])
        # The usual spreads count as they are, whatever noise they were weighted with.
        normal = own / noise**2
        normal[range(known), range(known)] += 1.0
        alone = np.eye(known) + between.T @ between / noise**2
        covariance: Floats = np.asarray(np.linalg.pinv(normal, hermitian=True) * np.outer(scale, scale), np.float64)
        found, extra_m3, cost_m2 = self.correction(x), x[known:] * self.gross_m3, float(all_off @ all_off)
        own_spread = np.sqrt(np.diag(np.linalg.inv(alone)))[: len(self.columns)] * self.sizes[: len(self.columns)]
        return Solved(found, tuple(self.columns), extra_m3, covariance, left, cost_m2, noise, dof, settled, uneven_m2, over,
                      fewest, tuple(own_spread))  # fmt: skip


def solve(data: Data, free: Sequence[int], weight_m: float = USUAL_NOISE_M, start: Floats | None = None) -> Solved:
    """The correction of free figures that fits best; the usual spreads weigh as readings of this noise."""
    from scipy.optimize import least_squares  # noqa: PLC0415  a third of a second, for those who fit a test

    sought = _Sought(data, list(free), weight_m)
    columns, p, x = sought.columns, len(sought.columns), np.zeros(sought.sizes.size + data.extras.shape[1])
    most, sizes = MOST[columns], sought.sizes[:p]
    if start is not None:
        x[:p] = np.clip(start[columns] / sizes, -0.99 * most / sizes, 0.99 * most / sizes)
        x[np.abs(x) < _NOTHING] = 0.0
    if x.size:
        ends = np.concatenate([most / sizes, np.full(x.size - p, np.inf)])
        x = least_squares(
            sought.residuals, x, sought.jacobian, bounds=(-ends, ends), xtol=1e-8, ftol=1e-8, gtol=1e-12
        ).x
    return sought.solved(x)


def p_value(simple: Solved, more: Solved, settled: float = 0.0) -> float:
    """How likely what a fit adds would improve it so much by chance (F test); settled figures leave more readings over."""
    from scipy import stats  # noqa: PLC0415  as in solve

    added = len(more.free) + more.extra_m3.size - len(simple.free) - simple.extra_m3.size
    over = max(1.0, more.dof + settled)
    spread = max((more.cost_m2 + more.uneven_m2) / over, LEAST_NOISE_M**2)
    ratio = max(0.0, simple.cost_m2 - more.cost_m2) / added / spread
    return float(stats.f.sf(ratio, added, max(1.0, more.fewest - more.settled + settled)))


def figures(blocks: Sequence[Block]) -> tuple[int, ...]:
    """The figures of a correction that some blocks free."""
    return tuple(k for block in blocks for k in OF_BLOCK[block])


@dataclass(frozen=True)
class Choice:
    """All corrections that were tried, with the least p value of what adds to each, which one is kept, and its rivals.

    full frees every figure, however few the readings are: the usual spreads settle what they leave open. by_places: the stick was
    read at enough places to measure the tilt itself; then every correction has it, since it is no matter of what is simplest.
    """

    fits: dict[tuple[Block, ...], Solved]
    p: dict[tuple[Block, ...], float | None]
    enough: tuple[tuple[Block, ...], ...]
    kept: tuple[Block, ...]
    data: Data
    full: Solved
    by_places: bool = False

    @property
    def solved(self) -> Solved:
        """The fit that is kept: what the readings are told to say."""
        return self.fits[self.kept]

    @property
    def used(self) -> Solved:
        """The fit that marks, lamps and readings are taken from: the fullest, once the readings support any correction at all.

        The simplest is the easiest to tell, but what is too small to show still bends the table; the usual spreads keep the
        fullest from following the noise. Measured on 40 tanks: half to a quarter of the error at four to six readings, alike
        at sixteen.
        """
        return self.full if self.kept else self.solved

    @property
    def rivals(self) -> tuple[tuple[Block, ...], ...]:
        """Corrections that are enough as well, none of whose parts is, and that leave hardly more."""
        least = [one for one in self.enough if not any(set(other) < set(one) for other in self.enough)]
        most_m2 = max(self.solved.left_m2, self.data.n * LEAST_NOISE_M**2) * exp(AS_WELL / self.data.n)
        as_well = [one for one in least if one != self.kept and self.fits[one].left_m2 <= most_m2]
        return tuple(one for one in as_well if "tilt" in one or not self.by_places)

    @property
    def same(self) -> tuple[str, ...]:
        """What the kept correction itself does not tell apart: pairs of figures, and figures that the readings hardly narrow."""
        fit, said = self.solved, []
        p = len(fit.free)
        sd: Floats = np.sqrt(np.diag(fit.covariance)[:p])
        for a, b in combinations(range(p), 2):
            if abs(fit.covariance[a, b]) > _ALIKE * sd[a] * sd[b]:
                said.append(f"{PARAMETERS[fit.free[a]]} and {PARAMETERS[fit.free[b]]}")
        told = " ".join(said)
        for k in range(p):
            name = PARAMETERS[fit.free[k]]
            if sd[k] > UNTOLD * USUAL[fit.free[k]] and name not in told:
                said.append(name)
        return tuple(said)


def weighted(data: Data) -> tuple[Data, float]:
    """The data weighted at the fullest correction that they allow, and the noise that it leaves."""
    noise = USUAL_NOISE_M
    blocks = _allowed(data)[-1]
    fit: Solved | None = None
    for _ in range(2):
        fit = solve(data, figures(blocks), noise, None if fit is None else fit.correction)
        data, noise = replace(data, at=fit.correction), fit.noise_m
    return data, noise


def _allowed(data: Data) -> list[tuple[Block, ...]]:
    """The corrections that leave two readings over, those of fewest blocks first."""
    all_of = [one for k in range(len(BLOCKS) + 1) for one in combinations(BLOCKS, k)]
    return [one for one in all_of if data.n - len(figures(one)) - data.extras.shape[1] >= 2] or [()]


def choose(data: Data) -> Choice:
    """The simplest correction that nothing added to it improves; among those of equal size the one that leaves least."""
    data, noise = weighted(data)
    fits = {one: solve(data, figures(one), noise, data.at) for one in _allowed(data)}
    p: dict[tuple[Block, ...], float | None] = {}
    for one, fit in fits.items():
        more = [p_value(fit, other) for blocks, other in fits.items() if set(one) < set(blocks)]
        p[one] = min(more) if more else None
    full = fits.get(BLOCKS) or solve(data, figures(BLOCKS), noise, data.at)
    enough = [one for one, least in p.items() if least is None or least >= ENOUGH_P]
    by_places = () not in enough and _by_places(data, full)
    with_tilt = [one for one in enough if "tilt" in one and by_places]
    kept = min(with_tilt or enough, key=lambda one: (len(figures(one)), fits[one].cost_m2))
    return Choice(fits, p, tuple(enough), kept, data, full, bool(with_tilt))


def _by_places(data: Data, full: Solved) -> bool:
    """Whether the stick was read at three places that tell a tilt both ways."""
    tilt = list(OF_BLOCK["tilt"])
    spread = np.sqrt(np.diag(full.covariance)[[full.free.index(k) for k in tilt]])
    return data.sticks > 2 and bool((spread <= _TOLD * USUAL[tilt]).all())
