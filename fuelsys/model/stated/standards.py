"""Figures of published standards and rules that several rooms count with."""

from __future__ import annotations

from fuelsys.model.stated.attitude import STANDARD_GRAVITY_M_S2

SEA_LEVEL_PA = 101_325.0  # ISO 2533: the air at sea level
SEA_LEVEL_K = 288.15  # ISO 2533, at sea level
GAS_J_KG_K = 287.05287  # of dry air: ISO 2533
SEA_LEVEL_FALL_PER_M = STANDARD_GRAVITY_M_S2 / (
    GAS_J_KG_K * SEA_LEVEL_K
)  # the share of its pressure that air loses there
DAY_RESERVE_S = 1800.0  # what a day flight keeps in hand at cruise: 14 CFR 91.151(a)(1)
NIGHT_RESERVE_S = 2700.0  # what a night flight does: 14 CFR 91.151(a)(2)
LEAST_ENDURANCE_S = 1800.0  # at maximum continuous power: 14 CFR 23.963(d), before amendment 23-64
