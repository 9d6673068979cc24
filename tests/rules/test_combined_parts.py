"""Rules on lamps where tilts come together, on fuel that warms and on headers that bridge by hand, on what is made up."""

from __future__ import annotations

from types import SimpleNamespace as Made
from typing import Any

import pytest
from rule_cases import plain

from fuelsys.model.found.findings import Outcome, Verdict
from fuelsys.model.found.outflow import Outflow
from fuelsys.model.found.switches import SwitchStudy, TripAt
from fuelsys.model.stated.attitude import Attitude
from fuelsys.rules.tanks import bridging, warming, warning_combined
from fuelsys.rules.words import said

PASS, CAUTION, NOT_ASKED = Outcome.PASS, Outcome.CAUTION, Outcome.NOT_APPLICABLE
CRUISE, BOTH = Attitude("cruise", "flight", normal=True), Attitude("both", "flight", 0.1, 0.1)


def lamp(latest_l: float | None) -> SwitchStudy:
    held = None if latest_l is None else latest_l / 1e3
    return SwitchStudy(
        "low", "main", 600.0, 0.003, (TripAt(CRUISE, held, held, held, 1e-3),), 1e-3, Outflow(1e-5, 1e-5)
    )


def tank(more_l: float | None = 0.0, stated_l: float | None = 1.0) -> Any:
    both = None if more_l is None else Made(unusable_m3=(1.0 + more_l) / 1e3, attitude=BOTH)
    return Made(combined=both, capacity=Made(unusable=None if stated_l is None else Made(volume_m3=stated_l / 1e3)))


@pytest.mark.parametrize(
    ("latest_l", "stated_l", "more_l", "outcome", "words"),
    [
        # 1 L unusable, 10 mL/s: 7 L are ten minutes; half a minute less is let pass, or as much as a stated attitude lacks.
        (7.0, 9.0, 0.0, PASS, "it trips with 7.00 L in the tank: 10.0 min for a target of 10 min"), (6.7, 9.0, 0.0, PASS, "9.5 min"),
        (6.69, 9.0, 0.0, None, "9.4 min"),
        (6.69, 6.5, 0.0, NOT_ASKED, "a stated attitude is as bad: warning-late tells it"), (6.1, 6.5, 0.0, None, "8.5 min"), (6.21, 6.5,
         0.0, NOT_ASKED, ""),
        (7.0, 9.0, 0.3, PASS, "9.5 min for a target of 10 min, above the 1.30 L that are unusable at both"), (7.0, 9.0, 0.31, None,
         "above the 1.31 L"), (7.0, 9.0, -0.5, PASS, "10.0 min for a target of 10 min"),
        (7.0, None, 0.0, PASS, ""), (6.69, None, 0.0, None, ""), (None, 9.0, 0.0, None, "it never trips: dark"), (0.5, 9.0, 0.0, None,
         "none left (0.9 min late)"),
    ],
)  # fmt: skip
def test_a_lamp_where_tilts_come_together(
    latest_l: float | None, stated_l: float | None, more_l: float, outcome: Outcome | None, words: str
) -> None:
    at = TripAt(BOTH, None, None if latest_l is None else latest_l / 1e3, None, 1e-3, "dark")
    found = warning_combined._at_combined("x", tank(more_l), lamp(stated_l), at, 600.0)
    evidence = found.evidence if isinstance(found, Verdict) else said(found[1])
    assert (found.outcome if isinstance(found, Verdict) else None) is outcome
    assert words in plain(evidence), plain(evidence)
    assert ("above the" in plain(evidence)) == (more_l > 0.0)
    if not isinstance(found, Verdict):
        left_s = 0.0 if latest_l is None else max(0.0, (latest_l - 1.0 - max(0.0, more_l)) * 100.0)
        assert found[2].short_s == pytest.approx(600.0 - left_s)


@pytest.mark.parametrize(
    ("more_l", "stated_l", "told_l"), [(0.5, 1.0, 0.5), (-0.5, 1.0, 0.0), (None, 1.0, 0.0), (0.5, None, 0.0)]
)
def test_what_a_combination_keeps_more(more_l: float | None, stated_l: float | None, told_l: float) -> None:
    assert warning_combined._more_m3(tank(more_l, stated_l)) == pytest.approx(told_l / 1e3)
    words = warning_combined._unusable(tank(more_l, stated_l), lamp(7.0))
    assert bool(words) == (told_l > 0.0)


