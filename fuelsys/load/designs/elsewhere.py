"""One cause for places that nearly all lie outside their tank: another unit, the other side's mesh, other axes, another origin."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import permutations, product

import numpy as np

from fuelsys import units
from fuelsys.arrays import Floats
from fuelsys.load.designs.faults import Fault, Place
from fuelsys.load.meshes.door import odd_volume
from fuelsys.model.built.cavity import Cavity
from fuelsys.model.built.layout import FittedTank
from fuelsys.model.stated.design import Design

# From so many places, and such a share of them, one cause is likelier than as many slips. Chosen here, no source.
LEAST_PLACES, LEAST_SHARE = 3, 0.75
# What each of the places (n, 3) would be in body axes, how far outside the mesh they may then lie, and the words for it.
_Reading = tuple[Floats, float, str]


def spans(tank: FittedTank) -> str:
    """From where to where a tank's mesh reaches, in its own axes and unit."""
    unit = tank.design.unit
    ends = np.sort(np.array([tank.mesh_m(corner) for corner in tank.cavity.bounds_m]), axis=0) / units.scale(unit)
    span = ", ".join(f"{axis} {a:.5g} to {b:.5g}" for axis, a, b in zip("xyz", *ends, strict=True))
    return f"{tank.design.mesh} spans {span} {unit}."


def one_cause(
    tank: FittedTank, cavity: Cavity, where: Place, points_m: Floats, outside: int, turn: Floats, near_m: float
) -> Fault | None:
    """The one fault of a tank whose places (n, 3), in its mesh's axes, nearly all lie outside; None where too few do.

    cavity is its mesh as exported, turn takes the aircraft's axes to body axes; near_m is how far outside is let pass.
    """
    count = len(points_m)
    if outside < max(LEAST_PLACES, LEAST_SHARE * count):
        return None
    found = f"{'all' if outside == count else f'{outside} of'} its {count} places lie outside the cavity"
    for body_m, within_m, words in _readings(tank, cavity, points_m, turn, near_m):
        if all(cavity.spot("", at_m).off_m <= within_m for at_m in body_m):
            return Fault(where, found, f"All would lie in it {words} {spans(tank)}")
    design = tank.design
    mend = f'Look at unit = "{design.unit}", which side\'s mesh {design.mesh} is, and where its origin and axes lie'
    return Fault(where, found, f"{mend}: places in a tank are given in its mesh's own axes. {spans(tank)}")


def once(faults: Sequence[Fault], design: Design) -> list[Fault]:
    """The faults without those of mirrored tanks that are their twins' own."""
    number = {tank.name: i for i, tank in enumerate(design.tank)}
    told = {(fault.place, fault.found) for fault in faults}

    def again(fault: Fault) -> bool:
        if len(fault.place) < 2 or fault.place[0] != "tank":
            return False
        twin = number.get(design.tank[int(fault.place[1])].mirror_of or "")
        return twin is not None and (("tank", twin, *fault.place[2:]), fault.found) in told

    return [fault for fault in faults if not again(fault)]


def _readings(tank: FittedTank, cavity: Cavity, points_m: Floats, turn: Floats, near_m: float) -> Iterator[_Reading]:
    """Other ways to read the places."""
    file, unit = tank.design.mesh, tank.design.unit

    def body(at_m: Sequence[Floats] | Floats) -> Floats:
        return np.array([tank.body_m(one) for one in at_m])

    for axis, name in enumerate("xyz"):
        sign = np.where(np.arange(3) == axis, -1.0, 1.0)
        other = (
            "the mesh of the other side" if abs(tank.turn[axis, 1]) > 0.5 else f"a mesh whose {name} points that way"
        )
        yield body(points_m * sign), near_m, f"with {name} of the other sign: is {file} {other}?"
    for order, signs in product(permutations(range(3)), product((1.0, -1.0), repeat=3)):
        names = ", ".join(f"{'-' if sign < 0.0 else ''}{'xyz'[k]}" for k, sign in zip(order, signs, strict=True))
        words = f"with their {names} as x, y, z: was {file} exported with other axes?"
        yield body(points_m[:, order] * np.array(signs)), near_m, words
    from_datum = "as places on the aircraft, from its datum: give them from the mesh's origin, in its own axes."
    yield points_m @ turn, near_m, from_datum
    for other in sorted(units.UNITS["length"], key=lambda one: abs(np.log(units.scale(one) / units.scale(unit)))):
        times = units.scale(other) / units.scale(unit)
        held_m3 = cavity.gross_m3 * times**3
        if times != 1.0 and not odd_volume(held_m3, other, file):
            litres = f"{held_m3 * 1e3:.4g} L, not {cavity.gross_m3 * 1e3:.4g} L"
            yield body(points_m / times), near_m / times, f'with the unit {other} ({litres}): is unit = "{unit}" right?'
