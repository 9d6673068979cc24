"""The design file to start from: every field is in it, every blank is told, and once filled it is a design."""

from __future__ import annotations

import json
import os
import re
import tomllib
from collections.abc import Iterator
from pathlib import Path
from typing import Any, get_args

import meshfiles as mf
import pytest

from fuelsys.errors import DesignError, MeshError
from fuelsys.load.designs.door import load_design
from fuelsys.load.designs.starter import starter, starters
from fuelsys.model.built.layout import Layout
from fuelsys.model.stated.design import Design
from fuelsys.model.stated.records import Record, file_key
from fuelsys.model.words import Doubt

# What a person would write for the box of 300 x 200 x 100 mm, in the order of the blanks.
FILLED = [
    "two-seat taildragger", "firewall", "aft, right, up", "piston", "gravity",  # the aircraft
    "avgas", "0.72 kg/L", "cruise", "36 L/h", "30 L/h", "21 L/h",  # fuel and flows
    "11 deg", "1 deg", "14 deg", "-6 deg", "7 deg", "-7 deg",  # attitudes
    ["350 mm", "0 mm", "900 mm"], ["299 mm", "100 mm", "5 mm"], "8 mm",  # the tank and its outlet
    ["1 mm", "100 mm", "99 mm"], "8 mm", ["100 mm", "100 mm", "100 mm"], ["0 mm", "0 mm", "0 mm"],  # vent, filler, drain
]  # fmt: skip
BLANK = re.compile(r'"FILL IN: [^"]*"')


@pytest.fixture
def mesh(tmp_path: Path) -> Path:
    path = tmp_path / "left.off"
    path.write_bytes(mf.off(mf.BOX_MM, mf.QUADS))
    return path


def load(folder: Path, text: str, *, as_drawn: bool = False) -> Layout:
    (folder / "wing.toml").write_text(text, encoding="utf-8")
    return load_design(folder / "wing.toml", as_drawn=as_drawn)


def fill(text: str) -> str:
    values = iter(FILLED)
    return BLANK.sub(lambda _: json.dumps(next(values)), text)


def uncommented(text: str) -> str:
    """With the fields that stand behind a # without a blank."""
    return re.sub(r"^#(?=[a-z\[])", "", text, flags=re.MULTILINE)


def test_every_blank_is_one_clear_fault(mesh: Path) -> None:
    text = starter(mesh, "mm", "aft, right, up")
    blanks = [line for line in text.splitlines() if BLANK.search(line)]
    with pytest.raises(DesignError) as caught:
        load(mesh.parent, text)
    lines = caught.value.lines
    assert len(lines) == len(blanks) == len(FILLED)
    for line, blank in zip(lines, blanks, strict=True):  # in the file's order
        key, wanted = re.fullmatch(r'(\w+) = "FILL IN: (.*)"', blank).groups()  # type: ignore[union-attr]
        assert re.fullmatch(rf"wing\.toml: [^:]*\.{key}: still to be filled in\. Give {re.escape(wanted)}\.", line)


def test_no_mesh_says_which_way_it_lies(mesh: Path) -> None:
    text = starter(mesh, "mm", None)
    wanted = "where x (300 mm long), y (200 mm) and z (100 mm) of the mesh point, such as aft, right, up"
    assert f'axes = "FILL IN: {wanted}"' in text
    assert text.count(' = "FILL IN: ') == len(FILLED) + 1 == 25  # as README says
    assert '# Its lowest corner with the aircraft level: if z points up, ["0 mm", "0 mm", "0 mm"]' in text
    with pytest.raises(DesignError) as caught:
        load(mesh.parent, text)
    assert f"wing.toml: tank left.axes: still to be filled in. Give {wanted}." in caught.value.lines


