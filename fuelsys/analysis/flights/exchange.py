"""What joined tanks do to each other at the flight attitudes: what stays behind together, and how long the engine lasts.

Two figures, both told. For ever: the tanks' fuel at one level (`levelled.py`), what all hold when the engine first gets air. For a
time: the flight's own steps (`fly.py`), from one level at the normal attitude. Where a bound is enough, no flight is flown
(`lasting.py`).
On the safe side: the tanks beside hold no more at a lamp's latest trip than at one level with it, in level flight or after whatever
attitude of which no time is stated left least in them; an attitude held for a time comes at the end of what is promised, at the greatest
flow, out of the worst attitude of which no time is stated or in the worst row of such (`rows.py`); what runs over a vent at the turn is
gone.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from functools import cached_property, partial

from fuelsys.analysis.flights.changes import wanting
from fuelsys.analysis.flights.crossovers import crossovers
from fuelsys.analysis.flights.lasting import Joint, Quantities
from fuelsys.analysis.flights.rows import after_rows, as_much, starts
from fuelsys.errors import QuestionError
from fuelsys.kernels.steady import NotSteadyError
from fuelsys.model.built.joining import Joined, joined
from fuelsys.model.built.layout import Layout
from fuelsys.model.found.exchange import Exchange, Lasting, Together, TogetherAt, Turned
from fuelsys.model.found.study import TankStudy
from fuelsys.model.found.switches import SwitchStudy
from fuelsys.model.found.unusable import Held
from fuelsys.model.stated.attitude import Attitude
from fuelsys.model.stated.components import Engine
from fuelsys.model.stated.standards import DAY_RESERVE_S

LOOKED_S = DAY_RESERVE_S  # further nobody looks
_NEAR_M3 = 1e-4  # how near the least quantity that outlasts a time is found; what is told is on the safe side of it
_NEAR_SHARE = 0.01  # the same of what is told, with rows; chosen here, no source
_PASSES = 6  # chosen here, no source
_TRIFLE_M3 = 1e-6  # a millilitre that runs out of a tank is none; chosen here, no source


def exchange(layout: Layout, tanks: Sequence[TankStudy]) -> Exchange:
    """Every group of joined tanks that feeds the engine, and what runs through vent lines between others; of studied tanks only."""
    return Exchange(together(layout, tanks), crossovers(layout, tanks))


def together(layout: Layout, tanks: Sequence[TankStudy]) -> tuple[Together, ...]:
    """Every group of joined tanks that feeds the engine; none of a layout whose tanks are not all studied."""
    studies = {one.name: one for one in tanks}
    found = []
    for group in joined(layout.network):
        if len(group.tanks) > 1 and set(group.tanks) <= set(studies) and _feeds(layout, group):
            found.append(_Group(Joint(layout, group, [studies[name] for name in group.tanks])).found())
    return tuple(found)


def _feeds(layout: Layout, group: Joined) -> bool:
    ways = layout.network.ways("feed")
    return any(way.start.tank in group.tanks and isinstance(layout.network.nodes[way.end], Engine) for way in ways)


@dataclass(eq=False)
class _Group:
    """Joined tanks, looked at attitude by attitude."""

    joint: Joint

    @property
    def tanks(self) -> Sequence[TankStudy]:
        return self.joint.tanks

    def found(self) -> Together:
        left = [one.capacity.unusable for one in self.tanks]
        own_m3 = sum(one.volume_m3 for one in left if one)
        fillable_m3 = sum(self.joint.most_m3.values())
        unknown = [one.name for one in self.tanks if one.capacity.unusable is None]
        if unknown:
            return Together(self.joint.group, (), own_m3, fillable_m3, f"an outlet of {', '.join(unknown)}")
        if missing := [one.name for one in self.tanks if one.capacity.filled is None]:
            return Together(self.joint.group, (), own_m3, fillable_m3, f"a filler or a vent of {', '.join(missing)}")
        try:
            flights = [one for one in self.joint.layout.design.envelope if one.phase == "flight"]
            at, notes = tuple(self.at(one) for one in flights), tuple(self.joint.world.notes)
            return Together(self.joint.group, at, own_m3, fillable_m3, notes=notes)
        except (QuestionError, NotSteadyError) as fault:
            return Together(self.joint.group, (), own_m3, fillable_m3, wanting(fault))

    # --- one attitude

    def _forever(self, attitude: Attitude) -> TogetherAt:
        """What all keep there for themselves, and if it is held for ever."""
        own = {one.name: self.joint.own(one, attitude) for one in self.tanks}
        forever = {name: one.sustained_m3 for name, one in own.items()}
        level_m3 = self.joint.levelled(attitude).left_m3(forever)
        own_m3 = sum(one.unusable_m3 for one in own.values())
        return TogetherAt(attitude, own_m3, sum(forever.values()), level_m3)

    def at(self, attitude: Attitude) -> TogetherAt:
        found = self._forever(attitude)
        if attitude.normal:
            return found
        held = None if attitude.held_s is None else self.briefly[attitude]
        full = self.joint.lasts(attitude, self.joint.most_m3, LOOKED_S) if attitude.held_s is None else None
        lamps = tuple(self.from_lamps(attitude))
        return replace(found, held=held, full=full, lamps=lamps, reserve=self.from_reserve(attitude))

    def from_lamps(self, attitude: Attitude) -> Iterator[Turned]:
        for tank in self.tanks:
            for switch in tank.switches:
                trip = next(one for one in switch.at if one.attitude == attitude)
                if trip.latest_m3 is None:
                    continue
                held, after = self._beside(attitude, tank.name, min(trip.latest_m3, self.joint.most_m3[tank.name]))
                least_s = _least_s(switch, trip.latest_m3)
                promised_s = max(0.0, least_s if switch.target_s is None else min(least_s, switch.target_s))
                until_s = promised_s + switch.delay_s
                own = self._as_alone(attitude, tank, held, until_s)
                lasting = own or self.after(attitude, held, until_s)
                yield Turned(
                    tank.name, switch.name, held[tank.name], promised_s, switch.delay_s, lasting, bool(own), after
                )

    def _beside(self, attitude: Attitude, name: str, held_m3: float) -> tuple[Quantities, Attitude]:
        """What all hold at a trip, and after which attitude: level flight, or one held for ever that left less in the others."""
        design, most_m3 = self.joint.layout.design, self.joint.most_m3
        before = [design.normal("flight")]
        before += [one for one in self.joint.sustained if not one.normal and one != attitude]
        found = [(self.joint.levelled(one).beside(name, held_m3, most_m3), one) for one in before]
        return min(found, key=lambda one: round(sum(one[0].values()), 6))

    def _as_alone(self, attitude: Attitude, tank: TankStudy, held: Quantities, promised_s: float) -> Lasting | None:
        """What is promised of a tank that alone stands before the engine, where nothing runs out of it; None: something may."""
        if self.joint.before != [tank] or tank.tank.drawn_by != tuple(tank.tank.design.outlet):
            return None
        met = [attitude] if attitude.held_s is None else [*self.joint.sustained, *self.joint.brief]
        if any(self.joint.levelled(one).kept_m3(held)[tank.name] < held[tank.name] - _TRIFLE_M3 for one in met):
            return None
        total_m3 = sum(held.values())
        return Lasting(total_m3, promised_s, total_m3 - self.joint.flow_m3_s * promised_s, "", bounded=True)

    def from_reserve(self, attitude: Attitude) -> Turned:
        """From half an hour above what the tanks keep for themselves, each at its worst."""
        own_m3 = sum(one.capacity.unusable.volume_m3 for one in self.tanks if one.capacity.unusable)
        total_m3 = min(own_m3 + self.joint.flow_m3_s * LOOKED_S, sum(self.joint.most_m3.values()))
        promised_s = (total_m3 - own_m3) / self.joint.flow_m3_s
        held = self.joint.normal.together(total_m3, self.joint.most_m3)
        return Turned("", "", total_m3, promised_s, 0.0, self.after(attitude, held, promised_s))

    def after(self, attitude: Attitude, held: Quantities, promised_s: float) -> Lasting:
        """From quantities at the normal attitude: the attitude for ever, or for its time at the end of what is promised."""
        if attitude.held_s is None:
            return self.joint.lasts(attitude, held, max(LOOKED_S, promised_s), enough_s=promised_s)
        gone_m3 = self.joint.flow_m3_s * promised_s - self.joint.burnt_m3([attitude])
        return self._turned(attitude, max(0.0, sum(held.values()) - max(0.0, gone_m3)))

    def _turned(self, attitude: Attitude, total_m3: float) -> Lasting:
        """How long the engine lasts in an attitude held for a time, turned into with a total out of the worst, or in the worst rows."""
        begins = starts(self.joint, total_m3)
        rows = after_rows(self.joint, attitude, begins, total_m3)
        found = self._worst(attitude, [*begins, *rows.left])
        return found if found.stopped or not rows.stopped else max(rows.stopped, key=lambda one: one.left_m3)

    def _worst(self, attitude: Attitude, begins: Sequence[Quantities]) -> Lasting:
        found = [self.joint.lasts(attitude, one, attitude.held_s or 0.0, self.joint.greatest) for one in begins]
        return min(found, key=lambda one: (not one.stopped, one.lasts_s))

    @cached_property
    def briefly(self) -> dict[Attitude, Held]:
        """What is unusable together at each attitude in the time that it is held, turned into out of the worst or at the end of a row.

        Each is asked too with a little more than the least and the most that any keeps for ever: no row may let that run.
        """
        full_m3, brief = sum(self.joint.most_m3.values()), self.joint.brief
        little_m3 = min((self.joint.burnt_m3([one]) for one in brief), default=0.0) / 2.0
        kept_m3 = [min(full_m3, self._forever(one).forever_m3 + little_m3) for one in brief]
        return {one: self._in_rows(one, self._held(one), {min(kept_m3), max(kept_m3)}) for one in brief}

    def _in_rows(self, attitude: Attitude, held: Held, asked_m3: set[float]) -> Held:
        """The same at one of them with rows, held being without; asked are totals with which it may stop, though it lasts with less."""
        if held.from_m3 is None:
            return held
        asked = sorted(one for one in {held.from_m3, *asked_m3} if one >= held.from_m3)
        stopped = [one for one in map(partial(self._turned, attitude), asked) if one.stopped]
        if not stopped:
            return held
        low_m3, left_m3, full_m3 = (
            max(one.total_m3 for one in stopped),
            max(one.left_m3 for one in stopped),
            sum(self.joint.most_m3.values()),
        )
        high_m3 = min(full_m3, 1.5 * low_m3)
        while (one := self._turned(attitude, high_m3)).stopped:
            if high_m3 >= full_m3:
                return self._never(attitude, one)
            low_m3, left_m3, high_m3 = high_m3, max(left_m3, one.left_m3), min(full_m3, 1.5 * high_m3)
        for _ in range(_PASSES):
            likely_m3 = self._likely_m3(attitude, low_m3, high_m3)
            one = self._turned(attitude, likely_m3)
            low_m3, high_m3 = (likely_m3, high_m3) if one.stopped else (low_m3, likely_m3)
            left_m3 = max(left_m3, one.left_m3) if one.stopped else left_m3
            if high_m3 - low_m3 <= max(_NEAR_M3, _NEAR_SHARE * high_m3):
                break
        return Held(held.lasting_s, held.drawn_m3_s, high_m3, left_m3 + (high_m3 - low_m3))

    def _likely_m3(self, attitude: Attitude, low_m3: float, high_m3: float) -> float:
        """A total between two of which one stops and one lasts: the most that stops with what rows leave apart at the greater one."""
        apart = after_rows(self.joint, attitude, starts(self.joint, high_m3), high_m3).left
        stops_m3, lasts_m3 = low_m3, high_m3
        while lasts_m3 - stops_m3 > max(_NEAR_M3, _NEAR_SHARE / 4.0 * high_m3):
            middle_m3 = (stops_m3 + lasts_m3) / 2.0
            moved = [as_much(self.joint, one, middle_m3) for one in apart]
            stops = self._worst(attitude, [*starts(self.joint, middle_m3), *moved]).stopped
            stops_m3, lasts_m3 = (middle_m3, lasts_m3) if stops else (stops_m3, middle_m3)
        return stops_m3 if stops_m3 > low_m3 else (low_m3 + high_m3) / 2.0

    def _never(self, attitude: Attitude, full: Lasting) -> Held:
        """The same where full tanks do not outlast it."""
        drawn_m3_s, at = self.joint.layout.design.flows_m3_s[self.joint.greatest], self._forever(attitude)
        return Held(attitude.held_s or 0.0, drawn_m3_s, None, max(at.level_m3, at.own_forever_m3, full.left_m3))

    def _held(self, attitude: Attitude) -> Held:
        """The same without rows."""
        at, held_s = self._forever(attitude), attitude.held_s or 0.0
        drawn_m3_s = self.joint.layout.design.flows_m3_s[self.joint.greatest]
        full_m3 = sum(self.joint.most_m3.values())

        def lasts(total_m3: float) -> Lasting:
            return self._worst(attitude, starts(self.joint, total_m3))

        own = [self.joint.own(one, attitude) for one in self.tanks]
        least_m3 = sum(one.held.from_m3 if one.held and one.held.from_m3 else one.unusable_m3 for one in own)
        low_m3, likely_m3 = (min(one, full_m3) for one in (at.own_m3 + drawn_m3_s * held_s, least_m3))
        if not lasts(low_m3).stopped:
            return Held(held_s, drawn_m3_s, low_m3, at.own_m3)
        if likely_m3 > low_m3 and not lasts(likely_m3).stopped:
            return self._least(lasts, (low_m3, likely_m3), held_s, drawn_m3_s)
        full = lasts(full_m3)
        if full.stopped:
            return self._never(attitude, full)
        return self._least(lasts, (low_m3, full_m3), held_s, drawn_m3_s)

    @staticmethod
    def _least(lasts: Callable[[float], Lasting], ends: tuple[float, float], held_s: float, drawn_m3_s: float) -> Held:
        low, high = ends
        left_m3 = lasts(low).left_m3
        while high - low > max(_NEAR_M3, 0.005 * ends[1]):
            middle = (low + high) / 2.0
            one = lasts(middle)
            if one.stopped:
                low, left_m3 = middle, max(left_m3, one.left_m3)
            else:
                high = middle
        return Held(held_s, drawn_m3_s, high, left_m3 + (high - low))


def _least_s(switch: SwitchStudy, quantity_m3: float) -> float:
    """Seconds that are told of the tank alone, in the worst state that is known."""
    known = [switch.least_minutes(quantity_m3), switch.alone_minutes(quantity_m3)]
    return min(one for one in known if one is not None) * 60.0
