"""The tank rules, one table: rule, kind, where, what the evidence says, what was changed in the base design, what mends it.

The base design (designs.py) is two hopper-shaped tanks with level normal attitudes, so figures are worked by hand in
the comments. The main tank holds 48.5 L, the header 8.912 L; below z mm of the walls the header holds 0.88 + 0.032 z L.
"""

from __future__ import annotations

from math import atan, radians, sin, tan
from typing import Any

import numpy as np
import pytest
from designs import ATTITUDES, REMOVE
from numpy.testing import assert_allclose
from rule_cases import Case, check, found, study_of

from fuelsys.analysis.placement import steady_point_m
from fuelsys.model.attitude import Attitude
from fuelsys.model.findings import Outcome


def mm(x: float, y: float, z: float) -> list[str]:
    return [f"{x:g} mm", f"{y:g} mm", f"{z:g} mm"]


# Only level attitudes: below the outlets the main tank then holds, by the prismoidal formula between z = -60 (100 x 100)
# and z = -45 (175 x 200), 15/6 (10000 + 4 x 137.5 x 150 + 35000) = 318750 mm3; the header, between z = -50 (80 x 80) and
# z = -25 (140 x 120), 25/6 (6400 + 4 x 110 x 100 + 16800) = 280000 mm3.
LEVEL = {"attitude": [ATTITUDES[0], ATTITUDES[2]]}
NO_MAIN_OUTLET = {"line.2": REMOVE, "tank.0.outlet": []}
NO_HEADER_OUTLET = {"line.3": REMOVE, "tank.1.outlet": []}
# The lip 12 mm below the top of the roof, 190 x 220 mm wide there: 12/6 (41800 + 4 x 145 x 160 + 10000) = 289200 mm3.
HIGH_LIP = {"tank.0.filler.position": mm(230, 250, 228)}
NOT_CLEAR = {"component.0.discharges_clear": False}
UNSAID = {"component.0.discharges_clear": REMOVE}
# A tank that is only a mesh so far.
SPARE = {
    "tank.2": {"name": "spare", "mesh": "header.off", "unit": "mm", "axes": "aft, right, up", "position": mm(0, 0, 0)}
}
POCKET = {"tank.0.mesh": "pocket.off"}
# 135.833 L, of which 0.25 % are 339.6 mL. Below an outlet at z = -49, where the hopper is 228.33 x 173.33 mm wide:
# 11/6 (10000 + 4 x 164.17 x 136.67 + 39578) = 255424 mm3; at z = -45 (275 x 200): 15/6 (10000 + 4 x 187.5 x 150 + 55000)
# = 443750 mm3.
LARGE = {
    "tank.0.mesh": "large.off",
    "tank.0.outlet.0.position": mm(400, 250, -45),
    "tank.0.vent.0.position": mm(370, 250, 340),
    "tank.0.filler.position": mm(430, 250, 300),
    "tank.0.drain.0.position": mm(400, 250, -60),
    "tank.0.return.0.position": mm(400, 220, 340),
    "tank.0.dipstick": {"top": mm(430, 250, 300), "bottom": mm(430, 250, -58)},
}
STRAINER = "tank.0.outlet.0.strainer"
# D17 of the notes, computed from 14 CFR 23.977: a tube of 3/8 x 0.035 in has 47.14 mm2, its strainer 235.7 mm2.
TUBE = {"tank.0.outlet.0.bore": "0.305 in", "line.2.bore": "0.305 in"}
TURBINE = {"aircraft.engine": "turbine", "fuel.kind": "jet"}
DIESEL = {"fuel.kind": "diesel"}
SWITCH_20, SWITCH_10 = "header switch 20 min", "header switch 10 min"
FAIL, CAUTION = Outcome.FAIL, Outcome.CAUTION


def mark(number: int, x: float, z: float) -> dict[str, Any]:
    return {f"tank.1.switch.{number}.mark": mm(x, 80, z)}


