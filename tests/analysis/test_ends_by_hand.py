"""Last steps by hand, on what is made up: sumps, a gauge's signal, what a fill test is refused for, what is tried first."""

from __future__ import annotations

from types import SimpleNamespace as Made
from typing import Any

import numpy as np
import pytest

from fuelsys.analysis.fills import data as filldata
from fuelsys.analysis.fills import filltest, gauges, measured, pouring, twins
from fuelsys.analysis.flights import balance, crossovers, failures, levelled, setting
from fuelsys.analysis.lines import inlet, venting
from fuelsys.analysis.sweeping import stages
from fuelsys.analysis.tank import drill, gauge, levels, place, standing, sumps
from fuelsys.errors import QuestionError, SheetError
from fuelsys.model.built.ends import PortEnd
from fuelsys.model.stated.attitude import Attitude
from fuelsys.model.stated.gauges import Probe, Reeds

PARKED = Attitude("parked", "ground", normal=True)


# --- sumps


@pytest.mark.parametrize(
    ("outlets", "drains", "some"), [(0, 0, False), (1, 0, False), (0, 1, False), (1, 1, True), (2, 2, True)]
)
def test_a_sump_has_an_outlet_and_a_drain(
    monkeypatch: pytest.MonkeyPatch, outlets: int, drains: int, some: bool
) -> None:
    # The drains' pools are 1 and 2 of 1, 2 and 4 L; 2 is one that no outlet draws from.
    kept = Made(
        seeds_under=lambda index: np.array([1, 2 - index]), seed_volumes_m3=np.array([1.0, 2.0, 4.0]), residual_m3=0.5,
        drains=np.array([True, True, False]),
    )  # fmt: skip
    monkeypatch.setattr(sumps, "Drained", Made(of=lambda cavity, up, ports, spots: kept))
    named = [Made(name=f"p{k}") for k in range(4)]
    tank: Any = Made(
        design=Made(outlet=named[:outlets], drain=named[2 : 2 + drains]), cavity=None, spot=lambda name: name
    )
    found = sumps.sump(tank, PARKED)
    assert (found is not None) is some
    if found:
        assert (found.attitude, found.volume_m3, found.unusable_m3 if hasattr(found, "unusable_m3") else 4.5) == (
            PARKED,
            6.0,
            4.5,
        )
    assert len(sumps.sumps(tank, (PARKED, PARKED))) == (2 if some else 0)


# --- a gauge's signal


def way(kind: Any, share: list[float]) -> Any:
    return gauge.Way(np.array(share), np.zeros((len(share), 3)), np.zeros(len(share), np.int32), lambda at: at, kind)


def test_the_signal_of_many_reeds_jumps_at_each() -> None:
    reeds = Reeds.model_construct(name="g", steps=200)
    found = gauge.curve(way(reeds, [0.0, 0.5, 1.0]), np.array([1.0, 2.0, 3.0]), (0.0, 4.0))
    assert [one.tolist() for one in vars(found).values()][:2] == [
        [0.0, 1.0, 1.0, 2.0, 2.0, 3.0, 3.0, 4.0],
        pytest.approx([0.0, 0.0, 0.005, 0.005, 0.01, 0.01, 0.015, 0.015]),
    ]


@pytest.mark.parametrize(
    ("share", "value", "at", "signals"),
    [
        ([0.0, 0.5, 1.0], [1.0, 2.0, 3.0], [0.0, 1.0, 2.0, 3.0, 4.0], [0.0, 0.0, 0.5, 1.0, 1.0]),
        # Level between two places: a jump; from a share of 0.2 on; a place that never is wet.
        ([0.0, 0.5, 1.0], [1.0, 1.0, 3.0], [0.0, 1.0, 1.0, 3.0, 4.0], [0.0, 0.0, 0.5, 1.0, 1.0]),
        ([0.2, 1.0], [1.0, 2.0], [0.0, 1.0, 2.0, 4.0], [0.2, 0.2, 1.0, 1.0]), ([], [], [0.0, 4.0], [0.0, 0.0]),
        ([0.0, 0.5, 1.0], [-np.inf, 2.0, 3.0], [0.0, 2.0, 2.0, 3.0, 4.0], [0.0, 0.0, 0.5, 1.0, 1.0]),
    ],
)  # fmt: skip
def test_the_signal_of_a_probe_by_what_is_wet(share: Any, value: Any, at: Any, signals: Any) -> None:
    found = gauge.curve(way(Probe.model_construct(name="g"), share), np.array(value), (0.0, 4.0))
    values, told = [one.tolist() for one in vars(found).values()][:2]
    assert (values, told) == (at, pytest.approx(signals))


