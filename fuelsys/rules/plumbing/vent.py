"""Rules on vents: that there is one, where it opens in the tank, where it leads and how wide it is."""

from __future__ import annotations

from collections.abc import Iterator

from fuelsys.model.built.ends import End, PortEnd
from fuelsys.model.found import spilling
from fuelsys.model.found.findings import COMMON_PRACTICE, Cost, Reach, Source, Stake, Verdict
from fuelsys.model.found.plumbing import AirAt, Airing
from fuelsys.model.found.study import Study, TankStudy
from fuelsys.model.stated.components import CheckValve, Overboard
from fuelsys.rules.severity import SHUT_AIR, SHUT_AIR_SHARE, TRIFLES
from fuelsys.rules.shared import TOO_MANY_AIRINGS, components, end_at, feeders, header_like, more, on_way, unchecked
from fuelsys.rules.words import (
    at_least,
    before_64,
    caution,
    failed,
    litres,
    millimetres,
    needs,
    not_asked,
    passed,
    place,
    rule,
)

# Air that no open vent reaches, as a share of the tank: less than this is the roundness of a roof.
LEAST_AIR_SHARE = 0.001
TOP_PART = 0.5
_TOP_PART = Source("the top part is taken as the upper half: chosen here, no source")
_LEAST_AIR = Source("air below 0.1 % of the tank is ignored: common practice, no source")


def _full(study: Study, tank: TankStudy) -> Verdict | None:
    """Why it cannot be said how full a tank is; None where it can."""
    if tank.tank.design.filler or header_like(study, tank.name):
        return None
    return needs(
        tank.name, "a filler, or a feed line from a tank that stands higher: how full the tank can be is not stated"
    )


@rule(
    subject="vent opening",
    reach=Reach.INSIDE,
    stake=Stake.ENGINE,
    checks="Every tank has a vent.",
    why="Fuel that leaves must be replaced by air; a tank without a vent stops the feed or collapses.",
    mend="Add a vent at the highest point of the tank; a vent in the filler's cap is listed as a vent too.",
    sources=(before_64("23.975(a)"),),
)
def vent_missing(study: Study) -> Iterator[Verdict]:
    """Fail where fittings are listed and no vent is among them."""
    for tank in study.tanks:
        vents = [vent.name for vent in tank.tank.design.vent]
        if vents:
            yield passed(tank.name, f"it has {len(vents)}: {', '.join(vents)}")
        elif tank.tank.design.ports:
            yield failed(tank.name, f"of its {len(tank.tank.design.ports)} fittings none is a vent")
        else:
            yield needs(tank.name, "its fittings: none is listed yet")


@rule(
    subject="vent opening",
    reach=Reach.INSIDE,
    stake=Stake.ENGINE,
    checks="Each vent opens above the fuel of the full tank, in every ground attitude and setting of what stands in the vent lines.",
    why="A drowned vent lets warming fuel out instead of air, starts a siphon, and stops the feed until it has drained.",
    mend="Move the opening to the highest point of the tank, or lower the filler's lip.",
    sources=(before_64("23.975(a)(2)"), before_64("23.975(a)"), TRIFLES),
)
def vent_below_full_level(study: Study) -> Iterator[Verdict]:
    """The tank is filled at each ground attitude until fuel runs out of the filler or over a vent's line."""
    for tank in study.tanks:
        if not tank.tank.design.vent:
            continue
        if unknown := _full(study, tank):
            yield unknown
        elif header_like(study, tank.name):
            fed_by = ", ".join(feeders(study, tank.name))
            yield not_asked(
                tank.name, f"it is filled by {fed_by} alone and stands full with its vent: see vent-not-at-top"
            )
        else:
            for vent in tank.tank.design.vent:
                yield _drowned(study, vent.name, tank)


def _every_setting(study: Study, tank: TankStudy) -> list[AirAt]:
    """The full tank's air at each ground attitude, all open and with some of its vents shut."""
    return [*study.plumbing.air[tank.name], *study.plumbing.air_as_set[tank.name]]


def _set(at: AirAt) -> str:
    return f"with {at.setting}, " if at.setting else ""


def _drowned(study: Study, vent: str, tank: TankStudy) -> Verdict:
    where, trifle_m = f"{tank.name}.{vent}", spilling.trifle_m(study.layout.design.fuel.density_kg_m3)
    ground = [air for air in _every_setting(study, tank) if vent in air.vent_levels_m]
    at = min(ground, key=lambda air: air.vent_levels_m[vent] - air.full_level_m)
    above_m = at.vent_levels_m[vent] - at.full_level_m
    alone = [air for air in ground if max(air.vent_levels_m.values()) < air.full_level_m]
    if alone:  # none of the others lets air out then
        at = min(alone, key=lambda air: air.vent_levels_m[vent] - air.full_level_m)
        above_m = at.vent_levels_m[vent] - at.full_level_m
    full = f"{_set(at)}filled to the {at.limited_by} at {at.attitude.text}"
    if above_m > 0.0:
        return passed(
            where,
            f"{full}, the opening stands {millimetres(above_m)} above the fuel, the least of all ground attitudes",
        )
    evidence = f"{full}, the opening is drowned by {millimetres(-above_m)}"
    mend = f"Raise the opening by more than {at_least(-above_m)}, or lower the filler's lip by as much."
    if others := [name for name, level_m in at.vent_levels_m.items() if level_m > at.full_level_m]:
        stay = "stands in air and lets it out" if len(others) == 1 else "stand in air and let it out"
        told = f"{evidence}; {', '.join(others)} {stay}"
        return passed(where, told) if -above_m <= trifle_m else caution(where, told, mend)
    return failed(where, evidence, mend)


