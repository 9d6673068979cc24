"""Functions of the fill test and the sweeps by hand: what a quantity is within, which readings count, spreads, shares, stages' order."""

from __future__ import annotations

from collections import Counter
from math import log, pi, radians
from types import SimpleNamespace as Made
from typing import Any

import numpy as np
import pytest

from fuelsys.analysis.fills import answers, assured, filltest, fit, measured, plan, twins
from fuelsys.analysis.fills.solved import SHAPE_RAD, Solved, shaped_rad
from fuelsys.analysis.sweeping import samples, shares, stages, tolerance
from fuelsys.errors import QuestionError, SheetError
from fuelsys.model.found.outflow import Outflow
from fuelsys.model.stated.attitude import Attitude
from fuelsys.model.stated.fillsheet import Entry, Typed

CRUISE, PARKED = Attitude("cruise", "flight", normal=True), Attitude("parked", "ground", normal=True)


def solved(free: tuple[int, ...] = (0,), **more: Any) -> Solved:
    k = len(free)
    given: dict[str, Any] = {
        "correction": np.arange(1.0, 6.0) / 100.0, "free": free, "extra_m3": np.zeros(0), "covariance": np.eye(k) * 4e-4,
         "residuals_m": np.array([1e-3, -2e-3]),
        "cost_m2": 1.0, "noise_m": 1e-3, "dof": 8, "over": 8.0, "apart": (0.1,) * k,
    } | more  # fmt: skip
    return Solved(**given)


T_8 = 2.306004  # Student's t, 97.5 % at 8 degrees of freedom: printed in any table, from memory


# --- within how much


def test_within_how_much_a_figure_is() -> None:
    one = solved((0, 4), covariance=np.array([[4e-4, 1e-4], [1e-4, 9e-4]]), extra_m3=np.zeros(0))
    assert one.t == pytest.approx(T_8, abs=1e-6)
    assert one.left_m2 == pytest.approx(5e-6)
    # The variance of 2 a + 3 b: 4 x 4 + 9 x 9 + 12 x 1, in 1e-4; figures that are not free have none.
    assert one.within(np.array([2.0, 9.0, 9.0, 9.0, 3.0])) == pytest.approx(T_8 * (109e-4) ** 0.5, rel=1e-6)
    assert one.figure_within(0) == pytest.approx(T_8 * 0.02, rel=1e-6)
    extra = solved((0,), covariance=np.diag([4e-4, 1.0, 9.0]), extra_m3=np.zeros(2))
    assert [extra.extra_within(k) for k in (0, 1)] == pytest.approx([T_8, 3.0 * T_8], rel=1e-6)
    assert solved((0,), covariance=np.array([[-1.0]])).within(np.ones(5)) == 0.0  # rounding


def test_a_tilt_that_readings_on_the_way_tell_is_wider() -> None:
    tilt = solved((2,), covariance=np.array([[1e-6]]), apart=(0.035,))
    shaped = SHAPE_RAD * (1.0 - (1e-3 / 0.035) ** 2) * 0.035 / radians(2.0)
    assert tilt.figure_within(2) == pytest.approx(T_8 * (1e-6 + shaped**2) ** 0.5, rel=1e-6)
    assert (shaped_rad(0.02, 0.01), shaped_rad(0.0, radians(2.0))) == (0.0, SHAPE_RAD)


def test_how_a_quantity_grows_with_a_correction() -> None:
    at = np.array([0.1, 0.2, 0.3, 0.4, 0.5])
    found = answers._gradient(lambda c: float(c[0] ** 2 + 3.0 * c[1] - c[4]), at)
    assert found == pytest.approx([0.2, 3.0, 0.0, 0.0, -1.0], abs=1e-8)


def test_a_quantity_lies_in_the_interval_of_the_fullest_fit() -> None:
    # The simple one says 1; the fullest 1.2 within 0.05 x t: 0.2 apart, and its own width. Of another set the wider one counts.
    quantity = lambda c: float(c[0])  # noqa: E731
    simple, full = (
        solved(correction=np.array([1.0, 0, 0, 0, 0])),
        solved(correction=np.array([1.2, 0, 0, 0, 0]), covariance=np.array([[25e-4]])),
    )
    choice, noted = Made(full=full), Made(full=solved(correction=np.array([0.5, 0, 0, 0, 0])))
    assert answers.told(choice, quantity, simple) == (1.0, pytest.approx(0.2 + 0.05 * T_8, rel=1e-5))
    assert answers.told(choice, quantity, simple, noted)[1] == pytest.approx(0.5 + 0.02 * T_8, rel=1e-5)


def test_what_a_correction_misses_near_a_reading() -> None:
    # Totals 1 to 4; missed by 0.1, 0.3, 0, 0 (the second line by its worse reading): at each line its own and its neighbours' worst.
    data = Made(totals_m3=np.array([1.0, 2.0, 2.0, 3.0, 4.0]), extras=np.zeros((5, 0)), order=np.array([0, 1, 1, 2, 3]),
                held=lambda c: np.array([0.9, 2.3, 2.0, 3.0, 4.0]))  # fmt: skip
    choice: Any = Made(data=data, used=solved())
    found = answers.misfit_m3(choice, np.array([0.0, 1.0, 2.0, 3.0, 3.5, 4.0, 9.0]))
    assert found == pytest.approx([0.3, 0.3, 0.3, 0.3, 0.15, 0.0, 0.0])


