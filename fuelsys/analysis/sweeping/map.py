"""Unusable fuel over a grid of pitch and roll: a sweep, row by row."""

from __future__ import annotations

from collections.abc import Sequence
from concurrent.futures import Executor
from functools import partial

import numpy as np

from fuelsys.analysis.sweeping.sweeps import Progress, sweep, untold
from fuelsys.analysis.tank.draining import Drained, Opening
from fuelsys.analysis.tank.unusable import outlets
from fuelsys.arrays import Floats
from fuelsys.errors import QuestionError
from fuelsys.model.built.cavity import Cavity
from fuelsys.model.built.layout import FittedTank
from fuelsys.model.stated.attitude import Attitude


def _row(cavity: Cavity, openings: Sequence[Opening], rolls_rad: Floats, pitch_rad: float) -> Floats:
    """Unusable fuel at one pitch over all rolls: (r,) -> (r,)."""
    attitudes = (Attitude("", "flight", float(pitch_rad), float(roll)) for roll in rolls_rad)
    return cavity.behind * np.array([Drained.of(cavity, attitude.up, openings).left_m3 for attitude in attitudes])


def unusable_map(
    tank: FittedTank,
    pitches_rad: Floats,
    rolls_rad: Floats,
    executor: Executor | None = None,
    progress: Progress = untold,
    ahead: int | None = None,
    file: str = "",
) -> Floats:
    """Unusable fuel at every pitch (p,) and roll (r,): (p, r) in m³, the same whoever computes which row.

    progress is told the rows done and their number. QuestionError, which names the design's file,
    for a tank without an outlet.
    """
    openings = outlets(tank)
    if not openings:
        raise QuestionError(
            f"tank {tank.name} has no outlet",
            mend="Add [[tank.outlet]]: what stays behind is counted from it.",
            file=file,
            field=f"tank {tank.name}",
        )
    row = partial(_row, tank.cavity, openings, rolls_rad)
    rows = list(sweep(row, pitches_rad, executor, progress, ahead))
    return np.array(rows).reshape(len(pitches_rad), len(rolls_rad))
