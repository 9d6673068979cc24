"""Several bodies in one mesh file: they are listed, and one is picked by its name or number."""

from __future__ import annotations

from pathlib import Path

import meshfiles as mf
import numpy as np
import pytest
from asked import printed, refusal, tables
from bodyfiles import (
    BOX,
    HALF,
    INWARD,
    PICK,
    QUADS,
    SIDE_BY_SIDE,
    TRIANGLES,
    boxes,
    glb,
    gross_l,
    obj,
    stl,
    threemf,
    unit_of,
    written,
)  # fmt: skip
from numpy.testing import assert_allclose


@pytest.fixture(params=list(SIDE_BY_SIDE))
def two(request: pytest.FixtureRequest, tmp_path: Path) -> Path:
    (tmp_path / request.param).write_bytes(SIDE_BY_SIDE[request.param])
    return tmp_path / request.param


def test_bodies_that_the_file_tells_apart_are_listed_and_not_one_is_taken(two: Path) -> None:
    listed = '1 "left" 6 L about (150, 100, 50) mm; 2 "right" 3 L about (450, 100, 25) mm'
    if two.suffix == ".glb":
        listed = '1 "left" 6 L about (0.15, 0.1, 0.05) m; 2 "right" 3 L about (0.45, 0.1, 0.025) m'
    for command in ("capacity", "levels", "new"):
        said = refusal(command, two, *unit_of(two.name))
        assert said == f"{two.name}: there are 2 separate bodies in it: {listed}. {PICK}"


@pytest.mark.parametrize("pick", ["right", "2"])
def test_one_is_picked_by_name_or_number(two: Path, pick: str) -> None:
    assert_allclose(gross_l(two, "--body", pick), 3.0, rtol=1e-6)
    assert_allclose(gross_l(two, "--body", "left"), 6.0, rtol=1e-6)
    notes = tables("capacity", two, *unit_of(two.name), "--body", pick)["capacity"][1]
    assert 'of 2 bodies in the file, 2 "right" was taken, the others were left out' in notes
    assert "3.000" in printed("levels", two, *unit_of(two.name), "--body", pick)


def test_the_health_lists_bodies_and_examines_one_alone(two: Path) -> None:
    rows, _ = tables("mesh", two, *unit_of(two.name), code=1)["bodies"]
    assert [(row["body"], row["name"], row["hollows"], row["lies_in"]) for row in rows] == [
        (1, "left", 0, ""),
        (2, "right", 0, ""),
    ]
    assert_allclose([row["volume_m3"] for row in rows], [6e-3, 3e-3], rtol=1e-6)
    assert_allclose([rows[1][key] for key in ("x_m", "y_m", "z_m")], [0.45, 0.1, 0.025], rtol=1e-6)
    assert_allclose([rows[1][f"extent_{axis}_m"] for axis in "xyz"], [0.3, 0.2, 0.05], rtol=1e-6)
    alone = tables("mesh", two, *unit_of(two.name), "--body", "right")
    assert "bodies" not in alone
    assert_allclose(alone["mesh"][0][0]["volume_m3"], 3e-3, rtol=1e-6)


def test_what_fits_none_is_refused_with_the_list(two: Path) -> None:
    listed = '1 "left" 6 L about (150, 100, 50) mm; 2 "right" 3 L about (450, 100, 25) mm'
    if two.suffix == ".glb":
        listed = '1 "left" 6 L about (0.15, 0.1, 0.05) m; 2 "right" 3 L about (0.45, 0.1, 0.025) m'
    for pick in ("header", "3", "0", "Left", "²"):
        said = refusal("mesh", two, *unit_of(two.name), "--body", pick)
        assert said == f'{two.name}: body: there is no body named "{pick}" in it: {listed}. {PICK}'


@pytest.mark.parametrize("name", ["two.stl", "two.glb", "two.3mf"])
def test_a_name_that_fits_several_is_refused(tmp_path: Path, name: str) -> None:
    data = {"two.stl": stl, "two.glb": glb, "two.3mf": threemf}[name]("tank", "tank")
    path = written(tmp_path, name, data)
    said = refusal("capacity", path, *unit_of(name), "--body", "tank")
    assert said.startswith(f'{name}: body: there are 2 bodies named "tank" in it: 1 "tank" 6 L about ')
    assert_allclose(gross_l(path, "--body", "2"), 3.0, rtol=1e-6)


