"""Fill tests and flights by hand, on what is made up: where a fit starts and ends, what a plan tells, steps of a flight, rows, legs."""

from __future__ import annotations

from math import sqrt
from types import SimpleNamespace as Made
from typing import Any

import numpy as np
import pytest

from fuelsys.analysis.fills import fit, foresee, measured, plan
from fuelsys.analysis.fills.data import Data
from fuelsys.analysis.flights import fly, legs
from fuelsys.analysis.sweeping import rooms
from fuelsys.errors import QuestionError
from fuelsys.model.built.ends import PortEnd
from fuelsys.model.stated.attitude import Attitude

PARKED, TAXI = Attitude("parked", "ground", normal=True), Attitude("taxi", "ground")
CRUISE = Attitude("cruise", "flight", normal=True)


# --- a fit


def readings(off_m: list[float], grows: list[list[float]], **more: Any) -> Any:
    """Readings of a tank that holds nothing but what they are off by, a square metre under each."""
    n = len(off_m)
    given: dict[str, Any] = {
        "n": n, "at": np.zeros(5), "totals_m3": np.array(off_m), "extras": np.zeros((n, 0)), "others": np.zeros((n, 0)),
        "slopes": lambda at: np.ones(n), "mixed": lambda slopes: np.eye(n), "held": lambda c, moved: np.array(grows) @ c,
        "jacobian": lambda c: np.array(grows), "first": np.ones(n, np.bool_), "model": Made(tank=Made(cavity=Made(gross_m3=1.0))),
        "worse": lambda left, told: (float(left @ left) / 2.0, 2.0, 1.5),
    } | more  # fmt: skip
    return Made(**given)


@pytest.mark.parametrize(
    ("start", "begins"),
    [
        # Of usual spreads of 0.1, at most 0.5: never nearer to an end than a hundredth of it, and rounding is nothing.
        (0.2, 2.0), (0.494, 4.94), (0.496, 4.95), (3.0, 4.95), (-0.494, -4.94), (-3.0, -4.95), (0.9e-7, 0.0), (1.1e-7, 1.1e-6),
        (-0.9e-7, 0.0), (None, 0.0),
    ],
)  # fmt: skip
def test_where_a_fit_begins(monkeypatch: pytest.MonkeyPatch, start: float | None, begins: float) -> None:
    asked: dict[str, Any] = {}

    def kept(residuals: Any, x: Any, jacobian: Any, bounds: Any, **more: Any) -> Any:
        asked.update(x=x.tolist(), ends=[end.tolist() for end in bounds])
        return Made(x=x)

    monkeypatch.setattr("scipy.optimize.least_squares", kept)
    data = readings([0.01, 0.02, 0.03], [[1.0, 0.0, 0.0, 0.0, 0.0]] * 3)
    fit.solve(data, (0,), 1e-3, None if start is None else np.array([start, 0.0, 0.0, 0.0, 0.0]))
    assert asked["x"] == pytest.approx([begins], abs=1e-9)
    assert asked["ends"] == [pytest.approx([-5.0]), pytest.approx([5.0])]


