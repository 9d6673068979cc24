"""A small good design, as a table to be changed: one hopper-shaped main tank above a header, all lines, every rule content.

Everything is in round millimetres and the normal attitudes are level, so that expected figures can be worked by hand.
Both tanks are convex: a convex cavity has one low point and one high point at any attitude, so nothing is ever trapped.
"""

from __future__ import annotations

import json
from collections.abc import Callable, Mapping
from copy import deepcopy
from functools import lru_cache
from pathlib import Path
from typing import Any

import solids
from manifold3d import Manifold

from fuelsys.load.designs.door import load_design
from fuelsys.model.built.layout import Layout

REMOVE = object()  # as a change's value: take the field out


def hopper(
    length: float, width: float, height: float, inner: tuple[float, float], sump: float, dome: float
) -> Manifold:
    """A box whose floor falls by `sump` and whose roof rises by `dome` to a rectangle `inner` in the middle of the plan.

    Belt of walls from z = 0 to height. By the prismoidal formula each hopper holds h/6 (A_low + 4 A_mid + A_high).
    """
    insets = [((length - inner[0]) / 2, (width - inner[1]) / 2), (0.0, 0.0)]
    rings = [(insets[0], -sump), (insets[1], 0.0), (insets[1], height), (insets[0], height + dome)]
    points = [(x, y, z) for (a, b), z in rings for x in (a, length - a) for y in (b, width - b)]
    return Manifold.hull_points(points)


def _between(low: tuple[float, float, float], high: tuple[float, float, float]) -> Manifold:
    return Manifold.cube([b - a for a, b in zip(low, high, strict=True)]).translate(list(low))


def main_tank() -> Manifold:
    """400 x 500 x 200 mm = 40 L, floor hopper 60 mm deep to 100 x 100 mm = 5.1 L, roof hopper 40 mm = 3.4 L: 48.5 L.

    Floor: 60/6 (100 x 100 + 4 x 250 x 300 + 400 x 500) = 5.1e6 mm3; roof: 40/6 of the same = 3.4e6 mm3.
    """
    return hopper(400, 500, 200, (100, 100), 60, 40)


def main_with_pocket() -> Manifold:
    """The main tank with a bag on its rear wall that opens 50 mm above its own floor: 48 x 100 x 50 mm = 0.24 L."""
    bag = _between((402, 200, 50), (450, 300, 150))
    mouth = _between((390, 200, 100), (410, 300, 150))
    return main_tank() + bag + mouth


def main_with_slit() -> Manifold:
    """The tank with the bag, which a slit of 0.05 mm along its floor joins too: closed it keeps 0.24 L, open nothing."""
    return main_with_pocket() + _between((390, 200, 50), (410, 300, 50.05))


def main_with_well() -> Manifold:
    """The main tank with a well behind its rear wall, 65 mm deep below the wall's foot: 48 x 100 x 65 mm = 0.312 L.

    Its floor lies at z = -65, 5 mm below the hopper's.
    """
    return main_tank() + _between((402, 200, -65), (450, 300, 50)) + _between((390, 200, 0), (410, 300, 50))


def main_with_pit() -> Manifold:
    """The same with a well of 90 x 300 x 65 mm = 1.755 L."""
    return main_tank() + _between((402, 100, -65), (492, 400, 50)) + _between((390, 200, 0), (410, 300, 50))


def header_tank() -> Manifold:
    """200 x 160 x 240 mm = 7.68 L, floor hopper 50 mm deep to 80 x 80 mm = 0.88 L, roof hopper 20 mm = 0.352 L: 8.912 L.

    Floor: 50/6 (80 x 80 + 4 x 140 x 120 + 200 x 160) = 0.88e6 mm3; roof: 20/6 of the same = 0.352e6 mm3.
    """
    return hopper(200, 160, 240, (80, 80), 50, 20)


def large_tank() -> Manifold:
    """800 x 500 x 300 mm = 120 L; floor hopper 60 mm deep = 9.5 L, roof hopper 40 mm = 6.333 L: 135.833 L.

    Floor: 60/6 (100 x 100 + 4 x 450 x 300 + 800 x 500) = 9.5e6 mm3; roof: 40/6 of the same = 6.333e6 mm3.
    """
    return hopper(800, 500, 300, (100, 100), 60, 40)


MESHES: dict[str, Callable[[], Manifold]] = {
    "main.off": main_tank,
    "pocket.off": main_with_pocket,
    "slit.off": main_with_slit,
    "well.off": main_with_well,
    "pit.off": main_with_pit,
    "large.off": large_tank,
    "header.off": header_tank,
}


