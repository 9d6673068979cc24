"""Functions of the lines' room by hand: laws of pipes and pumps, points on a path, who breathes, what lies between ends."""

from __future__ import annotations

from dataclasses import replace
from math import pi
from types import SimpleNamespace as Made
from typing import Any

import numpy as np
import pytest

from fuelsys.analysis.lines import (
    breathing,
    dry,
    flow,
    hydraulics,
    in_flight,
    overfilling,
    routing,
    solving,
    spilling,
    statewise,
)
from fuelsys.model.found.breathing import Overfill
from fuelsys.model.found.flow import Carried
from fuelsys.model.stated.attitude import Attitude
from fuelsys.model.stated.components import CheckValve, Engine, Filter, Inline, Overboard, Pump, Selector, Tee, Valve
from fuelsys.model.stated.fittings import Outlet, Vent

UP = np.array([0.0, 0.0, 1.0])
CRUISE = Attitude("cruise", "flight", normal=True)
OIL = hydraulics.Fluid(800.0, 1e-5)


class End(str):
    """An end of lines; tank.port where it is a tank's."""

    @property
    def tank(self) -> str | None:
        """The tank."""
        return self.partition(".")[0] if "." in self else None

    @property
    def port(self) -> str:
        """The port."""
        return self.partition(".")[2]


def ends(text: str) -> list[Any]:
    return [End(one) for one in text.split()]


# --- laws


def slope_of(law: Any, flow_m3_s: float) -> float:
    hair = 1e-6 * max(abs(flow_m3_s), 1e-7)
    return float((law.loss(flow_m3_s + hair)[0] - law.loss(flow_m3_s - hair)[0]) / (2.0 * hair))


@pytest.mark.parametrize(("flow", "drop"), [(50.0, 500.0), (100.0, 1000.0), (200.0, 4000.0), (0.0, 0.0)])
@pytest.mark.parametrize(("clear", "share"), [(1.0, 1.0), (0.5, 1.0), (1.0, 0.5)])
def test_a_stated_drop(flow: float, drop: float, clear: float, share: float) -> None:
    # 1 kPa at 100: in proportion below, by the square above; half of the bore clear is as twice the flow.
    one = hydraulics.Element(1000.0, 100.0, clear, share)
    assert one.loss(flow * clear)[0] == pytest.approx(drop * share)
    if flow not in (0.0, 100.0):
        assert one.loss(flow * clear)[1] == pytest.approx(slope_of(one, flow * clear), rel=1e-4)
    assert hydraulics.BLOCKED_DROP == 4.0


@pytest.mark.parametrize(("reynolds", "factor"), [(100.0, 0.64), (2000.0, 0.032), (2150.0, None), (2300.0, None)])
def test_friction_between_laminar_and_turbulent(reynolds: float, factor: float | None) -> None:
    # Between 2000 and 2300 the straight line from 64/2000 to Colebrook's at 2300.
    turbulent = hydraulics.friction_factor(2300.0, 1e-3)
    wanted = {2150.0: (0.032 + turbulent) / 2.0, 2300.0: turbulent}.get(reynolds, factor)
    assert hydraulics.friction_factor(reynolds, 1e-3) == pytest.approx(wanted)
    assert turbulent > 0.032 * 1.2


def pipe(**more: Any) -> hydraulics.Pipe:
    return hydraulics.Pipe(**({"fluid": OIL, "bore_m": 0.01, "length_m": 2.0} | more))


@pytest.mark.parametrize("flow", [1e-5, 1e-4, 3e-4])
def test_what_a_pipe_takes(flow: float) -> None:
    area = pi / 4.0 * 1e-4
    speed = flow / area
    reynolds = speed * 0.01 / 1e-5
    along = hydraulics.friction_factor(reynolds, 1.5e-4) * 2.0 / 0.01 * 400.0 * speed**2
    assert pipe().loss(flow)[0] == pytest.approx(along)
    assert pipe(heads=3.0).loss(flow)[0] == pytest.approx(along + 3.0 * 400.0 * speed**2)
    assert pipe(square_pa_s2_m6=1e10).loss(flow)[0] == pytest.approx(along + 1e10 * flow**2)
    element = hydraulics.Element(1000.0, 2e-4)
    assert pipe(elements=(element, element)).loss(flow)[0] == pytest.approx(along + 2.0 * element.loss(flow)[0])
    every = pipe(heads=3.0, square_pa_s2_m6=1e10, elements=(element,), back_pa_s2_m6=5e11)
    forward, back = every.loss(flow), every.loss(-flow)
    # Back it takes as much, and the hole of a check valve that leaks on top.
    assert back[0] == pytest.approx(-forward[0] - 5e11 * flow**2)
    assert forward[1] == pytest.approx(slope_of(every, flow), rel=2e-4)
    assert back[1] == pytest.approx(slope_of(every, -flow), rel=2e-4)
    shut = pipe(one_way=True)
    assert (shut.loss(flow), shut.loss(-flow)[0]) == (pipe().loss(flow), pytest.approx(-1e18 * flow))
    assert pipe().loss(0.0)[0] == 0.0


def test_the_slope_is_never_less_than_laminar() -> None:
    assert pipe().loss(1e-9)[1] == pytest.approx(32.0 * 1e-5 * 800.0 * 2.0 / 1e-4 / (pi / 4.0 * 1e-4))
    assert pipe().loss(1e-3)[1] > pipe().loss(1e-9)[1]


