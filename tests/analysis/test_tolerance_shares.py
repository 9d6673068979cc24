"""Tolerance studies at once: the same as one by one, what a spread comes from against worked figures, bands over the envelope."""

from __future__ import annotations

import json
from math import pi, radians
from pathlib import Path

import numpy as np
import pytest
from commands import DEMO, run
from designs import REMOVE, layout_of
from json_keys import broken, form
from numpy.testing import assert_allclose
from random_solids import random_body
from scipy.stats import qmc

from fuelsys.analysis.sweeping import samples as sampling
from fuelsys.analysis.sweeping.bands import switch_bands
from fuelsys.analysis.sweeping.shares import decomposed, variance_shares
from fuelsys.analysis.sweeping.tolerance import checked, sampled, tolerance_study
from fuelsys.analysis.tank.draining import Drained, Opening
from fuelsys.analysis.tank.many import Many, Placed
from fuelsys.arrays import Floats
from fuelsys.load.designs.door import load_design
from fuelsys.model.built.cavity import Cavity, Spot
from fuelsys.model.found.tolerance import Tolerances
from fuelsys.model.stated.attitude import Attitude

LEVEL = {f"attitude.{k}.{angle}": "0 deg" for k in range(2, 8) for angle in ("pitch", "roll")}
EXACT = {f"tank.1.switch.{k}.tolerance": REMOVE for k in (0, 1)}


# --- at once, and one by one -----------------------------------------------------------------------------------------------


@pytest.mark.parametrize("seed", range(12))
def test_many_at_once_are_each_drained_alone(seed: int) -> None:
    """On random bodies with pools of all kinds: outlets and marks that wander, one outlet that ends the other, one that climbs."""
    cavity = Cavity.of(*random_body(seed))
    rng = np.random.default_rng(seed)
    low, high = cavity.bounds_m
    spots = [cavity.spot("", rng.uniform(low, high)) for _ in range(4)]
    openings = [Opening(spots[0], 0.1, ends=(1,)), Opening(spots[1], 0.0)]
    for pitch, roll in ((0.0, 0.0), (7.0, -4.0)):
        up = Attitude.of_degrees(pitch, roll).up
        n, sets = 40, []
        for spot in spots:
            near = [cavity.spot("", spot.point_m + cavity.centre_m + by) for by in rng.uniform(-0.3, 0.3, (n, 3))]
            sets.append([spot, *near[1:]])
        points = np.array([[one.point_m for one in row] for row in sets]).transpose(1, 0, 2)
        faces = np.array([[one.face for one in row] for row in sets], dtype=np.int32).T
        over = rng.uniform(-0.1, 0.1, (n, 2))
        outs, marks = Placed(points[:, :2], faces[:, :2]), Placed(points[:, 2:], faces[:, 2:])
        left, held = Many.of(cavity, up).answers(openings, outs, marks, over)
        for i in range(n):
            alone = Drained.of(cavity, up, _openings(openings, sets, i), [sets[2][i], sets[3][i]])
            assert_allclose(left[i], alone.left_m3, rtol=1e-9, atol=1e-9 * cavity.gross_m3)
            wanted = [np.nan if v is None else v for v in alone.passed_all([(k, float(over[i, k]), 0) for k in (0, 1)])]
            assert_allclose(held[i], wanted, rtol=1e-9, atol=1e-9 * cavity.gross_m3)


def _openings(openings: list[Opening], sets: list[list[Spot]], i: int) -> list[Opening]:
    return [Opening(sets[k][i], one.cover_m, ends=one.ends) for k, one in enumerate(openings)]


def test_many_levels_of_a_pool_are_read_off_exactly() -> None:
    cavity = Cavity.of(*random_body(3))
    many = Many.of(cavity, Attitude.of_degrees(3.0, 2.0).up)
    levels = np.random.default_rng(0).uniform(many.tilted.low_m, many.tilted.high_m, 5000)
    root = int(many.tilted.tree.parent.size - 1)
    exact = many.tilted.volume_and_area(levels)[0]
    assert_allclose(many.volumes_m3(root, levels), exact, rtol=0.0, atol=1e-12 * cavity.gross_m3)


