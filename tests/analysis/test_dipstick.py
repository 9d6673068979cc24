"""The dipstick's graduations in total and usable fuel, by hand, and what a stick too short or a step too large is told."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from commands import run
from designs import layout_of
from numpy.testing import assert_allclose
from rule_cases import LEVEL, NO_MAIN_OUTLET, mm

from fuelsys import review
from fuelsys.model.found.dipstick import DipstickStudy
from fuelsys.report.charts import dipstick as drawing
from fuelsys.report.drawing import ink
from fuelsys.report.shown import Shown
from fuelsys.report.tables import dipstick as stick_tables

LITRE = 1e-3
# From 8 mm under the walls' foot up: to z = -8 the hopper's floor holds t = 52 mm of 60.
HIGH = {"tank.0.dipstick": {"top": mm(230, 250, 200), "bottom": mm(230, 250, -8), "step": "5 L"}}


def stick(folder: Path, changes: dict[str, object]) -> DipstickStudy:
    return review.dipsticks(review.with_demand(layout_of(folder, changes)), "L", "main")[0][1]


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
    assert told == f"up to {below:.3f} L may be in the tank, {below - 0.31875:.3f} L of it usable"


def test_a_tank_without_an_outlet_has_no_usable_figures(tmp_path: Path) -> None:
    layout = review.with_demand(layout_of(tmp_path, NO_MAIN_OUTLET))
    ((tank, found),) = review.dipsticks(layout, "L", "main")
    table = stick_tables.dipstick(tank, found, Shown())
    assert {row[1] for row in table.rows} == {None}
    assert "needs an outlet" in " ".join(table.notes)
    assert drawing.dipstick(tank, found, Shown())


def test_json_and_the_drawing_have_both(tmp_path: Path) -> None:
    layout = review.with_demand(layout_of(tmp_path, LEVEL))
    done = run("dipstick", "bench.toml", "--form", "json", folder=tmp_path)
    rows = json.loads(done.stdout)["tables"][0]["rows"]
    assert_allclose(rows[0]["quantity_m3"] - rows[0]["usable_m3"], 0.31875 * LITRE, rtol=1e-9)
    ((tank, found),) = review.dipsticks(layout, "L", "main")
    drawn = " ".join(ink.svg_text(page) for page in drawing.dipstick(tank, found, Shown()))
    for words in ("total", "usable", ">5 L<", ">4.681<", "Dry stick: up to"):
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
