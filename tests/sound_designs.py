"""Sound designs of several architectures, as tables to be changed: the bench design's tanks plumbed in other ways.

All in the axes and round millimetres of designs.py; what the rules say of them does not matter here, only that they are read and
answered.
"""

from __future__ import annotations

import json
import shutil
import tomllib
from collections.abc import Mapping
from copy import deepcopy
from functools import lru_cache
from pathlib import Path
from typing import Any

from commands import DEMO
from designs import BASE, COMPONENTS, HEADER, MAIN, MESHES, off, toml
from plumbing_changes import line, mm

Table = dict[str, Any]
SWITCHES = [
    {
        "name": "30 min",
        "mark": mm(200, 250, 60),
        "differential": "3 mm",
        "tolerance": "3 mm",
        "clearance": "25 mm",
        "target": "30 min",
    },
    {"name": "low", "mark": mm(200, 250, 20), "tolerance": "2 mm", "target": "12 min"},
]
OVERBOARD, FILTER, VALVE, BOOST, PUMP, ENGINE = COMPONENTS
VENT_LINE = line("vent", "vent", "main.vent", "overboard", mm(570, 0, 1300), mm(570, 400, 1310))
TO_ENGINE = [
    line("filter to shut-off", "feed", "filter", "shut-off"),
    line("shut-off to boost pump", "feed", "shut-off", "boost pump"),
    line("boost pump to engine pump", "feed", "boost pump", "engine pump"),
    line("engine pump to engine", "feed", "engine pump", "engine"),
]
RUN = {"name": "take-off run", "phase": "flight", "pitch": "2 deg", "forward": "0.3 g"}


def _made(tanks: list[Table], components: list[Table], lines: list[Table], feed: str = "pump") -> Table:
    design = deepcopy(BASE) | {"tank": tanks, "component": components, "line": lines}
    design["aircraft"]["feed"] = feed
    design["attitude"].append(RUN)
    made: Table = json.loads(json.dumps(design))  # nothing in it stands for two places
    return made


def _beside(name: str, side: str, **more: Any) -> Table:
    """A main tank left or right of the middle."""
    return MAIN | {"name": name, "position": mm(400, -850 if side == "left" else 350, 1000)} | more


def _low(tank: Table) -> Table:
    """The tank with a port at its lowest place for a line that keeps levels equal."""
    return tank | {"inlet": [{"name": "low", "position": mm(200, 250, -50), "bore": "8 mm"}]}


def gravity() -> Table:
    """One tank above the engine, no pump, nothing returned."""
    lines = [
        VENT_LINE,
        line("feed", "feed", "main.outlet", "filter", mm(400, 0, 500)),
        line("filter to shut-off", "feed", "filter", "shut-off"),
        line("to engine", "feed", "shut-off", "engine"),
    ]
    engine = {key: value for key, value in ENGINE.items() if key not in ("heat", "return_flow", "inlet_pressure")}
    tank = {key: value for key, value in MAIN.items() if key != "return"} | {"switch": SWITCHES}
    return _made([tank], [OVERBOARD, FILTER, VALVE, engine], lines, "gravity")


def joined() -> Table:
    """Two tanks kept level by a line at their bottoms, the left one feeding; airspaces joined."""
    tanks = [
        _low(_beside("left", "left", switch=SWITCHES, flow_share="50 %")),
        _low(_beside("right", "right", outlet=[], flow_share="50 %")),
    ]
    lines = [
        line("vent", "vent", "left.vent", "overboard", mm(570, -600, 1300), mm(570, 400, 1310)),
        line("air", "vent", "right.vent", "left.vent", mm(570, 600, 1300), mm(570, -600, 1300)),
        line("level line", "interconnect", "left.low", "right.low", mm(600, 0, 900)),
        line("feed", "feed", "left.outlet", "filter", mm(500, -300, 600)),
        *TO_ENGINE,
        line("return", "return", "engine", "left.return", mm(0, -200, 700), mm(400, -600, 1260)),
    ]
    return _made(tanks, COMPONENTS, lines)


