"""Whole designs of sound fuel systems, to plant faults in: tanks as meshes, fittings, lines, attitudes.

Lengths are in mm; the tanks' meshes lie in the aircraft's axes: x aft, y right, z up.
"""

from __future__ import annotations

import json
from math import radians, tan
from typing import Any

import numpy as np
from manifold3d import Manifold

Table = dict[str, Any]
PLACARDS = {"avgas": "Avgas 100LL", "mogas": "Mogas RON 95", "diesel": "Diesel EN 590"}
DENSITIES = {"avgas": "0.72 kg/L", "mogas": "0.745 kg/L", "diesel": "0.835 kg/L"}
SIDES = (("left", 1), ("right", -1))


def at(x: float, y: float, z: float) -> list[str]:
    return [f"{v:.6g} mm" for v in (x, y, z)]


def inline(value: object) -> str:
    if isinstance(value, dict):
        return "{ " + ", ".join(f"{key} = {inline(one)}" for key, one in value.items()) + " }"
    return "[" + ", ".join(map(inline, value)) + "]" if isinstance(value, list) else json.dumps(value)


def toml(design: Table) -> str:
    found = []
    for key, value in design.items():
        for table in value if isinstance(value, list) else [value]:
            found += [f"[[{key}]]" if isinstance(value, list) else f"[{key}]"]
            found += [f"{name} = {inline(one)}" for name, one in table.items()]
    return "\n".join(found) + "\n"


# --- shapes


def hull(*points: tuple[float, float, float]) -> Manifold:
    return Manifold.hull_points(np.array(points, dtype=float))


def box(x0: float, x1: float, y0: float, y1: float, z0: float, z1: float) -> Manifold:
    return Manifold.cube((x1 - x0, y1 - y0, z1 - z0)).translate((x0, y0, z0))


def sump(x: float, y: float, z: float) -> Manifold:
    """A pyramid that reaches from 35 above z down to 60 below it."""
    return hull(*[(x + s * h, y + t * h, z + dz) for s in (-1, 1) for t in (-1, 1) for h, dz in ((30, -60), (70, 35))])


class Wing:
    """A left wing tank with ribs: floor and roof fall to the rear by fall and to the root by dihedral (degrees)."""

    def __init__(
        self, z=1740, span=800, deep=170, fall=9.0, dihedral=7.0, ribs=(0.35, 0.7), notch=25, forward=False
    ) -> None:
        self.x, self.y, self.z, self.chord, self.span, self.deep = 1000.0, -600.0, z, 500.0, span, deep
        self.fall, self.dihedral, self.ribs, self.notch = tan(radians(fall)), tan(radians(dihedral)), ribs, notch
        self.sx, self.sy = self.x + (75 if forward else self.chord - 75), self.y - 75
        self.sz = self.floor(self.sx + 75, self.y)

    def floor(self, x: float, y: float) -> float:
        return self.z + (self.x + self.chord - x) * self.fall + (self.y - y) * self.dihedral

    @property
    def tip(self) -> tuple[float, float, float]:
        """The highest corner: roof, front, tip."""
        return self.x, self.y - self.span, self.floor(self.x, self.y - self.span) + self.deep

    def at(self, u: float, v: float, w: float, dz: float = 0) -> list[str]:
        """u from front to rear, v from root to tip, w from floor to roof."""
        x, y = self.x + u * self.chord, self.y - v * self.span
        return at(x, y, self.floor(x, y) + w * self.deep + dz)

    def solid(self) -> Manifold:
        xs, ys = (self.x, self.x + self.chord), (self.y, self.y - self.span)
        body = hull(*[(x, y, self.floor(x, y) + w) for x in xs for y in ys for w in (0, self.deep)])
        for share in self.ribs:
            body -= self._rib(self.y - share * self.span)
        return body + sump(self.sx, self.sy, self.sz)

    def _rib(self, y: float) -> Manifold:
        front, rear, middle = self.x, self.x + self.chord, self.x + self.chord / 2
        low, high, hole = self.floor(rear, y), self.floor(front, y), self.floor(middle, y)
        openings = [
            (rear - 40, rear + 9, low + self.deep - 20, low + self.deep + 60),
            (front - 9, front + 30, high + self.deep - 25, high + self.deep + 60),
            (middle - 60, middle + 60, hole + 60, hole + 110),
        ]
        if self.notch:
            openings += [
                (rear - 40, rear + 9, low - 60, low + self.notch),
                (front - 9, front + 30, high - 60, high + 20),
            ]
        rib = box(front - 9, rear + 9, y - 1, y + 1, self.z - 400, self.z + 900)
        for x0, x1, z0, z1 in openings:
            rib -= box(x0, x1, y - 9, y + 9, z0, z1)
        return rib


