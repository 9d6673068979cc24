"""Rules on vents as they breathe: the pressure and the suction that a tank must bear, the head that suction takes, overfilling."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from fuelsys import units
from fuelsys.model.found.breathing import CLIMB_M_S, DESCENT_M_S, FILLING_M3_S, MOST_MACH, AirState, Breath, Overfill
from fuelsys.model.found.findings import Reach, Source, Stake, Verdict
from fuelsys.model.found.flow import FeedTo
from fuelsys.model.found.study import Study, TankStudy
from fuelsys.model.stated.attitude import STANDARD_GRAVITY_M_S2
from fuelsys.model.stated.components import Pump
from fuelsys.rules.shared import deep, loose, unled
from fuelsys.rules.words import (
    before_64,
    caution,
    descent,
    failed,
    flow,
    litres,
    millimetres,
    needs,
    not_asked,
    passed,
    pressure,
    rule,
)

LEAST_PSI = 3.5
LEAST_SUCTION_PA = 1000.0  # chosen here, no source: a tenth of a metre of water, on a roof of thin sheet
_RATES = Source("rates of descent and filling where not stated: common practice, no source")
_LARGE = Source("14 CFR 25.975(a)(3): climb, descent and refuelling, a rule for transport aircraft")
_AIR = Source("ISO 2533: standard atmosphere")
_LAWS = Source("friction: Darcy, Weisbach and Colebrook; fittings: Crane TP-410 and Rennels")
_WORDS: dict[Breath, str] = {"in": "suction", "out": "pressure", "filling": "pressure"}
WATER_KG_M3 = 1000.0


def _unchecked(study: Study) -> Iterator[Verdict]:
    yield from (verdict for _, verdict in unled(study, "vent"))
    yield from loose(study, ["vent"])


def _water(pressure_pa: float) -> str:
    return f"{pressure(pressure_pa)} ({millimetres(pressure_pa / WATER_KG_M3 / STANDARD_GRAVITY_M_S2)} of water)"


def _when(study: Study, state: AirState) -> str:
    aircraft = study.layout.design.aircraft
    if state.what == "in":
        drawn = f" while all is drawn from {state.drawn_from}" if state.drawn_from else ""
        words = f"in a descent of {_rate(aircraft.descent_rate_m_s, DESCENT_M_S)}{drawn}"
    elif state.what == "out":
        words = f"in a climb of {_rate(aircraft.climb_rate_m_s, CLIMB_M_S)}"
    else:
        filler = study.layout.tank(state.drawn_from).design.filler
        stated = filler.filling_m3_s if filler else None
        words = f"while {state.drawn_from} is filled at {flow(stated or FILLING_M3_S)}{'' if stated else ' (assumed)'}"
    return f"{words}, {state.blocked} blocked" if state.blocked else words


def _rate(stated_m_s: float | None, assumed_m_s: float) -> str:
    return f"{descent(assumed_m_s)} (assumed)" if stated_m_s is None else descent(stated_m_s)


def _column_pa(study: Study, tank: str) -> tuple[float, str]:
    """What a column of fuel in an undrained dip of the vent line adds, in flight; nothing where another way has none."""
    found = []
    for run in study.plumbing.of_kind("vent"):
        if run.start.tank == tank:
            dips = [p for at in run.at_phase("flight") for p in deep(at.low) if p.drained is not True]
            worst = max(dips, key=lambda p: p.proud_m, default=None)
            found.append((worst.proud_m, worst.on) if worst else (0.0, ""))
    height_m, on = min(found, default=(0.0, ""))
    return study.layout.design.fuel.density_kg_m3 * STANDARD_GRAVITY_M_S2 * height_m, on


@rule(
    subject="vent line",
    reach=Reach.OUTSIDE,
    stake=Stake.WEAR,
    checks="The vents let so much air in and out, in the greatest descent and climb and while the tank is filled, and with one"
    " of several blocked, that the tank bears the pressure; fuel that stands in a dip of the line counts on top.",
    why="A tank that breathes through too narrow a line bulges or is sucked in: it cracks, holds less, and its gauges and"
    " lamps read wrong.",
    mend="Use a wider or a shorter vent line, without narrow places and dips, or a second one.",
    sources=(before_64("23.975(a)(3)"), before_64("23.965(a)(1)"), _LARGE, _RATES, _AIR, _LAWS),
)
def vent_passes_too_little_air(study: Study) -> Iterator[Verdict]:
    """The greatest pressure against what the tank bears or was to be tested with; suction against what it bears, or 1 kPa."""
    breathing = study.breathing
    for tank in study.tanks:
        if not tank.tank.design.vent:
            yield needs(tank.name, "a vent and its line overboard")
        elif tank.name in breathing.unvented:
            yield needs(tank.name, "vent lines that lead from it overboard")
        elif breathing.needs:
            yield needs(tank.name, breathing.needs)
        else:
            yield _borne(study, tank)
    yield from _unchecked(study)


def _borne(study: Study, tank: TankStudy) -> Verdict:
    design, (column_pa, on) = tank.tank.design, _column_pa(study, tank.name)
    most = {
        "in": design.bears_suction_pa if design.bears_suction_pa is not None else LEAST_SUCTION_PA,
        "out": _bears_pa(tank),
    }
    texts, fast = [], False
    for what in ("in", "out", "filling"):
        for blocked in (False, True):
            state = study.breathing.worst(tank.name, what, blocked=blocked)
            if state is None:
                continue
            got_pa = abs(state.pressures_pa[tank.name]) + column_pa
            fast |= state.mach > MOST_MACH
            limit_pa = most["in" if what == "in" else "out"]
            stands = f", {pressure(column_pa)} of it to blow the fuel out of the dip of {on}" if column_pa else ""
            text = f"{_when(study, state)} it stands under {_water(got_pa)} of {_WORDS[what]}{stands}"
            if got_pa > limit_pa:
                soft = what == "in" and design.bears_suction_pa is None
                return (caution if soft else failed)(tank.name, f"{text}; {_limit(tank, what, limit_pa)}")
            if not blocked and what != "filling":
                texts.append(text)
    if fast:
        evidence = (
            f"{'; '.join(texts)}: the air goes faster than 0.3 of the speed of sound, and these figures are too small"
        )
        return caution(tank.name, evidence)
    sole = f"; {study.breathing.ends[0]} is the only opening" if len(study.breathing.ends) == 1 else ""
    return passed(tank.name, f"{'; '.join(texts)}; {_limit(tank, 'out', most['out'])}{sole}")


def _bears_pa(tank: TankStudy) -> float:
    if tank.tank.design.bears_pa is not None:
        return tank.tank.design.bears_pa
    return tank.proof.pressure_pa if tank.proof else units.to_si(LEAST_PSI, "psi", "pressure")


def _limit(tank: TankStudy, what: Breath, limit_pa: float) -> str:
    design = tank.tank.design
    if what == "in":
        if design.bears_suction_pa is None:
            return f"more than {pressure(limit_pa)} is not taken for granted: bears_suction of the tank states what it bears"
        return f"it bears {pressure(limit_pa)} of suction"
    return f"it {'is stated to bear' if design.bears_pa is not None else 'must pass a test with'} {pressure(limit_pa)}"


@rule(
    subject="vent line",
    reach=Reach.OUTSIDE,
    stake=Stake.ENGINE,
    checks="The suction in a tank whose vent must let air in leaves the feed its flow: the head that drives it by gravity, and the"
    " margin to boiling before a pump; with one of several vents blocked too.",
    why="Suction in the tank takes from the head as if the tank stood lower; the engine starves with fuel in it.",
    mend="Use a wider or a shorter vent line, or a second one.",
    sources=(before_64("23.975(a)(3)"), before_64("23.951(a)"), _RATES, _LAWS),
)
def vent_suction_takes_the_head(study: Study) -> Iterator[Verdict]:
    """What is left at the flow to show, less the suction of the tank that feeds; into a tank, less the difference of the two."""
    breathing, flows = study.breathing, study.flows
    asked = [fed for fed in flows.to if fed.kind in ("gravity", "suction", "tank")]
    for fed in asked:
        where = f"{' or '.join(dict.fromkeys(t for one in fed.at for t in one.tanks))} to {fed.end}"
        unvented = [t for one in fed.at for t in one.tanks if t in breathing.unvented]
        if unvented:
            yield needs(where, f"a vent line of {unvented[0]} overboard")
        elif breathing.needs:
            yield needs(where, breathing.needs)
        else:
            yield _left(study, fed, where)
    yield from (needs(one.where, one.needs) for one in flows.missing if one.kind in ("", "suction", "gravity", "tank"))
    yield from _unchecked(study)


def _margins_pa(study: Study, fed: FeedTo) -> list[tuple[float, tuple[str, ...]]]:
    """What is left of the pressure at each attitude, by the tanks that feed; none where it cannot be told."""
    flows, found = study.flows, []
    for one in fed.free or fed.at:
        if fed.kind != "suction" and one.pressure_pa is not None:
            found.append((one.pressure_pa - (0.0 if fed.kind == "tank" else fed.needed_pa), one.tanks))
        elif (
            fed.kind == "suction"
            and one.lowest_pa is not None
            and flows.air_pa is not None
            and flows.vapour_pa is not None
        ):
            found.append((flows.air_pa + one.lowest_pa - flows.vapour_pa, one.tanks))
    return found


def _left(study: Study, fed: FeedTo, where: str) -> Verdict:
    margins = _margins_pa(study, fed)
    if not margins:
        if fed.kind == "suction":
            return needs(
                where, "aircraft.ceiling and the fuel's vapour pressure (reid_pressure), as for fuel-boils-in-line"
            )
        return needs(where, "lines that can carry the flow at all")
    if min(margin for margin, _ in margins) <= 0.0:
        return not_asked(
            where,
            "nothing is left even without suction: see feed-flow-too-small, tank-not-kept-full and fuel-boils-in-line",
        )
    columns_pa = {tank: _column_pa(study, tank)[0] for tank in {tank for _, tanks in margins for tank in tanks}}
    worst = []
    for blocked in (False, True):
        taken = [
            (margin - _suction_pa(state, tanks, fed, columns_pa), margin, state)
            for margin, tanks in margins
            for state in study.breathing.states
            if state.what == "in" and bool(state.blocked) == blocked and set(tanks) <= set(state.pressures_pa)
        ]
        worst += [min(taken, key=lambda one: one[0])] if taken else []
    left_pa, margin_pa, state = min(worst, key=lambda one: one[0])
    of = "the margin to boiling" if fed.kind == "suction" else "the head that is left"
    evidence = f"{_when(study, state)} suction takes {_water(margin_pa - left_pa)} of {pressure(margin_pa)}, {of} at the flow to show"
    if left_pa > 0.0:
        return passed(where, evidence)
    return (caution if state.blocked else failed)(where, evidence)


def _suction_pa(state: AirState, tanks: tuple[str, ...], fed: FeedTo, columns_pa: Mapping[str, float]) -> float:
    """How much lower the air's pressure is in the tank that feeds than where the fuel goes, fuel in a vent's dip included."""
    beyond = state.pressures_pa.get(fed.end.tank or "", 0.0) if fed.kind == "tank" else 0.0
    return max(0.0, *(beyond - state.pressures_pa[tank] + columns_pa[tank] for tank in tanks))


@rule(
    subject="transfer",
    reach=Reach.OUTSIDE,
    stake=Stake.LITRES,
    checks="A pump that fills a tank, and the engine's return, can go on when it is full: its vents then let the fuel out before"
    " the tank bears more pressure than it is tested with; and a pump that is not stopped then pumps fuel overboard.",
    why="A tank that is pumped full bursts or bulges if its vent cannot carry the flow, and spills if it can.",
    mend="Fit something that stops the pump when the tank is full (stops_when_full), lead the vent back to the tank that gives,"
    " or placard how low the tank must be before the pump is switched on.",
    sources=(before_64("23.957(b)"), before_64("23.1337(b)(6)"), _LAWS),
)
def transfer_overfills_tank(study: Study) -> Iterator[Verdict]:
    """The full tank's pressure at its lowest point with the greatest flow that comes; what the giving tank can give against room."""
    for one in study.overfills:
        name = one.source if isinstance(study.layout.network.nodes[one.by], Pump) else str(one.by)
        where = f"{name} to {one.tank}"
        yield needs(where, one.needs) if one.needs else _overfilled(study, one, where)
    if not study.overfills:
        yield not_asked("transfer", "no pump fills a tank and no engine returns fuel to one")
    yield from loose(study, ["feed", "return"])


