"""What `fuelsys mesh` and its neighbours say: one place and one count for one fault, cautions, files, units, exactly."""

from __future__ import annotations

import errno
import json
import os
import re
from pathlib import Path
from typing import Any

import commands
import meshfiles as mf
import numpy as np
import pytest
import solids
from click.testing import CliRunner, Result
from manifold3d import Manifold
from surfaces import BOX, box_with, surface, written

from fuelsys import units
from fuelsys.errors import FuelsysError, MeshError, OutputError
from fuelsys.load.meshes.door import load_cavity
from fuelsys.load.meshes.mending import mend
from fuelsys.load.meshes.mesh import examine
from fuelsys.model.found.mesh import Kind
from fuelsys.report import files
from fuelsys_cli.capacity import command as capacity
from fuelsys_cli.mesh import command


def run(*words: object, code: int = 0) -> Result:
    done = CliRunner().invoke(command, [str(word) for word in words])
    if done.exception is not None and not isinstance(done.exception, SystemExit):
        raise done.exception
    assert done.exit_code == code, done.output
    return done


def refused(*words: object) -> str:
    with pytest.raises(FuelsysError) as caught:
        run(*words)
    return str(caught.value)


# --- one place, one count --------------------------------------------------------------------------------------------

# Two triangles of two sides that share one corner alone: two holes, not one.
TWO_HOLES = box_with(without=(0, 8))


def places(text: str) -> list[str]:
    return re.findall(r"near (\([^)]*\))", text)


@pytest.mark.parametrize(
    ("solid", "kind"),
    [
        pytest.param(box_with(without=(0,)), Kind.OPEN, id="open"),
        pytest.param(box_with(turned=(4,)), Kind.TWISTED, id="twisted"),
        pytest.param(box_with(more=BOX[1][4:6]), Kind.CROWDED, id="crowded"),
    ],
)
def test_all_commands_name_an_edge_by_its_middle(tmp_path: Path, solid: solids.Solid, kind: Kind) -> None:
    path = written(tmp_path, (solid[0] * 1e3, solid[1]))
    fault = examine(path, "mm").fault(kind)
    assert fault is not None
    ends = fault.lines_m[0] * 1e3
    with pytest.raises(MeshError) as caught:
        load_cavity(path, "mm")
    middle = ends.mean(axis=0) + 0.0
    assert "the middle of the first near" in str(caught.value)
    assert places(str(caught.value)) == ["({:.6g}, {:.6g}, {:.6g})".format(*middle)]
    assert not any(np.allclose(middle, end) for end in ends)


def test_holes_are_counted_alike(tmp_path: Path) -> None:
    path = written(tmp_path, TWO_HOLES)
    found = examine(path, "m")
    assert found.n_rims == 2
    assert [rim.edges for rim in found.rims] == [3, 3]
    said = refused(path, "--unit", "m", "--mend", "--into", tmp_path / "b.ply")
    assert said == (
        f"a.ply: 2 holes are open, and none may be closed, the largest {found.rims[0].size_m:.4g} m across with 3 corners, near"
        " ({:.6g}, {:.6g}, {:.6g}) m. ".format(*found.rims[0].place_m)
        + "Close the surface in CAD and export again. Or, where the wall goes straight across, have holes of this size closed"
        ' too: --fill "2.3 m".'
    )
    shown = run(path, "--unit", "m", code=1).stdout
    assert "as --mend counts holes" in shown


def test_holes_of_a_body_with_turned_faces_are_counted_alike(tmp_path: Path) -> None:
    found = examine(written(tmp_path, box_with(without=(0, 8), turned=(4,))), "m")
    assert found.n_rims == 2


def test_where_faces_do_not_fit_together_open_edges_hang_together(tmp_path: Path) -> None:
    found = examine(written(tmp_path, box_with(without=(0, 8), more=BOX[1][2:3])), "m")
    assert found.n_rims == 1


