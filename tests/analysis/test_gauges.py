"""Gauges: the signal in closed form and by cutting the body elsewhere, the calibration, and what is poured."""

from __future__ import annotations

import json
from math import pi, radians, tan
from pathlib import Path
from typing import Any

import designs
import numpy as np
import pytest
from commands import run
from designs import ATTITUDES
from manifold3d import Manifold
from numpy.testing import assert_allclose
from rule_cases import LEVEL, POCKET, mm
from solids import Floats, to_manifold, vessel
from test_published_vessels import SHARES

from fuelsys import review
from fuelsys.analysis.tank.capacity import capacity
from fuelsys.analysis.tank.gauge import gauge_studies
from fuelsys.model.built.layout import Layout
from fuelsys.model.found.gauge import Calibration, Curve, GaugeStudy

LITRE = 1e-3
BOX = (400.0, 300.0, 200.0)
designs.MESHES["gauge box.off"] = lambda: Manifold.cube(list(BOX))
# 600 mm wide, 500 mm long; fine enough that facets hide less than a figure of six digits shows.
designs.MESHES["gauge lying.off"] = lambda: to_manifold(
    *vessel(300.0, 500.0, facets=2048, axis="x", circle="equal_area")
).translate([0, 300, 300])
designs.MESHES["gauge upright.off"] = lambda: to_manifold(
    *vessel(300.0, 800.0, facets=64, axis="z", circle="equal_area")
).translate([300, 300, 0])


def tank(mesh: str, gauge: dict[str, Any], x: float, y: float, high: float, floor: float = 0.0) -> dict[str, Any]:
    """The main tank as another body, with all fittings over one place; drained to its floor, filled to its roof."""
    return {
        "tank.0.mesh": mesh,
        "tank.0.outlet.0.position": mm(x, y, floor),
        "tank.0.vent.0.position": mm(x, y, high),
        "tank.0.filler.position": mm(x, y, high),
        "tank.0.drain.0.position": mm(x, y, floor),
        "tank.0.return.0.position": mm(x, y, high),
        "tank.0.dipstick": designs.REMOVE,
        "tank.0.gauge": [gauge],
    }


def probe(bottom: tuple[float, float, float], top: tuple[float, float, float]) -> dict[str, Any]:
    return {"name": "probe", "kind": "probe", "bottom": mm(*bottom), "top": mm(*top)}


def reeds(bottom: tuple[float, float, float], top: tuple[float, float, float], steps: int) -> dict[str, Any]:
    return {"name": "probe", "kind": "reeds", "bottom": mm(*bottom), "top": mm(*top), "steps": steps}


def arm(pivot: tuple[float, float], length: float, low_deg: float, high_deg: float, y: float) -> dict[str, Any]:
    """An arm that points aft at an angle above the horizontal."""

    def at(angle_deg: float) -> list[str]:
        angle = radians(angle_deg)
        return mm(float(pivot[0] + length * np.cos(angle)), y, float(pivot[1] + length * np.sin(angle)))

    pivot_at = mm(pivot[0], y, pivot[1])
    return {"name": "probe", "kind": "arm", "pivot": pivot_at, "empty": at(low_deg), "full": at(high_deg)}


def laid_out(folder: Path, changes: dict[str, Any]) -> Layout:
    return review.with_demand(designs.layout_of(folder, changes))


def studied(folder: Path, changes: dict[str, Any]) -> GaugeStudy:
    layout = laid_out(folder, changes)
    fitted = layout.tank("main")
    return gauge_studies(fitted, layout.design.envelope, capacity(layout, fitted))[0]


def calibrated(folder: Path, changes: dict[str, Any], allowed_m3: float = LITRE) -> Calibration:
    return review.gauged(laid_out(folder, changes), allowed_m3, "L", "main")[0][1]


def at(study: GaugeStudy, name: str) -> Curve:
    return next(one for one in study.at if one.attitude.name == name).least


# --- signals in closed form ------------------------------------------------------------------------------------------


