"""Folders that a review is written into: what is the person's own stays, whatever stops it; names, and cells that are no formulas."""

from __future__ import annotations

import csv
import io
import os
import signal
import subprocess
import sys
import time
from pathlib import Path
from xml.etree import ElementTree

import pytest
from commands import run

from fuelsys.errors import DesignError, OutputError
from fuelsys.load.designs.door import load_design
from fuelsys.report.page.contents import file_names
from fuelsys.report.page.folder import LEDGER, check_folder, write_files
from fuelsys.report.table import Column, Table, as_csv

MADE = {"index.html": b"page", "tables/a.csv": b"a", "pictures/b.svg": b"b"}


def tree(folder: Path) -> dict[str, bytes]:
    return {p.relative_to(folder).as_posix(): p.read_bytes() for p in sorted(folder.rglob("*")) if p.is_file()}


# --- what is the person's own --------------------------------------------------------------------------------------------


def test_a_review_takes_the_place_of_the_last_one_and_leaves_nothing_of_it(tmp_path: Path) -> None:
    write_files(tmp_path / "r", {**MADE, "tables/old.csv": b"old", "gone/one.csv": b"one"}, replace=False)
    write_files(tmp_path / "r", MADE, replace=False)
    assert set(tree(tmp_path / "r")) == {*MADE, LEDGER}
    assert not (tmp_path / "r" / "gone").exists()
    assert [path.name for path in tmp_path.iterdir()] == ["r"]


@pytest.mark.parametrize("own", ["file", "folder", "link", "pipe", "link in a folder of ours"])
def test_the_persons_own_things_stop_a_review_and_stay(tmp_path: Path, own: str) -> None:
    folder = tmp_path / "r"
    write_files(folder, MADE, replace=False)
    elsewhere = tmp_path / "elsewhere"
    elsewhere.mkdir()
    mine = folder / ("pictures/mine" if own == "link in a folder of ours" else "mine")
    match own:
        case "file":
            mine.write_bytes(b"mine")
        case "folder":
            mine.mkdir()
        case "pipe":
            os.mkfifo(mine)
        case _:
            mine.symlink_to(elsewhere)
    with pytest.raises(OutputError, match="it holds files that no review wrote") as caught:
        write_files(folder, {"index.html": b"new"}, replace=False)
    assert "mine" in str(caught.value)
    assert (folder / "index.html").read_bytes() == b"page"
    write_files(folder, {"index.html": b"new"}, replace=True)
    assert os.path.lexists(mine)
    assert (folder / "index.html").read_bytes() == b"new"
    assert not (folder / "tables").exists()


def test_an_emptied_folder_of_the_persons_own_stays(tmp_path: Path) -> None:
    (tmp_path / "r" / "notes").mkdir(parents=True)
    write_files(tmp_path / "r", MADE, replace=True)
    write_files(tmp_path / "r", MADE, replace=True)
    assert (tmp_path / "r" / "notes").is_dir()


@pytest.mark.parametrize("kind", ["pipe", "link", "folder"])
def test_what_is_no_file_is_never_opened_nor_written_over(tmp_path: Path, kind: str) -> None:
    place = tmp_path / "index.html"
    {"pipe": os.mkfifo, "link": lambda p: p.symlink_to("/etc/hostname"), "folder": Path.mkdir}[kind](place)
    with pytest.raises(OutputError, match=r"something else is there|files that no review wrote"):
        write_files(tmp_path, MADE, replace=True)
    assert os.path.lexists(place)
    assert not (tmp_path / "tables").exists()


def test_a_link_in_place_of_one_of_our_folders_is_not_followed(tmp_path: Path) -> None:
    (tmp_path / "r").mkdir()
    (tmp_path / "out").mkdir()
    (tmp_path / "r" / "tables").symlink_to(tmp_path / "out")
    with pytest.raises(OutputError, match="a folder of the review belongs there"):
        write_files(tmp_path / "r", MADE, replace=True)
    assert list((tmp_path / "out").iterdir()) == []


