"""Stages of a warning placed together, held against a box worked by hand and against the check's own forward way."""

from __future__ import annotations

import re
import tomllib
from dataclasses import replace
from math import radians
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from click.testing import CliRunner
from commands import DEMO, run
from designs import layout_of
from numpy.testing import assert_allclose

from fuelsys import review
from fuelsys.analysis.lines.demand import with_demand
from fuelsys.analysis.sweeping.place_search import held
from fuelsys.analysis.sweeping.stages import place_stages
from fuelsys.analysis.tank.draining import Drained
from fuelsys.analysis.tank.place import place
from fuelsys.analysis.tank.switches import switch_studies
from fuelsys.analysis.tank.unusable import outlets, unusable
from fuelsys.errors import QuestionError
from fuelsys.load.designs.amend import with_switches
from fuelsys.load.designs.door import load_design
from fuelsys.model.built.layout import Layout, Rides
from fuelsys.model.found.place import Built
from fuelsys.model.found.stages import Stage, StagesAsked
from fuelsys.model.stated.fittings import SwitchFloat
from fuelsys.report.shown import Shown
from fuelsys.report.tables.stages import entries, stages
from fuelsys_cli.main import group

TARGETS = (900.0, 600.0)
# Gentle turns in the box of 200 x 160 mm between the header's hoppers: the surface stays within the straight walls.
GENTLE: dict[str, Any] = {
    **{"attitude.3.pitch": "3 deg", "attitude.4.pitch": "2 deg", "attitude.5.pitch": "-3 deg"},
    **{"attitude.6.roll": "3 deg", "attitude.7.roll": "-3 deg"},
}
ASIDE: dict[str, Any] = {"tank.1.vent.0.position.0": "130 mm"}  # so that a stem may stand in the middle
NO_PROBE: dict[str, Any] = {"tank.1.gauge": []}


def corner_band_m3(layout: Layout, stage: Stage, xy_m: tuple[float, float], tolerance_m: float) -> float:
    """The band of a mark at the stage's height, but elsewhere in plan; infinite where it never trips at some attitude."""
    tank = layout.tank(stage.search.tank)
    assert stage.place is not None
    mark_m = (tank.body_m((*xy_m, stage.place.z_m or 0.0)) - tank.cavity.centre_m)[None, :]
    flight = [a for a in layout.design.envelope if a.phase == "flight"]
    both = np.array([held(Drained.of(tank.cavity, a.up, outlets(tank)), mark_m, tolerance_m)[:, 0] for a in flight])
    return np.inf if np.isnan(both).any() else float(both[:, 1].max() - both[:, 0].min())


def test_in_a_plain_box_only_the_tolerance_is_left_of_the_band(tmp_path: Path) -> None:
    layout = layout_of(tmp_path, GENTLE | ASIDE | {"tank.1.switch": []})
    found = place_stages(layout, layout.tank("header"), StagesAsked(TARGETS, tolerance_m=0.002, plate=True), 0.02)
    for stage in found.stages:
        place = stage.place
        assert place is not None
        assert_allclose([place.x_m, place.y_m], [0.1, 0.08])
        # A mark 2 mm off along up lifts a surface of 320 cm2 / cos 3 deg by so much, either way; none from the attitude.
        assert_allclose(place.between_m3, 2 * 0.002 * 0.032 / np.cos(np.radians(3.0)), rtol=1e-9)
        assert stage.plain_m3 < 1e-9
        assert_allclose(stage.stem_m, 0.26 - (place.z_m or 0.0), atol=1e-12)  # to the roof's flat part
        least_s = stage.search.left_s(place.least_m3 or 0.0)
        assert (
            stage.search.target_s <= least_s < stage.search.target_s + 2.0
        )  # 0.01 mm of 320 cm2 at 0.3 L a minute: 0.1 s
    # 5 min at 0.3 L/min are 1.5 L, 46.875 mm of the box; each height is rounded up to 0.01 mm.
    heights = [stage.place.z_m for stage in found.stages if stage.place]
    assert_allclose(heights[0] - heights[1], 1.5e-3 / 0.032, atol=1.01e-5)