def test_probe_in_a_box_level_and_pitched(tmp_path: Path) -> None:
    """Upright over the plan's middle, 0.12 m2: where the surface meets walls only it turns about that line, so no error."""
    study = studied(tmp_path, tank("gauge box.off", probe((200, 150, 20), (200, 150, 180)), 200, 150, 200))
    litres = np.linspace(0.5, 23.5, 47)
    expected = ((litres / 0.12 - 20.0) / 160.0).clip(0.0, 1.0)
    for name in ("cruise", "parked"):
        assert_allclose(at(study, name).signal_at(litres * LITRE), expected, rtol=0, atol=1e-12)
    # Nose up by 8° the surface reaches from wall to wall between 200 tan 8° = 28.1 mm from the floor and from the roof.
    inside = (litres / 0.12 > 28.2) & (litres / 0.12 < 171.8)
    assert_allclose(at(study, "climb").signal_at(litres[inside] * LITRE), expected[inside], rtol=0, atol=1e-12)


def test_probe_off_the_middle_of_a_box_is_off_by_its_arm(tmp_path: Path) -> None:
    """100 mm ahead of the middle, nose up by 8°, the surface stands 100 tan 8° = 14.054 mm lower than there."""
    study = studied(tmp_path, tank("gauge box.off", probe((100, 150, 0), (100, 150, 200)), 200, 150, 200))
    litres = np.array([6.0, 12.0, 18.0])
    expected = (litres / 0.12 - 100.0 * tan(radians(8.0))) / 200.0
    assert_allclose(at(study, "climb").signal_at(litres * LITRE), expected, rtol=0, atol=1e-12)


def test_leaning_probe_has_the_same_shares(tmp_path: Path) -> None:
    study = studied(tmp_path, tank("gauge box.off", probe((50, 50, 0), (350, 250, 200)), 200, 150, 200))
    assert_allclose(at(study, "cruise").signal_at(np.array([6.0, 18.0]) * LITRE), [0.25, 0.75], rtol=0, atol=1e-12)


def test_arm_in_a_box(tmp_path: Path) -> None:
    """100 mm long about z = 100, from 40° below to 50° above: at height z the angle is asin((z - 100) / 100)."""
    study = studied(tmp_path, tank("gauge box.off", arm((150, 100), 100, -40, 50, 150), 200, 150, 200))
    angles = np.radians(np.linspace(-40, 50, 31))  # not on the places that it is computed at
    held = 0.12 * (0.1 + 0.1 * np.sin(angles))
    # Places of the file have six digits; between 400 places along its arc it is straight.
    assert_allclose(at(study, "cruise").signal_at(held), (np.degrees(angles) + 40.0) / 90.0, rtol=0, atol=1e-5)


def test_arm_that_hangs_goes_no_lower(tmp_path: Path) -> None:
    """Nose up by 13° straight down lies 77° below aft: of a swing from 88° below to 50° above it the first 11/138 are not shown."""
    study = studied(tmp_path, tank("gauge box.off", arm((150, 110), 100, -88, 50, 150), 200, 150, 200))
    assert_allclose(at(study, "steep climb").signal[0], 11.0 / 138.0, rtol=0, atol=1e-6)
    assert at(study, "descent").signal[0] == 0.0  # nose down straight down lies beyond its stop


def test_reed_switches_in_a_box(tmp_path: Path) -> None:
    """Five from 20 to 180 mm, 40 mm apart: 4.8 L a step, the first at 2.4 L; pitched too where the surface meets walls only."""
    study = studied(tmp_path, tank("gauge box.off", reeds((200, 150, 20), (200, 150, 180), 5), 200, 150, 200))
    steps, numbers = 2.4 + 4.8 * np.arange(5), np.arange(1, 6) / 5
    for name, seen in (("cruise", slice(0, 5)), ("climb", slice(1, 4))):
        curve = at(study, name)
        assert_allclose(curve.signal_at((steps[seen] + 1e-6) * LITRE), numbers[seen], rtol=0, atol=1e-12)
        assert_allclose(curve.signal_at((steps[seen] - 1e-6) * LITRE), numbers[seen] - 0.2, rtol=0, atol=1e-12)
        assert_allclose(curve.least_at(numbers[seen]), steps[seen] * LITRE, rtol=1e-9)


