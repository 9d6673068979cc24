"""One part of a flight: what every tank gets or gives at a moment, and what must hold for that to go on so.

A tank is free (its surface has its level), full (its quantity stays, whatever pressure that takes), running over (at the level
of the vent's way out), or passing on what comes in (its surface stays at a port's lip).
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import NamedTuple

import numpy as np

from fuelsys.analysis.flights.plumbed import Plumbed, Solved, Surface
from fuelsys.analysis.tank.standing import Halves, Standing, tank_of
from fuelsys.arrays import Floats
from fuelsys.model.built.ends import End, PortEnd
from fuelsys.model.stated.attitude import Attitude
from fuelsys.model.stated.components import Pump
from fuelsys.model.stated.fittings import Outlet
from fuelsys.model.stated.standards import SEA_LEVEL_PA

_STILL_M3_S = 1e-13  # a rate that counts as none: a litre in three hundred years
_SLACK_PA = 1e-6
_TRACE = 1e-6


@dataclass
class Mode:
    """How one tank stands: under are its ports below the surface, passes the one at whose lip the surface stays."""

    under: set[PortEnd] = field(default_factory=set)
    full: bool = False
    over: bool = False
    passes: PortEnd | None = None

    @property
    def free(self) -> bool:
        """Whether its quantity changes with what it gets."""
        return not self.full and self.passes is None


class Gap(NamedTuple):
    """What must not fall below zero for a state to go on: of a tank, or (without one) of the engine's feed."""

    tank: str
    what: str
    value: float


@dataclass(frozen=True, eq=False)
class Moment:
    """How fast each quantity grows: the tanks', what is burnt, what is lost overboard (n + 2,); and what must not fall below 0."""

    rates: Floats
    gaps: tuple[Gap, ...]
    fed: bool
    gets_m3_s: dict[str, float]


def room_m3(standings: Sequence[Standing], held_m3: Sequence[float]) -> float:
    """What air tanks have over their fuel, with a trace where they are full to the brim."""
    pairs = zip(standings, held_m3, strict=True)
    return sum(max(0.0, one.gross_m3 - held) + _TRACE * one.gross_m3 for one, held in pairs)


