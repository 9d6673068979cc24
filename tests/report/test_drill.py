"""The drill sheet: what is measured from where, drawn where the table says, at a scale that is true, no label upon another."""

from __future__ import annotations

import re
from dataclasses import replace
from datetime import date
from functools import lru_cache
from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest
import solids
from commands import DEMO
from drilled import TankCase, box_tank, hard_cases, sheet_for, switch_at
from manifold3d import Manifold
from matplotlib.figure import Figure
from numpy.testing import assert_allclose

from fuelsys.analysis.tank.drill import drill_list
from fuelsys.errors import QuestionError
from fuelsys.load.designs.door import load_design
from fuelsys.model.found.drill import DrillList
from fuelsys.model.found.study import Study
from fuelsys.model.stated.fittings import Port
from fuelsys.report.drawing import ink
from fuelsys.report.drawing.canvas import mpl
from fuelsys.report.drill import files as drill_files
from fuelsys.report.drill.layout import Frame, packings
from fuelsys.report.drill.sheet import PAPERS, Sheet, sheets
from fuelsys.report.drill.table import FittingTable
from fuelsys.report.drill.views import PITCH_MM, Ordinate, apart
from fuelsys.report.shown import Shown
from fuelsys.review import study

DAY = date(2026, 1, 1)
MM_PER_PT = 25.4 / 72.0


@pytest.fixture(scope="module")
def demo() -> Study:
    return study(load_design(DEMO), only="header")


@pytest.fixture(scope="module")
def header(demo: Study) -> DrillList:
    return drill_list(demo.tank("header"))


def header_sheet(demo: Study, paper: str = "a4", length: str = "mm") -> Sheet:
    tank = demo.tank("header")
    return drill_files.sheet_of(demo.layout, tank, drill_list(tank), Shown(length=length), paper)


# --- the list --------------------------------------------------------------------------------------------------------


def test_a_fitting_on_one_wall_goes_through_it_and_one_on_an_edge_or_free_is_not_guessed() -> None:
    # A box of 400 x 300 x 200 mm from the origin.
    places = {
        "front": (0, 100, 50), "rear": (400, 100, 50), "left": (100, 0, 50), "right": (100, 300, 50), "bottom": (100, 50, 0),
        "top": (100, 50, 200), "edge": (0, 0, 50), "free": (100, 50, 100), "nearly": (100, 50, 199.5), "far": (100, 50, 197),
    }  # fmt: skip
    drill = box_tank((400, 300, 200), places).drill
    found = {fitting.name: fitting.through for fitting in drill.fittings}
    sides = {side: side for side in ("front", "rear", "left", "right", "bottom", "top")}
    assert found == {**sides, "edge": "", "free": "", "nearly": "top", "far": ""}
    assert [datum.side for datum in drill.datums] == ["front", "left", "bottom"]
    assert [datum.name for datum in drill.datums] == ["front wall", "left wall", "bottom"]
    assert_allclose([d.off_m(drill.fittings[1].point_m) for d in drill.datums], [0.4, 0.1, 0.05], atol=1e-12)


def test_a_stated_side_goes_before_what_is_found() -> None:
    case = box_tank((400, 300, 200), {"free": (100, 50, 100)}, through={"free": "left"})
    (fitting,) = case.drill.fittings
    assert (fitting.through, fitting.stated) == ("left", True)


@pytest.mark.parametrize(
    ("axes", "mesh", "offs"),
    [
        ("aft, right, up", (10, 20, 30), (10, 20, 30)),
        ("forward, left, up", (-10, -20, 30), (10, 20, 30)),
        ("right, forward, up", (20, -10, 30), (10, 20, 30)),
        ("aft, left, down", (10, -20, -30), (10, 20, 30)),
        ("up, right, forward", (30, 20, -10), (10, 20, 30)),
    ],
)
def test_edges_are_the_aircrafts_whatever_the_meshs_axes(axes: str, mesh: Any, offs: Any) -> None:
    """Mesh places that all mean 10 mm behind the front wall, 20 right of the left one, 30 above the bottom."""
    drill = box_tank((400, 300, 200), {"one": mesh}, axes=axes).drill
    (fitting,) = drill.fittings
    assert [datum.side for datum in drill.datums] == ["front", "left", "bottom"]
    assert_allclose([d.off_m(fitting.point_m) * 1e3 for d in drill.datums], offs, atol=1e-9)


