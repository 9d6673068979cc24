"""Samples, quantiles and climbs whose answer is known before they are made."""

from __future__ import annotations

from concurrent.futures import Executor, Future
from itertools import permutations
from math import radians
from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest
from fillsheets import example

from fuelsys.analysis.lines import spilling
from fuelsys.analysis.lines.demand import with_demand
from fuelsys.analysis.sweeping import bands, rooms, stages, sweeps, tolerance
from fuelsys.analysis.tank import combined
from fuelsys.model.found.tolerance import Tolerances
from fuelsys.model.stated.attitude import COMBINED_TO_RAD, Attitude


def test_a_climb_comes_to_a_peak_beside_the_grid() -> None:
    """A hill whose top lies at 3.3 and -1.7 degrees, between the places of a grid of 2 degrees: found to a quarter of a degree."""
    top = radians(3.3), radians(-1.7)
    stub: Any = SimpleNamespace(
        axes=([radians(p) for p in (-4.0, -2.0, 0.0, 2.0, 4.0)], [radians(r) for r in (-4.0, -2.0, 0.0, 2.0, 4.0)])
    )
    stub._left_m3 = lambda p, r: 1.0 - (p - top[0]) ** 2 - (r - top[1]) ** 2
    (peak,) = combined._Search._peaks(stub)
    assert peak == (radians(4.0), radians(-2.0))
    found = combined._Search._climbed(stub, peak, radians(1.0), radians(1.0))
    assert found == pytest.approx(top, abs=COMBINED_TO_RAD)
    # No further than the stated tilts.
    top = radians(9.0), radians(-9.0)
    assert combined._Search._climbed(stub, (radians(2.0), 0.0), radians(1.0), radians(1.0)) == pytest.approx(
        (radians(4.0), radians(-4.0))
    )


@pytest.mark.parametrize(
    "axes", [([-0.04, 0.0, 0.04], [-0.02, 0.0, 0.02]), ([0.0, 0.04, 0.08], [0.01]), ([0.02, 0.06], [-0.06, -0.02])]
)
def test_a_climb_begins_with_half_a_step_of_the_grid(
    axes: tuple[list[float], list[float]], monkeypatch: pytest.MonkeyPatch
) -> None:
    asked: list[tuple[float, float]] = []
    monkeypatch.setattr(combined, "left_at", lambda *_: None)
    monkeypatch.setattr(combined, "held_at", lambda *_: None)
    monkeypatch.setattr(combined, "replace", lambda *_, **__: None)
    stub: Any = SimpleNamespace(
        axes=axes,
        tank=SimpleNamespace(cavity=None),
        openings=(),
        starts=None,
        _peaks=lambda: [(0.0, 0.0)],
        _left_m3=lambda p, r: 0.0,
    )
    stub._attitude = lambda p, r: Attitude("x", "flight", p, r)
    stub._climbed = lambda top, p, r: asked.append((p, r)) or top
    combined._Search.worst(stub)
    half = [(axis[1] - axis[0]) / 2.0 if len(axis) > 1 else 0.0 for axis in axes]
    assert asked == [pytest.approx(tuple(half))]


def test_what_bands_say_of_samples(monkeypatch: pytest.MonkeyPatch) -> None:
    """A hundred samples of 1 to 100 L at a trip: 1, 5, 50, 95 and 100; with twenty minutes' target, 30 that have less."""
    layout = with_demand(example())
    tank = layout.tank("header")
    flights = len([one for one in layout.design.envelope if one.phase == "flight"])
    switches = len(tank.design.switch)
    held = np.arange(1.0, 101.0)[:, None, None] * np.ones((1, flights, switches)) * 1e-3
    first = tank.design.switch[0]
    assert first.target_s is not None
    left_s = np.where(np.arange(100)[:, None, None] < 30, first.target_s - 1.0, first.target_s) * np.ones(
        (1, flights, switches)
    )
    left_s[:5, 0] = first.target_s  # five of them are in time at one of the attitudes
    monkeypatch.setattr(bands, "_sampled", lambda *_: (held, left_s))
    found = bands.switch_bands(layout, tank, Tolerances(), 100, 1, 0.0405)[0]
    assert found.sampled_m3 == pytest.approx([1e-3, 5e-3, 50e-3, 95e-3, 100e-3])
    assert (found.samples, found.early, found.early_m3) == (100, 60, 0.0405)
    assert found.missed == 30
    assert found.missed_share == pytest.approx((30 * flights - 5) / (100 * flights))
    # Of three hundred the least and the most, not the hundredth part from either end.
    held = np.arange(1.0, 301.0)[:, None, None] * np.ones((1, flights, switches)) * 1e-3
    monkeypatch.setattr(bands, "_sampled", lambda *_: (held, np.ones((300, flights, switches))))
    many = bands.switch_bands(layout, tank, Tolerances(), 300, 1, 0.0405)[0]
    assert many.sampled_m3 == pytest.approx([1e-3, 15e-3, 150e-3, 285e-3, 300e-3])


