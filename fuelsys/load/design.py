"""The design door: a TOML file and its meshes become a layout, or every fault of the file is told at once."""

from __future__ import annotations

import tomllib
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import numpy as np
from pydantic import ValidationError
from pydantic_core import ErrorDetails

from fuelsys import units
from fuelsys.errors import DesignError, FuelsysError
from fuelsys.kernels.compiled import Floats
from fuelsys.load import axes, crosscheck
from fuelsys.load.mesh import load_cavity
from fuelsys.model.cavity import Spot
from fuelsys.model.design import Design, Line, Tank
from fuelsys.model.layout import FittedTank, Layout, PlacedLine

# A fitting may be stated this far outside the faceted wall and is then taken to sit on it; beyond, it is a fault.
# Common practice, no source: a position is given to the millimetre, and facets lie a fraction of that inside the wall.
WALL_TOLERANCE_M = 2e-3

_LIMIT_WORDS = {
    "greater_than": "more than {gt}",
    "greater_than_equal": "at least {ge}",
    "less_than": "less than {lt}",
    "less_than_equal": "at most {le}",
}


def load_design(path: Path) -> Layout:
    """Read a design file and its meshes; DesignError with every fault that the file has."""
    file = path.name
    tables = _tables(path)
    try:
        design = Design.model_validate(tables)
    except ValidationError as invalid:
        raise DesignError([_explained(file, fault) for fault in invalid.errors()]) from invalid
    faults = list(crosscheck.faults(design, file))
    tanks = []
    turn = None
    try:
        turn = axes.rotation(design.aircraft.axes, file=file, field="aircraft.axes")
    except FuelsysError as fault:
        faults.append(fault)
    for tank in design.tank:
        try:
            fitted = _fit(tank, path, np.eye(3) if turn is None else turn)
        except FuelsysError as fault:
            faults.append(fault)
            continue
        faults.extend(_outside(fitted, file))
        tanks.append(fitted)
    if faults or turn is None:
        raise DesignError(faults)
    lines = tuple(_placed(line, design, tanks, turn) for line in design.line)
    return Layout(file, design, tuple(tanks), lines, turn)


def _tables(path: Path) -> dict[str, Any]:
    file = path.name
    if not path.is_file():
        found = "this is not a file" if path.exists() else "there is no such file"
        raise FuelsysError(
            found,
            mend=f"Give a design file; looked for {path}. `fuelsys new MESH` writes one to start from.",
            file=file,
        )
    try:
        text = path.read_bytes().decode("utf-8")
    except OSError as fault:
        raise FuelsysError(
            f"the file cannot be read ({fault.strerror})", mend="Check its permissions.", file=file
        ) from fault
    except UnicodeDecodeError as fault:
        raise FuelsysError("this is not UTF-8 text", mend="Save the design file as UTF-8 text.", file=file) from fault
    if not text.strip():
        raise FuelsysError(
            "the file is empty", mend="`fuelsys new MESH` writes a design file to start from.", file=file
        )
    try:
        return tomllib.loads(text)
    except tomllib.TOMLDecodeError as fault:
        raise FuelsysError(
            f"this is not TOML: {fault}", mend="Mend that place; text with units stands in quotes.", file=file
        ) from fault


def _field(location: tuple[int | str, ...]) -> str:
    """tank[1].outlet[2].bore: counted from one, as a person counts."""
    text = ""
    for part in location:
        text += f"[{part + 1}]" if isinstance(part, int) else f".{part}" if text else part
    return text


