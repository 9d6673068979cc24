"""What a spread comes from: the share of its variance that each source has, alone and with all that it does together with others.

First and total indices by sampling, each source (a group of the figures drawn) taken from a second set of samples B while the rest
stays that of the first, A. First: the estimator of Saltelli and others, mean(f(B) (f(AB) - f(A))), table 2 (b) of "Variance based
sensitivity analysis of model output", Computer Physics Communications 181 (2010); total: Jansen's, mean((f(A) - f(AB))²) / 2,
table 2 (f) there. A and B are one scrambled Sobol sequence. The attitude is a source too, any one of the flight attitudes being as
likely as another: every sample is answered at all of them, so its shares need no sampling of their own.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np
from scipy.stats import qmc

from fuelsys.analysis.sweeping.samples import Samples
from fuelsys.analysis.sweeping.sweeps import Progress, untold
from fuelsys.analysis.sweeping.tolerance import BATCH, checked, sampled, scaled, times_left
from fuelsys.analysis.tank.outflow import known_outflow
from fuelsys.arrays import Floats
from fuelsys.model.built.layout import FittedTank, Layout
from fuelsys.model.found.outflow import Outflow
from fuelsys.model.found.tolerance import Share, Shares, Tolerances

SETS = 1024  # samples in each of A and B, a power of two: then Sobol's sequence is balanced
ATTITUDE = "attitude"
_SOURCES = {  # of a spread, in words: the figures drawn
    "fuel flow": "flow",
    "size of the cavity": "capacity",
    "mounting of the tank": "mounted",
    "places of the outlets": "outlets",
    "places of the marks": "marks",
    "switches' own tolerances": "trip",
    "density of the fuel": "density",
}
_NOTHING = 1e-9  # of the mean: a spread that is rounding


def variance_shares(
    layout: Layout,
    tank: FittedTank,
    tolerances: Tolerances,
    seed: int = 0,
    sets: int = SETS,
    progress: Progress = untold,
) -> tuple[Shares, ...]:
    """Of a tank's unusable fuel, and of each switch's quantity and time left at a trip at any flight attitude, what it comes from.

    The unusable fuel is the worst over the flight attitudes, so that the attitude is no source of it. sets is a power of two.
    QuestionError for a tank without an outlet.
    """
    asked, out = sampled(layout, tank, tolerances), known_outflow(layout, tank)
    asked, _ = checked(asked, seed)
    sources = {words: asked.columns[name] for words, name in _SOURCES.items() if _moves(asked, name)}
    both = qmc.Sobol(2 * asked.size, rng=np.random.default_rng(seed)).random(sets) * 2.0 - 1.0
    first, second = both[:, : asked.size], both[:, asked.size :]
    drawn = [first, second]
    for columns in sources.values():
        drawn.append(first.copy())
        drawn[-1][:, columns] = second[:, columns]
    answers = []
    for k, one in enumerate(drawn):
        answers.append(_answers(asked, out, one))
        progress(k + 1, len(drawn))
    names = [("", "volume")] + [(s.name, kind) for s in tank.design.switch for kind in ("volume", "time")]
    return tuple(
        _shares(name, kind, list(sources), [answer[k] for answer in answers]) for k, (name, kind) in enumerate(names)
    )


def _moves(asked: Samples, name: str) -> bool:
    """Whether a figure drawn moves anything."""
    bounds, switches = asked.tolerances, asked.tank.design.switch
    stated = {
        "flow": bounds.flow_share,
        "capacity": bounds.capacity_share,
        "mounted": bounds.mounted_rad,
        "outlets": bounds.set_off_m,
        "marks": bounds.set_off_m if switches else 0.0,
        "trip": max((switch.tolerance_m or 0.0 for switch in switches), default=0.0),
        "density": bounds.density_share if asked.tank.rides else 0.0,
    }
    return stated[name] > 0.0


def _answers(asked: Samples, out: Outflow, drawn: Floats) -> list[Floats]:
    """Unusable fuel (n, 1), then of each switch the quantity and the time left at each flight attitude (n, a)."""
    found: list[list[Floats]] = []
    for i in range(0, len(drawn), BATCH):
        part = drawn[i : i + BATCH]
        left_m3, held_m3 = scaled(asked, part, asked.many(part))
        worst_m3 = left_m3.max(axis=1)
        left_s = times_left(asked, out, part, held_m3 - worst_m3[:, None, None])
        pairs = [one[:, :, k] for k in range(held_m3.shape[2]) for one in (held_m3, left_s)]
        found.append([worst_m3[:, None], *pairs])
    return [np.concatenate(parts) for parts in zip(*found, strict=True)]


def _shares(switch: str, kind: str, sources: Sequence[str], answers: Sequence[Floats]) -> Shares:
    if not all(np.isfinite(one).all() for one in answers):
        return Shares(switch, kind, 0.0, (), "it never trips at some flight attitude in some of the samples")
    first, total, variance = decomposed(answers[0], answers[1], dict(zip(sources, answers[2:], strict=True)))
    deviation = float(np.sqrt(variance))
    if deviation <= _NOTHING * abs(float(answers[0].mean())):
        return Shares(switch, kind, 0.0, (), "nothing that may be off moves it")
    rows = [Share(source, first[source], total[source]) for source in total]
    return Shares(switch, kind, deviation, tuple(sorted(rows, key=lambda row: -row.total)))


def decomposed(
    first: Floats, second: Floats, mixed: Mapping[str, Floats]
) -> tuple[dict[str, float], dict[str, float], float]:
    """First and total shares of each source, and the variance: f(A) (n, a), f(B) (n, a), f(AB) (n, a) of each source.

    The columns are the values of one more source, each as likely as the others: the attitude, where there are several.
    Of a sum of independent parts each source has the variance of its own part, first and total alike:

    >>> a, b = np.random.default_rng(0).uniform(size=(2, 4096, 2))
    >>> def f(x): return (3.0 * x[:, :1] + 4.0 * x[:, 1:])
    >>> swap = {k: np.where(np.arange(2) == i, b, a) for i, k in enumerate("xy")}
    >>> one, total, _ = decomposed(f(a), f(b), {k: f(x) for k, x in swap.items()})
    >>> [round(one[k], 1) for k in "xy"], [round(total[k], 1) for k in "xy"]  # 9 and 16 of 25
    ([0.4, 0.6], [0.4, 0.6])
    """
    mean = (first.mean() + second.mean()) / 2.0
    first, second = first - mean, second - mean
    mixed = {source: one - mean for source, one in mixed.items()}
    variance = float((np.square(first).mean() + np.square(second).mean()) / 2.0)
    whole = variance or 1.0
    a, b = first.mean(axis=1), second.mean(axis=1)
    one = {s: float((b * (f.mean(axis=1) - a)).mean()) / whole for s, f in mixed.items()}
    total = {s: float(np.square(first - f).mean()) / 2.0 / whole for s, f in mixed.items()}
    if first.shape[1] > 1:
        both = np.concatenate([first, second])
        one[ATTITUDE] = float(np.square(both.mean(axis=0)).mean()) / whole
        total[ATTITUDE] = float(both.var(axis=1).mean()) / whole
    return one, total, variance
