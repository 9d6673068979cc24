"""Everything that is computed from a layout's lines, gathered for the study."""

from __future__ import annotations

from collections.abc import Mapping

from fuelsys.analysis.lines import sharing
from fuelsys.analysis.lines.airing import airings
from fuelsys.analysis.lines.runs import run
from fuelsys.analysis.lines.venting import air_at
from fuelsys.analysis.tank.ground import ONE_PER_CENT_RAD, slopes
from fuelsys.model.built.ends import End
from fuelsys.model.built.layout import Layout
from fuelsys.model.built.way import Way
from fuelsys.model.found.capacity import Filled
from fuelsys.model.found.plumbing import Plumbing
from fuelsys.model.stated.components import Pump
from fuelsys.model.stated.design import LineKind

KINDS: tuple[LineKind, ...] = ("feed", "vent", "return", "interconnect")


def plumbing(layout: Layout, full: Mapping[str, Filled | None]) -> Plumbing:
    """The plumbing of a layout; full holds each tank filled at the normal ground attitude."""
    envelope = layout.design.envelope
    ground = [attitude for attitude in envelope if attitude.phase == "ground"]
    network = layout.network
    found = {kind: network.ways(kind, stops=(Pump,)) for kind in KINDS}
    ways = network.ways("feed")
    used = {step.line.name for several in (*found.values(), ways) for way in several for step in way.steps}
    overboard = [way for way in found["vent"] if network.overboard(way.end)]
    groups = network.fuel_groups()
    sloped = slopes(layout.design.normal("ground"), ONE_PER_CENT_RAD, "1 %")
    runs = tuple(run(layout, way, envelope) for of_kind in found.values() for way in of_kind)
    known = {_lines(one.way): one for one in runs if one.kind == "feed"}
    return Plumbing(
        runs=runs,
        ways=tuple(known.get(_lines(way)) or run(layout, way, envelope) for way in ways),
        loose=frozenset(line.name for line in layout.lines) - used,
        fuel_groups=groups,
        air_groups=network.air_groups(),
        air={tank.name: tuple(a for at in ground if (a := air_at(layout, tank, at))) for tank in layout.tanks},
        sloped=sharing.settled(layout, groups, full, overboard, sloped),
        airings=airings(layout),
    )


def _lines(way: Way) -> tuple[End, End, tuple[str, ...]]:
    """What a way through pumps has in common with a run that meets none."""
    return way.start, way.end, way.lines
