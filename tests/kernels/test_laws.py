"""Laws that hold for every body, attitude and level: none of these expects a number of its own."""

from dataclasses import dataclass, replace
from functools import cache

import numpy as np
import pytest
import solids
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from numpy.testing import assert_allclose
from places import cavity_of, directions, inner_points, low_points, pool_volumes
from random_solids import random_body
from solids import Floats, Solid, from_manifold, to_manifold

from fuelsys.analysis.tank.draining import Drained, Opening
from fuelsys.analysis.tank.levels import one_pool_above_m
from fuelsys.analysis.tank.place import steady_point_m
from fuelsys.analysis.tank.tilted import Tilted
from fuelsys.analysis.tank.unusable import unusable
from fuelsys.kernels.drain import passing
from fuelsys.model.built.layout import FittedTank
from fuelsys.model.stated.attitude import Attitude
from fuelsys.model.stated.design import Tank
from fuelsys.model.stated.fittings import Outlet

body_of = cache(random_body)
seeds = st.integers(0, 400)
shares = st.floats(0.0, 1.0)
filled_shares = st.floats(0.02, 0.98)
angles_deg = st.floats(-30.0, 30.0)


def view(seed: int) -> Tilted:
    """A random body at one of its attitudes."""
    return Tilted.of(cavity_of(body_of(seed)), directions(seed)[seed % 3])


def at_shares(tilted: Tilted, at: Floats | float) -> Floats:
    return np.atleast_1d(tilted.low_m + np.asarray(at) * (tilted.high_m - tilted.low_m))


@dataclass(frozen=True)
class Question:
    """A body, an up, two outlets (where it can be at low points of pools), three marks; a level above the first outlet."""

    solid: Solid
    up: Floats
    outlets: list[Floats]
    marks: list[Floats]
    above_m: float

    def moved(self, turn: Floats, away: Floats) -> "Question":
        """All of it turned and moved."""
        vertices, faces = self.solid
        outlets, marks = ([turn @ point + away for point in points] for points in (self.outlets, self.marks))
        return replace(self, solid=(vertices @ turn.T + away, faces), up=turn @ self.up, outlets=outlets, marks=marks)

    def answers(self) -> Floats:
        """Shares of the whole: below the level, what stays, its moment, what is held at the marks, the pools there."""
        cavity = cavity_of(self.solid)
        outlet = self.outlets[0]
        openings = [Opening(cavity.spot("", point)) for point in self.outlets]
        drained = Drained.of(cavity, self.up, openings, [cavity.spot("", mark) for mark in self.marks])
        level_m = float((outlet - cavity.centre_m) @ self.up) + self.above_m
        held = [drained.passed(index, state=state) for index in range(len(self.marks)) for state in (0, 1)]
        centre = drained.centre_m()
        moment = 0.0 if centre is None else (centre - outlet) @ self.up * drained.seed_volumes_m3.sum() / 10.0
        volumes = [
            drained.tilted.volume_and_area(np.array([level_m]))[0][0],
            *(drained.residual_m3, drained.trapped_m3, moment),
            *(np.nan if quantity is None else quantity for quantity in held),
            *pool_volumes(drained.tilted, level_m, share=1e-6),
        ]
        return np.array(volumes) / cavity.gross_m3


def question(seed: int, share: float = 0.5) -> Question:
    tilted, solid, rng = view(seed), body_of(seed), np.random.default_rng(seed)
    outlets = (low_points(tilted, solid, rng, 2) + inner_points(solid, rng, 2))[:2]
    level_m = float(at_shares(tilted, share)[0] + (tilted.cavity.centre_m - outlets[0]) @ tilted.up)
    return Question(solid, tilted.up, outlets, inner_points(solid, rng, 3), level_m)


# --- volumes ---------------------------------------------------------------------------------------------------------


