"""Rules on capacity, expansion space and endurance."""

from __future__ import annotations

from collections.abc import Iterator
from math import floor

from fuelsys import units
from fuelsys.model.built.ends import End, PortEnd
from fuelsys.model.built.layout import FittedTank, Layout
from fuelsys.model.found.findings import COMMON_PRACTICE, Cost, Reach, Source, Stake, Verdict
from fuelsys.model.found.study import Study, TankStudy
from fuelsys.model.stated.components import Overboard
from fuelsys.model.stated.standards import LEAST_ENDURANCE_S
from fuelsys.rules.severity import USABLE_RESTS_ON
from fuelsys.rules.words import LEAST_SHOWN_M3, before_64, caution, failed, flow, litres, litres_up, needs, passed, rule

LEAST_EXPANSION = 0.02  # of the tank's capacity: 14 CFR 23.969, before amendment 23-64


@rule(
    subject="the tank's mesh",
    reach=Reach.PAPER,
    stake=Stake.LITRES,
    checks="No doubt is left about a tank's mesh: large holes that were closed in it, a unit that makes its volume odd, bodies"
    " that were left out and reach into it, numbers too coarse for it.",
    why="Every figure of the tank is that of its mesh; where that is in doubt, so are quantity, reserve and dipstick.",
    mend="Put it right in CAD and export the tank's inside again; `fuelsys mesh FILE` says what is wrong and where.",
    sources=(COMMON_PRACTICE,),
)
def mesh_in_doubt(study: Study) -> Iterator[Verdict]:
    """The warnings that reading a tank's mesh, and those of the bodies in it, left."""
    for tank in study.tanks:
        warned = [warning.rstrip(".") for warning in tank.tank.cavity.warnings]
        if warned:
            yield caution(tank.name, "; ".join(warned))
        else:
            yield passed(tank.name, "reading its mesh left no warning")


@rule(
    subject="expansion space",
    reach=Reach.INSIDE,
    stake=Stake.LITRES,
    checks="Each tank keeps an expansion space of 2 % of its capacity when it is filled at the normal ground attitude,"
    " counted up to where its last vent drowns or fuel runs out over a vent's line: air that no vent lets out does not count."
    " A tank without a filler counts together with the tank into which it is vented. Waived where every vent ends overboard,"
    " be it through the air of other tanks, and discharges clear of the aircraft.",
    why="Fuel that warms on the ground grows by several per cent; without room it is pushed out of the vent.",
    mend="Lower the filler's lip or make its neck reach further down into the tank.",
    sources=(
        before_64("23.969"),
        Source("14 CFR 27.969, for tanks with interconnected vents"),
    ),
    rests_on=("mesh-in-doubt",),
)
def expansion_space_small(study: Study) -> Iterator[Verdict]:
    """Room that fuel can grow into against 2 % of gross."""
    for tank in study.tanks:
        group = _with_host(study, tank)
        if missing := [one.name for one in group if one.capacity.room_m3 is None or not one.tank.design.vent]:
            yield needs(tank.name, f"a vent of {', '.join(missing)}: it says how far warm fuel can rise")
            continue
        free_m3, gross_m3 = (
            sum(one.capacity.room_m3 or 0.0 for one in group),
            sum(one.capacity.gross_m3 for one in group),
        )
        evidence = (
            f"{_fill_words(group[-1])}, {litres(free_m3)} stay free under the vent:"
            f" {floor(free_m3 / gross_m3 * 1e3 + 1e-6) / 10:.1f} % of {litres(gross_m3)}"  # 1.99 % is not 2.0 %
        )
        shut_m3 = sum((one.capacity.expansion_m3 or 0.0) - (one.capacity.room_m3 or 0.0) for one in group)
        if shut_m3 >= LEAST_SHOWN_M3:
            evidence += f" ({litres(shut_m3)} of air that no vent lets out do not count)"
        if len(group) > 1:
            evidence += f", counted with {group[-1].name} into which it is vented"
        lacking_m3 = LEAST_EXPANSION * gross_m3 - free_m3
        if lacking_m3 <= 1e-9 * gross_m3:
            yield passed(tank.name, evidence)
        else:
            yield _small(study.layout, tank.name, group[-1], evidence, _room_mend(group[-1], lacking_m3))


def _room_mend(host: TankStudy, lacking_m3: float) -> str:
    """How to leave more room in the tank that is filled."""
    shut_m3 = (host.capacity.expansion_m3 or 0.0) - (host.capacity.room_m3 or 0.0)
    if not host.tank.design.filler:
        how = f"Vent {host.name} at its top into a tank that has room"
    elif shut_m3 >= lacking_m3:
        how = f"Move the vent of {host.name} to the top of its airspace and lead its line up from there"
    else:
        how = f"Lower the lip of {host.name}'s filler or make its neck reach further down into the tank"
    return f"{how}: {litres_up(lacking_m3)} more must stay free."


def _fill_words(tank: TankStudy) -> str:
    full = tank.capacity.filled
    return f"{tank.name} filled at {full.attitude.text} to its {full.limited_by}" if full else ""


