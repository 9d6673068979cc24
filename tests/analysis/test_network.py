"""The plumbing as a network: every answer against all simple paths of small networks, and laws."""

from __future__ import annotations

import random
from dataclasses import replace
from typing import Any

import networks
import pytest
from hypothesis import given
from hypothesis import strategies as st
from networks import network
from numpy.testing import assert_allclose

from fuelsys.analysis.lines.routing import joined, run_at
from fuelsys.analysis.lines.runs import run
from fuelsys.model.built.ends import ComponentEnd, End, PlacedLine, PortEnd, Step, end_of
from fuelsys.model.built.network import Network
from fuelsys.model.built.way import Way, polyline
from fuelsys.model.found.plumbing import RunAt
from fuelsys.model.stated.attitude import Attitude
from fuelsys.model.stated.components import Engine, Filter, Overboard, Valve
from fuelsys.model.stated.design import LineKind
from fuelsys.model.stated.fittings import Port

LEVEL = Attitude("level", "flight", normal=True)
seeds = st.integers(0, 10**6)
kinds = st.sampled_from(["feed", "vent"])
attitudes = st.builds(Attitude.of_degrees, st.integers(-20, 20), st.integers(-20, 20))


# --- against all simple paths ----------------------------------------------------------------------------------------


def all_paths(of: Network, kind: LineKind) -> tuple[Way | None, list[tuple[Step, ...]]]:
    """The way of a network of networks.drawn_at_random, and its simple paths."""
    closed = {end for end, node in of.nodes.items() if isinstance(node, Port | Engine | Overboard)}
    start = next(end for end in of.nodes if isinstance(end, PortEnd))
    end = next(end for end in closed if isinstance(end, ComponentEnd))
    ways = of.ways(kind)
    assert all((way.start, way.end) == (start, end) for way in ways)
    return (ways[0] if ways else None), list(networks.simple_paths(of, kind, start, end, closed))


def inner(path: tuple[Step, ...]) -> set[End]:
    return {step.start for step in path[1:]}


@given(seeds, kinds, st.booleans(), attitudes)
def test_a_way_answers_as_all_its_simple_paths_do(seed: int, kind: LineKind, loops: bool, attitude: Attitude) -> None:
    of = networks.drawn_at_random(seed, kind, loops)
    way, paths = all_paths(of, kind)
    assert (way is None) == (not paths)
    if way is None:
        return
    lines = {step.line.name for path in paths for step in path}
    if kind == "vent" or not loops:
        assert set(way.lines) == lines
    assert set(way.lines) >= lines
    assert set(way.through) >= set.union(*map(inner, paths))
    assert set(way.always) == set.intersection(*map(inner, paths))
    assert len(way.shortest) == min(map(len, paths))
    assert way.single == (len(paths) == 1) or (kind == "feed" and loops)
    tops = [float((polyline(path) @ attitude.up).max()) for path in paths]
    assert_allclose(way.climb().top_m(attitude.up), min(tops), rtol=0, atol=1e-12)
    for shut in (Filter, Valve):
        avoid = {end for end in way.through if isinstance(of.component(end), shut)}
        assert (way.path(avoid=avoid) is None) == all(inner(path) & avoid for path in paths)
        fewest = min(len(inner(path) & avoid) for path in paths)
        assert way.least(lambda step, avoid=avoid: float(step.end in avoid)) == fewest  # type: ignore[misc]


def worst(at: RunAt, side: str) -> float:
    """The proudest of the deep points; 0 where there is none."""
    return max((point.proud_m for point in getattr(at, side) if point.deep), default=0.0)


def above(at: RunAt) -> float:
    return max((max(0.0, point.level_m - at.start_level_m) for point in at.high if point.deep), default=0.0)


def undrained(at: RunAt) -> dict[bool | None, float]:
    """The proudest deep low point of each kind: without a drain, not said, drained."""
    return {
        kind: max((p.proud_m for p in at.low if p.deep and p.drained is kind), default=0.0) for kind in (False, None)
    }


