"""The design with its meshes: every tank's cavity, every fitting's spot in it, the plumbing as a network."""

from __future__ import annotations

import hashlib
from collections.abc import Iterable
from dataclasses import dataclass, field, replace
from functools import cached_property
from typing import NamedTuple

import numpy as np

from fuelsys.arrays import Floats
from fuelsys.model.built.cavity import Cavity, Spot
from fuelsys.model.built.ends import PlacedLine, PortEnd
from fuelsys.model.built.measured import AsTwin, Corrected, Tripped
from fuelsys.model.built.network import Network
from fuelsys.model.built.way import Climb
from fuelsys.model.stated.design import Design, Fuel, Tank
from fuelsys.model.stated.fillsheet import Sheet
from fuelsys.model.stated.fittings import Outlet, Switch
from fuelsys.model.words import Doubt


@dataclass(frozen=True)
class Cover:
    """The fuel that must stand over an outlet: stated, or assumed for a flow; needs says what an assumption would need.

    dip_m is what a draw-down without whirl takes at that flow, which is less than what is assumed.
    """

    height_m: float
    assumed: bool = False
    flow_m3_s: float = 0.0
    needs: str = ""
    dip_m: float = 0.0


@dataclass(frozen=True)
class Draw:
    """The most that a tank gives alone: what is burnt at the greatest flow stated, and what engines send back on top, where
    that does not come into the tank that this one feeds.

    needs says what is missing for it.
    """

    burnt_m3_s: float
    returned_m3_s: float = 0.0
    needs: str = ""

    @property
    def drawn_m3_s(self) -> float:
        """All that leaves through the outlets."""
        return self.burnt_m3_s + self.returned_m3_s


@dataclass(frozen=True)
class Rides:
    """How a switch's float lies in the fuel, by its draught: raised_m is how much higher than its stated mark the surface stands
    at the trip, lower_m how much lower than that in the densest fuel, higher_m how much higher in the lightest; per_density is what
    the draught times the density is.

    A float that its stem guides keeps this along the stem at any tilt, since what it displaces is its area times the depth on its axis.
    """

    raised_m: float = 0.0
    lower_m: float = 0.0
    per_density: float = 0.0
    higher_m: float = 0.0

    @classmethod
    def of(cls, switch: Switch, fuel: Fuel) -> Rides | None:
        """In a lighter liquid a float lies deeper, so that the surface stands higher when it is down at its trip point.

        None where its float is not stated.
        """
        if switch.float_body is None or not switch.float_body.sized:
            return None
        own, here = switch.float_body.draught_m, fuel.density_kg_m3
        lightest, densest = fuel.density_range_kg_m3 or (here, here)
        raised_m = own(here) - own(switch.set_in_kg_m3 or here)
        return cls(raised_m, own(here) - own(densest), own(here) * here, own(lightest) - own(here))


NO_FLOAT = Rides()


@dataclass(frozen=True)
class Ends:
    """Other outlets of a tank that give nothing more once one takes air, since it gets past where their lines meet.

    needs says what it would take to know; where that is not empty, it is taken to be so.
    """

    others: tuple[str, ...]
    needs: str = ""


def _and(names: Iterable[str]) -> str:
    return " and ".join(names)


