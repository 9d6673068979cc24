"""Small parts by hand: how deep floats ride, ways that no flow directs, lamps at the beginning of a part of a flight."""

from __future__ import annotations

from pathlib import Path
from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest
from networks import network
from test_flight_cases import rich

from fuelsys.analysis.flights.logged import Logged
from fuelsys.analysis.lines.states import _state
from fuelsys.analysis.tank.calibration import _errors, shown_m3
from fuelsys.analysis.tank.levels import MOST_ROWS, _steps
from fuelsys.errors import QuestionError
from fuelsys.model.built.layout import Rides
from fuelsys.model.stated.attitude import Attitude
from fuelsys.model.stated.fittings import Switch


@pytest.mark.parametrize(
    ("given", "wanted_mm"),
    [
        # 12 g of 30 mm across lie 12e-3 / (rho x 7.0686e-4 m2) deep: 22.637 mm in 750, 23.579 in 720, 24.252 in 700, 28.294 in 600 kg/m3.
        ({"range": (700.0, 750.0), "set_in": "0.60 kg/L"}, (-4.716, 0.943, 0.674)),
        ({"range": (700.0, 750.0), "set_in": None}, (0.0, 0.943, 0.674)),
        ({"range": None, "set_in": "0.75 kg/L"}, (0.943, 0.0, 0.0)),
    ],
)
def test_a_float_rides_deeper_in_a_lighter_fuel(given: dict[str, Any], wanted_mm: tuple[float, float, float]) -> None:
    floats = {"mass": "12 g", "height": "40 mm", "diameter": "30 mm"}
    more = {} if given["set_in"] is None else {"set_in": given["set_in"]}
    switch = Switch(name="low", mark=["0 mm", "0 mm", "0 mm"], differential="3 mm", float=floats, **more)  # type: ignore[arg-type,call-arg]
    fuel: Any = SimpleNamespace(density_kg_m3=720.0, density_range_kg_m3=given["range"])
    found = Rides.of(switch, fuel)
    assert found is not None
    np.testing.assert_allclose(np.array([found.raised_m, found.lower_m, found.higher_m]) * 1e3, wanted_mm, atol=1e-3)
    assert found.per_density == pytest.approx(12e-3 / (np.pi * 0.015**2), rel=1e-9)
    assert Rides.of(Switch(name="x", mark=["0 mm"] * 3, differential="3 mm"), fuel) is None  # type: ignore[arg-type]


# --- ways that no flow directs go as they were drawn, a vent's from its tank


@pytest.mark.parametrize("kind", ["interconnect", "vent"])
@pytest.mark.parametrize(
    ("lines", "wanted"),
    [
        ([("l", "a.x", "b.x")], ("a.x", "b.x")),
        ([("l", "b.x", "a.x")], ("b.x", "a.x")),
        ([("l", "a.x", "j"), ("m", "j", "b.x")], ("a.x", "b.x")),
        ([("m", "j", "a.x"), ("l", "b.x", "j")], ("b.x", "a.x")),  # whichever comes first in the file
        ([("m", "j", "b.x"), ("l", "a.x", "j")], ("a.x", "b.x")),
        ([("l", "a.x", "j"), ("m", "b.x", "j")], ("a.x", "b.x")),  # both begin there: as in the file
        ([("m", "b.x", "j"), ("l", "a.x", "j")], ("b.x", "a.x")),
    ],
)
def test_a_way_between_tanks_begins_where_its_lines_do(kind: Any, lines: Any, wanted: tuple[str, str]) -> None:
    what = "vent" if kind == "vent" else "outlet"
    parts = {"a.x": (what, (0, 0, 100)), "j": ("tee", (50, 0, 120)), "b.x": (what, (100, 0, 100))}
    used = {name: part for name, part in parts.items() if any(name in line[1:] for line in lines)}
    (way,) = network(kind, used, lines).ways(kind)
    assert (str(way.start), str(way.end)) == wanted


# --- lamps as a part of a flight begins


