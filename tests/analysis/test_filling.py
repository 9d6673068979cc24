"""Air that filling traps behind a rib with holes, worked by hand."""

from __future__ import annotations

import numpy as np
import pytest
import solids
from fillsheets import example
from manifold3d import Manifold
from numpy.testing import assert_allclose

from fuelsys.analysis.fills.answers import reading
from fuelsys.analysis.fills.model import FillModel, Stick, none
from fuelsys.analysis.tank.dipstick import dipstick
from fuelsys.analysis.tank.filling import filled, room_m3
from fuelsys.model.built.cavity import Cavity
from fuelsys.model.built.layout import FittedTank, Layout
from fuelsys.model.stated.attitude import Attitude
from fuelsys.model.stated.design import Design, Tank
from fuelsys.model.stated.fittings import Dipstick, Filler, Vent
from fuelsys.report.shown import Shown
from fuelsys.report.tables import dipstick as tables

LEVEL = Attitude.of_degrees(0.0, 0.0, "ground", "parked")


def two_bays() -> Cavity:
    """A box of 0.4 x 0.2 x 0.1 m; a rib of 10 mm at its middle has holes of 40 mm width from 0 to 20 and from 60 to 80 mm."""
    rib = Manifold.cube((0.010, 0.4, 0.2)).translate((0.195, -0.1, -0.05))
    for low in (0.0, 0.060):
        rib -= Manifold.cube((0.1, 0.040, 0.020)).translate((0.15, 0.080, low))
    return Cavity.of(*solids.from_manifold(Manifold.cube((0.4, 0.2, 0.1)) - rib))


@pytest.mark.parametrize(
    ("lip_m", "trapped_m3"),
    [
        pytest.param(0.040, 0.0, id="the upper hole stands above the fuel, and the air goes through it"),
        pytest.param(0.070, 0.0, id="half of the upper hole does"),
        # The upper hole drowns at 80 mm: 20 mm of the far bay, 195 x 200 mm, keep their air.
        pytest.param(0.090, 0.195 * 0.2 * 0.020, id="it drowns"),
        pytest.param(0.100, 0.195 * 0.2 * 0.020, id="the lip stands at the roof"),
    ],
)
def test_air_behind_a_rib_is_trapped_once_its_upper_hole_has_drowned(lip_m: float, trapped_m3: float) -> None:
    cavity = two_bays()
    lip = np.array([0.3, 0.1, lip_m])
    vent = Vent.model_construct(name="vent")  # at the roof, so that air would go on beyond the spill
    design = Tank.model_construct(name="tank", vent=(vent,), filler=Filler.model_construct(name="filler"))
    spots = {name: cavity.spot(name, at) for name, at in (("filler", lip), ("vent", np.array([0.35, 0.1, 0.1])))}
    tank = FittedTank(design, cavity, np.eye(3), np.zeros(3), spots)
    layout = Layout("", Design.model_construct(tank=(design,)), (tank,), (), np.eye(3))
    found = filled(layout, tank, LEVEL)
    assert found is not None
    assert_allclose(found.trapped_air_m3, trapped_m3, rtol=1e-9, atol=1e-15)
    above_m3 = 0.195 * 0.2 * (0.1 - lip_m)
    holes_m3 = 0.010 * 0.040 * max(0.0, min(0.020, 0.080 - lip_m))
    air_m3 = above_m3 + max(above_m3, trapped_m3) + holes_m3
    assert_allclose(found.volume_m3, cavity.gross_m3 - air_m3, rtol=1e-9)
    # Capped, the fuel rises on under the vent at the roof; the far bay's air is shut in when the upper hole drowns, if not before.
    room = room_m3(layout, tank, LEVEL)
    assert room is not None
    assert_allclose(room, air_m3 - 0.195 * 0.2 * 0.020, rtol=1e-9, atol=1e-15)


def test_what_a_stick_shows_above_shut_in_air_is_what_was_filled_in() -> None:
    """Up to 80 mm 39 L less the rib's upper half, then the near bay alone: 39 mL a millimetre, and 7.8 L less would be told without."""
    cavity = two_bays()
    stick = Dipstick(top=["300 mm", "100 mm", "100 mm"], bottom=["300 mm", "100 mm", "0 mm"], step="0.5 L")
    design = Tank.model_construct(
        name="tank", vent=(Vent.model_construct(name="vent"),), outlet=(), filler=None, dipstick=stick
    )
    spots = {"vent": cavity.spot("vent", np.array([0.3, 0.1, 0.1]))}
    tank = FittedTank(design, cavity, np.eye(3), np.zeros(3), spots)
    found = dipstick(example(), tank, "L", at=(LEVEL,))
    far_m3 = 0.195 * 0.2 * 0.020
    assert_allclose([found.top_m3, found.shut_in_m3], [cavity.gross_m3 - far_m3, far_m3], rtol=1e-9)
    shut = [mark for mark in found.marks if mark.air_trapped]
    below_m3 = cavity.gross_m3 - 2.0 * far_m3  # to 80 mm, where the upper hole's top is
    assert [round(mark.volume_m3 * 1e3, 6) for mark in shut] == [6.5, 7.0]
    assert_allclose(
        [mark.along_m for mark in shut], [0.080 + (mark.volume_m3 - below_m3) / 0.039 for mark in shut], rtol=1e-9
    )
    drawn = Stick.of(tank)
    assert drawn is not None
    model = FillModel.of(tank, LEVEL, drawn)
    assert reading(model, found.top_m3, none()) == pytest.approx(0.1, abs=1e-9)
    assert model.filled(np.array([0.1]), none())[0] == pytest.approx(found.top_m3)
    (note,) = tables.trapped(found, Shown())
    assert "shuts in up to 0.780 L of air" in note


def test_no_room_is_counted_where_only_the_filler_lets_air_out() -> None:
    # The filler stands in one bay, the vent in the other; both holes drown before the lip at 90 mm.
    cavity = two_bays()
    design = Tank.model_construct(
        name="tank", vent=(Vent.model_construct(name="vent"),), filler=Filler.model_construct(name="filler")
    )
    places = (("filler", np.array([0.3, 0.1, 0.090])), ("vent", np.array([0.05, 0.1, 0.1])))
    tank = FittedTank(design, cavity, np.eye(3), np.zeros(3), {name: cavity.spot(name, at) for name, at in places})
    layout = Layout("", Design.model_construct(tank=(design,)), (tank,), (), np.eye(3))
    room = room_m3(layout, tank, LEVEL)
    assert room is not None
    assert_allclose(room, 0.195 * 0.2 * 0.010, rtol=1e-9)
