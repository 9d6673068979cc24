"""Notes that stand under several tables."""

from __future__ import annotations

from fuelsys.report.shown import Shown

NONE_LEFT = "None left: the last usable fuel was gone so many minutes before the switch trips; usable fuel and time stand below zero."
TO_WALL = (
    "To wall: from the mark to the nearest part of the cavity's surface (wall, rib, body inside). The float needs room about"
    " the mark, all the way that it moves; the design does not state its size: compare it."
)
_LEAST_ROOM_M = 0.010  # common practice, no source


def narrow(clearance_m: float, shown: Shown) -> tuple[str, ...]:
    """A warning where a mark stands so near to a wall that hardly any float has room about it."""
    if clearance_m >= _LEAST_ROOM_M:
        return ()
    gap, least = (shown.text(length_m, "length") for length_m in (clearance_m, _LEAST_ROOM_M))
    return (
        f"Warning: the mark stands {gap} from a wall; a float seldom has room in {least} (common practice, no source).",
    )
