"""Lamps, marks, outflows and rises by hand, on what is made up: when a lamp lights and goes out, where a mark gives ten minutes."""

from __future__ import annotations

from types import SimpleNamespace as Made
from typing import Any

import numpy as np
import pytest

from fuelsys.analysis.flights import logged, marks
from fuelsys.analysis.tank import outflow, standing, switches
from fuelsys.model.found.fly import Happening
from fuelsys.model.stated.attitude import Attitude
from fuelsys.model.stated.components import Engine, Pump, Tee
from fuelsys.model.stated.fittings import Switch

CRUISE = Attitude("cruise", "flight", normal=True)


class Log(logged.Logged):
    """A flight's log of one tank with one switch."""

    def __init__(self, now_s: float, delay_s: float | None = 5.0, held: float = 3.0) -> None:
        switch = Made(name="low", delay_s=delay_s)
        self.world: Any = Made(
            layout=Made(tank=lambda name: Made(design=Made(switch=[Made(name="other", delay_s=99.0), switch])))
        )
        self.now_s, self.lit, self.late, self.told = now_s, {}, {}, []
        self.here = np.array([held, 0.0, 0.0])
        self.__dict__["vessels"] = Made(names=("a",), parted={}, by_tank=lambda here: here)


@pytest.mark.parametrize(
    ("now_s", "delay_s", "at_s", "first"),
    [(0.0, 5.0, 0.0, True), (0.005, 5.0, 5.005, False), (10.0, 5.0, 15.0, False), (10.0, None, 10.0, False)],
)
def test_when_a_lamp_lights(now_s: float, delay_s: float | None, at_s: float, first: bool) -> None:
    log = Log(now_s, delay_s)
    log.light("a", "low")
    assert log.lit == {("a", "low"): (at_s, 3.0, 3.0, first)}
    assert [(one.at_s, one.what, one.tank, one.detail, one.held_m3) for one in log.told] == [
        (at_s, "lights", "a", "low", 3.0)
    ]
    log.trips_late("a", "low")
    assert log.late == {("a", "low"): at_s}
    log.now_s = 99.0
    log.trips_late("a", "low")  # the first counts
    assert log.late == {("a", "low"): at_s}


def test_a_lamp_that_goes_out_or_never_lit() -> None:
    log = Log(10.0)
    log.told.append(Happening(1.0, "lights", "b", "low", 1.0, 1.0))
    log.light("a", "low")
    log.late["a", "low"] = 15.0
    log.now_s = 15.0
    log.put_out("a", "low")
    assert ([one.what for one in log.told], log.lit, log.late) == (["lights", "lights", "goes out"], {}, {})
    log = Log(10.0)
    log.told.append(Happening(1.0, "lights", "b", "low", 1.0, 1.0))
    log.light("a", "low")
    log.now_s = 14.9  # it still waits
    log.put_out("a", "low")
    assert [(one.what, one.tank) for one in log.told] == [("lights", "b")]


@pytest.mark.parametrize(
    ("held", "lamps", "lit", "stuck", "done"),
    [
        # It trips at 4, resets at 5, and trips at the latest at 3.
        (3.5, (4.0, 5.0, 3.0), False, False, ["light"]), (4.0, (4.0, 5.0, 3.0), False, False, []), (3.5, (4.0, 5.0, 3.0), False, True,
         []), (2.9, (4.0, 5.0, 3.0), False, False, ["light", "late"]),
        (5.0, (4.0, 5.0, 3.0), True, False, []), (5.1, (4.0, 5.0, 3.0), True, False, ["out"]), (2.9, (4.0, 5.0, 3.0), True, False,
         ["late"]), (3.0, (4.0, 5.0, 3.0), True, False, []),
        (2.9, (4.0, 5.0, None), False, False, ["light"]), (2.9, (None, 5.0, 3.0), False, False, []), (2.9, (4.0, None, 3.0), False, False,
         []),
    ],
)  # fmt: skip
def test_lamps_that_light_at_once(held: float, lamps: Any, lit: bool, stuck: bool, done: list[str]) -> None:
    notes: list[str] = []
    log: Any = Made(lit={("a", "low"): 1} if lit else {}, late={("a", "low"): 1.0}, here=np.array([held]))
    log.light = lambda *lamp: (notes.append("light"), log.lit.update({lamp: 1}))
    log.put_out = lambda *lamp: (notes.append("out"), log.lit.pop(lamp))
    log.trips_late = lambda *lamp: notes.append("late")
    leg: Any = Made(standings={"a": Made(lamps={"low": lamps})})
    logged.Logged.lamps_at_once(log, leg, Made(stuck={("a", "low")} if stuck else set()))
    assert notes == done
    # What was late counts no longer where it stands above that by the differential.
    above = lamps[2] is not None and None not in lamps and held > lamps[2] + 1.0 and "late" not in done and not stuck
    assert (log.late == {}) == above


