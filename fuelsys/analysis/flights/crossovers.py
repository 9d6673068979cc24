"""Vent lines between tanks that no fuel line joins: what a full tank pours through them when its fuel stands over their top.

Of several paths the one whose highest point is lowest counts; valves in them count as open, and check valves as letting fuel pass.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from itertools import permutations
from math import inf

from fuelsys.analysis.flights.levelled import Levelled
from fuelsys.analysis.lines.solving import Solving
from fuelsys.model.built.ends import End, PlacedLine
from fuelsys.model.built.layout import Layout
from fuelsys.model.found.exchange import Crossed
from fuelsys.model.found.study import TankStudy
from fuelsys.model.stated.attitude import Attitude

_Tops = Mapping[End, tuple[float, PlacedLine]]  # the highest level on the lowest path to each end, and its first line


def crossovers(layout: Layout, tanks: Sequence[TankStudy]) -> tuple[Crossed, ...]:
    """The worst flight attitude of each way from a full tank into another full one."""
    solving, flights = Solving.of(layout), [at for at in layout.design.envelope if at.phase == "flight"]
    found = list[Crossed]()
    for one, other in permutations(tanks, 2):
        names = {one.name, other.name}
        share_air = any(names <= set(group) for group in layout.network.air_groups())
        if not share_air or any(names <= set(group) for group in layout.network.fuel_groups()):
            continue
        known = [at for attitude in flights if (at := _at(solving, (one, other), attitude))]
        found += [max(known, key=lambda at: (at.over_m3, at.above_m))] if known else []
    return tuple(found)


def _at(solving: Solving, pair: tuple[TankStudy, TankStudy], attitude: Attitude) -> Crossed | None:
    """At one attitude: once fuel stands over the line's top, that is a siphon: all down to the tank's lowest vent runs into the other, and
    overboard from there."""
    one, other = pair
    levelled = Levelled(solving, [one.tank, other.tank], attitude)
    full = {one.name: one.capacity.filled.volume_m3 for one in pair if one.capacity.filled}  # a tank with a vent has it
    own, others = (_tops(solving.layout, study.name, attitude) for study in pair)
    into = [reached for end, reached in own.items() if end.tank == other.name]
    if not into:
        return None
    top, line = min(into, key=lambda one: one[0])
    level = min(levelled.level_of(one.name, full[one.name]), _overboard_m(solving.layout, own))
    if level <= top:
        return Crossed(attitude, one.name, other.name, line.name, level - top, 0.0, 0.0)
    centre_m = float(one.tank.cavity.centre_m @ attitude.up)
    down = min([top, *(one.tank.level_m(vent.name, attitude.up) + centre_m for vent in one.tank.design.vent)])
    runs_m3 = levelled.held_m3(one.name, level) - levelled.held_m3(one.name, down)
    most_m3 = levelled.held_m3(other.name, min(_overboard_m(solving.layout, others), level))
    into_m3 = min(runs_m3, max(0.0, most_m3 - full[other.name]))
    return Crossed(attitude, one.name, other.name, line.name, level - top, into_m3, runs_m3 - into_m3)


def _overboard_m(layout: Layout, tops: _Tops) -> float:
    return min((top for end, (top, _) in tops.items() if layout.network.overboard(end)), default=inf)


def _tops(layout: Layout, tank: str, attitude: Attitude) -> _Tops:
    """From a tank along vent lines, either way, but through no other tank and no end overboard."""
    lines, overboard = [line for line in layout.network.edges if line.kind == "vent"], layout.network.overboard
    found: dict[End, tuple[float, PlacedLine]] = {}
    for _ in lines:
        before = dict(found)
        for line in lines:
            top = float((line.points_m @ attitude.up).max())
            for start, end in ((line.start, line.end), (line.end, line.start)):
                begins = start.tank == tank
                if end.tank == tank or not (begins or (start.tank is None and start in found)) or overboard(start):
                    continue
                least, first = found.get(start, (-inf, line))
                if end not in found or max(top, least) < found[end][0]:
                    found[end] = max(top, least), first
        if found == before:
            break
    return found