@given(seeds, kinds, st.booleans(), attitudes)
def test_the_worst_high_and_low_points_are_those_of_all_simple_paths(
    seed: int, kind: LineKind, loops: bool, attitude: Attitude
) -> None:
    of = networks.drawn_at_random(seed, kind, loops)
    way, paths = all_paths(of, kind)
    if way is None:
        return
    (at,) = run(Laid(of), way, [attitude]).at  # type: ignore[arg-type]
    each = [run_at(joined(of, path), attitude) for path in paths]
    assert_allclose(at.highest_level_m, min(one.highest_level_m for one in each), rtol=0, atol=1e-12)
    exact = kind == "feed" and not loops
    mixed = len({line.bore_m for line in of.edges}) > 1
    for side in ("high", "low"):
        if side == "low" and any(any(undrained(one).values()) for one in each):
            continue  # then those with a drain are not looked for
        most = max(worst(one, side) for one in each)
        assert worst(at, side) >= most - 1e-9 or undrained(at) != {False: 0.0, None: 0.0}
        assert worst(at, side) <= most + 1e-9 or not exact or mixed
    most = max(map(above, each))
    assert above(at) >= min(most, 1e-9)
    assert (above(at) > 0.0) == (most > 0.0) or not exact or mixed
    # An undrained low point is never passed over for one of which nothing is said, nor that for a drained one.
    said, kinds_found = undrained(at), [undrained(one) for one in each]
    first: tuple[bool | None, ...] = (False, None)
    wanted = next((kind for kind in first if any(one[kind] for one in kinds_found)), True)
    found = next((kind for kind in first if said[kind]), True)
    assert first_of(found) <= first_of(wanted)
    assert found is wanted or not exact or mixed


def first_of(drained: bool | None) -> int:
    """Worst first: no drain, not said, drained."""
    return (False, None, True).index(drained)


class Laid:
    """Stands for a layout: a run asks only for the network."""

    def __init__(self, of: Network) -> None:
        self.network = of


# --- by hand ---------------------------------------------------------------------------------------------------------

# From the outlet by a to c, then over b or d to e, on to the engine; d leads back to c from e's far side nowhere.
DIAMOND = {
    "t.out": ("outlet", (0, 0, 100)),
    "c": ("tee", (100, 0, 50)),
    "b": ("tee", (150, 50, 80)),
    "d": ("filter", (150, -50, 20)),
    "e": ("tee", (200, 0, 40)),
    "engine": ("engine", (300, 0, 0)),
}
DRAWN = [("1", "t.out", "c"), ("2", "c", "b"), ("3", "b", "e"), ("4", "c", "d"), ("5", "d", "e"), ("6", "e", "engine")]


def test_a_diamond_by_hand() -> None:
    (way,) = network("feed", DIAMOND, DRAWN).ways("feed")
    assert [str(end) for end in way.always] == ["c", "e"]
    assert {str(end) for end in way.through} == {"b", "c", "d", "e"}
    bare = way.path(avoid={end_of("d")})
    assert bare is not None
    assert [step.line.name for step in bare] == ["1", "2", "3", "6"]
    # Over d nothing stands above the outlet, at 100; over b neither.
    assert_allclose(way.climb().top_m(LEVEL.up), 0.100)
    (at,) = run(Laid(network("feed", DIAMOND, DRAWN)), way, [LEVEL]).at  # type: ignore[arg-type]
    # b stands 80 - 50 above c and 80 - 40 above e; d dips 50 - 20 below c and 40 - 20 below e: the smaller of each. No line
    # rises from c or e but to b, no line falls from them but to d and the engine.
    assert [(p.on, round(p.proud_m * 1e3, 6)) for p in at.high if p.deep] == [("b", 30.0)]
    assert [(p.on, round(p.proud_m * 1e3, 6), p.drained) for p in at.low if p.deep] == [("d", 20.0, None)]


