"""Rules on capacity, outlets, unusable fuel and the envelope.

One table: rule, kind, where, what the evidence says, what was changed in the base design, what mends it.

The base design (designs.py) is two hopper-shaped tanks with level normal attitudes, so figures are worked by hand in
the comments. The main tank holds 48.5 L, the header 8.912 L; below z mm of the walls the header holds 0.88 + 0.032 z L.
"""

from __future__ import annotations

import pytest
from designs import ATTITUDES, REMOVE
from plumbing_changes import WING_VALVE
from rule_cases import LARGE, LEVEL, NO_MAIN_OUTLET, POCKET, SPARE, TURBINE, Case, check, mm, plain, study_of

from fuelsys.model.found.findings import Outcome
from fuelsys.model.words import Doubt
from fuelsys.report.shown import Shown
from fuelsys.report.tables.capacity import capacity
from fuelsys.report.tables.dipstick import dipstick
from fuelsys.review import findings, study

FAIL, CAUTION = Outcome.FAIL, Outcome.CAUTION
# The lip 12 mm below the top of the roof, 190 x 220 mm wide there: 12/6 (41800 + 4 x 145 x 160 + 10000) = 289200 mm3.
HIGH_LIP = {"tank.0.filler.position": mm(230, 250, 228)}
WELL = {"tank.0.mesh": "well.off", "tank.0.drain.0.position": mm(426, 250, -65)}
LOW_LIP = {"tank.0.filler.position": mm(0, 250, 180), "line.0.path": [mm(570, 0, 1300)]}
NOT_CLEAR = {"component.0.discharges_clear": False}
UNSAID = {"component.0.discharges_clear": REMOVE}
# Both vents join at a tee.
TEE = {
    "component.6": {"name": "tee", "kind": "tee", "position": mm(570, 0, 1300)},
    "line.0": {"name": "main vent", "kind": "vent", "from": "main.vent", "to": "tee", "bore": "8 mm"},
    "line.1.to": "tee",
    "line.9": {"name": "vent", "kind": "vent", "from": "tee", "to": "overboard", "bore": "8 mm"},
}
STRAINER = "tank.0.outlet.0.strainer"
# Computed from 14 CFR 23.977: a tube of 3/8 x 0.035 in has 47.14 mm2, its strainer 235.7 mm2.
TUBE = {"tank.0.outlet.0.bore": "0.305 in", "line.2.bore": "0.305 in"}

DESCENT_AND_SLIP = {"attitude": [ATTITUDES[i] for i in (0, 2, 5, 6)]}

STEEP_FOR_30_S = {
    "attitude": [ATTITUDES[0], ATTITUDES[2], ATTITUDES[4] | {"held": "30 s"}],
    "tank.0.outlet.0.position": mm(20, 250, 10),
}

