"""Rules on low-level switches.

One table: rule, kind, where, what the evidence says, what was changed in the base design, what mends it.

The base design (designs.py) is two hopper-shaped tanks with level normal attitudes, so figures are worked by hand in
the comments. The main tank holds 48.5 L, the header 8.912 L; below z mm of the walls the header holds 0.88 + 0.032 z L.
"""

from __future__ import annotations

from math import radians, tan
from typing import Any

import pytest
from designs import ATTITUDES, REMOVE
from numpy.testing import assert_allclose
from rule_cases import LEVEL, NO_HEADER_OUTLET, Case, check, found, mm, plain, study_of

from fuelsys.analysis.tank.place import steady_point_m
from fuelsys.model.found.findings import Outcome
from fuelsys.model.stated.attitude import Attitude
from fuelsys.report.shown import Shown
from fuelsys.report.tables import switches as switches_tables
from fuelsys.report.tables.notes import NONE_LEFT

FAIL, CAUTION = Outcome.FAIL, Outcome.CAUTION
SWITCH_20, SWITCH_10 = "header switch 20 min", "header switch 10 min"


def mark(number: int, x: float, z: float) -> dict[str, Any]:
    return {f"tank.1.switch.{number}.mark": mm(x, 80, z)}


def roomy(number: int, x: float, z: float) -> dict[str, Any]:
    """The same of a float that asks for no room."""
    return mark(number, x, z) | {f"tank.1.switch.{number}.clearance": REMOVE}


# The outlet in the front wall at z = 0: level it leaves 0.88 L, nose up by 8° 160 x 200² tan 8° / 2 mm3 more, 1.3297 L. A
# mark beside it, low by its tolerance at z = 10: level it trips with 0.88 + 0.32 = 1.20 L, (1.2 - 1.3297) / 0.3 = -0.43
# min, and 0.32 / 0.3 = 1.07 min above what is unusable there.
BELOW_UNUSABLE = {
    "attitude": [ATTITUDES[0], ATTITUDES[2], ATTITUDES[3]],
    "tank.1.outlet.0.position": mm(0, 80, 0),
    "tank.1.switch.1.mark": mm(0, 80, 13),
}

BACK_TO_HEADER = {
    "line.8.to": "header.return",
    "tank.1.return": [{"name": "return", "position": mm(100, 60, 260), "bore": "6 mm"}],
}

DESCENT_AND_SLIP = {"attitude": [ATTITUDES[i] for i in (0, 2, 5, 6)]}

