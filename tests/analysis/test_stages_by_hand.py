"""Stages and places of marks by hand, on what is made up: orders, ranks, the worst combination, why a place does not serve."""

from __future__ import annotations

from collections import Counter
from math import cos, inf, nan, sin
from types import SimpleNamespace as Made
from typing import Any

import numpy as np
import pytest

from fuelsys.analysis.flights import failures
from fuelsys.analysis.sweeping import place_search, stages, sweeps
from fuelsys.analysis.tank import dipstick, drill, switches
from fuelsys.errors import QuestionError
from fuelsys.model.found.place import PlaceFound
from fuelsys.model.stated.attitude import Attitude

CRUISE, CLIMB = Attitude("cruise", "flight", normal=True), Attitude("climb", "flight", 0.1)
P = stages._Placing


def placing(bands: tuple[float, ...] = (60.0, 120.0), **more: Any) -> Any:
    searches = [
        Made(target_s=600.0 * (k + 1), between_s=lambda place, k=k: bands[k] * place, places=[])
        for k in range(len(bands))
    ]
    one = Made(**({"searches": searches, "flight": [CRUISE, CLIMB], "asked": Made(plate=False)} | more))
    for name in ("_rank_of", "_out_of_order", "_order_against"):
        if not hasattr(one, name):
            setattr(one, name, getattr(P, name).__get__(one))
    return one


@pytest.mark.parametrize(
    ("row", "rank"),
    [((1.0, 1.0), (0, 20, 180.0)), ((2.0, 1.0), (0, 20, 240.0)), ((1.0, None), (1, 10, 60.0)), ((None, None), (2, 0, 0.0)), ((1.0, 1.02),
    (0, 20, 182.4)), ((1.0, 1.03), (0, 21, 183.6))],
)  # fmt: skip
def test_the_rank_of_places(row: Any, rank: Any) -> None:
    assert P._rank_of(placing(), row) == (*rank[:2], pytest.approx(rank[2]))


@pytest.mark.parametrize(
    ("sooner", "later", "wrong"),
    [
        # Low by the tolerance in the densest and lightest fuel, then high by it: the sooner one's least must be no less than the other's
        # most.
        ((5.0, 6.0, 7.0, 8.0), (1.0, 2.0, 5.0, 6.0), False), ((5.0, 6.0, 7.0, 8.0), (1.0, 2.0, 5.1, 6.0), True), ((5.0, 6.0, 7.0, 8.0),
        (1.0, 2.0, 5.0, 6.1), True),
        ((5.0, nan, 7.0, 8.0), (1.0, 2.0, 3.0, 4.0), True), ((5.0, 6.0, 7.0, 8.0), (1.0, 2.0, 3.0, 4.0), False),
    ],
)  # fmt: skip
def test_marks_that_may_trip_in_the_wrong_order(sooner: Any, later: Any, wrong: bool) -> None:
    fine = {"sooner": (9.0,) * 4, "later": (0.0,) * 4}
    told = {"sooner": [fine["sooner"], sooner], "later": [fine["later"], later]}
    one = placing(both=lambda search, place: told[search])
    found = P._out_of_order(one, ("sooner", None), ("later", None))  # type: ignore[arg-type]
    assert found == (f"it and another stage may trip in the wrong order at {CLIMB.text}" if wrong else "")


