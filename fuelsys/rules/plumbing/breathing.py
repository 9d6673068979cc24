"""Rules on vents as they breathe: the pressure and the suction that a tank must bear, the head that suction takes, overfilling."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from fuelsys import units
from fuelsys.model.found.breathing import CLIMB_M_S, DESCENT_M_S, FILLING_M3_S, MOST_MACH, AirState, Breath
from fuelsys.model.found.findings import Reach, Source, Stake, Verdict
from fuelsys.model.found.flow import FeedTo, InState, Missing
from fuelsys.model.found.study import Study, TankStudy
from fuelsys.model.stated.attitude import STANDARD_GRAVITY_M_S2
from fuelsys.rules.shared import deep, unchecked
from fuelsys.rules.words import (
    before_64,
    caution,
    descent,
    failed,
    flow,
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
LAWS = Source("friction: Darcy, Weisbach and Colebrook; fittings: Crane TP-410 and Rennels")
_WORDS: dict[Breath, str] = {"in": "suction", "out": "pressure", "filling": "pressure"}
WATER_KG_M3 = 1000.0


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
    words += f", with {state.setting}" if state.setting else ""
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
    checks="The vents let so much air in and out, in the greatest descent and climb and while the tank is filled, in every setting"
    " of what stands in their lines, and with one of several blocked, that the tank bears the pressure;"
    " fuel that stands in a dip of the line counts on top.",
    why="A tank that breathes through too narrow a line bulges or is sucked in: it cracks, holds less, and its gauges and"
    " lamps read wrong.",
    mend="Use a wider or a shorter vent line, without narrow places and dips, or a second one.",
    sources=(before_64("23.975(a)(3)"), before_64("23.965(a)(1)"), _LARGE, _RATES, _AIR, LAWS),
)
def vent_passes_too_little_air(study: Study) -> Iterator[Verdict]:
    """The greatest pressure against what the tank bears or was to be tested with; suction against what it bears, or 1 kPa."""
    breathing = study.breathing
    for tank in study.tanks:
        if not tank.tank.design.vent:
            yield needs(tank.name, "a vent and its line overboard")
        elif tank.name in breathing.unvented:
            yield needs(tank.name, "vent lines that lead from it overboard and let air in and out")
        elif breathing.needs:
            yield needs(tank.name, breathing.needs)
        else:
            yield _borne(study, tank)
    yield from unchecked(study, "vent")


def _borne(study: Study, tank: TankStudy) -> Verdict:
    design, (column_pa, on) = tank.tank.design, _column_pa(study, tank.name)
    most = {
        "in": design.bears_suction_pa if design.bears_suction_pa is not None else LEAST_SUCTION_PA,
        "out": bears_pa(tank),
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
                return (caution if soft else failed)(tank.name, f"{text}; {limit_words(tank, what, limit_pa)}")
            if not blocked and what != "filling":
                texts.append(text)
    if fast:
        evidence = (
            f"{'; '.join(texts)}: the air goes faster than 0.3 of the speed of sound, and these figures are too small"
        )
        return caution(tank.name, evidence)
    sole = f"; {study.breathing.ends[0]} is the only opening" if len(study.breathing.ends) == 1 else ""
    return passed(tank.name, f"{'; '.join(texts)}; {limit_words(tank, 'out', most['out'])}{sole}")


def bears_pa(tank: TankStudy) -> float:
    """The pressure that a tank is stated to bear, or must be tested with."""
    if tank.tank.design.bears_pa is not None:
        return tank.tank.design.bears_pa
    return tank.proof.pressure_pa if tank.proof else units.to_si(LEAST_PSI, "psi", "pressure")


def limit_words(tank: TankStudy, what: Breath, limit_pa: float) -> str:
    """What a pressure or a suction is held against."""
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
    sources=(before_64("23.975(a)(3)"), before_64("23.951(a)"), _RATES, LAWS),
)
def vent_suction_takes_the_head(study: Study) -> Iterator[Verdict]:
    """What is left at the flow to show, less the suction of the tank that feeds; into a tank, less the difference of the two."""
    breathing, flows = study.breathing, study.flows
    asked = [fed for fed in flows.to if fed.kind in ("gravity", "suction", "tank")]
    for fed in asked:
        where = f"{' or '.join(dict.fromkeys(t for one in fed.at for t in one.tanks))} to {fed.end}"
        unvented = [t for one in fed.at for t in one.tanks if t in breathing.unvented]
        if unvented:
            yield needs(where, f"a vent line of {unvented[0]} overboard that lets air in")
        elif breathing.needs:
            yield needs(where, breathing.needs)
        else:
            yield _left(study, fed, where)
    yield from (needs(one.where, one.needs) for one in flows.missing if one.kind in ("", "suction", "gravity", "tank"))
    if any(fed.kind == "suction" for fed in asked):
        yield from (needs(one.where, one.needs) for one in flows.boiling if isinstance(one, Missing))
    yield from unchecked(study, "vent")


def _margins_pa(study: Study, fed: FeedTo) -> list[tuple[float, tuple[str, ...]]]:
    """What is left of the pressure at each attitude (before a pump in each setting too), by the tanks that feed; none where it
    cannot be told."""
    flows, found = study.flows, []
    shut = [
        s.fed
        for s in flows.boiling
        if isinstance(s, InState) and s.fed.kind == fed.kind == "suction" and s.fed.end == fed.end
    ]
    for one in (*(fed.free or fed.at), *(one for other in shut for one in other.at)):
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
    if not worst:
        return needs(where, "a setting of what stands in the vent lines in which all tanks that feed breathe")
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
