"""What a flight is flown with, by hand: its parts where none are stated, what is loaded, what it counts as nothing, where returns go."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from math import cos, radians, sin
from pathlib import Path
from typing import Any

import pytest
from flights import DENSITY, GRAVITY, LEVEL, LITRE, PUMP, box, built, engine, line, part
from test_flight_cases import CURVE, SHUT, rich

from fuelsys.analysis.flights.plumbed import Plumbed, Positions, as_set, tanks_behind
from fuelsys.analysis.flights.setting import Upset, World
from fuelsys.analysis.lines.hydraulics import BLOCKED_DROP, BLOCKED_SHARE
from fuelsys.errors import QuestionError
from fuelsys.model.stated.components import Component
from fuelsys.model.stated.design import Segment

NOTHING = Upset("")
NO_FLIGHT: dict[str, Any] = {"flight": []}


def stated(world: World, name: str, **changed: Any) -> World:
    """A world with a component's fields changed where everything reads them."""
    for one in (*world.layout.design.component, *world.layout.network.nodes.values()):
        if isinstance(one, Component) and one.name == name:
            one.__dict__.update(changed)
    return world


def segment(world: World) -> Segment:
    return world.layout.design.flight[0]


# --- its parts


@pytest.mark.parametrize(
    ("both", "upset", "wanted"),
    [
        (False, None, [(f"level, tap on {one}", {"tap": one, "back tap": "both"}) for one in ("left", "right")]),
        (True, None, [("level", {"tap": "both", "back tap": "both"})]),
        # A selector that is wrong is flown as the upset says, not one place after the other.
        (False, Upset("x", selectors={"tap": "left"}), [("level", {"back tap": "both"})]),
    ],
)  # fmt: skip
def test_where_no_flight_is_stated(
    both: bool, upset: Upset | None, wanted: list[tuple[str, dict[str, str]]], tmp_path: Path
) -> None:
    world = rich(tmp_path, both=both, **NO_FLIGHT)
    assert [(one.name, one.selectors) for one in world.segments(upset)] == wanted
    assert {(one.attitude, one.flow, one.duration_s) for one in world.segments(upset)} == {("level", "cruise", None)}


def test_a_stated_flight_is_flown_as_it_stands(tmp_path: Path) -> None:
    world = rich(tmp_path)
    assert world.segments(Upset("x", selectors={"tap": "left"})) == world.layout.design.flight
    assert world.places == {"tap": ("left", "right"), "back tap": ("both",)}
    assert world.names == ("left", "right", "tail")


# --- what is loaded


def test_what_is_loaded(tmp_path: Path) -> None:
    world = rich(tmp_path, flight=[SHUT | {"loaded": {"left": "10 L", "right": "40 L"}}])
    found = world.loaded(segment(world), Upset("less", loaded=0.97))
    assert found["left"] == pytest.approx(9.7 * LITRE)
    assert found["right"] == pytest.approx(38.8 * LITRE)  # as much as it holds
    assert 0.9 * 38.8 * LITRE < found["tail"] <= 38.8 * LITRE  # as filled on the ground
    assert found["tail"] == pytest.approx(
        0.97 * world.loaded(Segment(name="f", attitude="level", flow="cruise"), Upset(""))["tail"]
    )
    over = segment(world).model_copy(update={"loaded_m3": {"left": 40.001 * LITRE}})
    with pytest.raises(QuestionError, match=r"40.001 L are loaded, the tank holds 40.000 L") as caught:
        world.loaded(over, Upset(""))
    assert caught.value.field == "flight f.loaded.left"


# --- doubts

DROP = "the drop of bare filter is not stated and counts as nothing."
CURVES = "the curve of engine pump is not stated; it is taken to bring what the engine needs."
PRESSURE = "the engine's inlet_pressure is not stated; whether the pumps reach it is not judged."
AIR = "no air comes into left past a check valve in the vent line."


def doubts(world: World) -> list[str]:
    return [str(one) for one in world.doubts()]


