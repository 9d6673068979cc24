"""The rules on vents and connected airspaces, one table; the places on the aircraft stand in plumbing_changes.py."""

from __future__ import annotations

from typing import Any

import pytest
from designs import LINES, REMOVE
from numpy.testing import assert_allclose
from plumbing_changes import (
    APART,
    HEADER_VENT_VALVE,
    LOW_VENT,
    MAIN_VENT,
    NO_FILLER,
    NO_HEADER_VENT_LINE,
    OVER_THE_RIGHT,
    SPARE,
    TEE,
    VENT_DIP,
    VENT_VALVE,
    line,
    mm,
)
from rule_cases import LEVEL, Case, check, plain, study_of

from fuelsys.model.found.findings import Outcome
from fuelsys.model.stated.standards import SEA_LEVEL_FALL_PER_M
from fuelsys.rules.plumbing.interconnect import airspaces_not_connected
from fuelsys.rules.plumbing.vent_line import DESCENT_M_S, vent_bore_small

FAIL, CAUTION = Outcome.FAIL, Outcome.CAUTION

MAST = {"component.6": {"name": "mast", "kind": "overboard", "position": mm(900, 0, 1400), "discharges_clear": True}}
VENT_CHECK = VENT_VALVE | {"component.6.kind": "check valve", "component.6.engine_side": REMOVE}
TEED = {"component.6": TEE, "line.0.to": "tee", "line.1.to": "tee"}