@rule(
    subject="vent opening",
    reach=Reach.INSIDE,
    stake=Stake.LITRES,
    checks="All air of the full tank reaches an open vent, in every ground attitude, and at the normal one a vent opens in the"
    " upper half of each airspace's height above the fuel.",
    why="Air that is shut in expands in the sun and in the climb and pushes fuel out of the vent; it is lost as capacity. A vent"
    " low above the fuel is drowned by the first warm hour, or by slosh.",
    mend="Move the vent to the highest point of the airspace, open the airspace to it, or add a vent there.",
    sources=(before_64("23.975(a)"), _TOP_PART, _LEAST_AIR, SHUT_AIR),
)
def vent_not_at_top(study: Study) -> Iterator[Verdict]:
    """Air that is not in one body with a vent above the fuel, and where its vent opens in it; the filler is closed."""
    for tank in study.tanks:
        if not tank.tank.design.vent:
            continue
        if unknown := _full(study, tank):
            yield unknown
            continue
        at = max(_every_setting(study, tank), key=lambda air: air.unvented_m3)
        share = at.unvented_m3 / tank.capacity.gross_m3
        evidence = (
            f"{_set(at)}filled at {at.attitude.text}, {litres(at.unvented_m3)} of air, {share * 100:.2f} % of the tank, reach no open"
            " vent, the most of all ground attitudes"
        )
        if share <= LEAST_AIR_SHARE:
            yield _height(study, tank, evidence)
        else:
            top = "" if at.unvented_top_m is None else f" at {place(tank.tank, at.unvented_top_m)}"
            mend = f"Move the vent to the top of that air{top}, or add one there."
            told = failed if share >= SHUT_AIR_SHARE else caution
            yield told(tank.name, evidence, mend, Cost(volume_m3=at.unvented_m3))


def _height(study: Study, tank: TankStudy, evidence: str) -> Verdict:
    """Where the highest vent of each airspace opens between the fuel and the top, parked as normal."""
    parked = next(air for air in study.plumbing.air[tank.name] if air.attitude.normal)
    airs = [air for air in parked.vented if air.volume_m3 > LEAST_AIR_SHARE * tank.capacity.gross_m3]
    if not airs:
        return passed(tank.name, f"{evidence}; at {parked.attitude.text} no air to speak of is left above its fuel")
    low = min(airs, key=lambda air: (air.vent_level_m - parked.full_level_m) / (air.top_level_m - parked.full_level_m))
    above_m, height_m = low.vent_level_m - parked.full_level_m, low.top_level_m - parked.full_level_m
    where = (
        f"at {parked.attitude.text} {low.vent} opens {millimetres(above_m)} above the fuel, and the air there reaches up to"
        f" {millimetres(height_m)} above it"
    )
    if above_m >= TOP_PART * height_m:
        return passed(tank.name, f"{evidence}; {where}")
    mend = (
        f"Move the opening up by at least {at_least(TOP_PART * height_m - above_m)}, better to the top of that air at"
    )
    return failed(tank.name, where, f"{mend} {place(tank.tank, low.top_m)}.")


@rule(
    subject="vent opening",
    reach=Reach.OUTSIDE,
    stake=Stake.ENGINE,
    checks="The line of each vent leads overboard, or to the airspace of a tank that is vented overboard.",
    why="A vent that leads nowhere is no vent.",
    mend="Lead the line on to an overboard end, or to a vent of a tank that has one.",
    sources=(before_64("23.975(a)"),),
)
def vent_leads_nowhere(study: Study) -> Iterator[Verdict]:
    """Follow each vent's lines; a line that ends at a fitting from which no vent line goes on leads nowhere."""
    for tank in study.tanks:
        for vent in tank.tank.design.vent:
            yield _leads(study, PortEnd(tank.name, vent.name))


