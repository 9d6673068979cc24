"""The fit of a fill test: known corrections come back within what it says, mistakes are named, clean sheets are left alone."""

from __future__ import annotations

import re
from dataclasses import replace
from math import radians
from typing import Any

import numpy as np
import pytest
from fillsheets import (
    NOISE_M,
    SPREAD,
    bench_model,
    built_otherwise,
    dipped,
    example,
    example_model,
    fitted,
    made,
    model_of,
    poured,
    sheet_of,
)
from manifold3d import Manifold
from numpy.testing import assert_allclose

from fuelsys.analysis.fills.answers import aicc, told
from fuelsys.analysis.fills.assured import at_marks
from fuelsys.analysis.fills.data import Data
from fuelsys.analysis.fills.filltest import fill_test
from fuelsys.analysis.fills.fit import MOST, USUAL, choose, figures, solve, weighted
from fuelsys.analysis.fills.foresee import sees
from fuelsys.analysis.fills.gauges import gauges
from fuelsys.analysis.fills.lamps import Marks
from fuelsys.analysis.fills.model import FillModel, Stick, none
from fuelsys.analysis.fills.pouring import Poured
from fuelsys.analysis.fills.solved import SHAPE_RAD, USUAL_TILT_RAD, Solved, shaped_rad
from fuelsys.analysis.fills.suspects import Suspected, suspects
from fuelsys.arrays import Floats
from fuelsys.model.found.filltest import (
    BLOCKS,
    Block,
    Capacities,
    FillFit,
    FillTest,
    GaugeSeen,
    LampSeen,
    Reading,
    Regraduated,
)
from fuelsys.model.stated.attitude import Attitude
from fuelsys.model.stated.fillsheet import Entry, Sheet, Typed
from fuelsys.model.stated.fittings import Switch
from fuelsys.model.stated.gauges import Probe
from fuelsys.report.shown import Shown
from fuelsys.report.tables.fill_words import left_out, sure_from, verdict

SEEDS = 50  # 200 were tried by hand: 93 to 100 % of the intervals held


def model_for(seed: int) -> FillModel:
    """Each fourth test in the example's wing tank, the others in forty sound tanks at random."""
    return example_model("left") if seed % 4 == 0 else bench_model(seed % 40)


def truth_of(rng: np.random.Generator, blocks: tuple[Block, ...]) -> Floats:
    truth, free = none(), list(figures(blocks))
    truth[free] = rng.normal(size=len(free)) * SPREAD[free]
    return truth


@pytest.mark.parametrize("seed", range(6))
def test_the_model_reads_back_what_it_holds(seed: int) -> None:
    model = model_for(seed)
    truth = truth_of(np.random.default_rng(seed), BLOCKS)
    volumes = np.linspace(0.1, 0.8, 15) * model.tank.cavity.gross_m3
    assert_allclose(model.held(model.readings(volumes, truth), truth), volumes, rtol=1e-9)
    read = model.readings(volumes, none())
    step = 1e-6 * USUAL
    for k in range(5):
        moved = np.zeros(5)
        moved[k] = step[k]
        slope = (model.held(read, moved) - model.held(read, -moved)) / (2.0 * step[k])
        assert_allclose(model.jacobian(read, none())[:, k], slope, rtol=1e-3, atol=1e-7 * np.abs(slope).max())


def test_what_places_of_one_line_share_weighs_as_one_reading() -> None:
    # Two lines, of three places and of one. An error of the first's total moves its readings by 1 / slope each.
    model: Any = None
    data = Data(
        model,
        np.zeros(4),
        np.zeros(4),
        np.zeros((4, 0)),
        none(),
        np.array([0, 0, 0, 1], np.int32),
        np.array([0, 1, 2, 0], np.int32),
    )
    slopes = np.array([2.0, 4.0, 5.0, 3.0])
    mixed = data.mixed(slopes)
    assert_allclose(mixed[3], [0.0, 0.0, 0.0, 1.0])
    assert_allclose(
        mixed[1:3] @ np.append(1.0 / slopes[:3], 0.0), 0.0, atol=1e-15
    )  # differences know nothing of the total
    assert_allclose(mixed[1:3] @ mixed[1:3].T, np.eye(2), atol=1e-15)
    share = 1.0 / slopes[:3] / np.linalg.norm(1.0 / slopes[:3])
    assert_allclose(mixed[0, :3], share / np.sqrt(3.0))


