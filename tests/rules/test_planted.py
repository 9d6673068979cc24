"""Faults that a builder makes, each planted in a whole design: the rule that finds it, where, and its silence on the twin."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import planted_designs as made
import pytest
import trimesh
from planted_designs import Hopper, Wing, at, line, outlet, part, port, shutting

from fuelsys.load.designs.door import load_design
from fuelsys.model.found.findings import Finding, Outcome
from fuelsys.report.shown import Shown
from fuelsys.report.tables.flow import VACUUM_PA, flows
from fuelsys.review import findings, study

Steps = tuple[Any, ...]  # keys, and names in lists, down to what is set; None takes away, "+" adds
L, T, C = "line", "tank", "component"
MET = (Outcome.FAIL, Outcome.CAUTION)


@dataclass(frozen=True)
class Planted:
    """A design, what of its making or of its tables the fault changes, and the rule and the place that must find it."""

    fault: str
    build: Callable[..., tuple[made.Table, made.Table]]
    rule: str
    where: str
    edits: Callable[[Any], list[Steps]] = lambda shapes: []  # of the shapes
    sound: dict[str, Any] = field(default_factory=dict)
    bad: dict[str, Any] = field(default_factory=dict)
    outcome: Outcome = Outcome.FAIL


def to_left(shapes: made.Table) -> list[Steps]:
    lines = [(L, "engine to selector", "to", "left.return"), (L, "selector to left.return", None)]
    rest = [(L, "selector to right.return", None), (T, "right", "return", [])]
    return [(C, "selector", "switches_return", False), *lines, *rest]


def to_upper(shapes: made.Table) -> list[Steps]:
    back = [port("return", shapes["upper"].at(0.1, 60, 1, -12))]
    moved = (L, "engine to main.return", "to", "upper.return")
    return [(T, "upper", "return", back), (T, "main", "return", None), moved]


def straight_down(shapes: made.Table) -> list[Steps]:
    """The left tip's vent alone, falling from its opening."""
    gone = [(L, "left.inboard to left tee", None), (L, "left tee to left vent end", None), (C, "left tee", None)]
    gone += [(L, "right.inboard to right tee", None), (T, "left", "vent", "inboard", None)]
    mine = (L, "left.vent to left tee")
    led = [(*mine, "to", "left vent end"), (*mine, "path", None), (*mine, "bend_radius", None)]
    return [*gone, *led, (C, "left vent end", "position", at(1100, -1150, 1600))]


def two_outlets(shapes: made.Table) -> list[Steps]:
    wing = shapes["left"]
    own = [(T, "left", "outlet", "+", outlet(wing.at(0.08, 0.05, 0, 2), "front"))]
    own.append((T, "right", "outlet", [outlet(at(1425, 675, wing.sz - 5))]))
    lines = [(L, "+", line("left.front", "left tee")), (L, "+", line("left tee", "selector"))]
    tee = (C, "+", part("left tee", "tee", 1200, -500, 300))
    return [*own, tee, (L, "left.outlet to selector", "to", "left tee"), *lines]


def valve_in_return(shapes: made.Table) -> list[Steps]:
    valve = (C, "+", shutting("return valve", "valve", 500, 0, 600))
    led = (L, "engine to main.return", "to", "return valve")
    return [valve, led, (L, "+", line("return valve", "main.return", 8, "return"))]


def wide_right(shapes: made.Table) -> list[Steps]:
    place = [one.replace("-", "") for one in shapes["left"].at(0.15, 0.85, 1, -24)]
    return [
        (T, "right", "filler", {"position": place, "bore": "80 mm", "bonded": True, "placard": made.PLACARDS["mogas"]})
    ]


def both_checks(kind: str, *names: str) -> Callable[[Any], list[Steps]]:
    return lambda shapes: [(C, f"{name} check", "kind", kind) for name in names]


def one(*steps: Any) -> Callable[[Any], list[Steps]]:
    """One edit, whose value may be made of the shapes."""
    return lambda shapes: [(*steps[:-1], steps[-1](shapes) if callable(steps[-1]) else steps[-1])]


THIN_RIGHT = [
    (L, "right.outlet to right check", "bore", "3.7 mm"),
    (L, "right check to header.from right", "bore", "3.7 mm"),
]
HUMP = [at(1330, -560, 1380), at(1300, -500, 1450)]
STEEP = {"descent": -8, "slip": 6.5, "lamp": 100}
WEAK = [["0 L/h", "20 kPa"], ["12 L/h", "8 kPa"], ["24 L/h", "0 kPa"]]
CAUTION = Outcome.CAUTION

