"""Rules on flow, breathing, joined tanks and overfilling by hand, on studies that are made up: each bound just below, on and above it.

The fuel has 720 kg/m3, so that 7060.788 Pa are a metre of it, and half an hour at cruise takes 9 L (5 mL/s).
"""

from __future__ import annotations

from types import SimpleNamespace as Made
from typing import Any

import numpy as np
import pytest
from rule_cases import plain

from fuelsys.model.found.breathing import AirState, Breathing, Overfill
from fuelsys.model.found.exchange import Lasting
from fuelsys.model.found.findings import Outcome, Verdict
from fuelsys.model.found.flow import Carried, DryBranch, FeedTo, InState, Missing, State
from fuelsys.model.found.fly import Failing, Failures, Flown, Warned
from fuelsys.model.stated.attitude import Attitude
from fuelsys.model.stated.components import Engine, Pump
from fuelsys.rules.plumbing import breathing, exchange, failing, flow, overfilling, returns
from fuelsys.rules.words import said

PASS, FAIL, CAUTION = Outcome.PASS, Outcome.FAIL, Outcome.CAUTION
NOT_CHECKED, NOT_ASKED = Outcome.NOT_CHECKED, Outcome.NOT_APPLICABLE
CRUISE = Attitude("cruise", "flight", normal=True)
LEVEL = CRUISE.text
METRE_PA = 720.0 * 9.80665


class End(str):
    """An end of lines: a port of a tank is called tank.port."""

    @property
    def tank(self) -> str | None:
        """The tank that it is a port of."""
        return self.partition(".")[0] if "." in self else None


ENGINE, HEADER = End("engine"), End("header.inlet")
PUMP = Pump.model_construct(name="pump", stops_when_full=None)


def engine(inlet_pa: float | None = 2e3) -> Engine:
    return Engine.model_construct(name="engine", inlet_pressure_pa=inlet_pa)


def study(**more: Any) -> Any:
    """What rules on flow read of a study."""
    given: dict[str, Any] = {
        "part": engine(), "fillers": {}, "vents": (), "breathing": Breathing(), "flow": {}, "flows_m3_s": {"max_continuous": 8e-6},
        "tanks": [], "flight": [], "climb_rate": None, "descent_rate": None, "failures": None,
    } | more  # fmt: skip
    design = Made(
        fuel=Made(density_kg_m3=720.0), reserve_flow_m3_s=5e-6, flows_m3_s=given["flows_m3_s"], flight=given["flight"],
        aircraft=Made(climb_rate_m_s=given["climb_rate"], descent_rate_m_s=given["descent_rate"]), component=(),
    )  # fmt: skip
    network = Made(
        component=lambda end: given["part"] if end == "engine" else None,
        nodes={"by": given["part"]},
        lines_at=lambda *_: (),
    )
    layout = Made(
        design=design, network=network, lines=(), tank=lambda name: Made(design=Made(filler=given["fillers"].get(name)))
    )
    flows = Made(**({"assumed": "", "air_pa": 54e3, "vapour_pa": 40e3, "to": (), "missing": (), "states": (), "in_states": (),
     "boiling": (),
                     "missing_in_states": (), "boiling_worst": ()} | given["flow"]))  # fmt: skip
    plumbing = Made(of_kind=lambda kind: given["vents"], loose=())
    return Made(
        layout=layout,
        flows=flows,
        plumbing=plumbing,
        breathing=given["breathing"],
        tanks=given["tanks"],
        failures=given["failures"],
    )


def carried(
    flow: float = 1e-5, pressure: float | None = 3e3, lowest: float | None = -1e3, tanks: tuple[str, ...] = ("main",)
) -> Carried:
    return Carried(CRUISE, tanks, pressure, flow, lowest)


def fed(
    *at: Carried,
    kind: Any = "gravity",
    end: Any = ENGINE,
    needed: float = 1e-5,
    unstated: tuple[str, ...] = (),
    **more: Any,
) -> FeedTo:
    return FeedTo(kind, end, needed, 2e3, at or (carried(),), unstated, **more)


def told(verdict: Verdict) -> tuple[Outcome, str, str]:
    return verdict.outcome, plain(verdict.evidence), plain(verdict.mend)


# --- enough for the engine


@pytest.mark.parametrize(
    ("one", "given", "part", "outcome", "words", "mend"),
    [
        (carried(1e-5), {}, engine(), PASS, "main alone brings 36.0 L/h of the 36.0 L/h that are needed, at 2.00 kPa", ""),
        (carried(0.99e-5), {}, engine(), FAIL, "brings 35.6 L/h", ""),
        # 2 kPa are needed where 0.588 come: 0.2 m of fuel more.
        (carried(0.9e-5, 2e3 - 0.2 * METRE_PA), {}, engine(), FAIL, "", "It lacks 1.41 kPa: use wider"),
        (carried(0.9e-5, 2e3 - 0.2 * METRE_PA), {"kind": "pumped"}, engine(), FAIL, "", ""),
        (carried(0.9e-5, None), {}, engine(), FAIL, "", ""),
        (carried(1e-5), {"unstated": ("f", "g")}, engine(), NOT_CHECKED, "needs the drop of f, g; without it at", ""),
        (carried(1e-5), {"unstated": ("f",)}, engine(), NOT_CHECKED, "and 1.00 kPa are left for them", ""),
        (carried(1e-5), {}, engine(None), NOT_CHECKED, "needs the inlet_pressure of engine; at", ""),
        (carried(1e-5), {}, engine(None), NOT_CHECKED, "at no pressure above the air's, as into an open can, and 1.00 kPa are left", ""),
        (carried(1e-5, tanks=("a", "b")), {}, engine(), PASS, "a and b together brings", ""),
    ],
)  # fmt: skip
def test_what_comes_to_an_engine(
    one: Carried, given: dict[str, Any], part: Engine, outcome: Outcome, words: str, mend: str
) -> None:
    found, evidence, how = told(flow._enough(study(part=part), fed(one, **given)))
    assert (found, words in evidence, how.startswith(mend), bool(how)) == (outcome, True, True, outcome is FAIL and bool(one.pressure_pa)
           and given.get("kind") != "pumped"), evidence  # fmt: skip
    if mend:
        assert "raise the tank by 200.0 mm" in how


