"""Cavity or wall; any mesh file whatever, held against the mesh door; and what the command shows."""

from __future__ import annotations

import json
import math
import re
from pathlib import Path

import numpy as np
import pytest
import solids
from click.testing import CliRunner
from manifold3d import Manifold
from numpy.testing import assert_allclose
from random_solids import random_body
from solids import Solid
from surfaces import BOX, CUBE, box_with, health, moved, together, written

from fuelsys.errors import MeshError
from fuelsys.load.meshes.door import load_cavity
from fuelsys.load.meshes.mesh import examine
from fuelsys.model.found.mesh import Kind
from fuelsys.report.charts import mesh as fault_pictures
from fuelsys.report.tables import mesh as health_tables
from fuelsys_cli.mesh import command

# --- cavity or wall --------------------------------------------------------------------------------------------------


def shell_of(thickness: float, inward: bool = True) -> Solid:
    """The wall of a tank of 0.5 x 0.3 x 0.2 m outside."""
    inner = solids.box(0.5 - 2 * thickness, 0.3 - 2 * thickness, 0.2 - 2 * thickness)
    return together(solids.box(0.5, 0.3, 0.2), moved(inner, (thickness,) * 3, inward))


@pytest.mark.parametrize(("thickness", "wall"), [(0.002, True), (0.028, True), (0.03, False), (0.05, False)], ids=str)
def test_a_wall_is_known_by_its_inner_shell(thickness: float, wall: bool) -> None:
    inner = (0.5 - 2 * thickness) * (0.3 - 2 * thickness) * (0.2 - 2 * thickness)
    assert (inner > 0.03 / 2) == wall  # the stated threshold: it fills most of the outer shell
    found = health(shell_of(thickness))
    assert found.usable != wall
    if wall:
        assert found.wall is not None
        assert_allclose(found.wall.inner_m3, inner, rtol=1e-12)
        material, sides = 0.03 - inner, sum(shell.area_m2 for shell in found.shells)
        assert_allclose(found.wall.thickness_m, material / (sides / 2), rtol=1e-9)
        assert found.why_not == (found.wall.text,)
        assert re.fullmatch(r"it looks like the tank's wall, \d+ mm thick on average, not its inside", found.wall.text)


def test_a_wall_whose_shells_both_face_outward_is_one_too() -> None:
    found = health(shell_of(0.002, inward=False))
    assert found.wall is not None
    assert found.volume_m3 is None


@pytest.mark.parametrize(("thickness", "wall"), [(0.001, True), (0.004, True), (0.008, False)], ids=str)
def test_a_wall_with_an_opening_is_known_by_its_thickness(thickness: float, wall: bool) -> None:
    tank = Manifold.cube((0.5, 0.3, 0.2), True)
    inside = Manifold.cube((0.5 - 2 * thickness, 0.3 - 2 * thickness, 0.2 - 2 * thickness), True)
    filler = Manifold.cylinder(0.2, 0.03, circular_segments=24)
    found = health(solids.from_manifold(tank - inside - filler))
    assert found.n_shells == 1
    assert (found.wall is not None) == wall
    if found.wall:
        assert_allclose(found.wall.thickness_m, thickness, rtol=0.05)
        assert found.wall.inner_m3 is None


def test_flat_and_small_cavities_are_no_walls() -> None:
    for size in ((0.6, 0.4, 0.012), (0.02, 0.02, 0.02), (0.008, 0.008, 0.1)):
        assert health(solids.box(*size)).wall is None


# --- any file --------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("seed", range(30))
def test_it_never_raises_and_agrees_with_the_mesh_door(tmp_path: Path, seed: int) -> None:
    """What is usable opens as a cavity; what the mesh door refuses is not usable."""
    rng = np.random.default_rng(seed)
    vertices, faces = random_body(seed)
    damage = int(rng.integers(0, 6))
    if damage == 1:
        faces = np.delete(faces, rng.integers(0, len(faces), 2), axis=0)
    elif damage == 2:
        faces = faces.copy()
        faces[::7] = faces[::7, ::-1]
    elif damage == 3:
        faces = np.concatenate([faces, faces[:3], [[0, 0, 1], [2, 2, 2]]])
    elif damage == 4:
        vertices = np.where(rng.random(vertices.shape) < 0.02, vertices + 3.0, vertices)
    elif damage == 5:
        faces = rng.integers(0, len(vertices), (60, 3))
    path = written(tmp_path, (vertices, faces))
    found = examine(path, "m")
    assert found.triangles == len(faces)
    try:
        cavity = load_cavity(path, "m")
    except MeshError:
        assert not found.usable
    else:
        if found.usable:
            assert_allclose(cavity.gross_m3, found.volume_m3, rtol=1e-12)
        else:
            assert all("cross" in why or "wall" in why or "along edges" in why for why in found.why_not)
    tables = health_tables.health(found, "L")
    assert all(len(row) == len(table.columns) for table in tables for row in table.rows)