def test_a_linear_case_is_that_of_another_solver() -> None:
    """Scale and one unknown volume are linear: numpy's least squares, with the usual spread as one more row, agrees."""
    model = bench_model(0)
    test = made(model, np.array([0.05, 0.0, 0.0, 0.0, 0.0]), np.random.default_rng(5))
    jump = (np.arange(test.readings_m.size) >= 6).astype(float)
    data = Data.of(model, test.readings_m, test.volumes_m3).with_extra(jump)
    fit = solve(data, (0,), NOISE_M)
    held, slopes = model.held(test.readings_m, none()), model.slopes(test.readings_m, none())
    rows = np.column_stack([held / slopes, -jump / slopes])
    rows = np.vstack([rows, [NOISE_M / USUAL[0], 0.0]])
    right = np.append((test.volumes_m3 - held) / slopes, 0.0)
    other, *_ = np.linalg.lstsq(rows, right, rcond=None)
    assert_allclose([fit.correction[0], fit.extra_m3[0]], other, rtol=1e-6)
    inverse = np.linalg.inv(rows[:-1].T @ rows[:-1] / fit.noise_m**2 + np.diag([USUAL[0] ** -2, 0.0]))
    assert_allclose(fit.covariance, inverse, rtol=1e-6)


def test_the_criterion_for_few_readings_is_the_published_one() -> None:
    # n ln(RSS / n) + 2 k + 2 k (k + 1) / (n - k - 1): Hurvich and Tsai, Biometrika 76 (1989) 297, from memory. With n = 10 readings
    # 1 mm off each and k = 2 figures + 1 volume + the noise = 4: 10 ln 1e-6 + 8 + 40 / 5 = -122.155; with n = 5 there is none.
    def fit(n: int) -> Solved:
        return Solved(none(), (0, 1), np.zeros(1), np.eye(3), np.full(n, 1e-3), 0.0, 1e-3, n - 3)

    assert_allclose(aicc(fit(10)), -122.155106, rtol=1e-8)
    assert aicc(fit(5)) is None


def test_no_tank_is_taken_to_be_off_by_more_than_the_most() -> None:
    assert_allclose(MOST, [0.5, 0.2, radians(10.0), radians(10.0), 0.010])
    model = bench_model(0)
    test = made(model, np.array([-0.6, 0.0, 0.0, 0.0, 0.0]), np.random.default_rng(5))
    fit = solve(Data.of(model, test.readings_m, test.volumes_m3), (0,), NOISE_M)
    assert_allclose(fit.correction[0], -0.5, rtol=1e-3)


@pytest.mark.parametrize("blocks", [("scale",), ("scale", "offset"), ("scale", "tilt"), BLOCKS], ids="-".join)
def test_known_corrections_come_back_within_their_intervals(blocks: tuple[Block, ...]) -> None:
    """Coverage of intervals of 95 %; what the readings hardly show is settled by the usual spreads, which are
    wider than what is drawn here, and may be covered more often."""
    free = figures(blocks)
    hits = np.zeros((SEEDS, len(free)), np.bool_)
    for seed in range(SEEDS):
        rng = np.random.default_rng((1, seed))
        model, truth = model_for(seed), truth_of(rng, blocks)
        test = made(model, truth, rng)
        data, noise = weighted(Data.of(model, test.readings_m, test.volumes_m3))
        fit = solve(data, free, noise, data.at)
        hits[seed] = [abs(fit.correction[k] - truth[k]) <= fit.within(np.eye(5)[k]) for k in free]
    share = hits.mean(axis=0)
    assert (share >= 0.87).all()  # 0.95 less two and a half standard deviations of so many seeds
    assert hits[:, 0].mean() <= 1.0


