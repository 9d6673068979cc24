"""What may happen next on a flight, and when in a step the first of it does."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Sequence
from dataclasses import dataclass
from typing import NamedTuple

from fuelsys.analysis.flights.legs import Leg, Moment
from fuelsys.analysis.tank.standing import tank_of
from fuelsys.arrays import Floats
from fuelsys.kernels.stepping import Stretch
from fuelsys.model.built.ends import PortEnd


class Steps(NamedTuple):
    """How long a step is at most, and how far off each tank's quantity may be after one."""

    longest_s: float
    off_m3: float


FINE = Steps(300.0, 2e-8)
COARSE = Steps(
    900.0, 1e-7
)  # half the time; on the example moments are the same within a ten-thousandth of a second (measured)
RISING_M3_S = 1e-12
_PAST_M3 = 1e-12  # a surface is past a point when so much more is: rounding must not decide
_CREEP_M3 = 1e-9
_HALVINGS = 40
_Lamp = tuple[str, str]  # tank and switch
STOPS = {  # by the gap that ends the flight
    "dry": "no outlet under fuel leads to it",
    "too little": "the height of the fuel does not drive the flow that it needs",
    "boils": "the fuel boils in the line: the air in a tank without a vent has grown thin",
    "lets air past": "air comes past the empty tank {tank}",
}


@dataclass(frozen=True)
class Crossing:
    """A quantity that a tank's may fall below (sign -1) or rise above (1), and what happens then."""

    tank: int
    volume_m3: float
    sign: int
    what: str
    port: PortEnd | None = None
    lamp: str = ""

    def passed(self, held: Floats) -> bool:
        """Whether quantities (n,) are past it."""
        return bool((held[self.tank] - self.volume_m3) * self.sign > _PAST_M3)


def crossings(
    leg: Leg, here: Floats, stuck: Collection[_Lamp], lit: Collection[_Lamp], late: Collection[_Lamp]
) -> Iterator[Crossing]:
    """All that may happen next to the tanks whose quantity changes; stuck, lit and late are lamps."""
    yield from _ends(leg, here)
    yield from _lamps(leg, stuck, lit, late)


def _ends(leg: Leg, here: Floats) -> Iterator[Crossing]:
    """Where surfaces that move come to a port's lip or fill their tank."""
    gets = leg.moment(here).rates
    for i, (tank, standing) in enumerate(leg.standings.items()):
        mode = leg.modes[tank]
        if not mode.free:
            continue
        held = float(here[i])
        for end in leg.plumbed.ports.get(tank, ()):
            lip = standing.lips[end.port][0]
            if end in mode.under:
                yield Crossing(i, lip, -1, "bares", end)
            else:  # where nothing comes, the rounding of flows must not carry the surface over the lip
                yield Crossing(i, lip if gets[i] > RISING_M3_S else max(lip, held) + _CREEP_M3, 1, "covers", end)
        yield Crossing(i, leg.most_m3[tank], 1, "fills")
        if tank in leg.parts_at:
            yield Crossing(i, leg.parts_at[tank], -1, "parts")


def _lamps(leg: Leg, stuck: Collection[_Lamp], lit: Collection[_Lamp], late: Collection[_Lamp]) -> Iterator[Crossing]:
    """Where surfaces that move pass a switch's mark, or the lowest that its tolerance lets it be."""
    for i, (vessel, standing) in enumerate(leg.standings.items()):
        tank = tank_of(vessel)
        for lamp, (trip, reset, latest) in standing.lamps.items() if leg.modes[vessel].free else ():
            if trip is None or reset is None or (tank, lamp) in stuck:
                continue
            is_lit = (tank, lamp) in lit
            yield Crossing(i, reset if is_lit else trip, 1 if is_lit else -1, "lamp", lamp=lamp)
            if is_lit and latest is not None:
                gone = (tank, lamp) in late
                at_m3 = latest + (reset - trip) if gone else latest
                yield Crossing(i, at_m3, 1 if gone else -1, "late out" if gone else "late", lamp=lamp)


def first_event(leg: Leg, step: Stretch, ahead: Sequence[Crossing]) -> tuple[float, Crossing | None, bool]:
    """The first event in a step: at what share of it, what is crossed, and whether a mode no longer holds."""
    until, found = 1.0, None
    for share in (0.25, 0.5, 0.75, 1.0):
        there = step.at(share)
        passed = [one for one in ahead if one.passed(there)]
        if passed:
            until, found = share, passed[0]
            break
    if found:
        low, high = 0.0, until
        for _ in range(_HALVINGS):
            middle = (low + high) / 2.0
            there = step.at(middle)
            passed = [one for one in ahead if one.passed(there)]
            if passed:
                high, found = middle, passed[0]
            else:
                low = middle
        until = high
    if not _broken(leg.moment(step.at(until))):
        return until, found, False
    low, high = 0.0, until
    while (high - low) * step.length_s > 1e-6:
        middle = (low + high) / 2.0
        low, high = (low, middle) if _broken(leg.moment(step.at(middle))) else (middle, high)
    return high, None, True


def _broken(moment: Moment) -> bool:
    return not moment.fed or any(not gap.value >= 0.0 for gap in moment.gaps)