def test_upright_cylinder(tmp_path: Path) -> None:
    """600 mm wide: π 0.3² h; C1.14's closed form."""
    study = studied(tmp_path, tank("gauge upright.off", probe((300, 300, 0), (300, 300, 800)), 300, 300, 800))
    heights = np.linspace(0.02, 0.78, 20)
    assert_allclose(at(study, "cruise").signal_at(pi * 0.09 * heights), heights / 0.8, rtol=0, atol=1e-12)


def test_lying_cylinder_against_published_shares(tmp_path: Path) -> None:
    """C2: the share of a lying cylinder's volume at a share of its height, printed to six digits."""
    study = studied(tmp_path, tank("gauge lying.off", probe((250, 300, 0), (250, 300, 600)), 250, 300, 600))
    printed = np.array([float(cylinder) for cylinder, _ in SHARES.values()])
    heights = np.array(list(SHARES))
    # Half of the last digit, over the surface's share there (4/π) √(4 h (1 - h)), and what is straight between 400 places.
    steep = 4.0 / pi * np.sqrt(4.0 * heights * (1.0 - heights))
    found = at(study, "cruise").signal_at(printed * pi * 0.09 * 0.5)
    assert (np.abs(found - heights) <= 1e-6 / steep + 1e-5).all()


# --- an independent second way ---------------------------------------------------------------------------------------


@pytest.mark.parametrize("seed", range(6))
def test_quantity_at_a_signal_by_cutting_the_body(tmp_path: Path, seed: int) -> None:
    """The convex hopper has one pool at any attitude: what stands below a place of the probe, cut by the other library."""
    rng = np.random.default_rng(seed)
    bottom, top = rng.uniform([160, 210, -55], [240, 290, 20]), rng.uniform([60, 60, 150], [340, 440, 195])
    attitude = {**ATTITUDES[3], "pitch": f"{rng.uniform(-12, 12):.3f} deg", "roll": f"{rng.uniform(-8, 8):.3f} deg"}
    changes = {"attitude": [ATTITUDES[0], ATTITUDES[2], attitude], "tank.0.gauge": [probe(tuple(bottom), tuple(top))]}  # type: ignore[arg-type]
    layout = laid_out(tmp_path, changes)
    stated = layout.tank("main").design.gauge[0]
    ends = np.array([stated.bottom_m, stated.top_m]) * 1e3  # type: ignore[union-attr]
    seen = gauge_studies(layout.tank("main"), layout.design.envelope, capacity(layout, layout.tank("main")))[0]
    up, curve = seen.at[-1].attitude.up, seen.at[-1].least
    shares = np.arange(40, 400, 40) / 400.0
    body = designs.main_tank()
    cut = [
        body.trim_by_plane((-up).tolist(), -float((ends[0] + share * (ends[1] - ends[0])) @ up)).volume()
        for share in shares
    ]
    moving = np.array(cut) * 1e-9 > curve.seen_from
    assert moving.sum() > 4
    assert_allclose(curve.least_at(shares[moving]), np.array(cut)[moving] * 1e-9, rtol=1e-9)


def test_gauge_in_a_bag_stands_still_at_its_sill(tmp_path: Path) -> None:
    """The bag's floor is at z = 50, its mouth's sill at 100: from 55 to 145 half of the probe stays wet.

    At the sill the tank holds 5.1 + 20 L to z = 100 of its walls and the bag 48 x 100 x 50 mm = 0.24 L more; left are 0.31875 L
    under the outlet and the bag.
    """
    study = studied(tmp_path, LEVEL | POCKET | {"tank.0.gauge": [probe((430, 250, 55), (430, 250, 145))]})
    seen = study.normal
    assert_allclose(seen.least.signal[0], 0.5, rtol=0, atol=1e-7)
    assert_allclose(seen.least.seen_from, 25.34 * LITRE, rtol=1e-6)
    assert_allclose(seen.blind_below_m3, (25.34 - 0.55875) * LITRE, rtol=1e-6)


