"""Functions of the tank's rooms by hand, on what is made up: a gauge's points, a stick's steps, openings, pools, turns, heads, growth."""

from __future__ import annotations

from math import exp, radians
from types import SimpleNamespace as Made
from typing import Any

import numpy as np
import pytest
import solids

from fuelsys.analysis.tank import (
    calibration,
    combined,
    dipstick,
    draining,
    filling,
    gauge,
    growth,
    head,
    held,
    levels,
    place,
    standing,
    unusable,
    warming,
)
from fuelsys.errors import QuestionError
from fuelsys.model.built.cavity import Cavity
from fuelsys.model.found.gauge import Curve, SetPoint
from fuelsys.model.stated.attitude import Attitude

UP = np.array([0.0, 0.0, 1.0])
CRUISE = Attitude("cruise", "flight", normal=True)

# --- a gauge: a signal that rises evenly from 1 L to 9 L


def straight(first: float = 1e-3, last: float = 9e-3) -> Curve:
    return Curve(np.array([0.0, first, last, 10e-3]), np.array([0.0, 0.0, 1.0, 1.0]))


@pytest.mark.parametrize(
    ("steps", "first", "last", "inner"),
    [
        # Round in 0.0025, or a step of reeds; none within a thousandth of a step of an end.
        (0, 0.0, 0.01, [0.0025, 0.005, 0.0075]), (0, 0.0024, 0.0101, [0.0025, 0.005, 0.0075, 0.01]), (0, 0.0025 - 2e-6, 0.006, [0.005]),
        (0, 0.0025 - 3e-6, 0.005 + 2e-6, [0.0025]), (4, 0.0, 1.0, [0.25, 0.5, 0.75]), (4, 0.3, 0.6, [0.5]), (4, 0.5, 0.74, []),
    ],
)  # fmt: skip
def test_the_signals_among_which_points_are_chosen(steps: int, first: float, last: float, inner: list[float]) -> None:
    one: Any = Made(steps=steps)
    assert calibration._signals(one, first, last).tolist() == pytest.approx([first, *inner, last])


def test_the_greatest_step_of_a_row_of_switches() -> None:
    curve = Curve(np.array([0.0, 1.0, 1.0, 3.0, 3.0, 4.0, 4.0]), np.array([0.0, 0.0, 1 / 3, 1 / 3, 2 / 3, 2 / 3, 1.0]))
    assert calibration._step_m3(Made(steps=3), curve) == 2.0
    assert calibration._step_m3(Made(steps=0), curve) == 0.0
    # Less than half a step is none.
    assert calibration._step_m3(Made(steps=1), curve) == 0.0


POINTS = (SetPoint(0.0, 0.0, None), SetPoint(0.5, 2e-3, None), SetPoint(1.0, 8e-3, None))


def test_what_a_gauge_shows_between_and_beyond_its_points() -> None:
    assert calibration.shown_m3(POINTS, np.array([-1.0, 0.25, 0.5, 0.75, 2.0])).tolist() == pytest.approx(
        [0.0, 1e-3, 2e-3, 5e-3, 8e-3]
    )


def test_what_a_gauge_shows_more_than_is_usable() -> None:
    # 1 L is unusable. Signal 0.5 stands at 5 L: 4 usable where 2 are shown; at another state of pools 3 L more are there.
    at: Any = Made(attitude=CRUISE, least=straight(), most=straight(4e-3, 9e-3), left_m3=0.5e-3)
    found = calibration._errors(Made(steps=0, unusable_m3=1e-3, filled_m3=9e-3), at, POINTS)
    assert (found.quantity_m3[0], found.quantity_m3[-1]) == (0.5e-3, 9e-3)
    error = dict(zip(found.quantity_m3.tolist(), found.error_m3.tolist(), strict=True))
    assert error[4e-3] == pytest.approx(-3e-3)  # signal 0 in the one state: nothing is shown of 3 L
    assert error[1e-3] == error[0.5e-3] == 0.0
    assert np.abs(found.error_m3).max() == pytest.approx(3.3e-3, abs=0.2e-3)
    steps = calibration._errors(Made(steps=2, unusable_m3=1e-3, filled_m3=0.1e-3), at, POINTS)
    assert set(steps.quantity_m3.tolist()) == {0.5e-3}  # never below what stays behind