@given(seeds)
def test_more_level_never_holds_less(seed: int) -> None:
    tilted = view(seed)
    levels = np.sort(np.concatenate([at_shares(tilted, np.linspace(-0.1, 1.1, 40)), tilted.z_m]))
    volumes, areas = tilted.volume_and_area(levels)
    assert np.diff(volumes).min() >= -1e-14 * tilted.cavity.gross_m3
    assert areas.min() >= -1e-14 * tilted.cavity.wetted_area_m2
    assert_allclose(volumes[[0, -1]], [0.0, tilted.cavity.gross_m3], rtol=1e-13)


@given(seeds, st.lists(shares, min_size=1))
def test_below_and_above_make_the_whole(seed: int, at: list[float]) -> None:
    below = view(seed)
    above = Tilted.of(below.cavity, -below.up)
    levels = at_shares(below, np.array(at))
    whole = below.volume_and_area(levels)[0] + above.volume_and_area(-levels)[0]
    assert_allclose(whole, below.cavity.gross_m3, rtol=1e-13)


@given(seeds, st.floats(-4.0, 4.0), st.floats(-1.0, 1.0))
def test_two_tanks_that_share_a_wall_sum_to_one(seed: int, offset: float, lean: float) -> None:
    tilted = view(seed)
    wall = np.array([1.0, lean, lean / 2.0])
    halves = to_manifold(*body_of(seed)).split_by_plane(wall.tolist(), offset)
    assume(all(half.num_tri() for half in halves))
    levels = at_shares(tilted, np.linspace(0.0, 1.0, 9)) + tilted.cavity.centre_m @ tilted.up
    parts = [Tilted.of(cavity_of(from_manifold(half)), tilted.up) for half in halves]
    volumes = [part.volume_and_area(levels - part.cavity.centre_m @ part.up)[0] for part in parts]
    whole = tilted.volume_and_area(levels - tilted.cavity.centre_m @ tilted.up)[0]
    assert_allclose(sum(volumes), whole, rtol=0, atol=1e-12 * tilted.cavity.gross_m3)


@given(seeds, st.lists(shares, min_size=1))
def test_volume_to_level_to_volume_returns(seed: int, at: list[float]) -> None:
    tilted = view(seed)
    targets = tilted.cavity.gross_m3 * np.array(at)
    returned = tilted.volume_and_area(tilted.level_for(targets))[0]
    assert_allclose(returned, targets, rtol=0, atol=1e-12 * tilted.cavity.gross_m3)


def _slope(of: Floats, d: float) -> Floats:
    """Derivative at the middle of five values d apart: exact for polynomials of the fourth degree."""
    return np.asarray((8.0 * (of[3] - of[1]) - (of[4] - of[0])) / (12.0 * d))


@given(seeds, shares)
def test_volume_grows_with_the_free_surface_and_moments_with_its_moments(seed: int, pick: float) -> None:
    tilted = view(seed)
    steps = np.unique(tilted.z_m)
    widest = np.argsort(np.diff(steps))[-5:]  # between vertices volume and moments are polynomials
    i = widest[int(pick * (widest.size - 1))]
    d = (steps[i + 1] - steps[i]) / 5.0
    sums = np.array([tilted.moments((steps[i] + steps[i + 1]) / 2.0 + k * d) for k in range(-2, 3)])
    size = np.abs(tilted.cavity.vertices_m).max()
    noise = 1e-13 * tilted.cavity.gross_m3 / d
    assert_allclose(_slope(sums[:, 0], d), sums[2, 4], rtol=0, atol=noise)
    assert_allclose(_slope(sums[:, 1:4], d), sums[2, 5:8], rtol=0, atol=noise * size)
    volume, area = tilted.volume_and_area(np.array([(steps[i] + steps[i + 1]) / 2.0]))
    assert_allclose(sums[2, [0, 4]], [volume[0], area[0]], rtol=1e-12)


