"""Where flights and feeds are asked by hand, on what is made up: a world's parts and doubts, a leg's gaps, dry lines, drowned vents."""

from __future__ import annotations

from math import inf
from types import SimpleNamespace as Made
from typing import Any

import numpy as np
import pytest

from fuelsys.analysis.flights import legs, levelled, setting
from fuelsys.analysis.lines import dry, in_flight
from fuelsys.errors import QuestionError
from fuelsys.kernels.steady import NotSteadyError
from fuelsys.model.built.ends import ComponentEnd, PortEnd
from fuelsys.model.stated.attitude import Attitude
from fuelsys.model.stated.components import Engine, Filter, Pump, Selector, Tee

CRUISE, CLIMB = Attitude("cruise", "flight", normal=True), Attitude("climb", "flight", 0.1)
A, B, ENGINE = PortEnd("a", "out"), PortEnd("b", "out"), ComponentEnd("engine")
World = setting.World


def engine(**more: Any) -> Engine:
    return Engine.model_construct(name="engine", **({"inlet_pressure_pa": None, "return_flow_m3_s": None} | more))


def pump(curve: Any) -> Pump:
    return Pump.model_construct(name="lift", curve=curve)


# --- a world


@pytest.mark.parametrize(
    ("tanks", "returns", "back"),
    [((), None, 0.0), ((), 2.0, 0.0), (("a",), 2.0, 2.0), (("a",), 0.0, 0.0), (("a",), None, None)],
)
def test_what_a_world_s_engine_sends_back(tanks: Any, returns: float | None, back: float | None) -> None:
    one: Any = Made(
        layout=Made(network=Made(return_tanks=lambda end: tanks)), engine=ENGINE, engine_part=engine(return_flow_m3_s=returns),
        missing=lambda needs: QuestionError(needs, mend=""),
    )  # fmt: skip
    if back is None:
        with pytest.raises(QuestionError, match="return_flow"):
            World.back_m3_s.func(one)
    else:
        assert World.back_m3_s.func(one) == back


@pytest.mark.parametrize(
    ("ends", "told"),
    [([ENGINE], ""), ([], "there is none"), ([ENGINE, ComponentEnd("two")], "there are 2"), ([A], "there is none")],
)
def test_a_flight_needs_one_engine(ends: Any, told: str) -> None:
    nodes = {ENGINE: engine(), ComponentEnd("two"): engine(), A: None}
    network = Made(ways=lambda kind: [Made(end=end) for end in ends], nodes=nodes)
    one: Any = Made(layout=Made(network=network), missing=lambda needs: QuestionError(needs, mend=""))
    if told:
        with pytest.raises(QuestionError, match=told):
            World.engine.func(one)
    else:
        assert World.engine.func(one) == ENGINE


@pytest.mark.parametrize(
    ("part", "inlet_pa", "feed", "start", "wanted"),
    [
        # A line from 3 m down to the engine at 1 m, or drawn the other way; 7 kPa for a metre.
        (pump([(0.0, 1.0)]), 5e3, "pump", False, 12e3), (pump([(0.0, 1.0)]), 5e3, "pump", True, 26e3), (pump(None), 5e3, "pump", False,
         None),
        (pump([(0.0, 1.0)]), None, "pump", False, None), (pump([(0.0, 1.0)]), None, "gravity", False, 7e3), (None, 5e3, "gravity", False,
         12e3),
        (None, None, "pump", False, None), (pump(None), 5e3, "gravity", False, None),
    ],
)  # fmt: skip
def test_what_an_engine_asks_for(
    part: Any, inlet_pa: float | None, feed: str, start: bool, wanted: float | None
) -> None:
    line = Made(points_m=np.array([[0.0, 0.0, 3.0], [0.0, 0.0, 1.0]]), start=ENGINE if start else A)
    ways = [Made(end=ENGINE, through=("p",)), Made(end="another", through=("mechanical",))]
    nodes = {"p": part, "mechanical": pump(None)}
    network = Made(nodes=nodes, ways=lambda kind: ways, lines_at=lambda end, kind: [line])
    one: Any = Made(
        engine=ENGINE,
        engine_part=engine(inlet_pressure_pa=inlet_pa),
        layout=Made(network=network, design=Made(aircraft=Made(feed=feed))),
    )
    found = World.needed_pa(one, CRUISE, 7e3)
    assert found == (None if wanted is None else pytest.approx(wanted))


