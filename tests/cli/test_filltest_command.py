"""`fuelsys filltest` as a person meets it: the sheet, the answer, its picture, lamps, and sheets that cannot be read."""

from __future__ import annotations

import csv
import json
import re
from collections.abc import Sequence
from math import isclose
from pathlib import Path

import numpy as np
import pytest
from commands import DEMO, MESHES, run
from fillsheets import NOISE_M, example, example_model, made
from json_keys import broken, form

from fuelsys.analysis.fills.filltest import fill_test
from fuelsys.analysis.fills.lamps import as_drawn
from fuelsys.analysis.tank.growth import density_at, volume_correction
from fuelsys.errors import FuelsysError
from fuelsys.load.designs.fillsheet import read_sheet

HEAD = "step,poured [L],drained [L],temperature [degC],in tank [degC],stick [mm],lamps lit,remark"
ASK = ("filltest", str(DEMO), "--tank", "left")
ROW = "1,5,,,,20.0,,"


def write(path: Path, rows: Sequence[Sequence[object]], head: str = HEAD) -> Path:
    lines = [head, *(",".join(str(cell) for cell in row) for row in rows)]
    path.write_text("\n".join(lines) + "\n", encoding="utf-8")
    return path


def filled_in(
    folder: Path, truth: Sequence[float], seed: int = 3, name: str = "sheet.csv", *, signal: bool = False
) -> Path:
    """A sheet of the left tank that is off by a truth."""
    test = made(example_model("left"), np.array(truth), np.random.default_rng(seed))
    pours = np.diff(test.volumes_m3, prepend=0.0) * 1e3
    rows = [
        (k, f"{pour:.3f}", "", "", "", f"{read * 1e3:.1f}", *([f"{read * 1e3:.0f}"] if signal else []), "", "")
        for k, (pour, read) in enumerate(zip(pours, test.readings_m, strict=True))
    ]
    return write(folder / name, rows, HEAD.replace("lamps", "signal,lamps") if signal else HEAD)


def answers(folder: Path, *arguments: str) -> dict[str, list[dict[str, object]]]:
    done = run(*arguments, "--form", "json", folder=folder)
    assert done.returncode == 0, done.stderr
    tables = json.loads(done.stdout)["tables"]
    assert broken(form(tables)) == {}
    return {table["key"]: table["rows"] for table in tables}


def test_a_sheet_is_written_and_says_how(tmp_path: Path) -> None:
    done = run(*ASK, "--sheet", "sheet.csv", folder=tmp_path)
    assert done.returncode == 0, done.stderr
    assert "Stand the aircraft at parked (pitch +11.0°, roll 0.0°)" in done.stdout
    rows = list(csv.reader((tmp_path / "sheet.csv").read_text(encoding="utf-8").splitlines()))
    assert ",".join(rows[0]) == HEAD.replace(
        "lamps lit", "signal,lamps lit,attitude"
    )  # it has a gauge, and is parked in two ways
    assert len(rows) > 20
    again = run(*ASK, "--sheet", "sheet.csv", folder=tmp_path)
    assert (again.returncode, again.stdout) == (2, "")
    empty = run(*ASK, "--from", "sheet.csv", folder=tmp_path)
    assert empty.stderr == "sheet.csv: poured: no line says what was poured. Fill in the column poured.\n"
    imperial = run(*ASK, "--sheet", "in.csv", "--volume", "US gal", "--length", "in", folder=tmp_path)
    assert imperial.returncode == 0
    assert (
        "poured [US gal],drained [US gal],temperature [degC],in tank [degC],stick [in]"
        in (tmp_path / "in.csv").read_text()
    )


def test_the_answer_corrects_capacity_and_marks(tmp_path: Path) -> None:
    truth = (0.03, 0.005, 0.0, 0.0, 0.0)
    filled_in(tmp_path, truth, signal=True)
    found = answers(tmp_path, *ASK, "--from", "sheet.csv")
    (correction,) = found["left-filltest-correction"]
    assert abs(correction["scale_share"] - 0.03) <= correction["scale_within_share"]  # type: ignore[operator]
    assert abs(correction["stick_s_offset_m"] - 0.005) <= correction["stick_s_offset_within_m"]  # type: ignore[operator]
    assert {"left-filltest-gauges", "left-filltest-gauge-points"} < found.keys()
    gross = found["left-filltest-capacity"][0]
    assert abs(gross["corrected_m3"] - 1.03 * gross["drawn_m3"]) <= gross["within_m3"]  # type: ignore[operator]
    drawn = answers(tmp_path, "dipstick", str(DEMO), "--tank", "left")["left-dipstick"]
    model = example_model("left")
    for mark in found["left-filltest-dipstick"]:
        same = next(row for row in drawn if isclose(row["quantity_m3"], mark["quantity_m3"]))  # type: ignore[arg-type]
        assert isclose(same["from_the_stick_s_bottom_m"], mark["drawn_at_m"], rel_tol=1e-9)  # type: ignore[arg-type]
        true = float(model.readings(np.array([mark["quantity_m3"]]), np.array(truth))[0])
        assert abs(mark["belongs_at_m"] - true) <= 1.5 * mark["within_m"]  # type: ignore[operator]
    for row in found["left-filltest"]:
        assert abs(row["read_less_corrected_m"]) < 4.0 * NOISE_M  # type: ignore[arg-type]