@dataclass(frozen=True)
class FittedTank:
    """A tank's statement, its cavity, and where its fittings sit; turn and origin_m take mesh axes to body axes.

    downhill are the ways by which fuel runs from an outlet by gravity alone, with levels about the cavity's centre; an
    outlet from which a pump draws has none. opened is the same tank with the gaps open that are too narrow to count on,
    where it has such gaps. covers are what must stand over each outlet, heights (of each of its ways by gravity) how far above
    the way's end the surface must stand for the flow; draw is what it gives, ends what ends with an outlet: empty and None until
    the flow has been looked at. outer_m are the least and greatest corner of the tank's outside in body axes, where the mesh is that.

    rides are how the floats of its switches lie in the fuel, where their sizes are stated; the spot of such a switch is its mark raised.

    sheet is the fill test's that the design names; corrected says what of it is used, once it has been (the cavity then holds its share of
    what was drawn); tripped are the switches whose trip was measured and is computed. doubts say what of its feed is not stated,
    untested that it was not measured while its twin was; as_twin is what it then counts from that;
    joined names the tanks that its fuel runs to, or comes from, by lines that nothing shuts; gives, by the outlets through which its
    fuel comes to the engine, the ways (by their number) that lead through another tank, with that one. runs_across: not only down
    into one that all the others give through. left_under_m remembers at what
    level its fuel stays under a port when it is drained at an up (its bytes).
    """

    design: Tank
    cavity: Cavity
    turn: Floats
    origin_m: Floats
    spots: dict[str, Spot]
    downhill: dict[str, tuple[Climb, ...]] = field(default_factory=dict)
    opened: FittedTank | None = None
    covers: dict[str, Cover] = field(default_factory=dict)
    heights: dict[str, tuple[float, ...]] = field(default_factory=dict)
    ends: dict[str, Ends] = field(default_factory=dict)
    outer_m: tuple[Floats, Floats] | None = None
    draw: Draw | None = None
    rides: dict[str, Rides] = field(default_factory=dict)
    sheet: Sheet | None = None
    corrected: Corrected | None = None
    as_twin: AsTwin | None = None
    tripped: dict[str, Tripped] = field(default_factory=dict)
    doubts: tuple[str, ...] = ()
    untested: tuple[str, ...] = ()
    joined: tuple[str, ...] = ()
    gives: dict[str, tuple[tuple[int, FittedTank], ...]] = field(default_factory=dict)
    runs_across: bool = False
    left_under_m: dict[tuple[str, bytes], float] = field(default_factory=dict, init=False, repr=False, compare=False)

    @property
    def share_by_test(self) -> float:
        """What it counts of what was drawn, by its own fill test or its twin's; 1 without."""
        found = self.corrected or self.as_twin
        return found.share if found else 1.0

    @property
    def drawn_by(self) -> tuple[Outlet, ...]:
        """The outlets by which its fuel comes to the engine; all until that has been looked at, or where none does."""
        return tuple(one for one in self.design.outlet if not self.gives or one.name in self.gives)

    @property
    def through(self) -> tuple[str, ...]:
        """The tanks that it gives through."""
        return tuple(dict.fromkeys(other.name for by in self.gives.values() for _, other in by))

    @property
    def remarks(self) -> tuple[str, ...]:
        """What stands under its usable fuel or minutes: what of its feed is not stated, and what is left out beside joined tanks."""
        doubts = (*self.untested, *self.doubts)
        if not self.joined:
            return doubts
        shut = [one.name for one in self.design.outlet if one not in self.drawn_by]
        told = f"{self.name} is counted by itself"
        told += f", drained through {_and(self.through)} down to what is kept there" if self.through else ""
        told += f", by {_and(one.name for one in self.drawn_by)}: {_and(shut)} leads into other tanks" if shut else ""
        across = f"what runs between {_and((self.name, *self.joined))} counts in the table of joined tanks alone."
        return (*doubts, (Doubt if self.runs_across else str)(f"{told}; {across}"))

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
        """The spot of a port, a switch ("switch NAME"), the dipstick's end ("dipstick bottom") or a gauge's ("gauge NAME top")."""
        return self.spots[name]

    def room_m(self, switch: Switch, mark_m: Floats) -> float | None:
        """What a switch's float has over its stroke to the nearest wall, its mark in body axes; None where it is cut out of the tank."""
        if switch.own_float is not None:
            return None
        ends = (mark_m, mark_m + np.array([0.0, 0.0, switch.differential_m]))
        return min(self.left_m(end) for end in ends)

    def left_m(self, point_m: Floats) -> float:
        """From a point in body axes to the nearest wall, 0 from outside."""
        return 0.0 if self.cavity.spot("", point_m).off_m else self.cavity.clearance_m(point_m)

    def rise_m(self, name: str) -> float:
        """How much higher than stated the mark of a switch ("switch NAME") stands by its float; 0 for all else."""
        return self.rides[name].raised_m if name in self.rides else 0.0

    def level_m(self, name: str, up: Floats) -> float:
        """Level of a spot about the cavity's centre, along up."""
        return float(self.spots[name].point_m @ up)

    def span_m(self, up: Floats) -> tuple[float, float]:
        """Levels of the cavity's lowest and highest point from the datum, along up."""
        levels, centre_m = self.cavity.vertices_m @ up, float(self.cavity.centre_m @ up)
        return float(levels.min()) + centre_m, float(levels.max()) + centre_m


class Input(NamedTuple):
    """A file that was read: its name as the design gives it, and the SHA-256 of its bytes in hexadecimal."""

    file: str
    sha256: str


@dataclass(frozen=True)
class Layout:
    """Everything the design file and its meshes say; file is its name, for messages. aircraft_turn: aircraft -> body axes.

    inputs: the files that it was made of, the design's first. notes say what counts otherwise than the file calls it.
    """

    file: str
    design: Design
    tanks: tuple[FittedTank, ...]
    lines: tuple[PlacedLine, ...]
    aircraft_turn: Floats
    inputs: tuple[Input, ...] = ()
    notes: tuple[str, ...] = ()

    @property
    def made_of(self) -> str:
        """Twelve digits that are others when a byte of the files is another: for a sheet that leaves the machine."""
        listed = "".join(f"{one.sha256}  {one.file}\n" for one in self.inputs)
        return hashlib.sha256(listed.encode()).hexdigest()[:12]

    def tank(self, name: str) -> FittedTank:
        """A tank by its name; KeyError where there is none (the door has checked the design's own names)."""
        return next(tank for tank in self.tanks if tank.name == name)

    @cached_property
    def network(self) -> Network:
        """The plumbing: what is asked of its lines is asked there."""
        return Network.of(self.design, self.lines)

    def with_ways(self) -> Layout:
        """The same with each outlet's ways by gravity, which its lines make."""
        return replace(self, tanks=tuple(self._with_ways(tank) for tank in self.tanks))

    def _with_ways(self, tank: FittedTank) -> FittedTank:
        found = {}
        for outlet in tank.design.outlet:
            end, engine_draws = PortEnd(tank.name, outlet.name), self.design.aircraft.feed == "pump"
            ways = self.network.downhill(end, engine_draws=engine_draws)
            if ways is not None:
                found[outlet.name] = tuple(way.climb(tank.cavity.centre_m) for way in ways)
        return replace(tank, downhill=found, opened=self._with_ways(tank.opened) if tank.opened else None)

    def aircraft_m(self, point_m: Floats) -> Floats:
        """A point (3,) in body axes -> the axes that the design file uses for places on the aircraft."""
        turned: Floats = point_m @ self.aircraft_turn.T
        return turned
