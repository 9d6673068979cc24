"""Rules on twins, sticks, pumps, selectors and what stands in a line by hand, on what is made up; and the room about a float."""

from __future__ import annotations

from types import SimpleNamespace as Made
from typing import Any

import numpy as np
import pytest
from rule_cases import plain

from fuelsys.analysis.sweeping import rooms
from fuelsys.model.found.findings import Outcome
from fuelsys.model.stated.attitude import Attitude
from fuelsys.model.stated.components import Engine
from fuelsys.rules import severity, shared
from fuelsys.rules.plumbing import components, failing, in_flight, interconnect, one_opening, pumps, vent_line
from fuelsys.rules.plumbing import returns as returned
from fuelsys.rules.tanks import capacity, dipstick, measured, twins
from fuelsys.rules.words import said

PASS, FAIL, CAUTION = Outcome.PASS, Outcome.FAIL, Outcome.CAUTION
NOT_CHECKED, NOT_ASKED = Outcome.NOT_CHECKED, Outcome.NOT_APPLICABLE
CRUISE, PARKED = Attitude("cruise", "flight", normal=True), Attitude("parked", "ground", normal=True)


def tank(name: str = "left", litres: float = 50.0, at: Any = (1.0, -2.0, 3.0), **more: Any) -> Any:
    """A tank by what it holds as it counts, where it stands, and its tests."""
    given: dict[str, Any] = {
        "unit": "mm",
        "corrected": None,
        "as_twin": None,
        "share_by_test": 1.0,
        "fittings": {},
        "switch": [],
        "dipstick": None,
    } | more
    design = Made(
        unit=given["unit"], ports=(1,), fittings=given["fittings"], switch=given["switch"], dipstick=given["dipstick"]
    )
    cavity = Made(gross_m3=litres / 1e3, centre_m=np.array(at))
    return Made(name=name, design=design, cavity=cavity, corrected=given["corrected"], as_twin=given["as_twin"],
     share_by_test=given["share_by_test"],
                body_m=np.array, mesh_m=np.array)  # fmt: skip


RIGHT = (1.0, 2.0, 3.0)


# --- twins


@pytest.mark.parametrize(
    ("one", "two", "pair"),
    [
        ("left", "right", True),
        ("Left wing", "right wing", True),
        ("left", "left", False),
        ("main", "main", False),
        ("lh", "rh", True),
        ("l", "right", False),
    ],
)
def test_a_pair_by_names(one: str, two: str, pair: bool) -> None:
    assert twins._by_name(tank(one), tank(two)) is pair


@pytest.mark.parametrize(
    ("litres", "at", "pair"),
    [(50.0, RIGHT, True), (47.51, RIGHT, True), (47.4, RIGHT, False), (52.62, RIGHT, True), (52.64, RIGHT, False), (50.0, (1.05, 2.0, 3.0),
     True), (50.0, (1.051, 2.0, 3.0), False),
     (50.0, (1.0, -2.0, 3.0), False), (50.0, (1.0, 2.0, 3.051), False)],
)  # fmt: skip
def test_a_pair_by_places(litres: float, at: Any, pair: bool) -> None:
    # Within 5 % of the larger, middles that mirror one another within 50 mm.
    at = tuple(c - 1e-12 * np.sign(c - r) for c, r in zip(at, RIGHT, strict=True))
    assert twins._by_place(tank(), tank("tip", litres, at)) is pair


def told(one: Any, two: Any) -> list[str]:
    return [plain(said(evidence)) for evidence, _ in twins._tanks(one, two)]


def test_what_differs_between_twins_as_a_whole() -> None:
    assert told(tank(), tank("right", 50.0, RIGHT)) == []
    assert told(tank(), tank("right", 50.0, RIGHT, unit="in")) == ["the units of their meshes are mm and in"]
    assert told(tank(), tank("right", 49.76, RIGHT)) == []  # half a per cent
    assert told(tank(), tank("right", 49.0, RIGHT)) == ["they hold 50.00 L and 49.00 L, 2.0 % apart"]
    assert told(tank(litres=49.0), tank("right", 50.0, RIGHT)) == ["they hold 49.00 L and 50.00 L, 2.0 % apart"]
    by = Made(drawn=Made(gross_m3=0.05))
    assert told(tank(), tank("right", 49.0, RIGHT, corrected=by)) == [
        "they hold 50.00 L and 49.00 L, 2.0 % apart, right as measured"
    ]
    # Off its mirror image: each way that is more than a tenth of a millimetre.
    assert told(tank(), tank("right", 50.0, (1.0009, 2.0, 3.0))) == []
    assert told(tank(), tank("right", 50.0, (1.002, 1.99995, 2.99))) == [
        "right stands off the mirror image of left by 2.0 mm aft, 10.0 mm down"
    ]
    assert told(tank(), tank("right", 50.0, (0.998, 2.005, 3.01))) == [
        "right stands off the mirror image of left by 2.0 mm forward, 5.0 mm to the right, 10.0 mm up"
    ]
    assert told(tank(), tank("right", 50.0, (1.0, 1.995, 3.0))) == [
        "right stands off the mirror image of left by 5.0 mm to the left"
    ]


