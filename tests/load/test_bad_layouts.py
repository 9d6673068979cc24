"""Design files whose fields contradict each other or their meshes: each is told in a line."""

from __future__ import annotations

from pathlib import Path

import pytest
from spoilt import GOOD, told

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
        f"tank right.outlet.position: this place lies 6 in outside the cavity. {INCHES}",
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
    mend = "Close the surface in CAD and export again; `fuelsys mesh FILE` shows where it is open."
    said = f"open.off: 4 edges do not join two faces, the middle of the first near (150, 0, 0) mm. {mend}"
    assert told(tmp_path, GOOD.replace("left.off", "open.off")) == [said]
    mend = "Export as one of STL, OBJ, PLY, OFF, 3MF, GLB, STEP."
    said = f'left.dxf: the ending ".dxf" is not that of a mesh format. {mend}'
    assert told(tmp_path, GOOD.replace("left.off", "left.dxf")) == [said]


@pytest.mark.parametrize("name", ["none.off", "../none.off", "/none.off"])
def test_a_mesh_that_is_not_there(tmp_path: Path, name: str) -> None:
    said = f'tank left.mesh: there is no file "{tmp_path / name}". Give its path from the design file\'s folder.'
    assert told(tmp_path, GOOD.replace("left.off", name)) == [f"wing.toml: {said}"]


def test_a_mesh_may_spell_its_unit_out(tmp_path: Path) -> None:
    assert told(tmp_path, GOOD.replace('unit = "mm"', 'unit = "millimetres"')) == []
