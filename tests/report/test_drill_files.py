"""`fuelsys drill` as a person asks for it, and its DXF read again: entities at their places, in mm, at full size."""

from __future__ import annotations

import io
import sys
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from commands import DEMO, run
from drilled import TankCase, box_tank, sheet_for, switch_at
from numpy.testing import assert_allclose

from fuelsys.errors import QuestionError
from fuelsys.report.drill import dxf as drill_dxf
from fuelsys.report.drill import files as drill_files

PLACES = {
    "front": (0, 100, 50),
    "low": (100, 50, 0),
    "high": (300, 200, 200),
    "right": (250, 300, 120),
    "free": (200, 100, 90),
}


@pytest.fixture(scope="module")
def case() -> TankCase:
    switch = switch_at("low", (60, 80, 40), clearance="15 mm", through="top")
    return box_tank((400, 300, 200), PLACES, switches=(switch,), bore="12 mm")


@pytest.fixture(scope="module")
def drawing(case: TankCase) -> Any:
    ezdxf = pytest.importorskip("ezdxf", reason='needs the extra "dxf"')
    content = drill_files.as_bytes(sheet_for(case, "a4"), ".dxf")
    document = ezdxf.read(io.StringIO(content.decode("utf-8")))
    assert document.audit().errors == []
    return document


def on(drawing: Any, kind: str, layer: str) -> list[Any]:
    return [one for one in drawing.modelspace().query(kind) if one.dxf.layer == layer]


def test_it_is_in_millimetres_with_a_check_line(drawing: Any) -> None:
    assert drawing.units == 4
    assert drawing.header["$INSUNITS"] == 4
    lengths = [(line.dxf.end - line.dxf.start).magnitude for line in on(drawing, "LINE", "CHECK")]
    assert sorted(lengths) == pytest.approx([4.0, 4.0, 100.0])


def test_each_fitting_is_a_point_in_all_three_views(case: TankCase, drawing: Any) -> None:
    count = len(case.drill.fittings)
    points = np.array([(p.dxf.location.x, p.dxf.location.y) for p in on(drawing, "POINT", "FITTINGS")]).reshape(
        3, count, 2
    )
    body = np.array([fitting.point_m for fitting in case.drill.fittings]) * 1e3
    views = (body[:, [0, 1]], body[:, [0, 2]], body[:, [1, 2]])  # from above, from the left, from behind
    outlines = [np.array([p[:2] for p in line.get_points()]) for line in on(drawing, "LWPOLYLINE", "OUTLINE")]
    corners = [outline.min(axis=0) for outline in outlines]
    for found, wanted, corner in zip(points, views, corners, strict=True):
        assert_allclose(found - corner, wanted, atol=1e-6)


def test_openings_are_circles_of_their_bore(drawing: Any) -> None:
    circles = on(drawing, "CIRCLE", "OPENINGS")
    # Four go through a wall: each once in the view that looks at it, and once in its template.
    assert [circle.dxf.radius for circle in circles] == [6.0] * 8
    assert [circle.dxf.radius for circle in on(drawing, "CIRCLE", "FLOATS")] == [15.0] * 3


@pytest.mark.parametrize(
    ("words", "corner", "place"),
    [
        # As from outside: from in front right is left, from below (nose left) left is up, from the right the nose is right.
        ("1 front", (0, 0), (300 - 100, 50)),
        ("2 low", (0, 0), (100, 300 - 50)),
        ("3 high", (0, 0), (300, 200)),
        ("4 right", (0, 0), (400 - 250, 120)),
    ],
)
def test_templates_are_seen_from_outside(drawing: Any, words: str, corner: Any, place: Any) -> None:
    (text,) = [t for t in drawing.modelspace().query("TEXT") if t.dxf.text.startswith(f"{words}, bore 12 mm")]
    near = np.array([text.dxf.insert.x, text.dxf.insert.y]) - 6.0
    outlines = [np.array([p[:2] for p in line.get_points()]) for line in on(drawing, "LWPOLYLINE", "TEMPLATE")]
    (outline,) = [o for o in outlines if (o.min(axis=0) - 1e-6 <= near).all() and (near <= o.max(axis=0) + 1e-6).all()]
    assert_allclose(near - outline.min(axis=0), place, atol=1e-6)
    centres = np.array([(c.dxf.center.x, c.dxf.center.y) for c in on(drawing, "CIRCLE", "OPENINGS")])
    assert np.abs(centres - near).max(axis=1).min() < 1e-6


def test_a_stem_is_on_the_template_of_its_side_and_what_is_not_stated_on_none(drawing: Any) -> None:
    texts = [text.dxf.text for text in drawing.modelspace().query("TEXT")]
    assert "6 switch low, bore not stated" in texts
    assert not any(text.startswith("5 free,") for text in texts)
    assert sum(text.startswith("Template 1:1") for text in texts) == 4
    assert texts.count("5 free") == 3


def test_the_same_sheet_gives_the_same_dxf(case: TankCase) -> None:
    pytest.importorskip("ezdxf", reason='needs the extra "dxf"')
    assert len({drill_files.as_bytes(sheet_for(case, "a4"), ".dxf") for _ in range(2)}) == 1


def test_without_the_library_the_extra_is_named(case: TankCase, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(sys.modules, "ezdxf", None)
    with pytest.raises(QuestionError, match=r'cannot write DXF\. Install the extra "dxf"'):
        drill_dxf.check_installed()
    with pytest.raises(QuestionError, match="cannot write DXF"):
        drill_files.as_bytes(sheet_for(case, "a4"), ".dxf")


# --- the command -----------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("into", "more", "begins"),
    [("sheet.svg", ("--paper", "letter"), b"<svg"), ("sheet.PDF", (), b"%PDF-"), ("sheet.dxf", (), b"  0\nSECTION")],
)
def test_the_command_writes_each_kind(into: str, more: tuple[str, ...], begins: bytes, tmp_path: Path) -> None:
    if into.endswith("dxf"):
        pytest.importorskip("ezdxf", reason='needs the extra "dxf"')
    done = run("drill", str(DEMO), "--tank", "left", "--into", into, *more, folder=tmp_path)
    assert done.returncode == 0, done.stderr
    content = (tmp_path / into).read_bytes()
    assert content.startswith(begins)
    if more:
        assert b'"215.900mm"' in content
    again = run("drill", str(DEMO), "--tank", "left", "--into", into, folder=tmp_path)
    assert again.returncode == 2
    assert again.stderr == f"{into}: the file is there already. Give another name, or say --replace.\n"


@pytest.mark.parametrize(
    ("asked", "told"),
    [
        (("--tank", "left", "--into", "sheet.png"), '"sheet.png" is no .svg, .pdf or .dxf file.'),
        (("--tank", "lefd", "--into", "sheet.svg"), 'there is no tank "lefd". Name one of left, right, header.'),
        (("--tank", "left", "--into", "sheet.dxf", "--paper", "a4"), "--paper is for an SVG or PDF"),
        (("--tank", "left", "--into", "away/sheet.svg"), 'there is no folder "away"'),
        (("--tank", "left"), "Missing option '--into'"),
    ],
)
def test_what_the_command_refuses(asked: tuple[str, ...], told: str, tmp_path: Path) -> None:
    done = run("drill", str(DEMO), *asked, folder=tmp_path)
    assert done.returncode == 2
    assert told in done.stderr
    assert list(tmp_path.iterdir()) == []
