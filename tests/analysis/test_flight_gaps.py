"""What must hold for a moment of a flight to go on so: each gap by hand, on parts of a leg that say just what is asked of them."""

from __future__ import annotations

from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest

from fuelsys.analysis.flights.legs import Leg, Mode, Moment, Surface, room_m3
from fuelsys.model.built.ends import PortEnd
from fuelsys.model.stated.standards import SEA_LEVEL_PA

HEAD = 7000.0  # Pa/m
OUT, IN = PortEnd("t", "out"), PortEnd("t", "in")
NAN = float("nan")


def standing(**more: Any) -> Any:
    """A tank of 10 L, full at 0.5 m, that runs over at 0.52 m."""
    given = {"gross_m3": 0.010, "spill_m": 0.52, "lips": {"out": (0.001, 0.1), "in": (0.004, 0.3)}}
    return SimpleNamespace(**given, level_m=lambda held: 50.0 * held, **more)


def leg(mode: Mode, *, closed: bool = False, whole: bool = True, over_m3_s: float = 0.0) -> Any:
    """A leg of one tank as far as its gaps ask."""
    plumbed = SimpleNamespace(over_m3_s=lambda solved, surface, tank: over_m3_s, ports={"t": (OUT, IN)})
    stub = SimpleNamespace(
        modes={"t": mode}, standings={"t": standing()}, head_pa_m=HEAD, most_m3={"t": 0.010}, plumbed=plumbed,
        whole=frozenset(["t"] if whole else []), closed=lambda tank: closed, burnt_m3_s=1e-5,
    )  # fmt: skip
    stub._top_pa = lambda tank, air_pa: Leg._top_pa(stub, tank, air_pa)
    return stub


def gaps(
    mode: Mode,
    here: float = NAN,
    gets: float = 0.0,
    comes: float = 0.0,
    air: float = 0.0,
    loose: bool = False,
    **more: Any,
) -> dict[str, float]:
    surface = Surface(None, frozenset(), {OUT: 700.0 + air, IN: 2100.0 + air}, comes, mode.passes, mode.full)
    solved: Any = SimpleNamespace(potential_pa={} if np.isnan(here) else {"t": here}, gets_m3_s={"t": gets})
    found = Leg._gaps(leg(mode, **more), "t", surface, solved, air, loose)
    assert {one.tank for one in found} <= {"t"}
    return {one.what: one.value for one in found}


def signs(found: dict[str, float]) -> dict[str, bool]:
    return {what: value >= 0.0 for what, value in found.items()}


def test_a_free_tank_may_do_as_it_does() -> None:
    assert gaps(Mode(under={OUT}), 1000.0, -1e-5) == {}


@pytest.mark.parametrize(
    ("gets", "comes", "goes_on"),
    [(0.0, 0.0, True), (-1e-12, 0.0, False), (-1e-5, 1.1e-5, True), (-1e-5, 0.9e-5, False)],
)
def test_it_runs_over_while_as_much_comes_as_goes(gets: float, comes: float, goes_on: bool) -> None:
    assert signs(gaps(Mode(full=True, over=True), 5000.0, gets, comes)) == {"stops running over": goes_on}


@pytest.mark.parametrize("air", [0.0, -1000.0, 500.0])
def test_a_full_tank_stays_so_between_its_roof_and_its_vent(air: float) -> None:
    # Full at 0.5 m: 3500 Pa; it runs over at 0.52 m: 3640 Pa; both with the pressure of its air.
    for here, stays in (
        (3499.0, (False, True)),
        (3501.0, (True, True)),
        (3639.0, (True, True)),
        (3641.0, (True, False)),
    ):
        found = signs(gaps(Mode(full=True, under={OUT}), here + air, air=air))
        assert (found["falls"], found["runs over"]) == stays
    exact = gaps(Mode(full=True, under={OUT}), 3500.0 + air, air=air)
    assert exact["falls"] == pytest.approx(1e-6)  # a slack against rounding, on the side of staying
    assert gaps(Mode(full=True, under={OUT}), 3640.0 + air, air=air)["runs over"] == pytest.approx(1e-6)