@given(seeds, st.floats(0.02, 1.0))
def test_moments_are_those_of_the_cut_bodys_tetrahedra(seed: int, share: float) -> None:
    tilted = view(seed)
    level = float(at_shares(tilted, share)[0])
    body = to_manifold(*body_of(seed)).translate((-tilted.cavity.centre_m).tolist())
    cut_vertices, cut_faces = from_manifold(body.trim_by_plane((-tilted.up).tolist(), -level))
    a, b, c = np.moveaxis(cut_vertices[cut_faces], 1, 0)
    volumes = np.einsum("ij,ij->i", a, np.cross(b, c)) / 6.0  # of the tetrahedra with the origin
    moments = (volumes[:, None] * (a + b + c) / 4.0).sum(axis=0)
    size = np.abs(tilted.cavity.vertices_m).max()
    found = tilted.moments(level)
    assert_allclose(found[0], volumes.sum(), rtol=0, atol=1e-12 * tilted.cavity.gross_m3)
    assert_allclose(found[1:4], moments, rtol=0, atol=1e-12 * tilted.cavity.gross_m3 * size)


# --- what must not change the answers --------------------------------------------------------------------------------


@given(seeds, filled_shares)
def test_turning_tank_and_gravity_together_changes_nothing(seed: int, share: float) -> None:
    asked = question(seed, share)
    found = asked.moved(solids.rotation(seed), np.zeros(3)).answers()
    assert_allclose(found, asked.answers(), rtol=0, atol=1e-11)


@given(seeds, filled_shares)
def test_splitting_triangles_changes_nothing(seed: int, share: float) -> None:
    asked = question(seed, share)
    found = replace(asked, solid=solids.subdivide(*asked.solid)).answers()
    assert_allclose(found, asked.answers(), rtol=0, atol=1e-12)


@given(seeds, filled_shares)
def test_moving_the_mesh_far_away_changes_nothing(seed: int, share: float) -> None:
    # The coordinates of bodies of about 10 round to 2e-12 there.
    asked = question(seed, share)
    found = asked.moved(np.eye(3), np.array([1e4, -1e4, 1e4])).answers()
    assert_allclose(found, asked.answers(), rtol=0, atol=1e-11)


# --- draining --------------------------------------------------------------------------------------------------------


@given(seeds)
def test_drain_stays_between_nothing_and_the_whole(seed: int) -> None:
    asked = question(seed)
    up, outlets, marks, cavity = asked.up, asked.outlets, asked.marks, cavity_of(asked.solid)
    gross = cavity.gross_m3
    spots = [cavity.spot("", mark) for mark in marks]
    one, two, none = (
        Drained.of(cavity, up, [Opening(cavity.spot("", point)) for point in some], spots)
        for some in (outlets[:1], outlets, [])
    )
    left = [drained.residual_m3 + drained.trapped_m3 for drained in (two, one, none)]
    assert 0.0 <= left[0] <= left[1] + 1e-13 * gross <= gross * (1 + 2e-13)  # a second outlet never leaves more
    assert_allclose(left[2], gross, rtol=1e-13)
    assert one.residual_m3 >= 0.0
    assert one.trapped_m3 >= 0.0
    for index in range(len(marks)):
        least, most = two.passed(index, state=0), two.passed(index, state=1)
        assert (least is None) == (most is None)
        if least is not None and most is not None:
            assert left[0] - 1e-13 * gross <= least <= most + 1e-13 * gross <= gross * (1 + 2e-13)


@given(seeds, st.floats(0.0, 2.0))
def test_raised_mark_is_the_mark_at_the_higher_place(seed: int, raised: float) -> None:
    asked = question(seed)
    up, outlets, marks, cavity = asked.up, asked.outlets, asked.marks, cavity_of(asked.solid)
    steps = np.linspace(0.0, raised, 20)[:, None] * up
    spots = [cavity.spot("", mark + step) for mark in marks for step in steps]
    clear = [i for i in range(3) if not any(spot.off_m for spot in spots[20 * i : 20 * i + 20])]
    assume(clear)
    drained = Drained.of(cavity, up, [Opening(cavity.spot("", outlets[0]))], spots)
    for i in clear:
        low, high = drained.passed(20 * i, raised_m=raised), drained.passed(20 * i + 19)
        assert (low is None) == (high is None)
        assert low is None or high is not None
        assert_allclose([low or 0.0], [high or 0.0], rtol=1e-9)


