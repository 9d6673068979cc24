"""Flights of a tank whose fuel parts into two pools with outlets of their own: by hand, and against two tanks in its place."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import numpy as np
import pytest
import solids
from flights import HOUR, LITRE, PUMP, box, built, engine, line, mm, part
from numpy.testing import assert_allclose

from fuelsys.analysis.flights.fly import fly
from fuelsys.analysis.flights.setting import Upset, World
from fuelsys.analysis.tank.tilted import seeds_below
from fuelsys.model.found.fly import Flown

# Two wells of 300 x 500 mm beside a wall 100 mm high and 20 mm thick: 15 L each below it, 31 L a decimetre above.
WALLED = [(0, 0), (300, 0), (300, 100), (320, 100), (320, 0), (620, 0), (620, 200), (0, 200)]
OUTLETS = {"outlet fore": (150, 250, 0), "outlet aft": (470, 250, 0)}


def walled(corner: tuple[float, float, float], **more: Any) -> dict[str, Any]:
    """The tank; prism() draws z and x along y."""
    vertices, faces = solids.prism([(float(z), float(x)) for x, z in WALLED[::-1]], 500.0, "y")
    return box("main", corner, (620, 500, 200), {**OUTLETS, **more}) | {"solid": (vertices, faces)}


def told(found: Flown, *kinds: str) -> list[tuple[str, str, float]]:
    return [(one.what, one.detail, one.at_s) for one in found.happenings if one.what in kinds]


def flight(**more: Any) -> list[dict[str, Any]]:
    return [{"name": "f", "attitude": "level", "flow": "cruise", **more}]


@pytest.mark.parametrize(
    ("bores", "feed"), [((8.0, 4.0), "gravity"), ((4.0, 8.0), "gravity"), ((6.0, 6.0), "gravity"), ((8.0, 2.0), "pump")]
)
def test_parted_pools_run_as_two_tanks_would(bores: tuple[float, float], feed: str, tmp_path: Path) -> None:
    # By a pump the first that takes air stops the engine, whatever the other holds.
    tee = (
        PUMP | {"name": "tee", "position": mm((310, 250, 600))}
        if feed == "pump"
        else part("tee", "tee", (310, 250, 600))
    )
    parts = [engine((310, 250, 0)), tee]
    fore, aft = bores

    def flown(folder: str, tanks: list[dict[str, Any]], ends: tuple[str, str], loaded: dict[str, str]) -> Flown:
        lines = [line("a", ends[0], "tee", bore=fore), line("b", ends[1], "tee", bore=aft), line("c", "tee", "engine")]
        layout = built(tmp_path / folder, tanks, parts, lines, "30 L/h", feed, flight(loaded=loaded))
        return fly(World.of(layout))

    one = flown("one", [walled((0, 0, 700))], ("main.fore", "main.aft"), {"main": "36.2 L"})
    size, out = (300, 500, 200), {"outlet out": (150, 250, 0)}
    pair = [box("fore", (0, 0, 700), size, out), box("aft", (320, 0, 700), size, out)]
    two = flown("two", pair, ("fore.out", "aft.out"), {"fore": "15 L", "aft": "15 L"})
    (_, _, parted_s), *_ = told(one, "parts")
    assert_allclose(parted_s, 6.2 / 30.0 * HOUR, rtol=1e-6)
    assert_allclose(one.end_s - parted_s, two.end_s, rtol=1e-6)
    assert_allclose(one.left_m3, two.left_m3, atol=1e-8)
    dry = [at_s - parted_s for _, _, at_s in told(one, "outlet dry")]
    assert_allclose(dry, [at_s for _, _, at_s in told(two, "outlet dry")], rtol=1e-6)
    assert (one.left_m3 > 1e-3) == (feed == "pump")
    assert abs(one.lost_m3) < 1e-9
    assert not any("one level" in note for note in one.notes)


def returning(folder: Path, loaded: str, draws: str = "aft", parts_of_it: int = 1) -> Flown:
    """The engine draws from one pool alone; what it sends back, 20 L/h, falls into the other, which is shut off; none of two parts does."""
    shut = "fore" if draws == "aft" else "aft"
    back = (150, 250, 200) if shut == "fore" else (470, 250, 200)
    tank = walled((0, 0, 0), **{"return back": back})
    parts = [engine((310, 250, -100), return_flow="20 L/h"), PUMP, part("cock", "valve", (150, 250, -50))]
    lines = [line("a", f"main.{draws}", "pump"), line("b", "pump", "engine"), line("c", f"main.{shut}", "cock")]
    lines += [line("d", "cock", "pump"), *([line("e", "engine", "main.back", "return")] if parts_of_it == 1 else [])]
    flown = flight(loaded={"main": loaded}, shut=["cock"])
    if parts_of_it == 2:
        flown = [
            flown[0] | {"duration": "1 h"},
            {"name": "g", "attitude": "level", "flow": "takeoff", "shut": ["cock"]},
        ]
    return fly(World.of(built(folder, [tank], parts, lines, "10 L/h", "pump", flown)))


@pytest.mark.parametrize("draws", ["fore", "aft"])
def test_what_comes_back_into_one_pool_reaches_the_other_over_the_saddle(draws: str, tmp_path: Path) -> None:
    # From 20 L, 10 in each: aft falls by 30 L/h; fore is full after 15 min, then 20 L/h run over: 2.5 L last 15 min more.
    found = returning(tmp_path, "20 L", draws)
    assert_allclose(found.end_s, 0.5 * HOUR, rtol=1e-6)
    assert_allclose(found.left_m3, 15.0 * LITRE, rtol=1e-6)
    assert sum("begin at one level" in note for note in found.notes) == 1
    assert not told(found, "full", "runs over")


def test_a_pool_that_is_shut_off_keeps_its_fuel(tmp_path: Path) -> None:
    # One level would bring all 36.2 L: 217 min. The fore pool keeps its 15 L, from one part of the flight to the next: 21.2 L at 10 L/h.
    found = returning(tmp_path, "36.2 L", parts_of_it=2)
    assert_allclose(found.end_s, 2.12 * HOUR, rtol=1e-6)
    assert_allclose(found.left_m3, 15.0 * LITRE, rtol=1e-6)
    assert not any("one level" in note for note in found.notes)


def test_pools_join_again_when_both_are_full(tmp_path: Path) -> None:
    # 60 L/h are pumped into the fore pool from another tank, 10 L/h drawn from the aft one: 50 L/h gained, joined at 30 L.
    tank = walled((0, 0, 0), **{"inlet in": (150, 250, 150)})
    tip = box("tip", (0, 1000, 0), (300, 500, 200), {"outlet out": (150, 250, 0)})
    parts = [
        engine((310, 250, -100)),
        PUMP,
        part("lift", "pump", (0, 800, -50), curve=[["0 L/h", "60 kPa"], ["60 L/h", "50 kPa"]]),
    ]
    lines = [
        line("a", "main.aft", "pump"),
        line("b", "pump", "engine"),
        line("c", "main.fore", "cock"),
        line("d", "cock", "pump"),
    ]
    lines += [line("e", "tip.out", "lift"), line("f", "lift", "main.in")]
    parts.append(part("cock", "valve", (150, 250, -50)))
    stated = flight(loaded={"main": "26 L", "tip": "25 L"}, shut=["cock"])
    found = fly(World.of(built(tmp_path, [tank, tip], parts, lines, "10 L/h", "pump", stated)))
    kinds = [what for what, _, _ in told(found, "parts", "joins")]
    assert kinds == ["joins", "parts"]
    joined, parted = (
        next(k for k, t in enumerate(found.times_s) if t >= at) for _, _, at in told(found, "parts", "joins")
    )
    assert_allclose(found.held_m3[[joined, parted], 0], 30.0 * LITRE, rtol=1e-6)
    assert abs(found.lost_m3) < 1e-9
    assert_allclose(found.left_m3, 15.0 * LITRE, rtol=1e-6)


@pytest.mark.parametrize("parts_of_it", [1, 2])
def test_an_outlet_that_takes_air_ends_what_its_pump_draws_from_the_other_pool(
    parts_of_it: int, tmp_path: Path
) -> None:
    # A pump lifts from both into a header: with the fore pool run out it draws air, and the aft one keeps some 10 L.
    header = box("header", (0, 1000, 500), (300, 500, 200), {"inlet in": (150, 0, 200), "outlet out": (150, 250, 0)})
    parts = [
        engine((310, 250, 0)),
        part("lift", "pump", (310, 250, 600), curve=[["0 L/h", "60 kPa"], ["60 L/h", "20 kPa"]]),
    ]
    lines = [line("a", "main.fore", "lift"), line("b", "main.aft", "lift", bore=2.0), line("c", "lift", "header.in")]
    lines.append(line("d", "header.out", "engine"))
    stated = flight(loaded={"main": "31 L", "header": "1 L"})
    if parts_of_it == 2:  # what takes air does not give again because a part of the flight begins
        stated = [stated[0] | {"duration": "90 min"}, {"name": "g", "attitude": "level", "flow": "takeoff"}]
    found = fly(World.of(built(tmp_path, [walled((0, 0, 0)), header], parts, lines, "10 L/h", "gravity", stated)))
    first, *_ = told(found, "outlet dry")
    assert first[1] == "fore"
    assert_allclose(found.held_m3[-1, 0], found.held_m3[np.searchsorted(found.times_s, first[2]), 0], rtol=1e-6)
    assert found.held_m3[-1, 0] > 5.0 * LITRE


def test_a_vent_blocked_while_they_are_parted_joins_no_pools(tmp_path: Path) -> None:
    # 1 L together, then the aft pool's 15 L at 10 L/h: 96 min; the fore one keeps its own.
    parts = [
        engine((310, 250, -100)),
        PUMP,
        part("cock", "valve", (150, 250, -50)),
        part("out", "overboard", (310, 800, 260)),
    ]
    lines = [
        line("a", "main.aft", "pump"),
        line("b", "pump", "engine"),
        line("c", "main.fore", "cock"),
        line("d", "cock", "pump"),
    ]
    lines.append(line("v", "main.vent", "out", "vent", path=[(310, 250, 260)]))
    stated = flight(loaded={"main": "31 L"}, shut=["cock"])
    world = World.of(built(tmp_path, [walled((0, 0, 0))], parts, lines, "10 L/h", "pump", stated))
    found = fly(world, Upset("v blocked", blocked=frozenset({"v"})), 80.0 * 60.0)
    assert found.end_s <= 96.001 * 60.0  # sooner where the air grows thin
    assert found.left_m3 > 14.999 * LITRE
    assert abs(found.lost_m3) < 1e-9


@pytest.mark.parametrize(("vent_mm", "hours"), [(150, 0.5), (470, 1.0)])
def test_what_runs_over_from_another_tank_falls_into_the_pool_below_the_vent(
    vent_mm: float, hours: float, tmp_path: Path
) -> None:
    # 20 L/h run over into the aft pool, of which 30 are drawn: its 10 L last 1 h; into the fore one, as what comes back: 30 min.
    tank = walled((0, 0, 0))
    tank["vent"] = [{"name": "vent", "position": mm((vent_mm, 250, 200)), "bore": "8 mm"}]
    top = box("top", (0, 1000, 600), (300, 500, 200), {"return back": (150, 250, 200), "outlet out": (150, 250, 0)})
    parts = [engine((310, 250, -100), return_flow="20 L/h"), PUMP]
    lines = [line("a", "main.aft", "pump"), line("b", "pump", "engine"), line("v", "top.vent", "main.vent", "vent")]
    for cock, outlet, place in (("one", "main.fore", (150, 250, -50)), ("two", "top.out", (150, 1250, -50))):
        parts.append(part(cock, "valve", place))
        lines += [line(f"to {cock}", outlet, cock), line(f"from {cock}", cock, "pump")]
    lines.append(line("e", "engine", "top.back", "return"))
    stated = flight(loaded={"main": "20 L", "top": "30 L"}, shut=["one", "two"])
    found = fly(World.of(built(tmp_path, [tank, top], parts, lines, "10 L/h", "pump", stated)))
    assert_allclose(found.end_s, hours * HOUR, rtol=1e-6)


def test_a_pool_that_is_held_back_full_holds_up_what_would_run_into_it(tmp_path: Path) -> None:
    # The tip runs by a line into the floor of the fore pool, which no outlet empties: it stays full, and the tip keeps its own 15 L.
    tank = walled((0, 0, 0), **{"inlet in": (150, 500, 0)})
    tank["outlet"] = [one for one in tank["outlet"] if one["name"] == "aft"]
    tip = box("tip", (0, 1000, 0), (300, 500, 200), {"outlet out": (150, 0, 0)})
    lines = [line("a", "main.aft", "pump"), line("b", "pump", "engine"), line("c", "tip.out", "main.in")]
    stated = flight(loaded={"main": "61 L", "tip": "30 L"})
    found = fly(
        World.of(built(tmp_path, [tank, tip], [engine((310, 250, -100)), PUMP], lines, "10 L/h", "pump", stated))
    )
    assert_allclose(found.held_m3[-1], [15.0 * LITRE, 15.0 * LITRE], rtol=1e-4)


def test_what_comes_in_falls_into_the_pool_below_whatever_face_it_comes_in_by(tmp_path: Path) -> None:
    places = [(x, y, z) for x in (150, 470) for y, z in ((250, 0), (0, 0), (0, 50), (500, 120), (250, 200))]
    tank = walled((0, 0, 0), **{f"inlet at {k}": place for k, place in enumerate(places)})
    lines = [line("a", "main.fore", "pump"), line("b", "main.aft", "pump"), line("c", "pump", "engine")]
    layout = built(tmp_path, [tank], [engine((310, 250, -100)), PUMP], lines)
    fitted, up = layout.tank("main"), np.array([0.0, 0.0, 1.0])
    fore, aft, *found = seeds_below(
        fitted.cavity, [fitted.spot(name) for name in ("fore", "aft", *(f"at {k}" for k in range(10)))], up
    )
    assert fore != aft
    assert found == [fore] * 5 + [aft] * 5
