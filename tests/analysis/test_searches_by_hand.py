"""Searches by hand, on what is made up: what a flight asks of its lines, changes that help, room for a switch, returns, inlets, vents."""

from __future__ import annotations

from math import cos, inf, pi, sin
from types import SimpleNamespace as Made
from typing import Any

import numpy as np
import pytest

from fuelsys.analysis.fills import model, origin
from fuelsys.analysis.flights import changes, fly, legs, levelled
from fuelsys.analysis.lines import in_flight, inlet
from fuelsys.analysis.sweeping import bands, rooms, shares
from fuelsys.analysis.tank import dipstick
from fuelsys.errors import QuestionError, SheetError
from fuelsys.model.built.ends import PortEnd
from fuelsys.model.built.network import Network
from fuelsys.model.stated.attitude import Attitude
from fuelsys.model.stated.components import Engine, Pump
from fuelsys.model.stated.fillsheet import MadeFor
from fuelsys.model.stated.fittings import Outlet

CRUISE, PARKED = Attitude("cruise", "flight", normal=True), Attitude("parked", "ground", normal=True)
A, B, IN = PortEnd("a", "out"), PortEnd("b", "out"), PortEnd("b", "in")


def step(*heights_m: float, end: Any = IN) -> Any:
    return Made(points_m=np.array([[0.0, 0.0, height] for height in heights_m]), end=end)


def way(start: Any, end: Any, *steps: Any) -> Any:
    return Made(start=start, end=end, steps=steps, shortest=steps, through=())


# --- a part of a flight


@pytest.mark.parametrize(
    ("held", "most", "over", "closed", "full", "under", "full_at"),
    [
        (4.0, 4.0, 5.0, False, True, True, 4.0), (4.0 - 4e-11, 4.0, 5.0, False, False, True, 4.0),
        (4.0 - 4e-13, 4.0, 5.0, False, True, True, 4.0),
        (4.5, 4.0, 5.0, False, True, True, 4.5), (6.0, 4.0, 5.0, False, True, True, 5.0), (1.0, 4.0, 5.0, False, False, False, 4.0),
        (1.0 + 1e-9, 4.0, 5.0, False, False, True, 4.0), (6.0, 4.0, 5.0, True, False, True, 10.0 - 1e-8),
        (10.0, 4.0, 5.0, True, True, True, 10.0 - 1e-8),
    ],
)  # fmt: skip
def test_how_a_tank_stands_by_what_it_holds(
    held: float, most: float, over: float, closed: bool, full: bool, under: bool, full_at: float
) -> None:
    standing = Made(gross_m3=10.0, most_m3=most, over_m3=over, lips={"out": (1.0, 2.0)})
    leg: Any = Made(
        standings={"a": standing},
        closed=lambda tank: closed,
        whole={},
        most_m3={},
        plumbed=Made(ports={"a": (A,)}),
        modes={},
        _known=1,
    )
    legs.Leg.begin(leg, {"a": held})
    assert (leg.modes["a"].full, leg.modes["a"].under, leg._known) == (full, {A} if under else set(), None)
    assert leg.most_m3["a"] == pytest.approx(full_at, abs=1e-12)


@pytest.mark.parametrize(
    ("airless", "shut", "covered", "here", "wanted"),
    [
        # 7 kPa/m: the lowest of both lines is 1 m, so that 9 kPa at the port are 2 kPa more than draw air.
        (True, "b", {IN}, 9e3, [2e3]), (False, "b", {IN}, 9e3, []), (True, "", {IN}, 9e3, []), (True, "ab", {IN}, 9e3, []),
        (True, "b", {IN, A}, 9e3, []),
        # A port above its surface, or one that nothing solves, has the tank's air: 4 m of head and 300 Pa.
        (True, "b", set(), 9e3, [28e3 + 300.0 - 7e3]), (True, "b", {IN}, np.nan, [28e3 + 300.0 - 7e3]),
    ],
)  # fmt: skip
def test_how_near_shut_in_air_is_to_drawing_in_more(
    airless: bool, shut: str, covered: set[Any], here: float, wanted: list[float]
) -> None:
    ways = (way(A, IN, step(3.0, 1.0, 2.0), step(2.0, 5.0, 4.0)),)
    leg: Any = Made(
        airless=(1,) if airless else (), plumbed=Made(network=Made(ways=lambda kind: ways)), closed=lambda tank: tank in shut,
        _covered=lambda end: end in covered, head_pa_m=7e3, attitude=CRUISE,
    )  # fmt: skip
    found = legs.Leg._breathing(leg, Made(at=lambda node: here), {"b": 300.0})
    assert found == [legs.Gap("b", "breathes", pytest.approx(one)) for one in wanted]


