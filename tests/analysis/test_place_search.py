"""Heights and places of a mark against the plain way: halving with a whole drain for every height that is tried."""

from __future__ import annotations

import csv
import json
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import solids
from commands import DEMO, run
from designs import layout_of
from hypothesis import given, settings
from hypothesis import strategies as st
from manifold3d import Manifold
from numpy.testing import assert_allclose, assert_array_equal
from places import cavity_of, directions, inner_points
from random_solids import random_body

from fuelsys.analysis.sweeping.place_search import _Row, search
from fuelsys.analysis.tank.draining import Drained, Opening
from fuelsys.analysis.tank.leaving import Leaving
from fuelsys.analysis.tank.place import place, target
from fuelsys.analysis.tank.stems import Stretches
from fuelsys.analysis.tank.unusable import outlets
from fuelsys.arrays import Floats
from fuelsys.errors import QuestionError
from fuelsys.load.designs.door import load_design
from fuelsys.model.built.layout import FittedTank, Layout
from fuelsys.model.found.outflow import Outflow
from fuelsys.model.found.place import AS_DRAWN, PlaceFound, PlaceSearch
from fuelsys.model.stated.attitude import Attitude
from fuelsys.model.words import Doubt
from fuelsys.report.shown import Shown
from fuelsys.report.tables import place as placement_tables
from fuelsys.report.tables.place import around_best


def by_halving(tank: FittedTank, attitude: Attitude, xy_m: tuple[float, float], target_m3: float) -> float | None:
    """Least height on a line at which a mark trips with the target still there, a whole drain for each height tried."""
    stretches = Stretches.of(tank, np.array([xy_m]))

    def enough(z_m: float) -> bool:
        spot = tank.cavity.spot("mark", tank.body_m((*xy_m, z_m)))
        held = Drained.of(tank.cavity, attitude.up, outlets(tank), [spot]).passed(0)
        return held is not None and held >= target_m3

    for low, high in zip(stretches.from_m, stretches.to_m, strict=True):
        margin = 1e-6 * (high - low)
        bottom, top = low + margin, high - margin
        if enough(top):
            for _ in range(48):
                middle = (bottom + top) / 2.0
                bottom, top = (bottom, middle) if enough(middle) else (middle, top)
            return float(top)
    return None


@pytest.fixture(scope="module")
def demo() -> Layout:
    return load_design(DEMO)


@pytest.mark.parametrize("name", ["left", "header"])
@pytest.mark.parametrize("minutes", [2.0, 12.0, 17.0])
def test_heights_are_those_of_halving(name: str, minutes: float, demo: Layout) -> None:
    tank = demo.tank(name)
    wanted = target(demo, tank, minutes * 60.0)
    corners = tank.mesh_m(tank.cavity.vertices_m + tank.cavity.centre_m)[:, :2]
    rng = np.random.default_rng(int(minutes))
    lines_m = rng.uniform(corners.min(axis=0), corners.max(axis=0), (5, 2))
    lines_m[0, 0] = corners[:, 0].min()  # along the wall, where there is one
    stretches = Stretches.of(tank, lines_m)
    for attitude in demo.design.envelope[2:9:2]:
        drained = Drained.of(tank.cavity, attitude.up, outlets(tank))
        found = stretches.heights_m(Leaving(drained, wanted.target_m3), len(lines_m))
        plain = [by_halving(tank, attitude, (x, y), wanted.target_m3) for x, y in lines_m]
        # A point at the very level at which the outlets stop is passed or not within a billionth of the height.
        expected = [np.inf if height is None else height for height in plain]
        assert_allclose(found, expected, rtol=0.0, atol=2e-9 * np.ptp(corners) + 1e-12)