CURVE = ((3e-5, 20e3), (1e-5, 40e3))  # in any order


@pytest.mark.parametrize(
    ("flow", "adds"),
    [
        (1e-5, 40e3),
        (2e-5, 30e3),
        (3e-5, 20e3),
        (2.5e-5, 25e3),
        (0.0, 40e3 + 1e-3 * 40e3 / 3e-5 * 1e-5),
        (3.1e-5, 20e3 - 1e3 * 40e3 / 3e-5 * 1e-6),
    ],
)
def test_what_a_pump_adds(flow: float, adds: float) -> None:
    gain = hydraulics.Gain(CURVE)
    assert -gain.loss(flow)[0] == pytest.approx(adds)
    if flow in (2e-5, 2.5e-5, 0.0, 3.1e-5):
        assert gain.loss(flow)[1] == pytest.approx(slope_of(gain, flow), rel=1e-4)


def test_a_pump_of_one_point_holds_its_pressure() -> None:
    gain = hydraulics.Gain(((2e-5, 30e3),))
    assert -gain.loss(2e-5)[0] == 30e3
    assert -gain.loss(0.0)[0] == pytest.approx(30e3 * 1.001)
    assert -gain.loss(2.1e-5)[0] == pytest.approx(30e3 - 1e3 * 30e3 / 2e-5 * 1e-6)
    flat = hydraulics.Gain(((1e-5, 30e3), (3e-5, 30e3)))  # not falling: a hair, so that there is one state
    assert flat.loss(2e-5) == (pytest.approx(-30e3 + 1e-3 * 30e3 / 3e-5 * 1e-5), pytest.approx(1e-3 * 30e3 / 3e-5))
    weak = hydraulics.Gain(((0.0, 0.5), (1e-5, 0.0)))  # a curve that begins with next to nothing
    assert weak.loss(-1e-6)[1] == pytest.approx(1e-3 / 1e-5)
    assert weak.loss(2e-5)[1] == pytest.approx(1e3 / 1e-5)


@pytest.mark.parametrize(
    ("kind", "times"), [(Tee, 60.0), (CheckValve, 100.0), (Selector, 90.0), (Valve, 18.0), (Filter, 0.0)]
)
def test_what_passing_a_component_takes(kind: Any, times: float) -> None:
    part = kind.model_construct(name="x", drop_pa=None, drop_at_m3_s=None)
    assert hydraulics.passing_heads(part, 0.008) == pytest.approx(times * hydraulics.f_t(0.008))
    assert hydraulics.passing_heads(None, 0.008) == 0.0
    for drop, at in ((1e3, None), (None, 1e-5), (None, None)):
        assert hydraulics.element_of(Filter.model_construct(name="x", drop_pa=drop, drop_at_m3_s=at)) is None
    assert hydraulics.element_of(
        Filter.model_construct(name="x", drop_pa=1e3, drop_at_m3_s=1e-5)
    ) == hydraulics.Element(1e3, 1e-5)


def test_bends_of_a_line() -> None:
    def heads(*bends_rad: float, radius_m: float | None = None) -> float:
        line: Any = Made(bends_rad=bends_rad, bore_m=0.01, design=Made(bend_radius_m=radius_m))
        return hydraulics.bend_heads(line)

    # Rennels, a sharp bend of 90 degrees: 0.42 sin 45 + 2.56 sin3 45; one of less than a degree is none.
    mitre = 0.42 * 0.5**0.5 + 2.56 * 0.5**1.5
    assert heads(pi / 2.0) == pytest.approx(mitre, rel=1e-6)
    assert heads(pi / 2.0, pi / 2.0, 0.017) == pytest.approx(2.0 * mitre)
    assert heads(0.018) > 0.0
    assert heads() == 0.0
    assert 0.0 < heads(pi / 2.0, radius_m=0.03) < mitre / 2.0


# --- what meets fuel at the two ends of a line


def piping(parts: dict[str, Any], **more: Any) -> Any:
    nodes: dict[Any, Any] = {End(name): part for name, part in parts.items()}
    network: Any = Made(
        nodes=nodes, component=lambda end: nodes[end] if end.tank is None else None, lines_at=lambda end: ()
    )
    return flow.Piping(network, OIL, **more)


def line(start: str = "a.out", end: str = "b.in", bore_m: float = 0.01, length_m: float = 2.0, name: str = "l") -> Any:
    return Made(
        name=name,
        start=End(start),
        end=End(end),
        bore_m=bore_m,
        length_m=length_m,
        bends_rad=(),
        design=Made(bend_radius_m=None),
    )


PORTS = {"a.out": Outlet.model_construct(name="out", strainer=None), "b.in": None}


