"""The fuel's centre of gravity: a box worked by hand, and a flight's path against the mass that is left."""

from __future__ import annotations

from dataclasses import replace
from math import radians, tan

import numpy as np
from fillsheets import example, fitted
from json_keys import KEPT
from manifold3d import Manifold
from numpy.testing import assert_allclose

from fuelsys.analysis.flights.balance import burnt_path, loaded, moment_m4, tank_balance
from fuelsys.analysis.tank.tilted import Tilted
from fuelsys.model.found.balance import Weighed
from fuelsys.model.found.fly import Flown, Part
from fuelsys.model.stated.attitude import Attitude
from fuelsys.model.stated.design import Load
from fuelsys.report.charts.balance import balance
from fuelsys.report.shown import Shown
from fuelsys.report.tables import balance as tables


def test_a_box_that_is_pitched() -> None:
    """0.6 x 0.4 x 0.2 m, half full at 5 degrees nose up: the surface stays off floor and roof, so the centre lies
    l² tan(p) / (12 h) aft of the middle, h = 0.1 m the mean depth, and (h / 2 + l² tan²(p) / (24 h)) above the floor."""
    tank = fitted(Manifold.cube([0.6, 0.4, 0.2]), (np.array([0.3, 0.2, 0.0]), np.array([0.3, 0.2, 0.2])))
    at = Attitude("climb", "flight", pitch_rad=radians(5.0))
    centre = moment_m4(tank, Tilted.of(tank.cavity, at.up), 0.024) / 0.024
    slope = tan(radians(5.0))
    aft, up = 0.36 * slope / 1.2, 0.05 + 0.36 * slope**2 / 2.4
    assert_allclose(centre, [0.3 + aft, 0.2, up], atol=1e-12)


def test_tanks_that_are_emptied_one_after_the_other() -> None:
    """Two tanks, the left first: each row is the sum of the tanks' own moments, and the totals fall in equal steps."""
    layout = example()
    level = layout.design.normal("flight")
    full = np.array([0.040, 0.040])
    held = np.array([full, [0.0, 0.040], [0.0, 0.0]])
    zero = np.zeros(3)
    flown = Flown(
        ("left", "right"), np.array([0.0, 1.0, 2.0]), held, zero, zero, (), (), "", (Part("all", 0.0, level, "cruise", 1.0, 0.0, ""),)
    )  # fmt: skip
    path = burnt_path(layout, flown)
    assert_allclose([row.held_m3.sum() for row in path.rows], np.linspace(0.080, 0.0, 21), atol=1e-12)
    first, middle = path.rows[0].centre_m, path.rows[10].centre_m
    right = layout.tank("right")
    alone = moment_m4(right, Tilted.of(right.cavity, level.up), 0.040) / 0.040
    assert first is not None
    assert middle is not None
    assert abs(first[1]) < 0.02  # the two tanks are nearly mirror images
    assert_allclose(middle, alone, atol=1e-9)
    assert path.sideways is not None
    assert_allclose(path.sideways.held_m3, [0.0, 0.040])  # the left one empty, the right one full
    drawn = balance(layout, [tank_balance(layout, right)], path, Shown())
    ways = [line for axes in drawn.axes for line in axes.lines if axes.get_xlabel() and len(line.get_xdata()) > 2]
    moments = np.concatenate([line.get_xdata() for line in ways if line.axes.get_xlabel().startswith("moment")])
    assert_allclose(np.abs(moments).max(), 0.040 * 720.0 * alone[1])  # 720 kg/m³ as the example states
    load = Load(
        name="two", mass="400 kg", centre="300 mm", forward_limit="310 mm", aft_limit="400 mm", most_mass="450 kg"
    )
    weighed = replace(layout, design=layout.design.model_copy(update={"load": (load,)}))
    (one,) = loaded(weighed, path)
    # 80 L are 57.6 kg at the two tanks' common centre, and none at the end: the load alone, 10 mm ahead of its limit.
    assert_allclose(one.centre_m[0], (400.0 * 0.3 + 57.6 * first[0]) / 457.6)
    assert_allclose([one.forward[0], one.held_m3[one.forward[1]]], [-0.010, 0.0], atol=1e-12)
    assert_allclose([one.most_kg, one.over_kg], [457.6, 7.6])
    assert one.outside
    limits = tables.limits(Weighed((one,)), Shown())
    assert limits.rows[0][-1] == "outside"
    wide = replace(one, load=load.model_copy(update={"most_mass_kg": 500.0}), forward=(0.1, 0))
    told = [tables.limits(Weighed((wide,), needs), Shown()).rows[0][-1] for needs in ("", "a vent of left")]
    assert told == ["inside", "not known: needs a vent of left"]
    keys = [column.key for column in limits.columns]
    assert [*keys, "status"] == KEPT["balance-limits"]
    ways = {axes.get_xlabel() for axes in balance(weighed, [tank_balance(layout, right)], path, Shown(), [one]).axes}
    assert "the aircraft's centre, aft of the datum [mm]" in ways
    made = tables.path(layout, path, Shown())
    assert_allclose([row[6] for row in made.rows][10], 0.040 * 720.0 * alone[1])
    assert_allclose([row[5] for row in made.rows][10], 0.040 * 720.0 * layout.aircraft_m(alone)[0])
    assert any(
        note.startswith("It pulls most to a side with 25.") and "kg m to the right" in note for note in made.notes
    )
    rows = tank_balance(layout, right).rows
    assert rows[-1].centre_m is None
    assert_allclose(np.diff([row.held_m3[0] for row in rows]), -rows[0].held_m3[0] / 10.0)
