"""What runs out over vent lines: by hand on boxes, on cut bodies by another library, and laws that hold for all."""

from __future__ import annotations

from math import radians, tan
from pathlib import Path

import numpy as np
import oracle
import pytest
import solids
from hypothesis import given
from hypothesis import strategies as st
from manifold3d import Manifold
from networks import network
from numpy.testing import assert_allclose
from places import cavity_of, directions, inner_points
from random_solids import random_body
from solids import Floats

import fuelsys_meshes
from fuelsys.analysis.lines.in_flight import in_flight
from fuelsys.analysis.lines.sharing import common_level_m
from fuelsys.analysis.lines.spilling import Vessel, runs_out, taken_m3
from fuelsys.analysis.tank.draining import Opening
from fuelsys.analysis.tank.filling import filled
from fuelsys.load.designs.door import load_design
from fuelsys.model.built.cavity import Cavity
from fuelsys.model.built.layout import FittedTank
from fuelsys.model.stated.attitude import Attitude
from fuelsys.model.stated.design import Tank

L, W, H = 0.6, 0.4, 0.2
LEVEL = np.array([0.0, 0.0, 1.0])
seeds = st.integers(0, 400)
shares = st.floats(0.02, 0.98)


def box(y_m: float = 0.0) -> Cavity:
    """L x W x H: x aft from 0, y to the right from y_m, its floor at 0."""
    vertices, faces = solids.box(L, W, H)
    return cavity_of((vertices + np.array([0.0, y_m, 0.0]), faces))


def vent(cavity: Cavity, *path_m: Floats | list[float]) -> Opening:
    """A vent at the first point, its line through the others; the last is overboard."""
    way_mm = [[1e3 * float(c) for c in point] for point in path_m]
    parts = {"tank.vent": ("vent", way_mm[0]), "out": ("overboard", way_mm[-1])}
    (way,) = network("vent", parts, [("line", "tank.vent", "out")], {"line": way_mm[1:-1]}).ways("vent")
    return Opening(cavity.spot("vent", np.array(path_m[0], dtype=np.float64)), 0.0, (way.climb(cavity.centre_m),))


def level_of(cavities: list[Cavity], up: Floats, volume_m3: float) -> float:
    """The level that tanks find together."""
    fitted = [FittedTank(Tank.model_construct(name=""), one, np.eye(3), np.zeros(3), {}) for one in cavities]
    return common_level_m(fitted, volume_m3, up)


# --- one box


@pytest.mark.parametrize("down_deg", [2.0, 5.0, 10.0, 15.0])
@pytest.mark.parametrize("depth_m", [0.1, 0.15, 0.19])
def test_a_box_pitched_nose_down_loses_a_wedge(down_deg: float, depth_m: float) -> None:
    # The vent at the roof's front edge, its line straight out. Through that edge the surface falls by x tan: behind it stay
    # W (H L - L^2 tan / 2).
    cavity, up = box(), Attitude.of_degrees(-down_deg, 0.0).up
    vessel = Vessel(cavity, (vent(cavity, [0.0, W / 2, H], [-0.1, W / 2, -1.0]),))
    stay_m3 = W * (H * L - L * L * tan(radians(down_deg)) / 2)
    volume_m3 = depth_m * W * L
    level_m = level_of([cavity], up, volume_m3)
    assert_allclose(runs_out([vessel], up, level_m).lost_m3, max(0.0, volume_m3 - stay_m3), rtol=1e-9, atol=1e-13)


