"""Gaps that are too narrow to count on: closed and open, held against the tank with its rib joined; fittings in metal; thin bodies."""

from __future__ import annotations

import json
from pathlib import Path

import gapped as g
import meshfiles as mf
import numpy as np
import pytest
import solids
from click.testing import CliRunner
from manifold3d import Manifold

from fuelsys.analysis.tank.draining import Opening
from fuelsys.analysis.tank.unusable import left_at, unusable
from fuelsys.errors import DesignError
from fuelsys.kernels.passages import _ROOM, _cut, films
from fuelsys.kernels.points import sides
from fuelsys.load.designs.door import load_design
from fuelsys.model.built.cavity import Cavity
from fuelsys.model.built.layout import FittedTank
from fuelsys.model.found.findings import Outcome
from fuelsys.review import findings, study
from fuelsys_cli.check import command as check_command
from fuelsys_cli.mesh import command as mesh_command
from fuelsys_cli.switches import command as switches_command
from fuelsys_cli.unusable import command as unusable_command

SEEDS = range(12)
LEVEL = ((0.0, 0.0), (12.0, 0.0), (-8.0, 0.0))
DAM = (300.0, 301.0, 100.0)  # from x to x, and how high, in a box of 600 x 400 x 200 mm
OUTLET = np.array([20.0, 200.0, 5.0])


def box(*sides_mm: float) -> Manifold:
    return Manifold.cube(list(sides_mm))


def dam(gap_mm: float = 0.0) -> Manifold:
    x, to, high = DAM
    return box(to - x, 400, high - gap_mm).translate([x, 0, gap_mm])


def fitted(folder: Path, rib: Manifold, *, inside: bool = False, more: str = "", outlet: np.ndarray = OUTLET) -> Path:
    given = g.Gapped(box(600, 400, 200), rib, box(600, 400, 200), outlet, 0.0, LEVEL)
    return g.written(folder, given, "double", inside=inside, more=more)


def held(cavity: Cavity, tank: FittedTank, attitude: int, path: Path) -> float:
    at = load_design(path).design.envelope[attitude + 1]
    return left_at(cavity, at, [Opening(tank.spot("outlet"))]).unusable_m3


def litres(tank: FittedTank, path: Path) -> list[float]:
    left = unusable(tank, load_design(path).design.envelope)
    assert left is not None
    return [at.unusable_m3 * 1e3 for at in left.at if at.attitude.phase == "flight"]


# --- the answer that is used is that of the closed tank --------------------------------------------------------------------


@pytest.mark.parametrize("precision", g.PRECISIONS)
@pytest.mark.parametrize("inside", [True, False], ids=["inside", "in the mesh"])
def test_what_is_used_is_never_less_than_with_the_rib_joined(tmp_path: Path, precision: str, inside: bool) -> None:
    """The second method: manifold3d joins the rib to the walls. Wider gaps than the narrowest passage stay open."""
    told = refused = wide = taken = 0
    for seed in SEEDS:
        given = g.gapped(seed)
        vertices, faces = solids.from_manifold(given.joined)
        joined = Cavity.of(vertices * 1e-3, faces.astype(np.int32))
        outlet = [Opening(joined.spot("outlet", given.outlet_mm * 1e-3))]
        path = g.written(tmp_path, given, precision, inside=inside)
        wide += given.gap_mm >= 0.1
        try:
            layout = load_design(path)
        except DesignError as fault:  # a file that rounding has made pass through itself
            told_right = not inside and ("Unite" in str(fault) or "Pick one" in str(fault))
            refused += told_right
            continue
        taken += 1
        (tank,) = layout.tanks
        left = unusable(tank, layout.design.envelope)
        assert left is not None
        # What fills a gap is no thicker than the passage that counts, and a file of six digits is off by up to 0.5 um.
        slack_m3 = 1e-5 * tank.cavity.wetted_area_m2 if precision == "six digits" else 2e-6
        for at in left.at:
            closed_m3 = left_at(joined, at.attitude, outlet).unusable_m3
            if abs(given.gap_mm) < 0.1:
                assert at.unusable_m3 >= closed_m3 - slack_m3, (seed, at.attitude.name)
        if left.opened is not None and left.gaps_matter:
            assert tank.cavity.gaps
            told += 1
    assert told >= 3 if precision != "six digits" or inside else told + refused >= 3
    assert wide
    assert taken + refused == len(SEEDS)


