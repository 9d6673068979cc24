"""What is fed and sent back by hand, on what is made up: full tanks that go on filling, unusable fuel by flow, joined tanks that last."""

from __future__ import annotations

from math import inf
from types import SimpleNamespace as Made
from typing import Any, NamedTuple

import numpy as np
import pytest

from fuelsys.analysis.flights import exchange, lasting
from fuelsys.analysis.lines import overfilling, phases, runs, solving, suction
from fuelsys.errors import QuestionError
from fuelsys.model.built.ends import ComponentEnd, PortEnd
from fuelsys.model.built.network import Network
from fuelsys.model.found.exchange import Lasting
from fuelsys.model.stated.attitude import STANDARD_GRAVITY_M_S2, Attitude
from fuelsys.model.stated.components import Engine, Overboard, Pump, Selector

CRUISE, CLIMB = Attitude("cruise", "flight", normal=True), Attitude("climb", "flight", 0.1)
SLIP = Attitude("slip", "flight", held_s=60.0)
A, B, ENGINE = PortEnd("a", "out"), PortEnd("b", "in"), ComponentEnd("engine")


# --- a network


class PlacedVent(NamedTuple):
    """A line as far as walks along vents look at it."""

    kind: str
    start: Any
    end: Any


@pytest.mark.parametrize(
    ("end", "tank", "part", "switched"),
    [
        ("engine", "a", True, True), ("engine", "b", True, False), ("other", "a", True, False), ("engine", "a", False, False), ("engine",
         "a", None, False),
        ("engine", "a", "pump", False),
    ],
)  # fmt: skip
def test_a_return_that_a_selector_switches(end: str, tank: str, part: Any, switched: bool) -> None:
    node = (
        Pump.model_construct(name="p") if part == "pump" else Selector.model_construct(name="s", switches_return=part)
    )
    ways = [
        Made(end="engine", start=Made(tank="a"), through=("t", "s")),
        Made(end="engine", start=Made(tank="b"), through=("t",)),
    ]
    one: Any = Made(ways=lambda kind: ways, nodes={"s": node, "t": None})
    assert Network.return_is_switched(one, end, tank) is switched  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("start", "end", "into"),
    [("engine", "a", {"a"}), ("filter", "a", {"a"}), ("beside", "a", set()), ("engine", None, set())],
)
def test_where_returns_lead(start: str, end: Any, into: set[str]) -> None:
    feed = [Made(end="engine", through=("filter",)), Made(end="other", through=("beside",))]
    back = [Made(start=start, end=Made(tank=end))]
    one: Any = Made(ways=lambda kind: feed if kind == "feed" else back)
    assert Network.return_tanks(one, "engine") == into  # type: ignore[arg-type]


def test_tanks_that_only_fill_others_are_set_aside() -> None:
    ways = [
        Made(start=Made(tank="a"), through=("p",)), Made(start=Made(tank="b"), through=("p",)), Made(start=Made(tank="b"), through=("t",)),
        Made(start=Made(tank="c"), through=("t",)), Made(start=Made(tank=None), through=("p",)),
    ]  # fmt: skip
    one: Any = Made(transfer_pumps=("p",), ways=lambda kind: ways)
    assert Network.set_aside.func(one) == {"a"}
    one.transfer_pumps = ()
    assert Network.set_aside.func(one) == frozenset()


def test_tanks_that_have_air_by_one_line_alone() -> None:
    def line(start: Any, end: Any, kind: str = "vent") -> Any:
        return PlacedVent(kind, start, end)

    own, other, round_by = (
        line(A, ComponentEnd("mast")),
        line(PortEnd("b", "v"), ComponentEnd("mast")),
        line(PortEnd("b", "w"), PortEnd("c", "v")),
    )
    feed = line(PortEnd("d", "out"), ComponentEnd("mast"), "feed")
    mast = Overboard.model_construct(name="mast")
    network = Network(("a", "b", "c", "d"), {ComponentEnd("mast"): mast}, (own, other, round_by, feed))
    assert network.aired(()) == ("a", "b", "c")
    assert (network.vented_by(own), network.vented_by(other), network.vented_by(round_by), network.vented_by(feed)) == (
        ("a",),
        ("b", "c"),
        ("c",),
        (),
    )
    assert network.aired((own, other)) == ()
    assert network.air_groups() == (("a", "b", "c"), ("d",))  # the mast has the same air


# --- what pumps deliver


def feeding(monkeypatch: pytest.MonkeyPatch, curve: Any, ways: Any, nodes: Any, **more: Any) -> tuple[Any, list[Any]]:
    asked: list[Any] = []

    def carried(piping: Any, end: Any, needed: float, pressure: float, chosen: Any, attitude: Attitude) -> Any:
        asked.append((sorted(piping), end, needed, pressure, chosen))
        return "carried"

    monkeypatch.setattr(solving, "Piping", lambda network, fluid, running: running)
    one: Any = Made(
        layout=Made(network=Made(nodes=nodes, ways=lambda kind: ways)), fluid=None, carried=carried, attitudes=lambda end,
         chosen: (CRUISE, CLIMB),
        unstated=lambda end: (), **more,
    )  # fmt: skip
    return one, asked