def test_the_law_of_a_line_by_what_stands_at_its_ends() -> None:
    part = Filter.model_construct(name="f", drop_pa=1e3, drop_at_m3_s=1e-5)
    valve, check = (
        Valve.model_construct(name="v", drop_pa=None, drop_at_m3_s=None),
        CheckValve.model_construct(name="c", drop_pa=None, drop_at_m3_s=None),
    )
    chosen = Selector.model_construct(name="s", drop_pa=None, drop_at_m3_s=None)
    parts = PORTS | {
        "f": part,
        "v": valve,
        "c": check,
        "s": chosen,
        "engine": Engine.model_construct(name="engine"),
        "mast": Overboard.model_construct(name="mast"),
    }
    entry, leaves, f_t = flow.ENTRY_HEADS, flow.EXIT_HEADS, hydraulics.f_t(0.01)
    law = piping(parts)._pipe(line())
    assert (law.heads, law.length_m, law.square_pa_s2_m6, law.one_way, law.elements) == (
        pytest.approx(entry + leaves),
        2.0,
        0.0,
        False,
        (),
    )
    assert piping(parts)._pipe(line(length_m=0.001)).length_m == 0.01  # no shorter than it is wide
    for end in ("engine", "mast"):
        assert piping(parts)._pipe(line("a.out", end)).heads == pytest.approx(entry + leaves)
    assert piping(parts)._pipe(line("v", "b.in")).heads == pytest.approx(leaves + 9.0 * f_t)
    half = piping(parts)._pipe(line("a.out", "f"))
    assert (half.heads, half.elements) == (pytest.approx(entry), (hydraulics.Element(1e3, 1e-5, 0.5, 0.5),))
    assert piping(parts, blocked=False)._pipe(line("a.out", "f")).elements == (hydraulics.Element(1e3, 1e-5, 1.0, 0.5),)
    # A check valve lets fuel pass one way; one that leaks lets a hole's worth back, half of it counted to each of its lines.
    assert piping(parts)._pipe(line("a.out", "c")).one_way
    leaky = piping(parts, leaking=frozenset({"c"}))._pipe(line("a.out", "c"))
    hole = 2.8 * 400.0 / (pi / 4.0 * flow.LEAK_BORE_M**2) ** 2
    assert (leaky.one_way, leaky.back_pa_s2_m6, leaky.square_pa_s2_m6) == (False, pytest.approx(hole / 2.0), 0.0)
    for name, times in (("v", 0.5), ("s", 1.0)):
        narrow = piping(parts, leaking=frozenset({name}), narrow=frozenset({"l"}))._pipe(line("a.out", name))
        assert narrow.square_pa_s2_m6 == pytest.approx(times * hole)
        assert piping(parts, leaking=frozenset({name}))._pipe(line("a.out", name)).square_pa_s2_m6 == 0.0


@pytest.mark.parametrize(
    ("port", "blocked", "narrow_m2"),
    [
        (Outlet.model_construct(name="o", strainer=None), True, None), (Outlet.model_construct(name="o",
         strainer=Made(clear_area_m2=None)), True, None),
        (Outlet.model_construct(name="o", strainer=Made(clear_area_m2=1e-4)), True, 0.5e-4), (Outlet.model_construct(name="o",
         strainer=Made(clear_area_m2=1e-4)), False, 1e-4),
        (Vent.model_construct(name="v", bore_m=0.005), True, pi / 4.0 * 25e-6), (Vent.model_construct(name="v", bore_m=0.01), True, None),
        (Vent.model_construct(name="v", bore_m=None), True, None), (Vent.model_construct(name="v", bore_m=0.02), True, None),
    ],
)  # fmt: skip
def test_what_an_opening_takes(port: Any, blocked: bool, narrow_m2: float | None) -> None:
    found = piping({"a.out": port}, blocked=blocked)._opening(End("a.out"), 0.01)
    assert found == pytest.approx(2.8 * 400.0 / narrow_m2**2 if narrow_m2 else 0.0)


def test_a_pump_has_two_sides_and_a_tank_one_air() -> None:
    pump = Pump.model_construct(name="p", curve=CURVE)
    one = piping(PORTS | {"p": pump})
    assert [one.node(End("p"), side) for side in ("in", "out")] == [("p", "in"), ("p", "out")]
    assert one.node(End("a.out"), "in") == ("a.out", "")
    vents = replace(one, kinds=("vent",))
    assert str(vents.node(End("a.out"), "in")[0]).startswith("a")
    assert vents.node(End("a.out"), "in") == vents.node(End("a.x"), "out")
    one.network.lines_at = lambda end: (line(bore_m=0.01), line(bore_m=0.02))
    stub: Any = Made(pumps=(End("p"),), network=one.network, running=frozenset({"p"}), fluid=OIL)
    assert flow.Piping._at_pumps(stub) == [hydraulics.Gain(CURVE)]
    stub.running = frozenset()
    assert flow.Piping._at_pumps(stub) == [hydraulics.Pipe(OIL, 0.02, 0.02)]