def box(x: float = 0.5, y: float = 0.4, z: float = 0.1) -> Cavity:
    vertices, faces = solids.box(x, y, z)
    return Cavity.of(vertices, faces.astype(np.int32))


def test_what_an_empty_tank_must_hold_for_a_signal() -> None:
    # A box of 20 L, 0.1 m high, about its centre: from -0.05 to 0.05; the signal rises from -0.04 to 0.04.
    tilted = calibration.Tilted.of(box(), UP)
    curve = Curve(np.array([-0.05, -0.04, 0.04, 0.05]), np.array([0.0, 0.0, 1.0, 1.0]))

    def poured(signal: float, apart_m: float = -0.05) -> float | None:
        return calibration._poured_for(curve, tilted, apart_m, signal)

    assert [poured(one) for one in (0.0, 0.5, 0.999)] == pytest.approx([2e-3, 10e-3, 17.984e-3])
    assert poured(-1e-10) == pytest.approx(2e-3)
    assert [poured(one) for one in (-1e-8, 1.0 + 1e-8)] == [None, None]
    assert poured(1.0 + 1e-10) is not None
    assert [poured(0.5, 0.001), poured(0.5, -0.001)] == [None, pytest.approx(10e-3)]
    gauge_: Any = Made(filled_m3=15.1e-3)
    pours = calibration._pours(Made(cavity=box()), gauge_, curve, tilted, -0.03, POINTS, "L")
    # Round quantities up to what can be filled: every litre; below -0.03, 4 L, the pools are apart.
    assert [one.quantity_m3 for one in pours] == pytest.approx([k / 1e3 for k in range(1, 16)])
    assert [one.signal for one in pours[:3]] == [None] * 3
    assert (pours[9].signal, pours[9].shown_m3) == (pytest.approx(0.5), pytest.approx(2e-3))


# --- the signal of a way


def way(share: list[float], steps: int = 0) -> Any:
    kind = gauge.Reeds.model_construct(steps=steps) if steps else Made()
    return Made(gauge=kind, share=np.array(share))


@pytest.mark.parametrize(
    ("share", "value", "steps", "curve"),
    [
        # A way that is wet from 2 to 4 evenly, of which a tenth at its begin lies outside.
        ([0.1, 0.5, 0.9], [2.0, 3.0, 4.0], 0, [(0.0, 0.1), (2.0, 0.1), (3.0, 0.5), (4.0, 0.9), (9.0, 0.9)]),
        ([0.0, 0.5, 1.0], [4.0, 3.0, 2.0], 0, [(0.0, 0.0), (2.0, 0.0), (3.0, 0.5), (4.0, 1.0), (9.0, 1.0)]),
        # Two places that are wet at once: a jump.
        ([0.0, 0.5, 1.0], [3.0, 3.0, 4.0], 0, [(0.0, 0.0), (3.0, 0.0), (3.0, 0.5), (4.0, 1.0), (9.0, 1.0)]),
        # A place that never falls dry: the stretch beside it falls at once.
        ([0.0, 0.5, 1.0], [-np.inf, 3.0, 4.0], 0, [(0.0, 0.0), (3.0, 0.0), (3.0, 0.5), (4.0, 1.0), (9.0, 1.0)]),
        ([0.0, 1.0], [-np.inf, -np.inf], 0, [(0.0, 1.0), (9.0, 1.0)]), ([], [], 0, [(0.0, 0.0), (9.0, 0.0)]),
        ([0.0, 1.0], [3.0, 5.0], 2, [(0.0, 0.0), (3.0, 0.0), (3.0, 0.5), (5.0, 0.5), (5.0, 1.0), (9.0, 1.0)]),
        ([0.0, 1.0], [3.0, 12.0], 2, [(0.0, 0.0), (3.0, 0.0), (3.0, 0.5), (9.0, 0.5)]),
    ],
)  # fmt: skip
def test_a_signal_against_its_quantity(
    share: list[float], value: list[float], steps: int, curve: list[tuple[float, float]]
) -> None:
    found = gauge.curve(way(share, steps), np.array(value), (0.0, 9.0))
    assert np.column_stack([found.value, found.signal]) == pytest.approx(np.array(curve))


# --- tilts that come together


