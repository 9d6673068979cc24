"""What a fill test and a study tell, by hand, on what is made up: which correction is kept, marks, curves, other places for a stick."""

from __future__ import annotations

from types import SimpleNamespace as Made
from typing import Any

import numpy as np
import pytest

from fuelsys.analysis.fills import answers, filltest, fit, foresee, measured, plan
from fuelsys.analysis.fills.solved import Solved
from fuelsys.analysis.lines import in_flight, states, statewise
from fuelsys.model.built.ends import ComponentEnd, PortEnd
from fuelsys.model.built.measured import Tripped
from fuelsys.model.found.filltest import BLOCKS, Capacities
from fuelsys.model.found.spilling import InFlight, TankInFlight
from fuelsys.model.stated.attitude import Attitude
from fuelsys.model.stated.components import Pump, Selector, Valve
from fuelsys.model.words import Quantity

PARKED, CRUISE = Attitude("parked", "ground", normal=True), Attitude("cruise", "flight", normal=True)


def solved(
    free: tuple[int, ...] = (0,), residuals: Any = (0.001, -0.001, 0.001, -0.001), dof: int = 2, scale: float = 0.1
) -> Solved:
    return Solved(np.array([scale, 0, 0, 0, 0]), free, np.zeros(0), np.eye(len(free)) * 4e-4, np.array(residuals), 1.0, 1e-3, dof, over=8.0,
                  apart=(1.0,) * len(free))  # fmt: skip


# --- which correction is kept


@pytest.mark.parametrize(
    ("p", "by_places", "kept", "placed"),
    [
        # What one adds to another as unlikely as this by chance: nothing is needed; scale is; scale, or offset with less left; tilt by
        # places.
        ({}, False, (), False), ({(): 0.0099}, False, ("scale",), False), ({(): 0.01}, False, (), False), ({(): 0.0099}, True, ("tilt",),
         True),
        ({}, True, (), False), ({(): 0.0, ("scale",): 0.0}, False, ("offset",), False), ({(): 0.0, ("tilt",): 0.0}, True, ("scale",
         "tilt"), True),
    ],
)  # fmt: skip
def test_the_simplest_correction_that_nothing_improves(
    monkeypatch: pytest.MonkeyPatch, p: Any, by_places: bool, kept: tuple[str, ...], placed: bool
) -> None:
    data: Any = Made(n=20, extras=np.zeros((20, 0)), at="at")
    costs = {(0,): 2.0, (1,): 3.0}
    asked: list[Any] = []

    def solve(data: Any, free: Any, noise: float, start: Any) -> Any:
        asked.append((noise, start))
        return Made(free=tuple(free), cost_m2=costs.get(tuple(free), 5.0 - 0.01 * len(free)))

    monkeypatch.setattr(fit, "weighted", lambda data: (data, 0.5))
    monkeypatch.setattr(fit, "solve", solve)
    names = {fit.figures(blocks): blocks for blocks in fit._allowed(data)}
    monkeypatch.setattr(fit, "p_value", lambda one, more: p.get(names[one.free], 0.5) if len(more.free) > 3 else 0.9)
    monkeypatch.setattr(fit, "_by_places", lambda data, full: by_places)
    found = fit.choose(data)
    assert (found.kept, found.by_places) == (kept, placed)
    assert set(asked) == {(0.5, "at")}
    assert found.p[BLOCKS] is None
    assert found.full is found.fits[BLOCKS]
    assert all((one in found.enough) is (p.get(one, 0.5) >= 0.01) for one in found.p)
    # Too few readings for all: the fullest is solved besides.
    data.n = 3
    monkeypatch.setattr(fit, "p_value", lambda one, more: 0.5)
    few = fit.choose(data)
    assert BLOCKS not in few.fits
    assert few.full.free == fit.figures(BLOCKS)


@pytest.mark.parametrize(("n", "blocks"), [(20, BLOCKS), (6, ("offset", "tilt", "layer")), (2, ()), (1, ())])
def test_readings_are_weighted_at_the_fullest_correction_that_they_allow(
    monkeypatch: pytest.MonkeyPatch, n: int, blocks: Any
) -> None:
    """Twice: with what nobody reads better at first, then from what was found with the noise that it left."""
    asked: list[Any] = []

    def solve(data: Any, free: Any, noise: float, start: Any) -> Any:
        asked.append((free, noise, start))
        return Made(correction=len(asked), noise_m=len(asked) / 10.0)

    monkeypatch.setattr(fit, "solve", solve)
    monkeypatch.setattr(fit, "replace", lambda data, at: Made(n=data.n, extras=data.extras, at=at))
    data, noise = fit.weighted(Made(n=n, extras=np.zeros((n, 0)), at=None))  # type: ignore[arg-type]
    assert (data.at, noise) == (2, 0.2)
    assert asked == [(fit.figures(blocks), fit.USUAL_NOISE_M, None), (fit.figures(blocks), 0.1, 1)]


