"""What runs between joined tanks at the flight attitudes, as it was computed: what stays behind together, how long the engine lasts."""

from __future__ import annotations

from dataclasses import dataclass
from math import inf

from fuelsys.model.built.joining import Joined
from fuelsys.model.found.unusable import Held
from fuelsys.model.stated.attitude import Attitude


@dataclass(frozen=True)
class Lasting:
    """The engine, from a turn into an attitude on: until it gets air or too little, or until it was no longer looked at.

    total_m3 is aboard in the joined tanks at the turn, left_m3 in the end; stopped is why the engine stops, empty where it
    goes on. bounded: found without a flight, by what its own tank keeps whatever runs out of it to the others.
    """

    total_m3: float
    lasts_s: float
    left_m3: float
    stopped: str
    bounded: bool = False


@dataclass(frozen=True)
class Turned:
    """The same from a lamp's latest trip at an attitude, with what its tank holds then; or, without a tank, from a reserve.

    promised_s is what is told of the tank for itself, from when the lamp lights, delay_s after the trip; no more than its target. Where
    the attitude is held for a time, the turn comes at the end of that, and the attitude lasts so long. own: nothing runs out of its tank,
    which alone stands before the engine, so what is told of it for itself holds. after: the attitude before the turn.
    """

    tank: str
    switch: str
    held_m3: float
    promised_s: float
    delay_s: float
    lasting: Lasting
    own: bool = False
    after: Attitude | None = None

    @property
    def until_s(self) -> float:
        """How long the engine is to last from the turn."""
        return self.promised_s + self.delay_s


@dataclass(frozen=True)
class TogetherAt:
    """Joined tanks at one flight attitude. own_m3 is what the tanks keep each for itself, as it counts there; own_forever_m3 for ever.

    level_m3 is what all hold when the engine first gets air or too little, their fuel at one level: the attitude held for ever.
    held is the same for the time that it is held, full how long the engine lasts from full tanks, if it is held for ever; lamps and
    reserve how long from a lamp's trip, and from half an hour above what the tanks keep for themselves.
    """

    attitude: Attitude
    own_m3: float
    own_forever_m3: float
    level_m3: float
    held: Held | None = None
    full: Lasting | None = None
    lamps: tuple[Turned, ...] = ()
    reserve: Turned | None = None

    @property
    def forever_m3(self) -> float:
        """What is unusable together if the attitude is held for ever: never less than what the tanks keep for themselves."""
        return max(self.level_m3, self.own_forever_m3, self.held.unusable_m3 if self.held else 0.0)

    @property
    def unusable_m3(self) -> float:
        """What counts: for the time that the attitude is held, where one is stated, else for ever."""
        return self.forever_m3 if self.held is None else max(self.own_m3, self.held.unusable_m3)


@dataclass(frozen=True)
class Together:
    """Joined tanks over the flight attitudes; needs says what it takes to know, and at is empty then.

    own_m3 is the sum of the tanks' own unusable fuel, each at its own worst attitude; fillable_m3 what is filled into all. notes
    are those of every flight with them.
    """

    joined: Joined
    at: tuple[TogetherAt, ...]
    own_m3: float
    fillable_m3: float
    needs: str = ""
    notes: tuple[str, ...] = ()

    @property
    def worst(self) -> TogetherAt:
        """The flight attitude at which most stays behind together."""
        return max(self.at, key=lambda one: one.unusable_m3)

    @property
    def unusable_m3(self) -> float:
        """What is unusable together: never less than the tanks' own sum."""
        return max([self.own_m3, *(one.unusable_m3 for one in self.at)])

    @property
    def usable_m3(self) -> float:
        """What is left for use of all that is filled in."""
        return max(0.0, self.fillable_m3 - self.unusable_m3)


@dataclass(frozen=True)
class Crossed:
    """Full tanks whose air a vent line joins, at the worst flight attitude: how far fuel stands over that line's top, and what runs over.

    above_m below zero: nothing does. into_m3 is what stays in the other tank, over_m3 what goes overboard from there.
    """

    attitude: Attitude
    tank: str
    into: str
    line: str
    above_m: float
    into_m3: float
    over_m3: float


@dataclass(frozen=True)
class Exchange:
    """All groups of joined tanks that feed the engine, and the worst of each vent line between tanks that are not joined."""

    together: tuple[Together, ...] = ()
    crossed: tuple[Crossed, ...] = ()

    @property
    def apart(self) -> list[Together]:
        """Known groups of which none has a tank of another: those first that keep most beyond what their tanks keep for themselves."""
        found: list[Together] = []
        for group in sorted(self.together, key=lambda one: one.own_m3 - one.unusable_m3):
            if group.at and not any(set(one.joined.tanks) & set(group.joined.tanks) for one in found):
                found.append(group)
        return found

    def least_s(self, tank: str, switch: str) -> float:
        """From a lamp's light until the engine stops by what runs across, at the least; infinite where that stops it nowhere."""
        found = inf
        for at in (at for group in self.together for at in group.at):
            for one in (one for one in at.lamps if (one.tank, one.switch) == (tank, switch) and one.lasting.stopped):
                late_s = (
                    one.until_s if at.attitude.held_s is None else at.attitude.held_s
                )  # what the engine is to last from the turn
                found = min(found, one.promised_s - (late_s - one.lasting.lasts_s))
        return found

    @property
    def unknown(self) -> list[Together]:
        """Groups of which it is not known what they keep together."""
        return [group for group in self.together if group.needs]
