"""Random tanks with a rib that stands a little off their walls, or a little sunk into them, and the same tank with it joined."""

from __future__ import annotations

from pathlib import Path
from typing import NamedTuple

import meshfiles as mf
import numpy as np
import solids
from manifold3d import CrossSection, Manifold
from numpy.typing import NDArray

Floats = NDArray[np.float64]
PRECISIONS = ("single", "double", "six digits")
_DESIGN = """
[aircraft]
name = "example"
datum = "the mesh's origin"
axes = "aft, right, up"
engine = "piston"
feed = "gravity"
[fuel]
kind = "avgas"
density = "0.72 kg/L"
reserve_phase = "cruise"
[flows]
cruise = "20 L/h"
[[attitude]]
name = "parked"
phase = "ground"
normal = true
"""
_TANK = """
[[tank]]
name = "main"
mesh = "tank{ending}"
unit = "mm"
axes = "aft, right, up"
position = ["0 mm", "0 mm", "0 mm"]
[[tank.outlet]]
name = "outlet"
position = [{outlet}]
"""
_INSIDE = """
[[tank.inside]]
name = "rib"
mesh = "rib{ending}"
"""


class Gapped(NamedTuple):
    """A tank and its rib, moved along up by gap_mm, in mm; joined is the tank with the rib grown into its walls."""

    tank: Manifold
    rib: Manifold
    joined: Manifold
    outlet_mm: Floats
    gap_mm: float
    attitudes: tuple[tuple[float, float], ...]


def _turned(body: Manifold, turn: Floats) -> Manifold:
    return body.transform(np.column_stack([turn, np.zeros(3)]))


def _hull(rng: np.random.Generator) -> Manifold:
    """A box, a drum on its side or a wing's prism, about the origin, some 600 mm long."""
    length, width, height = rng.uniform([400, 200, 120], [800, 400, 250])
    kind = rng.integers(3)
    if kind == 0:
        return Manifold.cube([length, width, height], True)
    if kind == 1:
        return Manifold.cylinder(length, height, height, int(rng.integers(24, 96)), True).rotate([0.0, 90.0, 0.0])
    s = np.linspace(0.0, 1.0, int(rng.integers(8, 40)))
    roof = height * 0.5 * (4.0 * s * (1.0 - s)) ** 0.7 + 20.0
    floor = -height * 0.2 * (4.0 * s * (1.0 - s)) - 20.0
    outline = np.concatenate([np.column_stack([s, floor]), np.column_stack([s, roof])[::-1]]) * [width, 1.0]
    return (
        CrossSection([outline - [width / 2.0, 0.0]])
        .extrude(length)
        .translate([0, 0, -length / 2.0])
        .rotate([90.0, 0.0, 90.0])
    )


def gapped(seed: int) -> Gapped:
    """A random tank by its number: with a gap of 1e-9 to 1 mm under its rib, or an overlap of as much."""
    rng = np.random.default_rng(seed)
    hull = _hull(rng)
    low, high = np.reshape(hull.bounding_box(), (2, 3))
    at, thick = rng.uniform(-0.25, 0.25) * (high[0] - low[0]), rng.uniform(1.0, 8.0)
    top = low[2] + rng.uniform(0.3, 0.7) * (high[2] - low[2])
    slab = Manifold.cube([thick, 2000.0, 1000.0]).translate([at, -1000.0, top - 1000.0])
    gap = float(10.0 ** rng.uniform(-9.0, 0.0) * rng.choice([1.0, 1.0, -1.0]))
    rib = (slab ^ hull).translate([0.0, 0.0, gap])
    outlet = np.array([low[0] + 0.1 * (high[0] - low[0]), 0.0, 0.0])
    column = Manifold.cube([1.0, 1.0, 2000.0], True).translate([float(outlet[0]), 0.0, 0.0]) ^ hull
    outlet[2] = column.bounding_box()[2] + 3.0
    turn = np.linalg.qr(np.eye(3) + rng.uniform(-0.15, 0.15, (3, 3)))[0]
    turn = turn * np.sign(np.diag(turn)) if rng.random() < 0.7 else np.eye(3)
    if np.linalg.det(turn) < 0.0:
        turn = np.eye(3)
    attitudes = tuple((float(p), float(r)) for p, r in rng.uniform(-12.0, 12.0, (3, 2)))
    tank, rib, joined = (_turned(body, turn) for body in (hull, rib, hull - slab.translate([0.0, 0.0, gap])))
    return Gapped(tank, rib, joined, turn @ outlet, gap, ((0.0, 0.0), *attitudes))


def _bytes(body: Manifold, precision: str) -> tuple[str, bytes]:
    vertices, faces = solids.from_manifold(body)
    if precision == "single":
        return ".stl", mf.stl_binary(vertices.astype(np.float32).astype(np.float64), faces.tolist())
    if precision == "six digits":
        vertices = np.array([[float(f"{c:.6g}") for c in corner] for corner in vertices])
    return ".off", mf.off(vertices, faces.tolist())


def written(folder: Path, given: Gapped, precision: str, *, inside: bool, more: str = "") -> Path:
    """The design file of such a tank, its rib as a body inside or as part of the mesh itself."""
    ending = ""
    meshes = {"tank": given.tank, "rib": given.rib} if inside else {"tank": given.tank - given.rib}
    for name, body in meshes.items():
        ending, data = _bytes(body, precision)
        (folder / f"{name}{ending}").write_bytes(data)
    outlet = ", ".join(f'"{c!r} mm"' for c in given.outlet_mm.tolist())
    text = _DESIGN
    for k, (pitch, roll) in enumerate(given.attitudes):
        normal = "normal = true\n" if k == 0 else ""
        text += f'[[attitude]]\nname = "flight {k}"\nphase = "flight"\npitch = "{pitch!r} deg"\nroll = "{roll!r} deg"\n{normal}'
    text += _TANK.format(ending=ending, outlet=outlet) + more + (_INSIDE.format(ending=ending) if inside else "")
    path = folder / "design.toml"
    path.write_text(text, encoding="utf-8")
    return path
