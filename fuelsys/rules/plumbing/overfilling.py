"""A rule on full tanks into which fuel goes on coming, by a pump or as the engine's return."""

from __future__ import annotations

from collections.abc import Iterator

from fuelsys import units
from fuelsys.model.found.breathing import Overfill
from fuelsys.model.found.findings import COMMON_PRACTICE, Cost, Reach, Stake, Verdict
from fuelsys.model.found.study import Study, TankStudy
from fuelsys.model.stated.components import Pump
from fuelsys.rules.plumbing.breathing import LAWS, bears_pa, limit_words
from fuelsys.rules.severity import RESERVE, SPILT, TRIFLE_S, TRIFLES, reserve_m3
from fuelsys.rules.shared import loose
from fuelsys.rules.words import (
    before_64,
    caution,
    failed,
    flow,
    litres,
    litres_down,
    litres_up,
    needs,
    not_asked,
    passed,
    pressure,
    rule,
)


@rule(
    subject="transfer",
    reach=Reach.OUTSIDE,
    stake=Stake.LITRES,
    checks="A pump that fills a tank, and the engine's return, can go on when it is full: its vents then let the fuel out before"
    " the tank bears more pressure than it is tested with; and a pump that is not stopped then pumps fuel overboard.",
    why="A tank that is pumped full bursts or bulges if its vent cannot carry the flow, and spills if it can.",
    mend="Fit something that stops the pump when the tank is full (stops_when_full), lead the vent back to the tank that gives,"
    " or placard how low the tank must be before the pump is switched on.",
    sources=(before_64("23.957(b)"), before_64("23.1337(b)(6)"), LAWS, SPILT),
    rests_on=("mesh-in-doubt",),
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


@rule(
    subject="transfer",
    reach=Reach.OUTSIDE,
    stake=Stake.LITRES,
    checks="While a pump that fills a tank stands still, the full tank's fuel does not run back through its line: a check valve stands"
    " in it, or it enters above the fuel. Level in flight, the other tank empty; a hump in the line does not stop it.",
    why="Fuel that was transferred and counted on goes back where no outlet leads to the engine, or out of that tank's vent.",
    mend="Fit a check valve behind the pump, or lead the line to the tank's top.",
    sources=(COMMON_PRACTICE, RESERVE, TRIFLES),
    rests_on=("mesh-in-doubt",),
)
def transfer_runs_back(study: Study) -> Iterator[Verdict]:
    """What stands above the line's port, and above the other tank: fail from half an hour at cruise on."""
    lifted = [one for one in study.overfills if isinstance(study.layout.network.nodes[one.by], Pump)]
    for one in lifted:
        where = f"{one.tank} to {one.source}"
        if one.kept_by:
            yield passed(where, f"{one.kept_by} keeps it")
        elif one.back_m3 is None:
            yield needs(where, f"the filler or a vent of {one.tank}: how full it is")
        else:
            flight, pump = study.layout.design.normal("flight").text, study.layout.network.nodes[one.by].name
            runs = f"at {flight} {litres(one.back_m3)} of the full tank's fuel run back into {one.source} while {pump} stands still"
            small = one.back_m3 <= TRIFLE_S * study.layout.design.reserve_flow_m3_s
            told = failed if one.back_m3 >= reserve_m3(study) else caution
            yield passed(where, runs) if small else told(where, runs, cost=Cost(volume_m3=one.back_m3))
    if not lifted:
        yield not_asked("transfer", "no pump fills a tank")
    yield from loose(study, ["feed"])


def _overfilled(study: Study, one: Overfill, where: str) -> Verdict:
    tank = next((tank for tank in study.tanks if tank.name == one.tank), None)
    if tank is None:
        return needs(where, f"the study of {one.tank}")
    limit_pa = bears_pa(tank)
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
    stalled = ", the most that the pump can make there: so much does not get out by the vents" if one.stalled else ""
    evidence = (
        f"{flow(one.flow_m3_s)} that come into the full tank put {pressure(one.pressure_pa)} on its lowest point at"
        f" {one.attitude.text}{f', with {one.setting}' if one.setting else ''}{stalled}; {limit_words(tank, 'out', limit_pa)}"
    )
    if one.pressure_pa > limit_pa:
        return failed(where, evidence, "Use a wider or a lower vent line, or stop the flow when the tank is full.")
    if not isinstance(pump, Pump):
        return _returned(study, one, where, evidence)
    return _spilled(study, one, tank, where, evidence)


def _returned(study: Study, one: Overfill, where: str, evidence: str) -> Verdict:
    """What the engine returns of another tank's fuel into the full tank, that nothing brings back."""
    if one.lost_unknown and one.lost_m3 < reserve_m3(study):
        return needs(
            where, f"a filler or a vent of {one.lost_unknown}: how much of its fuel comes into {one.tank}; {evidence}"
        )
    if one.lost_m3 <= 0.0:
        return passed(where, evidence)
    evidence += (
        f". While {one.lost_from} alone feeds, {litres(one.lost_m3)} of its usable fuel come into {one.tank}; where that is full, so"
        " much runs out of its vent"
    )
    told = failed if one.lost_m3 >= reserve_m3(study) else caution
    mend = f"Lead the return to the tank that feeds, or feed from {one.tank} until it has room for {litres_up(one.lost_m3)}."
    return told(where, evidence, mend, Cost(volume_m3=one.lost_m3))


_AT_ONCE_S = 6.0  # what stands as no tenth of a minute
_LEAST_PLACARD_M3 = 1e-4  # a placard for less than a tenth of a litre is none; chosen here, no source


def _spilled(study: Study, one: Overfill, tank: TankStudy, where: str, evidence: str) -> Verdict:
    """Whether what the giving tank has finds room, with the quantities that the first segment of the flight is loaded with."""
    giving = next((other for other in study.tanks if other.name == one.source), None)
    if giving is None or giving.capacity.filled is None or tank.capacity.filled is None:
        return needs(where, f"what {one.source} can give and what {one.tank} takes (filler, vent); {evidence}")
    flight = study.layout.design.flight
    loaded = flight[0].loaded_m3 if flight else {}
    # All of it: at one attitude the pump leaves less than at the worst, and with some air it lifts what stands over the outlet too.
    gives_m3 = min(giving.capacity.filled.volume_m3, loaded.get(one.source, giving.capacity.filled.volume_m3))
    full_m3 = tank.capacity.filled.volume_m3
    room_m3 = max(0.0, full_m3 - loaded.get(one.tank, full_m3))
    if gives_m3 <= room_m3:
        return passed(where, f"{evidence}; the {litres(gives_m3)} that {one.source} can give find room as it is loaded")
    after_s = room_m3 / one.flow_m3_s
    start = "at once" if after_s < _AT_ONCE_S else f"after {units.minutes(after_s)} min"
    spilt = f"it runs over {start}, {litres(gives_m3 - room_m3)} in all if the engine burns nothing"
    evidence += f". Switched on at {litres(full_m3 - room_m3)} in {one.tank} {spilt}"
    most_m3 = max(0.0, full_m3 - gives_m3)
    told = failed if gives_m3 - room_m3 >= reserve_m3(study) else caution
    mend = "Stop the pump when the tank is full (stops_when_full), or"
    if most_m3 < _LEAST_PLACARD_M3:
        mend += f" lead the vent back to {one.source}: a placard does not help, {one.source} can give all that {one.tank} holds."
    else:
        mend += f" placard that {one.tank} must hold no more than {litres_down(most_m3)} when it is switched on."
    return told(where, evidence, mend, Cost(volume_m3=gives_m3 - room_m3))
