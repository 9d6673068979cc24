"""What may go wrong on a flight, all of it by hand: single things, pairs by one cause, attitudes that are held, and what sorts them."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest
from flights import LITRE, box, built, engine, line, part, switch

from fuelsys.analysis.flights import failures as flown_failures
from fuelsys.analysis.flights.cases import Case, again, cases, late_s, together
from fuelsys.analysis.flights.held import held
from fuelsys.analysis.flights.setting import Upset, World
from fuelsys.model.found.fly import Failing, Flown, Happening, Warned
from fuelsys.model.stated.attitude import Attitude

CURVE = [["0 L/h", "30 kPa"], ["100 L/h", "20 kPa"]]
# Left and right feed by a selector, through a filter and two pumps; a third tank feeds nothing, its line only levels it with left.
SHUT = {"name": "f", "attitude": "level", "flow": "cruise", "shut": ["cross"], "returns_to": "left"}


def rich(folder: Path, **more: Any) -> World:
    """Two wing tanks with a strainer and a lamp each, and a tail tank; every kind of part, and what each rule passes over."""
    size, low = (400, 500, 200), switch("low", (200, 250, 60))
    ports = {"outlet out": (200, 250, 10), "return back": (200, 100, 200), "drain cross": (200, 0, 0)}
    tanks = [box(name, (0, y, 1000), size, ports, switch=[low]) for name, y in (("left", 0), ("right", 2000))]
    tanks.append(box("tail", (0, 4000, 1000), size, {"drain cross": (200, 0, 0)}))
    tanks[0]["outlet"][0]["strainer"] = {"clear_area": "4 cm2"}
    tanks[1]["outlet"][0]["strainer"] = {"mesh": "8 1/in"}
    parts = [
        engine((0, 0, 0), return_flow="20 L/h", **more.pop("engine", {"inlet_pressure": "10 kPa"})),
        part("tap", "selector", (0, 300, 900), both=more.pop("both", False)), part("back tap", "selector", (0, 500, 900), both=False),
        part("strainer bowl", "filter", (0, 300, 800), drop="2 kPa", drop_at="100 L/h"),
        part("bare filter", "filter", (0, 300, 780)), part("return filter", "filter", (0, 400, 700)),
        part("boost", "pump", (0, 300, 700), curve=CURVE, driven="electric"), part("check", "check valve", (0, 300, 650)),
        part("engine pump", "pump", (0, 300, 600), driven="engine"), part("shut-off", "valve", (0, 300, 500)),
        part("cross", "valve", (0, 3000, 900)), part("vent valve", "valve", (0, 300, 1300)),
        part("mast", "overboard", (0, 300, 1400)), part("far mast", "overboard", (0, 2300, 1400)),
        part("tail mast", "overboard", (0, 4300, 1400)),
    ]  # fmt: skip
    drawn = [
        ("l", "left.out", "tap"), ("r", "right.out", "tap"), ("f1", "tap", "strainer bowl"), ("f2", "strainer bowl", "bare filter"),
        ("f3", "bare filter", "boost"), ("f4", "boost", "check"), ("f5", "check", "engine pump"), ("f6", "engine pump", "shut-off"),
        ("f7", "shut-off", "engine"),
    ]  # fmt: skip
    lines = [line(*one) for one in drawn]
    lines += [line(n, a, b, "return", 6.0) for n, a, b in (("b1", "engine", "return filter"), ("b2", "return filter", "back tap"),
              ("b3", "back tap", "left.back"), ("b4", "back tap", "right.back"))]  # fmt: skip
    lines += [line("x1", "left.cross", "cross", "interconnect"), line("x2", "cross", "tail.cross", "interconnect")]
    lines += [line(n, a, b, "vent") for n, a, b in (("v1", "left.vent", "vent valve"), ("v2", "vent valve", "mast"),
              ("v3", "right.vent", "far mast"), ("v4", "tail.vent", "tail mast"))]  # fmt: skip
    return World.of(built(folder, tanks, parts, lines, flight=more.pop("flight", [SHUT]), **more))


def told(found: list[Case]) -> list[tuple[str, str, bool, bool, str]]:
    return [(one.upset.words, one.needs, one.shuts, one.dark, one.cause) for one in found]


ICE = "ice over its open end does it"
ALL = [
    ("boost stands still", "", False, False, ""),
    ("engine pump stands still", "the curve of engine pump", False, False, ""),
    ("shut-off shut", "", True, False, ""),
    ("cross shut", "", False, False, ""),
    ("vent valve shut", "", False, False, ""),
    ("tap on left throughout", "", False, False, ""),
    ("tap on right throughout", "", False, False, ""),
    ("tap on off throughout", "", True, False, ""),
    ("tap leaks", "", False, False, ""),
    ("check leaks", "", False, False, ""),
    ("cross leaks", "", False, False, ""),
    ("left does not feed", "", True, False, ""),
    ("right does not feed", "", True, False, ""),
    ("v1 blocked", "", False, False, ""),
    ("v2 blocked", "", False, False, ICE),
    ("v3 blocked", "", False, False, ICE),
    ("v4 blocked", "", False, False, ICE),
    ("return into left throughout", "", False, False, ""),
    ("return into right throughout", "", False, False, ""),
    ("strainer at left.out half blocked", "", False, False, ""),
    ("strainer at right.out half blocked", "the strainer's clear_area at right.out", False, False, ""),
    ("strainer bowl half blocked", "", False, False, ""),
    ("bare filter half blocked", "drop and drop_at of bare filter", False, False, ""),
    ('left lamp "low" dark, or lit throughout', "", False, False, ""),
    ('right lamp "low" dark, or lit throughout', "", False, False, ""),
    ("3 % less fuel than dipped", "", False, False, ""),
]


def test_each_single_thing_that_may_go_wrong(tmp_path: Path) -> None:
    found = cases(rich(tmp_path))
    assert sorted(told(found)) == sorted(ALL)
    assert found[-1].upset.loaded == pytest.approx(0.97)
    upsets = {one.upset.words: one.upset for one in found}
    named = frozenset
    assert upsets["boost stands still"] == Upset("boost stands still", stopped=named(["boost"]))
    assert upsets["cross shut"].shut == named(["cross"])
    assert upsets["tap on off throughout"].selectors == {"tap": "off"}
    assert upsets["check leaks"].leaking == named(["check"])
    assert upsets["left does not feed"].dry == named(["left"])
    assert upsets["v2 blocked"].blocked == named(["v2"])
    assert upsets["return into right throughout"].returns_to == "right"
    assert upsets["strainer at right.out half blocked"].half == named(["right.out"])
    assert upsets["bare filter half blocked"].half == named(["bare filter"])
    assert upsets['left lamp "low" dark, or lit throughout'].only_lamps
    assert not any(one.upset.only_lamps for one in found if "lamp" not in one.upset.words)


# What is passed over, each by one change of the design: none of the words of the first may stand, all of the second must.
LESS: list[tuple[dict[str, Any], list[str], list[str]]] = [
    ({"flight": [SHUT | {"shut": []}]}, ["cross leaks"], ["tap leaks", "check leaks"]),
    ({"flight": []}, ["cross leaks"], ["tap leaks"]),
    ({"flight": [SHUT | {"selectors": {"tap": "left"}}]}, [], ["tap leaks"]),
    ({"both": True}, ["tap leaks"], []),
    ({"both": True, "flight": [SHUT | {"selectors": {"tap": "both"}}]}, ["tap leaks"], []),
    ({"both": True, "flight": [SHUT | {"selectors": {"tap": "left"}}]}, [], ["tap leaks"]),
]


@pytest.mark.parametrize(("changed", "none", "some"), LESS)
def test_what_leaks_is_what_shuts_a_line_on_the_flight(
    changed: dict[str, Any], none: list[str], some: list[str], tmp_path: Path
) -> None:
    words = [one.upset.words for one in cases(rich(tmp_path, **changed))]
    assert not set(none) & set(words)
    assert set(some) <= set(words)


def test_a_pump_needs_its_curve_and_the_engines_pressure(tmp_path: Path) -> None:
    needs = {one.upset.words: one.needs for one in cases(rich(tmp_path, engine={}))}
    assert needs["boost stands still"] == "the engine's inlet_pressure"
    assert needs["engine pump stands still"] == "the curve of engine pump and the engine's inlet_pressure"


def test_what_one_cause_brings_about_at_once(tmp_path: Path) -> None:
    # Three vent lines end in the open, each the only one of its tank; of the pumps one is electric; of strainers and filters four.
    world = rich(tmp_path)
    found = {one.upset.words: one for one in together(world)}
    lamps = frozenset([("left", "low"), ("right", "low")])
    iced = [f"ice: {one} and {two} blocked" for one, two in (("v2", "v3"), ("v2", "v4"), ("v3", "v4"))]
    dark = "no electric power: boost stands still, no lamp lights"
    places = ["strainer at left.out", "strainer at right.out", "strainer bowl", "bare filter"]
    dirt = {words for words in found if words.startswith("dirt: ")}
    assert set(found) == {*iced, dark, *dirt}
    assert found[iced[0]].upset.blocked == frozenset(["v2", "v3"])
    assert (found[dark].dark, found[dark].needs) == (True, "")
    assert (found[dark].upset.stopped, found[dark].upset.stuck) == (frozenset(["boost"]), lamps)
    assert {one.upset.half for one in found.values() if one.upset.half} == {
        frozenset(two.removeprefix("strainer at ") for two in (a, b)) for k, a in enumerate(places) for b in places[:k]
    }
    assert all(words.count(" half blocked") == 1 for words in dirt)
    wants = {one.upset.half: one.needs for one in found.values() if one.upset.half}
    clear, drop = "the strainer's clear_area at right.out", "drop and drop_at of bare filter"
    assert wants[frozenset(["left.out", "strainer bowl"])] == ""
    assert wants[frozenset(["left.out", "bare filter"])] == drop
    assert set(wants[frozenset(["right.out", "bare filter"])].split(" and ")) == set(
        f"{clear} and {drop}".split(" and ")
    )
    # With lamps of their own power one pump alone is a single thing; the change that gives it puts the lamps right.
    own = World(world.layout, own_power=True)
    assert not [one for one in together(own) if one.upset.words.startswith("no electric power")]
    assert again(world, found[dark]) == found[dark].upset
    assert again(own, found[dark]) == replace(found[dark].upset, stuck=frozenset())
    assert again(own, found[iced[0]]) is found[iced[0]].upset


@pytest.mark.parametrize(("by", "needs"), [("electric", "the curve of engine pump"), ("engine", None), ("hand", None)])
def test_all_pumps_of_one_power_stand_still_together(by: str, needs: str | None, tmp_path: Path) -> None:
    # The lamps have a power of their own: two electric pumps are told then, one alone is a single thing.
    world = rich(tmp_path)
    next(one for one in world.layout.design.component if one.name == "engine pump").__dict__["driven"] = by
    found = {one.upset.words: one for one in together(World(world.layout, own_power=True)) if one.upset.stopped}
    words = "no electric power: boost and engine pump stand still"
    assert list(found) == ([words] if needs else [])
    if needs:
        assert (found[words].needs, found[words].dark) == (needs, False)
        assert found[words].upset == Upset(words, stopped=frozenset(["boost", "engine pump"]))
        assert [one.upset.stopped for one in together(world) if one.dark] == [frozenset(["boost", "engine pump"])]


def test_without_an_electric_pump_no_power_is_no_failure(tmp_path: Path) -> None:
    world = rich(tmp_path)
    next(one for one in world.layout.design.component if one.name == "boost").__dict__["driven"] = "hand"
    assert not [one for one in together(world) if one.upset.stopped or one.upset.stuck]


def test_two_vents_of_one_tank_are_iced_together_alone(tmp_path: Path) -> None:
    # Where a tank has a second vent line, one line blocked takes no air from it, and both do.
    folder, size = tmp_path, (400, 500, 200)
    tank = box("main", (0, 0, 1000), size, {"outlet out": (200, 250, 10)})
    tank["vent"].append({"name": "second", "position": ["100 mm", "250 mm", "200 mm"], "bore": "8 mm"})
    parts = [engine((0, 0, 0)), part("one", "overboard", (0, 0, 1400)), part("two", "overboard", (0, 200, 1400))]
    lines = [
        line("a", "main.out", "engine"),
        line("v", "main.vent", "one", "vent"),
        line("w", "main.second", "two", "vent"),
    ]
    world = World.of(built(folder, [tank], parts, lines, feed="gravity"))
    assert not [one for one in cases(world) if one.upset.blocked]
    assert [one.upset.words for one in together(world)] == ["ice: v and w blocked"]


# --- when it begins


def flown(end_s: float = 7200.0, stopped: str = "air", warned: tuple[Warned, ...] = ()) -> Flown:
    """A flight that holds 30 L at first, burns evenly and ends."""
    times, held_m3 = np.array([0.0, end_s]), np.array([[30.0 * LITRE], [0.0]])
    happenings = (
        Happening(0.0, "begins", "", "level", None, 0.03), Happening(100.0, "lights", "main", "low", 0.02, 0.02),
        Happening(200.0, "lights", "main", "high", 0.01, 0.01), Happening(end_s, "air", "", stopped, None, 0.0),
    )  # fmt: skip
    return Flown(("main",), times, held_m3, held_m3[::-1, 0], np.zeros(2), happenings, warned, stopped)


def lamp(name: str, lit_s: float, late_s: float | None) -> Warned:
    return Warned("main", name, lit_s, 0.01, 0.01, late_s=late_s)


def test_the_worst_moment_is_just_before_a_lamp_is_sure() -> None:
    assert (
        late_s(flown(warned=(lamp("a", 5000.0, 5100.0), lamp("b", 4000.0, 5050.0), lamp("c", 3000.0, None)))) == 5049.0
    )
    assert late_s(flown(warned=(lamp("c", 3000.0, None),))) == 6600.0  # ten minutes before the end
    assert late_s(flown(end_s=500.0)) == 0.0
    late, usual = Case(Upset("x"), late=True, after_s=30.0), flown(warned=(lamp("b", 4000.0, 5050.0),))
    assert late.begins_s(usual, 0.0) == 5079.0
    assert late.begins_s(usual, 6000.0) == 6000.0
    assert Case(Upset("x"), after_s=30.0).begins_s(usual, 0.0) == 0.0


def attitudes(*tilts: tuple[str, float, float, float | None]) -> list[Attitude]:
    """Pitch and roll in degrees, and how long each is held."""
    return [Attitude(n, "flight", np.radians(p), np.radians(r), held_s=s) for n, p, r, s in tilts]


def asked(found: list[Attitude], from_s: float = 0.0, flies: tuple[str, ...] = ("level",)) -> list[tuple[Any, ...]]:
    """What is held of an envelope by a flight at some attitudes: words, time, whether late, how long after, stated."""
    ground = Attitude("parked", "ground", np.radians(12.0))
    layout = SimpleNamespace(design=SimpleNamespace(envelope=[ground, *found]))
    world: Any = SimpleNamespace(layout=layout, segments=lambda: [SimpleNamespace(attitude=one) for one in flies])
    cases_ = held(world, from_s)
    assert all(one.upset.held_s == (one.upset.attitude and one.upset.attitude.held_s) for one in cases_)
    return [(one.upset.words, one.upset.held_s, one.late, one.after_s, one.stated) for one in cases_]


def test_each_attitude_is_held_from_when_it_takes_most() -> None:
    # For ever: from the start, and as a lamp is due. For a time: as a lamp is due, and to the end of its ten minutes less a second.
    envelope = attitudes(("level", 0, 0, None), ("climb", 8, 0, None), ("turn", 0, 3, 598.0), ("roll out", 0, 3, 599.0))
    climb = [
        ("climb, held throughout", None, False, 0.0, True),
        ("climb, held to the end, as a lamp is due", None, True, 0.0, True),
    ]
    turn = ("turn, held for 598 s, as a lamp is due", 598.0, True, 0.0, True)
    over = ("turn, held for 598 s, as the lamp's ten minutes are nearly over", 598.0, True, 1.0, True)
    rest = [("roll out, held for 599 s, as a lamp is due", 599.0, True, 0.0, True)]
    assert asked(envelope) == [*climb, turn, over, *rest]
    # From a moment that is asked for, at that moment; an attitude that is flown anyway is held too, unless no other is flown.
    assert asked(envelope, 60.0, ("climb",)) == [
        ("level, held to the end", None, False, 0.0, True), ("turn, held for 598 s", 598.0, False, 0.0, True),
        ("roll out, held for 599 s", 599.0, False, 0.0, True),
    ]  # fmt: skip
    assert [one[0] for one in asked(envelope[:2], 60.0, ("climb", "level"))] == [
        "level, held to the end",
        "climb, held to the end",
    ]


def mixed(*tilts: tuple[str, float, float, float | None]) -> list[tuple[str, float | None]]:
    """What is put together of an envelope that states it not: the attitude's words, its time."""
    return [
        (one[0].split(",")[0], one[1]) for one in asked(attitudes(("level", 0, 0, None), *tilts), 60.0) if not one[4]
    ]


