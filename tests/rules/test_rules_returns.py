"""The rules on returned fuel, one table; the places on the aircraft stand in plumbing_changes.py."""

from __future__ import annotations

import pytest
from designs import REMOVE
from plumbing_changes import INTO_HEADER, RETURN_SELECTOR, RETURN_VALVE, SELECTOR, TEE, line, mm
from rule_cases import DIESEL, LEVEL, Case, check, plain, study_of

from fuelsys.model.found.findings import Outcome
from fuelsys.report import text
from fuelsys.report.jobs import alike
from fuelsys.report.shown import Shown
from fuelsys.review import findings

FAIL, CAUTION = Outcome.FAIL, Outcome.CAUTION

RETURN_INTO_MAIN = RETURN_SELECTOR | {
    "component.2.kind": "selector",
    "component.2.both": False,
    "line.11": line("main to selector", "feed", "main.outlet", "shut-off"),
    "line.2": REMOVE,
}

BACKWARD = {"line.8.from": "main.return", "line.8.to": "engine"}
CHECK_BACK = {"name": "back", "kind": "check valve", "position": mm(100, 0, 700)}
FROM_BACK = {"name": "to back", "kind": "return", "from": "main.return", "to": "back", "bore": "6 mm"}
STRAIGHT = LEVEL | {"line.8.path": []}
MOST_RETURN = "component.5.most_return_pressure"
CASES = [
    # Level, 20 L/h by 6 mm, straight over 900, 30 and 900 mm: V = 0.1965 m/s, Re = 1310, Hagen and Poiseuille 32 x 0.9e-6 x 720 x
    # 0.1965 / 36e-6 = 113.2 Pa a metre x 1.273 m, (0.57 + 1) x 13.90 Pa for its ends: 166 Pa; and from the engine up to the tank's top,
    # 900 mm: 6355 Pa.
    Case(
        "return-pressure-too-high",
        "good",
        "engine to main.return",
        ("20.0 L/h of return ask for 6.52 kPa", "56.0 L/h", "20.00 kPa"),
        STRAIGHT,
    ),
    Case(
        "return-pressure-too-high",
        "bad",
        "engine to main.return",
        ("6.52 kPa", "it may get 6.50 kPa"),
        STRAIGHT | {MOST_RETURN: "6.5 kPa"},
        "wider",
        FAIL,
    ),
    Case(
        "return-pressure-too-high",
        "bad",
        "engine to main.return",
        ("it may get 6.60 kPa",),
        STRAIGHT | {MOST_RETURN: "6.6 kPa"},
        "",
        CAUTION,
    ),
    Case(
        "return-pressure-too-high",
        "bad",
        "engine to main.return",
        ("it may get 20.00 kPa",),
        STRAIGHT | {"line.8.bore": "2 mm"},
        "",
        FAIL,
    ),
    Case(
        "return-pressure-too-high",
        "unknown",
        "engine to main.return",
        ("needs the most_return_pressure of engine", "6.52 kPa"),
        STRAIGHT | {MOST_RETURN: REMOVE},
    ),
    Case(
        "return-pressure-too-high",
        "unknown",
        "engine to main.return",
        ("needs the return_flow",),
        {"component.5.return_flow": REMOVE},
    ),
    Case("return-pressure-too-high", "unknown", "engine", ("a return line from it",), {"line.8": REMOVE}),
    Case(
        "return-pressure-too-high",
        "not asked",
        "engine",
        ("no fuel that comes back",),
        {"line.8": REMOVE, "component.5.return_flow": REMOVE},
    ),
    # --- returns
    Case("return-missing", "good", "engine to main.return", ("20.0 L/h has a line to main.return",)),
    Case(
        "return-missing",
        "bad",
        "engine",
        ("no return line for its return flow of 20.0 L/h",),
        {"line.8": REMOVE},
        "top",
        FAIL,
    ),
    Case(
        "return-missing",
        "bad",
        "engine to filter",
        ("in the feed line, not in a tank",),
        {"line.8.to": "filter"},
        "",
        FAIL,
    ),
    # A pressure regulator on the feed, from which the return leaves.
    Case("return-missing", "good", "shut-off to main.return", ("20.0 L/h",), {"line.8.from": "shut-off"}),
    Case("return-missing", "unknown", "return", ("needs the lines",), {"component.6": TEE, "line.8.to": "tee"}),
    Case(
        "return-missing",
        "unknown",
        "return",
        ("return to be drawn, or fitted, the other way round: see return-missing at the engine",),
        BACKWARD,
    ),
    Case(
        "return-missing",
        "bad",
        "engine",
        ("return runs from main.return to engine",),
        BACKWARD,
        "the wrong way round",
        FAIL,
    ),
    # A check valve in it that lets fuel pass to the engine only.
    Case(
        "return-missing",
        "bad",
        "engine",
        ("return runs from back to engine, to back runs", "and back lets fuel pass that way only"),
        {"component.6": CHECK_BACK, "line.8.from": "back", "line.8.to": "engine", "line.9": FROM_BACK},
        "if a valve is fitted so, turn it",
        FAIL,
    ),
    Case(
        "return-missing",
        "not asked",
        "engine",
        ("states no return flow",),
        {"line.8": REMOVE, "component.5.return_flow": REMOVE},
    ),
    # A diesel returns fuel as a rule: where nothing is said of it, it is not known.
    Case(
        "return-missing",
        "unknown",
        "engine",
        ("needs to know what it returns (return_flow",),
        DIESEL | {"line.8": REMOVE, "component.5.return_flow": REMOVE},
    ),
    Case(
        "return-missing",
        "unknown",
        "engine",
        ("needs to know what it returns",),
        {"fuel.kind": "jet", "line.8": REMOVE, "component.5.return_flow": REMOVE},
    ),
    Case(
        "return-missing",
        "not asked",
        "engine",
        ("states that it returns none",),
        DIESEL | {"line.8": REMOVE, "component.5.return_flow": "0 L/h"},
    ),
    Case("return-missing", "good", "engine to main.return", ("20.0 L/h",), DIESEL),
    Case("return-missing", "bad", "engine", ("no return line",), DIESEL | {"line.8": REMOVE}, "top", FAIL),
    # 23.975(b) is about the vapour of gasoline: a return that enters low is not against it in a diesel.
    Case(
        "return-not-to-top",
        "not asked",
        "engine",
        ("piston engines on gasoline",),
        DIESEL | {"tank.0.return.0.position": mm(0, 250, 100)},
    ),
    Case("return-not-to-top", "not asked", "engine", ("on gasoline",), {"fuel.kind": "jet"}),
    Case("return-not-to-top", "good", "engine to main.return", ("40.0 mm above the fuel of the full tank main",)),
    # 1100: 100 below the fuel, 140 below the roof; the upper tenth of 300 mm begins at 1210, so the fuel's level is nearer.
    Case(
        "return-not-to-top",
        "bad",
        "engine to main.return",
        ("100.0 mm below the full tank's level, 140.0 mm below the top",),
        {"tank.0.return.0.position": mm(0, 250, 100)},
        "at least 100.0 mm",
        FAIL,
    ),
    # In the belt's wall at x = 0 the roof begins at z = 200: 100 mm more are not there when the lip stands at 230.
    Case(
        "return-not-to-top",
        "bad",
        "engine to main.return",
        ("below the top of main",),
        {"tank.0.return.0.position": mm(0, 250, 190), "tank.0.filler.position": mm(230, 250, 228)},
        "Above its end the tank is too low for it",
        FAIL,
    ),
    # The header stands full: its roof is the top, and a tenth of its 310 mm.
    Case("return-not-to-top", "good", "engine to header.return", ("0.0 mm above the fuel",), INTO_HEADER),
    Case(
        "return-not-to-top",
        "good",
        "engine to header.return",
        ("30.0 mm below the top",),
        INTO_HEADER | {"tank.1.return.0.position": mm(200, 80, 230)},
    ),
    Case(
        "return-not-to-top",
        "bad",
        "engine to header.return",
        ("40.0 mm below the top",),
        INTO_HEADER | {"tank.1.return.0.position": mm(200, 80, 220)},
        "at least 9.0 mm",
        FAIL,
    ),
    Case(
        "return-not-to-top",
        "unknown",
        "engine to main.return",
        ("needs a filler or a vent of main",),
        {"line.1": REMOVE, "line.0": REMOVE, "tank.0.vent": [], "tank.0.filler": REMOVE},
    ),
    # 18 L/h of 0.72 kg/L at 2.1 kJ/(kg K): 3.6 g/s x 2100 = 7.56 W/K; 200 W are 26.5 K, 150 W 19.8 K; half an hour is all it holds.
    Case(
        "return-heats-small-tank",
        "bad",
        "engine to header",
        ("200 W warm header by 26 K while others keep it full, if no heat is lost",),
        INTO_HEADER | {"component.5.heat": "200 W"},
        "Return to a main tank",
        CAUTION,
    ),
    Case(
        "return-heats-small-tank",
        "good",
        "engine to header",
        ("150 W", "20 K"),
        INTO_HEADER | {"component.5.heat": "150 W"},
    ),
    Case(
        "return-heats-small-tank",
        "unknown",
        "engine to header",
        ("heat",),
        INTO_HEADER | {"component.5.heat": REMOVE},
    ),
    # At 10,000 ft, 69.70 kPa (10.11 psi), avgas of 49 kPa (7.107 psi) by Reid boils by AP-42, figure 7.1-15, at
    # (8742 - 1042 S - (1049 - 179.4 S) ln 7.107) / (15.64 - 1.854 S - (0.8742 - 0.3280 S) ln 7.107 - ln 10.11) with S = 2^0.5:
    # 576.6 degR, 47.2 degC, 32 K above 15.
    Case(
        "return-heats-small-tank",
        "bad",
        "engine to header",
        ("300 W warm header by 40 K", "from 32 K on fuel of 15 °C boils at the ceiling"),
        INTO_HEADER | {"component.5.heat": "300 W"},
        "Return to a main tank",
        FAIL,
    ),
    # 26.5 K x ln(filled / 9.86 L), which are 0.86 L unusable and half an hour of 18 L/h.
    Case(
        "return-heats-tank",
        "bad",
        "engine to main",
        ("200 W warm main by 40 K", "from 32 K on"),
        {"component.5.heat": "200 W"},
        "Cool the return",
        FAIL,
    ),
    Case(
        "return-heats-tank",
        "bad",
        "engine to main",
        ("130 W warm main by 26 K",),
        {"component.5.heat": "130 W"},
        "",
        CAUTION,
    ),
    # At sea level it is 45 K; nobody knows for kerosene, which is too hot from 60 K on.
    Case(
        "return-heats-tank",
        "bad",
        "engine to main",
        ("200 W warm main by 40 K",),
        {"component.5.heat": "200 W", "aircraft.ceiling": "0 ft"},
        "",
        CAUTION,
    ),
    # Where none is stated the one that vents are judged with counts, 5000 m: 24 K.
    Case(
        "return-heats-tank",
        "bad",
        "engine to main",
        ("200 W warm main by 40 K", "from 24 K on", "the ceiling that is assumed"),
        {"component.5.heat": "200 W", "aircraft.ceiling": REMOVE},
        "",
        FAIL,
    ),
    # The least volatile mogas of 45 kPa bears 18 K at 10,000 ft; what another bears is not known.
    Case(
        "return-heats-tank",
        "unknown",
        "engine to main",
        ("fuel.reid_pressure", "90 W warm main by 18 K"),
        {"fuel.kind": "mogas", "tank.0.filler.placard": "Mogas"},
    ),
    Case(
        "return-heats-tank",
        "bad",
        "engine to main",
        ("hotter than is counted on",),
        DIESEL | {"component.5.heat": "400 W"},
        "",
        FAIL,
    ),
    Case("return-heats-tank", "good", "engine to main", ("90 W warm main by 18 K",)),
    Case(
        "return-heats-tank",
        "unknown",
        "engine to main",
        ("heat", "W would warm main by 20 K"),
        {"component.5.heat": REMOVE},
    ),
    # A selector cannot switch a line that is not there.
    Case(
        "return-does-not-follow-selector",
        "unknown",
        "shut-off",
        ("needs a return line to header: it is stated to switch the return, and the lines lead to main alone",),
        SELECTOR | {"component.2.switches_return": True},
    ),
    Case(
        "return-does-not-follow-selector",
        "good",
        "shut-off",
        ("the return goes to header, main and is switched",),
        SELECTOR
        | {"tank.1.return": INTO_HEADER["tank.1.return"], "component.2.switches_return": True}
        | {"line.10": line("return to header", "return", "engine", "header.return")},
    ),
    Case(
        "return-does-not-follow-selector",
        "bad",
        "shut-off",
        ("between main, header; the return goes to main whichever feeds",),
        SELECTOR | {"component.2.switches_return": False},
        "switches the return",
        FAIL,
    ),
    Case("return-does-not-follow-selector", "unknown", "shut-off", ("switches_return",), SELECTOR),
    Case(
        "return-does-not-follow-selector",
        "not asked",
        "shut-off",
        ("does not choose",),
        {"component.2.kind": "selector"},
    ),
    Case("return-into-shut-tank", "good", "return", ("in each of 1 settings",)),
    # The selector on the header, which the main tank no longer fills: what is returned to main stays there.
    Case(
        "return-into-shut-tank",
        "bad",
        "return",
        ("with shut-off on header header feeds and the return goes to main",),
        SELECTOR | {"line.2": REMOVE},
        "switch it with the feed",
        FAIL,
    ),
    Case("return-into-shut-tank", "good", "return", ("in each of 2 settings",), SELECTOR),
    Case(
        "return-into-shut-tank",
        "good",
        "return",
        ("in each of 2 settings",),
        SELECTOR | {"line.2": REMOVE, "component.2.switches_return": True},
    ),
    Case(
        "return-into-shut-tank",
        "bad",
        "return of engine",
        ("with return valve shut engine runs on header, main and what it returns finds no way to a tank",),
        RETURN_VALVE,
        "out of the return",
        FAIL,
    ),
    Case("return-into-shut-tank", "good", "return", ("in each of 1 settings with a return",), RETURN_VALVE),
    Case("return-into-shut-tank", "good", "return", ("in each of 2 settings it goes",), RETURN_SELECTOR),
    # What may go to another tank than the header is drawn on top: 150 % of 30 L/h and 20.
    Case("tank-not-kept-full", "good", "main to header.from main", ("of the 65.0 L/h",), RETURN_SELECTOR),
    Case("tank-not-kept-full", "good", "main to header.from main", ("of the 45.0 L/h",), INTO_HEADER),
    Case(
        "tank-not-kept-full",
        "good",
        "main to header.from main",
        ("of the 65.0 L/h",),
        RETURN_SELECTOR | {"component.6.kind": "tee", "component.6.engine_side": REMOVE},
    ),
    # The feed's selector on the header alone (the main tank no longer fills it): the return may be set to main all the same.
    Case(
        "return-into-shut-tank",
        "bad",
        "return",
        ("with shut-off on header, return selector to main header feeds and the return goes to main",),
        RETURN_INTO_MAIN,
        "switch it with the feed",
        FAIL,
    ),
    Case(
        "return-into-shut-tank",
        "unknown",
        "return",
        ("too many to go through",),
        {
            **{
                f"component.{6 + i}": {"name": f"valve {i}", "kind": "valve", "position": mm(90, 0, 320 + i)}
                for i in range(9)
            },
            **{f"line.{9 + i}": line(f"spare {i}", "feed", f"valve {i}", f"valve {i + 1}") for i in range(8)},
        },
    ),
]


@pytest.mark.parametrize("case", CASES, ids=lambda case: case.title)
def test_the_rule_says_what_the_case_expects(case: Case) -> None:
    check(case)


def test_what_hangs_together_waits_for_one_thing() -> None:
    # Of the two lines of a turned return one runs into the engine: every check of both waits for that alone, told once.
    turned = {"component.6": CHECK_BACK, "line.8.from": "back", "line.8.to": "engine", "line.9": FROM_BACK}
    found = [one for one in findings(study_of(turned)) if "other way round" in plain(one.evidence)]
    groups = [group for group in alike(findings(study_of(turned))) if group[0] in found]
    assert {one.where for one in found} == {"return", "to back"}
    assert len(groups) == 1
    assert len(groups[0]) == len(found) > 8
    told = text.findings(findings(study_of(turned)), Shown(), width=200)
    assert told.count("the other way round") == 1
    assert f"{len(found)} checks wait for this" in told
