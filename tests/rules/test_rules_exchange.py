"""The rules on what runs between joined tanks in flight, one table; the figures are held in tests/analysis/test_exchange.py."""

from __future__ import annotations

from typing import Any

import pytest
from designs import ATTITUDES, COMPONENTS, HEADER, MAIN, REMOVE
from plumbing_changes import NO_OPENING, line, mm
from rule_cases import DIESEL, Case, check, study_of

from fuelsys.model.found.findings import Outcome
from fuelsys.report.verdict import verdict

LEVEL_AND_SLIP = [ATTITUDES[0], ATTITUDES[2], ATTITUDES[6]]
OUTLET = MAIN["outlet"][0]
LAMP = HEADER["switch"][1] | {"mark": mm(200, 250, 10), "target": "10 min"}


def pair(bore: str, *attitudes: dict[str, Any], into_both: bool = False) -> dict[str, Any]:
    """The main tank on the left alone feeds the engine; its twin on the right runs into it by an interconnect line of a bore.

    A slip with the right wing low by 6°, from middle to middle 800 mm: the twin's fuel stands 84 mm higher over its floor.
    """
    main = MAIN | {"position": mm(400, -650, 1000), "switch": [LAMP], "outlet": [OUTLET, OUTLET | {"name": "cross"}]}
    twin = MAIN | {"name": "twin", "position": mm(400, 150, 1000), "return": [], "outlet": [OUTLET | {"name": "cross"}]}
    main["outlet"][1]["position"] = mm(200, 300, -44)
    feeds = [
        line("main feed", "feed", "main.outlet", "filter"),
        line("join", "interconnect", "twin.cross", "main.cross") | {"bore": bore},
    ]
    if into_both:
        twin["outlet"] = [OUTLET]
        feeds[1] = line("twin feed", "feed", "twin.outlet", "filter")
    return {
        "attitude": [*LEVEL_AND_SLIP[:2], *(attitudes or LEVEL_AND_SLIP[2:])],
        "tank": [main, twin],
        "component": COMPONENTS,
        "line": [
            *feeds,
            line("filter to shut-off", "feed", "filter", "shut-off"),
            line("shut-off to boost pump", "feed", "shut-off", "boost pump"),
            line("boost pump to engine pump", "feed", "boost pump", "engine pump"),
            line("engine pump to engine", "feed", "engine pump", "engine"),
            line("vent", "vent", "main.vent", "overboard", mm(570, 0, 1400)),
            line("twin vent", "vent", "twin.vent", "overboard", mm(570, 0, 1400)),
            line("return", "return", "engine", "main.return", mm(0, -200, 700), mm(400, -400, 1260)),
        ],
    }


def crossed(top: float) -> dict[str, Any]:
    """Two tanks apart in fuel, a vent line between the feet of their roofs, 500 mm apart at z = 1205, that passes z = top between them.

    In the slip the full left one stands at 1197.02 + 400 sin 6° = 1238.83, its end at 1205 cos 6° + 250 sin 6° = 1224.53: 14.3 mm,
    which are 2.33 L (as LOWER_VENT's siphon of test_rules_in_flight has it, by cut bodies); the right one has 3.4 L of room.
    """
    main = MAIN | {"position": mm(400, -650, 1000)}
    twin = MAIN | {"name": "twin", "position": mm(400, 150, 1000), "return": []}
    ends = ((main, mm(200, 400, 205)), (twin, mm(200, 100, 205)))
    main, twin = ({**one, "vent": [*one["vent"], {"name": "air", "position": at, "bore": "8 mm"}]} for one, at in ends)
    selector = {"name": "selector", "kind": "selector", "position": mm(250, 0, 300), "both": False}
    found = pair("8 mm") | {"tank": [main, twin], "component": [*COMPONENTS, selector]}
    found["line"] = [
        *found["line"][2:],
        line("main feed", "feed", "main.outlet", "selector"),
        line("twin feed", "feed", "twin.outlet", "selector"),
        line("selector on", "feed", "selector", "filter"),
        line("crossover", "vent", "main.air", "twin.air", mm(600, 0, top)),
    ]
    return found


