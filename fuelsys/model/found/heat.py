"""How warm the fuel that an engine returns makes a tank, as it was computed; all SI."""

from __future__ import annotations

from dataclasses import dataclass

MOST_WARMING_K = 20.0  # common practice, no source
HEAT_J_KG_K = {"avgas": 2100.0, "mogas": 2100.0, "jet": 2000.0, "diesel": 2000.0}  # specific heats, from memory


@dataclass(frozen=True)
class WarmedTo:
    """At a moment of the flight: the quantity left in the tank, and how much warmer it is than when it was filled."""

    time_s: float
    volume_m3: float
    warmer_k: float


@dataclass(frozen=True)
class Heated:
    """A tank that an engine returns fuel to, burnt from full to the reserve; needs says what is missing, and then steps are empty.

    fed: others keep it full first, and it is as warm as it can become then when it begins to empty. heat_w is what the engine
    gives to its fuel, most_w what warms the tank by no more than it should be at the reserve. boils_k is how much warmer than on a
    standard day (15 degC) the fuel boils in the tank at the ceiling, or at one assumed (ceiling_assumed); None: that is not known.
    volatile: it may boil sooner, since its vapour pressure is not stated.
    """

    engine: str
    tank: str
    steps: tuple[WarmedTo, ...] = ()
    heat_w: float | None = None
    most_w: float | None = None
    needs: str = ""
    fed: bool = False
    boils_k: float | None = None
    volatile: bool = False
    ceiling_assumed: bool = False