def test_what_a_flight_counts_as_nothing(tmp_path: Path) -> None:
    world = rich(tmp_path)  # a filter in the return line, too, has no drop: no matter
    assert doubts(world) == [DROP, CURVES]
    assert [str(one) for one in world.notes] == [DROP, CURVES]  # marks state their tolerance
    stated(world, "bare filter", drop_pa=1e3)
    assert doubts(world) == [CURVES]
    stated(world, "engine pump", curve=next(one.curve for one in world.layout.design.component if one.name == "boost"))  # type: ignore[union-attr]
    assert doubts(world) == []
    stated(world, "engine", inlet_pressure_pa=None)
    assert doubts(world) == [PRESSURE]
    stated(world, "engine pump", curve=None)
    assert doubts(world) == [CURVES]  # its curve comes first
    assert len(CURVE) == 2


def test_a_tank_without_a_vent_and_one_that_gets_no_air(tmp_path: Path) -> None:
    world = rich(tmp_path / "a")
    tanks = tuple(
        replace(one, design=one.design.model_copy(update={"vent": ()})) if one.name == "tail" else one
        for one in world.layout.tanks
    )
    assert doubts(replace_layout(world, tanks))[2:] == ["tail shows no vent and is taken as vented."]
    tank = box("left", (0, 0, 1000), (400, 500, 200), {"outlet out": (200, 250, 10)})
    parts = [engine((0, 0, 0)), part("check", "check valve", (0, 0, 1300)), part("mast", "overboard", (0, 0, 1400))]
    lines = [
        line("a", "left.out", "engine"),
        line("v", "left.vent", "check", "vent"),
        line("w", "check", "mast", "vent"),
    ]
    world = World.of(built(tmp_path / "b", [tank], parts, lines, feed="gravity"))
    assert doubts(world) == [AIR]


def replace_layout(world: World, tanks: Any) -> World:
    return World(replace(world.layout, tanks=tanks))


@pytest.mark.parametrize(
    ("both", "more", "wanted"), [(False, True, ""), (True, True, ", or all"), (None, True, ""), (False, False, None)]
)
def test_a_selector_in_vent_lines(both: bool | None, more: bool, wanted: str | None, tmp_path: Path) -> None:
    tanks = [
        box(n, (0, y, 1000), (400, 500, 200), {"outlet out": (200, 250, 10)}) for n, y in (("left", 0), ("right", 2000))
    ]
    given = {} if both is None else {"both": both}
    parts = [engine((0, 0, 0)), part("tee", "tee", (0, 900, 500)), part("turn", "selector", (0, 0, 1300), **given)]
    parts += [part("mast", "overboard", (0, 0, 1400)), part("far", "overboard", (0, 2000, 1400))]
    lines = [line("l", "left.out", "tee"), line("r", "right.out", "tee"), line("e", "tee", "engine")]
    lines += [
        line("v", "left.vent", "turn", "vent"),
        line("m", "turn", "mast", "vent"),
        line("w", "right.vent", "turn" if more else "far", "vent"),
    ]
    found = doubts(World.of(built(tmp_path, tanks, parts, lines, feed="gravity")))
    said = f"turn joins two of its vent lines{wanted}; this flight counts all as joined; each setting is flown with --failures."
    assert found == ([] if wanted is None else [said])


# --- what it cannot do without


def single(folder: Path, parts: list[Any], lines: list[Any], **more: Any) -> World:
    tank = box("main", (0, 0, 1000), (400, 500, 200), {"outlet out": (200, 250, 10)})
    return World.of(built(folder, [tank], parts, lines, **more))


def test_one_engine_that_lines_lead_to(tmp_path: Path) -> None:
    with pytest.raises(QuestionError, match="from a tank's outlet: there is none") as caught:
        single(tmp_path, [engine((0, 0, 0))], [])
    assert caught.value.needs is not None
    assert caught.value.needs.startswith("one engine")


def test_what_the_engine_sends_back(tmp_path: Path) -> None:
    world = rich(tmp_path)
    assert world.back_m3_s == pytest.approx(20.0 * LITRE / 3600.0)
    world = stated(rich(tmp_path), "engine", return_flow_m3_s=None)
    with pytest.raises(QuestionError, match="the engine's return_flow: it has a return line"):
        _ = world.back_m3_s
    none = single(
        tmp_path / "a", [engine((0, 0, 0)), PUMP], [line("a", "main.out", "pump"), line("b", "pump", "engine")]
    )
    assert none.back_m3_s == 0.0
    assert none.back_to(none.segments()[0], Upset(""), {}) == ""


