"""Everything that is computed from a layout's lines, gathered for the study."""

from __future__ import annotations

from collections.abc import Mapping

from fuelsys.analysis import routing, sharing
from fuelsys.analysis.ground import ONE_PER_CENT_RAD, slopes
from fuelsys.analysis.venting import air_at
from fuelsys.model.layout import Layout
from fuelsys.model.plumbing import LineKind, Plumbing
from fuelsys.model.study import Filled

KINDS: tuple[LineKind, ...] = ("feed", "vent", "return", "interconnect")


def plumbing(layout: Layout, full: Mapping[str, Filled | None]) -> Plumbing:
    """The plumbing of a layout; full holds each tank filled at the normal ground attitude."""
    envelope = layout.design.envelope
    ground = [attitude for attitude in envelope if attitude.phase == "ground"]
    flight = [attitude for attitude in envelope if attitude.phase == "flight"]
    found = {kind: routing.paths(layout, kind, stops=("pump",)) for kind in KINDS}
    ways = routing.paths(layout, "feed")
    used = {stretch.name for paths in (*found.values(), ways) for path in paths for stretch in path.lines}
    overboard = [path for path in found["vent"] if routing.overboard(layout, path.end)]
    groups = sharing.fuel_groups(layout)
    sloped = slopes(layout.design.normal("ground"), ONE_PER_CENT_RAD, "1 %")
    return Plumbing(
        runs=tuple(routing.run(path, envelope) for paths in found.values() for path in paths),
        ways=tuple(routing.run(path, envelope) for path in ways),
        loose=tuple(line.name for line in layout.lines if line.name not in used),
        fuel_groups=groups,
        air_groups=sharing.air_groups(layout),
        air={tank.name: tuple(a for at in ground if (a := air_at(layout, tank, at))) for tank in layout.tanks},
        sloped=sharing.settled(layout, groups, full, overboard, sloped),
        banked=sharing.settled(layout, groups, full, overboard, flight),
    )