@pytest.mark.parametrize(
    ("tanks", "wrong", "stated", "back", "on", "wanted"),
    [
        ((), None, None, 1.0, {}, ""), (("a",), None, None, 1.0, {}, "a"), (("a", "b"), None, "b", 1.0, {}, "b"), (("a", "b"), "a", "b",
         1.0, {}, "a"),
        (("a", "b"), None, None, 0.0, {}, "a"), (("a", "b"), None, None, 1.0, {"s": "b"}, "b"), (("a", "b"), None, None, 1.0,
         {"s": "both"}, None),
        (("a", "b"), None, None, 1.0, {"plain": "b"}, None), (("a",), None, "c", 1.0, {}, None), ((), None, "c", 1.0, {}, None),
    ],
)  # fmt: skip
def test_where_a_return_goes(tanks: Any, wrong: Any, stated: Any, back: float, on: Any, wanted: str | None) -> None:
    nodes = {
        "s": Selector.model_construct(name="s", switches_return=True), "plain": Selector.model_construct(name="plain",
         switches_return=False),
        "t": Tee.model_construct(name="t"),
    }  # fmt: skip
    layout = Made(network=Made(return_tanks=lambda end: set(tanks), nodes=nodes), file="design.toml")
    one: Any = Made(layout=layout, engine=ENGINE, back_m3_s=back, missing=lambda needs: QuestionError(needs, mend=""))
    asked: Any = Made(returns_to=stated, name="climb"), Made(returns_to=wrong), on
    if wanted is None:
        with pytest.raises(QuestionError):
            World.back_to(one, *asked)
    else:
        assert World.back_to(one, *asked) == wanted


@pytest.mark.parametrize(
    ("part", "inlet_pa", "vented", "starved", "vent_lines", "both", "told"),
    [
        (None, None, True, (), 2, False, []), (Filter.model_construct(name="fine", drop_pa=None), None, True, (), 2, False,
         ["the drop of fine"]),
        (Filter.model_construct(name="fine", drop_pa=1.0), None, True, (), 2, False, []), (pump(None), None, True, (), 2, False,
         ["the curve of lift"]),
        (pump([1]), None, True, (), 2, False, ["inlet_pressure"]), (pump([1]), 1.0, True, (), 2, False, []), (None, None, False, (), 2,
         False, ["shows no vent"]),
        (None, None, True, (("a", "b"),), 2, False, ["into a, b past a check valve"]), (None, None, True, (), 3, False,
         ["joins two of its vent lines;"]),
        (None, None, True, (), 3, True, ["or all;"]),
    ],
)  # fmt: skip
def test_what_a_flight_counts_as_nothing(
    part: Any, inlet_pa: Any, vented: bool, starved: Any, vent_lines: int, both: bool, told: list[str]
) -> None:
    nodes = {"p": part, "s": Selector.model_construct(name="s", both=both)}
    network = Made(
        nodes=nodes,
        ways=lambda kind: [Made(through=("p",) if part else ())],
        lines_at=lambda end, kind: [0] * (vent_lines if kind == "vent" else 9),
    )
    layout = Made(network=network, tanks=[Made(name="a", design=Made(vent=(1,) if vented else ()))])
    one: Any = Made(layout=layout, engine_part=engine(inlet_pressure_pa=inlet_pa), airless=lambda *given: starved)
    found = [str(doubt) for doubt in World.doubts(one)]
    assert len(found) == len(told)
    assert all(needle in doubt for needle, doubt in zip(told, found, strict=True))


@pytest.mark.parametrize(
    ("stated", "full", "loaded", "wanted"),
    [(None, 4.0, 1.0, 4.0), (None, None, 1.0, 5.0), (3.0, 4.0, 1.0, 3.0), (5.0, 4.0, 1.0, 5.0), (5.1, 4.0, 1.0, None), (4.0, 4.0, 0.5,
     2.0), (0.0, 4.0, 1.0, 0.0)],
)  # fmt: skip
def test_what_a_flight_begins_with(
    monkeypatch: pytest.MonkeyPatch, stated: Any, full: Any, loaded: float, wanted: float | None
) -> None:
    monkeypatch.setattr(setting, "filled", lambda layout, tank, ground: None if full is None else Made(volume_m3=full))
    layout = Made(
        design=Made(normal=lambda phase: CRUISE), tanks=[Made(name="a", cavity=Made(gross_m3=5.0))], file="design.toml"
    )
    first: Any = Made(name="climb", loaded_m3={} if stated is None else {"a": stated})
    if wanted is None:
        with pytest.raises(QuestionError, match=r"5100\.000 L are loaded, the tank holds 5000\.000 L"):
            World.loaded(Made(layout=layout), first, Made(loaded=loaded))  # type: ignore[arg-type]
    else:
        assert World.loaded(Made(layout=layout), first, Made(loaded=loaded)) == {"a": wanted}  # type: ignore[arg-type]


