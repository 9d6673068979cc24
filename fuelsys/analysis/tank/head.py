"""Static head: the pressure of still fuel under a load factor, and the pressure that a tank's test must reach."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np

from fuelsys import units
from fuelsys.analysis.tank.tilted import Tilted
from fuelsys.model.built.cavity import Cavity
from fuelsys.model.found.loads import TankForce, TankProof
from fuelsys.model.stated.attitude import STANDARD_GRAVITY_M_S2

LEAST_TEST_PSI = 3.5  # 14 CFR 23.965(a)(1), before amendment 23-64
SUPPORTED_TEST_PSI = 2.0  # 14 CFR 23.965(a)(3), before amendment 23-64: non-metal, supported by the structure


@dataclass(frozen=True)
class Load:
    """An acceleration in multiples of g, the way (x aft, y right, z up) in which it presses the fuel, and when it acts."""

    name: str
    factor: float
    presses: tuple[float, float, float]
    when: str = "emergency landing"
    in_flight: bool = False


SAFETY_FACTOR = 1.5  # ultimate over limit load: 14 CFR 23.303, before amendment 23-64, from memory
# 14 CFR 23.561(b)(2), before amendment 23-64: ultimate, in an emergency landing. The flight's own are for the design to say.
EMERGENCY_LANDING = (
    Load("forward", 9.0, (-1.0, 0.0, 0.0)),
    Load("up", 3.0, (0.0, 0.0, 1.0)),
    Load("to the left", 1.5, (0.0, -1.0, 0.0)),
    Load("to the right", 1.5, (0.0, 1.0, 0.0)),
)
# 14 CFR 23.561(b)(3), before amendment 23-64: ultimate, for what in the cabin could strike people. That a tank in the cabin is such a
# thing is a prudent reading.
IN_CABIN = (
    Load("forward", 18.0, (-1.0, 0.0, 0.0)),
    Load("up", 3.0, (0.0, 0.0, 1.0)),
    Load("to the left", 4.5, (0.0, -1.0, 0.0)),
    Load("to the right", 4.5, (0.0, 1.0, 0.0)),
)


def flight_loads(limit_load_factor: float | None) -> tuple[Load, ...]:
    """The ultimate load of the flight that presses the fuel down; none where the limit load factor is not stated.

    >>> [round(load.factor, 6) for load in flight_loads(3.8)], flight_loads(None)
    ([5.7], ())
    """
    if limit_load_factor is None:
        return ()
    when = (
        f"in flight ({SAFETY_FACTOR:g} times the limit load factor {limit_load_factor:g}: 14 CFR 23.303, from memory)"
    )
    return (Load("down", SAFETY_FACTOR * limit_load_factor, (0.0, 0.0, -1.0), when, in_flight=True),)


def head_pressure_pa(density_kg_m3: float, height_m: float, load_factor: float = 1.0) -> float:
    """Pressure under a height of fuel along the acceleration: density × load factor × g × height [Pa].

    Five metres of 800 kg/m³ at rest press with 5 × 800 × 9.80665 Pa:

    >>> round(head_pressure_pa(800.0, 5.0), 6)
    39226.6
    """
    return density_kg_m3 * load_factor * STANDARD_GRAVITY_M_S2 * height_m


def head_m(density_kg_m3: float, pressure_pa: float) -> float:
    """Height of a fuel at rest that presses with a pressure [m].

    >>> round(head_m(1000.0, 98066.5), 9)
    10.0
    """
    return pressure_pa / (density_kg_m3 * STANDARD_GRAVITY_M_S2)


def full_tank_pressure_pa(cavity: Cavity, density_kg_m3: float, load: Load) -> float:
    """Greatest pressure in a full tank under a load: the head over the cavity's whole extent along it [Pa].

    The head counts from the cavity's far end; fuel that stands in a filler neck or a vent line above it is not in it.
    """
    tilted = Tilted.of(cavity, -np.array(load.presses))
    return head_pressure_pa(density_kg_m3, tilted.high_m - tilted.low_m, load.factor)


def fuel_force_n(mass_kg: float, load_factor: float) -> float:
    """Force that a mass of fuel presses with [N]; what the empty tank weighs comes on top.

    Ten kilograms at 9 g press with 10 × 9 × 9.80665 N:

    >>> round(fuel_force_n(10.0, 9.0), 1)
    882.6
    """
    return mass_kg * load_factor * STANDARD_GRAVITY_M_S2


def forces(cavity: Cavity, density_kg_m3: float, filled_m3: float) -> tuple[TankForce, ...]:
    """Forces and wall pressures of a tank filled to what it takes, under the factors of 14 CFR 23.561(b)(2) and (3)."""
    mass_kg = density_kg_m3 * filled_m3
    return tuple(
        TankForce(
            load.name,
            load.factor,
            fuel_force_n(mass_kg, load.factor),
            full_tank_pressure_pa(cavity, density_kg_m3, load),
            in_cabin,
        )
        for in_cabin, loads in ((False, EMERGENCY_LANDING), (True, IN_CABIN))
        for load in loads
    )


def required_test_pressure(
    cavity: Cavity, density_kg_m3: float, loads: Iterable[Load] = EMERGENCY_LANDING, least_psi: float = LEAST_TEST_PSI
) -> TankProof:
    """The greater of the least test pressure and that of a full tank at ultimate acceleration (14 CFR 23.965(a)).

    A box 0.6 m long, full of avgas of 720 kg/m³, at 9 g forward: 720 × 9 × 9.80665 × 0.6 = 38.13 kPa, over 3.5 psi.

    >>> corners = np.array([[x, y, z] for x in (0.0, 0.6) for y in (0.0, 0.1) for z in (0.0, 0.1)])
    >>> faces = [[0, 1, 3], [0, 3, 2], [4, 6, 7], [4, 7, 5], [0, 4, 5], [0, 5, 1]]
    >>> faces += [[2, 3, 7], [2, 7, 6], [0, 2, 6], [0, 6, 4], [1, 5, 7], [1, 7, 3]]
    >>> asked = required_test_pressure(Cavity.of(corners, np.array(faces, dtype=np.int32)), 720.0)
    >>> round(asked.pressure_pa / 1e3, 2), asked.asked_by
    (38.13, 'full tank at 9 g forward, emergency landing')
    """
    given = tuple(loads)
    still = head_pressure_pa(density_kg_m3, float(np.ptp(cavity.bounds_m, axis=0)[2]))
    own = [
        (
            full_tank_pressure_pa(cavity, density_kg_m3, load),
            f"full tank at {load.factor:.4g} g {load.name}, {load.when}",
        )
        for load in given
    ]
    full = max([(still, "full tank at rest"), *own])
    least = (units.to_si(least_psi, "psi", "pressure"), f"the least test pressure, {least_psi:g} psi")
    flown = [pressure for load, (pressure, _) in zip(given, own, strict=True) if load.in_flight]
    return TankProof(*max(full, least), *full, max([still, *flown]))