# --- a mark that gives ten minutes


def flown(held: list[float], end_s: float = 2000.0) -> Any:
    times = np.linspace(0.0, end_s, len(held))
    return Made(
        end_s=end_s,
        tanks=("a",),
        times_s=times,
        held_m3=np.array(held)[:, None],
        parts=[Made(from_s=0.0, attitude=CRUISE), Made(from_s=1900.0, attitude=None)],
    )


def world(off_m: float = 0.0, face: int = -1) -> tuple[Any, Any]:
    asked: list[Any] = []

    def spot(key: str, at_m: Any) -> Any:
        asked.append(at_m)
        return Made(off_m=off_m, face=face, at_m=at_m)

    tank = Made(name="a", rise_m=lambda key: 0.002, rides={}, cavity=Made(spot=spot), mesh_m=lambda at: at, asked=asked)
    return Made(standing=lambda name, attitude: Made(level_m=lambda held: held / 10.0)), tank


SWITCH: Any = Switch.model_construct(name="low", tolerance_m=0.003, delay_s=None, float_body=None)


@pytest.mark.parametrize(("sooner_s", "drop_m", "z_m"), [(0.0, 0.0, 0.141), (200.0, 0.0, 0.161), (0.0, 0.01, 0.141)])
def test_where_a_mark_lights_ten_minutes_before_the_end(sooner_s: float, drop_m: float, z_m: float) -> None:
    """2 L burnt in 2000 s: 0.6 L with ten minutes to go stand at 0.06 of a tenth of a metre a litre ..., higher by the tolerance."""
    one, tank = world()
    found = marks._mark(
        one, tank, flown([2.0, 1.0, 0.0]), np.array([0.1, 0.2, 0.0]), SWITCH, sooner_s, np.array([0.0, 0.0, drop_m])
    )
    assert found is not None
    spot, at_m, held_m3 = found
    held = 0.6 + sooner_s / 1000.0
    # The surface stands at a tenth of what is held; the mark trips there though it is 3 mm low; rounded up to what can be told.
    assert held_m3 == pytest.approx(held)
    up = held / 10.0 + 0.003
    trips = spot.at_m[2]
    assert up - 1e-9 <= trips <= up + marks._STEP_M + 1e-9
    assert at_m[2] == pytest.approx(trips - 0.002 + drop_m, abs=1e-9)
    assert z_m > 0.0


@pytest.mark.parametrize(
    ("held", "end_s", "off_m", "face", "there"),
    [
        ([2.0, 1.0, 0.0], 2000.0, 0.0, -1, True), ([2.0, 1.0, 0.0], 600.0, 0.0, -1, False), ([2.0, 1.0, 0.0], 601.0, 0.0, -1, True),
        ([2.0, 1.0, 0.0], 2000.0, 1e-3, -1, False), ([2.0, 1.0, 0.0], 2000.0, 0.0, 3, False),
        ([0.6, 0.6, 0.6, 0.6, 0.6, 0.6], 2000.0, 0.0, -1, False), ([2.0, 0.2, 0.2, 1.9, 0.0], 2000.0, 0.0, -1, False),
        ([0.3, 2.0, 1.0, 0.0], 2000.0, 0.0, -1, False), ([2.0, 1.0, 0.0], 2000.0, 0.005, 3, False),
    ],
)  # fmt: skip
def test_where_no_mark_gives_ten_minutes(held: list[float], end_s: float, off_m: float, face: int, there: bool) -> None:
    one, tank = world(off_m, face)
    assert (marks._mark(one, tank, flown(held, end_s), np.zeros(3), SWITCH, 0.0) is not None) is there


