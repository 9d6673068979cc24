"""Steady flow in a network: flows that balance at every node and potentials that every edge agrees with, by Newton's method.

An edge takes from the potential what its law says of its flow, and more the more flows: loss(q) grows with q. Then the flows
are where a convex function (the sum of each edge's integral of its loss, less what fixed potentials give) is least among
all flows that balance, so there is one answer, and Newton's steps with a search along each come to it from anywhere.
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from fuelsys.arrays import Flags, Floats, Ints
from fuelsys.kernels.compiled import compiled

# Flows (m,) -> what each edge takes from the potential, and by how much more for each unit of flow: (m,), (m,) above 0.
Losses = Callable[[Floats], tuple[Floats, Floats]]

MOST_STEPS = 200
_EXACT = 1e-10  # of the largest potential or loss: rounding alone leaves some 1e-12 where a branch stands still


class NotSteadyError(ArithmeticError):
    """No steady state was found in MOST_STEPS steps: the edges' laws are not what they should be."""


def reached(start: Ints, end: Ints, fixed: Flags) -> Flags:
    """Nodes that edges tie to a node of fixed potential: (n,). What is drawn at any other cannot come from anywhere."""
    found, edges, known = (
        fixed.tolist(),
        [*zip(start.tolist(), end.tolist(), strict=True)],
        -1,
    )  # lists: faster for so few
    while known != (known := sum(found)):
        for a, b in edges:
            found[a] = found[b] = found[a] or found[b]
    return np.array(found, np.bool_)


def steady(
    start: Ints, end: Ints, potential: Floats, drawn: Floats, losses: Losses, first: Floats
) -> tuple[Floats, Floats]:
    """Potentials (n,) and flows (m,), positive from start to end.

    potential holds the fixed ones, NaN where it is to be found; drawn is what leaves the network at each node (n,), looked
    at where the potential is to be found; first are flows of the usual size, to begin with. Every node must be reached from
    one of fixed potential. NotSteadyError where no state is found.

    Two equal edges of loss q|q| from potential 2 to a node that draws 2 leave it 1, each with a flow of 1:

    >>> law = lambda q: (q * abs(q), 2 * abs(q) + 1e-9)
    >>> at, flows = steady(np.array([0, 0]), np.array([1, 1]), np.array([2.0, np.nan]), np.array([0.0, 2.0]), law, np.ones(2))
    >>> at.round(9).tolist(), flows.round(9).tolist()
    ([2.0, 1.0], [1.0, 1.0])
    """
    ends = start.astype(np.int32, copy=False), end.astype(np.int32, copy=False)
    at, flows = np.where(np.isnan(potential), 0.0, potential), np.array(first, dtype=np.float64)
    loss, slope = losses(flows)
    for step in range(MOST_STEPS):
        across, change = np.empty(flows.size), np.empty(flows.size)
        size, off = _newton(*ends, potential, drawn, flows, loss, slope, at, across, change)
        if step and off <= _EXACT * max(size, 1e-30):
            return at, flows + change
        share, (loss, slope) = _along(losses, flows, loss, change, across) if step else (1.0, losses(flows + change))
        flows = flows + share * change
    raise NotSteadyError


@compiled
def _newton(
    start: Ints,
    end: Ints,
    potential: Floats,
    drawn: Floats,
    flows: Floats,
    loss: Floats,
    slope: Floats,
    at: Floats,
    across: Floats,
    change: Floats,
) -> tuple[float, float]:
    """One step from potentials at, which it changes; -> across each edge, its flow's change, the largest size, the largest misfit."""
    row, count = np.full(at.size, -1, np.int32), 0
    for n in range(at.size):
        if np.isnan(potential[n]):
            row[n], count = count, count + 1
    # What is found are changes: edges of 1e18 Pa for 1 m3/s beside others of 1e5 leave a sum of weights few digits of theirs.
    tied, balance = np.zeros((count, count)), np.zeros(count)
    for n in range(at.size):
        if row[n] >= 0:
            balance[row[n]] = -drawn[n]
    for k in range(flows.size):
        i, j, weight = row[start[k]], row[end[k]], 1.0 / slope[k]
        if start[k] == end[k]:
            continue
        goes = flows[k] + weight * (at[start[k]] - at[end[k]] - loss[k])
        if i >= 0:
            balance[i] -= goes
            tied[i, i] += weight
        if j >= 0:
            balance[j] += goes
            tied[j, j] += weight
        if i >= 0 and j >= 0:
            tied[i, j] -= weight
            tied[j, i] -= weight
    _solve(tied, balance)
    for n in range(at.size):
        if row[n] >= 0:
            at[n] += balance[row[n]]
    for k in range(flows.size):
        across[k] = at[start[k]] - at[end[k]]
        change[k] = (across[k] - loss[k]) / slope[k]
    return max(_most(at), _most(loss)), _most(across - loss)


@compiled
def _solve(matrix: Floats, right: Floats) -> None:
    """Put the solution in place of the right side: elimination with the largest pivot of each column; NaN where there is none."""
    n = right.size
    for k in range(n):
        best = k
        for i in range(k + 1, n):
            if abs(matrix[i, k]) > abs(matrix[best, k]):
                best = i
        if best != k:
            for j in range(k, n):
                matrix[k, j], matrix[best, j] = matrix[best, j], matrix[k, j]
            right[k], right[best] = right[best], right[k]
        for i in range(k + 1, n):
            share = matrix[i, k] / matrix[k, k]
            if share != 0.0:
                for j in range(k + 1, n):
                    matrix[i, j] -= share * matrix[k, j]
                right[i] -= share * right[k]
    for k in range(n - 1, -1, -1):
        for j in range(k + 1, n):
            right[k] -= matrix[k, j] * right[j]
        right[k] /= matrix[k, k]


@compiled
def _most(values: Floats) -> float:
    """The largest size of some values; NaN where one is none."""
    most = 0.0
    for one in values:
        if np.isnan(one):
            return one
        most = max(most, abs(one))
    return most


def _along(
    losses: Losses, flows: Floats, loss: Floats, change: Floats, across: Floats
) -> tuple[float, tuple[Floats, Floats]]:
    """How much of a Newton step to take, and the losses there: all, or as far as the convex function falls."""

    def rise(lost: Floats) -> float:
        return float(change @ (lost - across))

    def at(share: float) -> tuple[Floats, Floats]:
        return losses(flows + share * change)

    falls, whole = rise(loss), at(1.0)
    rises = rise(whole[0])
    if abs(rises) <= 0.9 * abs(falls):
        return 1.0, whole
    low, high = 0.0, 1.0
    if rises < 0.0:
        while rise(at(2.0 * high)[0]) < 0.0 and high < 64.0:
            high *= 2.0
        low, high = high, 2.0 * high
    for _ in range(30):
        middle = (low + high) / 2.0
        here = at(middle)
        if abs(found := rise(here[0])) <= 0.3 * abs(falls):
            return middle, here
        low, high = (middle, high) if found < 0.0 else (low, middle)
    middle = (low + high) / 2.0
    return middle, at(middle)
