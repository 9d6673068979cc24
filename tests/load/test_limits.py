"""Small files with large costs: each is read in one pass, or refused by what it would make, before any of it is made."""

from __future__ import annotations

import io
import os
import socket
import zipfile
from collections.abc import Callable
from pathlib import Path
from typing import Any

import meshfiles as mf
import numpy as np
import pytest
from bodyfiles import boxes, obj
from commands import run

from fuelsys.errors import MeshError
from fuelsys.kernels import crossings, surface
from fuelsys.kernels.boxes import next_around
from fuelsys.load import bounds
from fuelsys.load.formats import files, ply, scenes
from fuelsys.load.formats.raw import Choice
from fuelsys.load.meshes import mesh as health
from fuelsys.load.meshes import picking
from fuelsys.load.meshes.door import load_cavity
from fuelsys.model.found.mesh import Kind

ALONE = "Export the tank's inside alone."


def refused(path: Path, unit: str | None = None) -> str:
    with pytest.raises(MeshError) as fault:
        load_cavity(path, unit)
    return str(fault.value)


def made(folder: Path, name: str, data: bytes) -> Path:
    (folder / name).write_bytes(data)
    return folder / name


@pytest.fixture
def nothing_is_built(monkeypatch: pytest.MonkeyPatch) -> None:
    """The mesh library may not be asked."""

    def asked(*_: Any, **__: Any) -> None:
        pytest.fail("the scene was built")

    monkeypatch.setattr(scenes.trimesh, "load_scene", asked)


# --- copies ----------------------------------------------------------------------------------------------------------


def copies_3mf(number: int) -> bytes:
    return mf.threemf(mf.BOX_MM, mf.TRIANGLES, build='<item objectid="1"/>' * number)


def glb(number: int = 1, change: Callable[[dict[str, Any]], object] = lambda _: None) -> bytes:
    return mf.glb(mf.BOX, mf.TRIANGLES, [{"mesh": 0}] * number, range(number), change)


def primitives(header: dict[str, Any]) -> None:
    header["meshes"][0]["primitives"] *= 1000


def large(change: Callable[[dict[str, Any]], object]) -> bytes:
    """A box of 9.6 kB: its corners stand there a hundred times."""
    return mf.glb(np.tile(mf.BOX, (100, 1)), mf.TRIANGLES, change=change)


def views(header: dict[str, Any]) -> None:
    header["bufferViews"] *= 1000


def accessors(header: dict[str, Any]) -> None:
    header["accessors"] *= 1000


@pytest.mark.usefixtures("nothing_is_built")
@pytest.mark.parametrize(
    ("name", "data", "found"),
    [
        ("a.3mf", copies_3mf(1000), "12,000 faces with 8,000 corners are placed in it, copies counted"),
        ("a.glb", glb(1000), "12,000 faces with 8,000 corners are placed in it, copies counted"),
        ("a.glb", glb(1, primitives), "12,000 faces with 8,000 corners are placed in it, copies counted"),
        ("a.glb", glb(10_001), "1e+04 parts are placed in it, copies counted"),
        ("a.glb", large(views), "read out it would take 0.00974 GB, its parts counted"),
        ("a.glb", large(accessors), "read out it would take 0.00974 GB, its parts counted"),
    ],
    ids=["3MF items", "GLB nodes", "GLB primitives", "GLB nodes without number", "GLB views", "GLB accessors"],
)
def test_copies_are_counted_before_any_is_made(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, name: str, data: bytes, found: str
) -> None:
    monkeypatch.setattr(bounds, "MOST_FACES", 100)
    monkeypatch.setattr(bounds, "FACE_BYTES", 100)
    monkeypatch.setattr(bounds, "MOST_SMALL_BYTES", 10_000)
    assert refused(made(tmp_path, name, data)) == f"{name}: {found}. {ALONE}"


@pytest.mark.parametrize(("name", "data"), [("a.3mf", copies_3mf(1)), ("a.glb", glb())])
def test_what_the_file_itself_holds_is_read_whatever_the_bound(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, name: str, data: bytes
) -> None:
    monkeypatch.setattr(bounds, "MOST_FACES", 1)
    monkeypatch.setattr(bounds, "MOST_CORNERS", 1)
    assert load_cavity(made(tmp_path, name, data), None).gross_m3 == pytest.approx(6e-3, rel=1e-7)


