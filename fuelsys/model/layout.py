"""The design with its meshes: every tank's cavity, every fitting's spot in it, every line as a polyline in body axes."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field, replace

import numpy as np

from fuelsys.kernels.compiled import Floats
from fuelsys.model.cavity import Cavity, Spot
from fuelsys.model.design import Component, Design, Line, Tank


@dataclass(frozen=True)
class FittedTank:
    """A tank's statement, its cavity, and where its fittings sit; turn and origin_m take mesh axes to body axes.

    downhill_m are the ways (k, 3) about the cavity's centre by which fuel runs from an outlet by gravity alone; an outlet
    from which a pump draws has none. opened is the same tank with the gaps open that are too narrow to count on, where it
    has such gaps.
    """

    design: Tank
    cavity: Cavity
    turn: Floats
    origin_m: Floats
    spots: dict[str, Spot]
    downhill_m: dict[str, tuple[Floats, ...]] = field(default_factory=dict)
    opened: FittedTank | None = None

    @property
    def name(self) -> str:
        """The tank's name."""
        return self.design.name

    def body_m(self, point_m: tuple[float, float, float] | Floats) -> Floats:
        """A point (3,) in the mesh's axes -> body axes, from the datum."""
        turned: Floats = np.asarray(point_m, dtype=np.float64) @ self.turn + self.origin_m
        return turned

    def mesh_m(self, point_m: Floats) -> Floats:
        """A point (3,) in body axes from the datum -> the mesh's axes."""
        turned: Floats = (point_m - self.origin_m) @ self.turn.T
        return turned

    def spot(self, name: str) -> Spot:
        """The spot of a port, a switch ("switch NAME") or the dipstick's end ("dipstick bottom")."""
        return self.spots[name]

    def level_m(self, name: str, up: Floats) -> float:
        """Level of a spot about the cavity's centre, along up."""
        return float(self.spots[name].point_m @ up)


@dataclass(frozen=True)
class PlacedLine:
    """A line with its whole path in body axes, ends included: points_m (k, 3), from its `from` to its `to`."""

    design: Line
    points_m: Floats
    drains_m: Floats

    @property
    def name(self) -> str:
        """The line's name."""
        return self.design.name


@dataclass(frozen=True)
class Layout:
    """Everything the design file and its meshes say; file is its name, for messages. aircraft_turn: aircraft -> body axes."""

    file: str
    design: Design
    tanks: tuple[FittedTank, ...]
    lines: tuple[PlacedLine, ...]
    aircraft_turn: Floats

    def tank(self, name: str) -> FittedTank:
        """A tank by its name; KeyError where there is none (the door has checked the design's own names)."""
        return next(tank for tank in self.tanks if tank.name == name)

    def component(self, name: str) -> Component | None:
        """A component by its name."""
        return next((c for c in self.design.component if c.name == name), None)

    def lines_at(self, end: str, kind: str | None = None) -> tuple[PlacedLine, ...]:
        """Lines that begin or end at "tank.port" or at a component, of one kind or of all."""
        return tuple(
            line
            for line in self.lines
            if end in (line.design.from_port, line.design.to_port) and kind in (None, line.design.kind)
        )

    def ends_from(self, start: str, kind: str, *, downstream: bool) -> frozenset[str]:
        """Components and tanks' ports that lines of a kind lead to from an end; the way ends at tanks, engines, overboard.

        Downstream follows each line from its `from` to its `to`; else lines are followed both ways.
        """
        found: set[str] = set()
        waiting = [start]
        while waiting:
            here = waiting.pop()
            for line in self.lines_at(here, kind):
                one, two = line.design.from_port, line.design.to_port
                beyond = two if one == here else one
                if beyond in found or beyond == start or (downstream and one != here):
                    continue
                found.add(beyond)
                component = self.component(beyond)
                waiting.extend([beyond] if component and component.kind not in ("engine", "overboard") else [])
        return frozenset(found)

    def with_ways(self) -> Layout:
        """The same with each outlet's ways by gravity, which its lines make."""
        return replace(self, tanks=tuple(self._with_ways(tank) for tank in self.tanks))

    def _with_ways(self, tank: FittedTank) -> FittedTank:
        found = {}
        for outlet in tank.design.outlet:
            ways = list(self._downhill(f"{tank.name}.{outlet.name}", ()))
            by_gravity = tuple(way - tank.cavity.centre_m for way in ways if way is not None)
            if len(by_gravity) == len(ways):
                found[outlet.name] = by_gravity
        return replace(tank, downhill_m=found, opened=self._with_ways(tank.opened) if tank.opened else None)

    def _downhill(self, here: str, gone: tuple[PlacedLine, ...]) -> Iterator[Floats | None]:
        """Ways on from an end along feed lines to the next tank or an engine; None for one on which a pump may draw."""
        for line in self.lines_at(here, "feed"):
            if line.design.from_port != here or any(one is line for one in gone):
                continue
            way, end = (*gone, line), line.design.to_port
            component = self.component(end)
            kind = component.kind if component else "tank"
            if kind == "pump" or (kind == "engine" and self.design.aircraft.feed == "pump"):
                yield None
            elif kind in ("tank", "engine"):
                yield np.concatenate([one.points_m for one in way])
            else:
                yield from self._downhill(end, way)

    def aircraft_m(self, point_m: Floats) -> Floats:
        """A point (3,) in body axes -> the axes that the design file uses for places on the aircraft."""
        turned: Floats = point_m @ self.aircraft_turn.T
        return turned