CASES = [
    Case("warning-late-at-combined-attitudes", "good", SWITCH_20, ("for a target of 20 min",)),
    # Nose down by 10° the surface stands 90 tan 10° = 15.9 mm higher at x = 10 than in the middle, in the slip 70 tan 6° = 7.4 mm at
    # y = 150. z = 96 - 3: in the descent the middle is at 77.1 mm, 3.348 L, 10.1 min above 0.3095 L; in both at 69.8 mm, 3.113 L, 9.3 min.
    Case(
        "warning-late-at-combined-attitudes",
        "bad",
        SWITCH_10,
        (
            "at a combination (pitch -10.0°, roll +6.0°) it trips with 3.11 L in the tank: 9.3 min for a target of 10 min",
        ),
        DESCENT_AND_SLIP | {"tank.1.switch.1.mark": mm(10, 150, 96)},
        "State that attitude too",
        CAUTION,
    ),
    # Stated, it is told there, and is no pass here.
    Case(
        "warning-late-at-combined-attitudes",
        "not asked",
        SWITCH_10,
        ("9.3 min for a target of 10 min", "warning-late tells it"),
        {"attitude": [*DESCENT_AND_SLIP["attitude"], ATTITUDES[5] | {"name": "slipping descent", "roll": "6 deg"}]}
        | {"tank.1.switch.1.mark": mm(10, 150, 96)},
    ),
    Case("warning-late-at-combined-attitudes", "unknown", SWITCH_20, ("needs an outlet",), NO_HEADER_OUTLET),
    Case("warning-missing", "good", "header", ("feeds the engine and warns by 20 min, 10 min",)),
    Case(
        "warning-missing", "bad", "header", ("no low-level switch",), {"tank.1.switch": []}, "Add a low-level", CAUTION
    ),
    Case("warning-missing", "unknown", "header", ("needs feed lines",), {"line.3": REMOVE}),
    # A line drawn from the engine's end to the tank feeds nothing.
    Case(
        "warning-missing",
        "unknown",
        "header",
        ("needs feed lines",),
        {"line.3.from": "filter", "line.3.to": "header.outlet"},
    ),
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
        ("6.00 L", "19.0 min"),
        LEVEL | mark(0, 100, 160) | {"tank.1.switch.0.tolerance": REMOVE},
        "at least 8.8 mm",
    ),
    Case(
        "warning-late",
        "bad",
        SWITCH_10,
        (
            "at cruise (pitch 0.0°, roll 0.0°) it trips with 1.20 L in the tank and 1.33 L are unusable at climb",
            "nothing usable is left, it trips 0.5 min after the last usable fuel, for a target of 10 min",
            "at the attitude of the trip itself 0.88 L are unusable, and 1.0 min left",
        ),
        BELOW_UNUSABLE,
        "Straight up, the mark would have to rise by 101.9 mm, to (0, 80, 114.9) mm of its mesh, where its float has 0.0 mm of the 25.0",
        FAIL,
    ),
    Case(
        "warning-late",
        "bad",
        SWITCH_10,
        (),
        BELOW_UNUSABLE | {"tank.1.switch.1.clearance": REMOVE},
        "Raise the mark by",
        FAIL,
    ),
    # 20 h need more than the tank holds.
    Case("warning-late", "bad", SWITCH_20, ("1200 min",), {"tank.1.switch.0.target": "20 h"}, "No height", FAIL),
    Case("warning-late", "unknown", SWITCH_20, ("needs the target",), {"tank.1.switch.0.target": REMOVE}),
    Case("warning-late", "unknown", SWITCH_20, ("tolerance; without any",), {"tank.1.switch.0.tolerance": REMOVE}),
    Case("warning-late", "unknown", SWITCH_20, ("needs an outlet",), NO_HEADER_OUTLET),
    # The engine draws 18 + 20 L/h from the header and returns 20 to the main tank. Level, what runs into that runs on.
    Case("warning-late-by-return", "good", SWITCH_20, ("0 mL more are held", "20.3 min at the latest trip"), LEVEL),
    Case("warning-late-by-return", "good", SWITCH_20, ("comes back into header",), BACK_TO_HEADER),
    # Without the line from the main tank: (6.384 - 0.28) / (38 / 60) = 9.64 min where 20.35 are promised.
    Case(
        "warning-late-by-return",
        "bad",
        SWITCH_20,
        (
            "nothing brings it back for certain; 38.0 L/h are drawn from header: 9.6 min",
            "20.3 min by what is burnt alone",
        ),
        LEVEL | {"line.2": REMOVE},
        "a selector that switches both",
        FAIL,
    ),
    # A valve in that line may be shut: the same.
    Case(
        "warning-late-by-return",
        "bad",
        SWITCH_20,
        ("nothing brings it back for certain", "9.6 min"),
        LEVEL
        | {
            "component.6": {"name": "main valve", "kind": "valve", "position": mm(480, 0, 800)},
            "line.2.to": "main valve",
            "line.9": {
                "name": "valve to header",
                "kind": "feed",
                "from": "main valve",
                "to": "header.from main",
                "bore": "8 mm",
            },
        },
        "",
        FAIL,
    ),
    # Nose up by 13° the main tank keeps 0.54 L more than level; they run back only after that: 0.54 / 0.3 = 1.8 min less.
    Case(
        "warning-late-by-return",
        "bad",
        SWITCH_20,
        ("once 0.54 L more are held there", "18.3 min at", "20.1 min by"),
        {},
    ),
    Case(
        "warning-late-by-return",
        "unknown",
        SWITCH_20,
        ("needs the engine's return_flow: it goes to main",),
        {"component.5.return_flow": REMOVE},
    ),
    Case("warning-late-by-return", "unknown", SWITCH_20, ("needs a return line",), {"line.8": REMOVE}),
    Case("warning-late-by-return", "unknown", SWITCH_20, ("needs the target",), {"tank.1.switch.0.target": REMOVE}),
    # Reset at z = 178: 0.88 + 0.032 x 178 = 6.576 L of the 8.912 L that the header holds. A mark 1 mm below the top, with a
    # differential of 3 mm, never resets.
    Case("warning-always-on", "good", SWITCH_20, ("6.58 L at most", "the tank holds 8.91 L"), LEVEL),
    Case(
        "warning-always-on",
        "bad",
        SWITCH_20,
        ("at parked (pitch 0.0°, roll 0.0°) it does not reset at all", "lit for good; so at 1 more attitudes"),
        LEVEL | mark(0, 100, 259),
        "Lower the mark",
        FAIL,
    ),
    # The front wall ends at z = 240. Level, the mark beside it resets at 242.5 mm of 260; nose up by 40° at 239.5 cos 40° -
    # sin 40° + 3 = 185.8 mm, above the wall's end, which then is the tank's top: 240 cos 40° = 183.9 mm.
    Case(
        "warning-always-on",
        "bad",
        SWITCH_20,
        ("at zoom", "does not reset"),
        {"attitude": [*LEVEL["attitude"], ATTITUDES[2] | {"name": "zoom", "pitch": "40 deg", "normal": False}]}
        | mark(0, 1, 239.5),
        "",
        CAUTION,
    ),
    Case("warning-always-on", "unknown", SWITCH_20, ("needs an outlet",), NO_HEADER_OUTLET),
    # z = 175: 6.48 L, 0.28 of them unusable: 20.67 min, more than twice 10.
    Case("warning-early", "good", SWITCH_20, ("20.6 min above", "a target of 20 min"), LEVEL),
    Case(
        "warning-early",
        "bad",
        SWITCH_20,
        ("20.6 min above", "a target of 10 min"),
        LEVEL | {"tank.1.switch.0.target": "10 min"},
        "lower it",
        CAUTION,
    ),
    # Where it comes late elsewhere it cannot be lowered: that rule alone tells where its mark must go.
    Case(
        "warning-early",
        "not asked",
        SWITCH_20,
        ("min above", "warning-late tells it"),
        LEVEL | {"tank.1.switch.0.target": "10 min", "tank.1.switch.0.tolerance": "110 mm"},
    ),
    Case("warning-early", "unknown", SWITCH_20, ("needs the target",), {"tank.1.switch.0.target": REMOVE}),
    Case("warning-early", "unknown", SWITCH_20, ("needs an outlet",), NO_HEADER_OUTLET),
    # z = 60 - 3: 0.88 + 0.032 x 57 = 2.704 L, (2.704 - 0.28) / 0.3 = 8.08 min, never rounded up.
    Case("warning-below-ten-minutes", "good", "header", ("switch 20 min leaves the most: 20.3 min",), LEVEL),
    Case(
        "warning-below-ten-minutes",
        "bad",
        "header",
        ("switch 10 min leaves the most: 8.0 min, at cruise",),
        LEVEL | mark(1, 100, 60) | {"tank.1.switch.0": REMOVE},
        "Switch 10 min, which is to leave 10 min: Raise the mark by at least 18.1 mm, to (100, 80, 78.1) mm",
        CAUTION,
    ),
    # 0.28 + 3 L stand at z = 75, and 3 mm for the tolerance: 18 mm, told in whole tenths that are more than enough.
    # A mark that is to leave 5 minutes is not told to leave 10.
    Case(
        "warning-below-ten-minutes",
        "bad",
        "header",
        ("switch 10 min leaves the most: 8.0 min",),
        LEVEL | mark(1, 100, 60) | {"tank.1.switch.1.target": "5 min", "tank.1.switch.0": REMOVE},
        "Add a switch with a target of 10 minutes",
    ),
    Case(
        "warning-below-ten-minutes",
        "bad",
        "header",
        ("switch 10 min leaves the most: none left (0.5 min late), at cruise",),
        BELOW_UNUSABLE | {"tank.1.switch.0": REMOVE},
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
        ("4.10 L at steep climb", "3.05 L at descent", "3.5 min apart for a target of 1 min"),
        mark(1, 20, 82) | {"tank.1.switch.1.target": "1 min"},
        "`fuelsys place` gives its new height",
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
    ("warning-tolerance-unknown", "bad"): "a stated tolerance is not judged, a missing one is not checked",
}


