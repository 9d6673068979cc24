"""STEP files at every command that takes a mesh: unit, tolerance, one of several solids, and what the facets hide."""

from __future__ import annotations

import math
from pathlib import Path
from typing import Any

import pytest
from asked import printed, refusal, tables
from click.testing import CliRunner
from numpy.testing import assert_allclose

pytest.importorskip("OCP.STEPCAFControl", reason='needs the extra "step" (cadquery-ocp-novtk)')

from OCP.BRepPrimAPI import BRepPrimAPI_MakeCylinder, BRepPrimAPI_MakeSphere
from stepfiles import PI, assembled, box, shell_of, wing, written
from test_starter import fill, load

from fuelsys.load.formats import step, stepwork
from fuelsys_cli.main import group

ASKED = step._asked
PICK = 'Pick one by its name or number: --body NAME, or body = "NAME" in the design file\'s [[tank]].'
LISTED = '1 "left tank" 6 L about (50, 100, 150) mm; 2 "header" 1.571 L about (1000, 0, 100) mm'
DRUM_M3 = PI * 0.1**2 * 0.3


@pytest.fixture(autouse=True)
def _here(monkeypatch: pytest.MonkeyPatch) -> None:
    """The work is done in this process, which is quicker."""
    monkeypatch.setattr(step, "_asked", lambda question, *about: stepwork.QUESTIONS[question](*about))


@pytest.fixture
def drum(tmp_path: Path) -> Path:
    """A cylinder of 100 mm radius and 300 mm."""
    path = tmp_path / "drum.stp"
    path.write_bytes(written(BRepPrimAPI_MakeCylinder(100.0, 300.0).Solid()))
    return path


@pytest.fixture
def aircraft(tmp_path: Path) -> Path:
    (tmp_path / "wing.step").write_bytes(wing())
    return tmp_path / "wing.step"


def capacity(*arguments: object) -> tuple[dict[str, Any], list[str]]:
    rows, notes = tables("capacity", *arguments)["capacity"]
    return rows[0], notes


def test_a_step_file_is_a_cavity(drum: Path) -> None:
    row, notes = capacity(drum)
    hidden_m3 = DRUM_M3 - row["gross_m3"]
    assert 0.0 < hidden_m3 <= (2 * PI * 0.1 * 0.3) * 5e-5
    assert_allclose([row[f"extent_{axis}_m"] for axis in "xyz"], [0.2, 0.2, 0.3], rtol=1e-3)
    (told,) = [
        note for note in notes if note.startswith("the true solid holds 9.42478 L; its facets, made for 0.05 mm, ")
    ]
    assert f"hold {hidden_m3 * 1e6:.3g} mL ({hidden_m3 / DRUM_M3:.2g}" in told.replace(" (0.033 %)", " (0.00033")
    assert told in tables("mesh", drum)["mesh"][1]