def test_the_size_that_is_named_closes_the_hole(tmp_path: Path) -> None:
    path = written(tmp_path, (BOX[0] / 0.0254, box_with(without=(0,))[1]))
    said = refused(path, "--unit", "inches", "--mend", "--into", tmp_path / "b.ply")
    (size,) = re.findall(r'--fill "([^"]*)"\.$', said)
    assert size == "89 in"  # the diagonal of 2 m by 1 m, 88.03 in
    run(path, "--unit", "inches", "--mend", "--fill", size, "--into", tmp_path / "b.ply", code=3)


def test_a_hole_of_too_many_corners_is_said_to_be_one(tmp_path: Path) -> None:
    vertices, faces = solids.from_manifold(Manifold.cylinder(0.2, 0.1, circular_segments=320))
    floor = np.isclose(vertices[faces][:, :, 2], vertices[:, 2].min()).all(axis=1)
    path = written(tmp_path, (vertices, faces[~floor]))
    words = (path, "--unit", "m", "--mend", "--into", tmp_path / "b.ply")
    assert "--fill" not in refused(*words)
    said = refused(*words, "--fill", "1 m")
    assert said.startswith("a.ply: 1 hole has more than the 300 corners that are closed at most, the first near (")


# --- doubt -----------------------------------------------------------------------------------------------------------


def test_a_mend_in_doubt_is_said_and_ends_with_3(tmp_path: Path) -> None:
    path = written(tmp_path, box_with(without=(0,)))
    new = tmp_path / "b.ply"
    words = (path, "--unit", "m", "--mend", "--fill", "3 m", "--into", new)
    shown = run(*words, code=3).stdout
    # The rim's ball: its corners (0, 0), (2, 0), (2, 1) have the mean (4/3, 1/3), the first is sqrt(17)/3 away; of 1 m3.
    within = 4.0 / 3.0 * np.pi * (17.0 / 9.0) ** 1.5
    caution = "its volume is not known, what was mended may be more than all of it"
    assert f"Warning: {caution}. Close the large holes in CAD" in " ".join(shown.split())
    assert f"Usable as a cavity with caution: {caution}." in " ".join(shown.split())
    assert "with caution  " in shown
    assert "e+" not in shown
    kept = load_cavity(new, "m").notes
    assert f"mended from a.ply, its volume within {within * 1e3:.5g} L; with caution: {caution}" in kept


def test_a_mend_in_some_doubt_says_how_much(tmp_path: Path) -> None:
    vertices, faces = solids.sphere(0.2, 24, 12)
    corner = int(np.abs(vertices[:, 2]).argmin())
    opened = vertices, faces[~(faces == corner).any(axis=1)]
    found = mend(surface(opened), 0.0, 0.2)
    assert found.health.volume_m3 is not None
    share = found.within_m3 / found.health.volume_m3
    assert 0.01 < share < 1.0
    assert found.health.caution == f"what was mended may be up to {share * 100.0:.3g} % of its volume"
    small = mend(surface((vertices, faces[1:])), 0.0, 0.2)
    assert small.health.caution == ""
    assert small.health.verdict == "usable as a cavity"


# --- what goes where -------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["--mend", "out.stl"], "--mend needs a new PLY file to write: add --into out.ply."),
        (["--mend"], "--mend needs a new PLY file to write: add --into a-mended.ply."),
        (["b.stl"], "One mesh at a time: what is b.stl?"),
        (["--into", "b.ply"], "--into needs --mend."),
        (["--mend", "--into", "b.stl"], "The mended mesh is written as PLY: name it b.ply."),
        (["--picture", "b.gif"], '--picture: "b.gif" is neither a .png nor a .svg file.'),
    ],
    ids=lambda value: " ".join(value) if isinstance(value, list) else "",
)
def test_options_that_do_not_fit(tmp_path: Path, words: list[str], said: str) -> None:
    path = written(tmp_path, BOX)
    done = run(path, "--unit", "m", *words, code=2)
    assert done.stderr.endswith(f"Error: {said}\n")
    assert os.listdir(tmp_path) == ["a.ply"]