@settings(max_examples=60)
@given(st.integers(0, 10_000), st.floats(0.0, 0.98))
def test_the_level_sought_is_where_the_quantity_turns(seed: int, share: float) -> None:
    solid = random_body(seed)
    cavity, rng = cavity_of(solid), np.random.default_rng(seed)
    openings = [Opening(cavity.spot("", point)) for point in inner_points(solid, rng, 2)]
    for up in directions(seed):
        drained = Drained.of(cavity, up, openings)
        wanted_m3 = share * cavity.gross_m3  # also less than stays behind: then any mark that is passed will do
        seeds = np.arange(drained.n_seeds, dtype=np.int32)
        levels = Leaving(drained, wanted_m3).levels_m(seeds)
        hair = 1e-7 * (drained.tilted.high_m - drained.tilted.low_m)
        held_above, held_below = (
            np.nan_to_num(
                drained.held(seeds, np.where(np.isinf(levels), 0.0, levels) + off, [0] * seeds.size), nan=-1.0
            )
            for off in (hair, -hair)
        )
        near = 1e-6 * cavity.gross_m3
        for level, above, below in zip(levels, held_above, held_below, strict=True):
            if np.isfinite(level) and level + hair < drained.tilted.high_m:
                assert above >= wanted_m3 - near
                assert below <= wanted_m3 + near


def _block(file: Path, low: tuple[float, float, float], high: tuple[float, float, float]) -> None:
    """A block between two corners, in mm, as a mesh file."""
    body = Manifold.cube([b - a for a, b in zip(low, high, strict=True)]).translate(list(low))
    vertices, faces = solids.from_manifold(body)
    rows = [" ".join(f"{c:g}" for c in corner) for corner in vertices] + [f"3 {a} {b} {c}" for a, b, c in faces]
    file.write_text(f"OFF\n{len(vertices)} {len(faces)} 0\n" + "\n".join(rows) + "\n", encoding="utf-8")


def test_over_a_body_inside_the_lowest_height_counts(tmp_path: Path) -> None:
    # A block from (90, 70, 100) to (110, 90, 140) mm: the line at (100, 80) has a stretch below it and one above.
    _block(tmp_path / "block.off", (90, 70, 100), (110, 90, 140))
    tank = layout_of(tmp_path, {"tank.1.inside": [{"name": "block", "mesh": "block.off"}]}).tank("header")
    stretches = Stretches.of(tank, np.array([[0.1, 0.08]]))
    assert_allclose(stretches.from_m, [-0.05, 0.14], atol=1e-12)
    assert_allclose(stretches.to_m, [0.1, 0.26], atol=1e-12)
    drained = Drained.of(tank.cavity, np.array([0.0, 0.0, 1.0]), outlets(tank))
    # Level: 0.88 L in the hopper and 320 cm2 of surface; from 100 to 140 mm the block takes 4 cm2 off.
    for wanted_m3, height_m in ((0.88e-3 + 0.032 * 0.05, 0.05), (0.88e-3 + 0.032 * 0.2 - 1.6e-5, 0.2)):
        assert_allclose(stretches.heights_m(Leaving(drained, wanted_m3), 1), [height_m], atol=1e-12)


def test_a_seed_that_leaves_too_little_everywhere_is_said() -> None:
    solid = random_body(3)
    cavity = cavity_of(solid)
    point = inner_points(solid, np.random.default_rng(3), 1)[0]
    drained = Drained.of(cavity, np.array([0.0, 0.0, 1.0]), [Opening(cavity.spot("", point))])
    seeds = np.arange(drained.n_seeds, dtype=np.int32)
    assert np.isinf(Leaving(drained, cavity.gross_m3 * 1.001).levels_m(seeds)).all()


def test_held_is_passed_many_at_once(demo: Layout) -> None:
    tank = demo.tank("header")
    spots = [tank.spot(f"switch {switch.name}") for switch in tank.design.switch]
    for attitude in demo.design.envelope:
        drained = Drained.of(tank.cavity, attitude.up, outlets(tank), spots)
        asked = [(mark, raised, state) for mark in range(3) for raised in (-0.05, 0.0, 0.02) for state in (0, 1)]
        assert drained.passed_all(asked) == [drained.passed(*one) for one in asked]


