"""Rules on gauges, sticks and what stands in a return by hand: which figure of a flight counts, bounds, and who is asked what.

Half an hour at cruise takes 9 L (5 mL/s).
"""

from __future__ import annotations

from types import SimpleNamespace as Made
from typing import Any

import pytest
from rule_cases import plain

from fuelsys.model.found.findings import Outcome
from fuelsys.model.stated.attitude import Attitude
from fuelsys.model.stated.components import Engine
from fuelsys.rules.coverage import items
from fuelsys.rules.plumbing import back_pressure, exchange, ports
from fuelsys.rules.tanks import dipstick, gauge
from fuelsys.rules.words import before_64, said

PASS, FAIL, CAUTION = Outcome.PASS, Outcome.FAIL, Outcome.CAUTION
NOT_CHECKED, NOT_ASKED = Outcome.NOT_CHECKED, Outcome.NOT_APPLICABLE


def at(text: str, blind_l: float, stays_l: float = 0.0, sees: bool = True) -> Any:
    named = Made(text=text, name=text)
    return Made(attitude=named, blind_to_m3=blind_l / 1e3, stays_m3=stays_l / 1e3, least=Made(sees=sees))


@pytest.mark.parametrize(
    ("normal", "others", "unusable_l", "sees_the_last", "outcome", "words", "cost_l"),
    [
        (at("level", 9.0, sees=False), [], 1.0, True, FAIL, "at level its signal does not change", 0.0),
        # A tenth of a minute is 0.03 L, of which nothing is told, and half a minute 0.15 L.
        (at("level", 1.029), [], 1.0, False, PASS, "sees the fuel down to 1.03 L; unusable are 1.00 L; so at all 1 flight attitudes", 0.0),
        (at("level", 1.031), [], 1.0, False, CAUTION, "at level it stands still with 1.03 L", 0.031),
        (at("level", 1.149), [], 1.0, False, CAUTION, "0.15 L, 0.5 min at the tank's share of cruise, run out unseen", 0.149),
        (at("level", 1.151), [], 1.0, False, FAIL, "unusable are 1.00 L: the last 0.15 L, 0.6 min", 0.151),
        (at("level", 4.0), [], 1.0, False, FAIL, "the last 3.00 L, 10.0 min", 3.0),
        (at("level", 1.0, 1.2), [], 1.0, False, PASS, "down to 1.20 L; unusable are 1.00 L", 0.0),
        # Of the flight attitudes that counts at which most is hidden above what stays there or is unusable.
        (at("level", 1.0), [at("climb", 3.0, 2.5), at("slip", 2.8, 1.0)], 1.0, True, CAUTION,
         "at slip it stands still with 2.80 L in the tank; unusable are 1.00 L: 1.80 L", 1.8),
        (at("level", 1.0), [at("climb", 3.0, 2.5), at("slip", 2.8, 1.0)], 2.4, True, CAUTION, "at climb it stands still with 3.00 L", 0.5),
        (at("level", 1.0), [at("climb", 9.99)], 1.0, True, CAUTION, "8.99 L", 8.99),
        (at("level", 1.0), [at("climb", 10.01)], 1.0, True, FAIL, "9.01 L", 9.01),
    ],
)  # fmt: skip
def test_what_runs_out_unseen(
    normal: Any, others: Any, unusable_l: float, sees_the_last: bool, outcome: Outcome, words: str, cost_l: float
) -> None:
    design = Made(reserve_flow_m3_s=5e-6, fuel=Made(reserve_phase="cruise", reserve_min=30.0, reserve_s=1800.0))
    study: Any = Made(layout=Made(design=design))
    tank: Any = Made(name="main", tank=Made(design=Made(flow_share=1.0)))
    hidden_m3 = normal.blind_to_m3 - unusable_l / 1e3
    found: Any = Made(
        name="probe", normal=normal, flight=[normal, *others], unusable_m3=unusable_l / 1e3, hidden_m3=hidden_m3,
        sees_the_last=sees_the_last,
    )  # fmt: skip
    told = gauge._blind(study, tank, found)
    assert (told.outcome, words in plain(told.evidence)) == (outcome, True), told
    assert (told.cost.short_s, told.cost.volume_m3) == pytest.approx((cost_l / 5e-3, cost_l / 1e3))


