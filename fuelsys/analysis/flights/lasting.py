"""How long the engine lasts on what joined tanks hold at an attitude: bounded where that is enough, else flown.

Where one tank alone stands before the engine, the least that it keeps, whichever of the others come to one level with it, is a bound,
and saves the flight; so is, where all others run into it and fuel stands over its outlet whatever runs across at the turn, what stays
aboard above what cannot be had at one level.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from functools import cached_property
from itertools import product
from math import inf

from fuelsys.analysis.flights.events import Steps
from fuelsys.analysis.flights.fly import flown
from fuelsys.analysis.flights.levelled import Levelled
from fuelsys.analysis.flights.plumbed import tanks_behind
from fuelsys.analysis.flights.setting import World
from fuelsys.analysis.lines.sources import sources_of
from fuelsys.model.built.ends import End
from fuelsys.model.built.joining import Joined
from fuelsys.model.built.layout import Layout
from fuelsys.model.found.exchange import Lasting
from fuelsys.model.found.fly import Flown
from fuelsys.model.found.study import TankStudy
from fuelsys.model.found.unusable import UnusableAt
from fuelsys.model.stated.attitude import Attitude
from fuelsys.model.stated.components import Engine, Pump, Selector
from fuelsys.model.stated.design import Segment

PACE = Steps(900.0, 5e-7)  # half a millilitre a step
_MOST_SETTINGS = 8  # of selectors, each a flight; chosen here, no source
Quantities = Mapping[str, float]


@dataclass
class Rows:
    """Rows that end in an attitude: the worst that they leave in each tank, and where the engine stops in that attitude before."""

    left: list[Quantities] = field(default_factory=list)
    stopped: list[Lasting] = field(default_factory=list)


@dataclass(eq=False)
class Joint:
    """Joined tanks, with what was computed of each."""

    layout: Layout
    group: Joined
    tanks: Sequence[TankStudy]
    _levelled: dict[Attitude, Levelled] = field(default_factory=dict)
    rows: dict[float, Mapping[Attitude, Rows]] = field(default_factory=dict)  # that end with a total (`rows.py`)

    @cached_property
    def most_m3(self) -> dict[str, float]:
        """What each is filled to, of those of which it is known."""
        return {one.name: one.capacity.filled.volume_m3 for one in self.tanks if one.capacity.filled}

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
    def sustained(self) -> list[Attitude]:
        """The flight attitudes of which no time is stated, the normal one among them."""
        return [one for one in self.layout.design.envelope if one.phase == "flight" and one.held_s is None]

    @cached_property
    def brief(self) -> list[Attitude]:
        """Those that are held for a time."""
        return [one for one in self.layout.design.envelope if one.phase == "flight" and one.held_s is not None]

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

    @cached_property
    def before(self) -> list[TankStudy]:
        """The tanks that stand before the engine, be it a pump's; none where one of them is not of these."""
        return [one for one in self.tanks if one.name in self._first] if self._first <= set(self.group.tanks) else []

    @cached_property
    def fed(self) -> tuple[str, ...]:
        """Those of these tanks that stand before the engine, whatever other one does."""
        return tuple(one.name for one in self.tanks if one.name in self._first)

    @cached_property
    def _first(self) -> set[str | None]:
        names = set[str | None]()
        for end, part in self.layout.network.nodes.items():
            if isinstance(part, (Engine, Pump)) and end not in self.layout.network.transfer_pumps:
                names |= {one.tank for one in sources_of(self.layout, end)}
        return names

    # --- flown, or bounded

    def lasts(
        self, attitude: Attitude, held: Quantities, seconds: float, flow: str = "", enough_s: float = inf
    ) -> Lasting:
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

        Where all others run into that one alone, and its outlet is covered at the turn, it has fuel until all are down to what each
        keeps for itself, if not a third takes from it what the second brings; what is sent back to one of them comes again. A bare
        outlet gets air before anything has run across.
        """
        if len(self.before) != 1 or self.before[0].tank.draw is None or self.before[0].tank.draw.needs:
            return 0.0
        last, levelled = self.before[0], self.levelled(attitude)
        returned_m3_s = self.before[0].tank.draw.returned_m3_s
        left = {one.name: self.own(one, attitude).sustained_m3 for one in self.tanks}
        over_m3 = levelled.kept_m3(held)[last.name] - left[last.name]
        if over_m3 <= 0.0:
            return 0.0
        bound_s = 0.0
        others = [name for name in left if name != last.name]
        fed = all(levelled.runs_into(name, last.name) for name in others)
        if fed and (len(others) < 2 or all(levelled.takes_none(name, last.name) for name in others)):
            back = 0.0 if self.layout.network.return_tanks(self.world.engine) <= set(left) else returned_m3_s
            bound_s = (levelled.stays_m3(held) - levelled.left_m3(left)) / (burnt_m3_s + back)
        if bound_s >= enough_s:
            return bound_s
        return max(bound_s, over_m3 / (burnt_m3_s + returned_m3_s))

    def _outlasts(self, attitude: Attitude, held: Quantities) -> bool:
        """Whether each tank before the engine outlasts the time for itself with what it keeps, whatever runs across."""
        needed = {one.name: self.own(one, attitude).held for one in self.before}
        if not needed or any(one is None or one.from_m3 is None for one in needed.values()):
            return False
        kept_m3 = self.levelled(attitude).kept_m3(held)
        return all(one and one.from_m3 is not None and kept_m3[name] >= one.from_m3 for name, one in needed.items())

    def outlasts_any(self, attitude: Attitude, begins: Sequence[Quantities], row_s: float) -> bool:
        """Whether each tank before the engine outlasts an attitude's time after any row of attitudes that takes no longer."""
        needed = {one.name: self.own(one, attitude).held for one in self.before}
        if not needed or any(one is None or one.from_m3 is None for one in needed.values()):
            return False
        gone_m3 = self.layout.design.flows_m3_s[self.greatest] * row_s
        for held in begins:
            for one in (*self.sustained, *self.brief):
                kept = self.levelled(one).kept_m3(held)
                if any(own is None or kept[name] - gone_m3 < (own.from_m3 or 0.0) for name, own in needed.items()):
                    return False
        return True

    def burnt_m3(self, attitudes: Sequence[Attitude]) -> float:
        """What is burnt in attitudes that are held for a time, at the greatest flow."""
        return self.layout.design.flows_m3_s[self.greatest] * sum(one.held_s or 0.0 for one in attitudes)

    def left_after(self, attitude: Attitude, held: Quantities) -> list[tuple[dict[str, float], Lasting]]:
        """What each holds after an attitude has been flown for its time, with selectors so or so, and whether the engine lasts it."""
        seconds, found = attitude.held_s or 0.0, list[tuple[dict[str, float], Lasting]]()
        for places in self.settings:
            one = self._flight(attitude, held, seconds, self.greatest, places)
            end = dict(zip(one.tanks, one.held_m3[-1].tolist(), strict=True))
            left = {name: end[name] for name in held}
            stopped = self._stops(one, seconds, self.greatest)
            found.append((left, Lasting(sum(held.values()), one.end_s, sum(left.values()), stopped)))
        return found

    @cached_property
    def settings(self) -> list[dict[str, str]]:
        """Where selectors may stand for these tanks to feed the engine; what joins them stands so."""
        network, set_to = self.layout.network, dict(self.group.set_to)
        choices = [[(str(end), self._place(end, line))] for end, line in set_to.items()]
        for end, part in network.nodes.items():
            if not isinstance(part, Selector) or end in set_to:
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

    def _place(self, selector: End, name: str) -> str:
        """The tank on which a selector lets that one line in and no other; QuestionError where a flight knows no such position."""
        network = self.layout.network
        into = [
            line
            for kind in ("feed", "interconnect")
            for line in network.lines_at(selector, kind)
            if line.end == selector
        ]
        others = {tank for line in into if line.name != name for tank in tanks_behind(network, line)}
        found = [tank for line in into if line.name == name for tank in sorted(tanks_behind(network, line) - others)]
        if not found:
            raise self.world.missing(
                f"{selector} to be flown on {name}, and a flight knows positions on tanks and on both alone"
            )
        return found[0]

    def _flight(self, attitude: Attitude, held: Quantities, seconds: float, flow: str, places: dict[str, str]) -> Flown:
        loaded = dict.fromkeys(self.world.names, 0.0) | {
            name: min(one, self.layout.tank(name).cavity.gross_m3) for name, one in held.items()
        }
        figures = {"duration_s": seconds, "selectors": places, "loaded_m3": loaded}  # in SI: the door takes none such
        segment = Segment(name=attitude.name, attitude=attitude.name, flow=flow).model_copy(update=figures)
        return flown(self.world, segment, PACE)

    def _flown(
        self, attitude: Attitude, held: Quantities, seconds: float, flow: str, places: dict[str, str]
    ) -> Lasting:
        found = self._flight(attitude, held, seconds, flow, places)
        columns = [k for k, name in enumerate(found.tanks) if name in self.group.tanks]
        left_m3 = float(found.held_m3[-1, columns].sum())
        return Lasting(sum(held.values()), found.end_s, left_m3, self._stops(found, seconds, flow))

    def _stops(self, found: Flown, seconds: float, flow: str) -> str:
        """Why the engine stops before a time is up; what just lasts is not told from what just does not: a step is no more exact."""
        return found.stopped if found.end_s < seconds - PACE.off_m3 / self.layout.design.flows_m3_s[flow] else ""
