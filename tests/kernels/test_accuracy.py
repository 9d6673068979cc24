"""Volumes of bodies of some thousand triangles: against manifold3d, and against exact fractions where that is too coarse.

A hair off level, manifold3d joins corners that lie within its tolerance: it is 1e-11 from the exact volume, the kernels 1e-15.
"""

from fractions import Fraction
from pathlib import Path

import exact
import numpy as np
import pytest
import solids
from numpy.testing import assert_allclose
from places import LEVEL, cavity_of
from random_solids import random_body
from solids import Floats, Solid, subdivide, to_manifold

import fuelsys_meshes
from fuelsys.analysis.tank.tilted import Tilted
from fuelsys.load.meshes.door import load_cavity
from fuelsys.model.stated.attitude import Attitude

MESHES = Path(fuelsys_meshes.__file__).parent
BODIES: dict[str, Solid] = {
    "sphere": solids.sphere(0.3, 64, 24),
    "lying vessel": solids.vessel(0.2, 0.9, "torispherical", facets=48, steps=5, axis="x"),
    "baffled box, split": subdivide(*subdivide(*subdivide(*solids.baffled_box()))),
    "egg crate, split": subdivide(*solids.egg_crate(6, 5)),
    "random body, split": subdivide(*subdivide(*random_body(3))),
}
UPS: dict[str, Floats] = {
    "level": LEVEL,
    "upside down": -LEVEL,
    "on its side": np.array([0.0, 1.0, 0.0]),
    **{
        f"{p:+} {r:+}": Attitude.of_degrees(p, r).up
        for p, r in ((1, 0), (12, 0), (-7, 5), (0, -20), (85, 40), (33, 160))
    },
}


def compare(solid: Solid, up: Floats) -> None:
    cavity = cavity_of(solid)
    assert len(cavity.faces) >= 1900
    tilted = Tilted.of(cavity, up)
    body = to_manifold(*solid)
    levels = tilted.low_m + (tilted.high_m - tilted.low_m) * np.array([0.11, 0.25, 0.37, 0.62, 0.95])
    cut = [body.trim_by_plane((-up).tolist(), -float(h + cavity.centre_m @ up)).volume() for h in levels]
    volumes, _ = tilted.volume_and_area(levels)
    assert_allclose(volumes, cut, rtol=1e-12)
    assert_allclose([tilted.moments(h)[0] for h in levels], cut, rtol=1e-12)
    assert_allclose(tilted.by_seed(np.tile(levels, (tilted.tree.seed_vertex.size, 1))).sum(axis=0), cut, rtol=1e-12)


@pytest.mark.parametrize("up", UPS.values(), ids=UPS.keys())
@pytest.mark.parametrize("solid", BODIES.values(), ids=BODIES.keys())
def test_volume_is_that_of_the_cut_body(solid: Solid, up: Floats) -> None:
    compare(solid, up)


def example(file: str) -> Solid:
    cavity = load_cavity(MESHES / file, "mm")
    return cavity.vertices_m.copy(), cavity.faces.astype(np.int64)


@pytest.mark.parametrize("file", ["left.stl", "right.stl", "header.stl"])
def test_volume_of_the_example_tanks_is_that_of_the_cut_body(file: str) -> None:
    for up in UPS.values():
        compare(example(file), up)


@pytest.mark.parametrize("up", [LEVEL, np.array([1e-12, -1e-13, 1.0]), UPS["-7 +5"]], ids=["level", "nearly", "tilted"])
@pytest.mark.parametrize("name", ["lying vessel", "left.stl", "header.stl"])
def test_volume_is_exact_even_a_hair_off_level(name: str, up: Floats) -> None:
    tilted = Tilted.of(cavity_of(BODIES[name] if name in BODIES else example(name)), up)
    local = tilted.cavity.vertices_m, tilted.cavity.faces.astype(np.int64)
    for share in (0.004, 0.3):
        level = tilted.low_m + share * (tilted.high_m - tilted.low_m)
        expected = float(exact.sums(local, exact.point(up), Fraction(level))[0])
        assert_allclose(tilted.volume_and_area(np.array([level]))[0], expected, rtol=1e-13)
