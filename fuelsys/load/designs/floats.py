"""The floats of switches: what is stated of them against each other, and how each lies in the fuel."""

from __future__ import annotations

from collections.abc import Iterator

from fuelsys import units
from fuelsys.load.designs.faults import Fault, Place
from fuelsys.model.built.layout import Rides
from fuelsys.model.stated.design import Fuel, Tank
from fuelsys.model.stated.fittings import Switch


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
    return {f"switch {switch.name}": _rides(switch, fuel) for switch in tank.switch if _floats(switch)}


def _floats(switch: Switch) -> bool:
    return switch.float_body is not None and switch.float_body.sized


def _rides(switch: Switch, fuel: Fuel) -> Rides:
    """In a lighter liquid a float lies deeper, so that the surface stands higher when it is down at its trip point."""
    assert switch.float_body
    own = switch.float_body.draught_m
    here_m = own(fuel.density_kg_m3)
    densest = fuel.density_range_kg_m3[1] if fuel.density_range_kg_m3 else fuel.density_kg_m3
    set_in = switch.set_in_kg_m3 or fuel.density_kg_m3
    return Rides(here_m - own(set_in), here_m - own(densest), here_m * fuel.density_kg_m3)
