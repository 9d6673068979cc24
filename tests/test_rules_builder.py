"""The rules on what builders get wrong when they state a design: ports, lines, sticks, floats, figures and twin tanks.

One table as in the other files. The base design (designs.py) is two tanks; the main tank's mesh spans x 0 to 400, y 0 to
500, z -60 to 240 mm, its outlet stands at z -45, its vent at 240, its filler's lip at 200.
"""

from __future__ import annotations

import pytest
from designs import REMOVE
from plumbing_changes import line
from rule_cases import SPARE, Case, check, mm

from fuelsys.model.findings import Outcome

FAIL, CAUTION = Outcome.FAIL, Outcome.CAUTION

SECOND_OUTLET = {"tank.0.outlet.1": {"name": "second", "position": mm(200, 300, -45), "bore": "8 mm"}}
# The main tank's outlet at the roof, its vent in the sump.
EXCHANGED = {"tank.0.outlet.0.position": mm(170, 250, 240), "tank.0.vent.0.position": mm(200, 250, -45)}

CASES = [
    # --- ports
    Case("port-not-connected", "good", "main.outlet", ("joined by main feed",)),
    Case("port-not-connected", "good", "main.vent", ("joined by vent, header vent",)),
    Case("port-not-connected", "good", "header.from main", ("joined by main feed",)),
    Case("port-not-connected", "good", "main.return", ("joined by return",)),
    Case(
        "port-not-connected",
        "bad",
        "main.second",
        ("no line joins it, at (200, 300, -45) mm of its mesh", "unusable of main count on its drawing fuel"),
        SECOND_OUTLET,
        "List the feed line from it",
        FAIL,
    ),
    # A vent line draws no fuel.
    Case(
        "port-not-connected",
        "bad",
        "main.second",
        ("joined only by sniffle, which is of kind vent",),
        SECOND_OUTLET | {"line.9": line("sniffle", "vent", "main.second", "overboard")},
        "",
        FAIL,
    ),
    Case("port-not-connected", "bad", "main.return", ("no line joins it",), {"line.8": REMOVE}, "plugged", CAUTION),
    Case("port-not-connected", "bad", "header.vent", ("no line joins it",), {"line.1": REMOVE}, "", CAUTION),
    Case("port-not-connected", "bad", "header.from main", ("no line joins it",), {"line.2": REMOVE}, "", CAUTION),
    Case("port-not-connected", "unknown", "main.outlet", ("needs the lines: the design lists none",), {"line": []}),
    Case("port-not-connected", "unknown", "spare", ("needs its fittings",), SPARE),
    Case(
        "port-not-connected",
        "not asked",
        "spare",
        ("only a filler or drains",),
        {"tank.2": SPARE["tank.2"] | {"drain": [{"name": "drain", "position": mm(100, 80, -50)}]}},
    ),
    Case("outlet-narrower-than-line", "good", "main.outlet", ("8.0 mm wide inside, main feed 8.0 mm",)),
    Case("outlet-narrower-than-line", "good", "main.outlet", ("10.0 mm wide",), {"tank.0.outlet.0.bore": "10 mm"}),
    Case(
        "outlet-narrower-than-line",
        "bad",
        "main.outlet",
        ("the outlet is 6.0 mm wide inside, main feed 8.0 mm",),
        {"tank.0.outlet.0.bore": "6 mm"},
        "at least 8.0 mm",
        CAUTION,
    ),
    # Of two lines the wider counts.
    Case(
        "outlet-narrower-than-line",
        "bad",
        "main.outlet",
        ("the outlet is 8.0 mm wide inside, to pump 9.5 mm",),
        {"line.9": {**line("to pump", "feed", "main.outlet", "boost pump"), "bore": "9.5 mm"}},
        "at least 9.5 mm",
    ),
    Case("outlet-narrower-than-line", "unknown", "main.outlet", ("needs a feed line",), {"line.2": REMOVE}),
    Case(
        "outlet-narrower-than-line",
        "unknown",
        "main.outlet",
        ("needs the outlet's bore",),
        {"tank.0.outlet.0.bore": REMOVE},
    ),
    # 200 - (-45) = 245 below the lip, 285 below the vent.
    Case("outlet-above-vent", "good", "main.outlet", ("245.0 mm below filler, the lowest of vent, filler",)),
    # 240 against -45, and against the lip at 200.
    Case(
        "outlet-above-vent",
        "bad",
        "main.outlet",
        ("at parked", "it stands 285.0 mm above vent, and above filler"),
        EXCHANGED,
        'axes = "aft, right, up"',
        FAIL,
    ),
    # 10 above the lip, 30 below the vent.
    Case(
        "outlet-above-vent",
        "bad",
        "main.outlet",
        ("it stands 10.0 mm above filler",),
        {"tank.0.outlet.0.position": mm(200, 250, 210)},
        "by more than 10.0 mm",
        CAUTION,
    ),
    # Nose up by 45° the outlet 100 mm aft of the vent's place falls by 71, and stands below it though it is 30 higher.
    Case(
        "outlet-above-vent",
        "good",
        "header.outlet",
        ("49.5 mm below vent",),
        {
            "attitude.0.pitch": "45 deg",
            "tank.1.outlet.0.position": mm(200, 80, 130),
            "tank.1.vent.0.position": mm(100, 80, 100),
        },
    ),
    Case(
        "outlet-above-vent",
        "unknown",
        "header.outlet",
        ("needs a vent or a filler",),
        {"line.1": REMOVE, "tank.1.vent": []},
    ),
]


@pytest.mark.parametrize("case", CASES, ids=lambda case: case.title)
def test_the_rule_says_what_the_case_expects(case: Case) -> None:
    check(case)