def test_of_a_worst_path_its_small_high_and_low_points_are_told_too() -> None:
    # Beside b on its way down a hump of 2, beside d a dip of 1: they fill no section of a bore of 8. b stands above the outlet.
    bends = {"3": [(180, 20, 50), (190, 10, 52)], "5": [(170, -30, 31), (190, -10, 30)]}
    on_b, on_d = {("3", 2.0)}, {("5", 1.0)}
    # The path first looked at is that of the lines drawn first: over b, or over d.
    for drawn, high, low in ((DRAWN, on_b, on_b | on_d), (DRAWN[::-1], on_d | on_b, on_d)):
        of = network("feed", DIAMOND | {"t.out": ("outlet", (0, 0, 60))}, drawn, bends)
        (way,) = of.ways("feed")
        (at,) = run(Laid(of), way, [LEVEL]).at  # type: ignore[arg-type]
        for points, told in ((at.high, high | {("b", 30.0)}), (at.low, low | {("d", 20.0)})):
            assert sorted((p.on, round(p.proud_m * 1e3, 6)) for p in points) == sorted(told)


def test_a_dead_end_and_a_loop_back_are_on_no_way() -> None:
    dead = [*DRAWN, ("7", "b", "x"), ("8", "e", "y"), ("9", "y", "e")]
    of = network("feed", {**DIAMOND, "x": ("tee", (0, 0, 0)), "y": ("tee", (0, 0, 0))}, dead)
    (way,) = of.ways("feed")
    assert set(way.lines) == set("123456")


def test_a_drain_on_one_of_two_branches_empties_that_one_alone() -> None:
    # Both branches dip by 20 below e; only the filter's has a drain.
    parts = {**DIAMOND, "b": ("tee", (150, 50, 20)), "d": ("tee", (150, -50, 10))}
    of = network("feed", parts, DRAWN, drains={"4": [(150, -50, 10)]})
    (way,) = of.ways("feed")
    (at,) = run(Laid(of), way, [LEVEL]).at  # type: ignore[arg-type]
    assert {(p.on, p.drained) for p in at.low if p.deep} >= {("b", False)}
    assert ("d", False) not in {(p.on, p.drained) for p in at.low}


# Up 30 to a flat stretch of two joints, and down again; one side arm goes up from the flat, the other down.
FLAT = {
    "t.out": ("outlet", (0, 0, 0)),
    "one": ("tee", (100, 0, 30)),
    "two": ("tee", (200, 0, 30)),
    "engine": ("engine", (300, 0, 0)),
    "up": ("tee", (100, 50, 60)),
    "down": ("tee", (200, 50, 10)),
}
ARMS = [("1", "t.out", "one"), ("2", "one", "two"), ("3", "two", "engine"), ("4", "one", "up"), ("5", "two", "down")]


@pytest.mark.parametrize("sign", [1, -1], ids=["high", "low"])
def test_of_two_side_arms_on_a_flat_stretch_one_that_leads_on_is_enough(sign: int) -> None:
    parts = {name: (what, (x, y, sign * z)) for name, (what, (x, y, z)) in FLAT.items()}
    side = "high" if sign > 0 else "low"
    for arms, found in ((ARMS, 0), ([*ARMS[:3], ARMS[4]], 1), (ARMS[:4], 0), (ARMS[:3], 1)):
        of = network("feed", parts, arms)
        (way,) = of.ways("feed")
        assert len(getattr(run_at(joined(of, way.shortest), LEVEL), side)) == found


@pytest.mark.parametrize("sign", [1, -1], ids=["high", "low"])
def test_the_same_where_a_second_line_makes_two_paths(sign: int) -> None:
    parts = {name: (what, (x, y, sign * z)) for name, (what, (x, y, z)) in FLAT.items()}
    for arms, found in ((ARMS, False), ([*ARMS[:3], ARMS[4]], True)):
        of = network("feed", parts, [*arms, ("6", "one", "two")])
        (way,) = of.ways("feed")
        assert not way.single
        (at,) = run(Laid(of), way, [LEVEL]).at  # type: ignore[arg-type]
        assert bool(getattr(at, "high" if sign > 0 else "low")) == found


