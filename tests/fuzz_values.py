"""What people give in a design and what none would: values by kind of quantity, words, curves; for fuzz_designs.py."""

from __future__ import annotations

from typing import Any

from designs import MESHES

NAME = "bench.toml"
KNOWN = [*MESHES, "left.stl", "right.stl", "header.stl"]

# Kind of quantity -> the keys that hold one, and values that people give.
KEYS = {
    "length": "bore cover diameter differential tolerance clearance wall size coating narrowest_passage bend_radius ceiling",
    "angle": "pitch roll climb_angle max_tilt",
    "acceleration": "forward right",
    "volume": "step sediment",
    "flow": "drop_at return_flow filling takeoff max_continuous cruise",
    "pressure": "drop inlet_pressure most_inlet_pressure most_return_pressure reid_pressure bears bears_suction",
    "density": "density set_in",
    "speed": "climb_rate descent_rate",
    "viscosity": "viscosity",
    "power": "heat",
    "area": "clear_area",
    "mesh": "mesh",
    "time": "target held duration delay",
    "share": "flow_share unmodelled",
}
KIND = {key: kind for kind, keys in KEYS.items() for key in keys.split()}
GIVEN = {
    "length": ["0 mm", "0.5 mm", "1 um", "3 mm", "8 mm", "25 mm", "199 mm", "1 m", "40 in", "3000 m", "-1 mm"],
    "angle": ["0 deg", "1e-9 deg", "5 deg", "-15 deg", "45 deg", "89 deg", "89.999999 deg", "90 deg", "-180 deg", "3.14 rad"],
    "acceleration": ["0 g", "0.3 g", "-0.3 g", "5 g", "10 g", "99 m/s2"],
    "volume": ["0 L", "1 mL", "10 mL", "0.3 L", "0.33 US gal", "5 L", "47.9 L", "48 L", "100 L", "9000 L"],
    "flow": ["0 L/h", "1e-9 L/h", "1 L/h", "20 L/h", "200 L/h", "10000 L/h", "9 US gal/h"],
    "pressure": ["0 Pa", "1e-9 Pa", "1 kPa", "20 kPa", "3.5 psi", "9.9 bar"],
    "speed": ["0 m/s", "1e-9 m/s", "1500 ft/min", "100 m/s", "101 m/s"],
    "density": ["500 kg/m3", "0.72 kg/L", "0.9 kg/L", "1200 kg/m3", "6 lb/US gal"],
    "viscosity": ["1e-7 m2/s", "0.6 mm2/s", "8 cSt", "1e-3 m2/s"],
    "power": ["1e-300 W", "1 W", "300 W", "100 hp", "1e300 kW"],
    "area": ["1e-300 mm2", "10 mm2", "300 mm2", "1e9 m2"],
    "mesh": ["1e-9 1/in", "8 1/in", "16 1/in", "1e9 1/cm"],
    "time": ["1e-300 s", "1 s", "20 s", "90 s", "10 min", "30 min", "5 h", "1e300 h"],
    "share": ["0 %", "1e-9 %", "1 %", "20 %", "50 %", "99.999 %", "100 %", "101 %"],
}  # fmt: skip
WRONG: list[Any] = [
    "", " ", "0", "-1", "nan mm", "1e400 mm", "1e-400 mm", "12", "12 parsec", "3 gal", "1,5 mm", 0, -1, 1.5, True, [], {}, [[]],
    "x" * 500, "main", "outlet", "main.outlet", "engine", "ä", "'", "FILL IN: it",
]  # fmt: skip
WORDS = {
    "phase": ["ground", "flight", "water"],
    "engine": ["piston", "turbine"],
    "feed": ["gravity", "pump"],
    "zero": ["bottom", "top"],
    "driven": ["engine", "electric", "hand"],
    "kept_clear": ["heated", "shielded"],
    "unit": ["mm", "cm", "m", "in", "ft", "inches", "um", "L"],
    "volume": ["L", "mL", "US gal", "imp gal", "m3", "in3"],
    "length": ["mm", "cm", "m", "in", "ft"],
    "axes": ["aft, right, up", "forward, left, up", "aft, up, left", "left, aft, up", "up, up, up", "forward, right, up"],
    "mirror_of": ["main", "left", "right", "header", "aft", "nobody"],
    "flow": ["cruise", "takeoff", "max_continuous", "none"],
    "attitude": ["cruise", "climb", "descent", "parked", "none"],
    "through": ["front", "rear", "left", "right", "bottom", "top"],
    "reserve_phase": ["cruise", "takeoff", "max_continuous", "none"],
}  # fmt: skip
CURVES: list[Any] = [
    [["0 L/h", "40 kPa"]],
    [["0 L/h", "40 kPa"], ["150 L/h", "30 kPa"]],
    [["0 L/h", "30 kPa"], ["150 L/h", "40 kPa"]],
    [["150 L/h", "30 kPa"], ["0 L/h", "40 kPa"]],
    [["50 L/h", "30 kPa"], ["50 L/h", "40 kPa"]],
    [["0 L/h", "0 kPa"], ["10000 L/h", "0 kPa"]],
    [["10 L/h", "1 kPa"], ["10.000001 L/h", "900 kPa"]],
    [],
]
LENGTHS_SHOWN = [*WORDS["length"], "inches", "um"]


def tables(design: Any, key: str) -> list[Any]:
    """The tables of a list, whatever else was made of it."""
    items = design.get(key) if isinstance(design, dict) else None
    return [item for item in items if isinstance(item, dict)] if isinstance(items, list) else []