@pytest.mark.parametrize(
    ("n", "free", "told"), [(10, 2, True), (5, 2, True), (4, 2, False), (3, 0, True), (2, 0, False)]
)
def test_akaike_for_few_readings(n: int, free: int, told: bool) -> None:
    one = solved(tuple(range(free)), residuals_m=np.full(n, 1e-3), covariance=np.eye(free))
    k = free + 1
    wanted = n * log(1e-6) + 2 * k + 2 * k * (k + 1) / (n - k - 1) if told else None
    assert answers.aicc(one) == (None if wanted is None else pytest.approx(wanted))
    assert answers.aicc(solved((), residuals_m=np.zeros(8), covariance=np.eye(0))) == pytest.approx(
        8 * log(fit.LEAST_NOISE_M**2) + 2 + 4 / 6
    )


def test_what_a_tank_holds_in_all_and_is_filled_to() -> None:
    model: Any = Made(
        tank=Made(cavity=Made(gross_m3=0.05)),
        floor_m2=np.array([-0.1, -0.2]),
        tilted=lambda c: None,
        floor_at=lambda tilted, level: np.array([0.25]),
    )
    c = np.array([0.1, 0.0, 0.0, 0.0, 0.01])
    assert answers._whole_of(model)(c) == pytest.approx(1.1 * (0.05 - 0.003))
    assert answers.fillable_of(model, 0.04, 1.0)(c) == pytest.approx(1.1 * (0.04 - 0.0025))


@pytest.mark.parametrize(
    ("left", "runs"),
    [([1.0, -1.0] * 8, False), ([1.0] * 8 + [-1.0] * 8, True), ([1.0] * 3 + [-1.0] * 4, False), ([0.0] * 16, False)],
)
def test_residuals_that_go_together(left: list[float], runs: bool) -> None:
    assert answers._runs(np.array(left)) is runs


@pytest.mark.parametrize(("free", "within"), [((0,), 0.04), ((0, 4), T_8 * 0.02)])
def test_the_scale_is_within_what_the_capacity_is_within(free: tuple[int, ...], within: float) -> None:
    capacity: Any = Made(gross_m3=(0.05, 0.06, 0.002))
    scale, *_ = answers._found(solved(free), capacity)
    assert (scale.name, scale.value, scale.within) == ("scale", 0.01, pytest.approx(within, rel=1e-5))
    assert answers._found(solved(free))[0].within == pytest.approx(T_8 * 0.02, rel=1e-5)


@pytest.mark.parametrize(
    ("read", "off", "told"),
    [
        (0.1, 0.0, True),
        (0.0, 0.0, True),
        (-1e-8, 0.0, False),
        (0.2, 0.0, True),
        (0.2 + 1e-8, 0.0, False),
        (0.21, 0.01, True),
        (0.21, -0.01, True),
        (0.22, 0.01, False),
    ],
)
def test_what_the_stick_reads(read: float, off: float, told: bool) -> None:
    model: Any = Made(filled_readings=lambda volumes, c: np.array([read]), stick=Made(length_m=0.2))
    assert answers.reading(model, 1.0, np.array([0.0, off, 0, 0, 0])) == (read if told else None)


# --- which correction


def test_how_likely_a_better_fit_is_by_chance() -> None:
    # F of 2 added figures: (10 - 4) / 2 over 4 / 8: 6 at 2 and 8 degrees of freedom, 2.5 % (6.06 in any table, from memory).
    simple, more = solved((), cost_m2=10.0, covariance=np.eye(0)), solved((0, 1), cost_m2=4.0, fewest=8.0)
    assert fit.p_value(simple, more) == pytest.approx(0.0256, abs=2e-4)
    assert fit.p_value(simple, solved((0, 1), cost_m2=10.0, fewest=8.0)) == 1.0
    assert fit.p_value(simple, solved((0, 1), cost_m2=11.0, fewest=8.0)) == 1.0
    # Uneven readings count as more noise, settled figures as readings left over.
    assert fit.p_value(simple, solved((0, 1), cost_m2=4.0, uneven_m2=4.0, fewest=8.0)) > 0.08
    assert fit.p_value(simple, solved((0, 1), cost_m2=4.0, fewest=10.0, settled=2.0)) == pytest.approx(0.0256, abs=2e-4)
    assert fit.p_value(simple, more, 8.0) < fit.p_value(simple, more)
    assert fit.p_value(simple, solved((0, 1), cost_m2=4.0, dof=-3, fewest=0.0)) > 0.3


@pytest.mark.parametrize(
    ("n", "extras", "most"), [(2, 0, 0), (3, 0, 1), (4, 0, 2), (9, 0, 5), (7, 0, 5), (6, 0, 4), (9, 3, 4), (1, 0, 0)]
)
def test_corrections_that_leave_two_readings_over(n: int, extras: int, most: int) -> None:
    found = fit._allowed(Made(n=n, extras=np.zeros((n, extras))))
    assert found[0] == ()
    assert max(len(fit.figures(one)) for one in found) == most


