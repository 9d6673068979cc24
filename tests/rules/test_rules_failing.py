"""Rules on single failures, which are flown: each with its change, proved by the same failure.

One table: rule, kind, where, what the evidence says, what was changed in the base design, what mends it. At 18 L/h the base
design's header, 0.88 + 0.032 z L below z mm of its walls, is left with 0.28 L.
"""

from __future__ import annotations

import pytest
from designs import REMOVE
from rule_cases import LEVEL, Case, check, mm

from fuelsys.model.found.findings import Outcome

FLIGHT = {"name": "f", "attitude": "cruise", "flow": "cruise", "loaded": {"main": "8 L"}}
SHORT = LEVEL | {"flight": [FLIGHT]}
STURDY = SHORT | {"tank.1.switch.0.mark": mm(100, 80, 185), "aircraft.lamps_own_power": True}
# One lamp, low in the main tank, tells nothing of what the header gives when the main tank does not feed.
BLIND = SHORT | {
    "tank.1.switch": [],
    "tank.0.switch": [{"name": "low", "mark": mm(200, 250, -20), "differential": "3 mm", "tolerance": "3 mm"}],
}
CASES = [
    Case("failure-without-warning", "good", "main does not feed", ("10.2 min before",), STURDY, failures=True),
    # The header alone burns 18 and gives 20 L/h away: its 8.632 L usable last 13.6 min. At z = 175 lamp 20 min comes with 6.48 L, that is
    # (6.48 - 0.28) / 38 x 60 = 9.79 min before (told as 9.7: never up), 3 mm lower 0.096 L or 0.15 min less. 606 s need 6.3967 + 0.28 L:
    # z = 181.1, and 3 mm.
    Case(
        "failure-without-warning",
        "bad",
        "main does not feed",
        ("the flight stated", "after 13.6 min", "header 20 min lights 9.7 min before, at the latest 9.6 min"),
        SHORT,
        "Raise the mark of header switch 20 min by 9.2 mm, to (100, 80, 184.2) mm of its mesh: flown so, a lamp lights 10.1 min",
        Outcome.CAUTION,
        failures=True,
    ),
    # The same quantity, z = 181.1, of a new mark over the outlet, and 3 mm of its tolerance. 8 L and what was returned in 13.6 min, 4.54 L,
    # and 0.28 L are left.
    Case(
        "failure-without-warning",
        "bad",
        "main does not feed",
        ("no lamp lit before", "12.82 L are left"),
        BLIND,
        "One more switch in header, its mark at (100, 80, 184.2) mm of its mesh",
        Outcome.FAIL,
        failures=True,
    ),
    Case(
        "failure-without-warning",
        "unknown",
        "engine",
        ("the engine's return_flow",),
        {"component.5.return_flow": REMOVE},
        failures=True,
    ),
    Case("failure-without-warning", "unknown", "engine", ("`fuelsys check DESIGN --failures`",)),
    Case("failure-stops-engine-at-once", "good", "engine", ("14 things wrong",), STURDY, failures=True),
    # One pump alone: it needs 20 kPa and gravity gives none of it.
    Case(
        "failure-stops-engine-at-once",
        "bad",
        "engine pump stands still",
        ("stops at once",),
        STURDY | {"line.5.to": "engine pump", "component.3": REMOVE, "line.6": REMOVE},
        "A second pump like engine pump, driven by electric power",
        Outcome.CAUTION,
        failures=True,
    ),
    Case("failure-stops-engine-at-once", "unknown", "engine", ("`fuelsys check DESIGN --failures`",)),
]


@pytest.mark.parametrize("case", CASES, ids=lambda case: case.title)
def test_the_rule_says_what_the_case_expects(case: Case) -> None:
    check(case)
