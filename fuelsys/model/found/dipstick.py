"""A dipstick as it was computed: its graduations, and what a slope makes of them. All SI."""

from __future__ import annotations

from dataclasses import dataclass

from fuelsys.model.built.cavity import Barrier
from fuelsys.model.stated.attitude import Attitude


@dataclass(frozen=True)
class Graduation:
    """One mark of a dipstick: the quantity it stands for, the distance from the stick's zero end, and the quantities
    that are really in the tank when it is read there on ground that slopes by the stated angle: (least, most)."""

    volume_m3: float
    along_m: float
    sloped_m3: tuple[float, float]
    pools_apart: bool


@dataclass(frozen=True)
class DipstickStudy:
    """A dipstick at the normal ground attitude; below_m3 is what the tank holds when the stick's bottom is just dry.

    as_stated is false where the stated step is not round in the unit that the stick is graduated in, and another was taken.
    off_filler_m is how far its line passes from the middle of the filler's lip, None without a filler; barriers are what
    it meets between the lip (its top, without a filler) and its bottom, the uppermost first.
    unusable_m3 is that of the worst flight attitude, None where it is not known (it needs an outlet); empty_m is where its
    surface stands on the stick, from the zero end: no usable fuel; None where that lies beyond the stick. by_test:
    a fill test gave the marks.
    """

    attitude: Attitude
    slope_rad: float
    zero: str
    below_m3: float
    top_m3: float
    marks: tuple[Graduation, ...]
    as_stated: bool = True
    off_filler_m: float | None = None
    barriers: tuple[Barrier, ...] = ()
    unusable_m3: float | None = None
    empty_m: float | None = None
    by_test: bool = False

    def usable_m3(self, total_m3: float) -> float | None:
        """What can be used of a quantity in the tank."""
        return None if self.unusable_m3 is None else max(0.0, total_m3 - self.unusable_m3)
