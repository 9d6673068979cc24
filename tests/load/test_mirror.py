"""A tank stated as another's mirror image: the same answers as when it is written out, and what is refused."""

from __future__ import annotations

import tomllib
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from commands import MESHES
from designs import BASE, off, toml
from numpy.testing import assert_allclose
from rule_cases import plain

from fuelsys.analysis.tank.unusable import left_at, outlets
from fuelsys.errors import DesignError
from fuelsys.load.designs.door import load_design
from fuelsys.load.designs.mirror import expanded
from fuelsys.model.built.cavity import Taken
from fuelsys.model.built.layout import Layout
from fuelsys.model.built.measured import Corrected
from fuelsys.model.found.findings import Outcome
from fuelsys.model.found.study import TankStudy
from fuelsys.model.stated.attitude import Attitude
from fuelsys.model.words import Doubt
from fuelsys.report.shown import Shown
from fuelsys.report.tables.capacity import capacity
from fuelsys.review import study
from fuelsys.rules.tanks.twins import mirror_tanks_differ

# Beside the middle, its outlet and its vent off the middle too; the twin's own share of the flow is stated.
WING = {
    "name": "left",
    "mesh": "pocket.off",
    "unit": "mm",
    "axes": "aft, right, up",
    "position": ["400 mm", "-1300 mm", "1000 mm"],
    "flow_share": "50 %",
    "outlet": [{"name": "outlet", "position": ["200 mm", "230 mm", "-45 mm"], "bore": "8 mm", "cover": "2 mm"}],
    "vent": [{"name": "vent", "position": ["170 mm", "200 mm", "230 mm"], "bore": "8 mm"}],
    "switch": [{"name": "low", "mark": ["100 mm", "150 mm", "60 mm"], "tolerance": "2 mm", "target": "20 min"}],
}
TWIN = {"name": "right", "mirror_of": "left", "flow_share": "40 %"}


def twins(tmp_path: Path) -> Layout:
    design = BASE | {"tank": [WING, TWIN], "line": [], "component": []}
    (tmp_path / "pocket.off").write_text(off("pocket.off"), encoding="utf-8")
    file = tmp_path / "twins.toml"
    file.write_text("\n".join(f"{key} = {toml(value)}" for key, value in design.items()), encoding="utf-8")
    return load_design(file)


@pytest.fixture
def pair(tmp_path: Path) -> tuple[TankStudy, TankStudy]:
    left, right = study(twins(tmp_path)).tanks
    return left, right


def measured_pair(layout: Layout, tested: int, share: float, sure_m3: float | None = None) -> Layout:
    """Twins of which one was found to hold a share of what was drawn, with so much in it, surely, when its lamp lights."""
    tanks = list(layout.tanks)
    drawn = tanks[tested].cavity
    sure = {("low", at.name): sure_m3 for at in layout.design.envelope if sure_m3 is not None}
    found = Corrected("sheet.csv", "2026-05-30", "parked", share, 0.01, np.zeros(5), drawn, sure_m3=sure)
    held = drawn.counting(share, Taken("fill test", drawn.gross_m3 * (1.0 - share)), ())
    tanks[tested] = replace(tanks[tested], corrected=found, cavity=held)
    return replace(layout, tanks=tuple(tanks))