@pytest.mark.parametrize(("k", "asked"), [(1, [(2, 1), (1, 0)]), (0, [(1, 0), (2, 0)]), (2, [(2, 0), (2, 1)])])
def test_a_mark_is_held_against_longer_and_shorter_targets(k: int, asked: list[Any]) -> None:
    """Targets of 10, 20 and 30 minutes: the longer one of each pair trips first."""
    done: list[Any] = []
    one = placing((1.0, 1.0, 1.0))
    names = {id(search): n for n, search in enumerate(one.searches)}
    one._out_of_order = lambda first, second: done.append((names[id(first[0])], names[id(second[0])])) or ""
    chosen: Any = [None if n == k else n + 1.0 for n in range(3)]
    assert P._order_against(one, k, 9.0, chosen) == ""  # type: ignore[arg-type]
    assert sorted(done) == sorted(asked)
    one._out_of_order = lambda first, second: "wrong"
    assert P._order_against(one, k, 9.0, chosen) == "wrong"  # type: ignore[arg-type]
    assert P._order_against(one, k, 9.0, [None] * 3) == ""  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("against", "beside", "order", "best", "fell"),
    [("", "", "", "p0", {}), ("roof", "", "", "p1", {"roof": 1}), ("", "near", "", "p1", {"near": 1}), ("", "", "order", "p1",
     {"order": 1}), ("roof", "near", "order", "p1", {"roof": 1})],
)  # fmt: skip
def test_the_best_place_beside_those_that_stand(
    against: str, beside: str, order: str, best: str, fell: dict[str, int]
) -> None:
    def says(why: str, place: Any) -> str:
        return why if place == "p0" else ""

    one = placing(
        ranked=[["p0", "p1", "p2"], []], against=lambda s, place: says(against, place), _order_against=lambda k, place,
         chosen: says(order, place),
        rooms={600.0: Made(against_others=lambda place, others: says(beside, place)), 1200.0: None},
    )  # fmt: skip
    one.searches[0].places = [Made(z_m=None, why_not="no height"), Made(z_m=1.0, why_not="")]
    over: Counter[str] = Counter()
    assert P._best(one, 0, [None, 1.0], over) == best  # type: ignore[arg-type,list-item,comparison-overlap]
    assert over == {"no height": 1, **fell}
    one.ranked[0] = ["p0"]
    assert (P._best(one, 0, [None, None], over) is None) is bool(fell)


@pytest.mark.parametrize(
    ("held", "far", "least", "at"),
    [
        ({"a": 3.0, "b": 2.0, "c": 4.0}, "", 2.0, "b"), ({"a": 3.0, "b": nan, "c": 1.0}, "", nan, "b"), ({"a": 3.0, "b": 2.0, "c": 1.0},
         "b", nan, "b"),
        ({"a": 3.0, "b": 3.0, "c": 3.0}, "", 3.0, "a"),
    ],
)  # fmt: skip
def test_the_least_at_a_trip_over_the_combinations(
    monkeypatch: pytest.MonkeyPatch, held: Any, far: str, least: float, at: str
) -> None:
    lows: list[float] = []
    monkeypatch.setattr(
        stages, "held", lambda drained, trips, low: lows.append(low) or np.array([[held[drained]], [9.0]])
    )
    search: Any = Made(built=Made(low_m=0.003, switch=Made(too_far=lambda up: up == far)))
    one = placing(
        _trips_m=lambda search, place: "trips", _combinations=[(Made(name=name, up=name), name) for name in "abc"]
    )
    found, attitude = P._combined(one, search, 1.0)  # type: ignore[arg-type]
    assert (found, attitude and attitude.name) == (pytest.approx(least, nan_ok=True), at)
    assert set(lows) == {0.003}


@pytest.mark.parametrize(("least", "left"), [(5.0, 3.5), (nan, None)])
def test_what_is_told_of_a_stage(monkeypatch: pytest.MonkeyPatch, least: float, left: Any) -> None:
    """At two attitudes 1 and 2, then 2 and 4 at the trip: 3 apart. Of 5 at the worst combination 3 are kept, of 1.5 that count."""
    told = {"one": [[1.0], [2.0]], "two": [[2.0], [4.0]]}
    monkeypatch.setattr(stages, "held", lambda drained, trips: np.array(told[drained]))
    monkeypatch.setattr(stages, "replace", lambda stage, **more: Made(**more))
    search: Any = Made(target_s=600.0, left_s=lambda held: held, unusable_m3=1.5)
    one = placing(
        drained=["one", "two"], _trips_m=lambda search, place: None, _combined=lambda search, place: (least, CLIMB), _worst_combined_m3=3.0,
        rooms={600.0: Made(above_m=lambda place: 0.25)},
    )  # fmt: skip
    found: Any = P._told(one, Made(search=search), 1.0)  # type: ignore[arg-type]
    assert (found.stem_m, found.plain_m3, found.combined_s, found.combined_at) == (0.25, 3.0, left, CLIMB)


