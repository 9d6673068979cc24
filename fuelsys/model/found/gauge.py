"""What a gauge senses of a tank, attitude by attitude, and how it is calibrated. All SI; signals are shares of one."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from fuelsys.arrays import Floats
from fuelsys.model.built.cavity import Barrier
from fuelsys.model.stated.attitude import Attitude

LEAST_HIDDEN_M3 = 0.5e-6  # less reads as nothing: half of the last digit shown

_SAME = 1e-9  # of a gauge's whole signal: what rounding makes of it


@dataclass(frozen=True)
class Curve:
    """A gauge's signal (k,) against a quantity or a level (k,), both not falling; a signal that jumps stands there twice."""

    value: Floats
    signal: Floats

    def signal_at(self, value: Floats) -> Floats:
        """The signal at values (n,); at a jump the greater."""
        after = np.searchsorted(self.value, value, side="right").clip(1, self.value.size - 1)
        return self._between(self.value, self.signal, after, value)

    def least_at(self, signal: Floats) -> Floats:
        """The least value that gives at least each signal (n,); the greatest of all where none does."""
        after = np.searchsorted(self.signal, signal - 1e-12).clip(1, self.value.size - 1)
        least = self._between(self.signal, self.value, after, signal)
        return np.where(signal <= self.signal[0] + 1e-12, self.value[0], least)

    @staticmethod
    def _between(x: Floats, y: Floats, after: Floats, at: Floats) -> Floats:
        run = x[after] - x[after - 1]
        share = np.divide(at - x[after - 1], run, out=np.ones_like(at), where=run > 0.0)
        between: Floats = y[after - 1] + share.clip(0.0, 1.0) * (y[after] - y[after - 1])
        return between

    @property
    def seen_from(self) -> float:
        """Below this the signal does not change."""
        return float(self.value[np.flatnonzero(self.signal <= self.signal[0] + _SAME)[-1]])

    @property
    def seen_to(self) -> float:
        """Above this the signal does not change."""
        return float(self.value[np.flatnonzero(self.signal >= self.signal[-1] - _SAME)[0]])

    @property
    def sees(self) -> bool:
        """Does the signal change at all?"""
        return bool(self.signal[-1] > self.signal[0] + _SAME)


@dataclass(frozen=True)
class SensedAt:
    """A gauge at one attitude, the tank being drained from full: its signal against the quantity in the tank.

    least takes pools with outlets of their own as drained while the gauge's own falls, most as not begun to fall; where none
    falls on its own the two are one. left_m3 is what stays behind at this attitude, by the tank's share; behind as
    in Cavity.
    """

    attitude: Attitude
    least: Curve
    most: Curve
    left_m3: float
    behind: float = 1.0

    @property
    def blind_to_m3(self) -> float:
        """Below this the signal does not change: no less than was drawn."""
        return self.behind * self.least.seen_from

    @property
    def stays_m3(self) -> float:
        """What stays behind: no less than was drawn."""
        return self.behind * self.left_m3

    @property
    def blind_below_m3(self) -> float:
        """What can still run out while the signal stands at its lowest."""
        return max(0.0, self.blind_to_m3 - self.stays_m3)


@dataclass(frozen=True)
class GaugeStudy:
    """A gauge over the envelope. unusable_m3 is that of the worst flight attitude; filled_m3 the fillable quantity, or gross.

    steps is the number of reed switches, 0 of any other kind. skipped says how much of its way lies outside the cavity, as a
    share: in ribs and bodies, or beyond the walls. barriers are what a straight one passes through.
    """

    name: str
    tank: str
    kind: str
    at: tuple[SensedAt, ...]
    unusable_m3: float
    filled_m3: float
    steps: int = 0
    skipped: float = 0.0
    barriers: tuple[Barrier, ...] = ()

    @property
    def normal(self) -> SensedAt:
        """At the normal flight attitude."""
        return next(at for at in self.at if at.attitude.normal and at.attitude.phase == "flight")

    @property
    def hidden_m3(self) -> float:
        """What can still run out above the unusable fuel, in normal flight, while it stands still."""
        return self.normal.blind_to_m3 - self.unusable_m3

    @property
    def sees_the_last(self) -> bool:
        """Does it see the fuel down to the unusable, in normal flight?"""
        return self.normal.least.sees and self.hidden_m3 <= LEAST_HIDDEN_M3

    @property
    def flight(self) -> tuple[SensedAt, ...]:
        """At all flight attitudes."""
        return tuple(at for at in self.at if at.attitude.phase == "flight")


@dataclass(frozen=True)
class SetPoint:
    """A point of a calibration: at this signal the gauge is to show this usable quantity.

    poured_m3 is what an empty tank must hold at the normal ground attitude for the same signal; None where that is not known.
    """

    signal: float
    usable_m3: float
    poured_m3: float | None


@dataclass(frozen=True)
class Poured:
    """A quantity poured into the empty tank at the normal ground attitude, and the signal to expect: None where it falls into
    pools. shown_m3 is what the calibrated gauge then shows."""

    quantity_m3: float
    signal: float | None
    shown_m3: float | None


@dataclass(frozen=True)
class ErrorAt:
    """What the calibrated gauge shows more than is usable, at one attitude, over quantities (n,) in the tank."""

    attitude: Attitude
    quantity_m3: Floats
    error_m3: Floats

    def between(self, low_m3: float, high_m3: float) -> Floats:
        """The errors at quantities between two, these with them."""
        return self.error_m3[(self.quantity_m3 >= low_m3) & (self.quantity_m3 <= high_m3)]

    @property
    def most(self) -> tuple[float, float]:
        """Where it shows most too much, and how much: quantity and error."""
        at = int(np.argmax(self.error_m3))
        return float(self.quantity_m3[at]), float(self.error_m3[at])

    @property
    def least(self) -> tuple[float, float]:
        """Where it shows most too little, and how much: quantity and error, which is negative then."""
        at = int(np.argmin(self.error_m3))
        return float(self.quantity_m3[at]), float(self.error_m3[at])


@dataclass(frozen=True)
class Calibration:
    """The fewest points that keep straight lines between them within allowed_m3 at the normal flight attitude.

    reached_m3 is how far off they are there between the first and the last of them, looked at more closely than they were
    chosen. step_m3 is the greatest quantity between two reed switches, 0 of any other kind. ground is the attitude of the
    pouring; apart_below_m3 what the tank holds there where it falls into pools.
    """

    gauge: GaugeStudy
    allowed_m3: float
    points: tuple[SetPoint, ...]
    reached_m3: float
    step_m3: float
    blind_below_m3: float
    blind_above_m3: float
    errors: tuple[ErrorAt, ...]
    ground: Attitude
    pours: tuple[Poured, ...]
    apart_below_m3: float
    trapped_air_m3: float = 0.0
