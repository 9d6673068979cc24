"""The design door: a TOML file and its meshes become a layout, or every fault of the file is told at once."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import numpy as np

from fuelsys import units
from fuelsys.arrays import Floats
from fuelsys.errors import FuelsysError, MeshError, NoFileError
from fuelsys.load import axes
from fuelsys.load.designs import crosscheck, inputs, mirror
from fuelsys.load.designs.elsewhere import once, one_cause, spans
from fuelsys.load.designs.faults import Fault, Place, design_error
from fuelsys.load.designs.floats import rides
from fuelsys.load.designs.leading import leading_on
from fuelsys.load.designs.measured import with_sheet
from fuelsys.load.designs.stated import check_named, read_design
from fuelsys.load.formats import files
from fuelsys.load.formats.raw import Choice
from fuelsys.load.meshes.door import load_cavity
from fuelsys.load.meshes.interior import Body, fit_out, read_body
from fuelsys.model.built.cavity import Cavity, Spot
from fuelsys.model.built.ends import PlacedLine
from fuelsys.model.built.layout import FittedTank, Layout
from fuelsys.model.stated.design import Design, Fuel, Line, Tank
from fuelsys.model.stated.gauges import Arm

# A fitting may be stated this far outside the faceted wall and is then taken to sit on it; beyond, it is a fault.
# Common practice, no source: a position is given to the millimetre, and facets lie a fraction of that inside the wall.
WALL_TOLERANCE_M = 2e-3
_FURTHEST_M = WALL_TOLERANCE_M + 1e-9  # what rounding makes of it


def load_design(path: Path | str, *, as_drawn: bool = False) -> Layout:
    """Read a design file and its meshes; DesignError with all faults of its fields, then all that lie between them.

    as_drawn: fill tests that it names are not read.
    """
    path = Path(path)
    design, tables, file = read_design(path)
    read = inputs.digests(path, design)
    faults = list(crosscheck.faults(design))
    turn = _turn(design.aircraft.axes, ("aircraft", "axes"), faults)
    tanks = [_fit((i, tank), design.fuel, path.parent, turn, faults) for i, tank in enumerate(design.tank)]
    if faults:
        raise design_error(once(faults, design), tables, file)
    fitted = tuple(tank for tank in tanks if tank)
    if not as_drawn:
        fitted = tuple(with_sheet(i, tank, path.parent, faults) for i, tank in enumerate(fitted))
        if faults:
            raise design_error(faults, tables, file)
    design, notes = leading_on(design)
    places = _end_places_m(design, fitted, turn)
    lines = tuple(_placed(line, places, turn) for line in design.line)
    return Layout(file, design, fitted, lines, turn, read, notes).with_ways()


def chosen(layout: Layout, only: str | None) -> tuple[FittedTank, ...]:
    """The tank of a name, or all; QuestionError where there is none of that name."""
    check_named([tank.name for tank in layout.tanks], only, layout.file)
    return tuple(tank for tank in layout.tanks if only in (None, tank.name))


def _turn(words: str, place: Place, faults: list[Fault]) -> Floats:
    """The rotation that axes' words stand for; where they stand for none, a fault more and no turn."""
    try:
        return axes.rotation(words)
    except FuelsysError as fault:
        faults.append(Fault(place, fault.found, fault.mend))
        return np.eye(3)


