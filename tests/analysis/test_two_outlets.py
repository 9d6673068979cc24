"""Two outlets of one tank whose lines meet: what is left when the first takes air, where the air gets past and where not."""

from __future__ import annotations

from copy import deepcopy
from dataclasses import replace
from typing import Any

import numpy as np
import pytest
from plumbing_changes import line, mm
from sound_designs import design_of
from test_states import layout_of

from fuelsys import review
from fuelsys.analysis.tank.draining import Drained
from fuelsys.analysis.tank.unusable import outlets
from fuelsys.model.built.layout import Layout
from fuelsys.report.shown import Shown
from fuelsys.report.tables.notes import covered

# The hopper below the outlet at z = -45, by the prismoidal formula (rule_cases.py), and below z = -50, where it is 150 x 166.667
# mm wide: 10/6 (100 x 100 + 4 x 125 x 133.333 + 150 x 166.667) mm3.
BELOW_HIGH, BELOW_LOW = 318_750e-9, 10 / 6 * (10_000 + 4 * 125 * 400 / 3 + 25_000) * 1e-9


def two_outlets(tee_z_mm: float, bore_mm: float = 8.0, **fuel: Any) -> Layout:
    """The main tank's fuel pumped from an outlet at z = -45 and one at -50 (955 and 950 in the aircraft) that meet in a tee."""
    design = deepcopy(design_of("transfer"))
    design["fuel"] |= fuel
    design["attitude"] = [one for one in design["attitude"] if one.get("normal")]
    main = design["tank"][0]
    main["outlet"].append({**main["outlet"][0], "name": "low", "position": mm(200, 250, -50)})
    design["component"].append({"name": "tee", "kind": "tee", "position": mm(600, 0, tee_z_mm)})
    (feed,) = (one for one in design["line"] if one["name"] == "feed")
    feed |= {"from": "tee"}
    low = line("low feed", "feed", "main.low", "tee")
    design["line"] += [line("high feed", "feed", "main.outlet", "tee"), low | {"bore": f"{bore_mm} mm"}]
    return layout_of(design)


def left_m3(layout: Layout) -> float:
    left = review.study(layout, only="main").tanks[0].capacity.unusable
    assert left is not None
    return left.volume_m3


def test_a_tee_far_below_lives_with_a_bare_outlet() -> None:
    layout = two_outlets(500.0)
    assert layout.tank("main").ends == {}
    assert left_m3(layout) == pytest.approx(BELOW_LOW, rel=1e-9)


def test_air_past_a_tee_near_the_tank_ends_both() -> None:
    """A thin line from the low outlet draws the tee's pressure down, and the high outlet's line lets air past."""
    layout = two_outlets(930.0, bore_mm=3.0)
    tank = layout.tank("main")
    assert tank.ends["outlet"].others == ("low",)
    assert left_m3(layout) == pytest.approx(BELOW_HIGH, rel=1e-9)
    study = review.study(layout, only="main").tanks[0]
    assert any("lets air past" in note for note in covered(study, Shown()))
    # The reserve of each switch counts from there too.
    assert {one.unusable_m3 for one in study.switches[0].at} == {study.capacity.unusable.volume_m3}  # type: ignore[union-attr]


def test_what_is_not_known_counts_as_air() -> None:
    layout = two_outlets(500.0, kind="diesel")
    assert "fuel.viscosity" in layout.tank("main").ends["outlet"].needs
    assert left_m3(layout) == pytest.approx(BELOW_HIGH, rel=1e-9)


def test_one_that_ends_another_never_leaves_less() -> None:
    """At any tilt, and never less than the outlet alone that is uncovered first."""
    tank = two_outlets(930.0, bore_mm=3.0).tank("main")
    both = outlets(tank)
    rng = np.random.default_rng(3)
    for _ in range(20):
        up = np.array([*rng.uniform(-0.4, 0.4, 2), 1.0])
        up /= np.linalg.norm(up)
        ended = Drained.of(tank.cavity, up, both).left_m3
        assert ended >= Drained.of(tank.cavity, up, [replace(both[0], ends=())]).left_m3 - 1e-15
        assert ended >= Drained.of(tank.cavity, up, [replace(one, ends=()) for one in both]).left_m3 - 1e-15
