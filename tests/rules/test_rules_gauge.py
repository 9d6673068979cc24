"""Rules on fuel quantity gauges.

One table: rule, kind, where, what the evidence says, what was changed in the base design, what mends it.

Below its walls' foot the main tank is a hopper, 100 + 5 (z + 60) mm by 100 + 20/3 (z + 60) mm wide at z mm, to z = -60. With its
outlet at z = -45 it keeps 0.31875 L level (rule_cases.py). A minute is 0.3 L.
"""

from __future__ import annotations

from typing import Any

import pytest
from designs import ATTITUDES
from rule_cases import LEVEL, NO_MAIN_OUTLET, SPARE, Case, check, mm

from fuelsys.model.found.findings import Outcome

FAIL, CAUTION = Outcome.FAIL, Outcome.CAUTION
MAIN = "main gauge probe"


def probe(x: float, z: float) -> dict[str, Any]:
    """Another probe in the main tank, up to the top of its walls."""
    return {"tank.0.gauge.0": {"name": "probe", "kind": "probe", "bottom": mm(x, 250, z), "top": mm(x, 250, 200)}}


# An arm whose float would have to fall as the tank is filled: its stops were exchanged.
UPSIDE_DOWN = {
    "tank.0.gauge.0": {
        "name": "probe",
        "kind": "arm",
        "pivot": mm(120, 250, 100),
        "empty": mm(180, 250, 180),
        "full": mm(180, 250, 20),
    }
}

ACROSS = {
    "tank.0.mesh": "pocket.off",
    "tank.0.gauge.0": {"name": "probe", "kind": "probe", "bottom": mm(440, 250, 70), "top": mm(200, 250, 70)},
}
# An arm of 92 mm about a pivot 50 mm from the front wall: its float comes through that wall on the way.
SWINGING = {
    "tank.0.gauge.0": UPSIDE_DOWN["tank.0.gauge.0"]
    | {"pivot": mm(50, 250, 100), "empty": mm(30, 250, 10), "full": mm(30, 250, 190)},
}

CASES = [
    Case("gauge-missing", "good", "main", ("it has probe",)),
    Case(
        "gauge-missing", "bad", "main", ("no gauge",), {"tank.0.gauge": [], "tank.1.gauge": []}, "[[tank.gauge]]", FAIL
    ),
    Case("gauge-missing", "good", "header", ("counts as one tank with main",), {"tank.1.gauge": []}),
    Case("gauge-missing", "unknown", "spare", ("needs its fittings",), SPARE),
    # Its bottom lies below the outlet: it moves until the outlet runs dry.
    Case("gauge-blind", "good", MAIN, ("down to 0.32 L; unusable are 0.32 L; so at all 1 flight",), LEVEL),
    Case("gauge-blind", "good", MAIN, ("so at all 6 flight attitudes",)),
    # Up to z = -36: 24/6 (100 x 100 + 4 x 160 x 180 + 220 x 260) = 729600 mm3, 0.41 L above what is unusable: 1.37 min.
    Case(
        "gauge-blind",
        "bad",
        MAIN,
        ("it stands still with 0.73 L", "unusable are 0.32 L: the last 0.41 L, 1.4 min at the tank's share of cruise"),
        LEVEL | probe(210, -36),
        "Let it reach lower",
        FAIL,
    ),
    # On the hopper's front face, 110/150 of 60 mm below the walls' foot: level it sees less than what is unusable nose up. Nose
    # up by 8° the surface passes it (110 - 200) tan 8° + 1 = 13.6 mm above the outlet.
    Case(
        "gauge-blind",
        "bad",
        MAIN,
        ("at climb (pitch +8.0°, roll 0.0°) it stands still with",),
        {"attitude": [ATTITUDES[0], ATTITUDES[2], ATTITUDES[3]]} | probe(110, -44),
        "",
        CAUTION,
    ),
    Case("gauge-blind", "bad", MAIN, ("its signal does not change as the tank drains",), LEVEL | UPSIDE_DOWN, "", FAIL),
    Case("gauge-blind", "unknown", MAIN, ("needs an outlet",), NO_MAIN_OUTLET),
    # From the hopper's floor 1 mm up: 1 mm is 0.01 L, two seconds at 18 L/h. 24/6 above is 0.41 L.
    Case("gauge-blind", "good", MAIN, ("down to 0.33 L; unusable are 0.32 L",), LEVEL | probe(210, -44.6)),
    Case("gauge-meets-wall", "good", MAIN, ("nothing is in its way",)),
    # The bag on the rear wall stands behind a wall of 2 mm, at x from 400 to 402; its inside ends at 450.
    Case(
        "gauge-meets-wall",
        "bad",
        MAIN,
        ("a wall, a rib or a body at (400, 250, 70) mm", "2.0 mm thick"),
        LEVEL | ACROSS,
        "",
        FAIL,
    ),
    Case("gauge-meets-wall", "bad", MAIN, ("of its way lies outside",), LEVEL | SWINGING, "", FAIL),
    Case("gauge-meets-wall", "good", MAIN, ("at the places looked at", "measure"), LEVEL | UPSIDE_DOWN),
    Case("gauge-meets-wall", "unknown", MAIN, ("needs an outlet",), NO_MAIN_OUTLET),
    Case("gauge-blind", "not asked", "", ("nothing of this kind",), {"tank.0.gauge": [], "tank.1.gauge": []}),
]


@pytest.mark.parametrize("case", CASES, ids=lambda case: case.title)
def test_the_rule_says_what_the_case_expects(case: Case) -> None:
    check(case)
