"""What a fill test's fit is worth, on made-up tests: prints three kinds of shares.

Run: PYTHONPATH=tests:tests/analysis python tests/benchmarks/filltest_proof.py [TESTS]

Bands: how often the truth lies in the band of 90 %, of each figure and of what the tank holds at the middle reading, where tanks are off as
built ones are, and where they are off as widely as the fit itself expects. Slips: how often one planted mistake is named, and how often
a good line is named beside it. Clean: how often nobody is named.
"""

from __future__ import annotations

import sys

import numpy as np
from fillsheets import SPREAD, made
from scipy import stats
from test_filltest_fit import MEANT, model_for, planted

from fuelsys.analysis.fills.fit import MOST, USUAL, Data, Solved, figures, solve, weighted
from fuelsys.analysis.fills.model import none
from fuelsys.analysis.fills.suspects import suspects
from fuelsys.arrays import Floats
from fuelsys.model.found.filltest import BLOCKS, PARAMETERS


def _narrower(fit: Solved) -> float:
    """The width of 90 % as a share of that of 95 %."""
    dof = max(1.0, fit.dof + fit.settled)
    return float(stats.t.ppf(0.95, dof) / stats.t.ppf(0.975, dof))


def bands(count: int, spread: Floats) -> list[float]:
    """How often the truth lies in the band of 90 %, by figure, and last of what is held at the middle reading."""
    free, hits = figures(BLOCKS), []
    for seed in range(count):
        rng = np.random.default_rng((7, seed))
        model, truth = model_for(seed), none()
        truth[list(free)] = np.clip(rng.normal(size=len(free)) * spread[list(free)], -0.9 * MOST, 0.9 * MOST)
        test = made(model, truth, rng)
        if test.readings_m.size < 8:
            continue
        data, noise = weighted(Data.of(model, test.readings_m, test.volumes_m3))
        fit = solve(data, free, noise, data.at)
        narrower, middle = _narrower(fit), np.median(test.readings_m, keepdims=True)
        one = [abs(fit.correction[k] - truth[k]) <= narrower * fit.within(np.eye(5)[k]) for k in free]
        off = abs(float(model.held(middle, fit.correction)[0] - model.held(middle, truth)[0]))
        hits.append([*one, off <= narrower * fit.within(model.jacobian(middle, fit.correction)[0])])
    return [len(hits), *np.mean(hits, axis=0)]


def main(count: int) -> None:
    """Print the shares."""
    for name, spread in (("as built", SPREAD), ("as widely as expected", USUAL)):
        used, *shares = bands(count, spread)
        told = ", ".join(f"{what} {share:.1%}" for what, share in zip((*PARAMETERS, "held"), shares, strict=True))
        print(f"bands of 90 %, {name}, {used:.0f} tests: {told}", flush=True)
    for kind in (*MEANT, "none"):
        named = accused = 0
        for seed in range(count):
            _, data, wanted = planted(kind, seed)
            found, _ = suspects(data)
            named += wanted in found
            accused += any(one != wanted for one in found)
        print(f"{kind}, {count} tests: named {named / count:.1%}, a good line named {accused / count:.1%}", flush=True)


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 200)