def _fit(
    numbered: tuple[int, Tank], fuel: Fuel, folder: Path, aircraft_turn: Floats, faults: list[Fault]
) -> FittedTank | None:
    """A tank with its cavity and its fittings' spots; None, and faults more, where it has none."""
    tank, place = numbered[1], ("tank", numbered[0])
    before = len(faults)
    turn = _turn(tank.axes, (*place, "axes"), faults)
    origin_m = np.array(tank.position_m) @ aircraft_turn
    try:
        choice = Choice(tank.body or "", tank.tolerance_m, _mirror(tank))
        axes_text = tank.axes if len(faults) == before else "aft, right, up"
        cavity = load_cavity(folder / tank.mesh, tank.unit, axes_text, origin_m, tank.name, choice)
    except MeshError as fault:
        faults.append(_mesh_fault(fault, place, folder / tank.mesh))
        return None
    bodies = _bodies(tank, place, folder, (turn, origin_m), faults)
    if len(faults) > before:
        return None
    try:
        interior = fit_out(cavity, tank, bodies, lambda at_m: _in_mesh(tank, (at_m - origin_m) @ turn.T))
    except MeshError as fault:
        keys = (int(key) if key.isdigit() else key for key in fault.field.split("."))
        faults.append(Fault((*place, *keys), fault.found, fault.mend))
        return None
    outer_m = cavity.bounds_m if tank.wall_m else None
    fitted = FittedTank(tank, interior.cavity, turn, origin_m, {}, outer_m=outer_m, rides=rides(tank, fuel))
    floats = {f"switch {switch.name}": switch.own_float for switch in tank.switch}
    places = list(_fittings(tank))
    misplaced = list[Fault]()
    for key, where, point_m in places:
        at_m = fitted.body_m(point_m) + np.array([0.0, 0.0, fitted.rise_m(key)])
        fitted.spots[key] = spot = interior.spot(key, at_m, floats.get(key))
        within = cavity.spot(key, at_m).off_m <= _FURTHEST_M
        misplaced += _misplaced(fitted, spot, (*place, *where), at_m, interior.around(at_m), in_wall=within)
    outside = sum(spot.off_m > _FURTHEST_M for spot in fitted.spots.values())
    points_m = np.array([point_m for _, _, point_m in places]).reshape(-1, 3)
    cause = one_cause(fitted, cavity, place, points_m, outside, aircraft_turn, _FURTHEST_M)
    faults += [cause] if cause else misplaced
    opened = interior.opened
    if opened is None or len(faults) > before:
        return fitted
    return replace(fitted, opened=replace(fitted, cavity=opened, spots=_spots_in(opened, fitted)))


def _mirror(tank: Tank) -> int | None:
    """The mesh's axis along which it is turned round, for a tank that is the mirror image of another."""
    return mirror.lateral(tank.axes) if tank.mirror_of else None


def _spots_in(cavity: Cavity, tank: FittedTank) -> dict[str, Spot]:
    """A tank's spots in another cavity of the same place."""
    moved_m = tank.cavity.centre_m - cavity.centre_m
    found = {}
    for name, spot in tank.spots.items():
        at_m = spot.point_m + tank.cavity.centre_m
        found[name] = replace(cavity.spot(name, at_m), point_m=spot.point_m + moved_m)
    return found


def _bodies(
    tank: Tank, place: Place, folder: Path, axes_m: tuple[Floats, Floats], faults: list[Fault]
) -> tuple[Body, ...]:
    """The bodies inside a tank, in body axes; faults more for those that cannot be read."""
    read = []
    for i, inside in enumerate(tank.inside):
        try:
            read.append(read_body(folder / inside.mesh, inside, inside.unit or tank.unit, *axes_m, _mirror(tank)))
        except MeshError as fault:
            faults.append(_mesh_fault(fault, (*place, "inside", i), folder / inside.mesh))
    return tuple(read)


def _in_mesh(tank: Tank, point_m: Floats) -> str:
    """A place in the axes and the unit of a tank's mesh, as messages show it."""
    x, y, z = (round(c, 6) + 0.0 for c in point_m / units.scale(tank.unit))
    return f"({x:.6g}, {y:.6g}, {z:.6g}) {tank.unit}"


def _mesh_fault(fault: MeshError, place: Place, mesh: Path) -> Fault:
    """A fault of the mesh file itself, or of what the design says of it."""
    if fault.field:
        return Fault((*place, fault.field), fault.found, fault.mend)
    if isinstance(fault, NoFileError):
        return Fault(
            (*place, "mesh"),
            f'there is no file "{files.label(mesh)}"',
            "Give its path from the design file's folder.",
        )
    return Fault((*place, "mesh"), fault.found, fault.mend, mesh=fault.file)