def test_what_a_fit_says_of_one_figure_by_hand() -> None:
    # A mean of 1, 2 and 3 cm with a usual spread of 10 cm that weighs as one reading within 1 cm: x = 0.6 / 3.01 spreads.
    data = readings([0.01, 0.02, 0.03], [[1.0, 0.0, 0.0, 0.0, 0.0]] * 3)
    found = fit.solve(data, (0,), 0.01)
    mean = 0.1 * (0.1 * 0.06) / (3 * 0.1**2 + 0.01**2)
    assert found.correction[0] == pytest.approx(mean, rel=1e-6)
    left = [total - mean for total in (0.01, 0.02, 0.03)]
    assert found.residuals_m == pytest.approx(left)
    square = sum(one**2 for one in left)
    assert found.cost_m2 == pytest.approx(square + (0.01 * mean / 0.1) ** 2)
    assert found.settled == pytest.approx(0.01**2 / (3 * 0.1**2 + 0.01**2))
    assert (found.dof, found.over, found.fewest) == (2, 2.0, 1.5)
    assert found.noise_m == pytest.approx(sqrt(square / 2.0))
    assert found.uneven_m2 == pytest.approx(square / 2.0 * (2.0 + found.settled) - square)
    # By the readings as noisy as they were found, and the usual spread.
    assert found.covariance[0, 0] == pytest.approx(1.0 / (3.0 / (square / 2.0) + 1.0 / 0.1**2))
    assert found.apart == pytest.approx((0.1,))  # all are the first of their lines: no differences
    differ = fit.solve(
        readings([0.01, 0.02, 0.03], [[1.0, 0.0, 0.0, 0.0, 0.0]] * 3, first=np.array([True, False, False])), (0,), 0.01
    )
    assert differ.apart == pytest.approx((1.0 / sqrt(2.0 / (square / 2.0) + 1.0 / 0.1**2),))
    # Fewer readings than figures: one is over all the same; nobody reads better than 0.05 mm.
    single = fit.solve(
        readings([0.01], [[1.0, 0.0, 0.0, 0.0, 0.0]], worse=lambda left, told: (1e-12, 1.0, 1.0)), (0,), 0.01
    )
    assert (single.noise_m, single.dof) == (fit.LEAST_NOISE_M, 0)
    assert single.uneven_m2 == pytest.approx(1e-12 - float(single.residuals_m @ single.residuals_m))


@pytest.mark.parametrize(
    ("places", "also", "columns"),
    [
        ([0, 1, 2, 1], 2, [[0, 1, 0, 1], [0, 0, 1, 0]]), ([0, 2, 2, 0], 2, [[0, 1, 1, 0]]), ([0, 0, 0, 0], 2, []), ([1, 1, 1, 1], 1, [[1,
         1, 1, 1]]),
        ([0, 1, 0, 0], 0, []),
    ],
)  # fmt: skip
def test_the_readings_of_each_other_place(places: list[int], also: int, columns: list[list[int]]) -> None:
    one: Any = Made(place=np.array(places), also=(None,) * also, n=len(places))
    found = Data.others.fget(one)  # type: ignore[attr-defined]
    assert found.T.tolist() == columns
    assert found.shape == (4, len(columns))


# --- what a plan will tell


def stick(levels: list[float], *, apart_m: float = -1.0, length_m: float = 1.0, rows: Any = None) -> Any:
    """A place at which the readings are the levels, each growing by a row of figures, over two square metres."""
    kept = np.tile([1.0, 2.0, 3.0, 4.0, 5.0], (len(levels), 1)) if rows is None else np.array(rows)
    return Made(
        readings=lambda totals, c: np.array(levels), levels_m=lambda read, c: np.nan_to_num(np.array(levels)),
        stick=Made(length_m=length_m), apart_below_m=lambda: apart_m, slopes=lambda read, c: np.full(read.size, 2.0),
        jacobian=lambda read, c: kept[: read.size],
    )  # fmt: skip


@pytest.mark.parametrize(
    ("levels", "apart_m", "seen"),
    [
        ([0.5], -1.0, 1), ([0.005], -1.0, 1), ([0.0], -1.0, 0), ([1.0], -1.0, 0), ([0.2, 0.5], 0.3, 1), ([0.3, 0.5], 0.3, 1), ([np.nan,
         0.5], -1.0, 1),
        ([0.2, 0.5], -1.0, 2), ([0.2, 0.4], 0.5, 0),
    ],
)  # fmt: skip
def test_what_planned_readings_tell(levels: list[float], apart_m: float, seen: int) -> None:
    row = np.array([1.0, 2.0, 3.0, 4.0, 5.0]) / 2.0 / fit.USUAL_NOISE_M
    one = stick(levels, apart_m=apart_m)
    found = foresee._information(one, np.zeros(len(levels)), first=True)
    assert found == pytest.approx(seen * np.outer(row, row))
    # At another place it stands otherwise by a millimetre, the same in all its readings.
    placed = row[1] * fit.PLACED_M
    less = seen * placed**2
    other = foresee._information(one, np.zeros(len(levels)), first=False)
    assert other == pytest.approx(np.outer(row, row) * seen * (1.0 - less / (less + 1.0)))


