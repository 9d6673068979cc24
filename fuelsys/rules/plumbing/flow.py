"""Rules on what the feed lines carry: enough for the engine, enough to keep a header full, without vapour and without air."""

from __future__ import annotations

from collections.abc import Iterator

from fuelsys.model.found.findings import COMMON_PRACTICE, Reach, Source, Stake, Verdict
from fuelsys.model.found.flow import Carried, DryBranch, FedKind, FeedTo, InState, Missing
from fuelsys.model.found.study import Study
from fuelsys.model.stated.attitude import STANDARD_GRAVITY_M_S2
from fuelsys.model.stated.components import Engine, Tee
from fuelsys.rules.shared import components, unchecked
from fuelsys.rules.words import at_least, before_64, caution, failed, flow, millimetres, needs, passed, pressure, rule

_LAWS = Source("friction: Darcy, Weisbach and Colebrook; fittings: Crane TP-410 and Rennels")
_HALF = Source("strainers and filters half blocked, the last usable fuel in the tank: common practice, no source")
LEAST_MARGIN_PA = 2000.0  # under this a warm day more or a bend more uses it up; chosen here, no source
HAIR_M3_S = 1e-12  # flows nearer than this are one
_TOO_HIGH = "No line mends that: placard a lower ceiling, use fuel that boils less easily, or keep it cool in the tank."
HOT = "110 °F (43.3 °C)"  # 14 CFR 23.961, before amendment 23-64
_VAPOUR = Source("EPA AP-42 chapter 7.1, figure 7.1-14b: vapour pressure; ASTM D910: avgas has 49 kPa by Reid at most")


def _missing(study: Study, *kinds: FedKind) -> Iterator[Verdict]:
    """What was not computed of some kinds, and outlets and lines that lead nowhere."""
    yield from (needs(one.where, one.needs) for one in study.flows.missing if one.kind in ("", *kinds))
    yield from unchecked(study, "feed")


def _height_m(study: Study, pressure_pa: float) -> float:
    return pressure_pa / study.layout.design.fuel.density_kg_m3 / STANDARD_GRAVITY_M_S2


def _tanks(one: Carried) -> str:
    return " and ".join(one.tanks) + (" alone" if len(one.tanks) == 1 else " together")


def _named(fed: FeedTo) -> str:
    tanks = " or ".join(dict.fromkeys(tank for one in fed.at for tank in one.tanks))
    return f"{tanks} to {fed.end}" + (f" by {fed.running} alone" if fed.running else "")


def _basis(study: Study) -> str:
    assumed = study.flows.assumed
    return f" ({assumed})" if assumed else ""


@rule(
    subject="feed flow",
    reach=Reach.OUTSIDE,
    stake=Stake.ENGINE,
    checks="Gravity brings 150 % of the take-off flow to the engine, each pump alone 125 %, and what returns on top, with the"
    " last usable fuel in the tank, at each flight attitude and where the tilts of several come together.",
    why="An engine that gets too little fuel stops at full power, in the climb.",
    mend="Use wider or shorter lines, gentler bends, a filter with less drop, or more height or a stronger pump.",
    sources=(before_64("23.955(a), (b), (c)"), _LAWS, _HALF),
    rests_on=("flows-out-of-order", "feed-line-high-point"),
)
def feed_flow_too_small(study: Study) -> Iterator[Verdict]:
    """What comes at the pressure that the engine needs, against the flow that a test must show."""
    for fed in study.flows.to:
        if fed.kind in ("gravity", "pumped"):
            yield _enough(study, fed)
    yield from _in_states(study)
    yield from _missing(study, "gravity", "pumped")


def _in_states(study: Study) -> Iterator[Verdict]:
    """The worst of the settings that feed an engine, for each set of running pumps; where there is one setting nothing is new."""
    states = study.flows.states
    if states is not None and len(states) < 2:
        return
    worst: dict[object, InState] = {}
    for one in study.flows.in_states:
        key = one.fed.end, one.fed.running, one.fed.kind
        if one.fed.at and one.fed.kind != "tank" and (key not in worst or _spare(one) < _spare(worst[key]) - HAIR_M3_S):
            worst[key] = one
    for one in worst.values():
        yield _enough(study, one.fed, one.state.words)
    yield from (needs(one.where, one.needs) for one in study.flows.missing_in_states if one.kind != "pumped")