@pytest.mark.parametrize(
    ("plate", "line", "apart", "told"),
    [(True, (1.0, 1.0), (2.0, 2.0), None), (False, (1.0, 1.0), (2.0, 2.0), 120.0), (False, (2.0, 2.0), (1.0, 1.0), None), (False, (1.0,
     1.0), (1.0, 1.0), None), (False, (1.0, None), (2.0, 2.0), None),
     (False, (1.0, 1.0), (1.0, None), 120.0)],
)  # fmt: skip
def test_one_line_that_is_narrower(plate: bool, line: Any, apart: Any, told: float | None) -> None:
    one = placing(asked=Made(plate=plate), _on_a_plate=(list(line), []), _apart=(list(apart), []))
    assert P.narrower_on_a_plate_s(one) == told


def test_all_marks_on_the_best_line() -> None:
    """Lines of which the first lacks a height, the second is narrowest and against a roof, the third is taken."""

    def place(z_m: float | None, band: float) -> Any:
        return Made(z_m=z_m, band=band, why_not="no height" if z_m is None else "")

    rows = [(place(1.0, 1.0), place(None, 1.0)), (place(1.0, 3.0), place(1.0, 3.0)), (place(1.0, 2.0), place(1.0, 2.0))]
    one = placing(
        _rank_of=lambda row: sum(each.band for each in row),
        _against_line=lambda row: iter(["roof"] if row[0].band == 2.0 else []),
    )
    for k, search in enumerate(one.searches):
        search.places = [row[k] for row in rows]
    chosen, fell = P._on_a_plate.func(one)  # type: ignore[attr-defined]
    assert tuple(chosen) == rows[1]
    assert fell == [{"20 min: no height": 1, "roof": 1}] * 2
    one._against_line = lambda row: iter(["roof"])
    none, fell = P._on_a_plate.func(one)  # type: ignore[attr-defined]
    assert none == [None, None]
    assert fell[0] == {"20 min: no height": 1, "roof": 2}


@pytest.mark.parametrize(
    ("against", "order", "told"),
    [("", "", []), ("roof", "", ["10 min: roof", "20 min: roof"]), ("", "wrong", ["10 min: wrong"])],
)
def test_what_is_against_a_line(against: str, order: str, told: list[str]) -> None:
    one = placing(against=lambda target_s, place: against, _out_of_order=lambda first, second: order)
    assert list(P._against_line(one, (1.0, 1.0))) == told  # type: ignore[arg-type]


# --- places


def row(**more: Any) -> Any:
    built = Made(low_m=0.01, switch=Made(too_far=lambda up: ""))
    tank = Made(cavity=Made(clearance_m=lambda at: 0.05), body_m=np.array)
    return Made(**({"built": built, "tank": tank, "flight": (CRUISE, CLIMB), "target_m3": 2.0} | more))


@pytest.mark.parametrize(
    ("heights", "held", "within", "why"),
    [
        ([1.0, 2.0], [[3.0, 2.0], [4.0, 5.0]], True, ""), ([1.0, inf], [[3.0, 2.0], [4.0, 5.0]], True,
         "no height leaves the target at climb"),
        ([1.0, 2.0], [[3.0, 2.0], [4.0, 5.0]], False, "stands in the roof or a body"), ([1.0, 2.0], [[3.0, nan], [4.0, 5.0]], True,
         "is never passed at climb"),
        ([1.0, 2.0], [[3.0, 2.0 * (1.0 - 2e-9)], [4.0, 5.0]], True, "leaves less than the target at climb"), ([1.0, 2.0], [[3.0,
         2.0 * (1.0 - 0.5e-9)], [4.0, 5.0]], True, ""),
    ],
)  # fmt: skip
def test_why_a_place_does_not_serve(heights: Any, held: Any, within: bool, why: str) -> None:
    one = row()
    found = place_search._Row._found(one, np.array([0.1, 0.2]), 0.3, np.array(heights), np.array(held), within)  # type: ignore[arg-type]
    assert (found.z_m is None) is bool(why)
    assert why in found.why_not
    if not why:
        assert found == PlaceFound(0.1, 0.2, 0.3, held[0][1], 5.0, CLIMB, CLIMB, 0.05)
    one.built.switch.too_far = lambda up: "too far over" if up is CLIMB.up or np.array_equal(up, CLIMB.up) else ""
    assert (
        place_search._Row._found(one, np.array([0.1, 0.2]), 0.3, np.array(heights), np.array(held), within).why_not
        == f"at {CLIMB.text} it is too far over"
    )  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("low_m", "upright", "allowance"),
    [(0.01, 1.0, 0.01), (0.01, 0.5, 0.02), (0.01, 0.0, inf), (0.01, -0.5, inf), (0.0, -0.5, 0.0)],
)
def test_what_a_tolerance_asks_along_the_mesh(low_m: float, upright: float, allowance: float) -> None:
    one = row()
    one.built.low_m = low_m
    assert place_search._Row._allowance_m(one, upright) == allowance