@pytest.mark.parametrize("changes", [{}, POCKET], ids=["hopper", "with a bag"])
@pytest.mark.parametrize(
    "gauge",
    [
        probe((210, 250, -58), (60, 100, 190)),
        arm((150, 90), 110, -70, 60, 240),
        reeds((210, 250, -50), (210, 250, 230), 15),
    ],
    ids=["probe", "arm", "reeds"],
)
def test_signal_never_rises_as_the_tank_drains(tmp_path: Path, changes: dict[str, Any], gauge: dict[str, Any]) -> None:
    study = studied(tmp_path, changes | {"tank.0.gauge": [gauge]})
    for one in study.at:
        for curve in (one.least, one.most):
            quantities = np.linspace(one.left_m3, 0.0485, 500)
            signal = curve.signal_at(quantities)
            assert (np.diff(signal) >= 0.0).all()
            assert (curve.least_at(signal) <= quantities + 1e-9).all()
            assert 0.0 <= signal[0] <= signal[-1] <= 1.0


# --- the calibration -------------------------------------------------------------------------------------------------


def hopper_m3(z_mm: Floats) -> Floats:
    """The main tank's volume below a height, by integration: 100 + 5 t by 100 + 20/3 t mm to the walls' foot, then 0.2 m2."""
    t = (np.minimum(z_mm, 0.0) + 60.0).clip(0.0)
    floor = 1e4 * t + (5.0 + 20.0 / 3.0) * 100.0 * t**2 / 2.0 + 100.0 / 3.0 * t**3 / 3.0
    return np.asarray((floor + 2e5 * z_mm.clip(0.0, 200.0)) * 1e-9)


PROBE = {"tank.0.gauge": [probe((210, 250, -60), (210, 250, 200))]}


@pytest.mark.parametrize("allowed", [0.05, 0.2, 1.0, 5.0])
def test_the_calibrated_gauge_is_within_the_error_by_hand(tmp_path: Path, allowed: float) -> None:
    found = calibrated(tmp_path, LEVEL | PROBE, allowed * LITRE)
    assert_allclose(found.gauge.unusable_m3, hopper_m3(np.array([-45.0]))[0], rtol=1e-12)
    z = np.linspace(-45.0, 200.0, 20_001)
    usable = hopper_m3(z) - 0.31875e-3
    points = [(point.signal, point.usable_m3) for point in found.points]
    shown = np.interp((z + 60.0) / 260.0, *zip(*points, strict=True))
    assert np.abs(shown - usable).max() <= allowed * LITRE + 2e-6  # between places of the way: a few mL
    assert_allclose(np.abs(shown - usable).max(), found.reached_m3, rtol=0, atol=2e-6)


def test_zero_is_at_the_unusable_fuel_in_level_flight(tmp_path: Path) -> None:
    """At z = -45 the probe from -60 to 200 is wet by 15/260."""
    found = calibrated(tmp_path, LEVEL | PROBE)
    assert found.points[0].usable_m3 == 0.0
    assert_allclose(found.points[0].signal, 15.0 / 260.0, rtol=0, atol=1e-6)
    assert found.blind_below_m3 == 0.0


def test_no_fewer_points_will_do(tmp_path: Path) -> None:
    """With one point less, whatever signals are chosen, some place of the curve is further off: tried over all pairs."""
    few = calibrated(tmp_path, LEVEL | PROBE, 0.2 * LITRE)
    assert len(few.points) == 4
    s = np.concatenate([[15.0 / 260.0], np.arange(0.06, 1.0, 0.0025), [1.0]])
    usable = hopper_m3(s * 260.0 - 60.0) - 0.31875e-3
    one_less = min(
        float(np.abs(np.interp(s, s[[0, k, -1]], usable[[0, k, -1]]) - usable).max()) for k in range(1, s.size - 1)
    )
    assert one_less > 0.2 * LITRE