def test_a_gap_of_a_hair_under_a_dam_counts_as_closed(tmp_path: Path) -> None:
    # By hand: 0.299 x 0.4 x 0.1 m3 = 11.96 L behind the dam in level flight, and 0.3 x 0.4 x 0.005 = 0.6 L under the outlet.
    for gap_mm in (0.0, 1e-9, 1e-3, 0.099):
        path = fitted(tmp_path, dam(gap_mm))
        (tank,) = load_design(path).tanks
        assert litres(tank, path)[0] == pytest.approx(12.56, abs=0.0005), gap_mm
    (tank,) = load_design(fitted(tmp_path, dam(0.101))).tanks
    assert litres(tank, path)[0] == pytest.approx(1.2, abs=0.005)
    assert not tank.cavity.gaps


def test_the_design_says_how_narrow_a_passage_counts(tmp_path: Path) -> None:
    path = fitted(tmp_path, dam(0.5))
    assert litres(load_design(path).tanks[0], path)[0] == pytest.approx(1.2, abs=0.01)
    path = fitted(tmp_path, dam(0.5), more='narrowest_passage = "0.6 mm"\n'.join(["", ""]))
    text = path.read_text(encoding="utf-8").replace('narrowest_passage = "0.6 mm"\n', "")
    path.write_text(text.replace("[[tank.outlet]]", 'narrowest_passage = "0.6 mm"\n[[tank.outlet]]'), encoding="utf-8")
    assert litres(load_design(path).tanks[0], path)[0] == pytest.approx(12.56, abs=0.001)


def test_a_wall_sunk_into_the_floor_by_less_than_rounding_closes(tmp_path: Path) -> None:
    # A pipe from the roof, about the outlet, with a window above: its foot stands 0.5 um in the floor.
    pipe = Manifold.cylinder(250.0005, 60, 60, 32) - Manifold.cylinder(300, 50, 50, 32).translate([0, 0, -10])
    pipe = (pipe.translate([100, 200, -0.0005]) - box(20, 400, 20).translate([90, 0, 150])) ^ box(
        600, 400, 300
    ).translate([0, 0, -0.001])
    outlet = np.array([100.0, 200.0, 5.0])
    path = fitted(tmp_path, pipe, inside=True, outlet=outlet)
    (tank,) = load_design(path).tanks
    # Outside the pipe all stays up to the window's sill at 150 mm; within, 5 mm over a 32-gon of 50 mm.
    ring, bore = (32 / 2 * np.sin(2 * np.pi / 32) * r**2 for r in (60.0, 50.0))
    assert litres(tank, path)[0] == pytest.approx(((600 * 400 - ring) * 150 + bore * 5) * 1e-6, abs=0.002)


def test_parts_that_only_a_gap_joins_are_refused(tmp_path: Path) -> None:
    with pytest.raises(DesignError) as caught:
        load_design(fitted(tmp_path, box(1, 400, 200 - 0.05).translate([300, 0, 0.05])))
    (fault,) = caught.value.faults
    assert str(fault).startswith("design.toml: tank main.mesh: only gaps narrower than 0.1 mm, the first near (300")
    assert "join 2 parts: 24 L about (150, 200, 100) mm; 23.92 L about (450.5, 200, 100) mm." in str(fault)


# --- both figures are told, with the place ---------------------------------------------------------------------------------


def test_commands_tell_both_figures_and_the_place(tmp_path: Path) -> None:
    path = fitted(tmp_path, dam(1e-9))
    text = path.read_text(encoding="utf-8")
    path.write_text(text + '[[tank.switch]]\nname = "low"\nmark = ["100 mm", "200 mm", "60 mm"]\n', encoding="utf-8")
    ran = CliRunner().invoke(unusable_command, [str(path)])
    assert "Warning: a gap narrower than 0.1 mm near (300" in ran.output
    assert "counts as closed" in ran.output
    given = json.loads(CliRunner().invoke(unusable_command, [str(path), "--form", "json"]).stdout)
    rows = next(table["rows"] for table in given["tables"] if table["key"].endswith("gaps"))
    assert [row["gaps_closed_m3"] > row["gaps_open_m3"] + 4e-3 for row in rows] == [True] * 4
    said = CliRunner().invoke(switches_command, [str(path)]).output
    assert "Latest in flight with narrow gaps closed: " in said
    ran = CliRunner().invoke(check_command, [str(path)])
    assert "passage-too-narrow  main" in ran.output
    assert ran.exit_code in (1, 3)