def test_what_the_tank_holds_is_within_whatever_is_kept() -> None:
    """Capacity and the quantity at a mark: all corrections at once are off, most too little to show, the simplest is kept."""
    held, gross, used = [], [], 20
    for seed in range(used):
        rng = np.random.default_rng((2, seed))
        model, truth = model_for(seed), truth_of(rng, BLOCKS if seed % 2 else ("scale", "offset"))
        test = made(model, truth, rng)
        choice = choose(Data.of(model, test.readings_m, test.volumes_m3))
        floor, whole = -float(model.floor_m2.sum()), model.tank.cavity.gross_m3

        def quantity(c: Floats, floor: float = floor, whole: float = whole) -> float:
            return float((1.0 + c[0]) * (whole - c[4] * floor))

        middle = np.median(test.readings_m, keepdims=True)

        def at_mark(c: Floats, model: FillModel = model, at: Floats = middle) -> float:
            return float(model.held(at, c)[0])

        for said, what, by in ((gross, quantity, choice.solved), (held, at_mark, choice.used)):
            value, within = told(choice, what, by)
            said.append(abs(value - what(truth)) <= within)
    assert np.mean(gross) >= 0.9
    assert np.mean(held) >= 0.9


def test_the_simplest_is_kept() -> None:
    kept = {"none": 0, "scale": 0}
    for seed in range(10):
        rng = np.random.default_rng((3, seed))
        for name, truth in (("none", none()), ("scale", np.array([0.06, 0.0, 0.0, 0.0, 0.0]))):
            model = model_for(seed)
            test = made(model, truth, rng)
            kept[name] += choose(Data.of(model, test.readings_m, test.volumes_m3)).kept == (
                () if name == "none" else ("scale",)
            )
    assert min(kept.values()) >= 9, kept


def planted(kind: str, seed: int) -> tuple[FillModel, Data, Suspected | None]:
    """A sheet of a tank that is off in all ways, with one mistake of a kind, or none."""
    rng = np.random.default_rng((4, seed))
    model = model_for(seed)
    test = made(model, truth_of(rng, BLOCKS), rng)
    volumes, read = test.volumes_m3.copy(), test.readings_m.copy()
    n, pour = read.size, float(np.median(np.diff(volumes)))
    k = int(rng.integers(2, n - 2))
    match kind:
        case "can forgotten":
            volumes[k:] -= pour
        case "unit mistaken":
            volumes[k:] += pour * (1.0 / 3.785411784 - 1.0) if seed % 2 else pour * (4.54609 - 1.0)
        case "digits switched":
            while True:  # tens and ones of the millimetres
                digits = f"{read[k] * 1e3:05.1f}"
                if digits[1] != digits[2]:
                    break
                k = k % (n - 2) + 1
            read[k] = float(digits[0] + digits[2] + digits[1] + digits[3:]) / 1e3
    wanted = None if kind == "none" else Suspected(k, "reading" if kind == "digits switched" else "total")
    return model, Data.of(model, read, volumes), wanted


@pytest.mark.parametrize("kind", ["none", "can forgotten", "unit mistaken", "digits switched"])
def test_mistakes_are_named_with_their_line(kind: str) -> None:
    used = 20  # 100 were tried by hand: all named, one false alarm
    right = 0
    for seed in range(used):
        _, data, wanted = planted(kind, seed)
        found, _ = suspects(data)
        right += found[:1] == ([] if wanted is None else [wanted])
    assert right >= 0.95 * used


MEANT = {"can forgotten": "not noted", "unit mistaken": "a unit is mistaken", "digits switched": "digits are switched"}