@pytest.mark.usefixtures("nothing_is_built")
def test_a_3mf_that_has_another_file_read_again_and_again(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(bounds, "MOST_FACES", 100)
    parts = '<component objectid="1" p:path="/3D/part.model" xmlns:p="production"/>' * 500
    more = f'<object id="2" type="model"><components>{parts}</components></object><object id="3" type="model"/>'
    data = mf.threemf(
        mf.BOX_MM, mf.TRIANGLES, build='<item objectid="3"/>', more=more
    )  # what is not placed is read too
    said = refused(made(tmp_path, "a.3mf", data))
    assert said == f"a.3mf: 6,000 faces with 4,000 corners are placed in it, copies counted. {ALONE}"


@pytest.mark.usefixtures("nothing_is_built")
def test_a_3mf_that_unpacks_to_far_more_than_itself(tmp_path: Path) -> None:
    megabytes = bounds.MOST_SMALL_BYTES // 10**6 + 1
    path = made(tmp_path, "a.3mf", mf.zipped("<a/>" * 250_000 * megabytes))
    assert refused(path) == f"a.3mf: unpacked it would take {megabytes / 1e3:.3g} GB. Export a coarser mesh."


@pytest.mark.parametrize(("levels", "good"), [(bounds.MOST_DEEP, True), (bounds.MOST_DEEP + 2, False)])
def test_nodes_hang_on_each_other_over_so_many_levels(tmp_path: Path, levels: int, good: bool) -> None:
    nodes: list[dict[str, Any]] = [{"children": [k + 1]} for k in range(levels - 1)]
    path = made(tmp_path, "a.glb", mf.glb(mf.BOX, mf.TRIANGLES, [*nodes, {"mesh": 0}], (0,)))
    if good:
        assert load_cavity(path, None).gross_m3 == pytest.approx(6e-3, rel=1e-7)
    else:
        assert refused(path) == f"a.glb: its parts hang on each other over more than 100 levels. {ALONE}"


def test_corners_that_no_face_names_change_nothing(tmp_path: Path) -> None:
    far = np.concatenate([np.full((40, 3), 0.7), mf.BOX, np.full((100, 3), 0.9)])
    alone = load_cavity(made(tmp_path, "alone.glb", glb()), None)
    among = load_cavity(made(tmp_path, "among.glb", mf.glb(far, (np.array(mf.TRIANGLES) + 40).tolist())), None)
    assert np.array_equal(alone.vertices_m, among.vertices_m)
    assert np.array_equal(alone.faces, among.faces)
    with_others = files.read(tmp_path / "among.glb")
    assert len(with_others.vertices) == len(mf.BOX)


# --- what was quadratic ----------------------------------------------------------------------------------------------


def many_lists(number: int) -> bytes:
    """A binary PLY whose vertices have so many empty lists beside x, y and z."""
    lists = "".join(f"property list uchar uchar p{k}\n" for k in range(number))
    head = mf.ply_header("binary_little_endian", 8, 12).replace("element face", f"{lists}element face").encode()
    faces = mf.ply_binary(mf.BOX_MM, mf.TRIANGLES).partition(b"end_header\n")[2][8 * 24 :]
    return head + b"".join(row.astype("<f8").tobytes() + bytes(number) for row in mf.BOX_MM) + faces


def test_ten_thousand_lists_of_a_ply_are_put_together_once(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    puts: list[int] = []
    element, dtype = ply.Element, np.dtype

    def counted(*given: Any) -> ply.Element:
        puts.append(len(given[2]))
        return element(*given)

    def sized(fields: Any) -> Any:
        puts.append(len(fields) if isinstance(fields, list) else 1)
        return dtype(fields)

    monkeypatch.setattr(ply, "Element", counted)
    monkeypatch.setattr(ply.np, "dtype", sized)
    raw = ply.read_ply(many_lists(10_000))
    assert np.array_equal(raw.vertices, mf.BOX_MM)
    assert sum(puts) < 10 * 10_000  # 50 million when each list was put behind those before it


def rows_of(function: Callable[..., Any], monkeypatch: pytest.MonkeyPatch, name: str) -> list[int]:
    """How many rows each call of a function of kernels/surface.py was given from now on."""
    rows: list[int] = []

    def counted(vertices: Any, faces: Any) -> Any:
        rows.append(len(vertices) + len(faces))
        return function(vertices, faces)

    monkeypatch.setattr(surface, name, counted)
    return rows


def test_the_shells_of_a_file_are_measured_in_one_pass(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    rows = rows_of(surface.vector_areas, monkeypatch, "vector_areas")
    work = {}
    for number in (20, 200):
        parts = [(f"part {k}", boxes(1.0, (0.0, 0.0, 200.0 * k)), mf.QUADS) for k in range(number)]
        said = refused(made(tmp_path, "a.obj", obj(*parts)), "mm")
        assert said.startswith(f"a.obj: there are {number} separate bodies in it: ")
        work[number], rows[:] = sum(rows), []
    assert work[200] <= 10 * work[20]  # a hundred times where each shell looks at all corners


def test_volumes_of_shells_are_those_of_each_alone() -> None:
    chance = np.random.default_rng(1)
    vertices, faces = chance.normal(size=(50, 3)), chance.integers(0, 50, (400, 3)).astype(np.int32)
    label = chance.integers(0, 7, 400).astype(np.int32)
    held = surface.enclosed_volumes(vertices, faces, label, 7)
    assert held.tolist() == [surface.enclosed_volume(vertices, faces[label == k]) for k in range(7)]
    assert surface.enclosed_volumes(vertices[:0], faces[:0], label[:0], 0).tolist() == []


def test_the_next_box_around_a_box_is_the_one_that_comparing_all_gives() -> None:
    chance = np.random.default_rng(2)
    low = chance.integers(0, 4, (60, 3)).astype(np.float64)
    boxes = np.concatenate([low, -(low + chance.integers(1, 6, (60, 3)))], axis=1)
    met = 0
    for box in boxes:
        around = np.flatnonzero((boxes <= box).all(axis=1))
        for start in (0, 17, 59, 60):
            later = around[around >= start]
            assert next_around(box, boxes, start) == (later[0] if later.size else 60)
            met += later.size > 0
    assert met > 60


def test_of_very_many_bodies_that_may_reach_into_one_the_rest_is_a_doubt(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(bounds, "MOST_OVERLAPS", 1)
    parts = [(f"part {k}", boxes(1.0, (20.0 * k, 15.0 * k, 10.0 * k)), mf.QUADS) for k in range(4)]
    cavity = load_cavity(made(tmp_path, "a.obj", obj(*parts)), "mm", choice=Choice("part 0"))
    doubts = [str(warning) for warning in cavity.warnings]
    assert sum("shares" in doubt for doubt in doubts) == 1
    assert sum("not checked: whether 2 more bodies, which were left out, reach into it" in d for d in doubts) == 1


def test_of_copies_of_a_face_without_end_a_number_is_held_against_the_others(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    held: list[int] = []
    cross = crossings.crossings

    def counted(vertices: Any, faces: Any, *given: Any, **named: Any) -> Any:
        held.append(len(faces))
        return cross(vertices, faces, *given, **named)

    monkeypatch.setattr(crossings, "crossings", counted)
    through = np.array([[10.0, 10, -50], [20, 10, 50], [10, 20, 50]])  # a face that crosses the floor
    box = np.concatenate([mf.BOX_MM, through])
    found = {}
    for number in (3, 5000):
        path = made(tmp_path, "a.off", mf.off(box, [*mf.TRIANGLES * number, [8, 9, 10]]))
        faults = {fault.kind: fault for fault in health.examine(path, "mm").faults}
        found[number] = faults[Kind.CROSSING]
        assert faults[Kind.DOUBLE].count == 12 * (number - 1)
    assert held == [12 * 3 + 1, 12 * bounds.MOST_ALIKE + 1]
    assert (found[3].count, found[3].at_least) == (3, False)
    assert (found[5000].count, found[5000].at_least) == (bounds.MOST_ALIKE, True)


def test_bodies_deep_in_each_other_name_the_nearest_around_them(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(bounds, "MOST_DEEP", 3)
    middle = mf.BOX_MM.mean(axis=0)
    parts = [(f"part {k}", (mf.BOX_MM - middle) * (1.0 + k), mf.QUADS) for k in range(8)]
    found = picking.listing(files.reader(".obj")(obj(*parts)), "mm").bodies
    assert found[0].inside == (2, 3, 4)


# --- what is no file -------------------------------------------------------------------------------------------------


def test_a_link_to_a_device_a_socket_or_itself_is_refused_by_its_name(tmp_path: Path) -> None:
    given = files.GIVE
    (tmp_path / "zero.stl").symlink_to("/dev/zero")
    (tmp_path / "terminal.stl").symlink_to("/dev/tty")
    (tmp_path / "self.stl").symlink_to("self.stl")
    with socket.socket(socket.AF_UNIX) as end:
        before = Path.cwd()
        os.chdir(tmp_path)  # the name of a socket may not be long
        try:
            end.bind("end.stl")
        finally:
            os.chdir(before)
        for name in ("zero.stl", "terminal.stl", "end.stl"):
            assert refused(tmp_path / name, "mm") == f"{name}: this is not a regular file. {given}"
    assert refused(tmp_path / "self.stl", "mm").startswith("self.stl: the file cannot be read (")


def test_a_pipe_that_takes_the_place_of_a_file_is_not_waited_for(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    sound = made(tmp_path, "sound.stl", mf.stl_binary(mf.BOX_MM, mf.TRIANGLES)).stat()
    os.mkfifo(tmp_path / "a.stl")
    monkeypatch.setattr(Path, "stat", lambda _: sound)  # what it was when it was looked at
    assert refused(tmp_path / "a.stl", "mm") == f"a.stl: this is not a regular file. {files.GIVE}"


def test_a_file_that_changes_while_it_is_read(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path = made(tmp_path, "a.stl", mf.stl_binary(mf.BOX_MM, mf.TRIANGLES))
    look, looked = os.fstat, []

    def written_between(descriptor: int) -> os.stat_result:
        found = look(descriptor)
        if not looked:
            with path.open("ab") as file:
                file.write(b"more")
        looked.append(descriptor)
        return found

    monkeypatch.setattr(files.os, "fstat", written_between)
    assert refused(path, "mm") == "a.stl: the file changed while it was read. Ask again when it is written."


# --- as a person runs it ---------------------------------------------------------------------------------------------


def test_a_small_file_of_many_copies_ends_with_one_line(tmp_path: Path) -> None:
    made(tmp_path, "a.glb", glb(10_001))
    ran = run("capacity", "a.glb", folder=tmp_path)
    assert (ran.returncode, ran.stdout) == (2, "")
    assert ran.stderr == f"a.glb: 1e+04 parts are placed in it, copies counted. {ALONE}\n"


@pytest.mark.parametrize("kind", ["support", "solidsupport", "surface", "other"])
def test_what_is_placed_and_no_body_is_no_tank(tmp_path: Path, kind: str) -> None:
    made = mf.threemf(mf.BOX_MM, mf.TRIANGLES)
    with zipfile.ZipFile(io.BytesIO(made)) as archive:
        model = archive.read("3D/3dmodel.model").decode()
    path = tmp_path / "tank.3mf"
    path.write_bytes(mf.zipped(model.replace('type="model"', f'type="{kind}"')))
    with pytest.raises(MeshError, match=f'object "1" in it is of type "{kind}", which is no body to be made'):
        load_cavity(path, None)
    path.write_bytes(mf.zipped(model.replace(' type="model"', "")))
    assert load_cavity(path, None).gross_m3 == pytest.approx(6e-3)


@pytest.mark.parametrize("hollows", [bounds.MOST_NESTED - 1, bounds.MOST_NESTED])
def test_one_judge_of_many_hollows(tmp_path: Path, hollows: int) -> None:
    """A box of 300 x 200 x 100 mm with cubes of 2 mm in it."""
    small = mf.BOX * [2 / 0.3, 2 / 0.2, 2 / 0.1]
    places = [np.array([5.0 + 6 * (k % 20), 5.0 + 6 * (k // 20), 50.0]) for k in range(hollows)]
    vertices = np.concatenate([mf.BOX_MM, *(small + place for place in places)])
    inward = [face[::-1] for face in mf.TRIANGLES]
    faces = [*mf.TRIANGLES, *([i + 8 * (k + 1) for i in face] for k in range(hollows) for face in inward)]
    path = tmp_path / "tank.off"
    path.write_bytes(mf.off(vertices, faces))
    usable = not health.examine(path, "mm").why_not
    assert usable == (hollows < bounds.MOST_NESTED)
    if usable:
        assert load_cavity(path, "mm").gross_m3 == pytest.approx(6e-3 - hollows * 8e-9)
    else:
        with pytest.raises(MeshError, match="it has 201 closed surfaces"):
            load_cavity(path, "mm")