def test_with_its_blanks_filled_it_is_a_design(mesh: Path) -> None:
    layout = load(mesh.parent, fill(starter(mesh, "mm", "aft, right, up")))
    (tank,) = layout.tanks
    assert (tank.name, tank.design.mesh, tank.design.unit, tank.design.axes) == (
        "left",
        "left.off",
        "mm",
        "aft, right, up",
    )
    assert list(tank.spots) == ["outlet", "vent", "filler", "drain"]
    assert [a.name for a in layout.design.envelope if a.normal] == ["parked", "cruise"]


def test_with_all_its_fields_uncommented_it_is_a_design(mesh: Path) -> None:
    text = uncommented(fill(starter(mesh, "mm", "aft, right, up")))
    text, taken_out = re.subn(r'^tolerance = "0.05 mm" .*STEP.*\n', "", text, flags=re.MULTILINE)  # facets take none
    assert taken_out == 2
    text = re.sub(r"^wall = .*\n", "", text, flags=re.MULTILINE)  # the mesh here is the inside
    (mesh.parent / "baffle.stl").write_bytes(mf.stl_text(mf.BOX_MM / 10.0 + 50.0, mf.TRIANGLES))
    layout = load(mesh.parent, text, as_drawn=True)
    assert layout.lines[0].points_m.shape == (3, 3)


def records(annotation: Any) -> Iterator[type[Record]]:
    if isinstance(annotation, type) and issubclass(annotation, Record):
        yield annotation
    for inner in get_args(annotation):
        yield from records(inner)


def missing(record: type[Record], tables: list[dict[str, Any]], place: str = "") -> Iterator[str]:
    """Fields of a record that none of the tables has."""
    for name, info in record.model_fields.items():
        key = file_key(name)
        found = [table[key] for table in tables if key in table]
        if not found:
            yield f"{place}.{key}"
        inner = [table for value in found for table in (value if isinstance(value, list) else [value])]
        for kind in records(info.annotation):
            yield from missing(kind, inner, f"{place}.{key}")


def test_every_field_of_a_design_is_in_it(mesh: Path) -> None:
    tables = tomllib.loads(uncommented(starter(mesh, "mm", "aft, right, up")))
    assert list(missing(Design, [tables])) == []


def test_every_field_has_a_line_of_words(mesh: Path) -> None:
    """In itself (a blank), behind a #, or above it as the table's own words; but for those whose key says it all."""
    plain = {
        "name",
        "phase",
        "normal",
        "mesh",
        "kind",
        "position",
        "bore",
        "top",
        "bottom",
        "from",
        "to",
        "tank",
        "flow",
    }
    for line in starter(mesh, "mm", "aft, right, up").splitlines():
        field = re.fullmatch(r"#?(\w+) = (.*)", line)
        if field and field[1] not in plain:
            assert "FILL IN" in field[2] or "  # " in field[2], line


def test_what_the_mesh_tells_is_filled_in(tmp_path: Path) -> None:
    # 12 x 8 x 4 in: 384 in3 of 16.387064 mL (the cube of 2.54 cm) are 6.2926 L. Axes forward, right, down: the file's
    # greatest z is the lowest.
    inches = mf.BOX / mf.BOX.max(axis=0) * [12, 8, 4]
    (tmp_path / "wing tank.v2.obj").write_bytes(mf.obj(inches, mf.QUADS))
    text = starter(tmp_path / "wing tank.v2.obj", "in", "forward, right, down")
    assert "# A tank is the closed inside surface of its mesh: 6.293 L gross as meshed.\n" in text
    assert "# The mesh spans x 0 to 12 in, y 0 to 8 in, z 0 to 4 in.\n" in text
    assert '# Its lowest corner with the aircraft level: ["0 in", "0 in", "4 in"]\n' in text
    tables = tomllib.loads(text)["tank"][0]
    assert [tables[key] for key in ("name", "mesh", "unit", "axes")] == [
        "wing tank-v2", "wing tank.v2.obj", "in", "forward, right, down",
    ]  # fmt: skip