def test_all_that_is_known_before_a_test_is_added_up(monkeypatch: pytest.MonkeyPatch) -> None:
    """Own place 1 and another 2, what their difference tells 4, a third tried place 8 and 16; the usual spreads once in each sum."""
    asked: list[Any] = []
    monkeypatch.setattr(foresee, "replace", lambda model, stick: stick)
    monkeypatch.setattr(
        foresee, "_information", lambda one, totals, first: np.eye(5) * one.tells * (1.0 if first else 1.5)
    )
    monkeypatch.setattr(foresee, "_between", lambda model, other, totals: np.eye(5) * other.differs)
    monkeypatch.setattr(foresee, "_within", lambda known, between: asked.append((known, between)) or np.ones(5))
    third = Made(tells=8.0, differs=16.0)
    monkeypatch.setattr(foresee, "_elsewhere", lambda model: iter([third]))
    model: Any = Made(tells=1.0, differs=0.0)
    foresee.sees(model, [Made(tells=2.0, differs=4.0)], np.zeros(1))  # type: ignore[list-item]
    usual = np.diag(fit.USUAL**-2.0)
    (known, between), (also, apart) = asked
    assert known == pytest.approx(usual + np.eye(5) * (1.0 + 3.0))
    assert between == pytest.approx(usual + np.eye(5) * 4.0)
    assert also == pytest.approx(usual + np.eye(5) * (1.0 + 3.0 + 12.0))
    assert apart == pytest.approx(usual + np.eye(5) * (4.0 + 16.0))


@pytest.mark.parametrize(("share", "untold"), [(0.69, ()), (0.71, ("offset",))])
def test_a_figure_that_is_hardly_narrowed_is_not_told(
    monkeypatch: pytest.MonkeyPatch, share: float, untold: Any
) -> None:
    within = 1.96 * 0.1 * fit.USUAL
    within[1] = 1.96 * share * fit.USUAL[1]
    monkeypatch.setattr(foresee, "_information", lambda one, totals, first: np.zeros((5, 5)))
    monkeypatch.setattr(foresee, "_within", lambda known, between: within)
    monkeypatch.setattr(foresee, "_elsewhere", lambda model: iter([]))
    found = foresee.sees(Made(), [], np.zeros(1))  # type: ignore[arg-type]
    assert (found.untold, found.place_m) == (untold, None)


# --- what a fit tells


@pytest.mark.parametrize("full", [True, False])
def test_what_each_correction_that_was_tried_tells(monkeypatch: pytest.MonkeyPatch, full: bool) -> None:
    monkeypatch.setattr(Solved, "t", 2.3)
    monkeypatch.setattr(answers, "filled", lambda *given: Made(volume_m3=8.0, level_m=1.0) if full else None)
    monkeypatch.setattr(
        answers, "fillable_of", lambda model, volume, level: lambda c: volume * (1.0 + float(c[0])) + level
    )
    monkeypatch.setattr(answers, "_capacities", lambda *given: Capacities((10.0, 11.0, 0.5), None))
    monkeypatch.setattr(answers, "_marks", lambda *given: ())
    monkeypatch.setattr(answers, "_curve", lambda *given: None)
    nothing, scale, both = solved((), scale=0.0), solved((0,)), solved((0, 1), dof=0, scale=0.2)
    data = Made(model=None, n=4, place=np.array([0, 0, 0, 1]))
    choice: Any = Made(
        solved=scale, data=data, fits={(): nothing, ("scale",): scale, ("scale", "offset"): both}, p={(): 0.001, ("scale",): 0.5,
        ("scale", "offset"): None},
        enough=(("scale",), ("scale", "offset")), kept=("scale",), rivals=(("scale", "offset"),), same=("scale and offset",), used=both,
         full=both, by_places=True,
    )  # fmt: skip
    tank: Any = Made(cavity=Made(gross_m3=10.0))
    found = answers.fit_of(None, tank, PARKED, choice, (), "L")  # type: ignore[arg-type]
    assert [(one.blocks, one.figures, one.p, one.enough, one.kept, one.rival) for one in found.tried] == [
        ((), 0, 0.001, False, False, False), (("scale",), 1, 0.5, True, True, False), (("scale", "offset"), 2, None, True, False, True),
    ]  # fmt: skip
    # The square root of 4e-6 over what is left of the readings, one at least.
    assert [one.spread_m for one in found.tried] == pytest.approx([2e-3 / 2**0.5, 2e-3 / 2**0.5, 2e-3])
    assert [one.fillable_m3 for one in found.tried] == pytest.approx([9.0, 9.8, 10.6] if full else [10.0, 11.0, 12.0])
    assert found.before_m == pytest.approx(1e-3)
    assert (found.used, found.searched, found.by_places, found.fewer) == (4, answers.LEAST_SEARCHED <= 4, True, None)
    assert found.found[0].within == 0.05  # of the kept one the scale is as sure as what the tank holds
    assert found.tried[1].found[0].within == 0.05
    assert found.tried[2].found[0].within != 0.05
    assert found.used_correction[0] == 0.2