def choice(**more: Any) -> Any:
    given: dict[str, Any] = {
        "fits": {},
        "p": {},
        "enough": (),
        "kept": (),
        "data": Made(n=4),
        "full": "full",
        "by_places": False,
    } | more
    return fit.Choice(**given)


def test_the_fit_that_figures_are_taken_from() -> None:
    assert choice(fits={(): "simple"}).used == "simple"
    assert choice(fits={("scale",): "simple"}, kept=("scale",)).used == "full"


def test_rivals_leave_hardly_more_and_have_no_part_that_is_enough() -> None:
    def leaving(m2: float) -> Solved:
        return solved(residuals_m=np.array([m2**0.5]))

    # Four readings: e times as much may be left.
    fits = {
        ("scale",): leaving(1.0),
        ("offset",): leaving(2.7),
        ("layer",): leaving(2.72),
        ("scale", "offset"): leaving(0.1),
        ("tilt",): leaving(1.5),
    }
    one = choice(fits=fits, enough=tuple(fits), kept=("scale",))
    assert one.rivals == (("offset",), ("tilt",))
    assert choice(fits=fits, enough=tuple(fits), kept=("tilt",), by_places=True).rivals == ()
    assert choice(fits=fits, enough=(("scale",), ("tilt",)), kept=("scale",), by_places=True).rivals == (("tilt",),)
    least = {("scale",): leaving(0.0), ("offset",): leaving(4 * fit.LEAST_NOISE_M**2 * 2.7)}
    assert choice(fits=least, enough=tuple(least), kept=("scale",)).rivals == (("offset",),)


@pytest.mark.parametrize(
    ("covariance", "told"),
    [
        ([[1e-6, 0.0], [0.0, 1e-8]], ()), ([[1e-6, 0.96e-7], [0.96e-7, 1e-8]], ("scale and offset",)), ([[1e-6, -0.96e-7], [-0.96e-7,
         1e-8]], ("scale and offset",)),
        ([[1e-6, 0.94e-7], [0.94e-7, 1e-8]], ()), ([[0.071**2, 0.0], [0.0, 1e-8]], ("scale",)), ([[0.069**2, 0.0], [0.0, 0.0141**2]],
        ("offset",)),
        ([[0.071**2, 0.96 * 0.071e-4], [0.96 * 0.071e-4, 1e-8]], ("scale and offset",)),
    ],
)  # fmt: skip
def test_what_a_correction_does_not_tell_apart(covariance: Any, told: tuple[str, ...]) -> None:
    assert (
        choice(
            fits={("scale", "offset"): solved((0, 1), covariance=np.array(covariance))}, kept=("scale", "offset")
        ).same
        == told
    )


@pytest.mark.parametrize(
    ("sticks", "pitch_sd", "roll_sd", "told"),
    [(3, 0.19, 0.19, True), (2, 0.1, 0.1, False), (3, 0.21, 0.1, False), (3, 0.1, 0.21, False), (4, 0.2, 0.2, True)],
)
def test_three_places_that_tell_a_tilt(sticks: int, pitch_sd: float, roll_sd: float, told: bool) -> None:
    usual = fit.USUAL[[2, 3]]
    full = solved((0, 2, 3), covariance=np.diag([1.0, *(np.array([pitch_sd, roll_sd]) * usual * (1.0 - 1e-12)) ** 2]))
    assert fit._by_places(Made(sticks=sticks), full) is told


# --- which readings count


@pytest.mark.parametrize(
    ("typed_m", "zero", "dry", "total", "told"),
    [
        # Pools part below level 1 (10 held there), air is shut in above 5 (50 held): a third more, or a fifth less, is near enough.
        (0.3, "bottom", False, 30.0, ""), (0.0005, "bottom", False, 30.0, "dry"), (0.00051, "bottom", False, 30.0, ""), (0.0005, "top",
         False, 30.0, ""), (None, "bottom", True, 30.0, "dry"),
        (None, "bottom", False, 30.0, ""), (0.09, "bottom", False, 12.9, "pools apart"), (0.09, "bottom", False, 13.1, ""), (0.11,
         "bottom", False, 12.9, ""),
        (0.51, "bottom", False, 40.1, "air trapped"), (0.51, "bottom", False, 39.9, ""), (0.49, "bottom", False, 45.0, ""), (0.3,
         "bottom", True, 30.0, "dry"),
    ],
)  # fmt: skip
def test_why_a_reading_does_not_count(typed_m: float | None, zero: str, dry: bool, total: float, told: str) -> None:
    ends = {"bottom": np.zeros(3), "top": np.ones(3)}
    model: Any = Made(
        stick=Made(zero_m=ends[zero], bottom_m=ends["bottom"]),
        levels_m=lambda read, c: read * 10.0,
        held_at=lambda levels, c: levels * 10.0,
    )
    marks: Any = Made(apart_below_m=1.0, air_above_m=5.0)
    typed = None if typed_m is None else Typed(str(typed_m), "m", "length", typed_m)
    assert filltest._left_out(model, typed, total, marks, dry=dry) == told


