"""What leaves a tank for good while an engine runs, and how long the usable fuel in it lasts at that.

`model/outflow.Outflow` is the one record of what leaves a tank: its share of what is burnt (the usual state) and, in the worst
state, all that is burnt and what the engine returns elsewhere. A tank with usable fuel u, burnt flow b and returned flow r loses
b + r until the other tank holds back what it may hold back at another attitude (h: its most less its least unusable fuel in
flight); from then on all of r runs on by gravity. So the least time over all histories is max(u / (b + r), (u - h) / b), and
u / (b + r) where a valve, selector or pump stands between. Switches' tables ("least"), `place`, `place --search`, `tolerance` and
warning-below-ten-minutes use it; warning-late counts all that is burnt, warning-late-by-return the return on top; a mark's rise
serves both. A return that a selector is stated to switch is taken at its word.
"""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class Outflow:
    """The flow out of one tank at one phase, in the usual state and in the worst that the design permits.

    share_m3_s is the tank's share of what is burnt, alone_m3_s all that is burnt: what it gives when the tanks that share with
    it are empty. returned_m3_s is drawn on top and goes to other tanks (to); None where the design does not say how much.
    held_m3 is how much of that those may come to keep before they let it run back by gravity; None where nothing brings it
    back for certain.
    doubts say why minutes may be wrong: what of the tank's feed is not stated.
    """

    share_m3_s: float
    alone_m3_s: float
    returned_m3_s: float | None = 0.0
    held_m3: float | None = None
    to: tuple[str, ...] = ()
    doubts: tuple[str, ...] = ()

    def least_s(self, usable_m3: float, times: float = 1.0) -> float | None:
        """How long usable fuel lasts at the worst, all flows being so many times what they are; None: needs the return flow.

        u lasts u / (burnt + returned), or (u - held) / burnt where all but what is held runs back. 6.104 L, 18 L/h burnt and
        20 returned for good last 9.64 min; where it all comes back, 20.35:

        >>> litre, hour = 1e-3, 1e-3 / 3600.0
        >>> gone = Outflow(18 * hour, 18 * hour, 20 * hour)
        >>> back = Outflow(18 * hour, 18 * hour, 20 * hour, 0.0)
        >>> round(gone.least_s(6.104 * litre) / 60, 2), round(back.least_s(6.104 * litre) / 60, 2)
        (9.64, 20.35)
        """
        if self.returned_m3_s is None:
            return None
        alone_s = usable_m3 / self.alone_m3_s
        drawn_s = usable_m3 / (self.alone_m3_s + self.returned_m3_s)
        # With nothing usable left, drawing more makes it no less late.
        least_s = min(drawn_s, alone_s, usable_m3 / self.share_m3_s)
        if self.held_m3 is not None:
            least_s = max(least_s, (usable_m3 - self.held_m3) / self.alone_m3_s)
        return least_s / times

    def usable_for_m3(self, lasting_s: float) -> float | None:
        """The usable fuel that lasts a time at the worst; None: needs the return flow."""
        if self.returned_m3_s is None:
            return None
        drawn_m3 = (self.alone_m3_s + self.returned_m3_s) * lasting_s
        return drawn_m3 if self.held_m3 is None else min(drawn_m3, self.alone_m3_s * lasting_s + self.held_m3)
