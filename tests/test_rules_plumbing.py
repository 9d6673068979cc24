"""The plumbing rules, one table: rule, kind, where, what the evidence says, what was changed in the base design, what mends it.

On the aircraft of the base design (designs.py), in mm: the main tank is full at z = 1200 (the filler's lip), its vent opens
at (570, 0, 1240) and its line rises to 1310; its outlet is at (600, 0, 955), the header's inlet at (500, 0, 550), the
header's outlet at (600, 0, 375), the filter at (200, 0, 300). It holds 48.5 L, the header 8.912 L.
"""

from __future__ import annotations

from typing import Any

import pytest
from designs import REMOVE
from numpy.testing import assert_allclose
from rule_cases import Case, check

from fuelsys.model.findings import Outcome
from fuelsys.rules.vent_line import DESCENT_M_S, PRESSURE_PER_M

FAIL, CAUTION = Outcome.FAIL, Outcome.CAUTION


def mm(x: float, y: float, z: float) -> list[str]:
    return [f"{x:g} mm", f"{y:g} mm", f"{z:g} mm"]


def line(name: str, kind: str, start: str, end: str, *path: list[str]) -> dict[str, Any]:
    return {"name": name, "kind": kind, "from": start, "to": end, "bore": "8 mm", "path": list(path)}


MAIN_FEED, HEADER_FEED = "main.outlet to header.from main", "header.outlet to engine"
TO_PUMP = "header.outlet to boost pump"
MAIN_VENT, HEADER_VENT = "main.vent to overboard", "header.vent to main.vent"
NO_FILLER = {"tank.0.filler": REMOVE}
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
# The shut-off chooses between header and main.
SELECTOR = {"component.2.kind": "selector", "line.9": line("main to selector", "feed", "main.outlet", "shut-off")}
INTO_HEADER = {
    "tank.1.return": [{"name": "return", "position": mm(100, 60, 260), "bore": "6 mm"}],
    "line.8.to": "header.return",
}