@pytest.mark.parametrize(
    ("angles", "step", "steps"),
    [
        ([], 1.0, []), ([0.5], 1.0, [0.5]), ([0.5, 0.5 + 1e-7], 1.0, [0.5]), ([0.0, 1.0], 1.0, [0.0, 1.0]), ([2.0, 0.0, 1.0], 1.0, [0.0,
         1.0, 2.0]),
        ([0.0, 1.001], 1.0, [0.0, 0.5005, 1.001]), ([-1.0, 1.0], 0.7, [-1.0, -1.0 + 2 / 3, -1.0 + 4 / 3, 1.0]), ([0.0, 0.5], 1.0, [0.0,
         0.5]),
    ],
)  # fmt: skip
def test_even_steps_between_tilts(angles: list[float], step: float, steps: list[float]) -> None:
    assert combined._even(angles, step) == pytest.approx(steps)


def test_the_axes_of_the_grid_are_tilts_of_what_flies() -> None:
    flown = [
        Attitude.of_degrees(-6.0, 0.0),
        Attitude.of_degrees(0.0, 7.0),
        Attitude("p", "ground", 1.0, 1.0),
        Attitude("run", "flight", forward_m_s2=9.80665),
    ]
    pitches, rolls = combined._axes(flown, 10.0)
    assert (pitches, rolls) == (
        pytest.approx([radians(-6.0), radians(45.0)], abs=1e-6),
        pytest.approx([0.0, radians(7.0)], abs=1e-6),
    )
    assert [combined._name(some) for some in (flown, flown[:2])] == [combined.COMBINATION_OF_ALL, combined.COMBINATION]
    assert combined._name([Attitude("p", "ground", forward_m_s2=1.0)]) == combined.COMBINATION


# --- a stick's steps


@pytest.mark.parametrize(
    ("value", "below", "above"),
    [
        (1.0, 1.0, 1.0),
        (1.9, 1.0, 2.0),
        (2.0, 2.0, 2.0),
        (2.1, 2.0, 5.0),
        (5.1, 5.0, 10.0),
        (0.03, 0.02, 0.05),
        (999.0, 500.0, 1000.0),
    ],
)
def test_round_figures(value: float, below: float, above: float) -> None:
    assert dipstick._round(value) == pytest.approx((below, above))


@pytest.mark.parametrize(
    ("stated_l", "gross_l", "unit", "step", "as_stated"),
    [
        (2.0, 60.0, "L", 2.0, True), (2.5, 60.0, "L", 2.5, True), (2.0, 60.0, "US gal", 0.5, False), (None, 60.0, "L", 5.0, True), (None,
         40.0, "L", 2.0, True),
        (None, 40.1, "L", 5.0, True), (2.5 * 3.785411784, 60.0, "US gal", 2.5, True),
    ],
)  # fmt: skip
def test_the_step_of_a_stick(stated_l: float | None, gross_l: float, unit: str, step: float, as_stated: bool) -> None:
    found, same = dipstick.round_step_m3(None if stated_l is None else stated_l / 1e3, gross_l / 1e3, unit)
    assert (found, same) == (pytest.approx(step * (1e-3 if unit == "L" else 3.785411784e-3)), as_stated)


@pytest.mark.parametrize(
    ("below_l", "top_l", "first", "last"),
    [(1.0, 19.0, 2, 18), (1.999, 20.0, 2, 20), (2.0, 18.0, 4, 18), (0.0, 25.0, 2, 20), (2.1, 3.9, 0, 0)],
)
def test_the_quantities_that_are_marked(below_l: float, top_l: float, first: int, last: int) -> None:
    tank: Any = Made(name="main", design=Made(dipstick=Made(step_m3=2e-3)), cavity=Made(gross_m3=20e-3))
    volumes, as_stated = dipstick._round_quantities(Made(file="x"), tank, "L", below_l / 1e3, top_l / 1e3)
    wanted = list(range(first, last + 1, 2)) if last else []
    assert (volumes * 1e3).tolist() == pytest.approx(wanted)
    assert as_stated
    tank.design.dipstick.step_m3 = 0.02e-3
    with pytest.raises(QuestionError, match="the step gives 899 marks"):
        dipstick._round_quantities(Made(file="x"), tank, "L", 1e-3, 19e-3)


# --- openings


def climb(top: float, end: float, tank: str | None = None, kind: str = "feed") -> Any:
    return Made(top_m=lambda up: top, points_m=np.array([[0.0, 0.0, end]]), way=Made(kind=kind, end=Made(tank=tank)))