def _overfilled(study: Study, one: Overfill, where: str) -> Verdict:
    tank = next((tank for tank in study.tanks if tank.name == one.tank), None)
    if tank is None:
        return needs(where, f"the study of {one.tank}")
    limit_pa = _bears_pa(tank)
    pump = study.layout.network.nodes[one.by]
    if isinstance(pump, Pump) and pump.stops_when_full:
        return passed(where, f"the design states that something stops {pump.name} when {one.tank} is full")
    if isinstance(pump, Pump) and one.flow_m3_s == 0.0:
        return passed(where, f"by its curve {pump.name} brings nothing into {one.tank} when that is full")
    if one.pressure_pa is None or one.attitude is None:
        return needs(
            where,
            f"vent lines that lead from {one.tank} overboard: nothing lets out the {flow(one.flow_m3_s)} that come",
        )
    evidence = (
        f"{flow(one.flow_m3_s)} that come into the full tank put {pressure(one.pressure_pa)} on its lowest point at"
        f" {one.attitude.text}; {_limit(tank, 'out', limit_pa)}"
    )
    if one.pressure_pa > limit_pa:
        return failed(where, evidence, "Use a wider or a lower vent line, or stop the flow when the tank is full.")
    if not isinstance(pump, Pump):
        return passed(where, evidence)
    return _spilled(study, one, tank, where, evidence)


