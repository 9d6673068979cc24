"""The rule on the firewall, what full tanks press with in an emergency landing, and the aircraft's centre of gravity.

One table: rule, kind, where, what the evidence says, what was changed in the base design, what mends it.

In the base design (designs.py) the main tank's inside reaches from 400 to 800 mm aft, the header's from 500 to 700 mm; the firewall
stands at 0 and the engine at -300 mm. A spare tank that is only a mesh lies from 0 to 200 mm.
"""

from __future__ import annotations

import pytest
from designs import REMOVE
from numpy.testing import assert_allclose
from plumbing_changes import NO_OPENING
from rule_cases import NO_MAIN_OUTLET, SPARE, Case, check, mm, study_of

from fuelsys.model.found.findings import Outcome

FAIL, CAUTION = Outcome.FAIL, Outcome.CAUTION
RULE = "tank-near-firewall"


def firewall(aft: float) -> dict[str, object]:
    return {"aircraft.firewall": mm(aft, 30, -70)}  # where across and how high the point lies does not count


NO_ENGINE = {"component.5": REMOVE, "line": []}
# The spare mesh is the outside of a wall of 2 mm.
THICK = {"tank.2": SPARE["tank.2"] | {"wall": "2 mm"}}
CASES = [
    Case(RULE, "good", "main", ("its inside is 400.0 mm from the firewall's plane",)),
    Case(RULE, "good", "header", ("500.0 mm",)),
    # 12.7 mm and 25 mm are wanted where the wall's thickness is not stated: 37.8, and 37.6 which leaves 24.9.
    Case(RULE, "good", "main", ("37.8 mm",), firewall(362.2)),
    Case(RULE, "unknown", "main", ("needs a measure of its wall", "37.6 mm", "leaves 24.9 mm"), firewall(362.4)),
    Case(RULE, "unknown", "main", ("leaves 0.1 mm",), firewall(387.2)),
    Case(RULE, "bad", "main", ("12.6 mm",), firewall(387.4), "at least 0.1 mm and its wall", FAIL),
    Case(RULE, "bad", "main", ("0.5 mm",), firewall(399.5), "at least 12.2 mm", FAIL),
    # Through the tank: 5 mm behind its front.
    Case(RULE, "bad", "main", ("reaches through the firewall's plane by 5.0 mm",), firewall(405), "measure", FAIL),
    # The engine behind the firewall, as the tanks are.
    Case(RULE, "bad", "main", ("engine's side", "750.0 mm"), firewall(-350), "", FAIL),
    # A pusher: tanks ahead of the firewall, engine behind it.
    Case(RULE, "good", "main", ("100.0 mm",), firewall(900) | {"component.5.position": mm(1200, 0, 340)}),
    Case(RULE, "good", "spare", ("its outside is 12.8 mm",), THICK | firewall(-12.8)),
    Case(RULE, "bad", "spare", ("its outside is 12.6 mm",), THICK | firewall(-12.6), "", FAIL),
    Case(RULE, "unknown", "spare", ("its inside is 12.8 mm", "leaves 0.1 mm"), SPARE | firewall(-12.8)),
    Case(RULE, "unknown", "main", ("needs aircraft.firewall",), {"aircraft.firewall": REMOVE}),
    Case(RULE, "unknown", "main", ("needs a component of the kind engine", "400.0 mm"), NO_ENGINE),
    # What no side can mend is a fault without an engine too.
    Case(RULE, "bad", "main", ("0.5 mm",), NO_ENGINE | firewall(399.5), "", FAIL),
]

PRESSED = "tank-bears-too-little"


def bears(pressure: str) -> dict[str, object]:
    return {"tank.0.bears": pressure}


# The main tank is 0.4 m long, 0.5 m across and 0.3 m high, 0.72 kg/L: at 9 g forward 720 x 9 x 9.80665 x 0.4 = 25.42 kPa; at 1.5 x 10 g
# downward 720 x 15 x 9.80665 x 0.3 = 31.77 kPa. The header: 0.2 m long and 0.2 high, so 3.5 psi is asked for.
G4, G10 = {"aircraft.limit_load_factor": 3.8}, {"aircraft.limit_load_factor": 10.0}
CASES += [
    Case(PRESSED, "not asked", "main", ("a test with 25.42 kPa",)),
    Case(PRESSED, "bad", "main", ("24.13 kPa", "25.42 kPa (full tank at 9"), G4 | bears("3.5 psi"), "(a)(2)", CAUTION),
    Case(PRESSED, "bad", "main", ("25.42 kPa",), G4 | bears("3.5 psi") | {"tank.0.in_cabin": True}, "baffles", FAIL),
    Case(PRESSED, "bad", "main", ("26.00 kPa", "31.77 kPa (full tank at 15 g down"), G10 | bears("26 kPa"), "", FAIL),
    Case(PRESSED, "good", "main", ("31.77 kPa",), G10 | bears("31.78 kPa")),
    Case(PRESSED, "unknown", "main", ("needs aircraft.limit_load_factor", "25.42 kPa"), bears("26 kPa")),
    Case(PRESSED, "bad", "header", ("24.13 kPa are asked for",), G4 | {"tank.1.bears": "23 kPa"}, "", CAUTION),
]