@pytest.mark.parametrize(
    ("outer_m", "drawn_to_m"),
    [
        pytest.param(-0.5, 0.08, id="to the opening"),
        pytest.param(0.11, 0.11, id="to the outer end"),
        pytest.param(0.13, 0.13, id="to the outer end, a little below the line's top"),
    ],
)
def test_a_line_that_goes_on_as_a_siphon_draws_further(outer_m: float, drawn_to_m: float) -> None:
    # The opening at 80 mm, the line's top at 140, the fuel at 160.
    cavity = box()
    way = [0.3, 0.2, 0.08], [0.3, -0.1, 0.14], [0.3, -0.2, outer_m]
    found = runs_out([Vessel(cavity, (vent(cavity, *way),))], LEVEL, 0.16)
    assert_allclose([found.lost_m3, found.siphoned_m3], [0.02 * L * W, (0.16 - drawn_to_m) * L * W], rtol=1e-12)
    dry = runs_out([Vessel(cavity, (vent(cavity, *way),))], LEVEL, 0.14 - 1e-9)
    assert_allclose([dry.lost_m3, dry.siphoned_m3], 0.0, atol=1e-15)


def weir() -> Cavity:
    """The box with a wall of 10 mm at x = 0.3, 60 mm high."""
    wall = Manifold.cube((0.010, W, 0.060)).translate((0.295, 0.0, 0.0))
    return cavity_of(solids.from_manifold(Manifold.cube((L, W, H)) - wall))


def test_a_pool_that_no_vent_reaches_stays() -> None:
    # From 80 mm: all of the plan down to the weir's crest, then the vent's own bay to 30 mm.
    cavity = weir()
    vessel = Vessel(cavity, (vent(cavity, [0.1, 0.2, 0.03], [0.1, -0.1, -0.2]),))
    wanted_m3 = 0.020 * L * W + 0.030 * 0.295 * W
    assert_allclose(runs_out([vessel], LEVEL, 0.08).lost_m3, wanted_m3, rtol=1e-9)
    # From below the crest only the bay itself.
    assert_allclose(runs_out([vessel], LEVEL, 0.05).lost_m3, 0.020 * 0.295 * W, rtol=1e-9)


# --- tanks that share a level


def test_two_boxes_in_a_slip_lose_through_the_low_one() -> None:
    # Rolled right wing down by 4°: the surface rises to the right by y tan. The low box, y from 0.1 to 0.5, has its vent in
    # the middle of its roof, at y = 0.3; there H is the level, so at y it stands at H - (0.3 - y) tan, above the roof on
    # the outer half: a wedge of (0.2^2 tan / 2) L lies under it only on the inner half. The high box, y from -0.5 to -0.1,
    # holds (H - 0.6 tan) W L.
    slope, up = tan(radians(4.0)), Attitude.of_degrees(0.0, 4.0).up
    low, high = box(0.1), box(-0.5)
    opening = vent(low, [0.3, 0.3, H], [0.3, 1.0, -1.0])
    low_port, high_port = low.spot("", np.array([0.3, 0.1, 0.0])), high.spot("", np.array([0.3, -0.1, 0.0]))
    vessels = [Vessel(low, (opening,), (low_port,)), Vessel(high, (), (high_port,))]
    stay_m3 = W * L * H - 0.2**2 * slope / 2 * L + (H - 0.6 * slope) * W * L
    volume_m3 = 2 * 0.19 * W * L
    level_m = level_of([low, high], up, volume_m3)
    assert_allclose(runs_out(vessels, up, level_m).lost_m3, volume_m3 - stay_m3, rtol=1e-9)
    # Without the ports the high box keeps what stands above the level.
    parted = runs_out([vessels[0], Vessel(high)], up, level_m).lost_m3
    assert parted < volume_m3 - stay_m3


