"""Doubts of a flight about tanks whose fuel stands in several pools; and usable fuel as flight time, by hand."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import designs
import pytest
from designs import REMOVE
from rule_cases import LEVEL, POCKET, mm, study_of

from fuelsys.analysis.flights.events import COARSE
from fuelsys.analysis.flights.fly import fly
from fuelsys.analysis.flights.setting import World
from fuelsys.analysis.lines.demand import with_demand
from fuelsys.model.words import Doubt
from fuelsys.report.shown import Shown
from fuelsys.report.tables.reserves import reserves

FLIGHT = {"name": "f", "attitude": "cruise", "flow": "cruise", "duration": "5 min"}
# The bag behind the main tank's rear wall, 0.24 L of 48.74 L, opens at z = 100: there the tank holds 5.1 + 20 + 0.24 = 25.34 L.
IN_BAG = {
    "tank.0.outlet.1": {"name": "second", "position": mm(425, 250, 50), "bore": "8 mm", "cover": "0 mm"},
    "tank.1.inlet.1": {"name": "second", "position": mm(0, 60, 150), "bore": "8 mm"},
    "line.9": {"name": "second", "kind": "feed", "from": "main.second", "to": "header.second", "bore": "8 mm"},
}


@pytest.mark.parametrize(
    ("changes", "litres", "told"),
    [
        (POCKET, 25.2, "a pool without an outlet, which counts as full, 0.49 % of the tank"),
        (POCKET, 25.5, ""),
        ({}, 8.0, ""),
        (POCKET | IN_BAG, 25.2, "joins two pools with outlets of their own, which begin at one level: up to 0.49 %"),
        (POCKET | IN_BAG, 28.0, ""),
    ],
)
def test_one_level_for_two_pools_is_doubted_where_the_flight_comes_below_the_saddle(
    changes: dict[str, Any], litres: float, told: str, tmp_path: Path
) -> None:
    flight = {**FLIGHT, "loaded": {"main": f"{litres} L"}}
    flown = fly(World.of(with_demand(designs.layout_of(tmp_path, {**changes, "flight": [flight]}))), pace=COARSE)
    doubts = [note for note in flown.notes if isinstance(note, Doubt)]
    assert len(doubts) == bool(told)
    assert all(one.startswith("main at cruise: ") and told in one for one in doubts)


def test_usable_fuel_as_flight_time() -> None:
    # 45.1 - 0.31875 = 44.78125 L and 8.912 - 0.28 = 8.632 L; 18 L/h at cruise, 30 L/h at most.
    table = reserves(study_of(LEVEL), Shown())
    main, header, both = table.rows
    for row, litres in ((main, 44.78125), (header, 8.632), (both, 53.41325)):
        at_cruise, at_most = litres / 18.0 * 3600.0, litres / 30.0 * 3600.0
        assert row[1] == pytest.approx(litres * 1e-3, rel=1e-9)
        assert row[3:] == pytest.approx((at_cruise, at_cruise - 1800.0, at_cruise - 2700.0, at_most), rel=1e-9)
    assert [row[2] for row in table.rows] == ["44 L", "8 L", ""]
    bare = reserves(study_of(LEVEL | {"tank.1.outlet": [], "line.3": REMOVE}), Shown())
    assert bare.rows[1][1] is None
    assert bare.rows[2][1] is None
