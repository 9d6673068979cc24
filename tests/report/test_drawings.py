"""Drawings and the page: sections against areas that other means give, labels, orientation, scale, and sound HTML."""

from __future__ import annotations

import io
import re
import zlib
from collections.abc import Iterator, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace
from datetime import datetime
from html.parser import HTMLParser
from math import floor, radians
from pathlib import Path

import designs
import numpy as np
import pytest
import solids
from commands import demo_study
from matplotlib.figure import Figure
from matplotlib.image import imread
from numpy.testing import assert_allclose, assert_array_equal
from random_solids import random_body
from rule_cases import study_of

from fuelsys.analysis.sweeping.map import unusable_map
from fuelsys.analysis.tank.tilted import Tilted
from fuelsys.analysis.tank.unusable import left_at, outlets
from fuelsys.errors import QuestionError
from fuelsys.model.built.cavity import Cavity
from fuelsys.model.found.dipstick import Graduation
from fuelsys.model.found.findings import COMMON_PRACTICE, Finding, Outcome, Rule
from fuelsys.model.found.study import Study
from fuelsys.model.stated.attitude import Attitude
from fuelsys.report.charts import dipstick as stick
from fuelsys.report.charts import plumbing
from fuelsys.report.charts.drawings import UnusableMap, as_svg, figures, of_tank, scale
from fuelsys.report.charts.switches import switch_chart
from fuelsys.report.drawing import ink, labels
from fuelsys.report.drawing.files import PAPERS_MM, as_pdf, on_paper
from fuelsys.report.drawing.sections import AFT, REAR, RIGHT, SIDE, UP, View, fuel_in, section, silhouette
from fuelsys.report.drawing.tank_pictures import Picture, hatch_of, marks
from fuelsys.report.page.page import _WORST_SHOWN, _hidden, page
from fuelsys.report.shown import Shown
from fuelsys.report.table import Column, Table
from fuelsys.report.tables.capacity import facets_note
from fuelsys.review import study
from fuelsys.rules.coverage.figures_tank import ten_minutes

PITCHES, ROLLS = np.radians([-15.0, 0.0, 9.0, 20.0]), np.radians([-12.0, 0.0, 5.0])
MADE = datetime(2025, 1, 2, 3, 4)


@pytest.fixture(scope="module")
def demo() -> Study:
    return demo_study()


@pytest.fixture(scope="module")
def maps(demo: Study) -> dict[str, UnusableMap]:
    return {t.name: UnusableMap(PITCHES, ROLLS, unusable_map(t.tank, PITCHES, ROLLS)) for t in demo.tanks}


@pytest.fixture(scope="module")
def drawn(demo: Study, maps: dict[str, UnusableMap]) -> dict[str, dict[str, Figure]]:
    return figures(demo, maps, Shown())


@pytest.fixture(scope="module")
def svgs(drawn: dict[str, dict[str, Figure]]) -> dict[str, dict[str, str]]:
    return as_svg(drawn)


def cavity_of(solid: solids.Solid) -> Cavity:
    vertices, faces = solid
    return Cavity.of(vertices, faces)


# --- sections --------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("solid", "normal", "depth", "area"),
    [
        pytest.param(solids.box(2, 3, 4), AFT, 0.3, 12.0, id="box across: 3 x 4"),
        pytest.param(solids.box(2, 3, 4), -UP, 1.1, 6.0, id="box level, from below: 2 x 3"),
        # The L stands about (1.5, 0.5, 1): its foot is 3 x 1, the leg above it 1 x 1; cut along the middle 3 + 1.
        pytest.param(solids.l_tank(), RIGHT, 0.0, 4.0, id="L along: 3 x 1 + 1 x 1"),
        pytest.param(solids.l_tank(), UP, -0.5, 3.0, id="L through the foot"),
        pytest.param(solids.l_tank(), UP, 0.5, 1.0, id="L through the leg"),
        pytest.param(solids.l_tank(), AFT, -1.0, 2.0, id="L through foot and leg: 1 x 2"),
        # A window of 1 x 1 in a frame of 3 x 3: the inner loop counts negative.
        pytest.param(solids.ring(), RIGHT, 0.0, 8.0, id="frame: 9 - 1"),
        # A plane through a level face takes the near side: just below the foot's roof.
        pytest.param(solids.l_tank(), UP, 0.0, 3.0, id="L in the plane of the foot's roof"),
        pytest.param(solids.box(2, 3, 4), UP, 2.5, 0.0, id="past the box"),
    ],
)
def test_section_areas_by_hand(solid: solids.Solid, normal: np.ndarray, depth: float, area: float) -> None:
    assert_allclose(section(cavity_of(solid), normal, depth).area_m2, area, atol=1e-12)