@pytest.mark.parametrize("kind", list(MEANT))
def test_what_a_mistake_could_mean(kind: str) -> None:
    """Through the sheet: the line in the file, and the meaning among those told."""
    layout, model = example(), example_model("left")
    attitude, right = layout.design.normal("ground"), 0
    for seed in range(6):
        rng = np.random.default_rng((5, seed))
        test = made(model, truth_of(rng, ("scale", "offset")), rng)
        clean = sheet_of(test.volumes_m3, test.readings_m)
        k = int(rng.integers(3, test.readings_m.size - 3))
        entries = list(clean.entries)
        one = entries[k]
        assert one.amount is not None
        assert one.stick is not None
        if kind == "can forgotten":
            before = entries[k - 1].amount
            assert before is not None
            entries[k - 1] = replace(entries[k - 1], amount=None)  # its pour went in, the sheet does not say so
            k -= 1
        elif kind == "unit mistaken":
            litres = one.amount.si * 1e3
            noted = round(litres / 3.785411784, 3)
            entries[k] = replace(one, amount=replace(one.amount, number=f"{noted}", si=noted / 1e3))
        else:
            text = one.stick.number
            while text[0] == text[1]:
                k -= 1
                one = entries[k]
                assert one.stick is not None
                text = one.stick.number
            swapped = text[1] + text[0] + text[2:]
            entries[k] = replace(one, stick=replace(one.stick, number=swapped, si=float(swapped) / 1e3))
        found = fill_test(layout, layout.tank("left"), attitude, replace(clean, entries=tuple(entries)))
        assert found.fit is not None
        told = {suspect.line: " ".join(suspect.meanings) for suspect in found.fit.suspects}
        right += MEANT[kind] in told.get(k + 2, "")
    assert right == 6


def test_a_tank_that_was_built_otherwise() -> None:
    """Steps of 5 L, a stick read to 1 mm, a tank of another mesh with bodies, a coating and 0.4 degrees of tilt: as drawn the
    table is some 4 % off, corrected within 1 % of the tank. By hand 40 seeds: drawn 3.5 to 5.0 %, corrected at most 0.7 %."""
    layout, drawn = example(), example_model("left")
    for seed, places in enumerate((0, 2)):
        true = built_otherwise(seed, radians(0.4), places)
        test = fill_test(layout, dipped(places), drawn.attitude, poured(true, 5e-3, 10, 1e-3))
        assert test.fit is not None
        assert test.fit.curve is not None
        along, uncorrected, corrected, within = test.fit.curve
        holds = true.held(along, none())
        off = [float(np.abs(curve - holds).max()) / true.tank.cavity.gross_m3 for curve in (uncorrected, corrected)]
        assert off[0] > 0.03, off
        assert off[1] < 0.01, off
        assert (
            np.abs(corrected - holds) <= within
        ).mean() > 0.5  # of another shape than any correction: 92 % of all by hand
        _, gross_m3, within_m3 = test.fit.capacity.gross_m3
        assert (
            abs(gross_m3 - true.tank.cavity.gross_m3) <= within_m3
        )  # 40 of 40 by hand, the figure itself 0.6 % off at most
        told = " ".join(verdict(test.fit, Shown()))
        assert "By the test the tank is smaller by" in told
        assert "tilted by" in told  # told beside what explains it as well, never "scale" alone
    found = {one.name: one for one in test.fit.together}  # with the stick put in at two other places the tilt itself
    for name, rad in (
        ("pitch", true.attitude.pitch_rad - drawn.attitude.pitch_rad),
        ("roll", true.attitude.roll_rad - drawn.attitude.roll_rad),
    ):
        assert abs(found[name].value - rad) <= found[name].within < radians(0.6)
    assert re.match(r"By the test the tank is smaller by 3\.\d % \(± 0\.\d\), tilted by 0\.[345]° \(pitch ", told)