def test_the_steepest_descent_is_put_together_with_the_steepest_slip_to_each_side() -> None:
    down, steep = ("descent", -4, 0, None), ("dive", -10, 0, 20.0)
    right, left = ("right slip", 0, 5, 30.0), ("left slip", 0, -7, None)
    assert mixed(down) == mixed(right, left) == []
    assert mixed(("near level", -0.5, 0, None), right) == []  # sin 0.5 degrees is 0.0087, less than 0.01
    assert mixed(down, right) == [("descent with right slip", 30.0)]
    assert mixed(down, left) == [("descent with left slip", None)]
    assert mixed(down, steep, right, left, ("left turn", 0, -3, None)) == [
        ("dive with right slip", 20.0), ("dive with left slip", 20.0)
    ]  # fmt: skip
    # Stated as one attitude, as steep both ways or within half a degree of it: not put together again.
    assert mixed(down, right, ("both", -4, 5, None)) == []
    assert mixed(down, right, ("both", -3.6, 4.6, None)) == []
    assert mixed(down, right, ("both", -2, 5, None)) == [("descent with right slip", 30.0)]
    assert mixed(down, right, ("both", -4, 3, None)) == [("descent with right slip", 30.0)]
    (one,) = (case for case in held_of(down, ("right slip", 2, 5, 30.0)) if not case.stated)
    assert one.upset.attitude is not None
    np.testing.assert_allclose([one.upset.attitude.pitch_rad, one.upset.attitude.roll_rad], np.radians([-4, 5]))
    assert not one.late
    assert one.upset.words.endswith("(not stated)")