def test_tanks_sink_together_no_further_than_to_where_their_pools_part() -> None:
    # Two tanks with a weir; the vent opens at 30 mm in one bay and the port in the other: both tanks sink to the crest, and
    # then the vent's own bay goes on.
    one, two = weir(), weir()
    opening = vent(one, [0.1, 0.2, 0.03], [0.1, -0.1, -0.2])
    far, near = one.spot("", np.array([0.5, 0.2, 0.0])), one.spot("", np.array([0.1, 0.2, 0.0]))
    other = two.spot("", np.array([0.5, 0.2, 0.0]))
    to_crest_m3, bay_m3 = 0.020 * L * W, 0.030 * 0.295 * W
    lost = runs_out([Vessel(one, (opening,), (far,)), Vessel(two, (), (other,))], LEVEL, 0.08).lost_m3
    assert_allclose(lost, 2 * to_crest_m3 + bay_m3, rtol=1e-9)
    # With the port in the vent's own bay the other tank's bay at its port sinks too.
    lost = runs_out([Vessel(one, (opening,), (near,)), Vessel(two, (), (other,))], LEVEL, 0.08).lost_m3
    assert_allclose(lost, 2 * to_crest_m3 + 2 * bay_m3, rtol=1e-9)
    # A port that stands higher than the vent is left dry at its own level.
    high = two.spot("", np.array([0.5, 0.2, 0.045]))
    lost = runs_out([Vessel(one, (opening,), (near,)), Vessel(two, (), (high,))], LEVEL, 0.08).lost_m3
    assert_allclose(lost, 2 * to_crest_m3 + bay_m3 + 0.015 * 0.295 * W, rtol=1e-9)


def test_a_port_above_the_vent_lets_the_other_tank_sink_to_itself_only() -> None:
    one, two = box(), box(1.0)
    opening = vent(one, [0.1, 0.2, 0.03], [0.1, -0.1, -0.2])
    high, low = one.spot("", np.array([0.6, 0.2, 0.05])), two.spot("", np.array([0.5, 1.2, 0.0]))
    lost = runs_out([Vessel(one, (opening,), (high,)), Vessel(two, (), (low,))], LEVEL, 0.08).lost_m3
    assert_allclose(lost, (0.05 + 0.03) * L * W, rtol=1e-9)


# --- what must leave until a vent comes free


def test_what_leaves_until_a_vent_comes_free() -> None:
    cavity = weir()
    inside = cavity.spot("", np.array([0.1, 0.2, 0.045]))
    near, far = (cavity.spot("", np.array([x, 0.2, 0.0])) for x in (0.1, 0.5))
    to_crest_m3 = 0.020 * L * W
    found = [taken_m3([Vessel(cavity, (), ports)], LEVEL, 0.08, inside) for ports in ((near,), (near, far))]
    assert_allclose(found, [to_crest_m3 + 0.015 * 0.295 * W, to_crest_m3 + 2 * 0.015 * 0.295 * W], rtol=1e-9)
    for ports in ((), (far,), (cavity.spot("", np.array([0.1, 0.2, 0.05])),)):
        assert taken_m3([Vessel(cavity, (), ports)], LEVEL, 0.08, inside) is None
    # Tanks that are joined give what they hold above that level, too.
    other = box()
    port = other.spot("", np.array([0.0, 0.0, 0.0]))
    both = taken_m3([Vessel(cavity, (), (near,)), Vessel(other, (), (port,))], LEVEL, 0.08, inside)
    assert_allclose(both, found[0] + 0.035 * L * W, rtol=1e-9)


# --- another library, and laws


@given(seeds, st.floats(0.3, 0.98), st.floats(0.0, 0.5))
def test_what_runs_out_is_what_cut_bodies_lose(seed: int, share: float, rise: float) -> None:
    solid, up = random_body(seed), directions(seed)[seed % 3]
    rng = np.random.default_rng(seed)
    z = solid[0] @ up
    start = float(z.min() + share * (z.max() - z.min()))
    point = inner_points(solid, rng, 1)[0]
    top = point + rise * max(0.0, start - float(point @ up)) * up
    cavity = cavity_of(solid)
    lost = runs_out([Vessel(cavity, (vent(cavity, point, top, point - 100.0 * up),))], up, start).lost_m3
    kept = 0.0
    for pool in oracle.pools(oracle.below(solids.to_manifold(*solid), up, start)):
        if pool.is_empty():
            continue
        part = solids.from_manifold(pool)
        holes = (oracle.Hole(point, float(top @ up)),) if float(top @ up) < start and oracle.holds(part, point) else ()
        kept += oracle.Drain(part, up, holes).left()
    held = oracle.below(solids.to_manifold(*solid), up, start).volume()
    assert_allclose(lost, held - kept, rtol=0.0, atol=2e-5 * cavity.gross_m3)


