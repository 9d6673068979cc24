"""The plumbing as a graph: runs from end to end, connected tanks and their levels, slopes, the air of a full tank."""

from __future__ import annotations

from collections.abc import Sequence
from math import atan, cos
from pathlib import Path as File
from typing import Any

import designs
import numpy as np
import pytest
import solids
from designs import REMOVE
from numpy.testing import assert_allclose

from fuelsys.analysis.lines import sharing
from fuelsys.analysis.lines.routing import Path, joined, run_at
from fuelsys.analysis.lines.venting import air_at
from fuelsys.analysis.tank.filling import overflow_level_m
from fuelsys.analysis.tank.ground import ONE_PER_CENT_RAD, slopes
from fuelsys.arrays import Floats
from fuelsys.model.built.cavity import Cavity
from fuelsys.model.built.layout import Layout
from fuelsys.model.built.way import Way
from fuelsys.model.stated.attitude import Attitude
from fuelsys.model.stated.components import Pump

LEVEL = Attitude("level", "flight", normal=True)


# --- runs of the bench design ----------------------------------------------------------------------------------------


def ends(found: tuple[Way, ...]) -> list[tuple[str, str, list[str]]]:
    return sorted((str(way.start), str(way.end), list(way.lines)) for way in found)


def path_of(layout: Layout, way: Way) -> Path:
    """The polyline of a way that has one path."""
    assert way.single
    return joined(layout.network, way.shortest)


HEADER_LINES = ["header feed", "filter to shut-off", "shut-off to boost pump"]


def test_a_run_goes_on_through_filter_and_valve_and_ends_at_a_pump(tmp_path: File) -> None:
    assert ends(designs.layout_of(tmp_path).network.ways("feed", stops=(Pump,))) == [
        ("boost pump", "engine pump", ["boost pump to engine pump"]),
        ("engine pump", "engine", ["engine pump to engine"]),
        ("header.outlet", "boost pump", HEADER_LINES),
        ("main.outlet", "header.from main", ["main feed"]),
    ]


def test_a_way_goes_on_through_pumps(tmp_path: File) -> None:
    layout = designs.layout_of(tmp_path)
    way = path_of(layout, next(way for way in layout.network.ways("feed") if str(way.end) == "engine"))
    assert [joint.name for joint in way.joints] == ["filter", "shut-off", "boost pump", "engine pump"]
    # Header outlet (600, 0, 375), filter (200, 0, 300), shut-off (150, 0, 310), pumps (100, 0, 320), (-100, 0, 330), engine.
    assert_allclose(way.points_m[:, 0] * 1e3, [600, 200, 150, 100, -100, -300])
    assert_allclose(way.points_m[:, 2] * 1e3, [375, 300, 310, 320, 330, 340])
    assert_allclose(way.drains_m, [np.hypot(0.4, 0.075)])


def test_a_feed_line_that_is_written_against_the_fuel_is_on_no_run(tmp_path: File) -> None:
    layout = designs.layout_of(tmp_path, {"line.4.from": "shut-off", "line.4.to": "filter"})
    assert [w.end for w in layout.network.ways("feed") if str(w.start) == "header.outlet"] == []


def test_a_feed_line_that_leads_into_an_outlet_is_on_no_run(tmp_path: File) -> None:
    layout = designs.layout_of(tmp_path, {"line.2.to": "header.outlet"})
    assert [w.end for w in layout.network.ways("feed") if str(w.start) == "main.outlet"] == []


def test_a_vent_line_may_be_written_either_way(tmp_path: File) -> None:
    layout = designs.layout_of(tmp_path, {"line.0.from": "overboard", "line.0.to": "main.vent", "line.0.path": []})
    way = next(way for way in layout.network.ways("vent") if str(way.end) == "overboard")
    assert str(way.start) == "main.vent"
    assert_allclose(path_of(layout, way).points_m[0] * 1e3, [570, 0, 1240])


def mm(x: float, y: float, z: float) -> list[str]:
    return [f"{x:g} mm", f"{y:g} mm", f"{z:g} mm"]


# Both vents run to a tee above the main tank, and one line from there overboard; it first rises by 40, and dips on the way.
TEE: dict[str, Any] = {
    "component.6": {"name": "tee", "kind": "tee", "position": mm(700, 0, 1300)},
    "line.0": {"name": "vent", "kind": "vent", "from": "main.vent", "to": "tee", "bore": "8 mm"},
    "line.1": {"name": "header vent", "kind": "vent", "from": "header.vent", "to": "tee", "bore": "6 mm"},
    "line.9": {
        "name": "mast",
        "kind": "vent",
        "from": "tee",
        "to": "overboard",
        "bore": "10 mm",
        "path": [mm(700, 300, 1340)],
        "drains": [mm(600, 450, 905)],
    },
}