def beyond(level: float, high: float = 9.0) -> Any:
    return Made(high_m=lambda up: high, level_m=lambda up: level)


def opening(
    at: float = 0.0,
    cover: float = 0.01,
    ways: tuple[Any, ...] = (),
    heights: tuple[float, ...] = (),
    into: tuple[Any, ...] = (),
) -> Any:
    spot: Any = Made(point_m=np.array([0.0, 0.0, at]))
    return draining.Opening(spot, cover, ways, heights, (), into)


@pytest.mark.parametrize(
    ("one", "level", "over", "starved", "beside"),
    [
        (opening(), 0.01, 0.0, 0.0, 0.0), (opening(ways=(climb(-0.1, -1.0),)), 0.01, 0.0, 0.0, 0.0), (opening(ways=(climb(0.05, -1.0),)),
         0.05, 0.04, 0.0, 0.0),
        # Of several ways the lowest; the flow asks for so much above each way's end.
        (opening(ways=(climb(0.05, -1.0), climb(0.03, -1.0))), 0.03, 0.02, 0.0, 0.0), (opening(ways=(climb(0.05, -0.1),), heights=(0.2,)),
         0.1, 0.04, 0.05, 0.0),
        (opening(ways=(climb(0.05, -0.1),), heights=(0.1,)), 0.05, 0.04, 0.0, 0.0), (opening(ways=(climb(-0.5, -1.0),), heights=(0.4,)),
         0.01, 0.0, 0.0, 0.0),
        (opening(ways=(climb(-0.5, -1.0), climb(-0.5, -1.0)), heights=(1.2, 1.1)), 0.1, 0.0, 0.09, 0.0),
        # What is left in the tank that it runs into stands in the way, and the flow above that.
        (opening(ways=(climb(0.05, -1.0),), into=(beyond(0.08),)), 0.08, 0.04, 0.0, 0.03), (opening(ways=(climb(0.05, -1.0),),
         into=(beyond(0.03),)), 0.05, 0.04, 0.0, 0.0),
        (opening(ways=(climb(0.05, -1.0),), heights=(0.02,), into=(beyond(0.08),)), 0.1, 0.04, 0.02, 0.03),
        (opening(ways=(climb(0.05, -1.0),), heights=(-0.02,), into=(beyond(0.08),)), 0.08, 0.04, 0.0, 0.03),
        # A tank that lies below the way whatever it holds is not asked.
        (opening(ways=(climb(0.05, -1.0),), into=(beyond(0.08, 0.05),)), 0.05, 0.04, 0.0, 0.0),
        (opening(ways=(climb(0.05, -1.0),), heights=(0.02,), into=(beyond(0.08, 0.03),)), 0.05, 0.04, 0.0, 0.0),
    ],
)  # fmt: skip
def test_where_the_surface_stops_over_an_opening(
    one: draining.Opening, level: float, over: float, starved: float, beside: float
) -> None:
    assert one.level_m(UP) == pytest.approx(level)
    assert (one.over_m(UP), one.starved_m(UP), one.beside_m(UP)) == (
        pytest.approx(over),
        pytest.approx(starved),
        pytest.approx(beside),
    )
    assert one.level_over(np.array([0.0, 5.0]), UP).tolist() == pytest.approx([level, 5.01])


def test_an_opening_beside_others() -> None:
    joined, fed = climb(0.0, 0.0, kind="interconnect"), climb(0.0, 0.0)
    assert [
        opening(ways=ways, into=into).beside
        for ways, into in (((joined,), (1,)), ((joined, fed), (1, 1)), ((joined,), ()), ((fed,), (1,)))
    ] == [True, False, False, False]


def outlets_of(monkeypatch: pytest.MonkeyPatch, **more: Any) -> list[draining.Opening]:
    names = ("a", "b")
    given: dict[str, Any] = {
        "drawn_by": names,
        "gives": {},
        "covers": {},
        "downhill": {},
        "heights": {},
        "ends": {},
    } | more
    design = Made(outlet=[Made(name=name, cover_m=0.01) for name in names])
    tank: Any = Made(
        **(
            given
            | {"design": design, "drawn_by": [Made(name=name) for name in given["drawn_by"]], "spot": lambda name: name}
        )
    )
    monkeypatch.setattr(unusable, "_beyond", lambda tank, name, k, other: other)
    return unusable.outlets(tank)