def test_in_a_process_of_its_own_it_is_the_same(drum: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    here = capacity(drum)
    monkeypatch.setattr(step, "_asked", ASKED)
    assert capacity(drum) == here


@pytest.mark.parametrize("tolerance", ["0.2 mm", "0.01 in"])
def test_a_tolerance_of_ones_own(drum: Path, tolerance: str) -> None:
    coarse, notes = capacity(drum, "--tolerance", tolerance)
    fine, _ = capacity(drum)
    said = {"0.2 mm": "0.2 mm", "0.01 in": "0.254 mm"}[tolerance]
    assert any(f"its facets, made for {said}, hold" in note for note in notes)
    # A chord's sagitta is the tolerance, and volume goes with it: four or five times as much is hidden.
    assert 3.0 < (DRUM_M3 - coarse["gross_m3"]) / (DRUM_M3 - fine["gross_m3"]) < 7.0


@pytest.mark.parametrize("tolerance", ["5 mm", "1 um", "0 mm", "-1 mm"])
def test_a_tolerance_beyond_its_limits(drum: Path, tolerance: str) -> None:
    for command in ("capacity", "levels", "mesh", "new"):
        said = refusal(command, drum, "--tolerance", tolerance)
        assert said.startswith("drum.stp: tolerance: facets cannot be made for ")
        assert said.endswith(" mm. Give a tolerance of 0.01 mm to 2 mm.")


def test_the_unit_is_the_files(tmp_path: Path, drum: Path) -> None:
    (tmp_path / "box.STEP").write_bytes(written(box(254.0, 508.0, 762.0), "INCH"))
    assert_allclose(capacity(tmp_path / "box.STEP")[0]["gross_m3"], 0.254 * 0.508 * 0.762, rtol=1e-9)
    stated, own = capacity(tmp_path / "box.STEP", "--unit", "in"), capacity(tmp_path / "box.STEP")
    assert stated[0] == own[0]
    assert [note for note in stated[1] if not note.startswith("Say --volume")] == own[1]
    said = "the unit was stated as in, but this STEP file is in mm. Write mm, or look again which file this is."
    assert refusal("capacity", drum, "--unit", "in") == f"drum.stp: unit: {said}"


def test_levels_of_a_step_file(aircraft: Path) -> None:
    rows, _ = tables("levels", aircraft, "--body", "left tank", "--volume-step", "2 L").popitem()[1]
    # The box of 6 L is 300 mm high.
    assert_allclose([row["level_m"] for row in rows], [0.0, 0.1, 0.2, 0.3], atol=1e-9)


def test_one_solid_of_an_assembly(aircraft: Path) -> None:
    for command in ("capacity", "levels", "new"):
        assert refusal(command, aircraft) == f"wing.step: 2 solids can be read in it: {LISTED}. {PICK}"
    said = f'wing.step: body: 0 solids named "centre" can be read in it: {LISTED}. {PICK}'
    assert refusal("capacity", aircraft, "--body", "centre") == said
    for pick in ("header", "2"):
        row, notes = capacity(aircraft, "--body", pick)
        assert_allclose(row["gross_m3"], PI * 0.05**2 * 0.2, rtol=2e-3)
        assert 'of 2 solids in the file, 2 "header" was taken, the others were left out' in notes


def test_the_health_lists_all_solids(aircraft: Path) -> None:
    said = refusal("mesh", aircraft)
    assert said == f"wing.step: 2 solids can be read in it: {LISTED}. {PICK}"
    printed_too = CliRunner().invoke(group, ["mesh", str(aircraft), "--form", "csv"]).stdout
    assert printed_too.splitlines() == [
        "solid,name,volume [L],area [cm2],x [mm],y [mm],z [mm]",
        "1,left tank,6,2200,50,100,150",
        "2,header,1.570796327,785.3981634,1000,0,100",  # a cylinder of 5 cm and 20 cm: 500 pi mL, 250 pi cm2
    ]
    alone = tables("mesh", aircraft, "--body", "1")
    assert alone["mesh"][0][0]["usable"] == "yes"
    assert "bodies" not in alone


def test_what_lies_inside_is_said_to_be_left_out(tmp_path: Path) -> None:
    """A sender and a baffle that stands on the floor, drawn as solids in the tank; a header beside it."""
    data = assembled(
        ("tank", box(), (0.0, 0.0, 0.0)),
        ("sender", BRepPrimAPI_MakeSphere(20.0).Solid(), (50.0, 100.0, 150.0)),
        ("baffle", box(10.0, 200.0, 100.0), (40.0, 0.0, 0.0)),
        ("header", box(10.0, 200.0, 100.0), (100.0, 0.0, 0.0)),
    )
    (tmp_path / "a.step").write_bytes(data)
    _, notes = capacity(tmp_path / "a.step", "--body", "tank")
    (warning,) = [note for note in notes if note.startswith("Warning: what was left out lies inside it")]
    assert '2 "sender" 0.03351 L' in warning
    assert '3 "baffle" 0.2 L' in warning
    assert "header" not in warning
    _, notes = capacity(tmp_path / "a.step", "--body", "header")
    assert not any(note.startswith("Warning: what was left out") for note in notes)


def test_facets_can_be_written(drum: Path, tmp_path: Path) -> None:
    printed("mesh", drum, "--mend", "--into", tmp_path / "drum.ply")
    assert_allclose(
        capacity(tmp_path / "drum.ply", "--unit", "mm")[0]["gross_m3"], capacity(drum)[0]["gross_m3"], rtol=1e-12
    )


def test_a_new_design_says_what_was_picked(aircraft: Path) -> None:
    printed("new", aircraft, "--body", "left tank", "--tolerance", "0.1 mm")
    text = (aircraft.parent / "design.toml").read_text(encoding="utf-8")
    assert '\nname = "left tank"\nmesh = "wing.step"' in text
    assert '\nunit = "mm"  # ' in text
    assert '\nbody = "left tank"  # ' in text
    assert '\ntolerance = "0.1 mm"  # ' in text
    printed("new", aircraft, "--body", "left tank", "--replace")
    assert '\ntolerance = "0.05 mm"  # ' in (aircraft.parent / "design.toml").read_text(encoding="utf-8")


def test_a_design_of_a_step_file(tmp_path: Path) -> None:
    (tmp_path / "left.step").write_bytes(written(box(300.0, 200.0, 100.0)))
    printed("new", tmp_path / "left.step", "--tolerance", "0.1 mm", "--axes", "aft, right, up")
    text = fill((tmp_path / "design.toml").read_text(encoding="utf-8"))
    (tank,) = load(tmp_path, text).tanks
    assert_allclose(tank.cavity.gross_m3, 6e-3, rtol=1e-12)
    assert tank.design.tolerance_m == 1e-4
    assert tank.cavity.notes == ("the true solid holds 6 L; its facets, made for 0.1 mm, hold the same",)
    assert "the true solid holds 6 L" in printed("capacity", tmp_path / "wing.toml")
    (tmp_path / "wing.toml").write_text(text.replace('"0.1 mm"', '"3 mm"'), encoding="utf-8")
    assert refusal("capacity", tmp_path / "wing.toml") == (
        "wing.toml: tank left.tolerance: facets cannot be made for 3 mm. Give a tolerance of 0.01 mm to 2 mm."
    )


@pytest.mark.parametrize(
    ("data", "said"),
    [
        pytest.param(wing()[:9000], 'the text ends before "END-ISO-10303-21;"; the file is cut off.', id="cut"),
        pytest.param(b"solid left\n", 'it does not begin with "ISO-10303-21;"', id="another format"),
        pytest.param(b"", "the file is empty.", id="empty"),
        pytest.param(
            written(shell_of(box(), left_out=1)), "it is open: 4 edges of its faces join no second", id="open"
        ),
    ],
)
def test_a_bad_file_is_refused_by_its_name(tmp_path: Path, data: bytes, said: str) -> None:
    (tmp_path / "a.step").write_bytes(data)
    for command in ("capacity", "mesh"):
        assert refusal(command, tmp_path / "a.step").startswith(f"a.step: {said}")


def test_a_sphere_has_what_it_has(tmp_path: Path) -> None:
    """The extrapolation comes nearer to the truth than the facets do."""
    (tmp_path / "a.step").write_bytes(written(BRepPrimAPI_MakeSphere(100.0).Solid()))
    row, notes = capacity(tmp_path / "a.step")
    true_l = 4.0 / 3.0 * math.pi
    (told,) = [note for note in notes if note.startswith(f"the true solid holds {true_l:.6g} L")]
    extrapolated_l = float(told.rpartition("give ")[2].removesuffix(" L"))
    assert abs(extrapolated_l - true_l) < abs(row["gross_m3"] * 1e3 - true_l) / 3.0
