"""The commands as a person meets them: mistakes, exit codes, files that are there already, an interruption."""

from __future__ import annotations

import json
import shutil
import subprocess
from pathlib import Path

import pytest
from commands import DEMO, MESHES, PROGRAM, run, run_program

from fuelsys.report.files import write_file
from fuelsys.report.page import contents
from fuelsys.report.page.folder import LEDGER, write_review


@pytest.fixture
def own(tmp_path: Path) -> Path:
    """A copy of the example design that a test may spoil."""
    for path in MESHES.iterdir():
        if path.suffix in (".toml", ".stl"):
            shutil.copy(path, tmp_path / path.name)
    return tmp_path


@pytest.mark.parametrize(
    ("arguments", "told"),
    [
        pytest.param(["capacity", "none.stl", "--unit", "mm"], "none.stl: there is no such file.", id="no file"),
        pytest.param(["capacity", "none.toml"], "none.toml: there is no such file.", id="no design"),
        pytest.param(["capacity", "right.stl"], "right.stl: unit: ", id="no unit"),
        pytest.param(
            ["capacity", "right.stl", "--unit", "furlong"], 'right.stl: unit: found the unit "furlong".', id="odd unit"
        ),
        pytest.param(["unusable", "taildragger.toml", "--tank", "centre"], 'there is no tank "centre".', id="no tank"),
        pytest.param(["levels", "taildragger.toml", "--at", "loop"], 'there is no attitude "loop".', id="no attitude"),
        pytest.param(
            ["levels", "right.stl", "--unit", "mm", "--pitch", "5"], '--pitch: found "5", without a unit.', id="bare"
        ),
        pytest.param(
            ["levels", "right.stl", "--unit", "mm", "--level-step", "0 mm"],
            "a level step of 0 makes no table.",
            id="no step",
        ),
        pytest.param(
            ["levels", "right.stl", "--unit", "mm", "--volume-step", "1 mL"],
            "this volume step gives 47913 rows.",
            id="too many",
        ),
        pytest.param(["rules", "vent-line-lowpoint"], 'Is "vent-line-low-point" meant?', id="rule mistyped"),
        pytest.param(
            ["unusable", "taildragger.toml", "--tank", "Rihgt"],
            'Is "right" meant? Name one of left,',
            id="tank mistyped",
        ),
        pytest.param(
            ["levels", "taildragger.toml", "--at", "criuse"], 'Is "cruise" meant? Name one of', id="attitude mistyped"
        ),
        pytest.param(["rules", "check-everything"], 'there is no rule "check-everything".', id="no rule"),
        pytest.param(
            ["dipstick", "taildragger.toml", "--tank", "header"], "tank header has no dipstick.", id="no stick"
        ),
        pytest.param(
            ["place", "taildragger.toml", "--tank", "header", "--x", "900 mm", "--y", "80 mm", "--reserve", "10 min"],
            "does not pass through the cavity.",
            id="mark outside",
        ),
        pytest.param(
            ["place", "taildragger.toml", "--tank", "header", "--x", "60 mm", "--y", "80 mm", "--reserve", "10 h"],
            "the tank holds 7.833 L.",
            id="too long",
        ),
    ],
)
def test_a_mistake_is_one_line_and_exit_code_2(own: Path, arguments: list[str], told: str) -> None:
    done = run(*arguments, folder=own)
    assert done.returncode == 2
    assert done.stdout == ""
    assert told in done.stderr
    assert len(done.stderr.splitlines()) == 1
    assert "Traceback" not in done.stderr


def test_wrong_use_shows_the_usage(tmp_path: Path) -> None:
    done = run("levels", "a.stl", "--level-step", "1 mm", "--volume-step", "1 L", folder=tmp_path)
    assert done.returncode == 2
    assert "not both" in done.stderr
    assert run("nonsense", folder=tmp_path).returncode == 2


