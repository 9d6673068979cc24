"""Attitudes that are held on a flight and valves that leak: boxes worked by hand, and a plain small-step integration."""

from __future__ import annotations

from math import pi, radians, sqrt, tan
from pathlib import Path
from typing import Any

import pytest
from flights import GRAVITY, HOUR, LEVEL, LITRE, PUMP, box, built, engine, line, part, switch
from numpy.testing import assert_allclose

from fuelsys.analysis.flights import marks
from fuelsys.analysis.flights.cases import cases
from fuelsys.analysis.flights.failures import failures
from fuelsys.analysis.flights.fly import fly
from fuelsys.analysis.flights.held import held
from fuelsys.analysis.flights.setting import Upset, World
from fuelsys.model.built.layout import Layout
from fuelsys.model.found.fly import LEAK_BORE_M
from fuelsys.model.words import Quantity
from fuelsys.report.shown import Shown
from fuelsys.report.tables import fly as tables
from fuelsys_cli.fly import severity

SLIP = {"name": "slip", "roll": "5 deg"}
DOWN = {"name": "descent", "pitch": "-4 deg"}
BURNT_M3_S = 30.0 * LITRE / HOUR
# A box of 20 dm2: 2 L a centimetre at its middle, however it leans. Level, it gives all but 2 L; right wing down by 5 degrees the surface
# at the outlet, 200 mm left of the middle, stands 200 tan 5 mm lower, so that 5.5 L stay behind. The lamp's mark is in the middle.
LEFT_M3, BEHIND_M3 = 0.2 * 0.010, 0.2 * (0.010 + 0.2 * tan(radians(5.0)))


def boxed(folder: Path, mark_mm: float = 25.0, slip: dict[str, Any] = SLIP, **more: Any) -> Layout:
    low = switch("low", (200, 250, mark_mm)) | {"tolerance": "1 mm"}
    tank = box("main", (0, 0, 1000), (400, 500, 200), {"outlet out": (200, 50, 10)}, switch=[low])
    lines = [line("a", "main.out", "pump"), line("b", "pump", "engine")]
    return built(folder, [tank], [engine((0, 0, 0)), PUMP], lines, attitudes=(LEVEL, slip), **more)


def test_a_slip_from_a_moment_on_uncovers_the_outlet_sooner(tmp_path: Path) -> None:
    world = World.of(boxed(tmp_path))
    slip = world.layout.design.envelope[2]
    usual = fly(world)
    full_m3 = usual.held_m3[0].sum()
    assert_allclose(usual.end_s, (full_m3 - LEFT_M3) / BURNT_M3_S, rtol=1e-7)
    for begins_m3 in (
        20e-3,
        6e-3,
    ):  # held from when so much is there; for ever, then for a minute, in which half a litre is burnt
        from_s = (full_m3 - begins_m3) / BURNT_M3_S
        ever = fly(world, Upset("slip", attitude=slip), from_s)
        assert_allclose(ever.end_s, (full_m3 - BEHIND_M3) / BURNT_M3_S, rtol=1e-7)
        assert [(one.attitude.name, round(one.from_s, 6)) for one in ever.parts] == [
            ("level", 0.0),
            ("slip", round(from_s, 6)),
        ]
        assert ever.warning is None  # at 5 L, when 5.5 stay behind
        minute = fly(world, Upset("slip", attitude=slip, held_s=60.0), from_s)
        gone = begins_m3 - 60.0 * BURNT_M3_S > BEHIND_M3
        assert_allclose(minute.end_s, usual.end_s if gone else ever.end_s, rtol=1e-7)
        assert abs(minute.lost_m3) < 1e-9
    at_once = fly(world, Upset("slip", attitude=slip), usual.end_s - 60.0)
    assert_allclose(at_once.end_s, usual.end_s - 60.0, atol=1e-6)


def test_an_attitude_begins_at_a_part_of_the_flight_as_at_any_moment(tmp_path: Path) -> None:
    parts = [
        {"name": n, "attitude": "level", "flow": "cruise", **d} for n, d in (("a", {"duration": "600 s"}), ("b", {}))
    ]
    world = World.of(boxed(tmp_path, flight=parts))
    found = fly(world, Upset("slip", attitude=world.layout.design.envelope[2], held_s=600.0), 600.0)
    later = [part.from_s for part in found.parts[1:]] + [found.end_s]
    lasting = [part for part, then_s in zip(found.parts, later, strict=True) if then_s > part.from_s]
    assert [(one.attitude.name, one.from_s) for one in lasting] == [
        ("level", 0.0),
        ("slip", 600.0),
        ("level", 1200.0),
    ]