@pytest.mark.parametrize("seed", range(6))
def test_section_area_is_the_volume_kernels_derivative(seed: int) -> None:
    cavity = cavity_of(random_body(seed))
    tilted = Tilted.of(cavity, UP)
    levels = np.linspace(tilted.low_m, tilted.high_m, 23)[1:-1] + 1e-4
    areas = [section(cavity, UP, float(level)).area_m2 for level in levels]
    assert_allclose(areas, tilted.volume_and_area(levels)[1], rtol=1e-9, atol=1e-9)


def test_fuel_in_a_section_of_the_l() -> None:
    # Foot 3 x 1 filled to half its height: 3 x 0.5, one surface from wall to wall, 3 long.
    cavity = cavity_of(solids.l_tank())
    fuel = fuel_in(section(cavity, RIGHT, 0.0), np.ones(len(cavity.faces), bool), UP, -0.5)
    assert_allclose(fuel.area_m2(RIGHT), 1.5)
    assert_allclose(np.ptp(fuel.surface_m, axis=1), [[3.0, 0.0, 0.0]])


@pytest.mark.parametrize("name", ["climb", "slip, left wing low", "descent"])
@pytest.mark.parametrize("normal", [RIGHT, AFT], ids=["side", "rear"])
def test_areas_of_fuel_sum_to_what_stays(demo: Study, name: str, normal: np.ndarray) -> None:
    """The drawn areas of a tank with ribs, pockets and a post, over many parallel cuts: their sum is the volume."""
    tank = demo.tank("left")
    assert tank.capacity.unusable is not None
    left = next(at for at in tank.capacity.unusable.at if at.attitude.name == name)
    cavity, up = tank.tank.cavity, left.attitude.up
    stays = Picture.of(tank.tank, left.attitude).left
    depths = cavity.vertices_m @ normal
    edges = np.linspace(depths.min(), depths.max(), 401)
    held = 0.0
    for depth in (edges[:-1] + edges[1:]) / 2.0:
        cut = section(cavity, normal, float(depth))
        held += sum(fuel_in(cut, fuel.of_pool, up, fuel.level_m).area_m2(normal) for fuel in stays)
    assert_allclose(held * (edges[1] - edges[0]), left.unusable_m3, rtol=0.01)


def test_silhouette_of_a_box_is_its_outline() -> None:
    courses = silhouette(cavity_of(solids.box(2, 3, 4)), SIDE)
    assert_allclose(sum(np.hypot(*np.diff(course, axis=0).T).sum() for course in courses), 2 * (2 + 4))


# --- the turned picture ----------------------------------------------------------------------------------------------


def test_nose_up_shows_the_nose_high_and_fuel_aft(demo: Study) -> None:
    climb = Attitude.of_degrees(9.0, 0.0)
    turn = SIDE.turned(climb.up)
    nose, tail = (float((way @ turn)[1]) for way in (-AFT, AFT))
    assert nose > 0.0 > tail
    assert float((AFT @ turn)[0]) > 0.9  # aft lies to the right
    left = Picture.of(demo.tank("left").tank, climb).left
    trapped = max((fuel for fuel in left if not fuel.drains), key=lambda fuel: fuel.volume_m3)
    assert float((trapped.centroid_m @ turn)[0]) > 0.1  # 100 mm aft of the middle


@pytest.mark.parametrize("view", [SIDE, REAR], ids=["side", "rear"])
def test_turned_paper_is_neither_stretched_nor_mirrored(view: View) -> None:
    turn = view.turned(Attitude("", "flight", radians(9.0), radians(-7.0)).up)
    flat = np.array([view.across, view.height]) @ turn
    assert_allclose(flat @ flat.T, np.eye(2), atol=1e-12)
    assert_allclose(np.linalg.det(flat), 1.0)


def test_every_surface_is_level_on_the_turned_paper(demo: Study) -> None:
    tilted = Attitude("slip", "flight", radians(4.0), radians(-7.0), right_m_s2=1.0)
    tank = demo.tank("left").tank
    turn = SIDE.turned(tilted.up)
    cut = section(tank.cavity, RIGHT, -0.2)
    (fuel,) = (f for f in Picture.of(tank, tilted).left if f.drains)
    surface = fuel_in(cut, fuel.of_pool, tilted.up, fuel.level_m).surface_m
    assert len(surface) > 0
    heights = (surface @ turn)[..., 1]
    assert_allclose(heights, heights[0, 0], atol=1e-12)


# --- the map ---------------------------------------------------------------------------------------------------------