CASES = [
    # --- vents in the tank
    Case("vent-missing", "good", "main", ("1: vent",)),
    Case(
        "vent-missing",
        "bad",
        "header",
        ("none is a vent",),
        {"line.1": REMOVE, "tank.1.vent": []},
        "highest point",
        FAIL,
    ),
    Case("vent-missing", "unknown", "spare", ("needs its fittings",), SPARE),
    # Vent and lip stand on one y: rolled by 2° the 40 mm between them shrink to 40 cos 2° = 39.98.
    Case("vent-below-full-level", "good", "main.vent", ("filled to the filler", "40.0 mm above the fuel")),
    Case(
        "vent-below-full-level",
        "bad",
        "main.vent",
        ("at parked (pitch 0.0°, roll 0.0°)", "drowned by 10.0 mm"),
        LOW_VENT | {"line.0.path": [mm(570, 0, 1300)]},
        "more than 10.0 mm",
        FAIL,
    ),
    Case(
        "vent-below-full-level",
        "bad",
        "main.vent",
        ("drowned by 10.0 mm", "second stays open"),
        LOW_VENT
        | {"line.0.path": [mm(570, 0, 1300)], "tank.0.vent.1": {"name": "second", "position": mm(170, 250, 240)}}
        | {"line.9": line("second vent", "vent", "main.second", "overboard", mm(570, 0, 1300))},
        "",
        CAUTION,
    ),
    Case("vent-below-full-level", "unknown", "main", ("needs a filler",), NO_FILLER),
    # Without a filler a header is full only below a tank that stands higher and feeds it by gravity.
    Case(
        "vent-below-full-level",
        "unknown",
        "header",
        ("a tank that stands higher",),
        {"tank.1.position": mm(500, -80, 1100)},
    ),
    Case(
        "vent-below-full-level",
        "unknown",
        "header",
        ("a tank that stands higher",),
        {
            "component.6": {"name": "lift pump", "kind": "pump", "position": mm(480, 0, 800)},
            "line.2": line("main to pump", "feed", "main.outlet", "lift pump"),
            "line.9": line("pump to header", "feed", "lift pump", "header.from main"),
        },
    ),
    Case("vent-below-full-level", "not asked", "header", ("filled by main alone",)),
    Case("vent-not-at-top", "good", "main", ("0 mL of air",)),
    # The roof hopper above the lip: 3.4 L of 48.5 L. With the line straight overboard fuel stops 10 mm lower: 2 L more.
    Case(
        "vent-not-at-top",
        "bad",
        "main",
        ("3.40 L of air, 7.0", "reach no open vent"),
        LOW_VENT | {"line.0.path": [mm(570, 0, 1300)], "attitude.1": REMOVE},
        "240) mm",
        FAIL,
    ),
    Case(
        "vent-not-at-top",
        "bad",
        "main",
        ("5.40 L of air, 11.1",),
        LOW_VENT | {"attitude.1": REMOVE},
        "to the top of that air",
    ),
    # The header stands full; its roof hopper of 0.352 L of 8.912 L lies above a vent at the top of the rear wall.
    Case(
        "vent-not-at-top",
        "bad",
        "header",
        ("0.35 L of air, 3.9",),
        {"tank.1.vent.0.position": mm(200, 80, 240), "attitude.1": REMOVE},
        "260) mm",
        FAIL,
    ),
    Case("vent-not-at-top", "unknown", "main", ("needs a filler",), NO_FILLER),
    Case("vent-leads-nowhere", "good", "main.vent", ("overboard at overboard",)),
    Case("vent-leads-nowhere", "good", "header.vent", ("to main.vent, which is vented overboard at overboard",)),
    Case(
        "vent-leads-nowhere",
        "bad",
        "header.vent",
        ("header vent: no vent line goes on",),
        {"component.6": TEE, "line.1.to": "tee"},
        "",
        FAIL,
    ),
    Case("vent-leads-nowhere", "bad", "header.vent", ("leads to main only",), {"line.0": REMOVE}, "overboard", FAIL),
    Case("vent-leads-nowhere", "unknown", "header.vent", ("needs a vent line from it",), NO_HEADER_VENT_LINE),
    # --- vent lines
    # Ground attitudes and cruise: three.
    Case("vent-line-low-point", "good", MAIN_VENT, ("no undrained low point at 3 attitudes",)),
    Case(
        "vent-line-low-point",
        "good",
        MAIN_VENT,
        ("vent has a drain",),
        VENT_DIP | {"line.0.drains": [mm(570, 200, 1250)]},
    ),
    # Half of 8 mm: a dip of 4 is let pass, one of 5 is not.
    Case(
        "vent-line-low-point", "good", MAIN_VENT, ("no undrained",), VENT_DIP | {"line.0.path.1": mm(570, 10, 1296.1)}
    ),
    Case("vent-line-low-point", "bad", MAIN_VENT, ("dips by 5.0 mm",), VENT_DIP | {"line.0.path.1": mm(570, 10, 1295)}),
    Case(
        "vent-line-low-point",
        "bad",
        MAIN_VENT,
        ("vent dips by 50.0 mm at (570, 200, 1250) mm without a drain, at parked",),
        VENT_DIP,
        "Raise the line at (570, 200, 1250) mm by 50.0 mm",
        FAIL,
    ),
    Case("vent-line-low-point", "unknown", "header.vent", ("needs a vent line",), NO_HEADER_VENT_LINE),
    Case(
        "vent-line-low-point", "unknown", "header vent", ("needs the lines",), {"component.6": TEE, "line.1.to": "tee"}
    ),
    # Highest at 1310, 400 to the right: 110 above the lip; with the right wing up by 2° more, so that parked is the least.
    Case(
        "vent-line-siphons", "good", MAIN_VENT, ("110.0 mm above the filler's lip at parked (pitch 0.0°, roll 0.0°)",)
    ),
    Case(
        "vent-line-siphons", "bad", MAIN_VENT, ("10.0 mm below the filler's lip",), LOW_VENT, "more than 10.0 mm", FAIL
    ),
    Case("vent-line-siphons", "unknown", MAIN_VENT, ("needs the filler of main",), NO_FILLER),
    Case("vent-line-siphons", "not asked", "header.vent to mast", ("header is filled by other tanks alone",), APART),
    # On 1 % falling to the right a point 450 mm to the right stands 4.5 mm lower against the fuel: 3 above becomes 1.5 below.
    # The line's highest point, 400 mm to the right, 110 above the fuel: 4 less where the ground falls to the right.
    Case(
        "vent-spills-on-slope", "good", "main.vent", ("falls by 1 % to the right", "106.0 mm below the highest point")
    ),
    # Air that is trapped in the header (0.352 L) keeps its room, and the level stays.
    Case(
        "vent-spills-on-slope", "good", "main.vent", ("106.0 mm below",), {"tank.1.vent.0.position": mm(200, 80, 240)}
    ),
    # A second line leads from the vent straight overboard: where the ground falls to the nose the vent itself, 30 mm before
    # the tank's middle and 40 above the fuel, goes over first, 40 - 0.3.
    Case(
        "vent-spills-on-slope",
        "good",
        "main.vent",
        ("to the nose", "39.7 mm below"),
        {"line.9": line("second", "vent", "main.vent", "overboard")},
    ),
    Case(
        "vent-spills-on-slope",
        "good",
        "main.vent",
        ("mm below",),
        OVER_THE_RIGHT | {"line.0.path": [mm(600, 450, 1205)]},
    ),
    Case(
        "vent-spills-on-slope",
        "bad",
        "main.vent",
        ("falls by 1 % to the right (pitch 0.0°, roll +0.6°)", "1.5 mm above the highest point"),
        OVER_THE_RIGHT,
        "more than 1.",
        FAIL,
    ),
    # The mast's foot, at 1100, stands below the main's fuel, which fills the header and its vent line.
    Case(
        "vent-spills-on-slope",
        "bad",
        "header.vent",
        ("above the highest point",),
        APART | {"component.6.position": mm(900, 0, 1100), "line.1.path": []},
        "",
        FAIL,
    ),
    Case("vent-spills-on-slope", "unknown", "main, header", ("needs a filler of main",), NO_FILLER),
    # 1/4 in with a wall of 0.035 in is 4.572 mm inside.
    Case("vent-bore-small", "good", MAIN_VENT, ("narrowest bore is 4.6 mm",), {"line.0.bore": "0.18 in"}),
    # 36 L/h = 0.6 L/min are burnt; 48.5 L of air grow denser at 5.42 L/min for each 100 L (see below): 3.23 L/min through
    # 12.57 mm2 are 4.28 m/s.
    Case(
        "vent-bore-small",
        "bad",
        MAIN_VENT,
        ("narrowest bore is 4.0 mm", "3.2 L/min of air come in at 4.3 m/s"),
        {"line.0.bore": "4 mm"},
        "1/4 in",
        CAUTION,
    ),
    Case("vent-bore-small", "unknown", "header.vent", ("needs a vent line",), NO_HEADER_VENT_LINE),
    Case("header-vent-apart", "good", "header.vent", ("joins main.vent, 40.0 mm above",)),
    Case(
        "header-vent-apart",
        "bad",
        "header.vent",
        ("leads to mast, apart from main",),
        APART,
        "top of a main tank",
        CAUTION,
    ),
    # The inlet of the return in the wall at 1100, 100 below the full level.
    Case(
        "header-vent-apart",
        "bad",
        "header.vent",
        ("joins main.return, which is drowned by 100.0 mm",),
        {"tank.0.return.0.position": mm(0, 250, 100), "line.1.to": "main.return"},
        "above the fuel",
        CAUTION,
    ),
    Case("header-vent-apart", "unknown", "header.vent", ("needs its vent line",), NO_HEADER_VENT_LINE),
    # --- connected tanks
    Case("airspaces-not-connected", "good", "main, header", ("one vent system",)),
    Case("airspaces-not-connected", "bad", "main, header", ("are apart: main | header",), APART, "Connect", FAIL),
    Case(
        "airspaces-not-connected", "unknown", "main, header", ("needs the vent lines of header",), NO_HEADER_VENT_LINE
    ),
    Case("full-tanks-overflow", "good", "main, header", ("below the highest point of the line of main.vent",)),
    # The vent's opening in the front wall is the line's highest point; nose down by 10° it goes under.
    Case(
        "full-tanks-overflow",
        "bad",
        "main, header",
        ("at descent", "above the highest point", "gravity feed"),
        LOW_VENT,
        "",
        CAUTION,
    ),
    Case(
        "full-tanks-overflow",
        "bad",
        "main, header",
        ("at descent", "above the highest point"),
        LOW_VENT | {"aircraft.feed": "gravity"},
        "valve or selector",
        FAIL,
    ),
    Case("full-tanks-overflow", "unknown", "main, header", ("needs a filler of main",), NO_FILLER),
    # --- feed lines
    Case("feed-line-high-point", "good", MAIN_FEED, ("no high point at any of 6 flight attitudes",)),
    # 980 is 25 above the outlet and 80 mm before it: nose up by 13°, 25 cos 13° + 80 sin 13° = 42.4; proud of the dip at
    # (560, 0, 900) by 80 cos 13° + 40 sin 13° = 86.9.
    Case(
        "feed-line-high-point",
        "bad",
        MAIN_FEED,
        ("steep climb", "(520, 0, 980) mm, 86.9 mm proud", "42.4 mm above the outlet"),
        HUMP,
        "Lower the line at (520, 0, 980) mm by 87.0 mm",
        FAIL,
    ),
    # Below the outlet a pump draws over it until vapour gathers. Nose up by p it stands 20 cos p + 100 sin p above the dip
    # behind it, 50 cos p - 100 sin p above the filter before it: the smaller is greatest at 8°, 33.7 (of 35.6); at 13° 26.2.
    Case(
        "feed-line-high-point",
        "bad",
        TO_PUMP,
        ("at climb", "(300, 0, 350) mm, 33.7 mm proud"),
        {"line.3.path": [mm(400, 0, 330), mm(300, 0, 350)]},
        "Lower the line",
        CAUTION,
    ),
    # By gravity too a hump below the outlet lets the last fuel over it, when no vapour stands in it.
    Case(
        "feed-line-high-point",
        "bad",
        MAIN_FEED,
        ("(520, 0, 780) mm",),
        {"line.2.path": [mm(560, 0, 700), mm(520, 0, 780)]},
        "Lower the line",
        CAUTION,
    ),
    Case("feed-line-high-point", "unknown", "main.outlet", ("needs a feed line from it",), {"line.2": REMOVE}),
    Case(
        "feed-line-high-point",
        "unknown",
        "filter to shut-off",
        ("each line from `from` to `to`",),
        {"line.4.from": "shut-off", "line.4.to": "filter"},
    ),
    Case(
        "feed-line-high-point",
        "unknown",
        "main feed",
        ("from a tank's outlet",),
        {"line.2.from": "header.from main", "line.2.to": "main.outlet"},
    ),
    # The filter, with its drain, is the low point.
    Case("feed-line-low-point", "good", HEADER_FEED, ("drained: filter",)),
    Case(
        "feed-line-low-point", "good", MAIN_FEED, ("drained: main feed",), TRAP | {"line.2.drains": [mm(480, 0, 500)]}
    ),
    Case(
        "feed-line-low-point",
        "bad",
        MAIN_FEED,
        ("at parked", "main feed dips by 50.0 mm at (480, 0, 500) mm without a drain"),
        TRAP,
        "Raise the line at (480, 0, 500) mm by 50.0 mm",
        FAIL,
    ),
    # 1 above the inlet and 200 to the left: only with the left wheel in the hollow, by 200 sin 2° - cos 2° = 6.0.
    Case(
        "feed-line-low-point",
        "bad",
        MAIN_FEED,
        ("left wheel in a hollow", "dips by 6.0 mm"),
        {"line.2.path": [mm(480, -200, 551)]},
        "",
        CAUTION,
    ),
    # A pump that is lower than both its lines is a trap too: at 280, 60 below the engine at 340, the smaller of the two rises.
    Case(
        "feed-line-low-point",
        "bad",
        HEADER_FEED,
        ("boost pump dips by 60.0 mm at (100, 0, 280) mm",),
        {"component.3.position": mm(100, 0, 280), "line.4.path": []},
    ),
    # The selector at 290 is the low point, 50 below the engine; the other tank's line, shut, does not empty it though it dips.
    Case(
        "feed-line-low-point",
        "bad",
        HEADER_FEED,
        ("shut-off dips by 50.0 mm at (150, 0, 290) mm",),
        SELECTOR | {"component.2.position": mm(150, 0, 290), "line.9.path": [mm(300, 100, 200)]},
    ),
    Case("feed-line-low-point", "unknown", HEADER_FEED, ("whether filter has a drain",), {"component.1.drain": REMOVE}),
    Case("feed-line-low-point", "unknown", "main.outlet", ("needs a feed line",), {"line.2": REMOVE}),
    # Outlet 955, inlet 550 and 100 mm before it: nose up by 13°, 405 cos 13° - 100 sin 13° = 372.1.
    Case("feed-not-downhill", "good", MAIN_FEED, ("at steep climb", "372.1 mm above the end")),
    # The main tank 500 lower: 95 cos 13° + 100 sin 13° = 115.1 uphill.
    Case(
        "feed-not-downhill",
        "bad",
        MAIN_FEED,
        ("at steep climb", "115.1 mm below the end"),
        {"tank.0.position": mm(400, -250, 500)},
        "",
        FAIL,
    ),
    # Header at 375, engine at 340 and 900 mm before it: nose up by 13°, 35 cos 13° - 900 sin 13° = -168.4.
    Case(
        "feed-not-downhill",
        "bad",
        HEADER_FEED,
        ("at steep climb", "168.4 mm below the end"),
        {"aircraft.feed": "gravity", "line.5.to": "engine", "line.6": REMOVE},
    ),
    Case("feed-not-downhill", "unknown", "main.outlet", ("needs a feed line",), {"line.2": REMOVE}),
    Case("feed-not-downhill", "unknown", "engine", ("needs an engine",), NO_ENGINE_LINE | {"aircraft.feed": "gravity"}),
    # 36 + 20 L/h = 15.556 mL/s through 8 mm, 50.27 mm2: 0.31 m/s; through 3 mm, 7.069 mm2: 2.20 m/s, and 3 sqrt(2.2007 /
    # 1.5) = 3.634 mm would do.
    Case(
        "feed-line-velocity",
        "good",
        TO_PUMP,
        ("36.0 L/h at take-off and 20.0 L/h return through 8.0 mm make 0.31 m/s",),
    ),
    Case(
        "feed-line-velocity",
        "bad",
        TO_PUMP,
        ("2.20 m/s", "1.5 m/s"),
        {"line.3.bore": "3 mm"},
        "at least 3.7 mm",
        CAUTION,
    ),
    # Behind a pump 6 m/s are usual.
    Case("feed-line-velocity", "good", "engine pump to engine", ("2.20 m/s; 6 m/s",), {"line.7.bore": "3 mm"}),
    # What comes back into the header does not pass the main's line.
    Case("feed-line-velocity", "good", MAIN_FEED, ("36.0 L/h at take-off through 8.0 mm make 0.20 m/s",), INTO_HEADER),
    Case("feed-line-velocity", "unknown", TO_PUMP, ("needs a flow named takeoff",), {"flows.takeoff": REMOVE}),
    Case("feed-line-velocity", "unknown", TO_PUMP, ("return_flow",), {"component.5.return_flow": REMOVE}),
    # --- what stands in them
    Case("filter-missing", "good", HEADER_FEED, ("filter stands before boost pump",)),
    Case(
        "filter-missing",
        "bad",
        HEADER_FEED,
        ("no filter among",),
        {"line.3.to": "shut-off", "line.4": REMOVE},
        "",
        FAIL,
    ),
    # header, shut-off, boost pump, filter, engine pump.
    Case(
        "filter-missing",
        "bad",
        HEADER_FEED,
        ("filter stands behind boost pump",),
        {"line.3.to": "shut-off", "line.6.from": "filter", "line.4.from": "boost pump", "line.4.to": "filter"},
        "before the first pump",
        CAUTION,
    ),
    Case("filter-missing", "unknown", "engine", ("needs feed lines",), NO_ENGINE_LINE),
    Case("filter-without-drain", "good", "filter", ("has a drain",)),
    Case(
        "filter-without-drain", "bad", "filter", ("no drain",), {"component.1.drain": False}, "bowl comes off", CAUTION
    ),
    Case("filter-without-drain", "unknown", "filter", ("needs",), {"component.1.drain": REMOVE}),
    # 48.5 + 8.912 = 57.412 L, divided by 2560: 22.4 mL.
    Case("sediment-bowl-small", "good", HEADER_FEED, ("60 mL", "57.4 L in header, main; 22 mL")),
    Case(
        "sediment-bowl-small",
        "bad",
        HEADER_FEED,
        ("22 mL of sediment",),
        {"component.1.sediment": "22.4 mL"},
        "larger",
        FAIL,
    ),
    Case("sediment-bowl-small", "good", HEADER_FEED, ("23 mL of",), {"component.1.sediment": "22.5 mL"}),
    Case(
        "sediment-bowl-small", "unknown", HEADER_FEED, ("sediment volume of filter",), {"component.1.sediment": REMOVE}
    ),
    Case("sediment-bowl-small", "not asked", "engine", ("piston",), {"aircraft.engine": "turbine"}),
    Case("shut-off-missing", "good", HEADER_FEED, ("shut-off can stop it",)),
    Case(
        "shut-off-missing",
        "bad",
        HEADER_FEED,
        ("no valve",),
        {"line.4.to": "boost pump", "line.5": REMOVE},
        "firewall",
        FAIL,
    ),
    Case("shut-off-missing", "unknown", "engine", ("needs feed lines",), NO_ENGINE_LINE),
    Case("shut-off-on-engine-side", "good", HEADER_FEED, ("before the firewall",)),
    Case(
        "shut-off-on-engine-side",
        "bad",
        HEADER_FEED,
        ("engine's side",),
        {"component.2.engine_side": True},
        "Move",
        FAIL,
    ),
    Case("shut-off-on-engine-side", "unknown", HEADER_FEED, ("which side",), {"component.2.engine_side": REMOVE}),
    Case("pump-draws-from-two-tanks", "good", "boost pump", ("from header alone",)),
    Case("pump-draws-from-two-tanks", "good", "engine pump", ("from boost pump alone",)),
    Case("pump-draws-from-two-tanks", "good", "boost pump", ("shut-off chooses between main, header",), SELECTOR),
    Case(
        "pump-draws-from-two-tanks",
        "bad",
        "boost pump",
        ("from main, header at the same time",),
        TWO_TANKS,
        "selector",
        FAIL,
    ),
    Case(
        "pump-draws-from-two-tanks",
        "bad",
        "boost pump",
        ("each through a valve of its own",),
        {
            "component.6": {"name": "main valve", "kind": "valve", "position": mm(150, 100, 310)},
            "line.9": line("main to valve", "feed", "main.outlet", "main valve"),
            "line.10": line("valve to pump", "feed", "main valve", "boost pump"),
        },
        "",
        CAUTION,
    ),
    Case("pump-draws-from-two-tanks", "unknown", "boost pump", ("needs a feed line",), {"line.5": REMOVE}),
    Case("pump-missing", "good", "engine", ("boost pump, engine pump",)),
    Case(
        "pump-missing", "bad", "engine", ("engine pump alone",), {"line.5.to": "engine pump"}, "emergency pump", CAUTION
    ),
    Case("pump-missing", "bad", "engine", ("no pump",), {"line.5.to": "engine", "line.6": REMOVE}, "", FAIL),
    Case("pump-missing", "unknown", "engine", ("needs feed lines",), NO_ENGINE_LINE),
    Case("pump-missing", "not asked", "engine", ("gravity",), {"aircraft.feed": "gravity"}),
    # --- returns
    Case("return-missing", "good", "engine to main.return", ("20 L/h has a line to main.return",)),
    Case(
        "return-missing",
        "bad",
        "engine",
        ("no return line for its return flow of 20 L/h",),
        {"line.8": REMOVE},
        "top",
        FAIL,
    ),
    Case(
        "return-missing",
        "bad",
        "engine to filter",
        ("in the feed line, not in a tank",),
        {"line.8.to": "filter"},
        "",
        FAIL,
    ),
    # A pressure regulator on the feed, from which the return leaves.
    Case("return-missing", "good", "shut-off to main.return", ("20 L/h",), {"line.8.from": "shut-off"}),
    Case("return-missing", "unknown", "return", ("needs the lines",), {"component.6": TEE, "line.8.to": "tee"}),
    Case(
        "return-missing",
        "unknown",
        "return",
        ("from an engine to a tank",),
        {"line.8.from": "main.return", "line.8.to": "engine"},
    ),
    Case(
        "return-missing",
        "not asked",
        "engine",
        ("states no return flow",),
        {"line.8": REMOVE, "component.5.return_flow": REMOVE},
    ),
    Case("return-not-to-top", "good", "engine to main.return", ("40.0 mm above the fuel of the full tank main",)),
    # 1100: 100 below the fuel, 140 below the roof; the upper tenth of 300 mm begins at 1210, so the fuel's level is nearer.
    Case(
        "return-not-to-top",
        "bad",
        "engine to main.return",
        ("100.0 mm below the full tank's level, 140.0 mm below the top",),
        {"tank.0.return.0.position": mm(0, 250, 100)},
        "at least 100.0 mm",
        FAIL,
    ),
    # The header stands full: its roof is the top, and a tenth of its 310 mm.
    Case("return-not-to-top", "good", "engine to header.return", ("0.0 mm above the fuel",), INTO_HEADER),
    Case(
        "return-not-to-top",
        "good",
        "engine to header.return",
        ("30.0 mm below the top",),
        INTO_HEADER | {"tank.1.return.0.position": mm(200, 80, 230)},
    ),
    Case(
        "return-not-to-top",
        "bad",
        "engine to header.return",
        ("40.0 mm below the top",),
        INTO_HEADER | {"tank.1.return.0.position": mm(200, 80, 220)},
        "at least 9.0 mm",
        FAIL,
    ),
    Case(
        "return-not-to-top",
        "unknown",
        "engine to main.return",
        ("needs a filler or a vent of main",),
        {"line.1": REMOVE, "line.0": REMOVE, "tank.0.vent": [], "tank.0.filler": REMOVE},
    ),
    Case("return-heats-small-tank", "good", "engine to main.return", ("main holds 48.5 L, 162 min",)),
    # 18 L/h of 0.72 kg/L at 2.1 kJ/(kg K): 3.6 g/s x 2100 = 7.56 W/K; 200 W are 26.5 K, 150 W 19.8 K.
    Case(
        "return-heats-small-tank",
        "bad",
        "engine to header.return",
        ("200 W into the 18.0 L/h", "up to 26 K", "header holds 8.9 L, 30 min at cruise"),
        INTO_HEADER,
        "Return to a main tank",
        CAUTION,
    ),
    Case(
        "return-heats-small-tank",
        "good",
        "engine to header.return",
        ("20 K",),
        INTO_HEADER | {"component.5.heat": "150 W"},
    ),
    Case(
        "return-heats-small-tank",
        "unknown",
        "engine to header.return",
        ("heat",),
        INTO_HEADER | {"component.5.heat": REMOVE},
    ),
    Case(
        "return-does-not-follow-selector",
        "good",
        "shut-off",
        ("switched",),
        SELECTOR | {"component.2.switches_return": True},
    ),
    Case(
        "return-does-not-follow-selector",
        "bad",
        "shut-off",
        ("between main, header; the return goes to main whichever feeds",),
        SELECTOR | {"component.2.switches_return": False},
        "switches the return",
        CAUTION,
    ),
    Case("return-does-not-follow-selector", "unknown", "shut-off", ("switches_return",), SELECTOR),
    Case(
        "return-does-not-follow-selector",
        "not asked",
        "shut-off",
        ("does not choose",),
        {"component.2.kind": "selector"},
    ),
]


@pytest.mark.parametrize("case", CASES, ids=lambda case: case.title)
def test_the_rule_says_what_the_case_expects(case: Case) -> None:
    check(case)


def test_air_that_comes_in_on_the_way_down() -> None:
    # Computed from the hydrostatic law: 100 L at 1500 ft/min at sea level need 5.42 L/min.
    assert_allclose(0.1 * PRESSURE_PER_M * DESCENT_M_S * 6e4, 5.42, atol=5e-3)