class Can:
    """A standing can with a conical floor and roof."""

    x, y, z, r, h = 900.0, 0.0, 350.0, 95.0, 280.0

    def solid(self) -> Manifold:
        rings = ((40, 12, self.r, 0), (self.h - 80, self.r, self.r, 40), (40, self.r, 12, self.h - 40))
        parts = [Manifold.cylinder(h, a, b, 48).translate((self.x, self.y, self.z + z)) for h, a, b, z in rings]
        return parts[0] + parts[1] + parts[2]


class Hopper:
    """A fuselage tank: floor and ridge of the roof fall to the rear, a V floor, a sump at the rear."""

    def __init__(self, x=200, z=900, half=220, high=260) -> None:
        self.x, self.z, self.long, self.half, self.high = x, z, 450, half, high
        self.fall, self.vee = tan(radians(9)), tan(radians(8))
        self.sx, self.sy, self.sz = x + self.long - 75, 0, z

    @property
    def top(self) -> float:
        return self.z + self.long * self.fall + self.high

    def spot(self, u: float, y: float, w: int) -> tuple[float, float, float]:
        """u from front to rear, w 0 for the floor and 1 for the roof."""
        z = self.z + (1 - u) * self.long * self.fall
        return self.x + u * self.long, y, z + (self.high - abs(y) * self.vee if w else abs(y) * self.vee)

    def at(self, u: float, y: float, w: int, dz: float = 0) -> list[str]:
        x, y, z = self.spot(u, y, w)
        return at(x, y, z + dz)

    def solid(self) -> Manifold:
        corners = [self.spot(u, y, w) for u in (0, 1) for y in (-self.half, 0, self.half) for w in (0, 1)]
        return hull(*corners) + sump(self.sx, self.sy, self.sz)


# --- fittings, parts, lines


def port(name: str, place: list[str], bore: float = 8) -> Table:
    return {"name": name, "position": place, "bore": f"{bore} mm"}


def outlet(place: list[str], name: str = "outlet") -> Table:
    strainer = {"mesh": "12 1/in", "clear_area": "900 mm2", "diameter": "22 mm"}
    return port(name, place, 12) | {"cover": "3 mm", "strainer": strainer}


def switch(mark: list[str], target: str = "10 min") -> Table:
    sizes = {"differential": "3 mm", "tolerance": "2 mm", "clearance": "10 mm"}
    return {"name": "low level", "mark": mark, "target": target} | sizes


def tank(name: str, shape: Wing | Hopper, lamp: float, fuel: str, vent: list[str], filler: list[list[str]]) -> Table:
    """Outlet, drain and switch at the sump; filler holds its lip and the floor below it."""
    x, y, z = shape.sx, shape.sy, shape.sz
    head = {"name": name, "mesh": f"{name}.ply", "unit": "mm", "axes": "aft, right, up", "position": at(0, 0, 0)}
    return head | {
        "in_cabin": isinstance(shape, Hopper),
        "outlet": [outlet(at(x, y, z - 5))],
        "vent": [port("vent", vent)],
        "filler": {"position": filler[0], "bore": "58 mm", "bonded": True, "placard": PLACARDS[fuel]},
        "drain": [port("drain", at(x, y, z - 60))],
        "switch": [switch(at(x, y, z + lamp))],
        "gauge": [{"name": "probe", "kind": "probe", "bottom": at(x, y, z - 57), "top": at(x, y, z + 100)}],
        "dipstick": {"top": filler[0], "bottom": filler[1], "zero": "bottom", "step": "5 L"},
    }