@dataclass(eq=False)
class Leg:
    """One part of a flight; most_m3 is what each tank is full at. airless are tanks that share air which nothing adds to.

    engine is where the engine's feed ends, needed_pa the pressure (head included) that it asks for, None where that is not
    known; vapour_pa that at which fuel boils, looked at where air is shut in. parts_at is what a tank holds where its fuel parts
    into two pools, each of which is then a tank here (`pools.py`).
    """

    attitude: Attitude
    plumbed: Plumbed
    standings: Mapping[str, Standing]
    engine: End
    burnt_m3_s: float
    back_m3_s: float
    back_to: str
    head_pa_m: float
    needed_pa: float | None
    airless: Sequence[tuple[tuple[str, ...], float]]
    vapour_pa: float | None
    most_m3: dict[str, float] = field(default_factory=dict)
    modes: dict[str, Mode] = field(default_factory=dict)
    parts_at: dict[str, float] = field(default_factory=dict)
    whole: dict[str, Standing] = field(default_factory=dict)
    _known: tuple[object, Moment] | None = None
    _dry: dict[frozenset[PortEnd], dict[End, tuple[tuple[End, str], float]]] = field(default_factory=dict)

    def part(self, tank: str, second: str, halves: Halves) -> None:
        """Let two pools stand for a tank, with the ports over each and what comes in over the second."""
        over = {port for port in halves.two.lips if port not in halves.one.lips}
        into_it = {name: one for name, one in self.standings.items() if one.spill_to == tank and one.spill_port in over}
        moved = {name: replace(one, spill_to=second) for name, one in into_it.items()}
        self.standings = {**self.standings, **moved, tank: halves.one, second: halves.two}
        self.whole[tank] = halves.whole
        self.plumbed = self.plumbed.with_moved({PortEnd(tank, port): second for port in over})
        lines = self.plumbed.network.edges
        into = {
            line.end.port
            for line in lines
            if line.kind == "return" and isinstance(line.end, PortEnd) and line.end.tank == tank
        }
        if self.back_to == tank and into and into <= over:
            self.back_to = second

    def begin(self, held_m3: Mapping[str, float]) -> None:
        """Set every tank's mode by what it holds."""
        self._known = None
        for tank, standing in self.standings.items():
            held = held_m3[tank]
            closed = self.closed(tank) and tank_of(tank) not in self.whole
            most = standing.gross_m3 * (1.0 - 1e-9) if closed else max(standing.most_m3, min(held, standing.over_m3))
            self.most_m3[tank] = most
            ports = self.plumbed.ports.get(tank, ())
            under = {end for end in ports if held > standing.lips[end.port][0]}
            self.modes[tank] = Mode(under, full=held >= most * (1.0 - 1e-12))

    def closed(self, tank: str) -> bool:
        """Whether its air is shut in."""
        return any(tank_of(tank) in group for group, _ in self.airless)

    def air_pa(self, held_m3: Mapping[str, float]) -> dict[str, float]:
        """The pressure of each tank's air above that outside: p V is kept where air is shut in, from its room at the start."""
        found = dict.fromkeys(self.standings, 0.0)
        for group, at_first_m3 in self.airless:
            room = room_m3([self.standings[tank] for tank in group], [held_m3[tank] for tank in group])
            pressure = SEA_LEVEL_PA * (at_first_m3 / room - 1.0)
            found |= dict.fromkeys(group, pressure)
        return found

    def moment(self, held: Floats) -> Moment:
        """What goes on with the tanks' quantities (n or more,), the modes being as they are; the last one asked again is known."""
        modes = tuple((frozenset(one.under), one.full, one.over, one.passes) for one in self.modes.values())
        state = held[: len(self.standings)].tobytes(), modes, self.airless
        if self._known is None or self._known[0] != state:
            self._known = state, self._moment(held)
        return self._known[1]

    def _moment(self, held: Floats) -> Moment:
        names = list(self.standings)
        held_m3 = dict(zip(names, held.tolist(), strict=False))
        air = self.air_pa(held_m3)
        comes = dict.fromkeys(names, 0.0)
        if self.back_to:
            comes[self.back_to] += self.back_m3_s
        runs = dict.fromkeys(names, 0.0)
        loose = set[str]()  # full, but nothing presses on them
        drawn = {self.plumbed.piping.node(self.engine, "in"): self.burnt_m3_s + self.back_m3_s}
        for _ in range(10):
            more = {
                name: comes[name] + sum(runs[one] for one in names if self.standings[one].spill_to == name)
                for name in names
            }
            surfaces = {n: self._surface(n, held_m3[n], air[n], more[n], n in loose) for n in names}
            solved = self.plumbed.solved(surfaces, drawn)
            if more_loose := self._loose(solved) - loose:
                loose |= more_loose
                continue
            over = {n: more[n] + solved.gets_m3_s[n] if self.modes[n].over else 0.0 for n in names}
            if all(abs(over[n] - runs[n]) <= _STILL_M3_S * 1e-3 for n in names):
                break
            runs = over
        rates = np.zeros(len(names) + 2)
        for i, name in enumerate(names):
            free = self.modes[name].free or name in loose
            rates[i] = more[name] + solved.gets_m3_s[name] if free else 0.0
        rates[-1] = sum(runs[name] for name in names if not self.standings[name].spill_to)
        # Beyond an event, where steps feel their way, nothing may be lost either.
        rates[-2] = self.burnt_m3_s if solved.fed else -float(rates.sum())
        gaps = [gap for name in names for gap in self._gaps(name, surfaces[name], solved, air[name], name in loose)]
        gaps += self._breathing(solved, air)
        gaps += self._engine_gaps(solved)
        return Moment(rates, tuple(gaps), solved.fed, solved.gets_m3_s)

    def _loose(self, solved: Solved) -> set[str]:
        """Full tanks with fuel at their ports on which nothing that they are joined to presses."""
        full = (tank for tank, mode in self.modes.items() if mode.full and not mode.over and mode.under)
        return {tank for tank in full if np.isnan(solved.potential_pa.get(tank, np.nan))}

    def _surface(self, tank: str, held_m3: float, air_pa: float, comes_m3_s: float, loose: bool) -> Surface:
        mode, standing = self.modes[tank], self.standings[tank]
        lips: dict[End, float] = {
            end: self.head_pa_m * standing.lips[end.port][1] + air_pa for end in self.plumbed.ports.get(tank, ())
        }
        level: float | None = self.head_pa_m * standing.level_m(held_m3) + air_pa
        pressed = mode.full and not loose
        if pressed:
            level = self.head_pa_m * standing.spill_m + air_pa if mode.over else None
        return Surface(level, frozenset(mode.under), lips, comes_m3_s, mode.passes, pressed)

    def _gaps(self, tank: str, surface: Surface, solved: Solved, air_pa: float, loose: bool) -> list[Gap]:
        """What must hold for a tank's mode."""
        mode, standing = self.modes[tank], self.standings[tank]
        net = surface.comes_m3_s + solved.gets_m3_s[tank]
        if mode.over:
            return [Gap(tank, "stops running over", net + _STILL_M3_S)]
        here = solved.potential_pa.get(tank, np.nan)
        if mode.full:
            if loose or np.isnan(here):  # no line says what its pressure is: what comes and goes decides
                return [Gap(tank, "falls", net + _STILL_M3_S), Gap(tank, "runs over", _STILL_M3_S - net)]
            found = [Gap(tank, "falls", here - self._top_pa(tank, air_pa) + _SLACK_PA)]
            if not self.closed(tank) or tank_of(tank) in self.whole:
                found.append(Gap(tank, "runs over", self.head_pa_m * standing.spill_m + air_pa - here + _SLACK_PA))
            return found
        if mode.passes is not None:
            through = self.plumbed.over_m3_s(solved, surface, tank)
            held_up = surface.lips_pa[mode.passes] - (-np.inf if np.isnan(here) else here)
            return [Gap(tank, "fills", held_up + _SLACK_PA), Gap(tank, "falls short", through - _STILL_M3_S)]
        return []

    def _top_pa(self, tank: str, air_pa: float) -> float:
        return self.head_pa_m * self.standings[tank].level_m(self.most_m3[tank]) + air_pa

    def breathe(self, tank: str, held_m3: Mapping[str, float]) -> None:
        """Air has come into a tank whose own was shut in, and into those that share it."""
        self.airless = tuple(one for one in self.airless if tank not in one[0])
        self.begin(held_m3)

    def _covered(self, end: End) -> bool:
        """Whether a port is below its surface."""
        return any(end in mode.under for mode in self.modes.values())

    def _breathing(self, solved: Solved, air: Mapping[str, float]) -> list[Gap]:
        """Of each tank whose air is shut in: how far the pressure at its ports is from drawing air through a dry outlet's line."""
        found = []
        for way in self.plumbed.network.ways("feed") if self.airless else ():
            dry, into = way.start.tank or "", way.end.tank or ""
            if self.closed(dry) or not self.closed(into) or self._covered(way.start):
                continue
            here = solved.at((way.end, ""))
            if not self._covered(way.end) or np.isnan(here):
                here = self.head_pa_m * float(way.shortest[-1].points_m[-1] @ self.attitude.up) + air[into]
            lowest = min(float((step.points_m @ self.attitude.up).min()) for step in way.shortest)
            found.append(Gap(into, "breathes", here - self.head_pa_m * lowest))
        return found

    # --- the engine's feed

    def _engine_gaps(self, solved: Solved) -> list[Gap]:
        """What must hold for the engine to get fuel and no air."""
        found = list[Gap]()
        if not solved.fed:
            return found
        if self.needed_pa is not None:
            here = solved.at(self.plumbed.piping.node(self.engine, "in"))
            found.append(Gap("", "too little", here - self.needed_pa))
        if self.airless and self.vapour_pa is not None:
            lowest = solved.flowing.lowest_pa(self.head_pa_m, self.attitude.up)
            found.append(Gap("", "boils", lowest + SEA_LEVEL_PA - self.vapour_pa))
        for outlet, (node, lowest_m) in self._dry_branches().items():
            margin = solved.at(node) - self.head_pa_m * lowest_m
            found.append(Gap(outlet.tank or "", "lets air past", margin))
        return found

    def _dry_branches(self) -> dict[End, tuple[tuple[End, str], float]]:
        """Of each outlet above its surface that leads to the engine past no tank: where its line meets others, its lowest level."""
        under = frozenset(end for mode in self.modes.values() for end in mode.under)
        if under not in self._dry:
            self._dry[under] = self._dry_now()
        return self._dry[under]

    def _dry_now(self) -> dict[End, tuple[tuple[End, str], float]]:
        ways = [way for way in self.plumbed.network.ways("feed") if way.end == self.engine and way.start.tank]
        live = [way for way in ways if self._covered(way.start)]
        others = {step.end for way in live for step in way.steps}
        found: dict[End, tuple[tuple[End, str], float]] = {}
        for way in ways:
            if not live or way in live or not isinstance(self.plumbed.network.nodes[way.start], Outlet):
                continue
            steps = []
            for step in way.shortest:
                steps.append(step)
                if step.end in others:
                    break
            parts = [self.plumbed.network.nodes[step.end] for step in steps]
            if any(isinstance(part, Pump) and part.keeps_air_out for part in parts):
                continue
            lowest = min(float((step.points_m @ self.attitude.up).min()) for step in steps)
            found[way.start] = (self.plumbed.piping.node(steps[-1].end, "in"), lowest)
        return found
