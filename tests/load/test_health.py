"""The health of meshes: hand-made bodies with known faults, counts, places and openings."""

from __future__ import annotations

import math

import numpy as np
import pytest
import solids
from manifold3d import Manifold
from numpy.testing import assert_allclose
from solids import Solid
from surfaces import BOX, CUBE, NEEDLE, box_with, health, moved, together

from fuelsys.model.found.mesh import Health, Kind


def counts(found: Health) -> dict[Kind, int]:
    return {fault.kind: fault.count for fault in found.faults}


# --- sound bodies ----------------------------------------------------------------------------------------------------


def test_a_box_is_what_it_is() -> None:
    found = health((BOX[0] * 1e3, BOX[1]), "mm")
    assert (found.verdict, found.faults, found.rims) == ("usable as a cavity", (), ())
    assert (found.triangles, found.corners, found.n_shells) == (12, 8, 1)
    assert_allclose([found.volume_m3, found.area_m2], [1.0, 2 * (2 + 0.5 + 1)], rtol=1e-14)
    assert_allclose([found.low_m, found.high_m], [[0, 0, 0], [2, 1, 0.5]], rtol=1e-14)


def windows(number: int) -> Solid:
    """A slab with so many square openings straight through it: each is one handle."""
    body = Manifold.cube((2.0 * number + 1.0, 1.0, 3.0))
    for k in range(number):
        body -= Manifold.cube((1.0, 3.0, 1.0)).translate((2.0 * k + 1.0, -1.0, 1.0))
    return solids.from_manifold(body)


def crossed_tunnels() -> Solid:
    """A cube with three square tunnels that meet in its middle. By Euler's formula for a graph: one knot, six arms that
    lead to the outside; a handlebody has one handle less than it has mouths: five."""
    tunnels = [Manifold.cube(size, True) for size in ((5.0, 1.0, 1.0), (1.0, 5.0, 1.0), (1.0, 1.0, 5.0))]
    return solids.from_manifold(Manifold.cube((3.0, 3.0, 3.0), True) - tunnels[0] - tunnels[1] - tunnels[2])


@pytest.mark.parametrize(
    ("solid", "handles"),
    [
        (solids.box(), 0),
        (solids.sphere(), 0),
        (solids.ring(), 1),
        (windows(2), 2),
        (windows(5), 5),
        (crossed_tunnels(), 5),
        # Between the plates and the walls: the plate at x = 1 hangs, those at 2 and 3 stand with two notches and one.
        (solids.baffled_box(), 2 + 1),
    ],
    ids=["box", "sphere", "torus", "two windows", "five windows", "crossed tunnels", "baffles"],
)
def test_handles(solid: Solid, handles: int) -> None:
    found = health(solid)
    assert found.usable
    assert [shell.handles for shell in found.shells] == [handles]


def test_hollows_lie_in_their_cavity() -> None:
    found = health(solids.box_with_void())
    assert found.usable
    assert_allclose([shell.volume_m3 for shell in found.shells], [8.0, -0.125], rtol=1e-14)
    assert [shell.within for shell in found.shells] == [(), (0,)]
    assert_allclose(found.volume_m3, 7.875, rtol=1e-14)


# --- faults ----------------------------------------------------------------------------------------------------------


FAULTY = [
    pytest.param(box_with(without=(0,)), {Kind.OPEN: 3}, ["3 open edges"], id="a face missing"),
    pytest.param(box_with(without=(0, 1)), {Kind.OPEN: 4}, ["4 open edges"], id="a side missing"),
    pytest.param(box_with(without=(0, 11)), {Kind.OPEN: 6}, ["6 open edges"], id="two faces missing, at one corner"),
    pytest.param(box_with(turned=(3,)), {Kind.TWISTED: 3}, ["3 twisted edges"], id="a face turned"),
    pytest.param(box_with(turned=(2, 3)), {Kind.TWISTED: 4}, ["4 twisted edges"], id="a side turned"),
    pytest.param(box_with(more=BOX[1][5]), {Kind.CROWDED: 3, Kind.DOUBLE: 1}, ["3 crowded edges"], id="a face twice"),
    pytest.param(
        box_with(more=BOX[1]), {Kind.CROWDED: 18, Kind.DOUBLE: 12}, ["18 crowded edges"], id="all faces twice"
    ),
    pytest.param(
        together(CUBE, moved(CUBE, (1.0, 1.0, 0.0))),
        {Kind.CROWDED: 1},
        ["1 crowded edge"],
        id="boxes with an edge in common",
    ),
    pytest.param(
        together(CUBE, moved(CUBE, (1.0, 1.0, 1.0))),
        {Kind.PINCHED: 1},
        ["1 pinched corner", "there are 2 separate bodies in it"],
        id="boxes with a corner in common",
    ),
    pytest.param(
        together(CUBE, moved(CUBE, (5.0, 0.0, 0.0)), moved(CUBE, (0.0, 5.0, 0.0))),
        {},
        ["there are 3 separate bodies in it"],
        id="three boxes",
    ),
    pytest.param(
        together(solids.box(2, 2, 2), moved(solids.box(0.5, 0.5, 0.5), (0.3, 0.3, 0.3))),
        {},
        ["1 closed surface inside it is no hollow in it (shell 2)"],
        id="a solid in a cavity",
    ),
    pytest.param((BOX[0] * [1, 1, 0], BOX[1]), None, None, id="pressed flat"),
    pytest.param(
        together(CUBE, NEEDLE),
        {Kind.CROSSING: 3},
        ["3 pairs of crossing faces", "there are 2 separate bodies in it"],
        id="a needle through the floor",
    ),
]


