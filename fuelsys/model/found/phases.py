"""Unusable fuel at each flow that a design states: by the outlets' cover and by what the flow asks for; all SI."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from fuelsys.model.stated.attitude import Attitude


@dataclass(frozen=True)
class AtPhase:
    """What stays in a tank at one phase's flow, at its worst stated flight attitude.

    by_cover_m3 is what is left when an outlet takes air, by_flow_m3 when what is fed gets less than that flow, or less
    pressure than it needs; None where that is not known (needs says why). unusable_m3 is left at whichever comes first,
    None where one of them is not known. running is the pump that runs; without one fuel runs by gravity, past pumps that
    have failed.
    """

    phase: str
    flow_m3_s: float
    running: str
    attitude: Attitude
    by_cover_m3: float
    by_flow_m3: float | None
    unusable_m3: float | None
    needs: str = ""

    @property
    def governs(self) -> Literal["cover", "flow", "not known"]:
        """Which comes first."""
        if self.by_flow_m3 is None:
            return "not known"
        return "flow" if self.by_flow_m3 > self.by_cover_m3 else "cover"