@pytest.mark.parametrize(("curve", "missing"), [([1], 0), (None, 1)])
def test_what_a_pump_brings_into_each_tank(monkeypatch: pytest.MonkeyPatch, curve: Any, missing: int) -> None:
    into, pump, other = PortEnd("b", "in"), ComponentEnd("lift"), ComponentEnd("other")
    ways = [
        Made(start=A, end=into, through=(pump,)),
        Made(start=A, end=into, through=(other,)),
        Made(start=A, end=ENGINE, through=(pump,)),
    ]
    one, asked = feeding(monkeypatch, curve, ways, {pump: Pump.model_construct(name="lift", curve=curve)})
    found: list[Any] = list(solving.Solving._transferred(one, pump, 3.0))
    assert [type(each).__name__ for each in found] == ["Missing" if missing else "FeedTo"]
    if not missing:
        assert (found[0].kind, found[0].end, found[0].needed_m3_s, found[0].needed_pa, found[0].running) == (
            "transfer",
            into,
            3.0,
            0.0,
            "lift",
        )
        assert asked == [(["lift"], into, 3.0, 0.0, (A,))] * 2


@pytest.mark.parametrize(
    ("curve", "inlet_pa", "pressure", "kinds"),
    [
        ([1], 5e3, 5e3, ["FeedTo", "FeedTo"]),
        ([1], None, 0.0, ["FeedTo", "FeedTo"]),
        (None, 5e3, 5e3, ["FeedTo", "Missing"]),
    ],
)
def test_what_each_pump_delivers_alone(
    monkeypatch: pytest.MonkeyPatch, curve: Any, inlet_pa: Any, pressure: float, kinds: list[str]
) -> None:
    one_pump, two, tee = ComponentEnd("one"), ComponentEnd("two"), ComponentEnd("t")
    nodes = {
        one_pump: Pump.model_construct(name="one", curve=[1]), two: Pump.model_construct(name="two", curve=curve), tee: None,
        ENGINE: Engine.model_construct(name="engine", inlet_pressure_pa=inlet_pa), B: None,
    }  # fmt: skip
    ways = [
        Made(start=A, end=ENGINE, through=(one_pump, tee, two)), Made(start=A, end=ENGINE, through=(two,)), Made(start=A, end=B,
         through=(one_pump,)),
    ]  # fmt: skip
    one, asked = feeding(monkeypatch, curve, ways, nodes)
    found: list[Any] = list(solving.Solving._delivered(one, one_pump, 3.0))
    assert [type(each).__name__ for each in found] == kinds
    assert [each.running for each in found if hasattr(each, "running")] == ["one", "two"][: kinds.count("FeedTo")]
    assert asked == [
        ([name], ENGINE, 3.0, pressure, (A,)) for name in ("one", "two")[: kinds.count("FeedTo")] for _ in range(2)
    ]


@pytest.mark.parametrize(("lasting", "needed"), [(None, 4.0), (2.0, 4.0), (4.0, 6.0), (2.8, 4.2)])
@pytest.mark.parametrize("own_m", [1.5, 2.5])
def test_what_comes_into_a_tank_full_and_free(lasting: Any, needed: float, own_m: float) -> None:
    """Full it stands at its top, 2 m, or at its inlet, whichever is higher; free the inlet's own level counts. The return is lost."""
    asked: list[Any] = []
    flows = {"takeoff": 4.0} | ({} if lasting is None else {"max_continuous": lasting})
    tank = Made(
        cavity=Made(vertices_m=np.array([[0.0, 0.0, -0.5], [0.0, 0.0, 0.5]]), centre_m=np.array([0.0, 0.0, 1.5]))
    )
    one: Any = Made(
        layout=Made(tank=lambda name: tank, design=Made(flows_m3_s=flows)), take_off_m3_s=4.0, lost_by_return_m3_s=lambda end: 0.5,
         together=lambda end: [(A,)],
        attitudes=lambda end, chosen: (CRUISE,), level_m=lambda end, attitude: own_m, head_pa=lambda level, attitude: level * 7e3,
         piping=None,
        _arriving=lambda piping, end, needed, pressure, chosen, attitude: asked.append(pressure) or pressure, unstated=lambda end: (),
    )  # fmt: skip
    found = solving.Solving._into(one, B)
    assert found.needed_m3_s == pytest.approx(needed + 0.5)
    assert (found.at, found.free) == ((pytest.approx(max(2.0, own_m) * 7e3),), (pytest.approx(own_m * 7e3),))


# --- full tanks into which fuel goes on coming


