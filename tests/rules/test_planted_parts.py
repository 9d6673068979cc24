"""Faults of a single part, each planted in a whole design; each design without them fails nothing and has none of their rules."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import planted_designs as made
import pytest
from planted_designs import at, line, overboard, part, shutting
from test_planted import Steps, edited, met_in

from fuelsys.model.found.findings import Finding, Outcome

L, T, C = "line", "tank", "component"
FAIL = Outcome.FAIL
LEFT, MAIN = (T, "left"), (T, "main")
LAMP = (*LEFT, "switch", "low level")


@dataclass(frozen=True)
class Fault:
    """What is planted in a design, and the rule and the place that must find it."""

    fault: str
    build: Callable[[], tuple[made.Table, made.Table]]
    rule: str
    where: str
    edits: tuple[Steps, ...]
    outcome: Outcome = FAIL


def low() -> tuple[made.Table, made.Table]:
    """A low wing whose engine states how much its pumps may press with: 45 and 45 kPa, and the head of full tanks."""
    design, shapes = made.low()
    edited(design, C, "engine", "most_inlet_pressure", "110 kPa")
    return design, shapes


def nose() -> tuple[made.Table, made.Table]:
    """A tank before the cabin that bears 9 g forward: 745 x 9 x 9.80665 x 0.45 = 29.6 kPa = 4.3 psi, and 5.7 g down, less."""
    design, shapes = made.nose()
    edited(design, *MAIN, "bears", "4.5 psi")
    return design, shapes


def broken(name: str, into: made.Table) -> tuple[Steps, ...]:
    """A component into the vent line that ends at an overboard end."""
    run = (L, f"{name}.vent to {name} vent end")
    onward = line(into["name"], f"{name} vent end", 8, "vent")
    return (C, "+", into), (*run, "to", into["name"]), (L, "+", onward)


WEAK_STRAINER = {"mesh": "12 1/in", "clear_area": "150 mm2", "diameter": "22 mm"}
BOOSTED = [["0 L/h", "160 kPa"], ["160 L/h", "120 kPa"]]
TURNED = (
    *((L, "left.outlet to left check", key, end) for key, end in (("from", "left check"), ("to", "left.outlet"))),
    *((L, "left check to header.from left", k, end) for k, end in (("from", "header.from left"), ("to", "left check"))),
)
ALL = [
    Fault(
        "valve in the only vent line",
        made.gravity,
        "vent-can-be-shut",
        "left",
        broken("left", shutting("vent valve", "valve", 1100, -1500, 1960)),
    ),
    Fault(
        "check valve that lets air out only",
        made.gravity,
        "vent-can-be-shut",
        "right",
        broken("right", part("vent check", "check valve", 1100, 1500, 1960)),
    ),
    Fault(
        "one end for all vents",
        made.gravity,
        "air-hangs-on-one-opening",
        "left vent end",
        (
            (L, "right.vent to right vent end", "to", "left vent end"),
            (C, "right vent end", None),
            (C, "left vent end", "kept_clear", None),
        ),
    ),
    Fault(
        "header vented by itself",
        made.headed,
        "airspaces-not-connected",
        "left, right, header",
        (
            (C, "+", overboard("header mast", 1000, 200, 1500)),
            (L, "header.vent to air tee", "path", [at(900, 20, 2200), at(950, 200, 2200)]),
            (L, "header.vent to air tee", "bend_radius", "30 mm"),
            (L, "header.vent to air tee", "to", "header mast"),
        ),
    ),
    Fault("check valve turned round", made.headed, "port-not-connected", "left.outlet", TURNED),
    Fault(
        "probe that ends high over the sump",
        low,
        "gauge-blind",
        "left gauge probe",
        ((*LEFT, "gauge", "probe", "bottom", at(1425, -675, made.Wing(z=330).sz + 85)),),
    ),
    Fault(
        "strainer of twice the bore's area",
        low,
        "strainer-area-small",
        "left.outlet",
        ((*LEFT, "outlet", "outlet", "strainer", WEAK_STRAINER),),
    ),
    Fault("lamp whose mark may be 20 mm low", low, "warning-late", "left switch", ((*LAMP, "tolerance", "20 mm"),)),
    Fault("lamp that lights 4 min late", low, "warning-late", "left switch", ((*LAMP, "delay", "4 min"),)),
    Fault("lamp that works to 10 degrees", low, "warning-never-trips", "left switch", ((*LAMP, "max_tilt", "10 deg"),)),
    Fault(
        "pumps that press too much together",
        low,
        "inlet-pressure-too-high",
        "engine",
        ((C, "boost", "curve", BOOSTED),),
    ),
    Fault("tank tested with 3.5 psi", nose, "tank-bears-too-little", "main", ((*MAIN, "bears", "3.5 psi"),)),
]


def met(
    build: Callable[[], tuple[made.Table, made.Table]], folder: Path, edits: tuple[Steps, ...] = ()
) -> list[Finding]:
    """What is found in a design so edited."""
    design, shapes = build()
    for steps in edits:
        edited(design, *steps)
    return list(met_in(design, shapes, folder))


@pytest.mark.parametrize("case", ALL, ids=[case.fault for case in ALL])
def test_a_part_at_fault_is_found_where_it_is(case: Fault, tmp_path: Path) -> None:
    told = [(one.outcome, one.rule.name, str(one.where)) for one in met(case.build, tmp_path, case.edits)]
    assert any(o == case.outcome and r == case.rule and w.startswith(case.where) for o, r, w in told), told


@pytest.mark.parametrize("build", dict.fromkeys(case.build for case in ALL))
def test_without_them_nothing_fails_and_none_of_the_rules_is_met(build: Any, tmp_path: Path) -> None:
    told = met(build, tmp_path)
    assert not [(one.rule.name, one.where, one.evidence) for one in told if one.outcome is FAIL]
    assert not {one.rule.name for one in told} & {case.rule for case in ALL if case.build is build}