def test_where_it_goes_back_to(tmp_path: Path) -> None:
    world = rich(tmp_path)
    free = segment(world).model_copy(update={"returns_to": ""})

    def to(one: Segment, upset: Upset = NOTHING, **selectors: str) -> str:
        return world.back_to(one, upset, selectors)

    assert to(segment(world)) == "left"
    assert to(segment(world), Upset("x", returns_to="right")) == "right"
    assert to(free, Upset("x", returns_to="right")) == "right"
    with pytest.raises(
        QuestionError, match=r"no return line leads to the tank tail. Name one of: left, right"
    ) as caught:
        to(free, Upset("x", returns_to="tail"))
    assert caught.value.field == "flight f.returns_to"
    with pytest.raises(QuestionError, match=r"returns_to in \[\[flight\]\]: return lines lead to left, right"):
        to(free, tap="left")
    stated(world, "tap", switches_return=True)
    assert to(free, tap="right") == "right"
    assert to(free, tap="left") == "left"
    for places in ({"tap": "both"}, {}):
        with pytest.raises(QuestionError, match="return lines lead to"):
            to(free, **places)
    world.__dict__["back_m3_s"] = 0.0  # nothing goes back: no matter where to
    assert to(free) == "left"


# --- what the engine asks for


@pytest.mark.parametrize("pitch", [0.0, 10.0])
def test_the_pressure_that_the_engine_asks_for(pitch: float, tmp_path: Path) -> None:
    attitudes = [LEVEL, {"name": "up", "pitch": f"{pitch!r} deg"}]
    lines, place = [line("a", "main.out", "engine")], (500, 0, 300)
    head, up = DENSITY * GRAVITY, radians(pitch)
    high_m = -0.5 * sin(up) + 0.3 * cos(up)
    for number, (given, pump, wanted) in enumerate(
        (({"inlet_pressure": "5 kPa"}, False, 5e3), ({}, False, 0.0), ({}, True, None))
    ):
        feed = "pump" if pump else "gravity"
        world = single(tmp_path / f"{number}", [engine(place, **given)], lines, feed=feed, attitudes=attitudes)
        found = world.needed_pa(world.layout.design.envelope[2], head)
        assert found == (None if wanted is None else pytest.approx(wanted + head * high_m, rel=1e-9))
    lines = [line("a", "main.out", "pump"), line("b", "pump", "engine")]
    for curve, known in (({}, False), ({"curve": CURVE}, True)):
        asked = engine(place, inlet_pressure="5 kPa")
        world = single(tmp_path / f"p{known}", [asked, PUMP | curve], lines, attitudes=attitudes)
        found = world.needed_pa(world.layout.design.envelope[2], head)
        assert found == (pytest.approx(5e3 + head * high_m, rel=1e-9) if known else None)


# --- what is shut in


def test_whose_air_is_shut_in(tmp_path: Path) -> None:
    world = rich(tmp_path)
    none = frozenset[str]()
    asked: list[tuple[Callable[[], Any], tuple[tuple[str, ...], ...]]] = [
        (lambda: world.airless(none, {}, none), ()),
        (lambda: world.airless(frozenset(["vent valve"]), {}, none), (("left",),)),
        (lambda: world.airless(frozenset(["shut-off"]), {"tap": "off"}, none), ()),
        (lambda: world.airless(none, {}, frozenset(["v3"])), (("right",),)),
        (
            lambda: world.airless(frozenset(["vent valve"]), {}, frozenset(["v3", "v4"])),
            (("left",), ("right",), ("tail",)),
        ),
    ]
    for ask, wanted in asked:
        assert ask() == wanted