def test_what_ends_in_no_flat_wall_is_measured_from_its_last_point() -> None:
    # A wedge: its top is a ridge, its other five ends are flat.
    corners = np.array([(x, y, z) for x in (0.0, 0.4) for y, z in ((0.0, 0.0), (0.3, 0.0), (0.15, 0.2))])
    faces = np.array([[0, 2, 1], [3, 4, 5], [0, 1, 4], [0, 4, 3], [1, 2, 5], [1, 5, 4], [2, 0, 3], [2, 3, 5]])
    drill = box_tank((1, 1, 1), {"one": (100, 150, 100)}, solid=(corners, faces)).drill
    assert drill.edges["top"].name == "highest point"
    assert drill.edges["bottom"].name == "bottom"
    assert not drill.edges["left"].flat
    assert drill.edges["left"].name == "leftmost point"


def test_a_stem_runs_to_the_skin_and_tells_what_it_passes() -> None:
    switch = switch_at("low", (100, 50, 60), differential="3 mm", clearance="15 mm")
    (fitting,) = box_tank((400, 300, 200), {}, switches=(switch,)).drill.fittings
    assert [(stem.side, round(stem.length_m, 9), stem.first_m) for stem in fitting.stems] == [
        ("top", 0.14, None),
        ("bottom", 0.06, None),
    ]
    assert_allclose(fitting.room_m, 0.05)
    # The mesh's z points down: its own upper end is the tank's bottom, and still both ends are told.
    turned = switch_at("low", (100, -50, -60))
    (fitting,) = box_tank((400, 300, 200), {}, switches=(turned,), axes="aft, left, down").drill.fittings
    assert {stem.side: round(stem.length_m, 9) for stem in fitting.stems} == {"bottom": 0.06, "top": 0.14}
    # A block stands 20 mm under the top, over the mark: the stem to the top passes it, 100 mm off.
    block = Manifold.cube([0.4, 0.3, 0.2]) - Manifold.cube([0.05, 0.05, 0.02]).translate([0.08, 0.03, 0.16])
    (fitting,) = box_tank((1, 1, 1), {}, switches=(switch,), solid=solids.from_manifold(block)).drill.fittings
    assert_allclose([fitting.stems[0].length_m, fitting.stems[0].first_m], [0.14, 0.1], atol=1e-9)


def test_a_stem_from_a_stated_side() -> None:
    switch = switch_at("low", (100, 50, 60), through="rear")
    (fitting,) = box_tank((400, 300, 200), {}, switches=(switch,)).drill.fittings
    assert [(stem.side, round(stem.length_m, 9)) for stem in fitting.stems] == [("rear", 0.3)]


def test_a_raised_mark_stands_where_the_check_puts_it(demo: Study, header: DrillList) -> None:
    for found in demo.tank("header").switches:
        fitting = next(f for f in header.fittings if f.name == f"switch {found.name}")
        assert fitting.was_m is not None
        assert found.rise_m is not None
        assert_allclose(fitting.point_m - fitting.was_m, [0.0, 0.0, found.rise_m], atol=1e-12)
        assert_allclose(fitting.mesh_m - fitting.was_mesh_m, [0.0, 0.0, found.rise_m], atol=1e-12)
    cramped = {fitting.name: fitting.cramped for fitting in header.fittings if fitting.kind == "switch"}
    assert cramped == {"switch 20 min": True, "switch 10 min": False, "switch 5 min": False}


