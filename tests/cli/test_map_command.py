"""`fuelsys map`: the unusable fuel over pitch and roll as a person asks for it."""

from __future__ import annotations

import csv
import json
from math import degrees
from pathlib import Path

import pytest
from commands import DEMO, run
from numpy.testing import assert_allclose

from fuelsys.analysis.tank.unusable import left_at, outlets
from fuelsys.load.designs.door import load_design
from fuelsys.model.stated.attitude import Attitude

ASK = ("map", str(DEMO), "--tank", "header")


def test_every_row_is_what_stays_at_its_attitude(tmp_path: Path) -> None:
    done = run(
        *ASK, "--pitch", "-6..9 deg", "--roll", "-0.1..0.1 rad", "--steps", "4", "--form", "json", folder=tmp_path
    )
    assert done.returncode == 0, done.stderr
    rows = json.loads(done.stdout)["tables"][0]["rows"]
    header = load_design(DEMO).tank("header")
    assert_allclose([degrees(row["pitch_rad"]) for row in rows[::4]], [-6.0, -1.0, 4.0, 9.0], atol=1e-12)
    assert_allclose([row["roll_rad"] for row in rows[:4]], [-0.1, -0.1 / 3, 0.1 / 3, 0.1])
    for row in rows:
        at = Attitude("", "flight", row["pitch_rad"], row["roll_rad"])
        assert row["unusable_m3"] == left_at(header.cavity, at, outlets(header)).unusable_m3


def test_table_and_csv_hold_the_same_figures(tmp_path: Path) -> None:
    ask = (*ASK, "--pitch", "-10..10 deg", "--roll", "-10..10 deg", "--steps", "3", "--volume", "mL")
    rows = list(csv.DictReader(run(*ask, "--form", "csv", folder=tmp_path).stdout.splitlines()))
    table = run(*ask, folder=tmp_path).stdout
    assert list(rows[0]) == ["pitch [°]", "roll [°]", "unusable [mL]"]
    lines = {line.split()[0]: line.split()[1:] for line in table.splitlines() if line.strip()}
    for row in rows:
        place = ("-10", "0", "10").index(row["roll [°]"])
        cells = lines[f"{float(row['pitch [°]']):.1f}"]
        assert cells[place] == f"{float(row['unusable [mL]']):.0f}"
    assert "Least " in table
    assert "without accelerations" in table


def test_a_fine_map_is_thinned_for_reading_and_says_so(tmp_path: Path) -> None:
    done = run(*ASK, "--steps", "23", folder=tmp_path)
    assert "Of 23 pitches and 23 rolls one in 3 is shown; csv and json hold all." in done.stdout
    whole = run(*ASK, "--steps", "23", "--form", "csv", folder=tmp_path)
    assert len(whole.stdout.splitlines()) == 1 + 23 * 23


@pytest.mark.parametrize(("name", "begins"), [("map.png", b"\x89PNG\r\n\x1a\n"), ("map.svg", b"<svg")])
def test_the_picture_is_written_whole_and_the_same_again(name: str, begins: bytes, tmp_path: Path) -> None:
    ask = (*ASK, "--steps", "3", "--picture", name)
    assert run(*ask, folder=tmp_path).returncode == 0
    first = (tmp_path / name).read_bytes()
    assert first.startswith(begins)
    assert run(*ask, "--replace", "--workers", "1", folder=tmp_path).returncode == 0
    assert (tmp_path / name).read_bytes() == first
    assert [path.name for path in tmp_path.iterdir()] == [name]


@pytest.mark.parametrize(
    ("arguments", "told"),
    [
        pytest.param(
            ["--pitch", "5 deg"],
            '--pitch: found "5 deg", which is no range. Write it as "-15..15 deg".',
            id="no range",
        ),
        pytest.param(
            ["--pitch", "-5..5"],
            '--pitch: found "-5..5", which is no range of angles. Write it as "-15..15 deg".',
            id="no unit",
        ),
        pytest.param(
            ["--roll", "5..-5 deg"], '--roll: found "5..-5 deg", which does not rise. Write it as "-15..15 deg".', id="falls"
        ),
        pytest.param(
            ["--roll", "-100..100 deg"],
            '--roll: found "-100..100 deg", beyond 90 deg. Give angles up to 90 deg.',
            id="too far",
        ),
        pytest.param(
            ["--cluster", "tcp://127.0.0.1:1"], "--cluster: ", id="no cluster, or no way to reach one"
        ),
    ],
)  # fmt: skip
def test_a_mistake_is_one_line_and_exit_code_2(arguments: list[str], told: str, tmp_path: Path) -> None:
    done = run(*ASK, *arguments, folder=tmp_path)
    assert (done.returncode, done.stdout) == (2, "")
    line = done.stderr.splitlines()[-1]
    assert line.startswith(told) if told.endswith(": ") else line == told