def test_the_outlets_that_count(monkeypatch: pytest.MonkeyPatch) -> None:
    one, two = outlets_of(monkeypatch)
    assert (one.spot, one.cover_m, one.ways, one.ends, two.spot) == ("a", 0.01, (), (), "b")
    ways = (climb(0.0, 0.0, "tip"), climb(1.0, 0.0), climb(2.0, 0.0))
    given = {
        "downhill": {"a": ways},
        "heights": {"a": (0.1, 0.2, 0.3)},
        "covers": {"b": Made(height_m=0.05)},
        "ends": {"a": Made(others=("b",)), "b": Made(others=("a",))},
    }
    one, two = outlets_of(monkeypatch, **given)
    # Those to an engine, where there is one; what it ends counts in the order of those that are drawn.
    assert (one.ways, one.heights_m, one.ends, two.cover_m, two.ends) == (ways[1:], (0.2, 0.3), (1,), 0.05, (0,))
    (one,) = outlets_of(monkeypatch, **given, drawn_by=("b",))
    assert (one.spot, one.ends) == ("b", ())
    one, two = outlets_of(
        monkeypatch, **(given | {"downhill": {"a": ways[:1]}, "heights": {"a": (0.1,)}, "gives": {"a": ((0, "tip"),)}})
    )
    assert (one.ways, one.heights_m, one.into, two.into) == (ways[:1], (0.1,), ("tip",), ())
    one, _ = outlets_of(monkeypatch, **(given | {"heights": {}, "gives": {"a": ((1, "tip"),)}}))
    assert (one.ways, one.heights_m, one.into) == (ways[2:], (), ("tip",))


@pytest.mark.parametrize(
    ("drained", "twin", "worst", "least"),
    [(None, None, 1.0, 1.0), (2.0, None, 1.0, 2.0), (0.5, 9.0, 1.0, 1.0), (None, 3.0, 1.0, 3.0), (None, 0.5, 1.0, 1.0)],
)
def test_unusable_fuel_counts_at_least_what_was_drained(
    drained: float | None, twin: float | None, worst: float, least: float
) -> None:
    tank: Any = Made(
        design=Made(measured_unusable_m3=drained), as_twin=None if twin is None else Made(unusable_m3=twin)
    )
    assert unusable._least_m3(tank, worst) == least


def test_what_an_attitude_that_is_held_may_be_turned_into_from() -> None:
    held_for = Attitude("slip", "flight", 0.1, held_s=30.0)
    found = unusable.starts_of([held_for, CRUISE, Attitude("parked", "ground")])
    assert found is not None
    assert found.ups.tolist() == [[0.0, 0.0, 1.0]]
    assert unusable.starts_of([held_for, Attitude("parked", "ground")]) is None


# --- turned into from another attitude


def turn(before_m3: float, after_m3: float, *outlasting: tuple[float, float] | None) -> Any:
    return Made(
        before=Made(drained=Made(left_m3=before_m3)),
        after=Made(drained=Made(left_m3=after_m3)),
        outlasting=lambda i, _: outlasting[i],
    )


@pytest.mark.parametrize(
    ("found", "ends", "unusable_m3", "from_m3"),
    [
        # Needed from 5, of which 1 drawn: 4 stay; never less than before the turn, never more than for ever.
        (((5.0, 1.0),), ((),), 4.0, 5.0), (((5.0, 4.5),), ((),), 1.0, 5.0), (((50.0, 1.0),), ((),), 9.0, 50.0), ((None,), ((),), 9.0, None),
        # Of two outlets the better; of two that end one another the worse, and none where one is not known.
        (((5.0, 1.0), (7.0, 4.0)), ((), ()), 3.0, 5.0), (((5.0, 1.0), None), ((), ()), 4.0, 5.0), (((5.0, 1.0), (7.0, 4.0)), ((1,), (0,)),
         4.0, 7.0),
        (((5.0, 1.0), None), ((1,), (0,)), 9.0, None), (((5.0, 1.0), (7.0, 4.0)), ((1,), ()), 4.0, 5.0),
    ],
)  # fmt: skip
def test_what_stays_behind_in_the_time_that_it_is_held(
    found: Any, ends: Any, unusable_m3: float, from_m3: float | None
) -> None:
    openings: Any = [Made(ends=one) for one in ends]
    draw: Any = Made(burnt_m3_s=1.0, drawn_m3_s=1.0)
    told = held._from(turn(1.0, 9.0, *found), openings, 30.0, draw, None)
    assert (told.unusable_m3, told.from_m3, told.for_s if hasattr(told, "for_s") else 30.0) == (
        unusable_m3,
        from_m3,
        30.0,
    )
    # Half of what is drawn is sent back: only the other half is gone.
    draw = Made(burnt_m3_s=0.5, drawn_m3_s=1.0)
    if found == ((5.0, 1.0),):
        assert held._from(turn(1.0, 9.0, *found), openings, 30.0, draw, None).unusable_m3 == 4.5