def test_fittings_set_off_at_once_sit_where_each_would_alone() -> None:
    """As far off as the nearest wall, and a third more, in every direction: inside they stand where they are moved to, else on it."""
    layout = with_demand(example())
    tank = layout.tank("header")
    near_m = min(tank.cavity.clearance_m(tank.body_m(one.mark_m)) for one in tank.design.switch)
    for share in (0.5, 0.75, 1.3):
        asked = tolerance.sampled(layout, tank, Tolerances(set_off_m=share * near_m))
        drawn = np.random.default_rng(7).choice([-1.0, 0.0, 1.0], (60, asked.size))
        placed, outside = asked._placed(drawn)
        one_by_one = [asked._spots(row) for row in drawn]
        np.testing.assert_allclose(placed.points_m, [[spot.point_m for spot in row] for row in one_by_one], atol=1e-12)
        np.testing.assert_allclose(outside, [max(spot.off_m for spot in row) for row in one_by_one], atol=1e-12)
        assert (placed.faces == [[spot.face for spot in row] for row in one_by_one]).all()


@pytest.mark.parametrize(
    ("low_mm", "other_mm", "wanted_mm"),
    [
        (3.0, (0.0, 0.0), (5.4, 5.4)),
        (4.0, (0.0, 0.0), (6.4, 5.4)),
        (3.5, (-1.0, 0.8), (6.4, 6.2)),
        (4.5, (0.5, -1.2), (6.9, 5.9)),
    ],
)
def test_how_low_and_how_high_a_switch_may_trip(
    low_mm: float, other_mm: tuple[float, float], wanted_mm: tuple[float, float], monkeypatch: pytest.MonkeyPatch
) -> None:
    # Set off by 2 mm along axes of which up has 1.2 in all, its own 3 mm, low by its range, and its float in the densest and the lightest.
    monkeypatch.setattr(bands, "low_m", lambda *_: low_mm / 1e3)
    asked: Any = SimpleNamespace(
        tolerances=SimpleNamespace(set_off_m=0.002), tank=SimpleNamespace(turn=np.eye(3)), size=1, columns={"density": slice(0, 1)},
        raised_m=lambda row, up: np.array([[other_mm[0] if row[0, 0] > 0.0 else other_mm[1]]]) / 1e3,
    )  # fmt: skip
    switch: Any = SimpleNamespace(tolerance_m=0.003)
    assert bands._reach_m(asked, 0, switch, np.array([0.2, -0.2, 0.8])) == pytest.approx(
        tuple(one / 1e3 for one in wanted_mm)
    )


def test_the_progress_of_one_search_among_several() -> None:
    seen: list[tuple[int, int]] = []
    for part in range(3):
        for done in (0, 10):
            stages._part(lambda done, of: seen.append((done, of)), part, 3)(done, 10)
    assert seen == [(0, 30), (10, 30), (10, 30), (20, 30), (20, 30), (30, 30)]


class AtOnce(Executor):
    """Works at once, and notes how many answers have been asked for."""

    def __init__(self) -> None:
        self.asked = 0

    def submit(self, fn: Any, /, *args: Any, **kwargs: Any) -> Future[Any]:
        self.asked += 1
        found: Future[Any] = Future()
        found.set_result(fn(*args, **kwargs))
        return found


@pytest.mark.parametrize("ahead", [1, 2, 5])
def test_as_many_are_in_flight_as_may_be(ahead: int) -> None:
    executor, seen = AtOnce(), list[int]()
    for one in sweeps.sweep(float, list(range(8)), executor, ahead=ahead, batch=1):
        seen.append(executor.asked - int(one))
    assert seen == [min(ahead, 8 - k) for k in range(8)]