def test_the_lowest_of_a_dry_branch_up_to_where_it_meets_others() -> None:
    tee, engine = "tee", "engine"
    ways = (
        way(A, engine, step(3.0, 2.0, end=tee), step(2.0, -1.0, end=engine)),
        way(B, engine, step(4.0, 1.0, end=tee), step(1.0, -1.0, end=engine)),
    )
    nodes: dict[Any, Any] = {
        A: Outlet.model_construct(name="out"),
        B: Outlet.model_construct(name="out"),
        tee: None,
        engine: None,
    }
    dry: Any = Made(
        plumbed=Made(network=Made(ways=lambda kind: ways, nodes=nodes), piping=Made(node=lambda end, side: (end, side))), engine=engine,
        _covered=lambda end: end == B, attitude=CRUISE,
    )  # fmt: skip
    assert legs.Leg._dry_now(dry) == {A: ((tee, "in"), 2.0)}
    for keeps, told in ((True, {}), (False, {A: ((tee, "in"), 2.0)})):
        nodes[tee] = Pump.model_construct(name="p", keeps_air_out=keeps)
        assert legs.Leg._dry_now(dry) == told
    nodes[tee] = None
    dry._covered = lambda end: False
    assert legs.Leg._dry_now(dry) == {}
    dry._covered, nodes[A] = lambda end: end == B, None
    assert legs.Leg._dry_now(dry) == {}
    # What is above its surface is asked once for each set of ports below theirs.
    asked: list[int] = []
    kept: Any = Made(modes={"a": legs.Mode({A}), "b": legs.Mode({B})}, _dry={}, _dry_now=lambda: asked.append(1) or {})
    assert [legs.Leg._dry_branches(kept) for _ in range(2)] == [{}, {}]
    kept.modes["b"].under.clear()
    assert (legs.Leg._dry_branches(kept), len(asked), set(kept._dry)) == (
        {},
        2,
        {frozenset({A, B}), frozenset({A})},
    )


# --- the level at which air comes


@pytest.mark.parametrize(
    ("stops", "lets", "wanted"),
    [
        ({A: 2.0, B: 1.0}, {(A, (B,))}, 2.0), ({A: 2.0, B: 1.0}, set(), -inf), ({A: 2.0, B: 2.0 - 5e-4}, {(A, (B,))}, -inf),
        ({A: 2.0}, {(A, ())}, -inf), ({A: 2.0, PortEnd("a", "low"): 1.0}, {(A, (PortEnd("a", "low"),))}, -inf),
        ({A: 2.0, B: 1.0, IN: 3.0}, {(IN, (A,)), (A, (B,))}, 3.0), ({A: 2.0, B: 1.0, IN: 3.0}, {(A, (B,))}, 2.0),
        ({A: 1.0, B: 2.0}, {(B, (A,))}, 2.0),
    ],
)  # fmt: skip
def test_the_level_at_which_air_comes_by_a_dry_outlet(
    monkeypatch: pytest.MonkeyPatch, stops: dict[PortEnd, float], lets: set[Any], wanted: float
) -> None:
    monkeypatch.setattr(levelled, "sources_of", lambda layout, end: (*stops, PortEnd("c", "out")))
    monkeypatch.setattr(
        levelled, "lets_air_in", lambda solving, end, dry, others, attitude: (dry, others) in lets and end == "engine"
    )
    nodes = {"tee": None, "engine": Engine.model_construct(name="engine")}
    one: Any = Made(solving=Made(layout=Made(network=Made(nodes=nodes))), attitude=CRUISE)
    assert levelled.Levelled._first_air_m(one, stops) == wanted


# --- changes that help


