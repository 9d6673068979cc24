"""Parts of the fill test's model and fit, each by a closed form of a box, a wedge or three numbers."""

from __future__ import annotations

from dataclasses import replace
from math import exp, radians
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import solids
from fillsheets import bench_model, example, fitted, model_of
from flights import box, built, engine, line
from manifold3d import Manifold
from numpy.testing import assert_allclose

from fuelsys.analysis.fills.answers import _runs
from fuelsys.analysis.fills.data import Data
from fuelsys.analysis.fills.fit import AS_WELL, LEAST_NOISE_M, Choice, Solved, solve
from fuelsys.analysis.fills.model import air_trapped_above_m, none, stick_at
from fuelsys.analysis.fills.suspects import Suspected, _taken
from fuelsys.errors import QuestionError
from fuelsys.model.built.layout import FittedTank
from fuelsys.model.stated.attitude import Attitude

LEVEL = Attitude("level", "ground")


def stick(zero: str, low: float = 0.0, high: float = 0.2) -> FittedTank:
    return fitted(Manifold.cube([0.6, 0.4, 0.2]), (np.array([0.3, 0.2, low]), np.array([0.3, 0.2, high])), zero)


@pytest.mark.parametrize("zero", ["bottom", "top"])
def test_a_stick_stands_up_or_is_refused(zero: str) -> None:
    found = stick_at(example(), stick(zero), LEVEL)
    assert found is not None
    assert (found.along[2], found.length_m) == (1.0 if zero == "bottom" else -1.0, pytest.approx(0.2))
    with pytest.raises(QuestionError, match="the stick's top is not above its bottom") as caught:
        stick_at(example(), stick(zero, 0.2, 0.0), LEVEL)
    assert caught.value.field == "tank bench.dipstick"
    on_its_nose = Attitude("nose", "ground", pitch_rad=radians(-90.001))
    with pytest.raises(QuestionError, match="is not above"):
        stick_at(example(), stick(zero), on_its_nose)


@pytest.mark.parametrize("seed", [1, 2, 5])
def test_what_is_held_grows_with_each_figure_of_a_correction(seed: int) -> None:
    # Not about nothing alone: a layer counts less of a smaller tank, and so on.
    model = bench_model(seed)
    truth = np.array([-0.2, 0.004, radians(1.0), radians(-1.5), 0.002])
    read = model.readings(np.linspace(0.35, 0.7, 5) * model.tank.cavity.gross_m3, truth)
    rows = model.jacobian(read, truth)
    for k, step in enumerate((1e-6, 1e-6, 1e-5, 1e-5, 1e-7)):
        either = []
        for sign in (-1.0, 1.0):
            moved = truth.copy()
            moved[k] += sign * step
            either.append(model.held(read, moved))
        slope = (either[1] - either[0]) / (2.0 * step)
        assert_allclose(rows[:, k], slope, rtol=2e-3, atol=1e-6 * np.abs(slope).max())


def test_a_volume_for_a_length_is_never_next_to_nothing() -> None:
    # A wedge that opens upward, 0.4 m wide and 0.2 m high: at a height h its surface is 0.4 m x 3 h, in the middle 0.12 m²; below a
    # twentieth of that, h = 5 mm, a reading counts as if it were so wide. Four fifths of it by a correction; a stick that leans less.
    body = Manifold.hull_points(
        [(0.0, y, 0.0) for y in (0.0, 0.4)] + [(x, y, 0.2) for x in (0.0, 0.6) for y in (0.0, 0.4)]
    )
    for lean_m, share in ((0.0, 0.0), (0.0, -0.2), (0.05, 0.0)):
        tank = fitted(body, (np.array([0.1, 0.2, 0.0]), np.array([0.1 + lean_m, 0.2, 0.2])))
        model, by = model_of(tank, LEVEL), none()
        by[0] = share
        upright = float(model.stick.along[2])
        heights = np.array([0.001, 0.004, 0.006, 0.05, 0.15])
        wanted = np.maximum((1.0 + share) * 1.2 * heights, 0.05 * 0.12) * upright
        assert_allclose(model.slopes(heights / upright, by), wanted, rtol=1e-6)


def test_air_is_trapped_behind_a_wall_that_hangs_from_the_roof(tmp_path: Path) -> None:
    # 0.3 m wide bays either side of a wall that hangs from 200 down to 120 mm; the vent is in the left one: from 120 mm on the right
    # one's air stays. With a vent in both bays it never does.
    side = [(0, 0), (620, 0), (620, 200), (320, 200), (320, 120), (300, 120), (300, 200), (0, 200)]
    solid = solids.prism([(float(z), float(x)) for x, z in side[::-1]], 500.0, "y")
    for vents, wanted_mm in (((150.0,), 120.0), ((150.0, 470.0), None)):
        tank = box("main", (0, 0, 0), (620, 500, 200), {"outlet out": (470, 250, 0)}, solid=solid)
        tank["vent"] = [
            {"name": f"vent {x:.0f}", "position": [f"{x} mm", "250 mm", "200 mm"], "bore": "8 mm"} for x in vents
        ]
        layout = built(
            tmp_path / f"{len(vents)}",
            [tank],
            [engine((0, 0, -500))],
            [line("a", "main.out", "engine")],
            feed="gravity",
        )
        fuel = layout.tank("main")
        found = air_trapped_above_m(layout, fuel, LEVEL)
        level = found + float(fuel.cavity.centre_m[2])
        assert level == (pytest.approx(0.120, abs=1e-6) if wanted_mm else np.inf)


# --- the fit