@pytest.mark.parametrize(("name", "begins"), [("p.png", b"\x89PNG\r\n\x1a\n"), ("p.SVG", b"<svg")])
def test_pictures_are_of_either_kind_and_said(tmp_path: Path, name: str, begins: bytes) -> None:
    picture, path = tmp_path / name, written(tmp_path, box_with(without=(0,)))
    done = run(path, "--unit", "m", "--picture", picture, "--form", "json", code=1)
    assert begins in picture.read_bytes()[:200]
    assert done.stderr == f"wrote {picture}\n"
    assert json.loads(done.stdout)["tables"][0]["key"] == "mesh"


def test_a_mended_mesh_is_said(tmp_path: Path) -> None:
    new = tmp_path / "b.ply"
    assert run(written(tmp_path, BOX), "--unit", "m", "--mend", "--into", new).stderr == f"wrote {new}\n"


@pytest.mark.parametrize("words", [["map"], ["place", "--search", "300 mm", "--reserve", "30 min"]], ids=lambda w: w[0])
def test_sweeps_say_what_they_wrote(tmp_path: Path, words: list[str]) -> None:
    name, *more = words
    more = more or ["--steps", "2"]
    done = commands.run(
        name, str(commands.DEMO), "--tank", "left", *more, "--picture", "p.svg", "--form", "json", folder=tmp_path
    )
    assert done.returncode == 0, done.stderr
    assert done.stderr == "wrote p.svg\n"
    assert json.loads(done.stdout)["tables"]


# --- places that cannot be written -----------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("name", "said"),
    [
        ("none/b.png", '{}: there is no folder "{}". Make it first, or give another.'),
        ("a.ply/b.png", "{}: a part of this path is a file, not a folder. Give a folder that is there."),
        ("there.png", "{}: this is a folder. Give the name of a file."),
        (f"{'b' * 300}.png", "{}: its name is too long. Give a shorter one."),
        (f"{'b' * 245}.png", "{}: its name is too long. Give a shorter one."),
    ],
    ids=["no folder", "a file", "a folder", "long", "long with what is added"],
)
def test_what_cannot_be_written_is_named_as_typed(tmp_path: Path, name: str, said: str) -> None:
    (tmp_path / "there.png").mkdir()
    path = written(tmp_path, BOX)
    assert refused(path, "--unit", "m", "--picture", tmp_path / name) == said.format(
        tmp_path / name, (tmp_path / name).parent
    )


@pytest.mark.parametrize(
    ("number", "said"),
    [
        (errno.EACCES, "you may not write there. Give a folder that you may write to."),
        (errno.EPERM, "you may not write there. Give a folder that you may write to."),
        (errno.EROFS, "nothing can be written on that disk. Give a folder on another one."),
        (errno.ENOSPC, "the disk is full. Make room on it, or give a folder on another one."),
        (errno.EIO, "it cannot be written (Input/output error). Give a folder that you may write to."),
    ],
)
def test_each_reason_has_its_words(monkeypatch: pytest.MonkeyPatch, tmp_path: Path, number: int, said: str) -> None:
    def refuse(*_: object) -> None:
        raise OSError(number, os.strerror(number))

    monkeypatch.chdir(tmp_path)
    monkeypatch.setattr(files.Path, "write_bytes", refuse)
    with pytest.raises(OutputError) as caught:
        files.write_file(Path("b.png"), "b", replace=False)
    assert str(caught.value) == f"b.png: {said}"