@pytest.mark.parametrize(
    ("own", "there", "apart_m", "seen"),
    [
        ([0.5], [0.4], -1.0, 1), ([0.005], [0.4], -1.0, 1), ([0.5], [0.0], -1.0, 0), ([0.0], [0.5], -1.0, 0), ([1.0], [0.5], -1.0, 0),
        ([0.5], [1.0], -1.0, 0),
        ([0.5, 0.6], [0.4, 0.5], -1.0, 2), ([0.5, 0.6], [0.4, 0.5], 0.5, 1), ([0.5, 0.6], [0.4, np.nan], -1.0, 1),
    ],
)  # fmt: skip
def test_what_differences_between_places_tell(own: Any, there: Any, apart_m: float, seen: int) -> None:
    # Under both two square metres: the difference grows by (3, 1, 0, -1, 0) / 2, and is off by a millimetre all along.
    other = stick(there, rows=[[4.0, 3.0, 3.0, 3.0, 5.0]] * 2)
    found = foresee._between(stick(own, apart_m=apart_m), other, np.zeros(len(own)))
    row = np.array([3.0, 1.0, 0.0, -1.0, 0.0]) / 2.0 / (sqrt(2.0) * fit.USUAL_NOISE_M)
    placed = seen * (fit.PLACED_M / (sqrt(2.0) * fit.USUAL_NOISE_M)) ** 2
    assert found == pytest.approx(np.outer(row, row) * seen * (1.0 - placed / (placed + 1.0)))


def test_a_tilt_is_known_less_well_as_far_as_the_places_do_not_tell_it() -> None:
    known, between = np.diag([1.0, 4.0, 1e6, 1e6, 16.0]), np.diag([1.0, 1.0, 2500.0, 1e6, 1.0])
    found = foresee._within(known, between)
    shape = foresee.shaped_rad(1e-3, 0.02)
    assert shape > 0.0
    assert found == pytest.approx(1.96 * np.array([1.0, 0.5, np.hypot(1e-3, shape), 1e-3, 0.25]))
    assert foresee._tilt(np.array([9.0, 9.0, 3.0, 4.0, 9.0])) == 5.0


@pytest.mark.parametrize(("share", "worth"), [(0.5, True), (0.79, True), (0.81, False), (1.2, False)])
def test_another_place_that_is_worth_a_hole(monkeypatch: pytest.MonkeyPatch, share: float, worth: bool) -> None:
    monkeypatch.setattr(foresee, "replace", lambda model, stick: stick)
    monkeypatch.setattr(foresee, "_elsewhere", lambda model: iter([far, near]))
    monkeypatch.setattr(foresee, "_information", lambda model, totals, first: model.tells)
    monkeypatch.setattr(foresee, "_between", lambda model, other, totals: np.zeros((5, 5)))
    monkeypatch.setattr(foresee, "_within", lambda known, between: np.diag(known) - fit.USUAL**-2.0)
    middle = np.array([1.0, 2.0, 3.0])
    tank = Made(mesh_m=lambda at: at * 2.0, cavity=Made(centre_m=middle))
    model: Any = Made(tank=tank, tells=np.diag([1.0, 1.0, 3.0, 4.0, 1.0]))
    near: Any = Made(
        tells=np.diag([0.0, 0.0, 3.0 * (share - 1.0), 4.0 * (share - 1.0), 0.0]), bottom_m=np.array([0.5, 0.0, 0.0])
    )
    far: Any = Made(tells=np.diag([0.0, 0.0, 9.0, 9.0, 0.0]), bottom_m=np.zeros(3))
    found = foresee.sees(model, [], np.zeros(1))
    assert found.within == pytest.approx((1.0, 1.0, 3.0, 4.0, 1.0))
    assert found.place_m == (pytest.approx((3.0, 4.0, 6.0)) if worth else None)