def test_residuals_that_go_together() -> None:
    # Lag-one correlation over the sum of squares: 9 of one sign, then 9 of the other give 16/18 less 1/18; alternating ones -17/18. So
    # many by chance: 1.96 / sqrt(18) = 0.46. Fewer than eight say nothing, nor do none at all.
    one, two = np.ones(9), -np.ones(9)
    assert _runs(np.concatenate([one, two]))
    assert not _runs(np.resize([1.0, -1.0], 18))
    assert not _runs(np.zeros(18))
    assert not _runs(np.ones(7))
    assert _runs(np.ones(8))  # 7/8 over 1.96 / sqrt(8) = 0.69
    half = np.resize([1.0, 1.0, -1.0, -1.0], 40)  # 1/40
    assert not _runs(half)
    for n, together in (
        (30, True),
        (12, False),
    ):  # thirds: about a third of them go together, 1.96 / sqrt(n) is 0.358 and 0.566
        assert _runs(np.resize([1.0, 1.0, 1.0, -1.0, -1.0, -1.0], n) + 0.0) == (
            together and (n - 1 - 2 * (n // 3 - 1)) / n > 1.96 / n**0.5
        )
    assert _runs(np.resize(np.repeat([1.0, -1.0], 4), 40))  # 30 - 9 of 40: 0.525 over 0.31


def test_which_mistakes_are_tried_again() -> None:
    # Lines 0, 0, 1, 2 (the first read at two places): a reading alone on the last line is the total there.
    model: Any = None
    data = Data.of(model, np.zeros(4), np.zeros(4), np.array([0, 0, 1, 2], np.int32))
    assert [(k, kind) for k in range(4) for kind in ("reading", "total") if _taken(data, k, kind)] == [
        (1, "total"),
        (3, "reading"),
    ]  # type: ignore[arg-type]
    for one in (Suspected(2, "reading"), Suspected(2, "total")):
        more = data.with_extra(one.column(data.order))
        assert _taken(more, one.index, one.kind)
        assert not _taken(more, 0, "reading")
        assert _taken(more, 2, "reading") == (one.kind == "reading")
    assert_allclose(Suspected(2, "total").column(data.order), [0, 0, 1, 1])
    assert_allclose(Suspected(1, "reading").column(data.order), [0, 1, 0, 0])


def fit(free: tuple[int, ...], left_m: float, n: int = 10, cost_m2: float = 0.0) -> Solved:
    return Solved(
        none(), free, np.zeros(0), np.diag([0.01**2] * len(free)), np.full(n, left_m), cost_m2, 1e-3, n - len(free)
    )


def choice(fits: dict[Any, Solved], enough: tuple[Any, ...], kept: Any, by_places: bool = False) -> Choice:
    data: Any = Data.of(None, np.zeros(10), np.zeros(10))  # type: ignore[arg-type]
    return Choice(fits, dict.fromkeys(fits), enough, kept, data, fits[kept], by_places)


def test_rivals_leave_hardly_more() -> None:
    # Ten readings: as well as the kept one is what leaves at most exp(4 / 10) = 1.49 times its squares.
    most = exp(AS_WELL / 10.0) ** 0.5
    kept, other = ("scale",), ("offset",)
    for factor, rival in ((0.999 * most, True), (1.001 * most, False), (0.5, True)):
        fits = {kept: fit((0,), 1e-3), other: fit((1,), factor * 1e-3)}
        assert choice(fits, (kept, other), kept).rivals == ((other,) if rival else ())
        assert choice(fits, (kept,), kept).rivals == ()
    # What adds to one that is enough is none; nobody reads a stick better than a twentieth of a millimetre.
    both = ("scale", "offset")
    fits = {kept: fit((0,), 1e-6), other: fit((1,), 0.999 * most * LEAST_NOISE_M), both: fit((0, 1), 1e-6)}
    assert choice(fits, (kept, other, both), kept).rivals == (other,)
    # Where places measured the tilt, no rival goes without it.
    tilted = ("tilt",)
    fits = {both: fit((0, 1), 1e-3), kept: fit((0,), 1e-3), tilted: fit((2, 3), 1e-3)}
    assert choice(fits, (kept, tilted, both), both).rivals == (kept, tilted)
    assert choice(fits, (kept, tilted, both), both, by_places=True).rivals == (tilted,)


def test_what_a_correction_does_not_tell_apart() -> None:
    # A correlation of 0.96 pairs two figures; one that is left at 0.8 of its usual spread, and is in no pair, is named alone.
    def told(correlation: float, spread: float) -> tuple[str, ...]:
        one = fit((0, 1), 1e-3)
        covariance = np.array(
            [[0.01**2, correlation * 0.01 * 0.02 * spread], [correlation * 0.01 * 0.02 * spread, (0.02 * spread) ** 2]]
        )
        kept = ("scale", "offset")
        return choice({kept: replace(one, covariance=covariance)}, (kept,), kept).same

    assert told(0.0, 0.1) == ()
    assert told(0.94, 0.1) == ()
    assert told(0.96, 0.1) == ("scale and offset",)
    assert told(-0.96, 0.1) == ("scale and offset",)
    assert told(0.0, 0.8) == ("offset",)
    assert told(0.96, 0.8) == ("scale and offset",)


def test_the_search_leaves_a_start_of_rounding() -> None:
    # Five per cent less and 3 mm too high come back from a start of nothing, of rounding and of what is nearly right.
    model = model_of(stick("bottom"), LEVEL)
    reads = np.linspace(0.02, 0.18, 9)
    data = Data.of(model, reads, 0.95 * 0.24 * (reads - 0.003))
    for start in (None, np.zeros(5), np.full(5, 1e-17), np.array([-0.049, 0.0029, 0.0, 0.0, 0.0])):
        assert_allclose(solve(data, (0, 1), 1e-5, start).correction[:2], [-0.05, 0.003], rtol=1e-3)
