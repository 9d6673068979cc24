"""Volume against level at an attitude, by level step or by volume step."""

from __future__ import annotations

import numpy as np

from fuelsys.analysis.tank.tilted import Tilted
from fuelsys.arrays import Floats, Ints
from fuelsys.errors import QuestionError
from fuelsys.model.built.cavity import Cavity
from fuelsys.model.found.levels import LevelRow, LevelTable
from fuelsys.model.stated.attitude import Attitude

MOST_ROWS = 10_000


def _steps(step: float, end: float, what: str) -> Floats:
    """0, step, 2 step, ... and the end itself."""
    if not step > 0.0:
        raise QuestionError(
            f"a {what} step of {step:g} makes no table", mend="Give a step greater than zero.", field=f"--{what}-step"
        )
    if end / step > MOST_ROWS:
        raise QuestionError(
            f"this {what} step gives {end / step:.0f} rows",
            mend=f"Give a larger step; {MOST_ROWS} rows are the most.",
            field=f"--{what}-step",
        )
    steps = np.arange(0.0, end, step)
    if steps.size > 1 and end - steps[-1] < 1e-9 * end:
        steps = steps[:-1]
    return np.append(steps, end)


def level_table(
    cavity: Cavity, attitude: Attitude, level_step_m: float | None = None, volume_step_m3: float | None = None
) -> LevelTable:
    """Rows from empty to full; one of the two steps, or twenty equal level steps.

    Levels count from the cavity's lowest point at the attitude; the whole cavity has one level (see common_from_m).
    """
    tilted = Tilted.of(cavity, attitude.up)
    height = tilted.high_m - tilted.low_m
    if volume_step_m3 is not None:
        volumes = _steps(volume_step_m3, cavity.gross_m3, "volume")
        levels = tilted.level_for(volumes)
        levels[0], levels[-1] = tilted.low_m, tilted.high_m
    else:
        levels = tilted.low_m + _steps(height / 20.0 if level_step_m is None else level_step_m, height, "level")
    volumes, areas = tilted.volume_and_area(levels)
    rows = tuple(
        LevelRow(float(h - tilted.low_m), float(v), float(max(a, 0.0)))
        for h, v, a in zip(levels, volumes, areas, strict=True)
    )
    return LevelTable(attitude, rows, one_pool_above_m(tilted) - tilted.low_m)


def one_pool_above_m(tilted: Tilted) -> float:
    """Level above which all pools of the cavity are one: its highest saddle that parts a volume worth naming.

    Saddles that part less than a millionth of the cavity are level faces seen through rounding, not pools.
    """
    tree = tilted.tree
    s = tree.seed_vertex.size
    for node in range(tree.parent.size - 1, s - 1, -1):
        seeds = [_seeds_below(tree.children, int(child), s) for child in tree.children[node]]
        held = tilted.by_seed(np.full((s, 1), tree.floor[node]))[:, 0]
        if min(float(held[part].sum()) for part in seeds) > 1e-6 * tilted.cavity.gross_m3:
            return float(tree.floor[node])
    return tilted.low_m


def _seeds_below(children: Ints, node: int, n_seeds: int) -> list[int]:
    """All seeds of a node's subtree."""
    found, waiting = [], [node]
    while waiting:
        node = waiting.pop()
        if node < n_seeds:
            found.append(node)
        else:
            waiting.extend(int(child) for child in children[node])
    return found