@pytest.mark.parametrize(
    ("kind", "barriers", "skipped", "outcome", "words"),
    [
        ("probe", [(0.1, 0.002)], 0.0, FAIL, "it meets a wall, a rib or a body at"), ("probe", [], 0.0101, FAIL, "1 % of its way lies out"),
        ("probe", [], 0.01, PASS, "nothing is in its way"), ("arm", [], 0.02, FAIL, "2 % of its way lies outside"),
        ("arm", [], 0.01, CAUTION, "1.0 % of its way lies in a wall"), ("arm", [], 0.0, PASS, "at the places looked at along its way"),
    ],
)  # fmt: skip
def test_what_is_in_the_way_of_a_gauge(kind: str, barriers: Any, skipped: float, outcome: Outcome, words: str) -> None:
    met = tuple(Made(at_m=(place, 0.0, 0.0), thick_m=thick) for place, thick in barriers)
    one = Made(name="probe", kind=kind, barriers=met, skipped=skipped)
    tank = Made(name="main", tank=Made(design=Made(gauge=(one,), ports=(1,))), capacity=Made(unusable=1), gauges=(one,))
    study: Any = Made(tanks=(tank,))
    (found,) = gauge.gauge_meets_wall.judge(study)
    assert (found.outcome, words in plain(found.evidence), found.where) == (outcome, True, "main gauge probe")


@pytest.mark.parametrize(
    ("flow_m3_s", "missing", "ways", "told"),
    [
        # What states that none comes back is not asked; a line that is drawn from it is judged all the same.
        (0.0, False, 0, [NOT_ASKED]), (None, False, 0, [NOT_ASKED]), (0.0, False, 1, [NOT_ASKED, PASS]), (None, False, 1, [PASS]),
        (1e-5, False, 2, [PASS, PASS]), (1e-5, False, 0, [NOT_CHECKED]), (1e-5, True, 0, [NOT_CHECKED]), (1e-5, True, 1, [PASS]),
    ],
)  # fmt: skip
def test_who_is_asked_what_stands_in_its_return(
    monkeypatch: pytest.MonkeyPatch, flow_m3_s: Any, missing: bool, ways: int, told: list[Outcome]
) -> None:
    engine = Engine.model_construct(name="engine", return_flow_m3_s=flow_m3_s, most_return_pressure_pa=1e4)
    monkeypatch.setattr(back_pressure, "components", lambda study, kind: (engine,))
    monkeypatch.setattr(back_pressure, "loose", lambda study, kinds: iter(()))
    way = Made(
        engine=back_pressure.end_at(engine), start="a", end="b", needs="", attitude=Made(text="level"), flow_m3_s=1e-5, throttled_m3_s=1e-5,
        pressure_pa=1e3, throttled_pa=1e3, unstated=(),
    )  # fmt: skip
    lacking = (Made(needs="a bore"),) if missing else ()
    study: Any = Made(flows=Made(returns=[way] * ways, missing=lacking))
    found = list(back_pressure.return_pressure_too_high.judge(study))
    assert [one.outcome for one in found] == told
    if told == [NOT_CHECKED]:
        assert ("a bore" in plain(found[0].evidence)) == missing


@pytest.mark.parametrize(
    ("flows", "kinds", "comes"),
    [((), (), False), ((0.0, None), ("feed",), False), ((0.0, 1e-5), ("feed",), True), ((0.0,), ("feed", "return"), True), ((), ("return",),
     True)],
)  # fmt: skip
def test_whether_fuel_comes_back(flows: Any, kinds: Any, comes: bool) -> None:
    engines = [Engine.model_construct(name="e", return_flow_m3_s=flow) for flow in flows]
    design = Made(component=[*engines, Made(return_flow_m3_s=1.0)], line=[Made(kind=kind) for kind in kinds])
    study: Any = Made(layout=Made(design=design))
    assert items._returns(study) is comes


