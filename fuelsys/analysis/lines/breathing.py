"""Air through the vents: the pressure in each tank in a descent with the engine drawing, in a climb, and while it is filled.

In every setting of what stands in the vent lines, with nothing blocked and with each end overboard blocked in turn.

The air that a rate of climb or descent w moves through a tank's vent: its pressure p follows that outside, which changes by
dp/dt = density x g x w, and at one temperature the air in the room V then grows by V/p dp/dt = V g w / (R T). The tank counts as
empty. Air counts as of one density: below a third of the speed of sound that is true to a few hundredths.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import cached_property
from math import sqrt

from fuelsys.analysis.lines.airing import as_set, still_breathing
from fuelsys.analysis.lines.flow import MOST_LINES, START_M3_S, Piping
from fuelsys.analysis.lines.hydraulics import Fluid
from fuelsys.analysis.lines.solving import Solving
from fuelsys.analysis.lines.states import MOST_STATES
from fuelsys.kernels.steady import NotSteadyError
from fuelsys.model.built.ends import End, PortEnd
from fuelsys.model.built.layout import Layout
from fuelsys.model.found.breathing import CEILING_M, CLIMB_M_S, DESCENT_M_S, FILLING_M3_S, AirState, Breath, Breathing
from fuelsys.model.found.plumbing import Airing
from fuelsys.model.stated.attitude import STANDARD_GRAVITY_M_S2
from fuelsys.model.stated.components import Engine, Pump
from fuelsys.model.stated.standards import GAS_J_KG_K

_ADIABATIC = 1.4


@dataclass(frozen=True, eq=False)
class _Air:
    """A layout's vent lines with the air of one altitude."""

    layout: Layout
    altitude_m: float
    setting: Airing

    @cached_property
    def at(self) -> tuple[float, float, Fluid]:
        """Temperature, speed of sound, and the air as a fluid: the International Standard Atmosphere (ISO 2533, by `fluids`)."""
        from fluids.atmosphere import ATMOSPHERE_1976  # noqa: PLC0415

        air = ATMOSPHERE_1976(self.altitude_m)
        kelvin = float(air.T)
        sound = sqrt(_ADIABATIC * GAS_J_KG_K * kelvin)
        return kelvin, sound, Fluid(float(air.rho), float(air.mu) / float(air.rho))

    @cached_property
    def piping(self) -> Piping:
        """The vent lines."""
        return Piping(self.layout.network, self.at[2], blocked=False, kinds=("vent",))

    def moved_m3_s(self, tank: str, rate_m_s: float) -> float:
        """Air that a rate of climb or descent moves through the vent of an empty tank."""
        return self.layout.tank(tank).cavity.gross_m3 * air_moved_per_s(rate_m_s, self.at[0])

    def state(self, what: Breath, blocked: End | None, drawn_from: str, flows: Mapping[str, float]) -> AirState:
        """The steady state with air going into tanks (out of them: negative)."""
        ends = {(end, ""): 0.0 for end in overboard(self.layout) if end != blocked}
        drawn = {airspace(tank): flow for tank, flow in flows.items()}
        found = self.piping.solved(ends, drawn, max(START_M3_S, *map(abs, flows.values())))
        assert found is not None  # only tanks that are joined to an open end are asked for
        through = found.flows_m3_s[: len(self.piping.pipes)]  # pumps come after the lines
        speeds = (abs(q) / law.area_m2 for q, law in zip(through, self.piping.pipes, strict=True))
        pressures = {tank: found.at(airspace(tank)) for tank in flows}
        name = "" if blocked is None else str(blocked)
        mach, setting = max(speeds) / self.at[1], self.setting.words if self.setting.shut else ""
        return AirState(what, self.altitude_m, name, drawn_from, pressures, flows, mach, setting)


def air_moved_per_s(rate_m_s: float, kelvin: float) -> float:
    """The share of its room that a tank breathes each second at a rate of climb or descent.

    100 L at 1500 ft/min at sea level take in 5.42 L a minute:

    >>> round(100.0 * air_moved_per_s(7.62, 288.15) * 60.0, 2)
    5.42
    """
    return STANDARD_GRAVITY_M_S2 * rate_m_s / (GAS_J_KG_K * kelvin)


def airspace(tank: str) -> tuple[End, str]:
    """The node at which all vents of a tank meet: its air has one pressure."""
    return PortEnd(tank, ""), ""


def overboard(layout: Layout) -> tuple[End, ...]:
    """The overboard ends that vent lines lead to."""
    network = layout.network
    ends = (end for line in network.edges if line.kind == "vent" for end in (line.start, line.end))
    return tuple(dict.fromkeys(end for end in ends if network.overboard(end)))