def wing_tank(wing: Wing, lamp: float, fuel: str = "avgas", lip: float = -24, at_v: float = 0.85) -> Table:
    filler = [wing.at(0.15, at_v, 1, lip), wing.at(0.15, at_v, 0)]
    return tank("left", wing, lamp, fuel, wing.at(0.02, 0.98, 1, -1), filler)


def hopper_tank(name: str, hopper: Hopper, lamp: float, fuel: str, lip: float = -14) -> Table:
    filler = [hopper.at(0.2, 0, 1, lip), hopper.at(0.2, 0, 0)]
    return tank(name, hopper, lamp, fuel, hopper.at(0.02, 0, 1, -1), filler)


def part(name: str, kind: str, *place: float, **more: object) -> Table:
    return {"name": name, "kind": kind, "position": at(*place)} | more


def shutting(name: str, kind: str, *place: float, **more: object) -> Table:
    return part(name, kind, *place, engine_side=False, **more)


def filtering(name: str, *place: float) -> Table:
    return part(name, "filter", *place, drain=True, sediment="120 mL", drop="1 kPa", drop_at="120 L/h")


def pump(name: str, *place: float, driven: str = "electric") -> Table:
    return part(name, "pump", *place, driven=driven, curve=[["0 L/h", "45 kPa"], ["160 L/h", "22 kPa"]])


def engine(*place: float, needs: float, returns: float = 0, heat: float = 100) -> Table:
    flows = {"return_flow": f"{returns} L/h", "inlet_pressure": f"{needs} kPa", "heat": f"{heat} W"}
    return part("engine", "engine", *place, **flows)


def overboard(name: str, *place: float, clear: bool = True) -> Table:
    return part(name, "overboard", *place, discharges_clear=clear, kept_clear="shielded")


def line(a: str, b: str, bore: float = 10, kind: str = "feed", path: Any = ()) -> Table:
    bends = {"path": [at(*p) for p in path], "bend_radius": "30 mm"} if path else {}
    return {"name": f"{a} to {b}", "kind": kind, "from": a, "to": b, "bore": f"{bore} mm"} | bends


def chain(*ends: str, bore: float = 10, kind: str = "feed") -> list[Table]:
    return [line(a, b, bore, kind) for a, b in zip(ends, ends[1:], strict=False)]


def aircraft(feed, kind="avgas", burn=(34, 30, 22), ground=2, climb=9, descent=-6, slip=5, ceiling="9000 ft") -> Table:
    def flown(name: str, pitch: float, roll: float = 0, **more: object) -> Table:
        return {"name": name, "phase": "flight", "pitch": f"{pitch} deg", "roll": f"{roll} deg"} | more

    stated = {"diesel": {"viscosity": "5 mm2/s"}, "mogas": {"reid_pressure": "60 kPa"}}.get(kind, {})
    words = {"name": "planted", "datum": "the firewall's middle at the floor", "axes": "aft, right, up"}
    limits = {"climb_angle": f"{climb} deg", "limit_load_factor": 3.8, "ceiling": ceiling, "firewall": at(0, 0, 0)}
    parked = {"name": "parked", "phase": "ground", "normal": True, "pitch": f"{ground} deg"}
    climbs = [flown("cruise", 1, normal=True), flown("climb", climb), flown("steep climb", climb + 5)]
    slips = [flown("descent", descent), flown("slip right", 0, slip), flown("slip left", 0, -slip)]
    return {
        "aircraft": words | {"engine": "piston", "feed": feed} | limits,
        "fuel": {"kind": kind, "density": DENSITIES[kind], "reserve_phase": "cruise"} | stated,
        "flows": {name: f"{b} L/h" for name, b in zip(("takeoff", "max_continuous", "cruise"), burn, strict=True)},
        "attitude": [parked, *climbs, *slips],
    }


