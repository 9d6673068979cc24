"""The rules on vents as they breathe and on tanks that are overfilled, and the air's flow against closed forms and published values."""

from __future__ import annotations

from math import pi
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

import designs
import pytest
from designs import REMOVE
from numpy.testing import assert_allclose
from plumbing_changes import INTO_HEADER, NO_HEADER_VENT_LINE, SELECTOR, VENT_DIP, line, mm
from rule_cases import LEVEL, Case, check, study_of
from sound_designs import design_of, text_of, write_meshes

from fuelsys.analysis.lines.airing import airings
from fuelsys.analysis.lines.breathing import air_moved_per_s, breathing
from fuelsys.analysis.lines.flow import Piping
from fuelsys.analysis.lines.hydraulics import Fluid
from fuelsys.model.found.findings import Outcome
from fuelsys.review import read, study
from fuelsys.rules.plumbing.overfilling import transfer_overfills_tank

FAIL, CAUTION = Outcome.FAIL, Outcome.CAUTION
NARROW = {"line.0.bore": "2 mm"}
LIFTED = {"component.6": {"name": "lift pump", "kind": "pump", "position": mm(480, 0, 800), "curve": designs.CURVE}} | {
    "line.2": line("main to pump", "feed", "main.outlet", "lift pump"),
    "line.9": line("pump to header", "feed", "lift pump", "header.from main"),
}
STIFLED = {"line.1.bore": "1 mm"}
BELOW = {"tank.0.position": mm(400, -250, 100)}
SLOW = {"flows.cruise": "6 L/h"}
CHECKED = {"component.7": {"name": "non-return", "kind": "check valve", "position": mm(490, 0, 560)}} | {
    "line.9": line("pump to check", "feed", "lift pump", "non-return"),
    "line.10": line("check to header", "feed", "non-return", "header.from main"),
}
# One way past the check valve, then another in that.
PAST_CHECK = {
    "component.7": CHECKED["component.7"],
    "component.8": {"name": "fork", "kind": "tee", "position": mm(485, 0, 700)},
    "component.9": {"name": "join", "kind": "tee", "position": mm(495, 0, 555)},
    "line.9": line("pump to fork", "feed", "lift pump", "fork"),
    "line.10": line("fork to check", "feed", "fork", "non-return"),
    "line.11": line("check to join", "feed", "non-return", "join"),
    "line.12": line("join to header", "feed", "join", "header.from main"),
    "line.13": line("past it", "feed", "fork", "join"),
}
BOTH_CHECKED = PAST_CHECK | {
    "component.10": {"name": "second", "kind": "check valve", "position": mm(480, 0, 600)},
    "line.13.to": "second",
    "line.14": line("past it on", "feed", "second", "join"),
}
LITTLE = {
    "flight": [
        {"name": "cruise", "attitude": "cruise", "flow": "cruise", "loaded": {"main": "8.003 L", "header": "8.9 L"}}
    ]
}
# The main tank feeds the engine through a selector, the header beside it gets the return and nothing brings it back.
APART_RETURN = INTO_HEADER | SELECTOR | {"line.2": REMOVE}
UNFILLED = {"tank.0.filler": REMOVE, "tank.0.vent": [], "line.1.to": "overboard", "line.0": REMOVE}
UP_HIGH = {"line.0.path": [mm(570, 0, 9000), mm(570, 400, 9000)]}

OPEN_MAST = {"component.0.kept_clear": REMOVE}
TWO_MASTS = OPEN_MAST | {
    "component.6": {"name": "mast", "kind": "overboard", "position": mm(900, 0, 1400)},
    "tank.0.vent.1": {"name": "second", "position": mm(200, 250, 235), "bore": "8 mm"},
    "line.9": line("second vent", "vent", "main.second", "mast"),
}
# No pump: the engine 1 m below the main tank's brim, which stands at z = 1200, asks for 2 kPa: 0.72 x 9.80665 - 2 = 5.06 kPa.
FALLING = OPEN_MAST | {
    "aircraft.feed": "gravity",
    "component.3": {"name": "boost pump", "kind": "tee", "position": mm(250, 0, 150)},
    "component.4": {"name": "engine pump", "kind": "tee", "position": mm(200, 0, 150)},
    "component.5.position": mm(-300, 0, 200),
    "component.5.inlet_pressure": "2 kPa",
}