@pytest.mark.parametrize(
    ("held", "lit", "late", "told"),
    [
        # Trip 10 L, reset 12 L, at the latest 9 L and back at 11 L.
        (10.5, False, False, []), (9.9, False, False, ["light"]), (8.9, False, False, ["light", "late"]), (11.9, True, False, []),
        (12.1, True, False, ["out"]), (10.5, True, True, []), (11.1, True, True, ["not late"]), (8.9, True, False, ["late"]),
        (10.9, True, True, []), (12.1, True, True, ["out", "not late"]),
    ],
)  # fmt: skip
def test_lamps_at_the_turn(held: float, lit: bool, late: bool, told: list[str]) -> None:
    key, found = ("t", "low"), list[str]()
    stub: Any = SimpleNamespace(
        here=np.array([held * 1e-3, 0.0, 0.0]), lit={key: ()} if lit else {}, late={key: 0.0} if late else {}
    )
    was_late = late

    def light(*lamp: str) -> None:
        found.append("light")
        stub.lit[lamp] = ()

    stub.light, stub.put_out = light, lambda *_: found.append("out")
    stub.trips_late = lambda *_: found.append("late")
    leg: Any = SimpleNamespace(
        standings={"t": SimpleNamespace(lamps={"low": (0.010, 0.012, 0.009), "never": (None, None, None)})}
    )
    Logged.lamps_at_once(stub, leg, SimpleNamespace(stuck=frozenset()))  # type: ignore[arg-type]
    gone = was_late and key not in stub.late
    assert found + (["not late"] if gone else []) == told
    stub.lit, stub.late, count = {}, {}, len(found)
    Logged.lamps_at_once(stub, leg, SimpleNamespace(stuck=frozenset([key])))  # type: ignore[arg-type]
    assert len(found) == count


# --- a gauge of reed switches is worst just below a step


def test_a_gauge_of_steps_is_looked_at_on_both_sides_of_each() -> None:
    """Steps at 3, 7 and 11 L of 14 L, calibrated at 0 and 14 L: just below 7 L it still shows a third, 4.67 L, just above it two."""

    def signal_at(quantity: Any) -> Any:
        return np.searchsorted(np.array([3.0, 7.0, 11.0]) * 1e-3, quantity, side="right") / 3.0

    curve: Any = SimpleNamespace(value=np.array([3.0, 7.0, 11.0]) * 1e-3, signal_at=signal_at)
    at: Any = SimpleNamespace(left_m3=0.0, least=curve, most=curve, attitude=Attitude("level", "flight"))
    gauge: Any = SimpleNamespace(filled_m3=14e-3, unusable_m3=0.0, steps=3)
    points: Any = tuple(SimpleNamespace(signal=s, usable_m3=v) for s, v in ((0.0, 0.0), (1.0, 14e-3)))
    assert shown_m3(points, np.array([0.5, 2.0])) == pytest.approx([7e-3, 14e-3])
    found = _errors(gauge, at, points)
    steps = np.array([0.0, 14.0, 28.0, 42.0]) / 3.0
    ends = np.array([3.0, 7.0, 11.0, 14.0])
    begins = np.array([0.0, 3.0, 7.0, 11.0])
    assert found.error_m3.max() == pytest.approx((steps - begins).max() * 1e-3, abs=1e-8)
    assert found.error_m3.min() == pytest.approx((steps - ends).min() * 1e-3, abs=1e-8)


# --- a table of levels ends with the roof


@pytest.mark.parametrize(
    ("step", "end", "last"),
    [
        (0.05, 0.2, 0.15),
        (0.0499, 0.2, 0.1996),
        (0.3, 0.2, 0.0),
        (0.1, 0.3, 0.2),
        (0.07, 0.21, 0.14),
        (0.19999, 0.2, 0.19999),
    ],
)
def test_a_last_step_is_left_out_only_where_it_is_the_end(step: float, end: float, last: float) -> None:
    # 0.1 x 3 and 0.07 x 3 are the end but for rounding; a step that ends a ten-thousandth before it is a row of its own.
    found = _steps(step, end, "level")
    assert found[-1] == end
    assert found[-2] == pytest.approx(last)
    assert found[0] == 0.0
    assert (np.diff(found) > 1e-9 * end).all()


def test_a_table_has_rows_enough_and_no_more() -> None:
    assert _steps(1e-4, 1.0, "level").size == MOST_ROWS + 1
    for step in (0.99e-4, 0.0, -1.0, float("nan")):
        with pytest.raises(QuestionError):
            _steps(step, 1.0, "level")


# --- what a setting leaves stuck


@pytest.mark.parametrize(
    ("shut", "feeds", "off", "back", "stuck"),
    [
        ((), ("left", "right"), (), ("left", "right"), ()),
        (("b1",), ("left", "right"), (), (), ("engine",)),
        (("f6", "b1"), (), ("left", "right"), (), ()),  # nothing comes, nothing is sent back
        (("l", "b3"), ("right",), ("left",), ("right",), ()),
        (("b3", "b4"), ("left", "right"), (), (), ("engine",)),
    ],
)
def test_an_engine_that_gets_fuel_and_cannot_send_any_back(
    shut: tuple[str, ...],
    feeds: tuple[str, ...],
    off: tuple[str, ...],
    back: tuple[str, ...],
    stuck: tuple[str, ...],
    tmp_path: Path,
) -> None:
    found = _state(rich(tmp_path).layout.network, "so", frozenset(shut))
    assert (set(found.feeding), found.isolated, found.returned_to, found.stuck) == (set(feeds), off, back, stuck)
