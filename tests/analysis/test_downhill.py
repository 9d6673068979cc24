"""Fuel that a feed line without a pump holds back stays behind: worked by hand on the bench design."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import designs
import numpy as np
import pytest
from numpy.testing import assert_allclose

from fuelsys.analysis.tank.unusable import unusable
from fuelsys.model.built.layout import Layout
from fuelsys.model.found.unusable import UnusableAt
from fuelsys.model.words import Doubt
from fuelsys.report.shown import Shown
from fuelsys.report.tables import switches as switches_tables
from fuelsys.report.tables import unusable as unusable_tables
from fuelsys.review import study

LEVEL = {"attitude": [designs.ATTITUDES[k] for k in (0, 2)]}
# The line from the main tank's outlet, (600, 0, 955), to the header's inlet, (500, 0, 550), over a point between.
HUMP, MORE = "line.2.path", "line.9"


def over(z_mm: float) -> list[list[str]]:
    return [["550 mm", "0 mm", f"{z_mm:g} mm"]]


def second(z_mm: float) -> dict[str, Any]:
    """Another line between the same ends."""
    ends = {"from": "main.outlet", "to": "header.from main"}
    return {"name": "second feed", "kind": "feed", "bore": "8 mm", "path": over(z_mm), **ends}


def cruise(layout: Layout) -> UnusableAt:
    found = unusable(layout.tank("main"), layout.design.envelope)
    assert found is not None
    return found.worst


# The main tank's belt begins at 1000 mm: 5.1 L below it, 0.4 x 0.5 m2 above. The outlet alone leaves 15 mm of the sump.
@pytest.mark.parametrize(
    ("changes", "left_l"),
    [
        pytest.param({HUMP: over(1020)}, 5.1 + 4.0, id="a hump 20 mm up the belt"),
        pytest.param({HUMP: over(1000)}, 5.1, id="a hump at its foot"),
        pytest.param({HUMP: over(1020), MORE: second(1000)}, 5.1, id="fuel takes the lower of two lines"),
        pytest.param({HUMP: over(1020), "tank.0.outlet.0.cover": "5 mm"}, 5.1 + 4.0, id="the cover lies below the hump"),
        pytest.param({HUMP: over(960), "tank.0.outlet.0.cover": "45 mm"}, 5.1, id="the hump lies below the cover"),
        pytest.param(
            {HUMP: over(900), "tank.1.inlet.0.position": ["0 mm", "80 mm", "150 mm"], "tank.1.position": ["500 mm", "-80 mm", "860 mm"]},
            5.1 + 2.0,
            id="the header's inlet stands 10 mm up the belt",
        ),
    ],
)  # fmt: skip
def test_fuel_below_the_highest_point_of_a_line_without_a_pump_stays(
    tmp_path: Path, changes: dict[str, Any], left_l: float
) -> None:
    layout = designs.layout_of(tmp_path, {**LEVEL, **changes})
    assert_allclose(cruise(layout).unusable_m3, left_l * 1e-3, rtol=1e-9)


@pytest.mark.parametrize(
    "changes",
    [
        pytest.param({HUMP: over(954)}, id="the line falls"),
        pytest.param(
            {
                HUMP: over(1020),
                "component.6": {"name": "lift pump", "kind": "pump", "position": ["540 mm", "0 mm", "900 mm"]},
                "line.2.to": "lift pump",
                MORE: {"name": "on", "kind": "feed", "from": "lift pump", "to": "header.from main", "bore": "8 mm", "path": []},
            },
            id="a pump draws over the hump",
        ),
        pytest.param({"line.2": designs.REMOVE}, id="no line is drawn"),
    ],
)  # fmt: skip
def test_otherwise_the_outlet_decides(tmp_path: Path, changes: dict[str, Any]) -> None:
    # 15 mm of the sump: a hopper of 60 mm from 100 x 100 to 400 x 500 mm, by the prismoidal formula over its lowest quarter.
    quarter_l = 15 / 6 * (100 * 100 + 4 * 137.5 * 150 + 175 * 200) * 1e-6
    found = cruise(designs.layout_of(tmp_path, {**LEVEL, **changes}))
    assert_allclose(found.unusable_m3, quarter_l * 1e-3, rtol=1e-9)
    assert found.over_m == 0.0


def test_the_hump_counts_along_apparent_gravity_and_is_told(tmp_path: Path) -> None:
    layout = designs.layout_of(tmp_path, {HUMP: over(1020)})
    tank = layout.tank("main")
    left = unusable(tank, layout.design.envelope)
    assert left is not None
    for at in left.at:
        rise_m = (np.array([0.550, 0.0, 1.020]) - np.array([0.600, 0.0, 0.955])) @ at.attitude.up
        assert_allclose(at.over_m, rise_m, rtol=1e-9)
    found = study(layout).tank("main")
    most = max(left.at, key=lambda at: at.over_m)
    (warning,) = (note for note in unusable_tables.unusable(found, Shown())[0].notes if isinstance(note, Doubt))
    assert f"by up to {most.over_m * 1e3:.1f} mm at {most.attitude.text}" in warning


def test_a_switch_is_told_with_what_the_line_holds_back(tmp_path: Path) -> None:
    # Its minutes count above the 9.1 L that stand below the hump.
    switch = {"name": "low", "mark": ["200 mm", "250 mm", "100 mm"], "differential": "3 mm", "target": "20 min"}
    found = study(designs.layout_of(tmp_path, {**LEVEL, HUMP: over(1020), "tank.0.switch": [switch]})).tank("main")
    (table,) = switches_tables.switches(found, Shown())
    assert_allclose(found.switches[0].unusable_m3, 9.1e-3, rtol=1e-9)
    assert sum(note.startswith("without a pump") for note in table.notes) == 1
