"""What the feed lines carry, as it was computed: to an engine, to a pump's inlet, into a tank; all SI."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from functools import cached_property
from math import inf
from typing import Literal

from fuelsys.arrays import Floats
from fuelsys.model.built.ends import End
from fuelsys.model.stated.attitude import Attitude

HAIR_PA = 1e-3  # pressures nearer than this are one
FedKind = Literal["gravity", "pumped", "suction", "tank", "transfer"]


@dataclass(frozen=True)
class Carried:
    """What comes to an end at one attitude from some tanks that hold their last usable fuel.

    pressure_pa is above the air's, at the flow that is needed; flow_m3_s is what comes at the pressure that is needed.
    lowest_pa is the lowest pressure anywhere in the lines at the needed flow. None: no steady state is found.
    """

    attitude: Attitude
    tanks: tuple[str, ...]
    pressure_pa: float | None
    flow_m3_s: float
    lowest_pa: float | None


@dataclass(frozen=True)
class FeedTo:
    """The feed of one end: an engine by gravity, an engine behind pumps (of which running runs), a pump's inlet, a tank by
    gravity or (transfer) by a pump.

    unstated are parts on the way whose drop is not stated and was counted as nothing. free_m3_s, of a tank: what comes
    while its surface is below the inlet, at the worst; at holds what comes when it is full.
    """

    kind: FedKind
    end: End
    needed_m3_s: float
    needed_pa: float
    at: tuple[Carried, ...]
    unstated: tuple[str, ...] = ()
    running: str = ""
    free: tuple[Carried, ...] = ()

    @property
    def worst(self) -> Carried:
        """The least that comes."""
        return min(self.at, key=lambda one: one.flow_m3_s)

    @property
    def lowest(self) -> Carried:
        """Where the pressure in the lines is lowest; first of all where no steady state is found."""
        return min(self.at, key=lambda one: -inf if one.lowest_pa is None else one.lowest_pa)

    @property
    def worst_free(self) -> Carried:
        """The least that comes into a tank whose surface is below the inlet."""
        return min(self.free, key=lambda one: one.flow_m3_s)


@dataclass(frozen=True)
class DryBranch:
    """A tank, or one of its outlets, that has run dry while another feeds through the same lines, where air comes nearest.

    own: the other is an outlet of the same tank.

    margin_pa is the pressure at the lowest point of the dry line, above the air's, before air gets past it: below zero it
    does. junction is where the lines meet.
    """

    attitude: Attitude
    outlet: End
    feeding: str
    junction: str
    consumer: End
    margin_pa: float
    own: bool = False


@dataclass(frozen=True)
class State:
    """A setting of selectors and valves: the tanks whose fuel comes to an engine (nearest first), those that are shut off
    from it, and those that get what it returns; shut are the lines that it shuts, stuck the engines that get fuel while what they
    return finds no way to a tank."""

    words: str
    feeding: tuple[str, ...]
    isolated: tuple[str, ...]
    returned_to: tuple[str, ...]
    shut: frozenset[str] = frozenset()
    stuck: tuple[str, ...] = ()


@dataclass(frozen=True)
class InState:
    """What comes in a state at a phase's flow: fed.at has the worst of all flight attitudes and of the tanks, alone or together.

    Empty, of a tank that others fill: nothing comes into it in this state.
    """

    state: State
    phase: str
    fed: FeedTo


@dataclass(frozen=True)
class Missing:
    """What was not computed: of which kind, where, and what it needs; the kind is empty where nothing was."""

    kind: FedKind | Literal[""]
    where: str
    needs: str


@dataclass(frozen=True)
class AtInlet:
    """The greatest pressure above the air's at an engine's inlet: its pumps all running, nothing drawn, the tanks full.

    in_series: more than one pump alone gives. needs: what it cannot be told without.
    """

    engine: End
    pumps: tuple[str, ...]
    pressure_pa: float = 0.0
    in_series: bool = False
    attitude: Attitude | None = None
    needs: str = ""


@dataclass(frozen=True)
class AtReturn:
    """The pressure above the air's at the beginning of a way by which fuel comes back from an engine, at the flight attitude at which
    most stands there: at the return flow that is stated, and throttled, with the greatest flow that is stated sent back on top.

    unstated names filters whose drop is not stated; needs says what it cannot be told without.
    """

    engine: End
    start: End
    end: End
    pressure_pa: float = 0.0
    throttled_pa: float = 0.0
    flow_m3_s: float = 0.0
    throttled_m3_s: float = 0.0
    attitude: Attitude | None = None
    unstated: tuple[str, ...] = ()
    needs: str = ""


@dataclass(frozen=True)
class Flows:
    """Everything computed of flow. missing says what was not computed and what it needs; assumed, of the fuel, what was taken.

    air_pa is the air's pressure at the ceiling, vapour_pa that at which hot fuel boils; None where the design does not say.
    states are those that selectors and valves permit; None where they are too many to list. cut_off are settings in which
    nothing comes to an engine. solve finds what comes in each state, and what of that is missing, boil the same of the lowest
    pressure before a pump or by gravity.
    """

    to: tuple[FeedTo, ...] = ()
    dry: tuple[DryBranch, ...] = ()
    missing: tuple[Missing, ...] = ()
    viscosity_m2_s: float | None = None
    assumed: str = ""
    air_pa: float | None = None
    vapour_pa: float | None = None
    states: tuple[State, ...] | None = ()
    cut_off: tuple[str, ...] = ()
    inlets: tuple[AtInlet, ...] = ()
    returns: tuple[AtReturn, ...] = ()
    solve: Callable[[], tuple[InState | Missing, ...]] = field(default=tuple, compare=False)
    boil: Callable[[], tuple[InState | Missing, ...]] = field(default=tuple, compare=False)

    @cached_property
    def _in_states(self) -> tuple[InState | Missing, ...]:
        return self.solve()

    @cached_property
    def boiling(self) -> tuple[InState | Missing, ...]:
        """The lowest pressure before each pump and by gravity in each state (fed.at is where), and what is missing of that."""
        return self.boil()

    @property
    def boiling_worst(self) -> tuple[InState, ...]:
        """Of each end the state with the lowest pressure, the first of equals."""
        found: dict[End, InState] = {}
        for one in self.boiling:
            if isinstance(one, InState):
                other = found.setdefault(one.fed.end, one)
                low, lowest = one.fed.lowest.lowest_pa, other.fed.lowest.lowest_pa
                if lowest is not None and (low is None or low < lowest - HAIR_PA):
                    found[one.fed.end] = one
        return tuple(found.values())

    @property
    def in_states(self) -> tuple[InState, ...]:
        """What comes in each state at each phase's flow; computed where it is asked for."""
        return tuple(one for one in self._in_states if isinstance(one, InState))

    @property
    def missing_in_states(self) -> tuple[Missing, ...]:
        """What of that was not computed, and what it needs."""
        return tuple(one for one in self._in_states if isinstance(one, Missing))


@dataclass(frozen=True, eq=False)
class Suction:
    """How far fuel is from boiling on its way to an end, where its pressure is lowest: margins_pa (t, n), below zero it boils,
    at temperatures_k (t,) and altitudes_m (n,). assumed_ceiling: the design states none. setting: what is shut there, if any. unsettled:
    what it takes to look at all settings."""

    fed: FeedTo
    worst: Carried
    altitudes_m: Floats
    temperatures_k: tuple[float, ...]
    margins_pa: Floats
    assumed_ceiling: bool
    setting: str = ""
    unsettled: tuple[str, ...] = ()