CASES = [
    # The neck reaches down to the top of the walls: the whole roof hopper of 3.4 L stays free. 3.4 / 48.5 = 7.0 %;
    # with the header, which is full, 3.4 / 57.412 = 5.9 %. Bad: 0.02 x 48.5 - 0.2892 = 0.6808 L are lacking.
    Case("expansion-space-small", "good", "main", ("parked", "3.40 L stay free", "7.0 % of 48.50 L")),
    Case("expansion-space-small", "good", "header", ("5.9 % of 57.41 L, counted with main",)),
    Case("expansion-space-small", "good", "main", ("0.6 % of 48.50 L; none is required, since overboard",), HIGH_LIP),
    Case("expansion-space-small", "bad", "main", ("0.29 L", "0.6 %"), HIGH_LIP | NOT_CLEAR, "0.69 L more", FAIL),
    Case("expansion-space-small", "unknown", "main", ("needs whether overboard", "0.29 L"), HIGH_LIP | UNSAID),
    # A header on its own, its vent in the wall at z = 200 and led up from there: above stay 0.032 x 40 + 0.352 = 1.632 L of
    # air that no vent lets out.
    Case(
        "expansion-space-small",
        "bad",
        "header",
        ("0 mL stay free", "1.63 L of trapped air do not count"),
        {"tank.1.vent.0.position": mm(200, 80, 200), "line.1.to": "overboard"} | NOT_CLEAR,
        "0.18 L more",
    ),
    Case(
        "expansion-space-small",
        "unknown",
        "main",
        ("needs a filler or a vent",),
        {"line.1": REMOVE, "line.0": REMOVE, "tank.0.filler": REMOVE, "tank.0.vent": []},
    ),
    # Avgas of 720 kg/m3 filled at 5 °C and soaked to 40 °C grows by 4.645 % (test_warming.py): 45.1 L by 2.09 L, the 48.2108 L
    # below the high lip by 2.24 L.
    Case("expansion-space-used-by-warming", "good", "main", ("filled at 5 °C grow by 2.09 L", "room for 3.40 L")),
    Case("expansion-space-used-by-warming", "bad", "main", ("2.24 L", "room for 0.29 L"), HIGH_LIP, "brim", CAUTION),
    Case("expansion-space-used-by-warming", "unknown", "main", ("needs a filler",), {"tank.0.filler": REMOVE}),
    Case("expansion-space-used-by-warming", "not asked", "header", ("no filler",)),
    # 45.1 - 0.31875 + 8.912 - 0.28 = 53.41325 L at 30 L/h last 106.8 min, at 120 L/h 26.7 min; 60 - 53.413 = 6.587 L.
    Case("endurance-below-half-hour", "good", "all tanks", ("53.41 L usable", "106.8 min at 30.0 L/h"), LEVEL),
    Case(
        "endurance-below-half-hour",
        "bad",
        "all tanks",
        ("26.7 min at 120.0 L/h",),
        LEVEL | {"flows.max_continuous": "120 L/h"},
        "6.59 L more must be usable",
        FAIL,
    ),
    Case(
        "endurance-below-half-hour",
        "unknown",
        "all tanks",
        ("needs the flow max_continuous",),
        {"flows.max_continuous": REMOVE},
    ),
    Case("endurance-below-half-hour", "unknown", "all tanks", ("needs the usable fuel of main",), NO_MAIN_OUTLET),
    Case("outlet-missing", "good", "main", ("through outlet",)),
    Case("outlet-missing", "unknown", "spare", ("needs its fittings",), SPARE),
    Case("outlet-missing", "bad", "main", ("no outlet", "48.50 L"), NO_MAIN_OUTLET, "Add the outlet", FAIL),
    Case("strainer-missing", "good", "main.outlet", ("a strainer is shown",)),
    Case("strainer-missing", "bad", "main.outlet", ("no strainer",), {STRAINER: REMOVE}, "finger strainer", FAIL),
    # 3 meshes to the centimetre are 7.62 to the inch.
    Case("strainer-mesh-out-of-range", "good", "main.outlet", ("8 meshes",), {f"{STRAINER}.mesh": "8 1/in"}),
    Case("strainer-mesh-out-of-range", "good", "main.outlet", ("16 meshes",), {f"{STRAINER}.mesh": "16 1/in"}),
    Case(
        "strainer-mesh-out-of-range",
        "bad",
        "main.outlet",
        ("20 meshes to the inch",),
        {f"{STRAINER}.mesh": "20 1/in"},
        "8 to 16 meshes",
        FAIL,
    ),
    Case("strainer-mesh-out-of-range", "bad", "main.outlet", ("7.62",), {f"{STRAINER}.mesh": "3 1/cm"}, "8 to 16"),
    Case("strainer-mesh-out-of-range", "unknown", "main.outlet", ("needs",), {f"{STRAINER}.mesh": REMOVE}),
    Case("strainer-mesh-out-of-range", "unknown", "main.outlet", ("needs",), {STRAINER: REMOVE}),
    Case("strainer-mesh-out-of-range", "not asked", "main.outlet", ("piston",), TURBINE),
    Case("strainer-area-small", "good", "main.outlet", ("47.1 mm²",), TUBE | {f"{STRAINER}.clear_area": "236 mm2"}),
    Case(
        "strainer-area-small",
        "bad",
        "main.outlet",
        ("235 mm² clear, 5.0 times the 47.1 mm² of a bore of 7.7 mm",),
        TUBE | {f"{STRAINER}.clear_area": "235 mm2"},
        "at least 236 mm²",
        FAIL,
    ),
    # The line is wider than the outlet: 5 x pi/4 x 10² = 392.7 mm².
    Case("strainer-area-small", "bad", "main.outlet", ("3.8 times the 78.5 mm²",), {"line.2.bore": "10 mm"}, "393 mm²"),
    Case("strainer-area-small", "unknown", "main.outlet", ("needs",), {f"{STRAINER}.clear_area": REMOVE}),
    Case(
        "strainer-area-small",
        "unknown",
        "main.outlet",
        ("needs the outlet's bore",),
        {"line.2": REMOVE, "tank.0.outlet.0.bore": REMOVE},
    ),
    Case("strainer-narrower-than-outlet", "good", "main.outlet", ("8.0 mm wide",), {f"{STRAINER}.diameter": "8 mm"}),
    Case(
        "strainer-narrower-than-outlet",
        "bad",
        "main.outlet",
        ("7.0 mm wide, the outlet 8.0 mm",),
        {f"{STRAINER}.diameter": "7 mm"},
        "at least 8.0 mm",
        FAIL,
    ),
    Case("strainer-narrower-than-outlet", "unknown", "main.outlet", ("needs",), {f"{STRAINER}.diameter": REMOVE}),
    Case("strainer-narrower-than-outlet", "unknown", "main.outlet", ("needs",), {"tank.0.outlet.0.bore": REMOVE}),
    # 5 % of 48.5 L are 2.4 L, less than a US gallon of 3.785 L. With the outlet at z = 0 the whole hopper of 5.1 L stays.
    # Of the large tank 5 % are 6.79 L, more than what stays below an outlet at z = -20: the hopper is there 566.67 x 366.67
    # wide, 40/6 (10000 + 4 x 333.33 x 233.33 + 207778) = 3525926 mm3.
    Case("unusable-large", "good", "main", ("0.32 L unusable at cruise (pitch 0.0°", "limit is 3.79 L"), LEVEL),
    Case(
        "unusable-large",
        "good",
        "main",
        ("3.53 L unusable", "limit is 6.79 L"),
        LARGE | LEVEL | {"tank.0.outlet.0.position": mm(400, 250, -20)},
    ),
    Case(
        "unusable-large",
        "bad",
        "main",
        ("5.10 L unusable at cruise", "5.10 L below the outlets, 0 mL in pockets"),
        LEVEL | {"tank.0.outlet.0.position": mm(200, 250, 0)},
        "lies lowest at (150, 200, -60) mm",
        CAUTION,
    ),
    Case("unusable-large", "unknown", "main", ("needs an outlet",), NO_MAIN_OUTLET),
    # The bag behind the main tank's rear wall is 48 mm long and 100 mm wide; its lip is 50 mm above its floor, at the wall
    # (x = 400). Nose up by 13° the surface through the lip rises aft by tan 13° = 0.2309: over the bag (x = 402 to 450) it
    # stands 50 + 26 x 0.2309 = 56.0 mm deep on average, 0.2688 L; level it is 0.24 L.
    Case("fuel-trapped-in-pocket", "good", "main", ("nothing is cut off", "any of 6 flight attitudes")),
    Case(
        "fuel-trapped-in-pocket",
        "bad",
        "main",
        ("steep climb (pitch +13.0°, roll 0.0°): 0.27 L in a pocket, lowest at (450, 200, 50) mm", "also at cruise"),
        POCKET,
        "from (450, 200, 50) mm",
        CAUTION,
    ),
    Case("fuel-trapped-in-pocket", "unknown", "main", ("needs an outlet",), NO_MAIN_OUTLET),
    # The climb angle is 8°.
    Case("envelope-misses-steep-climb", "good", "envelope", ("steep climb (pitch +13.0°, roll 0.0°)",)),
    Case(
        "envelope-misses-steep-climb",
        "bad",
        "envelope",
        ("climb (pitch +8.0°, roll 0.0°); 13.0° is wanted",),
        {"attitude.4": REMOVE},
        'pitch = "13 deg"',
        FAIL,
    ),
    Case("envelope-misses-steep-climb", "bad", "envelope", ("13.0°",), {"attitude.4.roll": "5 deg"}, "13 deg"),
    Case("envelope-misses-steep-climb", "unknown", "envelope", ("climb angle",), {"aircraft.climb_angle": REMOVE}),
    # An acceleration of 0.1 g to the side tilts the surface by atan 0.1 = 5.7°.
    Case("envelope-narrow", "good", "envelope", ("10.0° nose-down, 6.0° right wing down, 6.0° left wing down",)),
    Case(
        "envelope-narrow",
        "good",
        "envelope",
        ("6.0° right wing down, 5.7° left wing down",),
        {"attitude.7": {"name": "skid", "phase": "flight", "right": "0.1 g"}},
    ),
    Case("envelope-narrow", "bad", "envelope", ("0.0° nose-down",), {"attitude.5": REMOVE}, "5° nose-down", CAUTION),
    Case("envelope-narrow", "bad", "envelope", ("0.0° right",), {"attitude.6": REMOVE}, "5° right wing down."),
    Case("envelope-narrow", "bad", "envelope", ("4.0° left",), {"attitude.7.roll": "-4 deg"}, "5° left wing down."),
    Case("drain-missing", "good", "header", ("through drain",)),
    Case("drain-missing", "unknown", "spare", ("needs its fittings",), SPARE),
    Case("drain-missing", "bad", "header", ("no drain", "8.91 L"), {"tank.1.drain": []}, "Fit a drain valve", FAIL),
    # 1/16 US gal is 236.6 mL. Below an outlet at z = -55 the hopper is 125 x 133.3 wide: 5/6 (10000 + 4 x 112.5 x 116.67 +
    # 16667) = 65972 mm3; 236.6 - 66.0 = 170.6 mL are lacking.
    Case("sump-small", "good", "main", ("319 mL at parked", "319 mL at cruise", "237 mL are wanted")),
    Case("sump-small", "good", "main", ("444 mL at parked", "340 mL are wanted"), LARGE),
    Case(
        "sump-small",
        "bad",
        "main",
        ("66 mL at parked", "66 mL at cruise", "237 mL are wanted"),
        {"tank.0.outlet.0.position": mm(200, 250, -55)},
        "171 mL more",
        FAIL,
    ),
    Case(
        "sump-small",
        "bad",
        "main",
        ("255 mL at cruise", "340 mL are wanted"),
        LARGE | {"tank.0.outlet.0.position": mm(400, 250, -49)},
        "85 mL more",
    ),
    Case(
        "sump-small",
        "bad",
        "main",
        ("0 mL at parked", "stands above what the outlets leave"),
        {"tank.0.drain.0.position": mm(0, 250, 100)},
        "Move the drain valve",
    ),
    Case("sump-small", "unknown", "main", ("needs an outlet",), NO_MAIN_OUTLET),
    Case("sump-small", "unknown", "main", ("needs a drain",), {"tank.0.drain": []}),
    # 48.5 L / 2560 = 18.9 mL. Below a valve at z = -50 (150 x 166.7 wide): 10/6 (10000 + 4 x 125 x 133.33 + 25000) = 169444
    # mm3. The bag holds 0.24 L.
    Case("water-left-behind", "good", "main", ("parked", "leaves nothing", "19 mL counts as hazardous")),
    Case(
        "water-left-behind",
        "bad",
        "main",
        ("0.17 L below the valve, lowest at (150, 200, -60) mm",),
        {"tank.0.drain.0.position": mm(200, 250, -50)},
        "Move the drain valve to (150, 200, -60) mm",
        FAIL,
    ),
    Case(
        "water-left-behind",
        "bad",
        "main",
        ("0.24 L in a pocket, lowest at (402, 200, 50) mm",),
        POCKET,
        "a notch at the floor so that water runs to the drain from (402, 200, 50) mm",
    ),
    Case("water-left-behind", "unknown", "main", ("needs a drain",), {"tank.0.drain": []}),
    # A valve in the middle of the sump's floor of 100 x 100 mm; the side walls rise 0.3, the end walls 0.4. Rolled by 2° the
    # floor's low half is 50 x 0.0349 = 1.75 mm deep at its edge: 50 x 1.75 / 2 x 100 = 4.4 mL, with what lies over the walls
    # 5.1 mL. Rolled by 6°: 13.1 mL over the floor, 7.1 mL beyond its edge, 2.7 mL at the ends: 23 mL. On a 1 % slope 1.3 mL.
    Case("water-left-on-slope", "good", "main", ("roll -2.0°) the drain leaves 5 mL below the valve",)),
    Case(
        "water-left-on-slope",
        "good",
        "main",
        ("parked, ground falling 1 %", "leaves 1 mL below the valve"),
        {"attitude.1": REMOVE},
    ),
    Case(
        "water-left-on-slope",
        "bad",
        "main",
        ("roll -6.0°) the drain leaves 23 mL", "19 mL counts as hazardous"),
        {"attitude.1.roll": "-6 deg"},
        "Move the drain valve",
        CAUTION,
    ),
    Case("water-left-on-slope", "unknown", "main", ("needs a drain",), {"tank.0.drain": []}),
    # 2.36 in = 59.944 mm, 2.95 in = 74.93 mm.
    Case("filler-wrong-size", "good", "main.filler", ("at most 59.9 mm",), {"tank.0.filler.bore": "2.36 in"}),
    Case(
        "filler-wrong-size",
        "bad",
        "main.filler",
        ("60.0 mm inside, at most 59.9 mm for gasoline",),
        {"tank.0.filler.bore": "60 mm"},
        "at most 59.9 mm inside",
        FAIL,
    ),
    Case("filler-wrong-size", "good", "main.filler", ("74.9 mm",), TURBINE | {"tank.0.filler.bore": "2.95 in"}),
    Case("filler-wrong-size", "bad", "main.filler", ("at least 74.9 mm for a turbine",), TURBINE, "right size"),
    Case("filler-wrong-size", "unknown", "main.filler", ("needs the filler's bore",), {"tank.0.filler.bore": REMOVE}),
    Case("filler-wrong-size", "not asked", "main.filler", ("piston engine on diesel",), DIESEL),
    Case("filler-unbonded", "good", "main.filler", ("bonding point is shown",)),
    Case("filler-unbonded", "bad", "main.filler", ("not bonded",), {"tank.0.filler.bonded": False}, "bonding", FAIL),
    Case("filler-unbonded", "unknown", "main.filler", ("needs whether",), {"tank.0.filler.bonded": REMOVE}),
    Case("filler-unmarked", "good", "main.filler", ('"Avgas 100LL"',)),
    Case("filler-unmarked", "good", "main.filler", ("A-1",), TURBINE | {"tank.0.filler.placard": "JET FUEL Jet A-1"}),
    Case("filler-unmarked", "bad", "main.filler", ('"Avgas"',), {"tank.0.filler.placard": "Avgas"}, "grade", FAIL),
    Case("filler-unmarked", "bad", "main.filler", ("is empty",), {"tank.0.filler.placard": " "}, "Avgas 100LL"),
    Case("filler-unmarked", "bad", "main.filler", ("Avgas 100LL", "Diesel"), DIESEL, "Diesel EN 590"),
    Case("filler-unmarked", "unknown", "main.filler", ("needs the placard",), {"tank.0.filler.placard": REMOVE}),
    Case("dipstick-missing", "good", "main", ("a dipstick is shown",)),
    Case("dipstick-missing", "bad", "main", ("no dipstick",), {"tank.0.dipstick": REMOVE}, "Make a dipstick", CAUTION),
    Case("dipstick-missing", "not asked", "header", ("no filler",)),
    # Below z = -58 (110 x 113.3 wide): 2/6 (10000 + 4 x 105 x 106.67 + 12467) = 22422 mm3; below z = 0 the hopper's 5.1 L,
    # of which 5.1 - 0.31875 = 4.78 L are usable.
    Case("dipstick-blind", "good", "main", ("22 mL", "unusable are 0.32 L"), LEVEL),
    Case(
        "dipstick-blind",
        "bad",
        "main",
        ("at parked (pitch 0.0°, roll 0.0°) the stick's bottom is dry with 5.10 L",),
        LEVEL | {"tank.0.dipstick.bottom": mm(230, 250, 0)},
        "4.78 L of usable fuel stay unseen",
        CAUTION,
    ),
    Case("dipstick-blind", "unknown", "main", ("needs an outlet",), NO_MAIN_OUTLET),
    Case("warning-missing", "good", "header", ("feeds the engine and warns by 20 min, 10 min",)),
    Case(
        "warning-missing", "bad", "header", ("no low-level switch",), {"tank.1.switch": []}, "Add a low-level", CAUTION
    ),
    Case("warning-missing", "unknown", "header", ("needs feed lines",), {"line.3": REMOVE}),
    # The outlet is at z = -25.
    Case("warning-never-trips", "good", SWITCH_20, ("all 6 flight attitudes",)),
    # To warn at 20 min it must go to where it does in the next rule's bad case, 171.75 mm: 201.75 mm higher.
    Case(
        "warning-never-trips",
        "bad",
        SWITCH_20,
        ("never trips at cruise (pitch 0.0°, roll 0.0°): the outlets run dry",),
        LEVEL | mark(0, 100, -30),
        "at least 201.8 mm, to (100, 80, 171.8) mm",
        FAIL,
    ),
    Case("warning-never-trips", "unknown", SWITCH_20, ("needs an outlet",), NO_HEADER_OUTLET),
    # At 18 L/h a minute is 0.3 L. z = 175 - 3: 0.88 + 0.032 x 172 = 6.384 L, (6.384 - 0.28) / 0.3 = 20.35 min. z = 160 - 3:
    # 5.904 L, 18.75 min; 6.28 L are wanted at the mark's low end, z = (6.28 - 0.88) / 0.032 = 168.75, so 171.75 in all.
    Case("warning-late", "good", SWITCH_20, ("6.38 L", "0.28 L", "20.3 min for a target of 20 min", "3.0 mm"), LEVEL),
    Case(
        "warning-late",
        "bad",
        SWITCH_20,
        ("at cruise (pitch 0.0°, roll 0.0°)", "5.90 L", "18.7 min for a target of 20 min, its mark low by 3.0 mm"),
        LEVEL | mark(0, 100, 160),
        "at least 11.8 mm, to (100, 80, 171.8) mm",
        FAIL,
    ),
    # Late even without a tolerance: 0.88 + 0.032 x 160 = 6 L, 19.07 min.
    Case(
        "warning-late",
        "bad",
        SWITCH_20,
        ("6.00 L", "19.1 min"),
        LEVEL | mark(0, 100, 160) | {"tank.1.switch.0.tolerance": REMOVE},
        "at least 8.8 mm",
    ),
    # 20 h need more than the tank holds.
    Case("warning-late", "bad", SWITCH_20, ("1200 min",), {"tank.1.switch.0.target": "20 h"}, "No height", FAIL),
    Case("warning-late", "unknown", SWITCH_20, ("needs the target",), {"tank.1.switch.0.target": REMOVE}),
    Case("warning-late", "unknown", SWITCH_20, ("tolerance; without any",), {"tank.1.switch.0.tolerance": REMOVE}),
    Case("warning-late", "unknown", SWITCH_20, ("needs an outlet",), NO_HEADER_OUTLET),
    # z = 60 - 3: 0.88 + 0.032 x 57 = 2.704 L, (2.704 - 0.28) / 0.3 = 8.1 min.
    Case("warning-below-ten-minutes", "good", "header", ("switch 20 min leaves the most: 20.3 min",), LEVEL),
    Case(
        "warning-below-ten-minutes",
        "bad",
        "header",
        ("switch 10 min leaves the most: 8.1 min, at cruise",),
        LEVEL | mark(1, 100, 60) | {"tank.1.switch.0": REMOVE},
        "Raise the highest mark",
        CAUTION,
    ),
    Case("warning-below-ten-minutes", "unknown", "header", ("needs feed lines",), {"line.3": REMOVE}),
    Case("warning-below-ten-minutes", "unknown", "header", ("needs a low-level switch",), {"tank.1.switch": []}),
    Case(
        "warning-below-ten-minutes",
        "unknown",
        "header",
        ("needs the tolerance of switch 20 min",),
        {"tank.1.switch.0.tolerance": REMOVE},
    ),
    # Nose down by 10° the surface through the mark at x = 20 stands 80 x tan 10° = 14.1 mm lower in the middle: z = 75.9,
    # 3.31 L; through the mark at x = 180 as much higher: z = 96.1, 3.96 L.
    Case("warnings-out-of-order", "good", "header", ("in the order 20 min, 10 min",)),
    Case(
        "warnings-out-of-order",
        "bad",
        "header",
        ("at descent (pitch -10.0°, roll 0.0°) 20 min trips at 3.31 L, 10 min at 3.96 L",),
        mark(0, 20, 90) | mark(1, 180, 82),
        "Raise the mark with the larger target",
        FAIL,
    ),
    Case(
        "warnings-out-of-order",
        "bad",
        "header",
        ("20 min trips never, 10 min at 3.50 L",),
        LEVEL | mark(0, 100, -30),
        "Raise",
    ),
    Case("warnings-out-of-order", "unknown", "header", ("target of 20 min",), {"tank.1.switch.0.target": REMOVE}),
    Case("warnings-out-of-order", "unknown", "header", ("needs an outlet",), NO_HEADER_OUTLET),
    # A mark for 10 min at x = 20, z = 82: nose up by 13° z = 82 + 80 tan 13° = 100.5 in the middle, 4.10 L; nose down by 10°
    # z = 67.9, 3.05 L: 1.042 L or 3.5 min apart. The middle of the surface is that of the plan.
    Case("warning-spread-wide", "good", SWITCH_10, ("0.0 min apart for a target of 10 min",)),
    Case(
        "warning-spread-wide",
        "bad",
        SWITCH_10,
        ("4.10 L at steep climb", "3.05 L at descent", "3.5 min apart for a target of 10 min"),
        mark(1, 20, 82),
        "(100, 80, ",
        CAUTION,
    ),
    Case("warning-spread-wide", "unknown", SWITCH_10, ("needs the target",), {"tank.1.switch.1.target": REMOVE}),
    Case("warning-spread-wide", "unknown", SWITCH_10, ("never trips at cruise",), mark(1, 100, -30)),
    Case("warning-spread-wide", "unknown", SWITCH_10, ("needs an outlet",), NO_HEADER_OUTLET),
    Case("warning-tolerance-unknown", "good", SWITCH_20, ("3.0 mm",)),
    Case("warning-tolerance-unknown", "unknown", SWITCH_20, ("needs",), {"tank.1.switch.0.tolerance": REMOVE}),
]
# (rule, kind) that no design can show, and why.
IMPOSSIBLE = {
    ("strainer-missing", "unknown"): "an outlet shows its strainer or has none",
    ("envelope-narrow", "unknown"): "the door lets no design in without a flight attitude",
    ("dipstick-missing", "unknown"): "a tank shows its dipstick or has none",
    ("warning-tolerance-unknown", "bad"): "a stated tolerance is not judged, a missing one is not checked",
}