def test_names_and_the_next_lamp_above() -> None:
    def tank(*names: str) -> Any:
        return Made(
            name="a",
            design=Made(
                switch=[
                    Made(name=name, target_s=target) for name, target in zip(names, (600.0, 1200.0, None), strict=False)
                ]
            ),
        )

    assert [
        marks._free(tank()),
        marks._free(tank("a more")),
        marks._free(tank("a more", "a more1")),
        marks._free(tank("a more1")),
    ] == ["a more", "a more1", "a more2", "a more"]
    lamps = {"x": (1.0, 2.0, None), "y": (3.0, 4.0, None), "z": (5.0, 6.0, None)}
    one: Any = Made(standing=lambda name, attitude: Made(lamps=lamps))
    end: Any = Made(parts=[Made(attitude=CRUISE)])
    three = tank("x", "y", "z")
    assert [marks._next_above_m3(one, three, end, lamp) for lamp in three.design.switch] == [3.0, 5.0, np.inf]
    lamps["y"] = (None, None, None)
    assert marks._next_above_m3(one, three, end, three.design.switch[0]) == 5.0


def test_how_much_lower_tests_let_a_mark_count() -> None:
    tank: Any = Made(
        body_m=np.array,
        rise_m=lambda key: 0.002,
        spot=lambda key: Made(point_m=np.array([0.1, 0.0, -0.1])),
        cavity=Made(centre_m=np.array([0.0, 0.2, 0.3])),
    )
    assert marks._drop_m(tank, Made(name="low", mark_m=(0.1, 0.2, 0.25))) == pytest.approx([0.0, 0.0, 0.052])


# --- rises, lamps of pools, outflows


@pytest.mark.parametrize(
    ("target", "tolerance", "rise"),
    [
        (4.0, 0.0, 0.0),
        (5.0, 0.0, 0.0),
        (6.0, 0.0, 0.1),
        (5.0, 0.02, 0.02),
        (10.0, 0.0, 0.5),
        (10.1, 0.0, None),
        (9.9, 0.02, None),
    ],
)
def test_the_least_rise_that_leaves_a_target(target: float, tolerance: float, rise: float | None) -> None:
    # 5 at the mark, 1 more for each 0.1 up to 0.5 above it.
    drained: Any = Made(
        n_openings=1,
        tilted=Made(high_m=1.5, spots=["outlet", "mark"], level_m=lambda spot: 1.0 if spot == "mark" else 9.0),
        passed=lambda index, by: 5.0 + 10.0 * by,
    )
    found = switches._rise_at(drained, 0, tolerance, target)
    assert found == (None if rise is None else pytest.approx(rise, abs=1e-6))
    assert found in (None, 0.0) or 5.0 + 10.0 * (found - tolerance) >= target - 1e-9