CASES = [
    # Of 48.5 L 45.1 are filled; Boyle: 3.4 L widen by 3.4 x 1 / (101.325 - 1) = 33.9 mL until 1 kPa is gone, 3.4 s at 36 L/h.
    Case("air-hangs-on-one-opening", "good", "overboard", ("main, header have air by it alone", "it is shielded")),
    Case(
        "air-hangs-on-one-opening",
        "bad",
        "overboard",
        ("engine draws from nothing else", "1.00 kPa of suction", "taken for granted, 3 s from full", "3.40 L of air widen by 34 mL"),
        OPEN_MAST,
        "second line overboard",
        FAIL,
    ),
    Case("air-hangs-on-one-opening", "bad", "overboard", ("2.00 kPa of suction, what they bear",),
         OPEN_MAST | {"tank.0.bears_suction": "2 kPa", "tank.1.bears_suction": "2 kPa"}, "", FAIL),
    # 3.4 x 5.06 / (101.325 - 5.06) = 178.7 mL, 17.9 s.
    Case("air-hangs-on-one-opening", "bad", "overboard", ("it stops 17 s from full", "widen by 0.18 L", "5.06 kPa, all the head"),
         FALLING, "", FAIL),
    Case("air-hangs-on-one-opening", "good", "overboard", ("leaves each tank another way",), TWO_MASTS),
    Case("air-hangs-on-one-opening", "good", "mast", ("leaves each tank another way",), TWO_MASTS),
    Case("air-hangs-on-one-opening", "unknown", "engine", ("needs feed lines",), {"line.7": REMOVE}),
    # 48.5 + 8.912 L breathe 57.412 x 5.42/100 = 3.11 L a minute; 36 L/h are 0.6 more (the return comes back to main).
    Case("vent-passes-too-little-air", "good", "main", ("descent of 7.62 m/s (assumed)", "25.42 kPa", "only opening")),
    Case(
        "vent-passes-too-little-air",
        "good",
        "main",
        ("stated to bear 30.00 kPa",),
        {"tank.0.bears": "30 kPa", "aircraft.descent_rate": "3 m/s"},
    ),
    Case("vent-passes-too-little-air", "bad", "main", ("of suction", "bears_suction"), NARROW, "wider", CAUTION),
    Case(
        "vent-passes-too-little-air",
        "bad",
        "main",
        ("it bears 0.02 kPa of suction",),
        NARROW | {"tank.0.bears_suction": "20 Pa"},
        "",
        FAIL,
    ),
    Case(
        "vent-passes-too-little-air",
        "bad",
        "main",
        ("main is filled at 6000.0 L/h", "stated to bear 1.00 kPa"),
        {"tank.0.filler.filling": "100 L/min", "tank.0.bears": "1 kPa"},
        "",
        FAIL,
    ),
    # A dip of 50 mm: 720 x 9.80665 x 0.05 = 353 Pa before air gets through.
    Case("vent-passes-too-little-air", "good", "main", ("0.35 kPa of it to blow the fuel out",), VENT_DIP),
    Case("vent-passes-too-little-air", "unknown", "header", ("vent lines that lead from it",), NO_HEADER_VENT_LINE),
    Case("vent-suction-takes-the-head", "good", "main to header.from main", ("of 2.40 kPa", "the head")),
    Case("vent-suction-takes-the-head", "good", "header to boost pump", ("the margin to boiling",)),
    Case(
        "vent-suction-takes-the-head", "bad", "header to boost pump", ("of 5.59 kPa",), {"line.0.bore": "1.4 mm"}, "", FAIL
    ),
    Case("vent-suction-takes-the-head", "unknown", "header to boost pump", ("ceiling",), {"aircraft.ceiling": REMOVE}),
    Case("transfer-overfills-tank", "good", "engine to main", ("20.0 L/h", "25.42 kPa")),
    # Fuel stands from the sump's floor at z = 940 to 9000: 720 x 9.80665 x 8.06 = 56.9 kPa, and 0.6 kPa of friction (Hagen, Poiseuille).
    Case("transfer-overfills-tank", "bad", "engine to main", ("57.51",), UP_HIGH | {"attitude": designs.ATTITUDES[::2][:2]}, "lower", FAIL),
    Case("transfer-overfills-tank", "bad", "main to header", ("at once", "45.10 L in all"), LIFTED, "a placard does not help", FAIL),
    # Less than the 9 L of half an hour: all of the main tank's 8.003 L into a header that takes 8.912 L: 0.909 L may be in it.
    Case("transfer-overfills-tank", "bad", "main to header", ("at once",), LIFTED | LITTLE, "no more than 0.90 L", CAUTION),
    # 20 of 38 L/h go into the other tank: that share of the 44.24 L that are usable (45.1 L filled, 0.86 L unusable).
    Case("transfer-overfills-tank", "bad", "engine to header", ("main alone feeds, 23.28 L",), APART_RETURN, "room for 23.29 L", FAIL),
    Case("transfer-overfills-tank", "unknown", "engine to header", ("a filler or a vent of main", "24.13 kPa"), APART_RETURN | UNFILLED),
    # By a vent of 1 mm next to nothing gets out: 40 kPa at no flow, and the full main tank, up to z = 1240, over the header's floor at 350:
    # 0.72 x 9.80665 x 0.89 = 6.28 kPa more.
    Case("transfer-overfills-tank", "bad", "main to header", ("46.28 kPa", "most that"), LIFTED | LEVEL | STIFLED, "", FAIL),
    Case("transfer-overfills-tank", "good", "main to header", ("stops lift pump",), LIFTED | {"component.6.stops_when_full": True}),
    Case("transfer-overfills-tank", "unknown", "main to header", ("curve",), LIFTED | {"component.6.curve": REMOVE}),
    # The header is full to its top, 0.352 L of roof over 200 x 160 x 90 mm above the port: 3.232 L; the main tank's floor lies below it.
    Case("transfer-runs-back", "bad", "header to main", ("3.23 L",), LIFTED | BELOW, "check valve", CAUTION),
    Case("transfer-runs-back", "bad", "header to main", ("3.23 L",), LIFTED | BELOW | SLOW, "check valve", FAIL),  # half an hour is 3 L
    Case("transfer-runs-back", "good", "header to main", ("non-return keeps it",), LIFTED | BELOW | CHECKED),
    Case("transfer-runs-back", "bad", "header to main", ("3.23 L",), LIFTED | BELOW | PAST_CHECK, "check valve", CAUTION),
    Case("transfer-runs-back", "good", "header to main", ("non-return or second keeps it",), LIFTED | BELOW | BOTH_CHECKED),
    Case("transfer-runs-back", "good", "header to main", ("0 mL of",), LIFTED),  # the main tank lies above
    Case("transfer-runs-back", "unknown", "header to main", ("filler or a vent",), LIFTED | {"line.1": REMOVE, "tank.1.vent": []}),
]  # fmt: skip


