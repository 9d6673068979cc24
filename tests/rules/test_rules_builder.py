"""The rules on what builders get wrong when they state a design: ports, lines, sticks, floats and figures.

One table as in the other files. The base design (designs.py) is two tanks; the main tank's mesh spans x 0 to 400, y 0 to
500, z -60 to 240 mm, its outlet stands at z -45, its vent at 240, its filler's lip at 200.
"""

from __future__ import annotations

from typing import Any

import pytest
from designs import REMOVE
from plumbing_changes import line
from rule_cases import POCKET, SPARE, Case, check, mm

from fuelsys.model.found.findings import Outcome

FAIL, CAUTION = Outcome.FAIL, Outcome.CAUTION

SECOND_OUTLET = {"tank.0.outlet.1": {"name": "second", "position": mm(200, 300, -45), "bore": "8 mm"}}
# The main tank's outlet at the roof, its vent in the sump.
EXCHANGED = {"tank.0.outlet.0.position": mm(170, 250, 240), "tank.0.vent.0.position": mm(200, 250, -45)}


def stick(top: tuple[float, float, float], bottom: tuple[float, float, float]) -> dict[str, Any]:
    """Another dipstick for the main tank."""
    return {"tank.0.dipstick": {"top": mm(*top), "bottom": mm(*bottom)}}


def room(x: float, z: float, clearance: str) -> dict[str, Any]:
    """Another place for the header's second switch, and the room that its float needs."""
    return {"tank.1.switch.1.mark": mm(x, 80, z), "tank.1.switch.1.clearance": clearance}


