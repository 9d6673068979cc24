"""Notes that stand under several tables."""

from __future__ import annotations

from fuelsys.model.study import LEAST_OVER_M, Unusable
from fuelsys.model.sweeps import LEAST_ROOM_M
from fuelsys.report.shown import Shown

NONE_LEFT = "None left: the last usable fuel was gone so many minutes before the switch trips; usable fuel and time stand below zero."
TO_WALL = (
    "To wall: from the mark to the nearest part of the cavity's surface (wall, rib, body inside). The float needs room about"
    " the mark, all the way that it moves; the design does not state its size: compare it."
)


def narrow(clearance_m: float, shown: Shown) -> tuple[str, ...]:
    """A warning where a mark stands so near to a wall that hardly any float has room about it."""
    if clearance_m >= LEAST_ROOM_M:
        return ()
    gap, least = (shown.text(length_m, "length") for length_m in (clearance_m, LEAST_ROOM_M))
    return (
        f"Warning: the mark stands {gap} from a wall; a float seldom has room in {least} (common practice, no source).",
    )


def held_by_line(left: Unusable, shown: Shown) -> tuple[str, ...]:
    """A warning where a feed line that rises above its outlet holds fuel back; none where no line does."""
    most = max(left.at, key=lambda at: at.over_m)
    if most.over_m < LEAST_OVER_M:
        return ()
    return (
        f"Warning: without a pump fuel does not run over a feed line that rises above its outlet, by up to"
        f" {shown.text(most.over_m, 'length')} at {most.attitude.text}: what stands below its highest point counts as residual."
        " A siphon is not relied upon.",
    )