def test_the_demo_at_once_is_the_demo_one_by_one() -> None:
    demo = load_design(DEMO)
    bounds = Tolerances(0.004, 0.0, 0.05, 0.01)
    asked = sampled(demo, demo.tank("header"), bounds)
    drawn = asked.drawn(3, range(12))
    once, full = asked.many(drawn), asked.in_full(drawn)
    assert_allclose(once.left_m3, full.left_m3, rtol=1e-9)
    assert_allclose(once.held_m3, full.held_m3, rtol=1e-9)
    assert_allclose(once.outside_m, full.outside_m, atol=1e-15)


def test_tilts_read_off_between_others_are_near_and_said_to_be(tmp_path: Path) -> None:
    layout = layout_of(tmp_path)
    asked, off_m3 = checked(sampled(layout, layout.tank("header"), Tolerances(0.002, radians(1.0))), 0)
    assert asked.grid in (3, 5)
    assert off_m3 > 0.0
    drawn = asked.drawn(1, range(12))  # samples that were not looked at
    once, full = asked.many(drawn), asked.in_full(drawn)
    assert np.abs(once.held_m3 - full.held_m3).max() < 0.02 * np.ptp(full.held_m3, axis=0).min()
    assert np.abs(once.left_m3.max(axis=1) - full.left_m3.max(axis=1)).max() < 0.02 * np.ptp(full.left_m3.max(axis=1))