INTO_THE_BAG = POCKET | {"tank.0.filler.position": mm(370, 250, 90)} | stick((370, 250, 90), (430, 250, 60))
PLACARD = "tank.0.filler.placard"
ALL_ALIKE = {"takeoff": "36 L/h", "max_continuous": "36 L/h", "cruise": "36 L/h"}
# The ends of each range, and densities just beyond them.
ENDS = {
    "avgas": ("0.68 kg/L", "0.76 kg/L"),
    "mogas": ("0.7 kg/L", "0.79 kg/L"),
    "jet": ("0.775 kg/L", "0.84 kg/L"),
    "diesel": ("0.8 kg/L", "0.86 kg/L"),
}
BEYOND = {
    "avgas": ("0.679 kg/L", "0.761 kg/L"),
    "mogas": ("0.699 kg/L", "0.791 kg/L"),
    "jet": ("0.774 kg/L", "0.841 kg/L"),
    "diesel": ("0.799 kg/L", "0.861 kg/L"),
}

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
    Case(
        "port-not-connected",
        "bad",
        "main.outlet",
        ("main feed runs from", "no fuel comes by it to an engine"),
        {"line.2.from": "header.from main", "line.2.to": "main.outlet"},
        "Change from and to",
        FAIL,
    ),
    Case(
        "port-not-connected",
        "bad",
        "header.from main",
        ("main feed runs from",),
        {"line.2.from": "header.from main", "line.2.to": "main.outlet"},
        "Change from and to",
        FAIL,
    ),
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
    # --- dipsticks
    Case("dipstick-misses-filler", "good", "main", ("passes 0.0 mm from the middle", "nothing is in its way")),
    # Half of 58 mm is 29.
    Case("dipstick-misses-filler", "good", "main", ("passes 28.0 mm from",), stick((258, 250, 200), (258, 250, -50))),
    Case(
        "dipstick-misses-filler",
        "bad",
        "main",
        ("passes 30.0 mm from the middle of the lip of filler, whose bore is 58.0 mm",),
        stick((260, 250, 200), (260, 250, -50)),
        "by at least 1.0 mm",
        CAUTION,
    ),
    # The line counts, not the top, which ends 130 mm below the lip: at the lip's level it passes 70 aside, 56 square to it.
    Case(
        "dipstick-misses-filler", "bad", "main", ("passes 56.0 mm",), stick((202.5, 250, 70), (150, 250, 0)), "27.0 mm"
    ),
    # From a filler at z = 90 down into the bag behind the rear wall: through that wall at x = 400, half way down, and 2 mm on
    # in x, 1 in z: 2.24 mm.
    Case(
        "dipstick-misses-filler",
        "bad",
        "main",
        ("meets a wall, a rib or a body at (400, 250, 75) mm of its mesh, 2.2 mm thick",),
        INTO_THE_BAG,
        "clear of (400, 250, 75) mm",
        FAIL,
    ),
    # A top that ends below the lip goes in from the lip all the same.
    Case(
        "dipstick-misses-filler",
        "bad",
        "main",
        ("at (400, 250, 75) mm of its mesh",),
        INTO_THE_BAG | stick((420, 250, 65), (430, 250, 60)),
    ),
    # Over that wall, by the mouth of the bag (z 100 to 150).
    Case(
        "dipstick-misses-filler",
        "good",
        "main",
        ("nothing is in its way",),
        INTO_THE_BAG | {"tank.0.filler.position": mm(370, 250, 140)} | stick((370, 250, 140), (430, 250, 120)),
    ),
    # A lip 1.5 mm over the roof and a bottom 1.5 mm under the floor, which the door lets pass, are no walls.
    Case(
        "dipstick-misses-filler",
        "good",
        "main",
        ("nothing is in its way",),
        {"tank.0.filler.position": mm(230, 250, 241.5)} | stick((230, 250, 300), (230, 250, -61.5)),
    ),
    Case("dipstick-misses-filler", "unknown", "main", ("needs a filler",), {"tank.0.filler": REMOVE}),
    Case("dipstick-misses-filler", "unknown", "main", ("needs the filler's bore",), {"tank.0.filler.bore": REMOVE}),
    Case("dipstick-misses-filler", "unknown", "spare", ("needs its fittings",), SPARE),
    Case("dipstick-misses-filler", "not asked", "header", ("no dipstick",)),
    # --- floats
    # The header's mark stands in the middle of 160 mm.
    Case("float-without-clearance", "good", "header switch 20 min", ("80.0 mm to the nearest", "25.0 mm are wanted")),
    Case("float-without-clearance", "good", "header switch 10 min", ("its mark has 20.0",), room(20, 150, "20 mm")),
    Case(
        "float-without-clearance",
        "bad",
        "header switch 10 min",
        ("its mark has 20.0 mm to the nearest wall, rib or body, at (0, 80, 150) mm of its mesh; 25.0 mm are wanted",),
        room(20, 150, "25 mm"),
        "by at least 5.0 mm away from (0, 80, 150) mm",
        FAIL,
    ),
    # 10 mm under the roof at 260, where its differential of 3 mm takes it up to 7.
    Case(
        "float-without-clearance",
        "bad",
        "header switch 10 min",
        ("its float, risen by its differential, has 7.0 mm", "at (100, 80, 260) mm"),
        room(100, 250, "10 mm"),
        "by at least 3.0 mm",
    ),
    # Through the roof: nothing is left.
    Case(
        "float-without-clearance",
        "bad",
        "header switch 10 min",
        ("risen by its differential, has 0.0 mm",),
        room(100, 250, "10 mm") | {"tank.1.switch.1.differential": "40 mm"},
        "by at least 10.0 mm",
    ),
    Case(
        "float-without-clearance",
        "unknown",
        "header switch 10 min",
        ("needs the clearance",),
        {"tank.1.switch.1.clearance": REMOVE},
    ),
    Case(
        "float-without-clearance",
        "unknown",
        "main switch low",
        ("needs the tank without float",),
        {
            "tank.0.inside": [{"name": "float", "mesh": "header.off"}],
            "tank.0.switch": [
                {"name": "low", "mark": mm(100, 80, 100), "own_float": "float", "clearance": "5 mm"},
            ],
        },
    ),
    # --- figures
    Case("flows-out-of-order", "good", "flows", ("takeoff 36.0 L/h, max_continuous 30.0 L/h, cruise 18.0 L/h",)),
    Case("flows-out-of-order", "good", "flows", ("cruise 36.0 L/h",), {"flows": ALL_ALIKE}),
    Case(
        "flows-out-of-order",
        "bad",
        "flows",
        ("cruise (31.0 L/h) is above max_continuous (30.0 L/h)",),
        {"flows.cruise": "31 L/h"},
        "exchange them",
        FAIL,
    ),
    Case(
        "flows-out-of-order",
        "bad",
        "flows",
        ("max_continuous (37.0 L/h) is above takeoff (36.0 L/h)",),
        {"flows.max_continuous": "37 L/h"},
    ),
    # What is known to be wrong is told even where a flow is missing.
    Case(
        "flows-out-of-order",
        "bad",
        "flows",
        ("cruise (40.0 L/h) is above takeoff (36.0 L/h)",),
        {"flows": {"takeoff": "36 L/h", "cruise": "40 L/h"}},
    ),
    Case(
        "flows-out-of-order",
        "unknown",
        "flows",
        ("needs flows named takeoff and max_continuous",),
        {"flows": {"cruise": "18 L/h"}},
    ),
    Case("fuel-kind-against-density", "good", "fuel", ("0.720 kg/L for avgas, which has 0.680 kg/L to 0.760 kg/L",)),
    Case(
        "fuel-kind-against-density",
        "bad",
        "fuel",
        ("0.800 kg/L for avgas", "jet and diesel may have it"),
        {"fuel.density": "0.8 kg/L"},
        "for avgas 0.680 kg/L to 0.760 kg/L, or the kind, if jet or diesel is meant",
        CAUTION,
    ),
    Case(
        "fuel-kind-against-density",
        "bad",
        "fuel",
        ("1.000 kg/L for avgas", "no kind of fuel has it"),
        {"fuel.density": "1 kg/L"},
        "look at its unit",
    ),
    *(
        Case(
            "fuel-kind-against-density", "good", "fuel", (f"for {kind}",), {"fuel.kind": kind, "fuel.density": density}
        )
        for kind, both in ENDS.items()
        for density in both
    ),
    *(
        Case("fuel-kind-against-density", "bad", "fuel", (f"for {kind}",), {"fuel.kind": kind, "fuel.density": density})
        for kind, both in BEYOND.items()
        for density in both
    ),
    Case("placard-against-fuel-kind", "good", "main.filler", ('"Avgas 100LL", and the design\'s fuel is avgas',)),
    Case("placard-against-fuel-kind", "good", "main.filler", ("is avgas",), {PLACARD: "100LL or petrol, no jet fuel"}),
    Case(
        "placard-against-fuel-kind",
        "bad",
        "main.filler",
        ('says "Diesel EN 590", which is diesel; the design\'s fuel is avgas',),
        {PLACARD: "Diesel EN 590"},
        'kind = "diesel"',
        FAIL,
    ),
    Case(
        "placard-against-fuel-kind",
        "bad",
        "main.filler",
        ("which is avgas or mogas; the design's fuel is jet",),
        {"fuel.kind": "jet", PLACARD: "Avgas 100LL or Mogas 95"},
        "Mark the filler for jet",
    ),
    Case("placard-against-fuel-kind", "bad", "main.filler", ("which is jet;",), {PLACARD: "Jet A-1, not avgas"}),
    Case("placard-against-fuel-kind", "unknown", "main.filler", ("needs the placard's words",), {PLACARD: REMOVE}),
    Case(
        "placard-against-fuel-kind",
        "unknown",
        "main.filler",
        ('needs a placard that names a fuel: the placard says "48 L"',),
        {PLACARD: "48 L"},
    ),
    Case("placard-against-fuel-kind", "not asked", "header", ("no filler of its own",)),
]
IMPOSSIBLE = {("fuel-kind-against-density", "unknown"): "a design file is refused without the fuel's kind and density"}


@pytest.mark.parametrize("case", CASES, ids=lambda case: case.title)
def test_the_rule_says_what_the_case_expects(case: Case) -> None:
    check(case)