def tip_vents(wing: Wing) -> tuple[list[Table], list[Table]]:
    """Each vent's line from the tank's highest corner over a loop and down behind the tip."""
    (x, y, z), parts, lines = wing.tip, [], []
    for side, k in SIDES:
        parts.append(overboard(f"{side} vent end", x + 300, k * (y - 60), z - 250))
        loop = [(x + 12, k * (y + 10), z + 45), (x + 60, k * (y - 40), z + 45)]
        lines.append(line(f"{side}.vent", f"{side} vent end", 8, "vent", loop))
    return parts, lines


# --- whole designs: each gives the design and its shapes


def gravity(wing: Wing | None = None, lamp=92, kind="avgas", lip=-24, at_v=0.85, **more) -> tuple[Table, Table]:
    """High wing, two tanks, selector LEFT or RIGHT, gravity."""
    wing = wing or Wing()
    parts, lines = tip_vents(wing)
    design = aircraft("gravity", kind, **more)
    design["tank"] = [wing_tank(wing, lamp, kind, lip, at_v), {"name": "right", "mirror_of": "left"}]
    selector = shutting("selector", "selector", 650, 0, 800, both=False)
    design["component"] = [selector, filtering("filter", 100, 0, 350), engine(-300, 0, 450, needs=2), *parts]
    feed = [*chain("left.outlet", "selector", "filter", "engine", bore=12), line("right.outlet", "selector", 12)]
    design["line"] = [*feed, *lines]
    return design, {"left": wing}


def both(**more) -> tuple[Table, Table]:
    """The same with BOTH: each vent ends beyond the other tip, the airspaces are joined across."""
    design, shapes = gravity(**more)
    wing = shapes["left"]
    x, y, z = wing.tip
    design["tank"][0]["vent"].append(port("air", wing.at(0.02, 0.95, 1, -1)))
    design["component"][0]["both"] = True
    del design["component"][3:], design["line"][4:]
    for side, k in SIDES:
        design["component"].append(overboard(f"{side} vent end", x + 100, k * (60 - y), z - 300))
        over = [(x + 12, k * (y + 10), z + 45), (x + 60, -k * (y - 30), z + 45)]
        design["line"].append(line(f"{side}.vent", f"{side} vent end", 8, "vent", over))
    design["line"].append(line("left.air", "right.air", 8, "vent"))
    return design, shapes


def flat(**more) -> tuple[Table, Table]:
    """High wing with little dihedral: a second vent inboard, both led over a loop at the root."""
    wing = Wing(span=450, dihedral=3, deep=200)
    design, shapes = gravity(wing, 84, lip=-13, at_v=0.5, **more)
    design["tank"][0]["vent"].append(port("inboard", wing.at(0.02, 0.02, 1, -1)))
    x, y, z = wing.tip
    del design["component"][3:], design["line"][4:]
    for side, k in SIDES:
        tee, end = part(f"{side} tee", "tee", x + 10, k * -500, z + 90), f"{side} vent end"
        design["component"] += [tee, overboard(end, x + 600, k * -500, 900)]
        design["line"].append(line(f"{side}.vent", f"{side} tee", 8, "vent", [(x + 10, k * (y + 10), z + 60)]))
        design["line"] += chain(f"{side}.inboard", f"{side} tee", end, bore=8, kind="vent")
    return design, shapes


def low(wing: Wing | None = None, lamp=92, kind="avgas", returns=0, suction=10, pump_at=(350, 0, 215), **more):
    """Low wing, selector LEFT or RIGHT, electric and engine pump; what an injected engine returns follows the selector."""
    wing = wing or Wing(z=330)
    parts, lines = tip_vents(wing)
    design = aircraft("pump", kind, **more)
    left = wing_tank(wing, lamp, kind)
    selector = shutting("selector", "selector", 800, 0, 240, switches_return=bool(returns), both=False)
    pumps = [pump("boost", *pump_at), pump("engine pump", -150, 0, 380, driven="engine")]
    last = engine(-300, 0, 450, needs=10, returns=returns)
    design["component"] = [selector, filtering("filter", 500, 0, 210), *pumps, last, *parts]
    lines += chain("left.outlet", "selector", "filter", "boost", bore=suction)
    lines += [line("right.outlet", "selector", suction), *chain("boost", "engine pump", "engine")]
    if returns:
        left["return"] = [port("return", wing.at(0.04, 0.95, 1, -4))]
        lines += [*chain("engine", "selector", "left.return", bore=8, kind="return")]
        lines += [line("selector", "right.return", 8, "return")]
    design |= {"tank": [left, {"name": "right", "mirror_of": "left"}], "line": lines}
    return design, {"left": wing}