def test_the_leg_that_is_flown(tmp_path: Path) -> None:
    # As the segment says, less what is stopped; what a selector is wrongly set to goes before what the segment says.
    world = rich(
        tmp_path, flight=[SHUT | {"pumps": ["boost"], "selectors": {"tap": "left"}, "shut": ["cross", "vent valve"]}]
    )
    held = dict.fromkeys(world.names, 20.0 * LITRE)
    rooms: dict[tuple[str, ...], float] = {}
    leg = world.leg(segment(world), Upset(""), held, rooms)
    assert leg.plumbed.running == frozenset(["boost"])
    assert rooms == {("left",): pytest.approx(20.0 * LITRE, rel=1e-5)}
    assert {line.name for line in leg.plumbed.network.edges if line.kind == "feed"} == {
        "l",
        *(f"f{k}" for k in range(1, 8)),
    }
    rooms[("left",)] = 1.0 * LITRE  # as it was shut in before
    assert world.leg(segment(world), Upset(""), held, rooms).airless == ((("left",), 1.0 * LITRE),)
    upset = Upset("x", selectors={"tap": "right"}, stopped=frozenset(["boost"]), shut=frozenset(["shut-off"]))
    leg = world.leg(segment(world), upset, held)
    assert leg.plumbed.running == frozenset()
    names = {line.name for line in leg.plumbed.network.edges if line.kind == "feed"}
    assert "r" in names
    assert not names & {"l", "f6", "f7"}
    assert leg.burnt_m3_s == pytest.approx(30.0 * LITRE / 3600.0)
    assert (leg.back_to, leg.back_m3_s) == ("left", pytest.approx(20.0 * LITRE / 3600.0))
    other = world.layout.design.normal("ground")
    assert world.leg(segment(world), Upset("x", attitude=other), held).attitude is other


def test_what_is_half_blocked_gives_less(tmp_path: Path) -> None:
    # Half of a filter's area at the same flow: four times the drop of 2 kPa, taken as its square; half of a strainer's 4 cm2.
    network = rich(tmp_path).layout.network
    found = as_set(network, Positions(half=frozenset(["strainer bowl", "left.out", "bare filter", "right.out"])))
    parts: dict[str, Any] = {str(end): node for end, node in found.nodes.items()}
    was: dict[str, Any] = {str(end): node for end, node in network.nodes.items()}
    assert parts["strainer bowl"].drop_pa == pytest.approx(BLOCKED_DROP * 2e3)
    assert (BLOCKED_DROP, BLOCKED_SHARE) == (4.0, 0.5)
    assert parts["left.out"].strainer.clear_area_m2 == pytest.approx(2e-4)
    assert {name for name in parts if parts[name] != was[name]} == {"strainer bowl", "left.out"}
    assert as_set(network, Positions()).edges == network.edges


SETTINGS: list[tuple[Positions, set[str]]] = [
    (Positions(shut=frozenset(["shut-off"])), {"f6", "f7"}),
    (Positions(shut=frozenset(["shut-off"]), leaking=frozenset(["shut-off"])), set()),
    (Positions(shut=frozenset(["cross"])), {"x1", "x2"}),
    (Positions(shut=frozenset(["vent valve"])), set()),  # not the fuel's way
    (Positions(selectors={"tap": "off"}), {"l", "r", "f1"}),
    (Positions(selectors={"tap": "both"}), set()),
    (Positions(selectors={"tap": "left"}), {"r"}),
    (Positions(selectors={"tap": "left"}, leaking=frozenset(["tap"])), set()),
    (Positions(dry=frozenset(["left"])), {"l"}),  # its outlet alone, not what only levels it
    (Positions(dry=frozenset(["left"]), leaking=frozenset(["tap"])), {"l"}),
]


@pytest.mark.parametrize(("positions", "shut"), SETTINGS)
def test_which_lines_a_setting_shuts(positions: Positions, shut: set[str], tmp_path: Path) -> None:
    network = rich(tmp_path).layout.network
    assert {one.name for one in network.edges} - {one.name for one in as_set(network, positions).edges} == shut


def test_which_lines_leak_and_which_pumps_run(tmp_path: Path) -> None:
    world = rich(tmp_path)
    found = Plumbed.of(
        world.layout.network, world.solving.fluid, Positions(selectors={"tap": "left"}, leaking=frozenset(["tap"]))
    )
    assert (found.narrow, found.running) == (frozenset(["r"]), frozenset(["boost"]))
    assert Plumbed.of(world.layout.network, world.solving.fluid, Positions(pumps=frozenset())).running == frozenset()


def test_whose_fuel_comes_through_a_line(tmp_path: Path) -> None:
    network = rich(tmp_path).layout.network
    lines = {one.name: one for one in network.edges}
    wanted = {"l": {"left"}, "f1": {"left", "right"}, "f7": {"left", "right"}, "b3": set(), "x2": set(), "v2": set()}
    assert {name: set(tanks_behind(network, lines[name])) for name in wanted} == wanted
