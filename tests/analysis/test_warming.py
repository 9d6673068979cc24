"""The rule on fuel that warms in a full tank: a good, a bad and an unknown design, figures worked by hand."""

from pathlib import Path
from typing import Any

import pytest
from designs import REMOVE, layout_of
from numpy.testing import assert_allclose
from rule_cases import plain

from fuelsys.analysis.tank.capacity import capacity
from fuelsys.analysis.tank.warming import warming
from fuelsys.model.found.capacity import Warming
from fuelsys.model.found.findings import Finding, Outcome
from fuelsys.review import study
from fuelsys.rules.tanks.warming import expansion_space_used_by_warming

# The main tank: 200 × 500 × 400 mm of upright walls over a hopper of 5.1 L, under a roof of 3.4 L that rises from z = 200
# to 240 mm. Avgas of 720 kg/m³ grows by 4.645 % from 5 to 40 °C.
LIP_LOW = {"tank.0.filler.position": ["0 mm", "250 mm", "180 mm"]}  # 41.1 L below it, 4 + 3.4 L above
LIP_HIGH = {"tank.0.filler.position": ["200 mm", "250 mm", "240 mm"]}  # at the top: no room at all


def judged(tmp_path: Path, changes: dict[str, Any], tank: str = "main") -> Finding:
    (finding,) = expansion_space_used_by_warming.findings(study(layout_of(tmp_path, changes), only=tank))
    return finding


def computed(tmp_path: Path, changes: dict[str, Any]) -> Warming:
    layout = layout_of(tmp_path, changes)
    found = warming(layout, layout.tank("main"), capacity(layout, layout.tank("main")))
    assert found is not None
    return found


def test_good_design(tmp_path: Path) -> None:
    finding = judged(tmp_path, LIP_LOW)
    assert finding.outcome is Outcome.PASS
    assert "41.10 L filled at 5 °C grow by 1.91 L (4.6 %) on the way to 40 °C; there is room for 7.40 L" in plain(
        finding.evidence
    )


def test_bad_design(tmp_path: Path) -> None:
    finding = judged(tmp_path, LIP_HIGH)
    assert finding.outcome is Outcome.CAUTION
    assert plain(finding.evidence).endswith(
        "there is room for 0 mL, which 0.0 °C of warming take: 2.25 L run out of the vent"
    )
    assert "lower the filler's lip" in plain(finding.mend)


@pytest.mark.parametrize(
    ("changes", "what"),
    [
        pytest.param({"tank.0.filler": REMOVE, "tank.0.dipstick": REMOVE}, "needs a filler", id="no filler"),
        pytest.param(
            {"tank.0.vent": REMOVE, "line.1": REMOVE, "line.0": REMOVE},
            "needs a vent: it says how far warm fuel can rise",
            id="no vent",
        ),
        pytest.param(
            {"fuel.density": "600 kg/m3"},
            "needs a fuel density at 15 °C that the volume correction covers",
            id="density of no group",
        ),
    ],
)
def test_unknown_design(tmp_path: Path, changes: dict[str, Any], what: str) -> None:
    finding = judged(tmp_path, changes)
    assert (finding.outcome, plain(finding.evidence)) == (Outcome.NOT_CHECKED, what)


def test_tank_that_is_filled_through_its_lines(tmp_path: Path) -> None:
    finding = judged(tmp_path, {}, "header")
    assert finding.outcome is Outcome.NOT_APPLICABLE
    assert "no filler" in plain(finding.evidence)


def test_room_and_rise(tmp_path: Path) -> None:
    found = computed(tmp_path, LIP_LOW)
    assert_allclose([found.filled_m3, found.room_m3], [41.1e-3, 7.4e-3], rtol=1e-9)
    # The correction's own figure: growth over the rise is the room.
    assert found.rise_k is not None
    assert found.rise_k > 35.0
    assert_allclose(found.growth_m3, 41.1e-3 * 0.046452, rtol=1e-5)


def test_room_ends_where_the_vent_drowns(tmp_path: Path) -> None:
    # The vent opens in the front wall at z = 185 mm: 5 mm × 0.2 m² = 1 L of room; the 6.4 L above it are shut in.
    found = computed(tmp_path, LIP_LOW | {"tank.0.vent.0.position": ["0 mm", "250 mm", "185 mm"]})
    assert_allclose(found.room_m3, 1e-3, rtol=1e-9)
    assert found.growth_m3 > found.room_m3
