"""The rules on full tanks in flight, one table; expected litres and levels are those of cut bodies (cut_level, cut_above)."""

from __future__ import annotations

from math import cos, radians, sin
from typing import Any

import numpy as np
import oracle
import pytest
from designs import ATTITUDES, MAIN, REMOVE, header_tank, main_tank
from manifold3d import Manifold
from numpy.testing import assert_allclose
from plumbing_changes import LOW_VENT, NO_FILLER, NO_HEADER_VENT_LINE, SPARE, line, mm
from rule_cases import Case, check, study_of
from solids import Floats

from fuelsys.model.found.findings import Outcome

FAIL, CAUTION = Outcome.FAIL, Outcome.CAUTION

LEVEL_AND_SLIP = {"attitude": [ATTITUDES[0], ATTITUDES[2], ATTITUDES[6]]}
LEVEL_AND_DESCENT = {"attitude": [ATTITUDES[0], ATTITUDES[2], ATTITUDES[5]]}
# A valve parts the main tank from the header.
VALVE = {
    "component.6": {"name": "main valve", "kind": "valve", "position": mm(480, 0, 800)},
    "line.2.to": "main valve",
    "line.9": line("valve to header", "feed", "main valve", "header.from main"),
}
PARTED = VALVE | LEVEL_AND_SLIP
# The vent at the foot of the roof's right side, its line straight overboard.
SIDE_VENT = {"line.0.path": [], "tank.0.vent.0.position": mm(200, 400, 215)}
# 10 mm lower, its line up to where that vent was, and then overboard.
LOWER_VENT = {"line.0.path": [mm(600, 150, 1215)], "tank.0.vent.0.position": mm(200, 400, 205)}
# The vent at the foot of the roof's front, 5 mm above the full level.
FRONT_VENT = {"tank.0.vent.0.position": mm(20, 250, 205)}


def twins(both: bool | None, *vent_path: list[str]) -> dict[str, Any]:
    """The main tank on the left, its twin on the right (y from -650 and from 150), a selector between them and the header."""
    twin = MAIN | {"name": "twin", "position": mm(400, 150, 1000), "return": []}
    selector = {"name": "selector", "kind": "selector", "position": mm(480, 0, 800)}
    return LEVEL_AND_SLIP | {
        "tank.0.position": mm(400, -650, 1000),
        "tank.2": twin,
        "component.6": selector if both is None else selector | {"both": both},
        "line.2": line("left feed", "feed", "main.outlet", "selector"),
        "line.9": line("right feed", "feed", "twin.outlet", "selector"),
        "line.10": line("selector to header", "feed", "selector", "header.from main"),
        "line.11": line("twin vent", "vent", "twin.vent", "overboard", *vent_path),
    }


TO_THE_OTHER_SIDE = [mm(570, 400, 1300), mm(570, 0, 1310)]