def test_a_sum_does_not_depend_on_what_is_asked_beside_it() -> None:
    # Many pools, so that the order in which they are summed would show in the last digit.
    solid = solids.egg_crate(7, 5)
    cavity = cavity_of(solid)
    drained = Drained.of(cavity, Attitude.of_degrees(1.0, 2.0).up, [Opening(cavity.spot("", solid[0][0]))])
    tilted = drained.tilted
    assert drained.n_seeds > 30
    levels = np.linspace(tilted.low_m, tilted.high_m, 60)[1:-1]
    seeds = np.full(levels.size, tilted.tree.port_seed[0], np.int32)
    together = drained.held(seeds, levels, [0] * levels.size)
    alone = [drained.held(seeds[k : k + 1], levels[k : k + 1], [0])[0] for k in range(levels.size)]
    assert np.isfinite(together).sum() > 10
    assert_array_equal(together, alone)


# --- the search --------------------------------------------------------------------------------------------------------


def _near(places: tuple[PlaceFound, ...], x_m: float, y_m: float) -> PlaceFound:
    return min(places, key=lambda one: (one.x_m - x_m) ** 2 + (one.y_m - y_m) ** 2)


def test_every_place_is_what_the_placement_says_there(demo: Layout) -> None:
    header = demo.tank("header")
    found = search(demo, header, 600.0, 0.04)
    assert len(found.places) > 10
    for one in found.places:
        assert one.z_m is not None
        placed = place(demo, header, (one.x_m, one.y_m), 600.0, guaranteed=True)
        assert_allclose(one.z_m, placed.mark_m[2], atol=1e-12)
        assert_allclose(one.least_m3, min(at.trip_m3 for at in placed.at), rtol=1e-12)
        assert_allclose(one.least_m3, found.target_m3, rtol=1e-9)
        assert one.most_m3 is not None
        assert one.most_m3 >= max(at.trip_m3 for at in placed.at) * (1.0 - 1e-12)


def test_the_earliest_trip_counts_what_the_other_bay_may_hold(tmp_path: Path) -> None:
    # A wall of 10 mm across the header's middle up to z = 200 mm, an outlet on either side, level flight only.
    _block(tmp_path / "wall.off", (95, -10, -60), (105, 170, 200))
    changes: dict[str, Any] = {f"attitude.{k}.{angle}": "0 deg" for k in range(2, 8) for angle in ("pitch", "roll")}
    changes |= {"tank.1.inside": [{"name": "wall", "mesh": "wall.off"}]}
    changes |= {f"tank.1.switch.{k}.mark.0": "70 mm" for k in range(2)}  # beside the wall
    changes |= {f"tank.1.{port}.0.position.0": "70 mm" for port in ("drain", "vent")}
    changes |= {"tank.1.outlet.0.position": ["80 mm", "80 mm", "-25 mm"]}
    changes |= {"tank.1.outlet.1": {"name": "second", "position": ["120 mm", "80 mm", "-25 mm"], "bore": "8 mm"}}
    layout = layout_of(tmp_path, changes)
    found = search(layout, layout.tank("header"), 300.0, 0.04)
    # The other bay stands anywhere from its outlet's level to the top of the wall: 95 x 160 x 200 mm = 3.04 L, and in the
    # hopper from -25 to 0 mm the sections (95 + 1.2 z)(160 + 1.6 z): 0.38 - 0.1075 + 0.01 = 0.2825 L.
    assert {round(one.x_m, 3) for one in found.ranked} == {0.04, 0.08, 0.12, 0.16}
    assert_allclose([one.between_m3 for one in found.ranked], 3.3225e-3, rtol=1e-9)
    assert_allclose([one.least_m3 for one in found.ranked], found.target_m3, rtol=1e-9)