@pytest.mark.parametrize("plate", [True, False], ids=["on a plate", "apart"])
def test_what_is_placed_keeps_its_minutes_by_the_way_of_the_check(plate: bool, tmp_path: Path) -> None:
    layout = with_demand(layout_of(tmp_path, NO_PROBE | {"tank.1.switch": []}))
    asked = StagesAsked((600.0, 300.0), 0.003, 0.003, 0.015, 0.01, plate=plate)
    found = place_stages(layout, layout.tank("header"), asked, 0.02)
    again = with_demand(layout_of(tmp_path, NO_PROBE | {"tank.1.switch": entries(found, Shown())}))
    header = again.tank("header")
    studies = switch_studies(again, header, unusable(header, again.design.envelope))
    assert [study.name for study in studies] == ["10 min", "5 min"]
    for study, stage in zip(studies, found.stages, strict=True):
        least = study.least_minutes(study.worst.latest_m3) if study.worst else None
        target = (study.target_s or 0.0) / 60.0
        assert least is not None
        assert target - 1e-9 <= least < target + 0.1
        assert stage.place is not None
        band_m3 = stage.place.between_m3
        assert 2.0 * band_m3 <= corner_band_m3(layout, stage, (0.02, 0.02), 0.003)
        assert (stage.place.clearance_m or 0.0) >= 0.015
    for sooner, later in zip(studies[0].at, studies[1].at, strict=True):
        assert (sooner.latest_m3 or 0.0) > (later.trip_m3 or 0.0)
    assert found.plate_s is None  # apart they are as narrow
    places = {(stage.place.x_m, stage.place.y_m) for stage in found.stages if stage.place}
    assert len(places) == (1 if plate else 2)
    if not plate:
        (a, b), (c, d) = places
        assert np.hypot(a - c, b - d) >= 0.03 - 1e-9


def test_where_one_line_would_do_better_it_is_told(tmp_path: Path) -> None:
    layout = layout_of(tmp_path, NO_PROBE | GENTLE | ASIDE | {"tank.1.switch": []})
    asked = StagesAsked((600.0, 300.0), 0.003, 0.003, 0.015, 0.01)
    apart, on_one = (
        place_stages(layout, layout.tank("header"), replace(asked, plate=plate), 0.02) for plate in (False, True)
    )
    widest_s = [max(one.search.between_s(one.place) for one in some.stages if one.place) for some in (apart, on_one)]
    assert widest_s[1] < widest_s[0] - 12.0
    # Both marks in the middle, their bands are +-3 mm along up at 3 degrees: 32 cm2 x 6 mm / cos 3 = 0.1923 L at 0.3 L/min: 38.45 s.
    assert (apart.plate_s, on_one.plate_s) == (pytest.approx(38.45, abs=0.01), None)
    assert apart.plate_s == pytest.approx(widest_s[1], rel=1e-12)
    notes = [stages(some, "", Shown()).notes for some in (apart, on_one)]
    told = [
        sum(note.startswith("On one line (--plate) the widest band would be 0.7 min") for note in some)
        for some in notes
    ]
    assert told == [1, 0]


@pytest.mark.parametrize(
    "where",
    [
        pytest.param(("--x", "100 mm", "--y", "80 mm", "--reserve", "10 min"), id="at a place"),
        pytest.param(("--search", "80 mm", "--reserve", "10 min"), id="searched"),
        pytest.param(("--search", "80 mm", "--stages", "15 min, 12 min"), id="in stages"),
    ],
)
def test_that_no_new_mark_counts_what_was_measured_is_said(where: tuple[str, ...], tmp_path: Path) -> None:
    layout_of(tmp_path, {"tank.1.switch.1.measured_trip": "4 L"})
    ask = ("place", str(tmp_path / "bench.toml"), "--form", "json", *where, "--tank")
    for tank, said in (("header", 1), ("main", 0)):
        done = CliRunner().invoke(group, [*ask, tank])
        assert done.exit_code == 0, done.exception
        assert done.output.count(f"what was measured in tank {tank}") == said


FLOAT = SwitchFloat.model_construct(mass_kg=0.012, diameter_m=0.030, height_m=0.040)
FLOATING: dict[str, Any] = {"fuel.density_range": ["0.70 kg/L", "0.75 kg/L"], "tank.1.switch": []}