def test_the_lowest_pressure_in_lines_that_flow() -> None:
    # From 10 kPa to 4 kPa along 1 m up and 2 m across: 8 kPa with the head at the top, less 7 kPa/m of it.
    up_and_over = Made(points_m=np.array([[0.0, 0, 0], [0, 0, 1], [2, 0, 1]]))
    still, short = (
        Made(points_m=np.array([[0.0, 0, 9], [0, 0, 9]])),
        Made(points_m=np.array([[0.0, 0, 0.1], [0, 0, 0.1]])),
    )
    one: Any = Made(lines=(up_and_over, still, short), ends=(np.array([0, 0, 0]), np.array([1, 1, 1])), nodes={"n": 1})
    one.meet = flow.Piping.meet.func(one)  # type: ignore[attr-defined]
    found = flow.Flowing(one, np.array([10e3, 4e3]), np.array([1e-5, 0.0, 1e-5]))
    assert found.lowest_pa(7e3, UP) == pytest.approx(4e3 - 7e3)
    assert flow.Flowing(one, np.array([10e3, np.nan]), np.array([1e-5, 0.0, 1e-5])).lowest_pa(7e3, UP) == np.inf
    assert flow.Flowing(one, np.array([10e3, 40e3]), np.array([-1e-5, 0.0, 0.0])).lowest_pa(7e3, UP) == pytest.approx(
        10e3
    )
    assert found.out_of("n") == pytest.approx(2e-5)
    turned: Any = Made(lines=(), ends=(np.array([1, 0]), np.array([0, 1])), nodes={"n": 1})
    turned.meet = flow.Piping.meet.func(turned)  # type: ignore[attr-defined]
    back = replace(
        found,
        piping=turned,
        flows_m3_s=np.array([3.0, 1.0]),
    )
    assert back.out_of("n") == -2.0


# --- points on a path


@pytest.mark.parametrize(
    ("place", "away", "along"),
    [
        ((0.5, 0.3, 0.0), 0.3, 0.5),
        ((-1.0, 0.0, 0.0), 1.0, 0.0),
        ((1.2, 1.0, 0.0), 0.2, 2.0),
        ((1.0, 9.0, 0.0), 7.0, 3.0),
        ((0.0, 0.0, 0.5), 0.5, 0.0),
        ((1.0, 0.0, 0.4), 0.4, 1.0),
    ],
)
def test_the_nearest_point_of_a_line(place: Any, away: float, along: float) -> None:
    points = np.array([[0.0, 0, 0], [1, 0, 0], [1, 0, 0], [1, 2, 0]])  # a point twice
    assert routing.nearest(points, np.array(place)) == (pytest.approx(away), pytest.approx(along))


def path(**more: Any) -> routing.Path:
    """Two lines over a joint at 2 m: up to 1 m, level and down again."""
    points = np.array([[0.0, 0, 0], [0, 0, 1], [1, 0, 1], [2, 0, 0], [4, 0, 0]])
    lines = (routing.Stretch("one", 0, 2, 0.01), routing.Stretch("two", 2, 4, 0.006))
    return routing.Path(
        **(
            {"kind": "feed", "points_m": points, "lines": lines, "joints": (routing.Stretch("tee", 2, 2, 0.006),)}
            | more
        )
    )


def test_what_lies_at_a_distance_along_a_path() -> None:
    one = path()
    assert [one.on(at) for at in (0.0, 1.5, 2.0, 2.1, 5.0)] == ["one", "one", "tee", "two", "two"]
    assert [one.bore_m(*span) for span in ((0, 1), (1, 2), (3, 4), (0, 4), (2, 2))] == [
        0.01,
        0.006,
        0.006,
        0.006,
        0.006,
    ]
    assert one.along_m.tolist() == pytest.approx([0.0, 1.0, 2.0, 2.0 + 2.0**0.5, 4.0 + 2.0**0.5])


@pytest.mark.parametrize(
    ("at", "level", "sign", "relieved"),
    [
        (1, 1.1, 1.0, True),
        (1, 0.9, 1.0, False),
        (1, 1.0, 1.0, False),
        (0, 9.0, 1.0, False),
        (3, 9.0, 1.0, False),
        (2, 1.1, 1.0, True),
        (2, 0.9, -1.0, True),
    ],
)
def test_a_line_that_goes_on_relieves_a_high_point(at: int, level: float, sign: float, relieved: bool) -> None:
    levels = path().points_m @ UP
    found = list(routing._free([(1, 2, 0.5)], levels, [(at, level)], sign))
    assert found == ([] if relieved else [(1, 2, 0.5)])


@pytest.mark.parametrize(
    ("drain_m", "reaches"),
    [
        # A low point from 2 to 3 m; the way to a drain before it rises by 2 mm, behind it by 8 mm; half the bore are 3 mm.
        (2.5, True), (1.0, True), (0.5, False), (4.0, False), (3.2, True),
    ],
)  # fmt: skip
def test_a_drain_that_empties_a_low_point(drain_m: float, reaches: bool) -> None:
    along, levels = np.array([0.0, 1.0, 2.0, 3.0, 4.0]), np.array([0.5, 0.002, 0.0, 0.0, 0.008])
    assert routing._reaches(along, levels, drain_m, 2, 3, 0.006) is reaches


def test_a_high_and_a_low_point_of_a_path() -> None:
    high = routing._point(path(), path().points_m @ UP, 1, 2, 1.0)
    assert (high.place_m.tolist(), high.level_m, high.proud_m, high.on, high.bore_m, high.drained) == (
        [0.5, 0.0, 1.0],
        1.0,
        1.0,
        "one",
        0.006,
        False,
    )
    low = -(path().points_m @ UP)
    assert routing._point(path(drains_m=(1.5,)), low, 1, 2, 1.0).drained is True
    assert routing._point(path(maybe_drains_m=(1.5,)), low, 1, 2, 1.0).drained is None
    assert routing._point(path(drains_m=(4.0,), maybe_drains_m=(4.0,)), low, 1, 2, 1.0).drained is False