def test_the_tanks_are_mirror_images_and_so_are_their_places(demo: Layout) -> None:
    # Without their lines, of which the right one has a hump.
    left, right = (search(demo, replace(demo.tank(name), downhill={}), 1200.0, 0.05) for name in ("left", "right"))
    assert len(left.places) == len(right.places) > 50
    mirrored: Floats = np.array([[p.x_m, -p.y_m, p.z_m or np.nan, p.between_m3] for p in left.places])
    given_right = np.array([[p.x_m, p.y_m, p.z_m or np.nan, p.between_m3] for p in right.places])
    assert_allclose(mirrored[np.lexsort(mirrored.T[1::-1])], given_right[np.lexsort(given_right.T[1::-1])], atol=1e-9)


def test_in_a_plain_box_the_middle_is_best(tmp_path: Path) -> None:
    # The header's belt of straight walls spans x 0 to 200, y 0 to 160 mm; at small angles a surface that stays within it
    # turns about the middle (100, 80), where the trips are together.
    turns = {"attitude.3.pitch": "3 deg", "attitude.4.pitch": "2 deg", "attitude.5.pitch": "-3 deg"}
    turns |= {"attitude.6.roll": "3 deg", "attitude.7.roll": "-3 deg"}
    layout = layout_of(tmp_path, turns)
    found = search(layout, layout.tank("header"), 900.0, 0.02)
    best = found.ranked[0]
    assert_allclose([best.x_m, best.y_m], [0.1, 0.08])
    assert_allclose(best.clearance_m, 0.08, rtol=1e-12)  # to the walls at y = 0 and 160
    assert best.between_m3 < 1e-9
    # 15 min at 0.3 L/min are 4.5 L above the unusable fuel and what the main tank holds back of the
    # return; V = 0.88 L in the hopper + 0.032 m2 z.
    assert best.z_m is not None
    assert found.outflow.held_m3 is not None
    assert_allclose(best.z_m, (found.unusable_m3 + 4.5e-3 + found.outflow.held_m3 - 0.88e-3) / 0.032, atol=1e-9)
    # 20 mm forward, 3° either way about the middle: 0.02 m sin 3° / cos 3° of height each way, over 0.032 m2.
    off = _near(found.places, 0.08, 0.08)
    assert_allclose(off.between_m3, 2 * 0.02 * np.tan(np.radians(3.0)) * 0.032, rtol=1e-6)
    # The four places 20 mm beside it.
    assert [(dx, dy, one and (one.x_m, one.y_m)) for dx, dy, one in found.beside(best)] == [
        (dx, dy, (pytest.approx(0.1 + 0.02 * dx), pytest.approx(0.08 + 0.02 * dy)))
        for dx, dy in ((-1, 0), (1, 0), (0, -1), (0, 1))
    ]
    (around,) = around_best(found, Shown())
    assert [row[0] for row in around.rows] == ["best", "x − 20.0 mm", "x + 20.0 mm", "y − 20.0 mm", "y + 20.0 mm"]
    assert_allclose(around.rows[1][7], off.between_m3 / 5e-6, rtol=1e-9)
    assert not any(isinstance(note, Doubt) for note in around.notes)  # 13 s of 15 min
    # Nose down the fuel runs forward, and a mark there stays wet longest.
    assert off.latest is not None
    assert off.earliest is not None
    assert (off.latest.name, off.earliest.name) == ("descent", "climb")


def test_what_is_worse_one_step_away_is_said() -> None:
    level = Attitude("level", "flight", normal=True)

    def place(x: int, y: int, most_m3: float) -> PlaceFound:
        return PlaceFound(x * 0.025, y * 0.025, 0.1, 3.0e-3, most_m3, level, level, 0.004)

    # Of a target of 10 min at 0.3 L a minute a tenth is 0.3 L: 0.299 L more is let pass, 0.301 L is told.
    places = (
        place(4, 4, 3.1e-3),
        place(3, 4, 3.1e-3 + 0.301e-3),
        place(5, 4, 3.1e-3 + 0.299e-3),
        PlaceFound(0.1, 0.075, None, why_not="no height leaves the target at climb"),
    )
    (around,) = around_best(PlaceSearch("box", 600.0, 3.0e-3, 0.0, Outflow(5e-6, 5e-6), 0.025, places), Shown())
    assert [note for note in around.notes if isinstance(note, Doubt)] == [
        "the mark stands 4.0 mm from a wall; a float seldom has room in 10.0 mm (common practice, no source).",
        "one step away, at x − 25.0 mm, the trips are 1.1 min further apart.",
        "one step away, at y − 25.0 mm, no height serves.",
    ]
    assert [row[-1] for row in around.rows] == ["", "", "", "no height leaves the target at climb", "not in the cavity"]
    assert around_best(PlaceSearch("box", 600.0, 3.0e-3, 0.0, 5e-6, 0.025, places[3:]), Shown()) == []