def test_the_parts_of_a_flight_that_is_not_stated() -> None:
    places: dict[str, Any] = {"s": ("a", "b"), "t": ("both",)}
    design = Made(flight=(), normal=lambda phase: CRUISE, fuel=Made(reserve_phase="cruise"))
    one: Any = Made(layout=Made(design=design), places=places)

    def told(upset: Any = None) -> list[Any]:
        return [(part.name, part.selectors) for part in World.segments(one, upset)]

    assert told() == [("cruise, s on a", {"s": "a", "t": "both"}), ("cruise, s on b", {"s": "b", "t": "both"})]
    assert told(Made(selectors={"s": "off"})) == [("cruise", {"t": "both"})]
    places["s"] = ("both",)
    assert told() == [("cruise", {"s": "both", "t": "both"})]
    design.flight = ("stated",)
    assert World.segments(one) == ("stated",)


@pytest.mark.parametrize(
    ("both", "behind", "places"),
    [(True, [("a",), ("b",)], ("both",)), (False, [("a",), ("b",)], ("a", "b")), (None, [("b",), ("a",)], ("a", "b")), (False, [("a",),
    ("a",)], ("both",)),
     (False, [("a", "b")], ("a", "b"))],
)  # fmt: skip
def test_where_selectors_stand(monkeypatch: pytest.MonkeyPatch, both: Any, behind: Any, places: Any) -> None:
    end = ComponentEnd("s")
    monkeypatch.setattr(setting, "tanks_behind", lambda network, line: line.behind)
    lines = [Made(end=end, behind=some) for some in behind] + [Made(end="on", behind=("c",))]
    network = Made(
        nodes={end: Selector.model_construct(name="s", both=both), "t": None}, lines_at=lambda at, kind: lines
    )
    assert World.places.func(Made(layout=Made(network=network), names=("a", "b", "c"))) == {"s": places}


@pytest.mark.parametrize(
    ("pumps", "stopped", "runs"),
    [
        (None, set(), {"lift", "two"}),
        (None, {"two"}, {"lift"}),
        (("lift",), set(), {"lift"}),
        ((), set(), set()),
        (("lift",), {"lift"}, set()),
    ],
)
def test_what_is_set_in_a_part_of_a_flight(
    monkeypatch: pytest.MonkeyPatch, pumps: Any, stopped: Any, runs: Any
) -> None:
    asked: list[Any] = []
    monkeypatch.setattr(setting, "Plumbed", Made(of=lambda network, fluid, positions, kept: asked.append(positions)))
    monkeypatch.setattr(setting, "Leg", lambda *given: given)
    monkeypatch.setattr(setting, "hot_vapour_pa", lambda kind, pressure: 9.0)
    monkeypatch.setattr(setting, "room_m3", lambda standings, held: sum(held))
    nodes = {
        "p": pump([1]),
        "q": Pump.model_construct(name="two", curve=[1]),
        "r": Pump.model_construct(name="mechanical", curve=None),
    }
    design = Made(envelope=(CRUISE, CLIMB), flows_m3_s={"cruise": 3.0}, fuel=Made(kind="mogas", reid_pressure_pa=None))
    one: Any = Made(
        layout=Made(design=design, network=Made(nodes=nodes)), places={"s": ("a", "b")}, names=("a", "b"), standing=lambda name,
         attitude: (name, attitude.name),
        airless=lambda shut, selectors, blocked: (("a", "b"),), solving=Made(density_kg_m3=700.0, fluid=None), engine=ENGINE, back_m3_s=1.0,
        back_to=lambda *given: "a", needed_pa=lambda attitude, head: head, _plumbed={},
    )  # fmt: skip
    segment: Any = Made(attitude="climb", pumps=pumps, selectors={}, shut=("v",), flow="cruise")
    upset: Any = Made(
        attitude=None,
        selectors={"s": "b"},
        shut=frozenset({"w"}),
        stopped=stopped,
        dry=(),
        half=(),
        leaking=(),
        blocked=frozenset(),
    )
    kept: dict[Any, float] = {}
    found: Any = World.leg(one, segment, upset, {"a": 1.0, "b": 2.0}, kept)
    assert (asked[0].selectors, asked[0].shut, asked[0].pumps) == ({"s": "b"}, {"v", "w"}, runs)
    assert found[0] == CLIMB
    assert found[4:7] == (3.0, 1.0, "a")
    assert found[7:] == (pytest.approx(700.0 * 9.80665), pytest.approx(700.0 * 9.80665), ((("a", "b"), 3.0),), 9.0)
    World.leg(one, segment, upset, {"a": 9.0, "b": 9.0}, kept)
    assert kept == {("a", "b"): 3.0}  # its room is that of when it was shut in
    upset.attitude = CRUISE
    turned: Any = World.leg(one, segment, upset, {"a": 1.0, "b": 2.0})
    assert turned[0] == CRUISE


