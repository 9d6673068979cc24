"""Steady flow in a network: flows that balance at every node and potentials that every edge agrees with, by Newton's method.

An edge takes from the potential what its law says of its flow, and more the more flows: loss(q) grows with q. Then the flows
are where a convex function (the sum of each edge's integral of its loss, less what fixed potentials give) is least among
all flows that balance, so there is one answer, and Newton's steps with a search along each come to it from anywhere.
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from fuelsys.arrays import Flags, Floats, Ints

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
    free = np.flatnonzero(np.isnan(potential))
    tied = np.zeros((free.size, start.size))  # +1 where an edge leaves a free node, -1 where it comes to it
    row = np.full(potential.size, -1)
    row[free] = np.arange(free.size)
    for side, sign in ((start, 1.0), (end, -1.0)):
        here = np.flatnonzero(row[side] >= 0)
        tied[row[side[here]], here] += sign
    at, flows = potential.copy(), np.array(first, dtype=np.float64)
    at[free] = 0.0
    across = at[start] - at[end]
    loss, slope = losses(flows)
    for step in range(MOST_STEPS):
        weight = 1.0 / slope
        # What is found are changes: edges of 1e18 Pa for 1 m3/s beside others of 1e5 leave a sum of weights few digits of theirs.
        balance = -drawn[free] - tied @ (flows + weight * (across - loss))
        at[free] += np.linalg.solve((tied * weight) @ tied.T, balance) if free.size else 0.0
        across = at[start] - at[end]
        change = weight * (across - loss)
        size = max(np.abs(at).max(initial=0.0), np.abs(loss).max(initial=0.0), 1e-30)
        if step and np.abs(across - loss).max(initial=0.0) <= _EXACT * size:
            return at, flows + change
        share, (loss, slope) = _along(losses, flows, loss, change, across) if step else (1.0, losses(flows + change))
        flows = flows + share * change
    raise NotSteadyError


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
