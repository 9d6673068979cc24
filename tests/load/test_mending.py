"""Mending: what it changes and where, and how far the volume may be off."""

from __future__ import annotations

import math

import numpy as np
import pytest
import solids
from manifold3d import Manifold
from numpy.testing import assert_allclose
from random_solids import random_body
from solids import Solid, signed_volume
from surfaces import BOX, box_with, surface, together

from fuelsys.errors import MeshError
from fuelsys.kernels import patching
from fuelsys.load.meshes.mending import Mended, mend
from fuelsys.report.tables import mesh as health_tables


def mended(solid: Solid, weld_m: float = 0.0, fill_m: float = 0.0, inside: bool = False) -> Mended:
    result = mend(surface(solid), weld_m, fill_m, inside=inside)
    assert result.health.usable
    assert solids.fault(result.surface.vertices, result.surface.faces.astype(np.int64)) == ""
    return result


def listed(result: Mended) -> list[tuple[str, int]]:
    return [(change.what, change.count) for change in result.changes]


# --- what is mended --------------------------------------------------------------------------------------------------


def test_a_sound_body_is_left_as_it_is() -> None:
    vertices, faces = random_body(3)
    result = mended((vertices, faces), 1e-6, 1.0)
    assert result.changes == ()
    assert result.within_m3 == 0.0
    assert_allclose(result.surface.vertices, vertices, rtol=0, atol=0)
    assert result.surface.faces.tolist() == faces.tolist()


DOUBLE, SHEET = "double faces dropped, one of each kept", "sheets of double faces dropped"
TURNED, AROUND = "faces turned to agree with their neighbours", "closed surfaces turned, outward or as hollows"


@pytest.mark.parametrize(
    ("solid", "changes"),
    [
        pytest.param(box_with(turned=(3,)), [(TURNED, 1)], id="a face turned"),
        pytest.param(box_with(turned=tuple(range(12))), [(AROUND, 1)], id="inside out"),
        pytest.param(box_with(turned=tuple(range(10))), [(TURNED, 2), (AROUND, 1)], id="nearly inside out"),
        pytest.param(box_with(more=BOX[1][4:6]), [(DOUBLE, 2)], id="a side twice"),
        pytest.param(box_with(more=BOX[1][4:5, ::-1]), [(DOUBLE, 1)], id="a face twice, both ways round"),
        pytest.param(box_with(more=BOX[1]), [(DOUBLE, 12)], id="everything twice"),
        # A diagonal wall of two sheets, 0 3 6 5 and back: the box is closed without it.
        pytest.param(
            box_with(more=np.array([[0, 3, 6], [0, 6, 5], [6, 3, 0], [5, 6, 0]])),
            [(SHEET, 2)],
            id="a wall without thickness",
        ),
    ],
)
def test_faces_are_dropped_and_turned(solid: Solid, changes: list[tuple[str, int]]) -> None:
    result = mended(solid)
    assert listed(result) == changes
    assert result.within_m3 == 0.0
    assert_allclose(result.health.volume_m3, 1.0, rtol=1e-14)


def test_a_hollow_wound_both_ways_becomes_a_hollow_again() -> None:
    vertices, faces = solids.box_with_void()
    spoilt = faces.copy()
    spoilt[12:20] = spoilt[12:20, ::-1]  # most of the can's twelve: they outvote the rest and face out of it
    result = mended((vertices, spoilt))
    assert listed(result) == [(TURNED, 4), (AROUND, 1)]
    assert_allclose(result.health.volume_m3, 7.875, rtol=1e-14)


def test_a_wall_gives_its_inner_shell() -> None:
    inner = solids.box(0.496, 0.296, 0.196)
    can = solids.box(0.05, 0.05, 0.05)
    wall = together(
        solids.box(0.5, 0.3, 0.2), (inner[0] + 0.002, inner[1][:, ::-1]), (can[0] + 0.1, can[1])
    )  # the can's own wall, facing out of the fuel's room: outward, as the wall's material has it
    result = mended(wall, inside=True)
    assert listed(result) == [("shells of the wall left out, its inner one kept", 1), (AROUND, 2)]
    assert_allclose(result.health.volume_m3, 0.496 * 0.296 * 0.196 - 0.05**3, rtol=1e-12)