def test_a_gap_that_makes_no_difference_is_said_and_passes(tmp_path: Path) -> None:
    path = fitted(tmp_path, box(50, 50, 100 - 0.05).translate([300, 100, 0.05]))  # a pillar: fuel runs round it
    layout = load_design(path)
    assert layout.tanks[0].cavity.gaps
    (found,) = [one for one in findings(study(layout)) if one.rule.name == "passage-too-narrow"]
    assert found.outcome is Outcome.PASS
    assert "open or closed, the same stays behind" in str(found.evidence)
    assert "would make no difference" in CliRunner().invoke(unusable_command, [str(path)]).output


def test_mesh_says_where_gaps_are_too_narrow(tmp_path: Path) -> None:
    vertices, faces = solids.from_manifold(box(600, 400, 200) - dam(0.02))
    (tmp_path / "tank.off").write_bytes(mf.off(vertices, faces.tolist()))
    ran = CliRunner().invoke(mesh_command, [str(tmp_path / "tank.off"), "--unit", "mm"])
    assert "a gap narrower than 0.1 mm near (300" in " ".join(ran.output.split())


# --- a layer closes what is narrower than twice its thickness --------------------------------------------------------------


@pytest.mark.parametrize("coating", ["0.3 mm", "0.24 mm"])
def test_a_slot_that_a_coating_closes_is_closed(tmp_path: Path, coating: str) -> None:
    # 0.5 mm under a dam: 0.3 mm on both sides close it, 0.24 mm leave 0.02 mm.
    path = fitted(tmp_path, dam(0.5), more="")
    text = path.read_text(encoding="utf-8")
    path.write_text(text.replace("[[tank.outlet]]", f'coating = "{coating}"\n[[tank.outlet]]'), encoding="utf-8")
    (tank,) = load_design(path).tanks
    t = float(coating.removesuffix(" mm"))
    # By hand: behind the dam (299 - 2 t) x (400 - 2 t) x (100 mm), under the outlet (300 - 2 t) x (400 - 2 t) x (5 - t).
    by_hand = (299 - 2 * t) * (400 - 2 * t) * 100e-6 + (300 - 2 * t) * (400 - 2 * t) * (5 - t) * 1e-6
    assert litres(tank, path)[0] == pytest.approx(by_hand, abs=0.001)


# --- fittings in metal -----------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("x_mm", [300.499, 300.5, 300.501])
@pytest.mark.parametrize("inside", [True, False])
def test_a_fitting_in_a_thin_rib_is_refused(tmp_path: Path, x_mm: float, inside: bool) -> None:
    path = fitted(tmp_path, dam(), inside=inside, outlet=np.array([x_mm, 200.0, 5.0]))
    with pytest.raises(DesignError, match="in metal with fuel on more than one side within 2 mm"):
        load_design(path)


def test_a_fitting_in_the_skin_beside_a_rib_is_refused_and_one_away_from_it_is_taken(tmp_path: Path) -> None:
    beside = fitted(tmp_path, dam(), outlet=np.array([300.4, 200.0, -0.5]))
    with pytest.raises(DesignError, match="on more than one side"):
        load_design(beside)
    away = fitted(tmp_path, dam(), outlet=np.array([295.0, 200.0, -0.5]))
    assert load_design(away).tanks[0].spot("outlet").off_m == pytest.approx(5e-4)
    corner = fitted(tmp_path, dam(), outlet=np.array([-0.5, -0.5, -0.5]))  # outside a corner of one pool
    assert load_design(corner).tanks[0].spot("outlet").off_m == pytest.approx(5e-4 * 3**0.5)


def test_a_fitting_deep_in_a_body_is_refused_by_the_bodys_name(tmp_path: Path) -> None:
    block = box(60, 400, 150).translate([270, 0, 0])
    path = fitted(tmp_path, block, inside=True, outlet=np.array([299.0, 200.0, 5.0]))
    with pytest.raises(
        DesignError, match=r'29 mm outside the cavity, in the body "rib"\. Give the place where the fuel is'
    ):
        load_design(path)


