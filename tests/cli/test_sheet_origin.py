"""A fill test's sheet says which tank, attitude and mesh it is for: another tank's is refused, one that does not say is noted."""

from __future__ import annotations

import hashlib
from pathlib import Path

from commands import DEMO, MESHES, run

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
    empty = run(*ask, "right", "--from", "right.csv", folder=tmp_path)
    assert empty.stderr == "right.csv: poured: no line says what was poured. Fill in the column poured.\n"

    sheet.write_text(poured(text), encoding="utf-8")
    other = run(*ask, "left", "--from", "right.csv", folder=tmp_path)
    assert (other.returncode, other.stdout) == (2, "")
    assert other.stderr == (
        "right.csv: tank left: the sheet is for tank right. Give --tank right, or the sheet of left; of a tank renamed since,"
        " mend the name in that remark.\n"
    )
    own = run(*ask, "right", "--from", "right.csv", folder=tmp_path)
    assert own.returncode == 0, own.stderr
    assert NOTED not in own.stdout
    sheet.write_text(poured(text).replace("attitude parked;", "attitude parked on a slope;"), encoding="utf-8")
    slope = run(*ask, "right", "--from", "right.csv", folder=tmp_path)
    assert "the sheet was written for parked on a slope, and is read as at parked." in " ".join(slope.stdout.split())
    sheet.write_text(poured(text).replace(digits, "0" * 12), encoding="utf-8")
    changed = run(*ask, "right", "--from", "right.csv", folder=tmp_path)
    assert "the tank's mesh has changed since the sheet was written" in " ".join(changed.stdout.split())
    sheet.write_text(
        poured(text).replace(f"sheet for tank right; attitude parked; mesh {digits}", "cold"), encoding="utf-8"
    )
    unsaid = run(*ask, "left", "--from", "right.csv", folder=tmp_path)
    assert unsaid.returncode == 0, unsaid.stderr
    assert NOTED in " ".join(unsaid.stdout.split())