def test_a_feed_in_every_setting_is_told_of_its_engine() -> None:
    verdict = flow._enough(study(), fed(running="pump"), "valve shut")
    assert (verdict.where, plain(verdict.evidence).startswith("worst with valve shut, at cruise")) == (
        "engine by pump, every setting",
        True,
    )
    two = fed(carried(), carried(tanks=("tip", "main")), running="pump")
    assert flow._enough(study(), two).where == "main or tip to engine by pump alone"
    assert flow._basis(study(flow={"assumed": "1 mm²/s"})) == " (1 mm²/s)"
    assert flow._basis(study()) == ""


def state(words: str = "valve shut") -> State:
    return State(words, ("main",), (), ())


def in_state(one: FeedTo, words: str = "valve shut") -> InState:
    return InState(state(words), "takeoff", one)


@pytest.mark.parametrize(
    ("states", "found", "words"),
    [
        ((1,), [in_state(fed())], []), ((), [in_state(fed())], []),
        ((1, 2), [in_state(fed(carried(3e-5)), "a"), in_state(fed(carried(2e-5)), "b"), in_state(fed(carried(2e-5)), "c")], ["b"]),
        (None, [in_state(fed(carried(3e-5)), "a"), in_state(fed(carried(2e-5), kind="tank"), "b")], ["a"]),
        ((1, 2), [in_state(FeedTo("gravity", ENGINE, 1e-5, 0.0, ()), "a")], []),
        ((1, 2), [in_state(fed(), "a"), in_state(fed(running="p"), "b"), in_state(fed(kind="pumped"), "c")], ["a", "b", "c"]),
    ],
)  # fmt: skip
def test_the_worst_setting_of_each_engine(states: Any, found: list[InState], words: list[str]) -> None:
    missing = (Missing("gravity", "x", "y"), Missing("pumped", "x", "z"))
    verdicts = list(flow._in_states(study(flow={"states": states, "in_states": found, "missing_in_states": missing})))
    several = states is None or len(states) > 1
    assert [plain(one.evidence).split(",")[0] for one in verdicts] == [f"worst with {one}" for one in words] + [
        "needs y"
    ] * several


# --- a header that stays full


@pytest.mark.parametrize(
    ("free", "full", "more", "filler", "outcome", "words"),
    [
        (1e-5, 1e-5, {}, None, PASS, "36.0 L/h that are needed, and 36.0 L/h when it is full"),
        (0.9e-5, 2e-5, {}, None, FAIL, "brings 32.4 L/h"), (1e-5, 0.9e-5, {}, None, CAUTION, "and 32.4 L/h at cruise"),
        (1e-5, 0.9e-5, {}, "filler", PASS, "filled by itself, it need not stay full"),
        (1e-5, 1e-5, {"unstated": ("f",)}, None, NOT_CHECKED, "needs the drop of f; without it"),
    ],
)  # fmt: skip
def test_what_comes_into_a_header(
    free: float, full: float, more: dict[str, Any], filler: Any, outcome: Outcome, words: str
) -> None:
    one = fed(carried(full), kind="tank", end=HEADER, free=(carried(free),), **more)
    (verdict,) = flow.tank_not_kept_full.judge(study(flow={"to": (one,), "states": (1,)}, fillers={"header": filler}))
    assert (verdict.outcome, words in plain(verdict.evidence)) == (outcome, True), plain(verdict.evidence)
    assert bool(verdict.mend) == (outcome is FAIL)