def _spilled(study: Study, one: Overfill, tank: TankStudy, where: str, evidence: str) -> Verdict:
    """Whether what the giving tank has finds room, with the quantities that the first segment of the flight is loaded with."""
    giving = next((other for other in study.tanks if other.name == one.source), None)
    usable_m3 = giving.capacity.usable_m3 if giving else None
    if giving is None or usable_m3 is None or giving.capacity.unusable is None or tank.capacity.filled is None:
        return needs(where, f"what {one.source} can give and what {one.tank} takes (outlet, filler, vent); {evidence}")
    flight = study.layout.design.flight
    loaded = flight[0].loaded_m3 if flight else {}
    gives_m3 = min(
        usable_m3,
        loaded.get(one.source, usable_m3 + giving.capacity.unusable.volume_m3) - giving.capacity.unusable.volume_m3,
    )
    full_m3 = tank.capacity.filled.volume_m3
    room_m3 = max(0.0, full_m3 - loaded.get(one.tank, full_m3))
    if gives_m3 <= room_m3:
        return passed(where, f"{evidence}; the {litres(gives_m3)} that {one.source} can give find room as it is loaded")
    minutes = room_m3 / one.flow_m3_s / 60.0
    start = "at once" if minutes < 0.05 else f"after {minutes:.1f} min"
    spilt = f"it runs over {start}, {litres(gives_m3 - room_m3)} in all if the engine burns nothing"
    evidence += f". Switched on at {litres(full_m3 - room_m3)} in {one.tank} {spilt}"
    most_m3 = max(0.0, full_m3 - gives_m3)
    return caution(
        where, evidence, f"Placard that {one.tank} must hold no more than {litres(most_m3)} when the pump is switched on, or stop it"
        " when the tank is full (stops_when_full).",
    )  # fmt: skip
