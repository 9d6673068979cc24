"""Vents as they breathe: the pressure in each tank as air comes in or goes out, and as fuel that overfills it does; all SI.

Pressures are above the air's outside; below it they are negative.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Literal

from fuelsys.model.built.ends import End
from fuelsys.model.found.plumbing import Airing
from fuelsys.model.stated.attitude import Attitude

Breath = Literal["in", "out", "filling"]
# Greatest rates of climb and descent where the design states none: common practice, from memory.
CLIMB_M_S = DESCENT_M_S = 1500 * 0.3048 / 60.0
FILLING_M3_S = 40.0 / 60_000.0  # a hand-held nozzle over the wing: common practice, from memory
CEILING_M = 5000.0  # where the design states none
# Above a third of the speed of sound air does not count as of one density: the pressures are then too small.
MOST_MACH = 0.3


@dataclass(frozen=True)
class AirState:
    """All tanks at one moment: what goes on, at which altitude, which overboard end is blocked, and the tank that is drawn from,
    or filled; setting says what is shut in the vent lines, nothing where all is open.

    flows_m3_s is the air into each tank (out of it: negative), mach the fastest in any line.
    """

    what: Breath
    altitude_m: float
    blocked: str
    drawn_from: str
    pressures_pa: Mapping[str, float]
    flows_m3_s: Mapping[str, float]
    mach: float
    setting: str = ""


@dataclass(frozen=True)
class Breathing:
    """Every state that was solved, tanks that vent lines let breathe both ways in no setting, and what could not be computed.

    ends are the overboard ends that are joined to tanks, settings those of what stands in the vent lines; alone are the tanks that
    an end blocked leaves without air in or out, all valves open.
    """

    states: tuple[AirState, ...] = ()
    unvented: tuple[str, ...] = ()
    needs: str = ""
    ends: tuple[str, ...] = ()
    settings: tuple[Airing, ...] = ()
    alone: Mapping[str, tuple[str, ...]] = field(default_factory=dict)

    def of(self, tank: str, what: Breath, *, blocked: bool) -> tuple[AirState, ...]:
        """The states of a tank; blocked: those with one overboard end blocked."""
        return tuple(s for s in self.states if s.what == what and bool(s.blocked) == blocked and tank in s.pressures_pa)

    def worst(self, tank: str, what: Breath, *, blocked: bool = False) -> AirState | None:
        """The state with the greatest pressure, or the greatest suction, in a tank; None where there is none."""
        sign = -1.0 if what == "in" else 1.0
        return max(self.of(tank, what, blocked=blocked), key=lambda s: sign * s.pressures_pa[tank], default=None)


@dataclass(frozen=True)
class Overfill:
    """Fuel that goes on coming into a full tank, by a pump or as the engine's return, and the pressure at the tank's lowest point
    while its vents let it out; None where nothing lets it out, or where what comes is not known (needs says what that takes).

    lost_m3 is how much of the usable fuel of another tank (lost_from) the engine sends into this one while it burns the rest and
    nothing brings it back: the most of all tanks, at the reserve phase's flow; lost_unknown a tank of which that is not known. stalled:
    the pressure is the most that the pump can make there, and what comes is less.
    back_m3 is how much runs back from the full tank by the pump's line while the pump stands still,
    None where what is full is not known; kept_by names the check valve that keeps it, or those of which each path passes one."""

    source: str
    by: End
    tank: str
    flow_m3_s: float = 0.0
    attitude: Attitude | None = None
    pressure_pa: float | None = None
    needs: str = ""
    setting: str = ""  # what is shut in the vent lines
    lost_m3: float = 0.0
    lost_from: str = ""
    lost_unknown: str = ""
    stalled: bool = False
    back_m3: float | None = None
    kept_by: str = ""
