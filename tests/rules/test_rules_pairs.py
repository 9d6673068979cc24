"""The rules on pairs of tanks: those that valves part and that may fill each other, and a left one with its right twin.

The base design's main tank holds 48.5 L and feeds the header by its inlet; the second tanks here are copies of it.
"""

from __future__ import annotations

from typing import Any

import pytest
from designs import MAIN, REMOVE
from plumbing_changes import TEE, line
from rule_cases import Case, check, mm, study_of

from fuelsys.model.found.findings import Outcome
from fuelsys.rules.tanks.twins import mirror_tanks_differ

CAUTION = Outcome.CAUTION

AUX = {**MAIN, "name": "aux", "position": mm(400, 400, 1050), "return": []}


def behind(first: str, second: str, to: str = "header.from main") -> dict[str, Any]:
    """A second tank like the main one, 50 mm higher, and what the lines of both pass on their way to one place."""
    return {
        "tank.2": AUX,
        "component.6": {"name": "main valve", "kind": first, "position": mm(480, 0, 800)},
        "component.7": {"name": "aux valve", "kind": second, "position": mm(480, 100, 800)},
        "line.2.to": "main valve",
        "line.9": line("main on", "feed", "main valve", to),
        "line.10": line("aux feed", "feed", "aux.outlet", "aux valve"),
        "line.11": line("aux on", "feed", "aux valve", to),
    }


SELECTED = {
    "tank.2": AUX,
    "component.6": {"name": "selector", "kind": "selector", "position": mm(480, 0, 800)},
    "line.2.to": "selector",
    "line.9": line("on", "feed", "selector", "header.from main"),
    "line.10": line("aux feed", "feed", "aux.outlet", "selector"),
}


def twins(changes: dict[str, Any] | None = None) -> dict[str, Any]:
    """Two more tanks like the main one, from 750 to 1250 mm to the left and to the right."""
    fitted = {**MAIN, "return": []}
    return {
        "tank.2": {**fitted, "name": "left", "position": mm(400, -1250, 1000)},
        "tank.3": {**fitted, "name": "right", "position": mm(400, 750, 1000)},
    } | (changes or {})


BARE = {f"tank.3.{key}": REMOVE for key in ("outlet", "vent", "filler", "drain", "return", "dipstick")}