def test_a_body_inside_is_a_wall_too(tmp_path: Path) -> None:
    # The block's side at x = 110 is 15 mm from the line at 125; 11 min need a mark between its bottom and its top.
    _block(tmp_path / "block.off", (90, 70, 40), (110, 90, 200))
    aside = {f"tank.1.switch.{k}.mark.0": "50 mm" for k in range(2)}
    layout = layout_of(tmp_path, {"tank.1.inside": [{"name": "block", "mesh": "block.off"}], **aside})
    placed = place(layout, layout.tank("header"), (0.125, 0.08), 660.0, guaranteed=True)
    assert 0.04 < placed.mark_m[2] < 0.2
    assert_allclose(placed.clearance_m, 0.015, rtol=1e-9)
    assert_allclose(placement_tables.placement(placed, "", Shown())[0].rows[0][-1], 0.015, rtol=1e-9)
    near = place(layout, layout.tank("header"), (0.119, 0.08), 660.0, guaranteed=True)
    assert placement_tables.placement(near, "", Shown())[0].notes[0].startswith("the mark stands 9.0 mm from a wall")


# --- as a person runs it -------------------------------------------------------------------------------------------------

ASK = ("place", str(DEMO), "--tank", "left", "--reserve", "30 min", "--search", "50 mm")


def test_the_best_places_are_listed_and_all_are_given(tmp_path: Path, demo: Layout) -> None:
    found = search(demo, demo.tank("left"), 1800.0, 0.05)
    done = run(*ASK, "--form", "json", folder=tmp_path)
    assert done.returncode == 0, done.stderr
    rows = json.loads(done.stdout)["tables"][0]["rows"]
    assert len(rows) == len(found.places)
    best = found.ranked[0]
    assert (rows[0]["x_m"], rows[0]["y_m"]) == (best.x_m, best.y_m)
    assert best.z_m <= rows[0]["mark_z_m"] < best.z_m + 1e-4  # rounded up to the tenth of a millimetre that is shown
    assert best.most_m3 is not None
    a_bit_s = 0.5 * 1e-4 / demo.design.reserve_flow_m3_s  # a tenth of a millimetre of a surface of less than 0.5 m²
    assert 0.0 <= rows[0]["most_at_trip_s"] - found.left_s(best.most_m3) < a_bit_s
    assert 1800.0 <= rows[0]["least_at_trip_s"] + 1e-6 < 1800.0 + a_bit_s
    none = [row for row in rows if row["mark_z_m"] is None]
    assert len(none) == len(found.places) - len(found.ranked) > 0
    assert all(row["remark"].startswith("no height leaves the target at ") for row in none)
    table = run(*ASK, folder=tmp_path).stdout
    assert f"{len(found.places)} places every 50.0 mm inside the cavity, of which {len(found.ranked)} serve." in table
    assert "One step beside the best place" in table
    listed = list(csv.reader(run(*ASK, "--form", "csv", folder=tmp_path).stdout.splitlines()))
    assert len(listed) == 1 + len(rows)


def test_where_none_serves_it_is_said(tmp_path: Path) -> None:
    # The one place, (150, 150) mm, lies under the slope of the roof: 26 min are 7.8 L, with the unusable
    # fuel and what the main tank may hold back of the return 8.67 of 8.912 L.
    layout_of(tmp_path)
    done = run(
        *("place", "bench.toml", "--tank", "header", "--reserve", "26 min", "--search", "150 mm"), folder=tmp_path
    )
    assert done.returncode == 0, done.stderr
    assert "no place serves: no height leaves the target at " in done.stdout
    assert "1 place every 150.0 mm inside the cavity, of which 0 serve" in " ".join(done.stdout.split())