@pytest.mark.parametrize(
    ("drawn", "corrected", "apart", "told"),
    [(0.1, 0.12, False, True), (None, 0.12, False, False), (0.1, np.nan, False, False), (0.1, 0.12, True, False)],
)
def test_where_a_mark_belongs(
    monkeypatch: pytest.MonkeyPatch, drawn: Any, corrected: float, apart: bool, told: bool
) -> None:
    """2 cm of doubt over 3 m2 and 5 L that are not explained: 65 L, 21.7 mm."""
    monkeypatch.setattr(answers, "dipstick", lambda *given: Made(marks=[Made(volume_m3=0.5, pools_apart=apart)]))
    monkeypatch.setattr(answers, "reading", lambda *given: drawn)
    monkeypatch.setattr(answers, "told", lambda *given: (0.0, 0.02))
    monkeypatch.setattr(answers, "misfit_m3", lambda choice, volume: np.array([0.005]))
    model = Made(filled_readings=lambda volume, c: np.array([corrected]), slopes=lambda read, c: np.array([3.0]))
    choice: Any = Made(data=Made(model=model), used=Made(correction=None))
    found = answers._marks(None, None, choice, "L", None)  # type: ignore[arg-type]
    assert [(one.volume_m3, one.drawn_m, one.corrected_m, one.within_m, one.within_m3) for one in found] == (
        [(0.5, 0.1, 0.12, pytest.approx(0.065 / 3.0), pytest.approx(0.065))] if told else []
    )


def test_the_curve_of_a_corrected_tank(monkeypatch: pytest.MonkeyPatch) -> None:
    """By the fullest the tank holds 0.3 more at each reading, of all lines 0.5 more; 0.1 is not explained."""
    monkeypatch.setattr(answers, "misfit_m3", lambda choice, held: np.full(held.size, 0.1))
    monkeypatch.setattr(answers, "none", lambda: 0.0)
    model = Made(stick=Made(length_m=0.8), held=lambda along, c: along + c, jacobian=lambda along, c: along[:, None])
    full, noted = Made(correction=0.5, within=lambda row: 2.0), Made(correction=0.7, within=lambda row: 1.0)
    choice: Any = Made(data=Made(model=model), used=Made(correction=0.2), full=full)
    along, drawn, corrected, within = answers._curve(choice)
    assert (along[0], along[-1], along.size) == (0.0, 0.8, 80)
    assert drawn == pytest.approx(along)
    assert corrected == pytest.approx(along + 0.2)
    assert within == pytest.approx(2.0 + 0.3 + 0.1)
    full.within = lambda row: float(row[0])
    others = answers._curve(choice, Made(full=noted))[3]  # type: ignore[arg-type]
    assert others == pytest.approx(np.maximum(along + 0.3, 1.5) + 0.1)


@pytest.mark.parametrize("full", [True, False])
def test_what_a_tank_holds_by_a_test(monkeypatch: pytest.MonkeyPatch, full: bool) -> None:
    monkeypatch.setattr(answers, "filled", lambda *given: Made(volume_m3=8.0, level_m=1.0) if full else None)
    monkeypatch.setattr(answers, "_shaped", lambda choice, quantity, noted: (quantity, 0.5))
    monkeypatch.setattr(answers, "_whole_of", lambda model: 11.0)
    monkeypatch.setattr(answers, "fillable_of", lambda model, volume, level: 9.0)
    choice: Any = Made(data=Made(model=None))
    found = answers._capacities(None, Made(cavity=Made(gross_m3=10.0)), PARKED, choice, None)  # type: ignore[arg-type]
    assert (found.gross_m3, found.fillable_m3) == ((10.0, 11.0, 0.5), (8.0, 9.0, 0.5) if full else None)