@pytest.mark.parametrize(
    ("late", "minutes", "doubt"),
    [
        (None, 0.0, "never trips"),
        (SimpleNamespace(latest_m3=1.0), 19.0, "too late"),
        (SimpleNamespace(latest_m3=1.0), 20.0, ""),
    ],
)
def test_a_mark_that_no_rise_mends_is_not_to_be_drilled(late: Any, minutes: float, doubt: str) -> None:
    switch = switch_at("low", (100, 50, 60), target="20 min")
    found = SimpleNamespace(
        name="low", rise_m=None, worst=late, outflow=SimpleNamespace(to=()), alone_minutes=lambda _: minutes
    )
    (fitting,) = box_tank((400, 300, 200), {}, switches=(switch,), studies=(found,)).drill.fittings
    assert doubt in fitting.doubt
    assert bool(fitting.doubt) == bool(doubt)


# --- the sheet -------------------------------------------------------------------------------------------------------


def places_in(svg: str) -> dict[str, np.ndarray]:
    """The middle of each shape with an id that says what it is, in mm from the paper's upper left corner, y downwards."""
    found = {}
    for name, path in re.findall(r'<g id="d[0-9a-f]{8}-place-([^"]+)">\s*<path d="([^"]*)"', svg):
        points = np.array(re.findall(r"[ML] (-?[\d.]+) (-?[\d.]+)", path), dtype=float) * MM_PER_PT
        found[name] = np.array([points.min(axis=0), points.max(axis=0)])
    return found


def middles(svg: str) -> dict[str, np.ndarray]:
    return {name: (ends[0] + ends[1]) / 2.0 for name, ends in places_in(svg).items()}


@lru_cache(maxsize=1)
def texts_of(figure: Figure) -> tuple[list[str], np.ndarray]:
    """What stands on a figure, and of each text its lower left and upper right corner in dots (n, 2, 2), by the renderer."""
    figure.draw_without_rendering()
    texts = [text for axes in figure.axes for text in axes.texts]
    return [text.get_text() for text in texts], np.array(
        [one.get_window_extent().get_points() for one in texts]
    ).reshape(-1, 2, 2)


def overlapping(figure: Figure) -> list[tuple[str, str]]:
    """Pairs of texts of which one lies on another, measured by the renderer: a fifth of a height is room for accents."""
    texts, boxes = texts_of(figure)
    low, high = boxes[:, None, 0], boxes[:, None, 1]  # (k, 1, 2) against (1, n, 2)
    shared = np.minimum(high, boxes[None, :, 1]) - np.maximum(low, boxes[None, :, 0])
    sides = (boxes[:, 1] - boxes[:, 0]).min(axis=1)
    least = np.maximum(1.0, 0.2 * np.minimum(sides[:, None], sides[None]))
    on = np.argwhere(np.tril((shared > least[:, :, None]).all(axis=2), -1))
    return [(texts[k], texts[n]) for k, n in on]


def off_paper(figure: Figure) -> list[str]:
    """Texts that come nearer to the paper's edge than printers print."""
    texts, boxes = texts_of(figure)
    margins = np.hstack([boxes[:, 0], figure.get_size_inches() * figure.dpi - boxes[:, 1]]).min(axis=1)
    return [texts[k] for k in np.flatnonzero(margins < 6.0 * figure.dpi / 25.4)]


@pytest.mark.parametrize("paper", PAPERS)
@pytest.mark.parametrize("case", hard_cases(), ids=lambda case: case.name)
def test_hard_cases_keep_their_labels_apart_on_one_page(case: TankCase, paper: str) -> None:
    pages = sheets(sheet_for(case, paper))
    assert len(pages) == 1
    assert overlapping(pages[0]) == []
    assert off_paper(pages[0]) == []


@pytest.mark.parametrize("length", ["mm", "in"])
def test_the_demo_keeps_its_labels_apart(demo: Study, length: str) -> None:
    for paper in PAPERS:
        (page,) = sheets(header_sheet(demo, paper, length))
        assert overlapping(page) == []
        assert off_paper(page) == []