def selector() -> Table:
    """Two tanks and a selector with a position for both; it switches the return too."""
    choosing = {
        "name": "selector", "kind": "selector", "position": mm(300, 0, 500), "both": True, "switches_return": True,
        "engine_side": False,
    }  # fmt: skip
    tanks = [
        _beside("left", "left", switch=SWITCHES, flow_share="50 %"),
        _beside("right", "right", switch=SWITCHES, flow_share="50 %"),
    ]
    mast = {"name": "right overboard", "kind": "overboard", "position": mm(600, 900, 900), "discharges_clear": True}
    lines = [
        line("left vent", "vent", "left.vent", "overboard", mm(570, -600, 1300), mm(570, 400, 1310)),
        line("right vent", "vent", "right.vent", "right overboard", mm(570, 600, 1300), mm(570, 850, 1310)),
        line("left feed", "feed", "left.outlet", "selector"),
        line("right feed", "feed", "right.outlet", "selector"),
        line("selector to filter", "feed", "selector", "filter"),
        *TO_ENGINE,
        line("return", "return", "engine", "left.return", mm(0, -200, 700), mm(400, -600, 1260)),
    ]
    return _made(tanks, [*COMPONENTS, choosing, mast], lines)


def transfer() -> Table:
    """A tank behind the seats whose fuel a pump lifts into the main tank, which feeds the engine."""
    aft = HEADER | {"name": "aft", "position": mm(1500, -80, 400), "inlet": []}
    aft["filler"] = {"position": mm(100, 80, 255), "bore": "58 mm", "bonded": True, "placard": "Avgas 100LL"}
    main = MAIN | {"switch": SWITCHES, "inlet": [{"name": "transfer", "position": mm(240, 250, 240), "bore": "6 mm"}]}
    lifting = {
        "name": "transfer pump", "kind": "pump", "position": mm(1400, 0, 350), "driven": "electric",
        "curve": [["0 L/h", "40 kPa"], ["150 L/h", "30 kPa"]],
    }  # fmt: skip
    mast = {"name": "aft overboard", "kind": "overboard", "position": mm(1600, 400, 500), "discharges_clear": True}
    lines = [
        VENT_LINE,
        line("aft vent", "vent", "aft.vent", "aft overboard", mm(1600, 0, 900), mm(1600, 300, 910)),
        line("lift", "feed", "aft.outlet", "transfer pump"),
        line("transfer", "feed", "transfer pump", "main.transfer", mm(1400, 0, 1250)),
        line("feed", "feed", "main.outlet", "filter", mm(400, 0, 500)),
        *TO_ENGINE,
        line("return", "return", "engine", "main.return", mm(0, -200, 700), mm(400, -200, 1260)),
    ]
    return _made([main, aft], [*COMPONENTS, lifting, mast], lines)


def taildragger() -> Table:
    """The example aircraft."""
    return tomllib.loads(DEMO.read_text(encoding="utf-8"))


def header() -> Table:
    """The bench design: a main tank above a header, with a return."""
    return deepcopy(BASE)


ARCHITECTURES = {
    "header": header,
    "gravity": gravity,
    "joined": joined,
    "selector": selector,
    "transfer": transfer,
    "taildragger": taildragger,
}


@lru_cache
def design_of(architecture: str) -> Table:
    """The design of a name; not to be changed: take a deep copy."""
    return ARCHITECTURES[architecture]()


def write_meshes(folder: Path) -> None:
    """All meshes that the designs name, into a folder."""
    for name in MESHES:
        (folder / name).write_text(off(name), encoding="utf-8")
    for mesh in DEMO.parent.glob("*.stl"):
        shutil.copy(mesh, folder)


def text_of(design: Mapping[str, Any]) -> str:
    """A design as a file's text."""
    return "\n".join(f"{json.dumps(key)} = {toml(value)}" for key, value in design.items()) + "\n"