def breathing(layout: Layout, settings: tuple[Airing, ...] | None) -> Breathing:
    """All tanks' pressures, at sea level and at the ceiling, in each setting (None: too many), with each end blocked too."""
    vents, ends = [line for line in layout.lines if line.kind == "vent"], overboard(layout)
    unvented = unaired(layout, settings)
    solving = Solving.of(layout)
    if len(vents) > MOST_LINES:
        return Breathing(unvented=unvented, needs=f"at most {MOST_LINES} vent lines: there are {len(vents)}")
    if solving.back_m3_s is None:
        return Breathing(unvented=unvented, needs="the engine's return_flow: it has a return line")
    if settings is None:
        return Breathing(unvented=unvented, needs=f"at most {MOST_STATES} settings of what stands in the vent lines")
    ceiling_m = layout.design.aircraft.ceiling_m
    try:
        states = tuple(
            state
            for altitude_m in (0.0, CEILING_M if ceiling_m is None else ceiling_m)
            for setting in settings
            for state in _as_set(_Air(as_set(layout, setting), altitude_m, setting), solving)
        )
    except NotSteadyError:
        needs = "the solver to find a flow of air, and it found none: that is a fault of this program; please report it"
        return Breathing(unvented=unvented, needs=needs)
    led = still_breathing(layout.network, None)
    alone = {str(end): tuple(n for n in led if n not in still_breathing(layout.network, end)) for end in ends}
    return Breathing(states, unvented, ends=tuple(map(str, ends)), settings=settings, alone=alone)


def unaired(layout: Layout, settings: tuple[Airing, ...] | None) -> tuple[str, ...]:
    """Tanks that breathe both ways in no setting."""
    joined = layout.network.aired(())
    out = [{*one.starved, *one.closed} for one in settings or ()]
    kept = set.intersection(*out) if out else set[str]()
    return tuple(tank.name for tank in layout.tanks if tank.name not in joined or tank.name in kept)


def _as_set(air: _Air, solving: Solving) -> Iterator[AirState]:
    """With nothing blocked, then with each end that has a line left blocked, where there are several."""
    ends = overboard(air.layout)
    for blocked in (None, *(ends if len(ends) > 1 else ())):
        yield from _states(air, solving, blocked)


def _states(air: _Air, solving: Solving, blocked: End | None) -> Iterator[AirState]:
    layout, aircraft = air.layout, air.layout.design.aircraft
    tanks = list(still_breathing(layout.network, blocked))
    if not tanks:
        return
    descent = DESCENT_M_S if aircraft.descent_rate_m_s is None else aircraft.descent_rate_m_s
    climb = CLIMB_M_S if aircraft.climb_rate_m_s is None else aircraft.climb_rate_m_s
    lifted = _lifted(layout)
    for drawn_from in [name for name in tanks if layout.tank(name).design.outlet] or tanks[:1]:
        drawn = max(solving.drawn_m3_s(PortEnd(drawn_from, "")), lifted.get((drawn_from, "from"), 0.0))
        drawn = drawn if layout.tank(drawn_from).design.outlet else 0.0
        flows = {name: air.moved_m3_s(name, descent) + (drawn if name == drawn_from else 0.0) for name in tanks}
        yield air.state("in", blocked, drawn_from, flows)
    back = {name: lifted.get((name, "into"), 0.0) for name in tanks}
    for end, node in layout.network.nodes.items():
        if isinstance(node, Engine):
            for name in layout.network.return_tanks(end) & set(tanks):
                back[name] += solving.back_m3_s or 0.0
    yield air.state("out", blocked, "", {name: -air.moved_m3_s(name, climb) - back[name] for name in tanks})
    if air.altitude_m == 0.0 and blocked is None:
        for name in tanks:
            filler = layout.tank(name).design.filler
            if filler is not None:
                flow = filler.filling_m3_s or FILLING_M3_S
                yield air.state("filling", None, name, {n: -flow if n == name else 0.0 for n in tanks})


def _lifted(layout: Layout) -> dict[tuple[str, str], float]:
    """The greatest flow that pumps which only fill tanks are stated for, from and into each tank."""
    found: dict[tuple[str, str], float] = {}
    for way in layout.network.ways("feed"):
        for pump in set(way.through) & set(layout.network.transfer_pumps):
            part = layout.network.nodes[pump]
            most = max((q for q, _ in part.curve), default=0.0) if isinstance(part, Pump) and part.curve else 0.0
            for tank, side in ((way.start.tank, "from"), (way.end.tank, "into")):
                if tank is not None:
                    found[tank, side] = max(found.get((tank, side), 0.0), most)
    return found