CENTRE = "centre-of-gravity-outside"
HALF = {
    "flight": [
        {"name": "short", "attitude": "cruise", "flow": "cruise", "duration": "10 min", "loaded": {"main": "10 L"}}
    ]
}


def load(**changes: str) -> dict[str, object]:
    """500 kg at 700 mm aft: all fuel lies ahead of that, so that the centre is furthest aft without any."""
    stated = {"name": "two", "mass": "500 kg", "centre": "700 mm"}
    limits = {"forward_limit": "600 mm", "aft_limit": "900 mm", "most_mass": "600 kg"}
    return {"load": [{key: value for key, value in (stated | limits | changes).items() if value}]}


CASES += [
    Case(CENTRE, "not asked", "design", ("no [[load]] is stated",)),
    Case(CENTRE, "good", "load two", ("200.0 mm inside the aft limit with 0 mL", "inside the forward limit"), load()),
    Case(CENTRE, "bad", "load two", ("10.0 mm outside the aft limit",), load(aft_limit="690 mm"), "", FAIL),
    Case(CENTRE, "bad", "load two", ("outside the forward limit",), load(forward_limit="699 mm"), "", FAIL),
    Case(CENTRE, "bad", "load two", ("over the most",), load(most_mass="510 kg"), "", FAIL),
    Case(CENTRE, "unknown", "load two", ("needs aft_limit; ", "inside the forward"), load(aft_limit="")),
    Case(
        CENTRE,
        "unknown",
        "design",
        ("one engine that feed lines lead to from a tank's outlet",),
        {**load(), "line": []},
    ),
    # From full tanks the centre goes further forward than on the stated flight, 97.3 mm inside: what is told is the least of both.
    Case(
        CENTRE,
        "unknown",
        "load two",
        ("needs most_mass; 92.8 mm inside the forward limit with 54.0",),
        load(most_mass="") | HALF,
    ),
    # How full a tank is without filler and vent is not known: what it holds to the brim is no pass.
    Case(CENTRE, "unknown", "load two", ("needs a filler or a vent of main",), load() | NO_OPENING),
    Case(
        CENTRE, "bad", "load two", ("outside the forward limit",), load(forward_limit="699 mm") | NO_OPENING, "", FAIL
    ),
]


@pytest.mark.parametrize("case", CASES, ids=lambda case: case.title)
def test_firewall(case: Case) -> None:
    check(case)


def test_forces_of_a_full_tank() -> None:
    # Filled to the top of its walls, 48.5 - 3.4 = 45.1 L of 0.72 kg/L: 32.472 kg. Forward it is 0.4 m long, across 0.5, high 0.3.
    tank = study_of({}).tank("main")
    found = {
        (one.in_cabin, one.toward): (one.force_n / 9.80665, one.pressure_pa / 720.0 / 9.80665) for one in tank.forces
    }
    assert len(found) == len(tank.forces) == 8
    expected = {
        (False, "forward"): (9 * 32.472, 9 * 0.4),
        (False, "up"): (3 * 32.472, 3 * 0.3),
        (False, "to the left"): (1.5 * 32.472, 1.5 * 0.5),
        (False, "to the right"): (1.5 * 32.472, 1.5 * 0.5),
        (True, "forward"): (18 * 32.472, 18 * 0.4),
        (True, "up"): (3 * 32.472, 3 * 0.3),
        (True, "to the left"): (4.5 * 32.472, 4.5 * 0.5),
        (True, "to the right"): (4.5 * 32.472, 4.5 * 0.5),
    }
    for key, figures in expected.items():
        assert_allclose(found[key], figures, rtol=1e-9)


def test_a_tank_that_cannot_be_filled_on_paper_has_no_forces() -> None:
    assert study_of(SPARE).tank("spare").forces == ()
    assert len(study_of(NO_MAIN_OUTLET).tank("main").forces) == 8
