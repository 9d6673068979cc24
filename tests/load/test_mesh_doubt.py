"""What keeps a mesh from being taken for sound is not forgotten: it stands with every figure of the tank."""

from __future__ import annotations

from pathlib import Path

import meshfiles as mf
import numpy as np
import pytest
from asked import printed, refusal, tables
from bodyfiles import BOX, QUADS, TRIANGLES, boxes, obj, written
from designs import layout_of

from fuelsys.load.designs.door import load_design
from fuelsys.load.formats.step import OfTheSolid
from fuelsys.load.meshes.door import load_cavity
from fuelsys.load.meshes.mending import mend
from fuelsys.load.meshes.soundness import Surface
from fuelsys.model.words import Doubt
from fuelsys.report.shown import Shown
from fuelsys.report.tables import dipstick as stick_tables
from fuelsys.report.tables import switches as switches_tables
from fuelsys.report.tables import unusable as unusable_tables
from fuelsys.review import dipsticks, findings, study

MM = ("--unit", "mm")
MENDED = "comment mended from x.stl, its volume within 523.6 L; with caution: its volume is not known"
WARNED = MENDED.removeprefix("comment ")


def mended(vertices: mf.Floats, faces: mf.Polygons, comments: str = MENDED) -> bytes:
    return mf.ply_text(vertices, faces).replace(b"comment a tank", comments.encode())


def warnings(path: Path, *words: str, command: str = "mesh", code: int = 3) -> list[str]:
    found = tables(command, path, *words, code=code)["mesh" if command == "mesh" else "capacity"]
    return [note for note in found[1] if note.startswith("Warning:")]


# --- the doubt of a mended file --------------------------------------------------------------------------------------


def test_the_doubt_of_a_mended_file_comes_back(tmp_path: Path) -> None:
    path = written(tmp_path, "a.ply", mended(BOX, QUADS))
    rows, notes = tables("mesh", path, *MM, code=3)["mesh"]
    assert rows[0]["usable"] == "with caution"
    assert notes[0] == "Usable as a cavity with caution: see the warning."
    assert warnings(path, *MM) == [f"Warning: {WARNED}"]
    assert load_cavity(path, "mm").warnings == (WARNED,)
    assert WARNED in " ".join(printed("levels", path, *MM).split())


def test_a_small_mend_is_no_doubt(tmp_path: Path) -> None:
    path = written(tmp_path, "a.ply", mended(BOX, QUADS, "comment mended from x.stl, its volume within 1 mL"))
    assert warnings(path, *MM, code=0) == []


def test_a_long_name_does_not_hide_the_doubt(tmp_path: Path) -> None:
    path = written(tmp_path, "a.ply", mended(BOX, QUADS, MENDED.replace("x.stl", "x" * 250 + ".stl")))
    assert len(warnings(path, *MM)) == 1


def test_mending_again_keeps_the_doubt(tmp_path: Path) -> None:
    path, new = written(tmp_path, "a.ply", mended(BOX, QUADS)), tmp_path / "b.ply"
    tables("mesh", path, *MM, "--mend", "--into", str(new), code=3)
    assert warnings(new, *MM) == [f"Warning: mended from a.ply, its volume within 0 mL; with caution: {WARNED}"]


def test_the_doubt_stands_in_every_table_of_the_tank_and_is_a_finding(tmp_path: Path) -> None:
    layout_of(tmp_path)
    sound = load_cavity(tmp_path / "header.off", "mm")
    written(tmp_path, "header.ply", mended((sound.vertices_m + sound.centre_m) * 1e3, sound.faces.tolist()))
    path = tmp_path / "bench.toml"
    path.write_text(path.read_text(encoding="utf-8").replace("header.off", "header.ply"), encoding="utf-8")
    layout = load_design(path)
    found = study(layout)
    tank = found.tank("header")
    made = [*unusable_tables.unusable(tank, Shown())[:1], *switches_tables.switches(tank, Shown())]
    made += [
        stick_tables.dipstick(one, stick, Shown()) for one, (stick,) in dipsticks(layout, "L") if one.name == "header"
    ]
    assert len(made) >= 2
    assert all(table.notes[0] == WARNED for table in made)
    assert not any(
        isinstance(note, Doubt)
        for table in unusable_tables.unusable(found.tank("main"), Shown())
        for note in table.notes
    )
    (doubt,) = [f for f in findings(found) if f.rule.name == "mesh-in-doubt" and f.where == "header"]
    assert (doubt.outcome.word, doubt.evidence) == ("caution", (WARNED,))


