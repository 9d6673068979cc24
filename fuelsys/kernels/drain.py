"""Quasi-static draining of a pool tree through one or several outlets, and what is held when the surface passes a mark."""

from __future__ import annotations

import numpy as np

from fuelsys.arrays import Flags, Floats, Ints
from fuelsys.kernels.compiled import compiled


@compiled
def node_at(parent: Ints, top: Floats, seed: int, level: float) -> int:
    """The pool that a point above a seed belongs to when the surface is at a level."""
    node = seed
    while parent[node] >= 0 and top[node] <= level:
        node = parent[node]
    return int(node)


@compiled
def drain(
    parent: Ints, children: Ints, floor: Floats, top: Floats, outlet_seed: Ints, outlet_level: Floats, full_level: float
) -> tuple[Floats, Floats, Flags]:
    """Drain from full through all outlets: -> end level, level its surface falls to, and whether it drains: (nodes,).

    The end level is where a pool stays when nothing more flows, NaN for a pool that has gone on as its two children. A
    pool that is cut off without an outlet stays at its saddle (it does not drain). Each pool drains to the lowest
    outlet in it; an outlet with a seed of -1 takes nothing.
    """
    n = parent.size
    stop = np.full(n, np.inf)
    reaches = np.zeros(n, np.bool_)
    for i in range(outlet_seed.size):
        if outlet_seed[i] < 0:
            continue
        node = node_at(parent, top, outlet_seed[i], outlet_level[i])
        stop[node] = min(stop[node], max(outlet_level[i], floor[node]))
        while node >= 0 and not reaches[node]:
            reaches[node] = True
            node = parent[node]
    end = np.full(n, np.nan)
    falls_to = np.full(n, np.inf)
    drains = np.zeros(n, np.bool_)
    for node in range(n - 1, -1, -1):  # parents first
        up = parent[node]
        if up >= 0 and not np.isnan(end[up]):  # the surface never comes down to where this pool would be one
            end[node], falls_to[node], drains[node] = end[up], falls_to[up], drains[up]
            continue
        full = floor[up] if up >= 0 else full_level
        drains[node] = reaches[node]
        one, two = children[node, 0], children[node, 1]
        if not reaches[node]:
            end[node] = full
        elif one >= 0 and (reaches[one] or reaches[two]):
            falls_to[node] = floor[node]
        else:
            end[node] = falls_to[node] = min(stop[node], full)
    return end, falls_to, drains


@compiled
def lowest(floor: Floats) -> float:
    """The lowest floor of a pool tree; not floor.min(), for which a cached kernel loads scipy's linear algebra, a quarter of a second."""
    low = np.inf
    for one in floor:
        low = min(low, one)
    return low


@compiled
def passing(
    parent: Ints,
    floor: Floats,
    top: Floats,
    falls_to: Floats,
    drains: Flags,
    mark_seed: int,
    mark_level: float,
    full_level: float,
    low: float,
) -> int:
    """The pool whose surface passes a mark as it falls; -1 where none does. low is the lowest floor.

    A surface that stops at the mark, to a billionth of the height, has not passed it: rounding must not decide.
    """
    if mark_seed < 0 or mark_level > full_level:
        return -1
    mark = node_at(parent, top, mark_seed, mark_level)
    if mark_level < floor[mark]:
        return -1
    hair = 1e-9 * (full_level - low)
    below = node_at(parent, top, mark_seed, mark_level - hair)
    if not drains[below] or falls_to[below] > mark_level - hair:
        return -1
    return mark


@compiled
def drain_many(
    parent: Ints,
    children: Ints,
    floor: Floats,
    top: Floats,
    full_level: float,
    outlet_seeds: Ints,
    outlet_levels: Floats,
    mark_seeds: Ints,
    mark_levels: Floats,
) -> tuple[Floats, Ints]:
    """Drain n times, with outlets and marks of their own: seeds and levels (n, outlets), (n, marks).

    -> (n, nodes) the level at which each pool stays, NaN for what is no pool of its own in the end, and (n, marks) the pool
    whose surface passes each mark, -1 where none does.
    """
    n, nodes = outlet_seeds.shape[0], parent.size
    stays, low = np.full((n, nodes), np.nan), lowest(floor)
    passes = np.empty((n, mark_seeds.shape[1]), np.int32)
    for i in range(n):
        end, falls_to, drains = drain(parent, children, floor, top, outlet_seeds[i], outlet_levels[i], full_level)
        for node in range(nodes):
            if not np.isnan(end[node]) and (parent[node] < 0 or np.isnan(end[parent[node]])):
                stays[i, node] = end[node]
        for k in range(mark_seeds.shape[1]):
            seed, level = mark_seeds[i, k], mark_levels[i, k]
            passes[i, k] = passing(parent, floor, top, falls_to, drains, seed, level, full_level, low)
    return stays, passes


@compiled
def _levels_when_passed(
    parent: Ints,
    floor: Floats,
    top: Floats,
    end: Floats,
    falls_to: Floats,
    drains: Flags,
    n_seeds: int,
    mark_seed: int,
    mark_level: float,
    full_level: float,
) -> tuple[bool, Floats]:
    """Levels of all seeds (s, 2) when the falling surface passes a mark; False where it never does.

    Column 0: all other pools with outlets are drained to their end; column 1: they have not begun to fall since they
    were cut off. The two differ only where outlets in other pools flow on their own.
    """
    levels = np.empty((n_seeds, 2))
    for i in range(n_seeds):
        levels[i, 0] = levels[i, 1] = end[i]
    mark = passing(parent, floor, top, falls_to, drains, mark_seed, mark_level, full_level, lowest(floor))
    if mark < 0:
        return False, levels
    on_path = np.zeros(parent.size, np.bool_)
    node = mark
    while node >= 0:
        on_path[node] = True
        node = parent[node]
    held = np.full((parent.size, 2), np.nan)
    for node in range(parent.size - 1, -1, -1):
        up = parent[node]
        if node == mark:
            held[node, 0] = held[node, 1] = mark_level
        elif up >= 0 and not np.isnan(held[up, 1]):
            held[node, 0], held[node, 1] = held[up, 0], held[up, 1]
        elif up >= 0 and drains[node] and not on_path[node]:
            held[node, 1] = floor[up]
    for i in range(n_seeds):
        for c in range(2):
            if not np.isnan(held[i, c]):
                levels[i, c] = held[i, c]
    return True, levels


@compiled
def levels_when_passed(
    parent: Ints,
    floor: Floats,
    top: Floats,
    end: Floats,
    falls_to: Floats,
    drains: Flags,
    n_seeds: int,
    mark_seeds: Ints,
    mark_levels: Floats,
    states: Ints,
    full_level: float,
) -> tuple[Flags, Floats]:
    """Which of k marks the falling surface passes (k,), and the levels of all seeds then (s, k), each in its state.

    State 0: all other pools with outlets are drained to their end; 1: they have not begun to fall since they were cut off.
    """
    passes, levels = np.zeros(mark_seeds.size, np.bool_), np.empty((n_seeds, mark_seeds.size))
    for k in range(mark_seeds.size):
        passes[k], both = _levels_when_passed(
            parent, floor, top, end, falls_to, drains, n_seeds, mark_seeds[k], mark_levels[k], full_level
        )
        for i in range(n_seeds):
            levels[i, k] = both[i, states[k]]
    return passes, levels