@pytest.mark.parametrize(
    ("one", "two", "told_of"),
    [
        # One was measured and holds another quantity than the other's drawing.
        ((49.0, 50.0), (50.0, None), "right"), ((50.0, None), (49.0, 50.0), "left"), ((49.8, 50.0), (50.0, None), ""), ((50.0, None),
        (50.0, None), ""),
        ((49.0, 50.0), (48.0, 50.0), ""), ((49.0, 50.0), (40.0, None), ""),
    ],
)  # fmt: skip
def test_the_twin_that_was_not_measured(one: Any, two: Any, told_of: str) -> None:
    def made(name: str, held: Any, at: Any) -> Any:
        return tank(name, held[0], at, corrected=None if held[1] is None else Made(drawn=Made(gross_m3=held[1] / 1e3)))

    assert twins._untested(made("left", one, (1.0, -2.0, 3.0)), made("right", two, RIGHT)) == told_of


def test_a_twin_that_counts_as_small_as_the_other() -> None:
    by = Made(drawn=Made(gross_m3=0.05))
    measured_one = tank(litres=48.0, corrected=by)
    like = tank("right", 48.0, RIGHT, as_twin=Made(twin="left", share=0.96), share_by_test=0.96)
    (found,) = twins._as_twin(measured_one, like)
    assert found[0] == "right was not measured and counts as its twin left, 4.0 % smaller than drawn"
    (found,) = twins._as_twin(like, measured_one)
    assert found[0].startswith("right was not")
    assert list(twins._as_twin(measured_one, tank("right", 50.0, RIGHT))) == []
    given: Any = Made(layout=Made(tanks=[measured_one, like]))
    (verdict,) = twins.mirror_tanks_differ.judge(given)
    assert (verdict.outcome, plain(verdict.mend).startswith("Fill right too")) == (CAUTION, True)
    given.layout.tanks = [tank(), tank("right", 50.0, RIGHT)]
    (verdict,) = twins.mirror_tanks_differ.judge(given)
    assert (verdict.outcome, plain(verdict.evidence)) == (
        PASS,
        "mirror images, 50.00 L each, with 0 fittings in the same places",
    )


def port(name: str, at: Any, bore_m: float | None = None) -> Any:
    return Made(name=name, position_m=at, bore_m=bore_m)


def fitted(name: str, *ports: Any, at: Any = (0.0, 0.0, 0.0), marks: Any = (), stick: Any = None) -> Any:
    return tank(
        name,
        50.0,
        at,
        fittings={"outlet": list(ports)},
        switch=[Made(name=one, mark_m=place) for one, place in marks],
        dipstick=stick,
    )


def test_fittings_are_held_about_their_tanks_middles() -> None:
    def between(one: Any, two: Any) -> list[str]:
        return [plain(said(evidence)) for evidence, _ in twins._fittings(one, two)]

    left = fitted("left", port("out", (1.1, -2.2, 3.3), 0.008), at=(1.0, -2.0, 3.0), marks=[("low", (1.0, -2.1, 3.0))])
    assert (
        between(left, fitted("right", port("out", (1.1, 2.2, 3.3), 0.008), at=RIGHT, marks=[("low", (1.0, 2.1, 3.0))]))
        == []
    )
    assert (
        between(
            left, fitted("right", port("out", (1.1, 2.2, 3.3009), 0.0081), at=RIGHT, marks=[("low", (1.0, 2.1, 3.0))])
        )
        == []
    )
    off = between(
        left, fitted("right", port("out", (1.1, 2.2, 3.302), 0.0082), at=RIGHT, marks=[("low", (1.0, 2.1, 3.0))])
    )
    assert off == ["outlet out sits 2.0 mm off its mirrored place", "outlet out is 8.0 mm and 8.2 mm wide"]
    assert between(left, fitted("right", port("out", (1.1, 2.2, 3.3), None), at=RIGHT)) == ["right has no switch low"]
    more = fitted(
        "right",
        port("out", (1.1, 2.2, 3.3), 0.008),
        port("b", (0.0, 0.0, 0.0)),
        at=RIGHT,
        marks=[("low", (1.0, 2.1, 3.0))],
    )
    assert between(left, more) == ["left has no outlet b"]
    stick = Made(top_m=(1.0, -2.0, 3.5), bottom_m=(1.0, -2.0, 2.5))
    with_stick = fitted("left", at=(1.0, -2.0, 3.0), stick=stick)
    assert [one.called for one in twins._all(with_stick)] == ["dipstick's top", "dipstick's bottom"]
    assert twins._all(with_stick)[0].local_m.tolist() == [0.0, 0.0, 0.5]