@pytest.mark.parametrize(
    ("at", "others"), [(PARKED, ("taxi",)), (TAXI, ("parked",)), (Attitude("level", "ground"), ("parked", "taxi"))]
)
def test_a_plan_names_the_other_ways_to_stand(
    monkeypatch: pytest.MonkeyPatch, at: Attitude, others: tuple[str, ...]
) -> None:
    monkeypatch.setattr(plan, "filled", lambda layout, tank, attitude: None)
    monkeypatch.setattr(plan, "as_drawn", lambda layout, tank, attitude: Made(tank=Made(design=Made(switch=()))))
    monkeypatch.setattr(plan, "stick_at", lambda layout, tank, attitude: None)
    monkeypatch.setattr(plan, "made_for", lambda layout, tank, attitude: None)
    monkeypatch.setattr(plan, "Stick", Made(also=lambda tank: ()))
    tank: Any = Made(name="main", cavity=Made(gross_m3=0.016), design=Made(dipstick=None, switch=(), gauge=()))
    found = plan.plan(Made(design=Made(envelope=(PARKED, TAXI, CRUISE))), tank, at)  # type: ignore[arg-type]
    assert found.others == others
    assert [one.total_m3 for one in found.steps] == pytest.approx([k * 1e-3 for k in range(17)])
    assert (found.sees, found.per_degree_m, found.length_m, found.zero) == (None, None, None, "")


# --- marks as tests found them


@pytest.mark.parametrize(("measured_m3", "drop_m"), [(None, 0.5), (0.0, 0.5), (4.0, 0.5), (5.0, 0.0), (6.0, 0.0)])
def test_a_trip_that_was_measured(monkeypatch: pytest.MonkeyPatch, measured_m3: float | None, drop_m: float) -> None:
    asked: list[Any] = []
    monkeypatch.setattr(measured, "_drop_m", lambda drained, index, most_m3: asked.append(most_m3) or 0.5)
    switch: Any = Made(measured_trip_m3=measured_m3, tolerance_m=None)
    found = measured._trip(Made(passed_all=lambda marks: [5.0, 4.5, 5.5]), 0, switch)  # type: ignore[arg-type]
    assert found is not None
    assert (found.measured_m3, found.computed_m3, found.drop_m) == (measured_m3 or 0.0, 5.0, drop_m)
    assert asked == ([measured_m3 or 0.0] if drop_m else [])


@pytest.mark.parametrize("drop_m", [0.0004, 0.004, 0.1, 0.35])
def test_how_much_lower_a_mark_trips_with_no_more(drop_m: float) -> None:
    # A square metre under the mark at half a metre: so much less than half a cubic metre.
    drained: Any = Made(
        tilted=Made(low_m=0.25, high_m=0.75), passed=lambda index, rise_m, sign: 0.5 + rise_m if rise_m > -0.4 else None
    )
    found = measured._drop_m(drained, 0, 0.5 - drop_m)
    assert found == pytest.approx(drop_m, abs=1e-9)
    assert found >= drop_m


