"""Where fuel boils: its vapour pressure at a temperature, and the air's pressure at an altitude."""

from __future__ import annotations

from math import exp, log10, sqrt

from fuelsys import units

HOT_K = units.to_si(110.0, "degF", "temperature")  # 14 CFR 23.961, before amendment 23-64: hot fuel
# Slope of the distillation curve at 10 % [degF per vol-%]: EPA AP-42 chapter 7.1, figure 7.1-14b, its notes from memory.
SLOPES = {"avgas": 2.0, "mogas": 3.0}
AVGAS_REID_PA = 49_000.0  # the most that ASTM D910 allows at 37.8 degC
KEROSENE_HOT_PA = units.to_si(
    0.1, "psi", "pressure"
)  # above what AP-42 table 7.1-2 has at 100 degF (0.029 psi), from memory


def vapour_pressure_pa(reid_pa: float, slope_f: float, temperature_k: float) -> float:
    """True vapour pressure of a petroleum stock from its Reid vapour pressure: EPA AP-42 chapter 7.1, figure 7.1-14b.

    Gasoline of 10 psi by Reid, slope 3, at 60 degF; the table beside the figure prints 5.2 psi:

    >>> psi = units.scale("psi", "pressure")
    >>> round(vapour_pressure_pa(10 * psi, 3.0, units.to_si(60.0, "degF", "temperature")) / psi, 3)
    5.193
    """
    psi = units.scale("psi", "pressure")
    reid, root, rankine = log10(reid_pa / psi), sqrt(slope_f), temperature_k * 1.8
    exponent = (0.7553 - 413.0 / rankine) * root * reid - (1.854 - 1042.0 / rankine) * root
    exponent += (2416.0 / rankine - 2.013) * reid - 8742.0 / rankine + 15.64
    return exp(exponent) * psi


def air_pressure_pa(altitude_m: float) -> float:
    """Pressure of the International Standard Atmosphere (ISO 2533; the library `fluids` has it).

    At 11,000 m of geopotential altitude, 11,019 m of true one, the standard's table has 226.32 hPa:

    >>> round(air_pressure_pa(11019.07) / 100.0, 1)
    226.3
    """
    from fluids.atmosphere import ATMOSPHERE_1976  # noqa: PLC0415

    return float(ATMOSPHERE_1976(altitude_m).P)


def hot_vapour_pa(kind: str, reid_pa: float | None, temperature_k: float = HOT_K) -> float | None:
    """Vapour pressure of fuel of 110 degF, or of another temperature.

    None for mogas of which the design does not say it (it differs by season), and for kerosene hotter than 110 degF; cooler
    kerosene counts as that hot, which is the safe side.
    """
    if kind not in SLOPES:
        return KEROSENE_HOT_PA if temperature_k <= HOT_K + 0.5 else None
    stated = reid_pa if reid_pa is not None else AVGAS_REID_PA if kind == "avgas" else None
    return None if stated is None else vapour_pressure_pa(stated, SLOPES[kind], temperature_k)