# Where their lines meet, 70 mm below the tanks' floors, air comes past the higher one's dry line while the other is far from empty.
TEE_CLOSE_BELOW = pair("12 mm", into_both=True)
TEE_CLOSE_BELOW["component"] = [
    one | {"position": mm(200, 0, 900)} if one["name"] == "filter" else one for one in COMPONENTS
]

SOONER, LESS, INTO = "joined-tanks-stop-engine-sooner", "joined-tanks-leave-less-usable", "full-tank-runs-into-another"
TWO = {"attitude": ATTITUDES[:3] + ATTITUDES[5:7]}
BRIEF = ATTITUDES[6] | {"held": "2 min"}
CASES = [
    Case(SOONER, "good", "main, header", ("2 flight attitudes", "none stops the engine sooner"), TWO),
    Case(
        SOONER, "bad", "main, twin",
        ("from the trip of main switch 10 min, with", "turned into slip, right wing low", "that are promised", "still aboard"),
        pair("12 mm"), "a check valve in each line", Outcome.FAIL,
    ),
    Case(
        SOONER, "bad", "main, twin", ("at the end of what is promised, turned into slip", "s of 120 s that it is held"),
        pair("12 mm", BRIEF), "", Outcome.FAIL,
    ),
    Case(SOONER, "unknown", "main, header", ("needs fuel.viscosity",), DIESEL),
    Case(SOONER, "unknown", "main, header", ("needs a filler or a vent of main",), NO_OPENING),
    Case(SOONER, "unknown", "main, header", ("needs a flight attitude beside the normal one",), {"attitude": LEVEL_AND_SLIP[:2]}),
    Case(LESS, "good", "main, header", ("stay behind together at",), {"attitude": LEVEL_AND_SLIP}),
    Case(
        LESS, "bad", "main, twin", ("stay behind together at slip, right wing low", "are usable of"), TEE_CLOSE_BELOW, "placard",
        Outcome.FAIL,
    ),
    Case(LESS, "good", "main, twin", ("13.80 L if each tank drains for itself",), pair("12 mm")),
    Case(LESS, "unknown", "main, header", ("needs fuel.viscosity",), DIESEL),
    Case(INTO, "good", "main and twin", ("below the top of the way by crossover to twin",), crossed(1400.0)),
    Case(
        INTO, "bad", "main and twin",
        ("stands 14.3 mm above the top of the way by crossover", "2.33 L run into it, and 0 mL overboard"), crossed(1205.0), "higher where",
    ),
    Case(INTO, "unknown", "twin.air", ("needs a vent line from it",), crossed(1400.0) | {"line.10": REMOVE}),
]  # fmt: skip


@pytest.mark.parametrize("case", CASES, ids=lambda case: case.title)
def test_what_runs_between_joined_tanks_in_flight(case: Case) -> None:
    check(case)


def test_the_first_screen_tells_no_more_minutes_than_the_engine_lasts() -> None:
    study = study_of(pair("12 mm"))
    turns = [one for at in study.exchange.together[0].at for one in at.lamps if one.lasting.stopped]
    lasts_s = min(one.lasting.lasts_s for one in turns)
    (name, told_min), *_ = verdict(study, []).lines[0].lamps
    assert name == turns[0].switch
    assert told_min == pytest.approx(lasts_s / 60.0)
    assert told_min < min(one.promised_s for one in turns) / 60.0 - 1.0


def test_minutes_of_joined_tanks_that_cannot_be_flown_are_not_told() -> None:
    study = study_of(DIESEL)
    assert study.exchange.unknown
    assert {left for line in verdict(study, []).lines for _, left in line.lamps} == {None}
