"""Where a way of the feed ends, and the outlets that fuel comes from there."""

from __future__ import annotations

from fuelsys.model.built.ends import End
from fuelsys.model.built.layout import Layout
from fuelsys.model.stated.components import Component, Pump


def stops(layout: Layout) -> tuple[type[Component] | End, ...]:
    """What ends a way of the feed: a pump; where gravity feeds the engine, one that only fills tanks: others may stand still."""
    return (Pump,) if layout.design.aircraft.feed == "pump" else layout.network.transfer_pumps


def sources_of(layout: Layout, end: End) -> tuple[End, ...]:
    """The outlets from which feed lines lead to an engine, a pump or a tank's port, past no other that ends a way."""
    ways = [way for way in layout.network.ways("feed", stops(layout)) if way.end == end and way.start.tank]
    return tuple(dict.fromkeys(way.start for way in ways))
