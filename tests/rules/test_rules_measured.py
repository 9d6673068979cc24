"""The rule on what was measured against what is computed; the worse of the two counts.

With its outlet at z = -45 the main tank keeps 0.31875 L level (rule_cases.py).
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from rule_cases import LEVEL, NO_HEADER_OUTLET, NO_MAIN_OUTLET, Case, check, study_of

from fuelsys.model.built.measured import Corrected
from fuelsys.model.found.findings import Outcome
from fuelsys.rules.tanks.measured import measured_contradicts_computed

RULE = "measured-contradicts-computed"
FAIL, CAUTION = Outcome.FAIL, Outcome.CAUTION
TRIP = "header.10 min"


def left(litres: float) -> dict[str, object]:
    return {**LEVEL, "tank.0.measured_unusable": f"{litres} L"}


def trips(litres: float) -> dict[str, object]:
    """The 10 min mark stands at z = 82: 0.88 + 200 x 160 x 82 mm = 3.504 L, 3 mm are 96 mL, 2 % are 70 mL: 3.338 to 3.670 L."""
    return {**LEVEL, "tank.1.switch.1.measured_trip": f"{litres} L"}


def brought(flow: str) -> dict[str, object]:
    """125 % of 36 L/h and the 20 L/h that return are to be shown: 65 L/h."""
    return {**LEVEL, "component.5.measured_flow": flow}


CASES = [
    Case(RULE, "not asked", "design", ("nothing measured",)),
    Case(
        RULE,
        "good",
        "main",
        ("accepted: 0.32 L", "0.32 L computed at cruise", "accepted from 0.12 L to 0.52 L"),
        left(0.32),
    ),
    Case(RULE, "bad", "main", ("contradicted: 0.60 L", "the measured one counts"), left(0.6), outcome=FAIL),
    Case(RULE, "bad", "main", ("to be looked at: 0.10 L", "the computed one counts"), left(0.1), outcome=CAUTION),
    Case(RULE, "unknown", "main", ("needs an outlet",), {**left(0.3), **NO_MAIN_OUTLET}),
    Case(
        RULE,
        "good",
        TRIP,
        ("accepted", "3.40 L as measured, 3.50 L computed, accepted from 3.34 L to 3.67 L"),
        trips(3.4),
    ),
    Case(RULE, "bad", TRIP, ("contradicted", "minutes count the measured one"), trips(3.0), outcome=FAIL),
    Case(RULE, "bad", TRIP, ("to be looked at", "minutes count the computed one"), trips(4.0), outcome=CAUTION),
    Case(RULE, "unknown", TRIP, ("needs an outlet, and a mark",), {**trips(3.0), **NO_HEADER_OUTLET}),
    Case(RULE, "good", "engine", ("accepted: 120.0 L/h", "65.0 L/h to be shown"), brought("120 L/h")),
    Case(
        RULE,
        "bad",
        "engine",
        ("contradicted: 60.0 L/h by the flow test", "65.0 L/h to be shown, accepted from"),
        brought("60 L/h"),
        outcome=FAIL,
    ),
    Case(RULE, "bad", "engine", ("to be looked at: 70.0 L/h",), brought("70 L/h"), outcome=CAUTION),
    Case(RULE, "unknown", "engine", ("needs feed lines",), {**brought("70 L/h"), **NO_HEADER_OUTLET}),
]


@pytest.mark.parametrize("case", CASES, ids=[case.title for case in CASES])
def test_what_the_rule_says(case: Case) -> None:
    check(case)


def test_the_worse_of_the_two_counts() -> None:
    """3.0 L at the trip are 15.75 mm less of 200 x 160 mm; at the latest 3 mm less again; 0.6 L unusable are taken off usable."""
    low, plain = study_of({**trips(3.0), **left(0.6)}), study_of(LEVEL)
    at = low.tank("header").switches[1].normal
    assert at.trip_m3 == pytest.approx(3.0e-3, rel=1e-9)
    assert at.latest_m3 == pytest.approx(3.0e-3 - 0.096e-3, rel=1e-9)
    assert low.tank("header").tank.tripped["10 min"].drop_m == pytest.approx(0.01575, rel=1e-6)
    usable = [one.tank("main").capacity.usable_m3 for one in (plain, low)]
    assert usable[0] - usable[1] == pytest.approx(0.6e-3 - 0.31875e-3, rel=1e-6)  # type: ignore[operator]
    for better in (trips(4.0), left(0.1)):  # a better one changes nothing
        study = study_of(better)
        assert study.tank("header").switches[1].normal.trip_m3 == plain.tank("header").switches[1].normal.trip_m3
        assert study.tank("main").capacity.usable_m3 == usable[0]


@pytest.mark.parametrize(("share", "outcome"), [(1.02, CAUTION), (1.004, Outcome.PASS), (0.96, Outcome.PASS)])
def test_a_tank_that_came_out_larger_than_drawn_is_looked_at(share: float, outcome: Outcome) -> None:
    """Within 0.5 %: 2 % more is more than the test's own doubt, 0.4 % is not."""
    study = study_of({})
    tank = study.tanks[0]
    found = Corrected("sheet.csv", "2026-05-30", "parked", share, 0.005, np.zeros(5), tank.tank.cavity)
    measured = replace(tank, tank=replace(tank.tank, corrected=found))
    (verdict,) = measured_contradicts_computed.judge(replace(study, tanks=(measured, *study.tanks[1:])))
    assert verdict.outcome == outcome
    assert f"{(share - 1.0) * 100.0:+.1f} % against what was drawn, within 0.5 %" in str(verdict.evidence)