def test_the_attitudes_that_a_sheet_names(monkeypatch: pytest.MonkeyPatch) -> None:
    """Two places of the stick at each: its models are numbered on, the test's own first."""
    taxi, slope = Attitude("taxi", "ground"), Attitude("slope", "ground")
    monkeypatch.setattr(filltest, "Stick", Made(also=lambda tank: ("second",)))
    monkeypatch.setattr(filltest, "stick_at", lambda layout, tank, attitude: None)
    monkeypatch.setattr(filltest, "replace", lambda model, **more: Made(**(vars(model) | more)))
    monkeypatch.setattr(filltest.filllamps, "as_drawn", lambda layout, tank, attitude: f"marks at {attitude.name}")
    layout: Any = Made(design=Made(envelope=(PARKED, taxi, slope, CRUISE)))
    model: Any = Made(attitude=PARKED, stick="first", tank=None, kept={1: 2})
    named = ("", "taxi", "parked", "slope", "taxi")
    found = filltest._standing(layout, model, [Made(entry=Made(attitude=one)) for one in named], "own")  # type: ignore[arg-type,list-item]
    assert [(name, one.first, one.marks, one.name) for name, one in found.items()] == [
        ("parked", 0, "own", ""), ("taxi", 2, "marks at taxi", "taxi"), ("slope", 4, "marks at slope", "slope"),
    ]  # fmt: skip
    assert [one.stick for one in found["taxi"].models] == ["first", "second"]  # type: ignore[comparison-overlap]
    assert [(one.attitude, one.kept) for one in found["slope"].models] == [(slope, {})] * 2


# --- a plan, and where else a stick could stand


@pytest.mark.parametrize(("most_l", "steps"), [(16.0, 17), (16.995, 17), (17.0, 18), (17.0 - 1e-12, 18), (40.0, 17)])
def test_round_totals_up_to_what_a_tank_takes(most_l: float, steps: int) -> None:
    found = list(plan._round_totals(most_l / 1e3, "L"))
    assert len(found) == steps
    assert found[0] == 0.0
    assert found[1] == pytest.approx(2.5e-3 if most_l == 40.0 else 1e-3)


@pytest.mark.parametrize(
    ("low_m", "high_m", "length_m"),
    [
        # Points every centimetre of a tank of 60: from the first to the last that lie in fuel's room; 5 cm are enough, 4 are not.
        (0.095, 0.505, 0.4), (0.095, 0.165, 0.06), (0.095, 0.145, None), (0.095, 0.105, None), (0.7, 0.8, None),
    ],
)  # fmt: skip
def test_sticks_at_nine_other_places(low_m: float, high_m: float, length_m: float | None) -> None:
    centre = np.array([5.0, 6.0, 7.0])
    asked: list[Any] = []

    def spots(points: Any) -> Any:
        asked.append(points)
        return [Made(face=-1 if low_m < z - 7.0 + 0.3 < high_m else 1) for z in points[:, 2]]

    vertices = np.array([[-0.5, -1.0, -0.3], [0.5, 1.0, 0.3], [0.0, 0.0, 0.0]])
    model: Any = Made(tank=Made(cavity=Made(vertices_m=vertices, centre_m=centre, spots=spots)))
    found = list(foresee._elsewhere(model))
    assert len(asked) == 9
    assert (asked[0][0], asked[0][-1], len(asked[0])) == (
        pytest.approx([5.0 - 0.35, 6.0 - 0.7, 6.7]),
        pytest.approx([4.65, 5.3, 7.3]),
        61,
    )
    if length_m is None:
        assert found == []
        return
    assert len(found) == 9
    one = found[4]
    assert one.bottom_m == pytest.approx([0.0, 0.0, -0.2])
    assert one.zero_m == pytest.approx([0.0, 0.0, -0.2])
    assert one.along == pytest.approx([0.0, 0.0, 1.0])
    assert one.length_m == pytest.approx(length_m)


# --- tanks as tests found them