# --- pools that part


def standing_of(**more: Any) -> Any:
    return Made(
        **({"knots_m": np.array([0.0, 1.0, 2.0]), "knots_m3": np.array([0.0, 1.0, 4.0]), "most_m3": 1.0} | more)
    )


@pytest.mark.parametrize(("held_m3", "second"), [(0.0, 0.0), (0.5, 0.3), (1.0, 0.6), (3.0, 2.0), (1.35, 0.95)])
def test_how_two_pools_share_what_stands_at_one_level(held_m3: float, second: float) -> None:
    # Up to level 1 the first has 0.4 of 1 and the second 0.6; the first can hold no more than 0.4, the second no more than 2.
    one, two = (
        standing_of(knots_m3=np.array([0.0, 0.4, 0.4]), most_m3=0.4),
        standing_of(knots_m3=np.array([0.0, 0.6, 0.6]), most_m3=2.0),
    )
    whole = Made(level_m=lambda volume: float(np.interp(volume, [0.0, 1.0, 4.0], [0.0, 1.0, 2.0])))
    halves = standing.Halves(whole, None, one, two)
    assert halves.second_m3(held_m3) == pytest.approx(second)


@pytest.mark.parametrize("step_m", [0.0, 0.02])
def test_knots_of_a_pool_that_fills_in_steps(step_m: float, monkeypatch: pytest.MonkeyPatch) -> None:
    """A pool that widens evenly above a stretch that holds nothing: knots within the bound, none that says nothing."""

    def volumes(drained: Any, free: Any, levels_m: Any, own: Any = None) -> Any:
        return np.maximum(levels_m - step_m, 0.0) ** 2

    monkeypatch.setattr(standing, "_volumes", volumes)
    drained: Any = Made(
        tilted=Made(tree=Made(floor=np.array([0.0, 0.05])), high_m=0.2), n_seeds=1, end_m=np.array([0.01, 0.05])
    )
    knots_m3, knots_m = standing._knots(drained, np.array([True]), np.array([0.033, -1.0, 9.0]))
    assert (knots_m3[0], knots_m[-1], knots_m3[-1]) == (0.0, 0.2, pytest.approx((0.2 - step_m) ** 2))
    assert (np.diff(knots_m3) > 0.0).all()
    assert knots_m[0] == pytest.approx(step_m, abs=0.01)
    at = np.linspace(step_m + 0.011, 0.2, 500)
    assert np.abs(np.interp((at - step_m) ** 2, knots_m3, knots_m) - at).max() <= 2.0 * standing.LEVEL_WITHIN_M
    assert 0.033 in knots_m
    assert len(knots_m) < 400


def test_where_the_lowest_way_out_of_a_vent_leads(monkeypatch: pytest.MonkeyPatch) -> None:
    class Port(Made):
        """A port of a tank."""

    monkeypatch.setattr(standing, "PortEnd", lambda tank, name: Port(tank=tank, port=name))
    monkeypatch.setattr(standing, "isinstance", lambda one, kind: type(one) is Port, raising=False)

    def out(top: float, start: Any, end: Any) -> Any:
        return Made(climb=lambda: Made(top_m=lambda up: top), start=start, end=end)

    own, other, sky = Port(tank="main", port="vent"), Port(tank="tip", port="air"), Made(tank=None)
    for ways, told in (
        ([], ("", "")), ([out(1.0, own, other)], ("tip", "air")), ([out(1.0, other, own)], ("tip", "air")), ([out(1.0, own, sky)], ("",
         "")),
        ([out(2.0, own, other), out(1.0, own, sky)], ("", "")), ([out(1.0, own, other), out(2.0, own, sky)], ("tip", "air")),
    ):  # fmt: skip
        layout: Any = Made(network=Made(spills=lambda port, ways=ways: ways, overboard=lambda end: end is sky))
        assert standing._beyond(layout, Made(name="main"), "vent", CRUISE) == told


