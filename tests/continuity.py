"""Attitudes and places swept in small steps: every jump of a figure has an event that the answer names.

Run: python tests/continuity.py --bodies 40 [--seed 1]. A jump is what is left of a step when it is halved down to a millionth of a
degree or a nanometre. It is explained where the answer on its two sides names it: a pocket more or fewer or of another size, or a
mark that is passed on one side only. What is not is printed; exit code 1.
"""

from __future__ import annotations

import argparse
import sys
from collections.abc import Callable
from typing import NamedTuple

import numpy as np
from places import cavity_of, inner_points, low_points
from random_solids import random_body

from fuelsys.analysis.tank.draining import Drained, Opening
from fuelsys.analysis.tank.tilted import Tilted
from fuelsys.arrays import Floats
from fuelsys.model.built.cavity import Cavity, Spot
from fuelsys.model.stated.attitude import Attitude

STEPS = 60
LEAST_SHARE = 1e-4  # of the tank: smaller steps are no jumps
HALVINGS = 24


class Answer(NamedTuple):
    """What is told at one place of a sweep: figures as shares of the tank, and what it names."""

    figures: Floats
    named: tuple[int, bool]
    pockets: Floats


def answer(cavity: Cavity, attitude: Attitude, outlet: Spot, mark: Spot) -> Answer:
    """Fuel left by the outlet, what the largest pocket holds, and what is aboard when the mark is passed."""
    drained = Drained.of(cavity, attitude.up, (Opening(outlet, 0.0),), (mark,))
    pockets = drained.pockets()
    held = drained.passed(0)
    figures = np.array([drained.left_m3, np.nan if held is None else held]) / cavity.gross_m3
    return Answer(
        figures, (len(pockets), held is None), np.array([pocket.volume_m3 for pocket in pockets]) / cavity.gross_m3
    )


def jumps(at: Callable[[float], Answer], low: float, high: float) -> list[tuple[float, Answer, Answer]]:
    """Where a figure jumps between two ends of a sweep, with the answers on both sides."""
    found = []
    ends = np.linspace(low, high, STEPS + 1)
    answers = [at(float(x)) for x in ends]
    for a, b, left, right in zip(ends[:-1], ends[1:], answers[:-1], answers[1:], strict=True):
        for k in range(len(left.figures)):
            if _step(left, right, k) < LEAST_SHARE:
                continue
            x, y, here, there = float(a), float(b), left, right
            for _ in range(HALVINGS):
                middle = 0.5 * (x + y)
                between = at(middle)
                if _step(here, between, k) > _step(between, there, k):
                    y, there = middle, between
                else:
                    x, here = middle, between
            if _step(here, there, k) >= LEAST_SHARE:
                found.append((x, here, there))
    return found


def _step(one: Answer, other: Answer, k: int) -> float:
    """How far a figure is from one to the other; a figure that is there on one side only is the tank."""
    a, b = one.figures[k], other.figures[k]
    return float(np.isnan(a) != np.isnan(b)) if np.isnan(a) or np.isnan(b) else abs(float(a - b))


def explained(one: Answer, other: Answer) -> bool:
    """Does the answer name what has happened between its two sides?"""
    return one.named != other.named or bool(
        np.abs(np.sort(one.pockets) - np.sort(other.pockets)).max(initial=0.0) >= LEAST_SHARE / 10.0
    )


def sweeps(seed: int) -> list[tuple[str, Callable[[float], Answer], float, float]]:
    """Three sweeps of one random body: pitch, roll and the outlet's place along a line through the tank."""
    body = random_body(seed)
    cavity, rng = cavity_of(body), np.random.default_rng(seed)
    pitch, roll = rng.uniform(-12.0, 12.0, 2) * (seed % 3 > 0)
    level = Attitude.of_degrees(pitch, roll)
    low = low_points(Tilted.of(cavity, level.up), body, rng, 1)
    points = low + inner_points(body, rng, 3 - len(low))
    outlet, mark = cavity.spot("outlet", points[0]), cavity.spot("mark", points[1])

    def place(share: float) -> Answer:
        spot = cavity.spot("outlet", points[0] + share * (points[2] - points[0]))
        if spot.off_m > 0.0:  # the door refuses it
            return Answer(np.full(2, np.nan), (-1, True), np.empty(0))
        return answer(cavity, level, spot, mark)

    return [
        ("pitch", lambda x: answer(cavity, Attitude.of_degrees(x, roll), outlet, mark), -15.0, 15.0),
        ("roll", lambda x: answer(cavity, Attitude.of_degrees(pitch, x), outlet, mark), -15.0, 15.0),
        ("outlet", place, 0.0, 1.0),
    ]


def main() -> int:
    """Sweep, halve, tell."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--bodies", type=int, default=40)
    parser.add_argument("--seed", type=int, default=1)
    asked = parser.parse_args()
    found, unexplained = 0, 0
    for seed in range(asked.seed, asked.seed + asked.bodies):
        for name, at, low, high in sweeps(seed):
            for where, one, other in jumps(at, low, high):
                found += 1
                if not explained(one, other):
                    unexplained += 1
                    print(f"body {seed}, {name} {where!r}: {one} and {other}", flush=True)
    print(f"{3 * asked.bodies} sweeps, {found} jumps, {unexplained} that no event explains")
    return 1 if unexplained else 0


if __name__ == "__main__":
    sys.exit(main())