CASES = [
    Case(
        "vent-spills-in-flight", "good", "main", ("95.9 mm below the highest point of the line of main.vent",), PARTED
    ),
    # 45.1 L stand at 1197.02 mm and the vent at 1192.66; 0.66 L lie between (test_what_the_cases_say_by_cut_bodies).
    Case(
        "vent-spills-in-flight",
        "bad",
        "main",
        (
            "full, at slip, right wing low (pitch 0.0°, roll +6.0°), held until the fuel is at rest, it stands 4.4 mm above",
            "the line of main.vent; 0.66 L run out until it stops",
        ),
        PARTED | SIDE_VENT,
        "that of main.vent at least 4.4 mm",
        FAIL,
    ),
    # The same over the line's highest point; drawn down to the opening, 10 mm lower: 2.33 L.
    Case(
        "vent-spills-in-flight",
        "bad",
        "main",
        ("4.4 mm above", "0.66 L run out until it stops, 2.33 L where the line goes on as a siphon"),
        PARTED | LOWER_VENT,
        "that of main.vent at least 4.4 mm",
        FAIL,
    ),
    # The outer end at 1200 of the design, 450 to the right, stands at 1146.4: lower than the opening, and nothing changes.
    Case(
        "vent-spills-in-flight",
        "bad",
        "main",
        ("2.33 L where the line goes on as a siphon",),
        PARTED | LOWER_VENT | {"component.0.position": mm(600, 450, 1200)},
        "",
        FAIL,
    ),
    # In that slip for ever, as the normal attitude.
    Case(
        "vent-spills-in-flight",
        "bad",
        "main",
        ("4.4 mm above", "0.66 L"),
        PARTED | SIDE_VENT | {"attitude": [ATTITUDES[0], ATTITUDES[6] | {"normal": True}]},
        "",
        FAIL,
    ),
    # Neither the slip nor the descent spills; together they do.
    Case(
        "vent-spills-in-flight",
        "bad",
        "main",
        (
            "at a combination (pitch -10.0°, roll +6.0°)",
            "at stated attitudes at most 0 mL",
        ),
        VALVE
        | {"attitude": [*LEVEL_AND_SLIP["attitude"], ATTITUDES[5]]}
        | {"line.0.path": [], "tank.0.vent.0.position": mm(105, 380, 224)},
        "",
        CAUTION,
    ),
    Case("vent-spills-in-flight", "not asked", "header", ("vented through main",), PARTED),
    Case(
        "vent-spills-in-flight", "not asked", "header", ("has no vent",), PARTED | {"line.1": REMOVE, "tank.1.vent": []}
    ),
    Case("vent-spills-in-flight", "unknown", "main", ("needs a filler of main",), PARTED | NO_FILLER),
    Case("vent-spills-in-flight", "unknown", "spare", ("needs its fittings",), SPARE),
    Case(
        "vent-spills-in-flight",
        "unknown",
        "main",
        ("needs a vent line that leads overboard",),
        PARTED | {"line.0": REMOVE},
    ),
    # --- joined by lines alone
    Case("full-tanks-overflow", "good", "main, header", ("below the highest point of the line of main.vent",)),
    # The vent's opening in the front wall is the line's highest point; nose down by 10° it goes under.
    Case(
        "full-tanks-overflow",
        "bad",
        "main, header",
        ("at descent", "above the highest point", "gravity feed"),
        LOW_VENT | LEVEL_AND_DESCENT,
        "valve or selector",
        CAUTION,
    ),
    Case(
        "full-tanks-overflow",
        "bad",
        "main, header",
        ("at a combination (pitch -10.0°, roll +6.0°)", "at stated attitudes at most"),
        LOW_VENT | {"aircraft.feed": "gravity"},
        "valve or selector",
        FAIL,
    ),
    Case("full-tanks-overflow", "unknown", "main, header", ("needs a filler of main",), NO_FILLER),
    # --- joined by an open valve
    Case("full-tanks-overflow", "good", "main, header", ("full, with main valve open, at",), PARTED),
    Case(
        "full-tanks-overflow",
        "bad",
        "main, header",
        ("full, with main valve open, at slip", "4.4 mm above", "0.66 L run out"),
        PARTED | SIDE_VENT,
        "Fit a selector that never joins them",
        CAUTION,
    ),
    Case(
        "full-tanks-overflow",
        "bad",
        "main, header",
        ("0.66 L run out", "one-way is not counted on to part them"),
        PARTED
        | SIDE_VENT
        | {"component.7": {"name": "one-way", "kind": "check valve", "position": mm(490, 0, 700)}}
        | {"line.9.to": "one-way", "line.10": line("into header", "feed", "one-way", "header.from main")},
        "",
        CAUTION,
    ),
    # --- joined by a selector
    Case(
        "full-tanks-overflow",
        "good",
        "main, header, twin",
        ("full, with selector set to both, at slip", "74.2 mm below the highest point of the line of main.vent"),
        twins(True, *TO_THE_OTHER_SIDE),
    ),
    # 27.258 / cos 6° = 27.41 higher in the aircraft. 99.1 L stand at 1218.65 mm, 27.3 above the right vent; 5.45 L lie above that.
    Case(
        "full-tanks-overflow",
        "bad",
        "main, header, twin",
        (
            "with selector set to both, at slip, right wing low",
            "it stands 27.3 mm above the highest point of the line of twin.vent; 5.45 L run out",
            "the cap of twin.filler",
        ),
        twins(True),
        "that of twin.vent at least 27.5 mm",
        CAUTION,
    ),
    Case(
        "full-tanks-overflow",
        "unknown",
        "main, header, twin",
        (
            "needs to know whether selector has a position for several tanks (both); if so, full, with selector set to both",
        ),
        twins(None),
    ),
    Case("full-tanks-overflow", "good", "main, header, twin", ("set to both",), twins(None, *TO_THE_OTHER_SIDE)),
    Case("full-tanks-overflow", "good", "header, twin", ("with selector set to right feed",), twins(False)),
    Case("full-tanks-overflow", "good", "main, header", ("with selector set to left feed",), twins(False)),
    # --- vents under fuel
    Case("vent-under-fuel-in-flight", "good", "main", ("its highest vent stands", "the least in flight")),
    Case("vent-under-fuel-in-flight", "not asked", "header", ("filled by main alone",)),
    Case("vent-under-fuel-in-flight", "not asked", "header", ("has no vent",), {"line.1": REMOVE, "tank.1.vent": []}),
    # Nose down by 10° 45.1 L stand 32.3 mm above the vent; 5.39 L lie between.
    Case(
        "vent-under-fuel-in-flight",
        "bad",
        "main",
        (
            "full, at descent",
            "main.vent stands 32.3 mm under fuel; no vent lets air in until 5.39 L are gone from the tank",
        ),
        PARTED | FRONT_VENT | LEVEL_AND_DESCENT,
        "Add a vent",
        CAUTION,
    ),
    # The descent and the slip each stand beside the worst, which is both.
    Case(
        "vent-under-fuel-in-flight",
        "bad",
        "main",
        ("full, at a combination (pitch -10.0°, roll +6.0°)", "; no vent stands in air at descent either"),
        PARTED | FRONT_VENT | {"attitude": [*LEVEL_AND_DESCENT["attitude"], ATTITUDES[6]]},
        "",
        CAUTION,
    ),
    # The vent opens below the outlet of the sump: nothing draws the fuel down to it.
    Case(
        "vent-under-fuel-in-flight",
        "bad",
        "main",
        ("at descent", "no outlet draws the fuel down to it"),
        PARTED | {"tank.0.vent.0.position": mm(200, 280, -50)} | LEVEL_AND_DESCENT,
        "",
        CAUTION,
    ),
    # Its own vent stands in air, the twin's that it leads to does not.
    Case(
        "vent-under-fuel-in-flight",
        "bad",
        "main",
        ("its vents stand in air, but the vents of the tanks that they lead to are under fuel",),
        twins(True) | {"line.0.to": "twin.vent"},
        "",
        CAUTION,
    ),
    # A second vent at the rear breathes.
    Case(
        "vent-under-fuel-in-flight",
        "good",
        "main",
        ("its highest vent stands", "the least in flight; main.vent goes under by up to 32.3 mm"),
        PARTED
        | FRONT_VENT
        | LEVEL_AND_DESCENT
        | {"tank.0.vent.1": {"name": "rear", "position": mm(380, 250, 205)}}
        | {"line.10": line("rear vent", "vent", "main.rear", "overboard", mm(780, 0, 1300))},
    ),
    # With a valve in its line that is shut, the one at the front is alone again: as without it, 5.39 L.
    Case(
        "vent-under-fuel-in-flight",
        "bad",
        "main",
        (
            "with rear valve shut, full, at descent",
            "stands 32.3 mm under fuel; no vent lets air in until 5.39 L are gone",
        ),
        PARTED
        | FRONT_VENT
        | LEVEL_AND_DESCENT
        | {"tank.0.vent.1": {"name": "rear", "position": mm(380, 250, 205)}}
        | {"component.7": {"name": "rear valve", "kind": "valve", "position": mm(780, 0, 1300), "engine_side": False}}
        | {"line.10": line("rear vent", "vent", "main.rear", "rear valve")}
        | {"line.11": line("rear vent on", "vent", "rear valve", "overboard", mm(780, 0, 1310))},
        "Add a vent",
        CAUTION,
    ),
    # The twin's vent goes under only with what comes from the left tank, which breathes and feeds meanwhile.
    Case("vent-under-fuel-in-flight", "good", "twin", ("twin.vent goes under by up to 27.3 mm",), twins(True)),
    Case("vent-under-fuel-in-flight", "good", "twin", ("its highest vent stands",), twins(None)),
    # Both tanks' vents at the front: nose down neither breathes, which needs the selector's word only where both feed.
    Case(
        "vent-under-fuel-in-flight",
        "unknown",
        "twin",
        ("needs a filler of main",),
        twins(None) | NO_FILLER,
    ),
    Case("vent-under-fuel-in-flight", "good", "twin", ("its highest vent stands",), twins(False)),
    Case("vent-under-fuel-in-flight", "unknown", "main", ("needs a filler of main",), NO_FILLER),
    Case("vent-under-fuel-in-flight", "unknown", "spare", ("needs its fittings",), SPARE),
    Case("vent-under-fuel-in-flight", "unknown", "header.vent", ("needs a vent line",), NO_HEADER_VENT_LINE),
    Case(
        "vent-under-fuel-in-flight", "unknown", "main", ("needs a vent line that leads",), PARTED | {"line.0": REMOVE}
    ),
]