@pytest.mark.parametrize("case", CASES, ids=lambda case: case.title)
def test_the_rule_says_what_the_case_expects(case: Case) -> None:
    check(case)


@pytest.mark.parametrize("x_mm", [20, 60, 100, 180])
def test_a_mark_raised_as_told_is_no_longer_late(x_mm: float) -> None:
    late = Case("warning-late", "bad", SWITCH_20, (), roomy(0, x_mm, 130))
    assert found(late).outcome is FAIL
    rise_m = study_of(late.changes).tank("header").switches[0].rise_m
    assert rise_m is not None
    # As high as told it leaves its target with what is returned, too.
    for rule in ("warning-late", "warning-late-by-return"):
        check(Case(rule, "good", SWITCH_20, ("for a target of 20 min",), roomy(0, x_mm, 130 + rise_m * 1e3)))
    # A tenth of a millimetre less, its last digit, does not do.
    short = roomy(0, x_mm, 130 + rise_m * 1e3 - 0.11)
    check(Case("warning-late-by-return", "bad", SWITCH_20, (), short, "Raise the mark by at least 0."))


def test_the_steadiest_point_of_an_upright_tank_lies_on_its_axis() -> None:
    # Between the hoppers the header is a prism about x = 100, y = 80: a plane through a point of its axis holds as much
    # at every tilt. 3.344 L stand at z = (3.344 - 0.88) / 0.032 = 77 mm, whatever the attitude.
    tank = study_of({}).layout.tank("header")
    for pitch_deg, roll_deg in ((0, 0), (8, 0), (-6, 3)):
        point_m = steady_point_m(tank, Attitude.of_degrees(pitch_deg, roll_deg), 3.344e-3)
        assert_allclose(point_m, [0.100, 0.080, 0.077], atol=1e-9)