@pytest.mark.parametrize(
    ("spacing", "tilt", "told"),
    [(0.25, 0.0, 5 * 3), (0.24, 0.0, 5 * 3), (0.0, 0.0, "makes no grid"), (-0.1, 0.0, "makes no grid"), (0.25, 1.04, 5 * 3), (0.25, 1.05,
     "does not point up"), (0.002, 0.0, "places"), (0.7, 0.0, 1)],
)  # fmt: skip
def test_the_places_of_a_grid(spacing: float, tilt: float, told: Any) -> None:
    """A tank of a metre by half of one about its middle: whole multiples of a quarter."""
    turn = np.array([[1.0, 0.0, 0.0], [0.0, cos(tilt), -sin(tilt)], [0.0, sin(tilt), cos(tilt)]])
    corners = np.array([[-0.5, -0.25, 0.0], [0.5, 0.25, 0.3]])
    tank: Any = Made(
        name="a", turn=turn, mesh_m=lambda at: at, cavity=Made(vertices_m=corners - 1.0, centre_m=np.ones(3))
    )
    layout: Any = Made(file="design.toml", design=Made(show=Made(length="mm")))
    if isinstance(told, str):
        with pytest.raises(QuestionError, match=told):
            place_search._rows(layout, tank, spacing)
        return
    found = place_search._rows(layout, tank, spacing)
    assert sum(len(one) for one in found) == told
    if spacing == 0.25:
        assert (found[0][0].tolist(), found[-1][-1].tolist(), len(found)) == ([-0.5, -0.25], [0.5, 0.25], 3)


def test_marks_in_a_stretch_of_their_lines() -> None:
    stretches: Any = Made(line=np.array([0, 0, 1]), from_m=np.array([0.0, 0.5, 0.2]), to_m=np.array([0.2, 0.7, 0.4]))
    for z_m, wanted in (
        (0.0, [True, False]),
        (0.2, [True, True]),
        (0.3, [False, True]),
        (0.5, [True, False]),
        (0.7, [True, False]),
        (0.71, [False, False]),
    ):
        assert place_search._within(stretches, np.array([z_m, z_m])).tolist() == wanted


@pytest.mark.parametrize(("high_m", "above"), [(None, 0.01), (0.02, 0.02), (0.0, 0.0)])
def test_what_is_held_low_and_high(monkeypatch: pytest.MonkeyPatch, high_m: float | None, above: float) -> None:
    monkeypatch.setattr(place_search, "seeds_below", lambda tilted, at: np.arange(len(at)))
    asked: list[Any] = []
    tilted = Made(up=np.array([0.0, 0.0, 1.0]))
    drained: Any = Made(
        tilted=tilted, held=lambda seeds, levels, states: asked.append((seeds.tolist(), states)) or levels
    )
    found = place_search.held(drained, np.array([[0.0, 0.0, 1.0], [0.0, 0.0, 2.0]]), 0.01, high_m)
    assert found == pytest.approx(np.array([[0.99, 1.99], [1.0 + above, 2.0 + above]]))
    assert asked == [([0, 1, 0, 1], [0, 0, 1, 1])]


# --- what goes wrong from the first, marks on a drill sheet, sticks that hang


@pytest.mark.parametrize("stated", [True, False])
def test_failures_are_flown_from_the_first(monkeypatch: pytest.MonkeyPatch, stated: bool) -> None:
    asked: list[Any] = []
    monkeypatch.setattr(failures, "World", Made(of=lambda layout: "world"))
    monkeypatch.setattr(failures, "fly", lambda world: "usual")
    monkeypatch.setattr(failures, "_default", lambda layout: ("by default",))
    monkeypatch.setattr(failures, "failures", lambda *given: asked.append(given[:3]) or ["one"])
    monkeypatch.setattr(failures, "failures_together", lambda *given: asked.append(given[:3]) or (["two"], 3))
    found = failures.all_failures(Made(design=Made(flight=(1,) if stated else ())))  # type: ignore[arg-type]
    assert asked == [("world", "usual", 0.0)] * 2
    assert (found.basis, found.usual, found.single, found.together, found.more) == (
        ("the flight stated",) if stated else ("by default",), "usual", ("one",), ("two",), 3,
    )  # fmt: skip