@pytest.mark.parametrize(
    ("found", "outcome", "words"),
    [
        ([fed(carried(1e-5))], PASS, "worst with 0, at cruise"), ([fed(carried(1e-5)), fed(carried(0.9e-5))], FAIL, "worst with 1"),
        ([fed(carried(1e-5)), FeedTo("tank", HEADER, 1e-5, 0.0, ())], CAUTION, "with 1 nothing comes into it"),
        ([fed(carried(0.9e-5)), FeedTo("tank", HEADER, 1e-5, 0.0, ())], FAIL, "it sinks, though"),
        ([fed(carried(1e-5), unstated=("f", "g")), fed(carried(1e-5), unstated=("f",))], NOT_CHECKED, "needs the drop of f, g; without it"),
        ([fed(carried(1e-5), unstated=("f",)), FeedTo("tank", HEADER, 1e-5, 0.0, ())], CAUTION, "the drop of f is not stated"),
    ],
)  # fmt: skip
def test_a_header_in_every_setting(found: list[FeedTo], outcome: Outcome, words: str) -> None:
    states = [
        in_state(FeedTo("tank", HEADER, one.needed_m3_s, 0.0, one.at, one.unstated), str(k))
        for k, one in enumerate(found)
    ]
    given: dict[str, Any] = {
        "states": (1, 2),
        "in_states": [*states, in_state(fed(carried(0.0)))],
        "to": (fed(kind="tank"),),
    }
    given["missing_in_states"] = (Missing("", "x", "y"), Missing("tank", "x", "y"), Missing("gravity", "x", "z"))
    verdict, *missing = flow._filled_in_states(study(flow=given))
    assert (verdict.outcome, verdict.where, words in plain(verdict.evidence)) == (
        outcome,
        "header, every setting",
        True,
    ), verdict
    assert [plain(one.evidence) for one in missing] == ["needs y", "needs y"]
    assert list(flow._filled_in_states(study(flow=given | {"states": (1,)}))) == []
    assert len(list(flow._filled_in_states(study(flow=given | {"to": (fed(),)})))) == 1


@pytest.mark.parametrize(
    ("brought", "unstated", "flows", "outcome"),
    [
        (1e-5, (), {"max_continuous": 8e-6}, PASS), (0.9e-5, (), {"max_continuous": 8e-6}, CAUTION), (8e-6, (), {"max_continuous": 8e-6},
         CAUTION),
        (7.9e-6, (), {"max_continuous": 8e-6}, FAIL), (0.9e-5, (), {}, FAIL), (1e-5, (), {}, PASS), (1e-5, ("f",), {}, NOT_CHECKED),
        (0.9e-5, ("f",), {"max_continuous": 8e-6}, NOT_CHECKED),
    ],
)  # fmt: skip
def test_a_tank_that_a_pump_fills(
    brought: float, unstated: tuple[str, ...], flows: dict[str, float], outcome: Outcome
) -> None:
    found = flow._lifted(study(flows_m3_s=flows), fed(carried(brought), kind="transfer", end=HEADER, unstated=unstated))
    assert (found.outcome, bool(found.mend)) == (outcome, outcome in (FAIL, CAUTION))


# --- boiling, air


@pytest.mark.parametrize(
    ("lowest", "more", "unstated", "outcome", "words"),
    [
        # 54 kPa at the ceiling, 40 kPa of vapour: the line may take 12 kPa, of which 2 are a margin.
        (-12e3, {}, (), PASS, "12.00 kPa below the air's, 54.00 kPa at the ceiling; fuel of 110 °F (43.3 °C) boils at 40.00 kPa: 2.00 kPa"),
        (-12.01e3, {}, (), CAUTION, "only 1.99 kPa are left, less than 2.00 kPa"), (-13.99e3, {}, (), CAUTION, "only 0.01 kPa"),
        (-14e3, {}, (), FAIL, "kPa: it boils"), (-12e3, {}, ("f",), NOT_CHECKED, "needs the drop of f; without it"),
        (-14e3, {}, ("f",), FAIL, "it boils"), (0.0, {}, (), PASS, "0.00 kPa above the air's"), (1e3, {}, (), PASS, "1.00 kPa above"),
        (1e3, {"air_pa": 40e3}, (), FAIL, "it boils, in the tank itself too"), (1e3, {"air_pa": 40.1e3}, (), CAUTION, "only 1.10 kPa"),
        (None, {}, (), NOT_CHECKED, "needs lines that can carry"), (1e3, {"air_pa": None}, (), NOT_CHECKED, "needs aircraft.ceiling"),
        (1e3, {"vapour_pa": None}, (), NOT_CHECKED, "needs fuel.reid_pressure"),
    ],
)  # fmt: skip
def test_whether_fuel_boils_in_a_line(
    lowest: float | None, more: dict[str, Any], unstated: tuple[str, ...], outcome: Outcome, words: str
) -> None:
    found = flow._boils(study(flow=more), fed(carried(lowest=lowest), carried(lowest=2e3), unstated=unstated))
    assert (found.outcome, words in plain(found.evidence)) == (outcome, True), plain(found.evidence)
    assert bool(found.mend) == ("itself" in words)


@pytest.mark.parametrize(("states", "many"), [((1,), 1), ((), 1), ((1, 2), 3), (None, 3)])
def test_boiling_is_asked_in_every_setting(states: Any, many: int) -> None:
    given = {"to": (fed(), fed(kind="pumped"), fed(kind="tank")), "states": states, "boiling": (Missing("suction", "x", "y"),),
             "boiling_worst": (in_state(fed()),)}  # fmt: skip
    found = list(flow.fuel_boils_in_line.judge(study(flow=given)))
    assert [one.where for one in found] == ["main to engine", "engine, every setting", "x"][:many]
    suction = study(flow=given | {"to": (fed(kind="suction"),), "states": (1,)})
    assert [one.where for one in flow.fuel_boils_in_line.judge(suction)] == ["main to engine"]