def held_of(*tilts: tuple[str, float, float, float | None]) -> list[Case]:
    layout = SimpleNamespace(design=SimpleNamespace(envelope=attitudes(("level", 0, 0, None), *tilts)))
    world: Any = SimpleNamespace(layout=layout, segments=lambda: [SimpleNamespace(attitude="level")])
    return held(world, 60.0)


# --- how they are sorted


def test_the_worst_comes_first() -> None:
    """No warning before few minutes, before many, before what does not stop, before what could not be flown."""
    none, soon = Failing("none", flown(3000.0)), Failing("none later", flown(4000.0))
    few = Failing("few", flown(7200.0, warned=(lamp("a", 7000.0, 7100.0),)))
    as_few = Failing("as few, sooner", flown(3600.0, warned=(lamp("a", 3400.0, 3501.0),)))  # a second less is the same
    more = Failing("more", flown(3600.0, warned=(lamp("a", 3000.0, 3000.0),)))
    runs, unflown = Failing("runs", flown(stopped="")), Failing("unflown", None, "a curve")
    wanted = [none, soon, as_few, few, more, runs, unflown]
    assert sorted([wanted[k] for k in (3, 0, 6, 5, 2, 4, 1)], key=flown_failures._badness) == wanted


def test_what_stops_at_once_and_what_dark_lamps_leave(monkeypatch: pytest.MonkeyPatch) -> None:
    usual = flown(7200.0, warned=(lamp("low", 100.0, 110.0), lamp("high", 200.0, 210.0)))
    dark = Case(Upset("low dark", stuck=frozenset([("main", "low")])))
    left = flown_failures._without(usual, dark)
    assert left.flown is not None
    assert [one.switch for one in left.flown.warned] == ["high"]
    assert [one.detail for one in left.flown.happenings] == ["level", "high", "air"]
    assert (left.at_once, left.dark) == (False, False)
    for end_s, stopped, from_s, late, at_once in (
        (600.0, "air", 600.0, False, True), (601.0, "air", 600.0, False, True), (601.5, "air", 600.0, False, False),
        (599.0, "air", 600.0, False, False), (600.0, "", 600.0, False, False), (600.0, "air", 600.0, True, False),
    ):  # fmt: skip
        monkeypatch.setattr(flown_failures, "fly", lambda *_, e=end_s, s=stopped: flown(e, s))
        for shuts in (True, False):
            world: Any = None
            one = flown_failures._flown(
                world, Case(Upset("x"), shuts=shuts, late=late, cause="ice", stated=False), from_s
            )
            assert (one.at_once, one.meant, one.held, one.cause, one.stated) == (
                at_once,
                at_once and shuts,
                False,
                "ice",
                False,
            )
