"""What is no design file, several faults at once in the file's order, and any value at any place."""

from __future__ import annotations

import os
import tomllib
from copy import deepcopy
from datetime import date
from pathlib import Path
from typing import Any

import pytest
from spoilt import GOOD, told

from fuelsys.errors import DesignError, QuestionError
from fuelsys.load import bounds
from fuelsys.load.designs.door import load_design
from fuelsys.load.designs.faults import design_error, read_fields
from fuelsys.load.designs.stated import check_named

# --- files -----------------------------------------------------------------------------------------------------------

START = "`fuelsys new MESH` writes a design file to start from."
TOML = "Mend that place; texts, and numbers with a unit, stand in quotes."


@pytest.mark.parametrize(
    ("data", "said"),
    [
        (b"", f"the file is empty. {START}"),
        (b" \n\n", f"the file is empty. {START}"),
        (GOOD.encode("utf-16"), "this is not UTF-8 text. Save the design file as UTF-8 text."),
        (
            GOOD.replace("firewall", "Höhe").encode("latin-1"),
            "this is not UTF-8 text. Save the design file as UTF-8 text.",
        ),
        (
            GOOD.replace('bore = "8 mm"', "bore = 8 mm", 1).encode(),
            f"line 43, column 10: this is not TOML (Expected newline or end of document after a statement). {TOML}",
        ),
        (
            GOOD.replace("[flows]", "[aircraft]").encode(),
            f"line 13, column 10: this is not TOML (Cannot declare ('aircraft',) twice). {TOML}",
        ),
        (b'name = "left', f"the end of the file: this is not TOML (Unterminated string). {TOML}"),
        (b"a = " + b"[" * 5000, "this is not TOML: a number or a list is beyond reason. Mend it."),
        (b"a = " + b"1" * 5000, "this is not TOML: a number or a list is beyond reason. Mend it."),
    ],
    ids=["empty", "blank", "UTF-16", "Latin-1", "no quotes", "table twice", "cut off", "nested", "long number"],
)
def test_what_is_no_design_file(tmp_path: Path, data: bytes, said: str) -> None:
    assert told(tmp_path, data) == [f"wing.toml: {said}"]


def refused(path: Path) -> list[str]:
    with pytest.raises(DesignError) as caught:
        load_design(path)
    return caught.value.lines


def test_a_design_file_that_is_not_there_or_a_folder(tmp_path: Path) -> None:
    path = tmp_path / "wing.toml"
    assert refused(path) == [f"wing.toml: there is no such file. Check the path; looked for {path}."]
    path.mkdir()
    assert refused(path) == [f"wing.toml: this is a folder. Give a design file. {START}"]


def test_a_design_file_that_may_not_be_read(tmp_path: Path) -> None:
    if os.geteuid() == 0:
        pytest.skip("the administrator may read all")
    (tmp_path / "wing.toml").touch(mode=0)
    assert refused(tmp_path / "wing.toml") == [
        "wing.toml: the file cannot be read (Permission denied). Check the path and its permissions."
    ]


