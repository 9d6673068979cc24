"""Growth of fuel with temperature: the volume correction of ASTM D1250 in its 1980 form, with densities at 15 °C."""

from __future__ import annotations

from dataclasses import dataclass
from math import exp, log, sqrt

from fuelsys.errors import QuestionError

BASE_K = 288.15  # 15 °C: every density here is one at 15 °C
# −50 °C to 150 °C, the range of the 2004 edition: from memory.
LIMITS_K = (223.15, 423.15)


@dataclass(frozen=True)
class Group:
    """Fuels that expand by one law: k0 / density² + k1 / density + k2 per kelvin at 15 °C, densities up to most."""

    name: str
    most_kg_m3: float
    k0: float
    k1: float
    k2: float

    def expansion_per_k(self, density_kg_m3: float) -> float:
        """Thermal expansion at 15 °C, as a share of the volume per kelvin."""
        return self.k0 / density_kg_m3**2 + self.k1 / density_kg_m3 + self.k2


# Table 54 of ASTM D1250 / API MPMS 11.1. Its °F constants were read in independent copies that agree; those of the first
# and the last group here are from memory and equal 1.8 times the ones read, to their last digit (a test holds this). The
# limits are printed for densities at 60 °F; at 15 °C they lie about 0.5 kg/m³ higher, which matters nowhere: at each
# limit its two laws agree within 1e-7 per kelvin.
LEAST_KG_M3 = 610.6
GROUPS = (
    Group("gasolines", 770.352, 346.4228, 0.4388, 0.0),
    Group("transition", 787.5195, 2680.3206, 0.0, -0.00336312),
    Group("jet fuels and kerosenes", 838.3127, 594.5418, 0.0, 0.0),
    Group("diesel and fuel oils", 1163.5, 186.9696, 0.4862, 0.0),
)


def covers(density_kg_m3: float) -> bool:
    """Is there a group for this density at 15 °C?"""
    return LEAST_KG_M3 <= density_kg_m3 <= GROUPS[-1].most_kg_m3


def group_of(density_kg_m3: float) -> Group:
    """The group is chosen by density alone, not by the fuel's name; QuestionError outside all groups.

    >>> group_of(720.0).name, group_of(835.0).name, group_of(845.0).name
    ('gasolines', 'jet fuels and kerosenes', 'diesel and fuel oils')
    """
    if not covers(density_kg_m3):
        raise QuestionError(
            f"there is no volume correction for a density of {density_kg_m3:g} kg/m³ at 15 °C",
            mend=f"Give a density between {LEAST_KG_M3:g} and {GROUPS[-1].most_kg_m3:g} kg/m³.",
            field="fuel.density",
        )
    return next(group for group in GROUPS if density_kg_m3 <= group.most_kg_m3)


def correction(expansion_per_k: float, rise_k: float) -> float:
    """Volume at the base temperature over volume at a temperature that is rise_k higher (1980 form).

    An expansion of 0.001 per kelvin over 25 K gives exp(−0.025 (1 + 0.8 × 0.025)) = exp(−0.0255):

    >>> round(correction(0.001, 25.0), 6)
    0.974822
    """
    x = expansion_per_k * rise_k
    return exp(-x * (1.0 + 0.8 * x))


def volume_correction(density_kg_m3: float, temperature_k: float) -> float:
    """Volume of a fuel at 15 °C over its volume at a temperature; the density is that at 15 °C.

    QuestionError outside the densities and temperatures that the correction is made for. Avgas of 720 kg/m³ expands by
    346.4228/720² + 0.4388/720 = 0.00127770 per kelvin, so at 40 °C:

    >>> round(volume_correction(720.0, 313.15), 5)
    0.96777
    """
    if not LIMITS_K[0] <= temperature_k <= LIMITS_K[1]:
        raise QuestionError(
            f"there is no volume correction at {temperature_k - 273.15:g} °C",
            mend=f"Give a temperature between {LIMITS_K[0] - 273.15:g} and {LIMITS_K[1] - 273.15:g} °C.",
        )
    return correction(group_of(density_kg_m3).expansion_per_k(density_kg_m3), temperature_k - BASE_K)


def density_at(density_kg_m3: float, temperature_k: float) -> float:
    """Density at a temperature of a fuel whose density at 15 °C is given [kg/m³].

    >>> round(density_at(720.0, 313.15), 1)
    696.8
    """
    return density_kg_m3 * volume_correction(density_kg_m3, temperature_k)


def growth_share(density_kg_m3: float, filled_at_k: float, soaked_to_k: float) -> float:
    """Growth of fuel between two temperatures, as a share of its volume at the first. The tank's own growth is left out.

    Avgas of 720 kg/m³ filled at 5 °C and soaked to 40 °C:

    >>> round(growth_share(720.0, 278.15, 313.15), 4)
    0.0465
    """
    return volume_correction(density_kg_m3, filled_at_k) / volume_correction(density_kg_m3, soaked_to_k) - 1.0


def rise_that_fills_k(density_kg_m3: float, filled_at_k: float, room_share: float) -> float | None:
    """Warming that lets fuel fill a room, given as a share of the fuel's volume; None: hotter than the correction goes.

    Solves growth_share for the second temperature. A tank filled at 15 °C with avgas of 720 kg/m³ to 98 % of its gross
    volume is full after 15.6 K: with x = 0.0012777 × rise, x (1 + 0.8 x) = −ln 0.98.

    >>> round(rise_that_fills_k(720.0, 288.15, 0.02 / 0.98), 1)
    15.6
    """
    expansion_per_k = group_of(density_kg_m3).expansion_per_k(density_kg_m3)
    exponent = log(1.0 + room_share) - log(volume_correction(density_kg_m3, filled_at_k))
    x = (sqrt(1.0 + 3.2 * exponent) - 1.0) / 1.6  # the root of 0.8 x² + x = exponent
    full_at_k = BASE_K + x / expansion_per_k
    return full_at_k - filled_at_k if full_at_k <= LIMITS_K[1] else None