@pytest.mark.parametrize(
    ("times", "told"),
    [
        (1.0, ""),
        (1.49, ""),
        (1.51, "the totals are 1.51 times"),
        (1 / 1.49, ""),
        (1 / 1.51, "the totals are 0.662 times"),
    ],
)
def test_totals_that_no_correction_explains(times: float, told: str, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(filltest, "_slipped", lambda *_: [])
    monkeypatch.setattr(filltest.fillmeanings, "can", lambda poured: None)
    read = np.array([0.1, 0.2, 0.3, 0.9])
    data: Any = Made(
        model=Made(tank=Made(cavity=Made(gross_m3=1.0)), held=lambda readings, c: readings),
        place=np.array([0, 0, 0, 1]),
        readings_m=read,
        totals_m3=read * times,
    )
    if not told:
        filltest._check_units(data, (), Made(file="s.csv"), 720.0)
    else:
        with pytest.raises(QuestionError, match=told):
            filltest._check_units(data, (), Made(file="s.csv"), 720.0)


@pytest.mark.parametrize(
    ("factor", "told"),
    [
        (25.4, "in in and written as mm"),
        (1 / 25.4, "in mm and written as in"),
        (10.0, "in cm and written as mm"),
        (0.1, "in mm and written as cm"),
        (3.0, ""),
    ],
)
def test_a_stick_read_in_another_unit(factor: float, told: str, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(filltest, "_slipped", lambda *_: [])
    monkeypatch.setattr(filltest.fillmeanings, "can", lambda poured: None)
    true = np.array([0.1, 0.2, 0.3])
    data: Any = Made(
        model=Made(tank=Made(cavity=Made(gross_m3=1e-6)), held=lambda readings, c: readings),
        place=np.zeros(3),
        readings_m=true / factor,
        totals_m3=true,
    )
    with pytest.raises(QuestionError) as fault:
        filltest._check_units(data, (), Made(file="s.csv"), 720.0)
    assert (f"Perhaps the stick read {told}." in fault.value.mend, "Perhaps" in fault.value.mend) == (
        bool(told),
        bool(told),
    )


@pytest.mark.parametrize(
    ("entry", "gauges", "told"),
    [
        (Entry(2), 0, ""), (Entry(2, signals=(None, None)), 0, ""), (Entry(2, signals=(1.0,)), 1, ""), (Entry(2, signals=(1.0,)), 0,
         "the tank has no gauge"),
        (Entry(2, signals=(1.0, 2.0)), 1, "the tank has 1 gauge"), (Entry(2, signals=(1.0, 2.0, 3.0)), 2, "the tank has 2 gauges"),
        (Entry(2, attitude="parked"), 0, ""),
        (Entry(2, attitude="cruise"), 0, 'found "cruise"'), (Entry(2, attitude="nose in"), 0, ""), (Entry(2, attitude="nose in",
         lit=frozenset()), 0, "lamps or signals"),
        (Entry(2, attitude="nose in", signals=(1.0,)), 1, "lamps or signals"), (Entry(2, attitude="nose in", signals=(None,)), 1, ""),
        (Entry(2, attitude="parked", lit=frozenset(), signals=(1.0,)), 1, ""),
    ],
)  # fmt: skip
def test_lines_that_the_design_does_not_have(entry: Entry, gauges: int, told: str) -> None:
    layout: Any = Made(design=Made(envelope=[PARKED, Attitude("nose in", "ground"), CRUISE]))
    tank: Any = Made(design=Made(gauge=[1] * gauges))
    poured: Any = [Made(entry=entry)]
    if not told:
        filltest._check_lines(layout, tank, PARKED, poured, Made(file="s.csv"))
        return
    with pytest.raises(SheetError) as fault:
        filltest._check_lines(layout, tank, PARKED, poured, Made(file="s.csv"))
    assert fault.value.found.startswith(told)
    assert (fault.value.file, fault.value.field.startswith("line 2, ")) == ("s.csv", True)
    assert fault.value.found != "the tank has 1 gauges"


# --- what to expect, twins, marks


@pytest.mark.parametrize(
    ("value", "below"), [(2.9, 2.5), (2.4, 2.0), (0.55, 0.5), (1.0, 1.0), (99.0, 50.0), (5.0, 5.0), (4.99, 2.5)]
)
def test_the_next_round_figure_below(value: float, below: float) -> None:
    assert plan._round_down(value) == pytest.approx(below)


def test_round_totals_up_to_what_can_be_filled() -> None:
    found = plan._round_totals(0.0501, "L")
    step = plan._round_down(50.1 / plan._STEPS) / 1e3
    assert list(found) == pytest.approx([k * step for k in range(int(0.0501 / step) + 1)])


@pytest.mark.parametrize(
    ("level", "told"), [(None, ""), (0.9, "pools apart"), (1.0, ""), (3.0, ""), (5.0, ""), (5.1, "air trapped")]
)
def test_readings_that_will_not_count(level: float | None, told: str) -> None:
    model: Any = Made(levels_m=lambda read, c: read)
    found = plan._not_counted(model, Made(apart_below_m=1.0, air_above_m=5.0), level)
    assert (found.startswith(told), bool(found)) == (True, bool(told))


def test_by_how_much_readings_move_for_a_degree() -> None:
    model: Any = Made(readings=lambda totals, c: np.array([0.1 + 2.0 * c[2] - 3.0 * c[3], np.nan, 0.2 - 4.0 * c[2]]))
    assert plan._per_degree_m(model, np.zeros(3)) == pytest.approx((4.0 * pi / 180.0, 3.0 * pi / 180.0))


def lamp(tolerance_m: float | None, out: Any, on: Any) -> tuple[Any, list[str]]:
    switch = Made(name="low", tolerance_m=tolerance_m)
    marks: Any = Made(
        tank=Made(design=Made(switch=[switch])), expected=lambda one, event: {"goes out": out, "comes on": on}[event]
    )
    return plan._lamps(marks)


def test_at_which_total_a_lamp_should_go_out() -> None:
    out, on = (5.0, (4.0, 6.0)), (4.5, (3.5, 5.5))
    ((key, words),) = lamp(0.003, out, on)[0].items()
    assert key == ("low", 5.0)
    assert [part if isinstance(part, str) else part.values_si[0] for part in words] == [
        "should go out between ",
        4.0,
        " and ",
        6.0,
        "; drained again, on at ",
        4.5,
    ]
    ((_, words),) = lamp(None, out, "pools apart")[0].items()
    assert [part if isinstance(part, str) else part.values_si[0] for part in words] == ["should go out at ", 5.0]
    assert lamp(0.003, "dry", on) == ({}, ['Lamp "low": dry.'])


def test_what_the_sheet_says_of_a_lamp() -> None:
    def seen(name: str, at: Any, predicted: float | None = 1.0, why: str = "") -> Any:
        return Made(switch=name, seen_m3=at, predicted_m3=predicted, why=why)

    some = [
        seen("low", (3.0, 4.0)),
        seen("low", (1.0, 2.0)),
        seen("other", (0.0, 1.0)),
        seen("low", None),
        seen("low", (0.5, 1.0), None),
        seen("low", (0.1, 1.0), why="still lit"),
    ]
    assert assured.seen_of(Made(name="low"), some) == (some[1], some[0])
    both = assured._less(lambda c: float(c[0]), lambda c: float(c[1]))
    assert both(np.array([5.0, 3.0])) == 2.0
    assert assured._untilted(np.arange(1.0, 6.0)).tolist() == [1.0, 2.0, 0.0, 0.0, 5.0]


def test_the_measured_twin_of_a_tank_is_the_smallest_of_its_drawing() -> None:
    def tank(name: str, mirror_of: str | None = None, share: float | None = None) -> Any:
        return Made(name=name, design=Made(mirror_of=mirror_of), corrected=share, share_by_test=share)

    left, right, tip = tank("left"), tank("right", "left", 0.97), tank("tip", None, 0.5)
    third = tank("third", "left", 0.96)
    assert twins._measured_twin(left, [left, right, tip]) is right
    assert twins._measured_twin(left, [left, right, third]) is third
    assert twins._measured_twin(tank("fourth", "left"), [left, right]) is right
    assert twins._measured_twin(tip, [left, right]) is None


def test_how_much_lower_a_mark_counts() -> None:
    up = PARKED.up
    drawn: Any = Made(spot=lambda name: Made(point_m=np.array([0.0, 0.0, 0.3])))
    counted: Any = Made(
        spot=lambda name: Made(point_m=np.array([0.0, 0.0, 0.1])), design=Made(switch=[Made(name="low")])
    )
    assert twins._drops_m(drawn, counted, up) == {"switch low": pytest.approx(0.2)}


@pytest.mark.parametrize(("measured_l", "drop"), [(5.0, 0.0), (6.0, 0.0), (4.0, 0.1), (2.5, 0.25)])
def test_a_measured_trip_lowers_a_mark(measured_l: float, drop: float) -> None:
    # 5 L at the mark, a litre for each tenth of a metre; 10 L over 1 m in all.
    drained: Any = Made(
        tilted=Made(high_m=0.5, low_m=-0.5),
        passed=lambda index, by, state: 5.0 + 10.0 * by,
        passed_all=lambda asked: [5.0 + 10.0 * by for _, by, _ in asked],
    )
    switch: Any = Made(measured_trip_m3=measured_l, tolerance_m=0.02)
    found = measured._trip(drained, 0, switch)
    assert found is not None
    assert (found.measured_m3, found.computed_m3, found.least_m3, found.most_m3) == (
        measured_l,
        5.0,
        pytest.approx(4.8 - 0.1),
        pytest.approx(5.2 + 0.1),
    )
    assert found.drop_m == pytest.approx(drop, abs=1e-9)
    assert found.drop_m >= drop
    bare: Any = Made(measured_trip_m3=4.0, tolerance_m=None)
    assert measured._trip(drained, 0, bare).least_m3 == pytest.approx(5.0 - 10.0 * measured.USUAL_TOLERANCE_M - 0.1)
    never: Any = Made(passed_all=lambda asked: [None, None, None])
    assert measured._trip(never, 0, switch) is None
    ends: Any = Made(tilted=drained.tilted, passed=drained.passed, passed_all=lambda asked: [5.0, None, None])
    assert (measured._trip(ends, 0, switch).least_m3, measured._trip(ends, 0, switch).most_m3) == (4.9, 5.1)


@pytest.mark.parametrize(
    ("share", "within", "fewer", "same", "rival", "told"),
    [(1.0, 0.01, 0.0, (), False, []), (1.02, 0.019, 0.0, (), False, ["larger"]), (1.02, 0.021, 0.0, (), False, []), (0.9, 0.01, 2e-3, (),
     False, ["explained"]),
     (0.9, 0.01, 0.0, ("scale",), False, ["apart"]), (0.9, 0.01, 0.0, (), True, ["apart"]), (1.1, 0.01, 2e-3, ("scale",), True, ["larger",
      "explained", "apart"])],
)  # fmt: skip
def test_what_a_fill_test_leaves_open(
    share: float, within: float, fewer: float, same: Any, rival: bool, told: list[str]
) -> None:
    test: Any = Made(fit=Made(same=same, tried=[Made(rival=False), Made(rival=rival)]))
    found = measured._untold("main", Made(share=share, within=within, fewer_m3=fewer), test)
    assert [word in str(one) for word, one in zip(told, found, strict=True)] == [True] * len(told)
    assert measured._untold("main", Made(share=0.9, within=0.0, fewer_m3=0.0), Made(fit=None)) == ()


# --- sweeps


def answered(left: Any, held: Any) -> samples.Answered:
    return samples.Answered(np.zeros(len(left)), np.array(left, dtype=float), np.array(held, dtype=float))


FULL = answered([[1.0], [2.0], [3.0]], [[[10.0]], [[20.0]], [[30.0]]])


@pytest.mark.parametrize(
    ("left", "held", "off"),
    [
        # Spreads of 2 and of 20: a hundredth of each is near enough.
        ([[1.0], [2.0], [3.0]], [[[10.0]], [[20.0]], [[30.0]]], 0.0), ([[1.02], [2.0], [3.0]], [[[10.0]], [[20.0]], [[30.0]]], 0.02),
        ([[1.021], [2.0], [3.0]], [[[10.0]], [[20.0]], [[30.0]]], None), ([[1.0], [2.0], [3.0]], [[[10.0]], [[20.2]], [[30.0]]], 0.2),
        ([[1.0], [2.0], [3.0]], [[[10.0]], [[20.21]], [[30.0]]], None), ([[1.0], [2.0], [3.0]], [[[-np.inf]], [[20.0]], [[30.0]]], None),
        ([[1.0], [1.99], [3.0]], [[[10.1]], [[20.0]], [[30.0]]], 0.1),
    ],
)  # fmt: skip
def test_how_far_answers_that_are_read_off_are_off(left: Any, held: Any, off: float | None) -> None:
    assert tolerance._off_m3(FULL, answered(left, held)) == (None if off is None else pytest.approx(off))


def test_what_never_trips_has_no_spread() -> None:
    never = answered([[1.0], [2.0]], [[[-np.inf]], [[-np.inf]]])
    assert tolerance._off_m3(never, never) == 0.0
    some = answered([[1.0], [2.0]], [[[-np.inf]], [[5.0]]])
    near = answered([[1.0], [2.0]], [[[-np.inf]], [[5.0 + 1e-13]]])
    assert tolerance._off_m3(some, near) == pytest.approx(1e-13, rel=0.1)


def asked(delays_s: tuple[float | None, ...] = (None,), **bounds: float) -> Any:
    given = {"capacity_share": 0.0, "flow_share": 0.0} | bounds
    switches = [Made(delay_s=one, tolerance_m=0.003, name="low") for one in delays_s]
    return Made(
        of=lambda name, drawn: drawn[:, [{"capacity": 0, "flow": 1}[name]]],
        tolerances=Made(**given),
        tank=Made(design=Made(switch=switches)),
    )


DRAWN = np.array([[1.0, -1.0], [0.0, 0.0], [-1.0, 1.0]])


def test_what_capacity_and_flow_make_of_answers() -> None:
    found = answered([[1.0, 2.0]] * 3, [[[10.0], [12.0]]] * 3)
    left, held = tolerance.scaled(asked(capacity_share=0.1), DRAWN, found)
    assert left == pytest.approx(np.array([[1.1, 2.2], [1.0, 2.0], [0.9, 1.8]]))
    assert held[:, :, 0] == pytest.approx(np.array([[11.0, 13.2], [10.0, 12.0], [9.0, 10.8]]))
    times = tolerance.times_left(
        asked((None, 4.0), flow_share=0.5), Outflow(2.0, 2.0), DRAWN, np.array([[20.0, 20.0]] * 3)
    )
    assert times == pytest.approx(np.array([[20.0, 16.0], [10.0, 6.0], [20.0 / 3.0, 20.0 / 3.0 - 4.0]]))
    figures = tolerance._figures(asked(capacity_share=0.1), Outflow(2.0, 2.0), DRAWN, found)
    # Outside, the worst that stays, the least held at a trip, the time of what is held above the worst.
    assert figures[0] == pytest.approx([0.0, 2.2, 11.0, (11.0 - 2.2) / 2.0])
    assert figures[1] == pytest.approx([0.0, 2.0, 10.0, 4.0])


def test_the_figures_of_a_spread() -> None:
    spread = tolerance._spread(7.0, np.array([-np.inf, *range(1, 20)], dtype=float))
    assert (spread.nominal, spread.least, spread.p5, spread.median, spread.p95, spread.greatest) == (
        7.0,
        -np.inf,
        -np.inf,
        9.0,
        18.0,
        19.0,
    )


@pytest.mark.parametrize("degree", [1, 2, 3])
def test_weights_through_places_are_exact_for_a_polynomial(degree: int) -> None:
    at, x = np.linspace(-1.0, 1.0, degree + 1), np.array([-0.9, 0.1, 0.77])
    read = sum(samples._weights(at, k, x) * at[k] ** degree for k in range(at.size))
    assert read == pytest.approx(x**degree)
    assert samples._weights(np.zeros(1), 0, x).tolist() == [1.0, 1.0, 1.0]


@pytest.mark.parametrize(("pitch", "roll"), [(3.0, 0.0), (0.0, 4.0), (0.0, -4.0), (-3.0, 0.0)])
def test_a_tank_that_is_mounted_askew_is_as_one_that_is_flown_so(pitch: float, roll: float) -> None:
    found = samples.mounted(Attitude.of_degrees(0.0, 0.0).up, radians(pitch), radians(roll))
    assert found == pytest.approx(Attitude.of_degrees(pitch, roll).up)


def test_how_much_higher_a_switch_trips_in_other_fuel() -> None:
    drawn = np.array([[1.0, -1.0, 1.0], [0.5, 0.0, -1.0]])
    one: Any = Made(
        tank=Made(design=Made(switch=[Made(name="a", tolerance_m=0.004), Made(name="b", tolerance_m=None)]),
         rides={"switch a": Made(per_density=7.2)}),
        of=lambda name, rows: rows[:, {"trip": slice(0, 2), "density": slice(2, 3)}[name]], tolerances=Made(density_share=0.25),
         density_kg_m3=720.0,
    )  # fmt: skip
    # A float draws 7.2 / 720 = 10 mm: a quarter denser it rides 2 mm higher, a quarter lighter 3.333 mm lower.
    found = samples.Samples.raised_m(one, drawn, np.array([0.0, 0.0, 1.0]))
    assert found == pytest.approx(np.array([[0.004 - 0.002, 0.0], [0.002 + 0.01 / 3.0, 0.0]]))
    assert samples.Samples.raised_m(one, drawn, np.array([0.6, 0.0, 0.8]))[0, 0] == pytest.approx(0.004 - 0.0016)


@pytest.mark.parametrize(
    ("bounds", "moves"),
    [
        ({}, set()), ({"flow_share": 0.1}, {"flow"}), ({"capacity_share": 0.1}, {"capacity"}), ({"mounted_rad": 0.1}, {"mounted"}),
        ({"set_off_m": 0.1}, {"outlets", "marks"}),
        ({"density_share": 0.1}, {"density"}),
    ],
)  # fmt: skip
def test_which_figures_move_anything(bounds: dict[str, float], moves: set[str]) -> None:
    names = ("flow", "capacity", "mounted", "outlets", "marks", "trip", "density")
    given = {
        "flow_share": 0.0,
        "capacity_share": 0.0,
        "mounted_rad": 0.0,
        "set_off_m": 0.0,
        "density_share": 0.0,
    } | bounds
    tank = Made(design=Made(switch=[Made(tolerance_m=None), Made(tolerance_m=None)]), rides={"a": 1})
    one: Any = Made(tolerances=Made(**given), tank=tank)
    assert {name for name in names if shares._moves(one, name)} == moves
    tank.design.switch[1].tolerance_m = 0.003
    assert shares._moves(one, "trip")
    tank.design.switch, tank.rides = [], {}
    assert {name for name in names if shares._moves(one, name)} == moves - {"marks", "density"}


def test_shares_of_independent_parts() -> None:
    """All combinations of three values of x and y at two attitudes: 2 x + y, and 1 more at the second attitude; exact."""
    x, y = (one.ravel() for one in np.meshgrid([-1.0, 0.0, 1.0], [-1.0, 0.0, 1.0]))
    f = lambda p, q: np.column_stack([2.0 * p + q, 2.0 * p + q + 1.0])  # noqa: E731
    a_x, b_x = np.repeat(x, 9), np.tile(x, 9)
    a_y, b_y = np.repeat(y, 9), np.tile(y, 9)
    one, total, variance = shares.decomposed(f(a_x, a_y), f(b_x, b_y), {"x": f(b_x, a_y), "y": f(a_x, b_y)})
    # Variances 4 x 2/3, 2/3 and 1/4.
    assert variance == pytest.approx(8 / 3 + 2 / 3 + 0.25)
    for found in (one, total):
        assert (found["x"], found["y"], found[shares.ATTITUDE]) == pytest.approx(
            (8 / 3 / variance, 2 / 3 / variance, 0.25 / variance)
        )
    still = shares.decomposed(np.ones((4, 1)), np.ones((4, 1)), {"x": np.ones((4, 1))})
    assert still == ({"x": 0.0}, {"x": 0.0}, 0.0)


def search(target_s: float, bands_s: dict[str, float]) -> Any:
    return Made(target_s=target_s, between_s=lambda place: bands_s[place], places=(), ranked=[])


def test_the_rank_of_a_row_of_stages() -> None:
    searches = [search(1800.0, {"a": 59.0, "b": 61.0, "c": 64.0}), search(600.0, {"a": 30.0, "b": 30.0, "c": 30.0})]
    placing: Any = Made(searches=searches)
    rank = lambda *row: stages._Placing._rank_of(placing, row)  # noqa: E731
    # Stages without a place, the widest band to a tenth of a minute, then the sum.
    assert rank(None, None) == (2, 0, 0)
    assert rank("a", None) == (1, 10, 59.0)
    assert rank("a", "a") == (0, 10, 89.0)
    assert rank("b", "a") == (0, 10, 91.0)
    assert rank("c", "a") == (0, 11, 94.0)


@pytest.mark.parametrize(
    ("first", "second", "told"),
    [((5.0, 6.0, 7.0, 8.0), (3.0, 4.0, 5.0, 6.0), False), ((4.9, 6.0, 7.0, 8.0), (3.0, 4.0, 5.0, 6.0), True), ((5.0, 5.9, 7.0, 8.0), (3.0,
     4.0, 5.0, 6.0), True),
     ((np.nan, 6.0, 7.0, 8.0), (3.0, 4.0, 5.0, 6.0), True)],
)  # fmt: skip
def test_a_mark_that_may_trip_after_a_later_one(first: Any, second: Any, told: bool) -> None:
    placing: Any = Made(flight=[CRUISE], both=lambda one, place: [{"sooner": first, "later": second}[one]])
    assert bool(stages._Placing._out_of_order(placing, ("sooner", 0), ("later", 0))) is told


def test_stages_are_held_against_those_before_and_behind() -> None:
    rows = [Made(target_s=one) for one in (1800.0, 1200.0, 600.0)]
    asked_of: list[tuple[float, float]] = []

    def out_of_order(sooner: Any, later: Any) -> str:
        asked_of.append((sooner[0].target_s, later[0].target_s))
        return "x" if len(asked_of) == 9 else ""

    placing: Any = Made(searches=rows, _out_of_order=out_of_order)
    assert stages._Placing._order_against(placing, 1, "place", ["a", None, "c"]) == ""
    assert asked_of == [(1800.0, 1200.0), (1200.0, 600.0)]
    asked_of.clear()
    assert stages._Placing._order_against(placing, 0, "place", [None, "b", None]) == ""
    assert asked_of == [(1800.0, 1200.0)]


def test_the_line_on_which_the_widest_band_is_narrowest() -> None:
    def place(name: str, z_m: float | None = 0.1) -> Any:
        return Made(name=name, z_m=z_m, why_not="no height")

    one, two = ([place(f"{k}{row}", None if (k, row) == (1, 0) else 0.1) for row in range(4)] for k in (0, 1))
    rows = {id(row[0]): rank for row, rank in zip(zip(one, two, strict=True), (0, 3, 1, 2), strict=True)}
    placing: Any = Made(searches=[Made(places=one, target_s=1800.0), Made(places=two, target_s=600.0)],
     _rank_of=lambda row: rows[id(row[0])],
                        _against_line=lambda row: iter(["in the way"] if row[0].name == "02" else []))  # fmt: skip
    chosen, fell = stages._Placing._on_a_plate.func(placing)
    assert [at.name for at in chosen] == ["03", "13"]
    assert fell == [Counter({"10 min: no height": 1, "in the way": 1})] * 2
    placing._against_line = lambda row: iter(["in the way"])
    assert stages._Placing._on_a_plate.func(placing)[0] == [None, None]


@pytest.mark.parametrize(
    ("held_m3", "far", "least", "at"),
    [
        ((5.0, 3.0, 4.0), None, 3.0, 1),
        ((5.0, np.nan, 1.0), None, np.nan, 1),
        ((5.0, 3.0, 1.0), 2, np.nan, 2),
        ((3.0, 3.0, 3.0), None, 3.0, 0),
    ],
)
def test_the_least_at_a_trip_where_tilts_come_together(
    held_m3: Any, far: int | None, least: float, at: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    attitudes = [Attitude(str(k), "flight", 0.1 * k) for k in range(3)]
    monkeypatch.setattr(stages, "held", lambda drained, trips, low: np.array([[held_m3[drained]]]))
    tilted = {one.up.tobytes(): k for k, one in enumerate(attitudes)}
    one: Any = Made(built=Made(low_m=0.0, switch=Made(too_far=lambda up: tilted[up.tobytes()] == far)))
    placing: Any = Made(_trips_m=lambda one, place: None, _combinations=list(zip(attitudes, range(3), strict=True)))
    found = stages._Placing._combined(placing, one, None)
    assert found == (pytest.approx(least, nan_ok=True), attitudes[at])