def test_a_design_file_too_large_is_not_read(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(bounds, "MOST_DESIGN_BYTES", 1000)
    assert told(tmp_path, GOOD) == [f"wing.toml: the file has {len(GOOD) / 1e6:.5g} MB. At most 0.001 MB are read."]


# --- several faults --------------------------------------------------------------------------------------------------


def test_all_faults_of_fields_are_told_in_the_files_order(tmp_path: Path) -> None:
    # The line's table is moved to the top of the file: its fault is then told first.
    start = GOOD.index("[[line]]")
    text = GOOD[start:].replace('"8 mm"', '"8"') + GOOD[:start]
    changes = [
        ('"piston"', '"rotary"'),
        ('datum = "firewall"\n', ""),
        ("21 L/h", "21"),
        ('"9 deg"', '"9 m"'),
        ('"8 mm"', "8"),
    ]
    for old, new in changes:
        text = text.replace(old, new, 1)
    places = [line.split(": ")[1] for line in told(tmp_path, text)]
    assert places == [
        "line left feed.bore",
        "aircraft.engine",
        "aircraft.datum",
        "flows.cruise",
        "attitude climb.pitch",
        "tank left.outlet.bore",
    ]


def test_all_faults_between_fields_and_of_meshes_are_told_in_the_files_order(tmp_path: Path) -> None:
    text = GOOD
    changes = [
        ('reserve_phase = "cruise"', 'reserve_phase = "loiter"'),
        ('normal = true\npitch = "11 deg"', 'pitch = "11 deg"'),
        ('axes = "aft, right, up"\nengine', 'axes = "aft, left, up"\nengine'),
        ('["280 mm"', '["380 mm"'),
        ('["10 mm"', '["-10 mm"'),
        ("right.off", "open.off"),
        ('to = "filter"', 'to = "pump"'),
    ]
    for old, new in changes:
        assert old in text
        text = text.replace(old, new, 1)
    places = [line.split(": ")[:2] for line in told(tmp_path, text)]
    assert [place for _, place in places[:5]] == [
        "aircraft.axes",
        "fuel.reserve_phase",
        "attitude",
        "tank left.outlet.position",
        "tank left.vent forward.position",
    ]
    assert [file for file, _ in places] == ["wing.toml"] * 5 + ["open.off", "wing.toml"]
    assert places[6][1] == "line left feed.to"


def test_a_blank_is_told_once_and_with_what_belongs_there(tmp_path: Path) -> None:
    text = GOOD.replace('["280 mm", "100 mm", "0 mm"]', '"FILL IN: where the outlet is."').replace(
        '"firewall"', '"FILL IN"'
    )
    assert told(tmp_path, text) == [
        "wing.toml: aircraft.datum: still to be filled in. Give it.",
        "wing.toml: tank left.outlet.position: still to be filled in. Give where the outlet is.",
    ]


# --- any value anywhere ----------------------------------------------------------------------------------------------

# One of each kind that TOML has.
VALUES = [3, -2.5, float("nan"), True, "", "x", "x\ny", [], [1], [[]], {}, {"a": 1}, date(2024, 2, 29)]
THEIRS = (
    "Input",
    "input",
    "valid ",
    "Value error",
    "Field",
    "required",
    "Extra",
    "Tuple",
    "should",
    "validation",
    "datetime",
)


def places(value: Any, place: tuple[str | int, ...] = ()) -> list[tuple[str | int, ...]]:
    """Every place in nested tables and lists."""
    keys: Any = value if isinstance(value, dict) else range(len(value)) if isinstance(value, list) else ()
    return [found for key in keys for found in [(*place, key), *places(value[key], (*place, key))]]


def test_whatever_stands_anywhere_is_taken_or_told_in_our_words(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    whole = tomllib.loads(GOOD)
    said = 0
    for place in places(whole):
        for value in VALUES:
            tables = deepcopy(whole)
            inner: Any = tables
            for key in place[:-1]:
                inner = inner[key]
            inner[place[-1]] = value
            _, faults = read_fields(tables)
            lines = design_error(faults, tables, "wing.toml").lines if faults else []
            said += len(lines)
            for line in lines:
                assert line.startswith("wing.toml: ")
                assert "\n" not in line
                assert not [word for word in THEIRS if word in line], line
                assert "cannot stand here" not in line, "a kind of fault that faults.py has no words for"
    assert said > 1000


def test_only_a_tank_that_is_none_of_the_design_is_refused() -> None:
    for only in (None, "left"):
        check_named(["left", "right"], only, "wing.toml")
    with pytest.raises(
        QuestionError,
        match=r'^wing.toml: tank: there is no tank "rigth". Is "right" meant\? Name one of left, right\.$',
    ):
        check_named(["left", "right"], "rigth", "wing.toml")


def test_a_mesh_is_no_design_file(tmp_path: Path) -> None:
    (tmp_path / "left.STL").write_bytes(b"solid left")
    said = "left.STL: this is a mesh (STL), where a design file is wanted. `fuelsys mesh left.STL` looks at the mesh; "
    with pytest.raises(DesignError) as caught:
        load_design(tmp_path / "left.STL")
    assert caught.value.lines == [f"{said}`fuelsys new left.STL` begins a design file with it."]