@pytest.mark.parametrize(
    ("margin", "own", "outcome", "words"),
    [
        (0.1 * METRE_PA, False, PASS, "column 100.0 mm above the line's lowest point"), (0.0, False, FAIL,
         "0.0 mm below the line's lowest"),
        (0.005, False, PASS, "0.0 mm above the line's lowest"),
        (-0.1 * METRE_PA, False, FAIL, "100.0 mm below the line's lowest point: air gets past"),
        (-0.1 * METRE_PA, True, FAIL, "air gets past; all that stands below this outlet counts"),
    ],
)  # fmt: skip
def test_whether_air_comes_past_a_dry_line(margin: float, own: bool, outcome: Outcome, words: str) -> None:
    dry = DryBranch(CRUISE, End("left.outlet"), "right", "tee", ENGINE, margin, own)
    found = flow._air(study(), dry)
    assert (found.outcome, found.where) == (outcome, "left.outlet while right feeds engine")
    assert plain(found.evidence).endswith(words) or words in plain(found.evidence)
    assert ("counts as unusable" in plain(found.evidence)) == (own and outcome is FAIL)


@pytest.mark.parametrize(
    ("enters_m", "outcome", "words"),
    [
        # The full tank's level at 0.9 m of 0.2 to 1.0: its top tenth begins at 0.92.
        (0.95, PASS, "it enters 50.0 mm above the fuel"), (0.9, PASS, "0.0 mm above the fuel"), (0.895, FAIL,
         "5.0 mm below the full tank's level, 105.0 mm"),
        (0.7, FAIL, "200.0 mm below the full tank's level, 300.0 mm below the top"),
    ],
)  # fmt: skip
def test_where_a_return_enters(monkeypatch: pytest.MonkeyPatch, enters_m: float, outcome: Outcome, words: str) -> None:
    parked = Attitude("parked", "ground", normal=True)
    end = End("main.return")
    run = Made(
        name="back",
        at_phase=lambda phase: [
            Made(attitude=Attitude("taxi", "ground"), end_level_m=9.0),
            Made(attitude=parked, end_level_m=enters_m),
        ],
    )
    air = [Made(attitude=CRUISE), Made(attitude=parked, full_level_m=0.9, highest_level_m=1.0, lowest_level_m=0.2)]
    monkeypatch.setattr(returns, "_into_tanks", lambda study: [("engine", run, end)])
    monkeypatch.setattr(returns, "loose", lambda study, kinds: ())
    monkeypatch.setattr(returns, "diesel", lambda study: False)
    monkeypatch.setattr(returns, "_higher", lambda study, end, parked, short_m: "raise it")
    one: Any = Made(layout=Made(design=Made(aircraft=Made(engine="piston"))), plumbing=Made(air={"main": air[1:]}))
    (found,) = returns.return_not_to_top.judge(one)
    assert (found.outcome, words in plain(found.evidence)) == (outcome, True), plain(found.evidence)
    # Below the fuel of a tank that is filled to 20 mm under its top, and in its top tenth all the same.
    air[1].full_level_m = 0.98  # its top tenth is below that
    (high,) = returns.return_not_to_top.judge(one)
    assert high.outcome is (PASS if enters_m >= 0.92 else FAIL)
    air[1].attitude = Attitude("taxi", "ground")
    assert [each.outcome for each in returns.return_not_to_top.judge(one)] == [NOT_CHECKED]


# --- vents that breathe


def air(
    what: Any,
    main_pa: float,
    header_pa: float = 0.0,
    blocked: str = "",
    mach: float = 0.1,
    setting: str = "",
    drawn: str = "main",
) -> AirState:
    return AirState(what, 0.0, blocked, drawn, {"main": main_pa, "header": header_pa}, {}, mach, setting)


def vent(*dips: tuple[float, bool | None], tank: str = "main", phase: str = "flight", on: str = "vent") -> Any:
    """A way of a vent with dips of so many metres, drained or not."""
    points = [Made(proud_m=deep, drained=drained, deep=True, on=on) for deep, drained in dips]
    return Made(start=Made(tank=tank), at_phase=lambda asked: [Made(low=points)] if asked == phase else [])


@pytest.mark.parametrize(
    ("vents", "height_m"),
    [
        ((), 0.0), ((vent(),), 0.0), ((vent((0.1, False), (0.2, None), (0.3, True)),), 0.2), ((vent((0.1, False), tank="header"),), 0.0),
        ((vent((0.1, False), phase="ground"),), 0.0), ((vent((0.3, False)), vent((0.1, False), on="second")), 0.1),
        ((vent((0.3, False)), vent()), 0.0),
    ],
)  # fmt: skip
def test_fuel_that_stands_in_the_dip_of_a_vent_line(vents: tuple[Any, ...], height_m: float) -> None:
    column_pa, on = breathing._column_pa(study(vents=vents), "main")
    assert column_pa == pytest.approx(height_m * METRE_PA)
    assert on == ("" if height_m == 0.0 else "second" if height_m == 0.1 else "vent")


def bearing(suction: float | None = None, bears: float | None = None, proof: float | None = 24e3) -> Any:
    design = Made(bears_suction_pa=suction, bears_pa=bears, vent=(1,))
    return Made(name="main", tank=Made(design=design), proof=None if proof is None else Made(pressure_pa=proof))


