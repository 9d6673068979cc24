"""Design files whose fields contradict each other or their meshes, or that are no design files: all faults are told."""

from __future__ import annotations

import os
import tomllib
from copy import deepcopy
from datetime import date
from pathlib import Path
from typing import Any

import pytest
from spoilt import GOOD, told

from fuelsys.errors import DesignError
from fuelsys.load import design
from fuelsys.load.design import load_design
from fuelsys.load.faults import design_error, read_fields

ENDS = 'Write "TANK.PORT" or the name of a component; there are: left.outlet, left.forward, left.aft, right.outlet, filter.'
NORMAL = 'Mark one attitude that has phase = "{}" with normal = true.'
SPANS = "Give it in the mesh's own axes; left.off spans x 0 to 300, y 0 to 200, z 0 to 100 mm."
INCHES = "Give it in the mesh's own axes; right.off spans x 0 to 12, y 0 to 6, z 0 to 4 in."
WORDS = 'Say where x, y and z point, such as "aft, right, up"; the words are aft, forward, right, left, up, down.'


CASES = {
    # between fields
    "unknown reserve phase": (
        'reserve_phase = "cruise"',
        'reserve_phase = "loiter"',
        'fuel.reserve_phase: there is no flow "loiter". Name one of: "takeoff", "cruise".',
    ),
    "two normal attitudes": (
        'pitch = "9 deg"',
        'pitch = "9 deg"\nnormal = true',
        f'attitude: 2 attitudes are marked as normal for flight ("level", "climb"). {NORMAL.format("flight")}',
    ),
    "no normal attitude": (
        'phase = "ground"\nnormal = true',
        'phase = "ground"',
        f"attitude: no attitude is marked as normal for ground. {NORMAL.format('ground')}",
    ),
    "pitch of 110 degrees": (
        "9 deg",
        "110 deg",
        "attitude climb: the aircraft stands on end or upside down. Keep pitch and roll within 90 deg; inverted flight is not modelled.",
    ),
    "pitch of 400 degrees": (
        "9 deg",
        "400 deg",
        'attitude climb.pitch: found "400 deg", which is too large. Give an angle from -180 deg to 180 deg; is the unit right?',
    ),
    "two attitudes of one name": (
        'name = "climb"',
        'name = "level"',
        'attitude: the name "level" stands there twice. Give each its own name.',
    ),
    "two tanks of one name": (
        'name = "right"',
        'name = "left"',
        'tank: the name "left" stands there twice. Give each its own name.',
    ),
    "two ports of one name": (
        'name = "aft"',
        'name = "outlet"',
        'tank left: the name "outlet" stands there twice. Give each its own name.',
    ),
    "a port named as a switch is": (
        'name = "aft"',
        'name = "switch low"',
        'tank left: the name "switch low" stands there twice. Give each its own name.',
    ),
    "a line to an unknown port": (
        'from = "left.outlet"',
        'from = "left.drain"',
        f'line left feed.from: there is no port or component "left.drain". {ENDS}',
    ),
    "a line to an unknown tank": (
        'from = "left.outlet"',
        'from = "centre.outlet"',
        f'line left feed.from: there is no port or component "centre.outlet". {ENDS}',
    ),
    "a line to an unknown component": (
        'to = "filter"',
        'to = "pump"',
        f'line left feed.to: there is no port or component "pump". {ENDS}',
    ),
    "a line to itself": (
        'to = "filter"',
        'to = "left.outlet"',
        "line left feed: it begins and ends at one place. Give its two ends.",
    ),
    "dipstick of one point": (
        '"2 mm"]',
        '"100 mm"]',
        "tank left.dipstick: top and bottom are one point. Give the stick's two ends.",
    ),
    "dipstick without steps": (
        'zero = "bottom"',
        'step = "0 L"',
        "tank left.dipstick.step: the step is less than 10 mL. Give 10 mL or more.",
    ),
    # between fields and meshes
    "outlet outside": (
        '["280 mm", "100 mm", "0 mm"]',
        '["280 mm", "100 mm", "-5 mm"]',
        f"tank left.outlet.position: this place lies 5 mm outside the cavity. {SPANS}",
    ),
    "outlet outside, in inches": (
        '"0 in"]',
        '"10 in"]',
        f"tank right.outlet.position: this place lies 152.4 mm outside the cavity. {INCHES}",
    ),
    "second vent outside": (
        '["290 mm"',
        '["390 mm"',
        f"tank left.vent aft.position: this place lies 90 mm outside the cavity. {SPANS}",
    ),
    "switch outside": (
        '"30 mm"]',
        '"130 mm"]',
        f"tank left.switch low.mark: this place lies 30 mm outside the cavity. {SPANS}",
    ),
    "dipstick outside": (
        '"2 mm"]',
        '"-2.5 mm"]',
        f"tank left.dipstick.bottom: this place lies 2.5 mm outside the cavity. {SPANS}",
    ),
    "unknown unit of a mesh": (
        'unit = "mm"',
        'unit = "mil"',
        'tank left.unit: found the unit "mil". Use one of mm, cm, m, in, ft, um.',
    ),
    "axes of a mesh in other words": (
        'unit = "mm"\naxes = "aft, right, up"',
        'unit = "mm"\naxes = "back, right, up"',
        f'tank left.axes: found "back, right, up". {WORDS}',
    ),
    "axes of the aircraft in other words": (
        'axes = "aft, right, up"\nengine',
        'axes = "XYZ"\nengine',
        f'aircraft.axes: found "XYZ". {WORDS}',
    ),
}