def test_a_full_tank_whose_air_is_shut_in_does_not_run_over() -> None:
    full = Mode(full=True, under={OUT})
    assert set(gaps(full, 3600.0, closed=True, whole=False)) == {"falls"}
    assert set(gaps(full, 3600.0, closed=True, whole=True)) == {"falls", "runs over"}
    assert set(gaps(full, 3600.0, closed=False, whole=False)) == {"falls", "runs over"}


@pytest.mark.parametrize(("loose", "here"), [(True, 3000.0), (False, NAN), (True, NAN)])
def test_a_full_tank_on_which_nothing_presses_goes_by_what_comes(loose: bool, here: float) -> None:
    full = Mode(full=True, under={OUT})
    for net, wanted in ((0.0, (True, True)), (-1e-12, (False, True)), (1e-12, (True, False))):
        for gets, comes in ((net, 0.0), (net - 1e-9, 1e-9)):
            assert tuple(signs(gaps(full, here, gets, comes, loose=loose)).values()) == wanted


@pytest.mark.parametrize(("port", "lip_pa"), [(OUT, 700.0), (IN, 2100.0)])
def test_a_port_passes_on_while_something_comes_and_nothing_holds_it_up(port: PortEnd, lip_pa: float) -> None:
    passing = Mode(passes=port)
    for here, fills in ((lip_pa - 1.0, True), (lip_pa, True), (lip_pa + 1.0, False), (NAN, True)):
        found = signs(gaps(passing, here, over_m3_s=1e-6))
        assert found == {"fills": fills, "falls short": True}
    for through, goes_on in ((1e-12, True), (0.0, False), (-1e-12, False)):
        assert signs(gaps(passing, 500.0, over_m3_s=through))["falls short"] == goes_on


# --- a tank's surface


@pytest.mark.parametrize("air", [0.0, -1000.0])
def test_what_a_tank_is_to_the_lines(air: float) -> None:
    def surface(mode: Mode, loose: bool = False) -> Surface:
        return Leg._surface(leg(mode), "t", 0.006, air, 2e-6, loose)

    free = surface(Mode(under={OUT}))
    assert (free.potential_pa, free.full, free.comes_m3_s) == (pytest.approx(HEAD * 0.3 + air), False, 2e-6)
    assert free.lips_pa == {OUT: pytest.approx(HEAD * 0.1 + air), IN: pytest.approx(HEAD * 0.3 + air)}
    assert free.under == frozenset([OUT])
    full = surface(Mode(full=True))
    assert (full.potential_pa, full.full) == (None, True)
    assert surface(Mode(full=True, over=True)).potential_pa == pytest.approx(HEAD * 0.52 + air)
    loose = surface(Mode(full=True), loose=True)
    assert (loose.potential_pa, loose.full) == (pytest.approx(HEAD * 0.3 + air), False)
    assert surface(Mode(passes=IN)).passes == IN


def test_full_tanks_on_which_nothing_presses() -> None:
    modes = {
        "pressed": Mode(full=True, under={OUT}), "not": Mode(full=True, under={OUT}), "over": Mode(full=True, over=True, under={OUT}),
        "bare": Mode(full=True), "free": Mode(under={OUT}), "unknown": Mode(full=True, under={OUT}),
    }  # fmt: skip
    stub: Any = SimpleNamespace(modes=modes)
    solved: Any = SimpleNamespace(potential_pa={"pressed": 100.0, "not": NAN, "over": NAN, "free": NAN, "bare": NAN})
    assert Leg._loose(stub, solved) == {"not", "unknown"}


# --- air that is shut in


def test_what_room_air_has() -> None:
    # Ten litres each, a millionth of it as a trace; more than full is no less than none.
    one, two = standing(), standing()
    assert room_m3([one, two], [0.004, 0.009]) == pytest.approx(0.007 + 2e-8, rel=1e-12)
    assert room_m3([one, two], [0.011, 0.009]) == pytest.approx(0.001 + 2e-8, rel=1e-12)


def test_the_pressure_of_air_that_grows_thin() -> None:
    # Two tanks share 4 L of air that was shut in; with 5 L of room it has four fifths of the outside's pressure; others have it all.
    stub: Any = SimpleNamespace(
        standings={name: standing() for name in ("a", "b", "c")}, airless=((("a", "b"), 0.004),)
    )
    found = Leg.air_pa(stub, {"a": 0.007, "b": 0.008, "c": 0.001})
    assert found["a"] == found["b"] == pytest.approx(-SEA_LEVEL_PA / 5.0, rel=1e-4)
    assert found["c"] == 0.0