@pytest.mark.parametrize(
    ("first", "again", "pairs", "late", "kinds", "told"),
    [
        (["mark"], [], [], True, {"mark": None, "pump": None}, ("mark", ("pump",))), ([], [], [], True, {"mark": None}, ("", ("mark",))),
        ([], ["switch"], [], True, {"mark": None}, ("switch", ("mark",))), ([], ["switch"], [], False, {"mark": None}, ("", ("mark",))),
        ([], [], ["mark and pump"], True, {"mark": None, "pump": None, "vent": None}, ("mark and pump", ("vent",))),
    ],
)  # fmt: skip
def test_the_cheapest_change_and_what_was_tried(
    monkeypatch: pytest.MonkeyPatch, first: Any, again: Any, pairs: Any, late: bool, kinds: Any, told: Any
) -> None:
    asked = iter((first, again))

    def worth(trials: Any, case: Any, from_s: float, usual: Any, tried: Any) -> Any:
        tried.kinds |= kinds
        tried.short.append(("k", (), None, "sooner"))
        tried.unflown["x"] = "x (needs y)"
        return iter([(one, f"worth {one}") for one in next(asked)])

    monkeypatch.setattr(changes, "_trials", lambda world, case, flown, from_s: ())
    monkeypatch.setattr(changes, "_worth", worth)
    monkeypatch.setattr(changes, "_pairs", lambda case, from_s, usual, tried: iter([(p, f"worth {p}") for p in pairs]))
    found: Any = changes.cheapest(None, Made(late=late), None, 0.0, None)
    assert found == (f"worth {told[0]}" if told[0] else None, told[1], ("x (needs y)",), 0)


@pytest.mark.parametrize(
    ("kind", "marked", "less", "flown", "fault", "worth", "kinds", "short", "unflown"),
    [
        ("a check valve", "", False, True, False, True, [], 0, []), ("a check valve", "", True, True, False, False, ["a check valve"], 1,
         []),
        ("a higher mark", "", True, True, False, True, [], 0, []), ("a higher mark", "late", False, True, False, False, ["a higher mark"],
         1, []),
        ("a and b", "late", False, True, False, False, [], 1, []), ("a pump", "late", False, False, False, False, [], 0, []),
        ("a pump", "", False, True, True, False, [], 0, ["a pump (needs a bore. State it)"]),
    ],
)  # fmt: skip
def test_whether_a_change_is_worth_it(
    monkeypatch: pytest.MonkeyPatch, kind: str, marked: str, less: bool, flown: bool, fault: bool, worth: bool, kinds: Any, short: int,
    unflown: Any,
) -> None:  # fmt: skip
    def fly(*given: Any) -> Any:
        if fault:
            raise QuestionError("no bore", needs="a bore", mend="State it.")
        return Made() if flown else None

    monkeypatch.setattr(changes, "fly", fly)
    monkeypatch.setattr(changes, "again", lambda world, case: None)
    monkeypatch.setattr(changes, "Failing", lambda words, result: Made(marked=marked, flown=result))
    monkeypatch.setattr(changes, "_flies_less", lambda changed, usual: less)
    tried = changes._Tried()
    case: Any = Made(late=False, upset=Made(words=()))
    trials: Any = [(kind, ("words",), None)]
    found = list(changes._worth(trials, case, 0.0, None, tried))
    assert [one[0] for one in found] == ([kind] if worth else [])
    assert (list(tried.kinds), len(tried.short), list(tried.unflown.values())) == (kinds, short, unflown)


@pytest.mark.parametrize(
    ("stopped", "end_s", "less"),
    [("dry", 98.9, True), ("dry", 99.0, False), ("dry", 100.0, False), ("", 10.0, False)],
)
def test_whether_a_changed_design_flies_less(
    monkeypatch: pytest.MonkeyPatch, stopped: str, end_s: float, less: bool
) -> None:
    monkeypatch.setattr(changes, "fly", lambda changed, pace: Made(stopped=stopped, end_s=end_s))
    assert changes._flies_less(None, Made(end_s=100.0)) is less


# --- what may be off


