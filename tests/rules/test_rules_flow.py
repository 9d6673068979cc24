"""The rules on what the feed lines carry, one table, and one case by hand."""

from __future__ import annotations

from math import acos, degrees, pi, sqrt

import pytest
from designs import REMOVE
from fluids.fittings import bend_miter
from numpy.testing import assert_allclose
from plumbing_changes import OWN_VALVE, SELECTOR, TWO_TANKS, WING_VALVE, line, mm
from rule_cases import LEVEL, Case, check, study_of

from fuelsys.model.found.findings import Outcome

FAIL, CAUTION = Outcome.FAIL, Outcome.CAUTION
BOOST, ENGINE_PUMP = "header to engine by boost pump alone", "header to engine by engine pump alone"
INTO_HEADER, SUCTION = "main to header.from main", "header to boost pump"
NO_TAKE_OFF = {"flows.takeoff": REMOVE}
WEAK = {"component.4.curve": [["0 L/h", "40 kPa"], ["50 L/h", "30 kPa"]]}
# No pumps: the shut-off's line runs to the engine, 875 mm below the header's outlet.
GRAVITY = {
    "aircraft.feed": "gravity",
    "component.5.position": mm(-300, 0, -500),
    "component.5.inlet_pressure": "0 kPa",
    "line.7.from": "shut-off",
    "line.6": REMOVE,
    "line.5": REMOVE,
    "component.4": REMOVE,
    "component.3": REMOVE,
}
HEADER = "header to engine"
# Both tanks' lines meet in a tee under the header's outlet, from which one line leads to the filter.
LOW_TEE = {
    "component.6": {"name": "tee", "kind": "tee", "position": mm(600, 0, 0)},
    "line.2": {"name": "main feed", "kind": "feed", "from": "main.outlet", "to": "tee", "bore": "8 mm"},
    "line.3": {"name": "header feed", "kind": "feed", "from": "header.outlet", "to": "tee", "bore": "8 mm"},
    "line.9": {"name": "tee feed", "kind": "feed", "from": "tee", "to": "filter", "bore": "8 mm"},
    "tank.1.inlet": [],
}

OWN_FILLER = {"tank.1.filler": {"name": "cap", "position": mm(100, 100, 240), "bore": "58 mm", "bonded": True}}