def test_the_table_reads(tmp_path: Path) -> None:
    filled_in(tmp_path, (0.0, 0.0, 0.0, 0.0, 0.0))
    done = run(*ASK, "--from", "sheet.csv", "--volume", "US gal", "--length", "in", folder=tmp_path)
    assert done.returncode == 0, done.stderr
    assert "No correction: the readings support none" in done.stdout
    assert "does not belong" not in done.stdout
    assert "[L]" not in done.stdout
    assert "[mm]" not in done.stdout


@pytest.mark.parametrize(("name", "begins"), [("fit.png", b"\x89PNG\r\n\x1a\n"), ("fit.svg", b"<svg")])
def test_the_picture(name: str, begins: bytes, tmp_path: Path) -> None:
    filled_in(tmp_path, (0.03, 0.0, 0.0, 0.0, 0.0))
    ask = (*ASK, "--from", "sheet.csv", "--picture", name)
    assert run(*ask, folder=tmp_path).returncode == 0
    first = (tmp_path / name).read_bytes()
    assert first.startswith(begins)
    assert run(*ask, folder=tmp_path).returncode == 2
    assert run(*ask, "--replace", folder=tmp_path).returncode == 0
    assert (tmp_path / name).read_bytes() == first


def test_mass_and_temperature(tmp_path: Path) -> None:
    """5 L of fuel at 0 °C, as volume and as mass, in a tank at 30 °C: worked with the correction's own functions."""
    kg = 5e-3 * density_at(720.0, 273.15)
    rows = [(0, "5", "", "0", "30", "", "", ""), (1, f"{kg:.9f} kg", "", "0", "30", "", "", "")]
    write(tmp_path / "sheet.csv", rows)
    found = answers(tmp_path, *ASK, "--from", "sheet.csv")["left-filltest"]
    grown = 5e-3 * volume_correction(720.0, 273.15) / volume_correction(720.0, 303.15)
    assert [row["total_m3"] for row in found] == pytest.approx([grown, 2.0 * grown], rel=1e-8)
    write(tmp_path / "sheet.csv", [(0, "5", "", "10", "", "", "", ""), (1, "5", "", "30", "", "", "", "")])
    total = answers(tmp_path, *ASK, "--from", "sheet.csv")["left-filltest"][1]["total_m3"]
    assert total == pytest.approx(0.010, rel=1e-3)  # mixing two temperatures changes next to nothing
    write(tmp_path / "sheet.csv", [(0, "5", "", "10", "", "", "", ""), (1, "5", "", "", "", "", "", "")])
    done = run(*ASK, "--from", "sheet.csv", folder=tmp_path)
    assert done.stderr.startswith("sheet.csv: line 3, temperature: the temperature is missing.")


def lamp_rows(changes: Sequence[tuple[float, str]]) -> list[tuple[object, ...]]:
    rows, before = [], 0.0
    for k, (total, lit) in enumerate(changes):
        move = total - before
        rows.append(
            (k, f"{move:.4f}" if move >= 0.0 else "", f"{-move:.4f}" if move < 0.0 else "", "", "", "", lit, "")
        )
        before = total
    return rows