@pytest.mark.parametrize(
    ("stated", "sheet", "before", "curve", "fewer", "opened"),
    [(1, 1, None, True, None, True), (1, 1, None, False, 2.0, False), (None, 1, None, True, None, True), (1, None, None, True, None,
     True), (1, 1, "known", True, None, True)],
)  # fmt: skip
def test_a_tank_as_its_test_found_it(
    monkeypatch: pytest.MonkeyPatch, stated: Any, sheet: Any, before: Any, curve: bool, fewer: Any, opened: bool
) -> None:
    test = Made(
        file="s.csv", at_marks=[Made(switch="low", attitude=CRUISE, sure_m3=3.0)],
        fit=Made(capacity=Made(gross_m3=(10.0, 12.0, 0.5)), used_correction=(0.2,) * 5, curve=("along", "drawn", "by",
         "within") if curve else None,
                 fewer=None if fewer is None else Made(amount_m3=fewer)),
    )  # fmt: skip
    asked: list[Any] = []
    monkeypatch.setattr(
        filltest, "fill_test", lambda layout, tank, attitude, sheet: asked.append(attitude.name) or test
    )
    monkeypatch.setattr(measured, "check_usable", lambda layout, test: None)
    monkeypatch.setattr(measured, "_shared", lambda cavity, by: f"{cavity} by {by.share:.1f}")
    monkeypatch.setattr(measured, "_untold", lambda name, found, test: ("untold",))
    monkeypatch.setattr(measured, "replace", lambda one, **more: Made(**(vars(one) | more)))
    taxi = Attitude("taxi", "ground")
    given = None if stated is None else Made(at="taxi", date="today")
    tank: Any = Made(
        name="main",
        design=Made(measured=given),
        sheet=sheet,
        corrected=before,
        cavity="whole",
        opened=Made(cavity="open") if opened else None,
    )
    layout: Any = Made(design=Made(envelope=(PARKED, taxi), normal=lambda phase: PARKED))
    found: Any = measured._filled(layout, tank)
    if not (stated and sheet and before is None):
        assert found is tank
        return
    by = found.corrected
    assert (by.share, by.within, by.attitude, by.fewer_m3) == (
        pytest.approx(1.2),
        pytest.approx(0.05),
        "taxi",
        fewer or 0.0,
    )
    assert by.band == (("along", "within") if curve else None)
    assert by.sure_m3 == {("low", "cruise"): 3.0}
    assert (found.cavity, found.untested) == ("whole by 1.2", ("untold",))
    assert (found.opened.cavity if opened else found.opened) == ("open by 1.2" if opened else None)
    given.at = "elsewhere"  # type: ignore[union-attr]
    measured._filled(layout, tank)
    assert asked == ["taxi", "parked"]


@pytest.mark.parametrize(
    ("tripped", "outlet", "trip_m", "sure_m", "moved"),
    [
        (None, True, 0.3, 0.2, 0.3), (None, True, 0.3, 0.4, 0.4), (None, True, 0.3, 0.3, 0.3), (None, True, 0.0, 0.2, 0.2), (None, True,
         0.0, 0.0, None),
        (None, True, None, 0.2, 0.2), (None, True, None, 0.005, 0.005), (None, True, None, None, None), (None, False, 0.3, 0.2,
         "as it was"), ({"low": 1}, True, 0.3, 0.2, "as it was"),
    ],
)  # fmt: skip
def test_marks_as_low_as_tests_ask(
    monkeypatch: pytest.MonkeyPatch, tripped: Any, outlet: bool, trip_m: float | None, sure_m: float | None, moved: Any
) -> None:
    trip = None if trip_m is None else Tripped(1.0, 2.0, 1.0, 3.0, trip_m)
    monkeypatch.setattr(measured, "_tried", lambda layout, tank, stated: {"low": trip, "other": None})
    monkeypatch.setattr(measured, "_sure_drops_m", lambda layout, tank, tested: {"low": sure_m})
    monkeypatch.setattr(measured, "replace", lambda one, **more: Made(**(vars(one) | more)))
    monkeypatch.setattr(measured, "lower", lambda tank, by_m, said: (tank, by_m, said))
    monkeypatch.setattr(measured, "_lower", lambda name, one: "as measured")
    monkeypatch.setattr(measured, "_sure", lambda name, drop_m: "to be sure")
    switch = Made(name="low", measured_trip_m3=None if trip_m is None else 1.0)
    tank: Any = Made(
        tripped=tripped,
        design=Made(outlet=(1,) if outlet else (), switch=(switch,)),
        corrected=None if sure_m is None else 1,
    )
    found: Any = measured._lowered(Made(design=Made(normal=lambda phase: PARKED)), tank)  # type: ignore[arg-type]
    if moved == "as it was":
        assert found is tank
    elif moved is None:
        assert found.tripped == ({} if trip is None else {"low": trip})
    else:
        one, by_m, said = found
        assert one.tripped == ({} if trip is None else {"low": trip})
        assert list(by_m) == ["switch low"]
        assert by_m["switch low"] == pytest.approx([0.0, 0.0, moved])
        assert said == [
            *(["as measured"] if trip_m else []),
            *(["to be sure"] if (sure_m or 0.0) > (trip_m or 0.0) else []),
        ]