@pytest.mark.parametrize("tested", [0, 1])
def test_a_twin_of_one_that_came_out_smaller_counts_as_small(tmp_path: Path, tested: int) -> None:
    """By hand: the same share of what was drawn, unusable fuel as drawn, a trip that leaves no more than the measured twin's."""
    layout = twins(tmp_path)
    drawn, made = study(layout), study(measured_pair(layout, tested, 0.96, 0.004))
    again = study(made.layout)
    for found in (made, again):
        for was, tank in zip(drawn.tanks, found.tanks, strict=True):
            gross, fillable = was.capacity.gross_m3, was.capacity.filled
            assert fillable is not None
            assert_allclose(tank.capacity.gross_m3, 0.96 * gross, rtol=1e-12)
            assert tank.capacity.unusable is not None
            assert was.capacity.unusable is not None
            assert_allclose(tank.capacity.unusable.volume_m3, was.capacity.unusable.volume_m3, rtol=1e-9)
            assert tank.capacity.filled is not None
            usable = 0.96 * fillable.volume_m3 - was.capacity.unusable.volume_m3
            assert_allclose(tank.capacity.filled.volume_m3 - tank.capacity.unusable.volume_m3, usable, rtol=1e-9)
        trips = [tank.switches[0].normal.trip_m3 for tank in found.tanks]
        assert trips[0] == pytest.approx(trips[1], rel=1e-6)
        assert 0.0 < (trips[0] or 0.0) <= 0.004 + 1e-9 < 0.9 * (drawn.tanks[0].switches[0].normal.trip_m3 or 0.0)
    name, other = (made.tanks[k].tank for k in (tested, 1 - tested))
    notes = " ".join(capacity(made, made.tanks[1 - tested], Shown()).notes)
    assert (
        f"Counted as its measured twin {name.name}, which holds -4.0 % against what was drawn; not measured itself."
        in notes
    )
    assert 'Switch "low": its mark counts as' in notes
    (doubt,) = [note for note in other.remarks if isinstance(note, Doubt) and "not measured" in note]
    assert doubt.startswith(
        f"{other.name} was not measured itself and counts as small as its twin {name.name}, which was measured 4.0 %"
    )
    (verdict,) = mirror_tanks_differ.findings(made)
    assert verdict.outcome is Outcome.CAUTION
    assert plain(verdict.mend).startswith(f"Fill {other.name} too: `fuelsys filltest DESIGN --tank {other.name}`")
    assert plain(verdict.evidence).endswith(
        f"{other.name} was not measured and counts as its twin {name.name}, 4.0 % smaller than drawn"
    )


def test_what_a_twins_drain_test_left_counts_too(tmp_path: Path) -> None:
    """4 L measured in the one, where less is computed: 4 L in the other, until its own drain test says another figure."""
    layout = measured_pair(twins(tmp_path), 0, 0.96)
    for own, counted in ((None, 0.004), (0.003, 0.003)):
        tanks = [
            replace(tank, design=tank.design.model_copy(update={"measured_unusable_m3": left}))
            for tank, left in zip(layout.tanks, (0.004, own), strict=True)
        ]
        right = study(replace(layout, tanks=tuple(tanks))).tanks[1]
        assert right.capacity.unusable is not None
        assert right.capacity.unusable.worst.unusable_m3 < 0.003
        assert right.capacity.unusable.volume_m3 == counted


@pytest.mark.parametrize("tested", [0, 1])
def test_a_twin_that_was_not_filled_says_so(tmp_path: Path, tested: int) -> None:
    """One of the two was found 3 % larger than drawn: its twin counts as drawn, in doubt, and the mend is a test."""
    layout = twins(tmp_path)
    name, other = layout.tanks[tested].name, layout.tanks[1 - tested].name
    made = study(measured_pair(layout, tested, 1.03))
    assert made.tanks[1 - tested].capacity.gross_m3 == layout.tanks[1 - tested].cavity.gross_m3
    said = f"{other} counts as drawn; its twin {name} was measured 3.0 % larger: fill {other} too"
    for tank in made.tanks:
        doubts = [note for note in tank.tank.remarks if isinstance(note, Doubt)]
        assert [doubt for doubt in doubts if doubt.startswith(said)] == (doubts[:1] if tank.tank.name == other else [])
        assert any(said in note for note in capacity(made, tank, Shown()).notes) == (tank.tank.name == other)
    (verdict,) = mirror_tanks_differ.findings(made)
    assert verdict.outcome is Outcome.CAUTION
    assert plain(verdict.mend).startswith(f"Fill {other} too: `fuelsys filltest DESIGN --tank {other}`")
    assert plain(verdict.evidence).endswith(f"2.9 % apart, {name} as measured")


def test_what_stays_behind_is_that_of_the_other_side(pair: tuple[TankStudy, TankStudy]) -> None:
    left, right = pair
    for pitch, roll in ((0, 0), (8, 3), (-10, 6), (5, -7), (13, 0.5)):
        one, other = Attitude.of_degrees(pitch, roll), Attitude.of_degrees(pitch, -roll)
        here = left_at(left.tank.cavity, one, outlets(left.tank))
        there = left_at(right.tank.cavity, other, outlets(right.tank))
        assert_allclose(there.unusable_m3, here.unusable_m3, rtol=1e-9)
        assert len(here.pockets) == len(there.pockets)
        assert here.centre_m is not None
        assert there.centre_m is not None
        assert_allclose(there.centre_m, here.centre_m * (1, -1, 1), atol=1e-9)
    # The bag on the rear wall keeps its fuel nose up, and one side is not the other's own.
    tilted = Attitude.of_degrees(0, 6)
    assert left_at(left.tank.cavity, tilted, outlets(left.tank)).unusable_m3 != pytest.approx(
        left_at(right.tank.cavity, tilted, outlets(right.tank)).unusable_m3, rel=1e-3
    )


