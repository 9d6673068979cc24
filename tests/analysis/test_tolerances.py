"""Tolerance studies: nothing off is as drawn, one thing off is what can be worked by hand, and samples are their own."""

from __future__ import annotations

import json
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from math import inf, radians
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import solids
from commands import DEMO, run
from designs import REMOVE, layout_of
from hypothesis import given
from hypothesis import strategies as st
from manifold3d import Manifold
from numpy.testing import assert_allclose

from fuelsys.analysis.sweeping.samples import mounted
from fuelsys.analysis.sweeping.tolerance import tolerance_study
from fuelsys.analysis.tank.switches import switch_studies
from fuelsys.analysis.tank.unusable import unusable
from fuelsys.errors import QuestionError
from fuelsys.load.designs.door import load_design
from fuelsys.model.built.layout import FittedTank, Layout
from fuelsys.model.found.tolerance import Spread, Tolerances, ToleranceStudy
from fuelsys.model.stated.attitude import Attitude

LEVEL = {f"attitude.{k}.{angle}": "0 deg" for k in range(2, 8) for angle in ("pitch", "roll")}
EXACT = {f"tank.1.switch.{k}.tolerance": REMOVE for k in (0, 1)}  # switches without a tolerance of their own


@pytest.fixture(scope="module")
def demo() -> Layout:
    return load_design(DEMO)


@pytest.fixture
def study(tmp_path: Path) -> Callable[..., ToleranceStudy]:
    """The header of the small good design in level flight only, with some tolerances and changes."""

    def of(tolerances: Tolerances, samples: int = 200, changes: dict[str, Any] | None = None) -> ToleranceStudy:
        layout = layout_of(tmp_path, {**LEVEL, **EXACT, **(changes or {})})
        return tolerance_study(layout, layout.tank("header"), tolerances, samples)

    return of


def test_nothing_off_is_as_drawn_in_every_sample(demo: Layout) -> None:
    header = demo.tank("header")
    # The forward question: a switch without a tolerance of its own, at its latest flight trip.
    bare = tuple(switch.model_copy(update={"tolerance_m": None}) for switch in header.design.switch)
    header = FittedTank(
        header.design.model_copy(update={"switch": bare}), header.cavity, header.turn, header.origin_m, header.spots
    )
    found = tolerance_study(demo, header, Tolerances(), 5)
    left = unusable(header, demo.design.envelope)
    assert left is not None
    assert_allclose(found.unusable_m3.figures, left.volume_m3, rtol=1e-14)
    assert (found.stopped, found.most_outside_m) == (0, 0.0)
    for switch, forward in zip(found.switches, switch_studies(demo, header, left), strict=True):
        assert forward.worst is not None
        held = forward.worst.latest_m3
        assert held is not None
        assert_allclose(switch.held_m3.figures, held, rtol=1e-14)
        assert_allclose(switch.left_s.figures, (held - left.volume_m3) / found.outflow.alone_m3_s, rtol=1e-12)
        assert switch.never == 0


def test_other_pools_count_as_drained(demo: Layout) -> None:
    # A second outlet drains the outboard bay on its own: what that bay still holds at the trip is not known, and the least
    # counts.
    left = demo.tank("left")
    design, cavity = left.design, left.cavity
    second = design.outlet[0].model_copy(update={"name": "second", "position_m": (0.4, -0.6, 0.01)})
    mark = demo.tank("header").design.switch[0].model_copy(update={"mark_m": (0.42, -0.04, 0.004), "tolerance_m": None})
    spots = {
        **left.spots,
        "second": cavity.spot("second", left.body_m(second.position_m)),
        f"switch {mark.name}": cavity.spot("mark", left.body_m(mark.mark_m)),
    }
    fitted = design.model_copy(update={"outlet": (*design.outlet, second), "switch": (mark,)})
    tank = FittedTank(fitted, cavity, left.turn, left.origin_m, spots)
    found = tolerance_study(demo, tank, Tolerances(), 1).switches[0].held_m3.nominal
    forward = switch_studies(demo, tank, unusable(tank, demo.design.envelope))[0]
    assert forward.worst is not None
    assert forward.worst.latest_m3 is not None
    assert_allclose(found, forward.worst.latest_m3, rtol=1e-14)
    assert min(at.trip_m3 or 0.0 for at in forward.at if at.attitude.phase == "flight") > found * 1.01