# --- a leg's gaps


@pytest.mark.parametrize(
    ("full", "over", "under", "here", "loose"),
    [(True, False, True, np.nan, True), (True, False, True, 1.0, False), (False, False, True, np.nan, False), (True, True, True, np.nan,
     False), (True, False, False, np.nan, False)],
)  # fmt: skip
def test_a_full_tank_on_which_nothing_presses(full: bool, over: bool, under: bool, here: float, loose: bool) -> None:
    leg: Any = Made(modes={"a": legs.Mode({A} if under else set(), full=full, over=over)})
    assert legs.Leg._loose(leg, Made(potential_pa={"a": here})) == ({"a"} if loose else set())  # type: ignore[arg-type]
    assert legs.Leg._covered(leg, A) is under
    leg.modes["b"] = legs.Mode({B})
    assert legs.Leg._covered(leg, A) is under
    assert legs.Leg._covered(leg, B)


@pytest.mark.parametrize(
    ("full", "over", "loose", "level", "pressed"),
    [(False, False, False, 2e3 + 50.0, False), (True, False, False, None, True), (True, True, False, 5e3 + 50.0, True), (True, False,
     True, 2e3 + 50.0, False), (False, False, True, 2e3 + 50.0, False)],
)  # fmt: skip
def test_where_a_surface_stands(full: bool, over: bool, loose: bool, level: float | None, pressed: bool) -> None:
    standing = Made(lips={"out": (1.0, 0.5)}, level_m=lambda held: held, spill_m=5.0)
    leg: Any = Made(
        modes={"a": legs.Mode({A}, full=full, over=over)},
        standings={"a": standing},
        head_pa_m=1e3,
        plumbed=Made(ports={"a": (A,)}),
    )
    found = legs.Leg._surface(leg, "a", 2.0, 50.0, 3.0, loose)
    assert found == legs.Surface(level, frozenset({A}), {A: 550.0}, 3.0, None, pressed)


@pytest.mark.parametrize(
    ("mode", "here", "loose", "closed", "whole", "wanted"),
    [
        # 3 come and 1 goes; full to 4 m, over at 5 m, with 50 Pa of air; a lip at half a metre.
        (legs.Mode(over=True), 1.0, False, False, False, [("stops running over", 2.0)]),
        (legs.Mode(full=True), 4.2e3, True, False, False, [("falls", 2.0), ("runs over", -2.0)]),
        (legs.Mode(full=True), np.nan, False, False, False, [("falls", 2.0), ("runs over", -2.0)]),
        (legs.Mode(full=True), 4.2e3, False, False, False, [("falls", 150.0), ("runs over", 850.0)]),
        (legs.Mode(full=True), 4.2e3, False, True, False, [("falls", 150.0)]), (legs.Mode(full=True), 4.2e3, False, True, True, [("falls",
         150.0), ("runs over", 850.0)]),
        (legs.Mode(passes=A), 400.0, False, False, False, [("fills", 150.0), ("falls short", 7.0)]),
        (legs.Mode(passes=A), np.nan, False, False, False, [("fills", inf), ("falls short", 7.0)]), (legs.Mode(), 1.0, False, False,
         False, []),
    ],
)  # fmt: skip
def test_what_must_hold_for_a_tank(mode: Any, here: float, loose: bool, closed: bool, whole: bool, wanted: Any) -> None:
    leg: Any = Made(
        modes={"a": mode}, standings={"a": Made(spill_m=5.0, level_m=lambda held: held)}, head_pa_m=1e3, closed=lambda tank: closed,
        whole={"a": 1} if whole else {}, plumbed=Made(over_m3_s=lambda *given: 7.0), most_m3={"a": 4.0},
    )  # fmt: skip
    leg._top_pa = legs.Leg._top_pa.__get__(leg)
    surface: Any = Made(comes_m3_s=3.0, lips_pa={A: 550.0})
    solved: Any = Made(gets_m3_s={"a": -1.0}, potential_pa={"a": here})
    found = legs.Leg._gaps(leg, "a", surface, solved, 50.0, loose)
    assert [(one.what, one.value) for one in found] == [
        (what, pytest.approx(value, abs=1e-5)) for what, value in wanted
    ]
    assert all(
        one.value > wanted[k][1] for k, one in enumerate(found) if wanted[k][1] != inf and one.what != "falls short"
    )