def _spare(one: InState) -> float:
    return one.fed.worst.flow_m3_s - one.fed.needed_m3_s


def _enough(study: Study, fed: FeedTo, setting: str = "") -> Verdict:
    one, running = fed.worst, f" by {fed.running}" if fed.running else ""
    where = f"{fed.end}{running}, every setting" if setting else _named(fed)
    worst = f"worst with {setting}, " if setting else ""
    engine = study.layout.network.component(fed.end)
    stated = isinstance(engine, Engine) and engine.inlet_pressure_pa is not None
    against = pressure(fed.needed_pa) if stated else "no pressure above the air's, as into an open can"
    evidence = (
        f"{worst}at {one.attitude.text} {_tanks(one)} brings {flow(one.flow_m3_s)} of the {flow(fed.needed_m3_s)} that are"
        f" needed, at {against}{_basis(study)}"
    )
    if one.flow_m3_s < fed.needed_m3_s:
        return failed(where, evidence, _lacks(study, fed, one))
    if fed.unstated:
        return needs(where, f"the drop of {', '.join(fed.unstated)}; without it {evidence}, {_left(fed, one)}")
    if not stated:
        return needs(where, f"the inlet_pressure of {fed.end}; {evidence}, {_left(fed, one)}")
    return passed(where, evidence)


def _left(fed: FeedTo, one: Carried) -> str:
    return f"and {pressure(one.pressure_pa - fed.needed_pa)} are left for them" if one.pressure_pa is not None else ""


def _lacks(study: Study, fed: FeedTo, one: Carried) -> str:
    if one.pressure_pa is None or fed.kind in ("pumped", "transfer"):
        return ""
    lacking = fed.needed_pa - one.pressure_pa
    return (
        f"It lacks {pressure(lacking)}: use wider or shorter lines, gentler bends or a filter with less drop, or raise the"
        f" tank by {at_least(_height_m(study, lacking))}."
    )


@rule(
    subject="feed flow",
    reach=Reach.OUTSIDE,
    stake=Stake.ENGINE,
    checks="A tank that others fill by gravity gets what the engine draws from it, in every setting of selectors and valves: the"
    " take-off flow, 150 % of the maximum continuous one, and what returns elsewhere. One that a pump fills, and nothing else"
    " does, gets 125 % of the maximum continuous flow, or at the least that flow, by a placard.",
    why="A header that empties faster than it fills stops the engine while the wings are still full, and lights its lamps.",
    mend="Use wider or shorter lines to it, gentler bends, or a larger fall.",
    sources=(before_64("23.955(b), (d)"), _LAWS, _HALF),
    rests_on=("flows-out-of-order", "feed-line-high-point"),
)
def tank_not_kept_full(study: Study) -> Iterator[Verdict]:
    """What comes while the tank's surface is below its inlet, and whether the tank stays full at that draw."""
    yield from (_lifted(study, fed) for fed in study.flows.to if fed.kind == "transfer")
    for fed in study.flows.to:
        if fed.kind != "tank":
            continue
        where, free, full = _named(fed), fed.worst_free, fed.worst
        evidence = (
            f"at {free.attitude.text} {_tanks(free)} brings {flow(free.flow_m3_s)} of the {flow(fed.needed_m3_s)} that are"
            f" needed{_basis(study)}"
        )
        if free.flow_m3_s < fed.needed_m3_s:
            yield failed(where, evidence, _lacks(study, fed, free))
        elif fed.unstated:
            yield needs(where, f"the drop of {', '.join(fed.unstated)}; without it {evidence}")
        elif fed.end.tank and study.layout.tank(fed.end.tank).design.filler:
            yield passed(
                where, f"{evidence} while the fuel is below the inlet; filled by itself, it need not stay full"
            )
        elif full.flow_m3_s < fed.needed_m3_s:
            evidence += (
                f" while the fuel is below the inlet, and {flow(full.flow_m3_s)} at {full.attitude.text} when it is full: it"
                " does not stay full, and its lamps may be lit while there is fuel above"
            )
            yield caution(where, evidence)
        else:
            yield passed(where, evidence + f", and {flow(full.flow_m3_s)} when it is full")
    yield from _filled_in_states(study)
    yield from _missing(study, "transfer")