@pytest.mark.parametrize("seed", range(15))
def test_random_bodies_lose_faces_and_are_whole_again(seed: int) -> None:
    rng = np.random.default_rng(seed)
    vertices, faces = random_body(seed)
    spoilt = np.where(rng.random(len(faces))[:, None] < 0.3, faces[:, ::-1], faces)
    result = mended((vertices, np.delete(spoilt, rng.choice(len(faces), 2, replace=False), axis=0)), fill_m=100.0)
    assert ("holes closed", 2) in listed(result) or ("holes closed", 1) in listed(result)
    off = abs(result.health.volume_m3 - signed_volume(vertices, faces))
    assert off <= result.within_m3


@pytest.mark.parametrize("seed", range(6))
def test_a_dent_left_out_of_a_curved_wall_is_within_the_bound(seed: int) -> None:
    # All faces round one corner of a sphere are missing: the patch is flat, the true wall bulges.
    vertices, faces = solids.sphere(0.2, 24, 12)
    corner = np.random.default_rng(seed).integers(30, len(vertices) - 30)
    cap = (faces == corner).any(axis=1)
    result = mended((vertices, faces[~cap]), fill_m=0.2)
    off = signed_volume(vertices, faces) - result.health.volume_m3
    assert 1e-7 < off <= result.within_m3
    (change,) = result.changes
    assert np.linalg.norm(change.places_m[0] - vertices[corner]) < 0.01


def seam(solid: Solid, away: float, seed: int) -> Solid:
    """Half of the faces has its corners at the seam moved in any way by so much: the seam gapes."""
    vertices, faces = solid
    rng = np.random.default_rng(seed)
    half = vertices[faces].mean(axis=1)[:, 0] > np.median(vertices[:, 0])
    on_seam = np.intersect1d(faces[half], faces[~half])
    way = rng.normal(size=(len(on_seam), 3))
    moved = vertices.copy()
    moved[on_seam] += away * way / np.linalg.norm(way, axis=1)[:, None]
    return solids.weld(np.where(half[:, None, None], moved[faces], vertices[faces]))


@pytest.mark.parametrize("seed", range(12))
def test_gaping_seams_are_welded_within_the_bound(seed: int) -> None:
    body, away = random_body(seed), 1e-4
    result = mended(seam(body, away, seed), weld_m=1.01 * away)
    ((what, count),) = listed(result)
    assert what == "corners welded, moved by up to 0.0001 m"
    assert count >= 3
    off = abs(result.health.volume_m3 - signed_volume(*body))
    assert 0.0 < off <= result.within_m3
    with pytest.raises(MeshError, match="open, and none may be closed"):
        mend(surface(seam(body, away, seed)), 0.9 * away, 0.0)


def test_welding_moves_no_corner_further_than_it_may() -> None:
    points = np.random.default_rng(2).random((4000, 3))
    goes = patching.gathered(points, 0.05)
    ways = np.linalg.norm(points - points[goes], axis=1)
    assert 0.04 < ways.max() <= 0.05
    stay = points[np.unique(goes)]
    assert (goes[goes] == goes).all()
    apart = np.linalg.norm(stay[:, None] - stay[None], axis=2)[~np.eye(len(stay), dtype=bool)]
    assert apart.min() > 0.05