def test_capacity_of_one_tank(own: Path) -> None:
    done = run_program("capacity", "taildragger.toml", "--tank", "header", folder=own)
    assert done.returncode == 0, done.stderr
    assert "Capacity of tank header" in done.stdout
    assert "all tanks" not in done.stdout
    assert "tank left" not in done.stdout
    mesh = run_program("capacity", "right.stl", "--unit", "mm", "--tank", "header", folder=own)
    assert mesh.returncode == 2
    assert "--tank is for a design file" in mesh.stderr


def test_csv_has_no_notes_and_they_are_told_beside_it(own: Path) -> None:
    done = run("dipstick", "taildragger.toml", "--form", "csv", folder=own)
    assert done.returncode == 0, done.stderr
    assert "Valid at parked" not in done.stdout
    alone, computed, valid, usable, hangs, meaning, *other = done.stderr.splitlines()
    assert alone.startswith("left is counted by itself, drained through header down to what is kept there; ")
    assert computed.startswith("These marks are computed.")
    assert valid.startswith("Valid at parked (pitch +11.0°, roll 0.0°) only.")
    assert usable.startswith("Usable: less the unusable fuel of 9.308 L")
    assert hangs.startswith("Its bottom hangs 1.1 mm above the floor")
    assert meaning.startswith("Least and most: ")  # the same of both wing tanks, so once
    assert other.pop(0).startswith("right is counted by itself, ")
    assert [line.partition(":")[0] for line in other] == [
        "Valid at parked (pitch +11.0°, roll 0.0°) only. Dry stick",
        "Usable",
    ]


def test_all_faults_of_a_design_at_once(own: Path) -> None:
    text = (own / "taildragger.toml").read_text(encoding="utf-8")
    text = text.replace('density = "0.72 kg/L"', "density = 0.72").replace('pitch = "14 deg"', 'pitch = "14 L"')
    (own / "spoilt.toml").write_text(text, encoding="utf-8")
    done = run("check", "spoilt.toml", folder=own)
    assert done.returncode == 2
    assert len(done.stderr.splitlines()) == 2
    assert all(line.startswith("spoilt.toml: ") for line in done.stderr.splitlines())


def test_a_design_to_fill_in(own: Path) -> None:
    done = run("new", "right.stl", "--unit", "m", "--into", "mine.toml", folder=own)
    assert done.returncode == 0, done.stderr
    size, warning, _ = done.stdout.splitlines()
    assert size.startswith("right: ")
    assert " L gross as meshed, x " in size
    assert warning.startswith("Warning: a cavity of ")
    assert "is the unit m right?" in warning
    assert "FILL IN" in (own / "mine.toml").read_text(encoding="utf-8")
    again = run("new", "right.stl", "--unit", "mm", "--into", "mine.toml", folder=own)
    assert again.returncode == 2
    assert "the file is there already" in again.stderr


def test_rules_print_the_manual(tmp_path: Path) -> None:
    done = run("rules", "vent-below-full-level", folder=tmp_path)
    assert done.returncode == 0
    for label in ("checks", "why", "mend", "source"):
        assert f"  {label}" in done.stdout


def test_check_as_json_holds_what_is_printed(tmp_path: Path) -> None:
    done = run("check", str(DEMO), "--form", "json", folder=tmp_path)
    rows = json.loads(done.stdout)["tables"][0]["rows"]
    assert done.returncode == 1
    assert rows[0]["outcome"] == "fail"
    words = {"outcome", "rule", "where", "evidence", "mend", "source", "reach", "stake"}
    assert words | {"minutes_not_there_s", "quantity_at_stake_m3", "rests_on", "status"} == set(rows[0])