def test_flow_off_changes_only_the_time(study: Callable[..., ToleranceStudy]) -> None:
    found = study(Tolerances(flow_share=0.2))
    assert len(set(found.unusable_m3.figures)) == 1
    for switch in found.switches:
        assert_allclose(switch.held_m3.figures, switch.held_m3.nominal, rtol=1e-14)
        drawn, least, *_, greatest = switch.left_s.figures
        # t = q / (f (1 + u)), u within ±0.2: from 1/1.2 to 1/0.8 of the drawn time, and 200 samples come near both.
        assert drawn / 1.2 <= least <= drawn / 1.17
        assert drawn / 0.83 <= greatest <= drawn / 0.8


def test_capacity_off_scales_every_quantity(study: Callable[..., ToleranceStudy]) -> None:
    found = study(Tolerances(capacity_share=0.1))
    shares = np.array(found.unusable_m3.figures) / found.unusable_m3.nominal
    assert 0.9 <= shares[1] < 0.91
    assert 1.09 < shares[5] <= 1.1
    for switch in found.switches:
        for spread in (switch.held_m3, switch.left_s):
            assert_allclose(np.array(spread.figures) / spread.nominal, shares, rtol=1e-12)


def test_a_mark_set_off_counts_by_the_surface_there(study: Callable[..., ToleranceStudy]) -> None:
    found = study(Tolerances(set_off_m=0.004))
    # Level, between straight walls of 200 x 160 mm: 0.032 m2 of surface, so 4 mm of height are 0.128 L either way; what
    # is sideways does not count, and the outlet's own offset does not move the quantity at the trip.
    twenty = found.switches[0].held_m3
    for ends, sign in ((twenty.least, -1.0), (twenty.greatest, 1.0)):
        assert 0.95 * 0.128e-3 < sign * (ends - twenty.nominal) <= 0.128e-3 + 1e-15
    # In the middle half of a uniform spread lie half of the samples: 5 % stands 0.9 of the way down, within luck.
    assert_allclose([twenty.p5 - twenty.nominal, twenty.p95 - twenty.nominal], [-0.115e-3, 0.115e-3], atol=0.012e-3)
    assert_allclose(twenty.median, twenty.nominal, atol=0.02e-3)


def test_an_outlet_set_off_moves_the_unusable_fuel(study: Callable[..., ToleranceStudy]) -> None:
    found = study(Tolerances(set_off_m=0.004)).unusable_m3
    # The sump's hopper: at 25 mm above its 80 x 80 mm floor, half of its height, 140 x 120 mm.
    # V(h) = 80*80 h + (120*80 + 80*80) h^2 / 100 + 120 * 80 h^3 / 7500, in mm.
    drawn, low, high = (6400 * h + 160 * h**2 + 1.28 * h**3 for h in (25.0, 21.0, 29.0))
    assert_allclose(found.nominal, drawn * 1e-9, rtol=1e-12)
    assert low * 1e-9 <= found.least < (low + 0.05 * (drawn - low)) * 1e-9
    assert (high - 0.05 * (high - drawn)) * 1e-9 < found.greatest <= high * 1e-9


@pytest.mark.parametrize("seed", [0, 1, 2])
def test_a_tank_mounted_off_is_an_attitude_more(seed: int, tmp_path: Path) -> None:
    layout = layout_of(tmp_path)
    main = layout.tank("main")
    found = tolerance_study(layout, main, Tolerances(mounted_rad=radians(1.0)), 1, seed).unusable_m3
    # Of the figures that sample 0 draws, the third and the fourth are pitch and roll. Angles of two turns add up but for
    # a product of both, under 0.001 rad here.
    pitch, roll = np.random.default_rng((seed, 0)).uniform(-1.0, 1.0, 7)[2:4]
    turned = unusable(main, [_turned(attitude, pitch, roll) for attitude in layout.design.envelope])
    assert turned is not None
    assert_allclose(found.least, turned.volume_m3, rtol=0.005)
    assert abs(found.least / found.nominal - 1.0) > 0.02


def _turned(attitude: Attitude, pitch_deg: float, roll_deg: float) -> Attitude:
    return Attitude(
        attitude.name, attitude.phase, attitude.pitch_rad + radians(pitch_deg), attitude.roll_rad + radians(roll_deg)
    )


ANGLES = st.floats(-0.4, 0.4)