@pytest.mark.parametrize(
    ("fed", "needed", "airless", "vapour", "wanted"),
    [
        (False, 5e3, (1,), 6e4, []), (True, None, (), 6e4, [("lets air past", 9e3 - 2e3)]), (True, 5e3, (), None, [("too little", 4e3),
        ("lets air past", 7e3)]),
        (True, None, (1,), 6e4, [("boils", 2e3 + legs.SEA_LEVEL_PA - 6e4), ("lets air past", 7e3)]), (True, None, (1,), None,
         [("lets air past", 7e3)]),
    ],
)  # fmt: skip
def test_what_must_hold_for_the_engine(fed: bool, needed: Any, airless: Any, vapour: Any, wanted: Any) -> None:
    leg: Any = Made(
        needed_pa=needed, airless=airless, vapour_pa=vapour, plumbed=Made(piping=Made(node=lambda end, side: (end, side))), engine=ENGINE,
         head_pa_m=1e3,
        attitude=CRUISE, _dry_branches=lambda: {A: (("tee", "in"), 2.0)},
    )  # fmt: skip
    solved: Any = Made(fed=fed, at=lambda node: 9e3, flowing=Made(lowest_pa=lambda head, up: 2e3))
    assert [(one.what, one.value) for one in legs.Leg._engine_gaps(leg, solved)] == [
        (what, pytest.approx(value)) for what, value in wanted
    ]


# --- tanks at one level


@pytest.mark.parametrize(
    ("drive_m", "stops", "level_m"),
    [
        # Outlet a ends for itself at 1.0; b's roof stands at 0.8, what b's outlets leave at 0.9 under the port.
        (0.1, 0.5, 1.0), (0.2, 0.5, 1.0), (0.3, 0.5, 1.2), (0.1, inf, 1.0), (0.05, inf, 1.0), (0.0, 0.5, 1.0),
    ],
)  # fmt: skip
def test_where_an_outlet_ends_for_the_tank_it_runs_into(drive_m: float, stops: float, level_m: float) -> None:
    into = PortEnd("b", "in")
    one: Any = Made(
        _alone={A: 1.0},
        tilted={"b": Made(high_m=0.3)},
        _centres={"b": 0.5},
        _left_under_m=lambda end, lowest, stops: 0.9,
    )
    assert list(levelled.Levelled._through(one, A, {into: drive_m, None: 0.0}, {B: stops, A: 0.1})) == [
        pytest.approx(level_m)
    ]


# --- air through an empty line


@pytest.mark.parametrize(("margin", "air"), [(0.1, False), (0.0, True), (-0.1, True), (None, True), ("swings", True)])
def test_a_dry_line_that_cannot_be_judged_lets_air_in(monkeypatch: pytest.MonkeyPatch, margin: Any, air: bool) -> None:
    def found(*given: Any) -> Any:
        if margin == "swings":
            raise NotSteadyError
        return None if margin is None else Made(margin_pa=margin)

    monkeypatch.setattr(dry, "_dry", found)
    assert dry.lets_air_in(Made(drawn_m3_s=lambda end: 1.0), ENGINE, A, (B,), CRUISE) is air  # type: ignore[arg-type]