def test_a_mark_in_a_body_needs_that_body_to_be_its_float(tmp_path: Path) -> None:
    path = fitted(tmp_path, box(40, 40, 30).translate([280, 180, 40]), inside=True)
    text = path.read_text(encoding="utf-8")
    switch = '[[tank.switch]]\nname = "low"\nmark = ["300 mm", "200 mm", "55 mm"]\n'
    path.write_text(text + switch, encoding="utf-8")
    with pytest.raises(DesignError, match='say own_float = "rib"'):
        load_design(path)
    path.write_text(text + switch + 'own_float = "rip"\n', encoding="utf-8")
    with pytest.raises(DesignError) as caught:
        load_design(path)
    assert any('there is no body "rip" inside. Name the body' in str(fault) for fault in caught.value.faults)
    path.write_text(text + switch + 'own_float = "rib"\n', encoding="utf-8")
    (tank,) = load_design(path).tanks
    assert tank.spot("switch low").point_m[2] + tank.cavity.centre_m[2] == pytest.approx(0.055)


def test_pieces_within_reach_are_counted_by_brute_force() -> None:
    """The second method: a fine grid of points on each wall of an L of two plates, by the walls that they are on."""
    cavity = box(600, 400, 200) - dam()
    vertices, faces = solids.from_manifold(cavity)
    for x, z, pieces in (
        (300.5, 50.0, 2),
        (300.5, 99.5, 1),
        (298.5, 50.0, 1),
        (297.0, 50.0, 0),
        (300.5, -1.0, 2),
        (100.0, -1.0, 1),
    ):
        assert sides(np.array([x, 200.0, z]), vertices, faces, 2.0) == pieces, (x, z)


# --- thin bodies -----------------------------------------------------------------------------------------------------------


def test_an_open_pipe_a_tilted_baffle_and_a_hollow_float_are_bodies(tmp_path: Path) -> None:
    pipe = Manifold.cylinder(150, 6, 6, 32) - Manifold.cylinder(200, 5, 5, 32).translate([0, 0, -10])
    baffle = box(0.8, 300, 120).rotate([0, 20, 0])
    can = Manifold.sphere(20, 32) - Manifold.sphere(19.5, 32)
    for body, volume in ((pipe, pipe.volume()), (baffle, baffle.volume()), (can, Manifold.sphere(20, 32).volume())):
        path = fitted(tmp_path, body.translate([300, 50, 40]), inside=True)
        (tank,) = load_design(path).tanks
        assert tank.cavity.taken[0].volume_m3 == pytest.approx(volume * 1e-9, rel=1e-9)


# --- the kernel ------------------------------------------------------------------------------------------------------------


def test_gaps_are_those_that_another_library_measures() -> None:
    """manifold3d measures the least distance between two bodies; the fluid is what is between them in a larger box."""
    rng = np.random.default_rng(7)
    for _ in range(40):
        gap = float(10.0 ** rng.uniform(-3, 0.3))
        one, two = box(40, 30, 20), box(25, 35, 15).translate([*rng.uniform(-5, 5, 2), 20 + gap])
        tilt = rng.uniform(-25, 25, 3).tolist()
        one, two = one.rotate(tilt), two.rotate(tilt)
        fluid = box(400, 400, 400).translate([-200, -200, -200]) - one - two
        vertices, faces = solids.from_manifold(fluid)
        found = films(vertices, faces.astype(np.int32), 1.0, 1e-6)
        measured = one.min_gap(two, 10.0)
        assert measured == pytest.approx(gap, rel=1e-6)
        assert (found.gap.size > 0) == (gap < 1.0)
        if found.gap.size:
            assert found.gap.min() == pytest.approx(measured, rel=1e-6)


def test_a_polygon_is_cut_at_the_place_itself() -> None:
    """A square of 5 mm cut across its middle is a rectangle of half its area, and not at all where the cut lies beyond it."""
    corners = np.array([[0.0, 0.0, 0.0], [5e-3, 0.0, 0.0], [5e-3, 5e-3, 0.0], [0.0, 5e-3, 0.0]])
    for most, wide in ((2.5e-3, 2.5e-3), (6e-3, 5e-3)):
        part = np.zeros((_ROOM, 3))
        part[:4] = corners
        assert _cut(part, 4, np.array([1.0, 0.0, 0.0]), most) == 4
        assert {tuple(corner) for corner in part[:4].tolist()} == {
            (x, y, 0.0) for x in (0.0, wide) for y in (0.0, 5e-3)
        }