def test_lamps_are_held_against_their_marks(tmp_path: Path) -> None:
    layout = example()
    header = layout.tank("header")
    marks = as_drawn(layout, header, layout.design.normal("ground"))
    switches = {switch.name: switch for switch in header.design.switch}
    five, ten, twenty = (marks.expected(switches[name], "goes out")[0] * 1e3 for name in ("5 min", "10 min", "20 min"))  # type: ignore[operator]
    trip = marks.expected(switches["10 min"], "comes on")[0] * 1e3  # type: ignore[operator]
    all_lit, two, one = "20 min;10 min;5 min", "20 min;10 min", "20 min"
    rows = lamp_rows(
        [
            (five - 0.05, all_lit), (five + 0.05, two),  # as expected
            (ten + 0.6, two), (ten + 0.7, one),  # half a litre late
            (twenty + 0.1, one),  # within the window: still undecided
            (trip + 1.0, one), (trip - 1.0, two),  # seen, but coarsely, on draining
        ]
    )  # fmt: skip
    write(tmp_path / "sheet.csv", rows)
    found = answers(tmp_path, "filltest", str(DEMO), "--tank", "header", "--from", "sheet.csv")["header-filltest-lamps"]
    verdicts = [(row["lamp"], row["event"], row["verdict"]) for row in found]
    assert verdicts == [
        ("20 min", "goes out", "to be looked at"),
        ("10 min", "goes out", "contradicted"),
        ("10 min", "comes on", "to be looked at"),
        ("5 min", "goes out", "accepted"),
    ]
    tilted = header.level_m("switch 10 min", layout.design.normal("ground").up) + 0.003
    assert found[1]["expected_m3"] == pytest.approx(float(example_level(tilted)), rel=1e-9)


def example_level(level_m: float) -> float:
    """What the header holds below a level at the normal ground attitude, by the levels' own table."""
    from fuelsys.analysis.tank.levels import level_table
    from fuelsys.analysis.tank.tilted import Tilted

    header, at = example().tank("header"), example().design.normal("ground")
    over = level_m - Tilted.of(header.cavity, at.up).low_m
    table = level_table(header.cavity, at, level_step_m=over)
    return table.rows[1].volume_m3


def test_the_whole_sheet_in_another_unit_is_said(tmp_path: Path) -> None:
    path = filled_in(tmp_path, (0.0, 0.0, 0.0, 0.0, 0.0))
    rows = list(csv.reader(path.read_text(encoding="utf-8").splitlines()))[1:]
    for factor, at, told in (
        (3.785411784, 1, "all amounts are in US gal rather than L"),
        (25.4, 5, "the stick read in in"),
    ):
        changed = [[f"{float(c) / factor:.4f}" if k == at and c else c for k, c in enumerate(row)] for row in rows]
        write(tmp_path / "other.csv", changed)
        done = run(*ASK, "--from", "other.csv", folder=tmp_path)
        assert (done.returncode, done.stdout) == (2, "")
        assert told in done.stderr, done.stderr
        assert len(done.stderr.splitlines()) == 1


BAD = {
    "empty": ("", "the file is empty"),
    "blank": ("\n\n", "the file is empty"),
    "heading alone": (HEAD, "no line says what was poured"),
    "other columns": ("a,b,c\n1,2,3\n", 'line 1: there is no column "a"'),
    "no poured": ("step,stick [mm]\n1,20\n", "line 1: there is no column poured"),
    "column twice": ("poured [L],poured [L]\n1,1\n", "is there twice"),
    "near miss": ("step,pourd [L]\n1,5\n", 'Is "poured" meant?'),
    "no units": ("poured,stick\n5,20\n", 'line 2, poured: found "5", without a unit'),
    "gallons of which kind": ("poured,stick\n5 gal,20 mm\n", "which may be US or imperial"),
    "a length poured": ("poured,stick\n5 mm,20 mm\n", '"mm" is not a unit of volume'),
    "negative": (f"{HEAD}\n1,-5,,,,20,,\n", 'line 2, poured: found "-5", which is negative'),
    "negative stick": (f"{HEAD}\n1,5,,,,-20,,\n", 'line 2, stick: found "-20", which is negative'),
    "text": (f"{HEAD}\n1,five,,,,20,,\n", 'line 2, poured: found "five"'),
    "nan": (f"{HEAD}\n1,nan,,,,20,,\n", 'line 2, poured: found "nan"'),
    "huge": (f"{HEAD}\n1,1e99,,,,20,,\n", "which is too large"),
    "beyond numbers": (f"{HEAD}\n1,1e999,,,,20,,\n", "which is too large"),
    "too hot": (f"{HEAD}\n1,5,,900,,20,,\n", "Give a temperature from -50 to 150 degC"),
    "a million lines": (HEAD + "\n1,1 L\n" * 1_000_000, "At most"),
    "many lines": (HEAD + "\n" + f"{ROW}\n" * 600, "it has more than 500 lines"),
    "semicolons": (f"{HEAD}\n{ROW}".replace(",", ";"), "line 1: its columns are parted by semicolons"),
    "tabs": (f"{HEAD}\n{ROW}".replace(",", "\t"), "line 1: its columns are parted by tabs"),
    "comma decimals": (f'{HEAD}\n1,"5,2 L",,,,20,,\n', 'found "5,2 L", with a comma'),
    "bare comma decimals": (f"{HEAD}\n1,5,2,,,,20,,\n", "line 2: it has 9 cells, and the heading 8"),
    "poured and drained": (f"{HEAD}\n1,5,2,,,20,,\n", "both poured and drained"),
    "drained too much": (f"{HEAD}\n1,5,,,,20,,\n2,,6,,,,,\n", "line 3, drained: more was drained than was poured"),
    "open quote": (f'{HEAD}\n1,"5,,,,20,,\n', "this is not CSV"),
    "a lamp that is none": (f"{HEAD}\n1,5,,,,20,low,\n", "the tank has no switch"),
    "a signal with its unit": ("poured,signal\n5 L,20 ohm\n", 'line 2, signal: found "20 ohm". Give the number that'),
    "a gauge that is none": ("poured,signal 2\n5 L,20\n", "line 2, signal: the tank has 1 gauge."),
    "an attitude that is none": ("poured,stick,attitude\n5 L,20 mm,prked\n", 'line 2, attitude: found "prked". Is "parked" meant?'),
    "an attitude in flight": ("poured,stick,attitude\n5 L,20 mm,cruise\n", "Name one that the design has on the ground: parked, "),
    "lamps elsewhere": ("poured,lamps lit,attitude\n5 L,none,parked on a slope\n", 'they are judged at "parked"'),
    "mass without temperature": (f"{HEAD}\n1,3.6 kg,,,,20,,\n", "line 2, temperature: the temperature is missing"),
}  # fmt: skip


