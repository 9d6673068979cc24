"""Usable is only what a line can bring to an engine: a tank behind a check valve that was fitted the wrong way round has none."""

from __future__ import annotations

from typing import Any

from numpy.testing import assert_allclose
from plumbing_changes import line
from rule_cases import LEVEL, Case, check, mm, study_of

from fuelsys.model.built.reaching import cut_off
from fuelsys.report.shown import Shown
from fuelsys.report.tables.design import totals

VALVE = {"name": "check", "kind": "check valve", "position": mm(480, 0, 700)}


def through(first: tuple[str, str], second: tuple[str, str], kind: str = "feed") -> dict[str, Any]:
    return {"component.6": VALVE, "line.2": line("a", kind, *first), "line.9": line("b", kind, *second)}


RIGHT = through(("main.outlet", "check"), ("check", "header.from main"))
TURNED = through(("header.from main", "check"), ("check", "main.outlet"))
JOINING = through(("main.outlet", "check"), ("check", "header.from main"), "interconnect")
AGAINST = through(("header.from main", "check"), ("check", "main.outlet"), "interconnect")


def test_a_check_valve_that_was_turned_round_leaves_nothing_usable() -> None:
    for changes, out in ((RIGHT, set()), (TURNED, {"main"}), (JOINING, set()), (AGAINST, {"main"})):
        assert cut_off(study_of(changes).layout.network) == out
    turned = {tank.name: tank.capacity.usable_m3 for tank in study_of(TURNED | LEVEL).tanks}
    # The header, full: 8.912 L less the 0.28 L below its outlet.
    assert_allclose([turned["main"], turned["header"]], [0.0, 8.632e-3], rtol=1e-9)
    said = ("8.63 L usable", "none of what is in main: no line can bring it to the engine")
    check(Case("endurance-below-half-hour", "bad", "all tanks", said, TURNED | LEVEL))
    rows = {row[0]: row[2:] for row in totals(study_of(TURNED | LEVEL), Shown()).rows}
    # 8.912 L and 45.1 L, the main tank filled to the top of its walls (48.5 - 3.4): of these only the header's 8.632 L are usable.
    assert_allclose([float(cell or 0.0) for cell in rows["all tanks"]], [54.012e-3, 45.38e-3, 8.632e-3], rtol=1e-9)


def test_without_an_engine_nothing_is_judged() -> None:
    assert cut_off(study_of({"line": []}).layout.network) == frozenset()
