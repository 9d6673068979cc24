"""By which outlets a tank's fuel comes to the engine, and what the tank beyond keeps, against closed forms of boxes side by side.

Two boxes 500 x 400 x 300 mm stand 1 m from middle to middle. An engine's pump draws from `one` alone, through an outlet 100 mm over the
middle of its floor; `two` gives through one, by a line from the inboard edge of its floor. A plane through that outlet, leaned by t,
stands 100 + 1000 tan t over the middle of two's floor where two is low, and 100 - 800 tan t over its inboard edge where it is high.
"""

from __future__ import annotations

from dataclasses import replace
from math import radians, tan
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from flights import LEVEL, PUMP, box, built, engine, line, part, switch, walled
from numpy.testing import assert_allclose

from fuelsys import review
from fuelsys.analysis.flights.levelled import Levelled
from fuelsys.analysis.lines.solving import Solving
from fuelsys.analysis.sweeping.map import unusable_map
from fuelsys.analysis.sweeping.tolerance import tolerance_study
from fuelsys.analysis.tank.place import place
from fuelsys.model.built.layout import Layout
from fuelsys.model.found.exchange import Exchange
from fuelsys.model.found.study import TankStudy
from fuelsys.model.found.tolerance import Tolerances
from fuelsys.model.words import Doubt
from fuelsys.report.page.chapters import usable_text
from fuelsys.report.shown import Shown
from fuelsys.report.tables.design import totals
from fuelsys.report.tables.tolerance import tolerance as spread_table
from fuelsys.rules.coverage.figures_tank import ten_minutes

LONG, WIDE, HIGH, APART, STANDS, TILT = 500.0, 400.0, 300.0, 1000.0, 100.0, 6.0
SLOPE = tan(radians(TILT))
AREA_M2 = LONG * WIDE * 1e-6
SIZE = [LONG, WIDE, HIGH]
TWO_LOW, TWO_HIGH = (
    {"name": f"two {name}", "pitch": "0 deg", "roll": f"{roll} deg"} for name, roll in (("low", TILT), ("high", -TILT))
)
DRIVE_M = 0.5e-3  # at most what drives 30 L/h through 30 mm; a little more than that stays


def layout_of(folder: Path, kind: str = "interconnect", held: dict[str, str] | None = None) -> Layout:
    """two joined to one by a line of a kind: an interconnect between floors, or a feed line into an inlet in one's floor."""
    into = "outlet cross" if kind == "interconnect" else "inlet in"
    ports = {"outlet feed": [LONG / 2, WIDE / 2, STANDS], into: [LONG / 2, WIDE, 0.0]}
    one = box("one", [0.0, 0.0, 0.0], SIZE, ports, switch=[switch("low", [LONG / 2, WIDE / 2, 200.0])])
    two = box("two", [0.0, APART, 0.0], SIZE, {"outlet cross": [LONG / 2, 0.0, 0.0]})
    lines = [
        line("feed", "one.feed", "pump"), line("on", "pump", "engine"),
        line("join", "two.cross", f"one.{into.split()[1]}", kind, 30.0),
    ]  # fmt: skip
    places: list[dict[str, Any]] = [{**PUMP, "position": ["250 mm", "200 mm", "-500 mm"]}, engine([0.0, 0.0, -500.0])]
    return built(folder, [one, two], places, lines, "30 L/h", attitudes=[LEVEL, TWO_LOW | (held or {}), TWO_HIGH])


def kept_m3(tank: TankStudy) -> dict[str, float]:
    assert tank.capacity.unusable is not None
    return {one.attitude.name: one.unusable_m3 for one in tank.capacity.unusable.at}