def test_the_fitting_of_the_other_tank_that_answers_to_one() -> None:
    def some(*names: str, kind: str = "vent") -> list[Any]:
        return [twins._Fitting(kind, name, np.zeros(3)) for name in names]

    own = some("left vent")[0]
    assert twins._counterpart(own, [own], some("a", "right vent")).name == "right vent"
    assert twins._counterpart(own, [own], some("LEFT vent", "a")).name == "LEFT vent"
    assert twins._counterpart(own, [own], some("a")).name == "a"
    assert twins._counterpart(own, [own, *some("b")], some("a")) is None
    assert twins._counterpart(own, [own], some("a", "b")) is None
    assert twins._counterpart(own, [own], some("left vent", kind="drain")) is None
    assert [some("vent")[0].called, some("front")[0].called, some("")[0].called] == ["vent", "vent front", "vent"]


# --- gauges, sticks, loads, measured


@pytest.mark.parametrize(
    ("kept_l", "marks_l", "step_l"),
    [
        (0.0, (2.0, 4.0, 6.0), 2.0),
        (0.0, (2.0, 6.0, 7.0), 1.0),
        (0.0, (2.0,), 0.0),
        (0.0, (), 0.0),
        (0.0, (6.0, 2.0), 4.0),
    ],
)
def test_the_least_step_of_a_stick(kept_l: float, marks_l: Any, step_l: float) -> None:
    stick: Any = Made(marks=[Made(volume_m3=one / 1e3) for one in marks_l])
    assert dipstick._step_m3(stick) == pytest.approx(step_l / 1e3)


@pytest.mark.parametrize(
    ("unseen_l", "step_l", "sees", "outcome", "words"),
    [
        # 1 L unusable: half a minute, 0.15 L, a step, or 3 L of ten minutes may be unseen; 9 L are a reserve.
        (1.15, 0.1, (), PASS, ""), (1.151, 0.1, (), CAUTION, "0.15 L of usable fuel, 1 min at cruise, are unseen"), (3.0, 2.0, (), PASS,
         ""), (3.001, 2.0, (), CAUTION, "7 min at cruise"),
        (4.0, 5.0, (), PASS, ""), (4.001, 5.0, (), CAUTION, "10 min"), (9.99, 2.0, (), CAUTION, "30 min at cruise, are unseen"), (10.01,
         2.0, (), FAIL, "are unseen, 30 min or more, and no gauge sees them"),
        (10.01, 2.0, (True,), CAUTION, "are unseen by it; g0 sees them"), (10.01, 2.0, (False,), FAIL, "no gauge sees them"), (0.5, 2.0,
        (), PASS, "dry with 0.50 L"),
    ],
)  # fmt: skip
def test_what_a_stick_does_not_see(unseen_l: float, step_l: float, sees: Any, outcome: Outcome, words: str) -> None:
    stick = Made(attitude=PARKED, unseen_m3=unseen_l / 1e3, marks=[Made(volume_m3=k * step_l / 1e3) for k in (1, 2)])
    one = Made(
        name="main",
        dipstick=stick,
        capacity=Made(unusable=Made(volume_m3=1e-3)),
        gauges=[Made(name=f"g{k}", sees_the_last=it) for k, it in enumerate(sees)],
    )
    study: Any = Made(tanks=[one], layout=Made(design=Made(reserve_flow_m3_s=5e-6, fuel=Made(reserve_phase="cruise"))))
    (verdict,) = dipstick.dipstick_blind.judge(study)
    assert (verdict.outcome, words in plain(verdict.evidence)) == (outcome, True), plain(verdict.evidence)
    assert verdict.cost.volume_m3 == pytest.approx(0.0 if outcome is PASS else (unseen_l - 1.0) / 1e3)


def test_what_was_measured_is_named_and_nothing_else() -> None:
    def judged(**more: Any) -> list[Any]:
        given: dict[str, Any] = {"corrected": None, "unusable": None, "trip": None, "flow": None} | more
        design = Made(measured_unusable_m3=given["unusable"], switch=[Made(name="low", measured_trip_m3=given["trip"])])
        one = Made(
            name="main",
            tank=Made(corrected=given["corrected"], design=design, tripped={}),
            capacity=Made(unusable=None),
        )
        engine = Engine.model_construct(name="engine", measured_flow_m3_s=given["flow"])
        study: Any = Made(tanks=[one], layout=Made(design=Made(component=(engine,))), flows=Made(to=()))
        return [(verdict.outcome, verdict.where) for verdict in measured.measured_contradicts_computed.judge(study)]

    assert judged() == [(NOT_ASKED, "design")]
    assert judged(unusable=1e-3) == [(NOT_CHECKED, "main")]
    assert judged(trip=1e-3) == [(NOT_CHECKED, "main.low")]
    assert judged(flow=1e-5) == [(NOT_CHECKED, "engine")]
    assert judged(corrected=Made(share=0.9, within=0.1, date="x", fewer_m3=0.0)) == [(PASS, "main")]