CASES = [
    # --- vents in the tank
    Case("vent-missing", "good", "main", ("1: vent",)),
    Case(
        "vent-missing",
        "bad",
        "header",
        ("none is a vent",),
        {"line.1": REMOVE, "tank.1.vent": []},
        "highest point",
        FAIL,
    ),
    Case("vent-missing", "unknown", "spare", ("needs its fittings",), SPARE),
    # Vent and lip stand on one y: rolled by 2° the 40 mm between them shrink to 40 cos 2° = 39.98.
    Case("vent-below-full-level", "good", "main.vent", ("filled to the filler", "40.0 mm above the fuel")),
    Case(
        "vent-below-full-level",
        "bad",
        "main.vent",
        ("at parked (pitch 0.0°, roll 0.0°)", "drowned by 10.0 mm"),
        LOW_VENT | {"line.0.path": [mm(570, 0, 1300)]},
        "more than 10.0 mm",
        FAIL,
    ),
    Case(
        "vent-below-full-level",
        "bad",
        "main.vent",
        ("drowned by 10.0 mm", "second stands in air and lets it out"),
        LOW_VENT
        | {"line.0.path": [mm(570, 0, 1300)], "tank.0.vent.1": {"name": "second", "position": mm(170, 250, 240)}}
        | {"line.9": line("second vent", "vent", "main.second", "overboard", mm(570, 0, 1300))},
        "",
        CAUTION,
    ),
    Case("vent-below-full-level", "unknown", "main", ("needs a filler",), NO_FILLER),
    # Without a filler a header is full only below a tank that stands higher and feeds it by gravity.
    Case(
        "vent-below-full-level",
        "unknown",
        "header",
        ("a tank that stands higher",),
        {"tank.1.position": mm(500, -80, 1100)},
    ),
    Case(
        "vent-below-full-level",
        "unknown",
        "header",
        ("a tank that stands higher",),
        {
            "component.6": {"name": "lift pump", "kind": "pump", "position": mm(480, 0, 800)},
            "line.2": line("main to pump", "feed", "main.outlet", "lift pump"),
            "line.9": line("pump to header", "feed", "lift pump", "header.from main"),
        },
    ),
    Case("vent-below-full-level", "not asked", "header", ("filled by main alone",)),
    Case("vent-not-at-top", "good", "main", ("0 mL of air",)),
    # The roof hopper above the lip: 3.4 L of 48.5 L. With the line straight overboard fuel stops 10 mm lower: 2 L more.
    Case(
        "vent-not-at-top",
        "bad",
        "main",
        ("3.40 L of air, 7.0", "reach no open vent"),
        LOW_VENT | {"line.0.path": [mm(570, 0, 1300)], "attitude.1": REMOVE},
        "240) mm",
        FAIL,
    ),
    Case(
        "vent-not-at-top",
        "bad",
        "main",
        ("5.40 L of air, 11.1",),
        LOW_VENT | {"attitude.1": REMOVE},
        "to the top of that air",
    ),
    # The header stands full; its roof hopper of 0.352 L of 8.912 L lies above a vent at the top of the rear wall.
    Case(
        "vent-not-at-top",
        "bad",
        "header",
        ("0.35 L of air, 3.9",),
        {"tank.1.vent.0.position": mm(200, 80, 240), "attitude.1": REMOVE},
        "260) mm",
        FAIL,
    ),
    # 5 mm below its top, where the roof is 110 x 100 mm wide: 5/6 (6400 + 4 x 95 x 90 + 11000) = 43000 mm3, less than 1 %.
    Case(
        "vent-not-at-top",
        "bad",
        "header",
        ("43 mL of air, 0.48 %",),
        {"tank.1.vent.0.position": mm(155, 80, 255), "attitude.1": REMOVE},
        "260) mm",
        CAUTION,
    ),
    Case("vent-not-at-top", "unknown", "main", ("needs a filler",), NO_FILLER),
    Case(
        "vent-not-at-top",
        "good",
        "main",
        ("vent opens 40.0 mm above the fuel, and the air there reaches up to 40.0 mm",),
    ),
    # All air reaches the vent, but it opens 5 mm above the lip in air 40 mm high: half of that is 15 more.
    Case(
        "vent-not-at-top",
        "bad",
        "main",
        ("at parked (pitch 0.0°, roll 0.0°) vent opens 5.0 mm above the fuel", "reaches up to 40.0 mm above it"),
        {"tank.0.vent.0.position": mm(170, 250, 205)},
        "up by at least 15.0 mm",
        FAIL,
    ),
    # A second vent at the top makes up for the low one.
    Case(
        "vent-not-at-top",
        "good",
        "main",
        ("second opens 40.0 mm above the fuel",),
        {
            "tank.0.vent.0.position": mm(170, 250, 205),
            "tank.0.vent.1": {"name": "second", "position": mm(180, 250, 240)},
            "line.9": line("second vent", "vent", "main.second", "overboard", mm(570, 0, 1300)),
        },
    ),
    Case("vent-not-at-top", "good", "header", ("no air to speak of is left",)),
    Case("vent-discharges-on-aircraft", "good", "overboard", ("discharges clear",)),
    Case(
        "vent-discharges-on-aircraft",
        "bad",
        "overboard",
        ("does not discharge clear",),
        {"component.0.discharges_clear": False},
        "falls clear of the aircraft",
        CAUTION,
    ),
    Case(
        "vent-discharges-on-aircraft",
        "unknown",
        "overboard",
        ("needs to know whether fuel goes clear",),
        {"component.0.discharges_clear": REMOVE},
    ),
    Case("vent-leads-nowhere", "good", "main.vent", ("overboard at overboard",)),
    Case("vent-leads-nowhere", "good", "header.vent", ("to main.vent, which is vented overboard at overboard",)),
    Case(
        "vent-leads-nowhere",
        "bad",
        "header.vent",
        ("header vent: no vent line goes on",),
        {"component.6": TEE, "line.1.to": "tee"},
        "",
        FAIL,
    ),
    Case("vent-leads-nowhere", "bad", "header.vent", ("leads to main only",), {"line.0": REMOVE}, "overboard", FAIL),
    # The main tank's own vent drowns at z = 190 below a lip at 200: the air under the roof is shut in, and so is the header's.
    Case(
        "vent-leads-nowhere",
        "bad",
        "header.vent",
        ("it leads to main.top: when main is full at parked", "air that no open vent of main reaches"),
        {
            "tank.0.vent.0.position": mm(0, 250, 190),
            "tank.0.inlet": [{"name": "top", "position": mm(170, 250, 240), "bore": "8 mm"}],
            "line.1.to": "main.top",
        },
        "beside its open vent",
        FAIL,
    ),
    Case(
        "vent-leads-nowhere",
        "good",
        "header.vent",
        ("it leads to main.top, which is vented overboard at overboard",),
        {"tank.0.inlet": [{"name": "top", "position": mm(180, 250, 240), "bore": "8 mm"}], "line.1.to": "main.top"},
    ),
    Case("vent-leads-nowhere", "unknown", "header.vent", ("needs a vent line from it",), NO_HEADER_VENT_LINE),
    # --- what can be shut
    Case("vent-can-be-shut", "good", "main", ("air comes in and gets out",)),
    Case(
        "vent-can-be-shut",
        "bad",
        "main",
        ("with vent valve shut air neither comes in nor gets out",),
        VENT_VALVE,
        "past it",
        FAIL,
    ),
    # The header breathes through the main tank.
    Case("vent-can-be-shut", "bad", "header", ("with vent valve shut air neither",), VENT_VALVE, "past it", FAIL),
    Case("vent-can-be-shut", "good", "main", ("in each of 2 settings",), HEADER_VENT_VALVE),
    Case(
        "vent-can-be-shut", "bad", "header", ("with vent valve shut air neither",), HEADER_VENT_VALVE, "past it", FAIL
    ),
    # A second line past the valve.
    Case(
        "vent-can-be-shut",
        "good",
        "main",
        ("in each of 2 settings",),
        VENT_VALVE | {"line.10": line("past it", "vent", "main.vent", "overboard", mm(560, 0, 1300))},
    ),
    # A check valve lets out or in only; drawn both ways at once, in one of two lines, it does no harm.
    Case("vent-can-be-shut", "bad", "main", ("past vent valve no air comes in",), VENT_CHECK, "past it", FAIL),
    Case(
        "vent-can-be-shut",
        "bad",
        "header",
        ("past vent valve no air gets out",),
        VENT_CHECK
        | {
            "line.0.from": "vent valve",
            "line.0.to": "main.vent",
            "line.9.from": "overboard",
            "line.9.to": "vent valve",
        },
        "past it",
        FAIL,
    ),
    # On three lines a selector joins two: with it on the tanks' own two neither has air.
    Case(
        "vent-can-be-shut",
        "bad",
        "header",
        ("with vent valve on vent and header vent air neither comes in nor gets out; so in 1 more settings",),
        VENT_VALVE | {"component.6.kind": "selector", "line.1.to": "vent valve"},
        "past it",
        FAIL,
    ),
    Case(
        "vent-can-be-shut", "unknown", "header", ("needs vent lines that lead from it overboard",), NO_HEADER_VENT_LINE
    ),
    Case(
        "vent-can-be-shut",
        "unknown",
        "main",
        ("too many to go through",),
        {
            **{f"component.{6 + i}": VENT_VALVE["component.6"] | {"name": f"valve {i}"} for i in range(9)},
            **{f"line.{9 + i}": line(f"beside {i}", "vent", "main.vent", f"valve {i}") for i in range(9)},
        },
    ),
    Case(
        "airspaces-not-connected",
        "bad",
        "main, header",
        ("but with vent valve shut in the vent lines their airspaces are apart: main | header",),
        HEADER_VENT_VALVE,
        "vent line",
        FAIL,
    ),
    # --- vent lines
    # Ground attitudes and cruise: three.
    Case("vent-line-low-point", "good", MAIN_VENT, ("no undrained low point at 3 attitudes",)),
    Case(
        "vent-line-low-point",
        "good",
        MAIN_VENT,
        ("vent has a drain",),
        VENT_DIP | {"line.0.drains": [mm(570, 200, 1250)]},
    ),
    # Half of 8 mm: a dip of 4 is let pass, one of 5 is not.
    Case(
        "vent-line-low-point", "good", MAIN_VENT, ("no undrained",), VENT_DIP | {"line.0.path.1": mm(570, 10, 1296.1)}
    ),
    Case("vent-line-low-point", "bad", MAIN_VENT, ("dips by 5.0 mm",), VENT_DIP | {"line.0.path.1": mm(570, 10, 1295)}),
    Case(
        "vent-line-low-point",
        "bad",
        MAIN_VENT,
        ("vent dips by 50.0 mm at (570, 200, 1250) mm without a drain, at parked",),
        VENT_DIP,
        "Raise the line at (570, 200, 1250) mm by 50.0 mm",
        FAIL,
    ),
    Case("vent-line-low-point", "unknown", "header.vent", ("needs a vent line",), NO_HEADER_VENT_LINE),
    Case(
        "vent-line-low-point", "unknown", "header vent", ("needs the lines",), {"component.6": TEE, "line.1.to": "tee"}
    ),
    # Highest at 1310, 400 to the right: 110 above the lip; with the right wing up by 2° more, so that parked is the least.
    Case(
        "vent-line-siphons", "good", MAIN_VENT, ("110.0 mm above the filler's lip at parked (pitch 0.0°, roll 0.0°)",)
    ),
    Case(
        "vent-line-siphons", "bad", MAIN_VENT, ("10.0 mm below the filler's lip",), LOW_VENT, "more than 10.0 mm", FAIL
    ),
    Case("vent-line-siphons", "unknown", MAIN_VENT, ("needs the filler of main",), NO_FILLER),
    Case("vent-line-siphons", "not asked", "header.vent to mast", ("header is filled by other tanks alone",), APART),
    # On 1 % falling to the right a point 450 mm to the right stands 4.5 mm lower against the fuel: 3 above becomes 1.5 below.
    # The line's highest point, 400 mm to the right, 110 above the fuel: 4 less where the ground falls to the right.
    Case(
        "vent-spills-on-slope", "good", "main.vent", ("falls by 1 % to the right", "106.0 mm below the highest point")
    ),
    # Air that is trapped in the header (0.352 L) keeps its room, and the level stays.
    Case(
        "vent-spills-on-slope", "good", "main.vent", ("106.0 mm below",), {"tank.1.vent.0.position": mm(200, 80, 240)}
    ),
    # A second line leads from the vent straight overboard: where the ground falls to the nose the vent itself, 30 mm before
    # the tank's middle and 40 above the fuel, goes over first, 40 - 0.3.
    Case(
        "vent-spills-on-slope",
        "good",
        "main.vent",
        ("falls by 1 % ahead (pitch", "39.7 mm below"),
        {"line.9": line("second", "vent", "main.vent", "overboard")},
    ),
    Case(
        "vent-spills-on-slope",
        "good",
        "main.vent",
        ("mm below",),
        OVER_THE_RIGHT | {"line.0.path": [mm(600, 450, 1205)]},
    ),
    Case(
        "vent-spills-on-slope",
        "bad",
        "main.vent",
        ("falls by 1 % to the right (pitch 0.0°, roll +0.6°)", "1.5 mm above the highest point"),
        OVER_THE_RIGHT,
        "more than 1.",
        FAIL,
    ),
    # The mast's foot, at 1100, stands below the main's fuel, which fills the header and its vent line.
    Case(
        "vent-spills-on-slope",
        "bad",
        "header.vent",
        ("above the highest point",),
        APART | {"component.6.position": mm(900, 0, 1100), "line.1.path": []},
        "",
        FAIL,
    ),
    Case("vent-spills-on-slope", "unknown", "main, header", ("needs a filler of main",), NO_FILLER),
    # 1/4 in with a wall of 0.035 in is 4.572 mm inside.
    Case("vent-bore-small", "good", MAIN_VENT, ("narrowest bore is 4.6 mm",), {"line.0.bore": "0.18 in"}),
    # 36 L/h = 0.6 L/min are burnt; the header has its air through the main tank: 57.412 L of air grow denser at 5.42 L/min
    # for each 100 L (see below): 3.71 L/min through 12.57 mm2 are 4.92 m/s.
    Case(
        "vent-bore-small",
        "bad",
        MAIN_VENT,
        ("narrowest bore is 4.0 mm", "7.62 m/s with main and header empty 3.71 L of air a minute come in at 4.92 m/s"),
        {"line.0.bore": "4 mm"},
        "1/4 in",
        CAUTION,
    ),
    # A mast of its own for the header: the main tank's vent line serves only that, 0.6 + 2.63 L/min.
    Case("vent-bore-small", "good", MAIN_VENT, ("with main empty 3.23 L of air a minute",), APART),
    # A second way overboard by which either has air if the other is shut: the larger of the tanks at its ends.
    Case(
        "vent-bore-small",
        "good",
        "header.vent to main.vent",
        ("with main empty 3.23 L of air a minute",),
        {**MAST, "line.9": line("mast line", "vent", "header.vent", "mast")},
    ),
    # Both by a tee: the line on from there, which alone is narrow, serves both.
    Case(
        "vent-bore-small",
        "bad",
        "header.vent to overboard",
        ("narrowest bore is 4.0 mm", "with main and header empty 3.71 L"),
        TEED | {"line.9": {**line("on", "vent", "tee", "overboard"), "bore": "4 mm"}},
        "",
        CAUTION,
    ),
    Case(
        "vent-bore-small",
        "good",
        "header.vent to overboard",
        ("narrowest bore is 6.0 mm", "with header empty 1.08 L"),
        TEED | {"line.1.bore": "6 mm", "line.9": line("on", "vent", "tee", "overboard")},
    ),
    Case("vent-bore-small", "unknown", "header.vent", ("needs a vent line",), NO_HEADER_VENT_LINE),
    Case("header-vent-apart", "good", "header.vent", ("joins main.vent, 40.0 mm above",)),
    Case(
        "header-vent-apart",
        "bad",
        "header.vent",
        ("leads to mast, apart from main",),
        APART,
        "top of a main tank",
        CAUTION,
    ),
    # The inlet of the return in the wall at 1100, 100 below the full level.
    Case(
        "header-vent-apart",
        "bad",
        "header.vent",
        ("joins main.return, which is drowned by 100.0 mm",),
        {"tank.0.return.0.position": mm(0, 250, 100), "line.1.to": "main.return"},
        "above the fuel",
        CAUTION,
    ),
    Case("header-vent-apart", "unknown", "header.vent", ("needs its vent line",), NO_HEADER_VENT_LINE),
    # --- connected tanks
    Case("airspaces-not-connected", "good", "main, header", ("one vent system",)),
    Case("airspaces-not-connected", "bad", "main, header", ("are apart: main | header",), APART, "Connect", FAIL),
    Case(
        "airspaces-not-connected", "unknown", "main, header", ("needs the vent lines of header",), NO_HEADER_VENT_LINE
    ),
]


