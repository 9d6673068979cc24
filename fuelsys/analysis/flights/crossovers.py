"""Vent lines between tanks that no fuel line joins: what a full tank pours through them when its fuel stands over their top."""

from __future__ import annotations

from collections.abc import Sequence
from math import inf

from fuelsys.analysis.flights.levelled import Levelled
from fuelsys.analysis.lines.solving import Solving
from fuelsys.model.built.layout import Layout
from fuelsys.model.built.way import Climb, Way
from fuelsys.model.found.exchange import Crossed
from fuelsys.model.found.study import TankStudy
from fuelsys.model.stated.attitude import Attitude


def crossovers(
    layout: Layout, tanks: Sequence[TankStudy]
) -> tuple[tuple[Crossed, ...], tuple[tuple[str, str], ...]]:
    """The worst flight attitude of each such way from a tank into another, both full; and what is needed of which."""
    studies = {one.name: one for one in tanks}
    solving = Solving.of(layout)
    found, needs = list[Crossed](), dict[tuple[str, str], None]()
    for way in layout.network.ways("vent"):
        ends = [way.start.tank, way.end.tank]
        if None in ends or len(set(ends)) < 2 or not set(ends) <= set(studies) or _joined(layout, ends):
            continue
        unknown = [name for name in ends if name and studies[name].capacity.filled is None]
        needs |= dict.fromkeys((name, "a filler or a vent: how full it can be is not stated") for name in unknown)
        for one, other in ((ends[0], ends[1]), (ends[1], ends[0])) if not unknown else ():
            pair = studies[one or ""], studies[other or ""]
            climb = way.climb()
            flights = (at for at in layout.design.envelope if at.phase == "flight")
            found.append(max((_at(solving, way, climb, pair, at) for at in flights), key=lambda at: (at.over_m3, at.above_m)))
    return tuple(found), tuple(needs)


def _joined(layout: Layout, ends: Sequence[str | None]) -> bool:
    return any(set(ends) <= set(group) for group in layout.network.fuel_groups())


def _at(solving: Solving, way: Way, climb: Climb, pair: tuple[TankStudy, TankStudy], attitude: Attitude) -> Crossed:
    """At one attitude: what stands over the line's top runs into the other tank, and what has no room there overboard."""
    one, other = pair
    levelled = Levelled(solving, [one.tank, other.tank], attitude)
    full = {study.name: study.capacity.filled.volume_m3 for study in pair if study.capacity.filled}
    top = climb.top_m(attitude.up)
    level = min(levelled.level_of(one.name, full[one.name]), _overboard_m(levelled, one))
    above = level - top
    if above <= 0.0:
        return Crossed(attitude, one.name, other.name, way.shortest[0].line.name, above, 0.0, 0.0)
    runs_m3 = levelled.held_m3(one.name, level) - levelled.held_m3(one.name, top)
    most_m3 = levelled.held_m3(other.name, min(_overboard_m(levelled, other), level))
    into_m3 = min(runs_m3, max(0.0, most_m3 - full[other.name]))
    return Crossed(attitude, one.name, other.name, way.shortest[0].line.name, above, into_m3, runs_m3 - into_m3)


def _overboard_m(levelled: Levelled, study: TankStudy) -> float:
    """The level at which a tank runs overboard by itself."""
    network = levelled.solving.layout.network
    ways = (way for way in network.ways("vent") if way.start.tank == study.name and network.overboard(way.end))
    return min((way.climb().top_m(levelled.up) for way in ways), default=inf)