def test_places_and_figures_are_mirrored(pair: tuple[TankStudy, TankStudy]) -> None:
    left, right = pair
    assert right.tank.design.position_m == (0.4, 1.3, 1.0)
    assert right.tank.design.outlet[0].position_m == (0.2, -0.23, -0.045)
    assert right.tank.design.flow_share == 0.4
    assert_allclose(right.capacity.gross_m3, left.capacity.gross_m3, rtol=1e-12)
    one, other = (tank.switches[0].normal.trip_m3 for tank in pair)
    assert one is not None
    assert other == pytest.approx(one, rel=1e-9)
    for name in ("outlet", "vent", "switch low"):
        here, there = (tank.tank.spot(name).point_m + tank.tank.cavity.centre_m for tank in pair)
        assert_allclose(there, here * np.array([1, -1, 1]), atol=1e-12)


def test_the_example_written_as_twins(tmp_path: Path) -> None:
    """The example's right tank is its left one's mirror image: from the left's mesh it comes out as from its own."""
    source = (MESHES / "taildragger.toml").read_text(encoding="utf-8")
    for mesh in ("left.stl", "right.stl", "header.stl"):
        (tmp_path / mesh).write_bytes((MESHES / mesh).read_bytes())
    tables = tomllib.loads(source)
    right = next(tank for tank in tables["tank"] if tank["name"] == "right")
    twin = {key: value for key, value in right.items() if key not in ("mesh", "unit", "axes", "position")}
    tables["tank"] = [twin | {"mirror_of": "left"} if tank is right else tank for tank in tables["tank"]]
    (tmp_path / "twins.toml").write_text("\n".join(f"{k} = {toml(v)}" for k, v in tables.items()), encoding="utf-8")
    ours, theirs = (
        study(load_design(file)).tank("right") for file in (tmp_path / "twins.toml", MESHES / "taildragger.toml")
    )
    for here, there in zip(ours.capacity.unusable.at, theirs.capacity.unusable.at, strict=True):  # type: ignore[union-attr]
        assert_allclose(here.unusable_m3, there.unusable_m3, rtol=1e-6)


@pytest.mark.parametrize(
    ("twin", "told"),
    [
        ({"name": "right", "mirror_of": "lefft"}, 'there is no tank "lefft" to mirror. Is "left" meant?'),
        ({"name": "right", "mirror_of": "right"}, 'there is no tank "right" to mirror.'),
        ({"name": "right", "mirror_of": 3}, "there is no tank 3 to mirror."),
    ],
)
def test_a_tank_that_is_not_there(tmp_path: Path, twin: dict[str, Any], told: str) -> None:
    design = BASE | {"tank": [WING, twin], "line": [], "component": []}
    (tmp_path / "pocket.off").write_text(off("pocket.off"), encoding="utf-8")
    file = tmp_path / "twins.toml"
    file.write_text("\n".join(f"{key} = {toml(value)}" for key, value in design.items()), encoding="utf-8")
    with pytest.raises(DesignError) as fault:
        load_design(file)
    assert len(fault.value.lines) == 1
    assert fault.value.lines[0].startswith(f"twins.toml: tank right.mirror_of: {told}")


def test_tables_without_twins_are_left_alone() -> None:
    assert expanded({"tank": "no list"}) == ({"tank": "no list"}, [])
    tables = {"tank": [{"name": "a"}, 3]}
    assert expanded(tables)[0] is tables


def test_a_twin_is_drilled_through_the_other_side() -> None:
    sided = WING | {
        "vent": [WING["vent"][0] | {"through": "left"}],
        "outlet": [WING["outlet"][0] | {"through": "rear"}],
    }
    tables, faults = expanded(BASE | {"tank": [sided, TWIN]})
    assert faults == []
    twin = tables["tank"][1]
    assert (twin["vent"][0]["through"], twin["outlet"][0]["through"]) == ("right", "rear")