# --- fill tests


@pytest.mark.parametrize(
    ("fit", "suspects", "fewer", "within", "needle"),
    [
        (False, [], None, 0.0, "gives no correction: too few"), (True, [("", 3), ("line 7 of page 2", 4)], None, 0.0,
         "lines that do not belong: line 3; line 7 of page 2"),
        (True, [], None, 1.001, "within 10 % only"), (True, [], None, 1.0, ""), (True, [], 1, 9.0, ""),
    ],
)  # fmt: skip
def test_what_a_test_is_refused_for(
    monkeypatch: pytest.MonkeyPatch, fit: bool, suspects: Any, fewer: Any, within: float, needle: str
) -> None:
    monkeypatch.setattr(measured, "USUAL", (0.1,))
    told = Made(
        suspects=[Made(at=at, line=line) for at, line in suspects],
        fewer=fewer,
        capacity=Made(gross_m3=(10.0, 10.0, within)),
    )
    test: Any = Made(tank="left", file="sheet.csv", why_no_fit="too few", fit=told if fit else None)
    layout: Any = Made(file="design.toml")
    if not needle:
        return measured.check_usable(layout, test)
    with pytest.raises(QuestionError, match=needle):
        measured.check_usable(layout, test)
    return None


@pytest.mark.parametrize(
    ("gross_m3", "reads_m3", "slip"), [(0.1, [0.001, 0.002, 0.003], True), (0.1, [1e-5, 0.002, 0.003], True)]
)
def test_the_amount_that_slipped(monkeypatch: pytest.MonkeyPatch, gross_m3: float, reads_m3: Any, slip: bool) -> None:
    # Poured 1 L each; the last was noted as 100 L. What is nearly nothing counts as a thousandth of the tank.
    monkeypatch.setattr(filltest, "none", lambda: None)
    monkeypatch.setattr(
        filltest, "fillmeanings", Made(of_amount=lambda one, density: [(-0.099, "1 L")] if one.entry.k == 2 else [])
    )
    least: list[Any] = []
    kept = np.maximum
    monkeypatch.setattr(filltest, "_MOSTLY", 1.0)
    data: Any = Made(
        place=np.zeros(3), model=Made(held=lambda readings, correction: np.array(reads_m3), tank=Made(cavity=Made(gross_m3=gross_m3))),
        readings_m=np.zeros(3), totals_m3=np.array([0.001 if reads_m3[0] > 1e-4 else 1e-4, 0.002, 0.102]), order=np.arange(3),
    )  # fmt: skip
    poured: Any = [Made(entry=Made(place=f"line {k}", k=k)) for k in range(3)]
    assert filltest._slipped(data, poured, 720.0) == (["line 2: 1 L"] if slip else [])
    assert (least, kept) == ([], np.maximum)


def test_a_gauge_is_looked_up_over_what_the_corrected_tank_holds(monkeypatch: pytest.MonkeyPatch) -> None:
    asked: list[Any] = []

    def signals(model: Any, correction: Any, way: Any, totals: Any, marks: Any) -> Any:
        asked.append(totals)
        return totals / 10.0, [""] * len(totals)

    monkeypatch.setattr(gauges, "_signals", signals)
    monkeypatch.setattr(gauges, "Way", Made(of=lambda tank, one: None))
    monkeypatch.setattr(gauges, "round_step_m3", lambda given, gross_m3, marks_in: (2.0, None))
    model: Any = Made(tank=Made(cavity=Made(gross_m3=8.0)))
    some: Any = [
        (Made(total_m3=total, entry=Made(line=k)), 1.0 + total / 5.0) for k, total in enumerate((1.0, 3.0, 5.0, 7.0))
    ]
    found = gauges._gauge(model, np.array([0.25, 0.0]), Made(name="g"), some, None, "L")
    assert (asked[1][0], asked[1][-1], asked[1].size) == (
        pytest.approx(10.0 / 400),
        pytest.approx(10.0 - 10.0 / 400),
        399,
    )
    assert asked[2].tolist() == [2.0, 4.0, 6.0]
    assert [one for one in vars(found).values() if isinstance(one, float)] == pytest.approx([1.0, 3.0, 0.0], abs=1e-9)