@pytest.mark.parametrize(
    ("sure_m3", "passed_m3", "drop_m"),
    [
        # Six cubic metres and a share of 1.1 are counted where the mark stands: what the test is not sure of is taken off.
        (6.6, 5.0, 0.0), (6.6 - 0.4e-6, 5.0, 0.0), (6.6 - 0.6e-6, 5.0, (5.0 - 0.6e-6) * 2.0), (6.1, 5.0, 9.0), (7.0, 5.0, 0.0),
        (None, 5.0, 0.0), (6.1, None, 0.0),
    ],
)  # fmt: skip
def test_how_much_lower_a_mark_counts_to_be_sure(
    monkeypatch: pytest.MonkeyPatch, sure_m3: float | None, passed_m3: float | None, drop_m: float
) -> None:
    monkeypatch.setattr(
        measured,
        "drained_with",
        lambda tank, attitude, switches: Made(
            passed=lambda index, rise, sign: passed_m3 if (rise, sign) == (0.0, 1) else -9.0
        ),
    )
    monkeypatch.setattr(measured, "_drop_m", lambda drained, index, most_m3: most_m3)
    level = Made(volume_and_area=lambda at_m: (at_m * 2.0, None))
    monkeypatch.setattr(measured, "Tilted", Made(of=lambda cavity, up: level))
    tilted: Any = Made(name="climb", up=np.array([sqrt(0.75), 0.0, 0.5]))
    layout: Any = Made(design=Made(normal=lambda phase: PARKED, envelope=(tilted,)))
    tank: Any = Made(design=Made(switch=(Made(name="low"),)), level_m=lambda name, up: 3.0)
    tested: Any = Made(drawn=None, share=1.1, sure_m3={} if sure_m3 is None else {("low", "climb"): sure_m3})
    assert measured._sure_drops_m(layout, tank, tested) == {"low": pytest.approx(drop_m)}
    tank.design.switch = ()
    assert measured._sure_drops_m(layout, tank, tested) == {}


# --- flights


def test_a_flight_s_slopes_are_taken_over_what_tanks_hold(monkeypatch: pytest.MonkeyPatch) -> None:
    """A hundredth of a millilitre in a tank; what is burnt and overboard bears on no rate, and is told to a millilitre."""
    asked: dict[str, Any] = {}

    def stretches(
        rates: Any, start: Any, begin_s: float, end_s: float, hair: Any, tolerance: Any, longest_s: float, made_up: int
    ) -> Any:
        asked.update(hair=hair.tolist(), tolerance=tolerance.tolist(), made_up=made_up, begin=begin_s, end=end_s)
        return iter(())

    monkeypatch.setattr(fly, "stretches", stretches)
    monkeypatch.setattr(fly, "crossings", lambda *given: ())
    flight: Any = Made(
        names=("a", "b"), here=np.zeros(4), now_s=3.0, pace=Made(off_m3=2e-6, longest_s=60.0), lit=(), late=()
    )
    assert fly._Flight.onward(flight, Made(moment=None), Made(stuck=()), 9.0) == (None, False)  # type: ignore[arg-type]
    assert flight.now_s == 9.0
    assert asked == {
        "hair": [1e-8, 1e-8, 0.0, 0.0],
        "tolerance": [2e-6, 2e-6, 1e-6, 1e-6],
        "made_up": 2,
        "begin": 3.0,
        "end": 9.0,
    }


@pytest.mark.parametrize(
    ("share", "crossed", "broken", "many", "at_s", "fault"),
    [
        (1.0, None, False, 0, 9.0, ""), (0.5, "lamp", False, 0, 6.0, ""), (0.5, None, True, 0, 6.0, ""), (1.0, "lamp", False, 0, 9.0, ""),
        # 500 moments, and ten for each longest step of a minute: the third second is none.
        (1.0, None, False, 500, 9.0, ""), (1.0, None, False, 501, 9.0, "swings too fast to be followed from 0.1 min on"),
    ],
)  # fmt: skip
def test_how_far_a_flight_is_carried_on(
    monkeypatch: pytest.MonkeyPatch, share: float, crossed: Any, broken: bool, many: int, at_s: float, fault: str
) -> None:
    step = Made(begin_s=3.0, length_s=6.0, at=lambda part: np.full(4, part))
    monkeypatch.setattr(fly, "stretches", lambda *given: iter([step]))
    monkeypatch.setattr(fly, "crossings", lambda *given: ())
    monkeypatch.setattr(fly, "first_event", lambda leg, step, ahead: (share, crossed, broken))
    monkeypatch.setattr(fly, "_MOST_STEPS", 500)
    kept: list[float] = []
    flight: Any = Made(
        names=("a", "b"), here=np.zeros(4), now_s=3.0, pace=Made(off_m3=2e-6, longest_s=60.0), lit=(), late=(), times=[0.0] * many,
        keep=lambda: kept.append(flight.now_s), world=Made(layout=Made(file="design.toml")),
    )  # fmt: skip
    if fault:
        flight.now_s = 6.0
        flight.times = [0.0] * 502
        with pytest.raises(QuestionError, match=fault):
            fly._Flight.onward(flight, Made(moment=None), Made(stuck=()), 9.0)  # type: ignore[arg-type]
        return
    assert fly._Flight.onward(flight, Made(moment=None), Made(stuck=()), 9.0) == (crossed, broken)  # type: ignore[arg-type]
    assert (flight.now_s, kept, flight.here.tolist()) == (at_s, [at_s], [share] * 4)