def test_what_the_failures_say_of_a_slip(tmp_path: Path) -> None:
    world = World.of(boxed(tmp_path))
    found = {one.words: one for one in failures(world, fly(world))}
    late = found["slip, held to the end, as a lamp is due"]
    # Sure at 4.8 L, a second before which it leans: by then 5.5 L stay behind, and the lamp has been lit since 5 L at best.
    assert late.flown
    assert_allclose(late.before_s, 0.2e-3 / BURNT_M3_S - 1.0, atol=1e-3)
    assert late.least_s is None
    assert found["slip, held throughout"].before_s is None
    assert [severity(found[words]) for words in ("slip, held throughout", late.words)] == [1, 1]
    table = tables.failures(list(found.values()), fly(world), 0.0, Shown())
    marks = {str(row[0]): row[1] for row in table.rows}
    assert marks["slip, held throughout"] == marks[late.words] == "NO WARNING"
    # Ten minutes before, 5 L more are there: the told mark, written down, is in time from its own worst moment.
    assert late.change
    place = next(one for one in late.change.words if isinstance(one, Quantity) and len(one.values_si) == 3)
    mark_mm = place.values_si[2] * 1e3
    assert_allclose(mark_mm, (BEHIND_M3 + 601.0 * BURNT_M3_S) / 0.2 * 1e3 + 1.0, atol=1.0)
    world = World.of(boxed(tmp_path / "b", mark_mm))
    again = {one.words: one for one in failures(world, fly(world))}[late.words]
    assert not again.marked
    assert again.least_s is not None
    assert 600.0 <= again.least_s < 620.0


def test_which_attitudes_are_held(tmp_path: Path) -> None:
    world = World.of(boxed(tmp_path, slip=SLIP | {"held": "30 s"}))
    told = "slip, held for 30 s"
    assert [(one.upset.words, one.upset.held_s, one.late, one.after_s) for one in held(world, 0.0)] == [
        (f"{told}, as a lamp is due", 30.0, True, 0.0),
        (f"{told}, as the lamp's ten minutes are nearly over", 30.0, True, 569.0),
    ]
    usual = fly(world)
    first, last = (one.begins_s(usual, 0.0) for one in held(world, 0.0))
    assert_allclose(last - first, 569.0)
    assert [(one.upset.words, one.late) for one in held(world, 60.0)] == [(told, False)]
    lines = [line("a", "main.out", "pump"), line("b", "pump", "engine")]
    tank = box("main", (0, 0, 1000), (400, 500, 200), {"outlet out": (200, 50, 10)})
    both = built(tmp_path / "b", [tank], [engine((0, 0, 0)), PUMP], lines, attitudes=(LEVEL, DOWN, SLIP))
    mixed = [one for one in held(World.of(both), 60.0) if not one.stated]
    assert [one.upset.words for one in mixed] == ["descent with slip, held to the end (not stated)"]
    assert mixed[0].upset.attitude
    assert_allclose(
        (mixed[0].upset.attitude.pitch_rad, mixed[0].upset.attitude.roll_rad), (radians(-4.0), radians(5.0))
    )


# --- leaks: b gives the engine its fuel and stands higher, a gets what passes through the hole

HIGH_M, AREA_M2 = 0.15, 0.04
PLUMBED: dict[str, tuple[list[Any], list[Any], dict[str, Any]]] = {
    "tap": (
        [part("tap", "valve", (500, 100, 950)), PUMP],
        [line("across", "a.out", "tap", "interconnect", 20.0), line("on", "tap", "b.side", "interconnect", 20.0)],
        {"shut": ["tap"]},
    ),
    "selector": (
        [part("selector", "selector", (500, 100, 950), both=False), PUMP],
        [line("from a", "a.out", "selector", "feed", 20.0)],
        {"selectors": {"selector": "b"}},
    ),
    "check": (
        [part("check", "check valve", (400, 100, 950)), part("joint", "tee", (500, 100, 950)), PUMP],
        [line("from a", "a.out", "check", "feed", 20.0), line("on", "check", "joint", "feed", 20.0)],
        {},
    ),
}


@pytest.mark.parametrize("name", list(PLUMBED))
def test_what_leaks_runs_as_through_a_hole(name: str, tmp_path: Path) -> None:
    parts, lines, given = PLUMBED[name]
    meets = {"tap": "pump", "selector": "selector", "check": "joint"}[name]
    lines = [*lines, line("from b", "b.out", meets, "feed", 20.0), line("to engine", "pump", "engine", "feed", 20.0)]
    lines += [line("to pump", meets, "pump", "feed", 20.0)] if meets != "pump" else []
    ports = {"outlet out": (100, 100, 5)}
    tanks = [box("a", (0, 0, 1000), (200, 200, 200), ports), box("b", (800, 0, 1000), (200, 200, 200), ports)]
    tanks[1]["outlet"].append(
        {"name": "side", "position": ["50 mm", "50 mm", "5 mm"], "bore": "20 mm", "cover": "0 mm"}
    )
    tanks[1]["outlet"] = tanks[1]["outlet"][: 2 if name == "tap" else 1]
    flight = {
        "name": "f",
        "attitude": "level",
        "flow": "cruise",
        "duration": "20 min",
        "loaded": {"a": "1 L", "b": "6 L"},
        **given,
    }
    world = World.of(built(tmp_path, tanks, [*parts, engine((0, 0, 0))], lines, flow="2 L/h", flight=[flight]))
    (case,) = (one for one in cases(world) if one.upset.words.endswith("leaks"))
    assert case.upset.words == f"{name} leaks"
    tight, leaking = fly(world), fly(world, case.upset)
    assert_allclose(tight.held_m3[-1], [1e-3, 6e-3 - 2.0 / 3.0 * LITRE], rtol=1e-7)
    assert not [one for one in tight.happenings if one.what == "outlet dry"]
    a_m3, b_m3, step_s = 1e-3, 6e-3, 0.5
    hole_m2 = pi / 4.0 * LEAK_BORE_M**2
    for _ in range(round(1200.0 / step_s)):
        over_m = max(0.0, b_m3 - a_m3) / AREA_M2
        runs_m3 = hole_m2 * sqrt(2.0 * GRAVITY * over_m / 2.8) * step_s
        a_m3, b_m3 = a_m3 + runs_m3, b_m3 - runs_m3 - 2.0 * LITRE / HOUR * step_s
    assert a_m3 > 1.5e-3
    assert_allclose(leaking.held_m3[-1], [a_m3, b_m3], rtol=3e-3)
    assert abs(leaking.lost_m3) < 1e-9