ALL = [
    Planted(
        "thin line from one wing",
        made.gravity,
        "feed-flow-too-small",
        "left or right to engine",
        one(L, "right.outlet to selector", "bore", "4.4 mm"),
    ),
    Planted(
        "return goes left whatever feeds",
        made.low,
        "return-does-not-follow-selector",
        "selector",
        to_left,
        {"returns": 60},
    ),
    Planted("minutes without what goes back elsewhere", made.diesel, "warning-late-by-return", "main switch", to_upper),
    Planted(
        "header starves once one wing is dry",
        made.headed,
        "tank-not-kept-full",
        "right to header.from right",
        lambda s: THIN_RIGHT,
    ),
    Planted(
        "line to the header over a door frame",
        made.headed,
        "feed-line-high-point",
        "left.outlet to header.from left",
        one(L, "left.outlet to left check", "path", HUMP),
        outcome=CAUTION,
    ),
    Planted(
        "pump on both tanks",
        made.low,
        "pump-draws-from-two-tanks",
        "boost",
        one(C, "selector", "both", True),
    ),
    Planted(
        "air through a dry tank's line",
        made.low,
        "empty-tank-lets-air-in",
        "left.outlet while right feeds boost",
        lambda s: [(C, "selector", "both", True), (C, "selector", "position", at(800, 0, 300))],
    ),
    Planted(
        "vent overtopped in a slip with a descent",
        made.flat,
        "vent-spills-in-flight",
        "left",
        straight_down,
        {"slip": 6.5},
        outcome=CAUTION,
    ),
    Planted(
        "lamp that filling does not put out",
        made.headed,
        "warning-always-on",
        "header switch",
        one(T, "header", "switch", "low level", "differential", "45 mm"),
    ),
    Planted(
        "switch in a puddle",
        made.low,
        "warning-never-trips",
        "left switch",
        one(T, "left", "switch", "low level", "mark", lambda s: s["left"].at(0.04, 0.04, 0, 5)),
        {"wing": lambda: Wing(z=330, fall=4), "lamp": 82},
    ),
    Planted(
        "airspaces apart with BOTH",
        made.both,
        "airspaces-not-connected",
        "left, right",
        lambda s: [(L, "left.air to right.air", None), (T, "left", "vent", "air", None)],
    ),
    Planted(
        "vent at the low end on the ground",
        made.gravity,
        "vent-below-full-level",
        "left.vent",
        one(T, "left", "vent", "vent", "position", lambda s: s["left"].at(0.97, 0.98, 1, -1)),
        {"ground": 12},
    ),
    Planted(
        "fuel behind ribs",
        made.gravity,
        "unusable-large",
        "left",
        bad={"wing": lambda: Wing(notch=0)},
    ),
    Planted(
        "descent and slip together",
        made.gravity,
        "unusable-at-combined-attitudes",
        "left",
        sound={"wing": lambda: Wing(fall=11, dihedral=9), **STEEP},
        bad={"wing": lambda: Wing(fall=6, dihedral=5.5)},
        outcome=CAUTION,
    ),
    Planted(
        "outlet at the front for the climb",
        made.low,
        "unusable-large",
        "left",
        bad={"wing": lambda: Wing(z=330, forward=True)},
    ),
    Planted(
        "drain away from the sump",
        made.gravity,
        "water-left-behind",
        "left",
        one(T, "left", "drain", "drain", "position", lambda s: s["left"].at(0.05, 0.05, 0)),
        {"ground": 12},
    ),
    Planted(
        "filled to the brim",
        made.nose,
        "expansion-space-small",
        "main",
        one(T, "main", "filler", "position", lambda s: s["main"].at(0.04, 0, 1, -1)),
        {"clear": False, "lip": -30},
    ),
    Planted(
        "pump high and far",
        made.low,
        "fuel-boils-in-line",
        "left or right to boost",
        sound={"kind": "mogas", "ceiling": "6000 ft"},
        bad={"pump_at": (100, 0, 700), "suction": 6},
    ),
    Planted(
        "two pumps on one battery",
        made.low,
        "pump-missing",
        "left.outlet to engine",
        one(C, "engine pump", "driven", "electric"),
    ),
    Planted(
        "two valves into one header",
        made.headed,
        "two-valves-into-one-inlet",
        "left and right",
        both_checks("valve", "left", "right"),
        outcome=CAUTION,
    ),
    Planted(
        "return low in the header",
        made.headed,
        "return-not-to-top",
        "engine to header.return",
        one(T, "header", "return", "return", "position", at(930, 0, 395)),
    ),
    Planted(
        "two outlets of one tank on one pump",
        made.low,
        "empty-tank-lets-air-in",
        "left.front while left.outlet feeds boost",
        two_outlets,
    ),
    Planted(
        "transfer pump weaker than the engine",
        made.transfer,
        "tank-not-kept-full",
        "aux to main.inlet by transfer pump",
        one(C, "transfer pump", "curve", WEAK),
    ),
    Planted(
        "transfer pump that nothing stops",
        made.transfer,
        "transfer-overfills-tank",
        "aux to main",
        one(C, "transfer pump", "stops_when_full", False),
    ),
    Planted(
        "pumps side by side without check valves",
        made.parallel,
        "feed-flow-too-small",
        "left to engine by engine pump alone",
        both_checks("tee", "boost", "engine pump"),
    ),
    Planted(
        "uphill in the climb",
        made.nose,
        "feed-not-downhill",
        "main.outlet to engine",
        bad={"hopper": lambda: Hopper(x=1500, z=720)},
    ),
    Planted(
        "valve in the return",
        made.diesel,
        "return-into-shut-tank",
        "return of engine",
        valve_in_return,
    ),
    Planted(
        "wide filler on one side",
        made.gravity,
        "filler-wrong-size",
        "right.filler",
        wide_right,
        {"kind": "mogas", "ceiling": "6000 ft"},
    ),
]