@pytest.mark.parametrize(
    ("kind", "said", "drains"),
    [(Filter, None, None), (Filter, True, True), (Filter, False, False), (Valve, None, False), (Valve, True, True)],
)
def test_whether_a_component_drains(kind: Any, said: bool | None, drains: bool | None) -> None:
    part = kind.model_construct(name="x", drain=said)
    network: Any = Made(component=lambda joint: part)
    assert isinstance(part, Inline)
    assert routing.drains_there(network, "x") is drains
    assert routing.drains_there(Made(component=lambda joint: Engine.model_construct(name="e")), "x") is False


# --- which tanks, which lines


def test_tanks_alone_and_together() -> None:
    a, b, c = ends("left.out left.other right.out")
    assert statewise._alone_and_together((a,)) == [(a,)]
    assert statewise._alone_and_together((a, b)) == [(a, b)]
    assert statewise._alone_and_together((a, c, b)) == [(a, b), (c,), (a, c, b)]


@pytest.mark.parametrize(
    ("lines", "kept", "left"),
    [
        (["a t", "t e"], "a e", {"0", "1"}), (["a t", "t e", "t x"], "a e", {"0", "1"}), (["a t", "t e", "t x", "x y"], "a e", {"0", "1"}),
        (["a t", "t e", "t x", "x y", "y t"], "a e", {"0", "1", "2", "3", "4"}), (["a t"], "a e", set()), (["a t", "t e", "b t"], "a b e",
         {"0", "1", "2"}),
    ],
)  # fmt: skip
def test_lines_that_may_carry_flow_between_ends(lines: list[str], kept: str, left: set[str]) -> None:
    one: Any = Made(
        lines=[Made(name=str(k), start=pair.split()[0], end=pair.split()[1]) for k, pair in enumerate(lines)]
    )
    assert statewise._between(one, set(kept.split())) == left


def test_the_least_that_comes_and_then_the_pressure_that_lacks() -> None:
    def carried(flow_m3_s: float, pressure: float | None) -> Carried:
        return Carried(CRUISE, ("a",), pressure, flow_m3_s, None)

    some = [carried(1.0, 5.0), carried(0.0, -1.0), carried(0.0, -2.0), carried(0.0, None)]
    assert [statewise._least(one) for one in some] == [(1.0, 5.0), (0.0, -1.0), (0.0, -2.0), (0.0, -np.inf)]


# --- full tanks in flight


@pytest.mark.parametrize(
    ("one", "other", "worse"),
    [
        ((True, 0.0), (False, 9.0), True),
        ((False, 9.0), (True, 0.0), False),
        ((True, 1.0), (True, 1.0), False),
        ((True, 1.1), (True, 1.0), True),
        ((True, 1.0 + 1e-12), (True, 1.0), False),
    ],
)
def test_a_drowned_vent_that_is_worse(one: tuple[bool, float], other: tuple[bool, float], worse: bool) -> None:
    assert in_flight._worse(one, other) is worse


def test_the_levels_of_joined_tanks_in_a_group_and_beside_it() -> None:
    def group(level_m: float, *tanks: str, through: tuple[str, ...] = (), known: bool = True) -> Any:
        return Made(
            joined=Made(tanks=tanks, through=through), at=(Made(settled=Made(level_m=level_m)),) if known else ()
        )

    # What lines alone join counts with the highest; what a valve joins counts in its own group alone, and there with its own level.
    low, high, other, valve = (
        group(1.0, "a"),
        group(2.0, "a", "b"),
        group(7.0, "d", known=False),
        group(0.5, "a", "c", through=("v",)),
    )
    flying: Any = Made(groups=(low, high, other, valve))
    assert in_flight._Flying._levels(flying, low, 0) == {"a": 1.0, "b": 2.0}
    assert in_flight._Flying._levels(flying, valve, 0) == {"a": 0.5, "b": 2.0, "c": 0.5}
    flying.groups = (high, low, other, valve)
    assert in_flight._Flying._levels(flying, other, 0) == {"a": 2.0, "b": 2.0}


def test_who_breathes_through_whom() -> None:
    a, b, c, d = ends("left.vent right.vent right.other tail.vent")
    way = lambda start, end: Made(start=start, end=end)  # noqa: E731
    sky = End("mast")
    flying: Any = Made(overboard=(way(a, sky),), unled={d}, vents=(way(a, sky), way(a, b), way(c, d)))

    def breathe(**depth_m: float) -> set[str]:
        return in_flight._Flying._breathing(
            flying, {one: depth_m.get(one.replace(".", "_"), -1.0) for one in (a, b, c, d)}
        )

    assert breathe() == {"left", "right", "tail"}
    assert breathe(tail_vent=1.0) == {"left", "right"}
    assert breathe(left_vent=1.0) == {"tail", "right"}  # by the other of its vents, through the tail's
    assert breathe(left_vent=1.0, tail_vent=1.0) == set()
    assert breathe(left_vent=0.0, tail_vent=0.0) == set()
    assert breathe(right_vent=1.0, right_other=1.0) == {"left", "tail"}