def test_a_folder_in_which_nothing_can_be_made_is_not_said_to_be_missing(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    """As in /proc, where the system says of a new file that there is no such folder."""

    def refuse(*_: object) -> None:
        raise FileNotFoundError(errno.ENOENT, os.strerror(errno.ENOENT))

    monkeypatch.setattr(files.Path, "write_bytes", refuse)
    with pytest.raises(OutputError) as caught:
        files.write_file(tmp_path / "b.png", "b", replace=False)
    assert caught.value.found == f'nothing can be written in "{tmp_path}"'


def test_a_folder_that_may_not_be_written_is_known_before_long_work(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    monkeypatch.setattr(files.os, "access", lambda *_: False)
    monkeypatch.chdir(tmp_path)
    with pytest.raises(OutputError) as caught:
        files.check_free(Path("b.png"), replace=True)
    assert str(caught.value) == "b.png: you may not write there. Give a folder that you may write to."


# --- units -----------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("text", "kind", "same"),
    [
        ("12 inches", "length", "12 in"),
        ("1 Inch", "length", "1 in"),
        ("3 feet", "length", "3 ft"),
        ("3 millimetres", "length", "3 mm"),
        ("3 meters", "length", "3 m"),
        ("5 µm", "length", "5 um"),
        ("5 litres/hour", "flow", "5 L/h"),
        ("9 US gallons/hour", "flow", "9 US gal/h"),
        ("9 imperial gallons", "volume", "9 imp gal"),
        ("30 minutes", "time", "30 min"),
        ("9 degrees", "angle", "9 deg"),
        ("60 1/inch", "mesh", "60 1/in"),
        ("2 percent", "share", "2 %"),
        ("6 pounds/US gallon", "density", "6 lb/US gal"),
    ],
)
def test_common_spellings_are_the_same_unit(text: str, kind: str, same: str) -> None:
    assert units.parse(text, kind) == units.parse(same, kind)
    assert units.split(text, kind)[1] == units.split(same, kind)[1]


@pytest.mark.parametrize(
    ("text", "kind"),
    [
        ("12 MM", "length"),
        ("5 gallons", "volume"),
        ("5 gallons/hour", "flow"),
        ("0.3 grams", "acceleration"),
        ("12 inch inch", "length"),
        ("5 litres", "length"),
    ],
)
def test_other_words_stay_no_units(text: str, kind: str) -> None:
    with pytest.raises(units.UnitError):
        units.parse(text, kind)


def test_a_mesh_takes_its_unit_by_any_spelling(tmp_path: Path) -> None:
    path = written(tmp_path, BOX)
    shown = [
        CliRunner().invoke(capacity, [str(path), "--unit", unit, "--form", "csv"]).output
        for unit in ("in", "inches", "Inch")
    ]
    assert "[in]" in shown[0]
    assert shown[1:] == shown[:1] * 2
    with pytest.raises(MeshError) as caught:
        load_cavity(path, "cubits")
    assert str(caught.value) == 'a.ply: unit: found the unit "cubits". Use one of mm, cm, m, in, ft, um.'


# --- GLB -------------------------------------------------------------------------------------------------------------


def test_meshes_outside_the_default_scene_are_told(tmp_path: Path) -> None:
    def more(header: dict[str, Any]) -> None:
        header["meshes"] += [{**header["meshes"][0], "name": "spare"}] * 1
        header["nodes"] += [{"mesh": 0, "name": "rib"}, {"children": [3]}, {"mesh": 0}]
        header["scenes"] += [{"nodes": [2]}]

    (tmp_path / "a.glb").write_bytes(mf.glb(mf.BOX, mf.TRIANGLES, change=more))
    assert load_cavity(tmp_path / "a.glb", None).notes == (
        "3 meshes of the file are not in its default scene and were left out: rib, mesh 0, spare",
    )
    (tmp_path / "b.glb").write_bytes(mf.glb(mf.BOX, mf.TRIANGLES))
    assert load_cavity(tmp_path / "b.glb", None).notes == ()


def test_a_long_list_of_meshes_says_how_many_more(tmp_path: Path) -> None:
    def more(header: dict[str, Any]) -> None:
        header["nodes"] += [{"mesh": 0, "name": f"rib {k}"} for k in range(9)]

    (tmp_path / "a.glb").write_bytes(mf.glb(mf.BOX, mf.TRIANGLES, change=more))
    (note,) = load_cavity(tmp_path / "a.glb", None).notes
    assert note.endswith("left out: rib 0, rib 1, rib 2, rib 3, rib 4, rib 5 and 3 more")