def test_pouring_by_hand(tmp_path: Path) -> None:
    """Level on the ground: 15 L stand at (15 - 5.1) / 0.2 = 49.5 mm, the probe wet by 109.5/260."""
    found = calibrated(tmp_path, LEVEL | PROBE, 0.2 * LITRE)
    pour = next(pour for pour in found.pours if abs(pour.quantity_m3 - 15 * LITRE) < 1e-9)
    assert_allclose(pour.signal, 109.5 / 260.0, rtol=1e-9)
    for point in found.points:  # parked stands as cruise does: what is poured is what is shown and the unusable fuel
        assert point.poured_m3 is not None
        assert_allclose(point.poured_m3, point.usable_m3 + 0.31875e-3, rtol=0, atol=1e-6)
    assert [p.quantity_m3 for p in found.pours] == sorted(p.quantity_m3 for p in found.pours)


def test_pools_are_not_poured_into_by_guess(tmp_path: Path) -> None:
    """Below the sill at z = 100, 25.34 L with the bag full, what was poured may stand in the bag or not."""
    found = calibrated(tmp_path, LEVEL | POCKET | PROBE)
    assert_allclose(found.apart_below_m3, 25.34 * LITRE, rtol=1e-6)
    known = [pour.signal is not None for pour in found.pours]
    assert known == [pour.quantity_m3 > 25.34 * LITRE for pour in found.pours]


def test_errors_by_attitude_in_a_box(tmp_path: Path) -> None:
    """100 mm ahead of the middle, nose up by 8°: 100 tan 8° x 0.12 m2 = 1.686 L too little, from wall to wall."""
    changes = tank("gauge box.off", probe((100, 150, 0), (100, 150, 200)), 200, 150, 200)
    found = calibrated(tmp_path, changes)
    assert len(found.points) == 2
    # Zero stands at the worst attitude's unusable fuel.
    climb = next(error for error in found.errors if error.attitude.name == "climb")
    middle = np.interp(0.012, climb.quantity_m3, climb.error_m3)
    assert_allclose(middle, -0.12 * 0.1 * tan(radians(8.0)), rtol=1e-6)
    assert climb.least[1] <= middle


def test_saturation_at_both_ends(tmp_path: Path) -> None:
    """From 20 to 180 mm of 200 at 0.12 m2: 2.4 L unseen below, and up to the filler's lip at 190 mm 1.2 L above."""
    changes = tank("gauge box.off", probe((200, 150, 20), (200, 150, 180)), 200, 150, 200)
    found = calibrated(tmp_path, LEVEL | changes | {"tank.0.filler.position": mm(200, 150, 190)})
    assert_allclose(found.blind_below_m3, 2.4 * LITRE, rtol=1e-9)
    assert_allclose(found.blind_above_m3, 1.2 * LITRE, rtol=1e-9)


def test_steps_are_told(tmp_path: Path) -> None:
    changes = tank("gauge box.off", reeds((200, 150, 20), (200, 150, 180), 5), 200, 150, 200)
    found = calibrated(tmp_path, LEVEL | changes)
    assert_allclose(found.step_m3, 4.8 * LITRE, rtol=1e-9)
    assert found.reached_m3 <= LITRE


# --- the door and the command ----------------------------------------------------------------------------------------

SENDER = "bench.toml: tank main.gauge sender"
WRONG = {
    "no kind": ({"kind": designs.REMOVE}, ".kind: missing."),
    "another kind": ({"kind": "sight glass"}, '.kind: found "sight glass". Write "probe", "arm" or "reeds".'),
    "a field of another kind": ({"steps": 5}, '.steps: a gauge of kind "probe" has none. Take it out; it belongs to kind "reeds".'),
    "outside": ({"bottom": mm(210, 250, -70)}, ".bottom: this place lies 10 mm outside the cavity."),
    "one point": ({"top": mm(210, 250, -58)}, ": top and bottom are one point."),
    "too many steps": ({"kind": "reeds", "steps": 900}, ".steps: found 900. Give a whole number from 2 to 200"),
}  # fmt: skip