def _explained(file: str, fault: ErrorDetails) -> FuelsysError:
    """One fault of a field in our words."""
    kind, field, given = fault["type"], _field(fault["loc"]), fault["input"]
    context = fault.get("ctx", {})
    if kind == "quantity":
        found, mend = str(context["found"]), str(context["mend"])
    elif kind == "missing":
        found, mend = "missing", "Add it; `fuelsys new MESH` shows every field with an example."
    elif kind == "extra_forbidden":
        found, mend = "no such field", "Check its spelling and the table that it stands in, or take it out."
    elif kind in _LIMIT_WORDS:
        limit = _LIMIT_WORDS[kind].format(**{k: f"{v:g}" for k, v in context.items() if isinstance(v, int | float)})
        found = f"{given} is out of range" if isinstance(given, str) else f"{given!r} is out of range"
        mend = f"Give a value that is, in SI units, {limit}; was it typed in another unit?"
    elif kind == "literal_error":
        found, mend = f"found {given!r}", f"Use one of {context['expected']}."
    elif kind in ("string_too_short", "too_short"):
        found, mend = "empty", "Fill it in."
    elif kind == "string_pattern_mismatch":
        found, mend = f'found "{given}"', "Give a name without a dot that does not begin with a blank."
    else:
        found, mend = f"found {_short(given)}", f"{fault['msg'].rstrip('.')}."
    return FuelsysError(found, mend=mend, file=file, field=field)


def _short(value: object) -> str:
    text = repr(value)
    return text if len(text) <= 60 else f"{text[:57]}..."


def _fit(tank: Tank, path: Path, aircraft_turn: Floats) -> FittedTank:
    origin_m = np.array(tank.position_m) @ aircraft_turn
    mesh_path = path.parent / tank.mesh
    if tank.unit not in units.UNITS["length"]:
        raise FuelsysError(
            f'found the unit "{tank.unit}"',
            mend=f"Use one of {', '.join(units.UNITS['length'])}.",
            file=path.name,
            field=f"tank {tank.name}.unit",
        )
    turn = axes.rotation(tank.axes, file=path.name, field=f"tank {tank.name}.axes")
    cavity = load_cavity(mesh_path, tank.unit, tank.axes, origin_m, tank.name)
    spots = {}
    for key, point_m in _fittings(tank):
        spots[key] = cavity.spot(key, np.array(point_m) @ turn + origin_m)
    return FittedTank(tank, cavity, turn, origin_m, spots)


def _fittings(tank: Tank) -> Iterator[tuple[str, tuple[float, float, float]]]:
    for port in tank.ports:
        yield port.name, port.position_m
    for switch in tank.switch:
        yield f"switch {switch.name}", switch.mark_m
    if tank.dipstick:
        yield "dipstick bottom", tank.dipstick.bottom_m


def _outside(tank: FittedTank, file: str) -> Iterator[FuelsysError]:
    for spot in tank.spots.values():
        if spot.off_m > WALL_TOLERANCE_M:
            yield _outside_fault(tank, spot, file)


def _outside_fault(tank: FittedTank, spot: Spot, file: str) -> FuelsysError:
    scale = units.scale(tank.design.unit)
    low, high = (
        (tank.cavity.vertices_m + tank.cavity.centre_m).min(axis=0),
        (tank.cavity.vertices_m + tank.cavity.centre_m).max(axis=0),
    )
    ends = np.sort(np.array([tank.mesh_m(low), tank.mesh_m(high)]), axis=0) / scale
    span = ", ".join(f"{axis} {a:.5g} to {b:.5g}" for axis, a, b in zip("xyz", *ends, strict=True))
    return FuelsysError(
        f"its place lies {spot.off_m * 1e3:.4g} mm outside the cavity",
        mend=f"Give it in the mesh's own axes; {tank.design.mesh} spans {span} {tank.design.unit}.",
        file=file,
        field=f"tank {tank.name}.{spot.name}",
    )


def _placed(line: Line, design: Design, tanks: list[FittedTank], turn: Floats) -> PlacedLine:
    ends = [_end_m(end, design, tanks, turn) for end in (line.from_port, line.to_port)]
    bends = [np.array(point) @ turn for point in line.path_m]
    drains = np.array([np.array(point) @ turn for point in line.drains_m]).reshape(-1, 3)
    return PlacedLine(line, np.array([ends[0], *bends, ends[1]]), drains)


def _end_m(end: str, design: Design, tanks: list[FittedTank], turn: Floats) -> Floats:
    if "." in end:
        tank_name, port_name = end.split(".", 1)
        tank = next(t for t in tanks if t.name == tank_name)
        port = next(p for p in tank.design.ports if p.name == port_name)
        return tank.body_m(port.position_m)
    component = next(c for c in design.component if c.name == end)
    placed: Floats = np.array(component.position_m) @ turn
    return placed