def test_the_doubt_of_a_body_in_a_tank_is_the_tanks(tmp_path: Path) -> None:
    written(tmp_path, "can.ply", mended(boxes(0.1, (100, 100, 100)), QUADS))
    layout = layout_of(tmp_path, {"tank.0.inside": [{"name": "can", "mesh": "can.ply"}]})
    assert layout.tanks[0].cavity.warnings == (f"can: {WARNED}",)


# --- bodies that overlap ---------------------------------------------------------------------------------------------


def test_a_body_that_was_left_out_and_reaches_in_is_said(tmp_path: Path) -> None:
    # 300 x 200 x 100 mm and the same moved by 200 along x: they share 100 x 200 x 100 mm, 2 L.
    path = written(
        tmp_path, "a.obj", obj(("left", boxes(1, (0, 0, 0)), QUADS), ("right", boxes(1, (200, 0, 0)), QUADS))
    )
    said = (
        'Warning: 2 "right" 6 L about (350, 100, 50) mm was left out and shares 2 L with it, about (250, 100, 50) mm:'
        " unite in CAD what makes up one tank"
    )
    assert warnings(path, *MM, "--body", "left") == [said]
    assert warnings(path, *MM, "--body", "left", command="capacity", code=0) == [said]


def test_bodies_that_touch_do_not_overlap(tmp_path: Path) -> None:
    path = written(
        tmp_path, "a.obj", obj(("left", boxes(1, (0, 0, 0)), QUADS), ("right", boxes(1, (300, 0, 0)), QUADS))
    )
    assert warnings(path, *MM, "--body", "left", code=0) == []


def test_an_open_body_that_may_reach_in_is_not_passed_over(tmp_path: Path) -> None:
    right = ("right", boxes(1, (200, 0, 0)), QUADS[1:])
    path = written(tmp_path, "a.obj", obj(("left", boxes(1, (0, 0, 0)), QUADS), right))
    assert warnings(path, *MM, "--body", "left") == [
        'Warning: not checked: whether 2 "right" open about (350, 100, 50) mm, which was left out, reaches into it'
    ]


# --- units and volumes -----------------------------------------------------------------------------------------------


def test_a_stated_unit_wins_over_that_of_glb(tmp_path: Path) -> None:
    path = written(tmp_path, "a.glb", mf.glb(BOX, TRIANGLES))
    assert warnings(path) == [
        "Warning: a cavity of 6,000,000,000 L is unusual for a light aircraft's tank: is the unit m right? State another if not."
    ]
    assert warnings(path, *MM) == ["Warning: GLB is in m by its standard; taken as mm because that was stated"]
    assert load_cavity(path, "mm").gross_m3 == pytest.approx(6e-3)
    assert warnings(path, "--unit", "mm", command="capacity", code=0) == warnings(path, *MM)


def test_a_unit_that_the_file_states_is_not_asked_for(tmp_path: Path) -> None:
    path = written(tmp_path, "a.3mf", mf.threemf(BOX * 1e-3, TRIANGLES, "millimeter"))
    assert warnings(path) == [
        "Warning: a cavity of 6e-06 mL is unusual for a light aircraft's tank: is the unit mm, which this 3MF file states,"
        " right? Export it again in the right one if not."
    ]


def test_an_odd_volume_is_usable_with_caution(tmp_path: Path) -> None:
    path = written(tmp_path, "a.stl", mf.stl_binary(BOX, TRIANGLES))
    rows, notes = tables("mesh", path, "--unit", "cm", code=3)["mesh"]  # 6000 L
    assert rows[0]["usable"] == "with caution"
    assert notes[0] == "Usable as a cavity with caution: see the warning."


def test_a_comments_unit_is_named(tmp_path: Path) -> None:
    path = written(tmp_path, "a.ply", mended(BOX, QUADS, "comment unit mm"))
    assert refusal("capacity", path) == (
        "a.ply: unit: PLY files do not say their unit; its comment says mm. Give --unit mm, if that is right."
    )


# --- far from the origin ---------------------------------------------------------------------------------------------


