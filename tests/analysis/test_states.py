"""What comes in every setting of selectors and valves, at every stated flow."""

from __future__ import annotations

import json
from copy import deepcopy
from functools import lru_cache
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

from numpy.testing import assert_allclose
from plumbing_changes import line, mm
from sound_designs import design_of, text_of, write_meshes

from fuelsys import review
from fuelsys.analysis.flights.plumbed import Positions, as_set
from fuelsys.analysis.lines import statewise
from fuelsys.analysis.lines.states import MOST_STATES
from fuelsys.model.built.layout import Layout
from fuelsys.model.found.findings import Outcome
from fuelsys.report.shown import Shown
from fuelsys.report.table import as_json
from fuelsys.report.tables.flow import flows
from fuelsys.rules.plumbing.flow import feed_flow_too_small


def layout_of(design: dict[str, Any]) -> Layout:
    with TemporaryDirectory() as folder:
        write_meshes(Path(folder))
        file = Path(folder, "design.toml")
        file.write_text(text_of(design), encoding="utf-8")
        return review.read(file)


def valve(name: str) -> dict[str, Any]:
    return {"name": name, "kind": "valve", "position": mm(550, 0, 700)}


@lru_cache
def choosing() -> Layout:
    return layout_of(design_of("selector"))


def test_a_valve_before_a_selector_that_hands_the_return_on_leaves_it_no_way() -> None:
    """The selector lies on the feed too: what does not come to it does not go on from it."""
    design = deepcopy(design_of("selector"))
    (back,) = (one for one in design["line"] if one["name"] == "return")
    design["line"].remove(back)
    design["component"].append(valve("return valve"))
    design["line"] += [
        line("return", "return", "engine", "return valve"),
        line("to selector", "return", "return valve", "selector"),
        line("to left", "return", "selector", "left.return", mm(400, -600, 1260)),
        line("to right", "return", "selector", "right.return", mm(400, 600, 1260)),
    ]
    found = review.carried(layout_of(design)).states or ()
    assert {state.words: (state.returned_to, state.stuck) for state in found if "left" in state.words} == {
        "selector on left": (("left",), ()),
        "selector on left, return valve shut": ((), ("engine",)),
    }


def test_what_a_setting_shuts_is_what_its_positions_stop() -> None:
    """Held against the positions of a flight, which find the lines in another way."""
    layout = choosing()
    found = review.carried(layout)
    assert found.cut_off == tuple(f"shut-off shut, selector on {to}" for to in ("left", "right", "all"))
    for state, to in zip(found.states or (), ("left", "right", "both"), strict=True):
        kept = as_set(layout.network, Positions(selectors={"selector": to})).edges
        assert state.shut == {line.name for line in layout.lines} - {line.name for line in kept}


def test_every_setting_has_every_flow_and_every_pump() -> None:
    found = review.carried(choosing()).in_states
    pumps = {"boost pump", "engine pump", "boost pump and engine pump"}
    phases = set(choosing().design.flows_m3_s)
    assert {(one.state.words, one.phase, one.fed.running) for one in found} == {
        (f"selector on {to}", phase, running)
        for to in ("left", "right", "all")
        for phase in phases
        for running in pumps
    }
    # What is needed is 125 % of the phase's flow and the return.
    for one in found:
        assert_allclose(one.fed.needed_m3_s, 1.25 * choosing().design.flows_m3_s[one.phase] + 20e-3 / 3600.0)
    assert_allclose(
        [one.fed.worst.flow_m3_s for one in found if one.fed.running == "boost pump"], 148.86e-3 / 3600.0, rtol=1e-4
    )


def test_a_setting_with_too_little_fails_by_its_name() -> None:
    """A thin line leads past the valve: with that shut, the engine still gets something, and not enough."""
    design = deepcopy(design_of("gravity"))
    design["line"].append(line("past it", "feed", "filter", "engine") | {"bore": "2.5 mm"})
    study = review.study(layout_of(design))
    assert [state.words for state in study.flows.states or ()] == ["all open", "shut-off shut"]
    verdicts = {one.where: one for one in feed_flow_too_small.findings(study)}
    assert verdicts["main to engine"].outcome is not Outcome.FAIL
    failed = verdicts["engine, every setting"]
    assert failed.outcome is Outcome.FAIL
    assert "worst with shut-off shut" in str(failed.evidence)


def test_a_header_that_a_setting_does_not_fill() -> None:
    design = deepcopy(design_of("header"))
    design["component"].append(valve("wing valve"))
    (index,) = (i for i, one in enumerate(design["line"]) if one["to"] == "header.from main")
    whole = design["line"].pop(index)
    design["line"] += [whole | {"to": "wing valve", "path": []}, line("on", "feed", "wing valve", "header.from main")]
    found = review.carried(layout_of(design))
    rows = json.loads(as_json(flows(found, Shown())))["tables"][1]["rows"]
    shut = [row for row in rows if row["setting"] == "wing valve shut" and row["into"] == "header"]
    assert {row["status"] for row in shut} == {"not filled"}
    assert len(shut) == 3
    # What fills it is what the table of the inlet alone has, its surface below the inlet.
    alone = next(fed for fed in found.to if fed.kind == "tank").worst_free.flow_m3_s
    brought = {row["brought_m3_s"] for row in rows if row["setting"] == "all open" and row["into"] == "header"}
    assert_allclose(list(brought), [alone], rtol=1e-9)


def test_too_many_settings_are_told(monkeypatch: Any) -> None:
    design = deepcopy(design_of("gravity"))
    for i in range(9):
        design["component"].append(valve(f"v{i}"))
        design["line"] += [line(f"to v{i}", "feed", "filter", f"v{i}"), line(f"from v{i}", "feed", f"v{i}", "engine")]
    found = review.carried(layout_of(design))
    assert found.in_states == ()
    (missing,) = found.missing_in_states
    assert f"at most {MOST_STATES} settings" in missing.needs
    assert "there are 1024" in missing.needs
    monkeypatch.setattr(statewise, "MOST_CASES", 3)
    (missing,) = review.carried(choosing()).missing_in_states
    assert "1 of 3 are not computed, from selector on all on" in missing.needs


def test_tanks_that_meet_before_a_selector_feed_together() -> None:
    """A tank beside the left one, on the same position of the selector: dry, it stands open to the pump all the same."""
    design = deepcopy(design_of("selector"))
    left = next(tank for tank in design["tank"] if tank["name"] == "left")
    design["tank"].append({**left, "name": "beside", "position": mm(400, -850, 2400)})
    design["component"].append({"name": "tee", "kind": "tee", "position": mm(500, -300, 700)})
    design["component"][[one["name"] for one in design["component"]].index("selector")]["both"] = False
    (feed,) = (one for one in design["line"] if one["name"] == "left feed")
    feed["to"] = "tee"
    design["line"] += [line("beside feed", "feed", "beside.outlet", "tee"), line("on", "feed", "tee", "selector")]
    found = review.carried(layout_of(design))
    assert {frozenset(state.feeding) for state in found.states or ()} == {
        frozenset({"left", "beside"}),
        frozenset({"right"}),
    }
    assert {str(dry.outlet) for dry in found.dry} == {"left.outlet", "beside.outlet"}
    assert ("left", "beside") in {one.tanks for fed in found.to for one in fed.at}
