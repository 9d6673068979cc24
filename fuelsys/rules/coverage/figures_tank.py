"""The figures that one tank must reach on the finished aircraft, computed from its study, as texts with marks."""

from __future__ import annotations

from math import pi

import numpy as np

from fuelsys import units
from fuelsys.model.found.loads import TankForce
from fuelsys.model.found.study import Study, TankStudy
from fuelsys.model.stated.attitude import STANDARD_GRAVITY_M_S2
from fuelsys.rules.tanks.capacity import LEAST_EXPANSION
from fuelsys.rules.tanks.outlet import LEAST_AREA_RATIO
from fuelsys.rules.tanks.sump import HAZARDOUS_SHARE, LEAST_SUMP_M3, LEAST_SUMP_SHARE
from fuelsys.rules.tanks.unusable import LARGE_M3, LARGE_SHARE
from fuelsys.rules.words import area, force, forever, litres, mass, millimetres, pressure, spot

NOT_COMPUTED = "not computed: needs"
SUPPORTED_PA = units.to_si(2.0, "psi", "pressure")  # 14 CFR 23.965(a)(3), before amendment 23-64
CELL_HEADS = 1.5  # MIL-T-5578C 4.6.8


def listed(parts: list[str], nothing: str) -> str:
    """Parts in a row, or what is needed for one."""
    return "; ".join(parts) or f"{NOT_COMPUTED} {nothing}"


def spans(_: Study, tank: TankStudy) -> str:
    """Length, width and height of the cavity along the aircraft's axes."""
    low, high = tank.tank.cavity.bounds_m
    long, wide, tall = (millimetres(float(size)) for size in high - low)
    return f"inside, along the aircraft {long} long, {wide} wide, {tall} high; {litres(tank.capacity.gross_m3)} in all"


def places(_: Study, tank: TankStudy) -> str:
    """Where each fitting is, in the axes of the tank's mesh."""
    parts = [
        f"{one.name} {spot(np.array(one.position_m))}" for some in tank.tank.design.fittings.values() for one in some
    ]
    return listed(parts, "its fittings: none is listed yet")


def marks(_: Study, tank: TankStudy) -> str:
    """Where each switch's mark is, and how much the mark may be off."""
    parts = [
        f"{switch.name} {spot(np.array(switch.mark_m))}"
        + (f" ± {millimetres(switch.tolerance_m)}" if switch.tolerance_m is not None else "")
        for switch in tank.tank.design.switch
    ]
    return "; ".join(parts) or "the design has no switch in this tank"


def strainer_area(_: Study, tank: TankStudy) -> str:
    """Five times the outlet's bore."""
    parts = [
        f"{outlet.name} at least {area(LEAST_AREA_RATIO * pi / 4.0 * outlet.bore_m**2)} clear"
        for outlet in tank.tank.design.outlet
        if outlet.bore_m
    ]
    return listed(parts, "the outlet's bore")


def strainer_width(_: Study, tank: TankStudy) -> str:
    """The outlet's bore."""
    parts = [
        f"{outlet.name} at least {millimetres(outlet.bore_m)}" for outlet in tank.tank.design.outlet if outlet.bore_m
    ]
    return listed(parts, "the outlet's bore")


def sump(_: Study, tank: TankStudy) -> str:
    """What the sump must hold."""
    least_m3 = max(LEAST_SUMP_M3, LEAST_SUMP_SHARE * tank.capacity.gross_m3)
    return f"at least {litres(least_m3)} below the outlets, parked and in level flight"


def water_left(study: Study, tank: TankStudy) -> str:
    """What may stay behind of water, and at which attitude."""
    ground = study.layout.design.normal("ground")
    return f"at {ground.text} at most {litres(HAZARDOUS_SHARE * tank.capacity.gross_m3)} stay (limit chosen here)"


def water_in_flight(study: Study, _: TankStudy) -> str:
    """The attitude of level flight."""
    return f"tank held at {study.layout.design.normal('flight').text}"


def expansion(_: Study, tank: TankStudy) -> str:
    """Two parts in a hundred of the capacity."""
    return f"at least {litres(LEAST_EXPANSION * tank.capacity.gross_m3)} of air stay when it is filled"


def full(study: Study, tank: TankStudy) -> str:
    """Where the surface stands in the full tank."""
    if tank.capacity.filled is None:
        return f"{NOT_COMPUTED} a filler or a vent"
    filled = tank.capacity.filled
    return f"takes {litres(filled.volume_m3)} at {study.layout.design.normal('ground').text}, up to its {filled.limited_by}"


def cap(study: Study, tank: TankStudy) -> str:
    """How deep the filler's cap comes to stand under fuel in flight, the tank full, and the pressure that it must hold."""
    filler, found = tank.tank.design.filler, study.in_flight.groups
    if filler is None:
        return "it has no filler of its own"
    opening = f"{tank.name}.{filler.name}"
    groups = [group for group in found if any(opening == one.opening for at in group.at for one in at.settled.fillers)]
    if not groups:
        return f"{NOT_COMPUTED} vent lines that lead overboard"
    deep_m = max(group.highest(opening) for group in groups)
    if deep_m <= 0.0:
        return "it stands above the fuel at every flight attitude, held until the fuel is at rest"
    head_pa = deep_m * study.layout.design.fuel.density_kg_m3 * STANDARD_GRAVITY_M_S2
    return f"in flight fuel stands up to {millimetres(deep_m)} above it, the tank full: {pressure(head_pa)}"


def unusable(_: Study, tank: TankStudy) -> str:
    """Unusable fuel, and where it is worst."""
    held = tank.capacity.unusable
    if held is None:
        return f"{NOT_COMPUTED} an outlet"
    return f"at most {litres(held.volume_m3)} stay; computed for {held.worst.attitude.text}{forever(held)}"