def test_how_a_mark_s_drop_is_told() -> None:
    # Rounded up: a mark that counts lower than is told would be on the wrong side.
    drop = Quantity("length", (0.01,), up=True)
    assert drop in measured._lower("low", Tripped(1.0, 2.0, 1.0, 3.0, 0.01))
    assert drop in measured._sure("low", 0.01)
    found: Any = Made(share=1.03, within=0.0299, fewer_m3=0.0)
    (doubt,) = measured._untold("main", found, Made(fit=None))  # type: ignore[arg-type]
    assert "main counts 3.0 % larger than drawn" in str(doubt)
    found.within = 0.0301
    assert measured._untold("main", found, Made(fit=None)) == ()  # type: ignore[arg-type]


# --- in each state


def flying_state(**more: Any) -> Any:
    given = {"worst": {}, "flows": {"takeoff": 4.0, "cruise": 2.0}, "state": "state", "back_m3_s": 1.0} | more
    one = Made(**given)
    for name in ("_worst_for", "_inlets", "_coming"):
        if not hasattr(one, name):
            setattr(one, name, getattr(statewise._State, name).__get__(one))
    return one


@pytest.mark.parametrize(
    ("curves", "feed", "tanks", "sets", "missing"),
    [
        ((), "pump", ("a",), [()], 0), ((True,), "pump", ("a",), [("p0",)], 0), ((True,), "gravity", ("a",), [(), ("p0",)], 0), ((None,),
         "pump", ("a",), [], 1),
        ((True, True), "pump", ("a",), [("p0",), ("p1",), ("p0", "p1")], 0), ((True, None), "gravity", ("a",), [(), ("p0",)], 1), ((True,
         ), "gravity", (), [], 0),
    ],
)  # fmt: skip
def test_with_which_pumps_an_engine_is_fed(
    monkeypatch: pytest.MonkeyPatch, curves: Any, feed: str, tanks: Any, sets: Any, missing: int
) -> None:
    monkeypatch.setattr(statewise, "Piping", lambda network, fluid, running: running)
    nodes: dict[Any, Any] = {f"p{k}": Pump.model_construct(name=f"p{k}", curve=curve) for k, curve in enumerate(curves)}
    way = Made(end="engine", start=PortEnd("a", "out"), through=tuple(nodes))
    other = Made(end="other", start=PortEnd("b", "out"), through=("q",))
    network = Made(
        ways=lambda kind: [*([way] if tanks else []), other],
        nodes=nodes | {"q": Pump.model_construct(name="q", curve=[1])},
    )
    asked: list[Any] = []

    def carried(piping: Any, engine: Any, needed: float, pressure: float, chosen: Any, attitude: Any) -> Any:
        asked.append((tuple(sorted(piping)), needed, pressure))
        return "carried"

    one = flying_state(
        solving=Made(layout=Made(network=network), fluid=None, carried=carried, unstated=lambda end: ()),
         whole=Made(design=Made(aircraft=Made(feed=feed))),
        _worst_for=lambda piping, engine, sources, pressure: (("a",), CRUISE),
    )  # fmt: skip
    engine: Any = Made(inlet_pressure_pa=5e3)
    found: list[Any] = list(statewise._State._engine(one, "engine", engine))  # type: ignore[arg-type]
    assert sum(type(each).__name__ == "Missing" for each in found) == missing
    fed = [each.fed for each in found[missing:]]
    assert [each.kind for each in fed] == ["pumped" if some else "gravity" for some in sets for _ in range(2)]
    # By a pump a quarter more, by gravity half as much again, and what is sent back.
    wanted = [(some, flow) for some in sets for flow in (4.0, 2.0)]
    assert [(some, pressure) for some, _, pressure in asked] == [(some, 5e3) for some, _ in wanted]
    needs = [statewise.required_flow_m3_s(flow, "pump" if some else "gravity", 1.0) for some, flow in wanted]
    assert [needed for _, needed, _ in asked] == pytest.approx(needs)
    engine.inlet_pressure_pa = None
    asked.clear()
    list(statewise._State._engine(one, "engine", engine))  # type: ignore[arg-type]
    assert {pressure for _, _, pressure in asked} <= {0.0}