@pytest.mark.parametrize(
    ("off_m", "bore_m", "barriers", "outcome", "words"),
    [
        (0.02, 0.04, 0, PASS, "its line passes 20.0 mm from the middle of the lip of cap, whose bore is 40.0 mm; nothing is in"),
        (0.02 + 2e-9, 0.04, 0, CAUTION, "20.0 mm from"), (0.02 - 1e-9, 0.04, 0, PASS, ""), (0.021, 0.04, 0, CAUTION, "21.0 mm from"),
        (None, 0.04, 0, NOT_CHECKED, "a filler: where"), (0.02, "none", 0, NOT_CHECKED, "a filler: where"),
        (0.02, None, 0, NOT_CHECKED, "the filler's bore"), (0.02, 0.04, 1, FAIL, "2.0 mm thick"),
        (0.02, 0.04, 2, FAIL, "2.0 mm thick, the first of 2 on its way down"), ("none", 0.04, 0, NOT_ASKED, "it has no dipstick"),
    ],
)  # fmt: skip
def test_how_a_stick_goes_in(off_m: Any, bore_m: Any, barriers: int, outcome: Outcome, words: str) -> None:
    filler = None if bore_m == "none" else Made(name="cap", bore_m=bore_m)
    met = [Made(at_m=(0.1, 0.2, 0.3), thick_m=0.002)] * barriers
    stick = None if off_m == "none" else Made(off_filler_m=off_m, barriers=met)
    tank: Any = Made(name="main", dipstick=stick, tank=Made(design=Made(filler=filler, ports=(1,))))
    found = dipstick._goes_in(tank)
    assert (found.outcome, words in plain(found.evidence)) == (outcome, True), found
    assert ("," in plain(found.evidence).partition("thick")[2]) == (barriers > 1)


@pytest.mark.parametrize(
    ("note", "edition"), [("", "before amendment 23-64"), ("read", "before amendment 23-64, read")]
)
def test_a_paragraph_before_amendment_64(note: str, edition: str) -> None:
    found = before_64("23.951", note)
    assert (found.reference, found.edition) == ("14 CFR 23.951", edition)


@pytest.mark.parametrize(
    ("levels_m", "outcome", "words"),
    [
        # The outlet stands at 0.1 m.
        ({"vent": 0.1, "cap": 0.1}, FAIL, "it stands 0.0 mm above vent, and above cap"), ({"vent": 0.11}, PASS,
         "it stands 10.0 mm below vent"),
        ({"vent": 0.105, "cap": 0.11}, PASS, "5.0 mm below vent, the lowest of vent, cap"), ({"vent": 0.09, "cap": 0.101}, CAUTION,
         "10.0 mm above vent"),
        ({"vent": 0.1, "cap": 0.2}, CAUTION, "0.0 mm above vent"), ({"vent": 0.09}, FAIL, "10.0 mm above vent"), ({}, NOT_CHECKED,
         "a vent or"),
    ],
)  # fmt: skip
def test_an_outlet_and_what_stands_over_it(levels_m: dict[str, float], outcome: Outcome, words: str) -> None:
    out, vents = Made(name="out"), tuple(Made(name=name) for name in levels_m if name != "cap")
    cap = Made(name="cap") if "cap" in levels_m else None
    levels = levels_m | {"out": 0.1}
    design = Made(outlet=(out,), vent=vents, filler=cap, axes="x-aft")
    tank = Made(name="main", tank=Made(design=design, level_m=lambda name, up: levels[name]))
    parked = Attitude("parked", "ground", normal=True)
    study: Any = Made(layout=Made(design=Made(normal=lambda phase: parked)), tanks=(tank,))
    (found,) = ports.outlet_above_vent.judge(study)
    assert (found.outcome, words in plain(found.evidence)) == (outcome, True), found
    assert ("and above" in plain(found.evidence)) == (levels_m == {"vent": 0.1, "cap": 0.1})


@pytest.mark.parametrize(
    ("tank", "after", "words"),
    [
        ("main", None, "from the trip of main switch low, with 2.00 L in its tank"),
        ("main", Made(text="climb", normal=False), "from the trip of main switch low, with 2.00 L in its tank after climb held for ever"),
        ("main", Made(text="level", normal=True), "from the trip of main switch low, with 2.00 L in its tank"),
        ("", None, "with fuel for 10.0 min above the 3.00 L that the tanks keep for themselves"),
    ],
)  # fmt: skip
def test_where_what_is_promised_begins(tank: str, after: Any, words: str) -> None:
    one: Any = Made(tank=tank, switch="low", held_m3=2e-3, after=after, promised_s=600.0)
    found = exchange._begins(Made(own_m3=3e-3), one)
    assert plain(said(found)) == words