@pytest.mark.parametrize("case", CASES, ids=lambda case: case.title)
def test_the_rule_says_what_the_case_expects(case: Case) -> None:
    check(case)


def test_a_line_that_is_raised_as_the_mend_says_holds_all_fuel_back() -> None:
    bare = study_of(PARTED | SIDE_VENT).in_flight.alone("main")
    assert bare is not None
    rise_mm = bare.rise_m("main.vent") * 1e3
    for more, runs in ((-0.01, True), (0.01, False)):
        path = {"line.0.path": [mm(600, 150, 1215 + rise_mm + more)]}
        raised = study_of(PARTED | SIDE_VENT | path).in_flight.alone("main")
        assert raised is not None
        assert bool(raised.most.over) == runs


# --- the figures of the cases, by bodies that another library cuts


def up_at(pitch_deg: float, roll_deg: float) -> Floats:
    """The aircraft pitched nose up, then rolled right wing down."""
    p, r = radians(pitch_deg), radians(roll_deg)
    return np.array([-sin(p), -cos(p) * sin(r), cos(p) * cos(r)])


def cut_level(bodies: list[Manifold], up: Floats, volume: float) -> float:
    """The level at which bodies hold a volume together, by halving."""
    low, high = -5e3, 5e3
    for _ in range(60):
        middle = (low + high) / 2.0
        held = sum(oracle.below(body, up, middle).volume() for body in bodies)
        low, high = (middle, high) if held < volume else (low, middle)
    return low


def test_what_the_cases_say_by_cut_bodies() -> None:
    left, right = (main_tank().translate([400, y, 1000]) for y in (-650, 150))
    main, header = main_tank().translate([400, -250, 1000]), header_tank().translate([500, -80, 400])
    slip, down = up_at(0.0, 6.0), up_at(-10.0, 0.0)

    def case(bodies: list[Manifold], up: Floats, volume: float, mark: list[float]) -> tuple[float, float]:
        level, free = cut_level(bodies, up, volume), float(np.array(mark) @ up)
        return level - free, volume - sum(oracle.below(body, up, free).volume() for body in bodies)

    assert_allclose(case([main], slip, 45.1e6, [600, 150, 1215]), (4.351, 0.6646e6), rtol=1e-4)
    assert_allclose(case([main], slip, 45.1e6, [600, 150, 1205]), (14.296, 2.3299e6), rtol=1e-4)
    assert_allclose(case([main], down, 45.1e6, [420, 0, 1205]), (32.253, 5.3909e6), rtol=1e-4)
    whole = 2 * 45.1e6 + header.volume()
    assert_allclose(case([left, header, right], slip, whole, [570, 400, 1240]), (27.258, 5.4521e6), rtol=1e-4)