def _mm(x: float, y: float, z: float) -> list[str]:
    return [f"{x:g} mm", f"{y:g} mm", f"{z:g} mm"]


MAIN = {
    "name": "main",
    "mesh": "main.off",
    "unit": "mm",
    "axes": "aft, right, up",
    "position": _mm(400, -250, 1000),
    "outlet": [
        {
            "name": "outlet",
            "position": _mm(200, 250, -45),  # on a standpipe in the sump, 15 mm above its floor
            "bore": "8 mm",
            "cover": "0 mm",
            "strainer": {"mesh": "12 1/in", "clear_area": "300 mm2", "diameter": "16 mm"},
        }
    ],
    "vent": [{"name": "vent", "position": _mm(170, 250, 240), "bore": "8 mm"}],
    # A neck through the middle of the roof, reaching 40 mm down to the top of the walls: the 3.4 L above stay free.
    "filler": {"position": _mm(230, 250, 200), "bore": "58 mm", "bonded": True, "placard": "Avgas 100LL"},
    "drain": [{"name": "drain", "position": _mm(200, 250, -60), "bore": "6 mm"}],
    "return": [{"name": "return", "position": _mm(200, 220, 240), "bore": "6 mm"}],
    "dipstick": {"top": _mm(230, 250, 200), "bottom": _mm(230, 250, -58), "step": "5 L"},
    # From the sump's floor to the roof's flat part, 10 mm behind the outlet.
    "gauge": [{"name": "probe", "kind": "probe", "bottom": _mm(210, 250, -60), "top": _mm(210, 250, 240)}],
}
HEADER = {
    "name": "header",
    "mesh": "header.off",
    "unit": "mm",
    "axes": "aft, right, up",
    "position": _mm(500, -80, 400),
    "outlet": [
        {
            "name": "outlet",
            "position": _mm(100, 80, -25),
            "bore": "8 mm",
            "cover": "0 mm",
            "strainer": {"mesh": "12 1/in", "clear_area": "300 mm2", "diameter": "16 mm"},
        }
    ],
    "vent": [{"name": "vent", "position": _mm(100, 80, 260), "bore": "8 mm"}],
    "drain": [{"name": "drain", "position": _mm(100, 80, -50), "bore": "6 mm"}],
    "inlet": [{"name": "from main", "position": _mm(0, 80, 150), "bore": "8 mm"}],
    "gauge": [{"name": "probe", "kind": "probe", "bottom": _mm(110, 80, -50), "top": _mm(110, 80, 260)}],
    "switch": [
        {
            "name": "20 min",
            "mark": _mm(100, 80, 175),
            "differential": "3 mm",
            "tolerance": "3 mm",
            "clearance": "25 mm",
            "target": "20 min",
        },
        {
            "name": "10 min",
            "mark": _mm(100, 80, 82),
            "differential": "3 mm",
            "tolerance": "3 mm",
            "clearance": "25 mm",
            "target": "10 min",
        },
    ],
}
CURVE = [["0 L/h", "40 kPa"], ["150 L/h", "30 kPa"]]
COMPONENTS = [
    {
        "name": "overboard",
        "kind": "overboard",
        "position": _mm(600, 450, 900),
        "discharges_clear": True,
        "kept_clear": "shielded",
    },
    {
        "name": "filter",
        "kind": "filter",
        "position": _mm(200, 0, 300),
        "drain": True,
        "sediment": "60 mL",
        "drop": "1 kPa",
        "drop_at": "100 L/h",
    },
    {"name": "shut-off", "kind": "valve", "position": _mm(150, 0, 310), "engine_side": False},
    {"name": "boost pump", "kind": "pump", "position": _mm(100, 0, 320), "driven": "electric", "curve": CURVE},
    {"name": "engine pump", "kind": "pump", "position": _mm(-100, 0, 330), "driven": "engine", "curve": CURVE},
    {
        "name": "engine",
        "kind": "engine",
        "position": _mm(-300, 0, 340),
        "heat": "90 W",
        "return_flow": "20 L/h",
        "inlet_pressure": "20 kPa",
        "most_inlet_pressure": "90 kPa",
        "most_return_pressure": "20 kPa",
    },
]


def _line(name: str, kind: str, start: str, end: str, *path: list[str], bore: str = "8 mm") -> dict[str, Any]:
    return {"name": name, "kind": kind, "from": start, "to": end, "bore": bore, "path": list(path)}