def _filled_in_states(study: Study) -> Iterator[Verdict]:
    """The worst of the settings for each tank that others fill, and those that leave it to what it holds."""
    several = study.flows.states is None or len(study.flows.states) > 1
    asked = [one for one in study.flows.in_states if one.fed.kind == "tank"] if several else []
    for tank in dict.fromkeys(one.fed.end.tank for one in asked):
        own = [one for one in asked if one.fed.end.tank == tank]
        least = min((one for one in own if one.fed.at), key=_spare, default=None)
        dry = next((one for one in own if not one.fed.at), None)
        unstated = ", ".join(dict.fromkeys(name for one in own for name in one.fed.unstated))
        where = f"{tank}, every setting"
        if least and _spare(least) < -HAIR_M3_S:
            yield failed(where, f"{_brings(least)}: it sinks, though tanks that fill it hold fuel")
        elif dry:
            evidence = f"with {dry.state.words} nothing comes into it, and it feeds the engine with what it holds alone"
            evidence += (
                f"; the drop of {unstated} is not stated and counts as nothing in the others" if unstated else ""
            )
            yield caution(where, evidence, "Placard what must be open in flight, or leave out what shuts it off.")
        elif least and unstated:
            yield needs(where, f"the drop of {unstated}; without it {_brings(least)}")
        elif least:
            yield passed(where, _brings(least))
    if several and any(fed.kind == "tank" for fed in study.flows.to):
        missing = (one for one in study.flows.missing_in_states if one.kind in ("", "tank"))
        yield from (needs(one.where, one.needs) for one in missing)


def _brings(one: InState) -> str:
    worst = one.fed.worst
    return (
        f"worst with {one.state.words}, at {worst.attitude.text} {_tanks(worst)} brings {flow(worst.flow_m3_s)} of the"
        f" {flow(one.fed.needed_m3_s)} that are needed at {one.phase}"
    )


def _lifted(study: Study, fed: FeedTo) -> Verdict:
    """A tank that a pump fills: less than 125 % may be placarded, less than the engine burns may not."""
    where, one, flows = _named(fed), fed.worst, study.layout.design.flows_m3_s
    evidence = (
        f"at {one.attitude.text} {_tanks(one)} brings {flow(one.flow_m3_s)} of the {flow(fed.needed_m3_s)} that are"
        f" needed{_basis(study)}"
    )
    if one.flow_m3_s < flows.get("max_continuous", fed.needed_m3_s):
        return failed(where, f"{evidence}: the tank sinks while the pump runs", "Fit a stronger pump or wider lines.")
    if fed.unstated:
        return needs(where, f"the drop of {', '.join(fed.unstated)}; without it {evidence}")
    if one.flow_m3_s < fed.needed_m3_s:
        return caution(where, evidence, "Placard that it keeps up with cruise only, or fit a stronger pump.")
    return passed(where, evidence)


@rule(
    subject="feed flow",
    reach=Reach.OUTSIDE,
    stake=Stake.ENGINE,
    checks="The fuel does not boil in a feed line, in any setting of selectors and valves that feeds: its pressure stays above the"
    " vapour pressure of hot fuel at the ceiling, by 2 kPa (0.3 psi) or more (chosen here, no source).",
    why="Vapour takes the fuel's place in the line; a pump that gets vapour delivers nothing.",
    mend="Bring the pump nearer to the tank and below it, use wider lines, or keep the fuel cool; a lower ceiling is a limit to"
    " be placarded.",
    sources=(before_64("23.961"), _VAPOUR, Source("ISO 2533: standard atmosphere"), _LAWS, _HALF),
    rests_on=("feed-flow-too-small",),
)
def fuel_boils_in_line(study: Study) -> Iterator[Verdict]:
    """Lowest pressure on the way to a pump or by gravity, at the flow to show, against the vapour pressure at 110 °F."""
    flows = study.flows
    yield from (_boils(study, fed) for fed in flows.to if fed.kind in ("gravity", "suction"))
    if flows.states is None or len(flows.states) > 1:
        yield from (_boils(study, one.fed, one.state.words) for one in flows.boiling_worst)
        yield from (needs(one.where, one.needs) for one in flows.boiling if isinstance(one, Missing))
    yield from _missing(study)