def test_a_tilt_that_the_places_do_not_measure_is_wider_by_what_another_shape_makes_of_it() -> None:
    """Pitch by two places along the span is off by 1.3 degrees (rms, 140 tests) where the fit alone says 1.2: it says 1.7 or more, and
    what the places do measure hardly wider. A tank whose tilt the usual spread settles, or the places, is not either (by hand)."""
    layout = example()
    ground = layout.design.normal("ground")
    fit = fill_test(layout, dipped(1), ground, poured(built_otherwise(1, radians(0.4), 1), 5e-3, 10, 1e-3)).fit
    assert fit is not None
    said = {one.name: one.within for one in fit.together}
    assert radians(1.6) < said["pitch"] < radians(2.5)
    assert said["roll"] < radians(0.6)
    assert shaped_rad(radians(2.0), radians(2.0)) == shaped_rad(radians(0.1), radians(0.1)) == 0.0
    assert shaped_rad(radians(1.0), radians(2.0)) == pytest.approx(0.75 * SHAPE_RAD)


def test_what_another_shape_makes_of_a_figure_that_goes_along_with_a_tilt() -> None:
    """Scale and pitch bound as 0.01 to 0.02 rad: a pitch off by 2 x 0.55 degrees (t for many readings) moves the scale by half of that."""
    sd_rad = 0.02
    covariance = np.array([[1e-4, 0.5 * sd_rad**2], [0.5 * sd_rad**2, sd_rad**2]])
    fit = Solved(
        none(), (0, 2), np.zeros(0), covariance, np.zeros(9), 0.0, 1e-3, 7, over=1e6, apart=(0.1, USUAL_TILT_RAD)
    )
    shape_rad = radians(0.55) * (1.0 - (sd_rad / radians(2.0)) ** 2)
    scale, pitch, offset = np.eye(5)[[0, 2, 1]]
    assert fit.shape_within(pitch) == pytest.approx(1.95996 * shape_rad, rel=1e-4)
    assert fit.shape_within(scale) == pytest.approx(0.5 * 1.95996 * shape_rad, rel=1e-4)
    assert fit.shape_within(offset) == 0.0
    assert replace(fit, free=(0, 1)).shape_within(scale) == 0.0  # no tilt was free
    known = replace(fit, apart=(0.1, sd_rad))  # and none where the places alone measure it
    assert known.shape_within(scale) == 0.0


def test_what_a_person_is_told_of_lines_left_out_and_of_small_quantities() -> None:
    """By hand: marks at 5, 10, 20 L within 0.2, 0.15, 0.1 L are within 4, 1.5 and 0.5 %."""
    rows = [
        (2, None, "dry"),
        (3, 0.01, "pools apart"),
        (4, 0.05, ""),
        (9, 0.2, "air trapped"),
        (10, 0.2, "air trapped"),
        (11, None, ""),
    ]
    readings = tuple(Reading(line, 0.01, read, None, None, why) for line, read, why in rows)
    test = FillTest("left", "sheet.csv", LEVEL, "bottom", readings, (), None)
    assert [words.split(":")[:2] for words in left_out(test)] == [
        ["Left out of the fit, dry", " line 2"],
        ["Left out of the fit, pools apart", " line 3"],
        ["Left out of the fit, air trapped", " lines 9, 10"],
        ["No reading of the stick, so not in the fit", " line 11."],
    ]
    marks = tuple(Regraduated(v, 0.0, 0.0, 0.001, w) for v, w in ((0.005, 0.0002), (0.010, 0.00015), (0.020, 0.0001)))
    fit = FillFit((), (), (), (), 0.0, 0.0, 3, False, True, marks, Capacities((0.0, 0.0, 0.0), None))
    (told_of,) = sure_from(fit, Shown())
    assert told_of.startswith("Sure to 1 % of what they show from 20.000 L on; below that up to 4.0 % at 5.000 L.")
    assert sure_from(replace(fit, marks=marks[2:]), Shown()) == ["Every mark is sure to 1 % of what it shows."]
    assert "1 % of what they show nowhere: up to 4.0 %" in sure_from(replace(fit, marks=marks[:2]), Shown())[0]