def _fittings(tank: Tank) -> Iterator[tuple[str, Place, tuple[float, float, float]]]:
    """What sits in a tank: its name among the spots, where its place stands in the tank's table, and the place."""
    for key, fittings in tank.fittings.items():
        for i, one in enumerate(fittings):
            yield one.name, (key, "position") if key == "filler" else (key, i, "position"), one.position_m
    for i, switch in enumerate(tank.switch):
        yield f"switch {switch.name}", ("switch", i, "mark"), switch.mark_m
    if tank.dipstick:
        yield "dipstick bottom", ("dipstick", "bottom"), tank.dipstick.bottom_m
        for i, stick in enumerate(tank.dipstick.also):
            yield f"dipstick {i + 2} bottom", ("dipstick", "also", i, "bottom"), stick.bottom_m
    for i, gauge in enumerate(tank.gauge):
        ends = (
            {"empty": gauge.empty_m, "full": gauge.full_m}
            if isinstance(gauge, Arm)
            else {"bottom": gauge.bottom_m, "top": gauge.top_m}
        )
        for end, point_m in ends.items():
            yield f"gauge {gauge.name} {end}", ("gauge", i, end), point_m


def _misplaced(
    tank: FittedTank, spot: Spot, place: Place, at_m: Floats, around: tuple[str, ...], *, in_wall: bool
) -> Iterator[Fault]:
    """What is wrong with a place that is not in the cavity; in_wall: it lies within the mesh, in what is taken off that."""
    if not spot.off_m:
        return
    file, unit = tank.design.mesh, tank.design.unit
    off = f"this place lies {units.written(spot.off_m, unit, 'length')} outside the cavity"
    if around and spot.off_m > _FURTHEST_M:
        named = " and ".join(f'"{name}"' for name in around)
        own = f" If that is this switch's float, say own_float = {named}." if "switch" in place else ""
        yield Fault(place, f"{off}, in the body {named}", f"Give the place where the fuel is.{own}")
    elif spot.off_m > _FURTHEST_M and in_wall and (tank.design.wall_m or tank.design.coating_m):
        layers = {"wall": tank.design.wall_m, "coating": tank.design.coating_m}
        what = " and ".join(name for name, thickness_m in layers.items() if thickness_m)
        thick = units.written(sum(layers.values()), unit, "length")
        mend = f"Give the place on the inside, or take {what} out if {file} is the inside already."
        yield Fault(place, f"{off}, in the tank's {what} of {thick}", mend)
    elif spot.off_m > _FURTHEST_M:
        yield Fault(place, off, f"Give it in the mesh's own axes; {spans(tank)}")
    elif tank.cavity.sides(at_m, WALL_TOLERANCE_M) > 1:
        near = units.written(WALL_TOLERANCE_M, unit, "length")
        yield Fault(
            place,
            f"{off}, in metal with fuel on more than one side within {near}: which it serves cannot be told",
            "Give the place in the fuel, on its own side.",
        )


def _placed(line: Line, places_m: dict[str, Floats], turn: Floats) -> PlacedLine:
    bends = [np.array(point) @ turn for point in line.path_m]
    drains = np.array([np.array(point) @ turn for point in line.drains_m]).reshape(-1, 3)
    return PlacedLine(line, np.array([places_m[line.from_port], *bends, places_m[line.to_port]]), drains)


def _end_places_m(design: Design, tanks: tuple[FittedTank, ...], turn: Floats) -> dict[str, Floats]:
    """Where each end of a line lies, as the file names it, in body axes."""
    ports = {f"{tank.name}.{port.name}": tank.body_m(port.position_m) for tank in tanks for port in tank.design.ports}
    return ports | {part.name: np.array(part.position_m) @ turn for part in design.component}