def drained(*names: str) -> list[Any]:
    return [Made(end=end, line=Made(name=f"{name} {end}")) for name, end in zip(names[::2], names[1::2], strict=True)]


@pytest.mark.parametrize(
    ("part", "meets"),
    [
        (None, True),
        (Selector.model_construct(name="s", both=True), True),
        (Selector.model_construct(name="s", both=False), False),
        (Selector.model_construct(name="s", both=None), False),
    ],
)
def test_lines_that_meet_at_a_selector_that_chooses(part: Any, meets: bool) -> None:
    one, two = drained("one", "s", "on", "engine"), drained("two", "s", "on", "engine")
    ways = [
        Made(start=A, end=ENGINE, shortest=one),
        Made(start=B, end=ENGINE, shortest=two),
        Made(start=A, end="other", shortest=[]),
    ]
    network = Made(ways=lambda kind, stops: ways, nodes={"s": part, "engine": None, "tee": None})
    solving: Any = Made(layout=Made(network=network), stops=())
    assert dry._meet(solving, A, B, ENGINE) is meets
    # By the same line into the selector they met before.
    ways[0].shortest, ways[1].shortest = drained("one", "tee", "x", "s"), drained("two", "tee", "x", "s")
    assert dry._meet(solving, A, B, ENGINE)
    ways[0].shortest, ways[1].shortest = drained("x", "s"), drained("x", "s")
    assert dry._meet(solving, A, B, ENGINE)


def test_the_margin_of_a_dry_line() -> None:
    def step(end: str, *heights_m: float) -> Any:
        return Made(end=end, points_m=np.array([[0.0, 0.0, height] for height in heights_m]))

    own = [step("strainer", 3.0, 0.5), step("tee", 0.5, 1.0), step("engine", 1.0, -4.0)]
    ways = [
        Made(start=A, end="other", shortest=[], steps=[]), Made(start=A, end=ENGINE, shortest=own, steps=own),
        Made(start=B, end=ENGINE, shortest=own[2:], steps=[step("tee", 2.0), own[2]]), Made(start="c", end=ENGINE, steps=[own[0]],
         shortest=[]),
    ]  # fmt: skip
    asked: list[Any] = []
    state: Any = Made(at=lambda node: {("tee", "in"): 9e3}[node])
    piping = Made(
        solved=lambda given, drawn, usual: asked.append((given, drawn, usual)) or state,
        node=lambda end, side: (end, side),
    )
    solving: Any = Made(
        piping=piping, stops=(), layout=Made(network=Made(ways=lambda kind, stops: ways)), given_pa=lambda chosen, attitude: chosen,
        head_pa=lambda level, attitude: 1e3 * level,
    )  # fmt: skip
    found = dry._dry(solving, ENGINE, A, (B,), 2.0, CRUISE)
    assert found is not None
    assert (found.feeding, found.margin_pa) == ("b", pytest.approx(8.5e3))
    assert asked == [((B,), {(ENGINE, "in"): 2.0}, 2.0)]
    piping.solved = lambda *given: None
    assert dry._dry(solving, ENGINE, A, (B,), 2.0, CRUISE) is None


@pytest.mark.parametrize(
    ("back", "others", "kinds", "lets_in", "unknown", "wanted"),
    [
        (0.0, 2, Engine, True, "", {"out": ("two",), "two": ("out",)}), (0.0, 2, Engine, False, "", {}), (0.0, 1, Engine, True, "", {}),
        (0.0, 2, Tee, True, "", {}),
        (0.0, 2, Engine, False, "its flow", {"out": ("two",), "two": ("out",)}), (0.0, 2, Pump, True, "", {"out": ("two",), "two": ("out",
         )}),
    ],
)  # fmt: skip
def test_outlets_that_end_each_other(
    monkeypatch: pytest.MonkeyPatch, back: float, others: int, kinds: Any, lets_in: bool, unknown: str, wanted: Any
) -> None:
    two = PortEnd("a", "two")
    monkeypatch.setattr(dry, "sources_of", lambda layout, end: [A, two, B][: others + 1] if others > 1 else [A, B])
    monkeypatch.setattr(dry, "_meet", lambda *given: True)
    monkeypatch.setattr(dry, "_unknown", lambda solving: unknown)
    monkeypatch.setattr(dry, "lets_air_in", lambda solving, end, dry, others, attitude: lets_in and attitude is CLIMB)
    nodes = {ENGINE: kinds.model_construct(name="engine"), ComponentEnd("again"): kinds.model_construct(name="again")}
    solving: Any = Made(layout=Made(network=Made(nodes=nodes)), flight=(CRUISE,), combined=(CLIMB,), back_m3_s=back)
    tank: Any = Made(name="a", design=Made(outlet=(1, 2)))
    found = dry.ended_by(solving, tank)
    assert {name: one.others for name, one in found.items()} == wanted
    assert {one.needs for one in found.values()} <= {unknown}
    tank.design.outlet = (1,)
    assert dry.ended_by(solving, tank) == {}