@pytest.mark.parametrize(
    ("one", "two", "far", "wanted"),
    [
        (2.0, 4.0, False, (1.8, 4.4)),
        (2.0, None, False, (1.8, 11.0)),
        (None, 4.0, False, (-inf, -inf)),
        (2.0, 4.0, True, (-inf, -inf)),
    ],
)
def test_the_least_and_the_most_when_a_switch_trips(
    monkeypatch: pytest.MonkeyPatch, one: Any, two: Any, far: bool, wanted: tuple[float, float]
) -> None:
    asks: list[Any] = []
    drained = Made(passed_all=lambda pairs: asks.append(pairs) or (one, two))
    monkeypatch.setattr(bands, "Drained", Made(of=lambda cavity, up, ports, spots: drained))
    monkeypatch.setattr(bands, "outlets", lambda tank: ())
    monkeypatch.setattr(bands, "_reach_m", lambda asked, k, switch, up: (0.1, 0.3))
    asked: Any = Made(
        tolerances=Made(mounted_rad=0.0, capacity_share=0.1), tank=Made(spot=lambda name: name, cavity=Made(gross_m3=10.0)),
        flight=(CRUISE,),
    )  # fmt: skip
    found = bands._guaranteed(asked, 0, Made(name="low", too_far=lambda up: far))
    assert found == pytest.approx(wanted)
    assert asks == [[(0, -0.1, 0), (0, 0.3, 1)]]
    asked.tolerances.mounted_rad = 0.01
    if one and not far:
        assert bands._guaranteed(asked, 0, Made(name="low", too_far=lambda up: far)) == pytest.approx(wanted)
        assert len(asks) == 10


def test_what_samples_answer(monkeypatch: pytest.MonkeyPatch) -> None:
    # Two samples, at two attitudes, of one switch: what is left counts above the most that stays at any.
    left, held = np.array([[1.0, 2.0], [4.0, 3.0]]), np.array([[[10.0], [20.0]], [[30.0], [40.0]]])
    monkeypatch.setattr(shares, "scaled", lambda asked, part, many: (left, held))
    monkeypatch.setattr(shares, "times_left", lambda asked, out, part, usable_m3: usable_m3 * 2.0)
    found = shares._answers(Made(many=lambda part: None), None, np.zeros((2, 1)))
    assert [one.tolist() for one in found] == [
        [[2.0], [4.0]], [[10.0, 20.0], [30.0, 40.0]], [[16.0, 36.0], [52.0, 72.0]]
    ]  # fmt: skip


@pytest.mark.parametrize("name", ["flow", "capacity", "mounted", "outlets", "marks", "trip", "density"])
@pytest.mark.parametrize("of_it", [0.0, 1e-9])
def test_what_a_figure_drawn_moves(name: str, of_it: float) -> None:
    stated = dict.fromkeys(("flow", "capacity", "mounted", "outlets", "trip", "density"), 1.0)
    stated[{"marks": "outlets"}.get(name, name)] = of_it
    bounds = Made(
        flow_share=stated["flow"], capacity_share=stated["capacity"], mounted_rad=stated["mounted"], set_off_m=stated["outlets"],
        density_share=stated["density"],
    )  # fmt: skip
    switches = [Made(tolerance_m=stated["trip"]), Made(tolerance_m=None)]
    asked: Any = Made(tolerances=bounds, tank=Made(design=Made(switch=switches), rides=True))
    assert shares._moves(asked, name) is (of_it > 0.0)
    none: Any = Made(tolerances=bounds, tank=Made(design=Made(switch=[]), rides=False))
    assert shares._moves(none, name) is (of_it > 0.0 and name not in ("marks", "trip", "density"))


@pytest.mark.parametrize(
    ("asked_l", "reads"),
    [
        # A tank of 10 L whose level is its litres, on a stick that begins at 2 and is cut twice as fine; it reads 0.25 more.
        (4.0, 1.25), (0.0, -0.75), (-5e-9, -0.75), (-2e-8, None), (10.0, 4.25), (10.0 + 5e-9, 4.25), (10.0 + 2e-8, None),
    ],
)  # fmt: skip
def test_what_a_stick_reads_of_a_tank(asked_l: float, reads: float | None) -> None:
    tilted = Made(level_for=lambda volumes: volumes.copy(), up=np.array([0.0, 0.0, 1.0]))
    stick = Made(zero_m=np.array([0.0, 0.0, 2.0]), along=np.array([0.0, 0.0, 2.0]))
    one: Any = Made(
        tilted=lambda correction: tilted,
        tank=Made(cavity=Made(gross_m3=10.0)),
        stick=stick,
        floor_at=lambda tilted, levels: levels * 0.0,
    )
    correction = np.zeros(16)
    correction[model.OFFSET] = 0.25
    found = model.FillModel.readings(one, np.array([asked_l]), correction)
    assert found.tolist() == pytest.approx([np.nan if reads is None else reads], nan_ok=True)