@pytest.mark.parametrize("case", CASES, ids=lambda case: case.title)
def test_rules(case: Case) -> None:
    check(case)


def test_nothing_is_stated_of_a_return() -> None:
    found = transfer_overfills_tank.findings(study_of({"component.5.return_flow": REMOVE}))
    assert [f.outcome for f in found] == [Outcome.NOT_CHECKED]


def test_the_air_that_a_descent_moves() -> None:
    """100 L at 1500 ft/min at sea level: 5.42 L/min (g / (R T), ISO 2533); at 5000 m and 255.65 K an eighth more."""
    assert_allclose(100.0 * air_moved_per_s(7.62, 288.15) * 60.0, 5.42, atol=0.005)
    assert_allclose(air_moved_per_s(7.62, 255.65) / air_moved_per_s(7.62, 288.15), 288.15 / 255.65, rtol=1e-12)


def test_a_laminar_vent_by_hand() -> None:
    """Hagen and Poiseuille with sea level's air (ISO 2533: 1.225 kg/m3, 1.7894e-5 Pa s), and the losses in velocity heads."""
    lay = study_of({}).layout
    line_of = next(one for one in lay.lines if one.name == "vent")
    piping = Piping(lay.network, Fluid(1.225, 1.7894e-5 / 1.225), blocked=False, kinds=("vent",))
    pipe, flow = piping.pipes[[one.name for one in piping.lines].index("vent")], 5e-5
    speed = flow / (pi / 4.0 * 0.008**2)
    assert speed * 0.008 * 1.225 / 1.7894e-5 < 2000.0
    friction = 128.0 * 1.7894e-5 * line_of.length_m * flow / (pi * 0.008**4)
    assert_allclose(pipe.loss(flow)[0], friction + pipe.heads * 1.225 / 2.0 * speed**2, rtol=1e-9)
    assert pipe.heads > 1.57  # sharp entry, exit, bends


