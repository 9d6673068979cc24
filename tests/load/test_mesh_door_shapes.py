"""Closed surfaces that are no cavity all the same: those that pass through themselves, and a tank's wall."""

from __future__ import annotations

from pathlib import Path

import meshfiles as mf
import numpy as np
import pytest
import solids
from manifold3d import Manifold

from fuelsys.errors import MeshError
from fuelsys.load.meshes.door import load_cavity
from fuelsys.load.meshes.mesh import examine


def written(folder: Path, vertices: np.ndarray, faces: np.ndarray) -> Path:
    path = folder / "tank.off"
    path.write_bytes(mf.off(vertices, faces.tolist()))
    return path


def with_box(low: float, size: float) -> tuple[np.ndarray, np.ndarray]:
    """A cube of 300 mm with a closed cube inside that faces inward."""
    outer, faces = solids.box(300.0, 300.0, 300.0)
    inner, _ = solids.box(size, size, size)
    return np.concatenate([outer, inner + low]), np.concatenate([faces, faces[:, ::-1] + len(outer)])


def test_a_hollow_that_reaches_through_the_wall_is_a_body_of_its_own(tmp_path: Path) -> None:
    path = written(tmp_path, *with_box(200.0, 150.0))  # from 200 to 350 mm, the wall is at 300
    with pytest.raises(
        MeshError, match=r"^tank\.off: there are 2 separate bodies in it: 1 unnamed 27 L about \(150, 150, 150\) mm;"
    ):
        load_cavity(path, "mm")


def test_a_roof_pushed_through_the_floor_is_refused(tmp_path: Path) -> None:
    vertices, faces = solids.subdivide(*solids.box(300.0, 300.0, 300.0))
    middle = int(np.argmin(np.abs(vertices - [150.0, 150.0, 300.0]).sum(axis=1)))
    vertices = vertices.copy()
    vertices[middle] = (150.0, 150.0, 10.0)
    assert load_cavity(written(tmp_path, vertices, faces), "mm").gross_m3 > 0.0
    vertices[middle, 2] = -10.0
    with pytest.raises(MeshError, match="pass through each other"):
        load_cavity(written(tmp_path, vertices, faces), "mm")


def test_the_wall_of_a_tank_is_not_taken_for_its_inside(tmp_path: Path) -> None:
    path = written(tmp_path, *with_box(2.0, 296.0))
    with pytest.raises(MeshError) as caught:
        load_cavity(path, "mm")
    # 300³ mm³ are 27 L, 296³ mm³ are 25.93 L.
    assert str(caught.value) == (
        "tank.off: this looks like the tank's wall and not its inside: 25.93 L near (2, 2, 2) mm of 27 L near (0, 0, 0) mm"
        " are hollow. Export the inside as a solid; `fuelsys mesh FILE --mend --inside --into NEW.ply` takes the inner shell."
    )
    assert not examine(path, "mm").usable


def test_the_wall_of_a_tank_with_an_opening_is_not_taken_for_its_inside(tmp_path: Path) -> None:
    # Sheet of 2 mm all round a box of 600 x 400 x 200 mm, with a hole for the filler: one shell, of 1.7 L and not 46 L.
    hole = Manifold.cylinder(10, 10, 10, 32).translate([300, 200, 195])
    wall = Manifold.cube([600, 400, 200]) - Manifold.cube([596, 396, 196]).translate([2, 2, 2]) - hole
    path = written(tmp_path, *solids.from_manifold(wall))
    with pytest.raises(MeshError) as caught:
        load_cavity(path, "mm")
    assert str(caught.value) == (
        "tank.off: it looks like the tank's wall, 2 mm thick on average, not its inside. Export the tank's inside as a solid."
    )
    assert caught.value.found in examine(path, "mm").why_not


def test_bodies_that_pass_through_each_other_are_said_to(tmp_path: Path) -> None:
    one, faces = solids.box(300.0, 300.0, 300.0)
    faces = np.concatenate([faces, faces + len(one)])
    within = np.concatenate([one, one * 0.5 + [200.0, 70.0, 80.0]])  # its first corner lies in the other body
    with pytest.raises(MeshError, match=r"pairs of faces pass through each other, the first near \(300, "):
        load_cavity(written(tmp_path, within, faces), "mm")
    both = np.concatenate([one * 0.5 + [-100.0, 70.0, 80.0], one]), faces
    with pytest.raises(
        MeshError, match=r"2 separate bodies in it: .*; some pass through each other, the first near \(0, "
    ) as caught:
        load_cavity(written(tmp_path, *both), "mm")
    assert caught.value.mend.startswith("Unite in CAD what makes up one tank, and export again.")


def test_a_hollow_of_less_than_half_holds_no_fuel_and_is_said(tmp_path: Path) -> None:
    read = load_cavity(written(tmp_path, *with_box(50.0, 200.0)), "mm")
    assert read.gross_m3 == pytest.approx(27e-3 - 8e-3, rel=1e-12)
    assert read.notes == ("1 closed hollow inside the cavity holds no fuel",)


def test_the_health_says_an_odd_unit_and_an_inside_out_surface(tmp_path: Path) -> None:
    vertices, faces = solids.box(508.0, 609.6, 304.8)
    odd = examine(written(tmp_path, vertices, faces), "in")
    assert odd.usable
    # 20 x 24 x 12 in are 5760 in³; in mm³ taken for in³ 25.4³ times that, 94,389,... in³ = 1,546,767 L.
    assert odd.notes == (
        "a cavity of 1,546,767 L is unusual for a light aircraft's tank: is the unit in right? State another if not.",
    )
    turned = examine(written(tmp_path, vertices, faces[:, ::-1]), "mm")
    assert turned.usable
    assert turned.notes == (
        "The surface is inside out (its normals point inward); it is turned when it is read as a cavity.",
    )