def test_map_is_left_at_on_each_node_whoever_computes_it(demo: Study, maps: dict[str, UnusableMap]) -> None:
    tank = demo.tank("left").tank
    by_hand = [
        [left_at(tank.cavity, Attitude("", "flight", p, r), outlets(tank)).unusable_m3 for r in ROLLS] for p in PITCHES
    ]
    assert_array_equal(maps["left"].unusable_m3, by_hand)
    for workers in (1, 2):
        told: list[tuple[int, ...]] = []
        with ThreadPoolExecutor(workers) as executor:
            shared = unusable_map(tank, PITCHES, ROLLS, executor, lambda *at, told=told: told.append(at))
        assert_array_equal(shared, maps["left"].unusable_m3)
        assert told == [(1, 4), (2, 4), (3, 4), (4, 4)]


def test_map_of_a_tank_without_an_outlet_is_refused(demo: Study) -> None:
    tank = demo.tank("left").tank
    bare = replace(tank, design=tank.design.model_copy(update={"outlet": ()}))
    with pytest.raises(QuestionError, match="tank left has no outlet"):
        unusable_map(bare, PITCHES, ROLLS)


# --- figures ---------------------------------------------------------------------------------------------------------


def words(figure: Figure) -> str:
    return "\n".join(text.get_text() for axes in figure.axes for text in axes.texts)


def test_arrangement_names_every_fitting(demo: Study, drawn: dict[str, dict[str, Figure]]) -> None:
    for tank in demo.tanks:
        found = words(drawn[tank.name]["Arrangement"]).splitlines()
        named = [mark.words for mark in marks(tank.tank)]
        named += ["dipstick"] if tank.dipstick else []
        for name in named:
            assert found.count(name) == 2, f"{tank.name}: {name}"  # in the side and in the rear view


def test_sheet_shows_every_attitude_with_its_quantity(demo: Study, drawn: dict[str, dict[str, Figure]]) -> None:
    for tank in demo.tanks:
        assert tank.capacity.unusable is not None
        sheets = [words(drawn[tank.name][f"Fuel that stays at each attitude, sheet {k} of 2"]) for k in (1, 2)]
        found = "\n".join(sheets)
        first = [float(held) for held in re.findall(r"(?:in flight|on the ground): ([\d.]+) L", found)]
        assert first[1:] == sorted(first[1:], reverse=True)  # behind the worst in flight
        assert "worst in flight" in sheets[0]
        for at in tank.capacity.unusable.at:
            assert at.attitude.name in found
            assert f": {at.unusable_m3 * 1e3:.3f} L" in found
        assert f"worst in flight: {tank.capacity.unusable.worst.unusable_m3 * 1e3:.3f} L" in found


def test_all_tanks_share_one_scale_and_the_loudest_is_the_largest_loss(
    demo: Study, maps: dict[str, UnusableMap]
) -> None:
    litres = scale(demo.tanks, maps, Shown())
    most = max(at.sustained_m3 for tank in demo.tanks if tank.capacity.unusable for at in tank.capacity.unusable.at)
    colors = litres.colors
    assert len(colors) >= 4
    assert litres.color(most * 1e3) == colors[-1]
    assert litres.color(0.026) == colors[0]  # the header's pocket of 26 mL
    light = [sum(int(color[k : k + 2], 16) for k in (1, 3, 5)) for color in colors]
    assert light == sorted(light, reverse=True)


def test_fuel_that_a_line_holds_back_has_a_pattern_of_its_own(demo: Study) -> None:
    """The right tank's line rises above its outlet, the left one's does not: what the outlet alone leaves is less."""
    descent = next(at for at in demo.layout.design.envelope if at.name == "descent")
    right, left = (Picture.of(demo.tank(name).tank, descent) for name in ("right", "left"))
    assert right.kinds == ["residual", "held"]
    assert "held" not in left.kinds
    assert sum(fuel.volume_m3 for fuel in right.below) < 0.5 * right.volume_m3
    assert len({hatch_of(kind, "#ffffff") for kind in ("residual", "trapped", "held")}) == 3


def test_hatching_stays_in_its_outline_and_covers_it() -> None:
    box, lines = ink.box(10.0, 5.0, 30.0, 25.0), ink.Hatch(45.0, 1.0, "black").lines([ink.box(10.0, 5.0, 30.0, 25.0)])
    aside = [float(line[0] @ [-1.0, 1.0]) / np.sqrt(2.0) for line in lines]
    assert_allclose(np.diff(aside), 1.0)
    corners = box @ [-1.0, 1.0] / np.sqrt(2.0)
    assert min(aside) <= corners.min()
    assert max(aside) >= corners.max()