def test_a_line_at_another_attitude_joins_the_fit_there() -> None:
    """A tank 4 % smaller whose stick reads 3 mm too high, read parked, and at each third total with a wing 2 degrees lower besides."""
    layout, parked = example(), example_model("left")
    slope = next(one for one in layout.design.envelope if one.name == "parked on a slope")
    there, truth = replace(parked, attitude=slope, kept={}), np.array([-0.04, 0.003, 0.0, 0.0, 0.0])
    test, entries = made(parked, truth, np.random.default_rng(9), n=12), []
    for k, one in enumerate(sheet_of(test.volumes_m3, test.readings_m).entries):
        entries.append(one)
        if k % 3 == 1:
            read = float(there.readings(test.volumes_m3[k : k + 1], truth)[0])
            typed = Typed(f"{read * 1e3:.0f}", "mm", "length", round(read, 3))
            entries.append(Entry(100 + k, stick=typed, attitude=slope.name))
    found = fill_test(layout, layout.tank("left"), parked.attitude, Sheet("sheet.csv", tuple(entries)))
    assert found.fit is not None
    assert (found.fit.suspects, found.fit.used) == ((), len(entries))
    elsewhere = [row for row in found.readings if row.attitude]
    assert len(elsewhere) >= 4
    for row in elsewhere:
        assert row.read_m is not None
        assert row.after_m is not None
        assert abs(row.read_m - row.after_m) < 1.5e-3
        stood_parked = float(parked.readings(np.array([row.total_m3]), truth)[0])
        assert abs(row.read_m - stood_parked) > 5e-3
    _, gross_m3, within_m3 = found.fit.capacity.gross_m3
    assert abs(gross_m3 - 0.96 * parked.tank.cavity.gross_m3) <= within_m3


BOX = fitted(Manifold.cube([0.6, 0.4, 0.2]), (np.array([0.3, 0.1, 0.0]), np.array([0.3, 0.1, 0.2])))
LEVEL, CLIMB = Attitude("level", "ground"), Attitude("climb", "flight", pitch_rad=radians(5.0))


def test_what_is_sure_at_a_mark_is_there() -> None:
    """A box of 0.6 x 0.4 m with 2 mm on its floor, drawn without: at 100 mm it holds 0.24 m² x 98 mm = 23.52 L, at any pitch that leaves
    its floor wet. A lamp that was seen decides, where the readings say otherwise."""
    model = model_of(BOX, LEVEL)
    reads = np.linspace(0.01, 0.19, 12)
    choice = choose(Data.of(model, reads, model.held(reads, np.array([0.0, 0.0, 0.0, 0.0, 0.002]))))
    switch = Switch(name="low", mark=["0.3 m", "0.2 m", "0.1 m"])
    tank = replace(BOX, design=BOX.design.model_copy(update={"switch": (switch,)}),
                   spots={"switch low": BOX.cavity.spot("switch low", np.array([0.3, 0.2, 0.1]))})  # fmt: skip
    level, climb = at_marks(tank, (LEVEL, CLIMB), choice, ())
    assert [level.attitude, climb.attitude] == [LEVEL, CLIMB]
    for one in (level, climb):
        assert one.drawn_m3 == pytest.approx(0.024)
        assert 0.022 < one.sure_m3 <= 0.02352
    for low, high, sure in ((0.0200, 0.0201, 0.0200), (0.0235, 0.0236, 0.0235), (0.0100, 0.0300, level.sure_m3)):
        seen = LampSeen("low", "comes on", (low, high), 0.024, (0.023, 0.025), "contradicted", "too late")
        assert at_marks(tank, (LEVEL,), choice, (seen,))[0].sure_m3 == pytest.approx(sure, rel=1e-6)