def test_where_tilts_cannot_be_read_off_each_is_answered_in_full(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    layout = layout_of(tmp_path)
    monkeypatch.setattr("fuelsys.analysis.sweeping.tolerance._NEAR", 0.0)
    study = tolerance_study(layout, layout.tank("header"), Tolerances(0.002, radians(1.0)), 3)
    assert (study.grid, study.off_m3) == (0, 0.0)
    monkeypatch.undo()
    near = tolerance_study(layout, layout.tank("header"), Tolerances(0.002, radians(1.0)), 3)
    assert_allclose(study.switches[0].held_m3.figures, near.switches[0].held_m3.figures, rtol=1e-4)


# --- what a spread comes from ------------------------------------------------------------------------------------------------


def _indices(answers: Floats, n: int, sources: int) -> tuple[dict[str, float], dict[str, float], float]:
    """Shares of f on a scrambled Sobol sequence in the unit cube: answers is a function of (n, sources)."""
    both = qmc.Sobol(2 * sources, rng=np.random.default_rng(1)).random(n)
    a, b = both[:, :sources], both[:, sources:]
    mixed = {str(k): answers(np.where(np.arange(sources) == k, b, a))[:, None] for k in range(sources)}  # type: ignore[operator]
    return decomposed(answers(a)[:, None], answers(b)[:, None], mixed)  # type: ignore[operator]


def test_shares_of_a_function_whose_shares_are_known() -> None:
    """sin x + 7 sin² y + 0.1 z⁴ sin x, x, y, z from -π to π (Ishigami and Homma, 1990; cited from memory): by integration

    V_x = (1 + 0.1 π⁴/5)²/2, V_y = 7²/8, V_xz = 0.1² π⁸ (1/18 - 1/50), z alone nothing: x 0.314, y 0.442, x with z 0.244.
    """

    def f(u: Floats) -> Floats:
        x, y, z = ((2.0 * u - 1.0) * pi).T
        return np.sin(x) + 7.0 * np.sin(y) ** 2 + 0.1 * z**4 * np.sin(x)

    vx, vy, vxz = (1 + 0.1 * pi**4 / 5) ** 2 / 2, 49 / 8, 0.01 * pi**8 * (1 / 18 - 1 / 50)
    whole = vx + vy + vxz
    first, total, variance = _indices(f, 4096, 3)  # type: ignore[arg-type]
    assert_allclose(variance, whole, rtol=0.01)
    assert_allclose([first[k] for k in "012"], np.array([vx, vy, 0.0]) / whole, atol=0.015)
    assert_allclose([total[k] for k in "012"], np.array([vx + vxz, vy, vxz]) / whole, atol=0.015)


def test_a_boxs_shares_are_those_worked_by_hand(tmp_path: Path) -> None:
    # Between straight walls of 0.032 m2 a mark's height ± 4 mm and its own tolerance ± 3 mm add up: uniform figures have a third
    # of the square as variance, so 16 and 9 of 25. Its two sideways places, the outlet and the flow do nothing to the quantity.
    layout = layout_of(tmp_path, LEVEL)
    found = variance_shares(layout, layout.tank("header"), Tolerances(0.004, flow_share=0.05), seed=2, sets=512)
    by = {(one.switch, one.kind): one for one in found}
    held = by["20 min", "volume"]
    assert [share.source for share in held.of][:2] == ["places of the marks", "switches' own tolerances"]
    for share, wanted in zip(held.of, (16 / 25, 9 / 25, 0.0, 0.0), strict=False):
        assert_allclose([share.first, share.total], wanted, atol=0.01)
    assert_allclose(held.deviation, 0.032 * 0.005 / np.sqrt(3.0), rtol=0.01)
    assert abs(held.together) < 0.01  # they add up
    for one in found:
        assert abs(sum(share.total for share in one.of) - 1.0) < 0.03
        assert list(one.of) == sorted(one.of, key=lambda share: -share.total)


def test_the_attitudes_share_is_that_of_its_own_means(tmp_path: Path) -> None:
    # All flight attitudes but one are level: the trip differs by d at one of n, so its variance is d² (n - 1)/n².
    layout = layout_of(
        tmp_path, {**LEVEL, **EXACT, "attitude.3.roll": "6 deg", "tank.1.switch.0.mark": ["100 mm", "130 mm", "175 mm"]}
    )
    header = layout.tank("header")
    found = variance_shares(layout, header, Tolerances(set_off_m=0.002), sets=256)[1]
    asked = sampled(layout, header, Tolerances())
    held = asked.in_full(np.zeros((1, asked.size))).held_m3[0, :, 0]
    shares = {share.source: share for share in found.of}
    assert np.ptp(held) > 1e-4
    assert_allclose(shares["attitude"].first * found.deviation**2, held.var(), rtol=0.01)


def test_no_shares_where_a_switch_never_trips(tmp_path: Path) -> None:
    layout = layout_of(tmp_path, {**LEVEL, "tank.1.switch.1.mark": ["100 mm", "80 mm", "-24 mm"]})
    found = variance_shares(layout, layout.tank("header"), Tolerances(0.004), sets=64)
    assert found[3].of == ()
    assert found[3].why_not == "it never trips at some flight attitude in some of the samples"
    assert found[0].of


# --- bands over the envelope --------------------------------------------------------------------------------------------------


def test_samples_lie_within_what_is_guaranteed_and_alarms_are_counted(tmp_path: Path) -> None:
    layout = layout_of(tmp_path)
    bounds = Tolerances(0.002, radians(0.5), 0.05, 0.01)
    header = layout.tank("header")
    for one in switch_bands(layout, header, bounds, 100):
        least, most = one.guaranteed_m3
        assert 0.0 < least <= one.sampled_m3[0] < one.sampled_m3[-1] <= most
        assert one.sampled_m3[-1] - one.sampled_m3[0] > 0.5 * (most - least)
    # Level, of straight walls: the 20 min mark holds 6.48 L as drawn, so half of the samples trip with more.
    flat = layout_of(tmp_path, {**LEVEL, **EXACT})
    early, late = switch_bands(flat, flat.tank("header"), Tolerances(0.002), 400, early_m3=6.48e-3)
    assert early.early is not None
    assert abs(early.early - 200) < 45
    assert late.early == 0
    assert (early.missed, early.missed_share) == (0, 0.0)
    raised = layout_of(tmp_path, {**LEVEL, **EXACT, "tank.1.switch.0.target": "1 h"})
    missed = switch_bands(raised, raised.tank("header"), Tolerances(0.002), 20)[0]
    assert (missed.missed, missed.missed_share) == (20, 1.0)


def test_a_band_is_that_of_the_mirror_image_and_of_other_units(tmp_path: Path) -> None:
    bounds = Tolerances(0.002, 0.0, 0.0, 0.01)

    def bands(changes: dict[str, object]) -> list[tuple[float, float]]:
        layout = layout_of(tmp_path, changes)
        return [one.guaranteed_m3 for one in switch_bands(layout, layout.tank("header"), bounds, 2)]

    aside = {
        "tank.1.switch.0.mark": ["100 mm", "110 mm", "175 mm"],
        "tank.1.switch.1.mark": ["100 mm", "80 mm", "82 mm"],
    }
    twin = {
        **aside,
        "tank.1.switch.0.mark": ["100 mm", "50 mm", "175 mm"],
    }  # the tank is its own mirror image about y = 80
    inches = {**aside, "tank.1.switch.0.mark": [f"{v / 25.4!r} in" for v in (100.0, 110.0, 175.0)]}
    here = bands({**aside, "attitude.6.roll": "7 deg", "attitude.7.roll": "-7 deg"})
    assert_allclose(bands({**twin, "attitude.6.roll": "7 deg", "attitude.7.roll": "-7 deg"}), here, rtol=1e-9)
    assert_allclose(bands({**inches, "attitude.6.roll": "7 deg", "attitude.7.roll": "-7 deg"}), here, rtol=1e-12)


# --- as a person runs it ---------------------------------------------------------------------------------------------------------


def test_the_command_tells_shares_and_bands(tmp_path: Path) -> None:
    ask = (
        "tolerance",
        str(DEMO),
        "--tank",
        "header",
        "--set-off",
        "2 mm",
        "--samples",
        "20",
        "--combined",
        "--picture",
        "s.svg",
    )
    done = run(*ask, "--form", "json", folder=tmp_path)
    assert done.returncode == 0, done.stderr
    tables = json.loads(done.stdout)["tables"]
    assert broken(form(tables)) == {}
    *_, shares, band = tables
    assert shares["rows"][0]["comes_from"] == "places of the outlets"
    assert shares["rows"][0]["alone_share"] > 0.99
    assert "Seed 0." in " ".join(shares["notes"])
    assert [row["switch"] for row in band["rows"]] == ["20 min", "10 min", "5 min"]
    assert (tmp_path / "s.svg").read_text(encoding="utf-8").count("places of the marks") == 6


@pytest.mark.parametrize(
    ("arguments", "told"),
    [
        (["--early", "3 L"], "Error: --early: it is asked for with --combined only."),
        (["--picture", "s.png"], "Error: --picture: name its tank with --tank."),
        (["--density", "30 %"], "--density: 30 % is too much. Give how far it may be off either way, up to 20 %."),
    ],
)
def test_what_cannot_be_asked_is_told(arguments: list[str], told: str, tmp_path: Path) -> None:
    done = run("tolerance", str(DEMO), "--flow", "5 %", *arguments, folder=tmp_path)
    assert (done.returncode, done.stdout) == (2, "")
    assert done.stderr.splitlines()[-1] == told


def test_weights_read_a_parabola_exactly() -> None:
    at, x = np.linspace(-1.0, 1.0, 3), np.linspace(-1.0, 1.0, 7)
    read = sum(sampling._weights(at, k, x) * (2.0 * at[k] ** 2 - at[k] + 3.0) for k in range(3))
    assert_allclose(read, 2.0 * x**2 - x + 3.0, rtol=1e-14)
