"""The printed sheet of a fill test: its lines and what they expect are the CSV's and the plan's, and nothing lies on anything."""

from __future__ import annotations

import csv
import io
from bisect import bisect_right
from dataclasses import replace
from datetime import date
from pathlib import Path

import pytest
from commands import DEMO, run
from fillsheets import dipped, example
from test_drill import off_paper, overlapping

from fuelsys.analysis.fills.plan import plan
from fuelsys.load.designs.fillsheet import COLUMNS
from fuelsys.model.built.layout import Layout
from fuelsys.model.found.filltest import FillPlan
from fuelsys.report.charts.fill_sheet import fill_sheet_pages
from fuelsys.report.drawing.canvas import Figure
from fuelsys.report.shown import Shown
from fuelsys.report.tables import fill_sheet

DAY = date(2026, 5, 30)
IMPERIAL = Shown(volume="US gal", length="in")
LONG = "outboard auxiliary tank of the left wing, behind the second rib, with its own filler"


def planned(tank: str, shown: Shown, places: int = 0) -> tuple[Layout, FillPlan]:
    layout = example()
    fitted = dipped(places) if places else layout.tank(tank)
    return layout, plan(layout, fitted, layout.design.normal("ground"), shown.volume)


def crowded(found: FillPlan) -> FillPlan:
    """The same of a tank with a long name and three gauges, 40 pours, and many lamps at one of them."""
    first, *_ = found.steps
    steps = [replace(first, total_m3=5e-4 * k, read_m=3e-3 * k, also_m=(None, 1e-3 * k)) for k in range(40)]
    words = tuple(f'lamp "low level {k}" should go out there, or a little before it; ' for k in range(4))
    steps[20] = replace(steps[20], words=words, lamps=("low level 1", "low level 2"))
    return replace(found, steps=tuple(steps), gauges=("a", "b", "c"), lamps=("low level 1", "low level 2"))


def on_paper(pages: list[Figure], names: list[str]) -> list[dict[str, str]]:
    """The lines as they stand on the pages, by column: what is written from a column's left edge on belongs to it."""
    found: list[dict[str, str]] = []
    for page in pages:
        texts = sorted(((t.get_position(), t.get_text()) for t in page.axes[0].texts), key=lambda one: -one[0][1])
        (head_y,) = {y for (_, y), text in texts if text == "lamps lit"}
        heads = sorted((x, text) for (x, y), text in texts if y == head_y)
        assert [text for _, text in heads] == names
        lefts = [x for x, _ in heads]
        units = {names[lefts.index(x)]: text for (x, y), text in texts if abs(y - head_y + 3.5) < 0.1}
        begins = sorted((y for (x, y), _ in texts if x == lefts[0] and y < head_y and y > 12.0), reverse=True)
        rows: list[dict[str, str]] = [{"unit": str(units)} for _ in begins]
        for (x, y), text in texts:
            if y < head_y - 4.0 and y > 12.0:
                row = bisect_right([-one for one in begins], -y + 0.8) - 1
                name = names[lefts.index(x)]
                key = (
                    name
                    if name not in rows[row] and text[0] in "0123456789do" and " " not in text.replace("off it", "")
                    else "note"
                )
                rows[row][key] = f"{rows[row].get(key, '')} {text}".strip()
        found += rows
    return found


@pytest.mark.parametrize(
    ("tank", "places", "shown", "paper"),
    [("left", 2, IMPERIAL, "letter"), ("header", 0, Shown(), "a4")],
)
def test_its_lines_are_those_of_the_csv_and_of_the_plan(tank: str, places: int, shown: Shown, paper: str) -> None:
    layout, found = planned(tank, shown, places)
    pages = fill_sheet_pages(found, layout, shown, paper, DAY)
    heads, *typed = csv.reader(io.StringIO(fill_sheet.sheet(found, shown)))
    names = [head.split(" [")[0] for head in heads]
    assert names == [name for name in COLUMNS if name in names]
    rows = on_paper(pages, [names[0], "in all", *names[1:]])
    assert [row["step"] for row in rows] == [row[0] for row in typed] == [str(k) for k in range(len(rows))]
    told = fill_sheet.how_to(found, shown)
    assert len(told.rows) >= len(found.steps)
    before, seen = 0.0, 0
    for row, cells in zip(rows, told.rows, strict=False):
        step, total, *reads, remark = cells
        assert row["step"] == step
        assert row.get("note", "").replace("−", "-") == remark
        if total is None:
            assert {"in all", "poured", "stick"}.isdisjoint(row)
            continue
        assert row["in all"] == shown.figure(float(total), "volume")
        assert row["poured"] == shown.figure(float(total) - before, "volume")
        before = float(total)
        for name, read in zip(("stick", "stick 2", "stick 3"), reads, strict=False):
            assert row[name] == (shown.figure(float(read), "length") if read is not None else row[name])
            assert read is not None or row[name] in ("dry", "off it")
            seen += read is not None
    assert seen >= 10 or tank == "header"
    for page in pages[:1]:
        assert overlapping(page) == []
        assert off_paper(page) == []


