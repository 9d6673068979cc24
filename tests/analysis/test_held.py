"""Attitudes that are held for a time: two pools' common volume against a geometry library, and unusable fuel by hand."""

from __future__ import annotations

import json
import math
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from commands import run
from designs import layout_of
from manifold3d import Manifold
from numpy.testing import assert_allclose
from random_solids import random_body
from solids import Solid, baffled_box, box, prism, to_manifold

from fuelsys import review
from fuelsys.analysis.tank import held as held_module
from fuelsys.analysis.tank.combined import combinations, worst_combined
from fuelsys.analysis.tank.draining import Opening
from fuelsys.analysis.tank.held import held
from fuelsys.analysis.tank.tilted import Tilted
from fuelsys.analysis.tank.unusable import left_at, unusable
from fuelsys.arrays import Floats
from fuelsys.kernels.meeting import joins_at, shared_volume
from fuelsys.model.built.cavity import Cavity, Spot
from fuelsys.model.built.layout import Draw
from fuelsys.model.stated.attitude import Attitude
from fuelsys.report.shown import Shown
from fuelsys.report.tables import unusable as unusable_tables

KEPT = json.loads((Path(__file__).parents[1] / "json_form.json").read_text(encoding="utf-8"))


class Pool:
    """The pool about a seed below a level at one attitude: by its seeds, and as a solid."""

    def __init__(self, cavity: Cavity, up: Floats, share: float, seed: int) -> None:
        self.tilted = Tilted.of(cavity, up)
        tree = self.tilted.tree
        seeds = tree.seed_vertex.size
        self.level = float(self.tilted.low_m + share * (self.tilted.high_m - self.tilted.low_m))
        deep = np.flatnonzero(tree.floor[:seeds] < self.level - 0.05)
        self.seed = int(deep[seed % deep.size])
        self.own = (joins_at(tree.parent, tree.floor, self.seed, seeds) < self.level)[tree.face_seed]

    def solid(self, body: Manifold) -> Manifold:
        parts = body.trim_by_plane([float(-c) for c in self.tilted.up], -self.level).decompose()
        low = self.tilted.cavity.vertices_m[self.tilted.tree.seed_vertex[self.seed]]
        near = [np.abs(part.to_mesh64().vert_properties[:, :3] - low).max(axis=1).min() for part in parts]
        assert min(near) < 1e-9
        return parts[int(np.argmin(near))] ^ body  # what hangs free in it is a part of its own


def common(cavity: Cavity, one: Pool, two: Pool) -> float:
    lids = [(pool.tilted.up, pool.tilted.z_m, pool.level) for pool in (one, two)]
    return shared_volume(cavity.vertices_m, cavity.faces, cavity.areas_m2, one.own & two.own, lids[0], lids[1])


@pytest.mark.parametrize("apart", [0.3, 1e-2, 1e-6, 1e-9, 0.0])
@pytest.mark.parametrize("number", range(12))
def test_common_volume_of_two_pools_is_a_librarys(number: int, apart: float) -> None:
    rng = np.random.default_rng(number)
    cavity = Cavity.of(*(baffled_box() if number == 0 else random_body(number)))
    body = to_manifold(np.array(cavity.vertices_m), np.array(cavity.faces))
    first = np.array([*rng.uniform(-0.2, 0.2, 2), 1.0])
    second = first + apart * np.array([*rng.uniform(-1.0, 1.0, 2), 0.0])
    share = float(rng.uniform(0.2, 0.7))
    near = share + (0.0 if rng.random() < 0.3 else float(rng.uniform(-0.1, 0.1)))
    one = Pool(cavity, first / np.linalg.norm(first), share, int(rng.integers(99)))
    two = Pool(cavity, second / np.linalg.norm(second), near, int(rng.integers(99)))
    expected = (one.solid(body) ^ two.solid(body)).volume()
    assert_allclose(common(cavity, one, two), expected, rtol=1e-8, atol=1e-9 * cavity.gross_m3)
    assert_allclose(common(cavity, two, one), expected, rtol=1e-8, atol=1e-9 * cavity.gross_m3)


