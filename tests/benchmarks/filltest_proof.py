"""What a fill test's fit is worth, on made-up tests: prints six kinds of shares.

Run: PYTHONPATH=tests:tests/analysis python tests/benchmarks/filltest_proof.py [TESTS]

Bands: how often the truth lies in the band of 90 %, of each figure and of what the tank holds at the middle reading, where tanks are off as
built ones are, and where they are off as widely as the fit itself expects. Slips: how often one planted mistake is named, and how often
a good line is named beside it. Clean: how often nobody is named. Trips: tanks of another mesh with bodies, a coating and up to 0.8 degrees
of tilt, which is the tank's own in one half of them and the ground's in the other: how often there is no less fuel than is counted when a
mark is passed, at all flight attitudes and parked, with and without lamps noted; the same of the stick's marks. Places: the tilt that is
found of 0.4 degrees, with the stick put in at one, two and three places. Dry lines: how often a can that is noted twice while the stick is
dry is named, or counted as not poured, and how often a sound sheet is taken for one.
"""

from __future__ import annotations

import sys
from dataclasses import replace
from math import radians

import numpy as np
from fillsheets import (
    SPREAD,
    built_otherwise,
    dipped,
    example,
    made,
    poured,
    tested_tank,
    true_trip_m3,
    with_lamps,
    with_marks,
)
from scipy import stats
from test_filltest_fit import MEANT, model_for, planted

from fuelsys.analysis.fills.data import Data
from fuelsys.analysis.fills.filltest import fill_test
from fuelsys.analysis.fills.fit import MOST, USUAL, figures, solve, weighted
from fuelsys.analysis.fills.measured import with_measured
from fuelsys.analysis.fills.model import none
from fuelsys.analysis.fills.solved import Solved
from fuelsys.analysis.fills.suspects import suspects
from fuelsys.analysis.tank.switches import drained_with
from fuelsys.arrays import Floats
from fuelsys.errors import QuestionError
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


def trips(count: int, places: int, *, lamps: bool) -> None:
    """Print how often what is counted at trips is there, how much more there is, and the same of the stick's marks."""
    layout, tank = example(), with_marks(dipped(places))
    ground, spare, marks, refused = layout.design.normal("ground"), [], [], 0
    for seed in range(count):
        turn = radians(0.8) * np.random.default_rng((11, seed)).random()
        true = built_otherwise(seed, turn, places)
        sheet = poured(true, 3e-3, 16, 1e-3)
        tested = tested_tank(tank, with_lamps(sheet, true, tank) if lamps else sheet)
        one = replace(layout, tanks=tuple(tested if t.name == "left" else t for t in layout.tanks))
        try:
            found = with_measured(one).tank("left")
        except QuestionError:
            refused += 1
            continue
        by = true.attitude if seed % 2 else ground  # the tank's own tilt, or the ground's
        off = by.pitch_rad - ground.pitch_rad, by.roll_rad - ground.roll_rad
        spare.append(
            [
                true_trip_m3(
                    true, tested, switch, replace(at, pitch_rad=at.pitch_rad + off[0], roll_rad=at.roll_rad + off[1])
                )
                - (drained_with(found, at, tank.design.switch).passed(k, 0.0, 1) or 0.0)
                for at in layout.design.envelope
                if at.phase == "flight"
                for k, switch in enumerate(tank.design.switch)
            ]
        )
        fit = fill_test(one, tested, ground, sheet).fit
        assert fit is not None
        assert fit.curve is not None
        along, _, held, within = fit.curve
        there = true.held(along, none())
        marks.append([np.mean(held - within <= there), np.mean(np.abs(held - there) <= within), np.mean(within)])
    litres, (low, band, wide) = np.array(spare) * 1e3, np.mean(marks, axis=0)
    print(
        f"trips, {places + 1} places, lamps {'noted' if lamps else 'not noted'}, {len(spare)} tests ({refused} refused): no less than"
        f" counted in {np.mean(litres >= -1e-6):.1%} of trips, in all of a test's in {np.mean((litres >= -1e-6).all(axis=1)):.1%}; worst"
        f" {litres.min():.2f} L, {litres.mean():.2f} L more in the mean; stick: no less than its mark less its band {low:.1%}, within"
        f" the band {band:.1%}, which is {wide * 1e3:.2f} L wide",
        flush=True,
    )