# --- what is tried and told first


@pytest.mark.parametrize(
    ("flown", "least_s", "wanted"),
    [
        (None, None, (3, 0.0, 0.0)), (("", 50.0), None, (2, 0.0, 0.0)), (("dry", 50.0), 31.0, (1, 5, 50.0)),
        (("dry", 50.0), 0.0, (1, 0, 50.0)), (("dry", 50.0), None, (0, 0.0, 50.0)), (("", 50.0), 31.0, (2, 0.0, 0.0)),
    ],
)  # fmt: skip
def test_how_bad_a_failure_is(flown: Any, least_s: float | None, wanted: tuple[int, float, float]) -> None:
    one: Any = Made(flown=Made(stopped=flown[0], end_s=flown[1]) if flown else None, least_s=least_s)
    assert failures._badness(one) == wanted


@pytest.mark.parametrize(
    ("stopped", "end_s", "at_once"), [("dry", 99.9, False), ("dry", 100.0, True), ("dry", 100.0 + failures._AT_ONCE_S, True),
     ("dry", 100.1 + failures._AT_ONCE_S, False), ("", 100.0, False)],
)  # fmt: skip
def test_an_engine_that_stops_at_once(stopped: str, end_s: float, at_once: bool) -> None:
    assert failures._stops_at_once(Made(stopped=stopped, end_s=end_s), 100.0) is at_once


@pytest.mark.parametrize(
    ("stated_m3", "left_m3", "worst_m3"),
    [(None, [], 0.0), (2e-3, [1e-3], 2e-3), (2e-3, [1e-3, 3e-3], 3e-3), (None, [1e-3], 1e-3)],
)
def test_the_most_that_stays_at_combined_attitudes(
    monkeypatch: pytest.MonkeyPatch, stated_m3: float | None, left_m3: list[float], worst_m3: float
) -> None:
    monkeypatch.setattr(
        stages, "unusable", lambda tank, envelope: None if stated_m3 is None else Made(volume_m3=stated_m3)
    )
    one: Any = Made(
        tank=None, layout=Made(design=Made(envelope=())), _combinations=[(None, Made(left_m3=left)) for left in left_m3]
    )
    assert stages._Placing._worst_combined_m3.func(one) == worst_m3


@pytest.mark.parametrize(
    ("ends", "heights", "wanted"),
    [
        # What leads into a tank that is levelled, into another one, to the engine; the same by the lower way.
        ([PortEnd("b", "in")], [0.2], {PortEnd("b", "in"): 0.2}), ([PortEnd("c", "in")], [0.2], {None: 0.2}),
        ([Made(tank=None)], [0.2], {None: 0.2}), ([Made(tank="b")], [0.2], {None: 0.2}),
        ([PortEnd("b", "in"), PortEnd("b", "in")], [0.3, 0.2], {PortEnd("b", "in"): 0.2}), ([PortEnd("a", "in")], [0.2], {None: 0.0}),
        ([PortEnd("b", "in")], [-0.1], {PortEnd("b", "in"): 0.0}), ([], [], {None: 0.0}),
        ([PortEnd("b", "in"), Made(tank=None)], None, {PortEnd("b", "in"): 0.0, None: 0.0}),
    ],
)  # fmt: skip
def test_where_an_outlet_s_fuel_runs(ends: Any, heights: Any, wanted: Any) -> None:
    climbs = tuple(Made(way=Made(end=end)) for end in ends)
    tank = Made(downhill={"out": climbs}, heights={"out": tuple(heights)} if heights else {})
    one: Any = Made(solving=Made(layout=Made(tank=lambda name: tank)), tilted={"a": 1, "b": 1})
    assert levelled.Levelled._into(one, PortEnd("a", "out")) == wanted


# --- what a sheet's amounts come to


def line(
    amount: float | None, kind: str = "volume", at_k: Any = None, tank_k: Any = None, drained: bool = False
) -> Any:
    stated = None if amount is None else Made(si=amount, kind=kind)
    return Made(amount=stated, temperature_k=at_k, tank_k=tank_k, drained=drained, line=1)