@pytest.mark.parametrize("name", ["two.stl", "two.glb", "two.3mf"])
def test_bodies_without_names_go_by_number(tmp_path: Path, name: str) -> None:
    """An object's id or a node's number is no name: the first body of the 3MF has the id 7, the second 1."""
    path = written(tmp_path, name, {"two.stl": stl, "two.glb": glb, "two.3mf": threemf}[name]("", ""))
    assert_allclose([gross_l(path, "--body", pick) for pick in "12"], [6.0, 3.0], rtol=1e-6)
    assert 'there is no body named "7" in it: 1 unnamed 6 L' in refusal("mesh", path, *unit_of(name), "--body", "7")


def test_a_glbs_nodes_go_by_their_meshs_name_where_they_have_none(tmp_path: Path) -> None:
    def name(header: dict[str, list[dict[str, str]]]) -> None:
        header["meshes"][0]["name"] = "inside"

    nodes = [{"mesh": 0, "name": "wing"}, {"mesh": 0, "translation": [1, 0, 0]}]
    path = written(tmp_path, "a.glb", mf.glb(mf.BOX, TRIANGLES, nodes, (0, 1), name))
    assert 'it: 1 "wing" 6 L about (0.15, 0.1, 0.05) m; 2 "inside" 6 L about (1.15, 0.1, 0.05) m.' in refusal(
        "mesh", path, "--body", "x"
    )


def test_a_name_goes_before_a_number(tmp_path: Path) -> None:
    path = written(tmp_path, "a.obj", obj(("2", BOX, QUADS), ("1", BOX * HALF + [400, 0, 0], QUADS)))
    assert_allclose([gross_l(path, "--body", pick) for pick in "12"], [3.0, 6.0])


def test_numbers_go_by_the_first_face_in_the_file(tmp_path: Path) -> None:
    """Not by size, nor by the faces' number of corners: the reader cuts triangles, quads and pentagons one sort after the other."""
    outline = [(0.0, 0.0), (30.0, 0.0), (30.0, 20.0), (15.0, 30.0), (0.0, 20.0)]
    house, faces = mf.prism(outline, 40.0)  # (30 * 20 + 30 * 10 / 2) * 40 = 30 000 mm3
    away = np.array([1000.0, 0.0, 0.0])
    data = obj(("", house, faces), ("", BOX + away, TRIANGLES), ("", BOX * HALF + 2 * away, QUADS))
    path = written(tmp_path, "a.obj", data)
    assert_allclose([gross_l(path, "--body", pick) for pick in "123"], [0.03, 6.0, 3.0])
    assert refusal("mesh", path, "--unit", "mm", "--body", "4").startswith(
        'a.obj: body: there is no body named "4" in it: 1 unnamed 0.03 L about (15, 15, 20) mm; 2 unnamed 6 L about'
    )


def test_many_bodies_are_not_all_told(tmp_path: Path) -> None:
    data = obj(*(("", BOX * (0.1 + 0.01 * k) + [400.0 * k, 0, 0], QUADS) for k in range(12)))
    said = refusal("capacity", written(tmp_path, "a.obj", data), "--unit", "mm")
    assert said.startswith("a.obj: there are 12 separate bodies in it: 5 unnamed ")
    assert said.endswith(f"; and 4 smaller. {PICK}")


# --- what belongs to a body ------------------------------------------------------------------------------------------


@pytest.mark.parametrize("inside_out", [False, True])
def test_a_hollow_belongs_to_the_body_around_it(tmp_path: Path, inside_out: bool) -> None:
    """A can faces inward; what lies in the can, or faces as the tank does, is another body, and said to be left out."""
    turn = -1 if inside_out else 1
    parts = [
        ("tank", BOX, QUADS),  # 6 L
        ("can", boxes(0.5, (20, 20, 20)), INWARD),  # less 0.75 L
        ("float", boxes(0.25, (40, 40, 30)), QUADS),  # 0.09375 L, in the can
        ("sender", boxes(0.1, (200, 150, 80)), QUADS),  # 6 mL, in the tank
        ("header", boxes(1.0, (400, 0, 0)), QUADS),
    ]
    data = obj(*((name, vertices, [face[::turn] for face in faces]) for name, vertices, faces in parts))
    path = written(tmp_path, "a.obj", data)
    rows, _ = tables("mesh", path, "--unit", "mm", code=1)["bodies"]
    assert [(row["name"], row["hollows"], row["lies_in"]) for row in rows] == [
        ("tank", 1, ""), ("float", 0, "1"), ("sender", 0, "1"), ("header", 0, ""),
    ]  # fmt: skip
    assert_allclose([row["volume_m3"] for row in rows], [5.25e-3, 0.09375e-3, 6e-6, 6e-3], rtol=1e-12)
    notes = tables("capacity", path, "--unit", "mm", "--body", "tank")["capacity"][1]
    (warning,) = [note for note in notes if note.startswith("Warning: ")]
    assert warning.startswith(
        'Warning: what was left out lies inside it, and its room counts as fuel\'s: 2 "float" 0.09375 L'
    )
    assert '3 "sender" 0.006 L' in warning
    assert "header" not in warning
    assert_allclose(gross_l(path, "--body", "tank"), 5.25, rtol=1e-12)
    assert refusal("mesh", path, "--unit", "mm", "--body", "can").startswith(
        'a.obj: body: there is no body named "can" in'
    )


