"""A system of rates carried forward in steps whose error is controlled: linearly implicit, so that fast parts do not hold it up.

Rosenbrock's method of second order with an estimate of third (Shampine and Reichelt, "The MATLAB ODE suite", 1997, their
formulas from memory; tests/analysis/test_flight.py holds order and error to closed forms). Where the rates keep the sum of the unknowns,
every step keeps it to rounding, since one row of the Jacobian is made up from the others.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from math import sqrt

import numpy as np

from fuelsys.arrays import Floats

Rates = Callable[[Floats], Floats]  # unknowns (n,) -> how fast each grows (n,)

_D = 1.0 / (2.0 + sqrt(2.0))
_E = 6.0 + sqrt(2.0)
_LEAST_S = 1e-6  # a step that would have to be shorter is taken all the same


@dataclass(frozen=True, eq=False)
class Stretch:
    """One step, from begin on and length long: start (n,), and its two stages."""

    begin_s: float
    length_s: float
    start: Floats
    one: Floats
    two: Floats

    def at(self, share: float) -> Floats:
        """The unknowns at a share of the step, 0 to 1."""
        parts = share * (1.0 - share) * self.one + share * (share - 2.0 * _D) * self.two
        found: Floats = self.start + self.length_s / (1.0 - 2.0 * _D) * parts
        return found


def stretches(
    rates: Rates,
    start: Floats,
    begin_s: float,
    end_s: float,
    hair: Floats,
    tolerance: Floats,
    longest_s: float,
    made_up: int | None = None,
) -> Iterator[Stretch]:
    """Steps from begin to end, each off by no more than the tolerance (n,); hair (n,) is what slopes are taken over.

    made_up: the sum of the unknowns is kept, and this one takes what is left over.

    A tank that drains at a rate in proportion to what it holds, 1 to exp(-1):

    >>> steps = stretches(lambda y: -y, np.ones(1), 0.0, 1.0, np.full(1, 1e-6), np.full(1, 1e-7), 1.0)
    >>> abs(list(steps)[-1].at(1.0)[0] - np.exp(-1.0)) < 1e-5
    np.True_
    """
    at_s, here, first = begin_s, np.array(start), rates(start)
    length_s = min(longest_s, end_s - begin_s)
    while at_s < end_s:
        slope = _slope(rates, here, first, hair)
        if made_up is not None:
            slope[made_up] -= slope.sum(axis=0)
        while True:
            length_s = min(length_s, longest_s, end_s - at_s)
            step, after, last, error = _stepped(rates, here, first, slope, at_s, length_s)
            worst = float((np.abs(error) / tolerance).max())
            share = 0.9 * max(worst, 1e-6) ** (-1.0 / 3.0)
            if worst <= 1.0 or length_s <= _LEAST_S:
                break
            length_s = max(length_s * min(0.8, max(0.1, share)), _LEAST_S)
        yield step
        at_s = end_s if length_s >= end_s - at_s else at_s + length_s
        here, first = after, last
        length_s *= min(5.0, max(1.0, share))


def _slope(rates: Rates, here: Floats, first: Floats, hair: Floats) -> Floats:
    """How each rate changes with each unknown, by differences: (n, n)."""
    found = np.zeros((here.size, here.size))
    for k in np.flatnonzero(hair):
        moved = here.copy()
        moved[k] -= hair[k]
        found[:, k] = (first - rates(moved)) / hair[k]
    return found


def _stepped(
    rates: Rates, here: Floats, first: Floats, slope: Floats, at_s: float, length_s: float
) -> tuple[Stretch, Floats, Floats, Floats]:
    """A step, where it ends, the rates there, and its error."""
    inverse = np.linalg.inv(np.eye(here.size) - length_s * _D * slope)
    one = inverse @ first
    middle = rates(here + 0.5 * length_s * one)
    two = inverse @ (middle - one) + one
    after = here + length_s * two
    last = rates(after)
    three = inverse @ (last - _E * (two - middle) - 2.0 * (one - first))
    return Stretch(at_s, length_s, here, one, two), after, last, length_s / 6.0 * (one - 2.0 * two + three)
