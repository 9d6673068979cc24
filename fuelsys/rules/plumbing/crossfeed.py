"""Rule on tanks that valves part and that are one when the valves are open: each may fill the other through the feed lines."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import combinations
from typing import NamedTuple

from fuelsys.model.built.ends import End, PlacedLine, PortEnd
from fuelsys.model.found.findings import Reach, Source, Stake, Verdict
from fuelsys.model.found.study import Study
from fuelsys.model.stated.components import CheckValve, Engine, Pump, Selector, ShutOff
from fuelsys.model.stated.fittings import Outlet
from fuelsys.rules.shared import header_like, loose, unled
from fuelsys.rules.words import before_64, caution, millimetres, not_asked, passed, rule

_OPEN = Source("valves open at the same time: common practice, no source")
_ONE_WAY = (CheckValve, Pump, Engine)  # fuel that has left one does not come back through it


class _Leg(NamedTuple):
    """A feed line as fuel may take it: as it is drawn, or back towards another tank."""

    line: PlacedLine
    drawn: bool

    @property
    def end(self) -> End:
        return self.line.end if self.drawn else self.line.start


@rule(
    subject="connected tanks",
    reach=Reach.OUTSIDE,
    stake=Stake.LITRES,
    checks="Where the feed lines of two tanks meet behind valves (at an inlet, a tee, or in a header that stands full), a check"
    " valve, a selector or a pump keeps either tank from filling the other.",
    why="With both valves open the fuel of the higher tank runs back through the line of the lower one until they are level,"
    " or out of its vent, and nobody notices before a tank is empty.",
    mend='Put a check valve (kind = "check valve") into each line before they meet, or one selector in place of the valves.',
    sources=(before_64("23.957(b)", "for transfer that overfills a tank"), _OPEN),
)
def two_valves_into_one_inlet(study: Study) -> Iterator[Verdict]:
    """Every way that fuel may take along feed lines from a tank and back into another, all valves being open."""
    fills = {tank.name: _filled_from(study, tank.name) for tank in study.layout.tanks}
    for one, two in combinations([tank.name for tank in study.layout.tanks], 2):
        legs = {(a, b): fills[a][b] for a, b in ((one, two), (two, one)) if b in fills[a]}
        where = f"{one} and {two}"
        if legs and any({one, two} <= set(group) for group in study.plumbing.fuel_groups):
            yield not_asked(where, "no valve parts them: full-tanks-overflow judges them as one")
        elif legs:
            yield _joined(study, where, legs)
        elif met := _ends(study, one) & _ends(study, two):
            at = ", ".join(sorted(met))
            yield passed(where, f"both lead to {at}, and neither can fill the other through its line")
    yield from (verdict for _, verdict in unled(study, "feed"))
    yield from loose(study, ["feed"])


def _joined(study: Study, where: str, legs: dict[tuple[str, str], tuple[_Leg, ...]]) -> Verdict:
    """The caution on tanks of which at least one can fill the other."""
    level_m = {
        name: air.full_level_m
        for pair in legs
        for name in pair
        for air in study.plumbing.air[name]
        if air.attitude.normal
    }
    (source, into), way = max(legs.items(), key=lambda one: level_m.get(one[0][0], 0.0) - level_m.get(one[0][1], 0.0))
    nodes = study.layout.network.nodes
    valves = " and ".join(dict.fromkeys(str(leg.end) for leg in way if isinstance(nodes[leg.end], ShutOff)))
    pumps = " and ".join(dict.fromkeys(str(leg.end) for leg in way[:-1] if isinstance(nodes[leg.end], Pump)))
    turn = next(i for i, leg in enumerate(way) if not leg.drawn)
    before, after = way[turn - 1].end, way[turn].line.end
    meet = str(before) if before == after else str(before.tank)
    either = (into, source) in legs
    evidence = (
        f"{f'with {valves} open ' if valves else ''}fuel can run{f' through {pumps}' if pumps else ''} from {source} into"
        f" {into}{f', and from {into} into {source}' if either else ''}: their lines meet at {meet}"
    )
    if source in level_m and into in level_m:
        high_m = level_m[source] - level_m[into]
        level = f"{millimetres(abs(high_m))} {'above' if high_m >= 0.0 else 'below'}"
        evidence += f"; both full at the normal ground attitude, {source}'s fuel stands {level} that of {into}"
    lines = f"each of the lines of {into} and {source}" if either else f"the line of {into}"
    chosen = any(isinstance(nodes[leg.end], Selector) for leg in way)
    instead = f", or one selector in place of {valves}" if valves and not chosen else ""
    return caution(where, evidence, f'Put a check valve (kind = "check valve") into {lines} before {meet}{instead}.')


def _ends(study: Study, tank: str) -> set[str]:
    """Where the ways of a tank's fuel end: an engine, a pump, another tank's inlet, or a header as a whole."""
    runs = [run for run in study.plumbing.of_kind("feed") if run.start.tank == tank]
    ends = [run.end for run in (*runs, *(way for way in study.plumbing.ways if way.start.tank == tank))]
    return {end.tank if end.tank and header_like(study, end.tank) else str(end) for end in ends}


def _filled_from(study: Study, tank: str) -> dict[str, tuple[_Leg, ...]]:
    """The tanks that fuel from a tank may run back into, each with a way there.

    A selector lets fuel through from one of its lines only: one that the tank's own fuel comes through on its way down is
    not passed back up, unless another way leads round it.
    """
    outlets = [PortEnd(tank, outlet.name) for outlet in study.layout.tank(tank).design.outlet]
    network, found = study.layout.network, dict[str, tuple[_Leg, ...]]()
    for outlet in outlets:
        ahead = network.ends_from(outlet, "feed", downstream=True)
        own = [end for end in network.nodes if end in ahead and isinstance(network.nodes[end], Selector)]
        for round_it in (None, *own):
            for name, way in _search(study, outlet, set(own), round_it).items():
                found.setdefault(name, way)
    return found


def _search(study: Study, outlet: PortEnd, own: set[End], round_it: End | None) -> dict[str, tuple[_Leg, ...]]:
    """Tanks whose ports are reached against the lines; own selectors are passed down only, round_it up only."""
    first = [_Leg(line, True) for line in study.layout.network.lines_at(outlet, "feed") if line.start == outlet]
    came: dict[_Leg, _Leg | None] = dict.fromkeys(first)
    waiting, found = list(first), dict[str, tuple[_Leg, ...]]()
    for leg in waiting:
        if not leg.drawn and leg.end.tank not in (None, outlet.tank):
            found.setdefault(str(leg.end.tank), _way(came, leg))
            continue
        if (leg.end == round_it and leg.drawn) or (leg.end in own - {round_it} and not leg.drawn):
            continue
        for onward in _onward(study, leg):
            if onward not in came:
                came[onward] = leg
                waiting.append(onward)
    return found


def _way(came: dict[_Leg, _Leg | None], last: _Leg) -> tuple[_Leg, ...]:
    way: list[_Leg] = []
    leg: _Leg | None = last
    while leg is not None:
        way.append(leg)
        leg = came[leg]
    return tuple(reversed(way))


def _onward(study: Study, leg: _Leg) -> Iterator[_Leg]:
    """The legs that fuel may take behind another one."""
    network, end = study.layout.network, leg.end
    node = network.nodes[end]
    ports: list[End] = [end]
    if isinstance(end, PortEnd):
        if isinstance(node, Outlet):
            return
        if header_like(study, end.tank):
            tank = study.layout.tank(end.tank).design
            ports += [one for port in tank.inlet if (one := PortEnd(end.tank, port.name)) != end]
    for port in ports:
        for line in network.lines_at(port, "feed"):
            down = line.start == port
            if isinstance(node, Selector) and down != leg.drawn:
                continue
            if isinstance(node, _ONE_WAY) and not down and not leg.drawn:
                continue
            yield _Leg(line, down)