@pytest.mark.parametrize(
    ("lines", "totals"),
    [
        # At 300 K a litre weighs 0.7 kg, at 290 K 0.71 kg: 1 kg/m3 for a kelvin.
        ([line(1.0), line(2.0), line(1.0, drained=True)], [1.0, 3.0, 2.0]),
        ([line(0.7, "mass", 300.0)], [1e-3]), ([line(1e-5, at_k=300.0), line(3.5e-3, "mass", drained=True)], [1e-5, 0.5e-5]), ([line(0.7,
         "mass", 300.0, 290.0)], [0.7 / 710.0]),
        ([line(1e-3, at_k=300.0), line(1e-3, at_k=290.0)], [1e-3, 1.41 / (1000.0 - (0.7 * 300.0 + 0.71 * 290.0) / 1.41)]),
        ([line(1e-3, at_k=300.0), line(0.35, "mass", drained=True)], [1e-3, 0.5e-3]),
        ([line(1e-3, at_k=300.0), line(0.71e-3, tank_k=290.0, drained=True)], [1e-3, (0.7 - 0.71e-3 * 710.0) / 710.0]),
        ([line(0.35, "mass", drained=True)], None), ([line(0.35, "mass")], None), ([line(None), line(0.7, "mass", 300.0)], [0.0, 1e-3]),
    ],
)  # fmt: skip
def test_what_a_sheet_comes_to(monkeypatch: pytest.MonkeyPatch, lines: Any, totals: Any) -> None:
    monkeypatch.setattr(pouring, "_density", lambda density, at_k, sheet, entry: 1000.0 - at_k)
    monkeypatch.setattr(pouring, "_check", lambda mass_kg, sheet, entry: None)
    sheet: Any = Made(entries=lines, file="sheet.csv")
    if totals is None:
        with pytest.raises(SheetError, match="the temperature is missing"):
            pouring.totals(sheet, 720.0)
        return
    found = pouring.totals(sheet, 720.0)
    assert [one.total_m3 for one in found] == pytest.approx(totals)
    assert [one.step_m3 for one in found] == pytest.approx(np.diff([0.0, *totals]).tolist())


def test_what_is_held_where_readings_are_too_high() -> None:
    one: Any = Made(
        readings_m=np.array([0.5, 0.75]),
        _each=lambda asked, read: asked(Made(held=lambda at, correction: at * 2.0), read),
    )
    assert filldata.Data.held(one, np.zeros(2), 0.25).tolist() == [0.5, 1.0]
    assert filldata.Data.held(one, np.zeros(2)).tolist() == [1.0, 1.5]


@pytest.mark.parametrize(
    ("share", "words"),
    [
        (1.02, "its twin right was measured 2.0 % larger"), (1.0, "right was measured to hold as much"), (1.0004, "to hold as much"),
        (1.00051, "was measured 0.1 % larger"),
    ],
)  # fmt: skip
def test_a_tank_beside_a_twin_that_holds_as_much(monkeypatch: pytest.MonkeyPatch, share: float, words: str) -> None:
    twin = Made(name="right", corrected=Made(share=share))
    monkeypatch.setattr(twins, "_measured_twin", lambda tank, tanks: twin)
    monkeypatch.setattr(twins, "replace", lambda tank, **more: Made(**more))
    tank: Any = Made(name="left", corrected=None, as_twin=None)
    found: Any = twins.beside(tank, (), None)
    assert words in found.untested[0]
    tank.corrected = 1
    assert twins.beside(tank, (), None) is tank


# --- levels, crossovers, a proof


def test_a_table_s_last_step_is_its_end() -> None:
    # By rounding one step more than there are comes out: it is the end itself.
    step, end = next(
        (k / 1000.0, k * n / 1000.0) for k in range(1, 99) for n in range(3, 40)
        if (many := np.arange(0.0, k * n / 1000.0, k / 1000.0)).size == n + 1 and many[-1] < k * n / 1000.0 * (1.0 + 1e-12)
    )  # fmt: skip
    found = levels._steps(step, end, "level")
    assert (found[-1], found.size) == (end, round(end / step) + 1)