@given(ANGLES, ANGLES, ANGLES)
def test_mounting_adds_to_the_attitude(pitch: float, roll: float, more: float) -> None:
    level = Attitude("", "flight").up
    assert_allclose(mounted(level, 0.0, roll), Attitude("", "flight", 0.0, roll).up, atol=1e-15)
    assert_allclose(
        mounted(Attitude("", "flight", pitch).up, more, 0.0), Attitude("", "flight", pitch + more).up, atol=1e-15
    )
    assert_allclose(
        mounted(Attitude("", "flight", 0, roll).up, 0, more), Attitude("", "flight", 0, roll + more).up, atol=1e-15
    )
    assert_allclose(np.linalg.norm(mounted(level, pitch, roll)), 1.0, rtol=1e-15)


def test_a_sample_is_its_own_whatever_stands_beside_it(demo: Layout) -> None:
    header, bounds = demo.tank("header"), Tolerances(0.002, 0.01, 0.05, 0.01)
    first = tolerance_study(demo, header, bounds, 1, seed=4)
    with ThreadPoolExecutor(3) as executor:
        many = tolerance_study(demo, header, bounds, 60, seed=4, executor=executor)
    alone = tolerance_study(demo, header, bounds, 60, seed=4)
    assert many == alone
    assert many.unusable_m3.least <= first.unusable_m3.least <= many.unusable_m3.greatest
    assert tolerance_study(demo, header, bounds, 60, seed=5) != many
    # One bound more does not draw the others anew: what the flow does not touch stays.
    without = tolerance_study(demo, header, Tolerances(0.002, 0.01, 0.0, 0.01), 60, seed=4)
    assert without.unusable_m3 == many.unusable_m3
    assert [switch.held_m3 for switch in without.switches] == [switch.held_m3 for switch in many.switches]


def test_a_fitting_moved_outside_sits_on_the_wall_and_is_counted(study: Callable[..., ToleranceStudy]) -> None:
    # A mark 1 mm inside the front wall (x = 0) leaves the cavity by up to 9 mm; the trip is that of its height.
    found = study(Tolerances(set_off_m=0.010), changes={"tank.1.switch.0.mark": ["1 mm", "80 mm", "175 mm"]})
    assert 70 <= found.stopped <= 110  # 9 of 20: 90 of 200 samples, within three standard deviations (7)
    assert 0.008 < found.most_outside_m <= 0.009
    drawn = found.switches[0].held_m3.nominal
    assert drawn - 0.32e-3 <= found.switches[0].held_m3.least < found.switches[0].held_m3.greatest <= drawn + 0.32e-3


def test_a_mark_in_its_float_keeps_its_height_there(study: Callable[..., ToleranceStudy], tmp_path: Path) -> None:
    # A float of 20 mm round the mark at (100, 80, 175): wherever the mark moves in it, its height counts, over a surface of
    # 0.032 m2 less the float's 0.0004; never that of the float's own top and bottom, 10 mm off.
    corners = Manifold.cube([20, 20, 20]).translate([90, 70, 165])
    vertices, faces = solids.from_manifold(corners)
    rows = [" ".join(f"{c:g}" for c in corner) for corner in vertices] + [f"3 {a} {b} {c}" for a, b, c in faces]
    (tmp_path / "float.off").write_text(
        f"OFF\n{len(vertices)} {len(faces)} 0\n" + "\n".join(rows) + "\n", encoding="utf-8"
    )
    found = study(
        Tolerances(set_off_m=0.004),
        changes={"tank.1.inside": [{"name": "float", "mesh": "float.off"}], "tank.1.switch.0.own_float": "float"},
    )
    held = found.switches[0].held_m3
    assert found.stopped == 0
    assert 0.95 * 0.004 * 0.0316 < held.greatest - held.nominal <= 0.004 * 0.0316 + 1e-12
    assert 0.95 * 0.004 * 0.0316 < held.nominal - held.least <= 0.004 * 0.0316 + 1e-12


def test_a_switch_that_never_trips_is_counted_below_all_others(study: Callable[..., ToleranceStudy]) -> None:
    # A mark 1 mm above the outlet, both off by up to 3 mm in height: it lies below the outlet where u - v < -1/3 of two
    # uniform figures from -1 to 1: (2 - 1/3)^2 / 2 / 4 = 34.7 % of the samples.
    changes = {"tank.1.switch.1.mark": ["100 mm", "80 mm", "-24 mm"]}
    found = study(Tolerances(set_off_m=0.003), 400, changes).switches[1]
    assert 110 <= found.never <= 168  # 138.9 of 400 within three standard deviations (9.5)
    assert found.left_s.nominal > 0.0
    assert found.left_s.least == found.left_s.p5 == -inf
    assert 0.0 < found.left_s.median < found.left_s.greatest