def edited(design: Any, *path: Any) -> None:
    *keys, last, value = path
    for key in keys:
        design = design[key] if isinstance(design, dict) else next(one for one in design if one["name"] == key)
    if last == "+":
        design.append(value)
    elif value is None and isinstance(design, list):
        design.remove(next(one for one in design if one["name"] == last))
    elif value is None:
        del design[last]
    else:
        design[last] = value


def found(case: Planted, folder: Path, *, fault: bool) -> Iterator[Finding]:
    """What is found in a design, with its fault or without."""
    arguments = case.sound | (case.bad if fault else {})
    design, shapes = case.build(**{name: one() if callable(one) else one for name, one in arguments.items()})
    for steps in case.edits(shapes) if fault else []:
        edited(design, *steps)
    return met_in(design, shapes, folder)


def met_in(design: made.Table, shapes: made.Table, folder: Path) -> Iterator[Finding]:
    """What is found in a design, with its shapes as meshes beside it."""
    for name, shape in shapes.items():
        mesh = shape.solid().to_mesh()
        trimesh.Trimesh(mesh.vert_properties[:, :3], mesh.tri_verts, process=False).export(folder / f"{name}.ply")
    file = folder / "design.toml"
    file.write_text(made.toml(design), encoding="utf-8")
    return (one for one in findings(study(load_design(file))) if one.outcome in MET)


@pytest.mark.parametrize("case", ALL, ids=[case.fault for case in ALL])
def test_a_planted_fault_is_found_where_it_is(case: Planted, tmp_path: Path) -> None:
    told = [(one.outcome, one.rule.name, str(one.where)) for one in found(case, tmp_path, fault=True)]
    assert any(o == case.outcome and r == case.rule and w.startswith(case.where) for o, r, w in told), told


TWINS: dict[str, list[Planted]] = {}  # cases whose sound twin is one design
for _case in ALL:
    TWINS.setdefault(f"{_case.build.__name__} {_case.sound}", []).append(_case)


@pytest.mark.parametrize(
    "cases", TWINS.values(), ids=["; ".join(one.fault for one in cases) for cases in TWINS.values()]
)
def test_the_sound_twin_fails_nothing_and_has_none_of_that_rule(cases: list[Planted], tmp_path: Path) -> None:
    told = list(found(cases[0], tmp_path, fault=False))
    assert not [(one.rule.name, one.where, one.evidence) for one in told if one.outcome == Outcome.FAIL]
    assert not {case.rule for case in cases} & {one.rule.name for one in told}


def test_no_pressure_below_a_vacuum_is_told_of_a_flow_that_cannot_come(tmp_path: Path) -> None:
    case = next(case for case in ALL if case.build is made.transfer)
    list(found(case, tmp_path, fault=True))
    weak = study(load_design(tmp_path / "design.toml")).flows
    assert any(one.pressure_pa is not None and one.pressure_pa < VACUUM_PA for fed in weak.to for one in fed.at)
    rows = [row for table in flows(weak, Shown()) for row in table.rows]
    assert not [cell for row in rows for cell in row if isinstance(cell, float) and cell < VACUUM_PA]