def test_the_air_is_that_of_the_published_atmosphere() -> None:
    """ISO 2533 prints 255.65 K and 0.73643 kg/m3 at a geopotential altitude of 5000 m, which is 5003.9 m of true one (from memory)."""
    from fuelsys.analysis.lines.breathing import _Air

    kelvin, _, air = _Air(study_of({}).layout, 5003.9, airings(study_of({}).layout)[0]).at
    assert_allclose(kelvin, 255.65, atol=0.005)
    assert_allclose(air.density_kg_m3, 0.73612, atol=5e-4)


def test_both_tanks_breathe_through_one_vent() -> None:
    """All that both take in, and the engine's 36 L/h, goes through the common line: its loss is the main tank's suction."""
    lay = study_of({}).layout
    found = breathing(lay, airings(lay))
    state = found.worst("main", "in")
    assert state is not None
    assert state.altitude_m == 0.0  # denser air takes more
    burnt = sum(state.flows_m3_s.values()) - (48.5 + 8.912) * 1e-3 * air_moved_per_s(7.62, 288.15)
    assert_allclose(burnt, 56e-3 / 3600.0 if state.drawn_from == "header" else 36e-3 / 3600.0, rtol=1e-9)
    assert state.pressures_pa["header"] < state.pressures_pa["main"] < 0.0
    assert found.ends == ("overboard",)


@pytest.mark.parametrize(("bore", "more"), [("8 mm", True), ("4 mm", True)])
def test_a_blocked_end_never_helps(bore: str, more: bool) -> None:
    design: dict[str, Any] = dict(design_of("joined"))
    mast = {"name": "mast", "kind": "overboard", "position": mm(600, 900, 900), "discharges_clear": True}
    second = line("second", "vent", "right.vent", "mast", mm(570, 850, 1310)) | {"bore": bore}
    design["component"], design["line"] = [*design["component"], mast], [*design["line"], second]
    with TemporaryDirectory() as folder:
        write_meshes(Path(folder))
        Path(folder, "x.toml").write_text(text_of(design), encoding="utf-8")
        found = study(read(Path(folder, "x.toml"))).breathing
    for tank in ("left", "right"):
        opened, blocked = found.worst(tank, "in"), found.worst(tank, "in", blocked=True)
        assert opened is not None
        assert blocked is not None
        assert (blocked.pressures_pa[tank] < 1.5 * opened.pressures_pa[tank]) == more
