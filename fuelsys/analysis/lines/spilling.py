"""What runs out of full tanks over their vent lines until it stops, for a tank alone and for tanks that share a level.

Quasi-static: a pool that a vent opens into sinks to the highest point of the vent's line, tanks that are joined sink
together, and what no such opening reaches stays. It starts at one level, with trapped air keeping its room.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from fuelsys.analysis.tank.draining import Opening
from fuelsys.analysis.tank.tilted import Tilted
from fuelsys.arrays import Floats
from fuelsys.kernels import drain, pools
from fuelsys.model.built.cavity import Cavity, Spot

REACHED_M = 1e-9  # a pool has sunk to a level where it stands above it by no more: rounding, not a margin


@dataclass(frozen=True)
class Vessel:
    """A cavity with the vents that lead overboard (with their ways), and the ports that join it to other tanks."""

    cavity: Cavity
    vents: tuple[Opening, ...] = ()
    ports: tuple[Spot, ...] = ()


@dataclass(frozen=True)
class RunsOut:
    """What runs out until it stops; siphoned_m3 where each line that runs over goes on to draw.

    It draws until its opening comes free or its outer end stands as high as the fuel.
    """

    lost_m3: float
    siphoned_m3: float


def runs_out(vessels: Sequence[Vessel], up: Floats, level_m: float) -> RunsOut:
    """What runs out of vessels that share a level (from the datum) over the vents' lines."""
    views = [_View(vessel, up) for vessel in vessels]
    stops = [view.vents_m() for view in views]
    drawing = [view.vents_m(level_m) for view in views]
    lost_m3 = _lost_m3(views, stops, level_m)
    return RunsOut(lost_m3, lost_m3 if drawing == stops else _lost_m3(views, drawing, level_m))


def _lost_m3(views: Sequence[_View], stops: Sequence[Sequence[float]], level_m: float) -> float:
    shared_m = np.inf
    if len(views) > 1:
        shared_m = min(view.shared_m(vents) for view, vents in zip(views, stops, strict=True))
    return sum(view.sunk(level_m, vents, shared_m)[0] for view, vents in zip(views, stops, strict=True))


def taken_m3(vessels: Sequence[Vessel], up: Floats, level_m: float, spot: Spot) -> float | None:
    """What leaves vessels that share a level (from the datum) by their ports until a spot in the first comes free.

    None where it never does: its pool is cut off above it, or the ports lie higher.
    """
    one, *more = (Vessel(vessel.cavity, (), vessel.ports) for vessel in vessels)
    first, others = _View(one, up, spot), [_View(vessel, up) for vessel in more]  # the spot is one of the first's mesh
    free_m = first.datum_m + float(spot.point_m @ up)
    taken, end_m = first.sunk(level_m, [], free_m)
    if not end_m <= free_m + REACHED_M:
        return None
    return taken + sum(view.sunk(level_m, [], free_m)[0] for view in others)


@dataclass(frozen=True, eq=False)
class _View:
    """A vessel at an attitude; levels here are from the datum."""

    vessel: Vessel
    up: Floats
    asked: Spot | None = None

    @cached_property
    def tilted(self) -> Tilted:
        vents = [vent.spot for vent in self.vessel.vents]
        return Tilted.of(
            self.vessel.cavity, self.up, [*vents, *self.vessel.ports, *([self.asked] if self.asked else [])]
        )

    @cached_property
    def datum_m(self) -> float:
        return float(self.vessel.cavity.centre_m @ self.up)

    def vents_m(self, level_m: float = -np.inf) -> list[float]:
        """The level at which each vent stops spilling; from a level on, at which it stops drawing, too."""
        return [self.datum_m + self._vent_m(vent, level_m - self.datum_m) for vent in self.vessel.vents]

    def _vent_m(self, vent: Opening, level_m: float) -> float:
        drawing = [climb.way for climb in vent.ways if climb.top_m(self.up) < level_m]
        outer = [next(step.points_m[-1] for step in way.steps if step.end == way.end) for way in drawing]
        ends = [float(point_m @ self.up) - self.datum_m for point_m in outer]
        own = float(vent.spot.point_m @ self.up)
        return min([vent.level_m(self.up), *(max(own, end) for end in ends)])

    def shared_m(self, vents_m: Sequence[float]) -> float:
        """The level to which the vents here let the joined tanks sink: that of the lowest one whose pool a port opens into."""
        seeds = self.tilted.tree.port_seed
        lowest = np.inf
        for seed, vent_m in zip(seeds, vents_m, strict=False):
            for port, other in zip(self.vessel.ports, seeds[len(vents_m) :], strict=False):
                if seed >= 0 and other >= 0:
                    parts_m = self.datum_m + _parting_m(self.tilted.tree, int(seed), int(other))
                    lowest = min(lowest, max(vent_m, parts_m, self.datum_m + self.tilted.level_m(port)))
        return float(lowest)

    def sunk(self, level_m: float, vents_m: Sequence[float], shared_m: float) -> tuple[float, float]:
        """What leaves by vents, each down to its level, and by ports down to the shared one; where it ends at the spot asked."""
        tilted, tree = self.tilted, self.tilted.tree
        start = min(level_m - self.datum_m, tilted.high_m)
        ports = [max(tilted.level_m(port), shared_m - self.datum_m) for port in self.vessel.ports]
        levels = np.array([*(vent - self.datum_m for vent in vents_m), *ports])
        seeds = tree.port_seed[: len(levels)]
        end = drain.drain(tree.parent, tree.children, tree.floor, tree.top, seeds, levels, tilted.high_m)[0]
        ends = np.minimum(end[: tree.seed_vertex.size], start)
        held = tilted.by_seed(np.column_stack([np.full(ends.size, start), ends])).sum(axis=0)
        asked = int(tree.port_seed[-1]) if self.asked else -1
        return max(0.0, float(held[0] - held[1])), self.datum_m + float(ends[asked]) if asked >= 0 else np.nan


def _parting_m(tree: pools.Tree, one: int, two: int) -> float:
    """The level at which two seeds' pools become one."""
    above = set()
    while one >= 0:
        above.add(one)
        one = int(tree.parent[one])
    while two not in above:
        two = int(tree.parent[two])
    return float(tree.floor[two])
