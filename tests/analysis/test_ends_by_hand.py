"""Last steps by hand, on what is made up: sumps, a gauge's signal, what a fill test is refused for, what is tried first."""

from __future__ import annotations

from types import SimpleNamespace as Made
from typing import Any

import numpy as np
import pytest

from fuelsys.analysis.fills import filltest, gauges, measured
from fuelsys.analysis.flights import failures, levelled
from fuelsys.analysis.sweeping import stages
from fuelsys.analysis.tank import gauge, sumps
from fuelsys.errors import QuestionError
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