def test_severity_without_what_is_only_assumed() -> None:
    def left(volume: float, opened: float | None = None, uncovered: float | None = None) -> Any:
        return Made(volume_m3=volume, opened=None if opened is None else Made(volume_m3=opened), uncovered_m3=uncovered)

    assert [
        severity.surely_unusable_m3(one)
        for one in (left(5.0), left(5.0, 4.0), left(5.0, None, 3.0), left(5.0, 4.0, 3.0), left(5.0, 6.0, 7.0))
    ] == [5.0, 4.0, 3.0, 3.0, 5.0]
    assert [
        severity.overheats(*one) for one in ((60.0, None), (59.9, None), (10.0, 10.0), (9.9, 10.0), (70.0, 80.0))
    ] == [True, False, True, False, False]
    assert severity.reserve_m3(Made(layout=Made(design=Made(reserve_flow_m3_s=5e-6)))) == pytest.approx(9e-3)


# --- lines


def engine(most_pa: float | None) -> Any:
    return Engine.model_construct(name="engine", most_inlet_pressure_pa=most_pa)


@pytest.mark.parametrize(
    ("most_pa", "many", "needs", "series", "outcome", "words"),
    [
        (30e3, ("a",), "", False, PASS, "with a running and nothing drawn 30.00 kPa come"), (29.9e3, ("a",), "", False, FAIL,
         "it may get 29.90 kPa"), (30e3, ("a", "b"), "", True, PASS, "a and b running"),
        (None, ("a", "b"), "", True, NOT_CHECKED, "needs its most_inlet_pressure"), (None, ("a", "b"), "", False, NOT_ASKED, ""), (None,
        ("a",), "x", False, NOT_ASKED, "no two pumps"),
        (None, ("a", "b"), "x", True, NOT_CHECKED, "needs x: what it adds"), (30e3, ("a",), "x", False, NOT_CHECKED, "needs x"),
    ],
)  # fmt: skip
def test_the_pressure_at_an_inlet(
    most_pa: float | None, many: Any, needs: str, series: bool, outcome: Outcome, words: str
) -> None:
    one: Any = Made(needs=needs, pumps=many, attitude=CRUISE, pressure_pa=30e3, in_series=series)
    found = pumps._at_inlet(engine(most_pa), one)
    assert (found.outcome, words in plain(found.evidence)) == (outcome, True), plain(found.evidence)


@pytest.mark.parametrize(
    ("missing", "outcome"), [([("", "lines")], NOT_CHECKED), ([("gravity", "lines")], NOT_ASKED), ([], NOT_ASKED)]
)
def test_an_inlet_that_was_not_computed(missing: Any, outcome: Outcome) -> None:
    study: Any = Made(
        flows=Made(inlets=(), missing=[Made(kind=kind, needs=needs) for kind, needs in missing]),
        layout=Made(design=Made(component=(engine(1.0),))),
    )
    assert [one.outcome for one in pumps.inlet_pressure_too_high.judge(study)] == [outcome]


def way(through: dict[str, Any], **entered: list[str]) -> Any:
    """A way whose fuel cannot go past some selectors, entered by lines."""
    return Made(
        way=Made(
            path=lambda to, avoid: None if str(avoid[0]) in through else (),
            into={one: [Made(line=Made(name=name)) for name in names] for one, names in entered.items()},
        )
    )


def test_the_selectors_that_choose_between_two_tanks(monkeypatch: pytest.MonkeyPatch) -> None:
    some = [Made(name="s"), Made(name="t")]
    monkeypatch.setattr(pumps, "components", lambda study, kind: some)
    monkeypatch.setattr(pumps, "end_at", lambda part: part.name)
    study: Any = None
    both = way({"s": 1, "t": 1}, s=["a"], t=["c"]), way({"s": 1, "t": 1}, s=["b"], t=["c"])
    choosing = lambda one, other: [x.name for x in pumps._choosing(study, "pump", [one], [other])]  # noqa: E731
    assert choosing(*both) == ["s"]  # by t both come through one line
    assert choosing(both[0], way({"t": 1}, s=["b"], t=["d"])) == ["t"]
    assert choosing(way({}, s=["a"]), both[1]) == []