def test_shaken_bounds_what_a_triangle_sweeps() -> None:
    # A triangle closed by a far point is a tetrahedron; its corners move within reach, one after the other.
    rng = np.random.default_rng(5)
    for _ in range(300):
        corners = rng.normal(size=(1, 3, 3)) * 10.0 ** rng.uniform(-2, 1)
        reach = 10.0 ** rng.uniform(-3, 0)
        way = rng.normal(size=(3, 3))
        after = corners[0] + reach * way / np.linalg.norm(way, axis=1)[:, None]
        swept = 0.0
        for k in range(20):  # the volume that the face sweeps by itself, by small prisms
            one, two = (corners[0] + share * (after - corners[0]) for share in (k / 20, (k + 1) / 20))
            middle = (one + two) / 2
            area = np.cross(middle[1] - middle[0], middle[2] - middle[0]) / 2
            swept += float(area @ (two - one).mean(axis=0))
        assert abs(swept) <= patching.shaken(corners, reach)[0]


def split_side() -> Solid:
    """The box, the roof's edge 4-5 of one face cut in two at (1, 0, 0.5) and the wall's not: a slit without width."""
    vertices = np.vstack([BOX[0], [1.0, 0.0, 0.5]])
    return vertices, np.vstack([np.delete(BOX[1], 2, axis=0), [[4, 8, 6], [8, 5, 6]]])


def test_a_slit_of_any_length_is_closed_within_the_weld() -> None:
    # The rim 4-8-5 is 2 m long; the patch across it has no area and is taken out by splitting the wall's face.
    result = mended(split_side(), weld_m=1e-5)
    assert listed(result) == [("slits closed", 1), ("faces without area taken out", 1)]
    assert_allclose(result.health.volume_m3, 1.0, rtol=1e-14)
    assert result.health.faults == ()
    # By hand: a rod of radius 1e-5 about the chord of 2 m, and a ball at its ends.
    assert_allclose(result.within_m3, math.pi * 1e-10 * (2 + 4e-5 / 3), rtol=1e-6)
    assert len(result.surface.faces) == 14


def test_faces_without_area_are_taken_out_of_closed_bodies() -> None:
    # Refine a box and squeeze a corner of each side onto the line between two others: the volume stays as it is.
    vertices, faces = split_side()
    result = mended((vertices, np.vstack([faces, [[4, 5, 8]]])))
    assert listed(result) == [("faces without area taken out", 1)]
    assert_allclose(result.changes[0].places_m, [[1.0, 0.0, 0.5]])
    assert_allclose(result.health.volume_m3, 1.0, rtol=1e-14)


def test_two_holes_at_one_corner_are_two_holes() -> None:
    result = mended(box_with(without=(0, 11)), fill_m=3.0)  # they meet in corner 0
    assert listed(result) == [("holes closed", 2)]
    assert_allclose(result.health.volume_m3, 1.0, rtol=1e-14)


def test_patches_keep_to_the_outline_of_a_hole() -> None:
    # An L-shaped hole: the least area is that of the L, so no triangle reaches across its notch.
    outline = np.array([[0, 0], [3, 0], [3, 1], [1, 1], [1, 2], [0, 2]], dtype=float)
    points = np.column_stack([outline, np.zeros(6)])
    patch = patching.patch(points, np.zeros((6, 6), dtype=np.bool_))
    assert len(patch) == 4
    areas = [float(np.cross(b - a, c - a)[2]) / 2 for a, b, c in points[patch]]
    assert min(areas) > 0.0
    assert_allclose(sum(areas), 4.0, rtol=1e-12)


def test_a_large_doubt_is_told_without_powers_of_ten() -> None:
    # A unit cube without its lid: the ball that just holds the rim has radius 1/√2, pi √2 / 3 = 1.48 of the cube.
    cube = Manifold.cube([1.0, 1.0, 1.0]).to_mesh64()
    corners, faces = np.array(cube.vert_properties[:, :3]), cube.tri_verts.astype(np.int64)
    open_faces = faces[~(corners[faces][:, :, 2] == 1.0).all(axis=1)]
    for side_m in (1.0, 0.1):
        result = mended((side_m * corners, open_faces), fill_m=10.0)
        notes = health_tables.changes(result, "cube.stl", "L").notes
        assert notes[0].startswith("its volume is not known, what was mended may be more than all of it.")