@pytest.mark.parametrize(
    ("room_l", "rise", "clear", "outcome", "words"),
    [
        # 50 L grow by 2 L. In a tank of 60 L a per cent, 0.6 L, must be free where fuel may run out.
        (3.0, None, False, PASS, "room for 3.00 L, more than any warming"), (2.0, 35.0, False, PASS, "which 35.0 °C of warming take"),
        (1.999, 34.9, False, CAUTION, "of warming take: 1 mL run out of the vent"),
        (0.6, 10.0, True, PASS, "1.40 L run out of the vent, clear of the aircraft"), (0.599, 10.0, True, CAUTION, "1.40 L run out"),
        (1.0, 10.0, False, CAUTION, "50.00 L filled at 5 °C grow by 2.00 L (4.0 %) on the way to 40 °C"),
    ],
)  # fmt: skip
def test_fuel_that_warms(
    room_l: float, rise: float | None, clear: bool, outcome: Outcome, words: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(warming, "discharges_clear", lambda *_: clear)
    one: Any = Made(
        filled_m3=0.05,
        filled_at_k=278.15,
        growth_m3=2e-3,
        growth_share=0.04,
        soaked_to_k=313.15,
        room_m3=room_l / 1e3,
        rise_k=rise,
    )
    found = warming._judged(Made(layout=None), Made(name="main", capacity=Made(gross_m3=0.06), tank=None), one)
    assert (found.outcome, words in plain(found.evidence)) == (outcome, True), plain(found.evidence)
    assert found.cost.volume_m3 == pytest.approx(2e-3 - room_l / 1e3 if outcome is CAUTION else 0.0)


@pytest.mark.parametrize(
    ("filler", "vent", "inlet", "told"),
    [
        (1, 1, 0, "a fuel density"),
        (0, 1, 0, "a filler"),
        (1, 0, 0, "a vent: it says"),
        (0, 0, 0, "a filler"),
        (0, 0, 1, None),
    ],
)
def test_what_warming_is_not_judged_without(filler: int, vent: int, inlet: int, told: str | None) -> None:
    one = Made(
        name="main",
        warming=None,
        tank=Made(design=Made(filler=1 if filler else None, vent=[1] * vent, inlet=[1] * inlet)),
    )
    (found,) = warming.expansion_space_used_by_warming.judge(Made(tanks=[one]))
    assert found.outcome is (NOT_ASKED if told is None else Outcome.NOT_CHECKED)
    assert told is None or plain(found.evidence).startswith(f"needs {told}")


def held(lasting_s: float, drawn: float = 1e-5) -> Any:
    return Made(lasting_s=lasting_s, drawn_m3_s=drawn)


@pytest.mark.parametrize(
    ("at", "ends", "kept", "usable_l", "bridges"),
    [
        # 60 s of 10 mL/s draw 0.6 L.
        ([(5.0, held(60.0))], ("header",), ("header",), 0.601, True), ([(5.0, held(60.0))], ("header",), ("header",), 0.599, False), ([(5.0,
         None)], ("header",), ("header",), 9.0, False),
        ([(5.0, held(60.0)), (5.0, None)], ("header",), ("header",), 9.0, False), ([(5.0, held(60.0)), (1.0, None)], ("header",),
        ("header",), 9.0, True), ([(5.0, held(60.0))], ("header", None), ("header",), 9.0, False),
        ([(5.0, held(60.0))], ("header", "other"), ("header",), 9.0, False), ([(5.0, held(60.0))], ("header", "other"), ("header",
         "other"), 9.0, True), ([(5.0, held(60.0)), (5.0, held(90.0))], ("header",), ("header",), 0.8, False),
        ([(5.0, held(60.0))], (), (), 9.0, False), ([(1.0, held(60.0))], ("header",), ("header",), 9.0, False),
    ],
)  # fmt: skip
def test_a_header_that_bridges(
    at: Any, ends: Any, kept: Any, usable_l: float, bridges: bool, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(bridging, "header_like", lambda study, end: True)
    monkeypatch.setattr(bridging, "_kept_full", lambda study, end: end in kept)
    every = [Made(attitude=CRUISE, unusable_m3=litres / 1e3, held=it) for litres, it in at] + [
        Made(attitude=Attitude("p", "ground"), unusable_m3=9.0, held=None)
    ]
    one: Any = Made(name="main", capacity=Made(unusable=Made(at=every)))
    ways = [Made(start=Made(tank="main"), end=Made(tank=end)) for end in ends] + [
        Made(start=Made(tank="tip"), end=Made(tank=None))
    ]
    study: Any = Made(plumbing=Made(ways=ways), tank=lambda name: Made(capacity=Made(usable_m3=usable_l / 1e3)))
    assert bool(bridging.bridging(study, one, 2e-3)) is bridges
    if bridges and len(ends) == 1:
        assert plain(said(bridging.bridging(study, one, 2e-3))).endswith(
            "and in 60 s 0.60 L are drawn: that bridges it, once, and again when it has filled"
        )
    one.capacity.unusable = None
    assert bridging.bridging(study, one, 2e-3) == ""