@pytest.mark.parametrize("tilt", [0.2, 1e-3, 1e-6, 1e-9])
def test_common_volume_in_a_box_by_hand(tilt: float) -> None:
    cavity = Cavity.of(
        *box(0.6, 0.4, 0.2)
    )  # below the middle's level and below a plane through the middle: a wedge less
    ups = [Attitude("", "flight", pitch_rad=angle).up for angle in (0.0, tilt)]
    lids = [(up, cavity.vertices_m @ up, 0.0) for up in ups]
    everything = np.ones(len(cavity.faces), np.bool_)
    found = shared_volume(cavity.vertices_m, cavity.faces, cavity.areas_m2, everything, lids[0], lids[1])
    assert found == pytest.approx(0.4 * (0.6 * 0.1 - 0.3**2 / 2.0 * math.tan(tilt)), abs=1e-16)


RIB_M, THICK_M, TILT_RAD, OUT_M = 0.5, 0.1, math.radians(8.0), 0.3
LEVEL = Attitude("level", "flight", normal=True)


def ribbed() -> Solid:
    """A tank 2 x 1 x 1 whose rib, 0.1 thick and 0.5 high, stands at x = 1: bays of 1 and 0.9."""
    rib = [[RIB_M, 1.0], [RIB_M, 1.0 + THICK_M]]
    return prism([[0, 0], [0, 1], *rib, [0, 1 + THICK_M], [0, 2], [1, 2], [1, 0]], 1.0, "y")


def of_ribbed(held_s: float, draw: Draw) -> tuple[float, float, float | None]:
    """Unusable fuel with the nose up for a time and for ever, and the least quantity that outlasts it; outlet in the front bay."""
    cavity = Cavity.of(*ribbed())
    attitude = Attitude("climb", "flight", TILT_RAD, held_s=held_s)
    spot = cavity.spot("outlet", np.array([OUT_M, 0.5, 0.0]))
    found = held(cavity, (attitude.up, attitude), LEVEL.up, [Opening(spot)], draw)
    assert found is not None
    return found.unusable_m3, left_at(cavity, attitude, [Opening(spot)]).sustained_m3, found.from_m3


def test_a_rib_keeps_fuel_over_the_outlet_by_hand() -> None:
    behind, under = (
        1.0 - THICK_M,
        (1.0 - OUT_M) ** 2 / 2.0 * math.tan(TILT_RAD),
    )  # the bay behind; under the outlet, nose up
    for_time, for_ever, least = of_ribbed(60.0, Draw(1e-3))  # 0.06 are drawn
    over = 1.0**2 / 2.0 * math.tan(TILT_RAD)  # over the rib's height, from its front edge to the back
    assert for_ever == pytest.approx(under + behind * RIB_M + over, rel=1e-12)
    assert for_time == pytest.approx(under + behind * RIB_M, rel=1e-8)
    assert least == pytest.approx(under + behind * RIB_M + 0.06, rel=1e-8)


def test_what_comes_back_elsewhere_in_the_tank_must_be_there_too() -> None:
    alone, returning = of_ribbed(60.0, Draw(1e-3)), of_ribbed(60.0, Draw(1e-3, 1e-3))
    assert returning[2] == pytest.approx((alone[2] or 0.0) + 0.06, rel=1e-8)
    assert returning[0] == pytest.approx(min(alone[1], alone[0] + 0.06), rel=1e-8)


def test_longer_is_never_better_and_for_ever_is_the_limit() -> None:
    times = [1.0, 30.0, 200.0, 380.0, 420.0, 2000.0]
    found = [of_ribbed(time, Draw(1e-3))[0] for time in times]
    assert found == sorted(found)
    assert found[-1] == of_ribbed(1.0, Draw(1e-3))[1]
    assert found[0] < found[-1]
    assert of_ribbed(2000.0, Draw(1e-3))[2] is None  # two of 1.95: not even a full tank


