"""A switch as it is: its float's draught in the fuel, the tilt that it works at, its delay; each changes what is answered."""

from __future__ import annotations

from math import pi, radians
from pathlib import Path
from typing import Any

import pytest
from designs import layout_of
from hypothesis import given
from hypothesis import strategies as st
from numpy.testing import assert_allclose
from rule_cases import plain as words

from fuelsys import review
from fuelsys.analysis.sweeping.tolerance import tolerance_study
from fuelsys.errors import DesignError
from fuelsys.model.found.findings import Finding, Outcome
from fuelsys.model.found.switches import SwitchStudy
from fuelsys.model.found.tolerance import Tolerances
from fuelsys.model.stated.fittings import SwitchFloat
from fuelsys.report.shown import Shown
from fuelsys.report.tables.switches import switches
from fuelsys.rules import ALL

LEVEL = {f"attitude.{k}.{angle}": "0 deg" for k in range(2, 8) for angle in ("pitch", "roll")}
FLOAT = {"mass": "12 g", "diameter": "30 mm", "height": "40 mm"}
AREA_M2 = 0.032  # of the header between its straight walls
TWENTY = "tank.1.switch.0."


def twenty(folder: Path, changes: dict[str, Any], rule: str = "") -> tuple[SwitchStudy, list[Finding], str]:
    """The header's 20 min switch in level flight, what a rule says of it, and what stands below its table."""
    study = review.study(layout_of(folder, {**LEVEL, **changes}), only="header")
    (tank,) = study.tanks
    asked = [one for one in ALL if one.name == rule]
    found = [one for it in asked for one in it.findings(study) if one.where == "header switch 20 min"]
    return tank.switches[0], found, " ".join(switches(tank, Shown())[0].notes)


def test_a_float_set_in_water_trips_higher_in_fuel(tmp_path: Path) -> None:
    # Archimedes: 12 g of 30 mm diameter (706.9 mm2) lie 12e-3/(998.2 * 706.86e-6) = 17.007 mm deep in water at 20 °C (998.2
    # kg/m3) and 23.578 mm in fuel of 720 kg/m3. The float stands at the trip where it stood in water: the surface is 6.571 mm higher.
    plain, _, _ = twenty(tmp_path, {})
    found, _, notes = twenty(tmp_path, {TWENTY + "float": FLOAT, TWENTY + "set_in": "998.2 kg/m3"})
    rise_m = 12e-3 / (pi / 4 * 0.03**2) * (1 / 720.0 - 1 / 998.2)
    assert_allclose(rise_m, 6.571e-3, atol=5e-7)
    assert plain.normal.trip_m3 is not None
    assert found.normal.trip_m3 is not None
    assert_allclose(found.normal.trip_m3 - plain.normal.trip_m3, rise_m * AREA_M2, rtol=1e-9)
    assert "the surface stands 6.6 mm above the stated mark at the trip" in notes
    # Without set_in the mark is that in the fuel.
    here, _, _ = twenty(tmp_path, {TWENTY + "float": FLOAT})
    assert_allclose(here.normal.trip_m3, plain.normal.trip_m3, rtol=1e-14)


@given(st.floats(0.001, 0.02), st.floats(500.0, 1200.0), st.floats(500.0, 1200.0))
def test_in_the_lighter_liquid_a_float_lies_deeper(mass_kg: float, one: float, other: float) -> None:
    """And what it displaces weighs what it weighs, in either; a volume of the same height is the same float."""
    round_one = SwitchFloat.model_construct(mass_kg=mass_kg, height_m=0.04, diameter_m=0.03)
    by_volume = SwitchFloat.model_construct(mass_kg=mass_kg, height_m=0.04, volume_m3=pi / 4 * 0.03**2 * 0.04)
    assert (round_one.draught_m(one) - round_one.draught_m(other)) * (one - other) <= 0.0
    assert_allclose(round_one.draught_m(one) * pi / 4 * 0.03**2 * one, mass_kg, rtol=1e-12)
    assert_allclose(by_volume.draught_m(one), round_one.draught_m(one), rtol=1e-12)


def test_in_the_densest_fuel_it_trips_latest(tmp_path: Path) -> None:
    plain, _, _ = twenty(tmp_path, {TWENTY + "float": FLOAT})
    found, _, notes = twenty(tmp_path, {TWENTY + "float": FLOAT, "fuel.density_range": ["0.68 kg/L", "0.78 kg/L"]})
    lower_m = 12e-3 / (pi / 4 * 0.03**2) * (1 / 720.0 - 1 / 780.0)
    assert plain.worst is not None
    assert found.worst is not None
    assert plain.worst.latest_m3 is not None
    assert found.worst.latest_m3 is not None
    assert_allclose(plain.worst.latest_m3 - found.worst.latest_m3, lower_m * AREA_M2, rtol=1e-9)
    assert "in the densest fuel stated" in notes


def test_density_off_moves_a_float_in_the_tolerance_study(tmp_path: Path) -> None:
    layout = layout_of(tmp_path, {**LEVEL, TWENTY + "float": FLOAT, TWENTY + "tolerance": "0 mm"})
    found = tolerance_study(layout, layout.tank("header"), Tolerances(density_share=0.05), 300).switches
    k = 12e-3 / (pi / 4 * 0.03**2) / 720.0 * AREA_M2  # draught times surface
    assert_allclose(found[0].held_m3.greatest - found[0].held_m3.nominal, k * (1 / 0.95 - 1), rtol=0.05)
    assert_allclose(found[0].held_m3.least - found[0].held_m3.nominal, k * (1 / 1.05 - 1), rtol=0.05)