def test_what_nothing_shuts_does_not_leak(tmp_path: Path) -> None:
    tank = box("main", (0, 0, 1000), (400, 500, 200), {"outlet out": (200, 50, 10)})
    lines = [line("a", "main.out", "tap"), line("b", "tap", "pump"), line("c", "pump", "engine")]
    world = World.of(built(tmp_path, [tank], [part("tap", "valve", (0, 0, 500)), engine((0, 0, 0)), PUMP], lines))
    assert not any(one.upset.leaking for one in cases(world))


def test_a_selector_that_a_flight_does_not_name_shuts_all_tanks_but_one_and_may_leak(tmp_path: Path) -> None:
    parts, lines, _ = PLUMBED["selector"]
    lines = [
        *lines,
        line("from b", "b.out", "selector"),
        line("to pump", "selector", "pump"),
        line("on", "pump", "engine"),
    ]
    tanks = [
        box(name, (x, 0, 1000), (200, 200, 200), {"outlet out": (100, 100, 5)}) for name, x in (("a", 0), ("b", 800))
    ]
    flight = [{"name": "f", "attitude": "level", "flow": "cruise", "duration": "5 min"}]
    world = World.of(built(tmp_path, tanks, [*parts, engine((0, 0, 0))], lines, flight=flight))
    assert [one.upset.words for one in cases(world) if one.upset.leaking] == ["selector leaks"]


# --- pairs of changes


def test_what_no_change_alone_cures_two_do(tmp_path: Path) -> None:
    # One pump: at a stand it stops the engine at once; with a second one the lamp still comes only 5.6 min before.
    pumped = PUMP | {"curve": [["0 L/h", "30 kPa"], ["100 L/h", "20 kPa"]], "driven": "electric"}
    low = switch("low", (200, 250, 25.0)) | {"tolerance": "1 mm"}
    tank = box("main", (0, 0, 1000), (400, 500, 200), {"outlet out": (200, 250, 10)}, switch=[low])
    lines = [line("a", "main.out", "pump"), line("b", "pump", "engine")]
    place = engine((0, 0, 900), inlet_pressure="10 kPa")
    world = World.of(built(tmp_path, [tank], [place, pumped], lines))
    found = {one.words: one for one in failures(world, fly(world))}
    stands = found["pump stands still"]
    assert stands.change
    assert str(stands.change.words[0]).startswith("a second pump like pump")
    assert "raise the mark of " in stands.change.words
    assert not stands.change.lamp
    assert stands.pairs == 1
    assert not stands.change.proof.marked
    assert "(of 1 pair flown" in str(tables.changes(list(found.values()), Shown())[0].rows)


@pytest.mark.parametrize("pitch", [0.0, 15.0, -15.0])
def test_a_mark_is_raised_by_what_its_level_asks_at_the_attitude(pitch: float, tmp_path: Path) -> None:
    # Up along z a mark rises by less than its height: at 15 degrees 10 mm of level are 10.35 mm; in tenths of a millimetre, rounded up.
    world = World.of(boxed(tmp_path, slip={"name": "slip", "pitch": f"{pitch} deg"}))
    slip = world.layout.design.envelope[2]
    flown = fly(world, Upset("slip", attitude=slip))
    tank = world.layout.tank("main")
    (switch,) = tank.design.switch
    for sooner_s in (6.0, 60.0):
        found = marks._mark(world, tank, flown, tank.body_m(switch.mark_m), switch, sooner_s)
        assert found is not None
        spot, _, held_m3 = found
        assert_allclose(held_m3, flown.held_m3[-1, 0] + (600.0 + sooner_s) * BURNT_M3_S, rtol=1e-6)
        level_m = float((spot.point_m + tank.cavity.centre_m) @ slip.up)
        wanted_m = world.standing("main", slip).level_m(held_m3) + 1e-3
        assert -1e-9 <= level_m - wanted_m <= 1e-4
