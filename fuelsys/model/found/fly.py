"""A flight as it was computed: what every tank holds from moment to moment, and what happens when; all SI."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np

from fuelsys.arrays import Floats
from fuelsys.model.stated.attitude import Attitude
from fuelsys.model.words import Words

What = Literal[
    "begins", "lights", "goes out", "outlet dry", "outlet covered", "passes on", "full", "falls", "runs over", "stops running over",
    "breathes", "parts", "joins", "air", "ends",
]  # fmt: skip
ENOUGH_S = 600.0  # a warning that comes later before the engine gets air is marked; common practice, no source

LEAK_BORE_M = 1e-3  # of the hole that a valve, selector or check valve that leaks is as good as; chosen here, no source


@dataclass(frozen=True)
class Happening:
    """What happens at a moment: to a tank (empty: to the engine or the flight), named more closely by detail."""

    at_s: float
    what: What
    tank: str
    detail: str
    held_m3: float | None
    total_m3: float


@dataclass(frozen=True)
class Part:
    """A part of a flight: from when on, at which attitude and named flow, what the engine sends back and where that goes."""

    name: str
    from_s: float
    attitude: Attitude
    flow: str
    burnt_m3_s: float
    back_m3_s: float
    back_to: str


@dataclass(frozen=True)
class Warned:
    """A lamp that is lit when the flight ends: when it lit, what its tank and all held then. first: it was lit from the start.

    aside: its tank only fills others by a pump, so it lights in every flight and warns of nothing. late_s is when it lights with
    its mark low by its tolerance; None: then it does not before the end. target_s is the lead that its switch is meant to give.
    """

    tank: str
    switch: str
    lit_s: float
    held_m3: float
    total_m3: float
    first: bool = False
    aside: bool = False
    late_s: float | None = None
    target_s: float | None = None


@dataclass(frozen=True)
class Flown:
    """A flight from its beginning to its end: held_m3 (k, n) in each tank at times_s (k,), and what was burnt and lost by then.

    stopped says whether the engine stopped for want of fuel, and why in a few words; else the flight ended as planned.
    """

    tanks: tuple[str, ...]
    times_s: Floats
    held_m3: Floats
    burnt_m3: Floats
    overboard_m3: Floats
    happenings: tuple[Happening, ...]
    warned: tuple[Warned, ...]
    stopped: str
    parts: tuple[Part, ...] = ()
    notes: tuple[str, ...] = ()

    @property
    def end_s(self) -> float:
        """When it ended."""
        return float(self.times_s[-1])

    @property
    def left_m3(self) -> float:
        """What all tanks still hold then."""
        return float(self.held_m3[-1].sum())

    def below_s(self, total_m3: float) -> float:
        """How long before its end all tanks together have come below a quantity for the last time; 0 where they never do."""
        totals = self.held_m3.sum(axis=1)
        above = np.flatnonzero(totals >= total_m3)
        if above.size == 0:
            return self.end_s
        last = int(above[-1])
        if last + 1 == totals.size:
            return 0.0
        share = (totals[last] - total_m3) / (totals[last] - totals[last + 1])
        return self.end_s - float(self.times_s[last] + share * (self.times_s[last + 1] - self.times_s[last]))

    @property
    def lost_m3(self) -> float:
        """By how much what is held, burnt and lost overboard differs from what was loaded."""
        return float(self.held_m3[-1].sum() + self.burnt_m3[-1] + self.overboard_m3[-1] - self.held_m3[0].sum())

    @property
    def warning(self) -> Warned | None:
        """The first lamp that lit in flight, of a tank that the engine lives on, and was still lit when it stopped; None: none did."""
        return min(self.warnings, key=lambda one: one.lit_s) if self.warnings and self.stopped else None

    @property
    def warnings(self) -> list[Warned]:
        """All lamps that warn of it."""
        airs = [one.at_s for one in self.happenings if one.what == "air" and one.at_s < self.end_s]
        spent = {one.tank for one in self.happenings if airs and one.what == "outlet dry" and one.at_s <= airs[-1]}
        return [one for one in self.warned if not one.first and not one.aside and one.tank not in spent]


@dataclass(frozen=True)
class Change:
    """A change of the design, in words, and the flight of the changed design with the same thing wrong, which proves it.

    lamp: it is a mark or a switch, so that a lamp could have told of the failure.
    """

    words: Words
    proof: Failing
    lamp: bool = False


@dataclass(frozen=True)
class Failing:
    """A flight with one thing wrong; flown is None where it cannot be computed, and needs says for want of what.

    at_once: the engine stops at the moment at which it goes wrong, so that no lamp can tell it before; meant: it stops since what
    is there to shut the fuel off is shut, or the only tank that feeds it gives nothing. change is the cheapest change found
    that gives enough of a warning, or keeps the engine running; tried are the kinds of change that were flown and do not, unflown
    those of which a design could not be flown, each with what it needs, pairs how many pairs of changes were flown. cause is what
    commonly brings it about; stated is whether the design says that it happens, or else it was put together of what it says;
    held: it is an attitude that is held; dark: it takes all lamps with it.
    """

    words: str
    flown: Flown | None
    needs: str = ""
    at_once: bool = False
    meant: bool = False
    change: Change | None = None
    tried: tuple[str, ...] = ()
    unflown: tuple[str, ...] = ()
    pairs: int = 0
    cause: str = ""
    stated: bool = True
    held: bool = False
    dark: bool = False

    @property
    def before_s(self) -> float | None:
        """How long before the engine stops a warning comes; None where none comes or the engine does not stop."""
        if self.flown is None or self.flown.warning is None:
            return None
        return self.flown.end_s - self.flown.warning.lit_s

    @property
    def least_s(self) -> float | None:
        """The same with each lamp's mark low by its tolerance: what can be counted on."""
        late = [one.late_s for one in self.flown.warnings if one.late_s is not None] if self.flown else []
        return self.flown.end_s - min(late) if self.flown and self.flown.stopped and late else None

    @property
    def marked(self) -> bool:
        """Whether the engine stops with no warning, or with less than enough that can be counted on."""
        return bool(self.flown and self.flown.stopped) and (self.least_s is None or self.least_s < ENOUGH_S)


@dataclass(frozen=True)
class Failures:
    """The flight with nothing wrong, with each single thing, and with each pair of them by one cause; needs says why there is none.

    basis says which flight it is, more how many pairs were not flown.
    """

    basis: Words
    usual: Flown | None = None
    single: tuple[Failing, ...] = ()
    needs: str = ""
    together: tuple[Failing, ...] = ()
    more: int = 0

    @property
    def every(self) -> tuple[Failing, ...]:
        """The single things, then the pairs."""
        return (*self.single, *self.together)
