"""A tank that a test found smaller: what stays behind, is trapped or goes unseen never counts as less than it was drawn."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from functools import lru_cache

import numpy as np
import pytest
from fillsheets import example

from fuelsys.analysis.fills import measured, twins
from fuelsys.analysis.fills.model import none
from fuelsys.analysis.sweeping.map import unusable_map
from fuelsys.analysis.tank.capacity import capacity
from fuelsys.analysis.tank.dipstick import dipstick
from fuelsys.analysis.tank.gauge import gauge_studies
from fuelsys.analysis.tank.switches import trips_at
from fuelsys.analysis.tank.unusable import counted_m3, left_above_drain, outlets, unusable
from fuelsys.model.built.layout import FittedTank
from fuelsys.model.built.measured import AsTwin, Corrected
from fuelsys.report.shown import Shown
from fuelsys.report.tables.capacity import taken_way
from fuelsys.report.tables.dipstick import dry

LAYOUT = example().with_ways()
ENVELOPE = LAYOUT.design.envelope
GRID = np.array([-0.1, 0.1])


@lru_cache
def tank(share: float, how: str = "own", name: str = "left") -> FittedTank:
    """A tank as drawn, by its own test or by its twin's."""
    drawn = LAYOUT.tank(name)
    own = Corrected("s.csv", "2026-05-30", "parked", share, 0.01, none(), drawn.cavity)
    if how == "own":
        return replace(drawn, cavity=measured._shared(drawn.cavity, own), corrected=own)
    like = AsTwin("right", share)
    return replace(drawn, cavity=twins._shared(drawn.cavity, like), as_twin=like)


def _blind(one: FittedTank) -> list[float]:
    (found,) = gauge_studies(one, ENVELOPE, capacity(LAYOUT, one))
    return [max(0.0, found.hidden_m3), *(at.blind_below_m3 for at in found.at)]


def _stays(one: FittedTank) -> list[float]:
    found = unusable(one, ENVELOPE)
    assert found is not None
    assert found.worst.residual_m3 + found.worst.trapped_m3 == pytest.approx(
        found.volume_m3
    )  # a sentence tells all three
    parts = [part for at in found.at for part in (at.residual_m3, at.trapped_m3, *(p.volume_m3 for p in at.pockets))]
    return [found.volume_m3, *parts]


def _water(one: FittedTank) -> list[float]:
    found = left_above_drain(one, LAYOUT.design.normal("ground"))
    assert found is not None
    return [found.sustained_m3, found.residual_m3, found.trapped_m3, *(pocket.volume_m3 for pocket in found.pockets)]


TOLD: dict[str, Callable[[FittedTank], list[float]]] = {
    "what stays behind, by its parts": _stays,
    "water that the drain leaves": _water,
    "what a gauge does not see": _blind,
    "what a dry stick does not see": lambda one: [dipstick(LAYOUT, one).unseen_m3],
    "any other attitude": lambda one: [counted_m3(one, (at.up, at), None, outlets(one)) for at in ENVELOPE],
    "a grid of pitch and roll": lambda one: unusable_map(one, GRID, GRID).ravel().tolist(),
}


@pytest.mark.parametrize("told", TOLD)
@pytest.mark.parametrize("how", ["own", "twin"])
def test_nothing_that_is_lost_counts_as_less(told: str, how: str) -> None:
    drawn, smaller, larger = (np.array(TOLD[told](one)) for one in (tank(1.0), tank(0.9, how), tank(1.1)))
    np.testing.assert_allclose(smaller, drawn, rtol=1e-9, atol=1e-12)
    assert drawn.max() > 1e-6
    assert (larger >= drawn - 1e-12).all()  # of a larger tank the more is counted


def test_what_a_lamp_leaves_as_unusable_is_as_drawn() -> None:
    pair = [tank(share, name="header") for share in (1.0, 0.9)]
    for at in ENVELOPE:
        drawn, smaller = (trips_at(one, at, one.design.switch) for one in pair)
        for before, after in zip(drawn, smaller, strict=True):
            assert after.unusable_m3 == pytest.approx(before.unusable_m3, rel=1e-9)
            assert after.trip_m3 is None or after.trip_m3 < (before.trip_m3 or 0.0)  # but less is there when it lights


def test_a_dry_stick_says_it_in_words() -> None:
    drawn, smaller = (dipstick(LAYOUT, tank(share), unusable_m3=5e-3) for share in (1.0, 0.9))
    assert dry(smaller, Shown()) == dry(drawn, Shown())


@pytest.mark.parametrize(("share", "told"), [(0.96, "taken off"), (1.04, "added")])
def test_what_a_test_made_of_the_mesh_is_told_by_its_sign(share: float, told: str) -> None:
    assert taken_way(tank(share).cavity.taken[-1]) == told