@pytest.mark.parametrize(("solid", "wanted", "why_not"), FAULTY)
def test_faults_are_counted(solid: Solid, wanted: dict[Kind, int] | None, why_not: list[str] | None) -> None:
    found = health(solids.weld(solid[0][solid[1]]))
    assert not found.usable
    if wanted is not None:
        assert counts(found) == wanted
        assert list(found.why_not) == why_not
        assert found.verdict == f"not usable as a cavity: {'; '.join(found.why_not)}"


def test_places_are_where_the_faults_are() -> None:
    found = health((BOX[0] * 1e3 + [100, 0, 0], box_with(without=(0,))[1]), "mm")  # the floor's face 0, 2, 1
    open_ = found.fault(Kind.OPEN)
    assert open_ is not None
    corners = (BOX[0] + [0.1, 0, 0])[[0, 2, 1]]
    middles = (corners + np.roll(corners, 1, axis=0)) / 2.0
    assert_allclose(np.sort(open_.places_m, axis=0), np.sort(middles, axis=0), rtol=1e-12)
    (rim,) = found.rims
    assert (rim.edges, found.n_rims) == (3, 1)
    assert_allclose(rim.size_m, math.hypot(2, 1), rtol=1e-12)
    assert_allclose(rim.place_m, corners.mean(axis=0), rtol=1e-12)


def test_each_hole_has_its_rim() -> None:
    found = health(box_with(without=(0, 2)))  # a face of the floor and one of the roof
    assert sorted(rim.edges for rim in found.rims) == [3, 3]


def test_faces_without_area_do_no_harm() -> None:
    # The roof's diagonal 4-6 gets a corner at its middle on one side: a face without area joins 4-6 to 4-8 and 8-6.
    vertices = np.vstack([BOX[0], (BOX[0][4] + BOX[0][6]) / 2])
    roof = [[4, 5, 6], [4, 6, 8], [4, 8, 7], [8, 6, 7]]
    found = health((vertices, np.vstack([np.delete(BOX[1], [2, 3], axis=0), roof])))
    assert found.usable
    assert counts(found) == {Kind.FLAT: 1}
    assert_allclose(found.volume_m3, 1.0, rtol=1e-14)


def grid(xs: list[float], ys: list[float], zs: list[float]) -> Solid:
    """A box whose sides are cut along planes."""
    axes, corners = (xs, ys, zs), []
    for k in range(3):
        u, w = axes[(k + 1) % 3], axes[(k + 2) % 3]
        for end in (0, -1):
            for a, b in zip(u, u[1:], strict=False):
                for c, d in zip(w, w[1:], strict=False):
                    quad = [np.roll([axes[k][end], *at], k) for at in ((a, c), (b, c), (b, d), (a, d))]
                    quad = quad if end else quad[::-1]
                    corners += [quad[:3], [quad[0], quad[2], quad[3]]]
    return solids.weld(np.array(corners))


def test_passing_through_along_edges_is_seen() -> None:
    # A tower has edges all round exactly at the upper and lower side of a plate that it passes through: no two faces cross.
    tower = grid([0.0, 1.0], [0.0, 1.0], [-1.0, 0.0, 0.5, 2.0])
    found = health(together(tower, grid([-1.0, 2.0], [-1.0, 2.0], [0.0, 0.5])))
    assert Kind.CROSSING not in counts(found)
    assert counts(found)[Kind.GRAZING] > 8
    assert any(
        why.startswith("the surface passes through itself along edges, the first near (") for why in found.why_not
    )
    assert counts(found)[Kind.THROUGH] == 1
    assert not found.harmless(Kind.GRAZING)


def test_touching_is_told_and_does_no_harm() -> None:
    # A can hangs in a tank; the tip of its cone just touches the tank's floor, where the floor has no corner.
    can = solids.tetrahedron([[0.5, 0.4, 0.5], [0.8, 0.4, 0.5], [0.5, 0.7, 0.5], [0.7, 0.55, 0.0]])
    found = health(together(solids.box(1, 1, 1), moved(can, (0, 0, 0), inward=True)))
    assert found.verdict == "usable as a cavity"
    assert counts(found) == {Kind.GRAZING: 3}
    assert found.harmless(Kind.GRAZING)


def test_many_closed_shells_are_not_guessed_at() -> None:
    dice = [moved(solids.box(0.1, 0.1, 0.1), (i % 6, i // 6 % 6, i // 36)) for i in range(201)]
    assert health(together(*dice)).why_not == ("not checked: which of its more than 200 closed surfaces lies in which",)