def test_how_deep_each_opening_stands() -> None:
    flying: Any = Made(
        openings={"a": ends("a.one a.two"), "b": ends("b.one")},
        _place=lambda name, port: np.array([0.0, 0.0, {"one": 1.0, "two": 3.0}[port]]),
    )
    assert in_flight._Flying._depths(flying, {"a": 2.0}, CRUISE) == {"a.one": 1.0, "a.two": -1.0, "b.one": -np.inf}


@pytest.mark.parametrize(("above", "lost", "siphoned"), [((-1.0, 0.0), 0.0, 0.0), ((-1.0, 0.1), 2.0, 3.0)])
def test_what_is_spilled(
    above: tuple[float, ...], lost: float, siphoned: float, monkeypatch: pytest.MonkeyPatch
) -> None:
    at: Any = Made(vents=[Made(above_m=one) for one in above], attitude=CRUISE, level_m=1.0)
    monkeypatch.setattr(in_flight, "runs_out", lambda *_: Made(lost_m3=2.0, siphoned_m3=9.0))
    found = in_flight._spilled(at, (), 3.0)
    assert (found.lost_m3, found.siphoned_m3) == (lost, siphoned)


def test_where_pools_part() -> None:
    # Seeds 0, 1, 2: 0 and 1 join at node 3 (level 1), all at node 4 (level 2).
    tree: Any = Made(parent=np.array([3, 3, 4, 4, -1]), floor=np.array([0.1, 0.2, 0.3, 1.0, 2.0]))
    assert [spilling._parting_m(tree, *pair) for pair in ((0, 1), (0, 2), (2, 1), (1, 1))] == [1.0, 2.0, 2.0, 0.2]


@pytest.mark.parametrize(
    ("ports", "vents", "seeds", "shared"),
    [
        # The lowest vent whose pool a port opens into: not below where the two part (1), nor below the port.
        ((0.0,), (3.0,), [0, 0], 13.0), ((0.0,), (0.5,), [0, 1], 11.0), ((4.0,), (3.0,), [0, 0], 14.0), ((0.0, 0.0), (3.0, 2.0), [0, 0, 0,
         0], 12.0),
        ((0.0,), (3.0,), [-1, 0], np.inf), ((0.0,), (3.0,), [0, -1], np.inf), ((), (3.0,), [0], np.inf),
    ],
)  # fmt: skip
def test_how_far_joined_tanks_sink(
    ports: tuple[float, ...], vents: tuple[float, ...], seeds: list[int], shared: float
) -> None:
    tree = Made(parent=np.array([2, 2, -1]), floor=np.array([-9.0, -9.0, 1.0]), port_seed=np.array(seeds))
    view: Any = Made(tilted=Made(tree=tree, level_m=lambda port: port), datum_m=10.0, vessel=Made(ports=ports))
    assert spilling._View.shared_m(view, [10.0 + one for one in vents]) == shared


@pytest.mark.parametrize(("level_m", "stops_m"), [(-np.inf, 5.0), (2.0, 5.0), (4.0, 1.0), (7.0, 1.0)])
def test_down_to_where_a_line_draws(level_m: float, stops_m: float) -> None:
    # Its way rises to 3 and ends at 1 above the opening at 0.5: what stands over 3 draws on down to 1; a way over 6 down to 0.5.
    def climb(top: float, end: float) -> Any:
        step = Made(points_m=np.array([[0.0, 0.0, 0.0], [0.0, 0.0, 10.0 + end]]), end="out")
        return Made(top_m=lambda up: top, way=Made(steps=(Made(points_m=np.zeros((2, 3)), end="tee"), step), end="out"))

    view: Any = Made(up=UP, datum_m=10.0)
    vent: Any = Made(
        ways=(climb(3.0, 1.0), climb(9.0, -4.0)), spot=Made(point_m=np.array([0.0, 0.0, 0.5])), level_m=lambda up: 5.0
    )
    assert spilling._View._vent_m(view, vent, level_m) == stops_m
    vent.ways = (climb(3.0, -4.0),)
    assert spilling._View._vent_m(view, vent, 7.0) == 0.5


# --- overfilling, breathing


@pytest.mark.parametrize(
    ("checks", "passes", "kept_by"),
    [
        ({"c": {"c"}}, {"c"}, "c"),
        ({"c": {"c"}}, set(), ""),
        ({}, set(), ""),
        ({"c": {"c"}, "d": {"d"}}, {"d"}, "d"),
        ({"c": {"c"}, "d": {"d"}}, {"c+d"}, "c or d"),
    ],
)
def test_the_check_valve_that_keeps_fuel(checks: dict[str, Any], passes: set[str], kept_by: str) -> None:
    parts: dict[Any, Any] = {name: CheckValve.model_construct(name=name) for name in checks} | {
        "t": Tee.model_construct(name="t"),
        "off": CheckValve.model_construct(name="off"),
    }
    way: Any = Made(through=[*checks, "t"], path=lambda avoid: None if "+".join(avoid) in passes else ())
    assert overfilling._kept_by(Made(network=Made(nodes=parts)), way) == kept_by


