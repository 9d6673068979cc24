"""Spoilt designs and options at the commands: what half an hour of them found once, and ten seconds of new ones. See fuzz_designs.py."""

from __future__ import annotations

import json
from collections.abc import Callable
from copy import deepcopy
from pathlib import Path
from typing import Any

import pytest
import sound_designs as sound
from click.testing import CliRunner
from designs import layout_of
from fuzz_designs import NAME, ask, faults, group, spoilt

from fuelsys.errors import DesignError, FuelsysError


def asked(folder: Path, architecture: str, change: Callable[[Any], None], *arguments: str) -> Any:
    """What a command says of a changed design."""
    design = deepcopy(sound.design_of(architecture))
    change(design)
    sound.write_meshes(folder)
    (folder / NAME).write_text(sound.text_of(design), encoding="utf-8")
    return CliRunner().invoke(group, [arguments[0], str(folder / NAME), *arguments[1:]])


def unchanged(_: Any) -> None:
    """The design as it is."""


FROM = 'Name the outlet ("TANK.PORT") or the component that the fuel comes from.'
REFUSED = {
    "a feed line from overboard": (
        {"line.5.from": "overboard"},
        'line shut-off to boost pump.from: found "overboard", of kind "overboard": no fuel is fed from there. ' + FROM,
    ),
    "what is returned as a feed line": (
        {"line.8.kind": "feed"},
        'line return.from: found "engine", of kind "engine": no fuel is fed from there. ' + FROM
        + ' What the engine sends back runs through a line of kind "return".',
    ),
    "a vapour pressure of nothing": (
        {"fuel.reid_pressure": "0 kPa"},
        'fuel.reid_pressure: found "0 kPa", which is too small. Give a vapour pressure more than 0 kPa and at most 1000 kPa;'
        " is the unit right?",
    ),
    "an area without end": (
        {"tank.0.outlet.0.strainer.clear_area": "1e300 mm2"},
        'tank main.outlet.strainer.clear_area: found "1e300 mm2", which is too large. Give an area from 0.01 mm2 to 1e+06 mm2;'
        " is the unit right?",
    ),
    "a pump that delivers nothing": (
        {"component.3.curve": [["0 L/h", "40 kPa"]]},
        "component boost pump.curve: no point has a flow of more than 0. Give at least one flow that it delivers, with its"
        " pressure.",
    ),
    "a curve that rises": (
        {"component.3.curve": [["0 L/h", "30 kPa"], ["150 L/h", "40 kPa"]]},
        "component boost pump.curve: found 40 kPa at 150 L/h, more than the 30 kPa at 0 L/h. Give pressures that do not rise"
        " with the flow; are two of them exchanged?",
    ),
    "two pressures at one flow": (
        {"component.3.curve": [["50 L/h", "30 kPa"], ["50 L/h", "40 kPa"]]},
        "component boost pump.curve: found two pressures at 50 L/h. Give each flow one pressure.",
    ),
}  # fmt: skip


@pytest.mark.parametrize("case", REFUSED)
def test_found_once_is_refused_by_the_door(tmp_path: Path, case: str) -> None:
    changes, said = REFUSED[case]
    with pytest.raises(DesignError) as refused:
        layout_of(tmp_path, changes)
    assert refused.value.lines == [f"bench.toml: {said}"]


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (["dipstick", "--tank", "header"], "bench.toml: tank header.dipstick: tank header has no dipstick."),
        (["tolerance", "--set-off", "3000 m"], "--set-off: 3000000 mm is too much."),
        (["tolerance", "--flow", "1 %", "--samples", "0"], "--samples: 0 samples make no study."),
        (["levels", "--level-step", "0 mm"], "--level-step: a level step of 0 makes no table."),
        (["levels", "--volume-step", "1 mL"], "--volume-step: this volume step gives 48500 rows."),
        (["switches", "--tank", "main"], "bench.toml: tank main.switch: tank main has no low-level switch."),
    ],
)
def test_found_once_refusals_name_the_file_or_the_option(tmp_path: Path, arguments: list[str], said: str) -> None:
    fault = asked(tmp_path, "header", unchanged, *arguments).exception
    assert isinstance(fault, FuelsysError)
    assert str(fault).startswith(said)


def test_found_once_a_tank_without_an_outlet_was_passed_over(tmp_path: Path) -> None:
    for command in ("unusable", "switches"):
        for form in ("table", "csv", "json"):

            def bare(design: Any) -> None:
                design["tank"][0]["outlet"], design["tank"][0]["switch"] = [], [sound.SWITCHES[0]]
                design["line"] = [line for line in design["line"] if line["from"] != "main.outlet"]

            ran = asked(tmp_path, "header", bare, command, "--tank", "main", "--form", form)
            assert ran.exit_code == 0
            assert "not computed: needs an outlet" in ran.output


def test_found_once_a_valve_beside_the_engine_that_is_shut_in_flight(tmp_path: Path) -> None:
    ran = asked(tmp_path, "gravity", unchanged, "fly", "--failures", "--form", "json")
    assert ran.exit_code == 1, ran.exception  # no lamp tells of it
    assert "shut-off shut" in ran.output