def test_a_crowded_one_goes_over_several_pages_and_stays_in_its_boxes() -> None:
    layout, found = planned("left", IMPERIAL, 2)
    full = crowded(found)
    long = replace(full, tank="left", attitude=replace(full.attitude, name=LONG))
    pages = fill_sheet_pages(long, layout, Shown(), "letter", DAY)
    assert 3 < len(pages) < 8
    rows = [
        int(t.get_text())
        for page in pages
        for t in page.axes[0].texts
        if t.get_fontweight() == "bold" and t.get_text().isdigit()
    ]
    assert rows == list(range(40 + 2 + 10))
    for number in (1, 3):  # the first, and the one with the lamps
        page = pages[number - 1]
        texts = [text.get_text() for text in page.axes[0].texts]
        assert f"page {number} of {len(pages)}" in texts
        assert overlapping(page) == []
        assert off_paper(page) == []
        axes, dots = page.axes[0], page.dpi / 25.4
        edges = sorted(
            {float(line.get_xdata()[0]) for line in axes.lines if line.get_xdata()[0] == line.get_xdata()[1]}
        )  # type: ignore[index,arg-type]
        for text in axes.texts:
            if text.get_color() == "#5d666c" and text.get_text().replace(".", "").isdigit():
                right = next(edge for edge in edges if edge > text.get_position()[0])
                assert text.get_window_extent().x1 / dots < right


def test_what_a_person_needs_beside_the_tank_is_on_the_first_page() -> None:
    layout, found = planned("left", Shown(), 2)
    first = fill_sheet_pages(found, layout, Shown(), "a4", DAY)[0]
    said = " ".join(text.get_text() for text in first.axes[0].texts)
    for words in (
        f"taildragger.toml ({layout.made_of})", "2026-05-30", "its front end higher by 194.4 mm", "both sides level",
        "Stick 3 goes in from (400, −560, 30) mm at its foot", "by bonding leads", "licensed inspection", "What it will tell",
    ):  # fmt: skip
        assert words in said, words


def test_the_command_prints_it_and_refuses_other_endings(tmp_path: Path) -> None:
    ask = ("filltest", str(DEMO), "--tank", "header")
    done = run(*ask, "--sheet", "sheet.pdf", "--paper", "letter", folder=tmp_path)
    assert (done.returncode, done.stderr) == (0, "wrote sheet.pdf\n")
    pdf = (tmp_path / "sheet.pdf").read_bytes()
    assert pdf.count(b"/MediaBox [ 0 0 792 612 ]") >= 3
    for arguments, told in (
        (("--sheet", "sheet.pdf"), "the file is there already"),
        (("--sheet", "sheet.svg"), '"sheet.svg" is neither a .csv nor a .pdf file.'),
        (("--sheet", "sheet"), '"sheet" is neither a .csv nor a .pdf file.'),
        (("--sheet", "sheet.csv", "--paper", "a4"), "--paper is for a --sheet that is a .pdf."),
        (("--from", "sheet.csv", "--paper", "a4"), "--paper is for a --sheet that is a .pdf."),
    ):
        done = run(*ask, *arguments, folder=tmp_path)
        assert (done.returncode, done.stdout) == (2, "")
        assert told in " ".join(done.stderr.split()), done.stderr
    assert [path.name for path in tmp_path.iterdir()] == ["sheet.pdf"]
    assert (tmp_path / "sheet.pdf").read_bytes() == pdf
