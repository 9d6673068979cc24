"""A fill test's sheet says which tank, attitude and mesh it is for: another tank's is refused, one that does not say is noted."""

from __future__ import annotations

import hashlib
from dataclasses import replace
from pathlib import Path

from commands import DEMO, MESHES, run
from fillsheets import example

from fuelsys.analysis.fills.origin import made_for, origin_notes
from fuelsys.load.designs.fillsheet import read_sheet

NOTED = "The sheet does not say which tank it is for: see that it is this one's."


def poured(text: str) -> str:
    """The sheet with 2 L poured in each of the first twelve steps, and a stick that rises."""
    head, *lines = text.splitlines()
    poured_at, stick_at = (
        next(k for k, one in enumerate(head.split(",")) if one.startswith(name)) for name in ("poured", "stick")
    )
    for k in range(12):
        cells = lines[k].split(",")
        cells[poured_at], cells[stick_at] = "4", str(5 * k + 2)
        lines[k] = ",".join(cells)
    return "\n".join([head, *lines]) + "\n"


def test_a_sheet_of_another_tank_is_refused_in_one_line(tmp_path: Path) -> None:
    ask = ("filltest", str(DEMO), "--tank")
    assert run(*ask, "right", "--sheet", "right.csv", folder=tmp_path).returncode == 0
    sheet = tmp_path / "right.csv"
    digits = hashlib.sha256((MESHES / "right.stl").read_bytes()).hexdigest()[:12]
    text = sheet.read_text(encoding="utf-8")
    assert f"sheet for tank right; attitude parked; mesh {digits}\n" in text
    sheet.write_text(poured(text), encoding="utf-8")
    other = run(*ask, "left", "--from", "right.csv", folder=tmp_path)
    assert (other.returncode, other.stdout) == (2, "")
    assert other.stderr == (
        "right.csv: tank left: the sheet is for tank right. Give --tank right, or the sheet of left; of a tank renamed since,"
        " mend the name in that remark.\n"
    )


def test_another_attitude_or_mesh_is_told_and_so_is_a_sheet_that_does_not_say(tmp_path: Path) -> None:
    layout = example()
    tank, parked = layout.tank("left"), layout.design.normal("ground")
    here = made_for(layout, tank, parked)

    def noted(remark: str) -> tuple[str, ...]:
        (tmp_path / "s.csv").write_text(f"step,poured [L],stick [mm],remark\n0,,,{remark}\n1,5,20,\n", encoding="utf-8")
        sheet = read_sheet(tmp_path / "s.csv", [])
        assert len(sheet.entries) == (1 if sheet.made_for else 2)  # what a sheet says of itself is no reading
        return origin_notes(layout, tank, parked, sheet)

    assert noted(here.words) == ()
    assert noted("cold") == (NOTED,)
    (slope,) = noted(replace(here, attitude="parked on a slope").words)
    assert slope == "the sheet was written for parked on a slope, and is read as at parked."
    (changed,) = noted(replace(here, mesh="0" * 12).words)
    assert changed.startswith("the tank's mesh has changed since the sheet was written")


def test_a_line_is_told_by_its_step_and_an_empty_cell_as_empty(tmp_path: Path) -> None:
    """The left tank as drawn, 2.5 L a step from step 4 on; in step 8 nothing is typed beside the reading."""
    reads = (2.0, 11.0, 19.3, 27.3, 35.3, 43.3, 51.6, 60.3, 69.4, 79.0, 89.3, 100.5, 112.8, 127.0, 144.4)
    rows = [f"{4 + k},{'' if k == 4 else 10 if k == 0 else 2.5},{read}" for k, read in enumerate(reads)]
    (tmp_path / "s.csv").write_text("\n".join(["step,poured [L],stick [mm]", *rows]) + "\n", encoding="utf-8")
    said = " ".join(run("filltest", str(DEMO), "--tank", "left", "--from", "s.csv", folder=tmp_path).stdout.split())
    assert "step 8, line 6 of the file does not belong: from here on the total is" in said
    assert "It could mean: the cell poured is empty there, which counts as 0" in said
