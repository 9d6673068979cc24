"""Small designs of boxes to be flown: every tank a box with its corner and size in mm, every figure to be worked by hand."""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

import solids
from designs import toml

from fuelsys.analysis.lines.demand import with_demand
from fuelsys.load.designs.door import load_design
from fuelsys.model.built.layout import Layout

DENSITY, GRAVITY, VISCOSITY = 720.0, 9.80665, 1e-6
HOUR, LITRE = 3600.0, 1e-3
LEVEL = {"name": "level", "pitch": "0 deg", "normal": True}
PUMP = {"name": "pump", "kind": "pump", "position": ["0 mm", "0 mm", "0 mm"]}


def mm(place: Sequence[float]) -> list[str]:
    return [f"{c!r} mm" for c in place]


def box(
    name: str, corner: Sequence[float], size: Sequence[float], ports: Mapping[str, Sequence[float]], **more: Any
) -> dict[str, Any]:
    """A tank: ports are "kind name" with places from its corner; a vent in the middle of its roof."""
    tank: dict[str, Any] = {
        "name": name, "mesh": f"{name}.off", "unit": "mm", "axes": "aft, right, up", "position": mm(corner), "size": list(size),
        "vent": [{"name": "vent", "position": mm([size[0] / 2, size[1] / 2, size[2]]), "bore": "8 mm"}],
    }  # fmt: skip
    for port, place in ports.items():
        kind, _, called = port.partition(" ")
        extra = {"cover": "0 mm"} if kind == "outlet" else {}
        tank.setdefault(kind, []).append({"name": called, "position": mm(place), "bore": "8 mm", **extra})
    return {**tank, **more}


def switch(name: str, mark: Sequence[float]) -> dict[str, Any]:
    return {"name": name, "mark": mm(mark), "differential": "3 mm", "tolerance": "0 mm"}


def line(
    name: str, start: str, end: str, kind: str = "feed", bore: float = 8.0, path: Sequence[Sequence[float]] = ()
) -> dict[str, Any]:
    return {"name": name, "kind": kind, "from": start, "to": end, "bore": f"{bore!r} mm", "path": [mm(p) for p in path]}


def engine(place: Sequence[float], **more: Any) -> dict[str, Any]:
    return {"name": "engine", "kind": "engine", "position": mm(place), **more}


def part(name: str, kind: str, place: Sequence[float], **more: Any) -> dict[str, Any]:
    return {"name": name, "kind": kind, "position": mm(place), **more}


def built(
    folder: Path,
    tanks: Sequence[Mapping[str, Any]],
    components: Sequence[Mapping[str, Any]],
    lines: Sequence[Mapping[str, Any]],
    flow: str = "30 L/h",
    feed: str = "pump",
    flight: Sequence[Mapping[str, Any]] = (),
    attitudes: Sequence[Mapping[str, Any]] = (LEVEL,),
) -> Layout:
    """The design written to a folder and read back through the door."""
    folder.mkdir(parents=True, exist_ok=True)
    kept = []
    for tank in tanks:
        a, b, c = tank["size"]
        points = [(x, y, z) for z in (0.0, c) for x, y in ((0.0, 0.0), (a, 0.0), (a, b), (0.0, b))]
        points, faces = tank.get("solid", (points, solids.BOX_FACES))
        text = "\n".join(" ".join(repr(float(v)) for v in p) for p in points)
        text += "\n" + "\n".join("3 " + " ".join(map(str, f)) for f in faces)
        (folder / tank["mesh"]).write_text(f"OFF\n{len(points)} {len(faces)} 0\n{text}\n", encoding="utf-8")
        kept.append({key: value for key, value in tank.items() if key not in ("size", "solid")})
    ground = {"name": "parked", "phase": "ground", "pitch": "0 deg", "normal": True}
    design = {
        "aircraft": {"name": "boxes", "datum": "corner", "axes": "aft, right, up", "engine": "piston", "feed": feed},
        "fuel": {"kind": "avgas", "density": "720 kg/m3", "viscosity": "1 mm2/s", "reserve_phase": "cruise"},
        "flows": {"takeoff": flow, "cruise": flow},
        "attitude": [ground, *({"phase": "flight", **one} for one in attitudes)],
        "tank": kept, "component": list(components), "line": list(lines), "flight": list(flight),
    }  # fmt: skip
    file = folder / "boxes.toml"
    file.write_text("\n".join(f"{json.dumps(k)} = {toml(v)}" for k, v in design.items() if v), encoding="utf-8")
    return with_demand(load_design(file))


def walled(folder: Path, kind: str = "interconnect") -> Layout:
    """A tip tank whose line, from its floor, comes to the fore pool of a main tank, over a wall of 100 mm from the outlet that feeds."""
    side = [(0, 0), (300, 0), (300, 100), (320, 100), (320, 0), (620, 0), (620, 200), (0, 200)]
    into = "outlet in" if kind == "interconnect" else "inlet in"
    ports = {"outlet aft": (470, 250, 0), into: (150, 500, 0)}
    solid = solids.prism([(float(z), float(x)) for x, z in side[::-1]], 500.0, "y")
    main = box("main", (0, 0, 0), (620, 500, 200), ports, solid=solid)
    tip = box("tip", (0, 1000, 0), (300, 500, 200), {"outlet cross": (150, 0, 0)})
    lines = [line("a", "main.aft", "pump"), line("b", "pump", "engine"), line("j", "tip.cross", "main.in", kind, 30.0)]
    return built(folder, [main, tip], [engine((310, 250, -100)), PUMP], lines)