def test_faces_with_equal_corners_are_told_with_their_places(tmp_path: Path) -> None:
    path = written(tmp_path, (BOX[0], np.vstack([BOX[1], [[6, 6, 7], [5, 5, 5]]])))
    found = examine(path, "m")
    assert found.usable
    repeated = found.fault(Kind.REPEATED)
    assert repeated is not None
    assert repeated.count == 2
    assert_allclose(repeated.places_m, [(BOX[0][6] + BOX[0][7]) / 2, BOX[0][5]])


@pytest.mark.parametrize("faces", [[], [[1, 1, 2]]], ids=["none", "none with an area"])
def test_a_file_without_faces_is_not_usable(tmp_path: Path, faces: list[list[int]]) -> None:
    path = written(tmp_path, (BOX[0], np.array(faces, dtype=np.int64).reshape(-1, 3)))
    assert examine(path, "m").verdict == "not usable as a cavity: there are no faces with an area in it"


def test_files_that_cannot_be_read_are_refused(tmp_path: Path) -> None:
    (tmp_path / "a.ply").write_text("ply\n")
    for name, unit in (("a.ply", "m"), ("b.ply", "m"), ("c.txt", "m")):
        with pytest.raises(MeshError):
            examine(tmp_path / name, unit)
    with pytest.raises(MeshError, match="do not say their unit"):
        examine(written(tmp_path, BOX), None)


# --- what is shown ---------------------------------------------------------------------------------------------------


def faulty_file(folder: Path) -> Path:
    vertices, faces = together(CUBE, moved(CUBE, (0.5, 0.5, 0.4)))
    return written(folder, (vertices * 1e3, np.delete(faces, 0, axis=0)))


def test_the_command_says_what_is_wrong(tmp_path: Path) -> None:
    path, picture = faulty_file(tmp_path), tmp_path / "faults.svg"
    done = CliRunner().invoke(command, [str(path), "--unit", "mm", "--picture", str(picture), "--form", "json"])
    assert done.exit_code == 1, done.output
    tables = {table["key"]: table for table in json.loads(done.stdout)["tables"]}
    assert tables["mesh"]["rows"][0]["usable"] == "no"
    assert tables["mesh"]["notes"][0].startswith("Not usable as a cavity: 3 open edges; ")
    (hole,) = tables["holes"]["rows"]
    assert hole["open_edges"] == 3
    assert_allclose(hole["across_m"], math.sqrt(2), rtol=1e-12)
    first = {row["fault"]: row for row in tables["faults"]["rows"]}["pairs of crossing faces"]
    assert all(0.4 - 1e-9 <= first[axis] <= 1.0 + 1e-9 for axis in ("x_m", "y_m", "z_m"))
    drawn = picture.read_text(encoding="utf-8")
    assert "3 open edges, 1414 mm across, near (" in drawn
    assert re.search(r"pairs? of crossing faces, near \(\d+", drawn)
    for name in (
        "plan, from +z: x to the right, y up",
        "side, from −y: x to the right, z up",
        "end, from +x: y to the right, z up",
    ):
        assert name in drawn


def test_the_command_says_that_nothing_is_wrong(tmp_path: Path) -> None:
    done = CliRunner().invoke(command, [str(written(tmp_path, BOX)), "--unit", "m"])
    assert done.exit_code == 0
    assert "Usable as a cavity." in done.output
    assert "1000.000" in done.output  # 1 m3 in litres


def test_a_picture_of_many_faults_stays_within_bounds(tmp_path: Path) -> None:
    rng = np.random.default_rng(3)
    soup = rng.normal(size=(900, 3)), np.arange(900).reshape(-1, 3)
    found = health(soup)
    drawn = fault_pictures.svg(found, *(soup[0], soup[1].astype(np.int32)))
    assert "more places have no number." in drawn
    assert len(drawn) < 2_000_000


def test_places_stand_in_the_files_own_unit(tmp_path: Path) -> None:
    inches = BOX[0] / 0.0254 * 0.5
    done = CliRunner().invoke(
        command, [str(written(tmp_path, (inches, box_with(without=(0,))[1]))), "--unit", "in", "--form", "csv"]
    )
    assert done.exit_code == 1
    assert "x [in]" in done.output
    assert f"{inches[[0, 2, 1]].mean(axis=0)[0]:.10g}"[:8] in done.output