def _boils(study: Study, fed: FeedTo, setting: str = "") -> Verdict:
    air, vapour_pa = study.flows.air_pa, study.flows.vapour_pa
    where = f"{fed.end}, every setting" if setting else _named(fed)
    least = fed.lowest
    if least.lowest_pa is None:
        return needs(where, "lines that can carry the flow at all")
    if air is None:
        return needs(where, "aircraft.ceiling: the air's pressure there")
    if vapour_pa is None:
        return needs(where, "fuel.reid_pressure: that of mogas differs by season")
    margin = air + least.lowest_pa - vapour_pa
    evidence = (
        f"{f'worst with {setting}, ' if setting else ''}at {least.attitude.text} the lowest pressure in the line is"
        f" {pressure(abs(least.lowest_pa))} {'below' if least.lowest_pa < 0.0 else 'above'} the air's, {pressure(air)} at the"
        f" ceiling; fuel of {HOT} boils at {pressure(vapour_pa)}"
    )
    if air <= vapour_pa:
        return failed(where, f"{evidence}: it boils, in the tank itself too", _TOO_HIGH)
    if margin <= 0.0:
        return failed(where, f"{evidence}: it boils")
    if fed.unstated:
        return needs(where, f"the drop of {', '.join(fed.unstated)}; without it {evidence}")
    if margin < LEAST_MARGIN_PA:
        return caution(where, f"{evidence}: only {pressure(margin)} are left, less than {pressure(LEAST_MARGIN_PA)}")
    return passed(where, f"{evidence}: {pressure(margin)} are left")


@rule(
    subject="feed flow",
    reach=Reach.OUTSIDE,
    stake=Stake.ENGINE,
    checks="Where the lines of several tanks meet and no selector parts them, a tank that has run dry lets no air into the"
    " common line while another still feeds; nor does an outlet that has come clear of the fuel while another of the same tank"
    " still has some.",
    why="A pump draws air through the empty line rather than fuel through the full one, and the engine stops with fuel left.",
    mend="Feed from one tank at a time by a selector, fill a header from both, or lead the lines so that they meet far below the"
    " tanks. Of two outlets in one tank lead each to the selector by itself, or leave one away.",
    sources=(before_64("23.951(b)"), COMMON_PRACTICE, _LAWS),
    rests_on=("feed-flow-too-small",),
)
def empty_tank_lets_air_in(study: Study) -> Iterator[Verdict]:
    """The pressure at the lowest point of the dry line, which stands open to the tank's air, against the air's."""
    for dry in study.flows.dry:
        yield _air(study, dry)
    yield from _missing(study)
    if not study.flows.missing and not study.flows.dry and components(study, Tee):
        yield passed("feed", "no outlets of several tanks meet before a selector, a pump, an engine or a tank")


def _air(study: Study, dry: DryBranch) -> Verdict:
    where = f"{dry.outlet} while {dry.feeding} feeds {dry.consumer}"
    height = _height_m(study, abs(dry.margin_pa))
    evidence = (
        f"at {dry.attitude.text} the pressure at {dry.junction}, where the lines meet, holds the empty line's column"
        f" {millimetres(height)} {'above' if dry.margin_pa > 0.0 else 'below'} the line's lowest point"
    )
    if dry.margin_pa > 0.0:
        return passed(where, evidence)
    own = (
        "; all that stands below this outlet counts as unusable, though another outlet still reaches it"
        if dry.own
        else ""
    )
    return failed(where, f"{evidence}: air gets past{own}")