def test_charts_carry_their_figures(demo: Study, drawn: dict[str, dict[str, Figure]]) -> None:
    header = demo.tank("header")
    assert header.capacity.filled is not None
    curve = words(drawn["header"]["Volume against level"])
    assert f"{header.capacity.filled.volume_m3 * 1e3:.3f} L" in curve
    minutes = words(drawn["header"]["Minutes left when each switch trips"])
    for switch in header.switches:
        assert f"switch {switch.name} trips\n{(switch.normal.trip_m3 or 0.0) * 1e3:.3f} L" in curve
        assert switch.worst is not None
        assert (
            f"{floor(10.0 * (switch.least_minutes(switch.worst.latest_m3) or 0.0)) / 10.0:.1f} at worst: {switch.worst.attitude.name}"
            in minutes
        )
    for attitude in demo.layout.design.envelope:
        assert attitude.heading in words(drawn["header"]["Unusable fuel over pitch and roll"])


def test_minutes_are_drawn_and_asked_for_at_the_whole_flow() -> None:
    # A tank that gives half of the flow gives all of it once the tank beside it is empty: minutes are half of its share's.
    tank = study_of({"tank.1.flow_share": "50 %"}).tank("header")
    chart = switch_chart(tank)
    assert chart is not None
    for switch in tank.switches:
        worst = switch.worst
        assert worst is not None
        usual, least = switch.minutes(worst.latest_m3) or 0.0, switch.least_minutes(worst.latest_m3) or 0.0
        assert least <= usual / 2.0
        assert f"{floor(10.0 * least) / 10.0:.1f} at worst: {worst.attitude.name}" in words(chart)
    asked = ten_minutes(study_of({"tank.1.flow_share": "50 %"}), tank)
    assert asked == ten_minutes(study_of({}), study_of({}).tank("header"))


def test_plumbing_names_lines_components_and_ports(demo: Study, drawn: dict[str, dict[str, Figure]]) -> None:
    for figure in drawn[""].values():
        found = words(figure)
        for line in demo.layout.lines:
            assert line.name in found
        for component in demo.layout.design.component:
            assert component.name in found
        for tank in demo.tanks:
            for mark in marks(tank.tank):  # twins' that lie on one another have one label
                assert mark.kind == "switch" or mark.words in found


def test_spread_keeps_order_and_gap() -> None:
    wanted = np.array([0.0, 0.1, 0.2, 5.0, 5.05, 30.0])
    placed = labels.spread(wanted, 2.0)
    assert (np.diff(placed) >= 2.0 - 1e-12).all()
    assert placed[-1] == 30.0
    # A run of three about 0.1 takes -1.9, 0.1, 2.1; the pair about 5.025 has room at 4.025 and 6.025, but 4.025 < 4.1:
    # together the five lie about (0.3 + 10.05) / 5 = 2.07, from -1.93 on.
    assert_allclose(placed[:5], [-1.93, 0.07, 2.07, 4.07, 6.07])


# --- the dipstick at full size ---------------------------------------------------------------------------------------


def heights_mm(figure: Figure) -> dict[str, float]:
    """Heights of the figure's words on the paper; its axes are the paper in mm."""
    (axes,) = figure.axes
    assert axes.get_xlim() == (0.0, ink.WIDTH_MM)
    assert_allclose(figure.get_size_inches()[0] * 25.4, ink.WIDTH_MM)
    assert_allclose(figure.get_size_inches()[1] * 25.4, axes.get_ylim()[1])
    return {text.get_text(): float(text.get_position()[1]) for text in axes.texts}


def test_dipstick_is_drawn_at_full_size(
    demo: Study, drawn: dict[str, dict[str, Figure]], svgs: dict[str, dict[str, str]]
) -> None:
    found = heights_mm(drawn["left"]["Dipstick, full size"])
    stick_marks = demo.tank("left").dipstick
    assert stick_marks is not None
    for one, two in zip(stick_marks.marks[:-1], stick_marks.marks[1:], strict=True):
        apart = found[f"{two.volume_m3 * 1e3:g} L"] - found[f"{one.volume_m3 * 1e3:g} L"]
        assert_allclose(apart, (two.along_m - one.along_m) * 1e3, atol=1e-9)
    assert 'width="176.000mm"' in svgs["left"]["Dipstick, full size"]