# --- the engine's feed


def engine_gaps(
    needed: float | None, airless: bool = True, vapour: float | None = 30e3, fed: bool = True
) -> dict[str, float]:
    stub: Any = SimpleNamespace(
        needed_pa=needed, engine="e", airless=((("t",), 0.001),) if airless else (), vapour_pa=vapour, head_pa_m=HEAD,
        attitude=SimpleNamespace(up=None), _dry_branches=lambda: {OUT: (("tee", "in"), 0.4)},
        plumbed=SimpleNamespace(piping=SimpleNamespace(node=lambda end, side: (end, side))),
    )  # fmt: skip
    at = {("e", "in"): 2500.0, ("tee", "in"): 3000.0}
    solved: Any = SimpleNamespace(fed=fed, at=at.__getitem__, flowing=SimpleNamespace(lowest_pa=lambda head, up: -80e3))
    found = Leg._engine_gaps(stub, solved)
    assert {one.what: one.tank for one in found} == {
        one.what: "t" if one.what == "lets air past" else "" for one in found
    }
    return {one.what: one.value for one in found}


def test_what_the_engine_asks_of_its_feed() -> None:
    # 2500 Pa come; at a dry outlet's branch 3000 Pa stand, over a line as low as 0.4 m: 2800 Pa; the lowest pressure is 21.3 kPa absolute.
    found = engine_gaps(2000.0)
    assert found == {
        "too little": 500.0,
        "boils": pytest.approx(-80e3 + SEA_LEVEL_PA - 30e3),
        "lets air past": pytest.approx(200.0),
    }
    assert engine_gaps(3000.0)["too little"] == -500.0
    assert set(engine_gaps(None)) == {"boils", "lets air past"}
    assert set(engine_gaps(0.0, airless=False)) == {"too little", "lets air past"}
    assert set(engine_gaps(0.0, vapour=None)) == {"too little", "lets air past"}
    assert engine_gaps(0.0, fed=False) == {}


# --- one moment


def moment(fed: bool = True, back_to: str = "", over: bool = False, spill_to: str = "") -> Moment:
    """Two tanks: a gives 30, b gets 12 by a line, 18 are burnt [mL/s]; back: 5 come back to a."""
    a, b = standing(spill_to=""), standing(spill_to=spill_to)
    solved = SimpleNamespace(gets_m3_s={"a": -35e-6 if back_to else -30e-6, "b": 12e-6}, fed=fed)
    stub: Any = SimpleNamespace(
        standings={"a": a, "b": b}, back_to=back_to, back_m3_s=5e-6 if back_to else 0.0, burnt_m3_s=18e-6, engine="e",
        modes={"a": Mode(), "b": Mode(full=over, over=over)}, air_pa=lambda held: {"a": 0.0, "b": 0.0},
        plumbed=SimpleNamespace(piping=SimpleNamespace(node=lambda *at: at), solved=lambda *_: solved),
        _surface=lambda *_: None, _loose=lambda _: set(), _gaps=lambda *_: [], _breathing=lambda *_: [], _engine_gaps=lambda *_: [],
    )  # fmt: skip
    return Leg._moment(stub, np.array([0.004, 0.009]))


@pytest.mark.parametrize(
    ("given", "wanted"),
    [
        ({}, [-30e-6, 12e-6, 18e-6, 0.0]),
        ({"back_to": "a"}, [-30e-6, 12e-6, 18e-6, 0.0]),
        ({"over": True}, [-30e-6, 0.0, 18e-6, 12e-6]),  # what runs over goes overboard
        ({"over": True, "spill_to": "a"}, [-18e-6, 0.0, 18e-6, 0.0]),  # or into the other tank
        ({"fed": False}, [-30e-6, 12e-6, 18e-6, 0.0]),  # beyond the end nothing is lost either: what goes is burnt
    ],
)
def test_how_fast_each_quantity_grows(given: dict[str, Any], wanted: list[float]) -> None:
    found = moment(**given)
    np.testing.assert_allclose(found.rates, wanted, atol=1e-15)
    assert found.rates.sum() == pytest.approx(0.0, abs=1e-15)
    assert found.fed == given.get("fed", True)