def test_found_once_vents_drowned_in_tanks_of_different_meshes_joined_to_one_another(tmp_path: Path) -> None:
    def mixed(design: Any) -> None:
        design["tank"][0]["mesh"] = "pocket.off"  # more faces than the right tank's

    ran = asked(tmp_path, "joined", mixed, "check")
    assert isinstance(ran.exception, SystemExit), ran.exception


def test_found_once_a_gauge_in_a_tank_from_which_nothing_runs(tmp_path: Path) -> None:
    def steep(design: Any) -> None:
        tilt = {"pitch": "32.84192406857032 deg", "roll": "-13.97489191896577 deg", "forward": "0.555752098027872 g"}
        design["attitude"].append({"name": "steep", "phase": "flight", **tilt})
        design["tank"][0]["gauge"] = [
            {
                "name": "probe",
                "kind": "probe",
                "bottom": ["210 mm", "250 mm", "-60 mm"],
                "top": ["210 mm", "250 mm", "240 mm"],
            }
        ]

    ran = asked(tmp_path, "gravity", steep, "check")
    assert isinstance(ran.exception, SystemExit), ran.exception


def test_found_once_a_pump_that_cannot_lift_into_the_full_tank(tmp_path: Path) -> None:
    def weak(design: Any) -> None:
        design["component"][-2]["curve"] = [["0 L/h", "2 kPa"], ["150 L/h", "0 kPa"]]

    ran = asked(tmp_path, "transfer", weak, "check", "--all")
    assert isinstance(ran.exception, SystemExit), ran.exception
    assert "transfer pump brings nothing into main when that is full" in " ".join(ran.output.split())


def test_found_once_a_flight_that_ends_before_the_failure(tmp_path: Path) -> None:
    def thirsty(design: Any) -> None:
        design["flows"]["cruise"] = "10000 L/h"

    ran = asked(tmp_path, "gravity", thirsty, "fly", "--failures", "--from", "30 min", "--form", "json")
    assert ran.exit_code == 1, ran.exception
    failures, *_ = json.loads(ran.stdout)["tables"]
    assert {(one["mark"], one["engine_stops_at_s"]) for one in failures["rows"]} == {("NO WARNING", 0.0)}


def test_found_once_a_vent_line_at_a_pump(tmp_path: Path) -> None:
    def mistaken(design: Any) -> None:
        design["line"][7]["kind"] = "vent"
        assert design["line"][7]["from"] == "engine pump"

    ran = asked(tmp_path, "header", mistaken, "check", "--all")
    assert isinstance(ran.exception, SystemExit), ran.exception


def test_found_once_a_vent_line_from_one_opening_to_another(tmp_path: Path) -> None:
    """A line that joins two ends overboard leads to no tank: what goes out by it was asked all the same."""

    def change(design: dict[str, Any]) -> None:
        overboard = next(one for one in design["component"] if one["kind"] == "overboard")
        design["component"].append({**overboard, "name": "beside", "position": ["600 mm", "900 mm", "900 mm"]})
        design["line"].append(
            {"name": "open", "kind": "vent", "from": overboard["name"], "to": "beside", "bore": "8 mm"}
        )

    ran = asked(tmp_path, "selector", change, "check", "--all")
    assert isinstance(ran.exception, SystemExit), ran.exception


def test_found_once_a_stick_that_lies_level_is_not_read_in_a_fill_test(tmp_path: Path) -> None:
    def turned(design: Any) -> None:
        design["tank"][0]["axes"] = "aft, up, left"

    fault = asked(
        tmp_path, "gravity", turned, "filltest", "--tank", "main", "--sheet", str(tmp_path / "s.csv")
    ).exception
    assert isinstance(fault, FuelsysError)
    assert str(fault).startswith(
        "bench.toml: tank main.dipstick: at parked (pitch 0.0°, roll 0.0°) the stick's top is not above"
    )


def test_a_step_larger_than_the_tank_or_a_stick_of_a_hair_leave_no_graduation_and_say_so(tmp_path: Path) -> None:
    def coarse(design: Any) -> None:
        design["tank"][0]["dipstick"]["step"] = "100 L"

    def short(design: Any) -> None:
        design["tank"][0]["dipstick"]["bottom"][2] = "199.999 mm"

    for change in (coarse, short):
        for command in ("dipstick", "check"):
            ran = asked(tmp_path, "gravity", change, command)
            assert ran.exception is None or isinstance(ran.exception, SystemExit), ran.exception
            assert "no graduation" in ran.output


def test_ten_seconds_of_spoilt_designs() -> None:
    count, told = faults(iter(range(1 << 20, 1 << 62)), 10.0)
    assert told == []
    assert count > 5


def test_a_seed_always_gives_the_same_design(tmp_path: Path) -> None:
    assert spoilt(7) == spoilt(7)
    assert len({sound.text_of(spoilt(seed)[0]) for seed in range(50)}) > 40
    sound.write_meshes(tmp_path)
    assert ask(sound.design_of("header"), ["check", NAME], tmp_path, 600.0) == ""