def test_beyond_its_tilt_it_is_not_counted_on(tmp_path: Path) -> None:
    tilted = {"attitude.3.pitch": "12 deg"}
    switch, said, _ = twenty(tmp_path, {**tilted, TWENTY + "max_tilt": "10 deg"}, "warning-never-trips")
    (never,) = switch.never
    assert never.why_never == "tilted by 12.0°, more than the 10° that it is stated to work at"
    assert switch.worst is None
    assert [one.outcome for one in said] == [Outcome.FAIL]
    assert "Fit a switch that is stated to work at these tilts; no other height helps." in words(said[0].mend)
    fits, _, _ = twenty(tmp_path, {**tilted, TWENTY + "max_tilt": "12 deg"})
    assert not fits.never
    layout = layout_of(tmp_path, {**LEVEL, **tilted, TWENTY + "max_tilt": "10 deg"})
    assert tolerance_study(layout, layout.tank("header"), Tolerances(0.001), 4).switches[0].never == 4
    # Mounted askew by up to 4 deg it stands beyond 10 deg from some 7.2 deg on: in some samples, and in full as at once.
    part = layout_of(tmp_path, {**LEVEL, "attitude.3.pitch": "9 deg", TWENTY + "max_tilt": "10 deg"})
    share = (
        tolerance_study(part, part.tank("header"), Tolerances(mounted_rad=radians(4.0)), 200).switches[0].never / 200.0
    )
    assert 0.25 < share < 0.55


def test_a_delay_takes_its_minutes(tmp_path: Path) -> None:
    plain, _, _ = twenty(tmp_path, {})
    found, said, notes = twenty(tmp_path, {TWENTY + "delay": "30 s"}, "warning-late")
    assert plain.worst is not None
    assert found.worst is not None
    for ask in ("minutes", "alone_minutes", "least_minutes"):
        before, now = getattr(plain, ask)(plain.worst.latest_m3), getattr(found, ask)(found.worst.latest_m3)
        assert_allclose(before - now, 0.5, rtol=1e-9)
    assert_allclose(plain.minutes_here(plain.worst) - (found.minutes_here(found.worst) or 0.0), 0.5, rtol=1e-9)  # type: ignore[operator]
    lost_l = plain.flow_m3_s * 30.0 * 1000.0
    assert f"30 s after the surface passes the mark: {lost_l:.3f} L are burnt meanwhile" in notes
    assert any("lit 30 s after the surface has passed its mark" in words(one.evidence) for one in said)
    # The mark that leaves the target must sit higher by what is burnt meanwhile.
    tight = {TWENTY + "mark": ["100 mm", "80 mm", "120 mm"]}
    early, late = (twenty(tmp_path, {**tight, **more})[0].rise_m for more in ({}, {TWENTY + "delay": "30 s"}))
    assert early is not None
    assert late is not None
    assert_allclose(late - early, plain.outflow.alone_m3_s * 30.0 / AREA_M2, atol=1.1e-4)


def test_a_stem_keeps_the_draught_at_a_tilt(tmp_path: Path) -> None:
    # Along the stem: at 12 deg pitch the mark is raised by 6.571 mm of mesh z, so its level by that times cos 12°, and the quantity by
    # that times the surface's plan, 0.032 m2 / cos 12°: as level.
    tilted = {"attitude.2.pitch": "12 deg"}
    plain, _, _ = twenty(tmp_path, tilted)
    found, _, _ = twenty(tmp_path, {**tilted, TWENTY + "float": FLOAT, TWENTY + "set_in": "998.2 kg/m3"})
    at = [(one.trip_m3 or 0.0) - (before.trip_m3 or 0.0) for one, before in zip(found.at, plain.at, strict=True)]
    assert_allclose(at, 12e-3 / (pi / 4 * 0.03**2) * (1 / 720.0 - 1 / 998.2) * AREA_M2, rtol=1e-6)


@pytest.mark.parametrize(
    ("changes", "told"),
    [
        ({"float": {**FLOAT, "volume": "0 L"}}, "float: either its diameter or the volume of its outside is wanted."),
        ({"set_in": "1 kg/L"}, "set_in: without its float, what another liquid does to the mark is not known."),
        (
            {"float": {"mass": "12 g", "height": "40 mm"}},
            "float: either its diameter or the volume of its outside is wanted.",
        ),
        ({"float": {**FLOAT, "volume": "20 mL"}}, "float: either its diameter or the volume of its outside is wanted."),
        (
            {"float": {**FLOAT, "mass": "25 g"}},
            "float: it sinks in 0.72 kg/L: with this mass and size it floats only above 0.88419 kg/L.",
        ),
        ({"float": {**FLOAT, "mass": "0 g"}}, "float.mass: found"),
        ({"max_tilt": "120 deg"}, "max_tilt: found"),
        ({"fuel": ["0.78 kg/L", "0.68 kg/L"]}, "density_range: the first is not less than the second."),
        ({"fuel": ["0.76 kg/L", "0.78 kg/L"]}, "density_range: density, 0.72 kg/L, does not lie within it."),
    ],
)
def test_a_contradiction_is_told(changes: dict[str, Any], told: str, tmp_path: Path) -> None:
    with pytest.raises(DesignError) as caught:
        layout_of(tmp_path, {"fuel.density_range" if k == "fuel" else TWENTY + k: v for k, v in changes.items()})
    assert len(caught.value.lines) == 1
    assert told in caught.value.lines[0]
