"""What a design takes off a tank's mesh: the same tank modelled in full, laws of each part, and what cannot be."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path

import meshfiles as mf
import numpy as np
import pytest
import solids
from click.testing import CliRunner
from manifold3d import Manifold, OpType

from fuelsys.analysis.tank.draining import Drained, Opening
from fuelsys.analysis.tank.tilted import Tilted
from fuelsys.errors import DesignError
from fuelsys.load.designs.door import load_design
from fuelsys.model.built.cavity import Cavity
from fuelsys.model.built.layout import FittedTank
from fuelsys.model.stated.attitude import Attitude
from fuelsys_cli.capacity import command as capacity_command

COATING_MM = 0.3
NAMES = ("rib", "float", "tube")
DESIGN = """
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
[[attitude]]
name = "cruise"
phase = "flight"
normal = true
[[tank]]
name = "main"
mesh = "tank.off"
unit = "mm"
axes = "aft, right, up"
position = ["0 mm", "0 mm", "0 mm"]
{taken}
[[tank.outlet]]
name = "outlet"
position = ["480 mm", "200 mm", "5 mm"]
[[tank.vent]]
name = "vent"
position = ["20 mm", "200 mm", "199 mm"]
[[tank.switch]]
name = "low"
mark = ["350 mm", "200 mm", "40 mm"]
{own}
"""
ATTITUDES = [(0.0, 0.0), (11.0, 0.0), (-4.0, 3.0), (0.0, -8.0), (7.0, 20.0)]


def box(*sides_mm: float) -> Manifold:
    return Manifold.cube(list(sides_mm))


def whole() -> Manifold:
    return box(500, 400, 200)


def comb() -> Manifold:
    """Eleven plates through the tank that hang together outside it."""
    plates = [box(10, 430, 200).translate([40 * k, -10, 0]) for k in range(1, 12)]
    return Manifold.batch_boolean([box(410, 5, 200).translate([40, -10, 0]), *plates], OpType.Add)


def rib() -> Manifold:
    """It stands on the floor."""
    return box(10, 300, 150).translate([200, 50, 0])


def can() -> Manifold:
    """A float, which hangs free."""
    return Manifold.cylinder(30, 20, 20, 64).translate([350, 200, 30])


def tube() -> Manifold:
    """It leads out through the roof."""
    return Manifold.cylinder(300, 6, 6, 32).translate([420, 300, 100])


def bodies() -> dict[str, Manifold]:
    return {"rib": rib(), "float": can(), "tube": tube()}


def inside(*names: str) -> str:
    return "\n".join(f'[[tank.inside]]\nname = "{name}"\nmesh = "{name}.off"' for name in names)


def fitted(folder: Path, taken: str, **meshes: Manifold) -> FittedTank:
    for name, body in {"tank": whole(), **bodies(), **meshes}.items():
        vertices, faces = solids.from_manifold(body)
        (folder / f"{name}.off").write_bytes(mf.off(vertices, faces.tolist()))
    own = 'own_float = "float"' if 'name = "float"' in taken else ""
    text = DESIGN.replace("{taken}", taken).replace("{own}", own)
    (folder / "design.toml").write_text(text, encoding="utf-8")
    return load_design(folder / "design.toml").tanks[0]


def refused(folder: Path, taken: str, **meshes: Manifold) -> list[str]:
    with pytest.raises(DesignError) as caught:
        fitted(folder, taken, **meshes)
    return [str(fault).removeprefix("design.toml: ") for fault in caught.value.faults]


def as_cavity(body: Manifold) -> Cavity:
    vertices, faces = solids.from_manifold(body)
    return Cavity.of(vertices * 1e-3, faces.astype(np.int32))


def held(cavity: Cavity, pitch: float, roll: float) -> tuple[np.ndarray, float]:
    """Volumes at 25 levels that are given from the datum, and what stays behind below an outlet."""
    up = Attitude.of_degrees(pitch, roll).up
    tilted = Tilted.of(cavity, up)
    corners = np.array([[x, y, z] for x in (0.0, 0.5) for y in (0.0, 0.4) for z in (0.0, 0.2)]) @ up
    levels = np.linspace(corners.min(), corners.max(), 25) - cavity.centre_m @ up
    outlet = cavity.spot("outlet", np.array([0.48, 0.2, 0.005]))
    return tilted.volume_and_area(levels)[0], Drained.of(cavity, up, [Opening(outlet)]).left_m3


@pytest.mark.parametrize("angles", ATTITUDES)
def test_bodies_and_coating_agree_with_the_same_tank_modelled_in_full(
    tmp_path: Path, angles: tuple[float, float]
) -> None:
    """The second method: walls moved in by the coating, bodies grown by a ball of its radius (Minkowski's sum)."""
    tank = fitted(tmp_path, f'coating = "{COATING_MM} mm"\n{inside(*NAMES)}')
    t = COATING_MM
    full = box(500 - 2 * t, 400 - 2 * t, 200 - 2 * t).translate([t, t, t])
    for body in bodies().values():
        full = full - solids.grown(body ^ whole(), t)
    doubt_m3 = sum(taken.doubt_m3 for taken in tank.cavity.taken)
    assert doubt_m3 < 1e-7
    ours, theirs = held(tank.cavity, *angles), held(as_cavity(full), *angles)
    np.testing.assert_allclose(ours[0], theirs[0], rtol=0.0, atol=doubt_m3)
    assert ours[1] == pytest.approx(theirs[1], abs=doubt_m3)
    assert (
        abs(ours[0][-1] - held(as_cavity(whole()), *angles)[0][-1]) > 1000.0 * doubt_m3
    )  # it takes off much more than that


def test_each_part_is_a_line_of_its_own(tmp_path: Path) -> None:
    tank = fitted(tmp_path, f'coating = "{COATING_MM} mm"\nunmodelled = "1 %"\n{inside(*NAMES)}')
    taken = {one.what: one.volume_m3 for one in tank.cavity.taken}
    assert list(taken) == ["rib, inside", "float, inside", "tube, inside", "coating", "not drawn, 1 %"]
    assert taken["rib, inside"] == pytest.approx(10e-3 * 300e-3 * 150e-3, rel=1e-12)
    assert taken["float, inside"] == pytest.approx(can().volume() * 1e-9, rel=1e-9)
    assert taken["tube, inside"] == pytest.approx((tube() ^ whole()).volume() * 1e-9, rel=1e-9)
    assert tank.cavity.mesh_m3 == pytest.approx(0.04, rel=1e-12)
    assert tank.cavity.gross_m3 == pytest.approx(0.99 * (0.04 - sum(list(taken.values())[:4])), rel=1e-12)


def test_what_was_not_drawn_takes_its_share_of_every_volume(tmp_path: Path) -> None:
    plain, less = (
        fitted(tmp_path, inside("rib")).cavity,
        fitted(tmp_path, f'unmodelled = "2 %"\n{inside("rib")}').cavity,
    )
    for angles in ATTITUDES:
        (volumes, left_m3), (fewer, left_less_m3) = held(plain, *angles), held(less, *angles)
        np.testing.assert_allclose(fewer, 0.98 * volumes, rtol=1e-13)
        assert left_less_m3 == pytest.approx(0.98 * left_m3, rel=1e-13)
        tilted, targets = Tilted.of(less, Attitude.of_degrees(*angles).up), np.linspace(0.1, 0.9, 9) * less.gross_m3
        np.testing.assert_allclose(tilted.volume_and_area(tilted.level_for(targets))[0], targets, rtol=1e-12)


def test_the_outside_of_a_tank_with_its_wall_is_its_inside(tmp_path: Path) -> None:
    tank = fitted(tmp_path, 'wall = "0.8 mm"')
    assert tank.cavity.gross_m3 == pytest.approx(498.4 * 398.4 * 198.4 * 1e-9, rel=1e-12)
    low, high = tank.cavity.bounds_m
    np.testing.assert_allclose([low, high], [[0.8e-3] * 3, [0.4992, 0.3992, 0.1992]], atol=1e-15)


def test_a_mark_in_a_float_keeps_its_level(tmp_path: Path) -> None:
    tank = fitted(tmp_path, inside("float"))
    spot = tank.spot("switch low")
    np.testing.assert_allclose(spot.point_m + tank.cavity.centre_m, [0.35, 0.2, 0.04], atol=1e-15)
    assert spot.face >= 0
    assert spot.off_m == 0.0


def test_a_hollow_float_displaces_all_of_itself(tmp_path: Path) -> None:
    tank = fitted(tmp_path, inside("float"), float=can() - box(10, 10, 10).translate([345, 195, 40]))
    assert tank.cavity.taken[0].volume_m3 == pytest.approx(can().volume() * 1e-9, rel=1e-9)


def test_a_coating_that_closes_a_slot_is_the_tank_with_the_slot_closed(tmp_path: Path) -> None:
    """The second method: a wall 5 mm short of the roof, grown by a ball of the coating's radius, in walls moved in by it."""
    wall = box(10, 300, 195).translate([200, 50, 0])
    tank = fitted(tmp_path, 'coating = "2.8 mm"', tank=whole() - wall)
    full = box(494.4, 394.4, 194.4).translate([2.8, 2.8, 2.8]) - solids.grown(wall, 2.8)
    doubt_m3 = sum(taken.doubt_m3 for taken in tank.cavity.taken)
    assert doubt_m3 < 5e-6
    for angles in ATTITUDES:
        ours, theirs = held(tank.cavity, *angles), held(as_cavity(full), *angles)
        np.testing.assert_allclose(ours[0], theirs[0], rtol=0.0, atol=doubt_m3)
        assert ours[1] == pytest.approx(theirs[1], abs=doubt_m3)
    assert any("the coating closes gaps in the mesh" in str(note) for note in tank.cavity.notes)


def test_bodies_that_overlap_count_once(tmp_path: Path) -> None:
    tank = fitted(tmp_path, inside("rib", "float"), float=rib())
    assert [round(one.volume_m3 * 1e6, 6) for one in tank.cavity.taken] == [450.0, 0.0]


CANNOT: dict[str, tuple[str, Callable[[], dict[str, Manifold]], str]] = {
    "a body elsewhere": (
        inside("float"),
        lambda: {"float": can().translate([500, 0, 0])},
        "tank main.inside float: all of it (0.03764 L) lies outside the cavity, near (850, 200, 45) mm."
        " Give it in the axes and from the origin of the tank's own mesh, and look at its unit.",
    ),
    "a body of another unit": (
        inside("rib") + '\nunit = "cm"',
        dict,
        "tank main.inside rib: all of it (450 L) lies outside the cavity, near (2050, 2000, 750) mm."
        " Give it in the axes and from the origin of the tank's own mesh, and look at its unit.",
    ),
    "a bulkhead without an opening": (
        inside("rib"),
        lambda: {"rib": box(10, 400, 200).translate([200, 0, 0])},
        "tank main.inside: the bodies cut the cavity into 2 parts: 16 L about (100, 200, 100) mm; 23.2 L about (355, 200, 100) mm."
        " Leave an opening in them where fuel passes, or make each part a tank.",
    ),
    "a body that fills the tank": (
        inside("rib"),
        lambda: {"rib": whole()},
        "tank main.inside: the bodies fill the cavity. Leave an opening in them where fuel passes, or make each part a tank.",
    ),
    "a coating that closes all passages": (
        'coating = "3 mm"',
        lambda: {"tank": whole() - box(10, 400, 195).translate([200, 0, 0])},
        "tank main.coating: a layer of 3 mm parts the cavity into 2 parts: ",
    ),
    "a wall that a fitting stands in": (
        'wall = "4 mm"',
        dict,
        "tank main.vent.position: this place lies 3 mm outside the cavity, in the tank's wall of 4 mm. Give the place on the"
        " inside, or take wall out if tank.off is the inside already.",
    ),
    "a wall thicker than the tank": (
        'wall = "15 mm"',
        lambda: {"tank": box(500, 400, 20)},
        "tank main.wall: a layer of 15 mm fills the cavity. Give a thinner layer; is the unit right?",
    ),
    "a coating of inches": (
        'coating = "1 in"',
        dict,
        'tank main.coating: found "1 in", which is too large. Give a thickness from 0 in to 0.7874 in; is the unit right?',
    ),
    "most of it not drawn": (
        'unmodelled = "40 %"',
        dict,
        'tank main.unmodelled: found "40 %", which is too large. Give a share from 0 % to 20 %; is the unit right?',
    ),
    "no such body": (
        inside("pump"),
        dict,
        'tank main.inside pump.mesh: there is no file "{folder}/pump.off". Give its path from the design file\'s folder.',
    ),
}


def test_a_long_list_of_parts_says_how_many_more(tmp_path: Path) -> None:
    (found,) = refused(tmp_path, inside("rib"), rib=comb())
    assert found.startswith(
        "tank main.inside: the bodies cut the cavity into 12 parts: 3.2 L about (20, 200, 100) mm; "
    )
    assert found.count(" L about (") == 8
    assert "; and 4 smaller. Leave an opening in them where fuel passes, or make each part a tank." in found


@pytest.mark.parametrize("case", CANNOT)
def test_what_cannot_be_is_told_in_a_line(tmp_path: Path, case: str) -> None:
    taken, meshes, said = CANNOT[case]
    (found,) = refused(tmp_path, taken, **meshes())
    assert found.startswith(said.replace("{folder}", str(tmp_path)))


def test_the_command_shows_each_part(tmp_path: Path) -> None:
    fitted(tmp_path, f'coating = "{COATING_MM} mm"\nunmodelled = "1 %"\n{inside(*NAMES)}')
    ran = CliRunner().invoke(capacity_command, [str(tmp_path / "design.toml"), "--form", "json"])
    rows = json.loads(ran.stdout)["tables"][1]["rows"]
    shown = {row["what"]: row["volume_m3"] for row in rows}
    assert shown["mesh as exported"] == pytest.approx(0.04, rel=1e-12)
    parts = [
        shown[what] for what in ("rib, inside", "float, inside", "tube, inside", "coating, 0.3 mm", "not drawn, 1 %")
    ]
    assert all(part < 0.0 for part in parts)
    assert shown["gross"] == pytest.approx(0.04 + sum(parts), rel=1e-12)
