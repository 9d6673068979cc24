"""What is written in the units asked for: every picture, table, note and finding, by options or by the design's [show]."""

from __future__ import annotations

import base64
import csv
import json
import pickle
import re
import shutil
from collections.abc import Callable, Iterator
from html import unescape
from pathlib import Path

import pytest
from asked import printed, refusal
from browser import browser, needs_browser
from click.testing import CliRunner
from commands import DEMO, MESHES
from rule_cases import study_of
from test_printing import SIZES, filled

from fuelsys import units
from fuelsys.analysis.flights import failures
from fuelsys.analysis.tank.dipstick import dipstick
from fuelsys.load.designs.door import load_design
from fuelsys.model.built.layout import Layout
from fuelsys.model.found.fly import Failures
from fuelsys.model.words import Quantity
from fuelsys.report.shown import Shown
from fuelsys.report.tables import capacity as capacity_tables
from fuelsys.review import findings, study
from fuelsys.rules import ALL
from fuelsys.rules.words import at_least, litres, said
from fuelsys_cli.main import group

GALLONS = ("--length", "in", "--volume", "US gal")
# A figure or a heading in units that nobody asked for.
METRIC = re.compile(r"(?:\d ?|\[)(?:L|mL|m³|mm|cm|m|mm²|cm²|kg|kg/L|L/h|L/min)(?![\w/])")
IMPERIAL = re.compile(r"(?:\d ?|\[)(?:US gal|imp gal|in|ft|in²|lb|US gal/h)(?![\w/])")
US_GAL_M3 = 231.0 * 0.0254**3  # 231 cubic inches: NIST Handbook 44, appendix C


def texts(svg: Path) -> list[str]:
    return [unescape(text) for text in re.findall(r"<text[^>]*>([^<]*)</text>", svg.read_text(encoding="utf-8"))]


def sizes_pt(svg: Path) -> set[float]:
    """Sizes of all letters; a picture's own unit is the point, and it is printed at its size."""
    found = svg.read_text(encoding="utf-8")
    return {float(size) for size in re.findall(r"font(?:-size)?: (?:\w+ )*([\d.]+)px", found)}


@pytest.fixture(scope="module")
def flown_once() -> Iterator[None]:
    """What goes wrong in flight is asked for without units: flown once for reviews of one layout."""
    known: dict[bytes, Failures] = {}
    fly = failures.all_failures

    def flown(layout: Layout, progress: Callable[[int, int], None]) -> Failures:
        asked = pickle.dumps(layout)
        if asked not in known:
            known[asked] = fly(layout, progress)
        return known[asked]

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(failures, "all_failures", flown)
        yield


