"""Changes to the base design that several tables of plumbing rules make.

On the aircraft of the base design (designs.py), in mm: the main tank is full at z = 1200 (the filler's lip), its vent opens
at (570, 0, 1240) and its line rises to 1310; its outlet is at (600, 0, 955), the header's inlet at (500, 0, 550), the
header's outlet at (600, 0, 375), the filter at (200, 0, 300). It holds 48.5 L, the header 8.912 L.
"""

from __future__ import annotations

from typing import Any

from designs import REMOVE


def mm(x: float, y: float, z: float) -> list[str]:
    return [f"{x:g} mm", f"{y:g} mm", f"{z:g} mm"]


def line(name: str, kind: str, start: str, end: str, *path: list[str]) -> dict[str, Any]:
    return {"name": name, "kind": kind, "from": start, "to": end, "bore": "8 mm", "path": list(path)}


MAIN_FEED, HEADER_FEED = "main.outlet to header.from main", "header.outlet to engine"
TO_PUMP = "header.outlet to boost pump"
MAIN_VENT = "main.vent to overboard"
NO_FILLER = {"tank.0.filler": REMOVE}
NO_OPENING = NO_FILLER | {"tank.0.vent": [], "line.0": REMOVE, "line.0.to": "overboard"}
NO_HEADER_VENT_LINE = {"line.1": REMOVE}
NO_ENGINE_LINE = {"line.7": REMOVE}
TEE = {"name": "tee", "kind": "tee", "position": mm(0, -200, 360)}

# The vent in the front wall 10 mm below the lip, its line straight to the overboard end: it never rises.
LOW_VENT = {"tank.0.vent.0.position": mm(0, 250, 190), "line.0.path": []}
# The same, over a point 3 mm above the full level, 450 mm to the right.
OVER_THE_RIGHT = LOW_VENT | {"line.0.path": [mm(600, 450, 1203)]}
SPARE = {
    "tank.2": {"name": "spare", "mesh": "header.off", "unit": "mm", "axes": "aft, right, up", "position": mm(0, 0, 0)}
}
APART = {
    "component.6": {"name": "mast", "kind": "overboard", "position": mm(900, 0, 1400), "discharges_clear": True},
    "line.1.to": "mast",
}
# From 1300 down to 1250 and up to 1310: a dip of 50.
VENT_DIP = {"line.0.path": [mm(570, 0, 1300), mm(570, 200, 1250), mm(570, 400, 1310)]}
# From the outlet at 955 down to 900, up to 980, down to the inlet at 550.
HUMP = {"line.2.path": [mm(560, 0, 900), mm(520, 0, 980)]}
# From the outlet down to 500, 50 below the inlet.
TRAP = {"line.2.path": [mm(480, 0, 500)]}
TWO_TANKS = {"line.9": line("main to pump", "feed", "main.outlet", "boost pump")}
# The shut-off chooses between header and main, one at a time.
SELECTOR = {
    "component.2.kind": "selector",
    "component.2.both": False,
    "line.9": line("main to selector", "feed", "main.outlet", "shut-off"),
}
# The feed of both tanks meets at a tee before the shut-off, which shuts both or none.
COMMON_VALVE = {
    "component.6": {"name": "tee", "kind": "tee", "position": mm(170, 0, 305)},
    "line.4": line("filter to tee", "feed", "filter", "tee"),
    "line.9": line("main to tee", "feed", "main.outlet", "tee"),
    "line.10": line("tee to shut-off", "feed", "tee", "shut-off"),
}
# The main tank feeds the pump too, by a valve of its own.
OWN_VALVE = {
    "component.6": {"name": "main valve", "kind": "valve", "position": mm(150, 100, 310), "engine_side": False},
    "line.9": line("main to valve", "feed", "main.outlet", "main valve"),
    "line.10": line("valve to pump", "feed", "main valve", "boost pump"),
}
# A valve in what fills the header.
WING_VALVE = {
    "component.6": {"name": "wing valve", "kind": "valve", "position": mm(520, 0, 880), "engine_side": False},
    "line.2": line("main feed", "feed", "main.outlet", "wing valve"),
    "line.9": line("main feed on", "feed", "wing valve", "header.from main", mm(480, 0, 800)),
}
INTO_HEADER = {
    "tank.1.return": [{"name": "return", "position": mm(100, 60, 260), "bore": "6 mm"}],
    "line.8.to": "header.return",
}
# A valve in the only line overboard, and one in the header's line alone, which joins the main vent's port.
VENT_VALVE = {
    "component.6": {"name": "vent valve", "kind": "valve", "position": mm(570, 200, 1305), "engine_side": False},
    "line.0": line("vent", "vent", "main.vent", "vent valve", mm(570, 0, 1300)),
    "line.9": line("vent on", "vent", "vent valve", "overboard", mm(570, 400, 1310)),
}
HEADER_VENT_VALVE = {
    "component.6": {"name": "vent valve", "kind": "valve", "position": mm(820, 0, 900), "engine_side": False},
    "line.1": line("header vent", "vent", "header.vent", "vent valve"),
    "line.9": line("header vent on", "vent", "vent valve", "main.vent", mm(820, 0, 1200)),
}
# The return's selector sends it to the main tank or into the header's roof.
RETURN_SELECTOR = {
    "tank.1.return": [{"name": "return", "position": mm(100, 60, 260), "bore": "6 mm"}],
    "component.6": {"name": "return selector", "kind": "selector", "position": mm(50, -200, 700), "engine_side": False},
    "line.8": line("return", "return", "engine", "return selector"),
    "line.9": line("to main", "return", "return selector", "main.return", mm(400, -200, 1260)),
    "line.10": line("to header", "return", "return selector", "header.return"),
}
RETURN_VALVE = {
    "component.6": {"name": "return valve", "kind": "valve", "position": mm(50, -200, 700), "engine_side": False},
    "line.8": line("return", "return", "engine", "return valve"),
    "line.9": line("to main", "return", "return valve", "main.return", mm(400, -200, 1260)),
}