CASES = [
    Case("mesh-in-doubt", "good", "main", ("reading its mesh left no warning",)),
    # 8.912 L of a mesh in mm, taken for one in inches: times 25.4 cubed.
    Case(
        "mesh-in-doubt",
        "bad",
        "spare",
        ("a cavity of 146,042 L is unusual", "is the unit in right"),
        {"tank.2": SPARE["tank.2"] | {"unit": "in"}},
        "`fuelsys mesh FILE` says what is wrong",
        CAUTION,
    ),
    # The neck reaches down to the top of the walls: the whole roof hopper of 3.4 L stays free. 3.4 / 48.5 = 7.0 %;
    # with the header, which is full, 3.4 / 57.412 = 5.9 %. Bad: 0.02 x 48.5 - 0.2892 = 0.6808 L are lacking.
    Case("expansion-space-small", "good", "main", ("parked", "3.40 L stay free", "7.0 % of 48.50 L")),
    Case("expansion-space-small", "good", "header", ("5.9 % of 57.41 L, counted with main",)),
    Case("expansion-space-small", "good", "header", ("5.9 % of 57.41 L, counted with main",), TEE),
    Case(
        "expansion-space-small",
        "good",
        "main",
        ("0.5 % of 48.50 L; none is required, since overboard",),
        HIGH_LIP | TEE,
    ),
    Case("expansion-space-small", "good", "main", ("0.5 % of 48.50 L; none is required, since overboard",), HIGH_LIP),
    Case(
        "expansion-space-small", "good", "header", ("counted with main", "none is required, since overboard"), HIGH_LIP
    ),
    Case("expansion-space-small", "bad", "header", ("counted with main",), HIGH_LIP | NOT_CLEAR, "main's filler", FAIL),
    Case("expansion-space-small", "bad", "main", ("0.29 L", "0.5 %"), HIGH_LIP | NOT_CLEAR, "0.69 L more", FAIL),
    Case("expansion-space-small", "unknown", "main", ("needs whether overboard", "0.29 L"), HIGH_LIP | UNSAID),
    # A header on its own, its vent in the wall at z = 200 and led up from there: above stay 0.032 x 40 + 0.352 = 1.632 L of
    # air that no vent lets out.
    Case(
        "expansion-space-small",
        "bad",
        "header",
        ("0 mL stay free", "1.63 L of air that no vent lets out do not count"),
        {"tank.1.vent.0.position": mm(200, 80, 200), "line.1.to": "overboard"} | NOT_CLEAR,
        "0.18 L more",
    ),
    Case(
        "expansion-space-small",
        "unknown",
        "main",
        ("needs a vent of main",),
        {"line.1": REMOVE, "line.0": REMOVE, "tank.0.filler": REMOVE, "tank.0.vent": []},
    ),
    # A vent in the front wall 3 mm above a lip at 180: warm fuel finds 3 x 0.2 m2 = 0.6 L before it drowns, and 3.4 + 4 - 0.6
    # L of air stay shut in; 0.97 L are asked for. At 185 mm 1 L is room enough.
    Case(
        "expansion-space-small",
        "bad",
        "main",
        ("0.60 L stay free under the vent: 1.2 % of 48.50 L", "6.80 L of air that no vent lets out do not count"),
        LOW_LIP | {"tank.0.vent.0.position": mm(0, 250, 183)} | NOT_CLEAR,
        "Move the vent of main to the top of its airspace and lead its line up from there: 0.37 L more",
        FAIL,
    ),
    Case(
        "expansion-space-small",
        "good",
        "main",
        ("1.00 L stay free under the vent: 2.0 %",),
        LOW_LIP | {"tank.0.vent.0.position": mm(0, 250, 185)} | NOT_CLEAR,
    ),
    # A filler alone lets no warm fuel's air out once its cap is on.
    Case(
        "expansion-space-small",
        "unknown",
        "main",
        ("needs a vent of main",),
        {"line.1": REMOVE, "line.0": REMOVE, "tank.0.vent": []},
    ),
    # Avgas of 720 kg/m3 filled at 5 °C and soaked to 40 °C grows by 4.645 % (test_warming.py): 45.1 L by 2.09 L, the 48.2108 L
    # below the high lip by 2.24 L.
    Case("expansion-space-used-by-warming", "good", "main", ("filled at 5 °C grow by 2.09 L", "room for 3.40 L")),
    Case("expansion-space-used-by-warming", "bad", "main", ("2.24 L", "room for 0.29 L"), HIGH_LIP, "brim", CAUTION),
    Case("expansion-space-used-by-warming", "unknown", "main", ("needs a filler",), {"tank.0.filler": REMOVE}),
    Case("expansion-space-used-by-warming", "not asked", "header", ("no filler",)),
    # 45.1 - 0.31875 + 8.912 - 0.28 = 53.41325 L at 30 L/h last 106.8 min, at 120 L/h 26.7 min; 60 - 53.413 = 6.587 L.
    Case("endurance-below-half-hour", "good", "all tanks", ("53.41 L usable", "106.8 min at 30.0 L/h"), LEVEL),
    Case(
        "endurance-below-half-hour",
        "bad",
        "all tanks",
        ("26.7 min at 120.0 L/h",),
        LEVEL | {"flows.max_continuous": "120 L/h"},
        "6.59 L more must be usable",
        FAIL,
    ),
    Case(
        "endurance-below-half-hour",
        "unknown",
        "all tanks",
        ("needs the flow max_continuous",),
        {"flows.max_continuous": REMOVE},
    ),
    Case("endurance-below-half-hour", "unknown", "all tanks", ("needs the usable fuel of main",), NO_MAIN_OUTLET),
    # Closed, the bag keeps its 0.24 L (designs.py) beside what stays below the outlet.
    Case("passage-too-narrow", "good", "main", ("no gap is narrower than 0.1 mm",)),
    Case(
        "passage-too-narrow",
        "bad",
        "main",
        ("1 gap is narrower than 0.1 mm", "closed, 1.13 L unusable", "open, 0.89 L"),
        {"tank.0.mesh": "slit.off"},
        "a passage of some millimetres",
        CAUTION,
    ),
    Case(
        "passage-too-narrow",
        "unknown",
        "main",
        ("needs an outlet: 1 gap is",),
        {"tank.0.mesh": "slit.off"} | NO_MAIN_OUTLET,
    ),
    Case("cover-not-stated", "good", "main.outlet", ("0.0 mm are kept",)),
    # 36 L/h and the 20 that come back, into 8 mm: V 0.3095 m/s, Fr 1.1049, S = 8 (1 + 2.5413) = 28.33. A draw-down takes
    # 0.69 ((56/3.6e6)^2 / 9.80665)^(1/5) = 5.2 mm: 20.2 mm above the floor the sump is 201.1 x 234.8 mm wide, and holds
    # 20.216/6 (100 x 100 + 4 x 150.5 x 167.4 + 201.1 x 234.8) = 532000 mm3.
    Case(
        "cover-not-stated",
        "bad",
        "main.outlet",
        ("28.3 mm assumed for 56.0 L/h", "takes 5.2 mm, which leaves 0.53 L, and none 0.32 L"),
        LEVEL | {"tank.0.outlet.0.cover": REMOVE},
        "state cover",
        CAUTION,
    ),
    Case(
        "cover-not-stated",
        "unknown",
        "main.outlet",
        ("its bore",),
        {"tank.0.outlet.0.cover": REMOVE, "tank.0.outlet.0.bore": REMOVE},
    ),
    Case(
        "cover-not-stated",
        "unknown",
        "main.outlet",
        ("return_flow", "may be too little"),
        {"tank.0.outlet.0.cover": REMOVE, "component.5.return_flow": REMOVE},
    ),
    Case("outlet-missing", "good", "main", ("through outlet",)),
    Case("outlet-missing", "unknown", "spare", ("needs its fittings",), SPARE),
    Case("outlet-missing", "bad", "main", ("no outlet", "48.50 L"), NO_MAIN_OUTLET, "Add the outlet", FAIL),
    Case("strainer-missing", "good", "main.outlet", ("a strainer is shown",)),
    Case("strainer-missing", "bad", "main.outlet", ("no strainer",), {STRAINER: REMOVE}, "finger strainer", FAIL),
    # 3 meshes to the centimetre are 7.62 to the inch.
    Case("strainer-mesh-out-of-range", "good", "main.outlet", ("8 meshes",), {f"{STRAINER}.mesh": "8 1/in"}),
    Case("strainer-mesh-out-of-range", "good", "main.outlet", ("16 meshes",), {f"{STRAINER}.mesh": "16 1/in"}),
    Case(
        "strainer-mesh-out-of-range",
        "bad",
        "main.outlet",
        ("20 meshes to the inch",),
        {f"{STRAINER}.mesh": "20 1/in"},
        "8 to 16 meshes",
        FAIL,
    ),
    Case("strainer-mesh-out-of-range", "bad", "main.outlet", ("7.62",), {f"{STRAINER}.mesh": "3 1/cm"}, "8 to 16"),
    Case("strainer-mesh-out-of-range", "unknown", "main.outlet", ("needs",), {f"{STRAINER}.mesh": REMOVE}),
    Case("strainer-mesh-out-of-range", "unknown", "main.outlet", ("needs",), {STRAINER: REMOVE}),
    Case("strainer-mesh-out-of-range", "not asked", "main.outlet", ("piston",), TURBINE),
    Case("strainer-area-small", "good", "main.outlet", ("47.1 mm²",), TUBE | {f"{STRAINER}.clear_area": "236 mm2"}),
    Case(
        "strainer-area-small",
        "bad",
        "main.outlet",
        ("235.0 mm² clear, 5.0 times the 47.1 mm² of a bore of 7.7 mm",),
        TUBE | {f"{STRAINER}.clear_area": "235 mm2"},
        "at least 235.7 mm²",
        FAIL,
    ),
    # The line is wider than the outlet: 5 x pi/4 x 10² = 392.7 mm².
    Case(
        "strainer-area-small", "bad", "main.outlet", ("3.8 times the 78.5 mm²",), {"line.2.bore": "10 mm"}, "392.7 mm²"
    ),
    Case("strainer-area-small", "unknown", "main.outlet", ("needs",), {f"{STRAINER}.clear_area": REMOVE}),
    Case(
        "strainer-area-small",
        "unknown",
        "main.outlet",
        ("needs the outlet's bore",),
        {"line.2": REMOVE, "tank.0.outlet.0.bore": REMOVE},
    ),
    Case("strainer-narrower-than-outlet", "good", "main.outlet", ("8.0 mm wide",), {f"{STRAINER}.diameter": "8 mm"}),
    Case(
        "strainer-narrower-than-outlet",
        "bad",
        "main.outlet",
        ("7.0 mm wide, the outlet 8.0 mm",),
        {f"{STRAINER}.diameter": "7 mm"},
        "at least 8.0 mm",
        FAIL,
    ),
    Case("strainer-narrower-than-outlet", "unknown", "main.outlet", ("needs",), {f"{STRAINER}.diameter": REMOVE}),
    Case("strainer-narrower-than-outlet", "unknown", "main.outlet", ("needs",), {"tank.0.outlet.0.bore": REMOVE}),
    # 5 % of 48.5 L are 2.4 L, less than a US gallon of 3.785 L. With the outlet at z = 0 the whole hopper of 5.1 L stays.
    # Of the large tank 5 % are 6.79 L, more than what stays below an outlet at z = -20: the hopper is there 566.67 x 366.67
    # wide, 40/6 (10000 + 4 x 333.33 x 233.33 + 207778) = 3525926 mm3.
    Case("unusable-large", "good", "main", ("0.32 L unusable at cruise (pitch 0.0°", "limit is 3.79 L"), LEVEL),
    Case(
        "unusable-large",
        "good",
        "main",
        ("3.53 L unusable", "limit is 6.79 L"),
        LARGE | LEVEL | {"tank.0.outlet.0.position": mm(400, 250, -20)},
    ),
    Case(
        "unusable-large",
        "bad",
        "main",
        ("5.10 L unusable at cruise", "5.10 L below the outlets, 0 mL in pockets"),
        LEVEL | {"tank.0.outlet.0.position": mm(200, 250, 0)},
        "lies lowest at (150, 200, -60) mm",
        CAUTION,
    ),
    # A line that first rises 20 mm up the belt, 65 mm above the outlet: 5.1 + 0.2 x 20 L.
    Case(
        "unusable-large",
        "bad",
        "main",
        ("9.10 L below the outlets or below a high point of the feed line, 65.0 mm above its outlet",),
        LEVEL | {"line.2.path": [mm(550, 0, 1020)]},
        "First lower the feed line",
    ),
    # At its front wall the outlet comes clear in a steep climb: about (10 + 98) / 2 mm of 400 x 500 mm and the 5.1 L below stay. In 30 s
    # 36 L/h burnt and 20 returned to the main tank draw 56 x 30 / 3600 = 0.47 L from the header, which is full of more.
    Case("unusable-large", "bad", "main", ("in 30 s 0.47 L are drawn: that bridges it",), STEEP_FOR_30_S, "", CAUTION),
    Case(
        "unusable-large",
        "bad",
        "main",
        ("unusable at steep climb",),
        STEEP_FOR_30_S | {"line.2.bore": "3 mm"},
        "",
        FAIL,
    ),
    # A valve in the header's feed may be shut: nothing keeps it full.
    Case("unusable-large", "bad", "main", ("unusable at steep climb",), STEEP_FOR_30_S | WING_VALVE, "", FAIL),
    Case("unusable-large", "unknown", "main", ("needs an outlet",), NO_MAIN_OUTLET),
    Case("unusable-at-combined-attitudes", "good", "main", ("0.32 L stay behind, 0.32 L",), LEVEL),
    Case(
        "unusable-at-combined-attitudes",
        "bad",
        "main",
        (
            "at a combination (pitch -10.0°, roll +6.0°) 0.83 L stay behind, 0.55 L at the worst stated attitude, descent",
        ),
        DESCENT_AND_SLIP | {"flows.cruise": "15 L/h"},
        "State that attitude too",
        CAUTION,
    ),
    # 0.28 L are less than a minute at 18 L/h and more than one at 15 L/h.
    Case("unusable-at-combined-attitudes", "good", "main", ("0.83 L stay behind, 0.55 L",), DESCENT_AND_SLIP),
    # Stated, it is the worst attitude itself, with the figure that was told.
    Case(
        "unusable-at-combined-attitudes",
        "good",
        "main",
        ("0.83 L stay behind, 0.83 L at the worst stated attitude, slipping descent",),
        {"attitude": [*DESCENT_AND_SLIP["attitude"], ATTITUDES[5] | {"name": "slipping descent", "roll": "6 deg"}]},
    ),
    Case("unusable-at-combined-attitudes", "unknown", "main", ("needs an outlet",), NO_MAIN_OUTLET),
    # The bag behind the main tank's rear wall is 48 mm long and 100 mm wide; its lip is 50 mm above its floor, at the wall
    # (x = 400). Nose up by 13° the surface through the lip rises aft by tan 13° = 0.2309: over the bag (x = 402 to 450) it
    # stands 50 + 26 x 0.2309 = 56.0 mm deep on average, 0.2688 L; level it is 0.24 L.
    Case("fuel-trapped-in-pocket", "good", "main", ("nothing is cut off", "any of 6 flight attitudes")),
    # Of 35 L these are less than 1.25 %: it counts as unusable, and nobody relies on it.
    Case(
        "fuel-trapped-in-pocket",
        "good",
        "main",
        ("steep climb (pitch +13.0°, roll 0.0°): 0.27 L in a pocket, lowest at (450, 200, 50) mm",),
        POCKET,
    ),
    # The well behind the rear wall is the tank's lowest place, and its drain makes it the sump: level it holds 0.312 L, nose up
    # by 8° 48 x 100 x (65 + 26 tan 8°) = 0.330 L; by 13° the outlet's own pool reaches over its edge. sump-small asks for 0.24 L.
    Case(
        "fuel-trapped-in-pocket",
        "good",
        "main",
        ("nothing is cut off", "0.33 L at most, at climb (pitch +8.0°", "in the sump that drain draws from"),
        WELL,
    ),
    Case("sump-small", "good", "main", ("0.31 L of the 0.63 L that stay there at parked",), WELL),
    # A sump of 90 x 300 x 65 mm = 1.755 L level, more than four times 0.2366 L = 0.946 L, is fuel that is cut off.
    Case(
        "fuel-trapped-in-pocket",
        "bad",
        "main",
        ("also at cruise",),
        WELL | {"tank.0.mesh": "pit.off"},
        "smaller, down to the 0.24 L that sump-small asks for",
        CAUTION,
    ),
    # Drained in the hopper, the pit is a pocket like any other; held for 30 s, what counts is how long the outlet's pool lasts.
    Case(
        "fuel-trapped-in-pocket",
        "bad",
        "main",
        ("in a pocket, lowest at", "also at"),
        {"tank.0.mesh": "pit.off"},
        "Open a notch",
        CAUTION,
    ),
    Case("fuel-trapped-in-pocket", "unknown", "main", ("needs an outlet",), NO_MAIN_OUTLET),
    # The climb angle is 8°.
    Case("envelope-misses-steep-climb", "good", "envelope", ("steep climb (pitch +13.0°, roll 0.0°)",)),
    Case(
        "envelope-misses-steep-climb",
        "bad",
        "envelope",
        ("climb (pitch +8.0°, roll 0.0°); 13.0° is wanted",),
        {"attitude.4": REMOVE},
        'pitch = "13 deg"',
        FAIL,
    ),
    Case("envelope-misses-steep-climb", "bad", "envelope", ("13.0°",), {"attitude.4.roll": "5 deg"}, "13 deg"),
    Case("envelope-misses-steep-climb", "unknown", "envelope", ("climb angle",), {"aircraft.climb_angle": REMOVE}),
    # An acceleration of 0.1 g to the side tilts the surface by atan 0.1 = 5.7°.
    Case("envelope-narrow", "good", "envelope", ("10.0° nose-down, 6.0° right wing down, 6.0° left wing down",)),
    Case(
        "envelope-narrow",
        "good",
        "envelope",
        ("6.0° right wing down, 5.7° left wing down",),
        {"attitude.7": {"name": "skid", "phase": "flight", "right": "0.1 g"}},
    ),
    Case("envelope-narrow", "bad", "envelope", ("0.0° nose-down",), {"attitude.5": REMOVE}, "5° nose-down", CAUTION),
    Case("envelope-narrow", "bad", "envelope", ("0.0° right",), {"attitude.6": REMOVE}, "5° right wing down."),
    Case("envelope-narrow", "bad", "envelope", ("4.0° left",), {"attitude.7.roll": "-4 deg"}, "5° left wing down."),
    Case("parked-nose-down", "good", "attitude parked", ("stands level or nose up",)),
    Case("parked-nose-down", "good", "attitude parked", ("pitch -2.0°",), {"attitude.0.pitch": "-2 deg"}),
    Case(
        "parked-nose-down",
        "bad",
        "attitude parked",
        ("(pitch -11.0°, roll 0.0°) stands nose down: is the sign right?",),
        {"attitude.0.pitch": "-11 deg"},
        "nose up is positive",
        CAUTION,
    ),
]
# (rule, kind) that no design can show, and why.
IMPOSSIBLE = {
    ("mesh-in-doubt", "unknown"): "the door lets no tank in without a mesh",
    ("strainer-missing", "unknown"): "an outlet shows its strainer or has none",
    ("parked-nose-down", "unknown"): "the door lets no design in without a ground attitude",
    ("envelope-narrow", "unknown"): "the door lets no design in without a flight attitude",
}


@pytest.mark.parametrize("case", CASES, ids=lambda case: case.title)
def test_the_rule_says_what_the_case_expects(case: Case) -> None:
    check(case)


def test_a_study_of_one_tank_does_not_pass_the_endurance_of_all() -> None:
    one = study(study_of({}).layout, only="main")
    endurance = next(f for f in findings(one) if f.rule.name == "endurance-below-half-hour")
    assert endurance.outcome is Outcome.NOT_CHECKED
    assert "header" in plain(endurance.evidence)


def test_a_nose_down_on_the_ground_is_asked_about_where_quantities_are_told() -> None:
    made = study_of({"attitude.0.pitch": "-11 deg"})
    main = made.tank("main")
    assert main.dipstick is not None
    for table in (capacity(made, main, Shown()), dipstick(main.tank, main.dipstick, Shown())):
        assert any(
            isinstance(note, Doubt) and "parked (pitch -11.0°, roll 0.0°) stands nose down" in note
            for note in table.notes
        )
