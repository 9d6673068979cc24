"""A dipstick as it was computed: its graduations, and what a slope makes of them. All SI."""

from __future__ import annotations

from dataclasses import dataclass

from fuelsys.model.built.cavity import Barrier
from fuelsys.model.stated.attitude import Attitude


@dataclass(frozen=True)
class Graduation:
    """One mark of a dipstick: the quantity it stands for, the distance from the stick's zero end, and the quantities
    that are really in the tank when it is read there on ground that slopes by the stated angle: (least, most).

    elsewhere_m3 is what is really there when it is read at the attitude of the stick's other face, None without one.
    within_m3 is half the width of 95 % that a fill test leaves it, None without one that bears on it. air_trapped: filling shuts air in
    below the surface that stands there, which is not counted as fuel."""

    volume_m3: float
    along_m: float
    sloped_m3: tuple[float, float]
    pools_apart: bool
    elsewhere_m3: float | None = None
    within_m3: float | None = None
    air_trapped: bool = False


@dataclass(frozen=True)
class DipstickStudy:
    """A face of a dipstick, made for one attitude; other is that of its second face.

    below_m3 is what the tank holds when the stick's bottom is just dry, drawn_below_m3 the same as drawn, before any test.
    as_stated is false where the stated step is not round in the unit that the stick is graduated in, and another was taken.
    off_filler_m is how far its line passes from the middle of the filler's lip, None without a filler; barriers are what
    it meets between the lip (its top, without a filler) and its bottom, the uppermost first.
    unusable_m3 is that of the worst flight attitude, None where it is not known (it needs an outlet); empty_m is where its
    surface stands on the stick, from the zero end: no usable fuel; None where that lies beyond the stick. by_test:
    a fill test gave the marks. hangs_m is how far it can drop before it stands on the tank's floor, dropped_m3 how much more than there
    is its marks then show at most. by_test_less_m3: how much more than there is they show at most, if all that a fill test found at
    another attitude holds at this one too. shut_in_m3: the air that filling has shut in below its top, which is not in top_m3.
    reserve_m3_s is the flow that minutes are counted with, of a phase.
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
    by_test_less_m3: float | None = None
    hangs_m: float = 0.0
    dropped_m3: float = 0.0
    other: Attitude | None = None
    shut_in_m3: float = 0.0
    reserve_m3_s: float = 0.0
    reserve_phase: str = ""
    drawn_below_m3: float = 0.0

    def usable_m3(self, total_m3: float) -> float | None:
        """What can be used of a quantity in the tank."""
        return None if self.unusable_m3 is None else max(0.0, total_m3 - self.unusable_m3)

    @property
    def unseen_m3(self) -> float:
        """What may be in the tank with the stick dry: no less than was drawn."""
        return max(self.below_m3, self.drawn_below_m3)

    @property
    def most_too_much_m3(self) -> float:
        """How much more than there is a mark shows at most, read at the attitude of the other face; at least 0."""
        over = [mark.volume_m3 - mark.elsewhere_m3 for mark in self.marks if mark.elsewhere_m3 is not None]
        return max([0.0, *over])

    @property
    def within_m3(self) -> float | None:
        """How far any mark may be off by the fill test (95 %); None without one."""
        bands = [mark.within_m3 for mark in self.marks if mark.within_m3 is not None]
        return max(bands, default=None)