@pytest.mark.parametrize(
    ("tank", "attitude", "mesh", "now", "told"),
    [
        ("left", "parked", "a" * 12, "a" * 20, []), ("left", "level", "a" * 12, "a" * 20,
         ["was written for level, and is read as at parked"]),
        ("left", "parked", "b" * 12, "a" * 20, ["mesh has changed"]), ("left", "parked", "", "a" * 20, []), ("left", "parked", "b" * 12,
         "", []),
        ("left", "level", "b" * 12, "a" * 20, ["written for level", "mesh has changed"]), ("right", "parked", "", "a" * 20, None),
    ],
)  # fmt: skip
def test_where_a_sheet_comes_from(tank: str, attitude: str, mesh: str, now: str, told: list[str] | None) -> None:
    layout: Any = Made(
        inputs=[Made(file="other.stl", sha256="c" * 20), *([Made(file="left.stl", sha256=now)] if now else [])]
    )
    here: Any = Made(name="left", design=Made(mesh="left.stl"))
    sheet: Any = Made(made_for=MadeFor(tank, attitude, mesh), file="sheet.csv")
    if told is None:
        with pytest.raises(SheetError, match="for tank right"):
            origin.origin_notes(layout, here, PARKED, sheet)
        return
    found = origin.origin_notes(layout, here, PARKED, sheet)
    assert [part in note for part, note in zip(told, found, strict=True)] == [True] * len(told)
    assert origin.made_for(layout, here, PARKED) == MadeFor("left", "parked", now[:12])
    sheet.made_for = None
    assert "does not say which tank" in origin.origin_notes(layout, here, PARKED, sheet)[0]


@pytest.mark.parametrize(
    ("crossed", "inside", "reach_m", "thick"),
    [
        # A stick's line from the bottom at 1 m on: in the cavity, through a rib, in it again.
        ([1.1, 1.102], [(1.0, 1.1), (1.102, 1.3)], 0.3, [0.002]), ([1.1, 1.102], [(1.0, 1.1)], 0.3, []), ([1.1, 1.102], [(1.102, 1.3)],
         0.3, []),
        ([1.1, 1.102], [(1.0, 1.1), (1.102, 1.3)], 0.05, []), ([0.9, 1.1, 1.102, 1.2, 1.21], [(1.0, 1.1), (1.102, 1.2), (1.21, 1.3)], 0.3,
         [0.01, 0.002]),
        ([1.1, 1.1 + 1e-10], [(1.0, 1.1), (1.1 + 1e-10, 1.3)], 0.3, []), ([1.1, 1.102], [(1.0, 1.1), (1.102, 1.3)], -0.1, []),
    ],
)  # fmt: skip
def test_what_a_line_through_a_tank_meets(
    monkeypatch: pytest.MonkeyPatch, crossed: Any, inside: Any, reach_m: float, thick: list[float]
) -> None:
    monkeypatch.setattr(dipstick, "Tilted", Made(of=lambda cavity, along: None))
    monkeypatch.setattr(dipstick, "levels_crossed", lambda tilted, lines: [crossed])
    spot = lambda name, at: Made(off_m=0.0 if any(low <= at[2] <= high for low, high in inside) else 0.01)  # noqa: E731
    tank: Any = Made(cavity=Made(spot=spot, centre_m=np.zeros(3)), mesh_m=tuple)
    along = np.array([0.0, 0.0, 1.0])
    found = dipstick.barriers_along(tank, along * 1.0, along, reach_m)
    assert [one.thick_m for one in found] == pytest.approx(thick)
    if len(thick) == 1:
        assert found[0].at_m == pytest.approx((0.0, 0.0, 1.102))


def test_a_flight_that_changes_without_end_says_when() -> None:
    flight: Any = Made(
        changed="", here=np.zeros(2), names=(), now_s=600.0, events=fly._MOST_EVENTS, runs_out=lambda leg: None, settle=lambda leg: "",
        lamps_at_once=lambda leg, upset: None, world=Made(layout=Made(file="design.toml")),
    )  # fmt: skip
    part: Any = Made(begin=lambda held: None, modes={}, plumbed=Made(ports={}, network=Made(nodes={})))
    with pytest.raises(QuestionError, match=r"without end after 10\.0 min"):
        fly._Flight.leg(flight, part, None, 700.0)