@pytest.mark.parametrize(
    ("states", "tank", "vents", "outcome", "words"),
    [
        ((air("in", -1000.0),), bearing(), (), PASS,
         "in a descent of 7.62 m/s (assumed) while all is drawn from main it stands under 1.00 kPa"),
        ((air("in", -1000.0),), bearing(), (), PASS, "kPa (102.0 mm of water) of suction; it must pass a test with 24.00 kPa"),
        ((air("in", -1001.0),), bearing(), (), CAUTION, "more than 1.00 kPa is not taken for granted"),
        ((air("in", -1001.0),), bearing(1000.0), (), FAIL, "it bears 1.00 kPa of suction"), ((air("in", -1999.0),), bearing(2000.0), (),
         PASS, ""),
        ((air("in", -900.0),), bearing(), (vent((0.1, False)),), CAUTION, "under 1.61 kPa (163.8 mm of water) of suction, 0.71 kPa of it"),
        ((air("out", 24e3),), bearing(), (), PASS, "in a climb of 7.62 m/s (assumed) it stands under 24.00 kPa"),
        ((air("out", 24.1e3),), bearing(), (), FAIL, "of pressure; it must pass a test with 24.00 kPa"),
        ((air("out", 24.1e3),), bearing(bears=30e3), (), PASS, "it is stated to bear 30.00 kPa"),
        ((air("out", 24.1e3),), bearing(proof=None), (), PASS, "it must pass a test with 24.13 kPa"),
        ((air("out", 24.2e3),), bearing(proof=None), (), FAIL, ""),
        ((air("filling", 24.1e3),), bearing(), (), FAIL, "while main is filled at 2400.0 L/h (assumed) it stands"),
        ((air("in", -900.0), air("in", -1001.0, blocked="mast", setting="valve shut")), bearing(), (), CAUTION,
         ", with valve shut, mast blocked"),
        ((air("in", -900.0, mach=0.3),), bearing(), (), PASS, ""), ((air("in", -900.0, mach=0.31),), bearing(), (), CAUTION, "too small"),
        ((air("in", -900.0), air("out", 1e3, mach=0.31)), bearing(), (), CAUTION, "of pressure: the air goes faster than 0.3"),
    ],
)  # fmt: skip
def test_what_a_tank_bears_as_it_breathes(states: Any, tank: Any, vents: Any, outcome: Outcome, words: str) -> None:
    fillers = {"main": Made(filling_m3_s=None)}
    found = breathing._borne(study(breathing=Breathing(states, ends=("mast",)), vents=vents, fillers=fillers), tank)
    assert (found.outcome, words in plain(found.evidence)) == (outcome, True), plain(found.evidence)
    assert ("mast is the only opening" in plain(found.evidence)) == (outcome is PASS)


def test_rates_that_are_stated_are_told_as_such() -> None:
    given = study(descent_rate=3.0, climb_rate=4.0, fillers={"main": Made(filling_m3_s=1e-3)})
    assert plain(said(breathing._when(given, air("in", 0.0, drawn="")))) == "in a descent of 3.00 m/s"
    assert plain(said(breathing._when(given, air("out", 0.0)))) == "in a climb of 4.00 m/s"
    assert plain(said(breathing._when(given, air("filling", 0.0)))) == "while main is filled at 3600.0 L/h"
    two = Breathing((air("in", -1.0),), ends=("a", "b"))
    assert "only opening" not in plain(breathing._borne(study(breathing=two), bearing()).evidence)


OFF_MAIN = {"main": 0.0, "header": 0.0}


@pytest.mark.parametrize(
    ("kind", "at", "taken_pa"),
    [
        # 500 Pa of suction in the tank that feeds; into a header that has 200 of its own only what is more counts.
        ("gravity", ("main",), 500.0), ("tank", ("main",), 300.0), ("gravity", ("header",), 200.0), ("tank", ("header",), 0.0),
        ("gravity", ("main", "header"), 500.0), ("suction", ("header", "main"), 500.0),
    ],
)  # fmt: skip
def test_how_much_suction_takes(kind: str, at: tuple[str, ...], taken_pa: float) -> None:
    one = fed(kind=kind, end=HEADER if kind == "tank" else ENGINE)
    assert breathing._suction_pa(air("in", -500.0, -200.0), at, one, OFF_MAIN) == taken_pa
    # A column of fuel in the vent's dip comes on top; air that presses takes nothing.
    assert breathing._suction_pa(air("in", -500.0, -200.0), at, one, {"main": 50.0, "header": 50.0}) == pytest.approx(
        taken_pa + 50.0
    )
    assert breathing._suction_pa(air("in", 500.0, 500.0), at, one, OFF_MAIN) == 0.0


def test_what_is_left_of_the_pressure_before_suction() -> None:
    one, two = carried(pressure=3e3), carried(pressure=None, tanks=("b",))
    assert breathing._margins_pa(study(), fed(one, two)) == [(1e3, ("main",))]
    assert breathing._margins_pa(study(), fed(one, kind="tank", free=(carried(pressure=4e3),))) == [(4e3, ("main",))]
    assert breathing._margins_pa(study(), fed(one, kind="tank")) == [(3e3, ("main",))]
    # Before a pump: 54 kPa less what the line takes, less 40 kPa of vapour, in each setting too.
    shut = (in_state(fed(carried(lowest=-2e3, tanks=("b",)), kind="suction")), in_state(fed(carried(lowest=-9e3), kind="suction",
     end=End("p"))),
            in_state(fed(carried(lowest=-9e3))), Missing("suction", "x", "y"))  # fmt: skip
    before = fed(carried(lowest=-1e3), carried(lowest=None), kind="suction")
    assert breathing._margins_pa(study(flow={"boiling": shut}), before) == [(13e3, ("main",)), (12e3, ("b",))]
    assert breathing._margins_pa(study(flow={"boiling": shut}), fed(one)) == [(1e3, ("main",))]
    assert breathing._margins_pa(study(flow={"air_pa": None}), before) == []
    assert breathing._margins_pa(study(flow={"vapour_pa": None}), before) == []