def test_a_mark_at_the_sticks_top_and_the_words_over_it_stay_apart(demo: Study) -> None:
    tank, face = demo.tank("left").tank, demo.tank("left").dipstick
    assert face is not None
    highest = Graduation(0.06, stick.length_m(tank), (0.06, 0.06), False)
    (page,) = stick.dipstick(tank, [replace(face, zero="bottom", marks=(highest,))], Shown())
    boxes = {text.get_text(): text.get_window_extent() for text in page.axes[0].texts}
    over = boxes.pop("top of the stick")
    assert {"60 L", "total"} <= boxes.keys()
    assert [words for words, box in boxes.items() if over.overlaps(box)] == []


def test_long_stick_goes_on_in_columns_and_pages(demo: Study) -> None:
    # 1000 mm in six columns of 167 mm, two on a page, counted from the top: every mark once, none lost at a joint.
    tank = demo.tank("left").tank
    assert tank.design.dipstick is not None
    bottom, top = (0.1, 0.1, 0.0), (0.1, 0.1, 1.0)
    design = tank.design.model_copy(
        update={"dipstick": tank.design.dipstick.model_copy(update={"bottom_m": bottom, "top_m": top})}
    )
    marks = tuple(Graduation(k * 1e-3, 1.0 - 0.013 * k, (k * 1e-3, k * 1e-3), False) for k in range(1, 76))
    long = replace(demo.tank("left").dipstick, zero="top", marks=marks)  # type: ignore[type-var]
    pages = stick.dipstick(replace(tank, design=design), [long], Shown())
    assert len(pages) == 3
    found = [text for figure in pages for text in words(figure).splitlines() if re.fullmatch(r"\d+ L", text)]
    assert sorted(found) == sorted(f"{k} L" for k in range(1, 76))
    heights = heights_mm(pages[0])
    assert_allclose(heights["2 L"] - heights["1 L"], 13.0)  # counted from the top, more fuel still stands higher


def printed_mm(figure: Figure, paper: str, columns: Sequence[float]) -> list[list[float]]:
    """On the paper's own raster at 300 dpi: how high over the strips' lower line the marks stand that jut out of each strip."""
    (axes,) = on_paper(figure, paper).axes
    buffer = io.BytesIO()
    figure.savefig(buffer, format="png", dpi=300, facecolor="white")
    buffer.seek(0)
    pixels = np.asarray(imread(buffer))[:, :, 0]
    per_mm = 300 / 25.4
    left, bottom = axes.transData.transform((0.0, 0.0)) * 25.4 / figure.dpi
    found = []
    for x in columns:
        column = pixels[:, int((left + x + 11.0 + 1.2) * per_mm)]  # where labelled marks stand out of the strip
        rows = np.flatnonzero(column < 0.5)
        middles = [float(run.mean()) for run in np.split(rows, np.flatnonzero(np.diff(rows) > 1) + 1)]
        found.append([pixels.shape[0] / per_mm - bottom - 7.0 - (row + 0.5) / per_mm for row in middles])
    return found


def test_printed_marks_lie_within_0_2_mm_of_the_table_at_300_dpi(demo: Study) -> None:
    """Against the table's distances."""
    tank = demo.tank("left")
    assert tank.dipstick is not None
    (figure,) = stick.dipstick(tank.tank, [tank.dipstick], Shown())
    (found_mm,) = printed_mm(figure, "a4", [8.0])
    for mark in tank.dipstick.marks:
        assert min(abs(at - mark.along_m * 1e3) for at in found_mm) < 0.2


@pytest.mark.parametrize("paper", PAPERS_MM)
def test_a_pdf_has_each_mark_where_the_table_has_it(demo: Study, paper: str) -> None:
    """In the file's own lines, in points of 1/72 inch, over the line that the stick's bottom stands on; its paper's size besides."""
    tank = demo.tank("left")
    assert tank.dipstick is not None
    pdf = as_pdf(stick.dipstick(tank.tank, [tank.dipstick], Shown()), paper)
    box = re.search(rb"MediaBox \[ ?0 0 ([\d.]+) ([\d.]+)", pdf)
    assert box is not None
    assert_allclose([float(side) * 25.4 / 72.0 for side in box.groups()], PAPERS_MM[paper], atol=0.01)
    drawn = b"".join(
        zlib.decompressobj().decompress(one) for one in re.findall(rb"stream\r?\n(x.*?)endstream", pdf, re.S)
    )
    lines = np.array(re.findall(rb"([\d.]+) ([\d.]+) m\n([\d.]+) ([\d.]+) l", drawn), np.float64) * 25.4 / 72.0
    level = lines[lines[:, 1] == lines[:, 3]]
    wide = np.abs(level[:, 2] - level[:, 0])
    bottom = level[np.abs(wide - 17.0) < 0.01, 1].min()  # the ends' lines, 3 mm over the strip's 11 on both sides
    marks = level[np.abs(wide - 13.0) < 0.01, 1] - bottom  # out of the strip by 2 mm, to their figures
    assert_allclose(np.sort(marks), [mark.along_m * 1e3 for mark in tank.dipstick.marks], atol=0.01)