def test_what_is_read_off_is_held_against_its_own_spread() -> None:
    """Of three samples one never trips: the others, a litre apart, must be read within a share of that litre."""
    never = -np.inf

    def answered(*held: float) -> Any:
        return tolerance.Answered(np.zeros(3), np.ones((3, 1)), np.array(held).reshape(3, 1, 1))

    full, share = answered(never, 1.0, 2.0), tolerance._NEAR
    assert tolerance._off_m3(full, answered(never, 1.0, 2.0 + 0.9 * share)) == pytest.approx(0.9 * share)
    assert tolerance._off_m3(full, answered(never, 1.0 - 0.9 * share, 2.0)) == pytest.approx(0.9 * share)
    assert tolerance._off_m3(full, answered(never, 1.0, 2.0 + 1.1 * share)) is None
    assert tolerance._off_m3(full, answered(0.5, 1.0, 2.0)) is None  # one that never trips is read off as one that does
    assert tolerance._off_m3(answered(never, never, never), answered(never, never, never)) == 0.0


@pytest.mark.parametrize(
    ("aside_mm", "z_mm", "told"),
    [
        # A fitting 4 mm about its point, at 100 mm; a float of 15 mm all round over a stroke of 10 mm; a stem of 10 mm up from the mark.
        (8.9, 50.0, True), (9.1, 50.0, False),  # beside the stem, far above the float
        (18.9, 95.0, True), (19.1, 95.0, False), (18.9, 100.0, True), (18.9, 90.0, True),  # beside the float's stroke
        (0.0, 118.9, True), (0.0, 119.1, False), (9.1, 116.0, True), (9.1, 117.5, False),  # below it
        (8.9, 105.0, True),
    ],
)  # fmt: skip
def test_what_is_in_the_way_of_a_switch(aside_mm: float, z_mm: float, told: bool) -> None:
    fitting = ("vent", np.array([[0.1, 0.2, 0.1]]), 0.004)
    stub: Any = SimpleNamespace(
        switch=SimpleNamespace(differential_m=0.01), round_m=0.015, stem_m=0.01, _fittings=[fitting]
    )
    place: Any = SimpleNamespace(x_m=0.1, y_m=0.2 + aside_mm / 1e3, z_m=z_mm / 1e3)
    assert rooms.Room._fitting_against(stub, place) == ("vent is in the way" if told else "")


def test_a_stage_is_held_against_those_before_and_after_it() -> None:
    searches = [SimpleNamespace(target_s=60.0 * minutes) for minutes in (30, 20, 10, 5)]
    asked: list[tuple[float, float]] = []

    def out_of_order(sooner: Any, later: Any) -> str:
        asked.append((sooner[0].target_s / 60.0, later[0].target_s / 60.0))
        return ""

    stub: Any = SimpleNamespace(searches=searches, _out_of_order=out_of_order)
    place: Any = SimpleNamespace()
    assert stages._Placing._order_against(stub, 1, place, [place, None, place, None]) == ""
    assert asked == [(30.0, 20.0), (20.0, 10.0)]
    stub._out_of_order = lambda sooner, later: "wrong" if later[0].target_s == 600.0 else ""
    assert stages._Placing._order_against(stub, 1, place, [place, None, place, None]) == "wrong"
    assert stages._Placing._order_against(stub, 1, place, [place, None, None, place]) == ""


@pytest.mark.parametrize("n", [2, 3])
def test_of_all_orders_the_one_with_the_narrowest_widest_band_is_taken(n: int) -> None:
    """Each order of the stages gives another band: the narrowest is chosen, wherever it comes."""
    for best in permutations(reversed(range(n))):
        stub: Any = SimpleNamespace(
            searches=[None] * n,
            _one_by_one=lambda order: (order, []),
            _rank_of=lambda order, b=best: (0, int(order != b), 0.0),
        )
        assert stages._Placing._apart.func(stub)[0] == best  # type: ignore[attr-defined]


@pytest.mark.parametrize(
    ("seeds", "wanted_m"), [((0, 0), 1.08), ((0, -1), np.inf), ((-1, 0), np.inf), ((-1, -1), np.inf)]
)
def test_a_vent_lets_joined_tanks_sink_where_both_it_and_a_port_stand_over_a_pool(
    seeds: tuple[int, int], wanted_m: float, monkeypatch: pytest.MonkeyPatch
) -> None:
    # The vent at 1050 mm, the pools parting at 80 mm over the datum of 1000, the port at 60 mm: the highest of them.
    monkeypatch.setattr(spilling, "_parting_m", lambda tree, one, other: 0.08)
    tilted = SimpleNamespace(tree=SimpleNamespace(port_seed=seeds), level_m=lambda port: 0.06)
    stub: Any = SimpleNamespace(tilted=tilted, vessel=SimpleNamespace(ports=("port",)), datum_m=1.0)
    assert spilling._View.shared_m(stub, [1.05]) == pytest.approx(wanted_m)