@pytest.mark.parametrize("case", CASES, ids=lambda case: case.title)
def test_the_rule_says_what_the_case_expects(case: Case) -> None:
    check(case)


@pytest.mark.parametrize("x_mm", [20, 60, 100, 180])
def test_a_mark_raised_as_told_is_no_longer_late(x_mm: float) -> None:
    late = Case("warning-late", "bad", SWITCH_20, (), mark(0, x_mm, 130))
    assert found(late).outcome is FAIL
    rise_m = study_of(late.changes).tank("header").switches[0].rise_m
    assert rise_m is not None
    check(Case("warning-late", "good", SWITCH_20, ("for a target of 20 min",), mark(0, x_mm, 130 + rise_m * 1e3)))
    # A tenth of a millimetre less, its last digit, does not do.
    short = mark(0, x_mm, 130 + rise_m * 1e3 - 0.11)
    check(Case("warning-late", "bad", SWITCH_20, (), short, "Raise the mark by at least 0."))


def test_the_steadiest_point_of_an_upright_tank_lies_on_its_axis() -> None:
    # Between the hoppers the header is a prism about x = 100, y = 80: a plane through a point of its axis holds as much
    # at every tilt. 3.344 L stand at z = (3.344 - 0.88) / 0.032 = 77 mm, whatever the attitude.
    tank = study_of({}).layout.tank("header")
    for pitch_deg, roll_deg in ((0, 0), (8, 0), (-6, 3)):
        point_m = steady_point_m(tank, Attitude.of_degrees(pitch_deg, roll_deg), 3.344e-3)
        assert_allclose(point_m, [0.100, 0.080, 0.077], atol=1e-9)