@pytest.mark.parametrize(
    ("target", "off", "found"), [(4.9, 0.0, True), (5.0, 0.0, False), (5.1, 0.0, False), (4.9, 1e-9, False)]
)
def test_a_mark_that_feels_attitudes_least_lies_in_the_tank(
    monkeypatch: pytest.MonkeyPatch, target: float, off: float, found: bool
) -> None:
    monkeypatch.setattr(switches, "steady_point_m", lambda tank, attitude, target: np.ones(3))
    tank: Any = Made(cavity=Made(gross_m3=5.0, spot=lambda name, at: Made(off_m=off)), body_m=lambda at: at)
    told = switches._steady_m(Made(design=Made(normal=lambda phase: CRUISE)), tank, target)  # type: ignore[arg-type]
    assert (told is not None) is found


@pytest.mark.parametrize(
    ("target_s", "rise_m", "trips", "alone", "least", "told"),
    [
        (None, None, True, 1.0, 1.0, "needs its target"), (600.0, "unknown", True, 1.0, 1.0, "needs an outlet"), (600.0, 0.1, True, 1.0,
         1.0, ""),
        (600.0, None, False, 1.0, 1.0, "it never trips"), (600.0, None, True, 10.0, 10.0, ""), (600.0, None, True, 9.9, 10.0,
         "warns too late"),
        (600.0, None, True, 10.0, 9.9, "warns too late"), (600.0, None, True, None, None, ""), (600.0, None, True, 10.0 - 1e-9, 10.0, ""),
        (600.0, 0.0, True, 1.0, 1.0, ""),
    ],
)  # fmt: skip
def test_a_switch_s_place_that_is_not_one_to_drill(
    target_s: Any, rise_m: Any, trips: bool, alone: Any, least: Any, told: str
) -> None:
    study = Made(rise_m=rise_m, worst=Made(latest_m3=1.0) if trips else None, alone_minutes=lambda held: alone,
     least_minutes=lambda held: least,
                 outflow=Made(to=("b",)))  # fmt: skip
    found = drill._doubt(Made(target_s=target_s), None if rise_m == "unknown" else study)  # type: ignore[arg-type]
    assert (told in str(found), bool(found)) == (True, bool(told))
    study.outflow.to = ()
    if told == "warns too late" and alone == 10.0:
        assert drill._doubt(Made(target_s=target_s), study) == ""  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("crossed", "off", "hangs"),
    [
        ([0.9, 0.7, 1.5], 0.0, 0.1),
        ([1.0 + 1e-12, 0.7], 0.0, 0.0),
        ([], 0.0, 0.0),
        ([1.5], 0.0, 0.0),
        ([0.9], 0.1, 0.0),
        ([0.4], 0.0, 0.6),
    ],
)
def test_how_far_a_stick_hangs(monkeypatch: pytest.MonkeyPatch, crossed: list[float], off: float, hangs: float) -> None:
    monkeypatch.setattr(dipstick, "Tilted", Made(of=lambda cavity, along: None))
    monkeypatch.setattr(dipstick, "levels_crossed", lambda tilted, at: [crossed])
    tank: Any = Made(cavity=Made(centre_m=np.zeros(3), spot=lambda name, at: Made(off_m=off)))
    found = dipstick._hangs_m(tank, np.array([0.0, 0.0, 1.0]), np.array([0.0, 0.0, 1.0]))
    assert found == pytest.approx(hangs, abs=1e-9)


def test_threads_that_are_left_wait_for_nothing(monkeypatch: pytest.MonkeyPatch) -> None:
    ended: list[Any] = []
    monkeypatch.setattr(
        sweeps, "ThreadPoolExecutor", lambda workers: Made(workers=workers, shutdown=lambda **more: ended.append(more))
    )
    with sweeps.threads(1) as none:
        assert none is None
    with sweeps.threads(3) as some:
        assert some is not None
        assert ended == []
    assert ended == [{"cancel_futures": True}]