@pytest.mark.parametrize(
    ("full", "left", "gross", "back"),
    [(8.0, 3.0, 9.0, 5.0), (8.0, 9.0, 9.0, 0.0), (8.0, 3.0, 4.0, 4.0), (None, 3.0, 9.0, None), (8.0, 8.0, 9.0, 0.0)],
)
@pytest.mark.parametrize(("lowest_m", "stands_m"), [(1.5, 0.25), (1.25, 0.0), (1.0, 0.0)])
def test_what_runs_back_along_a_line(
    monkeypatch: pytest.MonkeyPatch,
    full: float | None,
    left: float,
    gross: float,
    back: float | None,
    lowest_m: float,
    stands_m: float,
) -> None:
    """A port 0.25 m over its tank's middle, that at 1 m: down to it, or to the lowest point of the other tank, whichever is higher."""
    asked: list[float] = []
    monkeypatch.setattr(
        overfilling, "filled", lambda layout, tank, ground: None if full is None else Made(volume_m3=full)
    )
    monkeypatch.setattr(
        overfilling, "Drained", Made(of=lambda cavity, up, ports: asked.append(ports[0].cover_m) or Made(left_m3=left))
    )
    spot: Any = Made(point_m=np.array([0.0, 0.0, 0.25]))
    tanks = {
        "a": Made(span_m=lambda up: (lowest_m, 9.0), cavity=Made(gross_m3=gross)),
        "b": Made(spot=lambda port: spot, cavity=Made(centre_m=np.array([0.0, 0.0, 1.0]))),
    }
    layout: Any = Made(tank=lambda name: tanks[name], design=Made(normal=lambda phase: CRUISE))
    assert overfilling._back_m3(layout, Made(start=A, end=B)) == back  # type: ignore[arg-type]
    assert asked == ([] if full is None else [pytest.approx(stands_m)])


@pytest.mark.parametrize(
    ("returns", "known", "told"),
    [(2.0, True, ["judged 2.0"]), (None, True, ["the return_flow of engine"]), (2.0, False,
     ["fuel.viscosity: diesel thickens in the cold"]), (0.0, True, []), (None, False, ["the return_flow of engine"])],
)  # fmt: skip
def test_what_an_engine_sends_into_a_full_tank(
    monkeypatch: pytest.MonkeyPatch, returns: Any, known: bool, told: list[str]
) -> None:
    monkeypatch.setattr(overfilling, "_lost", lambda layout, into: (1.0, "b", ""))
    monkeypatch.setattr(
        overfilling,
        "_judged",
        lambda solving, settings, asked, flow: overfilling.replace(asked, needs=f"judged {flow()}"),
    )
    engine = Engine.model_construct(name="engine", return_flow_m3_s=returns)
    network = Made(nodes={A: None, ENGINE: engine}, tanks=("a", "b"), return_tanks=lambda end: {"a"})
    given_solving: Any = Made(
        layout=Made(network=network, design=Made(fuel=Made(kind="diesel"))), known=1 if known else None
    )
    found = list(overfilling._returned(given_solving, ()))
    assert [one.needs for one in found] == told
    assert all(one.tank == "a" for one in found)
    assert [one.lost_m3 for one in found if one.needs.startswith("judged")] == [1.0] * sum(
        one.startswith("judged") for one in told
    )


@pytest.mark.parametrize(
    ("to", "held", "back", "joined", "usable", "wanted"),
    [
        # Of 12 that are usable a quarter is sent back: 3 of the 9 + 3 that are drawn.
        (("a",), None, 3.0, False, 12.0, (3.0, "b", "")), (("x",), None, 3.0, False, 12.0, (0.0, "", "")), (("a",), 1.0, 3.0, False, 12.0,
        (0.0, "", "")),
        (("a",), None, 0.0, False, 12.0, (0.0, "", "")), (("a",), None, 3.0, True, 12.0, (0.0, "", "")), (("a",), None, 3.0, False, None,
        (0.0, "", "b")),
    ],
)  # fmt: skip
def test_what_is_lost_into_another_tank(
    monkeypatch: pytest.MonkeyPatch, to: Any, held: Any, back: float, joined: bool, usable: Any, wanted: Any
) -> None:
    out = {
        "a": Made(to=(), held_m3=None, returned_m3_s=0.0),
        "b": Made(to=to, held_m3=held, returned_m3_s=back, alone_m3_s=9.0),
    }
    monkeypatch.setattr(overfilling, "outflow", lambda layout, tank: out[tank.name])
    monkeypatch.setattr(overfilling, "capacity", lambda layout, tank: Made(usable_m3=usable))
    groups = [("a", "b")] if joined else [("a",), ("b",)]
    layout: Any = Made(network=Made(fuel_groups=lambda: groups), tanks=[Made(name="a"), Made(name="b")])
    assert overfilling._lost(layout, "a") == wanted


