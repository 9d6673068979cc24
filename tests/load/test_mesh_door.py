"""The mesh door: units and axes that do not fit, files that cannot be opened, and files changed at random."""

from __future__ import annotations

import os
from pathlib import Path

import meshfiles as mf
import numpy as np
import pytest
import solids

from fuelsys.errors import MeshError
from fuelsys.load import bounds
from fuelsys.load.formats import files
from fuelsys.load.meshes.door import load_cavity

BOX, TRIANGLES = mf.BOX_MM, mf.TRIANGLES
STL = mf.stl_text(BOX, TRIANGLES)
GLB = mf.glb(mf.BOX, TRIANGLES)
UNITS = "mm, cm, m, in, ft, um"


def refused(path: Path, unit: str | None = None, axes: str = "aft, right, up") -> str:
    """The one line with which a file is refused."""
    with pytest.raises(MeshError) as caught:
        load_cavity(path, unit, axes)
    assert isinstance(caught.value, MeshError)
    (line,) = caught.value.lines
    return line


# --- unit and axes ---------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("name", "data", "unit", "said"),
    [
        (
            "a.stl",
            STL,
            None,
            "STL files do not say their unit. State it, as the CAD export was set: mm, cm, m, in or ft.",
        ),
        ("a.stl", STL, "furlong", f'found the unit "furlong". Use one of {UNITS}.'),
        ("a.stl", STL, "", f'found the unit "". Use one of {UNITS}.'),
        (
            "a.3mf",
            mf.threemf(BOX, TRIANGLES, "inch"),
            "mm",
            "the unit was stated as mm, but this 3MF file is in in. Write in, or look again which file this is.",
        ),
    ],
    ids=["none", "unknown", "empty", "against a 3MF"],
)
def test_a_unit_that_is_missing_or_wrong(tmp_path: Path, name: str, data: bytes, unit: str | None, said: str) -> None:
    (tmp_path / name).write_bytes(data)
    assert refused(tmp_path / name, unit) == f"{name}: unit: {said}"


WORDS = 'Say where x, y and z point, such as "aft, right, up"'


@pytest.mark.parametrize(
    ("axes", "said"),
    [
        (
            "aft, left, up",
            'found "aft, left, up", which is left-handed: it would mirror the tank. Look again where each axis points in'
            " the CAD system; one of the three is the other way round.",
        ),
        ("aft, forward, up", f'found "aft, forward, up", where two axes lie along one line. {WORDS}.'),
        ("up, up, up", f'found "up, up, up", where two axes lie along one line. {WORDS}.'),
        (
            "aft, starboard, up",
            f'found "aft, starboard, up". {WORDS}; the words are aft, forward, right, left, up, down.',
        ),
        ("aft, right", f'found "aft, right". {WORDS}; the words are aft, forward, right, left, up, down.'),
        ("", f'found "". {WORDS}; the words are aft, forward, right, left, up, down.'),
    ],
)
def test_axes_that_are_no_rotation(tmp_path: Path, axes: str, said: str) -> None:
    (tmp_path / "a.stl").write_bytes(STL)
    assert refused(tmp_path / "a.stl", "mm", axes) == f"a.stl: axes: {said}"


@pytest.mark.parametrize("name", ["a.stl", "a.ply", "a.glb"])
def test_a_signalling_nan_is_told_as_any_other(tmp_path: Path, name: str) -> None:
    # Bits 7f800001: the kind of NaN that processors warn of when it is made double.
    single = {"a.stl": mf.stl_binary, "a.ply": lambda v, f: mf.ply_binary(v, f, "float"), "a.glb": mf.glb}[name]
    data = single(BOX, TRIANGLES).replace(np.float32(300.0).tobytes(), bytes.fromhex("0100807f"), 1)
    (tmp_path / name).write_bytes(data)
    said = refused(tmp_path / name, None if name == "a.glb" else "mm")
    assert said.startswith(f"{name}: 1 corner has a coordinate that is not finite or beyond reason, the first (nan, ")


# --- files -----------------------------------------------------------------------------------------------------------


def test_a_file_that_is_not_there(tmp_path: Path) -> None:
    path = tmp_path / "a.stl"
    assert refused(path, "mm") == f"a.stl: there is no such file. Check the path; looked for {path}."
    inside = tmp_path / "b.stl" / "a.stl"
    inside.parent.write_bytes(STL)
    assert refused(inside, "mm") == f"a.stl: there is no such file. Check the path; looked for {inside}."


def test_a_folder_is_no_file(tmp_path: Path) -> None:
    (tmp_path / "a.stl").mkdir()
    mend = "Give the mesh file that the CAD system exported."
    assert refused(tmp_path / "a.stl", "mm") == f"a.stl: this is a folder. {mend}"


