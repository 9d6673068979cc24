"""What comes to engines and into tanks in each state that selectors and valves permit, pumps running or not, at each flow."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property

from fuelsys.analysis.lines.flow import UNSTEADY, Piping
from fuelsys.analysis.lines.required_flow import FLOW_FACTORS, Feed, required_flow_m3_s
from fuelsys.analysis.lines.solving import Solving
from fuelsys.analysis.lines.sources import sources_of
from fuelsys.analysis.lines.states import MOST_STATES, how_many
from fuelsys.kernels.steady import NotSteadyError
from fuelsys.model.built.ends import End
from fuelsys.model.built.layout import Layout
from fuelsys.model.found.flow import Carried, FeedTo, InState, Missing, State
from fuelsys.model.stated.attitude import Attitude
from fuelsys.model.stated.components import Engine, Pump
from fuelsys.model.stated.fittings import Inlet, Return

MOST_CASES = 600  # networks that differ; each takes some 10 ms at ten attitudes
_Key = tuple[object, ...]
_Worst = dict[_Key, tuple[tuple[End, ...], Attitude]]


def in_states(layout: Layout, states: Sequence[State] | None) -> tuple[InState | Missing, ...]:
    """Every state at every stated flow: the worst flight attitude, each tank alone and all together; what is left out is said."""
    if states is None:
        return (_too_many(layout),)
    found: list[InState | Missing] = []
    worst: _Worst = {}
    for number, state in enumerate(states):
        if len(worst) > MOST_CASES:
            left = f"fewer settings of selectors and valves: {len(states) - number} of {len(states)} are not computed"
            found.append(Missing("", "the settings", f"{left}, from {state.words} on"))
            break
        try:
            found += _State.of(layout, state, worst).found()
        except NotSteadyError:
            found.append(Missing("", state.words, UNSTEADY))
    return tuple(dict.fromkeys(found)) if any(isinstance(one, Missing) for one in found) else tuple(found)


def _too_many(layout: Layout) -> Missing:
    what = f"at most {MOST_STATES} settings of selectors and valves: there are {how_many(layout)}"
    return Missing("", "the settings", f"{what}, and none is computed")


def boiling_in_states(layout: Layout, states: Sequence[State] | None) -> tuple[InState | Missing, ...]:
    """Where the pressure is lowest on the way to each pump's inlet, and by gravity to each engine, in every state.

    At the take-off flow that is to be shown, over all flight attitudes and tanks; phase is that flow's name.
    """
    if states is None:
        return (_too_many(layout),)
    found: list[InState | Missing] = []
    worst: dict[_Key, InState] = {}
    for number, state in enumerate(states):
        if len(worst) > MOST_CASES:
            left = f"fewer settings of selectors and valves: {len(states) - number} are not computed, from {state.words} on"
            found.append(Missing("suction", "the settings", left))
            break
        try:
            found += _boiling(_State.of(layout, state, {}).solving, state, worst)
        except NotSteadyError:
            found.append(Missing("suction", state.words, UNSTEADY))
    return tuple(found)


def _boiling(solving: Solving, state: State, worst: dict[_Key, InState]) -> Iterator[InState]:
    for end in solving.layout.network.nodes:
        if not sources_of(solving.layout, end) or solving.back_m3_s is None:
            continue
        key = (end, solving.back_m3_s, _between(solving.piping, {end, *sources_of(solving.layout, end)}))
        if key not in worst:
            fed = next((one for one in solving.sucked(end) if one.at), None)
            if fed is None:
                continue
            worst[key] = InState(state, "takeoff", replace(fed, at=(fed.lowest,)))
        yield replace(worst[key], state=state)


@dataclass(frozen=True, eq=False)
class _State:
    """The layout as one state has it; worst keeps what was found of networks that are the same in several."""

    state: State
    solving: Solving
    whole: Layout
    worst: _Worst

    @classmethod
    def of(cls, layout: Layout, state: State, worst: _Worst) -> _State:
        lines = tuple(line for line in layout.lines if line.name not in state.shut)
        return cls(state, Solving.of(replace(layout, lines=lines)), layout, worst)

    @property
    def flows(self) -> Mapping[str, float]:
        return self.whole.design.flows_m3_s

    @cached_property
    def back_m3_s(self) -> float:
        return self.solving.back_m3_s or 0.0

    def found(self) -> Iterator[InState | Missing]:
        network = self.solving.layout.network
        if self.solving.back_m3_s is None:
            return
        for end, part in network.nodes.items():
            if isinstance(part, Engine):
                yield from self._engine(end, part)
        for tank in self.state.feeding:
            yield from self._filled(tank)

    # --- engines

    def _engine(self, engine: End, part: Engine) -> Iterator[InState | Missing]:
        network = self.solving.layout.network
        ways = [way for way in network.ways("feed") if way.end == engine and way.start.tank]
        sources = tuple(dict.fromkeys(way.start for way in ways))
        names = dict.fromkeys(end for way in ways for end in way.through)
        pumps = [node for end in names if isinstance(node := network.nodes[end], Pump)]
        yield from (
            Missing("pumped", pump.name, f"the curve of {pump.name}: what it delivers")
            for pump in pumps
            if not pump.curve
        )
        able = [pump.name for pump in pumps if pump.curve]
        sets = [(name,) for name in able] + ([tuple(able)] if len(able) > 1 else [])
        if not pumps or self.whole.design.aircraft.feed == "gravity":
            sets.insert(0, ())
        pressure = part.inlet_pressure_pa or 0.0
        for running in sets if sources else ():
            piping = Piping(network, self.solving.fluid, frozenset(running))
            chosen, attitude = self._worst_for(piping, engine, sources, pressure)
            feed: Feed = "pump" if running else "gravity"
            for phase, flow in self.flows.items():
                needed = required_flow_m3_s(flow, feed, self.back_m3_s)
                at = self.solving.carried(piping, engine, needed, pressure, chosen, attitude)
                names_of = " and ".join(running)
                kind = "pumped" if running else "gravity"
                unstated = self.solving.unstated(engine)
                fed = FeedTo(kind, engine, needed, pressure, (at,), unstated, names_of)  # type: ignore[arg-type]
                yield InState(self.state, phase, fed)

    def _worst_for(
        self, piping: Piping, engine: End, sources: Sequence[End], pressure_pa: float
    ) -> tuple[tuple[End, ...], Attitude]:
        """The tanks, each alone or all together, and the attitude with the least flow: that does not depend on what is needed."""
        usual = required_flow_m3_s(max(self.flows.values()), "pump", self.back_m3_s)
        cases = []
        for chosen in _alone_and_together(sources):
            key = (engine, chosen, piping.running, _between(piping, {engine, *chosen}))
            if key not in self.worst:
                at = {
                    attitude: self.solving.carried(piping, engine, usual, pressure_pa, chosen, attitude)
                    for attitude in self.solving.attitudes(engine, chosen)
                }
                self.worst[key] = chosen, min(at, key=lambda one: _least(at[one]))
            cases.append(self.worst[key])
        found = [(one, self.solving.carried(piping, engine, usual, pressure_pa, *one)) for one in cases]
        return min(found, key=lambda one: _least(one[1]))[0]

    # --- tanks that others fill by gravity

    def _filled(self, tank: str) -> Iterator[InState]:
        inlets, open_ones = self._inlets(self.whole, tank), self._inlets(self.solving.layout, tank)
        if not inlets:
            return
        lost = self.solving.lost_by_return_m3_s(inlets[0])
        given: tuple[Carried, ...] = ()
        if open_ones:
            network = self.solving.layout.network
            sources = dict.fromkeys(one for end in open_ones for one in sources_of(self.solving.layout, end))
            piping = Piping(network, self.solving.fluid)
            every = [
                self._coming(piping, open_ones, chosen, attitude)
                for chosen in _alone_and_together(tuple(sources))
                for attitude in self.solving.attitudes(open_ones[0], chosen)
            ]
            given = (min(every, key=lambda one: one.flow_m3_s),)
        for phase, flow in self.flows.items():
            needed = flow * (1.0 if phase == "takeoff" else FLOW_FACTORS["gravity"]) + lost
            unstated = tuple(dict.fromkeys(name for end in open_ones for name in self.solving.unstated(end)))
            yield InState(self.state, phase, FeedTo("tank", inlets[0], needed, 0.0, given, unstated))

    @staticmethod
    def _inlets(layout: Layout, tank: str) -> list[End]:
        ports = [
            end for end, node in layout.network.nodes.items() if end.tank == tank and isinstance(node, Inlet | Return)
        ]
        return [end for end in ports if sources_of(layout, end)]

    def _coming(self, piping: Piping, inlets: Sequence[End], chosen: tuple[End, ...], attitude: Attitude) -> Carried:
        """What comes by all inlets at once while the surface is below them; one above its line's pressure gives nothing back."""
        solving, taking = self.solving, list(inlets)
        usual, tanks = max(self.flows.values()), tuple(dict.fromkeys(one.tank or "" for one in chosen))
        while taking:
            lips = {(end, ""): solving.head_pa(solving.level_m(end, attitude), attitude) for end in taking}
            state = piping.solved(solving.given_pa(chosen, attitude) | lips, {}, usual)
            gives = [end for end in taking if state is not None and state.out_of((end, "")) < -1e-12]
            if not gives:
                flow = sum(state.out_of(node) for node in lips) if state else 0.0
                return Carried(attitude, tanks, None, max(0.0, flow), None)
            taking = [end for end in taking if end not in gives]
        return Carried(attitude, tanks, None, 0.0, None)


def _least(one: Carried) -> tuple[float, float]:
    """By the flow, and where nothing comes at several attitudes by the pressure that is lacking."""
    return one.flow_m3_s, float("-inf") if one.pressure_pa is None else one.pressure_pa


def _alone_and_together(sources: tuple[End, ...] | Sequence[End]) -> list[tuple[End, ...]]:
    tanks = dict.fromkeys(one.tank for one in sources)
    alone = [tuple(one for one in sources if one.tank == tank) for tank in tanks]
    return [*alone, tuple(sources)] if len(alone) > 1 else alone


def _between(piping: Piping, kept: set[End]) -> frozenset[str]:
    """The lines that may carry flow between some ends: what is left when dead ends are taken away again and again."""
    lines = list(piping.lines)
    while True:
        count: dict[End, int] = {}
        for line in lines:
            for end in (line.start, line.end):
                count[end] = count.get(end, 0) + 1
        live = [line for line in lines if all(count[e] > 1 or e in kept for e in (line.start, line.end))]
        if len(live) == len(lines):
            return frozenset(line.name for line in lines)
        lines = live