def _vent_ends(layout: Layout, tank: FittedTank) -> list[frozenset[End]]:
    """For each vent of a tank the ends that its lines lead to."""
    ports = [PortEnd(tank.name, vent.name) for vent in tank.design.vent]
    return [layout.network.ends_from(port, "vent", downstream=False) for port in ports]


def _with_host(study: Study, tank: TankStudy) -> list[TankStudy]:
    """The tank, and for one without a filler the tank with a filler into which a vent of it leads."""
    if tank.tank.design.filler:
        return [tank]
    met = {end.tank for ends in _vent_ends(study.layout, tank.tank) for end in ends}
    hosts = [one for one in study.tanks if one.tank.design.filler and one.name in met]
    return [tank, *hosts[:1]]


def _overboard(layout: Layout, ends: frozenset[End], met: set[str]) -> list[Overboard]:
    """The overboard ends that a vent's lines lead to, through the air of tanks that have not been met too."""
    found = [layout.network.component(end) for end in sorted(ends, key=str)]
    tanks = [name for end in ends if (name := end.tank) and name not in met]
    met |= set(tanks)
    more = [_overboard(layout, on, met) for name in sorted(tanks) for on in _vent_ends(layout, layout.tank(name))]
    return [*(end for end in found if isinstance(end, Overboard)), *(end for ends in more for end in ends)]


def discharges_clear(layout: Layout, tank: FittedTank) -> bool:
    """Whether every vent of a tank ends overboard, and the design says of each end that it discharges clear."""
    ends = [_overboard(layout, ends, {tank.name}) for ends in _vent_ends(layout, tank)]
    return bool(ends) and all(ends) and all(end.discharges_clear is True for some in ends for end in some)


def _small(layout: Layout, where: str, host: TankStudy, evidence: str, mend: str) -> Verdict:
    """Too little space: waived, unknown whether it is, or a fault, by the vents of the tank that has the room."""
    overboard = [_overboard(layout, ends, {host.name}) for ends in _vent_ends(layout, host.tank)]
    clear = {end.name: end.discharges_clear for ends in overboard for end in ends}
    if not overboard or not all(overboard) or False in clear.values():
        return failed(where, evidence, mend)
    unsaid = [name for name, answer in clear.items() if answer is None]
    if unsaid:
        return needs(where, f"whether {', '.join(unsaid)} discharges clear of the aircraft: {evidence}")
    names = ", ".join(clear)
    return passed(where, f"{evidence}; none is required, since {names} discharges clear of the aircraft")


@rule(
    subject="endurance",
    reach=Reach.INSIDE,
    stake=Stake.MINUTES,
    checks="The usable fuel of all tanks lasts half an hour at maximum continuous power.",
    why="With less there is nothing in hand for a second approach or another field.",
    mend="Enlarge a tank or lower its unusable fuel.",
    sources=(before_64("23.963(d)"), Source("14 CFR 23.2430(b)(4)")),
    rests_on=USABLE_RESTS_ON,
)
def endurance_below_half_hour(study: Study) -> Iterator[Verdict]:
    """Sum of usable fuel over the flow at maximum continuous power."""
    where = "all tanks"
    flow_m3_s = study.layout.design.flows_m3_s.get("max_continuous")
    if flow_m3_s is None:
        yield needs(where, "the flow max_continuous in [flows]")
        return
    left_out = {tank.name for tank in study.layout.tanks} - {tank.name for tank in study.tanks}
    unknown = [tank.name for tank in study.tanks if tank.capacity.usable_m3 is None]
    if left_out or unknown:
        yield needs(
            where, f"the usable fuel of {', '.join(sorted([*left_out, *unknown]))}: an outlet, a filler or a vent"
        )
        return
    if unsure := study.exchange.unknown:
        yield needs(where, f"what {', '.join(unsure[0].joined.tanks)} keep together: {unsure[0].needs}")
        return
    together_m3 = sum(group.unusable_m3 - group.own_m3 for group in study.exchange.apart)
    usable_m3 = sum(tank.capacity.usable_m3 or 0.0 for tank in study.tanks) - together_m3
    lasts_s = usable_m3 / flow_m3_s
    evidence = (
        f"{litres(usable_m3)} usable at the worst flight attitude of each tank, of joined ones together, last {units.minutes(lasts_s)} min"
        f" at {flow(flow_m3_s)}"
    )
    if apart := [tank.name for tank in study.tanks if tank.capacity.cut_off]:
        evidence += f"; none of what is in {', '.join(apart)}: no line can bring it to the engine"
    lacking_m3 = LEAST_ENDURANCE_S * flow_m3_s - usable_m3
    mend = f"Enlarge a tank or lower its unusable fuel: {litres_up(lacking_m3)} more must be usable."
    yield (
        passed(where, evidence)
        if lasts_s >= LEAST_ENDURANCE_S
        else failed(where, evidence, mend, Cost(short_s=LEAST_ENDURANCE_S - lasts_s))
    )