def test_a_pipe_is_not_waited_for(tmp_path: Path) -> None:
    os.mkfifo(tmp_path / "a.stl")
    mend = "Give the mesh file that the CAD system exported."
    assert refused(tmp_path / "a.stl", "mm") == f"a.stl: this is not a regular file. {mend}"


def test_a_file_that_may_not_be_read(tmp_path: Path) -> None:
    if os.geteuid() == 0:
        pytest.skip("the administrator may read all")
    (tmp_path / "a.stl").write_bytes(STL)
    (tmp_path / "a.stl").chmod(0)
    assert (
        refused(tmp_path / "a.stl", "mm")
        == "a.stl: the file cannot be read (Permission denied). Check the path and its permissions."
    )


def test_a_name_too_long_for_any_file(tmp_path: Path) -> None:
    name = "a" * 300 + ".stl"
    assert (
        refused(tmp_path / name, "mm")
        == f"{name}: the file cannot be read (File name too long). Check the path and its permissions."
    )


def test_an_endless_name_fits_in_a_line_and_a_folder_is_named(tmp_path: Path) -> None:
    assert len(refused(tmp_path / ("a" * 5000 + ".stl"), "mm")) < 800
    with pytest.raises(MeshError, match=r"^\.: this is a folder\."):
        files.contents(Path(), "Give a file.")


def test_a_name_with_control_characters_is_told_on_one_line(tmp_path: Path) -> None:
    said = refused(tmp_path / "a\n\x1b\0.stl", "mm")
    assert said.startswith("a\\x0a\\x1b\\x00.stl: there is no such file.")


def test_a_file_too_large_is_not_read(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    with (tmp_path / "a.stl").open("wb") as file:
        file.truncate(bounds.MOST_MESH_BYTES + 1)  # takes no room: the file has a hole
    assert refused(tmp_path / "a.stl", "mm") == "a.stl: the file has 2147.5 MB. At most 2147.5 MB are read."


def test_a_zip_that_unpacks_beyond_reason_is_not_unpacked(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(bounds, "MOST_UNPACKED_BYTES", 10**6)
    (tmp_path / "a.3mf").write_bytes(mf.zipped(" " * 2 * 10**6))
    assert refused(tmp_path / "a.3mf") == "a.3mf: unpacked it would take 0.002 GB. Export a coarser mesh."


def test_entities_of_a_3mf_are_not_followed(tmp_path: Path) -> None:
    (tmp_path / "secret.txt").write_text("1")
    entity = f'<!DOCTYPE model [<!ENTITY e SYSTEM "{(tmp_path / "secret.txt").as_uri()}">]>'
    model = f'{entity}<model xmlns="{mf.CORE}"><resources><object id="&e;"/></resources><build/></model>'
    (tmp_path / "a.3mf").write_bytes(mf.zipped(model))
    mend = "Export it again as 3MF, or give it the ending of what it is."
    assert refused(tmp_path / "a.3mf") == f"a.3mf: the file cannot be read as 3MF. {mend}"


# --- anything at all -------------------------------------------------------------------------------------------------

VERTICES, FACES = solids.l_tank()
WHOLE = {
    "text.stl": mf.stl_text(VERTICES, FACES.tolist()),
    "binary.stl": mf.stl_binary(VERTICES, FACES.tolist()),
    "a.obj": mf.obj(VERTICES, FACES.tolist()),
    "a.off": mf.off(VERTICES, FACES.tolist()),
    "text.ply": mf.ply_text(VERTICES, FACES.tolist()),
    "binary.ply": mf.ply_binary(VERTICES, FACES.tolist()),
    "a.glb": mf.glb(VERTICES, FACES.tolist()),
    "a.3mf": mf.threemf(VERTICES, FACES.tolist(), "meter"),
}


@pytest.mark.parametrize("name", WHOLE)
def test_whatever_is_done_to_a_file_it_is_read_or_refused(tmp_path: Path, name: str) -> None:
    random = np.random.default_rng(5)
    whole, path, said = WHOLE[name], tmp_path / name, []
    for trial in range(60):
        data = bytearray(whole)
        if trial % 3 == 0:
            data = data[: random.integers(len(data))]
        for _ in range(trial % 3):
            data[random.integers(len(data))] = random.integers(256)
        path.write_bytes(data)
        try:
            load_cavity(path, None if name.endswith(("glb", "3mf")) else "m")
        except MeshError as fault:
            said.append(str(fault))
    assert said
    assert not [line for line in said if "\n" in line or "Error" in line or not line.startswith(f"{name}: ")]
