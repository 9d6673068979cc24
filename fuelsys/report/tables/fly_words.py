"""What of a flight nobody may plan on, in sentences: fuel that is unusable elsewhere, an attitude flown for longer than it is held."""

from __future__ import annotations

import numpy as np

from fuelsys import units
from fuelsys.model.found.fly import Flown
from fuelsys.model.stated.attitude import Attitude
from fuelsys.model.words import Doubt
from fuelsys.report.shown import Shown

_LEAST_M3 = 0.5e-6  # less is nothing in any unit that figures are shown in
_ROUNDING_S = 1e-6  # of two moments of a flight


def beyond(
    flown: Flown, unusable: tuple[Attitude, float] | None, not_placarded_m3: float | None, shown: Shown
) -> list[str]:
    """What of the flight is flown on fuel that another attitude of the envelope would keep."""
    if unusable is None:
        return [
            "How much of it is unusable at the worst flight attitude: not checked, needs each tank's unusable fuel."
        ]
    attitude, unusable_m3 = unusable
    below_s = flown.below_s(unusable_m3)
    below_m3 = min(unusable_m3, float(flown.held_m3[0].sum())) - flown.left_m3 - _overboard_in(flown, below_s)
    said: list[str] = []
    if below_m3 >= _LEAST_M3:
        said.append(
            f"the last {units.minutes(below_s)} min burn up to {shown.text(below_m3, 'volume')} of the unusable fuel of"
            f" the envelope, {shown.text(unusable_m3, 'volume')} at {attitude.text}: do not plan on them."
        )
    if not_placarded_m3 is not None and not_placarded_m3 - max(unusable_m3, flown.left_m3) >= _LEAST_M3:
        said.append(
            f"the last {units.minutes(flown.below_s(not_placarded_m3))} min are flown on what the placards leave out of full tanks, each at"
            f" its own worst attitude: {shown.text(not_placarded_m3, 'volume')}. Plan with the placards."
        )
    unknown = "What of it the placards leave out: not checked, needs what each tank can be filled to."
    return [*(Doubt(one) for one in said), *([unknown] if not_placarded_m3 is None else [])]


def longer(flown: Flown) -> list[str]:
    """Parts that are flown longer than the design says that their attitude is held: unusable fuel and lamps do not count that."""
    ends_s = [*(part.from_s for part in flown.parts[1:]), flown.end_s]
    return [
        Doubt(
            f"{part.attitude.text} is flown for {units.minutes(end_s - part.from_s)} min: unusable fuel, lamps and placards count it for"
            " so long as the design says that it is held, not for this."
        )
        for part, end_s in zip(flown.parts, ends_s, strict=True)
        if part.attitude.held_s is not None and end_s - part.from_s > part.attitude.held_s + _ROUNDING_S
    ]


def _overboard_in(flown: Flown, last_s: float) -> float:
    """What is lost overboard in the end of a flight."""
    before = np.interp(flown.end_s - last_s, flown.times_s, flown.overboard_m3)
    return float(flown.overboard_m3[-1] - before)
