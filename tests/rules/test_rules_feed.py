"""The rules on feed lines and what stands in them, one table; the places on the aircraft stand in plumbing_changes.py."""

from __future__ import annotations

import pytest
from designs import ATTITUDES, REMOVE
from plumbing_changes import (
    COMMON_VALVE,
    HEADER_FEED,
    HUMP,
    INTO_HEADER,
    MAIN_FEED,
    NO_ENGINE_LINE,
    OWN_VALVE,
    SELECTOR,
    TEE,
    TO_PUMP,
    TRAP,
    TWO_TANKS,
    line,
    mm,
)
from rule_cases import DIESEL, LEVEL, NO_MAIN_OUTLET, TURBINE, Case, check, study_of
from sound_designs import RUN

from fuelsys.model.found.findings import Outcome
from fuelsys.model.words import as_read
from fuelsys.report.shown import Shown
from fuelsys.report.tables.capacity import capacity
from fuelsys.report.tables.design import totals
from fuelsys.report.tables.switches import switches
from fuelsys.report.tables.unusable import unusable

FAIL, CAUTION = Outcome.FAIL, Outcome.CAUTION

# A second valve between the pumps and the engine.
BEHIND = {
    "component.6": {"name": "engine valve", "kind": "valve", "position": mm(-200, 0, 335), "engine_side": True},
    "line.7.to": "engine valve",
    "line.9": line("engine valve to engine", "feed", "engine valve", "engine"),
}
ENGINE_VALVE_BEFORE = {"component.6.engine_side": False}
BETWEEN_TANKS = {
    "component.6": {"name": "main valve", "kind": "valve", "position": mm(480, 0, 800), "engine_side": False},
    "line.2.to": "main valve",
    "line.9": line("valve to header", "feed", "main valve", "header.from main"),
}
# The header feeds through the electric pump, the main tank through the engine's.
ONE_EACH = {
    "line.6": line("boost pump to engine", "feed", "boost pump", "engine"),
    "line.9": line("main to engine pump", "feed", "main.outlet", "engine pump"),
}