@pytest.mark.parametrize(
    ("seed", "free", "ends", "level", "far", "told"),
    [
        # The surface stands over it at 1, resets 0.1 higher, and 0.2 lower at the latest; the pool's floor lies at 0.
        (0, True, 0.0, 1.0, False, (1.0, 1.1, 0.8)), (0, False, 0.9, 1.0, False, (1.0, 1.1, None)), (0, False, 0.5, 1.0, False, (1.0, 1.1,
         0.8)), (0, False, 1.0, 1.0, False, (None, None, None)),
        (-1, True, 0.0, 1.0, False, (None, None, None)), (0, True, 0.0, 1.0, True, (None, None, None)), (0, True, 0.0, 0.15, False, (0.15,
         0.25, None)), (0, True, 0.0, 0.25, False, (0.25, 0.35, 0.05)),
    ],
)  # fmt: skip
def test_when_a_lamp_lights_in_a_pool(
    seed: int, free: bool, ends: float, level: float, far: bool, told: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(standing, "_volumes", lambda drained, free, levels, own: levels)
    drained: Any = Made(n_openings=1, end_m=np.array([ends]), tilted=Made(up=CRUISE.up, spots=["outlet", "mark"],
     level_m=lambda spot: level if spot == "mark" else 9.0,
                                                                           tree=Made(port_seed=np.array([5, seed]),
                                                                            floor=np.array([0.0]))))  # fmt: skip
    switch: Any = Made(too_far=lambda up: far, differential_m=0.1)
    own = np.array([True])
    found = standing._lamp(drained, np.array([free]), 0, switch, 0.2, own)
    assert found == tuple(None if one is None else pytest.approx(one) for one in told)
    # Above the saddle at which pools part it is never reached.
    parted = standing._lamp(drained, np.array([free]), 0, switch, 0.2, own, 1.05)
    if told[0] == 1.0:
        assert parted[:2] == (pytest.approx(1.0), np.inf)


def network(ways: list[tuple[str, str]], **nodes: Any) -> Any:
    class Node(str):
        """An end: a tank's, or a component."""

        @property
        def tank(self) -> str | None:
            """The tank."""
            return str(self) if self in list("abcd") else None

    nodes |= dict.fromkeys("abcd")
    listed = [
        Made(start=Made(tank=start), end=Node(into), through=[Node(one) for one in via]) for start, into, *via in ways
    ]
    return Made(
        ways=lambda kind: listed,
        nodes=nodes,
        component=nodes.get,
        return_is_switched=lambda end, tank: False,
        return_tanks=lambda end: {"a", "b", "d"},
    )


def test_the_tanks_that_fuel_runs_through_on_its_way() -> None:
    layout: Any = Made(
        network=network(
            [("a", "b"), ("b", "engine"), ("c", "engine"), ("d", "c")], engine=Engine.model_construct(name="engine")
        )
    )
    assert (outflow._downstream(layout, "a"), outflow._downstream(layout, "b"), outflow._downstream(layout, "d")) == (
        ("b",),
        (),
        ("c",),
    )
    assert [tuple(map(str, outflow._engines(layout, name))) for name in "abcd"] == [("engine",)] * 4
    assert (outflow.elsewhere(layout, "a"), outflow.elsewhere(layout, "c")) == (("d",), ("a", "b", "d"))
    layout.network.return_is_switched = lambda end, tank: tank == "c"
    assert outflow.elsewhere(layout, "c") == ()


@pytest.mark.parametrize(
    ("ways", "kept", "held"),
    [
        ([("b", "a")], (1.0, 3.0), 2.0),
        ([], (1.0, 3.0), None),
        ([("b", "a"), ("b", "c")], (1.0, 3.0), None),
        ([("b", "a", "pump")], (1.0, 3.0), None),
        ([("b", "a", "tee")], (1.0, 3.0), 2.0),
        ([("b", "a")], None, None),
    ],
)
def test_what_a_tank_may_come_to_hold_back(
    ways: Any, kept: Any, held: float | None, monkeypatch: pytest.MonkeyPatch
) -> None:
    at = (
        []
        if kept is None
        else [Made(attitude=CRUISE, sustained_m3=one) for one in kept]
        + [Made(attitude=Attitude("p", "ground"), sustained_m3=99.0)]
    )
    monkeypatch.setattr(outflow, "unusable", lambda *_: None if kept is None else Made(at=at))
    layout: Any = Made(
        network=network(ways, pump=Pump.model_construct(name="pump"), tee=Tee.model_construct(name="tee")),
        tank=lambda name: None,
        design=Made(envelope=()),
    )
    assert outflow._held_m3(layout, "b", "a") == held