def parallel(**more) -> tuple[Table, Table]:
    """Low wing, two pumps side by side, each with a check valve behind it."""
    design, shapes = low(**more)
    tees = [part("parting", "tee", 400, 0, 212), part("meeting", "tee", 150, 0, 300)]
    others = [one for one in design["component"] if one["kind"] != "pump"]
    pumps = [pump("boost", 300, -60, 225), pump("engine pump", 300, 60, 225, driven="engine")]
    checks = [part("boost check", "check valve", 230, -60, 260), part("engine pump check", "check valve", 230, 60, 260)]
    design["component"] = [*others, *tees, *pumps, *checks]
    design["line"] = [one for one in design["line"] if not {one["from"], one["to"]} & {"boost", "engine pump"}]
    design["line"] += [line("filter", "parting"), line("meeting", "engine")]
    for name in ("boost", "engine pump"):
        design["line"] += chain("parting", name, f"{name} check", "meeting")
    return design, shapes


def headed(**more) -> tuple[Table, Table]:
    """High wing; both tanks run through check valves into a header, from which an injected engine draws and to which it returns."""
    wing, can = Wing(), Can()
    x, z, top = can.x, can.z, can.z + can.h
    parts, lines = tip_vents(wing)
    design = aircraft("pump", **more)
    left = wing_tank(wing, 0) | {"flow_share": "50 %"}
    del left["switch"]
    left["vent"].append(port("air", wing.at(0.02, 0.9, 1, -2)))
    names = {"name": "header", "mesh": "header.ply", "unit": "mm", "axes": "aft, right, up", "position": at(0, 0, 0)}
    header = names | {
        "in_cabin": True,
        "outlet": [outlet(at(x - 30, 0, z + 75))],
        "drain": [port("drain", at(x, 0, z))],
    }
    header["inlet"] = [port(f"from {side}", at(x, k * -70, top - 70), 10) for side, k in SIDES]
    header |= {"vent": [port("vent", at(x, 0, top - 1))], "return": [port("return", at(x + 20, 0, top - 12))]}
    header["switch"] = [switch(at(x, 0, top - 30))]
    for side, k in SIDES:
        parts.append(part(f"{side} check", "check valve", x + 250, k * -300, top + 420))
        lines += chain(f"{side}.outlet", f"{side} check", f"header.from {side}")
    parts += [part("air tee", "tee", 950, 0, 1700), shutting("shut-off", "valve", 600, 0, 330)]
    parts += [
        filtering("filter", 420, 0, 250),
        pump("boost", 280, 0, 260),
        engine(-300, 0, 450, needs=10, returns=30, heat=60),
    ]
    parts.append(pump("engine pump", -150, 0, 380, driven="engine"))
    lines += chain("header.outlet", "shut-off", "filter", "boost", "engine pump", "engine")
    lines += [
        *chain("header.vent", "air tee", "left.air", bore=8, kind="vent"),
        line("air tee", "right.air", 8, "vent"),
    ]
    lines.append(line("engine", "header.return", 8, "return"))
    design |= {"tank": [left, {"name": "right", "mirror_of": "left"}, header], "component": parts, "line": lines}
    return design, {"left": wing, "header": can}


