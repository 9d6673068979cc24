"""The four uses of the design card, each run as a person would run them, on files made here."""

from __future__ import annotations

import csv
import io
import json
from pathlib import Path

import numpy as np
import pytest
import solids
from commands import DEMO, MESHES, run


def write_stl(path: Path, vertices: np.ndarray, faces: np.ndarray) -> None:
    """ASCII STL, written by hand."""
    lines = ["solid tank"]
    for face in faces:
        lines.append("facet normal 0 0 0\nouter loop")
        lines += ["vertex " + " ".join(f"{c:.9g}" for c in vertices[v]) for v in face]
        lines.append("endloop\nendfacet")
    path.write_text("\n".join([*lines, "endsolid tank"]) + "\n", encoding="utf-8")


def test_capacity_from_a_cad_export(tmp_path: Path) -> None:
    write_stl(tmp_path / "left.stl", *solids.box(600.0, 400.0, 200.0))
    done = run("capacity", "left.stl", "--unit", "mm", folder=tmp_path)
    assert done.returncode == 0, done.stderr
    assert "48.000" in done.stdout  # 6 dm x 4 dm x 2 dm
    asked = run("capacity", "left.stl", "--unit", "in", "--form", "json", "--volume", "US gal", folder=tmp_path)
    (row,) = json.loads(asked.stdout)["tables"][0]["rows"]
    assert row["gross_m3"] == pytest.approx(600 * 400 * 200 * 0.0254**3, rel=1e-12)
    assert "is the unit in right?" in json.loads(asked.stdout)["tables"][0]["notes"][-1]


def test_a_volume_table_straight_from_a_mesh(tmp_path: Path) -> None:
    write_stl(tmp_path / "left.stl", *solids.box(600.0, 400.0, 200.0))
    done = run(
        "levels",
        "left.stl",
        "--unit",
        "mm",
        "--pitch",
        "10 deg",
        "--volume-step",
        "5 L",
        "--form",
        "csv",
        folder=tmp_path,
    )
    rows = list(csv.DictReader(io.StringIO(done.stdout)))
    # 5 L lie as a triangle of side lengths s and s tan 10° along the rear edge: 0.4 s² tan 10° / 2 = 0.005 m³; its level
    # above the corner is s sin 10°.
    s = np.sqrt(0.01 / 0.4 / np.tan(np.radians(10.0)))
    assert float(rows[1]["volume [L]"]) == pytest.approx(5.0, rel=1e-9)
    assert float(rows[1]["level [mm]"]) == pytest.approx(1e3 * s * np.sin(np.radians(10.0)), rel=1e-9)
    assert float(rows[-1]["volume [L]"]) == pytest.approx(48.0, rel=1e-9)


def test_switches_placed_at_target_minutes(tmp_path: Path) -> None:
    ask = [
        "place",
        str(DEMO),
        "--tank",
        "header",
        "--x",
        "60 mm",
        "--y",
        "80 mm",
        "--reserve",
        "10 min",
        "--guaranteed",
        "--form",
        "json",
    ]
    done = run(*ask, folder=tmp_path)
    assert done.returncode == 0, done.stderr
    placed, proof = json.loads(done.stdout)["tables"]
    minutes = [row["left_at_trip_s"] / 60.0 for row in proof["rows"]]
    assert 10.0 <= min(minutes) < 10.01  # the mark rounded up to 0.1 mm
    # Put it into the design and ask the other way round: the switch must trip there with those minutes.
    height_mm = placed["rows"][0]["mark_z_m"] * 1e3
    text = DEMO.read_text(encoding="utf-8")
    text = text.replace('mark = ["60 mm", "80 mm", "118 mm"]', f'mark = ["60 mm", "80 mm", "{height_mm:.6f} mm"]')
    for mesh in MESHES.glob("*.stl"):
        (tmp_path / mesh.name).write_bytes(mesh.read_bytes())
    (tmp_path / "mine.toml").write_text(text, encoding="utf-8")
    told = run("switches", "mine.toml", "--tank", "header", "--form", "json", folder=tmp_path)
    switch = next(t for t in json.loads(told.stdout)["tables"] if t["key"] == "header-switch-10-min")
    flight = [row["trip_s"] / 60.0 for row in switch["rows"] if row["phase"] == "flight"]
    assert min(flight) == pytest.approx(min(minutes), abs=1e-4)


def test_a_dipstick_table(tmp_path: Path) -> None:
    done = run("dipstick", str(DEMO), "--tank", "left", "--form", "csv", folder=tmp_path)
    rows = list(csv.DictReader(io.StringIO(done.stdout)))
    assert [float(row["quantity [L]"]) for row in rows] == pytest.approx([10, 15, 20, 25, 30, 35, 40, 45])
    heights = [float(row["from the stick's bottom [mm]"]) for row in rows]
    assert heights == sorted(heights)
    for row in rows:  # the slope's band holds the quantity that the mark stands for
        assert float(row["least on 1° slope [L]"]) < float(row["quantity [L]"]) < float(row["most on 1° slope [L]"])


# Minutes that are not there, a feed that may stop, then litres, the most first, then what suffers in time, fire, and the rest.
WORST_FIRST = (
    "warning-late  header switch 5 min",
    "strainer-missing  header.outlet",
    "unusable-large  right",
    "unusable-large  left",
    "expansion-space-small  right",
    "strainer-area-small  right.outlet",
    "filler-unbonded  right.filler",
    "mirror-tanks-differ",
)


def test_a_checklist_reviewed(tmp_path: Path) -> None:
    done = run("check", str(DEMO), folder=tmp_path)
    assert done.returncode == 1, done.stderr
    assert done.stdout.startswith("Do not close tanks left, right and header.\n")
    found = [line for line in done.stdout.splitlines() if line.startswith(("FAIL ", "CAUTION ", "NOT CHECKED "))]
    unknown = [line.startswith("NOT CHECKED") for line in found]
    assert unknown == sorted(unknown)  # what is known to be wrong first
    places = [next(k for k, line in enumerate(found) if rule in line) for rule in WORST_FIRST]
    assert places == sorted(places)
    assert "expansion-space-small  right" in done.stdout
    assert "14 CFR 23.969" in done.stdout
    assert "Local rules and licensed inspection decide." in done.stdout