@pytest.mark.parametrize(
    ("own_m", "level_m", "wanted"),
    [
        # All of a tank down to its vent at 1 m runs as far as the other has room: 8 L at its level of 4 m, holding some.
        (3.0, 4.0, (1.0, 3.0, 0.0)), (3.0, 3.0, (0.0, 0.0, 0.0)), (3.0, 2.5, (-0.5, 0.0, 0.0)), (0.5, 4.0, (3.5, 3.0, 0.5)),
    ],
)  # fmt: skip
@pytest.mark.parametrize("other_l", [5.0, 8.0, 9.0])
def test_what_runs_over_by_a_vent_line(
    monkeypatch: pytest.MonkeyPatch, own_m: float, level_m: float, wanted: Any, other_l: float
) -> None:
    at = Made(
        level_of=lambda name, volume: level_m, held_m3=lambda name, level: level if name == "a" else 2.0 * level,
    )  # fmt: skip
    monkeypatch.setattr(crossovers, "Levelled", lambda solving, tanks, attitude: at)
    tops = {"a": {PortEnd("b", "vent"): (own_m, Made(name="balance"))}, "b": {}}
    monkeypatch.setattr(crossovers, "_tops", lambda layout, name, attitude: tops[name])

    def tank(name: str, litres: float) -> Any:
        cavity = Made(centre_m=np.array([0.0, 0.0, 0.25]))
        inner = Made(cavity=cavity, level_m=lambda port, up: 0.75, design=Made(vent=(Made(name="vent"),)))
        return Made(name=name, tank=inner, capacity=Made(filled=Made(volume_m3=litres)))

    solving: Any = Made(layout=Made(network=Made(overboard=lambda end: False)))
    found = crossovers._at(solving, (tank("a", 5.0), tank("b", other_l)), PARKED)
    assert found is not None
    above_m = level_m - own_m
    runs = level_m - min(own_m, 1.0) if above_m > 0.0 else 0.0
    into = min(runs, max(0.0, 2.0 * level_m - other_l)) if above_m > 0.0 else 0.0
    numbers = [one for one in vars(found).values() if isinstance(one, float)]
    assert numbers == pytest.approx([above_m, into, runs - into])
    assert wanted[0] == pytest.approx(above_m)
    if other_l == 5.0 and above_m > 0.0:
        assert numbers[1:] == pytest.approx(list(wanted[1:]))
    tops["a"] = {}
    assert crossovers._at(solving, (tank("a", 5.0), tank("b", other_l)), PARKED) is None


@pytest.mark.parametrize(
    ("kind", "more", "refused"), [("feed", 1, True), ("interconnect", 1, True), ("feed", 0, False), ("vent", 1, False)]
)
def test_how_many_lines_a_flight_takes(monkeypatch: pytest.MonkeyPatch, kind: str, more: int, refused: bool) -> None:
    monkeypatch.setattr(setting, "with_tolerances", lambda layout: (layout, ()))
    monkeypatch.setattr(setting.World, "solving", Made(known=1))
    monkeypatch.setattr(setting.World, "doubts", lambda world: ())
    layout: Any = Made(
        lines=[Made(kind=kind)] * (setting.MOST_LINES + more), design=Made(aircraft=Made(lamps_own_power=False)), notes=(), tanks=(),
        file="design.toml",
    )  # fmt: skip
    if refused:
        with pytest.raises(QuestionError, match="feed and interconnect lines"):
            setting.World.of(layout)
    else:
        assert setting.World.of(layout).notes == []


@pytest.mark.parametrize(
    ("held", "low_m", "off_m", "fault"),
    [
        (10.0, 0.0, 0.0, ""), (None, 0.0, 0.0, "is never passed at"), (10.0, 0.01, 0.0, ""), (10.0, 0.01, 1e-6, "never passed in time at"),
        (9.0, 0.01, 0.0, "never passed in time at"), (9.0, 0.0, 1e-6, ""), (None, 0.01, 0.0, "never passed in time at"),
    ],
)  # fmt: skip
def test_a_mark_is_put_back_into_the_question(
    monkeypatch: pytest.MonkeyPatch, held: Any, low_m: float, off_m: float, fault: str
) -> None:
    asked: list[Any] = []
    drained = Made(passed=lambda index, above_m: asked.append(above_m) or held)
    monkeypatch.setattr(place, "Drained", Made(of=lambda cavity, up, ports, spots: drained))
    monkeypatch.setattr(place, "outlets", lambda tank: ())
    tank: Any = Made(name="main", cavity=Made(spot=lambda name, at: Made(off_m=off_m)), body_m=lambda at: at)
    wanted: Any = Made(target_m3=10.0, unusable_m3=4.0, outflow=Made(least_s=lambda usable_m3: usable_m3 * 100.0))
    built: Any = Made(low_m=low_m, delay_s=60.0)
    layout: Any = Made(file="design.toml")
    if fault:
        with pytest.raises(QuestionError, match=fault):
            place._proved(layout, tank, {PARKED: 0.5}, np.zeros(3), wanted, built)
        return
    (found,) = place._proved(layout, tank, {PARKED: 0.5}, np.zeros(3), wanted, built)
    assert (found.mark_height_m, found.trip_m3, found.minutes) == (
        0.5,
        held,
        pytest.approx(((held - 4.0) * 100.0 - 60.0) / 60.0),
    )
    assert asked == [-low_m]
    wanted.outflow.least_s = lambda usable_m3: None
    assert place._proved(layout, tank, {PARKED: 0.5}, np.zeros(3), wanted, built)[0].minutes == -1.0