def test_a_third_tank_behind_a_valve_is_no_second_fault() -> None:
    third = {"outlet": [{"name": "out", "position": mm(100, 80, -25), "bore": "8 mm"}], "vent": []}
    changes = LEVEL | APART | SPARE | {f"tank.2.{name}": what for name, what in third.items()}
    changes |= {
        "component.7": {"name": "third valve", "kind": "valve", "position": mm(300, 0, 340), "engine_side": False},
        "line.9": line("third feed", "interconnect", "spare.out", "third valve"),
        "line.10": line("third feed on", "interconnect", "third valve", "filter"),
    }
    found = [(f.where, f.outcome) for f in airspaces_not_connected.findings(study_of(changes))]
    assert [one for one in found if "," in one[0]] == [("main, header", FAIL)]


@pytest.mark.parametrize("case", CASES, ids=lambda case: case.title)
def test_the_rule_says_what_the_case_expects(case: Case) -> None:
    check(case)


def turned(number: int) -> dict[str, Any]:
    """A vent line of the base design drawn the other way round."""
    base = LINES[number]
    ends = {f"line.{number}.from": base["to"], f"line.{number}.to": base["from"]}
    return {**ends, f"line.{number}.path": base["path"][::-1]}


@pytest.mark.parametrize("more", [{}, TEED | {"line.9": line("on", "vent", "tee", "overboard")}, MAST], ids=str)
def test_the_direction_in_which_a_vent_line_is_drawn_does_not_matter(more: dict[str, Any]) -> None:
    said = []
    for way in ({}, turned(0), turned(1), turned(0) | turned(1)):
        # What the lines join is changed after they are turned, so that each end keeps its change.
        changes = {**way, **{key: value for key, value in more.items() if not key.endswith(".to")}}
        for key in (key for key in more if key.endswith(".to")):
            changes[key.replace(".to", ".from") if key.replace(".to", ".from") in way else key] = more[key]
        found = vent_bore_small.findings(study_of(changes))
        said.append(sorted((f.outcome, plain(f.evidence)) for f in found))
    assert said[0] == said[1] == said[2] == said[3]
    assert len(said[0]) == 2


def test_air_that_comes_in_on_the_way_down() -> None:
    # Computed from the hydrostatic law: 100 L at 1500 ft/min at sea level need 5.42 L/min.
    assert_allclose(0.1 * SEA_LEVEL_FALL_PER_M * DESCENT_M_S * 6e4, 5.42, atol=5e-3)