@pytest.mark.parametrize(
    ("tanks", "part", "back", "apart", "wanted"),
    [
        (("a", "b"), engine(), 1.0, True, [("a", 5.0), ("b", 4.0)]), (("a", "a"), engine(), 1.0, True, []), (("a", "b"),
         Tee.model_construct(name="t"), 1.0, True, []),
        (("a", "b"), engine(), None, True, []), (("a", "b"), pump([1]), 0.0, True, [("a", 5.0), ("b", 4.0)]), (("a", "b"), engine(), 1.0,
         False, []),
    ],
)  # fmt: skip
def test_outlets_that_may_run_dry_beside_others(
    monkeypatch: pytest.MonkeyPatch, tanks: Any, part: Any, back: float | None, apart: bool, wanted: Any
) -> None:
    ends = (PortEnd(tanks[0], "out"), PortEnd(tanks[1], "out"))
    asked: list[Any] = []

    def found(solving: Any, end: Any, one: Any, feeding: Any, needed: float, attitude: Attitude) -> Any:
        asked.append((needed, [other.tank for other in feeding], one.tank))
        margins = {("a", CRUISE): 6.0, ("a", CLIMB): 5.0, ("b", CRUISE): 4.0, ("b", CLIMB): None}
        margin = margins[one.tank, attitude]
        return None if margin is None else Made(margin_pa=margin, tank=one.tank)

    monkeypatch.setattr(dry, "_dry", found)
    monkeypatch.setattr(dry, "sources_of", lambda layout, end: ends)
    solving: Any = Made(
        layout=Made(network=Made(nodes={ENGINE: part})), back_m3_s=back, take_off_m3_s=3.0, together=lambda end: [ends[:1],
         ends] if apart else [ends[:1]],
        flight=(CRUISE,), combined=(CLIMB,),
    )  # fmt: skip
    assert [(one.tank, one.margin_pa) for one in dry.dry_branches(solving)] == wanted  # type: ignore[attr-defined]
    assert all(needed == 3.0 + (back or 0.0) and own not in beside for needed, beside, own in asked)


# --- drowned vents


@pytest.mark.parametrize(
    ("above_m", "lost", "siphoned", "fuel", "wanted"),
    [((-0.1, 0.1), 2.0, 3.0, 9.0, (2.0, 3.0)), ((-0.1, 0.1), 2.0, 3.0, 2.5, (2.0, 2.5)), ((-0.1, 0.1), 2.0, 3.0, 1.0, (1.0, 1.0)), ((0.0,
     -0.1), 2.0, 3.0, 9.0, (0.0, 0.0)), ((), 2.0, 3.0, 9.0, (0.0, 0.0))],
)  # fmt: skip
def test_no_more_runs_out_than_there_is(
    monkeypatch: pytest.MonkeyPatch, above_m: Any, lost: float, siphoned: float, fuel: float, wanted: Any
) -> None:
    monkeypatch.setattr(in_flight, "runs_out", lambda vessels, up, level: Made(lost_m3=lost, siphoned_m3=siphoned))
    at: Any = Made(vents=[Made(above_m=one) for one in above_m], attitude=CRUISE, level_m=1.0)
    found = in_flight._spilled(at, (), fuel)
    assert (found.lost_m3, found.siphoned_m3) == wanted


