"""Lists and labels of the pictures: columns that hold their words, lines that run together, names beside their own marks."""

from __future__ import annotations

import re
from dataclasses import replace
from datetime import datetime
from html import unescape
from itertools import pairwise

import numpy as np
import pytest
from commands import DEMO
from matplotlib.figure import Figure
from rule_cases import study_of

from fuelsys.load.designs.door import load_design
from fuelsys.model.found.findings import Outcome
from fuelsys.report.charts.place import _rights
from fuelsys.report.charts.plumbing import _beside, _columns, _ends
from fuelsys.report.drawing import ink
from fuelsys.report.drawing.labels import Paper
from fuelsys.report.page.page import page
from fuelsys.report.shown import Shown
from fuelsys.review import findings


@pytest.mark.parametrize("cells", [["46.047", "171.1 – 196.6"], ["−1169.6", "1171.1 – 1196.6"]])
def test_a_list_of_places_keeps_its_columns_apart_and_off_the_edge(cells: list[str]) -> None:
    rows = [["x [in]", "y [in]", "z [in]", "trips [min]", "apart"], [cells[0]] * 3 + [cells[1], "25.5"]]
    rights = _rights(rows)
    assert rights[-1] <= ink.WIDTH_MM - 2.0
    for k, (before, right) in enumerate(pairwise(rights), 1):
        assert right - before > max(ink.width_of(row[k], ink.SMALL_PT, "bold") for row in rows) + 0.5


@pytest.mark.parametrize("name", ["feed", "engine pump to engine", "from the engine pump to the engine's injectors"])
def test_a_list_of_lines_holds_their_names_and_ends(name: str) -> None:
    lines = [
        replace(line, design=line.design.model_copy(update={"name": f"{name} {k}"}))
        for k, line in enumerate(load_design(DEMO).lines)
    ]
    columns = _columns(lines, Shown(length="in"))
    assert [number for column in columns for number, _ in column.lines] == list(range(1, len(lines) + 1))
    for k, column in enumerate(columns):
        edge = columns[k + 1].x if columns[k + 1 :] and columns[k + 1].lines else ink.WIDTH_MM
        for _, line in column.lines:
            assert column.x + 5.0 + ink.width_of(line.name, ink.SMALL_PT) < column.ends_x
            assert column.ends_x + ink.width_of(_ends(line, Shown(length="in")), ink.SMALL_PT) <= edge
    assert bool(columns[1].lines) == (name == "feed")


def test_a_line_along_another_is_drawn_beside_it_and_one_across_it_is_not() -> None:
    feed = np.column_stack([np.linspace(0.0, 60.0, 151), np.zeros(151)])
    beside = _beside(np.array([[60.0, 0.0], [0.0, 0.0]]), feed)
    assert beside[[0, -1]].tolist() == [[60.0, 0.0], [0.0, 0.0]]
    assert np.abs(beside[1:-1, 1]).min() == pytest.approx(0.9)
    assert np.ptp(beside[1:-1, 1]) == pytest.approx(0.0)
    for course in (np.array([[30.0, -20.0], [30.0, 20.0]]), np.array([[0.0, 0.0], [60.0, 10.0]])):
        assert _beside(course, feed) is course


def test_few_names_stand_nearer_to_another_mark_than_to_their_own() -> None:
    """Marks strewn on a line and beside it, closer than their names are long."""
    axes, generator, strayed = Figure().add_subplot(), np.random.default_rng(5), 0
    for _ in range(40):
        paper = Paper((-60.0, -40.0, 60.0, 40.0))
        marks = np.column_stack([generator.uniform(-15.0, 15.0, 8), generator.uniform(-8.0, 8.0, 8)])
        paper.avoid(np.array([[-50.0, 0.0], [50.0, 0.0]]))
        for at in marks:
            paper.keep_off(at, 0.9)
        for k, at in enumerate(marks):
            paper.label(axes, at, "engine pump")
            low, high = np.array(paper.labels[-1].box[:2]), np.array(paper.labels[-1].box[2:])
            off = np.hypot(*np.maximum(low - marks, marks - high).clip(0.0).T)
            strayed += bool(off[k] > off.min() + 1.2)
    assert strayed <= 53  # of 320; 56 where nothing keeps them from it


def test_the_page_prints_each_pass_on_a_line_and_the_rest_in_full() -> None:
    study = study_of({"aircraft.feed": "gravity", "line.0.bore": "3 mm"})
    found = findings(study)
    text = page(study, found, {}, {}, datetime(2026, 1, 1), "0", Shown(), False)
    told = unescape(re.sub(r"<[^>]*>", "", text)).replace("\N{NO-BREAK SPACE}", " ")
    assert not re.search(
        r"\d (?:L|mm|kPa|min)\b", re.sub(r"<[^>]*>", "", text[text.index("<main>") :])
    )  # broken over lines
    assert "`" not in told[told.index("Checklist") :]
    passes = re.findall(r'<span class="seen">', text)
    assert len(passes) == sum(finding.outcome is Outcome.PASS for finding in found)
    for finding in found:
        line = f"{f'{finding.where}' if finding.where else ''}: {Shown().words(finding.evidence)}"
        if finding.outcome is Outcome.PASS:  # under its rule, which is named once
            assert ink.minus(line) in told
            assert told.count(finding.rule.name) >= 1
        if finding.outcome < Outcome.PASS:
            assert ink.minus(finding.rule.checks).replace("`", "") in told
            assert "; ".join(str(source) for source in finding.rule.sources) in told
    failed = {finding.rule.name for finding in found if finding.outcome < Outcome.PASS}
    only_passed = {f.rule.checks for f in found if f.outcome is Outcome.PASS and f.rule.name not in failed}
    assert only_passed
    assert not any(checks in told for checks in only_passed)
