"""The dipstick's graduations in total and usable fuel, by hand, and what a stick too short or a step too large is told."""

from __future__ import annotations

import json
from math import acos, radians, sqrt, tan
from pathlib import Path

import numpy as np
import pytest
from commands import DEMO, run
from designs import layout_of
from fillsheets import example, fitted
from manifold3d import Manifold
from numpy.testing import assert_allclose
from rule_cases import LEVEL, NO_MAIN_OUTLET, mm

from fuelsys import review
from fuelsys.analysis.tank.dipstick import dipstick
from fuelsys.model.found.dipstick import DipstickStudy
from fuelsys.model.stated.attitude import Attitude
from fuelsys.report.charts import dipstick as drawing
from fuelsys.report.drawing import ink
from fuelsys.report.shown import Shown
from fuelsys.report.tables import dipstick as stick_tables

LITRE = 1e-3
# From 8 mm under the walls' foot up: to z = -8 the hopper's floor holds t = 52 mm of 60.
HIGH = {"tank.0.dipstick": {"top": mm(230, 250, 200), "bottom": mm(230, 250, -8), "step": "5 L"}}


def stick(folder: Path, changes: dict[str, object]) -> DipstickStudy:
    return review.dipsticks(review.with_demand(layout_of(folder, changes)), "L", "main")[0][1][0]


def test_usable_is_less_the_unusable_fuel(tmp_path: Path) -> None:
    """0.31875 L are unusable level (rule_cases.py), at z = -45: 13 mm above the stick's bottom at -58."""
    found = stick(tmp_path, LEVEL)
    assert [round(mark.volume_m3 / LITRE, 9) for mark in found.marks] == [5, 10, 15, 20, 25, 30, 35, 40, 45]
    for mark in found.marks:
        usable = found.usable_m3(mark.volume_m3)
        assert usable is not None
        assert_allclose(usable, mark.volume_m3 - 0.31875 * LITRE, rtol=1e-9)
    assert found.usable_m3(0.1 * LITRE) == 0.0
    assert_allclose(found.empty_m, 0.013, rtol=1e-9)


def test_it_counts_from_the_top_too(tmp_path: Path) -> None:
    found = stick(tmp_path, LEVEL | {"tank.0.dipstick.zero": "top"})
    assert_allclose(found.empty_m, 0.245, rtol=1e-9)


def test_what_a_dry_stick_hides_is_told_in_total_and_usable(tmp_path: Path) -> None:
    """To z = -8: 1e4 t + (35/3) 100 t²/2 + (100/3) t³/3 with t = 52 mm: 3.6596 L, of it 3.3409 L usable."""
    t = 52.0
    below = (1e4 * t + 35.0 / 3.0 * 100.0 * t**2 / 2.0 + 100.0 / 9.0 * t**3) * 1e-6
    found = stick(tmp_path, LEVEL | HIGH)
    assert_allclose(found.below_m3, below * LITRE, rtol=1e-9)
    assert found.empty_m is None
    told = stick_tables.dry(found, Shown())
    minutes = (below - 0.31875) * LITRE / found.reserve_m3_s / 60.0
    assert told == (
        f"up to {below:.3f} L may be in the tank, {below - 0.31875:.3f} L of it usable in flight ({minutes:.1f} min at"
        f" {found.reserve_phase}), unseen: count none"
    )


def test_a_tank_without_an_outlet_has_no_usable_figures(tmp_path: Path) -> None:
    layout = review.with_demand(layout_of(tmp_path, NO_MAIN_OUTLET))
    ((tank, (found,)),) = review.dipsticks(layout, "L", "main")
    table = stick_tables.dipstick(tank, found, Shown())
    assert {row[1] for row in table.rows} == {None}
    assert "needs an outlet" in " ".join(table.notes)
    assert drawing.dipstick(tank, [found], Shown())


def test_json_and_the_drawing_have_both(tmp_path: Path) -> None:
    layout = review.with_demand(layout_of(tmp_path, LEVEL))
    done = run("dipstick", "bench.toml", "--form", "json", folder=tmp_path)
    rows = json.loads(done.stdout)["tables"][0]["rows"]
    assert_allclose(rows[0]["quantity_m3"] - rows[0]["usable_m3"], 0.31875 * LITRE, rtol=1e-9)
    ((tank, (found,)),) = review.dipsticks(layout, "L", "main")
    drawn = " ".join(ink.svg_text(page) for page in drawing.dipstick(tank, [found], Shown()))
    for words in ("total", "usable", ">5 L<", ">4.6<", "Dry stick: up to"):
        assert words in drawn


@pytest.mark.parametrize(
    ("changes", "marks"),
    [
        pytest.param({"tank.0.dipstick.step": "100 L"}, 0, id="a step larger than the tank"),
        pytest.param({"tank.0.dipstick.top": mm(230, 250, -57)}, 0, id="a stick of 1 mm"),
        pytest.param({"tank.0.dipstick.step": "45 L"}, 1, id="one graduation"),
    ],
)
@pytest.mark.parametrize("command", [("dipstick", "bench.toml"), ("check", "bench.toml"), ("review", "bench.toml")])
def test_a_stick_without_graduations_is_told_not_broken(
    tmp_path: Path, changes: dict[str, object], marks: int, command: tuple[str, ...]
) -> None:
    assert len(stick(tmp_path, LEVEL | changes).marks) == marks
    done = run(*command, folder=tmp_path)
    assert "Traceback" not in done.stderr
    assert done.returncode in (0, 1, 3)
    if command[0] == "dipstick" and not marks:
        assert "the stick has no graduation: no multiple of the step lies between" in " ".join(done.stdout.split())