def _leads(study: Study, port: PortEnd) -> Verdict:
    lines, runs = study.layout.network.lines_at(port, "vent"), study.plumbing.at_end(port, "vent")
    where, tank = str(port), port.tank
    if not lines:
        return needs(where, "a vent line from it: where the vent leads is not stated")
    if not runs:
        return failed(where, f"{', '.join(line.name for line in lines)}: no vent line goes on from its other end")
    group = next(group for group in study.plumbing.air_groups if tank in group)
    out = [run for run in study.plumbing.of_kind("vent") if not run.end.tank and run.start.tank in group]
    if not out:
        others = ", ".join(name for name in group if name != tank) or "the tank itself"
        return failed(where, f"it leads to {others} only, and nothing leads overboard from there")
    own = [run for run in runs if run.start == port and not run.end.tank]
    beyond = runs[0].end if runs[0].start == port else runs[0].start
    shut = _shut(study, beyond)
    if not own and shut and (host := beyond.tank):
        full = f"when {host} is full at {shut[0].attitude.text} it stands in air that no open vent of {host} reaches"
        return failed(where, f"it leads to {beyond}: {full}", f"Lead it to the top of {host} beside its open vent.")
    way = f"overboard at {own[0].end}" if own else f"to {beyond}"
    return passed(where, f"it leads {way}" + ("" if own else f", which is vented overboard at {out[0].end}"))


def _shut(study: Study, end: End) -> list[AirAt]:
    """The full tank, parked, where a port of it stands in air that no open vent reaches."""
    if not isinstance(end, PortEnd):
        return []
    return [at for at in study.plumbing.air.get(end.tank, ()) if end.port in at.shut_ports and at.attitude.normal]


@rule(
    subject="vent line",
    reach=Reach.OUTSIDE,
    stake=Stake.ENGINE,
    checks="In every setting of valves and selectors in the vent lines air comes from outside into each tank and gets out of it, and no"
    " check valve keeps it from either.",
    why="A vent that is shut is no vent: the feed stops as the tank pulls a vacuum, or fuel that warms bursts it or is pressed out.",
    mend="Take the valve or check valve out of the vent line, or lead a second line past it.",
    sources=(before_64("23.975(a)"), before_64("23.975(a)(3)"), COMMON_PRACTICE),
)
def vent_can_be_shut(study: Study) -> Iterator[Verdict]:
    """Follow the vent lines from overboard to each tank and back, in each setting; a tank that never breathes is told by others."""
    found = study.plumbing.airings
    led = study.layout.network.aired(())
    for tank in study.tanks:
        name = tank.name
        if name not in led:
            yield needs(name, "vent lines that lead from it overboard")
        elif found is None:
            yield needs(name, TOO_MANY_AIRINGS)
        else:
            yield _shut_off(study, name, found)
    yield from unchecked(study, "vent")


def _shut_off(study: Study, tank: str, found: tuple[Airing, ...]) -> Verdict:
    bad = [one for one in found if tank in (*one.starved, *one.closed)]
    if not bad:
        several = f" in each of {len(found)} settings of what stands in the vent lines" if len(found) > 1 else ""
        return passed(tank, f"air comes in and gets out{several}")
    first = bad[0]
    by = f"with {first.words}" if first.shut else f"past {', '.join(_check_valves(study, tank))}"
    ways = {
        (True, True): "air neither comes in nor gets out",
        (True, False): "no air comes in",
        (False, True): "no air gets out",
    }
    evidence = f"{by} {ways[tank in first.starved, tank in first.closed]}"
    return failed(tank, f"{evidence}{more(bad)}")


def _check_valves(study: Study, tank: str) -> list[str]:
    """The check valves on a tank's vent ways, through other tanks too; all in vent lines where none is found on them."""
    every = [one.name for one in components(study, CheckValve) if study.layout.network.lines_at(end_at(one), "vent")]
    tanks, runs = [tank], study.plumbing.of_kind("vent")
    for name in tanks:
        beside = [{run.start.tank, run.end.tank} for run in runs]
        tanks += dict.fromkeys(
            other for pair in beside if name in pair for other in pair if other and other not in tanks
        )
    own = [part.name for run in runs if run.start.tank in tanks for part in on_way(study, run, CheckValve)]
    return list(dict.fromkeys(own)) or every


@rule(
    subject="vent outlet",
    reach=Reach.OUTSIDE,
    stake=Stake.FIRE,
    checks="Each end of a vent line overboard lets fuel go clear of the aircraft (discharges_clear).",
    why="Fuel that a vent loses runs along the skin, into gaps and towards the exhaust; its fumes come into the cabin.",
    mend="Lead the line's end out of the skin so far that what runs out falls clear of the aircraft, its exhaust and its air"
    " intakes; let coloured water run out of it and look where it goes.",
    sources=(before_64("23.975(a)(6)"), Source("clear of the skin: common practice, no source")),
)
def vent_discharges_on_aircraft(study: Study) -> Iterator[Verdict]:
    """What the design says of each overboard end; fuel on the skin need not be a fire hazard, so it is a caution."""
    for end in components(study, Overboard):
        if end.discharges_clear is None:
            yield needs(end.name, "to know whether fuel goes clear of the aircraft there (discharges_clear)")
        elif end.discharges_clear:
            yield passed(end.name, "the design says that it discharges clear of the aircraft")
        else:
            yield caution(end.name, "the design says that it does not discharge clear of the aircraft")
