"""The rule on flow shares: what the tanks that feed together give, and what a design file cannot say of it.

One table: rule, kind, where, what the evidence says, what was changed in the base design, what mends it.

In the base design (designs.py) the main tank feeds the header, which has no filler, and the header the engine by filter, shut-off
and two pumps. Most cases let the main tank feed the engine beside the header instead, so that two tanks share its flow.
"""

from __future__ import annotations

from typing import Any

import pytest
from designs import REMOVE
from plumbing_changes import NO_ENGINE_LINE, TEE, line, mm
from rule_cases import Case, check

from fuelsys.model.found.findings import Outcome

FAIL, CAUTION = Outcome.FAIL, Outcome.CAUTION
RULE = "flow-shares-do-not-add-up"


def shares(main: str, header: str) -> dict[str, Any]:
    return {"tank.0.flow_share": main, "tank.1.flow_share": header}


# Both tanks into the filter, nothing between: they feed at the same time.
BOTH = {"line.2.to": "filter", "line.2.path": []}
# The shut-off chooses between the header (by the filter) and the main tank.
CHOSEN = {"component.2.kind": "selector", "line.2": line("main to selector", "feed", "main.outlet", "shut-off")}
# A valve of its own in the main tank's line to the filter.
VALVED = {
    "component.6": {"name": "main valve", "kind": "valve", "position": mm(300, 0, 500), "engine_side": False},
    "line.2.to": "main valve",
    "line.2.path": [],
    "line.9": line("valve to filter", "feed", "main valve", "filter"),
}
# A second tank beside the main one.
WING = {
    "name": "wing",
    "mesh": "main.off",
    "unit": "mm",
    "axes": "aft, right, up",
    "position": mm(400, 350, 1000),
    "outlet": [{"name": "outlet", "position": mm(200, 250, -45), "bore": "8 mm"}],
}
TWO_WINGS = {
    "tank.2": WING,
    "tank.1.inlet.1": {"name": "from wing", "position": mm(0, 100, 150), "bore": "8 mm"},
    "line.9": line("wing feed", "feed", "wing.outlet", "header.from wing"),
}
# A third tank joined to the main one by a line at their bottoms, without a feed line of its own.
LEVEL = {
    "tank.2": WING | {"outlet": [], "inlet": [{"name": "low", "position": mm(200, 250, -45), "bore": "8 mm"}]},
    "tank.0.inlet": [{"name": "low", "position": mm(200, 250, -50), "bore": "8 mm"}],
    "line.9": line("level line", "interconnect", "wing.low", "main.low"),
}
# Main and wing, always together, against the header, chosen by the selector: 50 + 50, or 100.
PAIR = CHOSEN | {
    "line.2": line("main to tee", "feed", "main.outlet", "tee"),
    "component.6": TEE,
    "tank.2": WING,
    "line.9": line("wing to tee", "feed", "wing.outlet", "tee"),
    "line.10": line("tee to selector", "feed", "tee", "shut-off"),
}
CASES = [
    Case(RULE, "good", "engine", ("header 100 % of the flow for 100 % that engine needs",)),
    Case(RULE, "good", "header", ("main 100 % of the flow for 100 % that header needs",)),
    # One tank alone.
    Case(RULE, "bad", "engine", ("header 50 %", "minutes come out too long"), shares("50 %", "50 %"), "100 %", FAIL),
    Case(RULE, "bad", "header", ("main 50 %", "too long"), {"tank.0.flow_share": "50 %"}, "flow_share", FAIL),
    # Two headers' worth: what a header needs is its own share.
    Case(RULE, "good", "header", ("main 50 % of the flow for 50 %",), shares("50 %", "50 %")),
    # Two tanks that nothing can part.
    Case(RULE, "good", "engine", ("main 50 %, header 50 %",), BOTH | shares("50 %", "50 %")),
    Case(RULE, "good", "engine", ("main 33 %, header 66 %",), BOTH | shares("33 %", "66 %")),
    Case(
        RULE, "bad", "engine", ("feed at the same time, 140 %", "too short"), BOTH | shares("70 %", "70 %"), "", CAUTION
    ),
    Case(RULE, "bad", "engine", ("70 % in all", "too long"), BOTH | shares("30 %", "40 %"), "", FAIL),
    # Two wing tanks into a header.
    Case(
        RULE,
        "good",
        "header",
        ("main 50 %, wing 50 %",),
        TWO_WINGS | {"tank.0.flow_share": "50 %"} | {"tank.2": WING | {"flow_share": "50 %"}},
    ),
    Case(RULE, "bad", "header", ("200 %", "too short"), TWO_WINGS, "", CAUTION),
    # A selector: each alone gives all; 50 and 50 hold only where both are open, which is not stated; 40 and 40 never hold.
    Case(RULE, "good", "engine", ("whichever of them feed",), CHOSEN),
    Case(
        RULE,
        "bad",
        "engine",
        ("which tanks shut-off let feed",),
        CHOSEN | shares("50 %", "50 %"),
        "State 100 %",
        CAUTION,
    ),
    Case(
        RULE,
        "bad",
        "engine",
        ("which tanks shut-off let feed",),
        CHOSEN | shares("70 %", "70 %"),
        "State 100 %",
        CAUTION,
    ),
    Case(RULE, "bad", "engine", ("80 % in all",), CHOSEN | shares("40 %", "40 %"), "", FAIL),
    Case(
        RULE,
        "bad",
        "engine",
        ("which tanks main valve let feed",),
        VALVED | shares("50 %", "50 %"),
        "State 100 %",
        CAUTION,
    ),
    Case(RULE, "good", "engine", ("whichever of them feed",), VALVED),
    Case(
        RULE,
        "good",
        "engine",
        ("main 50 %, wing 50 %, header 100 %", "whichever"),
        PAIR | shares("50 %", "100 %") | {"tank.2": WING | {"flow_share": "50 %"}},
    ),
    Case(
        RULE,
        "bad",
        "engine",
        ("main and wing feed at the same time, 140 %",),
        PAIR | shares("70 %", "100 %") | {"tank.2": WING | {"flow_share": "70 %"}},
        "",
        CAUTION,
    ),
    # Joined by a line that keeps their levels equal, the tank that feeds may count half.
    Case(
        RULE,
        "good",
        "header",
        ("main 50 %, wing 50 %", "wing by the line that keeps"),
        LEVEL | {"tank.0.flow_share": "50 %", "tank.2.flow_share": "50 %"},
    ),
    Case(RULE, "good", "header", ("main 100 %, wing 100 %",), LEVEL),
    Case(
        RULE,
        "bad",
        "header",
        ("how much runs over from wing",),
        LEVEL | {"tank.0.flow_share": "50 %"},
        "State 100 %",
        CAUTION,
    ),
    Case(RULE, "bad", "header", ("60 % in all",), LEVEL | {"tank.0.flow_share": "50 %", "tank.2.flow_share": "10 %"}),
    # With a valve in that line it may be shut.
    Case(
        RULE,
        "bad",
        "header",
        ("how much runs over from wing",),
        LEVEL
        | {
            "line.9": line("level line", "interconnect", "wing.low", "level valve"),
            "line.10": line("to main", "interconnect", "level valve", "main.low"),
            "component.6": {"name": "level valve", "kind": "valve", "position": mm(600, 100, 950)},
            "tank.0.flow_share": "50 %",
            "tank.2.flow_share": "50 %",
        },
        "State 100 %",
        CAUTION,
    ),
    # Both lines end at one pump, which draws from both; the shut-off is left out.
    Case(
        RULE,
        "bad",
        "engine",
        ("feed at the same time, 140 %",),
        {
            "line.2": line("main to pump", "feed", "main.outlet", "boost pump"),
            "line.4.to": "boost pump",
            "line.5": REMOVE,
        }
        | shares("70 %", "70 %"),
        "",
        CAUTION,
    ),
    # The main tank feeds the header and the engine: how its share is divided is not stated.
    Case(
        RULE,
        "unknown",
        "header",
        ("main leads to engine too",),
        {"line.9": line("main to filter", "feed", "main.outlet", "filter"), "tank.0.flow_share": "60 %"},
    ),
    Case(RULE, "unknown", "engine", ("needs feed lines",), NO_ENGINE_LINE),
    Case(RULE, "unknown", "main.outlet", ("needs a feed line from it",), {"line.2": REMOVE}),
    Case(RULE, "not asked", "header", ("it has a filler",), {"tank.1.filler": {"position": mm(100, 80, 255)}}),
]


@pytest.mark.parametrize("case", CASES, ids=lambda case: case.title)
def test_flow_shares(case: Case) -> None:
    check(case)
