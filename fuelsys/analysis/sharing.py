"""Tanks that are connected: whose fuel finds one level, whose airspaces are one, and where that level stands when full."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence

import networkx as nx
import numpy as np

from fuelsys.analysis.routing import Path
from fuelsys.analysis.tilted import Tilted
from fuelsys.kernels import volume
from fuelsys.kernels.compiled import Floats
from fuelsys.model.attitude import Attitude
from fuelsys.model.layout import FittedTank, Layout
from fuelsys.model.plumbing import Overflow, Settled
from fuelsys.model.study import Filled


def fuel_groups(layout: Layout) -> tuple[tuple[str, ...], ...]:
    """Tanks whose outlets are connected by feed or interconnect lines: no valve, selector or pump lies between."""
    ties = nx.Graph()
    for line in layout.lines:
        if line.design.kind in ("feed", "interconnect"):
            start = _fuel_node(layout, line.name, line.design.from_port, "outflow")
            ties.add_edge(start, _fuel_node(layout, line.name, line.design.to_port, "inflow"))
    return _groups(layout, ties)


def _fuel_node(layout: Layout, line: str, end: str, side: str) -> tuple[str, str]:
    """A node of the fuel's connections: at a valve or selector each line ends for itself, a pump parts its two sides."""
    component = layout.component(end)
    if component is None:
        return _tank_node(end)
    if component.kind in ("valve", "selector"):
        return f"end of {line}", end
    return f"{component.kind} {side if component.kind == 'pump' else ''}", end


def air_groups(layout: Layout) -> tuple[tuple[str, ...], ...]:
    """Tanks whose airspaces are connected by vent lines, through other vent fittings and through tees."""
    ties = nx.Graph()
    for line in layout.lines:
        if line.design.kind == "vent":
            one, two = (
                _tank_node(end) if "." in end else ("component", end)
                for end in (line.design.from_port, line.design.to_port)
            )
            ties.add_edge(one, two)
    return _groups(layout, ties)


def _tank_node(end: str) -> tuple[str, str]:
    return "tank", end.split(".", 1)[0]


def _groups(layout: Layout, ties: nx.Graph) -> tuple[tuple[str, ...], ...]:
    """The tanks of each connected part, in the design's order."""
    names = [tank.name for tank in layout.tanks]
    ties.add_nodes_from(("tank", name) for name in names)
    parts = [{name for what, name in part if what == "tank"} for part in nx.connected_components(ties)]
    found = [tuple(name for name in names if name in part) for part in parts if part]
    return tuple(sorted(found, key=lambda group: names.index(group[0])))


def common_level_m(tanks: Sequence[FittedTank], volume_m3: float, up: Floats) -> float:
    """The level from the datum at which connected tanks hold a volume together: their surfaces taken as one body."""
    z, faces, plan = [], [], []
    first = 0
    for tank in tanks:
        tilted = Tilted.of(tank.cavity, up)
        z.append(tilted.z_m + tank.cavity.centre_m @ up)
        faces.append(tank.cavity.faces + np.int32(first))
        plan.append(tilted.plan_m2)
        first += len(tilted.z_m)
    most_m3 = sum(tank.cavity.gross_m3 for tank in tanks)
    if volume_m3 >= most_m3 * (1.0 - 1e-12):
        return float(np.concatenate(z).max())
    target = np.array([max(0.0, volume_m3)])
    return float(volume.level_for_volume(np.concatenate(z), np.concatenate(faces), np.concatenate(plan), target)[0])


def settled(
    layout: Layout,
    groups: Iterable[Sequence[str]],
    full: Mapping[str, Filled | None],
    vents: Sequence[Path],
    attitudes: Iterable[Attitude],
) -> tuple[Settled, ...]:
    """Each group filled at the normal ground attitude, at other attitudes; groups of unknown filling are left out.

    vents are the paths that lead overboard. Nothing runs out (vents and fillers are taken as capped) and trapped air
    keeps its room, so the level is the highest that the fuel can come to.
    """
    found = []
    for group in groups:
        held = [full[name] for name in group]
        if any(one is None for one in held):
            continue
        volume_m3 = sum(one.volume_m3 + one.trapped_air_m3 for one in held if one is not None)
        tanks = [layout.tank(name) for name in group]
        for attitude in attitudes:
            level_m = common_level_m(tanks, volume_m3, attitude.up)
            over = _vents(group, vents, attitude.up, level_m), _fillers(tanks, attitude.up, level_m)
            found.append(Settled(attitude, tuple(group), level_m, *over))
    return tuple(found)


def _vents(group: Sequence[str], vents: Sequence[Path], up: Floats, level_m: float) -> tuple[Overflow, ...]:
    """Each vent of a group that leads overboard, over the highest point of its line (the lower one of several lines)."""
    highest: dict[str, float] = {}
    for path in vents:
        if path.start.split(".", 1)[0] in group:
            highest[path.start] = min(highest.get(path.start, np.inf), float((path.points_m @ up).max()))
    return tuple(Overflow(vent, level_m - top) for vent, top in highest.items())


def _fillers(tanks: Sequence[FittedTank], up: Floats, level_m: float) -> tuple[Overflow, ...]:
    """Each filler of a group, over its lip."""
    lips = [(tank, tank.design.filler) for tank in tanks if tank.design.filler]
    return tuple(
        Overflow(f"{tank.name}.{lip.name}", level_m - float(tank.body_m(lip.position_m) @ up)) for tank, lip in lips
    )