def test_knots_beside_a_stretch_that_adds_nothing(monkeypatch: pytest.MonkeyPatch) -> None:
    # Nothing is added between 0.08 and 0.15: no share of it is asked for.
    monkeypatch.setattr(
        standing,
        "_volumes",
        lambda drained, free, at_m, own=None: np.where(at_m < 0.15, np.minimum(at_m, 0.08), at_m - 0.07) ** 2,
    )
    drained: Any = Made(tilted=Made(tree=Made(floor=np.array([0.0])), high_m=0.2), n_seeds=1, end_m=np.array([0.01]))
    with np.errstate(divide="raise", invalid="raise"):
        knots_m3, knots_m = standing._knots(drained, np.array([True]), np.array([0.1]))
    assert (np.diff(knots_m3) > 0.0).all()
    assert (knots_m3[-1], knots_m[-1]) == (pytest.approx(0.0169), 0.2)


def test_a_table_of_levels_has_twenty_steps(monkeypatch: pytest.MonkeyPatch) -> None:
    tilted = Made(
        low_m=-1.0,
        high_m=1.0,
        volume_and_area=lambda at_m: (at_m + 1.0, at_m * 0.0 - 1.0),
        level_for=lambda volumes: volumes - 1.0,
    )
    monkeypatch.setattr(levels, "Tilted", Made(of=lambda cavity, up: tilted))
    monkeypatch.setattr(levels, "one_pool_above_m", lambda tilted: -0.5)
    cavity: Any = Made(gross_m3=2.0)
    found = levels.level_table(cavity, PARKED)
    assert [row.level_m if hasattr(row, "level_m") else row.volume_m3 for row in found.rows] == pytest.approx(
        np.linspace(0.0, 2.0, 21)
    )
    assert {tuple(vars(row).values())[-1] for row in found.rows} == {0.0}
    assert len(levels.level_table(cavity, PARKED, level_step_m=0.5).rows) == 5
    assert [row.volume_m3 for row in levels.level_table(cavity, PARKED, volume_step_m3=0.8).rows] == pytest.approx(
        [0.0, 0.8, 1.6, 2.0]
    )


@pytest.mark.parametrize(
    ("shut_m3", "top"), [({}, None), ({1: 0.0}, None), ({1: 1e-6, 2: 2e-6}, 2), ({1: 3e-6, 2: 2e-6, 3: 0.0}, 1)]
)
def test_the_largest_air_that_is_shut_in(monkeypatch: pytest.MonkeyPatch, shut_m3: dict[int, float], top: Any) -> None:
    monkeypatch.setattr(venting, "_top_m", lambda air, bodies, body: body)
    assert venting._largest_top_m(None, [], shut_m3) == top


@pytest.mark.parametrize(
    ("each", "wanted"), [([], None), ([(1.0, ""), (3.0, ""), (2.0, "")], 1), ([(3.0, ""), (1.0, "a curve")], 1)]
)
def test_the_tank_from_which_most_comes_to_an_inlet(monkeypatch: pytest.MonkeyPatch, each: Any, wanted: Any) -> None:
    ways = [Made(end="engine", start=Made(tank="a"), k=k) for k in range(len(each))]
    ways += [Made(end="other", start=Made(tank="a"), k=-1), Made(end="engine", start=Made(tank=None), k=-1)]
    found = [Made(pressure_pa=most, needs=needs) for most, needs in each]
    monkeypatch.setattr(inlet, "_of", lambda layout, way: iter([found[way.k]]))
    layout: Any = Made(network=Made(ways=lambda kind: ways))
    assert inlet._worst(layout, "engine") is (None if wanted is None else found[wanted])