def nose(hopper: Hopper | None = None, lip=-14, clear=True, **more) -> tuple[Table, Table]:
    """One tank, gravity, one shut-off."""
    hopper = hopper or Hopper(z=1000)
    x, top = hopper.x + 0.02 * hopper.long, hopper.top
    design = aircraft("gravity", "mogas", burn=(24, 20, 14), ceiling="6000 ft", **more)
    design["tank"] = [hopper_tank("main", hopper, 64, "mogas", lip)]
    valve = shutting("shut-off", "valve", (hopper.sx + 120) / 3, 0, (hopper.sz + 730) / 3)
    end = overboard("vent end", x + 50, 300, hopper.z - 300, clear=clear)
    design["component"] = [valve, filtering("filter", 60, 0, 370), engine(-350, 0, 400, needs=1), end]
    loop = [(x, 20, top + 60), (x + 20, 120, top + 60)]
    design["line"] = [
        *chain("main.outlet", "shut-off", "filter", "engine"),
        line("main.vent", "vent end", 8, "vent", loop),
    ]
    return design, {"main": hopper}


def transfer(**more) -> tuple[Table, Table]:
    """The same; an electric pump lifts fuel into its tank from an auxiliary one behind the seats."""
    design, shapes = nose(**more)
    aux = Hopper(x=1200, z=450, half=240)
    spare = hopper_tank("aux", aux, 40, "mogas")
    del spare["switch"]
    design["tank"][0]["inlet"] = [port("inlet", shapes["main"].at(0.3, 60, 1, -12))]
    design["tank"].append(spare)
    curve = [["0 L/h", "20 kPa"], ["60 L/h", "8 kPa"], ["120 L/h", "0 kPa"]]
    design["component"] += [filtering("aux filter", 1100, 0, 330), overboard("aux vent end", 1300, 300, 200)]
    stops = {"driven": "electric", "curve": curve, "stops_when_full": True}
    design["component"].append(part("transfer pump", "pump", 900, 0, 330, **stops))
    design["line"] += [*chain("aux.outlet", "aux filter", "transfer pump"), line("transfer pump", "main.inlet", 8)]
    loop = [(1209, 20, aux.top + 50), (1230, 120, aux.top + 50)]
    design["line"].append(line("aux.vent", "aux vent end", 8, "vent", loop))
    return design, shapes | {"aux": aux}


def diesel(**more) -> tuple[Table, Table]:
    """A diesel fed by pumps from the main tank behind the seats; an upper tank runs down into it through a valve."""
    low_one, upper = Hopper(x=1100, z=500, half=260), Hopper(x=1100, z=950, half=260, high=160)
    design = aircraft("pump", "diesel", burn=(32, 28, 20), **more)
    main, over = hopper_tank("main", low_one, 104, "diesel"), hopper_tank("upper", upper, 0, "diesel", lip=-46)
    main["switch"][0]["target"] = "20 min"
    del main["filler"], main["dipstick"], over["switch"]
    main["inlet"] = [port("inlet", low_one.at(0.4, 0, 1, -20), 12)]
    main["return"] = [port("return", low_one.at(0.1, 40, 1, -12))]
    over["vent"].append(port("air from main", upper.at(0.03, 20, 1, -2)))
    valves = [shutting("upper valve", "valve", 1450, 0, 860), shutting("shut-off", "valve", 900, 0, 365)]
    pumps = [pump("boost", 400, 0, 330), pump("engine pump", -150, 0, 420, driven="engine")]
    ends = [engine(-300, 0, 480, needs=10, returns=40, heat=150), overboard("vent end", 1200, 400, 300)]
    lines = chain("upper.outlet", "upper valve", "main.inlet", bore=12)
    lines += chain("main.outlet", "shut-off", "filter", "boost", bore=12) + chain("boost", "engine pump", "engine")
    lines.append(line("engine", "main.return", 8, "return"))
    z = upper.top
    lines.append(line("main.vent", "upper.air from main", 8, "vent", [(1109, 200, 850), (1112, 200, z + 30)]))
    lines.append(line("upper.vent", "vent end", 8, "vent", [(1109, 20, z + 60), (1130, 120, z + 60)]))
    design |= {
        "tank": [main, over],
        "component": [*valves, filtering("filter", 600, 0, 325), *pumps, *ends],
        "line": lines,
    }
    return design, {"main": low_one, "upper": upper}