CASES = [
    # --- tanks behind valves
    # The second tank stands 50 mm higher, and so does its lip.
    Case(
        "two-valves-into-one-inlet",
        "bad",
        "main and aux",
        (
            "with aux valve and main valve open fuel can run from aux into main, and from main into aux",
            "meet at header.from main; both full",
            "aux's fuel stands 50.0 mm above that of main",
        ),
        behind("valve", "valve"),
        "each of the lines of main and aux before header.from main, or one selector in place of aux valve and main valve",
        CAUTION,
    ),
    # At a tee before the inlet, and at the pump.
    Case(
        "two-valves-into-one-inlet",
        "bad",
        "main and aux",
        ("their lines meet at tee",),
        behind("valve", "valve", "tee")
        | {"component.8": TEE, "line.12": line("on", "feed", "tee", "header.from main")},
    ),
    Case(
        "two-valves-into-one-inlet",
        "bad",
        "main and aux",
        ("meet at boost pump",),
        behind("valve", "valve", "boost pump"),
    ),
    # Into a header that stands full by an inlet each.
    Case(
        "two-valves-into-one-inlet",
        "bad",
        "main and aux",
        ("their lines meet at header;",),
        behind("valve", "valve")
        | {"tank.1.inlet.1": {"name": "from aux", "position": mm(200, 80, 150)}, "line.11.to": "header.from aux"},
    ),
    # A check valve lets nothing back into its own tank, but does not keep that from filling the other.
    Case(
        "two-valves-into-one-inlet",
        "bad",
        "main and aux",
        ("with main valve open fuel can run from aux into main: their lines meet",),
        behind("valve", "check valve"),
        "into the line of main before",
    ),
    Case(
        "two-valves-into-one-inlet",
        "bad",
        "main and aux",
        ("with aux valve open fuel can run from main into aux:", "main's fuel stands 50.0 mm below that of aux"),
        behind("check valve", "valve"),
    ),
    Case(
        "two-valves-into-one-inlet",
        "bad",
        "main and aux",
        ("with main valve open fuel can run through aux valve from aux into main: their",),
        behind("valve", "pump"),
    ),
    Case(
        "two-valves-into-one-inlet",
        "good",
        "main and aux",
        ("both lead to header, and neither can fill the other",),
        behind("check valve", "check valve"),
    ),
    Case("two-valves-into-one-inlet", "good", "main and aux", ("both lead to header",), behind("pump", "pump")),
    Case("two-valves-into-one-inlet", "good", "main and aux", ("both lead to header",), SELECTED),
    # A second line from the selector to the header makes no way back past it into the tank that is not chosen.
    Case(
        "two-valves-into-one-inlet",
        "good",
        "main and aux",
        ("both lead to header",),
        SELECTED
        | {
            "tank.1.inlet.1": {"name": "second", "position": mm(200, 80, 150)},
            "line.11": line("second", "feed", "selector", "header.second"),
        },
    ),
    # Behind the selector the second tank has another way, round it.
    Case(
        "two-valves-into-one-inlet",
        "bad",
        "main and aux",
        ("with selector open fuel can run from aux into main, and from main into aux: their lines meet at header;",),
        SELECTED
        | {
            "tank.1.inlet.1": {"name": "from aux", "position": mm(200, 80, 150)},
            "line.11": line("round", "feed", "aux.outlet", "header.from aux"),
        },
        "into each of the lines of main and aux before header.",
    ),
    Case("two-valves-into-one-inlet", "not asked", "main and aux", ("no valve parts them",), behind("tee", "tee")),
    Case(
        "two-valves-into-one-inlet",
        "unknown",
        "aux.second",
        ("needs a feed line from it",),
        behind("valve", "valve") | {"tank.2.outlet.1": {"name": "second", "position": mm(200, 300, -45)}},
    ),
    # --- twins
    Case("mirror-tanks-differ", "good", "left and right", ("mirror images, 48.50 L each, with 6 fittings",), twins()),
    Case(
        "mirror-tanks-differ",
        "bad",
        "left and right",
        ("outlet sits 20.0 mm off its mirrored place",),
        twins({"tank.3.outlet.0.position": mm(200, 270, -45)}),
        "outlet of right at (200, 250, -45) mm of its mesh; or change left",
        CAUTION,
    ),
    # The places that are not in the middle of the span have to be turned: from 200 to 300 of 500.
    Case(
        "mirror-tanks-differ",
        "good",
        "left and right",
        ("mirror images",),
        twins({"tank.2.outlet.0.position": mm(200, 200, -45), "tank.3.outlet.0.position": mm(200, 300, -45)}),
    ),
    Case(
        "mirror-tanks-differ",
        "bad",
        "left and right",
        ("outlet sits 100.0 mm off",),
        twins({"tank.2.outlet.0.position": mm(200, 200, -45), "tank.3.outlet.0.position": mm(200, 200, -45)}),
        "at (200, 300, -45) mm",
    ),
    Case(
        "mirror-tanks-differ",
        "bad",
        "left and right",
        ("they hold 48.50 L and 47.53 L, 2.0 % apart",),
        twins({"tank.3.unmodelled": "2 %"}),
        "look at the mesh of right",
    ),
    Case(
        "mirror-tanks-differ",
        "bad",
        "left and right",
        ("the units of their meshes are mm and cm; they hold 48.50 L and 48500.00 L",),
        twins({"tank.2.dipstick": REMOVE, "tank.3.dipstick": REMOVE, "tank.3.unit": "cm"}),
        'give right unit = "mm"',
    ),
    Case(
        "mirror-tanks-differ",
        "bad",
        "left and right",
        ("right stands off the mirror image of left by 30.0 mm forward, 40.0 mm to the right",),
        twins({"tank.3.position": mm(370, 790, 1000)}),
        "move right back by that",
    ),
    Case(
        "mirror-tanks-differ",
        "bad",
        "left and right",
        ("filler is 58.0 mm and 65.0 mm wide",),
        twins({"tank.3.filler.bore": "65 mm"}),
        "filler of right 58.0 mm wide",
    ),
    Case(
        "mirror-tanks-differ",
        "bad",
        "left and right",
        ("left has no vent second",),
        twins({"tank.3.vent.1": {"name": "second", "position": mm(200, 250, 240)}}),
        "take vent second out of right",
    ),
    Case(
        "mirror-tanks-differ",
        "bad",
        "left and right",
        ("right has no drain",),
        twins({"tank.3.drain": []}),
        "give right the drain",
    ),
    # The only vent of either is the same, whatever its name.
    Case(
        "mirror-tanks-differ",
        "good",
        "left and right",
        ("mirror images",),
        twins({"tank.3.vent.0.name": "breather"}),
    ),
    # By their places alone, the middles 40 mm off in x.
    Case(
        "mirror-tanks-differ",
        "bad",
        "one and other",
        ("other stands off the mirror image of one by 40.0 mm aft",),
        twins({"tank.2.name": "one", "tank.3.name": "other", "tank.3.position": mm(440, 750, 1000)}),
    ),
    Case("mirror-tanks-differ", "unknown", "left and right", ("needs of right its fittings",), twins(BARE)),
]


@pytest.mark.parametrize("case", CASES, ids=lambda case: case.title)
def test_the_rule_says_what_the_case_expects(case: Case) -> None:
    check(case)


@pytest.mark.parametrize(
    "changes",
    [
        # 10 % apart, and no word of sides in their names; 60 mm off; both on one side.
        {"tank.3.unmodelled": "10 %"},
        {"tank.3.position": mm(460, 750, 1000)},
        {"tank.2.position": mm(400, 1300, 1000)},
    ],
    ids=str,
)
def test_tanks_that_only_look_a_little_alike_are_no_pair(changes: dict[str, Any]) -> None:
    design = twins({"tank.2.name": "one", "tank.3.name": "other"} | changes)
    (finding,) = mirror_tanks_differ.findings(study_of(design))
    assert finding.outcome is Outcome.NOT_APPLICABLE