@pytest.mark.parametrize("plate", [True, False], ids=["on a plate", "apart"])
def test_what_place_promises_of_a_float_is_what_switches_says(plate: bool, tmp_path: Path) -> None:
    layout = with_demand(layout_of(tmp_path, NO_PROBE | FLOATING))
    asked = StagesAsked((600.0, 300.0), 0.003, 0.003, 0.015, 0.01, plate, FLOAT, 998.2, radians(30.0), 20.0)
    found = place_stages(layout, layout.tank("header"), asked, 0.02)
    again = with_demand(layout_of(tmp_path, NO_PROBE | FLOATING | {"tank.1.switch": entries(found, Shown())}))
    header = again.tank("header")
    studies = switch_studies(again, header, unusable(header, again.design.envelope))
    assert len(studies) == 2
    for study, stage, built in zip(studies, found.stages, header.design.switch, strict=True):
        assert (built.float_body, built.set_in_kg_m3, built.delay_s) == (FLOAT, 998.2, 20.0)
        assert study.worst
        assert stage.place
        assert_allclose(study.worst.latest_m3, stage.place.least_m3, rtol=1e-9)
        promised_s = stage.search.left_s(stage.place.least_m3 or 0.0)
        assert_allclose((study.least_minutes(study.worst.latest_m3) or 0.0) * 60.0, promised_s, rtol=1e-9)
        assert stage.search.target_s <= promised_s + 1e-6
    for sooner, later in zip(studies[0].at, studies[1].at, strict=True):
        assert (sooner.latest_m3 or 0.0) > (later.trip_m3 or 0.0)


def test_what_a_float_and_a_delay_ask_of_a_mark(tmp_path: Path) -> None:
    # In the box with straight walls, 320 cm2: 12 g on 7.07 cm2 lie 17.0 mm deep in water, 23.6 in fuel of 0.72 kg/L, 22.6 in 0.75.
    layout = layout_of(tmp_path, GENTLE | ASIDE | FLOATING)
    tank, at_m = layout.tank("header"), (0.1, 0.08)
    bare = place(layout, tank, at_m, 600.0, guaranteed=True)
    switch = StagesAsked((600.0,), 0.002, float_body=FLOAT, set_in_kg_m3=998.2, delay_s=60.0).switch(tank.design, 600.0)
    rides = Rides.of(switch, layout.design.fuel)
    assert rides
    asked = place(layout, tank, at_m, 600.0, guaranteed=True, built=Built(switch, rides))
    # 60 s at 18 L/h are 0.3 L; low along up at 3 degrees is more along the mesh's z.
    low_m = 0.002 + 0.012 / (0.72e3 * np.pi / 4 * 0.03**2) * (1.0 - 0.72 / 0.75)
    least_m = 0.3e-3 / 0.032 - (23.579e-3 - 17.007e-3) + low_m
    rise_m = float((asked.mark_m - bare.mark_m)[2])
    assert least_m - 2e-6 <= rise_m <= least_m + low_m * (1.0 / np.cos(np.radians(3.0)) - 1.0) + 2e-6
    assert min(one.minutes for one in asked.at) == pytest.approx(10.0, abs=0.05)
    assert all(one.minutes >= 10.0 - 1e-6 for one in asked.at)


def test_a_switch_that_does_not_work_at_an_attitude_has_no_place_there(tmp_path: Path) -> None:
    layout = layout_of(tmp_path, GENTLE | ASIDE | {"tank.1.switch": []})
    found = place_stages(layout, layout.tank("header"), StagesAsked((600.0,), 0.002, max_tilt_rad=radians(2.5)), 0.04)
    assert not found.complete
    assert any("more than the 2.5° that it is stated to work at" in why for why in found.stages[0].passed_over)