@pytest.mark.parametrize(
    ("both", "outcome"),
    [
        ({"s": False}, PASS),
        ({"s": True}, FAIL),
        ({"s": None}, NOT_CHECKED),
        ({"s": True, "t": False}, PASS),
        ({"s": True, "t": None}, NOT_CHECKED),
        ({"s": True, "t": True}, FAIL),
        ({}, FAIL),
    ],
)
def test_a_pump_that_draws_from_two_tanks(
    both: dict[str, bool | None], outcome: Outcome, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(pumps, "_parted", lambda *_: True)
    monkeypatch.setattr(pumps, "_choosing", lambda *_: tuple(Made(name=name, both=it) for name, it in both.items()))
    monkeypatch.setattr(pumps, "end_at", lambda part: part.name)
    of_tank: Any = {"left": [], "right": []}
    found = pumps._several(None, Made(name="pump"), of_tank)
    assert found.outcome is outcome
    monkeypatch.setattr(pumps, "_parted", lambda *_: False)
    assert "cannot be shut off from each other" in plain(pumps._several(None, Made(name="pump"), of_tank).evidence)


@pytest.mark.parametrize(
    ("switches", "into", "through", "outcome", "words"),
    [
        (True, ("left", "right"), False, PASS, "is switched with the feed"), (True, ("left",), False, NOT_CHECKED,
         "needs a return line to right"), (None, ("left", "right"), True, PASS, "is switched"),
        (None, ("left", "right"), False, NOT_CHECKED, "to know whether it switches"), (False, ("left", "right"), False, FAIL,
         "the return goes to left, right whichever feeds"), (False, ("left",), True, FAIL, ""),
        (None, ("left",), True, NOT_CHECKED, "to know"),
    ],
)  # fmt: skip
def test_a_selector_and_the_return(
    switches: bool | None, into: Any, through: bool, outcome: Outcome, words: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(returned, "end_at", lambda part: part.name)
    back: Any = [Made(end=Made(tank=name), way=Made(always={"s"} if through else set())) for name in into]
    selector: Any = Made(name="s", switches_return=switches)
    found = returned._follows(selector, ("left", "right"), back)
    assert (found.outcome, words in plain(found.evidence)) == (outcome, True), plain(found.evidence)
    if through and switches is None and len(into) > 1:
        back[1].way.always = set()
        assert returned._follows(selector, ("left", "right"), back).outcome is NOT_CHECKED


@pytest.mark.parametrize(
    ("alone", "kept", "drawn", "airless", "capped", "outcome", "words"),
    [
        ((), None, {"a"}, (), (), PASS, "leaves each tank another way"), (("a",), "heated", {"a"}, (), (), PASS,
         "a has air by it alone; the design says that it is heated"), (("a", "b"), None, set(), (), (), NOT_CHECKED, "a, b have air"),
        (("a",), None, {"a"}, (), (), FAIL, "engine draws from nothing else"), (("a",), None, {"a", "b"}, (), (), PASS,
         "a has air by it alone; b feeds the engine without it"),
        (("a",), None, {"a", "b", "c"}, (), (), PASS, "; b, c feed the engine without it"), (("a",), None, {"a", "b"}, ("b",), (), FAIL,
         "nothing else"), (("a",), None, {"a"}, (), ("a",), NOT_CHECKED, "needs a vent line from a.vent"),
        (("a",), None, {"a"}, (), ("b",), FAIL, ""),
    ],
)  # fmt: skip
def test_what_one_blocked_opening_does(
    alone: Any,
    kept: Any,
    drawn: Any,
    airless: Any,
    capped: Any,
    outcome: Outcome,
    words: str,
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    class End(str):
        """A vent of a tank."""

        @property
        def tank(self) -> str:
            """Its tank."""
            return self[0]

    monkeypatch.setattr(one_opening, "end_at", lambda part: part.name)
    monkeypatch.setattr(one_opening, "unled", lambda study, kind: [(End(f"{name}.vent"), None) for name in capped])
    monkeypatch.setattr(one_opening, "_drawn_from", lambda study, engine, ways: set(drawn))
    monkeypatch.setattr(one_opening, "_how_soon", lambda *_: "it stops")
    aired = {"a", "b", "c"} - set(airless)
    study: Any = Made(
        breathing=Made(alone={"mast": alone}),
        tanks=[Made(name=name) for name in ("a", "b", "c")],
        layout=Made(network=Made(aired=lambda shut: aired)),
    )

    class Hashable:
        """An engine."""

        name = "engine"

    monkeypatch.setattr(one_opening, "components", lambda study, kind: (Hashable,))
    found = one_opening._blocked(study, Made(name="mast", kept_clear=kept), [])
    assert (found.outcome, words in plain(found.evidence)) == (outcome, True), plain(found.evidence)


@pytest.mark.parametrize(
    ("air_l", "filled", "head_pa", "words"),
    [
        (5.0, True, 1e3, "it stops 5 s from full"),
        (0.0, True, 1e3, "it stops"),
        (5.0, False, 1e3, "it stops"),
        (5.0, True, 0.0, "it stops"),
        (5.0, True, -1.0, "it stops"),
    ],
)
def test_how_soon_it_stops_by_gravity(
    air_l: float, filled: bool, head_pa: float, words: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(one_opening, "on_way", lambda *_: ())
    monkeypatch.setattr(one_opening, "_head_pa", lambda *_: head_pa)
    monkeypatch.setattr(one_opening, "_after", lambda study, air_m3, pa: f"{air_m3 * 1e3:.0f} s from full")
    held = Made(gross_m3=0.05, filled=Made(volume_m3=0.05 - air_l / 1e3))
    study: Any = Made(
        tank=lambda name: Made(capacity=held if name == "a" or filled else Made(gross_m3=0.05, filled=None))
    )
    found = one_opening._how_soon(study, Made(name="engine"), ("a", "b") if not filled else ("a",), [])
    assert found.startswith(words)
    assert ("from full" in found) == ("from full" in words)


@pytest.mark.parametrize(
    ("groups", "airings", "unknown", "at_once", "open_ends", "outcome"),
    [
        ((("a", "b"),), (), (), True, (), PASS), ((("a", "b"),), None, (), True, (), NOT_CHECKED), ((("a",), ("b",)), (), (), True, (),
         FAIL), ((("a",), ("b",)), None, (), True, (), FAIL),
        ((("a",), ("b",)), (), (), False, (), CAUTION), ((("a",), ("b",)), (), ("s",), True, (), NOT_CHECKED), ((("a",), ("b",)), (), (),
         True, ("a",), NOT_CHECKED), ((("a",), ("b",)), (), (), True, ("c",), FAIL),
        ((("a", "b"),), ((("a",), ("b",)),), (), True, (), FAIL),
    ],
)  # fmt: skip
def test_airspaces_of_joined_tanks(
    groups: Any,
    airings: Any,
    unknown: Any,
    at_once: bool,
    open_ends: Any,
    outcome: Outcome,
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    joined = Made(tanks=("a", "b"), unknown=unknown, at_once=at_once, through=())
    monkeypatch.setattr(interconnect, "_groups", lambda study: [joined])
    monkeypatch.setattr(interconnect, "unled", lambda study, kind: [(Made(tank=name), None) for name in open_ends])
    monkeypatch.setattr(interconnect, "loose", lambda *_: iter(()))
    plumbing = Made(
        air_groups=groups, airings=None if airings is None else [Made(words="v shut", groups=one) for one in airings]
    )
    (found,) = interconnect.airspaces_not_connected.judge(Made(plumbing=plumbing))
    assert found.outcome is outcome
    assert ("with v shut in the vent lines" in plain(found.evidence)) == bool(airings)


@pytest.mark.parametrize(
    ("above_m", "taken_l", "many", "words"),
    [
        (0.05, 3.0, 1, "vent stands 50.0 mm under fuel; no vent lets air in until 3.00 L are gone from the tank, but for what bubbles in"),
        (0.05, 3.0, 1, "against a vacuum of 0.35 kPa in the tank"), (0.05, 3.0, 2, "50.0 mm under fuel, the least of all; no vent"),
        (0.05, None, 1, "no outlet draws the fuel down to it"), (-0.01, 3.0, 1, "its vents stand in air, but"), (0.0, 3.0, 1,
         "vent stands 0.0 mm under"),
    ],
)  # fmt: skip
def test_a_vent_under_fuel(above_m: float, taken_l: float | None, many: int, words: str) -> None:
    first = Made(opening="vent", above_m=above_m)
    found: Any = Made(
        first=first,
        vents=[first] * many,
        joined=Made(tanks=("a",), through=()),
        attitude=CRUISE,
        stated=(CRUISE,),
        taken_m3=None if taken_l is None else taken_l / 1e3,
    )
    study: Any = Made(layout=Made(design=Made(fuel=Made(density_kg_m3=720.0))))
    assert words in plain(said(in_flight._drowned(study, found)))
    assert "either" not in in_flight._drowned(study, found)
    found.stated = (CRUISE, Attitude("climb", "flight", 0.1))
    assert "no vent stands in air at climb either" in in_flight._drowned(study, found)
    found.stated = ()
    assert "at each stated attitude a vent stands in air" in in_flight._drowned(study, found)


@pytest.mark.parametrize(
    ("slight", "unsettled", "outcome"),
    [(False, False, CAUTION), (False, True, CAUTION), (True, False, PASS), (True, True, NOT_CHECKED)],
)
def test_a_vent_that_is_slightly_drowned(
    slight: bool, unsettled: bool, outcome: Outcome, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(in_flight, "header_like", lambda *_: False)
    monkeypatch.setattr(in_flight, "_drowned", lambda *_: "drowned")
    seen = Made(tank="a", drowned=Made(slight=lambda density: slight), maybe=None, setting="v shut")
    study: Any = Made(
        in_flight=Made(groups=(), tanks=(seen,), unsettled=unsettled),
        layout=Made(design=Made(fuel=Made(density_kg_m3=720.0))),
    )
    found = in_flight._under(study, Made(name="a", tank=Made(design=Made(vent=(1,), ports=(1,)))))
    assert found.outcome is outcome
    seen.drowned, seen.clear_m, seen.clear_at, seen.under = None, 0.05, CRUISE, ()
    assert in_flight._under(study, Made(name="a", tank=Made(design=Made(vent=(1,), ports=(1,))))).outcome is (
        NOT_CHECKED if unsettled else PASS
    )


@pytest.mark.parametrize(
    ("end", "out", "starts", "told_of"),
    [
        ("always", ["step"], "start", True),
        ("end", ["step"], "start", True),
        ("other", ["step"], "start", False),
        ("always", ["step", "more"], "start", False),
        ("always", ["step"], "always", True),
        ("always", ["step"], "other", False),
    ],
)
def test_a_step_that_no_path_goes_past(end: str, out: Any, starts: str, told_of: bool) -> None:
    step = Made(start=starts, end=end)
    run: Any = Made(way=Made(always={"always"}, out={starts: [step] * len(out)}), end="end", start="start")
    assert vent_line._unavoidable(run, step) is told_of


@pytest.mark.parametrize(
    ("margin_m", "outcome", "words"),
    [
        (0.005, PASS, "joins main.vent, 5.0 mm above"),
        (0.0, CAUTION, "drowned by 0.0 mm"),
        (-0.01, CAUTION, "drowned by 10.0 mm"),
    ],
)
def test_where_a_header_s_vent_joins_its_main(
    margin_m: float, outcome: Outcome, words: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    class End(str):
        """An end."""

        @property
        def tank(self) -> str | None:
            """Its tank."""
            return self.partition(".")[0] if "." in self else None

    monkeypatch.setattr(vent_line, "feeders", lambda *_: ("main",))
    monkeypatch.setattr(vent_line, "_above_fuel", lambda *_: (margin_m, Made(attitude=PARKED)))
    port_, run = End("header.vent"), Made(start=End("header.vent"), end=End("main.vent"))
    study: Any = Made(plumbing=Made(air_groups=()))
    found = vent_line._apart(study, port_, (run,))
    assert (found.outcome, words in plain(found.evidence)) == (outcome, True)
    turned = Made(start=End("main.vent"), end=End("header.vent"))
    assert vent_line._apart(study, port_, (turned,)).outcome is outcome
    apart = (Made(start=port_, end=End("mast")),)
    assert vent_line._apart(study, port_, apart).outcome is CAUTION
    study.plumbing.air_groups = (("tip",), ("header", "main"))
    assert vent_line._apart(study, port_, apart).outcome is PASS
    study.plumbing.air_groups = (("header", "tip"), ("main",))
    assert vent_line._apart(study, port_, apart).outcome is CAUTION


def test_how_far_an_end_stands_above_the_fuel() -> None:
    nose_in = Attitude("nose in", "ground", 0.1)
    at = [
        Made(start_level_m=1.0, end_level_m=3.0, attitude=PARKED),
        Made(start_level_m=2.0, end_level_m=2.5, attitude=nose_in),
    ]
    run: Any = Made(start=Made(tank="main"), end=Made(tank="header"), at_phase=lambda phase: at)
    study: Any = Made(
        plumbing=Made(
            air={
                "main": [Made(attitude=PARKED, full_level_m=0.9), Made(attitude=nose_in, full_level_m=1.95)],
                "header": [Made(attitude=PARKED, full_level_m=0.0), Made(attitude=nose_in, full_level_m=1.0)],
            }
        )
    )
    assert vent_line._above_fuel(study, run, run.start) == (pytest.approx(0.05), at[1])
    assert vent_line._above_fuel(study, run, run.end) == (1.5, at[1])


@pytest.mark.parametrize(("held", "unsaid", "names"), [((), (), "its components: there is none")])
def test_what_a_bare_path_passes(held: Any, unsaid: Any, names: str) -> None:
    assert components._listed(()) == names
    assert components._listed(("tee", "valve")) == "tee, valve"


@pytest.mark.parametrize(
    ("behind", "unsaid", "bare", "outcome", "words"),
    [
        (1, 0, (), FAIL, "v0 stands on the engine's side"),
        (2, 0, (), FAIL, "v0, v1 stand on"),
        (0, 1, (), NOT_CHECKED, "v0 stands (engine_side)"),
        (0, 2, (), NOT_CHECKED, "v0, v1 stand (engine"),
        (0, 0, (), PASS, "v0 stands before"),
        (0, 0, (1,), FAIL, "goes past v0"),
    ],
)
def test_on_which_side_valves_stand(behind: int, unsaid: int, bare: Any, outcome: Outcome, words: str) -> None:
    sides = [True] * behind + [None] * unsaid or [False]
    valves: Any = tuple(Made(name=f"v{k}", engine_side=side) for k, side in enumerate(sides))
    found = components._side("x", valves, tuple(Made(line=Made(name="l")) for _ in bare))
    assert (found.outcome, words in plain(found.evidence)) == (outcome, True)
    assert components._side("x", (), ()).outcome is PASS
    assert components._side("x", (), (Made(line=Made(name="l")),)).outcome is NOT_CHECKED


def test_bare_lines_of_a_run() -> None:
    def line(name: str, *stated: str) -> Any:
        return Made(line=Made(name=name, design=Made(model_fields_set=set(stated))))

    run: Any = Made(way=Made(steps=[line("a", "path_m"), line("b"), line("b"), line("c", "bore_m")]))
    assert shared.straight(run) == "; no path is stated and a straight one was taken: b, c"
    run.way.steps = run.way.steps[:1]
    assert shared.straight(run) == ""
    assert [shared.more(range(n)) for n in (1, 2, 3)] == ["", "; so in 1 more settings", "; so in 2 more settings"]


@pytest.mark.parametrize(
    ("main_m", "header_m", "filler", "like"),
    [
        (2.0, 1.0, None, True),
        (1.0, 1.0, None, True),
        (0.9, 1.0, None, False),
        (2.0, 1.0, 1, False),
        (None, 1.0, None, False),
        (2.0, None, None, False),
    ],
)
def test_a_tank_that_stands_full_below_others(
    main_m: float | None, header_m: float | None, filler: Any, like: bool, monkeypatch: pytest.MonkeyPatch
) -> None:
    def air(name: str, at: float | None) -> Any:
        return (
            []
            if at is None
            else [
                Made(**{name: at}, attitude=PARKED),
                Made(**{name: 9.0 if name == "full_level_m" else -9.0}, attitude=Attitude("x", "ground")),
            ]
        )

    monkeypatch.setattr(shared, "past", lambda *_: True)
    monkeypatch.setattr(shared, "on_way", lambda *_: ())
    low = air("highest_level_m", header_m)
    ways = [Made(start=Made(tank="main"), end=Made(tank="header"), through=())]
    study: Any = Made(
        layout=Made(tank=lambda name: Made(design=Made(filler=filler))),
        plumbing=Made(air={"header": low, "main": air("full_level_m", main_m)}, ways=ways),
    )
    assert shared.header_like(study, "header") is like
    if like:
        study.plumbing.air["main"].append(Made(full_level_m=0.1, attitude=PARKED))
        study.plumbing.air["header"].append(Made(highest_level_m=0.2, attitude=PARKED))
        assert shared.header_like(study, "header")


def test_a_vent_that_leads_overboard_through_others(monkeypatch: pytest.MonkeyPatch) -> None:
    def clear(*vents: list[bool | None]) -> bool:
        monkeypatch.setattr(capacity, "_vent_ends", lambda layout, tank: vents)
        monkeypatch.setattr(
            capacity, "_overboard", lambda layout, ends, met: [Made(discharges_clear=one) for one in ends]
        )
        return capacity.discharges_clear(None, Made(name="a"))

    assert [
        clear([True]),
        clear([True], [True, True]),
        clear([True, False]),
        clear([True], [None]),
        clear([True], []),
        clear(),
    ] == [True, True, False, False, False, False]


def test_a_failure_before_any_lamp() -> None:
    from fuelsys.model.found.fly import Failing

    flown: Any = Made(end_s=700.0, stopped="air", warning=Made(tank="a", switch="low"))
    for least, before, words in (
        (None, 90.0, "a low lights 1.5 min before, its mark may be so low"),
        (60.0, 90.0, "1.5 min before, at the latest 1.0 min"),
        (60.0, None, "with no lamp lit before"),
    ):
        one: Any = Made(at_once=False, before_s=before, least_s=least)
        assert words in failing._told(one, flown)
    proof: Any = Made(flown=Made(stopped="air", end_s=1200.0), least_s=None)
    assert failing.after(proof) == "a lamp lights 0.0 min before the engine stops, at 20.0 min"
    assert failing._first_up(Made(words=("a valve", 1))) == ("A valve", 1)
    assert Failing("x", None).flown is None


# --- loads, gauges


def test_places_along_a_line_and_the_room_of_a_float() -> None:
    along = rooms._between((0.0, 0.0, 0.0), (0.0, 0.0, 0.1))
    gaps = np.linalg.norm(np.diff(along, axis=0), axis=1)
    assert gaps.max() <= rooms._ALONG_M + 1e-12
    assert len(along) == int(np.ceil(0.1 / rooms._ALONG_M)) + 1
    assert rooms._between((0.0, 0.0, 0.0), (0.0, 0.0, 0.0)).shape == (2, 3)

    def room(clearance: float | None, diameter: float | str | None) -> float:
        body = None if diameter == "none" else Made(diameter_m=diameter)
        return rooms.Room(None, Made(clearance_m=clearance, float_body=body), 0.01).round_m

    assert [room(0.02, "none"), room(None, "none"), room(0.01, 0.03), room(0.02, 0.03), room(None, None)] == [
        0.02,
        0.0,
        0.015,
        0.02,
        0.0,
    ]


@pytest.mark.parametrize(("apart_m", "told_of"), [(0.03, False), (0.0299, True), (0.0, True)])
def test_switches_that_stand_beside_one_another(apart_m: float, told_of: bool) -> None:
    one = rooms.Room(None, Made(clearance_m=0.01, float_body=None), 0.01)
    other = rooms.Room(None, Made(clearance_m=0.02, float_body=None), 0.01)
    here: Any = Made(x_m=0.0, y_m=0.0)
    found = one.against_others(here, [(other, Made(x_m=0.6 * apart_m, y_m=-0.8 * apart_m))])
    assert bool(found) is told_of
    bare = rooms.Room(None, Made(clearance_m=None, float_body=None), 0.05)
    assert bool(bare.against_others(here, [(bare, Made(x_m=0.049, y_m=0.0))]))
    assert not bare.against_others(here, [(bare, Made(x_m=0.05, y_m=0.0))])