@pytest.mark.parametrize(
    ("tank", "source", "stall_pa"), [((2.0, 3.0), (0.0, 1.0), 40e3 - 7e3), ((0.0, 1.0), (2.0, 3.0), 40e3 + 21e3)]
)
def test_the_most_that_a_pump_can_make(tank: tuple[float, float], source: tuple[float, float], stall_pa: float) -> None:
    spans = {"a": source, "b": tank}
    one: Any = Made(
        layout=Made(tank=lambda name: Made(span_m=lambda up: spans[name])), head_pa=lambda level, attitude: 7e3 * level
    )
    way: Any = Made(start=End("a.out"), end=End("b.in"))
    assert overfilling._stall_pa(one, way, CURVE, CRUISE) == pytest.approx(stall_pa)


@pytest.mark.parametrize(
    ("presses", "stalls", "flights", "pressure", "stalled"),
    [((3.0, 5.0), 9.0, 2, 5.0, False), ((3.0, 5.0), 4.0, 2, 4.0, True), ((3.0,), 3.0, 1, 3.0, False)],
)
def test_the_worst_attitude_of_a_tank_that_is_overfilled(
    presses: Any, stalls: float, flights: int, pressure: float, stalled: bool, monkeypatch: pytest.MonkeyPatch
) -> None:
    attitudes = [Attitude(str(k), "flight", 0.01 * k) for k in range(flights)]
    monkeypatch.setattr(overfilling, "as_set", lambda layout, setting: layout)
    monkeypatch.setattr(overfilling, "still_breathing", lambda network, end: ("tank",))
    monkeypatch.setattr(overfilling, "_pressure_pa", lambda *given: presses[int(given[-1].name)])
    one: Any = Made(layout=Made(network=None), flight=attitudes)
    asked = Overfill("a", "p", "tank", 1e-5)
    settings: Any = (Made(words="all open", shut=()), Made(words="v shut", shut=("v",)))
    found = overfilling._let_out(one, settings, asked, lambda at: stalls)
    assert (found.pressure_pa, found.stalled, found.setting) == (pressure, stalled, "")
    assert found.attitude == attitudes[next(k for k, at in enumerate(presses) if min(at, stalls) == pressure)]
    assert overfilling._let_out(one, None, asked, lambda at: stalls).needs.startswith("at most")
    monkeypatch.setattr(overfilling, "still_breathing", lambda network, end: ())
    assert overfilling._let_out(one, settings, asked, lambda at: stalls) == asked


def test_what_pumps_move_from_and_into_tanks() -> None:
    pumps = {
        "p": Pump.model_construct(name="p", curve=CURVE),
        "q": Pump.model_construct(name="q", curve=((9e-5, 1.0),)),
        "r": Pump.model_construct(name="r", curve=None),
    }

    def way(start: str, end: str, *through: str) -> Any:
        return Made(start=End(start), end=End(end), through=through)

    ways = [
        way("a.out", "b.in", "p", "t"),
        way("a.out", "engine", "q"),
        way("c.out", "b.in", "r"),
        way("a.out", "b.in", "x"),
    ]
    network: Any = Made(ways=lambda kind: ways, transfer_pumps=("p", "q", "r"), nodes=pumps)
    assert breathing._lifted(Made(network=network)) == {("a", "from"): 9e-5, ("b", "into"): 3e-5, ("c", "from"): 0.0}


@pytest.mark.parametrize(
    ("out", "told"), [((), ("c",)), (({"a"},), ("a", "c")), (({"a"}, {"b"}), ("c",)), (({"a", "b"}, {"b"}), ("b", "c"))]
)
def test_tanks_that_breathe_in_no_setting(out: Any, told: tuple[str, ...]) -> None:
    layout: Any = Made(network=Made(aired=lambda shut: {"a", "b"}), tanks=[Made(name=name) for name in "abc"])
    settings: Any = tuple(Made(starved=tuple(one)[:1], closed=tuple(one)[1:]) for one in out)
    assert breathing.unaired(layout, settings or None) == told


def test_the_air_that_goes_in_and_out_of_tanks(monkeypatch: pytest.MonkeyPatch) -> None:
    """100 and 50 L: 0.1 of it a second in a descent, 0.2 in a climb; the engine draws 1, sends 3 back; a pump moves 5 from a into b."""
    monkeypatch.setattr(breathing, "still_breathing", lambda network, blocked: ("a", "b"))
    monkeypatch.setattr(breathing, "_lifted", lambda layout: {("a", "from"): 5.0, ("b", "into"): 5.0})
    engine = Engine.model_construct(name="engine")
    design = {"a": Made(outlet=(1,), filler=None), "b": Made(outlet=(), filler=Made(filling_m3_s=None))}
    layout = Made(network=Made(nodes={"engine": engine, "t": Tee.model_construct(name="t")}, return_tanks=lambda end: {"a", "x"}),
     tank=lambda name: Made(design=design[name]),
                  design=Made(aircraft=Made(descent_rate_m_s=0.1, climb_rate_m_s=0.2)))  # fmt: skip
    air: Any = Made(
        layout=layout,
        altitude_m=0.0,
        moved_m3_s=lambda name, rate: {"a": 100.0, "b": 50.0}[name] * rate,
        state=lambda *given: given,
    )
    drawing: Any = Made(drawn_m3_s=lambda end: 1.0, back_m3_s=3.0)
    told = list(breathing._states(air, drawing, None))
    assert [(one[0], one[2]) for one in told] == [("in", "a"), ("out", ""), ("filling", "b")]
    assert told[0][3] == {"a": pytest.approx(15.0), "b": pytest.approx(5.0)}
    assert told[1][3] == {"a": pytest.approx(-23.0), "b": pytest.approx(-15.0)}
    assert told[2][3] == {"a": 0.0, "b": -breathing.FILLING_M3_S}
    air.altitude_m = 5e3
    assert [one[0] for one in breathing._states(air, drawing, None)] == ["in", "out"]
    air.altitude_m = 0.0
    assert [one[0] for one in breathing._states(air, drawing, "mast")] == ["in", "out"]
    design["a"].outlet = ()
    drawing.back_m3_s = None
    told = list(breathing._states(air, drawing, None))
    assert told[0][3] == {"a": pytest.approx(10.0), "b": pytest.approx(5.0)}  # no outlet: nothing is drawn
    assert told[1][3]["a"] == pytest.approx(-20.0)