@pytest.mark.parametrize("kind", ["interconnect", "feed"])
def test_a_tank_beside_keeps_what_stands_under_the_plane_through_the_outlet_that_feeds(
    tmp_path: Path, kind: str
) -> None:
    """As an interconnect, and as a tip tank that runs into the main tank by gravity."""
    study = review.study(layout_of(tmp_path, kind))
    one, two = (kept_m3(study.tank(name)) for name in ("one", "two"))
    for name in (
        "level",
        "two low",
        "two high",
    ):  # by the line into two nothing is gained, though it begins in the floor
        assert_allclose(one[name], AREA_M2 * STANDS * 1e-3, rtol=1e-9)
    over_edge = STANDS - (APART - WIDE / 2) * SLOPE
    expected = {
        "level": AREA_M2 * STANDS * 1e-3,
        "two low": AREA_M2 * (STANDS + APART * SLOPE) * 1e-3,
        "two high": LONG * over_edge**2 / (2.0 * SLOPE) * 1e-9,
    }
    for name, volume_m3 in expected.items():
        assert volume_m3 < two[name] < volume_m3 + AREA_M2 * DRIVE_M
    (group,) = study.exchange.together
    for at in group.at:  # the tanks' own figures are what all hold at one level, but for the roofs
        assert_allclose(at.own_forever_m3, at.level_m3, rtol=1e-3)


def test_marks_minutes_and_maps_count_it_too(tmp_path: Path) -> None:
    layout = layout_of(tmp_path)
    one = review.study(layout).tank("one")
    # From 200 mm down to 100 mm: 20 L at 30 L/h are 40 min.
    assert_allclose(one.switches[0].alone_minutes(AREA_M2 * 0.2), 40.0, rtol=1e-9)
    found = unusable_map(one.tank, np.zeros(1), np.radians([-TILT, 0.0, TILT]))
    assert_allclose(found, AREA_M2 * STANDS * 1e-3, rtol=1e-9)
    # 20 min are 10 L, 50 mm over the outlet.
    mark = place(layout, layout.tank("one"), (LONG / 2e3, WIDE / 2e3), 1200.0, guaranteed=True)
    assert_allclose(mark.mark_m[2], 0.150, atol=1e-6)


def test_for_a_time_the_tank_beyond_is_not_at_its_end(tmp_path: Path) -> None:
    """In 30 s two is not asked to give: it keeps what it does in level flight, more than in the other slip. One has to outlast them."""
    study = review.study(layout_of(tmp_path, held={"held": "30 s"}))
    one, two = (kept_m3(study.tank(name)) for name in ("one", "two"))
    assert two["two low"] == two["level"] > two["two high"]
    assert_allclose(one["two low"], AREA_M2 * STANDS * 1e-3, rtol=1e-6)


def test_two_that_feed_through_a_tee_and_wings_over_a_header_drain_as_they_stand(tmp_path: Path) -> None:
    ports = {"outlet feed": [LONG / 2, WIDE / 2, 0.0]}
    tanks = [box(name, [0.0, y, 0.0], SIZE, ports) for name, y in (("one", 0.0), ("two", APART))]
    inlets = {"outlet feed": [100.0, 100.0, 50.0], "inlet left": [100.0, 0.0, 0.0], "inlet right": [100.0, 200.0, 0.0]}
    below = box("header", [0.0, 600.0, -400.0], [200.0, 200.0, 200.0], inlets)
    tee = part("tee", "tee", [250.0, 700.0, -600.0])
    places = [{**PUMP, "position": ["0 mm", "0 mm", "-700 mm"]}, engine([0.0, 0.0, -700.0])]
    slip = {"name": "slip", "pitch": "0 deg", "roll": f"{TILT} deg"}
    wedge = LONG * (WIDE / 2) ** 2 / 2 * SLOPE * 1e-9
    on = [line("on", "pump", "engine")]
    joins = [line(f"{name} on", f"{name}.feed", "tee", bore=12.0) for name in ("one", "two")]
    by_tee = built(
        tmp_path / "tee",
        tanks,
        [tee, *places],
        [*joins, line("tee on", "tee", "pump", bore=12.0), *on],
        attitudes=[LEVEL, slip],
    )
    falls = [
        line(f"{name} on", f"{name}.feed", f"header.{side}", bore=12.0)
        for name, side in (("one", "left"), ("two", "right"))
    ]
    header = built(
        tmp_path / "header", [*tanks, below], places, [*falls, line("header on", "header.feed", "pump", bore=12.0), *on],
        attitudes=[LEVEL, slip],
    )  # fmt: skip
    for layout in (by_tee, header):
        study = review.study(layout)
        for name in ("one", "two"):
            assert_allclose(kept_m3(study.tank(name))["slip"], wedge, rtol=1e-6)
        # By the tee what is in the one runs into the other in a slip; over the header both only give.
        assert {isinstance(tank.tank.remarks[-1], Doubt) for tank in study.tanks} == {layout is by_tee}
    assert_allclose(kept_m3(study.tank("header"))["level"], 0.2 * 0.2 * 0.05, rtol=1e-9)