@pytest.mark.parametrize("time", ["1 s", "30 s", "5 min"])
def test_one_pool_knows_no_time(tmp_path: Path, time: str) -> None:
    changes = {f"attitude.{k}.held": time for k in (3, 4, 5, 6, 7)}
    states = [review.read(_written(tmp_path / name, given)) for name, given in (("a", {}), ("b", changes))]
    for tank, same in zip(*(layout.tanks for layout in states), strict=True):
        ever, timed = (unusable(one, at.design.envelope) for one, at in zip((tank, same), states, strict=True))
        assert ever is not None
        assert timed is not None
        assert timed.held
        assert [at.unusable_m3 for at in timed.at] == [at.unusable_m3 for at in ever.at]


def _written(folder: Path, changes: dict[str, Any]) -> Path:
    folder.mkdir(exist_ok=True)
    layout_of(folder, changes)
    return folder / "bench.toml"


def test_where_the_flow_is_not_known_it_counts_for_ever(tmp_path: Path) -> None:
    cavity = Cavity.of(*ribbed())
    attitude, spot = Attitude("climb", "flight", TILT_RAD, held_s=9.0), Spot("outlet", cavity.vertices_m[0], 0)
    assert held(cavity, (attitude.up, attitude), LEVEL.up, [Opening(spot)], Draw(1e-3, needs="its flow")) is None


@pytest.mark.parametrize(("which", "word"), [(0, "a ground attitude"), (2, "the normal flight attitude")])
def test_held_is_refused_where_it_means_nothing(tmp_path: Path, which: int, word: str) -> None:
    with pytest.raises(Exception, match=f"{word} says how long it is held"):
        layout_of(tmp_path, {f"attitude.{which}.held": "30 s"})


POCKETS = {"tank.0.mesh": "pocket.off", **{f"attitude.{k}.held": "10 s" for k in (5, 6)}}


def test_the_table_has_both_and_says_what_was_assumed(tmp_path: Path) -> None:
    file = _written(tmp_path, POCKETS)
    rows = unusable_tables.unusable(review.study(review.read(file), only="main").tanks[0], Shown())[0].record()["rows"]
    assert list(rows[0]) == KEPT["where_held"]["TANK-unusable"]
    assert [row["held_for_s"] for row in rows] == [None] * 5 + [10.0, 10.0, None]
    assert all(row["unusable_in_that_time_m3"] <= row["left_in_all_m3"] for row in rows[5:7])
    text = " ".join(run("unusable", str(file), folder=tmp_path).stdout.split())
    assert all(words in text for words in ("Held for a time", "drawn from this tank alone", "held 10 s"))


def test_tilts_come_together_for_the_longest_time(tmp_path: Path) -> None:
    ever = review.read(_written(tmp_path / "a", {"tank.0.mesh": "pocket.off"}))
    timed = review.read(_written(tmp_path / "b", POCKETS))
    one, two = (worst_combined(at.tank("main"), at.design.envelope) for at in (ever, timed))
    assert one is not None
    assert two is not None
    assert two.unusable_m3 <= one.unusable_m3
    assert two.attitude.held_s in (None, 10.0)


def test_however_many_attitudes_are_stated_the_grid_stays_as_large() -> None:
    tilts = np.random.default_rng(1).uniform([-9.0, -6.0], [14.0, 6.0], (200, 2))
    many = [Attitude.of_degrees(*tilt) for tilt in [(-10.0, -7.0), (15.0, 7.0), *tilts.tolist()]]
    grid = combinations(many)
    assert len(grid) <= 50
    ends = {(round(math.degrees(at.pitch_rad), 3), round(math.degrees(at.roll_rad), 3)) for at in grid}
    assert {(-10.0, -7.0), (-10.0, 7.0), (15.0, -7.0), (15.0, 7.0)} <= ends


def test_never_less_than_at_the_normal_attitude_to_which_it_returns() -> None:
    cavity, attitude = Cavity.of(*ribbed()), Attitude("climb", "flight", TILT_RAD, held_s=1.0)
    opening = Opening(
        cavity.spot("outlet", np.array([1.0, 0.5, 0.0])), cover_m=0.05
    )  # under the rib, where fuel runs to
    found = held(cavity, (attitude.up, attitude), LEVEL.up, [opening], Draw(1e-3))
    assert found is not None
    assert found.unusable_m3 == pytest.approx(0.05 + (1.0 - THICK_M) * RIB_M, rel=1e-12)
    assert left_at(cavity, attitude, [opening]).sustained_m3 > found.unusable_m3 * 1.05