@pytest.mark.parametrize("name", list(BAD))
def test_a_bad_sheet_is_one_line(name: str, tmp_path: Path) -> None:
    content, told = BAD[name]
    path, layout = tmp_path / "sheet.csv", example()
    path.write_text(content, encoding="utf-8")
    with pytest.raises(FuelsysError) as fault:
        fill_test(layout, layout.tank("left"), layout.design.normal("ground"), read_sheet(path, []))
    (line,) = fault.value.lines
    assert line.startswith("sheet.csv: ")
    assert told in line


@pytest.mark.parametrize("name", ["empty", "negative", "comma decimals", "a million lines"])
def test_and_exit_code_2(name: str, tmp_path: Path) -> None:
    content, told = BAD[name]
    (tmp_path / "sheet.csv").write_text(content, encoding="utf-8")
    done = run(*ASK, "--from", "sheet.csv", folder=tmp_path)
    assert (done.returncode, done.stdout) == (2, "")
    assert told in done.stderr, done.stderr
    assert done.stderr.startswith("sheet.csv: ")
    assert len(done.stderr.splitlines()) == 1


@pytest.mark.parametrize(
    ("content", "told"),
    [
        pytest.param(HEAD.encode("utf-16"), "this is not UTF-8 text", id="utf-16"),
        pytest.param(b"\x00\x01\x02", "", id="bytes"),
        pytest.param(HEAD.encode() + b"\n1,5\x00,,,,20,,\n", "", id="null"),
    ],
)
def test_what_is_no_text(content: bytes, told: str, tmp_path: Path) -> None:
    (tmp_path / "sheet.csv").write_bytes(content)
    done = run(*ASK, "--from", "sheet.csv", folder=tmp_path)
    assert (done.returncode, done.stdout, len(done.stderr.splitlines())) == (2, "", 1)
    assert told in done.stderr


def test_a_byte_order_mark_and_line_ends_of_spreadsheets_change_nothing(tmp_path: Path) -> None:
    path = filled_in(tmp_path, (0.02, 0.0, 0.0, 0.0, 0.0))
    text = path.read_text(encoding="utf-8")
    (tmp_path / "mark.csv").write_bytes(b"\xef\xbb\xbf" + text.replace("\n", "\r\n").encode())
    plain, marked = (run(*ASK, "--from", name, "--form", "csv", folder=tmp_path) for name in ("sheet.csv", "mark.csv"))
    assert plain.returncode == 0
    assert plain.stdout.replace("sheet.csv", "mark.csv") == marked.stdout


