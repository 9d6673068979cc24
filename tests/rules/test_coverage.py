"""The coverage of the published paragraphs: fresh, whole, with its figures, and as the command prints it."""

from __future__ import annotations

import csv
import io
import json
import re
from collections.abc import Iterator
from pathlib import Path

import pytest
from commands import DEMO, run
from designs import ATTITUDES, BASE, REMOVE
from rule_cases import SPARE, mm, plain, study_of

from fuelsys.model.found.findings import Outcome
from fuelsys.model.found.study import Study
from fuelsys.report.shown import Shown
from fuelsys.report.tables import checklist, checklist_text
from fuelsys.review import findings
from fuelsys.rules import ALL
from fuelsys.rules.coverage.items import Item
from fuelsys.rules.coverage.listed import BEYOND, LEFT_OUT, SECTIONS
from fuelsys.rules.words import said

ITEMS: list[tuple[str, Item]] = [
    (f"{chapter}.{k}", one) for chapter, section in enumerate(SECTIONS, 1) for k, one in enumerate(section.items, 1)
]
by_item = pytest.mark.parametrize("item", [one for _, one in ITEMS], ids=[number for number, _ in ITEMS])


def test_every_rule_stands_in_the_coverage() -> None:
    named = {name for _, one in ITEMS for name in one.rules}
    names = {rule.name for rule in ALL}
    assert names - named - set(BEYOND) == set(), "name each rule in an item of rules/coverage, or in BEYOND"
    assert (named | set(BEYOND)) - names == set(), "no rule of this name stands in ALL of rules/__init__.py"
    assert not named & set(BEYOND)


def test_there_is_much_in_it() -> None:
    assert len(ITEMS) >= 90
    assert sum(bool(one.rules) for _, one in ITEMS) >= 50
    assert sum(bool(one.figure or one.each) for _, one in ITEMS) >= 60


@by_item
def test_no_item_is_blank(item: Item) -> None:
    assert re.fullmatch(r"[A-Z].*[.]", item.do)
    assert "  " not in item.do
    assert item.sources
    assert len(set(item.rules)) == len(item.rules)
    assert not (item.figure and item.each)
    for source in item.sources:
        assert re.search(r"\d", source.reference) or "no source" in source.reference or "read" in str(source), source
        if source.reference.startswith("14 CFR 23.") and not source.reference.startswith("14 CFR 23.2"):
            assert "before amendment 23-64" in source.edition, source


# Paragraphs of the published rules that bear on these aircraft, as they were gathered: each has an item, or a reason for none.
PARAGRAPHS = """
23.951(a) 23.951(b)(1) 23.951(b)(2) 23.951(c) 23.953 23.954 23.955(a) 23.955(a)(1) 23.955(a)(2) 23.955(a)(3)
23.955(a)(4) 23.955(b) 23.955(c) 23.955(c)(1) 23.955(c)(2) 23.955(c)(3) 23.955(d) 23.955(e) 23.955(f) 23.957(a)
23.957(b) 23.959(a) 23.959(b) 23.961 23.963(b) 23.963(c) 23.963(d) 23.963(e) 23.965(a)(1) 23.965(a)(2) 23.965(a)(3)
23.965(b) 23.965(b)(3) 23.965(b)(5) 23.965(c) 23.967(a) 23.967(a)(1) 23.967(a)(3) 23.967(a)(5) 23.967(a)(6) 23.967(b)
23.967(c) 23.967(d) 23.967(e) 23.969 23.971(a) 23.971(b) 23.971(c) 23.973(a) 23.973(b) 23.973(c) 23.973(d) 23.973(e)
23.973(f) 23.975(a) 23.975(a)(1) 23.975(a)(2) 23.975(a)(3) 23.975(a)(4) 23.975(a)(5) 23.975(a)(6) 23.975(a)(7) 23.975(b)
23.975(c) 23.977 23.979 23.991(a) 23.991(b) 23.991(c) 23.993(a) 23.993(b) 23.993(c) 23.993(d) 23.994 23.995 23.997
23.997(a) 23.997(b) 23.997(c) 23.997(d) 23.999(a) 23.999(b)(1) 23.999(b)(2) 23.1001 23.1189(a)(5) 23.1305(a)(1)
23.1305(b)(4) 23.1305(c)(4) 23.1337(b) 23.1337(b)(1) 23.1337(b)(2) 23.1337(b)(4) 23.1337(b)(6) 23.1553 23.1555(d)
23.1557(c)(1) 23.561(b)(2) 23.561(b)(3) 23.473(b) 23.2430(a)(4) 23.2430(b)(4) 23.2430(c)(1) 27.1305(l) 25.1305(a)(2)(iv)
25.975(a)(3) 25.965(a) 27.961 27.955(a)(2) 27.969 27.1553 91.151 91.167 91.205(b)(9) NCO.OP.125 103-7 3.437 CS-VLA
90-89A 43.13-1B 670263 5578C 18847C DCA/GENERAL/19 2003
"""