# --- filling, heads, growth, tables


def test_the_level_to_which_fuel_has_risen() -> None:
    found = filling.risen_to_m(lambda at: at**2, np.array([0.0, 0.5]), 3.0, np.array([4.0, 0.25]))
    assert found.tolist() == pytest.approx([2.0, 0.5])


@pytest.mark.parametrize(("filler", "into", "levels_m"), [(False, ("tip",), {"vent": 2.0}), (True, ("tip",), {"vent": np.inf,
 "filler": 1.0}), (True, (None,), {"vent": 2.0, "filler": 1.0}),
                                                          (True, ("tip", None), {"vent": 2.0, "filler": 1.0}), (True, (), {"vent": 2.0,
                                                           "filler": 1.0})])  # fmt: skip
def test_where_fuel_that_is_poured_in_runs_out(
    filler: bool, into: Any, levels_m: dict[str, float], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(filling, "overflow_level_m", lambda *_: 2.0)
    monkeypatch.setattr(filling, "PortEnd", lambda *names: names)
    layout: Any = Made(network=Made(spills=lambda port: [Made(end=Made(tank=one)) for one in into]))
    tank: Any = Made(
        name="main",
        design=Made(vent=[Made(name="vent")], filler=Made(name="filler") if filler else None),
        level_m=lambda name, up: 1.0,
    )
    assert filling.spill_levels_m(layout, tank, CRUISE) == levels_m


def test_what_a_full_tank_presses_with() -> None:
    # A box of 0.5 x 0.4 x 0.1 m, full of 720 kg/m3: 20 L, 14.4 kg; 9 g along 0.5 m, 3 g along 0.1 m, 1.5 g along 0.4 m.
    cavity = box()
    found = {(one.toward, one.in_cabin): one for one in head.forces(cavity, 720.0, 0.02)}
    g = 9.80665
    for toward, in_cabin, factor, along in (
        ("forward", False, 9.0, 0.5), ("up", False, 3.0, 0.1), ("to the left", False, 1.5, 0.4), ("to the right", False, 1.5, 0.4),
        ("forward", True, 18.0, 0.5),
        ("up", True, 3.0, 0.1), ("to the left", True, 4.5, 0.4), ("to the right", True, 4.5, 0.4),
    ):  # fmt: skip
        one = found[toward, in_cabin]
        assert (one.factor, one.force_n, one.pressure_pa) == (
            factor,
            pytest.approx(14.4 * factor * g),
            pytest.approx(720.0 * factor * g * along),
        )
    assert len(found) == 8
    proof = head.required_test_pressure(cavity, 720.0, (*head.EMERGENCY_LANDING, *head.flight_loads(3.8)))
    assert (proof.pressure_pa, proof.full_pa, proof.full_by) == (
        pytest.approx(31773.5, abs=0.1),
        pytest.approx(31773.5, abs=0.1),
        "full tank at 9 g forward, emergency landing",
    )
    assert proof.flight_pa == pytest.approx(720.0 * 5.7 * g * 0.1)
    low = head.required_test_pressure(box(0.1, 0.1, 0.1), 720.0)
    assert (low.pressure_pa, low.asked_by, low.flight_pa) == (
        pytest.approx(24131.65, abs=0.01),
        "the least test pressure, 3.5 psi",
        pytest.approx(720.0 * g * 0.1),
    )
    tall = head.required_test_pressure(box(0.1, 0.1, 1.0), 720.0, ())
    assert (tall.full_pa, tall.full_by) == (pytest.approx(720.0 * g), "full tank at rest")


@pytest.mark.parametrize(
    ("density", "covered"), [(610.6, True), (610.5, False), (1163.5, True), (1163.6, False), (720.0, True)]
)
def test_densities_that_are_corrected(density: float, covered: bool) -> None:
    assert growth.covers(density) is covered
    if not covered:
        with pytest.raises(QuestionError, match=f"for a density of {density:g}"):
            growth.group_of(density)


@pytest.mark.parametrize(("kelvin", "good"), [(223.15, True), (223.1, False), (423.15, True), (423.2, False)])
def test_temperatures_that_are_corrected(kelvin: float, good: bool) -> None:
    if good:
        x = growth.group_of(720.0).expansion_per_k(720.0) * (kelvin - 288.15)
        assert growth.volume_correction(720.0, kelvin) == pytest.approx(exp(-x * (1.0 + 0.8 * x)))
        assert growth.density_at(720.0, kelvin) == pytest.approx(720.0 * exp(-x * (1.0 + 0.8 * x)))
    else:
        with pytest.raises(QuestionError, match="no volume correction at"):
            growth.volume_correction(720.0, kelvin)


@pytest.mark.parametrize("room", [0.0, 0.01, 0.05, 0.1])
def test_the_warming_that_fills_a_room(room: float) -> None:
    rise = growth.rise_that_fills_k(720.0, 278.15, room)
    assert rise is not None
    assert growth.growth_share(720.0, 278.15, 278.15 + rise) == pytest.approx(room, abs=1e-12)
    assert growth.rise_that_fills_k(720.0, 278.15, 0.5) is None


@pytest.mark.parametrize(
    ("filler", "vent", "filled_l", "room_l", "density", "told"),
    [(True, True, 50.0, 1.0, 720.0, True), (False, True, 50.0, 1.0, 720.0, None), (True, False, 50.0, 1.0, 720.0, None), (True, True,
     None, 1.0, 720.0, None),
     (True, True, 50.0, None, 720.0, None), (True, True, 50.0, 1.0, 600.0, None), (True, True, 0.0, 1.0, 720.0, False)],
)  # fmt: skip
def test_what_warming_needs(
    filler: bool, vent: bool, filled_l: float | None, room_l: float | None, density: float, told: bool | None
) -> None:
    tank: Any = Made(design=Made(filler=1 if filler else None, vent=[1] if vent else []))
    held_: Any = Made(
        filled=None if filled_l is None else Made(volume_m3=filled_l / 1e3),
        room_m3=None if room_l is None else room_l / 1e3,
    )
    found = warming.warming(Made(design=Made(fuel=Made(density_kg_m3=density))), tank, held_)
    assert (found is None) == (told is None)
    if found is not None:
        assert found.rise_k == (pytest.approx(growth.rise_that_fills_k(720.0, 278.15, 0.02)) if told else None)


@pytest.mark.parametrize(
    ("step", "end", "rows"),
    [
        (0.3, 1.0, [0.0, 0.3, 0.6, 0.9, 1.0]),
        (0.5, 1.0, [0.0, 0.5, 1.0]),
        (0.1, 0.3, [0.0, 0.1, 0.2, 0.3]),
        (5.0, 1.0, [0.0, 1.0]),
    ],
)
def test_steps_of_a_table(step: float, end: float, rows: list[float]) -> None:
    assert levels._steps(step, end, "level").tolist() == pytest.approx(rows)
    assert levels._steps(1.0, float(levels.MOST_ROWS), "level").size == levels.MOST_ROWS + 1
    for wrong in (0.0, -1.0, np.nan):
        with pytest.raises(QuestionError, match="makes no table"):
            levels._steps(wrong, end, "level")
    with pytest.raises(QuestionError, match="gives 10001 rows"):
        levels._steps(1.0, levels.MOST_ROWS + 1.0, "level")


@pytest.mark.parametrize(("target_l", "good"), [(19.9, True), (20.0, False), (21.0, False)])
def test_a_target_that_the_tank_holds(target_l: float, good: bool, monkeypatch: pytest.MonkeyPatch) -> None:
    # 1 L unusable; 10 mL/s for 60 s and a delay.
    monkeypatch.setattr(place, "unusable", lambda *_: Made(volume_m3=1e-3))
    monkeypatch.setattr(place, "known_outflow", lambda *_: Made(usable_for_m3=lambda lasting_s: 1e-5 * lasting_s))
    layout: Any = Made(design=Made(envelope=(), show=Made(volume="L")), file="x")
    tank: Any = Made(name="main", cavity=Made(gross_m3=20e-3))
    wanted_s = (target_l * 1e-3 - 1e-3) / 1e-5
    if good:
        found = place.target(layout, tank, wanted_s - 10.0, 10.0)
        assert (found.target_m3, found.unusable_m3) == (pytest.approx(target_l / 1e3), 1e-3)
    else:
        with pytest.raises(QuestionError, match="with the unusable fuel, the tank holds 20 L"):
            place.target(layout, tank, wanted_s, 1e-6)