@given(seeds, shares, shares, st.floats(0.0, 5.0), st.floats(0.0, 5.0))
def test_a_higher_line_and_less_fuel_never_make_more_run_out(
    seed: int, one: float, two: float, low: float, more: float
) -> None:
    solid, up = random_body(seed), directions(seed)[seed % 3]
    cavity, rng = cavity_of(solid), np.random.default_rng(seed)
    z = solid[0] @ up
    less_m, most_m = (float(z.min() + share * (z.max() - z.min())) for share in sorted((one, two)))
    point, port = inner_points(solid, rng, 2)
    moved = cavity_of((solid[0] + 20.0, solid[1]))

    def lost(rise_m: float, level_m: float, joined: bool) -> Floats:
        opening = vent(cavity, point, point + rise_m * up, point - 100.0 * up)
        vessels = [Vessel(cavity, (opening,), (cavity.spot("", port),) if joined else ())]
        vessels += [Vessel(moved, (), (moved.spot("", port + 20.0),))] if joined else []
        found = runs_out(vessels, up, level_m)
        return np.array([found.lost_m3, found.siphoned_m3])

    for joined in (False, True):
        base = lost(low, most_m, joined)
        hair = 1e-9 * cavity.gross_m3
        assert 0.0 <= base[0] <= base[1] + hair
        assert (lost(low + more, most_m, joined) <= base + hair).all()
        assert (lost(low, less_m, joined) <= base + hair).all()


def test_the_example_in_a_slip_by_cut_bodies() -> None:
    # What the tanks are filled with is taken from the product; the level they find and what stays are not.
    layout = load_design(Path(fuelsys_meshes.__file__ or "").parent / "taildragger.toml")
    full = [filled(layout, tank, layout.design.normal("ground")) for tank in layout.tanks]
    names = [tank.name for tank in layout.tanks]
    found = in_flight(layout, dict(zip(names, full, strict=True)), ()).together[0]
    at = next(one for one in found.at if one.attitude.name.startswith("slip, right"))
    volume = sum(one.volume_m3 + one.trapped_air_m3 for one in full if one)
    up = at.attitude.up
    whole = [tank.cavity.vertices_m + tank.cavity.centre_m for tank in layout.tanks]
    bodies = [solids.to_manifold(v, t.cavity.faces.astype(np.int64)) for v, t in zip(whole, layout.tanks, strict=True)]
    low, high = -2.0, 2.0
    for _ in range(60):
        level = (low + high) / 2.0
        held = sum(oracle.below(body, up, level).volume() for body in bodies)
        low, high = (level, high) if held < volume else (low, level)
    right = layout.tank("right")
    stop = float((right.spot("vent").point_m + right.cavity.centre_m) @ up)  # its line falls from there
    assert_allclose(at.over[0].above_m, low - stop, atol=1e-9)
    kept = 0.0
    for tank, body in zip(layout.tanks, bodies, strict=True):
        places = [tank.spot(port.name).point_m + tank.cavity.centre_m for port in tank.design.ports]
        joins = {"left": ["outlet"], "right": ["outlet"], "header": ["outlet", "from left", "from right"]}[tank.name]
        holes = [place for port, place in zip(tank.design.ports, places, strict=True) if port.name in joins]
        part = solids.from_manifold(oracle.below(body, up, low))
        kept += oracle.Drain(part, up, tuple(oracle.Hole(p, max(stop, float(p @ up))) for p in holes)).left()
    assert_allclose(at.lost_m3, volume - kept, rtol=1e-4)
    assert at.lost_m3 > 0.05