@pytest.mark.parametrize("paragraph", PARAGRAPHS.split())
def test_every_paragraph_is_covered(paragraph: str) -> None:
    references = [*LEFT_OUT, *(source.reference for _, one in ITEMS for source in one.sources)]
    assert any(re.search(rf"(?<![\d.]){re.escape(paragraph)}(?![\d])", text) for text in references)


def sheets(study: Study) -> list[checklist.Sheet]:
    return checklist.sheets(study, findings(study), Shown())


PUSHED = {"component.5": REMOVE, "component.4": REMOVE, "component.3": REMOVE, "line": []}
DESIGNS = [{}, {"aircraft.feed": "gravity"}, SPARE, PUSHED, {"fuel.kind": "diesel"}, {"tank.1": REMOVE, "line": []}]
NOTHING = {
    "aircraft": {k: v for k, v in BASE["aircraft"].items() if k not in ("climb_angle", "ceiling", "firewall")}
} | {
    "flows": {"idle": "5 L/h"},
    "fuel.reserve_phase": "idle",
    "component": [],
    "line": [],
    "tank": [{"name": "t", "mesh": "main.off", "unit": "mm", "axes": "aft, right, up", "position": mm(0, 0, 0)}],
    "attitude": [ATTITUDES[0], ATTITUDES[2]],
}


@pytest.mark.parametrize(
    "changes", [*DESIGNS, NOTHING], ids=["base", "gravity", "spare", "no pumps", "diesel", "one tank", "nothing"]
)
def test_nothing_that_the_check_tells_is_left_out(changes: dict[str, object]) -> None:
    study = study_of(changes)
    made = sheets(study)
    told = " ".join(line.found_by for sheet in made for line in sheet.lines if line.state != "pass")
    worst = {one.rule.name: one.outcome for one in reversed(findings(study))}  # the worst comes first, so last here
    for name, outcome in worst.items():
        if outcome < Outcome.PASS:
            assert name in told, name
    # Every item has a line or is said to be left out, on each sheet.
    for sheet in made:
        numbers = {line.number for line in sheet.lines} | {text.split()[0] for text in sheet.left_out}
        section = next(section for section in SECTIONS if section.key == sheet.section)
        assert len(numbers) == len(section.items), sheet.title
        assert all(line.state for line in sheet.lines)


def figures(study: Study) -> Iterator[str]:
    for _, one in ITEMS:
        if one.figure:
            yield plain(said(one.figure(study)))
        if one.each:
            yield from (plain(said(one.each(study, tank))) for tank in study.tanks)


def test_what_is_not_stated_is_told_and_not_guessed() -> None:
    texts = list(figures(study_of(NOTHING)))
    assert all(texts)
    for needed in (
        "flows.takeoff",
        "flows.max_continuous",
        "flows.cruise",
        "aircraft.climb_angle",
        "engine.inlet_pressure",
    ):
        assert any(f"needs {needed}" in text for text in texts), needed
    assert "not checked: needs tank.in_cabin, whether it could strike people if it came loose" in texts
    assert not any(
        "not computed" in text and "limit" not in text and "speed" not in text for text in figures(study_of({}))
    )