def test_both_faces_of_a_long_stick_are_printed_within_0_2_mm_on_each_sheet(demo: Study) -> None:
    """300 mm of two faces on two sheets of the shorter paper: each mark, and the end that both are cut at."""
    tank, one = demo.tank("left").tank, demo.tank("left").dipstick
    assert tank.design.dipstick is not None
    assert one is not None
    ends = tank.design.dipstick.model_copy(update={"bottom_m": (0.1, 0.1, 0.0), "top_m": (0.1, 0.1, 0.3)})
    tank = replace(tank, design=tank.design.model_copy(update={"dipstick": ends}))
    marks = [tuple(Graduation(k * 1e-3, step * k, (k * 1e-3,) * 2, False) for k in range(1, 22)) for step in (0.0137, 0.0113)]  # fmt: skip
    front = replace(one, marks=marks[0], other=Attitude.of_degrees(1.0, 0.0, name="level"))
    back = replace(front, attitude=front.other, other=front.attitude, marks=marks[1])
    pages = stick.dipstick(tank, [front, back], Shown())
    assert len(pages) == 2
    assert [sorted(set(re.findall(r"(?m)^[A-Z][12]$", words(sheet)))) for sheet in pages] == [["A1", "A2"]] * 2
    for number, sheet in enumerate(pages):
        for found_mm, face in zip(printed_mm(sheet, "letter", [8.0, 82.0]), marks, strict=True):
            ups = [mark.along_m * 1e3 - 150.0 * number for mark in face]
            for up in [at for at in ups if 0.0 <= at <= 150.0] + [0.0, 150.0]:
                assert min(abs(at - up) for at in found_mm) < 0.2


# --- SVG and the page ------------------------------------------------------------------------------------------------


class Outline(HTMLParser):
    """Fails on tags that do not balance; collects ids, references and text."""

    VOID = frozenset({"meta", "link", "br", "hr", "img", "input"})

    def __init__(self) -> None:
        super().__init__()
        self.open: list[str] = []
        self.ids: list[str] = []
        self.references: list[str] = []
        self.text: list[str] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        if tag not in self.VOID:
            self.open.append(tag)
        self.handle_startendtag(tag, attrs)

    def handle_startendtag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        assert tag not in ("link", "img", "iframe", "object"), tag
        assert tag != "script" or "src" not in dict(attrs)
        for name, value in attrs:
            if name == "id":
                self.ids.append(value or "")
            if name in ("href", "src"):
                self.references.append(value or "")
            self.references += re.findall(r"url\(([^)]*)\)", value or "")

    def handle_endtag(self, tag: str) -> None:
        assert self.open, f"</{tag}> closes nothing"
        assert self.open.pop() == tag

    def handle_data(self, data: str) -> None:
        if self.open[-1:] != ["script"]:
            self.text.append(data)

    @classmethod
    def of(cls, html: str) -> Outline:
        outline = cls()
        outline.feed(html)
        outline.close()
        assert outline.open == []
        return outline


def rule(name: str) -> Rule:
    def judge(_: Study) -> Iterator[None]:
        yield from ()

    return Rule(name, "tank", f"Checks <{name}> & more.", f"Why {name}.", f"Mend {name}.", (COMMON_PRACTICE,), judge)  # type: ignore[arg-type]


FINDINGS = [
    Finding(
        rule(f"fault-{outcome.name.lower()}-{k}"), outcome, f"place <{k}>", (f"evidence {outcome} {k}",), (f"mend {k}",)
    )
    for outcome in Outcome
    for k in range(3)
]


def some_table(key: str) -> Table:
    return Table(key, f"Title of {key}", (Column("what"), Column("held", "volume")), (("row", 0.012345),), ("A note.",))


@pytest.fixture(scope="module")
def html(demo: Study, svgs: dict[str, dict[str, str]]) -> str:
    tables = {
        name: [some_table(f"{name or 'whole'} {k}") for k in range(3)] for name in ("", "left", "right", "header")
    }
    return page(demo, FINDINGS, tables, svgs, MADE, "1.2.3", Shown())


def test_page_is_balanced_and_needs_nothing_from_outside(html: str) -> None:
    outline = Outline.of(html)
    assert "http" not in html
    assert len(outline.ids) == len(set(outline.ids))
    assert {reference.removeprefix("#") for reference in outline.references} <= set(outline.ids)
    assert "@import" not in html


