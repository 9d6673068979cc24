"""What joined tanks do to each other at the flight attitudes: what stays behind together, and how long the engine lasts.

Two figures, both told. For ever: the tanks' fuel at one level (`levelled.py`), what all hold when the engine first gets air. For a
time: the flight's own steps (`fly.py`), from one level at the normal attitude. Where one tank alone stands before the engine, what it
keeps if all else ran across at once is a bound, and saves the flight; where that is enough, no flight is flown.
On the safe side: the tanks beside hold no more at a lamp's latest trip than at one level with it; an attitude held for a time comes at
the end of what is promised, at the greatest flow; what runs over a vent at the turn is gone.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property
from itertools import product
from math import inf

from fuelsys.analysis.flights.changes import wanting
from fuelsys.analysis.flights.crossovers import crossovers
from fuelsys.analysis.flights.events import Steps
from fuelsys.analysis.flights.fly import flown
from fuelsys.analysis.flights.levelled import Levelled
from fuelsys.analysis.flights.plumbed import tanks_behind
from fuelsys.analysis.flights.setting import World
from fuelsys.analysis.lines.sources import sources_of
from fuelsys.analysis.tank.unusable import held_at, left_at, outlets, starts_of
from fuelsys.errors import QuestionError
from fuelsys.kernels.steady import NotSteadyError
from fuelsys.model.built.joining import Joined, joined
from fuelsys.model.built.layout import Layout
from fuelsys.model.found.exchange import Exchange, Turned, Lasting, Together, TogetherAt
from fuelsys.model.found.study import TankStudy
from fuelsys.model.found.switches import SwitchStudy
from fuelsys.model.found.unusable import Held, UnusableAt
from fuelsys.model.stated.attitude import Attitude
from fuelsys.model.stated.components import Engine, Pump, Selector
from fuelsys.model.stated.design import Segment

LOOKED_S = 1800.0  # as long as a day flight keeps in hand at cruise, 14 CFR 91.151(a)(1); further nobody looks
PACE = Steps(900.0, 5e-7)  # half a millilitre a step
_NEAR_M3 = 1e-4  # how near the least quantity that outlasts a time is found; what is told is on the safe side of it
_TRIFLE_M3 = 1e-6
_MOST_SETTINGS = 8
Quantities = Mapping[str, float]


def exchange(layout: Layout, tanks: Sequence[TankStudy]) -> Exchange:
    """Every group of joined tanks that feeds the engine, and what runs through vent lines between others; of studied tanks only."""
    return Exchange(together(layout, tanks), crossovers(layout, tanks))


def together(layout: Layout, tanks: Sequence[TankStudy]) -> tuple[Together, ...]:
    """Every group of joined tanks that feeds the engine; none of a layout whose tanks are not all studied."""
    studies = {one.name: one for one in tanks}
    found = []
    for group in joined(layout.network):
        if len(group.tanks) > 1 and set(group.tanks) <= set(studies) and _feeds(layout, group):
            found.append(_Group(layout, group, [studies[name] for name in group.tanks]).found())
    return tuple(found)


def _feeds(layout: Layout, group: Joined) -> bool:
    ways = layout.network.ways("feed")
    return any(way.start.tank in group.tanks and isinstance(layout.network.nodes[way.end], Engine) for way in ways)


@dataclass(eq=False)
class _Group:
    """Joined tanks, with what was computed of each."""

    layout: Layout
    group: Joined
    tanks: Sequence[TankStudy]
    _levelled: dict[Attitude, Levelled] = field(default_factory=dict)
    _feeding: dict[tuple[str, Attitude], UnusableAt] = field(default_factory=dict)

    def found(self) -> Together:
        left = [one.capacity.unusable for one in self.tanks]
        own_m3 = sum(one.volume_m3 for one in left if one)
        fillable_m3 = sum(self.most_m3.values())
        unknown = [one.name for one in self.tanks if one.capacity.unusable is None]
        if unknown:
            return Together(self.group, (), own_m3, fillable_m3, f"an outlet of {', '.join(unknown)}")
        if missing := [one.name for one in self.tanks if one.capacity.filled is None]:
            return Together(self.group, (), own_m3, fillable_m3, f"a filler or a vent of {', '.join(missing)}")
        try:
            flights = [one for one in self.layout.design.envelope if one.phase == "flight"]
            return Together(self.group, tuple(self.at(one) for one in flights), own_m3, fillable_m3)
        except (QuestionError, NotSteadyError) as fault:
            return Together(self.group, (), own_m3, fillable_m3, wanting(fault))

    # --- what is known of the tanks

    @cached_property
    def most_m3(self) -> dict[str, float]:
        """What each is filled to."""
        return {
            one.name: one.capacity.filled.volume_m3 if one.capacity.filled else one.tank.cavity.gross_m3
            for one in self.tanks
        }

    @cached_property
    def world(self) -> World:
        return World.of(self.layout)

    @cached_property
    def normal(self) -> Levelled:
        return self.levelled(self.layout.design.normal("flight"))

    def levelled(self, attitude: Attitude) -> Levelled:
        if attitude not in self._levelled:
            fitted = [one.tank for one in self.tanks]
            self._levelled[attitude] = Levelled(self.world.solving, fitted, attitude)
        return self._levelled[attitude]

    @cached_property
    def flow_m3_s(self) -> float:
        return self.layout.design.reserve_flow_m3_s

    @cached_property
    def greatest(self) -> str:
        """The greatest flow stated."""
        flows = self.layout.design.flows_m3_s
        return max(flows, key=lambda name: flows[name])

    def own(self, tank: TankStudy, attitude: Attitude) -> UnusableAt:
        """What a tank keeps for itself."""
        left = tank.capacity.unusable
        assert left is not None
        return next(one for one in left.at if one.attitude == attitude)

    def feeding(self, tank: TankStudy, attitude: Attitude) -> UnusableAt:
        """What a tank before the engine keeps, by those of its outlets alone that lead on to it: by others fuel only leaves it."""
        own, levelled = self.own(tank, attitude), self.levelled(attitude)
        design, names = tank.tank.design, levelled.leading_on(tank.name)
        if len(names) == len(design.outlet):
            return own
        if (tank.name, attitude) not in self._feeding:
            outlet = tuple(one for one in design.outlet if one.name in names)
            ends = {
                name: replace(one, others=tuple(other for other in one.others if other in names))
                for name, one in tank.tank.ends.items()
                if name in names
            }
            fitted = replace(tank.tank, design=design.model_copy(update={"outlet": outlet}), ends=ends)
            openings, starts = outlets(fitted), starts_of(self.layout.design.envelope)
            held = held_at(fitted, (attitude.up, attitude), starts, openings)
            found = replace(left_at(fitted.cavity, attitude, openings), held=held)
            self._feeding[tank.name, attitude] = found
        return self._feeding[tank.name, attitude]

    @cached_property
    def before(self) -> list[TankStudy]:
        """The tanks that stand before the engine, be it a pump's; none where one of them is not of these."""
        names = set[str | None]()
        for end, part in self.layout.network.nodes.items():
            if isinstance(part, (Engine, Pump)) and end not in self.layout.network.transfer_pumps:
                names |= {one.tank for one in sources_of(self.layout, end)}
        return [one for one in self.tanks if one.name in names] if names <= set(self.group.tanks) else []

    # --- one attitude

    def at(self, attitude: Attitude) -> TogetherAt:
        own = {one.name: self.own(one, attitude) for one in self.tanks}
        forever = {name: one.sustained_m3 for name, one in own.items()}
        level_m3 = self.levelled(attitude).left_m3(forever)
        own_m3 = sum(one.unusable_m3 for one in own.values())
        found = TogetherAt(attitude, own_m3, sum(forever.values()), level_m3)
        if attitude.normal:
            return found
        held = self.held(attitude, found) if attitude.held_s is not None else None
        full = self.lasts(attitude, self.most_m3, LOOKED_S) if attitude.held_s is None else None
        lamps = tuple(self.from_lamps(attitude))
        return TogetherAt(
            attitude, own_m3, found.own_forever_m3, level_m3, held, full, lamps, self.from_reserve(attitude)
        )

    def from_lamps(self, attitude: Attitude) -> Iterator[Turned]:
        for tank in self.tanks:
            for switch in tank.switches:
                trip = next(one for one in switch.at if one.attitude == attitude)
                if trip.latest_m3 is None:
                    continue
                held = self.normal.beside(tank.name, min(trip.latest_m3, self.most_m3[tank.name]), self.most_m3)
                least_s = _least_s(switch, trip.latest_m3)
                promised_s = max(0.0, least_s if switch.target_s is None else min(least_s, switch.target_s))
                until_s = promised_s + switch.delay_s
                own = self._as_alone(attitude, tank, held, until_s)
                lasting = own or self.after(attitude, held, until_s)
                yield Turned(tank.name, switch.name, held[tank.name], promised_s, switch.delay_s, lasting, bool(own))

    def _as_alone(self, attitude: Attitude, tank: TankStudy, held: Quantities, promised_s: float) -> Lasting | None:
        """What is promised of a tank that alone stands before the engine, where nothing runs out of it; None: something may."""
        if self.before != [tank] or self.feeding(tank, attitude) is not self.own(tank, attitude):
            return None
        if self.levelled(attitude).kept_m3(held)[tank.name] < held[tank.name] - _TRIFLE_M3:
            return None
        total_m3 = sum(held.values())
        return Lasting(total_m3, promised_s, total_m3 - self.flow_m3_s * promised_s, "", bounded=True)

    def from_reserve(self, attitude: Attitude) -> Turned:
        """From half an hour above what the tanks keep for themselves, each at its worst."""
        own_m3 = sum(one.capacity.unusable.volume_m3 for one in self.tanks if one.capacity.unusable)
        total_m3 = min(own_m3 + self.flow_m3_s * LOOKED_S, sum(self.most_m3.values()))
        promised_s = (total_m3 - own_m3) / self.flow_m3_s
        held = self.normal.together(total_m3, self.most_m3)
        return Turned("", "", total_m3, promised_s, 0.0, self.after(attitude, held, promised_s))

    def after(self, attitude: Attitude, held: Quantities, promised_s: float) -> Lasting:
        """From quantities at the normal attitude: the attitude for ever, or for its time at the end of what is promised."""
        if attitude.held_s is None:
            return self.lasts(attitude, held, max(LOOKED_S, promised_s), enough_s=promised_s)
        gone_m3 = self.flow_m3_s * max(0.0, promised_s - attitude.held_s)
        if gone_m3 > 0.0:
            held = self.normal.together(max(0.0, sum(held.values()) - gone_m3), self.most_m3)
        return self.lasts(attitude, held, attitude.held_s, self.greatest)

    def held(self, attitude: Attitude, at: TogetherAt) -> Held | None:
        """What is unusable together in the time that the attitude is held."""
        held_s = attitude.held_s or 0.0
        drawn_m3_s = self.layout.design.flows_m3_s[self.greatest]
        full_m3 = sum(self.most_m3.values())

        def lasts(total_m3: float) -> Lasting:
            return self.lasts(attitude, self.normal.together(total_m3, self.most_m3), held_s, self.greatest)

        own = [self.feeding(one, attitude) if one in self.before else self.own(one, attitude) for one in self.tanks]
        least_m3 = sum(one.held.from_m3 if one.held and one.held.from_m3 else one.unusable_m3 for one in own)
        enough_m3 = min(max(least_m3, at.own_m3 + drawn_m3_s * held_s), full_m3)
        if not lasts(enough_m3).stopped:
            return Held(held_s, drawn_m3_s, enough_m3, at.own_m3)
        if lasts(full_m3).stopped:
            return Held(held_s, drawn_m3_s, None, max(at.level_m3, at.own_forever_m3))
        return self._least(lasts, (enough_m3, full_m3), held_s, drawn_m3_s)

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

    # --- flown, or bounded

    def lasts(self, attitude: Attitude, held: Quantities, seconds: float, flow: str = "", enough_s: float = inf) -> Lasting:
        """How long the engine lasts, up to a time; not looked at closer where a bound says that it is enough."""
        total_m3 = sum(held.values())
        flow = flow or self.layout.design.fuel.reserve_phase
        burnt_m3_s = self.layout.design.flows_m3_s[flow]
        bound_s = self._bound_s(attitude, held, burnt_m3_s, min(enough_s, seconds))
        if bound_s >= min(enough_s, seconds) or (attitude.held_s == seconds and self._outlasts(attitude, held)):
            bound_s = min(max(bound_s, min(enough_s, seconds)), seconds)
            return Lasting(total_m3, bound_s, total_m3 - burnt_m3_s * bound_s, "", bounded=True)
        found = [self._flown(attitude, held, seconds, flow, places) for places in self.settings]
        return min(found, key=lambda one: (not one.stopped, one.lasts_s))

    def _bound_s(self, attitude: Attitude, held: Quantities, burnt_m3_s: float, enough_s: float) -> float:
        """How long the engine lasts at least on what the one tank before it keeps; 0 where that is not known.

        Where all others run into that one alone, it has fuel until all are down to what each keeps for itself; what is sent back to
        one of them comes again.
        """
        if len(self.before) != 1 or self.before[0].tank.draw is None or self.before[0].tank.draw.needs:
            return 0.0
        last, levelled = self.before[0], self.levelled(attitude)
        returned_m3_s = self.before[0].tank.draw.returned_m3_s
        left = {one.name: self.own(one, attitude).sustained_m3 for one in self.tanks}
        left[last.name] = self.feeding(last, attitude).sustained_m3
        bound_s = 0.0
        if all(levelled.runs_into(name, last.name) for name in left if name != last.name):
            back = 0.0 if self.layout.network.return_tanks(self.world.engine) <= set(left) else returned_m3_s
            bound_s = (levelled.stays_m3(held) - levelled.left_m3(left)) / (burnt_m3_s + back)
        if bound_s >= enough_s:
            return bound_s
        own_s = (levelled.kept_m3(held)[last.name] - left[last.name]) / (burnt_m3_s + returned_m3_s)
        return max(bound_s, own_s)

    def _outlasts(self, attitude: Attitude, held: Quantities) -> bool:
        """Whether each tank before the engine outlasts the time for itself with what it keeps, whatever runs across."""
        needed = {one.name: self.feeding(one, attitude).held for one in self.before}
        if not needed or any(one is None or one.from_m3 is None for one in needed.values()):
            return False
        kept_m3 = self.levelled(attitude).kept_m3(held)
        return all(one and one.from_m3 is not None and kept_m3[name] >= one.from_m3 for name, one in needed.items())

    @cached_property
    def settings(self) -> list[dict[str, str]]:
        """Where selectors may stand for these tanks to feed the engine."""
        network, choices = self.layout.network, []
        for end, part in network.nodes.items():
            if not isinstance(part, Selector):
                continue
            lines = [line for line in network.lines_at(end, "feed") if line.end == end]
            behind = [name for name in self.group.tanks if any(name in tanks_behind(network, line) for line in lines)]
            if not behind or not lines:
                continue
            joins = any(str(end) in one for one in self.group.through)
            both = ["both"] if part.both or joins else []
            choices.append([(part.name, place) for place in (both if joins else [*both, *behind])])
        found = [dict(one) for one in product(*choices)]
        if len(found) > _MOST_SETTINGS:
            raise self.world.missing(f"at most {_MOST_SETTINGS} positions of selectors")
        return found

    def _flown(
        self, attitude: Attitude, held: Quantities, seconds: float, flow: str, places: dict[str, str]
    ) -> Lasting:
        loaded = dict.fromkeys(self.world.names, 0.0) | {
            name: min(one, self.layout.tank(name).cavity.gross_m3) for name, one in held.items()
        }
        figures = {"duration_s": seconds, "selectors": places, "loaded_m3": loaded}  # in SI: the door takes none such
        segment = Segment(name=attitude.name, attitude=attitude.name, flow=flow).model_copy(update=figures)
        found = flown(self.world, (segment,), PACE)
        columns = [k for k, name in enumerate(found.tanks) if name in self.group.tanks]
        left_m3 = float(found.held_m3[-1, columns].sum())
        return Lasting(sum(held.values()), found.end_s, left_m3, found.stopped)


def _least_s(switch: SwitchStudy, quantity_m3: float) -> float:
    """Seconds that are told of the tank alone, in the worst state that is known."""
    known = [switch.least_minutes(quantity_m3), switch.alone_minutes(quantity_m3)]
    return min(one for one in known if one is not None) * 60.0