@pytest.mark.parametrize(
    ("states", "pressure", "kind", "outcome", "words"),
    [
        ((air("in", -999.0),), 3e3, "gravity", PASS, "suction takes 1.00 kPa (101.9 mm of water) of 1.00 kPa, the head that is left"),
        ((air("in", -1000.0),), 3e3, "gravity", FAIL, "the head that is left at the flow to show"),
        ((air("in", -1.0), air("in", -1000.0, blocked="mast")), 3e3, "gravity", CAUTION, "mast blocked suction takes 1.00 kPa"),
        ((air("in", -1001.0), air("in", -1000.0, blocked="mast")), 3e3, "gravity", FAIL, "suction takes"),
        ((air("out", -1001.0),), 3e3, "gravity", NOT_CHECKED, "needs a setting of what stands in the vent lines"),
        ((AirState("in", 0.0, "", "", {"header": -9e3}, {}, 0.0),), 3e3, "gravity", NOT_CHECKED, "needs a setting"),
        ((air("in", -1.0),), 2e3, "gravity", NOT_ASKED, "nothing is left even without suction"),
        ((air("in", -1.0),), None, "gravity", NOT_CHECKED, "needs lines that can carry"),
        ((air("in", -12.9e3),), 3e3, "suction", PASS, "of 13.00 kPa, the margin to boiling"),
        ((air("in", -13e3),), 3e3, "suction", FAIL, "the margin to boiling"),
    ],
)  # fmt: skip
def test_what_suction_leaves(states: Any, pressure: float | None, kind: str, outcome: Outcome, words: str) -> None:
    found = breathing._left(study(breathing=Breathing(states)), fed(carried(pressure=pressure), kind=kind), "x")
    assert (found.outcome, words in plain(found.evidence)) == (outcome, True), plain(found.evidence)


# --- tanks that are overfilled


def over(**more: Any) -> Overfill:
    return Overfill(
        **(
            {"source": "main", "by": "by", "tank": "header", "flow_m3_s": 1e-5, "attitude": CRUISE, "pressure_pa": 24e3}
            | more
        )
    )


def held(name: str, filled_l: float | None = None) -> Any:
    one = bearing()
    one.name, one.capacity = name, Made(filled=None if filled_l is None else Made(volume_m3=filled_l / 1e3))
    return one


@pytest.mark.parametrize(
    ("one", "loaded", "outcome", "words", "mend", "spilt_l"),
    [
        # 20 L into a full header of 12 L; all of the main tank runs over.
        (over(), None, FAIL, "Switched on at 12.00 L in header it runs over at once, 20.00 L in all", "a placard does not help", 20.0),
        # Loaded with 15 L beside 2 L: room for 10 L, 1000 s, and 5 L more than that.
        (over(), {"main": 15e-3, "header": 2e-3}, CAUTION, "at 2.00 L in header it runs over after 16.6 min, 5.00 L",
         "a placard does not", 5.0),
        (over(), {"main": 11e-3, "header": 12e-3}, FAIL, "at 12.00 L in header it runs over at once, 11.00 L", "no more than 1.00 L when",
         11.0),
        (over(), {"main": 9.001e-3, "header": 12e-3}, FAIL, "9.00 L in all", "no more than 2.99 L", 9.001),
        (over(), {"main": 8.9e-3, "header": 12e-3}, CAUTION, "8.90 L in all", "no more than 3.10 L", 8.9),
        (over(), {"main": 9e-3, "header": 3e-3}, PASS, "the 9.00 L that main can give find room as it is loaded", "", 0.0),
        (over(), {"main": 9e-3, "header": 3.1e-3}, CAUTION, "runs over after 14.8 min, 100 mL in all", "", 0.1),
        (over(), {"main": 99e-3}, FAIL, "20.00 L in all", "", 20.0), (over(pressure_pa=24.1e3), None, FAIL, "24.10 kPa on its lowest",
         "Use a wider", 0.0),
        (over(stalled=True, setting="valve shut"), None, FAIL, "with valve shut, the most that the pump can make", "", 20.0),
        (over(flow_m3_s=0.0), None, PASS, "by its curve pump brings nothing", "", 0.0),
        (over(pressure_pa=None), None, NOT_CHECKED, "needs vent lines that lead from header overboard: nothing lets out the 36.0 L/h", "",
         0.0),
        (over(attitude=None), None, NOT_CHECKED, "needs vent lines", "", 0.0), (over(tank="tip"), None, NOT_CHECKED,
         "needs the study of tip", "", 0.0),
        (over(source="tip"), None, NOT_CHECKED, "needs what tip can give and what header takes", "", 0.0),
    ],
)  # fmt: skip
def test_a_pump_that_goes_on_when_the_tank_is_full(
    one: Overfill, loaded: Any, outcome: Outcome, words: str, mend: str, spilt_l: float
) -> None:
    given = study(
        part=PUMP, tanks=[held("main", 20.0), held("header", 12.0)], flight=[Made(loaded_m3=loaded)] if loaded else []
    )
    found = overfilling._overfilled(given, one, "x")
    assert (found.outcome, words in plain(found.evidence), mend in plain(found.mend)) == (outcome, True, True), told(
        found
    )
    assert found.cost.volume_m3 == pytest.approx(spilt_l / 1e3)
    assert ("the most that the pump" in plain(found.evidence)) == one.stalled