def test_a_sump_under_a_tilted_surface_is_the_wedge_below_the_outlet() -> None:
    # The header's outlet at the front wall, z = 0, the drain in the middle: nose up, the plane through (0, 0) stands x tan p
    # above the belt. Above the hopper of 0.88 L: 160 x 200² tan p / 2 mm3, as long as it stays between the hoppers.
    pitch = radians(8.0)
    changes = {"tank.1.outlet.0.position": mm(0, 80, 0), "attitude.2.pitch": "8 deg", "attitude.3": REMOVE}
    at = next(s for s in study_of(changes).tank("header").sumps if s.attitude.phase == "flight")
    assert_allclose(at.volume_m3, 0.88e-3 + 0.160 * 0.200**2 * tan(pitch) / 2, rtol=1e-9)


def test_the_slope_of_the_ground_is_one_per_cent() -> None:
    left = study_of({}).tank("main").drain_left_on_slope
    assert left is not None
    up = left.attitude.up
    assert_allclose(np.hypot(up[0], up[1]), sin(atan(0.01)), rtol=1e-6)


def test_a_study_of_one_tank_does_not_pass_the_endurance_of_all() -> None:
    from fuelsys.review import findings, study

    one = study(study_of({}).layout, only="main")
    endurance = next(f for f in findings(one) if f.rule.name == "endurance-below-half-hour")
    assert endurance.outcome is Outcome.NOT_CHECKED
    assert "header" in endurance.evidence