def test_the_tanks_and_the_attitude_with_the_least_flow(monkeypatch: pytest.MonkeyPatch) -> None:
    a, b = PortEnd("a", "out"), PortEnd("b", "out")
    flows = {
        ((a,), PARKED): 3.0,
        ((a,), CRUISE): 2.0,
        ((b,), PARKED): 1.0,
        ((b,), CRUISE): 4.0,
        ((a, b), PARKED): 6.0,
        ((a, b), CRUISE): 5.0,
    }
    asked: list[Any] = []
    monkeypatch.setattr(statewise, "_between", lambda piping, kept: frozenset())

    def carried(piping: Any, engine: Any, usual: float, pressure: float, chosen: Any, attitude: Any) -> Any:
        asked.append(usual)
        return Made(flow_m3_s=flows[chosen, attitude], pressure_pa=None)

    one = flying_state(solving=Made(carried=carried, attitudes=lambda engine, chosen: (PARKED, CRUISE)))
    piping: Any = Made(running=frozenset())
    assert statewise._State._worst_for(one, piping, "engine", (a, b), 5e3) == ((b,), PARKED)  # type: ignore[arg-type]
    assert {key[1]: value for key, value in one.worst.items()} == {
        (a,): ((a,), CRUISE),
        (b,): ((b,), PARKED),
        (a, b): ((a, b), CRUISE),
    }
    assert set(asked) == {statewise.required_flow_m3_s(4.0, "pump", 1.0)}
    many = len(asked)
    statewise._State._worst_for(one, piping, "engine", (a, b), 5e3)  # type: ignore[arg-type]
    assert len(asked) == many + 3


@pytest.mark.parametrize(
    ("inlets", "open_ones", "wanted"), [((), (), []), (("in",), (), [4.5, 3.5]), (("in",), ("in",), [4.5, 3.5])]
)
def test_what_a_tank_that_others_fill_needs(
    monkeypatch: pytest.MonkeyPatch, inlets: Any, open_ones: Any, wanted: list[float]
) -> None:
    """At take-off the flow, else half as much again, and half a unit that is sent back elsewhere; the least that comes counts."""
    monkeypatch.setattr(statewise, "Piping", lambda network, fluid: None)
    monkeypatch.setattr(statewise, "sources_of", lambda layout, end: (PortEnd("a", "out"), PortEnd("b", "out")))
    solving = Made(layout=Made(network=None), fluid=None, lost_by_return_m3_s=lambda end: 0.5, attitudes=lambda end, chosen: (PARKED,
     CRUISE),
                   unstated=lambda end: ("fine",))  # fmt: skip
    flow = {PARKED: 2.0, CRUISE: 1.0}
    one = flying_state(solving=solving, whole="whole", _inlets=lambda layout, tank: inlets if layout == "whole" else open_ones,
                       _coming=lambda piping, ends, chosen, attitude: Made(flow_m3_s=flow[attitude] * len(chosen)))  # fmt: skip
    found = [each.fed for each in statewise._State._filled(one, "main")]
    assert [each.needed_m3_s for each in found] == pytest.approx(wanted)
    assert [[at.flow_m3_s for at in each.at] for each in found] == [[1.0] if open_ones else []] * len(wanted)


@pytest.mark.parametrize(
    ("out", "wanted"),
    [({"in": 2.0, "two": 3.0}, 5.0), ({"in": 2.0, "two": -1.0}, 2.0), ({"in": -2.0, "two": -1.0}, 0.0), ({"in": 2.0, "two": -1e-13}, 2.0),
    (None, 0.0)],
)  # fmt: skip
def test_what_comes_by_all_inlets_at_once(out: Any, wanted: float) -> None:
    asked: list[Any] = []

    def solve(given: Any, drawn: Any, usual: float) -> Any:
        asked.append((given, usual))
        return None if out is None else Made(out_of=lambda node: out[node[0]])

    solving = Made(
        head_pa=lambda level, attitude: level * 7e3,
        level_m=lambda end, attitude: 2.0,
        given_pa=lambda chosen, attitude: {"a": 1.0},
    )
    found = statewise._State._coming(
        flying_state(solving=solving), Made(solved=solve), ("in", "two"), (PortEnd("a", "out"),), CRUISE
    )  # type: ignore[arg-type]
    assert (found.flow_m3_s, found.tanks) == (pytest.approx(wanted), ("a",))
    assert asked[0] == ({"a": 1.0, ("in", ""): 14e3, ("two", ""): 14e3}, 4.0)


# --- tanks in flight, settings


def at_rest(name: str, rank: Any) -> TankInFlight:
    drowned: Any = None if rank is None else Made(rank=lambda density: rank)
    return TankInFlight(name, 0.0, CRUISE, drowned, None, ())