def test_figures_of_a_tank_beside_say_what_they_leave_out(tmp_path: Path) -> None:
    study = review.study(layout_of(tmp_path, held={"held": "30 s"}))
    two, shown = study.tank("two"), Shown()
    assert isinstance(two.tank.remarks[-1], Doubt)
    assert "see the table of joined tanks" in ten_minutes(study, two)
    (group,) = study.exchange.together
    together = f"{shown.text(group.usable_m3, 'volume')} in one and two"
    assert [row[-1] for row in totals(study, shown).rows] == [together, together, ""]
    assert usable_text(study.exchange, two, shown).endswith(f" L*, together {together}")
    unknown = Exchange((replace(group, at=(), needs="one engine"),))
    assert usable_text(unknown, two, shown).endswith(" L*, together not known")
    spread = tolerance_study(study.layout, two.tank, Tolerances(set_off_m=0.002), samples=2)
    assert any(isinstance(note, Doubt) and "gives through one" in note for note in spread_table(spread, shown)[0].notes)


@pytest.mark.parametrize("kind", ["interconnect", "feed"])
def test_a_tank_that_runs_into_a_pool_behind_a_wall_keeps_what_stands_below_its_edge(tmp_path: Path, kind: str) -> None:
    """The wall stands 100 mm over fore's floor; the engine draws from aft: the tip's floor is 300 x 500 mm, 15 L, fore's too."""
    study = review.study(walled(tmp_path, kind))
    main, tip = (kept_m3(study.tank(name))["level"] for name in ("main", "tip"))
    assert_allclose(main, 0.015, rtol=1e-9)
    assert 0.015 <= tip < 0.015 + 0.15 * DRIVE_M
    (group,) = study.exchange.together
    assert_allclose(group.at[0].level_m3, main + tip, rtol=1e-6)
    levelled = Levelled(Solving.of(study.layout), study.layout.tanks, group.at[0].attitude)
    assert_allclose(levelled.left_m3({"main": 0.015, "tip": 0.0}), main + tip, rtol=1e-6)


def test_where_interconnects_meet_a_line_to_the_engine_its_hump_counts_in_both(tmp_path: Path) -> None:
    """A hump 50 mm over the floors of two boxes of 0.2 m²: 10 L each, though each also leads into the other over none."""
    tanks = [
        box(name, [0.0, y, 0.0], SIZE, {"outlet cross": [LONG / 2, inboard, 0.0]})
        for name, y, inboard in (("one", 0.0, WIDE), ("two", APART, 0.0))
    ]
    places = [engine([250.0, 600.0, -900.0]), part("tee", "tee", [250.0, 700.0, -400.0])]
    joins = [line(name, f"{name}.cross", "tee", "interconnect", 20.0) for name in ("one", "two")]
    over = line("feed", "tee", "engine", "feed", 20.0, path=[(250, 650, 50.0)])
    layout = built(tmp_path, tanks, places, [*joins, over], "30 L/h", "gravity", attitudes=[LEVEL])
    study = review.study(layout)
    for tank in study.tanks:
        assert_allclose(kept_m3(tank)["level"], 0.010, rtol=1e-9)