def zero(study: Study, tank: TankStudy) -> str:
    """What is in the tank when its indicator must read zero."""
    held = tank.capacity.unusable
    if held is None:
        return f"{NOT_COMPUTED} an outlet"
    return f"reads 0 with {litres(held.volume_m3)} in it, held at {study.layout.design.normal('flight').text}{forever(held)}"


def usable(_: Study, tank: TankStudy) -> str:
    """Usable fuel, for the placard."""
    volume_m3 = tank.capacity.usable_m3
    if volume_m3 is None:
        return f"{NOT_COMPUTED} a filler or vent, and an outlet"
    return f"usable {litres(volume_m3)}{': no line can bring its fuel to the engine' if tank.capacity.cut_off else ''}"


def red_arc(_: Study, tank: TankStudy) -> str:
    """From when on the indicator needs a red arc."""
    limit_m3 = max(LARGE_M3, LARGE_SHARE * tank.capacity.gross_m3)
    held = tank.capacity.unusable
    if held is None:
        return f"asked for above {litres(limit_m3)} unusable; {NOT_COMPUTED} an outlet"
    asked = "from zero up" if held.volume_m3 > limit_m3 else "none asked for"
    return f"{asked}: {litres(held.volume_m3)} unusable against {litres(limit_m3)}"


def trips(_: Study, tank: TankStudy) -> str:
    """The quantity at which each switch trips in level flight."""
    parts = [
        f"{switch.name} " + ("never" if at.trip_m3 is None else f"at {litres(at.trip_m3)}")
        for switch in tank.switches
        for at in (switch.normal,)
    ]
    counted = "; counted low by what was measured, a sound switch may trip with more: see `fuelsys filltest`"
    counted = counted if parts and (tank.tank.corrected or tank.tank.as_twin or tank.tank.tripped) else ""
    return ("; ".join(parts) or "the design has no switch in this tank") + counted


def ten_minutes(study: Study, tank: TankStudy) -> str:
    """Ten minutes of fuel on top of the unusable, all that the engine draws coming from this tank."""
    held = tank.capacity.unusable
    if held is None:
        return f"{NOT_COMPUTED} an outlet"
    drawn_m3 = 600.0 * study.layout.design.reserve_flow_m3_s
    known = [switch.outflow.usable_for_m3(600.0) for switch in tank.switches]
    burnt_m3 = max([drawn_m3, *(one for one in known if one is not None)])
    unknown = "; what comes back elsewhere is not stated" if None in known else ""
    unknown += "; with what runs between joined tanks: see the table of joined tanks" if tank.tank.runs_across else ""
    return f"about {litres(burnt_m3 + held.volume_m3)} in the tank: 10 min of {litres(burnt_m3)}, the rest unusable{unknown}"


# Loads and pressures on one tank.


def proof(_: Study, tank: TankStudy) -> str:
    """The test pressure, and the column of water that makes it."""
    if tank.proof is None:
        return f"{NOT_COMPUTED} the tank's study"
    water_m = tank.proof.pressure_pa / (1000.0 * STANDARD_GRAVITY_M_S2)
    return f"{pressure(tank.proof.pressure_pa)} ({tank.proof.asked_by}), a column of {millimetres(water_m)} of water"


def supported(_: Study, __: TankStudy) -> str:
    """Two pounds to the square inch."""
    return (
        f"{pressure(SUPPORTED_PA)}, a column of {millimetres(SUPPORTED_PA / 1000.0 / STANDARD_GRAVITY_M_S2)} of water"
    )


def cell_head(study: Study, tank: TankStudy) -> str:
    """One and a half times the head of the full tank on the ground."""
    low, high = tank.tank.cavity.bounds_m
    head_pa = study.layout.design.fuel.density_kg_m3 * STANDARD_GRAVITY_M_S2 * float(high[2] - low[2])
    return f"{pressure(CELL_HEADS * head_pa)} at the bottom"


def two_thirds(_: Study, tank: TankStudy) -> str:
    """The shake test's filling."""
    return (
        f"25 h at 1/32 in or more of movement in all, with {litres(tank.capacity.gross_m3 * 2.0 / 3.0)} of water in it"
    )


def _forces(study: Study, tank: TankStudy, *, in_cabin: bool) -> str:
    chosen = [one for one in tank.forces if one.in_cabin == in_cabin]
    if not chosen or tank.capacity.filled is None:
        return f"{NOT_COMPUTED} a filler or a vent"
    fuel_kg = study.layout.design.fuel.density_kg_m3 * tank.capacity.filled.volume_m3
    worst = max(chosen, key=lambda one: one.pressure_pa)
    pressed = f"; the wall sees {pressure(worst.pressure_pa)} at {worst.factor:g} g {worst.toward}"
    return (
        f"{mass(fuel_kg)} of fuel: {', '.join(map(_force, chosen))}{pressed}; the empty tank's own weight comes on top"
    )


def _force(one: TankForce) -> str:
    return f"{force(one.force_n)} {one.toward} ({one.factor:g} g)"


def retained(study: Study, tank: TankStudy) -> str:
    """Forces of the full tank in an emergency landing."""
    return _forces(study, tank, in_cabin=False)


def retained_in_cabin(study: Study, tank: TankStudy) -> str:
    """The same for a tank in the cabin."""
    stated = tank.tank.design.in_cabin
    if stated is None:
        return "not checked: needs tank.in_cabin, whether it could strike people if it came loose"
    return (
        _forces(study, tank, in_cabin=True) if stated else "does not apply: the design says that it is not in the cabin"
    )