@pytest.mark.parametrize("kind", ["stl", "ply"])
def test_single_precision_far_from_the_origin_is_said(tmp_path: Path, kind: str) -> None:
    # Between 2^23 and 2^24 single-precision numbers are 1 apart. The box's area is 0.22 m2: times 1 mm, 220 mL.
    far = boxes(1, (1e7, 0, 0))
    data = mf.stl_binary(far, TRIANGLES) if kind == "stl" else mf.ply_binary(far, QUADS, "float")
    path = written(tmp_path, f"a.{kind}", data)
    assert warnings(path, *MM) == [
        "Warning: so far from the origin the file's single-precision numbers are 1 mm apart: its volume is known within"
        " 220 mL only. Move the body to the origin in CAD and export again."
    ]


def test_glb_is_single_precision_too(tmp_path: Path) -> None:
    path = written(tmp_path, "a.glb", mf.glb(np.round(BOX * 1e-3 * 1024) / 1024 + [1e4, 0, 0], TRIANGLES))
    assert warnings(path)[0].startswith(
        "Warning: so far from the origin the file's single-precision numbers are 0.00098 m apart"
    )


def test_double_precision_and_near_bodies_are_not_warned_of(tmp_path: Path) -> None:
    doubles = written(tmp_path, "a.ply", mf.ply_binary(boxes(1, (1e7, 0, 0)), QUADS, "double"))
    assert warnings(doubles, *MM, code=0) == []
    near = written(tmp_path, "a.stl", mf.stl_binary(boxes(1, (3e3, 0, 0)), TRIANGLES))
    assert warnings(near, *MM, code=0) == []


# --- what it says first ----------------------------------------------------------------------------------------------

FLAT = BOX * [1, 1, 0] @ np.array([[1.0, 0, 1], [0, 1, 0], [0, 0, 1]])


def test_a_flat_mesh_is_said_to_be_flat_and_nothing_else(tmp_path: Path) -> None:
    path = written(tmp_path, "a.stl", mf.stl_text(FLAT, TRIANGLES))
    assert tables("mesh", path, *MM, code=1)["mesh"][1][0] == "Not usable as a cavity: no volume: it is flat."
    said = "a.stl: no volume: it is flat. Export the tank's inside as a solid."
    assert refusal("capacity", path, *MM) == said
    assert refusal("mesh", path, *MM, "--mend", "--fill", "1 m", "--into", tmp_path / "b.ply") == said


def test_seams_are_told_from_holes_at_once(tmp_path: Path) -> None:
    lid = boxes(1, (0, 0, 0.01))[4:8]
    path = written(tmp_path, "a.off", mf.off(np.concatenate([BOX, lid]), [QUADS[0], *QUADS[2:], [8, 9, 10, 11]]))
    seams = 'Each open corner has another within 0.01 mm: seams and not holes; try {} "0.02 mm".'
    assert seams.format("--mend with --weld") in tables("mesh", path, *MM, code=1)["mesh"][1]
    assert refusal("capacity", path, *MM).endswith(seams.format("`fuelsys mesh FILE --mend` with --weld"))


def test_a_hole_is_no_seam(tmp_path: Path) -> None:
    path = written(tmp_path, "a.off", mf.off(BOX, QUADS[1:]))
    assert refusal("capacity", path, *MM).endswith(
        "Close the surface in CAD and export again; `fuelsys mesh FILE` shows where it is open."
    )
    assert "--fill" in refusal("mesh", path, *MM, "--mend", "--into", tmp_path / "b.ply")


def test_a_loose_sheet_is_not_to_be_filled(tmp_path: Path) -> None:
    sheet = boxes(0.5, (50, 50, 20))
    path = written(tmp_path, "a.obj", obj(("tank", BOX, QUADS), ("", sheet, QUADS[:1])))
    assert refusal("mesh", path, *MM, "--mend", "--into", tmp_path / "b.ply").endswith(
        "What is flat is a loose sheet, which cannot be closed: take it out or join it in CAD, or pick another body with --body."
    )


def test_double_faces_that_make_edges_crowded_are_not_called_usable(tmp_path: Path) -> None:
    path = written(tmp_path, "a.off", mf.off(BOX, [*TRIANGLES, TRIANGLES[0]]))
    meanings = {row["fault"]: row["meaning"] for row in tables("mesh", path, *MM, code=1)["faults"][0]}
    assert meanings["double face"] == "another face has the same three corners"


