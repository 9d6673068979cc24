"""Everything that is computed from a layout's lines, gathered for the study."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace

from fuelsys.analysis.lines import sharing
from fuelsys.analysis.lines.airing import airings, as_set
from fuelsys.analysis.lines.runs import run
from fuelsys.analysis.lines.venting import air_at
from fuelsys.analysis.tank.ground import ONE_PER_CENT_RAD, slopes
from fuelsys.model.built.ends import End, PortEnd
from fuelsys.model.built.layout import FittedTank, Layout
from fuelsys.model.built.way import Way
from fuelsys.model.found.capacity import Filled
from fuelsys.model.found.plumbing import AirAt, Airing, Plumbing
from fuelsys.model.stated.attitude import Attitude
from fuelsys.model.stated.components import Pump
from fuelsys.model.stated.design import LineKind
from fuelsys.model.stated.fittings import Vent

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
    settings = airings(layout)
    return Plumbing(
        runs=runs,
        ways=tuple(known.get(_lines(way)) or run(layout, way, envelope) for way in ways),
        loose=frozenset(line.name for line in layout.lines) - used,
        fuel_groups=groups,
        air_groups=network.air_groups(),
        air={tank.name: tuple(a for at in ground if (a := air_at(layout, tank, at))) for tank in layout.tanks},
        sloped=sharing.settled(layout, groups, full, overboard, sloped),
        airings=settings,
        air_as_set={tank.name: tuple(_as_set(layout, tank, settings or (), ground)) for tank in layout.tanks},
    )


def _as_set(
    layout: Layout, tank: FittedTank, settings: Sequence[Airing], ground: Sequence[Attitude]
) -> Iterator[AirAt]:
    """The air of a full tank in each setting that shuts some of its vents: through these nothing comes or goes."""
    done = set()
    for setting in settings:
        set_so = as_set(layout, setting)
        kept = [vent for vent in tank.design.vent if _leads(set_so, tank, vent) or not _leads(layout, tank, vent)]
        names = tuple(vent.name for vent in kept)
        if kept and len(kept) < len(tank.design.vent) and names not in done:
            done.add(names)
            left = replace(tank, design=tank.design.model_copy(update={"vent": kept}))
            found = (air_at(set_so, left, attitude) for attitude in ground)
            yield from (replace(air, setting=setting.words) for air in found if air)


def _leads(layout: Layout, tank: FittedTank, vent: Vent, seen: frozenset[str] = frozenset()) -> bool:
    """Whether a vent's line leads overboard, be it through other tanks' air and their vents."""
    port, seen = PortEnd(tank.name, vent.name), seen | {tank.name}
    for way in layout.network.spills(port):
        beyond = way.end if way.start == port else way.start
        if layout.network.overboard(beyond):
            return True
        other = layout.tank(beyond.tank) if beyond.tank and beyond.tank not in seen else None
        if other and any(_leads(layout, other, one, seen) for one in other.design.vent):
            return True
    return False


def _lines(way: Way) -> tuple[End, End, tuple[str, ...]]:
    """What a way through pumps has in common with a run that meets none."""
    return way.start, way.end, way.lines