CASES = [
    # --- what usable fuel rests on
    Case("feed-in-doubt", "good", "main", ("nothing that its usable fuel rests on",)),
    Case(
        "feed-in-doubt",
        "unknown",
        "main",
        ("main feed states no path and counts as straight",),
        {"line.2.path": REMOVE},
    ),
    Case("feed-in-doubt", "unknown", "main", ("main.outlet has no line",), {"line.2": REMOVE}),
    Case(
        "feed-in-doubt",
        "unknown",
        "main",
        ("the line from main.outlet leads to no pump, engine or tank",),
        {"line.2.to": "tee", "component.6": TEE},
    ),
    Case(
        "feed-in-doubt",
        "unknown",
        "main",
        ("the drop of wing filter is not stated",),
        {
            "component.6": {"name": "wing filter", "kind": "filter", "position": mm(520, 0, 880), "drain": True},
            "line.2": line("main feed", "feed", "main.outlet", "wing filter"),
            "line.9": line("on", "feed", "wing filter", "header.from main", mm(480, 0, 800)),
        },
    ),
    Case("feed-in-doubt", "unknown", "main", ("needs an outlet",), NO_MAIN_OUTLET),
    Case(
        "take-off-run-not-stated",
        "good",
        "envelope",
        ("0.30 g",),
        {"aircraft.feed": "gravity", "attitude": [*ATTITUDES, RUN]},
    ),
    Case(
        "take-off-run-not-stated",
        "bad",
        "envelope",
        ("no flight attitude has an acceleration forward",),
        {"aircraft.feed": "gravity"},
        "forward",
        CAUTION,
    ),
    # Nose down by 15 degrees: atan((0.3 - sin 15) / cos 15) = 2.4.
    Case(
        "take-off-run-not-stated",
        "bad",
        "envelope",
        ("2.4° nose up", "11.3° are wanted"),
        {
            "aircraft.feed": "gravity",
            "attitude.6": {"name": "run", "phase": "flight", "pitch": "-15 deg", "forward": "0.3 g"},
        },
        "forward",
        CAUTION,
    ),
    # --- feed lines
    Case("feed-line-high-point", "good", MAIN_FEED, ("no high point at any of 6 flight attitudes",)),
    # 980 is 25 above the outlet and 80 mm before it: nose up by 13°, 25 cos 13° + 80 sin 13° = 42.4; proud of the dip at
    # (560, 0, 900) by 80 cos 13° + 40 sin 13° = 86.9.
    Case(
        "feed-line-high-point",
        "bad",
        MAIN_FEED,
        ("steep climb", "(520, 0, 980) mm, 86.9 mm proud", "42.4 mm above the outlet"),
        HUMP,
        "Lower the line at (520, 0, 980) mm by 87.0 mm",
        FAIL,
    ),
    # Below the outlet a pump draws over it until vapour gathers. Nose up by p it stands 20 cos p + 100 sin p above the dip
    # behind it, 50 cos p - 100 sin p above the filter before it: the smaller is greatest at 8°, 33.7 (of 35.6); at 13° 26.2.
    Case(
        "feed-line-high-point",
        "bad",
        TO_PUMP,
        ("at climb", "(300, 0, 350) mm, 33.7 mm proud"),
        {"line.3.path": [mm(400, 0, 330), mm(300, 0, 350)]},
        "Lower the line",
        CAUTION,
    ),
    # By gravity too a hump below the outlet lets the last fuel over it, when no vapour stands in it.
    Case(
        "feed-line-high-point",
        "bad",
        MAIN_FEED,
        ("(520, 0, 780) mm",),
        {"line.2.path": [mm(560, 0, 700), mm(520, 0, 780)]},
        "Lower the line",
        CAUTION,
    ),
    Case("feed-line-high-point", "unknown", "main.outlet", ("needs a feed line from it",), {"line.2": REMOVE}),
    Case(
        "feed-line-high-point",
        "unknown",
        "filter to shut-off",
        ("each line from `from` to `to`",),
        {"line.4.from": "shut-off", "line.4.to": "filter"},
    ),
    Case(
        "feed-line-high-point",
        "unknown",
        "main feed",
        ("the other way round: see port-not-connected at main.outlet",),
        {"line.2.from": "header.from main", "line.2.to": "main.outlet"},
    ),
    # The filter, with its drain, is the low point.
    Case("feed-line-low-point", "good", HEADER_FEED, ("drained: filter",)),
    Case(
        "feed-line-low-point", "good", MAIN_FEED, ("drained: main feed",), TRAP | {"line.2.drains": [mm(480, 0, 500)]}
    ),
    Case(
        "feed-line-low-point",
        "bad",
        MAIN_FEED,
        ("at parked", "main feed dips by 50.0 mm at (480, 0, 500) mm without a drain"),
        TRAP,
        "Raise the line at (480, 0, 500) mm by 50.0 mm",
        FAIL,
    ),
    # 1 above the inlet and 200 to the left: only with the left wheel in the hollow, by 200 sin 2° - cos 2° = 6.0.
    Case(
        "feed-line-low-point",
        "bad",
        MAIN_FEED,
        ("left wheel in a hollow", "dips by 6.0 mm"),
        {"line.2.path": [mm(480, -200, 551)]},
        "",
        CAUTION,
    ),
    # A pump that is lower than both its lines is a trap too: at 280, 60 below the engine at 340, the smaller of the two rises.
    Case(
        "feed-line-low-point",
        "bad",
        HEADER_FEED,
        ("boost pump dips by 60.0 mm at (100, 0, 280) mm",),
        {"component.3.position": mm(100, 0, 280), "line.4.path": []},
    ),
    # The selector at 290 is the low point, 50 below the engine; the other tank's line, shut, does not empty it though it dips.
    Case(
        "feed-line-low-point",
        "bad",
        HEADER_FEED,
        ("shut-off dips by 50.0 mm at (150, 0, 290) mm",),
        SELECTOR | {"component.2.position": mm(150, 0, 290), "line.9.path": [mm(300, 100, 200)]},
    ),
    Case("feed-line-low-point", "unknown", HEADER_FEED, ("whether filter has a drain",), {"component.1.drain": REMOVE}),
    Case("feed-line-low-point", "unknown", "main.outlet", ("needs a feed line",), {"line.2": REMOVE}),
    # Outlet 955, inlet 550 and 100 mm before it: nose up by 13°, 405 cos 13° - 100 sin 13° = 372.1.
    Case("feed-not-downhill", "good", MAIN_FEED, ("at steep climb", "372.1 mm above the end")),
    # The main tank 500 lower: 95 cos 13° + 100 sin 13° = 115.1 uphill.
    Case(
        "feed-not-downhill",
        "bad",
        MAIN_FEED,
        ("at steep climb", "115.1 mm below the end"),
        {"tank.0.position": mm(400, -250, 500)},
        "",
        FAIL,
    ),
    # Header at 375, engine at 340 and 900 mm before it: nose up by 13°, 35 cos 13° - 900 sin 13° = -168.4.
    Case(
        "feed-not-downhill",
        "bad",
        HEADER_FEED,
        ("at steep climb", "168.4 mm below the end"),
        {"aircraft.feed": "gravity", "line.5.to": "engine", "line.6": REMOVE},
    ),
    Case("feed-not-downhill", "unknown", "main.outlet", ("needs a feed line",), {"line.2": REMOVE}),
    # With its pumps standing still gravity has to do: nose up by 13 degrees the engine, 35 mm lower and 900 before the outlet,
    # stands 900 sin 13 - 35 cos 13 = 168.4 mm above it.
    Case(
        "feed-not-downhill",
        "bad",
        "header.outlet to engine",
        ("at steep climb", "168.4 mm below the end"),
        {"aircraft.feed": "gravity"},
    ),
    Case("feed-not-downhill", "unknown", "engine", ("needs an engine",), NO_ENGINE_LINE | {"aircraft.feed": "gravity"}),
    # 36 + 20 L/h = 15.556 mL/s through 8 mm, 50.27 mm2: 0.31 m/s; through 3 mm, 7.069 mm2: 2.20 m/s, and 3 sqrt(2.2007 /
    # 1.5) = 3.634 mm would do.
    Case(
        "feed-line-velocity",
        "good",
        TO_PUMP,
        ("36.0 L/h at take-off and 20.0 L/h return through 8.0 mm make 0.31 m/s",),
    ),
    Case(
        "feed-line-velocity",
        "bad",
        TO_PUMP,
        ("make 2.20 m/s", "1.50 m/s"),
        {"line.3.bore": "3 mm"},
        "at least 3.7 mm",
        CAUTION,
    ),
    # Behind a pump 6 m/s are usual.
    Case("feed-line-velocity", "good", "engine pump to engine", ("2.20 m/s; 6.00 m/s",), {"line.7.bore": "3 mm"}),
    # What comes back into the header does not pass the main's line.
    Case("feed-line-velocity", "good", MAIN_FEED, ("36.0 L/h at take-off through 8.0 mm make 0.20 m/s",), INTO_HEADER),
    Case("feed-line-velocity", "unknown", TO_PUMP, ("needs a flow named takeoff",), {"flows.takeoff": REMOVE}),
    Case("feed-line-velocity", "unknown", TO_PUMP, ("return_flow",), {"component.5.return_flow": REMOVE}),
    Case(
        "feed-line-velocity",
        "unknown",
        TO_PUMP,
        ("return_flow: diesels return fuel",),
        DIESEL | {"component.5.return_flow": REMOVE, "line.8": REMOVE},
    ),
    # --- what stands in them
    Case("filter-missing", "good", HEADER_FEED, ("filter stands before boost pump",)),
    Case(
        "filter-missing",
        "bad",
        HEADER_FEED,
        ("no filter among",),
        {"line.3.to": "shut-off", "line.4": REMOVE},
        "",
        FAIL,
    ),
    # header, shut-off, boost pump, filter, engine pump.
    Case(
        "filter-missing",
        "bad",
        HEADER_FEED,
        ("filter stands behind boost pump",),
        {"line.3.to": "shut-off", "line.6.from": "filter", "line.4.from": "boost pump", "line.4.to": "filter"},
        "before the first pump",
        CAUTION,
    ),
    Case("filter-missing", "unknown", "engine", ("needs feed lines",), NO_ENGINE_LINE),
    Case("filter-without-drain", "good", "filter", ("has a drain",)),
    Case(
        "filter-without-drain", "bad", "filter", ("no drain",), {"component.1.drain": False}, "bowl comes off", CAUTION
    ),
    Case("filter-without-drain", "unknown", "filter", ("needs",), {"component.1.drain": REMOVE}),
    # 48.5 + 8.912 = 57.412 L, divided by 2560: 22.4 mL.
    Case("sediment-bowl-small", "good", HEADER_FEED, ("60 mL", "57.41 L in header, main; 22 mL")),
    Case(
        "sediment-bowl-small",
        "bad",
        HEADER_FEED,
        ("22 mL of sediment",),
        {"component.1.sediment": "22.4 mL"},
        "larger",
        FAIL,
    ),
    Case("sediment-bowl-small", "good", HEADER_FEED, ("23 mL of",), {"component.1.sediment": "22.6 mL"}),
    Case(
        "sediment-bowl-small", "unknown", HEADER_FEED, ("sediment volume of filter",), {"component.1.sediment": REMOVE}
    ),
    Case("sediment-bowl-small", "not asked", "engine", ("piston",), {"aircraft.engine": "turbine"}),
    Case("shut-off-missing", "good", HEADER_FEED, ("shut-off can stop it",)),
    Case(
        "shut-off-missing",
        "bad",
        HEADER_FEED,
        ("no valve",),
        {"line.4.to": "boost pump", "line.5": REMOVE},
        "firewall",
        FAIL,
    ),
    Case("shut-off-missing", "unknown", "engine", ("needs feed lines",), NO_ENGINE_LINE),
    Case("shut-off-on-engine-side", "good", HEADER_FEED, ("before the firewall",)),
    Case(
        "shut-off-on-engine-side", "good", HEADER_FEED, ("shut-off, engine valve stand",), BEHIND | ENGINE_VALVE_BEFORE
    ),
    Case(
        "shut-off-on-engine-side",
        "bad",
        HEADER_FEED,
        ("engine's side",),
        {"component.2.engine_side": True},
        "Move",
        FAIL,
    ),
    # A second valve behind a good one is a valve on the engine's side all the same.
    Case(
        "shut-off-on-engine-side",
        "bad",
        HEADER_FEED,
        ("engine valve stands on the engine's side",),
        BEHIND,
        "Move",
        FAIL,
    ),
    Case(
        "shut-off-on-engine-side",
        "unknown",
        HEADER_FEED,
        ("on which side of the firewall engine valve stands",),
        BEHIND | {"component.6.engine_side": REMOVE},
    ),
    # A line round the valve that the good valve does not shut.
    Case(
        "shut-off-on-engine-side",
        "bad",
        HEADER_FEED,
        (
            "the path of the lines header feed, round, boost pump to engine pump, engine pump to engine goes past shut-off",
        ),
        {"line.9": line("round", "feed", "filter", "boost pump")},
        "on that path too",
        FAIL,
    ),
    Case("shut-off-on-engine-side", "unknown", HEADER_FEED, ("which side",), {"component.2.engine_side": REMOVE}),
    # A valve between two tanks stands on no way to an engine.
    Case("shut-off-on-engine-side", "good", "main valve", ("before the firewall",), BETWEEN_TANKS),
    Case(
        "shut-off-on-engine-side",
        "bad",
        "main valve",
        ("engine's side",),
        BETWEEN_TANKS | {"component.6.engine_side": True},
    ),
    Case("pump-draws-from-two-tanks", "good", "boost pump", ("from header alone",)),
    Case("pump-draws-from-two-tanks", "good", "engine pump", ("from header alone",)),
    Case("pump-draws-from-two-tanks", "good", "boost pump", ("shut-off chooses between main, header",), SELECTOR),
    Case(
        "pump-draws-from-two-tanks",
        "bad",
        "boost pump",
        ("from main, header at the same time", "main and header cannot be shut off from each other"),
        TWO_TANKS,
        "selector",
        FAIL,
    ),
    # What draws from both through another pump draws from both.
    Case("pump-draws-from-two-tanks", "bad", "engine pump", ("at the same time",), TWO_TANKS, "selector", FAIL),
    Case("pump-draws-from-two-tanks", "bad", "boost pump", ("at the same time",), COMMON_VALVE, "selector", FAIL),
    # A selector behind the tee shuts both or none too.
    Case(
        "pump-draws-from-two-tanks",
        "bad",
        "boost pump",
        ("at the same time",),
        COMMON_VALVE | {"component.2.kind": "selector", "component.2.both": False},
        "selector",
        FAIL,
    ),
    Case(
        "pump-draws-from-two-tanks",
        "good",
        "boost pump",
        ("air is kept out of it",),
        COMMON_VALVE | {"component.3.keeps_air_out": True, "component.4.keeps_air_out": True},
    ),
    Case(
        "pump-draws-from-two-tanks",
        "bad",
        "boost pump",
        ("nothing is shown that keeps air out",),
        TWO_TANKS | {"component.3.keeps_air_out": False},
        "keeps_air_out = true",
        FAIL,
    ),
    # The header has a valve, the main tank none: it cannot be shut when it runs dry.
    Case(
        "pump-draws-from-two-tanks",
        "bad",
        "boost pump",
        ("cannot be shut off from each other",),
        OWN_VALVE | {"component.6.kind": "filter", "component.6.engine_side": REMOVE},
        "",
        FAIL,
    ),
    Case("pump-draws-from-two-tanks", "bad", "boost pump", ("each through a valve of its own",), OWN_VALVE, "", FAIL),
    Case(
        "pump-draws-from-two-tanks",
        "bad",
        "boost pump",
        ("a position of shut-off lets several feed at once",),
        SELECTOR | {"component.2.both": True},
        "without that position",
        FAIL,
    ),
    Case(
        "pump-draws-from-two-tanks",
        "unknown",
        "boost pump",
        ("whether a position of shut-off lets several of main, header feed at once (both)",),
        {name: value for name, value in SELECTOR.items() if name != "component.2.both"},
    ),
    Case("pump-draws-from-two-tanks", "unknown", "boost pump", ("needs a feed line",), {"line.5": REMOVE}),
    Case(
        "pump-missing",
        "good",
        HEADER_FEED,
        ("boost pump (electric), engine pump (driven by the engine) stand on it",),
    ),
    Case(
        "pump-missing",
        "good",
        HEADER_FEED,
        ("boost pump (by hand)",),
        {"component.3.driven": "hand"},
    ),
    Case(
        "pump-missing",
        "bad",
        HEADER_FEED,
        ("engine pump (driven by the engine) is the only pump",),
        {"line.5.to": "engine pump"},
        "Add an emergency pump with power of its own",
        FAIL,
    ),
    Case(
        "pump-missing",
        "bad",
        HEADER_FEED,
        ("engine pump (drive not stated) is the only pump",),
        {"line.5.to": "engine pump", "component.4.driven": REMOVE},
        "emergency pump",
        FAIL,
    ),
    # Two pumps in all, but one on each tank's way.
    Case("pump-missing", "bad", HEADER_FEED, ("boost pump (electric) is the only pump",), ONE_EACH, "main pump", FAIL),
    Case(
        "pump-missing", "bad", "main.outlet to engine", ("engine pump (driven by the engine) is",), ONE_EACH, "", FAIL
    ),
    Case(
        "pump-missing",
        "bad",
        HEADER_FEED,
        ("the engine drives none of its pumps",),
        {"component.4.driven": "electric"},
        "Add a main pump that the engine drives",
        FAIL,
    ),
    Case(
        "pump-missing",
        "bad",
        HEADER_FEED,
        ("the engine drives all of its pumps",),
        {"component.3.driven": "engine"},
        "an electric or a hand pump",
        FAIL,
    ),
    Case(
        "pump-missing",
        "bad",
        HEADER_FEED,
        ("the engine drives none of its pumps",),
        TURBINE | {"component.4.driven": "electric"},
        "",
        CAUTION,
    ),
    Case("pump-missing", "bad", HEADER_FEED, ("no pump",), {"line.5.to": "engine", "line.6": REMOVE}, "", FAIL),
    Case("pump-missing", "unknown", HEADER_FEED, ("what drives boost pump (driven",), {"component.3.driven": REMOVE}),
    Case("pump-missing", "unknown", "engine", ("needs feed lines",), NO_ENGINE_LINE),
    Case("pump-missing", "not asked", "engine", ("gravity",), {"aircraft.feed": "gravity"}),
]

IMPOSSIBLE = {
    ("feed-in-doubt", "bad"): "what is not stated is not known to be bad",
    ("take-off-run-not-stated", "unknown"): "a design file is refused without aircraft.feed and a flight attitude",
}


@pytest.mark.parametrize("case", CASES, ids=lambda case: case.title)
def test_the_rule_says_what_the_case_expects(case: Case) -> None:
    check(case)


def test_every_table_of_usable_fuel_and_minutes_tells_what_is_not_stated() -> None:
    """The line from the header's outlet is gone: each warns of it."""
    study, shown = study_of({"line.3": REMOVE}), Shown()
    tank = study.tank("header")
    told = "Warning: header.outlet has no line: what its feed asks of the fuel is not counted."
    for table in (capacity(study, tank, shown), totals(study, shown), unusable(tank, shown)[0], *switches(tank, shown)):
        assert told in [as_read(note) for note in table.notes], table.title
    study = study_of(LEVEL | {"tank.0.outlet.0.cover": REMOVE})
    for table in (capacity(study, study.tank("main"), shown), totals(study, shown)):
        assert any("main.outlet states no cover" in as_read(note) for note in table.notes), table.title