def test_a_stage_keeps_what_its_switch_in_the_file_says(tmp_path: Path) -> None:
    own = {
        "name": "10 min",
        "mark": ["100 mm", "80 mm", "100 mm"],
        "tolerance": "4 mm",
        "delay": "30 s",
        "measured_trip": "4 L",
    }
    layout = layout_of(tmp_path, GENTLE | ASIDE | {"tank.1.switch": [own]})
    found = place_stages(layout, layout.tank("header"), StagesAsked((600.0, 300.0), 0.003), 0.04)
    assert [(one.search.built.tolerance_m, one.search.built.delay_s) for one in found.stages] == [
        (0.003, 30.0),
        (0.003, 0.0),
    ]
    with pytest.raises(QuestionError, match="measured_trip of 10 min was measured at its old place"):
        entries(found, Shown())
    bare = place_stages(layout, layout.tank("header"), StagesAsked((600.0,)), 0.04)
    assert bare.stages[0].search.built.tolerance_m == 0.004


def test_what_stands_in_the_way_is_told(tmp_path: Path) -> None:
    layout = layout_of(tmp_path, GENTLE | ASIDE)
    found = place_stages(layout, layout.tank("header"), StagesAsked((600.0,), 0.002, 0.0, 0.025, plate=True), 0.02)
    # The probe at (110, 80) mm is within 25 mm of the line through the middle, which would be best.
    assert found.stages[0].passed_over["10 min: gauge probe is in the way"] >= 1
    wide = StagesAsked((600.0,), 0.002, 0.0, 0.09)
    none = place_stages(layout, layout.tank("header"), wide, 0.02)
    table = stages(none, "", Shown())
    assert not none.complete
    assert table.rows[0][1:] == (None,) * (len(table.columns) - 1)
    assert any("no place for 10 min" in note for note in table.notes)
    assert any("its float has no room" in note for note in table.notes)
    with pytest.raises(QuestionError, match="10 min has no place, so nothing was written"):
        entries(none, Shown())
    with pytest.raises(QuestionError, match="two stages have the same target"):
        place_stages(layout, layout.tank("header"), StagesAsked((600.0, 600.0)), 0.02)


def test_in_the_example_bands_are_half_as_wide_as_at_the_corner() -> None:
    layout = review.read(DEMO)
    asked = StagesAsked((1800.0, 1200.0, 600.0), 0.003, 0.003, 0.012, 0.01, plate=True)
    found = place_stages(layout, layout.tank("left"), asked, 0.05)
    for stage in found.stages:
        assert stage.place is not None
        least_s = stage.search.left_s(stage.place.least_m3 or 0.0)
        assert stage.search.target_s <= least_s + 1e-6 < stage.search.target_s + 6.0
        assert 2.0 * stage.place.between_m3 <= corner_band_m3(layout, stage, (0.05, -0.65), 0.003)
    # Nose down in a slip no surface passes such low marks: told, not passed over.
    table = stages(found, "", Shown())
    assert any("10 min never trips at a combination" in note for note in table.notes)
    assert [column.key for column in table.columns[:10]] == [
        *("stage", "x_m", "y_m", "mark_z_m", "stem_m", "to_wall_m", "guaranteed_s", "earliest_s", "band_s"),
        "band_volume_m3",
    ]


# --- into the file -----------------------------------------------------------------------------------------------------

HEAD = '[[tank]]\nname = "a"  # of two\nmesh = "a.stl"\n\n[[tank.outlet]]\nname = "o"\n'
TAIL = '\n# The other tank.\n#[[tank.switch]]\n[[tank]]\nname = "b"\n'
NEW: dict[str, str | list[str]] = {"name": "10 min", "mark": ["1 mm", "2 mm", "3 mm"], "target": "10 min"}
WRITTEN = '\n[[tank.switch]]\nname = "10 min"\nmark = ["1 mm", "2 mm", "3 mm"]\ntarget = "10 min"\n'


@pytest.mark.parametrize("newline", ["\n", "\r\n"])
def test_a_switch_goes_to_the_end_of_its_tank(newline: str) -> None:
    text = (HEAD + TAIL).replace("\n", newline)
    assert with_switches(text, "a", [NEW], "d", replace=False) == (HEAD + WRITTEN + TAIL).replace("\n", newline)
    bare = (HEAD + TAIL).rstrip("\n").replace("\n", newline)  # the last line of the file without an end
    assert with_switches(bare, "b", [NEW], "d", replace=False) == (HEAD + TAIL + WRITTEN).replace("\n", newline)


