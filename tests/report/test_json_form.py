"""The form of JSON answers: which tables there are, and the keys of their rows, as they are promised for JSON_FORM.

Where this fails because a key has gone or changed its name, raise JSON_FORM; where one has come, add it to json_form.json.
"""

from __future__ import annotations

import json
from pathlib import Path

from commands import DEMO

from fuelsys import review
from fuelsys.load.designs.door import load_design
from fuelsys.report.page.contents import review_tables
from fuelsys.report.shown import JSON_FORM, Shown, as_json

KEPT = Path(__file__).parents[1] / "json_form.json"


def form() -> dict[str, list[str]]:
    """Kind of table -> keys of its rows, over the example; tanks', switches' and attitudes' names are one."""
    study = review.study(load_design(DEMO))
    names = {tank.name for tank in study.tanks}
    grouped = review_tables(study, review.findings(study), Shown())
    found: dict[str, list[str]] = {}
    for tables in grouped.values():
        document = json.loads(as_json(tables))
        for table in document["tables"]:
            kind = table["key"]
            for name in names:
                kind = kind.replace(name, "TANK")
            kind = "-".join(kind.split("-")[:2]) if kind.startswith("TANK-") else kind.partition("-")[0]
            for row in table["rows"]:
                keys = list(row)
                assert found.setdefault(kind, keys) == keys or set(found[kind]) ^ set(keys) <= {
                    "brought_surface_below_the_inlet_m3_s",
                    "brought_tank_full_m3_s",
                    "brought_without_suction_m3_s",
                    "brought_m3_s",
                }, table["key"]
    return found


def test_keys_are_those_that_are_promised() -> None:
    kept = json.loads(KEPT.read_text(encoding="utf-8"))
    assert kept["form"] == JSON_FORM
    found = form()
    assert {kind: keys for kind, keys in found.items() if kept["rows"].get(kind) != keys} == {}
    assert set(kept["rows"]) <= set(found)


def test_a_word_in_a_column_of_numbers_is_a_status() -> None:
    study = review.study(load_design(DEMO), only="header")
    tables = review_tables(study, [], Shown())["header"]
    for table in tables:
        for row in table.record()["rows"]:
            numbers = {key: value for key, value in row.items() if key.endswith(("_m3", "_m", "_s", "_share"))}
            assert all(value is None or isinstance(value, float) for value in numbers.values()), table.key