def test_figures_of_the_base_design() -> None:
    texts = list(figures(study_of({"tank.1.in_cabin": True})))
    # 125 % of 36 L/h and 20 L/h that return: 65 L/h, 1.0833 L a minute. Half an hour of 30 L/h: 15 L. 30 and 45 min of 18 L/h.
    assert "65.0 L/h, 1.08 L in a minute: 125 % of take-off, the return flowing on top" in texts
    assert "at least 15.00 L usable in all" in texts
    assert "30 min by day 9.00 L, 45 min by night 13.50 L, at cruise" in texts
    # 36 L/h of 0.72 kg/L over 0.45359237 kg: 57.14 lb/h; over 0.55: 103.9 hp.
    assert any("36.0 L/h, is that of 104 hp" in text for text in texts)
    # 2 % of 48.5 L; 5 times a bore of 8 mm, 50.265 mm²; one part in 2560 of 57.412 L.
    assert any(text.startswith("at least 0.97 L of air") for text in texts)
    assert "outlet at least 251.3 mm² clear" in texts
    assert any(text.startswith("at least 22 mL for all") for text in texts)
    assert "at most 59.9 mm inside" in texts  # 2.36 in
    # The header's 8.912 L less what its vent leaves free, at 18 g: see test_rules_loads.py for the main tank's.
    assert sum("(18 g)" in text for text in texts) == 1
    # 3.5 psi are 24.13 kPa, 2.4607 m of water; the main tank, 0.4 m long: 720 x 9 x 9.80665 x 0.4 = 25.42 kPa.
    assert any(text.startswith("25.42 kPa (full tank at 9 g forward") for text in texts)
    assert any("24.13 kPa" in text and "2460.7 mm of water" in text for text in texts)


def test_the_sheet_of_a_tank_has_what_was_found_in_that_tank() -> None:
    study = study_of({"tank.0.outlet.0.strainer.mesh": "20 1/in"})
    lines = {(sheet.tank, line.number): line for sheet in sheets(study) for line in sheet.lines}
    assert lines["main", "1.3"].state == "fail"
    assert lines["main", "1.3"].found_by == "strainer-mesh-out-of-range (main.outlet)"
    assert lines["header", "1.3"].state == "pass"
    assert lines["header", "1.6"].state == "inspect"
    text = checklist_text.sheets(sheets(study))
    assert max(map(len, text.splitlines())) <= 100


def test_the_command_prints_sheets_to_sign(tmp_path: Path) -> None:
    done = run("checklist", str(DEMO), folder=tmp_path)
    assert done.returncode == 0, done.stderr
    for title in ("TANK LEFT: INSIDE", "TANK HEADER: INSIDE", "AROUND THE TANKS", "LINES, VALVES", "FLOW", "PLACARDS"):
        assert title in done.stdout
    assert done.stdout.count("Signature ____") == len(SECTIONS) + 2  # three tanks, one sheet each
    assert done.stdout.count("[ ]") >= 150
    assert "FAIL sump-small (left)" in done.stdout
    # 36 L/h x 1.25 + 60 L/h
    assert "105 L/h" in done.stdout
    # The header in the cabin: 18 g on 7.382 L of 0.72 kg/L: 5.315 kg x 18 x 9.80665 = 938 N.
    assert "938 N forward (18 g)" in done.stdout


def test_one_tank_or_one_section_alone(tmp_path: Path) -> None:
    one = run("checklist", str(DEMO), "--tank", "header", folder=tmp_path)
    assert one.stdout.startswith("TANK HEADER: INSIDE")
    assert one.stdout.count("Signature ____") == 1
    paper = run("checklist", str(DEMO), "--section", "paper", "--volume", "US gal", "--form", "csv", folder=tmp_path)
    rows = list(csv.DictReader(io.StringIO(paper.stdout)))
    usable = {row["tank"]: row["to reach"] for row in rows if row["no."] == "6.2"}
    assert set(usable) == {"left", "right", "header"}
    assert usable["left"].endswith(" US gal")
    whole = json.loads(run("checklist", str(DEMO), "--form", "json", folder=tmp_path).stdout)
    assert sum(len(table["rows"]) for table in whole["tables"]) >= 150
    wrong = run("checklist", str(DEMO), "--tank", "haeder", folder=tmp_path)
    assert (wrong.returncode, wrong.stdout) == (2, "")
    assert 'Is "header" meant?' in wrong.stderr
    assert len(wrong.stderr.splitlines()) == 1
    apart = run("checklist", str(DEMO), "--tank", "header", "--section", "paper", folder=tmp_path)
    assert (apart.returncode, apart.stdout) == (2, "")
    assert "--tank is for the section inside" in apart.stderr