def test_what_stops_a_pump_or_is_not_known_of_it() -> None:
    stops = study(part=Pump.model_construct(name="pump", stops_when_full=True), tanks=[held("main"), held("header")])
    assert overfilling._overfilled(stops, over(), "x").outcome is PASS
    for main, header in ((None, 12.0), (20.0, None)):
        unknown = study(part=PUMP, tanks=[held("main", main), held("header", header)])
        assert overfilling._overfilled(unknown, over(), "x").outcome is NOT_CHECKED


@pytest.mark.parametrize(
    ("more", "outcome", "words"),
    [
        ({}, PASS, "24.00 kPa"), ({"flow_m3_s": 0.0}, PASS, "24.00 kPa"), ({"lost_m3": 9.001e-3, "lost_from": "tip"}, FAIL,
         "While tip alone feeds, 9.00 L"),
        ({"lost_m3": 8.9e-3}, CAUTION, "8.90 L of its usable fuel"), ({"lost_m3": 8.9e-3, "lost_unknown": "aft"}, NOT_CHECKED,
         "filler or a vent of aft"),
        ({"lost_m3": 9.001e-3, "lost_unknown": "aft"}, FAIL, "9.00 L"), ({"lost_m3": 1e-6}, CAUTION, "1 mL of its usable fuel"),
    ],
)  # fmt: skip
def test_what_an_engine_returns_into_a_full_tank(more: dict[str, Any], outcome: Outcome, words: str) -> None:
    found = overfilling._overfilled(study(tanks=[held("header", 12.0)]), over(by="by", **more), "x")
    assert (found.outcome, words in plain(found.evidence)) == (outcome, True), told(found)
    if outcome in (FAIL, CAUTION):
        assert found.cost.volume_m3 == more["lost_m3"]
        assert (
            f"has room for {'9.01 L' if more['lost_m3'] > 8.95e-3 else '8.90 L' if more['lost_m3'] > 1e-3 else '1 mL'}"
            in plain(found.mend)
        )


@pytest.mark.parametrize(
    ("back_l", "outcome"),
    [(None, NOT_CHECKED), (0.0, PASS), (0.03, PASS), (0.031, CAUTION), (8.9, CAUTION), (9.001, FAIL)],
)
def test_what_runs_back_through_a_pump_that_stands_still(back_l: float | None, outcome: Outcome) -> None:
    given = study(part=PUMP)
    given.layout.design.normal = lambda phase: CRUISE if phase == "flight" else None
    given.overfills = [over(back_m3=None if back_l is None else back_l / 1e3)]
    (found,) = overfilling.transfer_runs_back.judge(given)
    assert (found.outcome, found.where) == (outcome, "header to main")
    assert found.cost.volume_m3 == (back_l / 1e3 if back_l and outcome in (FAIL, CAUTION) else 0.0)
    given.overfills = [over(back_m3=9.0, kept_by="check")]
    assert [told(one)[:2] for one in overfilling.transfer_runs_back.judge(given)] == [(PASS, "check keeps it")]
    given = study()
    given.overfills = [over(back_m3=9.0)]
    assert [one.outcome for one in overfilling.transfer_runs_back.judge(given)] == [NOT_ASKED]


# --- joined tanks


def group(unusable_l: float, own_l: float = 2.0, unknown: tuple[str, ...] = ()) -> Any:
    worst = Made(unusable_m3=unusable_l / 1e3, attitude=CRUISE)
    joined = Made(tanks=("left", "right"), unknown=unknown, through=())
    return Made(
        worst=worst,
        unusable_m3=unusable_l / 1e3,
        own_m3=own_l / 1e3,
        joined=joined,
        usable_m3=0.03,
        fillable_m3=0.04,
        at=(),
    )


@pytest.mark.parametrize(
    ("more_l", "unknown", "outcome"),
    [
        # A twentieth of half an hour, 90 s, is 0.45 L.
        (0.0, (), PASS), (0.0004, (), PASS), (0.001, (), CAUTION), (0.449, (), CAUTION), (0.451, (), FAIL), (0.451, ("selector",),
         NOT_CHECKED),
    ],
)  # fmt: skip
def test_what_joined_tanks_keep_more_than_each_for_itself(
    more_l: float, unknown: tuple[str, ...], outcome: Outcome
) -> None:
    found = exchange._kept(study(), group(2.0 + more_l, unknown=unknown), "left, right")
    assert found.outcome is outcome
    assert found.cost.volume_m3 == pytest.approx(more_l / 1e3 if outcome in (FAIL, CAUTION) else 0.0)
    assert (": 30.00 L are usable of 40.00 L, all together" in plain(found.evidence)) == (outcome in (FAIL, CAUTION))