UNSTATED_BOWL = {
    "component.7": {"name": "bowl", "kind": "filter", "position": mm(480, 0, 800), "drain": True, "sediment": "60 mL"},
    "line.2": line("main feed", "feed", "main.outlet", "bowl"),
    "line.11": line("main feed on", "feed", "bowl", "header.from main"),
}
MOST, RULE = "component.5.most_inlet_pressure", "inlet-pressure-too-high"
BOTH = "with boost pump and engine pump running and nothing drawn "
INLET = [
    # Two pumps of 40 kPa at no flow, and the main tank full, which stands over the header: nose down by 10 deg the rear edge of its
    # roof, at (650, 1240), is (650 + 300) sin 10 deg + (1240 - 340) cos 10 deg = 1051.3 mm above the inlet: 7.42 kPa.
    Case(RULE, "good", "engine", (BOTH + "87.42 kPa", "90.00 kPa", "descent")),
    Case(RULE, "bad", "engine", ("87.42 kPa", "it may get 87.40 kPa"), {MOST: "87.4 kPa"}, "regulator", FAIL),
    Case(RULE, "unknown", "engine", ("needs its most_inlet_pressure", "87.42 kPa"), {MOST: REMOVE}),
    Case(RULE, "unknown", "engine", ("needs the curve of engine pump",), {"component.4.curve": REMOVE}),
    Case(RULE, "not asked", "engine", ("no pump stands",), GRAVITY),
]
CASES = [
    # With the main tank's own valve open or shut the header is filled, by a filter whose drop nobody knows.
    Case(
        "tank-not-kept-full",
        "unknown",
        "header, every setting",
        ("the drop of bowl; without it worst",),
        OWN_VALVE | UNSTATED_BOWL,
    ),
    *INLET,
    # A valve before the header: shut, the header is left to itself. A thin line past it: not enough.
    Case(
        "tank-not-kept-full",
        "bad",
        "header, every setting",
        ("with wing valve shut nothing comes into it",),
        WING_VALVE,
        "Placard",
        CAUTION,
    ),
    Case(
        "tank-not-kept-full",
        "bad",
        "header, every setting",
        ("worst with wing valve shut", "it sinks"),
        WING_VALVE
        | {"line.10": line("past it", "feed", "main.outlet", "header.from main", mm(480, 0, 800)) | {"bore": "2 mm"}},
        "",
        FAIL,
    ),
    Case(
        "tank-not-kept-full",
        "good",
        "header, every setting",
        ("worst with wing valve shut",),
        WING_VALVE | {"line.10": line("past it", "feed", "main.outlet", "header.from main", mm(480, 0, 800))},
    ),
    Case("feed-flow-too-small", "good", BOOST, ("141.3 L/h of the 65.0 L/h", "20.00 kPa")),
    Case("feed-flow-too-small", "good", HEADER, ("of the 74.0 L/h that are needed, at 0.00 kPa",), GRAVITY),
    # 150 % of 36 L/h and 20 L/h of return are 74.
    Case(
        "feed-flow-too-small",
        "bad",
        HEADER,
        ("of the 74.0 L/h that are needed",),
        GRAVITY | {"line.3.bore": "4 mm"},
        "or raise the tank by",
        FAIL,
    ),
    # 125 % of 36 and 20 are 65; the curve says nothing beyond 50.
    Case("feed-flow-too-small", "bad", ENGINE_PUMP, ("50.0 L/h of the 65.0 L/h",), WEAK, "stronger pump", FAIL),
    Case("feed-flow-too-small", "good", BOOST, ("141.3 L/h",), WEAK),
    Case("feed-flow-too-small", "unknown", BOOST, ("the drop of filter",), {"component.1.drop": REMOVE}),
    Case("feed-flow-too-small", "unknown", BOOST, ("the inlet_pressure",), {"component.5.inlet_pressure": REMOVE}),
    Case("feed-flow-too-small", "unknown", "boost pump", ("a flow named takeoff",), NO_TAKE_OFF),
    Case("feed-flow-too-small", "unknown", "boost pump", ("fuel.viscosity",), {"fuel.kind": "diesel"}),
    Case(
        "feed-flow-too-small",
        "unknown",
        "header.outlet to engine by engine pump",
        ("the curve of engine pump",),
        {"component.4.curve": REMOVE},
    ),
    Case("tank-not-kept-full", "good", INTO_HEADER, ("249.8 L/h of the 65.0 L/h", "212.5 L/h when it is full")),
    Case("tank-not-kept-full", "bad", INTO_HEADER, ("23.8 L/h",), {"line.2.bore": "3 mm"}, "It lacks 13.25 kPa", FAIL),
    Case(
        "tank-not-kept-full",
        "bad",
        INTO_HEADER,
        ("does not stay full",),
        {"line.2.bore": "4.7 mm"},
        "wider or shorter lines",
        CAUTION,
    ),
    # With a filler of its own it is no header.
    Case("tank-not-kept-full", "good", INTO_HEADER, ("it need not stay full",), {"line.2.bore": "4.7 mm"} | OWN_FILLER),
    Case("tank-not-kept-full", "unknown", "header.from main", ("a flow named takeoff",), NO_TAKE_OFF),
    Case("fuel-boils-in-line", "good", SUCTION, ("2.30 kPa below the air's, 69.69 kPa", "5.59 kPa are left")),
    Case("fuel-boils-in-line", "bad", SUCTION, ("it boils",), {"line.3.bore": "2.5 mm"}, "ceiling", FAIL),
    Case("fuel-boils-in-line", "bad", SUCTION, ("it boils",), {"aircraft.ceiling": "14000 ft"}, "ceiling", FAIL),
    Case("fuel-boils-in-line", "bad", SUCTION, ("only",), {"aircraft.ceiling": "11500 ft"}, "ceiling", CAUTION),
    Case("fuel-boils-in-line", "unknown", SUCTION, ("aircraft.ceiling",), {"aircraft.ceiling": REMOVE}),
    Case("fuel-boils-in-line", "unknown", SUCTION, ("reid_pressure",), {"fuel.kind": "mogas"}),
    Case("fuel-boils-in-line", "unknown", SUCTION, ("the drop of filter",), {"component.1.drop": REMOVE}),
    # The header's surface, at its outlet, lies far below the main tank's line: that opens the pump to air.
    Case(
        "empty-tank-lets-air-in",
        "bad",
        "main.outlet while header feeds boost pump",
        ("air gets past",),
        TWO_TANKS,
        "Feed from one tank at a time",
        FAIL,
    ),
    Case("empty-tank-lets-air-in", "good", "header.outlet while main feeds boost pump", (), TWO_TANKS),
    Case("empty-tank-lets-air-in", "good", "main.outlet while header feeds boost pump", (), LOW_TEE),
    Case("empty-tank-lets-air-in", "unknown", "boost pump", ("a flow named takeoff",), NO_TAKE_OFF),
]


@pytest.mark.parametrize("case", CASES, ids=lambda case: case.title)
def test_case(case: Case) -> None:
    check(case)


def test_a_selector_parts_the_tanks() -> None:
    """What the shut-off chooses between never feeds together, so no empty tank stands open to the pump."""
    study = study_of(SELECTOR)
    assert not study.flows.dry
    assert {one.tanks for fed in study.flows.to for one in fed.at} == {("main",), ("header",)}
    both = study_of(SELECTOR | {"component.2.both": True})
    assert both.flows.dry


def test_fuel_into_the_header_by_hand() -> None:
    """Thick fuel through 4 mm, level: Hagen and Poiseuille along 446.8 mm, and the velocity heads of entry, bend and exit.

    From (600, 0, 955) by (480, 0, 800) to (500, 0, 550): 405 mm of fall, no strainer's loss to speak of.
    """
    changes = LEVEL | {
        "fuel.viscosity": "20 mm2/s",
        "line.2.bore": "4 mm",
        "tank.0.outlet.0.strainer.clear_area": "1 m2",
    }
    fed = next(fed for fed in study_of(changes).flows.to if fed.kind == "tank")
    rho, nu, g, bore = 720.0, 20e-6, 9.80665, 0.004
    first, second = (-0.120, -0.155), (0.020, -0.250)
    long = [sqrt(x * x + z * z) for x, z in (first, second)]
    cosine = (first[0] * second[0] + first[1] * second[1]) / long[0] / long[1]

    heads = 0.57 + 1.0 + bend_miter(degrees(acos(cosine)))
    area = pi / 4.0 * bore**2
    linear = 128.0 * nu * rho * sum(long) / pi / bore**4
    square = heads * rho / 2.0 / area**2
    flow = (-linear + sqrt(linear**2 + 4.0 * square * rho * g * 0.405)) / 2.0 / square
    assert flow / area * bore / nu < 2000.0
    assert_allclose(fed.worst_free.flow_m3_s, flow, rtol=1e-7)
