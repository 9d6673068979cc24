"""What a tank holds, as 14 CFR 23 uses the words, and how warm fuel fills it. All SI."""

from __future__ import annotations

from dataclasses import dataclass

from fuelsys.arrays import Floats
from fuelsys.model.found.unusable import Unusable
from fuelsys.model.stated.attitude import Attitude


@dataclass(frozen=True)
class Filled:
    """A tank filled at a ground attitude until fuel would run out of an opening (limited_by)."""

    attitude: Attitude
    volume_m3: float
    level_m: float
    trapped_air_m3: float
    limited_by: str
    centre_m: Floats | None


@dataclass(frozen=True)
class Capacity:
    """Volumes of one tank as 14 CFR 23 (before amendment 23-64) uses the words; filled and unusable may be unknown.

    room_m3 is the part of the expansion space that fuel can grow into before the last vent drowns or fuel runs out of one.
    cut_off: no line can bring its fuel to an engine, so that none of it is usable.
    """

    gross_m3: float
    gross_centre_m: Floats
    filled: Filled | None
    unusable: Unusable | None
    usable_centre_m: Floats | None
    room_m3: float | None = None
    cut_off: bool = False

    @property
    def expansion_m3(self) -> float | None:
        """Space above the fuel that is left when the tank is filled at the normal ground attitude."""
        return None if self.filled is None else self.gross_m3 - self.filled.volume_m3

    @property
    def usable_m3(self) -> float | None:
        """Fillable less unusable fuel; none where no line can bring it to an engine."""
        if self.filled is None or self.unusable is None:
            return None
        if self.cut_off:
            return 0.0
        return max(0.0, self.filled.volume_m3 - self.unusable.volume_m3)


@dataclass(frozen=True)
class Warming:
    """A tank filled cold to the brim and soaked warm: how much its fuel grows, and the room until it runs out of a vent.

    rise_k is the warming that uses up the room; None where the volume correction does not reach so far.
    """

    filled_at_k: float
    soaked_to_k: float
    filled_m3: float
    growth_share: float
    room_m3: float
    rise_k: float | None

    @property
    def growth_m3(self) -> float:
        """Growth of what was filled."""
        return self.filled_m3 * self.growth_share