def test_a_wall_of_two_chambers(tmp_path: Path) -> None:
    chamber = BOX * [148.0 / 300, 196.0 / 200, 96.0 / 100] + [1, 2, 2]
    wall = np.concatenate([BOX, chamber, chamber + np.array([150, 0, 0])])
    faces = [
        *QUADS,
        *([i + 8 for i in face[::-1]] for face in QUADS),
        *([i + 16 for i in face[::-1]] for face in QUADS),
    ]
    path = written(tmp_path, "a.off", mf.off(wall, faces))
    # 148 x 196 x 96 mm, 2.785 L each, of 6 L.
    wanted = "Export each chamber's inside to a file of its own as a closed solid; chambers between which fuel passes, as one solid."
    assert refusal("capacity", path, *MM) == (
        "a.off: this looks like the tank's wall with 2 chambers and not its inside: 2.785 L and 2.785 L of 6 L are hollow."
        f" {wanted}"
    )
    said = refusal("mesh", path, *MM, "--mend", "--inside", "--into", tmp_path / "b.ply")
    assert said.startswith("a.off: it looks like the tank's wall with 2 inner shells of 2.785 L and 2.785 L, ")
    assert said.endswith(wanted)


def test_a_wall_with_both_shells_outward_names_the_way_out(tmp_path: Path) -> None:
    both = np.concatenate([BOX, BOX * [0.98, 0.98, 0.96] + [3, 2, 2]])
    path = written(tmp_path, "a.off", mf.off(both, [*QUADS, *([i + 8 for i in face] for face in QUADS)]))
    assert refusal("capacity", path, *MM).endswith(
        "`fuelsys mesh FILE --mend --inside --into NEW.ply` takes the inner shell."
    )


@pytest.mark.parametrize(
    ("name", "data", "said"),
    [
        (
            "a.obj",
            mf.stl_binary(BOX, TRIANGLES),
            "its content is STL and not OBJ, as its ending says. Give it the ending .stl.",
        ),
        (
            "a.stl",
            mf.obj(BOX, TRIANGLES),
            "its content is OBJ and not STL, as its ending says. Give it the ending .obj.",
        ),
        (
            "a.ply",
            mf.glb(BOX, TRIANGLES),
            "its content is GLB and not PLY, as its ending says. Give it the ending .glb.",
        ),
        (
            "a.obj",
            mf.stl_text(BOX, TRIANGLES),
            "its content is STL and not OBJ, as its ending says. Give it the ending .stl.",
        ),
    ],
)
def test_content_of_another_format_is_named(tmp_path: Path, name: str, data: bytes, said: str) -> None:
    assert refusal("capacity", written(tmp_path, name, data), *MM) == f"{name}: {said}"


# --- pictures --------------------------------------------------------------------------------------------------------


def drawn(folder: Path, name: str, data: bytes) -> str:
    path, picture = written(folder, name, data), folder / "p.svg"
    printed("mesh", path, *MM, "--picture", picture, code=1)
    return picture.read_text(encoding="utf-8")


def test_a_picture_marks_shells_where_they_are_the_fault(tmp_path: Path) -> None:
    both = np.concatenate([BOX, boxes(0.5, (50, 50, 20))])
    svg = drawn(tmp_path, "a.off", mf.off(both, [*QUADS, *([i + 8 for i in face] for face in QUADS)]))
    assert "shell 1 that faces outward, 6 L, its middle, near (150.0, 100.0, 50.0) mm" in svg
    assert "shell 2 that faces outward, 0.75 L, its middle, near (125.0, 100.0, 45.0) mm" in svg


def test_a_picture_of_a_flat_mesh_marks_nothing(tmp_path: Path) -> None:
    svg = drawn(tmp_path, "a.off", mf.off(BOX * [1, 1, 0], TRIANGLES))
    assert "no volume: it is flat" in svg
    assert "near (" not in svg
    assert "plan, from +z: x to the right" in svg


def test_a_picture_of_nothing_has_no_views(tmp_path: Path) -> None:
    svg = drawn(tmp_path, "a.obj", mf.obj(BOX, [[0, 0, 1]]))
    assert "there are no faces with an area in it" in svg
    assert "plan, from +z: x to the right" not in svg


def test_what_the_true_solid_held_is_not_said_of_a_mended_one() -> None:
    notes = (
        OfTheSolid("the true solid holds 6 L; its facets, made for 0.05 mm, hold the same"),
        "it holds a closed surface, not a solid",
    )
    faces = np.array(TRIANGLES, dtype=np.int32)
    whole = Surface("a.step", "mm", BOX, faces, notes)
    assert mend(whole, 0.0, 0.0).surface.notes == notes
    faces = np.concatenate([faces[:1, ::-1], faces[1:]])
    assert mend(Surface("a.step", "mm", BOX, faces, notes), 0.0, 0.0).surface.notes == notes[1:]