@pytest.mark.parametrize("rise_m", [None, 0.02])
def test_a_switch_on_the_drill_sheet_stands_where_it_must_be_raised_to(rise_m: float | None) -> None:
    tank: Any = Made(
        spot=lambda name: Made(off_m=1e-4), body_m=lambda at: at + 1.0, mesh_m=lambda at: at - 1.0, room_m=lambda switch, at: float(at[2]),
    )  # fmt: skip
    switch: Any = Made(
        name="low",
        mark_m=(0.0, 0.0, 0.5),
        through="",
        tolerance_m=0.002,
        clearance_m=0.03,
        target_s=None,
        differential_m=0.01,
    )
    found = drill._switch(tank, switch, Made(rise_m=rise_m, trip_doubt="") if rise_m else None)
    up = rise_m or 0.0
    assert (found.point_m[2], found.mesh_m[2], found.room_m) == pytest.approx((1.5 + up, 0.5 + up, 1.5 + up))
    assert (found.off_m, found.stroke_m) == (0.0 if rise_m else 1e-4, 0.01)
    assert (found.was_m is None, found.on, found.stated) == (rise_m is None, (), False)
    switch.through = "roof"
    assert (drill._switch(tank, switch, None).on, drill._switch(tank, switch, None).stated) == (("roof",), True)


def test_where_the_surface_stands_at_a_trip() -> None:
    tank = Made(
        body_m=lambda at: np.array(at) * np.array([1.0, -1.0, 1.0]), cavity=Made(centre_m=np.array([0.5, 0.5, 0.5]))
    )
    search = Made(built=Made(rides=Made(raised_m=0.25)))
    for z_m, wanted in ((1.0, 0.75), (None, -0.25), (0.0, -0.25)):
        found = stages._Placing._trips_m(Made(tank=tank), search, Made(x_m=2.0, y_m=3.0, z_m=z_m))
        assert found.tolist() == [[1.5, -3.5, wanted]]


@pytest.mark.parametrize(("share", "within"), [(0.9, 0.25), (1.05, 0.5)])
def test_a_cavity_that_holds_a_share_of_what_was_drawn(share: float, within: float) -> None:
    told: list[Any] = []
    cavity: Any = Made(gross_m3=8.0, counting=lambda share, taken, said: told.append((share, taken, said)) or "counted")
    by: Any = Made(date="today", share=share, within=within, file="sheet.csv", attitude="parked")
    assert measured._shared(cavity, by) == "counted"
    ((counted, taken, said),) = told
    assert (counted, taken.volume_m3, taken.doubt_m3) == (share, pytest.approx(8.0 * (1.0 - share)), 8.0 * within)
    words = f"it holds {(share - 1.0) * 100.0:+.1f} % against what was drawn, within {within * 100.0:.1f} % (95 %)"
    assert words in "".join(str(one) for one in said)


def test_the_ends_of_the_path_of_the_centre(monkeypatch: pytest.MonkeyPatch) -> None:
    centres = {0.0: 3.0, 10.0: 1.0, 20.0: None, 30.0: 2.0}
    monkeypatch.setattr(balance, "_at", lambda flown, time_s: time_s)
    monkeypatch.setattr(
        balance, "_together", lambda tanks, time_s, row: Made(centre_m=centres.get(time_s), at_s=time_s)
    )
    monkeypatch.setattr(balance, "_aft_m", lambda one: one.centre_m)
    monkeypatch.setattr(balance, "_aside_m4", lambda one: -one.centre_m)
    monkeypatch.setattr(balance, "Path", lambda *given: given)
    flown: Any = Made(
        tanks=("a",), held_m3=np.array([[30.0], [20.0], [10.0], [0.0]]), times_s=np.array([0.0, 10.0, 20.0, 30.0])
    )
    layout: Any = Made(tank=lambda name: name)
    named = next(
        one
        for name, one in vars(balance).items()
        if "equal steps of what they hold" in (getattr(one, "__doc__", "") or "")
    )
    _, _, rows, forward, aft, aside, every = named(layout, flown)
    assert (forward.at_s, aft.at_s, aside.at_s, len(every)) == (10.0, 0.0, 10.0, 4)
    assert [row.at_s for row in rows] == pytest.approx(np.linspace(0.0, 30.0, balance._PATH_STEPS + 1).tolist())
    centres.clear()
    assert named(layout, flown)[3:6] == (None, None, None)