def test_vents_that_join_lead_overboard_each_for_itself(tmp_path: File) -> None:
    layout = designs.layout_of(tmp_path, TEE)
    found = layout.network.ways("vent")
    assert ends(found) == [
        ("header.vent", "overboard", ["header vent", "mast"]),
        ("main.vent", "overboard", ["vent", "mast"]),
    ]
    assert_allclose([way.bore_m for way in found], [0.008, 0.006])
    assert layout.network.air_groups() == (("main", "header"),)


def test_fuel_runs_over_the_highest_point_of_all_lines_of_a_vent(tmp_path: File) -> None:
    # The tee's line rises to 1340; the vent's own line ends at the tee, at 1300.
    layout = designs.layout_of(tmp_path, TEE)
    main = layout.tank("main")
    datum_m = overflow_level_m(layout, main, "vent", LEVEL) + float(main.cavity.centre_m @ LEVEL.up)
    assert_allclose(datum_m, 1.340)


def test_a_line_that_falls_away_from_a_tee_empties_it(tmp_path: File) -> None:
    # The tee lies at 1200, 40 below the main's vent, and the mast rises from it: a low point, but for the header's line,
    # which falls from the tee into the header. Without that line the tee is a trap.
    low_tee = {**TEE, "component.6.position": mm(700, 0, 1200)}
    layout = designs.layout_of(tmp_path, low_tee)
    main = next(way for way in layout.network.ways("vent") if str(way.start) == "main.vent")
    assert run_at(path_of(layout, main), LEVEL).low == ()
    alone = {**low_tee, "line.8": low_tee["line.9"], "line.1": REMOVE}
    del alone["line.9"]
    layout = designs.layout_of(tmp_path, alone)
    (way,) = layout.network.ways("vent")
    (low,) = run_at(path_of(layout, way), LEVEL).low
    assert (low.on, low.drained) == ("tee", False)
    assert_allclose(low.proud_m, 0.040)


def test_connected_tanks_by_hand(tmp_path: File) -> None:
    layout = designs.layout_of(tmp_path)
    assert layout.network.fuel_groups() == (("main", "header"),)
    valve = {
        "component.6": {"name": "main valve", "kind": "valve", "position": mm(480, 0, 800)},
        "line.2": {"name": "main feed", "kind": "feed", "from": "main.outlet", "to": "main valve", "bore": "8 mm"},
        "line.9": {"name": "on", "kind": "feed", "from": "main valve", "to": "header.from main", "bore": "8 mm"},
    }
    assert designs.layout_of(tmp_path, valve).network.fuel_groups() == (("main",), ("header",))
    pump = {
        "component.6": {**valve["component.6"], "kind": "pump"},
        "line.2": valve["line.2"],
        "line.9": valve["line.9"],
    }
    assert designs.layout_of(tmp_path, pump).network.fuel_groups() == (("main",), ("header",))
    # Header and main both lead to the shut-off: as a tee it joins them, as a selector it chooses.
    both = {"line.2.to": "shut-off", "line.2.path": [], "component.2.kind": "tee", "component.2.engine_side": REMOVE}
    assert designs.layout_of(tmp_path, both).network.fuel_groups() == (("main", "header"),)
    assert designs.layout_of(tmp_path, both | {"component.2.kind": "selector"}).network.fuel_groups() == (
        ("main",),
        ("header",),
    )
    apart = designs.layout_of(tmp_path, {"line.1": REMOVE})
    assert apart.network.air_groups() == (("main",), ("header",))


# --- levels of connected tanks and of slopes -------------------------------------------------------------------------


class Box:
    """Stands for a fitted tank: common_level_m asks only for the cavity."""

    def __init__(self, low: Sequence[float], size: Sequence[float]) -> None:
        vertices = (np.array(solids.box(*size)[0]) + np.array(low)).astype(np.float64)
        self.cavity = Cavity.of(vertices, solids.box(*size)[1].astype(np.int32))


def common(boxes: list[Box], volume_m3: float, up: Floats) -> float:
    return sharing.common_level_m(boxes, volume_m3, up)  # type: ignore[arg-type]