# On the aircraft: the main tank's outlet is at (600, 0, 955), its vent at (570, 0, 1240), its return at (600, -30, 1240);
# the header's outlet at (600, 0, 375), its vent at (600, 0, 660), its inlet at (500, 0, 550).
LINES = [
    _line("vent", "vent", "main.vent", "overboard", _mm(570, 0, 1300), _mm(570, 400, 1310)),
    _line("header vent", "vent", "header.vent", "main.vent", _mm(820, 0, 760), _mm(820, 0, 1200)),
    _line("main feed", "feed", "main.outlet", "header.from main", _mm(480, 0, 800)),
    _line("header feed", "feed", "header.outlet", "filter"),
    _line("filter to shut-off", "feed", "filter", "shut-off"),
    _line("shut-off to boost pump", "feed", "shut-off", "boost pump"),
    _line("boost pump to engine pump", "feed", "boost pump", "engine pump"),
    _line("engine pump to engine", "feed", "engine pump", "engine"),
    _line("return", "return", "engine", "main.return", _mm(0, -200, 700), _mm(400, -200, 1260), bore="6 mm"),
]


def _attitude(name: str, phase: str, pitch: float = 0.0, roll: float = 0.0, normal: bool = False) -> dict[str, Any]:
    return {"name": name, "phase": phase, "pitch": f"{pitch:g} deg", "roll": f"{roll:g} deg", "normal": normal}


ATTITUDES = [
    _attitude("parked", "ground", normal=True),
    _attitude("parked, left wheel in a hollow", "ground", roll=-2),
    _attitude("cruise", "flight", normal=True),
    _attitude("climb", "flight", pitch=8),
    _attitude("steep climb", "flight", pitch=13),
    _attitude("descent", "flight", pitch=-10),
    _attitude("slip, right wing low", "flight", roll=6),
    _attitude("slip, left wing low", "flight", roll=-6),
]
BASE: dict[str, Any] = {
    "aircraft": {
        "name": "test bench",
        "datum": "firewall",
        "axes": "aft, right, up",
        "engine": "piston",
        "feed": "pump",
        "climb_angle": "8 deg",
        "ceiling": "10000 ft",
        "firewall": _mm(0, 0, 0),
    },
    "fuel": {"kind": "avgas", "density": "0.72 kg/L", "reserve_phase": "cruise"},
    # 18 L/h: 0.3 L a minute.
    "flows": {"takeoff": "36 L/h", "max_continuous": "30 L/h", "cruise": "18 L/h"},
    "attitude": ATTITUDES,
    "tank": [MAIN, HEADER],
    "component": COMPONENTS,
    "line": LINES,
}


def changed(changes: Mapping[str, Any]) -> dict[str, Any]:
    """The base design with changes: {"tank.0.filler.bore": "70 mm", "tank.1.switch.2": {...}, "line.0": REMOVE}.

    The next free number of a list adds to it. Changes are made in their order, so removing shifts what follows.
    """
    design = deepcopy(BASE)
    for path, value in changes.items():
        *parents, last = path.split(".")
        table: Any = design
        for part in parents:
            table = table[int(part)] if isinstance(table, list) else table[part]
        key: Any = int(last) if isinstance(table, list) else last
        if value is REMOVE:
            del table[key]
        elif isinstance(table, list) and key == len(table):
            table.append(deepcopy(value))
        else:
            table[key] = deepcopy(value)
    return design


def toml(value: Any) -> str:
    """A value as TOML; tables inside others stand inline."""
    if isinstance(value, Mapping):
        return "{ " + ", ".join(f"{json.dumps(k)} = {toml(v)}" for k, v in value.items()) + " }"
    if isinstance(value, list | tuple):
        return "[" + ", ".join(toml(v) for v in value) + "]"
    return json.dumps(value, ensure_ascii=False)


@lru_cache
def off(mesh: str) -> str:
    """A mesh of MESHES as OFF text, every coordinate as the double that it is."""
    vertices, faces = solids.from_manifold(MESHES[mesh]())
    rows = [" ".join(repr(float(c)) for c in corner) for corner in vertices]
    rows += [f"3 {a} {b} {c}" for a, b, c in faces]
    return f"OFF\n{len(vertices)} {len(faces)} 0\n" + "\n".join(rows) + "\n"


def layout_of(folder: Path, changes: Mapping[str, Any] | None = None) -> Layout:
    """The changed base design written to a folder, and read back through the door."""
    design = changed(changes or {})
    for tank in design["tank"]:
        (folder / tank["mesh"]).write_text(off(tank["mesh"]), encoding="utf-8")
    file = folder / "bench.toml"
    file.write_text("\n".join(f"{json.dumps(k)} = {toml(v)}" for k, v in design.items()), encoding="utf-8")
    return load_design(file)