# --- room for a switch


def test_a_stem_is_looked_at_along_eight_lines_about_it(monkeypatch: pytest.MonkeyPatch) -> None:
    asked: list[Any] = []

    def of(tank: Any, lines_m: Any) -> Any:
        asked.append(lines_m)
        return Made(line=np.arange(len(lines_m)), from_m=np.zeros(len(lines_m)))

    monkeypatch.setattr(rooms, "Stretches", Made(of=of))
    room, place = Made(tank=None, stem_m=0.02), Made(x_m=1.0, y_m=2.0, z_m=0.0)
    assert rooms.Room._stem_against(room, place) == ""
    about = [[1.0 + 0.01 * cos(k * pi / 4.0), 2.0 + 0.01 * sin(k * pi / 4.0)] for k in range(8)]
    assert asked[0] == pytest.approx(np.array([[1.0, 2.0], *about]))
    room.stem_m = 0.0
    assert rooms.Room._stem_against(room, place) == ""
    assert asked[1].tolist() == [[1.0, 2.0]]


@pytest.mark.parametrize(
    ("lines", "from_m", "z_m", "meets"),
    [
        ([0], [0.1], 0.1, False), ([0], [0.1], 0.1 - 2e-9, True), ([0, 0], [0.0, 0.2], 0.1, True), ([1], [0.0], 0.1, True),
        ([0], [0.0], None, False), ([0], [2e-9], None, True),
    ],
)  # fmt: skip
def test_a_stem_in_one_piece_to_the_roof(
    monkeypatch: pytest.MonkeyPatch, lines: list[int], from_m: list[float], z_m: Any, meets: bool
) -> None:
    stretches = Made(line=np.array(lines), from_m=np.array(from_m))
    monkeypatch.setattr(rooms, "Stretches", Made(of=lambda tank, lines_m: stretches))
    found = rooms.Room._stem_against(Made(tank=None, stem_m=0.0), Made(x_m=0.0, y_m=0.0, z_m=z_m))
    assert bool(found) is meets


@pytest.mark.parametrize(
    ("stroke_m", "heights"),
    [
        (0.0, [0.1, 0.1]),
        (0.0019, [0.1, 0.1019]),
        (0.002, [0.1, 0.101, 0.102]),
        (0.005, [0.1, 0.1 + 0.005 / 3, 0.1 + 0.01 / 3, 0.105]),
    ],
)
def test_a_float_is_looked_at_along_its_stroke(stroke_m: float, heights: list[float]) -> None:
    seen: list[float] = []
    cavity = Made(spot=lambda name, point: seen.append(point[2]) or Made(off_m=0.0), clearance_m=lambda point: 0.03)
    room: Any = Made(
        tank=Made(body_m=lambda point: point, cavity=cavity), switch=Made(differential_m=stroke_m), round_m=0.03
    )
    assert rooms.Room._float_against(room, Made(x_m=0.0, y_m=0.0, z_m=0.1)) == ""
    assert seen == (pytest.approx(heights) if stroke_m else [0.1, 0.1])
    room.round_m = 0.03 + 2e-9
    assert rooms.Room._float_against(room, Made(x_m=0.0, y_m=0.0, z_m=0.1)) == "its float has no room"
    cavity.spot = lambda name, point: Made(off_m=1e-6)
    assert rooms.Room._float_against(room, Made(x_m=0.0, y_m=0.0, z_m=None)) == "its float would rise into the roof"


