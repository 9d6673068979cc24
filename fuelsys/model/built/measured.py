"""What tests on the finished tank found, as it is used: a fill test's correction, the trip of a switch."""

from __future__ import annotations

from dataclasses import dataclass, field

from fuelsys.arrays import Floats
from fuelsys.model.built.cavity import Cavity


@dataclass(frozen=True)
class Corrected:
    """A fill test's correction, as it stands in a tank.

    share is what the tank holds of what was drawn, everywhere alike, within half the width of 95 %; stick (5,) is the
    correction that its stick's marks are made with (scale, offset, pitch, roll, layer), of the cavity as drawn, at one attitude;
    band is how far what is held at readings (k,) may be off (k,), half the width of 95 %. sure_m3 is what surely is in it where
    the surface passes a switch's mark, by switch and attitude. fewer_m3 is a can that was noted and counts as not poured, since the
    readings are explained as well without it.
    """

    file: str
    date: str
    attitude: str
    share: float
    within: float
    stick: Floats
    drawn: Cavity
    band: tuple[Floats, Floats] | None = None
    sure_m3: dict[tuple[str, str], float] = field(default_factory=dict)
    fewer_m3: float = 0.0


@dataclass(frozen=True)
class AsTwin:
    """What a tank that was not filled counts from its twin that was, and came out smaller than drawn.

    share is what it counts of what was drawn, everywhere alike; unusable_m3 what its twin's drain test left, which counts at least.
    """

    twin: str
    share: float
    unusable_m3: float = 0.0


@dataclass(frozen=True)
class Tripped:
    """A switch's trip as it was measured, and as it is computed at the same attitude with the mark off by its tolerance either way.

    drop_m is how much lower the mark counts, since it trips with less than computed; 0 where it does not.
    """

    measured_m3: float
    computed_m3: float
    least_m3: float
    most_m3: float
    drop_m: float = 0.0