def test_page_holds_every_finding_table_and_drawing(html: str, demo: Study, svgs: dict[str, dict[str, str]]) -> None:
    text = " ".join(" ".join(Outline.of(html).text).split())
    for number, finding in enumerate(FINDINGS, 1):
        assert Shown().words(finding.evidence) in text
        assert finding.rule.name in text
        assert f" {number} " in text
        if finding.outcome is not Outcome.NOT_APPLICABLE:
            assert finding.where in text
        if finding.outcome < Outcome.PASS:
            assert finding.rule.checks in text  # with its < and &: escaped in the source
    for name in ("whole", "left", "right", "header"):
        for k in range(3):
            assert text.count(f"Title of {name} {k}") == 1
    assert text.count("held [L]") == text.count("12.345") == 12
    assert html.count("<svg") == sum(len(group) for group in svgs.values())
    for tank in demo.tanks:
        assert f"Tank {tank.name}" in text
        assert tank.tank.design.mesh in text


def test_each_drawing_has_a_sentence_with_its_figures(demo: Study, html: str) -> None:
    told = re.findall(
        r'<figure class="drawing">\s*<figcaption>[^<]*</figcaption>\s*<div class="wide"[^>]* aria-label="([^"]*)"', html
    )
    assert len(told) == html.count("<svg")
    assert all(re.search(r"\d", one) for one in told)
    minutes = next(one for one in told if one.startswith("Minutes"))
    for switch in demo.tank("header").switches:
        assert switch.worst is not None
        least = switch.minutes(switch.worst.latest_m3)
        assert (
            f"{switch.name} leaves {floor(10.0 * (least or 0.0)) / 10.0:.1f} min at worst, {switch.worst.attitude.name}"
            in minutes
        )


@pytest.mark.parametrize(
    "ink_of", [ink.INK, ink.GREY, ink.FUEL_LINE, ink.TRAPPED_LINE, *(one[0] for one in plumbing.KINDS.values())]
)
def test_letters_stand_out_from_the_paper(ink_of: str) -> None:
    """WCAG 2.1, success criterion 1.4.3: 4.5 to 1, by its relative luminance. From memory."""
    shares = [int(ink_of[k : k + 2], 16) / 255.0 for k in (1, 3, 5)]
    red, green, blue = (c / 12.92 if c <= 0.03928 else ((c + 0.055) / 1.055) ** 2.4 for c in shares)
    assert 1.05 / (0.2126 * red + 0.7152 * green + 0.0722 * blue + 0.05) >= 4.5


def test_page_says_what_it_is_and_what_it_is_not(html: str, demo: Study) -> None:
    text = " ".join(" ".join(Outline.of(html).text).split())
    wanted = (
        demo.layout.design.aircraft.name, demo.layout.design.aircraft.datum, "2025-01-02 03:04", "fuelsys 1.2.3",
        "verified by measuring", "licensed inspection decide", "guidance", "slosh, vortices", "flat facets",
        "upper bound", "There is nothing to sign yet",
    )  # fmt: skip
    for part in wanted:
        assert part in text
    assert html.index("Before you rely on this") < html.index("Summary") < html.index("Checklist")


def test_boxes_to_tick(html: str) -> None:
    assert html.count('class="box"') == sum(finding.outcome is not Outcome.NOT_APPLICABLE for finding in FINDINGS)


def test_findings_table_is_not_repeated(demo: Study) -> None:
    assert "Title of findings" not in page(demo, FINDINGS, {"": [some_table("findings")]}, {}, MADE, "1", Shown())


def test_svg_stands_alone(svgs: dict[str, dict[str, str]]) -> None:
    assert svgs
    for group in svgs.values():
        assert group
        for title, svg in group.items():
            assert svg.startswith("<svg "), title
            assert 'xmlns="http://www.w3.org/2000/svg"' in svg
            Outline.of(svg)
            assert len(svg) < 250_000, title


def test_same_study_same_drawing(demo: Study, svgs: dict[str, dict[str, str]], maps: dict[str, UnusableMap]) -> None:
    again = of_tank(demo, demo.tank("header"), maps["header"], Shown(), scale(demo.tanks, maps, Shown()))
    assert len(again) > 3
    assert as_svg({"header": again})["header"] == svgs["header"]