def test_figures_are_samples_by_their_rank(study: Callable[..., ToleranceStudy]) -> None:
    # Of one sample every figure is that sample; 5 % of 20 samples is the lowest of them.
    one = study(Tolerances(flow_share=0.2), 1).switches[0].left_s
    assert len(set(one.figures[1:])) == 1
    twenty = study(Tolerances(flow_share=0.2), 20).switches[0].left_s
    assert twenty.p5 == twenty.least < twenty.median < twenty.p95 < twenty.greatest
    assert isinstance(twenty, Spread)


# --- as a person runs it -------------------------------------------------------------------------------------------------


def test_the_command_answers_with_the_study(tmp_path: Path, demo: Layout) -> None:
    ask = ("tolerance", str(DEMO), "--tank", "header", "--set-off", "2 mm", "--mounted", "0.5 deg", "--flow", "5 %")
    done = run(*ask, "--samples", "50", "--seed", "2", "--form", "json", folder=tmp_path)
    assert done.returncode == 0, done.stderr
    quantities, times = json.loads(done.stdout)["tables"]
    study = tolerance_study(demo, demo.tank("header"), Tolerances(0.002, radians(0.5), 0.05), 50, 2)
    assert quantities["rows"][0]["what"] == "unusable"
    assert tuple(quantities["rows"][0].values())[1:7] == study.unusable_m3.figures
    assert [tuple(row.values())[1:7] for row in times["rows"]] == [s.left_s.figures for s in study.switches]
    assert list(times["rows"][0])[1:3] == ["as_drawn_s", "least_s"]
    assert (
        "Off either way, uniformly: set off ±2 mm, mounted ±0.5 deg, flow ±5 %. 50 samples of seed 2."
        in quantities["notes"]
    )


def test_never_and_walls_are_said(tmp_path: Path) -> None:
    layout_of(tmp_path, {**LEVEL, "tank.1.switch.1.mark": ["61 mm", "80 mm", "-24 mm"]})
    done = run("tolerance", "bench.toml", "--tank", "header", "--set-off", "40 mm", "--samples", "60", folder=tmp_path)
    assert done.returncode == 0, done.stderr
    assert 'Warning: switch "10 min" never trips at some flight attitude: in ' in done.stdout
    assert "those count as less than any time" in " ".join(done.stdout.split())
    assert "there it was taken to sit on the wall" in " ".join(done.stdout.split())
    row = next(line for line in done.stdout.splitlines() if line.startswith("10 min"))
    assert "never" in row.split()


@pytest.mark.parametrize(
    ("arguments", "told"),
    [
        pytest.param(
            [], "Error: Say what may be off: --set-off, --mounted, --flow, --capacity or --density.", id="nothing off"
        ),
        pytest.param(
            ["--set-off", "2"],
            '--set-off: found "2", without a unit. Write a length as a number and a unit in quotes, such as "12.5 mm".',
            id="bare number",
        ),
        pytest.param(
            ["--set-off", "2 m"],
            "--set-off: 2000 mm is too much. Give how far it may be off either way, up to 100 mm.",
            id="too far",
        ),
        pytest.param(
            ["--flow", "-5 %"],
            "--flow: -5 % is less than nothing. Give how far it may be off either way, up to 90 %.",
            id="negative",
        ),
        pytest.param(
            ["--mounted", "0.5 mm"],
            '--mounted: found "0.5 mm": "mm" is not a unit of angle. Use one of: deg, °, rad.',
            id="not an angle",
        ),
        pytest.param(
            ["--capacity", "1 %", "--samples", "0"],
            "--samples: 0 samples make no study. Give from 1 to 10000000.",
            id="no samples",
        ),
        pytest.param(
            ["--capacity", "1 %", "--tank", "centre"],
            'taildragger.toml: tank: there is no tank "centre". Name one of left, right, header.',
            id="no tank",
        ),
    ],
)
def test_a_mistake_is_one_line_and_exit_code_2(arguments: list[str], told: str, tmp_path: Path) -> None:
    done = run("tolerance", str(DEMO), *arguments, folder=tmp_path)
    assert (done.returncode, done.stdout) == (2, "")
    assert done.stderr.splitlines()[-1] == told


def test_a_tank_without_an_outlet_is_refused(demo: Layout) -> None:
    header = demo.tank("header")
    bare = FittedTank(
        header.design.model_copy(update={"outlet": ()}), header.cavity, header.turn, header.origin_m, header.spots
    )
    with pytest.raises(QuestionError, match="tank header has no outlet"):
        tolerance_study(demo, bare, Tolerances(0.001), 3)