def test_rights_and_links_of_the_folder_stay(tmp_path: Path) -> None:
    real = tmp_path / "real"
    real.mkdir(mode=0o700)
    (tmp_path / "link").symlink_to(real)
    write_files(tmp_path / "link", MADE, replace=False)
    write_files(tmp_path / "link", MADE, replace=False)
    assert (tmp_path / "link").is_symlink()
    assert real.stat().st_mode & 0o777 == 0o700
    assert set(tree(real)) == {*MADE, LEDGER}


def test_a_ledger_cannot_lead_out_of_the_folder(tmp_path: Path) -> None:
    outside = tmp_path / "precious"
    outside.write_bytes(b"x")
    write_files(tmp_path / "r", MADE, replace=False)
    digest = (tmp_path / "r" / LEDGER).read_text().split()[0]
    for name in ("../precious", str(outside)):
        with (tmp_path / "r" / LEDGER).open("a") as ledger:
            ledger.write(f"{digest}  {name}\n")
    write_files(tmp_path / "r", MADE, replace=True)
    assert outside.exists()


@pytest.mark.parametrize("into", [".", "new/deep"])
def test_into_this_folder_and_into_a_new_one(tmp_path: Path, into: str) -> None:
    folder = tmp_path / "here"
    folder.mkdir()
    ran = run("demo", "--no-failures", "--into", into, "--replace", folder=folder)
    assert ran.returncode == 0, ran.stderr
    assert (folder / into / "index.html").stat().st_size > 100_000
    assert not list(folder.rglob(".*"))


@pytest.mark.parametrize(("into", "said"), [("", "the path is empty"), ("/", "it holds files that no review wrote")])
def test_no_folder_and_the_root_are_refused_at_once(tmp_path: Path, into: str, said: str) -> None:
    ran = run("demo", "--into", into, folder=tmp_path)
    assert ran.returncode == 2
    assert said in " ".join(ran.stderr.split())
    assert list(tmp_path.iterdir()) == []


# --- whatever stops it ---------------------------------------------------------------------------------------------------

_SLOW = """
import os, sys, time
from pathlib import Path
from fuelsys.report.page import contents, folder
files = {f"tables/{k}.csv": b"new" for k in range(9)} | {"index.html": b"new"}
def slowly(*_):
    if os.environ["COMPUTING"] != "0":
        Path("begun").touch()
        time.sleep(float(os.environ["COMPUTING"]))
    return files
contents.review_files = slowly
replaced, replace = 0, os.replace
def slow(*given):
    global replaced
    replaced += 1
    if replaced == int(os.environ.get("KILLED", "-1")):
        os.kill(os.getpid(), 9)
    if replaced == int(os.environ.get("PAUSED", "-1")):
        Path("begun").touch()
        time.sleep(0.5)
    replace(*given)
os.replace = slow
from fuelsys_cli.main import main
sys.argv = ["fuelsys", "demo", "--no-failures", "--into", "r"]
main()
"""


def begin(folder: Path, **environment: str) -> subprocess.Popen[str]:
    given = {**os.environ, "COMPUTING": "0", **environment}
    return subprocess.Popen([sys.executable, "-c", _SLOW], cwd=folder, env=given, stderr=subprocess.PIPE, text=True)


def wait_for(path: Path, process: subprocess.Popen[str]) -> None:
    end = time.monotonic() + 120.0
    while not path.exists() and process.poll() is None and time.monotonic() < end:
        time.sleep(0.01)
    assert path.exists()


@pytest.mark.parametrize("number", [signal.SIGINT, signal.SIGTERM, signal.SIGHUP])
def test_stopped_while_computing_nothing_is_left(tmp_path: Path, number: signal.Signals) -> None:
    process = begin(tmp_path, COMPUTING="100")
    wait_for(tmp_path / "begun", process)
    process.send_signal(number)
    _, told = process.communicate(timeout=60)
    assert process.returncode == 128 + number
    assert told.splitlines()[-1] == "stopped; nothing was left half-written"
    assert [path.name for path in tmp_path.iterdir()] == ["begun"]