@pytest.mark.parametrize(("comes", "brought"), [(2.0, 2.0), (-1.0, 0.0), (0.0, 0.0)])
def test_what_a_pump_brings_out_of_a_full_tank(monkeypatch: pytest.MonkeyPatch, comes: float, brought: float) -> None:
    asked: list[Any] = []
    met = Made(out_of=lambda node: comes if node == (B, "in") else 9.0)
    piping = Made(node=lambda end, side: (end, side), solved=lambda given, drawn: asked.append((given, drawn)) or met)
    monkeypatch.setattr(
        overfilling, "Piping", lambda network, fluid, running, blocked: asked.append((running, blocked)) or piping
    )
    spans = {"a": (1.0, 2.0), "b": (3.0, 4.0)}
    layout = Made(network=None, tank=lambda name: Made(span_m=lambda up: spans[name]))
    given_solving: Any = Made(layout=layout, fluid=None, head_pa=lambda level, attitude: level * 7e3)
    pump: Any = Made(name="lift")
    assert overfilling._lifted_m3_s(given_solving, Made(start=A, end=B), pump, CRUISE) == brought  # type: ignore[arg-type]
    assert asked == [(frozenset(["lift"]), False), ({(A, "out"): 14e3, (B, "in"): 28e3}, {})]


@pytest.mark.parametrize(("flow", "usual"), [(2.0, 2.0), (0.0, overfilling.START_M3_S)])
def test_the_pressure_until_vents_let_it_out(monkeypatch: pytest.MonkeyPatch, flow: float, usual: float) -> None:
    """The vent's highest point at 5 m, the tank's lowest at 1: what comes of the air's 40 kPa, less a column of 7 kPa."""
    asked: list[Any] = []
    state = Made(at=lambda node: 4e4)
    monkeypatch.setattr(
        overfilling,
        "Piping",
        lambda network, fluid, blocked, kinds: (
            asked.append((blocked, kinds)) or Made(solved=lambda *given: asked.append(given) or state)
        ),
    )
    monkeypatch.setattr(overfilling, "overboard", lambda layout: ("mast",))
    monkeypatch.setattr(overfilling, "airspace", lambda tank: (tank, "air"))
    steps = [Made(points_m=np.array([[0.0, 0.0, z] for z in heights])) for heights in ((2.0, 5.0), (4.0, 3.0))]
    ways = [
        Made(start="mast", end="x", steps=steps[1:]),
        Made(start="x", end="mast", steps=steps),
        Made(start="x", end="y", steps=[Made(points_m=np.full((1, 3), 9.0))]),
    ]
    layout: Any = Made(network=Made(ways=lambda kind: ways), tank=lambda name: Made(span_m=lambda up: (1.0, 2.0)))
    given_solving: Any = Made(fluid=None, head_pa=lambda level, attitude: level * 7e3)
    assert overfilling._pressure_pa(given_solving, layout, "a", flow, CRUISE) == pytest.approx(33e3)
    assert asked == [(False, ("vent",)), ({("mast", ""): 35e3}, {("a", "air"): -flow}, usual)]


# --- unusable at each flow


def phase(**more: Any) -> Any:
    solving = Made(
        layout=Made(network=Made(nodes={ENGINE: Engine.model_construct(name="engine", inlet_pressure_pa=5e3),
         "p": Pump.model_construct(name="lift", curve=[1])}),
                    design=Made(fuel=Made(kind="diesel"))),
        known=1, back_m3_s=0.0, unstated=lambda end: (), flight=(CRUISE, CLIMB), density_kg_m3=700.0, level_m=lambda end, attitude: 1.0,
    )  # fmt: skip
    for name, one in more.pop("solving", {}).items():
        setattr(solving, name, one)
    given = {
        "solving": solving,
        "ends": [A],
        "_fed": lambda i, running: (ENGINE,),
        "_drawn_m3_s": lambda end, flow: flow,
    } | more
    return Made(**given)


@pytest.mark.parametrize(
    ("more", "running", "lost", "told"),
    [
        ({}, "", 9.0, {ENGINE: 9.0}), ({}, "lift", 9.0, {ENGINE: 9.0}), ({}, "", None, "a steady flow through its lines"),
        ({"known": None}, "", 9.0, "fuel.viscosity: diesel thickens in the cold"),
        ({"back_m3_s": None}, "", 9.0, "the engine's return_flow"), ({"unstated": lambda end: ("fine",)}, "", 9.0, "the drop of fine"),
    ],
)  # fmt: skip
def test_what_lines_take_at_a_flow(
    monkeypatch: pytest.MonkeyPatch, more: Any, running: str, lost: Any, told: Any
) -> None:
    monkeypatch.setattr(phases, "lost_pa", lambda solving, outlet, end, flow, running: lost)
    one = phase(solving=more)
    assert phases._Phases._lost(one, 0, 3.0, running) == told
    nodes = one.solving.layout.network.nodes
    nodes["p"] = Pump.model_construct(name="lift", curve=None)
    assert phases._Phases._lost(one, 0, 3.0, "lift") == "the curve of lift"
    assert phases._Phases._lost(one, 0, 3.0, "") == told
    nodes["p"] = Pump.model_construct(name="lift", curve=[1])
    nodes[ENGINE] = Engine.model_construct(name="engine", inlet_pressure_pa=None)
    if not more and lost:
        assert phases._Phases._lost(one, 0, 3.0, "lift") == "the inlet_pressure of engine"
        assert phases._Phases._lost(one, 0, 3.0, "") == told


