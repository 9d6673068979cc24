"""The rule on tanks in the same place, and what two solids share."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from designs import REMOVE
from manifold3d import Manifold
from numpy.testing import assert_allclose
from plumbing_changes import mm
from rule_cases import Case, check, study_of

from fuelsys.arrays import Floats, Ints
from fuelsys.kernels.solids import shared
from fuelsys.model.built.cavity import Overlap
from fuelsys.model.found.findings import Outcome
from fuelsys.rules.tanks.overlap import tanks_overlap

FAIL = Outcome.FAIL


def spare(mesh: str, *at: float) -> dict[str, object]:
    """A third tank that is only a mesh."""
    tank = {"name": "spare", "mesh": mesh, "unit": "mm", "axes": "aft, right, up", "position": mm(*at)}
    return {"tank.2": tank}


CASES = [
    Case("tanks-overlap", "good", "main, header", ("a place of its own",)),
    # Behind the main tank, wall on wall.
    Case("tanks-overlap", "good", "main, header, spare", (), spare("main.off", 800, -250, 1000)),
    # Under the main tank's slanting floor: at its front corner the floor falls by 0.4 mm a mm, so over the header's rear edge
    # (20 mm behind the front wall) it stands at 992; the header's belt ends at 970, its roof at 990, but its box reaches the
    # main tank's, which begins at 940.
    Case("tanks-overlap", "good", "main, header, spare", (), spare("header.off", 220, -80, 730)),
    # In exactly the same place: all 48.5 L, about the middle of the plan.
    Case(
        "tanks-overlap",
        "bad",
        "main and spare",
        ("48.50 L", "about (600, 0, "),
        spare("main.off", 400, -250, 1000),
        "[[tank.inside]]",
        FAIL,
    ),
    # A second header in the first, 8.912 L.
    Case("tanks-overlap", "bad", "header and spare", ("8.91 L",), spare("header.off", 500, -80, 400), "", FAIL),
    # Behind the main tank and 1 mm into it: 1 x 500 x 200 mm are 0.1 L; of the hoppers only edges 0.2 mm high meet.
    Case(
        "tanks-overlap",
        "bad",
        "main and spare",
        ("0.10 L", "(799.5, 0, 1099.98) mm"),
        spare("main.off", 799, -250, 1000),
    ),
    Case("tanks-overlap", "not asked", "tanks", ("only one",), {"tank.1": REMOVE, "line": []}),
]
IMPOSSIBLE = {
    ("tanks-overlap", "unknown"): "every mesh that the door lets pass can be cut; said all the same, see the test below"
}


@pytest.mark.parametrize("case", CASES, ids=lambda case: case.title)
def test_overlap(case: Case) -> None:
    check(case)


def test_a_mesh_that_cannot_be_cut_is_no_pass() -> None:
    uncut = replace(study_of({}), overlap=lambda: (Overlap(("main", "header")),))
    (finding,) = tanks_overlap.findings(uncut)
    assert (finding.outcome, finding.where) == (Outcome.NOT_CHECKED, "main and header")
    # One face missing: no solid.
    corners, faces = cube(1.0)
    assert shared((corners, faces[1:]), (corners, faces)) is None


def cube(side: float, *at: float) -> tuple[Floats, Ints]:
    mesh = Manifold.cube([side] * 3).translate(list(at or (0.0, 0.0, 0.0))).to_mesh64()
    return np.array(mesh.vert_properties[:, :3]), mesh.tri_verts.astype(np.int32)


def test_what_two_cubes_share() -> None:
    # From (0.5, 0.25, 0.75) to (1, 1, 1): 0.5 x 0.75 x 0.25.
    found = shared(cube(1.0), cube(1.0, 0.5, 0.25, 0.75))
    assert found is not None
    assert_allclose(found[0], 0.09375, rtol=1e-12)
    assert_allclose(found[1], [0.75, 0.625, 0.875], rtol=1e-12)
    apart = shared(cube(1.0), cube(1.0, 2.0, 0.0, 0.0))
    assert apart is not None
    assert apart[0] == 0.0


def test_of_two_shared_parts_the_larger_is_told() -> None:
    # A U of two legs, 1 and 2 wide and 3 deep, over a slab: 3 + 6, the larger about x = 4.
    u = Manifold.cube([5.0, 3.0, 3.0]) - Manifold.cube([2.0, 3.0, 2.0]).translate([1.0, 0.0, 0.0])
    mesh = u.to_mesh64()
    legs = np.array(mesh.vert_properties[:, :3]), mesh.tri_verts.astype(np.int32)
    slab = cube(10.0, -2.0, -2.0, -9.0)
    found = shared(legs, slab)
    assert found is not None
    assert_allclose(found[0], 9.0, rtol=1e-12)
    assert_allclose(found[1], [4.0, 1.5, 0.5], rtol=1e-12)


def test_the_middle_is_that_of_the_volume_not_of_the_corners() -> None:
    # A pyramid of height 1 has its centroid a quarter up; its five corners stand at a fifth on average.
    body = Manifold.hull_points([(x, y, 0.0) for x in (0.0, 1.0) for y in (0.0, 1.0)] + [(0.5, 0.5, 1.0)])
    mesh = body.to_mesh64()
    found = shared(
        (np.array(mesh.vert_properties[:, :3]), mesh.tri_verts.astype(np.int32)), cube(4.0, -2.0, -2.0, -2.0)
    )
    assert found is not None
    assert_allclose(found[0], 1.0 / 3.0, rtol=1e-12)
    assert_allclose(found[1], [0.5, 0.5, 0.25], rtol=1e-12)