def refused(folder: Path, gauge: dict[str, Any]) -> str:
    with pytest.raises(Exception, match="bench") as caught:
        designs.layout_of(folder, {"tank.0.gauge": [gauge]})
    return str(caught.value)


@pytest.mark.parametrize("wrong", WRONG)
def test_what_is_wrong_with_a_gauge_is_told(tmp_path: Path, wrong: str) -> None:
    changes, told = WRONG[wrong]
    gauge = {"name": "sender", "kind": "probe", "bottom": mm(210, 250, -58), "top": mm(210, 250, 200), **changes}
    gauge = {key: value for key, value in gauge.items() if value is not designs.REMOVE}
    assert f"{SENDER}{told}" in refused(tmp_path, gauge)


def test_an_arm_has_one_length_and_a_plane(tmp_path: Path) -> None:
    two = {**arm((150, 100), 100, -40, 50, 150), "full": mm(150, 150, 190)}
    assert "from pivot to empty it is 100 mm, to full 90 mm. An arm has one length" in refused(tmp_path, two)
    straight = {**arm((150, 100), 90, -90, 90, 150)}
    assert "lie on one line" in refused(tmp_path, straight)


def test_the_command(tmp_path: Path) -> None:
    designs.layout_of(tmp_path, PROBE)
    asked = ("--tank", "main", "--error", "0.5 L", "--form", "json", "--picture", "g.svg")
    done = run("gauge", "bench.toml", *asked, folder=tmp_path)
    assert done.returncode == 0, done.stderr
    points, pours, errors = json.loads(done.stdout)["tables"]
    assert points["rows"][0]["set_to_usable_m3"] == 0.0
    assert {"signal_share", "poured_in_all_m3", "pour_m3"} <= set(points["rows"][0])
    assert "14 CFR 23.1337(b)(1) asked before amendment 23-64" in " ".join(points["notes"])
    assert len(errors["rows"]) == len(ATTITUDES)
    assert [row["poured_in_all_m3"] for row in pours["rows"]] == pytest.approx(np.arange(5, 46, 5) * LITRE)
    drawn = (tmp_path / "g.svg").read_text(encoding="utf-8")
    for attitude in ATTITUDES:
        assert attitude["name"] in drawn


@pytest.mark.parametrize(
    ("changes", "asked", "told"),
    [
        ({}, ("--tank", "main", "--error", "1"), "--error: found"),
        ({}, ("--tank", "main", "--error", "0 L"), "Give more than nothing"),
        ({}, ("--tank", "main", "--gauge", "prob"), 'there is no gauge "prob". Is "probe" meant? Name one of probe'),
        ({}, ("--picture", "g.png"), "--picture draws one gauge"),
        ({"tank.0.gauge": []}, ("--tank", "main"), "tank main has no gauge. Add [[tank.gauge]]"),
        ({"tank.0.gauge": [], "tank.1.gauge": []}, (), "no tank has a gauge. Add [[tank.gauge]]"),
        ({"line.2": designs.REMOVE, "tank.0.outlet": []}, ("--tank", "main"), "tank main has no outlet. Add"),
    ],
    ids=["bare number", "no error", "no such gauge", "two in one picture", "none here", "none at all", "no outlet"],
)
def test_what_cannot_be_answered_is_one_line(
    tmp_path: Path, changes: dict[str, Any], asked: tuple[str, ...], told: str
) -> None:
    designs.layout_of(tmp_path, changes)
    done = run("gauge", "bench.toml", *asked, folder=tmp_path)
    assert done.returncode == 2
    assert told in done.stderr
    assert "Traceback" not in done.stderr