@pytest.mark.parametrize(
    ("above_m", "over_l", "outcome", "words"),
    [
        (0.0, 0.0, PASS, "full, left stands 0.0 mm below the top"), (-0.1, 0.0, PASS, "100.0 mm below the top of the way by vent to right"),
        (0.001, 0.0, CAUTION, "left stands 1.0 mm above the top"), (0.1, 8.9, CAUTION, "3.00 L run into it, and 8.90 L overboard"),
        (0.1, 9.001, FAIL, "9.00 L overboard from there"),
    ],
)  # fmt: skip
def test_a_full_tank_that_runs_into_another(above_m: float, over_l: float, outcome: Outcome, words: str) -> None:
    one: Any = Made(
        tank="left", into="right", above_m=above_m, line="vent", attitude=CRUISE, into_m3=3e-3, over_m3=over_l / 1e3
    )
    found = exchange._crossed(study(), one)
    assert (found.outcome, words in plain(found.evidence), bool(found.mend)) == (outcome, True, outcome is not PASS), (
        told(found)
    )
    assert found.cost.volume_m3 == (over_l / 1e3 if outcome is not PASS else 0.0)


def turn(lasts_s: float, promised_s: float = 600.0, until_s: float = 600.0, tank: str = "left") -> Any:
    return Made(
        promised_s=promised_s,
        until_s=until_s,
        lasting=Lasting(5e-3, lasts_s, 1e-3, "air"),
        tank=tank,
        switch="low",
        held_m3=3e-3,
        after=None,
    )


@pytest.mark.parametrize(
    ("lasts_s", "held_s", "outcome", "words"),
    [
        # Six seconds are let off, but not of an attitude that it is to outlast; half a minute is a caution.
        (594.0, None, None, ""), (593.9, None, CAUTION, "stops after 9.8 min of 10.0 that are promised, 1.00 L still aboard: air"),
        (570.0, None, CAUTION, "from the trip of left switch low, with 3.00 L in its tank, turned"), (569.0, None, FAIL, "5.00 L in all"),
        (60.0, 60.0, None, ""), (59.99, 60.0, FAIL, "at the end of what is promised, turned into"), (50.0, 60.0, FAIL,
         "stops after 50 s of 60 s that it"),
    ],
)  # fmt: skip
def test_a_turn_from_which_the_engine_stops_sooner(
    lasts_s: float, held_s: float | None, outcome: Outcome | None, words: str
) -> None:
    at = Made(
        attitude=Attitude("slip", "flight", held_s=held_s),
        lamps=(turn(lasts_s),),
        reserve=turn(9e3, tank=""),
        full=None,
        held=None,
    )
    one = group(2.0)
    one.at = (at,)
    found = exchange._outlasted(study(), one, "left, right")
    assert found.outcome is (PASS if outcome is None else outcome)
    assert words in plain(found.evidence)
    if outcome is None:
        assert plain(found.evidence).startswith(
            "1 turns at a lamp's trip and 1 with half an hour's fuel, at 1 flight attitudes"
        )
    one.joined.unknown = ("selector",)
    assert exchange._outlasted(study(), one, "left, right").outcome is (PASS if outcome is None else NOT_CHECKED)


def test_turns_are_counted_and_the_worst_of_them_is_told() -> None:
    at = Made(
        attitude=Attitude("slip", "flight"),
        lamps=(turn(500.0), turn(580.0)),
        reserve=turn(400.0, tank=""),
        full=None,
        held=None,
    )
    one = group(2.0)
    one.at = (at,)
    evidence = plain(exchange._outlasted(study(), one, "x").evidence)
    assert evidence.startswith(
        "with fuel for 10.0 min above the 2.00 L that the tanks keep for themselves, turned into slip"
    )
    assert evidence.endswith("; so in 2 more such turns")
    at.reserve = None
    assert exchange._outlasted(study(), one, "x").outcome is NOT_CHECKED


# --- failures


def flown(end_s: float, stopped: str = "", *warned: Warned) -> Flown:
    return Flown(("main",), np.array([0.0, end_s]), np.zeros((2, 1)), np.zeros(2),
                 np.zeros(2), (), warned, stopped)  # fmt: skip


@pytest.mark.parametrize(
    ("usual_s", "stopped", "end_s", "away"),
    [
        (None, "", 600.0, False),
        (700.0, "", 639.0, True),
        (700.0, "", 640.0, False),
        (700.0, "air", 600.0, False),
        (600.0, "", 700.0, False),
    ],
)
def test_whether_a_failure_takes_fuel_away(usual_s: float | None, stopped: str, end_s: float, away: bool) -> None:
    usual = None if usual_s is None else flown(usual_s, stopped)
    assert failing._takes_away(usual, flown(end_s, "air")) is away


@pytest.mark.parametrize(
    ("one", "words"),
    [
        (Failing("x", flown(700.0, "air")), "the engine stops after 11.6 min with no lamp lit before"),
        (Failing("x", None), None),
    ],
)  # fmt: skip
def test_when_the_engine_stops(one: Failing, words: str | None) -> None:
    if words is not None:
        assert one.flown is not None
        assert failing._told(one, one.flown) == words
    found = Failures(("the flight stated",), None, (one,))
    verdict = failing._judged(found, one)
    assert verdict.outcome is (NOT_CHECKED if words is None else CAUTION)