@pytest.mark.parametrize(
    ("lost", "top", "running", "pull", "level"),
    [
        # The engine at 1 m, the tank's middle at 0.5: 0.7 m of loss make 1.2; a hump at 2 m counts by gravity alone.
        (700.0 * STANDARD_GRAVITY_M_S2 * 0.7, 0.0, "", 1.0, 1.2), (700.0 * STANDARD_GRAVITY_M_S2 * 0.7, 2.0, "", 1.0, 2.0),
        (700.0 * STANDARD_GRAVITY_M_S2 * 0.7, 2.0, "lift", 1.0, 1.2),
        (-700.0 * STANDARD_GRAVITY_M_S2 * 0.6, 0.0, "lift", 2.0, 0.2), (700.0 * STANDARD_GRAVITY_M_S2 * 0.6, 0.0, "lift", 2.0, 1.1),
    ],
)  # fmt: skip
def test_the_level_that_a_flow_needs(lost: float, top: float, running: str, pull: float, level: float) -> None:
    attitude: Any = Made(up=np.array([0.0, 0.0, 1.0]), gravity_m_s2=pull * STANDARD_GRAVITY_M_S2)
    climbs = [Made(way=Made(end=ENGINE), top_m=lambda up: top)]
    one = phase(tank=Made(cavity=Made(centre_m=np.array([0.0, 0.0, 0.5]))), _climbs=lambda i: climbs)
    assert list(phases._Phases._levels_m(one, 0, attitude, {ENGINE: lost}, running)) == [pytest.approx(level)]


@pytest.mark.parametrize(
    ("levels", "into", "height"),
    [
        ([1.2, 1.5], False, 0.9),
        ([0.2], False, 0.0),
        ([], False, 0.0),
        ([1.2], True, 1.2),
        ([1.9], True, 1.6),
        ([0.3], False, 0.0),
        ([0.4], False, 0.1),
    ],
)
def test_how_far_above_an_outlet_the_surface_must_stand(levels: list[float], into: bool, height: float) -> None:
    """An outlet at 0.3 m; of what the tank that it runs into keeps, 1.7 m, 0.2 are what the flow asks for."""
    opening = Made(
        spot=Made(point_m=np.array([0.0, 0.0, 0.3])),
        into=(1,) if into else (),
        level_m=lambda up: 1.7,
        starved_m=lambda up: 0.2,
    )
    one = phase(openings=[opening], _levels_m=lambda *given: iter(levels))
    assert phases._Phases._height_m(one, 0, CRUISE, {}, "") == pytest.approx(height)


def test_the_worst_attitude_at_a_flow() -> None:
    """What is left: 1 by cover and 2 by flow in cruise, 1.5 in the climb, where each outlet has its higher of both."""
    drained = {(0.1, 0.2): 1.0, (0.3, 0.1): 2.0, (0.3, 0.2): 2.5}
    one = phase(
        ends=[A, B],
        _height_m=lambda i, attitude, lost, running: ((0.3, 0.1) if attitude is CRUISE else (0.1, 0.2))[i],
        _drained_m3=lambda attitude, heights: drained[tuple(heights)],
    )
    left = phases._Phases._left(one, CRUISE, [0.1, 0.2], [{}, {}], "")
    assert left == (CRUISE, 1.0, 2.0, 2.5)
    assert phases._Phases._left(one, CRUISE, [0.1, 0.2], [], "") == (CRUISE, 1.0, None, 1.0)
    one._cover_m, one._lost = lambda i, flow, running: (0.1, 0.2)[i], lambda i, flow, running: {}
    one._left = phases._Phases._left.__get__(one)
    told = phases._Phases.at(one, "takeoff", 3.0, "")
    assert list(vars(told).values()) == ["takeoff", 3.0, "", CRUISE, 1.0, 2.0, 2.5, ""]
    one._lost = lambda i, flow, running: "its curve" if i else {}
    assert list(vars(phases._Phases.at(one, "takeoff", 3.0, "")).values())[5:] == [None, None, "its curve"]


# --- high and low points, boiling


@pytest.mark.parametrize(
    ("margins", "above_m"),
    [
        ([300.0, 100.0, 0.005], None), ([300.0, 100.0, 0.0], 2000.0), ([300.0, 100.0, -100.0], 1500.0), ([0.0, -1.0, -2.0], 0.0), ([0.005,
         -0.005, -1.0], 500.0),
        ([-1.0, 1.0, 1.0], 0.0),
    ],
)  # fmt: skip
def test_the_altitude_above_which_it_boils(margins: list[float], above_m: float | None) -> None:
    one: Any = Made(margins_pa=np.array([[9.0] * 3, margins]), altitudes_m=np.array([0.0, 1000.0, 2000.0]))
    assert suction.boils_above_m(one, 1) == (None if above_m is None else pytest.approx(above_m))