@pytest.mark.parametrize(
    ("arguments", "told"),
    [
        pytest.param(["--from", "none.csv"], "none.csv: there is no such file.", id="no sheet"),
        pytest.param(["--from", "."], "this is a folder.", id="folder"),
        pytest.param(["--sheet", "x.csv", "--at", "cruise"], 'is an attitude in flight. Tanks are filled on the ground', id="flight"),
        pytest.param(["--sheet", "x.csv", "--at", "prked"], 'Is "parked" meant?', id="mistyped"),
        pytest.param(["--sheet", "none/x.csv"], 'there is no folder "none"', id="no folder"),
    ],
)  # fmt: skip
def test_a_mistake_is_one_line(arguments: list[str], told: str, tmp_path: Path) -> None:
    done = run(*ASK, *arguments, folder=tmp_path)
    assert (done.returncode, done.stdout) == (2, "")
    assert told in done.stderr
    assert len(done.stderr.splitlines()) == 1
    assert list(tmp_path.iterdir()) == []


def test_wrong_use(tmp_path: Path) -> None:
    for arguments in ([], ["--sheet", "a.csv", "--from", "b.csv"], ["--sheet", "a.csv", "--picture", "a.png"]):
        assert run(*ASK, *arguments, folder=tmp_path).returncode == 2
    write(tmp_path / "few.csv", [(k, "5", "", "", "", "20.0", "", "") for k in range(3)])
    few = run(*ASK, "--from", "few.csv", "--picture", "a.png", folder=tmp_path)
    assert (few.returncode, few.stdout) == (2, "")
    assert "there is nothing to draw" in few.stderr
    said = run(*ASK, "--from", "few.csv", folder=tmp_path)
    assert "Correction: not computed: needs 4 readings" in said.stdout


def test_the_design_keeps_the_test_and_every_answer_counts_it(tmp_path: Path) -> None:
    """A tank that holds 4 % less: gross by the share, marks by the test, unusable fuel never less; the text stays as typed."""
    for file in (*MESHES.glob("*.stl"), DEMO):
        (tmp_path / file.name).write_bytes(file.read_bytes())
    filled_in(tmp_path, (-0.04, 0.003, 0.0, 0.0, 0.0))
    design, into = tmp_path / DEMO.name, ("--into", DEMO.name, "--date", "2026-05-30")
    ask = ("filltest", DEMO.name, "--tank", "left", "--from", "sheet.csv")
    before = answers(tmp_path, "capacity", DEMO.name, "--tank", "left")["left-capacity"]
    tested = answers(tmp_path, *ask, *into)
    added = [line for line in design.read_text().splitlines() if line not in DEMO.read_text().splitlines()]
    assert [line.split(" = ")[0] for line in added] == ["[tank.measured]", "sheet", "sha256", "date", "at"]
    once = design.read_text()
    assert answers(tmp_path, *ask, *into) == tested  # fitted against the tank as drawn, whatever the design names
    assert design.read_text() == once
    by = {name: {row["what"]: row["volume_m3"] for row in rows} for name, rows in (("before", before),)}
    by["after"] = {
        row["what"]: row["volume_m3"]
        for row in answers(tmp_path, "capacity", DEMO.name, "--tank", "left")["left-capacity"]
    }
    assert by["after"]["gross"] == pytest.approx(tested["left-filltest-capacity"][0]["corrected_m3"], rel=1e-9)
    assert by["after"]["unusable"] == pytest.approx(by["before"]["unusable"], rel=1e-9)
    assert by["after"]["usable"] < 0.97 * by["before"]["usable"]  # type: ignore[operator]
    marks = answers(tmp_path, "dipstick", DEMO.name, "--tank", "left")["left-dipstick"]
    for mark, belongs in zip(marks, tested["left-filltest-dipstick"], strict=False):
        assert mark["from_the_stick_s_bottom_m"] == pytest.approx(belongs["belongs_at_m"], abs=1e-7)
        assert mark["within_m3"] == pytest.approx(belongs["within_as_quantity_m3"], rel=0.05)
    aside = " ".join(
        run("dipstick", DEMO.name, "--tank", "left", "--attitude", "cruise", folder=tmp_path).stdout.split()
    )
    (much,) = re.findall(r"If all that it found holds here too, they show up to ([\d.]+) L too much", aside)
    assert 0.5 < float(much) < 1.5  # 3 mm of offset, in some 0.3 m²
    said = run("capacity", DEMO.name, "--tank", "left", folder=tmp_path).stdout
    assert "Measured on 2026-05-30 (sheet.csv, parked): it holds -" in said
    with (tmp_path / "sheet.csv").open("a", encoding="utf-8") as sheet:
        sheet.write("99,1,,,,,,\n")
    changed = run("capacity", DEMO.name, folder=tmp_path)
    assert (changed.returncode, changed.stdout) == (2, "")
    assert "tank left.measured.sha256: the sheet has changed since 2026-05-30. Look at it with" in changed.stderr