@pytest.mark.parametrize(
    ("overboard", "taken", "fuel", "first", "wanted"),
    [(("high",), 3.0, 9.0, "high", 3.0), (("high",), 3.0, 2.0, "high", 2.0), ((), 3.0, 9.0, "low", 3.0), (("high", "low"), 3.0, 9.0,
     "low", 3.0), (("high",), None, 9.0, "high", None)],
)  # fmt: skip
def test_what_must_leave_until_a_vent_comes_free(
    monkeypatch: pytest.MonkeyPatch, overboard: Any, taken: Any, fuel: float, first: str, wanted: Any
) -> None:
    """Vents 0.3 and 0.1 m under fuel: the one that lies least deep, of those that lead overboard."""
    high, low = PortEnd("a", "high"), PortEnd("a", "low")
    asked: list[Any] = []
    monkeypatch.setattr(in_flight, "taken_m3", lambda vessels, up, level, spot: asked.append((vessels, spot)) or taken)
    one: Any = Made(
        overboard=[Made(start=PortEnd("a", name)) for name in overboard], unled=set(), openings={"a": (high, low), "b": ()},
        layout=Made(tank=lambda name: Made(name=name, spot=lambda port: port)), full={"a": Made(volume_m3=fuel), "b": None},
        _vessel=lambda tank, joined, outlets: (tank.name, joined, outlets),
    )  # fmt: skip
    group: Any = Made(joined=Made(tanks=("b", "a")))
    at: Any = Made(attitude=CRUISE, settled=Made(level_m=1.0))
    assert in_flight._Flying._until_free(one, "a", group, at, {high: 0.3, low: 0.1}) == wanted
    assert asked == [([("a", True, True), ("b", True, True)], first)]
    assert in_flight._Flying._until_free(one, "b", group, at, {}) is None


def test_whose_air_is_found_drowned() -> None:
    """Vents of a are 2 and 1 m under fuel in one group, 3 and -1 in another; known groups and unknown ones are told apart."""
    one_end, two_end = PortEnd("a", "one"), PortEnd("a", "two")
    depths: dict[Any, Any] = {
        ("g", 0): (2.0, 1.0),
        ("g", 1): (3.0, 1.5),
        ("u", 0): (5.0, 4.0),
        ("u", 1): (-1.0, 0.5),
        ("other", 0): (9.0, 9.0),
    }

    def group(name: str, unknown: tuple[str, ...] = (), tanks: Any = ("a",), at: Any = (CRUISE, CLIMB)) -> Any:
        return Made(
            name=name, joined=Made(tanks=tanks, unknown=unknown), at=[Made(attitude=attitude) for attitude in at]
        )

    groups = [group("g"), group("u", ("s",)), group("other", tanks=("b",), at=(CRUISE,)), group("none", at=())]
    one: Any = Made(
        openings={"a": (one_end, two_end)}, groups=groups, layout=Made(design=Made(envelope=(CRUISE,))),
        _breathing=lambda depth: {"a"} if min(depth.values()) < 0.0 else set(), _levels=lambda group, index: (group.name, index),
        _depths=lambda level, attitude: dict(zip((one_end, two_end), depths[level], strict=True)), _feeding_with=lambda joined: (),
        _drowned=lambda tank, group, index, own, stated: (group.name, index, tuple(vent.above_m for vent in own), stated),
    )  # fmt: skip
    found: Any = in_flight._Flying._tank(one, Made(name="a"))  # type: ignore[arg-type]
    assert found is not None
    told = list(vars(found).values())
    # No known group has it breathe anywhere: no margin is told; the worst of each kind is that with the least deep vent deepest.
    assert told[:3] == ["a", 0.0, CRUISE]
    assert told[3] == ("g", 1, (3.0, 1.5), (CRUISE,))
    assert told[4] == ("u", 0, (5.0, 4.0), (CRUISE,))
    assert told[5] == ()
    depths["g", 0], depths["g", 1] = (-0.2, 0.4), (-0.3, 0.3)
    told = list(vars(in_flight._Flying._tank(one, Made(name="a"))).values())  # type: ignore[arg-type]
    assert told[:4] == ["a", 0.2, CRUISE, None]
    assert [(vent.opening, vent.above_m) for vent in told[5]] == [(str(two_end), 0.4)]
    # Where a neighbour alone breathes the tank is not drowned, and its own margin is not told.
    one._feeding_with = lambda joined: ("b",)
    one._breathing = lambda depth: {"a", "b"} if max(depth.values()) < 0.0 else {"b"}
    told = list(vars(in_flight._Flying._tank(one, Made(name="a"))).values())  # type: ignore[arg-type]
    assert told[:5] == ["a", 0.0, CRUISE, None, None]
    one._breathing = lambda depth: set()
    assert in_flight._Flying._tank(one, Made(name="a")) is None  # type: ignore[arg-type]