def test_how_large_a_tank_is_stands_in_the_terminal(mesh: Path) -> None:
    # 300 x 200 x 100 mm are 6 L; the same figures in centimetres 6000 L, which no light aircraft's tank holds.
    assert starters([mesh], "mm", None)[1] == ("left: 6 L gross as meshed, x 300, y 200, z 100 mm",)
    size, doubt = starters([mesh], "cm", None)[1]
    assert size == "left: 6000 L gross as meshed, x 300, y 200, z 100 cm"
    assert (
        doubt
        == "a cavity of 6,000 L is unusual for a light aircraft's tank: is the unit cm right? State another if not."
    )
    assert isinstance(doubt, Doubt)


def test_the_path_is_that_from_the_design_files_folder(mesh: Path) -> None:
    below = mesh.parent / "designs" / "two"
    below.mkdir(parents=True)
    text = starter(mesh, "mm", "aft, right, up", below)
    assert tomllib.loads(text)["tank"][0]["mesh"] == "../../left.off"
    assert len(load(below, fill(text)).tanks) == 1


def test_a_format_with_a_unit_needs_none(tmp_path: Path) -> None:
    (tmp_path / "left.glb").write_bytes(mf.glb(mf.BOX, mf.TRIANGLES))
    assert tomllib.loads(starter(tmp_path / "left.glb", None, "aft, right, up"))["tank"][0]["unit"] == "m"


def test_a_name_with_quotes_and_the_like_is_kept(tmp_path: Path) -> None:
    name = 'le"ft\\ \t\x7f é.off'
    (tmp_path / name).write_bytes(mf.off(mf.BOX_MM, mf.QUADS))
    assert tomllib.loads(starter(tmp_path / name, "mm", "aft, right, up"))["tank"][0]["mesh"] == name


def refused(mesh: Path, unit: str | None = "mm", axes: str = "aft, right, up") -> str:
    with pytest.raises(MeshError) as caught:
        starter(mesh, unit, axes)
    return str(caught.value)


def test_what_is_no_cavity_begins_no_design(tmp_path: Path, mesh: Path) -> None:
    (tmp_path / "open.off").write_bytes(mf.off(mf.BOX_MM, mf.QUADS[1:]))
    assert refused(tmp_path / "open.off").startswith("open.off: 4 edges do not join two faces")
    state = "State it, as the CAD export was set: mm, cm, m, in or ft."
    assert refused(mesh, None) == f"left.off: unit: OFF files do not say their unit. {state}"
    assert refused(mesh, axes="left, right, up").startswith('left.off: axes: found "left, right, up", where two axes')


def test_a_name_that_is_not_text_cannot_be_written(tmp_path: Path) -> None:
    path = Path(os.fsdecode(os.fsencode(tmp_path) + b"/left\xff.off"))
    try:
        path.write_bytes(mf.off(mf.BOX_MM, mf.QUADS))
    except OSError:
        pytest.skip("this file system takes no such names")
    said = "its path is not UTF-8 text, and a design file cannot name it. Rename the file or its folder."
    assert refused(path) == f"left\\xff.off: {said}"


def test_several_meshes_make_one_design(mesh: Path) -> None:
    other = mesh.with_name("header.off")
    other.write_bytes(mesh.read_bytes())
    again = mesh.parent / "more"
    again.mkdir()
    (again / "left.off").write_bytes(mesh.read_bytes())
    text, _ = starters([mesh, other, again / "left.off"], "mm", "aft, right, up", mesh.parent)
    tables = tomllib.loads(text)
    assert [tank["name"] for tank in tables["tank"]] == ["left", "header", "left 3"]
    assert [tank["mesh"] for tank in tables["tank"]] == ["left.off", "header.off", "more/left.off"]
    assert all(len(tank["outlet"]) == 1 for tank in tables["tank"])
    assert text.count("[aircraft]") == text.count("# What the lines join") == 1