@pytest.mark.parametrize(
    ("settings", "open_rank", "set_rank", "words", "unsettled"),
    [
        (None, (True, 1.0), (True, 9.0), "", True), ((), (True, 1.0), (True, 9.0), "", False), ((True,), (True, 1.0), (True, 1.1),
         "s on a", False),
        ((True,), (True, 1.0), (True, 1.0), "", False), ((True,), None, (False, 0.1), "s on a", False), ((True,), (True, 1.0), None, "",
         False),
        ((False,), (True, 1.0), (True, 9.0), "", False), ((True,), (True, 1.0), (False, 9.0), "", False),
    ],
)  # fmt: skip
def test_the_setting_in_which_a_vent_drowns_deepest(
    monkeypatch: pytest.MonkeyPatch, settings: Any, open_rank: Any, set_rank: Any, words: str, unsettled: bool
) -> None:
    def flying(layout: Any, whole: Any, full: Any) -> Any:
        assert whole is drawn
        return Made(found=InFlight((), (at_rest("a", open_rank if layout is drawn else set_rank),)))

    drawn: Any = Made(design=Made(fuel=Made(density_kg_m3=700.0)))
    monkeypatch.setattr(in_flight, "_Flying", flying)
    monkeypatch.setattr(in_flight, "as_set", lambda layout, setting: "set")
    monkeypatch.setattr(in_flight, "_filled_then", lambda *given: {})
    chosen: Any = None if settings is None else tuple(Made(shut=shut, words="s on a") for shut in settings)
    found = in_flight.in_flight(drawn, {}, chosen)
    assert (found.tanks[0].setting, found.unsettled) == (words, unsettled)


@pytest.mark.parametrize(("same", "told"), [(True, "as before"), (False, "anew")])
def test_tanks_are_filled_anew_where_a_vent_leads_elsewhere(
    monkeypatch: pytest.MonkeyPatch, same: bool, told: str
) -> None:
    monkeypatch.setattr(in_flight, "_out", lambda layout, tank: 1 if same or layout == "set" else 2)
    monkeypatch.setattr(
        in_flight, "filled", lambda layout, tank, ground: "anew" if layout == "set" and ground is PARKED else "wrong"
    )
    layout: Any = Made(design=Made(normal=lambda phase: PARKED), tanks=[Made(name="a")])
    assert in_flight._filled_then(layout, "set", {"a": "as before"}) == {"a": told}  # type: ignore[arg-type,dict-item]


@pytest.mark.parametrize(
    ("part", "lines", "told"),
    [
        (Valve.model_construct(name="v"), "ab", {"": "", "v shut": "ab"}), (Valve.model_construct(name="v"), "abc", {"": "",
         "v shut": "abc"}),
        (Selector.model_construct(name="s", both=False, switches_return=None), "a", {"": "", "s off": "a"}),
        (Selector.model_construct(name="s", both=False, switches_return=None), "aco", {"s on a": "c", "s on c": "a"}),
        (Selector.model_construct(name="s", both=True, switches_return=None), "aco", {"s on a": "c", "s on c": "a", "s on all": ""}),
        # Returns alone: the positions are the lines that leave; two that come in on the feed and one return: it goes with its tank.
        (Selector.model_construct(name="s", both=False, switches_return=None), "rx", {"s to r": "x", "s to x": "r"}),
        (Selector.model_construct(name="s", both=False, switches_return=None), "r", {"": "", "s off": "r"}),
        (Selector.model_construct(name="s", both=False, switches_return=None), "acr", {"s on a": "cr", "s on c": "ar"}),
        (Selector.model_construct(name="s", both=False, switches_return=False), "acr", {"s on a": "c", "s on c": "a"}),
        (Selector.model_construct(name="s", both=False, switches_return=None), "arx", {"": "", "s off": "arx"}),
        (Selector.model_construct(name="s", both=False, switches_return=None), "v", {"": ""}),
    ],
)  # fmt: skip
def test_the_positions_of_a_part(monkeypatch: pytest.MonkeyPatch, part: Any, lines: str, told: dict[str, str]) -> None:
    """Lines a, b and c come in on the feed, o leaves on it, returns r and x leave, v is a vent's."""
    here = ComponentEnd(part.name)
    kinds = {"r": "return", "x": "return", "v": "vent"}
    drawn = [
        Made(
            name=one,
            kind=kinds.get(one, "feed"),
            start=here if one in "orx" else one,
            end=one if one in "orx" else here,
        )
        for one in lines
    ]
    monkeypatch.setattr(states, "_goes_back", lambda network, line, end: False)
    monkeypatch.setattr(states, "_named", lambda network, line: line.name)
    monkeypatch.setattr(states, "_leads_to", lambda network, line: line.name)
    found = states._settings(Made(lines_at=lambda end: drawn), part)  # type: ignore[arg-type]
    assert {words: "".join(sorted(shut)) for words, shut in found} == told