@given(seeds)
def test_pools_are_one_from_the_common_level_on(seed: int) -> None:
    tilted = view(seed)
    level = one_pool_above_m(tilted)
    hair = 1e-9 * (tilted.high_m - tilted.low_m)
    assert pool_volumes(tilted, level + hair, share=2e-6).size <= 1
    assert level == tilted.low_m or pool_volumes(tilted, level - hair, share=0.9e-6).size >= 2


@settings(max_examples=8)
@given(seeds)
def test_finer_grid_of_attitudes_never_lowers_the_worst_case(seed: int) -> None:
    asked = question(seed)
    cavity = cavity_of(asked.solid)
    outlet = Outlet.model_construct(name="outlet", cover_m=0.0)
    tank = FittedTank(
        Tank.model_construct(name="tank", outlet=(outlet,)),
        cavity,
        np.eye(3),
        np.zeros(3),
        {"outlet": cavity.spot("outlet", asked.outlets[0])},
    )
    worst = []
    for step in (10.0, 5.0, 2.5):
        grid = np.arange(-10.0, 10.0 + step / 2.0, step)
        found = unusable(tank, [Attitude.of_degrees(pitch, roll) for pitch in grid for roll in grid])
        assert found is not None
        worst.append(found.volume_m3)
    assert worst == sorted(worst)


# --- the mark at the free surface's centroid -------------------------------------------------------------------------


def _errors(seed: int, pitch: float, roll: float, axis: float, off: float) -> Floats:
    """Quantity errors of a mark at the centroid of the free surface (or off it, in sizes) when tilted by 2e-4, by 1e-4."""
    cavity = cavity_of(body_of(seed))
    attitude = Attitude.of_degrees(pitch, roll)
    tank = FittedTank(Tank.model_construct(name="tank"), cavity, np.eye(3), np.zeros(3), {})
    quantity = cavity.gross_m3 / 2.0
    size = np.abs(cavity.vertices_m).max()
    tilted = Tilted.of(cavity, attitude.up)
    about = tilted.axes[:, 0] * np.cos(axis) + tilted.axes[:, 1] * np.sin(axis)
    across = np.cross(about, attitude.up)
    mark = steady_point_m(tank, attitude, quantity) - cavity.centre_m + off * size * across
    held = []
    for angle in (2e-4, 1e-4):
        up = attitude.up * np.cos(angle) + across * np.sin(angle)
        held.append(Tilted.of(cavity, up).volume_and_area(np.array([mark @ up]))[0][0])
    return np.array(held) / quantity - 1.0


@given(st.integers(0, 400), angles_deg, angles_deg, st.floats(0.0, 6.3))
def test_mark_at_the_free_surfaces_centroid_has_no_first_order_attitude_error(
    seed: int, pitch: float, roll: float, axis: float
) -> None:
    assume(min(abs(pitch), abs(roll)) > 1.0)  # no level faces
    whole, half = _errors(seed, pitch, roll, axis, 0.0)
    assert abs(whole) < 20.0 * 2e-4**2
    if abs(half) > 1e-10:  # else the third order shows, or rounding
        assert_allclose(whole / half, 4.0, rtol=0.05)
    off_whole, off_half = _errors(seed, pitch, roll, axis, 0.2)
    assert_allclose(off_whole / off_half, 2.0, rtol=0.05)  # elsewhere it has one


@pytest.mark.parametrize(("seed", "level"), [(-1, 0.5), (0, 1.5)])
def test_a_mark_that_stands_in_no_pool_or_above_the_fuel_is_not_passed(seed: int, level: float) -> None:
    whole = np.array([-1]), np.array([0.0]), np.array([2.0]), np.array([0.0]), np.array([True])
    assert passing(*whole, seed, level, 1.0, 0.0) == -1
