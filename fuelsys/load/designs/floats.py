"""The floats of switches: what is stated of them against each other, and how each lies in the fuel."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from fuelsys import units
from fuelsys.load.designs.faults import Fault, Place
from fuelsys.model.stated.design import Fuel, Tank

if TYPE_CHECKING:
    from fuelsys.model.built.layout import Rides


def fuel_density(fuel: Fuel) -> Iterator[Fault]:
    """A stated density that does not lie within the range that is stated."""
    if (
        fuel.density_range_kg_m3
        and not fuel.density_range_kg_m3[0] <= fuel.density_kg_m3 <= fuel.density_range_kg_m3[1]
    ):
        found = f"density, {_text(fuel.density_kg_m3)}, does not lie within it"
        yield Fault(("fuel", "density_range"), found, "Give the least and the greatest density that the fuel may have.")


def switch_floats(place: Place, tank: Tank, fuel: Fuel) -> Iterator[Fault]:
    """What a switch's float leaves open or contradicts."""
    for i, switch in enumerate(tank.switch):
        one, at = switch.float_body, (*place, "switch", i)
        if one is None:
            if switch.set_in_kg_m3 is not None:
                mend = 'Give it: float = { mass = "12 g", diameter = "30 mm", height = "40 mm" }, or take set_in out.'
                yield Fault(
                    (*at, "set_in"), "without its float, what another liquid does to the mark is not known", mend
                )
            continue
        if not one.sized:
            mend = "Give one of the two, more than 0."
            yield Fault((*at, "float"), "either its diameter or the volume of its outside is wanted", mend)
            continue
        lightest = min(fuel.density_kg_m3, *(fuel.density_range_kg_m3 or ()), switch.set_in_kg_m3 or fuel.density_kg_m3)
        if one.sinks_below_kg_m3 >= lightest:
            found = f"it sinks in {_text(lightest)}: with this mass and size it floats only above {_text(one.sinks_below_kg_m3)}"
            yield Fault(
                (*at, "float"), found, "Are mass and size right? Give those of the float alone, without its stem."
            )


def _text(density_kg_m3: float) -> str:
    return units.written(density_kg_m3, "kg/L", "density")


def rides(tank: Tank, fuel: Fuel) -> dict[str, Rides]:
    """How each float that is stated lies in the fuel, by the names of their spots."""
    from fuelsys.model.built.layout import Rides  # noqa: PLC0415  numba is behind it, which a refusal does not wait for

    found = {f"switch {switch.name}": Rides.of(switch, fuel) for switch in tank.switch}
    return {key: one for key, one in found.items() if one is not None}