@pytest.mark.parametrize(
    ("points", "kinds"),
    [
        # Deep and without a drain; deep, and no one says; deep with a drain; shallow ones alone are none of any kind.
        ([(True, False)], [False]), ([(True, None)], [False, None]), ([(True, True)], [False, None, True]), ([(False, False)], [False,
         None, True]),
        ([(False, False), (True, None)], [False, None]), ([(False, None), (True, True)], [False, None, True]),
    ],
)  # fmt: skip
def test_the_worst_kind_of_low_point(points: Any, kinds: Any) -> None:
    asked: list[Any] = []
    at: Any = Made(low=[Made(deep=deep, drained=drained) for deep, drained in points])
    shut: list[Any] = []
    course = Made(
        drains=frozenset({1}),
        maybe_drains=frozenset({2}),
        drained=lambda drains: shut.append(drains) or {},
        worst=lambda levels, shutting: "worst",
    )
    look: Any = Made(
        course=course, low=[], _look=lambda found, is_so, points, levels, drained: asked.append(drained) or is_so(at)
    )
    runs._Look._worst_low(look, np.zeros(2), {})
    assert asked == kinds
    assert shut == [frozenset({1, 2}), frozenset({1}), frozenset()][: len(kinds)]


@pytest.mark.parametrize(
    ("first", "start_m", "kinds"),
    [(True, 1.0, ["proud", "above"]), (False, 1.0, ["proud"])],
)
def test_the_worst_high_points(first: bool, start_m: float, kinds: list[str]) -> None:
    """One that is proud; where there is one, that which stands highest above the start too, if it does."""
    asked: list[Any] = []
    course = Made(worst=lambda levels, relieved, rank=None: "proud" if rank is None else f"above {rank(1, None):g}")
    told: list[list[bool]] = []
    tries: list[Any] = [
        Made(high=[Made(deep=deep, level_m=level)]) for deep in (True, False) for level in (1.5, 1.0, 0.5)
    ]

    def looks(found: str, is_so: Any, points: Any, levels: Any) -> bool:
        asked.append(found)
        told.append([is_so(at) for at in tries])
        return first

    look: Any = Made(course=course, high=[], _look=looks)
    runs._Look._worst_high(look, np.array([start_m, 3.0]), {})
    assert [one.split()[0] for one in asked] == kinds
    assert told == [[True] * 3 + [False] * 3, [True] + [False] * 5][: len(kinds)]
    assert asked[1:] == ["above 2"][: len(kinds) - 1]


# --- joined tanks that last


def joint(**more: Any) -> Any:
    given: dict[str, Any] = {
        "layout": Made(design=Made(flows_m3_s={"takeoff": 1e-5, "cruise": 5e-6}, fuel=Made(reserve_phase="cruise"))), "greatest": "takeoff",
        "_bound_s": lambda *given: 0.0, "_outlasts": lambda *given: False, "settings": [{"s": "a"}, {"s": "b"}],
         "_flown": lambda *given: given,
        "sustained": [CRUISE], "brief": [SLIP],
    } | more  # fmt: skip
    return Made(**given)


HELD = {"a": 0.004, "b": 0.006}


@pytest.mark.parametrize(
    ("bound_s", "outlasts", "attitude", "seconds", "enough_s", "lasts_s"),
    [
        (700.0, False, CRUISE, 1800.0, 600.0, 700.0), (600.0, False, CRUISE, 1800.0, 600.0, 600.0), (599.0, False, CRUISE, 1800.0, 600.0,
         None), (2000.0, False, CRUISE, 1800.0, 600.0, 1800.0),
        (0.0, True, SLIP, 60.0, inf, 60.0), (0.0, True, SLIP, 59.0, inf, None), (0.0, False, SLIP, 60.0, inf, None), (0.0, True, CRUISE,
         60.0, inf, None),
    ],
)  # fmt: skip
def test_a_bound_that_is_enough_needs_no_flight(
    bound_s: float, outlasts: bool, attitude: Attitude, seconds: float, enough_s: float, lasts_s: float | None
) -> None:
    flights: list[Any] = []
    ends = {"a": Lasting(1.0, 50.0, 0.0, "air"), "b": Lasting(1.0, 40.0, 0.0, "")}
    one = joint(
        _bound_s=lambda *given: bound_s,
        _outlasts=lambda *given: outlasts,
        _flown=lambda at, held, seconds, flow, places: flights.append(flow) or ends[places["s"]],
    )
    found = lasting.Joint.lasts(one, attitude, HELD, seconds, enough_s=enough_s)
    if lasts_s is None:
        assert (found, flights) == (
            ends["a"],
            ["cruise", "cruise"],
        )  # the one that stops counts, however long the other lasts
    else:
        assert (found.total_m3, found.lasts_s, found.stopped, found.bounded) == (pytest.approx(0.01), lasts_s, "", True)
        assert found.left_m3 == pytest.approx(0.01 - 5e-6 * lasts_s)