def test_what_lay_in_a_pocket_is_not_counted_by_hand() -> None:
    """Humps 0.5 and 0.45 high with a valley between: level the first parts it from the outlet, nose down the second does."""
    floor = [(0.0, 0.0), (0.6, 0.0), (0.8, 0.5), (1.0, 0.3), (1.2, 0.45), (1.4, 0.0), (2.0, 0.0)]
    around = [(0.0, 1.0), *floor, (2.0, 1.0)]
    cavity = Cavity.of(*prism([(z, x) for x, z in around], 1.0, "y"))
    attitude = Attitude("descent", "flight", -TILT_RAD, held_s=60.0)
    opening = Opening(cavity.spot("outlet", np.array([0.0, 0.5, 0.0])))
    before = 0.6 * 0.48 + 0.48**2 / 2.0 * 0.2 / 0.5  # before the first hump up to 0.48: all of it is to be drawn
    found = held(cavity, (attitude.up, attitude), LEVEL.up, [opening], Draw(before / 60.0))
    assert found is not None
    assert found.from_m3 == pytest.approx(0.4 + before, rel=1e-8)  # 0.4 in the pockets behind it


def test_the_worst_attitude_to_turn_from_counts() -> None:
    cavity = Cavity.of(*ribbed())
    climb = Attitude("climb", "flight", TILT_RAD, held_s=60.0)
    nose_down, openings = (
        Attitude("glide", "flight", -TILT_RAD),
        [Opening(cavity.spot("o", np.array([OUT_M, 0.5, 0.0])))],
    )
    alone = [held(cavity, (climb.up, climb), one.up, openings, Draw(1e-3)) for one in (LEVEL, nose_down)]
    both = held(cavity, (climb.up, climb), np.array([LEVEL.up, nose_down.up]), openings, Draw(1e-3))
    assert both is not None
    assert both.unusable_m3 == max(one.unusable_m3 for one in alone if one)
    assert alone[0] != alone[1]


def test_an_outlet_that_ends_another_must_outlast_the_time_itself() -> None:
    cavity = Cavity.of(*ribbed())
    climb = Attitude("climb", "flight", TILT_RAD, held_s=60.0)
    spots = [cavity.spot("front", np.array([OUT_M, 0.5, 0.0])), cavity.spot("back", np.array([1.9, 0.5, 0.0]))]
    free = held(cavity, (climb.up, climb), LEVEL.up, [Opening(spot) for spot in spots], Draw(1e-3))
    ended = held(cavity, (climb.up, climb), LEVEL.up, [Opening(spots[0], ends=(1,)), Opening(spots[1])], Draw(1e-3))
    assert free is not None
    assert ended is not None
    assert ended.unusable_m3 > free.unusable_m3 + 1e-3


def test_the_worst_of_many_starts_is_found_without_all_of_them(monkeypatch: pytest.MonkeyPatch) -> None:
    passed, of = [], held_module._from

    def seen(*arguments: Any) -> Any:
        try:
            return of(*arguments)
        except held_module._PassedOver:
            passed.append(arguments)
            raise

    monkeypatch.setattr(held_module, "_from", seen)
    rng = np.random.default_rng(5)
    draw = Draw(2e-5, 1e-5)
    for number in (0, 4):
        cavity = Cavity.of(*(baffled_box() if number == 0 else random_body(number)))
        low = cavity.vertices_m[np.argmin(cavity.vertices_m @ Attitude("", "flight").up)]
        openings = [Opening(cavity.spot("outlet", low + cavity.centre_m))]
        starts = [Attitude("", "flight", *rng.uniform(-0.1, 0.1, 2)).up for _ in range(8)]
        for pitch in (-0.3, 0.1, 0.25):
            turned = Attitude("", "flight", pitch_rad=pitch, held_s=float(rng.uniform(5.0, 200.0)))
            alone = [held(cavity, (turned.up, turned), start, openings, draw) for start in starts]
            every = held(cavity, (turned.up, turned), np.array(starts), openings, draw)
            assert every is not None
            assert every.unusable_m3 == max(one.unusable_m3 for one in alone if one)
    assert passed