@pytest.mark.parametrize("case", CASES)
def test_what_is_wrong_is_told(tmp_path: Path, case: str) -> None:
    old, new, *said = CASES[case]
    assert GOOD.count(old) >= 1
    assert told(tmp_path, GOOD.replace(old, new, 1)) == [f"wing.toml: {line}" for line in said]


def test_the_good_design_is_good(tmp_path: Path) -> None:
    assert told(tmp_path, GOOD) == []
    assert told(tmp_path, b"\xef\xbb\xbf" + GOOD.replace("\n", "\r\n").encode()) == []


def test_there_is_no_flight(tmp_path: Path) -> None:
    assert told(tmp_path, GOOD.replace('phase = "flight"', 'phase = "ground"')) == [
        'wing.toml: attitude: 2 attitudes are marked as normal for ground ("parked", "level"). '
        + NORMAL.format("ground"),
        "wing.toml: attitude: no attitude is marked as normal for flight. " + NORMAL.format("flight"),
    ]


# --- meshes ----------------------------------------------------------------------------------------------------------


def test_a_fault_of_a_mesh_names_the_mesh(tmp_path: Path) -> None:
    mend = "Close the surface in CAD and export again."
    said = f"open.off: 4 edges do not join two faces, the first near (0, 0, 0) mm. {mend}"
    assert told(tmp_path, GOOD.replace("left.off", "open.off")) == [said]
    mend = "Export as one of STL, OBJ, PLY, OFF, 3MF, GLB."
    said = f'left.dxf: the ending ".dxf" is not that of a mesh format. {mend}'
    assert told(tmp_path, GOOD.replace("left.off", "left.dxf")) == [said]


@pytest.mark.parametrize("name", ["none.off", "../none.off", "/none.off"])
def test_a_mesh_that_is_not_there(tmp_path: Path, name: str) -> None:
    said = f'tank left.mesh: there is no file "{tmp_path / name}". Give its path from the design file\'s folder.'
    assert told(tmp_path, GOOD.replace("left.off", name)) == [f"wing.toml: {said}"]


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
    assert refused(path) == [f"wing.toml: this is not a regular file. Give a design file. {START}"]


def test_a_design_file_that_may_not_be_read(tmp_path: Path) -> None:
    if os.geteuid() == 0:
        pytest.skip("the administrator may read all")
    (tmp_path / "wing.toml").touch(mode=0)
    assert refused(tmp_path / "wing.toml") == [
        "wing.toml: the file cannot be read (Permission denied). Check the path."
    ]


def test_a_design_file_too_large_is_not_read(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(design, "MOST_BYTES", 1000)
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
    assert said > 1000
