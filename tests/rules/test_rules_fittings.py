"""Rules on drains, sumps, water, fillers and dipsticks.

One table: rule, kind, where, what the evidence says, what was changed in the base design, what mends it.

The base design (designs.py) is two hopper-shaped tanks with level normal attitudes, so figures are worked by hand in
the comments. The main tank holds 48.5 L, the header 8.912 L; below z mm of the walls the header holds 0.88 + 0.032 z L.
"""

from __future__ import annotations

from math import atan, radians, sin, tan

import numpy as np
import pytest
from designs import REMOVE
from numpy.testing import assert_allclose
from rule_cases import DIESEL, LARGE, LEVEL, NO_MAIN_OUTLET, POCKET, SPARE, TURBINE, Case, check, mm, study_of

from fuelsys.model.found.findings import Outcome

FAIL, CAUTION = Outcome.FAIL, Outcome.CAUTION

BLIND = LEVEL | {"tank.0.dipstick.bottom": mm(230, 250, 0), "flows.cruise": "9 L/h"}

CASES = [
    Case("drain-missing", "good", "header", ("through drain",)),
    Case("drain-missing", "unknown", "spare", ("needs its fittings",), SPARE),
    Case("drain-missing", "bad", "header", ("no drain", "8.91 L"), {"tank.1.drain": []}, "Fit a drain valve", FAIL),
    # 1/16 US gal is 236.6 mL. Below an outlet at z = -55 the hopper is 125 x 133.3 wide: 5/6 (10000 + 4 x 112.5 x 116.67 +
    # 16667) = 65972 mm3; 236.6 - 66.0 = 170.6 mL are lacking.
    Case("sump-small", "good", "main", ("0.32 L at parked", "0.32 L at cruise", "0.24 L are wanted")),
    Case("sump-small", "good", "main", ("0.44 L at parked", "0.34 L are wanted"), LARGE),
    Case(
        "sump-small",
        "bad",
        "main",
        ("66 mL at parked", "66 mL at cruise", "0.24 L are wanted"),
        {"tank.0.outlet.0.position": mm(200, 250, -55)},
        "0.18 L more",
        FAIL,
    ),
    Case(
        "sump-small",
        "bad",
        "main",
        ("0.26 L at cruise", "0.34 L are wanted"),
        LARGE | {"tank.0.outlet.0.position": mm(400, 250, -49)},
        "85 mL more",
    ),
    Case(
        "sump-small",
        "bad",
        "main",
        (
            "the drain valve's own pool holds 0 mL of the 0.32 L that stay there at parked",
            "stands above what the outlets leave",
        ),
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
        ("parked, on ground that falls by 1 %", "leaves 1 mL below the valve"),
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
    # Parked as it is: told once.
    Case(
        "water-left-on-slope",
        "not asked",
        "main",
        ("water-left-behind tells it where it is parked",),
        {"attitude.0.roll": "-6 deg", "attitude.1.roll": "-7 deg"},
    ),
    Case("water-left-on-slope", "unknown", "main", ("needs a drain",), {"tank.0.drain": []}),
    # 2.36 in = 59.944 mm, 2.95 in = 74.93 mm.
    # The lip at the top of the belt: 5.1 + 40 L of 48.5; at z = 100 25.1 L.
    Case("filler-low", "good", "main", ("45.10 L go in", "out of its filler: 93.0 % of 48.50 L")),
    Case(
        "filler-low",
        "bad",
        "main",
        ("25.10 L go in", "51.8 % of 48.50 L"),
        {"tank.0.filler.position": mm(230, 250, 100)},
        "Raise the filler's lip",
        CAUTION,
    ),
    # A vent line that never rises above the vent at z = 90 runs over first, at 5.1 + 18 L.
    Case(
        "filler-low",
        "bad",
        "main",
        ("23.10 L go in before fuel runs out of its vent",),
        {"tank.0.vent.0.position": mm(0, 250, 90), "line.0.path": [], "line.1": REMOVE},
        "Lead the way out of vent higher",
    ),
    Case("filler-low", "not asked", "header", ("no filler of its own",)),
    Case("filler-low", "unknown", "spare", ("needs its fittings",), SPARE),
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
    # A diesel on jet fuel is no turbine: wide or narrow, neither limit is its.
    Case("filler-wrong-size", "not asked", "main.filler", ("piston engine on jet",), {"fuel.kind": "jet"}),
    Case(
        "filler-wrong-size",
        "not asked",
        "main.filler",
        ("on gasoline alone, (f) for turbines",),
        DIESEL | {"tank.0.filler.bore": "65 mm"},
    ),
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
    Case("dipstick-missing", "unknown", "spare", ("needs its fittings",), SPARE),
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
        "4.78 L of usable fuel or none",
        CAUTION,
    ),
    # Less than a step of the stick and ten minutes, which are 3 L.
    Case(
        "dipstick-blind",
        "good",
        "main",
        ("the stick's bottom is dry with",),
        LEVEL | {"tank.0.dipstick.bottom": mm(230, 250, -20)},
    ),
    # At 9 L/h 4.78 L last 31.9 min, which the gauge sees, or nothing does.
    Case("dipstick-blind", "bad", "main", ("32 min at cruise", "by it; probe sees them"), BLIND, "", CAUTION),
    Case("dipstick-blind", "bad", "main", ("and no gauge sees them",), BLIND | {"tank.0.gauge": []}, "", FAIL),
    Case("dipstick-blind", "unknown", "main", ("needs an outlet",), NO_MAIN_OUTLET),
]


@pytest.mark.parametrize("case", CASES, ids=lambda case: case.title)
def test_the_rule_says_what_the_case_expects(case: Case) -> None:
    check(case)


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