@pytest.mark.parametrize(
    ("needed", "told"), [(0.004, True), (0.0041, False), (0.0039, True), (None, False), ("unknown", False)]
)
def test_tanks_before_the_engine_that_outlast_a_time(needed: Any, told: bool) -> None:
    own = None if needed is None else Made(from_m3=None if needed == "unknown" else needed)
    tank: Any = Made(name="a")
    one = joint(
        before=[tank],
        own=lambda one, attitude: Made(held=own),
        levelled=lambda attitude: Made(kept_m3=lambda held: held),
    )
    assert lasting.Joint._outlasts(one, SLIP, HELD) is told
    # A row of 100 s burns a litre before.
    assert lasting.Joint.outlasts_any(one, SLIP, [HELD], 0.0) is told
    assert not lasting.Joint.outlasts_any(one, SLIP, [HELD], 100.0)
    if told:
        own.from_m3 = 0.003  # type: ignore[union-attr]
        assert lasting.Joint.outlasts_any(one, SLIP, [HELD], 99.9)
        assert not lasting.Joint.outlasts_any(one, SLIP, [HELD, {"a": 0.0039, "b": 0.0}], 99.9)
    one.before = []
    assert not lasting.Joint._outlasts(one, SLIP, HELD)
    assert not lasting.Joint.outlasts_any(one, SLIP, [HELD], 0.0)


@pytest.mark.parametrize("unknown", [None, Made(from_m3=None)])
def test_one_tank_of_which_it_is_not_known_is_enough_to_fly(unknown: Any) -> None:
    """And nothing is computed of the others."""
    held = {"a": Made(from_m3=0.001), "b": unknown}
    one = joint(
        before=[Made(name="a"), Made(name="b")], own=lambda one, attitude: Made(held=held[one.name]), levelled=None
    )
    assert not lasting.Joint._outlasts(one, SLIP, HELD)
    assert not lasting.Joint.outlasts_any(one, SLIP, [HELD], 0.0)


@pytest.mark.parametrize(
    ("end_s", "stops"),
    [
        (59.0, "air"),
        (60.0, ""),
        (60.0 - 0.9 * lasting.PACE.off_m3 / 1e-5, ""),
        (60.0 - 1.1 * lasting.PACE.off_m3 / 1e-5, "air"),
    ],
)
def test_a_flight_that_all_but_lasts(end_s: float, stops: str) -> None:
    flight = Made(
        tanks=("x", "a", "b"), held_m3=np.array([[9.0, 9.0, 9.0], [5.0, 0.002, 0.003]]), end_s=end_s, stopped="air"
    )
    one = joint(group=Made(tanks=("a", "b")), _flight=lambda *given: flight)
    one._stops = lasting.Joint._stops.__get__(one)
    assert one._stops(flight, 60.0, "takeoff") == stops
    found = lasting.Joint._flown(one, SLIP, HELD, 60.0, "takeoff", {})
    assert (found.total_m3, found.lasts_s, found.left_m3, found.stopped) == (
        pytest.approx(0.01),
        end_s,
        pytest.approx(0.005),
        stops,
    )
    (left, lasted), _ = lasting.Joint.left_after(one, SLIP, HELD)
    assert left == {"a": 0.002, "b": 0.003}
    assert (lasted.left_m3, lasted.stopped, lasted.lasts_s) == (pytest.approx(0.005), stops, end_s)


@pytest.mark.parametrize(
    ("both", "through", "behind", "settings"),
    [
        (False, (), ("a", "b"), [{"s": "a"}, {"s": "b"}]), (True, (), ("a", "b"), [{"s": "both"}, {"s": "a"}, {"s": "b"}]), (True,
        ("s set to both",), ("a", "b"), [{"s": "both"}]),
        (False, ("s set to both",), ("a", "b"), [{"s": "both"}]), (False, (), ("x",), [{}]), (False, (), ("a", "x"), [{"s": "a"}]),
    ],
)  # fmt: skip
def test_where_selectors_may_stand_for_joined_tanks(
    monkeypatch: pytest.MonkeyPatch, both: bool, through: Any, behind: Any, settings: Any
) -> None:
    end = ComponentEnd("s")
    monkeypatch.setattr(lasting, "tanks_behind", lambda network, line: {line.tank})
    lines = [Made(end=end, tank=name) for name in behind] + [Made(end="on", tank="b")]
    network = Made(nodes={end: Selector.model_construct(name="s", both=both), A: None}, lines_at=lambda at, kind: lines)
    one = joint(layout=Made(network=network), group=Made(tanks=("a", "b"), through=through, set_to=()))
    assert lasting.Joint.settings.func(one) == settings
    stands = joint(
        layout=Made(network=network),
        group=Made(tanks=("a", "b"), through=through, set_to=((end, "l"),)),
        _place=lambda end, line: "a",
    )
    assert lasting.Joint.settings.func(stands) == [{"s": "a"}]