def test_demo_review_is_whole_and_repeats(tmp_path: Path) -> None:
    done = run_program("demo", "--no-failures", folder=tmp_path)
    assert done.returncode == 0, done.stderr
    made = tmp_path / "demo-review"
    listed = [line.split("  ", 1)[1] for line in (made / LEDGER).read_text(encoding="utf-8").splitlines()]
    assert {p.relative_to(made).as_posix() for p in made.rglob("*") if p.is_file()} == {*listed, LEDGER}
    for name in ("index.html", "study.json", "findings.json", "tables/capacity.csv", "design/taildragger.toml"):
        assert name in listed
    assert any(name.startswith("pictures/") for name in listed)
    # Its design can be reviewed where it lies, and a review may be written over by the next one,
    assert run("capacity", "demo-review/design/taildragger.toml", folder=tmp_path).returncode == 0
    assert run("demo", "--no-failures", folder=tmp_path).returncode == 0
    # but not over what a person has put there or changed.
    (made / "notes.txt").write_text("measured: 46.8 L", encoding="utf-8")
    refused = run_program("demo", "--no-failures", folder=tmp_path)
    assert refused.returncode == 2
    assert "notes.txt" in refused.stderr
    assert run("demo", "--no-failures", "--replace", folder=tmp_path).returncode == 0
    assert (made / "notes.txt").read_text(encoding="utf-8") == "measured: 46.8 L"
    assert [path.name for path in tmp_path.iterdir()] == ["demo-review"]


def test_a_fault_while_writing_leaves_the_old_review(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    folder = tmp_path / "review"
    monkeypatch.setattr(contents, "review_files", lambda *_: {"index.html": b"first"})
    write_review(folder, None, [], None)  # type: ignore[arg-type]

    def broken(*_: object) -> dict[str, bytes]:
        raise KeyboardInterrupt

    monkeypatch.setattr(contents, "review_files", broken)
    with pytest.raises(KeyboardInterrupt):
        write_review(folder, None, [], None)  # type: ignore[arg-type]
    assert (folder / "index.html").read_bytes() == b"first"
    assert [path.name for path in tmp_path.iterdir()] == ["review"]


def test_one_file_is_written_whole_or_not(tmp_path: Path) -> None:
    path = tmp_path / "design.toml"
    write_file(path, "a = 1\n", replace=False)
    with pytest.raises(UnicodeEncodeError):
        write_file(path, "\udcff", replace=True)
    assert path.read_text(encoding="utf-8") == "a = 1\n"
    assert [p.name for p in tmp_path.iterdir()] == ["design.toml"]


def test_output_that_nobody_reads_is_no_fault(tmp_path: Path) -> None:
    shown = subprocess.run(
        f"{PROGRAM} rules | head -1", shell=True, cwd=tmp_path, capture_output=True, text=True, timeout=60, check=False
    )
    assert shown.stderr == ""
    assert len(shown.stdout.splitlines()) == 1


def test_a_mistyped_command_is_asked_after(tmp_path: Path) -> None:
    done = run("capcity", "left.stl", folder=tmp_path)
    assert (done.returncode, done.stdout) == (2, "")
    told = 'There is no command "capcity". Is "capacity" meant? `fuelsys --help` lists them all.'
    assert done.stderr.splitlines()[-1] == f"Error: {told}"
    assert "meant" not in run("furlong", folder=tmp_path).stderr


def test_an_outcome_stands_apart_from_its_rule(tmp_path: Path) -> None:
    done = run("check", str(DEMO), "--all", folder=tmp_path)
    assert "\nDOES NOT APPLY dipstick-missing  header\n" in done.stdout
    assert "\nFAIL        " in done.stdout


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (("place", "--tank", "header", "--x", "100 mm", "--y", "80 mm", "--reserve", "-5 min"), 'found "-5 min"'),
        (("place", "--tank", "header", "--x", "100 mm", "--y", "80 mm", "--reserve", "0 h"), 'found "0 h"'),
        (("levels", "--tank", "left", "--pitch", "1e300 deg"), "less than 90 deg either way"),
        (("levels", "--tank", "left", "--at", "cruise", "--roll", "-90 deg"), "less than 90 deg either way"),
    ],
)
def test_options_beyond_sense_are_refused_by_name(tmp_path: Path, arguments: tuple[str, ...], said: str) -> None:
    command, *more = arguments
    ran = run(command, str(Path(__file__).parents[2] / "meshes" / "taildragger.toml"), *more, folder=tmp_path)
    assert ran.returncode == 2
    assert ran.stderr.startswith("--")
    assert said in ran.stderr
    assert len(ran.stderr.splitlines()) == 1