def test_stopped_while_files_take_their_places_all_of_them_do(tmp_path: Path) -> None:
    write_files(tmp_path / "r", {"index.html": b"old", "old.csv": b"old"}, replace=False)
    process = begin(tmp_path, PAUSED="4")
    wait_for(tmp_path / "begun", process)
    process.send_signal(signal.SIGTERM)
    _, told = process.communicate(timeout=60)
    assert process.returncode == 128 + signal.SIGTERM
    assert told.splitlines()[-1] == "stopped; nothing was left half-written"
    found = {name: data for name, data in tree(tmp_path / "r").items() if not name.startswith("design/")}
    assert set(found) == {LEDGER, "index.html", *(f"tables/{k}.csv" for k in range(9))}
    assert set(found.values()) - {found[LEDGER]} == {b"new"}


@pytest.mark.parametrize("at", [1, 2, 6])
def test_killed_at_any_moment_each_file_is_whole_and_the_next_run_needs_no_replace(tmp_path: Path, at: int) -> None:
    write_files(tmp_path / "r", {"index.html": b"old", "tables/0.csv": b"old"}, replace=False)
    process = begin(tmp_path, KILLED=str(at))
    process.communicate(timeout=120)
    assert process.returncode == -9
    found = tree(tmp_path / "r")
    assert found["index.html"] == b"old"  # it comes last
    check_folder(tmp_path / "r", replace=False)
    write_files(tmp_path / "r", MADE, replace=False)
    assert set(tree(tmp_path / "r")) == {*MADE, LEDGER}