@pytest.mark.parametrize(
    ("behind", "place"),
    [((("x", "a"), ("y", "b")), "a"), ((("x", "b"), ("y", "b")), None), ((("x", ""), ("y", "b")), None)],
)
def test_the_tank_on_which_a_selector_stands(monkeypatch: pytest.MonkeyPatch, behind: Any, place: str | None) -> None:
    end = ComponentEnd("s")
    monkeypatch.setattr(lasting, "tanks_behind", lambda network, line: set(line.tank))
    lines = [Made(name=name, end=end, tank=tank) for name, tank in behind] + [Made(name="x", end="on", tank="c")]
    network = Made(lines_at=lambda at, kind: lines if kind == "feed" else [])
    one = joint(layout=Made(network=network), world=Made(missing=lambda needs: QuestionError(needs, mend="")))
    if place is None:
        with pytest.raises(QuestionError, match="s to be flown on x"):
            lasting.Joint._place(one, end, "x")
    else:
        assert lasting.Joint._place(one, end, "x") == place


@pytest.mark.parametrize(
    ("least_s", "target_s", "own", "promised_s", "lasting_s"),
    [(600.0, None, False, 600.0, 630.0), (600.0, 300.0, False, 300.0, 330.0), (200.0, 300.0, False, 200.0, 230.0), (-5.0, None, False,
     0.0, 30.0), (600.0, None, True, 600.0, -1.0), (0.0, 300.0, False, 0.0, 30.0)],
)  # fmt: skip
def test_from_a_lamp_on(
    monkeypatch: pytest.MonkeyPatch, least_s: float, target_s: Any, own: bool, promised_s: float, lasting_s: float
) -> None:
    monkeypatch.setattr(exchange, "_least_s", lambda switch, quantity: least_s)
    switch = Made(
        name="low",
        at=[Made(attitude=CLIMB, latest_m3=1.0), Made(attitude=CRUISE, latest_m3=9.0)],
        target_s=target_s,
        delay_s=30.0,
    )
    never = Made(name="dead", at=[Made(attitude=CRUISE, latest_m3=None)], target_s=None, delay_s=0.0)
    tanks = [Made(name="a", switches=[never, switch])]
    one: Any = Made(
        tanks=tanks, joint=Made(most_m3={"a": 5.0}), _beside=lambda attitude, name, held: ({"a": held}, CLIMB),
        _as_alone=lambda attitude, tank, held, until: Lasting(0.0, -1.0, 0.0, "") if own else None, after=lambda attitude, held,
         until: Lasting(0.0, until, 0.0, ""),
    )  # fmt: skip
    (found,) = exchange._Group.from_lamps(one, CRUISE)
    assert (found.held_m3, found.promised_s, found.delay_s, found.lasting.lasts_s, found.own, found.after) == (
        5.0,
        promised_s,
        30.0,
        lasting_s,
        own,
        CLIMB,
    )


@pytest.mark.parametrize(
    ("unusable", "filled", "needs"),
    [
        (True, True, ""),
        (False, True, "an outlet of b"),
        (True, False, "a filler or a vent of b"),
        (False, False, "an outlet of b"),
    ],
)
def test_what_joined_tanks_need_to_be_known(unusable: bool, filled: bool, needs: str) -> None:
    one_tank = Made(name="a", capacity=Made(unusable=Made(volume_m3=0.001), filled=1))
    two = Made(
        name="b", capacity=Made(unusable=Made(volume_m3=0.002) if unusable else None, filled=1 if filled else None)
    )
    world = Made(notes=["a note"])
    one: Any = Made(
        tanks=[one_tank, two], at=lambda attitude: attitude.name,
        joint=Made(most_m3={"a": 0.01, "b": 0.02}, group="group", world=world, layout=Made(design=Made(envelope=(CRUISE,
         Attitude("parked", "ground"), CLIMB)))),
    )  # fmt: skip
    found = exchange._Group.found(one)
    told = list(vars(found).values())
    assert told[:4] == [
        "group",
        () if needs else ("cruise", "climb"),
        pytest.approx(0.003 if unusable else 0.001),
        pytest.approx(0.03),
    ]
    assert needs in told
    assert (found.notes == ("a note",)) is not bool(needs)


def test_an_attitude_for_ever_and_for_a_time() -> None:
    kept = exchange.TogetherAt(CLIMB, 1.0, 2.0, 3.0)
    asked: list[Any] = []
    one: Any = Made(
        _forever=lambda attitude: kept, briefly={SLIP: "held"}, joint=Made(most_m3={"a": 1.0},
         lasts=lambda *given: asked.append(given) or "full"),
        from_lamps=lambda attitude: iter(["lamp"]), from_reserve=lambda attitude: "reserve",
    )  # fmt: skip
    found = exchange._Group.at(one, CLIMB)
    assert (found.held, found.full, found.lamps, found.reserve) == (None, "full", ("lamp",), "reserve")
    brief = exchange._Group.at(one, SLIP)
    assert (brief.held, brief.full) == ("held", None)
    assert exchange._Group.at(one, CRUISE) is kept
    assert asked == [(CLIMB, {"a": 1.0}, exchange.LOOKED_S)]