def test_neither_lines_nor_places_vouch_for_the_other() -> None:
    """Two lines with two places each, a fit that takes up half of each line and a tenth of each difference: 8 mm² over one line, 0.02 over
    1.8 differences; the other way round as well. One kind alone: all residuals over all that is left."""
    data = Data.of(model_of(BOX, LEVEL), np.full(4, 0.1), np.full(4, 0.024), np.array([0, 0, 1, 1], np.int32))
    told = np.array([0.5, 0.1, 0.5, 0.1])
    assert data.worse(np.array([2.0, 0.1, 2.0, 0.1]), told) == pytest.approx((8.0, 1.0, 1.0))
    assert data.worse(np.array([0.1, 3.0, 0.1, 3.0]), told) == pytest.approx((10.0, 1.8, 1.0))
    alone = Data.of(data.model, data.readings_m, data.totals_m3)
    assert alone.worse(np.array([2.0, 0.0, 2.0, 1.0]), told) == pytest.approx((9.0 / 2.8, 2.8, 2.8))


def test_a_gauge_is_held_against_the_level() -> None:
    """A probe from floor to roof of the box of 48 L, 240 ohm dry and 10 ohm wet: 230 ohm for 48 L, so 5 ohm too few at 20 L show
    48 x 5/230 = 1.0435 L too much, of which the line through all eleven takes a tenth up."""
    probe = Probe(name="probe", kind="probe", bottom=["0.3 m", "0.2 m", "0 m"], top=["0.3 m", "0.2 m", "0.2 m"])
    ends = {
        f"gauge probe {end}": BOX.cavity.spot(end, np.array([0.3, 0.2, z]))
        for end, z in (("bottom", 0.0), ("top", 0.2))
    }
    tank = replace(BOX, design=BOX.design.model_copy(update={"gauge": (probe,)}), spots=ends)
    marks = Marks(tank, LEVEL.up, -1.0, 1.0, lambda point_m, over_m: (over_m, over_m))
    litres = np.linspace(2.0, 46.0, 11)

    def seen(read: Floats) -> GaugeSeen:
        lines = [
            Poured(Entry(k, signals=(float(r),)), v * 1e-3, 0.0)
            for k, (v, r) in enumerate(zip(litres, read, strict=True))
        ]
        (found,) = gauges(model_of(tank, LEVEL), none(), lines, marks, "L")
        return found

    good = 240.0 - 230.0 * litres / 48.0
    found = seen(good)
    assert (found.dry, found.wet) == (pytest.approx(240.0), pytest.approx(10.0))
    assert found.most_m3 == pytest.approx(0.0, abs=1e-7)
    for point in found.points:
        assert point.shown == pytest.approx(240.0 - 230.0 * point.total_m3 / 0.048)
    off = [one.off_m3 for one in seen(good - 5.0 * (np.abs(litres - 19.6) < 1.0)).rows]
    assert off[4] == pytest.approx(1.0435e-3, rel=0.12)
    assert np.abs(np.delete(off, 4)).max() < 0.2e-3
    assert "shows the same at all lines" in seen(np.full(11, 5.0)).why
    short = [Poured(Entry(k, signals=(5.0,)), 1e-3 * k, 0.0) for k in (1, 2, 3)]
    assert "needs 4 lines" in gauges(model_of(tank, LEVEL), none(), short, marks, "L")[0].why


def test_what_a_sheet_will_tell_of_a_tilt() -> None:
    """A box 0.4 m across, level: two places D apart across it tell roll by the difference of their readings, each within 0.5 mm and the
    second place within 1 mm of where it is drawn: sqrt(2 x 0.5² / n + 1²) / D. One place in the middle tells none of it."""
    model, totals = model_of(BOX, LEVEL), np.linspace(0.004, 0.044, 11)
    other = Stick(np.array([0.0, 0.1, -0.1]), np.array([0.0, 0.0, 1.0]), 0.2, np.array([0.0, 0.1, -0.1]))
    alone, both = sees(model, (), totals), sees(model, (other,), totals)
    assert {"pitch", "roll"} <= set(alone.untold)  # 0.1 m from the middle, but a tilt and an offset are one there
    assert both.within[3] == pytest.approx(1.96 * np.hypot(0.5 * np.sqrt(2.0 / 11.0), 1.0) * 1e-3 / 0.2, rel=0.02)
    assert alone.place_m is not None
    assert alone.better[3] < 0.5 * alone.within[3] or alone.better[2] < 0.5 * alone.within[2]
