"""Ladders, whose paths nobody could list, loops, and lines from nowhere: they are checked as any design is."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import designs
import networks
import pytest
from commands import run
from plumbing_changes import line, mm
from rule_cases import plain

from fuelsys.model.found.findings import Outcome
from fuelsys.model.stated.design import LineKind
from fuelsys.review import findings, study


@pytest.mark.parametrize("kind", ["feed", "vent"])
@pytest.mark.parametrize("n", [14, 30, 1000])
def test_a_ladder_of_2_to_the_n_paths_is_one_way(tmp_path: Path, kind: LineKind, n: int) -> None:
    layout = designs.layout_of(tmp_path, networks.ladder(n, kind))
    (way,) = [way for way in layout.network.ways(kind) if str(way.start).startswith("main.")]
    assert len(way.steps) == 4 * n + 2
    assert [str(end) for end in way.always] == [f"j{i}" for i in range(n + 1)]
    assert len(way.shortest) == 2 * n + 2


@pytest.mark.parametrize("kind", ["feed", "vent"])
def test_a_ladder_is_checked_as_any_design(tmp_path: Path, kind: LineKind) -> None:
    # Its joints rise and fall by up to 30 mm, and the lines are of 8 mm.
    found = findings(study(designs.layout_of(tmp_path, networks.ladder(30, kind))))
    where = "main.outlet to header.from main" if kind == "feed" else "main.vent to overboard"
    (low,) = [finding for finding in found if (finding.rule.name, finding.where) == (f"{kind}-line-low-point", where)]
    assert low.outcome is Outcome.FAIL
    assert len([f for f in found if f.where == where]) == len({f.rule.name for f in found if f.where == where})


@pytest.mark.parametrize(("command", "kind", "code"), [("check", "feed", 1), ("capacity", "vent", 0)])
def test_a_ladder_of_a_thousand_diamonds_on_the_command_line(
    tmp_path: Path, command: str, kind: LineKind, code: int
) -> None:
    designs.layout_of(tmp_path, networks.ladder(1000, kind))
    done = run(command, "bench.toml", folder=tmp_path)
    assert (done.returncode, done.stderr) == (code, ""), done.stderr


# Rings of tees in the feed (from the main tank's), the vents and between two tanks' ports; pumps one behind the other in a ring.
LOOPS: dict[str, Any] = {
    "component": [
        *designs.COMPONENTS,
        *({"name": name, "kind": "tee", "position": mm(500 + 10 * i, 0, 800)} for i, name in enumerate("abcdefgh")),
        *({"name": name, "kind": "pump", "position": mm(100, 100 * i, 300)} for i, name in enumerate(("one", "two"))),
    ],
    "line": [
        *(drawn for i, drawn in enumerate(designs.LINES) if i not in (0, 2)),
        *(line(f"feed {a}{b}", "feed", a, b) for a, b in ("ab", "bc", "ca")),
        line("in", "feed", "main.outlet", "a"),
        line("out", "feed", "b", "header.from main"),
        *(line(f"vent {a}{b}", "vent", a, b) for a, b in ("de", "ef", "fd")),
        line("air", "vent", "main.vent", "d"),
        line("air out", "vent", "e", "overboard"),
        line("there", "feed", "one", "two"),
        line("back", "feed", "two", "one"),
        line("level", "interconnect", "main.return", "g"),
        line("level gh", "interconnect", "g", "h"),
        line("level hg", "interconnect", "h", "g"),
        line("level on", "interconnect", "h", "header.from main"),
    ],
}


def test_rings_of_lines_are_checked(tmp_path: Path) -> None:
    layout = designs.layout_of(tmp_path, LOOPS)
    feed = next(way for way in layout.network.ways("feed") if str(way.start) == "main.outlet")
    assert set(feed.lines) == {"in", "feed ab", "out"}
    vent = next(way for way in layout.network.ways("vent") if str(way.start) == "main.vent")
    assert set(vent.lines) == {"air", "vent de", "vent ef", "vent fd", "air out"}
    said = {finding.where for finding in findings(study(layout)) if "needs the lines" in plain(finding.evidence)}
    assert said == {"feed bc", "feed ca"}
    assert run("check", "bench.toml", folder=tmp_path).returncode == 1


def test_a_vent_line_that_leaves_from_no_tank_is_not_checked(tmp_path: Path) -> None:
    changes = {"line.9": line("breather", "vent", "engine", "overboard")}
    found = findings(study(designs.layout_of(tmp_path, changes)))
    assert {f.rule.name for f in found if f.where == "breather" and f.outcome is Outcome.NOT_CHECKED} >= {
        "vent-bore-small"
    }
