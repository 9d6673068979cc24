"""A pass says which open findings it rests on, at its own tank only."""

from __future__ import annotations

from rule_cases import study_of

from fuelsys.model.found.findings import Outcome
from fuelsys.review import findings
from fuelsys.rules import ALL


def test_rules_rest_on_rules_that_there_are() -> None:
    names = {rule.name for rule in ALL}
    assert {name for rule in ALL for name in rule.rests_on} <= names
    assert not [rule.name for rule in ALL if rule.name in rule.rests_on]


def test_a_pass_is_marked_where_what_it_rests_on_is_open() -> None:
    found = findings(
        study_of({"tank.0.outlet.0.cover": "60 mm", "tank.0.dipstick.bottom": ["230 mm", "250 mm", "-40 mm"]})
    )
    large = next(one for one in found if one.rule.name == "unusable-large" and one.where == "main")
    blind = next(one for one in found if one.rule.name == "dipstick-blind" and one.where == "main")
    assert large.open
    assert blind.outcome is Outcome.PASS
    assert "unusable-large" in blind.rests_on
    assert blind.says.startswith("pass, resting on: unusable-large")
    assert not any("unusable-large" in one.rests_on for one in found if one.where.startswith("header "))
    assert not any(one.rests_on for one in found if one.outcome is not Outcome.PASS)