@pytest.mark.parametrize("case", hard_cases(), ids=lambda case: case.name)
def test_each_fitting_is_drawn_where_its_row_says(case: TankCase) -> None:
    """Against the first, which sits in the corner of all three edges: the figures of the table, at the scale, on the paper."""
    sheet = sheet_for(case, "a4")
    svg = ink.svg_text(sheets(sheet)[0])
    found = middles(svg)
    scales = {view: float(re.search(rf"{view.title()}, 1 : ([\d.]+)", svg)[1]) for view in ("plan", "side", "end")}  # type: ignore[index]
    rows = FittingTable.of(sheet.drill, sheet.shown, 180.0).rows
    nose_up = "from above, nose up" in svg
    for row in rows:
        number = row.cells[0]
        aft, right, up = (float(cell.replace("−", "-")) for cell in row.cells[5:8])
        wanted = {"plan": (right, aft) if nose_up else (aft, -right), "side": (aft, -up), "end": (right, -up)}
        for view, at in wanted.items():
            assert_allclose(
                found[f"{view}-{number}"] - found[f"{view}-1"],
                np.array(at) / scales[view],
                atol=0.06,
                err_msg=f"{view} {number}",
            )


def test_a_sheet_in_inches_has_its_check_line_in_inches(demo: Study) -> None:
    (sheet,) = sheets(replace(header_sheet(demo, "a4"), shown=Shown(length="in")))
    low, high = places_in(ink.svg_text(sheet))["check"]
    assert_allclose(high - low, [4 * 25.4, 0.0], atol=0.01)
    assert "Check: this line is 4 in. Print" in ink.svg_text(sheet)


def test_check_line_and_paper_are_true(demo: Study, monkeypatch: pytest.MonkeyPatch) -> None:
    for paper, (width, height) in PAPERS.items():
        svg = ink.svg_text(sheets(header_sheet(demo, paper))[0])
        low, high = places_in(svg)["check"]
        assert_allclose(high - low, [100.0, 0.0], atol=0.01)
        size = re.search(r'height="([\d.]+)mm" viewBox="0 0 ([\d.]+) ([\d.]+)" width="([\d.]+)mm"', svg) or re.search(
            r'width="([\d.]+)mm" height="([\d.]+)mm" viewBox="0 0 ([\d.]+) ([\d.]+)"', svg
        )
        assert size
        assert sorted(float(part) for part in size.groups() if float(part) < 300) == pytest.approx(
            sorted((width, height)), abs=0.01
        )
        monkeypatch.setitem(mpl.rcParams, "pdf.compression", 0)
        pdf = drill_files.as_bytes(header_sheet(demo, paper), ".pdf").decode("latin-1")
        box = re.search(r"/MediaBox \[ 0 0 ([\d.]+) ([\d.]+) \]", pdf)
        assert box
        assert_allclose([float(part) * MM_PER_PT for part in box.groups()], sorted((width, height)), atol=0.01)
        lines = re.findall(r"\n([\d.]+) ([\d.]+) m\n([\d.]+) ([\d.]+) l\n", pdf)
        lengths = [(float(c) - float(a)) * MM_PER_PT for a, b, c, d in lines if b == d]
        assert any(abs(length - 100.0) < 0.01 for length in lengths)


def words(figure: Figure) -> str:
    return "\n".join(text.get_text() for axes in figure.axes for text in axes.texts)