# --- by closed form: slanted, counted from a stop at its top, away from the low point, two faces ---------------------

FOOT, HEAD = np.array([0.1, 0.2, 0.01]), np.array([0.25, 0.2, 0.19])  # slanting aft, at the front of the box
TAIL_DOWN, FLYING = Attitude.of_degrees(5.0, 0.0, "ground", "parked"), Attitude.of_degrees(0.0, 0.0, "flight", "level")


def in_box(up_m: float, pitch_rad: float) -> float:
    """What a box of 0.6 x 0.4 x 0.2 m holds with its surface at a distance up the stick, while that meets neither floor nor roof:
    0.24 m² times the surface's height over the middle, and nose up it stands tan(pitch) higher for each metre aft."""
    at = FOOT + up_m / np.linalg.norm(HEAD - FOOT) * (HEAD - FOOT)
    return 0.24 * float(at[2] + tan(pitch_rad) * (0.3 - at[0]))


@pytest.mark.parametrize("zero", ["bottom", "top"])
def test_a_slanted_stick_of_two_faces_in_a_box(zero: str) -> None:
    """Nose up the low point is aft of a stick at the front: dry, it hides 0.24 (0.01 + 0.2 tan 5°) = 6.6 L, level 2.4 L."""
    tank = fitted(Manifold.cube([0.6, 0.4, 0.2]), (FOOT, HEAD), zero)
    length, pitch = float(np.linalg.norm(HEAD - FOOT)), radians(5.0)
    parked, level = (
        dipstick(example(), tank, "L", 4e-3, at=turn) for turn in ((TAIL_DOWN, FLYING), (FLYING, TAIL_DOWN))
    )
    assert_allclose([parked.below_m3, level.below_m3], [in_box(0.0, pitch), in_box(0.0, 0.0)], rtol=1e-9)
    for face, here, there in ((parked, pitch, 0.0), (level, 0.0, pitch)):
        marks = [mark for mark in face.marks if 0.007 < mark.volume_m3 < 0.041]
        assert len(marks) >= 15
        for mark in marks:
            up_m = length - mark.along_m if zero == "top" else mark.along_m
            assert_allclose(in_box(up_m, here), mark.volume_m3, rtol=1e-9)
            if 0.007 < in_box(up_m, there) < 0.041:
                assert_allclose(mark.elsewhere_m3, in_box(up_m, there), rtol=1e-9)
    assert stick_tables.dry(parked, Shown()).endswith(
        f"{(in_box(0.0, pitch) - 4e-3) * 1e3:.3f} L of it usable in flight (7.4 min at cruise), unseen: count none"
    )
    assert stick_tables.dry(level, Shown()) == "up to 2.400 L may be in the tank, nothing of it usable"
    drop = length * 0.01 / 0.18  # along its slope, to the floor 10 mm below its bottom
    for face, here in ((parked, pitch), (level, 0.0)):
        assert_allclose(face.hangs_m, drop, rtol=1e-9)
        ups = [length - mark.along_m if zero == "top" else mark.along_m for mark in face.marks]
        shown_m3 = [mark.volume_m3 - in_box(up - drop, here) for up, mark in zip(ups, face.marks, strict=True)]
        assert_allclose(
            face.dropped_m3, np.median(shown_m3), rtol=1e-9
        )  # all alike, but where the surface meets floor or roof
    assert parked.most_too_much_m3 == max(m.volume_m3 - (m.elsewhere_m3 or 0.0) for m in parked.marks)
    assert level.most_too_much_m3 < parked.most_too_much_m3


def test_a_slanted_stick_in_a_drum_that_lies() -> None:
    """A circle's segment of height h: r² acos(1 - h/r) - (r - h) sqrt(2 r h - h²); 480 facets make the drum 0.003 % smaller."""
    drum = Manifold.cylinder(0.6, 0.15, circular_segments=480).rotate((0.0, 90.0, 0.0)).translate((0.0, 0.0, 0.15))
    foot, head = np.array([0.3, -0.05, 0.02]), np.array([0.3, 0.08, 0.29])
    found = dipstick(example(), fitted(drum, (foot, head)), "L", at=(FLYING,))
    assert len(found.marks) == 20
    for mark in found.marks:
        h = 0.02 + 0.27 * mark.along_m / float(np.linalg.norm(head - foot))
        segment = 0.15**2 * acos(1.0 - h / 0.15) - (0.15 - h) * sqrt(2.0 * 0.15 * h - h * h)
        assert_allclose(mark.volume_m3, 0.6 * segment, rtol=2e-4)


def test_two_faces_by_the_command(tmp_path: Path) -> None:
    asked = ("dipstick", str(DEMO), "--tank", "left", "--attitude", "parked", "--attitude")
    done = run(*asked, "cruise", "--into", "list.txt", "--form", "json", folder=tmp_path)
    assert done.returncode == 0, done.stderr
    parked, cruise = json.loads(done.stdout)["tables"]
    assert [parked["key"], cruise["key"]] == ["left-dipstick-face-1", "left-dipstick-face-2"]
    (forty,) = [row for row in cruise["rows"] if abs(row["quantity_m3"] - 0.040) < 1e-9]
    listed = (tmp_path / "list.txt").read_text(encoding="utf-8")
    up = forty["from_the_stick_s_bottom_m"] * 1e3
    assert f"{up:.1f}   {166.0 - up:.1f}  40.000  {int(forty['usable_m3'] * 1e4) / 10:.1f}" in listed
    assert "Face 2. Label it: tank left, cruise (pitch +1.0°, roll 0.0°)." in listed
    done = run(*asked, "parked", folder=tmp_path)
    assert (done.returncode, done.stdout) == (2, "")
    assert "a stick has two faces" in done.stderr