@pytest.fixture(scope="module")
def gallons(flown_once: None, tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("gallons") / "review"
    printed("demo", "--into", folder, *GALLONS)
    return folder


@pytest.fixture(scope="module")
def metric(flown_once: None, tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("metric") / "review"
    printed("demo", "--into", folder)
    return folder


def test_the_patterns_know_a_unit_when_they_see_one() -> None:
    for text in ("7.57 L", "[mm]", "572 mm left", "20.8 L/h", "(1, 2, 3) mm", "0.3 m³"):
        assert METRIC.search(text) or text.startswith("("), text
    for text in ("1.2 m/s", "100LL", "20 min", "14 CFR 23.2430(b)", "5 kPa"):
        assert not METRIC.search(text), text
    assert IMPERIAL.search("[US gal]")
    assert not IMPERIAL.search("2 infants")


@needs_browser
@pytest.mark.skipif(shutil.which("pdftotext") is None, reason="measures the PDF with poppler's programs")
def test_three_tanks_and_their_flight_fill_sixteen_pages(metric: Path, tmp_path: Path) -> None:
    """No page of the example is filled by less than a half, but for the last of a chapter. Here, since its review is at hand."""
    with browser() as chromium:
        chromium.open(metric / "index.html")
        for paper, most in (("a4", 16), ("letter", 16)):
            wide, high = (points / 72.0 for points in SIZES[paper])
            asked = {"paperWidth": wide, "paperHeight": high, "printBackground": True}
            pdf = tmp_path / "review.pdf"
            pdf.write_bytes(base64.b64decode(chromium.set("Page.printToPDF", **asked)["data"]))
            pages = filled(pdf, SIZES[paper][1])
            assert len(pages) <= most
            last = [opens.startswith(("Tank ", "The whole aircraft")) for _, opens in pages[1:]] + [True]
            assert [k for k, (share, _) in enumerate(pages, 1) if share < 0.5 and not last[k - 1]] == []


def test_a_map_of_one_shade_is_for_screens(metric: Path) -> None:
    """At most 0.189 L of the header's 7.8 L stay at any cell of its map; the wing tanks keep theirs on paper."""
    page = (metric / "index.html").read_text(encoding="utf-8")
    looked_up = page.index('<details class="looked-up">')
    assert page.count("stay behind at most, at any pitch and roll of the map") == 1
    assert page.index("About 0.2\u00a0L stay behind at most") > page.index(">Tank header</h2>")
    assert page.index("<figcaption>Unusable fuel over pitch and roll, tank header") > looked_up
    assert page.count("<figcaption>Unusable fuel over pitch and roll</figcaption>") == 2


def test_every_picture_of_a_review_is_in_the_units_asked_for(gallons: Path, metric: Path) -> None:
    pictures = sorted((gallons / "pictures").glob("*.svg"))
    assert len(pictures) >= 17
    measured = 0
    for picture in pictures:
        for text in texts(picture):
            assert not METRIC.search(text), f"{picture.name}: {text}"
            measured += bool(IMPERIAL.search(text))
        for text in texts(metric / "pictures" / picture.name):
            assert not IMPERIAL.search(text), f"{picture.name}: {text}"
    assert measured > 100


def test_no_letters_are_too_small_to_read_on_paper(gallons: Path) -> None:
    pictures = list((gallons / "pictures").glob("*.svg"))
    assert len(pictures) > 10
    for picture in pictures:
        assert sizes_pt(picture), picture.name
        assert min(sizes_pt(picture)) >= 8.0, picture.name


def test_every_table_and_finding_of_a_review_is_in_the_units_asked_for(gallons: Path) -> None:
    measured = 0
    for table in (gallons / "tables").glob("*.csv"):
        for row in csv.reader(table.read_text(encoding="utf-8").splitlines()):
            for cell in row:
                assert not METRIC.search(cell), f"{table.name}: {cell}"
                measured += bool(IMPERIAL.search(cell))
    assert measured > 50


def test_the_page_is_in_the_units_asked_for(gallons: Path) -> None:
    """All but the rules' own words, which quote the figures of the texts that they stand on."""
    html = (gallons / "index.html").read_text(encoding="utf-8")
    page = unescape(re.sub(r"<(style|script)\b.*?</\1>", "", html, flags=re.S))
    for rule in ALL:
        page = page.replace(rule.checks, "").replace(rule.mend, "")
    for text in re.findall(r">([^<]+)<", page):
        assert not METRIC.search(text), text
    assert "5.548\xa0US\xa0gal/h (cruise)" in page  # 21 L/h over 3.785411784 L
    assert "6.009\xa0lb/US\xa0gal" in page  # 0.72 kg/L times 3.785411784 L over 0.45359237 kg


def test_the_stick_is_marked_as_its_table_says_in_round_gallons(gallons: Path) -> None:
    rows = list(csv.reader((gallons / "tables" / "left-dipstick.csv").read_text(encoding="utf-8").splitlines()))
    assert rows[0][:3] == ["quantity [US gal]", "usable [US gal]", "from the stick's bottom [in]"]
    quantities = [float(row[0]) for row in rows[1:]]
    assert quantities == [float(round(quantity)) for quantity in quantities]
    drawn = texts(gallons / "pictures" / "left-dipstick-full-size.svg")
    for quantity, row in zip(quantities, rows[1:], strict=True):
        at = drawn.index(f"{quantity:g} US gal")
        assert float(drawn[at + 1]) == pytest.approx(float(row[1]), abs=0.006)  # a page's figures are rounded
        assert drawn[at + 2] == f"{float(row[2]):.3f}"
    assert "check: 4 in" in drawn


@pytest.mark.parametrize(
    ("unit", "stated", "step", "as_stated"),
    [
        ("L", "5 L", 5.0, True),
        ("L", "2.5 L", 2.5, True),
        ("L", "2 US gal", 5.0, False),  # 7.57 L
        ("US gal", "2 US gal", 2.0, True),
        ("US gal", "5 L", 1.0, False),  # 1.32 US gal
        ("imp gal", "5 L", 1.0, False),  # 1.0998 imp gal
        ("mL", "5 L", 5000.0, True),
        ("m3", "5 L", 0.005, True),
        ("US gal", None, 1.0, True),  # 48.5 L in twenty parts are 0.64 US gal
        ("L", None, 5.0, True),  # and 2.4 L
    ],
)
def test_a_stick_is_graduated_in_round_steps_of_the_unit(
    unit: str, stated: str | None, step: float, as_stated: bool
) -> None:
    given = {"top": ["230 mm", "200 mm", "200 mm"], "bottom": ["230 mm", "200 mm", "-58 mm"]}
    given |= {"step": stated} if stated else {}
    layout = study_of({"tank.0.dipstick": given}).layout
    found = dipstick(layout, layout.tank("main"), unit)
    marks = [units.from_si(mark.volume_m3, unit, "volume") for mark in found.marks]
    assert marks == pytest.approx([step * k for k in range(round(marks[0] / step), round(marks[-1] / step) + 1)])
    assert len(marks) >= 4
    assert found.as_stated == as_stated


@pytest.mark.parametrize(
    ("tank", "reserve", "spacing"), [("left", "30 min", "2 in"), ("header", "10 min", "1 in")], ids=["left", "header"]
)
def test_the_plan_of_a_search_is_in_the_units_asked_for(tank: str, reserve: str, spacing: str, tmp_path: Path) -> None:
    picture = tmp_path / "plan.svg"
    told = printed(
        "place", DEMO, "--tank", tank, "--reserve", reserve, "--search", spacing, "--picture", picture, *GALLONS
    )
    drawn = texts(picture)
    assert {"x [in]", "y [in]", "z [in]", "mesh x [in], aft"} <= set(drawn)
    assert min(sizes_pt(picture)) >= 8.0
    for text in (*drawn, told):
        assert not METRIC.search(text), text
    best = next(line.split() for line in told.splitlines() if re.match(r"\s*-?\d+\.\d{3} ", line))
    at = [text.replace("\N{MINUS SIGN}", "-") for text in drawn].index(best[0])
    assert [text.replace("\N{MINUS SIGN}", "-") for text in drawn[at : at + 3]] == best[:3]


def test_the_map_is_in_the_unit_asked_for(tmp_path: Path) -> None:
    picture = tmp_path / "map.svg"
    printed("map", DEMO, "--tank", "left", "--steps", "5", "--picture", picture, "--volume", "US gal")
    assert "unusable [US gal]" in texts(picture)
    assert not any(METRIC.search(text) for text in texts(picture))
    assert min(sizes_pt(picture)) >= 8.0


@pytest.mark.parametrize(
    "asked",
    [
        ("check", DEMO, "--all"),
        ("capacity", DEMO),
        ("levels", DEMO, "--tank", "left"),
        ("unusable", DEMO),
        ("switches", DEMO),
        ("dipstick", DEMO),
        ("place", DEMO, "--tank", "header", "--x", "4 in", "--y", "3 in", "--reserve", "10 min"),
        ("tolerance", DEMO, "--tank", "header", "--set-off", "0.1 in", "--samples", "5"),
        ("map", DEMO, "--tank", "header", "--steps", "3"),
    ],
    ids=lambda asked: asked[0],
)
@pytest.mark.parametrize("form", ["table", "csv"])
def test_every_command_answers_in_the_units_asked_for(asked: tuple[object, ...], form: str) -> None:
    code = 1 if asked[0] == "check" else 0
    told = printed(*asked, *GALLONS, "--form", form, code=code)
    assert IMPERIAL.search(told)
    assert [line for line in told.splitlines() if METRIC.search(line)] == []
    assert [line for line in printed(*asked, "--form", form, code=code).splitlines() if IMPERIAL.search(line)] == []


def test_a_tolerance_is_echoed_as_it_was_asked_for() -> None:
    asked = ("tolerance", DEMO, "--tank", "header", "--set-off", "0.1 in", "--flow", "5 %", "--samples", "3")
    assert "uniformly: set off ±0.1 in, flow ±5 %." in printed(*asked, "--length", "in")
    assert "uniformly: set off ±2.54 mm, flow ±5 %." in printed(*asked)


# --- findings --------------------------------------------------------------------------------------------------------


def test_a_findings_figures_are_quantities_in_si() -> None:
    words = said(f"holds {litres(0.5 * US_GAL_M3)}, raise it by {at_least(0.0100001)}, 3 min")
    assert words[1::2] == (Quantity("volume", (0.5 * US_GAL_M3,)), Quantity("length", (0.0100001,), up=True))
    assert Shown().words(words) == "holds 1.893 L, raise it by 10.1 mm, 3 min"
    assert Shown("US gal", "in").words(words) == "holds 0.500 US gal, raise it by 0.394 in, 3 min"


def test_names_that_look_like_marks_are_words() -> None:
    for name in ("\x02volume 1", "\x02volume e\x03", "\x02weight 1.0\x03", "\x03", ""):
        assert "".join(part for part in said(name) if isinstance(part, str)) == name


def test_a_mend_never_asks_for_too_little() -> None:
    for value_m in (0.0, 1e-6, 0.0023, 0.0254, 0.1, 1.0 / 3.0):
        for unit in ("mm", "cm", "m", "in", "ft"):
            told = float(Shown(length=unit).words((Quantity("length", (value_m,), up=True),)).split()[0])
            asked = units.from_si(value_m, unit, "length")
            assert asked - 1e-6 <= told <= asked + 0.11


def test_the_same_findings_in_other_units() -> None:
    """Whatever the units, a finding says the same: its figures in one, turned into the other by hand."""
    left = next(f for f in findings(study_of({})) if f.rule.name == "unusable-large" and f.where == "main")
    litre, gallon = Shown().words(left.evidence), Shown("US gal", "in").words(left.evidence)
    in_litres = [float(figure) for figure in re.findall(r"([\d.]+) L\b", litre)]
    in_gallons = [float(figure) for figure in re.findall(r"([\d.]+) US gal\b", gallon)]
    assert len(in_litres) == len(in_gallons) == 4
    assert in_gallons == pytest.approx([figure * 1e-3 / US_GAL_M3 for figure in in_litres], abs=6e-4)


def test_what_is_taken_off_a_mesh_is_told_in_the_units_asked_for() -> None:
    given = study_of({"tank.1.coating": "0.01 in", "tank.1.wall": "0.3 mm"})
    table = capacity_tables.capacity(given, given.tank("header"), Shown("US gal", "in"))
    told = [*(str(row[0]) for row in table.rows), *table.notes]
    assert {"wall, 0.011811 in", "coating, 0.01 in"} <= set(told)
    assert any(re.fullmatch(r"coating, 0.01 in: within \d\.\d{3} US gal of a layer .*", note) for note in told)
    for text in told:
        assert not METRIC.search(text), text


def test_speeds_of_one_sentence_are_of_one_system() -> None:
    """1500 ft/min are 7.62 m/s."""
    given = findings(study_of({}))
    speeds = [f.evidence for f in given if any(getattr(part, "kind", "") in ("speed", "climb") for part in f.evidence)]
    assert len(speeds) >= 4
    for words in speeds:
        assert not re.search(r"ft/", Shown().words(words))
        assert not re.search(r"m/s|m/min", Shown("US gal", "in").words(words))
    told = [Shown("US gal", "in").words(words) for words in speeds]
    assert any("descent of 1500 ft/min" in text and "ft/s" in text.replace("1500 ft/min", "") for text in told)
    assert not any(re.search(r"\d m/s", part) for f in given for part in f.evidence if isinstance(part, str))


@pytest.mark.parametrize(("length", "volume"), [("inches", "us gallons"), ("Inch", "U.S. gal"), ("in", "US gal")])
def test_units_are_asked_for_in_any_spelling(length: str, volume: str) -> None:
    asked = ("dipstick", DEMO, "--tank", "left")
    assert printed(*asked, "--length", length, "--volume", volume) == printed(*asked, *GALLONS)
    assert printed("capacity", DEMO, "--volume", "litres") == printed("capacity", DEMO, "--volume", "l")


def test_units_that_cannot_be_shown_are_refused_with_those_that_can() -> None:
    for option, unit in (("--length", "um"), ("--length", "furlong"), ("--volume", "US qt"), ("--volume", "gallons")):
        done = CliRunner().invoke(group, ["capacity", str(DEMO), option, unit])
        assert done.exit_code == 2
        assert f"'{unit}' is not one of '" in done.output
    assert "[L|mL|US gal|imp gal|m3]" in printed("capacity", "--help")


def test_a_mesh_in_inches_says_how_to_see_gallons_unless_a_unit_was_asked_for() -> None:
    mesh, hint = MESHES / "right.stl", 'Say --volume "US gal" to see gallons.'
    assert hint in printed("capacity", mesh, "--unit", "in")
    for asked in (("--unit", "mm"), ("--unit", "in", "--volume", "L"), ("--unit", "in", "--volume", "US gal")):
        assert hint not in printed("capacity", mesh, *asked)


@pytest.mark.parametrize(
    ("more", "told"),
    [
        (("--x", "42 in", "--y", "0 in"), "the line at x 42 in, y 0 in does not pass"),
        (("--search", "0.01 in"), "a spacing of 0.01 in gives"),
        (("--search", "0 in"), "a spacing of 0 in makes no grid"),
        (("--search", "12 in"), "no place of a grid of 12 in lies"),
        (("--search", "1 in", "--reserve", "10 h"), "600 min need 55.484 US gal with the unusable fuel, the tank holds 2.0693 US gal"),
    ],
)  # fmt: skip
def test_refusals_are_in_the_units_asked_for(more: tuple[str, ...], told: str, tmp_path: Path) -> None:
    own = design(tmp_path, '[show]\nlength = "inch"\nvolume = "US gallons"\n')
    asked = ("--tank", "header", "--reserve", "10 min", *more)
    assert told in refusal("place", own, *asked)
    assert told in refusal("place", DEMO, *asked, *GALLONS)


# --- the design's own units ------------------------------------------------------------------------------------------


def design(folder: Path, show: str) -> Path:
    for mesh in MESHES.glob("*.stl"):
        (folder / mesh.name).write_bytes(mesh.read_bytes())
    path = folder / "own.toml"
    path.write_text(f"{show}\n{DEMO.read_text(encoding='utf-8')}", encoding="utf-8")
    return path


def test_a_design_states_its_own_units_and_options_override_them(tmp_path: Path) -> None:
    own = design(tmp_path, '[show]\nlength = "in"\nvolume = "US gal"\n')
    for asked in (("dipstick", own, "--tank", "left"), ("unusable", own, "--tank", "left")):
        told = printed(*asked)
        assert told == printed(asked[0], DEMO, *asked[2:], *GALLONS)
        assert printed(*asked, "--length", "mm", "--volume", "L") == printed(asked[0], DEMO, *asked[2:])
    told = printed("dipstick", own, "--tank", "left", "--volume", "imp gal")
    assert "[in]" in told
    assert "imp gal" in told
    assert printed("check", own, code=1) == printed("check", DEMO, *GALLONS, code=1)


def test_json_is_si_whatever_is_shown(tmp_path: Path) -> None:
    own = design(tmp_path, '[show]\nlength = "in"\nvolume = "US gal"\n')
    asked = ("--tank", "left", "--form", "json")
    rows = [json.loads(printed("unusable", path, *asked))["tables"][0]["rows"] for path in (own, DEMO)]
    assert rows[0] == rows[1]


@pytest.mark.parametrize(
    ("show", "told"),
    [
        ('[show]\nlength = "foots"\n', 'own.toml: show.length: found "foots". Write "mm", "cm", "m", "in" or "ft".'),
        (
            '[show]\nvolume = "gal"\n',
            'own.toml: show.volume: found "gal". Write "L", "mL", "US gal", "imp gal" or "m3".',
        ),
        ("show = 3\n", "own.toml: show: found 3. Write it as a table, [show]."),
        ('[show]\nmass = "lb"\n', "own.toml: show.mass: there is no such field."),
    ],
)
def test_units_that_are_none_are_refused(show: str, told: str, tmp_path: Path) -> None:
    assert refusal("unusable", design(tmp_path, show)).startswith(told)


def test_the_study_of_a_design_does_not_depend_on_the_units_shown() -> None:
    layout = load_design(DEMO)
    litre, gallon = (study(layout, only="left", marks_in=unit).tanks[0] for unit in ("L", "US gal"))
    assert litre.capacity.gross_m3 == gallon.capacity.gross_m3
    assert litre.dipstick is not None
    assert gallon.dipstick is not None
    assert litre.dipstick.below_m3 == gallon.dipstick.below_m3