def test_the_sheet_tells_old_and_new_place_stem_and_stroke(demo: Study) -> None:
    text = words(sheets(header_sheet(demo))[0])
    assert (
        "MOVED up 33.9 for its minutes: 68.0 → 101.9 from the lowest point. The design has mesh (20.0, 80.0, 48.0)."
        in text
    )
    assert (
        "Stem 178.1 from the top or 54.9 from the bottom. Float: 15.0 free all round over 3.0 of stroke; there is 20.0."
        in text
    )
    assert text.count("DO NOT DRILL: its float has too little room there.") == 1
    assert {"Section A, 1 : 6", "80.0 mm from the left wall"} <= set(text.splitlines())
    assert "lay a straight-edge there" in text
    assert "drilled\nand\nmeasured" not in text  # three lines, written from below
    assert {"drilled", "and", "measured"} <= set(text.splitlines())


def test_the_thickness_of_a_wall_is_told() -> None:
    case = box_tank((400, 300, 200), {"one": (100, 50, 200)})
    thick = replace(case, drill=replace(case.drill, wall_m=0.0012))
    told = words(sheets(sheet_for(thick, "a4"))[0]).replace("\n", " ")
    assert "add its 1.2 mm where you measure from outside" in told


def test_more_fittings_than_a_page_holds_go_on() -> None:
    case = box_tank((400, 300, 200), {f"port {k}": (7 * k, 5 * k, 200) for k in range(1, 51)})
    pages = sheets(sheet_for(case, "a4"))
    assert len(pages) > 1
    text = "\n".join(words(page) for page in pages)
    for k in range(1, 51):
        assert text.splitlines().count(f"port {k}") == 1
    with pytest.raises(QuestionError, match=r"50 fittings take . pages, and an SVG has one"):
        drill_files.as_bytes(sheet_for(case, "a4"), ".svg")
    assert drill_files.as_bytes(sheet_for(case, "a4"), ".pdf").count(b"/MediaBox") == len(pages)


def test_the_same_sheet_gives_the_same_bytes() -> None:
    case = box_tank((400, 300, 200), {"one": (100, 50, 200)})
    for kind in (".svg", ".pdf"):
        assert len({drill_files.as_bytes(sheet_for(case, "a4"), kind) for _ in range(2)}) == 1


def test_apart_keeps_order_gap_and_ends() -> None:
    band = [Ordinate(str(k), (), along) for k, along in enumerate((0.0, 0.1, 0.2, 19.9, 20.0))]
    places = apart(band, 0.0, 20.0)
    assert (np.diff(places) >= PITCH_MM - 1e-9).all()
    assert places[0] >= 0.0
    assert places[-1] <= 20.0 + 1e-9


def test_packings_lay_no_cell_on_another() -> None:
    cells = [(30.0, 20.0), (25.0, 10.0), (12.0, 40.0), (9.0, 9.0)]
    found = list(packings(cells, Frame(0.0, 0.0, 90.0, 90.0)))
    assert len(found) > 20
    for packing in found:
        boxes = [(x, y, x + w, y + h) for (x, y), (w, h) in zip(packing.spots, cells, strict=True)]
        for k, one in enumerate(boxes):
            assert one[2] <= packing.width + 1e-9
            assert one[3] <= packing.height + 1e-9
            for two in boxes[:k]:
                assert min(one[2], two[2]) <= max(one[0], two[0]) or min(one[3], two[3]) <= max(one[1], two[1])


def test_a_review_has_a_page_for_each_tank_with_fittings(demo: Study) -> None:
    assert list(drill_files.review_pages(demo, Shown(), DAY)) == ["header drill"]
    bare = replace(demo.tanks[0], tank=box_tank((400, 300, 200), {}).tank, switch=tuple)
    assert drill_files.review_pages(replace(demo, tanks=(bare,)), Shown(), DAY) == {}
    with pytest.raises(QuestionError, match="nothing is fitted to it"):
        drill_files.sheet_of(demo.layout, bare, drill_list(bare), Shown())


def test_a_port_may_say_its_side_and_only_a_side() -> None:
    port = {"name": "a", "position": ["0 mm", "0 mm", "0 mm"]}
    assert Port.model_validate(port | {"through": "top"}).through == "top"
    with pytest.raises(ValueError, match="front"):
        Port.model_validate(port | {"through": "lid"})