def tilts(count: int) -> None:
    """Print how far the tilt that is found is off, by the places at which the stick is put in."""
    layout = example()
    ground = layout.design.normal("ground")
    for places in range(3):
        off, held, table = [], [], []
        for seed in range(count):
            true = built_otherwise(seed, radians(0.4), places)
            fit = fill_test(layout, dipped(places), ground, poured(true, 5e-3, 10, 1e-3)).fit
            assert fit is not None
            assert fit.curve is not None
            said = {one.name: one for one in fit.together}
            by = {"pitch": true.attitude.pitch_rad - ground.pitch_rad, "roll": true.attitude.roll_rad - ground.roll_rad}
            off.append([said[name].value - at for name, at in by.items()])
            held.append([abs(said[name].value - at) <= said[name].within for name, at in by.items()])
            table.append(np.abs(fit.curve[2] - true.held(fit.curve[0], none())).max() / true.tank.cavity.gross_m3)
        rms = np.degrees(np.sqrt(np.mean(np.square(off), axis=0)))
        print(
            f"tilt of 0.4 degrees, {places + 1} places, {count} tests: pitch off by {rms[0]:.2f}, roll by {rms[1]:.2f} degrees (rms),"
            f" within what is said {np.mean(held, axis=0)}; corrected table within 1 % in {np.mean(np.array(table) < 0.01):.1%}, at most"
            f" {max(table):.2%}",
            flush=True,
        )


def blind(count: int, step_m3: float, places: int, *, twice: bool) -> None:
    """Print how often a can too many on a dry line is named or counted as not poured, and whether what is then told holds."""
    layout, tank = example(), dipped(places)
    ground, less, named, refused, held, kind = layout.design.normal("ground"), 0, 0, 0, [], []
    for seed in range(count):
        true = built_otherwise(seed, radians(0.4), places)
        sheet = poured(true, step_m3, int(50e-3 / step_m3), 1e-3)
        dry = sum(one.dry for one in sheet.entries)
        lines = [*sheet.entries[:dry], *sheet.entries[dry - 1 if twice else dry :]]
        sheet = replace(sheet, entries=tuple(replace(one, line=k + 2) for k, one in enumerate(lines)))
        try:
            fit = fill_test(layout, tank, ground, sheet).fit
        except QuestionError:
            refused += 1
            continue
        assert fit is not None
        named += bool(fit.suspects)
        less += fit.fewer is not None
        if not fit.suspects:
            _, holds_m3, within_m3 = fit.capacity.gross_m3
            over_m3 = holds_m3 - true.tank.cavity.gross_m3
            held.append(abs(over_m3) <= within_m3)
            kind.append(over_m3)
    print(
        f"dry lines, cans of {step_m3 * 1e3:g} L, {places + 1} places, {'one noted twice' if twice else 'all sound'}, {count} tests: a"
        f" line named in {named}, refused {refused}, counted as not poured in {less}; else what is told of the capacity holds in"
        f" {sum(held)} of {len(held)}; more told than there is by {max(kind, default=0.0) * 1e3:.2f} L at most,"
        f" {np.mean(kind or [0.0]) * 1e3:.2f} L in the mean",
        flush=True,
    )


def main(count: int) -> None:
    """Print the shares."""
    for name, spread in (("as built", SPREAD), ("as widely as expected", USUAL)):
        used, *shares = bands(count, spread)
        told = ", ".join(f"{what} {share:.1%}" for what, share in zip((*PARAMETERS, "held"), shares, strict=True))
        print(f"bands of 90 %, {name}, {used:.0f} tests: {told}", flush=True)
    for places, lamps in ((0, False), (0, True), (2, False)):
        trips(count, places, lamps=lamps)
    tilts(count)
    for step_m3, places in ((5e-3, 0), (2.5e-3, 0), (5e-3, 2), (2.5e-3, 2)):
        for twice in (False, True):
            blind(count, step_m3, places, twice=twice)
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