@pytest.mark.parametrize(
    ("aside_m", "rise_m", "bore_m", "told"),
    [
        # A float of 30 mm all round that rises by 10 mm, a stem of 6 mm: a port of 8 mm keeps 34 mm from the float, 7 mm from the stem.
        (0.034, 0.0, 0.008, False), (0.0339, 0.0, 0.008, True), (0.0339, 0.01, 0.008, True), (0.0, -0.034, 0.008, False),
        (0.0, -0.0339, 0.008, True), (0.007, 0.3, 0.008, False), (0.0069, 0.3, 0.008, True), (0.03, 0.005, None, False),
        (0.0299, 0.005, None, True), (0.0339, 0.011, 0.008, True), (0.0, 0.044, 0.008, True), (0.007, 0.044, 0.008, False),
    ],
)  # fmt: skip
def test_what_else_is_in_the_way_of_a_switch(aside_m: float, rise_m: float, bore_m: Any, told: bool) -> None:
    port = Made(name="out", position_m=(aside_m, 0.0, 0.1 + rise_m), bore_m=bore_m)
    tank: Any = Made(design=Made(fittings={"outlet": (port,)}, dipstick=None, gauge=()))
    room: Any = Made(
        _fittings=list(rooms._fittings(tank)), round_m=0.03, stem_m=0.006, switch=Made(differential_m=0.01)
    )
    found = rooms.Room._fitting_against(room, Made(x_m=0.0, y_m=0.0, z_m=0.1))
    assert bool(found) is told


# --- lines


def test_the_tanks_that_an_engine_s_returns_lead_to() -> None:
    feed = (
        Made(start=A, end="engine", through=("filter",)),
        Made(start=B, end="other", through=("regulator",)),
    )
    back = (Made(start="engine", end=PortEnd("a", "back")), Made(start="filter", end=PortEnd("c", "back")),
            Made(start="regulator", end=PortEnd("b", "back")), Made(start="other", end=PortEnd("d", "back")),
            Made(start="engine", end=PortEnd(None, "overboard")))  # fmt: skip
    network: Any = Made(ways=lambda kind: feed if kind == "feed" else back)
    assert Network.return_tanks(network, "engine") == {"a", "c"}
    assert Network.return_tanks(network, "other") == {"b", "d"}


@pytest.mark.parametrize(
    ("gains", "more"),
    [
        ({("p", "q"): 30e3, ("p",): 10e3, ("q",): 20e3}, True), ({("p", "q"): 20e3, ("p",): 10e3, ("q",): 20e3}, False),
        ({("p", "q"): 20.03e3, ("p",): 10e3, ("q",): 20e3}, True), ({("p", "q"): 20.01e3, ("p",): 10e3, ("q",): 20e3}, False),
    ],
)  # fmt: skip
def test_what_two_pumps_in_a_row_bring_to_an_inlet(
    monkeypatch: pytest.MonkeyPatch, gains: dict[Any, float], more: bool
) -> None:
    monkeypatch.setattr(inlet, "_gain_pa", lambda layout, way, names: gains[names])
    monkeypatch.setattr(inlet, "_fall_m", lambda layout, way, attitude: 0.5)
    curve: Any = ((0.0, 1.0),)
    pumps = {name: Pump.model_construct(name=name, curve=curve) for name in "pq"}
    layout: Any = Made(
        network=Made(nodes={**pumps, "f": None}), design=Made(envelope=(CRUISE, PARKED), fuel=Made(density_kg_m3=720.0))
    )
    one: Any = Made(through=("p", "f", "q"), end="engine")
    (found,) = inlet._of(layout, one)
    head_pa = 720.0 * CRUISE.gravity_m_s2 * 0.5
    assert (found.pumps, found.pressure_pa, found.attitude) == (
        ("p", "q"),
        pytest.approx(gains["p", "q"] + head_pa),
        CRUISE,
    )
    assert more in (value for value in vars(found).values() if isinstance(value, bool))
    object.__setattr__(pumps["q"], "curve", None)
    (found,) = inlet._of(layout, one)
    assert (found.needs, found.attitude) == ("the curve of q", None)
    assert list(inlet._of(layout, Made(through=("f",), end="engine"))) == []


def test_where_each_tank_s_air_may_come_in() -> None:
    vents = {name: Made(name=name) for name in ("led", "unled", "drawn")}
    out = Made(name="out")
    tank = Made(
        name="a", design=Made(ports=(out, *vents.values()), vent=(vents["led"], vents["unled"], vents["drawn"]))
    )
    ends = {PortEnd("a", "led"): True}
    flying: Any = Made(
        layout=Made(tanks=(tank,), network=Made(lines_at=lambda end, kind: ends.get(end))),
        unled={PortEnd("a", "unled"), PortEnd("a", "out")},
    )
    found = in_flight._Flying.openings.func(flying)
    assert found == {"a": (PortEnd("a", "led"), PortEnd("a", "unled"))}