# --- laws ------------------------------------------------------------------------------------------------------------


def turned(line: PlacedLine) -> PlacedLine:
    """A line drawn from its other end."""
    ends = {"from_port": line.design.to_port, "to_port": line.design.from_port}
    return PlacedLine(line.design.model_copy(update=ends), line.points_m[::-1], line.drains_m)


def told(of: Network, kind: LineKind, attitude: Attitude) -> list[tuple[Any, ...]]:
    """All that is said of a network's ways, without the order of anything."""
    said = []
    for way in of.ways(kind):
        (at,) = run(Laid(of), way, [attitude]).at  # type: ignore[arg-type]
        figures = [at.highest_level_m, worst(at, "high"), float(undrained(at)[False] > 0.0)]
        names = (frozenset({str(way.start), str(way.end)}), frozenset(way.lines), frozenset(map(str, way.always)))
        said.append((*names, tuple(round(figure, 9) + 0.0 for figure in figures)))
    return sorted(said, key=repr)


@given(seeds, st.sets(st.integers(0, 8)), attitudes)
def test_a_vents_lines_may_be_drawn_either_way(seed: int, which: set[int], attitude: Attitude) -> None:
    of = networks.drawn_at_random(seed, "vent", True)
    edges = tuple(turned(line) if i in which else line for i, line in enumerate(of.edges))
    assert told(replace(of, edges=edges, _kept={}), "vent", attitude) == told(of, "vent", attitude)


@given(seeds, attitudes)
def test_with_all_feed_lines_turned_the_way_leads_back(seed: int, attitude: Attitude) -> None:
    of = networks.drawn_at_random(seed, "feed", False)
    _, paths = all_paths(of, "feed")
    back = replace(of, edges=tuple(map(turned, of.edges)), _kept={})
    assert back.ways("feed") == ()  # fuel does not enter a tank by its outlet
    for path in paths[:1]:
        at, again = (run_at(joined(of, steps), attitude) for steps in (path, against(path)))
        assert (at.start_level_m, at.end_level_m) == (again.end_level_m, again.start_level_m)
        assert_allclose(worst(again, "high"), worst(at, "high"), atol=1e-9)


def against(path: tuple[Step, ...]) -> tuple[Step, ...]:
    return tuple(Step(step.line, step.end, step.start) for step in reversed(path))


@given(seeds, kinds, st.booleans(), attitudes)
def test_other_names_and_another_order_change_nothing_else(
    seed: int, kind: LineKind, loops: bool, attitude: Attitude
) -> None:
    of = networks.drawn_at_random(seed, kind, loops)
    dice = random.Random(seed + 1)
    new = {str(end): str(end) if end.tank else f"n{9 - i}" for i, end in enumerate(of.nodes)}
    names = {line.name: f"m{i * 7 % 11}" for i, line in enumerate(of.edges)}

    def renamed(line: PlacedLine) -> PlacedLine:
        update = {"name": names[line.name], "from_port": new[str(line.start)], "to_port": new[str(line.end)]}
        return PlacedLine(line.design.model_copy(update=update), line.points_m, line.drains_m)

    edges = [renamed(line) for line in of.edges]
    nodes = [(end_of(new[str(end)]), node) for end, node in of.nodes.items()]
    dice.shuffle(edges)
    dice.shuffle(nodes)
    was = [
        (
            frozenset(new[n] for n in ends),
            frozenset(names[n] for n in lines),
            frozenset(new[n] for n in always),
            figures,
        )
        for ends, lines, always, figures in told(of, kind, attitude)
    ]
    assert told(Network(of.tanks, dict(nodes), tuple(edges)), kind, attitude) == sorted(was, key=repr)