@pytest.mark.parametrize(("name", "begins"), [("plan.png", b"\x89PNG\r\n\x1a\n"), ("plan.svg", b"<svg")])
def test_the_plan_is_drawn(name: str, begins: bytes, tmp_path: Path) -> None:
    done = run(*ASK, "--picture", name, folder=tmp_path)
    assert done.returncode == 0, done.stderr
    drawn = (tmp_path / name).read_bytes()
    assert drawn.startswith(begins)
    if name.endswith("svg"):
        for word in (b"best", b"mesh x [mm], aft", b"outlet", b"apart [min]", b"Crosses: no height serves."):
            assert word in drawn
    assert [path.name for path in tmp_path.iterdir()] == [name]


@pytest.mark.parametrize(
    ("arguments", "told"),
    [
        pytest.param([], "Error: Give --x and --y, or --search.", id="no place"),
        pytest.param(["--x", "60 mm"], "Error: Give --x and --y, or --search.", id="half a place"),
        pytest.param(["--x", "60 mm", "--search", "25 mm"], "Error: Give --x and --y, or --search.", id="both"),
        pytest.param(
            ["--x", "60 mm", "--y", "80 mm", "--picture", "a.svg"], "Error: --picture needs --search.", id="no plan"
        ),
        pytest.param(
            ["--search", "0 mm"],
            'taildragger.toml: a spacing of 0 mm makes no grid. Give one such as "25 mm".',
            id="no spacing",
        ),
        pytest.param(
            ["--search", "0.1 mm"],
            "taildragger.toml: tank header: a spacing of 0.1 mm gives 3200000 places. Give one that gives at most 100000.",
            id="too fine",
        ),
        pytest.param(
            ["--search", "300 mm"],
            "taildragger.toml: tank header: no place of a grid of 300 mm lies in the cavity. Give a smaller spacing.",
            id="too wide",
        ),
        pytest.param(
            ["--search", "25 mm", "--reserve", "10 h"],
            "taildragger.toml: tank header: 600 min need 210.03 L with the unusable fuel, the tank holds 7.833 L."
            " Ask for fewer minutes or draw from a larger tank.",
            id="too long",
        ),
    ],
)
def test_a_mistake_is_one_line_and_exit_code_2(arguments: list[str], told: str, tmp_path: Path) -> None:
    done = run("place", str(DEMO), "--tank", "header", "--reserve", "10 min", *arguments, folder=tmp_path)
    assert (done.returncode, done.stdout) == (2, "")
    assert done.stderr.splitlines()[-1] == told


def test_a_mesh_that_does_not_stand_upright_is_refused(tmp_path: Path) -> None:
    layout = layout_of(tmp_path)
    tank = layout.tank("header")
    lying = FittedTank(tank.design, tank.cavity, tank.turn[[1, 2, 0]], tank.origin_m, tank.spots)
    with pytest.raises(QuestionError, match="the mesh's z axis does not point up"):
        search(layout, lying, 300.0, 0.02)


def test_a_place_that_leaves_less_than_the_target_is_none(demo: Layout) -> None:
    tank = demo.tank("header")
    flight = [attitude for attitude in demo.design.envelope if attitude.phase == "flight"]
    row, xy_m = _Row(tank, flight, 3e-3, AS_DRAWN), tank.mesh_m(tank.cavity.centre_m)[:2]
    for least_m3, said in ((3e-3 - 1e-13, ""), (2.999e-3, f"leaves less than the target at {flight[1].text}")):
        held_m3 = np.full((2, len(flight)), 4e-3)
        held_m3[0, 1] = least_m3
        found = row._found(xy_m, 0.1, np.zeros(len(flight)), held_m3, within=True)
        assert found.why_not.endswith(said)
        assert bool(found.why_not) == bool(said)