def test_a_can_on_the_floor_lies_in_the_tank(tmp_path: Path) -> None:
    """They share a plane, so that no corner of the can's floor tells; its other corners do."""
    data = obj(("tank", BOX, QUADS), ("can", boxes(0.25, (50, 50, 0)), QUADS))
    rows, _ = tables("mesh", written(tmp_path, "a.obj", data), "--unit", "mm", code=1)["bodies"]
    assert [row["lies_in"] for row in rows] == ["", "1"]


@pytest.mark.parametrize("key", ["o", "g"])
def test_a_body_of_several_parts_stays_one(tmp_path: Path, key: str) -> None:
    """Parts that are closed only together are one body, by any of its names."""
    lines = [f"v {x} {y} {z}" for x, y, z in BOX]
    for k, face in enumerate(QUADS):
        lines += [f"{key} side {k}", "f " + " ".join(str(i + 1) for i in face)]
    path = written(tmp_path, "a.obj", "\n".join(lines).encode())
    assert_allclose(gross_l(path), 6.0)
    assert_allclose(gross_l(path, "--body", "side 3"), 6.0)
    assert '1 "side 0 + side 1 + side 2 and 3 more" 6 L' in refusal("mesh", path, "--unit", "mm", "--body", "x")


def test_an_open_body_is_told_and_refused_as_ever(tmp_path: Path) -> None:
    data = obj(("tank", BOX, QUADS), ("rib", boxes(0.5, (50, 50, 20)), QUADS[:1]))
    path = written(tmp_path, "a.obj", data)
    listed = '1 "tank" 6 L about (150, 100, 50) mm; 2 "rib" open about (125, 100, 20) mm'
    assert refusal("capacity", path, "--unit", "mm") == f"a.obj: there are 2 separate bodies in it: {listed}. {PICK}"
    assert_allclose(gross_l(path, "--body", "tank"), 6.0)
    assert refusal("capacity", path, "--unit", "mm", "--body", "rib").startswith("a.obj: no volume: it is flat. Exp")
    data = obj(("tank", BOX, QUADS[1:]), ("can", boxes(0.5, (50, 50, 20)), QUADS))
    said = refusal("capacity", written(tmp_path, "b.obj", data), "--unit", "mm")
    assert said.startswith("b.obj: 4 edges do not join two faces")
    assert said.endswith("Or pick one of its 2 bodies; `fuelsys mesh FILE` lists them.")


def test_one_body_may_be_named_too(tmp_path: Path) -> None:
    path = written(tmp_path, "a.obj", obj(("tank", BOX, QUADS)))
    assert_allclose([gross_l(path, "--body", pick) for pick in ("tank", "1")], 6.0)
    assert not any(
        "left out" in note for note in tables("capacity", path, "--unit", "mm", "--body", "1")["capacity"][1]
    )


def test_names_of_any_script(tmp_path: Path) -> None:
    path = written(tmp_path, "a.stl", stl("réservoir  gauche", "бак"))
    assert_allclose([gross_l(path, "--body", pick) for pick in ("réservoir gauche", "бак")], [6.0, 3.0])


def test_a_name_that_no_terminal_should_see(tmp_path: Path) -> None:
    path = written(tmp_path, "a.obj", obj(("\x1b[31mred", BOX, QUADS), ("right", BOX + 400.0, QUADS)))
    rows, _ = tables("mesh", path, "--unit", "mm", code=1)["bodies"]
    assert rows[0]["name"] == "\\x1b[31mred"
    assert '1 "\\x1b[31mred" 6 L' in refusal("capacity", path, "--unit", "mm")


def test_a_named_body_in_the_tank_is_first_of_all_a_fault_of_the_export(tmp_path: Path) -> None:
    path = written(tmp_path, "a.obj", obj(("tank", BOX, QUADS), ("sender", boxes(0.1, (200, 150, 50)), QUADS)))
    said = refusal("capacity", path, "--unit", "mm")
    assert said.startswith(
        "a.obj: a closed surface inside the cavity is no hollow in it (0.006 L near (200, 150, 50) mm)."
    )
    assert said.endswith("Or pick one of its 2 bodies; `fuelsys mesh FILE` lists them.")