def test_a_switch_that_is_there_is_moved_only_when_asked() -> None:
    old = '\n[[tank.switch]]\nname = "10 min"  # lamp 3\nmark = ["9 mm", "9 mm", "9 mm"]  # measured\nown_float = "f"\n'
    with pytest.raises(QuestionError, match=r"tank a: it has switches of these names already: 10 min\. Say --replace"):
        with_switches(HEAD + old + TAIL, "a", [NEW], "d", replace=False)
    moved = with_switches(HEAD + old + TAIL, "a", [NEW], "d", replace=True)
    assert (
        moved
        == HEAD
        + old.replace("9 mm", "{}")
        .format("1 mm", "2 mm", "3 mm")
        .replace("# lamp 3\n", '# lamp 3\ntarget = "10 min"\n')
        + TAIL
    )


@pytest.mark.parametrize(
    ("text", "told"),
    [
        pytest.param('tank = [{ name = "a" }]\n', "cannot be told apart", id="inline"),
        pytest.param('[[tank]]\nname = "a"\nswitch = []\n', "laid out like this", id="a list of its own"),
        pytest.param('[[tank]]\nname = "b"\n[[tank]]\nname = "a"\nmirror_of = "b"\n', "mirror image of b", id="a twin"),
    ],
)
def test_a_file_that_cannot_take_it_is_refused(text: str, told: str) -> None:
    tomllib.loads(text)
    with pytest.raises(QuestionError, match=told):
        with_switches(text, "a", [NEW], "d", replace=False)


def test_stages_as_a_person_places_them(tmp_path: Path) -> None:
    for file in DEMO.parent.glob("*.stl"):
        (tmp_path / file.name).symlink_to(file)
    design = tmp_path / "taildragger.toml"
    design.write_text(DEMO.read_text())
    ask = ("place", "taildragger.toml", "--tank", "left", "--stages", "20 min, 10 min", "--search", "70 mm", "--plate")
    given = (
        *ask,
        "--mark-tolerance",
        "3 mm",
        "--float",
        "12 g, 30 mm, 40 mm",
        "--set-in",
        "1 kg/L",
        "--into",
        "taildragger.toml",
    )
    done = run(*given, "--picture", "plan.svg", folder=tmp_path)
    assert done.returncode == 0, done.stderr
    assert "wrote taildragger.toml: 2 switches of tank left" in done.stderr
    drawn = " ".join(re.findall(r">\s*([^<]*[^<\s])\s*<", (tmp_path / "plan.svg").read_text()))
    assert "20 min, 10 min" in drawn
    assert "that stage. Tolerances" in drawn
    assert "included." in drawn
    assert "not included" not in drawn
    switches = load_design(design).tank("left").design.switch
    assert [(switch.name, switch.tolerance_m, switch.through) for switch in switches] == [
        ("20 min", 0.003, "top"),
        ("10 min", 0.003, "top"),
    ]
    assert all(switch.float_body == FLOAT and switch.set_in_kg_m3 == 1000.0 for switch in switches)
    sinks = run(*ask, "--float", "30 g, 30 mm, 40 mm", folder=tmp_path)
    assert sinks.stderr.splitlines()[-1].startswith("--float: the float sinks in 0.72 kg/L")
    kept = design.read_bytes()
    again = run(*given, folder=tmp_path)
    assert (again.returncode, design.read_bytes()) == (2, kept)
    assert again.stderr.splitlines()[-1].endswith("Say --replace to move them.")
    bare = run(*ask, "--into", "taildragger.toml", folder=tmp_path)
    assert bare.stderr.splitlines()[-1].startswith("Error: --into needs --mark-tolerance")
    wrong = run(*ask[:-3], "--x", "1 mm", "--y", "1 mm", folder=tmp_path)
    assert (wrong.returncode, wrong.stderr.splitlines()[-1]) == (
        2,
        "Error: --stages needs --search, and no --x or --y.",
    )
    assert sorted(path.name for path in tmp_path.iterdir() if not path.is_symlink()) == ["plan.svg", "taildragger.toml"]