def test_connected_boxes_fill_from_the_lower_floor_up() -> None:
    # A: 0.4 x 0.4 m from 0; B: 0.4 x 0.2 m from 0.1. 20 L: A alone to 0.1 takes 16 L, 4 L / 0.24 m2 = 16.667 mm more.
    boxes = [Box((0, 0, 0), (0.4, 0.4, 0.3)), Box((0, 1, 0.1), (0.4, 0.2, 0.3))]
    assert_allclose(common(boxes, 0.020, LEVEL.up), 0.1 + 0.004 / 0.24, rtol=1e-12)


def test_equal_boxes_half_full_keep_the_level_of_their_middle_in_a_bank() -> None:
    # Mirror images about the origin: what the one gains the other loses.
    boxes = [Box((-0.2, -0.7, -0.1), (0.4, 0.4, 0.2)), Box((-0.2, 0.3, -0.1), (0.4, 0.4, 0.2))]
    assert_allclose(common(boxes, 0.032, Attitude.of_degrees(3, 7).up), 0.0, atol=1e-12)


def test_full_boxes_stand_at_the_highest_corner() -> None:
    boxes = [Box((0, 0, 0), (0.1, 0.1, 0.1)), Box((0, 1, 0.5), (0.1, 0.1, 0.1))]
    assert_allclose(common(boxes, 0.002, LEVEL.up), 0.6)


@pytest.mark.parametrize("pitch", [0, 12])
def test_slopes_lean_by_one_per_cent_all_round(pitch: float) -> None:
    parked = Attitude.of_degrees(pitch, 0, "ground", "parked")
    found = slopes(parked, ONE_PER_CENT_RAD, "1 %")
    assert len({slope.text for slope in found}) == 16
    # 1 % is 0.573 degrees.
    angles = [np.degrees(np.arccos(slope.up @ parked.up)) for slope in found]
    assert_allclose(angles, np.degrees(atan(0.01)), rtol=1e-9)
    assert_allclose(angles[0], 0.573, atol=5e-4)
    assert_allclose(np.mean([slope.up for slope in found], axis=0), cos(atan(0.01)) * parked.up, atol=1e-12)
    # Ground that falls to the nose lowers the nose; ground that falls to the right lowers the right wing.
    assert found[0].name.endswith("1 % ahead")
    assert_allclose(np.degrees(found[0].pitch_rad), pitch - 0.573, atol=5e-4)
    assert found[4].name.endswith("to the right")
    assert found[10].name.endswith("behind left (225° clockwise from the nose)")
    assert found[10].pitch_rad > parked.pitch_rad  # the tail lies lower,
    assert found[10].roll_rad < 0.0  # and the left wing
    assert found[4].roll_rad > 0.0


# --- the air of a full tank ------------------------------------------------------------------------------------------


def test_the_air_above_the_fuel_is_vented_when_the_vent_stands_in_it(tmp_path: File) -> None:
    layout = designs.layout_of(tmp_path)
    air = air_at(layout, layout.tank("main"), LEVEL)
    assert air is not None
    # Filler's lip at 1000 + 200, vent at 1000 + 240, top of the roof 1240, sump 940.
    assert_allclose([air.full_level_m, air.vent_levels_m["vent"]], [1.200, 1.240])
    assert_allclose([air.highest_level_m, air.lowest_level_m], [1.240, 0.940])
    assert (air.limited_by, air.unvented_m3) == ("filler", 0.0)


def test_all_air_is_shut_in_when_the_vent_is_drowned(tmp_path: File) -> None:
    # The vent in the wall 10 mm below the lip: the roof's 3.4 L have no vent.
    layout = designs.layout_of(tmp_path, {"tank.0.vent.0.position": mm(0, 250, 190)})
    air = air_at(layout, layout.tank("main"), LEVEL)
    assert air is not None
    assert_allclose(air.unvented_m3, 3.4e-3)
    assert air.unvented_top_m is not None
    assert_allclose(air.unvented_top_m[2], 1.240)


def test_air_in_another_bay_is_shut_in(tmp_path: File) -> None:
    # The bag (402..450, 200..300, 50..150) opens from 100 to 150: above its mouth's lip at 50 nothing is shut in; filled to
    # 200 it is under fuel and its air has gone through the mouth's top at 150, the bag's own top.
    layout = designs.layout_of(tmp_path, {"tank.0.mesh": "pocket.off"})
    air = air_at(layout, layout.tank("main"), LEVEL)
    assert air is not None
    assert_allclose(air.unvented_m3, 0.0, atol=1e-12)