@pytest.mark.parametrize("z_mm", [20, 40, 60, 75])
def test_one_mark_has_one_mend(z_mm: float) -> None:
    changes = mark(1, 100, z_mm) | {"tank.1.switch.0": REMOVE}
    late = found(Case("warning-late", "bad", SWITCH_10, (), changes))
    ten = found(Case("warning-below-ten-minutes", "bad", "header", (), changes))
    assert late.outcome is FAIL
    assert plain(late.mend).startswith("Raise the mark by")
    assert plain(ten.mend) == f"Switch 10 min, which is to leave 10 min: {plain(late.mend)}"


def test_the_switch_table_says_what_is_left_above_both_unusables() -> None:
    tank = study_of(BELOW_UNUSABLE).tank("header")
    table = next(t for t in switches_tables.switches(tank, Shown()) if "10-min" in t.key)
    row = next(dict(zip((c.key for c in table.columns), r, strict=True)) for r in table.rows if r[0] == "cruise")
    assert_allclose(row["latest_s"], (1.2e-3 - 0.88e-3 - 0.16 * 0.2**2 * tan(radians(8.0)) / 2.0) / 5e-6, rtol=1e-9)
    assert_allclose(row["latest_here_s"], 0.32e-3 / 5e-6, rtol=1e-9)
    assert row["remark"] == "normal, worst in flight, none left (0.5 min late)"
    assert NONE_LEFT in table.notes
    # Nothing of the kind where all is well.
    good = switches_tables.switches(study_of({}).tank("header"), Shown())
    assert all(NONE_LEFT not in one.notes for one in good)
    assert "none left" not in str([one.rows for one in good])