def test_a_fault_while_writing_leaves_the_old_review(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    folder = tmp_path / "r"
    write_files(folder, MADE, replace=False)
    before = tree(folder)
    written = Path.write_bytes

    def full(path: Path, data: bytes) -> int:
        if "pictures" in path.parts:
            raise OSError(28, os.strerror(28))
        return written(path, data)

    monkeypatch.setattr(Path, "write_bytes", full)
    with pytest.raises(OutputError, match="the disk is full"):
        write_files(folder, {**MADE, "tables/new.csv": b"new", "more/new.csv": b"new"}, replace=False)
    assert tree(folder) == before
    assert not (folder / "more").exists()
    with pytest.raises(OutputError, match="the disk is full"):
        write_files(tmp_path / "other" / "r", MADE, replace=False)
    assert not (tmp_path / "other").exists()


def test_two_runs_into_one_folder_are_one_or_the_other(tmp_path: Path) -> None:
    both = [begin(tmp_path, PAUSED="5"), begin(tmp_path, PAUSED="7")]
    for process in both:
        _, told = process.communicate(timeout=120)
        assert process.returncode == 0, told
    check_folder(tmp_path / "r", replace=False)
    assert {*tree(tmp_path / "r").values()} >= {b"new"}


# --- names ---------------------------------------------------------------------------------------------------------------


def test_names_of_files_are_one_for_each(tmp_path: Path) -> None:
    keys = [
        "left tank",
        "left-tank",
        "LEFT tank",
        "left",
        "Left",
        "con",
        "..",
        "a/b",
        "a\\b",
        "x" * 300,
        "x" * 301,
        "ä",
        "ä",
    ]
    names = file_names(keys)
    assert len({name.casefold() for name in names}) == len(keys)
    for name in names:
        assert name
        assert not set(name) & set('/\\:*?"<>|.')
        assert len(name.encode()) < 200
    assert file_names(keys) == names


@pytest.mark.parametrize("text", ["a\x1b[31m", "a\x00b", "a\nb", "a\u202eb", "\u200b"])
@pytest.mark.parametrize("old", ['name = "left"', 'datum = "', "cruise = "])
def test_characters_that_cannot_be_seen_are_refused(tmp_path: Path, text: str, old: str) -> None:
    example = Path(__file__).parents[2] / "meshes"
    source = (example / "taildragger.toml").read_text(encoding="utf-8")
    escaped = "".join(c if c.isalnum() else f"\\u{ord(c):04x}" for c in text)
    new = {'name = "left"': f'name = "{escaped}"', 'datum = "': f'datum = "{escaped}', "cruise = ": f'"{escaped}" = '}[
        old
    ]
    assert old in source
    (tmp_path / "design.toml").write_text(source.replace(old, new, 1), encoding="utf-8")
    for mesh in example.glob("*.stl"):
        (tmp_path / mesh.name).symlink_to(mesh)
    with pytest.raises(DesignError) as caught:
        load_design(tmp_path / "design.toml")
    told = "\n".join(map(str, caught.value.faults))
    assert "holds a character that cannot be seen" in told
    assert all(line.isprintable() for line in told.splitlines())


def test_tanks_whose_names_look_alike_each_have_their_pictures(tmp_path: Path) -> None:
    example = Path(__file__).parents[2] / "meshes"
    source = (example / "taildragger.toml").read_text(encoding="utf-8")
    for old, new in (("left", "a tank"), ("right", "A-TANK")):
        source = source.replace(f'name = "{old}"', f'name = "{new}"')
        for port in ("outlet", "vent", "from left", "from right"):
            source = source.replace(f'"{old}.{port}', f'"{new}.{port}')
    (tmp_path / "design.toml").write_text(source, encoding="utf-8")
    for mesh in example.glob("*.stl"):
        (tmp_path / mesh.name).symlink_to(mesh)
    ran = run("review", "design.toml", "--no-failures", "--no-explorer", "--into", "r", folder=tmp_path)
    assert ran.returncode == 0, ran.stderr
    pictures = sorted(path.name for path in (tmp_path / "r" / "pictures").iterdir())
    first = [name for name in pictures if name.startswith("a-tank") and not name.removesuffix(".svg").endswith("-2")]
    assert first
    assert [f"{name.removesuffix('.svg')}-2.svg" in pictures for name in first] == [True] * len(first)
    for path in (tmp_path / "r" / "pictures").iterdir():
        ElementTree.parse(path)


# --- cells ---------------------------------------------------------------------------------------------------------------


def test_a_text_is_no_formula_and_a_number_stays_one() -> None:
    rows = (("=1+1", -2.0), ("@a", 3.0), ("+b", None), ("plain, with a comma", -0.5), ('he said "no"', 1.0))
    table = Table("k", '=HYPERLINK("x")', (Column("-what"), Column("volume", "volume")), rows)
    read = list(csv.reader(io.StringIO(table.csv())))
    assert [row[0] for row in read[1:]] == ["'=1+1", "'@a", "'+b", "plain, with a comma", 'he said "no"']
    assert [row[1] for row in read[1:]] == ["-2000", "3000", "", "-500", "1000"]
    two = list(csv.reader(io.StringIO(as_csv([table, table]))))
    assert two[0] == ['\'=HYPERLINK("x")']


def test_no_cell_of_a_review_begins_as_a_formula_does(tmp_path: Path) -> None:
    example = Path(__file__).parents[2] / "meshes"
    source = (
        (example / "taildragger.toml")
        .read_text(encoding="utf-8")
        .replace('name = "left"', 'name = "=1+left"')
        .replace('"left.outlet', '"=1+left.outlet')
        .replace('"left.vent', '"=1+left.vent')
    )
    (tmp_path / "design.toml").write_text(source, encoding="utf-8")
    for mesh in example.glob("*.stl"):
        (tmp_path / mesh.name).symlink_to(mesh)
    assert (
        run("review", "design.toml", "--no-failures", "--no-explorer", "--into", "r", folder=tmp_path).returncode == 0
    )
    cells = 0
    for path in (tmp_path / "r" / "tables").iterdir():
        for row in csv.reader(io.StringIO(path.read_text(encoding="utf-8"))):
            for cell in row:
                cells += 1
                if cell.startswith(("=", "+", "-", "@")):
                    float(cell)
    assert cells > 500