@pytest.mark.parametrize(("now_s", "minutes"), [(90.0, "1.5"), (600.0, "10.0")])
def test_a_flow_that_changes_without_end(now_s: float, minutes: str) -> None:
    flight: Any = Made(
        changed="", names=(), here=np.zeros(2), now_s=now_s, events=fly._MOST_EVENTS, runs_out=lambda leg: None,
         lamps_at_once=lambda *_: None,
        settle=lambda leg: "", world=Made(layout=Made(file="design.toml")),
    )  # fmt: skip
    leg: Any = Made(begin=lambda held: None, modes={}, plumbed=Made(ports={}))
    with pytest.raises(QuestionError, match=f"changes without end after {minutes} min"):
        fly._Flight.leg(flight, leg, Made(), now_s + 1.0)  # type: ignore[arg-type]
    assert fly._Flight.leg(flight, leg, Made(), now_s) == ""  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("kind", "end", "over", "to"),
    [
        ("return", PortEnd("a", "in"), True, "a, second"), ("return", PortEnd("a", "in"), False, "a"), ("feed", PortEnd("a", "in"), True,
         "a"),
        ("return", PortEnd("b", "in"), True, "a"), ("return", Made(tank="a", port="in"), True, "a"),
    ],
)  # fmt: skip
def test_where_what_is_sent_back_comes_to_when_pools_part(kind: str, end: Any, over: bool, to: str) -> None:
    lips = {"in": (1.0, 2.0), "out": (0.5, 1.0)}
    one = Made(lips={} if over else lips, spill_to="", spill_port="")
    leg: Any = Made(
        standings={"a": Made(spill_to="", spill_port="")}, whole={}, back_to="a",
        plumbed=Made(with_moved=lambda moved: Made(network=Made(edges=[Made(kind=kind, end=end)]))),
    )  # fmt: skip
    legs.Leg.part(leg, "a", "a, second", Made(one=one, two=Made(lips=lips), whole="whole"))  # type: ignore[arg-type]
    assert (leg.back_to, leg.whole) == (to, {"a": "whole"})


# --- room for a switch


@pytest.mark.parametrize(
    ("own_m", "other_m", "stem_m", "away_m", "touches"),
    [
        (0.03, 0.02, 0.0, 0.0499, True), (0.03, 0.02, 0.0, 0.05, False), (0.03, 0.02, 0.0, 0.0501, False), (0.01, 0.0, 0.04, 0.0399, True),
        (0.01, 0.0, 0.04, 0.0401, False), (0.0, 0.0, 0.0, 0.0, True), (0.0, 0.0, 0.0, 0.9e-9, True), (0.0, 0.0, 0.0, 1.1e-9, False),
    ],
)  # fmt: skip
def test_floats_and_stems_of_two_stages(
    own_m: float, other_m: float, stem_m: float, away_m: float, touches: bool
) -> None:
    place: Any = Made(x_m=1.0, y_m=2.0)
    other: Any = (Made(round_m=other_m), Made(x_m=1.0, y_m=2.0 + away_m))
    told = rooms.Room.against_others(Made(round_m=own_m, stem_m=stem_m), place, [other])  # type: ignore[arg-type]
    assert told == ("another stage stands there" if touches else "")