# --- what is drawn


def engine(returns: float | None) -> Engine:
    return Engine.model_construct(name="engine", return_flow_m3_s=returns)


@pytest.mark.parametrize(
    ("returns", "into", "end", "lost"),
    [
        (2.0, {"a"}, "b.out", 2.0),
        (2.0, {"a"}, "a.out", 0.0),
        (2.0, {"a", "b"}, "a.out", 2.0),
        (None, {"a"}, "b.out", 0.0),
        (2.0, set(), "a.out", 2.0),
    ],
)
def test_what_an_engine_returns_elsewhere(returns: float | None, into: set[str], end: str, lost: float) -> None:
    network = Made(nodes={"engine": engine(returns), "t": 1}, return_tanks=lambda one: into)
    layout: Any = Made(network=network, design=Made(flows_m3_s={"cruise": 1.0, "takeoff": 4.0}))
    one = solving.Solving(layout, OIL)
    assert (one.lost_by_return_m3_s(End(end)), one.drawn_m3_s(End(end))) == (lost, 4.0 + lost)


@pytest.mark.parametrize(
    ("returns", "line_kind", "back"),
    [
        ((2.0, 3.0), "return", 5.0),
        ((None,), "return", None),
        ((None,), "feed", 0.0),
        ((2.0, None), "return", 2.0),
        ((2.0,), "feed", 2.0),
    ],
)
def test_what_all_engines_send_back(returns: tuple[float | None, ...], line_kind: str, back: float | None) -> None:
    layout: Any = Made(
        design=Made(component=[*(engine(one) for one in returns), 1]), lines=[Made(kind=line_kind), Made(kind="feed")]
    )
    assert solving.Solving(layout, OIL).back_m3_s == back


def test_the_combination_with_the_least_fall_is_looked_at_where_it_costs() -> None:
    level, slip, both = Attitude("level", "flight"), Attitude("slip", "flight", 0.1), Attitude("both", "flight", 0.2)
    falls = {level: 0.5, slip: 0.4, both: 0.398}
    one: Any = Made(
        combined=(both,),
        flight=(level, slip),
        surface_m=lambda outlet, at: 1.0 + falls[at] + (0.0 if outlet == "low" else 9.0),
        level_m=lambda end, at: 1.0,
    )
    assert solving.Solving.attitudes(one, "end", ("high", "low")) == (level, slip, both)
    falls[both] = 0.3995  # less than a millimetre
    assert solving.Solving.attitudes(one, "end", ("high", "low")) == (level, slip)


@pytest.mark.parametrize(
    ("known", "back", "lines", "told"),
    [
        (None, 1.0, 1, "fuel.viscosity"),
        (OIL, None, 1, "the engine's return_flow"),
        (OIL, 1.0, flow.MOST_LINES, ""),
        (OIL, 1.0, flow.MOST_LINES + 1, "at most 200 feed"),
    ],
)
def test_what_a_dry_line_cannot_be_judged_without(known: Any, back: float | None, lines: int, told: str) -> None:
    kinds = [*(Made(kind="feed" if k % 2 else "interconnect") for k in range(lines)), Made(kind="vent")]
    one: Any = Made(known=known, back_m3_s=back, layout=Made(design=Made(fuel=Made(kind="diesel")), lines=kinds))
    assert dry._unknown(one).startswith(told)
    assert bool(dry._unknown(one)) == bool(told)


@pytest.mark.parametrize(("margin", "air"), [(0.1, False), (0.0, True), (-0.1, True), (None, True)])
def test_whether_a_dry_outlet_lets_air_past(margin: float | None, air: bool, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(dry, "_dry", lambda *_: None if margin is None else Made(margin_pa=margin))
    assert dry.lets_air_in(Made(drawn_m3_s=lambda end: 1.0), "end", "dry", (), CRUISE) is air


def test_outlets_that_come_clear_before_the_others(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(dry, "_dry", lambda *given: Made(feeding=given[3]) if given[3] else None)
    monkeypatch.setattr(dry, "replace", lambda one, **more: more)
    one: Any = Made(surface_m=lambda outlet, at: {"high": 1.0, "same": 1.0 - 5e-4, "low": 0.9}[outlet])
    assert dry._bared(one, "end", "high", ["same", "low"], 1.0, CRUISE) == {"feeding": "low", "own": True}
    assert dry._bared(one, "end", "low", ["same", "high"], 1.0, CRUISE) is None
