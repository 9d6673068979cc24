"""The form of JSON answers: which tables each command gives, and the keys of their rows, as they are promised for JSON_FORM.

Where this fails because a key has gone or changed its name, raise JSON_FORM; where one has come, add it to json_form.json.
"""

from __future__ import annotations

import json
from pathlib import Path

import meshfiles
import numpy as np
import pytest
from click.testing import CliRunner
from commands import DEMO, demo_study
from designs import layout_of
from json_keys import KEPT, PROMISED, Keys, broken, form
from plumbing_changes import HEADER_VENT_VALVE, line, mm

from fuelsys import review
from fuelsys.load.designs.door import load_design
from fuelsys.questions import QUESTIONS
from fuelsys.report.page.contents import review_tables
from fuelsys.report.shown import Shown
from fuelsys.report.table import JSON_FORM
from fuelsys_cli.main import group

LEFT, HEADER, BENCH = (str(DEMO), "--tank", "left"), (str(DEMO), "--tank", "header"), "bench.toml"
# A valve in the header's vent line and one before it: settings of both.
WING = {"name": "wing valve", "kind": "valve", "position": mm(520, 0, 880), "engine_side": False}
VALVES = HEADER_VENT_VALVE | {
    "component.7": WING,
    "line.2": line("main feed", "feed", "main.outlet", "wing valve"),
    "line.10": line("on", "feed", "wing valve", "header.from main", mm(480, 0, 800)),
    "tank.0.switch": [
        {"name": "main", "mark": mm(200, 250, 0), "differential": "3 mm"}
    ],  # of a tank that is joined to another
}
# Question -> how it is asked so that each of its tables comes once; FOLDER has an open mesh and a design of one tank.
ASKED: dict[str, list[tuple[str, ...]]] = {
    "mesh": [
        ("open.off", "--unit", "mm", "--mend", "--fill", "1 m", "--into", "mended.ply"),
        ("two.off", "--unit", "mm"),
    ],
    "capacity": [(BENCH,)],
    "levels": [HEADER],
    "unusable": [HEADER, ("valves/bench.toml",)],
    "switches": [HEADER, ("valves/bench.toml",)],
    "flow": [(str(DEMO),), ("valves/bench.toml",)],
    "fly": [(BENCH,)],
    "balance": [(BENCH,)],
    "place": [
        (*HEADER, "--x", "100 mm", "--y", "80 mm", "--reserve", "20 min"),
        (*HEADER, "--reserve", "5 min", "--search", "100 mm"),
        (*HEADER, "--stages", "5 min, 2 min", "--search", "100 mm"),
    ],
    "tolerance": [(*HEADER, "--flow", "5 %", "--samples", "2")],
    "map": [(*HEADER, "--steps", "2")],
    "dipstick": [LEFT],
    "gauge": [(*LEFT, "--error", "5 L")],
    "filltest": [(*LEFT, "--sheet", "sheet.csv")],
    "check": [(BENCH,)],
    "checklist": [(BENCH,)],
}

# Tables that take long: test_flight_failures, test_balance, test_filltest_command and test_tolerance_shares hold their keys.
DEARER = {
    "TANK-tolerance-shares",
    "TANK-tolerance-band",
    "balance-limits",
    "failures",
    "failures-together",
    "catches",
    *(k for k in KEPT if k.startswith("TANK-filltest") and k != "TANK-filltest-plan"),
}


def answers(name: str, arguments: tuple[str, ...]) -> Keys:
    done = CliRunner().invoke(group, [name, *arguments, "--form", "json"])
    assert done.stdout, (name, arguments, done.exception)
    document = json.loads(done.stdout)
    assert document["form"] == JSON_FORM == PROMISED
    return form(document["tables"])


def test_keys_of_every_question_are_those_that_are_promised(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    assert set(ASKED) == {question.name for question in QUESTIONS if not question.sheet} | {"check", "checklist"}
    monkeypatch.chdir(tmp_path)
    layout_of(tmp_path)
    Path("valves").mkdir()
    layout_of(tmp_path / "valves", VALVES)
    box, beside = meshfiles.BOX_MM, [[k + 8 for k in face] for face in meshfiles.TRIANGLES]
    Path("open.off").write_bytes(meshfiles.off(box, meshfiles.TRIANGLES[2:]))
    Path("two.off").write_bytes(meshfiles.off(np.concatenate([box, box + 500.0]), meshfiles.TRIANGLES + beside))
    of: dict[str, Keys] = {name: {} for name in ASKED}
    for name, ways in ASKED.items():
        for arguments in ways:
            of[name] |= answers(name, arguments)
    grouped = review_tables(demo_study(), [], Shown())
    on_page = form(table.record() for tables in grouped.values() for table in tables)
    found = {kind: keys for tables in (*of.values(), on_page) for kind, keys in tables.items()}
    assert broken(found) == {}
    assert set(KEPT) == found.keys() | DEARER
    stands = {question.name for question in QUESTIONS if on_page.keys() & of.get(question.name, {}).keys()}
    assert stands == {question.name for question in QUESTIONS if question.on_page}


def test_a_word_in_a_column_of_numbers_is_a_status() -> None:
    study = review.study(load_design(DEMO), only="header")
    tables = review_tables(study, [], Shown())["header"]
    for table in tables:
        for row in table.record()["rows"]:
            numbers = {key: value for key, value in row.items() if key.endswith(("_m3", "_m", "_s", "_share"))}
            assert all(value is None or isinstance(value, float) for value in numbers.values()), table.key