def test_steepest_attitudes_are_drawn(tmp_path: Path) -> None:
    """Nearly on a wing tip and nearly on the tail: beyond the map, and said so; more than one sheet of attitudes."""
    odd = [designs._attitude("knife edge", "flight", roll=85), designs._attitude("zoom", "flight", pitch=85)]
    odd += [designs._attitude(f"step {k}", "flight", pitch=k) for k in range(5)]
    bench = study(designs.layout_of(tmp_path, {"attitude": [*designs.ATTITUDES, *odd]}))
    group = of_tank(bench, bench.tank("main"), UnusableMap(PITCHES, ROLLS, np.zeros((4, 3))), Shown())
    sheets = [f"Fuel that stays at each attitude, sheet {k} of 2" for k in (1, 2)]
    assert [title for title in group if title.startswith("Fuel")] == sheets
    assert "knife edge" in words(group[sheets[0]])
    assert {"9*", "10*"} <= set(words(group["Unusable fuel over pitch and roll"]).splitlines())
    assert all(len(svg) > 1000 for svg in as_svg({"main": group})["main"].values())


def test_a_surface_that_faces_the_eye_turns_nothing() -> None:
    assert_array_equal(SIDE.turned(RIGHT), np.column_stack([SIDE.across, SIDE.height]))


def test_what_is_not_stated_is_left_out_and_said(tmp_path: Path) -> None:
    """A main tank without outlet, filler, vent and dipstick: drawn as it is, and no figures are made up for it."""
    gone = {"tank.0.outlet": [], "tank.0.vent": [], "tank.0.filler": designs.REMOVE, "tank.0.dipstick": designs.REMOVE}
    layout = designs.layout_of(tmp_path, {**gone, "line": designs.LINES[3:8]})
    bare = study(layout)
    group = figures(bare, {}, Shown())["main"]
    assert list(group) == ["Arrangement", "Volume against level"]
    assert "unusable" not in words(group["Volume against level"])
    assert "drained" not in words(group["Arrangement"])
    text = " ".join(Outline.of(page(bare, [], {}, as_svg({"main": group}), MADE, "1", Shown())).text)
    assert (
        text.count("not computed") == 5
    )  # fillable, unusable, usable of its chapter; fillable and unusable to be measured


@pytest.mark.parametrize(
    ("facets_m3", "told"),
    [
        ((1.2e-5, 0.0), "+0.003 US gal"),
        ((1.2e-5, 4e-6), "+0.003 US gal, −0.001 US gal"),
        ((1e-9, 0.0), "under 0.001 US gal"),
        ((1e-13, 0.0), "under 0.001 US gal"),
        ((0.0, 1e-22), "nothing"),
    ],
)
def test_what_facets_hide_is_no_row_of_zeros(facets_m3: tuple[float, float], told: str) -> None:
    assert _hidden(facets_m3, Shown(volume="US gal")) == told


@pytest.mark.parametrize(("more", "told"), [(1, "1 more is in the checklist"), (2, "2 more are in the checklist")])
def test_one_finding_more_is_one(more: int, told: str, demo: Study) -> None:
    def fault(part: int) -> Rule:  # each at a part of its own: what one part has is one row
        words = ("It is good.", "It counts.", "Mend it.")
        return Rule("a-fault", f"part {part}", *words, (COMMON_PRACTICE,), lambda _: iter(()))

    found = [Finding(fault(k), Outcome.FAIL, "left", "it is bad", "Mend it.") for k in range(_WORST_SHOWN + more)]
    assert told in page(demo, found, {}, {}, MADE, "0", Shown())


def test_a_switch_that_trips_too_late_is_drawn_with_words(tmp_path: Path) -> None:
    # The design of test_rules_low_level.py whose mark lies below what is unusable at the worst attitude.
    changes = {
        "attitude": [designs.ATTITUDES[k] for k in (0, 2, 3)],
        "tank.1.outlet.0.position": ["0 mm", "80 mm", "0 mm"],
        "tank.1.switch.1.mark": ["0 mm", "80 mm", "13 mm"],
    }
    of = study(designs.layout_of(tmp_path, changes))
    chart = of_tank(of, of.tank("header"), None, Shown())["Minutes left when each switch trips"]
    assert "none left (0.5 min late) at worst: cruise" in words(chart)
    assert any("below 0: none is left" in axes.get_xlabel() for axes in chart.axes)


def test_facets_that_hide_little_are_told_in_words() -> None:
    # A ball of 10 mm of radius, 4.19 mL: its facets hide some 0.1 mL of bulges and no dents.
    corners, faces = solids.sphere(0.01)
    note = facets_note(Cavity.of(corners, faces.astype(np.int32)), Shown())
    assert note.endswith("the true volume is under 0.001 L more where the cavity bulges.")
    corners, faces = solids.sphere(0.1)
    note = facets_note(Cavity.of(corners, faces.astype(np.int32)), Shown())
    assert re.search(r"the true volume is about 0\.0\d\d L more where the cavity bulges\.$", note), note
